#include "cells/face_bricks.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Bricks of a wall at its face are found by each cell that they show, and those behind are not. */
static void test_index(void **state)
{
    (void)state;
    static const Brick brick[] = {
        {.column = 0, .row = 0, .columns = 2, .rows = 1, .tier = 1, .tiers = 1, .shown = 1},
        {.column = 2, .row = 0, .columns = 2, .rows = 1, .tiers = 2, .shown = 1, .panel = 3},
        {.column = 0, .row = 0, .columns = 2, .rows = 1, .tiers = 1}, /* behind the first */
        {.column = 0, .row = 1, .columns = 4, .rows = 1, .tier = 1, .tiers = 1, .shown = 1},
    };
    Grid grid;
    Laid laid = {0};
    FaceBricks bricks;
    assert_int_equal(grid_init(&grid, 4, 2, false, NULL), STATUS_OK);
    for (size_t i = 0; i < sizeof brick / sizeof *brick; i++)
        assert_int_equal(laid_add(&laid, &brick[i], NULL), STATUS_OK);
    const Solid solid = {.grid = &grid, .build = BUILD_WALL, .base = 2};
    assert_int_equal(face_bricks_init(&bricks, &solid, &laid, NULL), STATUS_OK);
    assert_int_equal(bricks.count, 3);
    static const int32_t at[8] = {0, 0, 1, 1, 2, 2, 2, 2};
    assert_memory_equal(bricks.at, at, sizeof at);
    assert_int_equal(bricks.brick[1].deep, 2);
    assert_int_equal(bricks.brick[1].panel, 3);
    face_bricks_clear(&bricks);
    laid_clear(&laid);
    grid_clear(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_index)};
    return cmocka_run_group_tests_name("face_bricks", tests, NULL, NULL);
}
