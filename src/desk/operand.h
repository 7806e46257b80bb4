/* Operand: what the command line puts on the desk, and where the desk works on it. */
#ifndef ROWLOCK_DESK_OPERAND_H
#define ROWLOCK_DESK_OPERAND_H

#include "desk/working_folder.h"
#include "rowlock.h"

/* The working folder's path for an operand: NAME.desk beside it, or the operand itself where it is
 * such a folder. NULL is "mural.desk" here. Fault: nothing is there, or its name is too long. */
Status operand_folder(const char *operand, char path_out[WORKING_PATH], Fault *fault);

/* Sets what the operand says: a picture as the reference, with a width where none is given; a job
 * file's settings; those of a plan, with the files that it was made from where they are still
 * there. Faults as reading these has. */
Status operand_read(RowlockJob *job, const char *operand, Fault *fault);

#endif
