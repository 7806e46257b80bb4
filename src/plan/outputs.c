/* The files are written side by side, the longest first, so that the last to end is not one that
 * began late. A writer reads the mural and writes its own file, nothing else; so the order in
 * which they run changes no byte, and of several faults the one that comes first in the list is
 * told, whichever came first in time. Pages are drawn by a library that ends the program where it
 * finds no memory, so they are written apart from it (base/apart.h).
 *
 * Source: longest processing time first, R. L. Graham, "Bounds on multiprocessing timing
 * anomalies", SIAM Journal on Applied Mathematics 17 (1969). */
#include "plan/outputs.h"

#include "base/apart.h"
#include "base/bands.h"
#include "base/digest.h"
#include "base/memory.h"
#include "base/output_list.h"
#include "book/book.h"
#include "book/holds_picture.h"
#include "book/kit.h"
#include "book/offer_page.h"
#include "book/page.h"
#include "book/quote_page.h"
#include "output/cells_png.h"
#include "output/csv_tables.h"
#include "output/face_pictures.h"
#include "output/gltf.h"
#include "output/layer_pictures.h"
#include "output/plan_json.h"
#include "output/quote_json.h"
#include "output/relief_render.h"

#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

enum { OFFER_PIXELS = 1100 }; /* of the offer's picture from afar: about 250 an inch */

typedef Status Writer(const Mural *mural, const char *path, Fault *fault);
/* A writer that takes long: it tells how far it is, and can be stopped. */
typedef Status LongWriter(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

static Status write_cells(const Mural *m, const char *path, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return cells_png_write(m->grid, m->palette, &place, f);
}

static Status write_steps(const Mural *m, const char *path, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return steps_png_write(m->grid, &place, f);
}

static Status write_layers(const Mural *m, const char *path, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return layers_png_write(m->subject, &place, f);
}

static Status write_outlines(const Mural *m, const char *path, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return outlines_png_write(m->subject, m->image, m->threads, &place, f);
}

static Status write_depth(const Mural *m, const char *path, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return depth_png_write(m->subject, &place, f);
}

static Status write_preview(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return face_pictures_preview(m, &place, v, f);
}

static Status write_regions(const Mural *m, const char *path, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return regions_png_write(m->grid, &m->regions, &place, f);
}

static Status write_pins(const Mural *m, const char *path, Fault *f)
{
    const PaintPlace place = paint_file(path);
    return pins_png_write(m->grid, m->pin, m->palette, &place, f);
}

static Status write_relief(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    RakingLightOptions options = RAKING_LIGHT_OPTIONS_DEFAULT;
    options.angle = m->job->light_angle;
    options.height = m->job->light_height;
    const PaintPlace place = paint_file(path);
    return relief_render_write(m, &options, &place, v, f);
}

/* A writer of pages, and what it is given. */
typedef struct Pages {
    LongWriter *write;
    const Mural *mural;
    const char *path;
} Pages;

static Status write_pages(void *context, const Voice *voice, Fault *fault)
{
    const Pages *pages = context;
    return pages->write(pages->mural, pages->path, voice, fault);
}

static Status write_apart(LongWriter *writer, const Mural *m, const char *path, const Voice *voice,
                          Fault *fault)
{
    Pages pages = {writer, m, path};
    return apart_run(path, write_pages, &pages, voice, fault);
}

static Status write_holds(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    return write_apart(holds_picture_write, m, path, v, f);
}

static Status write_quote(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    return write_apart(quote_page_write, m, path, v, f);
}

/* Pictures of an offer; the page is drawn apart from what paints them. */
typedef struct OfferWork {
    OfferSheet sheet;
    const char *path;
} OfferWork;

static Status draw_offer(void *context, const Voice *voice, Fault *fault)
{
    (void)voice;
    const OfferWork *work = context;
    return offer_page_write(&work->sheet, work->path, fault);
}

static Status write_offer(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    const double aspect = mural_height_mm(m) / mural_width_mm(m);
    OfferWork work = {.sheet = {m->job, m->reference->file, 1, {{.name = ""}}}, .path = path};
    OfferOption *option = &work.sheet.option[0];
    FacePicture far = {0}, near = {0};
    offer_reckon(&option->offer, m);
    Status status = face_picture_far(&far, m, OFFER_PIXELS, v, f);
    if (!status)
        status = face_picture_near(&near, m, OFFER_NEAR_CELLS, offer_near_aspect(1, aspect), v, f);
    option->far = (OfferPicture){far.width, far.height, far.rgb};
    option->near = (OfferPicture){near.width, near.height, near.rgb};
    if (!status) status = apart_run(path, draw_offer, &work, v, f);
    memory_free(far.rgb);
    memory_free(near.rgb);
    return status;
}

static Status write_book(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    return write_apart(book_write, m, path, v, f);
}

/* Into a folder of that path. */
static Status write_panel_books(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    if (mkdir(path, 0777))
        return fault_set(f, STATUS_NO_CREATE, "%s: cannot be created (%s); choose another --out",
                         path, strerror(errno));
    return write_apart(panel_books_write, m, path, v, f);
}

static Status write_kit(const Mural *m, const char *path, const Voice *v, Fault *f)
{
    return write_apart(kit_write, m, path, v, f);
}

/* The labour is a rough time in milliseconds, as measured on 480 x 320 cells and between a flat
 * mural and a relief. Proof and distance each hold a picture for the eye: the preview comes
 * between, so that they do not hold theirs at one time. */
typedef struct OutputWriter {
    Writer *write; /* or */
    LongWriter *write_long;
    double labour;
} OutputWriter;

static const OutputWriter writers[OUTPUTS_OF_PLAN] = {
    [OUTPUT_PLAN_JSON] = {NULL, NULL, 0}, /* last, once the digests are known */
    [OUTPUT_CELLS_PNG] = {write_cells, NULL, 7},
    [OUTPUT_STEPS_PNG] = {write_steps, NULL, 3},
    [OUTPUT_LAYERS_PNG] = {write_layers, NULL, 3},
    [OUTPUT_OUTLINES_PNG] = {write_outlines, NULL, 60},
    [OUTPUT_DEPTH_PNG] = {write_depth, NULL, 10},
    [OUTPUT_REGIONS_PNG] = {write_regions, NULL, 3},
    [OUTPUT_PINS_PNG] = {write_pins, NULL, 3},
    [OUTPUT_BRICKS_CSV] = {csv_tables_bricks, NULL, 10},
    [OUTPUT_ROWS_CSV] = {csv_tables_rows, NULL, 6},
    [OUTPUT_PARTS_CSV] = {csv_tables_parts, NULL, 1},
    [OUTPUT_ORDER_CSV] = {csv_tables_order, NULL, 1},
    [OUTPUT_LEFT_CSV] = {csv_tables_left, NULL, 1},
    [OUTPUT_DIFFERENCE_CSV] = {csv_tables_difference, NULL, 1},
    [OUTPUT_PANELS_CSV] = {csv_tables_panels, NULL, 1},
    [OUTPUT_PREVIEW_PNG] = {NULL, write_preview, 80},
    [OUTPUT_PROOF_JPG] = {NULL, face_pictures_proof, 110},
    [OUTPUT_DISTANCE_PNG] = {NULL, face_pictures_distance, 75},
    [OUTPUT_RELIEF_PNG] = {NULL, write_relief, 650},
    [OUTPUT_RELIEF_GLB] = {NULL, gltf_write, 45},
    [OUTPUT_HOLDS_PNG] = {NULL, write_holds, 150},
    [OUTPUT_QUOTE_JSON] = {quote_json_write, NULL, 1},
    [OUTPUT_QUOTE_PDF] = {NULL, write_quote, 15},
    [OUTPUT_OFFER_PDF] = {NULL, write_offer, 100},
    [OUTPUT_BOOK_PDF] = {NULL, write_book, 6000},
    [OUTPUT_PANEL_BOOKS] = {NULL, write_panel_books, 6000},
    [OUTPUT_BOOK_HTML] = {NULL, page_write, 6},
    [OUTPUT_KIT_PDF] = {NULL, write_kit, 3000},
};

static bool is_wanted(OutputWhen when, const Mural *m)
{
    switch (when) {
    case OUTPUT_ALWAYS:
        return true;
    case OUTPUT_IN_RELIEF:
        return m->grid->steps != NULL;
    case OUTPUT_TOUCHED:
        return m->grid->steps != NULL && m->job->touch > 0;
    case OUTPUT_LAYERED:
        return m->subject != NULL;
    case OUTPUT_REGIONAL:
        return m->regions.label != NULL;
    case OUTPUT_PINNED:
        return m->pin != NULL;
    case OUTPUT_REPLANNED:
        return m->difference != NULL;
    case OUTPUT_WITH_QUOTE:
        return m->job->quote;
    case OUTPUT_WITH_BOOK:
        return m->job->book != BOOK_NONE;
    case OUTPUT_WITH_PANEL_BOOKS:
        return m->job->book == BOOK_PANELS;
    case OUTPUT_WITH_KIT:
        return *m->job->kit != '\0';
    case OUTPUT_COMPARED:
    case OUTPUT_PICKED:
    case OUTPUT_INSPECTED:
    case OUTPUT_MEASURED:
    case OUTPUT_EXHIBITED:
    case OUTPUT_WHENS:
        break;
    }
    return false;
}

static bool is_ours(const char *name)
{
    return output_of_plan(name) != OUTPUTS_OF_PLAN || output_is_panel_book(name);
}

const FolderKind outputs_folder = {is_ours, "plan.json", "\"rowlock-plan\""};

/* A file of the plan, or its folder of panels' books, and how far it is. */
typedef struct Writing {
    struct Files *files;
    OutputId id;
    const OutputWriter *writer;
    bool begun;
    double done;
    Status status;
    Fault fault;
} Writing;

/* The files of a plan, which are written side by side. */
typedef struct Files {
    Mural mural;
    const Folder *folder;
    const Voice *voice;
    Writing writing[OUTPUTS_OF_PLAN]; /* those that are wanted */
    int count;
    PlanFile file[OUTPUTS_OF_PLAN]; /* by OutputId; of those written */
    PlanFile *panel_book;           /* of each panel, where they are wanted; name "": it has none */
    double labour;
    pthread_mutex_t lock; /* of what follows, of what is begun and done, and of speaking */
    double done;
    Writing *failed; /* the first in the order of the table; NULL: none has */
} Files;

/* One figure for them all. */
static void tell_progress(void *self, const char *stage, double done)
{
    (void)stage;
    Writing *writing = self;
    Files *files = writing->files;
    pthread_mutex_lock(&files->lock);
    files->done += writing->writer->labour * (done - writing->done);
    writing->done = done;
    voice_progress(files->voice, "files", files->done / files->labour);
    pthread_mutex_unlock(&files->lock);
}

/* After a file that failed none is needed, but those before it are: which fault is told does
 * not depend on who was first. */
static bool tell_stopped(void *self)
{
    const Writing *writing = self;
    Files *files = writing->files;
    pthread_mutex_lock(&files->lock);
    const bool needed = !files->failed || writing < files->failed;
    pthread_mutex_unlock(&files->lock);
    return !needed || voice_stopped(files->voice);
}

/* The longest of those needed that nobody has begun; NULL: none. */
static Writing *take_file(Files *files)
{
    Writing *longest = NULL;
    pthread_mutex_lock(&files->lock);
    const Writing *end = files->failed ? files->failed : files->writing + files->count;
    for (Writing *m = files->writing; m < end; m++)
        if (!m->begun && (!longest || m->writer->labour > longest->writer->labour)) longest = m;
    if (longest) longest->begun = true;
    pthread_mutex_unlock(&files->lock);
    return longest;
}

static Status record_file(const Files *files, const char *name, PlanFile *record, Fault *fault)
{
    char path[FOLDER_PATH];
    folder_path(files->folder, name, path);
    snprintf(record->name, sizeof record->name, "%s", name);
    return digest_file(path, record->sha256, fault);
}

static Status record_panel_books(Files *files, Fault *fault)
{
    const Panels *panels = files->mural.panels;
    Status status = STATUS_OK;
    for (int i = 0; i < panels->count && !status; i++) {
        char name[OUTPUT_PANEL_NAME];
        output_panel_book(panels->panel[i].name, name);
        if (panel_has_book(&files->mural, i))
            status = record_file(files, name, &files->panel_book[i], fault);
    }
    return status;
}

static Status record_written(Files *files, OutputId id, Fault *fault)
{
    if (id == OUTPUT_PANEL_BOOKS) return record_panel_books(files, fault);
    return record_file(files, output_list[id].name, &files->file[id], fault);
}

static void write_file(Files *files, Writing *writing)
{
    char path[FOLDER_PATH];
    const OutputWriter *writer = writing->writer;
    const Voice voice = {.self = writing, .progress = tell_progress, .stopped = tell_stopped};
    folder_path(files->folder, output_list[writing->id].name, path);
    writing->status = writer->write
                          ? writer->write(&files->mural, path, &writing->fault)
                          : writer->write_long(&files->mural, path, &voice, &writing->fault);
    if (!writing->status) writing->status = record_written(files, writing->id, &writing->fault);
    tell_progress(writing, NULL, 1);
    if (!writing->status) return;
    pthread_mutex_lock(&files->lock);
    if (!files->failed || writing < files->failed) files->failed = writing;
    pthread_mutex_unlock(&files->lock);
}

static void write_some(void *context, int begin, int end, int worker)
{
    (void)worker;
    Files *files = context;
    for (int i = begin; i < end && !voice_stopped(files->voice); i++) {
        Writing *writing = take_file(files);
        if (writing) write_file(files, writing);
    }
}

static void list_files(Files *files)
{
    for (int id = OUTPUT_PLAN_JSON + 1; id < OUTPUTS_OF_PLAN; id++) {
        if (!is_wanted(output_list[id].when, &files->mural)) continue;
        files->writing[files->count++] =
            (Writing){.files = files, .id = (OutputId)id, .writer = &writers[id]};
        files->labour += writers[id].labour;
    }
}

/* What was written, in the order of the table. */
static Status write_account(const Files *files, Fault *fault)
{
    char path[FOLDER_PATH];
    const int panels = files->panel_book ? files->mural.panels->count : 0;
    const size_t most = (size_t)OUTPUTS_OF_PLAN + (size_t)panels;
    size_t count = 0;
    PlanFile *list = memory_create(most, sizeof *list);
    if (!list) return memory_fault(fault, most, sizeof *list);
    for (int i = 0; i < files->count; i++) {
        const OutputId id = files->writing[i].id;
        if (id != OUTPUT_PANEL_BOOKS) list[count++] = files->file[id];
        for (int p = 0; p < panels && id == OUTPUT_PANEL_BOOKS; p++)
            if (*files->panel_book[p].name) list[count++] = files->panel_book[p];
    }
    folder_path(files->folder, output_list[OUTPUT_PLAN_JSON].name, path);
    const Status status = plan_json_write(&files->mural, list, count, path, fault);
    memory_free(list);
    return status;
}

static Status write_all(Files *files, int threads, Fault *fault)
{
    bands_run(threads, files->count, 1, write_some, files);
    if (files->failed) {
        if (fault) *fault = files->failed->fault;
        return files->failed->status;
    }
    return voice_stopped(files->voice) ? STATUS_OK : write_account(files, fault);
}

Status outputs_write(const Mural *mural, int threads, const Folder *folder, const Voice *voice,
                     Fault *fault)
{
    Files files = {.mural = *mural, .folder = folder, .voice = voice};
    const size_t panels = (size_t)mural->panels->count;
    /* The large pictures are written on several threads, and two of them at a time. */
    files.mural.threads = (threads + 1) / 2;
    if (is_wanted(OUTPUT_WITH_PANEL_BOOKS, mural)) {
        files.panel_book = memory_create(panels, sizeof *files.panel_book);
        if (!files.panel_book) return memory_fault(fault, panels, sizeof *files.panel_book);
    }
    list_files(&files);
    pthread_mutex_init(&files.lock, NULL);
    const Status status = write_all(&files, threads, fault);
    pthread_mutex_destroy(&files.lock);
    memory_free(files.panel_book);
    return status;
}
