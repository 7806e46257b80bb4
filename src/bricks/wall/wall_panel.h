/* Wall panel: one panel of a wall while it is being laid. */
#ifndef ROWLOCK_BRICKS_WALL_WALL_PANEL_H
#define ROWLOCK_BRICKS_WALL_WALL_PANEL_H

#include "base/status.h"
#include "base/voice.h"
#include "bricks/tiling/profile_dp.h"
#include "bricks/tiling/shape.h"
#include "bricks/wall/corbel.h"
#include "bricks/wall/course_prices.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/laying.h"
#include "model/panel.h"
#include "model/sizes.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What all panels share. */
typedef struct Wall {
    const Solid *solid;
    const Sizes *sizes;
    const Panels *panels;
    const LayOptions *options;
    const Voice *voice;
    Cuts cuts, plain; /* plain: every brick at one price, for the bounds */
    Shapes shapes, plain_shapes;
    int32_t price_step; /* see course_prices_step */
} Wall;

/* One panel. Rows and columns count from its lower left corner. */
typedef struct WallPanel {
    const Wall *wall;
    const Panel *panel;
    int index, depth; /* of panels; tiers of the deepest cell */
    Course *course;   /* rows */
    int standing;     /* courses, from the lowest, that stand and stay as they are */
    bool flat;        /* no cell stands out, and nothing is left out */
    bool first;       /* no course above has been laid yet */
    Corbel corbel;    /* its hue is the course's that is being laid */
    Course *carrier;  /* rows: bricks that stay as they are, since they join what was loose */
    /* By row: */
    uint8_t *dirty; /* 1 where a course may be laid better than it is */
    /* Rows x (columns + 1): */
    uint8_t *parted; /* 1 where a joint goes right through */
    /* How hard bricks are asked, by the column where they start, to overlap two of the course
     * below, or above; and to cross a line: */
    uint8_t *bear, *carry, *cross;
    int32_t *dual; /* rows x depth x columns: what units are worth; see CourseWorth */
    double *least; /* rows: bricks that the course needs at least; below 0: not known yet */
    /* Scratch: */
    View view[2];      /* of the courses below and above */
    uint8_t *run[2];   /* columns + 1: see CourseSide */
    uint8_t *fills[5]; /* depth x columns: 1 where there is a unit; the courses from the second
                          below on */
    Course last;       /* the course as it was laid last, to tell whether it has changed */
    ProfileDp *dp;
    uint8_t *bytes; /* what all arrays of bytes are of */
    /* How it came out: */
    uint32_t straight; /* joints in line over three courses, once it is repaired */
    double bound;      /* bricks: see bound.h */
} WallPanel;

static inline size_t wall_panel_unit(const WallPanel *w, int column, int tier)
{
    return (size_t)tier * (size_t)w->panel->columns + (size_t)column;
}

/* A course's place in an array of rows x (columns + 1). */
static inline uint8_t *wall_panel_line(const WallPanel *w, uint8_t *array, int row)
{
    return array + (size_t)row * ((size_t)w->panel->columns + 1);
}

Status wall_panel_init(WallPanel *w, const Wall *wall, int panel, Fault *fault);
void wall_panel_clear(WallPanel *w);

/* Frees all but the courses: a panel that is laid needs no more. */
void wall_panel_finish(WallPanel *w);

/* The bricks of a panel that stand: its first courses, in building order. */
Status wall_panel_stand(WallPanel *w, const Brick *brick, size_t bricks, Fault *fault);

/* Puts another laying of a course in its place. */
Status wall_panel_put(WallPanel *w, int row, const Course *course, Fault *fault);

/* What a course is laid against; its parts are the panel's, until it is asked again. */
CourseBed wall_panel_bed(WallPanel *w, int row);

/* Sees, into w->parted, where joints go right through a course that was laid. */
void wall_panel_see_joints(WallPanel *w, int row);

/* Marks the courses within reach of this one to be laid anew. */
void wall_panel_mark(WallPanel *w, int row, int reach);

/* Takes a brick's units out of the course that the corbel sees. */
void wall_panel_take_units(WallPanel *w, const CourseBrick *brick);

/* What each unit of a course must show, without those of bricks that stay as they are, into
 * w->corbel.hue. */
void wall_panel_see_hues(WallPanel *w, int row);

/* Names the brick of each unit of a course. */
void wall_panel_view(const WallPanel *w, const Course *course, View *view);

#endif
