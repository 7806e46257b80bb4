/* A layer whose chart fits a sheet has one: turned so that its cells are largest. Small charts, as
 * the uppermost tiers of a relief have, share a sheet, in the order of laying, where none of them
 * loses by it what can be read in its cells. A larger layer is cut into parts, band by band; after
 * each band come, where the job asks for them, the same rows as lists to tick.
 *
 * Every brick that does not stand yet is on one chart; one that a chart's edge cuts is on both, and
 * counted where it begins. Rows where all stands, or nothing is laid, are one line together. */
#include "book/chart_pages.h"

#include "book/arrange.h"
#include "book/chart.h"
#include "book/chart_sheet.h"
#include "book/row_list.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define STRIP 19.0 /* below the charts: their colours and their place in the panel */
#define CHART_HEAD 8.0
#define MOST_CELL 9.0 /* of a chart: our choice */
#define NOTE 52.0     /* at the right of a sheet's first line: which way is up */
#define LESS 0.85     /* of its cells' width a chart may lose to share a sheet: by eye */

/* A part of a layer of the panel, or of a wall's front. */
typedef struct Chart {
    Plane plane;
    bool front;
    Window part;
    double own; /* width of its cells on a sheet of its own, mm */
} Chart;

/* The charts of a sheet. */
typedef struct ChartGroup {
    Chart chart[ARRANGED_MOST];
    int count;
    Arrangement arrangement; /* where there are two or more */
    bool upright;            /* the sheet */
} ChartGroup;

typedef struct ChartWork {
    Sheet *sheet;
    int panel;
    const Panel *at;
    Boxes boxes, below; /* of the chart in hand */
    ChartGroup group;   /* of the sheet to come */
    Fault *fault;
} ChartWork;

static const Mural *panels_mural(const ChartWork *w) { return w->sheet->mural; }

/* ---- a sheet ---- */

static Status collect_boxes(ChartWork *w, const Chart *c)
{
    w->below.count = 0;
    if (c->front) return chart_front_boxes(&w->boxes, panels_mural(w), w->panel, c->part, w->fault);
    const Status status = chart_plane_boxes(&w->boxes, &c->plane, c->part, w->fault);
    return status ? status : chart_below_boxes(&w->below, &c->plane, w->panel, c->part, w->fault);
}

/* Adds how many bricks of each colour the chart in hand asks for: those to lay that begin on it. */
static void count_colours(const ChartWork *w, long count[PALETTE_MOST])
{
    for (size_t i = 0; i < w->boxes.count; i++) {
        const Box *b = &w->boxes.box[i];
        if (!b->cut_left && !b->cut_low && !mural_stands(panels_mural(w), b->brick))
            count[panels_mural(w)->laid->brick[b->brick].colour]++;
    }
}

static void draw_colours(const Sheet *s, const long count[PALETTE_MOST], double x, double y,
                         double width)
{
    const int colours = s->mural->palette->count;
    int used = 0, place = 0;
    for (int i = 0; i < colours; i++) used += count[i] > 0;
    const int rows = 3, across = (used + rows - 1) / rows;
    const double step = fmin(24.0, width / (across > 0 ? across : 1));
    const Type type = {WEIGHT_REGULAR, step < 20.0 ? 6.5 : 8.0, 1.0};
    const double swatch = fmin(12.0, 0.56 * step);
    for (int i = 0; i < colours; i++) {
        if (!count[i]) continue;
        char text[24];
        const double at = x + (place / rows) * step, top = y + (place % rows) * 5.2;
        place++;
        sheet_swatch(s, i, at, top, swatch, 4.4);
        snprintf(text, sizeof text, "%ld", count[i]);
        draw_text(s->draw, sheet_squeeze(s, type, step - swatch - 1.6, text), INK_TEXT,
                  at + swatch + 0.8, top + 3.2, text);
    }
}

/* Whether the sheet's only chart is of all that the panel has. */
static bool is_whole(const ChartWork *w)
{
    const Window part = w->group.chart[0].part;
    return w->group.count == 1 && part.us == w->at->columns && part.vs == w->at->rows;
}

/* Which parts of the panel the charts show. */
static void draw_place(const ChartWork *w, double x, double y, double height)
{
    const Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    const double full_width = w->at->columns * m->cell_width_mm,
                 full_height = w->at->rows * m->cell_height_mm;
    const double scale = fmin(24.0 / full_width, height / full_height);
    const double sx = scale * m->cell_width_mm, sy = scale * m->cell_height_mm;
    for (int i = 0; i < w->group.count; i++) {
        const Window part = w->group.chart[i].part;
        draw_rect(s->draw, x + part.u * sx, y + (w->at->rows - part.v - part.vs) * sy, part.us * sx,
                  part.vs * sy);
    }
    draw_fill(s->draw, INK_ACCENT);
    draw_rect(s->draw, x, y, full_width * scale, full_height * scale);
    draw_stroke(s->draw, INK_SOFT, 0.15);
}

static void up_arrow(const Sheet *s, double x, double y, double length)
{
    draw_line(s->draw, x, y + length, x, y + 1.2);
    draw_stroke(s->draw, INK_ACCENT, 0.5);
    draw_line(s->draw, x - 1.3, y + 2.4, x, y);
    draw_line_on(s->draw, x + 1.3, y + 2.4);
    draw_close_line(s->draw);
    draw_fill(s->draw, INK_ACCENT);
}

static const char up_words[] = "seen from the front, this way up";

static void up_note(const Sheet *s)
{
    draw_text_right(s->draw, TYPE_SMALL, INK_SOFT, s->right - 6.0, s->top + 3.2, up_words);
    up_arrow(s, s->right - 2.5, s->top - 1.0, 6.0);
}

/* "Tier 2", "Front"; "" for the only tier. */
static void layer_title(const ChartWork *w, const Chart *c, char *text, size_t size)
{
    *text = '\0';
    if (c->front)
        snprintf(text, size, "Front");
    else if (solid_depth(&panels_mural(w)->solid) > 1)
        snprintf(text, size, "Tier %d", c->plane.layer + 1);
}

static void chart_title(const ChartWork *w, const Chart *c, char *text, size_t size)
{
    const Panel *p = w->at;
    char layer[24];
    layer_title(w, c, layer, sizeof layer);
    snprintf(text, size, "%s%sows %d to %d, columns %d to %d", layer, *layer ? ": r" : "R",
             p->row + c->part.v + 1, p->row + c->part.v + c->part.vs, p->column + c->part.u + 1,
             p->column + c->part.u + c->part.us);
}

/* Where a chart stands, but for what it takes of the sheet's ink. */
static ChartLook look_of(const ChartWork *w, const Chart *c, double cell)
{
    const Mural *m = panels_mural(w);
    return (ChartLook){.width = cell,
                       .height = chart_snap(cell * m->cell_height_mm / m->cell_width_mm),
                       .window = c->part,
                       .column = w->at->column,
                       .row = w->at->row,
                       .standing = true,
                       .below = &w->below,
                       .panel = w->panel,
                       .layer = c->front ? -1 : c->plane.layer};
}

/* The chart in hand, its boxes collected. */
static Status draw_chart(ChartWork *w, const Chart *c, const ChartLook *look)
{
    char title[160], alternative[320];
    chart_title(w, c, title, sizeof title);
    snprintf(
        alternative, sizeof alternative,
        "Chart of panel %s, %s, seen from the front: %zu bricks; rows.csv lists them row by row.",
        w->at->name, title, w->boxes.count);
    draw_figure(w->sheet->draw, alternative);
    const Status status = chart_draw(w->sheet, look, &w->boxes, w->fault);
    draw_tag_end(w->sheet->draw, "Figure");
    return status;
}

/* Sets the title, with the chart's upper left corner; a chart that is alone stands in the middle
 * of its sheet. */
static void place_chart(const ChartWork *w, int nth, ChartLook *look)
{
    Sheet *s = w->sheet;
    const ChartGroup *g = &w->group;
    const ArrangedChart *a = &g->arrangement.chart[nth];
    const bool alone = g->count == 1;
    const double x = alone ? s->left : s->left + a->x, y = alone ? s->top : s->top + a->y;
    const double free_width = s->right - s->left - g->chart[nth].part.us * look->width;
    char title[160];
    chart_title(w, &g->chart[nth], title, sizeof title);
    draw_tag(s->draw, "H2");
    draw_text(s->draw, TYPE_SUB, INK_TEXT, x, y + TYPE_SUB.size * POINT_MM, title);
    draw_tag_end(s->draw, "H2");
    look->x = chart_snap(x + (alone ? 0.5 * free_width : CHART_SIDE));
    look->y = chart_snap(y + (alone ? CHART_HEAD : ARRANGED_HEAD) + CHART_EDGE);
}

static double cell_of(const ChartGroup *g)
{
    return g->count == 1 ? g->chart[0].own : g->arrangement.cell;
}

/* The ink of all charts is that of the sheet. */
static Status tone_of(ChartWork *w, ChartTone *tone_out)
{
    const ChartGroup *g = &w->group;
    ChartInk ink = {0};
    Status status = STATUS_OK;
    for (int i = 0; i < g->count && !status; i++) {
        const ChartLook look = look_of(w, &g->chart[i], cell_of(g));
        status = collect_boxes(w, &g->chart[i]);
        if (!status) chart_ink(w->sheet, &look, &w->boxes, &ink);
    }
    *tone_out = chart_tone(&ink);
    return status;
}

/* Draws the sheet of the group, which is empty then. */
static Status end_group(ChartWork *w)
{
    Sheet *s = w->sheet;
    ChartGroup *g = &w->group;
    char head[80];
    long count[PALETTE_MOST] = {0};
    ChartTone tone;
    if (!g->count) return STATUS_OK;
    snprintf(head, sizeof head, "Panel %s · %s", w->at->name, g->count > 1 ? "charts" : "chart");
    sheet_turn(s, g->upright);
    Status status = sheet_begin(s, head, false, w->fault);
    if (!status) status = tone_of(w, &tone);
    if (status) return status;
    up_note(s);
    for (int i = 0; i < g->count && !status; i++) {
        ChartLook look = look_of(w, &g->chart[i], cell_of(g));
        look.tone = tone;
        place_chart(w, i, &look);
        status = collect_boxes(w, &g->chart[i]);
        if (!status) status = draw_chart(w, &g->chart[i], &look);
        if (!status) count_colours(w, count);
    }
    const double strip = s->bottom - STRIP + 3.0;
    const bool whole = is_whole(w);
    const double colours = s->left + (whole ? 0.0 : 30.0);
    if (!whole) draw_place(w, s->left, strip, STRIP - 4.0);
    draw_colours(s, count, colours, strip, s->right - colours);
    sheet_turn(s, false);
    g->count = 0;
    return status;
}

/* ---- what goes on a sheet ---- */

static double aspect_of(const ChartWork *w)
{
    return panels_mural(w)->cell_height_mm / panels_mural(w)->cell_width_mm;
}

/* Turned so that cells are largest; false where the charts would lose by sharing a sheet. */
static bool arrange_group(ChartWork *w, ChartGroup *g)
{
    Sheet *s = w->sheet;
    const double aspect = aspect_of(w);
    Arrangement a = {.count = g->count, .corner = NOTE, .aspect = aspect, .most = MOST_CELL};
    double own = MOST_CELL;
    for (int i = 0; i < g->count; i++) {
        const Chart *c = &g->chart[i];
        char title[160];
        chart_title(w, c, title, sizeof title);
        a.chart[i] = (ArrangedChart){c->part.us, c->part.vs,
                                     draw_text_width(s->draw, TYPE_SUB, title), 0.0, 0.0};
        own = fmin(own, c->own);
    }
    a.least = fmax(chart_least_id(aspect), fmin(chart_least_cell(aspect), LESS * own));
    bool fits = false;
    for (int upright = 0; upright < 2; upright++) {
        sheet_turn(s, upright);
        a.width = s->right - s->left;
        a.height = s->bottom - s->top - STRIP;
        if (!arrange_charts(&a) || (fits && a.cell <= g->arrangement.cell)) continue;
        fits = true;
        g->arrangement = a;
        g->upright = upright;
    }
    sheet_turn(s, false);
    return fits;
}

static Status begin_group(ChartWork *w, const Chart *c, bool upright)
{
    const Status status = end_group(w);
    w->group.chart[0] = *c;
    w->group.count = status ? 0 : 1;
    w->group.upright = upright;
    return status;
}

/* The chart goes on the sheet in hand, where it may share one and there is room, else on the next.
 * None where all that it would show stands. */
static Status add_chart(ChartWork *w, const Chart *c, bool upright, bool shares)
{
    const Status status = collect_boxes(w, c);
    if (status || boxes_stand(&w->boxes, panels_mural(w))) return status;
    if (shares && w->group.count && w->group.count < ARRANGED_MOST) {
        ChartGroup together = w->group;
        together.chart[together.count++] = *c;
        if (arrange_group(w, &together)) {
            w->group = together;
            return STATUS_OK;
        }
    }
    return begin_group(w, c, upright);
}

/* ---- parts of a layer ---- */

/* How a layer is spread over sheets. */
typedef struct Spread {
    Window field; /* what is charted of it */
    Split split;
    bool upright; /* the sheets */
} Spread;

static Window band_part(const Spread *c, int across, int up)
{
    Window p = {c->field.u + across * c->split.us, c->field.v + up * c->split.vs, c->split.us,
                c->split.vs};
    if (p.u + p.us > c->field.u + c->field.us) p.us = c->field.u + c->field.us - p.u;
    if (p.v + p.vs > c->field.v + c->field.vs) p.vs = c->field.v + c->field.vs - p.v;
    return p;
}

static Split split_on(const ChartWork *w, Window field)
{
    const Sheet *s = w->sheet;
    const double aspect = aspect_of(w);
    return chart_split(
        &(ChartArea){.us = field.us,
                     .vs = field.vs,
                     .width = s->right - s->left - 2.0 * CHART_SIDE,
                     .height = s->bottom - s->top - CHART_HEAD - 2.0 * CHART_EDGE - STRIP,
                     .aspect = aspect,
                     .least = chart_least_id(aspect),
                     .most = MOST_CELL * fmax(1.0, 1.0 / aspect)});
}

/* Turned so that the field takes the fewest sheets; of those, the one with larger cells. */
static Spread spread_of(const ChartWork *w, Window field)
{
    Sheet *s = w->sheet;
    Split split[2];
    for (int upright = 0; upright < 2; upright++) {
        sheet_turn(s, upright);
        split[upright] = split_on(w, field);
    }
    sheet_turn(s, false);
    const int flat = split[0].across * split[0].up, high = split[1].across * split[1].up;
    const bool upright = high < flat || (high == flat && split[1].width > split[0].width);
    Spread spread = {field, split[upright], upright};
    spread.split.width = chart_snap(spread.split.width);
    return spread;
}

/* ---- a chart that is the only one ---- */

static Chart chart_of_tier(const Mural *m, int panel, int tier)
{
    Chart c = {.plane = chart_plane(m, panel, tier)};
    c.part = chart_bounds(&c.plane);
    return c;
}

bool only_chart(const Sheet *s, int panel, double beside, OnlyChart *out)
{
    const Mural *m = s->mural;
    Sheet turned = *s;
    ChartWork w = {.sheet = &turned, .panel = panel, .at = &m->panels->panel[panel]};
    int tiers = 0;
    if (chart_is_wall(m) || m->job->lists) return false;
    for (int tier = 0; tier < chart_depth(m, panel); tier++)
        if (chart_plane(m, panel, tier).count && !tiers++) out->tier = tier;
    if (tiers != 1) return false;
    const Chart c = chart_of_tier(m, panel, out->tier);
    const Spread own = spread_of(&w, c.part);
    const double aspect = aspect_of(&w);
    const double high = (s->bottom - s->top - 2.0 * CHART_EDGE) / (c.part.vs * aspect);
    const double wide = (s->right - s->left - beside - 2.0 * CHART_SIDE) / c.part.us;
    out->cell = chart_snap(fmin(MOST_CELL, fmin(high, wide)));
    out->width = c.part.us * out->cell + 2.0 * CHART_SIDE;
    const double least = fmin(chart_least_cell(aspect), LESS * own.split.width);
    return own.split.across * own.split.up == 1 && out->cell >= fmax(chart_least_id(aspect), least);
}

void only_chart_title(Sheet *s, int panel, const OnlyChart *only, double y, double width)
{
    const ChartWork w = {.sheet = s, .panel = panel, .at = &s->mural->panels->panel[panel]};
    const Chart c = chart_of_tier(s->mural, panel, only->tier);
    char title[160];
    chart_title(&w, &c, title, sizeof title);
    draw_tag(s->draw, "H2");
    draw_text(s->draw, sheet_squeeze(s, TYPE_SUB, width, title), INK_TEXT, s->left, y, title);
    draw_tag_end(s->draw, "H2");
    up_arrow(s, s->left + 1.3, y + 1.4, 4.6);
    draw_text(s->draw, TYPE_SMALL, INK_SOFT, s->left + 4.5, y + 4.8, up_words);
}

Status only_chart_draw(Sheet *s, int panel, const OnlyChart *only, Fault *fault)
{
    ChartWork w = {
        .sheet = s, .panel = panel, .at = &s->mural->panels->panel[panel], .fault = fault};
    w.group = (ChartGroup){.count = 1};
    Chart *c = &w.group.chart[0];
    *c = chart_of_tier(s->mural, panel, only->tier);
    c->own = only->cell;
    ChartLook look = look_of(&w, c, only->cell);
    look.x = chart_snap(s->right - only->width + CHART_SIDE);
    look.y = chart_snap(s->top + CHART_EDGE);
    Status status = tone_of(&w, &look.tone);
    if (!status) status = draw_chart(&w, c, &look);
    boxes_clear(&w.boxes);
    boxes_clear(&w.below);
    return status;
}

/* ---- rows as lists ---- */

static RowKind kind_of_row(const Runs *runs)
{
    if (runs->bricks && runs->standing == runs->bricks) return ROW_STANDS;
    return runs->count == 1 && runs->run[0].kind == RUN_EMPTY ? ROW_EMPTY : ROW_TO_LAY;
}

/* The rows [from, to) of a plaque's tier as lists, after the charts that show them. */
static Status list_rows(ChartWork *w, Runs *runs, int from, int to, const Chart *c)
{
    Sheet *s = w->sheet;
    char head[120], part[60], label[48], title[24];
    layer_title(w, c, title, sizeof title);
    snprintf(part, sizeof part, "%s%srow lists", title, title[0] ? ", " : "");
    snprintf(head, sizeof head, "Panel %s · %s", w->at->name, part);
    Status status = sheet_begin(s, head, false, w->fault);
    RowList list = {s, head, false};
    RowSpan span = {ROW_TO_LAY, w->at->row + from, w->at->row + from, 0};
    for (int v = from; v < to && !status; v++) {
        status = runs_next(runs, w->fault);
        if (status) break;
        const RowKind kind = kind_of_row(runs);
        if (kind != span.kind) {
            status = row_list_span(&list, &span, w->fault);
            span = (RowSpan){kind, w->at->row + v, w->at->row + v, 0};
        }
        span.to = w->at->row + v + 1;
        span.bricks += (size_t)runs->bricks;
        if (kind != ROW_TO_LAY || status) continue;
        row_label(panels_mural(w), w->at->row + v, runs->plane->layer, label, sizeof label);
        status = row_list_add(&list, runs, label, w->fault);
    }
    if (!status) status = row_list_span(&list, &span, w->fault);
    row_list_end(&list);
    return status;
}

/* All parts of the layer, and the lists of its rows where they are asked for. */
static Status layer_sheets(ChartWork *w, Chart *c, Window field)
{
    const Spread spread = spread_of(w, field);
    const bool lists = panels_mural(w)->job->lists && !c->front;
    const bool shares = !lists && spread.split.across * spread.split.up == 1;
    const int top = field.v + field.vs;
    Runs runs = {0};
    Status status = lists ? runs_init(&runs, &c->plane, w->fault) : STATUS_OK;
    c->own = spread.split.width;
    for (int up = 0; up < spread.split.up && !status; up++) {
        const Window band = band_part(&spread, 0, up);
        for (int across = 0; across < spread.split.across && !status; across++) {
            c->part = band_part(&spread, across, up);
            status = add_chart(w, c, spread.upright, shares);
        }
        /* The lists also tell of the empty rows before and after the charted ones. */
        const int to =
            up == spread.split.up - 1 && top >= band.v + band.vs ? c->plane.vs : band.v + band.vs;
        if (!status && lists) status = end_group(w);
        if (!status && lists) status = list_rows(w, &runs, runs.v + 1, to, c);
    }
    runs_clear(&runs);
    return status;
}

static Status tiers(ChartWork *w)
{
    const Mural *m = panels_mural(w);
    const int depth = chart_depth(m, w->panel);
    Status status = STATUS_OK;
    for (int tier = 0; tier < depth && !status; tier++) {
        Chart c = {.plane = chart_plane(m, w->panel, tier)};
        if (c.plane.count) status = layer_sheets(w, &c, chart_bounds(&c.plane));
    }
    return status;
}

Status chart_pages(Sheet *sheet, int panel, Fault *fault)
{
    const Mural *m = sheet->mural;
    ChartWork w = {.sheet = sheet, .panel = panel, .at = &m->panels->panel[panel], .fault = fault};
    Chart front = {.front = true};
    Status status = chart_is_wall(m)
                        ? layer_sheets(&w, &front, (Window){0, 0, w.at->columns, w.at->rows})
                        : tiers(&w);
    if (!status) status = end_group(&w);
    boxes_clear(&w.boxes);
    boxes_clear(&w.below);
    return status;
}
