/* Back to front: the layer below and what stands, pale; bricks in their colours; strokes that count
 * their cells; the joints of the course below; ids and symbols; lines at every tenth; numbers at
 * the edges; weak places.
 *
 * Bricks of one colour are one path, in the order of the palette: a file holds the fewest changes
 * of ink, and its numbers are short since all places are eighths of a point. A brick that goes on
 * beyond the chart has no line on that side. Hidden joints are broken lines, as in drawings by
 * ISO 128-2. Widths and sizes are by eye, on paper at arm's length. */
#include "book/chart_sheet.h"

#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define JOINT (0.625 * POINT_MM) /* paper on each side of a brick: the joint */
#define LEAST_STACKED 4.85       /* mm: id over symbol, both at 6 points */
#define LEAST_ID 3.4             /* mm: an id of three letters at 6 points, narrowed */
#define LEAST_FLAT 3.0           /* mm: one line of 6 points */
#define SNAPPED 0.05             /* mm: what chart_snap may take of a length */
#define LEAST_BESIDE 8.5         /* mm: id beside symbol */
#define ALONE_EDGE 0.7           /* mm: of a cell, beside an id that is alone in it */

double chart_least_cell(double aspect)
{
    const double stacked = fmax(LEAST_STACKED, LEAST_STACKED / aspect);
    const double beside = fmax(LEAST_BESIDE, LEAST_FLAT / aspect);
    return fmin(stacked, beside);
}

double chart_least_id(double aspect) { return fmax(LEAST_ID, LEAST_ID / aspect); }

/* What is snapped already stays as it is. */
double chart_snap(double length_mm)
{
    return floor(length_mm * 8.0 / POINT_MM + 1e-6) * POINT_MM / 8.0;
}

static double x_of(const ChartLook *l, int u) { return l->x + (u - l->window.u) * l->width; }

/* The upper edge of a box. */
static double y_of(const ChartLook *l, int v, int vs)
{
    return l->downward ? l->y + (v - l->window.v) * l->height
                       : l->y + (l->window.v + l->window.vs - v - vs) * l->height;
}

typedef struct Area {
    double x, y, width, height;
    bool cut_left, cut_right, cut_top, cut_bottom;
} Area;

static Area area_of(const ChartLook *l, const Box *b)
{
    Area a = {x_of(l, b->u),
              y_of(l, b->v, b->vs),
              b->us * l->width,
              b->vs * l->height,
              b->cut_left,
              b->cut_right,
              l->downward ? b->cut_low : b->cut_high,
              l->downward ? b->cut_high : b->cut_low};
    const double left = a.cut_left ? 0.0 : JOINT, top = a.cut_top ? 0.0 : JOINT;
    a.x += left;
    a.y += top;
    a.width -= left + (a.cut_right ? 0.0 : JOINT);
    a.height -= top + (a.cut_bottom ? 0.0 : JOINT);
    return a;
}

/* A side on which the brick goes on beyond the chart has no line. */
static void outline(const Sheet *s, const Area *a)
{
    if (!a->cut_left && !a->cut_right && !a->cut_top && !a->cut_bottom) {
        draw_rect(s->draw, a->x, a->y, a->width, a->height);
        return;
    }
    const double right = a->x + a->width, low = a->y + a->height;
    if (!a->cut_left) draw_line(s->draw, a->x, a->y, a->x, low);
    if (!a->cut_right) draw_line(s->draw, right, a->y, right, low);
    if (!a->cut_top) draw_line(s->draw, a->x, a->y, right, a->y);
    if (!a->cut_bottom) draw_line(s->draw, a->x, low, right, low);
}

/* True if the brick is drawn pale because it stands already. */
static bool is_pale(const Sheet *s, const ChartLook *l, const Box *b)
{
    return l->standing && mural_stands(s->mural, b->brick);
}

/* True if nobody will ever see the brick: its colour is free, but its place is not. */
static bool is_hidden(const Mural *m, const Brick *b)
{
    for (int row = b->row; row < b->row + b->rows; row++)
        for (int column = b->column; column < b->column + b->columns; column++)
            if (b->tier + b->tiers > solid_first_shown(&m->solid, column, row)) return false;
    return true;
}

static bool is_filled(const Sheet *s, const ChartLook *l, const Box *b)
{
    return l->tone.spared <= 0.0 || !is_hidden(s->mural, &s->mural->laid->brick[b->brick]);
}

static Ink pale_ink(Ink ink, double spared)
{
    return (Ink){ink.r + (1.0 - ink.r) * spared, ink.g + (1.0 - ink.g) * spared,
                 ink.b + (1.0 - ink.b) * spared};
}

static Ink label_ink(const Sheet *s, const ChartLook *l, int colour)
{
    return l->tone.spared > 0.0 ? INK_BLACK : sheet_type_ink(s, colour);
}

/* The lines around bricks are thinner where cells are small and lines many. */
#define LINE 0.14      /* mm */
#define LINE_SMALL 0.1 /* mm, in cells of less than */
#define SMALL 4.0      /* mm */

static double line_of(const ChartLook *l)
{
    return fmin(l->width, l->height) < SMALL ? LINE_SMALL : LINE;
}

/* Of the box around a line of type, an em high, and the width of a letter, em: as measured on ids
 * set in the built-in typeface. */
#define BOLD_INK 0.37
#define BOLD_LETTER 0.64
#define REGULAR_INK 0.24
#define REGULAR_LETTER 0.58

/* Roughly: an id in its first cell is most of a label. */
static double label_mm2(const Sheet *s, const ChartLook *l, int colour)
{
    const double em = fmin(7.0 * POINT_MM, 0.6 * l->height);
    const double letters = (double)strlen(s->mural->palette->colour[colour].id);
    return BOLD_INK * em * fmin(BOLD_LETTER * em * letters, l->width - ALONE_EDGE);
}

static double darkness(Ink ink) { return 1.0 - (ink.r + ink.g + ink.b) / 3.0; }

void chart_ink(const Sheet *s, const ChartLook *l, const Boxes *boxes, ChartInk *sum)
{
    const double page = s->width * s->height;
    for (size_t i = 0; i < boxes->count; i++) {
        const Box *b = &boxes->box[i];
        const Brick *brick = &s->mural->laid->brick[b->brick];
        if (is_pale(s, l, b)) continue;
        const Area a = area_of(l, b);
        const double cells_mm2 = b->us * l->width * b->vs * l->height;
        sum->lines += 2.0 * (a.width + a.height) * line_of(l) * darkness(INK_TEXT) / page;
        sum->labels += label_mm2(s, l, brick->colour) / page;
        if (!is_hidden(s->mural, brick))
            sum->fills += cells_mm2 * darkness(sheet_ink(s, brick->colour)) / page;
    }
}

ChartTone chart_tone(const ChartInk *ink)
{
    const double lighter = REGULAR_INK * REGULAR_LETTER / (BOLD_INK * BOLD_LETTER);
    const bool light = ink->lines + ink->labels > CHART_INK - CHART_FILLS_LEAST;
    const double strokes = ink->lines + (light ? lighter : 1.0) * ink->labels;
    const double left = fmax(CHART_FILLS_LEAST, CHART_INK - strokes);
    const double strongest = fmin(CHART_FILLS, left) / fmax(ink->fills, 1e-9);
    return (ChartTone){1.0 - fmin(CHART_STRONGEST, strongest), light};
}

/* The boxes that are to be laid, by colour: each colour is then one path, and its labels, which
 * share an ink, few calls. */
typedef struct Sorted {
    size_t *index;
    size_t start[PALETTE_MOST + 1];
} Sorted;

static Status sort_boxes(Sorted *sorted, const Sheet *s, const ChartLook *l, const Boxes *boxes,
                         Fault *fault)
{
    const Mural *m = s->mural;
    *sorted = (Sorted){.index = memory_create(boxes->count, sizeof *sorted->index)};
    if (!sorted->index) return memory_fault(fault, boxes->count, sizeof *sorted->index);
    size_t count[PALETTE_MOST] = {0};
    for (size_t i = 0; i < boxes->count; i++)
        if (!is_pale(s, l, &boxes->box[i])) count[m->laid->brick[boxes->box[i].brick].colour]++;
    for (int c = 0; c < PALETTE_MOST; c++) {
        sorted->start[c + 1] = sorted->start[c] + count[c];
        count[c] = sorted->start[c];
    }
    for (size_t i = 0; i < boxes->count; i++)
        if (!is_pale(s, l, &boxes->box[i]))
            sorted->index[count[m->laid->brick[boxes->box[i].brick].colour]++] = i;
    return STATUS_OK;
}

/* All of the boxes, or those that stand. */
static void draw_pale(const Sheet *s, const ChartLook *l, const Boxes *boxes, bool all)
{
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < boxes->count; i++) {
            if (!all && !is_pale(s, l, &boxes->box[i])) continue;
            const Area a = area_of(l, &boxes->box[i]);
            if (pass)
                outline(s, &a);
            else
                draw_rect(s->draw, a.x, a.y, a.width, a.height);
        }
        if (pass)
            draw_stroke(s->draw, INK_RULE, 0.1);
        else
            draw_fill(s->draw, INK_FAINT);
    }
}

/* A course hides the one below it, but its builder must see where those joints are: they are
 * broken lines over its bricks, as hidden edges are on a mason's drawing. */
static void draw_hidden_joints(const Sheet *s, const ChartLook *l)
{
    if (!l->below || !l->below->count || !l->downward) return;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < l->below->count; i++) {
            const Box *b = &l->below->box[i];
            const double x = x_of(l, b->u), y = y_of(l, b->v, b->vs);
            if (b->u > l->window.u && !b->cut_left)
                draw_line(s->draw, x, y, x, y + b->vs * l->height);
            if (b->v > l->window.v && !b->cut_low)
                draw_line(s->draw, x, y, x + b->us * l->width, y);
        }
        if (pass)
            draw_stroke_dashed(s->draw, INK_SOFT, 0.22, 0.9);
        else
            draw_stroke(s->draw, INK_FAINT, 0.4);
    }
}

static bool is_cut(const Box *b)
{
    return b->cut_left || b->cut_right || b->cut_low || b->cut_high;
}

/* How a brick is set: whole or cut by the chart's edge, filled or not. */
enum { WAY_CUT = 1, WAY_EMPTY = 2, WAYS = 4 };

/* Adds the colour's bricks of one way to the path; returns how many there are. */
static size_t path_of(const Sheet *s, const ChartLook *l, const Boxes *boxes, const Sorted *sorted,
                      int colour, int way)
{
    size_t count = 0;
    for (size_t i = sorted->start[colour]; i < sorted->start[colour + 1]; i++) {
        const Box *b = &boxes->box[sorted->index[i]];
        if (is_cut(b) * WAY_CUT + !is_filled(s, l, b) * WAY_EMPTY != way) continue;
        const Area a = area_of(l, b);
        draw_rect(s->draw, a.x, a.y, a.width, a.height);
        count++;
    }
    return count;
}

/* A colour's bricks are one path, filled and stroked in one; those cut by the edge of the
 * chart are filled, and stroked after. */
static void draw_bricks(const Sheet *s, const ChartLook *l, const Boxes *boxes,
                        const Sorted *sorted)
{
    bool any_cut = false;
    for (int c = 0; c < s->mural->palette->count; c++)
        for (int way = 0; way < WAYS; way++) {
            const Ink fill =
                way & WAY_EMPTY ? INK_WHITE : pale_ink(sheet_ink(s, c), l->tone.spared);
            if (!path_of(s, l, boxes, sorted, c, way)) continue;
            if (way & WAY_CUT)
                draw_fill(s->draw, fill);
            else
                draw_fill_and_stroke(s->draw, fill, INK_TEXT, line_of(l));
            any_cut |= way & WAY_CUT;
        }
    for (size_t i = 0; i < boxes->count && any_cut; i++)
        if (is_cut(&boxes->box[i]) && !is_pale(s, l, &boxes->box[i])) {
            const Area a = area_of(l, &boxes->box[i]);
            outline(s, &a);
        }
    if (any_cut) draw_stroke(s->draw, INK_TEXT, line_of(l));
}

/* Short strokes at the cells within a brick, to count them by. */
static void draw_ticks(const Sheet *s, const ChartLook *l, const Boxes *boxes, bool white)
{
    const double length = 0.16 * fmin(l->width, l->height);
    for (size_t i = 0; i < boxes->count; i++) {
        const Box *b = &boxes->box[i];
        if (is_pale(s, l, b)) continue;
        const int colour = s->mural->laid->brick[b->brick].colour;
        if ((l->tone.spared <= 0.0 && s->key->colour[colour].white) != white) continue;
        const Area a = area_of(l, b);
        for (int u = b->u + 1; u < b->u + b->us; u++) {
            const double x = x_of(l, u);
            draw_line(s->draw, x, a.y + a.height, x, a.y + a.height - length);
        }
        for (int v = 1; v < b->vs; v++) {
            const double y = y_of(l, b->v, b->vs) + v * l->height;
            draw_line(s->draw, a.x, y, a.x + length, y);
        }
    }
    draw_stroke(s->draw, white ? INK_WHITE : INK_BLACK, 0.12);
}

/* How many cells a brick's id and symbol may share: its first two, unless the line of every tenth
 * column runs between them. */
static int label_cells(const ChartLook *l, const Box *b)
{
    return b->us > 1 && (l->column + b->u + 1) % 10 != 0 ? 2 : 1;
}

static void draw_brick_label(const Sheet *s, const ChartLook *l, const Box *b, int colour)
{
    char number[24];
    const char *id = s->mural->palette->colour[colour].id, *symbol = s->key->colour[colour].symbol;
    if (l->counted) {
        snprintf(number, sizeof number, "%zu", b->brick - l->counted_from + 1);
        symbol = number;
    }
    const Ink ink = label_ink(s, l, colour);
    const Weight weight = l->tone.light ? WEIGHT_REGULAR : WEIGHT_BOLD;
    const int cells = label_cells(l, b);
    const double width = cells * l->width, height = l->height;
    const double x = x_of(l, b->u), y = y_of(l, l->downward ? b->v + b->vs - 1 : b->v, 1);
    if (width >= LEAST_BESIDE && (cells > 1 || height < LEAST_STACKED)) {
        const double size = fmin(9.0, 0.52 * height / POINT_MM);
        const Type strong = {weight, size, 1.0}, plain = {WEIGHT_REGULAR, size, 1.0};
        draw_mark(s->draw, sheet_squeeze(s, strong, 0.46 * width, id), ink, x + 0.30 * width,
                  y + 0.5 * height, id);
        draw_mark(s->draw, sheet_squeeze(s, plain, 0.34 * width, symbol), ink, x + 0.74 * width,
                  y + 0.5 * height, symbol);
        return;
    }
    if (fmin(l->width, height) < LEAST_STACKED - SNAPPED && !l->counted) {
        const Type alone = {weight, fmin(7.0, 0.6 * height / POINT_MM), 1.0};
        draw_mark(s->draw, sheet_squeeze(s, alone, l->width - ALONE_EDGE, id), ink,
                  x + 0.5 * l->width, y + 0.5 * height, id);
        return;
    }
    const double size = fmin(9.0, fmax(6.0, 0.42 * height / POINT_MM));
    const Type strong = {weight, size, 1.0};
    const Type plain = {WEIGHT_REGULAR, l->counted ? 0.85 * size : 0.95 * size, 1.0};
    draw_mark(s->draw, sheet_squeeze(s, strong, l->width - 0.9, id), ink, x + 0.5 * l->width,
              y + 0.31 * height, id);
    draw_mark(s->draw, sheet_squeeze(s, plain, l->width - 0.9, symbol), ink, x + 0.5 * l->width,
              y + 0.71 * height, symbol);
}

static void draw_labels(const Sheet *s, const ChartLook *l, const Boxes *boxes,
                        const Sorted *sorted)
{
    for (int c = 0; c < s->mural->palette->count; c++)
        for (size_t i = sorted->start[c]; i < sorted->start[c + 1]; i++)
            draw_brick_label(s, l, &boxes->box[sorted->index[i]], c);
}

/* A wide white line under a dark one, so that the dark one shows on any colour. */
static void draw_tens(const Sheet *s, const ChartLook *l)
{
    const Window w = l->window;
    for (int pass = 0; pass < 2; pass++) {
        for (int u = w.u; u <= w.u + w.us; u++)
            if ((l->column + u) % 10 == 0)
                draw_line(s->draw, x_of(l, u), l->y, x_of(l, u), l->y + w.vs * l->height);
        for (int v = w.v; v <= w.v + w.vs && !l->downward; v++)
            if ((l->row + v) % 10 == 0)
                draw_line(s->draw, l->x, y_of(l, v, 0), l->x + w.us * l->width, y_of(l, v, 0));
        draw_stroke(s->draw, pass ? INK_ACCENT : INK_WHITE, pass ? 0.45 : 0.95);
    }
    draw_rect(s->draw, l->x, l->y, w.us * l->width, w.vs * l->height);
    draw_stroke(s->draw, INK_SOFT, 0.14);
}

/* Column numbers above and below the chart: all of them where they fit, else the tens and the
 * first. */
static void draw_column_numbers(const Sheet *s, const ChartLook *l)
{
    const Window w = l->window;
    char text[16];
    const Type plain = {WEIGHT_REGULAR, 6.5, 1.0}, strong = {WEIGHT_BOLD, 6.5, 1.0};
    snprintf(text, sizeof text, "%d", l->column + w.u + w.us);
    const bool all = draw_text_width(s->draw, plain, text) < l->width - 0.4;
    for (int pass = 0; pass < 2; pass++)
        for (int edge = 0; edge < 2; edge++)
            for (int u = w.u; u < w.u + w.us; u++) {
                const int number = l->column + u + 1;
                const bool ten = number % 10 == 0;
                if (ten != pass || !(all || ten || u == w.u)) continue;
                snprintf(text, sizeof text, "%d", number);
                draw_text_centre(s->draw, ten ? strong : plain, ten ? INK_ACCENT : INK_SOFT,
                                 x_of(l, u) + 0.5 * l->width,
                                 edge ? l->y + w.vs * l->height + 3.2 : l->y - 1.2, text);
            }
}

static void draw_row_numbers(const Sheet *s, const ChartLook *l)
{
    const Window w = l->window;
    char text[24];
    const Type plain = {WEIGHT_REGULAR, 7.5, 1.0}, strong = {WEIGHT_BOLD, 7.5, 1.0};
    for (int pass = 0; pass < 2; pass++)
        for (int v = w.v; v < w.v + w.vs; v++) {
            const int number = l->row + v + 1;
            const bool ten = number % 10 == 0 && !l->downward;
            if (ten != pass) continue;
            snprintf(text, sizeof text, l->downward ? "t%d" : "%d", number);
            const double y = y_of(l, v, 1) + 0.5 * l->height + 0.95;
            const Type type = ten ? strong : plain;
            const Ink ink = ten ? INK_ACCENT : INK_SOFT;
            draw_text_right(s->draw, type, ink, l->x - 1.3, y, text);
            draw_text(s->draw, type, ink, l->x + w.us * l->width + 1.3, y, text);
        }
}

/* ---- weak places ---- */

void chart_flaws(const Mural *mural, int panel, size_t *first, size_t *count)
{
    const Bond *bond = mural->bond;
    size_t low = 0, high = bond->flaws;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (bond->flaw[middle].panel < panel)
            low = middle + 1;
        else
            high = middle;
    }
    *first = low;
    while (low < bond->flaws && bond->flaw[low].panel == panel) low++;
    *count = low - *first;
}

static void badge(const Sheet *s, double x, double y, size_t number)
{
    char text[24];
    snprintf(text, sizeof text, "%zu", number);
    const Type type = {WEIGHT_BOLD, 6.0, 1.0};
    const double width = fmax(2.7, draw_text_width(s->draw, type, text) + 1.2);
    draw_rect(s->draw, x - 0.5 * width, y - 1.35, width, 2.7);
    draw_fill(s->draw, INK_ACCENT);
    draw_rect(s->draw, x - 0.5 * width, y - 1.35, width, 2.7);
    draw_stroke(s->draw, INK_WHITE, 0.2);
    draw_mark(s->draw, type, INK_WHITE, x, y, text);
}

static void mark_joint(const Sheet *s, const ChartLook *l, const Flaw *f, size_t number)
{
    const Panel *p = &s->mural->panels->panel[l->panel];
    const bool wall = chart_is_wall(s->mural), front = wall && l->layer < 0;
    const int u = f->column - p->column, from = front || !wall ? f->row - p->row : f->tier;
    const int to = front ? from + f->length : from + 1;
    const int at = wall ? f->row : f->tier;
    const Window w = l->window;
    if (!front && (l->layer < at || l->layer >= at + f->length)) return;
    const int low = from > w.v ? from : w.v, high = to < w.v + w.vs ? to : w.v + w.vs;
    if (low >= high || u < w.u || u > w.u + w.us) return;
    const double x = x_of(l, u), y = y_of(l, low, high - low);
    draw_line(s->draw, x, y, x, y + (high - low) * l->height);
    draw_stroke(s->draw, INK_WHITE, 1.4);
    draw_line(s->draw, x, y, x, y + (high - low) * l->height);
    draw_stroke_dashed(s->draw, INK_ACCENT, 0.9, 1.2);
    badge(s, x, y + 0.5 * l->height, number);
}

static void mark_brick(const Sheet *s, const ChartLook *l, const Boxes *boxes, size_t brick,
                       size_t number)
{
    size_t low = 0, high = boxes->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (boxes->box[middle].brick < brick)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == boxes->count || boxes->box[low].brick != brick) return;
    const Area a = area_of(l, &boxes->box[low]);
    draw_rect(s->draw, a.x, a.y, a.width, a.height);
    draw_stroke(s->draw, INK_WHITE, 1.2);
    draw_rect(s->draw, a.x, a.y, a.width, a.height);
    draw_stroke(s->draw, INK_ACCENT, 0.7);
    badge(s, a.x + a.width, a.y, number);
}

static void draw_flaws(const Sheet *s, const ChartLook *l, const Boxes *boxes)
{
    size_t first, count;
    chart_flaws(s->mural, l->panel, &first, &count);
    for (size_t i = 0; i < count; i++) {
        const Flaw *f = &s->mural->bond->flaw[first + i];
        if (f->kind == FLAW_STRAIGHT_JOINT)
            mark_joint(s, l, f, i + 1);
        else
            mark_brick(s, l, boxes, f->brick, i + 1);
    }
}

Status chart_draw(const Sheet *s, const ChartLook *look, const Boxes *boxes, Fault *fault)
{
    Sorted sorted;
    const Status status = sort_boxes(&sorted, s, look, boxes, fault);
    if (status) return status;
    if (look->below && look->below->count) draw_pale(s, look, look->below, true);
    if (look->standing && s->mural->stands) draw_pale(s, look, boxes, false);
    draw_bricks(s, look, boxes, &sorted);
    draw_ticks(s, look, boxes, false);
    draw_ticks(s, look, boxes, true);
    draw_hidden_joints(s, look);
    draw_labels(s, look, boxes, &sorted);
    draw_tens(s, look);
    draw_column_numbers(s, look);
    draw_row_numbers(s, look);
    draw_flaws(s, look, boxes);
    memory_free(sorted.index);
    return STATUS_OK;
}
