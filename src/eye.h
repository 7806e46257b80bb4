/* Eye: how far two faces differ to a viewer who stands back.
 *
 * S-CIELAB (Zhang & Wandell 1996, SID Symposium Digest 27:731-734): both faces become
 * three opponent planes in linear light, each plane is blurred as the eye blurs it at
 * that visual angle, and what is left is compared as Lab with CIEDE2000.
 *
 * A face is constant over each cell, so a blur is a weighted sum of cells whose
 * weights are integrals of the kernel over each cell: exact at any spacing of samples,
 * where a kernel that is sampled itself needs many samples a degree to keep its volume.
 * Beyond the edges a face goes on as its mirror image. */
#ifndef ROWLOCK_EYE_H
#define ROWLOCK_EYE_H

#include "grid.h"
#include "image.h"
#include "palette.h"
#include "status.h"

typedef struct Viewpoint {
    double cell_width_mm, cell_height_mm; /* of the face's cells, above 0 */
    double distance_mm;                   /* of the eye from the face; 0: no blur at all */
} Viewpoint;

/* The planes: 0 luminance, 1 red-green, 2 blue-yellow. */
enum { EYE_PLANES = 3, EYE_PARTS = 3 };

/* A kernel is a sum of exp(-r^2 / sigma^2), each of unit volume within its support
 * before it is weighted. Weights of a plane add up to 1; a weight of 0 ends the list. */
typedef struct EyePart {
    double weight;
    double sigma; /* degrees of visual angle; not a standard deviation, which is sigma / sqrt 2 */
} EyePart;

extern const EyePart eye_parts[EYE_PLANES][EYE_PARTS];

/* Kernels are cut to a square of this width, degrees. */
#define EYE_SUPPORT 1.0

void eye_from_xyz(Xyz xyz, double opponent_out[EYE_PLANES]);
Xyz eye_to_xyz(const double opponent[EYE_PLANES]);

/* Visual angle, in degrees, of a length seen square on. */
double eye_degrees(double length_mm, double distance_mm);

/* Weights, along one axis, of cells -reach to reach for a sample that lies `offset` cells
 * from the middle of cell 0: integrals of a part over each cell, within `support` degrees,
 * scaled to add up to 1. tap_out has 2 reach + 1 items. */
void eye_taps(double sigma, double cell_degrees, double offset, double support, int reach,
              double *tap_out);

/* The least reach that loses nothing of a part for samples up to `offset` cells off. */
int eye_reach(double sigma, double cell_degrees, double offset, double support);

/* Where samples lie along one axis: `per_cell` in each cell where a cell is wide to the
 * eye, else one in the middle of each `stride` cells. */
enum { EYE_MOST_PER_CELL = 8 };
typedef struct EyeSpacing {
    int per_cell, stride; /* one of them is 1; per_cell at most EYE_MOST_PER_CELL */
} EyeSpacing;

/* As many as a mean over the face needs; see eye_axis_init_mean. */
EyeSpacing eye_spacing(double cell_degrees);

/* The weights along one axis. Sample i lies in cell eye_axis_cell(i) and uses the taps of
 * its phase: its place in the cell, or in the stride. */
typedef struct EyeAxis {
    int cells, samples;
    EyeSpacing spacing;
    int last;                            /* cells in the last stride */
    double offset[EYE_MOST_PER_CELL];    /* of a phase, from the middle of its cell, in cells */
    double share[EYE_MOST_PER_CELL];     /* cells that a sample of the phase stands for */
    int reach[EYE_PLANES][EYE_PARTS];    /* in cells */
    double *taps[EYE_PLANES][EYE_PARTS]; /* phases x (2 reach + 1) */
} EyeAxis;

/* Samples in a cell are evenly spaced, each for the same share of it; or, for a mean, they
 * are closer to each other near the cell's edges, where a face of wide cells changes. */
Status eye_axis_init(EyeAxis *axis, int cells, double cell_degrees, EyeSpacing spacing,
                     Fault *fault);
Status eye_axis_init_mean(EyeAxis *axis, int cells, double cell_degrees, EyeSpacing spacing,
                          Fault *fault);
void eye_axis_clear(EyeAxis *axis);
int eye_axis_cell(const EyeAxis *axis, int sample);
int eye_axis_phase(const EyeAxis *axis, int sample);
const double *eye_axis_taps(const EyeAxis *axis, int plane, int part, int sample);

/* The cell that stands at `index` where the face goes on as its mirror image. */
int eye_fold(int index, int cells);

/* Blurs one row of samples. plane[p] has y.cells rows of x.cells; out[p] gets x.samples
 * values. scratch has room for eye_blur_scratch(x) doubles. */
void eye_blur_row(const EyeAxis *x, const EyeAxis *y, const float *const plane[EYE_PLANES],
                  int sample_row, double *scratch, double *const out[EYE_PLANES]);
size_t eye_blur_scratch(const EyeAxis *x);

typedef struct EyeResult {
    double mean, p95, max; /* CIEDE2000 over the samples */
} EyeResult;

/* Compares two faces of the same size. cell_out, where it is not NULL, has one float a
 * cell: the mean over the samples in it. */
Status eye_compare(const Image *reference, const Image *face, const Viewpoint *viewpoint,
                   int threads, EyeResult *result_out, float *cell_out, Fault *fault);

/* The same for a face of bricks. */
Status eye_measure(const Image *reference, const Palette *palette, const Grid *grid,
                   const Viewpoint *viewpoint, int threads, EyeResult *result_out, float *cell_out,
                   Fault *fault);

/* The face as that eye sees it, at the resolution given. Cells of the viewpoint are the
 * face's pixels, so a face may be drawn at any scale, with its joints. Colours that no
 * light has, which the kernels' negative lobe can make at hard edges, are cut off at 0. */
Status eye_view(const Image *face, const Viewpoint *viewpoint, int threads, Image *view_out,
                Fault *fault);

/* The face of a grid, one pixel a cell. */
Status eye_face(const Palette *palette, const Grid *grid, Image *face_out, Fault *fault);

#endif
