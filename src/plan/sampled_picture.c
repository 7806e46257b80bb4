/* The picture is decoded once, row by row, and only its cells are kept; where outlines are sought
 * in it, at some pixels a cell, from which then the cells are averaged. */
#include "plan/sampled_picture.h"

#include "base/text.h"
#include "picture/picture.h"
#include "picture/sample.h"
#include "plan/frame.h"
#include "relief/subject.h"

#include <stdio.h>
#include <string.h>

/* The file's name without its folder, as plan.json tells it. */
static void tell_reference(Reference *r, const char *path, const PictureFacts *facts)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    text_tame(r->file, sizeof r->file, name, strlen(name));
    snprintf(r->sha256, sizeof r->sha256, "%s", facts->sha256);
    snprintf(r->profile, sizeof r->profile, "%s", facts->profile);
    r->width = facts->width;
    r->height = facts->height;
}

/* What stands was planned from one picture, in one size. */
static Status check_same(const Brief *brief, const PictureFacts *facts, const DepthFrame *frame,
                         Fault *fault)
{
    const EarlierPlan *earlier = brief_earlier(brief);
    if (earlier && strcmp(earlier->sha256, facts->sha256) != 0)
        return fault_set(fault, STATUS_DATA,
                         "%s: not the picture that %s was planned from; give that one",
                         text_place(brief->job->reference), earlier->folder);
    if (earlier && (earlier->grid.columns != frame->columns || earlier->grid.rows != frame->rows))
        return fault_set(fault, STATUS_DATA,
                         "%s: %d x %d cells stand in plan.json, its settings make %d x %d; restore "
                         "the plan from a copy",
                         earlier->folder, earlier->grid.columns, earlier->grid.rows, frame->columns,
                         frame->rows);
    return STATUS_OK;
}

/* The cells of a finer image; each is the mean of its pixels. */
static Status average_cells(const Image *fine, int per, Image *image, Fault *fault)
{
    const Status status = image_init(image, fine->columns / per, fine->rows / per, fault);
    if (status) return status;
    for (int row = 0; row < image->rows; row++)
        for (int column = 0; column < image->columns; column++) {
            double sum[3] = {0};
            for (int i = 0; i < per * per; i++) {
                const Xyz xyz = image_at(fine, column * per + i % per, row * per + i / per);
                sum[0] += xyz.x;
                sum[1] += xyz.y;
                sum[2] += xyz.z;
            }
            float *out = image->xyz + 3 * ((size_t)row * (size_t)image->columns + (size_t)column);
            for (int k = 0; k < 3; k++) out[k] = (float)(sum[k] / (per * per));
        }
    return STATUS_OK;
}

static Status sample_cells(SampledPicture *p, const Brief *brief, Source *source, Fault *fault)
{
    const DepthFrame *f = &p->frame;
    const bool stroked = job_stroked(brief->job) && !brief->standing;
    const int per = stroked ? subject_pixels_a_cell(f->columns, f->rows) : 1;
    const Sampling sampling = {f->crop, per * f->columns, per * f->rows, brief->threads};
    if (!stroked) return sample_image(source, &sampling, &p->image, brief->voice, fault);
    const Status status = sample_image(source, &sampling, &p->fine, brief->voice, fault);
    return status ? status : average_cells(&p->fine, per, &p->image, fault);
}

Status sampled_picture_init(SampledPicture *picture_out, const Brief *brief, const Grid *own,
                            Fault *fault)
{
    const Job *job = brief->job;
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    PictureFacts facts;
    Picture *file = NULL;
    DepthFrame *frame = &picture_out->frame;
    *picture_out = (SampledPicture){0};
    options.limit_pixels = job->limit * 1e6;
    Status status = job_ground(job, options.ground, fault);
    if (!status) status = picture_open(&file, job->reference, &options, brief->voice, fault);
    if (!status) status = frame_fit(frame, brief, own, picture_source(file), fault);
    if (!status) status = sample_cells(picture_out, brief, picture_source(file), fault);
    if (!status) status = picture_finish(file, &facts, fault);
    picture_close(file);
    if (!status) status = check_same(brief, &facts, frame, fault);
    if (!status) tell_reference(&picture_out->reference, job->reference, &facts);
    return status;
}

void sampled_picture_clear(SampledPicture *picture)
{
    image_clear(&picture->image);
    image_clear(&picture->fine);
}
