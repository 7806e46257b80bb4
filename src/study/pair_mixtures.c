/* Every pair is worked out over all samples, one row a pair, rows over threads; then the
 * pairs that no sample is better off with are dropped. What mixing costs is in the header; the
 * model is our own, from additive light and the eye's contrast. */
#include "study/pair_mixtures.h"

#include "base/bands.h"
#include "base/memory.h"
#include "colour/delta_e.h"

#include <assert.h>
#include <math.h>
#include <stdatomic.h>

typedef struct Mixing {
    MixtureCosts *costs;
    const Palette *palette;
    const Lab *sample;
    Rgb *light;             /* of each sample, linear sRGB */
    Rgb pure[PALETTE_MOST]; /* of each colour, linear sRGB */
    double visible;
    const Voice *voice;
    atomic_bool stopped;
} Mixing;

static bool stop(Mixing *mixing)
{
    if (voice_stopped(mixing->voice)) atomic_store(&mixing->stopped, true);
    return atomic_load(&mixing->stopped);
}

static void cost_colours(void *context, int begin, int end, int worker)
{
    (void)worker;
    Mixing *mixing = context;
    const int samples = mixing->costs->samples;
    for (int c = begin; c < end && !stop(mixing); c++)
        for (int i = 0; i < samples; i++)
            mixing->costs->cost[(size_t)c * (size_t)samples + (size_t)i] =
                (float)delta_e_2000(mixing->sample[i], mixing->palette->colour[c].lab);
}

/* The share of `two` at the point of the line from one to two that is nearest to x. */
static double share_of(Rgb one, Rgb two, Rgb x)
{
    const Rgb d = {two.r - one.r, two.g - one.g, two.b - one.b};
    const double length = d.r * d.r + d.g * d.g + d.b * d.b;
    if (length == 0.0) return 0.0;
    const double s = ((x.r - one.r) * d.r + (x.g - one.g) * d.g + (x.b - one.b) * d.b) / length;
    return fmin(fmax(s, 0.0), 1.0);
}

/* What sample i costs with the pair: as mixed, or with one of the two colours alone where that
 * costs less. */
static float mixture_cost(const Mixing *mixing, const SubsetMixture *pair, double apart, int i)
{
    const size_t samples = (size_t)mixing->costs->samples;
    const Rgb one = mixing->pure[pair->one], two = mixing->pure[pair->two];
    const double s = share_of(one, two, mixing->light[i]);
    const float single = fminf(mixing->costs->cost[(size_t)pair->one * samples + (size_t)i],
                               mixing->costs->cost[(size_t)pair->two * samples + (size_t)i]);
    const double grain = s * (1.0 - s) * mixing->visible * mixing->visible * apart * apart;
    if (s == 0.0 || s == 1.0 || grain >= (double)single * (double)single) return single;
    const Rgb mixed = {one.r + s * (two.r - one.r), one.g + s * (two.g - one.g),
                       one.b + s * (two.b - one.b)};
    const double e = delta_e_2000(mixing->sample[i], lab_from_xyz(xyz_from_linear(mixed)));
    return fminf(single, (float)sqrt(e * e + grain));
}

/* Fills in the costs of the pairs from `begin` up to `end`, a row each. */
static void cost_blends(void *context, int begin, int end, int worker)
{
    (void)worker;
    Mixing *mixing = context;
    MixtureCosts *costs = mixing->costs;
    for (int b = begin; b < end && !stop(mixing); b++) {
        const SubsetMixture *pair = &costs->blend[b];
        const double apart = delta_e_2000(mixing->palette->colour[pair->one].lab,
                                          mixing->palette->colour[pair->two].lab);
        float *row = costs->mixed + (size_t)b * (size_t)costs->samples;
        for (int i = 0; i < costs->samples; i++) row[i] = mixture_cost(mixing, pair, apart, i);
    }
}

static bool is_of_use(const MixtureCosts *costs, const SubsetMixture *pair)
{
    const float *one = costs->cost + (size_t)pair->one * (size_t)costs->samples;
    const float *two = costs->cost + (size_t)pair->two * (size_t)costs->samples;
    for (int i = 0; i < costs->samples; i++)
        if (pair->cost[i] < fminf(one[i], two[i])) return true;
    return false;
}

static void list_pairs(MixtureCosts *costs)
{
    for (int two = 1; two < costs->colours; two++)
        for (int one = 0; one < two; one++) {
            const float *row = costs->mixed + (size_t)costs->blends * (size_t)costs->samples;
            costs->blend[costs->blends++] = (SubsetMixture){one, two, row};
        }
}

static void drop_useless(MixtureCosts *costs)
{
    int kept = 0;
    for (int b = 0; b < costs->blends; b++)
        if (is_of_use(costs, &costs->blend[b])) costs->blend[kept++] = costs->blend[b];
    costs->blends = kept;
}

static Status make_room(MixtureCosts *costs, Mixing *mixing, Fault *fault)
{
    const size_t colours = (size_t)costs->colours, samples = (size_t)costs->samples;
    const size_t pairs = colours * (colours - 1) / 2;
    mixing->light = memory_create(samples, sizeof *mixing->light);
    costs->cost = memory_create(colours, samples * sizeof *costs->cost);
    costs->mixed = memory_create(pairs, samples * sizeof *costs->mixed);
    costs->blend = memory_create(pairs, sizeof *costs->blend);
    if (mixing->light && costs->cost && costs->mixed && costs->blend) return STATUS_OK;
    return memory_fault(fault, pairs + colours, samples * sizeof(float));
}

static Status mix_pairs(MixtureCosts *costs, Mixing *mixing, int threads, Fault *fault)
{
    const Palette *palette = mixing->palette;
    for (int i = 0; i < costs->samples; i++)
        mixing->light[i] = linear_from_xyz(xyz_from_lab(mixing->sample[i]));
    for (int c = 0; c < palette->count; c++)
        mixing->pure[c] = linear_from_xyz(palette->colour[c].xyz);
    list_pairs(costs);
    bands_run(threads, palette->count, 1, cost_colours, mixing);
    bands_run(threads, costs->blends, 4, cost_blends, mixing);
    drop_useless(costs);
    if (!atomic_load(&mixing->stopped)) return STATUS_OK;
    return fault_set(fault, STATUS_INTERRUPTED, "mixing colours: stopped; run it again");
}

Status mixture_costs_init(MixtureCosts *costs, const Palette *palette, const Lab *sample,
                          int samples, const MixtureOptions *options, Fault *fault)
{
    assert(samples >= 1 && options->visible >= 0.0 && options->visible <= 1.0);
    *costs = (MixtureCosts){.samples = samples, .colours = palette->count};
    Mixing *mixing = memory_create(1, sizeof *mixing);
    if (!mixing) return memory_fault(fault, 1, sizeof *mixing);
    mixing->costs = costs;
    mixing->palette = palette;
    mixing->sample = sample;
    mixing->visible = options->visible;
    mixing->voice = options->voice;
    Status status = make_room(costs, mixing, fault);
    if (!status) status = mix_pairs(costs, mixing, options->threads, fault);
    memory_free(mixing->light);
    memory_free(mixing);
    if (status) mixture_costs_clear(costs);
    return status;
}

void mixture_costs_clear(MixtureCosts *costs)
{
    memory_free(costs->cost);
    memory_free(costs->mixed);
    memory_free(costs->blend);
    *costs = (MixtureCosts){0};
}
