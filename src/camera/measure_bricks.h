/* Measure bricks: from photographs of bricks beside a colour chart to a palette in Lab D50 that
 * tells how sure each colour is. */
#ifndef ROWLOCK_CAMERA_MEASURE_BRICKS_H
#define ROWLOCK_CAMERA_MEASURE_BRICKS_H

#include "base/voice.h"
#include "model/job.h"

enum { MEASURE_PHOTOS_MOST = 64 };

/* Reads the photographs, `photos` of them, 1 to MEASURE_PHOTOS_MOST, with the job's patches, chart
 * and white, and writes its `out`, CGATS.17; "-" is standard output. Notes how well each chart was
 * met, what was left out, and how sure the colours are. Nothing is written where any colour could
 * not be measured. */
Status measure_run(const Job *job, const char *const *photo, int photos, const Voice *voice,
                   Fault *fault);

#endif
