/* A hollow core may leave out the units that lie at least `shell` units inside the solid on every
 * side. On a face of steps that is: below the least top within a square of the shell around the
 * cell, less the shell, and not within the shell of a panel's edge. The least of a square is found
 * by one axis and then the other, which is the same since a minimum of minima is a minimum. */
#include "check/check_core.h"

#include "base/csv_stream.h"
#include "base/memory.h"

#include <stdlib.h>

void check_core_keys(PlanFacts *e)
{
    const json_t *value = json_object_get(json_object_get(e->plan, "settings"), "hollow");
    long shell = 0;
    if (json_is_integer(value)) shell = (long)json_integer_value(value);
    if (json_is_string(value)) {
        if (!field_whole(json_string_value(value), 0, SIDE_MOST, &shell)) shell = -1;
    }
    if (shell < 0 || shell > SIDE_MOST) {
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: settings.hollow: not a whole number of units");
        shell = 0;
    }
    e->shell = (int)shell;
    const json_t *said = json_object_get(e->plan, "hollow");
    if (!e->shell) {
        if (said)
            verdict_broken(e->verdict, PROMISE_KEYS,
                           "plan.json: hollow: there, but settings.hollow asks for none");
        return;
    }
    static const char *const key[] = {"shell", "units", "bricks_saved", "mass_saved_kg"};
    for (size_t i = 0; i < sizeof key / sizeof *key; i++) {
        const json_t *part = json_object_get(said, key[i]);
        if (!(i < 3 ? json_is_integer(part) : json_is_number(part)))
            verdict_broken(e->verdict, PROMISE_KEYS, "plan.json: hollow.%s: missing, must be a %s",
                           key[i], i < 3 ? "whole number" : "number");
    }
    const json_t *again = json_object_get(said, "shell");
    if (json_is_integer(again) && json_integer_value(again) != shell)
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: hollow.shell: %lld, but settings.hollow is %ld",
                       (long long)json_integer_value(again), shell);
}

/* The least tops of a square around a cell of a panel, less the shell: by one axis, then by the
 * other. Each new least is the one before, unless that has just left the window. */
static void least_along(const uint16_t *from, uint16_t *to, int count, size_t step, int reach)
{
    int at = -1; /* index of the least in the window; of equals, the last */
    for (int i = 0; i < count; i++) {
        const int begin = i > reach ? i - reach : 0;
        const int end = i < count - reach ? i + reach : count - 1;
        if (at < begin) {
            at = begin;
            for (int j = begin + 1; j <= end; j++)
                if (from[(size_t)j * step] <= from[(size_t)at * step]) at = j;
        } else if (from[(size_t)end * step] <= from[(size_t)at * step]) {
            at = end;
        }
        to[(size_t)i * step] = from[(size_t)at * step];
    }
}

static void find_core(PlanFacts *e, const Plot *p, uint16_t *scratch)
{
    const size_t wide = (size_t)e->columns;
    const size_t corner = (size_t)p->row * wide + (size_t)p->column;
    for (int y = 0; y < p->rows; y++)
        least_along(e->top + corner + (size_t)y * wide, scratch + corner + (size_t)y * wide,
                    p->columns, 1, e->shell);
    for (int x = 0; x < p->columns; x++)
        least_along(scratch + corner + x, e->core + corner + x, p->rows, wide, e->shell);
    for (int y = 0; y < p->rows; y++)
        for (int x = 0; x < p->columns; x++) {
            uint16_t *core = &e->core[corner + (size_t)y * wide + (size_t)x];
            const bool edge = x < e->shell || y < e->shell || x >= p->columns - e->shell ||
                              y >= p->rows - e->shell;
            *core = edge || *core <= e->shell ? 0 : (uint16_t)(*core - e->shell);
        }
}

Status check_core(PlanFacts *e, Fault *fault)
{
    if (!e->shell || !e->tiled) return STATUS_OK;
    const size_t cells = (size_t)e->columns * (size_t)e->rows;
    uint16_t *scratch = memory_create(cells, sizeof *scratch);
    e->core = memory_create(cells, sizeof *e->core);
    const bool room = scratch && e->core;
    for (size_t i = 0; i < e->plots && room; i++) find_core(e, &e->plot[i], scratch);
    memory_free(scratch);
    return room ? STATUS_OK : memory_fault(fault, cells, sizeof *e->core);
}

void check_core_units(PlanFacts *e, long units)
{
    const json_t *said = json_object_get(json_object_get(e->plan, "hollow"), "units");
    if (json_is_integer(said) && json_integer_value(said) != units)
        verdict_broken(e->verdict, PROMISE_FILLED,
                       "plan.json: hollow.units: %lld, but the bricks leave out %ld",
                       (long long)json_integer_value(said), units);
}
