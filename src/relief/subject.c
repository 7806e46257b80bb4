/* Strokes become outlines on the picture at a few pixels a cell, and outlines labels of cells;
 * labels that are drawn whole become so at once. Heights follow from the cells alone. They go
 * into steps as they are: smoothing them along the picture's edges, as a depth map is, would
 * draw them towards brush strokes. */
#include "relief/subject.h"

#include "base/memory.h"
#include "base/text.h"
#include "layers/geodesic.h"
#include "relief/guided.h"
#include "relief/layer_picture.h"
#include "relief/relief.h"
#include "relief/stroked_cells.h"

#include <assert.h>
#include <limits.h>
#include <math.h>
#include <string.h>

enum { PIXELS_A_CELL = 3, REFUSED_SAID = 5 };

#define SNAP_CONTRAST 0.05 /* of edges that labels snap to; CIELAB's unit / 100 */

/* A subject under way. */
typedef struct Posing {
    Subject *s;
    const Job *job;
    const SubjectInput *in;
    LayerPicture drawn;
    const Voice *voice;
    Fault *fault;
} Posing;

static size_t cells_posed(const Posing *p) { return (size_t)p->s->columns * (size_t)p->s->rows; }

int subject_pixels_a_cell(int columns, int rows)
{
    const int longest = columns > rows ? columns : rows;
    const int room = GRID_MOST / longest;
    return room < 1 ? 1 : room < PIXELS_A_CELL ? room : PIXELS_A_CELL;
}

/* ---- from labels ---- */

/* Moves the edge of a label's share to that of the colours nearby. */
static Status snap_shares(Posing *p, float *share)
{
    const Image *guide = p->in->depth.guide;
    const size_t cells = cells_posed(p);
    const GuidedOptions options = {.radius = p->job->label_snap,
                                   .epsilon = SNAP_CONTRAST * SNAP_CONTRAST,
                                   .threads = p->in->depth.threads,
                                   .voice = p->voice};
    float *lab = memory_create(cells, 3 * sizeof *lab), *out = memory_create(cells, sizeof *out);
    Status status = lab && out ? STATUS_OK : memory_fault(p->fault, cells, 3 * sizeof *lab);
    for (int row = 0; !status && row < guide->rows; row++)
        for (int column = 0; column < guide->columns; column++) {
            const size_t i = (size_t)row * (size_t)guide->columns + (size_t)column;
            const Lab colour = lab_from_xyz(image_at(guide, column, row));
            lab[3 * i] = (float)(colour.L / 100);
            lab[3 * i + 1] = (float)(colour.a / 100);
            lab[3 * i + 2] = (float)(colour.b / 100);
        }
    for (size_t l = 0; !status && l < (size_t)p->s->list.count; l++) {
        const GuidedInput planes = {p->s->columns, p->s->rows, lab, share + l * cells};
        status = guided_filter(&options, &planes, out, p->fault);
        if (!status) memcpy(share + l * cells, out, cells * sizeof *out);
    }
    memory_free(lab);
    memory_free(out);
    return status;
}

static Status label_cells(Posing *p)
{
    const int labels = p->s->list.count, columns = p->s->columns, rows = p->s->rows;
    const int threads = p->in->depth.threads;
    float *share = memory_create((size_t)labels * cells_posed(p), sizeof *share);
    if (!share) return memory_fault(p->fault, (size_t)labels * cells_posed(p), sizeof *share);
    cell_shares(&p->drawn.picture, labels, columns, rows, threads, share);
    Status status = p->job->label_snap ? snap_shares(p, share) : STATUS_OK;
    if (!status)
        status = cell_labels(&CELL_LABELS_AS_DRAWN,
                             &(CellShares){labels, columns, rows, threads, share, NULL},
                             p->s->label, p->fault);
    memory_free(share);
    return status;
}

/* ---- from strokes ---- */

static Status unless_stopped(const Posing *p)
{
    if (!voice_stopped(p->voice)) return STATUS_OK;
    return fault_set(p->fault, STATUS_INTERRUPTED, "layers: stopped; run it again");
}

/* Every label has a stroke within what the mural shows. */
static Status check_strokes(const Posing *p, const StrokedCells *sheet)
{
    bool drawn[LABEL_NONE + 1] = {false};
    const LayerList *list = &p->s->list;
    const char *path = text_place(p->job->strokes);
    for (size_t i = 0; i < lab_pixels_count(&sheet->pixels); i++) drawn[sheet->stroke[i]] = true;
    for (int l = 0; l < list->count; l++) {
        if (drawn[l]) continue;
        if (l == LAYER_GROUND)
            return fault_set(p->fault, STATUS_DATA,
                             "%s: no stroke on the ground, index %d, so all would be raised; draw "
                             "one on what stays flat",
                             path, LAYER_GROUND_INDEX);
        return fault_set(p->fault, STATUS_DATA,
                         "%s: layer %s, index %d, has no stroke on what the mural shows; draw one, "
                         "or take it out of %s",
                         path, list->layer[l].name, list->layer[l].index,
                         text_place(p->job->layers));
    }
    return STATUS_OK;
}

static Status find_outline(Posing *p, StrokedCells *sheet)
{
    Status status = stroked_cells_init(sheet, p->in->fine, &p->drawn, p->fault);
    if (!status) status = check_strokes(p, sheet);
    if (!status) status = unless_stopped(p);
    return status ? status : stroked_cells_find(sheet, p->s->list.count, p->voice, p->fault);
}

static void say_doubts(const Posing *p)
{
    DoubtWords words = {.kind = "layer",
                        .refused_most = REFUSED_SAID,
                        .narrow_most = INT_MAX,
                        .more = "hatched in outlines.png",
                        .columns = p->s->columns,
                        .rows = p->s->rows};
    for (int l = 0; l < p->s->list.count; l++) {
        words.name[l] = p->s->list.layer[l].name;
        words.index[l] = p->s->list.layer[l].index;
    }
    outline_report_say(&p->s->report, &words, p->voice);
}

static Status take_strokes(Posing *p)
{
    StrokedCells sheet = {
        .columns = p->s->columns, .rows = p->s->rows, .threads = p->in->depth.threads};
    const int labels = p->s->list.count;
    Status status = find_outline(p, &sheet);
    if (!status) status = unless_stopped(p);
    if (!status) status = stroked_cells_label(&sheet, labels, p->s->label, p->fault);
    if (!status) status = unless_stopped(p);
    if (!status) {
        const OutlineFound found = {.pixels = &sheet.pixels,
                                    .stroke = sheet.stroke,
                                    .outline = &sheet.outline,
                                    .labels = labels,
                                    .per = sheet.per,
                                    .columns = p->s->columns,
                                    .rows = p->s->rows,
                                    .cell = p->s->label};
        status = outline_report(&found, &p->s->report, p->fault);
    }
    if (!status) say_doubts(p);
    stroked_cells_clear(&sheet);
    return status;
}

/* ---- heights ---- */

/* The steps of the tallest point, if nothing is cut off. */
static double tallest(const LayerList *list)
{
    double most = 0;
    for (int l = 0; l < list->count; l++) {
        double sum = 0;
        for (int at = l; at != LAYER_GROUND; at = list->layer[at].on) sum += list->layer[at].height;
        most = fmax(most, sum);
    }
    return most;
}

static Status find_most(Posing *p)
{
    const double asked = fmax(1, floor(tallest(&p->s->list) + 0.5));
    const Status status = depth_most_steps(p->job, &p->s->most, p->voice, p->fault);
    if (!p->s->most) p->s->most = (int)fmin(asked, RELIEF_STEPS_MOST);
    return status;
}

static void say_cut(const Posing *p, const size_t over[LAYERS_MOST])
{
    for (int l = 0; l < p->s->list.count; l++)
        if (over[l])
            voice_note(p->voice,
                       "layers: %zu cells of layer %s come to more than %d steps and are cut off "
                       "there; give its layers less height, or --steps more",
                       over[l], p->s->list.layer[l].name, p->s->most);
}

/* What layers take from the job's own relief; NULL: none does. */
static Status find_depth(Posing *p, float **depth_out)
{
    const LayerList *list = &p->s->list;
    *depth_out = NULL;
    for (int l = LAYER_GROUND + 1; l < list->count; l++) {
        if (list->layer[l].profile != PROFILE_RELIEF) continue;
        if (p->job->relief == RELIEF_NONE)
            return fault_set(p->fault, STATUS_USAGE,
                             "%s: layer %s takes its profile from a relief, and there is none; add "
                             "--relief luminance or map, or give it another profile",
                             text_place(p->job->layers), list->layer[l].name);
        return depth_plane(p->job, &p->in->depth, depth_out, p->voice, p->fault);
    }
    if (p->job->relief != RELIEF_NONE)
        voice_note(p->voice, "--relief: counts for nothing here, only for a layer with profile = "
                             "relief");
    return STATUS_OK;
}

static Status raise_layers(Posing *p, uint8_t *steps)
{
    float *depth = NULL, *L = memory_create(cells_posed(p), sizeof *L);
    size_t over[LAYERS_MOST];
    if (!L) return memory_fault(p->fault, cells_posed(p), sizeof *L);
    relief_luminance(p->in->depth.picture, false, L);
    for (size_t i = 0; i < cells_posed(p); i++) L[i] *= 100;
    Status status = find_most(p);
    if (!status) status = find_depth(p, &depth);
    const HeightsInput input = {&p->s->list, p->s->columns, p->s->rows, p->s->label, L, depth};
    if (!status)
        status = heights_solve(&input, p->in->depth.threads, p->s->height, p->voice, p->fault);
    if (!status) heights_round(&input, p->s->height, p->s->most, steps, over);
    if (!status) say_cut(p, over);
    memory_free(depth);
    memory_free(L);
    return status;
}

/* ---- the whole ---- */

static double step_of(const Job *job)
{
    return job->build == BUILD_WALL ? job->pitch : job->brick_height;
}

static Status read_drawn(Posing *p)
{
    LayerPictureInput input = {
        .path = *p->job->strokes ? p->job->strokes : p->job->labels,
        .label = {LABEL_NONE},
        .kind = "layer",
        .others = "0, 1",
        .list_path = p->job->layers,
        .frame = p->in->depth.frame,
        .limit_pixels = p->job->limit * 1e6,
    };
    for (int i = 1; i < 256; i++) input.label[i] = layer_label(&p->s->list, i);
    return layer_picture_read(&p->drawn, &input, p->fault);
}

Status subject_init(Subject *subject, const Job *job, const SubjectInput *input, uint8_t *steps,
                    const Voice *voice, Fault *fault)
{
    Posing p = {.s = subject, .job = job, .in = input, .voice = voice, .fault = fault};
    *subject = (Subject){.columns = input->depth.frame->columns, .rows = input->depth.frame->rows};
    subject->label = memory_create(cells_posed(&p), 1);
    subject->height = memory_create(cells_posed(&p), sizeof *subject->height);
    Status status = subject->label && subject->height
                        ? STATUS_OK
                        : memory_fault(fault, cells_posed(&p), sizeof *subject->height);
    if (!status) status = layer_list_read(&subject->list, job->layers, step_of(job), fault);
    if (!status) status = read_drawn(&p);
    if (!status) status = *job->strokes ? take_strokes(&p) : label_cells(&p);
    if (!status) status = raise_layers(&p, steps);
    layer_picture_clear(&p.drawn);
    return status;
}

void subject_clear(Subject *subject)
{
    memory_free(subject->label);
    memory_free(subject->height);
    outline_report_clear(&subject->report);
    *subject = (Subject){0};
}
