/* Tone: brings a reference into what a palette can show.
 *
 * Mixed by the eye, bricks can show the convex hull of the palette in linear light and
 * nothing beyond. A reference outside of it would leave an error that no choice of cells
 * can undo, so its black and white, where they lie beyond, go to the palette's darkest and
 * lightest neutral (a straight line in Y, after the manner of ICC black-point compensation), and
 * its chroma is drawn in, at the same luminance and hue, where it comes near the hull.
 *
 * An end that the palette can show stays where it is: pale paper that is dimmed without need is
 * nearer to tan bricks than to white ones. */
#ifndef ROWLOCK_CELLS_TONE_H
#define ROWLOCK_CELLS_TONE_H

#include "base/status.h"
#include "base/voice.h"
#include "model/image.h"
#include "model/palette.h"

/* The palette's range of luminance, 0 to 1, taken from its neutrals if it has any. */
typedef struct ToneRange {
    double black, white;
} ToneRange;

ToneRange tone_range(const Palette *palette);

/* The range of a picture's luminance, limited to 0 to 1; a thousandth of the cells may lie below
 * and as many above. */
ToneRange tone_picture_range(const Image *image);

/* fitted_out is a new image. */
Status tone_fit(const Image *image, const Palette *palette, int threads, const Voice *voice,
                Image *fitted_out, Fault *fault);

#endif
