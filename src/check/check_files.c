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
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void say_unlisted(PlanFacts *e, const char *name)
{
    if (output_of_plan(name) != OUTPUTS_OF_PLAN)
        verdict_broken(e->verdict, PROMISE_LISTED, "plan.json: files: %s: is there but not listed",
                       name);
    else
        voice_note(e->voice, "%s/%s: no file of the plan, left alone", e->folder, name);
}

/* Names that the folder holds and plan.json does not list, in the order of the alphabet. */
static Status gather_unlisted(PlanFacts *e, DIR *folder, char ***name_out, size_t *count_out,
                              Fault *fault)
{
    size_t capacity = 0;
    const struct dirent *entry;
    while ((entry = readdir(folder))) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0 ||
            strcmp(entry->d_name, "plan.json") == 0 || listed(e, entry->d_name))
            continue;
        const Status status =
            memory_grow(name_out, &capacity, *count_out + 1, sizeof **name_out, fault);
        if (status) return status;
        const size_t length = strlen(entry->d_name) + 1;
        char *copy = memory_create(length, 1);
        if (!copy) return memory_fault(fault, length, 1);
        memcpy(copy, entry->d_name, length);
        (*name_out)[(*count_out)++] = copy;
    }
    return STATUS_OK;
}

static Status check_unlisted(PlanFacts *e, Fault *fault)
{
    DIR *folder = opendir(e->folder);
    if (!folder)
        return fault_set(fault, STATUS_NO_INPUT, "%s: cannot be opened (%s); give a plan's folder",
                         e->folder, strerror(errno));
    char **name = NULL;
    size_t count = 0;
    const Status status = gather_unlisted(e, folder, &name, &count, fault);
    closedir(folder);
    if (!status && count) qsort(name, count, sizeof *name, by_name);
    for (size_t i = 0; i < count; i++) {
        if (!status) say_unlisted(e, name[i]);
        memory_free(name[i]);
    }
    memory_free(name);
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
    if (strchr(name, '/') || *name == '.' || *name == '\0' || strcmp(name, "plan.json") == 0 ||
        !folder_join(path, e->folder, name)) {
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

static Status check_contents(PlanFacts *e, Fault *fault)
{
    Status status = STATUS_OK;
    for (int i = 0; i < OUTPUTS_OF_PLAN && !status; i++) {
        const char *name = output_list[file_checks[i].file].name;
        if (file_checks[i].content && listed(e, name))
            status = file_checks[i].content(e, name, fault);
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
