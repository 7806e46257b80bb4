/* Every shape has an array over all cells, with a cost that can never pay where the shape
 * does not fit, so that the inner loops have no branches. Sums over the cells of a
 * place are made by doubling: a run of 6 is a run of 4 and the run of 2 after it; a
 * shape two thick is a run over sums of two rows. What the uses of places cover comes
 * back the same way in reverse. Shapes lie along the rows, or, in a second family,
 * along the columns, with the cells numbered by column. */
#include "price.h"

#include "memory.h"

#include <math.h>
#include <string.h>

enum {
    BLOCK = 16,         /* cells that an inner loop takes at a time */
    CHUNK = 16 * BLOCK, /* cells whose runs stay at hand */
    SHORT_LEG = 5,      /* steps from one start to the next, at least; */
    LEG_PART = 6,       /* each leg ends when it is this part of all steps */
    FIRST_REWEIGH = 50, /* before, prices are too rough to tell which places matter */
    WORTH_MOST = 16 * SHAPE_ONE,
    SURPLUS_MOST = 1 << 30,
    NO_PLACE = INT32_MAX
};
static const float NEVER = 1e9F;  /* cost of a place that is none */
static const float NEAR = 0.3F;   /* surplus below which a place may still come to matter */
static const float TOWARD = 2.0F; /* steps of prices against those of places */

/* A run of cells as long as some shape, or as a part of such a run. */
typedef struct Run {
    int length;
    int half, rest; /* indices of the two runs that it is made of */
    int shape;      /* index of the shape that is this long, or -1 */
    float *sum;     /* of prices over the run */
    float *cover;   /* uses of the run */
} Run;

/* Shapes of one thickness along one direction; a run stands after those it is made of. */
typedef struct Strand {
    int runs; /* 0: no shape is this thick */
    Run run[SIZE_LONGEST + 1];
    float *sum; /* of prices over the thickness */
} Strand;

typedef struct Family {
    int thickest;    /* 0: no shape lies along this direction */
    Strand *strand;  /* by thickness less 1 */
    int32_t *order;  /* the region's number of this family's cell */
    int32_t *rank;   /* this family's number of the region's cell */
    int32_t *beside; /* the next cell across, or the number of cells for none */
    int32_t *before; /* the cell that this one is beside, or the number of cells */
} Family;

struct Price {
    const Region *region;
    int32_t cells;
    size_t blocks;  /* of the cells */
    size_t beyond;  /* a chunk: how far its runs reach, in whole blocks */
    size_t room;    /* of an array: whole blocks, and the longest run beyond */
    int steps, leg; /* taken, and of them since the last start */
    Family family[2];
    float *cost[SHAPES_MOST];       /* of a place, NEVER where the shape does not fit */
    float *use[SHAPES_MOST];        /* how much a place is used */
    float *use_home[SHAPES_MOST];   /* and was at the start of the leg */
    bool *active[SHAPES_MOST];      /* by block: a place in it is used or nearly pays */
    float *price, *home, *cover;    /* by cell */
    float *reached;                 /* the price before it was drawn to its home */
    float *pace;                    /* step of the cell's price */
    float *total, *carry, *shifted; /* scratch of one family */
    float *pool;                    /* of the runs of a chunk, used by one after the other */
    int shapes;                     /* that fit anywhere, largest first */
    int used[SHAPES_MOST];
    int32_t *slack[SHAPES_MOST]; /* surplus of a shape's places by first cell, or NO_PLACE */
    int32_t *surplus;            /* of each place */
};

static int length_of(const Region *r, int s)
{
    return r->wide[s] > r->high[s] ? r->wide[s] : r->high[s];
}

static int thickness_of(const Region *r, int s)
{
    return r->wide[s] > r->high[s] ? r->high[s] : r->wide[s];
}

static int family_of(const Region *r, int s) { return r->wide[s] < r->high[s]; }

/* ---- making ---- */

static int add_run(Strand *strand, int length)
{
    for (int i = 0; i < strand->runs; i++)
        if (strand->run[i].length == length) return i;
    Run run = {.length = length, .shape = -1};
    if (length > 1) {
        int half = 1;
        while (2 * half < length) half *= 2;
        run.half = add_run(strand, half);
        run.rest = add_run(strand, length - half);
    }
    strand->run[strand->runs] = run;
    return strand->runs++;
}

/* Numbers the cells by column for the second family. */
static bool order_by_column(Price *p, Family *f)
{
    const Region *r = p->region;
    int32_t *start = memory_create((size_t)r->columns + 1, sizeof *start);
    if (!start) return false;
    for (int32_t i = 0; i < r->cells; i++) start[r->column[i] + 1]++;
    for (int32_t i = 0; i < r->columns; i++) start[i + 1] += start[i];
    for (int32_t i = 0; i < r->cells; i++) {
        f->rank[i] = start[r->column[i]]++;
        f->order[f->rank[i]] = i;
    }
    memory_free(start);
    for (int32_t i = 0; i < r->cells; i++) {
        const bool next =
            i + 1 < r->cells && r->row[i + 1] == r->row[i] && r->column[i + 1] == r->column[i] + 1;
        f->beside[f->rank[i]] = next ? f->rank[i + 1] : r->cells;
    }
    return true;
}

static bool link_cells(Price *p, int which)
{
    const Region *r = p->region;
    Family *f = &p->family[which];
    const size_t cells = (size_t)r->cells;
    f->order = memory_create(cells, sizeof *f->order);
    f->rank = memory_create(cells, sizeof *f->rank);
    f->beside = memory_create(cells, sizeof *f->beside);
    f->before = memory_create(cells, sizeof *f->before);
    if (!f->order || !f->rank || !f->beside || !f->before) return false;
    if (which) {
        if (!order_by_column(p, f)) return false;
    } else {
        for (int32_t i = 0; i < r->cells; i++) {
            f->order[i] = f->rank[i] = i;
            f->beside[i] = r->above[i] < 0 ? r->cells : r->above[i];
        }
    }
    for (int32_t i = 0; i < r->cells; i++) f->before[i] = r->cells;
    for (int32_t i = 0; i < r->cells; i++)
        if (f->beside[i] < r->cells) f->before[f->beside[i]] = i;
    return true;
}

static float *floats(const Price *p) { return memory_create(p->room, sizeof(float)); }

/* Arrays of the shape's places. */
static bool add_shape(Price *p, int s)
{
    p->cost[s] = floats(p);
    p->use[s] = floats(p);
    p->use_home[s] = floats(p);
    p->active[s] = memory_create(p->blocks, sizeof *p->active[s]);
    p->slack[s] = memory_create((size_t)p->cells, sizeof *p->slack[s]);
    if (!p->cost[s] || !p->use[s] || !p->use_home[s] || !p->active[s] || !p->slack[s]) return false;
    for (size_t i = 0; i < p->room; i++) p->cost[s][i] = NEVER;
    return true;
}

static bool make_family(Price *p, int which, const bool *used, int *most_runs)
{
    const Region *r = p->region;
    Family *f = &p->family[which];
    for (int s = 0; s < r->shapes->count; s++)
        if (used[s] && family_of(r, s) == which && thickness_of(r, s) > f->thickest)
            f->thickest = thickness_of(r, s);
    if (!f->thickest) return true;
    f->strand = memory_create((size_t)f->thickest, sizeof *f->strand);
    if (!f->strand || !link_cells(p, which)) return false;
    for (int t = 0; t < f->thickest; t++)
        if (!(f->strand[t].sum = floats(p))) return false;
    for (int s = 0; s < r->shapes->count; s++) {
        if (!used[s] || family_of(r, s) != which) continue;
        Strand *strand = &f->strand[thickness_of(r, s) - 1];
        add_run(strand, 1);
        const int run = add_run(strand, length_of(r, s));
        strand->run[run].shape = s;
        if (strand->runs > *most_runs) *most_runs = strand->runs;
        if (!add_shape(p, s)) return false;
    }
    return true;
}

/* Gives the runs of every strand their arrays out of the one pool. */
static bool share_pool(Price *p, int most_runs)
{
    const size_t room = CHUNK + 2 * p->beyond;
    p->pool = memory_create(2 * (size_t)most_runs * room, sizeof(float));
    if (!p->pool) return false;
    for (int which = 0; which < 2; which++)
        for (int t = 0; t < p->family[which].thickest; t++) {
            Strand *strand = &p->family[which].strand[t];
            for (int i = 0; i < strand->runs; i++) {
                strand->run[i].sum = p->pool + 2 * (size_t)i * room;
                strand->run[i].cover = p->pool + (2 * (size_t)i + 1) * room;
            }
        }
    return true;
}

static void enter_places(Price *p)
{
    const Region *r = p->region;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++) {
            const int s = r->shape[at];
            const int32_t rank = p->family[family_of(r, s)].rank[i];
            p->cost[s][rank] = (float)r->shapes->shape[s].cost / SHAPE_ONE;
        }
}

static bool make(Price *p)
{
    const Region *r = p->region;
    bool used[SHAPES_MOST] = {false};
    for (int64_t i = 0; i < region_places(r); i++) used[r->shape[i]] = true;
    int most_runs = 1;
    p->price = floats(p);
    p->home = floats(p);
    p->cover = floats(p);
    p->reached = floats(p);
    p->pace = floats(p);
    p->total = floats(p);
    p->carry = floats(p);
    p->shifted = floats(p);
    p->surplus = memory_create((size_t)region_places(r), sizeof *p->surplus);
    if (!p->price || !p->home || !p->cover || !p->reached || !p->pace || !p->total || !p->carry ||
        !p->shifted || !p->surplus)
        return false;
    if (!make_family(p, 0, used, &most_runs) || !make_family(p, 1, used, &most_runs)) return false;
    if (!share_pool(p, most_runs)) return false;
    for (int s = 0; s < r->shapes->count; s++)
        if (used[s]) p->used[p->shapes++] = s;
    enter_places(p);
    return true;
}

/* Every cell starts at what it costs in the cheapest shape for its area: a price that
 * keeps the rule. */
static void start_prices(Price *p)
{
    const Shapes *shapes = p->region->shapes;
    double least = INFINITY;
    for (int s = 0; s < shapes->count; s++) {
        const Shape *z = &shapes->shape[s];
        const double each = (double)z->cost / SHAPE_ONE / (z->columns * z->rows);
        if (p->use[s] && each < least) least = each;
    }
    for (int32_t i = 0; i < p->cells; i++) p->price[i] = p->reached[i] = (float)least;
}

static void weigh(Price *p, bool all);

Status price_create(Price **price_out, const Region *region, Fault *fault)
{
    *price_out = NULL;
    Price *p = memory_create(1, sizeof *p);
    if (!p) return memory_fault(fault, 1, sizeof *p);
    p->region = region;
    p->cells = region->cells;
    p->blocks = ((size_t)p->cells + BLOCK - 1) / BLOCK;
    p->beyond = ((size_t)region->shapes->longest + BLOCK - 1) / BLOCK * BLOCK;
    p->room = p->blocks * BLOCK + 2 * p->beyond;
    if (!make(p)) {
        const Status status = memory_fault(fault, p->room, sizeof(float));
        price_free(p);
        return status;
    }
    start_prices(p);
    weigh(p, true);
    *price_out = p;
    return STATUS_OK;
}

void price_free(Price *p)
{
    if (!p) return;
    for (int s = 0; s < SHAPES_MOST; s++) {
        memory_free(p->cost[s]);
        memory_free(p->use[s]);
        memory_free(p->use_home[s]);
        memory_free(p->active[s]);
        memory_free(p->slack[s]);
    }
    for (int which = 0; which < 2; which++) {
        Family *f = &p->family[which];
        for (int t = 0; f->strand && t < f->thickest; t++) memory_free(f->strand[t].sum);
        memory_free(f->strand);
        memory_free(f->order);
        memory_free(f->rank);
        memory_free(f->beside);
        memory_free(f->before);
    }
    memory_free(p->price);
    memory_free(p->home);
    memory_free(p->cover);
    memory_free(p->reached);
    memory_free(p->pace);
    memory_free(p->total);
    memory_free(p->carry);
    memory_free(p->shifted);
    memory_free(p->pool);
    memory_free(p->surplus);
    memory_free(p);
}

/* ---- inner loops, a block at a time ---- */

/* What is done element by element comes out the same from registers of any width. */
#if defined(__x86_64__) && defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__)
#define ANY_WIDTH __attribute__((target_clones("avx2", "default")))
#else
#define ANY_WIDTH
#endif

static inline void add_block(float *restrict to, const float *restrict a, const float *restrict b)
{
    for (int k = 0; k < BLOCK; k++) to[k] = a[k] + b[k];
}

static inline void pour_block(float *restrict to, const float *restrict from)
{
    for (int k = 0; k < BLOCK; k++) to[k] += from[k];
}

/* How far this step may lead from home. */
static float kept_of(const Price *p) { return (float)(p->leg + 1) / (float)(p->leg + 2); }

/* The step of a place's use, taken twice, and what is kept of it. */
static inline void use_block(float *restrict use, const float *restrict home, float *restrict cover,
                             const float *restrict sum, const float *restrict cost, float step,
                             float kept)
{
    for (int k = 0; k < BLOCK; k++) {
        const float moved = use[k] + step * (sum[k] - cost[k]);
        const float now = 0.5F * (moved + fabsf(moved)); /* moved or 0, without a branch */
        const float twice = 2 * now - use[k];
        cover[k] += twice;
        use[k] = home[k] + kept * (twice - home[k]);
    }
}

/* Counts places that are used or nearly pay; true if there are any. */
static inline bool count_block(const float *restrict use, float *restrict cover,
                               const float *restrict sum, const float *restrict cost, float near)
{
    float count = 0;
    for (int k = 0; k < BLOCK; k++) {
        const float paying = sum[k] - cost[k] > -near ? 1 : 0;
        const float counted = use[k] > 0 ? 1 : paying;
        cover[k] += counted;
        count += counted;
    }
    return count > 0;
}

/* The prices of a strand's runs that begin in a chunk of cells, and what their shapes
 * cover in return, added to the total. */
ANY_WIDTH static void work_chunk(Price *p, Strand *strand, int thick, const float *near, size_t at,
                                 size_t cells)
{
    const size_t end = cells + p->beyond;
    memcpy(strand->run[0].sum, strand->sum + at, end * sizeof(float));
    for (int i = 0; i < strand->runs; i++) {
        const Run *run = &strand->run[i];
        memset(run->cover, 0, end * sizeof *run->cover);
        if (!i) continue;
        const float *half = strand->run[run->half].sum;
        const float *rest = strand->run[run->rest].sum + strand->run[run->half].length;
        for (size_t k = 0; k < end; k += BLOCK) add_block(run->sum + k, half + k, rest + k);
    }
    for (int i = strand->runs - 1; i >= 0; i--) {
        const Run *run = &strand->run[i];
        if (run->shape >= 0) {
            float *use = p->use[run->shape] + at, *cost = p->cost[run->shape] + at;
            const float *home = p->use_home[run->shape] + at;
            bool *active = p->active[run->shape] + at / BLOCK;
            const float step = 1 / (TOWARD * (float)(thick * run->length));
            for (size_t k = 0; k < cells; k += BLOCK) {
                if (near)
                    active[k / BLOCK] =
                        count_block(use + k, run->cover + k, run->sum + k, cost + k, *near);
                else if (active[k / BLOCK])
                    use_block(use + k, home + k, run->cover + k, run->sum + k, cost + k, step,
                              kept_of(p));
            }
        }
        if (!i) continue;
        float *half = strand->run[run->half].cover;
        float *rest = strand->run[run->rest].cover + strand->run[run->half].length;
        for (size_t k = 0; k < end; k += BLOCK) pour_block(half + k, run->cover + k);
        for (size_t k = 0; k < end; k += BLOCK) pour_block(rest + k, run->cover + k);
    }
    for (size_t k = 0; k < end; k += BLOCK) pour_block(p->total + at + k, strand->run[0].cover + k);
}

static void work_strand(Price *p, Strand *strand, int thick, const float *near)
{
    const size_t end = p->blocks * BLOCK;
    for (size_t at = 0; at < end; at += CHUNK)
        work_chunk(p, strand, thick, near, at, end - at < CHUNK ? end - at : CHUNK);
}

/* One family's part of a step. From the thickest strand to the thinnest, `total` holds
 * the cover of all shapes at least so thick, and `carry` what of it lies on this row
 * and what reaches it from rows before. */
ANY_WIDTH static void work_family(Price *p, Family *f, const float *near)
{
    if (!f->thickest) return;
    const size_t cells = (size_t)p->cells;
    for (size_t i = 0; i < cells; i++) f->strand[0].sum[i] = p->price[f->order[i]];
    for (int t = 1; t < f->thickest; t++)
        for (size_t i = 0; i < cells; i++)
            f->strand[t].sum[i] = f->strand[0].sum[i] + f->strand[t - 1].sum[f->beside[i]];
    memset(p->total, 0, p->room * sizeof *p->total);
    memset(p->carry, 0, p->room * sizeof *p->carry);
    for (int t = f->thickest - 1; t >= 0; t--) {
        Strand *strand = &f->strand[t];
        if (strand->runs) work_strand(p, strand, t + 1, near);
        if (t == f->thickest - 1) {
            memcpy(p->carry, p->total, cells * sizeof *p->carry);
        } else {
            for (size_t i = 0; i < cells; i++) p->shifted[i] = p->carry[f->before[i]];
            for (size_t k = 0; k < cells; k += BLOCK)
                add_block(p->carry + k, p->total + k, p->shifted + k);
        }
        memset(p->carry + cells, 0, (p->room - cells) * sizeof *p->carry);
    }
    for (size_t i = 0; i < cells; i++) p->cover[f->order[i]] += p->carry[i];
}

/* Sets the step of each price from the places over its cell that matter. With fewer of
 * them the steps may be longer: those that stay unused take no part. */
static void weigh(Price *p, bool all)
{
    const float near = all ? NEVER / 2 : NEAR;
    memset(p->cover, 0, p->room * sizeof *p->cover);
    for (int which = 0; which < 2; which++) work_family(p, &p->family[which], &near);
    for (int32_t i = 0; i < p->cells; i++)
        p->pace[i] = TOWARD / (p->cover[i] < 1 ? 1 : p->cover[i]);
}

/* Starts a leg where the last one ended. */
static void set_out(Price *p)
{
    p->leg = 0;
    memcpy(p->price, p->reached, (size_t)p->cells * sizeof *p->price);
    memcpy(p->home, p->price, (size_t)p->cells * sizeof *p->home);
    for (int k = 0; k < p->shapes; k++)
        memcpy(p->use_home[p->used[k]], p->use[p->used[k]], p->room * sizeof(float));
    if (p->steps >= FIRST_REWEIGH) weigh(p, false);
}

void price_improve(Price *p, int steps)
{
    for (int n = 0; n < steps; n++) {
        const bool long_enough = p->leg >= SHORT_LEG && p->leg * LEG_PART > p->steps;
        if (p->steps == 0 || long_enough) set_out(p);
        const float kept = kept_of(p);
        memset(p->cover, 0, p->room * sizeof *p->cover);
        for (int which = 0; which < 2; which++) work_family(p, &p->family[which], NULL);
        for (int32_t i = 0; i < p->cells; i++) {
            const float move = p->pace[i] * (1 - p->cover[i]);
            p->reached[i] = p->price[i] + move;
            p->price[i] = p->home[i] + kept * (p->reached[i] + move - p->home[i]);
        }
        p->steps++;
        p->leg++;
    }
}

int64_t price_effort(const Price *p) { return (int64_t)p->cells * p->shapes; }

/* ---- settling, in whole numbers ---- */

static int64_t worth_of(const Region *r, int32_t cell, int s, const int32_t *worth)
{
    int64_t sum = 0;
    for (int k = 0; k < r->high[s]; k++, cell = r->above[cell])
        for (int i = 0; i < r->wide[s]; i++) sum += worth[cell + i];
    return sum;
}

/* Takes what a place is worth too much from its cells, evenly. */
static void take(const Region *r, int32_t cell, int s, int64_t excess, int32_t *worth)
{
    const int64_t area = (int64_t)r->wide[s] * r->high[s];
    const int32_t each = (int32_t)(excess / area);
    int32_t odd = (int32_t)(excess % area);
    for (int k = 0; k < r->high[s]; k++, cell = r->above[cell])
        for (int i = 0; i < r->wide[s]; i++) {
            worth[cell + i] -= each + (odd > 0);
            odd--;
        }
}

/* After this no place is worth more than it costs: lowering one never breaks another. */
static void lower(const Region *r, int32_t *worth)
{
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const int s = r->shape[p];
            const int64_t excess = worth_of(r, i, s, worth) - r->shapes->shape[s].cost;
            if (excess > 0) take(r, i, s, excess, worth);
        }
}

static int32_t surplus_of(const Region *r, int32_t cell, int s, const int32_t *worth)
{
    const int64_t surplus = r->shapes->shape[s].cost - worth_of(r, cell, s, worth);
    return surplus < SURPLUS_MOST ? (int32_t)surplus : SURPLUS_MOST;
}

static void find_slack(Price *p, const int32_t *worth)
{
    const Region *r = p->region;
    for (int k = 0; k < p->shapes; k++)
        for (int32_t i = 0; i < r->cells; i++) p->slack[p->used[k]][i] = NO_PLACE;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++)
            p->slack[r->shape[at]][i] = surplus_of(r, i, r->shape[at], worth);
}

/* The least slack of the places over a cell; not looked for further once it is 0. */
static int32_t least_over(const Price *p, int32_t cell)
{
    const Region *r = p->region;
    int32_t least = NO_PLACE;
    for (int k = 0; k < p->shapes; k++) {
        const int32_t *slack = p->slack[p->used[k]];
        const int wide = r->wide[p->used[k]], high = r->high[p->used[k]];
        int32_t row = cell;
        for (int up = 0; up < high && row >= 0; up++, row = r->below[row])
            for (int32_t i = row < wide ? 0 : row - wide + 1; i <= row; i++)
                if (slack[i] < least) least = slack[i];
        if (least <= 0) return 0;
    }
    return least;
}

static void use_slack(Price *p, int32_t cell, int32_t amount)
{
    const Region *r = p->region;
    for (int k = 0; k < p->shapes; k++) {
        int32_t *slack = p->slack[p->used[k]];
        const int wide = r->wide[p->used[k]], high = r->high[p->used[k]];
        int32_t row = cell;
        for (int up = 0; up < high && row >= 0; up++, row = r->below[row])
            for (int32_t i = row < wide ? 0 : row - wide + 1; i <= row; i++)
                if (slack[i] != NO_PLACE) slack[i] -= amount;
    }
}

/* Raises each cell, in order, as far as the places over it allow. */
static void raise(Price *p, int32_t *worth)
{
    const Region *r = p->region;
    find_slack(p, worth);
    for (int32_t i = 0; i < r->cells; i++) {
        const int32_t amount = least_over(p, i);
        if (!amount) continue;
        worth[i] += amount;
        use_slack(p, i, amount);
    }
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++)
            p->surplus[at] = p->slack[r->shape[at]][i];
}

int64_t price_settle(Price *p, int32_t *worth)
{
    for (int32_t i = 0; i < p->cells; i++) {
        const double exact = (double)p->reached[i] * SHAPE_ONE;
        worth[i] = (int32_t)lround(fmin(fmax(exact, -WORTH_MOST), WORTH_MOST));
    }
    lower(p->region, worth);
    raise(p, worth);
    int64_t sum = 0;
    for (int32_t i = 0; i < p->cells; i++) sum += worth[i];
    return sum;
}

const int32_t *price_surplus(const Price *p) { return p->surplus; }

void price_idle(const Price *p, int32_t full, int32_t *idle)
{
    const Region *r = p->region;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++) {
            const int s = r->shape[at];
            const float use = p->use[s][p->family[family_of(r, s)].rank[i]];
            idle[at] = (int32_t)((float)full * (1 - fminf(fmaxf(use, 0), 1)));
        }
}
