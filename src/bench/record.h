/* Record: all that happened at a bench as a file of its own, to keep or to carry elsewhere. */
#ifndef ROWLOCK_BENCH_RECORD_H
#define ROWLOCK_BENCH_RECORD_H

#include "bench/tally.h"

/* Writes all events as CSV (RFC 4180) or JSON, by how the path ends. Faults: STATUS_USAGE, it ends
 * in neither; STATUS_IO. */
Status record_write(const Tally *tally, const WorkPlan *plan, const char *path, Fault *fault);

/* Takes in the events of such a JSON file that are not there yet; all of them or none. Faults: it
 * is no record, or of another plan; STATUS_IO. */
Status record_read(Tally *tally, const WorkPlan *plan, const char *path, Fault *fault);

#endif
