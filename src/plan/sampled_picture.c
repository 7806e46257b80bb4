/* The picture is decoded once, row by row, and only its cells are kept. */
#include "plan/sampled_picture.h"

#include "base/text.h"
#include "picture/picture.h"
#include "picture/sample.h"
#include "plan/frame.h"

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
    if (!status)
        status = sample_image(picture_source(file),
                              &(Sampling){frame->crop, frame->columns, frame->rows, brief->threads},
                              &picture_out->image, brief->voice, fault);
    if (!status) status = picture_finish(file, &facts, fault);
    picture_close(file);
    if (!status) status = check_same(brief, &facts, frame, fault);
    if (!status) tell_reference(&picture_out->reference, job->reference, &facts);
    return status;
}

void sampled_picture_clear(SampledPicture *picture) { image_clear(&picture->image); }
