/* The chart's patches say two things at once: what the camera makes of colours, and how the light
 * falls off over the chart. So both are fitted in turn: colours in even light, then how much
 * brighter or darker each patch is than its colour asks; with the chart's ground and plain paper,
 * where there is some, which are as bright everywhere as the light is. A photograph of white paper
 * alone tells the light place by place, and nothing is fitted.
 *
 * Two lamps of different colours would show as a slope of colour over patches, ground and paper. */
#include "camera/photo_colours.h"

#include "camera/patch_mean.h"
#include "colour/delta_e.h"

#include <math.h>
#include <string.h>

/* Of a patch its middle half each way; a patch takes at least so much of the way to the next. */
#define MIDDLE 0.5
#define PATCH_SIDE 0.8

/* The ground between four patches: so much of the way from one to the next. */
#define GROUND_SIDE 0.06

/* Standard errors of the logarithm of light, besides noise: a patch by what the fit leaves, at
 * first this and then what the patches show but not less than that; the ground by the light that
 * lenses spread from the patches around it, paper by its own texture. Ours; no bench set them. */
#define PATCH_LOG_ERROR 0.05
#define PATCH_LOG_LEAST 0.01
#define GROUND_LOG_ERROR 0.03
#define PAPER_LOG_ERROR 0.01

/* Ground that varies by more, after a slope is taken off, is no ground. */
#define GROUND_UNEVEN_MOST 0.10

/* Shares of a patch's pixels. A place that shines in more is not read; more than a few full ones
 * shift the mean, and so does a channel that noise takes to nothing. */
#define SHINE_MOST 0.25
#define FULL_MOST 0.02
#define EMPTY_MOST 0.05

/* A plain face has a spread of a few hundredths, by noise; a place with two colours in it more. */
#define SPREAD_MOST 0.25

/* Patches of the chart that may be beyond the picture's colours. */
enum { NARROW_MOST = 5 };

/* By how much, in logarithms, the light's colour may change over the plane: about 2 CIEDE2000. */
#define MIXED_MOST 0.08

/* What a grey card leaves open, CIEDE2000, root mean square: cameras differ from the observer, and
 * nothing tells how. Of rendered photographs, tests/camera/test_measure_bricks. */
#define GREY_ERROR 5.0

/* How much less is known of a colour with a channel at nothing. */
#define NARROW_ERROR 4.0

/* ---- places on the chart ---- */

static void square_at(const Homography *place, double x, double y, double side, PlanePoint out[4])
{
    static const PlanePoint corner[4] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    for (int i = 0; i < 4; i++)
        out[i] = homography_apply(
            place, (PlanePoint){x + corner[i].x * side / 2, y + corner[i].y * side / 2});
}

static PlanePoint middle_of(const PlanePoint p[4])
{
    return (PlanePoint){(p[0].x + p[1].x + p[2].x + p[3].x) / 4,
                        (p[0].y + p[1].y + p[2].y + p[3].y) / 4};
}

static Status place_chart(PhotoColours *c, Fault *fault)
{
    const ChartView *v = &c->view;
    const double right = v->chart ? v->chart->columns - 1 : 1;
    const double down = v->chart ? v->chart->rows - 1 : 1;
    const PlanePoint from[4] = {{0, 0}, {right, 0}, {right, down}, {0, down}};
    c->middle = middle_of(v->corner);
    if (quad_is_convex(v->corner) && homography_fit(&c->place, from, v->corner, 4))
        return STATUS_OK;
    return fault_set(
        fault, STATUS_DATA,
        "%s: the chart's four corners make no quadrilateral; give them in order around",
        v->photo->name);
}

/* ---- light of a place ---- */

/* The mean of a place; where there is a photograph of white paper, over the paper's. */
static bool mean_of(const PhotoColours *c, const PlanePoint corner[4], double part, PatchMean *out)
{
    PatchMean white;
    if (!patch_mean(out, c->view.photo, corner, part)) return false;
    if (!c->view.white) return true;
    if (!patch_mean(&white, c->view.white, corner, part)) return false;
    for (int k = 0; k < 3; k++) {
        if (!(white.light[k] > 0)) return false;
        out->light[k] /= white.light[k];
    }
    out->full = fmax(out->full, white.full);
    out->error = hypot(out->error, white.error);
    return true;
}

/* Light as it would be in the chart's middle. */
static void even_light(const PhotoColours *c, PlanePoint at, const double light[3], double out[3])
{
    const double factor =
        exp(light_field_log(&c->field, c->middle) - light_field_log(&c->field, at));
    for (int k = 0; k < 3; k++) out[k] = light[k] * factor;
}

/* ---- the chart's patches ---- */

typedef struct ChartReading { /* in the chart's order */
    int count;
    PlanePoint at[FIT_PATCHES_MOST];
    double light[FIT_PATCHES_MOST][3]; /* as read */
    double error[FIT_PATCHES_MOST];
    FitPatch patch[FIT_PATCHES_MOST]; /* in even light */
} ChartReading;

static Status patch_fault(const PhotoColours *c, int i, const char *what, Fault *fault)
{
    const Colour *colour = &c->view.chart->patches.colour[i];
    return fault_set(fault, STATUS_DATA, "%s: the chart's patch %s%s%s %s", c->view.photo->name,
                     colour->id, *colour->name ? ", " : "", colour->name, what);
}

static Status check_patch(const PhotoColours *c, int i, const PatchMean *mean, Fault *fault)
{
    if (mean->full > FULL_MOST)
        return patch_fault(c, i, "is clipped: it is as light as the file can hold; expose less",
                           fault);
    if (mean->shine > SHINE_MOST)
        return patch_fault(c, i, "shines in part; move lamps and camera until nothing is mirrored",
                           fault);
    if (mean->spread > SPREAD_MOST)
        return patch_fault(c, i, "is not of one colour; give the middles of the corner patches",
                           fault);
    return STATUS_OK;
}

static Status read_patch(PhotoColours *c, int i, ChartReading *r, Fault *fault)
{
    const ColourChart *chart = c->view.chart;
    PlanePoint corner[4];
    PatchMean mean;
    square_at(&c->place, i % chart->columns, i / chart->columns, PATCH_SIDE, corner);
    if (!mean_of(c, corner, MIDDLE, &mean))
        return patch_fault(c, i,
                           mean.pixels ? "is too small to be measured; go closer"
                                       : "is not in the photograph; give the middles of the "
                                         "corner patches",
                           fault);
    const Status status = check_patch(c, i, &mean, fault);
    if (status) return status;
    const bool narrow = mean.empty > EMPTY_MOST;
    c->narrow += narrow;
    r->count = i + 1;
    r->at[i] = middle_of(corner);
    r->error[i] = mean.error;
    memcpy(r->light[i], mean.light, sizeof mean.light);
    r->patch[i] = (FitPatch){.lab = chart->patches.colour[i].lab, .narrow = narrow};
    memcpy(r->patch[i].light, mean.light, sizeof mean.light);
    return STATUS_OK;
}

static Status read_patches(PhotoColours *c, ChartReading *r, Fault *fault)
{
    Status status = STATUS_OK;
    r->count = 0;
    for (int i = 0; !status && i < c->view.chart->patches.count; i++)
        status = read_patch(c, i, r, fault);
    if (status || c->narrow <= NARROW_MOST) return status;
    return fault_set(fault, STATUS_DATA,
                     "%s: %d patches of the chart have a channel at nothing; expose more, or save "
                     "the photograph in wider colours (16-bit TIFF)",
                     c->view.photo->name, c->narrow);
}

/* ---- uneven light ---- */

/* What is fitted over the plane: how bright the light is, and two ratios that are its colour. */
enum { SIGNALS = 3 };

typedef struct FieldReading {
    int count;
    FieldSample sample[SIGNALS][FIELD_SAMPLES_MOST];
    double patch_error;
} FieldReading;

static void add_sample(FieldReading *f, PlanePoint at, const double value[3], double error,
                       int group)
{
    if (f->count == FIELD_SAMPLES_MOST) return;
    for (int k = 0; k < 3; k++)
        if (!(value[k] > 0)) return;
    const double logs[SIGNALS] = {log(value[1]), log(value[0] / value[1]),
                                  log(value[2] / value[1])};
    for (int s = 0; s < SIGNALS; s++)
        f->sample[s][f->count] =
            (FieldSample){.at = at, .log = logs[s], .error = error, .group = group};
    f->count++;
}

/* Ground and paper: their light, as XYZ of the picture's own profile. */
static void add_plain(const PhotoColours *c, FieldReading *f, const PlanePoint corner[4],
                      double error, int group)
{
    PatchMean mean;
    if (!patch_mean(&mean, c->view.photo, corner, group == 1 ? 1 : MIDDLE)) return;
    if (mean.full > FULL_MOST || mean.shine > SHINE_MOST || mean.spread > SPREAD_MOST) return;
    const Xyz xyz = photo_xyz(c->view.photo, mean.light);
    add_sample(f, middle_of(corner), (double[3]){xyz.x, xyz.y, xyz.z}, hypot(error, mean.error),
               group);
}

/* Whether the places between patches are one ground. */
static bool is_ground(const PhotoColours *c, const FieldReading *f)
{
    LightField field;
    double squares = 0, level = 0;
    if (f->count < 6) return false;
    if (light_field_fit(&field, f->sample[0], f->count, c->view.photo->width, c->view.photo->height,
                        true, NULL))
        return false;
    for (int i = 0; i < f->count; i++)
        level += (f->sample[0][i].log - light_field_log(&field, f->sample[0][i].at)) / f->count;
    for (int i = 0; i < f->count; i++)
        squares +=
            pow(f->sample[0][i].log - light_field_log(&field, f->sample[0][i].at) - level, 2);
    return sqrt(squares / f->count) < GROUND_UNEVEN_MOST;
}

static void read_ground(const PhotoColours *c, FieldReading *f)
{
    const ColourChart *chart = c->view.chart;
    f->count = 0;
    for (int row = 0; row < chart->rows - 1; row++)
        for (int column = 0; column < chart->columns - 1; column++) {
            PlanePoint corner[4];
            square_at(&c->place, column + 0.5, row + 0.5, GROUND_SIDE, corner);
            add_plain(c, f, corner, GROUND_LOG_ERROR, 1);
        }
    if (!is_ground(c, f)) f->count = 0;
}

static void read_plain(const PhotoColours *c, FieldReading *f)
{
    f->count = 0;
    if (c->view.chart) read_ground(c, f);
    for (int i = 0; i < c->view.papers; i++) add_plain(c, f, c->view.paper[i], PAPER_LOG_ERROR, 2);
}

/* Adds what each patch has over what its colour asks, by the fit in even light. */
static void add_patches(const PhotoColours *c, const ChartReading *r, FieldReading *f)
{
    for (int i = 0; i < r->count; i++) {
        if (r->patch[i].narrow) continue;
        const Xyz got = xyz_from_lab(colour_fit_lab(&c->fit, r->patch[i].light));
        const Xyz want = xyz_from_lab(r->patch[i].lab);
        const double taken =
            exp(light_field_log(&c->field, r->at[i]) - light_field_log(&c->field, c->middle));
        add_sample(
            f, r->at[i],
            (double[3]){taken * got.x / want.x, taken * got.y / want.y, taken * got.z / want.z},
            hypot(f->patch_error, r->error[i]), 0);
    }
}

static Status fit_signal(const PhotoColours *c, const FieldReading *f, int signal,
                         LightField *field, Fault *fault)
{
    return light_field_fit(field, f->sample[signal], f->count, c->view.photo->width,
                           c->view.photo->height, signal == 0, fault);
}

/* Refuses light whose colour changes over the places that were sampled. */
static Status check_mixed(const PhotoColours *c, const FieldReading *f, Fault *fault)
{
    for (int signal = 1; signal < SIGNALS; signal++) {
        LightField field;
        double least = HUGE_VAL, most = -HUGE_VAL;
        PlanePoint ends[2] = {{0, 0}, {0, 0}};
        const Status status = fit_signal(c, f, signal, &field, fault);
        if (status) return status;
        for (int i = 0; i < f->count; i++) {
            const PlanePoint at = f->sample[signal][i].at;
            const double level = light_field_log(&field, at);
            if (level < least) ends[0] = at;
            if (level > most) ends[1] = at;
            least = fmin(least, level);
            most = fmax(most, level);
        }
        const double error = light_field_error(&field, ends[1], ends[0]);
        if (most - least < MIXED_MOST || most - least < 3 * error) continue;
        return fault_set(fault, STATUS_DATA,
                         "%s: the light changes its colour over the chart by %.0f %%; light it by "
                         "lamps of one kind, and shut out the window",
                         c->view.photo->name, 100 * (exp(most - least) - 1));
    }
    return STATUS_OK;
}

/* ---- fitting ---- */

static Status fit_fault(const PhotoColours *c, Fault *fault)
{
    return fault_set(fault, STATUS_DATA,
                     "%s: the chart's patches do not determine its colours; see that the corners "
                     "are right and that the chart is whole",
                     c->view.photo->name);
}

static void even_out(const PhotoColours *c, ChartReading *r)
{
    for (int i = 0; i < r->count; i++) even_light(c, r->at[i], r->light[i], r->patch[i].light);
}

/* How far the light of patches is from the field, in logarithms, root mean square. */
static double patch_misses(const PhotoColours *c, const FieldReading *f)
{
    double squares = 0;
    int count = 0;
    for (int i = 0; i < f->count; i++) {
        const FieldSample *s = &f->sample[0][i];
        if (s->group) continue;
        squares += pow(
            s->log - (light_field_log(&c->field, s->at) - light_field_log(&c->field, c->middle)),
            2);
        count++;
    }
    return sqrt(squares / count);
}

/* Colours and light in turn; with a photograph of white paper the light is even already. Leaves the
 * samples of ground and paper. */
static Status fit_light(PhotoColours *c, ChartReading *r, FieldReading *f, Fault *fault)
{
    enum { TURNS = 3 };
    Status status = STATUS_OK;
    read_plain(c, f);
    f->patch_error = PATCH_LOG_ERROR;
    const int plain = f->count;
    for (int turn = 0; !status && turn < TURNS; turn++) {
        if (c->view.white) break;
        if (!colour_fit_form(&c->fit, r->patch, r->count, 1, false)) return fit_fault(c, fault);
        f->count = plain;
        add_patches(c, r, f);
        status = fit_signal(c, f, 0, &c->field, fault);
        f->patch_error = fmax(PATCH_LOG_LEAST, patch_misses(c, f));
        even_out(c, r);
    }
    f->count = plain;
    return status;
}

static Status check_fit(const PhotoColours *c, Fault *fault)
{
    const ColourFit *fit = &c->fit;
    const Colour *worst = &c->view.chart->patches.colour[fit->worst_patch];
    if (fit->mean <= FIT_MEAN_MOST && fit->worst <= FIT_WORST_MOST) return STATUS_OK;
    return fault_set(
        fault, STATUS_DATA,
        "%s: patches left out are missed by %.1f on average, at worst %.1f (%s), where "
        "%.0f and %.0f may be; look for the chart's corners, glare, or a picture that "
        "was made prettier",
        c->view.photo->name, fit->mean, fit->worst, *worst->name ? worst->name : worst->id,
        FIT_MEAN_MOST, FIT_WORST_MOST);
}

static Status fit_chart(PhotoColours *c, Fault *fault)
{
    ChartReading reading;
    FieldReading field;
    Status status = read_patches(c, &reading, fault);
    if (!status) status = fit_light(c, &reading, &field, fault);
    if (status) return status;
    if (!colour_fit(&c->fit, reading.patch, reading.count)) return fit_fault(c, fault);
    add_patches(c, &reading, &field);
    status = check_mixed(c, &field, fault);
    return status ? status : check_fit(c, fault);
}

/* White balance and exposure by the card, the rest as the picture's profile has it. */
static Status fit_card(PhotoColours *c, Fault *fault)
{
    static const double shown = 0.8; /* its rim is left out */
    FieldReading field;
    PatchMean mean;
    const Photo *photo = c->view.photo;
    if (!mean_of(c, c->view.corner, shown, &mean) || mean.full > FULL_MOST || mean.empty > 0 ||
        mean.shine > SHINE_MOST || mean.spread > SPREAD_MOST)
        return fault_set(fault, STATUS_DATA,
                         "%s: the grey card is clipped, shines, or is not within its corners; "
                         "expose less, move the lamps, give its four corners",
                         photo->name);
    read_plain(c, &field);
    const Status status = fit_signal(c, &field, 0, &c->field, fault);
    if (status) return status;
    const double want = xyz_from_lab((Lab){c->view.grey, 0, 0}).y;
    c->fit = (ColourFit){.degree = 1, .tone = {1, 0}};
    for (int t = 0; t < 3; t++) {
        c->fit.scale[t] = mean.light[t];
        for (int k = 0; k < 3; k++) c->fit.matrix[t][k] = want * photo->xyz[k][t];
    }
    return check_mixed(c, &field, fault);
}

Status photo_colours_init(PhotoColours *c, const ChartView *view, Fault *fault)
{
    memset(c, 0, sizeof *c);
    c->view = *view;
    const Photo *photo = view->photo;
    Status status = place_chart(c, fault);
    if (!status)
        status = light_field_fit(&c->field, NULL, 0, photo->width, photo->height, true, fault);
    if (status) return status;
    return view->chart ? fit_chart(c, fault) : fit_card(c, fault);
}

/* ---- reading ---- */

static const char *why_not(const PatchMean *mean, bool read)
{
    if (!read) return mean->pixels ? "is too small in the photograph" : "is not in the photograph";
    if (mean->full > FULL_MOST) return "is clipped: as light as the file can hold";
    if (mean->shine > SHINE_MOST) return "shines in part";
    if (mean->spread > SPREAD_MOST) return "is not of one colour";
    return NULL;
}

/* CIEDE2000 that a change of all light by this part makes. */
static double light_error(Lab lab, double part)
{
    const Xyz xyz = xyz_from_lab(lab);
    const double f = 1 + part;
    return delta_e_2000(lab, lab_from_xyz((Xyz){xyz.x * f, xyz.y * f, xyz.z * f}));
}

void photo_colours_read(const PhotoColours *c, const PlanePoint corner[4], PlaceReading *out,
                        const char **why_out)
{
    PatchMean mean;
    double light[3];
    *out = (PlaceReading){0};
    const bool read = mean_of(c, corner, MIDDLE, &mean);
    *why_out = why_not(&mean, read);
    if (*why_out) return;
    const PlanePoint at = middle_of(corner);
    even_light(c, at, mean.light, light);
    if (c->view.chart) {
        out->drawn_out = colour_fit_read(&c->fit, light, &out->lab, &out->system) > FIT_DRAWN_OUT;
    } else {
        out->lab = colour_fit_lab(&c->fit, light);
        out->system = GREY_ERROR;
    }
    out->narrow = mean.empty > EMPTY_MOST;
    const double uneven = c->view.white ? 0 : light_field_error(&c->field, at, c->middle);
    out->chance = light_error(out->lab, hypot(mean.error, uneven));
    if (out->narrow) out->system = hypot(out->system, NARROW_ERROR);
}
