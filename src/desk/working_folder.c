/* Whole files by rename(2), which puts a name on another file in one step; the journal by
 * appending, where a line that broke off is cut away when it is read again. What a killed desk left
 * half-written begins with PART and is removed at the next opening.
 *
 * Source: rename(2) and link of POSIX.1-2017. */
#include "desk/working_folder.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PART INCOMING_PART
#define FOLDER_MARK "trail.jsonl" /* every working folder has it */
#define LOCK "desk.lock"

static Status io_fault(const WorkingFolder *folder, const char *name, int why, Fault *fault)
{
    return fault_set(fault, STATUS_IO, "%s/%s: cannot be written (%s); free some space",
                     folder->path, name, strerror(why));
}

void working_folder_path(const WorkingFolder *folder, const char *name, char path_out[WORKING_PATH])
{
    snprintf(path_out, WORKING_PATH, "%s/%.*s", folder->path, 2 * WORKING_NAME - 2, name);
}

bool working_folder_has(const WorkingFolder *folder, const char *name)
{
    char path[WORKING_PATH];
    struct stat there;
    working_folder_path(folder, name, path);
    return !lstat(path, &there) && S_ISREG(there.st_mode);
}

/* Removes what was half-written. Whether the folder is empty beside that and the lock. */
static bool clear_parts(const WorkingFolder *folder)
{
    DIR *dir = opendir(folder->path);
    bool empty = true;
    if (!dir) return false;
    for (struct dirent *entry; (entry = readdir(dir));) {
        const char *name = entry->d_name;
        if (!strncmp(name, PART, sizeof PART - 1))
            unlinkat(dirfd(dir), name, 0);
        else if (strcmp(name, ".") && strcmp(name, "..") && strcmp(name, LOCK))
            empty = false;
    }
    closedir(dir);
    return empty;
}

Status working_folder_open(WorkingFolder *folder, const char *path, Fault *fault)
{
    char lock[WORKING_PATH];
    const int length = snprintf(folder->path, sizeof folder->path, "%s", path);
    if (length < 0 || length >= WORKING_ROOM)
        return fault_set(fault, STATUS_NO_CREATE, "%s: the name is too long; use a shorter one",
                         path);
    if (mkdir(path, 0777) && errno != EEXIST)
        return fault_set(fault, STATUS_NO_CREATE,
                         "%s: cannot be made (%s); open the desk where files may be written", path,
                         strerror(errno));
    working_folder_path(folder, LOCK, lock);
    Status status = lock_file_take(&folder->lock, lock, path, fault);
    if (status) return status;
    if (!clear_parts(folder) && !working_folder_has(folder, FOLDER_MARK))
        status =
            fault_set(fault, STATUS_NO_CREATE,
                      "%s: holds something else; move that, the desk keeps its work there", path);
    if (!status) status = settler_create(&folder->settler, folder->path, fault);
    if (status) lock_file_release(&folder->lock);
    return status;
}

void working_folder_close(WorkingFolder *folder)
{
    settler_free(folder->settler);
    lock_file_release(&folder->lock);
}

void working_folder_abandon(WorkingFolder *folder)
{
    char mark[WORKING_PATH];
    working_folder_path(folder, FOLDER_MARK, mark);
    unlink(mark);
    working_folder_close(folder);
    rmdir(folder->path);
    *folder->path = 0;
}

static int put_bytes(int descriptor, const void *bytes, size_t length)
{
    const char *from = bytes;
    while (length) {
        const ssize_t put = write(descriptor, from, length);
        if (put < 0 && errno == EINTR) continue;
        if (put <= 0) return put < 0 ? errno : EIO;
        from += put;
        length -= (size_t)put;
    }
    return 0;
}

/* With its name, which it has from when it is whole. */
Status working_folder_draft(const WorkingFolder *folder, const char *name, const void *bytes,
                            size_t length, Fault *fault)
{
    char part[WORKING_PATH], path[WORKING_PATH], part_name[WORKING_NAME + sizeof PART];
    snprintf(part_name, sizeof part_name, PART "%s", name);
    working_folder_path(folder, part_name, part);
    working_folder_path(folder, name, path);
    const int descriptor = open(part, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (descriptor < 0) return io_fault(folder, name, errno, fault);
    int why = put_bytes(descriptor, bytes, length);
    if (close(descriptor) && !why) why = errno;
    if (!why && rename(part, path)) why = errno;
    if (!why) return STATUS_OK;
    unlink(part);
    return io_fault(folder, name, why, fault);
}

Status working_folder_write(const WorkingFolder *folder, const char *name, const void *bytes,
                            size_t length, Fault *fault)
{
    const Status status = working_folder_draft(folder, name, bytes, length, fault);
    if (!status) settler_note(folder->settler, name);
    return status;
}

Status working_folder_rename(const WorkingFolder *folder, const char *name, const char *new_name,
                             Fault *fault)
{
    char from[WORKING_PATH], to[WORKING_PATH];
    working_folder_path(folder, name, from);
    working_folder_path(folder, new_name, to);
    if (rename(from, to)) return io_fault(folder, new_name, errno, fault);
    settler_note(folder->settler, new_name);
    return STATUS_OK;
}

Status working_folder_append(const WorkingFolder *folder, const char *name, const void *bytes,
                             size_t length, Fault *fault)
{
    char path[WORKING_PATH];
    working_folder_path(folder, name, path);
    const int descriptor = open(path, O_WRONLY | O_CREAT | O_APPEND | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (descriptor < 0) return io_fault(folder, name, errno, fault);
    int why = put_bytes(descriptor, bytes, length);
    if (close(descriptor) && !why) why = errno;
    if (why) return io_fault(folder, name, why, fault);
    settler_note(folder->settler, name);
    return STATUS_OK;
}

void working_folder_cut(const WorkingFolder *folder, const char *name, size_t length)
{
    char path[WORKING_PATH];
    working_folder_path(folder, name, path);
    if (truncate(path, (off_t)length)) return; /* the reader leaves the rest out again next time */
}

/* ---- what came in ---- */

/* link(2) takes no name that is taken. */
static int give_name(const Incoming *incoming, const WorkingFolder *folder, const char *stem,
                     const char *ending, char name_out[WORKING_NAME])
{
    enum { NAMES_MOST = 100000 };
    char path[WORKING_PATH];
    for (int n = 1; n < NAMES_MOST; n++) {
        snprintf(name_out, WORKING_NAME, "%s-%d.%s", stem, n, ending);
        working_folder_path(folder, name_out, path);
        if (!link(incoming->path, path)) return 0;
        if (errno != EEXIST) return errno;
    }
    return ENOSPC;
}

Status working_folder_keep(const WorkingFolder *folder, Incoming *incoming, const char *stem,
                           const char *ending, char name_out[WORKING_NAME], Fault *fault)
{
    int why = fflush(incoming->file) ? errno : 0;
    if (!why && fchmod(fileno(incoming->file), 0644)) why = errno;
    if (!why) why = give_name(incoming, folder, stem, ending, name_out);
    incoming_drop(incoming);
    if (why) return io_fault(folder, "an incoming file", why, fault);
    settler_note(folder->settler, name_out);
    return STATUS_OK;
}
