/* Token: 128 random bits as text, by which a page is known again. */
#ifndef ROWLOCK_SERVE_TOKEN_H
#define ROWLOCK_SERVE_TOKEN_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

enum { TOKEN_TEXT = 33 }; /* 32 hex digits, and the end */

/* Random bytes of the system. Fault: it has none. */
Status random_bytes(void *bytes_out, size_t length, Fault *fault);

/* Draws a token. Fault: the system has no random bits. */
Status token_draw(char token_out[TOKEN_TEXT], Fault *fault);

/* Whether the text given, NULL for none, is the secret. Takes as long for one that is wrong at its
 * end as at its beginning. An empty secret is nobody's. */
bool secret_is(const char *secret, const char *given);

#endif
