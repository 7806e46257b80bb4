/* Faces for the tests and the bench of the look: pictures at any number of cells, a
 * palette, the plain nearest colour, and simple counts of bricks. */
#ifndef ROWLOCK_TEST_FACES_H
#define ROWLOCK_TEST_FACES_H

#include "base/memory.h"
#include "colour/delta_e.h"
#include "model/grid.h"
#include "model/image.h"
#include "model/palette.h"
#include "support/patches.h"

#include <math.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Reads an sRGB PNG and averages its central part of the wanted shape, in linear light,
 * over columns x rows cells (area weights). False if it cannot be read. */
static inline bool picture_read(const char *path, int columns, int rows, Image *image)
{
    png_image png = {.version = PNG_IMAGE_VERSION};
    if (!png_image_begin_read_from_file(&png, path)) return false;
    png.format = PNG_FORMAT_RGB;
    uint8_t *rgb = malloc(PNG_IMAGE_SIZE(png));
    if (!rgb || !png_image_finish_read(&png, NULL, rgb, 0, NULL)) {
        free(rgb);
        return false;
    }
    const double scale = fmin((double)png.width / columns, (double)png.height / rows);
    const double left = 0.5 * ((double)png.width - scale * columns);
    const double top = 0.5 * ((double)png.height - scale * rows);
    double decode[256];
    for (int i = 0; i < 256; i++) decode[i] = srgb_decode(i / 255.0);
    if (image_init(image, columns, rows, NULL)) abort();
    for (int row = 0; row < rows; row++)
        for (int column = 0; column < columns; column++) {
            const double x0 = left + scale * column, x1 = x0 + scale;
            const double y0 = top + scale * (rows - 1 - row), y1 = y0 + scale;
            double sum[3] = {0}, area = 0.0;
            for (int y = (int)y0; y < y1 && y < (int)png.height; y++)
                for (int x = (int)x0; x < x1 && x < (int)png.width; x++) {
                    const double w =
                        (fmin(x + 1, x1) - fmax(x, x0)) * (fmin(y + 1, y1) - fmax(y, y0));
                    const uint8_t *p = rgb + 3 * ((size_t)y * png.width + (size_t)x);
                    for (int k = 0; k < 3; k++) sum[k] += w * decode[p[k]];
                    area += w;
                }
            const Xyz c = xyz_from_linear((Rgb){sum[0] / area, sum[1] / area, sum[2] / area});
            float *to = image->xyz + 3 * ((size_t)row * (size_t)columns + (size_t)column);
            to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
        }
    free(rgb);
    return true;
}

static inline bool in_gamut(Lab lab)
{
    const Rgb c = linear_from_xyz(xyz_from_lab(lab));
    return fmin(c.r, fmin(c.g, c.b)) >= 0.0 && fmax(c.r, fmax(c.g, c.b)) <= 1.0;
}

static inline void palette_ring(Palette *palette, double L, double chroma, int hues, double first)
{
    for (int i = 0; i < hues; i++) {
        const double h = (first + 360.0 * i / hues) * acos(-1.0) / 180.0;
        Lab lab = {L, chroma * cos(h), chroma * sin(h)};
        while (!in_gamut(lab)) lab.a *= 0.97, lab.b *= 0.97;
        palette_add(palette, lab);
    }
}

/* 48 colours on rings about the neutral axis. */
static inline void palette_rings(Palette *palette)
{
    palette->count = 0;
    static const double neutral[8] = {18, 30, 41, 52, 63, 74, 84, 94};
    for (int i = 0; i < 8; i++) palette_add(palette, (Lab){neutral[i], 0.0, 0.0});
    palette_ring(palette, 35.0, 22.0, 6, 10.0);
    palette_ring(palette, 57.0, 22.0, 6, 40.0);
    palette_ring(palette, 78.0, 22.0, 6, 10.0);
    palette_ring(palette, 30.0, 45.0, 4, 20.0);
    palette_ring(palette, 48.0, 55.0, 8, 30.0);
    palette_ring(palette, 68.0, 60.0, 6, 40.0);
    palette_ring(palette, 86.0, 70.0, 4, 95.0);
}

/* Each cell takes the colour of the least CIEDE2000. */
static inline void plain_nearest(const Image *image, const Palette *palette, Grid *grid)
{
    for (size_t i = 0, n = (size_t)grid->columns * (size_t)grid->rows; i < n; i++) {
        const float *p = image->xyz + 3 * i;
        const Lab lab = lab_from_xyz((Xyz){(double)p[0], (double)p[1], (double)p[2]});
        double best = 1e9;
        for (int c = 0; c < palette->count; c++) {
            const double d = delta_e_2000(lab, palette->colour[c].lab);
            if (d < best) best = d, grid->colour[i] = (uint8_t)c;
        }
    }
}

/* The fewest bricks of lengths 1, 2, 3, 4, 6 and 8 for each course of a wall, no bond. */
static inline long bricks_wall(const Grid *grid)
{
    int *least = malloc(((size_t)grid->columns + 1) * sizeof *least);
    if (!least) abort();
    static const int length[6] = {1, 2, 3, 4, 6, 8};
    least[0] = 0;
    for (int n = 1; n <= grid->columns; n++) {
        least[n] = n;
        for (int i = 0; i < 6; i++)
            if (n >= length[i] && least[n - length[i]] + 1 < least[n])
                least[n] = least[n - length[i]] + 1;
    }
    long bricks = 0;
    for (int row = 0; row < grid->rows; row++)
        for (int x = 0, run = 1; x < grid->columns; x++, run++)
            if (x + 1 == grid->columns ||
                grid_colour(grid, x, row) != grid_colour(grid, x + 1, row))
                bricks += least[run], run = 0;
    free(least);
    return bricks;
}

/* Bricks of a plaque, greedily: at each free cell in order, the largest of the built-in
 * set, either way round, that fits in free cells of its colour. */
static inline long bricks_plaque(const Grid *grid)
{
    static const int size[11][2] = {{2, 8}, {2, 6}, {2, 4}, {1, 8}, {2, 3}, {1, 6},
                                    {2, 2}, {1, 4}, {1, 3}, {1, 2}, {1, 1}};
    const int columns = grid->columns, rows = grid->rows;
    uint8_t *taken = calloc((size_t)columns * (size_t)rows, 1);
    if (!taken) abort();
    long bricks = 0;
    for (int row = 0; row < rows; row++)
        for (int column = 0; column < columns; column++) {
            if (taken[(size_t)row * (size_t)columns + (size_t)column]) continue;
            const int colour = grid_colour(grid, column, row);
            for (int s = 0; s < 22; s++) {
                const int w = size[s / 2][s % 2], h = size[s / 2][1 - s % 2];
                bool fits = column + w <= columns && row + h <= rows;
                for (int y = row; y < row + h && fits; y++)
                    for (int x = column; x < column + w && fits; x++)
                        fits = !taken[(size_t)y * (size_t)columns + (size_t)x] &&
                               grid_colour(grid, x, y) == colour;
                if (!fits) continue;
                for (int y = row; y < row + h; y++)
                    memset(taken + (size_t)y * (size_t)columns + (size_t)column, 1, (size_t)w);
                bricks++;
                break;
            }
        }
    free(taken);
    return bricks;
}

#endif
