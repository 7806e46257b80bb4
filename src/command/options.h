/* Options: the command line, read into a job. */
#ifndef ROWLOCK_COMMAND_OPTIONS_H
#define ROWLOCK_COMMAND_OPTIONS_H

#include "bench/bench.h"
#include "command/commands.h"
#include "desk/desk.h"

enum { REFERENCES_MOST = 64 };

/* Texts are those of the command line. */
typedef struct Options {
    Command command;
    bool help, version;              /* asked for; nothing else counts then */
    const char *completion, *manual; /* the same: for a shell; a page, "" the program's */
    RowlockJob *job;
    RowlockChoices choices[ROWLOCK_KINDS_MOST]; /* compare: what is given several times */
    const char *choice[ROWLOCK_KINDS_MOST][ROWLOCK_CHOICES_MOST]; /* what they point at */
    size_t choice_kinds;
    const char *reference[REFERENCES_MOST]; /* pick: the pictures */
    size_t references;
    const char *folder; /* check, replan: the plan; exhibition: its file */
    RowlockInspection inspection;
    double corner[4][2]; /* what it points at */
    DeskOptions desk;
    BenchOptions bench;
    const char *served[REFERENCES_MOST]; /* what bench.folder points at */
} Options;

/* Reads the command line, and the job file that it names. */
RowlockStatus options_read(Options *options_out, int argc, char **argv, RowlockFault *fault);

/* Whether something is only to be told, and nothing to be done. */
bool options_tell(const Options *options);

void options_clear(Options *options);

#endif
