/* Photo: a photograph in memory, as linear light, upright.
 *
 * What a colour camera wrote is taken back to light through the picture's own profile and stays in
 * the profile's own three primaries, because only there it can be seen that a channel was full.
 * Exif orientation is undone, transparency does not count. Row 0 is at the top and x goes to the
 * right, as in any program that shows a photograph; the pixel in column i and row j covers i to
 * i + 1 and j to j + 1, so that its middle is at i + 0.5, j + 0.5. */
#ifndef ROWLOCK_CAMERA_PHOTO_H
#define ROWLOCK_CAMERA_PHOTO_H

#include "base/status.h"
#include "base/voice.h"
#include "colour/colour.h"

#include <stddef.h>
#include <stdint.h>

enum { PHOTO_MOST_SIDE = 65535, PHOTO_FULL = 65535 };

typedef struct Photo {
    int width, height; /* upright, 1 to PHOTO_MOST_SIDE */
    uint16_t *light;   /* height x width x 3; PHOTO_FULL is the most that the file can hold */
    double xyz[3][3];  /* from linear light, 0 to 1, to XYZ D50: rows X, Y, Z */
    char *name;        /* of the file, for messages */
} Photo;

/* Reads PNG, JPEG, TIFF, BMP, TGA, GIF or PNM; "-" is standard input. `most_bytes` is what may be
 * taken for it, asked before any memory is. Notes what is assumed about colour. Faults: as of
 * picture_open; a picture without colour (STATUS_DATA); larger than may be taken
 * (STATUS_NO_RESOURCE); stopped. photo_clear also after a fault. */
Status photo_read(Photo *photo_out, const char *path, double most_bytes, const Voice *voice,
                  Fault *fault);

/* The same, and a JPEG's samples are not rounded to 8 bits on the way, which takes three to
 * nine times as long: where means of plain places are wanted. */
Status photo_read_exact(Photo *photo_out, const char *path, double most_bytes, const Voice *voice,
                        Fault *fault);

/* Room for a photograph of this size, black, in sRGB's primaries. photo_clear also after a
 * fault. */
Status photo_init(Photo *photo_out, int width, int height, const char *name, Fault *fault);
void photo_clear(Photo *photo);

/* The three channels of a pixel. */
static inline const uint16_t *photo_at(const Photo *photo, int column, int row)
{
    return photo->light + 3 * ((size_t)row * (size_t)photo->width + (size_t)column);
}

/* XYZ D50 of linear light, 0 to 1, in the photograph's primaries. */
Xyz photo_xyz(const Photo *photo, const double light[3]);

#endif
