/* A kit is the mural for many hands: a panel is a card that one visitor builds, so the panels are
 * small and many, and what matters is to hand out, to collect and to hang. Therefore a master sheet
 * with a map and a list to tick, then the cards two to a page, then a label for each card's bag.
 *
 * Pages are written in that order in one pass; a card's bag is counted anew wherever it is shown,
 * which is cheaper than keeping them all. */
#include "book/kit.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/chart.h"
#include "book/kit_card.h"
#include "book/legend.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LIST_LINE 6.5 /* of the master sheet */
/* Of a bag: four across and five down an A4 page. */
#define LABEL_WIDTH 64.0
#define LABEL_HEIGHT 35.0
/* The ground of maps: its pixels, and its strength against the names on it. */
enum { PALE_PIXELS = 500 };
#define PALE 0.35

/* ---- the master sheet ---- */

/* What the difficulty of a card is, and how much it varies between the cards. */
static void say_card_spread(Sheet *s)
{
    const CardSpread *now = &s->mural->even.now, *equal = &s->mural->even.equal;
    char text[500];
    if (!now->cards) return;
    snprintf(text, sizeof text,
             "Difficulty = bricks + %.0f × colours. The cards are cut to ask alike: %.0f to %.0f, "
             "%.0f on average, standard deviation %.0f %% of that.",
             CARD_COLOUR, now->least, now->most, now->mean, 100.0 * now->deviation);
    const size_t length = strlen(text);
    if (equal->cards)
        snprintf(
            text + length, sizeof text - length,
            " The %d cards of one size would ask for %.0f to %.0f, standard deviation %.0f %%.",
            equal->cards, equal->least, equal->most, 100.0 * equal->deviation);
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left, text);
}

static Status master_map(Sheet *s, Fault *fault)
{
    const Mural *m = s->mural;
    Status status = sheet_begin(s, "Master sheet", false, fault);
    if (status) return status;
    char text[200];
    char bricks[32];
    number_text(bricks, sizeof bricks, (double)m->laid->count, 0);
    snprintf(text, sizeof text, "%d cards, %s bricks", m->panels->count, bricks);
    sheet_heading(s, "H1", TYPE_HEAD, text);
    sheet_say(s, TYPE_BODY, INK_SOFT, s->left, s->right - s->left,
              "Cards are named by row from the bottom and by column from the left. Tick a card "
              "when it hangs, and write down who built it.");
    say_card_spread(s);
    const char *caution = small_parts_caution(m);
    if (caution) sheet_say(s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left, caution);
    s->y += 2.0;
    draw_figure(s->draw, "Map of the wall with the names of its cards. The list says the same.");
    const Map map = sheet_map(s, s->left, s->y, s->right - s->left, s->bottom - s->y);
    draw_raster(s->draw, s->pale, map.x, map.y, map.width, map.height);
    draw_rect(s->draw, map.x, map.y, map.width, map.height);
    draw_stroke(s->draw, INK_TEXT, 0.3);
    sheet_map_panels(s, &map, INK_TEXT, 0.2);
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        const Frame box = map_frame(&map, m->grid, cells_of_panel(p));
        const double size = fmin(10.0, 0.5 * box.height / POINT_MM);
        const Type type =
            sheet_squeeze(s, (Type){WEIGHT_BOLD, size, 1.0}, 0.9 * box.width, p->name);
        draw_text_centre(s->draw, type, INK_TEXT, box.x + 0.5 * box.width,
                         box.y + 0.5 * box.height + 0.35 * type.size * POINT_MM, p->name);
    }
    draw_tag_end(s->draw, "Figure");
    return STATUS_OK;
}

typedef struct List {
    Sheet *sheet;
    double x, width, top; /* of the column in hand */
} List;

/* Where the builder's line begins, after the figures. */
static double builder(const List *l) { return l->sheet->mural->even.now.cards ? 68.0 : 54.0; }

static void list_head(const List *l)
{
    const Sheet *s = l->sheet;
    draw_tag(s->draw, "TR");
    sheet_column_head(s, l->x + 5.0, s->y + 2.5, "card");
    sheet_column_head_right(s, l->x + 36.0, s->y + 2.5, "bricks");
    sheet_column_head_right(s, l->x + 50.0, s->y + 2.5, "colours");
    if (s->mural->even.now.cards) sheet_column_head_right(s, l->x + 64.0, s->y + 2.5, "difficulty");
    sheet_column_head(s, l->x + builder(l), s->y + 2.5, "builder");
    draw_tag_end(s->draw, "TR");
}

static Status list_begin(List *l, bool first, Fault *fault)
{
    Sheet *s = l->sheet;
    l->width = 0.5 * (s->right - s->left) - 4.0;
    if (!first && l->x < s->left + l->width) {
        l->x = s->left + l->width + 8.0;
    } else {
        if (!first) draw_tag_end(s->draw, "Table");
        const Status status = sheet_begin(s, "Master sheet, the cards", false, fault);
        if (status) return status;
        draw_tag(s->draw, "Table");
        l->x = s->left;
    }
    s->y = s->top;
    list_head(l);
    s->y += 4.0;
    return STATUS_OK;
}

static void list_line(const List *l, const char *name, const Bag *bag)
{
    const Sheet *s = l->sheet;
    char text[32];
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    sheet_tick(s, l->x, s->y + 1.2, 3.2);
    draw_text(s->draw, TYPE_STRONG, INK_TEXT, l->x + 5.0, s->y + 4.0, name);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    snprintf(text, sizeof text, "%ld", bag->bricks);
    draw_text_right(s->draw, TYPE_BODY, INK_TEXT, l->x + 36.0, s->y + 4.0, text);
    draw_tag_end(s->draw, "TD");
    draw_tag(s->draw, "TD");
    snprintf(text, sizeof text, "%d", bag->colours);
    draw_text_right(s->draw, TYPE_BODY, INK_TEXT, l->x + 50.0, s->y + 4.0, text);
    draw_tag_end(s->draw, "TD");
    if (s->mural->even.now.cards) {
        draw_tag(s->draw, "TD");
        snprintf(text, sizeof text, "%.0f", card_difficulty(bag->bricks, bag->colours));
        draw_text_right(s->draw, TYPE_BODY, INK_TEXT, l->x + 64.0, s->y + 4.0, text);
        draw_tag_end(s->draw, "TD");
    }
    draw_tag_end(s->draw, "TR");
    draw_line(s->draw, l->x + builder(l), s->y + 5.2, l->x + l->width, s->y + 5.2);
    draw_stroke(s->draw, INK_SOFT, 0.15);
}

static Status master_list(Sheet *s, Fault *fault)
{
    const Mural *m = s->mural;
    List l = {.sheet = s};
    Status status = list_begin(&l, true, fault);
    for (int i = 0; i < m->panels->count && !status; i++) {
        Bag bag;
        if (s->y + LIST_LINE > s->bottom) status = list_begin(&l, false, fault);
        if (!status) status = bag_create(&bag, m, i, fault);
        if (status) return status;
        list_line(&l, m->panels->panel[i].name, &bag);
        bag_clear(&bag);
        s->y += LIST_LINE;
    }
    if (!status) draw_tag_end(s->draw, "Table");
    return status;
}

/* ---- labels for the bags ---- */

/* "R4w 1×1x1", and ", 2×1x3" for what follows in the same colour. */
static void part_text(const Mural *m, const BagLine *part, int colour_before, bool begins_line,
                      char *text, size_t size)
{
    const char *name = m->sizes->size[part->size].name;
    if (part->colour == colour_before && !begins_line)
        snprintf(text, size, ", %ld×%s", part->count, name);
    else
        snprintf(text, size, "%s%s %ld×%s", begins_line ? "" : "   ",
                 m->palette->colour[part->colour].id, part->count, name);
}

/* Parts in small type, line after line; what does not fit is said to stand on the card. */
static void label_parts(const Sheet *s, const Bag *bag, double x, double y, double width, int lines)
{
    const Type type = {WEIGHT_REGULAR, 6.0, 1.0};
    char line[400] = "", piece[64];
    BagLine part = {0, -1, 0};
    int colour = -1;
    bool more = bag_next(bag, s->mural, &part);
    while (more && lines > 0) {
        part_text(s->mural, &part, colour, !*line, piece, sizeof piece);
        const double wide =
            draw_text_width(s->draw, type, line) + draw_text_width(s->draw, type, piece);
        if (*line && (wide > width || strlen(line) + strlen(piece) + 2 > sizeof line)) {
            if (lines == 1) strcpy(line, "… and more: see the card");
            draw_text(s->draw, type, INK_TEXT, x, y, line);
            y += 2.7;
            lines--;
            *line = '\0';
            continue;
        }
        strcat(line, piece);
        colour = part.colour;
        more = bag_next(bag, s->mural, &part);
    }
    if (lines > 0) draw_text(s->draw, type, INK_TEXT, x, y, line);
}

static void draw_bag_label(const Sheet *s, int panel, const Bag *bag, double x, double y)
{
    const Panel *p = &s->mural->panels->panel[panel];
    char text[80];
    draw_rect(s->draw, x, y, LABEL_WIDTH, LABEL_HEIGHT);
    draw_stroke_dashed(s->draw, INK_RULE, 0.2, 1.5);
    draw_tag(s->draw, "P");
    draw_text(s->draw, (Type){WEIGHT_BOLD, 15.0, 1.0}, INK_TEXT, x + 3.0, y + 7.5, p->name);
    snprintf(text, sizeof text, "%ld bricks", bag->bricks);
    draw_text_right(s->draw, TYPE_STRONG, INK_ACCENT, x + LABEL_WIDTH - 3.0, y + 7.0, text);
    label_parts(s, bag, x + 3.0, y + 12.0, LABEL_WIDTH - 6.0, 7);
    if (small_parts_caution(s->mural))
        draw_text(s->draw, (Type){WEIGHT_BOLD, 5.5, 1.0}, INK_TEXT, x + 3.0, y + LABEL_HEIGHT - 2.2,
                  "Small parts: choking hazard. Keep from children under 3.");
    draw_tag_end(s->draw, "P");
}

static Status bag_labels(Sheet *s, Fault *fault)
{
    const Mural *m = s->mural;
    const int across = (int)((s->right - s->left) / LABEL_WIDTH);
    const int down = (int)((s->bottom - s->top) / LABEL_HEIGHT);
    Status status = STATUS_OK;
    for (int i = 0; i < m->panels->count && !status; i++) {
        const int place = i % (across * down);
        Bag bag;
        if (place == 0) status = sheet_begin(s, "Labels for the bags", false, fault);
        if (!status) status = bag_create(&bag, m, i, fault);
        if (status) return status;
        draw_bag_label(s, i, &bag, s->left + place % across * LABEL_WIDTH,
                       s->top + place / across * LABEL_HEIGHT);
        bag_clear(&bag);
    }
    return status;
}

/* ---- the document ---- */

static Status card_pages(Sheet *s, const Raster *const pale[2], Fault *fault)
{
    const Panels *panels = s->mural->panels;
    const int parent = draw_bookmark(s->draw, 0, s->page + 1, "Cards");
    Halves halves;
    halves_init(&halves, s, pale[0], pale[1]);
    Status status = STATUS_OK;
    for (int i = 0; i < panels->count && !status; i++) {
        status = kit_card(&halves, i, fault);
        if (!status) draw_bookmark(s->draw, parent, s->page, panels->panel[i].name);
        voice_progress(s->voice, "kit", (i + 1.0) / panels->count);
    }
    halves_end(&halves);
    return status;
}

static Status write_kit(Sheet *s, const Raster *const pale[2], const char *path, Fault *fault)
{
    Status status = draw_create(&s->draw, path, s->width, s->height, s->title, fault);
    if (status) return status;
    draw_tag(s->draw, "Document");
    draw_bookmark(s->draw, 0, 1, "Master sheet");
    status = master_map(s, fault);
    if (!status) status = master_list(s, fault);
    if (!status) status = card_pages(s, pale, fault);
    if (!status) draw_bookmark(s->draw, 0, s->page + 1, "Labels for the bags");
    if (!status) status = bag_labels(s, fault);
    draw_tag_end(s->draw, "Document");
    if (!status) status = sheet_end(s, fault);
    if (!status) status = draw_close(s->draw, fault);
    draw_free(s->draw);
    return status;
}

Status kit_write(const Mural *m, const char *path, const Voice *voice, Fault *fault)
{
    Sheet sheet = {.voice = voice};
    Legend *key = NULL;
    Raster *pale[2] = {NULL, NULL};
    const CellBlock cells = cells_of_face(m->grid);
    sheet_lay_out(&sheet, m, "Kit");
    Status status = legend_of_laid(&key, m->palette, m->laid, fault);
    for (int i = 0; i < 2 && !status; i++)
        status = sheet_face(&pale[i], m, &cells, PALE_PIXELS, PALE, fault);
    sheet.key = key;
    sheet.pale = pale[0];
    if (!status) status = write_kit(&sheet, (const Raster *const *)pale, path, fault);
    raster_free(pale[0]);
    raster_free(pale[1]);
    legend_free(key);
    return status;
}
