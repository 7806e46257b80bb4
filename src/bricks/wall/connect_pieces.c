#include "bricks/wall/connect_pieces.h"

#include "base/memory.h"

#include <string.h>

enum { LOOSE_GAIN = 3 };

/* A brick that would join a loose piece, and what it would take the place of. */
typedef struct Stitch {
    Piece brick;
    int gain; /* bricks wholly piece_within it, less those that it cuts */
    int row;
} Stitch;

/* What the box would take the place of; the course is in view[0]. */
static int stitch_gain(const WallPanel *w, const Piece *box)
{
    int gain = 0;
    const Course *course = w->view[0].course;
    for (int tier = box->tier; tier < box->tier + box->tiers; tier++)
        for (int x = box->column; x < box->column + box->columns; x++) {
            const int32_t i = w->view[0].unit[wall_panel_unit(w, x, tier)];
            if (i < 0) continue;
            const Piece *p = &course->piece[i];
            const bool first =
                (x == p->column || x == box->column) && (tier == p->tier || tier == box->tier);
            if (first) gain += piece_within(p, box) ? 1 : -2;
        }
    return gain;
}

/* Tries every brick that holds both of two units side by side; better if it holds all of the
 * loose brick, or a part of that may be loose the next time. Of equals, the deepest. */
static void try_stitches(const WallPanel *w, int row, const Piece *loose, int x, int tier,
                         int columns, int tiers, Stitch *best)
{
    const Cuts *cuts = &w->wall->cuts;
    for (int d = w->depth < SIZE_LONGEST ? w->depth : SIZE_LONGEST; d >= tiers; d--)
        for (int k = 0; k < cuts->count[d]; k++) {
            const int n = cuts->length[d][k];
            for (int a = x + columns - n; a <= x; a++)
                for (int c = tier + tiers - d; c <= tier; c++) {
                    if (a < 0 || c < 0 || a + n > w->panel->columns || c + d > w->depth) continue;
                    const Piece box = {(int16_t)a, (int16_t)c, (uint8_t)n, (uint8_t)d,
                                       cuts->size[d][k]};
                    int hanging;
                    if (!corbel_may_lie(&w->corbel, &box, &hanging)) continue;
                    const int gain =
                        stitch_gain(w, &box) + (piece_within(loose, &box) ? LOOSE_GAIN : 0);
                    if (best->brick.columns && gain <= best->gain) continue;
                    *best = (Stitch){box, gain, row};
                }
        }
}

static Status add_carrier(WallPanel *w, int row, const Piece *piece, Fault *fault)
{
    Course *c = &w->carrier[row];
    const Status status = memory_grow(&c->piece, &c->capacity, c->count + 1, sizeof *piece, fault);
    if (status) return status;
    c->piece[c->count++] = *piece;
    wall_panel_mark(w, row, 0);
    return STATUS_OK;
}

/* The best brick that joins a loose one to another piece, in the course of view[0]. */
static void find_stitch(const WallPanel *w, int row, const Piece *loose, const uint32_t *piece,
                        Stitch *best)
{
    const uint32_t mine = piece[w->view[0].unit[wall_panel_unit(w, loose->column, loose->tier)]];
    for (int tier = loose->tier; tier < loose->tier + loose->tiers; tier++)
        for (int x = loose->column; x < loose->column + loose->columns; x++)
            for (int side = 0; side < 4; side++) {
                const int u = x + (side == 2) - (side == 3); /* depth before length */
                const int v = tier - (side == 0) + (side == 1);
                if (u < 0 || v < 0 || u >= w->panel->columns || v >= w->depth) continue;
                const int32_t other = w->view[0].unit[wall_panel_unit(w, u, v)];
                if (other < 0 || piece[other] == mine) continue;
                try_stitches(w, row, loose, u < x ? u : x, v < tier ? v : tier, 1 + (u != x),
                             1 + (v != tier), best);
            }
}

/* Nothing can join a piece that has bricks in this course: those that stay may be in the way,
 * so they are found anew, first with deep carriers, then without earlier stitches. */
static void unpick(WallPanel *w, int row)
{
    w->deep[row] = 1;
    w->seen[row] = 0;
    if (!w->relief) w->carrier[row].count = 0;
    wall_panel_mark(w, row, 0);
}

/* Finds the best stitch of each wanted piece. */
static Status find_stitches(WallPanel *w, const size_t *first, const uint32_t *piece,
                            const uint8_t *wanted, Stitch *best, Fault *fault)
{
    Status status = STATUS_OK;
    for (int row = w->standing; row < w->panel->rows && !status; row++) {
        bool seen = false;
        for (size_t i = 0; i < w->course[row].count && !status; i++) {
            const uint32_t mine = piece[first[row] + i];
            if (!wanted[mine]) continue;
            if (!seen) {
                seen = true;
                status = wall_panel_see_hues(w, row, fault);
                wall_panel_view(w, &w->course[row], &w->view[0]);
            }
            if (!status)
                find_stitch(w, row, &w->course[row].piece[i], piece + first[row], &best[mine]);
        }
    }
    return status;
}

/* Joins each wanted piece to a neighbour, by one brick that from now on stays where it is;
 * then it is wanted no more. */
static Status stitch(WallPanel *w, const size_t *first, const uint32_t *piece, uint8_t *wanted,
                     uint32_t pieces, Stitch *best, Fault *fault)
{
    memset(best, 0, pieces * sizeof *best);
    Status status = find_stitches(w, first, piece, wanted, best, fault);
    for (uint32_t p = 0; p < pieces && !status; p++) {
        if (!wanted[p] || !best[p].brick.columns) continue;
        wanted[p] = 0;
        status =
            wall_panel_see_hues(w, best[p].row, fault); /* another stitch may have come first */
        int hanging;
        if (!status && corbel_may_lie(&w->corbel, &best[p].brick, &hanging))
            status = add_carrier(w, best[p].row, &best[p].brick, fault);
    }
    return status;
}

/* Clears the way for pieces that are still wanted; they then come first. */
static void unpick_rows(WallPanel *w, const size_t *first, const uint32_t *piece,
                        const uint8_t *wanted)
{
    for (int row = 0; row < w->panel->rows; row++) {
        bool any = false;
        for (size_t i = 0; i < w->course[row].count; i++)
            any = any || wanted[piece[first[row] + i]];
        if (any) unpick(w, row);
    }
}

Status connect_pieces(WallPanel *w, const size_t *first, const uint32_t *piece, uint32_t pieces,
                      size_t nodes, Fault *fault)
{
    uint32_t *size = memory_create(pieces, sizeof *size), largest = 0;
    uint8_t *wanted = memory_create(pieces, 1);
    Stitch *best = memory_create(pieces, sizeof *best);
    Status status = size && wanted && best ? STATUS_OK : memory_fault(fault, pieces, sizeof *best);
    if (!status) {
        for (size_t i = 0; i < nodes; i++) size[piece[i]]++;
        for (uint32_t p = 0; p < pieces; p++)
            if (size[p] > size[largest]) largest = p;
        memset(wanted, 1, pieces);
        wanted[largest] = 0;
        status = stitch(w, first, piece, wanted, pieces, best, fault);
        unpick_rows(w, first, piece, wanted);
        if (!status) status = stitch(w, first, piece, wanted, pieces, best, fault);
    }
    memory_free(best);
    memory_free(wanted);
    memory_free(size);
    return status;
}
