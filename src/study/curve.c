/* The table has every point and its colours; the picture has the points, the one that was
 * asked for marked, on axes that begin at no difference. */
#include "study/curve.h"

#include "base/csv_sheet.h"
#include "book/draw.h"
#include "book/sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

Status curve_csv(const Curve *curve, const Palette *palette, const char *path, Fault *fault)
{
    CsvSheet csv;
    const Status status = csv_sheet_open(&csv, path, TABLE_CURVE, fault);
    if (status) return status;
    for (int i = 0; i < curve->count; i++) {
        char ids[PALETTE_MOST * 18] = "";
        size_t length = 0;
        for (int j = 0; j < curve->subset[i].count; j++)
            length += (size_t)snprintf(ids + length, sizeof ids - length, "%s%s", j ? " " : "",
                                       palette->colour[curve->subset[i].colour[j]].id);
        csv_put_whole(&csv, curve->subset[i].count);
        csv_put_number(&csv, 4, curve->difference[i]);
        csv_put_text(&csv, ids);
        csv_end_record(&csv);
    }
    return csv_sheet_close(&csv, fault);
}

/* ---- the picture ---- */

#define WIDTH 160.0
#define HEIGHT 96.0
#define LEFT 16.0
#define RIGHT 8.0
#define TOP 14.0
#define BOTTOM 16.0
#define DOTS_MM 6.0

typedef struct Axes {
    double most;     /* difference at the top */
    int first, last; /* colours at the left and right */
} Axes;

static double x_at(const Axes *a, double colours)
{
    const double span = a->last > a->first ? a->last - a->first : 1;
    return LEFT + (WIDTH - LEFT - RIGHT) * (colours - a->first) / span;
}

static double y_at(const Axes *a, double difference)
{
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * difference / a->most;
}

/* 1, 2 or 5 of a power of ten: at most `parts` of them up to `most`. */
static double step_of(double most, int parts)
{
    double step = pow(10, floor(log10(most / parts)));
    while (most / step > parts) {
        if (most / (2 * step) <= parts) return 2 * step;
        if (most / (5 * step) <= parts) return 5 * step;
        step *= 10;
    }
    return step;
}

static void draw_axes(Draw *draw, const Axes *a)
{
    char text[32];
    const double step = step_of(a->most, 6);
    for (int i = 0; i * step <= a->most * 1.0001; i++) {
        const double y = y_at(a, i * step);
        draw_line(draw, LEFT, y, WIDTH - RIGHT, y);
        draw_stroke(draw, INK_FAINT, 0.25);
        snprintf(text, sizeof text, "%.*f", step < 1 ? 1 : 0, i * step);
        draw_text_right(draw, TYPE_SMALL, INK_SOFT, LEFT - 2.0, y + 0.9, text);
    }
    const int each = (int)fmax(1, step_of(a->last, 16));
    for (int k = a->first; k <= a->last; k++) {
        if (k % each && k != a->first) continue;
        if (k == a->first && each > 1 && a->last > 16 && k % each) continue;
        snprintf(text, sizeof text, "%d", k);
        draw_text_centre(draw, TYPE_SMALL, INK_SOFT, x_at(a, k), HEIGHT - BOTTOM + 4.5, text);
    }
    draw_line(draw, LEFT, HEIGHT - BOTTOM, WIDTH - RIGHT, HEIGHT - BOTTOM);
    draw_stroke(draw, INK_SOFT, 0.25);
    draw_text_centre(draw, TYPE_SMALL, INK_SOFT, 0.5 * (LEFT + WIDTH - RIGHT), HEIGHT - 5.0,
                     "colours");
    draw_text(draw, TYPE_SMALL, INK_SOFT, 4.0, TOP - 5.0,
              "difference as mixed at the distance, CIEDE2000");
}

static void draw_points(Draw *draw, const Curve *curve, const Axes *a)
{
    for (int i = 0; i < curve->count; i++) {
        const double x = x_at(a, curve->subset[i].count), y = y_at(a, curve->difference[i]);
        if (i == 0)
            draw_line(draw, x, y, x, y);
        else
            draw_line_on(draw, x, y);
    }
    draw_stroke(draw, INK_TEXT, 0.5);
    for (int i = 0; i < curve->count; i++) {
        const bool marked = i == curve->marked;
        draw_circle(draw, x_at(a, curve->subset[i].count), y_at(a, curve->difference[i]),
                    marked ? 1.5 : 0.7);
        draw_fill(draw, marked ? INK_ACCENT : INK_TEXT);
    }
    const int m = curve->marked;
    char text[64];
    snprintf(text, sizeof text, "%d: %.2f", curve->subset[m].count, curve->difference[m]);
    draw_text(draw, TYPE_STRONG, INK_ACCENT, x_at(a, curve->subset[m].count) + 1.5,
              y_at(a, curve->difference[m]) - 2.5, text);
}

Status curve_png(const Curve *curve, const char *path, Fault *fault)
{
    Draw *draw;
    const Axes axes = {fmax(1, curve->difference[0] * 1.05), curve->subset[0].count,
                       curve->subset[curve->count - 1].count};
    Status status = draw_create_picture(&draw, path, WIDTH, HEIGHT, DOTS_MM, fault);
    if (status) return status;
    draw_axes(draw, &axes);
    draw_points(draw, curve, &axes);
    status = draw_page_end(draw, fault);
    if (!status) status = draw_close(draw, fault);
    draw_free(draw);
    return status;
}
