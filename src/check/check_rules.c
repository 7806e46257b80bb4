/* Both pictures are of one index a cell; cells that were not free to choose are in no region. */
#include "check/check_rules.h"

#include "base/raster.h"

#include <string.h>

/* The picture, if the plan has it and it is of the plan's cells; its sample is NULL where not. */
static Status read_picture(PlanFacts *e, const char *name, Raster *raster_out, Fault *fault)
{
    *raster_out = (Raster){0};
    if (!e->faced || !json_object_get(json_object_get(e->plan, "files"), name)) return STATUS_OK;
    const Status status =
        raster_read(raster_out, e->folder, name, (uint32_t)e->columns, (uint32_t)e->rows, fault);
    if (status == STATUS_NO_INPUT || status == STATUS_DATA) return STATUS_OK; /* said already */
    if (status) return status;
    if (raster_out->kind != RASTER_INDEXED || !raster_out->sample)
        verdict_broken(e->verdict, PROMISE_CELLS, "%s: is not indexed, of %d columns and %d rows",
                       name, e->columns, e->rows);
    if (raster_out->kind != RASTER_INDEXED) raster_clear(raster_out);
    return STATUS_OK;
}

/* Of each index: the region, or NULL; and what is barred in it. */
typedef struct Bars {
    const json_t *region[256];
    bool shade[256][SHADES_MOST];
} Bars;

static bool take_region(PlanFacts *e, Bars *bars, const json_t *region)
{
    const json_t *index = json_object_get(region, "index"),
                 *without = json_object_get(region, "without");
    const json_int_t at = json_is_integer(index) ? json_integer_value(index) : 0;
    if (at < 1 || at > 254 || !json_string_value(json_object_get(region, "name")) ||
        !json_is_array(without))
        return false;
    bars->region[at] = region;
    for (size_t i = 0; i < json_array_size(without); i++) {
        const char *id = json_string_value(json_array_get(without, i));
        const long shade = id ? name_table_find(&e->shade_index, id) : -1;
        if (shade < 0) return false;
        bars->shade[at][shade] = true;
    }
    return true;
}

static void check_cell(PlanFacts *e, const Bars *bars, size_t cell, int index)
{
    const size_t column = cell % (size_t)e->columns + 1, row = cell / (size_t)e->columns + 1;
    if (index && !bars->region[index])
        verdict_broken(e->verdict, PROMISE_CELLS,
                       "regions.png: column %zu, row %zu: index %d is no region of plan.json",
                       column, row, index);
    else if (index && bars->shade[index][e->cell[cell]])
        verdict_broken(e->verdict, PROMISE_CELLS,
                       "cells.png: column %zu, row %zu: colour '%s' is barred in region %s", column,
                       row, e->shade[e->cell[cell]].id,
                       json_string_value(json_object_get(bars->region[index], "name")));
}

/* Row 0 is the picture's last. */
static size_t pixel_of(const PlanFacts *e, size_t cell)
{
    const size_t columns = (size_t)e->columns;
    return ((size_t)e->rows - 1 - cell / columns) * columns + cell % columns;
}

Status check_regions(PlanFacts *e, Fault *fault)
{
    Raster raster;
    Bars bars = {0};
    const json_t *list = json_object_get(e->plan, "regions");
    const Status status = read_picture(e, "regions.png", &raster, fault);
    bool known = raster.sample;
    for (size_t i = 0; known && i < json_array_size(list); i++) {
        known = take_region(e, &bars, json_array_get(list, i));
        if (!known)
            verdict_broken(e->verdict, PROMISE_KEYS,
                           "plan.json: regions: %zu is not a name, an index from 1 to 254 and the "
                           "ids of colours that are barred",
                           i + 1);
    }
    for (size_t i = 0; known && i < (size_t)e->columns * (size_t)e->rows; i++)
        check_cell(e, &bars, i, raster.sample[pixel_of(e, i)]);
    raster_clear(&raster);
    return status;
}

Status check_pins(PlanFacts *e, Fault *fault)
{
    Raster raster;
    const Status status = read_picture(e, "pins.png", &raster, fault);
    for (size_t i = 0; raster.sample && i < (size_t)e->columns * (size_t)e->rows; i++) {
        const int pin = raster.sample[pixel_of(e, i)];
        if (pin < e->shades && pin != e->cell[i])
            verdict_broken(e->verdict, PROMISE_CELLS,
                           "cells.png: column %zu, row %zu: colour '%s', but it is pinned to '%s'",
                           i % (size_t)e->columns + 1, i / (size_t)e->columns + 1,
                           e->shade[e->cell[i]].id, e->shade[pin].id);
    }
    raster_clear(&raster);
    return status;
}
