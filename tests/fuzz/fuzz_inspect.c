/* Fuzz entry for inspecting panels: corners, rows, panels and sheets, whatever they are, and
 * whatever the photograph is, are judged or refused. An input is parts: panel, row, corners, sheet,
 * and the photograph's bytes; without any it is a good one, the plan's own picture of its face. */
#include "base/csv.h"
#include "fuzz/fuzz_input.h"
#include "inspect/inspection.h"
#include "plan/plan.h"
#include "support/scratch.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static char inspect_room[SCRATCH_MOST], inspect_folder[SCRATCH_MOST + 8];

static void remove_inspect_room(void) { scratch_clear(inspect_room); }

static void plan_inspected(void)
{
    static Job job;
    static const char *const set[][2] = {
        {"columns", "9"}, {"panel", "9x8"}, {"book", "no"}, {"quote", "no"}};
    char picture[SCRATCH_MOST + 16];
    Fault fault;
    if (!scratch_folder(inspect_room)) abort();
    atexit(remove_inspect_room);
    snprintf(inspect_folder, sizeof inspect_folder, "%s/plan", inspect_room);
    snprintf(picture, sizeof picture, "%s/a.ppm", inspect_room);
    FILE *file = fopen(picture, "wb");
    if (!file) abort();
    fprintf(file, "P6 24 18 255\n");
    for (int i = 0; i < 24 * 18 * 3; i++) fputc(i * i * 37 % 251, file);
    fclose(file);
    job_init(&job);
    for (size_t i = 0; i < sizeof set / sizeof *set; i++)
        if (job_set(&job, setting_find(set[i][0]), set[i][1], set[i][0], NULL, &fault)) abort();
    snprintf(job.reference, sizeof job.reference, "%s", picture);
    snprintf(job.out, sizeof job.out, "%s", inspect_folder);
    if (plan_run(&job, NULL, &fault) > STATUS_UNHELD) abort();
}

/* Up to eight numbers; those that lack are 0. */
static bool read_places(const char *text, PlanePoint corner[4])
{
    double value[8] = {0};
    char number[32];
    if (!*text) return false;
    for (int k = 0; k < 8 && *text; k++) {
        const size_t length = strcspn(text, ",");
        snprintf(number, sizeof number, "%.*s", (int)(length < 31 ? length : 31), text);
        number_parse(number, &value[k]);
        text += length + (text[length] == ',');
    }
    for (int k = 0; k < 4; k++) corner[k] = (PlanePoint){value[2 * k], value[2 * k + 1]};
    return true;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    enum { MOST = 4096, TEXTS = 4 };
    static Job job;
    char text[MOST + 1], photo[SCRATCH_MOST + 24], *part[TEXTS];
    Fault fault = {0};
    PlanePoint corner[4];
    Inspection inspection;
    if (length > MOST) return 0;
    if (!*inspect_room) plan_inspected();
    memcpy(text, bytes, length);
    text[length] = 0;
    char *at = fuzz_parts(text, length, part, TEXTS);
    const size_t left = (size_t)(text + length - at);
    snprintf(photo, sizeof photo, "%s/preview.png", inspect_folder);
    job_init(&job);
    const InspectionAsk ask = {.folder = inspect_folder,
                               .photo = left ? fuzz_path((const uint8_t *)at, left) : photo,
                               .panel = part[0],
                               .to = atoi(part[1]),
                               .corner = read_places(part[2], corner) ? corner : NULL,
                               .sheet = *part[3] ? part[3] : NULL,
                               .job = &job,
                               .threads = 1};
    if (fuzz_well(inspection_look(&inspection, &ask, NULL, &fault), &fault) &&
        !inspection.judgement.bricks)
        abort();
    inspection_clear(&inspection);
    return 0;
}
