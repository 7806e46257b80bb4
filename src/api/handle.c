/* The public types repeat those of the inside, so that the header stands alone; here they are held
 * to be the same, value for value. */
#include "api/handle.h"

#include <assert.h>
#include <string.h>

#define SAME(one, other, what) static_assert((int)(one) == (int)(other), what)
SAME(ROWLOCK_OK, STATUS_OK, "statuses are the same");
SAME(ROWLOCK_UNHELD, STATUS_UNHELD, "statuses are the same");
SAME(ROWLOCK_USAGE, STATUS_USAGE, "statuses are the same");
SAME(ROWLOCK_DATA, STATUS_DATA, "statuses are the same");
SAME(ROWLOCK_NO_INPUT, STATUS_NO_INPUT, "statuses are the same");
SAME(ROWLOCK_NO_RESOURCE, STATUS_NO_RESOURCE, "statuses are the same");
SAME(ROWLOCK_INTERNAL, STATUS_INTERNAL, "statuses are the same");
SAME(ROWLOCK_NO_CREATE, STATUS_NO_CREATE, "statuses are the same");
SAME(ROWLOCK_IO, STATUS_IO, "statuses are the same");
SAME(ROWLOCK_INTERRUPTED, STATUS_INTERRUPTED, "statuses are the same");
SAME(ROWLOCK_TEXT, SETTING_TEXT, "types of settings are the same");
SAME(ROWLOCK_FILE, SETTING_FILE, "types of settings are the same");
SAME(ROWLOCK_WHOLE, SETTING_WHOLE, "types of settings are the same");
SAME(ROWLOCK_NUMBER, SETTING_NUMBER, "types of settings are the same");
SAME(ROWLOCK_LENGTH, SETTING_LENGTH, "types of settings are the same");
SAME(ROWLOCK_MASS, SETTING_MASS, "types of settings are the same");
SAME(ROWLOCK_BYTES, SETTING_BYTES, "types of settings are the same");
SAME(ROWLOCK_CHOICE, SETTING_CHOICE, "types of settings are the same");
SAME(ROWLOCK_SWITCH, SETTING_SWITCH, "types of settings are the same");
static_assert(sizeof((RowlockFault *)NULL)->text >= sizeof((Fault *)NULL)->text,
              "a fault's text has room");

RowlockStatus handle_tell(RowlockFault *fault_out, const Fault *fault, Status status)
{
    if (fault_out) {
        fault_out->status = (RowlockStatus)status;
        strcpy(fault_out->text, status ? fault->text : "");
    }
    return (RowlockStatus)status;
}

Status handle_setting(const Setting **setting_out, const char *name, Fault *fault)
{
    *setting_out = setting_find(name);
    if (*setting_out) return STATUS_OK;
    return setting_unknown(name, name, STATUS_USAGE, fault);
}

Status handle_path(const char *path, const char *where, Fault *fault)
{
    if (!*path) return fault_set(fault, STATUS_USAGE, "%s: the name is empty; give one", where);
    if (strlen(path) < JOB_TEXT) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE, "%s: longer than %d bytes; use a shorter one", where,
                     JOB_TEXT - 1);
}

RowlockColour handle_colour(const Colour *colour)
{
    RowlockColour told = {.lab = {colour->lab.L, colour->lab.a, colour->lab.b},
                          .within = PALETTE_WITHIN * colour->stdev_de};
    static_assert(sizeof told.id == sizeof colour->id && sizeof told.name == sizeof colour->name,
                  "names have room");
    memcpy(told.id, colour->id, sizeof told.id);
    memcpy(told.name, colour->name, sizeof told.name);
    memcpy(told.srgb, colour->srgb, sizeof told.srgb);
    return told;
}

Voice handle_voice(const RowlockVoice *voice)
{
    if (!voice) return (Voice){0};
    return (Voice){.self = voice->self,
                   .note = voice->note,
                   .progress = voice->progress,
                   .stopped = voice->stopped};
}

/* ---- what a run cannot do without ---- */

Status handle_need(bool given, const char *where, const char *what, Fault *fault)
{
    return given ? STATUS_OK : fault_set(fault, STATUS_USAGE, "%s: %s", where, what);
}

Status handle_need_out(const Job *job, Fault *fault)
{
    return handle_need(*job->out, "--out", "nothing to write to is given; name it", fault);
}

Status handle_need_folder(const Job *job, Fault *fault)
{
    const Status status = handle_need_out(job, fault);
    if (status || strcmp(job->out, "-")) return status;
    return fault_set(fault, STATUS_USAGE,
                     "--out: '-' is standard output, which holds no folder; name a folder, './-' "
                     "for one of that name");
}

Status handle_need_picture(const char *reference, const char *run, Fault *fault)
{
    return handle_need(*reference, run, "no reference picture is given; name one", fault);
}

/* A size, or painted cells, which have one. */
Status handle_need_size(const Job *job, const char *run, Fault *fault)
{
    const bool sized = job->columns || job->width > 0 || job->rows || job->height > 0;
    return handle_need(sized || *job->cells, run,
                       "the mural has no size; give --columns or --width", fault);
}
