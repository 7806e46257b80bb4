/* From what the job asks to what relief.h takes.
 *
 * A map beside the picture may be of any resolution, as long as it has the shape of the whole
 * reference or of its crop: it is sampled through the same frame as the picture, so its cells
 * fall on the picture's. Only a map of steps, edited by hand, must have one pixel a cell. */
#include "relief/depth.h"

#include "base/memory.h"
#include "picture/picture.h"
#include "relief/relief.h"

#include <assert.h>
#include <math.h>

Status depth_wanted(const Job *job, bool *wanted_out, Fault *fault)
{
    const bool derived = job->relief != RELIEF_NONE;
    *wanted_out = derived || *job->steps_map;
    if (job->relief == RELIEF_MAP && !*job->depth_map && !*job->steps_map)
        return fault_set(fault, STATUS_USAGE, "--relief: map has no file; add --depth-map FILE");
    if (*job->depth_map && job->relief != RELIEF_MAP)
        return fault_set(fault, STATUS_USAGE,
                         "--depth-map: not used by this relief; add --relief map or leave it out");
    if (*job->mask && !derived)
        return fault_set(fault, STATUS_USAGE,
                         "--mask: there is no relief; add --relief luminance or --relief map");
    return STATUS_OK;
}

/* ---- maps beside the picture ---- */

/* Whether one size is another's, scaled, to within a pixel or a hundredth. */
static bool same_aspect(double width, double height, double of_width, double of_height)
{
    const double other = width * of_height / of_width;
    return fabs(other - height) <= fmax(1, 0.01 * height);
}

/* The part of a map that the cells show: the map is of the reference or of its cut. */
static Status place_map(const DepthFrame *f, const Picture *map, const char *path, Crop *crop_out,
                        Fault *fault)
{
    const double width = (double)picture_width(map), height = (double)picture_height(map);
    Crop of = {0, 0, f->width, f->height};
    if (!same_aspect(width, height, of.width, of.height)) of = f->cut;
    if (!same_aspect(width, height, of.width, of.height))
        return fault_set(fault, STATUS_DATA,
                         "%s: is %.0f x %.0f, not the shape of the reference, %.0f x %.0f, or of "
                         "its crop; cut it alike",
                         path, width, height, f->width, f->height);
    const double across = width / of.width, down = height / of.height;
    Crop c = {(f->crop.x - of.x) * across, (f->crop.y - of.y) * down, f->crop.width * across,
              f->crop.height * down};
    c.x = fmin(fmax(c.x, 0), width); /* rounding must not reach out of the map */
    c.y = fmin(fmax(c.y, 0), height);
    c.width = fmin(c.width, width - c.x);
    c.height = fmin(c.height, height - c.y);
    *crop_out = c;
    return STATUS_OK;
}

static Status read_plane(const Job *job, const DepthInput *input, const char *path,
                         float **cells_out, const Voice *voice, Fault *fault)
{
    const DepthFrame *f = input->frame;
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    options.limit_pixels = job->limit * 1e6;
    options.data = true;
    Picture *map = NULL;
    Sampling sampling = {.columns = f->columns, .rows = f->rows, .threads = input->threads};
    Status status = picture_open(&map, path, &options, voice, fault);
    if (!status) status = place_map(f, map, path, &sampling.crop, fault);
    if (!status) status = sample_data(picture_source(map), &sampling, cells_out, voice, fault);
    picture_close(map);
    return status;
}

/* ---- steps edited by hand ---- */

/* The map's values, 0 to 255, one a cell. */
static Status steps_from_greys(const DepthFrame *f, const float *cells, const char *path,
                               uint8_t *steps_out, Fault *fault)
{
    for (int row = 0; row < f->rows; row++)
        for (int column = 0; column < f->columns; column++) {
            const size_t cell = (size_t)row * (size_t)f->columns + (size_t)column;
            const double value = floor((double)cells[cell] * 255 + 0.5);
            if (value > RELIEF_STEPS_MOST)
                return fault_set(fault, STATUS_DATA,
                                 "%s: column %d, row %d: %.0f steps; paint with greys of 0 to %d",
                                 path, column + 1, row + 1, value, RELIEF_STEPS_MOST);
            steps_out[cell] = (uint8_t)value;
        }
    return STATUS_OK;
}

static Status read_steps(const Job *job, const DepthInput *input, uint8_t *steps_out,
                         const Voice *voice, Fault *fault)
{
    const DepthFrame *f = input->frame;
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    options.data = true;
    Picture *map = NULL;
    float *cells = NULL;
    Status status = picture_open(&map, job->steps_map, &options, voice, fault);
    if (!status && (picture_width(map) != f->columns || picture_height(map) != f->rows))
        status =
            fault_set(fault, STATUS_DATA,
                      "%s: is %ld x %ld, but the mural %d x %d cells; keep the size of "
                      "steps.png",
                      job->steps_map, picture_width(map), picture_height(map), f->columns, f->rows);
    if (!status) {
        const Sampling sampling = {crop_all(picture_source(map)), f->columns, f->rows,
                                   input->threads};
        status = sample_data(picture_source(map), &sampling, &cells, voice, fault);
    }
    if (!status) status = steps_from_greys(f, cells, job->steps_map, steps_out, fault);
    memory_free(cells);
    picture_close(map);
    return status;
}

/* ---- steps derived ---- */

static Status asked_steps(const Job *job, int *steps_out, const Voice *voice, Fault *fault)
{
    *steps_out = job->steps ? job->steps : RELIEF_OPTIONS_DEFAULT.steps;
    if (!(job->depth > 0)) return STATUS_OK;
    const double step = job->build == BUILD_WALL ? job->pitch : job->brick_height;
    const double steps = fmax(1, floor(job->depth / step + 0.5));
    if (steps > RELIEF_STEPS_MOST)
        return fault_set(fault, STATUS_USAGE,
                         "--depth: %g mm are %.0f steps of %g mm; give %g mm at most", job->depth,
                         steps, step, RELIEF_STEPS_MOST * step);
    *steps_out = (int)steps;
    voice_note(voice, "depth: %g mm are rounded to %.0f step%s of %g mm, %g mm", job->depth, steps,
               steps > 1 ? "s" : "", step, steps * step);
    return STATUS_OK;
}

static Status set_options(const Job *job, ReliefOptions *o, const Voice *voice, Fault *fault)
{
    *o = RELIEF_OPTIONS_DEFAULT;
    o->curve = job->relief_curve;
    o->smooth = job->relief_smooth;
    o->islands = job->relief_islands;
    o->jump = job->relief_jump;
    if (job->relief == RELIEF_LUMINANCE) {
        /* Light and shade within a subject are not its depth: only strong edges count. */
        o->contrast = 2 * RELIEF_OPTIONS_DEFAULT.contrast;
        o->trench = job->toward == TOWARD_LIGHT ? 1 : 0;
    }
    return asked_steps(job, &o->steps, voice, fault);
}

static void say_height(int asked, const uint8_t *steps, size_t cells, const Voice *voice)
{
    int most = 0;
    for (size_t i = 0; i < cells; i++)
        if (steps[i] > most) most = steps[i];
    if (most < asked)
        voice_note(voice,
                   "relief: the tallest point stands at %d of %d steps once smoothed and cleaned; "
                   "give less --relief-smooth or --relief-islands to keep small peaks",
                   most, asked);
}

static Status derive_steps(const Job *job, const DepthInput *input, uint8_t *steps_out,
                           const Voice *voice, Fault *fault)
{
    const size_t cells = (size_t)input->frame->columns * (size_t)input->frame->rows;
    float *depth = NULL, *mask = NULL;
    ReliefOptions options;
    Status status = set_options(job, &options, voice, fault);
    if (!status && job->relief == RELIEF_MAP) {
        status = read_plane(job, input, job->depth_map, &depth, voice, fault);
    } else if (!status) {
        depth = memory_create(cells, sizeof *depth);
        if (!depth) status = memory_fault(fault, cells, sizeof *depth);
        if (!status) relief_luminance(input->picture, job->toward == TOWARD_DARK, depth);
    }
    if (!status && *job->mask) status = read_plane(job, input, job->mask, &mask, voice, fault);
    options.threads = input->threads;
    if (!status) status = relief_steps(&options, input->guide, depth, mask, steps_out, fault);
    if (!status) say_height(options.steps, steps_out, cells, voice);
    memory_free(depth);
    memory_free(mask);
    return status;
}

Status depth_steps(const Job *job, const DepthInput *input, uint8_t *steps_out, const Voice *voice,
                   Fault *fault)
{
    assert(input->guide->columns == input->frame->columns);
    assert(input->guide->rows == input->frame->rows);
    if (*job->steps_map) return read_steps(job, input, steps_out, voice, fault);
    return derive_steps(job, input, steps_out, voice, fault);
}
