/* Check of the folder: the files that plan.json lists are there, no others of a plan
 * are, digests match, and pictures and books are what their names say. */
#ifndef ROWLOCK_CHECK_FILES_H
#define ROWLOCK_CHECK_FILES_H

#include "evidence.h"

Status check_files(Evidence *e, Fault *fault);

#endif
