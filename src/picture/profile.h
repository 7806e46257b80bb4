/* Profile: what the codes of a picture mean as light.
 *
 * Most profiles come down to a curve for each channel and a matrix: these become
 * tables that the sampler applies itself. All others convert each pixel.
 *
 * Intent: media-relative colorimetric, without black point compensation. White paper
 * becomes white; all else keeps its measured colour, because the bricks that it will
 * be matched to are measured too. */
#ifndef ROWLOCK_PICTURE_PROFILE_H
#define ROWLOCK_PICTURE_PROFILE_H

#include "base/status.h"
#include "base/voice.h"
#include "picture/source.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { PROFILE_NAME = 128 };

/* The value is the number of colour channels. */
typedef enum Model { MODEL_GREY = 1, MODEL_RGB = 3, MODEL_CMYK = 4 } Model;

/* Pixels as a decoder gives them: colour channels, then alpha. */
typedef struct PixelFormat {
    Model model;
    int bits;      /* 8 or 16 */
    bool alpha;    /* not multiplied into the colours */
    bool inverted; /* CMYK: 0 is all ink */
} PixelFormat;

/* What a file says of its colours. */
typedef struct ColourTags {
    uint8_t *icc; /* an ICC profile, or NULL */
    size_t icc_length;
    bool icc_broken; /* there is one, but not even its bytes are whole */
    bool cicp_given;
    uint8_t cicp[4]; /* ITU-T H.273: primaries, transfer, matrix, full range */
    bool srgb;
    double gamma; /* light to code, as in PNG's gAMA; 0: not given */
    bool chromaticities_given;
    double chromaticities[8]; /* x, y of white, red, green, blue */
} ColourTags;

typedef struct Profile {
    char name[PROFILE_NAME]; /* UTF-8: the profile's description, or how colour was told */
    PixelFormat format;
    /* Ready pixels, as in source.h. */
    SampleDepth depth;
    int channels;
    double *curve[SOURCE_MOST_CHANNELS]; /* the first may be all */
    double matrix[3][SOURCE_MOST_CHANNELS];
    enum { READY_AS_STORED, READY_BY_INKS, READY_BY_TRANSFORM } ready;
    void *context, *transform;
} Profile;

/* The best that the tags tell, in the order of PNG's third edition (W3C 2025): cICP,
 * ICC, sRGB, gamma and chromaticities; sRGB where they tell nothing. What is assumed or
 * passed over is said. `file` names the picture in messages. */
Status profile_init(Profile *profile_out, const ColourTags *tags, const PixelFormat *format,
                    const char *file, const Voice *voice, Fault *fault);

/* No colour at all: codes are numbers, 0 to 1; of RGB the luma of Rec. 709. */
Status profile_init_data(Profile *profile_out, const PixelFormat *format, Fault *fault);

void profile_clear(Profile *profile);

/* Makes `pixels` pixels ready; only where profile->ready is not READY_AS_STORED. Any
 * thread, several at once. */
void profile_ready(const Profile *profile, const void *stored, void *ready_out, long pixels);

#endif
