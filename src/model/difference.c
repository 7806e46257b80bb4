/* Both plans are counted by colour and size, each in the words of its own palette and brick set,
 * and put side by side: a colour is the same where its id is, a size where its sides are. First
 * come the lines of the later plan, in its order, then what only the earlier one has. */
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

/* The counts that are compared, and the lines that come of it. */
typedef struct Comparing {
    Count before, after, built;
    Difference difference;
    size_t capacity;
} Comparing;

static Status add_line(Comparing *k, const DifferenceLine *line, Fault *fault)
{
    Difference *d = &k->difference;
    const Status status = memory_grow(&d->line, &k->capacity, d->count + 1, sizeof *line, fault);
    if (status) return status;
    d->line[d->count++] = *line;
    d->before += line->before;
    d->after += line->after;
    d->built += line->built;
    return STATUS_OK;
}

/* Goes through the colours and sizes of one of the two plans; of the earlier one, only
 * through what the later one has not. */
static Status add_lines(Comparing *k, const Count *own, Fault *fault)
{
    const Count *before = &k->before, *after = &k->after, *built = &k->built;
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
            if (line.before || line.after) status = add_line(k, &line, fault);
        }
    return status;
}

Status difference_init(Difference *difference_out, const Bricks *before, const Bricks *after,
                       const Laid *standing, Fault *fault)
{
    Comparing k = {0};
    Status status = count_init(&k.before, before, before->laid, fault);
    if (!status) status = count_init(&k.after, after, after->laid, fault);
    if (!status) status = count_init(&k.built, after, standing, fault);
    if (!status) status = add_lines(&k, &k.after, fault);
    if (!status) status = add_lines(&k, &k.before, fault);
    memory_free(k.before.number);
    memory_free(k.after.number);
    memory_free(k.built.number);
    if (status)
        memory_free(k.difference.line);
    else
        *difference_out = k.difference;
    return status;
}

void difference_clear(Difference *difference)
{
    memory_free(difference->line);
    *difference = (Difference){0};
}
