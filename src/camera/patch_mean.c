/* The pixels are ordered by their light; those far from the median, measured by the median of all
 * distances from it, count for nothing. Such a mean is nearly as sharp as the plain one where the
 * patch is plain, and holds where up to half of it shines.
 *
 * Source: the median absolute deviation and its factor 1.4826 as Huber and Ronchetti, Robust
 * Statistics, 2nd ed., 2009, 5.1. */
#include "camera/patch_mean.h"

#include "base/ascending.h"

#include <math.h>

/* What is farther than so many deviations from the median is left out, and what is within this
 * part of the median, or of all light, never: coding in blocks leaves most pixels of one value, of
 * which a code of 8 bits is a large part in the dark. */
#define DEVIATIONS 3.0
#define ALWAYS_KEPT 0.06
#define ALWAYS_KEPT_LIGHT 0.003

/* What is lighter than the median by so many times the reach shines. */
#define SHINES 2.0

/* JPEG rounds a full channel down by a code or two: that of 254 is 0.991. */
#define FULL_FROM 0.985

/* A channel below this has no light that was measured: about a code of one in 8-bit sRGB. */
#define EMPTY_BELOW 0.0004

/* Neighbouring pixels share their noise, by blur and by JPEG's blocks of 8 x 8, of which so many
 * pixels tell as much as one. Ours: from half of a block's side, twice. */
#define PIXELS_ALIKE 16.0

typedef struct Pixels {
    int count;
    const uint16_t *at[PATCH_PIXELS_MOST];
    double sum[PATCH_PIXELS_MOST]; /* of the channels */
    double order[PATCH_PIXELS_MOST];
} Pixels;

static double median_of(double *order, int count)
{
    sort_ascending(order, (size_t)count);
    return (order[(count - 1) / 2] + order[count / 2]) / 2;
}

/* Whether the point is on the same side of all four edges. */
static bool is_within(const PlanePoint p[4], double x, double y)
{
    int left = 0, right = 0;
    for (int i = 0; i < 4; i++) {
        const PlanePoint a = p[i], b = p[(i + 1) % 4];
        const double side = (b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x);
        left += side >= 0;
        right += side <= 0;
    }
    return left == 4 || right == 4;
}

static bool shrink(const PlanePoint corner[4], double part, PlanePoint out[4])
{
    static const PlanePoint square[4] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    Homography h;
    if (!homography_fit(&h, square, corner, 4)) return false;
    for (int i = 0; i < 4; i++)
        out[i] = homography_apply(&h, (PlanePoint){part * square[i].x, part * square[i].y});
    return true;
}

/* The pixels whose middle is within, evenly chosen where there are many. False: some lie beyond the
 * photograph. */
static bool gather(Pixels *pixels, const Photo *photo, const PlanePoint quad[4])
{
    double left = HUGE_VAL, top = HUGE_VAL, right = -HUGE_VAL, bottom = -HUGE_VAL;
    for (int i = 0; i < 4; i++) {
        left = fmin(left, quad[i].x);
        right = fmax(right, quad[i].x);
        top = fmin(top, quad[i].y);
        bottom = fmax(bottom, quad[i].y);
    }
    if (!(left >= 0 && top >= 0 && right <= photo->width && bottom <= photo->height)) return false;
    const double area = (right - left) * (bottom - top);
    const int step = area > PATCH_PIXELS_MOST ? (int)ceil(sqrt(area / PATCH_PIXELS_MOST)) : 1;
    for (int y = (int)top; y < bottom; y += step)
        for (int x = (int)left; x < right && pixels->count < PATCH_PIXELS_MOST; x += step)
            if (is_within(quad, x + 0.5, y + 0.5))
                pixels->at[pixels->count++] = photo_at(photo, x, y);
    return true;
}

static void count_ends(const Pixels *pixels, PatchMean *out)
{
    int full = 0, empty = 0;
    for (int i = 0; i < pixels->count; i++) {
        const uint16_t *p = pixels->at[i];
        bool has_full = false, has_empty = false;
        for (int c = 0; c < 3; c++) {
            has_full |= p[c] >= FULL_FROM * PHOTO_FULL;
            has_empty |= p[c] < EMPTY_BELOW * PHOTO_FULL;
        }
        full += has_full;
        empty += has_empty;
    }
    out->full = (double)full / pixels->count;
    out->empty = (double)empty / pixels->count;
}

/* Fills the rest from the pixels within `reach` of the median. */
static void average(const Pixels *pixels, double median, double reach, PatchMean *out)
{
    double sum[3] = {0}, squares = 0, mean = 0;
    int kept = 0, lighter = 0;
    for (int i = 0; i < pixels->count; i++) {
        lighter += pixels->sum[i] > median + SHINES * reach;
        if (fabs(pixels->sum[i] - median) > reach) continue;
        for (int c = 0; c < 3; c++) sum[c] += pixels->at[i][c];
        mean += pixels->sum[i];
        squares += pixels->sum[i] * pixels->sum[i];
        kept++;
    }
    mean /= kept;
    for (int c = 0; c < 3; c++) out->light[c] = sum[c] / kept / PHOTO_FULL;
    out->shine = (double)lighter / pixels->count;
    out->spread = mean > 0 ? sqrt(fmax(0, squares / kept - mean * mean)) / mean : 0;
    out->error = out->spread * sqrt(fmin(1, PIXELS_ALIKE / kept));
}

bool patch_mean(PatchMean *out, const Photo *photo, const PlanePoint corner[4], double part)
{
    Pixels pixels;
    PlanePoint quad[4];
    *out = (PatchMean){0};
    pixels.count = 0;
    if (!shrink(corner, part, quad) || !gather(&pixels, photo, quad)) return false;
    out->pixels = pixels.count ? pixels.count : 1;
    if (pixels.count < PATCH_PIXELS_LEAST) return false;
    for (int i = 0; i < pixels.count; i++) {
        const uint16_t *p = pixels.at[i];
        pixels.order[i] = pixels.sum[i] = p[0] + p[1] + p[2];
    }
    const double median = median_of(pixels.order, pixels.count);
    for (int i = 0; i < pixels.count; i++) pixels.order[i] = fabs(pixels.sum[i] - median);
    const double deviation = 1.4826 * median_of(pixels.order, pixels.count);
    count_ends(&pixels, out);
    const double kept = fmax(ALWAYS_KEPT * median, 3 * ALWAYS_KEPT_LIGHT * PHOTO_FULL);
    average(&pixels, median, fmax(DEVIATIONS * deviation, kept), out);
    return true;
}
