/* The file is held as text beside what inih reads of it: the text tells at which column of a line
 * a key or its value begins, and which sections stand there without any key. All entries are
 * gathered first, so that [show] may stand anywhere: what it says holds for every mural.
 *
 * Settings go through the table of model/job; the keys of the show's own through one here. */
#include "show/show_file.h"

#include "base/csv.h"
#include "base/ini_file.h"
#include "base/memory.h"
#include "base/spelling.h"
#include "base/text.h"

#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

enum { IN_SHOW = 1, IN_MURAL = 2, SHARED = -1 };

typedef enum OwnType { OWN_TEXT, OWN_WHOLE, OWN_NUMBER, OWN_DAY, OWN_DAYS, OWN_CHOICE } OwnType;

/* A key that is no setting; the offset is in Show or in ShowMural. */
typedef struct OwnKey {
    const char *name;
    int in;
    OwnType type;
    size_t offset;
    double least, most;
    const char *choices;
} OwnKey;

static const OwnKey own_keys[] = {
    {"name", IN_SHOW, OWN_TEXT, offsetof(Show, name), 0, 0, NULL},
    {"start", IN_SHOW, OWN_DAY, offsetof(Show, start), 0, 0, NULL},
    {"stamp", IN_SHOW, OWN_DAY, offsetof(Show, stamp), 0, 0, NULL},
    {"week", IN_SHOW, OWN_WHOLE, offsetof(Show, week), 1, 7, NULL},
    {"free", IN_SHOW, OWN_DAYS, offsetof(Show, free), 0, 0, NULL},
    {"lead", IN_SHOW, OWN_WHOLE, offsetof(Show, lead), 0, 3650, NULL},
    {"instalment", IN_SHOW, OWN_WHOLE, offsetof(Show, instalment), 0, 3650, NULL},
    {"travel", IN_SHOW, OWN_WHOLE, offsetof(Show, travel), 0, 3650, NULL},
    {"vehicle", IN_SHOW, OWN_CHOICE, offsetof(Show, vehicle), 0, 0, SHOW_VEHICLES},
    {"pallet", IN_SHOW, OWN_CHOICE, offsetof(Show, pallet), 0, 0, SHOW_PALLETS},
    {"budget", IN_SHOW, OWN_NUMBER, offsetof(Show, budget), 0, 1e12, NULL},
    {"room", IN_MURAL, OWN_TEXT, offsetof(ShowMural, room), 0, 0, NULL},
    {"make", IN_MURAL, OWN_WHOLE, offsetof(ShowMural, make), 1, 1e6, NULL},
    {"hang", IN_MURAL, OWN_WHOLE, offsetof(ShowMural, hang), 1, 1e6, NULL},
    {"priority", IN_MURAL, OWN_NUMBER, offsetof(ShowMural, priority), 0.01, 100, NULL},
};
enum { OWN_KEYS = sizeof own_keys / sizeof *own_keys };

/* Settings that only all murals together can have: they are of the studio, the order, the journey
 * or the run. And those that only one can have. */
static const char *const shared_only[] = {
    "palette",      "bricks",   "stock", "stock-only",  "spare",     "pitch",
    "brick-height", "colours",  "keep",  "without",     "packing",   "crate-panels",
    "crate-mass",   "builders", "day",   "hanging",     "currency",  "limit",
    "memory",       "threads",  "quiet", "crate-price", "site-rate", "freight"};
static const char *const mural_only[] = {
    "reference",     "cells",   "pins",   "care",   "regions",   "region-strokes",
    "region-labels", "strokes", "labels", "layers", "depth-map", "mask",
    "steps-map",     "crop",    "title",  "built",  "price"};
/* Settings that are of other commands. */
static const char *const neither[] = {"sort", "price-weight"};

static bool is_among(const char *name, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!strcmp(name, list[i])) return true;
    return false;
}
#define AMONG(name, list) is_among(name, list, sizeof(list) / sizeof *(list))

/* ---- the text ---- */

typedef struct Entry {
    int line, mural; /* mural: index, or SHARED */
    char *key, *value;
} Entry;

typedef struct Reading {
    Show *show;
    Fault *fault;
    char *text; /* lines end in 0 */
    size_t *line;
    size_t lines;
    Entry *entry;
    size_t entries, capacity;
    size_t murals_capacity, lines_capacity;
    char folder[JOB_TEXT];
    int show_line; /* of [show]; 0: not there */
} Reading;

static Status cut_lines(Reading *r, size_t length)
{
    size_t start = text_mark(r->text, length);
    Status status = STATUS_OK;
    for (size_t i = start; i <= length && !status; i++) {
        if (i < length && r->text[i] != '\n') continue;
        r->text[i] = '\0';
        status = memory_grow(&r->line, &r->lines_capacity, r->lines + 1, sizeof *r->line, r->fault);
        if (!status) r->line[r->lines++] = start;
        start = i + 1;
    }
    return status;
}

static const char *line_text(const Reading *r, int line)
{
    return line >= 1 && (size_t)line <= r->lines ? r->text + r->line[line - 1] : "";
}

static int column_of_key(const Reading *r, int line)
{
    return (int)strspn(line_text(r, line), " \t") + 1;
}

static int column_of_value(const Reading *r, int line)
{
    const char *text = line_text(r, line), *mark = text + strcspn(text, "=:");
    if (*mark) mark++;
    return (int)(mark + strspn(mark, " \t") - text) + 1;
}

/* ---- sections ---- */

static Status name_fault(const Reading *r, int line, const char *what)
{
    return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: %s", r->show->path, line,
                     column_of_key(r, line), what);
}

static bool is_name(const char *name, size_t length)
{
    if (!length || length >= SHOW_NAME || *name == '-') return false;
    for (size_t i = 0; i < length; i++)
        if (!strchr("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_", name[i]))
            return false;
    return length != 5 || strncasecmp(name, "shelf", length) != 0;
}

static Status add_mural(Reading *r, const char *name, size_t length, int line)
{
    Show *show = r->show;
    if (!is_name(name, length))
        return name_fault(r, line,
                          "a mural's name is its folder's: 1 to 39 letters, digits, - and _, not "
                          "'shelf'; give it another");
    for (int i = 0; i < show->count; i++) {
        const ShowMural *m = &show->mural[i];
        if (strlen(m->name) != length || strncasecmp(m->name, name, length)) continue;
        return fault_set(r->fault, STATUS_DATA,
                         "%s:%d:%d: the mural on line %d has this name already, and some disks do "
                         "not tell capitals; give one of them another",
                         show->path, line, column_of_key(r, line), m->line);
    }
    if (show->count == SHOW_MURALS_MOST)
        return name_fault(r, line, "more than 200 murals; make two shows of them");
    const Status status = memory_grow(&show->mural, &r->murals_capacity, (size_t)show->count + 1,
                                      sizeof *show->mural, r->fault);
    if (status) return status;
    ShowMural *m = &show->mural[show->count++];
    *m = (ShowMural){.line = line, .priority = 1};
    memcpy(m->name, name, length);
    return STATUS_OK;
}

static Status take_section(Reading *r, int line)
{
    const char *open = line_text(r, line) + column_of_key(r, line);
    const char *close = strchr(open, ']');
    if (!close) return STATUS_OK; /* inih says so */
    size_t length = (size_t)(close - open);
    if (length == 4 && !memcmp(open, "show", 4)) {
        if (r->show_line) return name_fault(r, line, "[show] stands twice; make one of them");
        r->show_line = line;
        return STATUS_OK;
    }
    if (length < 6 || memcmp(open, "mural", 5) != 0 || !strchr(" \t", open[5]))
        return name_fault(r, line, "no such section; write [show] or [mural NAME]");
    const size_t blank = 5 + strspn(open + 5, " \t");
    while (length > blank && strchr(" \t", open[length - 1])) length--;
    return add_mural(r, open + blank, length > blank ? length - blank : 0, line);
}

static Status take_sections(Reading *r)
{
    Status status = STATUS_OK;
    for (int line = 1; (size_t)line <= r->lines && !status; line++)
        if (line_text(r, line)[column_of_key(r, line) - 1] == '[') status = take_section(r, line);
    if (status) return status;
    if (!r->show->count)
        return fault_set(r->fault, STATUS_DATA, "%s: holds no mural; write [mural NAME]",
                         r->show->path);
    return STATUS_OK;
}

/* ---- entries ---- */

static char *copy_text(const char *text)
{
    char *copy = memory_create(strlen(text) + 1, 1);
    if (copy) strcpy(copy, text);
    return copy;
}

/* The section of a line: the last that began before it. */
static Status find_section(const Reading *r, int line, int *mural_out, Fault *fault)
{
    int last = r->show_line && r->show_line < line ? r->show_line : 0;
    *mural_out = SHARED;
    for (int i = 0; i < r->show->count; i++) {
        const int begins = r->show->mural[i].line;
        if (begins > line || begins < last) continue;
        last = begins;
        *mural_out = i;
    }
    if (last) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "%s:%d:%d: stands in no section; write [show] or [mural NAME] above it",
                     r->show->path, line, column_of_key(r, line));
}

static Status take_entry(void *self, const IniEntry *given, Fault *fault)
{
    Reading *r = self;
    int mural;
    Status status = find_section(r, given->line, &mural, fault);
    if (!status)
        status = memory_grow(&r->entry, &r->capacity, r->entries + 1, sizeof *r->entry, fault);
    if (status) return status;
    Entry *e = &r->entry[r->entries++];
    *e = (Entry){given->line, mural, copy_text(given->key), copy_text(given->value)};
    return e->key && e->value ? STATUS_OK : memory_fault(fault, strlen(given->value) + 1, 1);
}

static Status check_once(const Reading *r, size_t index)
{
    const Entry *e = &r->entry[index];
    const Setting *s = setting_find(e->key);
    for (size_t i = 0; i < index; i++) {
        const Entry *before = &r->entry[i];
        const bool rival = s && s->rival && !strcmp(before->key, s->rival);
        if (before->mural != e->mural || (strcmp(before->key, e->key) && !rival)) continue;
        return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: %s: line %d says %s already; keep one",
                         r->show->path, e->line, column_of_key(r, e->line), e->key, before->line,
                         before->key);
    }
    return STATUS_OK;
}

static const OwnKey *find_own(const char *name, int in)
{
    for (int i = 0; i < OWN_KEYS; i++)
        if (own_keys[i].in == in && !strcmp(own_keys[i].name, name)) return &own_keys[i];
    return NULL;
}

/* ---- values of the show's own keys ---- */

static Status own_wrong(const Reading *r, const Entry *e, const char *want)
{
    char clip[TEXT_CLIP];
    return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: %s: '%s' is not one; give %s", r->show->path,
                     e->line, column_of_value(r, e->line), e->key, text_clip(clip, e->value), want);
}

static Status take_days(Reading *r, const Entry *e)
{
    char text[INI_LINE_MOST], *rest = text;
    snprintf(text, sizeof text, "%s", e->value);
    for (char *one; (one = strtok_r(rest, ", \t", &rest));) {
        if (r->show->free_days == SHOW_FREE_MOST ||
            !day_parse(one, &r->show->free[r->show->free_days]))
            return own_wrong(r, e, "up to 200 days with commas between, such as 2027-05-01");
        r->show->free_days++;
    }
    return STATUS_OK;
}

static Status take_number(const Reading *r, const Entry *e, const OwnKey *key, double *value_out)
{
    char want[80];
    snprintf(want, sizeof want, "a %s from %g to %g",
             key->type == OWN_WHOLE ? "whole number" : "number", key->least, key->most);
    if (!number_parse(e->value, value_out) || *value_out < key->least || *value_out > key->most ||
        (key->type == OWN_WHOLE && *value_out != (double)(long)*value_out))
        return own_wrong(r, e, want);
    return STATUS_OK;
}

static Status take_choice(const Reading *r, const Entry *e, const OwnKey *key, int *index_out)
{
    const size_t length = strlen(e->value);
    *index_out = 0;
    for (const char *c = key->choices; *c; ++*index_out) {
        const size_t word = strcspn(c, "|");
        if (word == length && !memcmp(c, e->value, word)) return STATUS_OK;
        c += word + (c[word] == '|');
    }
    return own_wrong(r, e, key->choices);
}

static Status take_text(const Reading *r, const Entry *e, char *text_out)
{
    if (strlen(e->value) >= SHOW_TEXT || text_check(e->value, strlen(e->value), "", NULL))
        return own_wrong(r, e, "UTF-8 text of at most 199 bytes");
    strcpy(text_out, e->value);
    return STATUS_OK;
}

static Status take_own(Reading *r, const Entry *e, const OwnKey *key)
{
    char *base = e->mural == SHARED ? (char *)r->show : (char *)&r->show->mural[e->mural];
    void *member = base + key->offset;
    double number = 0;
    Status status = STATUS_OK;
    switch (key->type) {
    case OWN_TEXT:
        return take_text(r, e, member);
    case OWN_DAY:
        if (!day_parse(e->value, member)) return own_wrong(r, e, "a day, such as 2027-03-01");
        r->show->dated |= !strcmp(key->name, "start");
        return STATUS_OK;
    case OWN_DAYS:
        return take_days(r, e);
    case OWN_CHOICE:
        return take_choice(r, e, key, member);
    case OWN_NUMBER:
        return take_number(r, e, key, member);
    case OWN_WHOLE:
        status = take_number(r, e, key, &number);
        *(int *)member = (int)number;
        break;
    }
    return status;
}

/* ---- settings ---- */

/* Also names the keys of the show's own where one is meant. */
static Status unknown(const Reading *r, const Entry *e)
{
    const int in = e->mural == SHARED ? IN_SHOW : IN_MURAL;
    Spelling spelling = spelling_of(e->key, strlen(e->key));
    for (int i = 0; i < OWN_KEYS; i++)
        if (own_keys[i].in == in) spelling_offer(&spelling, own_keys[i].name);
    for (size_t i = 0; i < settings_count; i++) spelling_offer(&spelling, settings[i].name);
    const int column = column_of_key(r, e->line);
    if (spelling.nearest)
        return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: %s: no such key; did you mean %s?",
                         r->show->path, e->line, column, e->key, spelling.nearest);
    return fault_set(r->fault, STATUS_DATA,
                     "%s:%d:%d: %s: no such key; see EXHIBITION in 'rowlock --manual'",
                     r->show->path, e->line, column, e->key);
}

static Status misplaced(const Reading *r, const Entry *e)
{
    const bool shared = e->mural == SHARED;
    const char *why =
        !strcmp(e->key, "out") ? "every mural goes into a folder of its name "
                                 "in --out; remove the line"
        : find_own(e->key, shared ? IN_MURAL : IN_SHOW)
            ? (shared ? "is of one mural; write it below [mural NAME]"
                      : "is of the whole show; write it below [show]")
        : AMONG(e->key, neither)                ? "is no setting of a plan; remove the line"
        : shared && AMONG(e->key, mural_only)   ? "is of one mural; write it below [mural NAME]"
        : !shared && AMONG(e->key, shared_only) ? "is shared by all murals; write it below [show]"
                                                : NULL;
    if (!why) return STATUS_OK;
    return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: %s: %s", r->show->path, e->line,
                     column_of_key(r, e->line), e->key, why);
}

static Status take_setting(Reading *r, const Entry *e, Job *job)
{
    const Setting *s = setting_find(e->key);
    char where[JOB_TEXT + 96], path[JOB_TEXT + 64];
    snprintf(where, sizeof where, "%.*s:%d:%d: %s", JOB_TEXT - 1, r->show->path, e->line,
             column_of_value(r, e->line), e->key);
    const Status status = job_set(job, s, e->value, where, r->folder, r->fault);
    if (status == STATUS_USAGE && r->fault) r->fault->status = STATUS_DATA;
    if (status) return status == STATUS_USAGE ? STATUS_DATA : status;
    if (s->type != SETTING_FILE) return STATUS_OK;
    job_show(job, s, path, sizeof path);
    if (!strcmp(path, "-"))
        return fault_set(r->fault, STATUS_DATA, "%s: '-' serves one plan only; give a file", where);
    if (!*path || !access(path, R_OK)) return STATUS_OK;
    return fault_set(r->fault, STATUS_NO_INPUT, "%s: '%s' is not there; mend the path", where,
                     path);
}

static Status take_one(Reading *r, size_t index)
{
    const Entry *e = &r->entry[index];
    const OwnKey *own = find_own(e->key, e->mural == SHARED ? IN_SHOW : IN_MURAL);
    Status status = check_once(r, index);
    if (status) return status;
    if (own) return take_own(r, e, own);
    status = misplaced(r, e);
    if (status) return status;
    if (!setting_find(e->key)) return unknown(r, e);
    return take_setting(r, e,
                        e->mural == SHARED ? &r->show->shared : &r->show->mural[e->mural].job);
}

/* Those of [show] first, since each mural begins with what it says. */
static Status take_entries(Reading *r)
{
    Status status = STATUS_OK;
    for (size_t i = 0; i < r->entries && !status; i++)
        if (r->entry[i].mural == SHARED) status = take_one(r, i);
    for (int i = 0; i < r->show->count; i++) r->show->mural[i].job = r->show->shared;
    for (size_t i = 0; i < r->entries && !status; i++)
        if (r->entry[i].mural != SHARED) status = take_one(r, i);
    return status;
}

static Status check_murals(const Reading *r)
{
    for (int i = 0; i < r->show->count; i++) {
        const ShowMural *m = &r->show->mural[i];
        const Job *j = &m->job;
        const bool sized = j->columns || j->rows || j->width > 0 || j->height > 0 || *j->cells;
        if (*j->reference && sized) continue;
        return fault_set(r->fault, STATUS_DATA, "%s:%d:%d: mural %s has no %s", r->show->path,
                         m->line, column_of_key(r, m->line), m->name,
                         *j->reference ? "size; give columns or width" : "picture; give reference");
    }
    return STATUS_OK;
}

static void reading_clear(Reading *r)
{
    for (size_t i = 0; i < r->entries; i++) {
        memory_free(r->entry[i].key);
        memory_free(r->entry[i].value);
    }
    memory_free(r->entry);
    memory_free(r->line);
    memory_free(r->text);
}

Status show_file_read(Show *show, const char *path, Fault *fault)
{
    *show = (Show){.path = path, .week = 5, .lead = 14};
    job_init(&show->shared);
    Reading r = {.show = show, .fault = fault};
    const char *slash = strrchr(path, '/');
    size_t length = 0;
    if (!strcmp(path, "-"))
        return fault_set(fault, STATUS_USAGE,
                         "exhibition: standard input has no folder for its paths; give a file");
    if (slash && (size_t)(slash - path) < sizeof r.folder)
        memcpy(r.folder, path, (size_t)(slash - path));
    if (slash == path) strcpy(r.folder, "/.");
    Status status = text_read(&r.text, &length, path, fault);
    if (!status) status = text_check(r.text, length, path, fault);
    if (!status) status = cut_lines(&r, length);
    if (!status) status = take_sections(&r);
    if (!status) status = ini_file_read(path, take_entry, &r, fault);
    if (!status) status = take_entries(&r);
    if (!status) status = check_murals(&r);
    if (!show->stamp) show->stamp = show->start;
    reading_clear(&r);
    return status;
}

void show_file_clear(Show *show)
{
    memory_free(show->mural);
    show->mural = NULL;
    show->count = 0;
}

const char *show_title(const Show *show) { return *show->name ? show->name : "Exhibition"; }

const char *show_mural_title(const ShowMural *mural)
{
    return *mural->job.title ? mural->job.title : mural->name;
}

Status show_stopped(Fault *fault)
{
    return fault_set(
        fault, STATUS_INTERRUPTED,
        "exhibition: stopped from outside; murals that were done stay, run it again to "
        "go on");
}

/* ---- orders ---- */

/* Insertion keeps those of one place in the order of the file. */
static void sort_places(const int *place, int count, int *order)
{
    for (int i = 0; i < count; i++) {
        int at = i;
        while (at > 0 && place[order[at - 1]] > place[i]) {
            order[at] = order[at - 1];
            at--;
        }
        order[at] = i;
    }
}

void show_making(const Show *show, int *order)
{
    int place[SHOW_MURALS_MOST];
    for (int i = 0; i < show->count; i++)
        place[i] = show->mural[i].make ? show->mural[i].make : INT32_MAX;
    sort_places(place, show->count, order);
}

void show_hanging(const Show *show, int *order)
{
    int place[SHOW_MURALS_MOST];
    for (int i = 0; i < show->count; i++)
        place[i] = show->mural[i].hang ? show->mural[i].hang : INT32_MAX;
    sort_places(place, show->count, order);
}
