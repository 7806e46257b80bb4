/* A cell is a whole number of pixels wide and about as high as it is in the mural, so that edges
 * stay sharp; what is seen from a distance is drawn like that first and then blurred. */
#include "output/views.h"

#include "base/memory.h"
#include "eye/eye.h"
#include "output/paint.h"

#include <math.h>

/* More pixels a cell show no more through the eye; our choice, as of distance.png. */
enum { SEEN_CELL = 6 };

/* A picture while it is painted. */
typedef struct View {
    int across, down; /* pixels a cell */
    int width, height;
    uint8_t *rgb; /* a row */
    Srgb8 screen;
    Paint *paint;
} View;

static void view_scale(View *view, const Image *image, const ViewSize *size, int most)
{
    const int fit = size->pixels / image->columns;
    const double aspect = size->cell_height_mm / size->cell_width_mm;
    view->across = fit < 1 ? 1 : fit > most ? most : fit;
    view->down = size->pixels ? (int)fmax(1, round(view->across * aspect)) : 1;
    view->width = image->columns * view->across;
    view->height = image->rows * view->down;
}

static Status view_begin(View *view, const ViewSize *size, MemoryFile *png_out, Fault *fault)
{
    PaintOptions options = PAINT_OPTIONS_DEFAULT;
    options.width = view->width;
    options.height = view->height;
    options.threads = size->threads;
    srgb8_init(&view->screen);
    view->rgb = memory_create((size_t)view->width, 3);
    if (!view->rgb) return memory_fault(fault, (size_t)view->width, 3);
    return paint_create(&view->paint, &(PaintPlace){"view", png_out, 0}, &options, fault);
}

static Status view_end(View *view, Status status, Fault *fault)
{
    if (!status)
        status = paint_finish(view->paint, fault);
    else
        paint_free(view->paint);
    memory_free(view->rgb);
    return status;
}

/* A row of the picture from a row of an image, each of whose pixels is drawn `across` wide. */
static void fill_row(View *view, const Image *image, int row, int across)
{
    uint8_t *out = view->rgb;
    for (int column = 0; column < image->columns; column++) {
        uint8_t rgb[3];
        srgb8_look_up(&view->screen,
                      linear_into_gamut(linear_from_xyz(image_at(image, column, row))), rgb);
        for (int i = 0; i < across; i++)
            for (int k = 0; k < 3; k++) *out++ = rgb[k];
    }
}

Status view_image(const Image *image, const ViewSize *size, MemoryFile *png_out, Fault *fault)
{
    View view = {0};
    view_scale(&view, image, size, size->pixels);
    Status status = view_begin(&view, size, png_out, fault);
    for (int row = image->rows - 1; !status && row >= 0; row--) {
        fill_row(&view, image, row, view.across);
        for (int y = 0; !status && y < view.down; y++)
            status = paint_row(view.paint, view.rgb, fault);
    }
    return view_end(&view, status, fault);
}

/* ---- through the eye ---- */

typedef struct Seen {
    const Image *image; /* of cells */
    const View *view;
    Image out; /* of pixels */
} Seen;

static const float *give_row(void *context, int y, float *line)
{
    const Seen *s = context;
    const size_t columns = (size_t)s->image->columns;
    const float *from = s->image->xyz + 3 * columns * (size_t)(y / s->view->down);
    float *to = line;
    for (size_t column = 0; column < columns; column++, from += 3)
        for (int i = 0; i < s->view->across; i++)
            for (int k = 0; k < 3; k++) *to++ = from[k];
    return line;
}

static void take_row(void *context, int y, const float *xyz)
{
    Seen *s = context;
    const size_t row = 3 * (size_t)s->out.columns;
    for (size_t i = 0; i < row; i++) s->out.xyz[(size_t)y * row + i] = xyz[i];
}

Status view_image_seen(const Image *image, double distance_mm, const ViewSize *size,
                       MemoryFile *png_out, Fault *fault)
{
    View view = {0};
    view_scale(&view, image, size, SEEN_CELL);
    Seen seen = {.image = image, .view = &view};
    const EyeRows rows = {&seen, give_row, take_row, NULL};
    const Viewpoint viewpoint = {size->cell_width_mm / view.across,
                                 size->cell_height_mm / view.down, distance_mm};
    Status status = image_init(&seen.out, view.width, view.height, fault);
    if (!status)
        status = eye_view_rows(&rows, view.width, view.height, &viewpoint, size->threads, fault);
    if (!status) status = view_begin(&view, size, png_out, fault);
    for (int row = view.height - 1; !status && row >= 0; row--) {
        fill_row(&view, &seen.out, row, 1);
        status = paint_row(view.paint, view.rgb, fault);
    }
    image_clear(&seen.out);
    return view_end(&view, status, fault);
}
