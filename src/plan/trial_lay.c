/* Trial layings are quick and prove nothing: they serve to compare faces. Costs are taken
 * against their mean, so that a brick counts 1 on average, as it does where there are none. */
#include "plan/trial_lay.h"

void trial_lay_init(TrialLay *s, const Solid *solid, const Sizes *sizes, const Panels *panels,
                    const LayOptions *options, const Voice *voice)
{
    *s = (TrialLay){
        .solid = *solid, .sizes = sizes, .panels = panels, .options = *options, .voice = voice};
    s->options.effort = 0.0;
    s->options.unproven = true;
    s->options.standing = NULL;
    double sum = 0.0;
    for (int i = 0; options->cost && i < sizes->count; i++) sum += options->cost[i];
    for (int i = 0; sum > 0.0 && i < sizes->count; i++)
        s->cost[i] = options->cost[i] * sizes->count / sum;
    s->costed = sum > 0.0;
}

static Status lay_face(void *self, const Grid *grid, FaceBricks *bricks, Fault *fault)
{
    const TrialLay *s = self;
    Solid solid = s->solid;
    solid.grid = grid;
    const LayTask task = {&solid, s->panels, s->sizes};
    Laid laid = {0};
    LayReport report;
    Status status = lay(&task, &s->options, &laid, &report, s->voice, fault);
    if (!status) status = face_bricks_init(bricks, &solid, &laid, fault);
    laid_clear(&laid);
    return status;
}

LookLayer trial_lay_layer(TrialLay *s)
{
    return (LookLayer){
        .self = s, .lay = lay_face, .sizes = s->sizes, .cost = s->costed ? s->cost : NULL};
}
