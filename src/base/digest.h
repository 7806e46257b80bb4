/* Digest: SHA-256 (FIPS 180-4), so that a plan can say which bytes it was made from. */
#ifndef ROWLOCK_BASE_DIGEST_H
#define ROWLOCK_BASE_DIGEST_H

#include "base/status.h"

#include <stddef.h>

enum { DIGEST_TEXT = 65 }; /* 64 lower-case hex digits and the end */

typedef struct Digest Digest;

Status digest_create(Digest **digest_out, Fault *fault);
void digest_add(Digest *digest, const void *bytes, size_t length);
/* The text of all that was added; the digest starts anew. */
void digest_text(Digest *digest, char text_out[DIGEST_TEXT]);
void digest_free(Digest *digest);

/* Of one block. */
Status digest_of(const void *bytes, size_t length, char text_out[DIGEST_TEXT], Fault *fault);

/* Of a file. */
Status digest_file(const char *path, char text_out[DIGEST_TEXT], Fault *fault);

#endif
