/* The notes are few and in one line each; plan.json has all of what they tell. */
#include "plan/closing_notes.h"

#include "hold/bond.h"

/* Flaws that are said in full. */
enum { FLAWS_SAID = 10 };

/* Units that must hang on a brick for it to be worth a word: one or two are a small brick, which a
 * thumb presses home. Our choice. */
enum { LOST_WORTH = 3 };

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

/* Grams of a unit, of the brick that has the most of them. */
static double unit_grams(const Sizes *sizes)
{
    const Size *largest = &sizes->size[0];
    for (int i = 1; i < sizes->count; i++)
        if (sizes->size[i].width * sizes->size[i].length > largest->width * largest->length)
            largest = &sizes->size[i];
    return largest->mass_g / (largest->width * largest->length);
}

/* What a layer lost to what nothing could carry. */
typedef struct LayerLoss {
    size_t cells;
    long steps;
    const StepChange *worst;
} LayerLoss;

static void count_losses(const Mural *m, LayerLoss loss[LAYERS_MOST])
{
    const Subject *s = m->subject;
    for (size_t i = 0; i < m->step_changes->count; i++) {
        const StepChange *c = &m->step_changes->change[i];
        if (c->to >= c->from) continue;
        LayerLoss *l = &loss[s->label[(size_t)c->row * (size_t)s->columns + (size_t)c->column]];
        l->cells++;
        l->steps += c->from - c->to;
        if (!l->worst || c->from - c->to > l->worst->from - l->worst->to) l->worst = c;
    }
}

/* A line a layer, the greatest loss first. */
static void say_lowered(const Voice *voice, const Mural *m)
{
    LayerLoss loss[LAYERS_MOST] = {{0}};
    if (!m->subject || !m->step_changes || !m->step_changes->lowered) return;
    count_losses(m, loss);
    for (;;) {
        int most = 0;
        for (int l = 1; l < m->subject->list.count; l++)
            if (loss[l].steps > loss[most].steps) most = l;
        LayerLoss *l = &loss[most];
        if (!l->steps) return;
        voice_note(voice,
                   "layer %s: %zu cells stand %ld steps lower in all than asked, %.0f g of bricks, "
                   "most at column %d, row %d, since nothing below carries them; let it rise more "
                   "slowly there",
                   m->subject->list.layer[most].name, l->cells, l->steps,
                   (double)l->steps * unit_grams(m->sizes), l->worst->column + 1,
                   l->worst->row + 1);
        l->steps = 0;
    }
}

/* Bricks that enough others hang on alone: how many, and the worst of them. */
static void say_weak(const Voice *voice, const Mural *m)
{
    size_t grave = 0;
    const Flaw *worst = NULL;
    for (size_t i = 0; i < m->bond->flaws; i++) {
        const Flaw *flaw = &m->bond->flaw[i];
        if (flaw->kind != FLAW_WEAK || flaw->lost < LOST_WORTH) continue;
        grave++;
        if (!worst || flaw->lost > worst->lost) worst = flaw;
    }
    if (!worst) return;
    voice_note(voice,
               "%zu brick%s hold%s on to %d units or more that nothing else holds; the most, %ld "
               "units of %.0f g, panel %s, column %d, row %d, tier %d; press home and glue what "
               "the charts mark",
               grave, grave == 1 ? "" : "s", grave == 1 ? "s" : "", LOST_WORTH, worst->lost,
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

static void say_missing(const Voice *voice, const MissingColour *missing)
{
    char text[400];
    if (!missing) return;
    missing_colour_text(missing, text, sizeof text);
    voice_note(voice, "%s", text);
}

void closing_notes_say(const Voice *voice, const Mural *mural)
{
    say_missing(voice, mural->missing);
    say_difference(voice, mural->difference);
    say_cost(voice, mural->measures.laying_cost, mural->lower_cost);
    say_lowered(voice, mural);
    say_flaws(voice, mural);
}
