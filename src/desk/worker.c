/* One mutex holds what is ordered and how it stands; the plan itself is touched outside it. An
 * order is a job and the count of orders: while the count is that of the order at work, the library
 * hears that it may go on. The sketch is made at once; what is longer gives way to the page. */
#include "desk/worker.h"

#include "base/clock.h"
#include "base/memory.h"
#include "base/system.h"
#include "base/thread.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>

/* Progress is told so often at most: each telling has the page draw, which planning pays for where
 * both share a processor. Our choice. */
#define PROGRESS_SECONDS 0.12

/* What is to be seen of the plan, to know whether it changed. */
typedef struct Shown {
    RowlockFace *face; /* NULL: nothing */
    RowlockFrame frame;
} Shown;

struct Worker {
    pthread_t thread;
    pthread_mutex_t mutex;
    pthread_cond_t ordered;
    void (*wake)(void *self);
    void *self;
    RowlockLive *live;
    /* Under the mutex. */
    bool ending, stop_making;
    RowlockJob *order, *make; /* not taken up yet */
    unsigned long orders, at_work;
    int order_version, make_version;
    double told; /* when progress was, seconds */
    News news;
    Result result;
    bool has_result;
    Shown shown; /* what was told last; the thread's own */
};

RowlockLive *worker_live(Worker *w) { return w->live; }

void result_clear(Result *result)
{
    rowlock_bytes_free(&result->figures);
    rowlock_bytes_free(&result->small);
}

/* ---- news ---- */

static void tell(Worker *w)
{
    w->news.serial++;
    w->wake(w->self);
}

static void hear_progress(void *self, const char *stage, double done)
{
    Worker *w = self;
    News *n = &w->news;
    const double now = clock_seconds();
    pthread_mutex_lock(&w->mutex);
    snprintf(n->stage, sizeof n->stage, "%s", stage);
    n->done = done;
    if (now - w->told >= PROGRESS_SECONDS) {
        w->told = now;
        tell(w);
    }
    pthread_mutex_unlock(&w->mutex);
}

static void hear_note(void *self, const char *text)
{
    Worker *w = self;
    pthread_mutex_lock(&w->mutex);
    const size_t used = strlen(w->news.notes), length = strlen(text);
    if (used + length + 2 <= sizeof w->news.notes)
        snprintf(w->news.notes + used, sizeof w->news.notes - used, "%s%s", used ? "\n" : "", text);
    pthread_mutex_unlock(&w->mutex);
}

static bool order_is_old(void *self)
{
    Worker *w = self;
    pthread_mutex_lock(&w->mutex);
    const bool old = w->ending || w->orders != w->at_work || w->make;
    pthread_mutex_unlock(&w->mutex);
    return old;
}

static bool making_is_stopped(void *self)
{
    Worker *w = self;
    pthread_mutex_lock(&w->mutex);
    const bool stopped = w->ending || w->stop_making;
    pthread_mutex_unlock(&w->mutex);
    return stopped;
}

/* ---- an order ---- */

static bool is_same_frame(const RowlockFrame *a, const RowlockFrame *b)
{
    return a->picture_width == b->picture_width && a->picture_height == b->picture_height &&
           a->left == b->left && a->top == b->top && a->width == b->width &&
           a->height == b->height && a->width_mm == b->width_mm && a->height_mm == b->height_mm;
}

static bool is_same_palette(const RowlockFace *a, const RowlockFace *b)
{
    if (a->colours != b->colours) return false;
    for (size_t i = 0; i < a->colours; i++)
        if (strcmp(a->colour[i].id, b->colour[i].id) != 0 ||
            strcmp(a->colour[i].name, b->colour[i].name) != 0 ||
            memcmp(a->colour[i].srgb, b->colour[i].srgb, sizeof a->colour[i].srgb) != 0)
            return false;
    return true;
}

static bool is_same_face(const RowlockFace *a, const RowlockFace *b)
{
    const size_t cells = (size_t)a->columns * (size_t)a->rows;
    return a->columns == b->columns && a->rows == b->rows && a->sketch == b->sketch &&
           is_same_palette(a, b) && !memcmp(a->index, b->index, cells) && !a->steps == !b->steps &&
           (!a->steps || !memcmp(a->steps, b->steps, cells)) && !a->region == !b->region &&
           (!a->region || !memcmp(a->region, b->region, cells));
}

/* Tells what is to be seen now; where bricks are `laid`, of them too. */
static void tell_seen(Worker *w, bool laid)
{
    Shown seen = {0};
    if (rowlock_live_frame(w->live, &seen.frame, NULL) ||
        rowlock_live_face(w->live, &seen.face, NULL))
        return;
    const Shown *before = &w->shown;
    const bool anew = !before->face || !is_same_frame(&seen.frame, &before->frame) ||
                      !is_same_face(seen.face, before->face);
    rowlock_face_free(before->face);
    w->shown = seen;
    pthread_mutex_lock(&w->mutex);
    w->news.face += anew;
    w->news.laid += laid;
    if (anew || laid) tell(w);
    pthread_mutex_unlock(&w->mutex);
}

static void tell_result(Worker *w, int version)
{
    Result result = {.version = version};
    const RowlockViewing small = {.view = ROWLOCK_VIEW_CELLS};
    if (rowlock_live_figures(w->live, &result.figures, NULL) ||
        rowlock_live_view(w->live, &small, &result.small, NULL)) {
        result_clear(&result);
        return;
    }
    pthread_mutex_lock(&w->mutex);
    if (w->has_result) result_clear(&w->result);
    w->result = result;
    w->has_result = true;
    pthread_mutex_unlock(&w->mutex);
}

/* A stage further; whether it was reached. */
static bool advance(Worker *w, const RowlockJob *job, RowlockReach reach, RowlockFault *fault)
{
    const RowlockVoice voice = {
        .self = w, .note = hear_note, .progress = hear_progress, .stopped = order_is_old};
    pthread_mutex_lock(&w->mutex);
    *w->news.notes = 0;
    pthread_mutex_unlock(&w->mutex);
    const RowlockStatus status = rowlock_live_update(w->live, job, reach, &voice, fault);
    return !status || status == ROWLOCK_UNHELD;
}

/* An order, or a plan that is written, while it is at work. */
typedef struct Task {
    Worker *w;
    RowlockJob *job;
    int version;
    RowlockFault fault;
} Task;

/* Runs it in a thread that gives way to those that answer, and waits for it; where no thread is to
 * be had, in this one. */
static void run_giving_way(void *(*run)(void *task), Task *task)
{
    pthread_t thread;
    if (thread_begin(&thread, run, task))
        run(task);
    else
        pthread_join(thread, NULL);
}

static void reach(Task *t, RowlockReach reach)
{
    const bool last = reach == ROWLOCK_TO_FIGURES;
    if (!advance(t->w, t->job, reach, &t->fault)) return;
    t->fault.status = ROWLOCK_OK;
    if (last) tell_result(t->w, t->version);
    tell_seen(t->w, last);
}

static void *go_on(void *task)
{
    static const RowlockReach reaches[] = {ROWLOCK_TO_FACE, ROWLOCK_TO_RELIEF, ROWLOCK_TO_FIGURES};
    Task *t = task;
    system_give_way();
    for (size_t i = 0; !t->fault.status && i < sizeof reaches / sizeof *reaches; i++)
        reach(t, reaches[i]);
    return NULL;
}

/* Somebody waits for the sketch, and it is short; all else gives way. */
static void run_order(Worker *w, RowlockJob *job, int version)
{
    Task task = {.w = w, .job = job, .version = version};
    reach(&task, ROWLOCK_TO_SKETCH);
    if (!task.fault.status) run_giving_way(go_on, &task);
    const bool stopped = task.fault.status == ROWLOCK_INTERRUPTED;
    pthread_mutex_lock(&w->mutex);
    if (stopped && !w->ending && w->orders == w->at_work && !w->order) {
        /* Stopped for a plan that is to be written first: taken up again after it. */
        w->order = job;
        job = NULL;
    } else if (!stopped)
        snprintf(w->news.fault, sizeof w->news.fault, "%s",
                 task.fault.status ? task.fault.text : "");
    pthread_mutex_unlock(&w->mutex);
    rowlock_job_free(job);
}

static void *make(void *task)
{
    Task *t = task;
    Worker *w = t->w;
    system_give_way();
    const RowlockVoice voice = {
        .self = w, .note = hear_note, .progress = hear_progress, .stopped = making_is_stopped};
    const RowlockStatus status = rowlock_live_write(w->live, t->job, &voice, &t->fault);
    pthread_mutex_lock(&w->mutex);
    w->news.made++;
    w->news.made_status = status;
    if (!status || status == ROWLOCK_UNHELD) w->news.made_version = t->version;
    snprintf(w->news.made_fault, sizeof w->news.made_fault, "%s", t->fault.text);
    w->news.making = false;
    pthread_mutex_unlock(&w->mutex);
    return NULL;
}

static void run_make(Worker *w, RowlockJob *job, int version)
{
    Task task = {.w = w, .job = job, .version = version};
    run_giving_way(make, &task);
    rowlock_job_free(job);
}

/* ---- the thread ---- */

/* With the mutex held, which is let go while something is at work. */
static void take_up(Worker *w)
{
    RowlockJob **taken = w->make ? &w->make : &w->order, *job = *taken;
    const bool making = taken == &w->make;
    const int version = making ? w->make_version : w->order_version;
    *taken = NULL;
    w->at_work = w->orders;
    w->news.busy = true;
    w->news.version = version;
    *w->news.stage = 0;
    w->news.done = 0;
    *w->news.notes = 0;
    tell(w);
    pthread_mutex_unlock(&w->mutex);
    if (making)
        run_make(w, job, version);
    else
        run_order(w, job, version);
    pthread_mutex_lock(&w->mutex);
    w->news.busy = w->order || w->make;
    tell(w);
}

static void *work(void *context)
{
    Worker *w = context;
    pthread_mutex_lock(&w->mutex);
    while (!w->ending) {
        if (w->order || w->make)
            take_up(w);
        else
            pthread_cond_wait(&w->ordered, &w->mutex);
    }
    pthread_mutex_unlock(&w->mutex);
    return NULL;
}

Status worker_create(Worker **worker_out, void (*wake)(void *self), void *self, Fault *fault)
{
    RowlockFault other;
    Worker *w = *worker_out = memory_create(1, sizeof *w);
    if (!w) return memory_fault(fault, 1, sizeof *w);
    w->wake = wake;
    w->self = self;
    w->news.version = w->news.made_version = -1;
    pthread_mutex_init(&w->mutex, NULL);
    pthread_cond_init(&w->ordered, NULL);
    if (rowlock_live_create(&w->live, &other))
        fault_set(fault, (Status)other.status, "%s", other.text);
    else if (thread_begin(&w->thread, work, w))
        fault_set(fault, STATUS_NO_RESOURCE, "desk: no thread to plan with; close something");
    else
        return STATUS_OK;
    rowlock_live_free(w->live);
    memory_free(w);
    *worker_out = NULL;
    return fault->status;
}

void worker_free(Worker *w)
{
    if (!w) return;
    pthread_mutex_lock(&w->mutex);
    w->ending = true;
    pthread_cond_signal(&w->ordered);
    pthread_mutex_unlock(&w->mutex);
    pthread_join(w->thread, NULL);
    rowlock_job_free(w->order);
    rowlock_job_free(w->make);
    if (w->has_result) result_clear(&w->result);
    rowlock_face_free(w->shown.face);
    rowlock_live_free(w->live);
    pthread_cond_destroy(&w->ordered);
    pthread_mutex_destroy(&w->mutex);
    memory_free(w);
}

/* ---- orders ---- */

void worker_order(Worker *w, RowlockJob *job, int version)
{
    pthread_mutex_lock(&w->mutex);
    rowlock_job_free(w->order);
    w->order = job;
    w->order_version = version;
    w->orders++;
    w->news.busy = true;
    pthread_cond_signal(&w->ordered);
    pthread_mutex_unlock(&w->mutex);
}

bool worker_make(Worker *w, RowlockJob *job, int version)
{
    pthread_mutex_lock(&w->mutex);
    const bool free_to = !w->news.making;
    if (free_to) {
        w->make = job;
        w->make_version = version;
        w->stop_making = false;
        w->news.making = w->news.busy = true;
        pthread_cond_signal(&w->ordered);
    }
    pthread_mutex_unlock(&w->mutex);
    return free_to;
}

void worker_stop_making(Worker *w)
{
    pthread_mutex_lock(&w->mutex);
    w->stop_making = true;
    pthread_mutex_unlock(&w->mutex);
}

void worker_news(Worker *w, News *news_out)
{
    pthread_mutex_lock(&w->mutex);
    *news_out = w->news;
    pthread_mutex_unlock(&w->mutex);
}

bool worker_take_result(Worker *w, Result *result_out)
{
    pthread_mutex_lock(&w->mutex);
    const bool has = w->has_result;
    if (has) *result_out = w->result;
    w->has_result = false;
    pthread_mutex_unlock(&w->mutex);
    return has;
}
