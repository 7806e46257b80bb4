/* plan.json is read first; it tells the digests of the other files, so none of them is looked
 * at before it is known to be the one that was written. Then every value is held against its
 * range: a folder that was edited by hand gives a fault, never half a plan. */
#include "plan/plan_reader.h"

#include "base/file_format.h"
#include "base/folder.h"
#include "base/memory.h"
#include "base/raster.h"
#include "model/image.h"
#include "plan/brick_list.h"

#include <jansson.h>

#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* ---- plan.json ---- */

static Status damaged(const char *folder, Fault *fault, const char *what)
{
    return fault_set(fault, STATUS_DATA, "%s/plan.json: %s; restore the plan from a copy", folder,
                     what);
}

static Status open_plan(const char *folder, json_t **plan_out, Fault *fault)
{
    char *bytes;
    size_t length;
    json_t *plan;
    Status status = folder_read(folder, "plan.json", &bytes, &length, fault);
    if (status) return status;
    status = json_parse(&plan, bytes, length, JSON_REJECT_DUPLICATES, NULL, fault);
    memory_free(bytes);
    if (status) return status;
    const FormatFit fit = file_format_fit(FORMAT_PLAN, plan);
    if (fit == FORMAT_KNOWN) {
        *plan_out = plan;
        return STATUS_OK;
    }
    char where[JOB_TEXT + 16];
    snprintf(where, sizeof where, "%s/plan.json", folder);
    status = fit == FORMAT_NEWER ? file_format_fault(FORMAT_PLAN, plan, where, fault)
                                 : damaged(folder, fault, "no plan of this program's");
    json_decref(plan);
    return status;
}

static Status take_settings(Job *job, const char *folder, const json_t *plan, Fault *fault)
{
    json_t *all = json_object_get(plan, "settings"), *value;
    const char *name;
    job_init(job);
    if (!json_is_object(all)) return damaged(folder, fault, "it has no settings");
    json_object_foreach(all, name, value)
    {
        char where[JOB_TEXT + 96];
        const Setting *s = setting_find(name);
        const char *text = json_string_value(value);
        snprintf(where, sizeof where, "%s/plan.json: settings: %.60s", folder, name);
        if (!s || !s->echoed || !text)
            return fault_set(fault, STATUS_DATA, "%s: %s; restore the plan from a copy", where,
                             s && s->echoed ? "its value is not text" : "no such setting");
        char path[JOB_TEXT];
        const bool is_path = s->type == SETTING_FILE;
        if (is_path && !json_path_bytes(path, sizeof path, text))
            return fault_set(fault, STATUS_DATA, "%s: no path; restore the plan from a copy",
                             where);
        if (!job_set(job, s, is_path ? path : text, where, NULL, fault)) continue;
        if (fault)
            fault->status =
                STATUS_DATA; /* the words of the fault hold, but a file is wrong, not the command */
        return STATUS_DATA;
    }
    return STATUS_OK;
}

/* False where a value is no number, or beyond what any colour can have. */
static bool take_lab(Lab *out, const json_t *lab)
{
    double *const value[3] = {&out->L, &out->a, &out->b};
    static const double least[3] = {0, -200, -200}, most[3] = {100, 200, 200};
    for (size_t i = 0; i < 3; i++) {
        const json_t *from = json_array_get(lab, i);
        *value[i] = json_number_value(from);
        if (!json_is_number(from) || *value[i] < least[i] || *value[i] > most[i]) return false;
    }
    return json_array_size(lab) == 3;
}

static Status take_colour(Colour *c, const char *folder, const json_t *from, Fault *fault)
{
    const char *id = json_string_value(json_object_get(from, "id"));
    const char *name = json_string_value(json_object_get(from, "name"));
    const char *hex = json_string_value(json_object_get(from, "hex"));
    unsigned rgb[3];
    if (!id || !*id || strlen(id) >= sizeof c->id || !name || strlen(name) >= sizeof c->name ||
        !hex || sscanf(hex, "#%2x%2x%2x", &rgb[0], &rgb[1], &rgb[2]) != 3 ||
        !take_lab(&c->lab, json_object_get(from, "lab")))
        return damaged(folder, fault, "a colour lacks its id, name, lab or hex");
    strcpy(c->id, id);
    strcpy(c->name, name);
    colour_complete(c);
    for (int i = 0; i < 3; i++) c->srgb[i] = (uint8_t)rgb[i]; /* not from lab, which is rounded */
    return STATUS_OK;
}

static Status take_colours(EarlierPlan *e, const json_t *plan, Fault *fault)
{
    const json_t *list = json_object_get(plan, "colours");
    const size_t count = json_array_size(list);
    if (count < 1 || count > PALETTE_MOST)
        return damaged(e->folder, fault, "the number of colours is out of range");
    for (size_t i = 0; i < count; i++) {
        const json_t *from = json_array_get(list, i);
        Colour *c = &e->palette.colour[i];
        const Status status = take_colour(c, e->folder, from, fault);
        if (status) return status;
        if (palette_find(&e->palette, c->id) >= 0)
            return damaged(e->folder, fault, "two colours have one id");
        e->palette.count++;
        if (!json_is_true(json_object_get(from, "standing"))) e->offered = e->palette.count;
    }
    return e->offered ? STATUS_OK : damaged(e->folder, fault, "no colour is to be had");
}

/* The size and build of the mural, and the reference's digest. */
static Status take_frame(EarlierPlan *e, const json_t *plan, Fault *fault)
{
    const json_int_t columns = json_integer_value(json_object_get(plan, "columns"));
    const json_int_t rows = json_integer_value(json_object_get(plan, "rows"));
    const json_int_t base = json_integer_value(json_object_get(plan, "base"));
    const char *sha256 =
        json_string_value(json_object_get(json_object_get(plan, "reference"), "sha256"));
    const bool wall = e->job.build == BUILD_WALL;
    if (columns < 1 || columns > GRID_MOST || rows < 1 || rows > GRID_MOST || !sha256 ||
        base != (wall ? e->job.thickness : 1))
        return damaged(e->folder, fault, "its size, base or reference is not told as it must be");
    snprintf(e->sha256, sizeof e->sha256, "%s", sha256);
    e->grid.columns = (int)columns;
    e->grid.rows = (int)rows;
    e->solid = (Solid){.grid = &e->grid, .build = (Build)e->job.build, .base = (int)base};
    return STATUS_OK;
}

/* Units that a hollow core leaves out. A flat plaque has no depth to leave something out of, so
 * nothing is told of it there. */
static Status take_left_out(const EarlierPlan *e, const json_t *plan, bool raised,
                            size_t *units_out, Fault *fault)
{
    *units_out = 0;
    if (!e->job.hollow || (e->job.build == BUILD_PLAQUE && !raised)) return STATUS_OK;
    const json_t *units = json_object_get(json_object_get(plan, "hollow"), "units");
    if (!json_is_integer(units) || json_integer_value(units) < 0)
        return damaged(e->folder, fault, "it does not tell what its hollow core leaves out");
    *units_out = (size_t)json_integer_value(units);
    return STATUS_OK;
}

/* Whether the file is the one that plan.json was written with. */
static Status prove_file(const EarlierPlan *e, const json_t *plan, const char *name, Fault *fault)
{
    char path[FOLDER_PATH], digest[DIGEST_TEXT];
    const char *told = json_string_value(json_object_get(json_object_get(plan, "files"), name));
    if (!folder_join(path, e->folder, name) || access(path, R_OK))
        return fault_set(fault, STATUS_NO_INPUT, "%s/%s: not there; restore it from a copy",
                         e->folder, name);
    const Status status = digest_file(path, digest, fault);
    if (status) return status;
    if (told && !strcmp(told, digest)) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "%s/%s: not the file that plan.json was written with; restore it from a copy",
                     e->folder, name);
}

/* ---- cells.png, steps.png ---- */

/* A plane of the grid, the lowest row first, from samples that stay below `most`. Steps of older
 * plans are greys. */
static Status take_plane(const EarlierPlan *e, const char *name, int most, uint8_t **plane_out,
                         Fault *fault)
{
    const size_t columns = (size_t)e->grid.columns, rows = (size_t)e->grid.rows;
    Raster raster;
    Status status = raster_read(&raster, e->folder, name, (uint32_t)columns, (uint32_t)rows, fault);
    if (status) return status;
    uint8_t *plane = memory_create(rows, columns);
    bool fits = raster.sample != NULL;
    if (!plane) status = memory_fault(fault, rows, columns);
    for (size_t row = 0; plane && fits && row < rows; row++) {
        memcpy(plane + row * columns, raster.sample + (rows - 1 - row) * columns, columns);
        for (size_t i = 0; i < columns; i++) fits &= plane[row * columns + i] < most;
    }
    if (!status && !fits)
        status =
            fault_set(fault, STATUS_DATA,
                      "%s/%s: not of the plan's size, kind and colours; restore it from a copy",
                      e->folder, name);
    raster_clear(&raster);
    if (status)
        memory_free(plane);
    else
        *plane_out = plane;
    return status;
}

/* ---- the whole ---- */

static Status take_files(EarlierPlan *e, const json_t *plan, Fault *fault)
{
    enum { TIERS_MOST = 256 };
    const bool raised = json_object_get(json_object_get(plan, "files"), "steps.png") != NULL;
    const char *const name[] = {"cells.png", "panels.csv", "bricks.csv", "steps.png"};
    BrickList list = {e->folder, &e->solid, &e->palette, 0};
    Status status = take_left_out(e, plan, raised, &list.left_out, fault);
    for (size_t i = 0; !status && i < 3 + (size_t)raised; i++)
        status = prove_file(e, plan, name[i], fault);
    if (!status) status = take_plane(e, name[0], e->palette.count, &e->grid.colour, fault);
    if (!status && raised)
        status = take_plane(e, name[3], TIERS_MOST - e->solid.base, &e->grid.steps, fault);
    if (!status) status = brick_list_panels(&list, &e->panels, fault);
    if (!status)
        status = brick_list_read(&list, &e->panels, &e->sizes, &e->laid, &e->left_out, fault);
    e->solid.left_out = e->left_out;
    return status;
}

Status plan_reader_create(EarlierPlan **earlier_out, const char *folder, Fault *fault)
{
    EarlierPlan *e = memory_create(1, sizeof *e);
    if (!e) return memory_fault(fault, 1, sizeof *e);
    e->folder = folder;
    json_t *plan = NULL;
    Status status = open_plan(folder, &plan, fault);
    if (!status) status = take_settings(&e->job, folder, plan, fault);
    if (!status) status = take_colours(e, plan, fault);
    if (!status) status = take_frame(e, plan, fault);
    if (!status) status = take_files(e, plan, fault);
    json_decref(plan);
    if (status)
        plan_reader_free(e);
    else
        *earlier_out = e;
    return status;
}

void plan_reader_free(EarlierPlan *e)
{
    if (!e) return;
    memory_free(e->left_out);
    laid_clear(&e->laid);
    panels_clear(&e->panels);
    grid_clear(&e->grid);
    memory_free(e);
}

Status plan_reader_settings(Job *job, const char *folder, Fault *fault)
{
    json_t *plan = NULL;
    Status status = open_plan(folder, &plan, fault);
    if (!status) status = take_settings(job, folder, plan, fault);
    json_decref(plan);
    *job->reference = *job->palette = *job->stock = *job->cells = '\0';
    return status;
}
