/* Idea. Nothing but planning tells how a wall's joints are used: colours, relief and panels decide
 * where bricks bind. So walls are planned one unit thicker from time to time, as far as their
 * forces, until the joints of one are proven to take no more than the safety allows in any load
 * case. Where none gets there it is the thinnest that is proven not to come apart, and where none
 * of them is, the one that asks least of its joints. */
#include "plan/wall_thickness.h"

#include <stdio.h>

bool thickness_is_sought(const Job *job)
{
    return job->build == BUILD_WALL && job->thickness == THICKNESS_SOUGHT;
}

bool thickness_try(ThicknessTrials *t, const Job *job, const Holds *holds, int panels)
{
    const double use = holds_worst(holds, panels).use;
    t->use[t->count++] = use;
    t->safe = use <= 1 / job->hold_safety;
    if (t->safe || !t->found || (!t->whole && use < t->use[t->found - 1])) t->found = t->count;
    t->whole = t->use[t->found - 1] <= 1;
    return t->safe || t->count == THICKNESS_TRIALS;
}

void thickness_say(const ThicknessTrials *t, const Job *job, const Voice *voice)
{
    char uses[THICKNESS_TRIALS * 24];
    size_t used = 0;
    if (!t->count) return;
    for (int i = 0; i < t->count; i++)
        used += (size_t)snprintf(uses + used, sizeof uses - used, "%s%.3g %%", i ? ", " : "",
                                 100 * t->use[i]);
    voice_note(voice,
               "thickness: %d; %s; 1/%g of what joints hold is asked for, and walls from 1 unit "
               "on take %s at worst",
               t->found,
               t->safe    ? "the thinnest wall that bears its load cases so safely"
               : t->whole ? "none bears its load cases as safely as asked, this is the thinnest "
                            "that does not come apart"
                          : "none is proven to bear its load cases, this asks least of its joints; "
                            "cut smaller panels",
               job->hold_safety, uses);
}
