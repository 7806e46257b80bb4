/* Two images of the lit face are made, one pixel a cell, and compared as the eye compares faces.
 * Lowered cells hand their place on to cells around them, nearest first, so that every difference
 * has one. */
#include "figures/relief_losses.h"

#include "base/bands.h"
#include "base/memory.h"
#include "eye/eye.h"
#include "figures/measure.h"
#include "figures/raking_light.h"
#include "layers/geodesic.h"
#include "layers/label_pieces.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BAND_ROWS = 4 };

/* CIEDE2000 below which two colours are taken for one. Common practice, no source. */
#define JUST_SEEN 1.0

typedef struct Losing {
    const Mural *mural;
    ReliefLosses *losses;
    uint8_t *asked;     /* steps */
    uint8_t *label;     /* the layer of lowered cells, LABEL_NONE of all others */
    LabelPieces pieces; /* of these: of[] is a cell's piece, later that nearest to it */
    float *difference;  /* of each cell, CIEDE2000 */
    size_t *place;      /* of each piece, among the losses */
    Fault *fault;
} Losing;

static size_t cells_of(const Losing *l) { return grid_cells(l->mural->grid); }

/* ---- places ---- */

static Status find_places(Losing *l)
{
    const Mural *m = l->mural;
    const size_t cells = cells_of(l);
    l->asked = memory_create(cells, 1);
    l->label = memory_create(cells, 1);
    if (!l->asked || !l->label) return memory_fault(l->fault, cells, 1);
    memcpy(l->asked, m->grid->steps, cells);
    memset(l->label, LABEL_NONE, cells);
    for (size_t i = 0; i < m->step_changes->count; i++) {
        const StepChange *c = &m->step_changes->change[i];
        const size_t cell = (size_t)c->row * (size_t)m->grid->columns + (size_t)c->column;
        if (c->to >= c->from) continue;
        l->asked[cell] = c->from;
        l->label[cell] = m->subject ? m->subject->label[cell] : 0;
    }
    return label_pieces_init(&l->pieces, l->label, l->label, m->grid->columns, m->grid->rows,
                             l->fault);
}

/* The lowest course of a panel stands on the ground, and holds what is loose from above. */
static bool in_lowest_course(const Mural *m, int column, int row)
{
    return m->panels->panel[panels_at(m->panels, column, row)].row == row;
}

static void count_cell(Losing *l, size_t cell, ReliefLoss *loss)
{
    const Mural *m = l->mural;
    const int columns = m->grid->columns;
    const int column = (int)(cell % (size_t)columns), row = (int)(cell / (size_t)columns);
    const int lost = l->asked[cell] - m->grid->steps[cell];
    loss->cells++;
    loss->steps += lost;
    if (lost <= loss->asked - loss->stands) return;
    loss->asked = l->asked[cell];
    loss->stands = m->grid->steps[cell];
    loss->column = column;
    loss->row = row;
    loss->loose = in_lowest_course(m, column, row);
    loss->below = row > 0 ? m->grid->steps[cell - (size_t)columns] : 0;
}

static Status count_places(Losing *l)
{
    ReliefLosses *all = l->losses;
    l->place = memory_create(l->pieces.count, sizeof *l->place);
    all->place = memory_create(l->pieces.count, sizeof *all->place);
    if (!l->place || !all->place)
        return memory_fault(l->fault, l->pieces.count, sizeof *all->place);
    for (size_t i = 0; i < l->pieces.count; i++) {
        if (l->pieces.piece[i].label == LABEL_NONE) continue;
        l->place[i] = all->places;
        all->place[all->places++] = (ReliefLoss){.label = l->pieces.piece[i].label, .places = 1};
    }
    for (size_t i = 0; i < cells_of(l); i++)
        if (l->label[i] != LABEL_NONE) count_cell(l, i, &all->place[l->place[l->pieces.of[i]]]);
    const double grams = unit_grams(l->mural->sizes);
    for (size_t i = 0; i < all->places; i++)
        all->place[i].mass_g = (double)all->place[i].steps * grams;
    return STATUS_OK;
}

/* ---- the look ---- */

typedef struct Lighting {
    const Mural *mural;
    const RakingLight *light;
    Image *lit;
} Lighting;

/* The light on the middle of each cell. */
static void light_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Lighting *l = context;
    const Mural *m = l->mural;
    const LitFace *face = &l->light->face;
    static const double level[2] = {0, 0};
    for (int row = begin; row < end; row++)
        for (int column = 0; column < face->columns; column++) {
            const size_t cell = (size_t)row * (size_t)face->columns + (size_t)column;
            const double point[3] = {(column + 0.5) * face->cell_width,
                                     (row + 0.5) * face->cell_height, (double)face->height[cell]};
            const double f = raking_light_at(l->light, column, row, point, level);
            const Xyz xyz = m->palette->colour[grid_colour(m->grid, column, row)].xyz;
            float *out = l->lit->xyz + 3 * cell;
            out[0] = (float)(f * xyz.x);
            out[1] = (float)(f * xyz.y);
            out[2] = (float)(f * xyz.z);
        }
}

/* The face at such steps, lit. */
static Status light_face(const Mural *m, const uint8_t *steps, Image *lit, Fault *fault)
{
    const size_t cells = grid_cells(m->grid);
    float *height = memory_create(cells, sizeof *height);
    RakingLight light = {0};
    RakingLightOptions options = RAKING_LIGHT_OPTIONS_DEFAULT;
    options.angle = m->job->light_angle;
    options.height = m->job->light_height;
    Status status = image_init(lit, m->grid->columns, m->grid->rows, fault);
    if (!status && !height) status = memory_fault(fault, cells, sizeof *height);
    for (size_t i = 0; !status && i < cells; i++)
        height[i] = (float)((m->solid.base + steps[i]) * m->step_mm);
    const LitFace face = {.columns = m->grid->columns,
                          .rows = m->grid->rows,
                          .cell_width = m->cell_width_mm,
                          .cell_height = m->cell_height_mm,
                          .height = height};
    if (!status) status = raking_light_init(&light, &face, &options, fault);
    Lighting lighting = {m, &light, lit};
    if (!status) bands_run(m->threads, m->grid->rows, BAND_ROWS, light_rows, &lighting);
    raking_light_clear(&light);
    memory_free(height);
    return status;
}

static Status compare_faces(Losing *l)
{
    const Mural *m = l->mural;
    Image asked = {0}, stands = {0};
    EyeResult result;
    l->difference = memory_create(cells_of(l), sizeof *l->difference);
    Status status =
        l->difference ? STATUS_OK : memory_fault(l->fault, cells_of(l), sizeof *l->difference);
    if (!status) status = light_face(m, l->asked, &asked, l->fault);
    if (!status) status = light_face(m, m->grid->steps, &stands, l->fault);
    const EyeOptions eye = {.viewpoint = {m->cell_width_mm, m->cell_height_mm, m->job->distance},
                            .threads = m->threads,
                            .cell_out = l->difference};
    if (!status) status = eye_compare(&asked, &stands, &eye, &result, l->fault);
    image_clear(&asked);
    image_clear(&stands);
    return status;
}

/* Takes cell `to` for the piece of `from`, if it has none. */
static size_t hand_on(Losing *l, size_t from, size_t to, size_t last)
{
    if (l->label[to] != LABEL_NONE) return last;
    l->label[to] = l->label[from];
    l->pieces.of[to] = l->pieces.of[from];
    l->pieces.queue[last] = (uint32_t)to;
    return last + 1;
}

/* Each difference to the place that is fewest steps from cell to cell away. */
static void share_look(Losing *l)
{
    const size_t width = (size_t)l->mural->grid->columns, rows = (size_t)l->mural->grid->rows;
    uint32_t *queue = l->pieces.queue;
    size_t first = 0, last = 0;
    for (size_t i = 0; i < cells_of(l); i++)
        if (l->label[i] != LABEL_NONE) queue[last++] = (uint32_t)i;
    while (first < last) {
        const size_t cell = queue[first++], column = cell % width, row = cell / width;
        const double seen = (double)l->difference[cell];
        if (seen >= JUST_SEEN) l->losses->place[l->place[l->pieces.of[cell]]].look += seen;
        if (column > 0) last = hand_on(l, cell, cell - 1, last);
        if (column + 1 < width) last = hand_on(l, cell, cell + 1, last);
        if (row > 0) last = hand_on(l, cell, cell - width, last);
        if (row + 1 < rows) last = hand_on(l, cell, cell + width, last);
    }
}

/* ---- ranks ---- */

static int by_amount(double one, double other, const ReliefLoss *a, const ReliefLoss *b)
{
    if (one != other) return one > other ? -1 : 1;
    if (a->row != b->row) return a->row - b->row;
    return a->column - b->column;
}

static int by_look(const void *one, const void *other)
{
    const ReliefLoss *a = one, *b = other;
    return by_amount(a->look, b->look, a, b);
}

static int by_mass(const void *one, const void *other)
{
    const ReliefLoss *a = one, *b = other;
    return by_amount(a->mass_g, b->mass_g, a, b);
}

static void rank(ReliefLoss *loss, size_t count)
{
    qsort(loss, count, sizeof *loss, by_look);
    for (size_t i = 0; i < count; i++) loss[i].by_look = (int)i + 1;
    qsort(loss, count, sizeof *loss, by_mass);
    for (size_t i = 0; i < count; i++) loss[i].by_mass = (int)i + 1;
}

static void add_up_layers(ReliefLosses *all)
{
    for (size_t i = 0; i < all->places; i++) {
        const ReliefLoss *place = &all->place[i];
        int at = 0;
        while (at < all->layers && all->layer[at].label != place->label) at++;
        ReliefLoss *layer = &all->layer[at];
        if (at == all->layers) {
            *layer = *place; /* the heaviest, whose cell stands for the layer */
            all->layers++;
            continue;
        }
        layer->places++;
        layer->cells += place->cells;
        layer->steps += place->steps;
        layer->mass_g += place->mass_g;
        layer->look += place->look;
    }
    rank(all->layer, (size_t)all->layers);
}

/* ---- the whole ---- */

Status relief_losses_init(ReliefLosses *losses, const Mural *mural, Fault *fault)
{
    Losing l = {.mural = mural, .losses = losses, .fault = fault};
    *losses = (ReliefLosses){0};
    if (!mural->step_changes || !mural->step_changes->lowered) return STATUS_OK;
    if (mural->solid.build != BUILD_WALL) return STATUS_OK; /* there cells are lowered on demand */
    Status status = find_places(&l);
    if (!status) status = count_places(&l);
    if (!status) status = compare_faces(&l);
    if (!status) {
        share_look(&l);
        rank(losses->place, losses->places);
        add_up_layers(losses);
    }
    memory_free(l.asked);
    memory_free(l.label);
    memory_free(l.difference);
    memory_free(l.place);
    label_pieces_clear(&l.pieces);
    return status;
}

void relief_losses_clear(ReliefLosses *losses)
{
    memory_free(losses->place);
    *losses = (ReliefLosses){0};
}

/* ---- in words ---- */

void relief_loss_name(const Mural *mural, const ReliefLoss *loss, char *text, size_t size)
{
    if (mural->subject)
        snprintf(text, size, "layer %s", mural->subject->list.layer[loss->label].name);
    else
        snprintf(text, size, "relief");
}

void relief_loss_reason(const ReliefLoss *loss, char *text, size_t size)
{
    if (loss->loose)
        snprintf(text, size,
                 "%d steps were asked for in a panel's lowest course and %d are held by what is "
                 "above; raise the cells above it, or begin the panel elsewhere",
                 loss->asked, loss->stands);
    else
        snprintf(text, size,
                 "%d steps were asked for over %d and %d can be carried; raise the cells below it, "
                 "or let it rise more slowly",
                 loss->asked, loss->below, loss->stands);
}
