/* How soon a plan that stays open answers a change of a setting, at 200x133 from a 24-megapixel
 * JPEG that is open: as a ratio to what djpeg takes to decode the file, and in milliseconds; how
 * soon it stops for a newer change; how many cells a sketch has as the face will have them; how
 * much memory it takes. All in turn, medians of several rounds.
 *
 *   bench_live [ROUNDS] */
#include "base/memory.h"
#include "rowlock.h"
#include "support/large_jpegs.h"
#include "support/scratch.h"
#include "support/timing.h"

#include <pthread.h>
#include <stdatomic.h>

enum { ROUNDS_MOST = 64 };

static void fail(const RowlockFault *fault)
{
    fprintf(stderr, "%s\n", fault->text);
    exit(70);
}

static void set(RowlockJob *job, const char *name, const char *text)
{
    RowlockFault fault;
    if (rowlock_job_set(job, name, text, NULL, &fault)) fail(&fault);
}

/* ---- changes ---- */

/* A setting turned to and fro, through values that no round has had before it. */
typedef struct Change {
    const char *name;    /* what the bench calls it */
    const char *setting; /* NULL: none, the update goes on from the last one */
    const char *form;    /* of its value, of the number of the round */
    double first, step;
    RowlockReach reach;
    double ratio[ROUNDS_MOST], ms[ROUNDS_MOST];
} Change;

static Change changes[] = {
    {"calm, to the sketch", "calm", "%g", 0.3, 0.002, ROWLOCK_TO_SKETCH, {0}, {0}},
    {"  on to the face", NULL, NULL, 0, 0, ROWLOCK_TO_FACE, {0}, {0}},
    {"  on to bricks and figures", NULL, NULL, 0, 0, ROWLOCK_TO_FIGURES, {0}, {0}},
    {"calm, to bricks and figures at once",
     "calm",
     "%g",
     0.301,
     0.002,
     ROWLOCK_TO_FIGURES,
     {0},
     {0}},
    {"crop, to the sketch", "crop", "5400x3591+%g+40", 10, 7, ROWLOCK_TO_SKETCH, {0}, {0}},
    {"  on to bricks and figures", NULL, NULL, 0, 0, ROWLOCK_TO_FIGURES, {0}, {0}},
    {"size, to the sketch", "columns", "%g", 190, 1, ROWLOCK_TO_SKETCH, {0}, {0}},
    {"distance, to the sketch", "distance", "%gm", 4, 0.1, ROWLOCK_TO_SKETCH, {0}, {0}},
    {"effort, to bricks and figures", "effort", "%g", 0.2, 0.002, ROWLOCK_TO_FIGURES, {0}, {0}},
    {"pace, to figures", "pace", "%g", 100, 1, ROWLOCK_TO_FIGURES, {0}, {0}},
};
enum { CHANGES = sizeof changes / sizeof *changes };

/* Before each change the plan is whole, unless it goes on from the last. */
static void time_change(RowlockLive *live, RowlockJob *job, Change *c, int round, double decode)
{
    RowlockFault fault;
    char value[64];
    if (c->setting) {
        if (rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, NULL, &fault)) fail(&fault);
        snprintf(value, sizeof value, c->form, c->first + round * c->step);
        set(job, c->setting, value);
    }
    const double start = now();
    if (rowlock_live_update(live, job, c->reach, NULL, &fault)) fail(&fault);
    const double seconds = now() - start;
    c->ratio[round] = seconds / decode;
    c->ms[round] = 1e3 * seconds;
}

static double alike(RowlockLive *live, RowlockJob *job)
{
    RowlockFace *face[2];
    RowlockFault fault;
    for (int i = 0; i < 2; i++) {
        const RowlockReach reach = i ? ROWLOCK_TO_FACE : ROWLOCK_TO_SKETCH;
        if (rowlock_live_update(live, job, reach, NULL, &fault) ||
            rowlock_live_face(live, &face[i], &fault))
            fail(&fault);
    }
    const int cells = face[0]->columns * face[0]->rows;
    int same = 0;
    for (int i = 0; i < cells; i++) same += face[0]->index[i] == face[1]->index[i];
    rowlock_face_free(face[0]);
    rowlock_face_free(face[1]);
    return (double)same / cells;
}

/* ---- stops ---- */

/* An update that is stopped from outside after a while. */
typedef struct Stopping {
    RowlockLive *live;
    RowlockJob *job;
    atomic_bool wanted;
    double ended;
} Stopping;

static bool is_wanted(void *self) { return atomic_load(&((Stopping *)self)->wanted); }

static void *update_to_the_end(void *self)
{
    Stopping *s = self;
    const RowlockVoice voice = {.self = s, .stopped = is_wanted};
    rowlock_live_update(s->live, s->job, ROWLOCK_TO_FIGURES, &voice, NULL);
    s->ended = now();
    return NULL;
}

/* Milliseconds from asking to the end of the update. */
static double time_stop(RowlockLive *live, RowlockJob *job, int round, double after)
{
    char value[32];
    pthread_t thread;
    Stopping s = {.live = live, .job = job};
    snprintf(value, sizeof value, "%g", 0.5 + 0.001 * round);
    set(job, "calm", value);
    if (pthread_create(&thread, NULL, update_to_the_end, &s)) exit(69);
    usleep((useconds_t)(1e6 * after));
    const double asked = now();
    atomic_store(&s.wanted, true);
    pthread_join(thread, NULL);
    return s.ended > asked ? 1e3 * (s.ended - asked) : 0;
}

static void time_stops(RowlockLive *live, RowlockJob *job)
{
    enum { STOPS = 64 };
    double ms[STOPS];
    const double whole = changes[3].ms[0] / 1e3; /* sorted: the quickest */
    for (int i = 0; i < STOPS; i++) ms[i] = time_stop(live, job, i, whole * (i + 0.5) / STOPS);
    const double middle = median(ms, STOPS);
    printf("stopped on the way      %.1f ms, at most %.1f (of %d, all the way along)\n", middle,
           ms[STOPS - 1], STOPS);
}

/* ---- the whole ---- */

static long peak_kib(void)
{
    struct rusage use;
    getrusage(RUSAGE_SELF, &use);
    return use.ru_maxrss;
}

/* In a process of its own, so that its memory is not counted. */
static void make_photograph(const char *path)
{
    const pid_t child = fork();
    if (child == 0) {
        const Photograph photograph = read_photograph();
        make_jpeg(path, &photograph, LARGE_HEIGHT);
        _exit(0);
    }
    waitpid(child, NULL, 0);
}

static void bench(char *jpeg, int rounds)
{
    RowlockLive *live = NULL;
    RowlockJob *job = NULL;
    RowlockFault fault;
    char *decode[] = {"djpeg", "-outfile", "/dev/null", jpeg, NULL};
    if (rowlock_live_create(&live, &fault) || rowlock_job_create(&job, &fault)) fail(&fault);
    set(job, "reference", jpeg);
    set(job, "columns", "200");
    set(job, "rows", "133");
    const double start = now();
    if (rowlock_live_update(live, job, ROWLOCK_TO_FIGURES, NULL, &fault)) fail(&fault);
    printf("opened, to figures      %.2f times djpeg\n", (now() - start) / timed(decode, NULL));
    for (int round = 0; round < rounds; round++) {
        const double one = timed(decode, NULL);
        for (int i = 0; i < CHANGES; i++) time_change(live, job, &changes[i], round, one);
        set(job, "columns", "200");
        set(job, "rows", "133");
    }
    for (int i = 0; i < CHANGES; i++)
        printf("%-36s %6.3f times djpeg, %6.1f ms\n", changes[i].name,
               median(changes[i].ratio, rounds), median(changes[i].ms, rounds));
    time_stops(live, job);
    set(job, "calm", "0.4");
    set(job, "distance", "5m");
    printf("cells of the sketch     %.1f %% as in the face\n", 100 * alike(live, job));
    printf("peak memory             %.0f MiB\n", (double)peak_kib() / 1024);
    rowlock_live_free(live);
    rowlock_job_free(job);
}

int main(int argc, char **argv)
{
    int rounds = argc > 1 ? atoi(argv[1]) : 9;
    if (rounds < 1) rounds = 1;
    if (rounds > ROUNDS_MOST) rounds = ROUNDS_MOST;
    char room[SCRATCH_MOST], jpeg[SCRATCH_MOST + 16];
    if (!scratch_folder(room)) return 73;
    memory_keep_freed(); /* as the desk does */
    snprintf(jpeg, sizeof jpeg, "%s/photo.jpg", room);
    make_photograph(jpeg);
    bench(jpeg, rounds);
    return scratch_clear(room) != 0;
}
