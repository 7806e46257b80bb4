/* Bond: the structure's report. Which bricks hang together, which rest on nothing,
 * which single brick would part a panel, and where joints line up. */
#ifndef ROWLOCK_HOLD_BOND_H
#define ROWLOCK_HOLD_BOND_H

#include "base/status.h"
#include "model/grid.h"
#include "model/laid.h"
#include "model/panel.h"

#include <stdbool.h>

typedef enum FlawKind {
    FLAW_PIECE,       /* a group of bricks not joined to the rest of its panel; one flaw a group */
    FLAW_UNSUPPORTED, /* a brick that rests on nothing when it is laid in order */
    FLAW_STRAIGHT_JOINT, /* a joint in line over three layers or more */
    FLAW_WEAK /* a brick whose loss parts its panel, and which alone holds more than it is
                 itself */
} FlawKind;

typedef struct Flaw {
    FlawKind kind;
    int panel;
    size_t brick;          /* index into Laid; the lowest of a piece; the first beside a joint */
    int column, row, tier; /* from 0: where it starts; a joint is at the left edge of column */
    int length;            /* layers of a joint, bricks of a piece; else 1 */
    long lost;             /* units that come off with a weak brick, without its own; else 0 */
} Flaw;

typedef struct PanelBond {
    int pieces;                 /* joined pieces; 1 is sound */
    int unsupported;            /* bricks */
    int weak;                   /* bricks */
    int longest_straight_joint; /* layers */
    double quarter_lap; /* share of the joints that lap a quarter of the shorter brick or more, 0 to
                           1; 1 where there is none */
} PanelBond;

typedef struct Bond {
    PanelBond *panel; /* one for each panel */
    Flaw *flaw;       /* by panel, then kind, then place */
    size_t flaws, capacity;
} Bond;

Status bond_init(Bond *bond_out, const Solid *solid, const Panels *panels, const Laid *laid,
                 int threads, Fault *fault);
void bond_clear(Bond *bond);

/* One line that says what is wrong, where (columns and rows from 1), and what would mend it. */
void flaw_text(const Flaw *flaw, const Solid *solid, const Panels *panels, char *text, size_t size);

#endif
