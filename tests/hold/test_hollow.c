/* Hollow cores: what may be left out, against the definition unit by unit; what must hold,
 * on random reliefs of both builds with a graph of its own; and from outside, what a plan
 * says that it saves, against the bricks of two plans. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "bricks/lay.h"
#include "hold/bond.h"
#include "hold/hollow.h"
#include "hold/relief_support.h"
#include "plan/plan.h"
#include "support/command.h"
#include "support/failing.h"
#include "support/layouts.h"

#include <math.h>
#include <png.h>

typedef struct Case {
    Grid grid;
    Solid solid;
    Sizes sizes;
    Panels panels;
    Hollow hollow;
    Laid laid;
    Bond bond;
    int32_t *unit; /* tiers x rows x columns: the brick + 1 of each */
} Case;

static void case_init(Case *c, Build build, int base, int columns, int rows, int panel)
{
    *c = (Case){0};
    assert_int_equal(grid_init(&c->grid, columns, rows, true, NULL), 0);
    c->solid = (Solid){.grid = &c->grid, .build = build, .base = base};
    sizes_default(&c->sizes, 8, 9.6);
    /* Steps are set later: the limit on mass must not cut panels. */
    const PanelLimits limits = {.columns = panel, .rows = panel, .mass_kg = 1e6};
    assert_int_equal(panels_init(&c->panels, &c->solid, &c->sizes, &limits, NULL), 0);
}

static void case_clear(Case *c)
{
    free(c->unit);
    bond_clear(&c->bond);
    laid_clear(&c->laid);
    hollow_clear(&c->hollow, &c->solid);
    panels_clear(&c->panels);
    grid_clear(&c->grid);
}

static uint8_t *steps_at(Case *c, int x, int y) { return &c->grid.steps[y * c->grid.columns + x]; }

static void carve(Case *c, int shell)
{
    assert_int_equal(hollow_carve(&c->hollow,
                                  &(HollowTask){&c->solid, &c->panels, &c->sizes, shell}, NULL,
                                  NULL),
                     0);
}

static void lay_case(Case *c)
{
    LayReport report;
    const LayOptions options = LAY_OPTIONS_DEFAULT;
    laid_clear(&c->laid);
    bond_clear(&c->bond);
    assert_int_equal(
        lay(&(LayTask){&c->solid, &c->panels, &c->sizes}, &options, &c->laid, &report, NULL, NULL),
        0);
    assert_true((double)c->laid.count >= report.lower_bound);
    assert_int_equal(bond_init(&c->bond, &c->solid, &c->panels, &c->laid, 1, NULL), 0);
}

/* ---- what may be left out ---- */

static bool there(const Case *c, const Panel *p, int x, int y, int t)
{
    return x >= p->column && x < p->column + p->columns && y >= p->row && y < p->row + p->rows &&
           t >= 0 && t < solid_top(&c->solid, x, y);
}

/* Every unit of the cube around one that is left out is in its panel's solid. */
static void the_shell_is_thick_enough(const Case *c, int shell)
{
    size_t units = 0;
    for (int y = 0; y < c->grid.rows; y++)
        for (int x = 0; x < c->grid.columns; x++)
            for (int t = 0; t < solid_top(&c->solid, x, y); t++) {
                if (solid_fills(&c->solid, x, y, t)) continue;
                const Panel *p = &c->panels.panel[panels_at(&c->panels, x, y)];
                units++;
                for (int i = -shell; i <= shell; i++)
                    for (int j = -shell; j <= shell; j++)
                        for (int k = -shell; k <= shell; k++)
                            assert_true(there(c, p, x + i, y + j, t + k));
            }
    assert_int_equal(units, c->hollow.units);
}

/* By hand: of ten cells square and five tiers, behind one of shell, eight square and three
 * tiers are core; a brick of eight bridges six, so two rows of the core stay as a rib. Six
 * square have no core behind three. A wall of ten courses, 20 columns and four tiers: the
 * core is 18 columns, eight courses, two tiers, of which a pier takes two columns after
 * fourteen, and a course of headers every sixth; what is left beyond the pier is but two
 * columns long and is not worth it; so is nothing but two slices of 14 x 2, five and two
 * courses high. */
static void blocks_by_hand(void **state)
{
    (void)state;
    Case c;
    case_init(&c, BUILD_PLAQUE, 1, 10, 10, 10);
    memset(c.grid.steps, 4, 100);
    carve(&c, 1);
    assert_int_equal(c.hollow.units, 8 * 6 * 3);
    for (int t = 0; t < 5; t++)
        for (int y = 0; y < 10; y++)
            for (int x = 0; x < 10; x++)
                assert_int_equal(solid_fills(&c.solid, x, y, t),
                                 !(t >= 1 && t < 4 && y >= 1 && y < 7 && x >= 1 && x < 9));
    hollow_clear(&c.hollow, &c.solid);
    carve(&c, 3);
    assert_int_equal(c.hollow.units, 0);
    assert_null(c.solid.left_out);
    case_clear(&c);

    case_init(&c, BUILD_WALL, 4, 20, 10, 20);
    carve(&c, 1);
    assert_int_equal(c.hollow.units, 14 * 2 * 7);
    for (int y = 0; y < 10; y++)
        assert_int_equal(solid_fills(&c.solid, 5, y, 1), y == 0 || y == 6 || y == 9);
    case_clear(&c);
}

/* By hand: a roof in single cells of two colours is one that no brick bridges, so that the
 * pocket is a tier lower, and the bricks under the face are its roof. */
static void a_roof_that_cannot_be_bridged(void **state)
{
    (void)state;
    Case c;
    case_init(&c, BUILD_PLAQUE, 1, 10, 10, 10);
    memset(c.grid.steps, 4, 100);
    for (int i = 0; i < 100; i++) c.grid.colour[i] = (uint8_t)((i + i / 10) % 2);
    carve(&c, 1);
    assert_int_equal(c.hollow.units, 8 * 6 * 2);
    for (int i = 0; i < 100; i++) assert_true(solid_fills(&c.solid, i % 10, i / 10, 3));
    lay_case(&c);
    assert_int_equal(c.bond.panel[0].unsupported, 0);
    case_clear(&c);
}

/* Without a brick of three there is none to bridge anything. */
static void short_bricks_bridge_nothing(void **state)
{
    (void)state;
    static const int side[][2] = {{1, 1}, {1, 2}, {2, 2}};
    Case c;
    case_init(&c, BUILD_PLAQUE, 1, 10, 10, 10);
    memset(c.grid.steps, 4, 100);
    layouts_set(&c.sizes, side, 3);
    carve(&c, 1);
    assert_int_equal(c.hollow.units, 0);
    case_clear(&c);
}

/* ---- a mural under way ---- */

/* Takes the pockets as those of an earlier plan of which the bricks below a row stand. */
static void keep(Case *c, int rows)
{
    const size_t units = solid_unit(&c->solid, 0, 0, solid_depth(&c->solid));
    uint8_t *was = malloc(units);
    Laid standing = {0};
    memcpy(was, c->hollow.left_out, units);
    for (size_t i = 0; i < c->laid.count; i++)
        if (c->laid.brick[i].row < rows)
            assert_int_equal(laid_add(&standing, &c->laid.brick[i], NULL), 0);
    hollow_clear(&c->hollow, &c->solid);
    assert_int_equal(hollow_keep(&c->hollow, &(HollowTask){&c->solid, &c->panels, &c->sizes, 1},
                                 was, &standing, NULL),
                     0);
    laid_clear(&standing);
    free(was);
}

/* Left out of some rows, unit by unit. */
static size_t left_out_of(const Case *c, int from, int to)
{
    size_t units = 0;
    for (int t = 0; t < solid_depth(&c->solid); t++)
        for (int y = from; y < to; y++)
            for (int x = 0; x < c->grid.columns; x++)
                units += c->solid.left_out && !solid_fills(&c->solid, x, y, t);
    return units;
}

/* By hand, as blocks_by_hand has them: of two plaques one stands, and the other's new colours
 * let no brick bridge its pocket's uppermost tier; all of a wall's pockets are to be filled, and
 * those of its four courses that stand are not. */
static void what_stands_keeps_its_pockets(void **state)
{
    (void)state;
    Case c;
    case_init(&c, BUILD_PLAQUE, 1, 10, 20, 10);
    memset(c.grid.steps, 4, 200);
    carve(&c, 1);
    assert_int_equal(c.hollow.units, 2 * 8 * 6 * 3);
    lay_case(&c);
    for (int i = 0; i < 200; i++) c.grid.colour[i] = (uint8_t)((i + i / 10) % 2);
    keep(&c, 10);
    assert_int_equal(left_out_of(&c, 0, 10), 8 * 6 * 3);
    assert_int_equal(left_out_of(&c, 10, 20), 8 * 6 * 2);
    assert_int_equal(c.hollow.units, 8 * 6 * 5);
    hollow_fill(&c.hollow, &c.solid, &c.panels);
    assert_int_equal(c.hollow.units, 8 * 6 * 3);
    assert_int_equal(left_out_of(&c, 0, 10), 8 * 6 * 3);
    case_clear(&c);

    for (int fill = 0; fill < 2; fill++) {
        case_init(&c, BUILD_WALL, 4, 20, 10, 20);
        carve(&c, 1);
        lay_case(&c);
        keep(&c, 4);
        assert_int_equal(c.hollow.units, 14 * 2 * 7);
        Flaw flaw = {.kind = FLAW_UNSUPPORTED, .brick = c.laid.count - 1};
        const Bond bond = {.flaw = &flaw, .flaws = 1};
        if (fill)
            hollow_fill(&c.hollow, &c.solid, &c.panels);
        else
            assert_int_equal(hollow_mend(&c.hollow, &(HollowTask){&c.solid, &c.panels, &c.sizes, 1},
                                         &c.laid, &bond, true, NULL),
                             0);
        assert_int_equal(c.hollow.units, 14 * 2 * 3);
        assert_int_equal(left_out_of(&c, 0, 4), 14 * 2 * 3);
        case_clear(&c);
    }

    case_init(&c, BUILD_WALL, 4, 20, 10, 20);
    carve(&c, 1);
    lay_case(&c);
    keep(&c, 1);
    hollow_fill(&c.hollow, &c.solid, &c.panels);
    assert_int_equal(c.hollow.units, 0);
    assert_null(c.solid.left_out);
    case_clear(&c);
}

/* ---- what must hold ---- */

static uint32_t seed;
static double noise(void) { return chance(&seed) / 16777216.0; }

/* Hills and terraces, patches and specks of colour, one to three thick and thicker. */
static void raise_randomly(Case *c, Build build, int turn)
{
    const int columns = 14 + (int)(noise() * 22), rows = 12 + (int)(noise() * 20);
    const int most = 2 + turn % 11;
    case_init(c, build, build == BUILD_WALL ? 1 + turn % 5 : 1, columns, rows, turn % 2 ? 16 : 40);
    const double fx = 2 + 6 * noise(), fy = 2 + 6 * noise(), speck = turn % 4 ? 0.02 : 0.3;
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) {
            const double z = 0.75 + 0.4 * sin(x / fx) * cos(y / fy) + 0.1 * noise() * (turn % 3);
            *steps_at(c, x, y) = (uint8_t)(fmax(0, fmin(1, z)) * most);
            c->grid.colour[y * columns + x] =
                (uint8_t)((x / 5 + y / 4 + (noise() < speck ? 1 : 0)) % 4);
        }
    StepChanges step_changes;
    assert_int_equal(relief_support_steps(
                         &(Relief){&c->grid, c->solid.build, c->solid.base, &c->panels, &c->sizes},
                         &step_changes, NULL, NULL),
                     0);
    step_changes_clear(&step_changes);
}

/* Lays, and fills what does not hold; as a plan does. */
static int lay_until_it_holds(Case *c)
{
    int rounds = 0;
    bool filled = true;
    for (; filled && rounds < 4; rounds++) {
        const size_t units = c->hollow.units;
        const HollowTask task = {&c->solid, &c->panels, &c->sizes, c->hollow.shell};
        lay_case(c);
        assert_int_equal(hollow_mend(&c->hollow, &task, &c->laid, &c->bond, rounds >= 2, NULL), 0);
        filled = c->hollow.units < units;
    }
    return rounds - 1;
}

static size_t place_of(const Case *c, int x, int y, int t)
{
    return ((size_t)t * (size_t)c->grid.rows + (size_t)y) * (size_t)c->grid.columns + (size_t)x;
}

/* Every unit is in one brick, or left out and in none; what is seen has its colour. */
static void units_are_conserved(Case *c)
{
    const int columns = c->grid.columns, rows = c->grid.rows, depth = solid_depth(&c->solid);
    c->unit = calloc((size_t)(columns * rows * depth), sizeof *c->unit);
    for (size_t i = 0; i < c->laid.count; i++) {
        const Brick *b = &c->laid.brick[i];
        for (int t = b->tier; t < b->tier + b->tiers; t++)
            for (int y = b->row; y < b->row + b->rows; y++)
                for (int x = b->column; x < b->column + b->columns; x++) {
                    int32_t *unit = &c->unit[place_of(c, x, y, t)];
                    assert_int_equal(*unit, 0);
                    *unit = (int32_t)i + 1;
                    if (!solid_shown(&c->solid, x, y, t)) continue;
                    assert_int_equal(b->colour, grid_colour(&c->grid, x, y));
                    assert_true(b->shown);
                }
    }
    for (int t = 0; t < depth; t++)
        for (int y = 0; y < rows; y++)
            for (int x = 0; x < columns; x++)
                assert_int_equal(c->unit[place_of(c, x, y, t)] > 0,
                                 solid_fills(&c->solid, x, y, t));
}

/* Half of a brick lies on bricks, or all of both its ends. */
static void each_brick_is_carried(const Case *c)
{
    const bool wall = c->solid.build == BUILD_WALL;
    for (size_t i = 0; i < c->laid.count; i++) {
        const Brick *b = &c->laid.brick[i];
        if (wall ? b->row == c->panels.panel[b->panel].row : b->tier == 0) continue;
        const int deep = wall ? b->tiers : b->rows;
        int held = 0, left = 0, right = 0, back = 0, front = 0;
        for (int v = 0; v < deep; v++)
            for (int x = 0; x < b->columns; x++) {
                const int y = wall ? b->row - 1 : b->row + v, t = wall ? b->tier + v : b->tier - 1;
                const bool on = c->unit[place_of(c, b->column + x, y, t)] > 0;
                held += on;
                left += on && x == 0;
                right += on && x == b->columns - 1;
                back += on && v == 0;
                front += on && v == deep - 1;
            }
        assert_true(2 * held >= b->columns * deep || (left == deep && right == deep) ||
                    (back == b->columns && front == b->columns));
    }
}

enum { TURNS = 55 }; /* each height with each thickness of wall */

static void random_cores_hold(Build build)
{
    int hollow = 0, mended = 0;
    seed = 7 + (uint32_t)build;
    for (int turn = 0; turn < TURNS / LAYOUTS_SHARE; turn++) {
        Case c;
        const int shell = 1 + turn / 3 % 2;
        raise_randomly(&c, build, turn);
        carve(&c, shell);
        hollow += c.hollow.units > 0;
        mended += lay_until_it_holds(&c) > 0;
        the_shell_is_thick_enough(&c, shell);
        units_are_conserved(&c);
        each_brick_is_carried(&c);
        for (int i = 0; i < c.panels.count; i++) {
            assert_int_equal(c.bond.panel[i].unsupported, 0);
            if (c.bond.panel[i].pieces != 1) fail_msg("turn %d: panel %d comes apart", turn, i);
        }
        case_clear(&c);
    }
    print_message("%d of %d have a core, %d were filled in part to hold\n", hollow,
                  TURNS / LAYOUTS_SHARE, mended);
    assert_true(hollow > TURNS * 2 / 5 / LAYOUTS_SHARE);
}

static void random_plaques_hold(void **state)
{
    (void)state;
    random_cores_hold(BUILD_PLAQUE);
}

static void random_walls_hold(void **state)
{
    (void)state;
    random_cores_hold(BUILD_WALL);
}

/* ---- from outside ---- */

typedef enum Scene { RAMP, DOME, HILLS /* by the seed */ } Scene;

static void paint(const char *name, int width, int height, Scene scene)
{
    const double fx = 8 + 16 * noise(), fy = 8 + 16 * noise();
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)width,
                       .height = (png_uint_32)height,
                       .format = PNG_FORMAT_GRAY};
    png_bytep pixels = malloc((size_t)width * (size_t)height), p = pixels;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            const double r = hypot((x + 0.5) / width - 0.5, (y + 0.5) / height - 0.5);
            const double hill = 0.7 + 0.3 * sin(x / fx) * cos(y / fy) - 0.05 * noise();
            *p++ = (png_byte)(scene == HILLS  ? 255 * fmax(0, hill)
                              : scene == DOME ? 255 * fmax(0, 1 - 2 * r * r)
                                              : 60 + x * 120 / width);
        }
    assert_true(png_image_write_to_file(&image, in_room(name), 0, pixels, 0, NULL));
    free(pixels);
}

static int setup(void **state)
{
    if (command_setup(state)) return -1;
    paint("ref.png", 120, 90, RAMP);
    paint("dome.png", 120, 90, DOME);
    return 0;
}

#define PLAN                                                                                       \
    "rowlock plan ref.png --columns 44 --dither none --book no --relief map --depth-map dome.png " \
    "--steps 9 "

/* Sums of bricks and of grams, which parts.csv has in its last column. */
#define COUNT "tail -n +2 %s/bricks.csv | wc -l"
#define MASS "tail -n +2 %s/parts.csv | awk -F, '{g += $NF} END {printf \"%%.6f\\n\", g / 1000}'"

static double number_from(const char *command, const char *folder)
{
    char line[256];
    snprintf(line, sizeof line, command, folder);
    assert_int_equal(shell("%s", line), 0);
    return strtod(command_said, NULL);
}

static double said_of(const char *file, const char *key)
{
    assert_int_equal(shell("tr -d '\\n' < %s | sed 's/.*\"hollow\": *{\\([^}]*\\)}.*/\\1/'", file),
                     0);
    const char *at = strstr(command_said, key);
    assert_non_null(at);
    return strtod(strchr(at, ':') + 1, NULL);
}

static void the_saving_is_that_of_two_plans(void **state)
{
    (void)state;
    static const char *const build[] = {"plaque", "wall --thickness 3"};
    for (int i = 0; i < 2; i++) {
        assert_int_equal(shell(PLAN "--build %s --out solid && rowlock check solid", build[i]), 0);
        assert_int_equal(
            shell(PLAN "--build %s --hollow 2 --out hollow && rowlock check hollow", build[i]), 0);
        assert_non_null(strstr(command_said, "are left out behind 2 of shell"));
        const double bricks = number_from(COUNT, "solid") - number_from(COUNT, "hollow");
        const double mass_kg = number_from(MASS, "solid") - number_from(MASS, "hollow");
        assert_true(mass_kg > 0);
        assert_true(said_of("hollow/plan.json", "units") > 0);
        assert_true(said_of("hollow/plan.json", "bricks_saved") == bricks);
        assert_true(fabs(said_of("hollow/plan.json", "mass_saved_kg") - mass_kg) < 0.005);
        assert_true(said_of("hollow/quote.json", "bricks_saved") == bricks);
        assert_true(fabs(said_of("hollow/quote.json", "mass_saved_kg") - mass_kg) < 0.005);
        assert_int_equal(shell("pdftotext -layout hollow/quote.pdf - | grep -c 'hollow behind 2 of "
                               "shell: .* kg less, .* bricks' && "
                               "pdfinfo hollow/quote.pdf | grep -c 'Pages: *1$' && "
                               "! grep hollow solid/quote.json"),
                         0);
        assert_int_equal(shell("cmp solid/cells.png hollow/cells.png && "
                               "cmp solid/steps.png hollow/steps.png"),
                         0);
    }
}

/* No panel has more bricks around a core than one without: where it would, the core is filled, in
 * part or whole. It can be built on. */
static void no_panel_takes_more_bricks(void **state)
{
    (void)state;
    static const char *const build[] = {"plaque", "wall --thickness 1", "wall --thickness 3",
                                        "wall --thickness 6"};
    int filled = 0, hollow = 0;
    seed = 5;
    for (int i = 0; i < 4; i++) {
        paint("hills.png", 120, 90, HILLS);
        assert_int_equal(
            shell("for h in 0 1; do rowlock plan ref.png --columns 40 --dither none --book no "
                  "--quote no --relief map --depth-map hills.png --steps 12 --panel 20x15 "
                  "--panel-mass 200kg --effort 0 --build %s --hollow $h --out h$h && rowlock check "
                  "h$h; done; rowlock replan h1 --built r1c1 --out h2 && rowlock check h2",
                  build[i]),
            0);
        filled += strstr(command_said, "would take more bricks around a core") != NULL;
        hollow += strstr(command_said, "are left out") != NULL;
        assert_int_equal(shell("cat h0/bricks.csv h1/bricks.csv | awk -F, '/^panel/ {h++; next} "
                               "{n[$1] += 2 * h - 3} END {for (p in n) if (n[p] > 0) exit 1}'"),
                         0);
    }
    assert_true(filled > 0 && hollow > 0);
}

static void what_has_no_core_says_so(void **state)
{
    (void)state;
    assert_int_equal(shell(PLAN "--hollow 9 --out none && rowlock check none"), 0);
    assert_non_null(strstr(command_said, "hollow: nothing is left out"));
    assert_true(said_of("none/plan.json", "units") == 0);
    assert_int_equal(shell("rowlock plan ref.png --columns 30 --book no --hollow 1 --out flat"), 0);
    assert_non_null(strstr(command_said, "--hollow: counts for nothing here"));
    assert_int_equal(shell(PLAN "--hollow 1.5 --out none"), 64);
    assert_int_equal(shell(PLAN "--hollow -1 --out none"), 64);
}

/* A brick of the shell is missing; one of the core is; the shell is said to be thicker; the
 * number of units is another. */
static void check_holds_the_core_to_its_shell(void **state)
{
    (void)state;
    static const struct {
        const char *change, *says;
    } tamper[] = {
        {"awk -F, '!($10 ~ /^1/ && ++n == 200)' k/bricks.csv > b && mv b k/bricks.csv",
         "in no brick"},
        {"awk -F, '!($10 ~ /^0/ && ++n == 1)' k/bricks.csv > b && mv b k/bricks.csv",
         "in no brick"},
        {"sed -i 's/\"hollow\": *\"1\"/\"hollow\": \"2\"/;s/\"shell\": *1/\"shell\": 2/' "
         "k/plan.json",
         "in no brick"},
        {"sed -i 's/\"units\": *[0-9]*/\"units\": 7/' k/plan.json", "hollow.units: 7, but"},
        {"sed -i 's/\"hollow\": *\"1\"/\"hollow\": \"0\"/' k/plan.json", "asks for none"},
    };
    assert_int_equal(shell(PLAN "--hollow 1 --out whole && rowlock check whole"), 0);
    for (size_t i = 0; i < sizeof tamper / sizeof *tamper; i++) {
        assert_int_equal(
            shell("rm -rf k && cp -r whole k && %s && rowlock check k", tamper[i].change), 1);
        if (!strstr(command_said, tamper[i].says))
            fail_msg("%s: wanted '%s': %s", tamper[i].change, tamper[i].says, command_said);
    }
}

static void the_same_bytes_for_any_threads(void **state)
{
    (void)state;
    assert_int_equal(shell(PLAN
                           "--build wall --thickness 4 --hollow 1 --threads 1 --out g1 && " PLAN
                           "--build wall --thickness 4 --hollow 1 --threads 3 --out g2 && "
                           "diff -r g1 g2"),
                     0);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    Job job;
    job_init(&job);
    snprintf(job.reference, sizeof job.reference, "%s", in_room("ref.png"));
    snprintf(job.depth_map, sizeof job.depth_map, "%s", in_room("dome.png"));
    snprintf(job.out, sizeof job.out, "%s", in_room("failing"));
    job.columns = 12;
    job.relief = RELIEF_MAP;
    job.dither = DITHER_NONE;
    job.book = job.quote = 0;
    job.threads = 1;
    const Job solid = job;
    job.hollow = 1;
    assert_int_equal(fail_allocations(&solid, &job), STATUS_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_by_hand),
        cmocka_unit_test(a_roof_that_cannot_be_bridged),
        cmocka_unit_test(short_bricks_bridge_nothing),
        cmocka_unit_test(what_stands_keeps_its_pockets),
        cmocka_unit_test(random_plaques_hold),
        cmocka_unit_test(random_walls_hold),
        cmocka_unit_test(the_saving_is_that_of_two_plans),
        cmocka_unit_test(no_panel_takes_more_bricks),
        cmocka_unit_test(what_has_no_core_says_so),
        cmocka_unit_test(check_holds_the_core_to_its_shell),
        cmocka_unit_test(the_same_bytes_for_any_threads),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
