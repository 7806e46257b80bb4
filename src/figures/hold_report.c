/* A use is told as per cent of what the joints hold when new, rounded up, since it is a bound. Of a
 * touch the place, the knobs and what hangs on them are told, so that the joint can be found and
 * pressed home.
 *
 * How far a wall may be tipped: its weight asks at an angle t for sin t of what it asks when it is
 * flat, so that a use u is reached at asin(u / flat). */
#include "figures/hold_report.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>

static double most_of(const Holds *h, int panel, const LoadCase *cases, int count)
{
    double most = NAN;
    for (int i = 0; i < count; i++) {
        const CaseHold *hold = &h->panel[panel].at[cases[i]];
        if (hold->proof != PROOF_NONE && !(hold->use <= most)) most = hold->use;
    }
    return most;
}

PanelUses hold_uses(const Holds *h, int panel)
{
    static const LoadCase hanging[] = {CASE_HANGING, CASE_STANDING}, crate[] = {CASE_CRATE},
                          carried[] = {CASE_SIDE, CASE_FACE_DOWN, CASE_CARRIED, CASE_LIFTED};
    return (PanelUses){.hanging = most_of(h, panel, hanging, 2),
                       .carried = most_of(h, panel, carried, 4),
                       .crate = most_of(h, panel, crate, 1)};
}

void hold_measures(const Holds *h, int panels, Measures *v)
{
    v->use_hanging = 0;
    v->least_hold_n = INFINITY;
    v->use_most = fmax(0, holds_worst(h, panels).use);
    v->coming_apart = holds_failing(h, panels);
    for (int i = 0; i < panels; i++) {
        v->use_hanging = fmax(v->use_hanging, hold_uses(h, i).hanging);
        v->least_hold_n = fmin(v->least_hold_n, h->panel[i].least_hold_n);
        v->held_slightly += (long)h->panel[i].slight;
        v->held_feebly += (long)h->panel[i].feeble;
    }
}

const WeakJoint *hold_weakest(const Holds *h, int panel)
{
    const PanelHolds *p = &h->panel[panel];
    const CaseHold *worst = NULL;
    if (p->least_joint.brick != HOLD_NOTHING) return &p->least_joint;
    for (int i = 0; i < LOAD_CASES; i++)
        if ((h->cases & (1U << i)) && p->at[i].weakest.brick != HOLD_NOTHING &&
            (!worst || p->at[i].use > worst->use))
            worst = &p->at[i];
    return worst ? &worst->weakest : NULL;
}

/* Layers are tiers in a plaque and rows in a wall. */
void hold_place_text(const Mural *m, const WeakJoint *joint, char *text, size_t size)
{
    *text = '\0';
    if (joint->brick == HOLD_NOTHING) return;
    const Brick *b = &m->laid->brick[joint->brick];
    const bool wall = m->solid.build == BUILD_WALL;
    const char *under = joint->below != HOLD_NOTHING ? ""
                        : wall                       ? " on its footing"
                                                     : " on its sheet";
    snprintf(text, size, "column %d, row %d, tier %d%s, on %d knob%s", b->column + 1, b->row + 1,
             b->tier + 1, under, joint->knobs, joint->knobs == 1 ? "" : "s");
}

static void per_cent(char text[24], double use)
{
    if (use < 0.001)
        snprintf(text, 24, "under 0.1 %%");
    else if (use < 0.1)
        snprintf(text, 24, "%.1f %%", ceil(use * 1000) / 10);
    else
        snprintf(text, 24, "%.0f %%", ceil(use * 100));
}

void hold_use_text(const Mural *m, int panel, char *text, size_t size)
{
    const PanelUses use = hold_uses(m->holds, panel);
    char hanging[24] = "?", carried[24] = "?", crate[24] = "?", shake[24];
    if (!isnan(use.hanging)) per_cent(hanging, use.hanging);
    if (!isnan(use.carried)) per_cent(carried, use.carried);
    if (!isnan(use.crate)) per_cent(crate, use.crate);
    number_text(shake, sizeof shake, m->job->crate_g, 1);
    snprintf(text, size, "%s at most %s of what its joints hold, carried %s, in a crate at %s g %s",
             m->solid.build == BUILD_WALL ? "standing" : "hanging", hanging, carried, shake, crate);
}

void hold_weakest_text(const Mural *m, int panel, char *text, size_t size)
{
    const PanelHolds *p = &m->holds->panel[panel];
    char place[120];
    *text = '\0';
    if (p->least_joint.brick == HOLD_NOTHING) return;
    const Brick *b = &m->laid->brick[p->least_brick];
    hold_place_text(m, &p->least_joint, place, sizeof place);
    snprintf(text, size, "%.2f N at the brick at column %d, row %d, tier %d; it gives at %s%s",
             floor(p->least_hold_n * 100) / 100, b->column + 1, b->row + 1, b->tier + 1, place,
             p->least_joint.away > 1 ? ", and more comes with it" : "");
}

#define DEGREES (180 / 3.14159265358979323846)

double hold_tip_degrees(const Mural *m, int panel)
{
    const CaseHold *tipped = &m->holds->panel[panel].at[CASE_TIPPED];
    const double limit = 1 / m->job->hold_safety;
    if (m->solid.build != BUILD_WALL || tipped->proof == PROOF_NONE) return NAN;
    return tipped->use <= limit ? 90 : floor(asin(limit / tipped->use) * DEGREES);
}

/* By what a wall's panel may be hung; first, of the two ways, that which asks less. */
static void hang_text(const Mural *m, int panel, char *text, size_t size)
{
    const CaseHold *at = m->holds->panel[panel].at;
    const LoadCase better = at[CASE_QUARTERS].use <= at[CASE_HUNG].use ? CASE_QUARTERS : CASE_HUNG;
    const LoadCase other = better == CASE_HUNG ? CASE_QUARTERS : CASE_HUNG;
    const double limit = 1 / m->job->hold_safety;
    char less[24], more[24];
    *text = '\0';
    if (at[better].proof == PROOF_NONE || at[other].proof == PROOF_NONE) return;
    per_cent(less, at[better].use);
    per_cent(more, at[other].use);
    snprintf(text, size, "; %s%s (%s of what its joints hold), %s %s (%s)",
             at[better].use > limit ? "not " : "", load_cases[better].text, less,
             at[other].use > limit ? "not" : "or", load_cases[other].text, more);
}

void hold_carry_text(const Mural *m, int panel, char *text, size_t size)
{
    const double degrees = hold_tip_degrees(m, panel);
    char hung[160], tipped[120] = "";
    *text = '\0';
    if (isnan(degrees)) return;
    if (degrees < 90)
        snprintf(tipped, sizeof tipped,
                 ", never under first and last course; tipped at its foot by %.0f degrees at most",
                 degrees);
    hang_text(m, panel, hung, sizeof hung);
    snprintf(text, size, "flat, bearers under the ends of its courses%s%s", tipped, hung);
}
