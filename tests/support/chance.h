/* Numbers by chance for tests and benches: the same in every run and on every machine. */
#ifndef ROWLOCK_TESTS_CHANCE_H
#define ROWLOCK_TESTS_CHANCE_H

#include <stdint.h>

/* 0 to 2^24 - 1, by a linear congruential generator; its constants are those of Numerical Recipes
 * (from memory). */
static inline uint32_t chance(uint32_t *seed)
{
    *seed = *seed * 1664525U + 1013904223U;
    return *seed >> 8;
}

/* 0 to 1, without 1. */
static inline double chance_unit(uint32_t *seed) { return chance(seed) / 16777216.0; }

/* 64 bits by xorshift64*, for where those of chance() are too few. */
static inline uint64_t draw(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return *state * UINT64_C(2685821657736338717);
}

static inline double draw_between(uint64_t *state, double low, double high)
{
    return low + (high - low) * (double)(draw(state) >> 11) * 0x1p-53;
}

#endif
