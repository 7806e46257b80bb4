/* Pages are sheets of the build book (book/sheet), drawn in a process apart; then the murals' books
 * are bound to them. Places and widths are set by eye on printed pages. What stands in a table is
 * text that its row makes, so that one function sets all tables and breaks their pages. */
#include "show/show_book.h"

#include "base/apart.h"
#include "base/text.h"
#include "book/sheet.h"
#include "show/show_binding.h"
#include "show/wall_view.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { COLUMNS = 10, CELL = 2000, FACE_PIXELS = 420 };

typedef struct Pages {
    const ShowFacts *facts;
    char path[FOLDER_PATH + 8]; /* of these pages alone */
    Sheet sheet;
    Mural whole; /* what a sheet asks of a mural: paper, palette, name */
    Reference name;
    bool used[PALETTE_MOST];
    Fault *fault;
} Pages;

/* ---- the cover ---- */

/* What sheet_face asks of a mural that is planned. */
static Mural face_mural(const Pages *k, int mural)
{
    const Planned *p = &k->facts->planned[mural];
    Mural m = k->whole;
    m.grid = &p->plan->grid;
    m.palette = &p->plan->palette;
    m.cell_width_mm = p->width_mm / p->plan->grid.columns;
    m.cell_height_mm = p->height_mm / p->plan->grid.rows;
    return m;
}

/* The mural's book follows in the same file, and binding makes of this a link to it. */
static void link_book(const Pages *k, const ShowMural *mural, const double box[4])
{
    char book[BOOK_NAME], what[SHOW_TEXT + 20];
    if (!show_binding_book(mural, book)) return;
    snprintf(what, sizeof what, "The book of %s", show_mural_title(mural));
    draw_link_file(k->sheet.draw, box, book, what);
}

static Status draw_face(Pages *k, const WallPlace *place, double x, double floor, double scale)
{
    const Planned *p = &k->facts->planned[place->mural];
    const Mural m = face_mural(k, place->mural);
    const CellBlock cells = cells_of_face(m.grid);
    const double left = x + place->left_mm / scale, width = p->width_mm / scale,
                 height = p->height_mm / scale, top = floor - place->bottom_mm / scale - height;
    Draw *draw = k->sheet.draw;
    Raster *raster = NULL;
    char text[300], fitted[300];
    const Status status = sheet_face(&raster, &m, &cells, FACE_PIXELS, 1, k->fault);
    if (status) return status;
    snprintf(text, sizeof text, "%s, %.0f by %.0f cm", show_mural_title(p->mural), p->width_mm / 10,
             p->height_mm / 10);
    draw_figure(draw, text);
    draw_raster(draw, raster, left, top, width, height);
    draw_rect(draw, left, top, width, height);
    draw_stroke(draw, INK_TEXT, 0.15);
    draw_tag_end(draw, "Figure");
    raster_free(raster);
    sheet_fit(&k->sheet, TYPE_SMALL, width + 0.9 * WALL_GAP_MM / scale, show_mural_title(p->mural),
              fitted, sizeof fitted);
    draw_tag(draw, "P");
    draw_text_centre(draw, TYPE_SMALL, INK_TEXT, left + width / 2, floor + 3.2, fitted);
    draw_tag_end(draw, "P");
    link_book(k, p->mural, (const double[]){left, top, width, height});
    return STATUS_OK;
}

/* Floor and eye line of the wall that begins with this place of a line, half a gap beyond its
 * faces, and its room. */
static void draw_wall(const Pages *k, const WallPlace *from, const WallPlace *end, double floor,
                      double scale)
{
    const Sheet *s = &k->sheet;
    const char *room = k->facts->show->mural[from->mural].room;
    const WallPlace *last = from;
    while (last + 1 < end && !last[1].opens) last++;
    const double eye = floor - EYE_LINE_MM / scale;
    const double left = s->left + from->left_mm / scale,
                 right = s->left +
                         (last->left_mm + k->facts->planned[last->mural].width_mm + WALL_GAP_MM) /
                             scale;
    draw_line(s->draw, left, eye, right, eye);
    draw_stroke_dashed(s->draw, INK_RULE, 0.15, 1.2);
    draw_line(s->draw, left, floor, right, floor);
    draw_stroke(s->draw, INK_TEXT, 0.3);
    if (!*room) return;
    char fitted[SHOW_TEXT];
    sheet_fit(s, TYPE_STRONG, right - left, room, fitted, sizeof fitted);
    draw_tag(s->draw, "P");
    draw_text(s->draw, TYPE_STRONG, INK_ACCENT, left, floor + 7.4, fitted);
    draw_tag_end(s->draw, "P");
}

static Status draw_line_of_walls(Pages *k, const WallView *view, const WallLine *line, double floor,
                                 double scale)
{
    const WallPlace *end = &view->place[line->first + line->places];
    Status status = STATUS_OK;
    for (const WallPlace *at = &view->place[line->first]; at < end && !status; at++) {
        if (at->opens) draw_wall(k, at, end, floor, scale);
        status = draw_face(k, at, k->sheet.left + WALL_GAP_MM / 2 / scale, floor, scale);
    }
    return status;
}

static void sum_up_facts(const ShowFacts *f, char *text, size_t size)
{
    double kg;
    char number[40];
    const long bricks = planned_sum(f->planned, f->show->count, &kg);
    number_text(number, sizeof number, (double)bricks, 0);
    snprintf(text, size, "%d murals · %s bricks · %.0f kg as they hang · %d crate%s",
             f->show->count, number, kg, f->crates->crates, f->crates->crates == 1 ? "" : "s");
}

enum {
    BELOW = 9,
    APART_MOST = 20
}; /* mm for captions; between lines of walls where there is room */

/* What is left of the height is spread before, between and after the lines. */
static double apart(const WallView *view, double scale, double height)
{
    for (int i = 0; i < view->lines; i++) height -= view->line[i].height_mm / scale + BELOW;
    return fmin(APART_MOST, fmax(0, height) / (view->lines + 1));
}

static Status cover(Pages *k)
{
    Sheet *s = &k->sheet;
    static WallView view;
    char text[300];
    Status status = sheet_begin(s, "", true, k->fault);
    if (status) return status;
    s->y = s->top - 6;
    const char *title = show_title(k->facts->show);
    sheet_heading(s, "H1", sheet_squeeze(s, TYPE_TITLE, s->right - s->left, title), title);
    sum_up_facts(k->facts, text, sizeof text);
    sheet_say(s, TYPE_BODY, INK_SOFT, s->left, s->right - s->left, text);
    const double room[2] = {s->right - s->left, s->bottom - s->y - 8};
    const double scale = wall_view_fit(&view, k->facts->show, k->facts->planned, room, BELOW);
    const double gap = apart(&view, scale, room[1]);
    double floor = s->y + 2;
    for (int i = 0; i < view.lines && !status; i++) {
        floor += gap + view.line[i].height_mm / scale;
        status = draw_line_of_walls(k, &view, &view.line[i], floor, scale);
        floor += BELOW;
    }
    snprintf(text, sizeof text,
             "All faces 1 : %.0f. The dashed line is the eye line, 1.55 m above the floor: common "
             "practice in museums, no source.",
             scale);
    s->y = s->bottom - 3;
    sheet_say(s, TYPE_SMALL, INK_SOFT, s->left, s->right - s->left, text);
    return status;
}

/* ---- tables ---- */

typedef struct TableColumn {
    const char *head;
    double at; /* mm from the left edge of the body; of the right end where it is right */
    bool right;
    double width; /* of its text: a line that is cut where it is right, else up to LINES of them */
} TableColumn;

typedef struct BookTable {
    const char *title; /* the running head, and the heading of the first page */
    int columns, rows;
    TableColumn column[COLUMNS];
    /* Fills the cells of a row; returns a colour to show before it, or -1. */
    int (*row)(const Pages *k, int row, char cell[COLUMNS][CELL]);
} BookTable;

enum { ROW_MM = 5, LINES = 6 };

/* Lines of a row: the first one's baseline under its top, and how far the row ends above the
 * baseline that would follow the last. */
#define BASELINE_MM 3.4
#define FOLLOWING_MM 2.8

/* Sets the text, or only measures it; returns the height of a row that has room for it. */
static double put_cell(const Sheet *s, const TableColumn *c, Type type, const char *text,
                       bool measured)
{
    const double x = s->left + c->at, y = s->y + BASELINE_MM;
    char fitted[CELL];
    sheet_fit(s, type, c->right ? c->width : LINES * c->width, text, fitted, sizeof fitted);
    if (!c->right) {
        const Paragraph p = {type, INK_TEXT, x, y, c->width, measured};
        return fmax(ROW_MM, sheet_paragraph(s, &p, fitted) - s->y - FOLLOWING_MM);
    }
    if (!measured) draw_text_right(s->draw, type, INK_TEXT, x, y, fitted);
    return ROW_MM;
}

static double row_height(const Sheet *s, const BookTable *t, char cell[COLUMNS][CELL])
{
    double height = ROW_MM;
    for (int i = 0; i < t->columns; i++)
        height = fmax(height, put_cell(s, &t->column[i], TYPE_BODY, cell[i], true));
    return height;
}

static void put_row(Pages *k, const BookTable *t, const char *tag, char cell[COLUMNS][CELL])
{
    Sheet *s = &k->sheet;
    const bool head = !strcmp(tag, "TH");
    double height = ROW_MM;
    draw_tag(s->draw, "TR");
    for (int i = 0; i < t->columns; i++) {
        draw_tag(s->draw, tag);
        height = fmax(height,
                      put_cell(s, &t->column[i], head ? TYPE_STRONG : TYPE_BODY, cell[i], false));
        draw_tag_end(s->draw, tag);
    }
    draw_tag_end(s->draw, "TR");
    s->y += height;
    draw_line(s->draw, s->left, s->y, s->right, s->y);
    draw_stroke(s->draw, head ? INK_TEXT : INK_RULE, head ? 0.3 : 0.1);
}

static void put_head(Pages *k, const BookTable *t)
{
    char cell[COLUMNS][CELL];
    for (int i = 0; i < t->columns; i++) snprintf(cell[i], CELL, "%s", t->column[i].head);
    put_row(k, t, "TH", cell);
}

static Status put_table(Pages *k, const BookTable *t)
{
    Sheet *s = &k->sheet;
    Status status = sheet_begin(s, t->title, false, k->fault);
    if (status) return status;
    sheet_heading(s, "H2", TYPE_HEAD, t->title);
    draw_tag(s->draw, "Table");
    put_head(k, t);
    for (int row = 0; row < t->rows; row++) {
        char cell[COLUMNS][CELL] = {""};
        const int colour = t->row(k, row, cell);
        if (s->y + row_height(s, t, cell) > s->bottom) {
            draw_tag_end(s->draw, "Table");
            status = sheet_begin(s, t->title, false, k->fault);
            if (status) return status;
            draw_tag(s->draw, "Table");
            put_head(k, t);
        }
        if (colour >= 0) sheet_swatch(s, colour, s->left, s->y + 0.5, 14, ROW_MM - 1);
        put_row(k, t, "TD", cell);
    }
    draw_tag_end(s->draw, "Table");
    s->y += 3;
    return STATUS_OK;
}

static void day_cell(char cell[CELL], const ShowFacts *f, Stretch when)
{
    char first[DAY_TEXT], last[DAY_TEXT];
    if (!f->show->dated) return;
    day_print(when.first, first);
    day_print(when.last, last);
    if (when.first == when.last)
        snprintf(cell, CELL, "%s", first);
    else
        snprintf(cell, CELL, "%s to %s", first, last + 5);
}

static int mural_row(const Pages *k, int row, char cell[COLUMNS][CELL])
{
    const ShowFacts *f = k->facts;
    const Planned *p = &f->planned[row];
    snprintf(cell[0], CELL, "%s", show_mural_title(p->mural));
    snprintf(cell[1], CELL, "%s", p->mural->room);
    snprintf(cell[2], CELL, "%.1f × %.1f", p->width_mm / 10, p->height_mm / 10);
    snprintf(cell[3], CELL, "%d", p->panels);
    number_text(cell[4], CELL, (double)p->bricks, 0);
    number_text(cell[5], CELL, p->whole_kg, 1);
    number_text(cell[6], CELL, p->hours, 1);
    day_cell(cell[7], f, f->calendar->mural[row].building);
    day_cell(cell[8], f, f->calendar->mural[row].hanging);
    return -1;
}

static const BookTable mural_table = {"Murals",
                                      9,
                                      0,
                                      {{"mural", 0, false, 62},
                                       {"room", 64, false, 30},
                                       {"cm", 122, true, 28},
                                       {"panels", 138, true, 14},
                                       {"bricks", 156, true, 17},
                                       {"kg", 172, true, 15},
                                       {"hours", 188, true, 15},
                                       {"built", 193, false, 37},
                                       {"hung", 232, false, 37}},
                                      mural_row};

static int key_row(const Pages *k, int row, char cell[COLUMNS][CELL])
{
    const ShowOrder *o = k->facts->order;
    int colour = 0;
    for (int left = row; colour < o->studio->palette.count; colour++)
        if (k->used[colour] && left-- == 0) break;
    long bricks = 0, buy = 0;
    int murals = 0;
    for (int m = 0; m < o->murals; m++) {
        long here = 0;
        for (int i = 0; i < o->whole.count; i++)
            if (o->whole.part[i].colour == colour) here += show_order_count(o, i, m);
        murals += here > 0;
        bricks += here;
    }
    for (int i = 0; i < o->whole.count; i++)
        if (o->whole.part[i].colour == colour) buy += o->whole.part[i].bought;
    snprintf(cell[0], CELL, "%s", o->studio->palette.colour[colour].name);
    number_text(cell[1], CELL, (double)bricks, 0);
    number_text(cell[2], CELL, (double)buy, 0);
    snprintf(cell[3], CELL, "%d", murals);
    return colour;
}

static const BookTable key_table = {"Colours of all murals",
                                    4,
                                    0,
                                    {{"colour", 18, false, 90},
                                     {"bricks", 140, true, 30},
                                     {"to buy", 175, true, 30},
                                     {"murals", 205, true, 20}},
                                    key_row};

static int crate_row(const Pages *k, int row, char cell[COLUMNS][CELL])
{
    const ShowCrates *c = k->facts->crates;
    const ShowCrate *crate = &c->crate[row];
    snprintf(cell[0], CELL, "%d", row + 1);
    show_loading_place(&c->loading, crate, cell[1]);
    show_crates_content(c, row, cell[2], CELL);
    snprintf(cell[3], CELL, "%.0f × %.0f × %.0f", crate->width_mm / 10, crate->height_mm / 10,
             crate->depth_mm / 10);
    number_text(cell[4], CELL, crate->net_kg, 1);
    number_text(cell[5], CELL, crate->gross_kg, 1);
    number_text(cell[6], CELL, crate->value, 2);
    return -1;
}

static const BookTable crate_table = {"Crates, in the order of opening",
                                      7,
                                      0,
                                      {{"crate", 10, true, 12},
                                       {"vehicle / load", 13, false, 36},
                                       {"content", 51, false, 117},
                                       {"cm outside", 204, true, 32},
                                       {"net kg", 222, true, 17},
                                       {"gross kg", 240, true, 17},
                                       {"value", 268, true, 26}},
                                      crate_row};

/* ---- what they come to ---- */

static void say_order(Pages *k)
{
    Sheet *s = &k->sheet;
    const ShowFacts *f = k->facts;
    const char *currency = f->show->shared.currency;
    char text[600], a[40], b[40], c[40];
    const double width = s->right - s->left;
    number_text(a, sizeof a, f->order->whole.outlay, 2);
    number_text(b, sizeof b, f->order->apart_outlay, 2);
    number_text(c, sizeof c, (double)f->order->whole.bought, 0);
    if (f->order->whole.outlay > 0)
        snprintf(text, sizeof text,
                 "Order: %s bricks for %s %s. Ordered mural by mural they would cost %s %s.", c, a,
                 currency, b, currency);
    else
        snprintf(text, sizeof text, "Order: %s bricks; no prices are given.", c);
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, width, text);
    for (int supplier = 0; supplier <= NO_SUPPLIER; supplier++) {
        char supplied[300];
        if (!show_order_supplied(f->order, supplier, currency, supplied, sizeof supplied)) continue;
        snprintf(text, sizeof text, "Of these %s.", supplied);
        sheet_say(s, TYPE_BODY, INK_TEXT, s->left, width, text);
    }
}

static void say_journey(Pages *k)
{
    Sheet *s = &k->sheet;
    const ShowCrates *c = k->facts->crates;
    const double width = s->right - s->left;
    char text[1000], loaded[400];
    show_loading_sum(&c->loading, loaded, sizeof loaded);
    snprintf(text, sizeof text,
             "Journey: %d crate%s of %.2f m³, %.0f kg, %s. No packing of these panels one behind "
             "another takes less than %.2f m³. What is hung first is opened first and loaded last, "
             "and no crate carries more than it weighs. Sizes: %s%s.",
             c->crates, c->crates == 1 ? "" : "s", c->volume_m3, c->gross_kg, loaded, c->bound_m3,
             c->loading.vehicle->source,
             c->loading.pallet ? "; pallets by ISO 6780, 144 mm high and for 1,000 kg, from memory"
                               : "");
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, width, text);
    if (!c->loading.too_large) return;
    show_loading_mend(&c->loading, c->crate, c->crates, loaded, sizeof loaded);
    snprintf(text, sizeof text, "%d of the crates go into none: %s.", c->loading.too_large, loaded);
    sheet_say(s, TYPE_STRONG, INK_ACCENT, s->left, width, text);
}

/* Those with a book in this file, and those without one. */
static void say_books(Pages *k)
{
    Sheet *s = &k->sheet;
    const Show *show = k->facts->show;
    char text[CELL], book[BOOK_NAME];
    static const char without[] = "Not bound here, for its book is off: ";
    size_t length = 0;
    int off = 0;
    for (int i = 0; i < show->count; i++) {
        const char *title = show_mural_title(&show->mural[i]);
        if (show_binding_book(&show->mural[i], book)) continue;
        if (!off) length = (size_t)snprintf(text, sizeof text, "%s", without);
        if (length + strlen(title) + 8 < sizeof text)
            length += (size_t)snprintf(text + length, sizeof text - length, "%s%s", off ? ", " : "",
                                       title);
        off++;
    }
    const double width = s->right - s->left;
    if (off < show->count)
        sheet_say(s, TYPE_BODY, INK_TEXT, s->left, width,
                  "Books: how each mural is built follows after the labels, mural by mural, as it "
                  "stands in book.pdf in the mural's folder; bookmarks and the faces on the cover "
                  "lead there.");
    if (off) sheet_say(s, TYPE_BODY, INK_TEXT, s->left, width, strcat(text, "."));
}

static void say_totals(Pages *k)
{
    Sheet *s = &k->sheet;
    const ShowFacts *f = k->facts;
    char text[600], day[3][DAY_TEXT];
    const double width = s->right - s->left;
    say_order(k);
    say_journey(k);
    say_books(k);
    if (!f->show->dated) return;
    day_print(f->calendar->ordered[0], day[0]);
    day_print(f->calendar->packing.first, day[1]);
    day_print(f->calendar->hanging.last, day[2]);
    snprintf(text, sizeof text,
             "Calendar: first order on %s, packing from %s, all hung by %s. %s is built last: a "
             "day late there is a day late in all.",
             day[0], day[1], day[2], show_mural_title(&f->show->mural[f->calendar->critical]));
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, width, text);
}

/* ---- labels ---- */

enum { ACROSS = 2, UP = 2 };

static int colours_of(const Planned *p)
{
    bool used[PALETTE_MOST] = {false};
    int colours = 0;
    for (size_t i = 0; i < p->plan->laid.count; i++) {
        bool *seen = &used[p->plan->laid.brick[i].colour];
        colours += !*seen;
        *seen = true;
    }
    return colours;
}

/* The largest type in which the title takes no more height than this. */
static Type title_type(const Sheet *s, double width, double height, const char *title)
{
    Paragraph p = {{WEIGHT_BOLD, 20, 1}, INK_TEXT, 0, 0, width, true};
    while (p.type.size > 1 && sheet_paragraph(s, &p, title) > height) p.type.size--;
    return p.type;
}

static void draw_label(Pages *k, int mural, const Frame *at)
{
    Sheet *s = &k->sheet;
    const Planned *p = &k->facts->planned[mural];
    const double x = at->x + 8;
    char text[240], number[40];
    draw_rect(s->draw, at->x, at->y, at->width, at->height);
    draw_stroke_dashed(s->draw, INK_RULE, 0.15, 1.5);
    s->y = at->y + 12;
    const char *title = show_mural_title(p->mural);
    const double width = at->width - 16, most = at->height / 2; /* of the title */
    sheet_say(s, title_type(s, width, most, title), INK_TEXT, x, width, title);
    s->y += 3;
    const Type line = {WEIGHT_REGULAR, 13, 1};
    snprintf(text, sizeof text, "%.0f × %.0f cm", p->width_mm / 10, p->height_mm / 10);
    sheet_say(s, line, INK_TEXT, x, width, text);
    number_text(number, sizeof number, (double)p->bricks, 0);
    snprintf(text, sizeof text, "%s bricks in %d colours", number, colours_of(p));
    sheet_say(s, line, INK_TEXT, x, width, text);
    if (!*p->mural->job.studio) return;
    s->y = at->y + at->height - 12;
    sheet_fit(s, TYPE_BODY, width, p->mural->job.studio, text, sizeof text);
    sheet_say(s, TYPE_BODY, INK_SOFT, x, width, text);
}

static Status labels(Pages *k)
{
    Sheet *s = &k->sheet;
    const double width = (s->right - s->left) / ACROSS, height = (s->bottom - s->top) / UP;
    for (int i = 0; i < k->facts->show->count; i++) {
        const int place = i % (ACROSS * UP);
        if (place == 0) {
            const Status status = sheet_begin(s, "Labels for the wall", false, k->fault);
            if (status) return status;
        }
        const Frame at = {s->left + place % ACROSS * width,
                          s->top + (double)(place / ACROSS) * height, width, height};
        draw_label(k, i, &at);
    }
    return STATUS_OK;
}

/* ---- the whole ---- */

static Status murals_and_totals(Pages *k)
{
    BookTable t = mural_table;
    if (!k->facts->show->dated) t.columns -= 2; /* built, hung */
    t.rows = k->facts->show->count;
    const Status status = put_table(k, &t);
    if (status) return status;
    if (k->sheet.y + 20 > k->sheet.bottom) {
        const Status begun = sheet_begin(&k->sheet, "Totals", false, k->fault);
        if (begun) return begun;
    }
    say_totals(k);
    return STATUS_OK;
}

static Status draw_pages(Pages *k)
{
    BookTable key = key_table, crates = crate_table;
    char value[40];
    snprintf(value, sizeof value, "value %s", k->facts->show->shared.currency);
    crates.column[crates.columns - 1].head = value;
    if (!k->facts->crates->loading.pallet) { /* places are shorter */
        crates.column[2].at = 38;
        crates.column[2].width = 130;
    }
    for (int c = 0; c < PALETTE_MOST; c++) key.rows += k->used[c];
    crates.rows = k->facts->crates->crates;
    Status status = cover(k);
    if (!status) status = murals_and_totals(k);
    if (!status) status = put_table(k, &key);
    if (!status) status = put_table(k, &crates);
    if (!status) status = labels(k);
    return status;
}

static Status draw_all(void *context, const Voice *voice, Fault *fault)
{
    Pages *k = context;
    Sheet *s = &k->sheet;
    Legend *key = NULL;
    k->fault = fault;
    s->voice = voice;
    Status status = legend_create(&key, k->whole.palette, k->used, fault);
    s->key = key;
    if (!status) status = draw_create(&s->draw, k->path, s->width, s->height, s->title, fault);
    if (!status) {
        draw_tag(s->draw, "Document");
        status = draw_pages(k);
        draw_tag_end(s->draw, "Document");
        if (!status) status = sheet_end(s, fault);
        if (!status) status = draw_close(s->draw, fault);
        draw_free(s->draw);
    }
    legend_free(key);
    return status;
}

Status show_book_write(const ShowFacts *f, const char *path, const Voice *voice, Fault *fault)
{
    Pages k = {.facts = f};
    snprintf(k.path, sizeof k.path, "%s.own", path);
    snprintf(k.name.file, sizeof k.name.file, "%s", show_title(f->show));
    k.whole = (Mural){.job = &f->show->shared,
                      .threads = 1,
                      .reference = &k.name,
                      .palette = &f->studio->palette,
                      .sizes = &f->studio->sizes};
    for (int i = 0; i < f->order->whole.count; i++) k.used[f->order->whole.part[i].colour] = true;
    sheet_lay_out(&k.sheet, &k.whole, "Exhibition");
    Status status = apart_run(k.path, draw_all, &k, voice, fault);
    if (!status) status = show_binding_write(f, k.path, path, voice, fault);
    remove(k.path);
    return status;
}
