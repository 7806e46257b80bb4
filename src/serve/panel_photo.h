/* Panel photo: a photograph of a panel that is held to its plan, as a task of a looker. */
#ifndef ROWLOCK_SERVE_PANEL_PHOTO_H
#define ROWLOCK_SERVE_PANEL_PHOTO_H

#include "serve/looker.h"

/* Of the plan in the folder; the request's fields are panel, to and sheet, as RowlockInspection has
 * them, and corners, "x,y,x,y,x,y,x,y" or none. What is told is {corners: [[x, y], ...], bricks:
 * [[BRICK, ROW, COLUMN, VERDICT, LOOKS, RIGHT, UP, OBSTACLE, ROWS, COLUMNS, SIZE, COLOUR], ...],
 * notes}, LOOKS an id or null. NULL: the fault says what the request lacks. */
LookTask *panel_photo_create(const char *folder, const Ask *ask, Fault *fault);

#endif
