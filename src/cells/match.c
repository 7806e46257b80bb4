/* The nearest colours of lists and of images, asked for from tables (match_table.h).
 *
 * An image's cells are turned to Lab in single precision, eight at a time (lab_row.h), which is as
 * near as questions need to be. Close to neutral that could mistake a hue, so there the full
 * precision of the image is asked with. A cell like the one before it is not asked for. */
#include "cells/match.h"

#include "base/bands.h"
#include "base/memory.h"
#include "cells/match_table.h"
#include "colour/lab_row.h"

#include <assert.h>
#include <math.h>
#include <stdatomic.h>
#include <string.h>

/* ---- lists ---- */

static Lab lab_of_list(const void *context, int question)
{
    return ((const Lab *)context)[question];
}

static void answer_list(MatchTable *table, const Lab *lab, int count, uint8_t *nearest)
{
    Questions asked = {.itself = lab_of_list};
    for (int begin = 0; begin < count; begin += QUESTIONS) {
        const Lab *some = asked.context = lab + begin;
        asked.count = count - begin < QUESTIONS ? count - begin : QUESTIONS;
        for (int i = 0; i < asked.count; i++) {
            asked.L[i] = (float)some[i].L;
            asked.a[i] = (float)some[i].a;
            asked.b[i] = (float)some[i].b;
        }
        match_table_answer(table, &asked, nearest + begin);
    }
}

Status match_all(const Palette *palette, const Lab *lab, int count, uint8_t *nearest, Fault *fault)
{
    MatchColours *colours;
    MatchTable *table = NULL;
    Status status = match_colours_create(&colours, palette, fault);
    if (!status) status = match_table_create(&table, colours, fault);
    if (!status) answer_list(table, lab, count, nearest);
    if (!status) status = match_table_status(table, fault);
    match_table_free(table);
    match_colours_free(colours);
    return status;
}

/* ---- images ---- */

typedef struct Matching {
    const MatchTask *task;
    MatchTable **table; /* by worker */
    uint8_t *colour;    /* of the grid */
    atomic_bool stopped;
} Matching;

/* Cells that are asked for, each the n-th after the first. */
typedef struct Asked {
    const float *first; /* its XYZ */
    int n[QUESTIONS];
} Asked;

static Lab lab_of_cell(const void *context, int question)
{
    const Asked *asked = context;
    const float *p = asked->first + 3 * asked->n[question];
    return lab_from_xyz((Xyz){(double)p[0], (double)p[1], (double)p[2]});
}

static bool is_asked(const MatchTask *task, size_t cell)
{
    return !task->region || task->region[cell] == task->number;
}

/* Whether a cell is asked for and has the colour of the one before it, which is, too. */
static bool repeats(const MatchTask *task, size_t cell)
{
    const float *p = task->image->xyz + 3 * cell;
    return is_asked(task, cell) && is_asked(task, cell - 1) && p[0] == p[-3] && p[1] == p[-2] &&
           p[2] == p[-1];
}

/* The question for a cell, whose Lab is that of a row. */
static void ask(Questions *questions, Asked *asked, int n, const LabRow *row)
{
    const int question = questions->count++;
    asked->n[question] = n;
    questions->L[question] = row->L[n];
    questions->a[question] = row->a[n];
    questions->b[question] = row->b[n];
    if (fabsf(row->a[n]) >= 0.5f || fabsf(row->b[n]) >= 0.5f) return;
    const Lab itself = lab_of_cell(asked, question);
    questions->L[question] = (float)itself.L;
    questions->a[question] = (float)itself.a;
    questions->b[question] = (float)itself.b;
}

/* Answers for `count` cells from `first` on. */
static void match_cells(const Matching *m, MatchTable *table, size_t first, int count)
{
    const MatchTask *task = m->task;
    float plane[3][QUESTIONS] = {{0}}, L[QUESTIONS], a[QUESTIONS], b[QUESTIONS];
    float *const planes[3] = {plane[0], plane[1], plane[2]};
    const LabRow row = {L, a, b};
    uint8_t nearest[QUESTIONS];
    Asked asked = {.first = task->image->xyz + 3 * first};
    Questions questions = {.itself = lab_of_cell, .context = &asked};
    lab_row_of_samples(asked.first, count, planes, QUESTIONS, &row);
    for (int n = 0; n < count; n++) {
        const size_t cell = first + (size_t)n;
        if (is_asked(task, cell) && !(n > 0 && repeats(task, cell)))
            ask(&questions, &asked, n, &row);
    }
    match_table_answer(table, &questions, nearest);
    for (int i = 0; i < questions.count; i++) m->colour[first + (size_t)asked.n[i]] = nearest[i];
    for (int n = 1; n < count; n++) {
        const size_t cell = first + (size_t)n;
        if (repeats(task, cell)) m->colour[cell] = m->colour[cell - 1];
    }
}

static void match_rows(void *context, int begin, int end, int worker)
{
    Matching *m = context;
    const int columns = m->task->image->columns;
    for (int row = begin; row < end; row++) {
        if (voice_stopped(m->task->voice)) atomic_store(&m->stopped, true);
        if (atomic_load(&m->stopped)) return;
        for (int column = 0; column < columns; column += QUESTIONS)
            match_cells(m, m->table[worker], (size_t)row * (size_t)columns + (size_t)column,
                        columns - column < QUESTIONS ? columns - column : QUESTIONS);
    }
}

Status match_image(const MatchTask *task, Grid *grid, Fault *fault)
{
    assert(grid->columns == task->image->columns && grid->rows == task->image->rows);
    const int threads = bands_threads(task->threads);
    MatchTable *table[BANDS_MOST_THREADS] = {NULL};
    MatchColours *colours;
    Matching matching = {.task = task, .table = table, .colour = grid->colour};
    Status status = match_colours_create(&colours, task->palette, fault);
    for (int i = 0; !status && i < threads; i++)
        status = match_table_create(&table[i], colours, fault);
    if (!status) bands_run(threads, grid->rows, 4, match_rows, &matching);
    for (int i = 0; i < threads; i++) {
        if (!status) status = match_table_status(table[i], fault);
        match_table_free(table[i]);
    }
    match_colours_free(colours);
    if (status || !atomic_load(&matching.stopped)) return status;
    return fault_set(fault, STATUS_INTERRUPTED, "matching colours: stopped; run it again");
}
