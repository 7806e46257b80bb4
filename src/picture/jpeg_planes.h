/* JPEG planes: the samples of a colour JPEG as its coefficients have them.
 *
 * The usual decoder rounds each plane to 8 bits and then the colours made of them again. In a
 * patch of one colour all blocks are rounded alike, so that a mean over it stays as wrong as a
 * pixel; by two steps of blue in the worst case. Here nothing is rounded before the end, which is
 * 16 bits. */
#ifndef ROWLOCK_PICTURE_JPEG_PLANES_H
#define ROWLOCK_PICTURE_JPEG_PLANES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <jpeglib.h>

typedef struct JpegPlanes JpegPlanes;

/* Whether a head that was read tells of light and two differences of colour, 8 bits each. */
bool jpeg_planes_can(const struct jpeg_decompress_struct *jpeg);

/* Room for its rows; NULL: no memory. To be freed before `jpeg` is destroyed, or after. */
JpegPlanes *jpeg_planes_create(const struct jpeg_decompress_struct *jpeg);
void jpeg_planes_free(JpegPlanes *planes);

/* The next row, from the top down, 3 x image_width of RGB, from what jpeg_read_coefficients gave.
 * May leave through libjpeg's error_exit. */
void jpeg_planes_row(JpegPlanes *planes, struct jpeg_decompress_struct *jpeg,
                     jvirt_barray_ptr *coefficients, uint16_t *rgb_out);

#endif
