/* A fault's text is one line that may go to a terminal: control characters of names and data become
 * '?', and what is too long loses its middle, never its end, which says how to mend it. */
#include "base/status.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static int is_inside_character(char c) { return ((unsigned char)c & 0xc0) == 0x80; }

/* What is too long is nearly always the name at the front, so the middle goes: the end
 * says how to mend it. */
static void fit(char *text, size_t room, const char *whole)
{
    static const char gap[] = "...";
    const size_t length = strlen(whole);
    if (length < room) {
        memcpy(text, whole, length + 1);
        return;
    }
    size_t head = room / 3, tail = length - (room - head - sizeof gap);
    while (head && is_inside_character(whole[head])) head--;
    while (is_inside_character(whole[tail])) tail++;
    memcpy(text, whole, head);
    strcpy(text + head, gap);
    strcpy(text + head + sizeof gap - 1, whole + tail);
}

Status fault_set(Fault *fault, Status status, const char *format, ...)
{
    if (!fault) return status;
    char whole[8192];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(whole, sizeof whole, format, arguments);
    va_end(arguments);
    fit(fault->text, sizeof fault->text, whole);
    for (char *c = fault->text; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f) *c = '?';
    fault->status = status;
    return status;
}
