/* Along the rows first, then across them. Taps that lie alike on either side are added before
 * they are weighted, so that a mirrored plane gives the mirrored result, bit for bit. */
#include "layers/gaussian.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/simd8.h"

#include <math.h>
#include <string.h>

enum { RADIUS_MOST = 256, BAND_ROWS = 16 };

typedef struct Blur {
    float *plane, *half; /* half: blurred along the rows */
    float *line;         /* a row with its margins, for each worker */
    size_t line_size;
    int columns, rows, radius;
    float tap[RADIUS_MOST + 1]; /* from the middle outward */
} Blur;

static void set_taps(Blur *b, double sigma)
{
    double sum = 0;
    b->radius = (int)fmin(ceil(3 * sigma), RADIUS_MOST);
    for (int k = 0; k <= b->radius; k++) sum += (k ? 2 : 1) * exp(-0.5 * k * k / (sigma * sigma));
    for (int k = 0; k <= b->radius; k++)
        b->tap[k] = (float)(exp(-0.5 * k * k / (sigma * sigma)) / sum);
}

/* out = sum over taps of what lies that many rows of `stride` to either side. */
WIDE static void weigh(const float *tap, int radius, const float *const *row, float *out,
                       size_t count)
{
    for (size_t i = 0; i < count; i += SIMD8) {
        Simd8 sum = simd8(tap[0]) * simd8_at(row[0] + i);
        for (int k = 1; k <= radius; k++)
            sum += simd8(tap[k]) * (simd8_at(row[2 * k - 1] + i) + simd8_at(row[2 * k] + i));
        simd8_put(out + i, sum);
    }
}

/* The same at a single place. */
static float weigh_one(const Blur *b, const float *const *row, size_t i)
{
    float sum = b->tap[0] * row[0][i];
    for (int k = 1; k <= b->radius; k++) sum += b->tap[k] * (row[2 * k - 1][i] + row[2 * k][i]);
    return sum;
}

static void weigh_row(const Blur *b, const float *const *row, float *out)
{
    const size_t whole = (size_t)b->columns / SIMD8 * SIMD8;
    weigh(b->tap, b->radius, row, out, whole);
    for (size_t i = whole; i < (size_t)b->columns; i++) out[i] = weigh_one(b, row, i);
}

static void blur_along(void *context, int begin, int end, int worker)
{
    const Blur *b = context;
    const size_t width = (size_t)b->columns;
    float *line = b->line + (size_t)worker * b->line_size, *middle = line + b->radius;
    const float *row[2 * RADIUS_MOST + 1] = {middle};
    for (int k = 1; k <= b->radius; k++) row[2 * k - 1] = middle - k, row[2 * k] = middle + k;
    for (int y = begin; y < end; y++) {
        const float *from = b->plane + (size_t)y * width;
        memcpy(middle, from, width * sizeof *middle);
        for (int k = 1; k <= b->radius; k++) {
            middle[-k] = from[0];
            middle[width - 1 + (size_t)k] = from[width - 1];
        }
        weigh_row(b, row, b->half + (size_t)y * width);
    }
}

static const float *half_row(const Blur *b, int y)
{
    const int last = b->rows - 1;
    return b->half + (size_t)(y < 0 ? 0 : y > last ? last : y) * (size_t)b->columns;
}

static void blur_across(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Blur *b = context;
    const float *row[2 * RADIUS_MOST + 1];
    for (int y = begin; y < end; y++) {
        row[0] = half_row(b, y);
        for (int k = 1; k <= b->radius; k++) {
            row[2 * k - 1] = half_row(b, y - k);
            row[2 * k] = half_row(b, y + k);
        }
        weigh_row(b, row, b->plane + (size_t)y * (size_t)b->columns);
    }
}

Status gaussian_blur(float *plane, int columns, int rows, double sigma, int threads, Fault *fault)
{
    Blur b = {.plane = plane, .columns = columns, .rows = rows};
    const size_t points = (size_t)columns * (size_t)rows;
    if (!(sigma > 0)) return STATUS_OK;
    if (threads > BANDS_MOST_THREADS) threads = BANDS_MOST_THREADS;
    set_taps(&b, sigma);
    b.line_size = (size_t)columns + 2 * (size_t)b.radius;
    b.half = memory_create(points, sizeof *b.half);
    b.line = memory_create((size_t)threads * b.line_size, sizeof *b.line);
    const Status status =
        b.half && b.line ? STATUS_OK : memory_fault(fault, points, sizeof *b.half);
    if (!status) {
        bands_run(threads, rows, BAND_ROWS, blur_along, &b);
        bands_run(threads, rows, BAND_ROWS, blur_across, &b);
    }
    memory_free(b.half);
    memory_free(b.line);
    return status;
}
