/* Pictures are looked at once for each size. Then the variants are planned, each by one
 * thread where there are as many variants as threads. What each comes to does not depend
 * on the others, and they are shown in an order that does not depend on who was first. */
#include "study/compare.h"

#include "base/apart.h"
#include "base/bands.h"
#include "base/folder.h"
#include "base/memory.h"
#include "base/output_list.h"
#include "base/text.h"
#include "plan/print_notes.h"
#include "plan/size_notes.h"
#include "study/candidate.h"
#include "study/compare_sheet.h"

#include <assert.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct Compare {
    const Job *job;
    const Choices *choices;
    int kinds;
    const Voice *voice;
    Fault *fault;
    Candidate *variant;
    int variants;
    SampledPicture *picture; /* one for each variant; empty where an earlier one has its size */
    const Candidate **shown;
    pthread_mutex_t lock; /* of what follows, and of speaking */
    int done;
} Compare;

/* ---- the variants ---- */

static void name_variant(Candidate *v)
{
    const char *path = *v->job.palette ? v->job.palette : "built-in";
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    text_tame(v->name, sizeof v->name, name,
              dot && dot != name ? (size_t)(dot - name) : strlen(name));
}

static Status set_choices(Compare *k, int index, Job *job)
{
    *job = *k->job;
    for (int kind = k->kinds - 1; kind >= 0; kind--) {
        const Choices *c = &k->choices[kind];
        char where[64];
        snprintf(where, sizeof where, "--%s", c->setting->name);
        const Status status =
            job_set(job, c->setting, c->text[index % c->count], where, NULL, k->fault);
        if (status) return status;
        index /= c->count;
    }
    if (job->build == BUILD_WALL && job->thickness == THICKNESS_SOUGHT)
        return fault_set(k->fault, STATUS_USAGE,
                         "compare: --thickness auto is found by 'rowlock plan' alone; give a "
                         "number of units");
    return STATUS_OK;
}

static int threads_of(const Compare *k)
{
    return k->job->threads ? k->job->threads : bands_processors();
}

/* MB for each of the variants that are planned at once. */
static double memory_each(const Compare *k)
{
    const int threads = threads_of(k);
    return job_memory(k->job) / 1e6 / (threads < k->variants ? threads : k->variants);
}

static Status make_variants(Compare *k)
{
    long variants = 1;
    for (int i = 0; i < k->kinds && variants <= VARIANTS_MOST; i++) variants *= k->choices[i].count;
    if (variants > VARIANTS_MOST)
        return fault_set(k->fault, STATUS_USAGE,
                         "compare: more than %d combinations; compare fewer at a time",
                         VARIANTS_MOST);
    k->variant = memory_create((size_t)variants, sizeof *k->variant);
    k->picture = memory_create((size_t)variants, sizeof *k->picture);
    k->shown = memory_create((size_t)variants, sizeof *k->shown);
    if (!k->variant || !k->picture || !k->shown)
        return memory_fault(k->fault, (size_t)variants, sizeof *k->variant);
    k->variants = (int)variants;
    for (int i = 0; i < k->variants; i++) {
        const Status status = set_choices(k, i, &k->variant[i].job);
        if (status) return status;
        k->variant[i].job.memory = memory_each(k);
        name_variant(&k->variant[i]);
    }
    return STATUS_OK;
}

/* ---- the pictures ---- */

static bool same_size(const Job *a, const Job *b)
{
    return a->columns == b->columns && a->rows == b->rows && a->width == b->width &&
           a->height == b->height;
}

/* The earliest variant that sees the picture in the same size. */
static int looker(const Compare *k, int variant)
{
    for (int i = 0; i < variant; i++)
        if (same_size(&k->variant[i].job, &k->variant[variant].job)) return i;
    return variant;
}

static Status look_once(Compare *k, int i)
{
    if (i > 0 && !strcmp(k->job->reference, "-"))
        return fault_set(k->fault, STATUS_USAGE,
                         "compare: standard input can be read once only, for one size; give the "
                         "picture as a file");
    const Brief brief = brief_of(&k->variant[i].job, NULL, k->voice);
    const Grid none = {0};
    return sampled_picture_init(&k->picture[i], &brief, NULL, &none, k->fault);
}

static bool is_new_palette(const Compare *k, int variant)
{
    for (int i = 0; i < variant; i++)
        if (!strcmp(k->variant[i].job.palette, k->variant[variant].job.palette)) return false;
    return true;
}

static Status prepare(Compare *k, int i)
{
    Candidate *v = &k->variant[i];
    const int seen = looker(k, i);
    Status status = seen == i ? look_once(k, i) : STATUS_OK;
    v->voice = (Voice){.self = k->voice ? k->voice->self : NULL,
                       .stopped = k->voice ? k->voice->stopped : NULL};
    if (status) return status;
    v->picture = &k->picture[seen];
    /* Palettes are read one after another, so that notes about them come in order, and once. */
    v->brief = brief_of(&v->job, NULL, is_new_palette(k, i) ? k->voice : &v->voice);
    status = studio_init(&v->studio, &v->brief, STOCK_OTHERS, k->fault);
    v->brief.voice = &v->voice;
    return status;
}

static Status prepare_all(Compare *k)
{
    Status status = STATUS_OK;
    for (int i = 0; !status && i < k->variants; i++) {
        voice_progress(k->voice, "colours", (double)i / k->variants);
        status = prepare(k, i);
    }
    return status;
}

/* ---- planning ---- */

static void plan_some(void *context, int begin, int end, int worker)
{
    (void)worker;
    Compare *k = context;
    for (int i = begin; i < end; i++) {
        candidate_plan(&k->variant[i]);
        pthread_mutex_lock(&k->lock);
        k->done++;
        voice_progress(k->voice, "planning", (double)k->done / k->variants);
        pthread_mutex_unlock(&k->lock);
    }
}

static Status plan_all(Compare *k)
{
    const int threads = threads_of(k);
    const int each = threads / k->variants < 1 ? 1 : threads / k->variants;
    for (int i = 0; i < k->variants; i++) k->variant[i].brief.threads = each;
    voice_progress(k->voice, "planning", 0);
    bands_run(threads, k->variants, 1, plan_some, k);
    for (int i = 0; i < k->variants; i++) {
        const Candidate *v = &k->variant[i];
        if (v->status) return fault_set(k->fault, v->status, "%s", v->fault.text);
    }
    return STATUS_OK;
}

/* ---- showing ---- */

static double sort_key(const Candidate *v, int sort)
{
    switch ((CompareSort)sort) {
    case SORT_LOOK:
        return v->mean;
    case SORT_UNREST:
        return v->unrest[0] + v->unrest[1] + v->unrest[2] + v->unrest[3];
    case SORT_PRICE:
        return v->price;
    case SORT_BRICKS:
        return (double)v->bricks;
    case SORT_COLOURS:
        return v->colours;
    case SORT_MASS:
        return v->mass_kg;
    case SORT_HOURS:
        return v->hours;
    case SORT_GIVEN:
        break;
    }
    return 0;
}

/* Ties stay in the order given, which is that of the array. */
static int compare_variants(const void *left, const void *right)
{
    const Candidate *a = *(const Candidate *const *)left, *b = *(const Candidate *const *)right;
    const double x = sort_key(a, a->job.sort), y = sort_key(b, b->job.sort);
    if (x != y) return x < y ? -1 : 1;
    return a < b ? -1 : a > b;
}

typedef Status SheetWriter(const CompareSheet *sheet, const char *path, Fault *fault);

static SheetWriter *const writers[OUTPUTS] = {[OUTPUT_COMPARE_CSV] = compare_sheet_csv,
                                              [OUTPUT_COMPARE_PNG] = compare_sheet_png,
                                              [OUTPUT_COMPARE_PDF] = compare_sheet_pdf,
                                              [OUTPUT_COMPARE_OFFER] = compare_sheet_offer};

static bool is_ours(const char *name)
{
    for (int id = 0; id < OUTPUTS; id++)
        if (output_list[id].when == OUTPUT_COMPARED && !strcmp(name, output_list[id].name))
            return true;
    return false;
}

static const FolderKind compared_folder = {is_ours, "compare.csv", "rank,palette,dither,"};

/* A sheet under way; it is drawn apart, since the library that draws may end the program. */
typedef struct Comparing {
    SheetWriter *write;
    const CompareSheet *sheet;
    const char *path;
} Comparing;

static Status write_sheet(void *context, const Voice *voice, Fault *fault)
{
    (void)voice;
    const Comparing *s = context;
    return s->write(s->sheet, s->path, fault);
}

static Status write_sheets(Compare *k, Folder *folder)
{
    for (int i = 0; i < k->variants; i++) k->shown[i] = &k->variant[i];
    qsort(k->shown, (size_t)k->variants, sizeof *k->shown, compare_variants);
    const CompareSheet sheet = {k->job, &k->picture[0].reference, &k->picture[0].image, k->shown,
                                k->variants};
    for (int id = 0; id < OUTPUTS; id++) {
        char path[FOLDER_PATH];
        if (output_list[id].when != OUTPUT_COMPARED) continue;
        voice_progress(k->voice, output_list[id].name, 0);
        folder_path(folder, output_list[id].name, path);
        Comparing written = {writers[id], &sheet, path};
        const Status status = apart_run(path, write_sheet, &written, k->voice, k->fault);
        if (status) return status;
    }
    if (voice_stopped(k->voice))
        return fault_set(k->fault, STATUS_INTERRUPTED,
                         "compare: stopped from outside, nothing was changed; run it again");
    return folder_commit(folder, k->fault);
}

/* Once for each size. */
static void say_sizes(const Compare *k)
{
    for (int i = 0; i < k->variants; i++) {
        const Brief brief = brief_of(&k->variant[i].job, NULL, k->voice);
        if (looker(k, i) == i) size_notes_say(&brief, &k->picture[i].frame);
    }
}

/* Once for each palette. */
static void say_missing(const Compare *k)
{
    for (int i = 0; i < k->variants; i++) {
        const Candidate *v = &k->variant[i];
        char text[400];
        if (!is_new_palette(k, i) || !missing_colour_matters(&v->missing)) continue;
        missing_colour_text(&v->missing, text, sizeof text);
        voice_note(k->voice, "%s: %s", v->name, text);
    }
}

static void say_end(const Compare *k)
{
    const Candidate *v = k->shown[0];
    char bricks[40], hours[40];
    number_text(bricks, sizeof bricks, (double)v->bricks, 0);
    number_text(hours, sizeof hours, v->hours, 1);
    voice_note(
        k->voice,
        "done: %d plans compared; the first, %s, takes %s bricks in %d colours and %s hours; "
        "open %s/%s first",
        k->variants, v->name, bricks, v->colours, hours, k->job->out,
        output_list[OUTPUT_COMPARE_PDF].name);
}

static void compare_clear(Compare *k)
{
    for (int i = 0; i < k->variants; i++) candidate_clear(&k->variant[i]);
    for (int i = 0; i < k->variants; i++) sampled_picture_clear(&k->picture[i]);
    memory_free(k->variant);
    memory_free(k->picture);
    memory_free(k->shown);
    pthread_mutex_destroy(&k->lock);
}

Status compare_run(const Job *job, const Choices *choices, int kinds, const Voice *voice,
                   Fault *fault)
{
    Compare k = {.job = job, .choices = choices, .kinds = kinds, .voice = voice, .fault = fault};
    pthread_mutex_init(&k.lock, NULL);
    Folder folder = {0};
    Status status = folder_begin(&folder, job->out, &compared_folder, fault);
    if (!status) status = make_variants(&k);
    if (!status) status = prepare_all(&k);
    if (!status) status = plan_all(&k);
    if (!status) status = write_sheets(&k, &folder);
    if (!status) say_missing(&k);
    if (!status) say_sizes(&k);
    if (!status) print_notes_say(voice, job, NULL, "");
    if (!status) say_end(&k);
    folder_abandon(&folder);
    compare_clear(&k);
    return status;
}
