#include "tile.h"

#include "memory.h"

static bool fits(const TileField *f, const uint8_t *done, int column, int row, int w, int h,
                 uint8_t *label_out)
{
    if (column + w > f->columns || row + h > f->rows) return false;
    uint8_t label = TILE_FREE;
    for (int r = row; r < row + h; r++) {
        if (r > row && f->edge_row && f->edge_row[r]) return false;
        for (int c = column; c < column + w; c++) {
            if (c > column && f->edge_column && f->edge_column[c]) return false;
            const size_t at = (size_t)r * (size_t)f->columns + (size_t)c;
            const uint8_t l = f->label[at];
            if (done[at] || l == TILE_EMPTY) return false;
            if (l == TILE_FREE) continue;
            if (label != TILE_FREE && l != label) return false;
            label = l;
        }
    }
    *label_out = label;
    return true;
}

static Status add(Tiling *t, Tile tile, Fault *fault)
{
    const Status status = memory_grow(&t->tile, &t->capacity, t->count + 1, sizeof *t->tile, fault);
    if (!status) t->tile[t->count++] = tile;
    return status;
}

Status tile_field(Tiling *tiling_out, const TileField *f, const Sizes *sizes,
                  const LayOptions *options, const Voice *voice, Fault *fault)
{
    (void)options;
    (void)voice;
    *tiling_out = (Tiling){0};
    const size_t cells = (size_t)f->columns * (size_t)f->rows;
    uint8_t *done = memory_create(cells, 1);
    if (!done) return memory_fault(fault, cells, 1);
    Status status = STATUS_OK;
    for (int row = 0; row < f->rows && !status; row++)
        for (int column = 0; column < f->columns && !status; column++) {
            const size_t at = (size_t)row * (size_t)f->columns + (size_t)column;
            if (done[at] || f->label[at] == TILE_EMPTY) continue;
            Tile best = {0};
            for (int s = 0; s < 2 * sizes->count; s++) {
                const Size *z = &sizes->size[s / 2];
                const int w = s % 2 ? z->width : z->length, h = s % 2 ? z->length : z->width;
                uint8_t label;
                if (w * h > best.columns * best.rows && fits(f, done, column, row, w, h, &label))
                    best = (Tile){column, row, (uint8_t)w, (uint8_t)h, (uint8_t)(s / 2), label};
            }
            if (!best.columns) {
                status = fault_set(fault, STATUS_DATA,
                                   "column %d, row %d: no brick of the set covers this cell; add "
                                   "a smaller size",
                                   column + 1, row + 1);
                break;
            }
            for (int r = 0; r < best.rows; r++)
                for (int c = 0; c < best.columns; c++)
                    done[at + (size_t)r * (size_t)f->columns + (size_t)c] = 1;
            status = add(tiling_out, best, fault);
        }
    memory_free(done);
    if (status) tiling_clear(tiling_out);
    return status;
}

void tiling_clear(Tiling *tiling)
{
    memory_free(tiling->tile);
    *tiling = (Tiling){0};
}
