/* What the library does with a job: the runs of the rooms, each after a look at whether the job has
 * what the run cannot do without. The inside takes that for granted. */
#include "api/handle.h"
#include "base/bands.h"
#include "base/output_list.h"
#include "camera/measure_bricks.h"
#include "check/check.h"
#include "check/check_show.h"
#include "inspect/inspect_panel.h"
#include "plan/plan.h"
#include "plan/replan.h"
#include "show/show.h"
#include "study/compare.h"
#include "study/pick.h"

#include <assert.h>
#include <string.h>

static_assert((int)ROWLOCK_CHOICES_MOST == (int)CHOICES_MOST, "as many choices as inside");
static_assert((int)ROWLOCK_COMPARED_MOST == (int)VARIANTS_MOST, "as many plans as inside");

const char *rowlock_version(void) { return ROWLOCK_VERSION; }

/* ---- the runs ---- */

RowlockStatus rowlock_plan(const RowlockJob *job, const RowlockVoice *voice, RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    Status status = handle_need_picture(job->job.reference, "plan", &own);
    if (!status) status = handle_need_folder(&job->job, &own);
    if (!status) status = handle_need_size(&job->job, "plan", &own);
    if (!status) status = plan_run(&job->job, &inner, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_replan(const RowlockJob *job, const char *folder, const RowlockVoice *voice,
                             RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    Status status = handle_path(folder, "replan", &own);
    if (!status) status = handle_need_folder(&job->job, &own);
    if (!status)
        status = handle_need(*job->job.built, "--built",
                             "nothing is named that stands; name panels or rows", &own);
    if (!status) status = replan_run(&job->job, folder, &inner, &own);
    return handle_tell(fault, &own, status);
}

static Status take_choices(Choices *inner, const RowlockChoices *choices, Fault *fault)
{
    const Status status = handle_setting(&inner->setting, choices->setting, fault);
    if (status) return status;
    if (choices->count < 1 || choices->count > CHOICES_MOST)
        return fault_set(fault, STATUS_USAGE, "%s: %zu choices; give 1 to %d", choices->setting,
                         choices->count, CHOICES_MOST);
    inner->count = (int)choices->count;
    for (size_t i = 0; i < choices->count; i++) inner->text[i] = choices->text[i];
    return STATUS_OK;
}

RowlockStatus rowlock_compare(const RowlockJob *job, const RowlockChoices *choices, size_t kinds,
                              const RowlockVoice *voice, RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    Choices inner_choices[ROWLOCK_KINDS_MOST];
    Status status = handle_need_picture(job->job.reference, "compare", &own);
    if (!status) status = handle_need_folder(&job->job, &own);
    if (!status) status = handle_need_size(&job->job, "compare", &own);
    if (!status && kinds > ROWLOCK_KINDS_MOST)
        status =
            fault_set(&own, STATUS_USAGE, "compare: %zu settings have choices; give %d or fewer",
                      kinds, ROWLOCK_KINDS_MOST);
    for (size_t i = 0; !status && i < kinds; i++)
        status = take_choices(&inner_choices[i], &choices[i], &own);
    if (!status) status = compare_run(&job->job, inner_choices, (int)kinds, &inner, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_pick(const RowlockJob *job, const char *const *references, size_t count,
                           const RowlockVoice *voice, RowlockFault *fault)
{
    enum { PICTURES_MOST = 1 << 20 }; /* far beyond use, well within an int */
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    const char *only = job->job.reference;
    if (!count) references = &only;
    Status status = handle_need_picture(*references, "pick", &own);
    if (!status) status = handle_need_out(&job->job, &own);
    if (!status)
        status = handle_need(job->job.colours, "--colours",
                             "the number of colours is not given; give it", &own);
    if (!status && count > PICTURES_MOST)
        status = fault_set(&own, STATUS_USAGE, "pick: %zu pictures; give fewer", count);
    if (!status) status = pick_run(&job->job, references, count ? (int)count : 1, &inner, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_measure(const RowlockJob *job, const char *const *photos, size_t count,
                              const RowlockVoice *voice, RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    Status status = handle_need(count > 0, "measure", "no photograph is given; give one", &own);
    for (size_t i = 0; !status && i < count; i++)
        status = handle_need_picture(photos[i], "measure", &own);
    if (!status) status = handle_need_out(&job->job, &own);
    if (!status)
        status = handle_need(*job->job.patches, "--patches",
                             "it is not said where the bricks are; name a file that does", &own);
    if (!status && count > MEASURE_PHOTOS_MOST)
        status = fault_set(&own, STATUS_USAGE, "measure: %zu photographs; give %d or fewer", count,
                           MEASURE_PHOTOS_MOST);
    if (!status) status = measure_run(&job->job, photos, (int)count, &inner, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_exhibition(const RowlockJob *job, const char *file, const RowlockVoice *voice,
                                 RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    Status status = handle_path(file, "exhibition", &own);
    if (!status) status = handle_need_folder(&job->job, &own);
    if (!status) status = show_run(&job->job, file, ROWLOCK_VERSION, &inner, &own);
    return handle_tell(fault, &own, status);
}

/* Who asked for an inspection, and is told of it. */
typedef struct Inspector {
    const RowlockInspection *what;
    const RowlockVoice *voice;
} Inspector;

static void tell_line(void *self, const char *line)
{
    const RowlockVoice *voice = ((Inspector *)self)->voice;
    if (voice && voice->broken) voice->broken(voice->self, line);
}

static_assert((int)ROWLOCK_RIGHT == (int)VERDICT_RIGHT &&
                  (int)ROWLOCK_UNTOLD == (int)VERDICT_UNKNOWN,
              "verdicts as inside");

static RowlockSeenBrick seen_brick(const Inspection *i, const BrickVerdict *v)
{
    const Brick *b = &i->plan->laid.brick[v->brick];
    return (RowlockSeenBrick){
        .brick = v->brick,
        .row = b->row + 1,
        .column = b->column + 1,
        .rows = b->rows,
        .columns = b->columns,
        .size = i->plan->sizes.size[b->size].name,
        .colour = i->plan->palette.colour[b->colour].id,
        .verdict = (RowlockVerdict)v->verdict,
        .looks = v->looks == FACE_NOTHING ? NULL : i->plan->palette.colour[v->looks].id,
        .right = v->right,
        .up = v->up,
        .obstacle = v->verdict == VERDICT_UNKNOWN ? obstacle_texts[v->obstacle] : ""};
}

static void tell_seen(void *self, const Inspection *i)
{
    const Inspector *k = self;
    void *asker = k->voice ? k->voice->self : NULL;
    PlanePoint at[4];
    double corner[4][2];
    pose_corners(&i->pose, &i->face, at);
    for (int c = 0; c < 4; c++) corner[c][0] = at[c].x, corner[c][1] = at[c].y;
    if (k->what->found) k->what->found(asker, (const double(*)[2])corner);
    for (size_t b = 0; k->what->seen && b < i->judgement.bricks; b++) {
        const RowlockSeenBrick seen = seen_brick(i, &i->judgement.brick[b]);
        k->what->seen(asker, &seen);
    }
}

RowlockStatus rowlock_inspect(const RowlockJob *job, const RowlockInspection *what,
                              const RowlockVoice *voice, RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    const Job *j = &job->job;
    PlanePoint corner[4];
    for (int i = 0; what->corner && i < 4; i++)
        corner[i] = (PlanePoint){what->corner[i][0], what->corner[i][1]};
    const InspectionAsk ask = {.folder = what->folder,
                               .photo = what->photo,
                               .panel = what->panel,
                               .to = what->to,
                               .corner = what->corner ? corner : NULL,
                               .sheet = what->sheet,
                               .job = j,
                               .threads = j->threads ? j->threads : bands_processors()};
    Status status = handle_path(what->folder, "inspect", &own);
    if (!status) status = handle_path(what->photo, "inspect", &own);
    if (!status && !strcmp(j->out, "-"))
        status = fault_set(&own, STATUS_USAGE, "--out: '-' is no folder; name one");
    Inspector asker = {what, voice};
    const InspectionEar ear = {.self = &asker, .line = tell_line, .whole = tell_seen};
    if (!status) status = inspect_panel(&ask, &inner, &ear, &own);
    return handle_tell(fault, &own, status);
}

RowlockStatus rowlock_check(const char *folder, const RowlockVoice *voice, RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    Status status = handle_path(folder, "check", &own);
    if (!status)
        status = (check_show_is(folder) ? check_show_run : check_run)(
            folder, &inner, voice ? voice->broken : NULL, inner.self, &own);
    return handle_tell(fault, &own, status);
}

/* ---- what they write ---- */

bool rowlock_output_at(size_t index, RowlockOutput *output_out)
{
    if (index >= OUTPUTS) return false;
    const OutputFile *output = &output_list[index];
    *output_out = (RowlockOutput){
        .name = output->name, .when = output_when_text[output->when], .what = output->what};
    return true;
}
