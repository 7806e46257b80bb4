/* The bricks must fill the solid that cells.png and steps.png describe, no unit twice and, but for
 * a hollow core, none left out: every unit has one owner. The work is bounded by bricks times the
 * largest size, whatever a file claims. */
#include "check/check_solid.h"

#include "base/csv_stream.h"
#include "base/memory.h"
#include "base/raster.h"
#include "check/check_core.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>

enum { PLACE_MOST = 1000000 }; /* of any place or extent in bricks.csv, in units */

/* ---- cells and steps ---- */

static bool check_size(PlanFacts *e, const char *name, const Raster *raster, RasterKind kind)
{
    if (raster->kind != kind) {
        verdict_broken(e->verdict, PROMISE_CELLS, "%s: not 8-bit %s", name,
                       kind == RASTER_INDEXED ? "indexed" : "grey");
        return false;
    }
    if (raster->sample) return true;
    verdict_broken(e->verdict, PROMISE_CELLS,
                   "%s: %u x %u, but the plan has %d columns and %d rows", name, raster->width,
                   raster->height, e->columns, e->rows);
    return false;
}

static void check_entries(PlanFacts *e, const Raster *raster)
{
    if (raster->colours != e->shades)
        verdict_broken(e->verdict, PROMISE_CELLS,
                       "cells.png: PLTE has %d entries, but plan.json has %d colours",
                       raster->colours, e->shades);
    for (int i = 0; i < raster->colours && i < e->shades; i++) {
        const uint8_t *p = raster->rgb[i], *q = e->shade[i].rgb;
        if (memcmp(p, q, 3) != 0)
            verdict_broken(
                e->verdict, PROMISE_CELLS,
                "cells.png: PLTE entry %d: #%02x%02x%02x, but colour '%s' is #%02x%02x%02x", i,
                p[0], p[1], p[2], e->shade[i].id, q[0], q[1], q[2]);
    }
}

/* Row 0 is the picture's last. */
static const uint8_t *raster_row(const PlanFacts *e, const Raster *raster, int row)
{
    return raster->sample + (size_t)(e->rows - 1 - row) * (size_t)e->columns;
}

static bool take_cell_colours(PlanFacts *e, const Raster *raster)
{
    bool whole = true;
    for (int row = 0; row < e->rows; row++) {
        uint8_t *to = e->cell + (size_t)row * (size_t)e->columns;
        memcpy(to, raster_row(e, raster, row), (size_t)e->columns);
        for (int column = 0; column < e->columns; column++) {
            if (to[column] < e->shades) continue;
            whole = false;
            verdict_broken(e->verdict, PROMISE_CELLS,
                           "cells.png: column %d, row %d: index %d, but plan.json has %d colours",
                           column + 1, row + 1, to[column], e->shades);
        }
    }
    return whole;
}

static Status read_cells_png(PlanFacts *e, bool *known_out, Fault *fault)
{
    Raster raster;
    const Status status = raster_read(&raster, e->folder, "cells.png", (uint32_t)e->columns,
                                      (uint32_t)e->rows, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* check_files has said so */
    if (status) return status;
    if (raster.kind == RASTER_INDEXED) check_entries(e, &raster);
    if (check_size(e, "cells.png", &raster, RASTER_INDEXED)) {
        e->cell = memory_create((size_t)e->columns, (size_t)e->rows);
        if (e->cell) *known_out = take_cell_colours(e, &raster);
    }
    const bool room = !raster.sample || e->cell || raster.kind != RASTER_INDEXED;
    raster_clear(&raster);
    return room ? STATUS_OK : memory_fault(fault, (size_t)e->columns, (size_t)e->rows);
}

static void take_cell_steps(PlanFacts *e, const Raster *raster)
{
    for (int row = 0; row < e->rows; row++)
        for (int column = 0; column < e->columns; column++)
            e->top[(size_t)row * (size_t)e->columns + (size_t)column] =
                (uint16_t)(e->base + (raster ? raster_row(e, raster, row)[column] : 0));
}

static Status check_steps(PlanFacts *e, bool *known_out, Fault *fault)
{
    Raster raster = {0};
    if (e->relief) {
        const Status status = raster_read(&raster, e->folder, "steps.png", (uint32_t)e->columns,
                                          (uint32_t)e->rows, fault);
        if (status == STATUS_NO_INPUT) return STATUS_OK;
        if (status) return status;
        const RasterKind kind = raster.kind == RASTER_GREY ? RASTER_GREY : RASTER_INDEXED;
        if (!check_size(e, "steps.png", &raster, kind)) { /* older plans have greys */
            raster_clear(&raster);
            return STATUS_OK;
        }
    }
    const size_t cells = (size_t)e->columns * (size_t)e->rows;
    e->top = memory_create(cells, sizeof *e->top);
    if (e->top) take_cell_steps(e, e->relief ? &raster : NULL);
    raster_clear(&raster);
    *known_out = e->top != NULL;
    return e->top ? STATUS_OK : memory_fault(fault, cells, sizeof *e->top);
}

Status check_face(PlanFacts *e, Fault *fault)
{
    if (!e->framed || !e->shades) return STATUS_OK;
    bool coloured = false, raised = false;
    Status status = read_cells_png(e, &coloured, fault);
    /* Without cells.png of this size the frame may claim anything: no memory is asked for it. */
    if (!status && e->cell) status = check_steps(e, &raised, fault);
    e->faced = coloured && raised;
    return status;
}

/* ---- panels ---- */

static bool whole_at(const json_t *object, const char *key, int least, int most, int *value_out)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_integer(value)) return false;
    const json_int_t number = json_integer_value(value);
    if (number < least || number > most) return false;
    *value_out = (int)number;
    return true;
}

static bool take_plot(PlanFacts *e, size_t index, const json_t *panel)
{
    Plot *plot = &e->plot[index];
    plot->name = json_string_value(json_object_get(panel, "name"));
    if (!plot->name || !*plot->name) {
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: panels[%zu].name: missing, must be a text", index);
        return false;
    }
    const long twin = name_table_enter(&e->plot_index, plot->name, (uint32_t)index);
    if (twin >= 0) {
        verdict_broken(e->verdict, PROMISE_KEYS,
                       "plan.json: panels[%zu].name: '%s' is that of panels[%ld] too", index,
                       plot->name, twin);
        return false;
    }
    if (whole_at(panel, "column", 1, e->columns, &plot->column) &&
        whole_at(panel, "row", 1, e->rows, &plot->row) &&
        whole_at(panel, "columns", 1, e->columns + 1 - plot->column, &plot->columns) &&
        whole_at(panel, "rows", 1, e->rows + 1 - plot->row, &plot->rows)) {
        plot->column--;
        plot->row--;
        return true;
    }
    verdict_broken(
        e->verdict, PROMISE_PANELS,
        "plan.json: panels[%zu]: %s: column, row, columns, rows are no place in the mural", index,
        plot->name);
    return false;
}

/* Marks a panel's cells; stops at the first that is another's already, so that the
 * work stays that of the cells. */
static bool mark_plot(PlanFacts *e, size_t index)
{
    const Plot *p = &e->plot[index];
    for (int row = p->row; row < p->row + p->rows; row++)
        for (int column = p->column; column < p->column + p->columns; column++) {
            uint32_t *at = &e->plot_of[(size_t)row * (size_t)e->columns + (size_t)column];
            if (*at != UINT32_MAX) {
                verdict_broken(e->verdict, PROMISE_PANELS,
                               "plan.json: panels[%zu]: %s: column %d, row %d is in %s too", index,
                               p->name, column + 1, row + 1, e->plot[*at].name);
                return false;
            }
            *at = (uint32_t)index;
        }
    return true;
}

static bool all_marked(PlanFacts *e)
{
    const size_t cells = (size_t)e->columns * (size_t)e->rows;
    bool whole = true;
    for (size_t i = 0; i < cells; i++) {
        if (e->plot_of[i] != UINT32_MAX) continue;
        whole = false;
        verdict_broken(e->verdict, PROMISE_PANELS,
                       "plan.json: panels: column %zu, row %zu is in none",
                       i % (size_t)e->columns + 1, i / (size_t)e->columns + 1);
    }
    return whole;
}

static Status check_plots(PlanFacts *e, Fault *fault)
{
    const json_t *panels = json_object_get(e->plan, "panels");
    if (!e->framed || !json_is_array(panels) || !e->top) return STATUS_OK;
    const size_t cells = (size_t)e->columns * (size_t)e->rows;
    e->plots = json_array_size(panels);
    e->plot = memory_create(e->plots, sizeof *e->plot);
    e->plot_of = memory_create(cells, sizeof *e->plot_of);
    if (!e->plot || !e->plot_of) return memory_fault(fault, cells, sizeof *e->plot_of);
    const Status status = name_table_init(&e->plot_index, e->plots, fault);
    if (status) return status;
    memset(e->plot_of, 0xff, cells * sizeof *e->plot_of);
    bool whole = true;
    for (size_t i = 0; i < e->plots; i++)
        if (!take_plot(e, i, json_array_get(panels, i)) || !mark_plot(e, i)) whole = false;
    e->tiled = whole && all_marked(e);
    return STATUS_OK;
}

/* ---- bricks ---- */

enum {
    B_PANEL,
    B_COLUMN,
    B_ROW,
    B_TIER,
    B_COLUMNS,
    B_ROWS,
    B_TIERS,
    B_SIZE,
    B_COLOUR,
    B_SHOWN,
    B_COUNT
};
static const char *const block_column[B_COUNT] = {"panel", "column", "row",  "tier",   "columns",
                                                  "rows",  "tiers",  "size", "colour", "shown"};

static bool take_number(PlanFacts *e, const CsvStream *s, int field, int32_t least,
                        int32_t *value_out)
{
    long value;
    if (!field_whole(s->field[field], least, PLACE_MOST, &value))
        return plan_facts_bad_field(e, s, field,
                                    least ? "a whole number from 1" : "a whole number");
    *value_out = (int32_t)value;
    return true;
}

static bool take_block(PlanFacts *e, const CsvStream *s, Block *block)
{
    *block = (Block){.line = s->line};
    const long plot = name_table_find(&e->plot_index, s->field[B_PANEL]);
    const long shade = name_table_find(&e->shade_index, s->field[B_COLOUR]);
    const int format = plan_facts_format(e, s->field[B_SIZE]);
    long shown;
    if (plot < 0) return plan_facts_bad_field(e, s, B_PANEL, "a panel of plan.json");
    if (shade < 0) return plan_facts_bad_field(e, s, B_COLOUR, "a colour of plan.json");
    if (format < 0) return plan_facts_bad_field(e, s, B_SIZE, "a size");
    if (!field_whole(s->field[B_SHOWN], 0, 1, &shown))
        return plan_facts_bad_field(e, s, B_SHOWN, "0 or 1");
    if (!take_number(e, s, B_COLUMN, 1, &block->column) ||
        !take_number(e, s, B_ROW, 1, &block->row) || !take_number(e, s, B_TIER, 1, &block->tier) ||
        !take_number(e, s, B_COLUMNS, 1, &block->columns) ||
        !take_number(e, s, B_ROWS, 1, &block->rows) ||
        !take_number(e, s, B_TIERS, 1, &block->tiers))
        return false;
    block->column--;
    block->row--;
    block->tier--;
    block->plot = (uint32_t)plot;
    block->shade = (uint8_t)shade;
    block->format = (uint8_t)format;
    block->shown = (uint8_t)shown;
    return true;
}

static bool has_block_columns(PlanFacts *e, const CsvStream *s)
{
    bool same = s->columns == B_COUNT;
    for (int i = 0; i < B_COUNT && same; i++) same = strcmp(s->header[i], block_column[i]) == 0;
    if (!same)
        verdict_broken(e->verdict, PROMISE_FIELDS,
                       "bricks.csv:1: columns are not panel,column,row,tier,columns,rows,tiers,"
                       "size,colour,shown");
    return same;
}

static Status read_blocks(PlanFacts *e, CsvStream *s, Fault *fault)
{
    bool more, whole = true;
    Status status;
    while (!(status = csv_stream_next(s, &more, fault)) && more) {
        if (e->blocks == UINT32_MAX - 1)
            return fault_set(fault, STATUS_DATA, "bricks.csv:%d: too many bricks", s->line);
        status = memory_grow(&e->block, &e->capacity, e->blocks + 1, sizeof *e->block, fault);
        if (status) return status;
        if (take_block(e, s, &e->block[e->blocks]))
            e->blocks++;
        else
            whole = false;
    }
    e->read = !status && whole;
    return status;
}

static bool say_at_block(PlanFacts *e, Promise promise, const Block *b, const char *what)
{
    verdict_broken(e->verdict, promise, "bricks.csv:%d: column %d, row %d, tier %d: %s", b->line,
                   b->column + 1, b->row + 1, b->tier + 1, what);
    return false;
}

static bool check_extent(PlanFacts *e, const Block *b)
{
    const Format *f = &e->format[b->format];
    const int up = e->wall ? b->tiers : b->rows, thick = e->wall ? b->rows : b->tiers;
    char what[100];
    if (thick != 1) {
        snprintf(what, sizeof what, "%d %s, a brick of a %s is one", thick,
                 e->wall ? "rows" : "tiers", e->wall ? "wall" : "plaque");
        return say_at_block(e, PROMISE_SIZES, b, what);
    }
    if ((b->columns == f->a && up == f->b) || (b->columns == f->b && up == f->a)) return true;
    snprintf(what, sizeof what, "%d columns and %d %s are no %s", b->columns, up,
             e->wall ? "tiers" : "rows", f->name);
    return say_at_block(e, PROMISE_SIZES, b, what);
}

static bool check_place(PlanFacts *e, const Block *b)
{
    char what[100];
    if (b->column + b->columns > e->columns || b->row + b->rows > e->rows)
        return say_at_block(e, PROMISE_INSIDE, b, "reaches out of the mural");
    const Plot *p = &e->plot[b->plot];
    if (b->column >= p->column && b->column + b->columns <= p->column + p->columns &&
        b->row >= p->row && b->row + b->rows <= p->row + p->rows)
        return true;
    snprintf(what, sizeof what, "crosses the edge of panel %.40s or lies outside it", p->name);
    return say_at_block(e, PROMISE_INSIDE, b, what);
}

/* The lowest tier of a cell that can be seen, by its top and its neighbours' tops. */
static int first_shown(const PlanFacts *e, int column, int row)
{
    const int top = plan_facts_top(e, column, row);
    int least = top - 1;
    const int beside[4] = {plan_facts_top(e, column - 1, row), plan_facts_top(e, column + 1, row),
                           plan_facts_top(e, column, row - 1), plan_facts_top(e, column, row + 1)};
    for (int i = 0; i < 4; i++)
        if (beside[i] < least) least = beside[i];
    return least;
}

/* What is found while a brick's units are gone through. */
typedef struct Look {
    bool out, over, shown, wrong; /* outside the solid, on another brick, ... */
    uint32_t other;               /* the brick that it overlaps */
    int column, row, tier, shade; /* where it shows another colour, and which */
} Look;

static void look_at_cell(PlanFacts *e, uint32_t index, int column, int row, Look *look)
{
    const Block *b = &e->block[index];
    const int top = plan_facts_top(e, column, row), seen = first_shown(e, column, row);
    const int end = b->tier + b->tiers;
    if (end > top) look->out = true;
    for (int tier = b->tier; tier < end && tier < top; tier++) {
        uint32_t *owner = plan_facts_unit(e, column, row, tier);
        if (*owner && !look->over) {
            look->over = true;
            look->other = *owner - 1;
        }
        if (!*owner) *owner = index + 1;
        if (tier < seen) continue;
        look->shown = true;
        const int shade = e->cell[(size_t)row * (size_t)e->columns + (size_t)column];
        if (shade == b->shade || look->wrong) continue;
        look->wrong = true;
        look->column = column;
        look->row = row;
        look->tier = tier;
        look->shade = shade;
    }
}

static bool check_look(PlanFacts *e, const Block *b, const Look *look)
{
    char what[120];
    bool good = true;
    if (look->out) good = say_at_block(e, PROMISE_INSIDE, b, "reaches out of the solid");
    if (look->over) {
        snprintf(what, sizeof what, "overlaps the brick of line %d", e->block[look->other].line);
        good = say_at_block(e, PROMISE_OVERLAP, b, what);
    }
    if (look->wrong) {
        snprintf(what, sizeof what, "is '%s', but shows column %d, row %d, tier %d, which is '%s'",
                 e->shade[b->shade].id, look->column + 1, look->row + 1, look->tier + 1,
                 e->shade[look->shade].id);
        say_at_block(e, PROMISE_FACE, b, what);
    }
    if (look->shown != (b->shown == 1))
        say_at_block(e, PROMISE_SHOWN, b,
                     look->shown ? "shown is 0, but it can be seen"
                                 : "shown is 1, but it cannot be seen");
    return good;
}

static Status make_units(PlanFacts *e, Fault *fault)
{
    const size_t cells = (size_t)e->columns * (size_t)e->rows;
    e->first = memory_create(cells + 1, sizeof *e->first);
    if (!e->first) return memory_fault(fault, cells + 1, sizeof *e->first);
    for (size_t i = 0; i < cells; i++) e->first[i + 1] = e->first[i] + e->top[i];
    e->owner = memory_create(e->first[cells], sizeof *e->owner);
    return e->owner ? STATUS_OK : memory_fault(fault, e->first[cells], sizeof *e->owner);
}

static bool check_filled(PlanFacts *e)
{
    bool whole = true;
    long left_out = 0;
    for (int row = 0; row < e->rows; row++)
        for (int column = 0; column < e->columns; column++) {
            const int top = plan_facts_top(e, column, row);
            for (int tier = 0; tier < top; tier++) {
                if (*plan_facts_unit(e, column, row, tier)) continue;
                left_out++;
                if (core_holds(e, column, row, tier)) continue;
                whole = false;
                verdict_broken(e->verdict, PROMISE_FILLED,
                               "bricks.csv: column %d, row %d, tier %d: in no brick", column + 1,
                               row + 1, tier + 1);
            }
        }
    if (whole && e->shell) check_core_units(e, left_out);
    return whole;
}

/* Every brick that is of its size takes its units, so that the work is bounded by
 * bricks times the largest size, whatever a file claims. */
static bool fill_solid(PlanFacts *e)
{
    bool sound = true;
    for (size_t i = 0; i < e->blocks; i++) {
        const Block *b = &e->block[i];
        if (!check_extent(e, b) || !check_place(e, b)) {
            sound = false;
            if (b->column + b->columns > e->columns || b->row + b->rows > e->rows ||
                (long)b->columns * b->rows * b->tiers > EXTENT_MOST * EXTENT_MOST)
                continue;
        }
        Look look = {0};
        for (int row = b->row; row < b->row + b->rows; row++)
            for (int column = b->column; column < b->column + b->columns; column++)
                look_at_cell(e, (uint32_t)i, column, row, &look);
        if (!check_look(e, b, &look)) sound = false;
    }
    return sound;
}

Status check_bricks(PlanFacts *e, Fault *fault)
{
    CsvStream stream;
    Status status = check_plots(e, fault);
    if (status || !e->faced || !e->plot_index.slots) return status;
    status = csv_stream_open(&stream, e->folder, "bricks.csv", fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* check_files has said so */
    if (status) return status;
    const bool headed = has_block_columns(e, &stream);
    if (headed) status = read_blocks(e, &stream, fault);
    csv_stream_close(&stream);
    if (status || !headed) return status;
    status = make_units(e, fault);
    if (status) return status;
    status = check_core(e, fault);
    if (status) return status;
    const bool placed = fill_solid(e);
    const bool filled = check_filled(e);
    e->sound = placed && filled && e->read && e->tiled;
    return STATUS_OK;
}
