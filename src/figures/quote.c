/* What the parts list, the job's rates and the crates come to. Nothing is asked twice: prices are
 * the parts', masses too, and this only adds them up and says how far each sum may be off.
 *
 * Of every range least <= expected <= most. What stands already costs no bricks, sheets or hours.
 * A figure that was not given makes its sum 0, and the writers say that it is not priced.
 *
 * Sources stand beside the gates and the constants of the header. */
#include "figures/quote.h"

#include "model/lift.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const Gate quote_gates[GATES] = {
    {"accessible door, US", 815, 2032, 0, false, true, "ADA 2010, 404.2.3; IBC 1010"},
    {"accessible door, ISO", 800, 2000, 0, false, true, "ISO 21542, the narrow end; height ours"},
    {"small museum's doorway", 890, 2032, 0, false, false, "practice; height as IBC 1010"},
    {"passenger lift, 630 kg", 800, 2000, 1400, false, true, "ISO 8100-30"},
    {"pallet 1200 x 800", 1200, 800, 0, true, true, "EN 13698-1"},
    {"pallet 1200 x 1000", 1200, 1000, 0, true, true, "ISO 6780"},
    {"freight container's door", 2286, 2261, 0, false, true, "ISO 668"},
};

/* ---- crates ---- */

static bool fits_either_way(double a, double b, double width, double height)
{
    return (a <= width && b <= height) || (a <= height && b <= width);
}

/* Through a door the crate moves along its longest side, so its other two must fit the
 * opening. Carried flat the middle side lies across; on edge it stands. */
Passing quote_passing(const Crate *crate, const Gate *gate)
{
    const double *s = crate->side_mm, room = 2 * HAND_MM;
    if (gate->surface) {
        if (fits_either_way(s[1], s[2], gate->width_mm, gate->height_mm)) return PASSES;
        return fits_either_way(s[0], s[2], gate->width_mm, gate->height_mm) ? PASSES_ON_EDGE
                                                                            : PASSES_NOT;
    }
    const bool behind = gate->length_mm == 0 || s[2] <= gate->length_mm;
    const bool upright = s[2] <= gate->height_mm && s[1] + room <= gate->width_mm;
    if (s[1] + room <= gate->width_mm && s[0] <= gate->height_mm && behind) return PASSES;
    if ((s[0] + room <= gate->width_mm && s[1] <= gate->height_mm && behind) || upright)
        return PASSES_ON_EDGE;
    return PASSES_NOT;
}

static double face_of(const Crate *c) { return c->side_mm[1] * c->side_mm[2]; }

static void reckon_crates(Quote *q, const Mural *m)
{
    Crate crate;
    for (int from = 0; from < m->panels->count; from += crate.panels, q->crates++) {
        crate = crate_from(m, from);
        if (from == 0 || face_of(&crate) > face_of(&q->largest)) q->largest = crate;
        if (from == 0 || crate.packed_kg > q->heaviest.packed_kg) q->heaviest = crate;
        if (crate.panels > q->fullest) q->fullest = crate.panels;
        for (int g = 0; g < GATES; g++) {
            const Passing passing = quote_passing(&crate, &quote_gates[g]);
            if (passing > q->passing[g]) q->passing[g] = passing;
            q->barred[g] += passing == PASSES_NOT;
        }
    }
}

/* ---- money and time ---- */

static void reckon_bricks(Quote *q, const Mural *m)
{
    q->bricks = (long)m->laid->count;
    q->built = m->parts->built;
    q->order = m->parts->order;
    q->bought = m->parts->bought;
    q->outlay = m->parts->outlay;
    q->brick_price.expected = m->parts->price;
    q->brick_price.most = m->parts->price;
    for (int i = 0; i < m->parts->count; i++) {
        const Part *p = &m->parts->part[i];
        q->brick_price.least += (double)part_to_come(p) * p->unit_price;
        q->brick_price.most += (double)(p->bought - p->to_buy) * p->unit_price;
    }
    q->priced = m->parts->price > 0;
}

static Span span_times(Span span, double factor)
{
    return (Span){span.least * factor, span.expected * factor, span.most * factor};
}

static void reckon_work(Quote *q, const Mural *m)
{
    const Job *job = m->job;
    const double hours = (double)(q->bricks - q->built) / job->pace;
    q->hours = (Span){hours / (1 + QUOTE_PACE_OFF), hours, hours / (1 - QUOTE_PACE_OFF)};
    q->labour = span_times(q->hours, job->rate);
    const Span days = span_times(q->hours, 1 / (job->day * job->builders));
    q->days = (Span){ceil(days.least), ceil(days.expected), ceil(days.most)};
    q->site_days = (m->panels->count + job->hanging - 1) / job->hanging;
}

/* Panels in which bricks stand. Standing bricks are in building order, so those of a panel are one
 * stretch. */
static int panels_begun(const Mural *m)
{
    int begun = 0, last = -1;
    for (size_t i = 0; m->standing && i < m->standing->count; i++) {
        begun += m->standing->brick[i].panel != last;
        last = m->standing->brick[i].panel;
    }
    return begun;
}

static void reckon_total(Quote *q, const Job *job)
{
    q->crate_price = q->crates * job->crate_price;
    q->freight = job->freight;
    q->site_price = q->site_days * job->site_rate;
    const double fixed = q->sheet_price + q->crate_price + q->freight + q->site_price;
    q->total = (Span){q->brick_price.least + q->labour.least + fixed,
                      q->brick_price.expected + q->labour.expected + fixed,
                      q->brick_price.most + q->labour.most + fixed};
}

void quote_reckon(Quote *q, const Mural *m)
{
    memset(q, 0, sizeof *q);
    q->width_mm = mural_width_mm(m);
    q->height_mm = mural_height_mm(m);
    q->depth_mm = solid_depth(&m->solid) * m->step_mm;
    reckon_bricks(q, m);
    reckon_work(q, m);
    q->sheets = m->solid.build == BUILD_PLAQUE ? m->panels->count - panels_begun(m) : 0;
    q->sheet_price = q->sheets * m->job->sheet_price;
    const double mass = m->parts->mass_g / 1000;
    const Span off = {1 - QUOTE_MASS_OFF, 1, 1 + QUOTE_MASS_OFF};
    q->mass_kg = span_times(off, mass);
    q->whole_kg = span_times(off, m->measures.whole_kg);
    q->colours_within = palette_within(m->palette, m->offered);
    reckon_crates(q, m);
    reckon_total(q, m->job);
}

void quote_colours_text(double within, const NumberStyle *style, char *text, size_t size)
{
    char number[40];
    number_styled(number, sizeof number, style, within, 1);
    snprintf(
        text, size,
        "nine of ten colours of the bricks lie within %s (CIEDE2000) of those that are planned",
        number);
}
