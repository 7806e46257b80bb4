/* Brick photo: a photograph of bricks beside a colour chart, of which a palette is made, as a task
 * of a looker. */
#ifndef ROWLOCK_DESK_BRICK_PHOTO_H
#define ROWLOCK_DESK_BRICK_PHOTO_H

#include "desk/commission.h"

/* The request's fields are those settings of the job: patches, the list itself, chart and grey; and
 * with stay, colours of the palette on the wall that were not measured stay in it. What is told is
 * {name, colours, notes}: the palette's name, as a change takes it, and its colours. NULL: the
 * fault says why. The commission is borrowed until the task is over. */
LookTask *brick_photo_create(const Commission *commission, const Ask *ask, Fault *fault);

#endif
