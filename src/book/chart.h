/* Chart: a panel's bricks as they go on paper: which boxes of which layer stand where,
 * and each row as a list of runs. Geometry only; nothing is drawn here.
 *
 * A plane is one layer of one panel seen flat: of a plaque, a tier (u are columns, v
 * rows); of a wall, a course (u are columns, v tiers). u and v count from the panel's
 * lower left corner, or from the back of a course. */
#ifndef ROWLOCK_BOOK_CHART_H
#define ROWLOCK_BOOK_CHART_H

#include "base/status.h"
#include "figures/mural.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"

#include <stdbool.h>
#include <stddef.h>

typedef struct Plane {
    const Mural *mural;
    const Panel *panel;
    int layer;           /* tier of a plaque, row of a wall, from 0 in the mural */
    int us, vs;          /* extent in units */
    const Brick *brick;  /* the layer's bricks, in laying order */
    size_t count, first; /* first: index of brick[0] in Laid */
} Plane;

/* The panel's bricks in Laid: [*first, *first + *count). */
void chart_panel(const Mural *mural, int panel, size_t *first, size_t *count);
/* How many bricks of [first, first + count) stand already. */
size_t chart_standing(const Mural *mural, size_t first, size_t count);
/* True if every brick of the panel stands already; such a panel needs no charts. */
bool chart_stands(const Mural *mural, int panel);
/* The number of tiers of the panel's deepest cell. */
int chart_depth(const Mural *mural, int panel);
/* A layer of the panel; count is 0 where it has no brick. */
Plane chart_plane(const Mural *mural, int panel, int layer);

static inline bool chart_is_wall(const Mural *m) { return m->solid.build == BUILD_WALL; }

typedef struct Window {
    int u, v, us, vs; /* part of a plane, or of a panel's face */
} Window;

/* A brick's part within a window. */
typedef struct Box {
    size_t brick;                                /* index into Laid */
    int u, v, us, vs;                            /* clipped to the window; u, v in the plane */
    bool cut_left, cut_right, cut_low, cut_high; /* goes on beyond the window or behind others */
} Box;

typedef struct Boxes {
    Box *box;
    size_t count, capacity;
} Boxes;

/* Replaces what *boxes holds. */
Status chart_plane_boxes(Boxes *boxes, const Plane *plane, Window window, Fault *fault);
/* The layer of the same panel that the plane lies on; none below the first. */
Status chart_below_boxes(Boxes *boxes, const Plane *plane, int panel, Window window, Fault *fault);
/* A wall's panel from the front: of each cell the brick that is outermost there. */
Status chart_front_boxes(Boxes *boxes, const Mural *mural, int panel, Window window, Fault *fault);
void boxes_clear(Boxes *boxes);
/* True if each of their bricks stands already. */
bool boxes_stand(const Boxes *boxes, const Mural *mural);
/* The smallest window that holds the plane's bricks; us is 0 where there are none. */
Window chart_bounds(const Plane *plane);

/* How a w x h field of cells is spread over pages. */
typedef struct Split {
    int across, up;       /* pages side by side, and one above another */
    int us, vs;           /* cells of the largest page */
    double width, height; /* of a cell, mm */
} Split;

/* A field of cells and the room that a page has for it. */
typedef struct ChartArea {
    int us, vs;           /* of the field, cells */
    double width, height; /* of the room, mm */
    double aspect;        /* a cell's height by its width */
    double least, most;   /* of a cell's width, mm */
} ChartArea;

/* The room of a landscape A4 page of the build book, square cells. */
#define CHART_AREA_DEFAULT                                                                         \
    ((ChartArea){.us = 1,                                                                          \
                 .vs = 1,                                                                          \
                 .width = 252.0,                                                                   \
                 .height = 144.0,                                                                  \
                 .aspect = 1.0,                                                                    \
                 .least = 4.85,                                                                    \
                 .most = 9.0})

Split chart_split(const ChartArea *area);

typedef enum RunKind {
    RUN_BRICKS, /* `count` equal bricks side by side */
    RUN_LAID,   /* cells that bricks of an earlier row fill already */
    RUN_EMPTY   /* cells that stay empty in this layer */
} RunKind;

typedef struct Run {
    RunKind kind;
    int u;     /* where it starts, in the plane */
    int cells; /* it covers */
    int count; /* bricks; 0 for cells */
    int colour, size;
    bool upright; /* the brick's long side runs along v */
} Run;

/* Reads a plane row by row, v ascending from 0. */
typedef struct Runs {
    const Plane *plane;
    size_t next; /* brick to come */
    int *filled; /* for each u, the first v that is free again */
    Run *run;    /* of the row in hand */
    size_t count, capacity;
    int bricks, cells, v; /* of the row in hand: sums over its runs */
    int standing;         /* of its bricks */
} Runs;

Status runs_init(Runs *runs, const Plane *plane, Fault *fault);
/* Fills in the next row. */
Status runs_next(Runs *runs, Fault *fault);
void runs_clear(Runs *runs);

/* Place in the order of hanging, from 1, of each panel; see panels_hung. */
void chart_hanging(const Panels *panels, int *order_out);

#endif
