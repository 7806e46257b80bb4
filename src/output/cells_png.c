/* A picture of one pixel a cell that any paint program can edit: the palette's colours in their
 * order are its colour map, so what comes back is the same cells, colours that look alike on a
 * screen told apart by their numbers. A program that saves full colour loses only those.
 *
 * A picture that is read back is taken whole or not at all: every pixel is exactly a colour of the
 * palette, or the first that is not is named. Row 0 of a grid is at the bottom, of a picture on
 * top.
 *
 * Source: PNG, ISO/IEC 15948, 11.2.3 (PLTE). */
#include "output/cells_png.h"

#include "base/input_file.h"
#include "base/memory.h"
#include "base/text.h"
#include "model/image.h"
#include "model/index_colours.h"
#include "output/paint.h"

#include <png.h>

#include <errno.h>
#include <stdio.h>
#include <string.h>

/* A plane of indices into so many colours. */
static Status write_plane(const PaintPlace *place, const Grid *g, const uint8_t *plane,
                          const uint8_t (*colour)[3], int colours, Fault *fault)
{
    Paint *paint;
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    options.width = g->columns;
    options.height = g->rows;
    options.kind = PAINT_INDEXED;
    options.colour = colour;
    options.colours = colours;
    Status status = paint_create(&paint, place, &options, fault);
    for (int row = g->rows - 1; !status && row >= 0; row--)
        status = paint_row(paint, plane + (size_t)row * (size_t)g->columns, fault);
    if (!status) return paint_finish(paint, fault);
    paint_free(paint);
    return status;
}

Status cells_png_write(const Grid *grid, const Palette *palette, const PaintPlace *place,
                       Fault *fault)
{
    uint8_t colour[PALETTE_MOST][3];
    for (int i = 0; i < palette->count; i++) memcpy(colour[i], palette->colour[i].srgb, 3);
    return write_plane(place, grid, grid->colour, (const uint8_t(*)[3])colour, palette->count,
                       fault);
}

/* All steps that may be painted have a colour, whether the mural has them or not. */
Status steps_png_write(const Grid *grid, const PaintPlace *place, Fault *fault)
{
    uint8_t colour[INDEX_COLOURS][3];
    int most = RELIEF_STEPS_MOST;
    for (int i = 0; i < INDEX_COLOURS; i++) step_colour(i, colour[i]);
    for (size_t i = 0; i < grid_cells(grid); i++)
        if (grid->steps[i] > most) most = grid->steps[i];
    return write_plane(place, grid, grid->steps, (const uint8_t(*)[3])colour, most + 1, fault);
}

/* Index of the palette by 8-bit colour; where two colours look alike on a screen, the
 * first, as in matching. */
static int colour_of_pixel(const Palette *palette, const png_byte *rgb)
{
    for (int i = 0; i < palette->count; i++)
        if (!memcmp(palette->colour[i].srgb, rgb, 3)) return i;
    return -1;
}

/* An indexed picture's colour map, and the palette's index of each entry, -1: none. */
typedef struct ColourMap {
    png_byte rgb[256 * 3];
    int index[256];
} ColourMap;

/* Where an entry is still the palette's colour of that number it is taken by its number, which
 * tells colours apart that look alike on a screen; else by its colour. */
static void find_entries(ColourMap *map, int entries, const Palette *palette)
{
    for (int i = 0; i < 256; i++) {
        const png_byte *rgb = map->rgb + 3 * i;
        const bool kept = i < palette->count && !memcmp(palette->colour[i].srgb, rgb, 3);
        map->index[i] = i >= entries ? -1 : kept ? i : colour_of_pixel(palette, rgb);
    }
}

static Status no_colour(int row, int column, const png_byte *rgb, const char *path, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "%s: column %d, row %d: #%02x%02x%02x is no colour of the palette; "
                     "paint with the colours of cells.png and without smoothing",
                     path, column + 1, row + 1, rgb[0], rgb[1], rgb[2]);
}

/* Matches one row of RGB pixels; the fault names the first cell that is not a colour. */
static Status match_row(Grid *g, int row, const png_byte *rgb, const Palette *palette,
                        const char *path, Fault *fault)
{
    uint8_t *out = g->colour + (size_t)row * (size_t)g->columns;
    for (int column = 0; column < g->columns; column++, rgb += 3) {
        const bool as_left = column && !memcmp(rgb, rgb - 3, 3);
        const int index = as_left ? out[column - 1] : colour_of_pixel(palette, rgb);
        if (index < 0) return no_colour(row, column, rgb, path, fault);
        out[column] = (uint8_t)index;
    }
    return STATUS_OK;
}

/* The same for a row of entries of the colour map. */
static Status match_entries(Grid *g, int row, const png_byte *entry, const ColourMap *map,
                            const char *path, Fault *fault)
{
    uint8_t *out = g->colour + (size_t)row * (size_t)g->columns;
    for (int column = 0; column < g->columns; column++) {
        const int index = map->index[entry[column]];
        if (index < 0) return no_colour(row, column, map->rgb + 3 * entry[column], path, fault);
        out[column] = (uint8_t)index;
    }
    return STATUS_OK;
}

/* The picture's pixels, once its size is known to be right. */
static Status read_pixels(Grid *grid, png_image *png, const Palette *palette, const char *path,
                          Fault *fault)
{
    const bool indexed = png->format & PNG_FORMAT_FLAG_COLORMAP;
    const size_t each = indexed ? 1 : 3, width = png->width, height = png->height;
    const png_color white = {255, 255, 255};
    ColourMap map = {.rgb = {0}};
    png->format = indexed ? PNG_FORMAT_RGB_COLORMAP : PNG_FORMAT_RGB;
    png_bytep pixels = memory_create(width * height, each);
    if (!pixels) return memory_fault(fault, width * height, each);
    Status status = STATUS_OK;
    if (!png_image_finish_read(png, &white, pixels, 0, map.rgb))
        status =
            fault_set(fault, STATUS_DATA, "%s: broken PNG (%s); save it again", path, png->message);
    else
        status = grid_init(grid, (int)width, (int)height, false, fault);
    find_entries(&map, (int)png->colormap_entries, palette);
    for (size_t row = 0; !status && row < height; row++) {
        const png_byte *p = pixels + (height - 1 - row) * width * each;
        status = indexed ? match_entries(grid, (int)row, p, &map, path, fault)
                         : match_row(grid, (int)row, p, palette, path, fault);
    }
    memory_free(pixels);
    return status;
}

Status cells_png_read(Grid *grid, const char *path, const Palette *palette, int columns, int rows,
                      Fault *fault)
{
    *grid = (Grid){0};
    const bool input = !strcmp(path, "-");
    FILE *file = input ? stdin : fopen(path, "rb");
    path = text_place(path);
    if (!file) return input_file_fault(path, errno, fault);
    png_image png = {.version = PNG_IMAGE_VERSION};
    Status status = STATUS_OK;
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
        status = read_pixels(grid, &png, palette, path, fault);
    }
    png_image_free(&png);
    if (!input) fclose(file);
    if (status) grid_clear(grid);
    return status;
}
