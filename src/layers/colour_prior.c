/* The histograms are small beside a picture, so they are turned into shares once, and a pixel keeps
 * the number of its bin. A floor keeps a colour that few strokes have from being taken for proof.
 *
 * Source: a histogram for each label, as in Boykov and Jolly, ICCV 2001, from memory; the sizes of
 * bins and the floor were tried on six pictures. */
#include "layers/colour_prior.h"

#include "base/memory.h"
#include "layers/geodesic.h"

#include <math.h>
#include <string.h>

enum { SIDE = 20, BINS = SIDE * SIDE * SIDE };

/* What a colour counts for that no stroke has, beside shares that add to 1: a colour of one
 * stroke alone is not certain, nor one of none undecided. */
#define FLOOR 1e-4

static int bin_along(double value)
{
    const double at = floor(value);
    return at < 0 ? 0 : at > SIDE - 1 ? SIDE - 1 : (int)at;
}

static uint16_t bin_of(const LabPixels *p, size_t pixel)
{
    const int L = bin_along((double)p->lab[0][pixel] / 5);
    const int a = bin_along(((double)p->lab[1][pixel] + 60) / 6);
    const int b = bin_along(((double)p->lab[2][pixel] + 60) / 6);
    return (uint16_t)((L * SIDE + a) * SIDE + b);
}

/* (1 2 1)/4 along the axis whose bins lie `step` apart; nothing lies outside. */
static void smooth_axis(float *bin, int step)
{
    float line[SIDE];
    for (int i = 0; i < BINS; i++) {
        if (i / step % SIDE) continue; /* not the first of a line */
        for (int k = 0; k < SIDE; k++) line[k] = bin[i + k * step];
        for (int k = 0; k < SIDE; k++) {
            const float before = k > 0 ? line[k - 1] : 0, after = k + 1 < SIDE ? line[k + 1] : 0;
            bin[i + k * step] = 0.25f * (before + after) + 0.5f * line[k];
        }
    }
}

static void normalise(float *bin)
{
    double sum = 0;
    for (int i = 0; i < BINS; i++) sum += (double)bin[i];
    for (int i = 0; sum > 0 && i < BINS; i++) bin[i] = (float)((double)bin[i] / sum);
}

static void take_shares(float *bin, int labels)
{
    for (int i = 0; i < BINS; i++) {
        double sum = 0;
        for (int l = 0; l < labels; l++) sum += (double)bin[l * BINS + i] + FLOOR;
        for (int l = 0; l < labels; l++)
            bin[l * BINS + i] = (float)(((double)bin[l * BINS + i] + FLOOR) / sum);
    }
}

Status colour_prior_init(ColourPrior *c, const LabPixels *pixels, const uint8_t *stroke, int labels,
                         Fault *fault)
{
    const size_t count = lab_pixels_count(pixels);
    *c = (ColourPrior){.labels = labels};
    c->bin = memory_create(count, sizeof *c->bin);
    c->share = memory_create((size_t)labels, BINS * sizeof *c->share);
    if (!c->bin || !c->share) return memory_fault(fault, count, sizeof *c->bin);
    for (size_t i = 0; i < count; i++) {
        c->bin[i] = bin_of(pixels, i);
        if (stroke[i] != LABEL_NONE) c->share[stroke[i] * BINS + c->bin[i]]++;
    }
    for (int l = 0; l < labels; l++) {
        float *bin = c->share + l * BINS;
        for (int step = 1; step < BINS; step *= SIDE) smooth_axis(bin, step);
        normalise(bin);
    }
    take_shares(c->share, labels);
    return STATUS_OK;
}

void colour_prior_clear(ColourPrior *c)
{
    memory_free(c->bin);
    memory_free(c->share);
    *c = (ColourPrior){0};
}

float colour_prior_at(const ColourPrior *c, int label, size_t pixel)
{
    return c->share[label * BINS + c->bin[pixel]];
}
