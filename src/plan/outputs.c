#include "plan/outputs.h"

#include "base/bands.h"
#include "base/digest.h"
#include "book/book.h"
#include "book/kit.h"
#include "book/page.h"
#include "book/quote_page.h"
#include "output/cells_png.h"
#include "output/csv_tables.h"
#include "output/face_pictures.h"
#include "output/gltf.h"
#include "output/quote_json.h"
#include "output/relief_render.h"

#include <assert.h>
#include <pthread.h>
#include <string.h>

typedef Status Writer(const Mural *mural, const char *path, Fault *fault);
/* Of what takes long: tells how far it is, and can be stopped. */
typedef Status LongWriter(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

static Status write_cells(const Mural *m, const char *path, Fault *f)
{
    return cells_png_write(m->grid, m->palette, path, f);
}

static Status write_steps(const Mural *m, const char *path, Fault *f)
{
    return steps_png_write(m->grid, path, f);
}

static Status write_relief(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    ReliefRenderOptions options = RELIEF_RENDER_OPTIONS_DEFAULT;
    options.angle = m->job->light_angle;
    options.height = m->job->light_height;
    return relief_render_write(m, &options, path, v, f);
}

static bool is_raised(const Mural *m) { return m->grid->steps != NULL; }
static bool is_planned_anew(const Mural *m) { return m->difference != NULL; }
static bool quote_wanted(const Mural *m) { return m->job->quote; }
static bool book_wanted(const Mural *m) { return m->job->book; }
static bool kit_wanted(const Mural *m) { return *m->job->kit; }

/* In the order of plan.json's list. The labour is a rough time in milliseconds, of 480 x 320
 * cells and between a flat mural and a relief: the longest is begun first. */
typedef struct Output {
    const char *name;
    Writer *write; /* or */
    LongWriter *write_long;
    double labour;
    bool (*wanted)(const Mural *);
} Output;

static const Output outputs[] = {
    /* clang-format off */
    {"cells.png", write_cells, NULL, 7, NULL},
    {"steps.png", write_steps, NULL, 3, is_raised},
    {"bricks.csv", csv_tables_bricks, NULL, 10, NULL},
    {"rows.csv", csv_tables_rows, NULL, 6, NULL},
    {"parts.csv", csv_tables_parts, NULL, 1, NULL},
    {"order.csv", csv_tables_order, NULL, 1, NULL},
    {"left.csv", csv_tables_left, NULL, 1, NULL},
    {"difference.csv", csv_tables_difference, NULL, 1, is_planned_anew},
    {"panels.csv", csv_tables_panels, NULL, 1, NULL},
    {"preview.png", NULL, face_pictures_preview, 65, NULL},
    {"proof.jpg", face_pictures_proof, NULL, 8, NULL},
    {"distance.png", face_pictures_distance, NULL, 75, NULL},
    {"relief.png", NULL, write_relief, 650, is_raised},
    {"relief.glb", NULL, gltf_write, 45, is_raised},
    {"quote.json", quote_json_write, NULL, 1, NULL},
    {"quote.pdf", NULL, quote_page_write, 15, quote_wanted},
    {"book.pdf", NULL, book_write, 6000, book_wanted},
    {"book.html", NULL, page_write, 6, book_wanted},
    {"kit.pdf", NULL, kit_write, 3000, kit_wanted},
    /* clang-format on */
};
enum { OUTPUTS = sizeof outputs / sizeof *outputs };
static_assert((int)OUTPUTS <= (int)OUTPUTS_MOST, "each output has room in the caller's list");

bool outputs_is_ours(const char *name)
{
    if (!strcmp(name, "plan.json")) return true;
    for (size_t i = 0; i < OUTPUTS; i++)
        if (!strcmp(name, outputs[i].name)) return true;
    return false;
}

/* A file of the plan, and how far it is. */
typedef struct Making {
    struct Files *files;
    const Output *output;
    PlanFile *record;
    bool begun;
    double done;
    Status status;
    Fault fault;
} Making;

/* The files of a plan, which are written side by side. */
typedef struct Files {
    Mural mural;
    const Folder *folder;
    const Voice *voice;
    Making making[OUTPUTS]; /* those that are wanted */
    PlanFile *record;       /* of each */
    int count;
    double labour;
    pthread_mutex_t lock; /* of what follows, of what is begun and done, and of speaking */
    double done;
    Making *failed; /* the first in the order of the table; NULL: none has */
} Files;

/* One figure for them all. */
static void tell_progress(void *self, const char *stage, double done)
{
    (void)stage;
    Making *making = self;
    Files *files = making->files;
    pthread_mutex_lock(&files->lock);
    files->done += making->output->labour * (done - making->done);
    making->done = done;
    voice_progress(files->voice, "files", files->done / files->labour);
    pthread_mutex_unlock(&files->lock);
}

/* After a file that failed none is needed, but those before it are: which fault is told does
 * not depend on who was first. */
static bool tell_stopped(void *self)
{
    const Making *making = self;
    Files *files = making->files;
    pthread_mutex_lock(&files->lock);
    const bool needed = !files->failed || making < files->failed;
    pthread_mutex_unlock(&files->lock);
    return !needed || voice_stopped(files->voice);
}

/* The longest of those needed that nobody has begun; NULL: none. */
static Making *take_file(Files *files)
{
    Making *longest = NULL;
    pthread_mutex_lock(&files->lock);
    const Making *end = files->failed ? files->failed : files->making + files->count;
    for (Making *m = files->making; m < end; m++)
        if (!m->begun && (!longest || m->output->labour > longest->output->labour)) longest = m;
    if (longest) longest->begun = true;
    pthread_mutex_unlock(&files->lock);
    return longest;
}

static void write_file(Files *files, Making *making)
{
    char path[FOLDER_PATH];
    const Output *output = making->output;
    const Voice voice = {.self = making, .progress = tell_progress, .stopped = tell_stopped};
    folder_path(files->folder, output->name, path);
    making->status = output->write
                         ? output->write(&files->mural, path, &making->fault)
                         : output->write_long(&files->mural, path, &voice, &making->fault);
    if (!making->status) making->status = digest_file(path, making->record->sha256, &making->fault);
    tell_progress(making, NULL, 1);
    if (!making->status) return;
    pthread_mutex_lock(&files->lock);
    if (!files->failed || making < files->failed) files->failed = making;
    pthread_mutex_unlock(&files->lock);
}

static void write_some(void *context, int begin, int end, int worker)
{
    (void)worker;
    Files *files = context;
    for (int i = begin; i < end && !voice_stopped(files->voice); i++) {
        Making *making = take_file(files);
        if (making) write_file(files, making);
    }
}

static void list_files(Files *files)
{
    for (size_t i = 0; i < OUTPUTS; i++) {
        if (outputs[i].wanted && !outputs[i].wanted(&files->mural)) continue;
        PlanFile *record = &files->record[files->count];
        record->name = outputs[i].name;
        files->making[files->count++] =
            (Making){.files = files, .output = &outputs[i], .record = record};
        files->labour += outputs[i].labour;
    }
}

Status outputs_write(const Mural *mural, int threads, const Folder *folder, const Voice *voice,
                     PlanFile files_out[OUTPUTS_MOST], size_t *count_out, Fault *fault)
{
    Files files = {.mural = *mural, .folder = folder, .voice = voice, .record = files_out};
    /* Half of them for each file that is one to several threads: two such go at once. */
    files.mural.threads = (threads + 1) / 2;
    list_files(&files);
    pthread_mutex_init(&files.lock, NULL);
    bands_run(threads, files.count, 1, write_some, &files);
    pthread_mutex_destroy(&files.lock);
    *count_out = (size_t)files.count;
    if (files.failed && fault) *fault = files.failed->fault;
    return files.failed ? files.failed->status : STATUS_OK;
}
