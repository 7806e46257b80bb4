/* A plan is published by its own run (base/folder). A record of it is written after that, by a
 * rename: a run that is killed between the two plans the mural once more, and harms nothing.
 *
 * Source: rename(2), flock(2) and fsync of POSIX.1-2017. */
#include "show/show_folder.h"

#include "base/memory.h"
#include "base/output_file.h"
#include "base/output_list.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define HIDDEN ".show"
#define SHELF "shelf"

static Status no_create(const char *path, const char *why, Fault *fault)
{
    return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); choose another --out",
                     path, why);
}

/* path/a, or path/a/b. */
static void join(const ShowFolder *f, const char *a, const char *b, char path_out[FOLDER_PATH])
{
    snprintf(path_out, FOLDER_PATH, "%.*s/%.255s%s%.255s", FOLDER_PATH - 600, f->path, a,
             b ? "/" : "", b ? b : "");
}

static Status make_folder(const char *path, Fault *fault)
{
    struct stat about;
    if (!mkdir(path, 0777) || (errno == EEXIST && !stat(path, &about) && S_ISDIR(about.st_mode)))
        return STATUS_OK;
    return no_create(path, errno == EEXIST ? "a file of that name is in the way" : strerror(errno),
                     fault);
}

/* With all folders above it. */
static Status make_all(const char *path, Fault *fault)
{
    char part[FOLDER_PATH];
    snprintf(part, sizeof part, "%s", path);
    for (char *c = part + 1; *c; c++) {
        if (*c != '/') continue;
        *c = '\0';
        const Status status = make_folder(part, fault);
        if (status) return status;
        *c = '/';
    }
    return make_folder(part, fault);
}

static bool is_there(const ShowFolder *f, const char *name)
{
    char path[FOLDER_PATH];
    struct stat about;
    join(f, name, NULL, path);
    return !lstat(path, &about);
}

/* A show that was copied without what is hidden in it. */
static bool is_show(const ShowFolder *f)
{
    char *bytes = NULL;
    size_t length = 0;
    if (folder_read(f->path, "show.json", &bytes, &length, NULL)) return false;
    const bool ours = strstr(bytes, "\"rowlock-show\"");
    memory_free(bytes);
    return ours;
}

/* What is there and is none of a show's would be lost. */
static Status check_own(const ShowFolder *f, Fault *fault)
{
    if (is_there(f, HIDDEN) || is_show(f)) return STATUS_OK;
    const char *found = is_there(f, "plan.json") ? "plan.json" : NULL;
    for (int id = 0; id < OUTPUTS && !found; id++)
        if (output_list[id].when == OUTPUT_EXHIBITED && is_there(f, output_show_name((OutputId)id)))
            found = output_show_name((OutputId)id);
    if (!found) return STATUS_OK;
    return fault_set(fault, STATUS_NO_CREATE,
                     "%s: holds '%s', which is not an exhibition's; move it away or choose "
                     "another --out",
                     f->path, found);
}

static void clear_partials(const ShowFolder *f)
{
    char path[FOLDER_PATH];
    for (int id = 0; id < OUTPUTS; id++) {
        if (output_list[id].when != OUTPUT_EXHIBITED) continue;
        show_folder_partial(f, output_show_name((OutputId)id), path);
        unlink(path);
    }
}

Status show_folder_begin(ShowFolder *f, const char *path, Fault *fault)
{
    *f = (ShowFolder){.begun = false};
    size_t length = strlen(path);
    while (length > 1 && path[length - 1] == '/') length--;
    if (length >= FOLDER_PATH - 600) return no_create("--out", "name too long", fault);
    memcpy(f->path, path, length);
    char hidden[FOLDER_PATH], lock[FOLDER_PATH];
    join(f, HIDDEN, NULL, hidden);
    join(f, HIDDEN, "lock", lock);
    Status status = make_all(f->path, fault);
    if (!status) status = check_own(f, fault);
    if (!status) status = make_folder(hidden, fault);
    if (!status) status = lock_file_take(&f->lock, lock, f->path, fault);
    if (status) return status;
    f->begun = true;
    clear_partials(f);
    return STATUS_OK;
}

void show_folder_end(ShowFolder *f)
{
    if (!f->begun) return;
    clear_partials(f);
    lock_file_release(&f->lock);
    f->begun = false;
}

Status show_folder_make_shelf(const ShowFolder *f, Fault *fault)
{
    char path[FOLDER_PATH];
    join(f, SHELF, NULL, path);
    return make_folder(path, fault);
}

void show_folder_mural(const ShowFolder *f, const char *mural, char path_out[FOLDER_PATH])
{
    join(f, mural, NULL, path_out);
}

void show_folder_shelf(const ShowFolder *f, const char *mural, char path_out[FOLDER_PATH])
{
    char name[260];
    snprintf(name, sizeof name, "%.200s.csv", mural);
    join(f, SHELF, name, path_out);
}

void show_folder_partial(const ShowFolder *f, const char *name, char path_out[FOLDER_PATH])
{
    char hidden[300];
    snprintf(hidden, sizeof hidden, "%.200s.partial", name);
    join(f, HIDDEN, hidden, path_out);
}

/* Sees a file or folder onto the disk; file systems that have no such thing answer EINVAL. */
static bool sync_path(const char *path, int flags)
{
    const int file = open(path, O_RDONLY | O_CLOEXEC | flags);
    if (file < 0) return false;
    const bool synced = !fsync(file) || errno == EINVAL;
    close(file);
    return synced;
}

Status show_folder_publish(const ShowFolder *f, const char *const *name, int names, Fault *fault)
{
    char from[FOLDER_PATH], to[FOLDER_PATH];
    for (int i = 0; i < names; i++) {
        show_folder_partial(f, name[i], from);
        if (!access(from, F_OK) && !sync_path(from, 0))
            return output_file_fault(from, errno, fault);
    }
    for (int i = 0; i < names; i++) {
        show_folder_partial(f, name[i], from);
        join(f, name[i], NULL, to);
        if (!rename(from, to)) continue;
        if (errno != ENOENT) return no_create(to, strerror(errno), fault);
        unlink(to);
    }
    if (sync_path(f->path, O_DIRECTORY)) return STATUS_OK;
    return output_file_fault(f->path, errno, fault);
}

static void record_path(const ShowFolder *f, const char *mural, char path_out[FOLDER_PATH])
{
    char name[260];
    snprintf(name, sizeof name, "%.200s.made", mural);
    join(f, HIDDEN, name, path_out);
}

bool show_folder_recall(const ShowFolder *f, const char *mural, MadeRecord *record)
{
    char path[FOLDER_PATH];
    int held = 0;
    record_path(f, mural, path);
    FILE *file = fopen(path, "r");
    if (!file) return false;
    const int read = fscanf(file, "%64[0-9a-f] %64[0-9a-f] %d", record->key, record->plan, &held);
    fclose(file);
    record->status = held ? STATUS_OK : STATUS_UNHELD;
    return read == 3;
}

Status show_folder_record(const ShowFolder *f, const char *mural, const MadeRecord *record,
                          Fault *fault)
{
    char path[FOLDER_PATH], partial[FOLDER_PATH + 16];
    FILE *file;
    record_path(f, mural, path);
    snprintf(partial, sizeof partial, "%s.partial", path);
    Status status = output_file_open(&file, partial, fault);
    if (status) return status;
    fprintf(file, "%s %s %d\n", record->key, record->plan, record->status == STATUS_OK);
    status = output_file_close(file, partial, fault);
    if (status) return status;
    return rename(partial, path) ? no_create(path, strerror(errno), fault) : STATUS_OK;
}
