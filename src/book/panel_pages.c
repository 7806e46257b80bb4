/* The pages that a helper works from: first what the panel needs (its facts, its place, bags of
 * bricks to pick), then its weak places, then its charts. A panel with a single chart has all on
 * one sheet, where there is room and the chart's cells lose nothing that can be read in them.
 *
 * Every brick of the panel that does not stand yet is in one bag. */
#include "book/panel_pages.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/bags.h"
#include "book/chart.h"
#include "book/chart_pages.h"
#include "book/chart_sheet.h"
#include "book/course_pages.h"
#include "figures/cautions.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEFT_PART 104.0 /* mm: facts, picture and map; the bags stand beside */
#define BESIDE 85.0     /* mm, at least, beside a chart */
#define BESIDE_MOST 130.0
#define SMALL_MAP 27.0 /* mm */
#define PICTURE_WIDTH 62.0
#define PICTURE_LEAST 50.0 /* mm: its height, with what is around it */
enum { PICTURE_PIXELS = 480 };

typedef struct PanelWork {
    Sheet *sheet;
    int panel;
    const Panel *at;
    size_t first, count; /* of its bricks */
    size_t standing;     /* of these, stand already */
    long *bag;           /* [colour][size], what is still to be laid */
    bool bags_go_on;     /* on a page of their own */
    bool flaws_told;
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

/* ---- facts ---- */

/* Facts below each other, or the room that they take. */
typedef struct Facts {
    Sheet *sheet;
    Type type, name_type;
    Ink name_ink;
    double name, width; /* mm: of a fact's name, and of all */
    bool measured;      /* nothing is drawn */
} Facts;

static Facts plain_facts(Sheet *s, Type type, double name, double width)
{
    return (Facts){s, type, type, INK_SOFT, name, width, false};
}

static void fact(const Facts *f, const char *name, const char *value)
{
    Sheet *s = f->sheet;
    const double rise = 0.36 * f->type.size; /* the first baseline, mm */
    const Paragraph p = {f->type,     INK_TEXT,           s->left + f->name,
                         s->y + rise, f->width - f->name, f->measured};
    if (!f->measured) {
        draw_tag(s->draw, "P");
        draw_text(s->draw, f->name_type, f->name_ink, s->left, s->y + rise, name);
    }
    s->y = sheet_paragraph(s, &p, value) - 0.29 * f->type.size;
    if (!f->measured) draw_tag_end(s->draw, "P");
}

/* How it is lifted and carried, what its joints take, and what comes off first. */
static void panel_advices(const PanelWork *w, const Facts *f)
{
    PanelAdvice advice[PANEL_ADVICES];
    const int count = panel_advice(panels_mural(w), w->panel, advice);
    for (int i = 0; i < count; i++) fact(f, advice[i].name, advice[i].text);
}

static void panel_place(const PanelWork *w, const Facts *f)
{
    const Panel *p = w->at;
    char text[160];
    snprintf(text, sizeof text, "columns %d to %d, rows %d to %d of the mural", p->column + 1,
             p->column + p->columns, p->row + 1, p->row + p->rows);
    fact(f, "Place", text);
}

static void panel_facts(const PanelWork *w, const Facts *f)
{
    const Mural *m = panels_mural(w);
    const Panel *p = w->at;
    char text[320], a[40], b[40], c[40];
    number_text(a, sizeof a, p->columns * m->cell_width_mm, 1);
    number_text(b, sizeof b, p->rows * m->cell_height_mm, 1);
    number_text(c, sizeof c, chart_depth(m, w->panel) * m->step_mm, 1);
    snprintf(text, sizeof text, "%s × %s mm, %s mm deep; %d × %d cells", a, b, c, p->columns,
             p->rows);
    fact(f, "Size", text);
    number_text(a, sizeof a, (double)w->count, 0);
    number_text(b, sizeof b, (double)w->standing, 0);
    number_text(c, sizeof c, (double)(w->count - w->standing), 0);
    snprintf(text, sizeof text, "%s, of which %s stand; %s to lay", a, b, c);
    fact(f, "Bricks", w->standing ? text : a);
    number_text(a, sizeof a, m->load[w->panel].whole_kg, 1);
    number_text(b, sizeof b, m->load[w->panel].mass_g / 1000, 2);
    snprintf(text, sizeof text, "%s kg ±10 %% as it hangs; its bricks %s kg", a, b);
    fact(f, "Mass", text);
    panel_advices(w, f);
    snprintf(text, sizeof text, "%d of %d", w->sheet->hanging[w->panel], m->panels->count);
    fact(f, "Hung as", text);
}

static void panel_heading(const PanelWork *w)
{
    char text[64];
    snprintf(text, sizeof text, "Panel %s", w->at->name);
    sheet_heading(w->sheet, "H1", TYPE_HEAD, text);
    w->sheet->y += 1.0;
}

static Status draw_panel_picture(PanelWork *w, const Frame *frame)
{
    char text[200];
    snprintf(text, sizeof text, "Picture of panel %s as it will look from the front.", w->at->name);
    return sheet_picture(w->sheet, w->at, frame, PICTURE_PIXELS, text, w->fault);
}

/* The place of the only panel needs no map. */
static void draw_panel_place(const PanelWork *w, const Frame *frame)
{
    Sheet *s = w->sheet;
    const Mural *m = panels_mural(w);
    char text[160];
    if (m->panels->count == 1) return;
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

/* ---- weak places ---- */

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

static Facts flaw_list(Sheet *s, double name, double width)
{
    return (Facts){s, TYPE_BODY, TYPE_STRONG, INK_ACCENT, name, width, false};
}

/* The nth weak place of the panel, which is `flaw` of the report. */
static void say_flaw(const PanelWork *w, const Facts *f, size_t nth, size_t flaw)
{
    const Mural *m = panels_mural(w);
    char text[400], number[24];
    flaw_text(&m->bond->flaw[flaw], &m->solid, m->panels, text, sizeof text);
    snprintf(number, sizeof number, "%zu", nth + 1);
    fact(f, number, text);
}

static Status list_flaws(PanelWork *w)
{
    Sheet *s = w->sheet;
    const Facts list = flaw_list(s, 12.0, s->right - s->left);
    size_t first, count;
    chart_flaws(panels_mural(w), w->panel, &first, &count);
    for (size_t i = 0; i < count; i++) {
        if (!i || s->y + 10.0 > s->bottom) {
            const Status status = flaws_head(w, !i);
            if (status) return status;
        }
        say_flaw(w, &list, i, first + i);
    }
    return STATUS_OK;
}

/* The weak places below the facts, if they leave room for the picture; all or none. */
static void flaws_below(PanelWork *w)
{
    Sheet *s = w->sheet;
    Facts list = flaw_list(s, 6.0, LEFT_PART - 2.0);
    size_t first, count;
    chart_flaws(panels_mural(w), w->panel, &first, &count);
    const double top = s->y;
    double end = top + 8.0;
    list.measured = true;
    for (size_t i = 0; i < count && end < s->bottom; i++, end = s->y) {
        s->y = end;
        say_flaw(w, &list, i, first + i);
    }
    s->y = top;
    w->flaws_told = count && end + PICTURE_LEAST < s->bottom;
    if (!w->flaws_told) return;
    s->y += 3.0;
    sheet_heading(s, "H2", TYPE_STRONG, "Weak places, numbered on the charts: press them home");
    list.measured = false;
    for (size_t i = 0; i < count; i++) say_flaw(w, &list, i, first + i);
}

/* ---- what it needs, on a page of its own ---- */

static Status begin_panel(PanelWork *w, const char *part)
{
    Sheet *s = w->sheet;
    char head[80], target[48];
    head_of(w, part, head, sizeof head);
    const Status status = sheet_begin(s, head, false, w->fault);
    if (status) return status;
    draw_tag(s->draw, "Sect");
    snprintf(target, sizeof target, "panel%d", w->panel);
    draw_target(s->draw, target);
    panel_heading(w);
    return STATUS_OK;
}

static Status own_page_bags(PanelWork *w)
{
    Sheet *s = w->sheet;
    char head[80];
    head_of(w, "bags, continued", head, sizeof head);
    Bags bags = {.sheet = s, .count = w->bag, .head = head, .x = s->left + LEFT_PART + 6.0};
    bags.width = s->right - bags.x + 4.0;
    bags.top = s->top + 12.0;
    if (bags.top + bags_height(&bags) > s->bottom) bags.look = BAGS_CLOSE;
    draw_tag(s->draw, "H2");
    draw_text(s->draw, TYPE_SUB, INK_TEXT, bags.x, s->top + 5.0,
              "Pick before you start: one bag a colour");
    draw_tag_end(s->draw, "H2");
    const Status status = bags_draw(&bags, w->fault);
    w->bags_go_on = bags.go_on;
    return status;
}

static Status own_page(PanelWork *w)
{
    Sheet *s = w->sheet;
    const Facts facts = plain_facts(s, TYPE_BODY, 24.0, LEFT_PART);
    Status status = begin_panel(w, "what it needs");
    if (status) return status;
    panel_place(w, &facts);
    panel_facts(w, &facts);
    flaws_below(w);
    const double top = s->y + 5.0, room = s->bottom - s->y - 10.0;
    status = draw_panel_picture(w, &(Frame){s->left, top, PICTURE_WIDTH, room});
    if (status) return status;
    draw_panel_place(
        w, &(Frame){s->left + PICTURE_WIDTH + 5.0, top, LEFT_PART - PICTURE_WIDTH - 5.0, room});
    return own_page_bags(w);
}

/* ---- all on the sheet of its only chart ---- */

/* The page as it is drawn, or only measured. */
typedef struct OneSheet {
    PanelWork *work;
    OnlyChart chart;
    Facts facts;
    Bags bags;
} OneSheet;

/* Whether the panel has a single chart, and room for facts and bags beside it. */
static bool is_one_sheet(PanelWork *w, OneSheet *o)
{
    Sheet *s = w->sheet;
    *o = (OneSheet){.work = w};
    if (!only_chart(s, w->panel, BESIDE, &o->chart)) return false;
    const double width = fmin(BESIDE_MOST, s->right - s->left - o->chart.width - 5.0);
    o->facts = plain_facts(s, (Type){WEIGHT_REGULAR, 8.0, 1.0}, 16.0, width);
    o->facts.measured = true;
    o->bags = (Bags){.sheet = s,
                     .count = w->bag,
                     .head = "",
                     .look = BAGS_NAMELESS,
                     .x = s->left,
                     .width = width + 4.0};
    const double kept = s->y;
    s->y = s->top + 21.0;
    panel_facts(w, &o->facts);
    o->bags.top = s->y + 9.5;
    s->y = kept;
    o->facts.measured = false;
    return o->bags.top + bags_height(&o->bags) <= s->bottom;
}

static Status one_sheet(OneSheet *o)
{
    PanelWork *w = o->work;
    Sheet *s = w->sheet;
    Status status = begin_panel(w, "bags and chart");
    if (status) return status;
    draw_panel_place(w, &(Frame){s->left + o->facts.width - SMALL_MAP, s->top, SMALL_MAP, 18.0});
    only_chart_title(s, w->panel, &o->chart, s->top + 12.5, o->facts.width - SMALL_MAP - 3.0);
    s->y = s->top + 21.0;
    panel_facts(w, &o->facts);
    draw_tag(s->draw, "H2");
    draw_text(s->draw, TYPE_STRONG, INK_TEXT, s->left, s->y + 4.4,
              "Pick before you start: one bag a colour");
    draw_tag_end(s->draw, "H2");
    status = bags_draw(&o->bags, w->fault);
    return status ? status : only_chart_draw(s, w->panel, &o->chart, w->fault);
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
    OneSheet one;
    const bool together = is_one_sheet(&w, &one);
    Status status = together ? one_sheet(&one) : own_page(&w);
    if (!status && !w.flaws_told) status = list_flaws(&w);
    if (!status && !together) status = chart_pages(sheet, panel, fault);
    if (!status && chart_is_wall(m)) status = course_pages(sheet, panel, fault);
    draw_tag_end(sheet->draw, "Sect");
    memory_free(w.bag);
    return status;
}
