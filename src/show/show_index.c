/* Elevations are one SVG drawing a line, in true millimetres with y turned over, so that all
 * murals are to one scale whatever the window's width. Whatever comes from the user's file is
 * marked before it is written.
 *
 * Source: HTML Living Standard; SVG 2; the page is held to WCAG 2.1 by a test. */
#include "show/show_index.h"

#include "base/output_file.h"
#include "base/text.h"
#include "show/wall_view.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* mm of wall across the page: at most, or what the widest mural takes; and at least, so that a few
 * small murals are not drawn as large as a page. By eye. */
#define ACROSS_MM 9000.0
#define ACROSS_LEAST_MM 6000.0

/* A letter under the walls, of which the style sets the height: half of that is about the mean;
 * wide ones have the gap between murals for room. By eye. */
#define LETTER_WIDTH_MM 55.0

static const char style[] =
    ":root{--paper:#f3f1ea;--card:#fbfaf6;--ink:#1c1d20;--soft:#46474b;--rule:#b9b5a8;"
    "--accent:#8f2a12}"
    "@media(prefers-color-scheme:dark){:root{--paper:#16191c;--card:#1f2327;--ink:#ece9e1;"
    "--soft:#b3b2ac;--rule:#454a4e;--accent:#f59a78}}"
    "*{box-sizing:border-box}"
    "body{margin:0;background:var(--paper);color:var(--ink);font:100%/1.45 'DejaVu Sans Condensed',"
    "'Roboto Condensed','Arial Narrow','Helvetica Neue',Arial,sans-serif}"
    "header,main{max-width:76rem;margin:0 auto;padding:1rem 1.2rem}"
    "h1{font-size:2.2rem;line-height:1.1;margin:.6rem 0 .3rem}"
    "h2{font-size:1.35rem;margin:2rem 0 .6rem;border-top:2px solid var(--ink);padding-top:.5rem}"
    "time{white-space:nowrap}p{margin:.3rem 0}.soft{color:var(--soft)}a{color:var(--accent)}"
    "a:focus-visible,.scroll:focus-visible{outline:3px solid var(--accent);outline-offset:2px}"
    "svg.wall{display:block;width:100%;min-width:46rem;height:auto;margin:.8rem 0 2.6rem}"
    "svg .floor{stroke:var(--ink);stroke-width:14}"
    "svg .eye{stroke:var(--rule);stroke-width:8;stroke-dasharray:60 50}"
    "svg .edge{fill:none;stroke:var(--ink);stroke-width:8}"
    "svg text{fill:var(--ink);font-size:105px;text-anchor:middle}"
    "svg text.room{fill:var(--accent);text-anchor:start;font-weight:bold}"
    ".scroll{overflow-x:auto}"
    "table{border-collapse:collapse;width:100%;background:var(--card)}"
    "caption{text-align:left;color:var(--soft);padding:.2rem 0}"
    "th,td{padding:.35rem .6rem;border-bottom:1px solid var(--rule);text-align:left;"
    "vertical-align:top;white-space:nowrap}td.long{white-space:normal;min-width:18rem}"
    "th[scope=row],td.words{white-space:normal;min-width:7rem}.n{text-align:right;white-space:"
    "nowrap;"
    "font-variant-numeric:tabular-nums}"
    ".chip{display:inline-block;width:1.6rem;height:1rem;border:1px solid var(--ink);"
    "vertical-align:-.15rem;margin-right:.5rem}"
    "ul{padding-left:1.2rem}"
    "@media print{body{background:#fff;color:#000}h2{break-after:avoid}tr,svg{break-inside:avoid}}";

typedef struct Page {
    const ShowFacts *facts;
    FILE *file;
} Page;

/* Text of the user's. */
static void put_text(const Page *p, const char *text)
{
    for (; *text; text++) {
        if (*text == '&')
            fputs("&amp;", p->file);
        else if (*text == '<')
            fputs("&lt;", p->file);
        else if (*text == '>')
            fputs("&gt;", p->file);
        else if (*text == '"')
            fputs("&quot;", p->file);
        else
            putc(*text, p->file);
    }
}

static void put_number(const Page *p, const char *class, double value, int decimals)
{
    char text[40];
    number_text(text, sizeof text, value, decimals);
    fprintf(p->file, "<td class=\"%s\">%s</td>", class, text);
}

/* The second without its year where that is the first's. */
static void put_days(const Page *p, Stretch when)
{
    enum { YEAR = 5 }; /* with its dash */
    char first[DAY_TEXT] = "", last[DAY_TEXT] = "";
    day_print(when.first, first);
    day_print(when.last, last);
    fprintf(p->file, "<td><time>%s</time>", first);
    if (when.first != when.last)
        fprintf(p->file, " to <time datetime=\"%s\">%s</time>", last,
                strncmp(first, last, YEAR) ? last : last + YEAR);
    fputs("</td>", p->file);
}

/* ---- the walls ---- */

/* As much of the text as has room, in whole characters, and all of it to those who point at it. */
static void put_caption(const Page *p, const char *text, double room_mm)
{
    char cut[SHOW_TEXT + 4];
    size_t length = 0;
    for (int left = (int)(room_mm / LETTER_WIDTH_MM); text[length] && left > 0; left--) {
        length++;
        while (((unsigned char)text[length] & 0xc0) == 0x80) length++;
    }
    if (text[length]) {
        fputs("<title>", p->file);
        put_text(p, text);
        fputs("</title>", p->file);
    }
    snprintf(cut, sizeof cut, "%.*s%s", (int)length, text, text[length] ? "…" : "");
    put_text(p, cut);
}

static void put_place(const Page *p, const WallPlace *at, double floor)
{
    const Planned *m = &p->facts->planned[at->mural];
    const double top = floor - at->bottom_mm - m->height_mm;
    fprintf(p->file, "<a href=\"%s/\">", m->mural->name);
    fprintf(p->file,
            "<image href=\"%s/preview.png\" x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\" "
            "preserveAspectRatio=\"none\"/>",
            m->mural->name, at->left_mm, top, m->width_mm, m->height_mm);
    fprintf(p->file,
            "<rect class=\"edge\" x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\"/>"
            "<text x=\"%.0f\" y=\"%.0f\">",
            at->left_mm, top, m->width_mm, m->height_mm, at->left_mm + m->width_mm / 2,
            floor + 150);
    put_caption(p, show_mural_title(m->mural), m->width_mm + WALL_GAP_MM);
    fputs("</text></a>\n", p->file);
}

static void put_floor(const Page *p, const WallPlace *from, const WallPlace *end, double floor)
{
    const WallPlace *last = from;
    while (last + 1 < end && !last[1].opens) last++;
    const double left = from->left_mm - WALL_GAP_MM / 2,
                 right = last->left_mm + p->facts->planned[last->mural].width_mm + WALL_GAP_MM / 2;
    fprintf(p->file,
            "<path class=\"eye\" d=\"M%.0f %.0fH%.0f\"/><path class=\"floor\" d=\"M%.0f "
            "%.0fH%.0f\"/>",
            left, floor - EYE_LINE_MM, right, left, floor, right);
    const char *room = p->facts->show->mural[from->mural].room;
    if (!*room) return;
    fprintf(p->file, "<text class=\"room\" x=\"%.0f\" y=\"%.0f\">", left, floor + 300);
    put_text(p, room);
    fputs("</text>\n", p->file);
}

static void put_walls(const Page *p)
{
    static WallView view;
    double across = ACROSS_LEAST_MM;
    wall_view_lay_out(&view, p->facts->show, p->facts->planned, ACROSS_MM);
    for (int i = 0; i < view.lines; i++) across = fmax(across, view.line[i].width_mm);
    fputs("<h2>On the walls</h2>\n<p class=\"soft\">All to one scale, room by room, in each in the "
          "order of hanging. The dashed line is the eye line, 1.55 m above the floor: common "
          "practice in museums, no source.</p>\n",
          p->file);
    fputs("<section class=\"scroll\" aria-label=\"Walls\" tabindex=\"0\">\n", p->file);
    for (int i = 0; i < view.lines; i++) {
        const WallLine *line = &view.line[i];
        const WallPlace *end = &view.place[line->first + line->places];
        fprintf(p->file,
                "<svg class=\"wall\" viewBox=\"%.0f 0 %.0f %.0f\" role=\"group\" "
                "aria-label=\"Walls, part %d of %d\">\n",
                -WALL_GAP_MM / 2, across + WALL_GAP_MM, line->height_mm + 360, i + 1, view.lines);
        for (const WallPlace *at = &view.place[line->first]; at < end; at++) {
            if (at->opens) put_floor(p, at, end, line->height_mm);
            put_place(p, at, line->height_mm);
        }
        fputs("</svg>\n", p->file);
    }
    fputs("</section>\n", p->file);
}

/* ---- tables ---- */

static void open_table(const Page *p, const char *caption, const char *heads)
{
    fprintf(p->file,
            "<section class=\"scroll\" aria-label=\"%s\" tabindex=\"0\"><table>"
            "<caption>%s</caption><thead><tr>%s</tr></thead><tbody>\n",
            caption, caption, heads);
}

static void close_table(const Page *p) { fputs("</tbody></table></section>\n", p->file); }

static void put_link(const Page *p, const Planned *m, const char *file, const char *what)
{
    char path[FOLDER_PATH];
    if (!folder_join(path, m->folder, file) || access(path, R_OK)) return;
    fprintf(p->file, "<a href=\"%s/%s\" aria-label=\"%s of %s\">%s</a> ", m->mural->name, file,
            what, m->mural->name, what);
}

static void put_murals(const Page *p)
{
    const ShowFacts *f = p->facts;
    fputs("<h2>Murals</h2>\n", p->file);
    char heads[600];
    snprintf(heads, sizeof heads,
             "<th scope=\"col\">mural</th><th scope=\"col\">files</th><th "
             "scope=\"col\">room</th><th scope=\"col\" "
             "class=\"n\">cm</th><th scope=\"col\" class=\"n\">panels</th><th scope=\"col\" "
             "class=\"n\">bricks</th><th scope=\"col\" class=\"n\">kg</th><th scope=\"col\" "
             "class=\"n\">hours</th>%s",
             f->show->dated ? "<th scope=\"col\">built</th><th scope=\"col\">hung</th>" : "");
    open_table(p, "What each takes", heads);
    for (int i = 0; i < f->show->count; i++) {
        const Planned *m = &f->planned[i];
        fputs("<tr><th scope=\"row\">", p->file);
        put_text(p, show_mural_title(m->mural));
        fputs("</th><td>", p->file);
        put_link(p, m, "book.html", "bench");
        put_link(p, m, "book.pdf", "book");
        put_link(p, m, "offer.pdf", "offer");
        put_link(p, m, "preview.png", "face");
        fputs("</td><td class=\"words\">", p->file);
        put_text(p, m->mural->room);
        fprintf(p->file, "</td><td class=\"n\">%.1f × %.1f</td>", m->width_mm / 10,
                m->height_mm / 10);
        put_number(p, "n", m->panels, 0);
        put_number(p, "n", (double)m->bricks, 0);
        put_number(p, "n", m->whole_kg, 1);
        put_number(p, "n", m->hours, 1);
        if (f->show->dated) put_days(p, f->calendar->mural[i].building);
        if (f->show->dated) put_days(p, f->calendar->mural[i].hanging);
        fputs("</tr>\n", p->file);
    }
    close_table(p);
}

static void put_colours(const Page *p)
{
    const ShowOrder *o = p->facts->order;
    fputs("<h2>Colours of all murals</h2>\n", p->file);
    open_table(p, "Bricks in each colour",
               "<th scope=\"col\">colour</th><th scope=\"col\" class=\"n\">bricks</th><th "
               "scope=\"col\" class=\"n\">to buy</th>");
    for (int i = 0; i < o->whole.count;) {
        const Colour *c = &o->studio->palette.colour[o->whole.part[i].colour];
        const int colour = o->whole.part[i].colour;
        long bricks = 0, bought = 0;
        for (; i < o->whole.count && o->whole.part[i].colour == colour; i++) {
            bricks += o->whole.part[i].count;
            bought += o->whole.part[i].bought;
        }
        fprintf(p->file,
                "<tr><th scope=\"row\"><svg class=\"chip\" viewBox=\"0 0 8 5\" "
                "preserveAspectRatio=\"none\" aria-hidden=\"true\"><rect "
                "width=\"8\" height=\"5\" fill=\"#%02x%02x%02x\"/></svg>",
                c->srgb[0], c->srgb[1], c->srgb[2]);
        put_text(p, c->id);
        fputs(" ", p->file);
        put_text(p, c->name);
        fputs("</th>", p->file);
        put_number(p, "n", (double)bricks, 0);
        put_number(p, "n", (double)bought, 0);
        fputs("</tr>\n", p->file);
    }
    close_table(p);
}

static void put_crates(const Page *p)
{
    const ShowCrates *c = p->facts->crates;
    fputs("<h2>Crates</h2>\n", p->file);
    open_table(
        p, "In the order of opening; loaded the other way round",
        "<th scope=\"col\">crate</th><th scope=\"col\">vehicle / load</th><th "
        "scope=\"col\">content</th><th scope=\"col\" class=\"n\">cm outside</th><th "
        "scope=\"col\" class=\"n\">net kg</th><th scope=\"col\" class=\"n\">gross kg</th><th "
        "scope=\"col\" class=\"n\">value</th>");
    for (int i = 0; i < c->crates; i++) {
        const ShowCrate *crate = &c->crate[i];
        char content[4000], place[PLACE_TEXT];
        show_crates_content(c, i, content, sizeof content);
        show_loading_place(&c->loading, crate, place);
        fprintf(p->file, "<tr><th scope=\"row\">%d</th><td>%s</td><td class=\"long\">", i + 1,
                place);
        put_text(p, content);
        fprintf(p->file, "</td><td class=\"n\">%.0f × %.0f × %.0f</td>", crate->width_mm / 10,
                crate->height_mm / 10, crate->depth_mm / 10);
        put_number(p, "n", crate->net_kg, 1);
        put_number(p, "n", crate->gross_kg, 1);
        put_number(p, "n", crate->value, 2);
        fputs("</tr>\n", p->file);
    }
    close_table(p);
}

/* ---- what they come to ---- */

static void put_order(const Page *p)
{
    const ShowFacts *f = p->facts;
    char bricks[40], outlay[40], apart[40];
    number_text(bricks, sizeof bricks, (double)f->order->whole.bought, 0);
    number_text(outlay, sizeof outlay, f->order->whole.outlay, 2);
    number_text(apart, sizeof apart, f->order->apart_outlay, 2);
    if (!(f->order->whole.outlay > 0)) {
        fprintf(p->file, "<li>Order: %s bricks; no prices are given.</li>\n", bricks);
        return;
    }
    fprintf(p->file, "<li>Order: %s bricks for %s ", bricks, outlay);
    put_text(p, f->show->shared.currency);
    fprintf(p->file, "; mural by mural they would cost %s.</li>\n", apart);
    for (int supplier = 0; supplier <= NO_SUPPLIER; supplier++) {
        char text[200];
        if (!show_order_supplied(f->order, supplier, f->show->shared.currency, text, sizeof text))
            continue;
        fputs("<li>Of these ", p->file);
        put_text(p, text);
        fputs(".</li>\n", p->file);
    }
}

static void put_dates(const Page *p)
{
    const Calendar *c = p->facts->calendar;
    char day[4][DAY_TEXT];
    if (!p->facts->show->dated) return;
    day_print(c->ordered[0], day[0]);
    day_print(c->mural[c->critical].building.last, day[1]);
    day_print(c->packing.first, day[2]);
    day_print(c->hanging.last, day[3]);
    fprintf(p->file, "<li>First order on <time>%s</time>; all built by <time>%s</time>, <em>",
            day[0], day[1]);
    put_text(p, show_mural_title(&p->facts->show->mural[c->critical]));
    fprintf(p->file,
            "</em> last; packing from <time>%s</time>; all hung by <time>%s</time>.</li>\n", day[2],
            day[3]);
}

static void put_journey(const Page *p)
{
    const ShowCrates *c = p->facts->crates;
    char text[400];
    show_loading_sum(&c->loading, text, sizeof text);
    fprintf(p->file,
            "<li>Journey: %d crate%s of %.2f m³, %.0f kg, %s. No such packing takes less than %.2f "
            "m³.</li>\n",
            c->crates, c->crates == 1 ? "" : "s", c->volume_m3, c->gross_kg, text, c->bound_m3);
    if (!c->loading.too_large) return;
    show_loading_mend(&c->loading, c->crate, c->crates, text, sizeof text);
    fprintf(p->file, "<li>%d of them go into none: %s.</li>\n", c->loading.too_large, text);
}

static void put_totals(const Page *p)
{
    const ShowFacts *f = p->facts;
    double kg;
    char number[40];
    const long bricks = planned_sum(f->planned, f->show->count, &kg);
    number_text(number, sizeof number, (double)bricks, 0);
    fprintf(p->file, "<ul><li>%d murals of %s bricks, %.0f kg as they hang.</li>\n", f->show->count,
            number, kg);
    put_order(p);
    put_journey(p);
    put_dates(p);
    fputs("</ul>\n<p>Files: <a href=\"show.pdf\">show.pdf</a>, <a "
          "href=\"parts.csv\">parts.csv</a>, <a href=\"order.csv\">order.csv</a>, <a "
          "href=\"left.csv\">left.csv</a>, <a href=\"crates.csv\">crates.csv</a>",
          p->file);
    if (f->show->dated) fputs(", <a href=\"calendar.ics\">calendar.ics</a>", p->file);
    fputs(", <a href=\"show.json\">show.json</a></p>\n", p->file);
}

Status show_index_write(const ShowFacts *facts, const char *path, const Voice *voice, Fault *fault)
{
    (void)voice;
    Page p = {facts, NULL};
    const char *name = show_title(facts->show);
    const Status status = output_file_open(&p.file, path, fault);
    if (status) return status;
    fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>", p.file);
    put_text(&p, name);
    fprintf(p.file,
            "</title>\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
            "<meta name=\"color-scheme\" content=\"light dark\">\n"
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
            "'unsafe-inline'; img-src 'self' file:\">\n<style>%s</style>\n</head>\n<body>\n"
            "<header>\n<h1>",
            style);
    put_text(&p, name);
    fputs("</h1>\n</header>\n<main>\n", p.file);
    put_totals(&p);
    put_walls(&p);
    put_murals(&p);
    put_colours(&p);
    put_crates(&p);
    fputs("</main>\n</body>\n</html>\n", p.file);
    return output_file_close(p.file, path, fault);
}
