/* Spans are worked out in plain doubles and widened once at the end by far more than
 * rounding can amount to (SLACK), as the formula's values stay below 1e5 and its
 * condition is mild away from the fork, which has a margin of its own. Numbers in
 * comments are the equations that delta_e.c names. */
#include "delta_e_box.h"

#include <math.h>
#include <stdbool.h>

static const double SLACK = 1e-7;
static const double FORK_MARGIN = 1e-6; /* radians */
static const double degree = M_PI / 180.0;

static double least(double a, double b) { return a < b ? a : b; }
static double most(double a, double b) { return a > b ? a : b; }
static Span sum(Span a, Span b) { return (Span){a.lo + b.lo, a.hi + b.hi}; }
static Span minus(Span a, Span b) { return (Span){a.lo - b.hi, a.hi - b.lo}; }
static Span common(Span a, Span b) { return (Span){most(a.lo, b.lo), least(a.hi, b.hi)}; }

/* a times b >= 0, and a over b > 0. */
static Span times(Span a, Span b)
{
    return (Span){a.lo * (a.lo < 0.0 ? b.hi : b.lo), a.hi * (a.hi < 0.0 ? b.lo : b.hi)};
}
static Span over(Span a, Span b)
{
    return (Span){a.lo / (a.lo < 0.0 ? b.lo : b.hi), a.hi / (a.hi < 0.0 ? b.hi : b.lo)};
}

/* The least and the most of |x|. */
static Span size_of(Span x)
{
    if (x.lo > 0.0) return x;
    if (x.hi < 0.0) return (Span){-x.hi, -x.lo};
    return (Span){0.0, most(-x.lo, x.hi)};
}

/* Distances of a rectangle's points from the origin. */
static Span radius(Span x, Span y)
{
    const Span u = size_of(x), v = size_of(y);
    return (Span){sqrt(u.lo * u.lo + v.lo * v.lo), sqrt(u.hi * u.hi + v.hi * v.hi)};
}

static double saturation(double chroma)
{
    const double c3 = chroma * chroma * chroma, c7 = c3 * c3 * chroma;
    return sqrt(c7 / (c7 + 6103515625.0));
}

/* SL of (18), which grows with the distance of the mean from 50. */
static double lightness_weight(double away)
{
    return 1.0 + 0.015 * away * away / sqrt(20.0 + away * away);
}

/* dL'/SL. Its derivative has the sign of SL - dL'/2 SL', and |SL'| < 0.0165, so it
 * is monotone as far as 120 apart; beyond, the weight is bounded by itself. */
static Span lightness_term(Span L, double colour)
{
    const Span step = {colour - L.hi, colour - L.lo};
    const Span mean = {(colour + L.lo) / 2.0 - 50.0, (colour + L.hi) / 2.0 - 50.0};
    if (size_of(step).hi < 120.0)
        return (Span){step.lo / lightness_weight(mean.hi), step.hi / lightness_weight(mean.lo)};
    const Span away = size_of(mean);
    return over(step, (Span){lightness_weight(away.lo), lightness_weight(away.hi)});
}

double delta_e_box_lightness(const LabBox *box, Lab colour)
{
    const double y = size_of(lightness_term((Span){box->least.L, box->most.L}, colour.L)).lo;
    return y * y * (1.0 - SLACK) - SLACK;
}

/* Directions of a rectangle that does not hold the origin, in radians; an end may
 * lie beyond pi. It is seen under less than half a turn, so its extreme corners are
 * told by the sign of a cross product. */
static Span directions(Span x, Span y)
{
    const double corner[4][2] = {{x.lo, y.lo}, {x.hi, y.lo}, {x.hi, y.hi}, {x.lo, y.hi}};
    const double *right = corner[0], *left = corner[0];
    for (int i = 1; i < 4; i++) {
        const double *c = corner[i];
        if (c[0] * right[1] - c[1] * right[0] > 0.0) right = c;
        if (c[0] * left[1] - c[1] * left[0] < 0.0) left = c;
    }
    Span span = {atan2(right[1], right[0]), atan2(left[1], left[0])};
    if (span.hi < span.lo) span.hi += 2.0 * M_PI;
    return span;
}

/* Directions of (stretch a, b) for one colour. */
static Span direction(double a, double b, Span stretch)
{
    const double one = atan2(b, stretch.lo * a), two = atan2(b, stretch.hi * a);
    return (Span){least(one, two), most(one, two)};
}

/* T of (15) over hues, in radians: value and slope in the middle, and a bound on the
 * second derivative (0.17 + 4 * 0.24 + 9 * 0.32 + 16 * 0.20) for the rest. */
static Span hue_weight(Span h)
{
    const Span ever = {0.362, 1.5725};
    const double m = (h.lo + h.hi) / 2.0, r = (h.hi - h.lo) / 2.0;
    if (r > 0.7) return ever;
    const double d30 = 30.0 * degree, d6 = 6.0 * degree, d63 = 63.0 * degree;
    const double c = cos(m), s = sin(m);
    const double c2 = c * c - s * s, s2 = 2.0 * s * c, c3 = c2 * c - s2 * s, s3 = s2 * c + c2 * s;
    const double c4 = c2 * c2 - s2 * s2, s4 = 2.0 * s2 * c2;
    const double cos30 = cos(d30), sin30 = sin(d30), cos6 = cos(d6), sin6 = sin(d6);
    const double cos63 = cos(d63), sin63 = sin(d63);
    const double value = 1.0 - 0.17 * (c * cos30 + s * sin30) + 0.24 * c2 +
                         0.32 * (c3 * cos6 - s3 * sin6) - 0.20 * (c4 * cos63 + s4 * sin63);
    const double slope = 0.17 * (s * cos30 - c * sin30) - 0.48 * s2 -
                         0.96 * (s3 * cos6 + c3 * sin6) + 0.80 * (s4 * cos63 - c4 * sin63);
    const double reach = fabs(slope) * r + 0.5 * 7.21 * r * r;
    return common(ever, (Span){value - reach, value + reach});
}

/* sin(2 dtheta) of (16) and (21) over hues, in radians. */
static Span turn_over(Span h)
{
    const Span ever = {0.0, 0.8660254037844387};
    const double centre = 275.0 * degree;
    const double m = remainder((h.lo + h.hi) / 2.0 - centre, 2.0 * M_PI);
    const double r = (h.hi - h.lo) / 2.0;
    if (fabs(m) + r > 80.0 * degree) {
        /* May pass 360 degrees, where the formula's hue starts anew from 0. */
        if (fabs(m) - r <= 0.0) return ever;
        const double near = (fabs(m) - r) / (25.0 * degree);
        return (Span){0.0, sin(60.0 * degree * exp(-near * near))};
    }
    const double near = most(fabs(m) - r, 0.0) / (25.0 * degree);
    const double far = (fabs(m) + r) / (25.0 * degree);
    return (Span){sin(60.0 * degree * exp(-far * far)), sin(60.0 * degree * exp(-near * near))};
}

typedef struct Hues {
    Span half_sine; /* sin(dh'/2) */
    Span weight;    /* T */
    Span turn;      /* sin(2 dtheta) */
} Hues;

static Hues hues_of(Span a, Span b, Lab colour, Span stretch)
{
    Hues hues = {{-1.0, 1.0}, {0.362, 1.5725}, {0.0, 0.8660254037844387}};
    if (a.lo <= 0.0 && a.hi >= 0.0 && b.lo <= 0.0 && b.hi >= 0.0) return hues;
    const Span one = directions(a, b), two = direction(colour.a, colour.b, stretch);
    if (two.hi - two.lo > 3.0) return hues; /* along the branch of atan2 */
    Span step = minus(two, one);
    const double middle = (step.lo + step.hi) / 2.0;
    const double turns = 2.0 * M_PI * round(middle / (2.0 * M_PI));
    step = (Span){step.lo - turns, step.hi - turns};
    if (step.lo <= -M_PI + FORK_MARGIN || step.hi >= M_PI - FORK_MARGIN) return hues;
    hues.half_sine = (Span){sin(step.lo / 2.0), sin(step.hi / 2.0)};
    const Span mean = {(one.lo + two.lo - turns) / 2.0, (one.hi + two.hi - turns) / 2.0};
    hues.weight = hue_weight(mean);
    hues.turn = turn_over(mean);
    return hues;
}

static double form(double x, double z, double rho) { return x * x + z * z - rho * x * z; }

static double clamped(double value, Span span) { return least(most(value, span.lo), span.hi); }

/* The least of x^2 + z^2 - rho x z, which is convex: 0 inside, else on an edge. */
static double form_least(Span x, Span z, double rho)
{
    if (x.lo <= 0.0 && x.hi >= 0.0 && z.lo <= 0.0 && z.hi >= 0.0) return 0.0;
    const double edge[4] = {form(x.lo, clamped(rho * x.lo / 2.0, z), rho),
                            form(x.hi, clamped(rho * x.hi / 2.0, z), rho),
                            form(clamped(rho * z.lo / 2.0, x), z.lo, rho),
                            form(clamped(rho * z.hi / 2.0, x), z.hi, rho)};
    return least(least(edge[0], edge[1]), least(edge[2], edge[3]));
}

static double form_most(Span x, Span z, double rho)
{
    return most(most(form(x.lo, z.lo, rho), form(x.lo, z.hi, rho)),
                most(form(x.hi, z.lo, rho), form(x.hi, z.hi, rho)));
}

/* dC': each chroma on its own, or both along with the stretch that they share:
 * dC'/dstretch is stretch a^2 / C'. */
static Span chroma_step(Span a, Span b, Span one, Lab colour, Span stretch)
{
    const Span two = {hypot(stretch.lo * colour.a, colour.b),
                      hypot(stretch.hi * colour.a, colour.b)};
    const Span apart = minus(two, one);
    if (one.lo <= 0.0 || two.lo <= 0.0) return apart;
    const double middle = (stretch.lo + stretch.hi) / 2.0, half = (stretch.hi - stretch.lo) / 2.0;
    const Span a_size = size_of(a);
    const Span grow_one = {stretch.lo * a_size.lo * a_size.lo / one.hi,
                           stretch.hi * a_size.hi * a_size.hi / one.lo};
    const Span grow_two = {stretch.lo * colour.a * colour.a / two.hi,
                           stretch.hi * colour.a * colour.a / two.lo};
    const double reach = half * size_of(minus(grow_two, grow_one)).hi;
    const Span at = radius((Span){middle * a.lo, middle * a.hi}, b);
    const double there = hypot(middle * colour.a, colour.b);
    return common(apart, (Span){there - at.hi - reach, there - at.lo + reach});
}

Span delta_e_box(const LabBox *box, Lab colour)
{
    const Span L = {box->least.L, box->most.L};
    const Span a = {box->least.a, box->most.a}, b = {box->least.b, box->most.b};

    /* (2) to (6) */
    const Span chroma = radius(a, b);
    const double own = hypot(colour.a, colour.b);
    const Span stretch = {1.5 - 0.5 * saturation((chroma.hi + own) / 2.0),
                          1.5 - 0.5 * saturation((chroma.lo + own) / 2.0)};
    const Span wide = times(a, stretch);
    const Span one = radius(wide, b);
    const Span two = {hypot(stretch.lo * colour.a, colour.b),
                      hypot(stretch.hi * colour.a, colour.b)};
    const Span mean = {(one.lo + two.lo) / 2.0, (one.hi + two.hi) / 2.0};

    /* (8) to (11), (15), (16), (21) */
    const Span y = lightness_term(L, colour.L);
    const Span dc = chroma_step(a, b, one, colour, stretch);
    const Hues hues = hues_of(wide, b, colour, stretch);
    const Span root = {2.0 * sqrt(one.lo * two.lo), 2.0 * sqrt(one.hi * two.hi)};
    Span dh = times(hues.half_sine, root);
    const Span flat = radius(times((Span){colour.a - a.hi, colour.a - a.lo}, stretch),
                             (Span){colour.b - b.hi, colour.b - b.lo});
    const Span dc_size = size_of(dc);
    /* A root near 0 would blow rounding up, so it is widened under the root. */
    const double reach =
        sqrt(most(flat.hi * flat.hi * (1.0 + 1e-12) - dc_size.lo * dc_size.lo, 0.0) + 1e-9);
    dh = common(dh, (Span){-reach, reach});

    /* (19) to (22); dC'/SC is monotone in either chroma. */
    const Span sc = {1.0 + 0.045 * mean.lo, 1.0 + 0.045 * mean.hi};
    const Span sh =
        sum((Span){1.0, 1.0}, times((Span){0.015 * mean.lo, 0.015 * mean.hi}, hues.weight));
    const Span ends = {(two.lo - one.hi) / (1.0 + 0.0225 * (two.lo + one.hi)),
                       (two.hi - one.lo) / (1.0 + 0.0225 * (two.hi + one.lo))};
    const Span x = common(over(dc, sc), ends), z = over(dh, sh);
    const Span rho = {2.0 * hues.turn.lo * saturation(mean.lo),
                      2.0 * hues.turn.hi * saturation(mean.hi)};
    const double together = flat.lo / most(sc.hi, sh.hi);
    const double plane = most(least(form_least(x, z, rho.lo), form_least(x, z, rho.hi)),
                              (1.0 - rho.hi / 2.0) * together * together);
    const Span y_size = size_of(y);
    const Span square = {y_size.lo * y_size.lo + plane,
                         y_size.hi * y_size.hi +
                             most(form_most(x, z, rho.lo), form_most(x, z, rho.hi))};
    return (Span){square.lo * (1.0 - SLACK) - SLACK, square.hi * (1.0 + SLACK) + SLACK};
}
