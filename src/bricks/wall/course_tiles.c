/* One course as an exact cover, priced by its bond.
 *
 * Idea. Seen on plan a course of a relief is like a tier of a plaque: units that show a colour, and
 * units behind them that are free. It is tiled like one, so that bricks go as deep as the relief
 * does. What the neighbours ask for is the price of a place: a brick that hangs on one other alone,
 * or that alone holds one, is weak; one that nothing carries is as dear as many bricks; joints in
 * line, short laps and slivers cost a little. Such prices only add to what bricks cost. So what
 * units are worth is found once a course, without them: it bounds the course, and guides every
 * search of it.
 *
 * Invariants. What is laid fills the course, at prices that are no higher than those of the laying
 * that was there.
 *
 * Source. The tiler's own (tiling/tiling_solver.c); the bonds of masonry (course.c, corbel.h). */
#include "bricks/wall/course_tiles.h"

#include "base/memory.h"
#include "bricks/tiling/components.h"
#include "bricks/tiling/tiling_solver.h"

#include <string.h>

/* Prices, in parts of PRICE_STEP, of which 64 are a brick. By trial on the reliefs of
 * tests/data/reliefs, which take 8042 bricks one to three thick, 6 of them weak two and three
 * thick: at half of WEAK 12 fewer, with 38 weak; without LAP 1 more, and laps of a quarter are 56 %
 * of all and not 57. */
enum {
    PRICE_STEP = SHAPE_ONE / 64,
    UNHELD = 8 * 64, /* nothing carries it */
    WEAK = 64,       /* one brick alone holds it, or it alone holds one */
    NESTED = 1,      /* it meets one brick of a neighbour */
    SLIVER = 1,      /* it is of one unit */
    LAP = 1,         /* a lap below a quarter, in each tier */
    LINE_TWO = 16,   /* a joint right through over one, if nothing crosses it; */
    LINE_THREE = 64, /* over two, */
    LINE_ASKED = 64  /* and each time it is asked away */
};

static size_t unit_at(const TileBed *bed, int x, int tier)
{
    return (size_t)tier * (size_t)bed->columns + (size_t)x;
}

/* ---- prices ---- */

typedef struct Box {
    int a, b, c, d; /* columns [a,b), tiers [c,d) */
} Box;

/* True if the brick has no unit of `fills` over or under it. */
static bool lies_alone(const TileBed *bed, const CourseBrick *q, const uint8_t *fills)
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
        p->alone[k][i] = lies_alone(p->bed, &side->view->course->brick[i], side->beyond);
        p->any_alone[k] = p->any_alone[k] || p->alone[k][i];
    }
}

/* What a joint right through at a line costs, shared among the units beside it. */
static int32_t line_price(const TileBed *bed, int x)
{
    const int u = bed->side[0].run[x], o = bed->side[1].run[x];
    const int price = LINE_TWO * ((u > 0) + (o > 0)) +
                      LINE_THREE * ((u > 1) + (u > 0 && o > 0) + (o > 1)) +
                      LINE_ASKED * bed->cross[x];
    int units = 0;
    for (int tier = 0; price && tier < bed->depth; tier++) {
        const uint8_t *unit = bed->fills + unit_at(bed, x, tier);
        units += unit[0] && unit[-1];
    }
    return units ? price * PRICE_STEP / units : 0;
}

/* Sums over all units to the left and behind. */
static bool sum_hanging(CoursePrices *p)
{
    const TileBed *bed = p->bed;
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

Status course_prices_init(CoursePrices *p, const TileBed *bed, Fault *fault)
{
    const size_t columns = (size_t)bed->columns + 1;
    *p = (CoursePrices){.bed = bed, .line = memory_create(columns, sizeof *p->line)};
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
static bool held_by_box_alone(const TileBed *bed, const CourseBrick *q, const Box *box)
{
    for (int tier = q->tier; tier < q->tier + q->tiers; tier++)
        for (int x = q->column; x < q->column + q->columns; x++) {
            const bool in = x >= box->a && x < box->b && tier >= box->c && tier < box->d;
            if (!in && bed->fills[unit_at(bed, x, tier)]) return false;
        }
    return true;
}

/* How many bricks of a neighbour the box meets, 2 for more and where it is not laid yet; and how
 * many it alone would hold. */
static int bricks_met(const CoursePrices *p, int k, const Box *box, int *holds)
{
    const TileBed *bed = p->bed;
    const CourseSide *side = &bed->side[k];
    int met = 0;
    if (!side->fills) return 0;
    for (int tier = box->c; tier < box->d; tier++)
        for (int x = box->a; x < box->b;) {
            const size_t unit = unit_at(bed, x, tier);
            if (!side->view && side->fills[unit]) return 2;
            const int32_t i = side->view ? side->view->unit[unit] : -1;
            x++;
            if (i < 0) continue;
            const CourseBrick *q = &side->view->course->brick[i];
            x = q->column + q->columns;
            if (tier != box->c && tier != q->tier) continue;
            met++;
            if (met > 1 && !p->any_alone[k]) return 2;
            *holds += p->alone[k][i] && held_by_box_alone(bed, q, box);
        }
    return met < 2 ? met : 2;
}

static const CourseBrick *brick_of(const TileBed *bed, const View *view, int x, int tier)
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
static int short_laps(const TileBed *bed, const View *view, const Box *box)
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

/* The box's part of a joint at its left end. */
static int32_t line_share(const CoursePrices *p, const Box *box)
{
    int32_t sum = 0;
    for (int tier = box->c; p->line[box->a] && tier < box->d; tier++)
        if (p->bed->fills[unit_at(p->bed, box->a - 1, tier)]) sum += p->line[box->a];
    return sum / PRICE_STEP * PRICE_STEP;
}

static bool is_carried(const CoursePrices *p, const Box *box)
{
    if (hanging_in(p, box) == 0) return true;
    const CourseBrick brick = {(int16_t)box->a, (int16_t)box->c, (uint8_t)(box->b - box->a),
                               (uint8_t)(box->d - box->c), 0};
    return corbel_carries(p->bed->corbel, &brick);
}

static int32_t price_of(const void *context, const Tile *tile)
{
    const CoursePrices *p = context;
    const TileBed *bed = p->bed;
    const Box box = {tile->column, tile->column + tile->columns, tile->row, tile->row + tile->rows};
    int price = 0, met = 0, holds = 0;
    for (int k = 0; k < 2; k++) {
        const int n = bricks_met(p, k, &box, &holds);
        met += n;
        if (n == 1) price += NESTED;
        if (bed->side[k].view) price += LAP * short_laps(bed, bed->side[k].view, &box);
    }
    if (met == 0 && bed->corbel->layers > 1) price += UNHELD;
    if (met == 1) price += WEAK * (1 + bed->bear[box.a] + bed->carry[box.a]);
    price += WEAK * holds;
    if (tile->columns * tile->rows == 1) price += SLIVER;
    if (!is_carried(p, &box)) price += UNHELD;
    return price * PRICE_STEP + line_share(p, &box);
}

bool course_prices_flaw(const CoursePrices *p, const CourseBrick *brick)
{
    const Box box = {brick->column, brick->column + brick->columns, brick->tier,
                     brick->tier + brick->tiers};
    int met = 0, holds = 0;
    for (int k = 0; k < 2; k++) met += bricks_met(p, k, &box, &holds);
    return met < 2 || holds || !is_carried(p, &box);
}

/* ---- as a field ---- */

/* A course cut into regions. */
typedef struct CourseField {
    TileField field;
    uint8_t *label;
    Components components;
} CourseField;

static void course_field_clear(CourseField *f)
{
    memory_free(f->label);
    components_clear(&f->components);
}

static Status course_field_init(CourseField *f, const Corbel *corbel, Fault *fault)
{
    const size_t units = (size_t)corbel->panel->columns * (size_t)corbel->depth;
    *f = (CourseField){.label = memory_create(units, 1)};
    if (!f->label) return memory_fault(fault, units, 1);
    for (size_t i = 0; i < units; i++) {
        const int16_t hue = corbel->hue[i];
        f->label[i] = hue == HUE_NONE   ? (uint8_t)TILE_EMPTY
                      : hue == HUE_FREE ? (uint8_t)TILE_FREE
                                        : (uint8_t)hue;
    }
    f->field =
        (TileField){.columns = corbel->panel->columns, .rows = corbel->depth, .label = f->label};
    const Status status = components_init(&f->components, &f->field, NULL, fault);
    if (status) course_field_clear(f);
    return status;
}

static Status field_region(Region *region, const CourseField *f, int32_t index,
                           const Shapes *shapes, Fault *fault)
{
    const Component *c = &f->components.component[index];
    return region_init(region, &f->field, f->components.cell + c->begin, c->cells, shapes, fault);
}

static Status bound_region(CourseWorth *worth, const Region *r, double effort, const Voice *voice,
                           Fault *fault)
{
    int64_t least = 0;
    int32_t *own = memory_create((size_t)r->cells, sizeof *own);
    if (!own) return memory_fault(fault, (size_t)r->cells, sizeof *own);
    const Status status = tiling_solve_bound(&least, own, r, effort, voice, fault);
    for (int32_t i = 0; i < r->cells; i++) worth->dual[r->cell[i]] = own[i];
    memory_free(own);
    worth->least += (double)least / SHAPE_ONE;
    return status;
}

Status course_tiles_bound(CourseWorth *worth_out, const Corbel *corbel, const Shapes *shapes,
                          double effort, const Voice *voice, Fault *fault)
{
    CourseField f;
    worth_out->least = 0;
    Status status = course_field_init(&f, corbel, fault);
    if (status) return status;
    for (int32_t i = 0; i < f.components.count && !status; i++) {
        Region region;
        status = field_region(&region, &f, i, shapes, fault);
        if (status) break;
        status = bound_region(worth_out, &region, effort, voice, fault);
        region_clear(&region);
    }
    course_field_clear(&f);
    return status;
}

/* ---- laying ---- */

/* One region while it is laid. */
typedef struct RegionLay {
    const TileBed *bed;
    Region region;
    int32_t *dual;   /* by cell */
    int32_t *tiling; /* as it was laid, or not whole */
    bool whole;
} RegionLay;

/* The cell of the region at a place of the field, or -1: cells ascend unless the frame is turned.
 */
static int32_t cell_of(const Region *r, int32_t at)
{
    int32_t low = 0, high = r->cells - 1;
    if (r->turned) {
        while (high >= 0 && r->cell[high] != at) high--;
        return high;
    }
    while (low <= high) {
        const int32_t middle = (low + high) / 2;
        if (r->cell[middle] == at) return middle;
        if (r->cell[middle] < at)
            low = middle + 1;
        else
            high = middle - 1;
    }
    return -1;
}

/* Takes the bricks that lie in the region over as its tiling. */
static void recall(RegionLay *lay, const Course *course)
{
    const Region *r = &lay->region;
    int32_t covered = 0;
    for (int32_t i = 0; i < r->cells; i++) {
        lay->dual[i] = lay->bed->dual[r->cell[i]];
        lay->tiling[i] = -1;
    }
    for (size_t k = 0; k < course->count; k++) {
        const CourseBrick *b = &course->brick[k];
        const int32_t i = cell_of(r, (int32_t)unit_at(lay->bed, b->column, b->tier));
        if (i < 0) continue;
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const Shape *s = &r->shapes->shape[r->shape[p]];
            if (s->columns != b->columns || s->rows != b->tiers) continue;
            lay->tiling[i] = p;
            covered += s->columns * s->rows;
        }
    }
    lay->whole = covered == r->cells;
}

static Status take_bricks(const RegionLay *lay, const TilingSolution *solution, Course *out,
                          int *stuck, Fault *fault)
{
    const Region *r = &lay->region;
    Status status = STATUS_OK;
    for (int32_t i = 0; i < r->cells && !status; i++) {
        if (solution->tiling[i] < 0) continue;
        const Shape *s = &r->shapes->shape[r->shape[solution->tiling[i]]];
        const int column = r->cell[i] % lay->bed->columns, tier = r->cell[i] / lay->bed->columns;
        if (s->size == SHAPE_BARE && *stuck < 0) *stuck = column;
        status = course_add(
            out, &(CourseBrick){(int16_t)column, (int16_t)tier, s->columns, s->rows, s->size},
            fault);
    }
    return status;
}

static Status lay_region(RegionLay *lay, const Course *before, Course *out, ProfileDp *dp,
                         int *stuck, Fault *fault)
{
    const size_t cells = (size_t)lay->region.cells;
    lay->dual = memory_create(cells, sizeof *lay->dual);
    lay->tiling = memory_create(cells, sizeof *lay->tiling);
    Status status =
        lay->dual && lay->tiling ? STATUS_OK : memory_fault(fault, cells, sizeof *lay->dual);
    if (!status) {
        recall(lay, before);
        TilingSolution solution;
        const TilingSearch search = {
            .dual = lay->dual, .start = lay->whole ? lay->tiling : NULL, .most = lay->bed->most};
        status = tiling_solve_priced(&solution, &lay->region, dp, &search, fault);
        if (!status) status = take_bricks(lay, &solution, out, stuck, fault);
        tiling_solution_clear(&solution);
    }
    memory_free(lay->dual);
    memory_free(lay->tiling);
    return status;
}

Status course_tiles_lay(Course *course, const Course *kept, const CoursePrices *prices,
                        ProfileDp *dp, int *stuck_out, Fault *fault)
{
    const TileBed *bed = prices->bed;
    CourseField f;
    Course out = {0};
    const TilePrices priced = {prices, price_of, PRICE_STEP};
    *stuck_out = -1;
    Status status = course_field_init(&f, bed->corbel, fault);
    if (status) return status;
    f.field.prices = &priced;
    status = course_copy(&out, kept, fault);
    for (int32_t i = 0; i < f.components.count && !status; i++) {
        RegionLay lay = {.bed = bed};
        status = field_region(&lay.region, &f, i, bed->shapes, fault);
        if (status) break;
        status = lay_region(&lay, course, &out, dp, stuck_out, fault);
        region_clear(&lay.region);
    }
    if (!status) status = course_copy(course, &out, fault);
    course_clear(&out);
    course_field_clear(&f);
    return status;
}

/* ---- one brick more ---- */

static bool may_lie_free(const TileBed *bed, const Box *box)
{
    const CourseBrick brick = {(int16_t)box->a, (int16_t)box->c, (uint8_t)(box->b - box->a),
                               (uint8_t)(box->d - box->c), 0};
    int hanging;
    return box->a >= 0 && box->c >= 0 && box->b <= bed->columns && box->d <= bed->depth &&
           corbel_may_lie(bed->corbel, &brick, &hanging);
}

/* What a brick costs beyond what its units are worth. */
static int64_t surplus_of(const CoursePrices *p, const Shape *s, const Box *box)
{
    const Tile tile = {.column = box->a, .row = box->c, .columns = s->columns, .rows = s->rows};
    int64_t cost = s->cost + price_of(p, &tile);
    for (int tier = box->c; tier < box->d; tier++)
        for (int x = box->a; x < box->b; x++) cost -= p->bed->dual[unit_at(p->bed, x, tier)];
    return cost;
}

CourseBrick course_tiles_across(const CoursePrices *p, int line)
{
    const TileBed *bed = p->bed;
    const bool hangs = hanging_in(p, &(Box){0, bed->columns, 0, bed->depth}) > 0;
    CourseBrick best = {0};
    int64_t least = INT64_MAX;
    for (int k = 0; k < bed->shapes->count; k++) {
        const Shape *s = &bed->shapes->shape[k];
        for (int a = line - s->columns + 1; a < line && s->size != SHAPE_BARE; a++)
            for (int c = 0; c + s->rows <= bed->depth; c++) {
                const Box box = {a, a + s->columns, c, c + s->rows};
                if (!may_lie_free(bed, &box)) continue;
                const CourseBrick brick = {(int16_t)a, (int16_t)c, s->columns, s->rows, s->size};
                const int64_t surplus = surplus_of(p, s, &box);
                if (surplus >= least) continue;
                if (hangs && !corbel_leaves_carriers(bed->corbel, &brick)) continue;
                least = surplus;
                best = brick;
            }
    }
    return best;
}
