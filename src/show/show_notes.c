/* One function a subject, in the order in which a studio asks. Each note says the figure, what it
 * is held against, and what to do where there is something to be done. */
#include "show/show_notes.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>

static const char *money(char text[60], double value, const char *currency)
{
    char number[40];
    number_text(number, sizeof number, value, 2);
    snprintf(text, 60, "%s%s%.16s", number, *currency ? " " : "", currency);
    return text;
}

static void say_palette(const ShowFacts *f, const Voice *voice)
{
    const ShowPalette *p = f->palette;
    const Lonely *least = p->lonely;
    int worst = 0;
    for (int m = 1; m < p->murals; m++)
        if (p->served[m].shared - p->served[m].own > p->served[worst].shared - p->served[worst].own)
            worst = m;
    if (p->picked)
        voice_note(voice,
                   "palette: %d colours for all leave a difference of %.2f; %s loses most against "
                   "%d of its own, %.2f for %.2f",
                   p->colours, p->difference, f->show->mural[worst].name, p->colours,
                   p->served[worst].shared, p->served[worst].own);
    if (p->lonely_count)
        voice_note(voice,
                   "palette: %d colour%s in one mural alone; %s, %ld brick%s of %s, is missed "
                   "least: without it the difference there grows by %.3f; show.json lists all",
                   p->lonely_count, p->lonely_count == 1 ? " is" : "s are",
                   f->studio->palette.colour[least->colour].id, least->bricks,
                   least->bricks == 1 ? "" : "s", f->show->mural[least->mural].name, least->loss);
}

static void note_order(const ShowFacts *f, const Voice *voice)
{
    const ShowOrder *o = f->order;
    char whole[60], apart[60], less[60], bricks[40];
    const char *currency = f->show->shared.currency;
    number_text(bricks, sizeof bricks, (double)(o->apart_bought - o->whole.bought), 0);
    if (o->apart_outlay > 0)
        voice_note(voice,
                   "order: %s for all murals together; ordered one by one they would cost %s: %s "
                   "and %s bricks saved",
                   money(whole, o->whole.outlay, currency), money(apart, o->apart_outlay, currency),
                   money(less, o->apart_outlay - o->whole.outlay, currency), bricks);
    else
        voice_note(voice, "order: %s bricks fewer than mural by mural; without prices", bricks);
    for (int supplier = 0; supplier <= NO_SUPPLIER; supplier++) {
        char text[200];
        if (show_order_supplied(o, supplier, currency, text, sizeof text))
            voice_note(voice, "order: %s", text);
    }
}

/* Crates that go into no vehicle are named, as many as are read. */
static void say_too_large(const ShowCrates *c, const Voice *voice)
{
    enum { NAMED = 3 };
    char content[120], mend[300];
    int named = 0;
    for (int i = 0; i < c->crates && named < NAMED; i++) {
        const ShowCrate *own = &c->crate[i];
        if (own->vehicle >= 0) continue;
        show_crates_content(c, i, content, sizeof content);
        voice_note(voice, "crates: crate %d of %.0f × %.0f × %.0f cm, %.0f kg, %s: goes into no %s",
                   i + 1, own->width_mm / 10, own->height_mm / 10, own->depth_mm / 10,
                   own->gross_kg, content, c->loading.vehicle->name);
        named++;
    }
    show_loading_mend(&c->loading, c->crate, c->crates, mend, sizeof mend);
    if (named) voice_note(voice, "crates: %d in all go into none: %s", c->loading.too_large, mend);
}

static void say_crates(const ShowFacts *f, const Voice *voice)
{
    const ShowCrates *c = f->crates;
    char loaded[240];
    show_loading_sum(&c->loading, loaded, sizeof loaded);
    voice_note(voice,
               "crates: %d panel%s in %d of %.2f m3, within %.1f %% of the least that any "
               "packing takes; %.0f kg; %s",
               c->panels, c->panels == 1 ? "" : "s", c->crates, c->volume_m3,
               100 * (c->volume_m3 / c->bound_m3 - 1), c->gross_kg, loaded);
    say_too_large(c, voice);
}

static void say_calendar(const ShowFacts *f, const Voice *voice)
{
    const Calendar *c = f->calendar;
    char built[DAY_TEXT], hung[DAY_TEXT], ordered[DAY_TEXT];
    if (!f->show->dated) {
        voice_note(
            voice,
            "calendar: %.0f hours of work, %.0f until all is built; give start in [show] for "
            "dates and calendar.ics",
            c->hours, c->makespan_h);
        return;
    }
    day_print(c->mural[c->critical].building.last, built);
    day_print(c->hanging.last, hung);
    day_print(c->ordered[0], ordered);
    voice_note(voice,
               "calendar: first order on %s; all built by %s, %s last; hung by %s; %.0f hours of "
               "building, within %.1f %% of the least with so many builders",
               ordered, built, f->show->mural[c->critical].name, hung, c->makespan_h,
               100 * (c->makespan_h / c->bound_h - 1));
}

static void say_budget(const ShowFacts *f, const Voice *voice)
{
    char costs[60], budget[60], then[60];
    const char *currency = f->show->shared.currency;
    const BudgetMend *m = f->mend;
    if (f->show->budget <= 0) return;
    money(costs, f->cost->total, currency);
    money(budget, f->show->budget, currency);
    money(then, m->total, currency);
    switch (m->kind) {
    case MEND_NONE:
        voice_note(voice, "budget: %s of %s", costs, budget);
        return;
    case MEND_NO_SPARES:
        voice_note(voice, "budget: %s, %s is asked for; without spares it is %s", costs, budget,
                   then);
        return;
    case MEND_WITHOUT:
        voice_note(voice,
                   "budget: %s, %s is asked for; without %s it is %s, the least change that "
                   "will do",
                   costs, budget, f->show->mural[m->mural].name, then);
        return;
    case MEND_SMALLER:
        break;
    }
    if (m->part > 0)
        voice_note(voice,
                   "budget: %s, %s is asked for, and leaving one mural out will not do; all "
                   "murals %.0f %% as wide would",
                   costs, budget, floor(100 * m->part));
    else
        voice_note(voice,
                   "budget: %s, %s is asked for, which crates, freight and hanging alone go "
                   "beyond; raise it",
                   costs, budget);
}

static void say_difference(const ShowFacts *f, const Voice *voice)
{
    const ShowDifference *d = f->difference;
    if (!d->more && !d->fewer) return;
    voice_note(voice,
               "difference: %d murals added, %d dropped, %d changed; %ld bricks more, %ld "
               "fewer; see difference.csv",
               d->added, d->dropped, d->changed, d->more, d->fewer);
    if (d->dropped)
        voice_note(voice, "%s/%s: is in the show no more; its folder stays", f->folder->path,
                   d->first_dropped);
}

static void say_end(const ShowFacts *f, const Voice *voice)
{
    int planned = 0;
    double kg;
    char text[40];
    for (int i = 0; i < f->show->count; i++) {
        planned += f->made[i].planned;
        if (f->made[i].status == STATUS_UNHELD && !f->made[i].planned)
            voice_note(voice, "%s: some brick cannot be made to hold, see its plan.json",
                       f->show->mural[i].name);
    }
    number_text(text, sizeof text, (double)planned_sum(f->planned, f->show->count, &kg), 0);
    voice_note(
        voice,
        "done: %d mural%s of %s bricks; %d planned, %d as they were; open %s/index.html first",
        f->show->count, f->show->count == 1 ? "" : "s", text, planned, f->show->count - planned,
        f->folder->path);
}

void show_notes_say(const ShowFacts *f, const Voice *voice)
{
    say_palette(f, voice);
    note_order(f, voice);
    say_budget(f, voice);
    say_crates(f, voice);
    say_calendar(f, voice);
    say_difference(f, voice);
    say_end(f, voice);
}
