/* Worker: one thread that plans what the desk orders. The newest order wins: an older one is
 * stopped wherever it is. A face is there before its bricks, and a sketch before the face.
 *
 * The plan is open (rowlock_live_…), so that others may look at it while the worker is at work. */
#ifndef ROWLOCK_DESK_WORKER_H
#define ROWLOCK_DESK_WORKER_H

#include "base/status.h"
#include "rowlock.h"

#include <stdbool.h>

typedef struct Worker Worker;

enum { NEWS_NOTES = 8192 };

/* How the work stands. Serials grow with each of their kind. */
typedef struct News {
    unsigned long serial; /* of any news */
    unsigned long face;   /* of the cells that are to be seen; 0: none yet */
    unsigned long laid;   /* of the bricks upon them */
    int version;          /* that is at work, or was last; -1: none */
    bool busy, making;    /* making: a plan is written */
    char stage[32];
    double done;                    /* of the stage, 0 to 1 */
    char fault[ROWLOCK_FAULT_TEXT]; /* of the last order; "": none */
    char notes[NEWS_NOTES];         /* of the last order, a line each */
    unsigned long made;             /* plans that were written, or tried */
    RowlockStatus made_status;
    char made_fault[ROWLOCK_FAULT_TEXT];
    int made_version; /* that the last plan was made of; -1: none */
} News;

/* What came out of an order, for the trail. */
typedef struct Result {
    int version;
    RowlockBytes figures; /* JSON as rowlock_live_figures has it */
    RowlockBytes small;   /* PNG, one pixel a cell */
} Result;

/* The thread starts. `wake` is called from it whenever there are news; it must be quick. */
Status worker_create(Worker **worker_out, void (*wake)(void *self), void *self, Fault *fault);

/* Stops what is at work and waits for the thread. NULL allowed. */
void worker_free(Worker *worker);

/* Orders a plan of the job for the version; the job is taken over. */
void worker_order(Worker *worker, RowlockJob *job, int version);

/* Orders that the plan be written; the job is taken over. One at a time: false where one is at
 * work, and then the job stays the caller's. */
bool worker_make(Worker *worker, RowlockJob *job, int version);
void worker_stop_making(Worker *worker);

void worker_news(Worker *worker, News *news_out);

/* The latest result, once: false where it has been taken. The caller frees it with result_clear. */
bool worker_take_result(Worker *worker, Result *result_out);
void result_clear(Result *result);

/* What is to be looked at. */
RowlockLive *worker_live(Worker *worker);

#endif
