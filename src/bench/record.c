/* Events are told in the record as devices send them, so they are held to the plan again when they
 * are read. */
#include "bench/record.h"

#include "base/csv_sheet.h"
#include "base/file_format.h"
#include "base/input_file.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

typedef struct Writing {
    const WorkPlan *plan;
    CsvSheet sheet;
    Making making;
    json_t *events;
} Writing;

/* ---- writing ---- */

static void put_record(void *self, const Event *e)
{
    Writing *w = self;
    csv_put_whole(&w->sheet, e->serial);
    csv_put_text(&w->sheet, e->device);
    csv_put_whole(&w->sheet, e->number);
    csv_put_number(&w->sheet, 3, e->at);
    csv_put_text(&w->sheet, event_kind_name(e->kind));
    csv_put_text(&w->sheet, e->panel < 0 ? "" : w->plan->panel[e->panel].name);
    csv_put_whole(&w->sheet, e->first);
    csv_put_whole(&w->sheet, e->count);
    csv_put_whole(&w->sheet, e->laid);
    csv_put_text(&w->sheet, e->text);
    csv_end_record(&w->sheet);
}

static void put_event(void *self, const Event *e)
{
    Writing *w = self;
    json_append(&w->making, w->events, event_tell(e, w->plan));
}

static Status write_csv(const Tally *tally, Writing *w, const char *path, Fault *fault)
{
    Status status = csv_sheet_open(&w->sheet, path, TABLE_BENCH_RECORD, fault);
    if (status) return status;
    status = tally_each(tally, put_record, w, fault);
    const Status closed = csv_sheet_close(&w->sheet, status ? NULL : fault);
    return status ? status : closed;
}

static Status write_json(const Tally *tally, Writing *w, const char *path, Fault *fault)
{
    json_t *root = json_object();
    file_format_set(&w->making, root, FORMAT_BENCH_RECORD);
    json_set(&w->making, root, "plan", json_string(w->plan->digest));
    w->events = json_array();
    const Status status = tally_each(tally, put_event, w, fault);
    json_set(&w->making, root, "events", w->events);
    if (!status) return json_save(&w->making, root, path, fault);
    json_decref(root);
    return status;
}

static bool ends_in(const char *path, const char *ending)
{
    const char *dot = strrchr(path, '.');
    return dot && !strcmp(dot, ending);
}

Status record_write(const Tally *tally, const WorkPlan *plan, const char *path, Fault *fault)
{
    Writing w = {.plan = plan};
    if (ends_in(path, ".csv")) return write_csv(tally, &w, path, fault);
    if (ends_in(path, ".json")) return write_json(tally, &w, path, fault);
    return fault_set(fault, STATUS_USAGE, "--export: %.400s: give a name in .csv or .json", path);
}

/* ---- reading ---- */

static Status check_root(const json_t *root, const WorkPlan *plan, const char *path, Fault *fault)
{
    const FormatFit fit = file_format_fit(FORMAT_BENCH_RECORD, root);
    const char *digest = json_string_value(json_object_get(root, "plan"));
    if (fit == FORMAT_FOREIGN || !json_is_array(json_object_get(root, "events")))
        return fault_set(fault, STATUS_DATA, "%.400s: is no record of a bench; give one in .json",
                         path);
    if (fit == FORMAT_NEWER) return file_format_fault(FORMAT_BENCH_RECORD, root, path, fault);
    if (!digest || strcmp(digest, plan->digest) != 0)
        return fault_set(fault, STATUS_DATA, "%.400s: is of another plan; give that one's folder",
                         path);
    return STATUS_OK;
}

static Status take_one(Tally *tally, const WorkPlan *plan, const json_t *told, unsigned long *batch,
                       Fault *fault)
{
    const char *device = json_string_value(json_object_get(told, "device"));
    const double at = json_number_value(json_object_get(told, "at"));
    Event e;
    const Status status = event_read(&e, told, device ? device : "", at, plan, fault);
    e.over = true; /* whoever took a panel then had it */
    return status ? status : tally_take(tally, &e, batch, fault);
}

/* All of them as one batch. */
static Status take_all(Tally *tally, const WorkPlan *plan, const json_t *events, Fault *fault)
{
    size_t i;
    const json_t *told;
    unsigned long batch = 0;
    Status status = STATUS_OK;
    json_array_foreach(events, i, told)
    {
        status = take_one(tally, plan, told, &batch, fault);
        if (status) {
            tally_drop(tally);
            return status;
        }
    }
    tally_commit(tally);
    if (batch) tally_outcome(tally, batch, &status, fault);
    return status;
}

Status record_read(Tally *tally, const WorkPlan *plan, const char *path, Fault *fault)
{
    json_error_t error;
    if (access(path, R_OK)) return input_file_fault(path, errno, fault);
    json_t *root = json_load_file(path, 0, &error);
    if (!root)
        return fault_set(fault, STATUS_DATA,
                         "%.400s:%d: is no record of a bench; give one in .json", path, error.line);
    Status status = check_root(root, plan, path, fault);
    if (!status) status = take_all(tally, plan, json_object_get(root, "events"), fault);
    json_decref(root);
    return status;
}
