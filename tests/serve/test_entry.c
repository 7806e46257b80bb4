/* Who may come in: each refusal and its status, by RFC 9110; tokens by their number of bits and
 * that no two are alike; heads put together at random, of which none that lacks the token, or comes
 * from elsewhere, is let in. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "serve/entry.h"
#include "support/chance.h"

#include <stdio.h>
#include <string.h>

static const Door doors[] = {
    {.method = "GET", .path = "/", .link = true},
    {.method = "GET", .path = "/state"},
    {.method = "POST", .path = "/change", .type = "application/json", .most = 100},
};
enum { DOORS = sizeof doors / sizeof *doors };

static Entry entry;

static Head good(const char *method, const char *path)
{
    return (Head){.method = method, .path = path, .host = "127.0.0.1:4711", .cookie = entry.token};
}

static unsigned check(const Head *head)
{
    int door = -1;
    return entry_check(&entry, doors, DOORS, head, &door);
}

static int setup(void **state)
{
    (void)state;
    Fault fault;
    return (int)entry_init(&entry, 4711, &fault);
}

static void tokens_are_128_bits_and_never_the_same(void **state)
{
    (void)state;
    Entry other;
    Fault fault;
    assert_int_equal(strlen(entry.token), 128 / 4);
    assert_int_equal(strspn(entry.token, "0123456789abcdef"), 128 / 4);
    for (int i = 0; i < 1000; i++) {
        assert_int_equal(entry_init(&other, 4711, &fault), STATUS_OK);
        assert_string_not_equal(other.token, entry.token);
    }
}

static void ours_are_let_in(void **state)
{
    (void)state;
    static const char *const hosts[] = {"127.0.0.1:4711", "[::1]:4711", "localhost:4711"};
    for (size_t i = 0; i < 3; i++) {
        char origin[64];
        Head head = good("GET", "/state");
        snprintf(origin, sizeof origin, "http://%s", hosts[i]);
        head.host = hosts[i];
        assert_int_equal(check(&head), 200);
        head.origin = origin;
        assert_int_equal(check(&head), 200);
    }
    Head link = {.method = "GET", .path = "/", .host = "127.0.0.1:4711", .token = entry.token};
    assert_int_equal(check(&link), 200);
    Head change = good("POST", "/change");
    change.type = "application/json; charset=utf-8";
    change.length = 100;
    assert_int_equal(check(&change), 200);
}

/* A name of somebody else's that leads here (rebinding), and names that begin or end like ours. */
static void foreign_hosts_are_misdirected(void **state)
{
    (void)state;
    static const char *const hosts[] = {NULL,
                                        "",
                                        "evil.example",
                                        "evil.example:4711",
                                        "127.0.0.1",
                                        "127.0.0.1:80",
                                        "127.0.0.1:47110",
                                        "127.0.0.1:4711.evil.example",
                                        "evil.example/127.0.0.1:4711",
                                        "LOCALHOST:4711 ",
                                        "0.0.0.0:4711",
                                        "[::]:4711",
                                        "127.0.0.2:4711"};
    for (size_t i = 0; i < sizeof hosts / sizeof *hosts; i++) {
        Head head = good("GET", "/state");
        head.host = hosts[i];
        assert_int_equal(check(&head), 421);
    }
}

static void foreign_origins_are_forbidden(void **state)
{
    (void)state;
    static const char *const origins[] = {"",
                                          "null",
                                          "http://evil.example",
                                          "https://127.0.0.1:4711",
                                          "http://127.0.0.1",
                                          "http://127.0.0.1:47110",
                                          "http://localhost:4711",
                                          "http://127.0.0.1:4711/",
                                          "http://127.0.0.1:4711.evil.example"};
    for (size_t i = 0; i < sizeof origins / sizeof *origins; i++) {
        Head head = good("POST", "/change");
        head.type = "application/json";
        head.origin = origins[i];
        assert_int_equal(check(&head), 403);
    }
}

static void nobody_comes_in_without_the_token(void **state)
{
    (void)state;
    char near[TOKEN_TEXT], longer[TOKEN_TEXT + 1];
    strcpy(near, entry.token);
    near[TOKEN_TEXT - 2] ^= 1;
    snprintf(longer, sizeof longer, "%s0", entry.token);
    const char *const tokens[] = {NULL, "", "0", near, longer};
    static const char *const paths[] = {"/", "/state", "/change", "/none", "/../etc/passwd"};
    for (size_t i = 0; i < 5; i++)
        for (size_t k = 0; k < 5; k++) {
            Head head = good("GET", paths[k]);
            head.cookie = tokens[i];
            head.token = tokens[i];
            assert_int_equal(check(&head), 403);
        }
    /* In a link the token counts for the page alone. */
    Head head = good("GET", "/state");
    head.cookie = NULL;
    head.token = entry.token;
    assert_int_equal(check(&head), 403);
}

static void the_rest_is_told_to_friends_alone(void **state)
{
    (void)state;
    Head none = good("GET", "/none"), method = good("DELETE", "/state");
    Head type = good("POST", "/change"), length = type, chunked = type,
         body = good("GET", "/state");
    assert_int_equal(check(&none), 404);
    assert_int_equal(check(&method), 405);
    type.type = "text/plain";
    assert_int_equal(check(&type), 415);
    type.type = NULL;
    assert_int_equal(check(&type), 415);
    type.type = "application/jsonp";
    assert_int_equal(check(&type), 415);
    length.type = chunked.type = "application/json";
    length.length = 101;
    assert_int_equal(check(&length), 413);
    length.length = UINT64_MAX;
    assert_int_equal(check(&length), 413);
    chunked.chunked = true;
    assert_int_equal(check(&chunked), 411);
    body.length = 1;
    assert_int_equal(check(&body), 413);
}

/* 10,000 heads of good and bad parts. */
static void no_chance_head_gets_in(void **state)
{
    (void)state;
    const char *const hosts[] = {"127.0.0.1:4711", "evil.example", NULL, "127.0.0.1:4712"};
    const char *const origins[] = {NULL, "http://127.0.0.1:4711", "http://evil.example", "null"};
    const char *const tokens[] = {entry.token, NULL, "00000000000000000000000000000000", ""};
    const char *const methods[] = {"GET", "POST", "PUT", ""};
    const char *const paths[] = {"/", "/state", "/change", "/../job.ini"};
    const char *const types[] = {"application/json", NULL, "text/html", "application/json;"};
    uint32_t seed = 23;
    for (int i = 0; i < 10000; i++) {
        int pick[6];
        for (int k = 0; k < 6; k++) pick[k] = (int)(chance(&seed) % 4);
        const Head head = {.method = methods[pick[0]],
                           .path = paths[pick[1]],
                           .host = hosts[pick[2]],
                           .origin = origins[pick[3]],
                           .cookie = tokens[pick[4]],
                           .type = types[pick[5]],
                           .length = chance(&seed) % 200};
        const bool ours = !pick[2] && pick[3] < 2 && !pick[4];
        if (!ours) assert_true(check(&head) == 421 || check(&head) == 403);
        if (check(&head) == 200) assert_true(ours && pick[0] < 2 && pick[1] < 3);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tokens_are_128_bits_and_never_the_same),
        cmocka_unit_test(ours_are_let_in),
        cmocka_unit_test(foreign_hosts_are_misdirected),
        cmocka_unit_test(foreign_origins_are_forbidden),
        cmocka_unit_test(nobody_comes_in_without_the_token),
        cmocka_unit_test(the_rest_is_told_to_friends_alone),
        cmocka_unit_test(no_chance_head_gets_in),
    };
    return cmocka_run_group_tests(tests, setup, NULL);
}
