/* Eye axis: how cells along one axis of a face blur into samples of it.
 *
 * A face is constant over each cell, so a blur is a weighted sum of cells whose weights
 * are integrals of the kernel over each cell: exact at any spacing of samples, where a
 * kernel that is sampled itself needs many samples a degree to keep its volume. Beyond
 * the edges a face goes on as its mirror image. */
#ifndef ROWLOCK_EYE_EYE_AXIS_H
#define ROWLOCK_EYE_EYE_AXIS_H

#include "base/status.h"
#include "model/image.h"

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
int eye_axis_phases(const EyeAxis *axis);
int eye_axis_phase(const EyeAxis *axis, int sample);
const double *eye_axis_taps(const EyeAxis *axis, int plane, int part, int sample);

/* What a row of samples takes from the rows of cells around it, of one part of one plane. */
typedef struct EyeColumnTaps {
    const double *taps; /* 2 reach + 1, for the rows from row - reach on */
    int reach, row;     /* in cells; the row that the samples lie in */
    int rows;           /* of the face, beyond which it is mirrored */
} EyeColumnTaps;

EyeColumnTaps eye_column_taps(const EyeAxis *y, int plane, int part, int sample_row);

/* The cell that stands at `index` where the face goes on as its mirror image. */
int eye_fold(int index, int cells);

/* Blurs one row of samples, in double precision. plane[p] has y.cells rows of x.cells; out[p] gets
 * x.samples values. scratch has room for eye_blur_scratch(x) doubles. */
void eye_blur_row(const EyeAxis *x, const EyeAxis *y, const float *const plane[EYE_PLANES],
                  int sample_row, double *scratch, double *const out[EYE_PLANES]);
size_t eye_blur_scratch(const EyeAxis *x);

#endif
