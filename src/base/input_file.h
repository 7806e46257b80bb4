/* Input file: opening a file that is read, with the faults that every reader tells alike. */
#ifndef ROWLOCK_BASE_INPUT_FILE_H
#define ROWLOCK_BASE_INPUT_FILE_H

#include "base/status.h"

#include <stdio.h>

/* Opens a file of a finished plan: a regular file, not a pipe or a device, and never waits for
 * one. NULL and errno where that fails; EISDIR stands for all that is not a file. */
FILE *input_file_open_regular(const char *path);

/* The fault of a file that could not be opened; why is an errno. Nothing there and nothing that may
 * be read are STATUS_NO_INPUT, a wait that a signal ended is STATUS_INTERRUPTED. */
Status input_file_fault(const char *place, int why, Fault *fault);

/* The fault of a read or a wait that was stopped from outside. */
Status input_file_stopped(const char *place, Fault *fault);

#endif
