/* Event: one thing that happened at the bench, as a device tells it and as it is kept. */
#ifndef ROWLOCK_BENCH_EVENT_H
#define ROWLOCK_BENCH_EVENT_H

#include "bench/work_plan.h"

#include <jansson.h>
#include <stdbool.h>

enum { DEVICE_ID = 33, EVENT_TEXT = 200 };

typedef enum EventKind {
    EVENT_NAME,  /* the device is called so: text */
    EVENT_MARK,  /* count bricks of the panel, from first on, are laid or not */
    EVENT_TAKE,  /* the panel is taken by the device; over: from whoever has it */
    EVENT_GIVE,  /* … and given back */
    EVENT_SHORT, /* something lacks: text; the panel, or -1 */
    EVENT_FOUND, /* what lacked by the event of device `text` and number `first` is there */
    EVENT_KINDS
} EventKind;

typedef struct Event {
    long serial;            /* from 1, as they came in */
    char device[DEVICE_ID]; /* 1 to 32 letters and digits of its own choice */
    long number;            /* the device's own, any; it says each once, and may send it again */
    double at;              /* when, seconds since 1970 */
    EventKind kind;
    int panel, count;
    long first;
    bool laid, over;
    char text[EVENT_TEXT];
} Event;

/* "mark" and so on; and back, EVENT_KINDS where it is none. */
const char *event_kind_name(EventKind kind);
EventKind event_kind_named(const char *name);

/* An event as a device sent it: {number, age, kind, panel: NAME, first, count, laid, over, text};
 * age is how many seconds ago it was. Fault: it makes no sense for this plan. */
Status event_read(Event *event_out, const json_t *told, const char *device, double now,
                  const WorkPlan *plan, Fault *fault);

/* The same, as others are told of it; NULL: no memory. */
json_t *event_tell(const Event *event, const WorkPlan *plan);

#endif
