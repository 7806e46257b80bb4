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
#include <string.h>

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

/* Ways to hold a wall's panel while it is carried. */
static const LoadCase carrying[] = {CASE_CARRIED, CASE_LIFTED, CASE_QUARTERS, CASE_HUNG,
                                    CASE_COURSES};
enum { CARRYING = sizeof carrying / sizeof *carrying };

/* As the label on its back says the same. */
static const char *const carrying_told[LOAD_CASES] = {
    [CASE_CARRIED] = "Carry it flat, its courses' ends on bearers",
    [CASE_LIFTED] = "Lift it at both ends of its lowest course",
    [CASE_QUARTERS] = "Hang it by four bricks at its quarter points",
    [CASE_HUNG] = "Hang it by its top course",
    [CASE_COURSES] = "Carry it flat, its first and last course on bearers",
};

/* From the one that asks least of its joints; returns how many of them are within the safety. */
static int rank_carrying(const Mural *m, int panel, LoadCase by_use_out[CARRYING])
{
    const CaseHold *at = m->holds->panel[panel].at;
    int safe = 0;
    for (int i = 0; i < CARRYING; i++) {
        int place = i;
        for (; place > 0 && at[by_use_out[place - 1]].use > at[carrying[i]].use; place--)
            by_use_out[place] = by_use_out[place - 1];
        by_use_out[place] = carrying[i];
        safe += at[carrying[i]].use <= 1 / m->job->hold_safety;
    }
    return safe;
}

/* Ways of a ranking, each with what it asks. */
static void list_ways(const Mural *m, int panel, const LoadCase *way, int ways, char *text,
                      size_t size)
{
    size_t used = 0;
    *text = '\0';
    for (int i = 0; i < ways && used < size; i++) {
        const double use = m->holds->panel[panel].at[way[i]].use;
        char share[24] = "over 100 %";
        if (use <= 1) per_cent(share, use);
        used +=
            (size_t)snprintf(text + used, size - used, "%s%s (%s%s)", i ? "; " : "",
                             load_cases[way[i]].text, share, i ? "" : " of what its joints hold");
    }
}

void hold_carry_text(const Mural *m, int panel, char *text, size_t size)
{
    LoadCase way[CARRYING];
    char limit[24];
    *text = '\0';
    if (isnan(hold_tip_degrees(m, panel))) return;
    const int safe = rank_carrying(m, panel, way);
    per_cent(limit, 1 / m->job->hold_safety);
    list_ways(m, panel, way, safe, text, size);
    if (!safe)
        snprintf(text, size,
                 "on a board under all of it: no other hold asks its joints for %s or "
                 "less",
                 limit);
}

void hold_never_text(const Mural *m, int panel, char *text, size_t size)
{
    const double degrees = hold_tip_degrees(m, panel);
    LoadCase way[CARRYING];
    char tipped[80] = "";
    *text = '\0';
    if (isnan(degrees)) return;
    const int safe = rank_carrying(m, panel, way);
    list_ways(m, panel, way + safe, CARRYING - safe, text, size);
    if (degrees < 90)
        snprintf(tipped, sizeof tipped, "%stipped at its foot by more than %.0f°",
                 *text ? "; " : "", degrees);
    const size_t used = strlen(text);
    snprintf(text + used, size - used, "%s", tipped);
}

void hold_label_text(const Mural *m, int panel, char *text, size_t size)
{
    const double degrees = hold_tip_degrees(m, panel);
    LoadCase way[CARRYING];
    *text = '\0';
    if (isnan(degrees)) return;
    const char *best = rank_carrying(m, panel, way) ? carrying_told[way[0]] : "Carry it on a board";
    if (degrees < 90)
        snprintf(text, size, "%s; tip %.0f° at most.", best, degrees);
    else
        snprintf(text, size, "%s.", best);
}

void hold_thickness_text(const Mural *m, int panel, char *text, size_t size)
{
    const PanelLoad *load = &m->load[panel];
    const int courses = m->panels->panel[panel].rows, units = m->solid.base;
    char mm[24], headers[24], bare[64] = "every course has one";
    *text = '\0';
    if (m->solid.build != BUILD_WALL) return;
    number_text(mm, sizeof mm, units * m->step_mm, 1);
    const int said = snprintf(text, size, "%d unit%s, %s mm; ", units, units == 1 ? "" : "s", mm);
    if (!load->headers) {
        snprintf(text + said, size - (size_t)said, "no headers");
        return;
    }
    number_text(headers, sizeof headers, (double)load->headers, 0);
    if (load->bare_courses)
        snprintf(bare, sizeof bare, "%d of %d courses have none", load->bare_courses, courses);
    snprintf(text + said, size - (size_t)said, "%s header%s across it, %s", headers,
             load->headers == 1 ? " lies" : "s lie", bare);
}

const ToldCase hold_told[HOLD_TOLD] = {
    {CASE_SIDE, "use_side"},     {CASE_FACE_DOWN, "use_face_down"}, {CASE_CARRIED, "use_flat"},
    {CASE_LIFTED, "use_lifted"}, {CASE_COURSES, "use_courses"},     {CASE_TIPPED, "use_tipped"},
    {CASE_HUNG, "use_hung"},     {CASE_QUARTERS, "use_quarters"},
};

double hold_told_use(const Holds *h, int panel, const ToldCase *told)
{
    return most_of(h, panel, &told->load_case, 1);
}
