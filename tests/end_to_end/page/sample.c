/* Writes small plans' book.html with their bricks.csv and rows.csv, for the tests that drive the
 * page in a browser: DIR/flat, DIR/wall, DIR/relief, DIR/busy, DIR/long; DIR/large and DIR/single
 * where the second argument is "large". The murals are synthetic, from the fixture. With
 * "photograph" as the first argument it writes a JPEG of 24 megapixels to the second, which the
 * desk is measured with. With "panel" it photographs a panel of the plan in the folder of the
 * second argument, the panel's index in the third, up to the row of the panel in the fourth, to the
 * JPEG in the fifth; FAULTS are planted, and their rows and columns are printed. With "bricks" it
 * photographs bricks beside a colour chart to the JPEG in the second argument, and prints each
 * one's id, the middle of it in pixels, and its colour, Lab.
 */
#include "book/page.h"
#include "output/csv_tables.h"
#include "support/bricks_shot.h"
#include "support/large_jpegs.h"
#include "support/mural_fixture.h"
#include "support/panel_scene.h"

#include <sys/stat.h>

static int write_sample(const char *folder, const char *name, const FixtureAsk *ask)
{
    static Fixture f;
    char path[600];
    Fault fault = {0};
    fixture_init(&f, ask);
    snprintf(path, sizeof path, "%s/%s", folder, name);
    mkdir(path, 0777);
    snprintf(path, sizeof path, "%s/%s/book.html", folder, name);
    Status status = page_write(&f.mural, path, NULL, &fault);
    snprintf(path, sizeof path, "%s/%s/bricks.csv", folder, name);
    if (!status) status = csv_tables_bricks(&f.mural, path, &fault);
    snprintf(path, sizeof path, "%s/%s/rows.csv", folder, name);
    if (!status) status = csv_tables_rows(&f.mural, path, &fault);
    if (status) fprintf(stderr, "%s\n", fault.text);
    fixture_clear(&f);
    return status != STATUS_OK;
}

static int write_photograph(const char *path)
{
    const Photograph photograph = read_photograph();
    make_jpeg(path, &photograph, LARGE_HEIGHT);
    free(photograph.rgb);
    return 0;
}

enum { FAULTS = 5 };

static int photograph_panel(char **argv)
{
    uint32_t seed = 3;
    Fault fault = {0};
    EarlierPlan *plan;
    Shot shot;
    Camera camera = camera_default();
    if (plan_reader_create(&plan, argv[2], &fault)) return 1;
    PanelScene scene = {.plan = plan, .panel = &plan->panels.panel[atoi(argv[3])]};
    camera.width = 1600;
    camera.height = 1200;
    camera.tilt = 14;
    camera.roll = 3;
    camera.exposure = 0.65;
    scene.rows = atoi(argv[4]);
    panel_plant(&scene, FAULTS, &seed);
    const bool taken = panel_scene_draw(&scene) && camera_take(&camera, &scene.scene, &shot) &&
                       shot_jpeg(&shot, argv[5], 80);
    for (int i = 0; i < scene.planted_count; i++) {
        const Brick *b = &plan->laid.brick[scene.planted[i].brick];
        printf("%d %d\n", b->row + 1, b->column + 1);
    }
    shot_clear(&shot);
    panel_scene_clear(&scene);
    plan_reader_free(plan);
    return taken ? 0 : 1;
}

static int photograph_bricks(const char *path)
{
    static BricksShot table;
    Shot shot;
    Camera camera = bricks_camera();
    const bool taken = bricks_shot_init(&table, GROUND_PAPER, 0.08) &&
                       camera_take(&camera, &table.scene, &shot) && shot_jpeg(&shot, path, 85);
    for (int i = 0; i < BRICKS_SHOT; i++) {
        const PlanePoint at = shot_point(&camera, table.place[i][0], table.place[i][1]);
        const Lab lab = table.truth[i];
        printf("%s %.1f %.1f %.3f %.3f %.3f\n", table.palette.colour[i].id, at.x, at.y, lab.L,
               lab.a, lab.b);
    }
    shot_clear(&shot);
    scene_clear(&table.scene);
    return taken ? 0 : 1;
}

int main(int argc, char **argv)
{
    if (argc < 2) return 64;
    if (argc > 2 && !strcmp(argv[1], "photograph")) return write_photograph(argv[2]);
    if (argc > 5 && !strcmp(argv[1], "panel")) return photograph_panel(argv);
    if (argc > 2 && !strcmp(argv[1], "bricks")) return photograph_bricks(argv[2]);
    const FixtureAsk flat = {24, 20, 12, 10, 12, BUILD_PLAQUE, 1, 0, FACE_BANDS, PAPER_A4};
    const FixtureAsk wall = {30, 12, 15, 12, 9, BUILD_WALL, 3, 2, FACE_BANDS, PAPER_A4};
    const FixtureAsk relief = {30, 24, 15, 24, 12, BUILD_PLAQUE, 1, 4, FACE_BANDS, PAPER_A4};
    const FixtureAsk busy = {24, 6, 24, 6, 30, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4};
    const FixtureAsk lengthy = {130, 4, 130, 4, 30, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4};
    const FixtureAsk large = {480, 360, 48, 48, 40, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4};
    const FixtureAsk single = {480, 360, 480, 360, 40, BUILD_PLAQUE, 1, 0, FACE_NOISE, PAPER_A4};
    if (argc > 2 && !strcmp(argv[2], "large"))
        return write_sample(argv[1], "large", &large) || write_sample(argv[1], "single", &single);
    return write_sample(argv[1], "flat", &flat) || write_sample(argv[1], "wall", &wall) ||
           write_sample(argv[1], "relief", &relief) || write_sample(argv[1], "busy", &busy) ||
           write_sample(argv[1], "long", &lengthy);
}
