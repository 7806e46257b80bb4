/* A desk that is killed in the middle of its work, time and again: opened anew it has every change
 * that it said was done, at most one more, and its job file is one that the program reads. KILLS
 * kills in place of a few.
 *
 * Source: the promise of the manual; SIGKILL, which no program hears (signal(7)). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "support/chance.h"
#include "support/command.h"

#include <arpa/inet.h>
#include <math.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>

static pid_t desk;
static unsigned port;
static char token[64], heard[1 << 18];

/* Starts the desk in the room and reads its link. */
static void open_desk(void)
{
    int line[2];
    char link[200] = "";
    assert_int_equal(pipe(line), 0);
    desk = fork();
    if (!desk) {
        if (chdir(command_room) || dup2(line[1], 1) < 0 || !freopen("/dev/null", "w", stderr))
            _exit(70);
        close(line[0]);
        close(line[1]);
        execl(command_program, "rowlock", "desk", "ref.ppm", "--no-open", (char *)NULL);
        _exit(70);
    }
    close(line[1]);
    FILE *from = fdopen(line[0], "r");
    assert_non_null(fgets(link, sizeof link, from));
    fclose(from);
    assert_int_equal(sscanf(link, "http://127.0.0.1:%u/?token=%63s", &port, token), 2);
}

static void kill_desk(void)
{
    int code;
    kill(desk, SIGKILL);
    waitpid(desk, &code, 0);
    assert_true(WIFSIGNALED(code));
}

/* The status of the answer, which is in `heard`; 0 where none came. */
static int request(const char *method, const char *path, const char *body)
{
    char text[1024];
    int status = 0;
    size_t got = 0;
    const struct sockaddr_in address = {.sin_family = AF_INET,
                                        .sin_port = htons((uint16_t)port),
                                        .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    const int client = socket(AF_INET, SOCK_STREAM, 0);
    if (connect(client, (const struct sockaddr *)&address, sizeof address)) {
        close(client);
        return 0;
    }
    const int length = snprintf(text, sizeof text,
                                "%s %s HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nCookie: rowlock-%u=%s\r\n"
                                "Content-Type: application/json\r\nContent-Length: %zu\r\n\r\n%s",
                                method, path, port, port, token, strlen(body), body);
    send(client, text, (size_t)length, MSG_NOSIGNAL);
    for (ssize_t n; (n = recv(client, heard + got, sizeof heard - 1 - got, 0)) > 0;)
        got += (size_t)n;
    heard[got] = 0;
    close(client);
    sscanf(heard, "HTTP/1.1 %d", &status);
    return status;
}

static double seed_of(int change) { return (double)(change % 1000) / 1000; }

/* The text of the setting that the desk has, as a number. */
static double calm_of_state(void)
{
    assert_int_equal(request("GET", "/state", ""), 200);
    const char *at = strstr(heard, "\"calm\":\"");
    assert_non_null(at);
    return strtod(at + 8, NULL);
}

/* The job file of the desk reads, and says the same. */
static void job_file_reads(double calm)
{
    char path[SCRATCH_MOST + 40], line[256];
    double read = -1;
    snprintf(path, sizeof path, "%s/ref.desk/job.ini", command_room);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    while (fgets(line, sizeof line, file)) sscanf(line, "calm = %lf", &read);
    fclose(file);
    assert_true(fabs(read - calm) < 1e-9);
}

static void what_was_done_is_there_after_a_kill(void **state)
{
    (void)state;
    const char *asked = getenv("KILLS");
    const int kills = asked ? atoi(asked) : 4;
    uint32_t seed = 11;
    char path[SCRATCH_MOST + 16], body[80];
    int change = 1;
    snprintf(path, sizeof path, "%s/ref.ppm", command_room);
    assert_int_equal(speckle(path, 60, 40), 0);
    open_desk();
    for (int i = 0; i < kills; i++) {
        for (uint32_t more = 1 + chance(&seed) % 4; more; more--, change++) {
            snprintf(body, sizeof body, "{\"settings\":{\"calm\":\"%.3f\"}}", seed_of(change));
            assert_int_equal(request("POST", "/change", body), 200);
        }
        /* At work on the last one, a moment longer or shorter. */
        usleep(chance(&seed) % 60000);
        kill_desk();
        open_desk();
        const double calm = calm_of_state();
        assert_true(fabs(calm - seed_of(change - 1)) < 1e-9);
        job_file_reads(calm);
    }
    kill_desk();
}

/* Killed while a change is on its way, of which nothing was heard: it is there, or it is not. */
static void a_change_under_way_is_done_or_not(void **state)
{
    (void)state;
    const char *asked = getenv("KILLS");
    const int kills = asked ? atoi(asked) : 4;
    uint32_t seed = 12;
    open_desk();
    for (int i = 0; i < kills; i++) {
        const double before = calm_of_state(), wanted = i % 2 ? 0.25 : 0.75;
        char body[80];
        snprintf(body, sizeof body, "{\"settings\":{\"calm\":\"%.3f\"}}", wanted);
        const pid_t child = fork();
        if (!child) {
            request("POST", "/change", body);
            _exit(0);
        }
        usleep(chance(&seed) % 20000);
        kill_desk();
        waitpid(child, NULL, 0);
        open_desk();
        const double calm = calm_of_state();
        assert_true(fabs(calm - before) < 1e-9 || fabs(calm - wanted) < 1e-9);
    }
    kill_desk();
}

static void await_the_plan(void)
{
    do {
        usleep(50000);
        assert_int_equal(request("GET", "/state", ""), 200);
    } while (strstr(heard, "\"making\":true"));
    assert_non_null(strstr(heard, "\"madeStatus\":0"));
}

/* Killed while the plan is written: the earlier one is there or the new one, and either is whole.
 */
static void a_plan_under_way_is_whole_or_as_it_was(void **state)
{
    (void)state;
    const char *asked = getenv("KILLS");
    const int kills = asked ? atoi(asked) : 4;
    uint32_t seed = 13;
    char body[80];
    open_desk();
    assert_int_equal(request("POST", "/make", "{}"), 200);
    await_the_plan();
    for (int i = 0; i < kills; i++) {
        const double calm = seed_of(100 + i);
        snprintf(body, sizeof body, "{\"settings\":{\"calm\":\"%.3f\"}}", calm);
        assert_int_equal(request("POST", "/change", body), 200);
        assert_int_equal(request("POST", "/make", "{}"), 200);
        usleep(chance(&seed) % 1000000);
        kill_desk();
        if (shell("rowlock check ref.desk/plan")) fail_msg("%s", command_said);
        open_desk();
        assert_true(fabs(calm_of_state() - calm) < 1e-9);
    }
    /* And what a killed desk left half-written hinders none. */
    assert_int_equal(request("POST", "/make", "{}"), 200);
    await_the_plan();
    kill_desk();
    if (shell("rowlock check ref.desk/plan")) fail_msg("%s", command_said);
    assert_int_equal(
        shell("test $(ls -A ref.desk | grep -c part) = 0 && test $(ls | grep -vc said) = 2"), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_done_is_there_after_a_kill),
        cmocka_unit_test(a_change_under_way_is_done_or_not),
        cmocka_unit_test(a_plan_under_way_is_whole_or_as_it_was),
    };
    return cmocka_run_group_tests(tests, command_setup, command_teardown);
}
