/* A plan is written beside the folder that it replaces and changes places with it at the end: by
 * one exchange of names (renameat2) where the file system has it, else by two renames with the
 * earlier plan kept aside meanwhile. Whatever stops the run before, the earlier plan is whole.
 * Files of the user's own come along as hard links, made before the exchange.
 *
 * Source: rename(2) of POSIX.1-2017, which replaces an empty folder alone; renameat2(2) of Linux.
 */
#include "base/folder.h"

#include "base/memory.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static Status no_create(const char *path, const char *why, Fault *fault)
{
    return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); choose another --out",
                     path, why);
}

static bool is_dots(const char *name) { return !strcmp(name, ".") || !strcmp(name, ".."); }

/* Calls `each` for every entry of a folder until it returns non-zero. */
static int for_entries(const char *path, int (*each)(const char *, const char *, void *),
                       void *context)
{
    DIR *entries = opendir(path);
    if (!entries) return 0;
    int result = 0;
    for (struct dirent *e; !result && (e = readdir(entries));)
        if (!is_dots(e->d_name)) result = each(path, e->d_name, context);
    closedir(entries);
    return result;
}

static int remove_entry(const char *path, const char *name, void *context)
{
    (void)context;
    char full[FOLDER_PATH + 260];
    snprintf(full, sizeof full, "%s/%s", path, name);
    unlink(full);
    return 0;
}

static void remove_flat(const char *path)
{
    for_entries(path, remove_entry, NULL);
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

/* A run that was killed may take a moment to let go, so try for two seconds. */
static bool locked(int descriptor)
{
    for (int tries = 0; tries < 40; tries++) {
        if (flock(descriptor, LOCK_EX | LOCK_NB) == 0) return true;
        if (errno != EWOULDBLOCK && errno != EINTR) return false;
        nanosleep(&(struct timespec){.tv_nsec = 50000000}, NULL);
    }
    return false;
}

Status folder_begin(Folder *f, const char *path, Fault *fault)
{
    *f = (Folder){.lock = -1};
    if (strlen(path) >= FOLDER_PATH - 300) return no_create("--out", "name too long", fault);
    snprintf(f->asked, sizeof f->asked, "%s", path);
    const Status status = find_place(f, fault);
    if (status) return status;
    const char *slash = strrchr(f->final, '/');
    snprintf(f->partial, sizeof f->partial, "%.*s/.%.240s.partial", (int)(slash - f->final),
             f->final, slash + 1);
    if (mkdir(f->partial, 0777) && errno != EEXIST)
        return no_create(f->asked, strerror(errno), fault);
    f->lock = open(f->partial, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (f->lock < 0)
        return fault_set(fault, STATUS_NO_CREATE, "%s: is in the way (%s); move it away",
                         f->partial, strerror(errno));
    if (!locked(f->lock)) {
        close(f->lock);
        f->lock = -1;
        return no_create(f->asked, "another run is writing it", fault);
    }
    for_entries(f->partial, remove_entry, NULL);
    return STATUS_OK;
}

void folder_path(const Folder *f, const char *name, char path_out[FOLDER_PATH])
{
    snprintf(path_out, FOLDER_PATH, "%.*s/%s", FOLDER_PATH - 260, f->partial, name);
}

typedef struct Keeping {
    const Folder *folder;
    bool (*ours)(const char *name);
    const char *failed;
} Keeping;

/* Links a file that is not the plan's into the new folder. */
static int keep_entry(const char *path, const char *name, void *context)
{
    Keeping *k = context;
    if (k->ours(name)) return 0;
    char from[FOLDER_PATH + 260], to[FOLDER_PATH];
    snprintf(from, sizeof from, "%s/%s", path, name);
    folder_path(k->folder, name, to);
    return link(from, to) != 0;
}

Status folder_commit(Folder *f, bool (*ours)(const char *name), Fault *fault)
{
    Keeping keeping = {.folder = f, .ours = ours};
    if (for_entries(f->final, keep_entry, &keeping))
        return fault_set(
            fault, STATUS_NO_CREATE,
            "%s: holds something that is not a plan's and cannot be kept (%s); move it "
            "away or choose another --out",
            f->asked, strerror(errno));
    bool placed = rename(f->partial, f->final) == 0; /* nothing there, or an empty folder */
    if (!placed && renameat2(AT_FDCWD, f->partial, AT_FDCWD, f->final, RENAME_EXCHANGE) == 0) {
        placed = true;
        remove_flat(f->partial); /* now the earlier plan */
    }
    if (!placed) { /* a file system without exchange: two steps, the earlier plan kept aside */
        char aside[FOLDER_PATH];
        snprintf(aside, sizeof aside, "%.*s.earlier", FOLDER_PATH - 16, f->partial);
        remove_flat(aside);
        if (rename(f->final, aside) == 0) {
            placed = rename(f->partial, f->final) == 0;
            if (placed)
                remove_flat(aside);
            else
                rename(aside, f->final);
        }
    }
    if (!placed) return no_create(f->asked, strerror(errno), fault);
    close(f->lock);
    f->lock = -1;
    return STATUS_OK;
}

void folder_abandon(Folder *f)
{
    if (f->lock < 0) return;
    remove_flat(f->partial);
    close(f->lock);
    f->lock = -1;
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
    FILE *file = folder_join(path, folder, name) ? fopen(path, "rb") : NULL;
    if (!file || fstat(fileno(file), &what) || !S_ISREG(what.st_mode)) {
        const int why = file ? EISDIR : errno;
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
