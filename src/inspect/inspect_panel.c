#include "inspect/inspect_panel.h"

#include "base/memory.h"
#include "inspect/inspection_files.h"

#include <stdio.h>

static const char *looks_text(const Palette *palette, const BrickVerdict *v, char *text,
                              size_t room)
{
    if (v->verdict == VERDICT_UNKNOWN)
        snprintf(text, room, ": %s", obstacle_texts[v->obstacle]);
    else if (v->looks == FACE_NOTHING)
        snprintf(text, room, ": it looks like no colour of the palette");
    else
        snprintf(text, room, ": it looks like %s, %.1f off", palette->colour[v->looks].id,
                 (double)v->difference);
    return text;
}

static const char *shift_text(const BrickVerdict *v)
{
    if (v->verdict != VERDICT_SHIFTED) return "";
    return v->right > 0   ? " to the right"
           : v->right < 0 ? " to the left"
           : v->up > 0    ? " up"
           : v->up < 0    ? " down"
                          : ", or too short";
}

static void tell_brick(const Inspection *i, const BrickVerdict *v, const InspectionEar *ear)
{
    const EarlierPlan *plan = i->plan;
    const Brick *b = &plan->laid.brick[v->brick];
    char line[300], looks[120];
    snprintf(line, sizeof line, "%s: row %d, column %d: %s in %s: %s%s%s", i->ask->panel,
             b->row + 1, b->column + 1, plan->sizes.size[b->size].name,
             plan->palette.colour[b->colour].id, verdict_names[v->verdict], shift_text(v),
             looks_text(&plan->palette, v, looks, sizeof looks));
    ear->line(ear->self, line);
}

/* Shares of bricks seen to be right, of which a row of them looks built, and not. Ours. */
#define BUILT_SHARE 0.75
#define BARE_SHARE 0.5

/* A panel that is built up to a row and was not said to be looks wrong above it. */
static void hint_at_row(const Inspection *i, const Voice *voice)
{
    const PanelFace *face = &i->face;
    const Judgement *j = &i->judgement;
    size_t below = j->bricks, right = j->count[VERDICT_RIGHT];
    int rows = face->rows;
    for (; rows > 1; rows--) {
        size_t there = 0, good = 0;
        for (const BrickVerdict *v = j->brick; v < j->brick + j->bricks; v++) {
            if (i->plan->laid.brick[v->brick].row != face->row + rows - 1) continue;
            there++;
            good += v->verdict == VERDICT_RIGHT;
        }
        if ((double)good >= BARE_SHARE * (double)there) break;
        below -= there;
        right -= good;
    }
    if (rows == face->rows || (double)right < BUILT_SHARE * (double)below) {
        if (2 * j->count[VERDICT_RIGHT] < j->bricks)
            voice_note(voice,
                       "%s: less than half of it is seen to be right; where it is built up to some "
                       "row, give that with --to",
                       i->ask->panel);
        return;
    }
    voice_note(voice,
               "%s: above about row %d hardly a brick is seen to be right; if it is built up to "
               "some row there, give that with --to %d",
               i->ask->panel, face->row + rows, face->row + rows);
}

/* Returns whether every brick is seen to be right. */
static bool tell_all(const Inspection *i, const Voice *voice, const InspectionEar *ear)
{
    const Judgement *j = &i->judgement;
    if (ear->whole) ear->whole(ear->self, i);
    for (const BrickVerdict *v = j->brick; ear->line && v < j->brick + j->bricks; v++)
        if (v->verdict != VERDICT_RIGHT) tell_brick(i, v, ear);
    voice_note(voice,
               "%s: %zu bricks: %zu right, %zu wrong, %zu missing, %zu shifted, %zu that the "
               "photograph does not tell; a colour %.0f CIEDE2000 off would be seen in %.1f %% of "
               "them",
               i->ask->panel, j->bricks, j->count[VERDICT_RIGHT], j->count[VERDICT_WRONG],
               j->count[VERDICT_MISSING], j->count[VERDICT_SHIFTED], j->count[VERDICT_UNKNOWN],
               JUDGE_DIFFERENCE, 100 * j->certain);
    hint_at_row(i, voice);
    return j->count[VERDICT_RIGHT] == j->bricks;
}

Status inspect_panel(const InspectionAsk *ask, const Voice *voice, const InspectionEar *ear,
                     Fault *fault)
{
    Inspection *i = memory_create(1, sizeof *i);
    if (!i) return memory_fault(fault, 1, sizeof *i);
    Status status = inspection_look(i, ask, voice, fault);
    if (!status && *ask->job->out) status = inspection_files_write(i, fault);
    if (!status && !tell_all(i, voice, ear)) status = fault_set(fault, STATUS_UNHELD, "%s", "");
    inspection_clear(i);
    memory_free(i);
    return status;
}
