/* Bands: rows of work spread over threads.
 *
 * The result must not depend on how rows are spread, so work on one row may
 * read anything that is constant during the run and write only what belongs to
 * that row (or scratch that belongs to `worker`). */
#ifndef ROWLOCK_BASE_BANDS_H
#define ROWLOCK_BASE_BANDS_H

#include "base/voice.h"

enum { BANDS_MOST_THREADS = 64 };

/* Does rows [begin, end); worker is in [0, threads). */
typedef void BandsWork(void *context, int begin, int end, int worker);

/* Calls work until rows [0, rows) are done, `grain` rows at a time, on up to
 * `threads` threads (the caller is one of them; threads that cannot be started
 * are done without). Rows are handed out in order. */
void bands_run(int threads, int rows, int grain, BandsWork *work, void *context);

/* The same, but once the voice is stopped no band is begun any more. What is done then is done in
 * part: whoever waits for the result asks the voice before it is used. */
void bands_run_until(const Voice *voice, int threads, int rows, int grain, BandsWork *work,
                     void *context);

/* As many threads as were asked for, within 1 and BANDS_MOST_THREADS: so many workers there are at
 * most, whose scratch is made before they begin. */
int bands_threads(int asked);

/* The number of processors on line, 1 to BANDS_MOST_THREADS. */
int bands_processors(void);

#endif
