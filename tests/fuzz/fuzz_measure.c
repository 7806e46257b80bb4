/* Fuzz entry for measuring bricks: lists of bricks and corners of the chart, whatever they say of a
 * good photograph, come to a palette or a fault. An input is parts: the list, --chart and --grey.
 * Without corners the chart is looked for. */
#include "camera/measure_bricks.h"
#include "fuzz/fuzz_input.h"
#include "support/chart_drawn.h"
#include "support/scratch.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static char measure_room[SCRATCH_MOST], measure_photo[SCRATCH_MOST + 16];

static void remove_measure_room(void) { scratch_clear(measure_room); }

static void draw_measured(void)
{
    if (!scratch_folder(measure_room)) abort();
    atexit(remove_measure_room);
    snprintf(measure_photo, sizeof measure_photo, "%s/bricks.ppm", measure_room);
    if (!chart_drawn(measure_photo)) abort();
}

/* A setting of the job as text; what is no value of it leaves it. */
static void set_measured(Job *job, const char *name, const char *text)
{
    Fault fault;
    if (*text) job_set(job, setting_find(name), text, name, NULL, &fault);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    enum { MOST = 2048 };
    static Job job;
    char text[MOST + 1], *part[3];
    Fault fault = {0};
    if (length > MOST) return 0;
    if (!*measure_room) draw_measured();
    memcpy(text, bytes, length);
    text[length] = 0;
    fuzz_parts(text, length, part, 3);
    job_init(&job);
    set_measured(&job, "chart", part[1]);
    set_measured(&job, "grey", part[2]);
    job.threads = 1;
    snprintf(job.patches, sizeof job.patches, "%s", fuzz_path((const uint8_t *)text, strlen(text)));
    snprintf(job.out, sizeof job.out, "%s/bricks.cgats", measure_room);
    const char *photo = measure_photo;
    if (!fuzz_well(measure_run(&job, &photo, 1, NULL, &fault), &fault)) return 0;
    static Palette got;
    if (palette_read(&got, job.out, NULL, &fault) || got.count < 1) abort();
    return 0;
}
