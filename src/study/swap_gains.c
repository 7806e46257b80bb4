/* Two offers a colour and sample, the best and the next with another partner, suffice: dropping
 * a chosen colour takes away at most one of the two partners, and only then are the offers
 * looked for anew. What a sample would pay without either of its two colours is kept in the
 * same way. So pricing a swap is a sum over the samples. Source: see the header. */
#include "study/swap_gains.h"

#include "base/memory.h"

#include <math.h>
#include <string.h>

static size_t at_colour(const SwapGains *o, int colour)
{
    return (size_t)colour * (size_t)o->of.samples;
}

static const float *blend_of(const SwapGains *o, int colour, int other)
{
    return o->of.blend[(size_t)colour * (size_t)o->of.colours + (size_t)other];
}

Status swap_gains_init(SwapGains *o, const SwapCosts *costs, Fault *fault)
{
    const size_t each = (size_t)costs->samples, all = (size_t)costs->colours * each;
    *o = (SwapGains){.of = *costs};
    if (!(o->first = memory_create(all, sizeof *o->first)) ||
        !(o->second = memory_create(all, sizeof *o->second)) ||
        !(o->with = memory_create(all, 1)) || !(o->next = memory_create(all, 1)) ||
        !(o->paid = memory_create(each, sizeof *o->paid)) ||
        !(o->without_one = memory_create(each, sizeof *o->without_one)) ||
        !(o->without_two = memory_create(each, sizeof *o->without_two)) ||
        !(o->one = memory_create(each, 1)) || !(o->two = memory_create(each, 1)))
        return memory_fault(fault, all, sizeof *o->first);
    memcpy(o->first, costs->cost, all * sizeof *o->first);
    for (size_t i = 0; i < all; i++) o->second[i] = INFINITY;
    memset(o->with, SWAP_ALONE, all);
    memset(o->next, SWAP_ALONE, all);
    return STATUS_OK;
}

void swap_gains_clear(SwapGains *o)
{
    void *const block[] = {o->first,       o->second,      o->with, o->next, o->paid,
                           o->without_one, o->without_two, o->one,  o->two};
    for (size_t i = 0; i < sizeof block / sizeof *block; i++) memory_free(block[i]);
    *o = (SwapGains){0};
}

/* ---- one colour more, or less ---- */

/* An offer of a colour to a sample, mixed with another. */
static inline void offer(SwapGains *o, size_t at, float cost, int with)
{
    if (cost < o->first[at]) {
        o->second[at] = o->first[at];
        o->next[at] = o->with[at];
        o->first[at] = cost;
        o->with[at] = (uint8_t)with;
    } else if (cost < o->second[at]) {
        o->second[at] = cost;
        o->next[at] = (uint8_t)with;
    }
}

void swap_gains_choose(SwapGains *o, int colour)
{
    o->chosen[colour] = true;
    for (int c = 0; c < o->of.colours; c++) {
        const float *blend = blend_of(o, c, colour);
        for (int i = 0; blend && i < o->of.samples; i++)
            offer(o, at_colour(o, c) + (size_t)i, blend[i], colour);
    }
}

/* Looks for the two offers of a colour anew at the samples where one of them was mixed with the
 * colour that is lost. */
static void offer_again(SwapGains *o, int colour, int lost)
{
    int count = 0, with[PALETTE_MOST];
    const float *blend[PALETTE_MOST];
    for (int c = 0; c < o->of.colours; c++) {
        const float *row = o->chosen[c] ? blend_of(o, colour, c) : NULL;
        if (!row) continue;
        with[count] = c;
        blend[count++] = row;
    }
    for (int i = 0; i < o->of.samples; i++) {
        const size_t at = at_colour(o, colour) + (size_t)i;
        if (o->with[at] != lost && o->next[at] != lost) continue;
        o->first[at] = o->of.cost[at];
        o->second[at] = INFINITY;
        o->with[at] = o->next[at] = SWAP_ALONE;
        for (int k = 0; k < count; k++) offer(o, at, blend[k][i], with[k]);
    }
}

void swap_gains_drop(SwapGains *o, int colour)
{
    o->chosen[colour] = false;
    for (int c = 0; c < o->of.colours; c++)
        if (blend_of(o, c, colour)) offer_again(o, c, colour);
}

/* ---- what is paid ---- */

static void find_best(SwapGains *o, int colour)
{
    const float *first = o->first + at_colour(o, colour);
    const uint8_t *with = o->with + at_colour(o, colour);
    for (int i = 0; i < o->of.samples; i++) {
        if (!(first[i] < o->paid[i])) continue;
        o->paid[i] = first[i];
        o->one[i] = (uint8_t)colour;
        o->two[i] = with[i] == SWAP_ALONE ? (uint8_t)colour : with[i];
    }
}

static void find_without(SwapGains *o, int colour)
{
    const float *first = o->first + at_colour(o, colour),
                *second = o->second + at_colour(o, colour);
    const uint8_t *with = o->with + at_colour(o, colour);
    for (int i = 0; i < o->of.samples; i++) {
        const int one = o->one[i], two = o->two[i];
        const float no_one = with[i] == one ? second[i] : first[i];
        const float no_two = with[i] == two ? second[i] : first[i];
        if (colour != one && no_one < o->without_one[i]) o->without_one[i] = no_one;
        if (colour != two && no_two < o->without_two[i]) o->without_two[i] = no_two;
    }
}

double swap_gains_pay(SwapGains *o)
{
    double sum = 0.0;
    for (int i = 0; i < o->of.samples; i++)
        o->paid[i] = o->without_one[i] = o->without_two[i] = INFINITY;
    for (int c = 0; c < o->of.colours; c++)
        if (o->chosen[c]) find_best(o, c);
    for (int c = 0; c < o->of.colours; c++)
        if (o->chosen[c]) find_without(o, c);
    for (int i = 0; i < o->of.samples; i++) sum += o->of.weight[i] * (double)o->paid[i];
    return sum;
}

static double dearer(float now, float one, float other)
{
    return (double)(one < other ? one : other) - (double)now;
}

double swap_gains_take(const SwapGains *o, int colour, double more[PALETTE_MOST])
{
    const float *first = o->first + at_colour(o, colour),
                *second = o->second + at_colour(o, colour);
    const uint8_t *with = o->with + at_colour(o, colour);
    double sum = 0.0;
    memset(more, 0, PALETTE_MOST * sizeof *more);
    for (int i = 0; i < o->of.samples; i++) {
        const float now = o->paid[i], taken = first[i];
        const double weight = o->of.weight[i];
        const int one = o->one[i], two = o->two[i], mixed = with[i];
        if (taken <=
            now) { /* of the chosen ones only that which it is mixed with could be missed */
            sum += weight * (double)taken;
            if (mixed == SWAP_ALONE) continue;
            const float rest = mixed == one   ? o->without_one[i]
                               : mixed == two ? o->without_two[i]
                                              : now;
            more[mixed] += weight * dearer(taken, rest, second[i]);
        } else {
            sum += weight * (double)now;
            more[one] += weight * dearer(now, o->without_one[i], mixed == one ? second[i] : taken);
            if (two == one) continue;
            more[two] += weight * dearer(now, o->without_two[i], mixed == two ? second[i] : taken);
        }
    }
    return sum;
}

void swap_gains_lose(const SwapGains *o, double more[PALETTE_MOST])
{
    memset(more, 0, PALETTE_MOST * sizeof *more);
    for (int i = 0; i < o->of.samples; i++) {
        const int one = o->one[i], two = o->two[i];
        const double weight = o->of.weight[i];
        more[one] += weight * dearer(o->paid[i], o->without_one[i], INFINITY);
        if (two != one) more[two] += weight * dearer(o->paid[i], o->without_two[i], INFINITY);
    }
}
