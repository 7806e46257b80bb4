/* The two pictures of tests/data/pictures as images of cells: a crop from the centre,
 * every cell the mean of the pixels that it covers, in linear light. Tests run from
 * the top of the tree. */
#ifndef ROWLOCK_TESTS_PICTURES_H
#define ROWLOCK_TESTS_PICTURES_H

#include "model/image.h"

#include <png.h>
#include <stdlib.h>
#include <string.h>

enum { PICTURES = 2 };
static const char *const picture_files[PICTURES] = {"tests/data/pictures/astronaut.png",
                                                    "tests/data/pictures/coffee.png"};

typedef struct Pixels {
    int width, height;
    uint8_t *rgb; /* top row first */
} Pixels;

static inline Pixels pixels_read(const char *file)
{
    png_image png = {.version = PNG_IMAGE_VERSION};
    if (!png_image_begin_read_from_file(&png, file)) abort();
    png.format = PNG_FORMAT_RGB;
    Pixels pixels = {(int)png.width, (int)png.height, malloc(PNG_IMAGE_SIZE(png))};
    if (!pixels.rgb || !png_image_finish_read(&png, NULL, pixels.rgb, 0, NULL)) abort();
    return pixels;
}

/* cells of size x size pixels, as many as fit. */
static inline void image_of_pixels(Image *image, const Pixels *pixels, int left, int top,
                                   int columns, int rows, int size)
{
    if (image_init(image, columns, rows, NULL) != STATUS_OK) abort();
    for (int row = 0; row < rows; row++)
        for (int column = 0; column < columns; column++) {
            Rgb sum = {0, 0, 0};
            for (int i = 0; i < size * size; i++) {
                const int x = left + column * size + i % size;
                const int y = top + (rows - 1 - row) * size + i / size;
                const uint8_t *p = pixels->rgb + 3 * (y * pixels->width + x);
                sum.r += srgb_decode(p[0] / 255.0);
                sum.g += srgb_decode(p[1] / 255.0);
                sum.b += srgb_decode(p[2] / 255.0);
            }
            const double n = size * size;
            const Xyz xyz = xyz_from_linear((Rgb){sum.r / n, sum.g / n, sum.b / n});
            float *out = image->xyz + 3 * (row * columns + column);
            out[0] = (float)xyz.x;
            out[1] = (float)xyz.y;
            out[2] = (float)xyz.z;
        }
}

/* The whole picture in cells of size x size pixels. */
static inline void image_read(Image *image, const char *file, int size)
{
    Pixels pixels = pixels_read(file);
    image_of_pixels(image, &pixels, 0, 0, pixels.width / size, pixels.height / size, size);
    free(pixels.rgb);
}

#endif
