/* Panels are equal, so the panel of a cell is a division. The weights of all panels
 * of a trial cut come from one summed-area table of units. */
#include "model/panel.h"

#include "base/memory.h"

#include <assert.h>
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

static int lesser(int a, int b) { return a < b ? a : b; }

/* Units of the heaviest panel of a cut. */
static uint64_t most_units(const uint64_t *sum, const Grid *grid, int columns, int rows)
{
    const size_t wide = (size_t)grid->columns + 1;
    uint64_t most = 0;
    for (int r = 0; r < grid->rows; r += rows) {
        const uint64_t *low = sum + (size_t)r * wide;
        const uint64_t *high = sum + (size_t)lesser(r + rows, grid->rows) * wide;
        for (int c = 0; c < grid->columns; c += columns) {
            const int end = lesser(c + columns, grid->columns);
            const uint64_t units = high[end] - high[c] - low[end] + low[c];
            if (units > most) most = units;
        }
    }
    return most;
}

/* Finds the largest cut that keeps the limit. */
static Status choose_cut(const Solid *solid, const Sizes *sizes, const PanelLimits *limits,
                         int *columns_out, int *rows_out, Fault *fault)
{
    const Grid *grid = solid->grid;
    int columns = lesser(limits->columns, grid->columns), rows = lesser(limits->rows, grid->rows);
    const double unit_g = panels_unit_g(sizes), most_g = limits->mass_kg * 1000;
    uint64_t *sum = sum_units(solid, fault);
    if (!sum) return STATUS_NO_RESOURCE;
    Status status = STATUS_OK;
    for (;;) {
        const uint64_t units = most_units(sum, grid, columns, rows);
        if ((double)units * unit_g <= most_g) break;
        if (columns == 1 && rows == 1) {
            status = fault_set(fault, STATUS_DATA,
                               "panel mass %g kg: one cell of %llu units may weigh %g kg; "
                               "allow heavier panels",
                               limits->mass_kg, (unsigned long long)units,
                               (double)units * unit_g / 1000);
            break;
        }
        if (2 * rows > columns)
            rows--;
        else
            columns--;
    }
    memory_free(sum);
    *columns_out = columns;
    *rows_out = rows;
    return status;
}

/* As many panels as parts of `most` make, but of one size: a strip of two courses that is
 * left over could not be bonded. A plaque keeps the size of its base sheets. */
static int even_share(int whole, int most)
{
    const int count = (whole + most - 1) / most;
    return (whole + count - 1) / count;
}

Status panels_init(Panels *panels_out, const Solid *solid, const Sizes *sizes,
                   const PanelLimits *limits, Fault *fault)
{
    assert(limits->columns > 0 && limits->rows > 0 && limits->mass_kg > 0);
    const Grid *grid = solid->grid;
    *panels_out = (Panels){0};
    int columns, rows;
    const Status status = choose_cut(solid, sizes, limits, &columns, &rows, fault);
    if (status) return status;
    if (solid->build == BUILD_WALL) {
        columns = even_share(grid->columns, columns);
        rows = even_share(grid->rows, rows);
    }
    const int across = (grid->columns + columns - 1) / columns;
    const int up = (grid->rows + rows - 1) / rows;
    const size_t count = (size_t)across * (size_t)up;
    if (count > INT32_MAX)
        return fault_set(fault, STATUS_DATA, "panels: %zu of them; allow larger panels", count);
    Panel *panel = memory_create(count, sizeof *panel);
    if (!panel) return memory_fault(fault, count, sizeof *panel);
    for (int r = 0; r < up; r++)
        for (int c = 0; c < across; c++) {
            Panel *p = &panel[(size_t)r * (size_t)across + (size_t)c];
            p->column = c * columns;
            p->row = r * rows;
            p->columns = lesser(columns, grid->columns - p->column);
            p->rows = lesser(rows, grid->rows - p->row);
            snprintf(p->name, sizeof p->name, "r%uc%u", (unsigned)r + 1, (unsigned)c + 1);
        }
    *panels_out = (Panels){.across = across, .up = up, .count = (int)count, .panel = panel};
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

bool panels_keep_mass(const Panels *panels, const Solid *solid, const Sizes *sizes, double mass_kg)
{
    const double unit_g = panels_unit_g(sizes), most_g = mass_kg * 1000;
    for (int i = 0; i < panels->count; i++) {
        const Panel *p = &panels->panel[i];
        double units = 0;
        for (int row = p->row; row < p->row + p->rows; row++)
            for (int column = p->column; column < p->column + p->columns; column++)
                units += solid_top(solid, column, row);
        if (units * unit_g > most_g) return false;
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
    const Panel *first = &panels->panel[0];
    if (panels->band) return at_in_bands(panels, column, row);
    return row / first->rows * panels->across + column / first->columns;
}

int panels_hung(const Panels *panels, int nth)
{
    const int band = panels_band_of(panels, nth);
    const int first = panels_band(panels, band), in_band = nth - first;
    const int centre = (panels_band(panels, band + 1) - first - 1) / 2;
    const int step = (in_band + 1) / 2;
    return first + centre + (in_band % 2 ? step : -step);
}
