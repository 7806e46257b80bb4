/* CIEDE2000's square (ISO/CIE 11664-6; numbers in comments are equations of Sharma, Wu and Dalal
 * 2005) without one angle: see the header. Only arithmetic, roots and one table, so that four or
 * eight pairs go side by side and every processor gives the same bits.
 *
 * Invariant: what is off is at most quick_error, which tests/colour/test_delta_e checks. */
#include "colour/delta_e_quick.h"

#include "base/simd8.h"
#include "colour/delta_e_4.h" /* for few colours */
#include "colour/delta_e_8.h" /* for rows */

#include <math.h>
#include <string.h>

QuickColour quick_colour(Lab lab)
{
    return (QuickColour){(float)lab.L, (float)lab.a, (float)lab.b,
                         (float)sqrt(lab.a * lab.a + lab.b * lab.b)};
}

INLINED void colours_at(const float *const row[3], int at, Colours_8 *c)
{
    c->L = simd8_at(row[0] + at);
    c->a = simd8_at(row[1] + at);
    c->b = simd8_at(row[2] + at);
    const Simd8 square = c->a * c->a + c->b * c->b;
    Simd8 chroma;
    simd8_root(&square, &chroma);
    c->chroma = chroma;
}

/* In two passes: each is a long chain of operations, and a processor that looks ahead
 * works on several chains at a time where they are half as long. */
static WIDE void square_rows(const Quick *quick, const float *const one[3],
                             const float *const two[3], int count, float *square_out)
{
    enum { AT_ONCE = 16 * SIMD8 };
    Pair_8 pair[AT_ONCE / SIMD8];
    for (int first = 0; first < count; first += AT_ONCE) {
        const int end = count - first < AT_ONCE ? count : first + AT_ONCE;
        for (int at = first; at < end; at += SIMD8) {
            Colours_8 p, q;
            colours_at(one, at, &p);
            colours_at(two, at, &q);
            pair_of_8(&p, &q, &pair[(at - first) / SIMD8]);
        }
        for (int at = first; at < end; at += SIMD8) {
            Simd8 square;
            pair_square_8(quick, &pair[(at - first) / SIMD8], &square);
            simd8_put(square_out + at, square);
        }
    }
}

void quick_square_rows(const Quick *quick, const float *const one[3], const float *const two[3],
                       int count, float *square_out)
{
    square_rows(quick, one, two, count, square_out);
}

void quick_squares(const Quick *quick, const QuickColour *asked, const QuickColour *colours,
                   const uint8_t index[QUICK_LANES], float square_out[QUICK_LANES])
{
    const QuickColour *p = &colours[index[0]], *q = &colours[index[1]];
    const QuickColour *r = &colours[index[2]], *s = &colours[index[3]];
    const Colours_4 one = {simd4(asked->L), simd4(asked->a), simd4(asked->b), simd4(asked->chroma)};
    const Colours_4 two = {{p->L, q->L, r->L, s->L},
                           {p->a, q->a, r->a, s->a},
                           {p->b, q->b, r->b, s->b},
                           {p->chroma, q->chroma, r->chroma, s->chroma}};
    Pair_4 pair;
    Simd4 square;
    pair_of_4(&one, &two, &pair);
    pair_square_4(quick, &pair, &square);
    memcpy(square_out, &square, sizeof square);
}
