/* The picture is decoded row by row, and only its cells are kept, unless it is held; where outlines
 * are sought in it, at some pixels a cell, from which then the cells are averaged. */
#include "plan/sampled_picture.h"

#include "base/text.h"
#include "picture/picture.h"
#include "picture/sample.h"
#include "plan/cost.h"
#include "plan/frame.h"
#include "relief/subject.h"

#include <math.h>
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

typedef struct Cells {
    SampledPicture *picture;
    const Grid *own;
} Cells;

static Status take_cells(void *self, const Brief *brief, Source *source, Fault *fault)
{
    const Cells *cells = self;
    const DepthFrame *frame = &cells->picture->frame;
    Status status = frame_fit(&cells->picture->frame, brief, cells->own, source, fault);
    if (!status) status = cost_check(brief, frame->columns, frame->rows, fault);
    return status ? status : sample_cells(cells->picture, brief, source, fault);
}

static Status picture_options(PictureOptions *options_out, const Job *job, Fault *fault)
{
    *options_out = PICTURE_OPTIONS_DEFAULT;
    options_out->limit_pixels = job->limit * 1e6;
    options_out->limit_bytes = job_memory(job);
    return job_ground(job, options_out->ground, fault);
}

/* What is made of the reference's pixels, wherever they come from. */
typedef Status TakePixels(void *self, const Brief *brief, Source *source, Fault *fault);

/* The picture as the job turns it. */
static Source turned(Source source, const Job *job)
{
    source.orientation = orientation_turned(source.orientation, job->turn, job->mirror);
    return source;
}

/* Its size is told as it is shown. */
static void turn_facts(PictureFacts *facts, const Job *job)
{
    const long width = facts->width;
    if (job->turn % 2 == 0) return;
    facts->width = facts->height;
    facts->height = width;
}

/* From memory where it is held, else from its file. */
static Status with_pixels(const HeldPicture *held, const Brief *brief, TakePixels *take, void *self,
                          PictureFacts *facts_out, Fault *fault)
{
    PictureOptions options;
    Picture *file = NULL;
    if (held && held->picture) {
        Source source = turned(held_picture_source(held), brief->job);
        *facts_out = held->facts;
        turn_facts(facts_out, brief->job);
        return take(self, brief, &source, fault);
    }
    Status status = picture_options(&options, brief->job, fault);
    if (!status) status = picture_open(&file, brief->job->reference, &options, brief->voice, fault);
    if (!status) {
        Source source = turned(*picture_source(file), brief->job);
        status = take(self, brief, &source, fault);
    }
    if (!status) status = picture_finish(file, facts_out, fault);
    if (!status) turn_facts(facts_out, brief->job);
    picture_close(file);
    return status;
}

Status sampled_picture_hold(HeldPicture *held_out, const Brief *brief, size_t most_bytes,
                            Fault *fault)
{
    PictureOptions options;
    *held_out = (HeldPicture){0};
    const Status status = picture_options(&options, brief->job, fault);
    return status ? status
                  : held_picture_init(held_out, brief->job->reference, &options, most_bytes,
                                      brief->voice, fault);
}

Status sampled_picture_init(SampledPicture *picture_out, const Brief *brief,
                            const HeldPicture *held, const Grid *own, Fault *fault)
{
    PictureFacts facts;
    Cells cells = {picture_out, own};
    *picture_out = (SampledPicture){0};
    Status status = with_pixels(held, brief, take_cells, &cells, &facts, fault);
    if (!status) status = check_same(brief, &facts, &picture_out->frame, fault);
    if (!status) tell_reference(&picture_out->reference, brief->job->reference, &facts);
    return status;
}

typedef struct Whole {
    Image *image;
    int across;
} Whole;

static Status take_whole(void *self, const Brief *brief, Source *source, Fault *fault)
{
    const Whole *whole = self;
    const Crop all = crop_all(source);
    const double across = fmin(whole->across, all.width);
    const double down = fmax(1, floor(across * all.height / all.width + 0.5));
    const Sampling sampling = {all, (int)across, (int)fmin(down, GRID_MOST), brief->threads};
    return sample_image(source, &sampling, whole->image, brief->voice, fault);
}

Status sampled_picture_whole(Image *image_out, const Brief *brief, const HeldPicture *held,
                             int across, Fault *fault)
{
    PictureFacts facts;
    Whole whole = {image_out, across < 1 ? 1 : across > GRID_MOST ? GRID_MOST : across};
    *image_out = (Image){0};
    return with_pixels(held, brief, take_whole, &whole, &facts, fault);
}

void sampled_picture_clear(SampledPicture *picture)
{
    image_clear(&picture->image);
    image_clear(&picture->fine);
}
