#include "cells.h"

#include "image.h"
#include "memory.h"
#include "paint.h"

#include <png.h>

#include <errno.h>
#include <stdio.h>
#include <string.h>

static Status write_plane(const char *path, const Grid *g, const uint8_t *plane, PaintKind kind,
                          const Palette *palette, Fault *fault)
{
    Paint *paint;
    Status status = paint_create(&paint, path, g->columns, g->rows, kind, palette, 1, fault);
    for (int row = g->rows - 1; !status && row >= 0; row--)
        status = paint_row(paint, plane + (size_t)row * (size_t)g->columns, fault);
    if (!status) return paint_finish(paint, fault);
    paint_free(paint);
    return status;
}

Status cells_write(const Grid *grid, const Palette *palette, const char *path, Fault *fault)
{
    return write_plane(path, grid, grid->colour, PAINT_INDEXED, palette, fault);
}

Status steps_write(const Grid *grid, const char *path, Fault *fault)
{
    return write_plane(path, grid, grid->steps, PAINT_GREY, NULL, fault);
}

/* Index of the palette by 8-bit colour; where two colours look alike on a screen, the
 * first, as in matching. */
static int colour_of(const Palette *palette, const png_byte *rgb)
{
    for (int i = 0; i < palette->count; i++)
        if (!memcmp(palette->colour[i].srgb, rgb, 3)) return i;
    return -1;
}

/* Matches one row of RGB pixels; the fault names the first cell that is not a colour. */
static Status match_row(Grid *g, int row, const png_byte *rgb, const Palette *palette,
                        const char *path, Fault *fault)
{
    uint8_t *out = g->colour + (size_t)row * (size_t)g->columns;
    for (int column = 0; column < g->columns; column++, rgb += 3) {
        const bool as_left = column && !memcmp(rgb, rgb - 3, 3);
        const int index = as_left ? out[column - 1] : colour_of(palette, rgb);
        if (index < 0)
            return fault_set(fault, STATUS_DATA,
                             "%s: column %d, row %d: #%02x%02x%02x is no colour of the palette; "
                             "paint with the colours of cells.png and without smoothing",
                             path, column + 1, row + 1, rgb[0], rgb[1], rgb[2]);
        out[column] = (uint8_t)index;
    }
    return STATUS_OK;
}

Status cells_read(Grid *grid, const char *path, const Palette *palette, int columns, int rows,
                  Fault *fault)
{
    *grid = (Grid){0};
    FILE *file = fopen(path, "rb");
    if (!file)
        return fault_set(fault, STATUS_NO_INPUT, "%s: cannot be opened (%s); check the name", path,
                         strerror(errno));
    png_image png = {.version = PNG_IMAGE_VERSION};
    Status status = STATUS_OK;
    png_bytep pixels = NULL;
    if (!png_image_begin_read_from_stdio(&png, file)) {
        status = fault_set(fault, STATUS_DATA, "%s: not a PNG (%s); give an edited cells.png", path,
                           png.message);
    } else if (png.width > GRID_MOST || png.height > GRID_MOST ||
               (columns && png.width != (unsigned)columns) ||
               (rows && png.height != (unsigned)rows)) {
        status = fault_set(fault, STATUS_DATA,
                           "%s: is %u x %u, not one pixel a cell; keep the size of cells.png", path,
                           png.width, png.height);
    } else {
        png.format = PNG_FORMAT_RGB;
        pixels = memory_create((size_t)png.width * png.height, 3);
        const png_color white = {255, 255, 255};
        if (!pixels)
            status = memory_fault(fault, (size_t)png.width * png.height, 3);
        else if (!png_image_finish_read(&png, &white, pixels, 0, NULL))
            status = fault_set(fault, STATUS_DATA, "%s: broken PNG (%s); save it again", path,
                               png.message);
        else
            status = grid_init(grid, (int)png.width, (int)png.height, false, fault);
    }
    for (int row = 0; !status && row < grid->rows; row++) {
        const size_t from_top = (size_t)(grid->rows - 1 - row);
        status = match_row(grid, row, pixels + from_top * (size_t)grid->columns * 3, palette, path,
                           fault);
    }
    png_image_free(&png);
    memory_free(pixels);
    fclose(file);
    if (status) grid_clear(grid);
    return status;
}
