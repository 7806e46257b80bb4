/* Fuzz entry for a plan's folder: one file of a good plan is replaced by the input, whose first
 * byte tells which. Checking it ends in a verdict or a fault, reading it in a plan or a fault, and
 * what can be read can be planned again or is refused. */
#include "check/check.h"
#include "fuzz/fuzz_input.h"
#include "plan/plan.h"
#include "plan/plan_reader.h"
#include "plan/replan.h"
#include "support/scratch.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length);

static const char *const replaced[] = {"plan.json",  "cells.png",  "steps.png",
                                       "bricks.csv", "rows.csv",   "parts.csv",
                                       "panels.csv", "relief.glb", "book.html"};
enum { REPLACED = sizeof replaced / sizeof *replaced };

static char plan_room[SCRATCH_MOST], plan_folder[SCRATCH_MOST + 8], plan_again[SCRATCH_MOST + 8];

static void remove_plan_room(void) { scratch_clear(plan_room); }

static void set(Job *job, const char *name, const char *text)
{
    Fault fault;
    if (job_set(job, setting_find(name), text, name, NULL, &fault)) abort();
}

/* The good plan, once. */
static void make_plan(void)
{
    static Job job;
    char picture[SCRATCH_MOST + 16];
    Fault fault;
    if (!scratch_folder(plan_room)) abort();
    atexit(remove_plan_room);
    snprintf(plan_folder, sizeof plan_folder, "%s/plan", plan_room);
    snprintf(plan_again, sizeof plan_again, "%s/again", plan_room);
    snprintf(picture, sizeof picture, "%s/a.ppm", plan_room);
    FILE *file = fopen(picture, "wb");
    if (!file) abort();
    fprintf(file, "P6 12 8 255\n");
    for (int i = 0; i < 12 * 8 * 3; i++) fputc(i * 37 % 256, file);
    fclose(file);
    job_init(&job);
    set(&job, "reference", picture);
    set(&job, "columns", "6");
    set(&job, "panel", "3x4");
    set(&job, "relief", "luminance");
    set(&job, "steps", "2");
    set(&job, "out", plan_folder);
    if (plan_run(&job, NULL, &fault) > STATUS_UNHELD) abort();
}

static void plan_rest(void)
{
    static Job job;
    Fault fault = {0};
    if (!fuzz_well(plan_reader_settings(&job, plan_folder, &fault), &fault)) return;
    set(&job, "built", "1");
    set(&job, "book", "no"); /* for speed */
    set(&job, "quote", "no");
    set(&job, "out", plan_again);
    set(&job, "threads", "1");
    const Status status = replan_run(&job, plan_folder, NULL, &fault);
    if (status != STATUS_UNHELD) fuzz_well(status, &fault);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t length)
{
    char path[SCRATCH_MOST + 32], kept[SCRATCH_MOST + 32];
    if (!*plan_room) make_plan();
    if (!length) return 0;
    snprintf(path, sizeof path, "%s/%s", plan_folder, replaced[*bytes % REPLACED]);
    snprintf(kept, sizeof kept, "%s/kept", plan_room);
    if (rename(path, kept)) abort();
    FILE *file = fopen(path, "wb");
    if (!file || fwrite(bytes + 1, 1, length - 1, file) != length - 1 || fclose(file)) abort();
    Fault fault = {0};
    const Status status = check_run(plan_folder, NULL, NULL, NULL, &fault);
    if (status != STATUS_UNHELD) fuzz_well(status, &fault);
    plan_rest();
    if (rename(kept, path)) abort();
    return 0;
}
