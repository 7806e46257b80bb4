/* Difference: what planning a mural anew changes in its parts, line by line. */
#ifndef ROWLOCK_MODEL_DIFFERENCE_H
#define ROWLOCK_MODEL_DIFFERENCE_H

#include "base/status.h"
#include "model/laid.h"
#include "model/palette.h"
#include "model/sizes.h"

/* Bricks, and what their colours and sizes are called. */
typedef struct Bricks {
    const Laid *laid;
    const Palette *palette;
    const Sizes *sizes;
} Bricks;

typedef struct DifferenceLine {
    const char *colour, *size; /* id and name; borrowed */
    long before, after, built; /* bricks; built: of those after, that stand already */
} DifferenceLine;

typedef struct Difference {
    size_t count;
    DifferenceLine *line;      /* in the order of the parts; then what is no longer of the plan */
    long before, after, built; /* sums */
} Difference;

/* standing is in the words of `after`, whose bricks it is part of. Colours are the same by
 * id, sizes by their sides. */
Status difference_init(Difference *difference_out, const Bricks *before, const Bricks *after,
                       const Laid *standing, Fault *fault);
void difference_clear(Difference *difference);

#endif
