/* One course as a shortest way, priced by its bond.
 *
 * Idea. A course is laid in bands of a few tiers, one after another, each taking what the ones
 * before have left; a band is laid at the least price by the program of course_dp.h. A brick's
 * price is its cost and what it does to the bond with the courses below and above: short laps, a
 * brick that bears on one alone, slivers. A joint right through the course has a price of its own
 * where the courses next to it have one in line, and so has a place where two courses part at the
 * same tier, their collar joint.
 *
 * Invariants. Prices add up over pairs of courses, each pair seen alike from both sides, so that
 * laying courses again and again, each against its neighbours as they stand, never makes the wall
 * dearer. All are whole numbers.
 *
 * Source. Quarter lap: TMS 402 and BS 5628-3 as reported (a lap of at least a quarter of the unit);
 * no straight joints, few slivers: common practice of bricklaying, no source. The prices:
 * wall_panel.c. */
#include "bricks/wall/course.h"

#include "base/memory.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* What repair_panel.c asks for, in parts of COURSE_PRICE_ONE for each time it was asked: more than
 * a brick, so that a brick is spent on it, but for CROSS_GAIN, which is given for every line that
 * is crossed and so is had several times over. Ours; on
 * the pictures of tests/bench/bench_wall half or twice of the prices leads to the same walls, twice
 * of the gain to the same but for one joint. */
enum { BEAR_PRICE = 1500, CROSS_GAIN = 700, WHOLE_PRICE = 1500 };

enum { DEAREST = 1000 /* no brick counts as more than so many of average cost */ };

void cuts_init(Cuts *cuts, const Sizes *sizes, const double *cost)
{
    *cuts = (Cuts){0};
    double sum = 0;
    int used = 0;
    for (int i = 0; i < sizes->count; i++) {
        if (cost && !isfinite(cost[i])) continue;
        sum += cost ? cost[i] : 1;
        used++;
    }
    for (int i = 0; i < sizes->count; i++) {
        const double share = cost && sum > 0 ? cost[i] * used / sum : 1;
        cuts->price[i] = (int64_t)lround(COURSE_PRICE_ONE * fmin(share, DEAREST));
    }
    for (int depth = 1; depth <= SIZE_LONGEST; depth++)
        for (int length = 1; length <= SIZE_LONGEST; length++) {
            int best = -1;
            for (int i = 0; i < sizes->count; i++) {
                const int w = sizes->size[i].width, l = sizes->size[i].length;
                if (!((w == depth && l == length) || (w == length && l == depth))) continue;
                if (cost && !isfinite(cost[i])) continue; /* not used */
                if (best < 0 || cuts->price[i] < cuts->price[best]) best = i;
            }
            if (best < 0) continue;
            const int n = cuts->count[depth]++;
            cuts->length[depth][n] = length;
            cuts->size[depth][n] = (uint8_t)best;
            if (length > cuts->longest) cuts->longest = length;
        }
}

Status course_room_init(CourseRoom *room, int columns, int deepest_band, const Cuts *cuts,
                        Fault *fault)
{
    *room = (CourseRoom){0};
    const size_t n = (size_t)columns + 1;
    int most = 0;
    for (int depth = 1; depth <= SIZE_LONGEST; depth++)
        if (cuts->count[depth] > most) most = cuts->count[depth];
    const size_t prices = n * (size_t)(most + 1),
                 steps = course_dp_steps(columns, deepest_band - 1, cuts->longest);
    bool there = true;
    for (int r = 0; r < COURSE_DP_RANGES && there; r++)
        there = (room->cost[r] = memory_create(prices, sizeof *room->cost[r])) != NULL;
    for (int s = 0; s < COURSE_DP_MOST_SPLITS && there; s++)
        there = (room->collar[s] = memory_create(n, sizeof *room->collar[s])) != NULL;
    if (there) there = (room->line = memory_create(n, sizeof *room->line)) != NULL;
    if (there) there = (room->crossed = memory_create(n, 1)) != NULL;
    const size_t field = n * (size_t)deepest_band;
    if (there) there = (room->field = memory_create(field, sizeof *room->field)) != NULL;
    if (there) there = (room->step = memory_create(steps, sizeof *room->step)) != NULL;
    if (there) there = (room->brick = memory_create(2 * n, sizeof *room->brick)) != NULL;
    if (there) return STATUS_OK;
    course_room_clear(room);
    return memory_fault(fault, steps, sizeof *room->step);
}

void course_room_clear(CourseRoom *room)
{
    for (int r = 0; r < COURSE_DP_RANGES; r++) memory_free(room->cost[r]);
    for (int s = 0; s < COURSE_DP_MOST_SPLITS; s++) memory_free(room->collar[s]);
    memory_free(room->line);
    memory_free(room->crossed);
    memory_free(room->field);
    memory_free(room->step);
    memory_free(room->brick);
    *room = (CourseRoom){0};
}

Status course_add(Course *course, const CourseBrick *brick, Fault *fault)
{
    const Status status = memory_grow(&course->brick, &course->capacity, course->count + 1,
                                      sizeof *course->brick, fault);
    if (!status) course->brick[course->count++] = *brick;
    return status;
}

bool course_same(const Course *a, const Course *b)
{
    return a->count == b->count &&
           (a->count == 0 || memcmp(a->brick, b->brick, a->count * sizeof *a->brick) == 0);
}

Status course_copy(Course *to, const Course *from, Fault *fault)
{
    const Status status =
        memory_grow(&to->brick, &to->capacity, from->count, sizeof *to->brick, fault);
    if (status) return status;
    to->count = from->count;
    if (from->count) memcpy(to->brick, from->brick, from->count * sizeof *to->brick);
    return STATUS_OK;
}

void course_clear(Course *course)
{
    memory_free(course->brick);
    *course = (Course){0};
}

static const CourseBrick *brick_in_view(const View *view, int columns, int column, int tier)
{
    const int32_t i = view->unit[(size_t)tier * (size_t)columns + (size_t)column];
    return i < 0 ? NULL : &view->course->brick[i];
}

/* A band while it is laid. */
typedef struct Strip {
    const Bed *bed;
    const int16_t *field; /* tiers from `from` on, x columns */
    int columns, from, to;
    bool gaps; /* some unit is not to be laid */
} Strip;

static int16_t hue_at(const Strip *strip, int column, int tier)
{
    return strip->field[(size_t)(tier - strip->from) * (size_t)strip->columns + (size_t)column];
}

/* A brick while it grows: columns [a,b) of tiers [c,d). */
typedef struct GrowingBrick {
    int a, b, c, d;
    int16_t hue;
    int over, under; /* tiers of the deepest column above, below */
    int64_t inside;  /* the price of bricks above and below that lie within it */
    int cross;
} GrowingBrick;

static int asked_at(const uint8_t *asked, int column) { return asked ? asked[column] : 0; }

static int deepest_top(const uint8_t *top, const CourseBrick *p)
{
    int most = 0;
    for (int x = p->column; x < p->column + p->columns; x++)
        if (top[x] > most) most = top[x];
    return most;
}

/* The price of a brick of the course above (below) that bears on (carries) this one alone. */
static int64_t inside_price(const Bed *bed, bool above, const CourseBrick *p)
{
    const uint8_t *beyond = above ? bed->top_higher : bed->top_lower;
    const bool held = deepest_top(beyond, p) > p->tier;
    return (held ? bed->prices->nested : bed->prices->hanging) +
           BEAR_PRICE * asked_at(above ? bed->bear_over : bed->carry_under, p->column);
}

/* Takes column b into the brick, whatever it must show. */
static void widen(const Bed *bed, GrowingBrick *t)
{
    const int x = t->b;
    if (bed->cross && x > t->a) t->cross += bed->cross[x];
    if (bed->top_over[x] > t->over) t->over = bed->top_over[x];
    if (bed->top_under[x] > t->under) t->under = bed->top_under[x];
    t->b++;
    for (int side = 0; side < 2; side++) {
        const View *view = side ? bed->above : bed->below;
        if (!view) continue;
        for (int tier = t->c; tier < t->d; tier++) {
            const CourseBrick *p = brick_in_view(view, bed->columns, x, tier);
            if (!p || p->tier != tier || p->column + p->columns != t->b || p->column < t->a ||
                tier + p->tiers > t->d)
                continue;
            t->inside += inside_price(bed, side, p);
        }
    }
}

/* Takes column b into the brick; false where it must end before. */
static bool grow_brick(const Strip *strip, GrowingBrick *t)
{
    const Bed *bed = strip->bed;
    const int x = t->b;
    if (x >= bed->columns) return false;
    for (int tier = t->c; tier < t->d; tier++) {
        const int16_t hue = hue_at(strip, x, tier);
        if (hue == HUE_NONE) return false;
        if (hue == HUE_FREE || hue == t->hue) continue;
        if (t->hue != HUE_FREE) return false;
        t->hue = hue;
    }
    widen(bed, t);
    return true;
}

static bool nested(const Bed *bed, const View *view, const GrowingBrick *t)
{
    const CourseBrick *p = brick_in_view(view, bed->columns, t->a, t->c);
    return p && p->column + p->columns >= t->b && p->column <= t->a && p->tier <= t->c &&
           p->tier + p->tiers >= t->d;
}

/* How many of the brick's ends lap a brick of this neighbour by less than a quarter of the
 * shorter of the two, counted in each tier; ends in line are priced as straight joints. */
static int short_laps(const Bed *bed, const View *view, const GrowingBrick *t)
{
    int found = 0;
    const int length = t->b - t->a;
    for (int tier = t->c; tier < t->d; tier++) {
        const CourseBrick *p = t->a > 0 ? brick_in_view(view, bed->columns, t->a, tier) : NULL;
        if (p && p->column < t->a && p->column + p->columns < t->b) {
            const int lap = p->column + p->columns - t->a;
            found += 4 * lap < (length < p->columns ? length : p->columns);
        }
        p = t->b < bed->columns ? brick_in_view(view, bed->columns, t->b - 1, tier) : NULL;
        if (p && p->column > t->a && p->column + p->columns > t->b) {
            const int lap = t->b - p->column;
            found += 4 * lap < (length < p->columns ? length : p->columns);
        }
    }
    return found;
}

static int64_t bond_price(const Bed *bed, const GrowingBrick *t)
{
    const BondPrices *w = bed->prices;
    int64_t price = t->inside;
    if (bed->below) {
        price += w->lap * short_laps(bed, bed->below, t);
        if (nested(bed, bed->below, t))
            price +=
                (t->over > t->c ? w->nested : w->hanging) + BEAR_PRICE * asked_at(bed->bear, t->a);
    }
    if (bed->above) {
        price += w->lap * short_laps(bed, bed->above, t);
        if (nested(bed, bed->above, t))
            price += (t->under > t->c ? w->nested : w->hanging) +
                     BEAR_PRICE * asked_at(bed->carry, t->a);
    }
    if (t->b - t->a == 1) price += w->sliver;
    return price - (int64_t)CROSS_GAIN * t->cross;
}

/* A range of the depth that bricks of one leaf fill. */
typedef struct Leaf {
    int from, to;          /* tiers */
    const int64_t *collar; /* by column: the price of parting it from the leaf behind; NULL: none */
    int64_t *cost;         /* columns x lengths, to be filled */
    int length[SIZE_LONGEST + 1];
} Leaf;

/* Prices of every brick that fills the leaf, by column and length. Where the band has units that
 * are not to be laid, a last length of 1 at no price steps over them. */
static void price_leaf(const Strip *strip, const Leaf *leaf, LeafRange *range)
{
    const Cuts *cuts = strip->bed->cuts;
    const int depth = leaf->to - leaf->from;
    const int n = cuts->count[depth], stride = n + strip->gaps;
    for (int a = 0; a < strip->columns; a++) {
        int64_t *price = leaf->cost + (size_t)a * (size_t)stride;
        GrowingBrick t = {.a = a, .b = a, .c = leaf->from, .d = leaf->to, .hue = HUE_FREE};
        int64_t parting = 0;
        int k = 0;
        while (k < n && grow_brick(strip, &t)) {
            if (leaf->collar) parting += leaf->collar[t.b - 1];
            if (t.b - a != leaf->length[k]) continue;
            price[k] = cuts->price[cuts->size[depth][k]] + parting + bond_price(strip->bed, &t);
            k++;
        }
        while (k < n) price[k++] = COURSE_DP_NEVER;
        if (!strip->gaps) continue;
        bool gap = true;
        for (int tier = leaf->from; tier < leaf->to; tier++)
            gap = gap && hue_at(strip, a, tier) == HUE_NONE;
        price[n] = gap ? 0 : COURSE_DP_NEVER;
    }
    *range = (LeafRange){
        .count = stride, .length = leaf->length, .cost = leaf->cost, .gap = strip->gaps};
}

/* The price of a joint right through at a column's left edge. */
static int64_t line_price(const Bed *bed, int x)
{
    const BondPrices *w = bed->prices;
    const int u = bed->under[x], o = bed->over[x];
    return (u > 0 ? (bed->edge_under[x] ? w->forced : w->straight) : 0) +
           (o > 0 ? (bed->edge_over[x] ? w->forced : w->straight) : 0) +
           w->third * ((u > 1) + (u > 0 && o > 0) + (o > 1));
}

/* The price of parting a column in front of tier s. */
static void price_collar(const Bed *bed, int s, int64_t *collar)
{
    for (int x = 0; x < bed->columns; x++) {
        int both = 0;
        for (int side = 0; side < 2; side++) {
            const View *view = side ? bed->above : bed->below;
            if (!view) continue;
            const CourseBrick *p = brick_in_view(view, bed->columns, x, s - 1);
            const CourseBrick *q = brick_in_view(view, bed->columns, x, s);
            both += p && q && p != q;
        }
        collar[x] = both * bed->prices->collar + (bed->whole ? WHOLE_PRICE * bed->whole[x] : 0);
    }
}

/* Copies the band's hues; true if there is anything to lay. */
static bool strip_init(Strip *strip, const Bed *bed, const Band *band, int16_t *field)
{
    const size_t columns = (size_t)bed->columns;
    *strip = (Strip){bed, field, bed->columns, band->from, band->to, false};
    memcpy(field, bed->hue + band->from * columns,
           (size_t)(band->to - band->from) * columns * sizeof *field);
    bool any = false;
    for (size_t i = 0; i < (size_t)(band->to - band->from) * columns; i++)
        if (field[i] == HUE_NONE)
            strip->gaps = true;
        else
            any = true;
    return any;
}

static Status place_brick(Course *course, const Bed *bed, const CourseBrick *brick, Fault *fault)
{
    for (int x = brick->column + 1; x < brick->column + brick->columns; x++)
        bed->room->crossed[x] = 1;
    for (int tier = brick->tier; tier < brick->tier + brick->tiers; tier++)
        for (int x = brick->column; x < brick->column + brick->columns; x++)
            bed->hue[(size_t)tier * (size_t)bed->columns + (size_t)x] = HUE_NONE;
    return course_add(course, brick, fault);
}

/* Leaf r of a band, as course_dp.h numbers them: right through, then back and front by split. */
static void leaf_init(Leaf *leaf, const Bed *bed, const Band *band, int r)
{
    CourseRoom *room = bed->room;
    const int split = band->from + (r + 1) / 2;
    leaf->from = r == 0 || r % 2 == 1 ? band->from : split;
    leaf->to = r == 0 || r % 2 == 0 ? band->to : split;
    leaf->cost = room->cost[r];
    const int depth = leaf->to - leaf->from, n = bed->cuts->count[depth];
    memcpy(leaf->length, bed->cuts->length[depth], (size_t)n * sizeof *leaf->length);
    leaf->length[n] = 1;
    leaf->collar = NULL;
    if (r == 0 || r % 2) return;
    price_collar(bed, split, room->collar[r / 2 - 1]);
    leaf->collar = room->collar[r / 2 - 1];
}

/* Takes over the bricks that the program found. */
static Status place_bricks(Course *course, const Bed *bed, const Leaf *leaf, int count,
                           Fault *fault)
{
    Status status = STATUS_OK;
    for (int i = count - 1; i >= 0 && !status; i--) {
        const LeafBrick b = bed->room->brick[i];
        const Leaf *l = &leaf[b.range];
        const int depth = l->to - l->from;
        if (b.nth == bed->cuts->count[depth]) continue; /* a place that stays empty */
        const CourseBrick brick = {.column = (int16_t)b.column,
                                   .tier = (int16_t)l->from,
                                   .columns = (uint8_t)l->length[b.nth],
                                   .tiers = (uint8_t)depth,
                                   .size = bed->cuts->size[depth][b.nth]};
        status = place_brick(course, bed, &brick, fault);
    }
    return status;
}

static Status lay_course_band(Course *course, const Bed *bed, const Band *band, int *stuck_out,
                              Fault *fault)
{
    CourseRoom *room = bed->room;
    Strip strip;
    if (!strip_init(&strip, bed, band, room->field)) return STATUS_OK;
    CourseDp dp = {.columns = bed->columns,
                   .splits = band->to - band->from - 1,
                   .longest = bed->cuts->longest,
                   .line = room->line};
    Leaf leaf[COURSE_DP_RANGES];
    for (int r = 0; r <= 2 * dp.splits; r++) {
        leaf_init(&leaf[r], bed, band, r);
        price_leaf(&strip, &leaf[r], &dp.range[r]);
    }
    for (int x = 0; x <= bed->columns; x++)
        room->line[x] = band->body && !room->crossed[x] ? line_price(bed, x) : 0;
    int count;
    if (course_dp_solve(&dp, room->step, room->brick, &count) >= COURSE_DP_NEVER) {
        *stuck_out = count;
        return STATUS_OK;
    }
    return place_bricks(course, bed, leaf, count, fault);
}

Status course_lay(Course *course, size_t kept, const Bed *bed, int *stuck_out, Fault *fault)
{
    uint8_t *crossed = bed->room->crossed;
    course->count = kept;
    *stuck_out = -1;
    memset(crossed, 0, (size_t)bed->columns + 1);
    for (size_t i = 0; i < kept; i++)
        for (int x = 1; x < course->brick[i].columns; x++) crossed[course->brick[i].column + x] = 1;
    Status status = STATUS_OK;
    for (int b = 0; b < bed->bands && !status && *stuck_out < 0; b++)
        status = lay_course_band(course, bed, &bed->band[b], stuck_out, fault);
    return status;
}

/* One column of collars of a course that is laid. */
static int64_t collar_of(const Bed *bed, const View *own, int x)
{
    int64_t price = 0;
    for (int s = 1; s < bed->depth; s++) {
        const CourseBrick *p = brick_in_view(own, bed->columns, x, s - 1),
                          *q = brick_in_view(own, bed->columns, x, s);
        if (!p || !q || p == q) continue;
        if (bed->whole) price += WHOLE_PRICE * bed->whole[x];
        for (int side = 0; side < 2; side++) {
            const View *view = side ? bed->above : bed->below;
            if (!view) continue;
            p = brick_in_view(view, bed->columns, x, s - 1);
            q = brick_in_view(view, bed->columns, x, s);
            if (p && q && p != q) price += bed->prices->collar;
        }
    }
    return price;
}

int64_t course_price(const View *own, const Bed *bed, const uint8_t *parted)
{
    int64_t price = 0;
    for (size_t i = 0; i < own->course->count; i++) {
        const CourseBrick *p = &own->course->brick[i];
        GrowingBrick t = {.a = p->column, .b = p->column, .c = p->tier, .d = p->tier + p->tiers};
        while (t.b < p->column + p->columns) widen(bed, &t);
        price += bed->cuts->price[p->size] + bond_price(bed, &t);
    }
    for (int x = 0; x < bed->columns; x++) {
        price += collar_of(bed, own, x);
        if (x > 0 && parted[x]) price += line_price(bed, x);
    }
    return price;
}
