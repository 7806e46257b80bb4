/* One panel of a wall, course by course.
 *
 * Idea. A panel is laid from its lowest course upward, then swept down and up again: each course is
 * laid anew, at the least price, against its neighbours as they now stand, where one of them has
 * changed. A course is cut into bands of tiers that two leaves can fill (course.h); where that
 * leaves a column that no brick fits, it is cut otherwise.
 *
 * Invariants. Prices add up over pairs of courses and each course is laid at its least, so that
 * sweeps never make the panel dearer, save the first, which sees no courses above. Courses that are
 * not dirty are at their least against their neighbours. Courses that stand are never touched.
 *
 * Source. Block coordinate descent, as lay_wall.c; the bonds of masonry (course.c, corbel.h). */
#include "bricks/wall/wall_panel.h"

#include "base/memory.h"

#include <assert.h>
#include <string.h>

/* The prices of a bond, in parts of COURSE_PRICE_ONE, by trial on the pictures of
 * tests/bench/bench_wall. One brick thick, nothing can cross behind the face: a joint in line, or a
 * short lap, is worth one brick and a little. Halved or doubled, one at a time, these prices change
 * the bricks by 0.13 % at most, and the flaws by one in 856. */
static const BondPrices ONE_THICK = {.straight = 1100,
                                     .forced = 1100,
                                     .third = 300,
                                     .lap = 1050,
                                     .nested = 30,
                                     .hanging = 2200,
                                     .collar = 0,
                                     .sliver = 12};

/* Thicker, a brick behind the face can cross a joint that colours force, so that two courses in
 * line are let pass there; three are not, at two bricks and a half. Halved or doubled, these prices
 * change the bricks by 0.4 % at most (`forced`), and there are no flaws. */
static const BondPrices THICKER = {.straight = 1100,
                                   .forced = 100,
                                   .third = 2500,
                                   .lap = 60,
                                   .nested = 40,
                                   .hanging = 3000,
                                   .collar = 6,
                                   .sliver = 12};

/* In the first sweep nothing is known of the courses above: joints that colours force are crossed
 * in every third course, from the second on: of 48 courses, the last but one among them. */
enum { CROSS_EVERY = 3, CROSS_FIRST = 1, FIRST_SWEEP_FORCED = 400 };

/* How a course is cut into bands, one way after the other until it can be laid. */
typedef enum Cut {
    CUT_BY_LEAVES, /* see cut_bands */
    CUT_PAIRS,     /* of tiers */
    CUT_ODD_PAIRS, /* the back tier alone, then pairs */
    CUT_SINGLES,   /* single tiers */
    CUTS
} Cut;

enum { MOST_TIERS = 255, MOST_BANDS = 2 * MOST_TIERS }; /* of a course */

void wall_panel_mark(WallPanel *w, int row, int reach)
{
    for (int y = row - reach; y <= row + reach; y++)
        if (y >= 0 && y < w->panel->rows) w->dirty[y] = 1;
}

Status wall_panel_see_hues(WallPanel *w, int row, Fault *fault)
{
    Course *carriers = &w->carrier[row];
    if (w->relief && !w->seen[row]) {
        int failed = 0;
        Status status = STATUS_OK;
        w->seen[row] = 1;
        if (w->deep[row]) status = corbel_course(&w->corbel, row, true, carriers, &failed, fault);
        if (!status && (failed > 0 || !w->deep[row]))
            status = corbel_course(&w->corbel, row, false, carriers, &failed, fault);
        return status;
    }
    corbel_see(&w->corbel, row);
    for (size_t i = 0; i < carriers->count; i++) {
        const CourseBrick *p = &carriers->brick[i];
        for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
            for (int x = p->column; x < p->column + p->columns; x++)
                w->corbel.hue[wall_panel_unit(w, x, tier)] = HUE_NONE;
    }
    return STATUS_OK;
}

void wall_panel_view(const WallPanel *w, const Course *course, View *view)
{
    view->course = course;
    for (size_t i = 0, n = wall_panel_unit(w, 0, w->depth); i < n; i++) view->unit[i] = -1;
    for (size_t i = 0; i < course->count; i++) {
        const CourseBrick *p = &course->brick[i];
        for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
            for (int x = p->column; x < p->column + p->columns; x++)
                view->unit[wall_panel_unit(w, x, tier)] = (int32_t)i;
    }
}

static void see_joints(const WallPanel *w, int row)
{
    uint8_t *parted = wall_panel_line(w, w->parted, row);
    memset(parted, 1, (size_t)w->panel->columns + 1);
    const Course *course = &w->course[row];
    for (size_t i = 0; i < course->count; i++)
        for (int x = 1; x < course->brick[i].columns; x++) parted[course->brick[i].column + x] = 0;
}

/* How many courses in a row, to two, have a joint right through at each line, from the
 * neighbour on. */
static void see_runs(const WallPanel *w, int row, int step, uint8_t *run)
{
    const int near = row + step, far = near + step, rows = w->panel->rows;
    const bool there = near >= 0 && near < rows && w->course[near].count;
    const bool beyond = there && far >= 0 && far < rows && w->course[far].count;
    for (int x = 0; x <= w->panel->columns; x++)
        run[x] = !there || !wall_panel_line(w, w->parted, near)[x] ? 0
                 : beyond && wall_panel_line(w, w->parted, far)[x] ? 2
                                                                   : 1;
}

/* Tiers of each column of a course; none beyond the panel's edge. */
static void see_tops(const WallPanel *w, int row, uint8_t *top)
{
    const bool there = row >= 0 && row < w->panel->rows;
    for (int x = 0; x < w->panel->columns; x++)
        top[x] = there
                     ? (uint8_t)solid_top(w->wall->solid, w->panel->column + x, w->panel->row + row)
                     : 0;
}

static bool edge_at(const WallPanel *w, int x, int row)
{
    if (row < 0 || row >= w->panel->rows) return false;
    const int column = w->panel->column + x, y = w->panel->row + row;
    const Grid *grid = w->wall->solid->grid;
    return grid_colour(grid, column - 1, y) != grid_colour(grid, column, y);
}

/* Where colours force a joint of this course, or of the one a step from it. */
static void see_edges(const WallPanel *w, int row, int step, uint8_t *edge)
{
    for (int x = 1; x < w->panel->columns; x++)
        edge[x] = edge_at(w, x, row) || edge_at(w, x, row + step);
}

static Status stuck_fault(const WallPanel *w, int row, int column, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "column %d, row %d: no brick of the set fits this cell's colour; add smaller "
                     "bricks to the set or change the cell",
                     w->panel->column + column + 1, w->panel->row + row + 1);
}

static int cut_plainly(const WallPanel *w, Cut way, Band *band)
{
    int n = 0;
    for (int tier = 0; tier < w->depth;) {
        int to = tier + (way == CUT_SINGLES || (way == CUT_ODD_PAIRS && tier == 0) ? 1 : 2);
        if (to > w->depth) to = w->depth;
        band[n++] = (Band){.from = (uint8_t)tier, .to = (uint8_t)to, .body = tier == 0};
        tier = to;
    }
    return n;
}

static bool left_out(const WallPanel *w, int x, int row, int tier)
{
    const Solid *solid = w->wall->solid;
    return solid->left_out &&
           solid->left_out[solid_unit(solid, w->panel->column + x, w->panel->row + row, tier)];
}

/* Marks the tiers of a course where something left out begins or ends; false where the course
 * is solid. */
static bool see_cuts(const WallPanel *w, int row, bool *cut)
{
    bool any = false;
    memset(cut, 0, (size_t)w->depth * sizeof *cut);
    for (int x = 0; x < w->panel->columns && w->wall->solid->left_out; x++)
        for (int tier = 1; tier < w->depth; tier++)
            if (left_out(w, x, row, tier) != left_out(w, x, row, tier - 1)) cut[tier] = any = true;
    return any;
}

/* Whether a course around a core is to tie its leaves: every other one, but none beside the
 * courses above and below the core, whose joints it would line up with. */
static bool ties_core(const WallPanel *w, int row, bool *cut)
{
    int below = 0;
    while (row > below && see_cuts(w, row - below - 1, cut)) below++;
    return below % 2 && row + 1 < w->panel->rows && see_cuts(w, row + 1, cut);
}

/* The bands of a course around a hollow core: its leaves and, where it ties them, first what
 * is solid all through. */
static int cut_around_core(const WallPanel *w, const bool *cut, bool tie, Band *band)
{
    const int most = COURSE_DP_MOST_SPLITS + 1, base = w->wall->solid->base;
    int n = 0;
    for (int tier = 0; tier < base && tie; tier += most)
        band[n++] = (Band){.from = (uint8_t)tier,
                           .to = (uint8_t)(tier + most < base ? tier + most : base),
                           .through = true};
    for (int tier = 0, to; tier < w->depth; tier = to) {
        for (to = tier + 1; to < w->depth && to - tier < most && to != base && !cut[to];) to++;
        band[n++] = (Band){.from = (uint8_t)tier, .to = (uint8_t)to, .body = tier == 0};
    }
    return n;
}

/* The bands of a course. The wall itself is cut where two leaves can fill each band; in a
 * deeper wall the odd remainder changes sides from course to course, so that each cut is
 * bridged in the next. What stands out of the wall is cut in pairs of tiers; in every other
 * course the first pair takes the wall's outermost tier along, and ties it in. */
static int cut_bands(const WallPanel *w, int row, Cut way, Band *band)
{
    bool cut[MOST_TIERS], scratch[MOST_TIERS];
    if (see_cuts(w, row, cut) && way != CUT_SINGLES)
        return cut_around_core(w, cut, ties_core(w, row, scratch), band);
    if (way != CUT_BY_LEAVES) return cut_plainly(w, way, band);
    const int most = COURSE_DP_MOST_SPLITS + 1, base = w->wall->solid->base;
    const bool tie = row % 2 && w->depth > base;
    int n = 0, tier = 0;
    if (tie) {
        band[n++] = (Band){.from = (uint8_t)(base - 1), .to = (uint8_t)(base + 1), .whole = true};
        for (tier = base + 1; tier < w->depth; tier += 2)
            band[n++] = (Band){.from = (uint8_t)tier, .to = (uint8_t)(tier + 2)};
    }
    const int odd = base > most && row % 2 ? base % most : 0;
    for (tier = 0; tier < base;) {
        int to = tier == 0 && odd ? odd : tier + most;
        if (to > base) to = base;
        band[n++] = (Band){.from = (uint8_t)tier, .to = (uint8_t)to, .body = tier == 0};
        tier = to;
    }
    for (; tier < w->depth && !tie; tier += 2)
        band[n++] = (Band){.from = (uint8_t)tier, .to = (uint8_t)(tier + 2)};
    for (int i = 0; i < n; i++)
        if (band[i].to > w->depth) band[i].to = (uint8_t)w->depth;
    return n;
}

static bool remember(WallPanel *w, const Course *course)
{
    const size_t n = course->count * sizeof *course->brick;
    const bool same =
        w->last[0] == course->count && (n == 0 || !memcmp(w->last + 1, course->brick, n));
    w->last[0] = (uint32_t)course->count;
    if (n) memcpy(w->last + 1, course->brick, n);
    return same;
}

/* What a course is laid against, all but its bands. */
static Bed see_bed(WallPanel *w, int row, const BondPrices *prices)
{
    const int rows = w->panel->rows;
    const bool below = row > 0 && w->course[row - 1].count;
    const bool above = row + 1 < rows && w->course[row + 1].count;
    if (below) wall_panel_view(w, &w->course[row - 1], &w->view[0]);
    if (above) wall_panel_view(w, &w->course[row + 1], &w->view[1]);
    see_runs(w, row, -1, w->run[0]);
    see_runs(w, row, 1, w->run[1]);
    see_edges(w, row, -1, w->edge[0]);
    see_edges(w, row, 1, w->edge[1]);
    see_tops(w, row - 1, w->top[0]);
    see_tops(w, row + 1, w->top[1]);
    see_tops(w, row - 2, w->top[2]);
    see_tops(w, row + 2, w->top[3]);
    return (Bed){.cuts = &w->wall->cuts,
                 .room = &w->room,
                 .columns = w->panel->columns,
                 .depth = w->depth,
                 .hue = w->corbel.hue,
                 .below = below ? &w->view[0] : NULL,
                 .above = above ? &w->view[1] : NULL,
                 .under = w->run[0],
                 .over = w->run[1],
                 .edge_under = w->edge[0],
                 .edge_over = w->edge[1],
                 .top_under = w->top[0],
                 .top_over = w->top[1],
                 .top_lower = w->top[2],
                 .top_higher = w->top[3],
                 .bear = wall_panel_line(w, w->bear, row),
                 .bear_over = row + 1 < rows ? wall_panel_line(w, w->bear, row + 1) : NULL,
                 .carry = wall_panel_line(w, w->carry, row),
                 .carry_under = row > 0 ? wall_panel_line(w, w->carry, row - 1) : NULL,
                 .cross = wall_panel_line(w, w->cross, row),
                 .whole = wall_panel_line(w, w->whole, row),
                 .prices = prices};
}

BondPrices wall_panel_prices(const WallPanel *w, int row)
{
    BondPrices prices = w->depth == 1 ? ONE_THICK : THICKER;
    if (w->first && w->depth > 1)
        prices.forced = row % CROSS_EVERY == CROSS_FIRST ? FIRST_SWEEP_FORCED : 0;
    return prices;
}

Status wall_panel_lay(WallPanel *w, int row, const BondPrices *prices, Fault *fault)
{
    if (row < w->standing) {
        w->dirty[row] = 0;
        return STATUS_OK;
    }
    Course *course = &w->course[row];
    Bed bed = see_bed(w, row, prices);
    Band band[MOST_BANDS];
    bed.band = band;
    remember(w, course);
    int at = 0;
    for (int attempt = 0; attempt < 2 * CUTS && at >= 0; attempt++) {
        /* Bricks that stay may leave a rest that no brick of the set fills. */
        if (attempt == CUTS && w->carrier[row].count == 0) break;
        if (attempt == CUTS) w->carrier[row].count = 0;
        bed.bands = cut_bands(w, row, (Cut)(attempt % CUTS), band);
        Status status = wall_panel_see_hues(w, row, fault);
        if (!status) status = course_copy(course, &w->carrier[row], fault);
        if (!status) status = course_lay(course, course->count, &bed, &at, fault);
        if (status) return status;
    }
    if (at >= 0) return stuck_fault(w, row, at, fault);
    see_joints(w, row);
    w->dirty[row] = 0;
    if (remember(w, course)) return STATUS_OK;
    for (int y = row - 2; y <= row + 2; y++)
        if (y >= 0 && y < w->panel->rows && y != row) w->dirty[y] = 1;
    return STATUS_OK;
}

Status wall_panel_put(WallPanel *w, int row, const Course *course, Fault *fault)
{
    const Status status = course_copy(&w->course[row], course, fault);
    if (!status) see_joints(w, row);
    return status;
}

Status wall_panel_stand(WallPanel *w, const Brick *brick, size_t bricks, Fault *fault)
{
    for (size_t i = 0; i < bricks; i++) {
        const int row = brick[i].row - w->panel->row;
        const CourseBrick laid = {(int16_t)(brick[i].column - w->panel->column), brick[i].tier,
                                  brick[i].columns, brick[i].tiers, brick[i].size};
        const Status status = course_add(&w->course[row], &laid, fault);
        if (status) return status;
        w->standing = row + 1;
    }
    for (int row = 0; row < w->standing; row++) see_joints(w, row);
    return STATUS_OK;
}

int64_t wall_panel_price(WallPanel *w, int row)
{
    const BondPrices prices = wall_panel_prices(w, row);
    Bed bed = see_bed(w, row, &prices);
    bed.above = NULL; /* the course above prices that side */
    memset(w->run[1], 0, (size_t)w->panel->columns + 1);
    wall_panel_view(w, &w->course[row], &w->view[1]);
    return course_price(&w->view[1], &bed, wall_panel_line(w, w->parted, row));
}

static bool is_hollow(const WallPanel *w)
{
    for (int row = 0; row < w->panel->rows && w->wall->solid->left_out; row++)
        for (int x = 0; x < w->panel->columns; x++)
            for (int tier = 0; tier < w->depth; tier++)
                if (left_out(w, x, row, tier)) return true;
    return false;
}

/* The next `count` bytes of the panel's block. */
static uint8_t *next_bytes(uint8_t **next, size_t count)
{
    uint8_t *bytes = *next;
    *next += count;
    return bytes;
}

/* All arrays of bytes are of one block. */
static bool make_bytes(WallPanel *w)
{
    const size_t rows = (size_t)w->panel->rows, edges = (size_t)w->panel->columns + 1;
    const size_t lines = rows * edges;
    uint8_t *next = w->bytes = memory_create(5 * lines + 3 * rows + 8 * edges, 1);
    if (!w->bytes) return false;
    uint8_t **const by_line[] = {&w->parted, &w->bear, &w->carry, &w->cross, &w->whole};
    uint8_t **const by_row[] = {&w->dirty, &w->seen, &w->deep};
    for (int i = 0; i < 5; i++) *by_line[i] = next_bytes(&next, lines);
    for (int i = 0; i < 3; i++) *by_row[i] = next_bytes(&next, rows);
    for (int i = 0; i < 2; i++) w->run[i] = next_bytes(&next, edges);
    for (int i = 0; i < 2; i++) w->edge[i] = next_bytes(&next, edges);
    for (int i = 0; i < 4; i++) w->top[i] = next_bytes(&next, edges);
    return true;
}

Status wall_panel_init(WallPanel *w, const Wall *wall, int panel, Fault *fault)
{
    *w = (WallPanel){.wall = wall, .panel = &wall->panels->panel[panel], .index = panel};
    const size_t columns = (size_t)w->panel->columns, rows = (size_t)w->panel->rows;
    Status status = corbel_init(&w->corbel, wall->solid, w->panel, &wall->cuts, fault);
    if (status) return status;
    w->depth = w->corbel.depth;
    w->relief = w->depth > wall->solid->base || is_hollow(w);
    assert(w->depth < MOST_TIERS);
    const int band = w->depth < COURSE_DP_MOST_SPLITS + 1 ? w->depth : COURSE_DP_MOST_SPLITS + 1;
    status = course_room_init(&w->room, w->panel->columns, band, &wall->cuts, fault);
    if (status) return status;
    const size_t units = columns * (size_t)w->depth;
    w->course = memory_create(rows, sizeof *w->course);
    w->carrier = memory_create(rows, sizeof *w->carrier);
    for (int i = 0; i < 2; i++) w->view[i].unit = memory_create(units, sizeof *w->view[i].unit);
    w->last = memory_create(1 + units * 2, sizeof *w->last);
    const bool made =
        make_bytes(w) && w->course && w->carrier && w->view[0].unit && w->view[1].unit && w->last;
    return made ? STATUS_OK : memory_fault(fault, 1 + units * 2, sizeof *w->last);
}

void wall_panel_finish(WallPanel *w)
{
    corbel_clear(&w->corbel);
    course_room_clear(&w->room);
    for (int y = 0; w->carrier && y < w->panel->rows; y++) course_clear(&w->carrier[y]);
    memory_free(w->carrier);
    memory_free(w->bytes);
    for (int i = 0; i < 2; i++) memory_free(w->view[i].unit);
    memory_free(w->last);
    w->carrier = NULL;
    w->bytes = NULL;
    w->view[0] = w->view[1] = (View){0};
    w->last = NULL;
}

void wall_panel_clear(WallPanel *w)
{
    for (int y = 0; w->course && y < w->panel->rows; y++) course_clear(&w->course[y]);
    memory_free(w->course);
    wall_panel_finish(w);
}

Status wall_panel_sweep(WallPanel *w, bool down, Fault *fault)
{
    Status status = STATUS_OK;
    const int rows = w->panel->rows;
    for (int i = 0; i < rows && !status; i++) {
        const int row = down ? rows - 1 - i : i;
        if (voice_stopped(w->wall->voice))
            return fault_set(fault, STATUS_INTERRUPTED,
                             "laying: stopped; run it again to start afresh");
        if (!w->dirty[row]) continue;
        const BondPrices prices = wall_panel_prices(w, row);
        status = wall_panel_lay(w, row, &prices, fault);
    }
    return status;
}

Status wall_panel_sweep_first(WallPanel *w, Fault *fault)
{
    w->first = true;
    memset(w->dirty, 1, (size_t)w->panel->rows);
    const Status status = wall_panel_sweep(w, false, fault);
    w->first = false;
    memset(w->dirty, 1, (size_t)w->panel->rows);
    return status;
}
