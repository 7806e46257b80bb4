/* The relief is made to hold, the body laid, its core left out where that is asked for, and
 * all fitted to what is on the shelf and to what stands; then the bond is told of what
 * came out. The table of steps at the end has all this in its order. */
#include "plan/brickwork.h"

#include "base/memory.h"
#include "plan/even_cards.h"
#include "plan/fit_stock.h"
#include "plan/mend_holds.h"

#include <math.h>
#include <stdlib.h>

/* A brickwork under way. */
typedef struct Site {
    const LayInputs *inputs;
    PassTask task;
    Brickwork *made;
    Fault *fault;
} Site;

static const Job *site_job(const Site *s) { return s->task.brief->job; }
static const Voice *voice_of(const Site *s) { return s->task.brief->voice; }

/* ---- before the laying ---- */

/* The colour whose bricks cost least for their volume, where the stock tells prices. */
static int cheapest_colour(const Studio *studio)
{
    double least = INFINITY;
    int colour = 0;
    for (size_t i = 0; i < studio->stock.count; i++) {
        const StockLine *line = &studio->stock.line[i];
        const Size *size = &studio->sizes.size[line->size];
        const double price = line->price / (size->width * size->length);
        if (line->colour >= studio->offered.count) continue;
        if (!(price < least) && !(price == least && line->colour < colour)) continue;
        least = price;
        colour = line->colour;
    }
    return colour;
}

static Status find_fill(Site *s)
{
    const char *id = site_job(s)->backing;
    const Studio *studio = s->inputs->studio;
    s->task.fill = *id ? palette_find(&studio->offered, id) : cheapest_colour(studio);
    if (s->task.fill >= 0) return STATUS_OK;
    return fault_set(s->fault, STATUS_USAGE,
                     "--backing: '%s' is no colour of the palette; give one of its ids", id);
}

static Status make_body(Site *s)
{
    const LayInputs *in = s->inputs;
    return body_init(&s->made->body, s->task.brief, &in->studio->sizes, in->face, in->steps,
                     s->fault);
}

static Status cut_even_cards(Site *s)
{
    Panels even;
    const Status status = even_cards(&s->task, &even, &s->made->even.equal, s->fault);
    if (status || !even.count) return status;
    panels_clear(&s->made->body.panels);
    s->made->body.panels = even;
    return STATUS_OK;
}

static Status support_relief(Site *s)
{
    return body_support(&s->made->body, s->task.brief, &s->inputs->studio->sizes, s->fault);
}

/* ---- the laying ---- */

static Status lay_body(Site *s)
{
    return lay_solid(&s->task, &s->made->body, &s->made->laying, s->fault);
}

static Status mend_slight_holds(Site *s)
{
    return mend_holds(&s->task, &s->made->body, &s->made->laying, s->fault);
}

static Status draw_on_stock(Site *s)
{
    return lay_within_stock(&s->task, s->inputs->target, &s->made->body, &s->made->laying,
                            s->fault);
}

static Status fit_sizes(Site *s)
{
    return fit_sizes_to_stock(&s->task, s->inputs->target, &s->made->body, &s->made->laying,
                              s->fault);
}

/* ---- what came out ---- */

/* Puts what stands among what was laid around it, and tells what has changed. */
static Status join_standing(Site *s)
{
    const Studio *studio = s->inputs->studio;
    const EarlierPlan *earlier = brief_earlier(s->task.brief);
    Laid *laid = &s->made->laying.laid;
    const Bricks before = {&earlier->laid, &earlier->palette, &earlier->sizes};
    const Bricks after = {laid, &studio->palette, &studio->sizes};
    Status status = join_built(&s->task, laid, s->fault);
    if (!status) status = laid_mark(laid, &studio->built, &s->made->stands, s->fault);
    if (status) return status;
    return difference_init(&s->made->difference, &before, &after, &studio->built, s->fault);
}

static Status list_changes(Site *s)
{
    StepChanges *c = &s->made->step_changes;
    const Status status = step_changes_list(c, &s->made->body.grid, s->inputs->steps, s->fault);
    if (!status && c->lowered)
        voice_note(voice_of(s),
                   "relief: %zu cells stand %ld steps lower in all than asked, since %s; plan.json "
                   "lists them",
                   c->lowered, c->steps,
                   s->made->body.solid.build == BUILD_WALL ? "nothing below could carry them"
                                                           : "their bricks came off too easily");
    if (!status && c->count > c->lowered)
        voice_note(voice_of(s),
                   "relief: %zu cells stand a step higher than asked, so that bricks behind them "
                   "join what their colours part; plan.json lists them",
                   c->count - c->lowered);
    return status;
}

static Status say_saving(Site *s)
{
    const Saving *saving = &s->made->laying.saving;
    const EarlierPlan *earlier = brief_earlier(s->task.brief);
    if (saving->filled_panels)
        voice_note(
            voice_of(s),
            "hollow: %d of %d panels would take more bricks around a core, which is filled, in "
            "part or whole, by %.2f kg",
            saving->filled_panels, s->made->body.panels.count, saving->filled_kg);
    if (saving->units)
        voice_note(voice_of(s),
                   "hollow: %zu units are left out behind %d of shell, which saves %.2f kg %s "
                   "%ld bricks%s",
                   saving->units, saving->shell, saving->mass_kg,
                   saving->bricks < 0 ? "but takes" : "and", labs(saving->bricks),
                   saving->bricks < 0 ? " more" : "");
    else if (earlier && !earlier->left_out)
        voice_note(voice_of(s), "hollow: nothing is left out, as in the earlier plan");
    else if (!saving->filled_panels)
        voice_note(voice_of(s),
                   "hollow: nothing is left out, since behind %d %s of shell is no core that "
                   "bricks of this set fit around and bridge",
                   saving->shell, saving->shell == 1 ? "unit" : "units");
    return STATUS_OK;
}

static Status find_bond(Site *s)
{
    Brickwork *made = s->made;
    return bond_init(&made->bond, &made->body.solid, &made->body.panels, &made->laying.laid,
                     s->task.brief->threads, s->fault);
}

static Status tell_evenness(Site *s)
{
    say_evenness(&s->task, &s->made->laying.laid, &s->made->even);
    return STATUS_OK;
}

/* ---- the steps ---- */

static bool stands(const Site *s) { return s->task.brief->standing; }
static bool stock_only(const Site *s) { return site_job(s)->stock_only; }
static bool hollow_wanted(const Site *s) { return site_job(s)->hollow > 0; }
static bool even_wanted(const Site *s) { return *site_job(s)->kit && site_job(s)->kit_even; }
static bool must_be_cut_even(const Site *s) { return even_wanted(s) && !stands(s); }
static bool must_be_mended(const Site *s)
{
    return site_job(s)->hold > 0 && site_job(s)->build == BUILD_PLAQUE && s->inputs->steps &&
           !stands(s) && !stock_only(s);
}
static bool may_be_lowered(const Site *s) { return s->inputs->steps && !stands(s); }

static const struct LayStep {
    bool (*applies)(const Site *site); /* NULL: always */
    Status (*take)(Site *site);
} lay_steps[] = {
    {NULL, find_fill},
    {NULL, make_body},
    {must_be_cut_even, cut_even_cards},
    {may_be_lowered, support_relief},
    {NULL, lay_body},
    {must_be_mended, mend_slight_holds},
    {stock_only, draw_on_stock},
    {stock_only, fit_sizes},
    {stands, join_standing},
    {may_be_lowered, list_changes},
    {hollow_wanted, say_saving},
    {NULL, find_bond},
    {even_wanted, tell_evenness},
};

Status brickwork_init(Brickwork *brickwork_out, const Brief *brief, const LayInputs *inputs,
                      Fault *fault)
{
    *brickwork_out = (Brickwork){0};
    Site site = {.inputs = inputs,
                 .task = {.brief = brief,
                          .studio = inputs->studio,
                          .body = &brickwork_out->body,
                          .rules = inputs->rules,
                          .built = &inputs->studio->built},
                 .made = brickwork_out,
                 .fault = fault};
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < sizeof lay_steps / sizeof *lay_steps; i++)
        if (!lay_steps[i].applies || lay_steps[i].applies(&site)) status = lay_steps[i].take(&site);
    return status;
}

void brickwork_clear(Brickwork *brickwork)
{
    bond_clear(&brickwork->bond);
    difference_clear(&brickwork->difference);
    memory_free(brickwork->stands);
    laying_clear(&brickwork->laying);
    step_changes_clear(&brickwork->step_changes);
    body_clear(&brickwork->body);
}

Status brickwork_count(Parts *parts_out, const Brief *brief, const Studio *studio,
                       const Brickwork *brickwork, Fault *fault)
{
    const PartsOf of = {.laid = &brickwork->laying.laid,
                        .standing = brief->standing ? &studio->built : NULL,
                        .palette = &studio->palette,
                        .sizes = &studio->sizes,
                        .stock = &studio->stock,
                        .spare_percent = brief->job->spare};
    return parts_init(parts_out, &of, fault);
}
