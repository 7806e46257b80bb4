/* Options: the command line, read into a job. */
#ifndef ROWLOCK_COMMAND_OPTIONS_H
#define ROWLOCK_COMMAND_OPTIONS_H

#include "model/job.h"

#include <stdio.h>

typedef enum Command {
    COMMAND_NONE,
    COMMAND_PLAN,
    COMMAND_COMPARE,
    COMMAND_PICK,
    COMMAND_REPLAN,
    COMMAND_CHECK,
    COMMANDS
} Command;

enum { REFERENCES_MOST = 64, CHOICE_KINDS = 8 };

typedef struct Options {
    Command command;
    bool help, version, manual; /* asked for; nothing else counts then */
    Job job;
    Choices choices[CHOICE_KINDS]; /* compare: what is given several times */
    int choice_kinds;
    const char *reference[REFERENCES_MOST]; /* pick: the pictures */
    int references;
    char folder[JOB_TEXT]; /* check, replan: the plan */
} Options;

/* Reads the command line, and the job file that it names. */
Status options_read(Options *options_out, int argc, char **argv, Fault *fault);

/* Help: of the program for COMMAND_NONE, else of one command, complete. */
void options_help(Command command, FILE *file);

/* The manual page, in the man macros. */
void options_manual(FILE *file);

extern const char rowlock_version[];

#endif
