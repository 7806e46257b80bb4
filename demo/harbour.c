/* Harbour: paints the demonstration's reference, a harbour at dusk, and the strokes that bring
 * its people and ships out in relief.
 *
 *     harbour REFERENCE.png STROKES.png
 *
 * The picture is made by formula alone: filled outlines with exact area coverage, laid
 * over one another from far to near in linear light, and lattice noise from an integer
 * hash, so that the same bytes come out everywhere. What stands in or beside the water
 * is painted twice: upright, and upside down about its own waterline into a second
 * canvas that the water then shows with its ripples.
 *
 * The reference is 8-bit sRGB with an sRGB chunk; the strokes are indexed, by the layers of
 * harbour-layers.ini. Places are pixels, x to the right, y down. */
#include <math.h>
#include <png.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WIDTH = 2400, HEIGHT = 1600, HORIZON = 760, POINTS_MOST = 4096 };

#define SUN_X 800.0
#define SUN_Y 690.0

typedef struct Tint {
    double r, g, b;
} Tint; /* sRGB encoded, 0 to 1 */

/* What an outline is filled with. The tint goes from `from` at (x0, y0) to `to` at
 * (x1, y1), along the line or, where radial is set, outward from (x0, y0). */
typedef struct Paint {
    Tint from, to;
    double alpha_from, alpha_to;
    double x0, y0, x1, y1;
    bool even, radial;
    bool light; /* added, as lamp light is, instead of laid over */
} Paint;

typedef struct Canvas {
    float *rgb;   /* linear light, 3 a pixel */
    bool *stands; /* something stands there before the water */
    float *cover; /* scratch of the outline being filled, a column wider than the picture */
    float *clip;  /* coverage that fills are held within, while clipped is set */
    bool clipped, drowned;
    double origin_x, origin_y, scale_x, scale_y; /* of the frame outlines are given in */
    double waterline;                            /* y to mirror about, where drowned is set */
    bool standing;                               /* what is filled stands before the water */
    int points;
    double point[POINTS_MOST][2];
} Canvas;

/* ---- noise ---- */

static double lattice(int32_t x, int32_t y, uint32_t seed)
{
    uint32_t h = (uint32_t)x * 0x8da6b343u ^ (uint32_t)y * 0xd8163841u ^ seed * 0xcb1ab31fu;
    h ^= h >> 15;
    h *= 0x2c1b3c6du;
    h ^= h >> 12;
    h *= 0x297a2d39u;
    h ^= h >> 15;
    return h * (1.0 / 4294967295.0);
}

static double noise(double x, double y, uint32_t seed)
{
    double fx = floor(x), fy = floor(y);
    int32_t ix = (int32_t)fx, iy = (int32_t)fy;
    double u = x - fx, v = y - fy;
    u = u * u * (3 - 2 * u);
    v = v * v * (3 - 2 * v);
    double a = lattice(ix, iy, seed), b = lattice(ix + 1, iy, seed);
    double c = lattice(ix, iy + 1, seed), d = lattice(ix + 1, iy + 1, seed);
    return (a + (b - a) * u) * (1 - v) + (c + (d - c) * u) * v;
}

/* Octaves of noise, 0 to 1. */
static double cloudy(double x, double y, int octaves, uint32_t seed)
{
    double sum = 0, weight = 0.5, whole = 0;
    for (int i = 0; i < octaves; i++) {
        sum += weight * noise(x, y, seed + (uint32_t)i);
        whole += weight;
        weight *= 0.5;
        x = 2 * x + 17.3;
        y = 2 * y - 9.1;
    }
    return sum / whole;
}

static double clamp(double v, double least, double most)
{
    return v < least ? least : v > most ? most : v;
}

static double rise(double from, double to, double v)
{
    double t = clamp((v - from) / (to - from), 0, 1);
    return t * t * (3 - 2 * t);
}

/* ---- colour ---- */

static Tint hex(unsigned rgb)
{
    return (Tint){(rgb >> 16 & 255) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0};
}

static Tint blend(Tint a, Tint b, double t)
{
    return (Tint){a.r + (b.r - a.r) * t, a.g + (b.g - a.g) * t, a.b + (b.b - a.b) * t};
}

/* IEC 61966-2-1. */
static double decode(double v) { return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4); }
static double encode(double v)
{
    return v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1 / 2.4) - 0.055;
}

enum { CURVE = 4096 };
static void curve_fill(float curve[CURVE + 2], double (*f)(double))
{
    for (int i = 0; i <= CURVE + 1; i++) curve[i] = (float)f(i / (double)CURVE);
}

static float curve_at(const float curve[CURVE + 2], double v)
{
    double t = clamp(v, 0, 1) * CURVE;
    int i = (int)t;
    return curve[i] + (curve[i + 1] - curve[i]) * (float)(t - i);
}

static Paint flat(Tint tint)
{
    return (Paint){.from = tint, .to = tint, .alpha_from = 1, .alpha_to = 1, .even = true};
}

static Paint veil(Tint tint, double alpha)
{
    return (Paint){.from = tint, .to = tint, .alpha_from = alpha, .alpha_to = alpha, .even = true};
}

static Paint across(Tint from, Tint to, double x0, double y0, double x1, double y1)
{
    return (Paint){from, to, 1, 1, x0, y0, x1, y1, false, false, false};
}

static Paint glow(Tint tint, double alpha, double x, double y, double radius)
{
    return (Paint){tint, tint, alpha, 0, x, y, x + radius, y, false, true, true};
}

/* ---- outlines ---- */

static void frame(Canvas *c, double x, double y, double scale_x, double scale_y)
{
    c->origin_x = x;
    c->origin_y = y;
    c->scale_x = scale_x;
    c->scale_y = scale_y;
}

static void frame_whole(Canvas *c) { frame(c, 0, 0, 1, 1); }

static void add(Canvas *c, double x, double y)
{
    if (c->points == POINTS_MOST) return;
    double py = c->origin_y + c->scale_y * y;
    c->point[c->points][0] = c->origin_x + c->scale_x * x;
    c->point[c->points++][1] = c->drowned ? 2 * c->waterline - py : py;
}

/* Adds the signed area that one edge leaves to its right in each pixel; summed along a
 * row that is the outline's exact coverage. */
static void edge(Canvas *c, double x0, double y0, double x1, double y1)
{
    if (y0 == y1) return;
    double sign = 1;
    if (y0 > y1) {
        double t = x0;
        x0 = x1, x1 = t, t = y0, y0 = y1, y1 = t, sign = -1;
    }
    double slope = (x1 - x0) / (y1 - y0);
    if (y0 < 0) x0 -= slope * y0, y0 = 0;
    if (y1 > HEIGHT) y1 = HEIGHT;
    double x = x0;
    for (int row = (int)y0; row < y1; row++) {
        float *line = c->cover + (size_t)row * (WIDTH + 1);
        double dy = fmin(row + 1, y1) - fmax(row, y0), next = x + slope * dy;
        double d = dy * sign, left = fmin(x, next), right = fmax(x, next);
        x = next;
        left = clamp(left, 0, WIDTH), right = clamp(right, 0, WIDTH);
        int first = (int)left, last = (int)ceil(right);
        if (last <= first + 1) {
            double mean = 0.5 * (left + right) - first;
            line[first] += (float)(d * (1 - mean));
            if (first < WIDTH) line[first + 1] += (float)(d * mean);
            continue;
        }
        double s = 1 / (right - left), head = 1 - (left - first);
        double a0 = 0.5 * s * head * head, tail = right - last + 1, am = 0.5 * s * tail * tail;
        line[first] += (float)(d * a0);
        if (last == first + 2) {
            line[first + 1] += (float)(d * (1 - a0 - am));
        } else {
            double a1 = s * (1.5 - (left - first));
            line[first + 1] += (float)(d * (a1 - a0));
            for (int i = first + 2; i < last - 1; i++) line[i] += (float)(d * s);
            double a2 = a1 + (last - first - 3) * s;
            line[last - 1] += (float)(d * (1 - a2 - am));
        }
        line[last] += (float)(d * am);
    }
}

typedef struct Box {
    int left, top, right, bottom;
} Box;

/* Turns the outline's points into coverage; returns the box that it may touch. */
static Box cover(Canvas *c)
{
    double left = WIDTH, top = HEIGHT, right = 0, bottom = 0;
    for (int i = 0; i < c->points; i++) {
        const double *p = c->point[i], *q = c->point[(i + 1) % c->points];
        edge(c, p[0], p[1], q[0], q[1]);
        left = fmin(left, p[0]), right = fmax(right, p[0]);
        top = fmin(top, p[1]), bottom = fmax(bottom, p[1]);
    }
    c->points = 0;
    return (Box){(int)clamp(floor(left), 0, WIDTH), (int)clamp(floor(top), 0, HEIGHT),
                 (int)clamp(ceil(right) + 1, 0, WIDTH), (int)clamp(ceil(bottom) + 1, 0, HEIGHT)};
}

static double paint_at(const Paint *paint, double x, double y)
{
    if (paint->even) return 0;
    double dx = paint->x1 - paint->x0, dy = paint->y1 - paint->y0, length = dx * dx + dy * dy;
    double px = x - paint->x0, py = y - paint->y0;
    if (paint->radial) return clamp(sqrt((px * px + py * py) / length), 0, 1);
    return clamp((px * dx + py * dy) / length, 0, 1);
}

static void lay(Canvas *c, int x, int y, double alpha, Tint tint, bool light)
{
    static float linear[CURVE + 2];
    if (linear[CURVE] == 0) curve_fill(linear, decode);
    float *p = c->rgb + 3 * ((size_t)y * WIDTH + (size_t)x), a = (float)alpha;
    float keep = light ? 1 : 1 - a;
    p[0] = keep * p[0] + a * curve_at(linear, tint.r);
    p[1] = keep * p[1] + a * curve_at(linear, tint.g);
    p[2] = keep * p[2] + a * curve_at(linear, tint.b);
}

static void fill_row(Canvas *c, const Paint *paint, Box box, int y)
{
    float *line = c->cover + (size_t)y * (WIDTH + 1);
    double sum = 0;
    for (int x = box.left; x < box.right; x++) {
        sum += line[x];
        double a = fmin(fabs(sum), 1);
        size_t at = (size_t)y * WIDTH + (size_t)x;
        if (c->clipped) a *= c->clip[at];
        if (a < 1e-4) continue;
        double real_y = c->drowned ? 2 * c->waterline - y - 0.5 : y + 0.5;
        double fx = (x + 0.5 - c->origin_x) / c->scale_x, fy = (real_y - c->origin_y) / c->scale_y;
        double t = paint_at(paint, fx, fy);
        double fade = paint->radial && paint->light ? t * (2 - t) : t;
        double alpha = a * (paint->alpha_from + (paint->alpha_to - paint->alpha_from) * fade);
        lay(c, x, y, alpha, blend(paint->from, paint->to, t), paint->light);
        if (c->standing && a >= 0.5 && !paint->light) c->stands[at] = true;
    }
    memset(line + box.left, 0, sizeof *line * (size_t)(WIDTH + 1 - box.left));
}

static void fill(Canvas *c, Paint paint)
{
    if (c->points < 3) {
        c->points = 0;
        return;
    }
    Box box = cover(c);
    for (int y = box.top; y < box.bottom; y++) fill_row(c, &paint, box, y);
}

/* Holds the fills that follow within the outline, until clip_end. */
static void clip(Canvas *c)
{
    Box box = cover(c);
    memset(c->clip, 0, sizeof *c->clip * WIDTH * HEIGHT);
    for (int y = box.top; y < box.bottom; y++) {
        float *line = c->cover + (size_t)y * (WIDTH + 1);
        double sum = 0;
        for (int x = box.left; x < box.right; x++) {
            sum += line[x];
            c->clip[(size_t)y * WIDTH + (size_t)x] = (float)fmin(fabs(sum), 1);
        }
        memset(line + box.left, 0, sizeof *line * (size_t)(WIDTH + 1 - box.left));
    }
    c->clipped = true;
}

static void clip_end(Canvas *c) { c->clipped = false; }

#define POINTS(...) (const double[]){__VA_ARGS__}, (int)(sizeof((double[]){__VA_ARGS__}) / 16)

static void trace(Canvas *c, const double *xy, int n)
{
    for (int i = 0; i < n; i++) add(c, xy[2 * i], xy[2 * i + 1]);
}

static void polygon(Canvas *c, Paint paint, const double *xy, int n)
{
    trace(c, xy, n);
    fill(c, paint);
}

/* A closed smooth outline through the points (Catmull-Rom). */
static void trace_round(Canvas *c, const double *xy, int n)
{
    for (int i = 0; i < n; i++) {
        const double *p0 = xy + 2 * ((i + n - 1) % n), *p1 = xy + 2 * i;
        const double *p2 = xy + 2 * ((i + 1) % n), *p3 = xy + 2 * ((i + 2) % n);
        for (int k = 0; k < 12; k++) {
            double t = k / 12.0, at[2];
            for (int j = 0; j < 2; j++)
                at[j] = p1[j] + 0.5 * t *
                                    (p2[j] - p0[j] +
                                     t * (2 * p0[j] - 5 * p1[j] + 4 * p2[j] - p3[j] +
                                          t * (3 * (p1[j] - p2[j]) + p3[j] - p0[j])));
            add(c, at[0], at[1]);
        }
    }
}

static void blob(Canvas *c, Paint paint, const double *xy, int n)
{
    trace_round(c, xy, n);
    fill(c, paint);
}

static void box(Canvas *c, Paint paint, double x, double y, double w, double h)
{
    polygon(c, paint, POINTS(x, y, x + w, y, x + w, y + h, x, y + h));
}

static void oval(Canvas *c, Paint paint, double x, double y, double rx, double ry)
{
    for (int i = 0; i < 64; i++) add(c, x + rx * cos(i * M_PI / 32), y + ry * sin(i * M_PI / 32));
    fill(c, paint);
}

static void line(Canvas *c, Paint paint, double x0, double y0, double x1, double y1, double w0,
                 double w1)
{
    double dx = x1 - x0, dy = y1 - y0, d = hypot(dx, dy);
    if (d == 0 || (c->drowned && w0 < 3.5)) return; /* ripples swallow cordage */
    double nx = -dy / d / 2, ny = dx / d / 2;
    polygon(c, paint,
            POINTS(x0 + nx * w0, y0 + ny * w0, x1 + nx * w1, y1 + ny * w1, x1 - nx * w1,
                   y1 - ny * w1, x0 - nx * w0, y0 - ny * w0));
}

/* A rope that hangs `sag` below the straight line. */
static void rope(Canvas *c, Paint paint, double x0, double y0, double x1, double y1, double sag,
                 double w)
{
    enum { PARTS = 24 };
    double px = x0, py = y0;
    for (int i = 1; i <= PARTS; i++) {
        double t = i / (double)PARTS, x = x0 + (x1 - x0) * t;
        double y = y0 + (y1 - y0) * t + 4 * sag * t * (1 - t);
        line(c, paint, px, py, x, y, w, w);
        px = x, py = y;
    }
}

/* ---- sky ---- */

static Tint sky_tint(double x, double y)
{
    static const struct {
        double at;
        unsigned tint;
    } band[] = {{0, 0x182650},    {0.26, 0x2f447f}, {0.48, 0x6a629d}, {0.66, 0xb8718f},
                {0.80, 0xe98a6c}, {0.92, 0xf8b45e}, {1, 0xffd586},    {9, 0xffd586}};
    double t = y / HORIZON + 0.05 * fabs(x - SUN_X) / WIDTH * (1 - y / HORIZON) * -4;
    t = clamp(t, 0, 1);
    int i = 0;
    while (t >= band[i + 1].at) i++;
    double u = (t - band[i].at) / (band[i + 1].at - band[i].at);
    return blend(hex(band[i].tint), hex(band[i + 1].tint), u * u * (3 - 2 * u) * 0.4 + u * 0.6);
}

static double cloud_density(double x, double y)
{
    double bend = 60 * cloudy(x / 700, y / 300, 2, 5);
    double d = cloudy(x / 430 + 3, (y + bend) / 74, 5, 11);
    double belt = exp(-pow((y - 330) / 150, 2)) + 0.75 * exp(-pow((y - 560) / 70, 2));
    return d + 0.17 * belt - 0.17;
}

static void paint_sky(Canvas *c)
{
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            double sy = c->drowned ? fmax(0, 2.0 * HORIZON - y) : y;
            Tint tint = sky_tint(x, sy);
            double far = hypot(x - SUN_X, (sy - SUN_Y) * 1.5);
            double d = sy < HORIZON ? cloud_density(x, sy) : 0;
            double body = rise(0.50, 0.60, d), core = rise(0.60, 0.72, d);
            if (body > 0) {
                double low = sy / HORIZON, lit = rise(0, 0.09, d - cloud_density(x, sy + 16));
                Tint shade = blend(hex(0x3a4478), hex(0xb06a84), rise(0.3, 0.85, low));
                Tint flame = blend(hex(0xd9829a), hex(0xffc27a), rise(0.25, 0.9, low));
                Tint cloud =
                    blend(blend(shade, hex(0x2c3566), 0.55 * core * (1 - low)), flame, 0.85 * lit);
                tint = blend(tint, cloud, 0.8 * body);
            }
            lay(c, x, y, 1, tint, false);
            lay(c, x, y, 0.55 * exp(-far / 130) + 0.30 * exp(-far / 420), hex(0xffc070), true);
        }
    c->standing = false;
    frame_whole(c);
    oval(c, flat(hex(0xfff3c8)), SUN_X, SUN_Y, 50, 50);
    oval(c, glow(hex(0xffe0a0), 0.5, SUN_X, SUN_Y, 130), SUN_X, SUN_Y, 130, 130);
}

static void ridge(Canvas *c, Tint top, Tint foot, double y, double height, double length,
                  uint32_t seed)
{
    add(c, -10, HORIZON + 2);
    for (int x = -10; x <= WIDTH + 10; x += 6)
        add(c, x, y - height * cloudy(x / length, 0.5, 4, seed));
    add(c, WIDTH + 10, HORIZON + 2);
    fill(c, across(top, foot, 0, y - height, 0, HORIZON));
}

static void paint_hills(Canvas *c)
{
    c->standing = false;
    ridge(c, hex(0xc27a8c), hex(0xf0a878), 770, 190, 520, 21);
    ridge(c, hex(0x7f5f8a), hex(0xc98681), 792, 150, 300, 33);
}

/* ---- the lighthouse on its head ---- */

static void paint_head(Canvas *c)
{
    c->standing = true;
    polygon(c, across(hex(0x6a4a6a), hex(0x2b2747), 0, 640, 0, 810),
            POINTS(-10, 640, 60, 628, 130, 640, 200, 636, 262, 648, 300, 676, 352, 690, 384, 722,
                   430, 740, 470, 772, 520, 786, 540, 812, -10, 812));
    polygon(c, flat(hex(0xd98a6a)),
            POINTS(262, 648, 300, 676, 352, 690, 384, 722, 340, 716, 306, 694, 270, 690));
    polygon(c, flat(hex(0xb06a64)),
            POINTS(384, 722, 430, 740, 470, 772, 520, 786, 450, 786, 402, 760));
    polygon(c, flat(hex(0x4a3a5c)),
            POINTS(120, 690, 200, 676, 250, 720, 230, 780, 150, 800, 90, 770));
    polygon(c, flat(hex(0x231f3c)),
            POINTS(-10, 790, 120, 776, 300, 792, 420, 784, 540, 812, -10, 812));
}

static void paint_tower(Canvas *c)
{
    const double x = 190;
    c->standing = true;
    Paint white = across(hex(0x8d84a8), hex(0xfff0d8), x - 40, 0, x + 34, 0);
    Paint red = across(hex(0x6d1f3a), hex(0xf0503c), x - 40, 0, x + 34, 0);
    for (int i = 0; i < 6; i++) {
        double y0 = 640 - 50.0 * i, y1 = y0 - 50, w0 = 46 - 2.6 * i, w1 = w0 - 2.6;
        polygon(c, i % 2 ? red : white, POINTS(x - w0, y0, x + w0, y0, x + w1, y1, x - w1, y1));
    }
    box(c, flat(hex(0x2a2444)), x - 46, 328, 92, 14);
    box(c, flat(hex(0x4a3b5c)), x - 42, 302, 84, 4);
    for (int i = -3; i <= 3; i++) box(c, flat(hex(0x4a3b5c)), x + 13.0 * i - 1.5, 302, 3, 26);
    box(c, flat(hex(0xffe9a6)), x - 24, 270, 48, 58);
    for (int i = -1; i <= 1; i++) box(c, flat(hex(0x3a2c48)), x + 16.0 * i - 2, 270, 4, 58);
    blob(c, across(hex(0x7a2038), hex(0xd9483c), x - 30, 0, x + 30, 0),
         POINTS(x - 32, 272, x - 26, 250, x, 232, x + 26, 250, x + 32, 272, x, 274));
    box(c, flat(hex(0x2a2444)), x - 2, 212, 4, 24);
    for (int i = 0; i < 3; i++) box(c, flat(hex(0x3a2c48)), x - 8, 400 + 82.0 * i, 14, 24);
    polygon(c, across(hex(0x8d84a8), hex(0xf6dfc8), 60, 0, 150, 0),
            POINTS(52, 590, 140, 590, 140, 642, 52, 642));
    polygon(c, flat(hex(0xa8383c)), POINTS(40, 592, 70, 556, 124, 556, 150, 592));
    box(c, flat(hex(0xffcf72)), 74, 604, 18, 22);
    box(c, flat(hex(0xffcf72)), 108, 604, 18, 22);
    c->standing = false;
    Paint beam = {hex(0xfff0b8), hex(0xfff0b8), 0.42, 0, x, 298, x + 900, 180, false, false, true};
    polygon(c, beam, POINTS(x, 290, x + 900, 110, x + 900, 250, x, 306));
    beam.x1 = x - 300, beam.y1 = 330;
    polygon(c, beam, POINTS(x, 290, x - 300, 300, x - 300, 370, x, 306));
    oval(c, glow(hex(0xfff0b8), 0.9, x, 298, 110), x, 298, 110, 110);
}

/* ---- the ferry coming in ---- */

static void paint_ferry(Canvas *c)
{
    frame(c, 385, 838, 1.12, 1.12);
    c->standing = true;
    polygon(c, across(hex(0x1d5a78), hex(0x123450), 0, -48, 0, 0),
            POINTS(4, -50, 296, -62, 318, -64, 292, -2, 286, 2, 18, 2));
    polygon(c, flat(hex(0xd8343c)), POINTS(14, -8, 294, -8, 288, 3, 18, 3));
    polygon(c, flat(hex(0xf4e6d4)), POINTS(3, -50, 318, -64, 314, -54, 4, -42));
    Paint white = across(hex(0xb7a9c4), hex(0xfff2e0), 0, 0, 290, 0);
    polygon(c, white, POINTS(16, -84, 262, -84, 280, -58, 14, -48));
    polygon(c, white, POINTS(40, -116, 232, -116, 244, -84, 34, -84));
    polygon(c, white, POINTS(168, -140, 218, -140, 226, -116, 164, -116));
    for (int i = 0; i < 11; i++)
        box(c, flat(hex(i % 4 == 2 ? 0x3c4a70 : 0xffc860)), 34 + 20.0 * i, -75, 12, 11);
    for (int i = 0; i < 9; i++)
        box(c, flat(hex(i % 3 == 1 ? 0x3c4a70 : 0xffd27a)), 52 + 20.0 * i, -106, 12, 11);
    polygon(c, flat(hex(0x2a3660)), POINTS(172, -135, 216, -135, 219, -124, 170, -124));
    polygon(c, across(hex(0xa01c34), hex(0xf0583c), 84, 0, 124, 0),
            POINTS(84, -116, 90, -176, 124, -176, 128, -116));
    polygon(c, flat(hex(0x20203c)), POINTS(89, -164, 90, -176, 124, -176, 125, -164));
    line(c, flat(hex(0x2a2444)), 195, -140, 195, -206, 4, 2);
    polygon(c, flat(hex(0xffc83c)), POINTS(195, -204, 226, -196, 195, -186));
    for (int i = 0; i < 4; i++) oval(c, flat(hex(0xf07030)), 60 + 44.0 * i, -56 - 1.8 * i, 4, 4);
    c->standing = false;
    if (!c->drowned)
        for (int i = 0; i < 9; i++) {
            double t = i / 8.0, r = 10 + 34 * t;
            oval(c, veil(blend(hex(0x4a3f66), hex(0xa87890), t), 0.34 * (1 - t) + 0.05),
                 104 - 120 * t, -188 - 46 * t, r * 1.5, r * 0.62);
        }
    frame_whole(c);
}

/* ---- the far quay with its warehouses ---- */

typedef struct House {
    double x, w, eaves, top;
    unsigned wall, shade, roof;
    int across, up;
    int gable; /* 0 pitched, 1 stepped, 2 roof along the quay */
} House;

static void paint_windows(Canvas *c, const House *h, int seed)
{
    double foot = 836, pitch_x = h->w / (h->across + 0.4), pitch_y = (foot - h->eaves) / h->up;
    for (int j = 0; j < h->up; j++)
        for (int i = 0; i < h->across; i++) {
            double x = h->x + pitch_x * (i + 0.42), y = h->eaves + pitch_y * (j + 0.22);
            double w = pitch_x * 0.5, tall = pitch_y * 0.56;
            bool lit = lattice(i + 7 * seed, j, 77) > 0.46;
            box(c, flat(blend(hex(h->wall), hex(0xffe6c0), 0.3)), x - 3, y - 3, w + 6, tall + 6);
            box(c,
                lit ? across(hex(0xffe08a), hex(0xf79a3c), 0, y, 0, y + tall) : flat(hex(0x2a3358)),
                x, y, w, tall);
            box(c, flat(hex(h->shade)), x + w / 2 - 1.5, y, 3, tall);
            box(c, flat(hex(h->shade)), x, y + tall * 0.45, w, 3);
        }
}

static void paint_house(Canvas *c, const House *h, int seed)
{
    double foot = 846, x0 = h->x, x1 = h->x + h->w, mid = (x0 + x1) / 2, up = h->eaves - h->top;
    Paint wall = across(blend(hex(h->wall), hex(0xffb070), 0.22), hex(h->shade), x0, h->top,
                        x1 + 40, foot + 120);
    Paint roof = across(blend(hex(h->roof), hex(0xffa070), 0.25), hex(h->roof), x0, 0, x1, 0);
    c->standing = true;
    box(c, flat(hex(0x3a2436)), x0 + h->w * 0.72, h->top - 16, 26, 60 + up * 0.4);
    box(c, flat(hex(0x8a4a44)), x0 + h->w * 0.72, h->top - 16, 9, 60 + up * 0.4);
    if (h->gable == 2) {
        polygon(c, roof,
                POINTS(x0 - 10, h->eaves, x0 + 30, h->top, x1 - 30, h->top, x1 + 10, h->eaves));
        for (int i = 0; i < 3; i++) {
            double x = x0 + h->w * (i + 0.5) / 3, y = h->eaves - up * 0.30;
            polygon(c, flat(hex(h->shade)),
                    POINTS(x - 22, y, x, y - 30, x + 22, y, x + 18, y + 24, x - 18, y + 24));
            box(c, flat(hex(0xffcf72)), x - 9, y, 18, 20);
        }
    } else if (h->gable == 1) {
        for (int i = 0; i < 5; i++)
            box(c, wall, x0 + h->w * 0.1 * i, h->eaves - up * (i + 1) / 5, h->w * (1 - 0.2 * i),
                up / 5 + 1);
        for (int i = 0; i < 5; i++)
            box(c, flat(blend(hex(h->wall), hex(0xfff0d8), 0.55)), x0 + h->w * 0.1 * i - 3,
                h->eaves - up * (i + 1) / 5 - 5, h->w * 0.1 + 6, 7);
        for (int i = 0; i < 5; i++)
            box(c, flat(blend(hex(h->wall), hex(0xfff0d8), 0.3)), x1 - h->w * 0.1 * (i + 1) - 3,
                h->eaves - up * (i + 1) / 5 - 5, h->w * 0.1 + 6, 7);
    } else {
        polygon(c, wall, POINTS(x0, h->eaves, mid, h->top + 10, x1, h->eaves));
        polygon(
            c, roof,
            POINTS(x0 - 12, h->eaves + 6, mid, h->top - 8, mid, h->top + 14, x0 + 4, h->eaves + 8));
        polygon(
            c, flat(hex(h->roof)),
            POINTS(x1 + 12, h->eaves + 6, mid, h->top - 8, mid, h->top + 14, x1 - 4, h->eaves + 8));
    }
    box(c, wall, x0, h->eaves, h->w, foot - h->eaves);
    if (h->gable < 2) {
        oval(c, flat(hex(0xffd884)), mid, h->eaves - up * 0.28, h->w * 0.085, h->w * 0.085);
        box(c, flat(hex(0x2a1c2c)), mid - 3, h->eaves - up * 0.62, 6, up * 0.12);
    }
    paint_windows(c, h, seed);
}

static void paint_warehouses(Canvas *c)
{
    static const House house[] = {
        {1560, 150, 640, 560, 0x8a5a6c, 0x4a3556, 0x3a3358, 3, 2, 2},
        {1706, 168, 560, 428, 0xb8483c, 0x5c2238, 0x4a2a4c, 3, 3, 0},
        {1878, 150, 520, 380, 0xd8973c, 0x84503c, 0x5c3040, 3, 3, 1},
        {2032, 190, 570, 440, 0x3f7078, 0x24405c, 0x2c3458, 4, 3, 0},
        {2226, 200, 530, 400, 0xa63a40, 0x54203c, 0x40264c, 4, 3, 1},
    };
    for (int i = 0; i < 5; i++) paint_house(c, &house[i], i);
    c->standing = true;
    polygon(c, across(hex(0x8a6470), hex(0x2a2446), 0, 836, 0, 884),
            POINTS(1500, 842, 2410, 834, 2410, 892, 1500, 884));
    polygon(c, flat(hex(0xd39a80)), POINTS(1500, 842, 2410, 834, 2410, 842, 1500, 848));
    for (int i = 0; i < 14; i++) box(c, flat(hex(0x3a2c48)), 1530 + 64.0 * i, 850, 8, 36);
    for (int i = 0; i < 4; i++) {
        double x = 1620 + 215.0 * i;
        box(c, flat(hex(0x1c1a34)), x - 2, 752, 4, 88);
        oval(c, flat(hex(0xfff2c0)), x, 748, 8, 9);
        oval(c, glow(hex(0xffb860), 0.55, x, 748, 70), x, 748, 70, 70);
    }
}

/* ---- the sailing ship ---- */

static void paint_hull(Canvas *c)
{
    c->standing = true;
    trace(c, POINTS(1004, 812, 1040, 848, 1120, 862, 1300, 868, 1500, 862, 1640, 842, 1752, 806,
                    1764, 812, 1750, 872, 1722, 930, 1690, 966, 1120, 966, 1074, 930, 1046, 880));
    clip(c);
    c->clipped = false;
    trace(c, POINTS(1004, 812, 1040, 848, 1120, 862, 1300, 868, 1500, 862, 1640, 842, 1752, 806,
                    1764, 812, 1750, 872, 1722, 930, 1690, 966, 1120, 966, 1074, 930, 1046, 880));
    fill(c, across(hex(0x26365c), hex(0x0a0f22), 1100, 820, 1500, 990));
    c->clipped = true;
    c->standing = false;
    polygon(c, flat(hex(0xb02a30)),
            POINTS(1000, 944, 1250, 950, 1500, 950, 1800, 938, 1800, 980, 1000, 980));
    polygon(c, flat(hex(0xf2dfc0)),
            POINTS(1000, 836, 1044, 872, 1120, 888, 1300, 894, 1500, 888, 1640, 868, 1770, 830,
                   1770, 846, 1640, 884, 1500, 904, 1300, 910, 1120, 904, 1044, 888, 1000, 850));
    for (int i = 0; i < 10; i++) {
        double x = 1130 + 58.0 * i, t = (x - 1340) / 420, y = 902 - 28 * t * t;
        box(c, flat(hex(0x10152c)), x - 9, y - 10, 18, 15);
    }
    polygon(c, flat(hex(0xe0a040)),
            POINTS(1000, 808, 1040, 846, 1120, 860, 1300, 866, 1500, 860, 1640, 840, 1760, 800,
                   1770, 812, 1640, 850, 1500, 869, 1300, 875, 1120, 869, 1040, 856, 1000, 820));
    polygon(c, veil(hex(0x5a78a0), 0.5),
            POINTS(1040, 868, 1110, 920, 1150, 966, 1120, 966, 1074, 930, 1040, 880));
    clip_end(c);
    c->standing = true;
    blob(c, flat(hex(0xe8b048)),
         POINTS(1004, 812, 992, 820, 996, 846, 1014, 858, 1020, 840, 1012, 824));
    /* The deck house and the stern lantern. */
    polygon(c, across(hex(0xc0703c), hex(0x6a3038), 1420, 0, 1520, 0),
            POINTS(1424, 822, 1522, 820, 1522, 862, 1424, 866));
    box(c, flat(hex(0xffd27a)), 1440, 834, 18, 16);
    box(c, flat(hex(0xffd27a)), 1484, 833, 18, 16);
    box(c, flat(hex(0xf4e6d4)), 1416, 814, 112, 9);
    oval(c, flat(hex(0xfff2c0)), 1764, 790, 10, 12);
    oval(c, glow(hex(0xffb050), 0.6, 1764, 790, 80), 1764, 790, 80, 80);
}

typedef struct Mast {
    double x, top, deck;
    int yards;
} Mast;

static const Mast mast[3] = {{1178, 150, 862, 4}, {1386, 66, 866, 4}, {1594, 200, 850, 0}};

static void paint_yard(Canvas *c, double x, double y, double half)
{
    blob(c, across(hex(0xf8e2bc), hex(0xa98a98), x - half, y - 8, x + half * 0.3, y + 20),
         POINTS(x - half * 0.9, y + 3, x - half * 0.5, y - 4, x, y - 5, x + half * 0.5, y - 4,
                x + half * 0.9, y + 3, x + half * 0.55, y + 15, x + half * 0.26, y + 11, x, y + 21,
                x - half * 0.26, y + 11, x - half * 0.55, y + 15));
    for (int i = -3; i <= 3; i++)
        line(c, flat(hex(0x6a4a50)), x + half * 0.24 * i, y - 5, x + half * 0.24 * i + 2, y + 14, 3,
             3);
    line(c, flat(hex(0x2c1c2c)), x - half, y + 1, x, y - 5, 4, 8);
    line(c, flat(hex(0x2c1c2c)), x, y - 5, x + half, y + 1, 8, 4);
}

static void paint_shrouds(Canvas *c, const Mast *m)
{
    Paint tar = flat(hex(0x241a30));
    double tall = m->deck - m->top, hounds = m->top + 0.46 * tall;
    for (int side = -1; side <= 1; side += 2) {
        for (int i = 0; i < 4; i++)
            line(c, tar, m->x + side * 4, hounds, m->x + side * (40 + 17.0 * i), m->deck + 2, 2.4,
                 2.8);
        for (int i = 1; i < 13; i++) {
            double t = i / 13.0, y = hounds + (m->deck - hounds) * t;
            line(c, tar, m->x + side * (4 + 36 * t), y, m->x + side * (4 + 87 * t), y, 1.7, 1.7);
        }
        for (int i = 0; i < 2; i++)
            line(c, tar, m->x + side * 2, m->top + 0.16 * tall, m->x + side * (30 + 12.0 * i),
                 hounds + 26, 1.8, 1.8);
        line(c, tar, m->x, m->top + 30, m->x + side * 104 + 16, m->deck, 1.8, 2.2);
    }
    c->standing = true;
    polygon(c, flat(hex(0x34222c)),
            POINTS(m->x - 36, hounds + 20, m->x + 36, hounds + 20, m->x + 28, hounds + 30,
                   m->x - 28, hounds + 30));
}

static void paint_masts(Canvas *c)
{
    Paint tar = flat(hex(0x241a30));
    c->standing = true;
    line(c, across(hex(0xd89050), hex(0x5a3038), 900, 0, 1060, 0), 1060, 838, 872, 742, 22, 9);
    for (int i = 0; i < 3; i++) {
        const Mast *m = &mast[i];
        double tall = m->deck - m->top;
        Paint wood = across(hex(0xe0985c), hex(0x54303c), m->x - 9, 0, m->x + 9, 0);
        paint_shrouds(c, m);
        line(c, wood, m->x, m->deck, m->x, m->top + 0.42 * tall, 21, 16);
        line(c, wood, m->x, m->top + 0.5 * tall, m->x, m->top, 13, 5);
        for (int k = 0; k < m->yards; k++)
            paint_yard(c, m->x, m->top + tall * (0.13 + 0.165 * k),
                       74 + 26.0 * k - (i == 0 ? 6 * k : 0));
    }
    /* The spanker, brailed up along its gaff, and its boom. */
    line(c, flat(hex(0x6a3a3c)), 1600, 800, 1776, 776, 9, 6);
    line(c, flat(hex(0x6a3a3c)), 1600, 560, 1722, 470, 8, 5);
    blob(c, across(hex(0xf4d8b4), hex(0x9a7a90), 1600, 0, 1720, 0),
         POINTS(1604, 566, 1660, 524, 1716, 482, 1706, 520, 1664, 556, 1640, 620, 1622, 700, 1614,
                790, 1604, 790));
    /* Stays. */
    const double stay[][4] = {
        {1178, 160, 876, 744},  {1178, 330, 930, 772},  {1178, 470, 1000, 806},
        {1386, 76, 1178, 300},  {1386, 260, 1178, 480}, {1386, 400, 1186, 850},
        {1594, 206, 1386, 380}, {1594, 380, 1392, 560}, {1594, 520, 1396, 856},
        {1594, 204, 1760, 800}, {1386, 70, 1660, 838},  {1722, 470, 1772, 780},
        {876, 744, 1024, 880},  {930, 772, 1030, 900}};
    for (size_t i = 0; i < sizeof stay / sizeof *stay; i++)
        line(c, tar, stay[i][0], stay[i][1], stay[i][2], stay[i][3], 2.4, 2.4);
}

/* A line dressed with flags. */
static void dress(Canvas *c, double x0, double y0, double x1, double y1, double sag, int flags,
                  int first)
{
    static const unsigned tint[] = {0xe8303c, 0xffc41e, 0x1f6fd0, 0xf8f0e0, 0x18a060, 0xf07820};
    rope(c, flat(hex(0x2a2038)), x0, y0, x1, y1, sag, 2);
    for (int i = 0; i < flags; i++) {
        double t = (i + 0.5) / flags, x = x0 + (x1 - x0) * t,
               y = y0 + (y1 - y0) * t + 4 * sag * t * (1 - t);
        double sway = 5 * (lattice(i, first, 91) - 0.3);
        Paint paint =
            across(hex(tint[(i + first) % 6]),
                   blend(hex(tint[(i + first) % 6]), hex(0x301840), 0.35), x, y, x + 26, y + 30);
        if (i % 2)
            polygon(c, paint, POINTS(x - 11, y, x + 13, y, x + 2 + sway, y + 34));
        else
            polygon(c, paint,
                    POINTS(x - 12, y, x + 12, y, x + 13 + sway, y + 25, x - 11 + sway, y + 25));
    }
}

static void paint_ship(Canvas *c)
{
    paint_masts(c);
    paint_hull(c);
    c->standing = true;
    dress(c, 876, 742, 1178, 152, 24, 15, 0);
    dress(c, 1178, 152, 1386, 70, 22, 6, 3);
    dress(c, 1386, 70, 1594, 202, 22, 7, 1);
    dress(c, 1594, 202, 1768, 770, 20, 14, 4);
    polygon(c, across(hex(0xf02838), hex(0x901838), 1386, 0, 1490, 0),
            POINTS(1386, 62, 1420, 50, 1456, 62, 1500, 48, 1470, 70, 1452, 80, 1420, 70, 1386, 84));
}

/* ---- afloat ---- */

static void paint_buoy(Canvas *c, double x, double y, double s, unsigned tint, unsigned shade)
{
    frame(c, x, y, s, s);
    c->standing = true;
    polygon(c, across(hex(tint), hex(shade), -20, 0, 26, 0),
            POINTS(-16, -8, -7, -64, 7, -64, 16, -8));
    polygon(c, flat(hex(0xfff0dc)), POINTS(-12.5, -30, -9.8, -46, 9.8, -46, 12.5, -30));
    blob(c, across(hex(tint), hex(shade), -30, -10, 30, 6),
         POINTS(-31, -8, 0, -15, 31, -8, 27, 5, 0, 9, -27, 5));
    line(c, flat(hex(0x241a30)), 0, -64, 0, -84, 4, 3);
    oval(c, flat(hex(0xfff4c0)), 0, -88, 6, 6);
    oval(c, glow(hex(tint), 0.7, 0, -88, 44), 0, -88, 44, 44);
    frame_whole(c);
}

static void paint_rowing_boat(Canvas *c)
{
    frame(c, 1120, 1128, 1.25, 1.25);
    c->standing = true;
    blob(c, flat(hex(0x3a2030)),
         POINTS(-6, -34, 70, -26, 160, -26, 226, -38, 200, -14, 110, -8, 20, -14));
    polygon(c, flat(hex(0xb07848)), POINTS(60, -30, 84, -30, 92, -14, 66, -12));
    polygon(c, flat(hex(0xb07848)), POINTS(136, -30, 160, -30, 160, -12, 138, -12));
    blob(c, across(hex(0x20a0a0), hex(0x0c3c58), 0, -30, 120, 20),
         POINTS(-12, -36, 40, -20, 110, -15, 180, -20, 232, -40, 222, -12, 196, 6, 110, 10, 26, 6,
                2, -12));
    line(c, flat(hex(0xf8e8c8)), -10, -35, 44, -20, 6, 6);
    line(c, flat(hex(0xf8e8c8)), 42, -20, 110, -15, 6, 6);
    line(c, flat(hex(0xf8e8c8)), 110, -15, 180, -20, 6, 6);
    line(c, flat(hex(0xf8e8c8)), 178, -20, 230, -39, 6, 6);
    line(c, flat(hex(0xd8a868)), 30, -46, 210, -6, 5, 5);
    frame_whole(c);
}

static void drowned(Canvas *c, double waterline)
{
    c->drowned = true;
    c->waterline = waterline;
}

/* Everything that stands in the water or beyond it. Far things first. */
static void paint_scene(Canvas *c, bool upside_down)
{
    c->drowned = upside_down;
    c->waterline = HORIZON;
    paint_sky(c);
    paint_hills(c);
    if (upside_down) drowned(c, 808);
    paint_head(c);
    paint_tower(c);
    if (upside_down) drowned(c, 838);
    paint_ferry(c);
    if (upside_down) drowned(c, 886);
    paint_warehouses(c);
    if (upside_down) drowned(c, 962);
    paint_ship(c);
    c->drowned = false;
}

static void paint_afloat(Canvas *c, bool upside_down)
{
    if (upside_down) drowned(c, 1136);
    paint_rowing_boat(c);
    if (upside_down) drowned(c, 1046);
    paint_buoy(c, 905, 1042, 0.9, 0xff3a28, 0x901428);
    if (upside_down) drowned(c, 1192);
    paint_buoy(c, 1640, 1186, 1.25, 0x20c060, 0x0c5038);
    c->drowned = false;
}

/* ---- water ---- */

static void mirror_at(const Canvas *mirror, double x, double y, double rgb[3])
{
    x = clamp(x, 0, WIDTH - 1.001), y = clamp(y, HORIZON, HEIGHT - 1.001);
    int ix = (int)x, iy = (int)y;
    double u = x - ix, v = y - iy;
    const float *p = mirror->rgb + 3 * ((size_t)iy * WIDTH + (size_t)ix), *q = p + 3 * WIDTH;
    for (int i = 0; i < 3; i++)
        rgb[i] = ((double)p[i] * (1 - u) + (double)p[i + 3] * u) * (1 - v) +
                 ((double)q[i] * (1 - u) + (double)q[i + 3] * u) * v;
}

/* The ripples are noise on a plane seen in perspective: their size grows with nearness. */
static void water_at(Canvas *c, const Canvas *mirror, int x, int y)
{
    double near = y - HORIZON + 10, u = (x - 0.5 * WIDTH) / near, v = log(near);
    double wave = cloudy(u * 5, v * 20, 3, 41) - 0.5, chop = cloudy(u * 11, v * 44, 2, 57) - 0.5;
    double rgb[3], t = rise(0, 700, near);
    mirror_at(mirror, x + near * (0.16 * wave + 0.05 * chop),
              y + near * (0.42 * wave + 0.14 * chop), rgb);
    static const double deep[3] = {0.010, 0.030, 0.062};
    double sink = 0.16 + 0.34 * t + 0.5 * rise(0.04, 0.20, wave);
    sink = clamp(sink, 0, 0.86);
    float *p = c->rgb + 3 * ((size_t)y * WIDTH + (size_t)x);
    for (int i = 0; i < 3; i++) p[i] = (float)(rgb[i] * (1 - sink) + deep[i] * sink);
    /* The sun's path breaks into facets that face it. */
    double off = (x - SUN_X) / (26 + 0.30 * near);
    double facet = rise(0.52, 0.60, cloudy(u * 7, v * 30, 2, 73)) * exp(-off * off);
    lay(c, x, y, 0.72 * facet * (1 - 0.35 * t), hex(0xffd48a), false);
    double crest = rise(0.63, 0.68, cloudy(u * 6, v * 26, 2, 99));
    lay(c, x, y, 0.17 * crest, hex(0xb49ac8), false);
}

static void paint_water(Canvas *c, const Canvas *mirror)
{
    for (int y = HORIZON; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            size_t at = (size_t)y * WIDTH + (size_t)x;
            if (!c->stands[at]) water_at(c, mirror, x, y);
        }
}

/* ---- the near quay ---- */

static void paint_paving(Canvas *c)
{
    polygon(c, across(hex(0x4a3a58), hex(0x14122a), 0, 1392, 0, 1450),
            POINTS(0, 1388, WIDTH, 1388, WIDTH, 1452, 0, 1452));
    polygon(c, across(hex(0xb98a86), hex(0x4a3a5c), 0, 1390, 0, HEIGHT),
            POINTS(0, 1408, WIDTH, 1408, WIDTH, HEIGHT, 0, HEIGHT));
    box(c, flat(hex(0xe6b394)), 0, 1400, WIDTH, 26);
    for (int row = 0; row < 5; row++) {
        double y0 = 1426 + 9 * row * (row + 3), y1 = 1426 + 9 * (row + 1) * (row + 4);
        for (int i = -14; i < 14; i++) {
            double shift = row % 2 ? 0.5 : 0, k0 = 0.7 + (y0 - 1426) / 420,
                   k1 = 0.7 + (y1 - 1426) / 420;
            double a = (i + shift) * 180, b = a + 172;
            double v = lattice(i, row, 131);
            polygon(c, veil(blend(hex(0x5c4768), hex(0xd0a090), v), 0.5),
                    POINTS(1200 + a * k0, y0 + 3, 1200 + b * k0, y0 + 3, 1200 + b * k1, y1 - 2,
                           1200 + a * k1, y1 - 2));
        }
    }
    for (int i = 0; i < 14; i++) box(c, veil(hex(0x6a4a60), 0.8), 60 + 176.0 * i, 1400, 4, 26);
}

static void paint_bollard(Canvas *c)
{
    frame(c, 1225, 1470, 1, 1);
    oval(c, veil(hex(0x1a1430), 0.6), 24, 6, 110, 18);
    rope(c, across(hex(0xe8c890), hex(0x8a6a5c), -300, 0, 100, 0), -206, -642, 0, -92, 60, 8);
    blob(c, across(hex(0x6a5070), hex(0x16142c), -50, 0, 50, 0),
         POINTS(-58, 8, -50, -20, -38, -100, 38, -100, 50, -20, 58, 8, 0, 18));
    blob(c, across(hex(0x9a7488), hex(0x1c1834), -60, -130, 60, -90),
         POINTS(-64, -112, -50, -132, 0, -140, 50, -132, 64, -112, 50, -94, 0, -88, -50, -94));
    for (int i = 0; i < 3; i++) {
        blob(c, across(hex(0xf0d4a0), hex(0x7a5a54), -50, 0, 50, 0),
             POINTS(-50, -34 - 17.0 * i, 0, -26 - 17.0 * i, 50, -34 - 17.0 * i, 50, -48 - 17.0 * i,
                    0, -40 - 17.0 * i, -50, -48 - 17.0 * i));
    }
    frame_whole(c);
}

static void paint_gull(Canvas *c, double x, double y, double s)
{
    frame(c, x, y, -s, s);
    line(c, flat(hex(0xf0803c)), -2, 40, -4, 78, 5, 5);
    line(c, flat(hex(0xf0803c)), 14, 40, 14, 78, 5, 5);
    blob(c, across(hex(0xfff6e8), hex(0x9c94b8), -30, 0, 50, 60),
         POINTS(-52, -34, -30, -40, -16, -20, 20, -14, 60, 10, 104, 34, 60, 38, 10, 46, -28, 30,
                -36, 0));
    blob(c, across(hex(0x9a98b8), hex(0x54587c), 0, -10, 90, 40),
         POINTS(-8, -6, 26, -8, 70, 14, 120, 36, 66, 32, 10, 26));
    blob(c, flat(hex(0xfff8ec)),
         POINTS(-66, -46, -54, -66, -32, -66, -22, -48, -32, -28, -54, -30));
    polygon(c, flat(hex(0xffb428)), POINTS(-64, -52, -92, -42, -62, -38));
    oval(c, flat(hex(0x1a1430)), -50, -52, 4.5, 4.5);
    polygon(c, flat(hex(0x1c1a34)), POINTS(92, 26, 130, 38, 84, 38));
    frame_whole(c);
}

static void paint_lifebelt(Canvas *c)
{
    const double x = 1560, y = 1280;
    box(c, across(hex(0xd8a070), hex(0x50304c), x - 12, 0, x + 14, 0), x - 12, 1130, 24, 330);
    box(c, flat(hex(0xf8e2bc)), x - 18, 1120, 36, 14);
    for (int i = 0; i < 64; i++) add(c, x + 78 * cos(i * M_PI / 32), y + 78 * sin(i * M_PI / 32));
    for (int i = 64; i >= 0; i--) add(c, x + 42 * cos(i * M_PI / 32), y + 42 * sin(i * M_PI / 32));
    add(c, x + 78, y);
    fill(c, across(hex(0xfff6e4), hex(0xa898b8), x - 70, y - 60, x + 70, y + 70));
    for (int k = 0; k < 4; k++) {
        double from = k * M_PI / 2 + 0.45;
        for (int i = 0; i <= 12; i++)
            add(c, x + 79 * cos(from + i * 0.056), y + 79 * sin(from + i * 0.056));
        for (int i = 12; i >= 0; i--)
            add(c, x + 41 * cos(from + i * 0.056), y + 41 * sin(from + i * 0.056));
        fill(c, across(hex(0xff4a28), hex(0xb01830), x - 60, y - 60, x + 60, y + 60));
    }
    rope(c, flat(hex(0xd8b888)), x - 84, y, x - 20, y + 92, 26, 5);
    rope(c, flat(hex(0xd8b888)), x + 84, y, x + 20, y + 92, 26, 5);
}

/* ---- people ---- */

/* Tones of a face from light to dark, and what is coloured in it. */
typedef struct Look {
    unsigned light, skin, shade, dark, lip, brow, iris;
    double smile; /* how far the corners of the mouth rise */
    double eyes;  /* their size, 1 for a grown-up */
} Look;

/* One eye about (x, y), w its half width. */
static void paint_eye(Canvas *c, const Look *look, double x, double y, double w)
{
    Tint lash = hex(0x24141c);
    blob(c, veil(hex(look->shade), 0.75),
         POINTS(x - w * 1.35, y, x - w * 0.6, y - w * 0.85, x + w * 0.7, y - w * 0.85, x + w * 1.35,
                y - w * 0.1, x + w * 0.6, y + w * 0.7, x - w * 0.7, y + w * 0.7));
    blob(c, flat(hex(0xf4e8e0)),
         POINTS(x - w, y + w * 0.12, x - w * 0.4, y - w * 0.42, x + w * 0.4, y - w * 0.42, x + w,
                y + w * 0.05, x + w * 0.4, y + w * 0.42, x - w * 0.4, y + w * 0.42));
    oval(c, flat(hex(look->iris)), x - w * 0.16, y - w * 0.07, w * 0.46, w * 0.47);
    oval(c, flat(lash), x - w * 0.16, y - w * 0.07, w * 0.25, w * 0.26);
    oval(c, flat(hex(0xffffff)), x - w * 0.32, y - w * 0.20, w * 0.13, w * 0.13);
    blob(c, flat(lash),
         POINTS(x - w * 1.1, y + w * 0.1, x - w * 0.45, y - w * 0.55, x + w * 0.45, y - w * 0.55,
                x + w * 1.18, y + w * 0.05, x + w * 0.45, y - w * 0.26, x - w * 0.45,
                y - w * 0.26));
    blob(c, veil(hex(look->dark), 0.7),
         POINTS(x - w * 0.7, y + w * 0.55, x, y + w * 0.66, x + w * 0.9, y + w * 0.4, x,
                y + w * 0.56));
}

static void paint_nose(Canvas *c, const Look *look)
{
    blob(c, flat(hex(look->shade)),
         POINTS(-0.06, -0.20, -0.04, 0.0, -0.05, 0.18, 0.05, 0.27, 0.05, 0.37, -0.05, 0.40, -0.16,
                0.41, -0.22, 0.37, -0.13, 0.33, -0.13, 0.1, -0.12, -0.1));
    blob(c, flat(hex(look->light)),
         POINTS(-0.17, -0.12, -0.12, -0.05, -0.13, 0.22, -0.17, 0.33, -0.25, 0.31, -0.25, 0.22,
                -0.19, 0.05));
    blob(c, flat(hex(look->dark)),
         POINTS(-0.20, 0.385, -0.14, 0.37, -0.06, 0.385, -0.02, 0.36, 0.02, 0.385, -0.08, 0.42));
    blob(c, veil(hex(look->shade), 0.7), POINTS(-0.20, 0.41, 0.02, 0.41, -0.02, 0.49, -0.18, 0.48));
}

static void paint_mouth(Canvas *c, const Look *look)
{
    double up = look->smile;
    Tint lip = hex(look->lip), dark = blend(lip, hex(0x200818), 0.55);
    blob(c, flat(lip),
         POINTS(-0.36, 0.575 - up, -0.24, 0.54, -0.15, 0.555, -0.06, 0.54, 0.12, 0.575 - up, 0.02,
                0.655, -0.13, 0.675, -0.27, 0.655));
    blob(c, flat(dark),
         POINTS(-0.40, 0.57 - up, -0.24, 0.57, -0.14, 0.585, -0.02, 0.57, 0.16, 0.565 - up, 0.0,
                0.605, -0.14, 0.615, -0.27, 0.605));
    blob(c, veil(hex(look->light), 0.6),
         POINTS(-0.24, 0.635, -0.12, 0.64, -0.10, 0.66, -0.22, 0.66));
    blob(c, veil(hex(look->shade), 0.85),
         POINTS(-0.27, 0.70, -0.12, 0.715, 0.02, 0.70, -0.04, 0.76, -0.20, 0.76));
}

static const double face_outline[] = {-0.60, -0.62, -0.70, -0.25, -0.68, 0.08,  -0.66, 0.28,
                                      -0.56, 0.58,  -0.38, 0.86,  -0.16, 0.98,  0.06,  0.985,
                                      0.32,  0.86,  0.56,  0.60,  0.68,  0.24,  0.73,  -0.15,
                                      0.70,  -0.58, 0.44,  -0.94, 0,     -1.06, -0.40, -0.94};

/* A head in a frame one head-half high, lit from the left and turned a little to it. */
static void paint_face(Canvas *c, const Look *look)
{
    enum { OUTLINE = sizeof face_outline / 16 };
    Tint skin = hex(look->skin), shade = hex(look->shade), dark = hex(look->dark),
         light = hex(look->light);
    blob(c, across(shade, dark, 0, 0.7, 0.1, 1.3),
         POINTS(-0.36, 0.5, 0.52, 0.4, 0.56, 1.2, 0.74, 1.6, -0.46, 1.6, -0.34, 1.2));
    blob(c, flat(shade), POINTS(0.66, -0.16, 0.80, -0.20, 0.86, -0.02, 0.80, 0.22, 0.66, 0.26));
    blob(c, flat(skin), face_outline, OUTLINE);
    trace_round(c, face_outline, OUTLINE);
    clip(c);
    blob(c, flat(light),
         POINTS(-0.62, -0.7, -0.3, -0.84, 0.02, -0.7, 0.0, -0.42, -0.3, -0.32, -0.56, -0.32));
    blob(c, veil(light, 0.75),
         POINTS(-0.70, 0.06, -0.50, 0.10, -0.32, 0.16, -0.36, 0.27, -0.48, 0.38, -0.56, 0.56, -0.68,
                0.50));
    blob(c, flat(light), POINTS(-0.26, 0.78, -0.12, 0.80, -0.06, 0.88, -0.16, 0.94, -0.26, 0.90));
    blob(c, flat(shade),
         POINTS(0.34, -1.2, 0.40, -0.7, 0.46, -0.36, 0.38, -0.20, 0.40, 0.02, 0.50, 0.16, 0.36,
                0.34, 0.26, 0.52, 0.28, 0.70, 0.14, 0.86, 0.10, 1.1, 0.9, 1.1, 0.9, -1.0));
    blob(c, veil(dark, 0.65),
         POINTS(0.62, -1.0, 0.60, -0.3, 0.64, 0.1, 0.54, 0.4, 0.40, 0.72, 0.16, 1.0, 0.6, 1.1, 1.0,
                0.2, 0.9, -0.8));
    blob(c,
         (Paint){hex(0xf06850), hex(0xf06850), 0.42, 0, -0.44, 0.34, -0.14, 0.34, false, true,
                 false},
         POINTS(-0.74, 0.34, -0.44, 0.04, -0.14, 0.34, -0.44, 0.64));
    blob(c,
         (Paint){hex(0xd85848), hex(0xd85848), 0.30, 0, 0.26, 0.34, 0.52, 0.34, false, true, false},
         POINTS(0.0, 0.34, 0.26, 0.08, 0.52, 0.34, 0.26, 0.60));
    paint_eye(c, look, -0.42, -0.08, 0.14 * look->eyes);
    paint_eye(c, look, 0.15, -0.08, 0.16 * look->eyes);
    Paint brow = flat(hex(look->brow));
    blob(c, brow, POINTS(-0.60, -0.24, -0.44, -0.34, -0.24, -0.28, -0.25, -0.22, -0.44, -0.27));
    blob(c, brow,
         POINTS(-0.06, -0.28, 0.14, -0.35, 0.36, -0.25, 0.36, -0.21, 0.14, -0.28, -0.06, -0.22));
    paint_nose(c, look);
    paint_mouth(c, look);
    clip_end(c);
}

static void paint_woman(Canvas *c)
{
    static const Look look = {0xffd8b0, 0xeba880, 0xb06860, 0x6a3a50, 0xc83048,
                              0x4a2028, 0x3c6a5c, 0.02,     1.0};
    frame(c, 440, 1046, -156, 156);
    /* Coat, with its collar and a lit edge toward the sun. */
    blob(c, across(hex(0x1c8078), hex(0x0c3048), -1.2, 1.6, 1.2, 2.6),
         POINTS(-0.5, 1.26, -1.15, 1.52, -1.45, 1.95, -1.55, 2.8, -1.6, 4.2, 1.75, 4.2, 1.68, 2.8,
                1.48, 1.9, 1.1, 1.5, 0.5, 1.24));
    blob(c, flat(hex(0x48b89c)),
         POINTS(-0.86, 1.40, -1.15, 1.52, -1.45, 1.95, -1.55, 2.8, -1.62, 4.4, -1.50, 4.4, -1.45,
                2.8, -1.34, 2.04, -1.10, 1.66));
    blob(c, veil(hex(0x0a2840), 0.7),
         POINTS(-0.98, 2.0, -1.02, 2.6, -0.94, 3.3, -1.0, 4.4, -0.90, 4.4, -0.82, 3.2, -0.92, 2.5));
    blob(c, veil(hex(0x061c30), 0.8),
         POINTS(1.02, 1.9, 1.10, 2.6, 1.02, 3.3, 1.1, 4.4, 1.28, 4.4, 1.20, 3.2, 1.22, 2.5));
    blob(c, veil(hex(0x0a2840), 0.45),
         POINTS(0.5, 1.7, 0.62, 2.4, 0.50, 3.2, 0.62, 4.4, 0.36, 4.4, 0.34, 3.0, 0.44, 2.2));
    polygon(c, flat(hex(0x0a2438)), POINTS(0.02, 1.9, 0.10, 1.9, 0.16, 4.2, 0.06, 4.2));
    for (int i = 0; i < 3; i++) oval(c, flat(hex(0xf0c050)), -0.12, 2.2 + 0.42 * i, 0.065, 0.065);
    /* The hair under the scarf behind the face. */
    blob(c, across(hex(0x8a4024), hex(0x3a1420), -0.8, 0, 0.9, 0),
         POINTS(-0.78, -0.6, -0.8, 0.1, -0.72, 0.6, 0.7, 0.9, 0.95, 0.2, 0.9, -0.6, 0.4, -1.1, -0.4,
                -1.05));
    paint_face(c, &look);
    blob(c, across(hex(0x34a890), hex(0x16606c), -0.9, 1.3, 0.0, 1.9),
         POINTS(-0.62, 1.14, -0.98, 1.40, -0.72, 1.96, -0.30, 1.80, 0.02, 1.86, -0.12, 1.52, -0.40,
                1.32));
    blob(
        c, across(hex(0x186c70), hex(0x0a2840), 0.0, 1.4, 1.0, 1.8),
        POINTS(0.60, 1.12, 0.98, 1.40, 0.74, 1.98, 0.34, 1.80, 0.02, 1.86, 0.20, 1.52, 0.44, 1.30));
    blob(c, flat(hex(0x7a3420)),
         POINTS(-0.70, -0.10, -0.74, -0.50, -0.50, -0.86, -0.10, -0.98, 0.3, -0.9, 0.0, -0.72,
                -0.36, -0.56, -0.58, -0.32));
    blob(c, flat(hex(0x5a2220)),
         POINTS(0.3, -0.9, 0.66, -0.6, 0.76, -0.1, 0.64, -0.2, 0.50, -0.54, 0.16, -0.78));
    /* Headscarf: over the crown, down both sides, knotted under the chin. */
    blob(c, across(hex(0xff4a40), hex(0x9a1438), -0.8, -0.6, 0.9, 0.2),
         POINTS(-0.72, 0.08, -0.86, -0.30, -0.80, -0.86, -0.40, -1.24, 0.10, -1.32, 0.62, -1.16,
                0.96, -0.64, 1.00, -0.05, 0.92, 0.5, 0.62, 0.98, 0.2, 1.16, 0.34, 0.96, 0.62, 0.62,
                0.74, 0.2, 0.76, -0.2, 0.66, -0.58, 0.40, -0.86, 0.04, -0.95, -0.38, -0.84, -0.62,
                -0.58, -0.70, -0.24));
    blob(c, across(hex(0xff4a40), hex(0xb01c3c), -0.7, 0.6, 0.5, 1.4),
         POINTS(-0.70, -0.1, -0.62, 0.42, -0.40, 0.86, -0.1, 1.04, 0.3, 1.02, 0.5, 1.20, 0.1, 1.28,
                -0.3, 1.16, -0.62, 0.82, -0.78, 0.3));
    blob(c, flat(hex(0xd82840)),
         POINTS(-0.12, 1.08, 0.14, 1.06, 0.22, 1.22, 0.05, 1.36, -0.14, 1.26));
    blob(c, across(hex(0xf84440), hex(0xa01838), -0.4, 1.2, 0.3, 1.8),
         POINTS(-0.08, 1.22, -0.5, 1.6, -0.42, 1.84, -0.1, 1.6, 0.02, 1.34));
    blob(c, flat(hex(0xa81c3c)), POINTS(0.1, 1.26, 0.44, 1.62, 0.32, 1.86, 0.08, 1.58));
    for (int i = 0; i < 7; i++)
        oval(c, flat(hex(0xffe8c0)), -0.72 + 0.24 * i, -0.94 - 0.16 * sin(i * 0.55), 0.042, 0.042);
    for (int i = 0; i < 5; i++)
        oval(c, veil(hex(0xffe8c0), 0.8), 0.86 - 0.02 * i * i, -0.5 + 0.26 * i, 0.036, 0.036);
    polygon(c, veil(hex(0x7a0c34), 0.8),
            POINTS(0.40, -1.2, 0.66, -0.72, 0.84, -0.1, 0.90, -0.1, 0.74, -0.76, 0.5, -1.16));
    frame_whole(c);
}

static void paint_child(Canvas *c)
{
    static const Look look = {0xffe0b8, 0xf4b688, 0xc98664, 0x7c4450, 0xc85850,
                              0x8a5a34, 0x3a68a0, 0.045,    1.22};
    frame(c, 742, 1242, -114, 112);
    blob(c, across(hex(0xffd040), hex(0xb8701c), -1.1, 1.4, 1.2, 2.6),
         POINTS(-0.5, 1.12, -1.05, 1.45, -1.3, 1.9, -1.4, 3.4, 1.4, 3.4, 1.36, 1.9, 1.05, 1.4, 0.5,
                1.1));
    blob(c, flat(hex(0xfff0a0)),
         POINTS(-0.8, 1.30, -1.05, 1.45, -1.3, 1.9, -1.4, 3.6, -1.28, 3.6, -1.20, 2.0, -1.0, 1.58));
    blob(c, veil(hex(0x9a5818), 0.55),
         POINTS(0.84, 1.8, 0.94, 2.4, 0.86, 3.6, 1.06, 3.6, 1.06, 2.4));
    blob(c, veil(hex(0xb8741c), 0.6),
         POINTS(0.40, 1.6, 0.50, 2.2, 0.40, 3.6, 0.22, 3.6, 0.30, 2.4));
    polygon(c, flat(hex(0x9a5818)), POINTS(-0.02, 1.5, 0.05, 1.5, 0.08, 3.4, -0.02, 3.4));
    for (int i = 0; i < 2; i++) oval(c, flat(hex(0x2a3c78)), -0.16, 1.9 + 0.5 * i, 0.08, 0.08);
    /* Hood behind, face, then the hood's rim and a fringe. */
    blob(c, across(hex(0xd89020), hex(0x804818), -0.9, 0, 1, 0),
         POINTS(-0.84, -0.2, -0.78, -0.86, -0.3, -1.28, 0.3, -1.28, 0.84, -0.9, 1.0, -0.1, 0.88,
                0.7, 0.5, 1.16, -0.4, 1.16, -0.74, 0.6));
    paint_face(c, &look);
    blob(c, across(hex(0xffd84c), hex(0xc8801c), -0.9, 1.1, 0.9, 1.5),
         POINTS(-0.66, 1.06, -0.92, 1.40, -0.5, 1.66, 0.0, 1.66, 0.5, 1.70, 0.94, 1.40, 0.66, 1.04,
                0.3, 1.28, -0.3, 1.30));
    blob(c, across(hex(0xd89a4c), hex(0x8a5028), -0.6, 0, 0.7, 0),
         POINTS(-0.66, -0.3, -0.70, -0.75, -0.3, -1.02, 0.3, -1.0, 0.70, -0.7, 0.72, -0.3, 0.60,
                -0.56, 0.42, -0.46, 0.28, -0.60, 0.06, -0.44, -0.10, -0.60, -0.30, -0.42, -0.44,
                -0.58, -0.58, -0.42));
    blob(c, across(hex(0xffdc4c), hex(0xc07a1c), -0.9, -0.6, 1.0, 0.4),
         POINTS(-0.70, 0.50, -0.88, -0.1, -0.88, -0.80, -0.44, -1.30, 0.12, -1.40, 0.70, -1.20,
                1.04, -0.62, 1.08, 0.1, 0.90, 0.80, 0.40, 1.26, -0.2, 1.24, -0.56, 0.96, -0.30,
                0.98, 0.0, 1.06, 0.34, 0.98, 0.66, 0.66, 0.80, 0.1, 0.78, -0.5, 0.5, -0.92, 0.06,
                -1.08, -0.40, -0.96, -0.66, -0.62, -0.72, -0.1));
    /* A paper flag on a stick, and the hand that holds it. */
    frame_whole(c);
    line(c, flat(hex(0x7a4a34)), 872, 1546, 912, 1196, 9, 7);
    polygon(c, across(hex(0x1f78e0), hex(0x1448a0), 912, 0, 1040, 0),
            POINTS(912, 1198, 950, 1206, 990, 1194, 1036, 1206, 1024, 1250, 984, 1240, 946, 1252,
                   906, 1244));
    polygon(c, flat(hex(0xfff4e0)),
            POINTS(906, 1244, 946, 1252, 984, 1240, 1024, 1250, 1012, 1292, 976, 1284, 942, 1296,
                   901, 1288));
    blob(c, across(hex(0xffd040), hex(0xc07a20), 820, 1500, 900, 1600),
         POINTS(800, 1560, 836, 1520, 892, 1512, 906, 1550, 880, 1610, 800, 1620));
    blob(c, flat(hex(0xf4b688)),
         POINTS(862, 1500, 884, 1488, 902, 1496, 904, 1520, 884, 1534, 864, 1528));
    line(c, flat(hex(0xc47c60)), 866, 1512, 900, 1508, 3, 3);
}

static void paint_seaman(Canvas *c)
{
    static const Look look = {0xffcfa0, 0xd99668, 0x965448, 0x502c3c, 0x9c4840,
                              0xd8d0d0, 0x4a6a90, 0,        0.92};
    frame(c, 2010, 1034, 164, 164);
    blob(c, across(hex(0x2c4478), hex(0x0a1128), -1.3, 1.6, 1.0, 2.6),
         POINTS(-0.6, 1.20, -1.3, 1.50, -1.7, 1.95, -1.9, 2.9, -1.95, 4.0, 2.1, 4.0, 2.0, 2.7, 1.72,
                1.85, 1.25, 1.46, 0.6, 1.2));
    blob(c, flat(hex(0xd8845c)),
         POINTS(-0.96, 1.34, -1.3, 1.50, -1.7, 1.95, -1.9, 2.9, -1.97, 4.2, -1.88, 4.2, -1.81, 2.9,
                -1.62, 2.02, -1.26, 1.60));
    blob(
        c, veil(hex(0x0c1630), 0.75),
        POINTS(-1.22, 2.0, -1.28, 2.6, -1.18, 3.2, -1.26, 4.2, -1.14, 4.2, -1.04, 3.2, -1.14, 2.5));
    blob(c, veil(hex(0x3c5a94), 0.6),
         POINTS(-1.06, 1.62, -1.30, 2.1, -1.36, 2.7, -1.50, 3.2, -1.52, 2.6, -1.44, 2.0));
    blob(c, veil(hex(0x04081a), 0.8),
         POINTS(1.20, 1.9, 1.30, 2.6, 1.22, 3.2, 1.32, 4.2, 1.50, 4.2, 1.42, 3.2, 1.42, 2.5));
    polygon(c, flat(hex(0x070c1c)), POINTS(-0.16, 2.0, -0.05, 2.0, -0.02, 4.0, -0.16, 4.0));
    for (int k = 0; k < 2; k++)
        for (int i = 1; i < 3; i++)
            oval(c, flat(hex(0xe8b848)), -0.42 + 0.66 * k, 2.2 + 0.42 * i, 0.07, 0.07);
    /* A rolled woollen collar. */
    blob(c, across(hex(0xf0e4d0), hex(0x6a6480), -0.6, 1.2, 0.8, 1.6),
         POINTS(-0.66, 1.20, -0.3, 1.02, 0.5, 1.0, 0.80, 1.16, 0.80, 1.56, 0.4, 1.78, -0.1, 1.82,
                -0.56, 1.62));
    paint_face(c, &look);
    blob(c, across(hex(0xf4e8d4), hex(0x5c5878), -0.5, 1.3, 0.8, 1.6),
         POINTS(-0.68, 1.14, -0.40, 1.30, 0.06, 1.38, 0.52, 1.28, 0.82, 1.08, 0.84, 1.52, 0.4, 1.78,
                -0.1, 1.82, -0.58, 1.62));
    for (int i = 0; i < 9; i++)
        line(c, veil(hex(0x8a7c90), 0.6), -0.46 + 0.14 * i, 1.44 + 0.012 * i, -0.48 + 0.14 * i,
             1.66, 0.022, 0.022);
    blob(c, across(hex(0x3c5a94), hex(0x16244c), -0.9, 1.3, 0.0, 2.2),
         POINTS(-0.62, 1.30, -1.00, 1.46, -1.02, 1.96, -0.62, 1.92, -0.30, 2.36, -0.12, 2.10, -0.34,
                1.80));
    blob(c, across(hex(0x1c3060), hex(0x060c20), 0.0, 1.4, 1.1, 2.0),
         POINTS(0.82, 1.24, 1.14, 1.46, 1.10, 1.98, 0.72, 1.92, 0.24, 2.36, -0.10, 2.10, 0.42,
                1.80));
    /* Beard, whiskers and moustache in three tones. */
    blob(c, across(hex(0xf4ece0), hex(0x7c7890), -0.6, 0.4, 0.6, 1.0),
         POINTS(-0.68, 0.10, -0.62, 0.36, -0.46, 0.48, -0.32, 0.56, -0.12, 0.64, 0.12, 0.56, 0.34,
                0.44, 0.60, 0.30, 0.70, -0.20, 0.82, -0.1, 0.80, 0.50, 0.62, 1.00, 0.30, 1.34, 0.0,
                1.46, -0.30, 1.34, -0.56, 1.02, -0.70, 0.56));
    blob(c, flat(hex(0x8c88a0)),
         POINTS(0.34, 0.6, 0.60, 0.44, 0.76, 0.2, 0.74, 0.6, 0.52, 1.02, 0.24, 1.30, 0.04, 1.40,
                0.20, 1.06));
    blob(c, flat(hex(0xfffaf0)),
         POINTS(-0.62, 0.5, -0.48, 0.62, -0.38, 0.86, -0.26, 1.16, -0.44, 1.06, -0.58, 0.82));
    for (int i = 0; i < 5; i++)
        line(c, veil(hex(0x9c96a8), 0.8), -0.36 + 0.14 * i, 0.86, -0.28 + 0.12 * i, 1.24, 0.03,
             0.01);
    blob(c, across(hex(0xfffaf0), hex(0x9490a8), -0.4, 0, 0.4, 0),
         POINTS(-0.13, 0.45, 0.02, 0.41, 0.24, 0.48, 0.46, 0.70, 0.18, 0.67, -0.04, 0.62, -0.14,
                0.57, -0.26, 0.61, -0.54, 0.68, -0.44, 0.50, -0.26, 0.42));
    blob(c, flat(hex(0xa8504c)),
         POINTS(-0.27, 0.615, -0.13, 0.585, 0.03, 0.61, -0.04, 0.675, -0.20, 0.68));
    /* Hair at the temples, then the cap with its peak. */
    blob(c, flat(hex(0xa8a4b8)),
         POINTS(0.58, -0.5, 0.78, -0.5, 0.82, -0.1, 0.70, -0.16, 0.62, -0.28));
    blob(c, across(hex(0x34508c), hex(0x0c142c), -0.9, -1.2, 0.9, -0.6),
         POINTS(-0.86, -0.86, -0.92, -1.16, -0.5, -1.46, 0.1, -1.56, 0.72, -1.40, 1.0, -1.06, 0.88,
                -0.76, 0.0, -0.9));
    blob(c, across(hex(0x1c2c58), hex(0x080e20), -0.8, 0, 0.9, 0),
         POINTS(-0.76, -0.56, -0.84, -0.90, -0.3, -1.04, 0.4, -1.0, 0.90, -0.80, 0.84, -0.44, 0.4,
                -0.62, -0.2, -0.68));
    blob(c, across(hex(0x4a5a84), hex(0x080c1c), -0.8, -0.6, 0.5, -0.4),
         POINTS(-0.84, -0.52, -0.74, -0.66, -0.2, -0.76, 0.44, -0.64, 0.40, -0.52, -0.1, -0.50,
                -0.5, -0.40, -0.80, -0.36));
    line(c, flat(hex(0xf0c050)), -0.76, -0.70, -0.1, -0.80, 0.05, 0.05);
    line(c, flat(hex(0xc08838)), -0.1, -0.80, 0.84, -0.60, 0.05, 0.04);
    oval(c, flat(hex(0xffd060)), -0.26, -0.98, 0.10, 0.11);
    oval(c, flat(hex(0xc02838)), -0.26, -0.98, 0.045, 0.05);
    frame_whole(c);
}

static void paint_lamp(Canvas *c)
{
    const double x = 2326;
    box(c, across(hex(0x6a4a5c), hex(0x14122a), x - 10, 0, x + 10, 0), x - 9, 640, 18, 800);
    box(c, flat(hex(0x1c1a34)), x - 18, 1360, 36, 100);
    blob(c, flat(hex(0x1c1a34)),
         POINTS(x - 16, 640, x - 28, 628, x, 618, x + 28, 628, x + 16, 640));
    polygon(c, across(hex(0xfff6d0), hex(0xffb84c), 0, 520, 0, 624),
            POINTS(x - 24, 622, x - 40, 540, x + 40, 540, x + 24, 622));
    line(c, flat(hex(0x1c1a34)), x, 540, x, 622, 4, 4);
    line(c, flat(hex(0x1c1a34)), x - 40, 538, x - 24, 622, 5, 5);
    line(c, flat(hex(0x1c1a34)), x + 40, 538, x + 24, 622, 5, 5);
    polygon(c, flat(hex(0x241f3c)), POINTS(x - 50, 542, x - 18, 504, x + 18, 504, x + 50, 542));
    oval(c, flat(hex(0x241f3c)), x, 498, 8, 12);
    oval(c, glow(hex(0xffb050), 0.62, x, 580, 300), x, 580, 300, 300);
}

static void paint_gulls(Canvas *c)
{
    static const double gull[][3] = {
        {560, 300, 1}, {640, 250, 0.7}, {700, 340, 0.55}, {1900, 220, 0.9}, {2010, 170, 0.6}};
    for (int i = 0; i < 5; i++) {
        frame(c, gull[i][0], gull[i][1], gull[i][2], gull[i][2]);
        blob(c, across(hex(0xfff0e0), hex(0x8a80a8), -50, 0, 50, 10),
             POINTS(-58, -14, -30, -20, -2, -2, 30, -22, 58, -18, 32, -10, 6, 8, -6, 8, -28, -8));
    }
    frame_whole(c);
}

/* ---- finish ---- */

/* Brush marks: short streaks whose direction drifts over the picture, -0.5 to 0.5. */
static double brush(int x, int y)
{
    double u = x, v = y + 130 * noise(x / 420.0, y / 360.0, 201) + 0.12 * x;
    return 0.6 * noise(u / 70, v / 6, 211) + 0.4 * noise(u / 26, v / 2.6, 223) - 0.5;
}

static uint8_t *finish(const Canvas *c)
{
    static float curve[CURVE + 2];
    uint8_t *out = malloc((size_t)WIDTH * HEIGHT * 3);
    if (!out) return NULL;
    curve_fill(curve, encode);
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            size_t at = 3 * ((size_t)y * WIDTH + (size_t)x);
            double mark = brush(x, y), gain = exp(0.17 * mark), grain = lattice(x, y, 301) - 0.5;
            for (int i = 0; i < 3; i++) {
                /* The curve's table is coarse near black, where the root is steep. */
                double v = (double)c->rgb[at + (size_t)i] * gain;
                double e = v < 0.01 ? encode(fmax(v, 0)) : (double)curve_at(curve, v);
                out[at + (size_t)i] = (uint8_t)clamp(255 * e + grain + 0.5, 0, 255);
            }
        }
    return out;
}

/* colours: a palette of so many, for indices of one byte; 0: RGB. */
static bool write_png(const char *path, const uint8_t *bytes, const png_color *palette, int colours)
{
    FILE *file = fopen(path, "wb");
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png ? png_create_info_struct(png) : NULL;
    if (!file || !info || setjmp(png_jmpbuf(png))) {
        png_destroy_write_struct(&png, &info);
        if (file) fclose(file);
        return false;
    }
    png_init_io(png, file);
    png_set_IHDR(png, info, WIDTH, HEIGHT, 8, colours ? PNG_COLOR_TYPE_PALETTE : PNG_COLOR_TYPE_RGB,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (colours) png_set_PLTE(png, info, palette, colours);
    png_set_sRGB_gAMA_and_cHRM(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
    png_set_compression_level(png, 3);
    png_write_info(png, info);
    for (int y = 0; y < HEIGHT; y++)
        png_write_row(png, bytes + (size_t)y * WIDTH * (colours ? 1 : 3));
    png_write_end(png, info);
    png_destroy_write_struct(&png, &info);
    return fclose(file) == 0;
}

/* ---- the strokes ---- */

enum { STROKE_WIDTH = 14, INDICES = 9 };

/* As somebody would draw them in a few minutes with a broad brush: what stays flat first, then
 * some in each layer, and some more where the first went wrong. */
static const struct Stroke {
    int index, x0, y0, x1, y1;
} strokes[] = {
    /* clang-format off */
    {1, 36, 36, 1107, 71}, {1, 1536, 107, 2357, 214}, {1, 36, 429, 125, 518},
    {1, 286, 232, 321, 589}, {1, 36, 679, 339, 750}, {1, 429, 482, 1000, 589},
    {1, 768, 679, 929, 839}, {1, 36, 893, 250, 1000}, {1, 107, 1071, 161, 1286},
    {1, 607, 893, 857, 1089}, {1, 893, 1071, 1071, 1250}, {1, 964, 1429, 1143, 1518},
    {1, 1143, 1518, 1643, 1536}, {1, 1429, 1036, 1786, 1000}, {1, 1357, 1250, 1464, 1411},
    {1, 1696, 1143, 1804, 1232}, {1, 1786, 536, 1821, 750}, {1, 1929, 500, 2268, 750},
    {1, 2214, 857, 2304, 1143}, {1, 27, 1464, 107, 1518}, {1, 2366, 893, 2375, 1250},
    {1, 250, 1071, 268, 1179}, {1, 589, 1071, 598, 1143}, {1, 1250, 714, 1321, 786},
    {1, 1071, 679, 1089, 786}, {1, 1500, 714, 1571, 786}, {1, 1107, 982, 1696, 1000},
    {1, 1839, 1071, 1857, 1143}, {1, 21, 295, 116, 300}, {1, 54, 598, 125, 616},
    {1, 1330, 1405, 1536, 1405}, {1, 938, 1405, 1125, 1411}, {1, 871, 1179, 882, 1321},
    {1, 946, 1379, 1009, 1384}, {1, 1786, 893, 1825, 938}, {1, 2175, 1071, 2189, 1179},
    {1, 2361, 1411, 2386, 1571}, {1, 205, 1143, 193, 1232}, {1, 125, 1375, 161, 1384},
    {1, 1661, 1250, 1696, 1321}, {1, 1688, 1286, 1661, 1429}, {1, 1804, 1000, 1848, 1232},
    {1, 2304, 1179, 2321, 1250}, {1, 929, 1554, 1000, 1571}, {1, 1314, 1379, 1371, 1389},
    {1, 1786, 854, 1843, 868}, {1, 1875, 757, 2170, 757}, {2, 268, 1286, 232, 1554},
    {2, 357, 1321, 393, 1554}, {2, 446, 1357, 518, 1554}, {2, 536, 1286, 571, 1357},
    {2, 661, 1429, 643, 1571}, {2, 804, 1429, 839, 1536}, {2, 750, 1393, 768, 1536},
    {2, 1804, 1357, 1768, 1554}, {2, 1929, 1375, 1982, 1554}, {2, 2125, 1321, 2214, 1554},
    {2, 2054, 1357, 2071, 1536}, {2, 1759, 1286, 1714, 1536}, {3, 339, 929, 321, 1071},
    {3, 375, 893, 518, 893}, {3, 554, 946, 536, 1143}, {3, 411, 1214, 464, 1250},
    {3, 429, 1286, 482, 1321}, {3, 634, 1161, 652, 1304}, {3, 679, 1125, 804, 1143},
    {3, 830, 1214, 821, 1304}, {3, 696, 1357, 768, 1366}, {3, 1875, 857, 2143, 857},
    {3, 1893, 929, 2143, 938}, {3, 1964, 804, 2107, 804}, {3, 1920, 1107, 1946, 1214},
    {3, 2125, 1000, 2107, 1179}, {3, 2000, 1179, 2054, 1232}, {3, 1946, 1286, 2089, 1295},
    {4, 357, 1071, 411, 1143}, {4, 446, 1000, 482, 1161}, {4, 393, 982, 411, 1036},
    {4, 688, 1214, 714, 1321}, {4, 750, 1232, 786, 1321}, {4, 1946, 1000, 2089, 1000},
    {4, 1929, 1054, 2000, 1071}, {5, 1071, 884, 1393, 929}, {5, 1393, 929, 1714, 875},
    {5, 1143, 946, 1643, 955}, {5, 1446, 830, 1509, 839}, {6, 189, 268, 189, 625},
    {6, 170, 536, 214, 607}, {6, 161, 334, 221, 334}, {7, 429, 804, 696, 804},
    {7, 464, 750, 661, 759}, {7, 505, 679, 509, 696}, {7, 420, 832, 705, 832},
    {7, 589, 696, 625, 696}, {8, 1196, 1366, 1259, 1375}, {8, 1188, 1473, 1259, 1473},
    {8, 1196, 1429, 1259, 1429},
    /* clang-format on */
};

static double away(const struct Stroke *s, double x, double y)
{
    double dx = s->x1 - s->x0, dy = s->y1 - s->y0;
    double t = clamp(((x - s->x0) * dx + (y - s->y0) * dy) / (dx * dx + dy * dy), 0, 1);
    return hypot(x - s->x0 - t * dx, y - s->y0 - t * dy);
}

static bool write_strokes(const char *path)
{
    static const png_color palette[INDICES] = {{0, 0, 0},       {128, 128, 128}, {40, 90, 200},
                                               {220, 60, 50},   {250, 180, 120}, {90, 200, 210},
                                               {240, 240, 240}, {150, 60, 160},  {240, 220, 60}};
    uint8_t *out = calloc((size_t)WIDTH * HEIGHT, 1);
    if (!out) return false;
    for (const struct Stroke *s = strokes; s < strokes + sizeof strokes / sizeof *strokes; s++)
        for (int y = 0; y < HEIGHT; y++) {
            if (y < fmin(s->y0, s->y1) - STROKE_WIDTH || y > fmax(s->y0, s->y1) + STROKE_WIDTH)
                continue;
            for (int x = 0; x < WIDTH; x++)
                if (away(s, x + 0.5, y + 0.5) < STROKE_WIDTH / 2.0)
                    out[(size_t)y * WIDTH + (size_t)x] = (uint8_t)s->index;
        }
    bool done = write_png(path, out, palette, INDICES);
    free(out);
    return done;
}

static bool canvas_init(Canvas *c)
{
    size_t pixels = (size_t)WIDTH * HEIGHT;
    c->rgb = calloc(3 * pixels, sizeof *c->rgb);
    c->stands = calloc(pixels, sizeof *c->stands);
    c->cover = calloc((size_t)(WIDTH + 1) * HEIGHT, sizeof *c->cover);
    c->clip = calloc(pixels, sizeof *c->clip);
    frame_whole(c);
    return c->rgb && c->stands && c->cover && c->clip;
}

static void canvas_clear(Canvas *c)
{
    free(c->rgb);
    free(c->stands);
    free(c->cover);
    free(c->clip);
}

static void paint_picture(Canvas *c, Canvas *mirror)
{
    paint_scene(mirror, true);
    paint_afloat(mirror, true);
    paint_scene(c, false);
    paint_water(c, mirror);
    paint_afloat(c, false);
    paint_gulls(c);
    paint_paving(c);
    paint_lamp(c);
    paint_bollard(c);
    paint_gull(c, 1235, 1262, 0.95);
    paint_lifebelt(c);
    paint_woman(c);
    paint_child(c);
    paint_seaman(c);
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fprintf(stderr, "usage: harbour REFERENCE.png STROKES.png\n");
        return 64;
    }
    static Canvas canvas, mirror;
    uint8_t *picture = NULL;
    int code = 69;
    if (canvas_init(&canvas) && canvas_init(&mirror)) {
        paint_picture(&canvas, &mirror);
        picture = finish(&canvas);
        code = picture && write_png(argv[1], picture, NULL, 0) && write_strokes(argv[2]) ? 0 : 73;
    }
    if (code)
        fprintf(stderr, "harbour: %s: cannot be painted; check space and permissions\n", argv[1]);
    free(picture);
    canvas_clear(&canvas);
    canvas_clear(&mirror);
    return code;
}
