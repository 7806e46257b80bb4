/* A letter, upright: who offers what to whom, the pictures, the figures, the terms, where to sign.
 *
 * A single option has its two pictures side by side over a table of one column; several stand side
 * by side, each with its pictures one above the other, over a column of its own. Nothing is cut
 * short: what is too long for a line goes on in the next one, or is set narrower. What has no price
 * is not included, and said so; what a studio does not know of an offer stays a line to fill in.
 *
 * Places and widths are set by eye on printed pages, without another source. */
#include "book/offer_page.h"

#include "base/number_style.h"
#include "base/text.h"
#include "book/sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MARGIN 22.0
#define LABEL 34.0       /* of the table's first column */
#define GAP 6.0          /* between options, and between a pair of pictures */
#define NEAR_PART 0.36   /* of the width, where the two pictures stand side by side */
#define TALLEST 92.0     /* of the picture from afar, of one option */
#define TALL_OPTION 56.0 /* of each picture, of several */
#define CELL_PAD 1.5
#define RULE 0.12
#define THICK 0.3

#define TYPE_LEAD ((Type){WEIGHT_REGULAR, 11.0, 1.0})
#define TYPE_NAME ((Type){WEIGHT_BOLD, 24.0, 1.0})
#define TYPE_LONG_NAME ((Type){WEIGHT_BOLD, 16.0, 1.0})
#define TYPE_NOTE ((Type){WEIGHT_REGULAR, 7.5, 1.0})
#define TYPE_SUM ((Type){WEIGHT_BOLD, 12.0, 1.0})

typedef struct Page {
    Sheet sheet;
    const OfferSheet *offer;
    const NumberStyle *style;
    double column; /* width of an option's */
    bool measured; /* nothing is drawn of table and terms: only where they end is wanted */
} Page;

/* ---- words ---- */

static void whole(const Page *p, double value, char *text, size_t size)
{
    number_styled(text, size, p->style, value, 0);
}

static void money(const Page *p, double value, char *text, size_t size)
{
    money_styled(text, size, p->style, value, p->offer->job->currency);
}

static const char *many(long count, const char *one, const char *more)
{
    return count == 1 ? one : more;
}

/* The job's title, or the picture's name without its ending. */
static void title(const OfferSheet *o, char *text, size_t size)
{
    const char *dot = strrchr(o->picture, '.');
    const size_t all = strlen(o->picture);
    const size_t stem = dot && dot != o->picture ? (size_t)(dot - o->picture) : all;
    if (*o->job->title)
        snprintf(text, size, "%s", o->job->title);
    else if (!strcmp(o->picture, "-"))
        snprintf(text, size, "Mural");
    else
        text_tame(text, size, o->picture, stem);
}

/* ---- the head ---- */

/* A name under a word, or a line to write it on; returns where it ends. */
static double named(Page *p, double x, double width, const char *word, const char *name)
{
    Sheet *s = &p->sheet;
    const double base = s->y + 5.4;
    const bool fits = draw_text_width(s->draw, TYPE_LEAD, name) <= width;
    const Paragraph lines = {fits ? TYPE_LEAD : TYPE_BODY, INK_TEXT, x, base, width, false};
    double low = base;
    draw_tag(s->draw, "P");
    draw_text(s->draw, TYPE_NOTE, INK_SOFT, x, s->y, word);
    if (*name) low = sheet_paragraph(s, &lines, name) - (fits ? 5.4 : 4.4);
    draw_tag_end(s->draw, "P");
    if (*name) return low;
    draw_line(s->draw, x, base + 1.0, x + width, base + 1.0);
    draw_stroke(s->draw, INK_RULE, 0.2);
    return low;
}

static void head(Page *p)
{
    Sheet *s = &p->sheet;
    const Job *job = p->offer->job;
    const double width = s->right - s->left, third = (width - 2 * GAP) / 3;
    char name[400], valid[40];
    s->y = s->top;
    draw_tag(s->draw, "P");
    draw_text(s->draw, sheet_squeeze(s, TYPE_STRONG, width - 30, job->studio), INK_TEXT, s->left,
              s->y, job->studio);
    draw_text_right(s->draw, TYPE_STRONG, INK_ACCENT, s->right, s->y, "Offer");
    draw_tag_end(s->draw, "P");
    draw_line(s->draw, s->left, s->y + 2.4, s->right, s->y + 2.4);
    draw_stroke(s->draw, INK_TEXT, 0.3);
    s->y += 14.0;
    title(p->offer, name, sizeof name);
    draw_tag(s->draw, "H1");
    const bool fits = draw_text_width(s->draw, TYPE_NAME, name) <= width;
    const Paragraph line = {
        fits ? TYPE_NAME : TYPE_LONG_NAME, INK_TEXT, s->left, s->y, width, false};
    const double end = sheet_paragraph(s, &line, name);
    draw_tag_end(s->draw, "H1");
    s->y = fits ? s->y + 8.0 : end + 1.0;
    snprintf(valid, sizeof valid, "%d %s from this date", job->validity,
             many(job->validity, "day", "days"));
    double low = named(p, s->left, third, "For", job->client);
    low = fmax(low, named(p, s->left + third + GAP, third, "Date", job->date));
    low = fmax(low, named(p, s->left + 2 * (third + GAP), third, "Valid", valid));
    s->y = low + 6.6;
}

/* ---- the pictures ---- */

static double aspect_of(const OfferPicture *picture)
{
    return (double)picture->height / picture->width;
}

double offer_near_aspect(int options, double aspect)
{
    if (options > 1) return 0.75; /* by eye */
    /* As high as the picture beside it. */
    return fmin(2.0, fmax(0.4, aspect * (1 - NEAR_PART) / NEAR_PART));
}

/* As large as the frame allows, from its upper left corner. */
static Status picture(Page *p, const OfferPicture *picture, const Frame *frame, const char *what,
                      double *height_out, Fault *fault)
{
    Raster *raster;
    Draw *draw = p->sheet.draw;
    const double width = fmin(frame->width, frame->height / aspect_of(picture));
    const double height = width * aspect_of(picture);
    const Status status = raster_create(&raster, picture->width, picture->height, fault);
    if (status) return status;
    for (int y = 0; y < picture->height; y++)
        for (int x = 0; x < picture->width; x++)
            raster_set(raster, x, y,
                       picture->rgb + 3 * ((size_t)y * (size_t)picture->width + (size_t)x));
    draw_figure(draw, what);
    draw_raster(draw, raster, frame->x, frame->y, width, height);
    draw_rect(draw, frame->x, frame->y, width, height);
    draw_stroke(draw, INK_RULE, 0.15);
    draw_tag_end(draw, "Figure");
    raster_free(raster);
    *height_out = height;
    return STATUS_OK;
}

static void caption(Page *p, double x, double y, const char *text)
{
    draw_tag(p->sheet.draw, "P");
    draw_text(p->sheet.draw, TYPE_NOTE, INK_SOFT, x, y + 3.6, text);
    draw_tag_end(p->sheet.draw, "P");
}

static void say_distance(const Page *p, char *text, size_t size)
{
    char metres[40];
    number_styled(metres, sizeof metres, p->style, p->offer->job->distance / 1000, 1);
    snprintf(text, size, "as seen from %s m", metres);
}

/* most: of their height, mm. */
static Status pair_beside(Page *p, double most, Fault *fault)
{
    Sheet *s = &p->sheet;
    const OfferOption *option = &p->offer->option[0];
    const double width = s->right - s->left - GAP, near = NEAR_PART * width;
    const Frame left = {s->left, s->y, width - near, fmin(most, TALLEST)};
    double height, lower;
    char text[80];
    Status status =
        picture(p, &option->far, &left, "The mural as it is seen from afar.", &height, fault);
    const double shown = height / aspect_of(&option->far);
    const Frame right = {s->left + shown + GAP, s->y, s->right - s->left - shown - GAP, height};
    if (!status)
        status = picture(p, &option->near, &right, "Its middle, close by, brick by brick.", &lower,
                         fault);
    if (status) return status;
    say_distance(p, text, sizeof text);
    caption(p, left.x, s->y + height, text);
    caption(p, right.x, s->y + lower, "its middle, close by");
    s->y += fmax(height, lower) + 8.0;
    return STATUS_OK;
}

static double column_x(const Page *p, int option)
{
    return p->sheet.left + LABEL + option * (p->column + GAP);
}

static Status pictures_above(Page *p, double most, Fault *fault)
{
    Sheet *s = &p->sheet;
    const double top = s->y, each = fmin(TALL_OPTION, 0.5 * (most - 3.0));
    double lowest = 0;
    char text[80];
    Status status = STATUS_OK;
    say_distance(p, text, sizeof text);
    for (int i = 0; i < p->offer->options && !status; i++) {
        const OfferOption *option = &p->offer->option[i];
        Frame frame = {column_x(p, i), top, p->column, each};
        double height, lower;
        char what[160];
        snprintf(what, sizeof what, "Option %d as it is seen from afar.", i + 1);
        status = picture(p, &option->far, &frame, what, &height, fault);
        frame.y += height + 3.0;
        snprintf(what, sizeof what, "The middle of option %d, close by, brick by brick.", i + 1);
        if (!status) status = picture(p, &option->near, &frame, what, &lower, fault);
        if (!status) lowest = fmax(lowest, height + 3.0 + lower);
    }
    if (status) return status;
    draw_tag(s->draw, "P");
    s->y = sheet_paragraph(
        s, &(Paragraph){TYPE_NOTE, INK_SOFT, s->left, top + 3.0, LABEL - 5, false}, text);
    sheet_paragraph(s, &(Paragraph){TYPE_NOTE, INK_SOFT, s->left, s->y + 1, LABEL - 5, false},
                    "and below, its middle close by");
    draw_tag_end(s->draw, "P");
    s->y = top + lowest + 5.0;
    return STATUS_OK;
}

/* ---- the table ---- */

typedef void Say(const Page *p, const OfferOption *option, char *text, size_t size);

static void say_name(const Page *p, const OfferOption *option, char *text, size_t size)
{
    snprintf(text, size, "%d: %s", (int)(option - p->offer->option) + 1, option->name);
}

static void say_size(const Page *p, const OfferOption *option, char *text, size_t size)
{
    char a[40], b[40], c[40];
    whole(p, option->offer.width_mm, a, sizeof a);
    whole(p, option->offer.height_mm, b, sizeof b);
    whole(p, ceil(option->offer.depth_mm), c, sizeof c);
    snprintf(text, size, "%s × %s mm, %s mm deep", a, b, c);
}

static void say_bricks(const Page *p, const OfferOption *option, char *text, size_t size)
{
    char a[40];
    whole(p, (double)option->offer.bricks, a, sizeof a);
    snprintf(text, size, "%s in %d %s", a, option->offer.colours,
             many(option->offer.colours, "colour", "colours"));
}

static void say_panels(const Page *p, const OfferOption *option, char *text, size_t size)
{
    char a[40];
    const Offer *o = &option->offer;
    whole(p, ceil(o->whole_kg), a, sizeof a);
    snprintf(text, size, "%d %s, about %s kg in all", o->panels, many(o->panels, "panel", "panels"),
             a);
}

static void say_priced(const Page *p, double value, const char *without, char *text, size_t size)
{
    if (value > 0)
        money(p, value, text, size);
    else
        snprintf(text, size, "%s", without);
}

static void say_mural(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.mural, "to be agreed", text, size);
}

static void say_crates(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.crating, "not included", text, size);
}

static void say_freight(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.freight, "not included", text, size);
}

static void say_installation(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.installation, "not included", text, size);
}

static void say_net(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.mural > 0 ? option->offer.net : 0, "to be agreed", text, size);
}

static void say_tax(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.tax, p->offer->job->tax > 0 ? "to be added" : "none", text, size);
}

static void say_total(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.mural > 0 ? option->offer.total : 0, "to be agreed", text, size);
}

static void say_deposit(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.mural > 0 ? option->offer.deposit : 0, "to be agreed", text, size);
}

static void say_rest(const Page *p, const OfferOption *option, char *text, size_t size)
{
    say_priced(p, option->offer.mural > 0 ? option->offer.rest : 0, "to be agreed", text, size);
}

static void say_delivery(const Page *p, const OfferOption *option, char *text, size_t size)
{
    const int weeks = option->offer.weeks;
    if (*p->offer->job->delivery)
        snprintf(text, size, "%s", p->offer->job->delivery);
    else
        snprintf(text, size, "%d %s after the deposit", weeks, many(weeks, "week", "weeks"));
}

#define MONEY_MOST 46.0 /* where money ends, from the left of its column */

/* The cell of an option; returns where its text ends. */
static double cell(const Page *p, Type type, int option, const char *text, bool money)
{
    const Sheet *s = &p->sheet;
    const double rise = type.size * POINT_MM, x = column_x(p, option);
    if (!money) {
        const Paragraph whole_text = {type, INK_TEXT, x, s->y + rise, p->column, p->measured};
        return sheet_paragraph(s, &whole_text, text) - rise;
    }
    const double width = fmin(p->column, MONEY_MOST);
    if (!p->measured)
        draw_text_right(s->draw, sheet_squeeze(s, type, width, text), INK_TEXT, x + width,
                        s->y + rise, text);
    return s->y + 1.38 * rise;
}

static void begin(const Page *p, const char *tag)
{
    if (!p->measured) draw_tag(p->sheet.draw, tag);
}

static void end(const Page *p, const char *tag)
{
    if (!p->measured) draw_tag_end(p->sheet.draw, tag);
}

/* A row of the table, as high as its longest cell. */
typedef struct Row {
    Type type;
    const char *label;
    Say *say;
    bool money;
    double line; /* how thick the row ends */
} Row;

static void row(Page *p, const Row *r)
{
    Sheet *s = &p->sheet;
    char text[400];
    const double rise = r->type.size * POINT_MM;
    const Paragraph label = {r->type.weight == WEIGHT_BOLD ? TYPE_STRONG : TYPE_BODY,
                             INK_SOFT,
                             s->left,
                             s->y + rise,
                             LABEL - 3,
                             p->measured};
    begin(p, "TR");
    begin(p, "TH");
    double low = sheet_paragraph(s, &label, r->label) - rise;
    end(p, "TH");
    for (int i = 0; i < p->offer->options; i++) {
        r->say(p, &p->offer->option[i], text, sizeof text);
        begin(p, "TD");
        low = fmax(low, cell(p, r->type, i, text, r->money));
        end(p, "TD");
    }
    end(p, "TR");
    s->y = low + 2 * CELL_PAD - 0.6;
    if (p->measured) return;
    draw_line(s->draw, s->left, s->y - CELL_PAD, s->right, s->y - CELL_PAD);
    draw_stroke(s->draw, r->line > RULE ? INK_TEXT : INK_RULE, r->line);
}

static void share(const Page *p, const char *what, double percent, char *text, size_t size)
{
    char part[40];
    number_styled(part, sizeof part, p->style, percent, fmod(percent, 1) > 0 ? 1 : 0);
    snprintf(text, size, "%s, %s %%", what, part);
}

static void table(Page *p)
{
    const Job *job = p->offer->job;
    const Offer *first = &p->offer->option[0].offer;
    char crates[60] = "Crates", site[60] = "Installation", tax[60], deposit[60];
    if (p->offer->options == 1) { /* several may differ in these */
        snprintf(crates, sizeof crates, "%d %s", first->crates,
                 many(first->crates, "crate", "crates"));
        snprintf(site, sizeof site, "Installation, %d %s", first->site_days,
                 many(first->site_days, "day", "days"));
    }
    share(p, "Tax", job->tax, tax, sizeof tax);
    share(p, "With the order", job->deposit, deposit, sizeof deposit);
    const Row rows[] = {
        {TYPE_STRONG, "Option", say_name, false, RULE},
        {TYPE_BODY, "Size", say_size, false, RULE},
        {TYPE_BODY, "Bricks", say_bricks, false, RULE},
        {TYPE_BODY, "Delivered as", say_panels, false, RULE},
        {TYPE_BODY, "Delivery", say_delivery, false, THICK},
        {TYPE_BODY, "Mural", say_mural, true, RULE},
        {TYPE_BODY, crates, say_crates, true, RULE},
        {TYPE_BODY, "Freight", say_freight, true, RULE},
        {TYPE_BODY, site, say_installation, true, RULE},
        {TYPE_BODY, "Before tax", say_net, true, RULE},
        {TYPE_BODY, tax, say_tax, true, THICK},
        {TYPE_SUM, "Price", say_total, true, THICK},
        {TYPE_BODY, deposit, say_deposit, true, RULE},
        {TYPE_BODY, "On delivery", say_rest, true, RULE},
    };
    begin(p, "Table");
    for (size_t i = p->offer->options == 1; i < sizeof rows / sizeof *rows; i++) row(p, &rows[i]);
    end(p, "Table");
}

/* ---- terms and signatures ---- */

static void term(Page *p, Type type, Ink ink, const char *text)
{
    Sheet *s = &p->sheet;
    const double rise = type.size * POINT_MM;
    const Paragraph lines = {type, ink, s->left, s->y + rise, s->right - s->left, p->measured};
    begin(p, "P");
    s->y = sheet_paragraph(s, &lines, text) - rise;
    end(p, "P");
}

static void terms(Page *p)
{
    Sheet *s = &p->sheet;
    char text[JOB_TEXT + 40];
    s->y += 3.0;
    if (*p->offer->job->not_included) {
        snprintf(text, sizeof text, "Not included: %s.", p->offer->job->not_included);
        term(p, TYPE_BODY, INK_TEXT, text);
        s->y += 1.5;
    }
    double within = 0;
    for (int i = 0; i < p->offer->options; i++)
        within = fmax(within, p->offer->option[i].offer.colours_within);
    if (within > 0) {
        char sure[200];
        quote_colours_text(within, p->style, sure, sizeof sure);
        snprintf(text, sizeof text, "As measured, %s.", sure);
        term(p, TYPE_NOTE, INK_SOFT, text);
        s->y += 0.5;
    }
    term(p, TYPE_NOTE, INK_SOFT,
         "Colours on paper and screens come near those of the bricks; the bricks themselves "
         "count. The mass is good to a tenth. What fastens the panels to the wall is designed by a "
         "licensed person.");
}

#define SIGNED 6.0 /* mm, from the lines to sign on down to the margin */
#define ROOM 14.0  /* above them, to write in */

static void sign(Page *p)
{
    Sheet *s = &p->sheet;
    const bool several = p->offer->options > 1;
    static const char *const words[] = {"Agreed, option no.", "Place and date", "Client", "Studio"};
    const int from = several ? 0 : 1, count = 4 - from;
    const double each = (s->right - s->left - (count - 1) * GAP) / count;
    const double y = s->bottom - SIGNED;
    for (int i = 0; i < count; i++) {
        const double x = s->left + i * (each + GAP);
        draw_line(s->draw, x, y, x + each, y);
        draw_stroke(s->draw, INK_TEXT, 0.2);
        caption(p, x, y, words[from + i]);
    }
}

/* ---- the page ---- */

#define LEAST_PICTURES 30.0 /* mm: of their height, whatever follows */
#define CAPTIONS 8.0        /* below them */

/* Of table and terms, mm: the pictures have what these leave. */
static double rest_height(Page *p)
{
    const double top = p->sheet.y;
    p->measured = true;
    table(p);
    terms(p);
    const double height = p->sheet.y - top;
    p->sheet.y = top;
    p->measured = false;
    return height;
}

static Status draw_page(Page *p, Fault *fault)
{
    Sheet *s = &p->sheet;
    head(p);
    const double most =
        fmax(LEAST_PICTURES, s->bottom - SIGNED - ROOM - s->y - rest_height(p) - CAPTIONS);
    Status status =
        p->offer->options > 1 ? pictures_above(p, most, fault) : pair_beside(p, most, fault);
    if (status) return status;
    table(p);
    terms(p);
    if (s->y > s->bottom - SIGNED - 0.5 * ROOM) status = draw_page_end(s->draw, fault);
    if (status) return status;
    sign(p);
    return draw_page_end(s->draw, fault);
}

Status offer_page_write(const OfferSheet *offer, const char *path, Fault *fault)
{
    const bool letter = offer->job->paper == PAPER_LETTER;
    Page p = {.offer = offer, .style = number_style(offer->job->locale)};
    Sheet *s = &p.sheet;
    char name[400], whole_title[420];
    s->width = letter ? 215.9 : 210.0;
    s->height = letter ? 279.4 : 297.0;
    s->left = MARGIN;
    s->right = s->width - MARGIN;
    s->top = MARGIN - 2.0;
    s->bottom = s->height - MARGIN + 4.0;
    p.column = (s->right - s->left - LABEL - (offer->options - 1) * GAP) / offer->options;
    title(offer, name, sizeof name);
    snprintf(whole_title, sizeof whole_title, "Offer: %s", name);
    Status status = draw_create(&s->draw, path, s->width, s->height, whole_title, fault);
    if (status) return status;
    draw_tag(s->draw, "Document");
    status = draw_page(&p, fault);
    draw_tag_end(s->draw, "Document");
    if (!status) status = draw_close(s->draw, fault);
    draw_free(s->draw);
    return status;
}
