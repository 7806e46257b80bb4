/* Bench beside: the bench of the plan that the desk wrote, served by a thread of this program. So
 * it ends when the desk does, however that is, and lets go of what is laid. It is open to this
 * machine alone; for tablets the bench is opened by its own command. */
#ifndef ROWLOCK_DESK_BENCH_BESIDE_H
#define ROWLOCK_DESK_BENCH_BESIDE_H

#include "base/status.h"

#include <jansson.h>

typedef struct BenchBeside BenchBeside;

/* Opens the bench of a plan's folder, one at a time; `wake` is called from its thread when there
 * are news. Faults: no thread, no memory. */
Status bench_beside_open(BenchBeside **beside_out, const char *folder, void (*wake)(void *self),
                         void *self, Fault *fault);

/* Ends it, which may take a second: a bench asks so often whether it is to stop. NULL allowed. */
void bench_beside_free(BenchBeside *beside);

/* Its link, which lasts until it is freed; NULL where it is not open yet, or has ended: the fault
 * tells then why, and its status is STATUS_OK where it is not open yet. */
const char *bench_beside_link(BenchBeside *beside, Fault *fault_out);

/* What it notes, a text; empty where there is nothing. NULL: no memory. */
json_t *bench_beside_note(BenchBeside *beside);

#endif
