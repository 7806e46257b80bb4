#include "model/difference.h"

#include "base/memory.h"
#include "model/parts.h"

/* Counts by colour and size, each in the words of its own plan. */
typedef struct Count {
    const Bricks *bricks;
    long *number;
} Count;

static Status count_init(Count *count, const Bricks *bricks, const Laid *laid, Fault *fault)
{
    count->bricks = bricks;
    return parts_count(laid, bricks->palette->count, bricks->sizes->count, &count->number, fault);
}

static long number_of(const Count *count, int colour, int size)
{
    const int sizes = count->bricks->sizes->count;
    return colour < 0 || size < 0 ? 0
                                  : count->number[(size_t)colour * (size_t)sizes + (size_t)size];
}

static int size_in(const Sizes *sizes, const Size *size)
{
    return sizes_find(sizes, size->width, size->length);
}

static Status add_line(Difference *d, size_t *capacity, const DifferenceLine *line, Fault *fault)
{
    const Status status = memory_grow(&d->line, capacity, d->count + 1, sizeof *line, fault);
    if (status) return status;
    d->line[d->count++] = *line;
    d->before += line->before;
    d->after += line->after;
    d->built += line->built;
    return STATUS_OK;
}

/* Goes through the colours and sizes of one of the two plans; of the earlier one, only
 * through what the later one has not. */
static Status add_lines(Difference *d, size_t *capacity, const Count *own, const Count *before,
                        const Count *after, const Count *built, Fault *fault)
{
    const Palette *palette = own->bricks->palette;
    const Sizes *sizes = own->bricks->sizes;
    const Bricks *old = before->bricks, *now = after->bricks;
    Status status = STATUS_OK;
    for (int c = 0; c < palette->count && !status; c++)
        for (int i = 0; i < sizes->count && !status; i++) {
            const char *id = palette->colour[c].id;
            const Size *size = &sizes->size[i];
            const int colour = palette_find(now->palette, id), at = size_in(now->sizes, size);
            if (own == before && colour >= 0 && at >= 0) continue;
            const DifferenceLine line = {
                .colour = id,
                .size = size->name,
                .before =
                    number_of(before, palette_find(old->palette, id), size_in(old->sizes, size)),
                .after = number_of(after, colour, at),
                .built = number_of(built, colour, at),
            };
            if (line.before || line.after) status = add_line(d, capacity, &line, fault);
        }
    return status;
}

Status difference_init(Difference *difference_out, const Bricks *before, const Bricks *after,
                       const Laid *standing, Fault *fault)
{
    Difference d = {0};
    size_t capacity = 0;
    Count old = {0}, now = {0}, built = {0};
    Status status = count_init(&old, before, before->laid, fault);
    if (!status) status = count_init(&now, after, after->laid, fault);
    if (!status) status = count_init(&built, after, standing, fault);
    if (!status) status = add_lines(&d, &capacity, &now, &old, &now, &built, fault);
    if (!status) status = add_lines(&d, &capacity, &old, &old, &now, &built, fault);
    memory_free(old.number);
    memory_free(now.number);
    memory_free(built.number);
    if (status)
        memory_free(d.line);
    else
        *difference_out = d;
    return status;
}

void difference_clear(Difference *difference)
{
    memory_free(difference->line);
    *difference = (Difference){0};
}
