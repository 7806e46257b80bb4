/* A wall, panel by panel.
 *
 * Idea. A panel is laid from its lowest course upward (wall/wall_panel.h); swept down and up, each
 * course anew against its neighbours, which is a descent over the blocks of one course; searched
 * further by changing three courses at once (wall/wall_local_search.h); and mended where it does
 * not hold together (wall/repair_panel.h). Last a bound is proven (wall/bound.h).
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
#include "bricks/wall/repair_panel.h"
#include "bricks/wall/wall_local_search.h"
#include "bricks/wall/wall_panel.h"

#include <assert.h>
#include <math.h>

typedef struct Job {
    const Wall *wall;
    size_t *first; /* of the bricks that stand, those of each panel; one more than panels */
    WallPanel *panel;
    Status *status;
    Fault *fault;
} Job;

static Status lay_panel(WallPanel *m, const Job *job, int panel, Fault *fault)
{
    const Wall *wall = job->wall;
    const Laid *standing = wall->options->standing;
    const size_t first = job->first[panel], stand = job->first[panel + 1] - first;
    const double effort = wall->options->effort;
    Status status = wall_panel_init(m, wall, panel, fault);
    if (!status && stand) status = wall_panel_stand(m, standing->brick + first, stand, fault);
    if (!status && m->standing == m->panel->rows) {
        m->bound = (double)stand;
        wall_panel_finish(m);
        return STATUS_OK;
    }
    if (!status) status = wall_panel_sweep_first(m, fault);
    if (!status) status = repair_panel_settle(m, 2 + (int)(effort * 16), fault);
    if (!status) status = wall_local_search(m, (int)(effort * 4 + 0.5), fault);
    if (!status) status = repair_panel_settle(m, 2, fault);
    if (!status) status = repair_panel(m, 2 + (int)(effort * 40), fault);
    if (!status && !wall->options->unproven)
        status = bound_wall(&m->bound, wall->solid, m->panel, &wall->plain,
                            m->straight ? 0 : 8 + (int)(effort * 64), fault);
    if (m->bound < (double)stand) m->bound = (double)stand;
    wall_panel_finish(m);
    return status;
}

static void lay_band(void *context, int begin, int end, int worker)
{
    Job *job = context;
    (void)worker;
    for (int p = begin; p < end; p++)
        job->status[p] = lay_panel(&job->panel[p], job, p, &job->fault[p]);
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

static Status emit(const WallPanel *m, Laid *laid, Fault *fault)
{
    for (int row = m->standing; row < m->panel->rows; row++) {
        const Course *course = &m->course[row];
        for (size_t i = 0; i < course->count; i++) {
            const Piece *p = &course->piece[i];
            Brick brick = {.column = m->panel->column + p->column,
                           .row = m->panel->row + row,
                           .panel = m->index,
                           .tier = (uint8_t)p->tier,
                           .columns = p->columns,
                           .rows = 1,
                           .tiers = p->tiers,
                           .size = (uint8_t)p->size};
            colour_brick(m->wall->solid, m->wall->options->fill, &brick);
            const Status status = laid_add(laid, &brick, fault);
            if (status) return status;
        }
    }
    return STATUS_OK;
}

static void find_standing(Job *job, const Laid *standing)
{
    const size_t panels = (size_t)job->wall->panels->count;
    for (size_t i = 0; standing && i < standing->count; i++)
        job->first[standing->brick[i].panel + 1]++;
    for (size_t p = 0; p < panels; p++) job->first[p + 1] += job->first[p];
}

/* What a panel costs at least: its bricks by count are no cheaper than the cheapest, and its
 * units than in the size that is cheapest for its volume. */
static double least_cost(const WallPanel *m)
{
    const Wall *wall = m->wall;
    const double *cost = wall->options->cost;
    const Panel *p = m->panel;
    if (!cost) return 0;
    double cheapest = cost[0];
    for (int i = 1; i < wall->sizes->count; i++) cheapest = fmin(cheapest, cost[i]);
    long units = 0;
    for (int row = p->row; row < p->row + p->rows; row++)
        for (int column = p->column; column < p->column + p->columns; column++)
            for (int tier = 0; tier < solid_top(wall->solid, column, row); tier++)
                units += solid_fills(wall->solid, column, row, tier);
    return fmax(m->bound * cheapest, (double)units * lay_unit_cost(wall->sizes, cost));
}

static Status lay_all(Job *job, Laid *laid, LayReport *report, Fault *fault)
{
    const int panels = job->wall->panels->count;
    bands_run(job->wall->options->threads, panels, 1, lay_band, job);
    for (int p = 0; p < panels; p++) {
        Status status = job->status[p];
        if (status && fault) *fault = job->fault[p];
        if (!status) status = emit(&job->panel[p], laid, fault);
        if (status) return status;
        if (job->wall->options->unproven) continue;
        report->lower_bound += job->panel[p].bound;
        report->lower_cost += least_cost(&job->panel[p]);
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
    return wall;
}

Status lay_wall(const LayTask *task, const LayOptions *options, Laid *laid_out,
                LayReport *report_out, const Voice *voice, Fault *fault)
{
    assert(task->solid->build == BUILD_WALL && task->solid->base > 0);
    const size_t n = (size_t)task->panels->count;
    Wall *wall = memory_create(1, sizeof *wall);
    Job job = {wall, memory_create(n + 1, sizeof *job.first), memory_create(n, sizeof *job.panel),
               memory_create(n, sizeof *job.status), memory_create(n, sizeof *job.fault)};
    Status status = wall && job.first && job.panel && job.status && job.fault
                        ? STATUS_OK
                        : memory_fault(fault, n, sizeof *job.panel);
    *report_out = (LayReport){0};
    if (!status) {
        *wall = wall_of(task, options, voice);
        find_standing(&job, options->standing);
        voice_progress(voice, "lay", 0);
        status = lay_all(&job, laid_out, report_out, fault);
        for (size_t p = 0; p < n; p++)
            if (job.panel[p].wall) wall_panel_clear(&job.panel[p]);
        if (!status) voice_progress(voice, "lay", 1);
    }
    if (status) laid_clear(laid_out);
    memory_free(job.fault);
    memory_free(job.status);
    memory_free(job.panel);
    memory_free(job.first);
    memory_free(wall);
    return status;
}
