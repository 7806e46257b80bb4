/* What it is shows in the file system: a folder with a trail is a working folder, any other a
 * plan's; a file that ends in .ini is a job; any other a picture, and whether it is one shows when
 * it is read. */
#include "desk/operand.h"

#include "base/folder.h"
#include "base/input_file.h"
#include "base/json_file.h"
#include "base/memory.h"
#include "desk/trail.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A new mural is as wide as many rooms have place for; the page asks for its own at once. */
#define FIRST_WIDTH "1200mm"

static bool is_folder(const char *path)
{
    struct stat there;
    return !stat(path, &there) && S_ISDIR(there.st_mode);
}

static bool is_working_folder(const char *path)
{
    char trail[WORKING_PATH];
    const int length = snprintf(trail, sizeof trail, "%s/%s", path, TRAIL_FILE);
    return length < WORKING_PATH && !access(trail, F_OK);
}

static bool is_job(const char *path)
{
    const char *dot = strrchr(path, '.');
    return dot && !strcmp(dot, ".ini");
}

/* Bytes of the path without slashes at its end and without the ending of a file's name. */
static int stem_length(const char *path, bool folder)
{
    size_t length = strlen(path);
    while (length > 1 && path[length - 1] == '/') length--;
    for (size_t i = length; !folder && i > 1 && path[i - 1] != '/'; i--)
        if (path[i - 1] == '.' && path[i - 2] != '/') return (int)(i - 1);
    return (int)length;
}

Status operand_folder(const char *operand, char path_out[WORKING_PATH], Fault *fault)
{
    if (!operand)
        operand = "mural";
    else if (access(operand, F_OK))
        return input_file_fault(operand, errno, fault);
    const bool folder = is_folder(operand);
    const bool ours = folder && is_working_folder(operand);
    const int length = snprintf(path_out, WORKING_PATH, "%.*s%s", stem_length(operand, folder),
                                operand, ours ? "" : WORKING_ENDING);
    if (length < WORKING_PATH) return STATUS_OK;
    return fault_set(fault, STATUS_NO_CREATE, "%s: the name is too long; use a shorter one",
                     operand);
}

/* ---- a plan ---- */

/* The plan's account names the files that it was made from as they were given then. */
static Status set_files(RowlockJob *job, const json_t *settings, Fault *fault)
{
    static const char *const names[] = {"reference", "palette", "stock", "cells"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[ROWLOCK_SETTING_TEXT];
        const char *text = json_string_value(json_object_get(settings, names[i]));
        RowlockFault other;
        if (!text || !json_path_bytes(path, sizeof path, text) || access(path, R_OK)) continue;
        if (rowlock_job_set(job, names[i], path, NULL, &other))
            return fault_set(fault, (Status)other.status, "%s", other.text);
    }
    return STATUS_OK;
}

static Status read_plan(RowlockJob *job, const char *folder, Fault *fault)
{
    char *bytes;
    size_t length;
    RowlockFault other;
    if (rowlock_job_read_plan(job, folder, &other))
        return fault_set(fault, (Status)other.status, "%s", other.text);
    Status status = folder_read(folder, "plan.json", &bytes, &length, fault);
    if (status) return status;
    json_t *plan = json_loadb(bytes, length, 0, NULL);
    memory_free(bytes);
    status = set_files(job, json_object_get(plan, "settings"), fault);
    json_decref(plan);
    return status;
}

/* ---- all of them ---- */

static bool is_given(const RowlockJob *job, const char *name)
{
    char text[ROWLOCK_SETTING_TEXT];
    return !rowlock_job_show(job, name, text, NULL) && *text && strcmp(text, "0") &&
           strcmp(text, "0mm");
}

static RowlockStatus set_size(RowlockJob *job, RowlockFault *fault)
{
    const bool sized = is_given(job, "columns") || is_given(job, "width") ||
                       is_given(job, "rows") || is_given(job, "height") || is_given(job, "cells");
    return sized ? ROWLOCK_OK : rowlock_job_set(job, "width", FIRST_WIDTH, NULL, fault);
}

Status operand_read(RowlockJob *job, const char *operand, Fault *fault)
{
    RowlockFault other = {0};
    RowlockStatus status = ROWLOCK_OK;
    if (operand && is_folder(operand)) {
        const Status read = read_plan(job, operand, fault);
        if (read) return read;
    } else if (operand && is_job(operand))
        status = rowlock_job_read(job, operand, &other);
    else if (operand)
        status = rowlock_job_set(job, "reference", operand, operand, &other);
    if (!status) status = set_size(job, &other);
    return status ? fault_set(fault, (Status)other.status, "%s", other.text) : STATUS_OK;
}
