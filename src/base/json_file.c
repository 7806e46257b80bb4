/* A document is put together without looking at each step: one flag remembers that some step found
 * no memory, and then nothing is written. Numbers are printed to twelve digits, so that the last
 * bits of a sum, which no reader needs, are not in the file. jansson gives nothing both where a
 * text is wrong and where it finds no memory; malloc leaves ENOMEM in errno then (POSIX.1-2017).
 *
 * Source: RFC 8259, by jansson. */
#include "base/json_file.h"

#include "base/memory.h"
#include "base/output_file.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

void json_set(Making *making, json_t *object, const char *name, json_t *value)
{
    making->failed |= json_object_set_new(object, name, value) != 0;
}

void json_append(Making *making, json_t *array, json_t *value)
{
    making->failed |= json_array_append_new(array, value) != 0;
}

json_t *json_text(const char *bytes)
{
    errno = 0;
    json_t *value = json_string(bytes);
    if (value || errno == ENOMEM) return value;
    char plain[1200];
    snprintf(plain, sizeof plain, "%s", bytes);
    for (char *c = plain; *c; c++)
        if ((unsigned char)*c >= 0x80) *c = '?';
    return json_string(plain);
}

static const char scheme[] = "file:";
enum { SCHEME = sizeof scheme - 1 };

json_t *json_path(const char *bytes)
{
    if (strncmp(bytes, scheme, SCHEME) != 0) {
        errno = 0;
        json_t *value = json_string(bytes);
        if (value || errno == ENOMEM) return value;
    }
    const size_t room = SCHEME + 3 * strlen(bytes) + 1;
    char *text = memory_create(room, 1), *out = text;
    if (!text) return NULL;
    out += sprintf(out, "%s", scheme);
    for (; *bytes; bytes++) {
        const unsigned char c = (unsigned char)*bytes;
        const bool plain = c > 0x20 && c < 0x7f && c != '%';
        out += sprintf(out, plain ? "%c" : "%%%02X", c);
    }
    json_t *value = json_string(text);
    memory_free(text);
    return value;
}

/* The value of a hexadecimal digit; -1 for anything else. */
static int digit_value(char c)
{
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

bool json_path_bytes(char *out, size_t room, const char *text)
{
    const bool encoded = strncmp(text, scheme, SCHEME) == 0;
    size_t used = 0;
    for (const char *c = encoded ? text + SCHEME : text; *c; c++) {
        char byte = *c;
        if (encoded && byte == '%') {
            const int high = digit_value(c[1]), low = high < 0 ? -1 : digit_value(c[2]);
            if (low < 0 || !(high | low)) return false;
            byte = (char)(high << 4 | low);
            c += 2;
        }
        if (used + 1 >= room) return false;
        out[used++] = byte;
    }
    out[used] = '\0';
    return true;
}

Status json_parse(json_t **root_out, const char *bytes, size_t length, size_t flags,
                  json_error_t *error_out, Fault *fault)
{
    json_error_t error;
    errno = 0;
    *root_out = json_loadb(bytes, length, flags, &error);
    if (error_out) *error_out = error;
    if (errno != ENOMEM) return STATUS_OK;
    json_decref(*root_out); /* of which a text may be cut */
    *root_out = NULL;
    return memory_fault(fault, length, 1);
}

/* Writes the document to a stream that is closed here, and takes both over. */
static Status dump(json_t *root, FILE *file, const char *path, Fault *fault)
{
    const bool dumped = !json_dumpf(root, file, JSON_INDENT(2) | JSON_REAL_PRECISION(12));
    const int why = errno;
    json_decref(root);
    putc('\n', file);
    if (dumped) return output_file_close(file, path, fault);
    fclose(file);
    return output_file_fault(path, why, fault);
}

static bool is_made(const Making *making, const json_t *root) { return root && !making->failed; }

Status json_save(const Making *making, json_t *root, const char *path, Fault *fault)
{
    FILE *file;
    Status status = is_made(making, root) ? STATUS_OK : memory_fault(fault, 1, sizeof *making);
    if (!status) status = output_file_open(&file, path, fault);
    if (!status) return dump(root, file, path, fault);
    json_decref(root);
    return status;
}

Status json_keep(const Making *making, json_t *root, MemoryFile *to, Fault *fault)
{
    FILE *file;
    Status status = is_made(making, root) ? STATUS_OK : memory_fault(fault, 1, sizeof *making);
    if (!status) status = memory_file_open(&file, to, fault);
    if (!status) return dump(root, file, "memory", fault);
    json_decref(root);
    return status;
}
