#include "inspect/marks_picture.h"

#include "base/bands.h"
#include "base/memory.h"

#include <math.h>
#include <string.h>

enum { SIDE_MOST = 2400, CELL_LEAST = 8, CELL_MOST = 28, RIM = 24 }; /* pixels */

/* Half widths of a mark's line and of its rim, of a cell's width. */
#define LINE 0.07
#define EDGE 0.14

typedef struct Marking {
    const Inspection *i;
    int cell_x, cell_y; /* pixels of a cell */
    int width, height;
    uint8_t *rgb;
    Srgb8 srgb8;
    const BrickVerdict **mark; /* of each cell; NULL: right */
} Marking;

static double across(double x, double y, const double from[2], const double to[2])
{
    const double dx = to[0] - from[0], dy = to[1] - from[1], whole = dx * dx + dy * dy;
    const double at = whole > 0 ? ((x - from[0]) * dx + (y - from[1]) * dy) / whole : 0;
    const double share = fmin(fmax(at, 0), 1);
    return hypot(x - from[0] - share * dx, y - from[1] - share * dy);
}

/* How far a place, in cells from the lower left corner of a brick of so many cells, is from the
 * lines of its mark. */
static double from_cross(double x, double y, double wide, double high)
{
    const double in = 0.15;
    const double one = across(x, y, (double[]){in, in}, (double[]){wide - in, high - in});
    const double other = across(x, y, (double[]){in, high - in}, (double[]){wide - in, in});
    return fmin(one, other);
}

static double from_ring(double x, double y, double wide, double high)
{
    const double radius = fmin(wide, high) / 2 - 0.18;
    return fabs(hypot(x - wide / 2, y - high / 2) - radius);
}

static double from_dots(double x, double y, double wide, double high)
{
    double nearest = INFINITY;
    for (int i = -1; i <= 1; i++)
        nearest = fmin(nearest, hypot(x - wide / 2 - 0.28 * i, y - high / 2));
    return fmax(nearest - 0.03, 0);
}

static double from_arrow(double x, double y, const BrickVerdict *v, double wide, double high)
{
    const double right = v->right, up = v->up, length = 0.36;
    if (v->right == 0 && v->up == 0) /* some way: a bar on two feet */
        return fmin(
            across(x, y, (double[]){0.2, high / 2}, (double[]){wide - 0.2, high / 2}),
            fmin(across(x, y, (double[]){0.2, high / 2 - 0.25}, (double[]){0.2, high / 2 + 0.25}),
                 across(x, y, (double[]){wide - 0.2, high / 2 - 0.25},
                        (double[]){wide - 0.2, high / 2 + 0.25})));
    const double tip[2] = {wide / 2 + length * right, high / 2 + length * up};
    const double tail[2] = {wide / 2 - length * right, high / 2 - length * up};
    double nearest = across(x, y, tip, tail);
    for (int side = -1; side <= 1; side += 2) {
        const double barb[2] = {tip[0] - 0.22 * right - 0.22 * side * up,
                                tip[1] - 0.22 * up + 0.22 * side * right};
        nearest = fmin(nearest, across(x, y, tip, barb));
    }
    return nearest;
}

static double from_mark(const BrickVerdict *v, double x, double y, double wide, double high)
{
    switch (v->verdict) {
    case VERDICT_WRONG:
        return from_cross(x, y, wide, high);
    case VERDICT_MISSING:
        return from_ring(x, y, wide, high);
    case VERDICT_SHIFTED:
        return from_arrow(x, y, v, wide, high);
    default:
        return from_dots(x, y, wide, high);
    }
}

static void photo_pixel(const Marking *m, double column, double row, uint8_t rgb[3])
{
    const Inspection *i = m->i;
    const PanelFace *face = &i->face;
    const size_t cell = face_cell(face, (int)column, (int)row);
    const PlanePoint at =
        pose_place(&i->pose, face_x(face, column), face_y(face, row), face_z(face, cell));
    memset(rgb, 128, 3);
    if (!(at.x >= 0 && at.y >= 0 && at.x < i->photo.width && at.y < i->photo.height)) return;
    const uint16_t *p = photo_at(&i->photo, (int)at.x, (int)at.y);
    double light[3];
    for (int c = 0; c < 3; c++) light[c] = (double)p[c] / PHOTO_FULL;
    srgb8_look_up(&m->srgb8, linear_from_xyz(photo_xyz(&i->photo, light)), rgb);
}

static void mark_pixel(const Marking *m, double column, double row, uint8_t rgb[3])
{
    const PanelFace *face = &m->i->face;
    const BrickVerdict *v = m->mark[face_cell(face, (int)column, (int)row)];
    if (!v) return;
    const Brick *b = &face->plan->laid.brick[v->brick];
    const double far = from_mark(v, column - (b->column - face->column), row - (b->row - face->row),
                                 b->columns, b->rows);
    if (far < EDGE) memset(rgb, far < LINE ? 255 : 0, 3);
}

static void paint_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Marking *m = context;
    const PanelFace *face = &m->i->face;
    for (int y = begin; y < end; y++)
        for (int x = 0; x < m->width; x++) {
            uint8_t *rgb = m->rgb + 3 * ((size_t)y * (size_t)m->width + (size_t)x);
            const double column = (x - RIM + 0.5) / m->cell_x;
            const double row = face->rows - (y - RIM + 0.5) / m->cell_y;
            memset(rgb, 255, 3);
            if (column < 0 || row < 0 || column >= face->columns || row >= face->rows) continue;
            photo_pixel(m, column, row, rgb);
            mark_pixel(m, column, row, rgb);
        }
}

/* How long the tick of a row or column of the mural is, from 1. */
static int tick(int of_mural) { return of_mural % 10 == 0 ? RIM - 6 : of_mural % 5 == 0 ? 8 : 0; }

static void black(const Marking *m, int x, int y)
{
    memset(m->rgb + 3 * ((size_t)y * (size_t)m->width + (size_t)x), 0, 3);
}

static void paint_ticks(const Marking *m)
{
    const PanelFace *face = &m->i->face;
    for (int column = 0; column < face->columns; column++) {
        const int x = RIM + column * m->cell_x + m->cell_x / 2;
        for (int k = 0; k < tick(face->column + column + 1); k++) {
            black(m, x, RIM - 2 - k);
            black(m, x, m->height - RIM + 1 + k);
        }
    }
    for (int row = 0; row < face->rows; row++) {
        const int y = RIM + (face->rows - 1 - row) * m->cell_y + m->cell_y / 2;
        for (int k = 0; k < tick(face->row + row + 1); k++) {
            black(m, RIM - 2 - k, y);
            black(m, m->width - RIM + 1 + k, y);
        }
    }
}

static Status marking_init(Marking *m, Fault *fault)
{
    const PanelFace *face = &m->i->face;
    const Judgement *j = &m->i->judgement;
    const int longer = face->columns > face->rows ? face->columns : face->rows;
    m->cell_x = (int)fmin(fmax(SIDE_MOST / longer, CELL_LEAST), CELL_MOST);
    m->cell_y = (int)rint(m->cell_x * face->unit_y / face->unit_x);
    m->width = face->columns * m->cell_x + 2 * RIM;
    m->height = face->rows * m->cell_y + 2 * RIM;
    srgb8_init(&m->srgb8);
    const size_t cells = (size_t)face->columns * (size_t)face->rows;
    m->rgb = memory_create((size_t)m->width * (size_t)m->height, 3);
    m->mark = memory_create(cells, sizeof *m->mark);
    if (!m->rgb || !m->mark) return memory_fault(fault, cells, sizeof *m->mark);
    for (const BrickVerdict *v = j->brick; v < j->brick + j->bricks; v++)
        for (size_t cell = 0; v->verdict != VERDICT_RIGHT && cell < cells; cell++)
            if ((size_t)face->brick[cell] == v->brick) m->mark[cell] = v;
    return STATUS_OK;
}

Status marks_picture_write(const Inspection *inspection, const PaintPlace *place, Fault *fault)
{
    Marking *m = memory_create(1, sizeof *m);
    if (!m) return memory_fault(fault, 1, sizeof *m);
    m->i = inspection;
    Paint *paint = NULL;
    Status status = marking_init(m, fault);
    if (!status) {
        const int threads = inspection->ask->threads;
        PaintOptions options = PAINT_OPTIONS_DEFAULT;
        options.width = m->width;
        options.height = m->height;
        options.threads = threads;
        bands_run(threads, m->height, 8, paint_rows, m);
        paint_ticks(m);
        status = paint_create(&paint, place, &options, fault);
    }
    for (int y = 0; !status && y < m->height; y++)
        status = paint_row(paint, m->rgb + 3 * (size_t)y * (size_t)m->width, fault);
    if (!status)
        status = paint_finish(paint, fault);
    else
        paint_free(paint);
    memory_free(m->rgb);
    memory_free(m->mark);
    memory_free(m);
    return status;
}
