/* Bench routes: what may be asked of the bench, and what is answered. */
#ifndef ROWLOCK_BENCH_BENCH_ROUTES_H
#define ROWLOCK_BENCH_BENCH_ROUTES_H

#include "bench/board.h"
#include "serve/answer.h"

/* The bench as it is served; the board is borrowed. */
Service bench_service(Board *board);

#endif
