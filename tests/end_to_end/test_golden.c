/* Golden results: the measures of small plans as text. `make bless` renews
 * tests/data/golden/; review the difference before it is committed. What changes here changes
 * somebody's order. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/command.h"

#include <jansson.h>

/* A case: its name, which is also its file's, and the rest of the command line. */
static const struct Case {
    const char *name, *options;
} cases[] = {
    {"astronaut-nearest", "astronaut.png --columns 60 --dither none"},
    {"astronaut-diffused", "astronaut.png --columns 60 --dither floyd-steinberg"},
    {"astronaut-wall-2", "astronaut.png --columns 60 --build wall --thickness 2 --dither none"},
    {"coffee-nearest", "coffee.png --width 40cm --dither none"},
    {"coffee-cropped", "coffee.png --columns 40 --rows 40 --crop 300x300+150+40 --dither none"},
};

static char text[8192];

static void add(const char *name, double value)
{
    const size_t length = strlen(text);
    snprintf(text + length, sizeof text - length, "%s %.4f\n", name, value);
}

/* The measures of the plan in folder `o`, a line each, and its files' digests that do not
 * depend on versions of the libraries that pack pictures. */
static void tell(void)
{
    json_t *plan = json_load_file(in_room("o/plan.json"), 0, NULL);
    assert_non_null(plan);
    *text = 0;
    add("columns", json_number_value(json_object_get(plan, "columns")));
    add("rows", json_number_value(json_object_get(plan, "rows")));
    const char *name;
    json_t *value;
    json_object_foreach(json_object_get(plan, "measures"), name, value)
        add(name, json_number_value(value));
    static const char *const files[] = {"bricks.csv", "rows.csv", "parts.csv", "panels.csv"};
    for (size_t i = 0; i < sizeof files / sizeof *files; i++) {
        const size_t length = strlen(text);
        snprintf(text + length, sizeof text - length, "%s %s\n", files[i],
                 json_string_value(json_object_get(json_object_get(plan, "files"), files[i])));
    }
    json_decref(plan);
}

static void each_case_is_as_it_was(void **state)
{
    (void)state;
    const char *bless = getenv("BLESS");
    char here[PATH_MAX], path[PATH_MAX];
    assert_non_null(getcwd(here, sizeof here));
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        assert_int_equal(
            shell("rm -rf o; rowlock plan '%s/tests/data/pictures/'%s --book no --quiet --out o",
                  here, cases[i].options),
            0);
        tell();
        snprintf(path, sizeof path, "tests/data/golden/%s.txt", cases[i].name);
        if (bless) {
            FILE *file = fopen(path, "w");
            assert_non_null(file);
            fputs(text, file);
            assert_int_equal(fclose(file), 0);
        }
        char *golden = slurp(path, NULL);
        if (!golden) fail_msg("%s: not there; make bless", path);
        assert_string_equal(text, golden);
        free(golden);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(each_case_is_as_it_was)};
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
