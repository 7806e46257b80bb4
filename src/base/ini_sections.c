/* A section begins where its name stands first; one that is told of in two places is one. */
#include "base/ini_sections.h"

#include "base/ini_file.h"
#include "base/text.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

typedef struct Sections {
    const IniKind *kind;
    char *section; /* count of them, each of the kind's size */
    int count;
} Sections;

Status ini_value_wrong(const IniValue *v, const char *want)
{
    return fault_set(v->fault, STATUS_DATA, "%s: '%s' is not one; give %s", v->where, v->text,
                     want);
}

static IniSection *section_at(const Sections *r, int i)
{
    return (IniSection *)(void *)(r->section + (size_t)i * r->kind->size);
}

static Status begin_section(Sections *r, const char *name, const IniEntry *entry, Fault *fault)
{
    const char *kind = r->kind->name;
    if (!*name || strlen(name) >= SECTION_NAME || text_check(name, strlen(name), "", NULL))
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: a %s's name has 1 to %d bytes; give it another", entry->path,
                         entry->line, kind, SECTION_NAME - 1);
    if (r->count == r->kind->most)
        return fault_set(fault, STATUS_DATA, "%s:%d: more than %d %ss; leave some out", entry->path,
                         entry->line, r->kind->most, kind);
    IniSection *s = section_at(r, r->count++);
    memcpy(s, r->kind->fresh, r->kind->size);
    strcpy(s->name, name);
    s->line = entry->line;
    return STATUS_OK;
}

/* The section that an entry stands in, begun if it is new. */
static Status find_section(Sections *r, const IniEntry *entry, IniSection **section_out,
                           Fault *fault)
{
    const char *kind = r->kind->name;
    const size_t length = strlen(kind);
    if (strncmp(entry->section, kind, length) || entry->section[length] != ' ')
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: %s stands in no section of a %s; write [%s NAME] above it",
                         entry->path, entry->line, entry->key, kind, kind);
    const char *name = entry->section + length + strspn(entry->section + length, " \t");
    int i = 0;
    while (i < r->count && strcmp(section_at(r, i)->name, name)) i++;
    const Status status = i < r->count ? STATUS_OK : begin_section(r, name, entry, fault);
    *section_out = section_at(r, i);
    return status;
}

/* "index, height or on". */
static void list_keys(const IniKind *kind, char *text, size_t size)
{
    size_t length = 0;
    for (int i = 0; i < kind->keys && length < size; i++)
        length += (size_t)snprintf(text + length, size - length, "%s%s",
                                   i == 0                ? ""
                                   : i == kind->keys - 1 ? " or "
                                                         : ", ",
                                   kind->key[i].name);
}

static Status enter(void *self, const IniEntry *entry, Fault *fault)
{
    Sections *r = self;
    const IniKind *kind = r->kind;
    IniSection *section = NULL;
    const Status status = find_section(r, entry, &section, fault);
    if (status) return status;
    char where[700], keys[200];
    snprintf(where, sizeof where, "%s:%d: %s", entry->path, entry->line, entry->key);
    for (int i = 0; i < kind->keys; i++) {
        if (strcmp(kind->key[i].name, entry->key)) continue;
        if (section->seen[i])
            return fault_set(fault, STATUS_DATA, "%s: line %d says it already; keep one", where,
                             section->seen[i]);
        section->seen[i] = entry->line;
        return kind->key[i].take(section, &(IniValue){entry->value, where, kind->context, fault});
    }
    list_keys(kind, keys, sizeof keys);
    return fault_set(fault, STATUS_DATA, "%s: no such key of a %s; give %s", where, kind->name,
                     keys);
}

Status ini_sections_read(const IniKind *kind, const char *path, void *section, int *count_out,
                         Fault *fault)
{
    assert(kind->keys <= SECTION_KEYS && kind->size >= sizeof(IniSection));
    Sections r = {kind, section, 0};
    Status status = ini_file_read(path, enter, &r, fault);
    if (!status && !r.count)
        status = fault_set(fault, STATUS_DATA, "%s: holds no %s; write [%s NAME]", text_place(path),
                           kind->name, kind->name);
    *count_out = r.count;
    return status;
}
