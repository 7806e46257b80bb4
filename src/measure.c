#include "measure.h"

#include "bands.h"
#include "delta_e.h"
#include "memory.h"

#include <math.h>
#include <stdlib.h>

typedef struct Comparing {
    const Image *image;
    const Palette *palette;
    const Grid *grid;
    float *difference;
} Comparing;

static void compare_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Comparing *k = context;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < k->grid->columns; column++) {
            const Lab lab = lab_from_xyz(image_at(k->image, column, row));
            const Lab brick = k->palette->colour[grid_colour(k->grid, column, row)].lab;
            k->difference[(size_t)row * (size_t)k->grid->columns + (size_t)column] =
                (float)delta_e_2000(lab, brick);
        }
}

static int by_size(const void *left, const void *right)
{
    const float a = *(const float *)left, b = *(const float *)right;
    return a < b ? -1 : a > b;
}

Status measure_cells(const Image *image, const Palette *palette, const Grid *grid, int threads,
                     Measures *measures, Fault *fault)
{
    const size_t cells = (size_t)grid->columns * (size_t)grid->rows;
    Comparing comparing = {image, palette, grid, memory_create(cells, sizeof(float))};
    if (!comparing.difference) return memory_fault(fault, cells, sizeof(float));
    bands_run(threads, grid->rows, 8, compare_rows, &comparing);
    double sum = 0;
    for (size_t i = 0; i < cells; i++) sum += (double)comparing.difference[i];
    qsort(comparing.difference, cells, sizeof(float), by_size);
    measures->mean_de00 = sum / (double)cells;
    measures->p95_de00 = (double)comparing.difference[(size_t)ceil(0.95 * (double)cells) - 1];
    measures->max_de00 = (double)comparing.difference[cells - 1];
    memory_free(comparing.difference);
    return STATUS_OK;
}

void measure_panels(const Solid *solid, const Panels *panels, const Laid *laid, const Sizes *sizes,
                    PanelLoad *load)
{
    for (int i = 0; i < panels->count; i++) load[i] = (PanelLoad){0};
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        load[b->panel].bricks++;
        load[b->panel].mass_g += sizes->size[b->size].mass_g;
    }
    for (int row = 0; row < solid->grid->rows; row++)
        for (int column = 0; column < solid->grid->columns; column++) {
            PanelLoad *l = &load[panels_at(panels, column, row)];
            const int top = solid_top(solid, column, row);
            if (top > l->depth) l->depth = top;
        }
}
