/* Of each colour and size: `after` must be what bricks.csv has, what stands can be no more than was
 * there before and is there after, and the change is the difference. What was there before cannot
 * be known from this plan's files. */
#include "check/check_difference.h"

#include "base/csv_stream.h"
#include "base/memory.h"

#include <stdio.h>
#include <string.h>

enum { D_COLOUR, D_SIZE, D_BEFORE, D_AFTER, D_BUILT, D_CHANGE, D_COUNT };
static const char *const column[D_COUNT] = {"colour", "size", "before", "after", "built", "change"};

static void broken_difference(PlanFacts *e, const CsvStream *s, int field, long must)
{
    verdict_broken(e->verdict, PROMISE_DIFFERENCE, "%s:%d: '%.16s' %.16s: %s is %.16s, must be %ld",
                   s->name, s->line, s->field[D_COLOUR], s->field[D_SIZE], column[field],
                   s->field[field], must);
}

/* A colour that the plan no longer has can only stand in `before`. */
static void take_difference_line(PlanFacts *e, const CsvStream *s, bool *listed)
{
    const long shade = name_table_find(&e->shade_index, s->field[D_COLOUR]);
    const int format = plan_facts_format(e, s->field[D_SIZE]);
    const size_t at = (size_t)(shade < 0 ? 0 : shade) * FORMATS_MOST + (size_t)format;
    long number[D_COUNT];
    if (format < 0) {
        plan_facts_bad_field(e, s, D_SIZE, "a size");
        return;
    }
    for (int i = D_BEFORE; i <= D_BUILT; i++)
        if (!field_whole(s->field[i], 0, COUNT_MOST, &number[i])) {
            plan_facts_bad_field(e, s, i, "a whole number");
            return;
        }
    const long after = shade < 0 ? 0 : e->count[at];
    if (e->read && number[D_AFTER] != after) broken_difference(e, s, D_AFTER, after);
    const long most = number[D_BEFORE] < number[D_AFTER] ? number[D_BEFORE] : number[D_AFTER];
    if (number[D_BUILT] > most) broken_difference(e, s, D_BUILT, most);
    char change[32];
    snprintf(change, sizeof change, "%ld", number[D_AFTER] - number[D_BEFORE]);
    if (strcmp(s->field[D_CHANGE], change) != 0)
        broken_difference(e, s, D_CHANGE, number[D_AFTER] - number[D_BEFORE]);
    e->standing += (double)number[D_BUILT];
    if (shade < 0) return;
    if (listed[at])
        verdict_broken(e->verdict, PROMISE_DIFFERENCE, "%s:%d: stands there twice", s->name,
                       s->line);
    listed[at] = true;
    e->built[at] = number[D_BUILT];
}

static void say_left_out(PlanFacts *e, const bool *listed)
{
    for (int shade = 0; shade < e->shades && e->read; shade++)
        for (int format = 0; format < e->formats; format++) {
            const size_t at = (size_t)shade * FORMATS_MOST + (size_t)format;
            if (!e->count[at] || listed[at]) continue;
            verdict_broken(e->verdict, PROMISE_DIFFERENCE,
                           "difference.csv: '%s' %s: missing, bricks.csv has %ld",
                           e->shade[shade].id, e->format[format].name, e->count[at]);
        }
}

static bool has_difference_columns(PlanFacts *e, const CsvStream *s)
{
    int i = 0;
    while (i < D_COUNT && i < s->columns && strcmp(s->header[i], column[i]) == 0) i++;
    if (i == D_COUNT && s->columns == D_COUNT) return true;
    verdict_broken(e->verdict, PROMISE_FIELDS, "%s:1: the columns are not those of the table",
                   s->name);
    return false;
}

/* The number of bricks that stand, as plan.json has it. */
static void check_built(PlanFacts *e)
{
    const json_t *said = json_object_get(json_object_get(e->plan, "built"), "bricks");
    if (json_is_integer(said) && json_number_value(said) == e->standing) return;
    verdict_broken(e->verdict, PROMISE_DIFFERENCE,
                   "plan.json: built.bricks: %.10g, but difference.csv gives %.10g",
                   json_number_value(said), e->standing);
}

static Status walk_difference(PlanFacts *e, CsvStream *s, bool *listed, Fault *fault)
{
    bool more = has_difference_columns(e, s);
    if (!more) return STATUS_OK;
    Status status;
    while (!(status = csv_stream_next(s, &more, fault)) && more) take_difference_line(e, s, listed);
    if (status) return status;
    say_left_out(e, listed);
    check_built(e);
    return STATUS_OK;
}

Status check_difference(PlanFacts *e, Fault *fault)
{
    if (!e->shades) return STATUS_OK;
    const size_t kinds = (size_t)e->shades * FORMATS_MOST;
    e->count = memory_create(kinds, sizeof *e->count);
    e->built = memory_create(kinds, sizeof *e->built);
    if (!e->count || !e->built) return memory_fault(fault, kinds, sizeof *e->count);
    for (size_t i = 0; i < e->blocks; i++)
        e->count[(size_t)e->block[i].shade * FORMATS_MOST + e->block[i].format]++;
    if (!json_object_get(json_object_get(e->plan, "files"), "difference.csv")) return STATUS_OK;
    CsvStream stream;
    Status status = csv_stream_open(&stream, e->folder, "difference.csv", fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* check_files has said so */
    if (status) return status;
    bool *listed = memory_create(kinds, sizeof *listed);
    status = listed ? walk_difference(e, &stream, listed, fault)
                    : memory_fault(fault, kinds, sizeof *listed);
    memory_free(listed);
    csv_stream_close(&stream);
    return status;
}
