/* Panels and their bricks are in plan.json, in the order of the book; the digest is in the book. */
#include "bench/work_plan.h"

#include "base/file_format.h"
#include "base/folder.h"
#include "base/memory.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>

static void name_plan(WorkPlan *plan, const char *folder)
{
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/') length--;
    size_t from = length;
    while (from && folder[from - 1] != '/') from--;
    snprintf(plan->folder, sizeof plan->folder, "%.*s", (int)length, folder);
    snprintf(plan->name, sizeof plan->name, "%.*s", (int)(length - from), folder + from);
}

static Status no_plan(const WorkPlan *plan, Fault *fault)
{
    return fault_set(fault, STATUS_DATA, "%.400s/plan.json: is none of a plan; run 'rowlock check'",
                     plan->folder);
}

static Status read_panels(WorkPlan *plan, const json_t *list, Fault *fault)
{
    const size_t count = json_array_size(list);
    if (!count || count > INT_MAX) return no_plan(plan, fault);
    plan->panel = memory_create(count, sizeof *plan->panel);
    if (!plan->panel) return memory_fault(fault, count, sizeof *plan->panel);
    for (size_t i = 0; i < count; i++) {
        const json_t *one = json_array_get(list, i);
        const char *name = json_string_value(json_object_get(one, "name"));
        const json_int_t bricks = json_integer_value(json_object_get(one, "bricks"));
        WorkPanel *panel = &plan->panel[plan->panels++];
        if (!name || strlen(name) >= PANEL_NAME || bricks < 0 || bricks > INT_MAX - plan->bricks)
            return no_plan(plan, fault);
        strcpy(panel->name, name);
        panel->first = plan->bricks;
        panel->bricks = (int)bricks;
        plan->bricks += panel->bricks;
    }
    return STATUS_OK;
}

static Status read_plan(WorkPlan *plan, Fault *fault)
{
    char *bytes = NULL;
    size_t length = 0;
    json_t *root = NULL;
    Status status = folder_read(plan->folder, "plan.json", &bytes, &length, fault);
    if (!status) status = json_parse(&root, bytes, length, 0, NULL, fault);
    const FormatFit fit = file_format_fit(FORMAT_PLAN, root);
    if (!status && fit == FORMAT_FOREIGN) status = no_plan(plan, fault);
    if (!status && fit == FORMAT_NEWER)
        status = file_format_fault(FORMAT_PLAN, root, plan->folder, fault);
    if (!status) status = read_panels(plan, json_object_get(root, "panels"), fault);
    json_decref(root);
    memory_free(bytes);
    return status;
}

static Status read_digest(WorkPlan *plan, Fault *fault)
{
    static const char mark[] = "data-digest=\"";
    char *bytes = NULL;
    size_t length = 0;
    Status status = folder_read(plan->folder, "book.html", &bytes, &length, fault);
    const char *at = status ? NULL : strstr(bytes, mark);
    if (!status && (!at || sscanf(at + sizeof mark - 1, "%64[0-9a-f]", plan->digest) != 1))
        status = fault_set(fault, STATUS_DATA,
                           "%.400s/book.html: is no build book; plan again with --book yes",
                           plan->folder);
    memory_free(bytes);
    return status;
}

Status work_plan_read(WorkPlan *plan, const char *folder, Fault *fault)
{
    *plan = (WorkPlan){.panels = 0};
    if (strlen(folder) + PANEL_NAME >= WORK_PATH)
        return fault_set(fault, STATUS_USAGE, "%.60s…: is too long; use a shorter path", folder);
    name_plan(plan, folder);
    const Status status = read_plan(plan, fault);
    return status ? status : read_digest(plan, fault);
}

void work_plan_clear(WorkPlan *plan)
{
    memory_free(plan->panel);
    *plan = (WorkPlan){.panels = 0};
}

Status work_plan_path(const WorkPlan *plan, const char *name, char path_out[WORK_PATH],
                      Fault *fault)
{
    if (folder_join(path_out, plan->folder, name)) return STATUS_OK;
    return fault_set(fault, STATUS_USAGE, "%.60s…: is too long; use a shorter path", plan->folder);
}

int work_plan_panel(const WorkPlan *plan, const char *name)
{
    for (int i = 0; i < plan->panels; i++)
        if (!strcmp(plan->panel[i].name, name)) return i;
    return -1;
}
