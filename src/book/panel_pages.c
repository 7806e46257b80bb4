/* The pages that a helper works from: first what the panel needs (its facts, its place, bags of
 * bricks to pick), then its weak places, then its charts.
 *
 * Every brick of the panel that does not stand yet is in one bag. */
#include "book/panel_pages.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/chart.h"
#include "book/chart_pages.h"
#include "book/chart_sheet.h"
#include "book/course_pages.h"
#include "figures/cautions.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEFT_PART 104.0 /* mm: facts, picture and map; the bags stand beside */
#define BAG_LINE 4.5
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
    if (!status) status = chart_pages(sheet, panel, fault);
    if (!status && chart_is_wall(m)) status = course_pages(sheet, panel, fault);
    draw_tag_end(sheet->draw, "Sect");
    memory_free(w.bag);
    return status;
}
