/* The list names panels, rows and files of bricks; from it follow the bricks that stand and the
 * cells that they cover. A brick stands whole: one that begins in a row that is built stands also
 * where it reaches into the next. Colours and sizes are those of the earlier plan until they are
 * said in the words of a new one: colours by their id, sizes by their sides and name. */
#include "plan/built_part.h"

#include "base/memory.h"
#include "base/text.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* The panels, rows and bricks that the list names: a mark for each. */
typedef struct Named {
    const EarlierPlan *earlier;
    bool *panel, *row, *brick;
    bool told; /* a file was among them */
    int up_to; /* the last row that was named as a single number, which means all up to it; or 0 */
} Named;

/* ---- the list ---- */

static bool name_panel(Named *n, const char *name, size_t length)
{
    const Panels *panels = &n->earlier->panels;
    for (int i = 0; i < panels->count; i++)
        if (strlen(panels->panel[i].name) == length &&
            !strncmp(panels->panel[i].name, name, length))
            return n->panel[i] = true;
    return false;
}

/* A number of one to six digits. */
static bool take_row(const char **text, const char *end, long *row_out)
{
    const char *start = *text;
    for (*row_out = 0; *text < end && isdigit((unsigned char)**text) && *text - start < 6; ++*text)
        *row_out = 10 * *row_out + (**text - '0');
    return *text > start;
}

/* "40" or "1-40": what the list means by rows, whether the mural has them or not. A single number
 * means all rows up to it: who says that 40 rows stand must not have 39 of them planned anew. */
static bool take_rows(const char *item, const char *end, long *first_out, long *last_out)
{
    if (!take_row(&item, end, last_out)) return false;
    *first_out = *last_out < 1 ? *last_out : 1;
    if (item < end && *item == '-') {
        *first_out = *last_out;
        item++;
        if (!take_row(&item, end, last_out)) return false;
    }
    return item == end;
}

/* No name of a panel has a point or a slash in it, and a file's path has one. */
static bool is_path(const char *item, size_t length)
{
    return memchr(item, '.', length) || memchr(item, '/', length);
}

static Status name_file(Named *n, const char *item, size_t length, Fault *fault)
{
    char path[JOB_TEXT];
    if (length >= sizeof path)
        return fault_set(fault, STATUS_USAGE,
                         "--built: a path of %zu bytes is too long; give one of up to %zu", length,
                         sizeof path - 1);
    memcpy(path, item, length);
    path[length] = '\0';
    n->told = true;
    return told_bricks_mark(n->earlier, path, n->brick, fault);
}

static Status name_item(Named *n, const char *item, size_t length, Fault *fault)
{
    char word[64], clip[TEXT_CLIP];
    const EarlierPlan *e = n->earlier;
    const Panel *last = &e->panels.panel[e->panels.count - 1];
    long from, to;
    if (name_panel(n, item, length)) return STATUS_OK;
    if (is_path(item, length)) return name_file(n, item, length, fault);
    snprintf(word, sizeof word, "%.*s", (int)(length < 60 ? length : 60), item);
    if (!take_rows(item, item + length, &from, &to))
        return fault_set(fault, STATUS_USAGE,
                         "--built: '%s' is no panel; give panels, %s to %s, or rows, 1-%d, or a "
                         "file that book.html saved",
                         text_clip(clip, word), e->panels.panel->name, last->name, e->grid.rows);
    if (from < 1 || to < from || to > e->grid.rows)
        return fault_set(fault, STATUS_USAGE,
                         "--built: '%s' are no rows of the mural; give some of 1-%d, from the "
                         "bottom up",
                         text_clip(clip, word), e->grid.rows);
    memset(n->row + from - 1, true, (size_t)(to - from + 1));
    if (!memchr(item, '-', length) && to > n->up_to) n->up_to = (int)to;
    return STATUS_OK;
}

static Status name_items(Named *n, const char *list, Fault *fault)
{
    bool any = false;
    for (const char *item = list; *item;) {
        size_t length = strcspn(item, ",");
        const char *next = item + length + (item[length] == ',');
        for (; length && isspace((unsigned char)*item); length--) item++;
        while (length && isspace((unsigned char)item[length - 1])) length--;
        const Status status = length ? name_item(n, item, length, fault) : STATUS_OK;
        if (status) return status;
        any |= length > 0;
        item = next;
    }
    if (any) return STATUS_OK;
    return fault_set(
        fault, STATUS_USAGE,
        "--built: nothing is named; give panels, such as %s, or rows, such as 1-%d, or "
        "a file that book.html saved",
        n->earlier->panels.panel->name, n->earlier->panels.panel->rows);
}

/* ---- what can stand ---- */

static int deepest(const EarlierPlan *e, const Panel *p)
{
    int depth = 0;
    for (int row = p->row; row < p->row + p->rows; row++)
        for (int column = p->column; column < p->column + p->columns; column++) {
            const int top = solid_top(&e->solid, column, row);
            if (top > depth) depth = top;
        }
    return depth;
}

/* Whether a panel can be built in part as the list says. A wall's courses stand on each other,
 * so none may be missing below one that is built. A plaque in relief is built tier by tier, so
 * its rows cannot be built one by one. */
static Status check_part(const Named *n, const Panel *p, Fault *fault)
{
    const EarlierPlan *e = n->earlier;
    int rows = 0, lowest = -1;
    for (int row = p->row; row < p->row + p->rows; row++) {
        if (!n->row[row]) continue;
        if (lowest < 0) lowest = row;
        rows++;
    }
    if (!rows || rows == p->rows) return STATUS_OK;
    if (e->solid.build == BUILD_WALL && (lowest > p->row || !n->row[p->row + rows - 1])) {
        int gap = p->row;
        while (n->row[gap]) gap++;
        return fault_set(fault, STATUS_USAGE,
                         "--built: course %d of panel %s is not built, and others stand above it; "
                         "begin with course %d",
                         gap + 1, p->name, p->row + 1);
    }
    if (e->solid.build == BUILD_PLAQUE && deepest(e, p) > 1)
        return fault_set(fault, STATUS_USAGE,
                         "--built: panel %s is in relief and built tier by tier, not row by row; "
                         "name it whole, or leave out its rows %d-%d",
                         p->name, p->row + 1, p->row + p->rows);
    return STATUS_OK;
}

/* The cells of which the brick shows something keep their colour, which is its own. A brick of a
 * relief of which only lower tiers stand may show nothing of a cell. */
static void keep_cells(BuiltPart *s, const Brick *b)
{
    const Solid *solid = &s->earlier->solid;
    for (int tier = b->tier; tier < b->tier + b->tiers; tier++)
        for (int row = b->row; row < b->row + b->rows; row++)
            for (int column = b->column; column < b->column + b->columns; column++)
                if (solid_shown(solid, column, row, tier))
                    s->cell[(size_t)row * (size_t)solid->grid->columns + (size_t)column] = true;
}

static Status gather(BuiltPart *s, const Named *n, Fault *fault)
{
    const EarlierPlan *e = n->earlier;
    Status status = STATUS_OK;
    for (int i = 0; !status && i < e->panels.count; i++)
        if (!n->panel[i]) status = check_part(n, &e->panels.panel[i], fault);
    for (size_t i = 0; !status && i < e->laid.count; i++) {
        const Brick *b = &e->laid.brick[i];
        n->brick[i] = n->brick[i] || n->panel[b->panel] || n->row[b->row];
    }
    if (!status && n->told) status = told_bricks_settle(e, n->brick, &s->loose, fault);
    for (size_t i = 0; !status && i < e->laid.count; i++) {
        const Brick *b = &e->laid.brick[i];
        if (!n->brick[i]) continue;
        status = laid_add(&s->laid, b, fault);
        keep_cells(s, b);
    }
    return status;
}

Status built_part_init(BuiltPart *s, const EarlierPlan *earlier, const char *list, Fault *fault)
{
    const size_t panels = (size_t)earlier->panels.count, rows = (size_t)earlier->grid.rows,
                 columns = (size_t)earlier->grid.columns;
    *s = (BuiltPart){.earlier = earlier, .cell = memory_create(rows, columns)};
    Named named = {.earlier = earlier,
                   .panel = memory_create(panels, sizeof(bool)),
                   .row = memory_create(rows, sizeof(bool)),
                   .brick = memory_create(earlier->laid.count, sizeof(bool))};
    Status status = s->cell && named.panel && named.row && named.brick
                        ? STATUS_OK
                        : memory_fault(fault, rows, columns);
    if (!status) status = name_items(&named, list, fault);
    if (!status) status = gather(s, &named, fault);
    s->up_to = named.up_to;
    memory_free(named.panel);
    memory_free(named.row);
    memory_free(named.brick);
    return status;
}

void built_part_clear(BuiltPart *s)
{
    laid_clear(&s->laid);
    memory_free(s->cell);
    *s = (BuiltPart){0};
}

void built_part_note(const BuiltPart *s, const Voice *voice)
{
    const EarlierPlan *e = s->earlier;
    if (s->up_to > 1)
        voice_note(voice, "built: %d means rows 1-%d; row %d alone is %d-%d", s->up_to, s->up_to,
                   s->up_to, s->up_to, s->up_to);
    if (!s->loose.count) return;
    const Brick *b = &s->loose.first;
    voice_note(voice,
               "built: %zu bricks that are laid cannot stay, since what comes below or beside them "
               "is planned anew; take them off: the first is in panel %s, row %d, tier %d",
               s->loose.count, e->panels.panel[b->panel].name, b->row + 1, b->tier + 1);
}

/* ---- in the words of the new plan ---- */

static void find_used(const BuiltPart *s, bool used[PALETTE_MOST])
{
    memset(used, false, PALETTE_MOST * sizeof *used);
    for (size_t i = 0; i < s->laid.count; i++) used[s->laid.brick[i].colour] = true;
}

Status built_part_add_colours(const BuiltPart *s, Palette *palette, Fault *fault)
{
    bool used[PALETTE_MOST];
    find_used(s, used);
    for (int c = 0; c < s->earlier->palette.count; c++) {
        const Colour *colour = &s->earlier->palette.colour[c];
        if (!used[c] || palette_find(palette, colour->id) >= 0) continue;
        if (palette->count == PALETTE_MOST)
            return fault_set(fault, STATUS_DATA,
                             "--palette: with the colours of what stands there are more than %d; "
                             "take some out",
                             PALETTE_MOST);
        palette->colour[palette->count++] = *colour;
    }
    return STATUS_OK;
}

/* Whether two colours are one but for rounding: plan.json has fewer digits than a palette may
 * have. */
static bool same_value(const Lab *a, const Lab *b)
{
    const double rounding = 1e-3;
    return fabs(a->L - b->L) < rounding && fabs(a->a - b->a) < rounding &&
           fabs(a->b - b->b) < rounding;
}

void built_part_note_values(const BuiltPart *s, const Palette *palette, const Voice *voice)
{
    enum { NAMED = 8 };
    bool used[PALETTE_MOST];
    char ids[NAMED * 8] = "";
    int others = 0;
    find_used(s, used);
    for (int c = 0; c < s->earlier->palette.count; c++) {
        const Colour *was = &s->earlier->palette.colour[c];
        const int now = used[c] ? palette_find(palette, was->id) : -1;
        if (now < 0) continue;
        if (same_value(&was->lab, &palette->colour[now].lab)) continue;
        if (others++ >= NAMED) continue;
        const size_t length = strlen(ids);
        snprintf(ids + length, sizeof ids - length, "%s%s", length ? ", " : "", was->id);
    }
    if (others)
        voice_note(voice,
                   "palette: %d of the colours that stand have other values in it than they were "
                   "planned with, %s%s; what stands is seen at the new ones",
                   others, ids, others > NAMED ? " and more" : "");
}

Status built_part_bricks(const BuiltPart *s, const Palette *palette, const Sizes *sizes,
                         Laid *laid_out, Fault *fault)
{
    for (size_t i = 0; i < s->laid.count; i++) {
        Brick b = s->laid.brick[i];
        const Size *was = &s->earlier->sizes.size[b.size];
        const int size = sizes_find(sizes, was->width, was->length);
        if (size < 0 || strcmp(sizes->size[size].name, was->name))
            return fault_set(fault, STATUS_DATA,
                             "--bricks: the set has no %s, of which bricks stand; plan with the "
                             "set that they are of",
                             was->name);
        b.size = (uint8_t)size;
        b.colour = (uint8_t)palette_find(palette, s->earlier->palette.colour[b.colour].id);
        const Status status = laid_add(laid_out, &b, fault);
        if (status) return status;
    }
    return STATUS_OK;
}

long built_part_colour(const BuiltPart *s, const Palette *palette, Grid *grid)
{
    int now[PALETTE_MOST];
    long others = 0;
    for (int c = 0; c < s->earlier->palette.count; c++)
        now[c] = palette_find(palette, s->earlier->palette.colour[c].id);
    for (size_t i = 0, n = grid_cells(grid); i < n; i++) {
        if (!s->cell[i]) continue;
        const int colour = now[s->earlier->grid.colour[i]];
        others += grid->colour[i] != colour;
        grid->colour[i] = (uint8_t)colour;
    }
    return others;
}
