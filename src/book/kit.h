/* Kit: the mural as cards for visitors of a show or for a school, as a PDF: a master sheet to
 * tick, the cards, labels for their bags. */
#ifndef ROWLOCK_BOOK_KIT_H
#define ROWLOCK_BOOK_KIT_H

#include "base/status.h"
#include "base/voice.h"
#include "figures/mural.h"

/* Creates `path`; on a fault there is no file. */
Status kit_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif
