/* Camera: photographs of a plane of coloured surfaces, rendered for tests. It shares nothing with
 * the code under test but threads: it has its own optics, its own colour and its own chance, so
 * that what is measured in a photograph can be held to what was put into it.
 *
 * A surface is a reflectance at 31 wavelengths, 400 to 700 nm in steps of 10: given outright
 * (Surface), or made from Lab D50 as the smoothest one that has this colour (surface_of_lab;
 * S. A. Burns, Numerical methods for smoothest reflectance reconstruction, Color Research &
 * Application 45, 2020, the method by hyperbolic tangents). surface_lab tells the Lab that it has
 * in fact, as a colour meter would: D50, CIE 1931 observer, ICC's white.
 *
 * Light, surface and sensitivities make the sensor's signal; then come white balance, a matrix to
 * sRGB primaries (fitted once, in D50, to smooth surfaces with white kept), glare, vignetting,
 * blur, noise, the sRGB curve and JPEG. The sensor does not see as the observer does: Gaussians at
 * 600, 540 and 460 nm, a model of our own that no table stands behind.
 *
 * Sources: CIE 15:2018, the observer, illuminant A by its formula and daylight by S0, S1 and S2
 * (tables from memory; support/test_camera holds them to published chromaticities). The warm light
 * is a model of a white LED (a blue peak and a phosphor), no source. Noise is that of photons
 * and of reading, numbers of a phone's small sensor from memory.
 *
 * The plane is in units of the caller's choice, x to the right and y up, (0, 0) at the lower left
 * corner of the scene. Pixels are counted from the upper left; pixel i covers i to i + 1. */
#ifndef ROWLOCK_TESTS_CAMERA_H
#define ROWLOCK_TESTS_CAMERA_H

#include "base/bands.h"
#include "support/jpegs.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { WAVES = 31, SURFACES_MOST = 512 };

typedef struct Surface {
    double reflectance[WAVES]; /* 0 to 1 */
} Surface;

/* ---- light ---- */

static const double camera_observer[WAVES][3] = {
    {.01431, .000396, .06785}, {.04351, .00121, .2074},   {.13438, .004, .6456},
    {.2839, .0116, 1.3856},    {.34828, .023, 1.74706},   {.3362, .038, 1.77211},
    {.2908, .06, 1.6692},      {.19536, .09098, 1.28764}, {.09564, .13902, .81295},
    {.03201, .20802, .46518},  {.0049, .323, .272},       {.0093, .503, .1582},
    {.06327, .71, .07825},     {.1655, .862, .04216},     {.2904, .954, .0203},
    {.43345, .99495, .00875},  {.5945, .995, .0039},      {.7621, .952, .0021},
    {.9163, .87, .00165},      {1.0263, .757, .0011},     {1.0622, .631, .0008},
    {1.0026, .503, .00034},    {.85445, .381, .00019},    {.6424, .265, .00005},
    {.4479, .175, .00002},     {.2835, .107, 0},          {.1649, .061, 0},
    {.0874, .032, 0},          {.04677, .017, 0},         {.0227, .00821, 0},
    {.011359, .004102, 0}};

/* S0, S1, S2 */
static const double camera_daylight[WAVES][3] = {
    {94.8, 43.4, -1.1},  {104.8, 46.3, -.5},  {105.9, 43.9, -.7},  {96.8, 37.1, -1.2},
    {113.9, 36.7, -2.6}, {125.6, 35.9, -2.9}, {125.5, 32.6, -2.8}, {121.3, 27.9, -2.6},
    {121.3, 24.3, -2.6}, {113.5, 20.1, -1.8}, {113.1, 16.2, -1.5}, {110.8, 13.2, -1.3},
    {106.5, 8.6, -1.2},  {108.8, 6.1, -1.0},  {105.3, 4.2, -.5},   {104.4, 1.9, -.3},
    {100.0, 0, 0},       {96.0, -1.6, .2},    {95.1, -3.5, .5},    {89.1, -3.5, 2.1},
    {90.5, -5.8, 3.2},   {90.3, -7.2, 4.1},   {88.4, -8.6, 4.7},   {84.0, -9.5, 5.1},
    {85.1, -10.9, 6.7},  {81.9, -10.7, 7.3},  {82.6, -12.0, 8.6},  {84.9, -14.0, 9.8},
    {81.3, -13.6, 10.2}, {71.9, -12.0, 8.3},  {74.3, -13.3, 9.6}};

typedef enum CameraLight { LIGHT_D50, LIGHT_D65, LIGHT_A, LIGHT_LED, CAMERA_LIGHTS } CameraLight;

static inline double camera_bell(double wave, double middle, double width)
{
    return exp(-0.5 * (wave - middle) * (wave - middle) / (width * width));
}

static inline double camera_daylight_at(int i, double x, double y)
{
    const double m = 0.0241 + 0.2562 * x - 0.7341 * y;
    const double m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m;
    const double m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m;
    const double *s = camera_daylight[i];
    return s[0] + m1 * s[1] + m2 * s[2];
}

/* Power at a wavelength, in no particular unit. */
static inline double camera_light(CameraLight light, int i)
{
    const double wave = 400 + 10 * i;
    switch (light) {
    case LIGHT_A:
        return pow(560 / wave, 5) * (exp(1.435e7 / (2848 * 560)) - 1) /
               (exp(1.435e7 / (2848 * wave)) - 1);
    case LIGHT_LED:
        return 0.35 * camera_bell(wave, 455, 11) + camera_bell(wave, 605, 62);
    case LIGHT_D65:
        return camera_daylight_at(i, 0.31272, 0.32903);
    default:
        return camera_daylight_at(i, 0.34567, 0.35850);
    }
}

/* ---- surfaces ---- */

static const double camera_white[3] = {0.9642, 1, 0.8249};

/* What turns a reflectance into XYZ D50, white as ICC has it. */
static inline void camera_weights(double weight[WAVES][3])
{
    double sum[3] = {0, 0, 0};
    for (int i = 0; i < WAVES; i++)
        for (int k = 0; k < 3; k++)
            sum[k] += weight[i][k] = camera_light(LIGHT_D50, i) * camera_observer[i][k];
    for (int i = 0; i < WAVES; i++)
        for (int k = 0; k < 3; k++) weight[i][k] *= camera_white[k] / sum[k];
}

static inline void surface_xyz(const Surface *surface, double xyz[3])
{
    double weight[WAVES][3];
    camera_weights(weight);
    for (int k = 0; k < 3; k++) {
        xyz[k] = 0;
        for (int i = 0; i < WAVES; i++) xyz[k] += weight[i][k] * surface->reflectance[i];
    }
}

/* CIE 15:2018, 8.2.1. */
static inline void surface_lab(const Surface *surface, double lab[3])
{
    double xyz[3], f[3];
    surface_xyz(surface, xyz);
    for (int k = 0; k < 3; k++) {
        const double t = xyz[k] / camera_white[k];
        f[k] = t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
    }
    lab[0] = 116 * f[1] - 16;
    lab[1] = 500 * (f[0] - f[1]);
    lab[2] = 200 * (f[1] - f[2]);
}

enum { CAMERA_UNKNOWNS = WAVES + 3 };

/* Solves by elimination with pivots; `a` has the right side in its last column. */
static inline void camera_solve(int n, double a[][CAMERA_UNKNOWNS + 1], double *x_out)
{
    for (int c = 0; c < n; c++) {
        int best = c;
        for (int r = c + 1; r < n; r++)
            if (fabs(a[r][c]) > fabs(a[best][c])) best = r;
        for (int k = 0; k <= n; k++) {
            const double kept = a[c][k];
            a[c][k] = a[best][k];
            a[best][k] = kept;
        }
        if (fabs(a[c][c]) < 1e-300) a[c][c] = 1e-300;
        for (int r = c + 1; r < n; r++) {
            const double share = a[r][c] / a[c][c];
            for (int k = c; k <= n; k++) a[r][k] -= share * a[c][k];
        }
    }
    for (int r = n - 1; r >= 0; r--) {
        double sum = a[r][n];
        for (int k = r + 1; k < n; k++) sum -= a[r][k] * x_out[k];
        x_out[r] = sum / a[r][r];
    }
}

/* Newton's steps on z of reflectance (tanh z + 1) / 2, least slope of z, XYZ as asked. A colour
 * that no surface has comes out as near as the steps get. */
static inline Surface surface_of_xyz(const double xyz[3])
{
    double weight[WAVES][3], z[WAVES] = {0}, duty[3] = {0, 0, 0};
    static _Thread_local double a[CAMERA_UNKNOWNS][CAMERA_UNKNOWNS + 1];
    double step[CAMERA_UNKNOWNS];
    camera_weights(weight);
    for (int turn = 0; turn < 80; turn++) {
        memset(a, 0, sizeof a);
        double got[3] = {0, 0, 0};
        for (int i = 0; i < WAVES; i++) {
            const double t = tanh(z[i]), slope = 0.5 * (1 - t * t), bend = -t * (1 - t * t);
            double pull = 0;
            for (int k = 0; k < 3; k++) {
                pull += weight[i][k] * duty[k];
                a[i][WAVES + k] = a[WAVES + k][i] = slope * weight[i][k];
                got[k] += weight[i][k] * 0.5 * (t + 1);
            }
            double slack = slope * pull;
            a[i][i] += bend * pull;
            for (int j = i - 1; j <= i + 1; j += 2) {
                if (j < 0 || j >= WAVES) continue;
                a[i][i] += 2;
                a[i][j] -= 2;
                slack += 2 * (z[i] - z[j]);
            }
            a[i][CAMERA_UNKNOWNS] = -slack;
        }
        for (int k = 0; k < 3; k++) a[WAVES + k][CAMERA_UNKNOWNS] = xyz[k] - got[k];
        camera_solve(CAMERA_UNKNOWNS, a, step);
        double largest = 0;
        for (int i = 0; i < WAVES; i++) largest = fmax(largest, fabs(step[i]));
        const double share = largest > 1 ? 1 / largest : 1;
        for (int i = 0; i < WAVES; i++) z[i] = fmax(-6, fmin(6, z[i] + share * step[i]));
        for (int k = 0; k < 3; k++) duty[k] += share * step[WAVES + k];
        if (largest < 1e-9) break;
    }
    Surface surface;
    for (int i = 0; i < WAVES; i++) surface.reflectance[i] = 0.5 * (tanh(z[i]) + 1);
    return surface;
}

static inline Surface surface_of_lab(double L, double a, double b)
{
    const double fy = (L + 16) / 116, f[3] = {fy + a / 500, fy, fy - b / 200};
    double xyz[3];
    for (int k = 0; k < 3; k++) {
        const double cube = f[k] * f[k] * f[k];
        xyz[k] = camera_white[k] * (cube > 216.0 / 24389 ? cube : (116 * f[k] - 16) * 27 / 24389);
    }
    return surface_of_xyz(xyz);
}

/* ---- scene ---- */

/* The plane as texels: which surface, and how brightly it is lit. */
typedef struct Scene {
    double width, height; /* of the plane, in its units */
    int per_unit;         /* texels along a unit; finer than a pixel */
    int across, up;       /* texels; row 0 at the bottom */
    uint16_t *surface;
    uint8_t *shade; /* 128: as lit; 0: black; 255: twice as bright */
    uint8_t *steps; /* how far each texel stands out, in steps; NULL: nothing does */
    double step;    /* plane units */
    int highest;    /* of the steps */
    int surfaces;
    Surface table[SURFACES_MOST]; /* 0 is what lies around: the plane beyond the scene, too */
} Scene;

static inline bool scene_init(Scene *scene, double width, double height, int per_unit)
{
    memset(scene, 0, sizeof *scene);
    scene->width = width;
    scene->height = height;
    scene->per_unit = per_unit;
    scene->across = (int)ceil(width * per_unit);
    scene->up = (int)ceil(height * per_unit);
    const size_t texels = (size_t)scene->across * (size_t)scene->up;
    scene->surface = calloc(texels, sizeof *scene->surface);
    scene->shade = malloc(texels);
    if (scene->shade) memset(scene->shade, 128, texels);
    scene->table[0] = surface_of_lab(62, 6, 16); /* a table of wood */
    scene->surfaces = 1;
    return scene->surface && scene->shade;
}

static inline void scene_clear(Scene *scene)
{
    free(scene->surface);
    free(scene->shade);
    free(scene->steps);
    scene->surface = NULL;
    scene->shade = scene->steps = NULL;
}

/* The place in the table of a surface that is added. */
static inline int scene_add(Scene *scene, Surface surface)
{
    if (scene->surfaces == SURFACES_MOST) abort();
    scene->table[scene->surfaces] = surface;
    return scene->surfaces++;
}

static inline int camera_within(double at, int most)
{
    return at < 0 ? 0 : at > most ? most : (int)at;
}

/* Texels whose middle is in the rectangle become this surface. */
static inline void scene_rectangle(Scene *scene, double left, double bottom, double right,
                                   double top, int surface)
{
    const double n = scene->per_unit;
    const int x0 = camera_within(ceil(left * n - 0.5), scene->across);
    const int x1 = camera_within(ceil(right * n - 0.5), scene->across);
    const int y0 = camera_within(ceil(bottom * n - 0.5), scene->up);
    const int y1 = camera_within(ceil(top * n - 0.5), scene->up);
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++)
            scene->surface[(size_t)y * (size_t)scene->across + (size_t)x] = (uint16_t)surface;
}

/* Makes them lighter or darker by a factor. */
static inline void scene_shade(Scene *scene, double left, double bottom, double right, double top,
                               double factor)
{
    const double n = scene->per_unit;
    const int x0 = camera_within(ceil(left * n - 0.5), scene->across);
    const int x1 = camera_within(ceil(right * n - 0.5), scene->across);
    const int y0 = camera_within(ceil(bottom * n - 0.5), scene->up);
    const int y1 = camera_within(ceil(top * n - 0.5), scene->up);
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++) {
            uint8_t *at = scene->shade + (size_t)y * (size_t)scene->across + (size_t)x;
            *at = (uint8_t)camera_within(*at * factor + 0.5, 255);
        }
}

static inline void scene_stand_out(Scene *scene, double left, double bottom, double right,
                                   double top, int steps)
{
    const double n = scene->per_unit;
    const int x1 = camera_within(ceil(right * n - 0.5), scene->across);
    const int y1 = camera_within(ceil(top * n - 0.5), scene->up);
    if (steps > scene->highest) scene->highest = steps;
    for (int y = camera_within(ceil(bottom * n - 0.5), scene->up); y < y1; y++)
        for (int x = camera_within(ceil(left * n - 0.5), scene->across); x < x1; x++)
            scene->steps[(size_t)y * (size_t)scene->across + (size_t)x] = (uint8_t)steps;
}

/* Shadows of a lamp that stands to one side (degrees, counterclockwise from the right) so high (the
 * same, off the plane): what it does not reach keeps a share of its light. */
static inline void scene_shadows(Scene *scene, double side, double high, double share)
{
    const double degree = 3.14159265358979323846 / 180, pace = 1.0 / scene->per_unit;
    const double along[2] = {cos(side * degree), sin(side * degree)}, slope = tan(high * degree);
    for (int y = 0; y < scene->up; y++)
        for (int x = 0; x < scene->across; x++) {
            const size_t at = (size_t)y * (size_t)scene->across + (size_t)x;
            bool lit = true;
            for (int k = 1; lit; k++) {
                const int u = x + (int)lrint(k * along[0]), v = y + (int)lrint(k * along[1]);
                const double ray = scene->steps[at] * scene->step + k * pace * slope;
                if (u < 0 || v < 0 || u >= scene->across || v >= scene->up ||
                    ray > scene->highest * scene->step)
                    break;
                lit = scene->steps[(size_t)v * (size_t)scene->across + (size_t)u] * scene->step <=
                      ray;
            }
            if (!lit) scene->shade[at] = (uint8_t)(scene->shade[at] * share);
        }
}

/* ---- camera ---- */

enum { GLARES_MOST = 8 };

/* A lamp's mirror image on a glossy face, or, with a strength below 0, a shadow. */
typedef struct Glare {
    double x, y, radius; /* on the plane: a bell of this standard deviation */
    double strength;     /* light added, of white as it is lit; -0.5 takes half of what is there */
} Glare;

typedef struct Camera {
    int width, height;   /* pixels */
    double tilt, toward; /* degrees between the optical axis and the plane's normal, and to which
                            side the camera stands, counted from the right, counterclockwise */
    double roll;         /* degrees, of the camera about its axis */
    double fill; /* share of the picture's shorter side that the box about the scene takes */
    double shift_x, shift_y; /* of the scene's middle in the picture, in shares of its width */
    double focal;            /* lengths of the picture's longer side; 0.72 is a phone's main lens */
    CameraLight light, other; /* other: of a second lamp at the right */
    double mixed; /* its share at the right edge of the scene, none at the left; 0: one light */
    double uneven, uneven_toward; /* light falls by this share from one side of the scene to the
                                     other; degrees, as `toward` */
    double vignetting;            /* share of light that the corners of the picture lose */
    double exposure; /* what a white surface comes to, of the most that the sensor takes */
    double balance;  /* white balance: red by this factor, blue by its inverse; 1 is right */
    double tone;     /* 0 to 1: how much of an S in the curve, as phones like it */
    double blur;     /* pixels, standard deviation */
    double photons;  /* electrons of a pixel at the most that the sensor takes; 0: no noise */
    double read;     /* electrons of noise where it is dark */
    int glares;
    Glare glare[GLARES_MOST];
    uint32_t seed;
    int threads;
    double plane[3][3], back[3][3]; /* plane to pixels and back, by camera_aim */
    double eye[3];                  /* where it stands, plane units, by the same */
} Camera;

/* 3 megapixels, square on, even D50, sharp enough, a phone's noise. */
static inline Camera camera_default(void)
{
    return (Camera){.width = 2000,
                    .height = 1500,
                    .fill = 0.85,
                    .focal = 0.72,
                    .exposure = 0.8,
                    .balance = 1,
                    .blur = 0.7,
                    .photons = 5000,
                    .read = 4,
                    .threads = 2};
}

static inline void camera_times(double a[3][3], double b[3][3], double out[3][3])
{
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++)
            out[r][c] = a[r][0] * b[0][c] + a[r][1] * b[1][c] + a[r][2] * b[2][c];
}

static inline void camera_invert(double m[3][3], double out[3][3])
{
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++)
            out[c][r] = m[(r + 1) % 3][(c + 1) % 3] * m[(r + 2) % 3][(c + 2) % 3] -
                        m[(r + 1) % 3][(c + 2) % 3] * m[(r + 2) % 3][(c + 1) % 3];
    const double whole = m[0][0] * out[0][0] + m[0][1] * out[1][0] + m[0][2] * out[2][0];
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++) out[r][c] /= whole;
}

/* Where a point of the plane is in the photograph. */
static inline void camera_project(const Camera *camera, double x, double y, double *u_out,
                                  double *v_out)
{
    const double(*m)[3] = camera->plane, w = m[2][0] * x + m[2][1] * y + m[2][2];
    *u_out = (m[0][0] * x + m[0][1] * y + m[0][2]) / w;
    *v_out = (m[1][0] * x + m[1][1] * y + m[1][2]) / w;
}

/* The least box about the scene in the photograph: its middle and its longer side. */
static inline double camera_box(const Camera *camera, const Scene *scene, double middle[2])
{
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
    for (int i = 0; i < 4; i++) {
        double at[2];
        camera_project(camera, i & 1 ? scene->width : 0, i & 2 ? scene->height : 0, &at[0], &at[1]);
        for (int d = 0; d < 2; d++) {
            low[d] = fmin(low[d], at[d]);
            high[d] = fmax(high[d], at[d]);
        }
    }
    for (int d = 0; d < 2; d++) middle[d] = (low[d] + high[d]) / 2;
    return fmax(high[0] - low[0], high[1] - low[1]);
}

/* The plane's x and y as right, up and away of the camera, before it stands off: turned so that
 * `toward` is the right, tilted about the upright, turned back, rolled. */
static inline void camera_pose(const Camera *camera, const Scene *scene, double pose[3][3])
{
    const double degree = 3.14159265358979323846 / 180;
    const double c = cos(camera->toward * degree), s = sin(camera->toward * degree);
    const double ct = cos(camera->tilt * degree), st = sin(camera->tilt * degree);
    const double cr = cos(camera->roll * degree), sr = sin(camera->roll * degree);
    const double tilted[3][2] = {{c * ct * c + s * s, c * ct * s - s * c},
                                 {s * ct * c - c * s, s * ct * s + c * c},
                                 {-st * c, -st * s}};
    for (int k = 0; k < 2; k++) {
        pose[0][k] = cr * tilted[0][k] - sr * tilted[1][k];
        pose[1][k] = sr * tilted[0][k] + cr * tilted[1][k];
        pose[2][k] = tilted[2][k];
    }
    for (int r = 0; r < 3; r++)
        pose[r][2] = -pose[r][0] * scene->width / 2 - pose[r][1] * scene->height / 2;
}

/* The pinhole camera: it looks at the scene's middle from as far away as the fill asks; the picture
 * is cropped so that the scene is in its middle. */
static inline void camera_aim(Camera *camera, const Scene *scene)
{
    const double f = camera->focal * fmax(camera->width, camera->height);
    const double want = camera->fill * fmin(camera->width, camera->height);
    double far = f * fmax(scene->width, scene->height) / want, middle[2] = {0, 0}, pose[3][3];
    for (int turn = 0; turn < 8; turn++) {
        camera_pose(camera, scene, pose);
        pose[2][2] += far;
        double lens[3][3] = {{f, 0, 0}, {0, -f, 0}, {0, 0, 1}};
        if (turn == 7) {
            lens[0][2] = camera->width * (0.5 + camera->shift_x) - middle[0];
            lens[1][2] = camera->height * 0.5 + camera->width * camera->shift_y - middle[1];
        }
        camera_times(lens, pose, camera->plane);
        if (turn < 7) {
            const double box = camera_box(camera, scene, middle);
            if (turn < 6) far *= box / want;
        }
    }
    camera_invert(camera->plane, camera->back);
    const double degree = 3.14159265358979323846 / 180;
    camera->eye[0] =
        scene->width / 2 + far * sin(camera->tilt * degree) * cos(camera->toward * degree);
    camera->eye[1] =
        scene->height / 2 + far * sin(camera->tilt * degree) * sin(camera->toward * degree);
    camera->eye[2] = far * cos(camera->tilt * degree);
}

/* ---- sensor ---- */

static inline void camera_signal(const Surface *surface, CameraLight light, double signal[3])
{
    static const double middle[3] = {600, 540, 460}, width[3] = {36, 40, 28};
    for (int k = 0; k < 3; k++) {
        signal[k] = 0;
        for (int i = 0; i < WAVES; i++)
            signal[k] += camera_light(light, i) * surface->reflectance[i] *
                         camera_bell(400 + 10 * i, middle[k], width[k]);
    }
}

static inline Surface camera_paper(void)
{
    Surface white;
    for (int i = 0; i < WAVES; i++) white.reflectance[i] = 1;
    return white;
}

/* The camera's own matrix, balanced signals in D50 to linear sRGB: least squares over smooth
 * surfaces, white weighed so that it is kept. XYZ D50 to sRGB by IEC 61966-2-1 and Bradford's
 * adaptation (numbers from memory). */
static inline void camera_matrix(double matrix[3][3])
{
    static const double to_srgb[3][3] = {{3.1338561, -1.6168667, -0.4906146},
                                         {-0.9787684, 1.9161415, 0.0334540},
                                         {0.0719453, -0.2289914, 1.4052427}};
    enum { HUES = 12, TESTS = 3 * HUES + 1 };
    static _Thread_local double a[3][CAMERA_UNKNOWNS + 1];
    double normal[3][3] = {{0}}, right[3][3] = {{0}}, white[3];
    const Surface paper = camera_paper();
    camera_signal(&paper, LIGHT_D50, white);
    for (int i = 0; i < TESTS; i++) {
        const double hue = 6.283185307 * i / HUES, chroma = 18.0 + 6 * (i % 3);
        const Surface s = i == TESTS - 1 ? paper
                                         : surface_of_lab(35 + 18 * (i / HUES), chroma * cos(hue),
                                                          chroma * sin(hue));
        const double weight = i == TESTS - 1 ? 1e6 : 1;
        double in[3], xyz[3];
        camera_signal(&s, LIGHT_D50, in);
        surface_xyz(&s, xyz);
        for (int k = 0; k < 3; k++) in[k] /= white[k];
        for (int r = 0; r < 3; r++) {
            const double want =
                to_srgb[r][0] * xyz[0] + to_srgb[r][1] * xyz[1] + to_srgb[r][2] * xyz[2];
            for (int c = 0; c < 3; c++) {
                normal[r][c] += weight * in[r] * in[c];
                right[r][c] += weight * want * in[c];
            }
        }
    }
    for (int r = 0; r < 3; r++) {
        for (int k = 0; k < 3; k++) {
            for (int c = 0; c < 3; c++) a[k][c] = normal[k][c];
            a[k][3] = right[r][k];
        }
        camera_solve(3, a, matrix[r]);
    }
}

/* ---- photograph ---- */

/* Linear light with sRGB primaries, three floats a pixel, the top row first; 1 is the most that the
 * sensor takes. Clipped, noisy and blurred, not yet encoded. */
typedef struct Shot {
    int width, height;
    float *light;
} Shot;

enum { CAMERA_CHANCES = 1 << 16 };

typedef struct CameraWork {
    const Camera *camera;
    const Scene *scene;
    float (*signal)[2][3]; /* of each surface, in each light, balanced; white is the exposure */
    float glow[3];         /* of glare: white */
    double matrix[3][3], lamp[2]; /* lamp: where the light comes from */
    float *from, *into, *chance;
    const float *kernel;
    int reach;
} CameraWork;

/* Wood has grain; so the ground is not flat to whoever looks for a panel on it. */
static inline float camera_grain(double x, double y, double size)
{
    const float u = (float)(x / size * 40), v = (float)(y / size * 6);
    return 1 + 0.12f * sinf(u + 2 * sinf(v)) + 0.05f * sinf(3.7f * u + 1.3f * v);
}

static inline int camera_steps_at(const Scene *s, double x, double y)
{
    const double tx = x * s->per_unit, ty = y * s->per_unit;
    if (!(tx >= 0 && ty >= 0 && tx < s->across && ty < s->up)) return 0;
    return s->steps[(size_t)(int)ty * (size_t)s->across + (size_t)(int)tx];
}

/* Goes along the ray to a place of the plane, from the highest step down, until it meets what
 * stands out: *x and *y become that texel's place. The share of light that it has: less on the
 * side of a step. */
static inline float camera_meet(const Camera *c, const Scene *s, double *x, double *y)
{
    enum { PARTS = 12 }; /* of a step */
    const double rise[2] = {(c->eye[0] - *x) / c->eye[2], (c->eye[1] - *y) / c->eye[2]};
    for (int k = s->highest * PARTS; k > 0; k--) {
        const double z = s->step * k / PARTS, u = *x + rise[0] * z, v = *y + rise[1] * z;
        const int steps = camera_steps_at(s, u, v);
        if (steps * PARTS < k) continue;
        *x = u;
        *y = v;
        return steps * PARTS == k ? 1 : 0.6f;
    }
    return 1;
}

/* Adds a sample of the plane in both lights. */
static inline void camera_look(const CameraWork *w, double x, double y, float grain,
                               float sum[2][3])
{
    const Scene *s = w->scene;
    const float side = s->steps ? camera_meet(w->camera, s, &x, &y) : 1;
    const double tx = x * s->per_unit, ty = y * s->per_unit;
    int surface = 0;
    float shade = grain;
    if (tx >= 0 && ty >= 0 && tx < s->across && ty < s->up) {
        const size_t at = (size_t)(int)ty * (size_t)s->across + (size_t)(int)tx;
        surface = s->surface[at];
        shade = side * (surface ? 1 : shade) * (float)s->shade[at] * (1 / 128.0f);
    }
    for (int k = 0; k < 3; k++) {
        sum[0][k] += shade * w->signal[surface][0][k];
        sum[1][k] += shade * w->signal[surface][1][k];
    }
}

static inline float camera_evenness(const CameraWork *w, double x, double y, double u, double v)
{
    const Camera *c = w->camera;
    const Scene *s = w->scene;
    const double along = ((x - s->width / 2) * w->lamp[0] + (y - s->height / 2) * w->lamp[1]) /
                         fmax(s->width, s->height);
    const double wide = u - c->width / 2.0, high = v - c->height / 2.0;
    const double corner = 0.25 * ((double)c->width * c->width + (double)c->height * c->height);
    const double lamp = 1 + c->uneven * fmax(-0.8, fmin(0.8, along));
    return (float)(lamp * (1 - c->vignetting * (wide * wide + high * high) / corner));
}

static inline void camera_glare(const CameraWork *w, double x, double y, float light[3])
{
    for (const Glare *g = w->camera->glare; g < w->camera->glare + w->camera->glares; g++) {
        const double d =
            ((x - g->x) * (x - g->x) + (y - g->y) * (y - g->y)) / (g->radius * g->radius);
        const float bell = d < 25 ? (float)exp(-0.5 * d) : 0;
        for (int k = 0; k < 3; k++)
            light[k] = g->strength < 0 ? light[k] * (1 + (float)g->strength * bell)
                                       : light[k] + (float)g->strength * bell * w->glow[k];
    }
}

/* The mean of four samples in a pixel, turned against the grid, in both lights; and where its
 * middle is on the plane. */
static inline void camera_pixel(const CameraWork *w, int i, int j, float sum[2][3],
                                double at_out[2])
{
    static const double part[4][2] = {{.375, .125}, {.875, .375}, {.125, .625}, {.625, .875}};
    const double(*m)[3] = w->camera->back;
    double at[4][2];
    for (int k = 0; k < 4; k++) {
        const double u = i + part[k][0], v = j + part[k][1];
        const double depth = 1 / (m[2][0] * u + m[2][1] * v + m[2][2]);
        at[k][0] = (m[0][0] * u + m[0][1] * v + m[0][2]) * depth;
        at[k][1] = (m[1][0] * u + m[1][1] * v + m[1][2]) * depth;
    }
    for (int d = 0; d < 2; d++) at_out[d] = (at[0][d] + at[1][d] + at[2][d] + at[3][d]) / 4;
    const double size = fmax(w->scene->width, w->scene->height);
    const float grain = camera_grain(at_out[0], at_out[1], size);
    for (int k = 0; k < 4; k++) camera_look(w, at[k][0], at[k][1], grain, sum);
}

static inline void camera_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const CameraWork *w = context;
    const Camera *c = w->camera;
    for (int j = begin; j < end; j++)
        for (int i = 0; i < c->width; i++) {
            float sum[2][3] = {{0}}, light[3];
            double at[2];
            camera_pixel(w, i, j, sum, at);
            const float even = 0.25f * camera_evenness(w, at[0], at[1], i + 0.5, j + 0.5);
            const float other = (float)(c->mixed * fmax(0, fmin(1, at[0] / w->scene->width)));
            for (int k = 0; k < 3; k++)
                light[k] = even * ((1 - other) * sum[0][k] + other * sum[1][k]);
            if (c->glares) camera_glare(w, at[0], at[1], light);
            memcpy(w->from + 3 * ((size_t)j * (size_t)c->width + (size_t)i), light, sizeof light);
        }
}

static inline void camera_blur_across(void *context, int begin, int end, int worker)
{
    (void)worker;
    const CameraWork *w = context;
    const int width = w->camera->width;
    for (int j = begin; j < end; j++)
        for (int i = 0; i < width; i++) {
            float sum[3] = {0, 0, 0};
            for (int d = -w->reach; d <= w->reach; d++) {
                const int x = camera_within(i + d, width - 1);
                const float *p = w->from + 3 * ((size_t)j * (size_t)width + (size_t)x);
                for (int k = 0; k < 3; k++) sum[k] += w->kernel[d + w->reach] * p[k];
            }
            memcpy(w->into + 3 * ((size_t)j * (size_t)width + (size_t)i), sum, sizeof sum);
        }
}

static inline void camera_blur_up(void *context, int begin, int end, int worker)
{
    (void)worker;
    const CameraWork *w = context;
    const size_t stride = 3 * (size_t)w->camera->width;
    for (int j = begin; j < end; j++) {
        float *out = w->from + (size_t)j * stride;
        memset(out, 0, stride * sizeof *out);
        for (int d = -w->reach; d <= w->reach; d++) {
            const float share = w->kernel[d + w->reach];
            const float *in =
                w->into + (size_t)camera_within(j + d, w->camera->height - 1) * stride;
            for (size_t i = 0; i < stride; i++) out[i] += share * in[i];
        }
    }
}

/* Noise, what the sensor takes at most, the camera's matrix, its curve. */
static inline void camera_develop(void *context, int begin, int end, int worker)
{
    (void)worker;
    const CameraWork *w = context;
    const Camera *c = w->camera;
    const float shot = c->photons > 0 ? (float)(1 / c->photons) : 0;
    const float dark = (float)(c->read * c->read) * shot * shot;
    for (int j = begin; j < end; j++) {
        uint32_t next = ((uint32_t)j * 2654435761U) ^ (c->seed * 40503U);
        float *p = w->from + 3 * (size_t)j * (size_t)c->width;
        for (int i = 0; i < c->width; i++, p += 3) {
            float raw[3];
            for (int k = 0; k < 3; k++) {
                float value = p[k];
                if (c->photons > 0) {
                    next = next * 1664525U + 1013904223U;
                    value += w->chance[next >> 16] * sqrtf(fmaxf(0, p[k]) * shot + dark);
                }
                raw[k] = value > 1 ? 1 : value < 0 ? 0 : value;
            }
            for (int k = 0; k < 3; k++) {
                const double *m = w->matrix[k];
                double value =
                    m[0] * (double)raw[0] + m[1] * (double)raw[1] + m[2] * (double)raw[2];
                value = fmax(0, fmin(1, value));
                p[k] = (float)(value + c->tone * (value * value * (3 - 2 * value) - value));
            }
        }
    }
}

static inline void camera_chances(float *chance, uint32_t seed)
{
    uint64_t state = seed * UINT64_C(0x9E3779B97F4A7C15) + 1;
    for (int i = 0; i < CAMERA_CHANCES; i += 2) { /* Box and Muller 1958 */
        double unit[2];
        for (int k = 0; k < 2; k++) {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            unit[k] = ((double)(state >> 11) + 0.5) * 0x1p-53;
        }
        const double far = sqrt(-2 * log(unit[0]));
        chance[i] = (float)(far * cos(6.283185307179586 * unit[1]));
        chance[i + 1] = (float)(far * sin(6.283185307179586 * unit[1]));
    }
}

/* What each surface gives in each of the two lights; both are balanced for the first. */
static inline void camera_signals(CameraWork *w)
{
    const Camera *c = w->camera;
    const Surface paper = camera_paper();
    const double wrong[3] = {c->balance, 1, 1 / c->balance};
    double white[3], second[3];
    camera_signal(&paper, c->light, white);
    camera_signal(&paper, c->other, second);
    const double level = white[1] / second[1]; /* both are as bright */
    for (int i = 0; i <= w->scene->surfaces; i++)
        for (int l = 0; l < 2; l++) {
            const Surface *s = i < w->scene->surfaces ? &w->scene->table[i] : &paper;
            double signal[3];
            camera_signal(s, l ? c->other : c->light, signal);
            for (int k = 0; k < 3; k++) {
                const double part = (l ? level : 1) * wrong[k] * signal[k] / white[k];
                const float value = (float)(c->exposure * part);
                if (i < w->scene->surfaces)
                    w->signal[i][l][k] = value;
                else if (!l)
                    w->glow[k] = value;
            }
        }
}

/* Takes the photograph; the camera is aimed first. The caller clears it. False: no memory. */
static inline bool camera_take(Camera *camera, const Scene *scene, Shot *shot_out)
{
    camera_aim(camera, scene);
    const size_t values = 3 * (size_t)camera->width * (size_t)camera->height;
    const int reach = (int)ceil(3 * camera->blur);
    float kernel[64], whole = 0;
    CameraWork w = {.camera = camera,
                    .scene = scene,
                    .signal = malloc(SURFACES_MOST * sizeof *w.signal),
                    .from = malloc(values * sizeof(float)),
                    .into = malloc(values * sizeof(float)),
                    .chance = malloc(CAMERA_CHANCES * sizeof(float)),
                    .kernel = kernel,
                    .reach = reach < 31 ? reach : 31,
                    .lamp = {cos(camera->uneven_toward * 0.017453292519943295),
                             sin(camera->uneven_toward * 0.017453292519943295)}};
    *shot_out = (Shot){camera->width, camera->height, w.from};
    const bool room = w.signal && w.from && w.into && w.chance;
    if (room) {
        for (int d = -w.reach; d <= w.reach; d++)
            whole += kernel[d + w.reach] = w.reach ? (float)camera_bell(d, 0, camera->blur) : 1;
        for (int d = 0; d <= 2 * w.reach; d++) kernel[d] /= whole;
        camera_matrix(w.matrix);
        camera_signals(&w);
        camera_chances(w.chance, camera->seed);
        bands_run(camera->threads, camera->height, 8, camera_rows, &w);
        if (w.reach) bands_run(camera->threads, camera->height, 8, camera_blur_across, &w);
        if (w.reach) bands_run(camera->threads, camera->height, 8, camera_blur_up, &w);
        bands_run(camera->threads, camera->height, 8, camera_develop, &w);
    }
    free(w.signal);
    free(w.into);
    free(w.chance);
    return room;
}

static inline void shot_clear(Shot *shot)
{
    free(shot->light);
    shot->light = NULL;
}

/* IEC 61966-2-1, a code of so many bits. */
static inline unsigned shot_code(float light, unsigned most)
{
    const double v =
        light <= 0.0031308f ? 12.92 * (double)light : 1.055 * pow((double)light, 1 / 2.4) - 0.055;
    return (unsigned)(fmax(0, fmin(1, v)) * most + 0.5);
}

enum { SHOT_CODES = 1 << 14 };

typedef struct ShotCodes {
    const Shot *shot;
    uint8_t code[SHOT_CODES + 1];
} ShotCodes;

static inline void shot_codes(ShotCodes *codes, const Shot *shot)
{
    codes->shot = shot;
    for (int i = 0; i <= SHOT_CODES; i++) /* by roots, so that the dark is fine enough */
        codes->code[i] =
            (uint8_t)shot_code((float)i * (float)i / ((float)SHOT_CODES * SHOT_CODES), 255);
}

/* As 8-bit sRGB, a row; the type that support/jpegs.h asks for. */
static inline void shot_row(void *self, int y, uint8_t *row)
{
    const ShotCodes *codes = self;
    const size_t width = 3 * (size_t)codes->shot->width;
    const float *light = codes->shot->light + (size_t)y * width;
    for (size_t i = 0; i < width; i++)
        row[i] = codes->code[camera_within(sqrt((double)light[i]) * SHOT_CODES + 0.5, SHOT_CODES)];
}

static inline bool shot_jpeg(const Shot *shot, const char *path, int quality)
{
    static _Thread_local ShotCodes codes;
    shot_codes(&codes, shot);
    return jpeg_from_rows(path, shot->width, shot->height, quality, shot_row, &codes);
}

/* 16-bit sRGB as PNM (P6), which is free of JPEG's loss. */
static inline bool shot_pnm(const Shot *shot, const char *path)
{
    FILE *file = fopen(path, "wb");
    if (!file) return false;
    fprintf(file, "P6 %d %d 65535\n", shot->width, shot->height);
    const size_t values = 3 * (size_t)shot->width * (size_t)shot->height;
    for (size_t i = 0; i < values; i++) {
        const unsigned code = shot_code(shot->light[i], 65535);
        putc((int)(code >> 8), file);
        putc((int)(code & 255), file);
    }
    return !fclose(file);
}

#endif
