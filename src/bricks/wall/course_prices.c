/* The bond of a course as prices of places.
 *
 * Idea. A brick that hangs on one other alone, or that alone holds one, is weak; one that nothing
 * carries is as dear as many bricks; short laps and slivers cost a little, and so does a joint
 * right through the course over one of a neighbour; where it would be in line over three courses it
 * costs more than the brick that crosses it.
 *
 * Invariants. Prices are 0 or more, multiples of the bed's step. They only add to what bricks
 * cost, so that what bounds a course without them bounds it with them.
 *
 * Source. Quarter lap: TMS 402 and BS 5628-3 as reported (a lap of at least a quarter of the unit);
 * no straight joints, few slivers: common practice of bricklaying, no source. What is carried:
 * corbel.h. */
#include "bricks/wall/course_prices.h"

#include "base/memory.h"

#include <limits.h>

/* Prices, in steps, of which STEPS_A_BRICK are a brick of average cost. */
enum {
    STEPS_A_BRICK = 64,
    UNHELD = 8 * 64, /* nothing carries it */
    NESTED = 1,      /* it meets one brick of a neighbour */
    SLIVER = 1,      /* it is of one unit */
    LINE_THREE = 64, /* a joint right through over two */
    LINE_ASKED = 64  /* and each time it is asked away */
};

/* Set by trial on what tests/bench/bench_wall.c lays, flat fields and small reliefs, for fewest
 * bricks with about as large a share of joints that lap a quarter as when bands of courses were
 * laid alone, which the bench prints beside it. */

/* 9575 bricks, 463 of them weak, share 0.402. A lap is worth a brick, for only laps hold: at 8, 25
 * bricks fewer and 0.398. So is a weak brick: at 64, 20 bricks fewer, 10 more weak and 0.401. */
static const BondPrices ONE_THICK = {.weak = 72, .lap = 67, .line_two = 8};

/* 10261 bricks, none weak, share 0.547. At a lap of 10, 22 fewer and 0.543; at a line of 8, 10
 * fewer and 0.544; at a weak brick of 64, waves of 50 x 40 have two, and take 416 and not 420. */
static const BondPrices TWO_THICK = {.weak = 66, .lap = 14, .line_two = 10};

/* 11423 bricks three thick and 11442 four, shares 0.611 and 0.558. At a lap of 4, 4 more and 3
 * fewer, 0.581 and 0.550; at a line of 12, 22 and 20 more. */
static const BondPrices THICKER = {.weak = 66, .lap = 8, .line_two = 8};

/* 2493, 2652 and 2904 bricks one to three thick, 347 weak in all, share two thick 0.570. At a lap
 * of 28, 7 fewer in all and 0.564, at 48, 12 more and 0.571; at a line of 8, 4 fewer and 0.564, at
 * 14, 3 more and 0.573; at a weak brick of 80, 21 more and 12 weak fewer. */
static const BondPrices IN_RELIEF = {.weak = 64, .lap = 38, .line_two = 12};

const BondPrices *course_prices_bond(int thickness, bool flat)
{
    if (!flat) return &IN_RELIEF;
    return thickness == 1 ? &ONE_THICK : thickness == 2 ? &TWO_THICK : &THICKER;
}

int32_t course_prices_step(const Shapes *shapes)
{
    int64_t sum = 0, count = 0;
    for (int k = 0; k < shapes->count; k++)
        if (shapes->shape[k].size != SHAPE_BARE) {
            sum += shapes->shape[k].cost;
            count++;
        }
    const int64_t step = count ? sum / count / STEPS_A_BRICK : 0;
    return step > 1 ? (int32_t)step : 1;
}

static size_t unit_at(const CourseBed *bed, int x, int tier)
{
    return (size_t)tier * (size_t)bed->columns + (size_t)x;
}

typedef struct Box {
    int a, b, c, d; /* columns [a,b), tiers [c,d) */
} Box;

/* True if the brick has no unit of `fills` over or under it. */
static bool lies_alone(const CourseBed *bed, const CourseBrick *q, const uint8_t *fills)
{
    for (int tier = q->tier; fills && tier < q->tier + q->tiers; tier++)
        for (int x = q->column; x < q->column + q->columns; x++)
            if (fills[unit_at(bed, x, tier)]) return false;
    return true;
}

static void see_alone(CoursePrices *p, int k)
{
    const CourseSide *side = &p->bed->side[k];
    for (size_t i = 0; side->view && i < side->view->course->count; i++) {
        const CourseBrick *q = &side->view->course->brick[i];
        p->alone[k][i] = lies_alone(p->bed, q, side->beyond);
        p->all_matter[k] =
            p->all_matter[k] || p->alone[k][i] || (side->ask_other && side->ask_other[q->column]);
    }
}

/* What a joint right through at a line costs. */
static int32_t line_price(const CourseBed *bed, int x)
{
    const int u = bed->side[0].run[x], o = bed->side[1].run[x];
    return bed->step *
           (bed->bond->line_two * ((u > 0) + (o > 0)) +
            LINE_THREE * ((u > 1) + (u > 0 && o > 0) + (o > 1)) + LINE_ASKED * bed->cross[x]);
}

/* Sums over all units to the left and behind. */
static bool sum_hanging(CoursePrices *p)
{
    const CourseBed *bed = p->bed;
    const size_t stride = (size_t)bed->columns + 1;
    p->hanging = memory_create(stride * ((size_t)bed->depth + 1), sizeof *p->hanging);
    for (int tier = 0; p->hanging && tier < bed->depth; tier++)
        for (int x = 0; x < bed->columns; x++) {
            int32_t *at = p->hanging + (size_t)tier * stride + (size_t)x;
            const bool hangs = bed->corbel->held[unit_at(bed, x, tier)] != HELD_BY_BRICK;
            at[stride + 1] = at[stride] + at[1] - at[0] + hangs;
        }
    return p->hanging;
}

Status course_prices_init(CoursePrices *p, const CourseBed *bed, Fault *fault)
{
    const size_t columns = (size_t)bed->columns + 1;
    const int lap = bed->bond->lap / bed->depth;
    *p = (CoursePrices){
        .bed = bed, .lap = lap > 1 ? lap : 1, .line = memory_create(columns, sizeof *p->line)};
    bool made = p->line && sum_hanging(p);
    for (int k = 0; k < 2 && made; k++) {
        const View *view = bed->side[k].view;
        made = (p->alone[k] = memory_create(view ? view->course->count + 1 : 1, 1)) != NULL;
        if (made) see_alone(p, k);
    }
    if (!made) {
        course_prices_clear(p);
        return memory_fault(fault, columns, sizeof *p->line);
    }
    for (int x = 1; x < bed->columns; x++) p->line[x] = line_price(bed, x);
    return STATUS_OK;
}

void course_prices_clear(CoursePrices *p)
{
    for (int k = 0; k < 2; k++) memory_free(p->alone[k]);
    memory_free(p->line);
    memory_free(p->hanging);
    *p = (CoursePrices){0};
}

static int hanging_in(const CoursePrices *p, const Box *box)
{
    const size_t stride = (size_t)p->bed->columns + 1;
    const int32_t *low = p->hanging + (size_t)box->c * stride,
                  *high = p->hanging + (size_t)box->d * stride;
    return high[box->b] - high[box->a] - low[box->b] + low[box->a];
}

/* True if no unit of this course but those of the box meets the brick. */
static bool held_by_box_alone(const CourseBed *bed, const CourseBrick *q, const Box *box)
{
    for (int tier = q->tier; tier < q->tier + q->tiers; tier++)
        for (int x = q->column; x < q->column + q->columns; x++) {
            const bool in = x >= box->a && x < box->b && tier >= box->c && tier < box->d;
            if (!in && bed->fills[unit_at(bed, x, tier)]) return false;
        }
    return true;
}

static bool covers(const Box *box, const CourseBrick *q)
{
    return q->column >= box->a && q->column + q->columns <= box->b && q->tier >= box->c &&
           q->tier + q->tiers <= box->d;
}

/* What a box does to the bond with its neighbours. */
typedef struct BoxBond {
    int met[2]; /* bricks of the neighbour that it meets; 2 for more, and where it is not laid yet
                 */
    int holds;  /* bricks that it alone would hold */
    int asked;  /* how hard something that it leaves undone was asked for */
} BoxBond;

static void meet_brick(const CoursePrices *p, int k, const Box *box, int32_t i, BoxBond *bond)
{
    const CourseSide *side = &p->bed->side[k];
    const CourseBrick *q = &side->view->course->brick[i];
    bond->met[k]++;
    if (!p->all_matter[k]) return;
    bond->holds += p->alone[k][i] && held_by_box_alone(p->bed, q, box);
    if (side->ask_other && covers(box, q)) bond->asked += side->ask_other[q->column];
}

static void meet_side(const CoursePrices *p, int k, const Box *box, BoxBond *bond)
{
    const CourseBed *bed = p->bed;
    const CourseSide *side = &bed->side[k];
    const int most = p->all_matter[k] ? INT_MAX : 2;
    for (int tier = box->c; tier < box->d && bond->met[k] < most; tier++)
        for (int x = box->a; x < box->b && bond->met[k] < most;) {
            const size_t unit = unit_at(bed, x, tier);
            const int32_t i = side->view ? side->view->unit[unit] : -1;
            if (!side->view && side->fills[unit]) {
                bond->met[k] = 2;
                return;
            }
            x++;
            if (i < 0) continue;
            const CourseBrick *q = &side->view->course->brick[i];
            x = q->column + q->columns;
            if (tier == box->c || tier == q->tier) meet_brick(p, k, box, i, bond);
        }
    if (bond->met[k] < 2 && side->ask) bond->asked += side->ask[box->a];
    if (bond->met[k] > 2) bond->met[k] = 2;
}

static BoxBond bond_of(const CoursePrices *p, const Box *box)
{
    BoxBond bond = {0};
    for (int k = 0; k < 2; k++)
        if (p->bed->side[k].fills) meet_side(p, k, box, &bond);
    return bond;
}

static const CourseBrick *brick_of(const CourseBed *bed, const View *view, int x, int tier)
{
    const int32_t i = view->unit[unit_at(bed, x, tier)];
    return i < 0 ? NULL : &view->course->brick[i];
}

/* True if two bricks lap by less than a quarter of the shorter. */
static bool is_short(int lap, int length, int other)
{
    return 4 * lap < (length < other ? length : other);
}

/* Ends of the box that lap a brick of the neighbour by less than a quarter, in each tier; a joint
 * over a joint is seen from the brick right of it. */
static int short_laps_on(const CourseBed *bed, const View *view, const Box *box)
{
    int found = 0;
    const int length = box->b - box->a;
    for (int tier = box->c; tier < box->d; tier++) {
        const CourseBrick *p = box->a > 0 ? brick_of(bed, view, box->a, tier) : NULL;
        const int end = p ? p->column + p->columns : 0;
        if (p && p->column == box->a)
            found++;
        else if (p && end < box->b)
            found += is_short(end - box->a, length, p->columns);
        p = box->b < bed->columns ? brick_of(bed, view, box->b - 1, tier) : NULL;
        if (p && p->column > box->a && p->column + p->columns > box->b)
            found += is_short(box->b - p->column, length, p->columns);
    }
    return found;
}

static int short_laps(const CourseBed *bed, const Box *box)
{
    int found = 0;
    for (int k = 0; k < 2; k++)
        if (bed->side[k].view) found += short_laps_on(bed, bed->side[k].view, box);
    return found;
}

static bool box_carried(const CoursePrices *p, const Box *box)
{
    if (hanging_in(p, box) == 0) return true;
    const CourseBrick brick = {(int16_t)box->a, (int16_t)box->c, (uint8_t)(box->b - box->a),
                               (uint8_t)(box->d - box->c), 0};
    return corbel_carries(p->bed->corbel, &brick);
}

int32_t course_prices_of(const void *context, const Tile *tile)
{
    const CoursePrices *p = context;
    const CourseBed *bed = p->bed;
    const Box box = {tile->column, tile->column + tile->columns, tile->row, tile->row + tile->rows};
    const BoxBond bond = bond_of(p, &box);
    const int met = bond.met[0] + bond.met[1];
    int price = bed->bond->weak * ((met == 1) + bond.holds + bond.asked) +
                p->lap * short_laps(bed, &box) + NESTED * ((bond.met[0] == 1) + (bond.met[1] == 1));
    if (met == 0 && bed->corbel->layers > 1) price += UNHELD;
    if (tile->columns * tile->rows == 1) price += SLIVER;
    if (!box_carried(p, &box)) price += UNHELD;
    return price * bed->step;
}

static Box box_of(const CourseBrick *brick)
{
    return (Box){brick->column, brick->column + brick->columns, brick->tier,
                 brick->tier + brick->tiers};
}

int course_prices_short_laps(const CoursePrices *p, const CourseBrick *brick)
{
    const Box box = box_of(brick);
    return short_laps(p->bed, &box);
}

bool course_prices_flaw(const CoursePrices *p, const CourseBrick *brick)
{
    const Box box = box_of(brick);
    const BoxBond bond = bond_of(p, &box);
    return bond.met[0] + bond.met[1] < 2 || bond.holds || bond.asked || !box_carried(p, &box);
}
