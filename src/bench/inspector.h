/* Inspector: holds photographs of panels to their plans, one at a time, in a thread of its own, so
 * that what others lay is confirmed meanwhile. All calls are of the thread that answers. */
#ifndef ROWLOCK_BENCH_INSPECTOR_H
#define ROWLOCK_BENCH_INSPECTOR_H

#include "base/status.h"
#include "bench/work_plan.h"

#include <jansson.h>
#include <stdbool.h>

typedef struct Inspector Inspector;

typedef struct Photographed {
    const char *folder; /* of the plan */
    const char *photo;  /* a file, which stays until the inspection is over */
    const char *panel;
    int to;                    /* the mural's row, from 1, up to which it is built; 0: the whole */
    const double (*corner)[2]; /* as RowlockInspection has them; NULL: to be found */
} Photographed;

/* The caller frees it, also after a fault. */
Status inspector_create(Inspector **inspector_out, Fault *fault);
void inspector_free(Inspector *inspector); /* NULL allowed */

/* What is called, in the inspector's thread, when an inspection is over; NULL: nothing. None is at
 * work. */
void inspector_set_wake(Inspector *inspector, void (*wake)(void *self), void *self);

/* Whether one is at work, or its outcome has not been taken. */
bool inspector_is_busy(const Inspector *inspector);

/* Begins one; none is at work. What it is told of is copied but for the photograph's bytes.
 * Fault: no thread. */
Status inspector_begin(Inspector *inspector, const Photographed *what, Fault *fault);

/* Whether it is over. Then *told_out is {corners: [[x, y], ...], bricks: [[BRICK, ROW, COLUMN,
 * VERDICT, LOOKS, RIGHT, UP, OBSTACLE], ...]}, the caller's, BRICK of the plan from 0 and LOOKS
 * the id of a colour or null; or NULL, and the fault says why the photograph is refused. */
bool inspector_outcome(Inspector *inspector, json_t **told_out, Status *status_out, Fault *fault);

/* Stops the one that is at work, waits until it has stopped, and throws away what it found. */
void inspector_stop(Inspector *inspector);

#endif
