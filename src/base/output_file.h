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

/* Writes all bytes and closes the file; standard output is flushed instead. The fault of
 * output_file_fault, in which the file is called `path`. */
Status output_file_write_all(FILE *file, const char *bytes, size_t length, const char *path,
                             Fault *fault);

/* The file that a link leads to takes the link's place in `path`, of PATH_MAX bytes: what is put
 * there leaves the link as it is. Fault: STATUS_NO_CREATE where what is there is no file. */
Status output_file_follow(char *path, Fault *fault);

/* Moves a file that was written beside its place into it; what was there stays until then. Fault:
 * STATUS_NO_CREATE. */
Status output_file_put(const char *partial, const char *path, Fault *fault);

#endif
