/* A cell takes the label that has most of its area, after a blur that takes teeth off outlines;
 * then strokes have their say, and crumbs go to what is around them. Cells and pixels need not fit
 * each other: a pixel on a cell's edge counts by its part within. */
#include "layers/cell_labels.h"

#include "base/bands.h"
#include "base/memory.h"
#include "layers/gaussian.h"
#include "layers/geodesic.h"
#include "layers/label_pieces.h"

#include <math.h>
#include <string.h>

enum { BAND_ROWS = 8 };

/* ---- shares ---- */

typedef struct Sharing {
    const LabelPicture *picture;
    int labels, columns, rows;
    float *share;
} Sharing;

/* How much of pixel `at` lies between two places. */
static double overlap(int at, double from, double to)
{
    return fmax(0, fmin(to, at + 1.0) - fmax(from, at));
}

static void share_cell(const Sharing *s, int column, int row)
{
    const LabelPicture *p = s->picture;
    const double wide = p->width / s->columns, high = p->height / s->rows;
    const double left = p->left + column * wide, right = left + wide;
    const double low = p->bottom + row * high, up = low + high;
    const int x_end = (int)fmin(ceil(right), p->columns), y_end = (int)fmin(ceil(up), p->rows);
    const size_t cell = (size_t)row * (size_t)s->columns + (size_t)column;
    const size_t cells = (size_t)s->columns * (size_t)s->rows;
    for (int y = (int)floor(low); y < y_end; y++)
        for (int x = (int)floor(left); x < x_end; x++) {
            const int label = p->label[(size_t)y * (size_t)p->columns + (size_t)x];
            if (label >= s->labels) continue;
            const double part = overlap(x, left, right) * overlap(y, low, up) / (wide * high);
            s->share[(size_t)label * cells + cell] += (float)part;
        }
}

static void share_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Sharing *s = context;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < s->columns; column++) share_cell(s, column, row);
}

void cell_shares(const LabelPicture *picture, int labels, int columns, int rows, int threads,
                 float *share)
{
    Sharing s = {picture, labels, columns, rows, share};
    memset(share, 0, (size_t)labels * (size_t)columns * (size_t)rows * sizeof *share);
    bands_run(threads, rows, BAND_ROWS, share_rows, &s);
}

/* ---- labels ---- */

typedef struct Choosing {
    int labels, columns, rows;
    uint8_t *label;
    uint8_t *stroke; /* the label of a stroke that a cell has, whatever its part; LABEL_NONE */
} Choosing;

static size_t cells_of(const Choosing *c) { return (size_t)c->columns * (size_t)c->rows; }

static int greatest(const float *share, int labels, size_t cells, size_t cell)
{
    int best = 0;
    for (int l = 1; l < labels; l++)
        if (share[(size_t)l * cells + cell] > share[(size_t)best * cells + cell]) best = l;
    return best;
}

/* Strokes are hard for cells, too: masts and stems are thinner than one. */
static void keep_strokes(Choosing *c, const float *stroke)
{
    const size_t cells = cells_of(c);
    for (size_t cell = 0; cell < cells; cell++) {
        const int most = stroke ? greatest(stroke, c->labels, cells, cell) : 0;
        const float part = stroke ? stroke[(size_t)most * cells + cell] : 0;
        c->stroke[cell] = part > 0 ? (uint8_t)most : LABEL_NONE;
        if (part >= 0.5f) c->label[cell] = (uint8_t)most;
    }
}

/* Counts the labels around a piece's cell. */
static void count_around(const Choosing *c, size_t cell, size_t *count)
{
    const size_t width = (size_t)c->columns, column = cell % width, row = cell / width;
    if (column > 0) count[c->label[cell - 1]]++;
    if (column + 1 < width) count[c->label[cell + 1]]++;
    if (row > 0) count[c->label[cell - width]]++;
    if (row + 1 < (size_t)c->rows) count[c->label[cell + width]]++;
}

/* Gives a piece, of few cells, to the label that most of the cells around it have. */
static void give_away(Choosing *c, const LabelPieces *pieces, uint32_t number, uint32_t *cell)
{
    size_t count[256] = {0}, found = 0;
    const LabelPiece *piece = &pieces->piece[number];
    for (size_t i = piece->first; found < piece->size; i++)
        if (pieces->of[i] == number) cell[found++] = (uint32_t)i;
    for (size_t i = 0; i < found; i++) count_around(c, cell[i], count);
    int best = piece->label;
    count[best] = 0;
    for (int l = 0; l < c->labels; l++)
        if (count[l] > count[best]) best = l;
    for (size_t i = 0; i < found; i++) c->label[cell[i]] = (uint8_t)best;
}

static Status drop_crumbs(Choosing *c, int least, Fault *fault)
{
    LabelPieces pieces;
    Status status = label_pieces_init(&pieces, c->label, c->stroke, c->columns, c->rows, fault);
    uint32_t *cell = memory_create((size_t)least, sizeof *cell);
    if (!status && !cell) status = memory_fault(fault, (size_t)least, sizeof *cell);
    for (size_t i = 0; !status && i < pieces.count; i++)
        if (!pieces.piece[i].held && pieces.piece[i].size < (size_t)least)
            give_away(c, &pieces, (uint32_t)i, cell);
    memory_free(cell);
    label_pieces_clear(&pieces);
    return status;
}

Status cell_labels(const CellLabelOptions *options, const CellShares *in, uint8_t *label,
                   Fault *fault)
{
    Choosing c = {in->labels, in->columns, in->rows, label, NULL};
    const size_t cells = cells_of(&c);
    Status status = STATUS_OK;
    for (size_t l = 0; !status && l < (size_t)in->labels; l++)
        status = gaussian_blur(in->share + l * cells, in->columns, in->rows, options->smooth,
                               in->threads, fault);
    if (status) return status;
    c.stroke = memory_create(cells, 1);
    if (!c.stroke) return memory_fault(fault, cells, 1);
    for (size_t cell = 0; cell < cells; cell++)
        label[cell] = (uint8_t)greatest(in->share, in->labels, cells, cell);
    keep_strokes(&c, in->stroke);
    if (options->least > 1) status = drop_crumbs(&c, options->least, fault);
    memory_free(c.stroke);
    return status;
}
