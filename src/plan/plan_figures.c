/* The face is compared with the image as it was sampled and, from the distance, also with the
 * image as its tone fits the palette: what differs from the former the palette is to blame for,
 * from the latter the choice of its colours. Figures of bond are sums over the panels. */
#include "plan/plan_figures.h"

#include "base/memory.h"
#include "eye/eye.h"
#include "figures/hold_report.h"
#include "figures/measure.h"
#include "figures/relief_losses.h"
#include "figures/statics.h"
#include "model/laying.h"
#include "plan/brief.h"
#include "plan/studio.h"

/* ---- the look ---- */

/* The face is measured in steps: each takes a while, and they may be stopped. */
typedef struct Measuring {
    const Mural *mural;
    const Image *fitted;
    Image bricks;
    EyeSide side, image_side, fitted_side; /* of the bricks and of what they are held against */
    LookFigures *look;
    const Voice *voice;
    Fault *fault;
} Measuring;

/* From a multiple of the job's distance. */
static EyeOptions eye_from(const Measuring *g, double times)
{
    const Mural *m = g->mural;
    return (EyeOptions){
        .viewpoint = {m->cell_width_mm, m->cell_height_mm, times * m->job->distance},
        .threads = m->threads,
        .voice = g->voice};
}

/* fitted NULL: not asked for. */
static Status perceive(const Measuring *g, double times, Perceived *image, Perceived *fitted)
{
    const EyeOptions eye = eye_from(g, times);
    const EyeSide *const reference[EYE_REFERENCES] = {&g->image_side, &g->fitted_side};
    EyeResult seen[EYE_REFERENCES];
    const Status status =
        eye_compare_sides(reference, fitted ? 2 : 1, &g->side, &eye, seen, g->fault);
    if (status) return status;
    *image = (Perceived){seen[0].mean, seen[0].p95};
    if (fitted) *fitted = (Perceived){seen[1].mean, seen[1].p95};
    return STATUS_OK;
}

static Status show_face(Measuring *g)
{
    return eye_face(g->mural->palette, g->mural->grid, &g->bricks, g->fault);
}

static Status compare_cells(Measuring *g)
{
    const Mural *m = g->mural;
    return measure_cells(m->image, &g->bricks, m->threads, g->voice, &g->look->measures, g->fault);
}

static Status take_sides(Measuring *g)
{
    const Mural *m = g->mural;
    Status status = eye_side_init(&g->side, &g->bricks, m->threads, g->voice, g->fault);
    if (!status) status = eye_side_init(&g->image_side, m->image, m->threads, g->voice, g->fault);
    return status ? status
                  : eye_side_init(&g->fitted_side, g->fitted, m->threads, g->voice, g->fault);
}

static Status perceive_here(Measuring *g)
{
    return perceive(g, 1, &g->look->measures.perceived, &g->look->measures.fitted);
}

static Status perceive_near(Measuring *g)
{
    return perceive(g, 0.5, &g->look->measures.near, NULL);
}

static Status perceive_far(Measuring *g) { return perceive(g, 2, &g->look->measures.far, NULL); }

static Status measure_unrest(Measuring *g)
{
    const EyeOptions eye = eye_from(g, 1);
    return unrest_measure(&g->image_side, &g->side, &eye, g->look->measures.unrest, g->fault);
}

static Status find_missing(Measuring *g)
{
    const Mural *m = g->mural;
    const MissingSearch search = {m->image, m->palette, m->offered, m->threads, g->voice};
    return missing_colour_find(&g->look->missing, &search, g->fault);
}

Status look_figures_init(LookFigures *look_out, const Mural *mural, const Image *fitted,
                         const Voice *voice, Fault *fault)
{
    static Status (*const steps[])(Measuring *) = {
        show_face,     compare_cells, take_sides,     perceive_here,
        perceive_near, perceive_far,  measure_unrest, find_missing,
    };
    Measuring g = {
        .mural = mural, .fitted = fitted, .look = look_out, .voice = voice, .fault = fault};
    Status status = STATUS_OK;
    *look_out = (LookFigures){0};
    for (size_t i = 0; !status && i < sizeof steps / sizeof *steps; i++) {
        status = steps[i](&g);
        if (!status && voice_stopped(voice)) status = brief_interrupted(fault);
    }
    eye_side_clear(&g.side);
    eye_side_clear(&g.image_side);
    eye_side_clear(&g.fitted_side);
    image_clear(&g.bricks);
    return status;
}

/* ---- the bricks ---- */

static void sum_panels(const Mural *m, const PanelLoad *load, Measures *v)
{
    double laps = 0;
    for (int i = 0; i < m->panels->count; i++) {
        const PanelBond *bond = &m->bond->panel[i];
        v->whole_kg += load[i].whole_kg;
        v->pieces += bond->pieces;
        v->unsupported += bond->unsupported;
        v->weak += bond->weak;
        laps += bond->quarter_lap * (double)load[i].bricks;
        if (bond->longest_straight_joint > v->longest_straight_joint)
            v->longest_straight_joint = bond->longest_straight_joint;
    }
    v->quarter_lap = laps / (double)m->laid->count;
}

static void sum_bricks(const Mural *m, Measures *v)
{
    const size_t built = m->standing ? m->standing->count : 0;
    double cost[SIZES_MOST];
    v->mass_kg = m->parts->mass_g / 1000;
    v->price = m->parts->price;
    v->hours = (double)(m->laid->count - built) / m->job->pace;
    v->laying_cost = lay_cost_of(m->laid, brick_costs(m->job, m->sizes, cost));
}

static Status weigh_panels(const Mural *m, PanelLoad **load_out, Fault *fault)
{
    const size_t panels = (size_t)m->panels->count;
    *load_out = memory_create(panels, sizeof **load_out);
    if (!*load_out) return memory_fault(fault, panels, sizeof **load_out);
    const Mounting mounting = job_mounting(m->job);
    measure_panels(m, *load_out);
    statics_panels(m, &mounting, m->job->fixings, *load_out);
    return STATUS_OK;
}

/* ---- the whole ---- */

Status plan_figures_init(PlanFigures *figures_out, const Mural *mural, const LookFigures *look,
                         Fault *fault)
{
    *figures_out = (PlanFigures){.measures = look->measures, .missing = look->missing};
    Status status = weigh_panels(mural, &figures_out->load, fault);
    if (!status) status = relief_losses_init(&figures_out->losses, mural, fault);
    if (status) return status;
    sum_bricks(mural, &figures_out->measures);
    sum_panels(mural, figures_out->load, &figures_out->measures);
    hold_measures(mural->holds, mural->panels->count, &figures_out->measures);
    Mural measured = *mural;
    plan_figures_tell(figures_out, &measured);
    cautions_find(&figures_out->cautions, &measured);
    return STATUS_OK;
}

void plan_figures_tell(const PlanFigures *figures, Mural *mural)
{
    mural->measures = figures->measures;
    mural->load = figures->load;
    mural->losses = &figures->losses;
    mural->missing = missing_colour_matters(&figures->missing) ? &figures->missing : NULL;
    mural->cautions = figures->cautions.count;
    for (int i = 0; i < mural->cautions; i++) mural->caution[i] = figures->cautions.text[i];
}

bool plan_figures_hold(const PlanFigures *figures, const Panels *panels)
{
    const Measures *v = &figures->measures;
    return v->unsupported == 0 && v->pieces == panels->count && !v->coming_apart;
}

void plan_figures_clear(PlanFigures *figures)
{
    memory_free(figures->load);
    relief_losses_clear(&figures->losses);
}
