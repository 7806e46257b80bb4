/* Cautions: what must be said of this mural before it is built, lifted and hung,
 * each line with its source; a line that does not apply is not printed. */
#ifndef ROWLOCK_FIGURES_CAUTIONS_H
#define ROWLOCK_FIGURES_CAUTIONS_H

#include "figures/mural.h"

#include <stddef.h>

typedef struct Cautions {
    int count;
    char text[CAUTIONS_MOST][480]; /* one line each, "Topic: what; Source: ..." */
} Cautions;

/* Reads all of the mural but its own cautions. */
void cautions_find(Cautions *cautions_out, const Mural *mural);

/* How a panel of this mass is lifted, in one line. short_side is the panel's, mm. */
void lift_advice(double mass_kg, double short_side_mm, char *text, size_t size);

/* What whoever lifts, carries or dusts a panel must know, each line under its name: by how many it
 * is lifted, what its joints take, what a touch takes off; of a wall's how thick it is, what lies
 * across it, and where to hold it and where never. */
enum { PANEL_ADVICES = 6 };
typedef struct PanelAdvice {
    const char *name;
    char text[400];
} PanelAdvice;

/* Returns how many there are to say; needs none of the mural's cautions. */
int panel_advice(const Mural *mural, int panel, PanelAdvice advice_out[PANEL_ADVICES]);

/* What a hollow core leaves out and saves, in one line. */
void saving_text(const Saving *saving, char *text, size_t size);

#endif
