/* The face as it will look: from near (preview), through an eye that stands where people stand
 * (distance), and both small (proof). All light is summed linearly and turned into sRGB at the end.
 *
 * The preview is put together from tiles, one for each colour and each set of sides on which the
 * cell ends its brick, drawn when it is first asked for and then copied; so it costs what its bytes
 * cost. The pixels of the other two do not depend on each other and are filled in bands.
 *
 * Sources: IEC 61966-2-1 (sRGB); the eye's blur is that of eye/eye.h. */
#include "output/face_pictures.h"

#include "base/bands.h"
#include "base/memory.h"
#include "eye/eye.h"
#include "output/jpeg.h"
#include "output/paint.h"

#include <math.h>
#include <string.h>

/* ---- the preview ---- */

enum { LEFT = FACE_LEFT, RIGHT = FACE_RIGHT, BELOW = FACE_BELOW, ABOVE = FACE_ABOVE, SIDES = 16 };

/* What the pictures' sizes aim at, in pixels: about this many across, within these of a cell, and
 * no more than a picture viewer opens at once. Our choice. */
enum {
    PREVIEW_ACROSS = 4000,
    PREVIEW_LEAST = 6, /* fewer do not show a knob, */
    PREVIEW_JOINT = 3, /* and these no joint beside its brick */
    PREVIEW_CELL = 24,
    PREVIEW_MOST = 12000,
    PROOF_MOST = 1200, /* of each of its two pictures, along the longer side */
    PROOF_GAP = 24,
    PROOF_QUALITY = 85, /* of the JPEG */
    DISTANCE_ACROSS = 1000
};

/* The lamp stands at the upper left. Factors are on linear light, radii of the ring on a knob in
 * cells; all by eye. */
#define DARK_JOINT 0.45
#define LIT_JOINT 1.18
#define KNOB_INSIDE 0.24
#define KNOB_EDGE 0.30
#define KNOB_OUTSIDE 0.34
#define KNOB_WITHIN 0.23 /* nearer and farther than these need no root: */
#define KNOB_BEYOND 0.35 /* they are off the ring however a square is rounded */
#define KNOB_LIT 0.25    /* added at most, inside the edge */
#define KNOB_SHADE 0.22  /* taken at most, beyond it */

/* Brightness of a point of a cell as a factor on linear light; x, y are 0 to 1 from the cell's
 * upper left. Of the knob alone: */
static double knob_shade(double x, double y)
{
    const double dx = x - 0.5, dy = y - 0.5, square = dx * dx + dy * dy;
    if (square > KNOB_BEYOND * KNOB_BEYOND || square < KNOB_WITHIN * KNOB_WITHIN) return 1;
    const double radius = hypot(dx, dy);
    if (radius > KNOB_OUTSIDE || radius < KNOB_INSIDE) return 1;
    const double facing = -(dx + dy) / (radius * M_SQRT2); /* 1 toward the lamp */
    return radius > KNOB_EDGE ? 1 - KNOB_SHADE * fmax(0, -facing) : 1 + KNOB_LIT * facing;
}

/* And with the joints over it, dark to the right and below, lit to the left and above; edge is a
 * joint's width in cells. */
static double joint_shade(int sides, double x, double y, double edge, double knob)
{
    if (((sides & RIGHT) && x > 1 - edge) || ((sides & BELOW) && y > 1 - edge)) return DARK_JOINT;
    if (((sides & LEFT) && x < edge) || ((sides & ABOVE) && y < edge)) return LIT_JOINT;
    return knob;
}

/* A cell of each colour and each set of sides, drawn when it is first asked for. */
typedef struct Tiles {
    const Palette *palette;
    int width, height;
    double *factor; /* SIDES x height x width */
    uint8_t *rgb;   /* colours x SIDES x height x width x 3 */
    bool drawn[PALETTE_MOST][SIDES];
    Srgb8 screen;
} Tiles;

static void tiles_clear(Tiles *t)
{
    memory_free(t->factor);
    memory_free(t->rgb);
}

/* The caller clears the tiles, also after a fault. */
static Status tiles_init(Tiles *t, const Mural *m, int width, int height, Fault *fault)
{
    const size_t points = SIDES * (size_t)width * (size_t)height;
    const size_t count = (size_t)m->palette->count * points;
    *t = (Tiles){.palette = m->palette,
                 .width = width,
                 .height = height,
                 .factor = memory_create(points, sizeof *t->factor),
                 .rgb = memory_create(count, 3)};
    if (!t->factor || !t->rgb) return memory_fault(fault, count, 3);
    srgb8_init(&t->screen);
    const bool knob = m->solid.build == BUILD_PLAQUE && width >= PREVIEW_LEAST;
    const int less = width < height ? width : height;
    const double edge = less < PREVIEW_JOINT ? 0 : 1.0 / less;
    const size_t part = points / SIDES;
    double *to = t->factor;
    for (int row = 0; row < height; row++)
        for (int column = 0; column < width; column++, to++) {
            const double x = (column + 0.5) / width, y = (row + 0.5) / height;
            const double shade = knob ? knob_shade(x, y) : 1;
            for (int s = 0; s < SIDES; s++)
                to[(size_t)s * part] = joint_shade(s, x, y, edge, shade);
        }
    return STATUS_OK;
}

/* Rows of width x 3 bytes, the top one first. */
static const uint8_t *tile(Tiles *t, int colour, int sides)
{
    const size_t points = (size_t)t->width * (size_t)t->height;
    uint8_t *rgb = t->rgb + ((size_t)colour * SIDES + (size_t)sides) * points * 3;
    if (t->drawn[colour][sides]) return rgb;
    t->drawn[colour][sides] = true;
    const Rgb c = linear_from_xyz(t->palette->colour[colour].xyz);
    const double *factor = t->factor + (size_t)sides * points;
    for (size_t i = 0; i < points; i++)
        srgb8_look_up(&t->screen, (Rgb){factor[i] * c.r, factor[i] * c.g, factor[i] * c.b},
                      rgb + 3 * i);
    return rgb;
}

uint8_t *face_sides(const Mural *m)
{
    const size_t columns = (size_t)m->grid->columns;
    uint8_t *sides = memory_create(columns * (size_t)m->grid->rows, 1);
    if (!sides) return NULL;
    if (!m->laid) memset(sides, LEFT | RIGHT | BELOW | ABOVE, columns * (size_t)m->grid->rows);
    for (size_t i = 0; m->laid && i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        for (int r = b->row; r < b->row + b->rows; r++)
            for (int c = b->column; c < b->column + b->columns; c++) {
                const int top = solid_top(&m->solid, c, r) - 1;
                if (top < b->tier || top >= b->tier + b->tiers) continue;
                int s = 0;
                if (c == b->column) s |= LEFT;
                if (c == b->column + b->columns - 1) s |= RIGHT;
                if (r == b->row) s |= BELOW;
                if (r == b->row + b->rows - 1) s |= ABOVE;
                sides[(size_t)r * columns + (size_t)c] = (uint8_t)s;
            }
    }
    return sides;
}

static void preview_scale(const Mural *m, int across, int *width_out, int *height_out)
{
    const int most = m->grid->columns > m->grid->rows ? m->grid->columns : m->grid->rows;
    int width = PREVIEW_ACROSS / most;
    if (width < PREVIEW_LEAST) width = PREVIEW_LEAST;
    if (width > PREVIEW_CELL) width = PREVIEW_CELL;
    while (width > 1 && (long)width * most > PREVIEW_MOST) width--;
    while (width > 1 && across && width * m->grid->columns > across) width--;
    const int height = (int)lround(width * m->cell_height_mm / m->cell_width_mm);
    *width_out = width;
    *height_out = height < 1 ? 1 : height;
}

typedef struct Preview {
    Tiles tiles;
    uint8_t *sides; /* see face_sides */
    uint8_t *line;  /* a row of pixels */
} Preview;

static Status interrupted(Fault *fault)
{
    return fault_set(fault, STATUS_INTERRUPTED, "plan: interrupted; run it again");
}

static Status preview_rows(const Mural *m, Preview *p, Paint *paint, const Voice *voice,
                           Fault *fault)
{
    Tiles *t = &p->tiles;
    const size_t columns = (size_t)m->grid->columns, bytes = (size_t)t->width * 3;
    for (int row = m->grid->rows - 1; row >= 0; row--) {
        const uint8_t *colour = m->grid->colour + (size_t)row * columns;
        const uint8_t *side = p->sides + (size_t)row * columns;
        for (int y = 0; y < t->height; y++) {
            for (size_t c = 0; c < columns; c++)
                memcpy(p->line + c * bytes, tile(t, colour[c], side[c]) + (size_t)y * bytes, bytes);
            const Status status = paint_row(paint, p->line, fault);
            if (status) return status;
        }
        if (voice_stopped(voice)) return interrupted(fault);
        voice_progress(voice, "preview", 1 - (double)row / m->grid->rows);
    }
    return STATUS_OK;
}

Status face_pictures_preview(const Mural *m, const PaintPlace *place, const Voice *voice,
                             Fault *fault)
{
    int width, height;
    preview_scale(m, place->across, &width, &height);
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    options.width = m->grid->columns * width;
    options.height = m->grid->rows * height;
    options.threads = m->threads;
    const size_t across = (size_t)options.width;
    Preview preview = {.sides = face_sides(m), .line = memory_create(across, 3)};
    Paint *paint = NULL;
    Status status = preview.sides && preview.line ? STATUS_OK : memory_fault(fault, across, 3);
    if (!status) status = tiles_init(&preview.tiles, m, width, height, fault);
    if (!status) status = paint_create(&paint, place, &options, fault);
    if (!status) status = preview_rows(m, &preview, paint, voice, fault);
    if (!status) {
        status = paint_finish(paint, fault);
        paint = NULL;
    }
    paint_free(paint);
    tiles_clear(&preview.tiles);
    memory_free(preview.sides);
    memory_free(preview.line);
    return status;
}

/* ---- pictures whose pixels do not depend on each other, in bands ---- */

/* An sRGB picture while its rows, the top one first, are filled in. */
typedef struct Canvas {
    int width, height;
    uint8_t *rgb;
    Srgb8 screen;
} Canvas;

static Status canvas_init(Canvas *canvas, Fault *fault)
{
    const size_t pixels = (size_t)canvas->width * (size_t)canvas->height;
    canvas->rgb = memory_create(pixels, 3);
    if (!canvas->rgb) return memory_fault(fault, pixels, 3);
    srgb8_init(&canvas->screen);
    return STATUS_OK;
}

static uint8_t *canvas_row(const Canvas *canvas, int y)
{
    return canvas->rgb + (size_t)y * (size_t)canvas->width * 3;
}

/* ---- as seen from where people stand ---- */

enum { MOST_PIXELS = 6 }; /* of a cell's width: our choice */

/* Cells of the face, rows from the bottom. */
typedef struct FacePart {
    int column, row, columns, rows;
} FacePart;

/* A part of the face, across x down pixels a cell, before it is seen and after. */
typedef struct Distant {
    const Mural *mural;
    const uint8_t *sides;
    FacePart part;
    int across, down;
    double *factor; /* SIDES x down x across */
    Canvas canvas;
} Distant;

/* Mean brightness over part (i, j) of across x down of a cell, from its upper left, by sampling,
 * for each set of sides, of_sides apart; a joint is a 24th of a cell, as in the largest preview. */
static void mean_shades(const Distant *d, int i, int j, double *to, size_t of_sides)
{
    enum { POINTS = 12 };
    const bool plaque = d->mural->solid.build == BUILD_PLAQUE;
    double sum[SIDES] = {0};
    for (int point = 0; point < POINTS * POINTS; point++) {
        const double x = (i + (point % POINTS + 0.5) / POINTS) / d->across;
        const double y = (j + (point / POINTS + 0.5) / POINTS) / d->down;
        const double knob = plaque ? knob_shade(x, y) : 1;
        for (int s = 0; s < SIDES; s++) sum[s] += joint_shade(s, x, y, 1.0 / PREVIEW_CELL, knob);
    }
    for (int s = 0; s < SIDES; s++) to[(size_t)s * of_sides] = sum[s] / (POINTS * POINTS);
}

/* In linear light. */
static const float *give_face_row(void *context, int y, float *line)
{
    const Distant *d = context;
    const Grid *g = d->mural->grid;
    const size_t part = (size_t)d->across, of_sides = part * (size_t)d->down;
    const size_t first =
        (size_t)(d->part.row + y / d->down) * (size_t)g->columns + (size_t)d->part.column;
    float *to = line;
    for (size_t cell = first; cell < first + (size_t)d->part.columns; cell++) {
        const Xyz *xyz = &d->mural->palette->colour[g->colour[cell]].xyz;
        const double *factor = d->factor + d->sides[cell] * of_sides + (size_t)(y % d->down) * part;
        for (int i = 0; i < d->across; i++, to += 3) {
            to[0] = (float)(factor[i] * xyz->x);
            to[1] = (float)(factor[i] * xyz->y);
            to[2] = (float)(factor[i] * xyz->z);
        }
    }
    return line;
}

static void take_seen_row(void *context, int y, const float *xyz)
{
    const Distant *d = context;
    const Canvas *to = &d->canvas;
    uint8_t *out = canvas_row(to, to->height - 1 - y);
    for (int x = 0; x < to->width; x++, xyz += 3, out += 3) {
        const Xyz seen = {(double)xyz[0], (double)xyz[1], (double)xyz[2]};
        srgb8_look_up(&to->screen, linear_into_gamut(linear_from_xyz(seen)), out);
    }
}

static Status find_factors(Distant *d, Fault *fault)
{
    const size_t part = (size_t)d->down * (size_t)d->across;
    double *to = d->factor = memory_create(SIDES * part, sizeof *d->factor);
    if (!to) return memory_fault(fault, SIDES * part, sizeof *d->factor);
    for (int j = 0; j < d->down; j++)
        for (int i = 0; i < d->across; i++) mean_shades(d, i, d->down - 1 - j, to++, part);
    return STATUS_OK;
}

/* Pixels of a cell's width, so that this many cells are about `most` pixels. */
static int pixels_across(int cells, int most)
{
    const int across = most / cells;
    return across < 1 ? 1 : across > MOST_PIXELS ? MOST_PIXELS : across;
}

static int pixels_down(const Mural *m, int across)
{
    return (int)fmax(1, round(across * m->cell_height_mm / m->cell_width_mm));
}

/* A part of the face from a distance, 0 for close by. The caller frees the canvas's pixels, also
 * after a fault. */
static Status draw_part(const Mural *m, double distance, const FacePart *part, int across,
                        const Voice *voice, Canvas *canvas_out, Fault *fault)
{
    const Grid *g = m->grid;
    const int down = pixels_down(m, across);
    const Viewpoint viewpoint = {m->cell_width_mm / across, m->cell_height_mm / down, distance};
    uint8_t *sides = face_sides(m);
    if (!sides) return memory_fault(fault, (size_t)g->columns, (size_t)g->rows);
    Distant d = {.mural = m,
                 .sides = sides,
                 .part = *part,
                 .across = across,
                 .down = down,
                 .canvas = {.width = part->columns * across, .height = part->rows * down}};
    const EyeRows rows = {&d, give_face_row, take_seen_row, voice};
    Status status = find_factors(&d, fault);
    if (!status) status = canvas_init(&d.canvas, fault);
    if (!status)
        status =
            eye_view_rows(&rows, d.canvas.width, d.canvas.height, &viewpoint, m->threads, fault);
    memory_free(d.factor);
    memory_free(sides);
    *canvas_out = d.canvas;
    return status;
}

/* All of it, about `most` pixels along its longer side. */
static Status draw_seen(const Mural *m, double distance, int most, const Voice *voice,
                        Canvas *canvas_out, Fault *fault)
{
    const FacePart whole = {0, 0, m->grid->columns, m->grid->rows};
    const int longer = whole.columns > whole.rows ? whole.columns : whole.rows;
    return draw_part(m, distance, &whole, pixels_across(longer, most), voice, canvas_out, fault);
}

static Status write_canvas(const Canvas *canvas, int threads, const char *path, const Voice *voice,
                           Fault *fault)
{
    Paint *paint;
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    options.width = canvas->width;
    options.height = canvas->height;
    options.threads = threads;
    const PaintPlace place = paint_file(path);
    Status status = paint_create(&paint, &place, &options, fault);
    for (int y = 0; !status && y < canvas->height; y++)
        status = voice_stopped(voice) ? interrupted(fault)
                                      : paint_row(paint, canvas_row(canvas, y), fault);
    if (!status) return paint_finish(paint, fault);
    paint_free(paint);
    return status;
}

Status face_pictures_distance(const Mural *m, const char *path, const Voice *voice, Fault *fault)
{
    Canvas canvas = {0};
    Status status = draw_seen(m, m->job->distance, DISTANCE_ACROSS, voice, &canvas, fault);
    if (!status) status = write_canvas(&canvas, m->threads, path, voice, fault);
    memory_free(canvas.rgb);
    return status;
}

/* ---- the proof ---- */

/* Mean light of the pixels under one of a smaller canvas. */
static void shrunk_pixel(const Canvas *from, const Canvas *to, const double light[256], int x,
                         int y, uint8_t *out)
{
    const double across = (double)from->width / to->width, down = (double)from->height / to->height;
    const int left = (int)(x * across), top = (int)(y * down);
    const int right = (int)fmin(from->width, ceil((x + 1) * across));
    const int bottom = (int)fmin(from->height, ceil((y + 1) * down));
    double sum[3] = {0, 0, 0};
    for (int r = top; r < bottom; r++)
        for (int c = left; c < right; c++)
            for (int k = 0; k < 3; k++) sum[k] += light[canvas_row(from, r)[3 * c + k]];
    const double n = (double)(right - left) * (bottom - top);
    srgb8_look_up(&from->screen, (Rgb){sum[0] / n, sum[1] / n, sum[2] / n}, out);
}

/* Puts a canvas into a part of another, of at most its size. */
static void put_shrunk(const Canvas *from, const Canvas *to, int left, int top, const Canvas *part,
                       const Voice *voice)
{
    const bool as_it_is = from->width == part->width && from->height == part->height;
    for (int y = 0; as_it_is && y < part->height; y++)
        memcpy(canvas_row(to, top + y) + 3 * left, canvas_row(from, y), 3 * (size_t)part->width);
    if (as_it_is) return;
    double light[256];
    for (int i = 0; i < 256; i++) light[i] = srgb_decode(i / 255.0);
    for (int y = 0; y < part->height && !voice_stopped(voice); y++)
        for (int x = 0; x < part->width; x++)
            shrunk_pixel(from, part, light, x, y, canvas_row(to, top + y) + 3 * (left + x));
}

/* How large each of the proof's two pictures is, from what was drawn. */
static Canvas proof_part(const Mural *m, const Canvas *drawn)
{
    const double aspect = mural_height_mm(m) / mural_width_mm(m);
    const double width = fmin(drawn->width, PROOF_MOST / fmax(1, aspect));
    return (Canvas){.width = (int)fmax(1, floor(width)),
                    .height = (int)fmin(drawn->height, fmax(1, floor(width * aspect + 0.5)))};
}

static Status put_proof(const Mural *m, const Canvas seen[2], const char *path, const Voice *voice,
                        Fault *fault)
{
    const Canvas part = proof_part(m, &seen[0]);
    const bool beside = part.height > part.width;
    const int right = beside ? part.width + PROOF_GAP : 0,
              down = beside ? 0 : part.height + PROOF_GAP;
    Canvas proof = {.width = right + part.width, .height = down + part.height};
    Status status = canvas_init(&proof, fault);
    if (!status) {
        memset(proof.rgb, 255, (size_t)proof.width * (size_t)proof.height * 3);
        put_shrunk(&seen[0], &proof, 0, 0, &part, voice);
        put_shrunk(&seen[1], &proof, right, down, &part, voice);
        status = jpeg_write(path, proof.width, proof.height, proof.rgb, PROOF_QUALITY, fault);
    }
    memory_free(proof.rgb);
    return status;
}

Status face_pictures_proof(const Mural *m, const char *path, const Voice *voice, Fault *fault)
{
    Canvas seen[2] = {{0}, {0}};
    Status status = draw_seen(m, m->job->distance, PROOF_MOST, voice, &seen[0], fault);
    if (!status) status = draw_seen(m, 0, PROOF_MOST, voice, &seen[1], fault);
    if (!status) status = put_proof(m, seen, path, voice, fault);
    memory_free(seen[0].rgb);
    memory_free(seen[1].rgb);
    return status;
}

/* ---- pictures in memory ---- */

Status face_picture_far(FacePicture *picture_out, const Mural *m, int most, const Voice *voice,
                        Fault *fault)
{
    Canvas canvas = {0};
    const Status status = draw_seen(m, m->job->distance, most, voice, &canvas, fault);
    if (status)
        memory_free(canvas.rgb);
    else
        *picture_out = (FacePicture){canvas.width, canvas.height, canvas.rgb};
    return status;
}

/* The middle of a canvas. */
static Status cut_out(FacePicture *picture_out, const Canvas *from, int width, int height,
                      Fault *fault)
{
    const int left = (from->width - width) / 2, top = (from->height - height) / 2;
    const size_t row = 3 * (size_t)width;
    uint8_t *rgb = memory_create((size_t)height, row);
    if (!rgb) return memory_fault(fault, (size_t)height, row);
    for (int y = 0; y < height; y++)
        memcpy(rgb + (size_t)y * row, canvas_row(from, top + y) + 3 * left, row);
    *picture_out = (FacePicture){width, height, rgb};
    return STATUS_OK;
}

/* As many cells in the middle of so many as fill the pixels, of the same parity, so that their
 * middle is that of all. */
static int middle_cells(int cells, double pixels, int each)
{
    const int least = (int)ceil(pixels / each);
    const int even = least + ((cells - least) & 1);
    return even < cells ? even : cells;
}

Status face_picture_near(FacePicture *picture_out, const Mural *m, int cells, double aspect,
                         const Voice *voice, Fault *fault)
{
    const Grid *g = m->grid;
    const int across = MOST_PIXELS, down = pixels_down(m, across);
    double width = fmin(g->columns, cells) * across;
    width = fmin(width, g->rows * down / aspect);
    const double height = fmin(g->rows * down, width * aspect);
    FacePart part = {.columns = middle_cells(g->columns, width, across),
                     .rows = middle_cells(g->rows, height, down)};
    part.column = (g->columns - part.columns) / 2;
    part.row = (g->rows - part.rows) / 2;
    Canvas canvas = {0};
    Status status = draw_part(m, 0, &part, across, voice, &canvas, fault);
    if (!status)
        status = cut_out(picture_out, &canvas, (int)fmax(1, width), (int)fmax(1, height), fault);
    memory_free(canvas.rgb);
    return status;
}
