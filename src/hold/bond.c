/* What hangs together, panel by panel.
 *
 * Idea. Every panel is surveyed on its own, layer by layer (rows of a wall, tiers of a plaque). Two
 * maps, of this layer and of the one before, name the brick of each unit by its place in the
 * panel's list, from 1; 0 is no brick. The list is in layer order. Bricks that overlap from layer
 * to layer are linked; the components of the graph are the pieces, its articulation points the weak
 * bricks.
 *
 * Joints. A joint lies between two bricks that touch side by side in one layer.
 *   Wall: a line between two columns is straight in a course if no brick of that course
 *   crosses it in any tier; its length is the number of courses, one above another,
 *   where it is. So a lone joint through the thickness has length 1.
 *   Plaque: a line between two columns of one tier; its length is the number of rows,
 *   one above another, where no brick of that tier crosses it. The base sheet holds
 *   both sides, so it is measured but is no flaw.
 *
 * Quarter lap. Seen from a joint, unit by unit, at line x between bricks P and Q, over
 * the layer before: if two bricks of it meet at x as well the lap is 0. Else P laps the
 * brick under its end, which begins at y, by x - y (where P begins left of y), and Q the
 * brick under its start, which ends at z, by z - x (where Q ends right of z). The joint
 * passes if each of these is at least a quarter of the shorter of
 * the two bricks that lap. Joints over no brick at all are left out. In a wall only
 * joints between columns count, in a plaque those between rows too.
 *
 * Invariants. Panels are surveyed in parallel and gathered in their order, so that the report, a
 * fault too, is the same for any number of threads.
 *
 * Source. Articulation points: Tarjan 1972, SIAM J. Comput. 1:146-160 (model/graph.h). Quarter lap:
 * TMS 402 and BS 5628-3 as reported, a lap of at least a quarter of the unit. */
#include "hold/bond.h"

#include "base/bands.h"
#include "base/memory.h"
#include "model/graph.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Courses from which on a joint in line is a flaw: two in line are bridged above and below. Ours.
 */
enum { STRAIGHT_FLAW = 3 };

/* A weak brick is a flaw where more units hang on it than it has itself, and so many at least: what
 * is less is held as well as the brick is, and a thumb presses it home. Ours. Of 538 weak bricks of
 * a plaque in relief that leaves 1, of 359 of a wall one brick thick 128. */
enum { LOST_FLAW = 3 };

typedef struct Survey { /* one panel */
    const Panel *panel;
    const Brick *brick; /* of the whole mural */
    const size_t *list; /* the panel's, in layer order */
    uint32_t count;
    bool wall;
    int across, deep;       /* units of a layer: columns by tiers, or columns by rows */
    uint32_t *now, *before; /* deep x across */
    uint32_t *stamp;        /* count: the last brick that was linked to this one */
    uint32_t *line_brick;   /* where the joint at this line began */
    int *line_length;       /* lines of a layer: columns + 1, in each tier for a plaque */
    Graph graph;
    size_t joints, lapped;
    PanelBond *bond;
    Flaw *flaw;
    size_t flaws, capacity;
    int index; /* of the panel */
} Survey;

typedef struct BrickBox { /* a brick within its layer */
    int a, b;             /* columns, from the panel's left edge: a <= column < b */
    int c, d;             /* tiers of a wall, or rows of a plaque from the panel's lowest */
} BrickBox;

static BrickBox box_of(const Survey *s, uint32_t local)
{
    const Brick *k = &s->brick[s->list[local]];
    const int a = k->column - s->panel->column;
    const int c = s->wall ? k->tier : k->row - s->panel->row;
    return (BrickBox){a, a + k->columns, c, c + (s->wall ? k->tiers : k->rows)};
}

static int layer_of(const Survey *s, uint32_t local)
{
    const Brick *k = &s->brick[s->list[local]];
    return s->wall ? k->row - s->panel->row : k->tier;
}

static Status add_flaw(Survey *s, FlawKind kind, uint32_t local, int length, Fault *fault)
{
    const Status status = memory_grow(&s->flaw, &s->capacity, s->flaws + 1, sizeof *s->flaw, fault);
    if (status) return status;
    const Brick *k = &s->brick[s->list[local]];
    s->flaw[s->flaws++] = (Flaw){.kind = kind,
                                 .panel = s->index,
                                 .brick = s->list[local],
                                 .column = k->column,
                                 .row = k->row,
                                 .tier = k->tier,
                                 .length = length};
    return STATUS_OK;
}

static void paint(Survey *s, uint32_t *map, uint32_t begin, uint32_t end, bool names)
{
    for (uint32_t i = begin; i < end; i++) {
        const BrickBox box = box_of(s, i);
        for (int c = box.c; c < box.d; c++)
            for (int a = box.a; a < box.b; a++)
                map[(size_t)c * (size_t)s->across + (size_t)a] = names ? i + 1 : 0;
    }
}

/* Links a brick to each one below; *rests tells whether there was any. */
static Status link_down(Survey *s, uint32_t local, bool *rests, Fault *fault)
{
    const BrickBox box = box_of(s, local);
    *rests = false;
    for (int c = box.c; c < box.d; c++)
        for (int a = box.a; a < box.b; a++) {
            const uint32_t below = s->before[(size_t)c * (size_t)s->across + (size_t)a];
            if (!below) continue;
            *rests = true;
            if (s->stamp[below - 1] == local + 1) continue;
            s->stamp[below - 1] = local + 1;
            const Status status = graph_link(&s->graph, below - 1, local, fault);
            if (status) return status;
        }
    return STATUS_OK;
}

/* Ends the run of joints at a line, and says so where it is a flaw. */
static Status end_joint_line(Survey *s, size_t line, Fault *fault)
{
    const int length = s->line_length[line];
    s->line_length[line] = 0;
    if (length > s->bond->longest_straight_joint) s->bond->longest_straight_joint = length;
    if (!s->wall || length < STRAIGHT_FLAW) return STATUS_OK;
    return add_flaw(s, FLAW_STRAIGHT_JOINT, s->line_brick[line], length, fault);
}

/* True if a course has bricks on both sides of the line and none across it. The brick
 * right of it, at the back, is named. */
static bool parts_course(const Survey *s, int a, uint32_t *right_out)
{
    uint32_t left = 0, right = 0;
    for (int c = 0; c < s->deep; c++) {
        const uint32_t *unit = s->now + (size_t)c * (size_t)s->across + (size_t)a;
        if (unit[0] && unit[0] == unit[-1]) return false;
        if (!left) left = unit[-1];
        if (!right) right = unit[0];
    }
    *right_out = right - 1;
    return left && right;
}

static Status straight_in_wall(Survey *s, Fault *fault)
{
    for (int a = 1; a < s->across; a++) {
        uint32_t right;
        if (parts_course(s, a, &right)) {
            if (s->line_length[a]++ == 0) s->line_brick[a] = right;
        } else {
            const Status status = end_joint_line(s, (size_t)a, fault);
            if (status) return status;
        }
    }
    return STATUS_OK;
}

static void straight_in_plaque(Survey *s)
{
    for (int a = 1; a < s->across; a++) {
        int length = 0;
        for (int c = 0; c < s->deep; c++) {
            const uint32_t *unit = s->now + (size_t)c * (size_t)s->across + (size_t)a;
            length = unit[0] && unit[-1] && unit[0] != unit[-1] ? length + 1 : 0;
            if (length > s->bond->longest_straight_joint) s->bond->longest_straight_joint = length;
        }
    }
}

static void brick_extent(const Survey *s, uint32_t name, bool along, int *begin, int *end)
{
    const BrickBox box = box_of(s, name - 1);
    *begin = along ? box.a : box.c;
    *end = along ? box.b : box.d;
}

/* True if the upper brick [a,b) and the lower one [c,d) lap by a quarter of the shorter. */
static bool is_quarter_lap(int lap, int a, int b, int c, int d)
{
    const int shorter = b - a < d - c ? b - a : d - c;
    return 4 * lap >= shorter;
}

static bool joint_laps(const Survey *s, const uint32_t *now, const uint32_t *before, size_t stride,
                       int x, bool along)
{
    int a, b, c, d;
    const size_t left = (size_t)(x - 1) * stride, right = (size_t)x * stride;
    if (before[left] && before[right] && before[left] != before[right]) return false;
    if (before[left]) {
        brick_extent(s, now[left], along, &a, &b);
        brick_extent(s, before[left], along, &c, &d);
        if (c > a && !is_quarter_lap(x - c, a, b, c, d)) return false;
    }
    if (before[right]) {
        brick_extent(s, now[right], along, &a, &b);
        brick_extent(s, before[right], along, &c, &d);
        if (d < b && !is_quarter_lap(d - x, a, b, c, d)) return false;
    }
    return true;
}

static bool joint_at(const uint32_t *unit, size_t stride, int x)
{
    const uint32_t p = unit[(size_t)(x - 1) * stride], q = unit[(size_t)x * stride];
    return p && q && p != q;
}

/* The laps along one line of n units. */
static void lap_line(Survey *s, size_t offset, size_t stride, int n, bool along)
{
    const uint32_t *now = s->now + offset, *before = s->before + offset;
    for (int x = 1; x < n; x++) {
        if (!joint_at(now, stride, x)) continue;
        if (!before[(size_t)(x - 1) * stride] && !before[(size_t)x * stride]) continue;
        s->joints++;
        s->lapped += joint_laps(s, now, before, stride, x, along);
    }
}

static void count_laps(Survey *s)
{
    for (int c = 0; c < s->deep; c++)
        lap_line(s, (size_t)c * (size_t)s->across, 1, s->across, true);
    if (s->wall) return;
    for (int a = 0; a < s->across; a++) lap_line(s, (size_t)a, (size_t)s->across, s->deep, false);
}

/* One layer, whose bricks are [begin, end) of the list; `rested` is whether the layer
 * before is just below. */
static Status survey_layer(Survey *s, uint32_t begin, uint32_t end, bool rested, Fault *fault)
{
    Status status = STATUS_OK;
    const bool ground = layer_of(s, begin) == 0;
    paint(s, s->now, begin, end, true);
    for (uint32_t i = begin; i < end && !status; i++) {
        bool rests = ground;
        if (!ground && rested) status = link_down(s, i, &rests, fault);
        if (!status && ground && !s->wall) status = graph_link(&s->graph, s->count, i, fault);
        if (!status && !rests) {
            s->bond->unsupported++;
            status = add_flaw(s, FLAW_UNSUPPORTED, i, 1, fault);
        }
    }
    if (status) return status;
    if (rested) count_laps(s);
    if (!s->wall) {
        straight_in_plaque(s);
        return STATUS_OK;
    }
    return straight_in_wall(s, fault);
}

static Status end_joint_lines(Survey *s, Fault *fault)
{
    Status status = STATUS_OK;
    if (s->wall)
        for (int a = 1; a < s->across && !status; a++) status = end_joint_line(s, (size_t)a, fault);
    return status;
}

static Status survey_layers(Survey *s, Fault *fault)
{
    Status status = STATUS_OK;
    uint32_t last = 0, begin = 0;
    for (uint32_t end; begin < s->count && !status; last = begin, begin = end) {
        const int layer = layer_of(s, begin);
        for (end = begin; end < s->count && layer_of(s, end) == layer;) end++;
        const bool rested = begin > 0 && layer_of(s, last) == layer - 1;
        if (begin > 0 && !rested) {
            paint(s, s->before, last, begin, false);
            status = end_joint_lines(s, fault);
        }
        if (!status) status = survey_layer(s, begin, end, rested, fault);
        if (rested) paint(s, s->before, last, begin, false);
        uint32_t *swap = s->before;
        s->before = s->now;
        s->now = swap;
    }
    return status ? status : end_joint_lines(s, fault);
}

/* The weight of a base sheet: more than all bricks of a panel together. */
enum { SHEET_WEIGHT = 1 << 30 };

/* Scratch of a survey of pieces, an item for each node. */
typedef struct PieceSurvey {
    GraphSurvey graph;
    uint32_t *size;   /* bricks of each piece */
    uint32_t *weight; /* units */
} PieceSurvey;

/* A plaque's base sheet is one node more, the last, that belongs to its first tier; what hangs on
 * it is never what comes off. */
static Status piece_survey_init(PieceSurvey *v, const Survey *s, uint32_t nodes, Fault *fault)
{
    *v = (PieceSurvey){.graph = {.piece = memory_create(nodes, sizeof *v->graph.piece),
                                 .weak = memory_create(nodes, 1),
                                 .lost = memory_create(nodes, sizeof *v->graph.lost)},
                       .size = memory_create(nodes, sizeof *v->size),
                       .weight = memory_create(nodes, sizeof *v->weight)};
    if (!v->graph.piece || !v->graph.weak || !v->graph.lost || !v->size || !v->weight)
        return memory_fault(fault, nodes, sizeof *v->graph.lost);
    for (uint32_t i = 0; i < nodes; i++) {
        const Brick *k = i < s->count ? &s->brick[s->list[i]] : NULL;
        v->weight[i] = k ? (uint32_t)(k->columns * k->rows * k->tiers) : SHEET_WEIGHT;
    }
    v->graph.weight = v->weight;
    return STATUS_OK;
}

static void piece_survey_clear(PieceSurvey *v)
{
    memory_free(v->graph.piece);
    memory_free(v->graph.weak);
    memory_free(v->graph.lost);
    memory_free(v->size);
    memory_free(v->weight);
}

/* The largest piece is the panel; the others are loose, each a flaw at its lowest brick. */
static Status add_pieces(Survey *s, PieceSurvey *v, Fault *fault)
{
    uint32_t largest = 0;
    Status status = STATUS_OK;
    for (uint32_t i = 0; i < s->count; i++) v->size[v->graph.piece[i]]++;
    for (uint32_t p = 0; p < v->graph.pieces; p++) {
        s->bond->pieces += v->size[p] > 0;
        if (v->size[p] > v->size[largest]) largest = p;
    }
    for (uint32_t i = 0; i < s->count && !status; i++) {
        const uint32_t bricks = v->size[v->graph.piece[i]];
        v->size[v->graph.piece[i]] = 0;
        if (v->graph.piece[i] != largest && bricks)
            status = add_flaw(s, FLAW_PIECE, i, (int)bricks, fault);
    }
    return status;
}

static Status add_weak(Survey *s, const PieceSurvey *v, Fault *fault)
{
    Status status = STATUS_OK;
    for (uint32_t i = 0; i < s->count && !status; i++) {
        if (!v->graph.weak[i]) continue;
        s->bond->weak++;
        if (v->graph.lost[i] < LOST_FLAW || v->graph.lost[i] <= v->weight[i]) continue;
        status = add_flaw(s, FLAW_WEAK, i, 1, fault);
        if (!status) s->flaw[s->flaws - 1].lost = (long)v->graph.lost[i];
    }
    return status;
}

static Status survey_pieces(Survey *s, Fault *fault)
{
    const uint32_t nodes = s->count + (s->wall ? 0 : 1);
    PieceSurvey v;
    Status status = piece_survey_init(&v, s, nodes, fault);
    if (!status) status = graph_survey(&s->graph, nodes, &v.graph, fault);
    if (!status) status = add_pieces(s, &v, fault);
    if (!status) status = add_weak(s, &v, fault);
    piece_survey_clear(&v);
    return status;
}

static int flaws_by_place(const void *left, const void *right)
{
    const Flaw *a = left, *b = right;
    if (a->kind != b->kind) return a->kind < b->kind ? -1 : 1;
    if (a->row != b->row) return a->row < b->row ? -1 : 1;
    if (a->column != b->column) return a->column < b->column ? -1 : 1;
    if (a->tier != b->tier) return a->tier < b->tier ? -1 : 1;
    return a->brick < b->brick ? -1 : a->brick > b->brick;
}

static Status survey_init(Survey *s, Fault *fault)
{
    s->across = s->panel->columns;
    s->deep = s->wall ? 1 : s->panel->rows;
    for (uint32_t i = 0; i < s->count; i++) {
        const BrickBox box = box_of(s, i);
        assert(box.a >= 0 && box.b <= s->across && box.c >= 0);
        assert(s->wall || box.d <= s->deep);
        if (box.d > s->deep) s->deep = box.d;
    }
    const size_t units = (size_t)s->across * (size_t)s->deep;
    const size_t lines = (size_t)(s->across > s->deep ? s->across : s->deep) + 1;
    s->now = memory_create(units, sizeof *s->now);
    if (s->now) s->before = memory_create(units, sizeof *s->before);
    if (s->before) s->stamp = memory_create(s->count, sizeof *s->stamp);
    if (s->stamp) s->line_brick = memory_create(lines, sizeof *s->line_brick);
    if (s->line_brick) s->line_length = memory_create(lines, sizeof *s->line_length);
    return s->line_length ? STATUS_OK : memory_fault(fault, units, sizeof *s->now);
}

static void survey_clear(Survey *s)
{
    memory_free(s->now);
    memory_free(s->before);
    memory_free(s->stamp);
    memory_free(s->line_brick);
    memory_free(s->line_length);
    graph_clear(&s->graph);
}

static Status survey_panel(Survey *s, Fault *fault)
{
    Status status = survey_init(s, fault);
    if (!status) status = survey_layers(s, fault);
    if (!status) status = survey_pieces(s, fault);
    if (!status) {
        s->bond->quarter_lap = s->joints ? (double)s->lapped / (double)s->joints : 1;
        if (s->flaws) qsort(s->flaw, s->flaws, sizeof *s->flaw, flaws_by_place);
    }
    survey_clear(s);
    return status;
}

/* The bricks' indices by panel, then layer: two passes of counting. begin_out[p] is
 * where panel p's begin. */
static Status sort_by_layer(const Laid *laid, bool wall, int panels, size_t *list,
                            size_t *begin_out, Fault *fault)
{
    size_t layers = 0;
    for (size_t i = 0; i < laid->count; i++) {
        const size_t layer = wall ? (size_t)laid->brick[i].row : (size_t)laid->brick[i].tier;
        if (layer >= layers) layers = layer + 1;
    }
    size_t *by_layer = memory_create(laid->count, sizeof *by_layer);
    size_t *next = memory_create(layers + 1, sizeof *next);
    if (!by_layer || !next) {
        memory_free(by_layer);
        memory_free(next);
        return memory_fault(fault, laid->count, sizeof *by_layer);
    }
    for (size_t i = 0; i < laid->count; i++)
        next[(wall ? (size_t)laid->brick[i].row : (size_t)laid->brick[i].tier) + 1]++;
    for (size_t l = 0; l < layers; l++) next[l + 1] += next[l];
    for (size_t i = 0; i < laid->count; i++)
        by_layer[next[wall ? (size_t)laid->brick[i].row : (size_t)laid->brick[i].tier]++] = i;

    memset(begin_out, 0, ((size_t)panels + 2) * sizeof *begin_out);
    for (size_t i = 0; i < laid->count; i++) begin_out[laid->brick[i].panel + 2]++;
    for (int p = 0; p < panels; p++) begin_out[p + 2] += begin_out[p + 1];
    for (size_t i = 0; i < laid->count; i++)
        list[begin_out[laid->brick[by_layer[i]].panel + 1]++] = by_layer[i];
    memory_free(by_layer);
    memory_free(next);
    return STATUS_OK;
}

typedef struct SurveyJobs {
    Survey *survey;
    Status *status;
    Fault *fault;
} SurveyJobs;

static void survey_panels(void *context, int begin, int end, int worker)
{
    SurveyJobs *jobs = context;
    (void)worker;
    for (int p = begin; p < end; p++)
        jobs->status[p] = survey_panel(&jobs->survey[p], &jobs->fault[p]);
}

/* Runs every panel's survey and gathers the flaws in the order of the panels. */
static Status survey_all(Bond *bond, SurveyJobs *jobs, int panels, int threads, Fault *fault)
{
    bands_run(threads, panels, 1, survey_panels, jobs);
    size_t flaws = 0;
    for (int p = 0; p < panels; p++) {
        if (jobs->status[p]) {
            if (fault) *fault = jobs->fault[p];
            return jobs->status[p];
        }
        flaws += jobs->survey[p].flaws;
    }
    const Status status =
        memory_grow(&bond->flaw, &bond->capacity, flaws, sizeof *bond->flaw, fault);
    if (status) return status;
    for (int p = 0; p < panels; p++) {
        const Survey *s = &jobs->survey[p];
        if (s->flaws) memcpy(bond->flaw + bond->flaws, s->flaw, s->flaws * sizeof *s->flaw);
        bond->flaws += s->flaws;
    }
    return STATUS_OK;
}

Status bond_init(Bond *bond_out, const Solid *solid, const Panels *panels, const Laid *laid,
                 int threads, Fault *fault)
{
    const size_t n = (size_t)panels->count;
    const bool wall = solid->build == BUILD_WALL;
    *bond_out = (Bond){.panel = memory_create(n, sizeof *bond_out->panel)};
    size_t *list = memory_create(laid->count, sizeof *list);
    size_t *begin = memory_create(n + 2, sizeof *begin);
    SurveyJobs jobs = {memory_create(n, sizeof *jobs.survey), memory_create(n, sizeof *jobs.status),
                       memory_create(n, sizeof *jobs.fault)};
    Status status = bond_out->panel && list && begin && jobs.survey && jobs.status && jobs.fault
                        ? STATUS_OK
                        : memory_fault(fault, laid->count, sizeof *list);
    if (!status) status = sort_by_layer(laid, wall, panels->count, list, begin, fault);
    if (!status) {
        for (int p = 0; p < panels->count; p++) {
            assert(begin[p + 1] - begin[p] < UINT32_MAX);
            jobs.survey[p] = (Survey){.panel = &panels->panel[p],
                                      .brick = laid->brick,
                                      .list = list + begin[p],
                                      .count = (uint32_t)(begin[p + 1] - begin[p]),
                                      .wall = wall,
                                      .bond = &bond_out->panel[p],
                                      .index = p};
        }
        status = survey_all(bond_out, &jobs, panels->count, threads, fault);
    }
    for (size_t p = 0; jobs.survey && p < n; p++) memory_free(jobs.survey[p].flaw);
    memory_free(jobs.fault);
    memory_free(jobs.status);
    memory_free(jobs.survey);
    memory_free(begin);
    memory_free(list);
    if (status) bond_clear(bond_out);
    return status;
}

void bond_clear(Bond *bond)
{
    memory_free(bond->panel);
    memory_free(bond->flaw);
    *bond = (Bond){0};
}

static const char *flaw_remedy(const Flaw *flaw, const Solid *solid, const Panel *panel)
{
    const bool wall = solid->build == BUILD_WALL;
    if (wall && (panel->columns == 1 || panel->rows == 1))
        return "move the panel's edge so that it is wider and higher than one brick";
    switch (flaw->kind) {
    case FLAW_PIECE:
    case FLAW_STRAIGHT_JOINT:
        if (wall && solid->base == 1)
            return "make the wall 2 thick, so that bricks cross behind the face, or put a panel's "
                   "edge there";
        return "change a cell's colour beside it so that a brick can cross, or put a panel's edge "
               "there";
    case FLAW_UNSUPPORTED:
        return wall ? "lower this cell's steps or raise those below it"
                    : "lower this cell's steps to those around it";
    case FLAW_WEAK:
        break;
    }
    if (wall && solid->base == 1)
        return "make the wall thicker, change a cell's colour beside it, or glue this brick";
    return "change a cell's colour beside it, or glue this brick";
}

void flaw_text(const Flaw *flaw, const Solid *solid, const Panels *panels, char *text, size_t size)
{
    const Panel *panel = &panels->panel[flaw->panel];
    const char *help = flaw_remedy(flaw, solid, panel);
    const int column = flaw->column + 1, row = flaw->row + 1, tier = flaw->tier + 1;
    switch (flaw->kind) {
    case FLAW_PIECE:
        snprintf(text, size,
                 "panel %s, column %d, row %d: %d brick%s from here on %s not joined to the rest "
                 "of the panel; %s",
                 panel->name, column, row, flaw->length, flaw->length == 1 ? "" : "s",
                 flaw->length == 1 ? "is" : "are", help);
        return;
    case FLAW_UNSUPPORTED:
        snprintf(text, size, "panel %s, column %d, row %d, tier %d: the brick rests on nothing; %s",
                 panel->name, column, row, tier, help);
        return;
    case FLAW_STRAIGHT_JOINT:
        snprintf(text, size,
                 "panel %s, columns %d and %d, rows %d to %d: a straight joint of %d courses; %s",
                 panel->name, column - 1, column, row, row + flaw->length - 1, flaw->length, help);
        return;
    case FLAW_WEAK:
        snprintf(text, size,
                 "panel %s, column %d, row %d, tier %d: %ld unit%s of other bricks come%s off "
                 "without this one; %s",
                 panel->name, column, row, tier, flaw->lost, flaw->lost == 1 ? "" : "s",
                 flaw->lost == 1 ? "s" : "", help);
        return;
    }
}
