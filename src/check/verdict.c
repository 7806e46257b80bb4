/* A broken plan can be broken in a million places: the first few of each promise are said in full,
 * the others counted, and the count is said at the end. */
#include "check/verdict.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>

/* What more places of a promise are: "FILE: N more WHAT". */
static const struct {
    const char *file, *what;
} more[] = {
    [PROMISE_KEYS] = {"plan.json", "keys that are missing or wrong"},
    [PROMISE_COLOURS] = {"plan.json", "colours whose hex is not their Lab"},
    [PROMISE_LISTED] = {"plan.json", "files missing or not listed"},
    [PROMISE_DIGESTS] = {"plan.json", "files whose digest differs"},
    [PROMISE_READABLE] = {"plan.json", "files that are not what their names say"},
    [PROMISE_CELLS] = {"cells.png", "places that do not fit the plan"},
    [PROMISE_FIELDS] = {"tables", "values that are not of their kind"},
    [PROMISE_PANELS] = {"panels.csv", "values that are not the panels'"},
    [PROMISE_INSIDE] = {"bricks.csv", "bricks outside mural, panel or solid"},
    [PROMISE_SIZES] = {"bricks.csv", "bricks that are not of their size"},
    [PROMISE_OVERLAP] = {"bricks.csv", "bricks that overlap"},
    [PROMISE_FILLED] = {"bricks.csv", "units in no brick"},
    [PROMISE_FACE] = {"bricks.csv", "bricks of another colour than their cells"},
    [PROMISE_SHOWN] = {"bricks.csv", "bricks whose shown flag is wrong"},
    [PROMISE_ROWS] = {"rows.csv", "lines that are not the bricks in building order"},
    [PROMISE_PARTS] = {"parts.csv", "values that are not the bricks'"},
    [PROMISE_DIFFERENCE] = {"difference.csv", "values that do not add up"},
    [PROMISE_ORDERS] = {"order.csv", "values that do not add up"},
    [PROMISE_PAGE] = {"book.html", "places that are not the plan's"},
    [PROMISE_HOLDS] = {"plan", "panels in pieces or bricks that rest on nothing"},
    [PROMISE_BOND] = {"panels.csv", "structures that are not as said"},
    [PROMISE_FORCES] = {"plan.json", "forces that are not as said"},
    [PROMISE_MEASURES] = {"plan.json", "measures that are not the bricks'"},
    [PROMISE_TOGETHER] = {"show", "values that are not those of its murals together"},
};

static_assert(sizeof more / sizeof *more == PROMISES, "each promise says what more is");

static void hand_on(const Verdict *verdict, char *line)
{
    for (char *c = line; *c; c++)
        if ((unsigned char)*c < 0x20 || *c == 0x7f) *c = '?';
    if (verdict->broken) verdict->broken(verdict->self, line);
}

void verdict_broken(Verdict *verdict, Promise promise, const char *format, ...)
{
    if (++verdict->count[promise] > VERDICT_SHOWN) return;
    char line[600];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    hand_on(verdict, line);
}

size_t verdict_close(Verdict *verdict)
{
    size_t total = 0;
    for (int p = 0; p < PROMISES; p++) {
        total += verdict->count[p];
        if (verdict->count[p] <= VERDICT_SHOWN) continue;
        char line[200];
        snprintf(line, sizeof line, "%s: %zu more %s", more[p].file,
                 verdict->count[p] - VERDICT_SHOWN, more[p].what);
        hand_on(verdict, line);
    }
    return total;
}
