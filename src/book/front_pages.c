/* What is read once before the work: the cover with the face and what it takes, how to read a chart
 * by the example of this mural's first row, the map of panels with their order of hanging, and the
 * table of panels.
 *
 * The worked example is the mural's own, so no sentence can be untrue of the charts that follow.
 * Cautions stand on the cover where they fit below the picture, else on a page of their own. */
#include "book/front_pages.h"

#include "base/memory.h"
#include "base/number_style.h"
#include "base/output_list.h"
#include "base/text.h"
#include "book/chart.h"
#include "book/chart_sheet.h"
#include "book/row_list.h"
#include "figures/cautions.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define PICTURE_PART 0.60 /* of the cover's width */

/* ---- the cover ---- */

/* A dimension line as masons draw it: a thin line, strokes at its ends, the size on it. */
static void dimension(const Sheet *s, double x0, double y0, double x1, double y1, const char *text)
{
    const Type type = {WEIGHT_REGULAR, 8.0, 1.0};
    draw_line(s->draw, x0, y0, x1, y1);
    draw_line(s->draw, x0 - 1.0, y0 + 1.0, x0 + 1.0, y0 - 1.0);
    draw_line(s->draw, x1 - 1.0, y1 + 1.0, x1 + 1.0, y1 - 1.0);
    draw_stroke(s->draw, INK_SOFT, 0.18);
    const double x = 0.5 * (x0 + x1), y = 0.5 * (y0 + y1);
    const double width = draw_text_width(s->draw, type, text) + 3.0;
    if (y0 == y1) {
        draw_rect(s->draw, x - 0.5 * width, y - 2.0, width, 4.0);
        draw_fill(s->draw, INK_WHITE);
        draw_text_centre(s->draw, type, INK_TEXT, x, y + 1.0, text);
    } else {
        draw_rect(s->draw, x - 1.0, y - 2.5, 2.0, 5.0);
        draw_fill(s->draw, INK_WHITE);
        draw_text(s->draw, type, INK_TEXT, x - 0.8, y + 1.0, text);
    }
}

static void draw_face(const Sheet *s, double x, double y, double width, double height)
{
    const Mural *m = s->mural;
    char text[200], a[32], b[32];
    number_text(a, sizeof a, mural_width_mm(m), 0);
    number_text(b, sizeof b, mural_height_mm(m), 0);
    snprintf(text, sizeof text,
             "The mural as it will look from the front, %s mm wide and %s mm high.", a, b);
    const Map map = sheet_map(s, x, y, width - 20.0, height - 9.0);
    draw_figure(s->draw, text);
    draw_raster(s->draw, s->face, map.x, map.y, map.width, map.height);
    draw_rect(s->draw, map.x, map.y, map.width, map.height);
    draw_stroke(s->draw, INK_TEXT, 0.18);
    snprintf(text, sizeof text, "%s mm", a);
    dimension(s, map.x, map.y + map.height + 5.0, map.x + map.width, map.y + map.height + 5.0,
              text);
    snprintf(text, sizeof text, "%s mm", b);
    dimension(s, map.x + map.width + 5.0, map.y + map.height, map.x + map.width + 5.0, map.y, text);
    draw_tag_end(s->draw, "Figure");
}

/* The table of the cover: a name and a value a line. */
typedef struct CoverTable {
    Sheet *sheet;
    double x, width;
} CoverTable;

static void cover_line(const CoverTable *q, const char *name, const char *value)
{
    Sheet *s = q->sheet;
    const double lead = 27.0;
    draw_tag(s->draw, "TR");
    draw_tag(s->draw, "TH");
    draw_text(s->draw, TYPE_BODY, INK_SOFT, q->x, s->y + 3.2, name);
    draw_tag_end(s->draw, "TH");
    draw_tag(s->draw, "TD");
    s->y =
        sheet_paragraph(
            s, &(Paragraph){TYPE_BODY, INK_TEXT, q->x + lead, s->y + 3.2, q->width - lead, false},
            value) -
        3.2;
    draw_tag_end(s->draw, "TD");
    draw_tag_end(s->draw, "TR");
    draw_line(s->draw, q->x, s->y + 0.9, q->x + q->width, s->y + 0.9);
    draw_stroke(s->draw, INK_RULE, 0.12);
    s->y += 1.7;
}

static void cover_size(const CoverTable *q)
{
    const Mural *m = q->sheet->mural;
    char text[200], a[32], b[32], c[32];
    number_text(a, sizeof a, mural_width_mm(m), 0);
    number_text(b, sizeof b, mural_height_mm(m), 0);
    number_text(c, sizeof c, solid_depth(&m->solid) * m->step_mm, 1);
    snprintf(text, sizeof text, "%s × %s mm, %s mm deep", a, b, c);
    cover_line(q, "True size", text);
    number_text(a, sizeof a, m->cell_width_mm, 2);
    number_text(b, sizeof b, m->cell_height_mm, 2);
    snprintf(text, sizeof text, "%d columns × %d rows of cells, %s × %s mm each", m->grid->columns,
             m->grid->rows, a, b);
    cover_line(q, "Cells", text);
    cover_line(q, "Build",
               m->solid.build == BUILD_WALL
                   ? "wall: bricks in courses, their sides toward the viewer"
                   : "plaque: bricks on base sheets, knobs toward the viewer");
    snprintf(text, sizeof text,
             m->panels->band ? "%d, up to %d across and %d up" : "%d, %d across and %d up",
             m->panels->count, m->panels->across, m->panels->up);
    cover_line(q, "Panels", text);
}

/* Where a core is left out: what that saves. */
static void cover_core(const CoverTable *q)
{
    const Saving *saving = &q->sheet->mural->saving;
    char text[200];
    if (!saving->units) return;
    saving_text(saving, text, sizeof text);
    cover_line(q, "Core", text);
}

static int colours_used(const Sheet *s)
{
    int used = 0;
    for (int i = 0; i < s->key->count; i++) used += s->key->colour[i].used;
    return used;
}

static void cover_cost(const CoverTable *q)
{
    const Mural *m = q->sheet->mural;
    char text[200], a[40], b[40], c[40];
    number_text(a, sizeof a, (double)m->laid->count, 0);
    number_text(b, sizeof b, (double)m->parts->order, 0);
    number_text(c, sizeof c, (double)m->parts->built, 0);
    if (m->parts->built)
        snprintf(text, sizeof text, "%s, of which %s stand; %s to come, with spares", a, c, b);
    else
        snprintf(text, sizeof text, "%s, and %s with spares", a, b);
    cover_line(q, "Bricks", text);
    snprintf(text, sizeof text, "%d of the palette's %d", colours_used(q->sheet),
             m->palette->count);
    cover_line(q, "Colours", text);
    number_text(a, sizeof a, m->measures.whole_kg, 1);
    number_text(b, sizeof b, m->measures.mass_kg, 1);
    snprintf(text, sizeof text, "%s kg ±10 %% as it hangs; its bricks %s kg", a, b);
    cover_line(q, "Mass", text);
    money_styled(a, sizeof a, number_style(0), m->measures.price, m->job->currency);
    snprintf(text, sizeof text, "%s for the bricks with spares%s", a,
             *m->job->currency ? "" : ", in the currency of the brick set");
    cover_line(q, "Price", m->sizes->priced || m->parts->price > 0.0 ? text : "no prices given");
    number_text(a, sizeof a, m->measures.hours, 1);
    number_text(b, sizeof b, m->job->pace, 0);
    snprintf(text, sizeof text, "%s hours at %s bricks an hour", a, b);
    cover_line(q, "Work", text);
}

static void cover_look(const CoverTable *q)
{
    const Mural *m = q->sheet->mural;
    char text[240], a[32], b[32], c[32];
    number_text(a, sizeof a, m->measures.mean_de00, 1);
    number_text(b, sizeof b, m->measures.p95_de00, 1);
    number_text(c, sizeof c, m->measures.max_de00, 1);
    snprintf(
        text, sizeof text,
        "cells differ from the picture by %s on average, 95 %% of them by less than %s, the worst "
        "by %s (CIEDE2000)",
        a, b, c);
    cover_line(q, "Colour", text);
    if (m->job->distance > 0.0) {
        number_text(a, sizeof a, m->job->distance / 1000.0, 1);
        number_text(b, sizeof b, m->measures.perceived.mean, 1);
        snprintf(text, sizeof text, "seen from %s m, where the cells blend, %s on average", a, b);
        cover_line(q, "From afar", text);
    }
}

/* The cautions in two columns; returns the lower end. */
static double set_cautions(Sheet *s, double y, double width, bool draw)
{
    const Type type = {WEIGHT_REGULAR, 7.5, 1.0};
    const double gutter = 8.0, column = 0.5 * (width - gutter);
    double end[2] = {y, y};
    for (int i = 0; i < s->mural->cautions; i++) {
        const int side = end[1] < end[0];
        if (draw) draw_tag(s->draw, "P");
        const Paragraph caution = {type,      INK_TEXT, s->left + side * (column + gutter),
                                   end[side], column,   !draw};
        end[side] = sheet_paragraph(s, &caution, s->mural->caution[i]) + 0.9;
        if (draw) draw_tag_end(s->draw, "P");
    }
    return fmax(end[0], end[1]) - 3.0;
}

static void cover_head(Sheet *s)
{
    draw_rect(s->draw, s->left, 14.0, 9.0, 3.0);
    draw_rect(s->draw, s->left + 9.8, 14.0, 4.2, 3.0);
    draw_rect(s->draw, s->left + 14.8, 14.0, 9.0, 3.0);
    draw_fill(s->draw, INK_ACCENT);
    s->y = 19.0;
    sheet_heading(s, "H1", TYPE_TITLE, "Build book");
    const char *name = mural_title(s->mural);
    const double x = s->left + draw_text_width(s->draw, TYPE_TITLE, "Build book") + 6.0;
    const Type type = sheet_squeeze(s, (Type){WEIGHT_REGULAR, 13.0, 1.0}, s->right - x, name);
    draw_text(s->draw, type, INK_SOFT, x, s->y - 4.6, name);
    s->y += 2.0;
}

static Status cover_page(Sheet *s, Fault *fault)
{
    Status status = sheet_begin(s, "", true, fault);
    if (status) return status;
    const double width = s->right - s->left;
    cover_head(s);
    const double top = s->y;
    const CoverTable q = {s, s->left + PICTURE_PART * width, (1.0 - PICTURE_PART) * width};
    draw_tag(s->draw, "Table");
    cover_size(&q);
    cover_core(&q);
    cover_cost(&q);
    cover_look(&q);
    draw_tag_end(s->draw, "Table");
    const double tall = set_cautions(s, 0.0, width, false);
    const bool here = s->mural->cautions && s->y + tall + 14.0 < s->height - 8.0;
    const double low = here ? fmax(s->y + 3.0, s->height - 8.0 - tall - 8.0) : s->bottom;
    draw_face(s, s->left, top, PICTURE_PART * width, low - top - 2.0);
    s->y = low;
    if (here) {
        sheet_heading(s, "H2", TYPE_SUB, "Cautions");
        set_cautions(s, s->y + 2.6, width, true);
        return STATUS_OK;
    }
    if (!s->mural->cautions) return STATUS_OK;
    status = sheet_begin(s, "Cautions", false, fault);
    if (status) return status;
    sheet_heading(s, "H1", TYPE_HEAD, "Cautions");
    set_cautions(s, s->y + 4.0, width, true);
    return STATUS_OK;
}

/* ---- how to read a chart ---- */

#define SIGN 38.0 /* room for what is explained */

static void explain(Sheet *s, const char *sign, const char *meaning)
{
    draw_tag(s->draw, "P");
    draw_text(s->draw, TYPE_STRONG, INK_TEXT, s->left, s->y + 3.2, sign);
    s->y = sheet_paragraph(s,
                           &(Paragraph){TYPE_BODY, INK_TEXT, s->left + SIGN, s->y + 3.2,
                                        s->right - s->left - SIGN, false},
                           meaning) -
           2.2;
    draw_tag_end(s->draw, "P");
}

static void explain_run(Sheet *s, const Runs *runs, size_t i)
{
    const Mural *m = s->mural;
    const Run *run = &runs->run[i];
    const int column = runs->plane->panel->column + run->u + 1;
    char head[40], tail[32], sign[96], meaning[400];
    run_text(m, run, head, sizeof head, tail, sizeof tail);
    snprintf(sign, sizeof sign, "%d: %s%s%s", column, head, head[0] ? " " : "", tail);
    if (run->kind == RUN_BRICKS)
        snprintf(
            meaning, sizeof meaning,
            "from column %d on: %d %s of colour %s (%s), size %s%s; %d %s of this row", column,
            run->count, run->count == 1 ? "brick" : "bricks", m->palette->colour[run->colour].id,
            m->palette->colour[run->colour].name, m->sizes->size[run->size].name,
            run->upright ? (chart_is_wall(m) ? ", across the wall" : ", standing upright") : "",
            run->cells, run->cells == 1 ? "cell" : "cells");
    else
        snprintf(meaning, sizeof meaning, "from column %d on: %d %s that %s", column, run->cells,
                 run->cells == 1 ? "cell" : "cells",
                 run->kind == RUN_LAID ? "bricks of an earlier row fill already"
                                       : "stay empty in this layer");
    explain(s, sign, meaning);
}

static Status worked_row(Sheet *s, Fault *fault)
{
    const Mural *m = s->mural;
    const int layer = chart_is_wall(m) ? m->panels->panel[0].row : 0;
    const Plane plane = chart_plane(m, 0, layer);
    Runs runs;
    Status status = runs_init(&runs, &plane, fault);
    if (!status) status = runs_next(&runs, fault);
    if (status) {
        runs_clear(&runs);
        return status;
    }
    char text[200];
    row_label(m, m->panels->panel[0].row, 0, text, sizeof text);
    RowList list = {s, "How to read a chart", false};
    status = row_list_add(&list, &runs, text, fault);
    row_list_end(&list);
    s->y += 3.0;
    for (size_t i = 0; i < runs.count && i < 3 && !status; i++) explain_run(s, &runs, i);
    snprintf(
        text, sizeof text,
        "the row's sum: the panel is %d cells wide. If your own sum differs, a brick is missing or "
        "wrong",
        plane.us);
    char sign[32];
    snprintf(sign, sizeof sign, "%d cells", runs.cells);
    if (!status) explain(s, sign, text);
    runs_clear(&runs);
    return status;
}

static Status worked_chart(Sheet *s, Fault *fault)
{
    const Mural *m = s->mural;
    const Panel *p = &m->panels->panel[0];
    const int layer = chart_is_wall(m) ? p->row : 0;
    const Plane plane = chart_plane(m, 0, layer);
    const int columns = p->columns < 22 ? p->columns : 22;
    const int rows = plane.vs < 3 ? plane.vs : 3;
    Boxes boxes = {0};
    Status status = chart_plane_boxes(&boxes, &plane, (Window){0, 0, columns, rows}, fault);
    ChartLook look = {.x = s->left + CHART_SIDE,
                      .y = s->y + CHART_EDGE,
                      .width = 9.0,
                      .height =
                          9.0 * (chart_is_wall(m) ? 1.0 : m->cell_height_mm / m->cell_width_mm),
                      .window = {0, 0, columns, rows},
                      .column = p->column,
                      .row = chart_is_wall(m) ? 0 : p->row,
                      .downward = chart_is_wall(m),
                      .tone = {.spared = 1.0 - CHART_STRONGEST}, /* as on small charts */
                      .panel = -1,
                      .layer = layer};
    draw_figure(s->draw, "A piece of the first chart, as an example.");
    if (!status) status = chart_draw(s, &look, &boxes, fault);
    draw_tag_end(s->draw, "Figure");
    s->y += 2.0 * CHART_EDGE + rows * look.height + 4.0;
    boxes_clear(&boxes);
    return status;
}

static Status list_to_read(Sheet *s, Fault *fault)
{
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left,
              "The same row as a list, to be read from left to right. Tick the box when the row is "
              "laid.");
    s->y += 1.5;
    const Status status = worked_row(s, fault);
    if (status) return status;
    explain(s, "↑",
            chart_is_wall(s->mural)
                ? "after a size: the brick's long side runs from back to front"
                : "after a size: the brick's long side runs up; without it, along the row");
    explain(s, "(2 laid)", "two cells that a brick of an earlier row fills already");
    explain(s, "(2 empty)", "two cells that stay empty in this layer");
    return STATUS_OK;
}

static Status how_to_read(Sheet *s, Fault *fault)
{
    Status status = sheet_begin(s, "How to read a chart", false, fault);
    if (status) return status;
    const bool wall = chart_is_wall(s->mural);
    sheet_heading(s, "H1", TYPE_HEAD, "How to read a chart");
    s->y += 2.0;
    sheet_say(
        s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left,
        wall ? "Every row is a course. Rows count from the bottom, columns from the left, tiers "
               "(t) from the back, as seen from the front. Each box is a brick: its colour, the "
               "colour's id and, from above, its place in the order of laying."
             : "Rows count from the bottom and columns from the left, as seen from the front; the "
               "numbers are those of the whole mural. Each box is a brick: its colour, printed "
               "pale to save ink, and in its lower left cell the colour's id and, where there is "
               "room, its symbol. A white box is a brick that nobody will see.");
    sheet_say(
        s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left,
        "The short strokes count a brick's cells. A heavier line follows every tenth row and "
        "column. A brick without an edge at the side of a chart goes on on the next. Pale boxes "
        "are the layer below. A framed brick or a broken line with a number is a weak place.");
    s->y += 3.0;
    status = worked_chart(s, fault);
    if (status) return status;
    return wall || s->mural->job->lists ? list_to_read(s, fault) : STATUS_OK;
}

/* ---- the map of panels ---- */

#define LEAST_NAMED 5.0 /* mm: a smaller panel has no room for its name, the table has it */

/* To the panel's pages, which may be a file beside the book. */
static void link_panel(const Sheet *s, int panel, const Frame *box)
{
    const double at[4] = {box->x, box->y, box->width, box->height};
    const char *name = s->mural->panels->panel[panel].name;
    char target[64], what[64];
    snprintf(what, sizeof what, "The pages of panel %s", name);
    if (s->mural->job->book == BOOK_PANELS) {
        output_panel_book(name, target);
        draw_link_file(s->draw, at, target, what);
    } else {
        snprintf(target, sizeof target, "panel%d", panel);
        draw_link(s->draw, at, target, what);
    }
}

static void map_names(const Sheet *s, const Map *map)
{
    const Panels *panels = s->mural->panels;
    for (int i = 0; i < panels->count; i++) {
        const Panel *p = &panels->panel[i];
        char number[16], name[40];
        const bool stands = chart_stands(s->mural, i);
        const Frame box = map_frame(map, s->mural->grid, cells_of_panel(p));
        if (!stands) link_panel(s, i, &box);
        if (box.width < LEAST_NAMED || box.height < LEAST_NAMED) continue;
        snprintf(number, sizeof number, "%d", s->hanging[i]);
        const double x = box.x + 0.5 * box.width, y = box.y + 0.5 * box.height;
        const Type big = {WEIGHT_BOLD, fmin(16.0, 0.36 * box.height / POINT_MM), 1.0};
        const double apart = fmin(6.0, 0.24 * box.height);
        draw_mark(s->draw, sheet_squeeze(s, big, 0.8 * box.width, number), INK_ACCENT, x,
                  y - 0.4 * apart, number);
        const Type small = {WEIGHT_REGULAR, fmin(9.0, 0.2 * box.height / POINT_MM), 1.0};
        snprintf(name, sizeof name, stands ? "%s stands" : "%s", p->name);
        draw_mark(s->draw, sheet_squeeze(s, small, 0.9 * box.width, name), INK_TEXT, x,
                  y + 0.8 * apart, name);
    }
}

static Status panel_map(Sheet *s, Fault *fault)
{
    Status status = sheet_begin(s, "Panels", false, fault);
    if (status) return status;
    sheet_heading(s, "H1", TYPE_HEAD, "Panels and their order of hanging");
    s->y += 2.0;
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left,
              "As seen from the front. The large number is the order of hanging: from the bottom "
              "centre outwards, so that any panel can be taken down without its neighbours. Panels "
              "may be built in any order. Set the lowest row on a level line.");
    if (s->mural->stands)
        sheet_say(
            s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left,
            "Panels that are said to stand are built, and their pages are left out. In panels "
            "of which a part stands the bags are for the rest alone; what stands is pale on "
            "the charts, and ticked in lists.");
    s->y += 3.0;
    draw_figure(s->draw, "Map of the panels with their names and their order of hanging.");
    Map map = sheet_map(s, s->left, s->y, s->right - s->left, s->bottom - s->y);
    map.x += 0.5 * (s->right - s->left - map.width);
    draw_raster(s->draw, s->pale, map.x, map.y, map.width, map.height);
    map_names(s, &map);
    sheet_map_panels(s, &map, INK_SOFT, 0.25);
    draw_tag_end(s->draw, "Figure");
    return STATUS_OK;
}

typedef struct Column {
    const char *name;
    double x; /* from the left margin; numbers end there */
    bool number;
} Column;

static const Column panel_columns[] = {
    {"hung", 10.0, true},      {"panel", 15.0, false},     {"columns", 50.0, false},
    {"rows", 90.0, false},     {"size, mm", 130.0, false}, {"bricks", 200.0, true},
    {"mass, kg", 225.0, true}, {"to lay", 250.0, true}, /* last: where some stand already */
};
enum { PANEL_COLUMNS = sizeof panel_columns / sizeof panel_columns[0] };

static void table_cell(const Sheet *s, int column, const char *text, const char *tag, Type type,
                       Ink ink)
{
    const Column *c = &panel_columns[column];
    if (strcmp(tag, "TH"))
        draw_tag(s->draw, tag);
    else
        draw_column_head(s->draw);
    if (c->number)
        draw_text_right(s->draw, type, ink, s->left + c->x, s->y, text);
    else
        draw_text(s->draw, type, ink, s->left + c->x, s->y, text);
    draw_tag_end(s->draw, tag);
}

static Status table_head(Sheet *s, Fault *fault)
{
    const Status status = sheet_begin(s, "Panels", false, fault);
    if (status) return status;
    draw_tag(s->draw, "Table");
    draw_tag(s->draw, "TR");
    s->y += 4.0;
    for (int i = 0; i < (s->mural->stands ? PANEL_COLUMNS : PANEL_COLUMNS - 1); i++)
        table_cell(s, i, panel_columns[i].name, "TH", TYPE_SMALL, INK_SOFT);
    draw_tag_end(s->draw, "TR");
    s->y += 5.0;
    return STATUS_OK;
}

static void panel_row(Sheet *s, int panel)
{
    const Mural *m = s->mural;
    const Panel *p = &m->panels->panel[panel];
    size_t first, count;
    chart_panel(m, panel, &first, &count);
    char text[96], a[32], b[32];
    draw_tag(s->draw, "TR");
    snprintf(text, sizeof text, "%d", s->hanging[panel]);
    table_cell(s, 0, text, "TD", TYPE_STRONG, INK_ACCENT);
    table_cell(s, 1, p->name, "TD", TYPE_STRONG, INK_TEXT);
    snprintf(text, sizeof text, "%d to %d", p->column + 1, p->column + p->columns);
    table_cell(s, 2, text, "TD", TYPE_BODY, INK_TEXT);
    snprintf(text, sizeof text, "%d to %d", p->row + 1, p->row + p->rows);
    table_cell(s, 3, text, "TD", TYPE_BODY, INK_TEXT);
    number_text(a, sizeof a, p->columns * m->cell_width_mm, 1);
    number_text(b, sizeof b, p->rows * m->cell_height_mm, 1);
    snprintf(text, sizeof text, "%s × %s", a, b);
    table_cell(s, 4, text, "TD", TYPE_BODY, INK_TEXT);
    number_text(text, sizeof text, (double)count, 0);
    table_cell(s, 5, text, "TD", TYPE_BODY, INK_TEXT);
    number_text(text, sizeof text, m->load[panel].whole_kg, 1);
    table_cell(s, 6, text, "TD", TYPE_BODY, INK_TEXT);
    if (m->stands) {
        const size_t left = count - chart_standing(m, first, count);
        number_text(text, sizeof text, (double)left, 0);
        table_cell(s, 7, left ? text : "stands", "TD", TYPE_BODY, INK_TEXT);
    }
    draw_tag_end(s->draw, "TR");
    s->y += 4.9;
}

static Status panel_table(Sheet *s, Fault *fault)
{
    Status status = table_head(s, fault);
    for (int i = 0; i < s->mural->panels->count && !status; i++) {
        if (s->y > s->bottom) {
            draw_tag_end(s->draw, "Table");
            status = table_head(s, fault);
            if (status) break;
        }
        panel_row(s, i);
    }
    draw_tag_end(s->draw, "Table");
    return status;
}

Status front_pages(Sheet *s, Fault *fault)
{
    draw_bookmark(s->draw, 0, 1, "Cover");
    Status status = cover_page(s, fault);
    if (!status) draw_bookmark(s->draw, 0, s->page + 1, "How to read a chart");
    if (!status) status = how_to_read(s, fault);
    if (!status) draw_bookmark(s->draw, 0, s->page + 1, "Map of panels");
    if (!status) status = panel_map(s, fault);
    if (!status) status = panel_table(s, fault);
    return status;
}
