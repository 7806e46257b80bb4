/* Lines break where they are full; widths and gaps are true millimetres. */
#include "show/wall_view.h"

#include <math.h>
#include <string.h>

#define WALLS_MM 1500.0    /* between two walls, as they are drawn */
#define OFF_FLOOR_MM 100.0 /* at least: our choice */

static double bottom_of(const Planned *p)
{
    return fmax(OFF_FLOOR_MM, EYE_LINE_MM - p->height_mm / 2);
}

/* Puts a mural beside those of the line, or first into an empty one. */
static void put_beside(WallView *v, WallLine *line, int mural, const Planned *p, bool opens)
{
    if (line->places) line->width_mm += opens ? WALLS_MM : WALL_GAP_MM;
    v->place[line->first + line->places++] =
        (WallPlace){mural, line->width_mm, bottom_of(p), opens};
    line->width_mm += p->width_mm;
    line->height_mm = fmax(line->height_mm, bottom_of(p) + p->height_mm);
}

/* Murals room by room, rooms in the order in which the first of each is hung: a room is hung in
 * several turns, but has its walls once. */
static void order_by_rooms(const Show *show, int *order)
{
    int hanging[SHOW_MURALS_MOST], count = 0;
    bool taken[SHOW_MURALS_MOST] = {false};
    show_hanging(show, hanging);
    for (int i = 0; i < show->count; i++)
        for (int k = taken[i] ? show->count : i; k < show->count; k++) {
            const char *room = show->mural[hanging[i]].room;
            if (taken[k] || strcmp(show->mural[hanging[k]].room, room) != 0) continue;
            order[count++] = hanging[k];
            taken[k] = true;
        }
}

void wall_view_lay_out(WallView *v, const Show *show, const Planned *planned, double most_mm)
{
    int order[SHOW_MURALS_MOST];
    order_by_rooms(show, order);
    *v = (WallView){.lines = 0};
    for (int i = 0; i < show->count; i++) {
        const Planned *p = &planned[order[i]];
        const bool opens = !i || strcmp(show->mural[order[i - 1]].room, p->mural->room) != 0;
        const double gap = opens ? WALLS_MM : WALL_GAP_MM;
        WallLine *line = v->lines ? &v->line[v->lines - 1] : NULL;
        const bool full = !line || line->width_mm + gap + p->width_mm > most_mm;
        if (full) {
            line = &v->line[v->lines++];
            *line = (WallLine){.first = i, .height_mm = EYE_LINE_MM};
        }
        put_beside(v, line, order[i], p, opens || full);
    }
}

static bool fits(const WallView *v, double scale, const double sheet_mm[2], double below_mm)
{
    double height = 0;
    for (int i = 0; i < v->lines; i++) {
        height += v->line[i].height_mm / scale + below_mm;
        if ((v->line[i].width_mm + WALL_GAP_MM) / scale > sheet_mm[0]) return false;
    }
    return height <= sheet_mm[1];
}

double wall_view_fit(WallView *v, const Show *show, const Planned *planned,
                     const double sheet_mm[2], double below_mm)
{
    static const double usual[] = {5,  10,  15,  20,  25,  30,  40,  50,  60,
                                   75, 100, 125, 150, 200, 250, 300, 400, 500};
    double scale = 0;
    for (size_t i = 0; i < sizeof usual / sizeof *usual; i++) {
        scale = usual[i];
        wall_view_lay_out(v, show, planned, scale * sheet_mm[0] - WALL_GAP_MM);
        if (fits(v, scale, sheet_mm, below_mm)) return scale;
    }
    while (scale < 1e6 && !fits(v, scale, sheet_mm, below_mm)) {
        scale *= 2;
        wall_view_lay_out(v, show, planned, scale * sheet_mm[0] - WALL_GAP_MM);
    }
    return scale;
}
