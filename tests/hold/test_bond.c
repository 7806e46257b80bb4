/* Bond: what the report says of hand-made walls whose faults are known, and of random
 * ones surveyed a second time by brute force. */
#include "base/memory.h"
#include "hold/bond.h"
#include "support/chance.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

typedef struct Model {
    Grid grid;
    Solid solid;
    Panel panel[4];
    Panels panels;
    Laid laid;
} Model;

static void model_init(Model *m, Build build, int base, int columns, int rows)
{
    Fault fault;
    *m = (Model){0};
    assert_int_equal(grid_init(&m->grid, columns, rows, false, &fault), STATUS_OK);
    m->solid = (Solid){.grid = &m->grid, .build = build, .base = base};
    m->panel[0] = (Panel){"r1c1", 0, 0, columns, rows};
    m->panels = (Panels){1, 1, 1, m->panel, NULL};
}

static void model_clear(Model *m)
{
    grid_clear(&m->grid);
    laid_clear(&m->laid);
}

static void put(Model *m, int column, int row, int tier, int columns, int rows, int tiers)
{
    Fault fault;
    const Brick brick = {.column = column,
                         .row = row,
                         .panel = 0,
                         .tier = (uint8_t)tier,
                         .columns = (uint8_t)columns,
                         .rows = (uint8_t)rows,
                         .tiers = (uint8_t)tiers};
    assert_int_equal(laid_add(&m->laid, &brick, &fault), STATUS_OK);
}

static Bond survey(const Model *m)
{
    Bond bond;
    Fault fault;
    assert_int_equal(bond_init(&bond, &m->solid, &m->panels, &m->laid, 1, &fault), STATUS_OK);
    return bond;
}

static int flaws_of(const Bond *bond, FlawKind kind)
{
    int found = 0;
    for (size_t i = 0; i < bond->flaws; i++) found += bond->flaw[i].kind == kind;
    return found;
}

/* One course of a wall one thick, cut at every column where joint[column] is '|'. */
static void put_course(Model *m, int row, const char *joint)
{
    const int columns = m->grid.columns;
    for (int x = 0; x < columns;) {
        int end = x + 1;
        while (end < columns && joint[end] != '|') end++;
        put(m, x, row, 0, end - x, 1, 1);
        x = end;
    }
}

static void mark(char *joint, int columns, int period, int a, int b)
{
    memset(joint, '.', (size_t)columns);
    for (int x = 0; x < columns; x++)
        if (x % period == a || x % period == b) joint[x] = '|';
}

/* Bond patterns of masonry as sets of joints, four units a stretcher, two a header, with
 * the lap that each must yield: stretcher bond 2, English and Flemish bond 1; each is a
 * quarter of the stretcher or more. (Quarter-length rule: running bond as TMS 402 defines
 * it, from a secondary source.) */
static void wall_panel_bonds_lap_by_a_quarter(void **state)
{
    (void)state;
    static const struct {
        int period[2], a[2], b[2];
    } bond_of[] = {
        {{4, 4}, {0, 2}, {0, 2}}, /* stretcher */
        {{4, 2}, {0, 1}, {0, 1}}, /* English */
        {{6, 6}, {0, 1}, {4, 3}}, /* Flemish */
    };
    for (size_t i = 0; i < sizeof bond_of / sizeof *bond_of; i++) {
        Model m;
        model_init(&m, BUILD_WALL, 1, 48, 10);
        for (int row = 0; row < 10; row++) {
            char joint[48];
            const int k = row % 2;
            mark(joint, 48, bond_of[i].period[k], bond_of[i].a[k], bond_of[i].b[k]);
            put_course(&m, row, joint);
        }
        Bond bond = survey(&m);
        assert_int_equal(bond.panel[0].pieces, 1);
        assert_int_equal(bond.panel[0].longest_straight_joint, 1);
        assert_true(bond.panel[0].quarter_lap == 1);
        assert_int_equal(flaws_of(&bond, FLAW_STRAIGHT_JOINT), 0);
        bond_clear(&bond);
        model_clear(&m);
    }
}

/* By hand: bricks of 8 over bricks of 8 with lap 1 fail the quarter, with lap 2 pass; a
 * stack has no lap at all. */
static void laps_by_hand(void **state)
{
    (void)state;
    static const struct {
        const char *upper;
        double share;
    } over[] = {
        {".........|.......|.......", 0}, {"..........|.......|......", 1},
        {"........|.......|........", 0}, {"........|..........|.....", 0.5},
        {"......|.....|............", 1},
    };
    for (size_t i = 0; i < sizeof over / sizeof *over; i++) {
        Model m;
        model_init(&m, BUILD_WALL, 1, 24, 2);
        put_course(&m, 0, "........|.......|.......");
        put_course(&m, 1, over[i].upper);
        Bond bond = survey(&m);
        assert_true(bond.panel[0].quarter_lap == over[i].share);
        bond_clear(&bond);
        model_clear(&m);
    }
}

/* A planted hinge: every course has a joint at column 6; it is found with its length, and
 * the wall is in two pieces. With one brick across, it is one piece and two shorter joints. */
static void hinge_line_is_found(void **state)
{
    (void)state;
    for (int crossed = 0; crossed < 2; crossed++) {
        Model m;
        model_init(&m, BUILD_WALL, 1, 12, 9);
        for (int row = 0; row < 9; row++)
            put_course(&m, row,
                       crossed && row == 5 ? "...|....|..."
                       : row % 2           ? "..|...|...|."
                                           : "....|.|..|..");
        Bond bond = survey(&m);
        assert_int_equal(bond.panel[0].pieces, crossed ? 1 : 2);
        assert_int_equal(bond.panel[0].longest_straight_joint, crossed ? 5 : 9);
        assert_int_equal(flaws_of(&bond, FLAW_STRAIGHT_JOINT), crossed ? 2 : 1);
        assert_int_equal(flaws_of(&bond, FLAW_PIECE), crossed ? 0 : 1);
        for (size_t i = 0; i < bond.flaws; i++) {
            const Flaw *flaw = &bond.flaw[i];
            if (flaw->kind != FLAW_STRAIGHT_JOINT) continue;
            assert_int_equal(flaw->column, 6);
            assert_int_equal(flaw->length, !crossed ? 9 : flaw->row == 0 ? 5 : 3);
        }
        if (crossed) /* and the one brick across is the one that must not go */
            assert_true(bond.panel[0].weak >= 1);
        bond_clear(&bond);
        model_clear(&m);
    }
}

/* A planted articulation brick: two towers that only one brick joins. */
static void articulation_brick_is_found(void **state)
{
    (void)state;
    Model m;
    model_init(&m, BUILD_WALL, 2, 8, 7);
    for (int row = 0; row < 7; row++)
        for (int side = 0; side < 8; side += 4) {
            if (row == 3 && side == 0) { /* 1, 6 across, 1 in front; cut behind */
                put(&m, 0, 3, 0, 4, 1, 1);
                put(&m, 4, 3, 0, 4, 1, 1);
                put(&m, 0, 3, 1, 1, 1, 1);
                put(&m, 1, 3, 1, 6, 1, 1);
                put(&m, 7, 3, 1, 1, 1, 1);
            } else if (row != 3 && row % 2) {
                put(&m, side, row, 0, 4, 1, 1);
                put(&m, side, row, 1, 4, 1, 1);
            } else if (row != 3) {
                put(&m, side, row, 0, 2, 1, 2);
                put(&m, side + 2, row, 0, 2, 1, 2);
            }
        }
    Bond bond = survey(&m);
    assert_int_equal(bond.panel[0].pieces, 1);
    assert_int_equal(bond.panel[0].weak, 1);
    assert_int_equal(flaws_of(&bond, FLAW_WEAK), 1);
    for (size_t i = 0; i < bond.flaws; i++)
        if (bond.flaw[i].kind == FLAW_WEAK) {
            assert_int_equal(bond.flaw[i].column, 1);
            assert_int_equal(bond.flaw[i].row, 3);
            assert_int_equal(bond.flaw[i].tier, 1);
        }
    bond_clear(&bond);
    model_clear(&m);
}

/* A plaque's base sheet joins its first tier; joints in a flat plaque are measured, not
 * flaws; a brick of the second tier over nothing is unsupported and a piece of its own. */
static void base_sheet_joins_a_plaque(void **state)
{
    (void)state;
    Model m;
    model_init(&m, BUILD_PLAQUE, 1, 4, 6);
    for (int row = 0; row < 6; row++)
        for (int x = 0; x < 4; x += 2)
            if (row != 5 || x == 0) put(&m, x, row, 0, 2, 1, 1);
    put(&m, 0, 0, 1, 1, 1, 1);
    put(&m, 1, 1, 1, 2, 1, 1);
    put(&m, 2, 5, 1, 1, 1, 1);
    Bond bond = survey(&m);
    assert_int_equal(bond.panel[0].pieces, 2);
    assert_int_equal(bond.panel[0].unsupported, 1);
    assert_int_equal(bond.panel[0].weak, 1); /* the one that alone carries the first of these */
    assert_int_equal(bond.panel[0].longest_straight_joint, 5);
    assert_int_equal(flaws_of(&bond, FLAW_STRAIGHT_JOINT), 0);
    assert_int_equal(flaws_of(&bond, FLAW_PIECE), 1);
    bond_clear(&bond);
    model_clear(&m);
}

/* A second survey that shares nothing with the first: units in a cube, bricks joined unit by
 * unit, every brick taken out in turn. */
enum { SIDE = 14 };

typedef struct Brute {
    int unit[SIDE][SIDE][SIDE]; /* layer, then along, then across; -1 is none */
    int count;
    bool plaque;
    const Brick *brick;
} Brute;

static void brute_fill(Brute *b, const Model *m)
{
    memset(b->unit, -1, sizeof b->unit);
    b->count = (int)m->laid.count;
    b->plaque = m->solid.build == BUILD_PLAQUE;
    b->brick = m->laid.brick;
    for (int i = 0; i < b->count; i++) {
        const Brick *k = &b->brick[i];
        for (int r = k->row; r < k->row + k->rows; r++)
            for (int t = k->tier; t < k->tier + k->tiers; t++)
                for (int x = k->column; x < k->column + k->columns; x++)
                    *(b->plaque ? &b->unit[t][r][x] : &b->unit[r][t][x]) = i;
    }
}

/* Marks bricks that hang together without brick `gone` (-1: with all) by the first of them. */
static void brute_marks(const Brute *b, int gone, int mark[SIDE * SIDE * SIDE])
{
    for (int i = 0; i < b->count; i++) mark[i] = i;
    for (bool changed = true; changed;) {
        changed = false;
        for (int l = 0; l < SIDE; l++)
            for (int y = 0; y < SIDE; y++)
                for (int x = 0; x < SIDE; x++) {
                    const int p = b->unit[l][y][x];
                    int q = l + 1 < SIDE ? b->unit[l + 1][y][x] : -1;
                    if (p < 0 || p == gone) continue;
                    if (b->plaque && l == 0) { /* all of the first tier is one with the sheet */
                        for (int i = 0; i < b->count; i++)
                            if (i != gone && b->brick[i].tier == 0 && mark[i] < mark[p]) {
                                mark[p] = mark[i];
                                changed = true;
                            }
                    }
                    if (q < 0 || q == gone || mark[p] == mark[q]) continue;
                    const int least = mark[p] < mark[q] ? mark[p] : mark[q];
                    mark[p] = mark[q] = least;
                    changed = true;
                }
    }
}

/* How many pieces these are; a base sheet is there even if it is bare. */
static int brute_pieces(const Brute *b, int gone)
{
    int mark[SIDE * SIDE * SIDE], pieces = 0;
    brute_marks(b, gone, mark);
    bool sheet_bare = b->plaque;
    for (int i = 0; i < b->count; i++) {
        pieces += i != gone && mark[i] == i;
        if (i != gone && b->brick[i].tier == 0) sheet_bare = false;
    }
    return pieces + sheet_bare;
}

/* Whether a piece loses its joints when the brick goes: more pieces remain than before,
 * where a brick that was a piece of its own goes with it. */
static int brute_weak(const Brute *b)
{
    const int whole = brute_pieces(b, -1);
    int weak = 0;
    for (int i = 0; i < b->count; i++) weak += brute_pieces(b, i) > whole;
    return weak;
}

/* Units that come off the rest of its piece without a brick: all but its heaviest part, which in a
 * plaque is that of the base sheet. */
static long brute_lost(const Brute *b, int gone)
{
    int whole[SIDE * SIDE * SIDE], mark[SIDE * SIDE * SIDE];
    long part[SIDE * SIDE * SIDE] = {0}, all = 0, most = 0;
    brute_marks(b, -1, whole);
    brute_marks(b, gone, mark);
    bool sheet = false;
    for (int i = 0; i < b->count; i++) {
        const Brick *k = &b->brick[i];
        const long units = k->columns * k->rows * k->tiers;
        if (whole[i] != whole[gone]) continue;
        sheet = sheet || (b->plaque && k->tier == 0);
        if (i == gone) continue;
        all += units;
        part[mark[i]] += units;
    }
    for (int i = 0; i < b->count; i++) {
        if (i == gone || whole[i] != whole[gone]) continue;
        const bool kept = !sheet || b->brick[i].tier == 0;
        if (kept && part[mark[i]] > most) most = part[mark[i]];
    }
    return all - most;
}

static int brute_unsupported(const Brute *b)
{
    int found = 0;
    for (int i = 0; i < b->count; i++) {
        bool rests = false;
        for (int l = 0; l < SIDE; l++)
            for (int y = 0; y < SIDE; y++)
                for (int x = 0; x < SIDE; x++)
                    if (b->unit[l][y][x] == i && (l == 0 || b->unit[l - 1][y][x] >= 0))
                        rests = true;
        found += !rests;
    }
    return found;
}

static int brute_longest(const Brute *b)
{
    int longest = 0;
    for (int x = 1; x < SIDE; x++)
        for (int from = 0; from < SIDE; from++)
            for (int fixed = 0; fixed < (b->plaque ? SIDE : 1); fixed++) {
                int length = 0;
                for (int at = from; at < SIDE; at++) {
                    bool left = false, right = false, across = false;
                    for (int t = 0; t < (b->plaque ? 1 : SIDE); t++) {
                        const int *u = b->plaque ? b->unit[fixed][at] : b->unit[at][t];
                        left = left || u[x - 1] >= 0;
                        right = right || u[x] >= 0;
                        across = across || (u[x] >= 0 && u[x] == u[x - 1]);
                    }
                    if (!left || !right || across) break;
                    length++;
                }
                if (length > longest) longest = length;
            }
    return longest;
}

/* Random bricks, some places left out. */
static void scatter(Model *m, uint32_t *seed, int layers, int deep, int across)
{
    const bool plaque = m->solid.build == BUILD_PLAQUE;
    for (int l = 0; l < layers; l++) {
        bool taken[SIDE][SIDE] = {{0}};
        for (int y = 0; y < deep; y++)
            for (int x = 0; x < across; x++) {
                if (taken[y][x] || (l > 0 && chance(seed) % 12 == 0)) continue;
                int w = 1 + (int)(chance(seed) % 4), d = 1 + (int)(chance(seed) % 2);
                while (x + w > across) w--;
                for (int i = 1; i < w; i++)
                    if (taken[y][x + i]) w = i;
                if (y + d > deep) d = 1;
                for (int j = 0; j < d; j++)
                    for (int i = 0; i < w; i++) taken[y + j][x + i] = true;
                if (plaque)
                    put(m, x, y, l, w, d, 1);
                else
                    put(m, x, l, y, w, 1, d);
            }
    }
}

/* Weak bricks that hold more than they are themselves, and 3 units at least. */
static int brute_grave(const Brute *b)
{
    const int whole = brute_pieces(b, -1);
    int grave = 0;
    for (int i = 0; i < b->count; i++) {
        const Brick *k = &b->brick[i];
        if (brute_pieces(b, i) <= whole) continue;
        const long lost = brute_lost(b, i);
        grave += lost >= 3 && lost > k->columns * k->rows * k->tiers;
    }
    return grave;
}

static void random_walls_agree_with_brute_force(void **state)
{
    (void)state;
    uint32_t seed = 7;
    static Brute b;
    for (int round = 0; round < 120; round++) {
        const bool plaque = round % 3 == 0;
        const int layers = 2 + (int)(chance(&seed) % 5), deep = 1 + (int)(chance(&seed) % 3),
                  across = 2 + (int)(chance(&seed) % 9);
        Model m;
        model_init(&m, plaque ? BUILD_PLAQUE : BUILD_WALL, plaque ? 1 : deep, across,
                   plaque ? deep : layers);
        scatter(&m, &seed, layers, deep, across);
        brute_fill(&b, &m);
        Bond bond = survey(&m);
        assert_int_equal(bond.panel[0].pieces, brute_pieces(&b, -1));
        assert_int_equal(bond.panel[0].weak, brute_weak(&b));
        assert_int_equal(bond.panel[0].unsupported, brute_unsupported(&b));
        assert_int_equal(bond.panel[0].longest_straight_joint, brute_longest(&b));
        assert_int_equal(flaws_of(&bond, FLAW_PIECE), bond.panel[0].pieces - 1);
        assert_int_equal(flaws_of(&bond, FLAW_WEAK), brute_grave(&b));
        assert_int_equal(flaws_of(&bond, FLAW_UNSUPPORTED), bond.panel[0].unsupported);
        for (size_t i = 0; i < bond.flaws; i++)
            if (bond.flaw[i].kind == FLAW_WEAK)
                assert_int_equal(bond.flaw[i].lost, brute_lost(&b, (int)bond.flaw[i].brick));
        bond_clear(&bond);
        model_clear(&m);
    }
}

/* The report does not depend on threads, nor on the order in which bricks are listed. */
static void threads_and_order_do_not_matter(void **state)
{
    (void)state;
    uint32_t seed = 11;
    Model m;
    model_init(&m, BUILD_WALL, 2, 10, 10);
    scatter(&m, &seed, 10, 2, 10);
    for (int p = 0; p < 4; p++)
        m.panel[p] = (Panel){{'p', (char)('0' + p), 0}, p % 2 * 5, p / 2 * 5, 5, 5};
    m.panels = (Panels){2, 2, 4, m.panel, NULL};
    for (size_t i = 0; i < m.laid.count; i++) {
        Brick *k = &m.laid.brick[i];
        if (k->column < 5 && k->column + k->columns > 5) k->columns = (uint8_t)(5 - k->column);
        k->panel = k->column / 5 + k->row / 5 * 2;
    }
    Bond one, four;
    Fault fault;
    assert_int_equal(bond_init(&one, &m.solid, &m.panels, &m.laid, 1, &fault), STATUS_OK);
    assert_int_equal(bond_init(&four, &m.solid, &m.panels, &m.laid, 4, &fault), STATUS_OK);
    assert_int_equal(one.flaws, four.flaws);
    assert_memory_equal(one.panel, four.panel, 4 * sizeof *one.panel);
    for (size_t i = 0; i < one.flaws; i++) {
        assert_int_equal(one.flaw[i].brick, four.flaw[i].brick);
        assert_int_equal(one.flaw[i].kind, four.flaw[i].kind);
        assert_true(i == 0 || one.flaw[i].panel >= one.flaw[i - 1].panel);
    }
    bond_clear(&four);
    for (size_t i = 0, j = m.laid.count - 1; i < j; i++, j--) {
        const Brick swap = m.laid.brick[i];
        m.laid.brick[i] = m.laid.brick[j];
        m.laid.brick[j] = swap;
    }
    assert_int_equal(bond_init(&four, &m.solid, &m.panels, &m.laid, 4, &fault), STATUS_OK);
    assert_memory_equal(one.panel, four.panel, 4 * sizeof *one.panel);
    assert_int_equal(one.flaws, four.flaws);
    bond_clear(&one);
    bond_clear(&four);
    model_clear(&m);
}

/* Every allocation fails once: a fault each time, nothing kept, then success. */
static void each_allocation_may_fail(void **state)
{
    (void)state;
    uint32_t seed = 5;
    Model m;
    model_init(&m, BUILD_WALL, 2, 8, 8);
    scatter(&m, &seed, 8, 2, 8);
    for (long n = 0;; n++) {
        Bond bond;
        Fault fault = {0};
        memory_fail_after(n);
        const Status status = bond_init(&bond, &m.solid, &m.panels, &m.laid, 1, &fault);
        const bool failed = memory_countdown() < 0;
        memory_fail_after(-1);
        if (!failed) {
            assert_int_equal(status, STATUS_OK);
            bond_clear(&bond);
            assert_true(n > 10);
            break;
        }
        assert_int_equal(status, STATUS_NO_RESOURCE);
        assert_null(bond.panel);
        assert_true(strlen(fault.text) > 0);
    }
    model_clear(&m);
}

/* A flaw's line names the panel and the place from 1, and says what would mend it. */
static void flaws_are_told_in_one_line(void **state)
{
    (void)state;
    Model m;
    model_init(&m, BUILD_WALL, 1, 6, 4);
    for (int row = 0; row < 4; row++) put_course(&m, row, "...|..");
    Bond bond = survey(&m);
    char text[400];
    bool joint = false, piece = false;
    for (size_t i = 0; i < bond.flaws; i++) {
        flaw_text(&bond.flaw[i], &m.solid, &m.panels, text, sizeof text);
        assert_null(strchr(text, '\n'));
        assert_non_null(strstr(text, "panel r1c1, column"));
        assert_non_null(strchr(text, ';'));
        if (bond.flaw[i].kind == FLAW_STRAIGHT_JOINT) {
            joint = true;
            assert_non_null(strstr(text, "columns 3 and 4, rows 1 to 4"));
            assert_non_null(strstr(text, "2 thick"));
        }
        if (bond.flaw[i].kind == FLAW_PIECE) {
            piece = true;
            assert_non_null(strstr(text, "4 bricks"));
        }
    }
    assert_true(joint && piece);
    bond_clear(&bond);
    model_clear(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wall_panel_bonds_lap_by_a_quarter),
        cmocka_unit_test(laps_by_hand),
        cmocka_unit_test(hinge_line_is_found),
        cmocka_unit_test(articulation_brick_is_found),
        cmocka_unit_test(base_sheet_joins_a_plaque),
        cmocka_unit_test(random_walls_agree_with_brute_force),
        cmocka_unit_test(threads_and_order_do_not_matter),
        cmocka_unit_test(each_allocation_may_fail),
        cmocka_unit_test(flaws_are_told_in_one_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
