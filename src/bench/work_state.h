/* Work state: what all events of a bench come to. Events may come late, from a device that was out
 * of reach: of each brick the newest says whether it is laid, by when it was said and not by when
 * it came in; at the same instant laid wins. So the order in which they come makes no difference.
 */
#ifndef ROWLOCK_BENCH_WORK_STATE_H
#define ROWLOCK_BENCH_WORK_STATE_H

#include "bench/event.h"

typedef struct Device {
    char id[DEVICE_ID];
    char name[EVENT_TEXT]; /* "": not told */
    double marked;         /* when it marked last; 0: never */
} Device;

/* What a device did in a panel. */
typedef struct Share {
    int device, panel;
    long bricks;    /* marked as laid, less those taken back */
    double seconds; /* at work: between marks that are not far apart */
} Share;

typedef struct Shortage {
    int device, panel; /* panel: -1, none */
    long number;       /* the device's, which EVENT_FOUND names */
    double at;
    bool found;
    char text[EVENT_TEXT];
} Shortage;

typedef struct WorkState {
    const WorkPlan *plan;
    unsigned char *laid; /* a brick: 1 laid */
    double *at;          /* … and when that was said; 0: never */
    int *count;          /* laid bricks of each panel */
    long *changed;       /* the serial of the last mark in each panel; 0: none */
    int *holder;         /* the device that has each panel; -1: nobody */
    int total;
    double first_mark; /* 0: none */
    Device *device;
    Share *share;
    Shortage *shortage;
    size_t devices, shares, shortages;
    size_t device_room, share_room, shortage_room;
} WorkState;

/* Nothing is laid, nobody has a panel. The plan is borrowed; the caller clears it, also after a
 * fault. Fault: no memory. */
Status work_state_init(WorkState *state_out, const WorkPlan *plan, Fault *fault);
void work_state_clear(WorkState *state);

/* Makes room for so many more events, after which taking them in cannot fail. Fault: no memory. */
Status work_state_reserve(WorkState *state, size_t events, Fault *fault);

/* Takes in an event that is held to the plan, and that there is room for. */
void work_state_apply(WorkState *state, const Event *event);

/* What a device is called: its name, or the beginning of its id. */
const char *work_state_name(const WorkState *state, int device);

/* The device of this id; -1: it has said nothing yet. */
int work_state_device(const WorkState *state, const char *id);

/* The panel's laid bricks as the build book keeps them: lengths of runs, not laid and laid in turn;
 * "" where none is. NULL: no memory; the caller frees it with memory_free. */
char *work_state_runs(const WorkState *state, int panel);

/* Bricks an hour of all who are at work, by the time that they were; 0: not known yet. */
double work_state_pace(const WorkState *state);

/* When the last brick is laid if as many are laid a day as since the first mark; 0: not known. */
double work_state_end(const WorkState *state, double now);

#endif
