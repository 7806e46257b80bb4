/* Show index: index.html, the show on one page for a browser, with the way to every mural's book.
 * It has no script and fetches nothing but pictures of the plans beside it. */
#ifndef ROWLOCK_SHOW_SHOW_INDEX_H
#define ROWLOCK_SHOW_SHOW_INDEX_H

#include "base/voice.h"
#include "show/show_facts.h"

Status show_index_write(const ShowFacts *facts, const char *path, const Voice *voice, Fault *fault);

#endif
