/* A photograph at the bench: what is too large, no picture or of another panel is refused, and of a
 * panel that the tests' own camera took, what was planted is told, while others are answered. The
 * picture is tests/data/pictures/coffee.png.
 *
 * Status codes: RFC 9110. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "bench/bench_routes.h"
#include "plan/plan.h"
#include "support/panel_scene.h"
#include "support/scratch.h"

#include <string.h>
#include <time.h>
#include <unistd.h>

enum { PLANTED = 5, LATEST_MS = 60000 };

static char room[SCRATCH_MOST], folder[SCRATCH_MOST + 16], photo[SCRATCH_MOST + 16];
static EarlierPlan *plan;
static Board board;
static Service service;
static Entry entry = {.token = "secret", .port = 80};
static PanelScene scene;

static bool take_photograph(void)
{
    uint32_t seed = 5;
    Shot shot;
    Camera camera = camera_default();
    camera.width = 1000;
    camera.height = 750;
    camera.tilt = 12;
    camera.exposure = 0.65;
    scene = (PanelScene){.plan = plan, .panel = &plan->panels.panel[0]};
    scene.rows = scene.panel->rows;
    panel_plant(&scene, PLANTED, &seed);
    if (!panel_scene_draw(&scene) || !camera_take(&camera, &scene.scene, &shot) ||
        !shot_jpeg(&shot, photo, 85))
        return false;
    shot_clear(&shot);
    return true;
}

static bool make_plan(void)
{
    static const char *const set[][2] = {{"reference", "tests/data/pictures/coffee.png"},
                                         {"columns", "48"},
                                         {"panel", "24x36"},
                                         {"book", "no"},
                                         {"quote", "no"}};
    Fault fault;
    Job job;
    job_init(&job);
    for (size_t i = 0; i < sizeof set / sizeof *set; i++)
        if (job_set(&job, setting_find(set[i][0]), set[i][1], set[i][0], NULL, &fault))
            return false;
    snprintf(job.out, sizeof job.out, "%s", folder);
    if (plan_run(&job, NULL, &fault) || plan_reader_create(&plan, folder, &fault)) return false;
    char path[sizeof folder + 16];
    snprintf(path, sizeof path, "%s/book.html", folder);
    FILE *book = fopen(path, "wb");
    if (!book) return false;
    fputs("<script id=\"bricks\" data-digest=\"0123456789abcdef\"></script></html>", book);
    return !fclose(book);
}

static int setup(void **state)
{
    (void)state;
    Fault fault;
    if (!scratch_folder(room)) return -1;
    snprintf(folder, sizeof folder, "%s/plan", room);
    snprintf(photo, sizeof photo, "%s/photo.jpg", room);
    const char *folders[] = {folder};
    if (!make_plan() || !take_photograph() || board_open(&board, folders, 1, NULL, &fault))
        return -1;
    service = bench_service(&board);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    board_close(&board);
    panel_scene_clear(&scene);
    plan_reader_free(plan);
    return scratch_clear(room);
}

static const Route *route_of(const char *path)
{
    for (int i = 0; i < service.routes; i++)
        if (!strcmp(service.route[i].door.path, path)) return &service.route[i];
    fail_msg("no route %s", path);
    return NULL;
}

static json_t *heard;

static unsigned hear(Answer answer)
{
    json_decref(heard);
    heard = answer.bytes ? json_loadb(answer.bytes, answer.length, 0, NULL) : NULL;
    if (answer.bytes) (answer.release ? answer.release : memory_free)(answer.bytes);
    return answer.status;
}

/* As the server brings it in. */
static void bring(Incoming *upload, const char *path)
{
    char block[4096];
    Fault fault;
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(incoming_begin(upload, room, &fault), STATUS_OK);
    for (size_t n; (n = fread(block, 1, sizeof block, file)) > 0;)
        assert_int_equal(incoming_add(upload, block, n, &fault), STATUS_OK);
    fclose(file);
}

/* Asks until there is an answer, and the state in between. */
static unsigned post(const char *path, const char *panel, const char *corners)
{
    void *held = NULL;
    Incoming upload;
    bring(&upload, path);
    const Ask ask = {.field = {{"plan", "0"}, {"panel", panel}, {"to", "0"}, {"corners", corners}},
                     .fields = 4,
                     .upload = &upload,
                     .entry = &entry,
                     .held = &held};
    void *none = NULL;
    const Ask state = {.field = {{"plan", "0"}}, .fields = 1, .entry = &entry, .held = &none};
    unsigned status = ANSWER_LATER;
    for (int ms = 0; !status && ms < LATEST_MS; ms += 5) {
        status = hear(route_of("/photo")->answer(&board, &ask));
        if (status) break;
        assert_int_equal(hear(route_of("/state")->answer(&board, &state)), 200);
        nanosleep(&(struct timespec){0, 5000000}, NULL);
    }
    incoming_drop(&upload);
    assert_int_not_equal(access(upload.path, F_OK), 0);
    return status;
}

static const char *fault_text(void) { return json_string_value(json_object_get(heard, "fault")); }

static unsigned knock(const char *type, uint64_t length, const char *cookie)
{
    int at;
    const Head head = {.method = "POST",
                       .path = "/photo",
                       .host = "localhost",
                       .type = type,
                       .cookie = cookie,
                       .length = length};
    Door doors[ROUTES_MOST];
    for (int i = 0; i < service.routes; i++) doors[i] = service.route[i].door;
    return entry_check(&entry, doors, service.routes, &head, &at);
}

static void test_only_pictures_of_some_size_come_in(void **state)
{
    (void)state;
    assert_int_equal(knock("image/jpeg", 4000000, "secret"), 200);
    assert_int_equal(knock("image/jpeg", 4000000, "guess"), 403);
    assert_int_equal(knock("image/jpeg", 64 * 1024 * 1024 + 1, "secret"), 413);
    assert_int_equal(knock("application/pdf", 4000, "secret"), 415);
    assert_int_equal(knock(NULL, 4000, "secret"), 415);
}

static void test_what_was_planted_is_told(void **state)
{
    (void)state;
    size_t i, told = 0, right = 0;
    json_t *brick;
    assert_int_equal(post(photo, "r1c1", ""), 200);
    assert_int_equal(json_array_size(json_object_get(heard, "corners")), 4);
    json_array_foreach(json_object_get(heard, "bricks"), i, brick)
    {
        const size_t number = (size_t)json_integer_value(json_array_get(brick, 0));
        const char *verdict = json_string_value(json_array_get(brick, 3));
        const Brick *b = &plan->laid.brick[number];
        assert_int_equal(json_integer_value(json_array_get(brick, 1)), b->row + 1);
        assert_int_equal(json_integer_value(json_array_get(brick, 2)), b->column + 1);
        right += !strcmp(verdict, "right");
        if (!panel_planted(&scene, number)) continue;
        told += strcmp(verdict, "right") != 0 && strcmp(verdict, "untold") != 0;
    }
    assert_int_equal(told, PLANTED);
    assert_true(right > i * 9 / 10);
}

static void test_what_is_no_photograph_of_it_is_refused(void **state)
{
    (void)state;
    char path[sizeof folder + 16];
    snprintf(path, sizeof path, "%s/plan.json", folder);
    assert_int_equal(post(photo, "r1c2", ""), 422);
    assert_non_null(strstr(fault_text(), "the photograph: shows panel r1c1, not r1c2"));
    assert_int_equal(post(path, "r1c1", ""), 422);
    assert_non_null(strstr(fault_text(), "the photograph: "));
    assert_int_equal(post(photo, "r1c1", "1,2,3"), 422);
    assert_int_equal(post(photo, "r9c9", ""), 404);
}

/* Whoever goes away has their inspection stopped, and the next is taken up. */
static void test_one_who_leaves_holds_up_nobody(void **state)
{
    (void)state;
    void *held = NULL;
    Incoming upload;
    bring(&upload, photo);
    const Ask ask = {.field = {{"plan", "0"}, {"panel", "r1c1"}},
                     .fields = 2,
                     .upload = &upload,
                     .entry = &entry,
                     .held = &held};
    assert_int_equal(hear(route_of("/photo")->answer(&board, &ask)), ANSWER_LATER);
    assert_true(looker_is_busy(board.looker));
    incoming_drop(&upload);
    service.drop(&board, held);
    assert_false(looker_is_busy(board.looker));
    assert_int_equal(post(photo, "r1c1", ""), 200);
    json_decref(heard);
    heard = NULL;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_only_pictures_of_some_size_come_in),
        cmocka_unit_test(test_what_was_planted_is_told),
        cmocka_unit_test(test_what_is_no_photograph_of_it_is_refused),
        cmocka_unit_test(test_one_who_leaves_holds_up_nobody),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
