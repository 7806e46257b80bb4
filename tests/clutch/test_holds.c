/* Holds: a plaque with a tower whose hold is known from its lever, a wall whose cases are known by
 * hand (see test_known_answers), the same bytes for any number of threads, and no memory. */
#include "base/memory.h"
#include "clutch/holds.h"
#include "model/job.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

enum { PANELS = 3, PANEL_COLUMNS = 12, ROWS = 8, TOWER = 6 };

typedef struct Model {
    Grid grid;
    Solid solid;
    Panel panel[PANELS];
    Panels panels;
    Sizes sizes;
    Laid laid;
    HoldTask task;
} Model;

static void put(Model *m, int column, int row, int tier, int columns, int rows, int tiers)
{
    const Brick brick = {.column = column,
                         .row = row,
                         .panel = column / PANEL_COLUMNS,
                         .tier = (uint8_t)tier,
                         .columns = (uint8_t)columns,
                         .rows = (uint8_t)rows,
                         .tiers = (uint8_t)tiers,
                         .size = (uint8_t)sizes_find(&m->sizes, columns, rows * tiers)};
    assert_int_equal(laid_add(&m->laid, &brick, NULL), STATUS_OK);
}

static void model_init(Model *m, Build build, int base)
{
    *m = (Model){0};
    assert_int_equal(grid_init(&m->grid, PANELS * PANEL_COLUMNS, ROWS, true, NULL), STATUS_OK);
    m->solid = (Solid){.grid = &m->grid, .build = build, .base = base};
    for (int i = 0; i < PANELS; i++) {
        m->panel[i] = (Panel){"", i * PANEL_COLUMNS, 0, PANEL_COLUMNS, ROWS};
        snprintf(m->panel[i].name, sizeof m->panel[i].name, "r1c%d", i + 1);
    }
    m->panels = (Panels){PANELS, 1, PANELS, m->panel, NULL};
    sizes_default(&m->sizes, 8, 9.6);
    m->task = (HoldTask){.solid = &m->solid,
                         .panels = &m->panels,
                         .laid = &m->laid,
                         .sizes = &m->sizes,
                         .model = {8, 9.6, {2.7, 1.6}},
                         .safety = 3,
                         .crate_g = 2,
                         .touch_n = 1,
                         .threads = 1};
    assert_int_equal(load_cases_read("", build, "test", &m->task.cases, NULL), STATUS_OK);
}

static void model_clear(Model *m)
{
    grid_clear(&m->grid);
    laid_clear(&m->laid);
}

/* A sheet full of 2x4, and in each panel a tower of 1x1, one brick lower from panel to panel. */
static void put_towers(Model *m)
{
    model_init(m, BUILD_PLAQUE, 1);
    for (int row = 0; row < ROWS; row += 2)
        for (int column = 0; column < m->grid.columns; column += 4) put(m, column, row, 0, 4, 2, 1);
    for (int i = 0; i < PANELS; i++)
        for (int tier = 1; tier <= TOWER - i; tier++) {
            m->grid.steps[(size_t)3 * (size_t)m->grid.columns + (size_t)(i * PANEL_COLUMNS + 5)] =
                (uint8_t)tier;
            put(m, i * PANEL_COLUMNS + 5, 3, tier, 1, 1, 1);
        }
    laid_sort(&m->laid, false);
}

/* 1 N at the top of n bricks on one knob: n h against half a pitch. */
static void a_tower_holds_by_its_lever(void **state)
{
    (void)state;
    Model m;
    Holds holds;
    put_towers(&m);
    assert_int_equal(holds_init(&holds, &m.task, NULL, NULL), STATUS_OK);
    for (int i = 0; i < PANELS; i++) {
        const PanelHolds *p = &holds.panel[i];
        const int n = TOWER - i;
        assert_true(fabs(p->least_hold_n - 2.7 * 4 / (n * 9.6)) < 1e-9);
        assert_int_equal(p->touched, 1);
        assert_int_equal(p->slight, 1);
        assert_int_equal(p->feeble, n * 9.6 > 2.7 * 4 / FEEBLE_N);
        assert_int_equal(m.laid.brick[p->least_brick].tier, n);
        assert_int_equal(m.laid.brick[p->least_joint.brick].tier, 1);
        assert_int_equal(p->least_joint.knobs, 1);
        assert_int_equal(p->least_joint.away, n);
        assert_true(p->at[CASE_HANGING].use > 0 && p->at[CASE_HANGING].use < 0.2);
        assert_int_equal(p->at[CASE_STANDING].proof, PROOF_NONE);
        assert_true(p->at[CASE_CRATE].use >= 2 * p->at[CASE_HANGING].use);
    }
    holds_clear(&holds);
    model_clear(&m);
}

/* Of a plain wall, and of a brick in it that nothing joins. */
static void put_wall(Model *m, bool gap)
{
    model_init(m, BUILD_WALL, 1);
    for (int row = 0; row < ROWS; row++)
        for (int i = 0; i < PANELS; i++)
            for (int a = 0, end; a < PANEL_COLUMNS; a = end) {
                end = a == 0 && row % 2 ? 2 : a + 4;
                if (end > PANEL_COLUMNS) end = PANEL_COLUMNS;
                if (!gap || i || row != 1) put(m, i * PANEL_COLUMNS + a, row, 0, end - a, 1, 1);
            }
    laid_sort(&m->laid, true);
}

/* Tipped at its foot: its weight at half its height against half a pitch of every knob below. */
static void a_wall_is_tipped_and_told(void **state)
{
    (void)state;
    Model m;
    Holds holds;
    put_wall(&m, false);
    assert_int_equal(holds_init(&holds, &m.task, NULL, NULL), STATUS_OK);
    double grams = 0;
    for (size_t i = 0; i < m.laid.count; i++)
        grams += m.laid.brick[i].panel ? 0 : m.sizes.size[m.laid.brick[i].size].mass_g;
    const double known = grams * 9.81e-3 * (ROWS * 9.6 / 2) / (PANEL_COLUMNS * 2.7 * 4);
    const CaseHold *tipped = &holds.panel[0].at[CASE_TIPPED];
    assert_true(tipped->use > known * 0.999 && tipped->use < known * 1.05);
    for (int k = 0; k < LOAD_CASES; k++)
        assert_int_equal(holds.panel[1].at[k].proof != PROOF_NONE,
                         load_case_applies((LoadCase)k, BUILD_WALL));
    assert_true(holds.panel[2].at[CASE_CARRIED].use < tipped->use);
    assert_true(isinf(holds.panel[0].least_hold_n));
    holds_clear(&holds);
    model_clear(&m);
    put_wall(&m, true);
    assert_int_equal(holds_init(&holds, &m.task, NULL, NULL), STATUS_OK);
    assert_true(holds.panel[0].loose > 0);
    assert_int_equal(holds.panel[1].loose, 0);
    holds_clear(&holds);
    model_clear(&m);
}

/* A joint too weak for its load: the program finds that it comes apart. */
static void a_weak_clutch_comes_apart(void **state)
{
    (void)state;
    Model m;
    Holds holds;
    put_towers(&m);
    m.task.model.knob = (KnobHold){0.02, 0.02};
    assert_int_equal(holds_init(&holds, &m.task, NULL, NULL), STATUS_OK);
    const WorstHold worst = holds_worst(&holds, PANELS);
    assert_true(worst.use > 1);
    assert_int_equal(worst.panel, 0);
    assert_true(holds.panel[0].at[worst.load_case].fails);
    assert_true(holds_failing(&holds, PANELS) > 0);
    holds_clear(&holds);
    model_clear(&m);
}

static void threads_change_nothing(void **state)
{
    (void)state;
    Model m;
    Holds one, some;
    put_towers(&m);
    assert_int_equal(holds_init(&one, &m.task, NULL, NULL), STATUS_OK);
    m.task.threads = 3;
    assert_int_equal(holds_init(&some, &m.task, NULL, NULL), STATUS_OK);
    for (int i = 0; i < PANELS; i++)
        for (int k = 0; k < LOAD_CASES; k++)
            assert_memory_equal(&one.panel[i].at[k].use, &some.panel[i].at[k].use, sizeof(double));
    assert_memory_equal(one.touch_n, some.touch_n, m.laid.count * sizeof *one.touch_n);
    holds_clear(&one);
    holds_clear(&some);
    model_clear(&m);
}

static void no_memory_is_a_fault(void **state)
{
    (void)state;
    Model m;
    Holds holds;
    Fault fault;
    put_towers(&m);
    Status status = STATUS_NO_RESOURCE;
    for (long n = 0; status; n += 1 + n / 8) {
        memory_fail_after(n);
        status = holds_init(&holds, &m.task, NULL, &fault);
        if (memory_countdown() >= 0) memory_fail_after(-1);
        if (status) assert_int_equal(status, STATUS_NO_RESOURCE);
        holds_clear(&holds);
    }
    memory_fail_after(-1);
    model_clear(&m);
}

static void cases_are_read(void **state)
{
    (void)state;
    unsigned cases;
    Fault fault;
    assert_int_equal(load_cases_read("hanging,crate", BUILD_PLAQUE, "x", &cases, &fault), 0);
    assert_int_equal(cases, 1U << CASE_HANGING | 1U << CASE_CRATE);
    assert_int_equal(load_cases_read("hung", BUILD_PLAQUE, "x", &cases, &fault), STATUS_USAGE);
    assert_int_equal(load_cases_read("hang", BUILD_PLAQUE, "x", &cases, &fault), STATUS_USAGE);
    assert_int_equal(load_cases_read("hanging,,crate", BUILD_PLAQUE, "x", &cases, &fault),
                     STATUS_USAGE);
    assert_non_null(strstr(fault.text, "give some of hanging,side,face-down,crate"));
}

/* Help names them all. */
static void cases_are_told(void **state)
{
    (void)state;
    const char *help = setting_find("load-cases")->help;
    for (int i = 0; i < LOAD_CASES; i++)
        if (!strstr(help, load_cases[i].name)) fail_msg("%s is not in help", load_cases[i].name);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tower_holds_by_its_lever),
        cmocka_unit_test(a_wall_is_tipped_and_told),
        cmocka_unit_test(a_weak_clutch_comes_apart),
        cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(no_memory_is_a_fault),
        cmocka_unit_test(cases_are_read),
        cmocka_unit_test(cases_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
