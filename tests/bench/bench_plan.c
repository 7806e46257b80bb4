/* How long a whole plan takes from a 24-megapixel JPEG of 6 MB, without the book, as a
 * ratio to what djpeg takes to decode the file; how much memory; and where the time goes.
 * Of a photograph (tests/data/pictures/astronaut.png, enlarged) and of a painted picture that
 * is hard to lay: broad soft shapes whose grain frays every edge between two colours.
 * Whole processes are timed in turn, median of several.
 *
 *   bench_plan [ROUNDS] */
#include "base/bands.h"
#include "plan/plan.h"
#include "support/large_jpegs.h"
#include "support/scratch.h"
#include "support/timing.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

enum { NAMES = 32, ROUNDS_MOST = 64 };

/* Stages as progress names them, with the time until the next one's name. */
typedef struct Clock {
    char name[NAMES][32];
    double seconds[NAMES], since;
    int count;
} Clock;

static void stage(void *self, const char *name, double done)
{
    (void)done;
    Clock *c = self;
    const double t = now();
    if (c->count) c->seconds[c->count - 1] += t - c->since;
    c->since = t;
    if (c->count && !strcmp(c->name[c->count - 1], name)) return;
    if (c->count < NAMES) snprintf(c->name[c->count++], 32, "%s", name);
}

static void where_the_time_goes(const char *jpeg, const char *out)
{
    Job job;
    job_init(&job);
    snprintf(job.reference, sizeof job.reference, "%s", jpeg);
    snprintf(job.out, sizeof job.out, "%s", out);
    job.columns = 480;
    job.book = 0;
    job.dither = DITHER_NONE;
    static Clock clock;
    const Voice voice = {.self = &clock, .progress = stage};
    Fault fault;
    if (plan_run(&job, &voice, &fault)) exit(70);
    stage(&clock, "end", 0);
    double whole = 0;
    for (int i = 0; i < clock.count; i++) whole += clock.seconds[i];
    for (int i = 0; i + 1 < clock.count; i++)
        printf("  %-14s %5.1f %%\n", clock.name[i], 100 * clock.seconds[i] / whole);
}

/* Bricks, and what is proven that they cannot be less than, of a plan that was written. */
static void say_bricks(const char *out)
{
    char path[96];
    snprintf(path, sizeof path, "%s/plan.json", out);
    json_t *plan = json_load_file(path, 0, NULL);
    const json_t *measures = json_object_get(plan, "measures");
    const double bricks = json_number_value(json_object_get(measures, "bricks"));
    const double bound = json_number_value(json_object_get(measures, "bricks_lower_bound"));
    printf("  bricks               %.0f, at most %.2f %% over the least\n", bricks,
           100 * (bricks / bound - 1));
    json_decref(plan);
}

/* The ratios of one picture, quick and as it comes. */
static void time_plans(const char *name, char *jpeg, char *program, char *out, int rounds)
{
    char *decode[] = {"djpeg", "-outfile", "/dev/null", jpeg, NULL};
    char *plan[] = {program, "plan",   jpeg, "--columns", "480", "--dither",
                    "none",  "--book", "no", "--out",     out,   NULL};
    char *quick[] = {program,    "plan", jpeg,     "--columns", "480",   "--dither", "none",
                     "--effort", "0",    "--book", "no",        "--out", out,        NULL};
    double ratio[ROUNDS_MOST], quick_ratio[ROUNDS_MOST];
    long peak = 0;
    for (int i = 0; i < rounds; i++) {
        const double one = timed(decode, NULL);
        quick_ratio[i] = timed(quick, NULL) / one;
        ratio[i] = timed(plan, &peak) / one;
    }
    printf("%s\n", name);
    printf("  with --effort 0      %.2f (median of %d, one process each, in turn)\n",
           median(quick_ratio, rounds), rounds);
    printf("  with default effort  %.2f\n", median(ratio, rounds));
    printf("  peak memory          %.1f MiB\n", (double)peak / 1024);
    say_bricks(out);
}

int main(int argc, char **argv)
{
    int rounds = argc > 1 ? atoi(argv[1]) : 5;
    if (rounds < 1) rounds = 1;
    if (rounds > ROUNDS_MOST) rounds = ROUNDS_MOST;
    const char *build = getenv("B");
    char room[SCRATCH_MOST];
    char photo[SCRATCH_MOST + 16], hard[SCRATCH_MOST + 16], tall[SCRATCH_MOST + 16];
    char out[SCRATCH_MOST + 16];
    char program[4096];
    if (!scratch_folder(room)) return 73;
    snprintf(photo, sizeof photo, "%s/photo.jpg", room);
    snprintf(hard, sizeof hard, "%s/hard.jpg", room);
    snprintf(tall, sizeof tall, "%s/tall.jpg", room);
    snprintf(out, sizeof out, "%s/plan", room);
    snprintf(program, sizeof program, "%s/rowlock", build ? build : "build/release");
    const Photograph photograph = read_photograph();
    make_jpeg(photo, &photograph, LARGE_HEIGHT);
    make_jpeg(hard, NULL, LARGE_HEIGHT);
    make_jpeg(tall, NULL, 10 * LARGE_HEIGHT);
    free(photograph.rgb);
    printf("24-megapixel JPEG to a plan of 480x320, 48 colours, no book, as a ratio to djpeg\n");
    time_plans("a photograph", photo, program, out, rounds);
    time_plans("painted, with frayed edges", hard, program, out, rounds);
    char *tall_plan[] = {program,     "plan",   tall,
                         "--columns", "480",    "--rows",
                         "320",       "--crop", "6000x4000+0+9000",
                         "--dither",  "none",   "--book",
                         "no",        "--out",  out,
                         NULL};
    long peak = 0;
    timed(tall_plan, &peak);
    printf("from a JPEG ten times as high\n  peak memory          %.1f MiB\n", (double)peak / 1024);
    printf("where the time goes with the photograph, %d threads:\n", bands_processors());
    where_the_time_goes(photo, out);
    return scratch_clear(room) != 0;
}
