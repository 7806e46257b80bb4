/* Every layer adds its form to all cells that stand on it, in any order, since heights add up. Only
 * after that comes texture, which belongs to a layer's own cells alone. Rounded forms are the root
 * of what five_point.h solves; its square law makes a disc a half ellipsoid. */
#include "layers/heights.h"

#include "base/memory.h"
#include "layers/edge_distance.h"
#include "layers/five_point.h"
#include "layers/gaussian.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define EDGE_ON_GROUND 1.0
#define EDGE_ON_LAYER 0.5
/* Of u; the height of a body of twenty steps is then off by less than a thousandth of one. */
#define POISSON_TOLERANCE 1e-4
#define TEXTURE_MEAN 6.0 /* sigma in cells of the lightness that is form, not texture */
#define TEXTURE_BLUR 0.7 /* sigma in cells below which it is noise */
#define TEXTURE_GAIN 0.7 /* of a standard deviation; with the clip, t / 2 at most by far */
enum { TEXTURE_MEDIANS = 2 };

typedef struct Building {
    const HeightsInput *in;
    int threads;
    uint8_t *inside; /* of the layer's region; own: of its own cells */
    float *plane[3]; /* spare */
    float *height;
    const Voice *voice;
    Fault *fault;
} Building;

static size_t cells_of(const Building *b) { return (size_t)b->in->columns * (size_t)b->in->rows; }

static double edge_height(const Layer *layer)
{
    const double e = layer->soft ? 0 : layer->on == LAYER_GROUND ? EDGE_ON_GROUND : EDGE_ON_LAYER;
    return fmin(e, layer->height);
}

/* The layer's region; whether anything lies outside it. */
static bool mark_region(Building *b, int layer)
{
    bool beyond = false;
    for (size_t i = 0; i < cells_of(b); i++) {
        b->inside[i] = layer_carries(b->in->list, layer, b->in->label[i]);
        if (!b->inside[i]) beyond = true;
    }
    return beyond;
}

/* ---- forms ---- */

static void add_level(Building *b, double h)
{
    for (size_t i = 0; i < cells_of(b); i++)
        if (b->inside[i]) b->height[i] += (float)h;
}

static Status solve_poisson(Building *b, double rise, float *u)
{
    const size_t cells = cells_of(b);
    float *four = b->plane[1];
    for (size_t i = 0; i < cells; i++) {
        four[i] = 4;
        u[i] = 0;
        b->inside[i] = !b->inside[i]; /* what is fixed */
    }
    FivePoint system;
    const FivePointTerms terms = {b->in->columns, b->in->rows, NULL,
                                  NULL,           b->inside,   isinf(rise) ? 0 : 1 / (rise * rise)};
    Status status = five_point_init(&system, &terms, b->fault);
    if (!status) status = five_point_solve(&system, four, POISSON_TOLERANCE, u, b->voice, b->fault);
    five_point_clear(&system);
    for (size_t i = 0; i < cells; i++) b->inside[i] = !b->inside[i];
    return status;
}

static Status add_rounded(Building *b, const Layer *layer)
{
    float *u = b->plane[0], most = 0;
    const double e = edge_height(layer);
    const Status status = solve_poisson(b, layer->rise, u);
    for (size_t i = 0; i < cells_of(b); i++) most = fmaxf(most, u[i]);
    for (size_t i = 0; !status && i < cells_of(b); i++)
        if (b->inside[i])
            b->height[i] +=
                (float)(e + (layer->height - e) * sqrt(fmax(0, (double)u[i]) / (double)most));
    return status;
}

/* Rises in a straight line; upright where the rise is 0. */
static Status add_ramp(Building *b, const Layer *layer)
{
    float *d = b->plane[0], most = 0;
    const double e = edge_height(layer);
    const Status status = edge_distance(b->inside, b->in->columns, b->in->rows, d, b->fault);
    for (size_t i = 0; i < cells_of(b); i++) most = fmaxf(most, d[i]);
    const double rise = fmin(layer->rise, (double)most - 0.5);
    for (size_t i = 0; !status && i < cells_of(b); i++) {
        if (!b->inside[i]) continue;
        const double part = rise > 0 ? fmin(1, ((double)d[i] - 0.5) / rise) : 1;
        b->height[i] += (float)(e + (layer->height - e) * part);
    }
    return status;
}

/* The job's own depth, stretched over the region. */
static void add_relief(Building *b, const Layer *layer)
{
    const float *z = b->in->depth;
    const double e = edge_height(layer);
    float least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < cells_of(b); i++)
        if (b->inside[i]) least = fminf(least, z[i]), most = fmaxf(most, z[i]);
    const double range = (double)most - (double)least;
    for (size_t i = 0; i < cells_of(b); i++) {
        if (!b->inside[i]) continue;
        const double part = range > 0 ? ((double)z[i] - (double)least) / range : 1;
        b->height[i] += (float)(e + (layer->height - e) * part);
    }
}

static Status add_form(Building *b, int number)
{
    const Layer *layer = &b->in->list->layer[number];
    const bool beyond = mark_region(b, number);
    Status status = STATUS_OK;
    if (layer->profile == PROFILE_RELIEF)
        add_relief(b, layer);
    else if (!beyond || !(layer->height > 0)) /* it fills the picture, and has no outline */
        add_level(b, layer->height);
    else if (layer->profile == PROFILE_ROUNDED)
        status = add_rounded(b, layer);
    else
        status = add_ramp(b, layer);
    return status;
}

/* ---- texture ---- */

/* Gaussian mean of a plane over the cells inside, in place. weight is spare. */
static Status blur_inside(Building *b, double sigma, float *plane, float *weight)
{
    const int columns = b->in->columns, rows = b->in->rows;
    for (size_t i = 0; i < cells_of(b); i++) {
        weight[i] = b->inside[i];
        if (!b->inside[i]) plane[i] = 0;
    }
    Status status = gaussian_blur(plane, columns, rows, sigma, b->threads, b->fault);
    if (!status) status = gaussian_blur(weight, columns, rows, sigma, b->threads, b->fault);
    for (size_t i = 0; !status && i < cells_of(b); i++)
        plane[i] = b->inside[i] ? plane[i] / weight[i] : 0;
    return status;
}

static double deviation(const Building *b, const float *plane)
{
    double sum = 0, squares = 0, count = 0;
    for (size_t i = 0; i < cells_of(b); i++) {
        if (!b->inside[i]) continue;
        const double value = (double)plane[i];
        sum += value;
        squares += value * value;
        count++;
    }
    const double mean = count > 0 ? sum / count : 0;
    return count > 0 ? sqrt(fmax(0, squares / count - mean * mean)) : 0;
}

/* Light and dark within a layer's own cells, added to their height. */
static Status add_texture(Building *b, int number)
{
    const size_t cells = cells_of(b);
    const double t = b->in->list->layer[number].texture;
    float *mean = b->plane[0], *rest = b->plane[1], *weight = b->plane[2];
    for (size_t i = 0; i < cells; i++) b->inside[i] = b->in->label[i] == number;
    memcpy(mean, b->in->L, cells * sizeof *mean);
    Status status = blur_inside(b, TEXTURE_MEAN, mean, weight);
    for (size_t i = 0; i < cells; i++) rest[i] = b->inside[i] ? b->in->L[i] - mean[i] : 0;
    if (!status) status = blur_inside(b, TEXTURE_BLUR, rest, weight);
    const double sd = deviation(b, rest);
    for (size_t i = 0; !status && sd > 0 && i < cells; i++)
        if (b->inside[i])
            b->height[i] +=
                (float)(TEXTURE_GAIN * fmax(-2 * t, fmin(2 * t, t * (double)rest[i] / sd)));
    return status;
}

/* Median of the heights of a cell and those around it of its layer; of an even number the lower
 * of the two in the middle. */
static float median_at(const Building *b, int column, int row)
{
    float value[9];
    int n = 0;
    const size_t width = (size_t)b->in->columns;
    const uint8_t label = b->in->label[(size_t)row * width + (size_t)column];
    for (int y = row - 1; y <= row + 1; y++)
        for (int x = column - 1; x <= column + 1; x++) {
            if (x < 0 || y < 0 || x >= b->in->columns || y >= b->in->rows) continue;
            const size_t i = (size_t)y * width + (size_t)x;
            if (b->in->label[i] != label) continue;
            int at = n++;
            for (; at > 0 && value[at - 1] > b->height[i]; at--) value[at] = value[at - 1];
            value[at] = b->height[i];
        }
    return value[(n - 1) / 2];
}

/* Texture leaves single cells high and low, which are noise in bricks. */
static void drop_specks(Building *b)
{
    float *out = b->plane[0];
    for (int row = 0; row < b->in->rows; row++)
        for (int column = 0; column < b->in->columns; column++) {
            const size_t i = (size_t)row * (size_t)b->in->columns + (size_t)column;
            const bool textured = b->in->list->layer[b->in->label[i]].texture > 0;
            out[i] = textured ? median_at(b, column, row) : b->height[i];
        }
    memcpy(b->height, out, cells_of(b) * sizeof *out);
}

/* ---- the whole ---- */

static Status build(Building *b)
{
    const LayerList *list = b->in->list;
    bool textured = false;
    Status status = STATUS_OK;
    for (int l = LAYER_GROUND + 1; !status && l < list->count; l++) status = add_form(b, l);
    for (int l = LAYER_GROUND + 1; !status && l < list->count; l++) {
        if (!(list->layer[l].texture > 0)) continue;
        status = add_texture(b, l);
        textured = true;
    }
    for (int k = 0; !status && textured && k < TEXTURE_MEDIANS; k++) drop_specks(b);
    return status;
}

Status heights_solve(const HeightsInput *input, int threads, float *height, const Voice *voice,
                     Fault *fault)
{
    Building b = {
        .in = input, .threads = threads, .height = height, .voice = voice, .fault = fault};
    const size_t cells = cells_of(&b);
    b.inside = memory_create(cells, 1);
    float *memory = memory_create(cells, 3 * sizeof *memory);
    Status status = STATUS_OK;
    if (b.inside && memory) {
        for (size_t k = 0; k < 3; k++) b.plane[k] = memory + k * cells;
        memset(height, 0, cells * sizeof *height);
        status = build(&b);
    } else {
        status = memory_fault(fault, cells, 3 * sizeof *memory);
    }
    memory_free(b.inside);
    memory_free(memory);
    return status;
}

void heights_round(const HeightsInput *input, const float *height, int most, uint8_t *steps,
                   size_t over_out[LAYERS_MOST])
{
    const size_t cells = (size_t)input->columns * (size_t)input->rows;
    memset(over_out, 0, LAYERS_MOST * sizeof *over_out);
    for (size_t i = 0; i < cells; i++) {
        const Layer *layer = &input->list->layer[input->label[i]];
        const double least = layer->height > 0 ? 1 : 0; /* texture digs no holes */
        const double asked = fmax(least, floor((double)height[i] + 0.5));
        if (asked > most) over_out[input->label[i]]++;
        steps[i] = (uint8_t)fmin(asked, most);
    }
}
