/* A candidate is planned as far as its bricks; no file is written. What a comparison needs of
 * it is kept, figures and small pictures; all else is freed at once, since many candidates are
 * planned side by side. The map's worst place is that block of cells, BLOCK a side, whose mean
 * difference is greatest: a lone cell is no place to look at. */
#include "study/candidate.h"

#include "base/memory.h"
#include "book/offer_page.h"
#include "eye/eye.h"
#include "figures/measure.h"
#include "plan/brickwork.h"
#include "plan/face_colours.h"
#include "plan/raise.h"
#include "plan/target.h"

#include <math.h>
#include <string.h>

enum { BLOCK = 8 }; /* cells a side of what counts as a place; ours */

/* What the stages make of a candidate. */
typedef struct Stages {
    CellRules rules;
    Image fitted; /* where the job fits tones */
    Grid face;
    Raised raised;
    Brickwork brickwork;
} Stages;

void candidate_ink(double difference, uint8_t rgb[3])
{
    /* White, yellow, red, dark red; chosen by eye, each darker than the last, so that it tells in
     * grey print, too. */
    static const uint8_t stop[4][3] = {{255, 255, 255}, {255, 214, 90}, {214, 62, 38}, {84, 6, 16}};
    const double at = fmin(3, fmax(0, 3 * difference / CANDIDATE_DARK));
    const int i = at < 3 ? (int)at : 2;
    for (int c = 0; c < 3; c++)
        rgb[c] = (uint8_t)lround(stop[i][c] + (at - i) * (stop[i + 1][c] - stop[i][c]));
}

/* ---- pictures ---- */

static Status thumb_init(Thumb *t, const Image *image, int *cells_out, Fault *fault)
{
    const int longer = image->columns > image->rows ? image->columns : image->rows;
    const int cells = (longer + CANDIDATE_PIXELS - 1) / CANDIDATE_PIXELS;
    *t = (Thumb){(image->columns + cells - 1) / cells, (image->rows + cells - 1) / cells, NULL};
    t->rgb = memory_create((size_t)t->columns * (size_t)t->rows, 3);
    *cells_out = cells;
    if (t->rgb) return STATUS_OK;
    return memory_fault(fault, (size_t)t->columns * (size_t)t->rows, 3);
}

static int lesser(int a, int b) { return a < b ? a : b; }

/* Calls for every pixel with the cells that it stands for. */
typedef void FillPixel(const void *what, int c0, int c1, int r0, int r1, uint8_t *rgb);

static void thumb_fill(Thumb *t, const Image *size, int cells, FillPixel *fill, const void *what)
{
    for (int y = 0; y < t->rows; y++)
        for (int x = 0; x < t->columns; x++) {
            const int r0 = (t->rows - 1 - y) * cells, c0 = x * cells;
            fill(what, c0, lesser(c0 + cells, size->columns), r0, lesser(r0 + cells, size->rows),
                 t->rgb + 3 * ((size_t)y * (size_t)t->columns + (size_t)x));
        }
}

static void mean_light(const void *what, int c0, int c1, int r0, int r1, uint8_t *rgb)
{
    const Image *view = what;
    Xyz sum = {0, 0, 0};
    for (int r = r0; r < r1; r++)
        for (int c = c0; c < c1; c++) {
            const Xyz xyz = image_at(view, c, r);
            sum.x += xyz.x, sum.y += xyz.y, sum.z += xyz.z;
        }
    const double n = (double)(c1 - c0) * (r1 - r0);
    const Xyz mean = {sum.x / n, sum.y / n, sum.z / n};
    srgb8_from_linear(linear_into_gamut(linear_from_xyz(mean)), rgb);
}

Status thumb_of_view(Thumb *thumb_out, const Image *image, const Brief *brief, Fault *fault)
{
    int cells;
    Image view = {0};
    const Viewpoint viewpoint = brief_viewpoint(brief);
    Status status = eye_view(image, &viewpoint, brief->threads, &view, fault);
    if (!status) status = thumb_init(thumb_out, image, &cells, fault);
    if (!status) thumb_fill(thumb_out, image, cells, mean_light, &view);
    image_clear(&view);
    return status;
}

/* Difference of each cell. */
typedef struct Seen {
    const float *cell;
    int columns, rows;
} Seen;

static double mean_difference(const Seen *seen, int c0, int c1, int r0, int r1)
{
    double sum = 0;
    for (int r = r0; r < r1; r++)
        for (int c = c0; c < c1; c++)
            sum += (double)seen->cell[(size_t)r * (size_t)seen->columns + (size_t)c];
    return sum / ((double)(c1 - c0) * (r1 - r0));
}

static void ink_difference(const void *what, int c0, int c1, int r0, int r1, uint8_t *rgb)
{
    candidate_ink(mean_difference(what, c0, c1, r0, r1), rgb);
}

/* ---- figures ---- */

static void find_worst(Candidate *v, const Seen *seen)
{
    v->worst = -1;
    for (int r = 0; r < seen->rows; r += BLOCK)
        for (int c = 0; c < seen->columns; c += BLOCK) {
            const int right = lesser(c + BLOCK, seen->columns),
                      above = lesser(r + BLOCK, seen->rows);
            const double mean = mean_difference(seen, c, right, r, above);
            if (mean <= v->worst) continue;
            v->worst = mean;
            v->worst_column = (c + right) / 2 + 1;
            v->worst_row = (r + above) / 2 + 1;
        }
}

static void count(Candidate *v, const Brickwork *b, const Parts *parts)
{
    v->columns = b->body.grid.columns;
    v->rows = b->body.grid.rows;
    v->colours = parts_colours(parts);
    v->bricks = (long)b->laying.laid.count;
    v->priced = parts->price > 0;
    v->price = parts->price;
    v->mass_kg = parts->mass_g / 1000;
    v->hours = (double)b->laying.laid.count / v->job.pace;
    v->holds = true;
    for (int i = 0; i < b->body.panels.count; i++)
        v->holds &= b->bond.panel[i].pieces == 1 && b->bond.panel[i].unsupported == 0;
}

static Status look_at_map(Candidate *v, const Grid *grid, const Viewpoint *viewpoint, int cells)
{
    const Image *image = &v->picture->image;
    const size_t all = (size_t)image->columns * (size_t)image->rows;
    float *cell = memory_create(all, sizeof *cell);
    if (!cell) return memory_fault(&v->fault, all, sizeof *cell);
    EyeResult result;
    const EyeOptions options = {
        .viewpoint = *viewpoint, .threads = v->brief.threads, .cell_out = cell};
    const Status status =
        eye_measure(image, &v->studio.palette, grid, &options, &result, &v->fault);
    if (!status) {
        const Seen seen = {cell, image->columns, image->rows};
        v->mean = result.mean;
        v->p95 = result.p95;
        find_worst(v, &seen);
        thumb_fill(&v->map, image, cells, ink_difference, &seen);
    }
    memory_free(cell);
    return status;
}

static Status look_at_view(Candidate *v, const Grid *grid, const Viewpoint *viewpoint, int cells)
{
    const EyeOptions options = {.viewpoint = *viewpoint, .threads = v->brief.threads};
    Image face = {0}, view = {0};
    Status status = eye_face(&v->studio.palette, grid, &face, &v->fault);
    if (!status) status = unrest_compare(&v->picture->image, &face, &options, v->unrest, &v->fault);
    if (!status) status = eye_view(&face, viewpoint, v->brief.threads, &view, &v->fault);
    if (!status) thumb_fill(&v->view, &view, cells, mean_light, &view);
    image_clear(&face);
    image_clear(&view);
    return status;
}

static Status look(Candidate *v, const Grid *grid)
{
    const Image *image = &v->picture->image;
    const Viewpoint viewpoint = brief_viewpoint(&v->brief);
    int cells;
    Status status = thumb_init(&v->map, image, &cells, &v->fault);
    if (!status) status = thumb_init(&v->view, image, &cells, &v->fault);
    if (!status) status = look_at_map(v, grid, &viewpoint, cells);
    return status ? status : look_at_view(v, grid, &viewpoint, cells);
}

/* ---- the stages ---- */

static const Image *target_of(const Candidate *v, const Stages *s)
{
    return target_choose(&v->job, &v->picture->image, &s->fitted);
}

static Status choose_colours(Candidate *v, Stages *s)
{
    const Grid none = {0};
    const bool ruled = cell_rules_wanted(&v->job);
    const RuleInput input = {&v->studio.palette, &v->studio.offered, &v->picture->frame, NULL};
    const Image *image = &v->picture->image;
    Status status =
        ruled ? cell_rules_read(&s->rules, &v->brief, &input, image, &v->fault) : STATUS_OK;
    if (!status && v->job.tone == TONE_FIT)
        status = target_fit(&s->fitted, &v->brief, &v->studio, image, &v->fault);
    const ColourTask task = {&v->brief, &v->studio, target_of(v, s), ruled ? &s->rules : NULL};
    return status ? status : face_colours_init(&s->face, &task, &none, &v->fault);
}

static Status raise_relief(Candidate *v, Stages *s)
{
    return raised_init(&s->raised, &v->brief, v->picture, &v->studio.palette, &s->face, &v->fault);
}

static Status lay_bricks(Candidate *v, Stages *s)
{
    const LayInputs inputs = {&v->studio, target_of(v, s), &s->face, s->raised.steps,
                              cell_rules_wanted(&v->job) ? &s->rules : NULL};
    return brickwork_init(&s->brickwork, &v->brief, &inputs, &v->fault);
}

/* What an offer and its pictures read of a mural. */
static Mural mural_of(const Candidate *v, const Brickwork *b, const Parts *parts)
{
    return (Mural){.job = &v->job,
                   .threads = v->brief.threads,
                   .palette = &v->studio.palette,
                   .sizes = &v->studio.sizes,
                   .grid = &b->body.grid,
                   .solid = b->body.solid,
                   .panels = &b->body.panels,
                   .laid = &b->laying.laid,
                   .parts = parts,
                   .cell_width_mm = brief_cell_width(&v->brief),
                   .cell_height_mm = brief_cell_height(&v->brief),
                   .step_mm = brief_step(&v->brief)};
}

static Status make_offer(Candidate *v, const Brickwork *b, const Parts *parts)
{
    Mural mural = mural_of(v, b, parts);
    const size_t panels = (size_t)mural.panels->count;
    PanelLoad *load = memory_create(panels, sizeof *load);
    if (!load) return memory_fault(&v->fault, panels, sizeof *load);
    measure_panels(&mural, load);
    mural.load = load;
    for (size_t i = 0; i < panels; i++) mural.measures.whole_kg += load[i].whole_kg;
    offer_reckon(&v->offer, &mural);
    memory_free(load);
    return face_picture_near(&v->near, &mural, OFFER_NEAR_CELLS,
                             offer_near_aspect(OFFER_OPTIONS, 1), &v->voice, &v->fault);
}

static Status keep_figures(Candidate *v, Stages *s)
{
    Parts parts = {0};
    Status status = brickwork_count(&parts, &v->brief, &v->studio, &s->brickwork, &v->fault);
    if (!status) count(v, &s->brickwork, &parts);
    if (!status) status = make_offer(v, &s->brickwork, &parts);
    parts_clear(&parts);
    if (!status) status = look(v, &s->brickwork.body.grid);
    const MissingSearch search = {&v->picture->image, &v->studio.palette, v->studio.offered.count,
                                  v->brief.threads, &v->voice};
    if (!status) status = missing_colour_find(&v->missing, &search, &v->fault);
    return status || !voice_stopped(&v->voice) ? status : brief_interrupted(&v->fault);
}

Status candidate_plan(Candidate *v)
{
    static Status (*const step[])(Candidate *, Stages *) = {choose_colours, raise_relief,
                                                            lay_bricks, keep_figures};
    Stages stages = {0};
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < sizeof step / sizeof *step; i++)
        status = voice_stopped(&v->voice) ? brief_interrupted(&v->fault) : step[i](v, &stages);
    brickwork_clear(&stages.brickwork);
    raised_clear(&stages.raised);
    grid_clear(&stages.face);
    cell_rules_clear(&stages.rules);
    image_clear(&stages.fitted);
    studio_clear(&v->studio);
    return v->status = status;
}

void candidate_clear(Candidate *v)
{
    studio_clear(&v->studio);
    memory_free(v->view.rgb);
    memory_free(v->map.rgb);
    memory_free(v->near.rgb);
    v->view.rgb = v->map.rgb = v->near.rgb = NULL;
}
