/* Picture: a reference, depth map or mask, opened and ready to be sampled.
 *
 * The format is told from the content: PNG, JPEG, TIFF, PNM, BMP, TGA, GIF (its first
 * frame). Pixels are decoded as the sampler pulls them. */
#ifndef ROWLOCK_PICTURE_PICTURE_H
#define ROWLOCK_PICTURE_PICTURE_H

#include "base/digest.h"
#include "base/status.h"
#include "base/voice.h"
#include "picture/profile.h"
#include "picture/source.h"

#include <math.h>

typedef struct PictureOptions {
    double limit_pixels; /* the most that a picture may claim */
    double limit_bytes;  /* the most that one that is held whole may take */
    uint8_t ground[3];   /* 8-bit sRGB, seen through transparent pixels */
    bool data;           /* no colour: codes are numbers, transparent ones 0 */
    bool exact;          /* colour JPEGs as 16 bits, as exactly as they were kept; held whole */
} PictureOptions;

#define PICTURE_OPTIONS_DEFAULT                                                                    \
    ((PictureOptions){.limit_pixels = 1e9,                                                         \
                      .limit_bytes = INFINITY,                                                     \
                      .ground = {255, 255, 255},                                                   \
                      .data = false,                                                               \
                      .exact = false})

typedef struct PictureFacts {
    char sha256[DIGEST_TEXT];   /* of the file */
    char profile[PROFILE_NAME]; /* its description, or how colour was told */
    long width, height;         /* pixels, upright */
} PictureFacts;

typedef struct Picture Picture;

/* Reads the head; "-" is standard input. What is assumed about colour is noted. The
 * voice must live as long as the picture. */
Status picture_open(Picture **picture_out, const char *path, const PictureOptions *options,
                    const Voice *voice, Fault *fault);
void picture_close(Picture *picture);

/* For the sampler; once. */
Source *picture_source(Picture *picture);

/* Upright pixels. */
long picture_width(const Picture *picture);
long picture_height(const Picture *picture);

/* What plan.json tells of a reference; reads to the end of the file. */
Status picture_finish(Picture *picture, PictureFacts *facts_out, Fault *fault);

#endif
