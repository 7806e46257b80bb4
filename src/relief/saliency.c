/* A cell's saliency is how far, in CIELAB, its colour is from the mean of its surroundings, summed
 * over three of them: the largest rectangle about the cell that the picture holds symmetrically,
 * and the parts of it within a quarter and an eighth of the picture. So a background that goes on
 * to the picture's edge is compared with itself, a subject with all of its background, and a face
 * with what is about it. A Gaussian about the middle of the picture follows.
 *
 * Most of a picture is no subject: what is no more salient than the mean is ground. The rest is
 * stretched, up to where a fiftieth of the cells lie beyond, and lightness takes the smaller part
 * of its height.
 *
 * All means are differences of four sums from the lower left (F. Crow, Computer Graphics 18(3),
 * 1984), so size costs nothing.
 *
 * Sources: R. Achanta, F. Estrada, P. Wils, S. Susstrunk, "Salient region detection and
 * segmentation", ICVS 2008 (the sum of distances in Lab over several surroundings); R. Achanta,
 * S. Susstrunk, "Saliency detection using maximum symmetric surround", ICIP 2010 (the largest);
 * the preference for the middle, T. Judd et al., "Learning to predict where humans look", ICCV
 * 2009. From memory. */
#include "relief/saliency.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

/* The blur that takes texture out: a square of this share of the longer side, as 5 is of 400. */
#define TEXTURE_SHARE (5.0 / 400.0)
/* By eye: of the Gaussian, in half widths and half heights; and lightness's part in the height. */
#define CENTRE_SIGMA 0.7
#define LIGHTNESS_PART 0.3
/* Distances in CIELAB below this are not seen, so they raise nothing. */
#define LEAST_SEEN 1.0

enum { BINS = 1024, TOP_SHARE = 50, SURROUNDS = 3 };

/* How far each reaches at most, in the picture's longer side. */
static const double reach[SURROUNDS] = {1.0, 0.25, 0.125};

typedef struct Saliency {
    const Image *image;
    double *sum[3]; /* of L, a, b: (columns + 1) x (rows + 1), all cells to the left and below */
    float *out;
    const Voice *voice;
} Saliency;

static void sum_colours(const Saliency *s)
{
    const size_t columns = (size_t)s->image->columns, across = columns + 1;
    for (int k = 0; k < 3; k++) memset(s->sum[k], 0, across * sizeof *s->sum[k]);
    for (size_t row = 0; row < (size_t)s->image->rows && !voice_stopped(s->voice); row++) {
        double along[3] = {0, 0, 0};
        const size_t first = (row + 1) * across;
        for (int k = 0; k < 3; k++) s->sum[k][first] = 0;
        for (size_t column = 0; column < columns; column++) {
            const Lab lab = lab_from_xyz(image_at(s->image, (int)column, (int)row));
            const double part[3] = {lab.L, lab.a, lab.b};
            for (int k = 0; k < 3; k++) {
                along[k] += part[k];
                s->sum[k][first + column + 1] = along[k] + s->sum[k][first + column + 1 - across];
            }
        }
    }
}

static int lesser(int a, int b) { return a < b ? a : b; }

/* Mean of the cells at most so far from a cell; the picture holds them. */
static void mean_about(const Saliency *s, int column, int row, int across, int up, double out[3])
{
    const size_t width = (size_t)s->image->columns + 1;
    const size_t low = (size_t)(row - up) * width, high = (size_t)(row + up + 1) * width;
    const size_t left = (size_t)(column - across), right = (size_t)(column + across + 1);
    const double cells = (2.0 * across + 1) * (2.0 * up + 1);
    for (int k = 0; k < 3; k++) {
        const double *sum = s->sum[k];
        out[k] =
            (sum[high + right] - sum[high + left] - sum[low + right] + sum[low + left]) / cells;
    }
}

static double contrast_at(const Saliency *s, int column, int row)
{
    const int columns = s->image->columns, rows = s->image->rows;
    const int longer = columns > rows ? columns : rows;
    const int across = lesser(column, columns - 1 - column), up = lesser(row, rows - 1 - row);
    const int blur = (int)(TEXTURE_SHARE * longer / 2 + 0.5);
    double own[3], about[3], sum = 0;
    mean_about(s, column, row, lesser(blur, across), lesser(blur, up), own);
    for (int i = 0; i < SURROUNDS; i++) {
        const int far = (int)(reach[i] * longer);
        mean_about(s, column, row, lesser(far, across), lesser(far, up), about);
        const double L = own[0] - about[0], a = own[1] - about[1], b = own[2] - about[2];
        sum += sqrt(L * L + a * a + b * b);
    }
    return sum / SURROUNDS;
}

static void find_saliency(const Saliency *s)
{
    const int columns = s->image->columns, rows = s->image->rows;
    float *to = s->out;
    for (int row = 0; row < rows && !voice_stopped(s->voice); row++)
        for (int column = 0; column < columns; column++) {
            const double x = (2.0 * column + 1) / columns - 1, y = (2.0 * row + 1) / rows - 1;
            const double centre = exp(-(x * x + y * y) / (2 * CENTRE_SIGMA * CENTRE_SIGMA));
            *to++ = (float)(centre * contrast_at(s, column, row));
        }
}

/* The value that a fiftieth of the cells exceed, to a bin. */
static double top_of(const float *value, size_t cells, double most)
{
    size_t count[BINS] = {0}, beyond = 0;
    for (size_t i = 0; i < cells; i++) count[(int)fmin(BINS - 1, (double)value[i] / most * BINS)]++;
    int bin = BINS - 1;
    while (bin > 0 && (beyond += count[bin]) <= cells / TOP_SHARE) bin--;
    return (bin + 1) * most / BINS;
}

/* Ground up to the mean, 1 from the top on. */
static void stretch_above_mean(float *value, size_t cells)
{
    double sum = 0, most = 0;
    for (size_t i = 0; i < cells; i++) {
        sum += (double)value[i];
        most = fmax(most, (double)value[i]);
    }
    const double mean = sum / (double)cells;
    if (!(most > mean) || most < LEAST_SEEN) {
        memset(value, 0, cells * sizeof *value);
        return;
    }
    const double top = top_of(value, cells, most);
    const double range = top > mean ? top - mean : most - mean;
    for (size_t i = 0; i < cells; i++)
        value[i] = (float)fmin(1, fmax(0, ((double)value[i] - mean) / range));
}

static void model_by_lightness(const Saliency *s, bool dark)
{
    float *to = s->out;
    for (int row = 0; row < s->image->rows && !voice_stopped(s->voice); row++)
        for (int column = 0; column < s->image->columns; column++) {
            const double L = lab_from_xyz(image_at(s->image, column, row)).L / 100;
            const double light = fmin(1, fmax(0, dark ? 1 - L : L));
            *to++ *= (float)(1 - LIGHTNESS_PART + LIGHTNESS_PART * light);
        }
}

Status saliency_depth(const Image *image, bool dark, float *out, const Voice *voice, Fault *fault)
{
    const size_t columns = (size_t)image->columns, rows = (size_t)image->rows;
    const size_t sums = (columns + 1) * (rows + 1);
    double *sum = memory_create(sums, 3 * sizeof *sum);
    if (!sum) return memory_fault(fault, sums, 3 * sizeof *sum);
    const Saliency s = {image, {sum, sum + sums, sum + 2 * sums}, out, voice};
    sum_colours(&s);
    find_saliency(&s);
    stretch_above_mean(out, columns * rows);
    model_by_lightness(&s, dark);
    memory_free(sum);
    return STATUS_OK;
}
