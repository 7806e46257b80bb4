/* Cells of the user's own are read before the picture, since they tell the mural's size. Of a
 * mural under way they may be those that the earlier plan was made with. */
#include "plan/own_cells.h"

#include "output/cells_png.h"
#include "plan/frame.h"

#include <math.h>
#include <string.h>

static Status copy_earlier(Grid *own, const Grid *from, Fault *fault)
{
    const Status status = grid_init(own, from->columns, from->rows, false, fault);
    if (!status) memcpy(own->colour, from->colour, grid_cells(from));
    return status;
}

Status own_cells_init(Grid *own_out, const Brief *brief, const Palette *palette, Fault *fault)
{
    const Job *job = brief->job;
    *own_out = (Grid){0};
    if (!*job->cells) return STATUS_OK;
    if (brief->standing && brief->standing->cells_kept)
        return copy_earlier(own_out, &brief->standing->earlier->grid, fault);
    return cells_png_read(own_out, job->cells, palette, (int)fmin(frame_columns(brief), GRID_MOST),
                          (int)fmin(frame_rows(brief), GRID_MOST), fault);
}
