/* Output file: opening and closing a file that is written, with the faults that every writer
 * tells alike. */
#ifndef ROWLOCK_BASE_OUTPUT_FILE_H
#define ROWLOCK_BASE_OUTPUT_FILE_H

#include "base/status.h"

#include <stdio.h>

/* Creates the file, or empties it. Fault: STATUS_NO_CREATE, or STATUS_NO_RESOURCE for lack of
 * memory; *file_out is NULL then. */
Status output_file_open(FILE **file_out, const char *path, Fault *fault);

/* The fault of a file that could not be written whole: STATUS_IO, or STATUS_NO_RESOURCE for lack of
 * memory; why is an errno. */
Status output_file_fault(const char *path, int why, Fault *fault);

/* Closes the file. The fault of output_file_fault where a write failed before or closing fails. */
Status output_file_close(FILE *file, const char *path, Fault *fault);

#endif
