/* What stands in a pixel's way is found on the grid of cells, not among triangles: a line over the
 * face crosses columns and rows at even distances, and the horizon toward a direction is the
 * steepest of the cells that it meets. The lamp is a disc, cut upright into stripes: each looks at
 * a horizon of its own, so shadows are soft along their length and at their sides. Two tables keep
 * the lines short: the greatest height within reach in a quarter of the face, and of all cells
 * toward the lamp; a line ends where nothing of that height could still matter.
 *
 * A strip of pixel rows is held at a time. A pixel depends on nothing but the scene, so threads
 * change no byte.
 *
 * Sources: the walk over a grid, J. Amanatides and A. Woo, "A fast voxel traversal algorithm for
 * ray tracing", Eurographics 1987; light of the room from the horizon, the cosine law (Lambert)
 * summed over directions, as in horizon maps, N. Max, "Horizon mapping", The Visual Computer 4
 * (1988). Both from memory. */
#include "output/relief_render.h"

#include "base/bands.h"
#include "base/memory.h"
#include "output/face_pictures.h"
#include "output/paint.h"

#include <math.h>
#include <string.h>

/* By eye. */
#define LAMP_RADIUS                                                                                \
    (7 * M_PI / 180) /* of the lamp's disc, as seen from the wall: a shade 50 cm                   \
                        wide, 2 m off */
/* Of a knob, in cells and mm. Common practice, no source. */
#define KNOB_RADIUS 0.3
#define KNOB_HEIGHT 1.8
#define BEVEL_JOINT 0.16 /* tangent of a bevel between bricks of one height */
#define BEVEL_STEP 0.34  /* and where the face drops beside it */
#define SKY_REACH 8      /* cells: how far off a higher cell still takes room light from a point */
enum { LAMP_STRIPES = 7, SKY_DIRECTIONS = 8, QUARTERS = 4, STRIP_ROWS = 32 };

/* Pixels: about so many across, within these of a cell, at most so many each way. Our choice. */
enum { PIXELS_ACROSS = 1600, CELL_LEAST = 4, CELL_MOST = 12, PIXELS_MOST = 12000 };

/* The lamp's disc is cut upright into stripes of one width. */
typedef struct Stripe {
    RenderWay way;
    double low, high; /* elevations of its ends */
    double share;     /* of the disc */
} Stripe;

typedef struct Scene {
    const Mural *mural;
    ReliefRenderOptions options;
    int cell_width, cell_height; /* pixels */
    float *height;               /* of each cell, mm */
    float *peak[QUARTERS];       /* the greatest height within SKY_REACH cells, by quarter */
    float *beyond[QUARTERS];     /* the greatest height of all cells of a quarter; NULL: no lamp */
    uint8_t *sides;              /* see face_sides */
    double lamp[3];              /* unit vector to its middle: right, up, out */
    Stripe stripe[LAMP_STRIPES];
    double knob; /* mm that knobs stand out, 0 for a wall */
    RenderWay to_sky[SKY_DIRECTIONS];
    Rgb colour[PALETTE_MOST];
    Srgb8 screen;
    uint8_t *strip; /* pixel rows from the top, STRIP_ROWS of them */
    int strip_top;
} Scene;

static int pixels_across(const Scene *s) { return s->mural->grid->columns * s->cell_width; }
static int pixels_down(const Scene *s) { return s->mural->grid->rows * s->cell_height; }

/* ---- what stands in the way ---- */

RenderWay relief_render_way(const Mural *m, double dx, double dy, double reach, double least)
{
    return (RenderWay){.dx = dx,
                       .dy = dy,
                       .across = fabs(dx) > 1e-9 ? m->cell_width_mm / fabs(dx) : INFINITY,
                       .down = fabs(dy) > 1e-9 ? m->cell_height_mm / fabs(dy) : INFINITY,
                       .reach = reach,
                       .least = least};
}

/* Distance from a place, in cells, to where a line enters the next of them. */
static double first_crossing(double place, int cell, double way, double apart)
{
    if (!(apart < INFINITY)) return INFINITY;
    return (way > 0 ? cell + 1 - place : place - cell) * apart;
}

double relief_render_horizon(const Mural *m, const float *height, double most,
                             const double point[3], const RenderWay *way)
{
    const int columns = m->grid->columns, rows = m->grid->rows;
    const double u = point[0] / m->cell_width_mm, v = point[1] / m->cell_height_mm;
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
        const double above = (double)height[(size_t)row * (size_t)columns + (size_t)column] - z;
        if (above <= worth * distance) continue;
        tangent = worth = above / distance;
    }
}

/* The quarter of the face that a way leads into: bit 0 is to the right, bit 1 up. A line that way
 * meets no cell outside the quarter. */
static int quarter_of(const RenderWay *way) { return (way->dx > 0) | (way->dy > 0) << 1; }

/* Tangent at which the knob of a cell stands above the point, whose cell is (column, row), seen
 * along the way; 0 where it is off it. */
static double knob_tangent(const Scene *s, int column, int row, const double point[3],
                           const RenderWay *way)
{
    const Mural *m = s->mural;
    if (column < 0 || row < 0 || column >= m->grid->columns || row >= m->grid->rows) return 0;
    const double above =
        (double)s->height[(size_t)row * (size_t)m->grid->columns + (size_t)column] + s->knob -
        point[2];
    if (above <= 0) return 0;
    const double radius = KNOB_RADIUS * m->cell_width_mm;
    const double x = (column + 0.5) * m->cell_width_mm - point[0];
    const double y = (row + 0.5) * m->cell_height_mm - point[1];
    const double along = x * way->dx + y * way->dy, aside = x * way->dy - y * way->dx;
    const double half = radius * radius - aside * aside;
    if (half <= 0 || along + sqrt(half) <= 0) return 0;
    const double near = along - sqrt(half);
    return near > 0 ? above / near : INFINITY;
}

/* The greatest of the knobs of the point's own cell and of its neighbours toward the lamp: none
 * farther off reaches above a lamp that is not lower than a knob is long. */
static double knobs_tangent(const Scene *s, int column, int row, const double point[3],
                            const RenderWay *way)
{
    const int right = way->dx > 0 ? 1 : -1, up = way->dy > 0 ? 1 : -1;
    double tangent = 0;
    for (int i = 0; i < 4; i++)
        tangent = fmax(tangent, knob_tangent(s, column + (i & 1 ? right : 0),
                                             row + (i & 2 ? up : 0), point, way));
    return tangent;
}

/* Share of the lamp's disc above the horizon, stripe by stripe. */
static double lamp_share(const Scene *s, int column, int row, const double point[3])
{
    const size_t cell = (size_t)row * (size_t)s->mural->grid->columns + (size_t)column;
    double share = 0;
    for (int i = 0; i < LAMP_STRIPES; i++) {
        const Stripe *stripe = &s->stripe[i];
        const double most = (double)s->beyond[quarter_of(&stripe->way)][cell];
        double tangent = relief_render_horizon(s->mural, s->height, most, point, &stripe->way);
        if (s->knob > 0)
            tangent = fmax(tangent, knobs_tangent(s, column, row, point, &stripe->way));
        const double clear = (stripe->high - atan(tangent)) / (stripe->high - stripe->low);
        share += stripe->share * fmin(1, fmax(0, clear));
    }
    return share;
}

/* Share of the room that a flat face sees, by the cosine law: the mean over directions of
 * the squared cosine of the horizon's elevation. */
static double sky_share(const Scene *s, size_t cell, const double point[3])
{
    double sum = 0;
    for (int i = 0; i < SKY_DIRECTIONS; i++) {
        const double peak = (double)s->peak[quarter_of(&s->to_sky[i])][cell];
        const double t = relief_render_horizon(s->mural, s->height, peak, point, &s->to_sky[i]);
        sum += 1 / (1 + t * t);
    }
    return sum / SKY_DIRECTIONS;
}

/* ---- a pixel ---- */

/* Slope of the bevel at a pixel of a cell, toward one side. */
static double bevel(const Scene *s, int column, int row, int beside_column, int beside_row)
{
    const int own = solid_top(&s->mural->solid, column, row);
    const int other = solid_top(&s->mural->solid, beside_column, beside_row);
    return other < own ? BEVEL_STEP : other == own ? BEVEL_JOINT : 0;
}

/* The face's slope to the right and up at pixel (i, j) of a cell, from its lower left. */
static void slope_at(const Scene *s, int column, int row, int i, int j, double slope_out[2])
{
    const int sides = s->sides[(size_t)row * (size_t)s->mural->grid->columns + (size_t)column];
    slope_out[0] = slope_out[1] = 0;
    if (i == 0 && (sides & FACE_LEFT)) slope_out[0] -= bevel(s, column, row, column - 1, row);
    if (i == s->cell_width - 1 && (sides & FACE_RIGHT))
        slope_out[0] += bevel(s, column, row, column + 1, row);
    if (j == 0 && (sides & FACE_BELOW)) slope_out[1] -= bevel(s, column, row, column, row - 1);
    if (j == s->cell_height - 1 && (sides & FACE_ABOVE))
        slope_out[1] += bevel(s, column, row, column, row + 1);
}

/* Light on the pixel; 1 is a flat face that nothing shades. */
static double light_at(const Scene *s, int column, int row, int i, int j)
{
    const Mural *m = s->mural;
    const size_t cell = (size_t)row * (size_t)m->grid->columns + (size_t)column;
    const double x = (i + 0.5) / s->cell_width, y = (j + 0.5) / s->cell_height;
    const bool on_knob = hypot(x - 0.5, y - 0.5) < KNOB_RADIUS;
    const double point[3] = {(column + x) * m->cell_width_mm, (row + y) * m->cell_height_mm,
                             (double)s->height[cell] + (on_knob ? s->knob : 0)};
    double slope[2];
    slope_at(s, column, row, i, j, slope);
    const double steep = sqrt(1 + slope[0] * slope[0] + slope[1] * slope[1]);
    const double facing =
        (slope[0] * s->lamp[0] + slope[1] * s->lamp[1] + s->lamp[2]) / steep / s->lamp[2];
    const double lit = facing > 0 ? facing * lamp_share(s, column, row, point) : 0;
    return s->options.ambient * sky_share(s, cell, point) / steep + (1 - s->options.ambient) * lit;
}

static void light_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Scene *s = context;
    const Grid *g = s->mural->grid;
    for (int k = begin; k < end; k++) {
        const int from_below = pixels_down(s) - 1 - (s->strip_top + k);
        const int row = from_below / s->cell_height, j = from_below % s->cell_height;
        uint8_t *out = s->strip + (size_t)k * (size_t)pixels_across(s) * 3;
        for (int column = 0; column < g->columns; column++) {
            const Rgb c = s->colour[grid_colour(g, column, row)];
            for (int i = 0; i < s->cell_width; i++, out += 3) {
                const double f = light_at(s, column, row, i, j);
                srgb8_look_up(&s->screen, (Rgb){f * c.r, f * c.g, f * c.b}, out);
            }
        }
    }
}

/* ---- the picture ---- */

/* For each cell the greatest height within SKY_REACH cells on, in one quarter of the face: first
 * along rows, then along columns. */
static void find_peaks(const Grid *g, const float *height, int quarter, float *half, float *peak)
{
    for (int turn = 0; turn < 2; turn++) {
        const float *from = turn ? half : height;
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
static void find_beyond(const Grid *g, const float *height, int quarter, float *beyond)
{
    const int right = quarter & 1 ? 1 : -1, up = quarter & 2 ? 1 : -1;
    for (int i = 0; i < g->rows; i++)
        for (int j = 0; j < g->columns; j++) {
            const int row = up > 0 ? g->rows - 1 - i : i;
            const int column = right > 0 ? g->columns - 1 - j : j;
            const long cell = (long)row * g->columns + column;
            float most = height[cell];
            if (j > 0) most = fmaxf(most, beyond[cell + right]);
            if (i > 0) most = fmaxf(most, beyond[cell + (long)up * g->columns]);
            beyond[cell] = most;
        }
}

static void relief_scale(const Mural *m, int *width_out, int *height_out)
{
    const int most = m->grid->columns > m->grid->rows ? m->grid->columns : m->grid->rows;
    int width = PIXELS_ACROSS / most;
    width = width < CELL_LEAST ? CELL_LEAST : width > CELL_MOST ? CELL_MOST : width;
    while (width > 1 && (long)width * most > PIXELS_MOST) width--;
    const int height = (int)lround(width * m->cell_height_mm / m->cell_width_mm);
    *width_out = width;
    *height_out = height < 1 ? 1 : height;
}

/* A lamp that stands lower than it is wide is as narrow as it is low, so that none of it is behind
 * the wall. */
static void place_lamp(Scene *s, double angle, double elevation)
{
    const double radius = fmin(LAMP_RADIUS, elevation);
    double sum = 0;
    for (int i = 0; i < LAMP_STRIPES; i++) {
        Stripe *stripe = &s->stripe[i];
        const double aside = (2.0 * i + 1) / LAMP_STRIPES - 1, half = sqrt(1 - aside * aside);
        /* Stripes are parted by the angle at the wall, wider where the lamp is high. */
        const double turn = angle + atan2(aside * sin(radius), cos(elevation));
        stripe->low = elevation - half * radius;
        stripe->high = fmin(M_PI / 2, elevation + half * radius);
        stripe->share = half;
        stripe->way =
            relief_render_way(s->mural, sin(turn), cos(turn), INFINITY, tan(fmax(0, stripe->low)));
        sum += half;
    }
    for (int i = 0; i < LAMP_STRIPES; i++) s->stripe[i].share /= sum;
    s->lamp[0] = sin(angle) * cos(elevation);
    s->lamp[1] = cos(angle) * cos(elevation);
    s->lamp[2] = sin(elevation);
}

/* Which quarters of the face the lamp is in: bit by bit, as quarter_of counts them. */
static int lamp_quarters(const Scene *s)
{
    int quarters = 0;
    for (int i = 0; i < LAMP_STRIPES; i++) quarters |= 1 << quarter_of(&s->stripe[i].way);
    return quarters;
}

static Status scene_init(Scene *s, const Mural *m, const ReliefRenderOptions *options, Fault *fault)
{
    const size_t cells = (size_t)m->grid->columns * (size_t)m->grid->rows;
    const double angle = options->angle * M_PI / 180, height = options->height * M_PI / 180;
    s->mural = m;
    s->options = *options;
    s->knob = m->solid.build == BUILD_PLAQUE ? KNOB_HEIGHT : 0;
    place_lamp(s, angle, height);
    for (int i = 0; i < SKY_DIRECTIONS; i++) {
        const double way = (i + 0.5) * 2 * M_PI / SKY_DIRECTIONS;
        s->to_sky[i] = relief_render_way(m, cos(way), sin(way),
                                         SKY_REACH * fmin(m->cell_width_mm, m->cell_height_mm), 0);
    }
    relief_scale(m, &s->cell_width, &s->cell_height);
    s->height = memory_create(cells, sizeof *s->height);
    const int lit = lamp_quarters(s);
    bool peaks = true;
    for (int q = 0; q < QUARTERS && peaks; q++) {
        peaks = (s->peak[q] = memory_create(cells, sizeof **s->peak)) != NULL;
        if (peaks && lit >> q & 1)
            peaks = (s->beyond[q] = memory_create(cells, sizeof **s->beyond)) != NULL;
    }
    s->sides = face_sides(m);
    s->strip = memory_create((size_t)pixels_across(s) * STRIP_ROWS, 3);
    float *half = memory_create(cells, sizeof *half);
    if (!s->height || !peaks || !s->sides || !s->strip || !half) {
        memory_free(half);
        return memory_fault(fault, cells, sizeof *s->height);
    }
    srgb8_init(&s->screen);
    for (int i = 0; i < m->palette->count; i++)
        s->colour[i] = linear_from_xyz(m->palette->colour[i].xyz);
    for (size_t i = 0; i < cells; i++) {
        const int top = m->solid.base + (m->grid->steps ? m->grid->steps[i] : 0);
        s->height[i] = (float)(top * m->step_mm);
    }
    for (int q = 0; q < QUARTERS; q++) {
        find_peaks(m->grid, s->height, q, half, s->peak[q]);
        if (s->beyond[q]) find_beyond(m->grid, s->height, q, s->beyond[q]);
    }
    memory_free(half);
    return STATUS_OK;
}

static void scene_clear(Scene *s)
{
    memory_free(s->height);
    for (int q = 0; q < QUARTERS; q++) {
        memory_free(s->peak[q]);
        memory_free(s->beyond[q]);
    }
    memory_free(s->sides);
    memory_free(s->strip);
}

static Status write_strips(Scene *s, Paint *paint, const Voice *voice, Fault *fault)
{
    const int down = pixels_down(s);
    for (s->strip_top = 0; s->strip_top < down; s->strip_top += STRIP_ROWS) {
        const int rows = down - s->strip_top < STRIP_ROWS ? down - s->strip_top : STRIP_ROWS;
        bands_run(s->mural->threads, rows, 1, light_rows, s);
        for (int k = 0; k < rows; k++) {
            const Status status =
                paint_row(paint, s->strip + (size_t)k * (size_t)pixels_across(s) * 3, fault);
            if (status) return status;
        }
        if (voice_stopped(voice))
            return fault_set(fault, STATUS_INTERRUPTED, "plan: interrupted; run it again");
        voice_progress(voice, "relief", (double)(s->strip_top + rows) / down);
    }
    return STATUS_OK;
}

Status relief_render_write(const Mural *mural, const ReliefRenderOptions *options, const char *path,
                           const Voice *voice, Fault *fault)
{
    Scene *s = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    Paint *paint = NULL;
    Status status = scene_init(s, mural, options, fault);
    if (!status)
        status = paint_create(&paint, path,
                              &(PaintOptions){.width = pixels_across(s),
                                              .height = pixels_down(s),
                                              .kind = PAINT_RGB,
                                              .threads = mural->threads},
                              fault);
    if (!status) status = write_strips(s, paint, voice, fault);
    if (!status) {
        status = paint_finish(paint, fault);
        paint = NULL;
    }
    paint_free(paint);
    scene_clear(s);
    memory_free(s);
    return status;
}
