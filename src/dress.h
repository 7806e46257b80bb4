/* Dress: looks for a cheaper laying of a panel beyond what sweeps find.
 *
 * Sweeps stop where no single course can do better. Here one course is laid at other prices,
 * crossing more or fewer of the joints that colours force, its neighbours are laid to suit it,
 * and it to suit them; the three stay if the panel has become cheaper. */
#ifndef ROWLOCK_DRESS_H
#define ROWLOCK_DRESS_H

#include "masonry.h"

/* Goes `rounds` times through the courses of a flat panel. */
Status dress_panel(Masonry *masonry, int rounds, Fault *fault);

#endif
