/* Board: the plans whose panels are built, each with its tally, who looks at photographs of them,
 * and what pages are told of them. All of it belongs to the thread that answers. */
#ifndef ROWLOCK_BENCH_BOARD_H
#define ROWLOCK_BENCH_BOARD_H

#include "base/voice.h"
#include "bench/tally.h"
#include "serve/looker.h"

enum { PLANS_MOST = 64 };

typedef struct Board {
    WorkPlan plan[PLANS_MOST];
    Tally *tally[PLANS_MOST];
    int plans;
    Looker *looker;
    double (*now)(void); /* seconds since 1970 */
} Board;

/* Opens plans' folders; the voice is told of what was put aside. The caller closes it, also after a
 * fault. */
Status board_open(Board *board_out, const char *const *folder, int folders, const Voice *voice,
                  Fault *fault);
void board_close(Board *board);

/* Grows with whatever pages are told. */
unsigned long board_serial(const Board *board);

/* Writes what came in since: see tally_commit. */
void board_commit(Board *board);

/* What a page is told that knows all up to a serial, 0: nothing. Laid bricks, as runs, of the
 * panels that were marked since; who has what, what lacks, how fast it goes, whole each time. NULL:
 * no memory. */
json_t *board_tell(const Board *board, int plan, long serial);

#endif
