/* Bricks that stand keep their colours, also where the palette of today has them no more. So
 * the palette is that of today and, after it, what only these bricks have; every choice of
 * colours is among the first part, `offered`. */
#include "plan/studio.h"

#include "plan/shelf.h"

#include <string.h>

static Status take_palette(Studio *studio, const Brief *brief, Fault *fault)
{
    const BuiltPart *standing = brief->standing;
    const char *path = brief->job->palette;
    Status status = STATUS_OK;
    if (standing && standing->palette_kept)
        studio->palette = standing->earlier->palette;
    else if (*path)
        status = palette_read(&studio->palette, path, brief->voice, fault);
    else
        status = palette_default(&studio->palette, fault);
    if (status) return status;
    studio->offered = studio->palette;
    if (standing && standing->palette_kept) {
        studio->offered.count = standing->earlier->offered;
    } else if (standing) {
        built_part_note_values(standing, &studio->palette, brief->voice);
        status = built_part_add_colours(standing, &studio->palette, fault);
    }
    if (studio->offered.count < studio->palette.count)
        voice_note(brief->voice,
                   "palette: what stands has colours that are to be had no more, %d from %s on; "
                   "nothing else takes them",
                   studio->palette.count - studio->offered.count,
                   studio->palette.colour[studio->offered.count].id);
    return status;
}

static Status take_sizes(Studio *studio, const Brief *brief, Fault *fault)
{
    const Job *job = brief->job;
    if (*job->bricks)
        return sizes_read(&studio->sizes, job->bricks, job->pitch, job->brick_height, brief->voice,
                          fault);
    sizes_default(&studio->sizes, job->pitch, job->brick_height);
    return STATUS_OK;
}

static Status take_stock(Studio *studio, const Brief *brief, StockColours others, Fault *fault)
{
    const Job *job = brief->job;
    Status status = STATUS_OK;
    if (*job->stock)
        status = stock_read(&studio->stock, job->stock,
                            &(StockWords){&studio->palette, &studio->sizes, others}, brief->voice,
                            fault);
    else if (job->stock_only)
        status = fault_set(fault, STATUS_USAGE,
                           "--stock-only: there is no stock file; give one with --stock, or say "
                           "--stock-only=no");
    if (!status) shelf_units(&studio->stock, &studio->sizes, studio->units);
    return status;
}

static Status take_built(Studio *studio, const Brief *brief, Fault *fault)
{
    if (!brief->standing) return STATUS_OK;
    const Status status =
        built_part_bricks(brief->standing, &studio->palette, &studio->sizes, &studio->built, fault);
    if (!status) laid_sort(&studio->built, brief->job->build == BUILD_WALL);
    return status;
}

Status studio_init(Studio *studio_out, const Brief *brief, StockColours others, Fault *fault)
{
    *studio_out = (Studio){0};
    Status status = take_palette(studio_out, brief, fault);
    if (!status) status = take_sizes(studio_out, brief, fault);
    if (!status) status = take_stock(studio_out, brief, others, fault);
    return status ? status : take_built(studio_out, brief, fault);
}

void studio_clear(Studio *studio)
{
    laid_clear(&studio->built);
    stock_clear(&studio->stock);
}

Status studio_digest(const Studio *studio, char text_out[DIGEST_TEXT], Fault *fault)
{
    const Sizes *sizes = &studio->sizes;
    const int count[] = {studio->palette.count, studio->offered.count, sizes->count,
                         sizes->estimated};
    Digest *digest;
    const Status status = digest_create(&digest, fault);
    if (status) return status;
    digest_add(digest, count, sizeof count);
    for (int i = 0; i < studio->palette.count; i++) {
        const Colour *c = &studio->palette.colour[i];
        digest_add(digest, c->id, strlen(c->id) + 1);
        digest_add(digest, c->name, strlen(c->name) + 1);
        digest_add(digest, &c->lab, sizeof c->lab);
        digest_add(digest, &c->xyz, sizeof c->xyz);
        digest_add(digest, c->srgb, sizeof c->srgb);
    }
    for (int i = 0; i < sizes->count; i++) {
        const Size *s = &sizes->size[i];
        digest_add(digest, s->name, strlen(s->name) + 1);
        digest_add(digest, (const int[]){s->width, s->length}, 2 * sizeof(int));
        digest_add(digest, &s->mass_g, sizeof s->mass_g);
    }
    digest_add(digest, studio->built.brick, studio->built.count * sizeof *studio->built.brick);
    digest_text(digest, text_out);
    digest_free(digest);
    return STATUS_OK;
}

const double *brick_costs(const Job *job, const Sizes *sizes, double cost_out[SIZES_MOST])
{
    double sum = 0;
    for (int i = 0; i < sizes->count; i++) {
        cost_out[i] = sizes->size[i].price + job->rate / job->pace;
        sum += cost_out[i];
    }
    return job->favour == FAVOUR_COST && sum > 0 ? cost_out : NULL;
}
