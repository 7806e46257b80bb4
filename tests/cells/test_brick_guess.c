#include "cells/brick_guess.h"

#include "support/faces.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define NEAR(got, want)                                                                            \
    assert_true(fabs((got) - (double)(want)) <= 1e-9 * (1.0 + fabs((double)(want))))

static Grid grid_of(int columns, int rows)
{
    Grid grid;
    if (grid_init(&grid, columns, rows, false, NULL)) abort();
    return grid;
}

/* ---- against Euler's formula ---- */

static void paint(Grid *grid, const CellBox *box, int colour)
{
    for (int row = box->row; row < box->row + box->rows; row++)
        memset(grid->colour + (size_t)row * (size_t)grid->columns + (size_t)box->column, colour,
               (size_t)box->columns);
}

/* Cuts a rectangle in two again and again, each part in a colour of its own. */
static void cut(Grid *grid, const CellBox *box, uint64_t *seed, int *colours)
{
    const bool across = draw(seed) % 2;
    const int side = across ? box->columns : box->rows;
    if (side < 2 || draw(seed) % 5 == 0) {
        paint(grid, box, (*colours)++);
        return;
    }
    const int at = 1 + (int)(draw(seed) % (uint64_t)(side - 1));
    CellBox one = *box, other = *box;
    if (across) {
        one.columns = at, other.column += at, other.columns -= at;
    } else {
        one.rows = at, other.row += at, other.rows -= at;
    }
    cut(grid, &one, seed, colours);
    cut(grid, &other, seed, colours);
}

/* A rectangle that is cut into n rectangles has, by Euler's formula for plane graphs, n - 1 places
 * inside and on its sides where three of them meet, by halves, those where four meet counting
 * twice; its own four corners are two bricks more. */
static void test_euler(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (int n = 0; n < 200; n++) {
        Grid grid = grid_of(2 + n % 13, 2 + n % 11);
        int colours = 0;
        cut(&grid, &(CellBox){0, 0, grid.columns, grid.rows}, &seed, &colours);
        const BrickGuess guess = {.grid = &grid};
        NEAR(brick_guess_unit(&guess) * brick_guess_count(&guess), colours - 1 + 2);
        grid_clear(&grid);
    }
}

/* In a wall of courses a brick ends at each joint, by hand; and nothing is a joint at its ends. */
static void test_wall(void **state)
{
    (void)state;
    static const uint8_t colour[12] = {0, 0, 1, 1, 2, 0, 0, 0, 0, 0, 0, 1};
    Grid grid = grid_of(4, 3);
    memcpy(grid.colour, colour, sizeof colour);
    const BrickGuess guess = {.grid = &grid, .wall = true};
    NEAR(brick_guess_count(&guess), 1 + 1 + 1);
    grid_clear(&grid);
}

/* ---- against the count of the whole face ---- */

enum { COLUMNS = 7, ROWS = 6, CELLS = COLUMNS * ROWS, COLOURS = 3 };

typedef struct Drawn {
    Grid grid;
    float thrift[CELLS];
    BrickGuess guess;
} Drawn;

static void draw_face(Drawn *d, int n, uint64_t *seed)
{
    d->grid = grid_of(COLUMNS, ROWS);
    for (int i = 0; i < CELLS; i++) {
        d->grid.colour[i] = (uint8_t)(draw(seed) % COLOURS);
        d->thrift[i] = (float)(draw(seed) % 8) / 4.0F;
    }
    d->guess = (BrickGuess){
        .grid = &d->grid, .thrift = n % 2 ? d->thrift : NULL, .wall = n % 4 > 1, .price = 2.5};
}

static double priced(const Drawn *d) { return d->guess.price * brick_guess_count(&d->guess); }

/* A run along the row or up the column, or a square of four, that begins where the box does. */
static void draw_group(CellBox *box, uint64_t *seed)
{
    const int right = COLUMNS - box->column, up = ROWS - box->row, shape = (int)(draw(seed) % 3);
    const int most = shape == 0 ? right : shape == 1 ? up : 2;
    const int side = 1 + (int)(draw(seed) % (uint64_t)(most < GROUP_MOST ? most : GROUP_MOST));
    box->columns = shape == 1 || side > right ? 1 : side;
    box->rows = shape == 0 || side > up ? 1 : side;
}

/* Whatever changes, what the parts say of it is what the whole face costs more. */
static void test_changes(void **state)
{
    (void)state;
    uint64_t seed = 5;
    for (int n = 0; n < 400; n++) {
        Drawn d;
        draw_face(&d, n, &seed);
        CellBox box = {(int)(draw(&seed) % COLUMNS), (int)(draw(&seed) % ROWS), 1, 1};
        double cost[COLOUR_SLOTS] = {0}, whole[COLOURS], around[COLOURS];
        brick_guess_add_costs(&d.guess, box.column, box.row, cost);
        for (int c = 0; c < COLOURS; c++) {
            paint(&d.grid, &box, c);
            whole[c] = priced(&d);
            around[c] = brick_guess_around(&d.guess, &box);
        }
        for (int c = 1; c < COLOURS; c++) {
            NEAR(cost[c] - cost[0], whole[c] - whole[0]);
            NEAR(around[c] - around[0], whole[c] - whole[0]);
        }
        draw_group(&box, &seed);
        BrickRing ring;
        brick_ring_init(&ring, &d.guess, &box);
        for (int c = 0; c < COLOURS; c++) {
            paint(&d.grid, &box, c);
            whole[c] = priced(&d);
        }
        for (int c = 1; c < COLOURS; c++)
            NEAR(brick_ring_cost(&ring, c) - brick_ring_cost(&ring, 0), whole[c] - whole[0]);
        grid_clear(&d.grid);
    }
}

/* Beside a cell without a colour nothing is guessed, and no colour costs more than another. */
static void test_no_colour(void **state)
{
    (void)state;
    Grid grid = grid_of(3, 3);
    memset(grid.colour, NO_COLOUR, 9);
    grid.colour[4] = 1;
    const BrickGuess guess = {.grid = &grid, .price = 1.0};
    double cost[COLOUR_SLOTS] = {0};
    NEAR(brick_guess_count(&guess), 0.0);
    brick_guess_add_costs(&guess, 1, 0, cost);
    for (int c = 0; c < COLOURS; c++) NEAR(cost[c], 0.0);
    grid_clear(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_euler),
        cmocka_unit_test(test_wall),
        cmocka_unit_test(test_changes),
        cmocka_unit_test(test_no_colour),
    };
    return cmocka_run_group_tests_name("brick_guess", tests, NULL, NULL);
}
