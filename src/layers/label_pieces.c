/* Flood filling, piece by piece. */
#include "layers/label_pieces.h"

#include "base/memory.h"

#define NO_PIECE UINT32_MAX

typedef struct Flood {
    LabelPieces *pieces;
    const uint8_t *label, *stroke;
    size_t columns, rows;
} Flood;

static size_t reach(const Flood *f, size_t pixel, uint32_t piece, size_t last)
{
    LabelPieces *p = f->pieces;
    if (p->of[pixel] != NO_PIECE || f->label[pixel] != p->piece[piece].label) return last;
    p->of[pixel] = piece;
    p->queue[last] = (uint32_t)pixel;
    return last + 1;
}

static void flood_piece(const Flood *f, uint32_t number)
{
    LabelPiece *piece = &f->pieces->piece[number];
    size_t first = 0, last = reach(f, piece->first, number, 0);
    double columns = 0, rows = 0;
    while (first < last) {
        const size_t pixel = f->pieces->queue[first++];
        const size_t column = pixel % f->columns, row = pixel / f->columns;
        columns += (double)column;
        rows += (double)row;
        if (f->stroke[pixel] == piece->label) piece->held = true;
        if (column > 0) last = reach(f, pixel - 1, number, last);
        if (column + 1 < f->columns) last = reach(f, pixel + 1, number, last);
        if (row > 0) last = reach(f, pixel - f->columns, number, last);
        if (row + 1 < f->rows) last = reach(f, pixel + f->columns, number, last);
    }
    piece->size = last;
    piece->column = columns / (double)last;
    piece->row = rows / (double)last;
}

Status label_pieces_init(LabelPieces *p, const uint8_t *label, const uint8_t *stroke, int columns,
                         int rows, Fault *fault)
{
    const size_t count = (size_t)columns * (size_t)rows;
    const Flood flood = {p, label, stroke, (size_t)columns, (size_t)rows};
    *p = (LabelPieces){0};
    p->of = memory_create(count, sizeof *p->of);
    p->queue = memory_create(count, sizeof *p->queue);
    if (!p->of || !p->queue) return memory_fault(fault, count, sizeof *p->of);
    for (size_t i = 0; i < count; i++) p->of[i] = NO_PIECE;
    for (size_t i = 0; i < count; i++) {
        if (p->of[i] != NO_PIECE) continue;
        const Status status =
            memory_grow(&p->piece, &p->capacity, p->count + 1, sizeof *p->piece, fault);
        if (status) return status;
        p->piece[p->count] = (LabelPiece){.label = label[i], .first = i};
        flood_piece(&flood, (uint32_t)p->count++);
    }
    return STATUS_OK;
}

void label_pieces_clear(LabelPieces *p)
{
    memory_free(p->piece);
    memory_free(p->of);
    memory_free(p->queue);
    *p = (LabelPieces){0};
}
