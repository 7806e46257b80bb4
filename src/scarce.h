/* Scarce: brings a board within the limits of its colours. */
#ifndef ROWLOCK_SCARCE_H
#define ROWLOCK_SCARCE_H

#include "board.h"
#include "voice.h"

/* Fault: the limits leave too few cells. Bars colours whose limit is 0. */
Status scarce_check(Board *board, Fault *fault);

/* Cells by which colours are used too much, all together. */
long scarce_excess(const Board *board);

/* Brings the duties nearer, by a step in (0, 1], to what would make cells leave the colours that
 * are used too much. */
Status scarce_tax(Board *board, double step, const Voice *voice, Fault *fault);

/* Cells that can best do without a colour leave it until every limit holds; there are no
 * duties any more. */
Status scarce_relieve(Board *board, Fault *fault);

#endif
