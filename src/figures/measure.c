/* Means and the greatest come from one pass of the eye with no blur; the percentile needs the
 * differences in order, and two counts over the halves of their bits order them enough, in time
 * that grows with the cells and memory that does not.
 *
 * Differences are floats not below 0, whose bits rise with their values (IEEE 754-2019, 3.4). The
 * 95th percentile is by nearest rank: the least difference that 95 % of the cells do not pass. */
#include "figures/measure.h"

#include "base/memory.h"
#include "eye/eye.h"

#include <math.h>
#include <string.h>

/* The value of this rank, from 0, among values not below 0: their bits are in the order
 * of the values, so two counts, of the upper half and then of the lower, find it. */
static Status value_of_rank(const float *value, size_t count, size_t rank, float *out, Fault *fault)
{
    enum { HALVES = 1 << 16 };
    size_t *bin = memory_create(HALVES, sizeof *bin);
    if (!bin) return memory_fault(fault, HALVES, sizeof *bin);
    uint32_t bits, found[2] = {0, 0};
    for (int half = 0; half < 2; half++) {
        memset(bin, 0, HALVES * sizeof *bin);
        for (size_t i = 0; i < count; i++) {
            memcpy(&bits, &value[i], sizeof bits);
            if (half == 0)
                bin[bits >> 16]++;
            else if (bits >> 16 == found[0])
                bin[bits & 0xffff]++;
        }
        while (rank >= bin[found[half]]) rank -= bin[found[half]++];
    }
    bits = found[0] << 16 | found[1];
    memcpy(out, &bits, sizeof bits);
    memory_free(bin);
    return STATUS_OK;
}

Status measure_cells(const Image *image, const Image *face, int threads, const Voice *voice,
                     Measures *measures, Fault *fault)
{
    const size_t cells = (size_t)image->columns * (size_t)image->rows;
    const Viewpoint at_the_face = {1.0, 1.0, 0.0};
    float *difference = memory_create(cells, sizeof *difference);
    if (!difference) return memory_fault(fault, cells, sizeof *difference);
    EyeResult seen;
    float p95;
    const EyeOptions eye = {
        .viewpoint = at_the_face, .threads = threads, .voice = voice, .cell_out = difference};
    Status status = eye_compare(image, face, &eye, &seen, fault);
    if (!status)
        status =
            value_of_rank(difference, cells, (size_t)ceil(0.95 * (double)cells) - 1, &p95, fault);
    if (!status) {
        measures->mean_de00 = seen.mean;
        measures->p95_de00 = (double)p95;
        measures->max_de00 = seen.max;
    }
    memory_free(difference);
    return status;
}

static bool is_header(const Mural *m, const Brick *b)
{
    return b->tiers > 1 && (b->tiers > b->columns || b->tiers >= m->solid.base);
}

/* Of a wall, whose bricks stand course by course in each panel. */
static void count_headers(const Mural *m, PanelLoad *load)
{
    const Brick *before = NULL;
    for (int i = 0; i < m->panels->count; i++) load[i].bare_courses = m->panels->panel[i].rows;
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        if (!is_header(m, b)) continue;
        load[b->panel].headers++;
        if (!before || before->panel != b->panel || before->row != b->row)
            load[b->panel].bare_courses--;
        before = b;
    }
}

void measure_panels(const Mural *m, PanelLoad *load)
{
    const Mounting mounting = job_mounting(m->job);
    for (int i = 0; i < m->panels->count; i++) load[i] = (PanelLoad){0};
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        load[b->panel].bricks++;
        load[b->panel].mass_g += m->sizes->size[b->size].mass_g;
    }
    if (m->solid.build == BUILD_WALL) count_headers(m, load);
    for (int row = 0; row < m->grid->rows; row++)
        for (int column = 0; column < m->grid->columns; column++) {
            PanelLoad *l = &load[panels_at(m->panels, column, row)];
            const int top = solid_top(&m->solid, column, row);
            if (top > l->depth) l->depth = top;
        }
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        load[i].whole_kg =
            load[i].mass_g / 1000 +
            mounting_kg(&mounting, p->columns * m->cell_width_mm, p->rows * m->cell_height_mm);
        load[i].whole_depth_mm = mounting_depth_mm(&mounting) + load[i].depth * m->step_mm;
    }
}

double unit_grams(const Sizes *sizes)
{
    const Size *largest = &sizes->size[0];
    for (int i = 1; i < sizes->count; i++)
        if (sizes->size[i].width * sizes->size[i].length > largest->width * largest->length)
            largest = &sizes->size[i];
    return largest->mass_g / (largest->width * largest->length);
}
