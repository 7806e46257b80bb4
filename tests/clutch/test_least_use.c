/* Forces: on random small solids, what the springs and their softening prove is never below the
 * least use, and that is what glpsol (GNU Linear Programming Kit, a solver of its own) finds for
 * the same solid written down anew here, with a variable for every knob. The equations of the
 * blocked factor are held against their own residue. Taken as bodies bricks never ask for more.
 *
 * With UNITS=N in the environment solids of N units in all are solved, larger ones too; by itself a
 * few thousand. */
#include "support/chance.h"
#include "support/held.h"
#include "support/scratch.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#define NEAR 0.8 /* the least use that loads are scaled to, where that is asked for */

enum { SOLIDS = 200, PER_FILE = 8, MOST = 12, UNITS = 2000 };

typedef struct Extent {
    int across, deep, tall;
} Extent;

static const Extent small = {4, 3, 4};

static HeldBuild build;

/* A layer of bricks by chance: where nothing is under a brick it may still hang or be loose. */
static void put_layer(HeldBuild *h, const Extent *extent, int u, uint32_t *seed)
{
    bool taken[MOST][MOST] = {{false}};
    for (int b = 0; b < extent->deep; b++)
        for (int a = 0; a < extent->across; a++) {
            if (taken[b][a] || chance(seed) % 100 < (u ? 45 : 20)) continue;
            const int nb = 1 + (int)(chance(seed) % 2);
            int na = 1 + (int)(chance(seed) % 3);
            while (a + na > extent->across || taken[b][a + na - 1]) na--;
            const int rows = b + nb > extent->deep ? 1 : nb;
            bool free = true;
            for (int k = 0; k < na; k++) free = free && !taken[b][a + k];
            if (!free) continue;
            build_put(h, a, b, u, na, rows, 0.4 * na * rows);
            for (int y = 0; y < rows; y++)
                for (int x = 0; x < na; x++) taken[b + y][a + x] = true;
        }
}

static void random_solid(HeldBuild *h, const Extent *extent, uint32_t *seed)
{
    *h = (HeldBuild){.model = {8, 9.6, {2.7, 1.6}}};
    const int tall = 2 + (int)(chance(seed) % (uint32_t)(extent->tall - 1));
    for (int u = 0; u < tall; u++) put_layer(h, extent, u, seed);
    build_join(h, true);
    build_spring(h);
}

/* ---- the referee's program ---- */

/* Rows of several programs, gathered column by column. */
typedef struct Gather {
    char *row[BUILD_MOST];
    size_t size[BUILD_MOST], capacity[BUILD_MOST];
    int rows, columns, solid;
    FILE *bounds;
} Gather;

static Gather gather;

static void add_term(Gather *g, int row, double by)
{
    char text[64];
    if (by == 0) return;
    const int length = snprintf(text, sizeof text, " %+.12g s%dx%d\n", by, g->solid, g->columns);
    if (g->size[row] + (size_t)length + 1 > g->capacity[row]) {
        g->capacity[row] = 2 * g->capacity[row] + 256;
        g->row[row] = realloc(g->row[row], g->capacity[row]);
        if (!g->row[row]) abort();
    }
    memcpy(g->row[row] + g->size[row], text, (size_t)length + 1);
    g->size[row] += (size_t)length;
}

/* A unit force along an axis at a point, on one brick; mm for moments. */
static void add_force(Gather *g, const Structure *t, uint32_t brick, const double at[AXES],
                      int axis, double sign)
{
    double m[AXES], r[AXES], f[AXES] = {0};
    if (brick == GROUND) return;
    structure_middle(t, brick, m);
    for (int i = 0; i < AXES; i++) r[i] = at[i] - m[i];
    f[axis] = sign;
    const int row = (int)brick * 6;
    add_term(g, row + axis, sign);
    add_term(g, row + 3, r[1] * f[2] - r[2] * f[1]);
    add_term(g, row + 4, r[2] * f[0] - r[0] * f[2]);
    add_term(g, row + 5, r[0] * f[1] - r[1] * f[0]);
}

static void add_pair(Gather *g, const Structure *t, const Joint *j, const double at[AXES], int axis,
                     double sign)
{
    add_force(g, t, j->upper, at, axis, sign);
    add_force(g, t, j->lower, at, axis, -sign);
}

/* x <= u bound: a row of its own. */
static void limit(Gather *g, double bound)
{
    const int here = g->columns, row = g->rows++;
    add_term(g, row, 1);
    g->columns = 0;
    add_term(g, row, -bound);
    g->columns = here;
}

static void add_knobs(Gather *g, const Structure *t, const Joint *j)
{
    const double a0 = j->at[0] - 4.0 * j->na, b0 = j->at[1] - 4.0 * j->nb;
    for (int b = 0; b < j->nb; b++)
        for (int a = 0; a < j->na; a++) {
            const double at[AXES] = {a0 + 8 * a + 4, b0 + 8 * b + 4, j->at[2]};
            add_pair(g, t, j, at, AXIS_U, -1);
            limit(g, j->pull_n / (j->na * j->nb));
            g->columns++;
        }
    for (int c = 0; c < 4; c++) {
        const double at[AXES] = {a0 + 8 * (c & 1) * j->na, b0 + 8 * (c >> 1) * j->nb, j->at[2]};
        add_pair(g, t, j, at, AXIS_U, 1);
        g->columns++;
    }
}

static void add_free(Gather *g, const Structure *t, const Joint *j)
{
    for (int axis = 0; axis < 2; axis++) {
        add_pair(g, t, j, j->at, axis, 1);
        fprintf(g->bounds, " s%dx%d free\n", g->solid, g->columns++);
    }
    for (int sign = 1; sign >= -1; sign -= 2) { /* the twist, as what is above 0 of it and below */
        add_term(g, (int)j->upper * 6 + 5, sign);
        if (j->lower != GROUND) add_term(g, (int)j->lower * 6 + 5, -sign);
        if (j->na * j->nb == 1) limit(g, 2.4 * j->pull_n);
        g->columns++;
    }
}

static void write_program(const HeldBuild *h, int solid, FILE *out, FILE *bounds)
{
    const Structure *t = &h->structure;
    Gather *g = &gather;
    const int equations = (int)t->bricks * 6;
    *g = (Gather){.rows = equations, .columns = 1, .solid = solid, .bounds = bounds};
    for (size_t i = 0; i < t->joints; i++) {
        if (h->springs.loose[t->joint[i].upper]) continue;
        add_knobs(g, t, &t->joint[i]);
        add_free(g, t, &t->joint[i]);
    }
    for (int row = 0; row < g->rows; row++) {
        if (!g->size[row]) continue;
        const bool moment = row % 6 >= 3;
        const double load = row < equations ? h->load[row] * (moment ? 8 : 1) : 0;
        fprintf(out, " s%dr%d: %s %s %.12g\n", solid, row, g->row[row],
                row < equations ? "=" : "<=", row < equations ? -100 * load : 0);
        free(g->row[row]);
    }
}

/* ---- the comparison ---- */

static void solve_all(const char *folder)
{
    char command[600];
    snprintf(command, sizeof command, "glpsol --lp %s/all.lp -w %s/all.sol >%s/log", folder, folder,
             folder);
    assert_int_equal(system(command), 0);
}

/* The objective of the file that glpsol wrote: "s bas ROWS COLUMNS p d VALUE". */
static double objective(const char *folder)
{
    char path[600], line[400];
    double value = NAN;
    snprintf(path, sizeof path, "%s/all.sol", folder);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    while (fgets(line, sizeof line, file)) sscanf(line, "s bas %*d %*d %*c %*c %lf", &value);
    fclose(file);
    return value / 100;
}

/* Solids of one file share nothing, so that the least sum of their uses is the sum of the least;
 * a wrong one shows in it. */
static double referee(const char *folder, const HeldBuild *solid, int count)
{
    char path[600], line[8];
    snprintf(path, sizeof path, "%s/all.lp", folder);
    FILE *out = fopen(path, "w"), *bounds = tmpfile();
    assert_non_null(out);
    assert_non_null(bounds);
    fputs("minimize\n u:", out);
    for (int i = 0; i < count; i++) fprintf(out, " + s%dx0\n", i);
    fputs("subject to\n", out);
    for (int i = 0; i < count; i++) write_program(&solid[i], i, out, bounds);
    fputs("bounds\n", out);
    rewind(bounds);
    for (size_t n; (n = fread(line, 1, sizeof line, bounds)) > 0;) fwrite(line, 1, n, out);
    fputs("end\n", out);
    fclose(bounds);
    fclose(out);
    solve_all(folder);
    return objective(folder);
}

/* Bricks on joints that chance takes for firm, each led by the first of its body. */
static void random_bodies(const HeldBuild *h, uint32_t *leader, uint32_t *seed)
{
    for (uint32_t i = 0; i < h->count; i++) leader[i] = i;
    for (size_t i = 0; i < h->structure.inner; i++) {
        const Joint *j = &h->structure.joint[i];
        const uint32_t a = leader[j->lower], b = leader[j->upper], first = a < b ? a : b;
        if (chance(seed) % 2) continue;
        for (uint32_t k = 0; k < h->count; k++)
            if (leader[k] == a || leader[k] == b) leader[k] = first;
    }
}

static void proofs_are_never_below_the_least_use(void **state)
{
    (void)state;
    static HeldBuild solid[PER_FILE];
    uint32_t seed = 20;
    char folder[SCRATCH_MOST];
    int proven = 0, over = 0;
    assert_true(scratch_folder(folder));
    for (int first = 0; first < SOLIDS; first += PER_FILE) {
        double sum = 0;
        for (int i = 0; i < PER_FILE; i++) {
            HeldBuild *h = &solid[i];
            double unbalanced;
            random_solid(h, &small, &seed);
            const double g[AXES] = {chance_unit(&seed) * 2 - 1, chance_unit(&seed) * 2 - 1,
                                    chance_unit(&seed) * 2 - 1};
            build_weigh(h, g);
            for (size_t k = 0; k < h->count; k++)
                for (int n = 0; n < BLOCK && h->springs.loose[k]; n++)
                    h->load[k * BLOCK + (size_t)n] = 0;
            uint32_t leader[BUILD_MOST];
            random_bodies(h, leader, &seed);
            const double exact = build_exact(h, NULL);
            sum += exact;
            assert_true(build_bound(h, leader, NULL) <= exact * (1 + 1e-6) + 1e-9);
            const double springs = build_springs(h, g, &unbalanced);
            const double softened = build_softened(h, g);
            assert_true(unbalanced < 1e-6);
            assert_true(softened >= exact * (1 - 1e-6));
            assert_true(springs >= softened);
            if (exact < 1e-3) continue;
            /* Shares near 1 are what splitting is for. */
            const double by = NEAR / exact, more[AXES] = {by * g[0], by * g[1], by * g[2]};
            const double split = build_split(h, more);
            assert_true(split >= NEAR * (1 - 1e-6));
            proven += split <= 1 && softened * by > 1;
            over += softened * by > 1;
        }
        const double known = referee(folder, solid, PER_FILE);
        if (!(fabs(known - sum) < 1e-6 * known)) fail_msg("glpsol %.9g, ours %.9g", known, sum);
        for (int i = 0; i < PER_FILE; i++) build_clear(&solid[i]);
    }
    /* Of those that are not proven to hold by softening, splitting proves each. */
    assert_true(over > 0 && proven == over);
    assert_int_equal(scratch_clear(folder), 0);
}

/* A touch that springs say is held is held by the least use. */
static void touches_are_proofs(void **state)
{
    (void)state;
    uint32_t seed = 7;
    HeldBuild *h = &build;
    for (int n = 0; n < 20; n++) {
        random_solid(h, &small, &seed);
        const uint32_t top = (uint32_t)h->count - 1;
        TouchHold hold;
        if (!h->springs.loose[top] && h->structure.brick[top].u > 0) {
            build_touch(h, top, &hold);
            for (int axis = 0; axis < AXES; axis++)
                for (int sign = axis == AXIS_U ? 1 : -1; sign <= 1; sign += 2) {
                    memset(h->load, 0, h->count * BLOCK * sizeof *h->load);
                    double *load = h->load + (size_t)top * BLOCK;
                    load[axis] = sign;
                    if (axis == AXIS_A) load[4] = sign * 0.6;
                    if (axis == AXIS_B) load[3] = sign * -0.6;
                    assert_true(build_exact(h, NULL) <= (1 + 1e-6) / hold.newtons);
                }
        }
        build_clear(h);
    }
}

/* The largest use of all joints under a newton at the top of a brick, from a whole solve. */
static double use_of_all(HeldBuild *h, uint32_t brick)
{
    Springs *s = &h->springs;
    double most = 0;
    springs_unload(s);
    s->lanes = AXES;
    for (int axis = 0; axis < AXES; axis++) s->load[brick * BLOCK + (uint32_t)axis][axis] = 1;
    s->load[brick * BLOCK + 4][0] = 0.6; /* half a layer over the pitch */
    s->load[brick * BLOCK + 3][1] = -0.6;
    springs_solve(s, false);
    for (size_t i = 0; i < s->joints; i++) {
        Lanes f[FORCES];
        springs_forces(s, i, f);
        for (int axis = 0; axis < AXES; axis++)
            for (int sign = axis == AXIS_U ? 1 : -1; sign <= 1; sign += 2) {
                double force[FORCES];
                for (int k = 0; k < FORCES; k++) force[k] = sign * f[k][axis];
                const JointForce on = joint_force(force);
                most = fmax(most, joint_use(&s->structure->joint[i], &on));
            }
    }
    return most;
}

/* Touches end where no other joint can take more; a solid is wide enough that they do. */
static void touches_are_what_all_joints_give(void **state)
{
    (void)state;
    static const Extent wide = {MOST, MOST, 6};
    uint32_t seed = 11;
    HeldBuild *h = &build;
    for (int n = 0; n < 6; n++) {
        random_solid(h, &wide, &seed);
        for (uint32_t i = 0; i < h->count; i += 3) {
            TouchHold hold;
            if (h->springs.loose[i]) continue;
            build_touch(h, i, &hold);
            const double all = use_of_all(h, i);
            if (fabs(1 / hold.newtons - all) > 1e-12 * all)
                fail_msg("%.15g is not %.15g", 1 / hold.newtons, all);
        }
        build_clear(h);
    }
}

/* Where all bricks are touched, those that hold more than is asked for are told to hold so much,
 * and no more than they do; the others, and the least, are exact. */
static void touches_beyond_what_is_asked_are_bounds(void **state)
{
    (void)state;
    static const Extent wide = {MOST, MOST, 6};
    const double enough[] = {1, 8, 1000};
    uint32_t seed = 23;
    HeldBuild *h = &build;
    random_solid(h, &wide, &seed);
    uint32_t brick[sizeof h->brick / sizeof *h->brick], touched = 0;
    TouchHold exact[sizeof brick / sizeof *brick], hold[sizeof brick / sizeof *brick];
    for (uint32_t i = 0; i < h->count; i++)
        if (!h->springs.loose[i]) brick[touched++] = i;
    TouchTask task = {brick, touched, AXIS_U, INFINITY};
    assert_int_equal(touches_find(&h->springs, &task, exact, NULL), STATUS_OK);
    double least = INFINITY;
    for (uint32_t i = 0; i < touched; i++) least = fmin(least, exact[i].newtons);
    for (size_t n = 0; n < sizeof enough / sizeof *enough; n++) {
        const double known = fmax(enough[n], least);
        size_t bounds = 0;
        task.enough_n = enough[n];
        assert_int_equal(touches_find(&h->springs, &task, hold, NULL), STATUS_OK);
        for (uint32_t i = 0; i < touched; i++) {
            const double off = 1e-9 * exact[i].newtons;
            assert_true(hold[i].newtons <= exact[i].newtons + off);
            assert_true(hold[i].newtons >= fmin(exact[i].newtons, known) - off);
            bounds += hold[i].newtons < exact[i].newtons - off;
        }
        if (n == 0) assert_true(bounds > 0);
    }
    build_clear(h);
}

/* Weight and touches on solids of all sizes: forces balance, softening never says more than the
 * springs, and what is held is a number. */
static void solids_of_many_units_are_solved(void **state)
{
    (void)state;
    const char *wanted = getenv("UNITS");
    const double most = wanted ? strtod(wanted, NULL) : UNITS;
    uint32_t seed = 99;
    HeldBuild *h = &build;
    for (double units = 0; units < most;) {
        const Extent extent = {2 + (int)(chance(&seed) % 11), 1 + (int)(chance(&seed) % 6),
                               3 + (int)(chance(&seed) % 6)};
        const double g[AXES] = {chance_unit(&seed) * 2 - 1, chance_unit(&seed) * 2 - 1,
                                chance_unit(&seed) * 2 - 1};
        double unbalanced;
        random_solid(h, &extent, &seed);
        const double springs = build_springs(h, g, &unbalanced);
        if (!(unbalanced < 1e-6)) fail_msg("%g N are left of %zu bricks", unbalanced, h->count);
        const double softened = build_softened(h, g);
        assert_true(softened >= 0 && softened <= springs);
        assert_true(build_split(h, g) >= 0);
        assert_int_equal(springs_set(&h->springs, NULL, NULL), STATUS_OK);
        for (uint32_t i = 0; i < h->count; i += 5) {
            TouchHold hold;
            if (h->springs.loose[i]) continue;
            build_touch(h, i, &hold);
            assert_true(hold.newtons > 0);
        }
        for (uint32_t i = 0; i < h->count; i++)
            units += h->structure.brick[i].na * h->structure.brick[i].nb;
        build_clear(h);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(proofs_are_never_below_the_least_use),
        cmocka_unit_test(touches_are_proofs),
        cmocka_unit_test(touches_are_what_all_joints_give),
        cmocka_unit_test(touches_beyond_what_is_asked_are_bounds),
        cmocka_unit_test(solids_of_many_units_are_solved),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
