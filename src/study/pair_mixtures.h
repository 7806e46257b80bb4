/* Pair mixtures: what a colour costs that is mixed from two of a palette, cells of both side by
 * side, as palette_subset takes it. */
#ifndef ROWLOCK_STUDY_PAIR_MIXTURES_H
#define ROWLOCK_STUDY_PAIR_MIXTURES_H

#include "base/status.h"
#include "base/voice.h"
#include "model/palette.h"
#include "study/palette_subset.h"

/* Costs of samples with single colours and with blends, in CIEDE2000. Light adds up, so
 * a blend is the point nearest to the sample on the line between its colours in linear
 * sRGB. With s the share of one colour and D the difference of the two,
 *     cost = sqrt(difference from the blend ^2 + s (1 - s) (visible D)^2),
 * the second being how much the cells deviate from their mean, as far as it is seen. */
typedef struct MixtureCosts {
    int samples, colours, blends;
    float *cost;          /* colours x samples */
    float *mixed;         /* blends x samples */
    SubsetMixture *blend; /* rows of mixed; only pairs that some sample is better off with */
} MixtureCosts;

typedef struct MixtureOptions {
    /* The share of the contrast between neighbouring cells that the eye keeps at the viewing
     * distance, 0 to 1. With 1 a blend still helps, but seldom. */
    double visible;
    int threads;        /* never changes the result */
    const Voice *voice; /* NULL: nobody listens */
} MixtureOptions;

#define MIXTURE_OPTIONS_DEFAULT ((MixtureOptions){.visible = 1.0, .threads = 1, .voice = NULL})

/* mixture_costs_clear also after a fault. */
Status mixture_costs_init(MixtureCosts *costs_out, const Palette *palette, const Lab *sample,
                          int samples, const MixtureOptions *options, Fault *fault);
void mixture_costs_clear(MixtureCosts *costs);

#endif
