/* Colours are blurred before they are compared, since painters' brushes leave ridges a pixel wide
 * that are no outlines. */
#include "layers/lab_pixels.h"

#include "base/bands.h"
#include "base/memory.h"
#include "colour/lab_row.h"
#include "layers/gaussian.h"

#include <math.h>
#include <stdbool.h>

enum { BAND_ROWS = 16, PLANES = 7 };

Status lab_pixels_reserve(LabPixels *p, int columns, int rows, Fault *fault)
{
    *p = (LabPixels){.columns = columns, .rows = rows};
    /* What is made ready a lane at a time may reach beyond the last pixel. */
    const size_t count = lab_pixels_count(p), size = count + LAB_LANES;
    p->memory = memory_create(size, PLANES * sizeof *p->memory);
    if (!p->memory) return memory_fault(fault, size, PLANES * sizeof *p->memory);
    for (size_t k = 0; k < 3; k++) p->lab[k] = p->memory + k * size;
    p->right = p->memory + 3 * size;
    p->up = p->right + size;
    p->up_right = p->up + size;
    p->up_left = p->up_right + size;
    return STATUS_OK;
}

void lab_pixels_clear(LabPixels *p)
{
    memory_free(p->memory);
    *p = (LabPixels){0};
}

/* ---- colours ---- */

typedef struct Conversion {
    const Image *image;
    LabPixels *pixels;
} Conversion;

/* Some colours at a time, which need not keep to rows. */
static void convert_some(const float *xyz, int count, float *const lab[3])
{
    enum { SOME = 8 * LAB_LANES };
    static const double same[3][3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    float in[3][SOME], out[3][SOME];
    const float *plane[3] = {in[0], in[1], in[2]};
    const LabRow row = {out[0], out[1], out[2]};
    for (int begin = 0; begin < count; begin += SOME) {
        const int n = count - begin < SOME ? count - begin : SOME;
        for (int i = 0; i < SOME; i++)
            for (int k = 0; k < 3; k++) in[k][i] = i < n ? *xyz++ : 0;
        lab_row(same, plane, SOME, &row);
        for (int k = 0; k < 3; k++)
            for (int i = 0; i < n; i++) lab[k][begin + i] = out[k][i];
    }
}

static void convert_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Conversion *c = context;
    const size_t width = (size_t)c->image->columns;
    for (int row = begin; row < end; row++) {
        const size_t at = (size_t)row * width;
        float *const lab[3] = {c->pixels->lab[0] + at, c->pixels->lab[1] + at,
                               c->pixels->lab[2] + at};
        convert_some(c->image->xyz + 3 * at, c->image->columns, lab);
    }
}

Status lab_pixels_init(LabPixels *p, const Image *image, double sigma, int threads, Fault *fault)
{
    Status status = lab_pixels_reserve(p, image->columns, image->rows, fault);
    if (status) return status;
    Conversion conversion = {image, p};
    bands_run(threads, p->rows, BAND_ROWS, convert_rows, &conversion);
    for (int k = 0; !status && k < 3; k++)
        status = gaussian_blur(p->lab[k], p->columns, p->rows, sigma, threads, fault);
    if (!status) lab_pixels_compare(p, threads);
    return status;
}

/* ---- differences ---- */

static float difference(const LabPixels *p, size_t one, size_t other)
{
    const float L = p->lab[0][one] - p->lab[0][other], a = p->lab[1][one] - p->lab[1][other],
                b = p->lab[2][one] - p->lab[2][other];
    return sqrtf(L * L + (a * a + b * b));
}

static void compare_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    LabPixels *p = context;
    const size_t width = (size_t)p->columns;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < p->columns; column++) {
            const size_t at = (size_t)row * width + (size_t)column;
            const bool right = column + 1 < p->columns, up = row + 1 < p->rows;
            p->right[at] = right ? difference(p, at, at + 1) : 0;
            p->up[at] = up ? difference(p, at, at + width) : 0;
            p->up_right[at] = up && right ? difference(p, at, at + width + 1) : 0;
            p->up_left[at] = up && column ? difference(p, at, at + width - 1) : 0;
        }
}

void lab_pixels_compare(LabPixels *p, int threads)
{
    bands_run(threads, p->rows, BAND_ROWS, compare_rows, p);
}

/* ---- fewer ---- */

Status lab_pixels_halve(LabPixels *half, const LabPixels *p, int threads, Fault *fault)
{
    const Status status = lab_pixels_reserve(half, (p->columns + 1) / 2, (p->rows + 1) / 2, fault);
    if (status) return status;
    const size_t width = (size_t)p->columns;
    for (int row = 0; row < half->rows; row++)
        for (int column = 0; column < half->columns; column++) {
            const size_t at = 2 * (size_t)row * width + 2 * (size_t)column;
            const size_t right = at + (2 * column + 1 < p->columns);
            const size_t up = 2 * row + 1 < p->rows ? width : 0;
            const size_t to = (size_t)row * (size_t)half->columns + (size_t)column;
            for (int k = 0; k < 3; k++) {
                const float *from = p->lab[k];
                half->lab[k][to] =
                    0.25f * ((from[at] + from[right]) + (from[at + up] + from[right + up]));
            }
        }
    lab_pixels_compare(half, threads);
    return STATUS_OK;
}
