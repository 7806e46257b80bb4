/* Relief losses: what a relief lost where its steps had to be lowered: how much, where, and why.
 *
 * A place is a patch of lowered cells of one layer. Its mass is that of the bricks it lost. Its
 * lost look is what the eye loses: the relief as asked for and as it stands are lit by the lamp of
 * relief.png and seen from the job's distance (S-CIELAB, eye.h), and the differences, CIEDE2000, of
 * all cells are added up, but for those under 1, which nobody sees; a cell counts for the lowered
 * place that is nearest to it, so that a shadow counts for what no longer casts it. */
#ifndef ROWLOCK_FIGURES_RELIEF_LOSSES_H
#define ROWLOCK_FIGURES_RELIEF_LOSSES_H

#include "figures/mural.h"

/* Lists what the mural's step_changes took away, as the mural lies; nothing where they took
 * nothing. relief_losses_clear also after a fault, which is want of memory. */
Status relief_losses_init(ReliefLosses *losses_out, const Mural *mural, Fault *fault);
void relief_losses_clear(ReliefLosses *losses);

/* The name of a loss' layer in words: "layer NAME", or "relief" where there are no layers. */
void relief_loss_name(const Mural *mural, const ReliefLoss *loss, char *text, size_t size);

/* Whether a place is among the first of all by mass or by lost look. */
static inline bool relief_loss_leads(const ReliefLoss *loss, int first)
{
    return loss->by_mass <= first || loss->by_look <= first;
}

/* Why, with the figures of the cell that lost most, and what would mend it; a part of a sentence.
 */
void relief_loss_reason(const ReliefLoss *loss, char *text, size_t size);

#endif
