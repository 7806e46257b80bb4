/* One panel of a wall, course by course.
 *
 * Idea. A panel is laid from its lowest course upward, then swept down and up again: each course is
 * laid anew, at the least price, against its neighbours as they now stand, where one of them has
 * changed. A flat course is cut into bands of tiers that two leaves can fill (course.h); where that
 * leaves a column that no brick fits, it is cut otherwise. In relief, or around a hollow core, a
 * course is tiled (course_tiles.h); where three courses would have a joint in line, the brick
 * across it that costs least beyond what its units are worth is laid first, and the rest around it.
 *
 * Invariants. Flat: prices add up over pairs of courses and each course is laid at its least, so
 * that sweeps never make the panel dearer, save the first, which sees no courses above. Courses
 * that are not dirty are at their least against their neighbours. Courses that stand are never
 * touched.
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

/* Of the search of a course in relief, by trial on the relief of tests/bench/bench_wall, one thick:
 * with a sixth of the profiles 1.3 % more bricks, with a quarter more 0.1 % fewer. */
enum {
    MOST_AT_FULL = 96, /* profiles kept, at an effort of 1; */
    MOST_LEAST = 4,    /* at least; */
    FEW_UNITS = 20000, /* of a panel that has FEW_TIMES as many */
    FEW_TIMES = 4
};

/* Of the effort, what goes into what a course's units are worth. By trial on the same: all of it
 * takes a tenth more time for a bound that is 0.02 to 0.1 % higher and as many bricks. */
static const double WORTH_EFFORT = 0.7;

/* Both our choice: how often bricks are laid across joints that came in line by the last ones, and
 * how many bricks a joint in line is worth. */
enum { CROSS_ROUNDS = 4, STRAIGHT_PRICE = 5 * COURSE_PRICE_ONE };

enum { MOST_TIERS = 255, MOST_BANDS = 2 * MOST_TIERS }; /* of a course */

void wall_panel_mark(WallPanel *w, int row, int reach)
{
    for (int y = row - reach; y <= row + reach; y++)
        if (y >= 0 && y < w->panel->rows) w->dirty[y] = 1;
}

/* Takes a brick's units out of the course that is being laid. */
static void take_units(WallPanel *w, const CourseBrick *p)
{
    for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
        for (int x = p->column; x < p->column + p->columns; x++)
            w->corbel.hue[wall_panel_unit(w, x, tier)] = HUE_NONE;
}

void wall_panel_see_hues(WallPanel *w, int row)
{
    const Course *carriers = &w->carrier[row];
    corbel_see(&w->corbel, row);
    for (size_t i = 0; i < carriers->count; i++) take_units(w, &carriers->brick[i]);
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

/* The bands of a course: each can be filled by two leaves. In a deeper wall the odd remainder
 * changes sides from course to course, so that each cut is bridged in the next. */
static int cut_bands(const WallPanel *w, int row, Cut way, Band *band)
{
    if (way != CUT_BY_LEAVES) return cut_plainly(w, way, band);
    const int most = COURSE_DP_MOST_SPLITS + 1, depth = w->depth;
    const int odd = depth > most && row % 2 ? depth % most : 0;
    int n = 0;
    for (int tier = 0; tier < depth;) {
        int to = tier == 0 && odd ? odd : tier + most;
        if (to > depth) to = depth;
        band[n++] = (Band){.from = (uint8_t)tier, .to = (uint8_t)to, .body = tier == 0};
        tier = to;
    }
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

/* Marks the units of a course; false where there is none. */
static bool see_fills(const WallPanel *w, int row, uint8_t *fills)
{
    if (row < 0 || row >= w->panel->rows) return false;
    for (int tier = 0; tier < w->depth; tier++)
        for (int x = 0; x < w->panel->columns; x++)
            fills[wall_panel_unit(w, x, tier)] =
                solid_fills(w->wall->solid, w->panel->column + x, w->panel->row + row, tier);
    return true;
}

/* What the units of a course are worth, and the least bricks that it needs. */
static Status find_least(WallPanel *w, int row, int32_t *dual, Fault *fault)
{
    const Wall *wall = w->wall;
    const LayOptions *options = wall->options;
    if (w->least[row] >= 0) return STATUS_OK;
    CourseWorth worth = {.dual = dual};
    Status status = course_tiles_bound(&worth, &w->corbel, &wall->plain_shapes,
                                       options->effort * WORTH_EFFORT, wall->voice, fault);
    w->least[row] = worth.least;
    if (!status && options->cost)
        status = course_tiles_bound(&worth, &w->corbel, &wall->shapes,
                                    options->effort * WORTH_EFFORT, wall->voice, fault);
    return status;
}

static bool is_parted(const WallPanel *w, int row, int x)
{
    return row >= 0 && row < w->panel->rows && w->course[row].count &&
           wall_panel_line(w, w->parted, row)[x];
}

/* True if three courses, this among them, have a joint in line. */
static bool is_straight(const WallPanel *w, int row, int x)
{
    bool p[5];
    for (int i = 0; i < 5; i++) p[i] = is_parted(w, row - 2 + i, x);
    return p[2] && ((p[0] && p[1]) || (p[1] && p[3]) || (p[3] && p[4]));
}

static void see_joints(const WallPanel *w, int row);

/* Adds a brick across each line where three courses would be in line. */
static Status cross_lines(WallPanel *w, int row, const CoursePrices *prices, Course *kept,
                          bool *any_out, Fault *fault)
{
    Status status = STATUS_OK;
    int crossed = 0; /* columns up to here have one */
    *any_out = false;
    for (int x = 1; x < w->panel->columns && !status; x++) {
        if (x < crossed || !is_straight(w, row, x)) continue;
        const CourseBrick brick = course_tiles_across(prices, x);
        if (!brick.columns) continue;
        take_units(w, &brick);
        crossed = brick.column + brick.columns;
        status = course_add(kept, &brick, fault);
        *any_out = true;
    }
    return status;
}

static TileBed see_tile_bed(WallPanel *w, int row)
{
    const int rows = w->panel->rows;
    bool there[5];
    for (int i = 0; i < 5; i++) there[i] = see_fills(w, row - 2 + i, w->fills[i]);
    TileBed bed = {.shapes = &w->wall->shapes,
                   .corbel = &w->corbel,
                   .columns = w->panel->columns,
                   .depth = w->depth,
                   .fills = w->fills[2],
                   .bear = wall_panel_line(w, w->bear, row),
                   .carry = wall_panel_line(w, w->carry, row),
                   .cross = wall_panel_line(w, w->cross, row),
                   .dual = w->dual + (size_t)row * wall_panel_unit(w, 0, w->depth)};
    for (int k = 0; k < 2; k++) {
        const int near = k ? row + 1 : row - 1;
        const bool laid = near >= 0 && near < rows && w->course[near].count;
        if (laid) wall_panel_view(w, &w->course[near], &w->view[k]);
        see_runs(w, row, near - row, w->run[k]);
        bed.side[k] = (CourseSide){.fills = there[k ? 3 : 1] ? w->fills[k ? 3 : 1] : NULL,
                                   .beyond = there[k ? 4 : 0] ? w->fills[k ? 4 : 0] : NULL,
                                   .view = laid ? &w->view[k] : NULL,
                                   .run = w->run[k]};
    }
    return bed;
}

/* The first column of a course where a unit could not be filled, or -1. */
static int bare_column(const WallPanel *w, int row)
{
    for (size_t i = 0; i < w->course[row].count; i++)
        if (w->course[row].brick[i].size == SHAPE_BARE) return w->course[row].brick[i].column;
    return -1;
}

/* True if a brick of a course that is laid is carried by nothing. */
static bool any_unheld(const WallPanel *w, const Course *course)
{
    for (size_t i = 0; i < course->count; i++)
        if (!corbel_carries(&w->corbel, &course->brick[i])) return true;
    return false;
}

/* Lays a course around the bricks in `kept`; *whole_out is whether all of it could be filled and
 * nothing hangs. */
static Status lay_around(WallPanel *w, int row, const CoursePrices *prices, const Course *kept,
                         bool *whole_out, Fault *fault)
{
    Course *course = &w->course[row];
    int stuck;
    wall_panel_see_hues(w, row);
    for (size_t i = 0; i < kept->count; i++) take_units(w, &kept->brick[i]);
    const Status status = course_tiles_lay(course, kept, prices, w->dp, &stuck, fault);
    if (status) return status;
    see_joints(w, row);
    *whole_out = stuck < 0 && !any_unheld(w, course);
    return STATUS_OK;
}

/* Lays it so that bricks cross the joints that would be in line; where they leave something that
 * hangs, it is not whole. */
static Status lay_across(WallPanel *w, int row, const CoursePrices *prices, Course *kept,
                         bool *whole_out, Fault *fault)
{
    bool again = true;
    Status status = STATUS_OK;
    for (int round = 0; round < CROSS_ROUNDS && again && !status; round++) {
        status = lay_around(w, row, prices, kept, whole_out, fault);
        again = false;
        if (!status && *whole_out) status = cross_lines(w, row, prices, kept, &again, fault);
    }
    return status;
}

/* The same, line by line: what leaves something that hangs is not laid. */
static Status lay_across_singly(WallPanel *w, int row, const CoursePrices *prices, Course *kept,
                                bool *whole_out, Fault *fault)
{
    Status status = lay_around(w, row, prices, kept, whole_out, fault);
    for (int x = 1; x < w->panel->columns && *whole_out && !status; x++) {
        if (!is_straight(w, row, x)) continue;
        const CourseBrick brick = course_tiles_across(prices, x);
        if (!brick.columns) continue;
        status = course_add(kept, &brick, fault);
        if (!status) status = lay_around(w, row, prices, kept, whole_out, fault);
        if (status || *whole_out) continue;
        kept->count--;
        status = lay_around(w, row, prices, kept, whole_out, fault);
    }
    return status;
}

/* How a course of a relief is laid, one way after the other until it is filled and nothing hangs:
 * across joints in line, at once or line by line, around what joins pieces; around bricks that
 * carry, deep ones or those that take fewest; around nothing. */
typedef enum Way { ACROSS, ACROSS_SINGLY, AROUND_DEEP, AROUND_CARRIERS, FREELY, WAYS } Way;

static Status lay_carried(WallPanel *w, int row, const CoursePrices *prices, Fault *fault)
{
    Course kept = {0};
    Status status = STATUS_OK;
    bool whole = false;
    for (int way = 0; way < WAYS && !whole && !status; way++) {
        int failed;
        kept.count = 0;
        if (way >= AROUND_DEEP) w->carrier[row].count = 0;
        if (way <= ACROSS_SINGLY) status = course_copy(&kept, &w->carrier[row], fault);
        if (way == AROUND_DEEP || way == AROUND_CARRIERS)
            status = corbel_course(&w->corbel, row, way == AROUND_DEEP, &kept, &failed, fault);
        if (status) break;
        status = way == ACROSS          ? lay_across(w, row, prices, &kept, &whole, fault)
                 : way == ACROSS_SINGLY ? lay_across_singly(w, row, prices, &kept, &whole, fault)
                                        : lay_around(w, row, prices, &kept, &whole, fault);
    }
    course_clear(&kept);
    const int stuck = status || whole ? -1 : bare_column(w, row);
    return stuck < 0 ? status : stuck_fault(w, row, stuck, fault);
}

/* True if a course that is laid has nothing that laying it anew might mend. */
static bool is_sound(const WallPanel *w, int row, const CoursePrices *prices)
{
    const Course *course = &w->course[row];
    if (w->first || !course->count || w->carrier[row].count) return false;
    for (int x = 1; x < w->panel->columns; x++)
        if (is_straight(w, row, x) || prices->bed->cross[x]) return false;
    for (size_t i = 0; i < course->count; i++)
        if (course_prices_flaw(prices, &course->brick[i])) return false;
    return true;
}

/* A panel of few units is searched with more care, as tile.c does a layer of few cells. */
static bool is_small(const WallPanel *w)
{
    return wall_panel_unit(w, 0, w->depth) * (size_t)w->panel->rows <= FEW_UNITS;
}

static int search_width(const WallPanel *w)
{
    const int most = (int)(w->wall->options->effort * MOST_AT_FULL * (is_small(w) ? FEW_TIMES : 1));
    return most > MOST_LEAST ? most : MOST_LEAST;
}

static Status lay_tiles(WallPanel *w, int row, Fault *fault)
{
    int32_t *dual = w->dual + (size_t)row * wall_panel_unit(w, 0, w->depth);
    TileBed bed = see_tile_bed(w, row);
    corbel_see(&w->corbel, row);
    bed.most = search_width(w);
    CoursePrices prices = {0};
    Status status = find_least(w, row, dual, fault);
    if (!status) status = course_prices_init(&prices, &bed, fault);
    if (!status && (is_small(w) || !is_sound(w, row, &prices)))
        status = lay_carried(w, row, &prices, fault);
    course_prices_clear(&prices);
    return status;
}

/* Lays a course of a flat panel. */
static Status lay_leaves(WallPanel *w, int row, const BondPrices *prices, Fault *fault)
{
    Course *course = &w->course[row];
    Bed bed = see_bed(w, row, prices);
    Band band[MOST_BANDS];
    bed.band = band;
    int at = 0;
    for (int attempt = 0; attempt < 2 * CUTS && at >= 0; attempt++) {
        /* Bricks that stay may leave a rest that no brick of the set fills. */
        if (attempt == CUTS && w->carrier[row].count == 0) break;
        if (attempt == CUTS) w->carrier[row].count = 0;
        bed.bands = cut_bands(w, row, (Cut)(attempt % CUTS), band);
        wall_panel_see_hues(w, row);
        Status status = course_copy(course, &w->carrier[row], fault);
        if (!status) status = course_lay(course, course->count, &bed, &at, fault);
        if (status) return status;
    }
    if (at >= 0) return stuck_fault(w, row, at, fault);
    see_joints(w, row);
    return STATUS_OK;
}

Status wall_panel_lay(WallPanel *w, int row, const BondPrices *prices, Fault *fault)
{
    w->dirty[row] = 0;
    if (row < w->standing) return STATUS_OK;
    remember(w, &w->course[row]);
    const Status status = w->relief ? lay_tiles(w, row, fault) : lay_leaves(w, row, prices, fault);
    if (status || remember(w, &w->course[row])) return status;
    for (int y = row - 2; y <= row + 2; y++)
        if (y >= 0 && y < w->panel->rows && y != row) w->dirty[y] = 1;
    return STATUS_OK;
}

Status wall_panel_relief_price(WallPanel *w, int row, int64_t *price_out, Fault *fault)
{
    const TileBed bed = see_tile_bed(w, row);
    const Course *course = &w->course[row];
    CoursePrices prices;
    corbel_see(&w->corbel, row);
    const Status status = course_prices_init(&prices, &bed, fault);
    if (status) return status;
    int64_t price = 0;
    for (size_t i = 0; i < course->count; i++)
        price += COURSE_PRICE_ONE * (1 + course_prices_flaw(&prices, &course->brick[i]));
    for (int x = 1; x < w->panel->columns; x++)
        if (is_parted(w, row, x) && is_parted(w, row - 1, x) && is_parted(w, row - 2, x))
            price += STRAIGHT_PRICE;
    course_prices_clear(&prices);
    *price_out = price;
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
                if (w->wall->solid->left_out[solid_unit(w->wall->solid, w->panel->column + x,
                                                        w->panel->row + row, tier)])
                    return true;
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
    const size_t units = wall_panel_unit(w, 0, w->depth);
    uint8_t *next = w->bytes = memory_create(5 * lines + rows + 8 * edges + 5 * units, 1);
    if (!w->bytes) return false;
    uint8_t **const by_line[] = {&w->parted, &w->bear, &w->carry, &w->cross, &w->whole};
    for (int i = 0; i < 5; i++) *by_line[i] = next_bytes(&next, lines);
    w->dirty = next_bytes(&next, rows);
    for (int i = 0; i < 2; i++) w->run[i] = next_bytes(&next, edges);
    for (int i = 0; i < 2; i++) w->edge[i] = next_bytes(&next, edges);
    for (int i = 0; i < 4; i++) w->top[i] = next_bytes(&next, edges);
    for (int i = 0; i < 5; i++) w->fills[i] = next_bytes(&next, units);
    return true;
}

static Status make_relief(WallPanel *w, Fault *fault)
{
    const size_t rows = (size_t)w->panel->rows, units = wall_panel_unit(w, 0, w->depth);
    w->dual = memory_create(rows * units, sizeof *w->dual);
    w->least = memory_create(rows, sizeof *w->least);
    if (!w->dual || !w->least) return memory_fault(fault, rows * units, sizeof *w->dual);
    for (size_t row = 0; row < rows; row++) w->least[row] = -1;
    return profile_dp_create(&w->dp, w->wall->voice, fault);
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
    if (!made) return memory_fault(fault, 1 + units * 2, sizeof *w->last);
    return w->relief ? make_relief(w, fault) : STATUS_OK;
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
    memory_free(w->dual);
    memory_free(w->least);
    profile_dp_free(w->dp);
    w->dual = NULL;
    w->least = NULL;
    w->dp = NULL;
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
