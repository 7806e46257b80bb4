/* From what the job asks to what relief.h takes.
 *
 * A map beside the picture may be of any resolution, as long as it has the shape of the whole
 * reference or of its crop: it is sampled through the same frame as the picture, so its cells
 * fall on the picture's. Only a map of steps, edited by hand, must have one pixel a cell. */
#include "relief/depth.h"

#include "base/memory.h"
#include "base/raster.h"
#include "base/text.h"
#include "model/index_colours.h"
#include "relief/grey_map.h"
#include "relief/relief.h"
#include "relief/saliency.h"

#include <assert.h>
#include <math.h>

Status depth_wanted(const Job *job, bool *wanted_out, Fault *fault)
{
    const bool derived = job->relief != RELIEF_NONE;
    *wanted_out = derived || *job->steps_map || job_layered(job);
    if (job->relief == RELIEF_MAP && !*job->depth_map && !*job->steps_map)
        return fault_set(fault, STATUS_USAGE, "--relief: map has no file; add --depth-map FILE");
    if (*job->depth_map && job->relief != RELIEF_MAP)
        return fault_set(fault, STATUS_USAGE,
                         "--depth-map: not used by this relief; add --relief map or leave it out");
    if (*job->layers && !*job->strokes && !*job->labels)
        return fault_set(fault, STATUS_USAGE,
                         "--layers: nothing is drawn; add --strokes FILE or --labels FILE");
    if (!*job->layers && job_layered(job))
        return fault_set(fault, STATUS_USAGE,
                         "--%s: nothing says what its layers are; add --layers FILE",
                         *job->strokes ? "strokes" : "labels");
    if (*job->mask && !derived)
        return fault_set(fault, STATUS_USAGE,
                         "--mask: there is no relief; add --relief luminance or --relief map");
    return STATUS_OK;
}

static Status read_plane(const Job *job, const DepthInput *input, const char *path,
                         float **cells_out, const Voice *voice, Fault *fault)
{
    const GreyMap map = {.path = path,
                         .frame = input->frame,
                         .limit_pixels = job->limit * 1e6,
                         .limit_bytes = job_memory(job),
                         .threads = input->threads,
                         .voice = voice};
    return grey_map_read(&map, cells_out, fault);
}

/* ---- steps edited by hand ---- */

/* The steps of a pixel in full colour: one of the colours of steps.png, or a grey; -1: neither. */
static int steps_of_pixel(const IndexColours *ours, const uint8_t rgb[3])
{
    const int steps = index_of_colour(ours, rgb);
    if (steps >= 0) return steps;
    return rgb[0] == rgb[1] && rgb[1] == rgb[2] ? rgb[0] : -1;
}

static Status take_steps(const Raster *r, const char *path, uint8_t *steps_out, Fault *fault)
{
    int steps[256];
    IndexColours ours;
    index_colours_init(&ours, step_colour);
    if (r->kind != RASTER_RGB) index_colours_read(&ours, r, steps);
    for (uint32_t y = 0; y < r->height; y++)
        for (uint32_t x = 0; x < r->width; x++) {
            const size_t at = (size_t)y * r->width + x;
            const int value = r->kind == RASTER_RGB ? steps_of_pixel(&ours, r->sample + 3 * at)
                                                    : steps[r->sample[at]];
            if (value < 0)
                return fault_set(fault, STATUS_DATA,
                                 "%s: column %u, row %u: its colour is none of steps.png; paint "
                                 "with these and without smoothing",
                                 path, x + 1, r->height - y);
            if (value > RELIEF_STEPS_MOST)
                return fault_set(fault, STATUS_DATA,
                                 "%s: column %u, row %u: %d steps; paint with 0 to %d", path, x + 1,
                                 r->height - y, value, RELIEF_STEPS_MOST);
            steps_out[(size_t)(r->height - 1 - y) * r->width + x] = (uint8_t)value;
        }
    return STATUS_OK;
}

static Status read_steps(const Job *job, const DepthInput *input, uint8_t *steps_out, Fault *fault)
{
    const DepthFrame *f = input->frame;
    const char *path = text_place(job->steps_map);
    Raster r;
    Status status = raster_read_indices(&r, job->steps_map, job->limit * 1e6, fault);
    if (status) return status;
    if (r.width != (uint32_t)f->columns || r.height != (uint32_t)f->rows)
        status =
            fault_set(fault, STATUS_DATA,
                      "%s: is %u x %u, but the mural %d x %d cells; keep the size of steps.png",
                      path, r.width, r.height, f->columns, f->rows);
    else
        status = take_steps(&r, path, steps_out, fault);
    raster_clear(&r);
    return status;
}

/* ---- steps derived ---- */

Status depth_most_steps(const Job *job, int *steps_out, const Voice *voice, Fault *fault)
{
    *steps_out = job->steps;
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
    o->whole = job->relief == RELIEF_MAP && !(job->relief_curve > 0);
    const Status status = depth_most_steps(job, &o->steps, voice, fault);
    if (!o->steps) o->steps = RELIEF_OPTIONS_DEFAULT.steps;
    return status;
}

/* The map, or what stands out of the picture, or lightness within a mask; a number a cell. */
static Status raw_depth(const Job *job, const DepthInput *input, float **depth_out,
                        const Voice *voice, Fault *fault)
{
    const size_t cells = (size_t)input->frame->columns * (size_t)input->frame->rows;
    if (job->relief == RELIEF_MAP)
        return read_plane(job, input, job->depth_map, depth_out, voice, fault);
    *depth_out = memory_create(cells, sizeof **depth_out);
    if (!*depth_out) return memory_fault(fault, cells, sizeof **depth_out);
    const bool dark = job->toward == TOWARD_DARK;
    if (!*job->mask) return saliency_depth(input->picture, dark, *depth_out, voice, fault);
    relief_luminance(input->picture, dark, *depth_out); /* what stands out is known by the mask */
    return STATUS_OK;
}

Status depth_plane(const Job *job, const DepthInput *input, float **depth_out, const Voice *voice,
                   Fault *fault)
{
    ReliefOptions options;
    *depth_out = NULL;
    Status status = set_options(job, &options, voice, fault);
    options.threads = input->threads;
    options.voice = voice;
    if (!status) status = raw_depth(job, input, depth_out, voice, fault);
    return status ? status : relief_depth(&options, input->guide, *depth_out, *depth_out, fault);
}

static void say_height(const ReliefOptions *options, bool whole, const uint8_t *steps, size_t cells,
                       const Voice *voice)
{
    const int asked = options->steps;
    int most = 0;
    for (size_t i = 0; i < cells; i++)
        if (steps[i] > most) most = steps[i];
    if (most == asked || (whole && options->jump > 0)) return;
    if (whole)
        voice_note(voice,
                   "relief: the map is of whole steps and taken as it is; its tallest point stands "
                   "at %d of %d",
                   most, asked);
    else
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
    if (!status) status = raw_depth(job, input, &depth, voice, fault);
    if (!status && *job->mask) status = read_plane(job, input, job->mask, &mask, voice, fault);
    options.threads = input->threads;
    options.voice = voice;
    if (!status) status = relief_steps(&options, input->guide, depth, mask, steps_out, fault);
    if (!status)
        say_height(&options, relief_is_whole(&options, &(ReliefMap){cells, depth, mask}), steps_out,
                   cells, voice);
    memory_free(depth);
    memory_free(mask);
    return status;
}

Status depth_steps(const Job *job, const DepthInput *input, uint8_t *steps_out, const Voice *voice,
                   Fault *fault)
{
    assert(input->guide->columns == input->frame->columns);
    assert(input->guide->rows == input->frame->rows);
    if (*job->steps_map) return read_steps(job, input, steps_out, fault);
    return derive_steps(job, input, steps_out, voice, fault);
}
