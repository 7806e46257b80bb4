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
    return STATUS_OK;
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

/* Labels one tier; false if nothing of the solid is in it. */
static bool label_tier(Plaque *p, int tier)
{
    const Grid *grid = p->solid->grid;
    bool any = false;
    for (int r = 0; r < grid->rows; r++)
        for (int c = 0; c < grid->columns; c++) {
            uint8_t *label = &p->label[(size_t)r * (size_t)grid->columns + (size_t)c];
            *label = TILE_EMPTY;
            if (tier >= solid_top(p->solid, c, r)) continue;
            any = true;
            *label =
                solid_shown(p->solid, c, r, tier) ? (uint8_t)grid_colour(grid, c, r) : TILE_FREE;
        }
    return any;
}

/* `low` is the lowest row of the tiling's field. */
static Status add_tier(const Plaque *p, int tier, int low, const Tiling *tiling, Laid *laid,
                       Fault *fault)
{
    for (size_t i = 0; i < tiling->count; i++) {
        const Tile *t = &tiling->tile[i];
        const bool shown = t->label != TILE_FREE;
        const Brick brick = {.column = t->column,
                             .row = t->row + low,
                             .panel = panels_at(p->panels, t->column, t->row + low),
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
static void set_below(Plaque *p, int low, const Tiling *tiling)
{
    const size_t columns = (size_t)p->solid->grid->columns;
    for (size_t i = 0; p->below && i < tiling->count; i++) {
        const Tile *t = &tiling->tile[i];
        for (int r = 0; r < t->rows; r++)
            for (int c = 0; c < t->columns; c++)
                p->below[(size_t)(t->row + low + r) * columns + (size_t)(t->column + c)] =
                    (int32_t)i;
    }
}

static Status lay_tier(Plaque *p, const Sizes *sizes, int tier, Laid *laid, LayReport *report,
                       const Voice *voice, Fault *fault)
{
    char name[24];
    snprintf(name, sizeof name, "tier %d", tier + 1);
    for (int i = 0; i < fields_of(p->panels); i++) {
        const Panel *first;
        panels_of(p->panels, i, &first);
        const TileField field = field_of(p, i, tier, name);
        Tiling tiling;
        Status status = tile_field(&tiling, &field, sizes, &p->options, voice, fault);
        if (status) return status;
        status = add_tier(p, tier, first->row, &tiling, laid, fault);
        if (!status) set_below(p, first->row, &tiling);
        report->lower_bound += tiling.bound;
        tiling_clear(&tiling);
        if (status) return status;
    }
    return STATUS_OK;
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
    for (int tier = 0; !status && label_tier(&plaque, tier); tier++)
        status = lay_tier(&plaque, sizes, tier, laid_out, report_out, voice, fault);
    plaque_clear(&plaque);
    if (status) return status;
    laid_sort(laid_out, 0);
    report_out->bricks = laid_out->count - before;
    return STATUS_OK;
}
