/* Jobs and their settings, by name: the table of model/job with what only the inside needs, offsets
 * and echoes, left out. A name that is no setting is a fault here and an assert inside. */
#include "api/handle.h"
#include "base/memory.h"
#include "plan/plan_reader.h"

#include <assert.h>

static_assert((int)ROWLOCK_SETTING_TEXT >= (int)JOB_TEXT, "the longest setting has room");

bool rowlock_setting_at(size_t index, RowlockSetting *setting_out)
{
    if (index >= settings_count) return false;
    const Setting *s = &settings[index];
    *setting_out = (RowlockSetting){.name = s->name,
                                    .type = (RowlockSettingType)s->type,
                                    .fallback = s->fallback,
                                    .value = s->value,
                                    .choices = s->choices,
                                    .least = s->least,
                                    .most = s->most,
                                    .group = s->group,
                                    .help = s->help,
                                    .rival = s->rival};
    return true;
}

RowlockStatus rowlock_job_create(RowlockJob **job_out, RowlockFault *fault)
{
    Fault own = {0};
    Status status = STATUS_OK;
    *job_out = memory_create(1, sizeof **job_out);
    if (*job_out)
        job_init(&(*job_out)->job);
    else
        status = memory_fault(&own, 1, sizeof **job_out);
    return handle_tell(fault, &own, status);
}

void rowlock_job_free(RowlockJob *job) { memory_free(job); }

RowlockStatus rowlock_job_set(RowlockJob *job, const char *name, const char *text,
                              const char *where, RowlockFault *fault)
{
    Fault own = {0};
    const Setting *setting;
    Status status = handle_setting(&setting, name, &own);
    if (!status) status = job_set(&job->job, setting, text, where ? where : name, NULL, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_job_read(RowlockJob *job, const char *path, RowlockFault *fault)
{
    Fault own = {0};
    Status status = handle_path(path, "--job", &own);
    if (!status) status = job_read(&job->job, path, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_job_read_plan(RowlockJob *job, const char *folder, RowlockFault *fault)
{
    Fault own = {0};
    Status status = handle_path(folder, "replan", &own);
    if (!status) status = plan_reader_settings(&job->job, folder, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_job_show(const RowlockJob *job, const char *name,
                               char text_out[ROWLOCK_SETTING_TEXT], RowlockFault *fault)
{
    Fault own = {0};
    const Setting *setting;
    const Status status = handle_setting(&setting, name, &own);
    *text_out = 0;
    if (!status) job_show(&job->job, setting, text_out, ROWLOCK_SETTING_TEXT);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_job_colours(const RowlockJob *job, RowlockColour **colours_out,
                                  size_t *count_out, RowlockFault *fault)
{
    Fault own = {0};
    Palette *palette = memory_create(1, sizeof *palette);
    Status status = palette ? STATUS_OK : memory_fault(&own, 1, sizeof *palette);
    *colours_out = NULL;
    *count_out = 0;
    if (!status)
        status = *job->job.palette ? palette_read(palette, job->job.palette, NULL, &own)
                                   : palette_default(palette, &own);
    const size_t count = status ? 0 : (size_t)palette->count;
    if (!status) *colours_out = memory_create(count, sizeof **colours_out);
    if (!status && !*colours_out) status = memory_fault(&own, count, sizeof **colours_out);
    for (size_t i = 0; !status && i < count; i++)
        (*colours_out)[i] = handle_colour(&palette->colour[i]);
    if (!status) *count_out = count;
    memory_free(palette);
    return handle_tell(fault, &own, status);
}

void rowlock_colours_free(RowlockColour *colours) { memory_free(colours); }
