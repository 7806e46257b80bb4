/* Two published judges of pictures, worked out plainly, beside our own measures.
 *
 * FLIP: Andersson, Nilsson, Akenine-Moeller, Oskarsson, Aastroem, Fairchild, "FLIP: A Difference
 * Evaluator for Alternating Images", Proc. ACM Computer Graphics and Interactive Techniques 3(2),
 * 2020; the constants are the paper's, from memory. Both pictures are filtered by the eye's
 * contrast sensitivity in YCxCz, compared by HyAB in Hunt-adjusted CIELAB, that difference is
 * mapped to 0..1, and raised to the power 1 - d, d being how edges and points differ.
 *
 * SSIM: Wang, Bovik, Sheikh, Simoncelli, IEEE Trans. Image Processing 13(4), 2004:
 *     (2 mx my + c1)(2 sxy + c2) / ((mx^2 + my^2 + c1)(sx^2 + sy^2 + c2)),
 * c1 = (0.01 R)^2, c2 = (0.03 R)^2, Gaussian window of 11x11 with sigma 1.5; here over the
 * three opponent channels of CIELAB, L*, a* and b*, of what the eye sees, R = 100, one sample a
 * cell, the mean of the three. */
#ifndef ROWLOCK_TEST_JUDGES_H
#define ROWLOCK_TEST_JUDGES_H

#include "eye/eye.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- planes of numbers ---- */

typedef struct Field {
    int columns, rows;
    double *value;
} Field;

static inline Field field_of(int columns, int rows)
{
    const Field f = {columns, rows, calloc((size_t)columns * (size_t)rows, sizeof(double))};
    if (!f.value) abort();
    return f;
}

static inline size_t field_at(const Field *f, int column, int row)
{
    column = column < 0 ? 0 : column >= f->columns ? f->columns - 1 : column;
    row = row < 0 ? 0 : row >= f->rows ? f->rows - 1 : row;
    return (size_t)row * (size_t)f->columns + (size_t)column;
}

/* Convolved along the row and up the column with kernels of 2 radius + 1; edges go on. */
static inline Field field_filtered(const Field *f, const double *across, const double *up,
                                   int radius)
{
    Field half = field_of(f->columns, f->rows), out = field_of(f->columns, f->rows);
    for (int pass = 0; pass < 2; pass++)
        for (int row = 0; row < f->rows; row++)
            for (int column = 0; column < f->columns; column++) {
                double sum = 0.0;
                for (int k = -radius; k <= radius; k++)
                    sum += pass ? up[k + radius] * half.value[field_at(f, column, row + k)]
                                : across[k + radius] * f->value[field_at(f, column + k, row)];
                (pass ? &out : &half)->value[field_at(f, column, row)] = sum;
            }
    free(half.value);
    return out;
}

/* ---- FLIP ---- */

enum { JUDGE_RADIUS = 64 }; /* pixels, at most */

/* Linear sRGB by XYZ of D65, IEC 61966-2-1, and back. */
static const double judge_xyz_of[3][3] = {{0.4124564, 0.3575761, 0.1804375},
                                          {0.2126729, 0.7151522, 0.0721750},
                                          {0.0193339, 0.1191920, 0.9503041}};
static const double judge_rgb_of[3][3] = {{3.2404542, -1.5371385, -0.4985314},
                                          {-0.9692660, 1.8760108, 0.0415560},
                                          {0.0556434, -0.2040259, 1.0572252}};
static const double judge_white[3] = {0.950470, 1.0, 1.088830};

static inline void judge_times(const double m[3][3], const double v[3], double out[3])
{
    for (int i = 0; i < 3; i++) out[i] = m[i][0] * v[0] + m[i][1] * v[1] + m[i][2] * v[2];
}

static inline double judge_clamp(double x) { return x < 0.0 ? 0.0 : x > 1.0 ? 1.0 : x; }

static inline double judge_cube(double t)
{
    return t > 216.0 / 24389.0 ? cbrt(t) : (24389.0 / 27.0 * t + 16.0) / 116.0;
}

/* CIELAB of linear sRGB, chroma after Hunt: times 0.01 L. */
static inline void judge_hunt_lab(const double rgb[3], double lab[3])
{
    double xyz[3], f[3];
    judge_times(judge_xyz_of, rgb, xyz);
    for (int i = 0; i < 3; i++) f[i] = judge_cube(xyz[i] / judge_white[i]);
    lab[0] = 116.0 * f[1] - 16.0;
    lab[1] = 0.01 * lab[0] * 500.0 * (f[0] - f[1]);
    lab[2] = 0.01 * lab[0] * 200.0 * (f[1] - f[2]);
}

static inline double judge_hyab(const double one[3], const double two[3])
{
    return fabs(one[0] - two[0]) + hypot(one[1] - two[1], one[2] - two[2]);
}

/* YCxCz, `scale` pixels a cell each way. */
static inline void judge_planes(const Image *image, int scale, Field plane[3])
{
    for (int p = 0; p < 3; p++) plane[p] = field_of(image->columns * scale, image->rows * scale);
    for (int row = 0; row < image->rows * scale; row++)
        for (int column = 0; column < image->columns * scale; column++) {
            const Rgb c = linear_from_xyz(image_at(image, column / scale, row / scale));
            const double rgb[3] = {judge_clamp(c.r), judge_clamp(c.g), judge_clamp(c.b)};
            double xyz[3];
            judge_times(judge_xyz_of, rgb, xyz);
            for (int i = 0; i < 3; i++) xyz[i] /= judge_white[i];
            const size_t at = field_at(&plane[0], column, row);
            plane[0].value[at] = 116.0 * xyz[1] - 16.0;
            plane[1].value[at] = 500.0 * (xyz[0] - xyz[1]);
            plane[2].value[at] = 200.0 * (xyz[1] - xyz[2]);
        }
}

/* exp(-pi^2 x^2 / b), x in degrees, adding up to 1. */
static inline void judge_gauss(double b, double per_degree, int radius, double *kernel)
{
    double sum = 0.0;
    for (int k = -radius; k <= radius; k++) {
        const double x = acos(-1.0) * k / per_degree;
        sum += kernel[k + radius] = exp(-x * x / b);
    }
    for (int k = 0; k <= 2 * radius; k++) kernel[k] /= sum;
}

/* The sensitivity of a channel: a sum of two Gaussians in the plane. */
static inline Field judge_seen(const Field *plane, int channel, double per_degree)
{
    static const double a[3][2] = {{1.0, 0.0}, {1.0, 0.0}, {34.1, 13.5}};
    static const double b[3][2] = {{0.0047, 1e-5}, {0.0053, 1e-5}, {0.04, 0.025}};
    const double pi = acos(-1.0);
    const int wanted = (int)ceil(3.0 * sqrt(0.04 / (2.0 * pi * pi)) * per_degree);
    const int radius = wanted < JUDGE_RADIUS ? wanted : JUDGE_RADIUS;
    double kernel[2 * JUDGE_RADIUS + 1], volume[2], sum = 0.0;
    Field out = field_of(plane->columns, plane->rows);
    /* In the plane a Gaussian a sqrt(pi / b) exp(-pi^2 r^2 / b) has the volume a sqrt(b / pi). */
    for (int i = 0; i < 2; i++) sum += volume[i] = a[channel][i] * sqrt(b[channel][i] / pi);
    for (int i = 0; i < 2 && volume[i] > 0.0; i++) {
        judge_gauss(b[channel][i], per_degree, radius, kernel);
        Field part = field_filtered(plane, kernel, kernel, radius);
        for (size_t k = 0; k < (size_t)out.columns * (size_t)out.rows; k++)
            out.value[k] += volume[i] / sum * part.value[k];
        free(part.value);
    }
    return out;
}

/* Hunt-adjusted CIELAB of the filtered picture, in place. */
static inline void judge_colours(Field seen[3])
{
    for (size_t k = 0; k < (size_t)seen[0].columns * (size_t)seen[0].rows; k++) {
        const double y = (seen[0].value[k] + 16.0) / 116.0;
        const double xyz[3] = {(y + seen[1].value[k] / 500.0) * judge_white[0], y,
                               (y - seen[2].value[k] / 200.0) * judge_white[2]};
        double rgb[3], lab[3];
        judge_times(judge_rgb_of, xyz, rgb);
        for (int i = 0; i < 3; i++) rgb[i] = judge_clamp(rgb[i]);
        judge_hunt_lab(rgb, lab);
        for (int i = 0; i < 3; i++) seen[i].value[k] = lab[i];
    }
}

/* Size of the answer to an edge (order 1) or a point (order 2) detector on lightness. */
static inline Field judge_feature(const Field *lightness, int order, double per_degree)
{
    const double sigma = 0.5 * 0.082 * per_degree;
    const int wanted = (int)ceil(3.0 * sigma);
    const int radius = wanted < JUDGE_RADIUS ? wanted : JUDGE_RADIUS;
    double smooth[2 * JUDGE_RADIUS + 1], slope[2 * JUDGE_RADIUS + 1], sum = 0.0;
    double above = 0.0, below = 0.0;
    for (int k = -radius; k <= radius; k++) {
        const double g = exp(-0.5 * k * k / (sigma * sigma));
        sum += smooth[k + radius] = g;
        slope[k + radius] = order == 1 ? -k * g : (k * k / (sigma * sigma) - 1.0) * g;
        *(slope[k + radius] > 0.0 ? &above : &below) += slope[k + radius];
    }
    for (int k = 0; k <= 2 * radius; k++) {
        smooth[k] /= sum;
        slope[k] /= slope[k] > 0.0 ? above : -below;
    }
    Field x = field_filtered(lightness, slope, smooth, radius);
    Field y = field_filtered(lightness, smooth, slope, radius);
    for (size_t k = 0; k < (size_t)x.columns * (size_t)x.rows; k++)
        x.value[k] = hypot(x.value[k], y.value[k]);
    free(y.value);
    return x;
}

typedef struct JudgedSide {
    Field seen[3], edge, point;
} JudgedSide;

static inline JudgedSide judged_side(const Image *image, int scale, double per_degree)
{
    JudgedSide s;
    Field plane[3];
    judge_planes(image, scale, plane);
    for (int p = 0; p < 3; p++) s.seen[p] = judge_seen(&plane[p], p, per_degree);
    judge_colours(s.seen);
    for (size_t k = 0; k < (size_t)plane[0].columns * (size_t)plane[0].rows; k++)
        plane[0].value[k] = (plane[0].value[k] + 16.0) / 116.0;
    s.edge = judge_feature(&plane[0], 1, per_degree);
    s.point = judge_feature(&plane[0], 2, per_degree);
    for (int p = 0; p < 3; p++) free(plane[p].value);
    return s;
}

static inline void judged_clear(JudgedSide *s)
{
    for (int p = 0; p < 3; p++) free(s->seen[p].value);
    free(s->edge.value);
    free(s->point.value);
}

/* The mean over pixels, `scale` a cell each way. */
static inline double judge_flip(const Image *reference, const Image *face, Viewpoint view)
{
    static const double green[3] = {0, 1, 0}, blue[3] = {0, 0, 1};
    const double qc = 0.7, pc = 0.4, pt = 0.95;
    const double cell = eye_degrees(view.cell_width_mm, view.distance_mm);
    const int scale = 30.0 * cell < 1.0 ? 1 : 30.0 * cell > 4.0 ? 4 : (int)ceil(30.0 * cell);
    double labs[2][3], sum = 0.0;
    judge_hunt_lab(green, labs[0]);
    judge_hunt_lab(blue, labs[1]);
    const double most = pow(judge_hyab(labs[0], labs[1]), qc), knee = pc * most;
    JudgedSide a = judged_side(reference, scale, scale / cell);
    JudgedSide b = judged_side(face, scale, scale / cell);
    const size_t pixels = (size_t)a.edge.columns * (size_t)a.edge.rows;
    for (size_t k = 0; k < pixels; k++) {
        const double one[3] = {a.seen[0].value[k], a.seen[1].value[k], a.seen[2].value[k]};
        const double two[3] = {b.seen[0].value[k], b.seen[1].value[k], b.seen[2].value[k]};
        const double c = pow(judge_hyab(one, two), qc);
        const double colour =
            c < knee ? pt / knee * c : pt + (c - knee) / (most - knee) * (1.0 - pt);
        const double edge = fabs(a.edge.value[k] - b.edge.value[k]);
        const double point = fabs(a.point.value[k] - b.point.value[k]);
        sum += pow(colour, 1.0 - sqrt(fmax(edge, point) / sqrt(2.0)));
    }
    judged_clear(&a);
    judged_clear(&b);
    return sum / (double)pixels;
}

/* ---- SSIM ---- */

static inline void judge_lab(const Image *image, Field plane[3])
{
    for (int p = 0; p < 3; p++) plane[p] = field_of(image->columns, image->rows);
    for (int row = 0; row < image->rows; row++)
        for (int column = 0; column < image->columns; column++) {
            const Lab lab = lab_from_xyz(image_at(image, column, row));
            const double v[3] = {lab.L, lab.a, lab.b};
            for (int p = 0; p < 3; p++) plane[p].value[field_at(&plane[p], column, row)] = v[p];
        }
}

static inline Field judge_mean(const Field *one, const Field *two)
{
    double kernel[11], sum = 0.0;
    for (int k = -5; k <= 5; k++) sum += kernel[k + 5] = exp(-0.5 * k * k / (1.5 * 1.5));
    for (int k = 0; k < 11; k++) kernel[k] /= sum;
    Field product = field_of(one->columns, one->rows);
    for (size_t k = 0; k < (size_t)one->columns * (size_t)one->rows; k++)
        product.value[k] = one->value[k] * (two ? two->value[k] : 1.0);
    Field mean = field_filtered(&product, kernel, kernel, 5);
    free(product.value);
    return mean;
}

static inline double judge_ssim_plane(const Field *x, const Field *y)
{
    const double c1 = 1.0, c2 = 9.0; /* (0.01 x 100)^2, (0.03 x 100)^2 */
    Field m[5] = {judge_mean(x, NULL), judge_mean(y, NULL), judge_mean(x, x), judge_mean(y, y),
                  judge_mean(x, y)};
    double sum = 0.0;
    const size_t cells = (size_t)x->columns * (size_t)x->rows;
    for (size_t k = 0; k < cells; k++) {
        const double mx = m[0].value[k], my = m[1].value[k];
        const double sx = m[2].value[k] - mx * mx, sy = m[3].value[k] - my * my;
        const double sxy = m[4].value[k] - mx * my;
        sum +=
            (2.0 * mx * my + c1) * (2.0 * sxy + c2) / ((mx * mx + my * my + c1) * (sx + sy + c2));
    }
    for (int i = 0; i < 5; i++) free(m[i].value);
    return sum / (double)cells;
}

/* 1 where what the eye sees is the same. */
static inline double judge_ssim(const Image *reference, const Image *face, Viewpoint view)
{
    Image seen[2];
    Field plane[2][3];
    double sum = 0.0;
    if (eye_view(reference, &view, 1, &seen[0], NULL) || eye_view(face, &view, 1, &seen[1], NULL))
        abort();
    for (int i = 0; i < 2; i++) judge_lab(&seen[i], plane[i]);
    for (int p = 0; p < 3; p++) sum += judge_ssim_plane(&plane[0][p], &plane[1][p]) / 3.0;
    for (int i = 0; i < 2; i++) {
        for (int p = 0; p < 3; p++) free(plane[i][p].value);
        image_clear(&seen[i]);
    }
    return sum;
}

#endif
