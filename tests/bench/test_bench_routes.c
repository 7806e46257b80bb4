/* What the bench answers: events are confirmed when they are written and not before, what makes no
 * sense is refused with a line, and two devices that are told apart and late come to one state.
 * Bodies put together at random are answered and change nothing.
 *
 * Status codes: RFC 9110. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "bench/bench_routes.h"
#include "support/chance.h"
#include "support/scratch.h"

#include <string.h>

static char room[SCRATCH_MOST], other[SCRATCH_MOST];
static Board board;
static Service service;
static Entry entry = {.token = "secret"};
static double now = 1000000;

static double tell_time(void) { return now; }

static void write_file(const char *folder, const char *name, const char *text)
{
    char path[SCRATCH_MOST + 32];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "wb");
    fputs(text, file);
    fclose(file);
}

static void write_plan(const char *folder, const char *digest)
{
    char book[400];
    write_file(
        folder, "plan.json",
        "{\"format\":\"rowlock-plan\",\"version\":1,\"panels\":[{\"name\":\"r1c1\",\"bricks\":30},"
        "{\"name\":\"r1c2\",\"bricks\":20}]}");
    snprintf(book, sizeof book,
             "<head><meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'\">"
             "</head><script id=\"bricks\" data-digest=\"%s\"></script></html>",
             digest);
    write_file(folder, "book.html", book);
}

static int setup(void **state)
{
    (void)state;
    Fault fault;
    if (!scratch_folder(room) || !scratch_folder(other)) return -1;
    write_plan(room, "0123456789abcdef");
    write_plan(other, "abcdef0123456789");
    const char *folders[] = {room, other};
    if (board_open(&board, folders, 2, NULL, &fault)) return -1;
    board.now = tell_time;
    service = bench_service(&board);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    board_close(&board);
    return scratch_clear(room) | scratch_clear(other);
}

static const Route *route_of(const char *method, const char *path)
{
    for (int i = 0; i < service.routes; i++)
        if (!strcmp(service.route[i].door.path, path) &&
            !strcmp(service.route[i].door.method, method))
            return &service.route[i];
    fail_msg("no route %s", path);
    return NULL;
}

static char heard[1 << 16];

static unsigned hear(Answer answer)
{
    snprintf(heard, sizeof heard, "%.*s", (int)answer.length,
             answer.bytes   ? (const char *)answer.bytes
             : answer.fixed ? answer.fixed
                            : "");
    if (answer.bytes) (answer.release ? answer.release : memory_free)(answer.bytes);
    memory_free(answer.path);
    return answer.status;
}

static unsigned get(const char *path, const char *plan, const char *after)
{
    void *held = NULL;
    const Ask ask = {.field = {{"plan", plan}, {"after", after}},
                     .fields = after ? 2 : 1,
                     .entry = &entry,
                     .held = &held};
    return hear(route_of("GET", path)->answer(&board, &ask));
}

/* As the server does it: asked again when the batch is written. */
static unsigned post(const char *plan, const char *body)
{
    void *held = NULL;
    const Ask ask = {.field = {{"plan", plan}},
                     .fields = 1,
                     .body = body,
                     .length = strlen(body),
                     .entry = &entry,
                     .held = &held};
    const Route *route = route_of("POST", "/events");
    unsigned status = hear(route->answer(&board, &ask));
    if (status != ANSWER_LATER) return status;
    assert_int_equal(hear(route->answer(&board, &ask)), ANSWER_LATER);
    service.refresh(&board);
    return hear(route->answer(&board, &ask));
}

#define EVENTS(device, list) "{\"device\":\"" device "\",\"events\":[" list "]}"

static void events_are_confirmed_when_they_are_written(void **state)
{
    (void)state;
    assert_int_equal(post("0", EVENTS("ada", "{\"number\":1,\"kind\":\"name\",\"text\":\"Ada\"},"
                                             "{\"number\":2,\"kind\":\"mark\",\"panel\":\"r1c1\","
                                             "\"first\":3,\"count\":4,\"laid\":true}")),
                     200);
    assert_int_equal(get("/state", "0", NULL), 200);
    assert_non_null(strstr(heard, "\"laid\":4"));
    assert_non_null(strstr(heard, "\"r1c1\":\"3,4\""));
    assert_non_null(strstr(heard, "Ada"));
    assert_int_equal(get("/state", "1", NULL), 200); /* the other mural has its own */
    assert_non_null(strstr(heard, "\"laid\":0"));
}

static void news_wait_until_there_are_some(void **state)
{
    (void)state;
    assert_int_equal(get("/state", "0", "2"), ANSWER_LATER);
    assert_int_equal(get("/state", "0", "1"), 200);
}

/* Ben laid a row while he was out of reach, and Ada took one brick of it back since. */
static void what_comes_late_is_merged_by_when_it_was(void **state)
{
    (void)state;
    now += 100;
    assert_int_equal(post("0", EVENTS("ada", "{\"number\":3,\"kind\":\"mark\",\"panel\":\"r1c2\","
                                             "\"first\":5,\"count\":1,\"laid\":false}")),
                     200);
    now += 3600;
    assert_int_equal(post("0", EVENTS("ben", "{\"number\":1,\"kind\":\"mark\",\"age\":3650,"
                                             "\"panel\":\"r1c2\",\"first\":4,\"count\":3,"
                                             "\"laid\":true}")),
                     200);
    assert_int_equal(get("/state", "0", "3"), 200);
    assert_non_null(strstr(heard, "\"r1c2\":\"4,1,1,1\""));
}

static void two_devices_on_one_panel_are_told(void **state)
{
    (void)state;
    assert_int_equal(
        post("0", EVENTS("ada", "{\"number\":9,\"kind\":\"take\",\"panel\":\"r1c1\"}")), 200);
    assert_int_equal(
        post("0", EVENTS("ben", "{\"number\":9,\"kind\":\"take\",\"panel\":\"r1c1\"}")), 422);
    assert_non_null(strstr(heard, "r1c1: Ada has it"));
    assert_int_equal(post("0", EVENTS("ben", "{\"number\":10,\"kind\":\"take\",\"over\":true,"
                                             "\"panel\":\"r1c1\"}")),
                     200);
    assert_int_equal(get("/state", "0", NULL), 200);
    assert_non_null(strstr(heard, "\"holders\":{\"r1c1\":\"ben\"}"));
}

static void what_makes_no_sense_is_refused(void **state)
{
    (void)state;
    static const char *const bodies[] = {
        "",
        "[]",
        "{}",
        EVENTS("ada", ""),
        EVENTS("", "{\"number\":90,\"kind\":\"name\",\"text\":\"x\"}"),
        EVENTS("../ada", "{\"number\":90,\"kind\":\"name\",\"text\":\"x\"}"),
        EVENTS("ada", "{\"number\":-1,\"kind\":\"name\",\"text\":\"x\"}"),
        EVENTS("ada", "{\"number\":90,\"kind\":\"dance\"}"),
        EVENTS("ada", "{\"number\":90,\"kind\":\"name\",\"text\":\"\"}"),
        EVENTS("ada", "{\"number\":90,\"kind\":\"take\",\"panel\":\"r9c9\"}"),
        EVENTS("ada", "{\"number\":90,\"kind\":\"mark\",\"panel\":\"r1c1\",\"first\":28,"
                      "\"count\":3,\"laid\":true}"),
        EVENTS("ada", "{\"number\":90,\"kind\":\"mark\",\"panel\":\"r1c1\",\"first\":-1,"
                      "\"count\":1,\"laid\":true}"),
    };
    for (size_t i = 0; i < sizeof bodies / sizeof *bodies; i++)
        if (post("0", bodies[i]) != 422) fail_msg("taken: %s", bodies[i]);
    assert_int_equal(post("7", EVENTS("ada", "{}")), 404);
    assert_int_equal(get("/state", "x", NULL), 404);
}

static void bodies_at_random_change_nothing(void **state)
{
    (void)state;
    static const char good[] = EVENTS("eve", "{\"number\":1,\"kind\":\"mark\",\"panel\":\"r1c1\","
                                             "\"first\":0,\"count\":99,\"laid\":true}");
    char body[sizeof good];
    uint32_t seed = 11;
    const int before = tally_state(board.tally[0])->total;
    for (int i = 0; i < 20000; i++) {
        memcpy(body, good, sizeof body);
        for (uint32_t changes = 1 + chance(&seed) % 3; changes; changes--)
            body[chance(&seed) % (sizeof body - 1)] = (char)(1 + chance(&seed) % 255);
        post("0", body);
    }
    const int more = tally_state(board.tally[0])->total - before;
    assert_in_range(more, 0, 30); /* some are good again, of a smaller count */
}

static void a_book_is_let_ask_the_bench(void **state)
{
    (void)state;
    assert_int_equal(get("/book", "0", NULL), 200);
    assert_null(strstr(heard, "Content-Security-Policy"));
    assert_non_null(strstr(heard, "/bench.js"));
    assert_int_equal(get("/book", "2", NULL), 404);
}

/* A code is a square of 21 + 4 k modules with a light one of four around (ISO/IEC 18004); one label
 * for each panel and copy. */
static void each_panel_has_its_label(void **state)
{
    (void)state;
    int side = 0, labels = 0;
    void *held = NULL;
    const Ask ask = {
        .field = {{"plan", "0"}, {"copies", "3"}}, .fields = 2, .entry = &entry, .held = &held};
    assert_int_equal(hear(route_of("GET", "/labels")->answer(&board, &ask)), 200);
    for (const char *at = heard; (at = strstr(at, "<li><svg")); at++) labels++;
    assert_int_equal(labels, 6);
    assert_non_null(strstr(heard, "/book?plan=0&amp;panel=r1c2"));
    assert_int_equal(sscanf(strstr(heard, "viewBox"), "viewBox=\"0 0 %d", &side), 1);
    assert_int_equal((side - 8 - 21) % 4, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(events_are_confirmed_when_they_are_written),
        cmocka_unit_test(news_wait_until_there_are_some),
        cmocka_unit_test(what_comes_late_is_merged_by_when_it_was),
        cmocka_unit_test(two_devices_on_one_panel_are_told),
        cmocka_unit_test(what_makes_no_sense_is_refused),
        cmocka_unit_test(bodies_at_random_change_nothing),
        cmocka_unit_test(a_book_is_let_ask_the_bench),
        cmocka_unit_test(each_panel_has_its_label),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
