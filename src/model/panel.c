/* A side of W cells is cut into n parts at floor(i W / n), so the panel of a cell is a division.
 * The weights of all panels of a trial cut come from one summed-area table of units. */
#include "model/panel.h"

#include "base/memory.h"
#include "model/lift.h"

#include <assert.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

double panels_unit_g(const Sizes *sizes)
{
    double most = 0;
    for (int i = 0; i < sizes->count; i++) {
        const Size *s = &sizes->size[i];
        const double unit = s->mass_g / (double)(s->width * s->length);
        if (unit > most) most = unit;
    }
    return most;
}

/* sum[row * (columns + 1) + column] is the number of units below and left of it. */
static uint64_t *sum_units(const Solid *solid, Fault *fault)
{
    const size_t columns = (size_t)solid->grid->columns, rows = (size_t)solid->grid->rows;
    const size_t wide = columns + 1;
    uint64_t *sum = memory_create(wide * (rows + 1), sizeof *sum);
    if (!sum) {
        memory_fault(fault, wide * (rows + 1), sizeof *sum);
        return NULL;
    }
    for (size_t r = 0; r < rows; r++)
        for (size_t c = 0; c < columns; c++)
            sum[(r + 1) * wide + c + 1] = sum[(r + 1) * wide + c] + sum[r * wide + c + 1] -
                                          sum[r * wide + c] +
                                          (uint64_t)solid_top(solid, (int)c, (int)r);
    return sum;
}

static int larger_part(int whole, int parts) { return (whole + parts - 1) / parts; }

/* Where the part begins. */
static int part_start(int whole, int parts, int part)
{
    return (int)((int64_t)part * whole / parts);
}

/* Where part i begins at floor(i whole / parts), a place lies in the last one for which
 * i whole / parts < place + 1. */
static int part_of(int whole, int parts, int place)
{
    return (int)((((int64_t)place + 1) * parts - 1) / whole);
}

/* So many panels side by side, and above one another. */
typedef struct Cut {
    int across, up;
} Cut;

static Panel panel_of(const Cut *cut, const Grid *grid, int across, int up)
{
    const int column = part_start(grid->columns, cut->across, across);
    const int row = part_start(grid->rows, cut->up, up);
    return (Panel){.column = column,
                   .row = row,
                   .columns = part_start(grid->columns, cut->across, across + 1) - column,
                   .rows = part_start(grid->rows, cut->up, up + 1) - row};
}

double panels_brick_kg(const PanelLimits *l, int columns, int rows)
{
    const double width = columns * l->cell_width_mm, height = rows * l->cell_height_mm;
    const double most = l->mass_kg > 0 ? l->mass_kg : lift_alone_kg(fmin(width, height));
    return most - mounting_kg(&l->mounting, width, height);
}

static bool keeps_mass(const Panel *p, uint64_t units, double unit_g, const PanelLimits *limits)
{
    return (double)units * unit_g <= panels_brick_kg(limits, p->columns, p->rows) * 1000;
}

static bool cut_keeps_mass(const Cut *cut, const uint64_t *sum, const Grid *grid, double unit_g,
                           const PanelLimits *limits)
{
    const size_t wide = (size_t)grid->columns + 1;
    for (int up = 0; up < cut->up; up++)
        for (int across = 0; across < cut->across; across++) {
            const Panel p = panel_of(cut, grid, across, up);
            const uint64_t *low = sum + (size_t)p.row * wide + p.column;
            const uint64_t *high = low + (size_t)p.rows * wide;
            if (!keeps_mass(&p, high[p.columns] - high[0] - low[p.columns] + low[0], unit_g,
                            limits))
                return false;
        }
    return true;
}

static Status too_heavy(const Solid *solid, double unit_g, const PanelLimits *limits, Fault *fault)
{
    const Grid *grid = solid->grid;
    int most = 0;
    for (int row = 0; row < grid->rows; row++)
        for (int column = 0; column < grid->columns; column++)
            if (solid_top(solid, column, row) > most) most = solid_top(solid, column, row);
    return fault_set(
        fault, STATUS_DATA,
        "panel mass: one cell of %d units may weigh %g kg, and its bricks are to weigh "
        "%g kg at most; allow heavier panels",
        most, most * unit_g / 1000, panels_brick_kg(limits, 1, 1));
}

/* Finds the fewest panels that keep the limits. */
static Status choose_cut(const Solid *solid, const Sizes *sizes, const PanelLimits *limits,
                         Cut *cut_out, Fault *fault)
{
    const Grid *grid = solid->grid;
    const double unit_g = panels_unit_g(sizes);
    uint64_t *sum = sum_units(solid, fault);
    if (!sum) return STATUS_NO_RESOURCE;
    Status status = STATUS_OK;
    Cut cut = {larger_part(grid->columns, limits->columns), larger_part(grid->rows, limits->rows)};
    while (!status && !cut_keeps_mass(&cut, sum, grid, unit_g, limits)) {
        const int columns = larger_part(grid->columns, cut.across);
        const int rows = larger_part(grid->rows, cut.up);
        if (columns == 1 && rows == 1)
            status = too_heavy(solid, unit_g, limits, fault);
        else if (2 * rows > columns)
            cut.up++;
        else
            cut.across++;
    }
    memory_free(sum);
    *cut_out = cut;
    return status;
}

Status panels_init(Panels *panels_out, const Solid *solid, const Sizes *sizes,
                   const PanelLimits *limits, Fault *fault)
{
    assert(limits->columns > 0 && limits->rows > 0);
    const Grid *grid = solid->grid;
    *panels_out = (Panels){0};
    Cut cut;
    const Status status = choose_cut(solid, sizes, limits, &cut, fault);
    if (status) return status;
    const size_t count = (size_t)cut.across * (size_t)cut.up;
    if (count > INT32_MAX)
        return fault_set(fault, STATUS_DATA, "panels: %zu of them; allow larger panels", count);
    Panel *panel = memory_create(count, sizeof *panel);
    if (!panel) return memory_fault(fault, count, sizeof *panel);
    for (int r = 0; r < cut.up; r++)
        for (int c = 0; c < cut.across; c++) {
            Panel *p = &panel[(size_t)r * (size_t)cut.across + (size_t)c];
            *p = panel_of(&cut, grid, c, r);
            snprintf(p->name, sizeof p->name, "r%uc%u", (unsigned)r + 1, (unsigned)c + 1);
        }
    *panels_out = (Panels){.across = cut.across, .up = cut.up, .count = (int)count, .panel = panel};
    return STATUS_OK;
}

Status panels_copy(Panels *panels_out, const Panels *from, Fault *fault)
{
    const size_t panels = (size_t)from->count, bands = (size_t)from->up + 1;
    Panels copy = *from;
    copy.panel = memory_create(panels, sizeof *copy.panel);
    copy.band = copy.panel && from->band ? memory_create(bands, sizeof *copy.band) : NULL;
    *panels_out = copy;
    if (!copy.panel || (from->band && !copy.band)) {
        panels_clear(panels_out);
        return memory_fault(fault, panels, sizeof *copy.panel);
    }
    memcpy(copy.panel, from->panel, panels * sizeof *copy.panel);
    if (copy.band) memcpy(copy.band, from->band, bands * sizeof *copy.band);
    return STATUS_OK;
}

bool panels_keep_mass(const Panels *panels, const Solid *solid, const Sizes *sizes,
                      const PanelLimits *limits)
{
    const double unit_g = panels_unit_g(sizes);
    for (int i = 0; i < panels->count; i++) {
        const Panel *p = &panels->panel[i];
        uint64_t units = 0;
        for (int row = p->row; row < p->row + p->rows; row++)
            for (int column = p->column; column < p->column + p->columns; column++)
                units += (uint64_t)solid_top(solid, column, row);
        if (!keeps_mass(p, units, unit_g, limits)) return false;
    }
    return true;
}

void panels_clear(Panels *panels)
{
    memory_free(panels->panel);
    memory_free(panels->band);
    *panels = (Panels){0};
}

int panels_band_of(const Panels *panels, int index)
{
    if (!panels->band) return index / panels->across;
    int low = 0, high = panels->up - 1;
    while (low < high) {
        const int middle = low + (high - low + 1) / 2;
        if (panels->band[middle] <= index)
            low = middle;
        else
            high = middle - 1;
    }
    return low;
}

/* The last panel of a band that begins at or left of the column; of each band, the first. */
static int at_in_bands(const Panels *panels, int column, int row)
{
    int low = 0, high = panels->count - 1;
    while (low < high) {
        const int middle = low + (high - low + 1) / 2;
        const Panel *p = &panels->panel[middle];
        if (p->row + p->rows <= row || (p->row <= row && p->column <= column))
            low = middle;
        else
            high = middle - 1;
    }
    return low;
}

int panels_at(const Panels *panels, int column, int row)
{
    const Panel *last = &panels->panel[panels->count - 1];
    if (panels->band) return at_in_bands(panels, column, row);
    return part_of(last->row + last->rows, panels->up, row) * panels->across +
           part_of(last->column + last->columns, panels->across, column);
}

int panels_hung(const Panels *panels, int nth)
{
    const int band = panels_band_of(panels, nth);
    const int first = panels_band(panels, band), in_band = nth - first;
    const int centre = (panels_band(panels, band + 1) - first - 1) / 2;
    const int step = (in_band + 1) / 2;
    return first + centre + (in_band % 2 ? step : -step);
}
