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

/* The colour map of a picture: sRGB. */
typedef struct Entries {
    const uint8_t (*colour)[3];
    int count;
    bool clear; /* the last is transparent */
} Entries;

/* A plane of indices. */
static Status write_plane(const PaintPlace *place, const Grid *g, const uint8_t *plane,
                          const Entries *entries, Fault *fault)
{
    Paint *paint;
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    options.width = g->columns;
    options.height = g->rows;
    options.kind = PAINT_INDEXED;
    options.colour = entries->colour;
    options.colours = entries->count;
    options.clear = entries->clear;
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
    const Entries entries = {(const uint8_t(*)[3])colour, palette->count, false};
    return write_plane(place, grid, grid->colour, &entries, fault);
}

/* What is free has the index after the palette's last. */
Status pins_png_write(const Grid *grid, const uint8_t *pin, const Palette *palette,
                      const PaintPlace *place, Fault *fault)
{
    uint8_t colour[PALETTE_MOST + 1][3] = {{0}};
    const size_t cells = grid_cells(grid);
    uint8_t *plane = memory_create(cells, 1);
    if (!plane) return memory_fault(fault, cells, 1);
    for (int i = 0; i < palette->count; i++) memcpy(colour[i], palette->colour[i].srgb, 3);
    for (size_t i = 0; i < cells; i++)
        plane[i] = pin[i] == PIN_NONE ? (uint8_t)palette->count : pin[i];
    const Entries entries = {(const uint8_t(*)[3])colour, palette->count + 1, true};
    const Status status = write_plane(place, grid, plane, &entries, fault);
    memory_free(plane);
    return status;
}

Status regions_png_write(const Grid *grid, const RegionMap *regions, const PaintPlace *place,
                         Fault *fault)
{
    IndexColours colours;
    const size_t cells = grid_cells(grid);
    const RegionList *list = regions->list;
    uint8_t *plane = memory_create(cells, 1);
    if (!plane) return memory_fault(fault, cells, 1);
    index_colours_init(&colours, layer_colour);
    for (size_t i = 0; i < cells; i++) plane[i] = (uint8_t)list->region[regions->label[i]].index;
    const Entries entries = {(const uint8_t(*)[3])colours.rgb,
                             list->region[list->count - 1].index + 1, false};
    const Status status = write_plane(place, grid, plane, &entries, fault);
    memory_free(plane);
    return status;
}

/* All steps that may be painted have a colour, whether the mural has them or not. */
Status steps_png_write(const Grid *grid, const PaintPlace *place, Fault *fault)
{
    IndexColours colours;
    int most = RELIEF_STEPS_MOST;
    index_colours_init(&colours, step_colour);
    for (size_t i = 0; i < grid_cells(grid); i++)
        if (grid->steps[i] > most) most = grid->steps[i];
    const Entries entries = {(const uint8_t(*)[3])colours.rgb, most + 1, false};
    return write_plane(place, grid, grid->steps, &entries, fault);
}

/* What a picture is read for: cells, which are opaque, or pins, where what is transparent is
 * free. */
typedef struct Reading {
    const char *path;
    const Palette *palette;
    int columns, rows; /* 0: any */
    bool pins;
    size_t depth; /* bytes of a pixel's colour: red, green, blue, and of pins how opaque it is */
    Fault *fault;
} Reading;

static bool is_free(const Reading *r, const png_byte *colour) { return r->pins && !colour[3]; }

/* Index of the palette by 8-bit colour; where two colours look alike on a screen, the
 * first, as in matching. A pin that is half transparent is none. */
static int colour_of_pixel(const Reading *r, const png_byte *colour)
{
    if (is_free(r, colour)) return PIN_NONE;
    if (r->pins && colour[3] != 255) return -1;
    for (int i = 0; i < r->palette->count; i++)
        if (!memcmp(r->palette->colour[i].srgb, colour, 3)) return i;
    return -1;
}

/* An indexed picture's colour map, and the palette's index of each entry, -1: none. */
typedef struct ColourMap {
    png_byte colour[256 * 4];
    int index[256];
} ColourMap;

/* Where an entry is still the palette's colour of that number it is taken by its number, which
 * tells colours apart that look alike on a screen; else by its colour. */
static void find_entries(const Reading *r, ColourMap *map, int entries)
{
    const Palette *palette = r->palette;
    for (int i = 0; i < 256; i++) {
        const png_byte *colour = map->colour + r->depth * (size_t)i;
        const bool kept = i < palette->count && !memcmp(palette->colour[i].srgb, colour, 3);
        const int index = colour_of_pixel(r, colour);
        map->index[i] = i >= entries ? -1 : kept && index >= 0 && index != PIN_NONE ? i : index;
    }
}

static Status no_colour(const Reading *r, int row, int column, const png_byte *rgb)
{
    if (r->pins && rgb[3] != 255)
        return fault_set(r->fault, STATUS_DATA,
                         "%s: column %d, row %d: is half transparent; a pin is opaque, and what is "
                         "free is transparent",
                         r->path, column + 1, row + 1);
    return fault_set(r->fault, STATUS_DATA,
                     "%s: column %d, row %d: #%02x%02x%02x is no colour of the palette; "
                     "paint with the colours of cells.png and without smoothing",
                     r->path, column + 1, row + 1, rgb[0], rgb[1], rgb[2]);
}

/* Matches one row of pixels in full colour; the fault names the first that is not a colour. */
static Status match_row(const Reading *r, Grid *g, int row, const png_byte *colour)
{
    uint8_t *out = g->colour + (size_t)row * (size_t)g->columns;
    for (int column = 0; column < g->columns; column++, colour += r->depth) {
        const bool as_left = column && !memcmp(colour, colour - r->depth, r->depth);
        const int index = as_left ? out[column - 1] : colour_of_pixel(r, colour);
        if (index < 0) return no_colour(r, row, column, colour);
        out[column] = (uint8_t)index;
    }
    return STATUS_OK;
}

/* The same for a row of entries of the colour map. */
static Status match_entries(const Reading *r, Grid *g, int row, const png_byte *entry,
                            const ColourMap *map)
{
    uint8_t *out = g->colour + (size_t)row * (size_t)g->columns;
    for (int column = 0; column < g->columns; column++) {
        const int index = map->index[entry[column]];
        if (index < 0) return no_colour(r, row, column, map->colour + r->depth * entry[column]);
        out[column] = (uint8_t)index;
    }
    return STATUS_OK;
}

/* The picture's pixels, once its size is known to be right. */
static Status read_pixels(const Reading *r, Grid *grid, png_image *png)
{
    const bool indexed = png->format & PNG_FORMAT_FLAG_COLORMAP;
    const size_t each = indexed ? 1 : r->depth, width = png->width, height = png->height;
    const png_color white = {255, 255, 255};
    ColourMap map = {.colour = {0}};
    png->format = (r->pins ? PNG_FORMAT_RGBA : PNG_FORMAT_RGB) |
                  (indexed ? PNG_FORMAT_FLAG_COLORMAP : (png_uint_32)0);
    png_bytep pixels = memory_create(width * height, each);
    if (!pixels) return memory_fault(r->fault, width * height, each);
    Status status = STATUS_OK;
    if (!png_image_finish_read(png, &white, pixels, 0, map.colour))
        status = fault_set(r->fault, STATUS_DATA, "%s: broken PNG (%s); save it again", r->path,
                           png->message);
    else
        status = grid_init(grid, (int)width, (int)height, false, r->fault);
    find_entries(r, &map, (int)png->colormap_entries);
    for (size_t row = 0; !status && row < height; row++) {
        const png_byte *p = pixels + (height - 1 - row) * width * each;
        status =
            indexed ? match_entries(r, grid, (int)row, p, &map) : match_row(r, grid, (int)row, p);
    }
    memory_free(pixels);
    return status;
}

static Status read_png(const Reading *wanted, Grid *grid)
{
    Reading reading = *wanted;
    const char *path = wanted->path;
    Fault *fault = wanted->fault;
    *grid = (Grid){0};
    const bool input = !strcmp(path, "-");
    FILE *file = input ? stdin : fopen(path, "rb");
    path = reading.path = text_place(path);
    if (!file) return input_file_fault(path, errno, fault);
    png_image png = {.version = PNG_IMAGE_VERSION};
    Status status = STATUS_OK;
    if (!png_image_begin_read_from_stdio(&png, file)) {
        status = fault_set(fault, STATUS_DATA, "%s: not a PNG (%s); give an edited cells.png", path,
                           png.message);
    } else if (png.width > GRID_MOST || png.height > GRID_MOST ||
               (wanted->columns && png.width != (unsigned)wanted->columns) ||
               (wanted->rows && png.height != (unsigned)wanted->rows)) {
        status = fault_set(fault, STATUS_DATA,
                           "%s: is %u x %u, not one pixel a cell; keep the size of cells.png", path,
                           png.width, png.height);
    } else {
        status = read_pixels(&reading, grid, &png);
    }
    png_image_free(&png);
    if (!input) fclose(file);
    if (status) grid_clear(grid);
    return status;
}

Status cells_png_read(Grid *grid, const char *path, const Palette *palette, int columns, int rows,
                      Fault *fault)
{
    const Reading reading = {path, palette, columns, rows, false, 3, fault};
    return read_png(&reading, grid);
}

Status pins_png_read(Grid *pins, const char *path, const Palette *palette, int columns, int rows,
                     Fault *fault)
{
    const Reading reading = {path, palette, columns, rows, true, 4, fault};
    return read_png(&reading, pins);
}
