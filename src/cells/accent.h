/* Accents: what is small and stands out from calm surroundings, a red dot, a lit window, a thin
 * arc. A mean over the face hardly notices that they are gone, a viewer does at once. */
#ifndef ROWLOCK_CELLS_ACCENT_H
#define ROWLOCK_CELLS_ACCENT_H

#include "base/status.h"
#include "eye/eye.h"
#include "model/image.h"

/* How far each cell is an accent to an eye at the viewpoint, 0 to 1: one float a cell. It is told
 * by the least of its differences from the means of squares around it, in eight directions, less
 * the least spread within these squares. An edge has its own side in one of the directions, a line
 * or a spot has not; of a texture all squares are spread. */
Status accent_find(const Image *target, const Viewpoint *viewpoint, int threads, const Voice *voice,
                   float *share_out, Fault *fault);

#endif
