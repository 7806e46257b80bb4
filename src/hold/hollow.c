/* Pockets behind the face, in a regular pattern, filled again where they cannot be.
 *
 * Idea. A unit may be left out if more than `shell` units part it, along each axis and over
 * corners (the box sense), from all that is not its panel's solid: from the air before the
 * face and beside the flanks, from what is behind the back and beyond the panel's edges. Of
 * these units, pockets are left out. A wall keeps every sixth course as headers that tie its
 * leaves, and piers of two columns between pockets; a plaque keeps ribs. No pocket is wider than
 * the longest brick bridges with a unit of bearing at either end. What lies over a pocket is laid
 * as corbels or lintels (bricks/wall/corbel.h); where no brick can, the pocket is filled that far.
 *
 * Invariants. The shell is `shell` units thick everywhere, and nothing that is left out can be
 * seen. Once settled, all that hangs over a pocket is carried. Units are only ever filled, so that
 * settling ends. On a mural under way the pockets are those of the earlier plan: they stay as they
 * are in the layers of a panel that stand, and may be filled in those above.
 *
 * Source. Headers in every sixth course: common (American) bond, common practice, no source. The
 * pattern's sizes are ours, see below. */
#include "hold/hollow.h"

#include "base/memory.h"
#include "bricks/wall/corbel.h"

#include <limits.h>
#include <string.h>

/* Of the pattern, in units; ours. */
enum {
    RIB = 2,               /* between pockets, so that bricks from either side find a bearing */
    LONGEST_SPAN = 6,      /* of a pocket, across */
    LONGEST_POCKET = 14,   /* along the columns */
    TALLEST_POCKET = 5,    /* courses; then one of headers: common bond */
    SMALLEST_SECTION = 40, /* of a pocket in one layer; a smaller one is filled. By trial */
    MEND_REACH = 16        /* around a flaw, within which pockets are filled */
};

/* The pockets of one panel after the other. */
typedef struct Carving {
    Hollow *hollow;
    const Solid *solid;
    const Panels *panels;
    Cuts cuts;
    int span; /* of a pocket, units; 0: no brick bridges any */
    /* The panel in hand: */
    const Panel *panel;
    Corbel corbel;
    int stand;     /* layers; see Hollow */
    Course course; /* scratch */
} Carving;

/* The widest pocket that some brick bridges. */
static int span_of(const Cuts *cuts)
{
    const int span = cuts->longest - 2;
    return span < 0 ? 0 : span > LONGEST_SPAN ? LONGEST_SPAN : span;
}

static uint8_t *left_out_at(const Carving *k, int layer, int x, int v)
{
    const bool wall = k->solid->build == BUILD_WALL;
    const int row = k->panel->row + (wall ? layer : v);
    return &k->hollow->left_out[solid_unit(k->solid, k->panel->column + x, row, wall ? v : layer)];
}

/* ---- what may be left out ---- */

/* The least of each 2 reach + 1 values of a line, within it. */
static void least_around(const uint16_t *from, uint16_t *to, int count, size_t stride, int reach)
{
    for (int i = 0; i < count; i++) {
        const int begin = i < reach ? 0 : i - reach;
        const int end = i + reach < count ? i + reach + 1 : count;
        uint16_t least = UINT16_MAX;
        for (int j = begin; j < end; j++)
            if (from[(size_t)j * stride] < least) least = from[(size_t)j * stride];
        to[(size_t)i * stride] = least;
    }
}

/* Within a panel, the fewest tiers of all cells in reach of each. */
static void find_least(const Carving *k, uint16_t *top, uint16_t *least)
{
    const int columns = k->panel->columns, rows = k->panel->rows;
    const size_t wide = (size_t)columns;
    for (int y = 0; y < rows; y++) {
        for (int x = 0; x < columns; x++)
            least[(size_t)y * wide + (size_t)x] =
                (uint16_t)solid_top(k->solid, k->panel->column + x, k->panel->row + y);
        least_around(least + (size_t)y * wide, top + (size_t)y * wide, columns, 1,
                     k->hollow->shell);
    }
    for (int x = 0; x < columns; x++)
        least_around(top + x, least + x, rows, wide, k->hollow->shell);
}

/* Whether a place of the pattern is a pocket's: places count from the shell on. */
static bool in_pocket(int place, int pocket, int rib)
{
    return place >= 0 && place % (pocket + rib) < pocket;
}

static bool is_pocket(const Carving *k, int column, int row, int tier)
{
    const int shell = k->hollow->shell;
    if (!in_pocket(column - shell, LONGEST_POCKET, RIB)) return false;
    if (k->solid->build == BUILD_PLAQUE) return in_pocket(row - shell, k->span, RIB);
    return in_pocket(row - shell, TALLEST_POCKET, 1) && in_pocket(tier - shell, k->span, RIB);
}

static Status leave_out_pockets(Carving *k, Fault *fault)
{
    const int columns = k->panel->columns, rows = k->panel->rows, shell = k->hollow->shell;
    const size_t cells = (size_t)columns * (size_t)rows;
    uint16_t *top = memory_create(cells, sizeof *top), *least = memory_create(cells, sizeof *top);
    if (top && least) {
        find_least(k, top, least);
        for (int y = shell; y < rows - shell; y++)
            for (int x = shell; x < columns - shell; x++)
                for (int t = shell; t + shell < least[(size_t)y * (size_t)columns + (size_t)x]; t++)
                    if (is_pocket(k, x, y, t))
                        k->hollow->left_out[solid_unit(k->solid, k->panel->column + x,
                                                       k->panel->row + y, t)] = 1;
    }
    const Status status = top && least ? STATUS_OK : memory_fault(fault, cells, sizeof *top);
    memory_free(top);
    memory_free(least);
    return status;
}

/* ---- what must be filled again ---- */

/* Fills the units of columns [a,b), second axis [c,d) of a layer; the number filled. */
static int fill_box(Carving *k, int layer, int a, int b, int c, int d)
{
    int filled = 0;
    const Corbel *corbel = &k->corbel;
    if (layer < k->stand || layer >= corbel->layers) return 0;
    for (int v = c < 0 ? 0 : c; v < d && v < corbel->depth; v++)
        for (int x = a < 0 ? 0 : a; x < b && x < k->panel->columns; x++) {
            uint8_t *unit = left_out_at(k, layer, x, v);
            filled += *unit;
            *unit = 0;
        }
    return filled;
}

static int floor_to(int place, int from, int period) { return place - (place - from) % period; }

/* Takes one layer off the pocket that is under a unit, or over it in the lowest course. */
static int fill_pocket(Carving *k, int holder, int x, int v)
{
    const int shell = k->hollow->shell;
    const int a = floor_to(x, shell, LONGEST_POCKET + RIB), c = floor_to(v, shell, k->span + RIB);
    return fill_box(k, holder, a, a + LONGEST_POCKET, c, c + k->span);
}

/* What a layer leaves out between the piers and ribs around a place. */
typedef struct Section {
    int units;
    int a, b, c, d; /* within columns [a,b), second axis [c,d) */
} Section;

static Section section_at(const Carving *k, int layer, int x, int v)
{
    Section s = {.a = k->panel->columns, .c = k->corbel.depth};
    for (int j = v; j < v + k->span && j < k->corbel.depth; j++)
        for (int i = x; i < x + LONGEST_POCKET && i < k->panel->columns; i++) {
            if (!*left_out_at(k, layer, i, j)) continue;
            s.units++;
            s.a = i < s.a ? i : s.a;
            s.b = i < s.b ? s.b : i + 1;
            s.c = j < s.c ? j : s.c;
            s.d = j < s.d ? s.d : j + 1;
        }
    return s;
}

/* Small and ragged sections are filled: the bricks around them outnumber those that they
 * save. */
static bool saves_bricks(Section s)
{
    const bool plain = s.units == (s.b - s.a) * (s.d - s.c);
    return s.units >= SMALLEST_SECTION || (plain && s.b - s.a == LONGEST_POCKET);
}

static void drop_small(Carving *k)
{
    const int shell = k->hollow->shell;
    for (int layer = 0; layer < k->corbel.layers; layer++)
        for (int v = shell; v < k->corbel.depth; v += k->span + RIB)
            for (int x = shell; x < k->panel->columns; x += LONGEST_POCKET + RIB)
                if (!saves_bricks(section_at(k, layer, x, v))) fill_pocket(k, layer, x, v);
}

/* Fills all that a layer and the one that holds it leave out: what hangs there still is no
 * worse off than in a solid. */
static int fill_layers(Carving *k, int layer)
{
    int filled = 0;
    for (int i = layer - 1; i <= layer + (layer == 0); i++)
        filled += fill_box(k, i, 0, k->panel->columns, 0, k->corbel.depth);
    return filled;
}

/* Fills what would have carried the hanging units of a layer; the number of units filled. A
 * unit that juts out may lack what its brick would reach back to, or over. */
static int fill_under(Carving *k, int layer)
{
    const Corbel *corbel = &k->corbel;
    const int holder = layer > 0 ? layer - 1 : layer + 1, reach = k->cuts.longest;
    int filled = 0;
    for (int v = 0; v < corbel->depth; v++)
        for (int x = 0; x < k->panel->columns; x++) {
            const size_t unit = corbel_unit(corbel, x, v);
            if (!corbel->hangs[unit]) continue;
            if (corbel->held[unit] == HELD_BY_CORE) {
                filled += fill_pocket(k, holder, x, v);
                continue;
            }
            for (int i = 0; i < 2; i++)
                filled += fill_box(k, i ? layer : holder, x - reach, x + reach + 1, v - reach,
                                   v + reach + 1);
        }
    return filled;
}

/* Fills until everything that hangs is carried. It goes from the last layer back, since what
 * is filled in one must itself be carried; but what is filled may also be what another layer
 * is carried by otherwise than before, so that there are turns until nothing changes. */
static Status settle_pockets(Carving *k, Fault *fault)
{
    bool again = true;
    while (again) {
        again = false;
        for (int layer = k->corbel.layers - 1; layer >= 0; layer--)
            for (int failed = 1, filled = 1; failed && filled;) {
                const Status status =
                    corbel_course(&k->corbel, layer, false, &k->course, &failed, fault);
                if (status) return status;
                filled = failed ? fill_under(k, layer) : 0;
                if (failed && !filled) filled = fill_layers(k, layer);
                again = again || filled;
            }
    }
    return STATUS_OK;
}

static size_t count_units(const Hollow *h, const Solid *solid)
{
    size_t units = 0;
    const size_t all = solid_unit(solid, 0, 0, solid_depth(solid));
    for (size_t i = 0; i < all; i++) units += h->left_out[i];
    return units;
}

/* ---- panel by panel ---- */

static int layers_that_stand(const Hollow *h, int panel) { return h->stand ? h->stand[panel] : 0; }

static void carving_init(Carving *k, Hollow *hollow, const HollowTask *task)
{
    *k = (Carving){.hollow = hollow, .solid = task->solid, .panels = task->panels};
    cuts_init(&k->cuts, task->sizes, NULL);
    k->span = span_of(&k->cuts);
}

static Status enter_panel(Carving *k, int panel, Fault *fault)
{
    k->panel = &k->panels->panel[panel];
    k->stand = layers_that_stand(k->hollow, panel);
    return corbel_init(&k->corbel, k->solid, k->panel, &k->cuts, fault);
}

static void leave_panel(Carving *k)
{
    corbel_clear(&k->corbel);
    course_clear(&k->course);
}

static Status carve_panel(Carving *k, int panel, Fault *fault)
{
    Status status = enter_panel(k, panel, fault);
    if (!status) status = leave_out_pockets(k, fault);
    if (!status) drop_small(k);
    if (!status) status = settle_pockets(k, fault);
    leave_panel(k);
    return status;
}

Status hollow_carve(Hollow *hollow_out, const HollowTask *task, const Voice *voice, Fault *fault)
{
    Solid *solid = task->solid;
    *hollow_out = (Hollow){.shell = task->shell};
    Carving k;
    carving_init(&k, hollow_out, task);
    if (solid_depth(solid) <= 2 * task->shell || k.span == 0) return STATUS_OK;
    const size_t cells = grid_cells(solid->grid);
    hollow_out->left_out = memory_create(cells, (size_t)solid_depth(solid));
    if (!hollow_out->left_out) return memory_fault(fault, cells, (size_t)solid_depth(solid));
    solid->left_out = hollow_out->left_out;
    Status status = STATUS_OK;
    for (int i = 0; i < task->panels->count && !status; i++) {
        if (voice_stopped(voice))
            status = fault_set(fault, STATUS_INTERRUPTED,
                               "hollow: stopped; run it again to start afresh");
        else
            status = carve_panel(&k, i, fault);
    }
    if (!status) hollow_out->units = count_units(hollow_out, solid);
    if (status || !hollow_out->units) hollow_clear(hollow_out, solid);
    return status;
}

/* ---- a mural under way ---- */

static void find_layers_that_stand(Hollow *h, const Solid *solid, const Panels *panels,
                                   const Laid *standing)
{
    for (size_t i = 0; i < standing->count; i++) {
        const Brick *b = &standing->brick[i];
        const int to = b->row + 1 - panels->panel[b->panel].row;
        int *stand = &h->stand[b->panel];
        if (solid->build == BUILD_PLAQUE) /* with pockets it stands as a whole */
            *stand = INT_MAX;
        else if (to > *stand)
            *stand = to;
    }
}

static Status settle_panel(Carving *k, int panel, Fault *fault)
{
    Status status = enter_panel(k, panel, fault);
    if (!status && k->stand < k->corbel.layers) status = settle_pockets(k, fault);
    leave_panel(k);
    return status;
}

Status hollow_keep(Hollow *hollow_out, const HollowTask *task, const uint8_t *left_out,
                   const Laid *standing, Fault *fault)
{
    Solid *solid = task->solid;
    const int panels = task->panels->count;
    const size_t units = solid_unit(solid, 0, 0, solid_depth(solid));
    *hollow_out = (Hollow){.shell = task->shell, .left_out = memory_create(units, 1)};
    solid->left_out = hollow_out->left_out;
    hollow_out->stand = memory_create((size_t)panels, sizeof *hollow_out->stand);
    if (!hollow_out->left_out || !hollow_out->stand) {
        hollow_clear(hollow_out, solid);
        return memory_fault(fault, units, 1);
    }
    memcpy(hollow_out->left_out, left_out, units);
    find_layers_that_stand(hollow_out, solid, task->panels, standing);
    Carving k;
    carving_init(&k, hollow_out, task);
    Status status = STATUS_OK;
    for (int i = 0; i < panels && !status; i++) status = settle_panel(&k, i, fault);
    if (!status) hollow_out->units = count_units(hollow_out, solid);
    if (!hollow_out->units) hollow_clear(hollow_out, solid);
    return status;
}

Status hollow_fill_layers(Hollow *h, const HollowTask *task, int panel, const uint8_t *fill,
                          Fault *fault)
{
    Carving k;
    carving_init(&k, h, task);
    Status status = enter_panel(&k, panel, fault);
    for (int layer = 0; layer < k.corbel.layers && !status; layer++)
        if (fill[layer]) fill_box(&k, layer, 0, k.panel->columns, 0, k.corbel.depth);
    if (!status) status = settle_pockets(&k, fault);
    leave_panel(&k);
    h->units = count_units(h, task->solid);
    if (!h->units) hollow_clear(h, task->solid);
    return status;
}

void hollow_fill(Hollow *h, Solid *solid, const Panels *panels)
{
    const int depth = solid_depth(solid);
    for (int i = 0; i < panels->count; i++) {
        const Panel *p = &panels->panel[i];
        const int stand = layers_that_stand(h, i);
        for (int row = p->row; row < p->row + p->rows; row++)
            for (int column = p->column; column < p->column + p->columns; column++)
                for (int tier = 0; tier < depth; tier++)
                    if ((solid->build == BUILD_WALL ? row - p->row : tier) >= stand)
                        h->left_out[solid_unit(solid, column, row, tier)] = 0;
    }
    h->units = count_units(h, solid);
    if (!h->units) hollow_clear(h, solid);
}

/* ---- flaws ---- */

/* Fills the pockets around a brick of the panel, or all of them. */
static int fill_around(Carving *k, const Brick *brick, bool all)
{
    const bool wall = k->solid->build == BUILD_WALL;
    const int x = brick->column - k->panel->column, row = brick->row - k->panel->row;
    const int near = wall ? row : brick->tier, v = wall ? brick->tier : row;
    const int reach = all ? k->panel->columns + k->corbel.depth : MEND_REACH;
    int filled = 0;
    for (int layer = 0; layer < k->corbel.layers; layer++)
        if (all || (layer >= near - TALLEST_POCKET && layer <= near + TALLEST_POCKET))
            filled += fill_box(k, layer, x - reach, x + reach, v - reach, v + reach);
    return filled;
}

/* Fills pockets near the flaws of one panel; the solid is as before where it has none. */
static Status mend_panel(Carving *k, const Laid *laid, const Flaw *flaw, size_t flaws, bool all,
                         Fault *fault)
{
    int filled = 0;
    Status status = enter_panel(k, flaw->panel, fault);
    for (size_t i = 0; i < flaws && !status; i++)
        if (flaw[i].kind == FLAW_PIECE || flaw[i].kind == FLAW_UNSUPPORTED)
            filled += fill_around(k, &laid->brick[flaw[i].brick], all);
    if (!status && filled) status = settle_pockets(k, fault);
    leave_panel(k);
    return status;
}

Status hollow_mend(Hollow *h, const HollowTask *task, const Laid *laid, const Bond *bond, bool all,
                   Fault *fault)
{
    Carving k;
    carving_init(&k, h, task);
    Status status = STATUS_OK;
    for (size_t i = 0, end; i < bond->flaws && h->left_out && !status; i = end) {
        const int panel = bond->flaw[i].panel;
        for (end = i + 1; end < bond->flaws && bond->flaw[end].panel == panel;) end++;
        status = mend_panel(&k, laid, &bond->flaw[i], end - i, all, fault);
    }
    if (!status && h->left_out) h->units = count_units(h, task->solid);
    return status;
}

void hollow_clear(Hollow *hollow, Solid *solid)
{
    memory_free(hollow->left_out);
    memory_free(hollow->stand);
    *hollow = (Hollow){.shell = hollow->shell};
    solid->left_out = NULL;
}
