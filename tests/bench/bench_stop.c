/* How long a plan is deaf: the longest time between two questions whether to stop, by stage, of a
 * mural of 2000 x 1500 cells, as a share of the half second within which a stop is to be heard.
 * Times are of the processor with one thread, so that other work on the machine does not count; a
 * thread more makes most of them shorter.
 *
 *   bench_stop [COLUMNS] */
#include "model/job.h"
#include "plan/plan.h"
#include "support/scratch.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define PICTURE "tests/data/pictures/coffee.png"
#define HEARD_S 0.5 /* within which a stop is to be heard */

enum { STAGES_MOST = 40, COLUMNS = 2000 };

/* What the voice has heard. */
typedef struct Listener {
    double last; /* when it was asked last */
    int stages;
    struct {
        char name[32];
        double longest;
    } stage[STAGES_MOST];
} Listener;

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static bool listen(void *self)
{
    Listener *l = self;
    const double at = now();
    double *longest = &l->stage[l->stages - 1].longest;
    if (at - l->last > *longest) *longest = at - l->last;
    l->last = now();
    return false;
}

/* What was silent before a stage belongs to the one before. */
static void enter_stage(void *self, const char *stage, double done)
{
    (void)done;
    Listener *l = self;
    if (!strcmp(l->stage[l->stages - 1].name, stage) || l->stages == STAGES_MOST) return;
    listen(self);
    snprintf(l->stage[l->stages++].name, sizeof l->stage->name, "%s", stage);
}

static void set(Job *job, const char *name, const char *text)
{
    Fault fault;
    if (job_set(job, setting_find(name), text, name, NULL, &fault)) {
        fprintf(stderr, "%s\n", fault.text);
        exit(1);
    }
}

/* A plan of `more`, settings and values in turn. */
static void listen_to(const char *kind, const char *columns, const char *const *more)
{
    static Job job;
    char room[SCRATCH_MOST], out[SCRATCH_MOST + 8];
    Listener listener = {.last = now(), .stages = 1, .stage = {{"start", 0}}};
    const Voice voice = {.self = &listener, .progress = enter_stage, .stopped = listen};
    Fault fault;
    if (!scratch_folder(room)) exit(1);
    snprintf(out, sizeof out, "%s/out", room);
    job_init(&job);
    set(&job, "reference", PICTURE);
    set(&job, "columns", columns);
    set(&job, "threads", "1");
    set(&job, "book", "no");
    set(&job, "crop", "532x399+0+0"); /* four to three */
    set(&job, "out", out);
    for (; *more; more += 2) set(&job, more[0], more[1]);
    if (plan_run(&job, &voice, &fault) > STATUS_UNHELD) {
        fprintf(stderr, "%s\n", fault.text);
        exit(1);
    }
    scratch_clear(room);
    for (int i = 0; i < listener.stages; i++)
        printf("%-10s %-14s %5.2f\n", kind, listener.stage[i].name,
               listener.stage[i].longest / HEARD_S);
}

int main(int argc, char **argv)
{
    char columns[16];
    snprintf(columns, sizeof columns, "%d", argc > 1 ? atoi(argv[1]) : COLUMNS);
    printf("longest silence within a stage, as a share of %.1f s, %s columns\n", HEARD_S, columns);
    listen_to("searched", columns, (const char *const[]){"dither", "distance", NULL});
    listen_to("relief", columns,
              (const char *const[]){"dither", "none", "relief", "luminance", NULL});
    return 0;
}
