/* Name table: names and the numbers that they were entered with, found at once. Names are
 * borrowed and must outlive the table. */
#ifndef ROWLOCK_BASE_NAME_TABLE_H
#define ROWLOCK_BASE_NAME_TABLE_H

#include "base/status.h"

#include <stddef.h>
#include <stdint.h>

typedef struct NameTable {
    size_t slots; /* a power of two, more than twice the names */
    const char **name;
    uint32_t *number;
} NameTable;

/* Room for `most` names. */
Status name_table_init(NameTable *table, size_t most, Fault *fault);
void name_table_clear(NameTable *table);

/* -1 where the name is new (it is entered now), else the number that it has. */
long name_table_enter(NameTable *table, const char *name, uint32_t number);
/* The name's number, or -1. */
long name_table_find(const NameTable *table, const char *name);

#endif
