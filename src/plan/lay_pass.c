/* A body is laid of the fewest bricks, or the cheapest. Then it may be laid anew: of few sizes
 * whose joints bond, where the job favours bond, and sparing the sizes that the stock lacks.
 * The first laying has the bounds, since it is the only one whose costs are those that the
 * user asked to be least; a later one takes its place, but leaves the bounds as they are. */
#include "plan/lay_pass.h"

#include "bricks/lay.h"
#include "model/parts.h"
#include "plan/shelf.h"

#include <math.h>
#include <string.h>

/* Of the job's effort, for a laying that another one follows. Ours; no bench set it. */
static const double quick = 0.2;

/* A size is left out if a quick laying without it takes at most this many times the bricks of
 * the laying with all sizes. Ours; no bench set it. */
static const double hardly_more = 1.06;

/* A pass under way. */
typedef struct Pass {
    const PassTask *task;
    Laid *laid;
    LayReport *report; /* of the first laying */
    Fault *fault;
} Pass;

static const Job *job_of(const Pass *p) { return p->task->brief->job; }
static const Sizes *sizes_of(const Pass *p) { return &p->task->studio->sizes; }

/* ---- one laying ---- */

/* Lays at such costs; report_out NULL: nothing need be proven. */
static Status lay_at(const Pass *p, const double *cost, double effort, LayReport *report_out)
{
    const PassTask *t = p->task;
    const Studio *studio = t->studio;
    LayOptions options = LAY_OPTIONS_DEFAULT;
    LayReport report;
    /* Colours that only what stands has are laid where it is laid anew, to compare. */
    const Palette *palette = t->built->count ? &studio->offered : &studio->palette;
    options.fill = t->fill;
    options.threads = t->brief->threads;
    options.effort = effort;
    options.cost = cost;
    options.unproven = !report_out;
    options.regular = job_of(p)->favour == FAVOUR_BOND;
    options.standing = t->brief->standing ? t->built : NULL;
    options.ties = t->ties;
    laid_clear(p->laid);
    const LayTask task = {&t->body->solid, &t->body->panels, &studio->sizes};
    Status status = lay(&task, &options, p->laid, &report, t->brief->voice, p->fault);
    if (!status && report_out) *report_out = report;
    if (!status && studio->stock.count)
        status = shelf_colour_backing(p->laid, palette, &studio->sizes, &studio->stock, p->fault);
    return status;
}

/* The parts of the laying, all of which are still to come. */
static Status count_lacking(const Pass *p, Parts *parts_out)
{
    const Studio *studio = p->task->studio;
    const PartsOf of = {.laid = p->laid,
                        .palette = &studio->palette,
                        .sizes = &studio->sizes,
                        .stock = &studio->stock,
                        .spare_percent = job_of(p)->spare};
    return parts_init(parts_out, &of, p->fault);
}

/* Where only the stock may be used, sizes that it has in no colour are not laid; but for units,
 * which can fill any cell. True if there are such sizes. */
static bool bar_absent(const Pass *p, double cost[SIZES_MOST])
{
    const Stock *stock = &p->task->studio->stock;
    const Sizes *sizes = sizes_of(p);
    const int unit = sizes_find(sizes, 1, 1);
    bool there[SIZES_MOST] = {false}, any = false;
    if (!job_of(p)->stock_only || unit < 0) return false;
    for (size_t i = 0; i < stock->count; i++)
        there[stock->line[i].size] |= stock->line[i].quantity > 0;
    there[unit] = true;
    for (int i = 0; i < sizes->count; i++) {
        if (!there[i]) cost[i] = INFINITY;
        any |= !there[i];
    }
    return any;
}

/* ---- of the fewest bricks, or the cheapest ---- */

/* Where only the stock may be used, lays quickly first: if bricks lack, they are parted again,
 * and the last few that effort saves are not kept. */
static Status lay_quickly_first(const Pass *p, const double *cost)
{
    const double effort = job_of(p)->effort;
    Parts parts = {0};
    Status status = lay_at(p, cost, 2 * quick * effort, p->report);
    if (!status) status = count_lacking(p, &parts);
    const bool suffices = !status && !shelf_lacking(&parts);
    parts_clear(&parts);
    return suffices ? lay_at(p, cost, effort, p->report) : status;
}

static Status lay_cheapest(const Pass *p)
{
    double cost[SIZES_MOST];
    const bool priced = brick_costs(job_of(p), sizes_of(p), cost);
    for (int i = 0; i < sizes_of(p)->count && !priced; i++) cost[i] = 1;
    const double *costs = bar_absent(p, cost) || priced ? cost : NULL;
    if (job_of(p)->stock_only) return lay_quickly_first(p, costs);
    return lay_at(p, costs, job_of(p)->effort, p->report);
}

/* ---- of few sizes whose joints bond ---- */

static void count_sizes(const Laid *laid, size_t used_out[SIZES_MOST])
{
    memset(used_out, 0, SIZES_MOST * sizeof *used_out);
    for (size_t i = 0; i < laid->count; i++) used_out[laid->brick[i].size]++;
}

/* The size that fewest bricks have of those not tried yet; -1 for none. */
static int rarest_size(const size_t *used, const bool *tried, int sizes)
{
    int rarest = -1;
    for (int i = 0; i < sizes; i++)
        if (!tried[i] && (rarest < 0 || used[i] < used[rarest])) rarest = i;
    return rarest;
}

/* Leaves out one size after the other, as long as quick layings take hardly more bricks. */
static Status find_few_sizes(const Pass *p, double cost_out[SIZES_MOST])
{
    const double effort = quick * job_of(p)->effort;
    const int sizes = sizes_of(p)->count;
    size_t used[SIZES_MOST];
    bool tried[SIZES_MOST] = {false};
    for (int i = 0; i < sizes; i++) cost_out[i] = 1;
    bar_absent(p, cost_out);
    for (int i = 0; i < sizes; i++) tried[i] = !isfinite(cost_out[i]);
    Status status = lay_at(p, cost_out, effort, NULL);
    const double most = hardly_more * (double)p->laid->count;
    count_sizes(p->laid, used);
    for (int i; !status && (i = rarest_size(used, tried, sizes)) >= 0;) {
        tried[i] = true;
        cost_out[i] = INFINITY;
        status = lay_at(p, cost_out, effort, NULL);
        if (!status && (double)p->laid->count <= most) {
            count_sizes(p->laid, used);
        } else if (!status || status == STATUS_DATA) { /* it is needed */
            cost_out[i] = 1;
            status = STATUS_OK;
        }
    }
    return status;
}

static Status lay_bonded(const Pass *p)
{
    double cost[SIZES_MOST];
    const Status status = find_few_sizes(p, cost);
    return status ? status : lay_at(p, cost, job_of(p)->effort, NULL);
}

/* ---- sparing what the stock lacks ---- */

/* Lays once more, at these costs, and keeps the laying that lacks less. */
static Status lay_lacking_less(const Pass *p, const double *cost, long lacking)
{
    Laid first = *p->laid;
    Parts parts = {0};
    *p->laid = (Laid){0};
    Status status = lay_at(p, cost, (job_of(p)->stock_only ? quick : 1) * job_of(p)->effort, NULL);
    if (!status) status = count_lacking(p, &parts);
    const bool better = !status && shelf_lacking(&parts) < lacking;
    parts_clear(&parts);
    laid_clear(better ? &first : p->laid);
    if (!better) *p->laid = first;
    return status;
}

static Status lay_sparing(const Pass *p)
{
    double cost[SIZES_MOST];
    Parts parts;
    const Status status = count_lacking(p, &parts);
    if (status) return status;
    const bool lacks = shelf_costs(&parts, sizes_of(p), cost);
    const long lacking = shelf_lacking(&parts);
    parts_clear(&parts);
    if (!lacks) return STATUS_OK;
    bar_absent(p, cost);
    return lay_lacking_less(p, cost, lacking);
}

/* ---- the pass ---- */

static bool favours_bond(const Pass *p) { return job_of(p)->favour == FAVOUR_BOND; }
static bool has_stock(const Pass *p) { return p->task->studio->stock.count > 0; }

static const struct PassStep {
    bool (*applies)(const Pass *pass); /* NULL: always */
    Status (*take)(const Pass *pass);
} pass_steps[] = {
    {NULL, lay_cheapest},
    {favours_bond, lay_bonded},
    {has_stock, lay_sparing},
};

Status lay_pass(const PassTask *task, Laid *laid, LayReport *report_out, Fault *fault)
{
    const Pass pass = {task, laid, report_out, fault};
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < sizeof pass_steps / sizeof *pass_steps; i++)
        if (!pass_steps[i].applies || pass_steps[i].applies(&pass))
            status = pass_steps[i].take(&pass);
    return status;
}
