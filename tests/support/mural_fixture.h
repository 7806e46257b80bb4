/* A mural made by hand: synthetic colours, a pattern or noise, bricks by merging runs of
 * a row (and, for plaques, pairs of equal runs into bricks of two rows), parts and panels by
 * plain counting. It uses none of the program's own steps, so that writers can be tested
 * without them. */
#ifndef MURAL_FIXTURE_H
#define MURAL_FIXTURE_H

#include "base/memory.h"
#include "figures/cautions.h"
#include "figures/mural.h"
#include "support/chance.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef enum FixtureFace { FACE_BANDS, FACE_NOISE } FixtureFace;

typedef struct FixtureAsk {
    int columns, rows, panel_columns, panel_rows, colours;
    Build build;
    int base;  /* thickness of a wall */
    int steps; /* most tiers beyond the base; 0 is flat */
    FixtureFace face;
    Paper paper;
} FixtureAsk;

typedef struct Fixture {
    Job job;
    Reference reference;
    Palette palette;
    Sizes sizes;
    Grid grid;
    Panels panels;
    Laid laid;
    Parts parts;
    Bond bond;
    Holds holds; /* none was reckoned */
    PanelLoad *load;
    Cautions cautions;
    Mural mural;
} Fixture;

static inline void fixture_palette(Palette *palette, int count)
{
    memset(palette, 0, sizeof *palette);
    palette->count = count;
    for (int i = 0; i < count; i++) {
        Colour *c = &palette->colour[i];
        snprintf(c->id, sizeof c->id, i % 3 == 2 ? "%c%03d" : "%c%d", 'A' + i % 26,
                 i % 10 + 10 * (i / 26));
        snprintf(c->name, sizeof c->name, "synthetic %s %d", i % 2 ? "dull" : "clear", i);
        /* A spiral through CIELAB that stays near what sRGB can show. */
        const double turn = 2.39996 * i;
        const double L = 8.0 + 84.0 * i / (count > 1 ? count - 1 : 1);
        const double chroma = i % 4 ? 28.0 : 4.0;
        c->lab = (Lab){L, chroma * (turn - 6.28319 * (int)(turn / 6.28319) - 3.14159) / 3.14159,
                       chroma * (i % 5 - 2) / 2.0};
        c->xyz = xyz_from_lab(c->lab);
        srgb8_from_lab(c->lab, c->srgb);
    }
}

static inline void fixture_sizes(Sizes *sizes)
{
    static const int list[][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 6}, {1, 8},
                                  {2, 2}, {2, 3}, {2, 4}, {2, 6}, {2, 8}};
    memset(sizes, 0, sizeof *sizes);
    sizes->count = (int)(sizeof list / sizeof list[0]);
    for (int i = 0; i < sizes->count; i++) {
        Size *s = &sizes->size[i];
        snprintf(s->name, sizeof s->name, "%dx%d", list[i][0], list[i][1]);
        s->width = list[i][0];
        s->length = list[i][1];
        s->mass_g = 0.4 * s->width * s->length;
    }
}

static inline int fixture_size(const Sizes *sizes, int a, int b)
{
    for (int i = 0; i < sizes->count; i++) {
        const Size *s = &sizes->size[i];
        if ((s->width == a && s->length == b) || (s->width == b && s->length == a)) return i;
    }
    return -1;
}

static inline void fixture_face(Fixture *f, const FixtureAsk *ask)
{
    unsigned state = 7;
    grid_init(&f->grid, ask->columns, ask->rows, ask->steps > 0, NULL);
    for (int row = 0; row < ask->rows; row++)
        for (int column = 0; column < ask->columns; column++) {
            const size_t cell = (size_t)row * (size_t)ask->columns + (size_t)column;
            const unsigned r = chance(&state);
            const int band = (column / 5 + row / 3 + column * row / 97) % ask->colours;
            f->grid.colour[cell] =
                (uint8_t)(ask->face == FACE_NOISE ? r % (unsigned)ask->colours : (unsigned)band);
            if (ask->steps > 0) {
                const int dx = 2 * column - ask->columns, dy = 2 * row - ask->rows;
                const double at = 1.0 - (double)(dx * dx + dy * dy) / (ask->columns * ask->columns);
                f->grid.steps[cell] = (uint8_t)(at > 0.0 ? at * ask->steps + 0.2 : 0.0);
            }
        }
}

static inline void fixture_panels(Fixture *f, const FixtureAsk *ask)
{
    Panels *p = &f->panels;
    p->across = (ask->columns + ask->panel_columns - 1) / ask->panel_columns;
    p->up = (ask->rows + ask->panel_rows - 1) / ask->panel_rows;
    p->count = p->across * p->up;
    p->panel = calloc((size_t)p->count, sizeof *p->panel);
    for (int i = 0; i < p->count; i++) {
        Panel *at = &p->panel[i];
        snprintf(at->name, sizeof at->name, "r%dc%d", (i / p->across + 1) % 9999,
                 (i % p->across + 1) % 9999);
        const int c = i % p->across, r = i / p->across; /* parted as panels_init does */
        at->column = c * ask->columns / p->across;
        at->row = r * ask->rows / p->up;
        at->columns = (c + 1) * ask->columns / p->across - at->column;
        at->rows = (r + 1) * ask->rows / p->up - at->row;
    }
}

/* Colour of a unit: its cell's, where it can be seen. */
static inline int fixture_colour(const Fixture *f, int column, int row, int tier)
{
    return solid_shown(&f->mural.solid, column, row, tier) ? grid_colour(&f->grid, column, row)
                                                           : f->palette.count - 1;
}

static inline int fixture_unit(const Fixture *f, int column, int row, int tier)
{
    return tier < solid_top(&f->mural.solid, column, row);
}

/* Lays one plane of a panel: u along columns, v rows of a tier or tiers of a course. */
static inline void fixture_lay_plane(Fixture *f, int panel, int layer)
{
    static const int lengths[] = {8, 6, 4, 3, 2, 1};
    const Panel *p = &f->panels.panel[panel];
    const int wall = f->mural.solid.build == BUILD_WALL;
    const int vs = wall ? solid_depth(&f->mural.solid) : p->rows;
    char *done = calloc((size_t)p->columns * (size_t)vs, 1);
#define AT(u, v) p->column + (u), wall ? layer : p->row + (v), wall ? (v) : layer
    for (int v = 0; v < vs; v++)
        for (int u = 0; u < p->columns;) {
            if (done[v * p->columns + u] || !fixture_unit(f, AT(u, v))) {
                u++;
                continue;
            }
            const int colour = fixture_colour(f, AT(u, v));
            int run = 0, pair = 0;
            while (u + run < p->columns && !done[v * p->columns + u + run] &&
                   fixture_unit(f, AT(u + run, v)) && fixture_colour(f, AT(u + run, v)) == colour)
                run++;
            while (v + 1 < vs && pair < run && fixture_unit(f, AT(u + pair, v + 1)) &&
                   fixture_colour(f, AT(u + pair, v + 1)) == colour)
                pair++;
            const int most = pair >= 2 ? pair : run;
            int length = 1, height = pair >= 2 ? 2 : 1;
            for (int i = 0; i < 6; i++)
                if (lengths[i] <= most) {
                    length = lengths[i];
                    break;
                }
            if (height == 1 && pair == 1 && run == 1) height = 2; /* stands upright */
            Brick b = {.panel = panel, .columns = (uint8_t)length, .rows = 1, .tiers = 1};
            b.column = p->column + u;
            b.row = wall ? layer : p->row + v;
            b.tier = (uint8_t)(wall ? v : layer);
            if (wall)
                b.tiers = (uint8_t)height;
            else
                b.rows = (uint8_t)height;
            b.size = (uint8_t)fixture_size(&f->sizes, length, height);
            b.colour = (uint8_t)colour;
            b.shown = 1;
            for (int i = 0; i < length; i++)
                for (int j = 0; j < height; j++) done[(v + j) * p->columns + u + i] = 1;
            laid_add(&f->laid, &b, NULL);
            u += length;
        }
#undef AT
    free(done);
}

static inline void fixture_lay(Fixture *f)
{
    const int wall = f->mural.solid.build == BUILD_WALL;
    for (int i = 0; i < f->panels.count; i++) {
        const Panel *p = &f->panels.panel[i];
        const int layers = wall ? p->rows : solid_depth(&f->mural.solid);
        for (int layer = 0; layer < layers; layer++)
            fixture_lay_plane(f, i, wall ? p->row + layer : layer);
    }
    laid_sort(&f->laid, wall);
}

static inline void fixture_parts(Fixture *f)
{
    static long count[PALETTE_MOST][SIZES_MOST];
    memset(count, 0, sizeof count);
    for (size_t i = 0; i < f->laid.count; i++)
        count[f->laid.brick[i].colour][f->laid.brick[i].size]++;
    f->parts.part = calloc((size_t)f->palette.count * SIZES_MOST, sizeof *f->parts.part);
    for (int c = 0; c < f->palette.count; c++)
        for (int s = 0; s < f->sizes.count; s++) {
            const long n = count[c][s];
            if (!n) continue;
            Part *p = &f->parts.part[f->parts.count++];
            *p = (Part){.colour = c, .size = s, .count = n, .spare = n / 20 + 1};
            p->order = p->count + p->spare;
            p->to_buy = p->order;
            p->mass_g = (double)n * f->sizes.size[s].mass_g;
            f->parts.bricks += n;
            f->parts.order += p->order;
            f->parts.mass_g += p->mass_g;
        }
}

static inline void fixture_load(Fixture *f)
{
    f->load = calloc((size_t)f->panels.count, sizeof *f->load);
    for (size_t i = 0; i < f->laid.count; i++) {
        const Brick *b = &f->laid.brick[i];
        PanelLoad *l = &f->load[b->panel];
        l->bricks++;
        l->mass_g += f->sizes.size[b->size].mass_g;
        if (l->depth < b->tier + b->tiers) l->depth = b->tier + b->tiers;
    }
    for (int i = 0; i < f->panels.count; i++) { /* nothing is behind the bricks */
        f->load[i].whole_kg = f->load[i].mass_g / 1000;
        f->load[i].whole_depth_mm = f->load[i].depth * f->mural.step_mm;
    }
    f->mural.load = f->load;
}

static inline void fixture_holds(Fixture *f)
{
    Holds *h = &f->holds;
    h->panel = calloc((size_t)f->panels.count, sizeof *h->panel);
    h->touch_n = calloc(f->laid.count, sizeof *h->touch_n);
    for (size_t i = 0; i < f->laid.count; i++) h->touch_n[i] = NAN;
    for (int i = 0; i < f->panels.count; i++) {
        PanelHolds *p = &h->panel[i];
        p->least_hold_n = INFINITY;
        p->least_brick = p->least_joint.brick = p->least_joint.below = HOLD_NOTHING;
        for (int k = 0; k < LOAD_CASES; k++)
            p->at[k].weakest = (WeakJoint){HOLD_NOTHING, HOLD_NOTHING, 0, 0};
    }
}

static inline void fixture_job(Fixture *f, const FixtureAsk *ask)
{
    Job *j = &f->job;
    j->lists = 1;
    j->build = (int)ask->build;
    j->columns = ask->columns;
    j->rows = ask->rows;
    j->pitch = 8.0;
    j->brick_height = 9.6;
    j->thickness = ask->base;
    j->distance = 4000.0;
    j->pace = 150.0;
    j->packing = 60.0;
    j->crate_panels = 3;
    j->crate_mass = 113.0;
    j->hold_safety = 3;
    j->crate_g = 2;
    j->touch = 1;
    j->paper = (int)ask->paper;
    j->book = 1;
    snprintf(f->reference.file, sizeof f->reference.file, "pattern.png");
}

/* Fills *f; the cautions are found as well. Memory hooks must be off. */
static inline void fixture_init(Fixture *f, const FixtureAsk *ask)
{
    memset(f, 0, sizeof *f);
    fixture_job(f, ask);
    fixture_palette(&f->palette, ask->colours);
    fixture_sizes(&f->sizes);
    fixture_face(f, ask);
    fixture_panels(f, ask);
    Mural *m = &f->mural;
    *m = (Mural){.job = &f->job,
                 .reference = &f->reference,
                 .palette = &f->palette,
                 .sizes = &f->sizes,
                 .grid = &f->grid,
                 .solid = {.grid = &f->grid, .build = ask->build, .base = ask->base},
                 .panels = &f->panels,
                 .laid = &f->laid,
                 .parts = &f->parts,
                 .bond = &f->bond,
                 .holds = &f->holds};
    m->cell_width_mm = 8.0;
    m->cell_height_mm = ask->build == BUILD_WALL ? 9.6 : 8.0;
    m->step_mm = ask->build == BUILD_WALL ? 8.0 : 9.6;
    fixture_lay(f);
    fixture_parts(f);
    fixture_load(f);
    f->bond.panel = calloc((size_t)f->panels.count, sizeof *f->bond.panel);
    for (int i = 0; i < f->panels.count; i++) f->bond.panel[i].pieces = 1;
    fixture_holds(f);
    m->measures = (Measures){.mean_de00 = 3.21,
                             .p95_de00 = 7.65,
                             .max_de00 = 14.3,
                             .perceived = {2.1, 4.4},
                             .mass_kg = f->parts.mass_g / 1000.0,
                             .whole_kg = f->parts.mass_g / 1000.0,
                             .hours = (double)f->parts.bricks / 150.0,
                             .pieces = f->panels.count,
                             .least_hold_n = INFINITY};
    cautions_find(&f->cautions, m);
    m->cautions = f->cautions.count;
    for (int i = 0; i < f->cautions.count; i++) m->caution[i] = f->cautions.text[i];
}

static inline void fixture_clear(Fixture *f)
{
    grid_clear(&f->grid);
    laid_clear(&f->laid);
    free(f->panels.panel);
    free(f->parts.part);
    free(f->holds.panel);
    free(f->holds.touch_n);
    free(f->load);
    free(f->bond.panel);
    free(f->bond.flaw);
}

#endif
