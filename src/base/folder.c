/* Publishing by exchange: rename(2) with RENAME_EXCHANGE swaps two folders in one step, so that
 * there is a whole plan under the name at any moment. Before it every file and the hidden folder
 * are synced, after it their parent; only then is the earlier plan removed. The lock is a file of
 * its own that no run renames, so whoever holds it alone touches the hidden folder.
 * Where a file system cannot exchange, two renames do it, and what a run that was killed between
 * them left aside is put back by the next one.
 *
 * Source: rename(2) and fsync of POSIX.1-2017; for the exchange see system. */
#include "base/folder.h"

#include "base/input_file.h"
#include "base/memory.h"
#include "base/system.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static Status no_create(const char *path, const char *why, Fault *fault)
{
    return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); choose another --out",
                     path, why);
}

static bool is_dots(const char *name) { return !strcmp(name, ".") || !strcmp(name, ".."); }

/* Calls `each` for every entry of a folder until it returns non-zero. A folder that is not there
 * has none; -1 and errno where one cannot be looked into. */
static int for_entries(const char *path, int (*each)(const char *, const char *, void *),
                       void *context)
{
    DIR *entries = opendir(path);
    if (!entries) return errno == ENOENT ? 0 : -1;
    int result = 0;
    for (struct dirent *e; !result && (e = readdir(entries));)
        if (!is_dots(e->d_name)) result = each(path, e->d_name, context);
    closedir(entries);
    return result;
}

typedef int Each(const char *path, const char *name, void *context);

static bool is_folder(const char *path, const char *name)
{
    struct stat about;
    char full[FOLDER_PATH + 260];
    snprintf(full, sizeof full, "%s/%s", path, name);
    return !lstat(full, &about) && S_ISDIR(about.st_mode);
}

/* A walk through a folder and the folders of ours in it. */
typedef struct FolderWalk {
    const FolderKind *kind;
    Each *each;
    void *context;
    const char *path, *inner; /* inner: the folder in it, or NULL */
} FolderWalk;

static int walk_entry(const char *path, const char *name, void *context)
{
    const FolderWalk *w = context;
    char relative[2 * 256 + 2], inside[FOLDER_PATH + 260];
    (void)path;
    if (w->inner) {
        snprintf(relative, sizeof relative, "%.255s/%.255s", w->inner, name);
        return w->each(w->path, relative, w->context);
    }
    if (w->kind->ours(name) && is_folder(w->path, name)) {
        FolderWalk inner = *w;
        inner.inner = name;
        snprintf(inside, sizeof inside, "%s/%s", w->path, name);
        const int result = for_entries(inside, walk_entry, &inner);
        if (result) return result;
    }
    return w->each(w->path, name, w->context);
}

/* Like for_entries; of a folder of ours first "NAME/FILE" for each of its entries, then itself. */
static int for_all(const char *path, const FolderKind *kind, Each *each, void *context)
{
    FolderWalk walk = {kind, each, context, path, NULL};
    return for_entries(path, walk_entry, &walk);
}

static int remove_entry(const char *path, const char *name, void *context)
{
    (void)context;
    char full[FOLDER_PATH + 520];
    snprintf(full, sizeof full, "%s/%s", path, name);
    if (unlink(full)) rmdir(full);
    return 0;
}

static void remove_all(const char *path, const FolderKind *kind)
{
    for_all(path, kind, remove_entry, NULL);
    rmdir(path);
}

/* A whole new folder takes the place of the earlier one, so whoever stands in it, as the
 * shell that started this does, would be left in a folder that is gone. */
static bool is_here(const struct stat *folder)
{
    struct stat here;
    return !stat(".", &here) && here.st_dev == folder->st_dev && here.st_ino == folder->st_ino;
}

/* Where the folder will stand: links resolved, so that a link to a plan is followed
 * and not replaced. */
static Status find_place(Folder *f, Fault *fault)
{
    char resolved[PATH_MAX];
    struct stat about;
    if (realpath(f->asked, resolved)) {
        if (stat(resolved, &about) || !S_ISDIR(about.st_mode))
            return no_create(f->asked, "a file of that name is in the way", fault);
        if (!strcmp(resolved, "/")) return no_create(f->asked, "the root folder", fault);
        if (is_here(&about))
            return no_create(f->asked, "the folder you are in, which would be replaced", fault);
        snprintf(f->final, sizeof f->final, "%s", resolved);
        return STATUS_OK;
    }
    if (errno != ENOENT) return no_create(f->asked, strerror(errno), fault);
    if (!lstat(f->asked, &about)) return no_create(f->asked, "a link to nothing", fault);
    /* Not there yet: its parent must be, or is made, one folder after another. */
    char parent[FOLDER_PATH];
    snprintf(parent, sizeof parent, "%s", f->asked);
    for (size_t n = strlen(parent); n > 1 && parent[n - 1] == '/';) parent[--n] = 0;
    char *slash = strrchr(parent, '/');
    const char *name = slash ? slash + 1 : parent;
    if (is_dots(name)) return no_create(f->asked, strerror(ENOENT), fault);
    char leaf[256];
    if (strlen(name) >= sizeof leaf - 16) return no_create(f->asked, "name too long", fault);
    strcpy(leaf, name);
    if (slash == parent)
        strcpy(parent, "/");
    else if (slash)
        *slash = 0;
    else
        strcpy(parent, ".");
    for (char *c = parent + 1; c[-1]; c++)
        if (*c == '/' || !*c) {
            const char kept = *c;
            *c = 0;
            if (mkdir(parent, 0777) && errno != EEXIST)
                return no_create(f->asked, strerror(errno), fault);
            *c = kept;
            if (!kept) break;
        }
    if (!realpath(parent, resolved)) return no_create(f->asked, strerror(errno), fault);
    snprintf(f->final, sizeof f->final, "%.*s/%s", FOLDER_PATH - 260,
             strcmp(resolved, "/") ? resolved : "", leaf);
    return STATUS_OK;
}

/* ---- what is the user's own ---- */

static bool is_marked(const Folder *f)
{
    char path[FOLDER_PATH + 260], head[4096 + 1];
    snprintf(path, sizeof path, "%s/%s", f->final, f->kind->mark);
    const int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (file < 0) return false;
    const ssize_t bytes = read(file, head, sizeof head - 1);
    close(file);
    head[bytes > 0 ? bytes : 0] = 0;
    return strstr(head, f->kind->mark_text) != NULL;
}

typedef struct Look {
    const Folder *folder;
    bool marked; /* a folder of ours, whose files of our names may go */
    char found[2 * 256 + 2];
} Look;

/* Finds what would be lost: a folder cannot be linked into another, and a file of one of our
 * names in a folder that is none of ours is somebody else's; so is what lies in a folder of our
 * names and is not ours. */
static int find_own(const char *path, const char *name, void *context)
{
    Look *look = context;
    const bool folder = is_folder(path, name), ours = look->folder->kind->ours(name);
    const bool within = strchr(name, '/') != NULL;
    const bool lost = !look->marked ? folder || ours : folder ? within || !ours : within && !ours;
    if (!lost) return 0;
    snprintf(look->found, sizeof look->found, "%s%s", name, folder ? "/" : "");
    return 1;
}

static Status check_own(const Folder *f, Fault *fault)
{
    Look look = {.folder = f, .marked = is_marked(f)};
    const int found = for_all(f->final, f->kind, find_own, &look);
    if (!found) return STATUS_OK;
    if (found < 0) return no_create(f->asked, strerror(errno), fault);
    return fault_set(fault, STATUS_NO_CREATE,
                     "%s: holds '%s', which is not a plan's and would be lost; move it away or "
                     "choose another --out",
                     f->asked, look.found);
}

/* ---- the hidden folder ---- */

static void hidden_path(const Folder *f, const char *ending, char path_out[FOLDER_PATH])
{
    const char *name = strrchr(f->final, '/') + 1;
    snprintf(path_out, FOLDER_PATH, "%.*s/.%.240s.%s", FOLDER_PATH - 260,
             strcmp(f->parent, "/") ? f->parent : "", name, ending);
}

/* A run may have been killed between the two renames that stand for an exchange. */
static void recover_aside(const Folder *f)
{
    char aside[FOLDER_PATH];
    struct stat about;
    hidden_path(f, "earlier", aside);
    if (lstat(aside, &about)) return;
    if (lstat(f->final, &about) && errno == ENOENT)
        rename(aside, f->final);
    else
        remove_all(aside, f->kind);
}

static Status make_partial(Folder *f, Fault *fault)
{
    struct stat about;
    hidden_path(f, "partial", f->partial);
    recover_aside(f);
    if (mkdir(f->partial, 0777) && errno != EEXIST)
        return no_create(f->asked, strerror(errno), fault);
    if (lstat(f->partial, &about) || !S_ISDIR(about.st_mode))
        return fault_set(fault, STATUS_NO_CREATE, "%s: is in the way; move it away", f->partial);
    for_all(f->partial, f->kind, remove_entry, NULL);
    const Status status = check_own(f, fault);
    if (status) remove_all(f->partial, f->kind);
    return status;
}

Status folder_begin(Folder *f, const char *path, const FolderKind *kind, Fault *fault)
{
    *f = (Folder){.kind = kind};
    if (strlen(path) >= FOLDER_PATH - 300) return no_create("--out", "name too long", fault);
    snprintf(f->asked, sizeof f->asked, "%s", path);
    Status status = find_place(f, fault);
    if (status) return status;
    const char *slash = strrchr(f->final, '/');
    snprintf(f->parent, sizeof f->parent, "%.*s", slash == f->final ? 1 : (int)(slash - f->final),
             f->final);
    char lock[FOLDER_PATH];
    hidden_path(f, "lock", lock);
    status = lock_file_take(&f->lock, lock, f->asked, fault);
    if (status) return status;
    status = make_partial(f, fault);
    f->begun = !status;
    if (status) lock_file_release(&f->lock);
    return status;
}

void folder_path(const Folder *f, const char *name, char path_out[FOLDER_PATH])
{
    snprintf(path_out, FOLDER_PATH, "%.*s/%s", FOLDER_PATH - 260, f->partial, name);
}

/* ---- putting it in place ---- */

/* Links a file that is not the plan's into the new folder, where it is not there yet. */
static int keep_entry(const char *path, const char *name, void *context)
{
    const Folder *f = context;
    if (f->kind->ours(name)) return 0;
    char from[FOLDER_PATH + 520], to[FOLDER_PATH];
    snprintf(from, sizeof from, "%s/%s", path, name);
    folder_path(f, name, to);
    return link(from, to) && errno != EEXIST;
}

/* The same after the exchange: what came into the earlier folder since. */
static int keep_late(const char *path, const char *name, void *context)
{
    const Folder *f = context;
    char from[FOLDER_PATH + 520], to[FOLDER_PATH + 520];
    if (f->kind->ours(name)) return 0;
    snprintf(from, sizeof from, "%s/%s", path, name);
    snprintf(to, sizeof to, "%s/%s", f->final, name);
    return link(from, to) && errno != EEXIST;
}

/* Sees a file or a folder onto the disk; file systems that have no such thing answer EINVAL. */
static int sync_path(const char *path, int flags)
{
    const int descriptor = open(path, flags | O_RDONLY | O_CLOEXEC);
    if (descriptor < 0) return -1;
    const int failed = fsync(descriptor) && errno != EINVAL && errno != EROFS;
    close(descriptor);
    return failed;
}

static int sync_entry(const char *path, const char *name, void *context)
{
    (void)context;
    char full[FOLDER_PATH + 520];
    struct stat about;
    snprintf(full, sizeof full, "%s/%s", path, name);
    if (lstat(full, &about)) return 0;
    if (S_ISDIR(about.st_mode)) return sync_path(full, O_NOFOLLOW | O_DIRECTORY);
    return S_ISREG(about.st_mode) ? sync_path(full, O_NOFOLLOW) : 0;
}

/* The hidden folder is then the earlier plan, or gone where there was none. */
static bool exchange(const Folder *f)
{
    if (rename(f->partial, f->final) == 0) return true; /* nothing there, or an empty folder */
    if (system_exchange(f->partial, f->final) == 0) return true;
    if (errno != EINVAL && errno != ENOSYS) return false;
    char aside[FOLDER_PATH];
    hidden_path(f, "earlier", aside);
    if (rename(f->final, aside)) return false;
    if (rename(f->partial, f->final) == 0) return rename(aside, f->partial) == 0;
    rename(aside, f->final);
    return false;
}

Status folder_commit(Folder *f, Fault *fault)
{
    Status status = check_own(f, fault);
    if (status) return status;
    if (for_all(f->final, f->kind, keep_entry, f))
        return fault_set(fault, STATUS_NO_CREATE,
                         "%s: holds a file of yours that cannot be kept (%s); move it away or "
                         "choose another --out",
                         f->asked, strerror(errno));
    if (for_all(f->partial, f->kind, sync_entry, NULL) || sync_path(f->partial, O_DIRECTORY))
        return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space", f->asked,
                         strerror(errno));
    if (!exchange(f)) return no_create(f->asked, strerror(errno), fault);
    const int unsure = sync_path(f->parent, O_DIRECTORY);
    const int left = for_all(f->partial, f->kind, keep_late, f);
    if (!unsure && !left) remove_all(f->partial, f->kind);
    lock_file_release(&f->lock);
    f->begun = false;
    if (!unsure) return STATUS_OK;
    return fault_set(fault, STATUS_IO,
                     "%s: is written, but the disk may not keep it (%s); check the disk", f->asked,
                     strerror(errno));
}

void folder_abandon(Folder *f)
{
    if (!f->begun) return;
    remove_all(f->partial, f->kind);
    lock_file_release(&f->lock);
    f->begun = false;
}

/* ---- a finished folder ---- */

bool folder_join(char path_out[FOLDER_PATH], const char *folder, const char *name)
{
    const int n = snprintf(path_out, FOLDER_PATH, "%s/%s", folder, name);
    return n > 0 && n < FOLDER_PATH;
}

Status folder_read(const char *folder, const char *name, char **bytes_out, size_t *length_out,
                   Fault *fault)
{
    char path[FOLDER_PATH];
    struct stat what;
    FILE *file = folder_join(path, folder, name) ? input_file_open_regular(path) : NULL;
    if (!file || fstat(fileno(file), &what)) {
        const int why = errno;
        if (file) fclose(file);
        return fault_set(fault, STATUS_NO_INPUT,
                         "%s/%s: cannot be read (%s); give the folder of a finished plan", folder,
                         name, strerror(why));
    }
    const size_t length = (size_t)what.st_size;
    char *bytes = length < SIZE_MAX ? memory_create(length + 1, 1) : NULL;
    Status status = bytes ? STATUS_OK : memory_fault(fault, length, 1);
    if (!status && fread(bytes, 1, length, file) != length)
        status = fault_set(fault, STATUS_IO, "%s/%s: reading broke off; try again", folder, name);
    fclose(file);
    if (status) {
        memory_free(bytes);
        return status;
    }
    *bytes_out = bytes;
    *length_out = length;
    return STATUS_OK;
}
