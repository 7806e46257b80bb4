/* The list holds texts as the library shows them, so that a job made of it is the same job. The job
 * file is written from the list and read back before it takes the earlier one's place: what cannot
 * stand in an INI line is refused when it is set, not when the plan is made.
 *
 * Source: job files as rowlock.h has them; realpath of POSIX.1-2017. */
#include "desk/setting_list.h"

#include "base/memory.h"
#include "base/text.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

Status told(Fault *fault, const RowlockFault *other)
{
    return other->status ? fault_set(fault, (Status)other->status, "%s", other->text) : STATUS_OK;
}

bool setting_named(const char *name, RowlockSetting *setting)
{
    for (size_t i = 0; rowlock_setting_at(i, setting); i++)
        if (!strcmp(setting->name, name)) return true;
    return false;
}

/* Groups of settings that other commands than plan take, or that are the machine's. */
bool setting_is_open(const RowlockSetting *s)
{
    static const char *const closed[] = {"Planning again", "Comparing", "Picking", "Measuring",
                                         "Run"};
    if (!strcmp(s->name, "reference")) return true;
    for (size_t i = 0; i < sizeof closed / sizeof *closed; i++)
        if (!strcmp(s->group, closed[i])) return false;
    return true;
}

static json_t *describe(const RowlockSetting *s)
{
    static const char *const types[] = {
        [ROWLOCK_TEXT] = "text",     [ROWLOCK_FILE] = "file",     [ROWLOCK_WHOLE] = "whole",
        [ROWLOCK_NUMBER] = "number", [ROWLOCK_LENGTH] = "length", [ROWLOCK_MASS] = "mass",
        [ROWLOCK_BYTES] = "bytes",   [ROWLOCK_CHOICE] = "choice", [ROWLOCK_SWITCH] = "switch"};
    return json_pack("{s:s, s:s, s:s, s:s?, s:s?, s:f, s:f, s:s, s:s, s:s?}", "name", s->name,
                     "type", types[s->type], "fallback", s->fallback, "value", s->value, "choices",
                     s->choices, "least", s->least, "most", s->most, "group", s->group, "help",
                     s->help, "rival", s->rival);
}

json_t *setting_list_table(void)
{
    json_t *table = json_array();
    RowlockSetting s;
    bool failed = !table;
    for (size_t i = 0; !failed && rowlock_setting_at(i, &s); i++)
        if (setting_is_open(&s)) failed = json_array_append_new(table, describe(&s)) != 0;
    if (!failed) return table;
    json_decref(table);
    return NULL;
}

/* ---- files, named from the working folder ---- */

/* The path from the root; of a file that is not there too, so that its name is told as it would be
 * found. */
static bool path_from_root(const char *path, char path_out[PATH_MAX])
{
    char place[PATH_MAX];
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    if (realpath(path, path_out)) return true;
    if (name - path >= PATH_MAX) return false;
    snprintf(place, sizeof place, "%.*s", slash ? (int)(name - path) : 1, slash ? path : ".");
    if (!realpath(place, path_out)) {
        name = path;
        if (*path == '/' || !realpath(".", path_out)) return false;
    }
    const size_t length = strlen(path_out), before = strcmp(path_out, "/") ? length : 0;
    const int rest = snprintf(path_out + before, PATH_MAX - before, "/%s", name);
    return rest >= 0 && (size_t)rest < PATH_MAX - before;
}

/* The path from the working folder on where the file is, or would be, beside or below it, else from
 * the root. */
static void name_from_folder(const WorkingFolder *folder, const char *path,
                             char text_out[ROWLOCK_SETTING_TEXT])
{
    char file[PATH_MAX], home[PATH_MAX];
    if (!*path || !strcmp(path, "-") || !path_from_root(path, file) ||
        !realpath(folder->path, home)) {
        snprintf(text_out, ROWLOCK_SETTING_TEXT, "%s", path);
        return;
    }
    const size_t inside = strlen(home), beside = (size_t)(strrchr(home, '/') - home);
    const char *from = file, *before = "";
    if (!strncmp(file, home, inside) && file[inside] == '/')
        from = file + inside + 1;
    else if (!strncmp(file, home, beside) && file[beside] == '/') {
        from = file + beside + 1;
        before = "../";
    }
    snprintf(text_out, ROWLOCK_SETTING_TEXT, "%s%.*s", before, ROWLOCK_SETTING_TEXT - 4, from);
}

/* As the library takes paths of a job file: after the file's folder, if they are not from the root.
 */
static Status name_from_here(const WorkingFolder *folder, const char *text,
                             char path_out[ROWLOCK_SETTING_TEXT], Fault *fault)
{
    const bool join = *text && *text != '/' && strcmp(text, "-") != 0;
    const int length = snprintf(path_out, ROWLOCK_SETTING_TEXT, "%s%s%s", join ? folder->path : "",
                                join ? "/" : "", text);
    if (length >= 0 && length < ROWLOCK_SETTING_TEXT) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE, "%s: the name is too long; use a shorter one", text);
}

/* ---- lists and jobs ---- */

static Status no_room(Fault *fault) { return memory_fault(fault, 1, sizeof(json_t *)); }

static Status put_text(json_t *list, const char *name, const char *text, Fault *fault)
{
    json_t *value = json_string(text);
    if (!value)
        return fault_set(fault, STATUS_USAGE, "%s: the text is not UTF-8; give it another name",
                         name);
    return json_object_set_new(list, name, value) ? no_room(fault) : STATUS_OK;
}

/* Puts each setting that is not as a new job has it. */
static Status put_job(json_t *list, const RowlockJob *job, const RowlockJob *plain,
                      const WorkingFolder *folder, Fault *fault)
{
    char text[ROWLOCK_SETTING_TEXT], fallback[ROWLOCK_SETTING_TEXT], named[ROWLOCK_SETTING_TEXT];
    RowlockSetting s;
    Status status = STATUS_OK;
    for (size_t i = 0; !status && rowlock_setting_at(i, &s); i++) {
        rowlock_job_show(job, s.name, text, NULL);
        rowlock_job_show(plain, s.name, fallback, NULL);
        if (!strcmp(text, fallback)) continue;
        if (s.type == ROWLOCK_FILE) name_from_folder(folder, text, named);
        status = put_text(list, s.name, s.type == ROWLOCK_FILE ? named : text, fault);
    }
    return status;
}

Status setting_list_of_job(json_t **list_out, const RowlockJob *job, const WorkingFolder *folder,
                           Fault *fault)
{
    RowlockJob *plain = NULL;
    RowlockFault other;
    Status status = rowlock_job_create(&plain, &other) ? told(fault, &other) : STATUS_OK;
    *list_out = json_object();
    if (!status && !*list_out) status = no_room(fault);
    if (!status) status = put_job(*list_out, job, plain, folder, fault);
    rowlock_job_free(plain);
    return status;
}

Status setting_list_job(RowlockJob **job_out, const json_t *list, const WorkingFolder *folder,
                        Fault *fault)
{
    RowlockFault other;
    RowlockSetting s;
    const char *name;
    json_t *value;
    *job_out = NULL;
    if (rowlock_job_create(job_out, &other)) return told(fault, &other);
    json_object_foreach((json_t *)list, name, value)
    {
        char path[ROWLOCK_SETTING_TEXT];
        const char *text = json_string_value(value);
        Status status = STATUS_OK;
        if (!text || !setting_named(name, &s))
            status = fault_set(fault, STATUS_USAGE, "%s: no such setting; see the form", name);
        if (!status && s.type == ROWLOCK_FILE) {
            status = name_from_here(folder, text, path, fault);
            text = path;
        }
        if (!status && rowlock_job_set(*job_out, name, text, NULL, &other))
            status = told(fault, &other);
        if (!status) continue;
        rowlock_job_free(*job_out);
        *job_out = NULL;
        return status;
    }
    return STATUS_OK;
}

/* ---- changes ---- */

/* A text that a plain job shows for it, so that "0.60" and "0.6" are one. */
static Status settle_text(const RowlockSetting *s, const char *text,
                          char settled_out[ROWLOCK_SETTING_TEXT], bool *plain_out, Fault *fault)
{
    RowlockJob *job = NULL;
    RowlockFault other;
    char fallback[ROWLOCK_SETTING_TEXT];
    if (rowlock_job_create(&job, &other)) return told(fault, &other);
    rowlock_job_show(job, s->name, fallback, NULL);
    /* An emptied field is as it was before anything was given. */
    Status status = STATUS_OK;
    if (*text && rowlock_job_set(job, s->name, text, s->name, &other)) status = told(fault, &other);
    if (!status) rowlock_job_show(job, s->name, settled_out, NULL);
    *plain_out = !status && !strcmp(settled_out, fallback);
    rowlock_job_free(job);
    return status;
}

const char *setting_stem(const RowlockSetting *s)
{
    return strcmp(s->name, "reference") ? s->name : "picture";
}

/* "strokes-3.png": of the setting's stem, ours by its shape, and there. */
static bool is_brought(const RowlockSetting *s, const char *text, const WorkingFolder *folder)
{
    const char *stem = setting_stem(s);
    const size_t length = strlen(stem);
    if (strncmp(text, stem, length) != 0 || text[length] != '-') return false;
    const char *number = text + length + 1;
    const size_t digits = strspn(number, "0123456789");
    if (!digits || number[digits] != '.') return false;
    const char *ending = number + digits + 1;
    const size_t letters = strspn(ending, "abcdefghijklmnopqrstuvwxyz");
    return letters && !ending[letters] && strlen(text) < WORKING_NAME &&
           working_folder_has(folder, text);
}

static Status change_one(json_t *list, const char *name, const char *text,
                         const WorkingFolder *folder, Fault *fault)
{
    RowlockSetting s;
    char settled[ROWLOCK_SETTING_TEXT];
    bool plain = false;
    if (!setting_named(name, &s) || !setting_is_open(&s))
        return fault_set(fault, STATUS_USAGE, "%.60s: no such setting; see the form", name);
    if (!text) return fault_set(fault, STATUS_USAGE, "%s: no text is given; give one", name);
    if (s.type == ROWLOCK_FILE && *text && !is_brought(&s, text, folder))
        return fault_set(fault, STATUS_USAGE, "%s: a file is brought, not named; drop it", name);
    const Status status = settle_text(&s, text, settled, &plain, fault);
    if (status) return status;
    if (s.rival) json_object_del(list, s.rival);
    if (!plain) return put_text(list, name, settled, fault);
    json_object_del(list, name);
    return STATUS_OK;
}

/* "calm 0.6", "width 1200mm and 2 more". */
static char *tell_change(const json_t *changes)
{
    enum { ROOM = TEXT_CLIP + 80 };
    char *what = memory_create(ROOM, 1);
    void *first = json_object_iter((json_t *)changes);
    if (!what || !first) return what;
    const char *name = json_object_iter_key(first);
    const char *text = json_string_value(json_object_iter_value(first));
    const size_t more = json_object_size(changes);
    RowlockSetting s;
    if (setting_named(name, &s) && s.type == ROWLOCK_FILE && text && *text)
        text = "brought"; /* the file's name is ours and says nothing */
    char shown[TEXT_CLIP];
    snprintf(what, ROOM, "%s %s", name, text && *text ? text_clip(shown, text) : "as at first");
    if (more > 1 && strcmp(name, "reference"))
        snprintf(what + strlen(what), ROOM - strlen(what), " and %zu more", more - 1);
    return what;
}

Status setting_list_change(json_t **list_out, char **what_out, const json_t *list,
                           const json_t *changes, const WorkingFolder *folder, Fault *fault)
{
    const char *name;
    json_t *value;
    RowlockJob *job = NULL;
    *list_out = json_deep_copy(list);
    *what_out = tell_change(changes);
    Status status = *list_out && *what_out ? STATUS_OK : no_room(fault);
    if (!status && !json_is_object(changes))
        status = fault_set(fault, STATUS_USAGE, "change: no settings are given; give an object");
    if (!status) json_object_foreach((json_t *)changes, name, value)
        {
            status = change_one(*list_out, name, json_string_value(value), folder, fault);
            if (status) break;
        }
    if (!status) status = setting_list_job(&job, *list_out, folder, fault);
    rowlock_job_free(job);
    if (!status) return STATUS_OK;
    json_decref(*list_out);
    memory_free(*what_out);
    *list_out = NULL;
    *what_out = NULL;
    return status;
}

/* ---- the job file ---- */

#define DRAFT ".part-" JOB_FILE

static const char preface[] =
    "; The mural as the desk has it, saved at each change. The same plan:\n"
    ";     rowlock plan --job THIS-FILE\n";

/* The file's text; a section for each group of the table that has a setting in the list. */
static char *job_text(const json_t *list)
{
    char *text = NULL;
    size_t size;
    FILE *file = open_memstream(&text, &size);
    RowlockSetting s;
    const char *group = NULL;
    if (!file) return NULL;
    fputs(preface, file);
    for (size_t i = 0; rowlock_setting_at(i, &s); i++) {
        const char *value = json_string_value(json_object_get(list, s.name));
        if (!value) continue;
        if (group != s.group) fprintf(file, "\n[%s]\n", s.group);
        group = s.group;
        fprintf(file, "%s = %s\n", s.name, value);
    }
    if (!fclose(file)) return text;
    free(text);
    return NULL;
}

/* Whether both jobs have the same text for every setting; else the name of one that differs. */
static bool is_same(const RowlockJob *a, const RowlockJob *b, const char **name_out)
{
    char one[ROWLOCK_SETTING_TEXT], other[ROWLOCK_SETTING_TEXT];
    RowlockSetting s;
    for (size_t i = 0; rowlock_setting_at(i, &s); i++) {
        rowlock_job_show(a, s.name, one, NULL);
        rowlock_job_show(b, s.name, other, NULL);
        *name_out = s.name;
        if (strcmp(one, other) != 0) return false;
    }
    return true;
}

static Status read_back(const json_t *list, const WorkingFolder *folder, const char *path,
                        Fault *fault)
{
    RowlockJob *meant = NULL, *read = NULL;
    RowlockFault other;
    const char *name = "";
    Status status = setting_list_job(&meant, list, folder, fault);
    if (!status && (rowlock_job_create(&read, &other) || rowlock_job_read(read, path, &other)))
        status = told(fault, &other);
    if (!status && !is_same(meant, read, &name))
        status = fault_set(
            fault, STATUS_USAGE,
            "%s: this text cannot stand in a job file; leave out ; and blanks around", name);
    rowlock_job_free(meant);
    rowlock_job_free(read);
    return status;
}

Status setting_list_save(const json_t *list, const WorkingFolder *folder, Fault *fault)
{
    char path[WORKING_PATH];
    char *text = job_text(list);
    if (!text) return no_room(fault);
    working_folder_path(folder, DRAFT, path);
    Status status = working_folder_draft(folder, DRAFT, text, strlen(text), fault);
    if (!status) status = read_back(list, folder, path, fault);
    if (!status) status = working_folder_rename(folder, DRAFT, JOB_FILE, fault);
    if (status) remove(path);
    free(text);
    return status;
}
