/* Laid table: the bricks that a bench has as laid, with the columns of bricks.csv, as `replan
 * --built` reads them. */
#ifndef ROWLOCK_BENCH_LAID_TABLE_H
#define ROWLOCK_BENCH_LAID_TABLE_H

#include "bench/work_state.h"

#define LAID_TABLE_FILE "bench-laid.csv"

/* Writes it beside the plan. Faults: STATUS_IO; bricks.csv is not the plan's. */
Status laid_table_write(const WorkState *state, Fault *fault);

#endif
