/* As many devices as may be paired wait for news at the bench's address in the network, and what
 * one of them says is taken and told to all, while they wait. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "bench/bench_routes.h"
#include "support/scratch.h"
#include "support/served.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define ADDRESS "127.0.0.2"

static char room[SCRATCH_MOST], token[TOKEN_TEXT];
static Board board;
static Service service;
static Pairing pairing;
static unsigned port;

static void write_file(const char *name, const char *text)
{
    char path[SCRATCH_MOST + 32];
    snprintf(path, sizeof path, "%s/%s", room, name);
    FILE *file = fopen(path, "wb");
    fputs(text, file);
    fclose(file);
}

static int setup(void **state)
{
    (void)state;
    Fault fault;
    char link[SERVER_LINK];
    const char *mine, *folder = room;
    if (!scratch_folder(room)) return -1;
    write_file("plan.json", "{\"format\":\"rowlock-plan\",\"version\":1,\"panels\":[{\"name\":"
                            "\"r1c1\",\"bricks\":30}]}");
    write_file("book.html", "<script data-digest=\"0123456789abcdef\"></script>");
    if (board_open(&board, &folder, 1, NULL, &fault)) return -1;
    service = bench_service(&board);
    if (server_create(&server, &service, 0, &fault) ||
        pairing_init(&pairing, service.devices, &fault) ||
        server_open(server, ADDRESS, &pairing, &fault) ||
        pairing_try(&pairing, pairing.code, 0, &mine) != PAIRING_MADE)
        return -1;
    strcpy(token, mine);
    server_open_link(server, link);
    if (sscanf(link, "http://" ADDRESS ":%u", &port) != 1) return -1;
    return begin_server();
}

static int teardown(void **state)
{
    (void)state;
    end_server();
    server_stop(server);
    server_free(server);
    board_close(&board);
    return scratch_clear(room);
}

static int say(const char *line, const char *more)
{
    char text[600];
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    inet_pton(AF_INET, ADDRESS, &address.sin_addr);
    const int client = socket(AF_INET, SOCK_STREAM, 0);
    assert_int_equal(connect(client, (const struct sockaddr *)&address, sizeof address), 0);
    const int length = snprintf(
        text, sizeof text, "%s HTTP/1.1\r\nHost: " ADDRESS ":%u\r\nCookie: rowlock-%u=%s\r\n%s",
        line, port, port, token, more);
    assert_int_equal(send(client, text, (size_t)length, MSG_NOSIGNAL), length);
    return client;
}

/* The status of the answer, which is waited for so long; 0: none came. */
static int hear(int client, int seconds)
{
    char answer[64] = "";
    int status = 0;
    struct pollfd ready = {.fd = client, .events = POLLIN};
    if (poll(&ready, 1, seconds * 1000) == 1 && recv(client, answer, sizeof answer - 1, 0) > 0)
        sscanf(answer, "HTTP/1.1 %d", &status);
    close(client);
    return status;
}

static void all_wait_and_one_speaks(void **state)
{
    (void)state;
    static const char body[] = "{\"device\":\"ada\",\"events\":[{\"number\":1,\"kind\":\"mark\","
                               "\"panel\":\"r1c1\",\"first\":0,\"count\":1,\"laid\":true}]}";
    int waiting[PAIRING_DEVICES];
    char more[400];
    for (int i = 0; i < PAIRING_DEVICES; i++) waiting[i] = say("GET /state?plan=0&after=0", "\r\n");
    usleep(100000); /* until they are let in */
    snprintf(more, sizeof more, "Content-Type: application/json\r\nContent-Length: %zu\r\n\r\n%s",
             strlen(body), body);
    assert_int_equal(hear(say("POST /events?plan=0", more), 10), 200);
    for (int i = 0; i < PAIRING_DEVICES; i++) assert_int_equal(hear(waiting[i], 10), 200);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(all_wait_and_one_speaks)};
    return cmocka_run_group_tests(tests, setup, teardown);
}
