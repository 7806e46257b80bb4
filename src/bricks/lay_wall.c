/* A wall, panel by panel.
 *
 * Idea. A panel is laid from its lowest course upward; swept down and up, each course anew against
 * its neighbours, which is a descent over the blocks of one course (wall/wall_sweep.h); searched
 * further by changing courses together (wall/wall_local_search.h); and repaired where it does not
 * hold together (wall/repair_panel.h). Its bound is the sum of what its courses need
 * (wall/course_tiles.h) or, where it is flat, what the bond needs if that is more (wall/bound.h).
 *
 * Invariants. Panels do not touch each other's work, so they are laid in parallel, and the outcome,
 * a fault too, is taken in the order of the panels: the same for any number of threads.
 *
 * Source. Course by course as bricklayers do; the sweeps are block coordinate descent (Bertsekas,
 * Nonlinear Programming, from memory). */
#include "bricks/lay_wall.h"

#include "base/bands.h"
#include "base/memory.h"
#include "bricks/wall/bound.h"
#include "bricks/wall/course_prices.h"
#include "bricks/wall/repair_panel.h"
#include "bricks/wall/wall_local_search.h"
#include "bricks/wall/wall_panel.h"
#include "bricks/wall/wall_sweep.h"

#include <assert.h>
#include <math.h>

/* What the effort buys: so many at an effort of 0, and so many more at 1. By trial at the default:
 * without SEARCH_ROUNDS 0.6 % more bricks two thick, with four times as many no fewer; twice the
 * BOUND_ROUNDS raise the bound by 0.1 %. */
typedef struct EffortSteps {
    int least, more;
} EffortSteps;

/* From two sweeps and four repairs on hardly any brick and few weak ones are saved. */
static const EffortSteps SWEEPS = {0, 8}, REPAIR_ROUNDS = {2, 8};
static const EffortSteps BOUND_ROUNDS = {8, 64};
enum {
    SEARCH_ROUNDS = 4, /* at an effort of 1, rounded */
    LAST_SWEEPS = 2    /* one down, one up, after courses were changed */
};

static int effort_steps(EffortSteps steps, double effort)
{
    return steps.least + (int)(effort * steps.more);
}

typedef struct PanelJobs {
    const Wall *wall;
    size_t *first; /* of the bricks that stand, those of each panel; one more than panels */
    WallPanel *panel;
    Status *status;
    Fault *fault;
} PanelJobs;

/* The sum of what courses need, or more where all is flat and joints must be crossed. */
static Status bound_panel(WallPanel *w, Fault *fault)
{
    const Wall *wall = w->wall;
    const double effort = wall->options->effort;
    double bonded = 0;
    for (int row = 0; row < w->panel->rows; row++)
        w->bound += row < w->standing ? (double)w->course[row].count : w->least[row];
    if (!w->flat) return STATUS_OK;
    const Status status =
        bound_flat_wall(&bonded, wall->solid, w->panel, &wall->plain,
                        w->straight ? 0 : effort_steps(BOUND_ROUNDS, effort), fault);
    if (bonded > w->bound) w->bound = bonded;
    return status;
}

static Status lay_panel(WallPanel *w, const PanelJobs *jobs, int panel, Fault *fault)
{
    const Wall *wall = jobs->wall;
    const Laid *standing = wall->options->standing;
    const size_t first = jobs->first[panel], stand = jobs->first[panel + 1] - first;
    const double effort = wall->options->effort;
    Status status = wall_panel_init(w, wall, panel, fault);
    if (!status && stand) status = wall_panel_stand(w, standing->brick + first, stand, fault);
    if (!status && w->standing == w->panel->rows) {
        w->bound = (double)stand;
        wall_panel_finish(w);
        return STATUS_OK;
    }
    if (!status) status = wall_sweep_first(w, fault);
    if (!status) status = repair_panel_settle(w, effort_steps(SWEEPS, effort), fault);
    if (!status) status = wall_local_search(w, (int)(effort * SEARCH_ROUNDS + 0.5), fault);
    if (!status) status = repair_panel_settle(w, LAST_SWEEPS, fault);
    if (!status) status = repair_panel(w, effort_steps(REPAIR_ROUNDS, effort), fault);
    if (!status && !wall->options->unproven) status = bound_panel(w, fault);
    if (w->bound < (double)stand) w->bound = (double)stand;
    wall_panel_finish(w);
    return status;
}

static void lay_panels(void *context, int begin, int end, int worker)
{
    PanelJobs *jobs = context;
    (void)worker;
    for (int p = begin; p < end; p++)
        jobs->status[p] = lay_panel(&jobs->panel[p], jobs, p, &jobs->fault[p]);
}

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

static Status add_bricks(const WallPanel *w, Laid *laid, Fault *fault)
{
    for (int row = w->standing; row < w->panel->rows; row++) {
        const Course *course = &w->course[row];
        for (size_t i = 0; i < course->count; i++) {
            const CourseBrick *p = &course->brick[i];
            Brick brick = {.column = w->panel->column + p->column,
                           .row = w->panel->row + row,
                           .panel = w->index,
                           .tier = (uint8_t)p->tier,
                           .columns = p->columns,
                           .rows = 1,
                           .tiers = p->tiers,
                           .size = (uint8_t)p->size};
            colour_brick(w->wall->solid, w->wall->options->fill, &brick);
            const Status status = laid_add(laid, &brick, fault);
            if (status) return status;
        }
    }
    return STATUS_OK;
}

static void find_standing(PanelJobs *jobs, const Laid *standing)
{
    const size_t panels = (size_t)jobs->wall->panels->count;
    for (size_t i = 0; standing && i < standing->count; i++)
        jobs->first[standing->brick[i].panel + 1]++;
    for (size_t p = 0; p < panels; p++) jobs->first[p + 1] += jobs->first[p];
}

/* What a panel costs at least: its bricks by count are no cheaper than the cheapest, and its
 * units than in the size that is cheapest for its volume. */
static double least_cost(const WallPanel *w)
{
    const Wall *wall = w->wall;
    const double *cost = wall->options->cost;
    const Panel *p = w->panel;
    if (!cost) return 0;
    double cheapest = cost[0];
    for (int i = 1; i < wall->sizes->count; i++) cheapest = fmin(cheapest, cost[i]);
    long units = 0;
    for (int row = p->row; row < p->row + p->rows; row++)
        for (int column = p->column; column < p->column + p->columns; column++)
            for (int tier = 0; tier < solid_top(wall->solid, column, row); tier++)
                units += solid_fills(wall->solid, column, row, tier);
    return fmax(w->bound * cheapest, (double)units * lay_unit_cost(wall->sizes, cost));
}

static Status lay_all(PanelJobs *jobs, Laid *laid, LayReport *report, Fault *fault)
{
    const int panels = jobs->wall->panels->count;
    bands_run(jobs->wall->options->threads, panels, 1, lay_panels, jobs);
    for (int p = 0; p < panels; p++) {
        Status status = jobs->status[p];
        if (status && fault) *fault = jobs->fault[p];
        if (!status) status = add_bricks(&jobs->panel[p], laid, fault);
        if (status) return status;
        if (jobs->wall->options->unproven) continue;
        report->lower_bound += jobs->panel[p].bound;
        report->lower_cost += least_cost(&jobs->panel[p]);
    }
    laid_sort(laid, 1);
    report->bricks = laid->count;
    return STATUS_OK;
}

/* What all panels share. */
static Wall wall_of(const LayTask *task, const LayOptions *options, const Voice *voice)
{
    Wall wall = {.solid = task->solid,
                 .sizes = task->sizes,
                 .panels = task->panels,
                 .options = options,
                 .voice = voice};
    cuts_init(&wall.cuts, task->sizes, options->cost);
    cuts_init(&wall.plain, task->sizes, NULL);
    shapes_init(&wall.shapes, task->sizes, options->cost);
    shapes_init(&wall.plain_shapes, task->sizes, NULL);
    wall.price_step = course_prices_step(&wall.shapes);
    return wall;
}

Status lay_wall(const LayTask *task, const LayOptions *options, Laid *laid_out,
                LayReport *report_out, const Voice *voice, Fault *fault)
{
    assert(task->solid->build == BUILD_WALL && task->solid->base > 0);
    const size_t n = (size_t)task->panels->count;
    Wall *wall = memory_create(1, sizeof *wall);
    PanelJobs jobs = {wall, memory_create(n + 1, sizeof *jobs.first),
                      memory_create(n, sizeof *jobs.panel), memory_create(n, sizeof *jobs.status),
                      memory_create(n, sizeof *jobs.fault)};
    Status status = wall && jobs.first && jobs.panel && jobs.status && jobs.fault
                        ? STATUS_OK
                        : memory_fault(fault, n, sizeof *jobs.panel);
    *report_out = (LayReport){0};
    if (!status) {
        *wall = wall_of(task, options, voice);
        find_standing(&jobs, options->standing);
        voice_progress(voice, "lay", 0);
        status = lay_all(&jobs, laid_out, report_out, fault);
        for (size_t p = 0; p < n; p++)
            if (jobs.panel[p].wall) wall_panel_clear(&jobs.panel[p]);
        if (!status) voice_progress(voice, "lay", 1);
    }
    if (status) laid_clear(laid_out);
    memory_free(jobs.fault);
    memory_free(jobs.status);
    memory_free(jobs.panel);
    memory_free(jobs.first);
    memory_free(wall);
    return status;
}
