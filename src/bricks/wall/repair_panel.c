/* Flaws found and asked away.
 *
 * Idea. Flaws are loose pieces, bricks that would part the panel if lost (the articulation points
 * of the graph of bricks that overlap), and joints in line over three courses. Each asks the
 * courses around it to do better: a count beside a column that course_prices.c turns into a price.
 * The panel is swept, surveyed again, and the best laying of all rounds stays.
 *
 * Invariants. The panel that is left is no worse than the one that came: in pieces, then in what
 * bricks and flaws count together.
 *
 * Source. Articulation points: Tarjan 1972, SIAM J. Comput. 1:146-160 (model/graph.h). Local repair
 * around weak points: Testuz, Schwartzburg and Pauly 2013, Eurographics short papers. */
#include "bricks/wall/repair_panel.h"

#include "base/memory.h"
#include "bricks/wall/connect_pieces.h"
#include "bricks/wall/wall_sweep.h"
#include "model/graph.h"

#include <assert.h>
#include <string.h>

/* The most that is asked, in times a price of course_prices.c: that flaws seen again are asked
 * harder, but never at any price. Ours. */
enum {
    BEAR_MOST = 3,      /* of bricks, to bear on two or carry two */
    CROSS_WEAK = 3,     /* of lines that a weak brick crosses */
    CROSS_STRAIGHT = 2, /* of lines where joints are straight */
    CROSS_PIECES = 4    /* of lines that part pieces, at once */
};

/* What a weak brick or a straight joint counts, in fifths of a brick, where layings are compared.
 * One thick a wall is weak wherever its colours are, so that no more is spent than that a weak
 * brick is worse than one more. By trial on the reliefs of tests/bench/bench_wall: at two bricks 12
 * more, and 4 fewer weak and straight. Thicker, structure comes first. */
enum { BRICK = 5, FLAW_ONE_THICK = 6, FLAW = 5 * 1000 };

/* Rounds in a row, with one piece, that may go by without a better laying; rounds at least, while
 * there are more pieces. Ours. */
enum { PATIENCE = 3, PIECES_ROUNDS = 16 };

/* What is still wrong with a panel, and how many bricks it takes. */
typedef struct PanelState {
    uint32_t pieces, weak, straight;
    size_t price; /* of bricks and flaws, in fifths of a brick */
} PanelState;

static bool better(const PanelState *a, const PanelState *b)
{
    if (a->pieces != b->pieces) return a->pieces < b->pieces;
    return a->price < b->price;
}

static void ask_harder(uint8_t *asked, int most)
{
    if (*asked < most) ++*asked;
}

/* Asks the bricks of a course that bear on (or carry) this one alone to take in another. */
static bool ask_row(WallPanel *w, const CourseBrick *weak, int row, uint8_t *asked)
{
    bool found = false;
    const Course *course = &w->course[row];
    for (size_t i = 0; i < course->count; i++) {
        const CourseBrick *p = &course->brick[i];
        if (!brick_within(p, weak)) continue;
        ask_harder(&asked[p->column], BEAR_MOST);
        found = true;
    }
    return found;
}

/* Asks for another way round a weak brick: its neighbours to overlap others as well or,
 * where none hangs on it alone, courses nearby to cross the lines that it crosses. */
static void ask_around_weak(WallPanel *w, int row, const CourseBrick *weak)
{
    const int rows = w->panel->rows;
    bool found = false;
    if (row + 1 < rows) found |= ask_row(w, weak, row + 1, wall_panel_line(w, w->bear, row + 1));
    if (row > 0) found |= ask_row(w, weak, row - 1, wall_panel_line(w, w->carry, row - 1));
    for (int y = row - 2; y <= row + 2 && !found; y++)
        for (int x = weak->column; x <= weak->column + weak->columns; x++)
            if (y >= 0 && y < rows && y != row && x > 0 && x < w->panel->columns)
                ask_harder(wall_panel_line(w, w->cross, y) + x, CROSS_WEAK);
    wall_panel_mark(w, row, found ? 1 : 2);
}

static Status link_courses(WallPanel *w, const size_t *first, Graph *graph, Fault *fault)
{
    Status status = STATUS_OK;
    for (int row = 1; row < w->panel->rows && !status; row++) {
        wall_panel_view(w, &w->course[row - 1], &w->view[0]);
        const Course *course = &w->course[row];
        for (size_t i = 0; i < course->count && !status; i++) {
            const CourseBrick *p = &course->brick[i];
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
static void ask_between_pieces(WallPanel *w, const size_t *first, const uint32_t *piece)
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
                wall_panel_line(w, w->cross, row)[x] = CROSS_PIECES;
                wall_panel_mark(w, row, 0);
            }
    }
}

/* Asks for bricks across joints in line over three courses; returns how many there are. */
static uint32_t ask_across_straight(WallPanel *w)
{
    uint32_t found = 0;
    for (int row = 2; row < w->panel->rows; row++)
        for (int x = 1; x < w->panel->columns; x++) {
            if (!wall_panel_line(w, w->parted, row)[x] ||
                !wall_panel_line(w, w->parted, row - 1)[x] ||
                !wall_panel_line(w, w->parted, row - 2)[x])
                continue;
            found++;
            for (int y = row - 2; y <= row; y++)
                ask_harder(wall_panel_line(w, w->cross, y) + x, CROSS_STRAIGHT);
            wall_panel_mark(w, row - 1, 1);
        }
    return found;
}

/* The panel's bricks as nodes of a graph. */
typedef struct PanelGraph {
    size_t nodes;
    size_t *first;   /* by course: its first brick */
    uint32_t *piece; /* by brick */
    uint8_t *weak;   /* by brick: 1 if the panel would come apart without it */
} PanelGraph;

static void panel_graph_clear(PanelGraph *g)
{
    memory_free(g->weak);
    memory_free(g->piece);
    memory_free(g->first);
}

static Status panel_graph_init(PanelGraph *g, WallPanel *w, uint32_t *pieces_out, Fault *fault)
{
    const size_t rows = (size_t)w->panel->rows;
    *g = (PanelGraph){.first = memory_create(rows, sizeof *g->first)};
    if (!g->first) return memory_fault(fault, rows, sizeof *g->first);
    for (size_t row = 0; row < rows; row++) {
        g->first[row] = g->nodes;
        g->nodes += w->course[row].count;
    }
    assert(g->nodes < UINT32_MAX);
    g->piece = memory_create(g->nodes, sizeof *g->piece);
    g->weak = memory_create(g->nodes, 1);
    if (!g->piece || !g->weak) return memory_fault(fault, g->nodes, sizeof *g->piece);
    Graph graph = {0};
    Status status = link_courses(w, g->first, &graph, fault);
    GraphSurvey survey = {.piece = g->piece, .weak = g->weak};
    if (!status) status = graph_survey(&graph, (uint32_t)g->nodes, &survey, fault);
    *pieces_out = survey.pieces;
    graph_clear(&graph);
    return status;
}

/* Surveys the panel, and asks the courses around each flaw to do better. */
static Status survey_flaws(WallPanel *w, int round, PanelState *state, Fault *fault)
{
    PanelGraph g;
    Status status = panel_graph_init(&g, w, &state->pieces, fault);
    if (!status) {
        state->weak = 0;
        state->straight = ask_across_straight(w);
        for (int row = 0; row < w->panel->rows; row++)
            for (size_t i = 0; i < w->course[row].count; i++)
                if (g.weak[g.first[row] + i]) {
                    state->weak++;
                    ask_around_weak(w, row, &w->course[row].brick[i]);
                }
        state->price = BRICK * g.nodes + (w->wall->solid->base == 1 ? FLAW_ONE_THICK : FLAW) *
                                             (state->weak + (size_t)state->straight);
        if (state->pieces > 1) ask_between_pieces(w, g.first, g.piece);
        if (state->pieces > 1 && round > 0)
            status = connect_pieces(w, g.first, g.piece, state->pieces, g.nodes, fault);
    }
    panel_graph_clear(&g);
    return status;
}

static Status copy_courses(Course *to, const Course *from, int rows, Fault *fault)
{
    Status status = STATUS_OK;
    for (int row = 0; row < rows && !status; row++)
        status = course_copy(&to[row], &from[row], fault);
    return status;
}

Status repair_panel_settle(WallPanel *w, int sweeps, Fault *fault)
{
    Status status = STATUS_OK;
    for (int i = 0; i < sweeps && !status; i++) status = wall_sweep(w, i % 2 == 0, fault);
    return status;
}

/* Relays the courses around flaws for some rounds; the best laying ends up in `kept`. */
static Status repair_rounds(WallPanel *w, int rounds, Course *kept, Fault *fault)
{
    PanelState best, now;
    const int rows = w->panel->rows;
    Status status = survey_flaws(w, 0, &best, fault);
    if (!status) status = copy_courses(kept, w->course, rows, fault);
    int idle = 0;
    for (int round = 0; !status && idle < PATIENCE; round++) {
        const int most = best.pieces > 1 && rounds < PIECES_ROUNDS ? PIECES_ROUNDS : rounds;
        if (round >= most || (best.pieces <= 1 && best.weak == 0 && best.straight == 0)) break;
        status = repair_panel_settle(w, 2, fault);
        if (!status) status = survey_flaws(w, round + 1, &now, fault);
        if (status) break;
        if (now.pieces == 1) idle++;
        if (!better(&now, &best)) continue;
        best = now;
        idle = 0;
        status = copy_courses(kept, w->course, rows, fault);
    }
    if (!status) w->straight = best.straight;
    return status;
}

Status repair_panel(WallPanel *w, int rounds, Fault *fault)
{
    const int rows = w->panel->rows;
    Course *kept = memory_create((size_t)rows, sizeof *kept);
    if (!kept) return memory_fault(fault, (size_t)rows, sizeof *kept);
    Status status = repair_rounds(w, rounds, kept, fault);
    if (!status) status = copy_courses(w->course, kept, rows, fault);
    for (int row = 0; row < rows; row++) course_clear(&kept[row]);
    memory_free(kept);
    return status;
}
