/* Idea. The factor's pattern is found by merging, column by column, what each child of the
 * elimination tree leaves below it. Numbers are then taken right-looking: a finished column is
 * taken from all later ones that it has rows in, walking both in step. The inverse of each
 * triangle on the diagonal is kept instead of the triangle, so that a solve is products alone.
 *
 * An unknown rests on those that are eliminated after it on its way to the root of the elimination
 * tree, and on no others. So where few right sides are not 0, and the solution is asked for near
 * them alone, most of the tree is left out both ways.
 *
 * Invariants. Rows ascend within a column; a column's rows without its first are rows of the
 * column that this first one names. Sums are in an order that pattern and order alone decide.
 *
 * Source. T. A. Davis, Direct Methods for Sparse Linear Systems, SIAM 2006, chapter 4, from
 * memory. */
#include "clutch/block_cholesky.h"

#include "base/memory.h"
#include "base/simd8.h"
#include "clutch/structure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Two columns of a block are three vectors: the first column, the end of it and the beginning of
 * the second, the second. */
typedef double Quad __attribute__((vector_size(32), aligned(8), may_alias));

/* Before a loop over a block: it is run out. Each compiler has a word of its own for that. */
#ifdef __clang__
#define UNROLLED _Pragma("clang loop unroll(full)")
#else
#define UNROLLED _Pragma("GCC unroll 6")
#endif

/* Pairs taken between two looks for a stop, which then comes within a millisecond. */
enum { PAIRS_UNHEARD = 1024 };

/* ---- the pattern ---- */

typedef struct Pattern {
    const BlockSystem *system;
    uint32_t *from, *to;    /* n + 1, pairs: later neighbours by rank */
    uint32_t *child, *next; /* n: first child and its sibling in the elimination tree, + 1 */
    uint32_t *mark;         /* n: the column that took the row last, + 1 */
    size_t rows, capacity;  /* of `row` */
    uint32_t *row;
} Pattern;

static void list_later(const BlockCholesky *f, Pattern *p)
{
    const BlockPair *pair = p->system->pair;
    for (size_t i = 0; i < p->system->pairs; i++) {
        const uint32_t a = f->rank[pair[i].low], b = f->rank[pair[i].high];
        p->from[(a < b ? a : b) + 1]++;
    }
    for (uint32_t i = 0; i < f->n; i++) p->from[i + 1] += p->from[i];
    for (uint32_t i = 0; i < f->n; i++) p->mark[i] = p->from[i];
    for (size_t i = 0; i < p->system->pairs; i++) {
        const uint32_t a = f->rank[pair[i].low], b = f->rank[pair[i].high];
        p->to[p->mark[a < b ? a : b]++] = a < b ? b : a;
    }
    memset(p->mark, 0, f->n * sizeof *p->mark);
}

static int ascending(const void *p, const void *q)
{
    const uint32_t a = *(const uint32_t *)p, b = *(const uint32_t *)q;
    return a < b ? -1 : a > b;
}

static Status take_rows(Pattern *p, uint32_t column, const uint32_t *row, size_t n, Fault *fault)
{
    const Status status =
        memory_grow(&p->row, &p->capacity, p->rows + n + 1, sizeof *p->row, fault);
    for (size_t i = 0; i < n && !status; i++) {
        if (row[i] <= column || p->mark[row[i]] == column + 1) continue;
        p->mark[row[i]] = column + 1;
        p->row[p->rows++] = row[i];
    }
    return status;
}

static Status merge_columns(BlockCholesky *f, Pattern *p, Fault *fault)
{
    Status status = STATUS_OK;
    for (uint32_t j = 0; j < f->n && !status; j++) {
        if (voice_stopped(p->system->voice)) return structure_stopped(fault);
        const size_t begin = f->begin[j] = (uint32_t)p->rows;
        status = take_rows(p, j, p->to + p->from[j], p->from[j + 1] - p->from[j], fault);
        for (uint32_t c = p->child[j]; c && !status; c = p->next[c - 1]) {
            /* The rows may move as room is made for them. */
            const size_t rows = f->begin[c] - f->begin[c - 1];
            status = memory_grow(&p->row, &p->capacity, p->rows + rows + 1, sizeof *p->row, fault);
            if (!status) status = take_rows(p, j, p->row + f->begin[c - 1], rows, fault);
        }
        if (status) return status;
        if (p->rows >= UINT32_MAX / 2) return memory_fault(fault, p->rows, BLOCK_SQUARE);
        qsort(p->row + begin, p->rows - begin, sizeof *p->row, ascending);
        f->begin[j + 1] = (uint32_t)p->rows;
        if (p->rows == begin) continue;
        const uint32_t parent = p->row[begin];
        p->next[j] = p->child[parent];
        p->child[parent] = j + 1;
    }
    return status;
}

static uint32_t entry_at(const BlockCholesky *f, uint32_t row, uint32_t column)
{
    const uint32_t *found = bsearch(&row, f->row + f->begin[column],
                                    f->begin[column + 1] - f->begin[column], sizeof row, ascending);
    return (uint32_t)(found - f->row);
}

static Status find_pattern(BlockCholesky *f, Pattern *p, Fault *fault)
{
    p->from = memory_create((size_t)f->n + 1, sizeof *p->from);
    p->to = memory_create(p->system->pairs, sizeof *p->to);
    p->child = memory_create(f->n, sizeof *p->child);
    p->next = memory_create(f->n, sizeof *p->next);
    p->mark = memory_create(f->n, sizeof *p->mark);
    if (!p->from || !p->to || !p->child || !p->next || !p->mark)
        return memory_fault(fault, f->n, sizeof *p->mark);
    list_later(f, p);
    return merge_columns(f, p, fault);
}

static void pattern_clear(Pattern *p)
{
    memory_free(p->from);
    memory_free(p->to);
    memory_free(p->child);
    memory_free(p->next);
    memory_free(p->mark);
}

Status block_cholesky_init(BlockCholesky *factor_out, const BlockSystem *system, Fault *fault)
{
    const uint32_t n = system->n;
    const size_t pairs = system->pairs;
    const BlockPair *pair = system->pair;
    BlockCholesky *f = factor_out;
    *f = (BlockCholesky){.n = n,
                         .rank = memory_create(n, sizeof *f->rank),
                         .begin = memory_create((size_t)n + 1, sizeof *f->begin),
                         .diagonal = memory_create(n, BLOCK_SQUARE * sizeof *f->diagonal),
                         .entry = memory_create(pairs, sizeof *f->entry),
                         .work = memory_create(n, BLOCK * sizeof *f->work),
                         .active = memory_create(n, 1),
                         .known = memory_create(n, 1),
                         .chain = memory_create(n, sizeof *f->chain)};
    if (!f->rank || !f->begin || !f->diagonal || !f->entry || !f->work || !f->active || !f->known ||
        !f->chain)
        return memory_fault(fault, n, BLOCK_SQUARE * sizeof *f->diagonal);
    for (uint32_t i = 0; i < n; i++) f->rank[system->order[i]] = i;
    Pattern p = {.system = system};
    Status status = find_pattern(f, &p, fault);
    pattern_clear(&p);
    f->row = p.row;
    if (status) return status;
    f->value = memory_create_unset(p.rows, BLOCK_SQUARE * sizeof *f->value);
    if (!f->value) return memory_fault(fault, p.rows, BLOCK_SQUARE * sizeof *f->value);
    for (size_t i = 0; i < pairs; i++) {
        if (i % PAIRS_UNHEARD == 0 && voice_stopped(system->voice)) return structure_stopped(fault);
        const uint32_t a = f->rank[pair[i].low], b = f->rank[pair[i].high];
        f->entry[i] = a < b ? entry_at(f, b, a) : entry_at(f, a, b);
    }
    return STATUS_OK;
}

void block_cholesky_clear(BlockCholesky *f)
{
    memory_free(f->rank);
    memory_free(f->begin);
    memory_free(f->row);
    memory_free(f->value);
    memory_free(f->diagonal);
    memory_free(f->entry);
    memory_free(f->work);
    memory_free(f->active);
    memory_free(f->known);
    memory_free(f->chain);
    *f = (BlockCholesky){0};
}

/* ---- the numbers ---- */

/* c -= a b', all 6 x 6. */
INLINED void take_product(double *c, const double *a, const double *b)
{
    for (int column = 0; column < BLOCK; column += 2) {
        double *out = c + column * BLOCK;
        Quad x = *(Quad *)out, y = *(Quad *)(out + 4), z = *(Quad *)(out + 8);
        for (int k = 0; k < BLOCK; k++) {
            const double *in = a + k * BLOCK, p = b[k * BLOCK + column],
                         q = b[k * BLOCK + column + 1];
            x -= *(const Quad *)in * (Quad){p, p, p, p};
            y -= (Quad){in[4], in[5], in[0], in[1]} * (Quad){p, p, q, q};
            z -= *(const Quad *)(in + 2) * (Quad){q, q, q, q};
        }
        *(Quad *)out = x;
        *(Quad *)(out + 4) = y;
        *(Quad *)(out + 8) = z;
    }
}

/* The inverse of the lower root of a block, in its place; false where there is none. */
static bool invert_root(double *block)
{
    double root[BLOCK][BLOCK] = {{0}}, inverse[BLOCK][BLOCK] = {{0}};
    for (int j = 0; j < BLOCK; j++)
        for (int i = j; i < BLOCK; i++) {
            double sum = block[j * BLOCK + i];
            for (int k = 0; k < j; k++) sum -= root[i][k] * root[j][k];
            if (i == j && !(sum > 0)) return false;
            root[i][j] = i == j ? sqrt(sum) : sum / root[j][j];
        }
    for (int j = 0; j < BLOCK; j++)
        for (int i = j; i < BLOCK; i++) {
            double sum = i == j;
            for (int k = j; k < i; k++) sum -= root[i][k] * inverse[k][j];
            inverse[i][j] = sum / root[i][i];
        }
    for (int j = 0; j < BLOCK; j++)
        for (int i = 0; i < BLOCK; i++) block[j * BLOCK + i] = inverse[i][j];
    return true;
}

/* block = block inverse', where the inverse is lower. */
static void divide_by_root(double *block, const double *inverse)
{
    double out[BLOCK_SQUARE] = {0};
    for (int column = 0; column < BLOCK; column++)
        for (int k = 0; k <= column; k++)
            for (int i = 0; i < BLOCK; i++)
                out[column * BLOCK + i] += block[k * BLOCK + i] * inverse[k * BLOCK + column];
    memcpy(block, out, sizeof out);
}

/* Takes column k, which is finished, from the later ones. */
WIDEST static void take_column(const BlockCholesky *f, uint32_t k)
{
    const uint32_t end = f->begin[k + 1];
    for (uint32_t p = f->begin[k]; p < end; p++) {
        const uint32_t j = f->row[p];
        const double *by = f->value + (size_t)p * BLOCK_SQUARE;
        take_product(f->diagonal + (size_t)j * BLOCK_SQUARE, by, by);
        uint32_t to = f->begin[j];
        for (uint32_t q = p + 1; q < end; q++) {
            while (f->row[to] != f->row[q]) to++;
            take_product(f->value + (size_t)to * BLOCK_SQUARE, f->value + (size_t)q * BLOCK_SQUARE,
                         by);
        }
    }
}

/* Column by column, for tens of megabytes take a while where their pages are new. */
static void put_zeros(BlockCholesky *f, const Voice *voice)
{
    for (uint32_t k = 0; k < f->n && !voice_stopped(voice); k++)
        memset(f->value + (size_t)f->begin[k] * BLOCK_SQUARE, 0,
               (size_t)(f->begin[k + 1] - f->begin[k]) * BLOCK_SQUARE * sizeof *f->value);
}

static void put_numbers(BlockCholesky *f, const double *diagonal, const BlockPair *pair,
                        const double *off, size_t pairs)
{
    for (uint32_t i = 0; i < f->n; i++)
        memcpy(f->diagonal + (size_t)f->rank[i] * BLOCK_SQUARE, diagonal + (size_t)i * BLOCK_SQUARE,
               BLOCK_SQUARE * sizeof *diagonal);
    for (size_t i = 0; i < pairs; i++) {
        double *to = f->value + (size_t)f->entry[i] * BLOCK_SQUARE;
        const double *from = off + i * BLOCK_SQUARE;
        const bool turned = f->rank[pair[i].high] < f->rank[pair[i].low];
        for (int c = 0; c < BLOCK; c++)
            for (int r = 0; r < BLOCK; r++)
                to[c * BLOCK + r] = turned ? from[r * BLOCK + c] : from[c * BLOCK + r];
    }
}

bool block_cholesky_factor(BlockCholesky *f, const double *diagonal, const BlockPair *pair,
                           const double *off, size_t pairs, const Voice *voice)
{
    put_zeros(f, voice);
    put_numbers(f, diagonal, pair, off, pairs);
    for (uint32_t k = 0; k < f->n && !voice_stopped(voice); k++) {
        double *inverse = f->diagonal + (size_t)k * BLOCK_SQUARE;
        if (!invert_root(inverse)) return false;
        for (uint32_t p = f->begin[k]; p < f->begin[k + 1]; p++)
            divide_by_root(f->value + (size_t)p * BLOCK_SQUARE, inverse);
        take_column(f, k);
    }
    return true;
}

/* ---- solving ---- */

/* to -= by from, or by' from; the loops within are run out, since each stands in the innermost of
 * all. */
INLINED void take_lanes(Lanes *to, const double *by, const Lanes *from, bool transposed)
{
    Lanes y[BLOCK];
    UNROLLED
    for (int c = 0; c < BLOCK; c++) y[c] = from[c];
    UNROLLED
    for (int i = 0; i < BLOCK; i++) {
        Lanes sum = to[i];
        UNROLLED
        for (int c = 0; c < BLOCK; c++)
            sum -= y[c] * by[transposed ? i * BLOCK + c : c * BLOCK + i];
        to[i] = sum;
    }
}

/* x = inverse x, or inverse' x; the inverse is lower and has zeros above. */
INLINED void times_inverse(const double *inverse, Lanes *x, bool transposed)
{
    Lanes out[BLOCK] = {{0}};
    double minus[BLOCK_SQUARE];
    for (int i = 0; i < BLOCK_SQUARE; i++) minus[i] = -inverse[i];
    take_lanes(out, minus, x, transposed);
    for (int i = 0; i < BLOCK; i++) x[i] = out[i];
}

/* Empties a block that is put into for the first time. */
INLINED void wake(const BlockCholesky *f, uint32_t k, Lanes *x)
{
    if (f->active[k]) return;
    f->active[k] = 1;
    memset(x + (size_t)k * BLOCK, 0, BLOCK * sizeof *x);
}

WIDEST static void solve_down(const BlockCholesky *f, Lanes *x)
{
    for (uint32_t k = 0; k < f->n; k++) {
        if (!f->active[k]) continue;
        Lanes *y = x + (size_t)k * BLOCK;
        times_inverse(f->diagonal + (size_t)k * BLOCK_SQUARE, y, false);
        for (uint32_t p = f->begin[k]; p < f->begin[k + 1]; p++) {
            wake(f, f->row[p], x);
            take_lanes(x + (size_t)f->row[p] * BLOCK, f->value + (size_t)p * BLOCK_SQUARE, y,
                       false);
        }
    }
}

INLINED void solve_block_up(const BlockCholesky *f, uint32_t k, Lanes *x)
{
    Lanes *y = x + (size_t)k * BLOCK;
    for (uint32_t p = f->begin[k]; p < f->begin[k + 1]; p++)
        take_lanes(y, f->value + (size_t)p * BLOCK_SQUARE, x + (size_t)f->row[p] * BLOCK, true);
    times_inverse(f->diagonal + (size_t)k * BLOCK_SQUARE, y, true);
}

WIDEST static void solve_up(const BlockCholesky *f, Lanes *x)
{
    for (uint32_t k = f->n; k-- > 0;) solve_block_up(f, k, x);
}

WIDEST static void solve_chain_up(const BlockCholesky *f, uint32_t length, Lanes *x)
{
    for (uint32_t i = length; i-- > 0;) solve_block_up(f, f->chain[i], x);
}

static bool is_nothing(const Lanes *x)
{
    static const Lanes nothing[BLOCK];
    return !memcmp(x, nothing, sizeof nothing);
}

void block_cholesky_solve(BlockCholesky *f, Lanes *x)
{
    for (uint32_t i = 0; i < f->n; i++) {
        Lanes *to = f->work + (size_t)f->rank[i] * BLOCK;
        memcpy(to, x + (size_t)i * BLOCK, BLOCK * sizeof *to);
        f->active[f->rank[i]] = !is_nothing(to);
    }
    solve_down(f, f->work);
    solve_up(f, f->work);
    for (uint32_t i = 0; i < f->n; i++)
        memcpy(x + (size_t)i * BLOCK, f->work + (size_t)f->rank[i] * BLOCK, BLOCK * sizeof *x);
}

/* ---- near few right sides ---- */

void block_cholesky_begin(BlockCholesky *f)
{
    memset(f->active, 0, f->n);
    memset(f->known, 0, f->n);
}

Lanes *block_cholesky_right(BlockCholesky *f, uint32_t block)
{
    const uint32_t k = f->rank[block];
    wake(f, k, f->work);
    return f->work + (size_t)k * BLOCK;
}

void block_cholesky_spread(BlockCholesky *f, Lanes *energy_out)
{
    solve_down(f, f->work);
    *energy_out = (Lanes){0};
    for (uint32_t k = 0; k < f->n; k++)
        for (int i = 0; i < BLOCK && f->active[k]; i++) {
            const Lanes *y = f->work + (size_t)k * BLOCK + i;
            *energy_out += *y * *y;
        }
}

/* Solves all on the way to the root, from there. */
const Lanes *block_cholesky_reach(BlockCholesky *f, uint32_t block)
{
    uint32_t length = 0;
    for (uint32_t k = f->rank[block]; !f->known[k]; k = f->row[f->begin[k]]) {
        wake(f, k, f->work);
        f->known[k] = 1;
        f->chain[length++] = k;
        if (f->begin[k] == f->begin[k + 1]) break;
    }
    solve_chain_up(f, length, f->work);
    return f->work + (size_t)f->rank[block] * BLOCK;
}
