/* A strip of pixel rows is held at a time. A pixel depends on nothing but the scene, so threads
 * change no byte. raking_light.h says how a point is lit. */
#include "output/relief_render.h"

#include "base/bands.h"
#include "base/memory.h"
#include "output/face_pictures.h"
#include "output/paint.h"

#include <math.h>
#include <string.h>

#define KNOB_HEIGHT 1.8  /* mm. Common practice, no source. */
#define BEVEL_JOINT 0.16 /* tangent of a bevel between bricks of one height; by eye */
#define BEVEL_STEP 0.34  /* and where the face drops beside it */
enum { STRIP_ROWS = 32 };

/* Pixels: about so many across, within these of a cell, at most so many each way. Our choice. */
enum { PIXELS_ACROSS = 1600, SCENE_CELL_LEAST = 4, SCENE_CELL_MOST = 12, PIXELS_MOST = 12000 };

typedef struct Scene {
    const Mural *mural;
    RakingLight light;
    int cell_width, cell_height; /* pixels */
    float *height;               /* of each cell, mm */
    uint8_t *sides;              /* see face_sides */
    Rgb colour[PALETTE_MOST];
    Srgb8 screen;
    uint8_t *strip; /* pixel rows from the top, STRIP_ROWS of them */
    int strip_top;
} Scene;

static int scene_across(const Scene *s) { return s->mural->grid->columns * s->cell_width; }
static int scene_down(const Scene *s) { return s->mural->grid->rows * s->cell_height; }

/* ---- a pixel ---- */

/* Slope of the bevel at a pixel of a cell, toward one side. */
static double bevel(const Scene *s, int column, int row, int beside_column, int beside_row)
{
    const int own = solid_top(&s->mural->solid, column, row);
    const int other = solid_top(&s->mural->solid, beside_column, beside_row);
    return other < own ? BEVEL_STEP : other == own ? BEVEL_JOINT : 0;
}

/* The face's slope to the right and up at pixel (i, j) of a cell, from its lower left. */
static void slope_at(const Scene *s, int column, int row, int i, int j, double slope_out[2])
{
    const int sides = s->sides[(size_t)row * (size_t)s->mural->grid->columns + (size_t)column];
    slope_out[0] = slope_out[1] = 0;
    if (i == 0 && (sides & FACE_LEFT)) slope_out[0] -= bevel(s, column, row, column - 1, row);
    if (i == s->cell_width - 1 && (sides & FACE_RIGHT))
        slope_out[0] += bevel(s, column, row, column + 1, row);
    if (j == 0 && (sides & FACE_BELOW)) slope_out[1] -= bevel(s, column, row, column, row - 1);
    if (j == s->cell_height - 1 && (sides & FACE_ABOVE))
        slope_out[1] += bevel(s, column, row, column, row + 1);
}

/* Light on the pixel; 1 is a flat face that nothing shades. */
static double light_at(const Scene *s, int column, int row, int i, int j)
{
    const Mural *m = s->mural;
    const size_t cell = (size_t)row * (size_t)m->grid->columns + (size_t)column;
    const double x = (i + 0.5) / s->cell_width, y = (j + 0.5) / s->cell_height;
    const double dx = x - 0.5, dy = y - 0.5;
    const bool on_knob = dx * dx + dy * dy < KNOB_RADIUS * KNOB_RADIUS;
    const double point[3] = {(column + x) * m->cell_width_mm, (row + y) * m->cell_height_mm,
                             (double)s->height[cell] + (on_knob ? s->light.face.knob : 0)};
    double slope[2];
    slope_at(s, column, row, i, j, slope);
    return raking_light_at(&s->light, column, row, point, slope);
}

static void light_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Scene *s = context;
    const Grid *g = s->mural->grid;
    for (int k = begin; k < end; k++) {
        const int from_below = scene_down(s) - 1 - (s->strip_top + k);
        const int row = from_below / s->cell_height, j = from_below % s->cell_height;
        uint8_t *out = s->strip + (size_t)k * (size_t)scene_across(s) * 3;
        for (int column = 0; column < g->columns; column++) {
            const Rgb c = s->colour[grid_colour(g, column, row)];
            for (int i = 0; i < s->cell_width; i++, out += 3) {
                const double f = light_at(s, column, row, i, j);
                srgb8_look_up(&s->screen, (Rgb){f * c.r, f * c.g, f * c.b}, out);
            }
        }
    }
}

/* ---- the picture ---- */

static void relief_scale(const Mural *m, int across, int *width_out, int *height_out)
{
    const int most = m->grid->columns > m->grid->rows ? m->grid->columns : m->grid->rows;
    int width = PIXELS_ACROSS / most;
    width = width < SCENE_CELL_LEAST  ? SCENE_CELL_LEAST
            : width > SCENE_CELL_MOST ? SCENE_CELL_MOST
                                      : width;
    while (width > 1 && (long)width * most > PIXELS_MOST) width--;
    while (width > 1 && across && width * m->grid->columns > across) width--;
    const int height = (int)lround(width * m->cell_height_mm / m->cell_width_mm);
    *width_out = width;
    *height_out = height < 1 ? 1 : height;
}

static Status scene_init(Scene *s, const Mural *m, const RakingLightOptions *options, int across,
                         Fault *fault)
{
    const size_t cells = (size_t)m->grid->columns * (size_t)m->grid->rows;
    s->mural = m;
    relief_scale(m, across, &s->cell_width, &s->cell_height);
    s->height = memory_create(cells, sizeof *s->height);
    s->sides = face_sides(m);
    s->strip = memory_create((size_t)scene_across(s) * STRIP_ROWS, 3);
    if (!s->height || !s->sides || !s->strip) return memory_fault(fault, cells, sizeof *s->height);
    srgb8_init(&s->screen);
    for (int i = 0; i < m->palette->count; i++)
        s->colour[i] = linear_from_xyz(m->palette->colour[i].xyz);
    for (size_t i = 0; i < cells; i++) {
        const int top = m->solid.base + (m->grid->steps ? m->grid->steps[i] : 0);
        s->height[i] = (float)(top * m->step_mm);
    }
    const LitFace face = {.columns = m->grid->columns,
                          .rows = m->grid->rows,
                          .cell_width = m->cell_width_mm,
                          .cell_height = m->cell_height_mm,
                          .knob = m->solid.build == BUILD_PLAQUE ? KNOB_HEIGHT : 0,
                          .height = s->height};
    return raking_light_init(&s->light, &face, options, fault);
}

static void scene_clear(Scene *s)
{
    raking_light_clear(&s->light);
    memory_free(s->height);
    memory_free(s->sides);
    memory_free(s->strip);
}

static Status write_strips(Scene *s, Paint *paint, const Voice *voice, Fault *fault)
{
    const int down = scene_down(s);
    for (s->strip_top = 0; s->strip_top < down; s->strip_top += STRIP_ROWS) {
        const int rows = down - s->strip_top < STRIP_ROWS ? down - s->strip_top : STRIP_ROWS;
        bands_run(s->mural->threads, rows, 1, light_rows, s);
        for (int k = 0; k < rows; k++) {
            const Status status =
                paint_row(paint, s->strip + (size_t)k * (size_t)scene_across(s) * 3, fault);
            if (status) return status;
        }
        if (voice_stopped(voice))
            return fault_set(fault, STATUS_INTERRUPTED, "plan: interrupted; run it again");
        voice_progress(voice, "relief", (double)(s->strip_top + rows) / down);
    }
    return STATUS_OK;
}

Status relief_render_write(const Mural *mural, const RakingLightOptions *options,
                           const PaintPlace *place, const Voice *voice, Fault *fault)
{
    Scene *s = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    Paint *paint = NULL;
    Status status = scene_init(s, mural, options, place->across, fault);
    if (!status)
        status = paint_create(&paint, place,
                              &(PaintOptions){.width = scene_across(s),
                                              .height = scene_down(s),
                                              .kind = PAINT_RGB,
                                              .threads = mural->threads},
                              fault);
    if (!status) status = write_strips(s, paint, voice, fault);
    if (!status) {
        status = paint_finish(paint, fault);
        paint = NULL;
    }
    paint_free(paint);
    scene_clear(s);
    memory_free(s);
    return status;
}
