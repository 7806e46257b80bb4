/* The blur of eye_axis.h in single precision: down the columns four rows of cells at a time, then
 * along the row for all samples of one phase at a time, whose taps are the same. All parts of a
 * plane wait in lines of their own and are added up in registers. tests/eye/test_eye_speed holds
 * it against eye_blur_row. */
#include "eye/eye_blur.h"

#include "base/simd4.h"
#include "base/simd8.h"

#include <stdbool.h>

static int blocks_up(int n) { return (n + EYE_BLOCK - 1) / EYE_BLOCK * EYE_BLOCK; }

EyeRuns eye_runs(const EyeAxis *x)
{
    const bool wide = x->spacing.stride == 1;
    const int samples = wide ? x->cells : x->samples;
    return (EyeRuns){wide ? x->spacing.per_cell : 1, samples, blocks_up(samples)};
}

/* A line of blurred cells with its mirror images, of any part. */
static size_t line_size(const EyeAxis *x)
{
    int most = 0;
    for (int p = 0; p < EYE_PLANES; p++)
        for (int i = 0; i < EYE_PARTS; i++)
            if (x->reach[p][i] > most) most = x->reach[p][i];
    return (size_t)blocks_up(x->cells) + 2 * (size_t)most;
}

size_t eye_runs_scratch(const EyeAxis *x) { return EYE_PARTS * line_size(x); }

/* Adds four rows, each with its weight. */
static WIDE void add_rows(const float *const row[4], const float weight[4], int columns, float *to)
{
    const Simd8 w0 = simd8(weight[0]), w1 = simd8(weight[1]), w2 = simd8(weight[2]),
                w3 = simd8(weight[3]);
    int c = 0;
    for (; c + SIMD8 <= columns; c += SIMD8)
        simd8_put(to + c,
                  simd8_at(to + c) + ((w0 * simd8_at(row[0] + c) + w1 * simd8_at(row[1] + c)) +
                                      (w2 * simd8_at(row[2] + c) + w3 * simd8_at(row[3] + c))));
    for (; c < columns; c++)
        to[c] += (weight[0] * row[0][c] + weight[1] * row[1][c]) +
                 (weight[2] * row[2][c] + weight[3] * row[3][c]);
}

/* One part of one plane, down the columns, with its weight: line[reach + column]. */
static void weighted_part_down(const EyeAxis *x, const float *plane, const EyeColumnTaps *down,
                               const EyePart *part, float *line, int reach)
{
    const int columns = x->cells, deep = down->reach;
    float *inside = line + reach;
    memset(line, 0, line_size(x) * sizeof *line);
    for (int first = -deep; first <= deep; first += 4) {
        const float *from[4];
        float weight[4] = {0.0f};
        for (int j = 0; j < 4; j++) {
            const int k = first + j <= deep ? first + j : deep;
            from[j] = plane + (size_t)eye_fold(down->row + k, down->rows) * (size_t)columns;
            if (first + j <= deep) weight[j] = (float)(part->weight * down->taps[k + deep]);
        }
        add_rows(from, weight, columns, inside);
    }
    for (int k = 0; k < reach; k++) {
        line[k] = inside[eye_fold(k - reach, columns)];
        inside[columns + k] = inside[eye_fold(columns + k, columns)];
    }
}

/* The sum of the parts for samples of one phase. */
static WIDE void blur_run(const EyeAxis *x, const float *lines, int p, int phase, int pitch,
                          float *out)
{
    const size_t size = line_size(x);
    for (int cell = 0; cell < pitch; cell += EYE_BLOCK) {
        Simd8 s0 = simd8(0.0f), s1 = s0, s2 = s0, s3 = s0;
        const float *line = lines;
        for (int i = 0; i < EYE_PARTS && x->taps[p][i]; i++, line += size) {
            const int count = 2 * x->reach[p][i] + 1;
            const double *taps = x->taps[p][i] + (size_t)phase * (size_t)count;
            const float *from = line + cell;
            for (int k = 0; k < count; k++, from++) {
                const Simd8 w = simd8((float)taps[k]);
                s0 += w * simd8_at(from);
                s1 += w * simd8_at(from + 8);
                s2 += w * simd8_at(from + 16);
                s3 += w * simd8_at(from + 24);
            }
        }
        simd8_put(out + cell, s0);
        simd8_put(out + cell + 8, s1);
        simd8_put(out + cell + 16, s2);
        simd8_put(out + cell + 24, s3);
    }
}

/* Where samples are far apart the taps are many. */
static float blur_stride(const EyeAxis *x, const float *line, int p, int sample)
{
    Simd4 sum = simd4(0.0f);
    float rest = 0.0f;
    for (int i = 0; i < EYE_PARTS && x->taps[p][i]; i++, line += line_size(x)) {
        const int count = 2 * x->reach[p][i] + 1;
        const double *taps = eye_axis_taps(x, p, i, sample);
        const float *from = line + eye_axis_cell(x, sample);
        int k = 0;
        for (; k + 4 <= count; k += 4)
            sum += (Simd4){(float)taps[k], (float)taps[k + 1], (float)taps[k + 2],
                           (float)taps[k + 3]} *
                   (Simd4){from[k], from[k + 1], from[k + 2], from[k + 3]};
        for (; k < count; k++) rest += (float)taps[k] * from[k];
    }
    return (sum[0] + sum[1]) + (sum[2] + sum[3]) + rest;
}

static void blur_runs(const EyeAxis *x, const EyeRuns *r, const float *line, int p, float *out)
{
    if (x->spacing.stride > 1) {
        memset(out, 0, (size_t)r->pitch * sizeof *out);
        for (int i = 0; i < r->samples; i++) out[i] = blur_stride(x, line, p, i);
        return;
    }
    for (int phase = 0; phase < r->runs; phase++, out += r->pitch)
        blur_run(x, line, p, phase, r->pitch, out);
}

void eye_blur_runs(const EyeAxis *x, const EyeAxis *y, const float *const plane[EYE_PLANES],
                   int sample_row, float *scratch, float *const out[EYE_PLANES])
{
    const EyeRuns runs = eye_runs(x);
    for (int p = 0; p < EYE_PLANES; p++) {
        for (int i = 0; i < EYE_PARTS && x->taps[p][i]; i++) {
            const EyeColumnTaps down = eye_column_taps(y, p, i, sample_row);
            weighted_part_down(x, plane[p], &down, &eye_parts[p][i],
                               scratch + (size_t)i * line_size(x), x->reach[p][i]);
        }
        blur_runs(x, &runs, scratch, p, out[p]);
    }
}
