/* A feasible dual of the set partitioning linear program of one region, close to the best.
 *
 * The program. Minimise the sum of cost x primal over all places, so that the primals of the
 * places over each cell (its cover) add up to 1 and none is below 0. Its dual: maximise the sum of
 * one value a cell, where the values of the cells of a place come to no more than it costs.
 *
 * Idea. The primal-dual hybrid gradient method steps both; the step of a place is
 * 1 / (PRIMAL_WEIGHT x cells that it covers), that of a cell PRIMAL_WEIGHT / (places over it): the
 * diagonal steps of Pock and Chambolle. The Halpern iteration reflects each step (takes it twice)
 * and mixes in the point where the epoch began, its anchor, with a weight of 1 / (n + 2) after n
 * steps; each epoch starts anew where the last one ended. What single precision has reached is then
 * made feasible exactly, in whole numbers: duals are lowered until no place is worth more than it
 * costs, and raised again, cell by cell, as far as that allows.
 *
 * Layout. Every shape has an array over all cells, with a cost that can never pay where it does not
 * fit, so that the inner loops have no branches. Sums over the cells of a place are made by
 * doubling: a run of 6 is a run of 4 and the run of 2 after it; a shape two thick is a run over
 * sums of two rows. The cover comes back the same way in reverse: a run is covered by its own
 * primals and by those of the runs that it is half or rest of. Shapes lie along the rows, or, in a
 * second family, along the columns, with the cells numbered by column.
 *
 * Invariants. Arrays are 0 beyond the cells, so that runs may reach beyond them. The order of all
 * additions is fixed, so that the result is the same on every machine. After make_feasible the
 * reduced cost of every place is 0 or more, which proves the bound.
 *
 * Source. Chambolle and Pock 2011, J. Math. Imaging Vis. 40:120-145; Pock and Chambolle 2011, ICCV;
 * Halpern 1967, Bull. AMS 73:957-961; Lu and Yang 2024, arXiv:2407.16144 (restarts, reflection). */
#include "bricks/tiling/tiling_duals.h"

#include "base/memory.h"
#include "base/simd8.h"

#include <math.h>
#include <string.h>

/* Of the method, by trial on the fields of tests/bench/bench_tile. Halved or doubled, one at a
 * time, they change the bricks of the pictures by 0.01 % at most, those of waves by 0.1 %. */
enum {
    EPOCH_LEAST = 5,     /* steps of an epoch, at least; */
    EPOCH_SHARE = 6,     /* it ends when it is this part of all steps, 1 / EPOCH_SHARE */
    FIRST_NEW_STEPS = 20 /* before, duals are too rough to tell which places matter */
};
static const float NEARLY_PAYS = 0.1F;   /* reduced cost, in bricks, below which a place may come to
                                            matter: those above take no part in the steps' sizes */
static const float PRIMAL_WEIGHT = 2.0F; /* steps of duals against those of primals */

enum {
    CHUNK_CELLS = 32 * SIMD8, /* whose runs stay in the processor's cache */
    DUAL_MOST = 16 * SHAPE_ONE,
    REDUCED_COST_MOST = 1 << 30,
    NO_PLACE = INT32_MAX
};
static const float NEVER = 1e9F; /* cost of a place that is none */

/* A longer run covers this one, so many cells from where it begins. */
typedef struct Part {
    int of, from;
} Part;

/* A run of cells as long as some shape, or as a part of such a run. */
typedef struct StrandRun {
    int length;
    int half, rest;  /* indices of the two runs that it is made of */
    int shape;       /* index of the shape that is this long, or -1 */
    int part, parts; /* the runs that it is part of: the first, and how many */
    float *sum;      /* of duals over the run */
    float *cover;    /* primals of the run, and of those it is part of; 0 before the chunk */
} StrandRun;

/* Shapes of one thickness along one direction; a run stands after those it is made of. */
typedef struct Strand {
    int runs; /* 0: no shape is this thick */
    StrandRun run[SIZE_LONGEST + 1];
    Part part[2 * SIZE_LONGEST];
    float *sum; /* of duals over the thickness */
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
    size_t eights; /* of the cells */
    size_t beyond; /* a chunk: how far its runs reach, in whole eights */
    size_t room;   /* of an array: whole eights, and what a chunk's runs and theirs reach beyond */
    int steps, epoch_steps; /* taken: in all, in this epoch */
    Family family[2];
    /* Of a shape, by its first cell in the family's order: */
    float *cost[SHAPES_MOST]; /* bricks, NEVER where the shape does not fit */
    float *primal[SHAPES_MOST];
    float *primal_anchor[SHAPES_MOST]; /* as the epoch began */
    bool *active[SHAPES_MOST];         /* by eight cells: a place in them is used or nearly pays */
    /* By cell: */
    float *dual;                    /* bricks */
    float *dual_anchor;             /* as the epoch began */
    float *dual_next;               /* after the plain step, before reflection and anchor */
    float *dual_step;               /* size of the step */
    float *cover;                   /* sum of the reflected primals over the cell */
    float *total, *carry, *shifted; /* scratch of one family */
    float *pool;                    /* of the runs of a chunk, used by one after the other */
    int shapes;                     /* that fit anywhere, largest first */
    int used[SHAPES_MOST];
    /* Whole numbers, in units of SHAPE_ONE: */
    int32_t *slack[SHAPES_MOST]; /* reduced cost by shape and first cell, or NO_PLACE */
    int32_t *reduced_cost;       /* of each place */
    int64_t *sums;               /* of duals, for region_sum */
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

static int add_strand_run(Strand *strand, int length)
{
    for (int i = 0; i < strand->runs; i++)
        if (strand->run[i].length == length) return i;
    StrandRun run = {.length = length, .shape = -1};
    if (length > 1) {
        int half = 1;
        while (2 * half < length) half *= 2;
        run.half = add_strand_run(strand, half);
        run.rest = add_strand_run(strand, length - half);
    }
    strand->run[strand->runs] = run;
    return strand->runs++;
}

/* Numbers the cells by column for the second family. */
static bool order_by_column(TilingDuals *d, Family *f)
{
    const Region *r = d->region;
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

static bool link_cells(TilingDuals *d, int which)
{
    Family *f = &d->family[which];
    if (which && !order_by_column(d, f)) return false;
    if (f->thickest < 2) return true;
    f->stretches = find_stretches(d->region, f, NULL);
    if (!f->stretches) return true;
    f->stretch = memory_create((size_t)f->stretches, sizeof *f->stretch);
    if (f->stretch) find_stretches(d->region, f, f->stretch);
    return f->stretch != NULL;
}

static float *floats(const TilingDuals *d) { return memory_create(d->room, sizeof(float)); }

/* Arrays of the shape's places. */
static bool add_shape(TilingDuals *d, int s)
{
    d->cost[s] = floats(d);
    d->primal[s] = floats(d);
    d->primal_anchor[s] = floats(d);
    d->active[s] = memory_create(d->eights, sizeof *d->active[s]);
    d->slack[s] = memory_create((size_t)d->cells, sizeof *d->slack[s]);
    if (!d->cost[s] || !d->primal[s] || !d->primal_anchor[s] || !d->active[s] || !d->slack[s])
        return false;
    for (size_t i = 0; i < d->room; i++) d->cost[s][i] = NEVER;
    return true;
}

/* Notes of each run the longer ones that it is part of. */
static void list_parts(Strand *strand)
{
    int parts = 0;
    for (int i = 0; i < strand->runs; i++) {
        StrandRun *run = &strand->run[i];
        run->part = parts;
        for (int k = i + 1; k < strand->runs; k++) {
            const StrandRun *longer = &strand->run[k];
            if (longer->half == i) strand->part[parts++] = (Part){k, 0};
            if (longer->rest == i)
                strand->part[parts++] = (Part){k, strand->run[longer->half].length};
        }
        run->parts = parts - run->part;
    }
}

static bool allocate_family(TilingDuals *d, int which, const bool *used, int *most_runs)
{
    const Region *r = d->region;
    Family *f = &d->family[which];
    for (int s = 0; s < r->shapes->count; s++)
        if (used[s] && family_of(r, s) == which && thickness_of(r, s) > f->thickest)
            f->thickest = thickness_of(r, s);
    if (!f->thickest) return true;
    f->strand = memory_create((size_t)f->thickest, sizeof *f->strand);
    if (!f->strand || !link_cells(d, which)) return false;
    for (int t = 0; t < f->thickest; t++)
        if (!(f->strand[t].sum = floats(d))) return false;
    for (int s = 0; s < r->shapes->count; s++) {
        if (!used[s] || family_of(r, s) != which) continue;
        Strand *strand = &f->strand[thickness_of(r, s) - 1];
        add_strand_run(strand, 1);
        const int run = add_strand_run(strand, length_of(r, s));
        strand->run[run].shape = s;
        if (strand->runs > *most_runs) *most_runs = strand->runs;
        if (!add_shape(d, s)) return false;
    }
    for (int t = 0; t < f->thickest; t++) list_parts(&f->strand[t]);
    return true;
}

/* Gives the runs of every strand their arrays out of the one pool. */
static bool share_pool(TilingDuals *d, int most_runs)
{
    const size_t room = CHUNK_CELLS + 2 * d->beyond;
    d->pool = memory_create(2 * (size_t)most_runs * room, sizeof(float));
    if (!d->pool) return false;
    for (int which = 0; which < 2; which++)
        for (int t = 0; t < d->family[which].thickest; t++) {
            Strand *strand = &d->family[which].strand[t];
            for (int i = 0; i < strand->runs; i++) {
                strand->run[i].sum = d->pool + 2 * (size_t)i * room;
                strand->run[i].cover = d->pool + (2 * (size_t)i + 1) * room + d->beyond;
            }
        }
    return true;
}

static void set_costs(TilingDuals *d)
{
    const Region *r = d->region;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++) {
            const int s = r->shape[at];
            const int32_t rank = rank_in(&d->family[family_of(r, s)], i);
            d->cost[s][rank] = (float)region_cost(r, at) / SHAPE_ONE;
        }
}

static bool allocate(TilingDuals *d)
{
    const Region *r = d->region;
    bool used[SHAPES_MOST] = {false};
    for (int64_t i = 0; i < region_places(r); i++) used[r->shape[i]] = true;
    int most_runs = 1;
    d->dual = floats(d);
    d->dual_anchor = floats(d);
    d->cover = floats(d);
    d->dual_next = floats(d);
    d->dual_step = floats(d);
    d->total = floats(d);
    d->carry = floats(d);
    d->shifted = floats(d);
    d->reduced_cost = memory_create((size_t)region_places(r), sizeof *d->reduced_cost);
    d->sums = memory_create((size_t)r->cells + 1, sizeof *d->sums);
    if (!d->dual || !d->dual_anchor || !d->cover || !d->dual_next || !d->dual_step || !d->total ||
        !d->carry || !d->shifted || !d->reduced_cost || !d->sums)
        return false;
    if (!allocate_family(d, 0, used, &most_runs) || !allocate_family(d, 1, used, &most_runs))
        return false;
    if (!share_pool(d, most_runs)) return false;
    for (int s = 0; s < r->shapes->count; s++)
        if (used[s]) d->used[d->shapes++] = s;
    set_costs(d);
    return true;
}

/* Every cell starts at what it costs in the cheapest shape for its area: a feasible dual. */
static void init_duals(TilingDuals *d)
{
    const Shapes *shapes = d->region->shapes;
    double least = INFINITY;
    for (int s = 0; s < shapes->count; s++) {
        const Shape *z = &shapes->shape[s];
        const double each = (double)z->cost / SHAPE_ONE / (z->columns * z->rows);
        if (d->primal[s] && each < least) least = each;
    }
    for (int32_t i = 0; i < d->cells; i++) d->dual[i] = d->dual_next[i] = (float)least;
}

static void set_dual_steps(TilingDuals *d, bool all);

Status tiling_duals_create(TilingDuals **duals_out, const Region *region, Fault *fault)
{
    *duals_out = NULL;
    TilingDuals *d = memory_create(1, sizeof *d);
    if (!d) return memory_fault(fault, 1, sizeof *d);
    d->region = region;
    d->cells = region->cells;
    d->eights = ((size_t)d->cells + SIMD8 - 1) / SIMD8;
    d->beyond = ((size_t)region->shapes->longest + SIMD8 - 1) / SIMD8 * SIMD8;
    d->room = d->eights * SIMD8 + 2 * d->beyond;
    if (!allocate(d)) {
        const Status status = memory_fault(fault, d->room, sizeof(float));
        tiling_duals_free(d);
        return status;
    }
    init_duals(d);
    set_dual_steps(d, true);
    *duals_out = d;
    return STATUS_OK;
}

void tiling_duals_free(TilingDuals *d)
{
    if (!d) return;
    for (int s = 0; s < SHAPES_MOST; s++) {
        memory_free(d->cost[s]);
        memory_free(d->primal[s]);
        memory_free(d->primal_anchor[s]);
        memory_free(d->active[s]);
        memory_free(d->slack[s]);
    }
    for (int which = 0; which < 2; which++) {
        Family *f = &d->family[which];
        for (int t = 0; f->strand && t < f->thickest; t++) memory_free(f->strand[t].sum);
        memory_free(f->strand);
        memory_free(f->order);
        memory_free(f->rank);
        memory_free(f->stretch);
    }
    memory_free(d->dual);
    memory_free(d->dual_anchor);
    memory_free(d->cover);
    memory_free(d->dual_next);
    memory_free(d->dual_step);
    memory_free(d->total);
    memory_free(d->carry);
    memory_free(d->shifted);
    memory_free(d->pool);
    memory_free(d->reduced_cost);
    memory_free(d->sums);
    memory_free(d);
}

/* ---- inner loops, eight cells at a time ---- */

/* The weight of the reflected step in this one; the anchor has the rest. */
static float halpern_weight(const TilingDuals *d)
{
    return (float)(d->epoch_steps + 1) / (float)(d->epoch_steps + 2);
}

/* The primals of a shape from the first cell of a chunk on, and what their step needs. */
typedef struct PrimalChunk {
    bool *active;
    float *primal;
    const float *anchor, *cost, *sum;
    float step;   /* size of theirs */
    float weight; /* of the step against the anchor */
} PrimalChunk;

INLINED PrimalChunk primal_chunk(const TilingDuals *d, const StrandRun *run, int thick, size_t at)
{
    const int s = run->shape;
    return (PrimalChunk){.active = d->active[s] + at / SIMD8,
                         .primal = d->primal[s] + at,
                         .anchor = d->primal_anchor[s] + at,
                         .cost = d->cost[s] + at,
                         .sum = run->sum,
                         .step = 1 / (PRIMAL_WEIGHT * (float)(thick * run->length)),
                         .weight = halpern_weight(d)};
}

/* Steps eight primals: down the reduced cost but not below 0, reflected, and drawn to the anchor.
 * The reflected primals are added to the cover. */
INLINED void step_primal(const PrimalChunk *u, size_t k, Simd8 *cover)
{
    const Simd8 primal = simd8_at(u->primal + k), anchor = simd8_at(u->anchor + k);
    const Simd8 moved = primal + u->step * (simd8_at(u->sum + k) - simd8_at(u->cost + k));
    const Simd8 now = (Simd8)((Simd8Whole)moved & (moved > 0.0F)); /* or 0, without a branch */
    const Simd8 reflected = 2.0F * now - primal;
    *cover += reflected;
    simd8_put(u->primal + k, anchor + u->weight * (reflected - anchor));
}

/* Counts those of eight places that are used or nearly pay, and notes if there are any. */
INLINED void count_active(const PrimalChunk *u, size_t k, float near, Simd8 *cover)
{
    const Simd8Whole counts =
        (simd8_at(u->primal + k) > 0.0F) | (simd8_at(u->sum + k) - simd8_at(u->cost + k) > -near);
    const Simd8 count = (Simd8)((Simd8Whole)simd8(1.0F) & counts);
    float any = 0;
    for (int i = 0; i < SIMD8; i++) any += count[i];
    u->active[k / SIMD8] = any > 0;
    *cover += count;
}

/* The duals of a strand's runs that begin in a chunk of cells. */
WIDE static void add_up_runs(Strand *strand, size_t at, size_t end)
{
    strand->run[0].sum = strand->sum + at;
    for (int i = 1; i < strand->runs; i++) {
        const StrandRun *run = &strand->run[i], *half_run = &strand->run[run->half];
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
WIDE static void cover_runs(TilingDuals *d, Strand *strand, int thick, const float *near, size_t at,
                            size_t cells)
{
    const float *longer[2 * SIZE_LONGEST];
    for (int i = strand->runs - 1; i >= 0; i--) {
        const StrandRun *run = &strand->run[i];
        const int parts = run->parts;
        for (int k = 0; k < parts; k++) {
            const Part *part = &strand->part[run->part + k];
            longer[k] = strand->run[part->of].cover - part->from;
        }
        const size_t begun = run->shape < 0 ? 0 : cells;
        PrimalChunk primals = {0};
        if (begun) primals = primal_chunk(d, run, thick, at);
        float *cover = run->cover;
        if (!i) cover = d->total + at;
        size_t k = 0;
        for (; k < begun; k += SIMD8) {
            Simd8 sum = {0};
            add_longer(longer, parts, k, &sum);
            if (near)
                count_active(&primals, k, *near, &sum);
            else if (primals.active[k / SIMD8])
                step_primal(&primals, k, &sum);
            if (!i) sum += simd8_at(cover + k);
            simd8_put(cover + k, sum);
        }
        for (; k < cells + d->beyond; k += SIMD8) {
            Simd8 sum = {0};
            add_longer(longer, parts, k, &sum);
            if (!i) sum += simd8_at(cover + k);
            simd8_put(cover + k, sum);
        }
    }
}

static void apply_strand(TilingDuals *d, Strand *strand, int thick, const float *near)
{
    const size_t end = d->eights * SIMD8;
    for (size_t at = 0; at < end; at += CHUNK_CELLS) {
        const size_t cells = end - at < CHUNK_CELLS ? end - at : CHUNK_CELLS;
        add_up_runs(strand, at, cells + d->beyond);
        cover_runs(d, strand, thick, near, at, cells);
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
static void order_duals(const TilingDuals *d, const Family *f, float *out)
{
    if (!f->order)
        memcpy(out, d->dual, (size_t)d->cells * sizeof *out);
    else
        for (int32_t i = 0; i < d->cells; i++) out[i] = d->dual[f->order[i]];
}

/* Adds what a family covers, in its order, to the cells. */
WIDE static void add_cover(TilingDuals *d, const Family *f, const float *cover)
{
    if (!f->order)
        for (size_t k = 0; k < d->eights * SIMD8; k += SIMD8)
            simd8_put(d->cover + k, simd8_at(d->cover + k) + simd8_at(cover + k));
    else
        for (int32_t i = 0; i < d->cells; i++) d->cover[f->order[i]] += cover[i];
}

/* One family's part of a step. From the thickest strand to the thinnest, `total` holds
 * the cover of all shapes at least so thick, and `carry` what of it lies on this row
 * and what reaches it from rows before. */
static void apply_family(TilingDuals *d, Family *f, const float *near)
{
    if (!f->thickest) return;
    const size_t cells = (size_t)d->cells, size = cells * sizeof(float);
    float *sum = f->strand[0].sum;
    order_duals(d, f, sum);
    for (int t = 1; t < f->thickest; t++) {
        memcpy(f->strand[t].sum, sum, size);
        add_across(f, f->strand[t].sum, f->strand[t - 1].sum, false);
    }
    memset(d->total, 0, d->room * sizeof *d->total);
    for (int t = f->thickest - 1; t >= 0; t--) {
        Strand *strand = &f->strand[t];
        if (strand->runs) apply_strand(d, strand, t + 1, near);
        float *before = d->carry;
        d->carry = d->shifted;
        d->shifted = before;
        memcpy(d->carry, d->total, size);
        if (t < f->thickest - 1) add_across(f, d->carry, before, true);
    }
    add_cover(d, f, d->carry);
}

/* Sets the size of each dual's step from the places over its cell: `all`, or those that matter.
 * With fewer of them steps may be longer, for places that stay unused take no part. */
static void set_dual_steps(TilingDuals *d, bool all)
{
    const float near = all ? NEVER / 2 : NEARLY_PAYS;
    memset(d->cover, 0, d->room * sizeof *d->cover);
    for (int which = 0; which < 2; which++) apply_family(d, &d->family[which], &near);
    for (int32_t i = 0; i < d->cells; i++)
        d->dual_step[i] = PRIMAL_WEIGHT / (d->cover[i] < 1 ? 1 : d->cover[i]);
}

/* Starts an epoch where the last one ended. */
static void start_epoch(TilingDuals *d)
{
    d->epoch_steps = 0;
    memcpy(d->dual, d->dual_next, (size_t)d->cells * sizeof *d->dual);
    memcpy(d->dual_anchor, d->dual, (size_t)d->cells * sizeof *d->dual_anchor);
    for (int k = 0; k < d->shapes; k++)
        memcpy(d->primal_anchor[d->used[k]], d->primal[d->used[k]], d->room * sizeof(float));
    if (d->steps >= FIRST_NEW_STEPS) set_dual_steps(d, false);
}

/* Steps the duals: up where a cell is covered too little; reflected, and drawn to the anchor. */
WIDE static void step_duals(TilingDuals *d)
{
    const float weight = halpern_weight(d);
    for (size_t k = 0; k < d->eights * SIMD8; k += SIMD8) {
        const Simd8 move = simd8_at(d->dual_step + k) * (1.0F - simd8_at(d->cover + k));
        const Simd8 next = simd8_at(d->dual + k) + move, anchor = simd8_at(d->dual_anchor + k);
        simd8_put(d->dual_next + k, next);
        simd8_put(d->dual + k, anchor + weight * (next + move - anchor));
    }
}

void tiling_duals_improve(TilingDuals *d, int steps, const Voice *voice)
{
    for (int n = 0; n < steps && !voice_stopped(voice); n++) {
        const bool long_enough =
            d->epoch_steps >= EPOCH_LEAST && d->epoch_steps * EPOCH_SHARE > d->steps;
        if (d->steps == 0 || long_enough) start_epoch(d);
        memset(d->cover, 0, d->room * sizeof *d->cover);
        for (int which = 0; which < 2; which++) apply_family(d, &d->family[which], NULL);
        step_duals(d);
        d->steps++;
        d->epoch_steps++;
    }
}

int64_t tiling_duals_effort(const TilingDuals *d) { return (int64_t)d->cells * d->shapes; }

/* ---- a feasible dual, in whole numbers ---- */

static int64_t duals_under(const Region *r, int32_t cell, int s, const int32_t *dual)
{
    int64_t sum = 0;
    for (int k = 0; k < r->high[s]; k++, cell = r->above[cell])
        for (int i = 0; i < r->wide[s]; i++) sum += dual[cell + i];
    return sum;
}

/* Takes what a place is worth too much from its cells, evenly. */
static void take_excess(const Region *r, int32_t cell, int s, int64_t excess, int32_t *dual)
{
    const int64_t area = (int64_t)r->wide[s] * r->high[s];
    const int32_t each = (int32_t)(excess / area);
    int32_t odd = (int32_t)(excess % area);
    for (int k = 0; k < r->high[s]; k++, cell = r->above[cell])
        for (int i = 0; i < r->wide[s]; i++) {
            dual[cell + i] -= each + (odd > 0);
            odd--;
        }
}

/* After this no place is worth more than it costs: lowering one never breaks another. */
static void restore_feasibility(const Region *r, int32_t *dual)
{
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const int s = r->shape[p];
            const int64_t excess = duals_under(r, i, s, dual) - region_cost(r, p);
            if (excess > 0) take_excess(r, i, s, excess, dual);
        }
}

static int32_t reduced_cost_of(const Region *r, const int64_t *sums, int32_t cell, int32_t place)
{
    const int64_t reduced_cost = region_cost(r, place) - region_sum(r, sums, cell, r->shape[place]);
    return reduced_cost < REDUCED_COST_MOST ? (int32_t)reduced_cost : REDUCED_COST_MOST;
}

static void find_slack(TilingDuals *d, const int32_t *dual)
{
    const Region *r = d->region;
    region_sums(r, dual, d->sums);
    for (int k = 0; k < d->shapes; k++)
        for (int32_t i = 0; i < r->cells; i++) d->slack[d->used[k]][i] = NO_PLACE;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++)
            d->slack[r->shape[at]][i] = reduced_cost_of(r, d->sums, i, at);
}

/* The least slack of the places over a cell; not looked for further once it is 0. */
static int32_t least_over(const TilingDuals *d, int32_t cell)
{
    const Region *r = d->region;
    int32_t least = NO_PLACE;
    for (int k = 0; k < d->shapes; k++) {
        const int32_t *slack = d->slack[d->used[k]];
        const int wide = r->wide[d->used[k]], high = r->high[d->used[k]];
        int32_t row = cell;
        for (int up = 0; up < high && row >= 0; up++, row = r->below[row])
            for (int32_t i = row < wide ? 0 : row - wide + 1; i <= row; i++)
                if (slack[i] < least) least = slack[i];
        if (least <= 0) return 0;
    }
    return least;
}

static void use_slack(TilingDuals *d, int32_t cell, int32_t amount)
{
    const Region *r = d->region;
    for (int k = 0; k < d->shapes; k++) {
        int32_t *slack = d->slack[d->used[k]];
        const int wide = r->wide[d->used[k]], high = r->high[d->used[k]];
        int32_t row = cell;
        for (int up = 0; up < high && row >= 0; up++, row = r->below[row])
            for (int32_t i = row < wide ? 0 : row - wide + 1; i <= row; i++)
                if (slack[i] != NO_PLACE) slack[i] -= amount;
    }
}

/* Raises each cell, in order, as far as the places over it allow. */
static void lift_duals(TilingDuals *d, int32_t *dual)
{
    const Region *r = d->region;
    find_slack(d, dual);
    for (int32_t i = 0; i < r->cells; i++) {
        const int32_t amount = least_over(d, i);
        if (!amount) continue;
        dual[i] += amount;
        use_slack(d, i, amount);
    }
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++)
            d->reduced_cost[at] = d->slack[r->shape[at]][i];
}

int64_t tiling_duals_make_feasible(TilingDuals *d, int32_t *dual)
{
    for (int32_t i = 0; i < d->cells; i++) {
        const double exact = (double)d->dual_next[i] * SHAPE_ONE;
        dual[i] = (int32_t)lround(fmin(fmax(exact, -DUAL_MOST), DUAL_MOST));
    }
    restore_feasibility(d->region, dual);
    lift_duals(d, dual);
    int64_t sum = 0;
    for (int32_t i = 0; i < d->cells; i++) sum += dual[i];
    return sum;
}

const int32_t *tiling_duals_reduced_costs(const TilingDuals *d) { return d->reduced_cost; }

void tiling_duals_idle(const TilingDuals *d, int32_t full, int32_t *idle)
{
    const Region *r = d->region;
    for (int32_t i = 0; i < r->cells; i++)
        for (int32_t at = r->first[i]; at < r->first[i + 1]; at++) {
            const int s = r->shape[at];
            const float primal = d->primal[s][rank_in(&d->family[family_of(r, s)], i)];
            idle[at] = (int32_t)((float)full * (1 - fminf(fmaxf(primal, 0), 1)));
        }
}
