/* The plan that stays open, for others: what they see is copied out of a state that does not
 * change, so nothing that they hold goes away under them. */
#include "api/live.h"

#include "api/handle.h"
#include "base/memory.h"
#include "output/plan_json.h"
#include "output/quote_json.h"
#include "plan/closing_notes.h"
#include "plan/plan.h"
#include "plan/size_notes.h"

#include <assert.h>
#include <string.h>

/* Pixels of a reference that are held, so that another crop or size does not read its file: 24
 * megapixels at 8 bits are 72 MB. */
#define HOLD_BYTES ((size_t)192 << 20)

static const Stage stage_of_reach[] = {[ROWLOCK_TO_PICTURE] = STAGE_PICTURE,
                                       [ROWLOCK_TO_SKETCH] = STAGE_SKETCH,
                                       [ROWLOCK_TO_FACE] = STAGE_FACE,
                                       [ROWLOCK_TO_RELIEF] = STAGE_RELIEF,
                                       [ROWLOCK_TO_FIGURES] = STAGE_FIGURES};
enum { REACHES = sizeof stage_of_reach / sizeof *stage_of_reach };

RowlockStatus rowlock_live_create(RowlockLive **live_out, RowlockFault *fault)
{
    Fault own = {0};
    RowlockLive *live = *live_out = memory_create(1, sizeof *live);
    Status status = live ? STATUS_OK : memory_fault(&own, 1, sizeof *live);
    if (!status) status = open_plan_create(&live->plan, NULL, HOLD_BYTES, &own);
    if (status) {
        memory_free(live);
        *live_out = NULL;
    }
    return handle_tell(fault, &own, status);
}

void rowlock_live_free(RowlockLive *live)
{
    if (!live) return;
    open_plan_free(live->plan);
    memory_free(live);
}

/* ---- updates ---- */

/* A pipe is read once. */
static Status refuse_pipe(const Job *job, Fault *fault)
{
    if (strcmp(job->reference, "-") != 0) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE,
                     "--reference: standard input cannot be read again; give a file");
}

static Status check_job(const Job *job, Fault *fault)
{
    Status status = handle_need_picture(job->reference, "live", fault);
    if (!status) status = handle_need_size(job, "live", fault);
    return status ? status : refuse_pipe(job, fault);
}

static unsigned stages_of(RowlockReach reach)
{
    unsigned stages = STAGE_BIT(stage_of_reach[reach]) | STAGE_BIT(STAGE_STUDIO);
    if (reach >= ROWLOCK_TO_FACE) stages |= STAGE_BIT(STAGE_FACE);
    return stages;
}

/* What a plan says at its end. */
static void say_closing(OpenPlan *plan, const Voice *voice)
{
    const PlanState *state = open_plan_see(plan);
    const Mural mural = state_mural(state);
    Brief brief = state->brief;
    brief.voice = voice;
    closing_notes_say(voice, &mural);
    size_notes_say(&brief, &state_picture(state)->frame);
    open_plan_leave(plan, state);
}

RowlockStatus rowlock_live_update(RowlockLive *live, const RowlockJob *job, RowlockReach reach,
                                  const RowlockVoice *voice, RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    assert((unsigned)reach < REACHES);
    Status status = check_job(&job->job, &own);
    if (!status) job_note_idle(&job->job, &inner);
    if (!status) status = open_plan_update(live->plan, &job->job, stages_of(reach), &inner, &own);
    if (!status && reach == ROWLOCK_TO_FIGURES) say_closing(live->plan, &inner);
    return handle_tell(fault, &own, status);
}

bool rowlock_live_reaches(RowlockLive *live, RowlockReach reach)
{
    assert((unsigned)reach < REACHES);
    const PlanState *state = open_plan_see(live->plan);
    const bool there = state && (state->made[stage_of_reach[reach]] ||
                                 (reach == ROWLOCK_TO_SKETCH && state_shown(state)));
    open_plan_leave(live->plan, state);
    return there;
}

RowlockStatus rowlock_live_write(RowlockLive *live, const RowlockJob *job,
                                 const RowlockVoice *voice, RowlockFault *fault)
{
    Fault own = {0};
    const Voice inner = handle_voice(voice);
    Status status = check_job(&job->job, &own);
    if (!status) status = handle_need_folder(&job->job, &own);
    if (!status) status = plan_write(live->plan, &job->job, &inner, &own);
    return handle_tell(fault, &own, status);
}

/* ---- the face ---- */

Status live_not_there(const char *what, Fault *fault)
{
    return fault_set(fault, STATUS_USAGE, "live: %s is not there; update the plan as far as it",
                     what);
}

static void copy_upended(unsigned char *to, const uint8_t *from, const Grid *g)
{
    const size_t columns = (size_t)g->columns, rows = (size_t)g->rows;
    for (size_t row = 0; row < rows; row++)
        memcpy(to + row * columns, from + (rows - 1 - row) * columns, columns);
}

static void copy_regions(unsigned char *to, const RegionCells *regions, const Grid *g)
{
    copy_upended(to, regions->label, g);
    for (size_t i = 0; i < grid_cells(g); i++)
        to[i] = (unsigned char)regions->list.region[to[i]].index;
}

static void list_colours(RowlockFace *face, const Palette *palette, const Grid *grid)
{
    for (size_t i = 0; i < face->colours; i++) face->colour[i] = handle_colour(&palette->colour[i]);
    for (size_t i = 0; i < grid_cells(grid); i++) face->colour[grid->colour[i]].cells++;
}

static Status fill_face(RowlockFace *face, const PlanState *state, const Grid *grid, Fault *fault)
{
    const Palette *palette = &state_studio(state)->palette;
    const Raised *raised = state_raised(state);
    const RegionCells *regions = state_regions(state);
    const size_t cells = grid_cells(grid);
    face->columns = grid->columns;
    face->rows = grid->rows;
    face->cell_width_mm = brief_cell_width(&state->brief);
    face->cell_height_mm = brief_cell_height(&state->brief);
    face->step_mm = brief_step(&state->brief);
    face->sketch = !state_face(state);
    face->colours = (size_t)palette->count;
    face->colour = memory_create(face->colours, sizeof *face->colour);
    face->index = memory_create(cells, 1);
    if (raised && raised->steps) face->steps = memory_create(cells, 1);
    if (regions) face->region = memory_create(cells, 1);
    if (!face->colour || !face->index || (raised && raised->steps && !face->steps) ||
        (regions && !face->region))
        return memory_fault(fault, cells, 3);
    list_colours(face, palette, grid);
    copy_upended(face->index, grid->colour, grid);
    if (face->steps) copy_upended(face->steps, raised->steps, grid);
    if (face->region) copy_regions(face->region, regions, grid);
    return STATUS_OK;
}

RowlockStatus rowlock_live_face(RowlockLive *live, RowlockFace **face_out, RowlockFault *fault)
{
    Fault own = {0};
    const PlanState *state = open_plan_see(live->plan);
    const Grid *grid = state ? state_shown(state) : NULL;
    RowlockFace *face = *face_out = NULL;
    Status status = grid ? STATUS_OK : live_not_there("a face", &own);
    if (!status) {
        face = memory_create(1, sizeof *face);
        status = face ? fill_face(face, state, grid, &own) : memory_fault(&own, 1, sizeof *face);
    }
    open_plan_leave(live->plan, state);
    if (status)
        rowlock_face_free(face);
    else
        *face_out = face;
    return handle_tell(fault, &own, status);
}

void rowlock_face_free(RowlockFace *face)
{
    if (!face) return;
    memory_free(face->colour);
    memory_free(face->index);
    memory_free(face->steps);
    memory_free(face->region);
    memory_free(face);
}

/* ---- the frame ---- */

RowlockStatus rowlock_live_frame(RowlockLive *live, RowlockFrame *frame_out, RowlockFault *fault)
{
    Fault own = {0};
    const PlanState *state = open_plan_see(live->plan);
    const Status status = state ? STATUS_OK : live_not_there("a picture", &own);
    *frame_out = (RowlockFrame){0};
    if (state) {
        const DepthFrame *f = &state_picture(state)->frame;
        *frame_out = (RowlockFrame){.picture_width = (long)f->width,
                                    .picture_height = (long)f->height,
                                    .left = f->crop.x,
                                    .top = f->crop.y,
                                    .width = f->crop.width,
                                    .height = f->crop.height,
                                    .columns = f->columns,
                                    .rows = f->rows,
                                    .width_mm = f->columns * brief_cell_width(&state->brief),
                                    .height_mm = f->rows * brief_cell_height(&state->brief)};
    }
    open_plan_leave(live->plan, state);
    return handle_tell(fault, &own, status);
}

/* ---- figures ---- */

void rowlock_bytes_free(RowlockBytes *bytes)
{
    memory_free(bytes->byte);
    *bytes = (RowlockBytes){0};
}

static Status tell_figures(const PlanState *state, MemoryFile *to, Fault *fault)
{
    if (!state || !state_figures(state)) return live_not_there("what is reckoned of bricks", fault);
    Making making = {0};
    const Mural mural = state_mural(state);
    json_t *document = json_object();
    json_set(&making, document, "plan", plan_json_document(&making, &mural, NULL, 0));
    json_set(&making, document, "quote", quote_json_document(&making, &mural));
    return json_keep(&making, document, to, fault);
}

RowlockStatus rowlock_live_figures(RowlockLive *live, RowlockBytes *json_out, RowlockFault *fault)
{
    Fault own = {0};
    MemoryFile json = {0};
    const PlanState *state = open_plan_see(live->plan);
    const Status status = tell_figures(state, &json, &own);
    open_plan_leave(live->plan, state);
    *json_out = (RowlockBytes){json.byte, json.length};
    return handle_tell(fault, &own, status);
}
