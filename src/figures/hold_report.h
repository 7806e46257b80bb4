/* Hold report: what the holds of a panel come to, in figures and in words. */
#ifndef ROWLOCK_FIGURES_HOLD_REPORT_H
#define ROWLOCK_FIGURES_HOLD_REPORT_H

#include "figures/mural.h"

/* Uses as shares of what the joints hold, the most of the cases that belong to each; NAN: none was
 * reckoned. */
typedef struct PanelUses {
    double hanging; /* hanging, or standing */
    double carried; /* on its side or face down; a wall: flat or lifted */
    double crate;
} PanelUses;

PanelUses hold_uses(const Holds *holds, int panel);

/* The sums over all panels; see figures/mural.h. */
void hold_measures(const Holds *holds, int panels, Measures *measures);

/* The weakest joint of a panel: that of its least touch or, where none is touched, of its worst
 * case; NULL: it has none. */
const WeakJoint *hold_weakest(const Holds *holds, int panel);

/* "column 200, row 1, tiers 1 to 2, on 1 knob". */
void hold_place_text(const Mural *mural, const WeakJoint *joint, char *text, size_t size);

/* What is told of a panel: its uses in per cent, and its weakest joint; lines for a page. */
void hold_use_text(const Mural *mural, int panel, char *text, size_t size);
void hold_weakest_text(const Mural *mural, int panel, char *text, size_t size);

/* How far a wall's panel may be tipped at its foot, by that alone, 0 to 90; NAN: not reckoned. */
double hold_tip_degrees(const Mural *mural, int panel);

/* Of a wall's panel, "" for a plaque's: where to hold it while it is carried, best first, with what
 * each way asks of its joints; how never to; the best of it in a line for its back; and how thick
 * it is and what lies across it. */
void hold_carry_text(const Mural *mural, int panel, char *text, size_t size);
void hold_never_text(const Mural *mural, int panel, char *text, size_t size);
void hold_label_text(const Mural *mural, int panel, char *text, size_t size);
void hold_thickness_text(const Mural *mural, int panel, char *text, size_t size);

/* Cases whose use panels.csv and plan.json tell one by one, under these names. */
enum { HOLD_TOLD = 8 };
typedef struct ToldCase {
    LoadCase load_case;
    const char *name;
} ToldCase;
extern const ToldCase hold_told[HOLD_TOLD];

/* NAN: not reckoned. */
double hold_told_use(const Holds *holds, int panel, const ToldCase *told);

#endif
