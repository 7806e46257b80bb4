/* Panel scene: a plan's panel as it would lie on a table, brick by brick, right or with faults that
 * are planted, for the tests' camera. It is drawn from the list of bricks; a relief stands out, and
 * two lamps at 45 degrees throw its shadows. A missing brick shows the sheet. */
#ifndef ROWLOCK_TESTS_PANEL_SCENE_H
#define ROWLOCK_TESTS_PANEL_SCENE_H

#include "colour/delta_e.h"
#include "plan/plan_reader.h"
#include "support/camera.h"
#include "support/chance.h"

typedef enum PlantedKind { PLANTED_COLOUR, PLANTED_MISSING, PLANTED_SHIFTED } PlantedKind;

typedef struct Planted {
    PlantedKind kind;
    size_t brick;      /* of the plan's */
    int colour;        /* that it has instead */
    int right, up;     /* cells that it is off by */
    double difference; /* CIEDE2000 of the wrong colour */
} Planted;

enum { PLANTED_MOST = 32 };

typedef struct PanelScene {
    Scene scene;
    const EarlierPlan *plan;
    const Panel *panel;
    double cell_height; /* cell widths */
    double margin;      /* cell widths of table around the panel */
    int rows;           /* that are built */
    int planted_count;
    Planted planted[PLANTED_MOST];
    int colour[PALETTE_MOST], sheet, seam; /* surfaces */
    int *shown;                            /* rows x columns: the surface of each cell */
} PanelScene;

/* The base sheet, Lab. */
static const Lab panel_sheet = {58, -3, 8};

static inline void panel_scene_clear(PanelScene *s)
{
    scene_clear(&s->scene);
    free(s->shown);
    s->shown = NULL;
}

/* A box of cells, of the mural. */
static inline void panel_box(PanelScene *s, const int box[4], int surface)
{
    const double x = s->margin + box[0] - s->panel->column;
    const double y = s->margin + (box[1] - s->panel->row) * s->cell_height;
    scene_rectangle(&s->scene, x, y, x + box[2], y + box[3] * s->cell_height, s->seam);
    scene_rectangle(&s->scene, x + 0.03, y + 0.03, x + box[2] - 0.03,
                    y + box[3] * s->cell_height - 0.03, surface);
    for (int i = 0; i < box[2] * box[3]; i++) {
        const int column = box[0] - s->panel->column + i % box[2];
        const int row = box[1] - s->panel->row + i / box[2];
        s->shown[row * s->panel->columns + column] = surface;
    }
}

/* Whether all that a brick should show is shown. */
static inline bool panel_shows(const PanelScene *s, const Brick *b)
{
    for (int i = 0; i < b->columns * b->rows; i++) {
        const int column = b->column - s->panel->column + i % b->columns;
        const int row = b->row - s->panel->row + i / b->columns;
        if (s->shown[row * s->panel->columns + column] != s->colour[b->colour]) return false;
    }
    return true;
}

/* Knobs: light along their upper edge, shadow along the lower. */
static inline void panel_knobs(PanelScene *s)
{
    for (int row = 0; row < s->rows; row++)
        for (int column = 0; column < s->panel->columns; column++) {
            const double x = s->margin + column + 0.5, y = s->margin + row + 0.5;
            scene_shade(&s->scene, x - 0.2, y + 0.24, x + 0.2, y + 0.3, 1.25);
            scene_shade(&s->scene, x - 0.2, y - 0.3, x + 0.2, y - 0.24, 0.7);
        }
}

static inline bool panel_relief(PanelScene *s)
{
    const Panel *p = s->panel;
    const Job *job = &s->plan->job;
    const bool wall = s->plan->solid.build == BUILD_WALL;
    s->scene.steps = calloc((size_t)s->scene.across * (size_t)s->scene.up, 1);
    s->scene.step = wall ? 1 : job->brick_height / job->pitch;
    if (!s->scene.steps) return false;
    for (int row = 0; row < s->rows; row++)
        for (int column = 0; column < p->columns; column++) {
            const double x = s->margin + column, y = s->margin + row * s->cell_height;
            const int top = solid_top(&s->plan->solid, p->column + column, p->row + row);
            scene_stand_out(&s->scene, x, y, x + 1, y + s->cell_height, top - s->plan->solid.base);
        }
    scene_shadows(&s->scene, 160, 45, 0.55);
    scene_shadows(&s->scene, 20, 45, 0.55);
    return true;
}

static inline const Planted *panel_planted(const PanelScene *s, size_t brick)
{
    for (int i = 0; i < s->planted_count; i++)
        if (s->planted[i].brick == brick) return &s->planted[i];
    return NULL;
}

static inline bool brick_on_face(const EarlierPlan *plan, const Brick *b)
{
    return b->shown && b->tier + b->tiers == solid_top(&plan->solid, b->column, b->row);
}

/* Draws the panel up to so many of its rows; shifted bricks last, as they lie on others. */
static inline bool panel_scene_draw(PanelScene *s)
{
    const Panel *p = s->panel;
    const bool wall = s->plan->solid.build == BUILD_WALL;
    s->cell_height = wall ? s->plan->job.brick_height / s->plan->job.pitch : 1;
    s->margin = 2;
    s->shown = calloc((size_t)p->columns * (size_t)p->rows, sizeof *s->shown);
    if (!scene_init(&s->scene, p->columns + 2 * s->margin, p->rows * s->cell_height + 2 * s->margin,
                    24))
        return false;
    for (int i = 0; i < s->plan->palette.count; i++) {
        const Lab lab = s->plan->palette.colour[i].lab;
        s->colour[i] = scene_add(&s->scene, surface_of_lab(lab.L, lab.a, lab.b));
    }
    s->sheet = scene_add(&s->scene, surface_of_lab(panel_sheet.L, panel_sheet.a, panel_sheet.b));
    s->seam = scene_add(&s->scene, surface_of_lab(12, 0, 0));
    panel_box(s, (int[]){p->column, p->row, p->columns, s->rows}, s->sheet);
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < s->plan->laid.count; i++) {
            const Brick *b = &s->plan->laid.brick[i];
            const Planted *planted = panel_planted(s, i);
            const bool shifted = planted && planted->kind == PLANTED_SHIFTED;
            if (&s->plan->panels.panel[b->panel] != p || !brick_on_face(s->plan, b)) continue;
            if (b->row >= p->row + s->rows || shifted != pass) continue;
            if (planted && planted->kind == PLANTED_MISSING) continue;
            const int box[4] = {b->column + (shifted ? planted->right : 0),
                                b->row + (shifted ? planted->up : 0), b->columns, b->rows};
            panel_box(s, box, s->colour[planted ? planted->colour : b->colour]);
        }
    if (!wall) panel_knobs(s);
    return !s->plan->grid.steps || panel_relief(s);
}

static inline bool shifts_within(const PanelScene *s, const Brick *b, int right, int up)
{
    const Panel *p = s->panel;
    return b->column + right >= p->column && b->row + up >= p->row &&
           b->column + b->columns + right <= p->column + p->columns &&
           b->row + b->rows + up <= p->row + s->rows;
}

static inline bool plant_one(PanelScene *s, PlantedKind kind, uint32_t *seed)
{
    const EarlierPlan *plan = s->plan;
    const Palette *palette = &plan->palette;
    Planted planted = {.kind = kind, .brick = chance(seed) % plan->laid.count};
    const Brick *b = &plan->laid.brick[planted.brick];
    if (&plan->panels.panel[b->panel] != s->panel || !brick_on_face(plan, b)) return false;
    if (b->row + b->rows > s->panel->row + s->rows || panel_planted(s, planted.brick)) return false;
    planted.colour = b->colour;
    if (kind == PLANTED_COLOUR) {
        planted.colour = (int)(chance(seed) % (uint32_t)palette->count);
        planted.difference =
            delta_e_2000(palette->colour[b->colour].lab, palette->colour[planted.colour].lab);
    } else
        planted.difference = delta_e_2000(palette->colour[b->colour].lab, panel_sheet);
    if (planted.difference < 6) return false;
    if (kind == PLANTED_SHIFTED) {
        static const int way[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
        const int *to = way[chance(seed) % (plan->solid.build == BUILD_WALL ? 2 : 4)];
        planted.right = to[0];
        planted.up = to[1];
        if (!shifts_within(s, b, to[0], to[1])) return false;
    }
    s->planted[s->planted_count++] = planted;
    return true;
}

/* Plants so many faults, of all kinds in turn, colours 6 CIEDE2000 or more off. */
static inline void panel_plant(PanelScene *s, int count, uint32_t *seed)
{
    for (int i = 0; i < count && s->planted_count < PLANTED_MOST; i++)
        while (!plant_one(s, (PlantedKind)(s->planted_count % 3), seed)) {
        }
}

#endif
