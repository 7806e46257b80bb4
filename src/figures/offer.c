/* The margin is on all that the studio pays for, so that a client who asks for the price of a part
 * is told what it adds to the whole. A price that the studio names stands for bricks, sheets and
 * labour alone. What is expected is offered, not the most: what it may cost more is the studio's.
 */
#include "figures/offer.h"

#include <math.h>

enum { WEEK = 5 }; /* working days: common practice, no source */

static double cents(double money) { return round(money * 100) / 100; }

static void reckon_money(Offer *o, const Quote *q, const Job *job)
{
    const double more = 1 + job->margin / 100;
    const double costs = q->brick_price.expected + q->sheet_price + q->labour.expected;
    o->mural = cents(job->price > 0 ? job->price : costs * more);
    o->crating = cents(q->crate_price * more);
    o->freight = cents(q->freight * more);
    o->installation = cents(q->site_price * more);
    o->net = o->mural + o->crating + o->freight + o->installation;
    o->tax = cents(o->net * job->tax / 100);
    o->total = o->net + o->tax;
    o->deposit = cents(o->total * job->deposit / 100);
    o->rest = o->total - o->deposit;
}

void offer_reckon(Offer *o, const Mural *m)
{
    Quote quote;
    quote_reckon(&quote, m);
    *o = (Offer){.width_mm = quote.width_mm,
                 .height_mm = quote.height_mm,
                 .whole_kg = quote.whole_kg.expected,
                 .bricks = quote.bricks,
                 .colours = parts_colours(m->parts),
                 .colours_within = quote.colours_within,
                 .panels = m->panels->count,
                 .crates = quote.crates,
                 .site_days = quote.site_days,
                 .weeks = (int)fmax(1, ceil(quote.days.most / WEEK))};
    for (int i = 0; i < m->panels->count; i++)
        o->depth_mm = fmax(o->depth_mm, m->load[i].whole_depth_mm);
    reckon_money(o, &quote, m->job);
}
