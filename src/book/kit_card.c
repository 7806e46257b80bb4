/* A card goes on half a page, which is cut off and handed out: so the name, the picture, the place,
 * the bag, the chart and the caution are all on it, and a card that needs more says on each further
 * half whose it is.
 *
 * The chart is as large as the room left, down to a least size; where a fresh half would show it
 * clearly larger it goes there. Nothing of another card stands on a page where a long card
 * begins or ends: it would be cut off with it. */
#include "book/kit_card.h"

#include "base/memory.h"
#include "book/chart.h"
#include "book/chart_sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define GUTTER 12.0  /* between half sheets, which are cut apart along its middle */
#define TOP 12.0     /* of a half sheet */
#define HEAD 40.0    /* mm: name, place, picture, builder's line */
#define PICTURE 26.0 /* the side of picture and map */
enum { PICTURE_PIXELS = 240 };
#define BAG_HEAD 7.0
#define BAG_LINE 5.0
#define BAG_ACROSS 4
#define CHART_TITLE 6.0
#define CAUTION 9.0
#define MOST_CELL 9.0
/* A chart goes on the next half sheet where its cells can be larger there by more than this. */
#define SHRINK 0.8

/* ---- bags ---- */

Status bag_create(Bag *bag, const Mural *m, int panel, Fault *fault)
{
    const size_t places = (size_t)m->palette->count * SIZES_MOST;
    *bag = (Bag){.count = memory_create(places, sizeof *bag->count)};
    if (!bag->count) return memory_fault(fault, places, sizeof *bag->count);
    size_t first, count;
    chart_panel(m, panel, &first, &count);
    for (size_t i = first; i < first + count; i++) {
        const Brick *b = &m->laid->brick[i];
        bag->kinds += bag->count[b->colour * SIZES_MOST + b->size]++ == 0;
    }
    bag->bricks = (long)count;
    BagLine line = {0, -1, 0};
    for (int before = -1; bag_next(bag, m, &line); before = line.colour)
        bag->colours += line.colour != before;
    return STATUS_OK;
}

void bag_clear(Bag *bag)
{
    memory_free(bag->count);
    *bag = (Bag){0};
}

bool bag_next(const Bag *bag, const Mural *m, BagLine *line)
{
    const long places = (long)m->palette->count * SIZES_MOST;
    for (long at = (long)line->colour * SIZES_MOST + line->size + 1; at < places; at++)
        if (bag->count[at]) {
            *line = (BagLine){(int)(at / SIZES_MOST), (int)(at % SIZES_MOST), bag->count[at]};
            return true;
        }
    return false;
}

/* ---- half sheets ---- */

void halves_init(Halves *h, Sheet *sheet, const Raster *left, const Raster *right)
{
    *h = (Halves){.sheet = sheet,
                  .pale = {left, right},
                  .left = sheet->left,
                  .right = sheet->right,
                  .side = -1};
}

static void cut_line(const Halves *h)
{
    const Sheet *s = h->sheet;
    const double x = 0.5 * (h->left + h->right);
    draw_line(s->draw, x, 5.0, x, s->height - 5.0);
    draw_stroke_dashed(s->draw, INK_RULE, 0.2, 2.0);
}

Status halves_next(Halves *h, bool left, Fault *fault)
{
    Sheet *s = h->sheet;
    const double half = 0.5 * (h->right - h->left - GUTTER);
    h->side = h->side == 0 && !left ? 1 : 0;
    if (h->side == 0) {
        s->left = h->left;
        s->right = h->right;
        const Status status = sheet_begin(s, "", true, fault);
        if (status) return status;
        cut_line(h);
    }
    s->left = h->side ? h->right - half : h->left;
    s->right = s->left + half;
    s->y = TOP;
    s->pale = h->pale[h->side];
    return STATUS_OK;
}

void halves_end(Halves *h)
{
    h->sheet->left = h->left;
    h->sheet->right = h->right;
    h->side = -1;
}

/* ---- one card ---- */

const char *small_parts_caution(const Mural *m)
{
    for (int i = 0; i < m->cautions; i++)
        if (!strncmp(m->caution[i], "Small parts:", 12)) return m->caution[i];
    return NULL;
}

typedef struct Card {
    Halves *halves;
    Sheet *sheet;
    const Mural *mural;
    int panel;
    const Panel *at;
    Bag bag;
    Boxes boxes, below;
    Fault *fault;
} Card;

static double lower_end(const Card *c) { return c->sheet->bottom - CAUTION; }

static void draw_caution(const Card *c)
{
    const Sheet *s = c->sheet;
    const char *text = small_parts_caution(c->mural);
    if (!text) return;
    draw_tag(s->draw, "P");
    sheet_paragraph(s,
                    &(Paragraph){{WEIGHT_REGULAR, 6.5, 1.0},
                                 INK_TEXT,
                                 s->left,
                                 lower_end(c) + 4.0,
                                 s->right - s->left,
                                 false},
                    text);
    draw_tag_end(s->draw, "P");
}

/* The next half sheet of this card, with its name on it. */
static Status turn_over(Card *c)
{
    char text[80];
    const Status status = halves_next(c->halves, false, c->fault);
    if (status) return status;
    snprintf(text, sizeof text, "Card %s, continued", c->at->name);
    sheet_heading(c->sheet, "H2", TYPE_SUB, text);
    c->sheet->y += 2.0;
    draw_caution(c);
    return STATUS_OK;
}

static Status draw_card_picture(const Card *c, double x, double y)
{
    char text[120];
    snprintf(text, sizeof text, "Picture of card %s from the front.", c->at->name);
    return sheet_picture(c->sheet, c->at, &(Frame){x, y, PICTURE, PICTURE}, PICTURE_PIXELS, text,
                         c->fault);
}

static void draw_card_place(const Card *c, double x, double y)
{
    const Sheet *s = c->sheet;
    char text[120];
    const Map map = sheet_map(s, x, y, PICTURE, PICTURE);
    snprintf(text, sizeof text, "The wall, with the place of card %s.", c->at->name);
    draw_figure(s->draw, text);
    draw_raster(s->draw, s->pale, map.x, map.y, map.width, map.height);
    draw_rect(s->draw, map.x, map.y, map.width, map.height);
    draw_stroke(s->draw, INK_SOFT, 0.15);
    const Frame box = map_frame(&map, c->mural->grid, cells_of_panel(c->at));
    draw_rect(s->draw, box.x, box.y, box.width, box.height);
    draw_fill(s->draw, INK_ACCENT);
    draw_tag_end(s->draw, "Figure");
}

static Status draw_head(Card *c)
{
    Sheet *s = c->sheet;
    const Panel *p = c->at;
    const double top = s->y, text_right = s->right - 2.0 * PICTURE - 8.0;
    char text[160];
    snprintf(text, sizeof text, "Card %s", p->name);
    sheet_heading(s, "H1", (Type){WEIGHT_BOLD, 20.0, 1.0}, text);
    snprintf(text, sizeof text, "%ld bricks in %d colours", c->bag.bricks, c->bag.colours);
    sheet_say(s, TYPE_STRONG, INK_TEXT, s->left, text_right - s->left, text);
    snprintf(text, sizeof text, "columns %d to %d, rows %d to %d of the wall", p->column + 1,
             p->column + p->columns, p->row + 1, p->row + p->rows);
    sheet_say(s, TYPE_BODY, INK_SOFT, s->left, text_right - s->left, text);
    draw_tag(s->draw, "P");
    draw_text(s->draw, TYPE_BODY, INK_TEXT, s->left, top + 33.0, "Builder");
    draw_tag_end(s->draw, "P");
    draw_line(s->draw, s->left + 14.0, top + 33.6, text_right, top + 33.6);
    draw_stroke(s->draw, INK_TEXT, 0.25);
    const Status status = draw_card_picture(c, s->right - 2.0 * PICTURE - 4.0, top);
    if (status) return status;
    draw_card_place(c, s->right - PICTURE, top);
    s->y = top + HEAD;
    draw_caution(c);
    return STATUS_OK;
}

static double bag_height(const Card *c)
{
    return BAG_HEAD + (c->bag.kinds + BAG_ACROSS - 1) / BAG_ACROSS * BAG_LINE + 3.0;
}

static void draw_bag_line(const Card *c, const BagLine *line, double x)
{
    const Sheet *s = c->sheet;
    char text[48];
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    sheet_tick(s, x, s->y + 0.7, 3.0);
    sheet_swatch(s, line->colour, x + 4.0, s->y + 0.2, 12.0, BAG_LINE - 0.8);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    snprintf(text, sizeof text, "%ld × %s", line->count, c->mural->sizes->size[line->size].name);
    draw_text(s->draw, sheet_squeeze(s, TYPE_BODY, 14.5, text), INK_TEXT, x + 17.0, s->y + 3.4,
              text);
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
}

static Status draw_bag(Card *c)
{
    Sheet *s = c->sheet;
    sheet_heading(s, "H2", TYPE_SUB, "In the bag");
    s->y += 1.5;
    const double step = (s->right - s->left) / BAG_ACROSS;
    BagLine line = {0, -1, 0};
    draw_tag(s->draw, "Table");
    for (int n = 0; bag_next(&c->bag, c->mural, &line); n++) {
        if (n && n % BAG_ACROSS == 0) s->y += BAG_LINE;
        if (n % BAG_ACROSS == 0 && s->y + BAG_LINE > lower_end(c)) {
            draw_tag_end(s->draw, "Table");
            const Status status = turn_over(c);
            if (status) return status;
            draw_tag(s->draw, "Table");
        }
        draw_bag_line(c, &line, s->left + n % BAG_ACROSS * step);
    }
    draw_tag_end(s->draw, "Table");
    s->y += BAG_LINE + 3.0;
    return STATUS_OK;
}

/* ---- charts ---- */

/* The height, mm, of a chart of vs rows with cells of this width. */
static double chart_height(int vs, double cell, double aspect)
{
    return CHART_TITLE + 2.0 * CHART_EDGE + vs * cell * aspect;
}

/* The widest cell with which the field fits the half sheet's width and `room` of its height. */
static double chart_cell(const Card *c, int us, int vs, double aspect, double room)
{
    const double across = (c->sheet->right - c->sheet->left - 2.0 * CHART_SIDE) / us;
    const double up = (room - CHART_TITLE - 2.0 * CHART_EDGE) / (vs * aspect);
    return fmin(fmin(across, up), MOST_CELL);
}

static double face_aspect(const Card *c)
{
    return c->mural->cell_height_mm / c->mural->cell_width_mm;
}

/* True if the whole card goes on one half sheet. */
static bool is_short(const Card *c)
{
    const Sheet *s = c->sheet;
    if (chart_depth(c->mural, c->panel) > 1) return false;
    const double room = s->bottom - CAUTION - TOP - HEAD - bag_height(c);
    return room >= chart_height(c->at->rows, chart_least_cell(face_aspect(c)), face_aspect(c));
}

static Status draw_chart(Card *c, ChartLook *look, const char *title, double aspect)
{
    Sheet *s = c->sheet;
    const int us = look->window.us, vs = look->window.vs;
    const double fresh = chart_cell(c, us, vs, aspect, lower_end(c) - TOP - CHART_TITLE);
    const double least = fmax(chart_least_cell(aspect), is_short(c) ? 0.0 : SHRINK * fresh);
    double cell = chart_cell(c, us, vs, aspect, lower_end(c) - s->y);
    if (cell < least) {
        const Status status = turn_over(c);
        if (status) return status;
        cell = chart_cell(c, us, vs, aspect, lower_end(c) - s->y);
    }
    char text[200];
    sheet_heading(s, "H2", TYPE_SUB, title);
    look->width = chart_snap(cell);
    look->height = chart_snap(cell * aspect);
    look->x = chart_snap(0.5 * (s->left + s->right - us * look->width));
    look->y = chart_snap(s->y + CHART_EDGE);
    snprintf(text, sizeof text, "Chart of card %s, %s: %zu bricks.", c->at->name, title,
             c->boxes.count);
    draw_figure(s->draw, text);
    const Status status = chart_draw(s, look, &c->boxes, c->fault);
    draw_tag_end(s->draw, "Figure");
    s->y = look->y + vs * look->height + CHART_EDGE + 2.0;
    return status;
}

static ChartLook look_of(const Card *c, Window window, int layer)
{
    return (ChartLook){.window = window,
                       .column = c->at->column,
                       .row = c->at->row,
                       .below = &c->below,
                       .panel = c->panel,
                       .layer = layer};
}

/* A plaque, tier by tier. */
static Status draw_tiers(Card *c)
{
    const int depth = chart_depth(c->mural, c->panel);
    Status status = STATUS_OK;
    for (int tier = 0; tier < depth && !status; tier++) {
        const Plane plane = chart_plane(c->mural, c->panel, tier);
        const Window all = {0, 0, plane.us, plane.vs};
        char title[80] = "Seen from the front, this way up";
        if (depth > 1)
            snprintf(title, sizeof title, "Tier %d of %d, from the front", tier + 1, depth);
        status = chart_plane_boxes(&c->boxes, &plane, all, c->fault);
        if (!status) status = chart_below_boxes(&c->below, &plane, c->panel, all, c->fault);
        ChartLook look = look_of(c, all, tier);
        if (!status) status = draw_chart(c, &look, title, face_aspect(c));
    }
    return status;
}

/* A wall: its front, and where it is thicker than a brick its courses from above. */
static Status draw_courses(Card *c)
{
    const Mural *m = c->mural;
    const Window front = {0, 0, c->at->columns, c->at->rows};
    Status status = chart_front_boxes(&c->boxes, m, c->panel, front, c->fault);
    ChartLook look = look_of(c, front, -1);
    if (!status) status = draw_chart(c, &look, "Seen from the front, this way up", face_aspect(c));
    const int depth = chart_depth(m, c->panel);
    for (int row = c->at->row; depth > 1 && row < c->at->row + c->at->rows && !status; row++) {
        const Plane plane = chart_plane(m, c->panel, row);
        const Window all = {0, 0, plane.us, plane.vs};
        char title[80];
        snprintf(title, sizeof title, "Row %d from above, its front below", row + 1);
        status = chart_plane_boxes(&c->boxes, &plane, all, c->fault);
        if (!status) status = chart_below_boxes(&c->below, &plane, c->panel, all, c->fault);
        look = look_of(c, all, row);
        look.row = 0;
        look.downward = true;
        if (!status) status = draw_chart(c, &look, title, 1.0);
    }
    return status;
}

static Status draw_card(Card *c)
{
    char target[48];
    Status status = halves_next(c->halves, !is_short(c), c->fault);
    if (status) return status;
    draw_tag(c->sheet->draw, "Sect");
    snprintf(target, sizeof target, "card%d", c->panel);
    draw_target(c->sheet->draw, target);
    status = draw_head(c);
    if (!status) status = draw_bag(c);
    if (!status) status = chart_is_wall(c->mural) ? draw_courses(c) : draw_tiers(c);
    draw_tag_end(c->sheet->draw, "Sect");
    return status;
}

Status kit_card(Halves *halves, int panel, Fault *fault)
{
    const Mural *m = halves->sheet->mural;
    Card c = {.halves = halves,
              .sheet = halves->sheet,
              .mural = m,
              .panel = panel,
              .at = &m->panels->panel[panel],
              .fault = fault};
    Status status = bag_create(&c.bag, m, panel, fault);
    if (!status) status = draw_card(&c);
    /* Beside this card's last half sheet the next would be cut off with it: it begins a page. */
    if (!is_short(&c)) halves->side = -1;
    boxes_clear(&c.boxes);
    boxes_clear(&c.below);
    bag_clear(&c.bag);
    return status;
}
