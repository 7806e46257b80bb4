/* The labels share one matrix and differ in the right side alone, so each is solved by itself
 * and several side by side. */
#include "layers/random_walker.h"

#include "base/bands.h"
#include "base/memory.h"
#include "layers/colour_prior.h"
#include "layers/five_point.h"
#include "layers/geodesic.h"

#include <assert.h>
#include <math.h>

enum { BAND_ROWS = 16 };

typedef struct Walk {
    const WalkerOptions *options;
    const StrokedPixels *in;
    double pull;
    float *right, *up; /* weights */
    uint8_t *fixed;
    ColourPrior prior;
    FivePoint system;
    float *chance;
    struct Solve *solve; /* one for each label but the last */
    const Voice *voice;
} Walk;

/* A label's equations, and what became of them. */
typedef struct Solve {
    float *right_side;
    Status status;
    Fault fault;
} Solve;

static float weight_of(const WalkerOptions *o, float difference)
{
    const float x = difference / (float)o->sigma;
    return expf(-0.5f * x * x) + (float)o->floor;
}

static void weigh_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Walk *w = context;
    const size_t width = (size_t)w->in->pixels->columns;
    for (size_t i = (size_t)begin * width; i < (size_t)end * width; i++) {
        w->right[i] = weight_of(w->options, w->in->pixels->right[i]);
        w->up[i] = weight_of(w->options, w->in->pixels->up[i]);
        w->fixed[i] = w->in->stroke[i] != LABEL_NONE;
    }
}

static void solve_label(const Walk *w, int label)
{
    const size_t count = lab_pixels_count(w->in->pixels);
    Solve *s = &w->solve[label];
    float *x = w->chance + (size_t)label * count;
    s->right_side = memory_create(count, sizeof *s->right_side);
    if (!s->right_side) {
        s->status = memory_fault(&s->fault, count, sizeof *s->right_side);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        if (w->fixed[i]) x[i] = w->in->stroke[i] == label;
        if (w->pull > 0) s->right_side[i] = (float)w->pull * colour_prior_at(&w->prior, label, i);
    }
    s->status =
        five_point_solve(&w->system, s->right_side, w->options->tolerance, x, w->voice, &s->fault);
    memory_free(s->right_side);
}

static void solve_labels(void *context, int begin, int end, int worker)
{
    (void)worker;
    for (int label = begin; label < end; label++) solve_label(context, label);
}

static Status walk_init(Walk *w, Fault *fault)
{
    const size_t count = lab_pixels_count(w->in->pixels);
    w->right = memory_create(count, sizeof *w->right);
    w->up = memory_create(count, sizeof *w->up);
    w->fixed = memory_create(count, 1);
    w->solve = memory_create((size_t)w->in->labels, sizeof *w->solve);
    if (!w->right || !w->up || !w->fixed || !w->solve)
        return memory_fault(fault, count, sizeof *w->right);
    bands_run(w->in->threads, w->in->pixels->rows, BAND_ROWS, weigh_rows, w);
    Status status = STATUS_OK;
    if (w->pull > 0)
        status = colour_prior_init(&w->prior, w->in->pixels, w->in->stroke, w->in->labels, fault);
    const FivePointTerms terms = {
        w->in->pixels->columns, w->in->pixels->rows, w->right, w->up, w->fixed, w->pull};
    return status ? status : five_point_init(&w->system, &terms, fault);
}

static void walk_clear(Walk *w)
{
    five_point_clear(&w->system);
    colour_prior_clear(&w->prior);
    memory_free(w->right);
    memory_free(w->up);
    memory_free(w->fixed);
    memory_free(w->solve);
}

Status random_walker(const WalkerOptions *options, const StrokedPixels *stroked, float *chance,
                     const Voice *voice, Fault *fault)
{
    const int solved = stroked->labels - 1;
    assert(solved >= 1 && options->sigma > 0 && options->floor > 0);
    Walk w = {.options = options,
              .in = stroked,
              .pull = options->length > 0 ? 1 / (options->length * options->length) : 0,
              .chance = chance,
              .voice = voice};
    Status status = walk_init(&w, fault);
    if (!status) bands_run(stroked->threads, solved, 1, solve_labels, &w);
    for (int label = 0; !status && label < solved; label++) {
        status = w.solve[label].status;
        if (status && fault) *fault = w.solve[label].fault;
    }
    walk_clear(&w);
    return status;
}
