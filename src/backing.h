/* Backing: the colour of bricks that nobody will see, which is free.
 *
 * For each size: what lies on the shelf over and above what is shown is used up first,
 * from the colour with the most of it; the rest is the colour that costs least, where the
 * stock tells prices, else one colour for all. */
#ifndef ROWLOCK_BACKING_H
#define ROWLOCK_BACKING_H

#include "laid.h"
#include "palette.h"
#include "sizes.h"
#include "stock.h"

/* Sets the colour of every brick that is not shown, in building order; `fill` is the one
 * colour for all. */
Status backing_colours(const Palette *palette, const Sizes *sizes, const Stock *stock, int fill,
                       Laid *laid, Fault *fault);

#endif
