#include "board.h"

#include "bands.h"
#include "eight.h"
#include "memory.h"

#include <limits.h>
#include <math.h>
#include <string.h>

/* Differences well below this count by their square. */
static const double ease = 1.0;

static void palette_init(Board *board, const Palette *palette)
{
    board->colours = palette->count;
    for (int c = 0; c < palette->count; c++) {
        const Colour *colour = &palette->colour[c];
        double exact[3];
        eye_from_xyz(colour->xyz, exact);
        /* What changes must be just what is shown, and faces are shown as floats. Rounded
         * by arithmetic: gcc 12 can lose a rounding that a float and back is to make. */
        for (int p = 0; p < 3; p++) board->value[c][p] = rint(exact[p] * 0x1p22) * 0x1p-22;
        for (int p = 0; p < 3; p++) board->opponent[c][p] = (float)board->value[c][p];
        const double *v = board->value[c];
        const Lab *lab = &colour->lab;
        const double term[TERMS] = {v[0] * v[0],
                                    v[0] * v[1],
                                    v[0] * v[2],
                                    v[1] * v[1],
                                    v[1] * v[2],
                                    v[2] * v[2],
                                    v[0],
                                    v[1],
                                    v[2],
                                    lab->L * lab->L,
                                    lab->a * lab->a + lab->b * lab->b,
                                    lab->L,
                                    lab->a,
                                    lab->b};
        for (int t = 0; t < TERMS; t++) board->term[t][c] = term[t];
    }
}

/* A difference seen close by counts by its square over CLOSE_EASE: small ones are what
 * mixing is made of, large ones are specks. */
enum { CLOSE_EASE = 20 };

typedef struct CloseWork {
    Board *board;
    const Image *target;
    double detail;
} CloseWork;

static void close_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const CloseWork *w = context;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < w->target->columns; column++) {
            const Lab lab = lab_from_xyz(image_at(w->target, column, row));
            const double off = (lab.L - 50.0) * (lab.L - 50.0);
            const double sl = 1.0 + 0.015 * off / sqrt(20.0 + off);
            const double sc = 1.0 + 0.045 * hypot(lab.a, lab.b);
            const double weight = w->detail / CLOSE_EASE;
            w->board->close[(size_t)row * (size_t)w->target->columns + (size_t)column] =
                (Close){(float)lab.L, (float)lab.a, (float)lab.b, (float)(weight / (sl * sl)),
                        (float)(weight / (sc * sc))};
        }
}

/* Tiles of one phase have a whole tile between them. Groups and swaps change cells a
 * little beyond their tile, and touch blocks beyond that. */
static void tiles_init(Board *board)
{
    board->tile = (retina_reach(board->retina) + 2 * RUN_MOST + BLOCK - 1) / BLOCK * BLOCK;
    if (board->tile < 5 * BLOCK) board->tile = 5 * BLOCK;
    board->tiles_across = (board->columns + board->tile - 1) / board->tile;
    board->tiles_up = (board->rows + board->tile - 1) / board->tile;
}

/* Cells that are kept show what they are from the start, so that what is chosen first makes
 * up for them. */
static void show_kept(Board *board)
{
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    for (int c = board->keep.offered; c > 0 && c < board->colours; c++) board->barred[c] = true;
    for (size_t at = 0; at < cells; at++) {
        uint8_t *colour = &board->grid->colour[at];
        if (!board_keeps(board, at)) {
            *colour = NONE;
            continue;
        }
        double target[3], d[3];
        const Spot spot = retina_spot(board->retina, (int)(at % (size_t)board->columns),
                                      (int)(at / (size_t)board->columns), board->scratch);
        retina_target(board->retina, at, target);
        for (int p = 0; p < 3; p++) d[p] = board->value[*colour][p] - target[p];
        retina_shift(board->retina, &spot, d);
        board->kept[*colour]++;
    }
}

/* All that depends on how fine the samples are. */
static Status samples_init(Board *board, const Image *target, Fineness fineness, Fault *fault)
{
    const Status status =
        retina_create(&board->retina, target, &board->viewpoint, fineness, board->threads, fault);
    if (status) return status;
    for (int x = 0; x < RUN_MOST; x++)
        for (int y = 0; y < RUN_MOST; y++)
            retina_overlap(board->retina, x, y, board->overlap[x][y]);
    tiles_init(board);
    board->scratch_size = retina_scratch(board->retina);
    const size_t tiles = (size_t)board->tiles_across * (size_t)board->tiles_up;
    if (!(board->tiles = memory_create(tiles, sizeof *board->tiles)) ||
        !(board->scratch =
              memory_create(board->scratch_size, (size_t)BANDS_MOST_THREADS * sizeof(float))))
        return memory_fault(fault, board->scratch_size, BANDS_MOST_THREADS * sizeof(float));
    return STATUS_OK;
}

static void samples_clear(Board *board)
{
    retina_free(board->retina);
    memory_free(board->tiles);
    memory_free(board->scratch);
    board->retina = NULL;
    board->tiles = NULL;
    board->scratch = NULL;
}

static Status cells_init(Board *board, Fault *fault)
{
    const size_t cells = (size_t)board->columns * (size_t)board->rows;
    board->blocks_across = (board->columns + BLOCK - 1) / BLOCK;
    const size_t blocks =
        (size_t)board->blocks_across * (size_t)((board->rows + BLOCK - 1) / BLOCK);
    if (!(board->close = memory_create(cells, sizeof *board->close)) ||
        !(board->self = memory_create(cells, 6 * sizeof *board->self)) ||
        !(board->self_at = memory_create(cells, sizeof *board->self_at)) ||
        !(board->slope = memory_create(cells, 3 * sizeof *board->slope)) ||
        !(board->touched = memory_create(blocks, sizeof *board->touched)))
        return memory_fault(fault, cells, 6 * sizeof *board->self);
    return STATUS_OK;
}

Status board_init(Board *board, const Image *target, const Palette *palette, Grid *grid,
                  const Viewpoint *viewpoint, double detail, int threads, Fault *fault)
{
    board->grid = grid;
    board->threads = threads;
    board->columns = target->columns;
    board->rows = target->rows;
    /* So near that a cell fills the sight, only the cell itself is seen. */
    Viewpoint *view = &board->viewpoint;
    *view = *viewpoint;
    view->distance_mm =
        fmax(view->distance_mm, 4.0 * fmax(view->cell_width_mm, view->cell_height_mm));
    palette_init(board, palette);
    Status status = samples_init(board, target, RETINA_ROUGH, fault);
    if (status == STATUS_OK) status = cells_init(board, fault);
    if (status) return status;
    CloseWork work = {board, target, detail};
    bands_run(threads, board->rows, 8, close_rows, &work);
    retina_weigh(board->retina, ease);
    show_kept(board);
    board->weighing = board->sweep = 1;
    return STATUS_OK;
}

Status board_look_closer(Board *board, const Image *target, Fault *fault)
{
    if (!retina_gains(&board->viewpoint)) return STATUS_OK;
    samples_clear(board);
    const Status status = samples_init(board, target, RETINA_FINE, fault);
    if (status) return status;
    retina_weigh(board->retina, ease);
    board->weighing++;
    return STATUS_OK;
}

void board_clear(Board *board)
{
    samples_clear(board);
    memory_free(board->close);
    memory_free(board->self);
    memory_free(board->self_at);
    memory_free(board->slope);
    memory_free(board->touched);
    memory_free(board->quota);
}

/* --- the objective ------------------------------------------------------------- */

double board_joints(const Board *board)
{
    const bool courses = board->build == BUILD_WALL;
    long count = 0;
    for (int row = 0; row < board->rows; row++)
        for (int column = 0; column < board->columns; column++) {
            const int colour = grid_colour(board->grid, column, row);
            count += column && grid_colour(board->grid, column - 1, row) != colour;
            count += row && !courses && grid_colour(board->grid, column, row - 1) != colour;
        }
    return (double)count;
}

double board_close(const Board *board, size_t at, int colour)
{
    const Close *n = &board->close[at];
    const double dl = board->term[TERM_LAB][colour] - (double)n->L;
    const double da = board->term[TERM_LAB + 1][colour] - (double)n->a;
    const double db = board->term[TERM_LAB + 2][colour] - (double)n->b;
    return (double)n->lightness * dl * dl + (double)n->chroma * (da * da + db * db);
}

double board_rest(const Board *board)
{
    double sum = 0.0;
    for (int row = 0; row < board->rows; row++) {
        double in_row = 0.0;
        for (int column = 0; column < board->columns; column++) {
            const int colour = grid_colour(board->grid, column, row);
            if (column && grid_colour(board->grid, column - 1, row) != colour)
                in_row += board->price_x;
            if (row && grid_colour(board->grid, column, row - 1) != colour)
                in_row += board->price_y;
            in_row +=
                board->duty[colour] +
                board_close(board, (size_t)row * (size_t)board->columns + (size_t)column, colour);
        }
        sum += in_row;
    }
    return sum;
}

double board_objective(Board *board)
{
    retina_show(board->retina, board->grid->colour, board->opponent[0]);
    return retina_settle(board->retina) + board_rest(board);
}

double board_weigh(Board *board)
{
    retina_show(board->retina, board->grid->colour, board->opponent[0]);
    retina_weigh(board->retina, ease);
    board->weighing++;
    return retina_settle(board->retina) + board_rest(board);
}

void board_count(const Board *board, long count[NONE + 1])
{
    memset(count, 0, (NONE + 1) * sizeof *count);
    for (size_t i = 0, n = (size_t)board->columns * (size_t)board->rows; i < n; i++)
        count[board->grid->colour[i]]++;
}

long board_limit(const Board *board, int colour)
{
    if (!board->limit || board->limit[colour] < 0) return LONG_MAX / 2;
    return board->limit[colour] + board->kept[colour];
}

/* --- a cell ---------------------------------------------------------------------- */

Cell board_cell(Board *board, int column, int row, float *scratch)
{
    Cell c = {.column = column, .row = row};
    c.at = (size_t)row * (size_t)board->columns + (size_t)column;
    c.spot = retina_spot(board->retina, column, row, scratch);
    retina_slope(board->retina, &c.spot, c.slope);
    for (int p = 0; p < 3; p++) board->slope[3 * c.at + (size_t)p] = (float)c.slope[p];
    if (board->self_at[c.at] != board->weighing) {
        retina_self(board->retina, &c.spot, board->self + 6 * c.at);
        board->self_at[c.at] = board->weighing;
    }
    c.self = board->self + 6 * c.at;
    return c;
}

typedef double Wide __attribute__((vector_size(32), aligned(8), may_alias));

/* The sum of the terms by their factors, four colours at a time. */
WIDE static void add_terms(const Board *board, const double *factor, double *cost)
{
    for (int i = 0; i < board->colours; i += 4) {
        Wide sum = *(const Wide *)&board->duty[i];
        for (int t = 0; t < TERMS; t++) sum += factor[t] * *(const Wide *)&board->term[t][i];
        *(Wide *)&cost[i] = sum;
    }
}

void board_costs(const Board *board, const Cell *c, const double now[3], double cost[NONE + 1])
{
    double pull[3];
    times(c->self, now, pull);
    for (int p = 0; p < 3; p++) pull[p] = 2.0 * (c->slope[p] - pull[p]);
    const Close *n = &board->close[c->at];
    const double wl = (double)n->lightness, wc = (double)n->chroma;
    const double factor[TERMS] = {c->self[0],
                                  2.0 * c->self[1],
                                  2.0 * c->self[2],
                                  c->self[3],
                                  2.0 * c->self[4],
                                  c->self[5],
                                  pull[0],
                                  pull[1],
                                  pull[2],
                                  wl,
                                  wc,
                                  -2.0 * wl * (double)n->L,
                                  -2.0 * wc * (double)n->a,
                                  -2.0 * wc * (double)n->b};
    add_terms(board, factor, cost);
}

Near board_near(const Board *board, int column, int row)
{
    Near n = {0};
    const size_t columns = (size_t)board->columns, at = (size_t)row * columns + (size_t)column;
    if (column > 0) n.at[n.count] = at - 1, n.price[n.count++] = board->price_x;
    if (column + 1 < board->columns) n.at[n.count] = at + 1, n.price[n.count++] = board->price_x;
    if (row > 0) n.at[n.count] = at - columns, n.price[n.count++] = board->price_y;
    if (row + 1 < board->rows) n.at[n.count] = at + columns, n.price[n.count++] = board->price_y;
    return n;
}

void board_touch(Board *board, int column, int row)
{
    const int up = (board->rows + BLOCK - 1) / BLOCK;
    const int left = (column - BLOCK < 0 ? 0 : column - BLOCK) / BLOCK;
    const int low = (row - BLOCK < 0 ? 0 : row - BLOCK) / BLOCK;
    for (int y = low; y <= (row + BLOCK) / BLOCK && y < up; y++)
        for (int x = left; x <= (column + BLOCK) / BLOCK && x < board->blocks_across; x++)
            board->touched[y * board->blocks_across + x] = board->sweep;
}
