/* What a card asks is known only once it is laid, and how it is laid depends on the cut. So
 * cards of one size are laid on trial, and the cut is made by that laying; see cards.h. */
#include "plan/even_cards.h"

#include "plan/cut_panels.h"

#include <stdio.h>

/* A card is at most what was asked for each way, and at least a third of it: thin ones are no fun
 * to build. Ours; no source. Any length is filled by cards of that to that. */
static int least_side(int asked) { return asked < 3 ? 1 : (asked + 2) / 3; }

static Status card_limits(const PassTask *task, double target, CardLimits *limits_out, Fault *fault)
{
    const Job *job = task->brief->job;
    int columns, rows;
    PanelLimits panel;
    Status status = job_kit(job, &columns, &rows, fault);
    if (!status) status = panel_limits(&panel, task->brief, fault);
    if (status) return status;
    *limits_out = (CardLimits){
        .least_columns = least_side(columns),
        .least_rows = least_side(rows),
        .most_columns = columns,
        .most_rows = rows,
        .units =
            panels_brick_kg(&panel, columns, rows) * 1000 / panels_unit_g(&task->studio->sizes),
        .target = target,
    };
    return STATUS_OK;
}

Status even_cards(const PassTask *task, Panels *even_out, CardSpread *equal_out, Fault *fault)
{
    const Body *body = task->body;
    Laid laid = {0};
    LayReport report;
    CardLimits limits;
    *even_out = (Panels){0};
    Status status = lay_pass(task, &laid, &report, fault);
    if (!status) *equal_out = cards_spread(&body->panels, &laid);
    if (!status) status = card_limits(task, equal_out->mean, &limits, fault);
    if (!status) status = cards_cut(even_out, &body->solid, &laid, &limits, fault);
    laid_clear(&laid);
    if (!status && !even_out->count)
        voice_note(task->brief->voice,
                   "kit: no cards of other sizes keep --panel-mass; they stay equal");
    return status;
}

/* What the cards of now are to be compared with. */
static void say_than(const PassTask *task, const CardSpread *equal, char *text, size_t size)
{
    const Body *body = task->body;
    if (!task->brief->standing) {
        snprintf(text, size, "; %d of one size would ask for %.0f to %.0f, %.0f %%", equal->cards,
                 equal->least, equal->most, 100 * equal->deviation);
        return;
    }
    PanelLimits limits;
    const bool kept = panel_limits(&limits, task->brief, NULL) ||
                      panels_keep_mass(&body->panels, &body->solid, &task->studio->sizes, &limits);
    snprintf(text, size, "; they stay as they were cut%s",
             kept ? "" : ", and may weigh more than --panel-mass in this brick set");
}

void say_evenness(const PassTask *task, const Laid *laid, Evenness *even)
{
    char than[160];
    const CardSpread now = cards_spread(&task->body->panels, laid);
    even->now = now;
    say_than(task, &even->equal, than, sizeof than);
    voice_note(task->brief->voice,
               "kit: %d cards ask for %.0f to %.0f, a brick counting 1 and a colour %.0f, standard "
               "deviation %.0f %%%s",
               now.cards, now.least, now.most, CARD_COLOUR, 100 * now.deviation, than);
}
