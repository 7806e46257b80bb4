/* Nothing in the two lists is believed: each panel and brick is held against the mural as it is
 * read, and each unit of the solid is marked once a brick fills it, so that no unit can be
 * filled twice and those that are left over can be counted. Sizes are told by their names. */
#include "plan/brick_list.h"

#include "base/csv_stream.h"
#include "base/memory.h"
#include "base/name_table.h"

#include <stdio.h>
#include <string.h>

/* Of a brick, each way, and of a solid: what Brick has room for, or less. */
enum { EXTENT_MOST = 64, TIERS_MOST = 255 };

static Status wrong(const BrickList *list, const CsvStream *s, const char *what, Fault *fault)
{
    return fault_set(fault, STATUS_DATA, "%s/%s:%d: %s; restore the plan from a copy", list->folder,
                     s->name, s->line, what);
}

/* The columns by their names; a fault where one is not there. */
static Status find_columns(const BrickList *list, const CsvStream *s, const char *const *name,
                           int columns, int *at_out, Fault *fault)
{
    for (int i = 0; i < columns; i++)
        if ((at_out[i] = csv_stream_column(s, name[i])) < 0)
            return wrong(list, s, "a column is missing", fault);
    return STATUS_OK;
}

static bool take_whole_number(const CsvStream *s, int column, long least, long most, int *value_out)
{
    long value;
    if (!field_whole(s->field[column], least, most, &value)) return false;
    *value_out = (int)value;
    return true;
}

/* ---- panels ---- */

enum { N_PANEL, N_COLUMN, N_ROW, N_COLUMNS, N_ROWS, N_COUNT };

static Status take_panel(const BrickList *list, const CsvStream *s, const int *at, Panel *p,
                         Fault *fault)
{
    const Grid *grid = list->solid->grid;
    const char *name = s->field[at[N_PANEL]];
    if (!*name || strlen(name) >= sizeof p->name ||
        !take_whole_number(s, at[N_COLUMN], 1, grid->columns, &p->column) ||
        !take_whole_number(s, at[N_ROW], 1, grid->rows, &p->row) ||
        !take_whole_number(s, at[N_COLUMNS], 1, grid->columns, &p->columns) ||
        !take_whole_number(s, at[N_ROWS], 1, grid->rows, &p->rows))
        return wrong(list, s, "no panel of the mural", fault);
    strcpy(p->name, name);
    p->column--;
    p->row--;
    return STATUS_OK;
}

static int least(int a, int b) { return a < b ? a : b; }

/* Whether the panel is named by its place, which counts from 0. */
static bool is_named(const Panel *p, int band, int in_band)
{
    char name[sizeof p->name];
    snprintf(name, sizeof name, "r%uc%u", (unsigned)band + 1, (unsigned)in_band + 1);
    return !strcmp(p->name, name);
}

/* Whether all panels but the last of a row or column are of one size. Panels without a list of
 * bands must be: panels_at divides by that size. */
static bool are_equal(Panels *panels, const Grid *grid)
{
    if (!panels->count) return false;
    const Panel *p = panels->panel;
    const int columns = p->columns, rows = p->rows;
    panels->across = (grid->columns + columns - 1) / columns;
    panels->up = (grid->rows + rows - 1) / rows;
    if ((long)panels->across * panels->up != panels->count) return false;
    for (int i = 0; i < panels->count; i++, p++) {
        const int column = i % panels->across * columns, row = i / panels->across * rows;
        if (p->column != column || p->row != row ||
            p->columns != least(columns, grid->columns - column) ||
            p->rows != least(rows, grid->rows - row) ||
            !is_named(p, i / panels->across, i % panels->across))
            return false;
    }
    return true;
}

/* Whether the panels lie in bands from side to side of the mural; lists where each begins. */
static bool lie_in_bands(Panels *panels, const Grid *grid)
{
    const Panel *p = panels->panel;
    int column = 0, row = 0, rows = 0;
    panels->across = panels->up = 0;
    for (int i = 0; i < panels->count; i++, p++) {
        if (column == 0) {
            panels->band[panels->up++] = i;
            rows = p->rows;
        }
        const int in_band = i - panels->band[panels->up - 1];
        if (p->column != column || p->row != row || p->rows != rows ||
            p->columns > grid->columns - column || !is_named(p, panels->up - 1, in_band))
            return false;
        if (in_band >= panels->across) panels->across = in_band + 1;
        column += p->columns;
        if (column < grid->columns) continue;
        row += rows;
        column = 0;
    }
    panels->band[panels->up] = panels->count;
    return column == 0 && row == grid->rows;
}

static Status recognise_cut(Panels *panels, const Grid *grid, bool *found_out, Fault *fault)
{
    const size_t most = (size_t)panels->count + 1;
    *found_out = are_equal(panels, grid);
    if (*found_out) return STATUS_OK;
    panels->band = memory_create(most, sizeof *panels->band);
    if (!panels->band) return memory_fault(fault, most, sizeof *panels->band);
    *found_out = lie_in_bands(panels, grid);
    return STATUS_OK;
}

Status brick_list_panels(const BrickList *list, Panels *panels_out, Fault *fault)
{
    static const char *const name[N_COUNT] = {"panel", "column", "row", "columns", "rows"};
    CsvStream stream;
    Status status = csv_stream_open(&stream, list->folder, "panels.csv", fault);
    if (status) return status;
    int at[N_COUNT];
    size_t capacity = 0;
    bool more = true, tiled = true;
    Panels panels = {0};
    status = find_columns(list, &stream, name, N_COUNT, at, fault);
    while (!status && !(status = csv_stream_next(&stream, &more, fault)) && more) {
        const size_t count = (size_t)panels.count;
        status = memory_grow(&panels.panel, &capacity, count + 1, sizeof *panels.panel, fault);
        if (!status) status = take_panel(list, &stream, at, &panels.panel[panels.count++], fault);
    }
    if (!status) status = recognise_cut(&panels, list->solid->grid, &tiled, fault);
    if (!status && !tiled) status = wrong(list, &stream, "the panels do not tile the mural", fault);
    csv_stream_close(&stream);
    if (status)
        panels_clear(&panels);
    else
        *panels_out = panels;
    return status;
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

typedef struct Reading {
    const BrickList *list;
    const Panels *panels;
    Sizes *sizes;
    NameTable panel, colour, size; /* by name */
    uint8_t *filled;               /* tiers x rows x columns: 1 once a brick is there */
    size_t left;                   /* units of the solid without one */
} Reading;

/* Finds the size of this name, or enters it in the set; false where the brick's sides a and b
 * are not those of the size. */
static bool take_size(Reading *r, const char *name, int a, int b, uint8_t *size_out)
{
    Sizes *sizes = r->sizes;
    int wide, long_;
    long at = name_table_find(&r->size, name);
    if (at < 0) {
        if (sizes->count == SIZES_MOST || !size_parse(name, &wide, &long_) ||
            strlen(name) >= sizeof sizes->size->name || sizes_find(sizes, wide, long_) >= 0)
            return false;
        Size *s = &sizes->size[at = sizes->count++];
        strcpy(s->name, name);
        s->width = least(wide, long_);
        s->length = wide + long_ - s->width;
        name_table_enter(&r->size, s->name, (uint32_t)at);
    }
    *size_out = (uint8_t)at;
    return sizes->size[at].width == least(a, b) && sizes->size[at].length == a + b - least(a, b);
}

/* Fills the brick's units; false where one is not in the solid, is filled already, or shows
 * a cell of another colour. */
static bool fill(Reading *r, const Brick *b)
{
    const Solid *solid = r->list->solid;
    const Grid *grid = solid->grid;
    bool shown = false;
    for (int tier = b->tier; tier < b->tier + b->tiers; tier++)
        for (int row = b->row; row < b->row + b->rows; row++)
            for (int column = b->column; column < b->column + b->columns; column++) {
                if (tier >= solid_top(solid, column, row)) return false;
                uint8_t *unit = &r->filled[solid_unit(solid, column, row, tier)];
                if (*unit) return false;
                *unit = 1;
                r->left--;
                if (!solid_shown(solid, column, row, tier)) continue;
                shown = true;
                if (grid_colour(grid, column, row) != b->colour) return false;
            }
    return shown == (b->shown == 1);
}

static bool take_brick(Reading *r, const CsvStream *s, const int *at, Brick *b)
{
    const long panel = name_table_find(&r->panel, s->field[at[B_PANEL]]);
    const long colour = name_table_find(&r->colour, s->field[at[B_COLOUR]]);
    int column, row, tier, columns, rows, tiers, shown;
    if (panel < 0 || colour < 0) return false;
    const Panel *p = &r->panels->panel[panel];
    if (!take_whole_number(s, at[B_COLUMN], p->column + 1, p->column + p->columns, &column) ||
        !take_whole_number(s, at[B_ROW], p->row + 1, p->row + p->rows, &row) ||
        !take_whole_number(s, at[B_TIER], 1, TIERS_MOST, &tier) ||
        !take_whole_number(s, at[B_COLUMNS], 1,
                           least(EXTENT_MOST, p->column + p->columns + 1 - column), &columns) ||
        !take_whole_number(s, at[B_ROWS], 1, least(EXTENT_MOST, p->row + p->rows + 1 - row),
                           &rows) ||
        !take_whole_number(s, at[B_TIERS], 1, EXTENT_MOST, &tiers) ||
        !take_whole_number(s, at[B_SHOWN], 0, 1, &shown))
        return false;
    const bool wall = r->list->solid->build == BUILD_WALL;
    *b = (Brick){.column = column - 1,
                 .row = row - 1,
                 .panel = (int32_t)panel,
                 .tier = (uint8_t)(tier - 1),
                 .columns = (uint8_t)columns,
                 .rows = (uint8_t)rows,
                 .tiers = (uint8_t)tiers,
                 .colour = (uint8_t)colour,
                 .shown = (uint8_t)shown};
    return (wall ? rows : tiers) == 1 &&
           take_size(r, s->field[at[B_SIZE]], columns, wall ? tiers : rows, &b->size) && fill(r, b);
}

static Status reading_init(Reading *r, Fault *fault)
{
    const Grid *grid = r->list->solid->grid;
    const Palette *palette = r->list->palette;
    const size_t cells = (size_t)grid->columns * (size_t)grid->rows;
    r->filled = memory_create(cells, (size_t)solid_depth(r->list->solid));
    if (!r->filled) return memory_fault(fault, cells, (size_t)solid_depth(r->list->solid));
    for (int row = 0; row < grid->rows; row++)
        for (int column = 0; column < grid->columns; column++)
            r->left += (size_t)solid_top(r->list->solid, column, row);
    Status status = name_table_init(&r->panel, (size_t)r->panels->count, fault);
    if (!status) status = name_table_init(&r->colour, PALETTE_MOST, fault);
    if (!status) status = name_table_init(&r->size, SIZES_MOST, fault);
    for (int i = 0; !status && i < r->panels->count; i++)
        name_table_enter(&r->panel, r->panels->panel[i].name, (uint32_t)i);
    for (int i = 0; !status && i < palette->count; i++)
        name_table_enter(&r->colour, palette->colour[i].id, (uint32_t)i);
    return status;
}

static void reading_clear(Reading *r)
{
    memory_free(r->filled);
    name_table_clear(&r->panel);
    name_table_clear(&r->colour);
    name_table_clear(&r->size);
}

static Status read_rows(Reading *r, CsvStream *s, Laid *laid, Fault *fault)
{
    static const char *const name[B_COUNT] = {"panel", "column", "row",  "tier",   "columns",
                                              "rows",  "tiers",  "size", "colour", "shown"};
    int at[B_COUNT];
    bool more = true;
    Status status = find_columns(r->list, s, name, B_COUNT, at, fault);
    while (!status && !(status = csv_stream_next(s, &more, fault)) && more) {
        Brick brick;
        if (!take_brick(r, s, at, &brick))
            return wrong(r->list, s, "no brick that fits the plan's solid and cells", fault);
        status = laid_add(laid, &brick, fault);
    }
    if (!status && r->left != r->list->left_out)
        status = wrong(r->list, s, "the bricks do not fill the mural", fault);
    return status;
}

/* The units of the solid that are in no brick. They take the place of the marks of those that
 * are, so that no second field is needed. */
static uint8_t *hand_over_left_out(Reading *r)
{
    const Solid *solid = r->list->solid;
    const int depth = solid_depth(solid);
    uint8_t *left_out = r->left ? r->filled : NULL;
    for (int row = 0; left_out && row < solid->grid->rows; row++)
        for (int column = 0; column < solid->grid->columns; column++)
            for (int tier = 0; tier < depth; tier++) {
                uint8_t *unit = &left_out[solid_unit(solid, column, row, tier)];
                *unit = !*unit && tier < solid_top(solid, column, row);
            }
    if (left_out) r->filled = NULL;
    return left_out;
}

Status brick_list_read(const BrickList *list, const Panels *panels, Sizes *sizes_out,
                       Laid *laid_out, uint8_t **left_out_out, Fault *fault)
{
    CsvStream stream;
    Reading reading = {.list = list, .panels = panels, .sizes = sizes_out};
    Status status = csv_stream_open(&stream, list->folder, "bricks.csv", fault);
    if (status) return status;
    status = reading_init(&reading, fault);
    if (!status) status = read_rows(&reading, &stream, laid_out, fault);
    if (!status) laid_sort(laid_out, list->solid->build == BUILD_WALL);
    if (!status) *left_out_out = hand_over_left_out(&reading);
    reading_clear(&reading);
    csv_stream_close(&stream);
    return status;
}
