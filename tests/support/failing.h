/* Failing: runs whose allocations fail in turn.
 *
 * A run comes to an allocation by the same calls many times, from loops; the first and the last
 * time stand for those between. So a first run, which is left all that it needs, is watched for the
 * calls that lead to each allocation. A failure goes back through them, and what a function does
 * about it is the same whatever lies further below or above: so places are taken until every link,
 * a call and the call that it was made within, has had a failure go back through it; one or two
 * runs fail for each of these. Links that an earlier sweep of the same program has failed are
 * done, and so can be what another run comes to as well, which has its own test.
 * ALLOCATIONS=0 in the environment has every allocation fail. */
#ifndef ROWLOCK_TESTS_FAILING_H
#define ROWLOCK_TESTS_FAILING_H

#include "base/memory.h"
#include "plan/plan.h"

#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unwind.h> /* of the compiler: not every C library has backtrace */

#include <cmocka.h> /* needs those above */

enum { FAILING_PLACES = 1 << 13, FAILING_LINKS = 1 << 13, FAILING_CALLS = 48 };

/* A place: the calls that lead to it, hashed (0: none), the ordinals of the first and the last
 * allocation there, and whether all of its links are those of others. */
typedef struct FailingPlace {
    _Atomic uint64_t calls;
    atomic_long first, last;
    bool left_out;
} FailingPlace;

/* For as long as the program runs; shared with child processes, which allocate too. */
typedef struct FailingKnown {
    FailingPlace place[FAILING_PLACES];
    _Atomic uint64_t link[FAILING_LINKS]; /* hashed; 0: none */
} FailingKnown;

static FailingKnown *failing_known;

/* Whether any link of the calls is new; all of them are known after. */
static inline bool failing_links(void *const *calls, int depth)
{
    bool any = false;
    for (int i = 0; i + 1 < depth; i++) {
        const uint64_t link = ((uintptr_t)calls[i] * 31 ^ (uintptr_t)calls[i + 1]) *
                              0x9e3779b97f4a7c15u; /* spreads neighbours (Fibonacci hashing) */
        size_t at = link >> 51;
        uint64_t nobody = 0;
        for (int tries = 0;; tries++, at++, nobody = 0) {
            if (tries == FAILING_LINKS) abort(); /* more links than there is room for */
            _Atomic uint64_t *known = &failing_known->link[at % FAILING_LINKS];
            if (atomic_compare_exchange_strong(known, &nobody, link)) any = true;
            if (!nobody || nobody == link) break;
        }
    }
    return any;
}

/* The calls that lead here, as addresses to return to. */
typedef struct FailingWay {
    void *call[FAILING_CALLS];
    int depth;
} FailingWay;

static inline _Unwind_Reason_Code failing_note(struct _Unwind_Context *frame, void *self)
{
    FailingWay *way = self;
    if (way->depth == FAILING_CALLS) return _URC_END_OF_STACK;
    way->call[way->depth++] = (void *)(uintptr_t)_Unwind_GetIP(frame);
    return _URC_NO_REASON;
}

static inline FailingWay failing_way(void)
{
    FailingWay way = {.depth = 0};
    _Unwind_Backtrace(failing_note, &way);
    return way;
}

static inline void failing_watch(long left)
{
    const FailingWay way = failing_way();
    uint64_t hash = 1469598103934665603u; /* FNV-1a over the return addresses */
    for (int i = 0; i < way.depth; i++) hash = (hash ^ (uintptr_t)way.call[i]) * 1099511628211u;
    const long ordinal = LONG_MAX - left;
    for (size_t k = 0; k < FAILING_PLACES; k++) {
        FailingPlace *place = &failing_known->place[(hash + k) % FAILING_PLACES];
        uint64_t nobody = 0;
        if (atomic_compare_exchange_strong(&place->calls, &nobody, hash)) {
            atomic_store(&place->first, ordinal);
            place->left_out = !failing_links(way.call, way.depth);
        } else if (nobody != hash)
            continue;
        atomic_store(&place->last, ordinal);
        return;
    }
    abort(); /* more places than there is room for */
}

/* Which run is next. Begin with {0}, or {.apart = true} where the first run is another, whose
 * places are left out; failing_next before each run, failing_ended after it. */
typedef struct Failing {
    bool apart;
    long *at; /* ordinals that fail, in this order; NULL while runs are watched */
    size_t count, run;
} Failing;

static inline int failing_before(const void *a, const void *b)
{
    const long left = *(const long *)a, right = *(const long *)b;
    return (left > right) - (left < right);
}

static inline void failing_list(Failing *failing, long allocations)
{
    const char *asked = getenv("ALLOCATIONS");
    const bool all = asked && strcmp(asked, "0") == 0;
    assert_non_null(failing->at = calloc(all ? (size_t)allocations + 1 : 2 * FAILING_PLACES,
                                         sizeof *failing->at));
    for (long n = 0; all && n < allocations; n++) failing->at[failing->count++] = n;
    for (size_t k = 0; !all && k < FAILING_PLACES; k++) {
        const FailingPlace *place = &failing_known->place[k];
        if (!place->calls || place->left_out) continue;
        failing->at[failing->count++] = place->first;
        if (place->last != place->first) failing->at[failing->count++] = place->last;
    }
    qsort(failing->at, failing->count, sizeof *failing->at, failing_before);
    assert_true(failing->count > 0);
}

/* Whether another run is to be made; its allocation fails. */
static inline bool failing_next(Failing *failing)
{
    if (!failing->at) {
        if (failing_way().depth < 2) {
            print_message("no calls are found: link with -Wl,--eh-frame-hdr\n");
            skip();
        }
        if (!failing_known)
            failing_known = mmap(NULL, sizeof *failing_known, PROT_READ | PROT_WRITE,
                                 MAP_SHARED | MAP_ANONYMOUS, -1, 0);
        assert_true(failing_known != MAP_FAILED);
        memory_watch(failing_watch);
        memory_fail_after(LONG_MAX);
        return true;
    }
    if (failing->run == failing->count) {
        free(failing->at);
        return false;
    }
    memory_fail_after(failing->at[failing->run++]);
    return true;
}

/* Ends a run; whether an allocation failed in it: not in the first, which is watched, and perhaps
 * not where threads take turns. */
static inline bool failing_ended(Failing *failing)
{
    const long left = memory_countdown();
    memory_fail_after(-1);
    if (failing->at) return left < 0;
    memory_watch(NULL);
    if (!failing->apart) failing_list(failing, LONG_MAX - left);
    failing->apart = false;
    for (size_t k = 0; k < FAILING_PLACES; k++)
        failing_known->place[k].left_out = failing_known->place[k].calls != 0;
    return false;
}

/* A plan whose allocations fail in turn, but for those that the plain plan makes as well, which
 * test_plan fails: a run that fails must say why. The status of the run that was left all it
 * needed. */
static inline Status fail_allocations(const Job *plain, const Job *job)
{
    Status whole = STATUS_OK;
    for (Failing failing = {.apart = true}; failing_next(&failing);) {
        const bool watched = !failing.at;
        Fault fault = {0};
        const Status status = plan_run(failing.apart ? plain : job, NULL, &fault);
        failing_ended(&failing);
        if (watched) whole = status;
        if (status > STATUS_UNHELD && !*fault.text) fail_msg("run %zu: no message", failing.run);
    }
    return whole;
}

/* The same of a job of these settings, names and texts, whose files are in a room; the plain job
 * has none from the one named `from` on. */
static inline Status fail_allocations_from(const char *const setting[][2], size_t count,
                                           const char *from, const char *room)
{
    Job job, plain;
    job_init(&job);
    plain = job;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(setting[i][0], from) == 0) plain = job;
        assert_int_equal(job_set(&job, setting_find(setting[i][0]), setting[i][1], "", room, NULL),
                         STATUS_OK);
    }
    return fail_allocations(&plain, &job);
}

#endif
