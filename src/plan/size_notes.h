/* Size notes: what the mural's size means for what is seen on it, where that may surprise. */
#ifndef ROWLOCK_PLAN_SIZE_NOTES_H
#define ROWLOCK_PLAN_SIZE_NOTES_H

#include "plan/brief.h"
#include "relief/depth.h"

/* A picture that is enlarged, faces too small for their eyes, a part that is cut off: a line each,
 * with the mend. */
void size_notes_say(const Brief *brief, const DepthFrame *frame);

#endif
