/* A panel is a rigid body: its weight acts at the centre of mass of its bricks, which is the mean
 * of the middles of their boxes, each counted by its mass. The moment about the back is what its
 * fixings must hold against, the moment about the front edge of the base what tips it.
 *
 * Source: elementary statics; how unevenly fixings share is in the header, from memory. */
#include "figures/statics.h"

static void add_moments(const Mural *m, PanelLoad *load)
{
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        const Panel *p = &m->panels->panel[b->panel];
        const double mass = m->sizes->size[b->size].mass_g;
        double *sum = load[b->panel].statics.centre_mm;
        sum[0] += mass * (b->column - p->column + 0.5 * b->columns) * m->cell_width_mm;
        sum[1] += mass * (b->row - p->row + 0.5 * b->rows) * m->cell_height_mm;
        sum[2] += mass * (b->tier + 0.5 * b->tiers) * m->step_mm;
    }
}

void statics_panels(const Mural *m, int fixings, PanelLoad *load)
{
    for (int i = 0; i < m->panels->count; i++) load[i].statics = (PanelStatics){0};
    add_moments(m, load);
    for (int i = 0; i < m->panels->count; i++) {
        PanelStatics *s = &load[i].statics;
        const double weight_n = load[i].mass_g / 1000 * STATICS_GRAVITY;
        for (int axis = 0; axis < 3 && load[i].mass_g > 0; axis++)
            s->centre_mm[axis] /= load[i].mass_g;
        const double edge_mm = m->solid.base * m->step_mm;
        s->hanging_nm = weight_n * s->centre_mm[2] / 1000;
        s->tipping_nm = weight_n * (s->centre_mm[2] - edge_mm) / 1000;
        s->fixing_n = STATICS_UNEVENNESS * weight_n / fixings;
    }
}
