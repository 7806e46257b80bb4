/* A panel is a rigid body: its weight acts at its centre of mass, which is the mean of the
 * middles of its parts, each counted by its mass. The moment about the wall is what its fixings
 * must hold against, the moment about the front edge of the base what tips it.
 *
 * Source: elementary statics; how unevenly fixings share is in the header, from memory. */
#include "figures/statics.h"

/* Kilograms times millimetres. */
static void add_moments(const Mural *m, double behind_mm, PanelLoad *load)
{
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        const Panel *p = &m->panels->panel[b->panel];
        const double kg = m->sizes->size[b->size].mass_g / 1000;
        double *sum = load[b->panel].statics.centre_mm;
        sum[0] += kg * (b->column - p->column + 0.5 * b->columns) * m->cell_width_mm;
        sum[1] += kg * (b->row - p->row + 0.5 * b->rows) * m->cell_height_mm;
        sum[2] += kg * (behind_mm + (b->tier + 0.5 * b->tiers) * m->step_mm);
    }
}

static void add_mounting(const Mural *m, const Mounting *mounting, const Panel *p, double *sum)
{
    const double width = p->columns * m->cell_width_mm, height = p->rows * m->cell_height_mm;
    const double kg = mounting_kg(mounting, width, height);
    sum[0] += kg * width / 2;
    sum[1] += kg * height / 2;
    sum[2] += mounting_moment(mounting, width, height);
}

void statics_panels(const Mural *m, const Mounting *mounting, int fixings, PanelLoad *load)
{
    const double behind_mm = mounting_depth_mm(mounting);
    for (int i = 0; i < m->panels->count; i++) load[i].statics = (PanelStatics){0};
    add_moments(m, behind_mm, load);
    for (int i = 0; i < m->panels->count; i++) {
        PanelStatics *s = &load[i].statics;
        const double weight_n = load[i].whole_kg * STATICS_GRAVITY;
        add_mounting(m, mounting, &m->panels->panel[i], s->centre_mm);
        for (int axis = 0; axis < 3 && load[i].whole_kg > 0; axis++)
            s->centre_mm[axis] /= load[i].whole_kg;
        const double edge_mm = behind_mm + m->solid.base * m->step_mm;
        s->hanging_nm = weight_n * s->centre_mm[2] / 1000;
        s->tipping_nm = weight_n * (s->centre_mm[2] - edge_mm) / 1000;
        s->fixing_n = STATICS_UNEVENNESS * weight_n / fixings;
    }
}
