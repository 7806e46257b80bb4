/* The palette's gamut is a convex hull in linear light; how much chroma it holds at each luminance
 * and hue is tabulated once, from supporting planes, and each cell's chroma is drawn in along a
 * curve that leaves what is well inside untouched (gamut mapping with a soft knee, as Morovic,
 * Color Gamut Mapping, 2008, surveys it).
 *
 * Invariant: luminance after the fit is the affine image of luminance before, clipped to the
 * palette's range; hue in linear light stays, and chroma never grows. */
#include "cells/tone.h"

#include "base/bands.h"
#include "base/memory.h"

#include <math.h>
#include <string.h>

/* Chroma is measured in linear light as (X/Xn - Y, Z/Zn - Y), and Z's axis is drawn in
 * because blue reaches further there than red and green do on X's. A choice, no source. */
static const double z_scale = 0.4;

typedef struct Point {
    double y, x, z; /* luminance, then the two axes of chroma */
} Point;

static Point point_from_xyz(Xyz c)
{
    const Xyz w = WHITE_D50;
    return (Point){c.y, c.x / w.x - c.y, z_scale * (c.z / w.z - c.y)};
}

static Xyz xyz_from_point(Point p)
{
    const Xyz w = WHITE_D50;
    return (Xyz){w.x * (p.x + p.y), p.y, w.z * (p.z / z_scale + p.y)};
}

/* Chroma, CIELAB, up to which a colour passes for neutral; and how much of the palette's range its
 * neutrals must span to hold a picture. Choices, no source. */
enum { NEUTRAL_CHROMA = 8 };
#define NEUTRAL_SPAN_LEAST 0.5

/* The darkest and the lightest of the colours that pass for neutral; of all colours if
 * fewer than two do, or if they are too near one another to hold a picture. */
ToneRange tone_range(const Palette *palette)
{
    ToneRange all = {1.0, 0.0}, neutral = {1.0, 0.0};
    for (int i = 0; i < palette->count; i++) {
        const Colour *c = &palette->colour[i];
        const double y = fmin(fmax(c->xyz.y, 0.0), 1.0);
        all = (ToneRange){fmin(all.black, y), fmax(all.white, y)};
        if (hypot(c->lab.a, c->lab.b) <= NEUTRAL_CHROMA)
            neutral = (ToneRange){fmin(neutral.black, y), fmax(neutral.white, y)};
    }
    return neutral.white - neutral.black >= NEUTRAL_SPAN_LEAST * (all.white - all.black) ? neutral
                                                                                         : all;
}

/* Bins of luminance, and the share of cells beyond an end of the range. Choices, no source. */
enum { RANGE_BINS = 4096, RANGE_OUTLIERS = 1000 };

/* The bin, counted from an end (0 or RANGE_BINS - 1) inward, with which more than so many cells are
 * passed. */
static int bin_beyond(const size_t count[RANGE_BINS], int end, size_t outliers)
{
    const int step = end ? -1 : 1;
    size_t passed = count[end];
    while (passed <= outliers) passed += count[end += step];
    return end;
}

ToneRange tone_picture_range(const Image *image)
{
    size_t count[RANGE_BINS] = {0};
    const size_t cells = (size_t)image->columns * (size_t)image->rows;
    for (size_t i = 0; i < cells; i++) {
        const double y = fmin(fmax((double)image->xyz[3 * i + 1], 0.0), 1.0);
        count[(int)(y * (RANGE_BINS - 1) + 0.5)]++;
    }
    const double bins = RANGE_BINS - 1;
    return (ToneRange){bin_beyond(count, 0, cells / RANGE_OUTLIERS) / bins,
                       bin_beyond(count, RANGE_BINS - 1, cells / RANGE_OUTLIERS) / bins};
}

/* Luminance after the fit is offset + scale * luminance before. */
typedef struct ToneLine {
    double offset, scale;
} ToneLine;

/* Takes the picture's range into the palette's; an end that lies within stays. */
static ToneLine tone_line(ToneRange picture, ToneRange palette)
{
    const double black = fmin(fmax(picture.black, palette.black), palette.white);
    const double white = fmax(fmin(picture.white, palette.white), palette.black);
    const double span = picture.white - picture.black;
    /* A picture of one luminance goes where the palette is nearest to it. */
    const double scale = span > 0.0 ? fmax(white - black, 0.0) / span : 1.0;
    return (ToneLine){black - scale * picture.black, scale};
}

/* The hull is known by its supporting planes in many directions: a hull of planes holds
 * the true one, is at most a few thousandths of its width larger, and needs no care for
 * palettes whose colours lie in a plane or on a line. */
enum { PLANES_AROUND = 48, PLANES_ACROSS = 25 };

/* The most chroma inside the hull by luminance and hue. */
enum { LEVELS = 96, HUES = 144 };

typedef struct Hull {
    ToneRange range;
    double most[LEVELS + 1][HUES];
} Hull;

/* fmin and fmax look for what is no number, too, of which there is none here. */
static double lesser(double a, double b) { return b < a ? b : a; }
static double greater(double a, double b) { return b > a ? b : a; }

/* How far the colours reach along a direction. */
static double hull_support(const Point *colour, int count, Point d)
{
    double support = -10.0;
    for (const Point *p = colour; p < colour + count; p++)
        support = greater(support, d.y * p->y + d.x * p->x + d.z * p->z);
    return support;
}

/* The most chroma in the direction `turn` of the planes that face that way: all of them
 * slope alike but for their tilt, so each hue is held by these few lengths alone. */
static void hull_side(ToneRange range, const Point *colour, int count, double turn,
                      double most[LEVELS + 1])
{
    const double pi = acos(-1.0), span = range.white - range.black;
    for (int level = 0; level <= LEVELS; level++) most[level] = HUGE_VAL;
    for (int k = 1; k < PLANES_ACROSS - 1; k++) {
        const double tilt = pi * ((double)k / (double)(PLANES_ACROSS - 1) - 0.5);
        const double lean = cos(tilt);
        const Point d = {sin(tilt), lean * cos(turn), lean * sin(turn)};
        const double support = hull_support(colour, count, d);
        for (int level = 0; level <= LEVELS; level++) {
            const double y = range.black + span * level / (double)LEVELS;
            most[level] = lesser(most[level], greater(support - d.y * y, 0.0) / lean);
        }
    }
}

/* Holds the hues that a side of the hull faces to what it has. */
static void hull_hold(Hull *hull, int side, const double most[LEVELS + 1])
{
    const double round = 2.0 * acos(-1.0);
    int facing[HUES], count = 0;
    double slope[HUES];
    for (int hue = 0; hue < HUES; hue++) {
        slope[count] = cos(round * ((double)side / PLANES_AROUND - (double)hue / HUES));
        if (slope[count] > 1e-9) facing[count++] = hue;
    }
    for (int level = 0; level <= LEVELS; level++)
        for (int k = 0; k < count; k++) {
            double *held = &hull->most[level][facing[k]];
            *held = lesser(*held, most[level] / slope[k]);
        }
}

static void hull_init(Hull *hull, const Palette *palette)
{
    const double round = 2.0 * acos(-1.0);
    Point colour[PALETTE_MOST];
    for (int i = 0; i < palette->count; i++) colour[i] = point_from_xyz(palette->colour[i].xyz);
    hull->range = tone_range(palette);
    for (int level = 0; level <= LEVELS; level++)
        for (int hue = 0; hue < HUES; hue++) hull->most[level][hue] = 4.0;
    for (int side = 0; side < PLANES_AROUND; side++) {
        double most[LEVELS + 1];
        hull_side(hull->range, colour, palette->count, round * side / PLANES_AROUND, most);
        hull_hold(hull, side, most);
    }
}

static double hull_most(const Hull *hull, Point p)
{
    const double span = hull->range.white - hull->range.black;
    double level = span > 0.0 ? (p.y - hull->range.black) / span * LEVELS : 0.0;
    level = fmin(fmax(level, 0.0), LEVELS);
    double hue = atan2(p.z, p.x) / (2.0 * acos(-1.0)) * HUES;
    if (hue < 0.0) hue += HUES;
    const int l = level < LEVELS ? (int)level : LEVELS - 1;
    const int h = (int)hue % HUES, next = (h + 1) % HUES;
    const double u = level - l, v = hue - floor(hue);
    const double low = (1.0 - v) * hull->most[l][h] + v * hull->most[l][next];
    const double high = (1.0 - v) * hull->most[l + 1][h] + v * hull->most[l + 1][next];
    return (1.0 - u) * low + u * high;
}

/* Chroma up to `knee` of what the hull has stays; beyond, it approaches the hull. A choice, no
 * source. */
static const double knee = 0.8;

static double drawn_in(double share)
{
    if (share <= knee) return share;
    return knee + (1.0 - knee) * (1.0 - exp(-(share - knee) / (1.0 - knee)));
}

typedef struct Fit {
    const Image *image;
    Image *out;
    ToneLine line;
    Hull hull;
} Fit;

static void fit_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Fit *f = context;
    const ToneRange range = f->hull.range;
    const ToneLine line = f->line;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < f->image->columns; column++) {
            Point p = point_from_xyz(image_at(f->image, column, row));
            const double y = line.offset + line.scale * p.y;
            p = (Point){fmin(fmax(y, range.black), range.white), line.scale * p.x,
                        line.scale * p.z};
            const double chroma = hypot(p.x, p.z), most = hull_most(&f->hull, p);
            const double scale =
                chroma > 0.0 ? most * drawn_in(chroma / fmax(most, 1e-9)) / chroma : 1.0;
            const Xyz c = xyz_from_point((Point){p.y, p.x * scale, p.z * scale});
            float *to =
                f->out->xyz + 3 * ((size_t)row * (size_t)f->image->columns + (size_t)column);
            to[0] = (float)c.x;
            to[1] = (float)c.y;
            to[2] = (float)c.z;
        }
}

Status tone_fit(const Image *image, const Palette *palette, int threads, const Voice *voice,
                Image *fitted, Fault *fault)
{
    Fit *fit = memory_create(1, sizeof *fit);
    if (!fit) return memory_fault(fault, 1, sizeof *fit);
    Status status = image_init(fitted, image->columns, image->rows, fault);
    if (status == STATUS_OK) {
        fit->image = image;
        fit->out = fitted;
        hull_init(&fit->hull, palette);
        fit->line = tone_line(tone_picture_range(image), fit->hull.range);
        bands_run_until(voice, threads, image->rows, 8, fit_rows, fit);
    }
    memory_free(fit);
    return status;
}
