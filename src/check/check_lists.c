/* The lists repeat what bricks.csv says in other orders and sums: rows.csv in building order,
 * parts.csv by colour and size, panels.csv by panel. Each is added up anew from the bricks. Printed
 * numbers are rounded, so a sum of them is held to half a last digit for each that went in. */
#include "check/check_lists.h"

#include "base/csv_stream.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A table's name and columns. */
typedef struct Heading {
    const char *name;
    const char *const *column;
    int columns;
    bool more; /* others may come after these */
} Heading;

/* Opens a table; *open_out is false where it is not there or its columns are others. */
static Status open_table(PlanFacts *e, CsvStream *s, const Heading *h, bool *open_out, Fault *fault)
{
    *open_out = false;
    const Status status = csv_stream_open(s, e->folder, h->name, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* check_files has said so */
    if (status) return status;
    int i = 0;
    while (i < h->columns && i < s->columns && strcmp(s->header[i], h->column[i]) == 0) i++;
    *open_out = i == h->columns && (h->more || s->columns == h->columns);
    if (*open_out) return STATUS_OK;
    if (i < h->columns)
        verdict_broken(e->verdict, PROMISE_FIELDS, "%s:1: column %d is '%.40s', must be '%s'",
                       h->name, i + 1, i < s->columns ? s->header[i] : "", h->column[i]);
    else
        verdict_broken(e->verdict, PROMISE_FIELDS, "%s:1: %d columns, must be %d", h->name,
                       s->columns, h->columns);
    csv_stream_close(s);
    return STATUS_OK;
}

static bool take_whole_field(PlanFacts *e, const CsvStream *s, int field, long least,
                             long *value_out)
{
    if (field_whole(s->field[field], least, COUNT_MOST, value_out)) return true;
    plan_facts_bad_field(e, s, field, least ? "a whole number from 1" : "a whole number");
    return false;
}

static bool take_decimal_field(PlanFacts *e, const CsvStream *s, int field, double *value_out,
                               int *places_out)
{
    if (field_decimal(s->field[field], value_out, places_out) && *value_out >= 0) return true;
    plan_facts_bad_field(e, s, field, "a decimal number from 0");
    return false;
}

/* ---- rows.csv ---- */

enum { R_PANEL, R_ROW, R_TIER, R_NTH, R_COLUMN, R_SIZE, R_COLOUR, R_COUNT };
static const char *const row_column[R_COUNT] = {"panel",  "row",  "tier",  "nth",
                                                "column", "size", "colour"};

/* A brick's place in building order: panel; then tier and row of a plaque, row and tier
 * of a wall; then column. */
typedef struct Stand {
    uint32_t plot;
    int32_t outer, inner, column;
    uint32_t block;
} Stand;

static int compare_stands(const void *a, const void *b)
{
    const Stand *p = a, *q = b;
    if (p->plot != q->plot) return p->plot < q->plot ? -1 : 1;
    if (p->outer != q->outer) return p->outer < q->outer ? -1 : 1;
    if (p->inner != q->inner) return p->inner < q->inner ? -1 : 1;
    return (p->column > q->column) - (p->column < q->column);
}

static Stand stand_at(const PlanFacts *e, uint32_t plot, int column, int row, int tier)
{
    return (Stand){plot, e->wall ? row : tier, e->wall ? tier : row, column, 0};
}

static Status make_stands(const PlanFacts *e, Stand **stand_out, Fault *fault)
{
    Stand *stand = memory_create(e->blocks, sizeof *stand);
    if (!stand) return memory_fault(fault, e->blocks, sizeof *stand);
    bool sorted = true;
    for (size_t i = 0; i < e->blocks; i++) {
        const Block *b = &e->block[i];
        stand[i] = stand_at(e, b->plot, b->column, b->row, b->tier);
        stand[i].block = (uint32_t)i;
        if (i && compare_stands(&stand[i - 1], &stand[i]) > 0) sorted = false;
    }
    if (!sorted) qsort(stand, e->blocks, sizeof *stand, compare_stands);
    *stand_out = stand;
    return STATUS_OK;
}

typedef struct Charts { /* where the reading of rows.csv stands */
    const Stand *stand;
    uint8_t *used; /* a byte a stand */
    size_t next;   /* the stand after the last one found */
    Stand last;
    long nth;
    bool begun;
} Charts;

static bool broken_row(PlanFacts *e, const CsvStream *s, const char *what)
{
    verdict_broken(e->verdict, PROMISE_ROWS,
                   "rows.csv:%d: panel %.20s, row %.12s, tier %.12s, column %.12s: %s", s->line,
                   s->field[R_PANEL], s->field[R_ROW], s->field[R_TIER], s->field[R_COLUMN], what);
    return false;
}

/* The stand of this place that is not used yet, or the count. */
static size_t find_stand(const PlanFacts *e, const Charts *c, const Stand *key)
{
    if (c->next < e->blocks && compare_stands(&c->stand[c->next], key) == 0) return c->next;
    size_t low = 0, high = e->blocks;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (compare_stands(&c->stand[middle], key) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low < e->blocks && compare_stands(&c->stand[low], key) == 0 ? low : e->blocks;
}

static void check_order(PlanFacts *e, const CsvStream *s, Charts *c, const Stand *key, long nth)
{
    char what[80];
    const bool same_row = c->begun && c->last.plot == key->plot && c->last.outer == key->outer &&
                          c->last.inner == key->inner;
    c->nth = same_row ? c->nth + 1 : 1;
    if (c->begun && compare_stands(&c->last, key) >= 0)
        broken_row(e, s, "is not in building order");
    if (nth != c->nth) {
        snprintf(what, sizeof what, "nth is %ld, but it is number %ld of its row", nth, c->nth);
        broken_row(e, s, what);
    }
    c->last = *key;
    c->begun = true;
}

static void check_row(PlanFacts *e, const CsvStream *s, Charts *c)
{
    long row, tier, column, nth;
    const long plot = name_table_find(&e->plot_index, s->field[R_PANEL]);
    if (plot < 0) {
        plan_facts_bad_field(e, s, R_PANEL, "a panel of plan.json");
        return;
    }
    if (!take_whole_field(e, s, R_ROW, 1, &row) || !take_whole_field(e, s, R_TIER, 1, &tier) ||
        !take_whole_field(e, s, R_NTH, 1, &nth) || !take_whole_field(e, s, R_COLUMN, 1, &column))
        return;
    if (row > SIDE_MOST || tier > SIDE_MOST || column > SIDE_MOST) {
        broken_row(e, s, "lies outside the mural");
        return;
    }
    const Stand key = stand_at(e, (uint32_t)plot, (int)column - 1, (int)row - 1, (int)tier - 1);
    check_order(e, s, c, &key, nth);
    const size_t at = find_stand(e, c, &key);
    if (at == e->blocks || c->used[at]) {
        broken_row(e, s,
                   at == e->blocks ? "no brick of bricks.csv starts here" : "stands there twice");
        return;
    }
    c->used[at] = 1;
    c->next = at + 1;
    const Block *b = &e->block[c->stand[at].block];
    char what[120];
    if (strcmp(s->field[R_SIZE], e->format[b->format].name) != 0 ||
        strcmp(s->field[R_COLOUR], e->shade[b->shade].id) != 0) {
        snprintf(what, sizeof what, "is %.16s in '%.16s', but bricks.csv:%d has %s in '%.16s'",
                 s->field[R_SIZE], s->field[R_COLOUR], b->line, e->format[b->format].name,
                 e->shade[b->shade].id);
        broken_row(e, s, what);
    }
}

static Status walk_rows(PlanFacts *e, CsvStream *s, Charts *c, Fault *fault)
{
    bool more;
    Status status;
    while (!(status = csv_stream_next(s, &more, fault)) && more) check_row(e, s, c);
    for (size_t i = 0; i < e->blocks && !status; i++) {
        if (c->used[i]) continue;
        const Block *b = &e->block[c->stand[i].block];
        verdict_broken(
            e->verdict, PROMISE_ROWS,
            "rows.csv: panel %s, row %d, tier %d, column %d: the brick of bricks.csv:%d is missing",
            e->plot[b->plot].name, b->row + 1, b->tier + 1, b->column + 1, b->line);
    }
    return status;
}

Status check_rows(PlanFacts *e, Fault *fault)
{
    CsvStream stream;
    bool open;
    if (!e->read) return STATUS_OK;
    Status status =
        open_table(e, &stream, &(Heading){"rows.csv", row_column, R_COUNT, false}, &open, fault);
    if (status || !open) return status;
    Stand *stand = NULL;
    status = make_stands(e, &stand, fault);
    Charts charts = {.stand = stand};
    if (!status) {
        charts.used = memory_create(e->blocks, 1);
        status =
            charts.used ? walk_rows(e, &stream, &charts, fault) : memory_fault(fault, e->blocks, 1);
    }
    memory_free(charts.used);
    memory_free(stand);
    csv_stream_close(&stream);
    return status;
}

/* ---- parts.csv ---- */

enum {
    P_COLOUR,
    P_NAME,
    P_SIZE,
    P_COUNT,
    P_SPARE,
    P_ORDER,
    P_STOCK,
    P_BUY,
    P_PRICE,
    P_MASS,
    P_COLUMNS
};
static const char *const part_column[P_COLUMNS] = {
    "colour", "name", "size", "count", "spare", "order", "in_stock", "to_buy", "price", "mass_g"};

typedef struct Tally { /* by format: what parts.csv says of masses */
    double mass_g[FORMATS_MOST], off[FORMATS_MOST];
    long count[FORMATS_MOST];
    bool *listed; /* shades x FORMATS_MOST */
    bool whole;
    Sums sums;
} Tally;

static void broken_part(PlanFacts *e, const CsvStream *s, int field, long said, long found)
{
    verdict_broken(e->verdict, PROMISE_PARTS, "parts.csv:%d: '%.16s' %.16s: %s is %ld, must be %ld",
                   s->line, s->field[P_COLOUR], s->field[P_SIZE], part_column[field], said, found);
}

/* Nothing is ordered for what stands. */
static void check_counts(PlanFacts *e, const CsvStream *s, const long number[P_COLUMNS], size_t at)
{
    const long found = e->count[at];
    if (e->read && number[P_COUNT] != found) broken_part(e, s, P_COUNT, number[P_COUNT], found);
    const long order = number[P_COUNT] - e->built[at] + number[P_SPARE];
    if (number[P_ORDER] != order) broken_part(e, s, P_ORDER, number[P_ORDER], order);
    const long buy = number[P_ORDER] > number[P_STOCK] ? number[P_ORDER] - number[P_STOCK] : 0;
    if (number[P_BUY] != buy) broken_part(e, s, P_BUY, number[P_BUY], buy);
}

/* A price may be left empty where the studio gave none. */
static bool check_worth(PlanFacts *e, const CsvStream *s, Tally *tally, int format, long count)
{
    double price = 0, mass;
    int places = 0;
    if (*s->field[P_PRICE]) {
        if (!take_decimal_field(e, s, P_PRICE, &price, &places)) return false;
        tally->sums.price_off += 0.5 * pow(10, -places);
    }
    if (!take_decimal_field(e, s, P_MASS, &mass, &places)) return false;
    const double off = 0.5 * pow(10, -places);
    tally->sums.price += price;
    tally->sums.mass_g += mass;
    tally->sums.mass_off += off;
    tally->mass_g[format] += mass;
    tally->off[format] += off;
    tally->count[format] += count;
    return true;
}

static bool check_part_line(PlanFacts *e, const CsvStream *s, Tally *tally)
{
    const long shade = name_table_find(&e->shade_index, s->field[P_COLOUR]);
    const int format = plan_facts_format(e, s->field[P_SIZE]);
    long number[P_COLUMNS];
    if (shade < 0) plan_facts_bad_field(e, s, P_COLOUR, "a colour of plan.json");
    if (format < 0) plan_facts_bad_field(e, s, P_SIZE, "a size");
    if (shade < 0 || format < 0) return false;
    if (strcmp(s->field[P_NAME], e->shade[shade].name) != 0)
        verdict_broken(e->verdict, PROMISE_PARTS,
                       "parts.csv:%d: '%s': name '%.60s', but plan.json has '%.60s'", s->line,
                       e->shade[shade].id, s->field[P_NAME], e->shade[shade].name);
    for (int i = P_COUNT; i <= P_BUY; i++)
        if (!take_whole_field(e, s, i, 0, &number[i])) return false;
    const size_t at = (size_t)shade * FORMATS_MOST + (size_t)format;
    if (tally->listed[at])
        verdict_broken(e->verdict, PROMISE_PARTS, "parts.csv:%d: '%s' %s: stands there twice",
                       s->line, e->shade[shade].id, e->format[format].name);
    tally->listed[at] = true;
    check_counts(e, s, number, at);
    return check_worth(e, s, tally, format, number[P_COUNT]);
}

static void check_left_out(PlanFacts *e, const Tally *tally)
{
    for (int shade = 0; shade < e->shades; shade++)
        for (int format = 0; format < e->formats; format++) {
            const size_t at = (size_t)shade * FORMATS_MOST + (size_t)format;
            if (!e->count[at] || tally->listed[at]) continue;
            verdict_broken(e->verdict, PROMISE_PARTS,
                           "parts.csv: '%s' %s: missing, bricks.csv has %ld", e->shade[shade].id,
                           e->format[format].name, e->count[at]);
        }
}

/* One brick's mass by size, as near as the rounded sums tell. */
static void take_masses(PlanFacts *e, const Tally *tally)
{
    for (int i = 0; i < e->formats; i++) {
        if (!tally->count[i]) continue;
        e->mass_g[i] = tally->mass_g[i] / (double)tally->count[i];
        e->mass_off[i] = tally->off[i] / (double)tally->count[i];
    }
    e->weighed = tally->whole && e->read;
}

static Status walk_parts(PlanFacts *e, CsvStream *s, Tally *tally, Fault *fault)
{
    bool more;
    Status status;
    tally->whole = true;
    while (!(status = csv_stream_next(s, &more, fault)) && more)
        if (!check_part_line(e, s, tally)) tally->whole = false;
    if (status) return status;
    if (e->read) check_left_out(e, tally);
    take_masses(e, tally);
    return STATUS_OK;
}

Status check_parts(PlanFacts *e, Fault *fault)
{
    CsvStream stream;
    bool open;
    const double none = (double)NAN;
    e->sums = (Sums){none, 0, none, 0};
    if (!e->shades) return STATUS_OK;
    Status status = open_table(e, &stream, &(Heading){"parts.csv", part_column, P_COLUMNS, false},
                               &open, fault);
    if (status || !open) return status;
    const size_t kinds = (size_t)e->shades * FORMATS_MOST;
    Tally *tally = memory_create(1, sizeof *tally);
    bool *listed = memory_create(kinds, sizeof *listed);
    e->mass_g = memory_create(FORMATS_MOST, sizeof *e->mass_g);
    e->mass_off = memory_create(FORMATS_MOST, sizeof *e->mass_off);
    if (!tally || !listed || !e->mass_g || !e->mass_off) {
        status = memory_fault(fault, kinds, sizeof *e->count);
    } else {
        tally->listed = listed;
        status = walk_parts(e, &stream, tally, fault);
        if (!status && tally->whole) e->sums = tally->sums;
    }
    memory_free(listed);
    memory_free(tally);
    csv_stream_close(&stream);
    return status;
}

/* ---- panels.csv ---- */

enum {
    N_PANEL,
    N_COLUMN,
    N_ROW,
    N_COLUMNS,
    N_ROWS,
    N_WIDTH,
    N_HEIGHT,
    N_DEPTH,
    N_BRICKS,
    N_MASS,
    N_JOINED,
    N_STRAIGHT,
    N_COUNT
};
static const char *const panel_column[N_COUNT] = {
    "panel",     "column",   "row",    "columns", "rows",   "width_mm",
    "height_mm", "depth_mm", "bricks", "mass_kg", "joined", "longest_straight_joint"};

typedef struct Mass { /* of a panel's bricks */
    double kg, off;
    double moment[3]; /* kg mm: from the panel's left, its lower edge, their back */
    int deepest;      /* tiers */
    long headers;     /* of a wall: bricks that lie across it */
    long bare;        /* courses without one */
} Mass;

static void broken_panel(PlanFacts *e, const CsvStream *s, Promise promise, int field, double found)
{
    verdict_broken(e->verdict, promise, "panels.csv:%d: %.20s: %s is %.24s, must be %.10g", s->line,
                   s->field[N_PANEL], s->header[field], s->field[field], found);
}

static void check_number(PlanFacts *e, const CsvStream *s, Promise promise, int field, long found)
{
    long said;
    if (take_whole_field(e, s, field, 0, &said) && said != found)
        broken_panel(e, s, promise, field, (double)found);
}

static void check_decimal(PlanFacts *e, const CsvStream *s, Promise promise, int field,
                          double found, double off)
{
    double said;
    int places;
    if (take_decimal_field(e, s, field, &said, &places) &&
        !plan_facts_same(said, places, found, off))
        broken_panel(e, s, promise, field, found);
}

/* The same for a number that may be below 0. */
static void check_signed(PlanFacts *e, const CsvStream *s, Promise promise, int field, double found,
                         double off)
{
    const char *text = s->field[field];
    const bool below = *text == '-';
    double said;
    int places;
    if (!field_decimal(text + below, &said, &places))
        plan_facts_bad_field(e, s, field, "a decimal number");
    else if (!plan_facts_same(below ? -said : said, places, found, off))
        broken_panel(e, s, promise, field, found);
}

/* Columns that a structure's report may add. */
static void check_structure(PlanFacts *e, const CsvStream *s, const Hold *hold)
{
    const char *panel = s->field[N_PANEL];
    if (hold->pieces > 1)
        verdict_broken(e->verdict, PROMISE_HOLDS,
                       "panels.csv:%d: %.20s: comes apart into %ld pieces, must be one", s->line,
                       panel, (long)hold->pieces);
    if (hold->unsupported > 0)
        verdict_broken(e->verdict, PROMISE_HOLDS,
                       "panels.csv:%d: %.20s: %ld bricks rest on nothing, must be none", s->line,
                       panel, (long)hold->unsupported);
    check_number(e, s, PROMISE_BOND, N_JOINED, hold->pieces == 1);
    check_number(e, s, PROMISE_BOND, N_STRAIGHT, hold->straight);
    const int pieces = csv_stream_column(s, "pieces"), weak = csv_stream_column(s, "weak");
    const int unsupported = csv_stream_column(s, "unsupported"),
              lap = csv_stream_column(s, "quarter_lap");
    if (pieces >= 0) check_number(e, s, PROMISE_BOND, pieces, hold->pieces);
    if (unsupported >= 0) check_number(e, s, PROMISE_BOND, unsupported, hold->unsupported);
    if (weak >= 0) check_number(e, s, PROMISE_BOND, weak, hold->weak);
    if (lap >= 0) check_decimal(e, s, PROMISE_BOND, lap, hold_lap(hold), 0);
}

/* The centre of mass and the moments of the weight, where they are told. The masses of
 * bricks are known to the last digit of parts.csv only: all may be off by as much, and a
 * centre by that share of the panel's size. */
static void check_statics(PlanFacts *e, const CsvStream *s, const Plot *plot, const Mass *mass)
{
    static const char *const centre[3] = {"centre_x_mm", "centre_y_mm", "centre_z_mm"};
    const Behind *behind = &e->behind;
    const double bricks_at = behind->frame_mm + behind->board_mm + behind->sheet_mm;
    const double size[3] = {plot->columns * e->cell_mm[0], plot->rows * e->cell_mm[1],
                            bricks_at + mass->deepest * e->step_mm};
    if (!(mass->kg > 0)) return;
    const double area = size[0] * size[1] / 1e6, run = 2 * (size[0] + size[1]) / 1000;
    const double sheet = area * behind->sheet_kg_m2, board = area * behind->board_kg_m2;
    const double frame = run * behind->frame_kg_m + behind->fixings_kg;
    const double all = mass->kg + sheet + board + frame;
    const double back = sheet * (bricks_at - behind->sheet_mm / 2) +
                        board * (behind->frame_mm + behind->board_mm / 2) +
                        frame * behind->frame_mm / 2 + mass->kg * bricks_at;
    const double share = mass->off / mass->kg, newtons = GRAVITY * all;
    const double moment[3] = {mass->moment[0] + (all - mass->kg) * size[0] / 2,
                              mass->moment[1] + (all - mass->kg) * size[1] / 2,
                              mass->moment[2] + back};
    for (int i = 0; i < 3; i++) {
        const int field = csv_stream_column(s, centre[i]);
        if (field >= 0)
            check_decimal(e, s, PROMISE_PANELS, field, moment[i] / all, 2 * share * size[i]);
    }
    const int whole = csv_stream_column(s, "whole_kg"),
              deep = csv_stream_column(s, "whole_depth_mm");
    if (whole >= 0) check_decimal(e, s, PROMISE_PANELS, whole, all, mass->off);
    if (deep >= 0) check_decimal(e, s, PROMISE_PANELS, deep, size[2], 0);
    const double out = moment[2] / all, edge = bricks_at + e->base * e->step_mm;
    const double off = 4 * share * newtons * size[2] / 1000;
    const int hanging = csv_stream_column(s, "hanging_moment_nm");
    const int tipping = csv_stream_column(s, "tipping_moment_nm");
    if (hanging >= 0) check_decimal(e, s, PROMISE_PANELS, hanging, newtons * out / 1000, off);
    if (tipping >= 0)
        check_signed(e, s, PROMISE_PANELS, tipping, newtons * (out - edge) / 1000, off);
}

/* How thick a wall is and what lies across it, where that is told. */
static void check_headers(PlanFacts *e, const CsvStream *s, const Mass *mass)
{
    const int thick = csv_stream_column(s, "thickness"), headers = csv_stream_column(s, "headers"),
              bare = csv_stream_column(s, "bare_courses");
    if (!e->wall) return;
    if (thick >= 0) check_number(e, s, PROMISE_PANELS, thick, e->base);
    if (headers >= 0) check_number(e, s, PROMISE_PANELS, headers, mass->headers);
    if (bare >= 0) check_number(e, s, PROMISE_PANELS, bare, mass->bare);
}

/* What plan.json says of the panel beyond its place must be what panels.csv says. */
static void check_said_twice(PlanFacts *e, const CsvStream *s, long plot)
{
    const json_t *panel = json_array_get(json_object_get(e->plan, "panels"), (size_t)plot);
    for (int i = N_WIDTH; i < s->columns; i++) {
        const json_t *value = json_object_get(panel, s->header[i]);
        double said;
        int places;
        if (!value || !field_decimal(s->field[i], &said, &places)) continue;
        const double twice =
            json_is_boolean(value) ? json_is_true(value) : json_number_value(value);
        const double off = 0.5 * pow(10, -plan_facts_places(twice, 0));
        if ((json_is_number(value) || json_is_boolean(value)) &&
            plan_facts_same(said, places, twice, places ? off : 0))
            continue;
        verdict_broken(e->verdict, PROMISE_PANELS,
                       "plan.json: panels[%ld]: %s: %s is %.10g, but panels.csv:%d has %.24s", plot,
                       e->plot[plot].name, s->header[i], twice, s->line, s->field[i]);
    }
}

static void check_panel(PlanFacts *e, const CsvStream *s, bool *listed, const Mass *mass)
{
    const long plot = name_table_find(&e->plot_index, s->field[N_PANEL]);
    if (plot < 0) {
        plan_facts_bad_field(e, s, N_PANEL, "a panel of plan.json");
        return;
    }
    if (listed[plot])
        verdict_broken(e->verdict, PROMISE_PANELS, "panels.csv:%d: %s: stands there twice", s->line,
                       e->plot[plot].name);
    listed[plot] = true;
    const Plot *p = &e->plot[plot];
    const Mass *m = &mass[plot];
    check_number(e, s, PROMISE_PANELS, N_COLUMN, p->column + 1);
    check_number(e, s, PROMISE_PANELS, N_ROW, p->row + 1);
    check_number(e, s, PROMISE_PANELS, N_COLUMNS, p->columns);
    check_number(e, s, PROMISE_PANELS, N_ROWS, p->rows);
    check_decimal(e, s, PROMISE_PANELS, N_WIDTH, p->columns * e->cell_mm[0], 0);
    check_decimal(e, s, PROMISE_PANELS, N_HEIGHT, p->rows * e->cell_mm[1], 0);
    check_decimal(e, s, PROMISE_PANELS, N_DEPTH, m->deepest * e->step_mm, 0);
    if (e->weighed) check_decimal(e, s, PROMISE_PANELS, N_MASS, m->kg, m->off);
    if (e->weighed) check_statics(e, s, p, m);
    check_said_twice(e, s, plot);
    if (e->sound) check_headers(e, s, m);
    if (!e->hold) return;
    check_number(e, s, PROMISE_PANELS, N_BRICKS, e->hold[plot].bricks);
    check_structure(e, s, &e->hold[plot]);
}

static void weigh_plots(const PlanFacts *e, Mass *mass)
{
    for (size_t i = 0; i < e->blocks && e->weighed; i++) {
        const Block *b = &e->block[i];
        const Plot *p = &e->plot[b->plot];
        const double kg = e->mass_g[b->format] / 1000;
        Mass *m = &mass[b->plot];
        m->kg += kg;
        m->off += e->mass_off[b->format] / 1000;
        m->moment[0] += kg * (b->column + b->columns / 2.0 - p->column) * e->cell_mm[0];
        m->moment[1] += kg * (b->row + b->rows / 2.0 - p->row) * e->cell_mm[1];
        m->moment[2] += kg * (b->tier + b->tiers / 2.0) * e->step_mm;
    }
    const size_t cells = (size_t)e->columns * (size_t)e->rows;
    for (size_t i = 0; i < cells; i++) {
        Mass *m = &mass[e->plot_of[i]];
        if (e->top[i] > m->deepest) m->deepest = e->top[i];
    }
}

/* A brick lies across a wall where it is deeper than long, or as deep as the wall. The first cell
 * of a panel's course stands for it: `across` is true where the course has such a brick. */
static void count_headers(const PlanFacts *e, bool *across, Mass *mass)
{
    for (size_t i = 0; i < e->blocks; i++) {
        const Block *b = &e->block[i];
        if (b->tiers < 2 || (b->tiers <= b->columns && b->tiers < e->base)) continue;
        mass[b->plot].headers++;
        across[(size_t)b->row * (size_t)e->columns + (size_t)e->plot[b->plot].column] = true;
    }
    for (size_t i = 0; i < e->plots; i++)
        for (int row = e->plot[i].row; row < e->plot[i].row + e->plot[i].rows; row++)
            mass[i].bare += !across[(size_t)row * (size_t)e->columns + (size_t)e->plot[i].column];
}

#define USE_OFF 1e-6 /* panels.csv has six places */

/* The largest of a column so far; -1: there is none. */
static double larger_field(const CsvStream *s, const char *name, double most)
{
    const int column = csv_stream_column(s, name);
    double said;
    int places;
    if (column < 0 || !field_decimal(s->field[column], &said, &places)) return most;
    return fmax(most, said);
}

/* What plan.json says of joints must be what panels.csv says, and no panel may come apart. */
static void check_uses(PlanFacts *e, double most_hanging)
{
    const json_t *measures = json_object_get(e->plan, "measures");
    const double hanging = json_number_value(json_object_get(measures, "use_hanging"));
    const json_int_t apart = json_integer_value(json_object_get(measures, "coming_apart"));
    if (apart)
        verdict_broken(
            e->verdict, PROMISE_HOLDS,
            "plan.json: measures: coming_apart is %lld, panels of which a joint is asked "
            "for more than it holds, must be 0",
            (long long)apart);
    if (most_hanging >= 0 && fabs(hanging - most_hanging) > USE_OFF)
        verdict_broken(e->verdict, PROMISE_PANELS,
                       "plan.json: measures: use_hanging is %.6g, but the most in panels.csv is "
                       "%.6g",
                       hanging, most_hanging);
}

static Status walk_panels(PlanFacts *e, CsvStream *s, bool *listed, const Mass *mass, Fault *fault)
{
    bool more;
    Status status;
    double hanging = -1;
    while (!(status = csv_stream_next(s, &more, fault)) && more) {
        check_panel(e, s, listed, mass);
        hanging = larger_field(s, "use_hanging", hanging);
    }
    if (!status) check_uses(e, hanging);
    for (size_t i = 0; i < e->plots && !status; i++)
        if (!listed[i])
            verdict_broken(e->verdict, PROMISE_PANELS, "panels.csv: %s: missing", e->plot[i].name);
    return status;
}

Status check_panels(PlanFacts *e, Fault *fault)
{
    CsvStream stream;
    bool open;
    if (!e->tiled) return STATUS_OK;
    Status status = e->sound ? check_hold(e, fault) : STATUS_OK;
    if (status) return status;
    status =
        open_table(e, &stream, &(Heading){"panels.csv", panel_column, N_COUNT, true}, &open, fault);
    if (status || !open) return status;
    Mass *mass = memory_create(e->plots, sizeof *mass);
    bool *listed = memory_create(e->plots, sizeof *listed);
    bool *across = memory_create((size_t)e->columns, (size_t)e->rows);
    if (mass && listed && across) {
        weigh_plots(e, mass);
        if (e->wall && e->sound) count_headers(e, across, mass);
        status = walk_panels(e, &stream, listed, mass, fault);
    } else {
        status = memory_fault(fault, e->plots, sizeof *mass);
    }
    memory_free(across);
    memory_free(mass);
    memory_free(listed);
    csv_stream_close(&stream);
    return status;
}
