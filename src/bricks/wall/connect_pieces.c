/* Loose pieces joined to the rest, each by one brick.
 *
 * Idea. A piece is a group of bricks that hang together and with no others. For each but the
 * largest, every brick that would hold a unit of it and one of another piece beside it is tried;
 * the one stays that takes the place of most whole bricks and cuts fewest. From then on it is a
 * carrier: a brick that the course is laid around. Where carriers are in the way of one, they are
 * found anew.
 *
 * Invariants. A connector lies in the solid, shows one colour and is carried (corbel.h).
 *
 * Source. Local repair around weak points: Testuz, Schwartzburg and Pauly 2013, Eurographics short
 * papers. */
#include "bricks/wall/connect_pieces.h"

#include "base/memory.h"

#include <string.h>

/* Of a brick that may connect: for one that holds all of the loose brick, more than any part of it
 * that may be loose the next time is worth; for a brick that it cuts, which leaves two. Ours. */
enum { LOOSE_GAIN = 3, CUT_GAIN = -2 };

/* A brick that would join a loose piece, and what it would take the place of. */
typedef struct Connector {
    CourseBrick brick; /* columns 0: none found */
    int gain;          /* bricks wholly within it, less those that it cuts */
    int row;
} Connector;

/* A panel whose pieces are joined. */
typedef struct Connecting {
    WallPanel *w;
    const size_t *first;   /* by course: its first brick in `piece` */
    const uint32_t *piece; /* by brick */
    uint32_t pieces;
    uint8_t *wanted; /* by piece: 1 while it is to be joined */
    Connector *best; /* by piece */
} Connecting;

/* What the box would take the place of; the course is in view[0]. */
static int connector_gain(const WallPanel *w, const CourseBrick *box)
{
    int gain = 0;
    const Course *course = w->view[0].course;
    for (int tier = box->tier; tier < box->tier + box->tiers; tier++)
        for (int x = box->column; x < box->column + box->columns; x++) {
            const int32_t i = w->view[0].unit[wall_panel_unit(w, x, tier)];
            if (i < 0) continue;
            const CourseBrick *p = &course->brick[i];
            const bool first =
                (x == p->column || x == box->column) && (tier == p->tier || tier == box->tier);
            if (first) gain += brick_within(p, box) ? 1 : CUT_GAIN;
        }
    return gain;
}

/* Tries every brick that holds both of two units side by side, `pair`; better if it holds all of
 * the loose brick. Of equals, the deepest. */
static void try_connectors(WallPanel *w, int row, const CourseBrick *loose, const CourseBrick *pair,
                           Connector *best)
{
    const Cuts *cuts = &w->wall->cuts;
    const int right = pair->column + pair->columns, out = pair->tier + pair->tiers;
    for (int d = w->depth < SIZE_LONGEST ? w->depth : SIZE_LONGEST; d >= pair->tiers; d--)
        for (int k = 0; k < cuts->count[d]; k++) {
            const int n = cuts->length[d][k];
            for (int a = right - n; a <= pair->column; a++)
                for (int c = out - d; c <= pair->tier; c++) {
                    if (a < 0 || c < 0 || a + n > w->panel->columns || c + d > w->depth) continue;
                    const CourseBrick box = {(int16_t)a, (int16_t)c, (uint8_t)n, (uint8_t)d,
                                             cuts->size[d][k]};
                    int hanging;
                    if (!corbel_may_lie(&w->corbel, &box, &hanging)) continue;
                    const int gain =
                        connector_gain(w, &box) + (brick_within(loose, &box) ? LOOSE_GAIN : 0);
                    if (best->brick.columns && gain <= best->gain) continue;
                    if (!corbel_leaves_carriers(&w->corbel, &box)) continue;
                    *best = (Connector){box, gain, row};
                }
        }
}

static Status add_carrier(WallPanel *w, int row, const CourseBrick *brick, Fault *fault)
{
    const Status status = course_add(&w->carrier[row], brick, fault);
    if (!status) wall_panel_mark(w, row, 0);
    return status;
}

/* The best brick that joins a loose one to another piece, in the course of view[0]; piece: of the
 * course's bricks. */
static void find_connector(WallPanel *w, int row, const CourseBrick *loose, const uint32_t *piece,
                           Connector *best)
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
                const CourseBrick pair = {.column = (int16_t)(u < x ? u : x),
                                          .tier = (int16_t)(v < tier ? v : tier),
                                          .columns = (uint8_t)(1 + (u != x)),
                                          .tiers = (uint8_t)(1 + (v != tier))};
                try_connectors(w, row, loose, &pair, best);
            }
}

/* Finds the best connector of each wanted piece. */
static void find_connectors(const Connecting *k)
{
    WallPanel *w = k->w;
    for (int row = w->standing; row < w->panel->rows; row++) {
        const uint32_t *piece = k->piece + k->first[row];
        bool seen = false;
        for (size_t i = 0; i < w->course[row].count; i++) {
            if (!k->wanted[piece[i]]) continue;
            if (!seen) {
                seen = true;
                wall_panel_see_hues(w, row);
                wall_panel_view(w, &w->course[row], &w->view[0]);
            }
            find_connector(w, row, &w->course[row].brick[i], piece, &k->best[piece[i]]);
        }
    }
}

/* Joins each wanted piece to a neighbour, by one brick that from now on stays where it is; then it
 * is wanted no more. */
static Status place_connectors(const Connecting *k, Fault *fault)
{
    WallPanel *w = k->w;
    memset(k->best, 0, k->pieces * sizeof *k->best);
    Status status = STATUS_OK;
    find_connectors(k);
    for (uint32_t p = 0; p < k->pieces && !status; p++) {
        const Connector *best = &k->best[p];
        if (!k->wanted[p] || !best->brick.columns) continue;
        k->wanted[p] = 0;
        wall_panel_see_hues(w, best->row); /* another may have come first */
        int hanging;
        if (corbel_may_lie(&w->corbel, &best->brick, &hanging))
            status = add_carrier(w, best->row, &best->brick, fault);
    }
    return status;
}

/* Nothing can join a piece that has bricks in this course: carriers may be in the way, so they are
 * found anew. */
static void release_carriers(WallPanel *w, int row)
{
    w->carrier[row].count = 0;
    wall_panel_mark(w, row, 0);
}

/* Clears the way for pieces that are still wanted; they then come first. */
static void release_rows(const Connecting *k)
{
    WallPanel *w = k->w;
    for (int row = 0; row < w->panel->rows; row++) {
        bool any = false;
        for (size_t i = 0; i < w->course[row].count; i++)
            any = any || k->wanted[k->piece[k->first[row] + i]];
        if (any) release_carriers(w, row);
    }
}

Status connect_pieces(WallPanel *w, const size_t *first, const uint32_t *piece, uint32_t pieces,
                      size_t nodes, Fault *fault)
{
    uint32_t *size = memory_create(pieces, sizeof *size), largest = 0;
    const Connecting k = {.w = w,
                          .first = first,
                          .piece = piece,
                          .pieces = pieces,
                          .wanted = memory_create(pieces, 1),
                          .best = memory_create(pieces, sizeof *k.best)};
    const bool made = size && k.wanted && k.best;
    Status status = made ? STATUS_OK : memory_fault(fault, pieces, sizeof *k.best);
    if (!status) {
        for (size_t i = 0; i < nodes; i++) size[piece[i]]++;
        for (uint32_t p = 0; p < pieces; p++)
            if (size[p] > size[largest]) largest = p;
        memset(k.wanted, 1, pieces);
        k.wanted[largest] = 0;
        status = place_connectors(&k, fault);
        release_rows(&k);
        if (!status) status = place_connectors(&k, fault);
    }
    memory_free(k.best);
    memory_free(k.wanted);
    memory_free(size);
    return status;
}
