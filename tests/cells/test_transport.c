/* Rationing against brute force, against a general-purpose solver of linear programmes
 * (glpsol of the GNU Linear Programming Kit), and by its own proof: prices. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "cells/transport.h"
#include "colour/delta_e.h"
#include "support/chance.h"
#include "support/scratch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static int64_t weighed(const Transport *r, size_t cell, int colour)
{
    return (int64_t)(r->weight ? r->weight[cell] : 1) *
           r->cost[cell * (size_t)r->colours + (size_t)colour];
}

static int64_t total(const Transport *r, const uint8_t *colour)
{
    int64_t sum = 0;
    for (size_t i = 0; i < r->cells; i++) sum += weighed(r, i, colour[i]);
    return sum;
}

/* Limits hold, and by the prices no choice is better: sum of the least (cost + price) over
 * cells, less what the limits take of the prices, bounds every choice from below. */
static void assert_optimal(const Transport *r, const uint8_t *colour, const int64_t *price)
{
    long taken[PALETTE_MOST] = {0};
    int64_t bound = 0;
    for (size_t i = 0; i < r->cells; i++) {
        const uint16_t *cost = r->cost + i * (size_t)r->colours;
        int64_t least = INT64_MAX;
        for (int c = 0; c < r->colours; c++)
            if (cost[c] != TRANSPORT_NEVER && weighed(r, i, c) + price[c] < least)
                least = weighed(r, i, c) + price[c];
        bound += least;
        taken[colour[i]]++;
    }
    for (int c = 0; c < r->colours; c++) {
        assert_true(price[c] >= 0);
        if (!r->limit || r->limit[c] < 0) {
            assert_int_equal(price[c], 0);
            continue;
        }
        assert_true(taken[c] <= r->limit[c]);
        if (price[c]) bound -= price[c] * r->limit[c];
    }
    assert_int_equal(total(r, colour), bound);
}

static bool takes_barred(const Transport *r, const uint8_t *colour)
{
    bool any = false;
    for (size_t i = 0; i < r->cells; i++)
        any |= r->cost[i * (size_t)r->colours + colour[i]] == TRANSPORT_NEVER;
    return any;
}

/* INT64_MAX: there is no choice. */
static int64_t brute_force(const Transport *r)
{
    int64_t best = INT64_MAX;
    long sets = 1;
    for (size_t i = 0; i < r->cells; i++) sets *= r->colours;
    for (long set = 0; set < sets; set++) {
        uint8_t colour[9];
        long taken[3] = {0}, rest = set;
        for (size_t i = 0; i < r->cells; i++, rest /= r->colours) {
            colour[i] = (uint8_t)(rest % r->colours);
            taken[colour[i]]++;
        }
        bool fits = !takes_barred(r, colour);
        for (int c = 0; c < r->colours; c++) fits &= r->limit[c] < 0 || taken[c] <= r->limit[c];
        if (fits && total(r, colour) < best) best = total(r, colour);
    }
    return best;
}

/* Methods D8: 3 x 3 cells of 3 colours, every one of the 3^9 choices; at times some cells count
 * more than others, at the most as much as they may at the greatest costs. */
static void nine_cells_by_brute_force(void **state)
{
    (void)state;
    uint32_t seed = 1;
    for (int round = 0; round < 60; round++) {
        uint16_t cost[27], weight[9];
        /* Few different costs in some rounds, for ties. */
        for (int i = 0; i < 27; i++) cost[i] = (uint16_t)(chance(&seed) % (round % 3 ? 65535 : 4));
        for (int i = 0; i < 9; i++)
            weight[i] = (uint16_t)(chance(&seed) % 2 ? TRANSPORT_WEIGHT_MOST : 1 + round);
        long limit[3];
        do
            for (int c = 0; c < 3; c++) limit[c] = (long)(chance(&seed) % 8) - (round % 4 == 0);
        while (limit[0] >= 0 && limit[1] >= 0 && limit[2] >= 0 &&
               limit[0] + limit[1] + limit[2] < 9);
        const Transport ration = {9, 3, cost, limit, round % 2 ? weight : NULL};
        uint8_t colour[9];
        int64_t price[3];
        assert_int_equal(transport_solve(&ration, colour, price, NULL, NULL), 0);
        assert_int_equal(total(&ration, colour), brute_force(&ration));
        assert_optimal(&ration, colour, price);
    }
}

/* The same where half of the choices are barred, which at times leaves none. */
static void barred_cells_by_brute_force(void **state)
{
    (void)state;
    uint32_t seed = 3;
    int solved = 0;
    for (int round = 0; round < 200; round++) {
        uint16_t cost[27];
        long limit[3];
        for (int i = 0; i < 27; i++)
            cost[i] = chance(&seed) % 4 ? TRANSPORT_NEVER : (uint16_t)(chance(&seed) % 5000);
        for (int i = 0; i < 9; i++)
            cost[3 * i + (int)(chance(&seed) % 3)] = (uint16_t)(chance(&seed) % 5000);
        for (int c = 0; c < 3; c++) limit[c] = 3 + (long)(chance(&seed) % 3);
        const Transport ration = {9, 3, cost, limit, NULL};
        uint8_t colour[9];
        int64_t price[3];
        const int64_t least = brute_force(&ration);
        const Status status = transport_solve(&ration, colour, price, NULL, NULL);
        assert_int_equal(status, least == INT64_MAX ? STATUS_DATA : STATUS_OK);
        if (status) continue;
        solved++;
        assert_false(takes_barred(&ration, colour));
        assert_int_equal(total(&ration, colour), least);
        assert_optimal(&ration, colour, price);
    }
    assert_in_range(solved, 60, 199);
}

/* Limits that a drawn choice fills to the last cell: samples of the problem have no solution, the
 * whole has. */
static void barred_cells_that_just_fit(void **state)
{
    (void)state;
    enum { CELLS = 6000, COLOURS = 9 };
    uint32_t seed = 4;
    uint16_t *cost = malloc(CELLS * COLOURS * sizeof *cost);
    uint8_t *colour = malloc(CELLS);
    long limit[COLOURS] = {0};
    int64_t price[COLOURS];
    assert_true(cost && colour);
    for (int i = 0; i < CELLS; i++) {
        const int drawn = (int)(chance(&seed) % COLOURS * (chance(&seed) % 2));
        for (int c = 0; c < COLOURS; c++)
            cost[i * COLOURS + c] = c == drawn || chance(&seed) % 4 == 0
                                        ? (uint16_t)(chance(&seed) % 20000)
                                        : TRANSPORT_NEVER;
        limit[drawn]++;
    }
    const Transport ration = {CELLS, COLOURS, cost, limit, NULL};
    assert_int_equal(transport_solve(&ration, colour, price, NULL, NULL), STATUS_OK);
    assert_false(takes_barred(&ration, colour));
    assert_optimal(&ration, colour, price);
    free(colour);
    free(cost);
}

/* Writes the problem in the CPLEX LP format and lets glpsol solve it. The programme of a
 * transportation problem has whole corners, so no integers need be asked for. */
static double solve_outside(const Transport *r)
{
    char name[SCRATCH_MOST], line[200];
    assert_true(scratch_file(name));
    FILE *file = fopen(name, "w");
    assert_non_null(file);
    fprintf(file, "Minimize\n cost:");
    for (size_t i = 0; i < r->cells; i++)
        for (int c = 0; c < r->colours; c++)
            fprintf(file, " + %d x%zu_%d\n", r->cost[i * (size_t)r->colours + (size_t)c], i, c);
    fprintf(file, "Subject To\n");
    for (size_t i = 0; i < r->cells; i++) {
        for (int c = 0; c < r->colours; c++) fprintf(file, " + x%zu_%d", i, c);
        fprintf(file, " = 1\n");
    }
    for (int c = 0; c < r->colours; c++) {
        if (r->limit[c] < 0) continue;
        for (size_t i = 0; i < r->cells; i++)
            fprintf(file, " + x%zu_%d%s", i, c, i % 20 == 19 ? "\n" : "");
        fprintf(file, " <= %ld\n", r->limit[c]);
    }
    fprintf(file, "End\n");
    fclose(file);
    snprintf(line, sizeof line, "glpsol --lp %s -o %s.out > /dev/null", name, name);
    assert_int_equal(system(line), 0);
    snprintf(line, sizeof line, "%s.out", name);
    file = fopen(line, "r");
    assert_non_null(file);
    double value = -1;
    while (fgets(line, sizeof line, file)) sscanf(line, "Objective: cost = %lf", &value);
    fclose(file);
    unlink(name);
    snprintf(line, sizeof line, "%s.out", name);
    unlink(line);
    return value;
}

static void four_hundred_cells_as_a_solver_does(void **state)
{
    (void)state;
    enum { CELLS = 400, COLOURS = 7 };
    uint32_t seed = 2;
    for (int round = 0; round < 4; round++) {
        static uint16_t cost[CELLS * COLOURS];
        for (int i = 0; i < CELLS * COLOURS; i++)
            cost[i] = (uint16_t)(chance(&seed) % (round ? 6000 : 9));
        const long limit[COLOURS] = {20, 90, 0, 70, round % 2 ? -1 : 150, 60, 30};
        const Transport ration = {CELLS, COLOURS, cost, limit, NULL};
        uint8_t colour[CELLS];
        int64_t price[COLOURS];
        assert_int_equal(transport_solve(&ration, colour, price, NULL, NULL), 0);
        assert_optimal(&ration, colour, price);
        assert_true(fabs(solve_outside(&ration) - (double)total(&ration, colour)) < 1e-3);
    }
}

/* Many cells: several problems in growing order. The prices are the proof. A third of the
 * cells are all alike, as plain grounds are. */
static void many_cells_by_their_prices(void **state)
{
    (void)state;
    enum { CELLS = 30011, COLOURS = 24 };
    uint32_t seed = 3;
    uint16_t *cost = calloc(CELLS * COLOURS, sizeof *cost);
    for (int i = 0; i < CELLS; i++) {
        const int at = i % 3 ? (int)(chance(&seed) % 4000) : 1700;
        for (int c = 0; c < COLOURS; c++)
            cost[i * COLOURS + c] =
                (uint16_t)(abs(at - 160 * c) + (int)(i % 3 ? chance(&seed) % 300 : 0));
    }
    for (int round = 0; round < 3; round++) {
        long limit[COLOURS];
        for (int c = 0; c < COLOURS; c++)
            limit[c] = round == 0 ? -1 : round == 1 ? CELLS / COLOURS + 1 : 600 + 100 * c;
        const Transport ration = {CELLS, COLOURS, cost, limit, NULL};
        uint8_t *colour = malloc(CELLS);
        int64_t price[COLOURS];
        assert_int_equal(transport_solve(&ration, colour, price, NULL, NULL), 0);
        assert_optimal(&ration, colour, price);
        free(colour);
    }
    free(cost);
}

static void too_little_is_said(void **state)
{
    (void)state;
    const uint16_t cost[4] = {1, 2, 3, 4};
    const long limit[2] = {1, 0};
    const Transport ration = {2, 2, cost, limit, NULL};
    uint8_t colour[2];
    Fault fault;
    assert_int_equal(transport_solve(&ration, colour, NULL, NULL, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "1 cells, the mural has 2"));
}

/* Against the plain formula, which test_delta_e holds to the published pairs: for random
 * colours, for those of the palette themselves and hardly beside them, and for opposite hues. */
static void costs_are_the_formulas(void **state)
{
    (void)state;
    enum { COLUMNS = 100, ROWS = 60 };
    static Palette palette;
    static float xyz[3 * COLUMNS * ROWS];
    const Image image = {COLUMNS, ROWS, xyz};
    uint32_t seed = 5;
    uint16_t *cost;
    palette.count = 19; /* not so many as lanes go into */
    for (int c = 0; c < palette.count; c++)
        palette.colour[c].lab = (Lab){chance(&seed) % 101, (double)(chance(&seed) % 161) - 80,
                                      (double)(chance(&seed) % 161) - 80};
    palette.colour[0].lab = (Lab){0, 0, 0};
    palette.colour[1].lab = (Lab){50, 40, 30};
    palette.colour[2].lab = (Lab){50, -40, -30};
    for (size_t i = 0; i < COLUMNS * ROWS; i++) {
        Lab lab = palette.colour[i % 19].lab;
        if (i % 3) {
            const double beside = i % 3 == 1 ? 1e-3 : 30;
            lab.L = fmin(fmax(lab.L + beside * (chance(&seed) % 201 / 100.0 - 1), 0), 100);
            lab.a += beside * (chance(&seed) % 201 / 100.0 - 1);
            lab.b += beside * (chance(&seed) % 201 / 100.0 - 1);
        }
        const Xyz c = xyz_from_lab(lab);
        xyz[3 * i] = (float)c.x, xyz[3 * i + 1] = (float)c.y, xyz[3 * i + 2] = (float)c.z;
    }
    assert_int_equal(transport_costs(&image, &palette, 2, NULL, &cost, NULL), 0);
    for (size_t i = 0; i < COLUMNS * ROWS; i++) {
        const Lab lab = lab_from_xyz(image_at(&image, (int)(i % COLUMNS), (int)(i / COLUMNS)));
        for (int c = 0; c < palette.count; c++) {
            const double e = TRANSPORT_UNIT * delta_e_2000(lab, palette.colour[c].lab);
            const double off = fabs(cost[i * 19 + (size_t)c] - e);
            assert_true(off <= 0.5 + e / 1000);
        }
    }
    memory_free(cost);
    for (long n = 0; n < 2; n++) {
        Fault fault;
        memory_fail_after(n);
        assert_int_equal(transport_costs(&image, &palette, 1, NULL, &cost, &fault),
                         STATUS_NO_RESOURCE);
    }
    memory_fail_after(-1);
}

static void every_allocation_fails_in_turn(void **state)
{
    (void)state;
    const uint16_t cost[4] = {1, 2, 3, 4};
    const long limit[2] = {1, 1};
    const Transport ration = {2, 2, cost, limit, NULL};
    uint8_t colour[2];
    for (long n = 0; n < 3; n++) {
        Fault fault;
        memory_fail_after(n);
        assert_int_equal(transport_solve(&ration, colour, NULL, NULL, &fault), STATUS_NO_RESOURCE);
    }
    memory_fail_after(-1);
    assert_int_equal(transport_solve(&ration, colour, NULL, NULL, NULL), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nine_cells_by_brute_force),
        cmocka_unit_test(barred_cells_by_brute_force),
        cmocka_unit_test(barred_cells_that_just_fit),
        cmocka_unit_test(four_hundred_cells_as_a_solver_does),
        cmocka_unit_test(many_cells_by_their_prices),
        cmocka_unit_test(too_little_is_said),
        cmocka_unit_test(costs_are_the_formulas),
        cmocka_unit_test(every_allocation_fails_in_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
