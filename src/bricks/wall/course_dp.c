/* One course as a shortest way, two leaves at a time.
 *
 * Idea. The strip is laid from left to right, always in the leaf that is behind. So a state is a
 * column, the leaf that ends there, and by how much the other leads; a joint right through is the
 * state in which both end. Each brick is an edge from one state to another, and the cheapest strip
 * is the shortest way from the left end to the right one, in
 * O(columns x splits x longest x lengths) steps. A strip one brick deep is the case of no splits.
 *
 * Invariants. Edges lead to the right, or within a column from the joint to a lead, so that one
 * pass from left to right is enough; costs may be below 0. Of equal ways the one found first stays.
 *
 * Source. Dynamic programming (Bellman); with no splits the coin change program. */
#include "bricks/wall/course_dp.h"

#include <assert.h>

/* States of a column: 0, both leaves end here; else 1 + ((split - 1) x 2 + side) x
 * (longest - 1) + lead - 1, where side 0 is "the back leaf ends here, the front leads". */
static int states_of(int splits, int longest) { return 1 + splits * 2 * longest; }

size_t course_dp_steps(int columns, int splits, int longest)
{
    return ((size_t)columns + 1) * (size_t)states_of(splits, longest);
}

typedef struct StripDp {
    const CourseDp *l;
    LeafStep *step;
    int states;
} StripDp;

static int state_of(const StripDp *s, int split, int side, int lead)
{
    return lead ? 1 + ((split - 1) * 2 + side) * s->l->longest + lead - 1 : 0;
}

static LeafStep *step_at(const StripDp *s, int column, int state)
{
    return s->step + (size_t)column * (size_t)s->states + state;
}

static void keep_cheaper(const StripDp *s, int column, int state, LeafStep step)
{
    LeafStep *kept = step_at(s, column, state);
    if (step.cost < kept->cost) *kept = step;
}

/* Both leaves end at x: a brick right through, or the first of two leaves. */
static void from_joint(const StripDp *s, int x, int64_t cost)
{
    const CourseDp *l = s->l;
    for (int r = 0; r <= 2 * l->splits; r += 2) {
        const LeafRange *range = &l->range[r];
        const int64_t *price = range->cost + (size_t)x * (size_t)range->count;
        for (int k = 0; k < range->count; k++) {
            if (price[k] >= COURSE_DP_NEVER) break;
            const LeafStep step = {cost + price[k], x, 0, (uint8_t)r, (uint8_t)k};
            if (r == 0)
                keep_cheaper(s, x + range->length[k], 0, step);
            else
                keep_cheaper(s, x, state_of(s, r / 2, 0, range->length[k]), step);
        }
    }
}

/* One leaf ends at x, the other leads: a brick in the leaf behind. */
static void from_lead(const StripDp *s, int x, int split, int side, int lead, int64_t cost)
{
    const CourseDp *l = s->l;
    const int r = side == 0 ? 2 * split - 1 : 2 * split;
    const LeafRange *range = &l->range[r];
    const int64_t *price = range->cost + (size_t)x * (size_t)range->count;
    const int state = state_of(s, split, side, lead);
    for (int k = 0; k < range->count; k++) {
        if (price[k] >= COURSE_DP_NEVER) break;
        const int length = range->length[k];
        const LeafStep step = {cost + price[k], x, (int16_t)state, (uint8_t)r, (uint8_t)k};
        if (length <= lead)
            keep_cheaper(s, x + length, state_of(s, split, side, lead - length), step);
        else
            keep_cheaper(s, x + lead, state_of(s, split, 1 - side, length - lead), step);
    }
}

static void walk_back(const StripDp *s, LeafBrick *brick, int *count)
{
    int x = s->l->columns, state = 0;
    while (x > 0 || state > 0) {
        const LeafStep *step = step_at(s, x, state);
        brick[(*count)++] = (LeafBrick){step->from_column, step->range, step->nth};
        x = step->from_column;
        state = step->from_state;
    }
}

int64_t course_dp_solve(const CourseDp *l, LeafStep *scratch, LeafBrick *brick_out, int *count_out)
{
    assert(l->splits <= COURSE_DP_MOST_SPLITS);
    const StripDp s = {l, scratch, states_of(l->splits, l->longest)};
    const size_t steps = course_dp_steps(l->columns, l->splits, l->longest);
    for (size_t i = 0; i < steps; i++) scratch[i].cost = COURSE_DP_NEVER;
    step_at(&s, 0, 0)->cost = 0;
    int furthest = 0;
    for (int x = 0; x < l->columns; x++) {
        const int64_t cost = step_at(&s, x, 0)->cost;
        if (cost < COURSE_DP_NEVER) {
            from_joint(&s, x, cost + (x > 0 ? l->line[x] : 0));
            furthest = x;
        }
        for (int split = 1; split <= l->splits; split++)
            for (int side = 0; side < 2; side++)
                for (int lead = 1; lead <= l->longest; lead++) {
                    const int64_t c = step_at(&s, x, state_of(&s, split, side, lead))->cost;
                    if (c >= COURSE_DP_NEVER) continue;
                    from_lead(&s, x, split, side, lead, c);
                    furthest = x;
                }
    }
    *count_out = 0;
    const int64_t best = step_at(&s, l->columns, 0)->cost;
    if (best >= COURSE_DP_NEVER)
        *count_out = furthest;
    else if (brick_out)
        walk_back(&s, brick_out, count_out);
    return best;
}
