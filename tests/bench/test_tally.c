/* What is told to be kept is kept: over kills at random moments, over a disk that takes no more,
 * and once however often it is sent. KILLS=n kills n times.
 *
 * Source: SQLite's documentation, "Atomic Commit In SQLite". */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "bench/record.h"
#include "support/chance.h"
#include "support/scratch.h"

#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

static WorkPanel panels[] = {{.name = "r1c1", .first = 0, .bricks = 100000}};
static WorkPlan plan = {
    .panel = panels, .panels = 1, .bricks = 100000, .digest = "0123456789abcdef"};
static char room[SCRATCH_MOST], database[WORK_PATH];

static int setup(void **state)
{
    (void)state;
    Fault fault;
    if (!scratch_folder(room)) return -1;
    strcpy(plan.folder, room);
    return (int)work_plan_path(&plan, TALLY_FILE, database, &fault);
}

static int teardown(void **state)
{
    (void)state;
    return scratch_clear(room);
}

static Event mark(long number)
{
    return (Event){.device = "ada",
                   .number = number,
                   .at = 1000 + (double)number,
                   .kind = EVENT_MARK,
                   .first = (int)number,
                   .count = 1,
                   .laid = true};
}

static Tally *opened(void)
{
    Fault fault = {0};
    Tally *tally = NULL;
    char kept[64];
    if (tally_open(&tally, &plan, kept, &fault)) fail_msg("%s", fault.text);
    return tally;
}

/* Takes events of these numbers in one batch; how that ended. */
static Status keep(Tally *tally, long from, long to)
{
    Fault fault;
    unsigned long batch = 0;
    Status status = STATUS_OK;
    for (long n = from; n < to && !status; n++) {
        const Event e = mark(n);
        status = tally_take(tally, &e, &batch, &fault);
    }
    tally_commit(tally);
    if (!status && !tally_outcome(tally, batch, &status, &fault)) fail();
    return status;
}

static void what_is_sent_again_counts_once(void **state)
{
    (void)state;
    Tally *tally = opened();
    assert_int_equal(keep(tally, 0, 10), STATUS_OK);
    assert_int_equal(keep(tally, 5, 12), STATUS_OK);
    assert_int_equal(keep(tally, 5, 12), STATUS_OK);
    assert_int_equal(tally_state(tally)->total, 12);
    assert_int_equal(tally_serial(tally), 12);
    tally_close(tally);
    tally = opened();
    assert_int_equal(tally_state(tally)->total, 12);
    tally_close(tally);
}

/* A batch is told and known only when it is written. */
static void a_batch_counts_when_it_is_written(void **state)
{
    (void)state;
    Fault fault;
    Status status;
    unsigned long batch;
    const Event e = mark(50);
    Tally *tally = opened();
    assert_int_equal(tally_take(tally, &e, &batch, &fault), STATUS_OK);
    assert_false(tally_outcome(tally, batch, &status, &fault));
    assert_int_equal(tally_state(tally)->laid[50], 0);
    tally_commit(tally);
    assert_true(tally_outcome(tally, batch, &status, &fault));
    assert_int_equal(tally_state(tally)->laid[50], 1);
    tally_close(tally);
}

static void two_take_one_panel(void **state)
{
    (void)state;
    Fault fault;
    unsigned long batch;
    Event ada = mark(60), ben = mark(1);
    ada.kind = ben.kind = EVENT_TAKE;
    strcpy(ben.device, "ben");
    Tally *tally = opened();
    assert_int_equal(tally_take(tally, &ada, &batch, &fault), STATUS_OK);
    /* In the same batch too, the second hears it. */
    assert_int_equal(tally_take(tally, &ben, &batch, &fault), STATUS_USAGE);
    assert_non_null(strstr(fault.text, "r1c1"));
    tally_commit(tally);
    assert_int_equal(tally_take(tally, &ben, &batch, &fault), STATUS_USAGE);
    ben.over = true;
    assert_int_equal(tally_take(tally, &ben, &batch, &fault), STATUS_OK);
    tally_commit(tally);
    const WorkState *s = tally_state(tally);
    assert_string_equal(s->device[s->holder[0]].id, "ben");
    tally_close(tally);
}

static void another_plan_s_bench_is_put_aside(void **state)
{
    (void)state;
    Fault fault;
    char kept[64], path[WORK_PATH];
    WorkPlan other = plan;
    Tally *tally;
    snprintf(other.digest, sizeof other.digest, "fedcba98");
    assert_int_equal(tally_open(&tally, &other, kept, &fault), STATUS_OK);
    assert_int_equal(tally_state(tally)->total, 0);
    assert_string_equal(kept, "bench-01234567.db");
    tally_close(tally);
    assert_int_equal(work_plan_path(&plan, kept, path, &fault), STATUS_OK);
    assert_int_equal(rename(path, database), 0); /* and back */
    tally = opened();
    assert_int_not_equal(tally_state(tally)->total, 0);
    tally_close(tally);
}

static void what_is_none_of_ours_is_refused(void **state)
{
    (void)state;
    Fault fault;
    char kept[64], aside[WORK_PATH];
    Tally *tally;
    assert_int_equal(work_plan_path(&plan, "aside.db", aside, &fault), STATUS_OK);
    assert_int_equal(rename(database, aside), 0);
    FILE *file = fopen(database, "wb");
    fputs("this is a text of somebody's, and it is longer than a header of a database is, so that "
          "it cannot be taken for the beginning of one",
          file);
    fclose(file);
    assert_int_equal(tally_open(&tally, &plan, kept, &fault), STATUS_DATA);
    tally_close(tally);
    assert_int_equal(unlink(database), 0);
    sqlite3 *base;
    assert_int_equal(sqlite3_open(database, &base), SQLITE_OK);
    assert_int_equal(sqlite3_exec(base, "PRAGMA application_id = 7499639; PRAGMA user_version = 99",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_close(base);
    assert_int_equal(tally_open(&tally, &plan, kept, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "newer"));
    tally_close(tally);
    assert_int_equal(rename(aside, database), 0);
}

/* A file as version 1 wrote it, of ten marks and a panel that was taken: every later version reads
 * it. */
static void a_file_of_an_earlier_version_is_read(void **state)
{
    (void)state;
    char command[3 * WORK_PATH];
    Fault fault;
    char kept[64];
    WorkPlan old = plan;
    Tally *tally;
    snprintf(old.folder, sizeof old.folder, "%s/old", room);
    snprintf(command, sizeof command, "mkdir '%s' && cp tests/data/bench/version-1.db '%s/%s'",
             old.folder, old.folder, TALLY_FILE);
    assert_int_equal(system(command), 0);
    assert_int_equal(tally_open(&tally, &old, kept, &fault), STATUS_OK);
    assert_string_equal(kept, "");
    assert_int_equal(tally_state(tally)->total, 10);
    assert_int_equal(tally_state(tally)->holder[0], 0);
    assert_int_equal(tally_port(tally), 0);
    assert_int_equal(tally_keep_port(tally, 4711, &fault), STATUS_OK);
    tally_close(tally);
    assert_int_equal(tally_open(&tally, &old, kept, &fault), STATUS_OK);
    assert_int_equal(tally_state(tally)->total, 10);
    assert_int_equal(tally_port(tally), 4711);
    tally_close(tally);
}

static void a_second_bench_is_kept_out(void **state)
{
    (void)state;
    Tally *tally = opened();
    const pid_t child = fork();
    if (!child) {
        Fault fault;
        char kept[64];
        Tally *other;
        _exit(tally_open(&other, &plan, kept, &fault) == STATUS_NO_CREATE ? 0 : 1);
    }
    int how = -1;
    assert_int_equal(waitpid(child, &how, 0), child);
    assert_int_equal(how, 0);
    tally_close(tally);
}

/* A file may grow no further: the batch is refused whole, and what was kept is there. */
static void a_full_disk_refuses_whole_batches(void **state)
{
    (void)state;
    const pid_t child = fork();
    if (!child) {
        struct rlimit most = {.rlim_cur = 256 * 1024, .rlim_max = 256 * 1024};
        signal(SIGXFSZ, SIG_IGN);
        Tally *tally = opened();
        setrlimit(RLIMIT_FSIZE, &most);
        long n = 1000;
        while (n < 90000 && !keep(tally, n, n + 500)) n += 500;
        const long told = n;
        bool right = n < 90000 && !tally_state(tally)->laid[n];
        tally_close(tally);
        tally = opened();
        for (long i = 1000; i < told; i++) right &= tally_state(tally)->laid[i] == 1;
        for (long i = told; i < told + 500; i++) right &= tally_state(tally)->laid[i] == 0;
        tally_close(tally);
        _exit(right ? 0 : 1);
    }
    int how = -1;
    assert_int_equal(waitpid(child, &how, 0), child);
    assert_int_equal(how, 0);
}

/* Writes batches of a few events and tells each through the pipe once it is kept. */
static void keep_on(int pipe_in, long from)
{
    Tally *tally = opened();
    uint32_t seed = (uint32_t)from;
    for (long n = from;;) {
        const long next = n + 1 + (long)(chance(&seed) % 5);
        if (keep(tally, n, next) || write(pipe_in, &next, sizeof next) != sizeof next) _exit(1);
        n = next;
    }
}

static void kills_lose_nothing_that_was_told(void **state)
{
    (void)state;
    const char *often = getenv("KILLS");
    const int kills = often ? atoi(often) : 20;
    uint32_t seed = 9;
    long told = 20000;
    for (int k = 0; k < kills; k++) {
        int ends[2];
        assert_int_equal(pipe(ends), 0);
        const pid_t child = fork();
        if (!child) keep_on(ends[1], told);
        close(ends[1]);
        usleep(5000 + chance(&seed) % 40000);
        kill(child, SIGKILL);
        waitpid(child, NULL, 0);
        for (long next; read(ends[0], &next, sizeof next) == sizeof next;) told = next;
        close(ends[0]);
        Tally *tally = opened();
        const unsigned char *laid = tally_state(tally)->laid;
        for (long i = 20000; i < told; i++)
            if (!laid[i]) fail_msg("brick %ld, which was told, is lost", i);
        while (laid[told]) told++; /* kept, and killed before it was told */
        tally_close(tally);
    }
}

static void an_export_is_read_back(void **state)
{
    (void)state;
    Fault fault;
    char path[WORK_PATH], aside[WORK_PATH];
    Tally *tally = opened();
    const int total = tally_state(tally)->total;
    assert_int_equal(work_plan_path(&plan, "all.json", path, &fault), STATUS_OK);
    assert_int_equal(record_write(tally, &plan, path, &fault), STATUS_OK);
    tally_close(tally);
    assert_int_equal(work_plan_path(&plan, "aside.db", aside, &fault), STATUS_OK);
    assert_int_equal(rename(database, aside), 0);
    tally = opened();
    assert_int_equal(tally_state(tally)->total, 0);
    assert_int_equal(record_read(tally, &plan, path, &fault), STATUS_OK);
    assert_int_equal(record_read(tally, &plan, path, &fault), STATUS_OK); /* nothing new */
    assert_int_equal(tally_state(tally)->total, total);
    assert_string_equal(tally_state(tally)->device[tally_state(tally)->holder[0]].id, "ben");
    assert_int_equal(record_read(tally, &plan, aside, &fault), STATUS_DATA);
    tally_close(tally);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_sent_again_counts_once),
        cmocka_unit_test(a_batch_counts_when_it_is_written),
        cmocka_unit_test(two_take_one_panel),
        cmocka_unit_test(another_plan_s_bench_is_put_aside),
        cmocka_unit_test(what_is_none_of_ours_is_refused),
        cmocka_unit_test(a_file_of_an_earlier_version_is_read),
        cmocka_unit_test(a_second_bench_is_kept_out),
        cmocka_unit_test(a_full_disk_refuses_whole_batches),
        cmocka_unit_test(kills_lose_nothing_that_was_told),
        cmocka_unit_test(an_export_is_read_back),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
