/* Block Cholesky: a sparse symmetric positive definite matrix in blocks of 6 x 6, factored once and
 * then solved for several right sides at a time.
 *
 * Bricks have six equations each, so the matrix is small blocks throughout; touches ask for
 * thousands of right sides. Libraries that make use of the blocks do so through a BLAS, whose sums
 * differ from one processor to the next, and plans must not. */
#ifndef ROWLOCK_CLUTCH_BLOCK_CHOLESKY_H
#define ROWLOCK_CLUTCH_BLOCK_CHOLESKY_H

#include "base/status.h"
#include "base/voice.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { BLOCK = 6, BLOCK_SQUARE = 36, LANES = 8 };

/* So many right sides are solved side by side. */
typedef double Lanes __attribute__((vector_size(8 * sizeof(double)), aligned(8), may_alias));
typedef int64_t LaneMasks __attribute__((vector_size(8 * sizeof(int64_t)), aligned(8), may_alias));

/* yes where the mask is set, no elsewhere. */
#define lanes_either(mask, yes, no)                                                                \
    ((Lanes)(((LaneMasks)(yes) & (mask)) | ((LaneMasks)(no) & ~(mask))))
#define lanes_size(x) ((Lanes)((LaneMasks)(x)&INT64_MAX))

typedef struct BlockPair {
    uint32_t low, high; /* numbers of the unknown blocks that meet in a block off the diagonal */
} BlockPair;

typedef struct BlockCholesky {
    uint32_t n;
    uint32_t *rank;   /* n: when each is eliminated */
    uint32_t *begin;  /* n + 1: where each column begins */
    uint32_t *row;    /* of each block below the diagonal, by rank, ascending in a column */
    double *value;    /* these blocks, 36 each, column by column */
    double *diagonal; /* n x 36: before the factoring as given, then the inverse of its root */
    uint32_t *entry;  /* pairs: the block of each */
    Lanes *work;      /* n x 6 */
    uint8_t *active;  /* n: what is in work is no longer 0 */
    uint8_t *known;   /* n: it is the solution */
    uint32_t *chain;  /* n */
} BlockCholesky;

/* What is to be factored, before its numbers are known; all is borrowed. */
typedef struct BlockSystem {
    uint32_t n;            /* unknown blocks */
    const uint32_t *order; /* n: the one that is eliminated nth */
    const BlockPair *pair; /* no pair stands twice */
    size_t pairs;
    const Voice *voice; /* who may stop it; NULL: nobody */
} BlockSystem;

/* Finds where the factor has blocks. Faults: no memory; stopped. block_cholesky_clear also after
 * one. */
Status block_cholesky_init(BlockCholesky *factor_out, const BlockSystem *system, Fault *fault);
void block_cholesky_clear(BlockCholesky *factor);

/* diagonal: n x 36; off: pairs x 36, rows those of the pair's high, columns those
 * of its low; all column by column. False where the matrix is not positive definite. Once the voice
 * is stopped, NULL: nobody does, it is factored in part alone. */
bool block_cholesky_factor(BlockCholesky *factor, const double *diagonal, const BlockPair *pair,
                           const double *off, size_t pairs, const Voice *voice);

/* x: n x 6 lanes, the right sides; replaced by the solutions. Right sides that are mostly 0 take
 * less. */
void block_cholesky_solve(BlockCholesky *factor, Lanes *x);

/* ---- right sides of few blocks, of which the solution near them is asked ---- */

/* Begins anew: all right sides are 0. */
void block_cholesky_begin(BlockCholesky *factor);

/* The right sides of one block, to be added to. */
Lanes *block_cholesky_right(BlockCholesky *factor, uint32_t block);

/* Once all right sides are in. energy_out: of each lane, right side times solution. */
void block_cholesky_spread(BlockCholesky *factor, Lanes *energy_out);

/* The solution in one block, bit for bit what block_cholesky_solve would find. */
const Lanes *block_cholesky_reach(BlockCholesky *factor, uint32_t block);

#endif
