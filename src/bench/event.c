/* Everything in an event is held to the plan before it is kept, so that what is read back needs no
 * other check. Ages, not times, are sent: the devices' clocks may be wrong. */
#include "bench/event.h"

#include "base/json_file.h"

#include <math.h>
#include <string.h>

#define NUMBER_MOST ((1L << 53) - 1) /* what a page's numbers hold exactly */

static const char *const names[EVENT_KINDS] = {
    [EVENT_NAME] = "name", [EVENT_MARK] = "mark",   [EVENT_TAKE] = "take",
    [EVENT_GIVE] = "give", [EVENT_SHORT] = "short", [EVENT_FOUND] = "found"};

const char *event_kind_name(EventKind kind) { return names[kind]; }

EventKind event_kind_named(const char *name)
{
    int kind = 0;
    while (kind < EVENT_KINDS && strcmp(names[kind], name) != 0) kind++;
    return (EventKind)kind;
}

static Status no_sense(const char *what, Fault *fault)
{
    return fault_set(fault, STATUS_USAGE, "event: %s; load the page again", what);
}

static bool is_id(const char *text)
{
    const size_t length = strspn(text, "0123456789abcdefghijklmnopqrstuvwxyz");
    return length && length < DEVICE_ID && !text[length];
}

/* A whole number of the object within 0 and most; -1: it is none. */
static long whole(const json_t *told, const char *name, long most)
{
    const json_t *value = json_object_get(told, name);
    const json_int_t number = json_integer_value(value);
    return json_is_integer(value) && number >= 0 && number <= most ? (long)number : -1;
}

static Status read_bricks(Event *e, const json_t *told, const WorkPlan *plan, Fault *fault)
{
    const int bricks = plan->panel[e->panel].bricks;
    e->first = whole(told, "first", bricks);
    e->count = (int)whole(told, "count", bricks);
    e->laid = json_is_true(json_object_get(told, "laid"));
    if (e->first < 0 || e->count < 1 || e->count > bricks - e->first)
        return no_sense("bricks that the panel has not", fault);
    return STATUS_OK;
}

Status event_read(Event *e, const json_t *told, const char *device, double now,
                  const WorkPlan *plan, Fault *fault)
{
    const char *kind = json_string_value(json_object_get(told, "kind"));
    const char *panel = json_string_value(json_object_get(told, "panel"));
    const char *text = json_string_value(json_object_get(told, "text"));
    const double age = json_number_value(json_object_get(told, "age"));
    *e = (Event){.panel = -1};
    if (!is_id(device)) return no_sense("no device has such a name", fault);
    strcpy(e->device, device);
    e->number = whole(told, "number", NUMBER_MOST);
    e->kind = kind ? event_kind_named(kind) : EVENT_KINDS;
    if (e->number < 0 || e->kind == EVENT_KINDS) return no_sense("no such kind", fault);
    e->at = now - fmin(fmax(age, 0), now);
    e->over = json_is_true(json_object_get(told, "over"));
    if (text && strlen(text) < EVENT_TEXT) strcpy(e->text, text);
    if (panel && !*panel) panel = NULL;
    if (panel) e->panel = work_plan_panel(plan, panel);
    const bool needs_panel =
        e->kind == EVENT_MARK || e->kind == EVENT_TAKE || e->kind == EVENT_GIVE;
    const bool needs_text =
        e->kind == EVENT_NAME || e->kind == EVENT_SHORT || e->kind == EVENT_FOUND;
    if ((needs_panel || panel) && e->panel < 0) return no_sense("no such panel", fault);
    if (needs_text && !*e->text)
        return fault_set(fault, STATUS_USAGE, "text: give 1 to %d bytes", EVENT_TEXT - 1);
    if (e->kind == EVENT_FOUND) e->first = whole(told, "first", NUMBER_MOST);
    return e->kind == EVENT_MARK ? read_bricks(e, told, plan, fault) : STATUS_OK;
}

json_t *event_tell(const Event *e, const WorkPlan *plan)
{
    return json_pack("{s:I, s:s, s:I, s:f, s:s, s:s, s:I, s:i, s:b, s:o}", "serial",
                     (json_int_t)e->serial, "device", e->device, "number", (json_int_t)e->number,
                     "at", e->at, "kind", names[e->kind], "panel",
                     e->panel < 0 ? "" : plan->panel[e->panel].name, "first", (json_int_t)e->first,
                     "count", e->count, "laid", e->laid, "text", json_text(e->text));
}
