/* Cells are chosen within the units that the stock has of each colour. Bricks may take more:
 * headers of a wall and sides that show are of the face's colours, too. How much more is known
 * once it is laid; then each colour that is overdrawn may fill that much fewer cells, in
 * proportion, and all is chosen and laid again. */
#include "plan/fit_stock.h"

#include "model/laying.h"
#include "plan/face_colours.h"
#include "plan/shelf.h"

#include <string.h>

/* Times that colours are chosen and laid anew, at most. Ours; no bench set it. */
enum { STOCK_ROUNDS = 8 };

/* A colour of which more is taken than there is. */
typedef struct Overdraft {
    int colour; /* the first such; -1: none is */
    long taken, units;
} Overdraft;

/* Lowers the limits of the colours that the laying overdraws. */
static Overdraft lower_limits(const PassTask *task, const Laid *laid, long limit[PALETTE_MOST])
{
    const long *units = task->studio->units;
    long taken[PALETTE_MOST], cells[PALETTE_MOST];
    Overdraft first = {.colour = -1};
    shelf_units_taken(laid, taken);
    face_colours_count(&task->body->grid, task->brief, cells);
    for (int c = 0; c < task->studio->palette.count; c++) {
        if (taken[c] <= units[c]) continue;
        limit[c] = (long)((double)cells[c] * (double)units[c] / (double)taken[c]);
        if (first.colour < 0) first = (Overdraft){c, taken[c], units[c]};
    }
    return first;
}

static Status overdrawn(const PassTask *task, const Overdraft *over, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "%s: colour %s has %ld units, the bricks would take %ld; plan fewer cells or "
                     "leave out --stock-only",
                     task->brief->job->stock, task->studio->palette.colour[over->colour].id,
                     over->units, over->taken);
}

Status lay_within_stock(const PassTask *task, const Image *target, Body *body, Laying *laying,
                        Fault *fault)
{
    const Job *job = task->brief->job;
    const ColourTask colours = {task->brief, task->studio, target, task->rules};
    long limit[PALETTE_MOST];
    memcpy(limit, task->studio->units, sizeof limit);
    for (int round = 0;; round++) {
        const Overdraft over = lower_limits(task, &laying->laid, limit);
        if (over.colour < 0) return STATUS_OK;
        if (round == STOCK_ROUNDS || *job->cells) return overdrawn(task, &over, fault);
        Status status = face_colours_choose(&body->grid, &colours, limit, fault);
        /* The limits have come to be too low to fill the face; what the shelf has says why. */
        if (status == STATUS_DATA) return overdrawn(task, &over, fault);
        if (!status) status = lay_solid(task, body, laying, fault);
        if (status) return status;
    }
}

/* A bound that holds for any colours: no brick fills more than the largest. */
static void bound_by_volume(const PassTask *task, Laying *laying)
{
    const Sizes *sizes = &task->studio->sizes;
    double cost[SIZES_MOST];
    const double *const costs = brick_costs(task->brief->job, sizes, cost);
    const long largest = sizes_largest(sizes);
    long units = 0;
    for (size_t i = 0; i < laying->laid.count; i++) {
        const Brick *b = &laying->laid.brick[i];
        units += (long)b->columns * b->rows * b->tiers;
    }
    laying->report.lower_bound =
        (double)task->built->count + (double)((units + largest - 1) / largest);
    laying->report.lower_cost =
        lay_cost_of(task->built, costs) + (double)units * lay_unit_cost(sizes, costs);
}

static void say_fit(const Voice *voice, const ShelfReport *report)
{
    if (report->broken || report->recoloured)
        voice_note(voice,
                   "stock: %ld bricks were broken up and %ld cells changed colour to use the sizes "
                   "that are there",
                   report->broken, report->recoloured);
    if (report->lacking)
        voice_note(voice,
                   "stock: there is enough of each colour, but %ld bricks are not there in their "
                   "size; order.csv lists them, and more --recolour uses more of the shelf",
                   report->lacking);
}

Status fit_sizes_to_stock(const PassTask *task, const Image *target, Body *body, Laying *laying,
                          Fault *fault)
{
    const Studio *studio = task->studio;
    const Brief *brief = task->brief;
    const ShelfTask fit = {.solid = &body->solid,
                           .grid = &body->grid,
                           .laid = &laying->laid,
                           .palette = &studio->offered,
                           .sizes = &studio->sizes,
                           .stock = &studio->stock,
                           .rules = task->rules};
    const ShelfOptions options = {
        .recolour = brief->job->recolour / 100, .threads = brief->threads, .voice = brief->voice};
    ShelfReport report;
    const Status status = shelf_fit(&fit, target, &options, &report, fault);
    if (status) return status;
    if (report.recoloured) bound_by_volume(task, laying);
    say_fit(brief->voice, &report);
    return STATUS_OK;
}
