/* Check show: whether an exhibition's folder keeps its promises: each mural's plan, and that the
 * tables of the whole are those of the murals together. From files alone. */
#ifndef ROWLOCK_CHECK_CHECK_SHOW_H
#define ROWLOCK_CHECK_CHECK_SHOW_H

#include "base/status.h"
#include "base/voice.h"

#include <stdbool.h>

/* Whether the folder is an exhibition's. */
bool check_show_is(const char *folder);

/* As check_run. */
Status check_show_run(const char *folder, const Voice *voice,
                      void (*broken)(void *self, const char *line), void *self, Fault *fault);

#endif
