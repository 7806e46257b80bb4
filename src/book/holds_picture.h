/* Holds picture: holds.png, how hard each brick that stands out may be pushed, with its key. */
#ifndef ROWLOCK_BOOK_HOLDS_PICTURE_H
#define ROWLOCK_BOOK_HOLDS_PICTURE_H

#include "base/voice.h"
#include "figures/mural.h"

/* Faults: no memory; it cannot be written. */
Status holds_picture_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif
