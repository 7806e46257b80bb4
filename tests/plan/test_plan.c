/* A whole plan through the library: every place that allocates failed in turn, a stop asked for at
 * every turn; neither leaves anything half-written nor harms the earlier plan. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "plan/plan.h"
#include "support/command.h"
#include "support/failing.h"

static void fill_job(Job *job, const char *columns, const char *build)
{
    job_init(job);
    assert_int_equal(job_set(job, setting_find("reference"), in_room("ref.ppm"), "", NULL, NULL),
                     0);
    assert_int_equal(job_set(job, setting_find("out"), in_room("plan"), "", NULL, NULL), 0);
    assert_int_equal(job_set(job, setting_find("columns"), columns, "", NULL, NULL), 0);
    assert_int_equal(job_set(job, setting_find("build"), build, "", NULL, NULL), 0);
    assert_int_equal(job_set(job, setting_find("thickness"), "2", "", NULL, NULL), 0);
    job->threads = 2;
    job->book = 0;  /* test_book fails its allocations, */
    job->quote = 0; /* test_quote the page's */
}

static void each_place_that_allocates_fails(const char *build)
{
    Job job;
    fill_job(&job, "9", build);
    assert_int_equal(plan_run(&job, NULL, NULL), 0);
    assert_int_equal(shell("rm -rf kept; cp -r plan kept"), 0);
    fill_job(&job, "8", build);
    for (Failing failing = {0}; failing_next(&failing);) {
        Fault fault = {0};
        const Status status = plan_run(&job, NULL, &fault);
        if (!failing_ended(&failing)) assert_int_equal(status, 0);
        /* Some can be done without: threads, say. */
        if (!status) {
            assert_int_equal(shell("rm -rf plan; cp -r kept plan"), 0);
            continue;
        }
        if (!*fault.text) fail_msg("run %zu: no message", failing.run);
        if (failing.run % 7 == 0)
            assert_int_equal(shell("diff -r plan kept && ! test -e .plan.partial"), 0);
    }
}

static void each_place_in_a_plaque(void **state)
{
    (void)state;
    each_place_that_allocates_fails("plaque");
}

static void each_place_in_a_wall(void **state)
{
    (void)state;
    each_place_that_allocates_fails("wall");
}

/* A user who wants out at the n-th question. */
static bool stop_at(void *self)
{
    long *left = self;
    return __atomic_sub_fetch(left, 1, __ATOMIC_RELAXED) < 0;
}

static void a_stop_at_every_turn(void **state)
{
    (void)state;
    Job job;
    fill_job(&job, "9", "plaque");
    assert_int_equal(plan_run(&job, NULL, NULL), 0);
    assert_int_equal(shell("rm -rf kept; cp -r plan kept"), 0);
    fill_job(&job, "60", "plaque");
    for (long turns = 0;; turns = turns * 3 / 2 + 1) {
        long left = turns;
        const Voice voice = {.self = &left, .stopped = stop_at};
        Fault fault = {0};
        const Status status = plan_run(&job, &voice, &fault);
        if (!status) {
            assert_true(left >= 0);
            break;
        }
        assert_int_equal(status, STATUS_INTERRUPTED);
        assert_int_equal(shell("diff -r plan kept && ! test -e .plan.partial"), 0);
    }
}

/* How far the files are, as they say it from several threads. */
typedef struct Progress {
    int asked, inside;
    double done;
} Progress;

static void follow(void *self, const char *stage, double done)
{
    Progress *p = self;
    if (strcmp(stage, "files") != 0) return;
    assert_int_equal(__atomic_add_fetch(&p->inside, 1, __ATOMIC_SEQ_CST), 1);
    assert_true(done >= p->done - 1e-9 && done <= 1 + 1e-9);
    p->done = done;
    p->asked++;
    assert_int_equal(__atomic_sub_fetch(&p->inside, 1, __ATOMIC_SEQ_CST), 0);
}

static void files_tell_how_far_they_are(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 5; threads += 2) {
        Job job;
        fill_job(&job, "30", "plaque");
        job.book = job.quote = 1;
        job.threads = threads;
        Progress progress = {0};
        const Voice voice = {.self = &progress, .progress = follow};
        assert_int_equal(plan_run(&job, &voice, NULL), 0);
        assert_true(progress.asked > 10);
        assert_true(progress.done > 1 - 1e-9);
    }
}

/* A picture as small as the mural, so that reading it takes no time. */
static int setup(void **state)
{
    if (command_setup(state)) return -1;
    return speckle(in_room("ref.ppm"), 12, 8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_place_in_a_plaque),
        cmocka_unit_test(each_place_in_a_wall),
        cmocka_unit_test(a_stop_at_every_turn),
        cmocka_unit_test(files_tell_how_far_they_are),
    };
    return cmocka_run_group_tests(tests, setup, command_teardown);
}
