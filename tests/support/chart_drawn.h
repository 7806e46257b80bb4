/* Chart drawn: the colour chart of 24 and two bricks, drawn straight and flat in the chart's own
 * colours, for what only has to be read. */
#ifndef ROWLOCK_TESTS_CHART_DRAWN_H
#define ROWLOCK_TESTS_CHART_DRAWN_H

#include "camera/colour_chart.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DRAWN_WIDTH = 300, DRAWN_HEIGHT = 240, DRAWN_CELL = 44, DRAWN_PATCH = 38, DRAWN_EDGE = 18 };

/* The middles of the corner patches, as --chart has them, and the bricks, as --patches. */
#define DRAWN_CORNERS "37,37,257,37,257,169,37,169"
#define DRAWN_BRICKS "id,x,y,width,height\nA,20,200,36,30\nB,70,200,36,30\n"

static const uint8_t drawn_bricks[2][3] = {{160, 60, 50}, {70, 110, 80}}; /* sRGB */

static inline void draw_box(uint8_t *rgb, int left, int top, int width, int height,
                            const uint8_t srgb[3])
{
    for (int y = top; y < top + height; y++)
        for (int x = left; x < left + width; x++) memcpy(rgb + 3 * (y * DRAWN_WIDTH + x), srgb, 3);
}

/* As PNM. */
static inline bool chart_drawn(const char *path)
{
    static const uint8_t ground[3] = {43, 43, 43};
    const size_t bytes = (size_t)DRAWN_WIDTH * DRAWN_HEIGHT * 3;
    Fault fault;
    ColourChart *chart = malloc(sizeof *chart);
    uint8_t *rgb = malloc(bytes);
    FILE *file = fopen(path, "wb");
    bool done = chart && rgb && file && !colour_chart_default(chart, &fault);
    if (done) {
        memset(rgb, 200, bytes);
        draw_box(rgb, 12, 12, 6 * DRAWN_CELL + 6, 4 * DRAWN_CELL + 6, ground);
        for (int i = 0; i < chart->patches.count; i++)
            draw_box(rgb, DRAWN_EDGE + i % 6 * DRAWN_CELL, DRAWN_EDGE + i / 6 * DRAWN_CELL,
                     DRAWN_PATCH, DRAWN_PATCH, chart->patches.colour[i].srgb);
        for (int i = 0; i < 2; i++) draw_box(rgb, 20 + 50 * i, 200, 36, 30, drawn_bricks[i]);
        fprintf(file, "P6 %d %d 255\n", DRAWN_WIDTH, DRAWN_HEIGHT);
        done = fwrite(rgb, 1, bytes, file) == bytes;
    }
    if (file) done &= !fclose(file);
    free(chart);
    free(rgb);
    return done;
}

#endif
