/* Bytes: a file that is read at any place, and digested as it is read.
 *
 * "-" is standard input. What cannot be read at any place (a pipe, a device) is copied into a
 * temporary file without a name, in TMPDIR if that is set: at first its head alone, so that what
 * is no picture is known before all of it is waited for. */
#ifndef ROWLOCK_BASE_BYTES_H
#define ROWLOCK_BASE_BYTES_H

#include "base/digest.h"
#include "base/status.h"
#include "base/voice.h"

#include <stddef.h>
#include <stdint.h>

typedef struct Bytes Bytes;

/* The voice is asked whether to stop while a pipe is waited for; it may be NULL. Of a pipe the
 * first BYTES_HEAD bytes are there then, or all where it has fewer. */
enum { BYTES_HEAD = 64 * 1024 };
Status bytes_open(Bytes **bytes_out, const char *path, const Voice *voice, Fault *fault);
/* Waits for the rest of a pipe, to its end. STATUS_DATA where it has more than `most` bytes; files
 * may have any number. */
Status bytes_complete(Bytes *bytes, uint64_t most, const Voice *voice, Fault *fault);
void bytes_close(Bytes *bytes);

/* The path, or "standard input": for messages. */
const char *bytes_name(const Bytes *bytes);
uint64_t bytes_size(const Bytes *bytes);

/* The folder for temporary files: TMPDIR, or the system's. */
const char *temporary_folder(void);

/* Reads up to `want` bytes from `offset`; fewer only at the end of the file. */
Status bytes_read(Bytes *bytes, uint64_t offset, void *buffer, size_t want, size_t *got_out,
                  Fault *fault);

/* SHA-256 of the whole file; reads what nobody has read yet. */
Status bytes_digest(Bytes *bytes, char text_out[DIGEST_TEXT], Fault *fault);

#endif
