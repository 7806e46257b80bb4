/* Manual: the page of the program, and that of its files, in the man macros. */
#ifndef ROWLOCK_COMMAND_MANUAL_H
#define ROWLOCK_COMMAND_MANUAL_H

#include <stdbool.h>
#include <stdio.h>

/* rowlock(1), written from the tables of commands, settings and outputs. False: no memory. */
bool manual_print(FILE *file);

/* rowlock(5): what the files are that are read and written. */
bool manual_formats(FILE *file);

#endif
