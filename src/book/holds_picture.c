/* A cell has the colour of what its outermost brick holds, in five classes; what does not stand out
 * is pale. The least hold of the mural is ringed. Colours differ in lightness as well as in hue, so
 * that no kind of colour blindness confuses them.
 *
 * Source of the colours: M. Okabe, K. Ito, Color Universal Design (2008), from memory. */
#include "book/holds_picture.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/draw.h"
#include "book/sheet.h"

#include <math.h>
#include <stdio.h>

/* mm, and dots a mm: some 1900 dots across, half of that for few cells, which have 15 dots or more
 * each even then. */
#define WIDTH 320.0
#define MARGIN 10.0
#define HEAD 16.0
#define KEY 16.0
#define SWATCH 5.0
#define RING 3.0
#define DOTS_MM 6.0
#define FEW_DOTS_MM 3.0
#define FEW_COLUMNS 60

enum { CLASSES = 5 };

static const struct HoldClass {
    double below; /* N */
    const char *name;
    uint8_t rgb[3];
} classes[CLASSES] = {{0.5, "under 0.5 N: a duster", {213, 94, 0}},
                      {1, "under 1 N", {230, 159, 0}},
                      {3, "under 3 N", {240, 228, 66}},
                      {FIRM_N, "under 10 N: a finger", {86, 180, 233}},
                      {INFINITY, "10 N and more", {0, 114, 178}}};
static const uint8_t pale[3] = {226, 226, 226};

static const uint8_t *colour_of(double newtons)
{
    int i = 0;
    while (i < CLASSES - 1 && newtons >= classes[i].below) i++;
    return classes[i].rgb;
}

static void colour_brick(const Mural *m, Raster *raster, size_t brick)
{
    const Brick *b = &m->laid->brick[brick];
    const double hold = (double)m->holds->touch_n[brick];
    if (isnan(hold)) return;
    for (int row = b->row; row < b->row + b->rows; row++)
        for (int column = b->column; column < b->column + b->columns; column++)
            if (solid_top(&m->solid, column, row) == b->tier + b->tiers)
                raster_set(raster, column, m->grid->rows - 1 - row, colour_of(hold));
}

static void colour_cells(const Mural *m, Raster *raster)
{
    for (int row = 0; row < m->grid->rows; row++)
        for (int column = 0; column < m->grid->columns; column++)
            raster_set(raster, column, row, pale);
    for (size_t i = 0; i < m->laid->count; i++) colour_brick(m, raster, i);
}

static void ring_least(const Mural *m, Draw *draw, double height)
{
    const double across = (WIDTH - 2 * MARGIN) / m->grid->columns, up = height / m->grid->rows;
    const PanelHolds *least = &m->holds->panel[holds_least(m->holds, m->panels->count)];
    if (least->least_brick == HOLD_NOTHING) return;
    const Brick *b = &m->laid->brick[least->least_brick];
    draw_circle(draw, MARGIN + (b->column + 0.5 * b->columns) * across,
                HEAD + height - (b->row + 0.5 * b->rows) * up, RING);
    draw_stroke(draw, INK_TEXT, 0.5);
}

static void draw_key(Draw *draw, double y)
{
    const double step = (WIDTH - 2 * MARGIN) / (CLASSES + 1);
    for (int i = 0; i <= CLASSES; i++) {
        const uint8_t *rgb = i < CLASSES ? classes[i].rgb : pale;
        const double x = MARGIN + i * step;
        draw_rect(draw, x, y, SWATCH, SWATCH);
        draw_fill(draw, (Ink){rgb[0] / 255.0, rgb[1] / 255.0, rgb[2] / 255.0});
        draw_text(draw, TYPE_BODY, INK_TEXT, x + SWATCH + 1.5, y + SWATCH - 1,
                  i < CLASSES ? classes[i].name : "does not stand out");
    }
}

static void draw_head(const Mural *m, Draw *draw)
{
    char text[160], least[32];
    draw_text(draw, TYPE_STRONG, INK_TEXT, MARGIN, 7,
              "How hard a brick that stands out may be pushed, sideways or outward, when new");
    if (!isfinite(m->measures.least_hold_n)) return;
    number_text(least, sizeof least, floor(m->measures.least_hold_n * 100) / 100, 2);
    snprintf(text, sizeof text,
             "The least is %s N, ringed; %ld bricks hold less than %g N, %ld less than %g N.",
             least, m->measures.held_slightly, m->job->touch, m->measures.held_feebly, FEEBLE_N);
    draw_text(draw, TYPE_BODY, INK_SOFT, MARGIN, 12.5, text);
}

Status holds_picture_write(const Mural *m, const char *path, const Voice *voice, Fault *fault)
{
    const double height = (WIDTH - 2 * MARGIN) * mural_height_mm(m) / mural_width_mm(m);
    Draw *draw;
    Raster *raster;
    (void)voice;
    const double dots = m->grid->columns < FEW_COLUMNS ? FEW_DOTS_MM : DOTS_MM;
    Status status = draw_create_picture(&draw, path, WIDTH, HEAD + height + KEY, dots, fault);
    if (status) return status;
    status = raster_create(&raster, m->grid->columns, m->grid->rows, fault);
    if (!status) {
        colour_cells(m, raster);
        draw_head(m, draw);
        draw_raster(draw, raster, MARGIN, HEAD, WIDTH - 2 * MARGIN, height);
        ring_least(m, draw, height);
        draw_key(draw, HEAD + height + 5);
        raster_free(raster);
        status = draw_page_end(draw, fault);
    }
    if (!status) status = draw_close(draw, fault);
    draw_free(draw);
    return status;
}
