/* Colour fit: from a camera's linear light to XYZ D50, by patches whose colours are known.
 *
 * Root-polynomial regression: G. D. Finlayson, M. Mackiewicz and A. Hurlbert, Color correction
 * using root-polynomial regression, IEEE Transactions on Image Processing 24(5), 2015. Its terms
 * are roots of products of channels, so that twice the light stays twice the XYZ, which a plain
 * polynomial does not keep. Degrees 1 to 4 have 3, 6, 13 and 22 terms. */
#ifndef ROWLOCK_CAMERA_COLOUR_FIT_H
#define ROWLOCK_CAMERA_COLOUR_FIT_H

#include "base/status.h"
#include "colour/colour.h"

#include <stdbool.h>

enum { FIT_DEGREES = 4, FIT_TERMS = 22, FIT_PATCHES_MOST = 254, FIT_PATCHES_LEAST = 8 };

typedef struct FitPatch {
    double light[3]; /* linear, 0 to 1, as even as it can be made */
    Lab lab;         /* as it is known to be */
    bool narrow;     /* a channel is at nothing: the colour is beyond what the picture can hold */
} FitPatch;

/* A camera's curve, if its picture is not as linear as its profile says: the logarithm of light is
 * gain * l + bend * l^2 of the logarithm l of what the picture has. */
typedef struct ToneCurve {
    double gain, bend;
} ToneCurve;

typedef struct ColourFit {
    int degree;     /* 1 to FIT_DEGREES */
    ToneCurve tone; /* 1, 0: none */
    bool toned;
    double scale[3]; /* light is divided by these before anything else: the lightest neutral's */
    double matrix[FIT_TERMS][3];
    double factor[FIT_TERMS * FIT_TERMS]; /* R of the fit of Y, for what is drawn out */
    int patches;
    FitPatch patch[FIT_PATCHES_MOST];
    double left_out[FIT_PATCHES_MOST]; /* CIEDE2000 of each patch, fitted without it */
    double mean, worst;                /* of those, but for narrow patches */
    int worst_patch;
} ColourFit;

/* The terms of a degree; returns their number. */
int root_polynomial(const double rgb[3], int degree, double term_out[FIT_TERMS]);

/* Fits a degree, with a tone curve or without. False where the patches do not determine it. The
 * errors on patches left out are those of this form. */
bool colour_fit_form(ColourFit *fit_out, const FitPatch *patch, int patches, int degree, bool tone);

/* The form that does best on patches left out; a simpler one that does nearly as well is preferred.
 * False where there are too few patches, or none determines any. */
bool colour_fit(ColourFit *fit_out, const FitPatch *patch, int patches);

/* What a light is. */
Lab colour_fit_lab(const ColourFit *fit, const double light[3]);

/* The leverage of a light and what it is fitted as: the part that its own equation would tell of it
 * if it were a patch's. At most 1 of any patch; beyond that the fit is drawn out. */
double colour_fit_leverage(const ColourFit *fit, const double light[3], Lab lab);

/* How wrong that may be, CIEDE2000, root mean square: as wrong as patches of the colours around it
 * were that were left out, and more where the fit is drawn out beyond all patches. */
double colour_fit_error(const ColourFit *fit, const double light[3], Lab lab);

/* The leverage at which the error of a colour is twice that of one amid the patches. */
#define FIT_DRAWN_OUT 3.0

/* What a light is, and how wrong that may be. Where the fit is drawn out beyond FIT_DRAWN_OUT, a
 * form of fewer terms tells it, if by its own patches left out that may be less wrong. Returns the
 * leverage of the form that told it. */
double colour_fit_read(const ColourFit *fit, const double light[3], Lab *lab_out,
                       double *error_out);

#endif
