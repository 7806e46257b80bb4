/* Limits by force where a region may not take every colour: the whole is within them though cells
 * that are free to choose would have taken what others need. Counted cell by cell. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cells/colour_quotas.h"

#include <string.h>

enum { COLUMNS = 24, ROWS = 10, CELLS = COLUMNS * ROWS, GREY = 0, LIGHT, WHITE, COLOURS };

static bool is_left(int cell) { return cell % COLUMNS < COLUMNS / 2; }

static void force_limits(const long limit[COLOURS], Status want)
{
    static Palette palette;
    static uint8_t region[CELLS];
    const Barred barred[2] = {[1] = {.colour = {[WHITE] = true}}};
    const double lightness[COLOURS] = {55, 62, 95};
    long count[COLOURS] = {0};
    Image image;
    Grid grid;
    SearchState state;
    Fault fault;
    palette.count = COLOURS;
    for (int c = 0; c < COLOURS; c++) {
        palette.colour[c].lab = (Lab){lightness[c], 0, 0};
        colour_complete(&palette.colour[c]);
    }
    assert_int_equal(image_init(&image, COLUMNS, ROWS, NULL), STATUS_OK);
    assert_int_equal(grid_init(&grid, COLUMNS, ROWS, false, NULL), STATUS_OK);
    for (int i = 0; i < CELLS; i++) {
        const Xyz *xyz = &palette.colour[GREY].xyz;
        const float cell[3] = {(float)xyz->x, (float)xyz->y, (float)xyz->z};
        memcpy(image.xyz + 3 * i, cell, sizeof cell);
        region[i] = is_left(i);
    }
    const SearchProblem problem = {.target = &image,
                                   .palette = &palette,
                                   .viewpoint = {8, 8, 5000},
                                   .detail = 0.2,
                                   .limit = limit,
                                   .keep = {.region = region, .barred = barred, .regions = 2},
                                   .threads = 1};
    assert_int_equal(search_state_init(&state, &problem, &grid, NULL), STATUS_OK);
    assert_int_equal(colour_quotas_check(&state, NULL), STATUS_OK);
    memset(grid.colour, GREY, CELLS);
    search_state_objective(&state);
    assert_int_equal(colour_quotas_enforce(&state, NULL, &fault), want);
    for (int i = 0; !want && i < CELLS; i++) {
        count[grid.colour[i]]++;
        assert_false(is_left(i) && grid.colour[i] == WHITE);
    }
    for (int c = 0; !want && c < COLOURS; c++) assert_true(count[c] <= limit[c]);
    search_state_clear(&state);
    grid_clear(&grid);
    image_clear(&image);
}

/* The left needs all of the two greys: 120 cells of them. */
static void a_region_gets_what_it_needs(void **state)
{
    (void)state;
    force_limits((const long[]){40, 80, 120}, STATUS_OK);
    force_limits((const long[]){44, 90, 120}, STATUS_OK);
    force_limits((const long[]){0, 120, 120}, STATUS_OK);
}

static void what_cannot_be_is_said(void **state)
{
    (void)state;
    force_limits((const long[]){40, 79, 130}, STATUS_DATA);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_region_gets_what_it_needs),
        cmocka_unit_test(what_cannot_be_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
