/* Each group's own level is an unknown beside the field's coefficients, so that samples of two
 * grounds serve one field. All equations are divided by their errors; what is known beforehand is
 * an equation more for each coefficient.
 *
 * Source: linear regression with a Gaussian prior, as C. M. Bishop, Pattern Recognition and Machine
 * Learning, 2006, 3.3. */
#include "camera/light_field.h"

#include "base/memory.h"
#include "camera/least_squares.h"

#include <math.h>
#include <string.h>

/* What is known beforehand of x, y, x^2, xy, y^2, from the middle of the photograph in halves of
 * its diagonal: light that falls by up to a third from side to side, a lens that takes a tenth of
 * its corners' light, give or take one. Ours; lenses of phones, corrected or not, lie within. */
typedef struct Prior {
    double mean[FIELD_TERMS], spread[FIELD_TERMS];
} Prior;

static const Prior lens = {{0, 0, -0.1, 0, -0.1}, {0.3, 0.3, 0.12, 0.08, 0.12}};
static const Prior even = {{0, 0, 0, 0, 0}, {0.3, 0.3, 0.01, 0.01, 0.01}};

/* A field that misses its samples by less than their errors is not surer for it. */
#define MISFIT_LEAST 1.0

static void terms_at(const LightField *field, PlanePoint at, double term_out[FIELD_TERMS])
{
    const double x = (at.x - field->middle.x) / field->scale;
    const double y = (at.y - field->middle.y) / field->scale;
    memcpy(term_out, (double[FIELD_TERMS]){x, y, x * x, x * y, y * y},
           FIELD_TERMS * sizeof *term_out);
}

typedef struct FieldFit {
    const LightField *field; /* the middle and the scale */
    const FieldSample *sample;
    int samples;
    int level[FIELD_GROUPS]; /* unknown of each group that is there */
    int levels;
    double *a, *b; /* room for all samples and FIELD_TERMS more */
} FieldFit;

static void count_levels(FieldFit *fit)
{
    for (int g = 0; g < FIELD_GROUPS; g++) fit->level[g] = -1;
    for (int i = 0; i < fit->samples; i++) {
        const int group = fit->sample[i].group;
        if (fit->level[group] < 0) fit->level[group] = fit->levels++;
    }
}

static void row_of(const FieldFit *fit, const FieldSample *sample, double row[FIELD_UNKNOWNS])
{
    memset(row, 0, FIELD_UNKNOWNS * sizeof *row);
    row[fit->level[sample->group]] = 1;
    terms_at(fit->field, sample->at, row + fit->levels);
}

/* The solution is in b, R in a. */
static bool solve(const FieldFit *fit, const Prior *prior)
{
    const int unknowns = fit->levels + FIELD_TERMS;
    for (int i = 0; i < fit->samples; i++) {
        double row[FIELD_UNKNOWNS];
        const FieldSample *sample = &fit->sample[i];
        row_of(fit, sample, row);
        for (int k = 0; k < unknowns; k++) fit->a[i * unknowns + k] = row[k] / sample->error;
        fit->b[i] = sample->log / sample->error;
    }
    for (int t = 0; t < FIELD_TERMS; t++) {
        double *row = fit->a + (fit->samples + t) * unknowns;
        memset(row, 0, (size_t)unknowns * sizeof *row);
        row[fit->levels + t] = 1 / prior->spread[t];
        fit->b[fit->samples + t] = prior->mean[t] / prior->spread[t];
    }
    return least_squares(fit->a, fit->b, fit->samples + FIELD_TERMS, unknowns, 1);
}

/* What the solution misses of a sample, in errors. */
static double miss(const FieldFit *fit, const double *solution, int i)
{
    double row[FIELD_UNKNOWNS], sum = -fit->sample[i].log;
    row_of(fit, &fit->sample[i], row);
    for (int k = 0; k < fit->levels + FIELD_TERMS; k++) sum += row[k] * solution[k];
    return sum / fit->sample[i].error;
}

static void keep(LightField *field, const FieldFit *fit)
{
    double squares = 0;
    field->unknowns = fit->levels + FIELD_TERMS;
    for (int i = 0; i < fit->samples; i++) squares += pow(miss(fit, fit->b, i), 2);
    /* The terms are known in part without the samples, so that only levels are taken off. */
    const int spare = fit->samples - fit->levels;
    field->misfit = fmax(MISFIT_LEAST, sqrt(squares / (spare > 0 ? spare : 1)));
    memcpy(field->coefficient, fit->b + fit->levels, sizeof field->coefficient);
    memcpy(field->factor, fit->a,
           (size_t)(field->unknowns * field->unknowns) * sizeof *field->factor);
}

Status light_field_fit(LightField *field, const FieldSample *sample, int samples, int width,
                       int height, bool bends, Fault *fault)
{
    *field = (LightField){.middle = {width / 2.0, height / 2.0},
                          .scale = hypot(width, height) / 2,
                          .misfit = MISFIT_LEAST};
    if (!samples) return STATUS_OK;
    const size_t rows = (size_t)samples + FIELD_TERMS;
    FieldFit fit = {.field = field, .sample = sample, .samples = samples};
    fit.a = memory_create(rows, FIELD_UNKNOWNS * sizeof *fit.a);
    fit.b = memory_create(rows, sizeof *fit.b);
    const bool room = fit.a && fit.b;
    if (room) {
        count_levels(&fit);
        if (solve(&fit, bends ? &lens : &even)) keep(field, &fit);
    }
    memory_free(fit.a);
    memory_free(fit.b);
    return room ? STATUS_OK : memory_fault(fault, rows, FIELD_UNKNOWNS * sizeof *fit.a);
}

double light_field_log(const LightField *field, PlanePoint at)
{
    double term[FIELD_TERMS], sum = 0;
    terms_at(field, at, term);
    for (int t = 0; t < FIELD_TERMS; t++) sum += term[t] * field->coefficient[t];
    return sum;
}

double light_field_error(const LightField *field, PlanePoint at, PlanePoint from)
{
    double one[FIELD_TERMS], two[FIELD_TERMS], difference[FIELD_UNKNOWNS] = {0};
    if (!field->unknowns) return 0;
    terms_at(field, at, one);
    terms_at(field, from, two);
    for (int t = 0; t < FIELD_TERMS; t++)
        difference[field->unknowns - FIELD_TERMS + t] = one[t] - two[t];
    return field->misfit * sqrt(least_squares_variance(field->factor, field->unknowns, difference));
}
