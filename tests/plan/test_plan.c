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

#include <dirent.h>

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

/* The names in a folder of the room, in order. */
static int names_in(const char *folder, struct dirent ***names_out)
{
    const int count = scandir(in_room(folder), names_out, NULL, alphasort);
    assert_true(count > 2);
    return count;
}

/* The plan is the one that was kept, byte for byte, and nothing of another lies beside it. A shell
 * with diff would take longer than the run before it. */
static void stands_as_before(void)
{
    struct dirent **kept, **plan;
    const int count = names_in("kept", &kept);
    assert_int_equal(names_in("plan", &plan), count);
    for (int i = 0; i < count; i++) {
        char name[2][NAME_MAX + 8];
        size_t size[2] = {0};
        assert_string_equal(plan[i]->d_name, kept[i]->d_name);
        snprintf(name[0], sizeof name[0], "kept/%s", kept[i]->d_name);
        snprintf(name[1], sizeof name[1], "plan/%s", kept[i]->d_name);
        if (strcmp(kept[i]->d_name, ".") != 0 && strcmp(kept[i]->d_name, "..") != 0) {
            char *before = slurp(in_room(name[0]), &size[0]),
                 *after = slurp(in_room(name[1]), &size[1]);
            assert_true(before && after);
            if (size[0] != size[1] || memcmp(before, after, size[0]) != 0)
                fail_msg("%s is another", name[1]);
            free(before);
            free(after);
        }
        free(kept[i]);
        free(plan[i]);
    }
    free(kept);
    free(plan);
    assert_int_not_equal(access(in_room(".plan.partial"), F_OK), 0);
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
        if (failing.run % 7 == 0) stands_as_before();
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
        stands_as_before();
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
