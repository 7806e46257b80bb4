/* Wall view: all murals in elevation to one scale on the walls of their rooms, in each in the order
 * of hanging. The middle of a mural hangs at the eye line, 1.55 m above the floor (common practice
 * in museums, no source), unless it would then reach the floor. */
#ifndef ROWLOCK_SHOW_WALL_VIEW_H
#define ROWLOCK_SHOW_WALL_VIEW_H

#include "show/planned.h"

#define EYE_LINE_MM 1550.0

/* A mural's place on its wall. */
typedef struct WallPlace {
    int mural;
    double left_mm, bottom_mm; /* from the line's left, and from the floor */
    bool opens;                /* the first of its room in the line */
} WallPlace;

#define WALL_GAP_MM 600.0 /* between two murals: our choice */

/* Walls side by side, each with the murals of a room, or as many of them as fit. */
typedef struct WallLine {
    int first, places;
    double width_mm, height_mm; /* to the right edge of the last; to the top of the highest */
} WallLine;

typedef struct WallView {
    int lines;
    WallLine line[SHOW_MURALS_MOST];
    WallPlace place[SHOW_MURALS_MOST]; /* room by room */
} WallView;

/* No line is longer than most_mm, but for one mural alone. */
void wall_view_lay_out(WallView *view_out, const Show *show, const Planned *planned,
                       double most_mm);

/* The largest usual scale, one to what is returned, at which all lines fit a sheet of this size,
 * half of WALL_GAP_MM at either end of each and so much below it; the view is laid out for it. */
double wall_view_fit(WallView *view_out, const Show *show, const Planned *planned,
                     const double sheet_mm[2], double below_mm);

#endif
