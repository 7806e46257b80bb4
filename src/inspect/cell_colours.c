/* In turn, each with what the other has found: a root-polynomial from the photograph's light to the
 * plan's, in which exposure does not matter, and a field of light, the exponential of a cubic in
 * place. Both are least squares, with errors as large as they look in Lab, and cells that do not
 * fit are weighed down (Tukey's biweight), so that wrong bricks do not pull.
 *
 * What is left of each palette colour, by its median over its cells, is how camera and lamp see it
 * otherwise than the plan's observer; the more cells, the more it is believed.
 *
 * Sources: G. Finlayson, M. Mackiewicz and A. Hurlbert, Color correction using root-polynomial
 * regression, IEEE TIP 24(5), 2015; A. Beaton and J. Tukey, Technometrics 16, 1974. */
#include "inspect/cell_colours.h"

#include "base/ascending.h"
#include "base/memory.h"
#include "colour/delta_e.h"
#include "inspect/normal_equations.h"

#include <math.h>
#include <string.h>

enum {
    ROOTS = 6, /* r, g, b and the roots of their products */
    FIELD = 9, /* x, y, x x, ... y y y */
    TURNS = 8,
    COLOURS_FEW = 8, /* with fewer colours the products are left out */
    CELLS_LEAST = 16
};

/* Light of a surface that is next to none, added where a ratio or a root is taken. */
#define FAINT 0.02

/* Tukey's constant, in standard deviations: 95 % as good as means where all is normal. */
#define BIWEIGHT 4.685

/* So many cells of a colour count as much as what the polynomial says. */
#define BELIEF 3.0

/* Beyond so many CIELAB units a colour's own shift is not believed, however many its cells. */
#define SHIFT_MOST 8.0

/* The least noise, CIELAB units: of half a code of 8 bits in the mid tones. */
#define NOISE_LEAST 0.4

typedef struct Fitting {
    const PanelFace *face;
    const CellLight *cells;
    size_t count;
    double *weight, *field, *sorted, *off; /* field: logarithm of the lamp */
    double root[3][ROOTS];
    int terms;
    Lab *lab;
} Fitting;

static double median(double *value, size_t count)
{
    if (!count) return 0;
    sort_ascending(value, count);
    return value[count / 2];
}

static void terms_of(const Fitting *f, size_t cell, double term[ROOTS])
{
    const double gain = exp(-f->field[cell]);
    for (int c = 0; c < 3; c++) term[c] = gain * (double)f->cells[cell].light[c];
    for (int c = 0; c < 3; c++) term[3 + c] = sqrt(term[c] * term[(c + 1) % 3]);
}

static double luminance(const double light[3])
{
    return 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]; /* IEC 61966-2-1 */
}

static void estimate(const Fitting *f, size_t cell, double light[3])
{
    double term[ROOTS];
    terms_of(f, cell, term);
    for (int c = 0; c < 3; c++) {
        light[c] = 0;
        for (int t = 0; t < f->terms; t++) light[c] += f->root[c][t] * term[t];
    }
}

/* The polynomial of colour, drawn toward plain gains by so much of all that the cells say. Plain
 * gains hold where the plan's colours leave it open; and to begin with, before wrong bricks are
 * known, they cannot be bent by the few cells of a colour. */
static void fit_roots(Fitting *f, double share)
{
    NormalEquations normal[3];
    double photo[3] = {0}, plan[3] = {0}, whole = 0;
    for (int c = 0; c < 3; c++) normal[c] = (NormalEquations){.unknowns = f->terms};
    for (size_t i = 0; i < f->count; i++) {
        if (f->weight[i] <= 0) continue;
        const double *want = f->face->light[f->face->colour[i]];
        const double scale = pow(fmax(luminance(want), 0) + FAINT, -4.0 / 3) * f->weight[i];
        double term[ROOTS];
        terms_of(f, i, term);
        for (int c = 0; c < 3; c++) {
            normal_add(&normal[c], term, want[c], scale);
            photo[c] += scale * term[c];
            plan[c] += scale * want[c];
        }
        for (int c = 0; c < 3; c++) whole += scale * term[c] * term[c];
    }
    for (int c = 0; c < 3; c++) {
        const double pull = share * whole;
        for (int t = 0; t < f->terms; t++) {
            double one[ROOTS] = {0};
            one[t] = 1;
            normal_add(&normal[c], one, t == c && photo[c] > 0 ? plan[c] / photo[c] : 0, pull);
        }
        normal_solve(&normal[c], 0, f->root[c]);
    }
}

static void field_terms(const PanelFace *face, size_t cell, double term[FIELD])
{
    const double x = face_x(face, (double)(cell % (size_t)face->columns) + 0.5);
    const double y = face_y(face, (double)(cell / (size_t)face->columns) + 0.5);
    const double all[FIELD] = {x,         y,         x * x,     x * y,    y * y,
                               x * x * x, x * x * y, x * y * y, y * y * y};
    memcpy(term, all, sizeof all);
}

/* The field of light; a constant is the polynomial's affair and is fitted beside it. */
static void fit_field(Fitting *f)
{
    NormalEquations normal = {.unknowns = FIELD + 1};
    double term[FIELD + 1] = {0}, field[FIELD + 1];
    for (size_t i = 0; i < f->count; i++) {
        if (f->weight[i] <= 0) continue;
        double light[3];
        estimate(f, i, light);
        const double want = fmax(luminance(f->face->light[f->face->colour[i]]), 0) + FAINT;
        const double have = fmax(luminance(light), 0) + FAINT;
        field_terms(f->face, i, term);
        term[FIELD] = 1;
        normal_add(&normal, term, log(have / want), f->weight[i] * cbrt(want));
    }
    if (!normal_solve(&normal, 1e-6, field)) return;
    for (size_t i = 0; i < f->count; i++) {
        field_terms(f->face, i, term);
        for (int t = 0; t < FIELD; t++) f->field[i] += field[t] * term[t];
    }
}

static Lab cell_lab(const Fitting *f, size_t cell)
{
    double light[3];
    estimate(f, cell, light);
    return lab_from_xyz(xyz_from_linear((Rgb){light[0], light[1], light[2]}));
}

static double lab_distance(Lab a, Lab b)
{
    return sqrt((a.L - b.L) * (a.L - b.L) + (a.a - b.a) * (a.a - b.a) + (a.b - b.b) * (a.b - b.b));
}

static const Colour *planned(const Fitting *f, size_t cell)
{
    return &f->face->plan->palette.colour[f->face->colour[cell]];
}

static void weigh(Fitting *f)
{
    size_t used = 0;
    for (size_t i = 0; i < f->count; i++) {
        f->lab[i] = cell_lab(f, i);
        f->off[i] = lab_distance(f->lab[i], planned(f, i)->lab);
        if (cell_usable(&f->cells[i])) f->sorted[used++] = f->off[i];
    }
    /* of three normal errors the median length is 1.54 standard deviations (chi of 3) */
    const double most = BIWEIGHT * fmax(median(f->sorted, used) / 1.54, 1);
    for (size_t i = 0; i < f->count; i++) {
        const double share = f->off[i] / most, left = 1 - share * share;
        f->weight[i] = cell_usable(&f->cells[i]) && share < 1 ? left * left : 0;
    }
}

static Status fitting_init(Fitting *f, CellColours *colours, const char *place, Fault *fault)
{
    size_t used = 0, kinds = 0;
    bool there[PALETTE_MOST] = {false};
    double *room = memory_create(4 * f->count, sizeof *room);
    colours->cell = f->lab = memory_create(f->count, sizeof *f->lab);
    f->weight = room;
    if (!room || !f->lab) return memory_fault(fault, f->count, 4 * sizeof *room);
    f->field = room + f->count;
    f->sorted = room + 2 * f->count;
    f->off = room + 3 * f->count;
    for (size_t i = 0; i < f->count; i++) {
        f->weight[i] = cell_usable(&f->cells[i]);
        used += cell_usable(&f->cells[i]);
        kinds += !there[f->face->colour[i]];
        there[f->face->colour[i]] = true;
    }
    f->terms = kinds < COLOURS_FEW ? 3 : ROOTS;
    if (used >= CELLS_LEAST && 4 * used >= f->count) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "%s: only %zu of the panel's %zu cells are in the photograph and not too "
                     "light; take it again with the whole panel in it, and a shorter exposure",
                     place, used, f->count);
}

static double *of_lab(Lab *lab, int k) { return k == 0 ? &lab->L : k == 1 ? &lab->a : &lab->b; }

/* How each colour of the palette looks. */
static void find_centres(Fitting *f, CellColours *colours)
{
    const Palette *palette = &f->face->plan->palette;
    for (int k = 0; k < palette->count; k++) {
        Lab shift = {0, 0, 0};
        for (int part = 0; part < 3; part++) {
            size_t n = 0;
            for (size_t i = 0; i < f->count; i++)
                if (f->face->colour[i] == k && cell_usable(&f->cells[i]))
                    f->sorted[n++] =
                        lab_part(f->lab[i], part) - lab_part(palette->colour[k].lab, part);
            *of_lab(&shift, part) = median(f->sorted, n) * (double)n / ((double)n + BELIEF);
        }
        const double far = lab_distance(shift, (Lab){0, 0, 0});
        const double share = far > SHIFT_MOST ? SHIFT_MOST / far : 1;
        colours->centre[k] = palette->colour[k].lab;
        for (int part = 0; part < 3; part++)
            *of_lab(&colours->centre[k], part) += share * lab_part(shift, part);
    }
}

/* Of a part of Lab, over cells of a class of lightness, or over all for a class below 0. */
static double noise_of(Fitting *f, const CellColours *colours, int part, int class,
                       size_t *count_out)
{
    size_t n = 0;
    for (size_t i = 0; i < f->count; i++) {
        const Lab centre = colours->centre[f->face->colour[i]];
        if (!cell_usable(&f->cells[i]) || (class >= 0 && noise_class(centre.L) != class)) continue;
        f->sorted[n++] = fabs(lab_part(f->lab[i], part) - lab_part(centre, part));
    }
    *count_out = n;
    /* of normal errors the median size is 0.6745 standard deviations */
    return fmax(median(f->sorted, n) / 0.6745, NOISE_LEAST);
}

static void find_noise(Fitting *f, CellColours *colours)
{
    enum { ENOUGH = 60 }; /* cells, for a scale within a tenth */
    for (int part = 0; part < 3; part++) {
        size_t n;
        const double all = noise_of(f, colours, part, -1, &n);
        for (int class = 0; class < NOISE_CLASSES; class ++) {
            const double own = noise_of(f, colours, part, class, &n);
            colours->noise[class][part] = n < ENOUGH ? fmax(own, all) : own;
        }
    }
}

Status cell_colours_init(CellColours *colours, const PanelFace *face, const CellLight *cells,
                         const char *place, Fault *fault)
{
    *colours = (CellColours){0};
    Fitting f = {.face = face, .cells = cells};
    f.count = (size_t)face->columns * (size_t)face->rows;
    const Status status = fitting_init(&f, colours, place, fault);
    for (int turn = 0; !status && turn < TURNS; turn++) {
        const double share = fmax(pow(10, -turn), 1e-4);
        fit_roots(&f, share);
        fit_field(&f);
        fit_roots(&f, share);
        weigh(&f);
    }
    if (!status) {
        find_centres(&f, colours);
        find_noise(&f, colours);
        size_t n = 0;
        for (size_t i = 0; i < f.count; i++)
            if (cell_usable(&cells[i])) f.sorted[n++] = delta_e_2000(f.lab[i], planned(&f, i)->lab);
        colours->fit = median(f.sorted, n);
    }
    memory_free(f.weight);
    return status;
}

void cell_colours_clear(CellColours *colours)
{
    memory_free(colours->cell);
    colours->cell = NULL;
}
