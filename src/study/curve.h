/* Curve: how a difference falls with the number of colours, as a table and a picture. */
#ifndef ROWLOCK_STUDY_CURVE_H
#define ROWLOCK_STUDY_CURVE_H

#include "base/status.h"
#include "model/palette.h"
#include "study/palette_subset.h"

typedef struct Curve {
    int count;
    int marked;                      /* the point that was asked for */
    double difference[PALETTE_MOST]; /* of each point, never rising */
    Subset subset[PALETTE_MOST];
} Curve;

Status curve_csv(const Curve *curve, const Palette *palette, const char *path, Fault *fault);
Status curve_png(const Curve *curve, const char *path, Fault *fault);

#endif
