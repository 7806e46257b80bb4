/* Indices are read as they are stored: a picture that was smoothed, or went through a format that
 * loses something, has colours between those of the layers and is refused, with the first pixel
 * that gives it away. */
#include "relief/layer_picture.h"

#include "base/memory.h"
#include "base/raster.h"
#include "base/text.h"
#include "layers/geodesic.h"
#include "model/index_colours.h"

#include <math.h>
#include <string.h>

/* ---- reading ---- */

static Status unknown(const LayerPictureInput *in, const Raster *r, size_t pixel, int index,
                      Fault *fault)
{
    const size_t column = pixel % r->width + 1, row = pixel / r->width + 1;
    if (index < 0)
        return fault_set(fault, STATUS_DATA,
                         "%s: pixel %zu, %zu from the upper left is of no %s's colour; save an "
                         "indexed PNG, painted without smoothing",
                         text_place(in->path), column, row, in->kind);
    return fault_set(fault, STATUS_DATA,
                     "%s: pixel %zu, %zu from the upper left: index %d is no %s of %s; paint "
                     "with %s or a %s's index, without smoothing",
                     text_place(in->path), column, row, index, in->kind, text_place(in->list_path),
                     in->others, in->kind);
}

/* Labels of all pixels, row 0 at the bottom. */
static Status take_labels(LayerPicture *p, const LayerPictureInput *in, const Raster *r,
                          Fault *fault)
{
    const size_t width = r->width, count = width * r->height;
    int index[256];
    IndexColours ours;
    index_colours_init(&ours, layer_colour);
    p->memory = memory_create(count, 1);
    if (!p->memory) return memory_fault(fault, count, 1);
    if (r->kind != RASTER_RGB) index_colours_read(&ours, r, index);
    for (size_t i = 0; i < count; i++) {
        const int at =
            r->kind == RASTER_RGB ? index_of_colour(&ours, r->sample + 3 * i) : index[r->sample[i]];
        const int label = at < 0 ? LABEL_UNKNOWN : in->label[at];
        if (label == LABEL_UNKNOWN) return unknown(in, r, i, at, fault);
        p->memory[(r->height - 1 - i / width) * width + i % width] = (uint8_t)label;
    }
    return STATUS_OK;
}

Status layer_picture_read(LayerPicture *p, const LayerPictureInput *in, Fault *fault)
{
    Raster r;
    Crop crop = {0};
    *p = (LayerPicture){0};
    Status status = raster_read_indices(&r, in->path, in->limit_pixels, fault);
    if (!status)
        status = map_frame_place(in->frame, r.width, r.height, text_place(in->path), &crop, fault);
    if (!status) status = take_labels(p, in, &r, fault);
    p->picture = (LabelPicture){.columns = (int)r.width,
                                .rows = (int)r.height,
                                .label = p->memory,
                                .left = crop.x,
                                .bottom = r.height - crop.y - crop.height,
                                .width = crop.width,
                                .height = crop.height};
    raster_clear(&r);
    return status;
}

void layer_picture_clear(LayerPicture *p)
{
    memory_free(p->memory);
    *p = (LayerPicture){0};
}

/* ---- strokes ---- */

/* The pixels of a picture whose middles lie between two places, or that which holds the middle
 * of the two; within [0, end). */
static void span(double from, double to, int end, int *first, int *last)
{
    *first = (int)ceil(from - 0.5);
    *last = (int)ceil(to - 0.5) - 1;
    if (*last < *first) *first = *last = (int)floor((from + to) / 2);
    if (*first < 0) *first = 0;
    if (*last > end - 1) *last = end - 1;
    if (*first > *last) *first = *last;
}

/* The label that most of the pixels have, the first of several; pixels without a stroke count only
 * where there are no others. */
static uint8_t commonest_label(const LabelPicture *p, int left, int right, int low, int high)
{
    int count[LABEL_NONE + 1] = {0}, best = LABEL_NONE;
    for (int y = low; y <= high; y++)
        for (int x = left; x <= right; x++)
            count[p->label[(size_t)y * (size_t)p->columns + (size_t)x]]++;
    count[LABEL_NONE] = 0;
    for (int label = 0; label < LABEL_NONE; label++)
        if (count[label] > count[best]) best = label;
    return (uint8_t)best;
}

/* Nearly everywhere all pixels are alike, and need not be counted. */
static uint8_t stroke_within(const LabelPicture *p, int left, int right, int low, int high)
{
    const uint8_t first = p->label[(size_t)low * (size_t)p->columns + (size_t)left];
    for (int y = low; y <= high; y++)
        for (int x = left; x <= right; x++)
            if (p->label[(size_t)y * (size_t)p->columns + (size_t)x] != first)
                return commonest_label(p, left, right, low, high);
    return first;
}

void layer_picture_strokes(const LayerPicture *layers, int columns, int rows, uint8_t *stroke)
{
    const LabelPicture *p = &layers->picture;
    const double wide = p->width / columns, high = p->height / rows;
    for (int row = 0; row < rows; row++) {
        int low, up;
        span(p->bottom + row * high, p->bottom + (row + 1) * high, p->rows, &low, &up);
        for (int column = 0; column < columns; column++) {
            int left, right;
            span(p->left + column * wide, p->left + (column + 1) * wide, p->columns, &left, &right);
            *stroke++ = stroke_within(p, left, right, low, up);
        }
    }
}
