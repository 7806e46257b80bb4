/* Files that a person typed or a meter wrote are short: they are read whole, up to TEXT_MOST, and
 * checked to be UTF-8 once, so that no reader behind has to. Nothing here asks the locale.
 *
 * Source: well-formed byte sequences, Unicode 15, table 3-7. */
#include "base/text.h"

#include "base/input_file.h"
#include "base/memory.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *text_place(const char *path) { return strcmp(path, "-") ? path : "standard input"; }

static Status read_stream(char **bytes, size_t *length, FILE *file, const char *place, Fault *fault)
{
    size_t room = 0;
    for (;;) {
        if (*length > TEXT_MOST)
            return fault_set(fault, STATUS_DATA,
                             "%s: more than %d MiB, too long for a table typed or measured; check "
                             "that it is the right file",
                             place, TEXT_MOST >> 20);
        Status status = memory_grow(bytes, &room, *length + 4096, 1, fault);
        if (status) return status;
        /* One byte is left for the closing 0, which memory_grow has put there. */
        const size_t got = fread(*bytes + *length, 1, room - 1 - *length, file);
        *length += got;
        if (got) continue;
        if (!ferror(file)) break;
        if (errno == EINTR) return input_file_stopped(place, fault);
        if (errno == EISDIR)
            return fault_set(fault, STATUS_NO_INPUT, "%s: is a folder; give a file", place);
        return fault_set(fault, STATUS_IO, "%s: reading broke off (%s); check the file", place,
                         strerror(errno));
    }
    (*bytes)[*length] = '\0';
    return STATUS_OK;
}

Status text_read(char **bytes_out, size_t *length_out, const char *path, Fault *fault)
{
    char *bytes = NULL;
    size_t length = 0;
    const int is_input = strcmp(path, "-") == 0;
    FILE *file = is_input ? stdin : fopen(path, "rb");
    if (!file) return input_file_fault(path, errno, fault);
    Status status = read_stream(&bytes, &length, file, text_place(path), fault);
    if (!is_input) fclose(file);
    if (status) {
        memory_free(bytes);
        return status;
    }
    *bytes_out = bytes;
    *length_out = length;
    return STATUS_OK;
}

size_t text_mark(const char *bytes, size_t length)
{
    return length >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
}

int text_point(const char *bytes, size_t left, uint32_t *point_out)
{
    if (left == 0) return 0;
    const unsigned char first = (unsigned char)bytes[0];
    if (first < 0x80) {
        *point_out = first;
        return 1;
    }
    const int length = first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : 2;
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    if (first < 0xc2 || first > 0xf4 || (size_t)length > left) return 0;
    uint32_t point = first & (0x7fu >> length);
    for (int i = 1; i < length; i++) {
        const unsigned char next = (unsigned char)bytes[i];
        if ((next & 0xc0) != 0x80) return 0;
        point = point << 6 | (next & 0x3f);
    }
    if (point < least[length] || point > 0x10ffff || (point >= 0xd800 && point <= 0xdfff)) return 0;
    *point_out = point;
    return length;
}

static Status fault_bytes(Fault *fault, const char *place, int line, int at, const char *what)
{
    return fault_set(fault, STATUS_DATA, "%s:%d:%d: %s; save the file as UTF-8 text", place, line,
                     at, what);
}

Status text_check(const char *bytes, size_t length, const char *place, Fault *fault)
{
    int line = 1, at = 1;
    if (length >= 2 && (!memcmp(bytes, "\xff\xfe", 2) || !memcmp(bytes, "\xfe\xff", 2)))
        return fault_bytes(fault, place, 1, 1, "this is UTF-16");
    for (size_t i = text_mark(bytes, length); i < length;) {
        uint32_t point = 0;
        const int step = text_point(bytes + i, length - i, &point);
        if (!step) return fault_bytes(fault, place, line, at, "a byte that is not UTF-8");
        if ((point < 0x20 && point != '\t' && point != '\r' && point != '\n') || point == 0x7f)
            return fault_bytes(fault, place, line, at, "a control character, this is not text");
        i += (size_t)step;
        at++;
        if (point == '\n' || (point == '\r' && (i == length || bytes[i] != '\n'))) line++, at = 1;
    }
    return STATUS_OK;
}

int text_unseen(uint32_t p)
{
    return p <= 0x20 || (p >= 0x7f && p <= 0xa0) || p == 0xad || p == 0x34f || p == 0x61c ||
           p == 0x115f || p == 0x1160 || p == 0x1680 || p == 0x180e ||
           (p >= 0x2000 && p <= 0x200f) || (p >= 0x2028 && p <= 0x202f) ||
           (p >= 0x205f && p <= 0x206f) || p == 0x2800 || p == 0x3000 || p == 0x3164 ||
           (p >= 0xfe00 && p <= 0xfe0f) || p == 0xfeff || p == 0xffa0 ||
           (p >= 0xfff0 && p <= 0xffff) || p >= 0xe0000;
}

const char *text_clip(char out[TEXT_CLIP], const char *text)
{
    size_t used = 0;
    const size_t length = strlen(text);
    for (int characters = 0; used < length; characters++) {
        uint32_t point;
        const int step = text_point(text + used, length - used, &point);
        if (!step) break;
        if (characters == 40) {
            memcpy(out + used, "...", 3);
            used += 3;
            break;
        }
        memcpy(out + used, text + used, (size_t)step);
        used += (size_t)step;
    }
    out[used] = '\0';
    return out;
}

void text_tame(char *out, size_t room, const char *name, size_t length)
{
    size_t used = 0;
    while (length) {
        uint32_t point = 0;
        const int step = text_point(name, length, &point);
        const size_t taken = step ? (size_t)step : 1;
        if (used + taken >= room) break;
        if (step && point >= 0x20 && point != 0x7f)
            memcpy(out + used, name, taken);
        else
            out[used] = '?';
        used += taken;
        name += taken;
        length -= taken;
    }
    out[used] = '\0';
}

static int lower_case(char c) { return c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c; }

int text_same(const char *a, const char *b)
{
    while (*a && lower_case(*a) == lower_case(*b)) a++, b++;
    return lower_case(*a) == lower_case(*b);
}

void number_text(char *text, size_t size, double value, int decimals)
{
    char digits[40], grouped[60];
    double scale = 1.0;
    for (int i = 0; i < decimals; i++) scale *= 10.0;
    const double most = 9e15;
    long long whole = llround(fmin(most, fmax(-most, value * scale)));
    const char *sign = whole < 0 ? "-" : "";
    if (whole < 0) whole = -whole;
    const long long unit = (long long)scale;
    const int length = snprintf(digits, sizeof digits, "%lld", whole / unit);
    int to = 0;
    for (int i = 0; i < length; i++) {
        if (i && (length - i) % 3 == 0) grouped[to++] = ',';
        grouped[to++] = digits[i];
    }
    grouped[to] = '\0';
    if (decimals)
        snprintf(text, size, "%s%s.%0*lld", sign, grouped, decimals, whole % unit);
    else
        snprintf(text, size, "%s%s", sign, grouped);
}

bool text_rgb(const char *text, uint8_t rgb_out[3])
{
    const char *digits = text + (*text == '#');
    if (strlen(digits) != 6 || strspn(digits, "0123456789abcdefABCDEF") != 6) return false;
    const long value = strtol(digits, NULL, 16);
    for (int i = 0; i < 3; i++) rgb_out[i] = (uint8_t)(value >> (16 - 8 * i) & 255);
    return true;
}
