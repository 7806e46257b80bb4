/* The face is compared with the image as it was sampled and, from the distance, also with the
 * image as its tone fits the palette: what differs from the former the palette is to blame for,
 * from the latter the choice of its colours. Figures of bond are sums over the panels. */
#include "plan/plan_figures.h"

#include "base/memory.h"
#include "eye/eye.h"
#include "figures/measure.h"
#include "figures/statics.h"
#include "model/laying.h"
#include "plan/studio.h"

/* ---- the look ---- */

/* What the figures of the look are taken from. */
typedef struct Sides {
    Image bricks;
    EyeSide face, image, fitted;
} Sides;

static EyeOptions eye_from(const Mural *m, double times)
{
    return (EyeOptions){
        .viewpoint = {m->cell_width_mm, m->cell_height_mm, times * m->job->distance},
        .threads = m->threads};
}

/* From a multiple of the job's distance; fitted NULL: not asked for. */
static Status perceive(const Mural *m, const Sides *s, double times, Perceived *image,
                       Perceived *fitted, Fault *fault)
{
    const EyeOptions eye = eye_from(m, times);
    const EyeSide *const reference[EYE_REFERENCES] = {&s->image, &s->fitted};
    EyeResult seen[EYE_REFERENCES];
    const Status status = eye_compare_sides(reference, fitted ? 2 : 1, &s->face, &eye, seen, fault);
    if (status) return status;
    *image = (Perceived){seen[0].mean, seen[0].p95};
    if (fitted) *fitted = (Perceived){seen[1].mean, seen[1].p95};
    return STATUS_OK;
}

static Status measure_sides(const Mural *m, const Image *fitted, Sides *s, Measures *v,
                            Fault *fault)
{
    Status status = eye_face(m->palette, m->grid, &s->bricks, fault);
    if (!status) status = measure_cells(m->image, &s->bricks, m->threads, v, fault);
    if (!status) status = eye_side_init(&s->face, &s->bricks, m->threads, fault);
    if (!status) status = eye_side_init(&s->image, m->image, m->threads, fault);
    if (!status) status = eye_side_init(&s->fitted, fitted, m->threads, fault);
    if (!status) status = perceive(m, s, 1, &v->perceived, &v->fitted, fault);
    if (!status) status = perceive(m, s, 0.5, &v->near, NULL, fault);
    if (!status) status = perceive(m, s, 2, &v->far, NULL, fault);
    if (status) return status;
    const EyeOptions eye = eye_from(m, 1);
    return unrest_measure(&s->image, &s->face, &eye, v->unrest, fault);
}

static Status measure_look(const Mural *m, const Image *fitted, Measures *v, Fault *fault)
{
    Sides sides = {0};
    const Status status = measure_sides(m, fitted, &sides, v, fault);
    eye_side_clear(&sides.face);
    eye_side_clear(&sides.image);
    eye_side_clear(&sides.fitted);
    image_clear(&sides.bricks);
    return status;
}

/* ---- the bricks ---- */

static void sum_bond(const Mural *m, const PanelLoad *load, Measures *v)
{
    double laps = 0;
    for (int i = 0; i < m->panels->count; i++) {
        const PanelBond *bond = &m->bond->panel[i];
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
    measure_panels(&m->solid, m->panels, m->laid, m->sizes, *load_out);
    statics_panels(m, m->job->fixings, *load_out);
    return STATUS_OK;
}

/* ---- the whole ---- */

Status plan_figures_init(PlanFigures *figures_out, const Mural *mural, const Image *fitted,
                         Fault *fault)
{
    Measures *measures = &figures_out->measures;
    *figures_out = (PlanFigures){0};
    Status status = measure_look(mural, fitted, measures, fault);
    if (!status) status = weigh_panels(mural, &figures_out->load, fault);
    if (!status)
        status = missing_colour_find(mural->image, mural->palette, mural->offered,
                                     &figures_out->missing, fault);
    if (status) return status;
    sum_bricks(mural, measures);
    sum_bond(mural, figures_out->load, measures);
    Mural measured = *mural;
    plan_figures_tell(figures_out, &measured);
    cautions_find(&figures_out->cautions, &measured);
    return STATUS_OK;
}

void plan_figures_tell(const PlanFigures *figures, Mural *mural)
{
    mural->measures = figures->measures;
    mural->load = figures->load;
    mural->missing = missing_colour_matters(&figures->missing) ? &figures->missing : NULL;
    mural->cautions = figures->cautions.count;
    for (int i = 0; i < mural->cautions; i++) mural->caution[i] = figures->cautions.text[i];
}

bool plan_figures_hold(const PlanFigures *figures, const Panels *panels)
{
    const Measures *v = &figures->measures;
    return v->unsupported == 0 && v->pieces == panels->count;
}

void plan_figures_clear(PlanFigures *figures) { memory_free(figures->load); }
