/* Bricks, cells and panels come from the plan reader, which proves them; what a panel weighs with
 * all that is behind it, and hours, from plan.json, where the panels stand in the same order. */
#include "show/planned.h"

#include "base/json_file.h"
#include "base/memory.h"
#include "plan/built_part.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static Status damaged(const Planned *p, const char *what, Fault *fault)
{
    return fault_set(fault, STATUS_DATA, "%s/plan.json: %s; remove the folder and run it again",
                     p->folder, what);
}

static Status open_plan(const Planned *p, json_t **plan_out, Fault *fault)
{
    char *bytes;
    size_t length;
    Status status = folder_read(p->folder, "plan.json", &bytes, &length, fault);
    if (status) return status;
    status = json_parse(plan_out, bytes, length, JSON_REJECT_DUPLICATES, NULL, fault);
    memory_free(bytes);
    if (status || *plan_out) return status;
    return damaged(p, "no JSON", fault);
}

/* A number of an object that is there and not below 0. */
static double number_of(const json_t *object, const char *name, bool *sound)
{
    const json_t *value = json_object_get(object, name);
    const double number = json_number_value(value);
    *sound &= json_is_number(value) && number >= 0;
    return number;
}

static Status take_panels(Planned *p, const json_t *plan, Fault *fault)
{
    const json_t *list = json_object_get(plan, "panels");
    const Panels *panels = &p->plan->panels;
    bool sound = (int)json_array_size(list) == panels->count;
    p->panels = panels->count;
    p->panel = memory_create((size_t)p->panels, sizeof *p->panel);
    p->building = memory_create((size_t)p->panels, sizeof *p->building);
    if (!p->panel || !p->building) return memory_fault(fault, (size_t)p->panels, sizeof *p->panel);
    for (int nth = 0; nth < p->panels && sound; nth++) {
        const int index = panels_hung(panels, nth);
        const json_t *from = json_array_get(list, (size_t)index);
        PlannedPanel *to = &p->panel[nth];
        memcpy(to->name, panels->panel[index].name, sizeof to->name);
        to->width_mm = number_of(from, "width_mm", &sound);
        to->height_mm = number_of(from, "height_mm", &sound);
        to->depth_mm = number_of(from, "whole_depth_mm", &sound);
        to->kg = number_of(from, "whole_kg", &sound);
        to->bricks = to->to_build = (long)number_of(from, "bricks", &sound);
        p->depth_mm = fmax(p->depth_mm, to->depth_mm);
        p->building[index] = nth;
    }
    return sound ? STATUS_OK : damaged(p, "its panels are not told as they must be", fault);
}

static Status take_measures(Planned *p, const json_t *plan, Fault *fault)
{
    const json_t *measures = json_object_get(plan, "measures"),
                 *cell = json_object_get(plan, "cell_mm");
    bool sound = json_array_size(cell) == 2;
    p->mass_kg = number_of(measures, "mass_kg", &sound);
    p->whole_kg = number_of(measures, "whole_kg", &sound);
    p->hours = number_of(measures, "hours", &sound);
    p->perceived_de00 = number_of(measures, "perceived_de00", &sound);
    p->width_mm = p->plan->grid.columns * json_number_value(json_array_get(cell, 0));
    p->height_mm = p->plan->grid.rows * json_number_value(json_array_get(cell, 1));
    p->bricks = (long)p->plan->laid.count;
    return sound ? STATUS_OK : damaged(p, "its measures are not told as they must be", fault);
}

/* A plan numbers its sizes by the order of its bricks, and its colours by a palette that may be a
 * part of the show's; here both are numbered as the studio does. */
static Status number_bricks(Planned *p, const Studio *studio, Fault *fault)
{
    int size[SIZES_MOST], colour[PALETTE_MOST];
    for (int i = 0; i < p->plan->sizes.count; i++) {
        const Size *s = &p->plan->sizes.size[i];
        size[i] = sizes_find(&studio->sizes, s->width, s->length);
        if (size[i] < 0) return damaged(p, "a size that the brick set does not have", fault);
    }
    for (int i = 0; i < p->plan->palette.count; i++) {
        colour[i] = palette_find(&studio->palette, p->plan->palette.colour[i].id);
        if (colour[i] < 0)
            return damaged(p, "a colour that the show's palette does not have", fault);
    }
    Laid *const laid[] = {&p->plan->laid, &p->standing};
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < laid[k]->count; i++) {
            Brick *b = &laid[k]->brick[i];
            b->size = (uint8_t)size[b->size];
            b->colour = (uint8_t)colour[b->colour];
        }
    return STATUS_OK;
}

/* What the mural's `built` names stands in the plan as it did in the one before. */
static Status take_standing(Planned *p, const json_t *plan, Fault *fault)
{
    BuiltPart built = {0};
    const json_int_t told =
        json_integer_value(json_object_get(json_object_get(plan, "built"), "bricks"));
    if (!*p->mural->job.built) return STATUS_OK;
    Status status = built_part_init(&built, p->plan, p->mural->job.built, fault);
    if (!status && (json_int_t)built.laid.count != told)
        status = damaged(p, "what stands is not what built names now; name rows or panels", fault);
    if (!status) {
        p->standing = built.laid;
        built.laid = (Laid){0};
    }
    built_part_clear(&built);
    for (size_t i = 0; !status && i < p->standing.count; i++)
        p->panel[p->building[p->standing.brick[i].panel]].to_build--;
    return status;
}

Status planned_init(Planned *p, const ShowMural *mural, const char *folder, const Studio *studio,
                    Fault *fault)
{
    *p = (Planned){.mural = mural};
    snprintf(p->folder, sizeof p->folder, "%s", folder);
    json_t *plan = NULL;
    Status status = plan_reader_create(&p->plan, p->folder, fault);
    if (!status) status = open_plan(p, &plan, fault);
    if (!status) status = take_panels(p, plan, fault);
    if (!status) status = take_measures(p, plan, fault);
    if (!status) status = take_standing(p, plan, fault);
    json_decref(plan);
    return status ? status : number_bricks(p, studio, fault);
}

void planned_clear(Planned *p)
{
    plan_reader_free(p->plan);
    laid_clear(&p->standing);
    memory_free(p->panel);
    memory_free(p->building);
    *p = (Planned){0};
}

long planned_sum(const Planned *planned, int count, double *kg)
{
    long bricks = 0;
    *kg = 0;
    for (int i = 0; i < count; i++) {
        bricks += planned[i].bricks;
        *kg += planned[i].whole_kg;
    }
    return bricks;
}
