/* Pick: the few colours of a palette that serve one or more pictures best. */
#ifndef ROWLOCK_STUDY_PICK_H
#define ROWLOCK_STUDY_PICK_H

#include "base/voice.h"
#include "model/job.h"
#include "model/palette.h"

enum { PICK_SAMPLES = 1024, PICK_COLUMNS = 96 };

/* What the eye keeps of the contrast between neighbouring cells, 0 to 1, of this size at
 * this distance. */
double pick_visible(double cell_width_mm, double cell_height_mm, double distance_mm);

/* Picks job->colours of the job's palette and writes them to job->out, with the curve
 * beside it. Where no size is given pictures are seen PICK_COLUMNS cells wide. */
Status pick_run(const Job *job, const char *const *reference, int references, const Voice *voice,
                Fault *fault);

#endif
