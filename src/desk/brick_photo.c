/* List and palette are files of the working folder, under names that a killed desk's successor
 * removes, until the palette is kept under one of its own. */
#include "desk/brick_photo.h"

#include "base/memory.h"
#include "desk/colour_list.h"
#include "desk/setting_list.h"

#include <stdio.h>
#include <string.h>

typedef struct BrickPhoto {
    LookTask task;
    const WorkingFolder *folder;
    Incoming list, palette;
    char chart[ROWLOCK_SETTING_TEXT], grey[32];
    char into[ROWLOCK_SETTING_TEXT]; /* "": no colour stays */
} BrickPhoto;

static void release(LookTask *task)
{
    BrickPhoto *p = (BrickPhoto *)task;
    incoming_drop(&p->list);
    incoming_drop(&p->palette);
    memory_free(p);
}

static RowlockStatus set_job(const BrickPhoto *p, RowlockJob *job, RowlockFault *fault)
{
    const char *const set[][2] = {{"patches", p->list.path},
                                  {"chart", p->chart},
                                  {"grey", p->grey},
                                  {"into", p->into},
                                  {"out", p->palette.path}};
    RowlockStatus status = ROWLOCK_OK;
    for (size_t i = 0; !status && i < sizeof set / sizeof *set; i++)
        if (*set[i][1]) status = rowlock_job_set(job, set[i][0], set[i][1], NULL, fault);
    return status;
}

static RowlockStatus hand_out(RowlockFault *out, const Fault *fault)
{
    out->status = (RowlockStatus)fault->status;
    snprintf(out->text, sizeof out->text, "%s", fault->text);
    return out->status;
}

/* Tells of what was written, and keeps it. */
static RowlockStatus tell_written(BrickPhoto *p, RowlockJob *job, RowlockFault *fault)
{
    LookTask *task = &p->task;
    RowlockColour *colours = NULL;
    size_t count = 0;
    char name[WORKING_NAME];
    Fault own = {0};
    RowlockSetting palette;
    RowlockStatus status = rowlock_job_set(job, "palette", p->palette.path, NULL, fault);
    if (!status) status = rowlock_job_colours(job, &colours, &count, fault);
    if (!status && setting_named("palette", &palette) &&
        working_folder_keep(p->folder, &p->palette, setting_stem(&palette), "cgats", name, &own))
        status = hand_out(fault, &own);
    if (!status) {
        json_set(&task->making, task->told, "name", json_string(name));
        json_set(&task->making, task->told, "colours", colour_list_tell(colours, count));
    }
    rowlock_colours_free(colours);
    return status;
}

static RowlockStatus run_task(LookTask *task, const RowlockVoice *voice, RowlockFault *fault)
{
    BrickPhoto *p = (BrickPhoto *)task;
    RowlockJob *job;
    const char *const photo = task->photo;
    RowlockStatus status = rowlock_job_create(&job, fault);
    if (!status) status = set_job(p, job, fault);
    if (!status) status = rowlock_measure(job, &photo, 1, voice, fault);
    if (!status) status = tell_written(p, job, fault);
    rowlock_job_free(job);
    return status;
}

static Status begin_files(BrickPhoto *p, const Ask *ask, Fault *fault)
{
    const char *list = ask_text(ask, "patches");
    Status status = incoming_begin(&p->list, p->folder->path, fault);
    if (!status) status = incoming_add(&p->list, list, strlen(list), fault);
    if (!status && fflush(p->list.file))
        status =
            fault_set(fault, STATUS_IO, "%s: cannot be written; free some space", p->folder->path);
    return status ? status : incoming_begin(&p->palette, p->folder->path, fault);
}

LookTask *brick_photo_create(const Commission *c, const Ask *ask, Fault *fault)
{
    BrickPhoto *p = memory_create(1, sizeof *p);
    if (!p) {
        memory_fault(fault, 1, sizeof *p);
        return NULL;
    }
    p->task.run = run_task;
    p->task.release = release;
    p->folder = &c->folder;
    snprintf(p->chart, sizeof p->chart, "%s", ask_text(ask, "chart"));
    snprintf(p->grey, sizeof p->grey, "%s", ask_text(ask, "grey"));
    if (*ask_text(ask, "stay")) commission_brought_path(c, "palette", p->into);
    if (!begin_files(p, ask, fault)) {
        p->task.other = (LookName){p->list.path, "the list of bricks"};
        return &p->task;
    }
    release(&p->task);
    return NULL;
}
