/* Desk: a page on this machine on which one person plans a mural and sees each change at once. */
#ifndef ROWLOCK_DESK_DESK_H
#define ROWLOCK_DESK_DESK_H

#include "rowlock.h"

#include <stdbool.h>

typedef struct DeskOptions {
    const char *operand; /* a picture, a job file, a plan's folder; NULL: nothing yet */
    unsigned port;       /* 0: any that is free */
    const char *listen;  /* an address of this machine by which other devices come in; NULL: none */
    bool open;           /* a browser is opened */
} DeskOptions;

/* Prints the link as one line on standard output and answers until the voice says stop, which is
 * how a desk ends: ROWLOCK_OK then. Faults: what is named cannot be had, the port is taken, the
 * address is not this machine's. */
RowlockStatus desk_run(const DeskOptions *options, const RowlockVoice *voice, RowlockFault *fault);

#endif
