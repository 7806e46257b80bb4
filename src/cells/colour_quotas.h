/* Colour quotas: brings a state within the limits of its colours. */
#ifndef ROWLOCK_CELLS_COLOUR_QUOTAS_H
#define ROWLOCK_CELLS_COLOUR_QUOTAS_H

#include "base/voice.h"
#include "cells/search_state.h"

/* Fault: the limits leave too few cells. Bars colours whose limit is 0. */
Status colour_quotas_check(SearchState *state, Fault *fault);

/* Cells by which colours are used too much, all together. */
long colour_quotas_excess(const SearchState *state);

/* Moves the prices of colours, by a step in (0, 1], toward what would make cells leave the colours
 * that are used too much. */
Status colour_quotas_price(SearchState *state, double step, const Voice *voice, Fault *fault);

/* Cells that can best do without a colour leave it until every limit holds; colours have no
 * prices any more. Fault: of what some cells may take there is too little. */
Status colour_quotas_enforce(SearchState *state, const Voice *voice, Fault *fault);

#endif
