/* Mounting: what a panel carries behind its bricks, and is lifted and hung with. From the wall
 * outwards: a frame along its edges, with the fixings in its depth, a board, a base sheet.
 *
 * All 0 is a panel of bare bricks. */
#ifndef ROWLOCK_MODEL_MOUNTING_H
#define ROWLOCK_MODEL_MOUNTING_H

typedef struct Mounting {
    double sheet_kg_m2, sheet_mm; /* the base sheet of a plaque; 0 for a wall */
    double board_kg_m2, board_mm;
    double frame_kg_m, frame_mm; /* its run is the panel's circumference */
    double fixings_kg;           /* all of a panel's */
} Mounting;

/* Of a panel with these sides. */
double mounting_kg(const Mounting *mounting, double width_mm, double height_mm);

/* Kilograms times millimetres from the wall. */
double mounting_moment(const Mounting *mounting, double width_mm, double height_mm);

/* From the wall to the back of the bricks. */
double mounting_depth_mm(const Mounting *mounting);

#endif
