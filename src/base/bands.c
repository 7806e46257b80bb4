/* Rows of work are shared out in bands of `grain`: each thread takes the next band from one counter
 * until none is left, so that a thread that met hard rows does not hold up the rest. What is done
 * to a row must not depend on the thread or on the order; then no number of threads changes a byte.
 * The caller's thread works too: where no other can be started, all is still done. */
#include "base/bands.h"

#include "base/thread.h"

#include <stdatomic.h>
#include <unistd.h>

typedef struct Run {
    BandsWork *work;
    void *context;
    const Voice *voice; /* that may end it; NULL: nothing does */
    int rows, grain;
    atomic_int next, worker;
} Run;

static void *band(void *argument)
{
    Run *run = argument;
    const int worker = atomic_fetch_add(&run->worker, 1);
    for (;;) {
        const int begin = atomic_fetch_add(&run->next, run->grain);
        if (begin >= run->rows || voice_stopped(run->voice)) return NULL;
        const int end = run->grain < run->rows - begin ? begin + run->grain : run->rows;
        run->work(run->context, begin, end, worker);
    }
}

void bands_run(int threads, int rows, int grain, BandsWork *work, void *context)
{
    bands_run_until(NULL, threads, rows, grain, work, context);
}

void bands_run_until(const Voice *voice, int threads, int rows, int grain, BandsWork *work,
                     void *context)
{
    if (grain < 1) grain = 1;
    Run run = {.work = work, .context = context, .voice = voice, .rows = rows, .grain = grain};
    const int pieces = rows / grain + (rows % grain != 0);
    if (threads > pieces) threads = pieces;
    if (threads > BANDS_MOST_THREADS) threads = BANDS_MOST_THREADS;
    pthread_t thread[BANDS_MOST_THREADS];
    int started = 0;
    while (started < threads - 1 && thread_begin(&thread[started], band, &run) == 0) started++;
    band(&run);
    for (int i = 0; i < started; i++) pthread_join(thread[i], NULL);
}

int bands_threads(int asked)
{
    return asked < 1 ? 1 : asked > BANDS_MOST_THREADS ? BANDS_MOST_THREADS : asked;
}

int bands_processors(void)
{
    const long count = sysconf(_SC_NPROCESSORS_ONLN);
    return count < 1 ? 1 : count > BANDS_MOST_THREADS ? BANDS_MOST_THREADS : (int)count;
}
