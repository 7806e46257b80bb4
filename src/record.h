/* Record: plan.json, the plan's own account of itself. */
#ifndef ROWLOCK_RECORD_H
#define ROWLOCK_RECORD_H

#include "mural.h"

/* One file of the plan. */
typedef struct RecordFile {
    const char *name;
    char sha256[65];
} RecordFile;

/* Writes plan.json; files are listed by name. */
Status record_write(const Mural *mural, const RecordFile *files, size_t count, const char *path,
                    Fault *fault);

#endif
