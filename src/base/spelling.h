/* Spelling: which word was likely meant by one that is not known. */
#ifndef ROWLOCK_BASE_SPELLING_H
#define ROWLOCK_BASE_SPELLING_H

#include <stddef.h>

/* How often a byte has to be put in, left out, changed or swapped with its neighbour to make one
 * word of the other, at least; what was swapped is not touched again (optimal string alignment).
 * SIZE_MAX where a word has more than SPELLING_MOST bytes. The words need no closing 0. */
enum { SPELLING_MOST = 64 };
size_t spelling_distance(const char *a, size_t a_length, const char *b, size_t b_length);

/* A word, and the nearest of those that were offered so far: NULL where none of them is near, which
 * is within a third of the word's length. Texts are borrowed. */
typedef struct Spelling {
    const char *word, *nearest;
    size_t length, distance; /* distance: what a word that is offered has to be under */
} Spelling;

Spelling spelling_of(const char *word, size_t length);

/* Of words as near as each other the first stays. One that begins with the whole word, which then
 * has two letters or more, is as near as one slip. */
void spelling_offer(Spelling *spelling, const char *known);

#endif
