/* Swap gains: what each colour offers each sample, alone or mixed with one of the chosen
 * colours, and what samples pay with all that these offer; kept up to date as colours are
 * chosen and dropped.
 *
 * Of each offer the best is kept and the best without the colour that it is mixed with; of
 * what a sample pays, the same without each of its colours, two at most. So every swap of a
 * chosen colour for another is priced by a look at each sample and other colour, however
 * many are chosen (Whitaker 1983, INFOR 21:95-108, for the p-median problem; blends have
 * two colours to lose instead of one). */
#ifndef ROWLOCK_STUDY_SWAP_GAINS_H
#define ROWLOCK_STUDY_SWAP_GAINS_H

#include "base/status.h"
#include "model/palette.h"

#include <stdbool.h>
#include <stdint.h>

enum { SWAP_ALONE = 255 }; /* instead of a colour to mix with */

/* What samples pay for colours and for mixtures of two. All is borrowed. */
typedef struct SwapCosts {
    int colours, samples;
    const float *cost;         /* colours x samples */
    const float *const *blend; /* colours x colours: costs of samples, or NULL */
    const double *weight;      /* of samples */
} SwapCosts;

typedef struct SwapGains {
    SwapCosts of;
    bool chosen[PALETTE_MOST];
    float *first, *second; /* colours x samples: the best offer, and without `with` */
    uint8_t *with, *next;  /* what these are mixed with */
    /* By sample, once swap_gains_pay has been called: what it pays, for which colours, and what it
     * would pay without either of them. INFINITY where nothing is chosen. */
    float *paid, *without_one, *without_two;
    uint8_t *one, *two; /* one is two where that offer is not mixed */
} SwapGains;

/* Nothing is chosen. swap_gains_clear also after a fault. */
Status swap_gains_init(SwapGains *gains, const SwapCosts *costs, Fault *fault);
void swap_gains_clear(SwapGains *gains);

void swap_gains_choose(SwapGains *gains, int colour);
void swap_gains_drop(SwapGains *gains, int colour);

/* What all samples pay, weighed; also by sample. */
double swap_gains_pay(SwapGains *gains);

/* What all pay once a colour is taken as well, after swap_gains_pay; and what more once each of
 * the chosen ones is dropped for it. */
double swap_gains_take(const SwapGains *gains, int colour, double more_out[PALETTE_MOST]);

/* The same of dropping each of the chosen ones for nothing; INFINITY where none is left. */
void swap_gains_lose(const SwapGains *gains, double more_out[PALETTE_MOST]);

#endif
