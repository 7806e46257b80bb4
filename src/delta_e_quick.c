#include "delta_e_quick.h"

#include <math.h>
#include <string.h>

static const float tiny = 1e-20f;

void quick_init(Quick *quick)
{
    const double degree = M_PI / 180.0;
    for (int i = 0; i <= QUICK_TURNS + 1; i++) {
        const double u = i < QUICK_TURNS ? 2.0 * i / QUICK_TURNS - 1.0 : 1.0;
        const double h = 270.0 + atan2(u, 1.0 - fabs(u)) / degree;
        const double away = (h - 275.0) / 25.0;
        quick->turn[i] = (float)sin(60.0 * degree * exp(-away * away));
    }
}

QuickColour quick_colour(Lab lab)
{
    return (QuickColour){(float)lab.L, (float)lab.a, (float)lab.b,
                         (float)sqrt(lab.a * lab.a + lab.b * lab.b)};
}

Four quick_saturation(Four chroma)
{
    const Four c = chroma * (1.0f / 25.0f), c3 = c * c * c, c7 = c3 * c3 * c;
    return four_root(c7 / (c7 + 1.0f));
}

Four quick_turn(const Quick *quick, Four x, Four y)
{
    const FourWhole below = y < 0.0f;
    if (!(below[0] | below[1] | below[2] | below[3])) return four(0.0f);
    const Four place = four_either(
        below, (x / (four_size(x) + four_size(y)) + 1.0f) * (float)(QUICK_TURNS / 2), four(0.0f));
    const FourWhole i = __builtin_convertvector(place, FourWhole);
    const float *t = quick->turn;
    const Four low = {t[i[0]], t[i[1]], t[i[2]], t[i[3]]};
    const Four high = {t[i[0] + 1], t[i[1] + 1], t[i[2] + 1], t[i[3] + 1]};
    const Four turn = low + (high - low) * (place - __builtin_convertvector(i, Four));
    return four_either(below, turn, four(0.0f));
}

/* (15) for mean hues of cosine c and sine s. */
static Four hue_weight(Four c, Four s)
{
    const float cos30 = 0.866025404f, sin30 = 0.5f;
    const float cos6 = 0.994521895f, sin6 = 0.104528463f;
    const float cos63 = 0.453990500f, sin63 = 0.891006524f;
    const Four c2 = c * c - s * s, s2 = 2.0f * s * c;
    const Four c3 = c2 * c - s2 * s, s3 = s2 * c + c2 * s;
    const Four c4 = c2 * c2 - s2 * s2, s4 = 2.0f * s2 * c2;
    return 1.0f - 0.17f * (c * cos30 + s * sin30) + 0.24f * c2 + 0.32f * (c3 * cos6 - s3 * sin6) -
           0.20f * (c4 * cos63 + s4 * sin63);
}

/* A pair as far as Y and X: what Z still needs of it. */
typedef struct Pair {
    Four yy, x, a1, a2, c1, c2;
} Pair;

/* Quotients are joined where they can be: division takes longest here. */
static inline Pair pair_of(const QuickFour *one, const QuickFour *two)
{
    const Four b1 = one->b, b2 = two->b;

    /* Y */
    const Four away = (two->L + one->L) * 0.5f - 50.0f, away2 = away * away;
    const Four root = four_root(away2 + 20.0f);
    const Four y = (two->L - one->L) * root / (root + 0.015f * away2);

    const Four stretch = 1.5f - 0.5f * quick_saturation((two->chroma + one->chroma) * 0.5f);
    const Four a1 = stretch * one->a, a2 = stretch * two->a;
    const Four c1 = four_root(a1 * a1 + b1 * b1), c2 = four_root(a2 * a2 + b2 * b2);
    const Four sum = c1 + c2;

    /* X, from the difference of the squares, which cancels less. */
    const Four dc = stretch * (two->a - one->a) * (a1 + a2) + (b2 - b1) * (b1 + b2);
    const Four x = dc / ((sum + tiny) * (1.0f + 0.0225f * sum));
    return (Pair){y * y, x, a1, a2, c1, c2};
}

static inline Four pair_square(const Quick *quick, const Pair *p, Four b1, Four b2)
{
    const Four mean = (p->c1 + p->c2) * 0.5f, product = p->c1 * p->c2;

    /* The sum of the unit vectors, times both chromas, points to the mean hue. Its
     * length is 2 cos(dh/2), the cross product is sin(dh) = 2 sin(dh/2) cos(dh/2). */
    const Four mx = p->a1 * p->c2 + p->a2 * p->c1, my = b1 * p->c2 + b2 * p->c1;
    const Four length = four_root(mx * mx + my * my) + tiny, per_length = 1.0f / length;
    const Four t = hue_weight(mx * per_length, my * per_length);
    const Four h = 2.0f * (p->a1 * b2 - p->a2 * b1) * four_root(product) * per_length;
    const Four z = h / (1.0f + 0.015f * mean * t);
    const Four rho = 2.0f * quick_turn(quick, mx, my) * quick_saturation(mean);
    const FourWhole fork = (length < product * 0.01f) & (product > 1e-6f);
    return four_either(fork, four(-1.0f), p->yy + p->x * p->x + z * z - rho * p->x * z);
}

/* In two passes: each is a long chain of operations, and a processor that looks ahead
 * works on several chains at a time where they are half as long. */
void quick_square_fours(const Quick *quick, const QuickFour *one, const QuickFour *two, int count,
                        Four *square_out)
{
    enum { AT_ONCE = 16 };
    Pair pair[AT_ONCE];
    for (int first = 0; first < count; first += AT_ONCE) {
        const int n = count - first < AT_ONCE ? count - first : AT_ONCE;
        for (int i = 0; i < n; i++) pair[i] = pair_of(&one[first + i], &two[first + i]);
        for (int i = 0; i < n; i++)
            square_out[first + i] =
                pair_square(quick, &pair[i], one[first + i].b, two[first + i].b);
    }
}

void quick_squares(const Quick *quick, const QuickColour *asked, const QuickColour *colours,
                   const uint8_t index[QUICK_LANES], float square_out[QUICK_LANES])
{
    const QuickColour *p = &colours[index[0]], *q = &colours[index[1]];
    const QuickColour *r = &colours[index[2]], *s = &colours[index[3]];
    const QuickFour one = {four(asked->L), four(asked->a), four(asked->b), four(asked->chroma)};
    const QuickFour two = {{p->L, q->L, r->L, s->L},
                           {p->a, q->a, r->a, s->a},
                           {p->b, q->b, r->b, s->b},
                           {p->chroma, q->chroma, r->chroma, s->chroma}};
    const Pair pair = pair_of(&one, &two);
    const Four square = pair_square(quick, &pair, one.b, two.b);
    memcpy(square_out, &square, sizeof square);
}
