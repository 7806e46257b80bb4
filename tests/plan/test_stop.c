/* No part of a plan is deaf for long: what lies between two questions whether to stop grows with
 * the columns of a mural, not with its cells. Held to SHARE_MOST of the work, a stop is heard
 * within a second also where there are 2000 x 1500 cells, whose plan takes about a minute
 * (bench_stop).
 *
 * A low mural and a high one of the same columns are planned, and the longest silence of each stage
 * is held against all the work that the high one takes more: what is the same for both, tables and
 * pieces of pictures, is left out. Work is counted in the time of the processor that one thread
 * takes, and the least of several runs counts, so that other work on the machine does not. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "model/job.h"
#include "plan/plan.h"
#include "support/scratch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { RUNS = 2, STAGES_MOST = 30, LOW = 40, HIGH = 480 };

/* Of the work that is more: half a second of a minute, and as much again for chance. */
#define SHARE_MOST 0.017

/* What a voice has heard. */
typedef struct Listener {
    double begun, last;
    int stages, now;
    struct {
        char name[32];
        double longest;
    } stage[STAGES_MOST];
} Listener;

static double thread_seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static bool listen(void *self)
{
    Listener *l = self;
    const double silence = thread_seconds() - l->last;
    if (silence > l->stage[l->now].longest) l->stage[l->now].longest = silence;
    l->last = thread_seconds();
    return false;
}

/* What was silent before a stage belongs to the one before. */
static void enter_stage(void *self, const char *stage, double done)
{
    (void)done;
    Listener *l = self;
    if (!strcmp(l->stage[l->now].name, stage)) return;
    listen(self);
    for (l->now = 0; l->now < l->stages && strcmp(l->stage[l->now].name, stage) != 0;) l->now++;
    assert_true(l->now < STAGES_MOST);
    if (l->now == l->stages)
        snprintf(l->stage[l->stages++].name, sizeof l->stage->name, "%s", stage);
}

static void set(Job *job, const char *name, const char *text)
{
    Fault fault;
    assert_int_equal(job_set(job, setting_find(name), text, name, NULL, &fault), STATUS_OK);
}

/* The longest silence of each stage, and the whole, in the best of the runs. */
static double listen_to(Job *job, int rows, Listener *best)
{
    double whole = HUGE_VAL;
    job->rows = rows;
    for (int run = 0; run < RUNS; run++) {
        Listener l = {.begun = thread_seconds(), .last = thread_seconds(), .stages = 1};
        const Voice voice = {.self = &l, .progress = enter_stage, .stopped = listen};
        Fault fault;
        assert_true(plan_run(job, &voice, &fault) <= STATUS_UNHELD);
        listen(&l);
        whole = fmin(whole, l.last - l.begun);
        if (run == 0) *best = l;
        for (int i = 0; i < l.stages; i++)
            best->stage[i].longest = fmin(best->stage[i].longest, l.stage[i].longest);
    }
    return whole;
}

static void hear(const char *const *more)
{
    char room[SCRATCH_MOST], out[SCRATCH_MOST + 8];
    static Job job;
    Listener low, high;
    assert_non_null(scratch_folder(room));
    snprintf(out, sizeof out, "%s/out", room);
    job_init(&job);
    set(&job, "reference", "tests/data/pictures/coffee.png");
    set(&job, "columns", "72");
    set(&job, "threads", "1");
    set(&job, "book", "no");
    set(&job, "quote", "no");
    set(&job, "out", out);
    for (; *more; more += 2) set(&job, more[0], more[1]);
    const double before = listen_to(&job, LOW, &low), whole = listen_to(&job, HIGH, &high);
    assert_int_equal(low.stages, high.stages);
    for (int i = 0; i < high.stages; i++) {
        const double more_silent = high.stage[i].longest - low.stage[i].longest;
        if (more_silent > SHARE_MOST * (whole - before))
            fail_msg("%s is deaf for %.1f ms of %.0f", high.stage[i].name, 1e3 * more_silent,
                     1e3 * (whole - before));
    }
    scratch_clear(room);
}

static void a_search_hears(void **state)
{
    (void)state;
    hear((const char *const[]){NULL});
}

static void a_relief_hears(void **state)
{
    (void)state;
    hear((const char *const[]){"dither", "none", "relief", "luminance", NULL});
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_search_hears),
        cmocka_unit_test(a_relief_hears),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
