/* Scarce: brings a board within the limits of its colours. */
#ifndef ROWLOCK_SCARCE_H
#define ROWLOCK_SCARCE_H

#include "board.h"

/* Fault: the limits leave too few cells. Bars colours whose limit is 0. */
Status scarce_check(Board *board, Fault *fault);

/* Raises the duty on colours that are used too much, lowers it where there is room
 * again; true while some limit does not hold. */
bool scarce_tax(Board *board);

/* Cells that can best do without a colour leave it until every limit holds; there are no
 * duties any more. */
Status scarce_relieve(Board *board, Fault *fault);

#endif
