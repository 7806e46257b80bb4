/* Kit: the mural as cards for visitors of a show or for a school, as a PDF: a master sheet to
 * tick, the cards, labels for their bags. */
#ifndef ROWLOCK_KIT_H
#define ROWLOCK_KIT_H

#include "mural.h"
#include "status.h"
#include "voice.h"

/* Creates `path`; on a fault there is no file. */
Status kit_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif
