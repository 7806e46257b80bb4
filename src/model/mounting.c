/* Sheet and board weigh by their area, a frame by its run; each acts at the middle of its depth.
 * What they weigh is told by settings, whose common values are in model/job.c. */
#include "model/mounting.h"

static double area_m2(double width_mm, double height_mm) { return width_mm * height_mm / 1e6; }

static double edges_kg(const Mounting *m, double width_mm, double height_mm)
{
    return m->frame_kg_m * 2 * (width_mm + height_mm) / 1000 + m->fixings_kg;
}

double mounting_kg(const Mounting *m, double width_mm, double height_mm)
{
    return (m->sheet_kg_m2 + m->board_kg_m2) * area_m2(width_mm, height_mm) +
           edges_kg(m, width_mm, height_mm);
}

double mounting_moment(const Mounting *m, double width_mm, double height_mm)
{
    const double board = m->frame_mm + m->board_mm / 2;
    const double sheet = m->frame_mm + m->board_mm + m->sheet_mm / 2;
    return edges_kg(m, width_mm, height_mm) * m->frame_mm / 2 +
           area_m2(width_mm, height_mm) * (m->board_kg_m2 * board + m->sheet_kg_m2 * sheet);
}

double mounting_depth_mm(const Mounting *m) { return m->frame_mm + m->board_mm + m->sheet_mm; }
