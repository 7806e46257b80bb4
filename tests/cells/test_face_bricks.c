#include "cells/face_bricks.h"

#include "bricks/lay.h"
#include "support/faces.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

enum { SIDE = 4, WINDOWS = 240 };

#define NEAR(got, want) assert_true(fabs((got) - (want)) <= 1e-9 * (1.0 + fabs(want)))

/* In a course every run of a colour is one brick here, so a joint costs just one and a
 * course's beginning one more: by hand. */
static void test_courses(void **state)
{
    (void)state;
    enum { ROWS = 8 * 30 };
    Grid grid;
    assert_int_equal(grid_init(&grid, 8, ROWS, false, NULL), STATUS_OK);
    Laid laid = {0};
    uint64_t seed = 2;
    for (int row = 0; row < ROWS; row++)
        for (int column = 0, colour = 0; column < 8; colour++) {
            const int run = 1 + (int)(draw(&seed) % 5), end = column + run < 8 ? column + run : 8;
            const Brick brick = {.column = column,
                                 .row = row,
                                 .columns = (uint8_t)(end - column),
                                 .rows = 1,
                                 .tiers = 1,
                                 .shown = 1};
            assert_int_equal(laid_add(&laid, &brick, NULL), STATUS_OK);
            for (; column < end; column++)
                grid.colour[(size_t)row * 8 + (size_t)column] = (uint8_t)colour;
        }
    const Solid solid = {.grid = &grid, .build = BUILD_WALL, .base = 1};
    FaceBricks bricks;
    JointCost cost;
    assert_int_equal(face_bricks_init(&bricks, &solid, &laid, NULL), STATUS_OK);
    assert_int_equal(bricks.count, laid.count);
    assert_int_equal(face_bricks_joint_cost(&bricks, &grid, BUILD_WALL, 8, &cost, NULL), STATUS_OK);
    NEAR(cost.area, 1.0 / 8.0);
    NEAR(cost.x, 1.0);
    NEAR(cost.y, 0.0);
    NEAR(cost.joints_x, (double)laid.count - ROWS);
    face_bricks_clear(&bricks);
    laid_clear(&laid);
    grid_clear(&grid);
}

/* --- against all ways of laying ---------------------------------------------------- */

static const int set[][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {2, 2}, {2, 3}, {2, 4}};
enum { SIZES = sizeof set / sizeof *set };

static bool fits(const uint8_t *colour, unsigned taken, int at, int w, int h, unsigned *mask)
{
    const int column = at % SIDE, row = at / SIDE;
    if (column + w > SIDE || row + h > SIDE) return false;
    *mask = 0;
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++) {
            const int cell = at + y * SIDE + x;
            if (colour[cell] != colour[at] || (taken >> cell & 1)) return false;
            *mask |= 1u << cell;
        }
    return true;
}

/* The fewest bricks for a window, by trying everything at its first bare cell. */
static int fewest(const uint8_t *colour, unsigned taken, int most)
{
    int at = 0;
    while (at < SIDE * SIDE && (taken >> at & 1)) at++;
    if (at == SIDE * SIDE) return 0;
    if (most <= 0) return 1000;
    int best = 1000;
    for (int s = 0; s < 2 * SIZES; s++) {
        unsigned mask;
        const int w = set[s / 2][s % 2], h = set[s / 2][1 - s % 2];
        if (!fits(colour, taken, at, w, h, &mask)) continue;
        const int rest = 1 + fewest(colour, taken | mask, (best < most ? best : most) - 1);
        if (rest < best) best = rest;
    }
    return best;
}

/* Least squares of three unknowns by Cramer's rule. */
static void least_squares(double (*row)[4], int rows, double out[3])
{
    double m[3][4] = {{0}};
    for (int n = 0; n < rows; n++)
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 4; j++) m[i][j] += row[n][i] * row[n][j];
#define DET(a, b, c)                                                                               \
    (m[0][a] * (m[1][b] * m[2][c] - m[1][c] * m[2][b]) -                                           \
     m[0][b] * (m[1][a] * m[2][c] - m[1][c] * m[2][a]) +                                           \
     m[0][c] * (m[1][a] * m[2][b] - m[1][b] * m[2][a]))
    const double all = DET(0, 1, 2);
    out[0] = DET(3, 1, 2) / all;
    out[1] = DET(0, 3, 2) / all;
    out[2] = DET(0, 1, 3) / all;
#undef DET
}

/* Windows that are panels of their own: what joints cost, from the layer at its best, is
 * what brute force over all ways of laying each says. Stripes along the rows make joints
 * of the two directions cost differently. */
static void test_brute_force(void **state)
{
    (void)state;
    for (int striped = 0; striped < 2; striped++) {
        Grid grid;
        static double row[WINDOWS][4];
        assert_int_equal(grid_init(&grid, SIDE, SIDE * WINDOWS, false, NULL), STATUS_OK);
        uint64_t seed = 7;
        for (int i = 0; i < SIDE * SIDE * WINDOWS; i++)
            grid.colour[i] = i % SIDE && draw(&seed) % 4 < (striped ? 3u : 1u)
                                 ? grid.colour[i - 1]
                                 : (uint8_t)(draw(&seed) % 3);
        for (int n = 0; n < WINDOWS; n++) {
            const uint8_t *c = grid.colour + (size_t)n * SIDE * SIDE;
            double *r = row[n];
            r[0] = SIDE * SIDE, r[1] = r[2] = 0.0;
            for (int i = 0; i < SIDE * SIDE; i++) {
                r[1] += i % SIDE && c[i] != c[i - 1];
                r[2] += (n || i >= SIDE) && c[i] != c[i - SIDE];
            }
            r[3] = fewest(c, 0, 17);
        }
        Sizes sizes = {.count = SIZES};
        for (int s = 0; s < SIZES; s++)
            sizes.size[s] = (Size){.width = set[s][0], .length = set[s][1], .mass_g = 1.0};
        const Solid solid = {.grid = &grid, .build = BUILD_PLAQUE, .base = 1};
        Panels panels;
        assert_int_equal(panels_init(&panels, &solid, &sizes,
                                     &(PanelLimits){.columns = SIDE, .rows = SIDE, .mass_kg = 1e6},
                                     NULL),
                         STATUS_OK);
        LayOptions options = LAY_OPTIONS_DEFAULT;
        options.effort = 1.0;
        Laid laid = {0};
        LayReport report;
        assert_int_equal(
            lay(&(LayTask){&solid, &panels, &sizes}, &options, &laid, &report, NULL, NULL),
            STATUS_OK);
        FaceBricks bricks;
        JointCost cost;
        assert_int_equal(face_bricks_init(&bricks, &solid, &laid, NULL), STATUS_OK);
        assert_int_equal(face_bricks_joint_cost(&bricks, &grid, BUILD_PLAQUE, SIDE, &cost, NULL),
                         STATUS_OK);
        double want[3];
        least_squares(row, WINDOWS, want);
        NEAR(cost.area, want[0]);
        NEAR(cost.x, want[1]);
        NEAR(cost.y, want[2]);
        assert_true(cost.x > 0.0 && cost.y > 0.0);
        face_bricks_clear(&bricks);
        laid_clear(&laid);
        panels_clear(&panels);
        grid_clear(&grid);
    }
}

/* One colour: no joints, and bricks by the area alone. */
static void test_even(void **state)
{
    (void)state;
    Grid grid;
    assert_int_equal(grid_init(&grid, 6, 4, false, NULL), STATUS_OK);
    memset(grid.colour, 0, 24);
    Laid laid = {0};
    for (int i = 0; i < 3; i++) {
        const Brick brick = {.column = 2 * i, .columns = 2, .rows = 4, .tiers = 1, .shown = 1};
        assert_int_equal(laid_add(&laid, &brick, NULL), STATUS_OK);
    }
    const Solid solid = {.grid = &grid, .build = BUILD_PLAQUE, .base = 1};
    FaceBricks bricks;
    JointCost cost;
    assert_int_equal(face_bricks_init(&bricks, &solid, &laid, NULL), STATUS_OK);
    assert_int_equal(face_bricks_joint_cost(&bricks, &grid, BUILD_PLAQUE, 4, &cost, NULL),
                     STATUS_OK);
    NEAR(cost.area, 1.0 / 8.0);
    assert_true(cost.x == 0.0 && cost.y == 0.0);
    face_bricks_clear(&bricks);
    laid_clear(&laid);
    grid_clear(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_courses),
        cmocka_unit_test(test_brute_force),
        cmocka_unit_test(test_even),
    };
    return cmocka_run_group_tests_name("pieces", tests, NULL, NULL);
}
