/* Inspection files: what an inspection leaves in the folder of --out: the list of bricks, the panel
 * with marks on what is not right, and all that it was made from, so that the folder can be sent to
 * whoever is to find out why a photograph was not read as it should. */
#ifndef ROWLOCK_INSPECT_INSPECTION_FILES_H
#define ROWLOCK_INSPECT_INSPECTION_FILES_H

#include "inspect/inspection.h"

/* Writes into the job's out; an earlier inspection there is replaced whole. */
Status inspection_files_write(const Inspection *inspection, Fault *fault);

#endif
