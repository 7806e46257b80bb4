/* Exif: of all that a camera tells in a picture's Exif block, the one thing that a
 * mural needs: which way up it is. */
#ifndef ROWLOCK_PICTURE_EXIF_H
#define ROWLOCK_PICTURE_EXIF_H

#include <stddef.h>
#include <stdint.h>

/* Exif 2.32, tag 0x0112 of the first directory, 1 to 8; 1 where it is absent or makes no
 * sense. `block` starts with the byte order, "II" or "MM". */
int exif_orientation(const uint8_t *block, size_t length);

#endif
