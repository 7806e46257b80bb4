/* Show book: show.pdf, with all faces to one scale on their walls, the murals and what they come
 * to, the key that all share, the crates and labels for the wall. */
#ifndef ROWLOCK_SHOW_SHOW_BOOK_H
#define ROWLOCK_SHOW_SHOW_BOOK_H

#include "base/voice.h"
#include "show/show_facts.h"

Status show_book_write(const ShowFacts *facts, const char *path, const Voice *voice, Fault *fault);

#endif
