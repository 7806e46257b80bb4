/* layers.png stays clean of marks, so that it can be given back; they have a picture of their
 * own, large enough for hatching within a cell. */
#include "output/layer_pictures.h"

#include "base/memory.h"
#include "model/index_colours.h"
#include "output/paint.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* ---- one pixel a cell ---- */

typedef void FillRow(const Subject *subject, int row, uint8_t *out);

static Status write_rows(const Subject *s, const PaintOptions *options, size_t bytes, FillRow *fill,
                         const PaintPlace *place, Fault *fault)
{
    Paint *paint = NULL;
    uint8_t *line = memory_create((size_t)s->columns, bytes);
    if (!line) return memory_fault(fault, (size_t)s->columns, bytes);
    Status status = paint_create(&paint, place, options, fault);
    for (int row = s->rows - 1; !status && row >= 0; row--) {
        fill(s, row, line);
        status = paint_row(paint, line, fault);
    }
    memory_free(line);
    if (!status) return paint_finish(paint, fault);
    paint_free(paint);
    return status;
}

static void fill_labels(const Subject *s, int row, uint8_t *out)
{
    const uint8_t *label = s->label + (size_t)row * (size_t)s->columns;
    for (int x = 0; x < s->columns; x++) out[x] = (uint8_t)s->list.layer[label[x]].index;
}

Status layers_png_write(const Subject *s, const PaintPlace *place, Fault *fault)
{
    IndexColours colours;
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    index_colours_init(&colours, layer_colour);
    options.width = s->columns;
    options.height = s->rows;
    options.kind = PAINT_INDEXED;
    options.colour = (const uint8_t(*)[3])colours.rgb;
    options.colours = s->list.layer[s->list.count - 1].index + 1;
    return write_rows(s, &options, 1, fill_labels, place, fault);
}

static void fill_depth(const Subject *s, int row, uint8_t *out)
{
    const float *height = s->height + (size_t)row * (size_t)s->columns;
    for (int x = 0; x < s->columns; x++) {
        const double part = fmin(1, fmax(0, (double)height[x] / s->most));
        const unsigned value = (unsigned)floor(part * 65535 + 0.5);
        *out++ = (uint8_t)(value >> 8);
        *out++ = (uint8_t)value;
    }
}

Status depth_png_write(const Subject *s, const PaintPlace *place, Fault *fault)
{
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    options.width = s->columns;
    options.height = s->rows;
    options.kind = PAINT_GREY16;
    return write_rows(s, &options, 2, fill_depth, place, fault);
}

/* ---- outlines ---- */

enum { ACROSS = 2400, CELL_LEAST = 5, CELL_MOST = 16 }; /* pixels */
#define TINT 0.35                                       /* of a layer's colour over the picture */

typedef struct Sheet {
    const Subject *s;
    const Image *image;
    int cell;           /* pixels each way */
    uint8_t (*tint)[3]; /* of each cell of the row */
    uint8_t *rgb;       /* a row of pixels */
} Sheet;

static int label_at(const Subject *s, int column, int row)
{
    if (column < 0 || row < 0 || column >= s->columns || row >= s->rows) return -1;
    return s->label[(size_t)row * (size_t)s->columns + (size_t)column];
}

static int mark_at(const Subject *s, int column, int row)
{
    if (!s->report.mark || label_at(s, column, row) < 0) return 0;
    return s->report.mark[(size_t)row * (size_t)s->columns + (size_t)column];
}

/* The picture's colour, grey on the ground, with the layer's over it. */
static void tint_row(const Sheet *h, int row)
{
    for (int column = 0; column < h->s->columns; column++) {
        uint8_t seen[3], own[3];
        const int label = label_at(h->s, column, row);
        srgb8_from_linear(linear_from_xyz(image_at(h->image, column, row)), seen);
        layer_colour(h->s->list.layer[label].index, own);
        const double grey = 0.30 * seen[0] + 0.59 * seen[1] + 0.11 * seen[2];
        for (int k = 0; k < 3; k++) {
            const double under = label == LAYER_GROUND ? grey : seen[k];
            h->tint[column][k] = (uint8_t)((1 - TINT) * under + TINT * own[k] + 0.5);
        }
    }
}

/* Whether a pixel lies on an outline of its cell, and whether that is guessed. x and y run from
 * the cell's upper left. */
static bool on_outline(const Sheet *h, int column, int row, int x, int y, bool *guessed_out)
{
    const int wide = h->cell / 6 + 1, last = h->cell - 1, own = label_at(h->s, column, row);
    const int beside = x < wide ? column - 1 : x > last - wide ? column + 1 : column;
    const int beyond = y < wide ? row + 1 : y > last - wide ? row - 1 : row;
    const int side = label_at(h->s, beside, row), end = label_at(h->s, column, beyond);
    const bool across = side >= 0 && side != own, along = end >= 0 && end != own;
    int mark = mark_at(h->s, column, row);
    if (across) mark |= mark_at(h->s, beside, row);
    if (along) mark |= mark_at(h->s, column, beyond);
    *guessed_out = mark & MARK_GUESSED;
    return across || along;
}

static void paint_pixel(const Sheet *h, int column, int row, int x, int y, uint8_t rgb[3])
{
    static const uint8_t white[3] = {255, 255, 255}, black[3] = {0, 0, 0}, red[3] = {255, 0, 0};
    const int mark = mark_at(h->s, column, row), last = h->cell - 1, thin = h->cell / 8;
    const int slant = (column * h->cell + x + row * h->cell + last - y) % (2 * h->cell);
    bool guessed = false;
    memcpy(rgb, h->tint[column], 3);
    if (mark & MARK_REFUSED && slant % h->cell <= thin) memcpy(rgb, white, 3);
    if (mark & MARK_LOST && (abs(x - y) <= thin || abs(x + y - last) <= thin)) memcpy(rgb, red, 3);
    if (on_outline(h, column, row, x, y, &guessed))
        memcpy(rgb, guessed && slant >= h->cell ? black : white, 3);
}

static Status paint_cells(const Sheet *h, Paint *paint, Fault *fault)
{
    Status status = STATUS_OK;
    for (int row = h->s->rows - 1; !status && row >= 0; row--) {
        tint_row(h, row);
        for (int y = 0; !status && y < h->cell; y++) {
            for (int i = 0; i < h->s->columns * h->cell; i++)
                paint_pixel(h, i / h->cell, row, i % h->cell, y, h->rgb + 3 * i);
            status = paint_row(paint, h->rgb, fault);
        }
    }
    return status;
}

Status outlines_png_write(const Subject *s, const Image *image, int threads,
                          const PaintPlace *place, Fault *fault)
{
    const int fit = ACROSS / (s->columns > s->rows ? s->columns : s->rows);
    Sheet h = {.s = s, .image = image};
    h.cell = fit < CELL_LEAST ? CELL_LEAST : fit > CELL_MOST ? CELL_MOST : fit;
    while (place->across && h.cell > 1 && s->columns * h.cell > place->across) h.cell--;
    const size_t width = (size_t)s->columns * (size_t)h.cell;
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    options.width = (int)width;
    options.height = s->rows * h.cell;
    options.threads = threads;
    Paint *paint = NULL;
    h.tint = memory_create((size_t)s->columns, sizeof *h.tint);
    h.rgb = memory_create(width, 3);
    Status status = h.tint && h.rgb ? paint_create(&paint, place, &options, fault)
                                    : memory_fault(fault, width, 3);
    if (!status) status = paint_cells(&h, paint, fault);
    memory_free(h.tint);
    memory_free(h.rgb);
    if (!status) return paint_finish(paint, fault);
    paint_free(paint);
    return status;
}
