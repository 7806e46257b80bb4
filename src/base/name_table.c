#include "base/name_table.h"

#include "base/memory.h"

#include <string.h>

/* Open addressing; nothing is ever read in slot order. */

Status name_table_init(NameTable *roll, size_t most, Fault *fault)
{
    size_t slots = 16;
    while (slots / 2 <= most && slots <= SIZE_MAX / 4) slots *= 2;
    roll->slots = slots;
    roll->name = memory_create(slots, sizeof *roll->name);
    roll->number = memory_create(slots, sizeof *roll->number);
    if (roll->name && roll->number) return STATUS_OK;
    name_table_clear(roll);
    return memory_fault(fault, slots, sizeof *roll->name);
}

void name_table_clear(NameTable *roll)
{
    memory_free(roll->name);
    memory_free(roll->number);
    *roll = (NameTable){0};
}

/* The slot that holds the name, or the free one where it belongs (FNV-1a). */
static size_t slot_of(const NameTable *roll, const char *name)
{
    uint64_t hash = 14695981039346656037u;
    for (const char *c = name; *c; c++) hash = (hash ^ (unsigned char)*c) * 1099511628211u;
    size_t slot = (size_t)(hash ^ hash >> 29) & (roll->slots - 1);
    while (roll->name[slot] && strcmp(roll->name[slot], name) != 0)
        slot = (slot + 1) & (roll->slots - 1);
    return slot;
}

long name_table_enter(NameTable *roll, const char *name, uint32_t number)
{
    const size_t slot = slot_of(roll, name);
    if (roll->name[slot]) return (long)roll->number[slot];
    roll->name[slot] = name;
    roll->number[slot] = number;
    return -1;
}

long name_table_find(const NameTable *roll, const char *name)
{
    if (!roll->slots) return -1;
    const size_t slot = slot_of(roll, name);
    return roll->name[slot] ? (long)roll->number[slot] : -1;
}
