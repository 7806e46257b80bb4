#include "lay_plaque.h"

#include "memory.h"
#include "tile.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

/* Of a relief most is backing, which large bricks fill well at little effort; its
 * many tiers are to take no longer than one flat face. */
static const double RELIEF_EFFORT = 0.4;

/* What every tier of a plaque is laid with. */
typedef struct Plaque {
    const Solid *solid;
    const Panels *panels;
    LayOptions options;
    uint8_t *label;
    bool *edge_column, *edge_row;
    int32_t *below; /* which brick of the tier laid last is in a cell; NULL: flat */
} Plaque;

static void plaque_clear(Plaque *p)
{
    memory_free(p->label);
    memory_free(p->below);
    memory_free(p->edge_column);
    memory_free(p->edge_row);
}

static Status plaque_init(Plaque *p, const Solid *solid, const Panels *panels,
                          const LayOptions *options, Fault *fault)
{
    const size_t columns = (size_t)solid->grid->columns, rows = (size_t)solid->grid->rows;
    *p = (Plaque){.solid = solid, .panels = panels, .options = *options};
    if (solid->grid->steps) p->options.effort *= RELIEF_EFFORT;
    p->label = memory_create(columns * rows, 1);
    p->edge_column = memory_create(columns, sizeof *p->edge_column);
    p->edge_row = memory_create(rows, sizeof *p->edge_row);
    if (solid->grid->steps) p->below = memory_create(columns * rows, sizeof *p->below);
    if (!p->label || !p->edge_column || !p->edge_row || (solid->grid->steps && !p->below)) {
        plaque_clear(p);
        return memory_fault(fault, columns * rows, 1);
    }
    for (int i = 0; i < panels->count; i++) {
        p->edge_column[panels->panel[i].column] = true;
        p->edge_row[panels->panel[i].row] = true;
    }
    return STATUS_OK;
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

/* Labels one tier; false if nothing is left to fill in it. */
static bool label_tier(Plaque *p, int tier)
{
    const Grid *grid = p->solid->grid;
    long cells = 0;
    for (int r = 0; r < grid->rows; r++)
        for (int c = 0; c < grid->columns; c++) {
            uint8_t *label = &p->label[(size_t)r * (size_t)grid->columns + (size_t)c];
            *label = TILE_EMPTY;
            if (tier >= solid_top(p->solid, c, r)) continue;
            cells++;
            *label =
                solid_shown(p->solid, c, r, tier) ? (uint8_t)grid_colour(grid, c, r) : TILE_FREE;
        }
    return cells > leave_standing(p, tier);
}

static Status add_tier(const Plaque *p, int tier, const Tiling *tiling, Laid *laid, Fault *fault)
{
    for (size_t i = 0; i < tiling->count; i++) {
        const Tile *t = &tiling->tile[i];
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
        const Status status = laid_add(laid, &brick, fault);
        if (status) return status;
    }
    return STATUS_OK;
}

/* Remembers a tier as what the next one lies on. */
static void set_below(Plaque *p, const Tiling *tiling)
{
    const size_t columns = (size_t)p->solid->grid->columns;
    for (size_t i = 0; p->below && i < tiling->count; i++) {
        const Tile *t = &tiling->tile[i];
        for (int r = 0; r < t->rows; r++)
            for (int c = 0; c < t->columns; c++)
                p->below[(size_t)(t->row + r) * columns + (size_t)(t->column + c)] = (int32_t)i;
    }
}

Status lay_plaque(const Solid *solid, const Sizes *sizes, const Panels *panels,
                  const LayOptions *options, Laid *laid_out, LayReport *report_out,
                  const Voice *voice, Fault *fault)
{
    assert(solid->build == BUILD_PLAQUE);
    Plaque plaque;
    Status status = plaque_init(&plaque, solid, panels, options, fault);
    if (status) return status;
    *report_out = (LayReport){0};
    const size_t before = laid_out->count;
    for (int tier = 0; !status && label_tier(&plaque, tier); tier++) {
        char name[24];
        snprintf(name, sizeof name, "tier %d", tier + 1);
        const TileField field = {.columns = solid->grid->columns,
                                 .rows = solid->grid->rows,
                                 .label = plaque.label,
                                 .edge_column = plaque.edge_column,
                                 .edge_row = plaque.edge_row,
                                 .below = tier ? plaque.below : NULL,
                                 .name = solid->grid->steps ? name : NULL};
        Tiling tiling;
        status = tile_field(&tiling, &field, sizes, &plaque.options, voice, fault);
        if (status) break;
        status = add_tier(&plaque, tier, &tiling, laid_out, fault);
        if (!status) set_below(&plaque, &tiling);
        report_out->lower_bound += tiling.bound;
        tiling_clear(&tiling);
    }
    plaque_clear(&plaque);
    if (status) return status;
    if (options->standing) report_out->lower_bound += (double)options->standing->count;
    laid_sort(laid_out, 0);
    report_out->bricks = laid_out->count - before;
    return STATUS_OK;
}
