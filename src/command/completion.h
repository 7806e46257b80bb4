/* Completion: what may follow on a command line that is being typed. Each shell has a short script
 * that asks the program, so that what is offered is always what the program takes. */
#ifndef ROWLOCK_COMMAND_COMPLETION_H
#define ROWLOCK_COMMAND_COMPLETION_H

#include "rowlock.h"

#include <stdio.h>

/* The script for bash, zsh or fish, to be read by that shell. Fault: another shell. */
RowlockStatus completion_script(const char *shell, FILE *file, RowlockFault *fault);

/* What the last of the words may become, a line each: the whole word, a tab, what it is. A line
 * ":files" or ":folders" asks for names of those instead. The words are those after the program's
 * name; the last is the one being typed, and may be empty. Never fails: it offers nothing then. */
void completion_offer(char *const *words, int count, FILE *file);

#endif
