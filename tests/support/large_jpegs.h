/* JPEGs of 24 megapixels for benches: a photograph (tests/data/pictures/astronaut.png, enlarged),
 * and a painted picture that is hard to lay, broad soft shapes whose grain frays every edge between
 * two colours. Benches run from the top of the tree. */
#ifndef ROWLOCK_TESTS_LARGE_JPEGS_H
#define ROWLOCK_TESTS_LARGE_JPEGS_H

#include "support/chance.h"
#include "support/jpegs.h"

#include <math.h>
#include <string.h>

#include <png.h>

enum { LARGE_WIDTH = 6000, LARGE_HEIGHT = 4000 };

typedef struct Photograph {
    int width, height;
    uint8_t *rgb;
} Photograph;

static inline Photograph read_photograph(void)
{
    png_image png = {.version = PNG_IMAGE_VERSION};
    Photograph p = {0};
    if (png_image_begin_read_from_file(&png, "tests/data/pictures/astronaut.png")) {
        png.format = PNG_FORMAT_RGB;
        p = (Photograph){(int)png.width, (int)png.height, malloc(PNG_IMAGE_SIZE(png))};
    }
    if (!p.rgb || !png_image_finish_read(&png, NULL, p.rgb, 0, NULL)) {
        fprintf(stderr, "tests/data/pictures/astronaut.png: cannot be read; run from the top\n");
        exit(66);
    }
    return p;
}

/* Between the four pixels around it. */
static inline double enlarged(const Photograph *p, int x, int y, int c)
{
    const double scale = fmin((double)p->width / LARGE_WIDTH, (double)p->height / LARGE_HEIGHT);
    const double at = fmax(0, (x + 0.5) * scale - 0.5), up = fmax(0, (y + 0.5) * scale - 0.5);
    const int left = (int)at, top = (int)up;
    const int right = left + 1 < p->width ? left + 1 : left;
    const int low = top + 1 < p->height ? top + 1 : top;
    const double across = at - left, down = up - top;
    const double above = p->rgb[3 * (top * p->width + left) + c] * (1 - across) +
                         p->rgb[3 * (top * p->width + right) + c] * across;
    const double below = p->rgb[3 * (low * p->width + left) + c] * (1 - across) +
                         p->rgb[3 * (low * p->width + right) + c] * across;
    return above * (1 - down) + below * down;
}

static inline double painted(int x, int y, int c)
{
    const double wave = sin(x * 0.004 + y * 0.001) + sin(y * 0.006 - x * 0.0007);
    const double disc = hypot(x % 1500 - 750, y % 1300 - 650) < 400 ? 45 : 0;
    return 110 + 40 * wave * (1 - 0.3 * c) + disc * (c - 0.7);
}

/* A picture with grain; painted without a photograph. */
typedef struct Grained {
    const Photograph *photograph;
    uint32_t seed;
} Grained;

static inline void fill_row(void *self, int y, uint8_t *row)
{
    Grained *g = self;
    for (int x = 0; x < LARGE_WIDTH; x++) {
        const double grain = (chance(&g->seed) >> 16) / 255.0 * 20.0 - 10.0;
        for (int c = 0; c < 3; c++) {
            const double v =
                grain + (g->photograph ? enlarged(g->photograph, x, y, c) : painted(x, y, c));
            row[3 * x + c] = (uint8_t)(v < 0 ? 0 : v > 255 ? 255 : v);
        }
    }
}

static inline void make_jpeg(const char *path, const Photograph *photograph, int height)
{
    Grained picture = {photograph, 1};
    if (!jpeg_from_rows(path, LARGE_WIDTH, height, 90, fill_row, &picture)) exit(73);
}

#endif
