/* One page: the advice that help gives too, a drawing of where camera and lamps stand, seen from
 * above, and the marks of inspection.png as that draws them. */
#include "book/photo_page.h"

#include "base/photo_advice.h"

#include <math.h>
#include <stdio.h>

/* The two columns of the page, mm: what is said, and what is drawn. */
#define TEXT_WIDTH 118.0
#define GAP 14.0
#define HEAD_WIDTH 17.0

static void arrow(const Sheet *s, double x, double y, double to_x, double to_y)
{
    const double far = hypot(to_x - x, to_y - y), dx = (to_x - x) / far, dy = (to_y - y) / far;
    draw_line(s->draw, x, y, to_x, to_y);
    draw_line(s->draw, to_x - 2.4 * dx + 1.2 * dy, to_y - 2.4 * dy - 1.2 * dx, to_x, to_y);
    draw_line_on(s->draw, to_x - 2.4 * dx - 1.2 * dy, to_y - 2.4 * dy + 1.2 * dx);
}

/* Panel, camera and two lamps from above. */
static void draw_stand(Sheet *s, double x, double y, double width)
{
    const double middle = x + width / 2, half = width * 0.2, away = width * 0.42;
    draw_figure(s->draw,
                "Seen from above: the camera stands straight before the middle of the "
                "panel, a lamp on each side of it at 45 degrees, as far away as the camera.");
    draw_rect(s->draw, middle - half, y, 2 * half, 3.0);
    draw_fill_and_stroke(s->draw, INK_FAINT, INK_TEXT, 0.3);
    for (int side = -1; side <= 1; side += 2) {
        const double lamp_x = middle + side * away, lamp_y = y + 3.0 + away;
        arrow(s, lamp_x - side * 4.0, lamp_y - 4.0, middle + side * 2.5, y + 5.5);
        draw_stroke(s->draw, INK_SOFT, 0.3);
        draw_circle(s->draw, lamp_x, lamp_y, 3.0);
        draw_fill_and_stroke(s->draw, INK_WHITE, INK_TEXT, 0.4);
        draw_text_centre(s->draw, TYPE_SMALL, INK_TEXT, lamp_x, lamp_y + 7.0, "lamp");
        draw_text_centre(s->draw, TYPE_SMALL, INK_TEXT, middle + side * away * 0.36, y + 20.0,
                         "45°");
    }
    const double camera_y = y + 3.0 + away * sqrt(2.0);
    draw_line(s->draw, middle, y + 5.5, middle, camera_y - 3.5);
    draw_stroke_dashed(s->draw, INK_SOFT, 0.3, 1.5);
    draw_rect(s->draw, middle - 4.0, camera_y - 2.5, 8.0, 5.0);
    draw_rect(s->draw, middle - 1.6, camera_y - 4.3, 3.2, 1.8);
    draw_fill_and_stroke(s->draw, INK_WHITE, INK_TEXT, 0.4);
    draw_text_centre(s->draw, TYPE_SMALL, INK_TEXT, middle, camera_y + 6.5, "camera");
    draw_text_centre(s->draw, TYPE_SMALL, INK_TEXT, middle, y - 2.0, "panel, from above");
    draw_tag_end(s->draw, "Figure");
}

/* A brick with its mark. */
static void draw_mark_of(Sheet *s, int mark, double x, double y, double side)
{
    const double mx = x + side / 2, my = y + side / 2, r = side * 0.3;
    draw_rect(s->draw, x, y, side, side);
    draw_fill_and_stroke(s->draw, INK_FAINT, INK_SOFT, 0.2);
    if (mark == 0) {
        draw_line(s->draw, mx - r, my - r, mx + r, my + r);
        draw_line(s->draw, mx - r, my + r, mx + r, my - r);
    } else if (mark == 1)
        draw_circle(s->draw, mx, my, r);
    else if (mark == 2)
        arrow(s, mx - r, my, mx + r, my);
    for (int i = -1; mark == 3 && i <= 1; i++) {
        draw_circle(s->draw, mx + 0.75 * r * i, my, 0.5);
        draw_fill(s->draw, INK_TEXT);
    }
    draw_stroke(s->draw, INK_TEXT, 0.5);
}

static void draw_marks(Sheet *s, double x, double width)
{
    static const char *const what[] = {
        "wrong: it shows another colour of the palette",
        "missing: it shows what lies behind, or no colour of the palette",
        "shifted: it lies off its place, to where the arrow points",
        "cannot tell: hidden, too light, in a glare or a shadow; look yourself"};
    const double side = 6.0, left = s->left;
    s->left = x;
    sheet_heading(s, "H2", TYPE_SUB, "Marks of inspection.png");
    s->left = left;
    for (int i = 0; i < 4; i++) {
        s->y += 3.5;
        draw_figure(s->draw, what[i]);
        draw_mark_of(s, i, x, s->y - 0.9, side);
        draw_tag_end(s->draw, "Figure");
        sheet_say(s, TYPE_BODY, INK_TEXT, x + side + 4.0, width - side - 4.0, what[i]);
    }
}

static void say_advice(Sheet *s)
{
    for (int i = 0; i < PHOTO_ADVICE; i++) {
        const double y = s->y;
        sheet_say(s, TYPE_STRONG, INK_TEXT, s->left, HEAD_WIDTH, photo_advice[i].of);
        s->y = y;
        sheet_say(s, TYPE_BODY, INK_TEXT, s->left + HEAD_WIDTH, TEXT_WIDTH - HEAD_WIDTH,
                  photo_advice[i].text);
        s->y += 1.6;
    }
}

static void say_inspect(Sheet *s)
{
    char line[400];
    const Panels *panels = s->mural->panels;
    const char *name = panels->panel[0].name;
    s->y += 4.0;
    sheet_heading(s, "H2", TYPE_SUB, "Has the panel been built as planned?");
    snprintf(
        line, sizeof line,
        "rowlock inspect FOLDER photo.jpg --panel %s --out seen finds the panel in the "
        "photograph by its own pattern and tells of each brick whether it is right; --to and a "
        "row of the charts, of a panel that is built up to there. Take the panel upright and "
        "whole, best as high as nine tenths of the picture. It exits 1 where not all is right.",
        name);
    sheet_say(s, TYPE_BODY, INK_TEXT, s->left, TEXT_WIDTH, line);
    s->y += 4.0;
    sheet_heading(s, "H2", TYPE_SUB, "Which colours do the bricks have?");
    sheet_say(
        s, TYPE_BODY, INK_TEXT, s->left, TEXT_WIDTH,
        "rowlock measure photo.jpg --patches bricks.csv --out bricks.cgats reads them beside a "
        "chart of 24 patches. Photographs differ from what was tried when this was made: what "
        "looks wrong but is right is worth a second photograph.");
}

Status photo_page(Sheet *s, Fault *fault)
{
    const double x = s->left + TEXT_WIDTH + GAP, width = s->right - x;
    draw_bookmark(s->draw, 0, s->page + 1, "Photographs");
    const Status status = sheet_begin(s, "Photographs", false, fault);
    if (status) return status;
    sheet_heading(s, "H1", TYPE_HEAD, "How to photograph panels and bricks");
    s->y += 2.0;
    const double top = s->y;
    say_advice(s);
    say_inspect(s);
    draw_stand(s, x, top + 4.0, width);
    s->y = top + 4.0 + 0.42 * width * sqrt(2.0) + 22.0;
    draw_marks(s, x, width);
    return STATUS_OK;
}
