#include "lay_wall.h"

#include "bands.h"
#include "bound.h"
#include "corbel.h"
#include "course.h"
#include "graph.h"
#include "memory.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* A panel is laid from its lowest course upward, then swept down and up again: each
 * course is laid anew against its neighbours as they now stand, where one of them has
 * changed. Panels do not touch each other's work, so they are laid in parallel. */

static const BondPrices ONE_THICK = {.straight = 1100,
                                     .forced = 0,
                                     .third = 300,
                                     .lap = 1050,
                                     .nested = 30,
                                     .hanging = 2200,
                                     .collar = 0,
                                     .sliver = 12};

static const BondPrices THICKER = {.straight = 1100,
                                   .forced = 100,
                                   .third = 2500,
                                   .lap = 60,
                                   .nested = 40,
                                   .hanging = 3000,
                                   .collar = 6,
                                   .sliver = 12};

enum { MOST_TIERS = 255, MOST_BANDS = MOST_TIERS + 1, ATTEMPTS = 4, LOOSE_GAIN = 3 };

typedef struct Wall { /* what all panels share */
    const Solid *solid;
    const Sizes *sizes;
    const Panels *panels;
    const LayOptions *options;
    const Voice *voice;
    Cuts cuts, plain; /* plain: every brick at one price, for the bound */
} Wall;

typedef struct Work { /* one panel */
    const Wall *wall;
    const Panel *panel;
    int index, depth;
    Course *course;  /* rows */
    uint8_t *parted; /* rows x (columns + 1): 1 where a joint goes right through */
    uint8_t *dirty;  /* rows */
    bool relief;     /* some cell stands out */
    Corbel corbel;   /* its hue is the course's that is being laid */
    Course *carrier; /* rows: bricks that stay as they are, for they carry what overhangs or
                        join what was loose */
    uint8_t *seen;   /* rows: 1 once the carriers are found */
    uint8_t *deep;   /* rows: 1 where deep carriers are asked for */
    View view[2];
    uint8_t *run[2];
    uint32_t *old;                         /* to tell whether a course has changed */
    uint8_t *bear, *carry, *cross, *whole; /* as in Bed: rows x (columns + 1) */
    Course *kept;                          /* rows: the best laying so far */
    Graph graph;
    CourseRoom room;
    double bound;
    bool first;
} Work;

static size_t unit_at(const Work *w, int column, int tier)
{
    return (size_t)tier * (size_t)w->panel->columns + (size_t)column;
}

/* What each unit of a course must show, without those of bricks that stay as they are. */
static Status see_hues(Work *w, int row, Fault *fault)
{
    Course *carriers = &w->carrier[row];
    if (w->relief && !w->seen[row]) {
        int failed = 0;
        const Cuts *cuts = &w->wall->cuts;
        Status status = STATUS_OK;
        w->seen[row] = 1;
        if (w->deep[row])
            status = corbel_course(&w->corbel, cuts, row, true, carriers, &failed, NULL, fault);
        if (!status && (failed > 0 || !w->deep[row]))
            status = corbel_course(&w->corbel, cuts, row, false, carriers, &failed, NULL, fault);
        return status;
    }
    corbel_see(&w->corbel, row);
    for (size_t i = 0; i < carriers->count; i++) {
        const Piece *p = &carriers->piece[i];
        for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
            for (int x = p->column; x < p->column + p->columns; x++)
                w->corbel.hue[unit_at(w, x, tier)] = HUE_NONE;
    }
    return STATUS_OK;
}

static void see_course(const Work *w, const Course *course, View *view)
{
    view->course = course;
    for (size_t i = 0, n = unit_at(w, 0, w->depth); i < n; i++) view->unit[i] = -1;
    for (size_t i = 0; i < course->count; i++) {
        const Piece *p = &course->piece[i];
        for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
            for (int x = p->column; x < p->column + p->columns; x++)
                view->unit[unit_at(w, x, tier)] = (int32_t)i;
    }
}

/* A course's place in an array of rows x (columns + 1). */
static uint8_t *line_at(const Work *w, uint8_t *array, int row)
{
    return array + (size_t)row * ((size_t)w->panel->columns + 1);
}

static void see_joints(const Work *w, int row)
{
    uint8_t *parted = line_at(w, w->parted, row);
    memset(parted, 1, (size_t)w->panel->columns + 1);
    const Course *course = &w->course[row];
    for (size_t i = 0; i < course->count; i++)
        for (int x = 1; x < course->piece[i].columns; x++) parted[course->piece[i].column + x] = 0;
}

/* How many courses in a row, to two, have a joint right through at each line, from the
 * neighbour on. */
static void see_runs(const Work *w, int row, int step, uint8_t *run)
{
    const int near = row + step, far = near + step, rows = w->panel->rows;
    const bool there = near >= 0 && near < rows && w->course[near].count;
    const bool beyond = there && far >= 0 && far < rows && w->course[far].count;
    for (int x = 0; x <= w->panel->columns; x++)
        run[x] = !there || !line_at(w, w->parted, near)[x] ? 0
                 : beyond && line_at(w, w->parted, far)[x] ? 2
                                                           : 1;
}

static Status stuck(const Work *w, int row, int column, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "column %d, row %d: no brick of the set fits this cell's colour; add smaller "
                     "bricks to the set or change the cell",
                     w->panel->column + column + 1, w->panel->row + row + 1);
}

/* Pairs of tiers, from the back or from the second on, or single tiers. */
static int cut_plainly(const Work *w, int attempt, Band *band)
{
    int n = 0;
    for (int tier = 0; tier < w->depth;) {
        int to = tier + (attempt == 3 || (attempt == 2 && tier == 0) ? 1 : 2);
        if (to > w->depth) to = w->depth;
        band[n++] = (Band){(uint8_t)tier, (uint8_t)to, tier == 0, false};
        tier = to;
    }
    return n;
}

/* The bands of a course. The wall itself is cut where two leaves can fill each band; in a
 * deeper wall the odd remainder changes sides from course to course, so that each cut is
 * bridged in the next. What stands out of the wall is cut in pairs of tiers; in every other
 * course the first pair takes the wall's outermost tier along, and ties it in. */
static int cut_bands(const Work *w, int row, int attempt, Band *band)
{
    if (attempt > 0) return cut_plainly(w, attempt, band);
    const int most = LEAVES_MOST_SPLITS + 1, base = w->wall->solid->base;
    const bool tie = row % 2 && w->depth > base;
    int n = 0, tier = 0;
    if (tie) {
        band[n++] = (Band){(uint8_t)(base - 1), (uint8_t)(base + 1), false, true};
        for (tier = base + 1; tier < w->depth; tier += 2)
            band[n++] = (Band){(uint8_t)tier, (uint8_t)(tier + 2), false, false};
    }
    const int odd = base > most && row % 2 ? base % most : 0;
    for (tier = 0; tier < base;) {
        int to = tier == 0 && odd ? odd : tier + most;
        if (to > base) to = base;
        band[n++] = (Band){(uint8_t)tier, (uint8_t)to, tier == 0, false};
        tier = to;
    }
    for (; tier < w->depth && !tie; tier += 2)
        band[n++] = (Band){(uint8_t)tier, (uint8_t)(tier + 2), false, false};
    for (int i = 0; i < n; i++)
        if (band[i].to > w->depth) band[i].to = (uint8_t)w->depth;
    return n;
}

static bool remember(Work *w, const Course *course)
{
    const size_t n = course->count * sizeof *course->piece;
    const bool same = w->old[0] == course->count && !memcmp(w->old + 1, course->piece, n);
    w->old[0] = (uint32_t)course->count;
    if (n) memcpy(w->old + 1, course->piece, n);
    return same;
}

/* What a course is laid against, all but its bands. */
static Bed see_bed(Work *w, int row, const BondPrices *prices)
{
    const int rows = w->panel->rows;
    const bool below = row > 0 && w->course[row - 1].count;
    const bool above = row + 1 < rows && w->course[row + 1].count;
    if (below) see_course(w, &w->course[row - 1], &w->view[0]);
    if (above) see_course(w, &w->course[row + 1], &w->view[1]);
    see_runs(w, row, -1, w->run[0]);
    see_runs(w, row, 1, w->run[1]);
    return (Bed){.columns = w->panel->columns,
                 .depth = w->depth,
                 .hue = w->corbel.hue,
                 .below = below ? &w->view[0] : NULL,
                 .above = above ? &w->view[1] : NULL,
                 .under = w->run[0],
                 .over = w->run[1],
                 .lowest = row == 0,
                 .highest = row == rows - 1,
                 .second = row == 1,
                 .last_but_one = row == rows - 2,
                 .bear = line_at(w, w->bear, row),
                 .bear_over = row + 1 < rows ? line_at(w, w->bear, row + 1) : NULL,
                 .carry = line_at(w, w->carry, row),
                 .carry_under = row > 0 ? line_at(w, w->carry, row - 1) : NULL,
                 .cross = line_at(w, w->cross, row),
                 .whole = line_at(w, w->whole, row),
                 .prices = prices};
}

/* In the first sweep nothing is known of the courses above: joints that colours force are
 * crossed in every third course, the second and the last but one of 48 among them. */
static BondPrices prices_of(const Work *w, int row)
{
    BondPrices prices = w->depth == 1 ? ONE_THICK : THICKER;
    if (w->first && w->depth > 1) prices.forced = row % 3 == 1 ? 400 : 0;
    return prices;
}

/* Lays one course against its neighbours; marks those that may now be laid better. */
static Status lay_row(Work *w, int row, Fault *fault)
{
    const BondPrices prices = prices_of(w, row);
    Course *course = &w->course[row];
    Bed bed = see_bed(w, row, &prices);
    Band band[MOST_BANDS];
    bed.band = band;
    remember(w, course);
    int at = 0;
    for (int attempt = 0; attempt < ATTEMPTS && at >= 0; attempt++) {
        bed.bands = cut_bands(w, row, attempt, band);
        Status status = see_hues(w, row, fault);
        if (!status) status = course_copy(course, &w->carrier[row], fault);
        if (!status)
            status = course_lay(course, course->count, &bed, &w->wall->cuts, &w->room, &at, fault);
        if (status) return status;
    }
    if (at >= 0) return stuck(w, row, at, fault);
    see_joints(w, row);
    w->dirty[row] = 0;
    if (remember(w, course)) return STATUS_OK;
    for (int y = row - 2; y <= row + 2; y++)
        if (y >= 0 && y < w->panel->rows && y != row) w->dirty[y] = 1;
    return STATUS_OK;
}

static Status work_init(Work *w, Fault *fault)
{
    const size_t columns = (size_t)w->panel->columns, rows = (size_t)w->panel->rows;
    Status status = corbel_init(&w->corbel, w->wall->solid, w->panel, fault);
    if (status) return status;
    w->depth = w->corbel.depth;
    w->relief = w->depth > w->wall->solid->base;
    const size_t units = columns * (size_t)w->depth;
    assert(w->depth < MOST_TIERS);
    const int band = w->depth < LEAVES_MOST_SPLITS + 1 ? w->depth : LEAVES_MOST_SPLITS + 1;
    status = course_room_init(&w->room, w->panel->columns, band, &w->wall->cuts, fault);
    if (status) return status;
    w->course = memory_create(rows, sizeof *w->course);
    if (w->course) w->parted = memory_create(rows * (columns + 1), 1);
    if (w->parted) w->bear = memory_create(rows * (columns + 1), 1);
    if (w->bear) w->carry = memory_create(rows * (columns + 1), 1);
    if (w->carry) w->cross = memory_create(rows * (columns + 1), 1);
    if (w->cross) w->whole = memory_create(rows * (columns + 1), 1);
    if (w->whole) w->kept = memory_create(rows, sizeof *w->kept);
    if (w->kept) w->dirty = memory_create(rows, 1);
    if (w->dirty) w->carrier = memory_create(rows, sizeof *w->carrier);
    if (w->carrier) w->seen = memory_create(rows, 1);
    if (w->seen) w->deep = memory_create(rows, 1);
    if (w->deep) w->view[0].unit = memory_create(units, sizeof(int32_t));
    if (w->view[0].unit) w->view[1].unit = memory_create(units, sizeof(int32_t));
    if (w->view[1].unit) w->run[0] = memory_create(columns + 1, 1);
    if (w->run[0]) w->run[1] = memory_create(columns + 1, 1);
    if (w->run[1]) w->old = memory_create(1 + units * 2, sizeof *w->old);
    return w->old ? STATUS_OK : memory_fault(fault, units, sizeof *w->old);
}

/* All but the courses: a panel that is laid needs no more. */
static void scratch_clear(Work *w)
{
    memory_free(w->parted);
    memory_free(w->dirty);
    memory_free(w->bear);
    memory_free(w->carry);
    memory_free(w->cross);
    memory_free(w->whole);
    for (int y = 0; w->kept && y < w->panel->rows; y++) course_clear(&w->kept[y]);
    memory_free(w->kept);
    graph_clear(&w->graph);
    corbel_clear(&w->corbel);
    for (int y = 0; w->carrier && y < w->panel->rows; y++) course_clear(&w->carrier[y]);
    memory_free(w->carrier);
    memory_free(w->seen);
    memory_free(w->deep);
    memory_free(w->view[0].unit);
    memory_free(w->view[1].unit);
    memory_free(w->run[0]);
    memory_free(w->run[1]);
    memory_free(w->old);
    course_room_clear(&w->room);
    w->parted = w->dirty = w->bear = w->carry = w->cross = w->whole = w->run[0] = w->run[1] = NULL;
    w->seen = w->deep = NULL;
    w->kept = w->carrier = NULL;
    w->view[0] = w->view[1] = (View){0};
    w->old = NULL;
}

static void work_clear(Work *w)
{
    for (int y = 0; w->course && y < w->panel->rows; y++) course_clear(&w->course[y]);
    memory_free(w->course);
    scratch_clear(w);
}

static Status sweep(Work *w, bool down, bool all, Fault *fault)
{
    Status status = STATUS_OK;
    const int rows = w->panel->rows;
    for (int i = 0; i < rows && !status; i++) {
        const int row = down ? rows - 1 - i : i;
        if (voice_stopped(w->wall->voice))
            return fault_set(fault, STATUS_INTERRUPTED,
                             "laying: stopped; run it again to start afresh");
        if (all || w->dirty[row]) status = lay_row(w, row, fault);
    }
    return status;
}

/* What is still wrong with a panel, and how many bricks it takes. */
typedef struct State {
    uint32_t pieces, weak, straight;
    size_t bricks;
} State;

/* Structure comes first; then bricks. */
static bool better(const State *a, const State *b)
{
    if (a->pieces != b->pieces) return a->pieces < b->pieces;
    if (a->weak + a->straight != b->weak + b->straight)
        return a->weak + a->straight < b->weak + b->straight;
    return a->bricks < b->bricks;
}

static void raise(uint8_t *how_hard, int most)
{
    if (*how_hard < most) ++*how_hard;
}

static void mark_dirty(Work *w, int row, int reach)
{
    for (int y = row - reach; y <= row + reach; y++)
        if (y >= 0 && y < w->panel->rows) w->dirty[y] = 1;
}

static bool within(const Piece *p, const Piece *q)
{
    return p->column >= q->column && p->column + p->columns <= q->column + q->columns &&
           p->tier >= q->tier && p->tier + p->tiers <= q->tier + q->tiers;
}

/* Asks the bricks of a course that bear on (or carry) this one alone to take in another; and
 * at the panel's edge, to lie right through, so that two leaves below would carry it. */
static bool press_row(Work *w, const Piece *weak, int row, uint8_t *press)
{
    bool found = false;
    const bool edge = row == 0 || row == w->panel->rows - 1;
    const Course *course = &w->course[row];
    for (size_t i = 0; i < course->count; i++) {
        const Piece *p = &course->piece[i];
        if (!within(p, weak)) continue;
        raise(&press[p->column], 3);
        for (int x = p->column; edge && x < p->column + p->columns; x++)
            raise(line_at(w, w->whole, row) + x, 4);
        found = true;
    }
    return found;
}

/* Asks for another way round a weak brick: its neighbours to overlap others as well or,
 * where none hangs on it alone, courses nearby to cross the lines that it crosses. */
static void relieve(Work *w, int row, const Piece *weak)
{
    const int rows = w->panel->rows;
    bool found = false;
    if (row + 1 < rows) found |= press_row(w, weak, row + 1, line_at(w, w->bear, row + 1));
    if (row > 0) found |= press_row(w, weak, row - 1, line_at(w, w->carry, row - 1));
    for (int y = row - 2; y <= row + 2 && !found; y++)
        for (int x = weak->column; x <= weak->column + weak->columns; x++)
            if (y >= 0 && y < rows && y != row && x > 0 && x < w->panel->columns)
                raise(line_at(w, w->cross, y) + x, 3);
    mark_dirty(w, row, found ? 1 : 2);
}

static Status link_rows(Work *w, const size_t *first, Fault *fault)
{
    Status status = STATUS_OK;
    w->graph.links = 0;
    for (int row = 1; row < w->panel->rows && !status; row++) {
        see_course(w, &w->course[row - 1], &w->view[0]);
        const Course *course = &w->course[row];
        for (size_t i = 0; i < course->count && !status; i++) {
            const Piece *p = &course->piece[i];
            int32_t last = -1;
            for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
                for (int x = p->column; x < p->column + p->columns && !status; x++) {
                    const int32_t below = w->view[0].unit[unit_at(w, x, tier)];
                    if (below < 0 || below == last) continue;
                    last = below;
                    status = graph_link(&w->graph, (uint32_t)(first[row - 1] + (size_t)below),
                                        (uint32_t)(first[row] + i), fault);
                }
        }
    }
    return status;
}

/* Asks for bricks across the lines where a panel is parted. */
static void join_pieces(Work *w, const size_t *first, const uint32_t *piece)
{
    for (int row = 0; row < w->panel->rows; row++) {
        see_course(w, &w->course[row], &w->view[0]);
        for (int x = 1; x < w->panel->columns; x++)
            for (int tier = 0; tier < w->depth; tier++) {
                const int32_t left = w->view[0].unit[unit_at(w, x - 1, tier)];
                const int32_t right = w->view[0].unit[unit_at(w, x, tier)];
                if (left < 0 || right < 0 ||
                    piece[first[row] + (size_t)left] == piece[first[row] + (size_t)right])
                    continue;
                *(line_at(w, w->cross, row) + x) = 4;
                mark_dirty(w, row, 0);
            }
        for (int x = 0; x < w->panel->columns; x++)
            for (int tier = 1; tier < w->depth; tier++) {
                const int32_t back = w->view[0].unit[unit_at(w, x, tier - 1)];
                const int32_t front = w->view[0].unit[unit_at(w, x, tier)];
                if (back < 0 || front < 0 ||
                    piece[first[row] + (size_t)back] == piece[first[row] + (size_t)front])
                    continue;
                *(line_at(w, w->whole, row) + x) = 2;
                mark_dirty(w, row, 0);
            }
    }
}

/* A brick that would join a loose piece, and what it would take the place of. */
typedef struct Stitch {
    Piece brick;
    int gain; /* bricks wholly within it, less those that it cuts */
} Stitch;

/* Whether the box may be a brick of this course: in the solid, of one colour, carried. */
static bool may_lie(const Work *w, int row, const Piece *box)
{
    const Solid *solid = w->wall->solid;
    const int y = w->panel->row + row, holder = row > 0 ? y - 1 : y + 1;
    int hanging = 0, colour = HUE_FREE;
    for (int tier = box->tier; tier < box->tier + box->tiers; tier++)
        for (int x = box->column; x < box->column + box->columns; x++) {
            const int hue = w->corbel.hue[unit_at(w, x, tier)];
            if (hue == HUE_NONE || (hue != HUE_FREE && colour != HUE_FREE && hue != colour))
                return false;
            if (hue != HUE_FREE) colour = hue;
            hanging += tier >= solid_top(solid, w->panel->column + x, holder);
        }
    const int area = box->columns * box->tiers;
    return row > 0 ? 2 * hanging <= area : hanging < area || w->panel->rows == 1;
}

/* What the box would take the place of; the course is in view[0]. */
static int stitch_gain(const Work *w, const Piece *box)
{
    int gain = 0;
    const Course *course = w->view[0].course;
    for (int tier = box->tier; tier < box->tier + box->tiers; tier++)
        for (int x = box->column; x < box->column + box->columns; x++) {
            const int32_t i = w->view[0].unit[unit_at(w, x, tier)];
            if (i < 0) continue;
            const Piece *p = &course->piece[i];
            const bool first =
                (x == p->column || x == box->column) && (tier == p->tier || tier == box->tier);
            if (first) gain += within(p, box) ? 1 : -1;
        }
    return gain;
}

/* Tries every brick that holds both of two units side by side; better if it holds all of the
 * loose brick, or a part of that may be loose the next time. Of equals, the deepest. */
static void try_stitches(const Work *w, int row, const Piece *loose, int x, int tier, int columns,
                         int tiers, Stitch *best)
{
    const Cuts *cuts = &w->wall->cuts;
    for (int d = w->depth < SIZE_LONGEST ? w->depth : SIZE_LONGEST; d >= tiers; d--)
        for (int k = 0; k < cuts->count[d]; k++) {
            const int n = cuts->length[d][k];
            for (int a = x + columns - n; a <= x; a++)
                for (int c = tier + tiers - d; c <= tier; c++) {
                    if (a < 0 || c < 0 || a + n > w->panel->columns || c + d > w->depth) continue;
                    const Piece box = {a, (uint8_t)c, (uint8_t)n, (uint8_t)d, cuts->size[d][k]};
                    if (!may_lie(w, row, &box)) continue;
                    const int gain = stitch_gain(w, &box) + (within(loose, &box) ? LOOSE_GAIN : 0);
                    if (best->brick.columns && gain <= best->gain) continue;
                    *best = (Stitch){box, gain};
                }
        }
}

static Status add_carrier(Work *w, int row, const Piece *piece, Fault *fault)
{
    Course *c = &w->carrier[row];
    const Status status = memory_grow(&c->piece, &c->capacity, c->count + 1, sizeof *piece, fault);
    if (status) return status;
    c->piece[c->count++] = *piece;
    mark_dirty(w, row, 0);
    return STATUS_OK;
}

/* Nothing can join a brick of this course: the bricks that carry its overhangs may be in the
 * way, so they are to be found anew. */
static void ask_deep(Work *w, int row)
{
    if (!w->relief || w->deep[row]) return;
    w->deep[row] = 1;
    w->seen[row] = 0;
    mark_dirty(w, row, 0);
}

/* Joins each piece but the largest to a neighbour, by one brick that from now on stays where
 * it is. `size` counts the bricks of each piece. */
static Status stitch(Work *w, const size_t *first, const uint32_t *piece, uint32_t *size,
                     uint32_t pieces, Fault *fault)
{
    uint32_t largest = 0;
    for (uint32_t p = 0; p < pieces; p++)
        if (size[p] > size[largest]) largest = p;
    size[largest] = 0;
    Status status = STATUS_OK;
    for (int row = 0; row < w->panel->rows && !status; row++) {
        bool seen = false;
        for (size_t i = 0; i < w->course[row].count && !status; i++) {
            const Piece p = w->course[row].piece[i];
            const uint32_t mine = piece[first[row] + i];
            if (size[mine] == 0) continue;
            if (!seen) status = see_hues(w, row, fault);
            if (!seen) see_course(w, &w->course[row], &w->view[0]);
            seen = true;
            Stitch best = {0};
            for (int tier = p.tier; tier < p.tier + p.tiers; tier++)
                for (int x = p.column; x < p.column + p.columns; x++)
                    for (int side = 0; side < 4; side++) {
                        const int u = x + (side == 2) - (side == 3); /* depth before length */
                        const int v = tier - (side == 0) + (side == 1);
                        if (u < 0 || v < 0 || u >= w->panel->columns || v >= w->depth) continue;
                        const int32_t other = w->view[0].unit[unit_at(w, u, v)];
                        if (other < 0 || piece[first[row] + (size_t)other] == mine) continue;
                        try_stitches(w, row, &p, u < x ? u : x, v < tier ? v : tier, 1 + (u != x),
                                     1 + (v != tier), &best);
                    }
            if (!best.brick.columns) {
                ask_deep(w, row);
                continue;
            }
            size[mine] = 0;
            status = add_carrier(w, row, &best.brick, fault);
            if (!status) status = see_hues(w, row, fault);
        }
    }
    return status;
}

static uint32_t straighten(Work *w)
{
    uint32_t found = 0;
    for (int row = 2; row < w->panel->rows; row++)
        for (int x = 1; x < w->panel->columns; x++) {
            if (!line_at(w, w->parted, row)[x] || !line_at(w, w->parted, row - 1)[x] ||
                !line_at(w, w->parted, row - 2)[x])
                continue;
            found++;
            for (int y = row - 2; y <= row; y++) raise(line_at(w, w->cross, y) + x, 2);
            mark_dirty(w, row - 1, 1);
        }
    return found;
}

static Status stitch_pieces(Work *w, const size_t *first, const uint32_t *piece, uint32_t pieces,
                            size_t nodes, Fault *fault)
{
    uint32_t *size = memory_create(pieces, sizeof *size);
    if (!size) return memory_fault(fault, pieces, sizeof *size);
    for (size_t i = 0; i < nodes; i++) size[piece[i]]++;
    const Status status = stitch(w, first, piece, size, pieces, fault);
    memory_free(size);
    return status;
}

/* Surveys the panel, and asks the courses around each flaw to do better. One brick thick, a
 * wall is weak wherever its colours are: no bricks are spent on that beyond their price. */
static Status survey(Work *w, int round, State *state, Fault *fault)
{
    const int rows = w->panel->rows;
    size_t nodes = 0, *first = memory_create((size_t)rows, sizeof *first);
    if (!first) return memory_fault(fault, (size_t)rows, sizeof *first);
    for (int row = 0; row < rows; row++) {
        first[row] = nodes;
        nodes += w->course[row].count;
    }
    assert(nodes < UINT32_MAX);
    uint32_t *piece = memory_create(nodes, sizeof *piece);
    uint8_t *weak = memory_create(nodes, 1);
    Status status = piece && weak ? STATUS_OK : memory_fault(fault, nodes, sizeof *piece);
    if (!status) status = link_rows(w, first, fault);
    if (!status)
        status = graph_survey(&w->graph, (uint32_t)nodes, piece, weak, &state->pieces, fault);
    if (!status) {
        state->bricks = nodes;
        state->weak = 0;
        state->straight = straighten(w);
        for (int row = 0; row < rows && w->depth > 1; row++)
            for (size_t i = 0; i < w->course[row].count; i++)
                if (weak[first[row] + i]) {
                    state->weak++;
                    relieve(w, row, &w->course[row].piece[i]);
                }
        if (state->pieces > 1) join_pieces(w, first, piece);
        if (state->pieces > 1 && round > 0)
            status = stitch_pieces(w, first, piece, state->pieces, nodes, fault);
    }
    memory_free(weak);
    memory_free(piece);
    memory_free(first);
    return status;
}

static Status keep(Course *to, const Course *from, int rows, Fault *fault)
{
    Status status = STATUS_OK;
    for (int row = 0; row < rows && !status; row++)
        status = course_copy(&to[row], &from[row], fault);
    return status;
}

static Status settle(Work *w, int sweeps, Fault *fault)
{
    Status status = STATUS_OK;
    for (int i = 0; i < sweeps && !status; i++) status = sweep(w, i % 2 == 0, false, fault);
    return status;
}

/* Relays the courses around flaws for some rounds; the best laying stays. */
static Status mend(Work *w, int rounds, Fault *fault)
{
    State best, now;
    const int rows = w->panel->rows;
    Status status = survey(w, 0, &best, fault);
    if (!status) status = keep(w->kept, w->course, rows, fault);
    int idle = 0;
    for (int round = 0; round < rounds && !status && idle < 3; round++) {
        if (best.pieces <= 1 && best.weak == 0 && best.straight == 0) break;
        status = settle(w, 2, fault);
        if (!status) status = survey(w, round + 1, &now, fault);
        if (status) break;
        idle++;
        if (!better(&now, &best)) continue;
        best = now;
        idle = 0;
        status = keep(w->kept, w->course, rows, fault);
    }
    if (!status) status = keep(w->course, w->kept, rows, fault);
    return status;
}

static Status lay_panel(Work *w, Fault *fault)
{
    const double effort = w->wall->options->effort;
    Status status = work_init(w, fault);
    w->first = true;
    if (!status) status = sweep(w, false, true, fault);
    w->first = false;
    if (!status) memset(w->dirty, 1, (size_t)w->panel->rows);
    if (!status) status = settle(w, 2 + (int)(effort * 8), fault);
    if (!status) status = mend(w, 2 + (int)(effort * 20), fault);
    if (!status)
        status = bound_wall(&w->bound, w->wall->solid, w->panel, &w->wall->plain,
                            4 + (int)(effort * 32), fault);
    scratch_clear(w);
    return status;
}

static void lay_band(void *context, int begin, int end, int worker);

typedef struct Job {
    Work *work;
    Status *status;
    Fault *fault;
} Job;

/* The one colour that a brick's shown units have, or `fill`. */
static void colour_brick(const Solid *solid, int fill, Brick *brick)
{
    brick->colour = (uint8_t)fill;
    for (int x = brick->column; x < brick->column + brick->columns && !brick->shown; x++)
        for (int tier = brick->tier; tier < brick->tier + brick->tiers; tier++)
            if (solid_shown(solid, x, brick->row, tier)) {
                brick->shown = 1;
                brick->colour = (uint8_t)grid_colour(solid->grid, x, brick->row);
                break;
            }
}

static Status emit(const Work *w, Laid *laid, Fault *fault)
{
    for (int row = 0; row < w->panel->rows; row++) {
        const Course *course = &w->course[row];
        for (size_t i = 0; i < course->count; i++) {
            const Piece *p = &course->piece[i];
            Brick brick = {.column = w->panel->column + p->column,
                           .row = w->panel->row + row,
                           .panel = w->index,
                           .tier = p->tier,
                           .columns = p->columns,
                           .rows = 1,
                           .tiers = p->tiers,
                           .size = p->size};
            colour_brick(w->wall->solid, w->wall->options->fill, &brick);
            const Status status = laid_add(laid, &brick, fault);
            if (status) return status;
        }
    }
    return STATUS_OK;
}

static void lay_band(void *context, int begin, int end, int worker)
{
    Job *job = context;
    (void)worker;
    for (int p = begin; p < end; p++) job->status[p] = lay_panel(&job->work[p], &job->fault[p]);
}

static Status lay_all(const Wall *wall, Job *job, Laid *laid, LayReport *report, Fault *fault)
{
    const int panels = wall->panels->count;
    for (int p = 0; p < panels; p++)
        job->work[p] = (Work){.wall = wall, .panel = &wall->panels->panel[p], .index = p};
    bands_run(wall->options->threads, panels, 1, lay_band, job);
    for (int p = 0; p < panels; p++) {
        Status status = job->status[p];
        if (status && fault) *fault = job->fault[p];
        if (!status) status = emit(&job->work[p], laid, fault);
        if (status) return status;
        report->lower_bound += job->work[p].bound;
    }
    laid_sort(laid, 1);
    report->bricks = laid->count;
    return STATUS_OK;
}

Status lay_wall(const Solid *solid, const Sizes *sizes, const Panels *panels,
                const LayOptions *options, Laid *laid_out, LayReport *report_out,
                const Voice *voice, Fault *fault)
{
    assert(solid->build == BUILD_WALL && solid->base > 0);
    const size_t n = (size_t)panels->count;
    Wall *wall = memory_create(1, sizeof *wall);
    Job job = {memory_create(n, sizeof *job.work), memory_create(n, sizeof *job.status),
               memory_create(n, sizeof *job.fault)};
    Status status = wall && job.work && job.status && job.fault
                        ? STATUS_OK
                        : memory_fault(fault, n, sizeof *job.work);
    *report_out = (LayReport){0};
    if (!status) {
        *wall = (Wall){
            .solid = solid, .sizes = sizes, .panels = panels, .options = options, .voice = voice};
        cuts_init(&wall->cuts, sizes, options->cost);
        cuts_init(&wall->plain, sizes, NULL);
        voice_progress(voice, "lay", 0);
        status = lay_all(wall, &job, laid_out, report_out, fault);
        for (size_t p = 0; p < n; p++)
            if (job.work[p].wall) work_clear(&job.work[p]);
        if (!status) voice_progress(voice, "lay", 1);
    }
    if (status) laid_clear(laid_out);
    memory_free(job.fault);
    memory_free(job.status);
    memory_free(job.work);
    memory_free(wall);
    return status;
}
