/* Even cards: a kit's cards, cut so that each asks about as much of who builds it. */
#ifndef ROWLOCK_PLAN_EVEN_CARDS_H
#define ROWLOCK_PLAN_EVEN_CARDS_H

#include "bricks/cards.h"
#include "figures/mural.h"
#include "plan/lay_pass.h"

/* Lays the task's cards, which are of one size, to see what they ask (*equal_out), and cuts
 * others by that. *even_out is empty where no other cards keep the job's limits. The body is
 * left as it is: a relief is taken down for the panels that it is laid in. */
Status even_cards(const PassTask *task, Panels *even_out, CardSpread *equal_out, Fault *fault);

/* Tells what the cards of a laying ask, and sets even->now. */
void say_evenness(const PassTask *task, const Laid *laid, Evenness *even);

#endif
