/* INI file: sections of `key = value`, read through inih, with the line of each. */
#ifndef ROWLOCK_BASE_INI_FILE_H
#define ROWLOCK_BASE_INI_FILE_H

#include "base/status.h"

enum { INI_LINE_MOST = 1152 }; /* bytes of a line: the longest setting and its name */

typedef struct IniEntry {
    const char *path;
    int line; /* from 1 */
    const char *section, *key, *value;
} IniEntry;

typedef Status IniTake(void *self, const IniEntry *entry, Fault *fault);

/* Hands on each entry in order, up to the first fault; "-" is standard input. Faults: missing,
 * a folder, not readable, a line that is too long, that is neither section nor entry, or that
 * holds a carriage return. */
Status ini_file_read(const char *path, IniTake *take, void *self, Fault *fault);

#endif
