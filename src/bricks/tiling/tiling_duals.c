/* Every shape has an array over all cells, with a cost that can never pay where the shape
 * does not fit, so that the inner loops have no branches. Sums over the cells of a
 * place are made by doubling: a run of 6 is a run of 4 and the run of 2 after it; a
 * shape two thick is a run over sums of two rows. What the uses of places cover comes
 * back the same way in reverse: a run is covered by its own uses and by the runs that it
 * is half or rest of. Shapes lie along the rows, or, in a second family, along the
 * columns, with the cells numbered by column. */
#include "bricks/tiling/tiling_duals.h"

#include "base/memory.h"
#include "base/simd8.h"

#include <math.h>
#include <string.h>

enum {
    CHUNK = 32 * SIMD8, /* cells whose runs stay at hand */
    SHORT_LEG = 5,      /* steps from one start to the next, at least; */
    LEG_PART = 6,       /* each leg ends when it is this part of all steps */
    FIRST_REWEIGH = 20, /* before, prices are too rough to tell which places matter */
    WORTH_MOST = 16 * SHAPE_ONE,
    SURPLUS_MOST = 1 << 30,
    NO_PLACE = INT32_MAX
};
static const float NEVER = 1e9F;  /* cost of a place that is none */
static const float NEAR = 0.1F;   /* surplus below which a place may still come to matter */
static const float TOWARD = 2.0F; /* steps of prices against those of places */

/* A longer run covers this one, so many cells from where it begins. */
typedef struct Part {
    int of, from;
} Part;

/* A run of cells as long as some shape, or as a part of such a run. */
typedef struct Run {
    int length;
    int half, rest;  /* indices of the two runs that it is made of */
    int shape;       /* index of the shape that is this long, or -1 */
    int part, parts; /* the runs that it is part of: the first, and how many */
    float *sum;      /* of prices over the run */
    float *cover;    /* uses of the run, and of those it is part of; 0 before the chunk */
} Run;

/* Shapes of one thickness along one direction; a run stands after those it is made of. */
typedef struct Strand {
    int runs; /* 0: no shape is this thick */
    Run run[SIZE_LONGEST + 1];
    Part part[2 * SIZE_LONGEST];
    float *sum; /* of prices over the thickness */
} Strand;

/* Cells in a row that all have a next cell across, in a row too. */
typedef struct Stretch {
    int32_t at, beside, cells;
} Stretch;

typedef struct Family {
    int thickest;      /* 0: no shape lies along this direction */
    Strand *strand;    /* by thickness less 1 */
    int32_t *order;    /* the region's number of this family's cell; NULL: the same */
    int32_t *rank;     /* this family's number of the region's cell; NULL: the same */
    Stretch *stretch;  /* in order */
    int32_t stretches; /* their number */
} Family;

struct TilingDuals {
    const Region *region;
    int32_t cells;
    size_t eights;  /* of the cells */
    size_t beyond;  /* a chunk: how far its runs reach, in whole eights */
    size_t room;    /* of an array: whole eights, and what a chunk's runs and theirs reach beyond */
    int steps, leg; /* taken, and of them since the last start */
    Family family[2];
    float *cost[SHAPES_MOST];       /* of a place, NEVER where the shape does not fit */
    float *use[SHAPES_MOST];        /* how much a place is used */
    float *use_home[SHAPES_MOST];   /* and was at the start of the leg */
    bool *active[SHAPES_MOST];      /* by eight cells: a place in them is used or nearly pays */
    float *price, *home, *cover;    /* by cell */
    float *reached;                 /* the price before it was drawn to its home */
    float *pace;                    /* step of the cell's price */
    float *total, *carry, *shifted; /* scratch of one family */
    float *pool;                    /* of the runs of a chunk, used by one after the other */
    int shapes;                     /* that fit anywhere, largest first */
    int used[SHAPES_MOST];
    int32_t *slack[SHAPES_MOST]; /* surplus of a shape's places by first cell, or NO_PLACE */
    int32_t *surplus;            /* of each place */
    int64_t *sums;               /* of worths, for region_sum */
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
static bool order_by_column(TilingDuals *p, Family *f)
{
    const Region *r = p->region;
    const size_t cells = (size_t)r->cells;
    int32_t *start = memory_create((size_t)r->columns + 1, sizeof *start);
    f->order = memory_create(cells, sizeof *f->order);
    f->rank = memory_create(cells, sizeof *f->rank);
    if (start && f->order && f->rank) {
        for (int32_t i = 0; i < r->cells; i++) start[r->column[i] + 1]++;
        for (int32_t i = 0; i < r->columns; i++) start[i + 1] += start[i];
        for (int32_t i = 0; i < r->cells; i++) {
            f->rank[i] = start[r->column[i]]++;
            f->order[f->rank[i]] = i;
        }
    }
    memory_free(start);
    return start && f->order && f->rank;
}

static int32_t rank_in(const Family *f, int32_t cell) { return f->rank ? f->rank[cell] : cell; }

/* The next cell across, in the family's numbers, or -1. */
static int32_t cell_beside(const Region *r, const Family *f, int32_t i)
{
    if (!f->order) return r->above[i];
    const int32_t cell = f->order[i], next = cell + 1;
    const bool joined =
        next < r->cells && r->row[next] == r->row[cell] && r->column[next] == r->column[cell] + 1;
    return joined ? f->rank[next] : -1;
}

/* Lists the stretches, or with NULL counts them only. */
static int32_t find_stretches(const Region *r, const Family *f, Stretch *stretch)
{
    int32_t count = 0, follows = -1;
    for (int32_t i = 0; i < r->cells; i++) {
        const int32_t beside = cell_beside(r, f, i);
        if (beside >= 0 && beside == follows) {
            if (stretch) stretch[count - 1].cells++;
        } else if (beside >= 0) {
            if (stretch) stretch[count] = (Stretch){i, beside, 1};
            count++;
        }
        follows = beside < 0 ? -1 : beside + 1;
    }
    return count;
}

static bool link_cells(TilingDuals *p, int which)
{
    Family *f = &p->family[which];
    if (which && !order_by_column(p, f)) return false;
    if (f->thickest < 2) return true;
    f->stretches = find_stretches(p->region, f, NULL);
    if (!f->stretches) return true;
    f->stretch = memory_create((size_t)f->stretches, sizeof *f->stretch);
    if (f->stretch) find_stretches(p->region, f, f->stretch);
    return f->stretch != NULL;
}

static float *floats(const TilingDuals *p) { return memory_create(p->room, sizeof(float)); }

/* Arrays of the shape's places. */
static bool add_shape(TilingDuals *p, int s)
{
    p->cost[s] = floats(p);
    p->use[s] = floats(p);
    p->use_home[s] = floats(p);
    p->active[s] = memory_create(p->eights, sizeof *p->active[s]);
    p->slack[s] = memory_create((size_t)p->cells, sizeof *p->slack[s]);
    if (!p->cost[s] || !p->use[s] || !p->use_home[s] || !p->active[s] || !p->slack[s]) return false;
    for (size_t i = 0; i < p->room; i++) p->cost[s][i] = NEVER;
    return true;
}

/* Notes of each run the longer ones that it is part of. */
static void list_parts(Strand *strand)
{
    int parts = 0;
    for (int i = 0; i < strand->runs; i++) {
        Run *run = &strand->run[i];
        run->part = parts;
        for (int k = i + 1; k < strand->runs; k++) {
            const Run *longer = &strand->run[k];
            if (longer->half == i) strand->part[parts++] = (Part){k, 0};
            if (longer->rest == i)
                strand->part[parts++] = (Part){k, strand->run[longer->half].length};
        }
        run->parts = parts - run->part;
    }
}

static bool make_family(TilingDuals *p, int which, const bool *used, int *most_runs)
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
    for (int t = 0; t < f->thickest; t++) list_parts(&f->strand[t]);
    return true;
}

/* Gives the runs of every strand their arrays out of the one pool. */
static bool share_pool(TilingDuals *p, int most_runs)
{
    const size_t room = CHUNK + 2 * p->beyond;
    p->pool = memory_create(2 * (size_t)most_runs * room, sizeof(float));
    if (!p->pool) return false;
    for (int which = 0; which < 2; which++)
        for (int t = 0; t < p->family[which].thickest; t++) {
            Strand *strand = &p->family[which].strand[t];
            for (int i = 0; i < strand->runs; i++) {
                strand->run[i].sum = p->pool + 2 * (size_t)i * room;
                strand->run[i].cover = p->pool + (2 * (size_t)i + 1) * room + p->beyond;
            }
        }
    return true;
}

static void enter_places(TilingDuals *p)
{
    const Region *r = p->region;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++) {
            const int s = r->shape[at];
            const int32_t rank = rank_in(&p->family[family_of(r, s)], i);
            p->cost[s][rank] = (float)r->shapes->shape[s].cost / SHAPE_ONE;
        }
}

static bool make(TilingDuals *p)
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
    p->sums = memory_create((size_t)r->cells + 1, sizeof *p->sums);
    if (!p->price || !p->home || !p->cover || !p->reached || !p->pace || !p->total || !p->carry ||
        !p->shifted || !p->surplus || !p->sums)
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
static void start_prices(TilingDuals *p)
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

static void weigh(TilingDuals *p, bool all);

Status tiling_duals_create(TilingDuals **price_out, const Region *region, Fault *fault)
{
    *price_out = NULL;
    TilingDuals *p = memory_create(1, sizeof *p);
    if (!p) return memory_fault(fault, 1, sizeof *p);
    p->region = region;
    p->cells = region->cells;
    p->eights = ((size_t)p->cells + SIMD8 - 1) / SIMD8;
    p->beyond = ((size_t)region->shapes->longest + SIMD8 - 1) / SIMD8 * SIMD8;
    p->room = p->eights * SIMD8 + 2 * p->beyond;
    if (!make(p)) {
        const Status status = memory_fault(fault, p->room, sizeof(float));
        tiling_duals_free(p);
        return status;
    }
    start_prices(p);
    weigh(p, true);
    *price_out = p;
    return STATUS_OK;
}

void tiling_duals_free(TilingDuals *p)
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
        memory_free(f->stretch);
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
    memory_free(p->sums);
    memory_free(p);
}

/* ---- inner loops, eight cells at a time ---- */

/* How far this step may lead from home. */
static float kept_of(const TilingDuals *p) { return (float)(p->leg + 1) / (float)(p->leg + 2); }

/* What an inner loop knows of a shape, from the first cell of the chunk. */
typedef struct Uses {
    bool *active;
    float *use;
    const float *home, *cost, *sum;
    float step, kept;
} Uses;

INLINED Uses uses_of(const TilingDuals *p, const Run *run, int thick, size_t at)
{
    const int s = run->shape;
    return (Uses){.active = p->active[s] + at / SIMD8,
                  .use = p->use[s] + at,
                  .home = p->use_home[s] + at,
                  .cost = p->cost[s] + at,
                  .sum = run->sum,
                  .step = 1 / (TOWARD * (float)(thick * run->length)),
                  .kept = kept_of(p)};
}

/* The step of eight places' uses, taken twice, and what is kept of it; adds what they
 * cover before that. */
INLINED void use_more(const Uses *u, size_t k, Simd8 *cover)
{
    const Simd8 use = simd8_at(u->use + k), home = simd8_at(u->home + k);
    const Simd8 moved = use + u->step * (simd8_at(u->sum + k) - simd8_at(u->cost + k));
    const Simd8 now = (Simd8)((Simd8Whole)moved & (moved > 0.0F)); /* or 0, without a branch */
    const Simd8 twice = 2.0F * now - use;
    *cover += twice;
    simd8_put(u->use + k, home + u->kept * (twice - home));
}

/* Counts those of eight places that are used or nearly pay, and notes if there are any. */
INLINED void count_near(const Uses *u, size_t k, float near, Simd8 *cover)
{
    const Simd8Whole counts =
        (simd8_at(u->use + k) > 0.0F) | (simd8_at(u->sum + k) - simd8_at(u->cost + k) > -near);
    const Simd8 count = (Simd8)((Simd8Whole)simd8(1.0F) & counts);
    float any = 0;
    for (int i = 0; i < SIMD8; i++) any += count[i];
    u->active[k / SIMD8] = any > 0;
    *cover += count;
}

/* The prices of a strand's runs that begin in a chunk of cells. */
WIDE static void add_up_runs(Strand *strand, size_t at, size_t end)
{
    strand->run[0].sum = strand->sum + at;
    for (int i = 1; i < strand->runs; i++) {
        const Run *run = &strand->run[i], *half_run = &strand->run[run->half];
        float *sum = run->sum;
        const float *half = half_run->sum, *rest = strand->run[run->rest].sum + half_run->length;
        for (size_t k = 0; k < end; k += SIMD8)
            simd8_put(sum + k, simd8_at(half + k) + simd8_at(rest + k));
    }
}

/* What covers eight of a run's places as part of longer ones. */
INLINED void add_longer(const float *const *longer, int count, size_t k, Simd8 *cover)
{
    for (int i = 0; i < count; i++) *cover += simd8_at(longer[i] + k);
}

/* What the shapes of a strand that begin in a chunk cover in return, added to the total:
 * of a run of one cell the cover is the total. */
WIDE static void cover_runs(TilingDuals *p, Strand *strand, int thick, const float *near, size_t at,
                            size_t cells)
{
    const float *longer[2 * SIZE_LONGEST];
    for (int i = strand->runs - 1; i >= 0; i--) {
        const Run *run = &strand->run[i];
        const int parts = run->parts;
        for (int k = 0; k < parts; k++) {
            const Part *part = &strand->part[run->part + k];
            longer[k] = strand->run[part->of].cover - part->from;
        }
        const size_t begun = run->shape < 0 ? 0 : cells;
        Uses uses = {0};
        if (begun) uses = uses_of(p, run, thick, at);
        float *cover = run->cover;
        if (!i) cover = p->total + at;
        size_t k = 0;
        for (; k < begun; k += SIMD8) {
            Simd8 sum = {0};
            add_longer(longer, parts, k, &sum);
            if (near)
                count_near(&uses, k, *near, &sum);
            else if (uses.active[k / SIMD8])
                use_more(&uses, k, &sum);
            if (!i) sum += simd8_at(cover + k);
            simd8_put(cover + k, sum);
        }
        for (; k < cells + p->beyond; k += SIMD8) {
            Simd8 sum = {0};
            add_longer(longer, parts, k, &sum);
            if (!i) sum += simd8_at(cover + k);
            simd8_put(cover + k, sum);
        }
    }
}

static void work_strand(TilingDuals *p, Strand *strand, int thick, const float *near)
{
    const size_t end = p->eights * SIMD8;
    for (size_t at = 0; at < end; at += CHUNK) {
        const size_t cells = end - at < CHUNK ? end - at : CHUNK;
        add_up_runs(strand, at, cells + p->beyond);
        cover_runs(p, strand, thick, near, at, cells);
    }
}

/* Adds to each cell what the next one across has; back: to that one what the cell has. */
WIDE static void add_across(const Family *f, float *to, const float *from, bool back)
{
    for (const Stretch *s = f->stretch; s < f->stretch + f->stretches; s++) {
        float *a = to + (back ? s->beside : s->at);
        const float *b = from + (back ? s->at : s->beside);
        int32_t k = 0;
        for (; k + SIMD8 <= s->cells; k += SIMD8)
            simd8_put(a + k, simd8_at(a + k) + simd8_at(b + k));
        for (; k < s->cells; k++) a[k] += b[k];
    }
}

/* Prices in the family's order. */
static void order_prices(const TilingDuals *p, const Family *f, float *out)
{
    if (!f->order)
        memcpy(out, p->price, (size_t)p->cells * sizeof *out);
    else
        for (int32_t i = 0; i < p->cells; i++) out[i] = p->price[f->order[i]];
}

/* Adds what a family covers, in its order, to the cells. */
WIDE static void add_cover(TilingDuals *p, const Family *f, const float *cover)
{
    if (!f->order)
        for (size_t k = 0; k < p->eights * SIMD8; k += SIMD8)
            simd8_put(p->cover + k, simd8_at(p->cover + k) + simd8_at(cover + k));
    else
        for (int32_t i = 0; i < p->cells; i++) p->cover[f->order[i]] += cover[i];
}

/* One family's part of a step. From the thickest strand to the thinnest, `total` holds
 * the cover of all shapes at least so thick, and `carry` what of it lies on this row
 * and what reaches it from rows before. */
static void work_family(TilingDuals *p, Family *f, const float *near)
{
    if (!f->thickest) return;
    const size_t cells = (size_t)p->cells, size = cells * sizeof(float);
    float *sum = f->strand[0].sum;
    order_prices(p, f, sum);
    for (int t = 1; t < f->thickest; t++) {
        memcpy(f->strand[t].sum, sum, size);
        add_across(f, f->strand[t].sum, f->strand[t - 1].sum, false);
    }
    memset(p->total, 0, p->room * sizeof *p->total);
    for (int t = f->thickest - 1; t >= 0; t--) {
        Strand *strand = &f->strand[t];
        if (strand->runs) work_strand(p, strand, t + 1, near);
        float *before = p->carry;
        p->carry = p->shifted;
        p->shifted = before;
        memcpy(p->carry, p->total, size);
        if (t < f->thickest - 1) add_across(f, p->carry, before, true);
    }
    add_cover(p, f, p->carry);
}

/* Sets the step of each price from the places over its cell that matter. With fewer of
 * them the steps may be longer: those that stay unused take no part. */
static void weigh(TilingDuals *p, bool all)
{
    const float near = all ? NEVER / 2 : NEAR;
    memset(p->cover, 0, p->room * sizeof *p->cover);
    for (int which = 0; which < 2; which++) work_family(p, &p->family[which], &near);
    for (int32_t i = 0; i < p->cells; i++)
        p->pace[i] = TOWARD / (p->cover[i] < 1 ? 1 : p->cover[i]);
}

/* Starts a leg where the last one ended. */
static void set_out(TilingDuals *p)
{
    p->leg = 0;
    memcpy(p->price, p->reached, (size_t)p->cells * sizeof *p->price);
    memcpy(p->home, p->price, (size_t)p->cells * sizeof *p->home);
    for (int k = 0; k < p->shapes; k++)
        memcpy(p->use_home[p->used[k]], p->use[p->used[k]], p->room * sizeof(float));
    if (p->steps >= FIRST_REWEIGH) weigh(p, false);
}

/* The step of each price, taken twice, and what is kept of it. */
WIDE static void move_prices(TilingDuals *p)
{
    const float kept = kept_of(p);
    for (size_t k = 0; k < p->eights * SIMD8; k += SIMD8) {
        const Simd8 move = simd8_at(p->pace + k) * (1.0F - simd8_at(p->cover + k));
        const Simd8 reached = simd8_at(p->price + k) + move, home = simd8_at(p->home + k);
        simd8_put(p->reached + k, reached);
        simd8_put(p->price + k, home + kept * (reached + move - home));
    }
}

void tiling_duals_improve(TilingDuals *p, int steps)
{
    for (int n = 0; n < steps; n++) {
        const bool long_enough = p->leg >= SHORT_LEG && p->leg * LEG_PART > p->steps;
        if (p->steps == 0 || long_enough) set_out(p);
        memset(p->cover, 0, p->room * sizeof *p->cover);
        for (int which = 0; which < 2; which++) work_family(p, &p->family[which], NULL);
        move_prices(p);
        p->steps++;
        p->leg++;
    }
}

int64_t tiling_duals_effort(const TilingDuals *p) { return (int64_t)p->cells * p->shapes; }

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

static int32_t surplus_of(const Region *r, const int64_t *sums, int32_t cell, int s)
{
    const int64_t surplus = r->shapes->shape[s].cost - region_sum(r, sums, cell, s);
    return surplus < SURPLUS_MOST ? (int32_t)surplus : SURPLUS_MOST;
}

static void find_slack(TilingDuals *p, const int32_t *worth)
{
    const Region *r = p->region;
    region_sums(r, worth, p->sums);
    for (int k = 0; k < p->shapes; k++)
        for (int32_t i = 0; i < r->cells; i++) p->slack[p->used[k]][i] = NO_PLACE;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++)
            p->slack[r->shape[at]][i] = surplus_of(r, p->sums, i, r->shape[at]);
}

/* The least slack of the places over a cell; not looked for further once it is 0. */
static int32_t least_over(const TilingDuals *p, int32_t cell)
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

static void use_slack(TilingDuals *p, int32_t cell, int32_t amount)
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
static void raise(TilingDuals *p, int32_t *worth)
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

int64_t tiling_duals_settle(TilingDuals *p, int32_t *worth)
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

const int32_t *tiling_duals_surplus(const TilingDuals *p) { return p->surplus; }

void tiling_duals_idle(const TilingDuals *p, int32_t full, int32_t *idle)
{
    const Region *r = p->region;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++) {
            const int s = r->shape[at];
            const float use = p->use[s][rank_in(&p->family[family_of(r, s)], i)];
            idle[at] = (int32_t)((float)full * (1 - fminf(fmaxf(use, 0), 1)));
        }
}
