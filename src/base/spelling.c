/* The distance is filled in row by row, of which three are kept: to put in, leave out and change
 * looks one row up, to swap two.
 *
 * Source: of misspelt words four in five are one such slip away, F. J. Damerau, Communications of
 * the ACM 7(3), 1964. That a third of a word may be wrong is our own choice. */
#include "base/spelling.h"

#include <stdint.h>
#include <string.h>

static size_t least_of(size_t a, size_t b) { return a < b ? a : b; }

size_t spelling_distance(const char *a, size_t a_length, const char *b, size_t b_length)
{
    if (a_length > SPELLING_MOST || b_length > SPELLING_MOST) return SIZE_MAX;
    size_t rows[3][SPELLING_MOST + 1]; /* [i % 3][j]: from i bytes of a to j bytes of b */
    for (size_t i = 0; i <= a_length; i++) {
        size_t *row = rows[i % 3], *up = rows[(i + 2) % 3], *two_up = rows[(i + 1) % 3];
        row[0] = i;
        for (size_t j = 1; j <= b_length; j++) {
            if (!i) {
                row[j] = j;
                continue;
            }
            row[j] = least_of(least_of(row[j - 1], up[j]) + 1, up[j - 1] + (a[i - 1] != b[j - 1]));
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                row[j] = least_of(row[j], two_up[j - 2] + 1);
        }
    }
    return rows[a_length % 3][b_length];
}

Spelling spelling_of(const char *word, size_t length)
{
    const size_t most = length < 3 ? 1 : length / 3;
    return (Spelling){.word = word, .length = length, .distance = most + 1};
}

void spelling_offer(Spelling *s, const char *known)
{
    const size_t length = strlen(known);
    const int opens = s->length > 1 && length > s->length && !strncmp(s->word, known, s->length);
    const size_t distance = opens ? 1 : spelling_distance(s->word, s->length, known, length);
    if (distance >= s->distance) return;
    s->nearest = known;
    s->distance = distance;
}
