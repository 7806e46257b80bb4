/* A hash table with open addressing: a name lies in the first free slot from the one its hash says,
 * and there is always a free one, since at most half are taken. Nothing is ever read in slot order,
 * so the hash cannot show in any result.
 *
 * Source: FNV-1a of 64 bits (Fowler, Noll, Vo; its folding of high bits is ours). */
#include "base/name_table.h"

#include "base/memory.h"

#include <string.h>

Status name_table_init(NameTable *table, size_t most, Fault *fault)
{
    size_t slots = 16;
    while (slots / 2 <= most && slots <= SIZE_MAX / 4) slots *= 2;
    table->slots = slots;
    table->name = memory_create(slots, sizeof *table->name);
    table->number = memory_create(slots, sizeof *table->number);
    if (table->name && table->number) return STATUS_OK;
    name_table_clear(table);
    return memory_fault(fault, slots, sizeof *table->name);
}

void name_table_clear(NameTable *table)
{
    memory_free(table->name);
    memory_free(table->number);
    *table = (NameTable){0};
}

/* The slot that holds the name, or the free one where it belongs (FNV-1a). */
static size_t slot_of_name(const NameTable *table, const char *name)
{
    uint64_t hash = 14695981039346656037u;
    for (const char *c = name; *c; c++) hash = (hash ^ (unsigned char)*c) * 1099511628211u;
    size_t slot = (size_t)(hash ^ hash >> 29) & (table->slots - 1);
    while (table->name[slot] && strcmp(table->name[slot], name) != 0)
        slot = (slot + 1) & (table->slots - 1);
    return slot;
}

long name_table_enter(NameTable *table, const char *name, uint32_t number)
{
    const size_t slot = slot_of_name(table, name);
    if (table->name[slot]) return (long)table->number[slot];
    table->name[slot] = name;
    table->number[slot] = number;
    return -1;
}

long name_table_find(const NameTable *table, const char *name)
{
    if (!table->slots) return -1;
    const size_t slot = slot_of_name(table, name);
    return table->name[slot] ? (long)table->number[slot] : -1;
}
