/* inih is handed the lines one by one, since its handler is not told which it stands in. How long a
 * line may be is compiled into it, 200 bytes unless somebody chose otherwise; Debian's has it as a
 * variable, which is set here where it is there. A longer line is refused, never cut. */
#include "base/ini_file.h"

#include "base/input_file.h"

#include <ini.h>

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

extern int ini_max_line __attribute__((weak));

typedef struct Reading {
    IniEntry entry; /* path and line, for the next */
    FILE *file;
    IniTake *take;
    void *self;
    Fault *fault;
    Status status;
} Reading;

/* The reader that inih calls. */
static char *next_line(char *text, int size, void *context)
{
    Reading *r = context;
    if (r->status || !fgets(text, size, r->file)) return NULL;
    r->entry.line++;
    const size_t length = strlen(text);
    if (length + 1 == (size_t)size && text[length - 1] != '\n')
        r->status =
            fault_set(r->fault, STATUS_DATA, "%s:%d: a line of %zu bytes and more; make it shorter",
                      r->entry.path, r->entry.line, length);
    /* Lines that end in a carriage return alone would all be read as one. */
    const size_t plain = strcspn(text, "\r\n");
    if (!r->status && strcmp(text + plain, "\n") && strcmp(text + plain, "\r\n") && text[plain])
        r->status = fault_set(r->fault, STATUS_DATA,
                              "%s:%d: a carriage return within the line; save the file with the "
                              "line ends of this system",
                              r->entry.path, r->entry.line);
    /* inih takes an indented line for more of the value above; here it is a key like any. */
    const size_t blank = strspn(text, " \t");
    memmove(text, text + blank, length + 1 - blank);
    return text;
}

static int take_entry(void *context, const char *section, const char *name, const char *value)
{
    Reading *r = context;
    if (r->status) return 0;
    r->entry.section = section;
    r->entry.key = name;
    r->entry.value = value;
    r->status = r->take(r->self, &r->entry, r->fault);
    return !r->status;
}

Status ini_file_read(const char *path, IniTake *take, void *self, Fault *fault)
{
    Reading r = {.entry = {.path = path}, .take = take, .self = self, .fault = fault};
    r.file = strcmp(path, "-") ? fopen(path, "r") : stdin;
    if (!r.file) return input_file_fault(path, errno, fault);
    if (&ini_max_line) ini_max_line = INI_LINE_MOST;
    const int line = ini_parse_stream(next_line, &r, take_entry, &r);
    const int why = errno;
    const bool broken = ferror(r.file);
    if (r.file != stdin) fclose(r.file);
    if (r.status) return r.status;
    if (broken && why == EINTR) return input_file_stopped(path, fault);
    if (broken && why == EISDIR)
        return fault_set(fault, STATUS_NO_INPUT, "%s: is a folder; give a file", path);
    if (broken) return fault_set(fault, STATUS_IO, "%s: cannot be read; check the disk", path);
    if (line < 0)
        return fault_set(fault, STATUS_NO_RESOURCE, "%s: no room to read it; free memory", path);
    if (line > 0)
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: neither [section] nor key = value; mend or remove the line", path,
                         line);
    return STATUS_OK;
}
