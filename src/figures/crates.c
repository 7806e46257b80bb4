/* Panels go into crates in the order of hanging, as many to a crate as the job allows by number and
 * by packed mass: what is opened first on site is hung first. One panel always goes in, however
 * heavy, so that every panel travels.
 *
 * A crate is the box around its panels, padding on every side, its sides sorted by length, since it
 * may be turned. Constants and their sources are in the header. */
#include "figures/crates.h"

#include <math.h>

static void swap_if(double *a, double *b)
{
    if (*a <= *b) return;
    const double keep = *a;
    *a = *b;
    *b = keep;
}

static double box_kg(double width_mm, double height_mm, double depth_mm)
{
    const double faces_m2 =
        2.0 * (width_mm * height_mm + width_mm * depth_mm + height_mm * depth_mm) / 1e6;
    return faces_m2 * CRATE_PLYWOOD_MM / 1000.0 * CRATE_PLYWOOD_KG_M3;
}

/* What stands in a crate, before its packing. */
typedef struct Load {
    double width, height, depth, kg;
} Load;

static Load add_panel(Load load, const Mural *m, int panel)
{
    const Panel *p = &m->panels->panel[panel];
    if (load.depth > 0.0) load.depth += CRATE_BOARD_MM;
    load.width = fmax(load.width, p->columns * m->cell_width_mm);
    load.height = fmax(load.height, p->rows * m->cell_height_mm);
    load.depth += m->load[panel].whole_depth_mm;
    load.kg += m->load[panel].whole_kg;
    return load;
}

static Crate pack(const Load *load, double packing)
{
    const double wrap = 2.0 * packing;
    Crate c = {.side_mm = {load->width + wrap, load->height + wrap, load->depth + wrap},
               .panels_kg = load->kg};
    double *s = c.side_mm;
    c.packed_kg = load->kg * (1.0 + CRATE_MASS_OFF) + box_kg(s[0], s[1], s[2]);
    swap_if(&s[0], &s[1]);
    swap_if(&s[1], &s[2]);
    swap_if(&s[0], &s[1]);
    return c;
}

Crate crate_from(const Mural *m, int first)
{
    Load load = add_panel((Load){0}, m, panels_hung(m->panels, first));
    Crate crate = pack(&load, m->job->packing);
    int panels = 1;
    while (first + panels < m->panels->count && panels < m->job->crate_panels) {
        load = add_panel(load, m, panels_hung(m->panels, first + panels));
        const Crate fuller = pack(&load, m->job->packing);
        if (fuller.packed_kg > m->job->crate_mass) break;
        crate = fuller;
        panels++;
    }
    crate.first = first;
    crate.panels = panels;
    return crate;
}
