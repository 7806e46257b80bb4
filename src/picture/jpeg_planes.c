/* Of each plane two rows of blocks are held at a time, as samples: a row of the picture lies
 * between two rows of samples at most. Where a plane has fewer samples than the picture has pixels,
 * what lies between is drawn straight from one sample's middle to the next.
 *
 * Sources: ITU-T T.81, A.3.3 (the inverse transform) and A.3.4; the siting of samples and the
 * colours as ITU-T T.871 (JFIF), 6 and 7. */
#include "picture/jpeg_planes.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

enum { PLANES = 3, SIDE = DCTSIZE, HELD = 2 };

/* Where pixels lie among samples, along one side. */
typedef struct Between {
    long sample;  /* the one before */
    float beyond; /* 0 to 1, of the way to the next */
} Between;

typedef struct JpegPlane {
    long across, down; /* samples that are the picture's */
    size_t stride;     /* samples of a row, in whole blocks */
    long held[HELD];   /* rows of blocks; -1: none */
    float *block_row[HELD];
    float *line;     /* one row of samples, as drawn between two */
    Between *column; /* of each pixel */
} JpegPlane;

struct JpegPlanes {
    long width, row; /* the next */
    float wave[SIDE][SIDE];
    JpegPlane plane[PLANES];
};

bool jpeg_planes_can(const struct jpeg_decompress_struct *jpeg)
{
    return jpeg->jpeg_color_space == JCS_YCbCr && jpeg->num_components == PLANES &&
           jpeg->data_precision == 8;
}

static long part_of(long pixels, int factor, int most)
{
    return (pixels * factor + most - 1) / most;
}

/* Sample i covers most/factor pixels, its value is that of their middle. */
static Between between(long pixel, int factor, int most, long samples)
{
    const double at = ((double)pixel + 0.5) * factor / most - 0.5;
    const double within = fmin(fmax(at, 0), (double)(samples - 1));
    const long sample = (long)within;
    return (Between){sample, (float)(within - (double)sample)};
}

static bool plane_init(JpegPlane *plane, const struct jpeg_decompress_struct *jpeg, int k)
{
    const jpeg_component_info *info = &jpeg->comp_info[k];
    const int wide = jpeg->max_h_samp_factor, high = jpeg->max_v_samp_factor;
    plane->across = part_of(jpeg->image_width, info->h_samp_factor, wide);
    plane->down = part_of(jpeg->image_height, info->v_samp_factor, high);
    plane->stride = (size_t)info->width_in_blocks * SIDE;
    plane->column = memory_create(jpeg->image_width, sizeof *plane->column);
    plane->line = memory_create(plane->stride, sizeof *plane->line);
    if (!plane->column || !plane->line) return false;
    for (int i = 0; i < HELD; i++) {
        plane->held[i] = -1;
        plane->block_row[i] = memory_create(plane->stride, SIDE * sizeof(float));
        if (!plane->block_row[i]) return false;
    }
    for (long x = 0; x < (long)jpeg->image_width; x++)
        plane->column[x] = between(x, info->h_samp_factor, wide, plane->across);
    return true;
}

JpegPlanes *jpeg_planes_create(const struct jpeg_decompress_struct *jpeg)
{
    JpegPlanes *planes = memory_create(1, sizeof *planes);
    if (!planes) return NULL;
    planes->width = jpeg->image_width;
    for (int u = 0; u < SIDE; u++)
        for (int x = 0; x < SIDE; x++)
            planes->wave[u][x] =
                (float)((u ? 0.5 : sqrt(0.125)) * cos((2 * x + 1) * u * acos(-1.0) / 16));
    for (int k = 0; k < PLANES; k++)
        if (!plane_init(&planes->plane[k], jpeg, k)) {
            jpeg_planes_free(planes);
            return NULL;
        }
    return planes;
}

void jpeg_planes_free(JpegPlanes *planes)
{
    if (!planes) return;
    for (int k = 0; k < PLANES; k++) {
        for (int i = 0; i < HELD; i++) memory_free(planes->plane[k].block_row[i]);
        memory_free(planes->plane[k].column);
        memory_free(planes->plane[k].line);
    }
    memory_free(planes);
}

/* The inverse transform, first along columns; rows of coefficients that are all 0, as most are, are
 * passed over. */
static void block_samples(const JpegPlanes *planes, const JCOEF *coefficient, const UINT16 *step,
                          float *out, size_t stride)
{
    float half[SIDE][SIDE] = {{0}};
    for (int v = 0; v < SIDE; v++) {
        float part[SIDE];
        bool any = false;
        for (int u = 0; u < SIDE; u++) {
            part[u] = (float)(coefficient[SIDE * v + u] * step[SIDE * v + u]);
            any |= coefficient[SIDE * v + u] != 0;
        }
        for (int y = 0; any && y < SIDE; y++)
            for (int u = 0; u < SIDE; u++) half[y][u] += planes->wave[v][y] * part[u];
    }
    for (int y = 0; y < SIDE; y++) {
        float sum[SIDE] = {0};
        for (int u = 0; u < SIDE; u++)
            for (int x = 0; x < SIDE; x++) sum[x] += half[y][u] * planes->wave[u][x];
        memcpy(out + (size_t)y * stride, sum, sizeof sum);
    }
}

/* A row of samples. */
static const float *samples_at(JpegPlanes *planes, int k, struct jpeg_decompress_struct *jpeg,
                               jvirt_barray_ptr *coefficients, long y)
{
    JpegPlane *plane = &planes->plane[k];
    const jpeg_component_info *info = &jpeg->comp_info[k];
    static const UINT16 nothing[SIDE * SIDE]; /* of a plane that no scan came for */
    const UINT16 *step = info->quant_table ? info->quant_table->quantval : nothing;
    const long row = y / SIDE;
    float *out = plane->block_row[row % HELD];
    if (plane->held[row % HELD] != row) {
        const JBLOCKROW block = jpeg->mem->access_virt_barray((j_common_ptr)jpeg, coefficients[k],
                                                              (JDIMENSION)row, 1, FALSE)[0];
        for (JDIMENSION b = 0; b < info->width_in_blocks; b++)
            block_samples(planes, block[b], step, out + b * SIDE, plane->stride);
        plane->held[row % HELD] = row;
    }
    return out + (size_t)(y % SIDE) * plane->stride;
}

/* The plane's row at a row of the picture. */
static const float *line_at(JpegPlanes *planes, int k, struct jpeg_decompress_struct *jpeg,
                            jvirt_barray_ptr *coefficients)
{
    JpegPlane *plane = &planes->plane[k];
    const Between b = between(planes->row, jpeg->comp_info[k].v_samp_factor,
                              jpeg->max_v_samp_factor, plane->down);
    const float *one = samples_at(planes, k, jpeg, coefficients, b.sample);
    if (!(b.beyond > 0)) return one;
    const float *next = samples_at(planes, k, jpeg, coefficients, b.sample + 1);
    for (long x = 0; x < plane->across; x++)
        plane->line[x] = one[x] + b.beyond * (next[x] - one[x]);
    return plane->line;
}

static float drawn(const float *line, Between b)
{
    return b.beyond > 0 ? line[b.sample] + b.beyond * (line[b.sample + 1] - line[b.sample])
                        : line[b.sample];
}

/* From codes of 8 bits about their middle. */
static uint16_t code_of(float value)
{
    const float code = (value + 128) * 257 + 0.5f;
    return (uint16_t)(code < 0 ? 0 : code > 65535 ? 65535 : code);
}

void jpeg_planes_row(JpegPlanes *planes, struct jpeg_decompress_struct *jpeg,
                     jvirt_barray_ptr *coefficients, uint16_t *rgb_out)
{
    const JpegPlane *plane = planes->plane;
    const float *line[PLANES];
    for (int k = 0; k < PLANES; k++) line[k] = line_at(planes, k, jpeg, coefficients);
    for (long x = 0; x < planes->width; x++, rgb_out += 3) {
        const float y = drawn(line[0], plane[0].column[x]);
        const float blue = drawn(line[1], plane[1].column[x]);
        const float red = drawn(line[2], plane[2].column[x]);
        rgb_out[0] = code_of(y + 1.402f * red);
        rgb_out[1] = code_of(y - 0.344136f * blue - 0.714136f * red);
        rgb_out[2] = code_of(y + 1.772f * blue);
    }
    planes->row++;
}
