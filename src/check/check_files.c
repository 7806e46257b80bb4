/* A plan's folder holds the files that plan.json lists and no others of a plan: a file that is left
 * from an earlier plan would be taken for this one's. Files of the user's own are left alone. The
 * digests say that nothing was changed since; what the files say is for the other checks. */
#include "check/check_files.h"

#include "base/digest.h"
#include "base/folder.h"
#include "base/memory.h"
#include "base/output_list.h"
#include "check/file_checks.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static bool listed(const PlanFacts *e, const char *name)
{
    return json_object_get(json_object_get(e->plan, "files"), name) != NULL;
}

static bool is_due(const PlanFacts *e, OutputWhen when)
{
    switch (when) {
    case OUTPUT_ALWAYS:
        return true;
    case OUTPUT_IN_RELIEF:
        return e->relief;
    case OUTPUT_WITH_BOOK:
        return !plan_facts_off(e, "book") && !plan_facts_on(e, "no-book");
    default: /* may be there */
        return false;
    }
}

/* Each panel has its book, but those that stood when the mural was planned again. */
static void check_panel_books(PlanFacts *e)
{
    const char *book =
        json_string_value(json_object_get(json_object_get(e->plan, "settings"), "book"));
    if (!book || strcmp(book, "panels") || listed(e, output_list[OUTPUT_DIFFERENCE_CSV].name))
        return;
    size_t i;
    const json_t *panel;
    json_array_foreach(json_object_get(e->plan, "panels"), i, panel)
    {
        char file[OUTPUT_PANEL_NAME];
        const char *name = json_string_value(json_object_get(panel, "name"));
        if (!name) continue;
        output_panel_book(name, file);
        if (!listed(e, file))
            verdict_broken(e->verdict, PROMISE_LISTED, "plan.json: files: %s: not listed", file);
    }
}

static void check_needed(PlanFacts *e)
{
    for (const FileCheck *check = file_checks; check < file_checks + OUTPUTS_OF_PLAN; check++) {
        const OutputFile *file = &output_list[check->file];
        const bool there = check->file == OUTPUT_PLAN_JSON || listed(e, file->name);
        if (!there && !check->optional && is_due(e, file->when))
            verdict_broken(e->verdict, PROMISE_LISTED, "plan.json: files: %s: not listed",
                           file->name);
        if (there && file->when == OUTPUT_IN_RELIEF && !e->relief)
            verdict_broken(e->verdict, PROMISE_LISTED,
                           "plan.json: files: %s: listed, but a plan without steps.png is flat",
                           file->name);
    }
    check_panel_books(e);
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void say_unlisted(PlanFacts *e, const char *name)
{
    if (output_of_plan(name) != OUTPUTS_OF_PLAN || output_is_panel_book(name))
        verdict_broken(e->verdict, PROMISE_LISTED, "plan.json: files: %s: is there but not listed",
                       name);
    else
        voice_note(e->voice, "%s/%s: no file of the plan, left alone", e->folder, name);
}

/* Names that the folder holds and plan.json does not list. */
typedef struct Names {
    char **name;
    size_t count, capacity;
} Names;

static Status add_name(Names *names, const char *name, Fault *fault)
{
    const Status status =
        memory_grow(&names->name, &names->capacity, names->count + 1, sizeof *names->name, fault);
    if (status) return status;
    const size_t size = strlen(name) + 1;
    char *copy = memory_create(size, 1);
    if (!copy) return memory_fault(fault, size, 1);
    memcpy(copy, name, size);
    names->name[names->count++] = copy;
    return STATUS_OK;
}

/* inner: the folder of panels' books, whose files are "book/NAME"; NULL: the plan's own. */
static Status gather_unlisted(const PlanFacts *e, DIR *folder, const char *inner, Names *names,
                              Fault *fault)
{
    const struct dirent *entry;
    Status status = STATUS_OK;
    while (!status && (entry = readdir(folder))) {
        char name[2 * 256 + 2];
        snprintf(name, sizeof name, "%s%s%.255s", inner ? inner : "", inner ? "/" : "",
                 entry->d_name);
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0 ||
            strcmp(name, "plan.json") == 0 || listed(e, name))
            continue;
        status = add_name(names, name, fault);
    }
    return status;
}

/* *there_out: whether the plan has the folder of its panels' books. */
static Status gather_panel_books(const PlanFacts *e, Names *names, bool *there_out, Fault *fault)
{
    char path[FOLDER_PATH];
    const char *name = output_list[OUTPUT_PANEL_BOOKS].name;
    DIR *folder = folder_join(path, e->folder, name) ? opendir(path) : NULL;
    *there_out = folder != NULL;
    if (!folder) return STATUS_OK;
    const Status status = gather_unlisted(e, folder, name, names, fault);
    closedir(folder);
    return status;
}

/* In the order of the alphabet. */
static void say_all_unlisted(PlanFacts *e, Names *names, bool books)
{
    if (names->count) qsort(names->name, names->count, sizeof *names->name, by_name);
    for (size_t i = 0; i < names->count; i++) {
        const bool folder = books && !strcmp(names->name[i], output_list[OUTPUT_PANEL_BOOKS].name);
        if (!folder) say_unlisted(e, names->name[i]);
    }
}

static Status check_unlisted(PlanFacts *e, Fault *fault)
{
    DIR *folder = opendir(e->folder);
    if (!folder)
        return fault_set(fault, STATUS_NO_INPUT, "%s: cannot be opened (%s); give a plan's folder",
                         e->folder, strerror(errno));
    Names names = {0};
    bool books = false;
    Status status = gather_unlisted(e, folder, NULL, &names, fault);
    closedir(folder);
    if (!status) status = gather_panel_books(e, &names, &books, fault);
    if (!status) say_all_unlisted(e, &names, books);
    for (size_t i = 0; i < names.count; i++) memory_free(names.name[i]);
    memory_free(names.name);
    return status;
}

/* The digest of a file, "" where it is not there. */
static Status digest_present(const char *path, char text_out[DIGEST_TEXT], Fault *fault)
{
    struct stat what;
    *text_out = '\0';
    const bool present = stat(path, &what) == 0 && S_ISREG(what.st_mode);
    return present ? digest_file(path, text_out, fault) : STATUS_OK;
}

static Status check_listed(PlanFacts *e, const char *name, const json_t *value, Fault *fault)
{
    char path[FOLDER_PATH], digest[DIGEST_TEXT];
    const char *said = json_string_value(value);
    if ((strchr(name, '/') && !output_is_panel_book(name)) || *name == '.' || *name == '\0' ||
        strcmp(name, "plan.json") == 0 || !folder_join(path, e->folder, name)) {
        verdict_broken(e->verdict, PROMISE_LISTED,
                       "plan.json: files: '%s': no name of a plan's file", name);
        return STATUS_OK;
    }
    const Status status = digest_present(path, digest, fault);
    if (status) return status;
    if (*digest == '\0')
        verdict_broken(e->verdict, PROMISE_LISTED, "%s: listed in plan.json but not there", name);
    else if (!said || strcmp(said, digest) != 0)
        verdict_broken(e->verdict, PROMISE_DIGESTS, "%s: its SHA-256 is %s, plan.json says %s",
                       name, digest, said ? said : "none");
    return STATUS_OK;
}

static Status check_panel_book_contents(PlanFacts *e, const FileCheck *check, Fault *fault)
{
    const char *name;
    json_t *value;
    Status status = STATUS_OK;
    json_object_foreach(json_object_get(e->plan, "files"), name, value)
    {
        if (!status && output_is_panel_book(name)) status = check->content(e, name, fault);
    }
    return status;
}

static Status check_contents(PlanFacts *e, Fault *fault)
{
    Status status = STATUS_OK;
    for (const FileCheck *c = file_checks; c < file_checks + OUTPUTS_OF_PLAN && !status; c++) {
        const char *name = output_list[c->file].name;
        if (c->file == OUTPUT_PANEL_BOOKS)
            status = check_panel_book_contents(e, c, fault);
        else if (c->content && listed(e, name))
            status = c->content(e, name, fault);
    }
    return status;
}

Status check_files(PlanFacts *e, Fault *fault)
{
    json_t *files = json_object_get(e->plan, "files");
    if (!json_is_object(files)) return STATUS_OK;
    check_needed(e);
    const char *name;
    json_t *value;
    json_object_foreach(files, name, value)
    {
        const Status status = check_listed(e, name, value, fault);
        if (status) return status;
    }
    const Status status = check_unlisted(e, fault);
    return status ? status : check_contents(e, fault);
}
