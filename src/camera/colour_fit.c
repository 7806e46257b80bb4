/* Equations are weighed by the slope of Lab's cube root at the patch's own XYZ, so that what is
 * made small is, to the first order, an error in Lab and not in light, in which a dark patch would
 * count for nothing.
 *
 * A patch beyond the picture's colours is fitted like any other. Its channel at nothing says too
 * much, and yet bricks of its kind, nearly at nothing, are far better told with it than by a fit
 * that is drawn out from all others. What a fit is judged by it does not enter.
 *
 * Pictures straight from a camera often have a curve for looks that their profile does not tell. It
 * is fitted on the neutral patches alone, as a parabola in logarithms that all channels share, and
 * taken only if patches that were left out say so. */
#include "camera/colour_fit.h"

#include "camera/least_squares.h"
#include "colour/delta_e.h"

#include <math.h>
#include <string.h>

/* A patch of less chroma counts as neutral; printed greys have up to 3. */
#define NEUTRAL_CHROMA 4.0

/* Neutral patches that a curve takes at least. */
enum { NEUTRALS_LEAST = 4 };

/* A simpler form is kept unless the mean error of another is below this part of its own. */
#define CLEARLY 0.95

/* CIEDE2000 at which a patch tells half as much of a colour as one at its place. By the mean over
 * leaving out each patch of the 24 in rendered photographs (tests/camera/test_measure_bricks). */
#define NEIGHBOURHOOD 12.0

/* What pigments that are not the chart's add, CIEDE2000, root mean square: two surfaces of one
 * colour are not one to a camera. By rendered photographs in four lights of bricks with waves of 8
 * % on their spectra (tests/camera/test_measure_bricks). */
#define PIGMENTS 1.0

/* A matrix alone is hardly drawn out at all, and yet it misses vivid colours by more than the
 * patches around them tell: rendered as in tests/camera/test_measure_bricks, but with other
 * spectra and lamps, bricks were missed by up to 4.6, where this degree missed them by 3.4. */
enum { SIMPLEST = 2 };

/* Light below this part of the lightest neutral is taken as this. */
#define DARKEST 1e-5

int root_polynomial(const double rgb[3], int degree, double t[FIT_TERMS])
{
    const double r = rgb[0], g = rgb[1], b = rgb[2];
    int n = 0;
    t[n++] = r;
    t[n++] = g;
    t[n++] = b;
    if (degree >= 2) {
        t[n++] = sqrt(r * g);
        t[n++] = sqrt(g * b);
        t[n++] = sqrt(r * b);
    }
    if (degree >= 3) {
        t[n++] = cbrt(r * g * g);
        t[n++] = cbrt(g * b * b);
        t[n++] = cbrt(r * b * b);
        t[n++] = cbrt(g * r * r);
        t[n++] = cbrt(b * g * g);
        t[n++] = cbrt(b * r * r);
        t[n++] = cbrt(r * g * b);
    }
    if (degree >= 4) {
        t[n++] = sqrt(sqrt(r * r * r * g));
        t[n++] = sqrt(sqrt(r * r * r * b));
        t[n++] = sqrt(sqrt(g * g * g * r));
        t[n++] = sqrt(sqrt(g * g * g * b));
        t[n++] = sqrt(sqrt(b * b * b * r));
        t[n++] = sqrt(sqrt(b * b * b * g));
        t[n++] = sqrt(sqrt(r * r * g * b));
        t[n++] = sqrt(sqrt(g * g * r * b));
        t[n++] = sqrt(sqrt(b * b * r * g));
    }
    return n;
}

/* ---- tone ---- */

static double toned(const ColourFit *fit, double light, int channel)
{
    const double l = log(fmax(light / fit->scale[channel], DARKEST));
    return exp(fit->tone.gain * l + fit->tone.bend * l * l);
}

static void light_ready(const ColourFit *fit, const double light[3], double rgb_out[3])
{
    for (int c = 0; c < 3; c++)
        rgb_out[c] = fit->toned ? toned(fit, light[c], c) : fmax(light[c] / fit->scale[c], DARKEST);
}

static bool is_neutral(const FitPatch *patch)
{
    return hypot(patch->lab.a, patch->lab.b) < NEUTRAL_CHROMA;
}

/* The lightest neutral, or, where there is none, the lightest patch. */
static void set_scale(ColourFit *fit, const FitPatch *patch, int patches)
{
    int best = 0;
    for (int i = 1; i < patches; i++) {
        const bool one = is_neutral(&patch[i]), other = is_neutral(&patch[best]);
        if (one != other ? one : patch[i].lab.L > patch[best].lab.L) best = i;
    }
    for (int c = 0; c < 3; c++) fit->scale[c] = fmax(patch[best].light[c], DARKEST);
}

/* False: too few neutrals, or a curve that turns back. `left_out` counts for nothing. */
static bool fit_tone(ColourFit *fit, const FitPatch *patch, int patches, int left_out)
{
    enum { UNKNOWNS = 5 }; /* gain, bend, a level of each channel */
    static const double least_slope = 0.3;
    double a[3 * FIT_PATCHES_MOST * UNKNOWNS], b[3 * FIT_PATCHES_MOST], darkest = 0;
    int rows = 0;
    for (int i = 0; i < patches; i++) {
        if (i == left_out || !is_neutral(&patch[i])) continue;
        for (int c = 0; c < 3; c++, rows++) {
            const double l = log(fmax(patch[i].light[c] / fit->scale[c], DARKEST));
            const double row[UNKNOWNS] = {l, l * l, c == 0, c == 1, c == 2};
            memcpy(a + rows * UNKNOWNS, row, sizeof row);
            b[rows] = log(fmax(xyz_from_lab(patch[i].lab).y, DARKEST));
            darkest = fmin(darkest, l);
        }
    }
    if (rows < 3 * NEUTRALS_LEAST || !least_squares(a, b, rows, UNKNOWNS, 1)) return false;
    fit->tone = (ToneCurve){b[0], b[1]};
    return b[0] > least_slope && b[0] + 2 * b[1] * darkest > least_slope;
}

/* ---- the matrix ---- */

/* d (cube root of t) / dt of XYZ over white, with Lab's straight part near black. */
static double slope_of(double part)
{
    return part > 216.0 / 24389.0 ? 1 / (3 * pow(part, 2.0 / 3)) : 24389.0 / 27 / 116;
}

/* False where the patches, without `left_out`, do not determine it. */
static bool fit_matrix(ColourFit *fit, const FitPatch *patch, int patches, int left_out)
{
    static const double white[3] = {0.9642, 1.0, 0.8249};
    double a[FIT_PATCHES_MOST * FIT_TERMS], b[FIT_PATCHES_MOST];
    for (int k = 0; k < 3; k++) {
        int rows = 0, terms = 0;
        for (int i = 0; i < patches; i++) {
            double rgb[3], term[FIT_TERMS];
            const Xyz xyz = xyz_from_lab(patch[i].lab);
            const double want = (k == 0 ? xyz.x : k == 1 ? xyz.y : xyz.z) / white[k];
            if (i == left_out) continue;
            light_ready(fit, patch[i].light, rgb);
            terms = root_polynomial(rgb, fit->degree, term);
            for (int t = 0; t < terms; t++) a[rows * terms + t] = slope_of(want) * term[t];
            b[rows++] = slope_of(want) * want;
        }
        if (rows <= terms || !least_squares(a, b, rows, terms, 1)) return false;
        for (int t = 0; t < terms; t++) fit->matrix[t][k] = b[t] * white[k];
        if (k == 1) memcpy(fit->factor, a, (size_t)(terms * terms) * sizeof *a);
    }
    return true;
}

static bool fit_all_but(ColourFit *fit, const FitPatch *patch, int patches, int left_out)
{
    return (!fit->toned || fit_tone(fit, patch, patches, left_out)) &&
           fit_matrix(fit, patch, patches, left_out);
}

Lab colour_fit_lab(const ColourFit *fit, const double light[3])
{
    double rgb[3], term[FIT_TERMS], xyz[3] = {0};
    light_ready(fit, light, rgb);
    const int terms = root_polynomial(rgb, fit->degree, term);
    for (int t = 0; t < terms; t++)
        for (int k = 0; k < 3; k++) xyz[k] += fit->matrix[t][k] * term[t];
    return lab_from_xyz((Xyz){xyz[0], xyz[1], xyz[2]});
}

bool colour_fit_form(ColourFit *fit, const FitPatch *patch, int patches, int degree, bool tone)
{
    *fit = (ColourFit){.degree = degree, .tone = {1, 0}, .toned = tone, .patches = patches};
    if (patches < FIT_PATCHES_LEAST || patches > FIT_PATCHES_MOST) return false;
    memcpy(fit->patch, patch, (size_t)patches * sizeof *patch);
    set_scale(fit, patch, patches);
    int whole = 0;
    for (int i = 0; i < patches; i++) {
        if (!fit_all_but(fit, patch, patches, i)) return false;
        fit->left_out[i] = delta_e_2000(colour_fit_lab(fit, patch[i].light), patch[i].lab);
        if (patch[i].narrow) continue;
        whole++;
        fit->mean += fit->left_out[i];
        if (fit->left_out[i] <= fit->worst) continue;
        fit->worst = fit->left_out[i];
        fit->worst_patch = i;
    }
    fit->mean /= whole;
    return whole && fit_all_but(fit, patch, patches, -1);
}

bool colour_fit(ColourFit *fit, const FitPatch *patch, int patches)
{
    bool any = false;
    ColourFit tried;
    for (int form = 0; form < 2 * FIT_DEGREES; form++) {
        if (!colour_fit_form(&tried, patch, patches, form / 2 + 1, form % 2)) continue;
        if (any && tried.mean >= CLEARLY * fit->mean) continue;
        *fit = tried;
        any = true;
    }
    return any;
}

double colour_fit_leverage(const ColourFit *fit, const double light[3], Lab lab)
{
    double rgb[3], term[FIT_TERMS];
    light_ready(fit, light, rgb);
    const int terms = root_polynomial(rgb, fit->degree, term);
    const double slope = slope_of(fmax(xyz_from_lab(lab).y, 0));
    for (int t = 0; t < terms; t++) term[t] *= slope;
    return least_squares_variance(fit->factor, terms, term);
}

double colour_fit_error(const ColourFit *fit, const double light[3], Lab lab)
{
    double sum = 0, weights = 0;
    for (int i = 0; i < fit->patches; i++) {
        if (fit->patch[i].narrow) continue;
        const double far = delta_e_2000(lab, fit->patch[i].lab) / NEIGHBOURHOOD;
        const double weight = 1 / (1 + far * far);
        sum += weight * fit->left_out[i] * fit->left_out[i];
        weights += weight;
    }
    /* The standard error of a prediction; Draper and Smith, Applied Regression Analysis, 3rd ed.,
     * 1998, 3.1 and 5.1 (sections from memory). */
    return hypot(PIGMENTS, sqrt(sum / weights)) * sqrt(1 + colour_fit_leverage(fit, light, lab));
}

double colour_fit_read(const ColourFit *fit, const double light[3], Lab *lab_out, double *error_out)
{
    *lab_out = colour_fit_lab(fit, light);
    *error_out = colour_fit_error(fit, light, *lab_out);
    double leverage = colour_fit_leverage(fit, light, *lab_out);
    ColourFit simpler;
    for (int degree = fit->degree - 1; degree >= SIMPLEST && leverage > FIT_DRAWN_OUT; degree--) {
        if (!colour_fit_form(&simpler, fit->patch, fit->patches, degree, fit->toned)) continue;
        const Lab lab = colour_fit_lab(&simpler, light);
        const double error = colour_fit_error(&simpler, light, lab);
        if (error >= *error_out) continue;
        *lab_out = lab;
        *error_out = error;
        leverage = colour_fit_leverage(&simpler, light, lab);
    }
    return leverage;
}
