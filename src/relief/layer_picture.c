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

/* What a picture's pixels stand for. */
typedef struct PixelLabels {
    const LayerPictureInput *in;
    IndexColours ours;
    int index[256]; /* of what pixels hold; -1: of no colour that is ours */
    int label[256];
} PixelLabels;

static void pixel_labels_init(PixelLabels *p, const LayerPictureInput *in, const Raster *r)
{
    p->in = in;
    index_colours_init(&p->ours, layer_colour);
    if (r->kind == RASTER_RGB) return;
    index_colours_read(&p->ours, r, p->index);
    for (int i = 0; i < 256; i++)
        p->label[i] = p->index[i] < 0 ? LABEL_UNKNOWN : in->label[p->index[i]];
}

static int index_at(PixelLabels *p, const Raster *r, size_t pixel)
{
    return r->kind == RASTER_RGB ? index_of_colour(&p->ours, r->sample + 3 * pixel)
                                 : p->index[r->sample[pixel]];
}

static int label_at(PixelLabels *p, const Raster *r, size_t pixel)
{
    if (r->kind != RASTER_RGB) return p->label[r->sample[pixel]];
    const int index = index_at(p, r, pixel);
    return index < 0 ? LABEL_UNKNOWN : p->in->label[index];
}

/* Labels of all pixels, row 0 at the bottom. */
static Status take_labels(LayerPicture *p, const LayerPictureInput *in, const Raster *r,
                          Fault *fault)
{
    PixelLabels labels;
    pixel_labels_init(&labels, in, r);
    p->memory = memory_create(r->width, r->height);
    if (!p->memory) return memory_fault(fault, r->width, r->height);
    for (size_t y = 0; y < r->height; y++) {
        const size_t from = y * r->width;
        uint8_t *to = p->memory + (r->height - 1 - y) * r->width;
        for (size_t x = 0; x < r->width; x++) {
            const int label = label_at(&labels, r, from + x);
            if (label == LABEL_UNKNOWN)
                return unknown(in, r, from + x, index_at(&labels, r, from + x), fault);
            to[x] = (uint8_t)label;
        }
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
