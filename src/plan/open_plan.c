/* What a stage makes is a product with a key. A state is a set of products; a new one takes over
 * those whose keys are wanted still, from the state before or from among those that were kept from
 * updates before it, also ones that were stopped halfway. So a setting that is turned to and fro
 * finds again what it had, and a stop loses only the stage that it fell into.
 *
 * Products are shared between states and never change; the count of their users is guarded by one
 * lock, which is not held while a stage works. No stage changes what another one has made. */
#include "plan/open_plan.h"

#include "base/memory.h"
#include "plan/face_colours.h"
#include "plan/own_cells.h"
#include "plan/target.h"
#include "plan/wall_thickness.h"

#include <assert.h>
#include <pthread.h>
#include <string.h>

/* ---- the stages ---- */

/* What a stage is told; it fills in `made`, which is zeroed. */
typedef struct Order {
    const PlanState *state; /* what was made before it */
    const PlanState *seen;  /* what is in sight meanwhile; NULL: nothing */
    Brief brief;
    size_t hold_bytes; /* see open_plan_create */
    void *made;
    Fault *fault;
} Order;

/* What the colours are chosen for. */
static const Image *target_of(const Order *o)
{
    return target_choose(o->brief.job, &state_picture(o->state)->image, state_fitted(o->state));
}

static Status take_in(const Order *o)
{
    return studio_init(o->made, &o->brief, STOCK_OWN, o->fault);
}

static Status read_cells(const Order *o)
{
    const Studio *studio = state_studio(o->state);
    return own_cells_init(o->made, &o->brief, studio ? &studio->palette : NULL, o->fault);
}

static Status read_picture(const Order *o)
{
    return sampled_picture_hold(o->made, &o->brief, o->hold_bytes, o->fault);
}

static Status sample_picture(const Order *o)
{
    return sampled_picture_init(o->made, &o->brief, state_held(o->state), state_own_cells(o->state),
                                o->fault);
}

static Status mark_regions(const Order *o)
{
    const SampledPicture *picture = state_picture(o->state);
    const RegionInput input = {&state_studio(o->state)->palette, &picture->frame, &picture->image};
    return region_cells_init(o->made, &o->brief, &input, o->fault);
}

static Status read_rules(const Order *o)
{
    const Studio *studio = state_studio(o->state);
    const RuleInput input = {&studio->palette, &studio->offered, &state_picture(o->state)->frame,
                             state_regions(o->state)};
    return cell_rules_init(o->made, &o->brief, &input, o->fault);
}

static Status fit_tone(const Order *o)
{
    return target_fit(o->made, &o->brief, state_studio(o->state), &state_picture(o->state)->image,
                      o->fault);
}

static ColourTask colour_task(const Order *o)
{
    return (ColourTask){&o->brief, state_studio(o->state), target_of(o), state_rules(o->state)};
}

static Status choose_colours(const Order *o)
{
    const ColourTask task = colour_task(o);
    return face_colours_init(o->made, &task, state_own_cells(o->state), o->fault);
}

/* Whether the sketch is of what is in sight, but for the rules of single cells. */
static bool only_rules_changed(const Order *o)
{
    const PlanState *now = o->state, *seen = o->seen;
    const unsigned reads = stage_reads(STAGE_SKETCH, &now->job) & ~STAGE_BIT(STAGE_RULES);
    if (!seen || !state_shown(seen)) return false;
    for (int i = 0; i < STAGES; i++)
        if ((reads & STAGE_BIT(i)) && now->made[i] != seen->made[i]) return false;
    return stage_is_asked_alike(STAGE_SKETCH, &now->job, &seen->job);
}

static Status sketch_colours(const Order *o)
{
    SketchTask task = {.colours = colour_task(o), .before = NULL, .before_rules = NULL};
    if (only_rules_changed(o)) {
        task.before = state_shown(o->seen);
        task.before_rules = state_rules(o->seen);
    }
    return face_colours_sketch(o->made, &task, state_own_cells(o->state), o->fault);
}

static Status raise_relief(const Order *o)
{
    const Studio *studio = state_studio(o->state);
    return raised_init(o->made, &o->brief, state_picture(o->state),
                       studio ? &studio->palette : NULL, state_face(o->state), o->fault);
}

static Status lay_bricks(const Order *o)
{
    const LayInputs inputs = {state_studio(o->state), target_of(o), state_face(o->state),
                              state_raised(o->state)->steps, state_rules(o->state)};
    return brickwork_init(o->made, &o->brief, &inputs, o->fault);
}

static Status find_holds(const Order *o)
{
    const Brickwork *b = state_brickwork(o->state);
    return plan_holds_init(o->made, &o->brief, state_studio(o->state), &b->body, &b->laying.laid,
                           o->fault);
}

static Status count_parts(const Order *o)
{
    return brickwork_count(o->made, &o->brief, state_studio(o->state), state_brickwork(o->state),
                           o->fault);
}

/* The bricks' colours, which are those of the face where its key says so (see plan/stage). */
static Status measure_look(const Order *o)
{
    Grid unused;
    const Brickwork *b = state_brickwork(o->state);
    const Grid *grid = b ? &b->body.grid : state_face(o->state);
    const Mural mural = state_mural_unlaid(o->state, grid, &unused);
    return look_figures_init(o->made, &mural, state_fitted(o->state), o->brief.voice, o->fault);
}

static Status reckon_figures(const Order *o)
{
    const Mural mural = state_mural(o->state);
    const RegionCells *regions = state_regions(o->state);
    const Status status =
        regions ? region_cells_say_doubts(regions, o->brief.voice, o->fault) : STATUS_OK;
    if (status) return status;
    return plan_figures_init(o->made, &mural, state_look(o->state), o->fault);
}

static void clear_studio(void *made) { studio_clear(made); }
static void clear_grid(void *made) { grid_clear(made); }
static void clear_held(void *made) { held_picture_clear(made); }
static void clear_picture(void *made) { sampled_picture_clear(made); }
static void clear_regions(void *made) { region_cells_clear(made); }
static void clear_rules(void *made) { cell_rules_clear(made); }
static void clear_image(void *made) { image_clear(made); }
static void clear_raised(void *made) { raised_clear(made); }
static void clear_brickwork(void *made) { brickwork_clear(made); }
static void clear_holds(void *made) { holds_clear(made); }
static void clear_parts(void *made) { parts_clear(made); }
static void clear_nothing(void *made) { (void)made; }
static void clear_figures(void *made) { plan_figures_clear(made); }

/* Products of a stage that are kept, the one in sight among them: enough to turn a setting to and
 * fro, or to look at two versions in turn. Pixels are held of one picture only. */
enum { KEPT_MOST = 3 };

static const struct StageWork {
    const char *name; /* as progress shows it */
    size_t size;      /* of what it makes */
    int kept;         /* of what it made, the newest so many, 1 to KEPT_MOST */
    Status (*take)(const Order *order);
    void (*clear)(void *made); /* also after a fault */
} works[STAGES] = {
    [STAGE_STUDIO] = {"colours", sizeof(Studio), KEPT_MOST, take_in, clear_studio},
    [STAGE_CELLS] = {"cells", sizeof(Grid), KEPT_MOST, read_cells, clear_grid},
    [STAGE_READING] = {"picture", sizeof(HeldPicture), 1, read_picture, clear_held},
    [STAGE_PICTURE] = {"picture", sizeof(SampledPicture), KEPT_MOST, sample_picture, clear_picture},
    [STAGE_REGIONS] = {"regions", sizeof(RegionCells), KEPT_MOST, mark_regions, clear_regions},
    [STAGE_RULES] = {"rules", sizeof(CellRules), KEPT_MOST, read_rules, clear_rules},
    [STAGE_TONE] = {"tone", sizeof(Image), KEPT_MOST, fit_tone, clear_image},
    [STAGE_FACE] = {"matching", sizeof(Grid), KEPT_MOST, choose_colours, clear_grid},
    [STAGE_SKETCH] = {"sketch", sizeof(Grid), KEPT_MOST, sketch_colours, clear_grid},
    [STAGE_RELIEF] = {"relief", sizeof(Raised), KEPT_MOST, raise_relief, clear_raised},
    [STAGE_BRICKS] = {"laying", sizeof(Brickwork), KEPT_MOST, lay_bricks, clear_brickwork},
    [STAGE_HOLDS] = {"forces", sizeof(Holds), KEPT_MOST, find_holds, clear_holds},
    [STAGE_PARTS] = {"counting", sizeof(Parts), KEPT_MOST, count_parts, clear_parts},
    [STAGE_LOOK] = {"measuring", sizeof(LookFigures), KEPT_MOST, measure_look, clear_nothing},
    [STAGE_FIGURES] = {"measuring", sizeof(PlanFigures), KEPT_MOST, reckon_figures, clear_figures},
};

Mural state_mural(const PlanState *s)
{
    const Job *job = &s->job;
    const Studio *studio = state_studio(s);
    const SampledPicture *picture = state_picture(s);
    const Brickwork *b = state_brickwork(s);
    const Subject *subject = &state_raised(s)->subject;
    const bool stands = s->brief.standing;
    Mural mural = {.job = job,
                   .threads = s->brief.threads,
                   .reference = &picture->reference,
                   .palette = &studio->palette,
                   .offered = studio->offered.count,
                   .sizes = &studio->sizes,
                   .stock = &studio->stock,
                   .image = &picture->image,
                   .grid = &b->body.grid,
                   .subject = subject->label ? subject : NULL,
                   .solid = b->body.solid,
                   .panels = &b->body.panels,
                   .step_changes = &b->step_changes,
                   .laid = &b->laying.laid,
                   .standing = stands ? &studio->built : NULL,
                   .stands = b->stands,
                   .difference = stands ? &b->difference : NULL,
                   .parts = state_parts(s),
                   .bond = &b->bond,
                   .holds = state_holds(s),
                   .even = b->even,
                   .saving = b->laying.saving,
                   .thickness = s->thickness,
                   .cell_width_mm = brief_cell_width(&s->brief),
                   .cell_height_mm = brief_cell_height(&s->brief),
                   .step_mm = brief_step(&s->brief),
                   .lower_bound = b->laying.report.lower_bound,
                   .lower_cost = b->laying.report.lower_cost};
    const CellRules *rules = state_rules(s);
    if (rules) mural.regions = (RegionMap){&rules->regions, rules->label};
    if (rules) mural.pin = rules->pin;
    if (state_figures(s)) plan_figures_tell(state_figures(s), &mural);
    return mural;
}

Mural state_mural_unlaid(const PlanState *s, const Grid *face, Grid *grid_out)
{
    const Raised *raised = state_raised(s);
    *grid_out = *face;
    grid_out->steps = raised ? raised->steps : NULL;
    return (Mural){.job = &s->job,
                   .threads = s->brief.threads,
                   .palette = &state_studio(s)->palette,
                   .offered = state_studio(s)->offered.count,
                   .image = &state_picture(s)->image,
                   .grid = grid_out,
                   .solid = brief_solid(&s->brief, grid_out),
                   .cell_width_mm = brief_cell_width(&s->brief),
                   .cell_height_mm = brief_cell_height(&s->brief),
                   .step_mm = brief_step(&s->brief)};
}

/* ---- products ---- */

enum { NOTE_TEXT = 600 };

/* What a stage said while it worked. */
typedef struct Notes {
    char (*text)[NOTE_TEXT];
    size_t count, capacity;
    bool lost; /* one of them, for want of memory */
} Notes;

typedef struct Product {
    const struct StageWork *work;
    int users;
    char key[DIGEST_TEXT];
    char part[DIGEST_TEXT]; /* of the studio: a digest of what most stages read of it */
    Notes notes;
    void *made;
} Product;

static void product_free(Product *p)
{
    if (!p) return;
    if (p->made) p->work->clear(p->made);
    memory_free(p->made);
    memory_free(p->notes.text);
    memory_free(p);
}

/* Hears a stage: passes on what it says, and keeps its notes. */
typedef struct Ear {
    const Voice *voice;
    Notes *notes;
} Ear;

static void hear_note(void *self, const char *text)
{
    const Ear *ear = self;
    Notes *n = ear->notes;
    if (memory_grow(&n->text, &n->capacity, n->count + 1, sizeof *n->text, NULL))
        n->lost = true;
    else
        strncpy(n->text[n->count++], text, NOTE_TEXT - 1);
    voice_note(ear->voice, "%s", text);
}

static void hear_progress(void *self, const char *stage, double done)
{
    voice_progress(((const Ear *)self)->voice, stage, done);
}

static bool hear_stopped(void *self) { return voice_stopped(((const Ear *)self)->voice); }

/* ---- states ---- */

typedef struct State {
    PlanState seen; /* first, so that one is the other */
    Product *product[STAGES];
    int users;
} State;

struct OpenPlan {
    const BuiltPart *standing;
    size_t hold_bytes;
    int thickness;                    /* that was found last where it was sought, at first 1 */
    pthread_mutex_t lock;             /* of what follows, and of all users */
    State *state;                     /* in sight */
    Product *kept[STAGES][KEPT_MOST]; /* the newest first */
};

/* Lock held, as in the next. */
static void product_drop(Product *p)
{
    if (p && --p->users == 0) product_free(p);
}

static void state_drop(State *s)
{
    if (!s || --s->users > 0) return;
    for (int i = 0; i < STAGES; i++) product_drop(s->product[i]);
    memory_free(s);
}

/* A product that a state uses from now on. */
static void state_put(State *s, Stage stage, Product *p)
{
    s->product[stage] = p;
    s->seen.made[stage] = p->made;
}

/* Keeps a product as the newest of its stage, whether it is new or was kept before. */
static void keep(OpenPlan *plan, Stage stage, Product *p)
{
    Product **kept = plan->kept[stage];
    int at = 0;
    p->users++;
    while (at < works[stage].kept - 1 && kept[at] != p) at++;
    product_drop(kept[at]);
    memmove(kept + 1, kept, (size_t)at * sizeof *kept);
    kept[0] = p;
}

/* The kept product of this key, which the state uses from now on; NULL: there is none. */
static Product *find_kept(OpenPlan *plan, State *next, Stage stage, const char *key)
{
    Product *found = NULL;
    pthread_mutex_lock(&plan->lock);
    for (int i = 0; i < KEPT_MOST && !found; i++) {
        Product *p = plan->kept[stage][i];
        if (p && !strcmp(p->key, key)) found = p;
    }
    if (found) {
        found->users++;
        state_put(next, stage, found);
        keep(plan, stage, found);
    }
    pthread_mutex_unlock(&plan->lock);
    return found;
}

/* ---- an update ---- */

typedef struct Update {
    OpenPlan *plan;
    State *next;
    unsigned wanted; /* stages, with all that they read */
    const Voice *voice;
    Fault *fault;
} Update;

static unsigned with_all_read(unsigned stages, const Job *job)
{
    for (int i = STAGES - 1; i >= 0; i--)
        if (stages & STAGE_BIT(i)) stages |= stage_reads((Stage)i, job);
    return stages;
}

/* Whether all that a stage reads is there. */
static bool can_be_keyed(const State *s, Stage stage)
{
    const unsigned reads = stage_reads(stage, &s->seen.job);
    for (int i = 0; i < (int)stage; i++)
        if ((reads & STAGE_BIT(i)) && !s->product[i]) return false;
    return true;
}

static Status find_key(const Update *u, Stage stage, char key_out[DIGEST_TEXT])
{
    char(*key[STAGES])[DIGEST_TEXT] = {NULL};
    for (int i = 0; i < (int)stage; i++) {
        Product *p = u->next->product[i];
        if (!p) continue;
        key[i] = stage_reads_whole(stage, (Stage)i, &u->next->seen.job) ? &p->key : &p->part;
    }
    return stage_key(stage, &u->next->seen.job, key, key_out, u->fault);
}

static void tell_again(const Product *p, const Voice *voice)
{
    for (size_t i = 0; i < p->notes.count; i++) voice_note(voice, "%s", p->notes.text[i]);
}

static Status product_make(Product *p, const Update *u)
{
    Ear ear = {u->voice, &p->notes};
    const Voice voice = {&ear, hear_note, hear_progress, hear_stopped};
    const State *seen = u->plan->state; /* others only look at it */
    Order order = {.state = &u->next->seen,
                   .seen = seen ? &seen->seen : NULL,
                   .brief = u->next->seen.brief,
                   .hold_bytes = u->plan->hold_bytes,
                   .fault = u->fault};
    order.brief.voice = &voice;
    order.made = p->made = memory_create(1, p->work->size);
    if (!p->made) return memory_fault(u->fault, 1, p->work->size);
    voice_progress(u->voice, p->work->name, 0);
    if (voice_stopped(u->voice)) return brief_interrupted(u->fault);
    const Status status = p->work->take(&order);
    if (!status && voice_stopped(u->voice)) return brief_interrupted(u->fault); /* made in part */
    if (!status && p->notes.lost) return memory_fault(u->fault, 1, sizeof *p->notes.text);
    if (status || p->work != &works[STAGE_STUDIO]) return status;
    return studio_digest(p->made, p->part, u->fault);
}

static Status take_stage(const Update *u, Stage stage, const char *key)
{
    Product *p = memory_create(1, sizeof *p);
    if (!p) return memory_fault(u->fault, 1, sizeof *p);
    p->work = &works[stage];
    memcpy(p->key, key, sizeof p->key);
    const Status status = product_make(p, u);
    if (status) {
        product_free(p);
        return status;
    }
    pthread_mutex_lock(&u->plan->lock);
    p->users++;
    state_put(u->next, stage, p);
    keep(u->plan, stage, p);
    pthread_mutex_unlock(&u->plan->lock);
    return STATUS_OK;
}

/* A sketch is of no use beside the face. */
static bool is_idle(const State *s, Stage stage)
{
    return stage == STAGE_SKETCH && s->product[STAGE_FACE];
}

/* A stage that is not wanted is still to be seen if it is as it would be made. */
static Status bring_up(const Update *u, Stage stage)
{
    char key[DIGEST_TEXT];
    const bool wanted = (u->wanted & STAGE_BIT(stage)) && !is_idle(u->next, stage);
    if (!can_be_keyed(u->next, stage)) return STATUS_OK;
    const Status status = find_key(u, stage, key);
    if (status) return status;
    const Product *kept = find_kept(u->plan, u->next, stage, key);
    if (kept && wanted) tell_again(kept, u->voice);
    return kept || !wanted ? STATUS_OK : take_stage(u, stage, key);
}

static Status state_create(State **state_out, const OpenPlan *plan, const Job *job, Fault *fault)
{
    State *s = *state_out = memory_create(1, sizeof *s);
    if (!s) return memory_fault(fault, 1, sizeof *s);
    s->seen.job = *job;
    s->seen.brief = brief_of(&s->seen.job, plan->standing, NULL);
    s->users = 1;
    return STATUS_OK;
}

/* A state that nobody sees yet; NULL after a fault. */
static Status make_state(OpenPlan *plan, const Job *job, unsigned stages, const Voice *voice,
                         State **state_out, Fault *fault)
{
    Update update = {
        .plan = plan, .wanted = with_all_read(stages, job), .voice = voice, .fault = fault};
    Status status = state_create(&update.next, plan, job, fault);
    for (int i = 0; !status && i < STAGES; i++) status = bring_up(&update, (Stage)i);
    if (status) {
        pthread_mutex_lock(&plan->lock);
        state_drop(update.next);
        pthread_mutex_unlock(&plan->lock);
    }
    *state_out = status ? NULL : update.next;
    return status;
}

/* From now on this state is seen. */
static void show_state(OpenPlan *plan, State *next)
{
    pthread_mutex_lock(&plan->lock);
    state_drop(plan->state);
    plan->state = next;
    pthread_mutex_unlock(&plan->lock);
}

/* Plans walls as far as their forces, one unit thicker each time; they say nothing. */
static Status seek_thickness(OpenPlan *plan, Job *job, ThicknessTrials *trials, const Voice *voice,
                             Fault *fault)
{
    Voice quiet = voice ? *voice : (Voice){0};
    quiet.note = NULL;
    for (bool done = false; !done;) {
        State *state;
        job->thickness = trials->count + 1;
        const Status status = make_state(plan, job, STAGE_BIT(STAGE_HOLDS), &quiet, &state, fault);
        if (status) return status;
        done = thickness_try(trials, job, state_holds(&state->seen),
                             state_brickwork(&state->seen)->body.panels.count);
        pthread_mutex_lock(&plan->lock);
        state_drop(state);
        pthread_mutex_unlock(&plan->lock);
    }
    plan->thickness = job->thickness = trials->found;
    thickness_say(trials, job, voice);
    return STATUS_OK;
}

Status open_plan_update(OpenPlan *plan, const Job *job, unsigned stages, const Voice *voice,
                        Fault *fault)
{
    ThicknessTrials trials = {0};
    Job found = *job;
    State *next;
    Status status = STATUS_OK;
    if (thickness_is_sought(job) && (stages & STAGE_BIT(STAGE_FIGURES)))
        status = seek_thickness(plan, &found, &trials, voice, fault);
    else if (thickness_is_sought(job))
        found.thickness = plan->thickness;
    if (!status) status = make_state(plan, &found, stages, voice, &next, fault);
    if (status) return status;
    next->seen.thickness = trials;
    show_state(plan, next);
    return STATUS_OK;
}

/* ---- the plan ---- */

Status open_plan_create(OpenPlan **plan_out, const BuiltPart *standing, size_t hold_bytes,
                        Fault *fault)
{
    OpenPlan *plan = *plan_out = memory_create(1, sizeof *plan);
    if (!plan) return memory_fault(fault, 1, sizeof *plan);
    plan->standing = standing;
    plan->hold_bytes = hold_bytes;
    plan->thickness = 1;
    pthread_mutex_init(&plan->lock, NULL);
    return STATUS_OK;
}

void open_plan_free(OpenPlan *plan)
{
    if (!plan) return;
    for (int i = 0; i < STAGES; i++)
        for (int k = 0; k < KEPT_MOST; k++) product_drop(plan->kept[i][k]);
    assert(!plan->state || plan->state->users == 1);
    state_drop(plan->state);
    pthread_mutex_destroy(&plan->lock);
    memory_free(plan);
}

const PlanState *open_plan_see(OpenPlan *plan)
{
    pthread_mutex_lock(&plan->lock);
    State *state = plan->state;
    if (state) state->users++;
    pthread_mutex_unlock(&plan->lock);
    return state ? &state->seen : NULL;
}

void open_plan_leave(OpenPlan *plan, const PlanState *seen)
{
    if (!seen) return;
    pthread_mutex_lock(&plan->lock);
    state_drop((State *)seen);
    pthread_mutex_unlock(&plan->lock);
}
