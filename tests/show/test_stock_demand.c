/* The sharing out of a shelf against what must come of it: shelves on which every cell finds the
 * very colour of its picture, or none but one choice is the best. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "colour/delta_e.h"
#include "show/stock_demand.h"
#include "support/chance.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MURALS = 2, COLOURS = 12 };

/* Two murals of colours of the palette alone. */
typedef struct Scene {
    Show show;
    ShowMural mural[MURALS];
    Studio studio;
    ShowPictures pictures;
    SampledPicture picture[MURALS];
    Grid own[MURALS];
    Standing standing[MURALS];
    bool offered[PALETTE_MOST];
    uint8_t *cell[MURALS]; /* the colour of each */
    long demand[MURALS * PALETTE_MOST];
} Scene;

static Scene *scene_create(int columns, int rows)
{
    Scene *s = calloc(1, sizeof *s);
    assert_non_null(s);
    s->show = (Show){.count = MURALS, .mural = s->mural};
    snprintf(s->show.shared.stock, sizeof s->show.shared.stock, "shelf.csv");
    s->pictures = (ShowPictures){.murals = MURALS, .picture = s->picture, .own = s->own};
    s->studio.palette.count = COLOURS;
    for (int c = 0; c < COLOURS; c++) {
        const Lab lab = {15 + 6 * c, c % 3 * 25 - 25, c % 4 * 20 - 30};
        s->studio.palette.colour[c].lab = lab;
        s->offered[c] = true;
    }
    for (int m = 0; m < MURALS; m++) {
        Image *image = &s->picture[m].image;
        const size_t cells = (size_t)columns * (size_t)rows;
        job_init(&s->mural[m].job);
        s->mural[m].priority = 1;
        *image = (Image){columns, rows, calloc(cells, 3 * sizeof(float))};
        s->cell[m] = calloc(cells, 1);
        s->pictures.cells += cells;
        assert_true(image->xyz && s->cell[m]);
    }
    return s;
}

static void paint(Scene *s, int mural, size_t cell, int colour)
{
    const Xyz c = xyz_from_lab(s->studio.palette.colour[colour].lab);
    float *to = s->picture[mural].image.xyz + 3 * cell;
    to[0] = (float)c.x, to[1] = (float)c.y, to[2] = (float)c.z;
    s->cell[mural][cell] = (uint8_t)colour;
}

static Status ask(Scene *s, double memory, Fault *fault)
{
    const DemandTask task = {.show = &s->show,
                             .studio = &s->studio,
                             .pictures = &s->pictures,
                             .standing = s->standing,
                             .offered = s->offered,
                             .threads = 2,
                             .memory = memory};
    return stock_demand(&task, s->demand, NULL, fault);
}

static long demand(const Scene *s, int mural, int colour)
{
    return s->demand[mural * PALETTE_MOST + colour];
}

static void scene_free(Scene *s)
{
    for (int m = 0; m < MURALS; m++) {
        free(s->picture[m].image.xyz);
        free(s->cell[m]);
        free(s->standing[m].cell);
    }
    free(s);
}

/* 240,000 cells, of which the shelf has each one's own colour and not one brick more: of one colour
 * a single brick for a single cell. */
static void every_cell_counts(void **state)
{
    (void)state;
    enum { COLUMNS = 400, ROWS = 300 };
    uint32_t seed = 1;
    Scene *s = scene_create(COLUMNS, ROWS);
    for (int m = 0; m < MURALS; m++)
        for (size_t i = 0; i < COLUMNS * ROWS; i++)
            paint(s, m, i, (int)(chance(&seed) % (m ? 5 : COLOURS - 1)));
    paint(s, 1, 77777, COLOURS - 1);
    /* The half of the first mural stands. */
    s->standing[0] = (Standing){COLUMNS * ROWS, calloc(COLUMNS * ROWS, 1), COLUMNS * ROWS / 2, 0};
    for (size_t i = 0; i < COLUMNS * ROWS; i += 2) s->standing[0].cell[i] = true;
    long want[MURALS][COLOURS] = {{0}};
    for (int m = 0; m < MURALS; m++)
        for (size_t i = 0; i < COLUMNS * ROWS; i++) {
            if (!m && i % 2 == 0) continue;
            want[m][s->cell[m][i]]++;
            s->studio.units[s->cell[m][i]]++;
        }
    assert_int_equal(s->studio.units[COLOURS - 1], 1);
    assert_int_equal(ask(s, 1e9, NULL), STATUS_OK);
    for (int m = 0; m < MURALS; m++)
        for (int c = 0; c < COLOURS; c++) assert_int_equal(demand(s, m, c), want[m][c]);
    Fault fault;
    s->studio.units[3]--;
    assert_int_equal(ask(s, 1e9, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "shelf.csv: enough for 179999 cells of the 180000"));
    s->studio.units[3]++;
    assert_int_equal(ask(s, 1e6, &fault), STATUS_NO_RESOURCE);
    assert_non_null(strstr(fault.text, "1 MB may be taken; raise memory"));
    scene_free(s);
}

/* Ten cells of all must take a colour that is far from theirs: those of the mural of the lower
 * priority, also where that counts a ten thousandth. */
static void priority_decides_what_lacks(void **state)
{
    (void)state;
    enum { CELLS = 100, LACK = 10 };
    const int wanted = 5, near = 6, far = 0;
    Scene *s = scene_create(CELLS, 1);
    for (size_t i = 0; i < CELLS; i++) {
        paint(s, 0, i, i % 2 ? wanted : near);
        paint(s, 1, i, wanted);
    }
    s->studio.units[wanted] = 3 * CELLS / 2 - LACK;
    s->studio.units[near] = CELLS / 2;
    s->studio.units[far] = LACK;
    for (int higher = 0; higher < MURALS; higher++) {
        s->mural[higher].priority = 100;
        s->mural[1 - higher].priority = 0.01;
        assert_int_equal(ask(s, 1e9, NULL), STATUS_OK);
        assert_int_equal(demand(s, higher, far), 0);
        assert_int_equal(demand(s, 1 - higher, far), LACK);
    }
    scene_free(s);
}

/* Painted cells have the colour that they were painted in, whatever the picture shows. */
static void own_cells_have_their_colours(void **state)
{
    (void)state;
    enum { CELLS = 50 };
    Scene *s = scene_create(CELLS, 1);
    uint8_t painted[CELLS];
    memset(painted, 9, sizeof painted);
    s->own[1] = (Grid){.columns = CELLS, .rows = 1, .colour = painted};
    for (size_t i = 0; i < CELLS; i++) paint(s, 0, i, 9), paint(s, 1, i, 2);
    for (int c = 0; c < COLOURS; c++) s->studio.units[c] = CELLS;
    assert_int_equal(ask(s, 1e9, NULL), STATUS_OK);
    assert_int_equal(demand(s, 1, 9), CELLS);
    assert_int_equal(demand(s, 0, 9), 0);
    scene_free(s);
}

static void every_allocation_fails_in_turn(void **state)
{
    (void)state;
    Scene *s = scene_create(4, 4);
    for (int c = 0; c < COLOURS; c++) s->studio.units[c] = 9;
    Status status = STATUS_NO_RESOURCE;
    for (long n = 0; status; n++) {
        memory_fail_after(n);
        status = ask(s, 1e9, NULL);
        memory_fail_after(-1);
        assert_true(n < 40 && (!status || status == STATUS_NO_RESOURCE));
    }
    scene_free(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_cell_counts),
        cmocka_unit_test(priority_decides_what_lacks),
        cmocka_unit_test(own_cells_have_their_colours),
        cmocka_unit_test(every_allocation_fails_in_turn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
