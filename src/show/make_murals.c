/* Two murals are planned at a time, since the stages of one do not keep many threads busy; each may
 * take half of the memory. One that needs more is planned by itself afterwards, with all of it.
 * None of that changes a byte of a plan. */
#include "show/make_murals.h"

#include "base/bands.h"
#include "base/memory.h"
#include "plan/plan.h"
#include "plan/replan.h"
#include "show/mural_key.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>

enum { AT_ONCE = 2, NOTE_TEXT = 600 };

typedef struct Work {
    struct MakingMurals *making;
    int mural;
    double done; /* of its plan, 0 to 1 */
    bool ended, alone;
    Fault fault;
    Status status;
    char (*note)[NOTE_TEXT];
    size_t notes, capacity;
} Work;

typedef struct MakingMurals {
    const MakeTask *task;
    const Voice *voice;
    Made *made;
    Work *work; /* murals to be planned, in the order of the file */
    int works;
    pthread_mutex_t lock; /* of what follows, of all works, and of speaking */
    int told;             /* works whose notes have been told */
    int failed;           /* the first that failed; works: none has */
} MakingMurals;

/* ---- the voice of one plan ---- */

/* Where in a plan a stage is, as parts of 1; measured on murals of 20,000 cells with their books:
 * colours and bricks take about half, files the other. */
static double plan_progress(const char *stage, double done)
{
    static const struct {
        const char *name;
        double from, to;
    } stages[] = {{"picture", 0, 0.02},   {"colours", 0, 0.02},   {"matching", 0.02, 0.25},
                  {"laying", 0.25, 0.45}, {"forces", 0.45, 0.48}, {"measuring", 0.48, 0.5},
                  {"files", 0.5, 1}};
    for (size_t i = 0; i < sizeof stages / sizeof *stages; i++)
        if (!strcmp(stages[i].name, stage))
            return stages[i].from + done * (stages[i].to - stages[i].from);
    return 0;
}

static void tell_progress(MakingMurals *k)
{
    double sum = 0;
    for (int i = 0; i < k->works; i++) sum += k->work[i].ended ? 1 : k->work[i].done;
    voice_progress(k->voice, "murals", sum / k->works);
}

static void hear_progress(void *self, const char *stage, double done)
{
    Work *w = self;
    const double now = plan_progress(stage, done);
    pthread_mutex_lock(&w->making->lock);
    if (now > w->done) {
        w->done = now;
        tell_progress(w->making);
    }
    pthread_mutex_unlock(&w->making->lock);
}

static void hear_note(void *self, const char *text)
{
    Work *w = self;
    pthread_mutex_lock(&w->making->lock);
    if (!memory_grow(&w->note, &w->capacity, w->notes + 1, sizeof *w->note, NULL))
        snprintf(w->note[w->notes++], NOTE_TEXT, "%s", text);
    pthread_mutex_unlock(&w->making->lock);
}

/* Once a mural before it has failed, a mural is not waited for. */
static bool hear_stopped(void *self)
{
    const Work *w = self;
    MakingMurals *k = w->making;
    pthread_mutex_lock(&k->lock);
    const bool needed = w - k->work <= k->failed;
    pthread_mutex_unlock(&k->lock);
    return !needed || voice_stopped(k->voice);
}

/* Lock held. Notes are told in the order of the file, as soon as those before them have been. */
static void tell_notes(MakingMurals *k)
{
    for (; k->told < k->works && k->work[k->told].ended; k->told++) {
        Work *w = &k->work[k->told];
        const char *name = k->task->show->mural[w->mural].name;
        for (size_t i = 0; i < w->notes; i++) voice_note(k->voice, "%s: %s", name, w->note[i]);
        memory_free(w->note);
        w->note = NULL;
        w->notes = 0;
    }
}

/* ---- planning ---- */

static Status remember(const MakingMurals *k, const Work *w, Fault *fault)
{
    const char *name = k->task->show->mural[w->mural].name;
    char folder[FOLDER_PATH], path[FOLDER_PATH];
    MadeRecord record = {.status = w->status};
    show_folder_mural(k->task->folder, name, folder);
    if (!folder_join(path, folder, "plan.json"))
        return fault_set(fault, STATUS_NO_CREATE, "%s: name too long; choose another --out",
                         folder);
    const Status status = digest_file(path, record.plan, fault);
    memcpy(record.key, k->made[w->mural].key, sizeof record.key);
    return status ? status : show_folder_record(k->task->folder, name, &record, fault);
}

/* The whole mural, or what does not stand of it yet. */
static Status plan_mural(const Job *job, const Voice *voice, Fault *fault)
{
    if (!*job->built) return plan_run(job, voice, fault);
    return replan_run(job, job->out, voice, fault);
}

static void plan_work(MakingMurals *k, Work *w, int at_once)
{
    static const char no_memory[] = "memory:"; /* so faults for want of it begin */
    const int threads = k->task->threads ? k->task->threads : bands_processors();
    Job *job = &k->task->job[w->mural];
    const Voice voice = {w, hear_note, hear_progress, hear_stopped};
    job->threads = threads / at_once < 1 ? 1 : threads / at_once;
    job->memory = k->task->memory / 1e6 / at_once;
    w->fault = (Fault){0};
    w->status = plan_mural(job, &voice, &w->fault);
    const bool written = w->status == STATUS_OK || w->status == STATUS_UNHELD;
    Fault fault = {0};
    const Status kept = written ? remember(k, w, &fault) : STATUS_OK;
    if (kept) {
        w->status = kept;
        w->fault = fault;
    }
    w->alone = at_once > 1 && w->status == STATUS_NO_RESOURCE &&
               !strncmp(w->fault.text, no_memory, sizeof no_memory - 1);
    pthread_mutex_lock(&k->lock);
    w->ended = !w->alone;
    if (!w->alone && !(written && !kept) && w - k->work < k->failed) k->failed = (int)(w - k->work);
    if (w->alone) w->notes = 0;
    tell_notes(k);
    tell_progress(k);
    pthread_mutex_unlock(&k->lock);
}

static void plan_some(void *context, int begin, int end, int worker)
{
    (void)worker;
    MakingMurals *k = context;
    for (int i = begin; i < end; i++)
        if (!hear_stopped(&k->work[i])) plan_work(k, &k->work[i], k->works > 1 ? AT_ONCE : 1);
}

static Status plan_all(MakingMurals *k, Fault *fault)
{
    bands_run(k->works > 1 ? AT_ONCE : 1, k->works, 1, plan_some, k);
    for (int i = 0; i < k->works && !hear_stopped(&k->work[i]); i++)
        if (k->work[i].alone) plan_work(k, &k->work[i], 1);
    if (k->failed < k->works && !voice_stopped(k->voice)) {
        const Work *w = &k->work[k->failed];
        return fault_set(fault, w->status, "%s: %s", k->task->show->mural[w->mural].name,
                         w->fault.text);
    }
    if (voice_stopped(k->voice)) return show_stopped(fault);
    for (int i = 0; i < k->works; i++) k->made[k->work[i].mural].status = k->work[i].status;
    return STATUS_OK;
}

/* ---- what is to be planned ---- */

static bool stands(const MakingMurals *k, int mural)
{
    const char *name = k->task->show->mural[mural].name;
    char folder[FOLDER_PATH];
    MadeRecord record;
    show_folder_mural(k->task->folder, name, folder);
    if (!show_folder_recall(k->task->folder, name, &record) ||
        strcmp(record.key, k->made[mural].key) != 0 || !mural_is_whole(folder, record.plan))
        return false;
    k->made[mural].status = record.status;
    return true;
}

static Status list_works(MakingMurals *k, Fault *fault)
{
    for (int i = 0; i < k->task->show->count; i++) {
        Made *made = &k->made[i];
        voice_progress(k->voice, "what changed", (double)i / k->task->show->count);
        const Status status = mural_key(&k->task->job[i], k->task->version, made->key, fault);
        if (status) return status;
        made->planned = !stands(k, i);
        if (made->planned) k->work[k->works++] = (Work){.making = k, .mural = i};
    }
    k->failed = k->works;
    return STATUS_OK;
}

Status make_murals(const MakeTask *task, Made *made, const Voice *voice, Fault *fault)
{
    const size_t murals = (size_t)task->show->count;
    MakingMurals k = {.task = task, .voice = voice, .made = made};
    k.work = memory_create(murals, sizeof *k.work);
    if (!k.work) return memory_fault(fault, murals, sizeof *k.work);
    pthread_mutex_init(&k.lock, NULL);
    Status status = list_works(&k, fault);
    if (!status && k.works) status = plan_all(&k, fault);
    for (int i = 0; i < k.works; i++) memory_free(k.work[i].note);
    pthread_mutex_destroy(&k.lock);
    memory_free(k.work);
    return status;
}
