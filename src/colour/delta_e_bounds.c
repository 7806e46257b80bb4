/* Interval arithmetic (Moore, Interval Analysis, 1966), four colours at once. Parts that are
 * monotone are taken at their ends, and what depends on the same thing is tied together where that
 * pays: both chromas stretch alike, and dC'^2 + dH'^2 = da'^2 + db^2. Angles are never worked out:
 * a rectangle is seen from the neutral axis in the direction of its middle, to either
 * side of which its corners reach by an angle below its tangent.
 *
 * Where a hue cannot be told (the rectangle holds the neutral axis, or lies across the
 * 180 degree fork) both ways round are covered.
 *
 * Arithmetic is single precision. What rounding and the table of delta_e_quick can
 * amount to is estimated there; the bounds are widened at the end by as much
 * (quick_error), and angles and tables by a little on their way. Numbers in comments
 * are the equations that delta_e.c names. */
#include "colour/delta_e_bounds.h"

#include "base/simd8.h"
#include "colour/delta_e_4.h"

#include <math.h>
#include <string.h>

typedef struct Spans {
    Simd4 lo, hi;
} Spans;

static const float TINY = 1e-20f;

/* sqrt(C^7 / (C^7 + 25^7)), and sin(2 dtheta) for mean hues of the directions (x, y), to 1e-5. */
INLINED Simd4 quick_saturation(Simd4 chroma)
{
    Simd4 saturation;
    saturation_of_4(&chroma, &saturation);
    return saturation;
}
INLINED Simd4 quick_turn(const Quick *quick, Simd4 x, Simd4 y)
{
    Simd4 turn;
    turn_of_4(quick, &x, &y, &turn);
    return turn;
}

INLINED Spans common(Spans x, Spans y)
{
    return (Spans){simd4_most(x.lo, y.lo), simd4_least(x.hi, y.hi)};
}

/* x times y >= 0, and x over y > 0. */
INLINED Spans spans_times(Spans x, Spans y)
{
    return (Spans){x.lo * simd4_either(x.lo < 0.0f, y.hi, y.lo),
                   x.hi * simd4_either(x.hi < 0.0f, y.lo, y.hi)};
}
INLINED Spans spans_over(Spans x, Spans y)
{
    return (Spans){x.lo / simd4_either(x.lo < 0.0f, y.lo, y.hi),
                   x.hi / simd4_either(x.hi < 0.0f, y.hi, y.lo)};
}

INLINED Simd4Whole holds_0(Spans x) { return (x.lo <= 0.0f) & (x.hi >= 0.0f); }

/* The least and the most of |x|. */
INLINED Spans sizes(Spans x)
{
    const Simd4 one = simd4_size(x.lo), two = simd4_size(x.hi);
    return (Spans){simd4_either(holds_0(x), simd4(0.0f), simd4_least(one, two)),
                   simd4_most(one, two)};
}

INLINED Simd4 vector_length(Simd4 x, Simd4 y) { return simd4_root(x * x + y * y); }

/* Distances of rectangles' points from the origin. */
INLINED Spans radius(Spans x, Spans y)
{
    const Spans u = sizes(x), v = sizes(y);
    return (Spans){vector_length(u.lo, v.lo), vector_length(u.hi, v.hi)};
}

typedef struct Vectors {
    Simd4 x, y;
} Vectors;

INLINED Vectors vectors_unit(Vectors v)
{
    const Simd4 size = vector_length(v.x, v.y) + TINY;
    return (Vectors){v.x / size, v.y / size};
}
INLINED Simd4 vectors_dot(Vectors v, Vectors w) { return v.x * w.x + v.y * w.y; }
INLINED Simd4 vectors_cross(Vectors v, Vectors w) { return v.x * w.y - v.y * w.x; }

/* The tangent of the angle between two directions, or far too much beyond 90 degrees. */
INLINED Simd4 tangent(Vectors v, Vectors w)
{
    return simd4_size(vectors_cross(v, w)) / simd4_most(vectors_dot(v, w), simd4(TINY));
}

/* T of (15) around unit vectors m to an angle r: value and slope in the middle, and a
 * bound on the second derivative (0.17 + 4 * 0.24 + 9 * 0.32 + 16 * 0.20) for the rest. */
INLINED Spans hue_weight(Vectors m, Simd4 r)
{
    const float cos30 = 0.866025404f, sin30 = 0.5f;
    const float cos6 = 0.994521895f, sin6 = 0.104528463f;
    const float cos63 = 0.453990500f, sin63 = 0.891006524f;
    const Simd4 c = m.x, s = m.y;
    const Simd4 c2 = c * c - s * s, s2 = 2.0f * s * c;
    const Simd4 c3 = c2 * c - s2 * s, s3 = s2 * c + c2 * s;
    const Simd4 c4 = c2 * c2 - s2 * s2, s4 = 2.0f * s2 * c2;
    const Simd4 value = 1.0f - 0.17f * (c * cos30 + s * sin30) + 0.24f * c2 +
                        0.32f * (c3 * cos6 - s3 * sin6) - 0.20f * (c4 * cos63 + s4 * sin63);
    const Simd4 slope = 0.17f * (s * cos30 - c * sin30) - 0.48f * s2 -
                        0.96f * (s3 * cos6 + c3 * sin6) + 0.80f * (s4 * cos63 - c4 * sin63);
    const Simd4 reach = simd4_size(slope) * r + 3.61f * r * r + 1e-5f;
    return (Spans){value - reach, value + reach};
}

/* sin(2 dtheta) of (16) and (21) around unit vectors m to an angle r up to 0.6: it falls
 * off to both sides of 275 degrees, so the ends tell, unless that is within. */
INLINED Spans turn_span(const Quick *quick, Vectors m, Simd4 r)
{
    const Simd4 t = r * (1.0f + 0.45f * r * r) + 1e-5f; /* above tan r */
    const Simd4 one = quick_turn(quick, m.x - t * m.y, m.y + t * m.x);
    const Simd4 two = quick_turn(quick, m.x + t * m.y, m.y - t * m.x);
    const Vectors peak = {simd4(0.0871557427f), simd4(-0.996194698f)};
    return (Spans){
        simd4_most(simd4_least(one, two) - 2e-5f, simd4(0.0f)),
        simd4_either(tangent(m, peak) <= t, simd4(0.86602541f), simd4_most(one, two) + 2e-5f)};
}

typedef struct Hues {
    Spans half_sine; /* sin(dh'/2) */
    Spans weight;    /* T */
    Spans turn;      /* sin(2 dtheta) */
} Hues;

INLINED Spans known_or(Simd4Whole mask, Spans x, float lo, float hi)
{
    return (Spans){simd4_either(mask, x.lo, simd4(lo)), simd4_either(mask, x.hi, simd4(hi))};
}

/* From a rectangle to colours (stretch a, b). */
INLINED Hues hues_of(const Quick *quick, Spans x, Spans y, Simd4 a, Simd4 b, Spans stretch)
{
    const Vectors one = vectors_unit((Vectors){0.5f * (x.lo + x.hi), 0.5f * (y.lo + y.hi)});
    const Simd4 low =
        simd4_most(tangent(one, (Vectors){x.lo, y.lo}), tangent(one, (Vectors){x.hi, y.lo}));
    const Simd4 high =
        simd4_most(tangent(one, (Vectors){x.lo, y.hi}), tangent(one, (Vectors){x.hi, y.hi}));
    const Vectors two = vectors_unit((Vectors){0.5f * (stretch.lo + stretch.hi) * a, b});
    const Simd4 spread = simd4_most(tangent(two, (Vectors){stretch.lo * a, b}),
                                    tangent(two, (Vectors){stretch.hi * a, b}));
    /* Half of dh', and the mean hue, are known to an angle r. */
    const Simd4 r = 0.5f * (simd4_most(low, high) + spread) + 1e-5f;
    const Vectors sum = {one.x + two.x, one.y + two.y};
    const Simd4 twice_cosine = vector_length(sum.x, sum.y) + TINY;
    const Simd4 cosine = 0.5f * twice_cosine, sine = vectors_cross(one, two) / twice_cosine;
    const Simd4Whole neutral = (x.lo < 0.01f) & (x.hi > -0.01f) & (y.lo < 0.01f) & (y.hi > -0.01f);
    const Simd4Whole known = (r < 0.6f) & (cosine > r + 1e-3f) & ~neutral;

    /* sin(x + d) lies between sin x - d cos x - d^2/2 max(sin x, 0) and so on. */
    const Simd4 side = cosine * r + 1e-5f, fall = 0.5f * r * r;
    const Spans half_sine = {sine - side - fall * simd4_most(sine, simd4(0.0f)),
                             sine + side + fall * simd4_most(-sine, simd4(0.0f))};
    const Vectors mean = {sum.x / twice_cosine, sum.y / twice_cosine};
    const Simd4 near = simd4_least(r, simd4(0.6f));
    const Spans weight = common(hue_weight(mean, near), (Spans){simd4(0.362f), simd4(1.5725f)});
    return (Hues){known_or(known, half_sine, -1.0f, 1.0f), known_or(known, weight, 0.362f, 1.5725f),
                  known_or(known, turn_span(quick, mean, near), 0.0f, 0.86602541f)};
}

/* The rectangle and the four colours, as far as (6). */
typedef struct Chromas {
    Spans a, b;     /* of the rectangle */
    Simd4 a2, b2;   /* of the colours */
    Spans stretch;  /* 1 + G, for the two alike */
    Spans one, two; /* C', of the rectangle and of the colours */
} Chromas;

/* dC': each chroma on its own, or both along with the stretch that they share:
 * dC'/dstretch is stretch a^2 / C', and never above |a|. */
INLINED Spans chroma_step(const Chromas *c)
{
    const Spans a = c->a, b = c->b, one = c->one, two = c->two, stretch = c->stretch;
    const Simd4 a2 = c->a2, b2 = c->b2;
    const Spans apart = {two.lo - one.hi, two.hi - one.lo};
    const Simd4 middle = 0.5f * (stretch.lo + stretch.hi), half = 0.5f * (stretch.hi - stretch.lo);
    const Spans size = sizes(a);
    const Simd4 grow_one_lo = stretch.lo * size.lo * size.lo / (one.hi + TINY);
    const Simd4 grow_one_hi =
        simd4_least(stretch.hi * size.hi * size.hi / (one.lo + TINY), size.hi);
    const Simd4 grow_two_lo = stretch.lo * a2 * a2 / (two.hi + TINY);
    const Simd4 grow_two_hi = stretch.hi * a2 * a2 / (two.lo + TINY);
    const Simd4 reach = half * simd4_most(grow_two_hi - grow_one_lo, grow_one_hi - grow_two_lo);
    const Spans at = radius((Spans){middle * a.lo, middle * a.hi}, b);
    const Simd4 there = vector_length(middle * a2, b2);
    return common(apart, (Spans){there - at.hi - reach, there - at.lo + reach});
}

INLINED Simd4 form(Simd4 x, Simd4 z, Simd4 rho) { return x * x + z * z - rho * x * z; }

INLINED Simd4 clamped(Simd4 x, Spans span) { return simd4_least(simd4_most(x, span.lo), span.hi); }

/* The least of x^2 + z^2 - rho x z, which is convex: 0 inside, else on an edge. */
INLINED Simd4 form_least(Spans x, Spans z, Simd4 rho)
{
    const Simd4 half = 0.5f * rho;
    const Simd4 left = form(x.lo, clamped(half * x.lo, z), rho);
    const Simd4 right = form(x.hi, clamped(half * x.hi, z), rho);
    const Simd4 bottom = form(clamped(half * z.lo, x), z.lo, rho);
    const Simd4 top = form(clamped(half * z.hi, x), z.hi, rho);
    return simd4_either(holds_0(x) & holds_0(z), simd4(0.0f),
                        simd4_least(simd4_least(left, right), simd4_least(bottom, top)));
}

INLINED Simd4 form_most(Spans x, Spans z, Simd4 rho)
{
    return simd4_most(simd4_most(form(x.lo, z.lo, rho), form(x.lo, z.hi, rho)),
                      simd4_most(form(x.hi, z.lo, rho), form(x.hi, z.hi, rho)));
}

/* What (19) to (21) come to. */
typedef struct Weights {
    Spans sc, sh, rho; /* rho = -RT */
} Weights;

/* P of (22) from dC', dH' and |da', db|. */
INLINED Spans plane(Spans dc, Spans dh, Spans one, Spans two, Spans flat, Weights w)
{
    /* dC'/SC is monotone in either chroma. */
    const Spans ends = {(two.lo - one.hi) / (1.0f + 0.0225f * (two.lo + one.hi)),
                        (two.hi - one.lo) / (1.0f + 0.0225f * (two.hi + one.lo))};
    const Spans x = common(spans_over(dc, w.sc), ends), z = spans_over(dh, w.sh);
    const Simd4 together = flat.lo / simd4_most(w.sc.hi, w.sh.hi);
    const Simd4 corner = simd4_least(form_least(x, z, w.rho.lo), form_least(x, z, w.rho.hi));
    return (Spans){simd4_most(corner, (1.0f - 0.5f * w.rho.hi) * together * together),
                   simd4_most(form_most(x, z, w.rho.lo), form_most(x, z, w.rho.hi))};
}

static WIDE void bound_plane(const Quick *quick, const Rectangle *rectangle,
                             const QuickColour *colours, const uint8_t index[QUICK_LANES],
                             float lo_out[QUICK_LANES], float hi_out[QUICK_LANES])
{
    const QuickColour *p = &colours[index[0]], *q = &colours[index[1]];
    const QuickColour *r = &colours[index[2]], *s = &colours[index[3]];
    const Simd4 a2 = {p->a, q->a, r->a, s->a}, b2 = {p->b, q->b, r->b, s->b};
    const Simd4 own = {p->chroma, q->chroma, r->chroma, s->chroma};
    const Spans a = {simd4(rectangle->a_least), simd4(rectangle->a_most)};
    const Spans b = {simd4(rectangle->b_least), simd4(rectangle->b_most)};

    /* (2) to (6) */
    const Spans chroma = radius(a, b);
    const Spans stretch = {1.5f - 0.5f * quick_saturation(0.5f * (chroma.hi + own)),
                           1.5f - 0.5f * quick_saturation(0.5f * (chroma.lo + own))};
    const Spans wide = spans_times(a, stretch);
    const Spans one = radius(wide, b);
    const Spans two = {vector_length(stretch.lo * a2, b2), vector_length(stretch.hi * a2, b2)};
    const Spans mean = {0.5f * (one.lo + two.lo), 0.5f * (one.hi + two.hi)};

    /* (9) to (11), (15), (16), (21) */
    const Spans dc = chroma_step(&(Chromas){a, b, a2, b2, stretch, one, two});
    const Hues hues = hues_of(quick, wide, b, a2, b2, stretch);
    const Spans product = {2.0f * simd4_root(one.lo * two.lo), 2.0f * simd4_root(one.hi * two.hi)};
    const Spans flat =
        radius(spans_times((Spans){a2 - a.hi, a2 - a.lo}, stretch), (Spans){b2 - b.hi, b2 - b.lo});
    /* |dH'| from the other two sides; widened under the root, which would blow rounding up. */
    const Simd4 least_dc = sizes(dc).lo;
    const Simd4 rest = flat.hi * flat.hi * (1.0f + 1e-5f) - least_dc * least_dc * (1.0f - 1e-5f);
    const Simd4 reach = simd4_root(simd4_most(rest, simd4(0.0f)) + 1e-3f);
    const Spans dh = common(spans_times(hues.half_sine, product), (Spans){-reach, reach});

    /* (19) to (22) */
    const Weights weights = {
        {1.0f + 0.045f * mean.lo, 1.0f + 0.045f * mean.hi},
        {1.0f + 0.015f * mean.lo * hues.weight.lo, 1.0f + 0.015f * mean.hi * hues.weight.hi},
        {2.0f * hues.turn.lo * quick_saturation(mean.lo),
         2.0f * hues.turn.hi * quick_saturation(mean.hi)}};
    const Spans square = plane(dc, dh, one, two, flat, weights);
    const Simd4 lo = square.lo - (5e-4f * square.lo + 1e-3f);
    const Simd4 hi = square.hi + (5e-4f * square.hi + 1e-3f);
    memcpy(lo_out, &lo, sizeof lo);
    memcpy(hi_out, &hi, sizeof hi);
}

/* What is marked WIDE is compiled twice and has to be static. */
void bounds_plane(const Quick *quick, const Rectangle *rectangle, const QuickColour *colours,
                  const uint8_t index[QUICK_LANES], float lo_out[QUICK_LANES],
                  float hi_out[QUICK_LANES])
{
    bound_plane(quick, rectangle, colours, index, lo_out, hi_out);
}

double bounds_lightness(double one, double two)
{
    const double away = (one + two) / 2.0 - 50.0;
    return (two - one) / (1.0 + 0.015 * away * away / sqrt(20.0 + away * away));
}
