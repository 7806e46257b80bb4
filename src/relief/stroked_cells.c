/* Lengths are in cells, so that the same strokes give the same outlines at any number of pixels a
 * cell, but for what is too fine for these. */
#include "relief/stroked_cells.h"

#include "base/memory.h"

#define COLOUR_BLUR 0.25   /* cells: sigma of what the picture is blurred by */
#define GIVE_UP_AFTER 4.5  /* cells: length of the walker's way */
#define OUTLINE_BLUR 0.375 /* cells: sigma of what the labels are blurred by */

Status stroked_cells_init(StrokedCells *s, const Image *image, const LayerPicture *drawn,
                          Fault *fault)
{
    s->per = image->columns / s->columns;
    const Status status =
        lab_pixels_init(&s->pixels, image, COLOUR_BLUR * s->per, s->threads, fault);
    if (status) return status;
    s->stroke = memory_create(lab_pixels_count(&s->pixels), 1);
    if (!s->stroke) return memory_fault(fault, lab_pixels_count(&s->pixels), 1);
    layer_picture_strokes(drawn, image->columns, image->rows, s->stroke);
    return STATUS_OK;
}

Status stroked_cells_find(StrokedCells *s, int labels, const Voice *voice, Fault *fault)
{
    const StrokedPixels stroked = {&s->pixels, s->stroke, labels, s->threads};
    OutlineOptions options = OUTLINE_OPTIONS_DEFAULT;
    options.walker.length = GIVE_UP_AFTER * s->per;
    options.smooth = OUTLINE_BLUR * s->per;
    return outline_find(&options, &stroked, &s->outline, voice, fault);
}

Status stroked_cells_label(const StrokedCells *s, int labels, uint8_t *label, Fault *fault)
{
    const size_t plane = (size_t)labels * (size_t)s->columns * (size_t)s->rows;
    const int wide = s->pixels.columns, high = s->pixels.rows;
    float *share = memory_create(plane, sizeof *share),
          *drawn = memory_create(plane, sizeof *drawn);
    Status status = share && drawn ? STATUS_OK : memory_fault(fault, plane, sizeof *share);
    const CellShares shares = {labels, s->columns, s->rows, s->threads, share, drawn};
    LabelPicture picture = {wide, high, s->outline.label, 0, 0, wide, high};
    if (!status) cell_shares(&picture, labels, s->columns, s->rows, s->threads, share);
    picture.label = s->stroke;
    if (!status) cell_shares(&picture, labels, s->columns, s->rows, s->threads, drawn);
    if (!status) status = cell_labels(&CELL_LABELS_OF_STROKES, &shares, label, fault);
    memory_free(share);
    memory_free(drawn);
    return status;
}

void stroked_cells_clear(StrokedCells *s)
{
    outline_clear(&s->outline);
    lab_pixels_clear(&s->pixels);
    memory_free(s->stroke);
    *s = (StrokedCells){0};
}
