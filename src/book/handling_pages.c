/* What is needed when panels leave the bench: a label to cut out for the back of each, the crates
 * with the panels in them, and the cautions of lifting, packing and hanging. All go in the order of
 * hanging, so that what is opened first is hung first.
 *
 * A label stands alone once it is cut: whatever must be known of a panel is on it. Crates are those
 * of figures/crates.h, and a crate with more names than a line holds goes on in the next. */
#include "book/handling_pages.h"

#include "base/text.h"
#include "figures/cautions.h"
#include "figures/crates.h"
#include "figures/hold_report.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- labels ---- */

enum { ACROSS = 2, DOWN = 3, LABELS = ACROSS * DOWN, PICTURE_PIXELS = 96 };
#define PAD 5.0 /* mm, within a label's cut */
#define PICTURE 30.0
#define CUT 3.0 /* arms of a cut mark */

typedef struct Label {
    Sheet *sheet;
    const Mural *mural;
    int nth; /* place in the order of hanging, from 0 */
    int panel, crate;
    const Panel *at;
    double x, y, width, height;
} Label;

/* Where the cuts cross; the labels themselves stay free of lines. */
static void cut_marks(const Sheet *s, double width, double height)
{
    for (int row = 0; row <= DOWN; row++)
        for (int column = 0; column <= ACROSS; column++) {
            const double x = s->left + column * width, y = s->top + row * height;
            draw_line(s->draw, x - CUT, y, x + CUT, y);
            draw_line(s->draw, x, y - CUT, x, y + CUT);
        }
    draw_stroke(s->draw, INK_SOFT, 0.15);
}

/* Two arrows on a line, as on a case that must stand (ISO 780's sense, our drawing). */
static void arrows_up(const Label *l, double x, double y)
{
    const Sheet *s = l->sheet;
    for (int i = 0; i < 2; i++) {
        const double at = x + 2.5 + 6.0 * i;
        draw_line(s->draw, at, y, at - 2.5, y + 4.0);
        draw_line_on(s->draw, at - 1.0, y + 4.0);
        draw_line_on(s->draw, at - 1.0, y + 11.0);
        draw_line_on(s->draw, at + 1.0, y + 11.0);
        draw_line_on(s->draw, at + 1.0, y + 4.0);
        draw_line_on(s->draw, at + 2.5, y + 4.0);
        draw_close_line(s->draw);
    }
    draw_rect(s->draw, x - 0.5, y + 12.2, 12.0, 1.4);
    draw_fill(s->draw, INK_TEXT);
}

static Status label_face(const Label *l, double x, double y, Fault *fault)
{
    const Sheet *s = l->sheet;
    char text[80];
    snprintf(text, sizeof text, "Panel %s from the front, the right way up.", l->at->name);
    const Status status =
        sheet_picture(s, l->at, &(Frame){x, y, PICTURE, PICTURE}, PICTURE_PIXELS, text, fault);
    arrows_up(l, x + PICTURE - 12.0, l->y + l->height - PAD - 15.0);
    draw_tag(s->draw, "P");
    draw_text(s->draw, TYPE_STRONG, INK_TEXT, x, l->y + l->height - PAD - 9.0, "front");
    draw_text(s->draw, TYPE_BODY, INK_TEXT, x, l->y + l->height - PAD - 4.5, "this way up");
    draw_tag_end(s->draw, "P");
    return status;
}

static void label_say(const Label *l, Type type, Ink ink, const char *text)
{
    l->sheet->y += 0.6;
    sheet_say(l->sheet, type, ink, l->x + PAD, l->width - PICTURE - 3.0 * PAD, text);
}

static void label_name(const Label *l)
{
    Sheet *s = l->sheet;
    const double x = l->x + PAD, room = l->width - PICTURE - 3.0 * PAD;
    char text[80];
    snprintf(text, sizeof text, "hung as %d of %d, in crate %d", l->nth + 1,
             l->mural->panels->count, l->crate);
    const Type small = {WEIGHT_BOLD, 11.0, 1.0};
    const double wide = draw_text_width(s->draw, small, text);
    const Type big =
        sheet_squeeze(s, (Type){WEIGHT_BOLD, 24.0, 1.0}, room - wide - 4.0, l->at->name);
    s->y = l->y + PAD + 7.0;
    draw_tag(s->draw, "H2");
    draw_text(s->draw, big, INK_TEXT, x, s->y, l->at->name);
    draw_tag_end(s->draw, "H2");
    draw_tag(s->draw, "P");
    draw_text_right(s->draw, small, INK_ACCENT, x + room, s->y, text);
    draw_tag_end(s->draw, "P");
    s->y += 1.5;
}

static void label_size(const Label *l)
{
    const Mural *m = l->mural;
    char text[160], a[32], b[32], c[32];
    number_text(a, sizeof a, l->at->columns * m->cell_width_mm, 1);
    number_text(b, sizeof b, l->at->rows * m->cell_height_mm, 1);
    number_text(c, sizeof c, m->load[l->panel].whole_depth_mm, 1);
    snprintf(text, sizeof text, "%s mm wide × %s mm high, %s mm deep", a, b, c);
    label_say(l, TYPE_BODY, INK_TEXT, text);
}

static void label_mass(const Label *l)
{
    const Mural *m = l->mural;
    const double kg = m->load[l->panel].whole_kg;
    char text[400], lift[320], a[32], b[32], c[32];
    number_text(a, sizeof a, kg, 2);
    number_text(b, sizeof b, kg * (1.0 - CRATE_MASS_OFF), 2);
    number_text(c, sizeof c, kg * (1.0 + CRATE_MASS_OFF), 2);
    snprintf(text, sizeof text, "%s kg ±10 %% (%s to %s kg) with what is behind it", a, b, c);
    label_say(l, TYPE_STRONG, INK_TEXT, text);
    lift_advice(kg, fmin(l->at->columns * m->cell_width_mm, l->at->rows * m->cell_height_mm), lift,
                sizeof lift);
    snprintf(text, sizeof text, "To lift: %s", lift);
    label_say(l, TYPE_BODY, INK_TEXT, text);
}

/* In a line: more would leave the label. */
static void label_thickness(const Label *l)
{
    const int units = l->mural->solid.base, courses = l->at->rows;
    const PanelLoad *load = &l->mural->load[l->panel];
    char text[160], headers[32];
    number_text(headers, sizeof headers, (double)load->headers, 0);
    snprintf(text, sizeof text, "%d unit%s thick; headers: %s, in %d of %d courses", units,
             units == 1 ? "" : "s", headers, courses - load->bare_courses, courses);
    label_say(l, TYPE_BODY, INK_TEXT, text);
}

/* What only this panel must be warned of. */
static void label_warnings(const Label *l)
{
    const Mural *m = l->mural;
    const PanelBond *bond = &m->bond->panel[l->panel];
    const double feeble = m->holds->panel[l->panel].least_hold_n;
    char text[160];
    if (bond->pieces > 1) {
        snprintf(text, sizeof text, "Not one piece but %d: lift it on a board, never by an edge.",
                 bond->pieces);
        label_say(l, TYPE_STRONG, INK_ACCENT, text);
    }
    if (m->solid.build == BUILD_WALL && m->load[l->panel].statics.tipping_nm > 0.0)
        label_say(l, TYPE_STRONG, INK_ACCENT, "Falls forward when it stands alone: hold it.");
    hold_label_text(m, l->panel, text, sizeof text);
    if (*text) label_say(l, TYPE_BODY, INK_TEXT, text);
    if (m->solid.build == BUILD_WALL) label_thickness(l);
    if (feeble < m->job->touch) {
        snprintf(text, sizeof text, "Hands off its face: bricks come off at %.2f N.",
                 floor(feeble * 100) / 100);
        label_say(l, TYPE_STRONG, INK_ACCENT, text);
    }
}

static Status draw_panel_label(const Label *l, Fault *fault)
{
    Sheet *s = l->sheet;
    draw_tag(s->draw, "Sect");
    label_name(l);
    label_size(l);
    label_mass(l);
    label_warnings(l);
    label_say(
        l, TYPE_SMALL, INK_SOFT,
        "Goes on the back. The picture is the front, this way up; seen from the back, its left "
        "edge is at your right.");
    const Status status = label_face(l, l->x + l->width - PAD - PICTURE, l->y + PAD, fault);
    draw_tag_end(s->draw, "Sect");
    return status;
}

static Status panel_labels(Sheet *s, Fault *fault)
{
    const Mural *m = s->mural;
    const double width = (s->right - s->left) / ACROSS, height = (s->bottom - s->top) / DOWN;
    Crate crate = {0};
    int number = 0;
    Status status = STATUS_OK;
    for (int nth = 0; nth < m->panels->count && !status; nth++) {
        const int place = nth % LABELS;
        if (place == 0) {
            status = sheet_begin(s, "Labels for the panels, to cut", false, fault);
            if (status) return status;
            cut_marks(s, width, height);
        }
        if (nth == crate.first + crate.panels) {
            crate = crate_from(m, nth);
            number++;
        }
        const int panel = panels_hung(m->panels, nth);
        const Label label = {.sheet = s,
                             .mural = m,
                             .nth = nth,
                             .panel = panel,
                             .crate = number,
                             .at = &m->panels->panel[panel],
                             .x = s->left + place % ACROSS * width,
                             .y = s->top + place / ACROSS * height,
                             .width = width,
                             .height = height};
        status = draw_panel_label(&label, fault);
    }
    return status;
}

/* ---- crates ---- */

static const struct Column {
    const char *name;
    double x; /* from the left margin; numbers end there */
    bool number;
} columns[] = {
    {"crate", 14.0, true},         {"panels, in the order of hanging", 20.0, false},
    {"outside, mm", 170.0, false}, {"bricks, kg", 225.0, true},
    {"packed, kg", 250.0, true},
};
enum { NUMBER, PANELS, OUTSIDE, BRICKS, PACKED, COLUMNS };
#define PANELS_WIDTH 145.0
#define CRATE_LINE 5.6

static void crate_cell(const Sheet *s, int column, Type type, Ink ink, const char *text)
{
    const double x = s->left + columns[column].x;
    draw_tag(s->draw, "TD");
    if (columns[column].number)
        draw_text_right(s->draw, type, ink, x, s->y + 3.6, text);
    else
        draw_text(s->draw, type, ink, x, s->y + 3.6, text);
    draw_tag_end(s->draw, "TD");
}

static void crates_head(Sheet *s)
{
    draw_tag(s->draw, "Table");
    draw_tag(s->draw, "TR");
    for (int i = 0; i < COLUMNS; i++)
        if (columns[i].number)
            sheet_column_head_right(s, s->left + columns[i].x, s->y + 3.6, columns[i].name);
        else
            sheet_column_head(s, s->left + columns[i].x, s->y + 3.6, columns[i].name);
    draw_tag_end(s->draw, "TR");
    s->y += 5.0;
}

static void crates_rule(Sheet *s)
{
    const Job *job = s->mural->job;
    char text[900], mass[32], packing[32];
    number_text(mass, sizeof mass, job->crate_mass, 0);
    number_text(packing, sizeof packing, job->packing, 0);
    snprintf(
        text, sizeof text,
        "Panels are packed in the order of hanging, at most %d in a crate (our own choice) and "
        "%s kg packed (250 to 300 lb, 113 to 136 kg, are what two people and a dolly move: "
        "practice of registrars). They stand upright, face to face and back to back, with %.0f "
        "mm of board between and %s mm of wall and padding all round (common practice, from "
        "memory). Packed mass: the panels at their most, ±10 %%, and a box of %.0f mm plywood "
        "at %d kg/m³ (from memory), without padding: weigh one. The panel "
        "named last goes in first.",
        job->crate_panels, mass, CRATE_BOARD_MM, packing, CRATE_PLYWOOD_MM, CRATE_PLYWOOD_KG_M3);
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, s->right - s->left, text);
    s->y += 2.0;
}

static Status crates_page(Sheet *s, bool first, Fault *fault)
{
    const Status status = sheet_begin(s, "Crates", false, fault);
    if (status) return status;
    if (first) {
        sheet_heading(s, "H1", TYPE_HEAD, "Crates");
        s->y += 1.5;
        crates_rule(s);
    }
    crates_head(s);
    return STATUS_OK;
}

/* Names the crate's panels from place `from` on, as many as a line of the table holds; returns the
 * place of the first that is left. */
static int names_of_line(const Sheet *s, const Crate *c, int from, char *text, size_t size)
{
    const Panels *panels = s->mural->panels;
    const int end = c->first + c->panels;
    size_t length = 0;
    *text = '\0';
    for (int nth = from; nth < end; nth++) {
        const int more = snprintf(text + length, size - length, "%s%s", nth > from ? ", " : "",
                                  panels->panel[panels_hung(panels, nth)].name);
        const bool fits = (size_t)more + length + 1 < size &&
                          draw_text_width(s->draw, TYPE_STRONG, text) <= PANELS_WIDTH;
        if (!fits && nth > from) {
            text[length] = '\0';
            return nth;
        }
        length += (size_t)more;
    }
    return end;
}

static void crate_figures(const Sheet *s, int number, const Crate *c)
{
    const bool over = c->packed_kg > s->mural->job->crate_mass;
    char text[120], a[3][32];
    sheet_tick(s, s->left, s->y + 0.6, 3.4);
    snprintf(text, sizeof text, "%d", number);
    crate_cell(s, NUMBER, TYPE_STRONG, INK_ACCENT, text);
    for (int i = 0; i < 3; i++) number_text(a[i], sizeof a[i], c->side_mm[2 - i], 0);
    snprintf(text, sizeof text, "%s × %s × %s", a[0], a[1], a[2]);
    crate_cell(s, OUTSIDE, TYPE_BODY, INK_TEXT, text);
    number_text(text, sizeof text, c->panels_kg, 1);
    crate_cell(s, BRICKS, TYPE_BODY, INK_TEXT, text);
    number_text(text, sizeof text, c->packed_kg, 0);
    crate_cell(s, PACKED, over ? TYPE_STRONG : TYPE_BODY, over ? INK_ACCENT : INK_TEXT, text);
}

static Status crate_row(Sheet *s, int number, const Crate *c, Fault *fault)
{
    char text[200];
    const int end = c->first + c->panels;
    for (int nth = c->first; nth < end;) {
        if (s->y + CRATE_LINE > s->bottom) {
            draw_tag_end(s->draw, "Table");
            const Status status = crates_page(s, false, fault);
            if (status) return status;
        }
        const bool begins = nth == c->first;
        nth = names_of_line(s, c, nth, text, sizeof text);
        draw_tag(s->draw, "TR");
        if (begins) crate_figures(s, number, c);
        crate_cell(s, PANELS, TYPE_STRONG, INK_TEXT, text);
        draw_tag_end(s->draw, "TR");
        s->y += CRATE_LINE;
    }
    return STATUS_OK;
}

static Status crate_table(Sheet *s, Fault *fault)
{
    const int panels = s->mural->panels->count;
    int number = 0;
    Crate crate;
    Status status = crates_page(s, true, fault);
    for (int from = 0; from < panels && !status; from += crate.panels) {
        crate = crate_from(s->mural, from);
        status = crate_row(s, ++number, &crate, fault);
    }
    draw_tag_end(s->draw, "Table");
    return status;
}

/* ---- cautions ---- */

static bool is_of_handling(const char *caution)
{
    static const char *const topics[] = {"Weight:", "Masses:",  "Holding:", "Doors:", "Fixing:",
                                         "Load:",   "Tipping:", "Height:",  "Warmth:"};
    for (size_t i = 0; i < sizeof topics / sizeof *topics; i++)
        if (!strncmp(caution, topics[i], strlen(topics[i]))) return true;
    return false;
}

static Status handling_cautions(Sheet *s, Fault *fault)
{
    const Mural *m = s->mural;
    const double width = s->right - s->left;
    bool any = false;
    for (int i = 0; i < m->cautions; i++) {
        if (!is_of_handling(m->caution[i])) continue;
        const double tall =
            sheet_paragraph(s, &(Paragraph){TYPE_BODY, INK_TEXT, 0, 0, width, true}, m->caution[i]);
        if (s->y + tall + 12.0 > s->bottom) {
            const Status status = sheet_begin(s, "Handling", false, fault);
            if (status) return status;
        }
        s->y += any ? 0.8 : 4.0;
        if (!any) sheet_heading(s, "H2", TYPE_SUB, "Cautions for lifting, packing and hanging");
        any = true;
        sheet_say(s, TYPE_BODY, INK_TEXT, s->left, width, m->caution[i]);
    }
    return STATUS_OK;
}

Status handling_pages(Sheet *s, Fault *fault)
{
    const int parent = draw_bookmark(s->draw, 0, s->page + 1, "Handling");
    draw_bookmark(s->draw, parent, s->page + 1, "Labels");
    Status status = panel_labels(s, fault);
    if (!status) draw_bookmark(s->draw, parent, s->page + 1, "Crates");
    if (!status) status = crate_table(s, fault);
    return status ? status : handling_cautions(s, fault);
}
