/* Bench: the build books of plans, served to the devices of those who build, with one state of what
 * is laid. */
#ifndef ROWLOCK_BENCH_BENCH_H
#define ROWLOCK_BENCH_BENCH_H

#include "rowlock.h"

#include <stdbool.h>

struct Server; /* see serve/server.h */

typedef struct BenchOptions {
    const char *const *folder; /* of plans */
    int folders;               /* at least 1 */
    unsigned port;             /* 0: any that is free */
    const char *listen;        /* an address of this machine by which devices come in; NULL: none */
    bool open;                 /* a browser is opened */
    /* Takes the link, and the server, which a wake has look whether it is to stop; NULL: the link
     * is printed. */
    void (*told)(void *self, const char *link, struct Server *server);
    void *self;
    const char
        *save; /* all that happened is written here, in .csv or .json, and nothing served … */
    const char *load; /* … or read from here before; of one plan. NULL: not */
} BenchOptions;

/* Prints the link as one line on standard output and answers until the voice says stop: ROWLOCK_OK
 * then. Faults: a folder holds no plan, its bench is another's, the port is taken, the address is
 * not this machine's. */
RowlockStatus bench_run(const BenchOptions *options, const RowlockVoice *voice,
                        RowlockFault *fault);

/* Writes what the bench of a plan's folder has as laid as a table beside it, and puts its path into
 * path_out, for --built. Faults: nothing was built there with a bench, or one has it open. */
enum { BENCH_PATH = 4096 };
RowlockStatus bench_tell_laid(const char *folder, char path_out[BENCH_PATH], RowlockFault *fault);

#endif
