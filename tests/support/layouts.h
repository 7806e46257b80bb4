/* Fields, brick sets and plain ways of laying that tests and benches of laying share. */
#ifndef ROWLOCK_TESTS_LAYOUTS_H
#define ROWLOCK_TESTS_LAYOUTS_H

#include "bricks/tiling/tile.h"
#include "model/sizes.h"
#include "support/chance.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Repeats are cut to this share where a sanitizer makes everything slow. */
#if defined(__SANITIZE_ADDRESS__)
enum { LAYOUTS_SHARE = 5 };
#else
enum { LAYOUTS_SHARE = 1 };
#endif

/* The sizes of a set, as "1x1 1x2 ..." in pairs of sides. */
static inline void layouts_set(Sizes *sizes, const int (*side)[2], int count)
{
    *sizes = (Sizes){.count = count};
    for (int i = 0; i < count; i++) {
        Size *s = &sizes->size[i];
        s->width = side[i][0] < side[i][1] ? side[i][0] : side[i][1];
        s->length = side[i][0] < side[i][1] ? side[i][1] : side[i][0];
        snprintf(s->name, sizeof s->name, "%dx%d", s->width, s->length);
        s->mass_g = 0.4 * s->width * s->length;
    }
}

static inline void layouts_default(Sizes *sizes)
{
    static const int side[][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 6}, {1, 8},
                                  {2, 2}, {2, 3}, {2, 4}, {2, 6}, {2, 8}};
    layouts_set(sizes, side, 11);
}

/* A field that owns its labels. */
typedef struct Layout {
    TileField field;
    uint8_t *label;
} Layout;

static inline Layout layout_of(int columns, int rows)
{
    Layout l = {.label = calloc((size_t)columns * (size_t)rows, 1)};
    l.field = (TileField){.columns = columns, .rows = rows, .label = l.label};
    return l;
}

static inline void layout_clear(Layout *l) { free(l->label); }

/* Reads tests/data/fields/NAME.txt, enlarged to columns x rows cells by repeating (0: as it is). */
static inline Layout layout_read(const char *name, int columns, int rows)
{
    char path[256];
    snprintf(path, sizeof path, "tests/data/fields/%s.txt", name);
    FILE *file = fopen(path, "r");
    int wide = 0, high = 0;
    if (!file || fscanf(file, "%d %d", &wide, &high) != 2) {
        fprintf(stderr, "%s: cannot be read; run from the top of the tree\n", path);
        exit(1);
    }
    Layout small = layout_of(wide, high);
    for (int r = high - 1; r >= 0; r--) {
        char line[4096] = "";
        if (fscanf(file, "%4095s", line) != 1) exit(1);
        for (int c = 0; c < wide; c++) small.label[r * wide + c] = (uint8_t)(line[c] - 'a');
    }
    fclose(file);
    if (!columns) return small;
    Layout large = layout_of(columns, rows);
    for (int r = 0; r < rows; r++)
        for (int c = 0; c < columns; c++)
            large.label[(size_t)r * (size_t)columns + (size_t)c] =
                small.label[r * high / rows * wide + c * wide / columns];
    layout_clear(&small);
    return large;
}

/* Edges every `panel` cells. */
static inline void layout_cut(Layout *l, bool *edge, int panel)
{
    const int most = l->field.columns > l->field.rows ? l->field.columns : l->field.rows;
    for (int i = 0; i < most; i++) edge[i] = i % panel == 0;
    l->field.edge_column = edge;
    l->field.edge_row = edge;
}

static inline bool layouts_fits(const TileField *f, const bool *done, int c, int r, int w, int h)
{
    if (c + w > f->columns || r + h > f->rows) return false;
    int colour = TILE_FREE;
    for (int y = r; y < r + h; y++) {
        if (y > r && f->edge_row && f->edge_row[y]) return false;
        for (int x = c; x < c + w; x++) {
            const size_t at = (size_t)y * (size_t)f->columns + (size_t)x;
            if (x > c && f->edge_column && f->edge_column[x]) return false;
            if (done[at] || f->label[at] == TILE_EMPTY) return false;
            if (f->label[at] == TILE_FREE) continue;
            if (colour != TILE_FREE && colour != f->label[at]) return false;
            colour = f->label[at];
        }
    }
    return true;
}

/* Bricks when the largest goes wherever it fits, row by row, before any smaller one. */
static inline size_t layouts_largest_first(const TileField *f, const Sizes *sizes)
{
    const size_t cells = (size_t)f->columns * (size_t)f->rows;
    bool *done = calloc(cells, sizeof *done);
    size_t bricks = 0;
    for (int area = SIZE_LONGEST * SIZE_LONGEST; area > 0; area--)
        for (int s = 0; s < 2 * sizes->count; s++) {
            const Size *z = &sizes->size[s / 2];
            const int w = s % 2 ? z->width : z->length, h = s % 2 ? z->length : z->width;
            if (w * h != area || (s % 2 && w == h)) continue;
            for (int r = 0; r < f->rows; r++)
                for (int c = 0; c < f->columns; c++) {
                    if (!layouts_fits(f, done, c, r, w, h)) continue;
                    bricks++;
                    for (int y = r; y < r + h; y++)
                        for (int x = c; x < c + w; x++)
                            done[(size_t)y * (size_t)f->columns + (size_t)x] = true;
                }
        }
    free(done);
    return bricks;
}

/* Bricks one high when each row's runs are cut into as few as can be (coin change). */
static inline size_t layouts_row_runs(const TileField *f, const Sizes *sizes)
{
    const int most = f->columns;
    size_t *least = calloc((size_t)most + 1, sizeof *least), bricks = 0;
    for (int n = 1; n <= most; n++) {
        least[n] = SIZE_MAX / 2;
        for (int s = 0; s < sizes->count; s++)
            if (sizes->size[s].width == 1 && sizes->size[s].length <= n &&
                least[n - sizes->size[s].length] + 1 < least[n])
                least[n] = least[n - sizes->size[s].length] + 1;
    }
    for (int r = 0; r < f->rows; r++)
        for (int c = 0, run; c < f->columns; c += run) {
            const uint8_t *row = f->label + (size_t)r * (size_t)f->columns;
            for (run = 1; c + run < f->columns && row[c + run] == row[c] &&
                          !(f->edge_column && f->edge_column[c + run]);)
                run++;
            bricks += least[run];
        }
    free(least);
    return bricks;
}

#endif
