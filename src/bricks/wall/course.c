#include "bricks/wall/course.h"

#include "base/memory.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { BRICK = 1000, PRESS = 1500, CROSS = 700, WHOLE = 1500 };

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
        cuts->price[i] = (int64_t)lround(BRICK * fmin(share, 1000));
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

bool course_same(const Course *a, const Course *b)
{
    return a->count == b->count &&
           (a->count == 0 || memcmp(a->piece, b->piece, a->count * sizeof *a->piece) == 0);
}

Status course_copy(Course *to, const Course *from, Fault *fault)
{
    const Status status =
        memory_grow(&to->piece, &to->capacity, from->count, sizeof *to->piece, fault);
    if (status) return status;
    to->count = from->count;
    if (from->count) memcpy(to->piece, from->piece, from->count * sizeof *to->piece);
    return STATUS_OK;
}

void course_clear(Course *course)
{
    memory_free(course->piece);
    *course = (Course){0};
}

static const Piece *piece_at(const View *view, int columns, int column, int tier)
{
    const int32_t i = view->unit[(size_t)tier * (size_t)columns + (size_t)column];
    return i < 0 ? NULL : &view->course->piece[i];
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
typedef struct TrialLay {
    int a, b, c, d;
    int16_t hue;
    int over, under; /* tiers of the deepest column above, below */
    int64_t inside;  /* the price of pieces above and below that lie within it */
    int cross;
} TrialLay;

static int press_at(const uint8_t *press, int column) { return press ? press[column] : 0; }

static int deepest(const uint8_t *top, const Piece *p)
{
    int most = 0;
    for (int x = p->column; x < p->column + p->columns; x++)
        if (top[x] > most) most = top[x];
    return most;
}

/* The price of a piece of the course above (below) that bears on (carries) this brick alone. */
static int64_t inside_price(const Bed *bed, bool above, const Piece *p)
{
    const uint8_t *beyond = above ? bed->top_higher : bed->top_lower;
    const bool held = deepest(beyond, p) > p->tier;
    return (held ? bed->prices->nested : bed->prices->hanging) +
           PRESS * press_at(above ? bed->bear_over : bed->carry_under, p->column);
}

/* Takes column b into the brick, whatever it must show. */
static void widen(const Bed *bed, TrialLay *t)
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
            const Piece *p = piece_at(view, bed->columns, x, tier);
            if (!p || p->tier != tier || p->column + p->columns != t->b || p->column < t->a ||
                tier + p->tiers > t->d)
                continue;
            t->inside += inside_price(bed, side, p);
        }
    }
}

/* Takes column b into the brick; false where it must end before. */
static bool grow(const Strip *strip, TrialLay *t)
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

static bool nested(const Bed *bed, const View *view, const TrialLay *t)
{
    const Piece *p = piece_at(view, bed->columns, t->a, t->c);
    return p && p->column + p->columns >= t->b && p->column <= t->a && p->tier <= t->c &&
           p->tier + p->tiers >= t->d;
}

/* How many of the brick's ends lap a brick of this neighbour by less than a quarter of the
 * shorter of the two, counted in each tier; ends in line are priced as straight joints. */
static int short_laps(const Bed *bed, const View *view, const TrialLay *t)
{
    int found = 0;
    const int length = t->b - t->a;
    for (int tier = t->c; tier < t->d; tier++) {
        const Piece *p = t->a > 0 ? piece_at(view, bed->columns, t->a, tier) : NULL;
        if (p && p->column < t->a && p->column + p->columns < t->b) {
            const int lap = p->column + p->columns - t->a;
            found += 4 * lap < (length < p->columns ? length : p->columns);
        }
        p = t->b < bed->columns ? piece_at(view, bed->columns, t->b - 1, tier) : NULL;
        if (p && p->column > t->a && p->column + p->columns > t->b) {
            const int lap = t->b - p->column;
            found += 4 * lap < (length < p->columns ? length : p->columns);
        }
    }
    return found;
}

static int64_t bond_price(const Bed *bed, const TrialLay *t)
{
    const BondPrices *w = bed->prices;
    int64_t price = t->inside;
    if (bed->below) {
        price += w->lap * short_laps(bed, bed->below, t);
        if (nested(bed, bed->below, t))
            price += (t->over > t->c ? w->nested : w->hanging) + PRESS * press_at(bed->bear, t->a);
    }
    if (bed->above) {
        price += w->lap * short_laps(bed, bed->above, t);
        if (nested(bed, bed->above, t))
            price +=
                (t->under > t->c ? w->nested : w->hanging) + PRESS * press_at(bed->carry, t->a);
    }
    if (t->b - t->a == 1) price += w->sliver;
    return price - (int64_t)CROSS * t->cross;
}

/* Prices of every brick that fills tiers [c,d), by column and length. Where the band has
 * units that are not to be laid, a last length of 1 at no price steps over them. */
static void price_range(const Strip *strip, const Cuts *cuts, int c, int d, const int64_t *collar,
                        LeafRange *range, int64_t *cost)
{
    const int n = cuts->count[d - c], stride = n + strip->gaps;
    for (int a = 0; a < strip->columns; a++) {
        int64_t *price = cost + (size_t)a * (size_t)stride;
        TrialLay t = {.a = a, .b = a, .c = c, .d = d, .hue = HUE_FREE};
        int64_t parting = 0;
        int k = 0;
        while (k < n && grow(strip, &t)) {
            if (collar) parting += collar[t.b - 1];
            if (t.b - a != cuts->length[d - c][k]) continue;
            price[k] = cuts->price[cuts->size[d - c][k]] + parting + bond_price(strip->bed, &t);
            k++;
        }
        while (k < n) price[k++] = COURSE_DP_NEVER;
        if (!strip->gaps) continue;
        bool gap = true;
        for (int tier = c; tier < d; tier++) gap = gap && hue_at(strip, a, tier) == HUE_NONE;
        price[n] = gap ? 0 : COURSE_DP_NEVER;
    }
    range->count = stride;
    range->gap = strip->gaps;
    range->cost = cost;
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
            const Piece *p = piece_at(view, bed->columns, x, s - 1);
            const Piece *q = piece_at(view, bed->columns, x, s);
            both += p && q && p != q;
        }
        collar[x] = both * bed->prices->collar + (bed->whole ? WHOLE * bed->whole[x] : 0);
    }
}

static Status add_piece(Course *course, Piece piece, Fault *fault)
{
    if (course->count == course->capacity) {
        const Status status = memory_grow(&course->piece, &course->capacity, course->count + 1,
                                          sizeof *course->piece, fault);
        if (status) return status;
    }
    course->piece[course->count++] = piece;
    return STATUS_OK;
}

static bool all_there(const Strip *strip, int x)
{
    for (int tier = strip->from; tier < strip->to; tier++)
        if (hue_at(strip, x, tier) == HUE_NONE) return false;
    return true;
}

/* Copies the band's hues; true if there is anything to lay. */
static bool strip_init(Strip *strip, const Bed *bed, const Band *band, int16_t *field)
{
    const size_t columns = (size_t)bed->columns;
    *strip = (Strip){bed, field, bed->columns, band->from, band->to, false};
    memcpy(field, bed->hue + band->from * columns,
           (size_t)(band->to - band->from) * columns * sizeof *field);
    bool any = false;
    for (int x = 0; x < bed->columns; x++) {
        const bool out = (band->whole && hue_at(strip, x, band->to - 1) == HUE_NONE) ||
                         (band->through && !all_there(strip, x));
        for (int tier = band->from; tier < band->to; tier++) {
            int16_t *hue = &field[(size_t)(tier - band->from) * columns + (size_t)x];
            if (out) *hue = HUE_NONE;
            if (*hue == HUE_NONE)
                strip->gaps = true;
            else
                any = true;
        }
    }
    return any;
}

static Status place(Course *course, const Bed *bed, Piece piece, uint8_t *crossed, Fault *fault)
{
    for (int x = piece.column + 1; x < piece.column + piece.columns; x++) crossed[x] = 1;
    for (int tier = piece.tier; tier < piece.tier + piece.tiers; tier++)
        for (int x = piece.column; x < piece.column + piece.columns; x++)
            bed->hue[(size_t)tier * (size_t)bed->columns + (size_t)x] = HUE_NONE;
    return add_piece(course, piece, fault);
}

static Status lay_band(Course *course, const Bed *bed, const Cuts *cuts, const Band *band,
                       CourseRoom *room, int *stuck_out, Fault *fault)
{
    Strip strip;
    if (!strip_init(&strip, bed, band, room->field)) return STATUS_OK;
    CourseDp leaves = {.columns = bed->columns,
                       .splits = band->to - band->from - 1,
                       .longest = cuts->longest,
                       .line = room->line};
    int lengths[COURSE_DP_RANGES][SIZE_LONGEST + 1], from[COURSE_DP_RANGES], to[COURSE_DP_RANGES];
    for (int r = 0; r <= 2 * leaves.splits; r++) {
        const int s = band->from + (r + 1) / 2;
        from[r] = r == 0 || r % 2 == 1 ? band->from : s;
        to[r] = r == 0 || r % 2 == 0 ? band->to : s;
        const int depth = to[r] - from[r], n = cuts->count[depth];
        memcpy(lengths[r], cuts->length[depth], (size_t)n * sizeof(int));
        lengths[r][n] = 1;
        leaves.range[r].length = lengths[r];
        int64_t *collar = r > 0 && r % 2 == 0 ? room->collar[r / 2 - 1] : NULL;
        if (collar) price_collar(bed, s, collar);
        price_range(&strip, cuts, from[r], to[r], collar, &leaves.range[r], room->cost[r]);
    }
    for (int x = 0; x <= bed->columns; x++)
        room->line[x] = band->body && !room->crossed[x] ? line_price(bed, x) : 0;
    int count;
    if (course_dp_solve(&leaves, room->step, room->brick, &count) >= COURSE_DP_NEVER) {
        *stuck_out = count;
        return STATUS_OK;
    }
    Status status = STATUS_OK;
    for (int i = count - 1; i >= 0 && !status; i--) {
        const LeafBrick b = room->brick[i];
        const int depth = to[b.range] - from[b.range];
        if (b.nth == cuts->count[depth]) continue;
        status = place(course, bed,
                       (Piece){.column = (int16_t)b.column,
                               .tier = (int16_t)from[b.range],
                               .columns = (uint8_t)lengths[b.range][b.nth],
                               .tiers = (uint8_t)depth,
                               .size = cuts->size[depth][b.nth]},
                       room->crossed, fault);
    }
    return status;
}

Status course_lay(Course *course, size_t kept, const Bed *bed, const Cuts *cuts, CourseRoom *room,
                  int *stuck_out, Fault *fault)
{
    course->count = kept;
    *stuck_out = -1;
    memset(room->crossed, 0, (size_t)bed->columns + 1);
    for (size_t i = 0; i < kept; i++)
        for (int x = 1; x < course->piece[i].columns; x++)
            room->crossed[course->piece[i].column + x] = 1;
    Status status = STATUS_OK;
    for (int b = 0; b < bed->bands && !status && *stuck_out < 0; b++)
        status = lay_band(course, bed, cuts, &bed->band[b], room, stuck_out, fault);
    return status;
}

/* One column of collars of a course that is laid. */
static int64_t collar_of(const Bed *bed, const View *own, int x)
{
    int64_t price = 0;
    for (int s = 1; s < bed->depth; s++) {
        const Piece *p = piece_at(own, bed->columns, x, s - 1),
                    *q = piece_at(own, bed->columns, x, s);
        if (!p || !q || p == q) continue;
        if (bed->whole) price += WHOLE * bed->whole[x];
        for (int side = 0; side < 2; side++) {
            const View *view = side ? bed->above : bed->below;
            if (!view) continue;
            p = piece_at(view, bed->columns, x, s - 1);
            q = piece_at(view, bed->columns, x, s);
            if (p && q && p != q) price += bed->prices->collar;
        }
    }
    return price;
}

int64_t course_price(const View *own, const Bed *bed, const Cuts *cuts, const uint8_t *parted)
{
    int64_t price = 0;
    for (size_t i = 0; i < own->course->count; i++) {
        const Piece *p = &own->course->piece[i];
        TrialLay t = {.a = p->column, .b = p->column, .c = p->tier, .d = p->tier + p->tiers};
        while (t.b < p->column + p->columns) widen(bed, &t);
        price += cuts->price[p->size] + bond_price(bed, &t);
    }
    for (int x = 0; x < bed->columns; x++) {
        price += collar_of(bed, own, x);
        if (x > 0 && parted[x]) price += line_price(bed, x);
    }
    return price;
}
