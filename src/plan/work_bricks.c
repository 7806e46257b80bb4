/* Bricks: the relief is made to hold, the solid laid, its core left out where asked, and all
 * fitted to what is on the shelf and to what stands. */
#include "plan/work.h"

#include "base/memory.h"
#include "bricks/lay.h"
#include "hold/connect_panels.h"
#include "hold/relief_support.h"
#include "plan/shelf.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Takes down what no brick of a wall could carry, and lists what is not as it was asked. */
static Status carry_relief(Work *work)
{
    const Solid *solid = &work->mural.solid;
    const Relief relief = {.grid = &work->grid,
                           .build = solid->build,
                           .base = solid->base,
                           .panels = &work->panels,
                           .sizes = &work->sizes};
    StepChanges step_changes;
    if (!work->grid.steps || work->standing) return STATUS_OK; /* as it was first planned */
    Status status = relief_support_steps(&relief, &step_changes, work->voice, work->fault);
    step_changes_clear(&step_changes);
    step_changes_clear(&work->step_changes);
    if (!status)
        status = step_changes_list(&work->step_changes, &work->grid, work->asked, work->fault);
    return status;
}

static Status keep_asked(Work *work)
{
    if (!work->grid.steps) return STATUS_OK;
    const size_t cells = grid_cells(&work->grid);
    work->asked = memory_create(cells, 1);
    if (!work->asked) return memory_fault(work->fault, cells, 1);
    memcpy(work->asked, work->grid.steps, cells);
    return STATUS_OK;
}

static void say_carried(const Work *work)
{
    const StepChanges *c = &work->step_changes;
    if (c->lowered)
        voice_note(work->voice,
                   "relief: %zu cells stand %ld steps lower in all than asked, since nothing below "
                   "could carry them; plan.json lists them",
                   c->lowered, c->steps);
    if (c->count > c->lowered)
        voice_note(work->voice,
                   "relief: %zu cells stand a step higher than asked, so that bricks behind them "
                   "join what their colours part; plan.json lists them",
                   c->count - c->lowered);
}

/* ---- bricks ---- */

/* The colour whose bricks cost least for their volume, where the stock tells prices. */
static int cheapest_colour(const Work *work)
{
    double least = INFINITY;
    int colour = 0;
    for (size_t i = 0; i < work->stock.count; i++) {
        const StockLine *line = &work->stock.line[i];
        const Size *size = &work->sizes.size[line->size];
        const double price = line->price / (size->width * size->length);
        if (line->colour >= work->offered.count) continue;
        if (!(price < least) && !(price == least && line->colour < colour)) continue;
        least = price;
        colour = line->colour;
    }
    return colour;
}

/* The colour of backing that nothing else decides. */
static Status find_fill(Work *work)
{
    const char *id = work->job->backing;
    work->fill = *id ? palette_find(&work->offered, id) : cheapest_colour(work);
    if (work->fill >= 0) return STATUS_OK;
    return fault_set(work->fault, STATUS_USAGE,
                     "--backing: '%s' is no colour of the palette; give one of its ids", id);
}

/* Lays the mural; with no proof the bounds are those of the laying before. */
static Status lay_at(Work *work, const double *cost, double effort, bool proven)
{
    LayOptions options = LAY_OPTIONS_DEFAULT;
    LayReport report;
    /* Colours that only what stands has are laid where it is laid anew, to compare. */
    const Palette *palette = work->built.count ? &work->offered : &work->palette;
    options.fill = work->fill;
    options.threads = work->threads;
    options.effort = effort;
    options.cost = cost;
    options.unproven = !proven;
    options.regular = work->job->favour == FAVOUR_BOND;
    options.standing = work->standing ? &work->built : NULL;
    laid_clear(&work->laid);
    const LayTask task = {&work->mural.solid, &work->panels, &work->sizes};
    Status status = lay(&task, &options, &work->laid, &report, work->voice, work->fault);
    if (!status && proven) work->laying = report;
    if (!status && work->stock.count)
        status =
            shelf_colour_backing(&work->laid, palette, &work->sizes, &work->stock, work->fault);
    return status;
}

/* Of the effort, for a laying that another follows. */
static const double quick = 0.2;

static Status count_parts(Work *work, const Laid *standing)
{
    parts_clear(&work->parts);
    return parts_init(&work->parts, &work->laid, standing, &work->palette, &work->sizes,
                      &work->stock, work->job->spare, work->fault);
}

/* Where only the stock may be used, sizes that it has in no colour are not laid; but for units,
 * which can fill any cell. True if there are such sizes. */
static bool bar_absent(const Work *work, double cost[SIZES_MOST])
{
    const int unit = sizes_find(&work->sizes, 1, 1);
    bool there[SIZES_MOST] = {false}, any = false;
    if (!work->job->stock_only || unit < 0) return false;
    for (size_t i = 0; i < work->stock.count; i++)
        there[work->stock.line[i].size] |= work->stock.line[i].quantity > 0;
    there[unit] = true;
    for (int i = 0; i < work->sizes.count; i++) {
        if (!there[i]) cost[i] = INFINITY;
        any |= !there[i];
    }
    return any;
}

/* Lays once more, sparing the sizes that lacked, and keeps the laying that lacks less. */
static Status lay_sparing(Work *work)
{
    double cost[SIZES_MOST];
    Status status = count_parts(work, NULL);
    if (status || !shelf_costs(&work->parts, &work->sizes, cost)) return status;
    bar_absent(work, cost);
    const long lacking = shelf_lacking(&work->parts);
    Laid first = work->laid;
    work->laid = (Laid){0};
    status = lay_at(work, cost, (work->job->stock_only ? quick : 1) * work->job->effort, false);
    if (!status) status = count_parts(work, NULL);
    if (!status && shelf_lacking(&work->parts) < lacking) {
        laid_clear(&first);
        return STATUS_OK;
    }
    laid_clear(&work->laid);
    work->laid = first;
    return status;
}

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
static Status find_few_sizes(Work *work, double cost_out[SIZES_MOST])
{
    static const double hardly_more = 1.06;
    const double effort = quick * work->job->effort;
    size_t used[SIZES_MOST];
    bool tried[SIZES_MOST] = {false};
    for (int i = 0; i < work->sizes.count; i++) cost_out[i] = 1;
    bar_absent(work, cost_out);
    for (int i = 0; i < work->sizes.count; i++) tried[i] = !isfinite(cost_out[i]);
    Status status = lay_at(work, cost_out, effort, false);
    const double most = hardly_more * (double)work->laid.count;
    count_sizes(&work->laid, used);
    for (int i; !status && (i = rarest_size(used, tried, work->sizes.count)) >= 0;) {
        tried[i] = true;
        cost_out[i] = INFINITY;
        status = lay_at(work, cost_out, effort, false);
        if (!status && (double)work->laid.count <= most) {
            count_sizes(&work->laid, used);
        } else if (!status || status == STATUS_DATA) { /* it is needed */
            cost_out[i] = 1;
            status = STATUS_OK;
        }
    }
    return status;
}

/* Lays the mural once more, of few sizes whose joints bond. */
static Status lay_bonded(Work *work)
{
    double cost[SIZES_MOST];
    Status status = find_few_sizes(work, cost);
    if (!status) status = lay_at(work, cost, work->job->effort, false);
    return status;
}

/* Where only the stock may be used, lays quickly first: if bricks lack, they are parted again, and
 * the last few that effort saves are not kept. */
static Status lay_alike(Work *work, const double *cost)
{
    const double effort = work->job->effort;
    if (!work->job->stock_only) return lay_at(work, cost, effort, true);
    Status status = lay_at(work, cost, 2 * quick * effort, true);
    if (!status) status = count_parts(work, NULL);
    if (!status && !shelf_lacking(&work->parts)) status = lay_at(work, cost, effort, true);
    return status;
}

static Status lay_units(Work *work)
{
    double cost[SIZES_MOST];
    const bool priced = work_brick_costs(work, cost);
    for (int i = 0; i < work->sizes.count && !priced; i++) cost[i] = 1;
    const bool barred = bar_absent(work, cost);
    Status status = lay_alike(work, priced || barred ? cost : NULL);
    if (!status && work->job->favour == FAVOUR_BOND) status = lay_bonded(work);
    return status || !work->stock.count ? status : lay_sparing(work);
}

/* Lays the mural; where panels of a relief wall come apart, ties them and lays it again. */
static Status lay_tied(Work *work)
{
    enum { ROUNDS = 4 };
    size_t raised = 1;
    Status status = STATUS_OK;
    for (int round = 0; round < ROUNDS && raised && !status; round++) {
        status = lay_units(work);
        if (work->standing) return status; /* its relief stays as it was first planned */
        if (!status)
            status = connect_panels(&work->grid, &work->mural.solid, &work->panels, &work->laid,
                                    &raised, work->fault);
        if (!status && raised) status = carry_relief(work);
    }
    return status || !raised ? status : lay_units(work);
}

/* ---- a hollow core ---- */

static double laid_kg(const Work *work, const Laid *laid)
{
    double mass_g = 0;
    for (size_t i = 0; i < laid->count; i++) mass_g += work->sizes.size[laid->brick[i].size].mass_g;
    return mass_g / 1000;
}

/* Puts what stands among what was laid around it. */
static Status join_standing(const Work *work, Laid *laid)
{
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < work->built.count; i++)
        status = laid_add(laid, &work->built.brick[i], work->fault);
    laid_sort(laid, work->mural.solid.build == BUILD_WALL);
    return status;
}

static HollowTask hollow_task(Work *work)
{
    return (HollowTask){
        .solid = &work->mural.solid,
        .panels = &work->panels,
        .sizes = &work->sizes,
        .shell = work->job->hollow,
    };
}

/* Fills what a panel that does not hold may lack; *filled_out is whether anything was. */
static Status mend_core(Work *work, bool all, bool *filled_out)
{
    const Mural *m = &work->mural;
    const HollowTask task = hollow_task(work);
    const size_t units = work->hollow.units;
    Bond bond = {0};
    Laid laid = {0};
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < work->laid.count; i++)
        status = laid_add(&laid, &work->laid.brick[i], work->fault);
    if (!status) status = join_standing(work, &laid);
    if (!status)
        status = bond_init(&bond, &m->solid, &work->panels, &laid, work->threads, work->fault);
    if (!status) status = hollow_mend(&work->hollow, &task, &laid, &bond, all, work->fault);
    *filled_out = work->hollow.units < units;
    bond_clear(&bond);
    laid_clear(&laid);
    return status;
}

/* Lays around the core, and fills it again where panels do not hold: near the flaws, and in
 * the last round of a panel all through. */
static Status lay_around_core(Work *work)
{
    enum { ROUNDS = 4 };
    bool filled = true;
    Status status = STATUS_OK;
    for (int round = 0; round < ROUNDS && filled && !status; round++) {
        status = lay_units(work);
        if (!status) status = mend_core(work, round >= ROUNDS - 2, &filled);
    }
    return status;
}

static void say_saving(const Work *work)
{
    const Saving *s = &work->mural.saving;
    if (!s->units)
        voice_note(
            work->voice,
            "hollow: nothing is left out, since behind %d %s of shell is no core that bricks "
            "of this set fit around and bridge",
            s->shell, s->shell == 1 ? "unit" : "units");
    else
        voice_note(work->voice,
                   "hollow: %zu units are left out behind %d of shell, which saves %.2f kg %s "
                   "%ld bricks%s",
                   s->units, s->shell, s->mass_kg, s->bricks < 0 ? "but takes" : "and",
                   labs(s->bricks), s->bricks < 0 ? " more" : "");
}

/* Lays the mural solid, and as if nothing stood, to tell what a hollow core saves. */
static Status lay_to_compare(Work *work, long *bricks_out, double *mass_kg_out)
{
    const Laid built = work->built;
    work->built = (Laid){0};
    const Status status = lay_tied(work);
    work->built = built;
    *bricks_out = (long)work->laid.count;
    *mass_kg_out = laid_kg(work, &work->laid);
    return status;
}

/* A core as the colours allow; where something stands, that of the earlier plan. */
static Status carve_core(Work *work)
{
    const EarlierPlan *earlier = work->standing ? work->standing->earlier : NULL;
    const HollowTask task = hollow_task(work);
    if (!earlier) return hollow_carve(&work->hollow, &task, work->voice, work->fault);
    if (!earlier->left_out) return STATUS_OK;
    return hollow_keep(&work->hollow, &task, earlier->left_out, &work->built, work->fault);
}

/* Lays the mural; with a hollow core, after it was laid solid, to tell what that saves. */
static Status lay_solid(Work *work)
{
    Mural *m = &work->mural;
    long bricks;
    double mass_kg;
    hollow_clear(&work->hollow, &m->solid);
    if (!work->job->hollow) return lay_tied(work);
    m->saving = (Saving){.shell = work->job->hollow};
    Status status = lay_to_compare(work, &bricks, &mass_kg);
    if (!status) status = carve_core(work);
    if (status || (!work->hollow.units && !work->standing)) return status;
    status = lay_around_core(work);
    if (status == STATUS_DATA && work->hollow.units) { /* no brick of the set fits around it */
        hollow_fill(&work->hollow, &m->solid, &work->panels);
        status = lay_units(work);
    }
    if (status || !work->hollow.units) return status;
    m->saving.units = work->hollow.units;
    m->saving.bricks = bricks - (long)(work->laid.count + work->built.count);
    m->saving.mass_kg = mass_kg - laid_kg(work, &work->laid) - laid_kg(work, &work->built);
    return status;
}

/* ---- the shelf ---- */

/* Lowers the limits of colours that the laying overdraws, headers and sides that show
 * counted; -1 where none is, else the first of them. */
static int lower_limits(Work *work, long *taken_out, long *units_out)
{
    long units[PALETTE_MOST], taken[PALETTE_MOST], cells[PALETTE_MOST];
    int first = -1;
    shelf_units(&work->stock, &work->sizes, units);
    shelf_units_taken(&work->laid, taken);
    work_count_cells(work, cells);
    for (int c = 0; c < work->palette.count; c++) {
        if (taken[c] <= units[c]) continue;
        work->limit[c] = (long)((double)cells[c] * (double)units[c] / (double)taken[c]);
        if (first >= 0) continue;
        first = c;
        *taken_out = taken[c];
        *units_out = units[c];
    }
    return first;
}

/* Chooses and lays again until no colour is overdrawn. */
static Status lay_within_stock(Work *work)
{
    enum { ROUNDS = 8 };
    long taken, units;
    for (int round = 0;; round++) {
        const int c = lower_limits(work, &taken, &units);
        if (c < 0) return STATUS_OK;
        if (round == ROUNDS || *work->job->cells)
            return fault_set(work->fault, STATUS_DATA,
                             "%s: colour %s has %ld units, the bricks would take %ld; plan fewer "
                             "cells or leave out --stock-only",
                             work->job->stock, work->palette.colour[c].id, units, taken);
        Status status = work_colour_cells(work);
        if (!status) status = lay_solid(work);
        if (status) return status;
    }
}

/* A bound that holds for any colours: no brick fills more than the largest. */
static void bound_by_volume(Work *work)
{
    double cost[SIZES_MOST];
    const double *const costs = work_brick_costs(work, cost);
    const long largest = sizes_largest(&work->sizes);
    long units = 0;
    for (size_t i = 0; i < work->laid.count; i++) {
        const Brick *b = &work->laid.brick[i];
        units += (long)b->columns * b->rows * b->tiers;
    }
    work->laying.lower_bound =
        (double)work->built.count + (double)((units + largest - 1) / largest);
    work->laying.lower_cost =
        lay_cost_of(&work->built, costs) + (double)units * lay_unit_cost(&work->sizes, costs);
}

static Status fit_to_shelf(Work *work)
{
    ShelfReport report;
    const Status status = shelf_fit(&work->mural.solid, &work->grid, work->target, &work->offered,
                                    &work->sizes, &work->stock, work->job->recolour / 100,
                                    work->threads, &work->laid, &report, work->fault);
    if (status) return status;
    if (report.recoloured) bound_by_volume(work);
    if (report.broken || report.recoloured)
        voice_note(work->voice,
                   "stock: %ld bricks were broken up and %ld cells changed colour to use the sizes "
                   "that are there",
                   report.broken, report.recoloured);
    if (report.lacking)
        voice_note(work->voice,
                   "stock: there is enough of each colour, but %ld bricks are not there in their "
                   "size; order.csv lists them, and more --recolour uses more of the shelf",
                   report.lacking);
    return STATUS_OK;
}

/* ---- cards that ask alike ---- */

/* A card is at least a third of what was asked for each way: thin ones are no fun to build. */
static Status card_limits(const Work *work, CardLimits *limits_out)
{
    int columns, rows;
    const Status status = job_kit(work->job, &columns, &rows, work->fault);
    if (status) return status;
    const int third_columns = (columns + 2) / 3, third_rows = (rows + 2) / 3;
    *limits_out = (CardLimits){
        .least_columns = third_columns > KIT_LEAST ? third_columns : KIT_LEAST,
        .least_rows = third_rows > KIT_LEAST ? third_rows : KIT_LEAST,
        .most = KIT_MOST,
        .units = work->job->panel_mass * 1000 / panels_unit_g(&work->sizes),
        .target = work->mural.even.equal.mean,
    };
    return STATUS_OK;
}

/* Lays cards of one size, to see what they ask, and cuts others by that. A relief is taken down
 * for the panels that it is laid in, so that this trial leaves it as it is. */
static Status even_cards(Work *work)
{
    Panels even = {0};
    CardLimits limits;
    Status status = lay_units(work);
    if (status) return status;
    work->mural.even.equal = cards_spread(&work->panels, &work->laid);
    status = card_limits(work, &limits);
    if (!status) status = cards_cut(&even, &work->mural.solid, &work->laid, &limits, work->fault);
    if (status) return status;
    laid_clear(&work->laid);
    if (!even.count) {
        voice_note(work->voice, "kit: no cards of other sizes keep --panel-mass; they stay equal");
        return STATUS_OK;
    }
    panels_clear(&work->panels);
    work->panels = even;
    return STATUS_OK;
}

static void tell_evenness(Work *work)
{
    Evenness *even = &work->mural.even;
    const CardSpread *now = &even->now, *equal = &even->equal;
    char than[160];
    if (!*work->job->kit || !work->job->kit_even) return;
    even->now = cards_spread(&work->panels, &work->laid);
    if (work->standing)
        snprintf(
            than, sizeof than, "; they stay as they were cut%s",
            panels_keep_mass(&work->panels, &work->mural.solid, &work->sizes, work->job->panel_mass)
                ? ""
                : ", and may weigh more than --panel-mass in this brick set");
    else
        snprintf(than, sizeof than, "; %d of one size would ask for %.0f to %.0f, %.0f %%",
                 equal->cards, equal->least, equal->most, 100 * equal->deviation);
    voice_note(work->voice,
               "kit: %d cards ask for %.0f to %.0f, a brick counting 1 and a colour %.0f, standard "
               "deviation %.0f %%%s",
               now->cards, now->least, now->most, CARD_COLOUR, 100 * now->deviation, than);
}

/* ---- what stands ---- */

/* Puts what stands among what was laid around it, and tells what has changed. */
static Status tell_difference(Work *work)
{
    const BuiltPart *standing = work->standing;
    if (!standing) return STATUS_OK;
    Status status = join_standing(work, &work->laid);
    if (status) return status;
    laid_sort(&work->built, work->mural.solid.build == BUILD_WALL);
    status = laid_mark(&work->laid, &work->built, &work->stands, work->fault);
    if (status) return status;
    const EarlierPlan *earlier = standing->earlier;
    const Bricks before = {&earlier->laid, &earlier->palette, &earlier->sizes};
    const Bricks after = {&work->laid, &work->palette, &work->sizes};
    work->mural.standing = &work->built;
    work->mural.stands = work->stands;
    work->mural.difference = &work->difference;
    return difference_init(&work->difference, &before, &after, &work->built, work->fault);
}

Status work_lay(Work *work)
{
    Status status = find_fill(work);
    if (!status) status = work_cut_panels(work);
    if (!status) status = keep_asked(work);
    if (!status && *work->job->kit && work->job->kit_even && !work->standing)
        status = even_cards(work);
    if (!status) status = carry_relief(work);
    if (!status) status = lay_solid(work);
    if (!status && work->job->stock_only) status = lay_within_stock(work);
    if (!status && work->job->stock_only) status = fit_to_shelf(work);
    if (!status) status = tell_difference(work);
    if (!status) say_carried(work);
    if (!status && work->job->hollow) say_saving(work);
    if (!status)
        status = bond_init(&work->bond, &work->mural.solid, &work->panels, &work->laid,
                           work->threads, work->fault);
    if (status) return status;
    tell_evenness(work);
    return count_parts(work, work->mural.standing);
}
