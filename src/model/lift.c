/* The equation multiplies a load constant by factors of at most 1, one for each way in which a lift
 * is worse than the best. A panel is lifted flat from a bench of the best height, now and then.
 *
 * Source: NIOSH 94-110, Applications Manual for the Revised NIOSH Lifting Equation. */
#include "model/lift.h"

#include <math.h>

#define BENCH_CM 75.0  /* NIOSH 94-110: the height at which VM is 1 */
#define LIFTED_CM 25.0 /* and the travel up to which DM is 1 */
#define POOR_GRIP 0.90 /* its CM of a poor coupling */
/* From the ankles to the near edge of the load; H ends at its middle. NIOSH 94-110, 1.1: 20 cm and
 * half the load's width (from memory). */
#define BODY_TO_EDGE_CM 20.0

double lift_limit_kg(const Lift *lift)
{
    if (lift->hands > 63.0) return 0.0;
    const double horizontal = 25.0 / fmax(25.0, lift->hands);
    const double vertical = 1.0 - 0.003 * fabs(lift->height - 75.0);
    const double distance = 0.82 + 4.5 / fmax(25.0, lift->travel);
    const double asymmetry = 1.0 - 0.0032 * lift->twist;
    return LIFT_CONSTANT_KG * horizontal * vertical * distance * asymmetry * lift->frequency *
           lift->grip;
}

double lift_flat_limit_kg(double short_side_mm)
{
    const double hands = BODY_TO_EDGE_CM + short_side_mm / 20.0;
    const Lift lift = {hands, BENCH_CM, LIFTED_CM, .twist = 0.0, .frequency = 1.0, POOR_GRIP};
    return lift_limit_kg(&lift);
}

double lift_alone_kg(double short_side_mm)
{
    return fmin(ONE_PERSON_KG, lift_flat_limit_kg(short_side_mm)) / MASS_TOLERANCE;
}
