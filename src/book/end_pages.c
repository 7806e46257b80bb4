/* Tables to look things up in: what to order, and which colour is which. The part list is parts.csv
 * on paper, in its order; the key names for each colour those that it can be taken for, as the
 * legend found them.
 *
 * A line is never parted between two pages: its height is found before it is drawn. */
#include "book/end_pages.h"

#include "base/number_style.h"
#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LINE 5.2 /* mm of the part list */

/* ---- the part list: two columns of lines on a page ---- */

typedef struct Flow {
    double x, width, top;
} Flow;

/* Where the numbers of a line end, from the line's right. */
static const struct {
    const char *name;
    double from_right;
} numbers[] = {
    {"count", 58.0}, {"spare", 47.0}, {"order", 34.0}, {"in stock", 20.0}, {"to buy", 5.0}};
enum { NUMBERS = sizeof numbers / sizeof numbers[0] };

static void part_head(const Sheet *s, const Flow *f)
{
    const double y = f->top - 1.4;
    draw_tag(s->draw, "TR");
    sheet_column_head(s, f->x, y, "colour");
    sheet_column_head_right(s, f->x + f->width - 70.0, y, "size");
    for (int i = 0; i < NUMBERS; i++)
        sheet_column_head_right(s, f->x + f->width - numbers[i].from_right, y, numbers[i].name);
    draw_tag_end(s->draw, "TR");
}

static Status part_page(Sheet *s, Flow *f, Fault *fault)
{
    const Status status = sheet_begin(s, "Part list", false, fault);
    if (status) return status;
    if (f->top == 0.0) sheet_heading(s, "H1", TYPE_HEAD, "Part list");
    f->top = s->y + 5.0;
    f->x = s->left;
    f->width = 0.5 * (s->right - s->left + 5.0);
    draw_tag(s->draw, "Table");
    part_head(s, f);
    s->y = f->top;
    return STATUS_OK;
}

static void part_cell(const Sheet *s, Type type, double right, const char *text)
{
    draw_tag(s->draw, "TD");
    draw_text_right(s->draw, type, INK_TEXT, right, s->y + 3.4, text);
    draw_tag_end(s->draw, "TD");
}

static void part_line(const Sheet *s, const Flow *f, const Part *p)
{
    const Mural *m = s->mural;
    const long value[NUMBERS] = {p->count, p->spare, p->order, p->in_stock, p->to_buy};
    char text[160];
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    sheet_swatch(s, p->colour, f->x, s->y + 0.3, 13.0, LINE - 0.9);
    const char *colour = m->palette->colour[p->colour].name;
    draw_text(s->draw, sheet_squeeze(s, TYPE_BODY, f->width - 70.0 - 10.0 - 15.0, colour), INK_TEXT,
              f->x + 15.0, s->y + 3.4, colour);
    draw_tag_end(s->draw, "TH");
    part_cell(s, TYPE_BODY, f->x + f->width - 70.0, m->sizes->size[p->size].name);
    for (int i = 0; i < NUMBERS; i++) {
        number_text(text, sizeof text, (double)value[i], 0);
        part_cell(s, i == 0 || i == 4 ? TYPE_STRONG : TYPE_BODY,
                  f->x + f->width - numbers[i].from_right, text);
    }
    draw_tag_end(s->draw, "TR");
}

static void part_sums(Sheet *s, const Flow *f)
{
    const Parts *p = s->mural->parts;
    char a[40], b[40], c[40], text[200];
    number_text(a, sizeof a, (double)p->bricks, 0);
    number_text(b, sizeof b, (double)p->order, 0);
    money_styled(c, sizeof c, number_style(0), p->price, s->mural->job->currency);
    snprintf(text, sizeof text, "Together %s bricks; %s with spares%s%s", a, b,
             p->price > 0.0 ? ", priced " : "", p->price > 0.0 ? c : "");
    draw_tag(s->draw, "P");
    draw_text(s->draw, TYPE_STRONG, INK_TEXT, f->x, s->y + 5.0, text);
    draw_tag_end(s->draw, "P");
}

static Status part_list(Sheet *s, Fault *fault)
{
    Flow f = {0};
    Status status = part_page(s, &f, fault);
    for (int i = 0; i < s->mural->parts->count && !status; i++) {
        if (s->y + LINE > s->bottom && f.x == s->left) {
            f.x += f.width;
            s->y = f.top;
            part_head(s, &f);
        } else if (s->y + LINE > s->bottom) {
            draw_tag_end(s->draw, "Table");
            status = part_page(s, &f, fault);
            if (status) return status;
        }
        part_line(s, &f, &s->mural->parts->part[i]);
        s->y += LINE;
    }
    draw_tag_end(s->draw, "Table");
    if (!status) part_sums(s, &f);
    return status;
}

/* ---- the colour key ---- */

/* only: of these alone; NULL: of all in use. */
static void alike_text(const Sheet *s, int colour, int why, const bool *only, char *text,
                       size_t size)
{
    text[0] = '\0';
    for (int i = 0; i < s->key->count; i++) {
        if (i == colour || !(s->key->alike[colour][i] & why) || (only && !only[i])) continue;
        const size_t length = strlen(text);
        snprintf(text + length, size - length, "%s%s", length ? " " : "",
                 s->mural->palette->colour[i].id);
    }
}

#define KEY_GREY 96.0
#define KEY_VISION 184.0

static Status key_page(Sheet *s, bool first, Fault *fault)
{
    const Status status = sheet_begin(s, "Colour key", false, fault);
    if (status) return status;
    if (first) {
        sheet_heading(s, "H1", TYPE_HEAD, "Colour key");
        s->y += 1.5;
        sheet_say(
            s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left,
            "Trust the id and the symbol, not the print. Colours named as alike in grey are less "
            "than 10 L* apart; those alike to colour-blind eyes differ by less than 8 CIEDE2000 "
            "as such an eye sees them.");
        s->y += 2.0;
    }
    draw_tag(s->draw, "Table");
    draw_tag(s->draw, "TR");
    sheet_column_head(s, s->left, s->y + 3.0, "colour");
    sheet_column_head(s, s->left + KEY_GREY, s->y + 3.0, "alike in grey print");
    sheet_column_head(s, s->left + KEY_VISION, s->y + 3.0, "alike to colour-blind eyes");
    draw_tag_end(s->draw, "TR");
    s->y += 4.4;
    return STATUS_OK;
}

static Status key_line(Sheet *s, int colour, const bool *only, Fault *fault)
{
    char grey[1600], vision[1600];
    alike_text(s, colour, ALIKE_GREY, only, grey, sizeof grey);
    alike_text(s, colour, ALIKE_PROTAN | ALIKE_DEUTAN | ALIKE_TRITAN, only, vision, sizeof vision);
    const double grey_width = KEY_VISION - KEY_GREY - 5.0,
                 vision_width = s->right - s->left - KEY_VISION;
    Paragraph alike[2] = {{TYPE_BODY, INK_TEXT, s->left + KEY_GREY, 0.0, grey_width, true},
                          {TYPE_BODY, INK_TEXT, s->left + KEY_VISION, 0.0, vision_width, true}};
    const double end =
        fmax(sheet_paragraph(s, &alike[0], grey), sheet_paragraph(s, &alike[1], vision));
    const double need = fmax(6.4, end + 2.0);
    if (s->y + need > s->bottom) {
        draw_tag_end(s->draw, "Table");
        const Status status = key_page(s, false, fault);
        if (status) return status;
    }
    const double base = s->y + 4.1;
    for (int i = 0; i < 2; i++) alike[i].y = base, alike[i].measured = false;
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    sheet_swatch(s, colour, s->left, s->y + 0.4, 18.0, 5.4);
    const char *name = s->mural->palette->colour[colour].name;
    draw_text(s->draw, sheet_squeeze(s, TYPE_BODY, KEY_GREY - 21.0 - 3.0, name), INK_TEXT,
              s->left + 21.0, base, name);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    sheet_paragraph(s, &alike[0], grey);
    draw_tag_end(s->draw, "TD");
    draw_tag(s->draw, "TD");
    sheet_paragraph(s, &alike[1], vision);
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
    s->y += need;
    return STATUS_OK;
}

Status key_pages(Sheet *s, const bool *only, Fault *fault)
{
    Status status = key_page(s, true, fault);
    for (int i = 0; i < s->key->count && !status; i++)
        if (s->key->colour[i].used && (!only || only[i])) status = key_line(s, i, only, fault);
    draw_tag_end(s->draw, "Table");
    return status;
}

Status end_pages(Sheet *s, Fault *fault)
{
    draw_bookmark(s->draw, 0, s->page + 1, "Part list");
    Status status = part_list(s, fault);
    if (!status) draw_bookmark(s->draw, 0, s->page + 1, "Colour key");
    if (!status) status = key_pages(s, NULL, fault);
    return status;
}
