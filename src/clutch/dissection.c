/* Idea. A panel is cut in two across its longer side; the bricks of one half that are joined to the
 * other part the two, and are eliminated after both. Each half is cut in the same way. Places
 * serve as well as any partitioner here, since bricks are small and joined only where they touch.
 *
 * Invariants. Bricks at one place go by their number, so the order depends on nothing else.
 *
 * Source. A. George, Nested dissection of a regular finite element mesh, SIAM J. Numer. Anal. 10
 * (1973), from memory. */
#include "clutch/dissection.h"

#include "base/memory.h"

#include <stdlib.h>

/* Fewer bricks than these are not worth a cut; among 4, 8 and 16 no time differs by more than a
 * tenth. */
enum { LEAF_BRICKS = 8 };

typedef struct PlacedBrick {
    int place[AXES]; /* twice its middle, units */
    uint32_t brick;
} PlacedBrick;

typedef struct Dissection {
    PlacedBrick *placed, *spare; /* bricks */
    uint32_t *begin, *neighbour; /* bricks + 1; 2 x joints: those joined to a brick */
    uint8_t *side;               /* bricks: 1 while it is in the farther half */
    uint32_t *order;
} Dissection;

static int by_axis(const PlacedBrick *p, const PlacedBrick *q, int axis)
{
    if (p->place[axis] != q->place[axis]) return p->place[axis] < q->place[axis] ? -1 : 1;
    return p->brick < q->brick ? -1 : p->brick > q->brick;
}

static int by_a(const void *p, const void *q) { return by_axis(p, q, AXIS_A); }
static int by_b(const void *p, const void *q) { return by_axis(p, q, AXIS_B); }
static int by_u(const void *p, const void *q) { return by_axis(p, q, AXIS_U); }

static int longest_axis(const PlacedBrick *placed, size_t n)
{
    int longest = AXIS_A, most = -1;
    for (int axis = 0; axis < AXES; axis++) {
        int least = placed[0].place[axis], greatest = least;
        for (size_t i = 1; i < n; i++) {
            if (placed[i].place[axis] < least) least = placed[i].place[axis];
            if (placed[i].place[axis] > greatest) greatest = placed[i].place[axis];
        }
        if (greatest - least > most) most = greatest - least, longest = axis;
    }
    return longest;
}

static bool reaches_over(const Dissection *d, uint32_t brick)
{
    for (uint32_t i = d->begin[brick]; i < d->begin[brick + 1]; i++)
        if (d->side[d->neighbour[i]]) return true;
    return false;
}

/* Orders placed[0, n) into the n places of `order`. */
static void dissect(Dissection *d, PlacedBrick *placed, size_t n, uint32_t *order)
{
    static int (*const compare[AXES])(const void *, const void *) = {by_a, by_b, by_u};
    if (n <= LEAF_BRICKS) {
        for (size_t i = 0; i < n; i++) order[i] = placed[i].brick;
        return;
    }
    qsort(placed, n, sizeof *placed, compare[longest_axis(placed, n)]);
    const size_t half = n / 2;
    size_t near = 0, parting = 0;
    for (size_t i = half; i < n; i++) d->side[placed[i].brick] = 1;
    for (size_t i = 0; i < half; i++)
        if (reaches_over(d, placed[i].brick))
            d->spare[parting++] = placed[i];
        else
            placed[near++] = placed[i];
    for (size_t i = half; i < n; i++) d->side[placed[i].brick] = 0;
    for (size_t i = 0; i < parting; i++) order[n - parting + i] = d->spare[i].brick;
    dissect(d, placed, near, order);
    dissect(d, placed + half, n - half, order + near);
}

static void list_neighbours(const Structure *s, Dissection *d)
{
    for (size_t i = 0; i < s->inner; i++) {
        d->begin[s->joint[i].lower + 1]++;
        d->begin[s->joint[i].upper + 1]++;
    }
    for (size_t i = 0; i < s->bricks; i++) d->begin[i + 1] += d->begin[i];
    uint32_t *end = d->order; /* until the order is made */
    for (size_t i = 0; i < s->bricks; i++) end[i] = d->begin[i];
    for (size_t i = 0; i < s->inner; i++) {
        const Joint *j = &s->joint[i];
        d->neighbour[end[j->lower]++] = j->upper;
        d->neighbour[end[j->upper]++] = j->lower;
    }
}

Status dissection_order(const Structure *s, uint32_t *order_out, Fault *fault)
{
    Dissection d = {.placed = memory_create(s->bricks, sizeof *d.placed),
                    .spare = memory_create(s->bricks, sizeof *d.spare),
                    .begin = memory_create(s->bricks + 1, sizeof *d.begin),
                    .neighbour = memory_create(2 * s->inner, sizeof *d.neighbour),
                    .side = memory_create(s->bricks, 1),
                    .order = order_out};
    Status status = STATUS_OK;
    if (!d.placed || !d.spare || !d.begin || !d.neighbour || !d.side)
        status = memory_fault(fault, s->bricks, sizeof *d.placed);
    if (!status) {
        list_neighbours(s, &d);
        for (size_t i = 0; i < s->bricks; i++) {
            const RigidBrick *k = &s->brick[i];
            d.placed[i] =
                (PlacedBrick){{2 * k->a + k->na, 2 * k->b + k->nb, 2 * k->u + 1}, (uint32_t)i};
        }
        dissect(&d, d.placed, s->bricks, order_out);
    }
    memory_free(d.placed);
    memory_free(d.spare);
    memory_free(d.begin);
    memory_free(d.neighbour);
    memory_free(d.side);
    return status;
}
