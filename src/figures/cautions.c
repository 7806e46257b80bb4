/* A caution is said where its cause is in the mural, with the figure that makes it one, and is left
 * out elsewhere: a list that always says everything is not read. Each line begins with its topic,
 * by which the book and the kit pick theirs, and ends with its source. None replaces a code or a
 * licensed person.
 *
 * Masses are taken at their most where they warn. Sources stand in the lines and beside the
 * constants. */
#include "figures/cautions.h"

#include "base/text.h"
#include "figures/hold_report.h"
#include "figures/statics.h"
#include "model/lift.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ACCESSIBLE_DOOR_MM 815 /* ADA Standards 2010, 404.2.3: 32 in clear */
#define OUT_OF_REACH_MM 2000   /* our choice: taller than this is built from a ladder */

/* 16 CFR 1501.4: the small-parts cylinder is 1.25 in wide and, slanted, 1 to 2.25 in deep. */
#define CYLINDER_WIDTH_MM 31.7
#define CYLINDER_DEPTH_MM 57.1

#define ABS_EXPANSION 9.4e-5 /* a kelvin: data sheets of ABS, 8.7 to 9.4 x 10^-5 */
#define ROOM_WARMS_K 20.0    /* our choice: from a cold night to a heated day */
#define GROWTH_TOLD_MM 1.0   /* half of a gap of 2 mm between panels */

void saving_text(const Saving *saving, char *text, size_t size)
{
    char kg[40], bricks[40];
    number_text(kg, sizeof kg, saving->mass_kg, 1);
    number_text(bricks, sizeof bricks, (double)labs(saving->bricks), 0);
    snprintf(text, size, "hollow behind %d of shell: %s kg less, %s bricks %s", saving->shell, kg,
             bricks, saving->bricks < 0 ? "more" : "less");
}

void lift_advice(double mass_kg, double short_side_mm, char *text, size_t size)
{
    const double limit = lift_flat_limit_kg(short_side_mm);
    const double most = mass_kg * MASS_TOLERANCE;
    char limit_text[32];
    number_text(limit_text, sizeof limit_text, limit, 1);
    const char *who = "one person";
    if (most > ONE_PERSON_KG || most > limit) who = "two people";
    if (most > LIFT_CONSTANT_KG || (limit > 0.0 && most > 2.0 * limit))
        who = "two people and a lifting aid";
    if (limit > 0.0)
        snprintf(text, size,
                 "%s (one person's limit, lifted flat from a bench with a poor grip: %s kg; NIOSH "
                 "94-110)",
                 who, limit_text);
    else
        snprintf(text, size,
                 "%s (lifted flat it is held farther from the body than the limit of NIOSH 94-110 "
                 "allows, 63 cm: carry it upright)",
                 strcmp(who, "one person") == 0 ? "two people" : who);
}

int panel_advice(const Mural *m, int panel, PanelAdvice advice_out[PANEL_ADVICES])
{
    const Panel *p = &m->panels->panel[panel];
    PanelAdvice *next = advice_out;
    next->name = "To lift";
    lift_advice(m->load[panel].whole_kg,
                fmin(p->columns * m->cell_width_mm, p->rows * m->cell_height_mm), next->text,
                sizeof next->text);
    next++;
    next->name = "Thickness";
    hold_thickness_text(m, panel, next->text, sizeof next->text);
    next += *next->text != '\0';
    if (!isnan(hold_uses(m->holds, panel).hanging)) {
        next->name = "Joints";
        hold_use_text(m, panel, next->text, sizeof next->text);
        next++;
    }
    next->name = "Least hold";
    hold_weakest_text(m, panel, next->text, sizeof next->text);
    next += *next->text != '\0';
    next->name = "To carry";
    hold_carry_text(m, panel, next->text, sizeof next->text);
    next += *next->text != '\0';
    next->name = "Never";
    hold_never_text(m, panel, next->text, sizeof next->text);
    next += *next->text != '\0';
    return (int)(next - advice_out);
}

static void say_caution(Cautions *c, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void say_caution(Cautions *c, const char *format, ...)
{
    if (c->count == CAUTIONS_MOST) return;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(c->text[c->count++], sizeof c->text[0], format, arguments);
    va_end(arguments);
}

/* A box is in the cylinder for sure if its smallest face fits the circle and its length the deep
 * side. */
static bool fits_small_parts(double a, double b, double c)
{
    const double longest = fmax(a, fmax(b, c)), least = fmin(a, fmin(b, c));
    const double middle = a + b + c - longest - least;
    return hypot(least, middle) <= CYLINDER_WIDTH_MM && longest <= CYLINDER_DEPTH_MM;
}

static void warn_of_small_parts(Cautions *c, const Mural *m)
{
    bool used[SIZES_MOST] = {false};
    char list[200] = "";
    for (int i = 0; i < m->parts->count; i++)
        if (m->parts->part[i].count > 0) used[m->parts->part[i].size] = true;
    for (int i = 0; i < m->sizes->count; i++) {
        const Size *s = &m->sizes->size[i];
        if (!used[i] || !fits_small_parts(s->width * m->job->pitch, s->length * m->job->pitch,
                                          m->job->brick_height))
            continue;
        const size_t length = strlen(list);
        snprintf(list + length, sizeof list - length, "%s%s", length ? " " : "", s->name);
    }
    if (list[0])
        say_caution(
            c,
            "Small parts: the sizes %s fit the small-parts cylinder. Choking hazard: keep them "
            "from "
            "children under 3. Source: 16 CFR 1501.4.",
            list);
}

static int heaviest_panel(const Mural *m)
{
    int heaviest = 0;
    for (int i = 1; i < m->panels->count; i++)
        if (m->load[i].whole_kg > m->load[heaviest].whole_kg) heaviest = i;
    return heaviest;
}

static void warn_of_lifting(Cautions *c, const Mural *m)
{
    const int which = heaviest_panel(m);
    const double heaviest = m->load[which].whole_kg;
    if (heaviest * MASS_TOLERANCE <= ONE_PERSON_KG) return;
    char mass[32];
    number_text(mass, sizeof mass, heaviest, 1);
    say_caution(c,
                "Weight: panel %s weighs %s kg (estimate, ±10 %%, with what is behind its bricks). "
                "Over 15 kg: two people.%s Source: NIOSH 94-110; ISO 11228-1.",
                m->panels->panel[which].name, mass,
                heaviest * MASS_TOLERANCE > LIFT_CONSTANT_KG
                    ? " Over 23 kg: do not lift single-handed, use a lifting aid."
                    : "");
}

static void warn_of_holding(Cautions *c, const Mural *m)
{
    int parted = 0, unsupported = 0;
    for (int i = 0; i < m->panels->count; i++) {
        parted += m->bond->panel[i].pieces > 1;
        unsupported += m->bond->panel[i].unsupported;
    }
    if (!parted && !unsupported) return;
    say_caution(
        c,
        "Holding: panels in more than one piece: %d; bricks that rest on nothing: %d. They must be "
        "glued or backed before the panel is moved. Source: the structure's report of this plan.",
        parted, unsupported);
    say_caution(
        c,
        "Adhesive: solvent cement is flammable and its vapour irritates the eyes. Ventilate, wear "
        "gloves, no flame; test it on a scrap; read sections 2, 7 and 8 of its safety data sheet. "
        "Source: 29 CFR 1910.1200 App. D.");
    say_caution(
        c, "Glue stays: a glued panel cannot be mended by swapping bricks; glue only what does not "
           "hold. Source: workshop practice.");
}

/* Joints that are asked for much of what they hold. */
static void warn_of_use(Cautions *c, const Mural *m)
{
    const WorstHold worst = holds_worst(m->holds, m->panels->count);
    if (worst.panel < 0 || worst.use <= 1 / m->job->hold_safety) return;
    const CaseHold *hold = &m->holds->panel[worst.panel].at[worst.load_case];
    char place[120];
    hold_place_text(m, &hold->weakest, place, sizeof place);
    say_caution(c,
                "Joints: panel %s takes %s%.0f %% of what its joints hold when new, %s%s%s. %s Old "
                "and worn bricks hold less; who answers for safety is a licensed "
                "person, by local codes. Source: balance of forces at --clutch %s.",
                m->panels->panel[worst.panel].name, hold->proof == PROOF_EXACT ? "" : "up to ",
                ceil(worst.use * 100), load_cases[worst.load_case].text,
                *place ? "; first at " : "", place,
                hold->fails     ? "It comes apart: glue or back it, or cut smaller panels."
                : worst.use > 1 ? "Whether it holds is not proven: back it, or cut smaller panels."
                                : "Back it, or cut smaller panels, if it is to stay up.",
                m->job->clutch);
}

/* Bricks that come off at a touch. */
static void warn_of_touch(Cautions *c, const Mural *m)
{
    const Measures *v = &m->measures;
    char touch[32], text[300];
    if (v->held_slightly == 0) return;
    number_text(touch, sizeof touch, m->job->touch, 1);
    hold_weakest_text(m, holds_least(m->holds, m->panels->count), text, sizeof text);
    say_caution(c,
                "Touch: %ld bricks that stand out hold less than %s N, %ld of them less than a "
                "duster's 0.5 N; the least, %s. Glue them, or keep hands off; holds.png shows "
                "where. Source: balance of forces at --clutch %s.",
                v->held_slightly, touch, v->held_feebly, text, m->job->clutch);
}

static void warn_of_place(Cautions *c, const Mural *m)
{
    double short_most = 0.0;
    int which = 0;
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        const double side = fmin(p->columns * m->cell_width_mm, p->rows * m->cell_height_mm);
        if (side > short_most) short_most = side, which = i;
    }
    if (short_most > ACCESSIBLE_DOOR_MM - 2 * HAND_MM) {
        char side[32];
        number_text(side, sizeof side, short_most, 0);
        say_caution(
            c,
            "Doors: panel %s is %s mm on its short side; an accessible door need be only 815 mm "
            "wide. "
            "Walk the whole way with the crate's size before building. Source: ADA Standards 2010, "
            "404.2.3.",
            m->panels->panel[which].name, side);
    }
    say_caution(
        c,
        "Fire: not tested as wall lining. Ask the fire officer; keep out of exits and escape "
        "corridors, and away from heat; 60 °C at most. Source: NFPA 101, table A.10.2.2; UL 94 HB "
        "for general-purpose ABS.");
    say_caution(
        c,
        "Light: no direct sun, no hot spotlight near. Source: data sheets of general-purpose ABS, "
        "service limit 62 to 77 °C.");
}

/* Figures for whoever designs what holds the panels. */
static void warn_of_load(Cautions *c, const Mural *m)
{
    const int heaviest = heaviest_panel(m);
    int tips = -1;
    if (m->job->fixings < 1) return;
    for (int i = 0; i < m->panels->count; i++) {
        if (m->load[i].statics.tipping_nm <= 0) continue;
        if (tips < 0 || m->load[i].statics.tipping_nm > m->load[tips].statics.tipping_nm) tips = i;
    }
    const PanelStatics *s = &m->load[heaviest].statics;
    char fixing[32], moment[32];
    number_text(fixing, sizeof fixing, s->fixing_n, 0);
    number_text(moment, sizeof moment, s->hanging_nm, 1);
    say_caution(
        c,
        "Load: of panel %s, the heaviest, reckon with %s N on each of %d fixings, which never "
        "share "
        "evenly, and with %s N m about its back; panels.csv has all. These are loads, not a "
        "design: that is a licensed person's work. Source: twice the even share of its weight.",
        m->panels->panel[heaviest].name, fixing, m->job->fixings, moment);
    if (tips < 0 || m->solid.build != BUILD_WALL) return;
    number_text(moment, sizeof moment, m->load[tips].statics.tipping_nm, 1);
    say_caution(
        c,
        "Tipping: panel %s stands out so far that it falls forward over its base, with %s N m, "
        "unless it is held. Prop it while it is built and carried. Source: its centre of mass.",
        m->panels->panel[tips].name, moment);
}

static void warn_of_hanging(Cautions *c, const Mural *m)
{
    char force[32], growth[32], length[32];
    number_text(force, sizeof force, m->measures.whole_kg * STATICS_GRAVITY, 0);
    say_caution(
        c,
        "Fixing: its panels pull with %s N. Have the %s designed by a licensed person: to "
        "the structure, not to plasterboard; not over seats or a way through without a rated "
        "second "
        "fixing. Source: weight at 9.81 m/s².",
        force, m->solid.build == BUILD_WALL ? "support and ties" : "fixings");
    warn_of_load(c, m);
    if (mural_height_mm(m) > OUT_OF_REACH_MM)
        say_caution(
            c, "Height: the mural is taller than arms reach. Two people, and nobody below. Source: "
               "national rules for work at height.");
    const double longest = fmax(mural_width_mm(m), mural_height_mm(m));
    const double grows = longest * ABS_EXPANSION * ROOM_WARMS_K;
    if (grows >= GROWTH_TOLD_MM && m->panels->count > 1) {
        number_text(growth, sizeof growth, grows, 1);
        number_text(length, sizeof length, longest / 1000.0, 2);
        say_caution(
            c,
            "Warmth: over 20 K its %s m grow by up to %s mm. Leave 2 mm at each panel's edge or "
            "let "
            "the fixings slide. Source: data sheets of ABS, 8.7 to 9.4 × 10^-5 /K.",
            length, growth);
    }
}

void cautions_find(Cautions *c, const Mural *m)
{
    c->count = 0;
    warn_of_small_parts(c, m);
    warn_of_lifting(c, m);
    if (m->sizes->estimated)
        say_caution(
            c, "Masses: some are worked out from the bricks' shape, not weighed. Weigh a hundred "
               "bricks before ordering freight. Source: this plan's brick set.");
    warn_of_holding(c, m);
    if (m->holds) warn_of_use(c, m);
    if (m->holds) warn_of_touch(c, m);
    warn_of_place(c, m);
    warn_of_hanging(c, m);
}
