/* Base64: bytes as text, three of them in four characters (RFC 4648, section 4). */
#ifndef ROWLOCK_BASE_BASE64_H
#define ROWLOCK_BASE_BASE64_H

#include <stddef.h>

/* The characters of a group: of the next three of `left` bytes, or of what is left, at least one;
 * then it is filled up with '='. */
void base64_group(const unsigned char *bytes, size_t left, char text_out[4]);

#endif
