/* Steps follow the edges of the bricks' colours. Where these were mixed or searched for, lone
 * cells are no edges of what is shown; then steps follow the edges of the picture. */
#include "plan/raise.h"

#include "base/memory.h"
#include "relief/depth.h"

#include <string.h>

static Status steps_create(uint8_t **steps_out, size_t cells, Fault *fault)
{
    *steps_out = memory_create(cells, 1);
    return *steps_out ? STATUS_OK : memory_fault(fault, cells, 1);
}

static Status copy_standing(uint8_t **steps_out, const Grid *from, Fault *fault)
{
    if (!from->steps) return STATUS_OK;
    const Status status = steps_create(steps_out, grid_cells(from), fault);
    if (!status) memcpy(*steps_out, from->steps, grid_cells(from));
    return status;
}

static Status raise_along_edges(Raised *raised, const Brief *brief, const SampledPicture *picture,
                                const Palette *palette, const Grid *face, Fault *fault)
{
    Image bricks = {0};
    const Job *job = brief->job;
    const bool plain = *job->cells || job->dither == DITHER_NONE;
    Status status = plain ? eye_face(palette, face, &bricks, fault) : STATUS_OK;
    const SubjectInput input = {.depth = {.frame = &picture->frame,
                                          .picture = &picture->image,
                                          .guide = plain ? &bricks : &picture->image,
                                          .threads = brief->threads},
                                .fine = &picture->fine};
    if (!status && job_layered(job) && !*job->steps_map)
        status = subject_init(&raised->subject, job, &input, raised->steps, brief->voice, fault);
    else if (!status)
        status = depth_steps(job, &input.depth, raised->steps, brief->voice, fault);
    image_clear(&bricks);
    return status;
}

Status raised_init(Raised *raised, const Brief *brief, const SampledPicture *picture,
                   const Palette *palette, const Grid *face, Fault *fault)
{
    bool wanted;
    *raised = (Raised){0};
    if (brief->standing)
        return copy_standing(&raised->steps, &brief->standing->earlier->grid, fault);
    Status status = depth_wanted(brief->job, &wanted, fault);
    if (status || !wanted) return status;
    status = steps_create(&raised->steps, grid_cells(face), fault);
    return status ? status : raise_along_edges(raised, brief, picture, palette, face, fault);
}

void raised_clear(Raised *raised)
{
    memory_free(raised->steps);
    subject_clear(&raised->subject);
    *raised = (Raised){0};
}
