/* Text: small text files, read whole, and the UTF-8 in them. */
#ifndef ROWLOCK_BASE_TEXT_H
#define ROWLOCK_BASE_TEXT_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { TEXT_MOST = 16 << 20 }; /* bytes; nothing that is typed or measured is longer */

/* The whole file; bytes_out[length] is 0. "-" is standard input. Faults: missing
 * (STATUS_NO_INPUT), not readable, more than TEXT_MOST bytes. The caller frees
 * *bytes_out with memory_free. */
Status text_read(char **bytes_out, size_t *length_out, const char *path, Fault *fault);

/* The path as messages name it. */
const char *text_place(const char *path);

/* Faults with line and column where the bytes are not UTF-8 or hold a control
 * character other than tab, carriage return and line feed. */
Status text_check(const char *bytes, size_t length, const char *place, Fault *fault);

/* Bytes of the byte order mark that the text opens with: 3 or 0. */
size_t text_mark(const char *bytes, size_t length);

/* Bytes of the character that opens the text, 1 to 4, and its code point; 0 where
 * that is no UTF-8 (Unicode 15, table 3-7) or nothing is left. */
int text_point(const char *bytes, size_t left, uint32_t *point_out);

/* True for what must not stand in an id: blanks, controls, and the marks that
 * have no width or change the direction of writing. */
int text_unseen(uint32_t point);

/* A copy fit for a message: whole characters, at most 40, then "..."; returns out. */
enum { TEXT_CLIP = 40 * 4 + 4 };
const char *text_clip(char out[TEXT_CLIP], const char *text);

/* A file system's names may hold any byte: a copy for tables and pages, in which what is
 * not UTF-8 or is a control character is '?', cut to whole characters. */
void text_tame(char *out, size_t room, const char *name, size_t length);

/* A decimal number that no locale changes, up to 9e15: 1234.5 with one decimal is "1,234.5". */
void number_text(char *text, size_t size, double value, int decimals);

/* "#c8a078", with or without #, as three numbers to 255; false where it is none. */
bool text_rgb(const char *text, uint8_t rgb_out[3]);

/* Equal but for the case of A to Z, whatever the locale. */
int text_same(const char *a, const char *b);

#endif
