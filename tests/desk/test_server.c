/* The desk's server as others meet it, over sockets: what it refuses, bytes that are no request,
 * senders that are slow or never end, more connections than it takes, and paths that would lead out
 * of its folder. After each it answers as before, and nothing is written but in its folder.
 *
 * Status codes: RFC 9110. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "desk/desk.h"
#include "desk/routes.h"
#include "support/chance.h"
#include "support/scratch.h"
#include "support/served.h"

#include <arpa/inet.h>
#include <dirent.h>
#include <netinet/in.h>
#include <poll.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

static Commission commission;
static Service service;
static char room[SCRATCH_MOST], picture[SCRATCH_MOST + 16], token[64];
static unsigned port;

static void wake(void *self)
{
    (void)self;
    if (server) server_wake(server);
}

static int setup(void **state)
{
    (void)state;
    Fault fault;
    char link[SERVER_LINK];
    if (!scratch_folder(room)) return -1;
    snprintf(picture, sizeof picture, "%s/ref.ppm", room);
    FILE *file = fopen(picture, "wb");
    fprintf(file, "P6 12 8 255\n");
    for (int i = 0; i < 12 * 8 * 3; i++) putc(i * 37 % 256, file);
    fclose(file);
    service = desk_service(&commission);
    if (commission_open(&commission, picture, wake, NULL, &fault) ||
        server_create(&server, &service, 0, &fault))
        return -1;
    server_set_patience(server, 1);
    server_link(server, link);
    if (sscanf(link, "http://127.0.0.1:%u/?token=%63s", &port, token) != 2) return -1;
    return begin_server();
}

static int teardown(void **state)
{
    (void)state;
    end_server();
    server_stop(server);
    commission_close(&commission);
    server_free(server);
    return scratch_clear(room);
}

/* ---- a client that can misbehave ---- */

static int dial(void)
{
    const struct sockaddr_in address = {.sin_family = AF_INET,
                                        .sin_port = htons((uint16_t)port),
                                        .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    const int client = socket(AF_INET, SOCK_STREAM, 0);
    assert_true(client >= 0);
    assert_int_equal(connect(client, (const struct sockaddr *)&address, sizeof address), 0);
    return client;
}

/* Reads to the end, for at most a minute of silence; the status, 0 where there was none, -1 where
 * it does not end. */
static int hear(int client, char *answer, size_t size)
{
    size_t got = 0;
    char sink[4096];
    struct pollfd ready = {.fd = client, .events = POLLIN};
    for (;;) {
        if (poll(&ready, 1, 60000) != 1) return -1;
        const bool room_left = got + 1 < size;
        const ssize_t n = recv(client, room_left ? answer + got : sink,
                               room_left ? size - got - 1 : sizeof sink, 0);
        if (n <= 0) break;
        if (room_left) got += (size_t)n;
    }
    answer[got] = 0;
    close(client);
    int status = 0;
    return sscanf(answer, "HTTP/1.1 %d", &status) == 1 ? status : 0;
}

/* Whether somebody listens there. */
static bool reaches(void)
{
    const struct sockaddr_in address = {.sin_family = AF_INET,
                                        .sin_port = htons((uint16_t)port),
                                        .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    const int client = socket(AF_INET, SOCK_STREAM, 0);
    const bool reached = !connect(client, (const struct sockaddr *)&address, sizeof address);
    close(client);
    return reached;
}

static char heard[1 << 16];

/* Sends the text as it is. */
static int say(const char *text, size_t length)
{
    const int client = dial();
    send(client, text, length, MSG_NOSIGNAL);
    shutdown(client, SHUT_WR);
    return hear(client, heard, sizeof heard);
}

/* A request of ours with further lines of its head, each ended by CRLF, and a body. */
static int request(const char *line, const char *more, const char *body)
{
    static char text[1 << 16];
    const int length = snprintf(
        text, sizeof text, "%s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: rowlock-%u=%s\r\n%s\r\n%s",
        line, port, port, token, more, body);
    return say(text, (size_t)length);
}

static int post(const char *path, const char *body)
{
    char more[128], line[128];
    snprintf(more, sizeof more, "Content-Type: application/json\r\nContent-Length: %zu\r\n",
             strlen(body));
    snprintf(line, sizeof line, "POST %s", path);
    return request(line, more, body);
}

static void still_answers(void) { assert_int_equal(request("GET /state", "", ""), 200); }

/* ---- tests ---- */

static void the_link_gives_the_cookie(void **state)
{
    (void)state;
    char line[256];
    snprintf(line, sizeof line, "GET /?token=%s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n", token,
             port);
    assert_int_equal(say(line, strlen(line)), 303);
    assert_non_null(strstr(heard, "HttpOnly; SameSite=Strict"));
    assert_non_null(strstr(heard, "Location: /\r\n"));
    /* Each setting is told as what it is: the form is made of this. */
    assert_int_equal(request("GET /settings", "", ""), 200);
    assert_non_null(strstr(heard, "\"name\":\"favour\",\"type\":\"choice\""));
    assert_non_null(strstr(heard, "\"name\":\"width\",\"type\":\"length\""));
    assert_null(strstr(heard, "\"name\":\"favour\",\"type\":\"switch\""));
    assert_int_equal(request("GET /", "", ""), 200);
    assert_non_null(strstr(heard, "default-src 'none'"));
    assert_non_null(strstr(heard, "nosniff"));
    assert_non_null(strstr(heard, "<!DOCTYPE html>"));
}

static void what_is_not_ours_is_refused(void **state)
{
    (void)state;
    char line[256];
    snprintf(line, sizeof line, "GET / HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n", port);
    assert_int_equal(say(line, strlen(line)), 403);
    snprintf(line, sizeof line, "GET /?token=%s HTTP/1.1\r\nHost: evil.example\r\n\r\n", token);
    assert_int_equal(say(line, strlen(line)), 421);
    assert_int_equal(request("GET /state", "Origin: http://evil.example\r\n", ""), 403);
    assert_int_equal(request("PUT /state", "", ""), 405);
    assert_int_equal(request("POST /change", "Content-Length: 2\r\n", "{}"), 415);
    assert_int_equal(request("POST /change",
                             "Content-Type: application/json\r\nContent-Length: 9999999\r\n", "{}"),
                     413);
    assert_int_equal(request("POST /change",
                             "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n",
                             "2\r\n{}\r\n0\r\n\r\n"),
                     411);
    still_answers();
}

static int files_in(const char *path)
{
    int files = 0;
    DIR *dir = opendir(path);
    assert_non_null(dir);
    while (readdir(dir)) files++;
    closedir(dir);
    return files;
}

static void no_request_names_a_file(void **state)
{
    (void)state;
    static const char *const lines[] = {
        "GET /../../etc/passwd",
        "GET /%2e%2e/%2e%2e/etc/passwd",
        "GET /made?file=../job.ini",
        "GET /made?file=/etc/passwd",
        "GET /made?file=plan.json%00.png",
        "GET /made?file=",
        "GET /version?version=-1",
        "GET /version?version=../0",
        "GET /version?version=1e9",
        "GET /view?view=../seen",
        "GET //etc/passwd",
        "GET /job.ini",
    };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        const int status = request(lines[i], "", "");
        if (status == 200 && !strstr(heard, "image/png")) fail_msg("%s is answered", lines[i]);
        assert_null(strstr(heard, "root:"));
    }
    static const char *const bodies[] = {
        "{\"settings\":{\"reference\":\"/etc/passwd\"}}",
        "{\"settings\":{\"palette\":\"../../x.csv\"}}",
        "{\"settings\":{\"out\":\"/tmp/elsewhere\"}}",
        "{\"settings\":{\"limit\":\"1000000\"}}",
        "{\"settings\":{\"threads\":\"64\"}}",
        "{\"settings\":{\"currency\":\"a\\nout = /tmp/elsewhere\"}}",
        "{\"settings\":{\"currency\":\"a ; b\"}}",
        "{\"settings\":{\"calm\":1}}",
        "{\"settings\":[]}",
        "{\"settings\":{\"calm\":\"0.5\",\"calm\":\"0.6\"}}",
        "[]",
        "{",
    };
    const int before = files_in(room);
    for (size_t i = 0; i < sizeof bodies / sizeof *bodies; i++)
        if (post("/change", bodies[i]) != 422) fail_msg("%s: %s", bodies[i], heard);
    assert_int_equal(post("/go", "{\"version\":99}"), 422);
    assert_int_equal(post("/go", "{}"), 422);
    assert_int_equal(post("/name", "{\"version\":-3,\"name\":\"a\"}"), 422);
    assert_int_equal(request("POST /file?setting=../x",
                             "Content-Type: application/octet-stream\r\nContent-Length: 1\r\n",
                             "x"),
                     422);
    assert_int_equal(files_in(room), before);
    assert_int_equal(trail_count(commission.trail), 1);
    still_answers();
}

static void a_change_is_a_version_and_can_be_undone(void **state)
{
    (void)state;
    assert_int_equal(post("/change", "{\"settings\":{\"calm\":\"0.55\"}}"), 200);
    assert_int_equal(post("/change", "{\"settings\":{\"calm\":\"0.550\"}}"), 200); /* no change */
    assert_int_equal(request("GET /state", "", ""), 200);
    assert_non_null(strstr(heard, "\"now\":1,\"from\":0"));
    assert_int_equal(post("/go", "{\"version\":0}"), 200);
    assert_int_equal(request("GET /state", "", ""), 200);
    assert_non_null(strstr(heard, "\"onward\":1"));
    assert_int_equal(post("/go", "{\"version\":1}"), 200);
    assert_int_equal(post("/change", "{\"settings\":{\"calm\":\"0.1\"},\"gesture\":7}"), 200);
    assert_int_equal(post("/change", "{\"settings\":{\"calm\":\"0.2\"},\"gesture\":7}"), 200);
    assert_int_equal(trail_count(commission.trail), 3);
}

/* Until nothing is planned, which `heard` then tells of. */
static void await_end_of_work(void)
{
    for (int waited = 0; waited < 1500; waited++) {
        assert_int_equal(request("GET /state", "", ""), 200);
        if (strstr(heard, "\"busy\":false")) return;
        nanosleep(&(struct timespec){.tv_nsec = 20000000}, NULL);
    }
    fail_msg("the desk is at work for half a minute");
}

/* A picture's bytes, which `heard` begins with. */
static size_t hear_picture(const char *line, char *copy, size_t size)
{
    assert_int_equal(request(line, "", ""), 200);
    const char *body = strstr(heard, "\r\n\r\n");
    const char *length = strstr(heard, "Content-Length: ");
    assert_non_null(body);
    assert_non_null(length);
    const size_t bytes = (size_t)strtoul(length + 16, NULL, 10);
    assert_true(bytes > 0 && bytes <= size);
    memcpy(copy, body + 4, bytes);
    return bytes;
}

/* A version that was planned before is drawn, without its plan, as it was on the wall. */
static void a_version_is_seen_as_it_was_on_the_wall(void **state)
{
    (void)state;
    static const char *const views[] = {"cells&pixels=60", "seen&pixels=60&distance=900"};
    static char before[2][8192], after[8192];
    char line[96], back[64];
    size_t length[2];
    await_end_of_work();
    const int version = trail_now(commission.trail);
    for (int i = 0; i < 2; i++) {
        snprintf(line, sizeof line, "GET /view?view=%s", views[i]);
        length[i] = hear_picture(line, before[i], sizeof before[i]);
    }
    assert_int_equal(post("/change", "{\"settings\":{\"width\":\"90mm\",\"distance\":\"2m\"}}"),
                     200);
    await_end_of_work();
    for (int i = 0; i < 2; i++) {
        snprintf(line, sizeof line, "GET /view?version=%d&view=%s", version, views[i]);
        assert_int_equal(hear_picture(line, after, sizeof after), length[i]);
        assert_memory_equal(after, before[i], length[i]);
        snprintf(line, sizeof line, "GET /view?view=%s", views[i]);
        assert_int_equal(request(line, "", ""), 200);
    }
    assert_int_equal(request("GET /view?version=99&view=cells", "", ""), 404);
    assert_int_equal(request("GET /view?version=-1&view=cells", "", ""), 404);
    snprintf(back, sizeof back, "{\"version\":%d}", version);
    assert_int_equal(post("/go", back), 200);
    await_end_of_work();
}

/* Two wait for news; the later of them has shut down its half, as who has said all may do (RFC
 * 9293, 3.6), and is answered like the other. */
static void who_has_said_all_is_answered_later(void **state)
{
    (void)state;
    enum { WAITING = 2 };
    unsigned long serial;
    char text[256], answer[1 << 14];
    int client[WAITING];
    await_end_of_work();
    const char *at = strstr(heard, "\"serial\":");
    assert_non_null(at);
    assert_int_equal(sscanf(at + 9, "%lu", &serial), 1);
    const int length = snprintf(
        text, sizeof text,
        "GET /state?after=%lu HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: rowlock-%u=%s\r\n\r\n",
        serial, port, port, token);
    for (int i = 0; i < WAITING; i++) {
        client[i] = dial();
        send(client[i], text, (size_t)length, MSG_NOSIGNAL);
    }
    shutdown(client[1], SHUT_WR);
    assert_int_equal(poll(&(struct pollfd){.fd = client[1], .events = POLLIN}, 1, 200), 0);
    assert_int_equal(post("/change", "{\"settings\":{\"calm\":\"0.4\"}}"), 200);
    for (int i = 0; i < WAITING; i++) assert_int_equal(hear(client[i], answer, sizeof answer), 200);
}

/* Of a plan that the desk wrote; when that is written anew the bench is closed, and another is
 * opened. */
static void the_bench_is_that_of_the_plan(void **state)
{
    (void)state;
    enum { TIMES = 2 };
    unsigned ours[TIMES];
    char line[160];
    assert_int_equal(request("GET /bench", "", ""), 422);
    assert_non_null(strstr(heard, "text/plain"));
    assert_non_null(strstr(heard, "there is no plan yet; make it first"));
    for (int i = 0; i < TIMES; i++) {
        assert_int_equal(post("/make", "{}"), 200);
        await_end_of_work();
        assert_non_null(strstr(heard, "\"madeStatus\":0"));
        /* The bench that was open keeps its port for the next, and is gone until that is asked for.
         */
        const unsigned desk = port;
        if (i) {
            port = ours[0];
            assert_false(reaches());
            port = desk;
        }
        assert_int_equal(request("GET /bench", "", ""), 303);
        const char *at = strstr(heard, "Location: http://127.0.0.1:");
        assert_non_null(at);
        assert_int_equal(sscanf(at + 27, "%u/?token=", &ours[i]), 1);
        assert_int_not_equal(ours[i], desk);
        port = ours[i];
        snprintf(line, sizeof line, "GET / HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n", port);
        assert_int_equal(say(line, strlen(line)), 403); /* it has a token of its own */
        port = desk;
    }
    assert_int_equal(ours[0], ours[1]);
    still_answers();
}

/* More pixels than a job may have are said before memory is asked for, and the version before is
 * there to go back to. */
static void a_picture_over_the_limit_is_refused(void **state)
{
    (void)state;
    static const char big[] = "P6 40000 40000 255\nab";
    char more[128];
    const int before = trail_now(commission.trail);
    snprintf(more, sizeof more, "Content-Type: application/octet-stream\r\nContent-Length: %zu\r\n",
             strlen(big));
    assert_int_equal(request("POST /file?setting=reference", more, big), 200);
    await_end_of_work();
    assert_non_null(strstr(heard, "40000x40000"));
    assert_non_null(strstr(heard, "over the limit"));
    char back[64];
    snprintf(back, sizeof back, "{\"version\":%d}", before);
    assert_int_equal(post("/go", back), 200);
    await_end_of_work();
}

/* The resident memory in pages, of /proc/self/statm. */
static long pages(void)
{
    long total = 0, resident = 0;
    FILE *file = fopen("/proc/self/statm", "r");
    assert_non_null(file);
    assert_int_equal(fscanf(file, "%ld %ld", &total, &resident), 2);
    fclose(file);
    return resident;
}

/* Bytes that are nearly a request: a good one with some of its bytes changed, cut or doubled. */
static void ten_thousand_malformed_requests_are_survived(void **state)
{
    (void)state;
    enum { AT_ONCE = 32 };
    char good[400], text[800];
    int client[AT_ONCE];
    uint32_t seed = 5;
    for (int i = 0; i < AT_ONCE; i++) client[i] = dial();
    const int length =
        snprintf(good, sizeof good,
                 "POST /name?a=b&c HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: rowlock-%u=%s\r\n"
                 "Content-Type: application/json\r\nContent-Length: 13\r\n\r\n{\"version\":9}",
                 port, port, token);
    long before = 0;
    for (int i = 0; i < 10000; i++) {
        if (i == 1000) before = pages(); /* what is kept for use again has been had by then */
        memcpy(text, good, (size_t)length);
        size_t used = (size_t)length;
        for (uint32_t changes = 1 + chance(&seed) % 4; changes; changes--) {
            const size_t at = chance(&seed) % used;
            if (chance(&seed) % 3)
                text[at] = (char)chance(&seed);
            else if (chance(&seed) % 2)
                used = at + 1;
            else if (used < sizeof text / 2) {
                memmove(text + used, text + at, used - at);
                used += used - at;
            }
        }
        int *turn = &client[i % AT_ONCE]; /* what is not whole is left waiting for so long */
        close(*turn);
        *turn = dial();
        send(*turn, text, used, MSG_NOSIGNAL);
        if (i % 64 == 0) poll(&(struct pollfd){.fd = *turn, .events = POLLIN}, 1, 2);
    }
    for (int i = 0; i < AT_ONCE; i++) close(client[i]);
    still_answers();
    assert_true(pages() - before < 2048); /* 8 MB of 4096-byte pages: not 1 kB each */
}

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* A head, and a body, of which a byte comes now and then. The server's patience is a second here.
 */
static void slow_senders_are_cut_off(void **state)
{
    (void)state;
    char head[256];
    snprintf(head, sizeof head,
             "POST /change HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: rowlock-%u=%s\r\n"
             "Content-Type: application/json\r\nContent-Length: 60000\r\n\r\n",
             port, port, token);
    int client[2] = {dial(), dial()};
    const double begun = now();
    send(client[0], "GET / HT", 8, MSG_NOSIGNAL);
    send(client[1], head, strlen(head), MSG_NOSIGNAL);
    int open = 2;
    while (open && now() - begun < 60) {
        still_answers();
        usleep(100000);
        for (int i = 0; i < 2; i++) {
            char byte;
            if (client[i] < 0) continue;
            send(client[i], "x", 1, MSG_NOSIGNAL);
            if (recv(client[i], &byte, 1, MSG_DONTWAIT) >= 0) {
                close(client[i]);
                client[i] = -1;
                open--;
            }
        }
    }
    assert_int_equal(open, 0);
}

/* A body that goes on after its length is no part of the request. */
static void endless_bodies_end(void **state)
{
    (void)state;
    char head[256];
    static char much[1 << 16];
    memset(much, 'x', sizeof much);
    snprintf(head, sizeof head,
             "POST /change HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: rowlock-%u=%s\r\n"
             "Content-Type: application/json\r\nContent-Length: 2\r\n\r\n{}",
             port, port, token);
    const int client = dial();
    send(client, head, strlen(head), MSG_NOSIGNAL);
    for (int i = 0; i < 400; i++)
        if (send(client, much, sizeof much, MSG_NOSIGNAL | MSG_DONTWAIT) < 0 && i > 100) break;
    close(client);
    still_answers();
}

/* More than it takes at a time: those beyond wait their turn, and all that ask are answered. */
static void two_hundred_connections_at_once(void **state)
{
    (void)state;
    enum { CLIENTS = 200 };
    char text[256], answer[256];
    int client[CLIENTS];
    const int length =
        snprintf(text, sizeof text,
                 "GET /settings HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: rowlock-%u=%s\r\n\r\n",
                 port, port, token);
    for (int i = 0; i < CLIENTS; i++) client[i] = dial();
    for (int i = 0; i < CLIENTS; i++) send(client[i], text, (size_t)length, MSG_NOSIGNAL);
    int answered = 0;
    for (int i = 0; i < CLIENTS; i++) answered += hear(client[i], answer, sizeof answer) == 200;
    /* Some may wait beyond the backlog until their time is over; none may hang. */
    assert_true(answered >= CONNECTIONS);
    still_answers();
}

static Pairing pairing;

static int send_code(const char *code)
{
    char text[400];
    const int length = snprintf(text, sizeof text,
                                "POST /pair HTTP/1.1\r\nHost: 127.0.0.2:%u\r\nContent-Type: "
                                "application/x-www-form-urlencoded\r\nContent-Length: "
                                "%zu\r\n\r\ncode=%s",
                                port, strlen(code) + 5, code);
    return say(text, (size_t)length);
}

/* At another address of the loopback, which stands for the network. */
static void a_device_is_paired_by_its_code(void **state)
{
    (void)state;
    Fault fault;
    char line[400];
    assert_int_equal(server_open(server, "0.0.0.0", &pairing, &fault), STATUS_USAGE);
    assert_int_equal(server_open(server, "203.0.113.7", &pairing, &fault), STATUS_USAGE);
    assert_int_equal(server_open(server, "studio", &pairing, &fault), STATUS_USAGE);
    /* Closed, it tells nothing of a way in. */
    snprintf(line, sizeof line, "GET /pair HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n", port);
    assert_int_equal(say(line, strlen(line)), 403);
    assert_int_equal(pairing_init(&pairing, 1, &fault), STATUS_OK);
    end_server();
    assert_int_equal(server_open(server, "127.0.0.2", &pairing, &fault), STATUS_OK);
    assert_int_equal(begin_server(), 0);
    snprintf(line, sizeof line, "GET / HTTP/1.1\r\nHost: 127.0.0.2:%u\r\n\r\n", port);
    assert_int_equal(say(line, strlen(line)), 303);
    assert_non_null(strstr(heard, "Location: /pair\r\n"));
    snprintf(line, sizeof line, "GET /state HTTP/1.1\r\nHost: 127.0.0.2:%u\r\n\r\n", port);
    assert_int_equal(say(line, strlen(line)), 403);
    assert_int_equal(send_code("00000000x"), 303);
    assert_non_null(strstr(heard, "/pair#wrong"));
    assert_null(strstr(heard, "Set-Cookie"));
    assert_int_equal(send_code(pairing.code), 303);
    assert_non_null(strstr(heard, "Location: /\r\n"));
    assert_null(strstr(heard, token));
    snprintf(line, sizeof line,
             "GET /state HTTP/1.1\r\nHost: 127.0.0.2:%u\r\nCookie: rowlock-%u=%s\r\n\r\n", port,
             port, pairing.device[0]);
    assert_int_equal(say(line, strlen(line)), 200);
    for (int i = 0; i < PAIRING_TRIES; i++) send_code("00000000x");
    assert_non_null(strstr(heard, "/pair#wait"));
}

/* Held open by somebody who has no token and says nothing. The server's patience is that of use. */
static void strangers_keep_nobody_out(void **state)
{
    (void)state;
    enum { STRANGERS = CONNECTIONS };
    int client[STRANGERS];
    server_set_patience(server, SLOW_SECONDS);
    for (int i = 0; i < STRANGERS; i++) client[i] = dial();
    const double begun = now();
    still_answers();
    assert_true(now() - begun < SLOW_SECONDS - 2);
    for (int i = 0; i < STRANGERS; i++) close(client[i]);
    server_set_patience(server, 1);
}

static void memory_stays_flat(void **state)
{
    (void)state;
    for (int i = 0; i < 200; i++) still_answers();
    const long before = pages();
    for (int i = 0; i < 500; i++) {
        post("/change", "{\"settings\":{\"calm\":\"7\"}}");
        request("GET /settings", "", "");
        request("POST /file?setting=none",
                "Content-Type: application/octet-stream\r\nContent-Length: 4\r\n", "abcd");
    }
    assert_true(pages() - before < 1024); /* 4 MB of 4096-byte pages */
}

/* 203.0.113.7 is nobody's (RFC 5737); the port is the other server's. */
static void what_cannot_be_listened_at_leaves_nothing(void **state)
{
    (void)state;
    char other[SCRATCH_MOST + 16], folder[SCRATCH_MOST + 16];
    RowlockFault fault;
    snprintf(other, sizeof other, "%s/other.ppm", room);
    snprintf(folder, sizeof folder, "%s/other.desk", room);
    assert_int_equal(link(picture, other), 0);
    const DeskOptions elsewhere = {.operand = other, .listen = "203.0.113.7"};
    const DeskOptions taken = {.operand = other, .port = port};
    assert_int_equal(desk_run(&elsewhere, NULL, &fault), ROWLOCK_USAGE);
    assert_non_null(strstr(fault.text, "203.0.113.7"));
    assert_int_equal(desk_run(&taken, NULL, &fault), ROWLOCK_NO_RESOURCE);
    assert_int_equal(access(folder, F_OK), -1);
    assert_int_equal(unlink(other), 0);
}

static void what_cannot_be_read_leaves_nothing(void **state)
{
    (void)state;
    char job[SCRATCH_MOST + 16], folder[SCRATCH_MOST + 16];
    RowlockFault fault;
    snprintf(job, sizeof job, "%s/wrong.ini", room);
    snprintf(folder, sizeof folder, "%s/wrong.desk", room);
    FILE *file = fopen(job, "wb");
    fputs("[Size]\nwidth = wide\n", file);
    fclose(file);
    assert_int_equal(desk_run(&(DeskOptions){.operand = job}, NULL, &fault), ROWLOCK_DATA);
    assert_non_null(strstr(fault.text, "wrong.ini:2"));
    assert_int_equal(access(folder, F_OK), -1);
    assert_int_equal(unlink(job), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_link_gives_the_cookie),
        cmocka_unit_test(what_is_not_ours_is_refused),
        cmocka_unit_test(no_request_names_a_file),
        cmocka_unit_test(a_change_is_a_version_and_can_be_undone),
        cmocka_unit_test(a_version_is_seen_as_it_was_on_the_wall),
        cmocka_unit_test(who_has_said_all_is_answered_later),
        cmocka_unit_test(the_bench_is_that_of_the_plan),
        cmocka_unit_test(a_picture_over_the_limit_is_refused),
        cmocka_unit_test(ten_thousand_malformed_requests_are_survived),
        cmocka_unit_test(slow_senders_are_cut_off),
        cmocka_unit_test(endless_bodies_end),
        cmocka_unit_test(two_hundred_connections_at_once),
        cmocka_unit_test(strangers_keep_nobody_out),
        cmocka_unit_test(a_device_is_paired_by_its_code),
        cmocka_unit_test(memory_stays_flat),
        cmocka_unit_test(what_cannot_be_listened_at_leaves_nothing),
        cmocka_unit_test(what_cannot_be_read_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
