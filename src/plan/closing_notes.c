/* The notes are few and in one line each; plan.json has all of what they tell. */
#include "plan/closing_notes.h"

#include "base/output_list.h"
#include "base/text.h"
#include "figures/hold_report.h"
#include "figures/measure.h"
#include "figures/quote.h"
#include "figures/relief_losses.h"
#include "hold/bond.h"

#include <math.h>
#include <stdio.h>

/* Flaws that are said in full. */
enum { FLAWS_SAID = 10 };

/* Places that lost of their relief, and are said: so many by mass and so many by lost look, of
 * those that lost so much. Ours: 5 g are some twenty units, and 50 is ten cells that plainly
 * change. */
enum { PLACES_SAID = 3 };
#define GRAMS_SAID 5.0
#define LOOK_SAID 50.0

static void say_difference(const Voice *voice, const Difference *d)
{
    if (!d) return;
    const long change = d->after - d->before;
    voice_note(voice,
               "%ld of %ld bricks stand, %ld are to come; that is %ld %s than before, "
               "difference.csv lists them by colour and size",
               d->built, d->after, d->after - d->built, change < 0 ? -change : change,
               change < 0 ? "fewer" : "more");
}

/* How near the least the laying is, where it was to cost least. After changes of colour so
 * little is proven that it is not worth telling. */
static void say_cost(const Voice *voice, double cost, double least)
{
    const double over = cost - least, rounding = 1e-6 * cost;
    if (cost <= 0) return;
    if (over <= rounding)
        voice_note(voice,
                   "favour: bricks at the set's prices and their labour come to %.2f, proven to be "
                   "the least",
                   cost);
    else if (over > least)
        voice_note(voice, "favour: bricks at the set's prices and their labour come to %.2f", cost);
    else
        voice_note(voice,
                   "favour: bricks at the set's prices and their labour come to %.2f, at most "
                   "%.2f %% over the least",
                   cost, 100 * over / least);
}

/* By layers, the heaviest loss first. */
static void say_layers_lost(const Voice *voice, const Mural *m)
{
    const ReliefLosses *l = m->losses;
    for (int i = 0; i < l->layers; i++) {
        const ReliefLoss *loss = &l->layer[i];
        char name[LAYER_NAME + 16];
        relief_loss_name(m, loss, name, sizeof name);
        voice_note(voice,
                   "%s: %zu cells in %d place%s stand %ld steps lower in all than asked, %.0f g of "
                   "bricks; lost look %.0f, number %d of %d",
                   name, loss->cells, loss->places, loss->places == 1 ? "" : "s", loss->steps,
                   loss->mass_g, loss->look, loss->by_look, l->layers);
    }
}

/* The first places by mass, and those by lost look that are none of them. */
static void say_places_lost(const Voice *voice, const Mural *m)
{
    const ReliefLosses *l = m->losses;
    for (size_t i = 0; i < l->places; i++) {
        const ReliefLoss *loss = &l->place[i];
        char name[LAYER_NAME + 16], reason[200];
        if (!relief_loss_leads(loss, PLACES_SAID)) continue;
        if (loss->mass_g < GRAMS_SAID && loss->look < LOOK_SAID) continue;
        relief_loss_name(m, loss, name, sizeof name);
        relief_loss_reason(loss, reason, sizeof reason);
        voice_note(voice,
                   "%s, about column %d, row %d: %zu cell%s, %.0f g (number %d), lost look %.1f "
                   "(number %d): %s",
                   name, loss->column + 1, loss->row + 1, loss->cells, loss->cells == 1 ? "" : "s",
                   loss->mass_g, loss->by_mass, loss->look, loss->by_look, reason);
    }
}

static void say_lowered(const Voice *voice, const Mural *m)
{
    if (!m->losses || !m->losses->places) return;
    say_layers_lost(voice, m);
    say_places_lost(voice, m);
}

/* Bricks that alone hold more than they are themselves: how many, and the worst of them. */
static void say_weak(const Voice *voice, const Mural *m)
{
    size_t weak = 0;
    const Flaw *worst = NULL;
    for (size_t i = 0; i < m->bond->flaws; i++) {
        const Flaw *flaw = &m->bond->flaw[i];
        if (flaw->kind != FLAW_WEAK) continue;
        weak++;
        if (!worst || flaw->lost > worst->lost) worst = flaw;
    }
    if (!worst) return;
    voice_note(voice,
               "%zu brick%s alone hold%s more than %s; the most, %ld units of %.0f g, panel %s, "
               "column %d, row %d, tier %d; press home and glue what the charts mark",
               weak, weak == 1 ? "" : "s", weak == 1 ? "s" : "",
               weak == 1 ? "it is itself" : "they are themselves", worst->lost,
               (double)worst->lost * unit_grams(m->sizes), m->panels->panel[worst->panel].name,
               worst->column + 1, worst->row + 1, worst->tier + 1);
}

/* The first flaws in full, of those that part a panel or line up. */
static void say_flaws(const Voice *voice, const Mural *m)
{
    char text[400];
    size_t grave = 0;
    for (size_t i = 0; i < m->bond->flaws; i++) {
        const Flaw *flaw = &m->bond->flaw[i];
        if (flaw->kind == FLAW_WEAK || ++grave > FLAWS_SAID) continue;
        flaw_text(flaw, &m->solid, m->panels, text, sizeof text);
        voice_note(voice, "%s", text);
    }
    if (grave > FLAWS_SAID)
        voice_note(voice, "%zu more such places are listed in plan.json", grave - FLAWS_SAID);
    say_weak(voice, m);
}

/* What joints take, where that is more than the job allows; and what comes off at a touch. */
static void say_holds(const Voice *voice, const Mural *m)
{
    const WorstHold worst = holds_worst(m->holds, m->panels->count);
    char text[300];
    if (worst.panel >= 0 && worst.use > 1 / m->job->hold_safety) {
        const CaseHold *hold = &m->holds->panel[worst.panel].at[worst.load_case];
        const char *mend =
            m->job->build == BUILD_WALL
                ? "build it thicker, as --thickness auto finds it, or back its panels"
                : "cut smaller panels, or back them";
        char apart[160] = "";
        hold_place_text(m, &hold->weakest, text, sizeof text);
        if (hold->fails)
            snprintf(apart, sizeof apart, "; it comes apart, %zu brick%s of it: %s", hold->moving,
                     hold->moving == 1 ? "" : "s", mend);
        else if (worst.use > 1)
            snprintf(apart, sizeof apart, "; whether it holds is not proven: %s", mend);
        voice_note(voice, "panel %s, %s: joints take %s%.0f %% of what they hold%s%s%s",
                   m->panels->panel[worst.panel].name, load_cases[worst.load_case].text,
                   hold->proof == PROOF_EXACT ? "" : "up to ", ceil(100 * worst.use),
                   *text ? ", first at " : "", text, apart);
    }
    if (!m->measures.held_slightly) return;
    hold_weakest_text(m, holds_least(m->holds, m->panels->count), text, sizeof text);
    voice_note(voice,
               "%ld bricks that stand out hold less than %g N, %ld less than %g N; the least, %s",
               m->measures.held_slightly, m->job->touch, m->measures.held_feebly, FEEBLE_N, text);
}

static void say_missing(const Voice *voice, const MissingColour *missing)
{
    char text[400];
    if (!missing) return;
    missing_colour_text(missing, text, sizeof text);
    voice_note(voice, "%s", text);
}

static void say_budget(const Voice *voice, const Mural *m)
{
    Quote quote;
    const double budget = m->job->budget;
    if (!(budget > 0)) return;
    quote_reckon(&quote, m);
    const double total = quote.total.expected;
    if (!(total > 0))
        voice_note(voice, "budget: nothing has a price; give a set with prices (--bricks), or what "
                          "an hour costs (--rate)");
    else if (total > budget)
        voice_note(voice, "budget: %.2f is to be expected, %.2f more than may be spent", total,
                   total - budget);
}

/* Who offers a mural at what its bricks cost is to know it. */
static void say_offer(const Voice *voice, const Mural *m)
{
    const Job *job = m->job;
    if (job->quote && m->parts->price > 0 && !(job->rate > 0) && !(job->price > 0))
        voice_note(voice, "offer: its price has no labour in it, since none is priced; give --rate "
                          "or --price");
}

void closing_notes_end(const Voice *voice, const Mural *m)
{
    Quote quote;
    char width[40], height[40], bricks[40], money[40], price[80] = "no prices given", hours[40];
    quote_reckon(&quote, m);
    number_text(width, sizeof width, quote.width_mm, 0);
    number_text(height, sizeof height, quote.height_mm, 0);
    number_text(bricks, sizeof bricks, (double)quote.bricks, 0);
    number_text(hours, sizeof hours, quote.hours.expected, 1);
    number_text(money, sizeof money, quote.total.expected, 2);
    if (quote.total.expected > 0)
        snprintf(price, sizeof price, "%s%s%s", money, *m->job->currency ? " " : "",
                 m->job->currency);
    voice_note(voice, "done: %s × %s mm, %s bricks in %d colours, %s, %s hours; open %s/%s first",
               width, height, bricks, parts_colours(m->parts), price, hours, m->job->out,
               output_list[OUTPUT_PREVIEW_PNG].name);
}

/* Of a palette that tells it. */
static void say_colours(const Voice *voice, const Mural *m)
{
    const double within = palette_within(m->palette, m->offered);
    char text[200];
    if (within <= 0) return;
    quote_colours_text(within, number_style(0), text, sizeof text);
    voice_note(voice, "colours: %s", text);
}

void closing_notes_say(const Voice *voice, const Mural *mural)
{
    say_missing(voice, mural->missing);
    say_difference(voice, mural->difference);
    say_budget(voice, mural);
    say_cost(voice, mural->measures.laying_cost, mural->lower_cost);
    say_offer(voice, mural);
    say_colours(voice, mural);
    say_lowered(voice, mural);
    say_flaws(voice, mural);
    say_holds(voice, mural);
}
