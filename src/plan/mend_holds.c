/* Idea. What comes off at a touch is a stack of small bricks: each shown unit has its cell's
 * colour, so that a cell of a colour of its own is a stack as high as it stands out. First it is
 * tied: a brick that lies over it and over hidden units beside it (hold_ties.h) costs the look
 * nothing. Where there is no place for one, or it did not suffice, the cell takes the colour of a
 * neighbour that stands as high, so that bricks span both, which takes seven tiers from 0.16 N
 * to 3 N: the colour that differs least from its own. Where there is none, or this was tried, it is
 * lowered by a step. To deepen a neighbour of another colour helps nothing
 * (tests/clutch/test_known_answers.c).
 *
 * Invariants. A unit is tied once at most, a cell recoloured once at most and lowered otherwise, so
 * that it ends. Cells with pins, and colours that a region bars, stay as they are.
 *
 * Price. Told in bricks, cells, CIEDE2000 and steps; the plan's measures are those of what is
 * laid. */
#include "plan/mend_holds.h"

#include "base/memory.h"
#include "colour/delta_e.h"
#include "plan/hold_ties.h"
#include "plan/plan_holds.h"

#include <math.h>
#include <stdlib.h>

/* Ours: enough for the demonstration's relief. */
enum { MEND_ROUNDS = 10 };

/* What the mending took. */
typedef struct HoldMends {
    size_t tied;                /* by so many bricks */
    size_t recoloured, lowered; /* cells */
    long steps;                 /* by so many they were lowered in all */
    double colour_change;       /* CIEDE2000, the sum over cells that were recoloured */
    size_t before, after;       /* bricks that hold less than what is asked */
    double least_before_n, least_after_n;
    long bricks; /* more than before */
} HoldMends;

typedef struct Mending {
    PassTask task;
    Laid ties;      /* the task's */
    size_t settled; /* ties of the rounds before */
    Body *body;
    Laying *laying;
    Keep keep;
    bool *recoloured, *lowered; /* cells */
    HoldMends *mends;
    Fault *fault;
} Mending;

static size_t cell_of(const Mending *d, int column, int row)
{
    return (size_t)row * (size_t)d->body->grid.columns + (size_t)column;
}

/* ---- what holds too little ---- */

static Status find_slight(const Mending *d, Holds *holds)
{
    const Brief *brief = d->task.brief;
    HoldTask task;
    *holds = (Holds){0};
    const Status status =
        plan_hold_task(&task, brief, d->task.studio, d->body, &d->laying->laid, d->fault);
    task.touch_n = brief->job->hold;
    return status ? status : holds_init(holds, &task, brief->voice, d->fault);
}

static size_t count_slight(const Mending *d, const Holds *holds, double *least_out)
{
    size_t slight = 0;
    *least_out = INFINITY;
    for (int i = 0; i < d->body->panels.count; i++) {
        slight += holds->panel[i].slight;
        *least_out = fmin(*least_out, holds->panel[i].least_hold_n);
    }
    return slight;
}

/* ---- one cell ---- */

typedef struct Neighbour {
    int colour, top;
    double change; /* CIEDE2000 from the cell's colour */
} Neighbour;

/* The neighbours of a cell that are in its panel. */
static int neighbours_of(const Mending *d, int column, int row, Neighbour out[4])
{
    static const int side[4][2] = {{-1, 0}, {1, 0}, {0, -1}, {0, 1}};
    const Panel *p = &d->body->panels.panel[panels_at(&d->body->panels, column, row)];
    const Colour *colour = d->task.studio->palette.colour;
    const Lab own = colour[grid_colour(&d->body->grid, column, row)].lab;
    int count = 0;
    for (int i = 0; i < 4; i++) {
        const int x = column + side[i][0], y = row + side[i][1];
        if (x < p->column || x >= p->column + p->columns || y < p->row || y >= p->row + p->rows)
            continue;
        const int c = grid_colour(&d->body->grid, x, y);
        out[count++] =
            (Neighbour){c, solid_top(&d->body->solid, x, y), delta_e_2000(own, colour[c].lab)};
    }
    return count;
}

static bool may_take(const Mending *d, size_t cell, const Neighbour *n, int top)
{
    if (n->top < top || n->change <= 0) return false;
    return !(d->keep.cell && d->keep.cell[cell]) && !keep_bars(&d->keep, cell, n->colour);
}

static bool recolour_cell(Mending *d, int column, int row, const Neighbour *n, int count)
{
    const size_t cell = cell_of(d, column, row);
    const int top = solid_top(&d->body->solid, column, row);
    const Neighbour *best = NULL;
    if (d->recoloured[cell]) return false;
    for (int i = 0; i < count; i++)
        if (may_take(d, cell, &n[i], top) && (!best || n[i].change < best->change)) best = &n[i];
    if (!best) return false;
    d->recoloured[cell] = true;
    d->body->grid.colour[cell] = (uint8_t)best->colour;
    d->mends->recoloured++;
    d->mends->colour_change += best->change;
    return true;
}

static bool lower_cell(Mending *d, int column, int row)
{
    const size_t cell = cell_of(d, column, row);
    uint8_t *steps = &d->body->grid.steps[cell];
    if (!*steps) return false;
    --*steps;
    d->mends->lowered += !d->lowered[cell];
    d->lowered[cell] = true;
    d->mends->steps++;
    return true;
}

static bool covers(const Brick *b, int column, int row)
{
    return column >= b->column && column < b->column + b->columns && row >= b->row &&
           row < b->row + b->rows;
}

/* Ties a brick, unless another of its stack was tied in this round; false where no tie was found.
 */
static Status tie_weak_brick(Mending *d, const UnitMap *map, const Brick *b, bool *tied_out)
{
    const TieTask task = {d->body, &d->task.studio->sizes, &d->laying->laid, map, &d->ties};
    Brick tie;
    *tied_out = true;
    for (size_t i = d->settled; i < d->ties.count; i++)
        if (covers(&d->ties.brick[i], b->column, b->row)) return STATUS_OK;
    *tied_out = hold_ties_find(&task, b, &tie);
    return *tied_out ? laid_add(&d->ties, &tie, d->fault) : STATUS_OK;
}

/* All cells that a brick shows. */
static bool change_cells(Mending *d, const Brick *b)
{
    bool changed = false;
    for (int row = b->row; row < b->row + b->rows; row++)
        for (int column = b->column; column < b->column + b->columns; column++) {
            Neighbour n[4];
            if (solid_top(&d->body->solid, column, row) != b->tier + b->tiers) continue;
            const int count = neighbours_of(d, column, row, n);
            changed |= recolour_cell(d, column, row, n, count) || lower_cell(d, column, row);
        }
    return changed;
}

/* ---- rounds ---- */

static Status mend_slight(Mending *d, const Holds *holds, bool *changed_out)
{
    const double asked = d->task.brief->job->hold;
    const Laid *laid = &d->laying->laid;
    UnitMap map;
    Status status = unit_map_init(&map, &d->body->solid, laid, d->fault);
    d->settled = d->ties.count;
    for (size_t i = 0; i < laid->count && !status; i++) {
        bool tied;
        if (!((double)holds->touch_n[i] < asked)) continue;
        status = tie_weak_brick(d, &map, &laid->brick[i], &tied);
        *changed_out |= tied || change_cells(d, &laid->brick[i]);
    }
    unit_map_clear(&map);
    return status;
}

static Status mend_round(Mending *d, bool first, bool last, bool *goes_on)
{
    Holds holds;
    HoldMends *m = d->mends;
    Status status = find_slight(d, &holds);
    *goes_on = false;
    if (!status) {
        m->after = count_slight(d, &holds, &m->least_after_n);
        if (first) m->before = m->after;
        if (first) m->least_before_n = m->least_after_n;
        if (m->after > 0 && !last) status = mend_slight(d, &holds, goes_on);
    }
    holds_clear(&holds);
    if (!status && *goes_on) status = lay_solid(&d->task, d->body, d->laying, d->fault);
    return status;
}

/* Ties that are laid: cells that changed since may have left no place for some. */
static size_t count_tied(const Mending *d)
{
    const Laid *laid = &d->laying->laid;
    size_t tied = 0;
    for (size_t i = 0; i < laid->count; i++)
        for (size_t k = 0; k < d->ties.count; k++) {
            const Brick *b = &laid->brick[i], *tie = &d->ties.brick[k];
            tied += b->tier == tie->tier && b->column == tie->column && b->row == tie->row &&
                    b->columns == tie->columns && b->rows == tie->rows;
        }
    return tied;
}

static void say_mends(const Voice *voice, const HoldMends *m, double asked)
{
    if (!m->before) return;
    voice_note(
        voice,
        "hold: %zu bricks held less than %g N, the least %.2f N; %zu were tied over hidden "
        "units, which costs the look nothing, %zu cells recoloured, by CIEDE2000 %.1f in the "
        "mean, and %zu lowered by %ld steps in all, for %ld bricks %s; now %zu hold less, "
        "the least %.2f N",
        m->before, asked, m->least_before_n, m->tied, m->recoloured,
        m->recoloured ? m->colour_change / (double)m->recoloured : 0.0, m->lowered, m->steps,
        labs(m->bricks), m->bricks < 0 ? "fewer" : "more", m->after, m->least_after_n);
}

Status mend_holds(const PassTask *task, Body *body, Laying *laying, Fault *fault)
{
    const size_t cells = grid_cells(&body->grid), bricks = laying->laid.count;
    HoldMends mends = {0};
    Mending d = {.task = *task,
                 .body = body,
                 .laying = laying,
                 .keep = cell_rules_keep(task->rules, task->brief, task->studio->offered.count),
                 .recoloured = memory_create(cells, sizeof *d.recoloured),
                 .lowered = memory_create(cells, sizeof *d.lowered),
                 .mends = &mends,
                 .fault = fault};
    Status status = STATUS_OK;
    if (!d.recoloured || !d.lowered) status = memory_fault(fault, cells, sizeof *d.lowered);
    d.task.ties = &d.ties;
    bool goes_on = true;
    for (int round = 0; goes_on && !status; round++)
        status = mend_round(&d, round == 0, round == MEND_ROUNDS, &goes_on);
    mends.bricks = (long)laying->laid.count - (long)bricks;
    mends.tied = count_tied(&d);
    if (!status) say_mends(task->brief->voice, &mends, task->brief->job->hold);
    laid_clear(&d.ties);
    memory_free(d.recoloured);
    memory_free(d.lowered);
    return status;
}
