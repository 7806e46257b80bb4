/* Colour list: colours of a palette as the page is told of them. */
#ifndef ROWLOCK_DESK_COLOUR_LIST_H
#define ROWLOCK_DESK_COLOUR_LIST_H

#include "rowlock.h"

#include <jansson.h>

/* [{id, name, hex, lab: [L, a, b], within, cells}, ...]; NULL: no memory. */
json_t *colour_list_tell(const RowlockColour *colour, size_t count);

#endif
