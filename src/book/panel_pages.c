/* The pages that a helper works from: first what the panel needs (its facts, its place, bags of
 * bricks to pick), then its weak places, then for each layer charts, and after each band of charts,
 * where the job asks for them, the same rows as lists to tick.
 *
 * Every brick of the panel that does not stand yet is on one chart and in one bag;
 * one that a page's edge cuts is on both pages, and counted where it begins. Rows where all stands,
 * or nothing is laid, are one line together. */
#include "book/panel_pages.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/chart.h"
#include "book/chart_sheet.h"
#include "book/row_list.h"
#include "figures/cautions.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEFT_PART 104.0 /* mm: facts, picture and map; the bags stand beside */
#define BAG_LINE 4.5
#define STRIP 19.0 /* below a chart: its colours and its place in the panel */
#define CHART_HEAD 8.0
#define MOST_CELL 9.0        /* of a chart: our choice */
#define MOST_COURSE_CELL 7.0 /* of a course from above: our choice */
#define PICTURE_WIDTH 62.0
enum { PICTURE_PIXELS = 480 };

typedef struct PanelWork {
    Sheet *sheet;
    int panel;
    const Panel *at;
    size_t first, count; /* of its bricks */
    size_t standing;     /* of these, stand already */
    long *bag;           /* [colour][size], what is still to be laid */
    bool bags_go_on;     /* on a page of their own, */
    double bags_end;     /* down to here, in columns that are full */
    Fault *fault;
} PanelWork;

static const Mural *panels_mural(const PanelWork *w) { return w->sheet->mural; }

static long *bag_of(const PanelWork *w, int colour, int size)
{
    return &w->bag[(size_t)colour * SIZES_MOST + (size_t)size];
}

static void fill_bags(PanelWork *w)
{
    const Mural *m = panels_mural(w);
    for (size_t i = w->first; i < w->first + w->count; i++) {
        const Brick *b = &m->laid->brick[i];
        *bag_of(w, b->colour, b->size) += !mural_stands(m, i);
    }
    w->standing = chart_standing(m, w->first, w->count);
}

static void head_of(const PanelWork *w, const char *part, char *text, size_t size)
{
    snprintf(text, size, "Panel %s · %s", w->at->name, part);
}

/* ---- the first page ---- */

#define FACT 24.0 /* room for the name of a fact */

static void fact(Sheet *s, const char *name, const char *value)
{
    draw_tag(s->draw, "P");
    draw_text(s->draw, TYPE_BODY, INK_SOFT, s->left, s->y + 3.2, name);
    s->y = sheet_paragraph(s,
                           &(Paragraph){TYPE_BODY, INK_TEXT, s->left + FACT, s->y + 3.2,
                                        LEFT_PART - FACT, false},
                           value) -
           2.6;
    draw_tag_end(s->draw, "P");
}

/* How it is lifted and carried, what its joints take, and what comes off first. */
static void panel_advices(const PanelWork *w)
{
    PanelAdvice advice[PANEL_ADVICES];
    const int count = panel_advice(panels_mural(w), w->panel, advice);
    for (int i = 0; i < count; i++) fact(w->sheet, advice[i].name, advice[i].text);
}

static void draw_facts(PanelWork *w)
{
    Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    const Panel *p = w->at;
    char text[320], a[40], b[40], c[40];
    snprintf(text, sizeof text, "Panel %s", p->name);
    sheet_heading(s, "H1", TYPE_HEAD, text);
    s->y += 1.0;
    snprintf(text, sizeof text, "columns %d to %d, rows %d to %d of the mural", p->column + 1,
             p->column + p->columns, p->row + 1, p->row + p->rows);
    fact(s, "Place", text);
    number_text(a, sizeof a, p->columns * m->cell_width_mm, 1);
    number_text(b, sizeof b, p->rows * m->cell_height_mm, 1);
    number_text(c, sizeof c, chart_depth(m, w->panel) * m->step_mm, 1);
    snprintf(text, sizeof text, "%s × %s mm, %s mm deep; %d × %d cells", a, b, c, p->columns,
             p->rows);
    fact(s, "Size", text);
    number_text(a, sizeof a, (double)w->count, 0);
    number_text(b, sizeof b, (double)w->standing, 0);
    number_text(c, sizeof c, (double)(w->count - w->standing), 0);
    snprintf(text, sizeof text, "%s, of which %s stand; %s to lay", a, b, c);
    fact(s, "Bricks", w->standing ? text : a);
    number_text(a, sizeof a, m->load[w->panel].whole_kg, 1);
    number_text(b, sizeof b, m->load[w->panel].mass_g / 1000, 2);
    snprintf(text, sizeof text, "%s kg ±10 %% as it hangs; its bricks %s kg", a, b);
    fact(s, "Mass", text);
    panel_advices(w);
    snprintf(text, sizeof text, "%d of %d", s->hanging[w->panel], m->panels->count);
    fact(s, "Hung as", text);
}

static Status draw_panel_picture(PanelWork *w, const Frame *frame)
{
    char text[200];
    snprintf(text, sizeof text, "Picture of panel %s as it will look from the front.", w->at->name);
    return sheet_picture(w->sheet, w->at, frame, PICTURE_PIXELS, text, w->fault);
}

static void draw_panel_place(const PanelWork *w, const Frame *frame)
{
    Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    char text[160];
    snprintf(text, sizeof text, "Map of the mural: where panel %s hangs.", w->at->name);
    draw_figure(s->draw, text);
    const Map map = sheet_map(s, frame->x, frame->y, frame->width, frame->height);
    draw_raster(s->draw, s->pale, map.x, map.y, map.width, map.height);
    sheet_map_panels(s, &map, INK_RULE, 0.15);
    const Frame box = map_frame(&map, m->grid, cells_of_panel(w->at));
    draw_rect(s->draw, box.x, box.y, box.width, box.height);
    draw_fill(s->draw, INK_ACCENT);
    draw_tag_end(s->draw, "Figure");
}

/* ---- bags: one a colour, down the columns of what is left of the page ---- */

#define BAG_SLOT 12.8 /* of one size */
#define BAG_NAME 30.0 /* of the name */

typedef struct BagFlow {
    double x, width; /* of the column in hand */
    double top;      /* where columns begin on this page */
    int slots;       /* sizes on a line */
} BagFlow;

static void bag_columns(BagFlow *f, double x, double width, double top)
{
    *f = (BagFlow){.x = x, .width = width, .top = top};
    f->slots = (int)((width - 20.0 - BAG_NAME - 13.0) / BAG_SLOT);
}

static void bag_head(const PanelWork *w, const BagFlow *f)
{
    const Sheet *s = w->sheet;
    const double y = f->top - 1.4;
    draw_text(s->draw, TYPE_SMALL, INK_SOFT, f->x + 5.0, y, "colour");
    draw_text(s->draw, TYPE_SMALL, INK_SOFT, f->x + 20.0 + BAG_NAME, y, "size and bricks");
    draw_text_right(s->draw, TYPE_SMALL, INK_SOFT, f->x + f->width - 4.0, y, "together");
}

/* Sizes in the bag, and bricks. */
static int bag_sizes(const PanelWork *w, int colour, long *bricks_out)
{
    int sizes = 0;
    *bricks_out = 0;
    for (int size = 0; size < panels_mural(w)->sizes->count; size++) {
        sizes += *bag_of(w, colour, size) > 0;
        *bricks_out += *bag_of(w, colour, size);
    }
    return sizes;
}

static void bag_slots(const PanelWork *w, const BagFlow *f, int colour)
{
    const Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    int place = 0;
    for (int size = 0; size < m->sizes->count; size++) {
        const long count = *bag_of(w, colour, size);
        if (!count) continue;
        const double x = f->x + 20.0 + BAG_NAME + (place % f->slots) * BAG_SLOT;
        const double y = s->y + 3.3 + (place / f->slots) * (BAG_LINE - 0.7);
        const char *name = m->sizes->size[size].name;
        char text[32];
        place++;
        number_text(text, sizeof text, (double)count, 0);
        draw_text(s->draw, TYPE_BODY, INK_SOFT, x, y, name);
        draw_text(s->draw, TYPE_STRONG, INK_TEXT,
                  x + draw_text_width(s->draw, TYPE_BODY, name) + 1.3, y, text);
    }
}

static void bag_line(const PanelWork *w, const BagFlow *f, int colour, long bricks)
{
    const Sheet *s = w->sheet;
    char text[32];
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    sheet_tick(s, f->x, s->y + 0.7, 3.0);
    sheet_swatch(s, colour, f->x + 5.0, s->y + 0.3, 13.0, BAG_LINE - 0.9);
    const char *name = panels_mural(w)->palette->colour[colour].name;
    draw_text(s->draw, sheet_squeeze(s, TYPE_BODY, BAG_NAME - 2.0, name), INK_TEXT, f->x + 20.0,
              s->y + 3.3, name);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    bag_slots(w, f, colour);
    number_text(text, sizeof text, (double)bricks, 0);
    draw_text_right(s->draw, TYPE_STRONG, INK_ACCENT, f->x + f->width - 4.0, s->y + 3.3, text);
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
}

/* The next column, or the next page with columns over its whole width. */
static Status next_column(PanelWork *w, BagFlow *f)
{
    Sheet *s = w->sheet;
    w->bags_end = fmax(w->bags_end, s->y);
    if (f->x + 2.0 * f->width < s->right + 5.0) {
        f->x += f->width;
    } else {
        draw_tag_end(s->draw, "Table");
        char head[80];
        head_of(w, "bags, continued", head, sizeof head);
        const Status status = sheet_begin(s, head, false, w->fault);
        if (status) return status;
        w->bags_go_on = true;
        w->bags_end = 0.0;
        bag_columns(f, s->left, 0.5 * (s->right - s->left + 4.0), s->top + 5.0);
        draw_tag(s->draw, "Table");
    }
    s->y = f->top;
    bag_head(w, f);
    return STATUS_OK;
}

static Status draw_bags(PanelWork *w)
{
    Sheet *s = w->sheet;
    BagFlow f;
    const double x = s->left + LEFT_PART + 6.0;
    bag_columns(&f, x, s->right - x + 4.0, s->top + 12.0);
    draw_tag(s->draw, "H2");
    draw_text(s->draw, TYPE_SUB, INK_TEXT, x, s->top + 5.0,
              "Pick before you start: one bag a colour");
    draw_tag_end(s->draw, "H2");
    draw_tag(s->draw, "Table");
    s->y = f.top;
    bag_head(w, &f);
    for (int colour = 0; colour < panels_mural(w)->palette->count; colour++) {
        long bricks;
        const int sizes = bag_sizes(w, colour, &bricks);
        if (!sizes) continue;
        double need = BAG_LINE + (sizes - 1) / f.slots * (BAG_LINE - 0.7);
        if (s->y + need > s->bottom) {
            const Status status = next_column(w, &f);
            if (status) return status;
            need = BAG_LINE + (sizes - 1) / f.slots * (BAG_LINE - 0.7);
        }
        bag_line(w, &f, colour, bricks);
        s->y += need;
    }
    draw_tag_end(s->draw, "Table");
    s->y = fmax(s->y, w->bags_end);
    return STATUS_OK;
}

#define FLAWS_ROOM 40.0 /* mm: less below the bags is not begun on */

/* The heading of the weak places, below bags that go on on a page of their own where there is room,
 * else on a new one. */
static Status flaws_head(PanelWork *w, bool first)
{
    Sheet *s = w->sheet;
    char head[80];
    head_of(w, "weak places", head, sizeof head);
    if (!first || !w->bags_go_on || s->y + FLAWS_ROOM > s->bottom) {
        const Status status = sheet_begin(s, head, false, w->fault);
        if (status) return status;
    } else {
        s->y += 6.0;
    }
    sheet_heading(s, "H2", TYPE_SUB, first ? "Weak places" : "Weak places, continued");
    s->y += 1.5;
    if (first)
        sheet_say(s, TYPE_BODY, INK_SOFT, s->left, s->right - s->left,
                  "Marked on the charts with these numbers. Press them home, and glue or back them "
                  "if the line says so.");
    s->y += 1.5;
    return STATUS_OK;
}

static Status list_flaws(PanelWork *w)
{
    Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    size_t first, count;
    chart_flaws(m, w->panel, &first, &count);
    char text[400], number[24];
    for (size_t i = 0; i < count; i++) {
        if (!i || s->y + 10.0 > s->bottom) {
            const Status status = flaws_head(w, !i);
            if (status) return status;
        }
        flaw_text(&m->bond->flaw[first + i], &m->solid, m->panels, text, sizeof text);
        snprintf(number, sizeof number, "%zu", i + 1);
        draw_tag(s->draw, "P");
        draw_text(s->draw, TYPE_STRONG, INK_ACCENT, s->left, s->y + 3.2, number);
        s->y = sheet_paragraph(s,
                               &(Paragraph){TYPE_BODY, INK_TEXT, s->left + 12.0, s->y + 3.2,
                                            s->right - s->left - 12.0, false},
                               text) -
               2.4;
        draw_tag_end(s->draw, "P");
    }
    return STATUS_OK;
}

static Status first_page(PanelWork *w)
{
    Sheet *s = w->sheet;
    char head[80], target[48];
    head_of(w, "what it needs", head, sizeof head);
    Status status = sheet_begin(s, head, false, w->fault);
    if (status) return status;
    draw_tag(s->draw, "Sect");
    snprintf(target, sizeof target, "panel%d", w->panel);
    draw_target(s->draw, target);
    draw_facts(w);
    const double top = s->y + 5.0, room = s->bottom - s->y - 10.0;
    status = draw_panel_picture(w, &(Frame){s->left, top, PICTURE_WIDTH, room});
    if (status) return status;
    draw_panel_place(
        w, &(Frame){s->left + PICTURE_WIDTH + 5.0, top, LEFT_PART - PICTURE_WIDTH - 5.0, room});
    return draw_bags(w);
}

/* ---- charts ---- */

typedef struct ChartJob {
    Plane plane; /* or the front of a wall: */
    bool front;
    Window field; /* what is charted of it */
    Split split;
    bool upright;      /* the page */
    const char *title; /* "Tier 2", "Front"; "" for the only tier */
    Boxes boxes, below;
} ChartJob;

static Status collect_boxes(PanelWork *w, ChartJob *c, Window part)
{
    c->below.count = 0;
    if (c->front) return chart_front_boxes(&c->boxes, panels_mural(w), w->panel, part, w->fault);
    const Status status = chart_plane_boxes(&c->boxes, &c->plane, part, w->fault);
    return status ? status : chart_below_boxes(&c->below, &c->plane, w->panel, part, w->fault);
}

/* How many bricks of each colour the chart asks for: those to lay that begin on it. */
static void chart_colours(const PanelWork *w, const ChartJob *c, double x, double y, double width)
{
    const Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    long count[PALETTE_MOST] = {0};
    int used = 0;
    for (size_t i = 0; i < c->boxes.count; i++) {
        const Box *b = &c->boxes.box[i];
        if (!b->cut_left && !b->cut_low && !mural_stands(m, b->brick))
            count[m->laid->brick[b->brick].colour]++;
    }
    for (int i = 0; i < m->palette->count; i++) used += count[i] > 0;
    const int rows = 3, across = (used + rows - 1) / rows;
    const double step = fmin(24.0, width / (across > 0 ? across : 1));
    const Type type = {WEIGHT_REGULAR, step < 20.0 ? 6.5 : 8.0, 1.0};
    const double swatch = fmin(12.0, 0.56 * step);
    int place = 0;
    for (int i = 0; i < m->palette->count; i++) {
        if (!count[i]) continue;
        char text[16];
        const double at = x + (place / rows) * step, top = y + (place % rows) * 5.2;
        place++;
        sheet_swatch(s, i, at, top, swatch, 4.4);
        snprintf(text, sizeof text, "%ld", count[i]);
        draw_text(s->draw, sheet_squeeze(s, type, step - swatch - 1.6, text), INK_TEXT,
                  at + swatch + 0.8, top + 3.2, text);
    }
}

/* Which part of the panel the chart shows, and which way is up. */
static void chart_place(const PanelWork *w, Window part, double x, double y, double height)
{
    const Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    const double full_width = w->at->columns * m->cell_width_mm,
                 full_height = w->at->rows * m->cell_height_mm;
    const double scale = fmin(24.0 / full_width, height / full_height);
    const double sx = scale * m->cell_width_mm, sy = scale * m->cell_height_mm;
    draw_rect(s->draw, x + part.u * sx, y + (w->at->rows - part.v - part.vs) * sy, part.us * sx,
              part.vs * sy);
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

static void chart_title(const PanelWork *w, const ChartJob *c, Window part, char *text, size_t size)
{
    const Panel *p = w->at;
    snprintf(text, size, "%s%sows %d to %d, columns %d to %d", c->title, c->title[0] ? ": r" : "R",
             p->row + part.v + 1, p->row + part.v + part.vs, p->column + part.u + 1,
             p->column + part.u + part.us);
}

/* No page where all that it would show stands. */
static Status chart_page(PanelWork *w, ChartJob *c, Window part)
{
    Sheet *s = w->sheet;
    char head[80], title[160], alternative[320];
    head_of(w, "chart", head, sizeof head);
    Status status = collect_boxes(w, c, part);
    if (status || boxes_stand(&c->boxes, panels_mural(w))) return status;
    sheet_turn(s, c->upright);
    status = sheet_begin(s, head, false, w->fault);
    if (status) return status;
    chart_title(w, c, part, title, sizeof title);
    sheet_heading(s, "H2", TYPE_SUB, title);
    const double right_text = s->right - 6.0;
    draw_text_right(s->draw, TYPE_SMALL, INK_SOFT, right_text, s->top + 3.2,
                    "seen from the front, this way up");
    up_arrow(s, s->right - 2.5, s->top - 1.0, 6.0);
    const double field = part.us * c->split.width;
    ChartLook look = {.y = s->top + CHART_HEAD + CHART_EDGE,
                      .width = c->split.width,
                      .height = c->split.height,
                      .window = part,
                      .column = w->at->column,
                      .row = w->at->row,
                      .standing = true,
                      .below = &c->below,
                      .panel = w->panel,
                      .layer = c->front ? -1 : c->plane.layer};
    look.x = chart_snap(s->left + 0.5 * (s->right - s->left - field));
    look.y = chart_snap(look.y);
    look.spared = chart_spared(s, &look, &c->boxes);
    snprintf(
        alternative, sizeof alternative,
        "Chart of panel %s, %s, seen from the front: %zu bricks; rows.csv lists them row by row.",
        w->at->name, title, c->boxes.count);
    draw_figure(s->draw, alternative);
    status = chart_draw(s, &look, &c->boxes, w->fault);
    draw_tag_end(s->draw, "Figure");
    if (status) return status;
    const double strip = s->bottom - STRIP + 3.0;
    chart_place(w, part, s->left, strip, STRIP - 4.0);
    chart_colours(w, c, s->left + 30.0, strip, s->right - s->left - 30.0);
    return STATUS_OK;
}

static Window band_part(const ChartJob *c, int across, int up)
{
    Window p = {c->field.u + across * c->split.us, c->field.v + up * c->split.vs, c->split.us,
                c->split.vs};
    if (p.u + p.us > c->field.u + c->field.us) p.us = c->field.u + c->field.us - p.u;
    if (p.v + p.vs > c->field.v + c->field.vs) p.vs = c->field.v + c->field.vs - p.v;
    return p;
}

static void snap_split(Split *split)
{
    split->width = chart_snap(split->width);
    split->height = chart_snap(split->height);
}

static Split split_on(const PanelWork *w, const ChartJob *c)
{
    const Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    const double aspect = m->cell_height_mm / m->cell_width_mm;
    return chart_split(
        &(ChartArea){.us = c->field.us,
                     .vs = c->field.vs,
                     .width = s->right - s->left - 2.0 * CHART_SIDE,
                     .height = s->bottom - s->top - CHART_HEAD - 2.0 * CHART_EDGE - STRIP,
                     .aspect = aspect,
                     .least = chart_least_id(aspect),
                     .most = MOST_CELL * fmax(1.0, 1.0 / aspect)});
}

/* Turned so that the field takes the fewest pages; of those, the one with larger cells. */
static void split_chart(const PanelWork *w, ChartJob *c)
{
    Sheet *s = w->sheet;
    Split split[2];
    for (int upright = 0; upright < 2; upright++) {
        sheet_turn(s, upright);
        split[upright] = split_on(w, c);
    }
    sheet_turn(s, false);
    const int flat = split[0].across * split[0].up, high = split[1].across * split[1].up;
    c->upright = high < flat || (high == flat && split[1].width > split[0].width);
    c->split = split[c->upright];
    snap_split(&c->split);
}

typedef enum RowKind {
    ROW_TO_LAY,
    ROW_EMPTY, /* nothing is laid or has been */
    ROW_STANDS
} RowKind;

static RowKind kind_of_row(const Runs *runs)
{
    if (runs->bricks && runs->standing == runs->bricks) return ROW_STANDS;
    return runs->count == 1 && runs->run[0].kind == RUN_EMPTY ? ROW_EMPTY : ROW_TO_LAY;
}

/* Rows of one kind, one after another. */
typedef struct RowSpan {
    RowKind kind;
    int from, to; /* rows of the mural */
    size_t bricks;
} RowSpan;

/* One line for rows that are empty or stand; none for rows to lay, which have theirs. */
static Status list_span(PanelWork *w, RowList *list, const RowSpan *span)
{
    char label[48];
    if (span->kind == ROW_TO_LAY || span->from == span->to) return STATUS_OK;
    snprintf(label, sizeof label, span->to > span->from + 1 ? "rows %d to %d" : "row %d",
             span->from + 1, span->to);
    return span->kind == ROW_EMPTY ? row_list_note(list, label, "nothing in this tier", w->fault)
                                   : row_list_standing(list, label, span->bricks, w->fault);
}

/* The rows [from, to) of a plaque's tier as lists, after the charts that show them. */
static Status list_rows(PanelWork *w, Runs *runs, int from, int to, const char *title)
{
    Sheet *s = w->sheet;
    char head[120], part[60], label[48];
    snprintf(part, sizeof part, "%s%srow lists", title, title[0] ? ", " : "");
    head_of(w, part, head, sizeof head);
    Status status = sheet_begin(s, head, false, w->fault);
    RowList list = {s, head, false};
    RowSpan span = {ROW_TO_LAY, w->at->row + from, w->at->row + from, 0};
    for (int v = from; v < to && !status; v++) {
        status = runs_next(runs, w->fault);
        if (status) break;
        const RowKind kind = kind_of_row(runs);
        if (kind != span.kind) {
            status = list_span(w, &list, &span);
            span = (RowSpan){kind, w->at->row + v, w->at->row + v, 0};
        }
        span.to = w->at->row + v + 1;
        span.bricks += (size_t)runs->bricks;
        if (kind != ROW_TO_LAY || status) continue;
        row_label(panels_mural(w), w->at->row + v, runs->plane->layer, label, sizeof label);
        status = row_list_add(&list, runs, label, w->fault);
    }
    if (!status) status = list_span(w, &list, &span);
    row_list_end(&list);
    return status;
}

static Status tier_pages(PanelWork *w, ChartJob *c)
{
    Runs runs;
    Status status = runs_init(&runs, &c->plane, w->fault);
    const int top = c->field.v + c->field.vs;
    for (int up = 0; up < c->split.up && !status; up++) {
        const Window band = band_part(c, 0, up);
        for (int across = 0; across < c->split.across && !status; across++)
            status = chart_page(w, c, band_part(c, across, up));
        /* The lists also tell of the empty rows before and after the charted ones. */
        const int to =
            up == c->split.up - 1 && top >= band.v + band.vs ? c->plane.vs : band.v + band.vs;
        sheet_turn(w->sheet, false);
        if (!status && panels_mural(w)->job->lists)
            status = list_rows(w, &runs, runs.v + 1, to, c->title);
    }
    runs_clear(&runs);
    return status;
}

static Status plaque_pages(PanelWork *w)
{
    const Mural *m = panels_mural(w);
    const int depth = chart_depth(m, w->panel);
    ChartJob c = {0};
    Status status = STATUS_OK;
    char title[24];
    for (int tier = 0; tier < depth && !status; tier++) {
        c.plane = chart_plane(m, w->panel, tier);
        if (!c.plane.count) continue;
        snprintf(title, sizeof title, "Tier %d", tier + 1);
        c.title = solid_depth(&m->solid) > 1 ? title : "";
        c.field = chart_bounds(&c.plane);
        split_chart(w, &c);
        status = tier_pages(w, &c);
    }
    boxes_clear(&c.boxes);
    boxes_clear(&c.below);
    return status;
}

/* ---- a wall: its front, then course by course ---- */

static Status front_pages_of_wall(PanelWork *w)
{
    ChartJob c = {.front = true, .field = {0, 0, w->at->columns, w->at->rows}, .title = "Front"};
    split_chart(w, &c);
    Status status = STATUS_OK;
    for (int up = 0; up < c.split.up && !status; up++)
        for (int across = 0; across < c.split.across && !status; across++)
            status = chart_page(w, &c, band_part(&c, across, up));
    sheet_turn(w->sheet, false);
    boxes_clear(&c.boxes);
    boxes_clear(&c.below);
    return status;
}

/* A course from above: one strip, or several where the panel is wide. */
static Status course_plan(PanelWork *w, RowList *list, ChartJob *c)
{
    Sheet *s = w->sheet;
    const double height = CHART_EDGE * 2.0 + c->plane.vs * c->split.height;
    Status status = STATUS_OK;
    for (int across = 0; across < c->split.across && !status; across++) {
        Window part = {across * c->split.us, 0, c->split.us, c->plane.vs};
        if (part.u + part.us > c->plane.us) part.us = c->plane.us - part.u;
        if (s->y + height > s->bottom) status = sheet_begin(s, list->head, false, w->fault);
        if (!status) status = collect_boxes(w, c, part);
        if (status) break;
        char text[200];
        snprintf(text, sizeof text,
                 "Plan of course %d of panel %s from above, numbered in laying order; its rows are "
                 "listed below it.",
                 c->plane.layer + 1, w->at->name);
        ChartLook look = {.x = chart_snap(s->left + CHART_SIDE),
                          .y = chart_snap(s->y + CHART_EDGE),
                          .width = c->split.width,
                          .height = c->split.height,
                          .window = part,
                          .column = w->at->column,
                          .downward = true,
                          .counted = true,
                          .counted_from = c->plane.first,
                          .standing = true,
                          .below = &c->below,
                          .panel = w->panel,
                          .layer = c->plane.layer};
        draw_figure(s->draw, text);
        status = chart_draw(s, &look, &c->boxes, w->fault);
        draw_tag_end(s->draw, "Figure");
        s->y += height + 1.0;
    }
    return status;
}

static Status course(PanelWork *w, RowList *list, ChartJob *c, int row)
{
    Sheet *s = w->sheet;
    const int depth = c->plane.vs;
    Status status = STATUS_OK;
    if (depth > 1) {
        const double need = 16.0 + depth * (c->split.height + 5.2);
        row_list_end(list);
        if (s->y + need > s->bottom && s->y > s->top)
            status = sheet_begin(s, list->head, false, w->fault);
        if (status) return status;
        char title[64];
        snprintf(title, sizeof title, "Course %d", row + 1);
        sheet_heading(s, "H3", TYPE_SUB, title);
        draw_text(
            s->draw, TYPE_SMALL, INK_SOFT, s->left + 26.0, s->y - 1.8,
            "from above, the front below; the numbers are the order of laying; broken lines are "
            "the joints of the course below");
        status = course_plan(w, list, c);
    }
    Runs runs;
    if (!status) status = runs_init(&runs, &c->plane, w->fault);
    if (status) return status;
    char label[48];
    for (int tier = 0; tier < depth && !status; tier++) {
        status = runs_next(&runs, w->fault);
        if (status) break;
        const bool empty = runs.count == 1 && runs.run[0].kind == RUN_EMPTY;
        row_label(panels_mural(w), row, tier, label, sizeof label);
        status = empty ? row_list_note(list, label, "nothing in this tier", w->fault)
                       : row_list_add(list, &runs, label, w->fault);
    }
    runs_clear(&runs);
    s->y += depth > 1 ? 3.0 : 0.0;
    return status;
}

static bool course_stands(const Plane *plane)
{
    return plane->count && chart_standing(plane->mural, plane->first, plane->count) == plane->count;
}

/* One line for the lowest courses, where they stand; *row_out is the first that does not. */
static Status standing_courses(PanelWork *w, RowList *list, int *row_out)
{
    RowSpan span = {ROW_STANDS, w->at->row, w->at->row, 0};
    for (; span.to < w->at->row + w->at->rows; span.to++) {
        const Plane plane = chart_plane(panels_mural(w), w->panel, span.to);
        if (!course_stands(&plane)) break;
        span.bricks += plane.count;
    }
    *row_out = span.to;
    return list_span(w, list, &span);
}

static Status wall_pages(PanelWork *w)
{
    Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    Status status = front_pages_of_wall(w);
    char head[80];
    head_of(w, "courses", head, sizeof head);
    if (!status) status = sheet_begin(s, head, false, w->fault);
    RowList list = {s, head, false};
    ChartJob c = {.title = ""};
    int row = w->at->row;
    if (!status) status = standing_courses(w, &list, &row);
    for (; row < w->at->row + w->at->rows && !status; row++) {
        c.plane = chart_plane(m, w->panel, row);
        c.split = chart_split(&(ChartArea){.us = c.plane.us,
                                           .vs = c.plane.vs,
                                           .width = s->right - s->left - 2.0 * CHART_SIDE,
                                           .height = s->bottom - s->top,
                                           .aspect = 1.0,
                                           .least = chart_least_cell(1.0),
                                           .most = MOST_COURSE_CELL});
        snap_split(&c.split);
        status = course(w, &list, &c, row);
    }
    row_list_end(&list);
    boxes_clear(&c.boxes);
    boxes_clear(&c.below);
    return status;
}

Status panel_pages(Sheet *sheet, int panel, Fault *fault)
{
    const Mural *m = sheet->mural;
    PanelWork w = {.sheet = sheet, .panel = panel, .at = &m->panels->panel[panel], .fault = fault};
    const size_t bags = (size_t)m->palette->count * SIZES_MOST;
    w.bag = memory_create(bags, sizeof *w.bag);
    if (!w.bag) return memory_fault(fault, bags, sizeof *w.bag);
    chart_panel(m, panel, &w.first, &w.count);
    fill_bags(&w);
    Status status = first_page(&w);
    if (!status) status = list_flaws(&w);
    if (!status) status = chart_is_wall(m) ? wall_pages(&w) : plaque_pages(&w);
    draw_tag_end(sheet->draw, "Sect");
    memory_free(w.bag);
    return status;
}
