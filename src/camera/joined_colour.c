/* Weights are one over the variance, by which the mean varies least (least squares, Gauss 1821).
 * The spread of readings about their mean tells by itself how much chance there is; the larger of
 * the two counts, so that bricks of one colour that differ are not called sure. */
#include "camera/joined_colour.h"

#include "colour/delta_e.h"

#include <math.h>

/* Less than this is no difference of bricks but of rounding. */
#define CHANCE_LEAST 0.05

static double weight_of(const PlaceReading *r)
{
    const double chance = fmax(r->chance, CHANCE_LEAST);
    return 1 / (chance * chance + r->system * r->system);
}

static Lab weighed_mean(const PlaceReading *reading, int readings)
{
    Lab sum = {0, 0, 0};
    double weights = 0;
    for (int i = 0; i < readings; i++) {
        const double w = weight_of(&reading[i]);
        sum.L += w * reading[i].lab.L;
        sum.a += w * reading[i].lab.a;
        sum.b += w * reading[i].lab.b;
        weights += w;
    }
    return (Lab){sum.L / weights, sum.a / weights, sum.b / weights};
}

JoinedColour colour_join(const PlaceReading *reading, int readings)
{
    JoinedColour joined = {.lab = weighed_mean(reading, readings), .readings = readings};
    double weights = 0, chance = 0, system = 0, spread = 0;
    for (int i = 0; i < readings; i++) {
        const double w = weight_of(&reading[i]);
        const double far = delta_e_2000(reading[i].lab, joined.lab);
        const double by_chance = fmax(reading[i].chance, CHANCE_LEAST);
        weights += w;
        chance += w * w * by_chance * by_chance;
        system += w * reading[i].system * reading[i].system;
        spread += w * far * far;
        joined.farthest = fmax(joined.farthest, far);
    }
    chance /= weights * weights;
    spread /= weights;
    if (readings > 1) chance = fmax(chance, spread / (readings - 1));
    joined.stdev = sqrt(chance + system / weights);
    return joined;
}
