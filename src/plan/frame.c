/* Where the job gives one side of the mural, the other follows from the picture's aspect, so
 * that nothing is cut off; where it gives both, the middle of the picture that has their
 * aspect is shown. Sides are whole cells, the nearest. */
#include "plan/frame.h"

#include <math.h>

static double whole_cells(double length, double cell) { return floor(length / cell + 0.5); }

double frame_columns(const Brief *brief)
{
    const Job *job = brief->job;
    return job->width > 0 ? fmax(1, whole_cells(job->width, brief_cell_width(brief)))
                          : job->columns;
}

double frame_rows(const Brief *brief)
{
    const Job *job = brief->job;
    return job->height > 0 ? fmax(1, whole_cells(job->height, brief_cell_height(brief)))
                           : job->rows;
}

/* The part that the user cut out, or the whole. */
static Status find_cut(Crop *cut_out, const Job *job, const Source *source, Fault *fault)
{
    long cut[4];
    const Status status = job_crop(job, cut, fault);
    *cut_out = crop_all(source);
    if (status || !cut[2]) return status;
    const Crop asked = {(double)cut[0], (double)cut[1], (double)cut[2], (double)cut[3]};
    if (asked.x + asked.width > cut_out->width || asked.y + asked.height > cut_out->height)
        return fault_set(fault, STATUS_USAGE,
                         "--crop: %s reaches outside the picture of %.0f x %.0f; crop less",
                         job->crop, cut_out->width, cut_out->height);
    *cut_out = asked;
    return STATUS_OK;
}

/* The user's own cells, of this plan or of the earlier one; NULL: there are none. */
static const Grid *sized_cells(const Brief *brief, const Grid *own)
{
    const EarlierPlan *earlier = brief_earlier(brief);
    if (own->colour) return own;
    return earlier && *earlier->job.cells ? &earlier->grid : NULL;
}

/* Sets columns, rows and what they show of the cut. */
static Status divide(DepthFrame *frame, double columns, double rows, double cell_aspect,
                     Fault *fault)
{
    Crop *crop = &frame->crop;
    *crop = frame->cut;
    if (columns > 0 && rows > 0) {
        *crop = crop_central(*crop, columns / (rows * cell_aspect));
    } else if (columns > 0) {
        rows = fmax(1, whole_cells(columns * crop->height / crop->width, cell_aspect));
    } else {
        columns = fmax(1, whole_cells(rows * cell_aspect * crop->width / crop->height, 1));
    }
    if (!(columns <= GRID_MOST && rows <= GRID_MOST))
        return fault_set(fault, STATUS_USAGE,
                         "plan: %.0f x %.0f cells; choose a size of at most %d each way", columns,
                         rows, GRID_MOST);
    frame->columns = (int)columns;
    frame->rows = (int)rows;
    return STATUS_OK;
}

Status frame_fit(DepthFrame *frame_out, const Brief *brief, const Grid *own, const Source *source,
                 Fault *fault)
{
    const Crop all = crop_all(source);
    const Grid *sized = sized_cells(brief, own);
    *frame_out = (DepthFrame){.width = all.width, .height = all.height};
    const Status status = find_cut(&frame_out->cut, brief->job, source, fault);
    if (status) return status;
    return divide(frame_out, sized ? sized->columns : frame_columns(brief),
                  sized ? sized->rows : frame_rows(brief),
                  brief_cell_height(brief) / brief_cell_width(brief), fault);
}
