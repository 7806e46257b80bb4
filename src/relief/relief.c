/* Depth becomes steps in five stages, each over the whole face: stretch to 0 to 1, compress,
 * smooth under guidance (guided.h), cut into levels, clean (islands.h).
 *
 * Two things keep edges where the picture has them: a filtered depth never leaves the range of
 * the depths that like-coloured neighbours had, and a cell whose depth is near the border of two
 * levels takes the level of neighbours of its colour (hysteresis, as Canny, IEEE TPAMI 8(6),
 * 1986, uses it for edges). Invariant: cells outside the mask stand at 0. */
#include "relief/relief.h"

#include "base/bands.h"
#include "base/memory.h"
#include "relief/guided.h"
#include "relief/islands.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Of the range: half of what eight bits can tell apart, and a little. */
#define WHOLE_WITHIN (0.51 / 255)
/* Cells on edges are means of two steps where a map has more pixels than cells, and a smooth map
 * of a few steps hits a whole one by chance in a cell of thirty. */
#define WHOLE_SHARE 0.6
/* How far a depth may be from the border between two levels, in levels, for its cell to take
 * either. A choice, no source. */
#define HYSTERESIS 0.1

/* All planes are columns x rows. */
typedef struct Shaping {
    const ReliefOptions *options;
    int columns, rows, threads;
    float *guide;      /* CIELAB / 100, three a cell */
    float *depth;      /* 0 to 1 */
    float *low, *high; /* least and greatest depth among like neighbours */
    float *spare[2];
    uint8_t *raised; /* 1 within the mask */
    uint8_t *steps;
    uint32_t *queue;
} Shaping;

static bool is_in_mask(const ReliefMap *map, size_t cell)
{
    return !map->mask || map->mask[cell] >= 0.5f;
}

static size_t cells_of(const Shaping *s) { return (size_t)s->columns * (size_t)s->rows; }

/* Asked once in many cells. */
static bool is_stopped_at(const Shaping *s, size_t cell)
{
    enum { OFTEN = 1 << 14 };
    return cell % OFTEN == 0 && voice_stopped(s->options->voice);
}

static Status go_on(const Shaping *s, Fault *fault)
{
    if (!voice_stopped(s->options->voice)) return STATUS_OK;
    return fault_set(fault, STATUS_INTERRUPTED, "relief: stopped; run the plan again");
}

/* ---- lightness and range ---- */

void relief_luminance(const Image *image, bool dark, float *out)
{
    for (int row = 0; row < image->rows; row++)
        for (int column = 0; column < image->columns; column++) {
            const double L = lab_from_xyz(image_at(image, column, row)).L / 100;
            *out++ = (float)(dark ? 1 - L : L);
        }
}

/* Stretches what the mask holds to 0 to 1; false where there is no range. */
static bool stretch(Shaping *s, const float *depth)
{
    float least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < cells_of(s); i++) {
        if (!s->raised[i]) continue;
        least = fminf(least, depth[i]);
        most = fmaxf(most, depth[i]);
    }
    if (!(most > least)) return false;
    const double range = (double)most - (double)least;
    for (size_t i = 0; i < cells_of(s); i++) {
        const double z = ((double)depth[i] - (double)least) / range;
        s->depth[i] = (float)fmin(1, fmax(0, z));
    }
    return true;
}

/* Distance behind the nearest cell goes through a logarithm (after Cignoni, Montani and
 * Scopigno, J. Graphics Tools 2(3):15-28, 1997): what is near keeps more of the range. */
static void compress(Shaping *s)
{
    const double a = s->options->curve;
    if (!(a > 0)) return;
    for (size_t i = 0; i < cells_of(s); i++)
        s->depth[i] = (float)(1 - log1p(a * (1 - (double)s->depth[i])) / log1p(a));
}

/* ---- neighbours that look alike ---- */

/* Within the mask, or outside it, and of about the same colour. */
static bool alike(const Shaping *s, size_t a, size_t b)
{
    if (s->raised[a] != s->raised[b]) return false;
    const float *p = s->guide + 3 * a, *q = s->guide + 3 * b;
    double sum = 0;
    for (int k = 0; k < 3; k++)
        sum += ((double)p[k] - (double)q[k]) * ((double)p[k] - (double)q[k]);
    return sum <= s->options->contrast * s->options->contrast;
}

/* Cells beside a cell, at most four; returns how many. */
static int beside(const Shaping *s, size_t cell, size_t out[4])
{
    const size_t width = (size_t)s->columns;
    const size_t column = cell % width, row = cell / width;
    int n = 0;
    if (column > 0) out[n++] = cell - 1;
    if (column + 1 < width) out[n++] = cell + 1;
    if (row > 0) out[n++] = cell - width;
    if (row + 1 < (size_t)s->rows) out[n++] = cell + width;
    return n;
}

/* One pass of spreading the extremes over some rows: spare from low and high. */
static void spread_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Shaping *s = context;
    const size_t width = (size_t)s->columns;
    for (size_t i = (size_t)begin * width; i < (size_t)end * width; i++) {
        size_t near[4];
        float low = s->low[i], high = s->high[i];
        for (int n = beside(s, i, near); n-- > 0;) {
            if (!alike(s, i, near[n])) continue;
            low = fminf(low, s->low[near[n]]);
            high = fmaxf(high, s->high[near[n]]);
        }
        s->spare[0][i] = low;
        s->spare[1][i] = high;
    }
}

static void swap_planes(float **a, float **b)
{
    float *keep = *a;
    *a = *b;
    *b = keep;
}

/* The least and greatest depth that can be reached from a cell in `smooth` moves from like
 * to like. A filtered depth outside that was drawn there by another colour. */
static void spread_extremes(Shaping *s)
{
    memcpy(s->low, s->depth, cells_of(s) * sizeof *s->low);
    memcpy(s->high, s->depth, cells_of(s) * sizeof *s->high);
    for (int i = 0; i < s->options->smooth; i++) {
        bands_run_until(s->options->voice, s->threads, s->rows, 32, spread_rows, s);
        swap_planes(&s->low, &s->spare[0]);
        swap_planes(&s->high, &s->spare[1]);
    }
}

/* ---- smoothing ---- */

/* Greatest (sign 1) or least (sign -1) of the square around each cell, by rows and then by
 * columns. */
static void square_extreme(Shaping *s, int radius, float sign)
{
    for (int turn = 0; turn < 2; turn++) {
        for (int row = 0; row < s->rows && !voice_stopped(s->options->voice); row++)
            for (int column = 0; column < s->columns; column++) {
                const int at = turn ? row : column, end = turn ? s->rows : s->columns;
                const size_t step = turn ? (size_t)s->columns : 1;
                const size_t cell = (size_t)row * (size_t)s->columns + (size_t)column;
                const int from = at > radius ? at - radius : 0;
                const int to = end - 1 - at > radius ? at + radius : end - 1;
                float most = -INFINITY;
                for (int i = from; i <= to; i++)
                    most = fmaxf(most, sign * s->depth[cell - (size_t)(at - from) * step +
                                                       (size_t)(i - from) * step]);
                s->spare[0][cell] = sign * most;
            }
        swap_planes(&s->depth, &s->spare[0]);
    }
}

/* A dark contour in the paint must not become a trench: closing by a square. */
static void close_trenches(Shaping *s)
{
    const int radius = s->options->trench;
    if (radius < 1) return;
    square_extreme(s, radius, 1);
    square_extreme(s, radius, -1);
}

static Status smooth_depth(Shaping *s, Fault *fault)
{
    if (s->options->smooth < 1) return STATUS_OK;
    spread_extremes(s);
    const GuidedOptions options = {.radius = s->options->smooth,
                                   .epsilon = s->options->contrast * s->options->contrast,
                                   .threads = s->threads,
                                   .voice = s->options->voice};
    const GuidedInput input = {s->columns, s->rows, s->guide, s->depth};
    const Status status = guided_filter(&options, &input, s->spare[0], fault);
    if (status) return status;
    for (size_t i = 0; i < cells_of(s); i++)
        s->depth[i] = fminf(s->high[i], fmaxf(s->low[i], s->spare[0][i]));
    return STATUS_OK;
}

/* Smoothing takes the tops off narrow peaks. Where nothing is left that would reach the
 * highest level, all of the depth is drawn up until its nearest cell is at the front. */
static void draw_up(Shaping *s, int levels)
{
    float most = 0;
    for (size_t i = 0; i < cells_of(s); i++)
        if (s->raised[i]) most = fmaxf(most, s->depth[i]);
    if (!(most > 0) || (double)most * levels >= levels - 1 + HYSTERESIS) return;
    for (size_t i = 0; i < cells_of(s); i++) s->depth[i] /= most;
}

/* ---- levels ---- */

enum { UNDECIDED = 255 };

/* The levels that a depth may take: both sides of a border that it is close to. */
static void choices(const Shaping *s, size_t cell, int levels, int *own, int *other)
{
    const double z = (double)s->depth[cell] * levels;
    const int at = z >= levels ? levels - 1 : z < 0 ? 0 : (int)z;
    *own = *other = at;
    if (z - at < HYSTERESIS && at > 0) *other = at - 1;
    if (at + 1 - z < HYSTERESIS && at + 1 < levels) *other = at + 1;
}

/* Hands the level of decided cells on to undecided ones that may take it and look alike,
 * until there are no more. `first` to `last` of the queue are decided. */
static void spread_levels(Shaping *s, int levels, size_t first, size_t last)
{
    while (first < last && !is_stopped_at(s, first)) {
        const size_t cell = s->queue[first++];
        size_t near[4];
        for (int n = beside(s, cell, near); n-- > 0;) {
            int own, other;
            if (s->steps[near[n]] != UNDECIDED || !alike(s, cell, near[n])) continue;
            choices(s, near[n], levels, &own, &other);
            if (s->steps[cell] != own && s->steps[cell] != other) continue;
            s->steps[near[n]] = s->steps[cell];
            s->queue[last++] = (uint32_t)near[n];
        }
    }
}

/* Cells that are clearly within a level take it; those near a border follow neighbours of
 * their colour, so that noise about a border does not fray it. */
static void cut_levels(Shaping *s, int levels)
{
    size_t decided = 0;
    for (size_t i = 0; i < cells_of(s) && !is_stopped_at(s, i); i++) {
        int own, other;
        choices(s, i, levels, &own, &other);
        s->steps[i] = own == other ? (uint8_t)own : UNDECIDED;
        if (own == other) s->queue[decided++] = (uint32_t)i;
    }
    spread_levels(s, levels, 0, decided);
    for (size_t i = 0; i < cells_of(s) && !is_stopped_at(s, i); i++) {
        int own, other;
        if (s->steps[i] != UNDECIDED) continue;
        choices(s, i, levels, &own, &other);
        s->steps[i] = (uint8_t)own;
        s->queue[0] = (uint32_t)i;
        spread_levels(s, levels, 0, 1);
    }
}

/* ---- cleaning ---- */

static uint8_t capped_steps(uint8_t steps, uint8_t beside, int jump)
{
    return steps > beside + jump ? (uint8_t)(beside + jump) : steps;
}

/* Lowers what stands more than `jump` above a neighbour, as little as can be: the distance
 * transform of two passes, exact for neighbours by side. */
static void cap_jumps(Shaping *s)
{
    const int jump = s->options->jump;
    const size_t width = (size_t)s->columns, cells = cells_of(s);
    if (jump < 1) return;
    for (size_t i = 0; i < cells; i++) {
        if (i % width) s->steps[i] = capped_steps(s->steps[i], s->steps[i - 1], jump);
        if (i >= width) s->steps[i] = capped_steps(s->steps[i], s->steps[i - width], jump);
    }
    for (size_t i = cells; i-- > 0;) {
        if ((i + 1) % width) s->steps[i] = capped_steps(s->steps[i], s->steps[i + 1], jump);
        if (i + width < cells) s->steps[i] = capped_steps(s->steps[i], s->steps[i + width], jump);
    }
}

/* Islands and pits first, lest a single low cell drag its surroundings down by the cap;
 * and again after it, which keeps to the cap. */
static Status clean(Shaping *s, Fault *fault)
{
    Status status = islands_close(s->steps, s->columns, s->rows, s->options->islands, fault);
    if (status || s->options->jump < 1) return status;
    cap_jumps(s);
    return islands_close(s->steps, s->columns, s->rows, s->options->islands, fault);
}

/* ---- depth ---- */

static Status shaping_init(Shaping *s, const Image *guide, const ReliefMap *map, Fault *fault)
{
    const size_t cells = cells_of(s);
    float **plane[] = {&s->depth, &s->low, &s->high, &s->spare[0], &s->spare[1]};
    s->guide = memory_create(cells, 3 * sizeof *s->guide);
    s->raised = memory_create(cells, 1);
    s->queue = memory_create(cells, sizeof *s->queue);
    bool whole = s->guide && s->raised && s->queue;
    for (size_t i = 0; i < sizeof plane / sizeof *plane; i++)
        if (!(*plane[i] = memory_create(cells, sizeof(float)))) whole = false;
    if (!whole) return memory_fault(fault, cells, sizeof(float));
    for (size_t i = 0; i < cells && !is_stopped_at(s, i); i++) {
        const float *xyz = guide->xyz + 3 * i;
        const Lab lab = lab_from_xyz((Xyz){(double)xyz[0], (double)xyz[1], (double)xyz[2]});
        s->guide[3 * i] = (float)(lab.L / 100);
        s->guide[3 * i + 1] = (float)(lab.a / 100);
        s->guide[3 * i + 2] = (float)(lab.b / 100);
        s->raised[i] = is_in_mask(map, i);
    }
    return STATUS_OK;
}

static void shaping_clear(Shaping *s)
{
    memory_free(s->guide);
    memory_free(s->depth);
    memory_free(s->low);
    memory_free(s->high);
    memory_free(s->spare[0]);
    memory_free(s->spare[1]);
    memory_free(s->raised);
    memory_free(s->queue);
}

/* The depth of the guide itself, where none is given. */
static const float *own_depth(Shaping *s, const Image *guide)
{
    relief_luminance(guide, false, s->spare[0]);
    return s->spare[0];
}

/* Depth from 0 to 1, smooth; *level_out: it has no range. */
static Status shape_depth(Shaping *s, const float *depth, bool *level_out, Fault *fault)
{
    *level_out = !stretch(s, depth);
    if (*level_out) return STATUS_OK;
    compress(s);
    close_trenches(s);
    return smooth_depth(s, fault);
}

Status relief_depth(const ReliefOptions *options, const Image *guide, const float *depth,
                    float *depth_out, Fault *fault)
{
    Shaping s = {.options = options,
                 .columns = guide->columns,
                 .rows = guide->rows,
                 .threads = options->threads};
    bool level = false;
    const ReliefMap map = {cells_of(&s), depth, NULL};
    Status status = shaping_init(&s, guide, &map, fault);
    if (!status) status = shape_depth(&s, depth ? depth : own_depth(&s, guide), &level, fault);
    for (size_t i = 0; !status && i < cells_of(&s); i++) depth_out[i] = level ? 0 : s.depth[i];
    shaping_clear(&s);
    return status;
}

/* ---- depth of whole steps ---- */

/* How a depth map of whole steps is read: steps = (depth - zero) / step. */
typedef struct StepScale {
    double zero, step;
} StepScale;

/* Whether most of what stands out does so by a whole number of steps, as near as eight bits can
 * tell. */
static bool is_whole_on(const ReliefOptions *o, const ReliefMap *map, const StepScale *scale)
{
    size_t whole = 0, out = 0;
    for (size_t i = 0; i < map->cells; i++) {
        if (!is_in_mask(map, i)) continue;
        const double at = ((double)map->depth[i] - scale->zero) / scale->step;
        if (at < 0.5) continue;
        if (at > o->steps + 0.5) return false;
        out++;
        whole += fabs(at - floor(at + 0.5)) <= WHOLE_WITHIN * o->steps;
    }
    return out && (double)whole >= WHOLE_SHARE * (double)out;
}

/* The scale on which the map's least and greatest depth are the lowest and the highest step; false
 * where there is none. */
static bool stretched_scale(const ReliefOptions *o, const ReliefMap *map, StepScale *scale)
{
    double least = INFINITY, most = -INFINITY;
    const int lowest = map->mask ? 1 : 0;
    for (size_t i = 0; i < map->cells; i++) {
        if (!is_in_mask(map, i)) continue;
        least = fmin(least, (double)map->depth[i]);
        most = fmax(most, (double)map->depth[i]);
    }
    if (!(most > least) || o->steps == lowest) return false;
    scale->step = (most - least) / (o->steps - lowest);
    scale->zero = least - lowest * scale->step;
    return true;
}

/* The map's own numbers come first: one whose top is five steps of six keeps it. */
static bool find_scale(const ReliefOptions *o, const ReliefMap *map, StepScale *scale)
{
    if (!o->whole || !map->depth) return false;
    *scale = (StepScale){0, 1.0 / o->steps};
    if (is_whole_on(o, map, scale)) return true;
    return stretched_scale(o, map, scale) && is_whole_on(o, map, scale);
}

bool relief_is_whole(const ReliefOptions *options, const ReliefMap *map)
{
    StepScale scale;
    return find_scale(options, map, &scale);
}

/* Such a map is a solid already: smoothing would fray its edges. */
static void take_whole_steps(Shaping *s, const ReliefMap *map, const StepScale *scale)
{
    const double least = map->mask ? 1 : 0;
    for (size_t i = 0; i < cells_of(s); i++) {
        const double at = floor(((double)map->depth[i] - scale->zero) / scale->step + 0.5);
        s->steps[i] = s->raised[i] ? (uint8_t)fmin(s->options->steps, fmax(least, at)) : 0;
    }
    cap_jumps(s);
}

/* ---- the whole ---- */

static Status shape_steps(Shaping *s, const ReliefMap *map, Fault *fault)
{
    const int above = map->mask ? 1 : 0; /* the lowest that the mask holds */
    const int levels = s->options->steps + 1 - above;
    StepScale scale;
    bool level;
    if (find_scale(s->options, map, &scale)) {
        take_whole_steps(s, map, &scale);
        return STATUS_OK;
    }
    Status status = shape_depth(s, map->depth, &level, fault);
    if (!status) status = go_on(s, fault);
    if (status) return status;
    if (!level) {
        draw_up(s, levels);
        cut_levels(s, levels);
    } else {
        memset(s->steps, map->mask ? levels - 1 : 0, cells_of(s));
    }
    for (size_t i = 0; i < cells_of(s); i++)
        s->steps[i] = s->raised[i] ? (uint8_t)(s->steps[i] + above) : 0;
    status = go_on(s, fault);
    if (!status) status = clean(s, fault);
    return status ? status : go_on(s, fault);
}

Status relief_steps(const ReliefOptions *options, const Image *guide, const float *depth,
                    const float *mask, uint8_t *steps_out, Fault *fault)
{
    assert(options->steps >= 1 && options->steps <= RELIEF_STEPS_MOST);
    Shaping s = {.options = options,
                 .columns = guide->columns,
                 .rows = guide->rows,
                 .threads = options->threads,
                 .steps = steps_out};
    ReliefMap map = {cells_of(&s), depth, mask};
    Status status = shaping_init(&s, guide, &map, fault);
    if (!status && !depth) map.depth = own_depth(&s, guide);
    if (!status) status = go_on(&s, fault);
    if (!status) status = shape_steps(&s, &map, fault);
    shaping_clear(&s);
    return status;
}
