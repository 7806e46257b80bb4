/* What events come to: whatever the order in which they come in, the same bricks are laid, against
 * the definition, brick by brick, of the newest word on each; runs of laid bricks against those
 * counted one by one; the pace and the end against their definitions by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "bench/work_state.h"
#include "support/chance.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { BRICKS = 60, EVENTS = 80, DEVICES = 3 };

static WorkPanel panels[] = {{.name = "r1c1", .first = 0, .bricks = 40},
                             {.name = "r1c2", .first = 40, .bricks = 20}};
static const WorkPlan plan = {.panel = panels, .panels = 2, .bricks = BRICKS};

static Event mark(int device, double at, int panel, int first, int count, bool laid)
{
    Event e = {
        .at = at, .kind = EVENT_MARK, .panel = panel, .first = first, .count = count, .laid = laid};
    snprintf(e.device, sizeof e.device, "device%d", device);
    return e;
}

static Event any_mark(uint32_t *seed)
{
    const int panel = (int)(chance(seed) % 2), bricks = panels[panel].bricks;
    const int first = (int)(chance(seed) % (uint32_t)bricks);
    const int count = 1 + (int)(chance(seed) % (uint32_t)(bricks - first));
    /* Few instants, so that many words are of the same one. */
    return mark((int)(chance(seed) % DEVICES), 1000 + chance(seed) % 20, panel, first, count,
                chance(seed) % 3 != 0);
}

static void take(WorkState *state, const Event *event)
{
    Fault fault;
    assert_int_equal(work_state_reserve(state, 1, &fault), STATUS_OK);
    work_state_apply(state, event);
}

static bool is_laid(const Event *event, int i)
{
    double at = 0;
    bool laid = false;
    for (int k = 0; k < EVENTS; k++) {
        const Event *e = &event[k];
        const int own = i - panels[e->panel].first;
        if (own < e->first || own >= e->first + e->count || e->at < at) continue;
        laid = e->at > at ? e->laid : laid || e->laid;
        at = e->at;
    }
    return laid;
}

static void the_order_of_events_makes_no_difference(void **unused)
{
    (void)unused;
    uint32_t seed = 3;
    Fault fault;
    Event event[EVENTS];
    for (int round = 0; round < 50; round++) {
        WorkState state;
        for (int k = 0; k < EVENTS; k++) event[k] = any_mark(&seed);
        assert_int_equal(work_state_init(&state, &plan, &fault), STATUS_OK);
        for (int k = 0; k < EVENTS; k++) take(&state, &event[k]);
        for (int i = 0; i < BRICKS; i++) assert_int_equal(state.laid[i], is_laid(event, i));
        /* Any other order: each comes after one that stood anywhere before it. */
        for (int k = EVENTS - 1; k > 0; k--) {
            const int other = (int)(chance(&seed) % (uint32_t)(k + 1));
            const Event held = event[k];
            event[k] = event[other];
            event[other] = held;
        }
        WorkState again;
        assert_int_equal(work_state_init(&again, &plan, &fault), STATUS_OK);
        for (int k = 0; k < EVENTS; k++) take(&again, &event[k]);
        assert_memory_equal(again.laid, state.laid, BRICKS);
        assert_int_equal(again.total, state.total);
        work_state_clear(&state);
        work_state_clear(&again);
    }
}

static void runs_are_lengths_in_turn(void **unused)
{
    (void)unused;
    Fault fault;
    WorkState state;
    assert_int_equal(work_state_init(&state, &plan, &fault), STATUS_OK);
    const Event events[] = {mark(0, 1, 0, 3, 4, true), mark(0, 2, 0, 39, 1, true),
                            mark(0, 3, 1, 0, 2, true), mark(1, 4, 1, 1, 1, false)};
    for (size_t k = 0; k < sizeof events / sizeof *events; k++) take(&state, &events[k]);
    char *first = work_state_runs(&state, 0), *second = work_state_runs(&state, 1);
    assert_string_equal(first, "3,4,32,1");
    assert_string_equal(second, "0,1");
    assert_int_equal(state.total, 6);
    memory_free(first);
    memory_free(second);
    work_state_clear(&state);
}

/* 40 bricks, one each minute: 39 minutes at work, a pause of two hours counts for nothing. */
static void pauses_are_no_work(void **unused)
{
    (void)unused;
    Fault fault;
    WorkState state;
    assert_int_equal(work_state_init(&state, &plan, &fault), STATUS_OK);
    for (int i = 0; i < 40; i++) {
        const Event e = mark(0, 1000 + 60.0 * i + (i < 20 ? 0 : 7200), 0, i, 1, true);
        take(&state, &e);
    }
    assert_true(fabs(work_state_pace(&state) - 40 * 3600.0 / (38 * 60)) < 1e-9);
    /* 40 of 60 in two days: the rest in one more. */
    const double now = 1000 + 2 * 86400;
    assert_true(fabs(work_state_end(&state, now) - now - 86400) < 1e-6);
    assert_true(work_state_end(&state, 1000 + 3600) <= 0); /* too soon to tell */
    work_state_clear(&state);
}

static void a_panel_is_of_whoever_took_it_last(void **unused)
{
    (void)unused;
    Fault fault;
    WorkState state;
    assert_int_equal(work_state_init(&state, &plan, &fault), STATUS_OK);
    Event taken = mark(0, 1, 1, 0, 0, false), give;
    taken.kind = EVENT_TAKE;
    take(&state, &taken);
    assert_int_equal(state.holder[1], 0);
    strcpy(taken.device, "device1");
    take(&state, &taken);
    assert_int_equal(state.holder[1], 1);
    give = taken;
    give.kind = EVENT_GIVE;
    strcpy(give.device, "device0"); /* who has it no more */
    take(&state, &give);
    assert_int_equal(state.holder[1], 1);
    strcpy(give.device, "device1");
    take(&state, &give);
    assert_int_equal(state.holder[1], -1);
    work_state_clear(&state);
}

/* Of two devices' shortages of one number, the one that is named is there again. */
static void what_lacked_is_named_by_who_told_it(void **unused)
{
    (void)unused;
    Fault fault;
    WorkState state;
    Event lacks = {.number = 7, .kind = EVENT_SHORT, .panel = -1, .text = "N1 1x1"};
    Event found = {
        .device = "device2", .number = 1, .kind = EVENT_FOUND, .first = 7, .text = "device1"};
    assert_int_equal(work_state_init(&state, &plan, &fault), STATUS_OK);
    strcpy(lacks.device, "device0");
    take(&state, &lacks);
    strcpy(lacks.device, "device1");
    take(&state, &lacks);
    take(&state, &found);
    assert_false(state.shortage[0].found);
    assert_true(state.shortage[1].found);
    work_state_clear(&state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_order_of_events_makes_no_difference),
        cmocka_unit_test(runs_are_lengths_in_turn),
        cmocka_unit_test(pauses_are_no_work),
        cmocka_unit_test(a_panel_is_of_whoever_took_it_last),
        cmocka_unit_test(what_lacked_is_named_by_who_told_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
