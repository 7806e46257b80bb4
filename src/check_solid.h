/* Check of the solid: cells.png and steps.png fit the plan, panels tile the mural,
 * and the bricks of bricks.csv fill the solid as the cells say. */
#ifndef ROWLOCK_CHECK_SOLID_H
#define ROWLOCK_CHECK_SOLID_H

#include "evidence.h"

Status check_face(Evidence *e, Fault *fault);   /* sets faced */
Status check_plots(Evidence *e, Fault *fault);  /* sets tiled */
Status check_blocks(Evidence *e, Fault *fault); /* sets read and sound */

#endif
