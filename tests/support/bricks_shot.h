/* Bricks shot: a table with a colour chart and 48 bricks about it, photographed by the tests' own
 * camera, and what the bricks' colours are.
 *
 * The plane is 13 x 9 patches of the chart. The chart of 24 lies in the middle on a dark ground,
 * the bricks in two rows above and two below. Their pigments are not the smooth ones of the
 * chart's: a wave over the spectrum is laid on each, so that what a camera makes of them differs
 * from what it makes of patches of the same colour (metamerism). */
#ifndef ROWLOCK_TESTS_BRICKS_SHOT_H
#define ROWLOCK_TESTS_BRICKS_SHOT_H

#include "camera/homography.h"
#include "model/palette.h"
#include "support/camera.h"

#include <stdlib.h>
#include <string.h>

enum { BRICKS_SHOT = 48, CHART_SHOT = 24 };

/* Lower left corner of the first patch's cell, and the side of things, in patches. */
#define CHART_LEFT 3.5
#define CHART_TOP 6.5
#define PATCH_SHOT 0.86
#define BRICK_SHOT 0.8

typedef struct BricksShot {
    Scene scene;
    Palette palette;              /* ids and names */
    Lab truth[BRICKS_SHOT];       /* by the observer */
    double place[BRICKS_SHOT][2]; /* of a brick's middle, x and y up */
} BricksShot;

typedef enum ShotGround { GROUND_WOOD, GROUND_PAPER } ShotGround;

static inline Surface rippled(Surface smooth, int i, double depth)
{
    for (int w = 0; w < WAVES; w++) {
        const double wave = sin(6.2832 * (w / (11.0 + i % 7) + 0.37 * i));
        smooth.reflectance[w] = fmin(0.97, smooth.reflectance[w] * (1 + depth * wave));
    }
    return smooth;
}

static inline void lay_square(Scene *scene, double x, double y, double side, int surface)
{
    scene_rectangle(scene, x - side / 2, y - side / 2, x + side / 2, y + side / 2, surface);
}

static inline bool lay_chart(Scene *scene)
{
    Palette *chart = malloc(sizeof *chart);
    Fault fault = {0};
    if (!chart || palette_read(chart, "tests/data/patches-24.cgats", NULL, &fault)) return false;
    scene_rectangle(scene, CHART_LEFT - 0.25, CHART_TOP - 4.25, CHART_LEFT + 6.25, CHART_TOP + 0.25,
                    scene_add(scene, surface_of_lab(17, 0, 0)));
    for (int i = 0; i < CHART_SHOT; i++) {
        const Lab lab = chart->colour[i].lab;
        lay_square(scene, CHART_LEFT + i % 6 + 0.5, CHART_TOP - i / 6 - 0.5, PATCH_SHOT,
                   scene_add(scene, surface_of_lab(lab.L, lab.a, lab.b)));
    }
    free(chart);
    return true;
}

/* `ripple` is the depth of the wave; 0.08 changes colours by a few units. */
static inline bool bricks_shot_init(BricksShot *shot, ShotGround table, double ripple)
{
    Fault fault = {0};
    memset(shot, 0, sizeof *shot);
    if (!scene_init(&shot->scene, 13, 9, 50)) return false;
    if (table == GROUND_PAPER)
        scene_rectangle(&shot->scene, 0, 0, 13, 9,
                        scene_add(&shot->scene, surface_of_lab(93, 0, -2)));
    if (!lay_chart(&shot->scene) || palette_default(&shot->palette, &fault)) return false;
    for (int i = 0; i < BRICKS_SHOT; i++) {
        const Lab lab = shot->palette.colour[i].lab;
        const Surface surface = rippled(surface_of_lab(lab.L, lab.a, lab.b), i, ripple);
        double seen[3];
        surface_lab(&surface, seen);
        shot->truth[i] = (Lab){seen[0], seen[1], seen[2]};
        shot->place[i][0] = 1 + i % 12;
        shot->place[i][1] = i < 24 ? 8.3 - i / 12 : 1.7 - (i - 24) / 12;
        lay_square(&shot->scene, shot->place[i][0], shot->place[i][1], BRICK_SHOT,
                   scene_add(&shot->scene, surface));
    }
    return true;
}

/* A phone's photograph of it: tilted, darker at its edges, lit from a side. */
static inline Camera bricks_camera(void)
{
    Camera camera = camera_default();
    camera.width = 1280;
    camera.height = 960;
    camera.fill = 1.2; /* the table is wider than high */
    camera.tilt = 12;
    camera.toward = 200;
    camera.roll = 2;
    camera.vignetting = 0.25;
    camera.uneven = 0.15;
    camera.uneven_toward = 160;
    camera.exposure = 0.75;
    return camera;
}

static inline PlanePoint shot_point(const Camera *camera, double x, double y)
{
    PlanePoint p;
    camera_project(camera, x, y, &p.x, &p.y);
    return p;
}

/* Middles of the chart's corner patches, as --chart has them. */
static inline void shot_chart(const Camera *camera, PlanePoint corner[4])
{
    const double left = CHART_LEFT + 0.5, top = CHART_TOP - 0.5;
    corner[0] = shot_point(camera, left, top);
    corner[1] = shot_point(camera, left + 5, top);
    corner[2] = shot_point(camera, left + 5, top - 3);
    corner[3] = shot_point(camera, left, top - 3);
}

static inline void put_square(FILE *file, const char *id, const Camera *camera, double x, double y,
                              double side)
{
    static const double way[4][2] = {{-1, 1}, {1, 1}, {1, -1}, {-1, -1}};
    fprintf(file, "%s", id);
    for (int k = 0; k < 4; k++) {
        const PlanePoint p = shot_point(camera, x + way[k][0] * side / 2, y + way[k][1] * side / 2);
        fprintf(file, ",%.1f,%.1f", p.x, p.y);
    }
    fputc('\n', file);
}

/* The list for --patches, with paper between where there is some. */
static inline bool shot_patches(const BricksShot *shot, const Camera *camera, bool paper,
                                const char *path)
{
    FILE *file = fopen(path, "w");
    if (!file) return false;
    fputs("id,x1,y1,x2,y2,x3,y3,x4,y4\n", file);
    for (int i = 0; i < BRICKS_SHOT; i++)
        put_square(file, shot->palette.colour[i].id, camera, shot->place[i][0], shot->place[i][1],
                   BRICK_SHOT);
    for (int i = 0; paper && i < 12; i++) {
        const double x = 0.25 + i % 6 * 2.5, y = i < 6 ? 8.87 : 0.13;
        put_square(file, "paper", camera, fmin(x, 12.75), y, 0.2);
    }
    for (int i = 0; paper && i < 6; i++)
        put_square(file, "paper", camera, i % 2 ? 1.5 : 11.5, 3.2 + i / 2 * 1.3, 0.5);
    return !fclose(file);
}

#endif
