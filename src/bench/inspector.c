/* A thread lives as long as its inspection. While it does, all of the inspector is its own but for
 * the two flags; once it has been waited for, all is the caller's again. */
#include "bench/inspector.h"

#include "base/json_file.h"
#include "base/memory.h"
#include "base/system.h"
#include "rowlock.h"
#include "serve/incoming.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>

struct Inspector {
    void (*wake)(void *self);
    void *self;
    pthread_t thread;
    bool busy;
    atomic_bool stopped, over;
    char folder[WORK_PATH], photo[INCOMING_PATH], panel[PANEL_NAME];
    int to;
    bool has_corners;
    double corner[4][2];
    Making making;
    json_t *told, *bricks; /* bricks is a part of told */
    RowlockFault fault;
};

/* ---- in the thread ---- */

static void hear_found(void *self, const double corner[4][2])
{
    Inspector *i = self;
    json_t *list = json_array();
    for (int k = 0; k < 4; k++)
        json_append(&i->making, list, json_pack("[f, f]", corner[k][0], corner[k][1]));
    json_set(&i->making, i->told, "corners", list);
}

static void hear_seen(void *self, const RowlockSeenBrick *b)
{
    static const char *const names[] = {[ROWLOCK_RIGHT] = "right",
                                        [ROWLOCK_WRONG] = "wrong",
                                        [ROWLOCK_MISSING] = "missing",
                                        [ROWLOCK_SHIFTED] = "shifted",
                                        [ROWLOCK_UNTOLD] = "untold"};
    Inspector *i = self;
    json_append(&i->making, i->bricks,
                json_pack("[I, i, i, s, s?, i, i, s]", (json_int_t)b->brick, b->row, b->column,
                          names[b->verdict], b->looks, b->right, b->up, b->obstacle));
}

static bool is_stopped(void *self) { return atomic_load(&((Inspector *)self)->stopped); }

/* The photograph has no name that its sender would know. */
static void name_photograph(Inspector *i)
{
    static const char name[] = "the photograph";
    const size_t length = strlen(i->photo);
    char *text = i->fault.text;
    if (strncmp(text, i->photo, length) != 0 || length < sizeof name) return;
    memcpy(text, name, sizeof name - 1);
    memmove(text + sizeof name - 1, text + length, strlen(text + length) + 1);
}

static void *inspect(void *self)
{
    Inspector *i = self;
    RowlockJob *job;
    const RowlockVoice voice = {.self = i, .stopped = is_stopped};
    const RowlockInspection what = {.folder = i->folder,
                                    .photo = i->photo,
                                    .panel = i->panel,
                                    .to = i->to,
                                    .corner = i->has_corners ? (const double(*)[2])i->corner : NULL,
                                    .found = hear_found,
                                    .seen = hear_seen};
    system_give_way();
    if (!rowlock_job_create(&job, &i->fault)) rowlock_inspect(job, &what, &voice, &i->fault);
    rowlock_job_free(job);
    name_photograph(i);
    atomic_store(&i->over, true);
    if (i->wake) i->wake(i->self);
    return NULL;
}

/* ---- outside ---- */

Status inspector_create(Inspector **inspector_out, Fault *fault)
{
    *inspector_out = memory_create(1, sizeof **inspector_out);
    return *inspector_out ? STATUS_OK : memory_fault(fault, 1, sizeof **inspector_out);
}

void inspector_free(Inspector *i)
{
    if (i) inspector_stop(i);
    memory_free(i);
}

void inspector_set_wake(Inspector *i, void (*wake)(void *self), void *self)
{
    i->wake = wake;
    i->self = self;
}

bool inspector_is_busy(const Inspector *i) { return i->busy; }

static void take_down(Inspector *i, const Photographed *what)
{
    snprintf(i->folder, sizeof i->folder, "%s", what->folder);
    snprintf(i->photo, sizeof i->photo, "%s", what->photo);
    snprintf(i->panel, sizeof i->panel, "%s", what->panel);
    i->to = what->to;
    i->has_corners = what->corner != NULL;
    if (what->corner) memcpy(i->corner, what->corner, sizeof i->corner);
    atomic_store(&i->stopped, false);
    atomic_store(&i->over, false);
    i->making = (Making){0};
    i->told = json_object();
    i->bricks = json_array();
    json_set(&i->making, i->told, "bricks", i->bricks);
    if (i->making.failed) i->bricks = NULL; /* it is let go then */
}

static void end(Inspector *i)
{
    pthread_join(i->thread, NULL);
    i->busy = false;
}

Status inspector_begin(Inspector *i, const Photographed *what, Fault *fault)
{
    take_down(i, what);
    i->busy = !pthread_create(&i->thread, NULL, inspect, i);
    if (i->busy) return STATUS_OK;
    json_decref(i->told);
    return fault_set(fault, STATUS_NO_RESOURCE,
                     "bench: no thread to look at a photograph with; close something");
}

bool inspector_outcome(Inspector *i, json_t **told_out, Status *status_out, Fault *fault)
{
    *told_out = NULL;
    if (!atomic_load(&i->over)) return false;
    end(i);
    const RowlockStatus status = i->fault.status;
    if (status == ROWLOCK_OK || status == ROWLOCK_UNHELD) {
        *told_out = i->told;
        *status_out = STATUS_OK;
        if (!i->making.failed) return true;
        *told_out = NULL;
        *status_out = memory_fault(fault, 1, 1);
    } else
        *status_out = fault_set(fault, (Status)status, "%s", i->fault.text);
    json_decref(i->told);
    return true;
}

void inspector_stop(Inspector *i)
{
    if (!i->busy) return;
    atomic_store(&i->stopped, true);
    end(i);
    json_decref(i->told);
}
