/* Make murals: plans those murals of a show whose plans are not there yet or are made from
 * something else, two at a time. */
#ifndef ROWLOCK_SHOW_MAKE_MURALS_H
#define ROWLOCK_SHOW_MAKE_MURALS_H

#include "base/voice.h"
#include "show/show_file.h"
#include "show/show_folder.h"

typedef struct MakeTask {
    const Show *show;
    const ShowFolder *folder;
    const char *version; /* of the program */
    Job *job;            /* one for each mural, as it is planned: with its own `out` and stock */
    int threads;         /* in all; 0: one a processor */
    double memory;       /* bytes that all may take together */
} MakeTask;

/* What became of a mural. */
typedef struct Made {
    bool planned;  /* in this run; else it stands as it was */
    Status status; /* STATUS_OK, or STATUS_UNHELD: some brick cannot be made to hold */
    char key[DIGEST_TEXT];
} Made;

/* Fills made_out, one for each mural. What a mural's plan has to say is told with its name before
 * it, mural by mural in the order of the file. Of several faults that of the first mural is told;
 * murals that were done by then stay, and are not planned again by the next run. */
Status make_murals(const MakeTask *task, Made *made_out, const Voice *voice, Fault *fault);

#endif
