/* Tally: the events of one plan's bench on the disk, in a database of one file beside the plan, and
 * what they come to. Events are taken into a batch; a batch is on the disk whole or not at all, and
 * only then does the state know of it. Whoever confirms an event to its sender waits for that. */
#ifndef ROWLOCK_BENCH_TALLY_H
#define ROWLOCK_BENCH_TALLY_H

#include "bench/work_state.h"

#define TALLY_FILE "bench.db"

typedef struct Tally Tally;

enum { TALLY_ID = 33 };

/* Opens the file of a plan's folder, or makes it. What is there of another plan, which lay in this
 * folder before, is kept under another name, and *kept_out, "" else, is that. The plan is borrowed.
 * The caller closes it, also after a fault. Faults: the file is none of ours or of a newer version,
 * another bench has it, the disk does not take it. */
Status tally_open(Tally **tally_out, const WorkPlan *plan, char kept_out[64], Fault *fault);
void tally_close(Tally *tally); /* NULL allowed */

/* Takes an event into the batch. *batch_out is its number. One that was taken before is nothing
 * new, and no fault. Faults: STATUS_USAGE, the panel is somebody's and is not to be taken over;
 * STATUS_IO. */
Status tally_take(Tally *tally, const Event *event, unsigned long *batch_out, Fault *fault);

/* Writes the batch, or throws it away. What came of it is told by tally_outcome. */
void tally_commit(Tally *tally);
void tally_drop(Tally *tally);

/* Whether a batch is over; then *status_out tells how, with its fault. Of a batch before one that
 * failed, that it failed too: its events are sent again, and count once. */
bool tally_outcome(const Tally *tally, unsigned long batch, Status *status_out, Fault *fault);

const WorkState *tally_state(const Tally *tally);

/* By chance when the file was made: a device knows by it whether it has told this one before. */
const char *tally_id(const Tally *tally);

/* The serial of the last event that is on the disk. */
long tally_serial(const Tally *tally);

/* Grows with each event that comes in and each batch that is written. */
unsigned long tally_stirred(const Tally *tally);

/* The port that devices know this bench by; 0: none yet. */
unsigned tally_port(const Tally *tally);
Status tally_keep_port(Tally *tally, unsigned port, Fault *fault);

/* Visits the events that are on the disk, in their order. Fault: STATUS_IO. */
typedef void EventVisit(void *self, const Event *event);
Status tally_each(const Tally *tally, EventVisit *visit, void *self, Fault *fault);

#endif
