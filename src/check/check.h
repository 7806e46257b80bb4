/* Check: whether a finished plan keeps its promises, from its files alone, in code
 * that shares nothing with what lays and writes plans. */
#ifndef ROWLOCK_CHECK_CHECK_H
#define ROWLOCK_CHECK_CHECK_H

#include "base/status.h"
#include "base/voice.h"

/* Calls broken (may be NULL) with one line for each promise and place where it is
 * broken; after the first few of a promise only their number is said. STATUS_OK if all
 * hold, STATUS_UNHELD if any does not. Faults: no plan there (STATUS_NO_INPUT), a file
 * that cannot be read at all (STATUS_DATA); lines found until then have been said. */
Status check_run(const char *folder, const Voice *voice,
                 void (*broken)(void *self, const char *line), void *self, Fault *fault);

#endif
