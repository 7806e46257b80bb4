/* A share's time is the sum of the gaps between marks of its device that are shorter than PAUSE: a
 * longer one is a pause and counts for nothing. */
#include "bench/work_state.h"

#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define PAUSE 900.0      /* seconds; our choice */
#define DAY 86400.0      /* seconds */
#define KNOWN_AFTER 0.5  /* days of which an end is reckoned at least; our choice */
#define PACE_AFTER 600.0 /* seconds at work of which a pace is; our choice */

Status work_state_init(WorkState *s, const WorkPlan *plan, Fault *fault)
{
    const size_t bricks = (size_t)plan->bricks, panels = (size_t)plan->panels;
    *s = (WorkState){.plan = plan};
    s->laid = memory_create(bricks, sizeof *s->laid);
    s->at = memory_create(bricks, sizeof *s->at);
    s->count = memory_create(panels, sizeof *s->count);
    s->changed = memory_create(panels, sizeof *s->changed);
    s->holder = memory_create(panels, sizeof *s->holder);
    if (!s->laid || !s->at || !s->count || !s->changed || !s->holder)
        return memory_fault(fault, bricks, sizeof *s->at);
    for (size_t i = 0; i < panels; i++) s->holder[i] = -1;
    return STATUS_OK;
}

void work_state_clear(WorkState *s)
{
    memory_free(s->laid);
    memory_free(s->at);
    memory_free(s->count);
    memory_free(s->changed);
    memory_free(s->holder);
    memory_free(s->device);
    memory_free(s->share);
    memory_free(s->shortage);
    *s = (WorkState){.plan = NULL};
}

int work_state_device(const WorkState *s, const char *id)
{
    for (size_t i = 0; i < s->devices; i++)
        if (!strcmp(s->device[i].id, id)) return (int)i;
    return -1;
}

Status work_state_reserve(WorkState *s, size_t events, Fault *fault)
{
    Status status =
        memory_grow(&s->device, &s->device_room, s->devices + events, sizeof *s->device, fault);
    if (!status)
        status =
            memory_grow(&s->share, &s->share_room, s->shares + events, sizeof *s->share, fault);
    if (!status)
        status = memory_grow(&s->shortage, &s->shortage_room, s->shortages + events,
                             sizeof *s->shortage, fault);
    return status;
}

static int find_device(WorkState *s, const char *id)
{
    const int known = work_state_device(s, id);
    if (known >= 0) return known;
    Device *device = &s->device[s->devices];
    *device = (Device){.marked = 0};
    strcpy(device->id, id);
    return (int)s->devices++;
}

static Share *find_share(WorkState *s, int device, int panel)
{
    for (size_t i = 0; i < s->shares; i++)
        if (s->share[i].device == device && s->share[i].panel == panel) return &s->share[i];
    s->share[s->shares] = (Share){.device = device, .panel = panel};
    return &s->share[s->shares++];
}

/* How many bricks more are laid. */
static int mark_bricks(WorkState *s, const Event *e)
{
    int more = 0;
    for (int k = 0; k < e->count; k++) {
        const int i = s->plan->panel[e->panel].first + (int)e->first + k;
        if (e->at < s->at[i] || (e->at == s->at[i] && s->laid[i])) continue;
        more += e->laid - s->laid[i];
        s->at[i] = e->at;
        s->laid[i] = e->laid;
    }
    s->count[e->panel] += more;
    s->total += more;
    return more;
}

static void apply_mark(WorkState *s, const Event *e, int device)
{
    Share *share = find_share(s, device, e->panel);
    const double gap = e->at - s->device[device].marked;
    if (gap > 0 && gap < PAUSE) share->seconds += gap;
    s->device[device].marked = fmax(s->device[device].marked, e->at);
    if (!(s->first_mark > 0) || e->at < s->first_mark) s->first_mark = e->at;
    share->bricks += mark_bricks(s, e);
    s->changed[e->panel] = e->serial;
}

static void apply_shortage(WorkState *s, const Event *e, int device)
{
    Shortage *shortage = &s->shortage[s->shortages++];
    *shortage = (Shortage){.device = device, .panel = e->panel, .number = e->number, .at = e->at};
    strcpy(shortage->text, e->text);
}

/* What lacked by the event that the text names by its device, and `first` by its number. */
static void apply_found(WorkState *s, const Event *e)
{
    const int device = work_state_device(s, e->text);
    for (size_t i = 0; i < s->shortages; i++)
        if (s->shortage[i].device == device && s->shortage[i].number == e->first)
            s->shortage[i].found = true;
}

void work_state_apply(WorkState *s, const Event *e)
{
    const int device = find_device(s, e->device);
    switch (e->kind) {
    case EVENT_NAME:
        strcpy(s->device[device].name, e->text);
        break;
    case EVENT_MARK:
        apply_mark(s, e, device);
        break;
    case EVENT_TAKE:
        s->holder[e->panel] = device;
        break;
    case EVENT_GIVE:
        if (s->holder[e->panel] == device) s->holder[e->panel] = -1;
        break;
    case EVENT_SHORT:
        apply_shortage(s, e, device);
        break;
    case EVENT_FOUND:
        apply_found(s, e);
        break;
    case EVENT_KINDS:
        break;
    }
}

const char *work_state_name(const WorkState *s, int device)
{
    const Device *d = &s->device[device];
    return *d->name ? d->name : "a device without a name";
}

char *work_state_runs(const WorkState *s, int panel)
{
    const WorkPanel *p = &s->plan->panel[panel];
    enum { NUMBER = 12 };
    size_t runs = 2, used = 0;
    for (int i = 1; i < p->bricks; i++) runs += s->laid[p->first + i] != s->laid[p->first + i - 1];
    char *text = memory_create(runs + 1, NUMBER);
    if (!text || !s->count[panel]) return text;
    unsigned char laid = 0;
    int length = 0;
    for (int i = 0; i < p->bricks; i++, length++) {
        if (s->laid[p->first + i] == laid) continue;
        used += (size_t)sprintf(text + used, "%d,", length);
        laid = !laid;
        length = 0;
    }
    if (laid) used += (size_t)sprintf(text + used, "%d,", length);
    text[used - 1] = 0;
    return text;
}

double work_state_pace(const WorkState *s)
{
    double seconds = 0, bricks = 0;
    for (size_t i = 0; i < s->shares; i++) {
        seconds += s->share[i].seconds;
        bricks += (double)s->share[i].bricks;
    }
    return seconds >= PACE_AFTER && bricks > 0 ? bricks * 3600 / seconds : 0;
}

double work_state_end(const WorkState *s, double now)
{
    const double days = (now - s->first_mark) / DAY;
    const int left = s->plan->bricks - s->total;
    if (!(s->first_mark > 0) || !s->total || days < KNOWN_AFTER) return 0;
    return now + left * (now - s->first_mark) / s->total;
}
