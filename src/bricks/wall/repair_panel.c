#include "bricks/wall/repair_panel.h"

#include "base/memory.h"
#include "bricks/wall/connect_pieces.h"
#include "model/graph.h"

#include <assert.h>
#include <string.h>

/* What is still wrong with a panel, and how many bricks it takes. */
typedef struct State {
    uint32_t pieces, weak, straight;
    size_t bricks;
} State;

/* Structure comes first; then bricks. */
static bool better(const State *a, const State *b)
{
    if (a->pieces != b->pieces) return a->pieces < b->pieces;
    if (a->weak + a->straight != b->weak + b->straight)
        return a->weak + a->straight < b->weak + b->straight;
    return a->bricks < b->bricks;
}

static void raise(uint8_t *how_hard, int most)
{
    if (*how_hard < most) ++*how_hard;
}

/* Asks the bricks of a course that bear on (or carry) this one alone to take in another; and
 * at the panel's edge, to lie right through, so that two leaves below would carry it. */
static bool press_row(WallPanel *w, const Piece *weak, int row, uint8_t *press)
{
    bool found = false;
    const bool edge = row == 0 || row == w->panel->rows - 1;
    const Course *course = &w->course[row];
    for (size_t i = 0; i < course->count; i++) {
        const Piece *p = &course->piece[i];
        if (!piece_within(p, weak)) continue;
        raise(&press[p->column], 3);
        for (int x = p->column; edge && x < p->column + p->columns; x++)
            raise(wall_panel_line(w, w->whole, row) + x, 4);
        found = true;
    }
    return found;
}

/* Asks for another way round a weak brick: its neighbours to overlap others as well or,
 * where none hangs on it alone, courses nearby to cross the lines that it crosses. */
static void relieve(WallPanel *w, int row, const Piece *weak)
{
    const int rows = w->panel->rows;
    bool found = false;
    if (row + 1 < rows) found |= press_row(w, weak, row + 1, wall_panel_line(w, w->bear, row + 1));
    if (row > 0) found |= press_row(w, weak, row - 1, wall_panel_line(w, w->carry, row - 1));
    for (int y = row - 2; y <= row + 2 && !found; y++)
        for (int x = weak->column; x <= weak->column + weak->columns; x++)
            if (y >= 0 && y < rows && y != row && x > 0 && x < w->panel->columns)
                raise(wall_panel_line(w, w->cross, y) + x, 3);
    wall_panel_mark(w, row, found ? 1 : 2);
}

static Status link_rows(WallPanel *w, const size_t *first, Graph *graph, Fault *fault)
{
    Status status = STATUS_OK;
    for (int row = 1; row < w->panel->rows && !status; row++) {
        wall_panel_view(w, &w->course[row - 1], &w->view[0]);
        const Course *course = &w->course[row];
        for (size_t i = 0; i < course->count && !status; i++) {
            const Piece *p = &course->piece[i];
            int32_t last = -1;
            for (int tier = p->tier; tier < p->tier + p->tiers; tier++)
                for (int x = p->column; x < p->column + p->columns && !status; x++) {
                    const int32_t below = w->view[0].unit[wall_panel_unit(w, x, tier)];
                    if (below < 0 || below == last) continue;
                    last = below;
                    status = graph_link(graph, (uint32_t)(first[row - 1] + (size_t)below),
                                        (uint32_t)(first[row] + i), fault);
                }
        }
    }
    return status;
}

/* Asks for bricks across the lines where a panel is parted. */
static void join_pieces(WallPanel *w, const size_t *first, const uint32_t *piece)
{
    for (int row = 0; row < w->panel->rows; row++) {
        wall_panel_view(w, &w->course[row], &w->view[0]);
        for (int x = 1; x < w->panel->columns; x++)
            for (int tier = 0; tier < w->depth; tier++) {
                const int32_t left = w->view[0].unit[wall_panel_unit(w, x - 1, tier)];
                const int32_t right = w->view[0].unit[wall_panel_unit(w, x, tier)];
                if (left < 0 || right < 0 ||
                    piece[first[row] + (size_t)left] == piece[first[row] + (size_t)right])
                    continue;
                *(wall_panel_line(w, w->cross, row) + x) = 4;
                wall_panel_mark(w, row, 0);
            }
        for (int x = 0; x < w->panel->columns; x++)
            for (int tier = 1; tier < w->depth; tier++) {
                const int32_t back = w->view[0].unit[wall_panel_unit(w, x, tier - 1)];
                const int32_t front = w->view[0].unit[wall_panel_unit(w, x, tier)];
                if (back < 0 || front < 0 ||
                    piece[first[row] + (size_t)back] == piece[first[row] + (size_t)front])
                    continue;
                *(wall_panel_line(w, w->whole, row) + x) = 2;
                wall_panel_mark(w, row, 0);
            }
    }
}

static uint32_t straighten(WallPanel *w)
{
    uint32_t found = 0;
    for (int row = 2; row < w->panel->rows; row++)
        for (int x = 1; x < w->panel->columns; x++) {
            if (!wall_panel_line(w, w->parted, row)[x] ||
                !wall_panel_line(w, w->parted, row - 1)[x] ||
                !wall_panel_line(w, w->parted, row - 2)[x])
                continue;
            found++;
            for (int y = row - 2; y <= row; y++) raise(wall_panel_line(w, w->cross, y) + x, 2);
            wall_panel_mark(w, row - 1, 1);
        }
    return found;
}

/* Surveys the panel, and asks the courses around each flaw to do better. One brick thick, a
 * wall is weak wherever its colours are: no bricks are spent on that beyond their price. */
static Status survey(WallPanel *w, int round, State *state, Fault *fault)
{
    const int rows = w->panel->rows;
    size_t nodes = 0, *first = memory_create((size_t)rows, sizeof *first);
    if (!first) return memory_fault(fault, (size_t)rows, sizeof *first);
    for (int row = 0; row < rows; row++) {
        first[row] = nodes;
        nodes += w->course[row].count;
    }
    assert(nodes < UINT32_MAX);
    uint32_t *piece = memory_create(nodes, sizeof *piece);
    uint8_t *weak = memory_create(nodes, 1);
    Status status = piece && weak ? STATUS_OK : memory_fault(fault, nodes, sizeof *piece);
    Graph graph = {0};
    if (!status) status = link_rows(w, first, &graph, fault);
    if (!status) status = graph_survey(&graph, (uint32_t)nodes, piece, weak, &state->pieces, fault);
    graph_clear(&graph);
    if (!status) {
        state->bricks = nodes;
        state->weak = 0;
        state->straight = straighten(w);
        for (int row = 0; row < rows && w->depth > 1; row++)
            for (size_t i = 0; i < w->course[row].count; i++)
                if (weak[first[row] + i]) {
                    state->weak++;
                    relieve(w, row, &w->course[row].piece[i]);
                }
        if (state->pieces > 1) join_pieces(w, first, piece);
        if (state->pieces > 1 && round > 0)
            status = connect_pieces(w, first, piece, state->pieces, nodes, fault);
    }
    memory_free(weak);
    memory_free(piece);
    memory_free(first);
    return status;
}

static Status keep(Course *to, const Course *from, int rows, Fault *fault)
{
    Status status = STATUS_OK;
    for (int row = 0; row < rows && !status; row++)
        status = course_copy(&to[row], &from[row], fault);
    return status;
}

Status repair_panel_settle(WallPanel *w, int sweeps, Fault *fault)
{
    Status status = STATUS_OK;
    for (int i = 0; i < sweeps && !status; i++) status = wall_panel_sweep(w, i % 2 == 0, fault);
    return status;
}

/* Relays the courses around flaws for some rounds; the best laying ends up in `kept`. */
static Status repoint_rounds(WallPanel *w, int rounds, Course *kept, Fault *fault)
{
    State best, now;
    const int rows = w->panel->rows;
    Status status = survey(w, 0, &best, fault);
    if (!status) status = keep(kept, w->course, rows, fault);
    const int patience = w->relief ? 3 : 6;
    int idle = 0;
    for (int round = 0; round < rounds && !status && idle < patience; round++) {
        if (best.pieces <= 1 && best.weak == 0 && best.straight == 0) break;
        status = repair_panel_settle(w, 2, fault);
        if (!status) status = survey(w, round + 1, &now, fault);
        if (status) break;
        if (now.pieces == 1) idle++;
        if (!better(&now, &best)) continue;
        best = now;
        idle = 0;
        status = keep(kept, w->course, rows, fault);
    }
    if (!status) w->straight = best.straight;
    return status;
}

Status repair_panel(WallPanel *w, int rounds, Fault *fault)
{
    const int rows = w->panel->rows;
    Course *kept = memory_create((size_t)rows, sizeof *kept);
    if (!kept) return memory_fault(fault, (size_t)rows, sizeof *kept);
    Status status = repoint_rounds(w, rounds, kept, fault);
    if (!status) status = keep(w->course, kept, rows, fault);
    for (int row = 0; row < rows; row++) course_clear(&kept[row]);
    memory_free(kept);
    return status;
}
