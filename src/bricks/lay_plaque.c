/* A plaque, tier by tier.
 *
 * Idea. Each tier is one layer of labels, tiled on its own (tiling/tile.h). A unit that can be seen
 * is labelled with its colour, one behind with TILE_FREE, so that backing takes large bricks. Over
 * a hollow core the bricks that bridge it are placed first (wall/corbel.h), then ties that are
 * asked for, and the rest of the tier is tiled around them.
 *
 * Invariants. Tiers are laid from the base sheet outward. Bricks that stand, carriers and ties are
 * out of a tier's labels before it is tiled, so that every cell is filled once. The bounds of tiers
 * add up, since no brick lies in two of them; they hold for a tier without ties.
 *
 * Source. Ours; the tiling as in tiling/tile.c. */
#include "bricks/lay_plaque.h"

#include "base/memory.h"
#include "bricks/tiling/tile.h"
#include "bricks/wall/corbel.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Of the effort asked for, in a relief: most of it is backing, which large bricks fill well at less
 * effort than a face takes; and it has many tiers. By trial. */
static const double RELIEF_EFFORT = 0.6;

/* What every tier of a plaque is laid with. */
typedef struct Plaque {
    const Solid *solid;
    const Panels *panels;
    const Sizes *sizes;
    LayOptions options;
    const Voice *voice;
    Laid *laid; /* what has been laid so far */
    LayReport report;
    uint8_t *label;
    long cells; /* of the tier that is labelled, still to be filled */
    bool *edge_column, *edge_row;
    int32_t *below; /* which brick of the tier laid last is in a cell; NULL: flat */
    Cuts cuts;
    Corbel *corbel;  /* panels; NULL: nothing is left out */
    Course *carrier; /* panels: bricks of this tier that lie over what is left out */
    bool *stands;    /* panels: hollow ones, which stand as a whole, have their carriers */
    Laid tied;       /* the ties of this tier */
} Plaque;

static void plaque_clear(Plaque *p)
{
    for (int i = 0; p->corbel && i < p->panels->count; i++) corbel_clear(&p->corbel[i]);
    for (int i = 0; p->carrier && i < p->panels->count; i++) course_clear(&p->carrier[i]);
    laid_clear(&p->tied);
    memory_free(p->corbel);
    memory_free(p->carrier);
    memory_free(p->stands);
    memory_free(p->label);
    memory_free(p->below);
    memory_free(p->edge_column);
    memory_free(p->edge_row);
}

static Status corbels_init(Plaque *p, Fault *fault)
{
    const size_t n = (size_t)p->panels->count;
    cuts_init(&p->cuts, p->sizes, p->options.cost);
    p->corbel = memory_create(n, sizeof *p->corbel);
    if (p->corbel) p->carrier = memory_create(n, sizeof *p->carrier);
    if (p->carrier) p->stands = memory_create(n, sizeof *p->stands);
    if (!p->stands) return memory_fault(fault, n, sizeof *p->corbel);
    const Laid *standing = p->options.standing;
    for (size_t i = 0; standing && i < standing->count; i++)
        p->stands[standing->brick[i].panel] = true;
    Status status = STATUS_OK;
    for (size_t i = 0; i < n && !status; i++)
        status = corbel_init(&p->corbel[i], p->solid, &p->panels->panel[i], &p->cuts, fault);
    return status;
}

static Status plaque_init(Plaque *p, const LayTask *task, const LayOptions *options, Fault *fault)
{
    const Solid *solid = task->solid;
    const size_t columns = (size_t)solid->grid->columns, rows = (size_t)solid->grid->rows;
    *p =
        (Plaque){.solid = solid, .panels = task->panels, .sizes = task->sizes, .options = *options};
    if (solid->grid->steps) p->options.effort *= RELIEF_EFFORT;
    p->label = memory_create(columns * rows, 1);
    p->edge_column = memory_create(columns, sizeof *p->edge_column);
    p->edge_row = memory_create(rows, sizeof *p->edge_row);
    if (solid->grid->steps) p->below = memory_create(columns * rows, sizeof *p->below);
    if (!p->label || !p->edge_column || !p->edge_row || (solid->grid->steps && !p->below)) {
        plaque_clear(p);
        return memory_fault(fault, columns * rows, 1);
    }
    const Status status = solid->left_out ? corbels_init(p, fault) : STATUS_OK;
    if (status) plaque_clear(p);
    return status;
}

/* Bands that are cut alike are one field; else each band is one, since edges of columns
 * run through all of a field. */
static int fields_of(const Panels *panels) { return panels->band ? panels->up : 1; }

/* The panels of a field, from the first; the number of them. */
static int panels_of(const Panels *panels, int field, const Panel **first_out)
{
    const int first = panels->band ? panels->band[field] : 0;
    *first_out = &panels->panel[first];
    return panels->band ? panels->band[field + 1] - first : panels->count;
}

static TileField field_of(const Plaque *p, int field, int tier, const char *name)
{
    const size_t columns = (size_t)p->solid->grid->columns, rows = (size_t)p->solid->grid->rows;
    const Panel *panel;
    const int panels = panels_of(p->panels, field, &panel);
    const size_t start = (size_t)panel->row * columns;
    memset(p->edge_column, 0, columns * sizeof *p->edge_column);
    memset(p->edge_row, 0, rows * sizeof *p->edge_row);
    for (int i = 0; i < panels; i++) {
        p->edge_column[panel[i].column] = true;
        p->edge_row[panel[i].row - panel->row] = true;
    }
    return (TileField){.columns = (int)columns,
                       .rows = p->panels->band ? panel->rows : (int)rows,
                       .label = p->label + start,
                       .edge_column = p->edge_column,
                       .edge_row = p->edge_row,
                       .below = tier && p->below ? p->below + start : NULL,
                       .name = p->solid->grid->steps ? name : NULL};
}

/* Takes the bricks that stand out of a tier; returns how many cells they fill. */
static long leave_standing(Plaque *p, int tier)
{
    const Laid *standing = p->options.standing;
    const size_t columns = (size_t)p->solid->grid->columns;
    long filled = 0;
    for (size_t i = 0; standing && i < standing->count; i++) {
        const Brick *b = &standing->brick[i];
        for (int r = b->row; b->tier == tier && r < b->row + b->rows; r++) {
            memset(p->label + (size_t)r * columns + (size_t)b->column, TILE_EMPTY, b->columns);
            filled += b->columns;
        }
    }
    return filled;
}

/* Labels one tier; false where the solid has none. One that stands whole has nothing left to fill.
 */
static bool label_tier(Plaque *p, int tier)
{
    const Grid *grid = p->solid->grid;
    long cells = 0;
    for (int r = 0; r < grid->rows; r++)
        for (int c = 0; c < grid->columns; c++) {
            uint8_t *label = &p->label[(size_t)r * (size_t)grid->columns + (size_t)c];
            *label = TILE_EMPTY;
            if (!solid_fills(p->solid, c, r, tier)) continue;
            cells++;
            *label =
                solid_shown(p->solid, c, r, tier) ? (uint8_t)grid_colour(grid, c, r) : TILE_FREE;
        }
    p->cells = cells - leave_standing(p, tier);
    return cells > 0;
}

/* Places the bricks that lie over what the tier below leaves out; *any_out is whether there
 * were some. */
static Status place_carriers(Plaque *p, int tier, bool *any_out, Fault *fault)
{
    Status status = STATUS_OK;
    *any_out = false;
    for (int i = 0; i < p->panels->count && p->corbel && !status; i++) {
        int failed;
        p->carrier[i].count = 0;
        if (tier >= p->corbel[i].layers || p->stands[i]) continue;
        status = corbel_course(&p->corbel[i], tier, false, &p->carrier[i], &failed, fault);
        *any_out = *any_out || p->carrier[i].count;
    }
    return status;
}

/* A carrier as the mural sees it. */
static Tile tile_of(const Plaque *p, int panel, const CourseBrick *brick)
{
    return (Tile){.column = p->panels->panel[panel].column + brick->column,
                  .row = p->panels->panel[panel].row + brick->tier,
                  .columns = brick->columns,
                  .rows = brick->tiers,
                  .size = (uint8_t)brick->size,
                  .label = TILE_FREE};
}

/* Sets the cells of a brick to its number. */
static void set_cells(const Plaque *p, const Tile *t, int32_t number)
{
    const size_t columns = (size_t)p->solid->grid->columns;
    for (int r = 0; r < t->rows; r++)
        for (int c = 0; c < t->columns; c++)
            p->below[(size_t)(t->row + r) * columns + (size_t)(t->column + c)] = number;
}

/* Takes the cells of a brick out of the tier's field; returns what they show. */
static uint8_t take_cells(const Plaque *p, const Tile *t)
{
    const size_t columns = (size_t)p->solid->grid->columns;
    uint8_t shown = TILE_FREE;
    for (int r = 0; r < t->rows; r++)
        for (int c = 0; c < t->columns; c++) {
            uint8_t *label = &p->label[(size_t)(t->row + r) * columns + (size_t)(t->column + c)];
            if (*label != TILE_FREE) shown = *label;
            *label = TILE_EMPTY;
        }
    return shown;
}

static Status add_tile(const Plaque *p, int tier, const Tile *t, Fault *fault)
{
    const bool shown = t->label != TILE_FREE;
    const Brick brick = {.column = t->column,
                         .row = t->row,
                         .panel = panels_at(p->panels, t->column, t->row),
                         .tier = (uint8_t)tier,
                         .columns = t->columns,
                         .rows = t->rows,
                         .tiers = 1,
                         .size = t->size,
                         .colour = shown ? t->label : (uint8_t)p->options.fill,
                         .shown = shown};
    return laid_add(p->laid, &brick, fault);
}

/* Adds the carriers of a tier and takes their cells out of its field. */
static Status add_carriers(const Plaque *p, int tier, Fault *fault)
{
    Status status = STATUS_OK;
    for (int i = 0; i < p->panels->count && p->carrier; i++)
        for (size_t k = 0; k < p->carrier[i].count && !status; k++) {
            Tile tile = tile_of(p, i, &p->carrier[i].brick[k]);
            tile.label = take_cells(p, &tile);
            status = add_tile(p, tier, &tile, fault);
        }
    return status;
}

/* ---- ties ---- */

static Tile tie_tile(const Brick *b, uint8_t label)
{
    return (Tile){.column = b->column,
                  .row = b->row,
                  .columns = b->columns,
                  .rows = b->rows,
                  .size = b->size,
                  .label = label};
}

/* Whether a brick may be laid here now; *label_out is what it shows. */
static bool tie_fits(const Plaque *p, const Brick *b, uint8_t *label_out)
{
    const size_t columns = (size_t)p->solid->grid->columns;
    const double *cost = p->options.cost;
    *label_out = TILE_FREE;
    if (cost && !isfinite(cost[b->size])) return false;
    for (int r = b->row; r < b->row + b->rows; r++)
        for (int c = b->column; c < b->column + b->columns; c++) {
            const uint8_t label = p->label[(size_t)r * columns + (size_t)c];
            if (label == TILE_EMPTY) return false;
            if (label == TILE_FREE || label == *label_out) continue;
            if (*label_out != TILE_FREE) return false;
            *label_out = label;
        }
    return true;
}

/* Lays the ties of a tier and takes their cells out of its field. */
static Status place_ties(Plaque *p, int tier, Fault *fault)
{
    const Laid *ties = p->options.ties;
    Status status = STATUS_OK;
    p->tied.count = 0;
    for (size_t i = 0; ties && i < ties->count && !status; i++) {
        const Brick *b = &ties->brick[i];
        uint8_t label;
        if (b->tier != tier || !tie_fits(p, b, &label)) continue;
        const Tile tile = tie_tile(b, label);
        take_cells(p, &tile);
        status = laid_add(&p->tied, b, fault);
        if (!status) status = add_tile(p, tier, &tile, fault);
    }
    return status;
}

static bool has_ties(const Plaque *p, int tier)
{
    const Laid *ties = p->options.ties;
    for (size_t i = 0; ties && i < ties->count; i++)
        if (ties->brick[i].tier == tier) return true;
    return false;
}

/* ---- tiers ---- */

/* `low` is the lowest row of the tiling's field. */
static Status add_tiling(const Plaque *p, int tier, int low, const Tiling *tiling, Fault *fault)
{
    Status status = STATUS_OK;
    for (size_t i = 0; i < tiling->count && !status; i++) {
        Tile tile = tiling->tile[i];
        tile.row += low;
        status = add_tile(p, tier, &tile, fault);
    }
    return status;
}

/* Remembers a field of a tier as what the next one lies on. */
static void set_below(const Plaque *p, int field, const Tiling *tiling)
{
    if (!p->below) return;
    const Panel *first;
    const int panels = panels_of(p->panels, field, &first);
    const int begin = (int)(first - p->panels->panel);
    const size_t columns = (size_t)p->solid->grid->columns;
    const int rows = p->panels->band ? first->rows : p->solid->grid->rows;
    int32_t number = 0;
    for (size_t i = 0; i < columns * (size_t)rows && p->corbel; i++)
        p->below[(size_t)first->row * columns + i] = -1;
    for (size_t i = 0; i < tiling->count; i++) {
        Tile tile = tiling->tile[i];
        tile.row += first->row;
        set_cells(p, &tile, number++);
    }
    for (int i = begin; i < begin + panels && p->carrier; i++)
        for (size_t k = 0; k < p->carrier[i].count; k++) {
            const Tile tile = tile_of(p, i, &p->carrier[i].brick[k]);
            set_cells(p, &tile, number++);
        }
    for (size_t i = 0; i < p->tied.count; i++) {
        const Brick *b = &p->tied.brick[i];
        const Tile tile = tie_tile(b, TILE_FREE);
        if (b->row >= first->row && b->row < first->row + rows) set_cells(p, &tile, number++);
    }
}

/* What one field of the tier that is labelled is for: to be laid, its bounds to be found, or both.
 */
typedef struct FieldUse {
    bool laid, bounded;
} FieldUse;

static Status take_field(Plaque *p, int tier, int index, FieldUse use, Fault *fault)
{
    char name[24];
    snprintf(name, sizeof name, "tier %d", tier + 1);
    const Panel *first;
    panels_of(p->panels, index, &first);
    const TileField field = field_of(p, index, tier, name);
    Tiling tiling;
    Status status = tile_field(&tiling, &field, p->sizes, &p->options, p->voice, fault);
    if (status) return status;
    if (use.laid) status = add_tiling(p, tier, first->row, &tiling, fault);
    if (!status && use.laid) set_below(p, index, &tiling);
    p->report.lower_bound += use.bounded ? tiling.bound : 0;
    p->report.lower_cost += use.bounded ? tiling.cost : 0;
    tiling_clear(&tiling);
    return status;
}

static Status take_fields(Plaque *p, int tier, FieldUse use, Fault *fault)
{
    Status status = STATUS_OK;
    for (int i = 0; i < fields_of(p->panels) && !status; i++)
        status = take_field(p, tier, i, use, fault);
    return status;
}

/* Lays the tier that is labelled, and adds its bounds: those of its tiling, or where carriers were
 * placed first, those of its volume alone, since another choice of carriers might take fewer. */
static Status lay_tier(Plaque *p, int tier, Fault *fault)
{
    bool carried;
    const LayReport before = p->report;
    Status status = place_carriers(p, tier, &carried, fault);
    if (!status) status = add_carriers(p, tier, fault);
    const bool tied = has_ties(p, tier), unproven = p->options.unproven || carried;
    if (!status && tied && !unproven)
        status = take_fields(p, tier, (FieldUse){.bounded = true}, fault);
    if (!status) status = place_ties(p, tier, fault);
    if (!status) status = take_fields(p, tier, (FieldUse){.laid = true, .bounded = !tied}, fault);
    if (!carried) return status;
    const long largest = sizes_largest(p->sizes);
    p->report.lower_bound = before.lower_bound + (double)((p->cells + largest - 1) / largest);
    p->report.lower_cost =
        before.lower_cost + (double)p->cells * lay_unit_cost(p->sizes, p->options.cost);
    return status;
}

Status lay_plaque(const LayTask *task, const LayOptions *options, Laid *laid_out,
                  LayReport *report_out, const Voice *voice, Fault *fault)
{
    assert(task->solid->build == BUILD_PLAQUE);
    Plaque plaque;
    Status status = plaque_init(&plaque, task, options, fault);
    if (status) return status;
    plaque.voice = voice;
    plaque.laid = laid_out;
    const size_t before = laid_out->count;
    for (int tier = 0; !status && label_tier(&plaque, tier); tier++)
        status = lay_tier(&plaque, tier, fault);
    *report_out = plaque.report;
    plaque_clear(&plaque);
    if (status) return status;
    if (options->standing) report_out->lower_bound += (double)options->standing->count;
    report_out->lower_cost += lay_cost_of(options->standing, options->cost);
    laid_sort(laid_out, 0);
    report_out->bricks = laid_out->count - before;
    return STATUS_OK;
}
