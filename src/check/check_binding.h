/* Check binding: the pages of a show's book against those of the murals' books. */
#ifndef ROWLOCK_CHECK_CHECK_BINDING_H
#define ROWLOCK_CHECK_CHECK_BINDING_H

#include "base/status.h"
#include "check/verdict.h"

#include <jansson.h>

/* show: show.json. Fault: a file that cannot be read; one that is not there has been told by its
 * digest. */
Status check_binding(Verdict *verdict, const char *folder, const json_t *show, Fault *fault);

#endif
