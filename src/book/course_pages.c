/* A course is drawn from above where the wall is deeper than one unit, its bricks numbered in the
 * order of laying over the joints of the course below, and then listed row by row, to be ticked.
 * Courses follow each other down the page; one is parted only where it is wider than the page.
 * Courses that stand already are one line together. */
#include "book/course_pages.h"

#include "book/chart.h"
#include "book/chart_sheet.h"
#include "book/row_list.h"

#include <stdio.h>

#define MOST_COURSE_CELL 7.0 /* of a course from above: our choice */

typedef struct Course {
    Plane plane;
    Split split;
    Boxes boxes, below;
} Course;

typedef struct CourseWork {
    Sheet *sheet;
    int panel;
    const Panel *at;
    Fault *fault;
} CourseWork;

/* A course from above: one strip, or several where the panel is wide. */
static Status course_plan(CourseWork *w, RowList *list, Course *c)
{
    Sheet *s = w->sheet;
    const double height = CHART_EDGE * 2.0 + c->plane.vs * c->split.height;
    Status status = STATUS_OK;
    for (int across = 0; across < c->split.across && !status; across++) {
        Window part = {across * c->split.us, 0, c->split.us, c->plane.vs};
        if (part.u + part.us > c->plane.us) part.us = c->plane.us - part.u;
        if (s->y + height > s->bottom) status = sheet_begin(s, list->head, false, w->fault);
        if (!status) status = chart_plane_boxes(&c->boxes, &c->plane, part, w->fault);
        if (!status) status = chart_below_boxes(&c->below, &c->plane, w->panel, part, w->fault);
        if (status) break;
        char text[200];
        snprintf(text, sizeof text,
                 "Plan of course %d of panel %s from above, numbered in laying order; its rows are "
                 "listed below it.",
                 c->plane.layer + 1, w->at->name);
        ChartLook look = {.x = chart_snap(s->left + CHART_SIDE),
                          .y = chart_snap(s->y + CHART_EDGE),
                          .width = c->split.width,
                          .height = c->split.height,
                          .window = part,
                          .column = w->at->column,
                          .downward = true,
                          .counted = true,
                          .counted_from = c->plane.first,
                          .standing = true,
                          .below = &c->below,
                          .panel = w->panel,
                          .layer = c->plane.layer};
        draw_figure(s->draw, text);
        status = chart_draw(s, &look, &c->boxes, w->fault);
        draw_tag_end(s->draw, "Figure");
        s->y += height + 1.0;
    }
    return status;
}

static Status course(CourseWork *w, RowList *list, Course *c, int row)
{
    Sheet *s = w->sheet;
    const int depth = c->plane.vs;
    Status status = STATUS_OK;
    if (depth > 1) {
        const double need = 16.0 + depth * (c->split.height + 5.2);
        row_list_end(list);
        if (s->y + need > s->bottom && s->y > s->top)
            status = sheet_begin(s, list->head, false, w->fault);
        if (status) return status;
        char title[64];
        snprintf(title, sizeof title, "Course %d", row + 1);
        sheet_heading(s, "H3", TYPE_SUB, title);
        draw_text(
            s->draw, TYPE_SMALL, INK_SOFT, s->left + 26.0, s->y - 1.8,
            "from above, the front below; the numbers are the order of laying; broken lines are "
            "the joints of the course below");
        status = course_plan(w, list, c);
    }
    Runs runs;
    if (!status) status = runs_init(&runs, &c->plane, w->fault);
    if (status) return status;
    char label[48];
    for (int tier = 0; tier < depth && !status; tier++) {
        status = runs_next(&runs, w->fault);
        if (status) break;
        const bool empty = runs.count == 1 && runs.run[0].kind == RUN_EMPTY;
        row_label(w->sheet->mural, row, tier, label, sizeof label);
        status = empty ? row_list_note(list, label, "nothing in this tier", w->fault)
                       : row_list_add(list, &runs, label, w->fault);
    }
    runs_clear(&runs);
    s->y += depth > 1 ? 3.0 : 0.0;
    return status;
}

static bool course_stands(const Plane *plane)
{
    return plane->count && chart_standing(plane->mural, plane->first, plane->count) == plane->count;
}

/* One line for the lowest courses, where they stand; *row_out is the first that does not. */
static Status standing_courses(CourseWork *w, RowList *list, int *row_out)
{
    RowSpan span = {ROW_STANDS, w->at->row, w->at->row, 0};
    for (; span.to < w->at->row + w->at->rows; span.to++) {
        const Plane plane = chart_plane(w->sheet->mural, w->panel, span.to);
        if (!course_stands(&plane)) break;
        span.bricks += plane.count;
    }
    *row_out = span.to;
    return row_list_span(list, &span, w->fault);
}

Status course_pages(Sheet *sheet, int panel, Fault *fault)
{
    const Mural *m = sheet->mural;
    const Panel *at = &m->panels->panel[panel];
    CourseWork w = {sheet, panel, at, fault};
    char head[80];
    snprintf(head, sizeof head, "Panel %s · courses", at->name);
    Status status = sheet_begin(sheet, head, false, fault);
    RowList list = {sheet, head, false};
    Course c = {0};
    int row = at->row;
    if (!status) status = standing_courses(&w, &list, &row);
    for (; row < at->row + at->rows && !status; row++) {
        c.plane = chart_plane(m, panel, row);
        c.split = chart_split(&(ChartArea){.us = c.plane.us,
                                           .vs = c.plane.vs,
                                           .width = sheet->right - sheet->left - 2.0 * CHART_SIDE,
                                           .height = sheet->bottom - sheet->top,
                                           .aspect = 1.0,
                                           .least = chart_least_cell(1.0),
                                           .most = MOST_COURSE_CELL});
        c.split.width = chart_snap(c.split.width);
        c.split.height = chart_snap(c.split.height);
        status = course(&w, &list, &c, row);
    }
    row_list_end(&list);
    boxes_clear(&c.boxes);
    boxes_clear(&c.below);
    return status;
}
