/* Fuzz input: a fuzzer's bytes as a file that can be opened by its path, and what every fault must
 * look like. */
#ifndef TESTS_FUZZ_INPUT_H
#define TESTS_FUZZ_INPUT_H

#include "base/status.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* In memory; the path holds until the next call. */
static inline const char *fuzz_path(const uint8_t *bytes, size_t length)
{
    static int file = -1;
    static char path[40];
    if (file < 0) file = memfd_create("fuzz", MFD_CLOEXEC);
    if (file < 0 || ftruncate(file, 0) || pwrite(file, bytes, length, 0) != (ssize_t)length)
        abort();
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    return path;
}

enum { FUZZ_RECORD = 0x1e }; /* between two parts; the record separator of ASCII */

/* Ends the parts of a text, which is followed by a 0, and points at them; those that lack are
 * empty. What is left after the last. */
static inline char *fuzz_parts(char *text, size_t length, char **part, int parts)
{
    char *at = text, *end = text + length;
    for (int i = 0; i < parts; i++) {
        char *record = memchr(at, FUZZ_RECORD, (size_t)(end - at));
        part[i] = at;
        at = record ? record + 1 : end;
        if (record) *record = 0;
    }
    return at;
}

/* True where all went well; else the fault must be one line and no defect. */
static inline int fuzz_well(Status status, const Fault *fault)
{
    if (!status) return 1;
    if (status == STATUS_INTERNAL || fault->status != status || !*fault->text ||
        strpbrk(fault->text, "\n\r"))
        abort();
    return 0;
}

#endif
