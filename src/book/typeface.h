/* Typeface: what the typeface of the PDFs, which is part of the program, can print. */
#ifndef ROWLOCK_BOOK_TYPEFACE_H
#define ROWLOCK_BOOK_TYPEFACE_H

#include <stdbool.h>
#include <stdint.h>

/* A character, by its code point and in UTF-8. */
typedef struct Sign {
    uint32_t point;
    char text[8];
} Sign;

/* Whether the text, UTF-8, has a character that is printed as a box, and the first such. */
bool typeface_lacks(const char *text, Sign *sign_out);

#endif
