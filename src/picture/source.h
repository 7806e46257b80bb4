/* Source: rows of pixels that somebody can pull, from the top down, once, or that are all there.
 *
 * Rows are pulled as they are stored and made ready in a second step, so that one
 * thread can pull while others make ready. A ready pixel is `channels` colour
 * samples and then, if `alpha`, its coverage. Light is what the samples stand for,
 * linear so that it may be averaged:
 *     light = sum over channels of matrix[.][c] * curve[c][code]   (or the sample itself)
 * XYZ D50, or, where `data` is set, one number 0 to 1 in light[0]. */
#ifndef ROWLOCK_PICTURE_SOURCE_H
#define ROWLOCK_PICTURE_SOURCE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { SOURCE_MOST_CHANNELS = 3, SOURCE_MOST_SIDE = 1000000 };

typedef enum SampleDepth {
    DEPTH_8,    /* uint8_t codes */
    DEPTH_16,   /* uint16_t codes, this machine's byte order */
    DEPTH_FLOAT /* float, linear already; alpha 0 to 1 */
} SampleDepth;

typedef struct Source {
    void *self;
    /* Fills stored_bytes x rows; called from one thread at a time, but any. */
    Status (*pull)(void *self, int rows, uint8_t *stored_out, Fault *fault);
    /* Makes one row ready; NULL: it is ready as stored. Any thread, several at once. */
    void (*ready)(void *self, const uint8_t *stored, void *ready_out);

    /* Every row as it would be pulled, one after the other; NULL: they must be pulled. */
    const uint8_t *stored;

    const char *name;    /* for messages */
    long width, height;  /* as stored, 1 to SOURCE_MOST_SIDE */
    int orientation;     /* 1 to 8, as in Exif: how the stored picture is turned to be upright */
    size_t stored_bytes; /* of a row */

    SampleDepth depth;
    int channels; /* 1 to SOURCE_MOST_CHANNELS */
    bool alpha;   /* not multiplied into the colour samples */
    bool data;
    const double *curve[SOURCE_MOST_CHANNELS]; /* 256 or 65536 values; unused for DEPTH_FLOAT */
    double matrix[3][SOURCE_MOST_CHANNELS];
    double ground[3]; /* light of what lies under the picture */
} Source;

/* Exif 2.32, tag 0x0112: 5 to 8 swap rows and columns, 2 3 6 7 mirror left and right of
 * what that gives, 3 4 7 8 top and bottom. */
static inline bool source_transposed(const Source *source) { return source->orientation >= 5; }
static inline bool source_mirrored(const Source *source)
{
    return ((1 << source->orientation) & (1 << 2 | 1 << 3 | 1 << 6 | 1 << 7)) != 0;
}
static inline bool source_upended(const Source *source)
{
    return ((1 << source->orientation) & (1 << 3 | 1 << 4 | 1 << 7 | 1 << 8)) != 0;
}

/* The orientation of a picture that is turned so many quarters to the right and then, if `mirror`,
 * mirrored left and right. A turn swaps rows and columns and mirrors; of what was done before, what
 * mirrored left and right now does top and bottom, and the other way about. */
static inline int orientation_turned(int orientation, int quarters, bool mirror)
{
    static const int by_bits[2][2][2] = {{{1, 4}, {2, 3}}, {{5, 8}, {6, 7}}};
    const Source before = {.orientation = orientation};
    bool swapped = source_transposed(&before), mirrored = source_mirrored(&before);
    bool upended = source_upended(&before);
    for (int i = 0; i < quarters; i++) {
        const bool was = mirrored;
        swapped = !swapped;
        mirrored = !upended;
        upended = was;
    }
    return by_bits[swapped][mirrored != mirror][upended];
}

/* Pixels, upright. */
static inline long source_width(const Source *source)
{
    return source_transposed(source) ? source->height : source->width;
}
static inline long source_height(const Source *source)
{
    return source_transposed(source) ? source->width : source->height;
}

#endif
