/* An outline is a guess where the colours three quarters of a cell to either side differ by less
 * than noise does. Measured on painted portraits, where they differ by 16 or more half of the
 * outline is right to a quarter of a cell; by less than 6, to three cells at best. */
#include "layers/outline_report.h"

#include "base/memory.h"
#include "layers/geodesic.h"
#include "layers/label_pieces.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GUESSED_BELOW 6.0  /* colour difference across an outline */
#define GUESSED_SHARE 0.05 /* of a label's outline, from which on it is worth a line */
#define ACROSS 0.75        /* cells to either side */
#define NARROW_MARGIN 0.3f /* of chances, below which an outline is off by cells */
#define LOST_SHARE 0.1     /* of the cells that a label's strokes touch */
enum { WORTH_CELLS = 12, NARROW_DEPTH = 2 };

typedef struct Looking {
    const OutlineFound *found;
    OutlineReport *report;
    Fault *fault;
} Looking;

static size_t cell_of(const OutlineFound *f, size_t pixel)
{
    const size_t width = (size_t)f->pixels->columns, per = (size_t)f->per;
    return pixel / width / per * (size_t)f->columns + pixel % width / per;
}

static Status add(Looking *l, DoubtKind kind, int label, double amount, size_t cell)
{
    OutlineReport *r = l->report;
    const Status status =
        memory_grow(&r->doubt, &r->capacity, r->count + 1, sizeof *r->doubt, l->fault);
    if (status) return status;
    const int columns = l->found->columns;
    r->doubt[r->count++] = (Doubt){.kind = kind,
                                   .label = label,
                                   .amount = amount,
                                   .column = (int)(cell % (size_t)columns) + 1,
                                   .row = (int)(cell / (size_t)columns) + 1};
    return STATUS_OK;
}

/* ---- pieces ---- */

/* The pixel of a piece that lies nearest to its middle. */
static size_t middle_pixel(const OutlineFound *f, const LabelPieces *pieces, uint32_t number)
{
    const LabelPiece *piece = &pieces->piece[number];
    const size_t width = (size_t)f->pixels->columns;
    size_t best = piece->first;
    double least = INFINITY;
    for (size_t i = piece->first, seen = 0; seen < piece->size; i++) {
        if (pieces->of[i] != number) continue;
        const double away =
            hypot((double)(i % width) - piece->column, (double)(i / width) - piece->row);
        if (away < least) least = away, best = i;
        seen++;
    }
    return best;
}

/* The label that most pixels of a piece have. */
static int label_within(const OutlineFound *f, const LabelPieces *pieces, uint32_t number)
{
    size_t count[LABEL_NONE + 1] = {0}, seen = 0;
    const LabelPiece *piece = &pieces->piece[number];
    for (size_t i = piece->first; seen < piece->size; i++)
        if (pieces->of[i] == number) count[f->outline->label[i]]++, seen++;
    int best = 0;
    for (int label = 1; label < f->labels; label++)
        if (count[label] > count[best]) best = label;
    return best;
}

/* Pieces of a plane of labels, LABEL_NONE left out, of so many cells or more. */
static Status find_pieces(Looking *l, DoubtKind kind, const uint8_t *plane)
{
    const OutlineFound *f = l->found;
    const double cell = (double)f->per * f->per;
    LabelPieces pieces;
    Status status =
        label_pieces_init(&pieces, plane, f->stroke, f->pixels->columns, f->pixels->rows, l->fault);
    for (size_t i = 0; !status && i < pieces.count; i++) {
        const LabelPiece *piece = &pieces.piece[i];
        if (piece->label == LABEL_NONE || (double)piece->size < WORTH_CELLS * cell) continue;
        const size_t at = cell_of(f, middle_pixel(f, &pieces, (uint32_t)i));
        status = add(l, kind, piece->label, (double)piece->size / cell, at);
        if (!status)
            l->report->doubt[l->report->count - 1].other = label_within(f, &pieces, (uint32_t)i);
    }
    label_pieces_clear(&pieces);
    return status;
}

/* Whether all pixels so many cells around are of the same label and decided as narrowly. */
static bool deep_in(const OutlineFound *f, int x, int y)
{
    const int reach = NARROW_DEPTH * f->per, columns = f->pixels->columns, rows = f->pixels->rows;
    const size_t at = (size_t)y * (size_t)columns + (size_t)x;
    static const int side[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    for (int n = 0; n < 4; n++)
        for (int k = 0; k <= reach; k++) {
            const int u = x + k * side[n][0], v = y + k * side[n][1];
            if (u < 0 || v < 0 || u >= columns || v >= rows) break;
            const size_t i = (size_t)v * (size_t)columns + (size_t)u;
            if (f->outline->label[i] != f->outline->label[at] ||
                f->outline->margin[i] >= NARROW_MARGIN || f->outline->refused[i] != LABEL_NONE)
                return false;
        }
    return true;
}

/* A leak is wide; what is narrow along an outline is a guessed outline. On the ground nothing
 * leaks: there much looks a little like many layers, and does no harm. */
static Status find_narrow(Looking *l)
{
    const OutlineFound *f = l->found;
    const size_t count = lab_pixels_count(f->pixels);
    uint8_t *plane = memory_create(count, 1);
    if (!plane) return memory_fault(l->fault, count, 1);
    for (int y = 0; y < f->pixels->rows; y++)
        for (int x = 0; x < f->pixels->columns; x++) {
            const size_t i = (size_t)y * (size_t)f->pixels->columns + (size_t)x;
            const bool raised = f->outline->label[i] != 0;
            plane[i] = raised && deep_in(f, x, y) ? f->outline->label[i] : LABEL_NONE;
        }
    const Status status = find_pieces(l, DOUBT_NARROW, plane);
    memory_free(plane);
    return status;
}

/* Cells half of which or more was refused. */
static Status mark_refused(Looking *l)
{
    const OutlineFound *f = l->found;
    const size_t cells = (size_t)f->columns * (size_t)f->rows;
    uint8_t *refused = memory_create(cells, 1);
    if (!refused) return memory_fault(l->fault, cells, 1);
    for (size_t i = 0; i < lab_pixels_count(f->pixels); i++)
        if (f->outline->refused[i] != LABEL_NONE) refused[cell_of(f, i)]++;
    for (size_t i = 0; i < cells; i++)
        if (2 * refused[i] >= f->per * f->per) l->report->mark[i] |= MARK_REFUSED;
    memory_free(refused);
    return STATUS_OK;
}

/* ---- outlines ---- */

/* Outlines of each label, by ninths of the picture. */
typedef struct Tally {
    double outline, guessed;
    double ninth[9];
    size_t at[9]; /* a cell of each ninth where it is guessed */
} Tally;

static double difference(const LabPixels *p, size_t one, size_t other)
{
    double sum = 0;
    for (int k = 0; k < 3; k++) {
        const double d = (double)p->lab[k][one] - (double)p->lab[k][other];
        sum += d * d;
    }
    return sqrt(sum);
}

static int ninth_of(const OutlineFound *f, size_t cell)
{
    const int column = (int)(cell % (size_t)f->columns), row = (int)(cell / (size_t)f->columns);
    return row * 3 / f->rows * 3 + column * 3 / f->columns;
}

static void tally_link(Looking *l, Tally *tally, size_t pixel, int label, bool guessed)
{
    const size_t cell = cell_of(l->found, pixel);
    Tally *t = &tally[label];
    t->outline++;
    if (!guessed) return;
    const int ninth = ninth_of(l->found, cell);
    if (!(t->ninth[ninth]++ > 0)) t->at[ninth] = cell;
    t->guessed++;
    l->report->mark[cell] |= MARK_GUESSED;
}

/* The outline between a pixel and the next, `step` pixels on in a row or column that has `room`
 * more of them, of which `before` come first. */
static void look_across(Looking *l, Tally *tally, size_t pixel, size_t step, int before, int room)
{
    const OutlineFound *f = l->found;
    const uint8_t one = f->outline->label[pixel], other = f->outline->label[pixel + step];
    if (one == other) return;
    const int reach = (int)(ACROSS * f->per);
    const int back = before < reach ? before : reach;
    const int on = room - 1 < reach ? room - 1 : reach;
    const bool guessed = difference(f->pixels, pixel - (size_t)back * step,
                                    pixel + step + (size_t)on * step) < GUESSED_BELOW;
    tally_link(l, tally, pixel, one, guessed);
    tally_link(l, tally, pixel + step, other, guessed);
}

/* The first label is what the others stand out from, and has their outlines. */
static Status add_guessed(Looking *l, const Tally *tally)
{
    Status status = STATUS_OK;
    for (int label = 1; !status && label < l->found->labels; label++) {
        const Tally *t = &tally[label];
        int most = 0;
        for (int n = 1; n < 9; n++)
            if (t->ninth[n] > t->ninth[most]) most = n;
        if (t->guessed > 0 && t->guessed >= GUESSED_SHARE * t->outline)
            status = add(l, DOUBT_GUESSED, label, t->guessed / t->outline, t->at[most]);
    }
    return status;
}

static Status find_guessed(Looking *l)
{
    const int columns = l->found->pixels->columns, rows = l->found->pixels->rows;
    Tally *tally = memory_create((size_t)l->found->labels, sizeof *tally);
    if (!tally) return memory_fault(l->fault, (size_t)l->found->labels, sizeof *tally);
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) {
            const size_t i = (size_t)y * (size_t)columns + (size_t)x;
            if (x + 1 < columns) look_across(l, tally, i, 1, x, columns - 1 - x);
            if (y + 1 < rows) look_across(l, tally, i, (size_t)columns, y, rows - 1 - y);
        }
    const Status status = add_guessed(l, tally);
    memory_free(tally);
    return status;
}

/* ---- strokes ---- */

/* Cells that the label's strokes touch, and those of them that have another label. */
typedef struct Loss {
    double touched, lost;
    size_t at;
} Loss;

static void count_losses(Looking *l, Loss *loss)
{
    const OutlineFound *f = l->found;
    const size_t width = (size_t)f->pixels->columns, per = (size_t)f->per;
    for (size_t cell = 0; cell < (size_t)f->columns * (size_t)f->rows; cell++) {
        const size_t corner =
            cell / (size_t)f->columns * per * width + cell % (size_t)f->columns * per;
        bool touched[LABEL_NONE + 1] = {false};
        for (size_t y = 0; y < per; y++)
            for (size_t x = 0; x < per; x++) touched[f->stroke[corner + y * width + x]] = true;
        for (int label = 0; label < f->labels; label++) {
            if (!touched[label]) continue;
            loss[label].touched++;
            if (f->cell[cell] == label || touched[f->cell[cell]]) continue;
            if (!(loss[label].lost++ > 0)) loss[label].at = cell;
            l->report->mark[cell] |= MARK_LOST;
        }
    }
}

static Status find_lost(Looking *l)
{
    Loss *loss = memory_create((size_t)l->found->labels, sizeof *loss);
    if (!loss) return memory_fault(l->fault, (size_t)l->found->labels, sizeof *loss);
    count_losses(l, loss);
    Status status = STATUS_OK;
    for (int label = 0; !status && label < l->found->labels; label++)
        if (loss[label].lost > LOST_SHARE * loss[label].touched)
            status =
                add(l, DOUBT_LOST, label, loss[label].lost / loss[label].touched, loss[label].at);
    memory_free(loss);
    return status;
}

/* ---- the whole ---- */

static int by_weight(const void *a, const void *b)
{
    const Doubt *one = a, *other = b;
    if (one->kind != other->kind) return one->kind < other->kind ? -1 : 1;
    if (one->amount != other->amount) return one->amount > other->amount ? -1 : 1;
    if (one->row != other->row) return one->row - other->row;
    return one->column != other->column ? one->column - other->column : one->label - other->label;
}

Status outline_report(const OutlineFound *found, OutlineReport *report, Fault *fault)
{
    const size_t cells = (size_t)found->columns * (size_t)found->rows;
    Looking l = {found, report, fault};
    *report = (OutlineReport){.mark = memory_create(cells, 1)};
    if (!report->mark) return memory_fault(fault, cells, 1);
    Status status = mark_refused(&l);
    if (!status) status = find_pieces(&l, DOUBT_REFUSED, found->outline->refused);
    if (!status) status = find_narrow(&l);
    if (!status) status = find_guessed(&l);
    if (!status) status = find_lost(&l);
    if (!status && report->count)
        qsort(report->doubt, report->count, sizeof *report->doubt, by_weight);
    return status;
}

void outline_report_clear(OutlineReport *report)
{
    memory_free(report->doubt);
    memory_free(report->mark);
    *report = (OutlineReport){0};
}

/* A ninth of the picture in words. */
static const char *where_of(const Doubt *d, const DoubtWords *w)
{
    static const char *const word[3][3] = {
        {"at the lower left", "at the bottom", "at the lower right"},
        {"at the left", "in the middle", "at the right"},
        {"at the upper left", "at the top", "at the upper right"}};
    return word[(d->row - 1) * 3 / w->rows][(d->column - 1) * 3 / w->columns];
}

static void call(int label, const DoubtWords *w, char *text, size_t size)
{
    const char *name = w->name[label];
    if (w->index[label] > 0)
        snprintf(text, size, "%s %d %s", w->kind, w->index[label], name);
    else if (w->index[label] != NO_KIND)
        snprintf(text, size, "%s %s", w->kind, name);
    else
        snprintf(text, size, "%s", name);
}

static void say_doubt(const Doubt *d, const DoubtWords *w, const Voice *voice)
{
    char name[160];
    call(d->label, w, name, sizeof name);
    switch (d->kind) {
    case DOUBT_REFUSED:
        voice_note(
            voice,
            "%s: %.0f cells about column %d, row %d look like it but hold no stroke and went "
            "to %s; draw a stroke there if they are",
            name, d->amount, d->column, d->row, w->name[d->other]);
        return;
    case DOUBT_NARROW:
        voice_note(voice,
                   "%s: %.0f cells about column %d, row %d became it by a narrow margin; draw a "
                   "stroke of the right %s there",
                   name, d->amount, d->column, d->row, w->kind);
        return;
    case DOUBT_GUESSED:
        voice_note(voice,
                   "%s: %.0f %% of its outline is guessed, most %s, about column %d, row %d; draw "
                   "on both sides, close to it",
                   name, 100 * d->amount, where_of(d, w), d->column, d->row);
        return;
    case DOUBT_LOST:
        voice_note(voice,
                   "%s: %.0f %% of the cells that its strokes touch went to others, some about "
                   "column %d, row %d; draw thicker there, or plan more cells",
                   name, 100 * d->amount, d->column, d->row);
        return;
    }
}

void outline_report_say(const OutlineReport *report, const DoubtWords *words, const Voice *voice)
{
    int refused = 0, narrow = 0;
    for (size_t i = 0; i < report->count; i++) {
        const Doubt *d = &report->doubt[i];
        if (d->kind == DOUBT_REFUSED && ++refused > words->refused_most) continue;
        if (d->kind == DOUBT_NARROW && ++narrow > words->narrow_most) continue;
        say_doubt(d, words, voice);
    }
    if (words->more && refused > words->refused_most)
        voice_note(voice, "%ss: %d more such pieces are %s", words->kind,
                   refused - words->refused_most, words->more);
}
