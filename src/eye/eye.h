/* Eye: how far two faces differ to a viewer who stands back.
 *
 * S-CIELAB (Zhang & Wandell 1996, SID Symposium Digest 27:731-734): both faces become
 * three opponent planes in linear light, each plane is blurred as the eye blurs it at
 * that visual angle, and what is left is compared as Lab with CIEDE2000.
 *
 * eye_axis.h says how a face is blurred. */
#ifndef ROWLOCK_EYE_EYE_H
#define ROWLOCK_EYE_EYE_H

#include "base/status.h"
#include "base/voice.h"
#include "eye/eye_axis.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"

typedef struct Viewpoint {
    double cell_width_mm, cell_height_mm; /* of the face's cells, above 0 */
    double distance_mm;                   /* of the eye from the face; 0: no blur at all */
} Viewpoint;

/* Opponent values: planes 0 luminance, 1 red-green, 2 blue-yellow, linear in light. */
extern const double eye_xyz_from_opponent[3][3]; /* rows X, Y, Z */
void eye_from_xyz(Xyz xyz, double opponent_out[EYE_PLANES]);
Xyz eye_to_xyz(const double opponent[EYE_PLANES]);

typedef struct EyeResult {
    double mean, p95, max; /* CIEDE2000 over the samples */
} EyeResult;

/* How faces are compared. */
typedef struct EyeOptions {
    Viewpoint viewpoint;
    int threads;     /* below 1 counts as 1; never changes the result */
    float *cell_out; /* NULL, or one number a cell: the mean CIEDE2000 over the samples in it */
    const Voice
        *voice; /* once it is stopped, what comes out is of a part alone; NULL: nobody does */
} EyeOptions;

/* Compares two faces of the same size. Fault: no memory. */
Status eye_compare(const Image *reference, const Image *face, const EyeOptions *options,
                   EyeResult *result_out, Fault *fault);

/* The same for a face of bricks. */
Status eye_measure(const Image *reference, const Palette *palette, const Grid *grid,
                   const EyeOptions *options, EyeResult *result_out, Fault *fault);

/* A face ready to be compared, from one place after another. */
typedef struct EyeSide {
    const Image *image;       /* borrowed */
    float *plane[EYE_PLANES]; /* opponent, before the blur */
} EyeSide;

/* A voice that is stopped, NULL: none, leaves it in part. */
Status eye_side_init(EyeSide *side_out, const Image *image, int threads, const Voice *voice,
                     Fault *fault);
void eye_side_clear(EyeSide *side);

/* Compares a face with up to EYE_REFERENCES others; result_out has one for each. The means by
 * cell, where they are asked for, add up over the references. */
enum { EYE_REFERENCES = 2 };
Status eye_compare_sides(const EyeSide *const reference[], int references, const EyeSide *face,
                         const EyeOptions *options, EyeResult *result_out, Fault *fault);

/* The face as that eye sees it, at the resolution given. Cells of the viewpoint are the
 * face's pixels, so a face may be drawn at any scale, with its joints. Chroma is blurred as what
 * a colour has beyond the neutral of its luminance, so neutral edges stay neutral: the planes'
 * own zero is no neutral, and the kernels differ, which would draw coloured fringes (after the
 * planes of B. Kolpatzik and C. Bouman, J. Electronic Imaging 1(3), 1992, whose chroma is 0 at
 * the white; from memory). Beside hard edges colours may leave any gamut: see linear_into_gamut. */
Status eye_view(const Image *face, const Viewpoint *viewpoint, int threads, Image *view_out,
                Fault *fault);

/* The same row by row, so that no large face need be held in whole, before or after.
 * Several threads call both at once. */
typedef struct EyeRows {
    void *context;
    /* XYZ of a row's pixels, in `line` or wherever they are. */
    const float *(*give)(void *context, int row, float *line);
    void (*take)(void *context, int row, const float *xyz);
    const Voice *voice; /* once it is stopped, rows are left out; NULL: nobody does */
} EyeRows;

Status eye_view_rows(const EyeRows *face, int columns, int rows, const Viewpoint *viewpoint,
                     int threads, Fault *fault);

/* The face of a grid, one pixel a cell. */
Status eye_face(const Palette *palette, const Grid *grid, Image *face_out, Fault *fault);

#endif
