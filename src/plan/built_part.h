/* Built part: what of an earlier plan is built, and so stays as it is when the rest is
 * planned anew.
 *
 * Built is named by panels, or by rows of the mural, which in a wall are courses: every
 * brick of the panel, or that begins in the row; or by a file of bricks, brick by brick. A plaque's
 * brick may reach up from there; the cells that it covers are built with it. The mural's relief
 * stays as it was planned, also where nothing stands yet: so every brick that stands shows what it
 * showed. */
#ifndef ROWLOCK_PLAN_BUILT_PART_H
#define ROWLOCK_PLAN_BUILT_PART_H

#include "base/voice.h"
#include "plan/plan_reader.h"
#include "plan/told_bricks.h"

#include <stdbool.h>

typedef struct BuiltPart {
    const EarlierPlan *earlier;
    bool palette_kept; /* the earlier plan's palette is that of the new one */
    bool cells_kept;   /* so are its cells, which were the user's own */
    bool *cell;        /* rows x columns: a brick that stands shows there */
    Laid laid;         /* the bricks, in the earlier plan's sizes and colours */
    int up_to;         /* the list's single number, which means all rows up to it; or 0 */
    LooseBricks loose; /* laid, but not to stay */
} BuiltPart;

/* list: "r1c1,r1c2", "1-40", "40" for the same, or a path, or several of these, rows counted from 1
 * at the bottom. Faults: names and rows that the mural does not have; rows of a wall on none that
 * are built; rows of a panel in relief, which is built tier by tier. built_part_clear also after a
 * fault. */
Status built_part_init(BuiltPart *standing_out, const EarlierPlan *earlier, const char *list,
                       Fault *fault);
void built_part_clear(BuiltPart *standing);

/* Notes what the list was taken to mean, where it could be meant otherwise, and what has to come
 * off. */
void built_part_note(const BuiltPart *standing, const Voice *voice);

/* Adds to the palette the colours of bricks that stand and that it does not have. Fault:
 * there is no room for them. */
Status built_part_add_colours(const BuiltPart *standing, Palette *palette, Fault *fault);

/* Notes which colours the palette has at other values than bricks that stand were planned
 * with: they take its values. */
void built_part_note_values(const BuiltPart *standing, const Palette *palette, const Voice *voice);

/* The bricks that stand, in the words of the new plan. Fault: a size that its set does not
 * have. */
Status built_part_bricks(const BuiltPart *standing, const Palette *palette, const Sizes *sizes,
                         Laid *laid_out, Fault *fault);

/* Gives the cells that stand their colours; returns how many of them had another. */
long built_part_colour(const BuiltPart *standing, const Palette *palette, Grid *grid);

#endif
