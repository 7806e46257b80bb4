/* Parts of faces of random cells, held against the face cell by cell: the plain meaning of a
 * rectangle is the outside source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "cells/face_part.h"
#include "support/chance.h"

#include <string.h>

enum { COLUMNS = 23, ROWS = 17, CELLS = COLUMNS * ROWS };

/* A face with all that may be asked of its cells. */
typedef struct Whole {
    float target[3 * CELLS], care[CELLS], calm[CELLS], thrift[CELLS];
    uint8_t colour[CELLS], region[CELLS];
    bool marked[CELLS], kept[CELLS];
    FaceCells cells;
} Whole;

static void fill(Whole *w, uint32_t *seed, uint32_t marks)
{
    *w = (Whole){0};
    for (int i = 0; i < CELLS; i++) {
        for (int k = 0; k < 3; k++) w->target[3 * i + k] = (float)(chance(seed) % 1000);
        w->care[i] = (float)(chance(seed) % 1000);
        w->calm[i] = (float)(chance(seed) % 1000);
        w->thrift[i] = (float)(chance(seed) % 1000);
        w->colour[i] = (uint8_t)chance(seed);
        w->region[i] = (uint8_t)chance(seed);
        w->kept[i] = chance(seed) % 2;
    }
    while (marks--) w->marked[chance(seed) % CELLS] = true;
    w->cells = (FaceCells){COLUMNS,
                           ROWS,
                           w->target,
                           w->colour,
                           w->marked,
                           {.cell = w->kept, .region = w->region, .regions = 256},
                           {w->care, w->calm, w->thrift}};
}

static void check_cell(const Whole *w, const FaceCells *c, size_t at, size_t whole)
{
    assert_memory_equal(c->target + 3 * at, w->target + 3 * whole, 3 * sizeof(float));
    assert_int_equal(c->colour[at], w->colour[whole]);
    assert_int_equal(c->marked[at], w->marked[whole]);
    assert_int_equal(c->keep.cell[at], w->kept[whole]);
    assert_int_equal(c->keep.region[at], w->region[whole]);
    assert_true(c->weights.care[at] == w->care[whole] && c->weights.calm[at] == w->calm[whole] &&
                c->weights.thrift[at] == w->thrift[whole]);
}

/* Whether some marked cell is no farther off than the margin, either way. */
static bool is_near(const Whole *w, int column, int row, int margin, bool across)
{
    for (int i = 0; i < CELLS; i++) {
        const int apart = across ? column - i % COLUMNS : row - i / COLUMNS;
        if (w->marked[i] && apart >= -margin && apart <= margin) return true;
    }
    return false;
}

/* Along each axis it begins and ends with the first and the last cell that is near a marked one. */
static void check_ends(const Whole *w, const FacePart *part, int margin)
{
    const int right = part->left + part->cells.columns, high = part->low + part->cells.rows;
    for (int column = 0; column < COLUMNS; column++) {
        const bool inside = column >= part->left && column < right;
        if (!inside) assert_false(is_near(w, column, 0, margin, true));
        if (column == part->left || column == right - 1)
            assert_true(is_near(w, column, 0, margin, true));
    }
    for (int row = 0; row < ROWS; row++) {
        const bool inside = row >= part->low && row < high;
        if (!inside) assert_false(is_near(w, 0, row, margin, false));
        if (row == part->low || row == high - 1) assert_true(is_near(w, 0, row, margin, false));
    }
}

static void a_part_has_what_the_face_has_there(void **state)
{
    (void)state;
    uint32_t seed = 5;
    static Whole w;
    FacePart part;
    Fault fault;
    for (int round = 0; round < 200; round++) {
        const int margin = (int)(chance(&seed) % 9);
        fill(&w, &seed, 1 + chance(&seed) % 4);
        assert_int_equal(face_part_init(&part, &w.cells, margin, &fault), STATUS_OK);
        check_ends(&w, &part, margin);
        for (int row = 0; row < part.cells.rows; row++)
            for (int column = 0; column < part.cells.columns; column++)
                check_cell(&w, &part.cells, (size_t)(row * part.cells.columns + column),
                           (size_t)((part.low + row) * COLUMNS + part.left + column));
        face_part_clear(&part);
    }
}

static void colours_go_back_where_they_came_from(void **state)
{
    (void)state;
    uint32_t seed = 6;
    static Whole w;
    uint8_t colour[CELLS], changed[CELLS];
    FacePart part;
    Fault fault;
    fill(&w, &seed, 2);
    assert_int_equal(face_part_init(&part, &w.cells, 3, &fault), STATUS_OK);
    const int columns = part.cells.columns, rows = part.cells.rows;
    for (int i = 0; i < columns * rows; i++) changed[i] = (uint8_t)~part.cells.colour[i];
    memcpy(colour, w.colour, sizeof colour);
    face_part_put(&part, changed, &(Grid){COLUMNS, ROWS, colour, NULL});
    for (int i = 0; i < CELLS; i++) {
        const int x = i % COLUMNS - part.left, y = i / COLUMNS - part.low;
        const bool inside = x >= 0 && x < columns && y >= 0 && y < rows;
        assert_int_equal(colour[i], inside ? (uint8_t)~w.colour[i] : w.colour[i]);
    }
    face_part_clear(&part);
}

/* Nothing is asked of any cell, and none is marked. */
static void what_the_face_has_not_the_part_has_not(void **state)
{
    (void)state;
    uint32_t seed = 7;
    static Whole w;
    FacePart part;
    Fault fault;
    fill(&w, &seed, 1);
    w.cells.keep = (Keep){.offered = 4};
    w.cells.weights = (CellWeights){0};
    assert_int_equal(face_part_init(&part, &w.cells, 1, &fault), STATUS_OK);
    assert_true(part.cells.columns > 0 && part.cells.keep.offered == 4);
    assert_true(!part.cells.keep.cell && !part.cells.keep.region && !part.cells.weights.care &&
                !part.cells.weights.calm && !part.cells.weights.thrift);
    face_part_clear(&part);
    memset(w.marked, 0, sizeof w.marked);
    assert_int_equal(face_part_init(&part, &w.cells, 1, &fault), STATUS_OK);
    assert_int_equal(part.cells.columns, 0);
    face_part_clear(&part);
}

static void no_memory_is_a_fault(void **state)
{
    (void)state;
    enum { PLANES = 8 };
    uint32_t seed = 8;
    static Whole w;
    FacePart part;
    Fault fault;
    fill(&w, &seed, 1);
    for (long i = 0; i < PLANES; i++) {
        memory_fail_after(i);
        assert_int_equal(face_part_init(&part, &w.cells, 1, &fault), STATUS_NO_RESOURCE);
        memory_fail_after(-1);
        face_part_clear(&part);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_part_has_what_the_face_has_there),
        cmocka_unit_test(colours_go_back_where_they_came_from),
        cmocka_unit_test(what_the_face_has_not_the_part_has_not),
        cmocka_unit_test(no_memory_is_a_fault),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
