/* Face pictures: how the finished mural looks, brick by brick. */
#ifndef ROWLOCK_OUTPUT_FACE_PICTURES_H
#define ROWLOCK_OUTPUT_FACE_PICTURES_H

#include "base/voice.h"
#include "figures/mural.h"
#include "output/paint.h"

/* Sides of a cell on which the brick of its face ends. */
enum { FACE_LEFT = 1, FACE_RIGHT = 2, FACE_BELOW = 4, FACE_ABOVE = 8 };

/* Which sides of each cell are its brick's, for the bricks that make up the face, or for each cell
 * by itself where no bricks are laid yet: rows x columns, memory_free frees it; NULL where there is
 * no memory. */
uint8_t *face_sides(const Mural *mural);

/* preview.png: every brick with its joints, a plaque's with its knobs. Six to 24 pixels
 * a cell, fewer where the face would pass 12000 pixels. */
Status face_pictures_preview(const Mural *mural, const PaintPlace *place, const Voice *voice,
                             Fault *fault);

/* proof.jpg: the face as the eye sees it from the job's distance, and close by with its joints,
 * one beside the other or, where it is wide, above it; small enough to mail. */
Status face_pictures_proof(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

/* A picture in memory, rows from the top, 3 bytes a pixel, sRGB. memory_free frees rgb. */
typedef struct FacePicture {
    int width, height;
    uint8_t *rgb;
} FacePicture;

/* The face as the eye sees it from the job's distance, about `most` pixels along its longer side.
 */
Status face_picture_far(FacePicture *picture_out, const Mural *mural, int most, const Voice *voice,
                        Fault *fault);

/* Its middle close by, brick by brick: at most `cells` columns of it, and as many rows as make
 * its shape that of `aspect`, height by width. */
Status face_picture_near(FacePicture *picture_out, const Mural *mural, int cells, double aspect,
                         const Voice *voice, Fault *fault);

/* distance.png: the face with its joints as the eye sees it from the job's distance. One
 * to six pixels a cell's width, about 1000 across: no larger on a screen than it needs to be. */
Status face_pictures_distance(const Mural *mural, const char *path, const Voice *voice,
                              Fault *fault);

#endif
