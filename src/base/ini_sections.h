/* Ini sections: an INI file of named sections of one kind, `[layer NAME]`, with keys that stand in
 * each of them once. */
#ifndef ROWLOCK_BASE_INI_SECTIONS_H
#define ROWLOCK_BASE_INI_SECTIONS_H

#include "base/status.h"

#include <stddef.h>

enum { SECTION_NAME = 40, SECTION_KEYS = 8 };

/* What is known of every section: a struct of the caller's begins with it. */
typedef struct IniSection {
    char name[SECTION_NAME];
    int line;               /* of its first key */
    int seen[SECTION_KEYS]; /* line of each key, 0: it is not there */
} IniSection;

/* A key's value. */
typedef struct IniValue {
    const char *text, *where; /* where: for messages, "hands.ini:3: height" */
    const void *context;      /* see IniKind */
    Fault *fault;
} IniValue;

typedef struct IniKey {
    const char *name;
    Status (*take)(void *section, const IniValue *value);
} IniKey;

typedef struct IniKind {
    const char *name; /* "layer" */
    const IniKey *key;
    int keys; /* at most SECTION_KEYS */
    int most; /* sections */
    size_t size;
    const void *fresh;   /* a section as it is before its keys */
    const void *context; /* for takers; may be NULL */
} IniKind;

/* Fills section_out, which has room for the most, in the order of the file. Faults: a file that
 * cannot be read, entries outside such sections, a key that is none or stands twice, too many, no
 * section at all. */
Status ini_sections_read(const IniKind *kind, const char *path, void *section_out, int *count_out,
                         Fault *fault);

/* The fault of a value that is not what the key wants. */
Status ini_value_wrong(const IniValue *value, const char *want);

#endif
