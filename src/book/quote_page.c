/* One landscape page: on the left the face and what it comes to, on the right bricks by size and by
 * colour, below them the crates and the gates on their way.
 *
 * It stays one page whatever the mural: the face gives way to the figures, and kinds that do not
 * fit are summed up in a last line. Figures are those of figures/quote.h, with what they rest on.
 */
#include "book/quote_page.h"

#include "base/memory.h"
#include "base/number_style.h"
#include "base/text.h"
#include "book/legend.h"
#include "book/sheet.h"
#include "figures/cautions.h"
#include "figures/offer.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEFT_PART 0.44 /* of the body's width */
#define GUTTER 9.0
#define LINE 4.4
enum { FACE_PIXELS = 700 };

typedef struct Page {
    Sheet sheet;
    const Mural *mural;
    Quote quote;
    Offer offer;
    double x, width; /* of the column in hand */
} Page;

/* ---- numbers ---- */

static void number(const Page *p, char *text, size_t size, double value, int decimals)
{
    number_styled(text, size, number_style(p->mural->job->locale), value, decimals);
}

static void whole_text(const Page *p, char *text, size_t size, double value)
{
    number(p, text, size, value, 0);
}

/* "12.50 EUR, at most 14.00 EUR" */
static void money(const Page *p, Span s, char *text, size_t size)
{
    const Job *job = p->mural->job;
    char expected[80], most[80];
    money_styled(expected, sizeof expected, number_style(job->locale), s.expected, job->currency);
    money_styled(most, sizeof most, number_style(job->locale), s.most, job->currency);
    if (s.most - s.expected < 0.005)
        snprintf(text, size, "%s", expected);
    else
        snprintf(text, size, "%s, at most %s", expected, most);
}

static void sum(const Page *p, double value, char *text, size_t size)
{
    money(p, (Span){value, value, value}, text, size);
}

static void plain_span(const Page *p, Span s, int decimals, const char *unit, char *text,
                       size_t size)
{
    char a[40], b[40];
    number(p, a, sizeof a, s.expected, decimals);
    number(p, b, sizeof b, s.most, decimals);
    snprintf(text, size, "%s %s, at most %s", a, unit, b);
}

/* ---- the table of figures ---- */

static void figure(Page *p, Type type, const char *name, const char *value)
{
    Sheet *s = &p->sheet;
    const double lead = 30.0;
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    draw_text(s->draw, TYPE_BODY, INK_SOFT, p->x, s->y + 3.2, name);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    s->y = sheet_paragraph(
               s, &(Paragraph){type, INK_TEXT, p->x + lead, s->y + 3.2, p->width - lead, false},
               value) -
           3.2;
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
    draw_line(s->draw, p->x, s->y + 0.7, p->x + p->width, s->y + 0.7);
    draw_stroke(s->draw, INK_RULE, 0.12);
    s->y += 1.3;
}

static void say_size(Page *p)
{
    const Quote *q = &p->quote;
    char text[200], a[40], b[40], c[40];
    whole_text(p, a, sizeof a, q->width_mm);
    whole_text(p, b, sizeof b, q->height_mm);
    number(p, c, sizeof c, q->depth_mm, 1);
    snprintf(text, sizeof text, "%s × %s mm, %s mm deep", a, b, c);
    figure(p, TYPE_STRONG, "True size", text);
    whole_text(p, a, sizeof a, (double)q->bricks);
    whole_text(p, b, sizeof b, (double)q->order);
    whole_text(p, c, sizeof c, (double)q->built);
    if (q->built)
        snprintf(text, sizeof text, "%s, of which %s stand; the others with spares %s", a, c, b);
    else
        snprintf(text, sizeof text, "%s; with spares %s", a, b);
    figure(p, TYPE_BODY, "Bricks", text);
    plain_span(p, q->whole_kg, 1, "kg", text, sizeof text);
    figure(p, TYPE_BODY, "Mass", text);
    if (p->mural->missing) {
        missing_colour_short(p->mural->missing, text, sizeof text);
        figure(p, TYPE_BODY, "Colour lacking", text);
    }
    if (q->colours_within > 0) {
        quote_colours_text(q->colours_within, number_style(p->mural->job->locale), text,
                           sizeof text);
        figure(p, TYPE_BODY, "Colours", text);
    }
    if (!p->mural->saving.units) return;
    saving_text(&p->mural->saving, text, sizeof text);
    figure(p, TYPE_BODY, "Core", text);
}

static void say_price(Page *p)
{
    const Quote *q = &p->quote;
    const Job *job = p->mural->job;
    char text[400], a[170], b[170];
    if (q->priced) {
        money(p, q->brick_price, text, sizeof text);
        figure(p, TYPE_BODY, "Price of bricks", text);
    } else {
        figure(p, TYPE_BODY, "Price of bricks", "not priced: the brick set gives no prices");
    }
    if (q->bought < q->order || q->outlay > 0) {
        whole_text(p, a, sizeof a, (double)q->bought);
        sum(p, q->outlay, b, sizeof b);
        snprintf(text, sizeof text, "%s bricks%s%s, packs whole", a, q->outlay > 0 ? " for " : "",
                 q->outlay > 0 ? b : "");
        figure(p, TYPE_BODY, "To be bought", text);
    }
    if (q->sheets) {
        sum(p, q->sheet_price, b, sizeof b);
        snprintf(text, sizeof text, "%d, one a panel%s; %s", q->sheets,
                 q->built ? " not yet begun" : "", job->sheet_price > 0 ? b : "not priced");
        figure(p, TYPE_BODY, "Base sheets", text);
    }
    number(p, a, sizeof a, job->pace, 0);
    plain_span(p, q->hours, 0, "h", b, sizeof b);
    snprintf(text, sizeof text, "%s at %s bricks an hour ±20 %%", b, a);
    figure(p, TYPE_BODY, "Labour", text);
    if (job->rate > 0) {
        money(p, q->labour, text, sizeof text);
        figure(p, TYPE_BODY, "Price of labour", text);
    } else {
        figure(p, TYPE_BODY, "Price of labour", "not priced: no rate is given");
    }
}

/* What is paid for it on its way, and in all. */
static void say_together(Page *p)
{
    const Quote *q = &p->quote;
    char text[400], a[170], b[170];
    sum(p, q->crate_price, a, sizeof a);
    sum(p, q->freight, b, sizeof b);
    snprintf(text, sizeof text, "%s; freight %s", q->crate_price > 0 ? a : "not priced",
             q->freight > 0 ? b : "not priced");
    figure(p, TYPE_BODY, "Crates", text);
    if (!(q->total.expected > 0)) return;
    money(p, q->total, text, sizeof text);
    figure(p, TYPE_STRONG, "Together", text);
    sum(p, p->offer.net, a, sizeof a);
    sum(p, p->offer.net - q->total.expected, b, sizeof b);
    snprintf(text, sizeof text, "%s before tax, %s over what is expected", a, b);
    figure(p, TYPE_BODY, "Offered for", text);
}

static void say_days(Page *p)
{
    const Quote *q = &p->quote;
    const Job *job = p->mural->job;
    char text[400], a[170], b[170];
    plain_span(p, q->days, 0, q->days.expected == 1 ? "day" : "days", a, sizeof a);
    number(p, b, sizeof b, job->day, 1);
    snprintf(text, sizeof text, "%s of %s h, %d %s", a, b, job->builders,
             job->builders == 1 ? "builder" : "builders");
    figure(p, TYPE_BODY, "Building", text);
    sum(p, q->site_price, a, sizeof a);
    snprintf(text, sizeof text, "%d %s, %d panels a day; %s", q->site_days,
             q->site_days == 1 ? "day" : "days", job->hanging,
             q->site_price > 0 ? a : "not priced");
    figure(p, TYPE_BODY, "On site", text);
}

static void quote_face(Page *p, double low)
{
    Sheet *s = &p->sheet;
    const double height = low - s->y - 3.0;
    if (height < 12.0) return;
    const Map map = sheet_map(s, p->x, s->y + 2.0, p->width, height);
    draw_figure(s->draw, "The mural as it will look from the front.");
    draw_raster(s->draw, s->face, map.x, map.y, map.width, map.height);
    sheet_map_panels(s, &map, INK_TEXT, 0.15);
    draw_tag_end(s->draw, "Figure");
}

/* ---- bricks by size, by colour ---- */

/* Bricks of one kind, to print with its name or swatch. */
typedef struct Kind {
    int index;
    long count;
} Kind;

static int count_kinds(const Mural *m, bool by_colour, Kind *kind)
{
    const int all = by_colour ? m->palette->count : m->sizes->count;
    int kinds = 0;
    for (int i = 0; i < all; i++) {
        long count = 0;
        for (int j = 0; j < m->parts->count; j++) {
            const Part *part = &m->parts->part[j];
            if ((by_colour ? part->colour : part->size) == i) count += part->count;
        }
        if (count) kind[kinds++] = (Kind){i, count};
    }
    return kinds;
}

static void kind_line(Page *p, bool by_colour, const Kind *kind, double x, double y, double width)
{
    const Sheet *s = &p->sheet;
    const Mural *m = p->mural;
    char text[160];
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TD");
    if (by_colour) {
        sheet_swatch(s, kind->index, x, y + 0.3, 11.0, LINE - 0.8);
        const char *name = m->palette->colour[kind->index].name;
        draw_text(s->draw, sheet_squeeze(s, TYPE_SMALL, width - 26.0, name), INK_TEXT, x + 12.0,
                  y + 3.1, name);
    } else {
        draw_text(s->draw, TYPE_BODY, INK_TEXT, x, y + 3.1, m->sizes->size[kind->index].name);
    }
    draw_tag_end(s->draw, "TD");
    draw_tag(s->draw, "TD");
    whole_text(p, text, sizeof text, (double)kind->count);
    draw_text_right(s->draw, TYPE_BODY, INK_TEXT, x + width - 3.0, y + 3.1, text);
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
}

/* As many kinds as there is room for, in columns; the last line sums up the rest. */
static void kinds_table(Page *p, bool by_colour, int columns, int lines)
{
    Sheet *s = &p->sheet;
    Kind kind[PALETTE_MOST];
    const int kinds = count_kinds(p->mural, by_colour, kind);
    if (kinds <= (columns - 1) * lines) columns--; /* room for longer names */
    const int room = columns * lines, shown = kinds > room ? room - 1 : kinds;
    const double width = p->width / columns, top = s->y;
    const int used =
        (shown + columns - 1) / columns < lines ? (shown + columns - 1) / columns : lines;
    draw_tag(s->draw, "Table");
    for (int i = 0; i < shown; i++)
        kind_line(p, by_colour, &kind[i], p->x + i / used * width, top + i % used * LINE, width);
    draw_tag_end(s->draw, "Table");
    s->y = top + used * LINE;
    if (shown == kinds) return;
    long rest = 0;
    char text[80], rest_text[40];
    for (int i = shown; i < kinds; i++) rest += kind[i].count;
    whole_text(p, rest_text, sizeof rest_text, (double)rest);
    snprintf(text, sizeof text, "and %d more with %s bricks", kinds - shown, rest_text);
    sheet_say(s, TYPE_SMALL, INK_SOFT, p->x, p->width, text);
    s->y += 1.0;
}

static void sub(Page *p, const char *text)
{
    Sheet *s = &p->sheet;
    s->y += 4.2;
    draw_tag(s->draw, "H2");
    draw_text(s->draw, TYPE_SUB, INK_TEXT, p->x, s->y, text);
    draw_tag_end(s->draw, "H2");
    s->y += 1.6;
}

/* ---- crates ---- */

static void say_crates(Page *p)
{
    Sheet *s = &p->sheet;
    const Quote *q = &p->quote;
    const Crate *c = &q->largest;
    char text[600], a[40], b[40], d[40], kg[40], packed[40], packing[40], fullest[40];
    whole_text(p, a, sizeof a, c->side_mm[2]);
    whole_text(p, b, sizeof b, c->side_mm[1]);
    whole_text(p, d, sizeof d, c->side_mm[0]);
    number(p, kg, sizeof kg, q->heaviest.panels_kg, 1);
    number(p, packed, sizeof packed, q->heaviest.packed_kg, 0);
    whole_text(p, packing, sizeof packing, p->mural->job->packing);
    snprintf(fullest, sizeof fullest, q->fullest == 1 ? "a panel each" : "up to %d panels each",
             q->fullest);
    snprintf(text, sizeof text,
             "%d %s, %s. The largest is %s × %s × %s mm outside, with %s mm of packing all round; "
             "the heaviest holds panels of %s kg, give or take 10 %%, and is reckoned at %s kg "
             "packed. The build book lists them.",
             q->crates, q->crates == 1 ? "crate" : "crates", fullest, a, b, d, packing, kg, packed);
    sheet_say(s, TYPE_BODY, INK_TEXT, p->x, p->width, text);
    s->y += 1.2;
}

static void gate_line(Page *p, int g)
{
    static const char *const passing[] = {"pass flat", "pass on edge", "do not pass"};
    static const char *const lying[] = {"lie within", "stand within", "overhang"};
    const Sheet *s = &p->sheet;
    const Quote *q = &p->quote;
    const Gate *gate = &quote_gates[g];
    char text[200], a[40], b[40];
    whole_text(p, a, sizeof a, gate->width_mm);
    whole_text(p, b, sizeof b, gate->height_mm);
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    draw_text(s->draw, TYPE_SMALL, INK_TEXT, p->x, s->y + 2.6, gate->name);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    snprintf(text, sizeof text, "%s × %s", a, b);
    draw_text_right(s->draw, TYPE_SMALL, INK_TEXT, p->x + 53.0, s->y + 2.6, text);
    draw_tag_end(s->draw, "TD");
    draw_tag(s->draw, "TD");
    if (q->barred[g])
        snprintf(text, sizeof text, "%d %s", q->barred[g], (gate->surface ? lying : passing)[2]);
    else
        snprintf(text, sizeof text, "all %s", (gate->surface ? lying : passing)[q->passing[g]]);
    draw_text(s->draw, TYPE_SMALL, q->barred[g] ? INK_ACCENT : INK_TEXT, p->x + 57.0, s->y + 2.6,
              text);
    draw_tag_end(s->draw, "TD");
    draw_tag(s->draw, "TD");
    snprintf(text, sizeof text, "%s%s", gate->source, gate->from_memory ? " (from memory)" : "");
    draw_text(s->draw, sheet_squeeze(s, TYPE_SMALL, p->width - 80.0, text), INK_SOFT, p->x + 80.0,
              s->y + 2.6, text);
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
}

static void gate_table(Page *p)
{
    Sheet *s = &p->sheet;
    draw_tag(s->draw, "Table");
    for (int g = 0; g < GATES; g++, s->y += 3.7) gate_line(p, g);
    draw_tag_end(s->draw, "Table");
    s->y += 1.0;
    sheet_say(s, TYPE_SMALL, INK_SOFT, p->x, p->width,
              "Clear widths and heights in mm; 20 mm for a hand are kept on each side. Measure the "
              "doors on the way before crates are built.");
}

/* ---- the page ---- */

static void left_column(Page *p)
{
    Sheet *s = &p->sheet;
    const double body = s->right - s->left, top = s->y;
    p->x = s->left;
    p->width = LEFT_PART * body - GUTTER;
    /* The table's height is not known before it is set; fourteen lines are the most, and one
     * each where a core is left out and where a colour is missing, two where it is told how sure
     * colours are. */
    const double more = (p->mural->saving.units ? 6.0 : 0) + (p->mural->missing ? 6.0 : 0) +
                        (p->quote.colours_within > 0 ? 10.0 : 0);
    const double table = s->bottom - 82.0 - more;
    quote_face(p, table);
    s->y = table;
    draw_tag(s->draw, "Table");
    say_size(p);
    say_price(p);
    say_days(p);
    say_together(p);
    draw_tag_end(s->draw, "Table");
    s->y = top;
}

static void right_column(Page *p)
{
    Sheet *s = &p->sheet;
    const double body = s->right - s->left;
    p->x = s->left + LEFT_PART * body;
    p->width = (1.0 - LEFT_PART) * body;
    s->y -= 2.0;
    sub(p, "Bricks by size");
    kinds_table(p, false, 5, 4);
    sub(p, "Bricks by colour");
    kinds_table(p, true, 4, 16);
    sub(p, "Crates");
    say_crates(p);
    gate_table(p);
}

static Status one_page(Page *p, const char *path, Fault *fault)
{
    Sheet *s = &p->sheet;
    Status status = draw_create(&s->draw, path, s->width, s->height, s->title, fault);
    if (status) return status;
    draw_tag(s->draw, "Document");
    status = sheet_begin(s, "Quote", false, fault);
    if (!status) {
        sheet_heading(s, "H1", TYPE_HEAD, "Quote");
        left_column(p);
        right_column(p);
    }
    draw_tag_end(s->draw, "Document");
    if (!status) status = sheet_end(s, fault);
    if (!status) status = draw_close(s->draw, fault);
    draw_free(s->draw);
    return status;
}

Status quote_page_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault)
{
    bool used[PALETTE_MOST] = {false};
    const CellBlock cells = cells_of_face(mural->grid);
    Page page = {.sheet = {.mural = mural, .voice = voice}, .mural = mural};
    Legend *key = NULL;
    Raster *raster = NULL;
    quote_reckon(&page.quote, mural);
    offer_reckon(&page.offer, mural);
    for (int i = 0; i < mural->parts->count; i++) used[mural->parts->part[i].colour] = true;
    sheet_lay_out(&page.sheet, mural, "Quote");
    Status status = legend_create(&key, mural->palette, used, fault);
    if (!status) status = sheet_face(&raster, mural, &cells, FACE_PIXELS, 1.0, fault);
    page.sheet.key = key;
    page.sheet.face = raster;
    if (!status) status = one_page(&page, path, fault);
    raster_free(raster);
    legend_free(key);
    return status;
}
