/* The notes are few and in one line each; plan.json has all of what they tell. */
#include "plan/closing_notes.h"

#include "hold/bond.h"

/* Flaws that are said in full. */
enum { FLAWS_SAID = 10 };

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

/* The first flaws in full, of those that part a panel or line up; of weak bricks the number. */
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
    if (m->bond->flaws > grave)
        voice_note(voice,
                   "%zu bricks each hold on to some others alone; plan.json lists them and the "
                   "charts mark them",
                   m->bond->flaws - grave);
}

void closing_notes_say(const Voice *voice, const Mural *mural)
{
    say_difference(voice, mural->difference);
    say_cost(voice, mural->measures.laying_cost, mural->lower_cost);
    say_flaws(voice, mural);
}
