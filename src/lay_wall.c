#include "lay_wall.h"

#include "bands.h"
#include "bound.h"
#include "course.h"
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
    int16_t *hue;
    View view[2];
    uint8_t *run[2];
    uint32_t *old; /* to tell whether a course has changed */
    CourseRoom room;
    double bound;
    bool first;
} Work;

static size_t unit_at(const Work *w, int column, int tier)
{
    return (size_t)tier * (size_t)w->panel->columns + (size_t)column;
}

/* What each unit of a course must show. */
static void see_hues(const Work *w, int row)
{
    const Solid *solid = w->wall->solid;
    for (int x = 0; x < w->panel->columns; x++) {
        const int column = w->panel->column + x, y = w->panel->row + row;
        const int top = solid_top(solid, column, y);
        const int hue = grid_colour(solid->grid, column, y);
        for (int tier = 0; tier < w->depth; tier++)
            w->hue[unit_at(w, x, tier)] =
                (int16_t)(tier >= top                           ? HUE_NONE
                          : solid_shown(solid, column, y, tier) ? hue
                                                                : HUE_FREE);
    }
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

static uint8_t *parted_at(const Work *w, int row)
{
    return w->parted + (size_t)row * ((size_t)w->panel->columns + 1);
}

static void see_joints(const Work *w, int row)
{
    uint8_t *parted = parted_at(w, row);
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
        run[x] = !there || !parted_at(w, near)[x] ? 0 : beyond && parted_at(w, far)[x] ? 2 : 1;
}

static Status stuck(const Work *w, int row, int column, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "column %d, row %d: no brick of the set fits this cell's colour; add smaller "
                     "bricks to the set or change the cell",
                     w->panel->column + column + 1, w->panel->row + row + 1);
}

/* The bands of a course: the whole thickness where two leaves can fill it. */
static int cut_bands(const Work *w, int row, uint8_t *band)
{
    int n = 0, tier = 0;
    band[n++] = 0;
    const int odd = w->depth % (LEAVES_MOST_SPLITS + 1);
    if (odd && row % 2 && w->depth > LEAVES_MOST_SPLITS + 1) band[n++] = (uint8_t)(tier = odd);
    while (tier < w->depth) {
        tier += LEAVES_MOST_SPLITS + 1;
        if (tier > w->depth) tier = w->depth;
        band[n++] = (uint8_t)tier;
    }
    return n - 1;
}

static bool remember(Work *w, const Course *course)
{
    const size_t n = course->count * sizeof *course->piece;
    const bool same = w->old[0] == course->count && !memcmp(w->old + 1, course->piece, n);
    w->old[0] = (uint32_t)course->count;
    if (n) memcpy(w->old + 1, course->piece, n);
    return same;
}

/* Lays one course against its neighbours; marks those that may now be laid better. */
static Status lay_row(Work *w, int row, Fault *fault)
{
    const int rows = w->panel->rows;
    Course *course = &w->course[row];
    const bool below = row > 0 && w->course[row - 1].count;
    const bool above = row + 1 < rows && w->course[row + 1].count;
    see_hues(w, row);
    if (below) see_course(w, &w->course[row - 1], &w->view[0]);
    if (above) see_course(w, &w->course[row + 1], &w->view[1]);
    see_runs(w, row, -1, w->run[0]);
    see_runs(w, row, 1, w->run[1]);
    uint8_t band[256];
    BondPrices prices = w->depth == 1 ? ONE_THICK : THICKER;
    if (w->first && w->depth > 1) prices.forced = row % 3 == 1 ? 400 : 0;
    const Bed bed = {.columns = w->panel->columns,
                     .depth = w->depth,
                     .hue = w->hue,
                     .below = below ? &w->view[0] : NULL,
                     .above = above ? &w->view[1] : NULL,
                     .under = w->run[0],
                     .over = w->run[1],
                     .lowest = row == 0,
                     .highest = row == rows - 1,
                     .second = row == 1,
                     .last_but_one = row == rows - 2,
                     .prices = &prices,
                     .bands = cut_bands(w, row, band),
                     .band = band};
    remember(w, course);
    int at;
    Status status = course_lay(course, 0, &bed, &w->wall->cuts, &w->room, &at, fault);
    if (status) return status;
    if (at >= 0) return stuck(w, row, at, fault);
    see_joints(w, row);
    w->dirty[row] = 0;
    if (remember(w, course)) return STATUS_OK;
    for (int y = row - 2; y <= row + 2; y++)
        if (y >= 0 && y < rows && y != row) w->dirty[y] = 1;
    return STATUS_OK;
}

static Status work_init(Work *w, Fault *fault)
{
    const size_t columns = (size_t)w->panel->columns, rows = (size_t)w->panel->rows;
    for (int y = 0; y < w->panel->rows; y++)
        for (int x = 0; x < w->panel->columns; x++) {
            const int top = solid_top(w->wall->solid, w->panel->column + x, w->panel->row + y);
            if (top > w->depth) w->depth = top;
        }
    const size_t units = columns * (size_t)w->depth;
    const int band = w->depth < LEAVES_MOST_SPLITS + 1 ? w->depth : LEAVES_MOST_SPLITS + 1;
    Status status = course_room_init(&w->room, w->panel->columns, band, &w->wall->cuts, fault);
    if (status) return status;
    w->course = memory_create(rows, sizeof *w->course);
    if (w->course) w->parted = memory_create(rows * (columns + 1), 1);
    if (w->parted) w->dirty = memory_create(rows, 1);
    if (w->dirty) w->hue = memory_create(units, sizeof *w->hue);
    if (w->hue) w->view[0].unit = memory_create(units, sizeof(int32_t));
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
    memory_free(w->hue);
    memory_free(w->view[0].unit);
    memory_free(w->view[1].unit);
    memory_free(w->run[0]);
    memory_free(w->run[1]);
    memory_free(w->old);
    course_room_clear(&w->room);
    w->parted = w->dirty = w->run[0] = w->run[1] = NULL;
    w->hue = NULL;
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

static Status lay_panel(Work *w, Fault *fault)
{
    Status status = work_init(w, fault);
    const int sweeps = 2 + (int)(w->wall->options->effort * 8);
    w->first = true;
    if (!status) status = sweep(w, false, true, fault);
    w->first = false;
    if (!status) memset(w->dirty, 1, (size_t)w->panel->rows);
    for (int i = 0; i < sweeps && !status; i++) status = sweep(w, i % 2 == 0, false, fault);
    if (!status) status = bound_wall(&w->bound, w->wall->solid, w->panel, &w->wall->plain,
                            4 + (int)(w->wall->options->effort * 32), fault);
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
