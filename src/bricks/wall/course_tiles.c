/* One course as an exact cover, priced by its bond.
 *
 * Idea. Seen on plan a course is like a tier of a plaque: units that show a colour, and units
 * behind them that are free. It is tiled like one, so that bricks go as deep as the wall does. What
 * the neighbours ask for is the price of a place, and of a line that nothing crosses
 * (course_prices.h). What units are worth is found once a course, without those prices: it bounds
 * the course, and guides every search of it. A course falls into regions, each tiled by itself; a
 * line is paid for by the largest region that spans it, which comes last and sees what others have
 * across.
 *
 * Invariants. What is laid fills the course, and is no dearer than the laying that was there.
 *
 * Source. The tiler's own (tiling/tiling_solver.c). */
#include "bricks/wall/course_tiles.h"

#include "base/memory.h"
#include "bricks/tiling/components.h"
#include "bricks/tiling/tiling_solver.h"

#include <string.h>

/* ---- as a field ---- */

/* A course cut into regions. */
typedef struct CourseField {
    TileField field;
    uint8_t *label;
    Components components;
} CourseField;

static void course_field_clear(CourseField *f)
{
    memory_free(f->label);
    components_clear(&f->components);
}

static Status course_field_init(CourseField *f, const Corbel *corbel, Fault *fault)
{
    const size_t units = (size_t)corbel->panel->columns * (size_t)corbel->depth;
    *f = (CourseField){.label = memory_create(units, 1)};
    if (!f->label) return memory_fault(fault, units, 1);
    for (size_t i = 0; i < units; i++) {
        const int16_t hue = corbel->hue[i];
        f->label[i] = hue == HUE_NONE   ? (uint8_t)TILE_EMPTY
                      : hue == HUE_FREE ? (uint8_t)TILE_FREE
                                        : (uint8_t)hue;
    }
    f->field =
        (TileField){.columns = corbel->panel->columns, .rows = corbel->depth, .label = f->label};
    const Status status = components_init(&f->components, &f->field, NULL, fault);
    if (status) course_field_clear(f);
    return status;
}

static Status field_region(Region *region, const CourseField *f, int32_t index,
                           const Shapes *shapes, Fault *fault)
{
    const Component *c = &f->components.component[index];
    return region_init(region, &f->field, f->components.cell + c->begin, c->cells, shapes, fault);
}

static Status bound_region(CourseWorth *worth, const Region *r, double effort, const Voice *voice,
                           Fault *fault)
{
    int64_t least = 0;
    int32_t *own = memory_create((size_t)r->cells, sizeof *own);
    if (!own) return memory_fault(fault, (size_t)r->cells, sizeof *own);
    const Status status = tiling_solve_bound(&least, own, r, effort, voice, fault);
    for (int32_t i = 0; i < r->cells; i++) worth->dual[r->cell[i]] = own[i];
    memory_free(own);
    worth->least += (double)least / SHAPE_ONE;
    return status;
}

Status course_tiles_bound(CourseWorth *worth_out, const Corbel *corbel, const Shapes *shapes,
                          double effort, const Voice *voice, Fault *fault)
{
    CourseField f;
    worth_out->least = 0;
    Status status = course_field_init(&f, corbel, fault);
    if (status) return status;
    for (int32_t i = 0; i < f.components.count && !status; i++) {
        Region region;
        status = field_region(&region, &f, i, shapes, fault);
        if (status) break;
        status = bound_region(worth_out, &region, effort, voice, fault);
        region_clear(&region);
    }
    course_field_clear(&f);
    return status;
}

/* ---- laying ---- */

/* A course while it is laid. */
typedef struct CourseLay {
    const CourseTask *task;
    CourseField field;
    ProfileDp *dp;
    const Course *before; /* its bricks as they were */
    Course out;
    int stuck;      /* -1, or a column that could not be filled */
    int32_t *payer; /* columns: the region that pays for the line at its left edge */
    int32_t *line;  /* columns: what the region in hand pays */
    bool *crossed;  /* columns: a brick of `out` crosses the line */
} CourseLay;

/* One region of it. */
typedef struct RegionLay {
    Region region;
    int32_t *dual;   /* by cell */
    int32_t *tiling; /* as it was laid, or not whole */
    bool whole;
} RegionLay;

/* The cell of the region, whose frame is turned, at a place of the field, or -1: cells ascend by
 * column, then tier. */
static int32_t cell_of(const Region *r, int columns, int column, int tier)
{
    int32_t low = 0, high = r->cells - 1;
    while (low <= high) {
        const int32_t middle = (low + high) / 2, at = r->cell[middle];
        if (at % columns == column && at / columns == tier) return middle;
        if (at % columns < column || (at % columns == column && at / columns < tier))
            low = middle + 1;
        else
            high = middle - 1;
    }
    return -1;
}

/* Takes the bricks that lie in the region over as its tiling. */
static void recall(const CourseLay *c, RegionLay *lay)
{
    const Region *r = &lay->region;
    int32_t covered = 0;
    for (int32_t i = 0; i < r->cells; i++) {
        lay->dual[i] = c->task->dual[r->cell[i]];
        lay->tiling[i] = -1;
    }
    for (size_t k = 0; k < c->before->count; k++) {
        const CourseBrick *b = &c->before->brick[k];
        const int32_t i = cell_of(r, c->field.field.columns, b->column, b->tier);
        if (i < 0) continue;
        for (int32_t p = r->first[i]; p < r->first[i + 1]; p++) {
            const Shape *s = &r->shapes->shape[r->shape[p]];
            if (s->columns != b->columns || s->rows != b->tiers) continue;
            lay->tiling[i] = p;
            covered += s->columns * s->rows;
        }
    }
    lay->whole = covered == r->cells;
}

static Status take_bricks(CourseLay *c, const Region *r, const int32_t *tiling, Fault *fault)
{
    const int columns = c->field.field.columns;
    Status status = STATUS_OK;
    for (int32_t i = 0; i < r->cells && !status; i++) {
        if (tiling[i] < 0) continue;
        const Shape *s = &r->shapes->shape[r->shape[tiling[i]]];
        const CourseBrick brick = {(int16_t)(r->cell[i] % columns), (int16_t)(r->cell[i] / columns),
                                   s->columns, s->rows, s->size};
        if (s->size == SHAPE_BARE && c->stuck < 0) c->stuck = brick.column;
        for (int x = 1; x < brick.columns; x++) c->crossed[brick.column + x] = true;
        status = course_add(&c->out, &brick, fault);
    }
    return status;
}

static Status search_region(CourseLay *c, RegionLay *lay, Fault *fault)
{
    const TilingSearch search = {
        .dual = lay->dual, .start = lay->whole ? lay->tiling : NULL, .most = c->task->most};
    TilingSolution solution;
    Status status = tiling_solve_priced(&solution, &lay->region, c->dp, &search, fault);
    if (!status) status = take_bricks(c, &lay->region, solution.tiling, fault);
    tiling_solution_clear(&solution);
    return status;
}

static Status lay_region(CourseLay *c, int32_t index, Fault *fault)
{
    RegionLay lay = {0};
    for (int x = 1; x < c->field.field.columns; x++)
        c->line[x] = c->payer[x] == index && !c->crossed[x] ? c->task->prices->line[x] : 0;
    Status status = field_region(&lay.region, &c->field, index, c->task->shapes, fault);
    if (status) return status;
    const size_t cells = (size_t)lay.region.cells;
    lay.dual = memory_create(cells, sizeof *lay.dual);
    lay.tiling = memory_create(cells, sizeof *lay.tiling);
    if (lay.dual && lay.tiling) {
        recall(c, &lay);
        status = search_region(c, &lay, fault);
    } else {
        status = memory_fault(fault, cells, sizeof *lay.dual);
    }
    memory_free(lay.dual);
    memory_free(lay.tiling);
    region_clear(&lay.region);
    return status;
}

/* Who pays for each line: regions that are larger come later, and go over those before. */
static void find_payers(CourseLay *c, int32_t *region)
{
    const Components *parts = &c->field.components;
    const int columns = c->field.field.columns, tiers = c->field.field.rows;
    for (int i = 0; i < columns * tiers; i++) region[i] = parts->count;
    for (int32_t k = 0; k < parts->count; k++)
        for (int32_t i = 0; i < parts->component[k].cells; i++)
            region[parts->cell[parts->component[k].begin + i]] = k;
    for (int x = 1; x < columns; x++) {
        c->payer[x] = parts->count;
        for (int tier = 0; tier < tiers; tier++) {
            const int32_t *here = region + tier * columns + x;
            if (here[0] == here[-1] && here[0] < c->payer[x]) c->payer[x] = here[0];
        }
    }
}

static Status lay_regions(CourseLay *c, int32_t *region, Fault *fault)
{
    const TilePrices priced = {c->task->prices, course_prices_of, c->task->prices->bed->step};
    const Course *kept = c->task->kept;
    Status status = course_copy(&c->out, kept, fault);
    for (size_t i = 0; i < kept->count; i++)
        for (int x = 1; x < kept->brick[i].columns; x++)
            c->crossed[kept->brick[i].column + x] = true;
    find_payers(c, region);
    c->field.field.prices = &priced;
    c->field.field.line = c->line;
    for (int32_t i = c->field.components.count - 1; i >= 0 && !status; i--)
        status = lay_region(c, i, fault);
    return status;
}

Status course_tiles_lay(Course *course, const CourseTask *task, ProfileDp *dp, int *stuck_out,
                        Fault *fault)
{
    CourseLay c = {.task = task, .dp = dp, .before = course, .stuck = -1};
    Status status = course_field_init(&c.field, task->prices->bed->corbel, fault);
    if (status) return status;
    const size_t columns = (size_t)c.field.field.columns;
    const size_t units = columns * (size_t)c.field.field.rows;
    int32_t *region = memory_create(units, sizeof *region);
    c.payer = memory_create(columns, sizeof *c.payer);
    c.line = memory_create(columns, sizeof *c.line);
    c.crossed = memory_create(columns, sizeof *c.crossed);
    status = region && c.payer && c.line && c.crossed ? lay_regions(&c, region, fault)
                                                      : memory_fault(fault, units, sizeof *region);
    if (!status) status = course_copy(course, &c.out, fault);
    *stuck_out = c.stuck;
    memory_free(region);
    memory_free(c.payer);
    memory_free(c.line);
    memory_free(c.crossed);
    course_clear(&c.out);
    course_field_clear(&c.field);
    return status;
}
