/* How long a whole plan takes from a 24-megapixel JPEG of 6 MB, without the book, as a
 * ratio to what djpeg takes to decode the file; how much memory; and where the time goes.
 * Of a photograph (tests/data/pictures/astronaut.png, enlarged) and of a painted picture that
 * is hard to lay: broad soft shapes whose grain frays every edge between two colours.
 * Whole processes are timed in turn, median of several.
 *
 *   bench_plan [ROUNDS] */
#include "base/bands.h"
#include "plan/plan.h"
#include "support/chance.h"
#include "support/jpegs.h"
#include "support/scratch.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <jansson.h>
#include <png.h>

enum { WIDTH = 6000, HEIGHT = 4000, STAGES = 32, ROUNDS_MOST = 64 };

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

typedef struct Photograph {
    int width, height;
    uint8_t *rgb;
} Photograph;

static Photograph read_photograph(void)
{
    png_image png = {.version = PNG_IMAGE_VERSION};
    Photograph p = {0};
    if (png_image_begin_read_from_file(&png, "tests/data/pictures/astronaut.png")) {
        png.format = PNG_FORMAT_RGB;
        p = (Photograph){(int)png.width, (int)png.height, malloc(PNG_IMAGE_SIZE(png))};
    }
    if (!p.rgb || !png_image_finish_read(&png, NULL, p.rgb, 0, NULL)) {
        fprintf(stderr, "tests/data/pictures/astronaut.png: cannot be read; run from the top\n");
        exit(66);
    }
    return p;
}

/* Between the four pixels around it. */
static double enlarged(const Photograph *p, int x, int y, int c)
{
    const double scale = fmin((double)p->width / WIDTH, (double)p->height / HEIGHT);
    const double at = fmax(0, (x + 0.5) * scale - 0.5), up = fmax(0, (y + 0.5) * scale - 0.5);
    const int left = (int)at, top = (int)up;
    const int right = left + 1 < p->width ? left + 1 : left;
    const int low = top + 1 < p->height ? top + 1 : top;
    const double across = at - left, down = up - top;
    const double above = p->rgb[3 * (top * p->width + left) + c] * (1 - across) +
                         p->rgb[3 * (top * p->width + right) + c] * across;
    const double below = p->rgb[3 * (low * p->width + left) + c] * (1 - across) +
                         p->rgb[3 * (low * p->width + right) + c] * across;
    return above * (1 - down) + below * down;
}

static double painted(int x, int y, int c)
{
    const double wave = sin(x * 0.004 + y * 0.001) + sin(y * 0.006 - x * 0.0007);
    const double disc = hypot(x % 1500 - 750, y % 1300 - 650) < 400 ? 45 : 0;
    return 110 + 40 * wave * (1 - 0.3 * c) + disc * (c - 0.7);
}

/* A picture with grain; painted without a photograph. */
typedef struct Grained {
    const Photograph *photograph;
    uint32_t seed;
} Grained;

static void fill_row(void *self, int y, uint8_t *row)
{
    Grained *g = self;
    for (int x = 0; x < WIDTH; x++) {
        const double grain = (chance(&g->seed) >> 16) / 255.0 * 20.0 - 10.0;
        for (int c = 0; c < 3; c++) {
            const double v =
                grain + (g->photograph ? enlarged(g->photograph, x, y, c) : painted(x, y, c));
            row[3 * x + c] = (uint8_t)(v < 0 ? 0 : v > 255 ? 255 : v);
        }
    }
}

static void make_jpeg(const char *path, const Photograph *photograph, int height)
{
    Grained picture = {photograph, 1};
    if (!jpeg_from_rows(path, WIDTH, height, 90, fill_row, &picture)) exit(73);
}

/* Wall seconds and peak memory of one run of a shell line's program. */
static double timed(char *const argument[], long *peak_kib)
{
    const double start = now();
    fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        if (!freopen("/dev/null", "w", stdout) || !freopen("/dev/null", "w", stderr)) _exit(74);
        execvp(argument[0], argument);
        _exit(69);
    }
    int code;
    struct rusage use;
    wait4(child, &code, 0, &use);
    if (!WIFEXITED(code) || WEXITSTATUS(code)) {
        fprintf(stderr, "%s failed\n", argument[0]);
        exit(70);
    }
    if (peak_kib) *peak_kib = use.ru_maxrss;
    return now() - start;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

static double median(double *value, int count)
{
    qsort(value, (size_t)count, sizeof *value, by_value);
    return value[count / 2];
}

/* Stages as progress names them, with the time until the next one's name. */
typedef struct Clock {
    char name[STAGES][32];
    double seconds[STAGES], since;
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
    if (c->count < STAGES) snprintf(c->name[c->count++], 32, "%s", name);
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
    make_jpeg(photo, &photograph, HEIGHT);
    make_jpeg(hard, NULL, HEIGHT);
    make_jpeg(tall, NULL, 10 * HEIGHT);
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
