/* Palette subset: which few of many colours serve a picture best.
 *
 * Plain numbers: samples that each take the cheapest of what the chosen colours offer,
 *     total = sum of weight * cheapest cost  +  sum of the chosen colours' prices,
 * which is the p-median problem where there are no blends. What a cost is (a colour
 * difference, with the price of a brick in it or not) is the caller's affair. */
#ifndef ROWLOCK_STUDY_PALETTE_SUBSET_H
#define ROWLOCK_STUDY_PALETTE_SUBSET_H

#include "base/status.h"
#include "base/voice.h"
#include "model/palette.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum SubsetRule { SUBSET_FREE, SUBSET_MUST, SUBSET_MUST_NOT } SubsetRule;

/* A mixture that can be had where both of its colours are. */
typedef struct SubsetMixture {
    int one, two;      /* colours, different */
    const float *cost; /* of each sample */
} SubsetMixture;

typedef struct SubsetTask {
    int samples, colours;       /* at least 1; colours up to PALETTE_MOST */
    const float *cost;          /* colours x samples, 0 or more */
    const double *weight;       /* of each sample, 0 or more */
    const double *price;        /* of each colour, 0 or more, in units of the total; NULL: none */
    const uint8_t *rule;        /* of each colour, SubsetRule; NULL: all free */
    const SubsetMixture *blend; /* NULL where blends is 0; each pair at most once */
    int blends;
    int least, most; /* colours to choose, 1 to PALETTE_MOST */
} SubsetTask;

typedef struct Subset {
    int count;
    uint8_t colour[PALETTE_MOST]; /* rising */
    double total;
    bool proven; /* no other choice has a total lower by more than 1e-12 of it */
} Subset;

typedef struct SubsetOptions {
    /* Trials after the first local optimum: each drops some colours and climbs again. */
    int trials;
    /* Branches that the proof may look at; 0 leaves it out. */
    long branches;
    /* A choice to climb from as well; NULL: none. */
    const Subset *start;
} SubsetOptions;

extern const SubsetOptions subset_defaults;

/* The best choice found: greedy, then swaps, additions and removals until none is
 * better, trials, and branch and bound. The same for the same task, always. STATUS_DATA where the
 * rules leave too few colours or demand too many. */
Status subset_choose(const SubsetTask *task, const SubsetOptions *options, Subset *subset_out,
                     const Voice *voice, Fault *fault);

/* A choice for each number of colours from task->least to task->most, each a local optimum
 * reached from the one before by one colour more; the first from `start`, which has fewer, or
 * where that is NULL from the colours that must be. Without prices totals never rise. */
Status subset_grow(const SubsetTask *task, const Subset *start, Subset *subset_out,
                   const Voice *voice, Fault *fault);

/* The total of any choice. */
double subset_total(const SubsetTask *task, const uint8_t *colour, int count);

#endif
