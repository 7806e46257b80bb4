/* A lower bound on the bricks of a panel of a wall, by Lagrange multipliers.
 *
 * Flat walls. In each course, count only the bricks that touch the face or the back. Such a
 * brick lies in the front leaf, in the back leaf or right through, and the program of
 * course_dp.h, given every length of any depth for each leaf, finds the least number exactly;
 * any laying has at least as many.
 *
 * Two bricks thick that program sees whole courses, and the rule on straight joints joins them by
 * Lagrange multipliers: of three courses, one above another, at most two have a joint right through
 * at a line. For any multipliers p >= 0 of these, sum over courses of min (bricks + multipliers of
 * its joints) - 2 x sum of multipliers is a bound. They start at 0 and rise where three courses
 * choose the same line: a subgradient step, with some of the step before kept up (heavy ball).
 *
 * A brick that crosses a colour edge of the face cannot touch the face. Take three courses
 * and the lines where all three have a colour edge: one of them must have a brick behind the
 * face across each of these (where it can be), and one brick crosses no more lines than fit
 * within the longest length. Their least number comes on top of the bricks that touch the
 * face. Triples that do not overlap add up; the best of the three ways to cut a panel into
 * triples is taken.
 *
 * Invariants. All is counted in parts of a brick, COURSE_PRICE_ONE to one, in whole numbers: a sum
 * that is rounded up to bricks is proven. Multipliers are never below 0.
 *
 * Source. Lagrangian relaxation: Geoffrion 1974, Math. Program. Study 2:82-114; subgradient steps:
 * Held, Wolfe and Crowder 1974, Math. Program. 6:62-88; heavy ball: Polyak 1964, USSR Comput. Math.
 * 4:1-17 (all from memory). */
#include "bricks/wall/bound.h"

#include "base/memory.h"
#include "bricks/wall/course_dp.h"

#include <string.h>

enum { THROUGH = 0, BACK = 1, FRONT = 2 };

/* The steps of the multipliers, by trial: on five pictures of tests/data/fields, two thick, the
 * bounds come to 5724 bricks, with any of them halved or doubled (or a STEP_SHRINKS of 0.85 or
 * 0.95) to 5702 to 5721. */
enum {
    FIRST_STEP = 50 /* in parts of a brick */,
    KEPT_UP = 7,
    KEPT_UP_OF = 10 /* of the step before */
};
static const double STEP_SHRINKS = 0.91; /* from round to round */

typedef struct BoundRoom {
    const Solid *solid;
    const Panel *panel;
    int thick, longest;
    int length[3][SIZE_LONGEST], count[3]; /* by kind: through, back, front */
    int any[SIZE_LONGEST], any_count;      /* lengths of bricks that touch the face */
    int largest;                           /* units */
    int longest_behind;
    int64_t *cost[3], *line;
    LeafStep *step;
    LeafBrick *brick;
    int16_t *hue[2];   /* rows x columns: back, front */
    uint8_t *reach[3]; /* rows x columns: the longest brick of the kind from here on */
    int64_t *face;     /* rows: least bricks that touch the face */
    int64_t *least;    /* rows: least that touch face or back */
    int32_t *mom;
    int32_t *multiplier; /* rows x (columns + 1): of this course and the two above */
    int32_t *last_step;  /* rows x (columns + 1): its last change */
    uint8_t *crossable;  /* the same: 1 where some brick can cross */
    uint8_t *joint;      /* the same: 1 where the last solution has a joint right through */
} BoundRoom;

static size_t panel_cell(const BoundRoom *r, int x, int row)
{
    return (size_t)row * (size_t)r->panel->columns + (size_t)x;
}

static size_t line_at(const BoundRoom *r, int x, int row)
{
    return (size_t)row * ((size_t)r->panel->columns + 1) + (size_t)x;
}

static void bound_room_clear(BoundRoom *r)
{
    for (int i = 0; i < 3; i++) memory_free(r->cost[i]);
    for (int i = 0; i < 3; i++) memory_free(r->reach[i]);
    for (int i = 0; i < 2; i++) memory_free(r->hue[i]);
    memory_free(r->line);
    memory_free(r->step);
    memory_free(r->brick);
    memory_free(r->face);
    memory_free(r->least);
    memory_free(r->multiplier);
    memory_free(r->last_step);
    memory_free(r->joint);
    memory_free(r->crossable);
}

static void gather_lengths(BoundRoom *r, const Cuts *cuts)
{
    bool leaf[SIZE_LONGEST + 1] = {0}, through[SIZE_LONGEST + 1] = {0};
    r->longest = cuts->longest;
    for (int depth = 1; depth <= SIZE_LONGEST; depth++)
        for (int k = 0; k < cuts->count[depth]; k++) {
            const int length = cuts->length[depth][k];
            if (depth * length > r->largest) r->largest = depth * length;
            if (depth < r->thick) leaf[length] = true;
            if (depth == r->thick) through[length] = true;
            if (depth < r->thick && length > r->longest_behind) r->longest_behind = length;
        }
    for (int length = 1; length <= SIZE_LONGEST; length++) {
        if (through[length]) r->length[THROUGH][r->count[THROUGH]++] = length;
        if (leaf[length]) r->length[BACK][r->count[BACK]++] = length;
        if (leaf[length]) r->length[FRONT][r->count[FRONT]++] = length;
        if (leaf[length] || through[length]) r->any[r->any_count++] = length;
    }
}

static Status bound_room_init(BoundRoom *r, const Cuts *cuts, Fault *fault)
{
    const size_t n = (size_t)r->panel->columns + 1, rows = (size_t)r->panel->rows;
    gather_lengths(r, cuts);
    bool there = true;
    for (int i = 0; i < 3 && there; i++)
        there = (r->cost[i] = memory_create(n * SIZE_LONGEST, sizeof **r->cost)) != NULL &&
                (r->reach[i] = memory_create(n * rows, 1)) != NULL;
    for (int i = 0; i < 2 && there; i++)
        there = (r->hue[i] = memory_create(n * rows, sizeof **r->hue)) != NULL;
    const size_t steps = course_dp_steps(r->panel->columns, 1, r->longest);
    if (there) there = (r->line = memory_create(n, sizeof *r->line)) != NULL;
    if (there) there = (r->step = memory_create(steps, sizeof *r->step)) != NULL;
    if (there) there = (r->brick = memory_create(2 * n, sizeof *r->brick)) != NULL;
    if (there) there = (r->face = memory_create(rows, sizeof *r->face)) != NULL;
    if (there) there = (r->least = memory_create(rows, sizeof *r->least)) != NULL;
    if (there)
        there = (r->multiplier = memory_create((rows + 2) * n, sizeof *r->multiplier)) != NULL;
    if (there) there = (r->last_step = memory_create(rows * n, sizeof *r->last_step)) != NULL;
    if (there) there = (r->crossable = memory_create(rows * n, 1)) != NULL;
    if (there) there = (r->joint = memory_create(rows * n, 1)) != NULL;
    return there ? STATUS_OK : memory_fault(fault, n * rows, sizeof *r->multiplier);
}

/* How far a brick may reach from each column of a course, by the colours that its units at
 * the back and at the front must show. */
static void see_reach(BoundRoom *r, int row, bool back, bool front, uint8_t *reach)
{
    for (int a = 0; a < r->panel->columns; a++) {
        int colour = HUE_FREE, x = a;
        for (; x < r->panel->columns && x - a < r->longest; x++) {
            const int h[2] = {back ? r->hue[0][panel_cell(r, x, row)] : HUE_FREE,
                              front ? r->hue[1][panel_cell(r, x, row)] : HUE_FREE};
            bool clash = false;
            for (int i = 0; i < 2; i++) {
                if (h[i] == HUE_FREE) continue;
                clash = clash || (colour != HUE_FREE && colour != h[i]);
                colour = h[i];
            }
            if (clash) break;
        }
        reach[panel_cell(r, a, row)] = (uint8_t)(x - a);
    }
}

static void see_course(BoundRoom *r, int row)
{
    for (int x = 0; x < r->panel->columns; x++) {
        const int column = r->panel->column + x, y = r->panel->row + row;
        const int16_t colour = (int16_t)grid_colour(r->solid->grid, column, y);
        r->hue[0][panel_cell(r, x, row)] = solid_shown(r->solid, column, y, 0) ? colour : HUE_FREE;
        r->hue[1][panel_cell(r, x, row)] = colour;
    }
    see_reach(r, row, true, true, r->reach[THROUGH]);
    see_reach(r, row, true, false, r->reach[BACK]);
    see_reach(r, row, false, true, r->reach[FRONT]);
}

/* Prices bricks of the lengths of a range: one each, as far as they reach. */
static void price_bricks(const BoundRoom *r, int row, const uint8_t *reach, LeafRange *range,
                         int64_t *cost)
{
    for (int a = 0; a < r->panel->columns; a++) {
        const int most = reach[panel_cell(r, a, row)];
        int64_t *price = cost + (size_t)a * (size_t)range->count;
        for (int k = 0; k < range->count; k++)
            price[k] = range->length[k] <= most ? COURSE_PRICE_ONE : COURSE_DP_NEVER;
    }
    range->cost = cost;
}

/* The least of bricks that touch the face alone. */
static int64_t least_face(BoundRoom *r, int row)
{
    CourseDp dp = {.columns = r->panel->columns, .longest = r->longest, .line = r->line};
    int count;
    dp.range[0] = (LeafRange){.count = r->any_count, .length = r->any};
    price_bricks(r, row, r->reach[FRONT], &dp.range[0], r->cost[0]);
    memset(r->line, 0, ((size_t)r->panel->columns + 1) * sizeof *r->line);
    return course_dp_solve(&dp, r->step, NULL, &count);
}

static void mark_joints(BoundRoom *r, int row, int count)
{
    uint8_t *joint = r->joint + line_at(r, 0, row);
    memset(joint, 1, (size_t)r->panel->columns + 1);
    for (int i = 0; i < count; i++) {
        const LeafBrick b = r->brick[i];
        for (int x = 1; x < r->length[b.range][b.nth]; x++) joint[b.column + x] = 0;
    }
}

/* The least of bricks that touch the face or the back, and the multipliers of joints. */
static int64_t least_course(BoundRoom *r, int row)
{
    CourseDp dp = {.columns = r->panel->columns,
                   .splits = r->thick > 1,
                   .longest = r->longest,
                   .line = r->line};
    int count;
    for (int kind = 0; kind <= 2 * dp.splits; kind++) {
        dp.range[kind] = (LeafRange){.count = r->count[kind], .length = r->length[kind]};
        price_bricks(r, row, r->reach[kind], &dp.range[kind], r->cost[kind]);
    }
    for (int x = 0; x <= r->panel->columns; x++) {
        r->line[x] = 0;
        for (int y = row - 2; y <= row; y++)
            if (y >= 0) r->line[x] += r->multiplier[line_at(r, x, y)];
    }
    const int64_t cost = course_dp_solve(&dp, r->step, r->brick, &count);
    mark_joints(r, row, count);
    return cost;
}

/* Marks the lines of a course that some brick can cross. Where the set has bricks one column
 * long, whatever it leaves can be filled; without them nothing is said to be crossable, which
 * only makes the bound weaker. */
static void see_crossable(BoundRoom *r, int row)
{
    const int leaf = r->thick > 1 ? BACK : THROUGH;
    if (r->count[leaf] == 0 || r->length[leaf][0] != 1) return;
    for (int kind = 0; kind <= (r->thick > 1 ? 2 : 0); kind++)
        for (int a = 0; a < r->panel->columns; a++) {
            int longest = 1;
            for (int k = 0; k < r->count[kind]; k++)
                if (r->length[kind][k] <= r->reach[kind][panel_cell(r, a, row)])
                    longest = r->length[kind][k];
            for (int x = a + 1; x < a + longest; x++) r->crossable[line_at(r, x, row)] = 1;
        }
}

/* Of the three courses from row on: whether some brick can cross, and whether none that
 * touches the face can. */
static bool triple_can(const BoundRoom *r, int x, int row)
{
    return r->crossable[line_at(r, x, row)] || r->crossable[line_at(r, x, row + 1)] ||
           r->crossable[line_at(r, x, row + 2)];
}

static bool triple_must(const BoundRoom *r, int x, int row)
{
    for (int y = row; y < row + 3; y++)
        if (r->hue[1][panel_cell(r, x - 1, y)] == r->hue[1][panel_cell(r, x, y)]) return false;
    return true;
}

/* The least number of bricks that cross behind the face in three courses. */
static int64_t count_ties(const BoundRoom *r, int row)
{
    int64_t found = 0;
    for (int x = 1; x < r->panel->columns; x++) {
        if (!triple_must(r, x, row) || !triple_can(r, x, row)) continue;
        found += COURSE_PRICE_ONE;
        x += r->longest_behind - 2;
    }
    return found;
}

/* The best way to cut the panel into triples. */
static int64_t bound_ties(const BoundRoom *r, bool straight)
{
    const int rows = r->panel->rows;
    int64_t best = 0;
    for (int shift = 0; shift < 3; shift++) {
        int64_t sum = 0;
        for (int row = 0; row < rows;) {
            const bool triple = straight && r->thick > 1 && row >= shift && row + 3 <= rows;
            int64_t least = 0, face = triple ? count_ties(r, row) : 0;
            for (const int end = row + (triple ? 3 : 1); row < end; row++) {
                least += r->least[row];
                face += r->face[row];
            }
            sum += face > least ? face : least;
        }
        if (sum > best) best = sum;
    }
    return best;
}

/* One round: the bound that the multipliers give, and the next multipliers. */
static int64_t step_multipliers(BoundRoom *r, int32_t step)
{
    const int rows = r->panel->rows, columns = r->panel->columns;
    int64_t bound = 0;
    for (int row = 0; row < rows; row++) bound += least_course(r, row);
    for (int row = 0; row + 2 < rows; row++)
        for (int x = 1; x < columns; x++) {
            const size_t i = line_at(r, x, row);
            const int excess = r->joint[i] + r->joint[line_at(r, x, row + 1)] +
                               r->joint[line_at(r, x, row + 2)] - 2;
            bound -= 2 * (int64_t)r->multiplier[i];
            if (excess > 0 && !triple_can(r, x, row)) continue;
            r->last_step[i] = r->last_step[i] * KEPT_UP / KEPT_UP_OF + step * excess;
            r->multiplier[i] += r->last_step[i];
            if (r->multiplier[i] < 0) r->multiplier[i] = r->last_step[i] = 0;
        }
    return bound;
}

static double bound_courses(BoundRoom *r, int rounds)
{
    for (int row = 0; row < r->panel->rows; row++) {
        see_course(r, row);
        see_crossable(r, row);
        r->face[row] = least_face(r, row);
        r->least[row] = least_course(r, row);
    }
    int64_t best = bound_ties(r, rounds > 0);
    double step = FIRST_STEP;
    for (int round = 0; round < rounds && r->thick == 2; round++) {
        const int64_t bound = step_multipliers(r, (int32_t)step);
        if (bound > best) best = bound;
        step *= STEP_SHRINKS;
    }
    return (double)((best + COURSE_PRICE_ONE - 1) / COURSE_PRICE_ONE);
}

Status bound_flat_wall(double *bound_out, const Solid *solid, const Panel *panel, const Cuts *cuts,
                       int rounds, Fault *fault)
{
    BoundRoom r = {.solid = solid, .panel = panel, .thick = solid->base};
    const Status status = bound_room_init(&r, cuts, fault);
    if (!status) *bound_out = bound_courses(&r, rounds);
    bound_room_clear(&r);
    return status;
}
