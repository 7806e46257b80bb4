/* What stands in a point's way is found on the grid of cells, not among triangles: a line over the
 * face crosses columns and rows at even distances, and the horizon toward a direction is the
 * steepest of the cells that it meets. The lamp is a disc, cut upright into stripes: each looks at
 * a horizon of its own, so shadows are soft along their length and at their sides. Two tables keep
 * the lines short: the greatest height within reach in a quarter of the face, and of all cells
 * toward the lamp; a line ends where nothing of that height could still matter.
 *
 * Sources: the walk over a grid, J. Amanatides and A. Woo, "A fast voxel traversal algorithm for
 * ray tracing", Eurographics 1987; light of the room from the horizon, the cosine law (Lambert)
 * summed over directions, as in horizon maps, N. Max, "Horizon mapping", The Visual Computer 4
 * (1988). Both from memory. */
#include "figures/raking_light.h"

#include "base/memory.h"

#include <math.h>
#include <stdbool.h>

/* By eye. */
#define LAMP_RADIUS                                                                                \
    (7 * M_PI / 180) /* of the lamp's disc, as seen from the wall: a shade 50 cm                   \
                        wide, 2 m off */
#define SKY_REACH 8  /* cells: how far off a higher cell still takes room light from a point */

RakingWay raking_way(const LitFace *face, double dx, double dy, double reach, double least)
{
    return (RakingWay){.dx = dx,
                       .dy = dy,
                       .across = fabs(dx) > 1e-9 ? face->cell_width / fabs(dx) : INFINITY,
                       .down = fabs(dy) > 1e-9 ? face->cell_height / fabs(dy) : INFINITY,
                       .reach = reach,
                       .least = least};
}

/* Distance from a place, in cells, to where a line enters the next of them. */
static double first_crossing(double place, int cell, double way, double apart)
{
    if (!(apart < INFINITY)) return INFINITY;
    return (way > 0 ? cell + 1 - place : place - cell) * apart;
}

double raking_horizon(const LitFace *face, double most, const double point[3], const RakingWay *way)
{
    if (most <= point[2]) return 0; /* nothing on the way: so at most points */
    const int columns = face->columns, rows = face->rows;
    const double u = point[0] / face->cell_width, v = point[1] / face->cell_height;
    int column = (int)u, row = (int)v;
    const int right = way->dx > 0 ? 1 : -1, up = way->dy > 0 ? 1 : -1;
    double next_column = first_crossing(u, column, way->dx, way->across);
    double next_row = first_crossing(v, row, way->dy, way->down);
    const double z = point[2], rise = most - z;
    double tangent = 0, worth = way->least;
    for (;;) {
        const bool sideways = next_column < next_row;
        double distance = sideways ? next_column : next_row;
        if (distance < 1e-6) distance = 1e-6;
        if (distance > way->reach || rise <= worth * distance) return tangent;
        if (sideways) {
            column += right;
            next_column += way->across;
        } else {
            row += up;
            next_row += way->down;
        }
        if (column < 0 || row < 0 || column >= columns || row >= rows) return tangent;
        const double above =
            (double)face->height[(size_t)row * (size_t)columns + (size_t)column] - z;
        if (above <= worth * distance) continue;
        tangent = worth = above / distance;
    }
}

/* The quarter of the face that a way leads into: bit 0 is to the right, bit 1 up. A line that way
 * meets no cell outside the quarter. */
static int quarter_of(const RakingWay *way) { return (way->dx > 0) | (way->dy > 0) << 1; }

/* Tangent at which the knob of a cell stands above the point, whose cell is (column, row), seen
 * along the way; 0 where it is off it. */
static double knob_tangent(const LitFace *f, int column, int row, const double point[3],
                           const RakingWay *way)
{
    if (column < 0 || row < 0 || column >= f->columns || row >= f->rows) return 0;
    const double above =
        (double)f->height[(size_t)row * (size_t)f->columns + (size_t)column] + f->knob - point[2];
    if (above <= 0) return 0;
    const double radius = KNOB_RADIUS * f->cell_width;
    const double x = (column + 0.5) * f->cell_width - point[0];
    const double y = (row + 0.5) * f->cell_height - point[1];
    const double along = x * way->dx + y * way->dy, aside = x * way->dy - y * way->dx;
    const double half = radius * radius - aside * aside;
    if (half <= 0 || along + sqrt(half) <= 0) return 0;
    const double near = along - sqrt(half);
    return near > 0 ? above / near : INFINITY;
}

/* The greatest of the knobs of the point's own cell and of its neighbours toward the lamp: none
 * farther off reaches above a lamp that is not lower than a knob is long. */
static double knobs_tangent(const LitFace *f, int column, int row, const double point[3],
                            const RakingWay *way)
{
    const int right = way->dx > 0 ? 1 : -1, up = way->dy > 0 ? 1 : -1;
    double tangent = 0;
    for (int i = 0; i < 4; i++) {
        const double knob =
            knob_tangent(f, column + (i & 1 ? right : 0), row + (i & 2 ? up : 0), point, way);
        if (knob > tangent) tangent = knob;
    }
    return tangent;
}

/* Share of a stripe above a horizon. Most horizons cross no stripe; what is well below one or above
 * it needs no angle. */
static double stripe_clear(const RakingStripe *stripe, double tangent)
{
    static const double well = 1e-9; /* more than tangents and angles are rounded by */
    if (tangent <= stripe->way.least * (1 - well)) return 1;
    if (tangent >= stripe->most * (1 + well)) return 0;
    const double clear = (stripe->high - atan(tangent)) / (stripe->high - stripe->low);
    return clear < 0 ? 0 : clear > 1 ? 1 : clear;
}

/* Share of the lamp's disc above the horizon, stripe by stripe. */
static double lamp_share(const RakingLight *s, int column, int row, const double point[3])
{
    const size_t cell = (size_t)row * (size_t)s->face.columns + (size_t)column;
    double share = 0;
    for (int i = 0; i < RAKING_STRIPES; i++) {
        const RakingStripe *stripe = &s->stripe[i];
        const double most = (double)s->beyond[quarter_of(&stripe->way)][cell];
        double tangent = raking_horizon(&s->face, most, point, &stripe->way);
        if (s->face.knob > 0) {
            const double knobs = knobs_tangent(&s->face, column, row, point, &stripe->way);
            if (knobs > tangent) tangent = knobs;
        }
        share += stripe->share * stripe_clear(stripe, tangent);
    }
    return share;
}

/* Share of the room that a flat face sees, by the cosine law: the mean over directions of
 * the squared cosine of the horizon's elevation. */
static double sky_share(const RakingLight *s, size_t cell, const double point[3])
{
    double sum = 0;
    for (int i = 0; i < RAKING_SKIES; i++) {
        const double peak = (double)s->peak[quarter_of(&s->to_sky[i])][cell];
        const double t = raking_horizon(&s->face, peak, point, &s->to_sky[i]);
        sum += t > 0 ? 1 / (1 + t * t) : 1;
    }
    return sum / RAKING_SKIES;
}

/* ---- tables ---- */

/* For each cell the greatest height within SKY_REACH cells on, in one quarter of the face: first
 * along rows, then along columns. */
static void find_peaks(const LitFace *g, int quarter, float *half, float *peak)
{
    for (int turn = 0; turn < 2; turn++) {
        const float *from = turn ? half : g->height;
        float *to = turn ? peak : half;
        const int end = turn ? g->rows : g->columns, way = quarter >> turn & 1 ? 1 : -1;
        const long step = way * (turn ? (long)g->columns : 1);
        for (int row = 0; row < g->rows; row++)
            for (int column = 0; column < g->columns; column++) {
                const int at = turn ? row : column;
                const long cell = (long)row * g->columns + column;
                float most = from[cell];
                for (int k = 1; k <= SKY_REACH + 1; k++)
                    if (at + k * way >= 0 && at + k * way < end)
                        most = fmaxf(most, from[cell + k * step]);
                to[cell] = most;
            }
    }
}

/* For each cell the greatest height of all cells in one quarter of the face, seen from it. */
static void find_beyond(const LitFace *g, int quarter, float *beyond)
{
    const int right = quarter & 1 ? 1 : -1, up = quarter & 2 ? 1 : -1;
    for (int i = 0; i < g->rows; i++)
        for (int j = 0; j < g->columns; j++) {
            const int row = up > 0 ? g->rows - 1 - i : i;
            const int column = right > 0 ? g->columns - 1 - j : j;
            const long cell = (long)row * g->columns + column;
            float most = g->height[cell];
            if (j > 0) most = fmaxf(most, beyond[cell + right]);
            if (i > 0) most = fmaxf(most, beyond[cell + (long)up * g->columns]);
            beyond[cell] = most;
        }
}

/* A lamp that stands lower than it is wide is as narrow as it is low, so that none of it is behind
 * the wall. */
static void place_lamp(RakingLight *s, double angle, double elevation)
{
    const double radius = fmin(LAMP_RADIUS, elevation);
    double sum = 0;
    for (int i = 0; i < RAKING_STRIPES; i++) {
        RakingStripe *stripe = &s->stripe[i];
        const double aside = (2.0 * i + 1) / RAKING_STRIPES - 1, half = sqrt(1 - aside * aside);
        /* Stripes are parted by the angle at the wall, wider where the lamp is high. */
        const double turn = angle + atan2(aside * sin(radius), cos(elevation));
        stripe->low = elevation - half * radius;
        stripe->high = fmin(M_PI / 2, elevation + half * radius);
        stripe->share = half;
        stripe->way =
            raking_way(&s->face, sin(turn), cos(turn), INFINITY, tan(fmax(0, stripe->low)));
        stripe->most = tan(stripe->high);
        sum += half;
    }
    for (int i = 0; i < RAKING_STRIPES; i++) s->stripe[i].share /= sum;
    s->lamp[0] = sin(angle) * cos(elevation);
    s->lamp[1] = cos(angle) * cos(elevation);
    s->lamp[2] = sin(elevation);
}

/* Which quarters of the face the lamp is in: bit by bit, as quarter_of counts them. */
static int lamp_quarters(const RakingLight *s)
{
    int quarters = 0;
    for (int i = 0; i < RAKING_STRIPES; i++) quarters |= 1 << quarter_of(&s->stripe[i].way);
    return quarters;
}

Status raking_light_init(RakingLight *s, const LitFace *face, const RakingLightOptions *options,
                         Fault *fault)
{
    const size_t cells = (size_t)face->columns * (size_t)face->rows;
    const double reach = SKY_REACH * fmin(face->cell_width, face->cell_height);
    *s = (RakingLight){.face = *face, .ambient = options->ambient};
    place_lamp(s, options->angle * M_PI / 180, options->height * M_PI / 180);
    for (int i = 0; i < RAKING_SKIES; i++) {
        const double way = (i + 0.5) * 2 * M_PI / RAKING_SKIES;
        s->to_sky[i] = raking_way(face, cos(way), sin(way), reach, 0);
    }
    const int lit = lamp_quarters(s);
    float *half = memory_create(cells, sizeof *half);
    bool whole = half;
    for (int q = 0; q < RAKING_QUARTERS && whole; q++) {
        whole = (s->peak[q] = memory_create(cells, sizeof **s->peak)) != NULL;
        if (whole && lit >> q & 1)
            whole = (s->beyond[q] = memory_create(cells, sizeof **s->beyond)) != NULL;
    }
    for (int q = 0; q < RAKING_QUARTERS && whole; q++) {
        find_peaks(face, q, half, s->peak[q]);
        if (s->beyond[q]) find_beyond(face, q, s->beyond[q]);
    }
    memory_free(half);
    return whole ? STATUS_OK : memory_fault(fault, cells, sizeof *half);
}

void raking_light_clear(RakingLight *s)
{
    for (int q = 0; q < RAKING_QUARTERS; q++) {
        memory_free(s->peak[q]);
        memory_free(s->beyond[q]);
    }
    *s = (RakingLight){0};
}

double raking_light_at(const RakingLight *s, int column, int row, const double point[3],
                       const double slope[2])
{
    const size_t cell = (size_t)row * (size_t)s->face.columns + (size_t)column;
    const double steep = sqrt(1 + slope[0] * slope[0] + slope[1] * slope[1]);
    const double facing =
        (slope[0] * s->lamp[0] + slope[1] * s->lamp[1] + s->lamp[2]) / steep / s->lamp[2];
    const double lit = facing > 0 ? facing * lamp_share(s, column, row, point) : 0;
    return s->ambient * sky_share(s, cell, point) / steep + (1 - s->ambient) * lit;
}
