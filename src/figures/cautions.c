#include "figures/cautions.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ONE_PERSON_KG 15.0     /* a panel is a poor grip far from the body */
#define LIFT_CONSTANT_KG 23.0  /* NIOSH 94-110: the load constant */
#define MASS_TOLERANCE 1.10    /* masses are good to 10 per cent */
#define ACCESSIBLE_DOOR_MM 815 /* ADA Standards 2010, 404.2.3: 32 in clear */
#define DOOR_CLEARANCE_MM 40   /* a hand's room on both sides */
#define OUT_OF_REACH_MM 2000   /* our choice: taller than this is built from a ladder */

void number_text(char *text, size_t size, double value, int decimals)
{
    char digits[40], grouped[60];
    double scale = 1.0;
    for (int i = 0; i < decimals; i++) scale *= 10.0;
    const double most = 9e15;
    long long whole = llround(fmin(most, fmax(-most, value * scale)));
    const char *sign = whole < 0 ? "-" : "";
    if (whole < 0) whole = -whole;
    const long long unit = (long long)scale;
    const int length = snprintf(digits, sizeof digits, "%lld", whole / unit);
    int to = 0;
    for (int i = 0; i < length; i++) {
        if (i && (length - i) % 3 == 0) grouped[to++] = ',';
        grouped[to++] = digits[i];
    }
    grouped[to] = '\0';
    if (decimals)
        snprintf(text, size, "%s%s.%0*lld", sign, grouped, decimals, whole % unit);
    else
        snprintf(text, size, "%s%s", sign, grouped);
}

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
    /* Lifted flat from a bench, the hands at the middle of the short sides. */
    const double hands = 20.0 + short_side_mm / 20.0;
    const double limit = lift_limit_kg(&(Lift){hands, 75.0, 25.0, 0.0, 1.0, 0.90});
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

static void add(Cautions *c, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void add(Cautions *c, const char *format, ...)
{
    if (c->count == CAUTIONS_MOST) return;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(c->text[c->count++], sizeof c->text[0], format, arguments);
    va_end(arguments);
}

/* 16 CFR 1501.4: a cylinder 1.25 in wide, its slanted depth 1 to 2.25 in. A box passes
 * for sure if its smallest face fits the circle and its length the deep side. */
static bool fits_small_parts(double a, double b, double c)
{
    const double longest = fmax(a, fmax(b, c)), least = fmin(a, fmin(b, c));
    const double middle = a + b + c - longest - least;
    return hypot(least, middle) <= 31.7 && longest <= 57.1;
}

static void small_parts(Cautions *c, const Mural *m)
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
        add(c,
            "Small parts: the sizes %s fit the small-parts cylinder. Choking hazard: keep them "
            "from "
            "children under 3. Source: 16 CFR 1501.4.",
            list);
}

static void lifting(Cautions *c, const Mural *m)
{
    double heaviest = 0.0, grams = 0.0;
    int which = 0;
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        if (i && b->panel != m->laid->brick[i - 1].panel) grams = 0.0;
        grams += m->sizes->size[b->size].mass_g;
        if (grams > heaviest) heaviest = grams, which = b->panel;
    }
    heaviest /= 1000.0;
    if (heaviest * MASS_TOLERANCE <= ONE_PERSON_KG) return;
    char mass[32];
    number_text(mass, sizeof mass, heaviest, 1);
    add(c,
        "Weight: panel %s weighs %s kg (estimate, ±10 %%, without base sheet, backing and "
        "fixings). "
        "Over 15 kg: two people.%s Source: NIOSH 94-110; ISO 11228-1.",
        m->panels->panel[which].name, mass,
        heaviest * MASS_TOLERANCE > LIFT_CONSTANT_KG
            ? " Over 23 kg: do not lift single-handed, use a lifting aid."
            : "");
}

static void holding(Cautions *c, const Mural *m)
{
    int parted = 0, unsupported = 0;
    for (int i = 0; i < m->panels->count; i++) {
        parted += m->bond->panel[i].pieces > 1;
        unsupported += m->bond->panel[i].unsupported;
    }
    if (!parted && !unsupported) return;
    add(c,
        "Holding: panels in more than one piece: %d; bricks that rest on nothing: %d. They must be "
        "glued or backed before the panel is moved. Source: the structure's report of this plan.",
        parted, unsupported);
    add(c,
        "Adhesive: solvent cement is flammable and its vapour irritates the eyes. Ventilate, wear "
        "gloves, no flame; test it on a scrap; read sections 2, 7 and 8 of its safety data sheet. "
        "Source: 29 CFR 1910.1200 App. D.");
    add(c, "Glue stays: a glued panel cannot be mended by swapping bricks; glue only what does not "
           "hold. Source: workshop practice.");
}

static void place(Cautions *c, const Mural *m)
{
    double short_most = 0.0;
    int which = 0;
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        const double side = fmin(p->columns * m->cell_width_mm, p->rows * m->cell_height_mm);
        if (side > short_most) short_most = side, which = i;
    }
    if (short_most > ACCESSIBLE_DOOR_MM - DOOR_CLEARANCE_MM) {
        char side[32];
        number_text(side, sizeof side, short_most, 0);
        add(c,
            "Doors: panel %s is %s mm on its short side; an accessible door need be only 815 mm "
            "wide. "
            "Walk the whole way with the crate's size before building. Source: ADA Standards 2010, "
            "404.2.3.",
            m->panels->panel[which].name, side);
    }
    add(c,
        "Fire: not tested as wall lining. Ask the fire officer; keep out of exits and escape "
        "corridors, and away from heat; 60 °C at most. Source: NFPA 101, table A.10.2.2; UL 94 HB "
        "for general-purpose ABS.");
    add(c,
        "Light: no direct sun, no hot spotlight near. Source: data sheets of general-purpose ABS, "
        "service limit 62 to 77 °C.");
}

/* Figures for whoever designs what holds the panels. */
static void heaviest_panel(Cautions *c, const Mural *m)
{
    int heaviest = 0, tips = -1;
    if (!m->load || m->job->fixings < 1) return;
    for (int i = 0; i < m->panels->count; i++) {
        if (m->load[i].mass_g > m->load[heaviest].mass_g) heaviest = i;
        if (m->load[i].statics.tipping_nm <= 0) continue;
        if (tips < 0 || m->load[i].statics.tipping_nm > m->load[tips].statics.tipping_nm) tips = i;
    }
    const PanelStatics *s = &m->load[heaviest].statics;
    char fixing[32], moment[32];
    number_text(fixing, sizeof fixing, s->fixing_n, 0);
    number_text(moment, sizeof moment, s->hanging_nm, 1);
    add(c,
        "Load: of panel %s, the heaviest, reckon with %s N on each of %d fixings, which never "
        "share "
        "evenly, and with %s N m about its back; panels.csv has all. These are loads, not a "
        "design: that is a licensed person's work. Source: twice the even share of its bricks' "
        "weight.",
        m->panels->panel[heaviest].name, fixing, m->job->fixings, moment);
    if (tips < 0 || m->solid.build != BUILD_WALL) return;
    number_text(moment, sizeof moment, m->load[tips].statics.tipping_nm, 1);
    add(c,
        "Tipping: panel %s stands out so far that it falls forward over its base, with %s N m, "
        "unless it is held. Prop it while it is built and carried. Source: its centre of mass.",
        m->panels->panel[tips].name, moment);
}

static void hanging(Cautions *c, const Mural *m)
{
    char force[32], growth[32], length[32];
    number_text(force, sizeof force, m->measures.mass_kg * 9.81, 0);
    add(c,
        "Fixing: the bricks alone pull with %s N. Have the %s designed by a licensed person: to "
        "the structure, not to plasterboard; not over seats or a way through without a rated "
        "second "
        "fixing. Source: weight at 9.81 m/s².",
        force, m->solid.build == BUILD_WALL ? "support and ties" : "fixings");
    heaviest_panel(c, m);
    if (mural_height_mm(m) > OUT_OF_REACH_MM)
        add(c, "Height: the mural is taller than arms reach. Two people, and nobody below. Source: "
               "national rules for work at height.");
    /* A millimetre is half of a gap of two. */
    const double longest = fmax(mural_width_mm(m), mural_height_mm(m));
    const double grows = longest * 9.4e-5 * 20.0;
    if (grows >= 1.0 && m->panels->count > 1) {
        number_text(growth, sizeof growth, grows, 1);
        number_text(length, sizeof length, longest / 1000.0, 2);
        add(c,
            "Warmth: over 20 K its %s m grow by up to %s mm. Leave 2 mm at each panel's edge or "
            "let "
            "the fixings slide. Source: data sheets of ABS, 8.7 to 9.4 × 10^-5 /K.",
            length, growth);
    }
}

void cautions_find(Cautions *c, const Mural *m)
{
    c->count = 0;
    small_parts(c, m);
    lifting(c, m);
    if (m->sizes->estimated)
        add(c, "Masses: some are worked out from the bricks' shape, not weighed. Weigh a hundred "
               "bricks before ordering freight. Source: this plan's brick set.");
    holding(c, m);
    place(c, m);
    hanging(c, m);
}
