/* Light field: how evenly a photographed plane is lit, and how the lens darkens its edges, from
 * places that are known to be alike, or to differ by known amounts.
 *
 * The logarithm of the light is a polynomial of second order of the place in the photograph. What
 * lamps and lenses usually do is taken as known beforehand, with its spread; so a few places in the
 * middle do not make the edges swing, and how little they tell of the edges shows in the error. */
#ifndef ROWLOCK_CAMERA_LIGHT_FIELD_H
#define ROWLOCK_CAMERA_LIGHT_FIELD_H

#include "base/status.h"
#include "camera/homography.h"

#include <stdbool.h>

enum { FIELD_SAMPLES_MOST = 512, FIELD_GROUPS = 3, FIELD_TERMS = 5, FIELD_UNKNOWNS = 8 };

/* One place. The light of all places of a group is the same but for the field. */
typedef struct FieldSample {
    PlanePoint at; /* pixels */
    double log;    /* of the light, or of what it has over what it should have */
    double error;  /* standard error of the same */
    int group;     /* 0 to FIELD_GROUPS - 1 */
} FieldSample;

typedef struct LightField {
    PlanePoint middle; /* of the photograph */
    double scale;      /* half its diagonal */
    double coefficient[FIELD_TERMS];
    double factor[FIELD_UNKNOWNS * FIELD_UNKNOWNS]; /* R of the fit, for errors */
    int unknowns;  /* levels of groups, then the terms; 0: nothing was fitted */
    double misfit; /* how far samples are from the fit, in their own errors, root mean square */
} LightField;

/* `bends`: by a lens the light falls off to the edges; else, as of the colour of light, nothing is
 * expected but an even field. No samples leave an even one. Fault: memory. */
Status light_field_fit(LightField *field_out, const FieldSample *sample, int samples, int width,
                       int height, bool bends, Fault *fault);

/* Logarithm of the light at a place, against the middle of the photograph. */
double light_field_log(const LightField *field, PlanePoint at);

/* Standard error of the difference of that between two places. */
double light_field_error(const LightField *field, PlanePoint at, PlanePoint from);

#endif
