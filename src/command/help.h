/* Help and manual, written from the tables of commands, settings and outputs. */
#ifndef ROWLOCK_COMMAND_HELP_H
#define ROWLOCK_COMMAND_HELP_H

#include "command/commands.h"

#include <stdio.h>

/* Help: of the program for COMMAND_NONE, else of one command, complete. */
void help_print(Command command, FILE *file);

/* What is to be minded with bricks and panels. */
extern const char help_cautions[];

#endif
