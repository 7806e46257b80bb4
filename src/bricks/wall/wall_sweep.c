/* Courses laid one against the other.
 *
 * Idea. A panel is laid from its lowest course upward, then swept down and up again: each course is
 * laid anew, at the least price, against its neighbours as they now stand, where one of them has
 * changed. It starts from what is there, so that it is never laid dearer. Where it cannot be
 * filled, or something hangs, bricks that carry are placed first and the rest around them.
 *
 * Invariants. Courses that are not dirty have been laid against their neighbours as they stand.
 * Courses that stand are never touched.
 *
 * Source. Block coordinate descent, as lay_wall.c; the bonds of masonry (course_prices.c,
 * corbel.h). */
#include "bricks/wall/wall_sweep.h"

#include "bricks/wall/course_tiles.h"

#include <string.h>

/* Of the search of a course, by trial on the relief of tests/bench/bench_wall: with a sixth of the
 * profiles 1.3 % more bricks, one thick; with half as many again, one to three thick, 0.14 to
 * 0.18 % fewer in a quarter more time. */
enum {
    MOST_AT_FULL = 96, /* profiles kept, at an effort of 1; */
    MOST_LEAST = 4,    /* at least; */
    FEW_UNITS = 20000, /* of a panel that has FEW_TIMES as many */
    FEW_TIMES = 4,
    WIDER = 8 /* times as many, where pieces are joined and else something hangs; ours */
};

/* Of the laps of a course that needs nothing mended, one in so many at most is below a quarter. By
 * trial on a photograph of 200 columns in relief, two thick: where no course is laid anew for its
 * laps alone, 0.3 % more bricks, and 73 % of joints lap a quarter and not 76; at twice as many
 * hardly better, in a fifth more time. */
enum { SOUND_LAPS = 12 };

/* Of the effort, what goes into what a course's units are worth. By trial on the same: all of it
 * takes a tenth more time for a bound that is 0.02 to 0.1 % higher and as many bricks. */
static const double WORTH_EFFORT = 0.7;

/* What courses together are judged by, in laps below a quarter: a brick, a flaw, a joint in line.
 * Ours. */
enum { BRICK_PRICE = 16, FLAW_PRICE = 16, STRAIGHT_PRICE = 5 * 16 };

/* ---- laying a course ---- */

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

static Status stuck_fault(const WallPanel *w, int row, int column, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "column %d, row %d: no brick of the set fits this cell's colour; add smaller "
                     "bricks to the set or change the cell",
                     w->panel->column + column + 1, w->panel->row + row + 1);
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
static Status lay_around(WallPanel *w, int row, CourseTask *task, bool *whole_out, Fault *fault)
{
    Course *course = &w->course[row];
    int stuck;
    wall_panel_see_hues(w, row);
    for (size_t i = 0; i < task->kept->count; i++) wall_panel_take_units(w, &task->kept->brick[i]);
    const Status status = course_tiles_lay(course, task, w->dp, &stuck, fault);
    if (status) return status;
    wall_panel_see_joints(w, row);
    *whole_out = stuck < 0 && !any_unheld(w, course);
    return STATUS_OK;
}

/* How a course is laid, one way after the other until it is filled and nothing hangs: around what
 * joins pieces, if need be with a wider search; around bricks that carry, deep ones or those that
 * take fewest; around nothing. */
typedef enum Way {
    AROUND_JOINS,
    AROUND_JOINS_WIDELY,
    AROUND_DEEP,
    AROUND_CARRIERS,
    FREELY,
    WAYS
} Way;

static Status lay_carried(WallPanel *w, int row, const CourseTask *asked, Fault *fault)
{
    Course kept = {0};
    CourseTask task = *asked;
    Status status = STATUS_OK;
    bool whole = false;
    for (int way = 0; way < WAYS && !whole && !status; way++) {
        int failed;
        kept.count = 0;
        if (way == AROUND_JOINS_WIDELY && !w->carrier[row].count) continue;
        task.most = asked->most * (way == AROUND_JOINS_WIDELY ? WIDER : 1);
        if (way > AROUND_JOINS_WIDELY) w->carrier[row].count = 0;
        if (way <= AROUND_JOINS_WIDELY) status = course_copy(&kept, &w->carrier[row], fault);
        if (way == AROUND_DEEP || way == AROUND_CARRIERS)
            status = corbel_course(&w->corbel, row, way == AROUND_DEEP, &kept, &failed, fault);
        task.kept = &kept;
        if (!status) status = lay_around(w, row, &task, &whole, fault);
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
        if (is_straight(w, row, x) || wall_panel_line(w, w->cross, row)[x]) return false;
    int laps = 0, short_laps = 0;
    for (size_t i = 0; i < course->count; i++) {
        if (course_prices_flaw(prices, &course->brick[i])) return false;
        laps += 2 * 2 * course->brick[i].tiers; /* two ends, over one course and under one */
        short_laps += course_prices_short_laps(prices, &course->brick[i]);
    }
    return SOUND_LAPS * short_laps <= laps;
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

static Status lay_course(WallPanel *w, int row, Fault *fault)
{
    int32_t *dual = w->dual + (size_t)row * wall_panel_unit(w, 0, w->depth);
    const CourseBed bed = wall_panel_bed(w, row);
    CoursePrices prices = {0};
    CourseTask task = {
        .prices = &prices, .shapes = &w->wall->shapes, .dual = dual, .most = search_width(w)};
    corbel_see(&w->corbel, row);
    Status status = find_least(w, row, dual, fault);
    if (!status) status = course_prices_init(&prices, &bed, fault);
    if (!status && (is_small(w) || !is_sound(w, row, &prices)))
        status = lay_carried(w, row, &task, fault);
    course_prices_clear(&prices);
    return status;
}

Status wall_sweep_lay(WallPanel *w, int row, Fault *fault)
{
    w->dirty[row] = 0;
    if (row < w->standing) return STATUS_OK;
    Status status = course_copy(&w->last, &w->course[row], fault);
    if (!status) status = lay_course(w, row, fault);
    if (status || course_same(&w->last, &w->course[row])) return status;
    wall_panel_mark(w, row, 2);
    w->dirty[row] = 0;
    return STATUS_OK;
}

Status wall_sweep_price(WallPanel *w, int row, long *price_out, Fault *fault)
{
    const CourseBed bed = wall_panel_bed(w, row);
    const Course *course = &w->course[row];
    CoursePrices prices;
    corbel_see(&w->corbel, row);
    const Status status = course_prices_init(&prices, &bed, fault);
    if (status) return status;
    long price = 0;
    for (size_t i = 0; i < course->count; i++)
        price += BRICK_PRICE + FLAW_PRICE * course_prices_flaw(&prices, &course->brick[i]) +
                 course_prices_short_laps(&prices, &course->brick[i]);
    for (int x = 1; x < w->panel->columns; x++)
        if (is_parted(w, row, x) && is_parted(w, row - 1, x) && is_parted(w, row - 2, x))
            price += STRAIGHT_PRICE;
    course_prices_clear(&prices);
    *price_out = price;
    return STATUS_OK;
}

/* ---- sweeps ---- */

Status wall_sweep(WallPanel *w, bool down, Fault *fault)
{
    Status status = STATUS_OK;
    const int rows = w->panel->rows;
    for (int i = 0; i < rows && !status; i++) {
        const int row = down ? rows - 1 - i : i;
        if (voice_stopped(w->wall->voice))
            return fault_set(fault, STATUS_INTERRUPTED,
                             "laying: stopped; run it again to start afresh");
        if (!w->dirty[row]) continue;
        status = wall_sweep_lay(w, row, fault);
    }
    return status;
}

Status wall_sweep_first(WallPanel *w, Fault *fault)
{
    w->first = true;
    memset(w->dirty, 1, (size_t)w->panel->rows);
    const Status status = wall_sweep(w, false, fault);
    w->first = false;
    memset(w->dirty, 1, (size_t)w->panel->rows);
    return status;
}
