/* The path of a show: its file -> the shelf shared out -> plans, those that changed -> what they
 * come to together -> files. All that is told of the murals is read back from their finished
 * plans, so a show that goes on says what one says that was planned in one go. */
#include "show/show.h"

#include "base/memory.h"
#include "base/output_list.h"
#include "show/calendar_ics.h"
#include "show/show_book.h"
#include "show/show_facts.h"
#include "show/show_index.h"
#include "show/show_json.h"
#include "show/show_notes.h"
#include "show/stock_shares.h"

#include <stdio.h>
#include <string.h>

typedef struct Run {
    const Job *job;
    const char *version;
    const Voice *voice;
    Fault *fault;
    Show show;
    ShowFolder folder;
    Studio studio;
    ShowPictures pictures;
    ShowPalette palette;
    Job *mural_job;     /* as each is planned */
    Standing *standing; /* what of each stands */
    Made *made;
    Planned *planned;
    ShowOrder order;
    ShowCrates crates;
    Calendar calendar;
    ShowCost cost;
    BudgetMend mend;
    ShowDifference difference;
    BookPages pages;
} Run;

/* ---- what is given ---- */

static Status make_run(Run *r)
{
    const size_t murals = (size_t)r->show.count;
    r->mural_job = memory_create(murals, sizeof *r->mural_job);
    r->standing = memory_create(murals, sizeof *r->standing);
    r->made = memory_create(murals, sizeof *r->made);
    r->planned = memory_create(murals, sizeof *r->planned);
    if (r->mural_job && r->standing && r->made && r->planned) return STATUS_OK;
    return memory_fault(r->fault, murals, sizeof *r->mural_job);
}

/* A mural's plan has its share of the shelf, and nothing of what the journey costs. */
static void fill_jobs(Run *r)
{
    for (int i = 0; i < r->show.count; i++) {
        Job *job = &r->mural_job[i];
        char path[FOLDER_PATH];
        *job = r->show.mural[i].job;
        show_folder_mural(&r->folder, r->show.mural[i].name, path);
        snprintf(job->out, sizeof job->out, "%.*s", JOB_TEXT - 1, path);
        show_folder_shelf(&r->folder, r->show.mural[i].name, path);
        if (*job->stock) snprintf(job->stock, sizeof job->stock, "%.*s", JOB_TEXT - 1, path);
        job->freight = 0;
    }
}

static Status take_in(Run *r)
{
    const Brief brief = brief_of(&r->show.shared, NULL, r->voice);
    Status status = make_run(r);
    if (status) return status;
    if (strlen(r->folder.path) + 2 * SHOW_NAME >= JOB_TEXT)
        return fault_set(r->fault, STATUS_NO_CREATE, "--out: name too long; choose another");
    status = studio_init(&r->studio, &brief, STOCK_OWN, r->fault);
    if (!status) fill_jobs(r);
    for (int i = 0; i < r->show.count && !status; i++)
        status = standing_init(&r->standing[i], &r->show.mural[i], &r->mural_job[i], r->fault);
    return status;
}

/* ---- planning ---- */

static int threads_of(const Run *r)
{
    return r->job->threads ? r->job->threads : r->show.shared.threads;
}

/* A palette that was picked must be in its place before murals are planned with it. */
static Status choose_palette(Run *r)
{
    static const char *const name[] = {"palette.cgats"};
    char path[FOLDER_PATH];
    Status status =
        show_pictures_init(&r->pictures, &r->show, &r->studio.palette, r->voice, r->fault);
    if (!status)
        status = show_palette_init(&r->palette, &r->show, &r->studio.palette, &r->pictures,
                                   r->voice, r->fault);
    if (status || !r->palette.picked) return status;
    show_folder_partial(&r->folder, name[0], path);
    status = show_palette_write(&r->palette, &r->studio.palette, path, r->fault);
    if (!status) status = show_folder_publish(&r->folder, name, 1, r->fault);
    show_folder_mural(&r->folder, name[0], path);
    for (int i = 0; i < r->show.count; i++)
        snprintf(r->mural_job[i].palette, JOB_TEXT, "%.*s", JOB_TEXT - 1, path);
    return status;
}

static double memory_of(const Run *r)
{
    return job_memory(r->job->memory > 0 ? r->job : &r->show.shared);
}

static Status share_shelf(Run *r)
{
    const ShareTask task = {.demand = {.show = &r->show,
                                       .studio = &r->studio,
                                       .pictures = &r->pictures,
                                       .standing = r->standing,
                                       .offered = r->palette.offered,
                                       .threads = threads_of(r),
                                       .memory = memory_of(r)},
                            .folder = &r->folder,
                            .job = r->mural_job};
    return stock_shares_write(&task, r->voice, r->fault);
}

static Status plan_murals(Run *r)
{
    const MakeTask task = {.show = &r->show,
                           .folder = &r->folder,
                           .version = r->version,
                           .job = r->mural_job,
                           .threads = threads_of(r),
                           .memory = memory_of(r)};
    return make_murals(&task, r->made, r->voice, r->fault);
}

static Status read_back(Run *r)
{
    for (int i = 0; i < r->show.count; i++) {
        voice_progress(r->voice, "reading", (double)i / r->show.count);
        if (voice_stopped(r->voice)) return show_stopped(r->fault);
        char path[FOLDER_PATH];
        show_folder_mural(&r->folder, r->show.mural[i].name, path);
        const Status status =
            planned_init(&r->planned[i], &r->show.mural[i], path, &r->studio, r->fault);
        if (status) return status;
    }
    Status status = show_palette_look(&r->palette, r->planned, r->fault);
    if (!status) status = calendar_init(&r->calendar, &r->show, r->planned, r->fault);
    if (!status) status = show_order_init(&r->order, &r->show, r->planned, &r->studio, r->fault);
    if (!status) status = show_order_value(&r->order, r->planned, r->fault);
    if (!status) status = show_crates_init(&r->crates, &r->show, r->planned, r->fault);
    if (status) return status;
    r->cost = show_cost_of(&r->show, r->planned, &r->order, &r->crates);
    status = show_budget_mend(&r->mend, &r->show, r->planned, &r->studio, &r->cost, r->fault);
    if (status) return status;
    return show_difference_init(&r->difference, &r->folder, &r->show, &r->order, r->fault);
}

/* ---- writing ---- */

typedef Status ShowWriter(const ShowFacts *facts, const char *path, const Voice *voice,
                          Fault *fault);

static Status write_parts(const ShowFacts *f, const char *path, const Voice *voice, Fault *fault)
{
    (void)voice;
    return show_order_parts(f->order, f->show, path, fault);
}

static Status write_order(const ShowFacts *f, const char *path, const Voice *voice, Fault *fault)
{
    (void)voice;
    return show_order_order(f->order, f->calendar, path, fault);
}

static Status write_left(const ShowFacts *f, const char *path, const Voice *voice, Fault *fault)
{
    (void)voice;
    return show_order_left(f->order, path, fault);
}

static Status write_crates(const ShowFacts *f, const char *path, const Voice *voice, Fault *fault)
{
    (void)voice;
    return show_crates_write(f->crates, f->show, path, fault);
}

static Status write_calendar(const ShowFacts *f, const char *path, const Voice *voice, Fault *fault)
{
    (void)voice;
    return f->show->dated ? calendar_write(f->calendar, f->planned, path, fault) : STATUS_OK;
}

static Status write_palette(const ShowFacts *f, const char *path, const Voice *voice, Fault *fault)
{
    (void)voice;
    if (!f->palette->picked) return STATUS_OK;
    return show_palette_write(f->palette, &f->studio->palette, path, fault);
}

static Status write_difference(const ShowFacts *f, const char *path, const Voice *voice,
                               Fault *fault)
{
    (void)voice;
    return show_difference_write(f->difference, f->folder, path, fault);
}

/* show.json is written last, and by itself. */
static ShowWriter *const writers[OUTPUTS] = {[OUTPUT_SHOW_PARTS] = write_parts,
                                             [OUTPUT_SHOW_ORDER] = write_order,
                                             [OUTPUT_SHOW_LEFT] = write_left,
                                             [OUTPUT_SHOW_CRATES] = write_crates,
                                             [OUTPUT_SHOW_CALENDAR] = write_calendar,
                                             [OUTPUT_SHOW_PALETTE] = write_palette,
                                             [OUTPUT_SHOW_PDF] = show_book_write,
                                             [OUTPUT_SHOW_INDEX] = show_index_write,
                                             [OUTPUT_SHOW_DIFFERENCE] = write_difference};

static Status write_files(Run *r, const ShowFacts *facts)
{
    const char *name[OUTPUTS];
    int names = 0;
    Status status = STATUS_OK;
    for (int id = 0; id < OUTPUTS && !status; id++) {
        char path[FOLDER_PATH];
        if (!writers[id]) continue;
        name[names++] = output_show_name((OutputId)id);
        show_folder_partial(&r->folder, name[names - 1], path);
        voice_progress(r->voice, name[names - 1], 0);
        if (voice_stopped(r->voice)) return show_stopped(r->fault);
        status = writers[id](facts, path, r->voice, r->fault);
    }
    if (!status) status = show_json_write(facts, &r->folder, name, names, r->fault);
    name[names++] = output_show_name(OUTPUT_SHOW_JSON);
    return status ? status : show_folder_publish(&r->folder, name, names, r->fault);
}

/* Layings that were tried in vain left their faults. */
static Status held(const Run *r)
{
    bool all = true;
    for (int i = 0; i < r->show.count; i++) all &= r->made[i].status == STATUS_OK;
    if (r->fault) *r->fault = (Fault){0};
    return all ? STATUS_OK : STATUS_UNHELD;
}

static void run_clear(Run *r)
{
    show_difference_clear(&r->difference);
    show_palette_clear(&r->palette);
    show_pictures_clear(&r->pictures);
    calendar_clear(&r->calendar);
    show_crates_clear(&r->crates);
    show_order_clear(&r->order);
    for (int i = 0; r->planned && i < r->show.count; i++) planned_clear(&r->planned[i]);
    for (int i = 0; r->standing && i < r->show.count; i++) standing_clear(&r->standing[i]);
    memory_free(r->planned);
    memory_free(r->made);
    memory_free(r->standing);
    memory_free(r->mural_job);
    studio_clear(&r->studio);
    show_file_clear(&r->show);
    show_folder_end(&r->folder);
}

Status show_run(const Job *job, const char *file, const char *version, const Voice *voice,
                Fault *fault)
{
    Run *r = memory_create(1, sizeof *r);
    if (!r) return memory_fault(fault, 1, sizeof *r);
    r->job = job;
    r->version = version;
    r->voice = voice;
    r->fault = fault;
    Status status = show_file_read(&r->show, file, fault);
    if (!status) status = show_folder_begin(&r->folder, job->out, fault);
    if (!status) status = take_in(r);
    if (!status) status = choose_palette(r);
    if (!status) status = share_shelf(r);
    show_pictures_clear(&r->pictures);
    if (!status) status = plan_murals(r);
    if (!status) status = read_back(r);
    const ShowFacts facts = {.show = &r->show,
                             .folder = &r->folder,
                             .studio = &r->studio,
                             .made = r->made,
                             .planned = r->planned,
                             .order = &r->order,
                             .crates = &r->crates,
                             .calendar = &r->calendar,
                             .palette = &r->palette,
                             .cost = &r->cost,
                             .mend = &r->mend,
                             .difference = &r->difference,
                             .pages = &r->pages};
    if (!status) status = write_files(r, &facts);
    if (!status) show_notes_say(&facts, voice);
    if (!status) status = held(r);
    run_clear(r);
    memory_free(r);
    return status;
}
