/* Bricks are laid panel by panel, in a panel layer by layer, in a layer row by row, and stand in
 * that order in Laid; so a panel, a layer and a row are each a stretch of that list, found by
 * halving, and reading a layer row by row is one walk along it.
 *
 * A box never reaches beyond its window, and says on which sides its brick does. The runs of a row
 * cover every cell of it once: bricks that begin there, cells that bricks of earlier rows fill, and
 * cells that stay empty. */
#include "book/chart.h"

#include "base/memory.h"

#include <math.h>

/* The first brick that is not before (panel, layer), by halving. */
static size_t first_brick(const Mural *mural, int panel, int layer)
{
    const Laid *laid = mural->laid;
    const bool wall = chart_is_wall(mural);
    size_t low = 0, high = laid->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        const Brick *b = &laid->brick[middle];
        const int at = wall ? b->row : b->tier;
        if (b->panel < panel || (b->panel == panel && at < layer))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

void chart_panel(const Mural *mural, int panel, size_t *first, size_t *count)
{
    *first = first_brick(mural, panel, 0);
    *count = first_brick(mural, panel + 1, 0) - *first;
}

size_t chart_standing(const Mural *mural, size_t first, size_t count)
{
    size_t standing = 0;
    for (size_t i = first; i < first + count; i++) standing += mural_stands(mural, i);
    return standing;
}

bool chart_stands(const Mural *mural, int panel)
{
    size_t first, count;
    chart_panel(mural, panel, &first, &count);
    return count && chart_standing(mural, first, count) == count;
}

int chart_depth(const Mural *mural, int panel)
{
    const Panel *p = &mural->panels->panel[panel];
    if (!mural->grid->steps) return mural->solid.base;
    int most = 0;
    for (int row = p->row; row < p->row + p->rows; row++)
        for (int column = p->column; column < p->column + p->columns; column++) {
            const int top = solid_top(&mural->solid, column, row);
            if (top > most) most = top;
        }
    return most;
}

Plane chart_plane(const Mural *mural, int panel, int layer)
{
    const Panel *p = &mural->panels->panel[panel];
    Plane plane = {.mural = mural, .panel = p, .layer = layer, .us = p->columns};
    plane.vs = chart_is_wall(mural) ? chart_depth(mural, panel) : p->rows;
    plane.first = first_brick(mural, panel, layer);
    plane.count = first_brick(mural, panel, layer + 1) - plane.first;
    plane.brick = mural->laid->brick + plane.first;
    return plane;
}

static Box plane_box(const Plane *plane, size_t i)
{
    const Brick *b = &plane->brick[i];
    const bool wall = chart_is_wall(plane->mural);
    return (Box){.brick = plane->first + i,
                 .u = b->column - plane->panel->column,
                 .v = wall ? b->tier : b->row - plane->panel->row,
                 .us = b->columns,
                 .vs = wall ? b->tiers : b->rows};
}

/* Clips to the window; false if nothing is left. */
static bool clip_box(Box *box, Window w)
{
    const int right = box->u + box->us, high = box->v + box->vs;
    if (box->u >= w.u + w.us || right <= w.u || box->v >= w.v + w.vs || high <= w.v) return false;
    if (box->u < w.u) box->cut_left = true, box->u = w.u;
    if (box->v < w.v) box->cut_low = true, box->v = w.v;
    if (right > w.u + w.us) box->cut_right = true;
    if (high > w.v + w.vs) box->cut_high = true;
    box->us = (box->cut_right && right > w.u + w.us ? w.u + w.us : right) - box->u;
    box->vs = (box->cut_high && high > w.v + w.vs ? w.v + w.vs : high) - box->v;
    return true;
}

static Status add_box(Boxes *boxes, Box box, Window window, Fault *fault)
{
    if (!clip_box(&box, window)) return STATUS_OK;
    const Status status =
        memory_grow(&boxes->box, &boxes->capacity, boxes->count + 1, sizeof *boxes->box, fault);
    if (!status) boxes->box[boxes->count++] = box;
    return status;
}

Status chart_plane_boxes(Boxes *boxes, const Plane *plane, Window window, Fault *fault)
{
    boxes->count = 0;
    Status status = STATUS_OK;
    for (size_t i = 0; i < plane->count && !status; i++)
        status = add_box(boxes, plane_box(plane, i), window, fault);
    return status;
}

Status chart_below_boxes(Boxes *boxes, const Plane *plane, int panel, Window window, Fault *fault)
{
    const int first = chart_is_wall(plane->mural) ? plane->panel->row : 0;
    boxes->count = 0;
    if (plane->layer <= first) return STATUS_OK;
    const Plane lower = chart_plane(plane->mural, panel, plane->layer - 1);
    return chart_plane_boxes(boxes, &lower, window, fault);
}

Status chart_front_boxes(Boxes *boxes, const Mural *mural, int panel, Window window, Fault *fault)
{
    const Panel *p = &mural->panels->panel[panel];
    size_t first, count;
    boxes->count = 0;
    chart_panel(mural, panel, &first, &count);
    Status status = STATUS_OK;
    for (size_t i = first; i < first + count && !status; i++) {
        const Brick *b = &mural->laid->brick[i];
        const int front = b->tier + b->tiers;
        for (int from = b->column, to; from < b->column + b->columns && !status; from = to) {
            const bool seen = solid_top(&mural->solid, from, b->row) == front;
            for (to = from + 1; to < b->column + b->columns; to++)
                if ((solid_top(&mural->solid, to, b->row) == front) != seen) break;
            if (!seen) continue;
            const Box box = {.brick = i,
                             .u = from - p->column,
                             .v = b->row - p->row,
                             .us = to - from,
                             .vs = 1,
                             .cut_left = from > b->column,
                             .cut_right = to < b->column + b->columns};
            status = add_box(boxes, box, window, fault);
        }
    }
    return status;
}

bool boxes_stand(const Boxes *boxes, const Mural *mural)
{
    for (size_t i = 0; i < boxes->count; i++)
        if (!mural_stands(mural, boxes->box[i].brick)) return false;
    return boxes->count > 0;
}

void boxes_clear(Boxes *boxes)
{
    memory_free(boxes->box);
    *boxes = (Boxes){0};
}

Window chart_bounds(const Plane *plane)
{
    int left = plane->us, right = 0, low = plane->vs, high = 0;
    for (size_t i = 0; i < plane->count; i++) {
        const Box b = plane_box(plane, i);
        if (b.u < left) left = b.u;
        if (b.v < low) low = b.v;
        if (b.u + b.us > right) right = b.u + b.us;
        if (b.v + b.vs > high) high = b.v + b.vs;
    }
    return right > left ? (Window){left, low, right - left, high - low} : (Window){0};
}

static int parts_of(int whole, int most)
{
    if (most < 1) most = 1;
    return (whole + most - 1) / most;
}

/* A page is saved by smaller cells, but not by cells of less than half the width. */
#define WORTH_A_PAGE 0.50 /* of their width, at least: by eye */
#define NEAR_LEAST 1.05   /* cells that are this near the least are not made smaller */
#define ROUNDING 1e-9     /* so that a field that fits exactly is not cut for a rounding */

static int cells_within(double room, double cell) { return (int)(room / cell + ROUNDING); }

Split chart_split(const ChartArea *a)
{
    Split s = {.across = parts_of(a->us, cells_within(a->width, a->least))};
    s.us = parts_of(a->us, s.across);
    s.width = fmin(a->most, a->width / s.us);
    s.up = parts_of(a->vs, cells_within(a->height, s.width * a->aspect));
    const int fewer = parts_of(a->vs, cells_within(a->height, a->least * a->aspect));
    if (fewer < s.up && s.width > NEAR_LEAST * a->least) {
        const double fitting = a->height / (parts_of(a->vs, fewer) * a->aspect);
        if (fitting >= a->least && fitting >= WORTH_A_PAGE * s.width) {
            s.up = fewer;
            s.width = fmin(s.width, fitting);
        }
    }
    s.vs = parts_of(a->vs, s.up);
    s.height = s.width * a->aspect;
    return s;
}

/* ---- runs ---- */

Status runs_init(Runs *runs, const Plane *plane, Fault *fault)
{
    *runs = (Runs){.plane = plane, .v = -1};
    runs->filled = memory_create((size_t)plane->us, sizeof *runs->filled);
    return runs->filled ? STATUS_OK : memory_fault(fault, (size_t)plane->us, sizeof *runs->filled);
}

void runs_clear(Runs *runs)
{
    memory_free(runs->filled);
    memory_free(runs->run);
    *runs = (Runs){0};
}

/* Lengthens the last run where this is more of the same. */
static Status append_run(Runs *runs, Run run, Fault *fault)
{
    Run *last = runs->count ? &runs->run[runs->count - 1] : NULL;
    runs->bricks += run.count;
    runs->cells += run.cells;
    if (last && last->kind == run.kind && last->colour == run.colour && last->size == run.size &&
        last->upright == run.upright && last->u + last->cells == run.u) {
        last->cells += run.cells;
        last->count += run.count;
        return STATUS_OK;
    }
    const Status status =
        memory_grow(&runs->run, &runs->capacity, runs->count + 1, sizeof *runs->run, fault);
    if (!status) runs->run[runs->count++] = run;
    return status;
}

Status runs_next(Runs *runs, Fault *fault)
{
    const Plane *plane = runs->plane;
    const int v = ++runs->v;
    runs->count = 0;
    runs->bricks = runs->cells = runs->standing = 0;
    Status status = STATUS_OK;
    for (int u = 0; u < plane->us && !status;) {
        Box box = {0};
        if (runs->next < plane->count) box = plane_box(plane, runs->next);
        if (box.us && box.u == u && box.v == v) {
            const Brick *b = &plane->brick[runs->next++];
            runs->standing += mural_stands(plane->mural, box.brick);
            for (int i = u; i < u + box.us && i < plane->us; i++) runs->filled[i] = v + box.vs;
            status = append_run(
                runs, (Run){RUN_BRICKS, u, box.us, 1, b->colour, b->size, box.vs > box.us}, fault);
            u += box.us;
        } else {
            const RunKind kind = runs->filled[u] > v ? RUN_LAID : RUN_EMPTY;
            status = append_run(runs, (Run){kind, u, 1, 0, 0, 0, false}, fault);
            u++;
        }
    }
    return status;
}

/* ---- hanging ---- */

void chart_hanging(const Panels *panels, int *order_out)
{
    for (int nth = 0; nth < panels->count; nth++) order_out[panels_hung(panels, nth)] = nth + 1;
}
