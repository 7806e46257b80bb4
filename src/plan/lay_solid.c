/* Laying and what must hold depend on each other: where panels come apart, a few cells are
 * raised and all is laid again; where a panel around a core does not hold, pockets are filled
 * and all is laid again. Both go round a few times at most; then what does not hold yet is left
 * for the bond's report to tell. A hollow mural is laid solid first, to tell what it saves, and
 * which layers and panels take more bricks around a core: these are filled again. */
#include "plan/lay_solid.h"

#include "base/memory.h"
#include "hold/connect_panels.h"

#include <string.h>

/* Layings of one body, at most: of walls in relief that come apart, and around a core. Ours;
 * no bench set it. */
enum { CONNECT_ROUNDS = 4, CORE_ROUNDS = 4 };

/* The last rounds fill the whole core of a panel that does not hold, not only near its flaws. */
enum { CORE_ROUNDS_FILLING = 2 };

/* A body that is being laid. */
typedef struct SolidWork {
    const PassTask *task;
    Body *body;
    Laying *laying;
    Fault *fault;
    long massive_bricks; /* what the mural comes to without a core */
    double massive_kg;
    size_t *massive; /* by panel and layer: its bricks */
    bool *filled;    /* by panel: its core was filled again, at least in part */
} SolidWork;

void laying_clear(Laying *laying) { laid_clear(&laying->laid); }

static double laid_kg(const Laid *laid, const Sizes *sizes)
{
    double mass_g = 0;
    for (size_t i = 0; i < laid->count; i++) mass_g += sizes->size[laid->brick[i].size].mass_g;
    return mass_g / 1000;
}

Status join_built(const PassTask *task, Laid *laid, Fault *fault)
{
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < task->built->count; i++)
        status = laid_add(laid, &task->built->brick[i], fault);
    laid_sort(laid, task->body->solid.build == BUILD_WALL);
    return status;
}

/* ---- in one piece ---- */

/* Lays; where panels of a relief wall come apart, raises cells that join them and lays again.
 * The relief of a mural under way stays as it was first planned. */
static Status lay_connected(SolidWork *w, const PassTask *task)
{
    const Brief *brief = task->brief;
    Laying *laying = w->laying;
    size_t raised = 1;
    Status status = STATUS_OK;
    for (int round = 0; round < CONNECT_ROUNDS && raised && !status; round++) {
        status = lay_pass(task, &laying->laid, &laying->report, w->fault);
        if (brief->standing) return status;
        if (!status)
            status = connect_panels(&w->body->grid, &w->body->solid, &w->body->panels,
                                    &laying->laid, &raised, w->fault);
        if (!status && raised)
            status = body_support(w->body, brief, &task->studio->sizes, w->fault);
    }
    return status || !raised ? status : lay_pass(task, &laying->laid, &laying->report, w->fault);
}

static Status lay_massive(SolidWork *w) { return lay_connected(w, w->task); }

/* ---- a hollow core ---- */

/* Layers of the panel that has most. */
static size_t most_layers(const Body *body)
{
    size_t most = (size_t)solid_depth(&body->solid);
    for (int p = 0; p < body->panels.count; p++)
        if ((size_t)body->panels.panel[p].rows > most) most = (size_t)body->panels.panel[p].rows;
    return most;
}

/* Adds the bricks of a laying to a count by panel and layer. */
static void count_by_layer(const Body *body, const Laid *laid, size_t *bricks)
{
    const bool wall = body->solid.build == BUILD_WALL;
    const size_t most = most_layers(body);
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        const int layer = wall ? b->row - body->panels.panel[b->panel].row : b->tier;
        bricks[(size_t)b->panel * most + (size_t)layer]++;
    }
}

/* Lays the mural without a core, and as if nothing stood, to tell what the core saves. */
static Status lay_to_compare(SolidWork *w)
{
    const Laid nothing = {0};
    PassTask task = *w->task;
    task.built = &nothing;
    const Status status = lay_connected(w, &task);
    w->massive_kg = laid_kg(&w->laying->laid, &task.studio->sizes);
    const size_t counts = (size_t)w->body->panels.count * most_layers(w->body);
    w->massive_bricks = (long)w->laying->laid.count;
    w->massive = memory_create(counts, sizeof *w->massive);
    if (!status && !w->massive) return memory_fault(w->fault, counts, sizeof *w->massive);
    if (!status) count_by_layer(w->body, &w->laying->laid, w->massive);
    return status;
}

static HollowTask hollow_task(const SolidWork *w)
{
    return (HollowTask){.solid = &w->body->solid,
                        .panels = &w->body->panels,
                        .sizes = &w->task->studio->sizes,
                        .shell = w->task->brief->job->hollow};
}

/* A core as the colours allow; where something stands, that of the earlier plan. */
static Status carve_core(SolidWork *w)
{
    const Brief *brief = w->task->brief;
    const EarlierPlan *earlier = brief_earlier(brief);
    const HollowTask task = hollow_task(w);
    Hollow *hollow = &w->body->hollow;
    if (!earlier) return hollow_carve(hollow, &task, brief->voice, w->fault);
    if (!earlier->left_out) return STATUS_OK;
    return hollow_keep(hollow, &task, earlier->left_out, w->task->built, w->fault);
}

/* Fills what a panel that does not hold may lack; *filled_out is whether anything was. */
static Status mend_core(SolidWork *w, bool all, bool *filled_out)
{
    Body *body = w->body;
    const Laid *around = &w->laying->laid;
    const HollowTask task = hollow_task(w);
    const size_t units = body->hollow.units;
    Bond bond = {0};
    Laid whole = {0};
    Status status = STATUS_OK;
    for (size_t i = 0; !status && i < around->count; i++)
        status = laid_add(&whole, &around->brick[i], w->fault);
    if (!status) status = join_built(w->task, &whole, w->fault);
    if (!status)
        status = bond_init(&bond, &body->solid, &body->panels, &whole, w->task->brief->threads,
                           w->fault);
    if (!status) status = hollow_mend(&body->hollow, &task, &whole, &bond, all, w->fault);
    *filled_out = body->hollow.units < units;
    bond_clear(&bond);
    laid_clear(&whole);
    return status;
}

/* Lays around the core, and fills pockets where panels do not hold; all of them where no brick
 * of the set fits around them. */
static Status lay_around_core(SolidWork *w)
{
    Laying *laying = w->laying;
    bool filled = true;
    Status status = STATUS_OK;
    for (int round = 0; round < CORE_ROUNDS && filled && !status; round++) {
        status = lay_pass(w->task, &laying->laid, &laying->report, w->fault);
        if (!status) status = mend_core(w, round >= CORE_ROUNDS - CORE_ROUNDS_FILLING, &filled);
    }
    if (status != STATUS_DATA || !w->body->hollow.units) return status;
    hollow_fill(&w->body->hollow, &w->body->solid, &w->body->panels);
    return lay_pass(w->task, &laying->laid, &laying->report, w->fault);
}

/* Fills a panel that takes more bricks around its core than solid: the layers that do or, where
 * that was not enough, all. */
static Status fill_if_costly(SolidWork *w, int panel, const size_t *bricks, bool all, bool *filled)
{
    Body *body = w->body;
    const HollowTask task = hollow_task(w);
    const size_t most = most_layers(body), units = body->hollow.units;
    const size_t *massive = w->massive + (size_t)panel * most;
    size_t now = 0, before = 0;
    for (size_t i = 0; i < most; i++) {
        now += bricks[i];
        before += massive[i];
    }
    if (now <= before || !units) return STATUS_OK;
    uint8_t *fill = memory_create(most, 1);
    if (!fill) return memory_fault(w->fault, most, 1);
    for (size_t i = 0; i < most; i++) fill[i] = all || bricks[i] > massive[i];
    const Status status = hollow_fill_layers(&body->hollow, &task, panel, fill, w->fault);
    memory_free(fill);
    *filled = body->hollow.units < units;
    return status;
}

/* The same of all panels, but of those where something stands: their core is that of the earlier
 * plan. */
static Status fill_costly(SolidWork *w, bool all, bool *any_out)
{
    Body *body = w->body;
    const Laid *built = w->task->built;
    const size_t panels = (size_t)body->panels.count, most = most_layers(body);
    size_t *bricks = memory_create(panels * most, sizeof *bricks);
    Status status = bricks ? STATUS_OK : memory_fault(w->fault, panels * most, sizeof *bricks);
    *any_out = false;
    if (bricks) count_by_layer(body, &w->laying->laid, bricks);
    for (size_t i = 0; i < built->count && !status; i++)
        memset(bricks + (size_t)built->brick[i].panel * most, 0, most * sizeof *bricks);
    for (size_t p = 0; p < panels && !status; p++) {
        bool filled = false;
        status = fill_if_costly(w, (int)p, bricks + p * most, all, &filled);
        w->filled[p] = w->filled[p] || filled;
        *any_out = *any_out || filled;
    }
    memory_free(bricks);
    return status;
}

/* A core is to save bricks as well as weight: where it takes more of them it is filled again, first
 * in part. What is laid first and last of a panel that is filled wholly is the same, but where
 * sizes are chosen for all panels together. */
static Status keep_costly_solid(SolidWork *w)
{
    Laying *laying = w->laying;
    Saving *saving = &laying->saving;
    const size_t panels = (size_t)w->body->panels.count;
    const double kg = laid_kg(&laying->laid, &w->task->studio->sizes);
    bool any = true;
    w->filled = memory_create(panels, sizeof *w->filled);
    Status status = w->filled ? STATUS_OK : memory_fault(w->fault, panels, sizeof *w->filled);
    for (int round = 0; round < CORE_ROUNDS && any && !status; round++) {
        status = fill_costly(w, round > 0, &any);
        if (!status && any) status = lay_pass(w->task, &laying->laid, &laying->report, w->fault);
    }
    for (size_t p = 0; p < panels && !status; p++) saving->filled_panels += w->filled[p];
    saving->filled_kg = laid_kg(&laying->laid, &w->task->studio->sizes) - kg;
    memory_free(w->filled);
    w->filled = NULL;
    return status;
}

static Status reckon_saving(SolidWork *w)
{
    const Laid *laid = &w->laying->laid, *built = w->task->built;
    const Sizes *sizes = &w->task->studio->sizes;
    Saving *saving = &w->laying->saving;
    saving->units = w->body->hollow.units;
    saving->bricks = w->massive_bricks - (long)(laid->count + built->count);
    saving->mass_kg = w->massive_kg - laid_kg(laid, sizes) - laid_kg(built, sizes);
    return STATUS_OK;
}

/* ---- the whole ---- */

static bool core_wanted(const SolidWork *w) { return w->task->brief->job->hollow > 0; }
static bool massive_wanted(const SolidWork *w) { return !core_wanted(w); }
static bool has_core(const SolidWork *w) { return w->body->hollow.units > 0; }

/* A laying that was to compare is the one that counts where no core was found, unless it was
 * laid through what stands. */
static bool must_be_laid_around(const SolidWork *w)
{
    return core_wanted(w) && (has_core(w) || w->task->brief->standing);
}

static const struct SolidStep {
    bool (*applies)(const SolidWork *work);
    Status (*take)(SolidWork *work);
} solid_steps[] = {
    {massive_wanted, lay_massive}, {core_wanted, lay_to_compare},
    {core_wanted, carve_core},     {must_be_laid_around, lay_around_core},
    {has_core, keep_costly_solid}, {has_core, reckon_saving},
};

Status lay_solid(const PassTask *task, Body *body, Laying *laying, Fault *fault)
{
    SolidWork work = {.task = task, .body = body, .laying = laying, .fault = fault};
    Status status = STATUS_OK;
    hollow_clear(&body->hollow, &body->solid);
    laying->saving = (Saving){.shell = task->brief->job->hollow};
    for (size_t i = 0; !status && i < sizeof solid_steps / sizeof *solid_steps; i++)
        if (solid_steps[i].applies(&work)) status = solid_steps[i].take(&work);
    memory_free(work.massive);
    return status;
}
