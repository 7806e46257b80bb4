/* Panels are packed the largest first, each into the crate that grows least by it, or into a new
 * one where that adds less; then single panels move as long as the volume falls. Crates of one
 * size come together by that, and panels that are hung together stay together where sizes do not
 * matter.
 *
 * The bound: a crate of faces A and depths d with packing p all round and boards b between n panels
 * has a volume of at least the sum over its panels of a (d + b) and of A (2 p - b), where A is at
 * least each a. Of that last part a panel has at least the share 1/N, where no crate that holds it
 * can hold more than N; or its mass over what such a crate may hold, the box taken off. Shares of
 * a crate never come to more than 1, so their sum over all panels is under any packing.
 *
 * Source: first fit decreasing, D. S. Johnson, "Near-optimal bin packing algorithms", MIT 1973; the
 * bound is our own, as above. */
#include "show/show_crates.h"

#include "base/csv_sheet.h"
#include "base/memory.h"
#include "figures/crates.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- a crate ---- */

/* What stands in one, before its packing. */
typedef struct Stack {
    int panels;
    double width, height, depth, kg, value;
} Stack;

typedef struct Limits {
    double packing, mass;
    int panels;
} Limits;

static Stack stack_with(Stack s, const PlannedPanel *p)
{
    if (s.panels++) s.depth += CRATE_BOARD_MM;
    s.width = fmax(s.width, p->width_mm);
    s.height = fmax(s.height, p->height_mm);
    s.depth += p->depth_mm;
    s.kg += p->kg;
    s.value += p->value;
    return s;
}

static ShowCrate crate_of(const Stack *s, const Limits *limits)
{
    const double w = s->width + 2 * limits->packing, h = s->height + 2 * limits->packing,
                 d = s->depth + 2 * limits->packing;
    const double faces_m2 = 2 * (w * h + w * d + h * d) / 1e6;
    const double box = faces_m2 * CRATE_PLYWOOD_MM / 1000 * CRATE_PLYWOOD_KG_M3;
    return (ShowCrate){.panels = s->panels,
                       .width_mm = w,
                       .height_mm = h,
                       .depth_mm = d,
                       .net_kg = s->kg,
                       .gross_kg = s->kg * (1 + CRATE_MASS_OFF) + box,
                       .value = s->value};
}

static double volume_of(const Stack *s, const Limits *limits)
{
    if (!s->panels) return 0;
    const ShowCrate c = crate_of(s, limits);
    return c.width_mm * c.height_mm * c.depth_mm / 1e9;
}

static bool may_be(const Stack *s, const Limits *limits)
{
    return s->panels <= 1 ||
           (s->panels <= limits->panels && crate_of(s, limits).gross_kg <= limits->mass);
}

/* ---- packing ---- */

typedef struct Packing {
    ShowCrates *crates;
    Limits limits;
    Stack *stack; /* one for each crate; as many as panels at most */
    int *order;   /* panels, the largest first */
} Packing;

static Stack stack_of(const Packing *k, int crate)
{
    Stack s = {0};
    for (int i = 0; i < k->crates->panels; i++)
        if (k->crates->packed[i].crate == crate) s = stack_with(s, k->crates->packed[i].panel);
    return s;
}

/* The crate that grows least by the panel; a new one is the crate after the last. */
static int best_crate(const Packing *k, const PlannedPanel *p, double *growth_out)
{
    int best = -1;
    for (int c = 0; c <= k->crates->crates; c++) {
        const Stack before = c < k->crates->crates ? k->stack[c] : (Stack){0};
        const Stack after = stack_with(before, p);
        const double growth = volume_of(&after, &k->limits) - volume_of(&before, &k->limits);
        if (!may_be(&after, &k->limits) || (best >= 0 && growth >= *growth_out)) continue;
        best = c;
        *growth_out = growth;
    }
    return best;
}

static void put_in(Packing *k, int panel, int crate)
{
    Packed *p = &k->crates->packed[panel];
    if (crate == k->crates->crates) k->stack[k->crates->crates++] = (Stack){0};
    p->crate = crate;
    k->stack[crate] = stack_with(k->stack[crate], p->panel);
}

/* True where the volume falls if the panel leaves its crate for another. */
static bool move_panel(Packing *k, int panel)
{
    Packed *p = &k->crates->packed[panel];
    const int from = p->crate;
    const Stack whole = k->stack[from];
    double growth = 0;
    p->crate = -1;
    k->stack[from] = stack_of(k, from);
    const double saved = volume_of(&whole, &k->limits) - volume_of(&k->stack[from], &k->limits);
    const int to = best_crate(k, p->panel, &growth);
    if (to != from && growth < saved - 1e-9) {
        put_in(k, panel, to);
        return true;
    }
    p->crate = from;
    k->stack[from] = whole;
    return false;
}

/* All panels of a crate into others; false where that gains nothing, and nothing has changed. */
static bool empty_crate(Packing *k, int crate)
{
    ShowCrates *c = k->crates;
    const int crates = c->crates;
    double before = 0, after = 0, growth = 0;
    int *was = k->order + c->panels;
    Stack *stacks = k->stack + c->panels + 1;
    memcpy(stacks, k->stack, (size_t)crates * sizeof *stacks);
    for (int i = 0; i < crates; i++) before += volume_of(&k->stack[i], &k->limits);
    for (int i = 0; i < c->panels; i++) was[i] = c->packed[i].crate;
    k->stack[crate] = (Stack){.panels = k->limits.panels + 1}; /* takes none */
    for (int i = 0; i < c->panels; i++)
        if (was[i] == crate) put_in(k, i, best_crate(k, c->packed[i].panel, &growth));
    k->stack[crate] = (Stack){0};
    for (int i = 0; i < c->crates; i++) after += volume_of(&k->stack[i], &k->limits);
    if (after < before - 1e-9) return true;
    for (int i = 0; i < c->panels; i++) c->packed[i].crate = was[i];
    memcpy(k->stack, stacks, (size_t)crates * sizeof *stacks);
    c->crates = crates;
    return false;
}

/* Rounds end where none gains, or after so many: each costs panels x crates. Our choice. */
enum { ROUNDS = 20 };

static void improve(Packing *k)
{
    bool gained = true;
    for (int round = 0; round < ROUNDS && gained; round++) {
        gained = false;
        for (int i = 0; i < k->crates->panels; i++) gained |= move_panel(k, i);
        for (int c = k->crates->crates - 1; c >= 0; c--)
            if (k->stack[c].panels) gained |= empty_crate(k, c);
    }
}

static double face_of(const PlannedPanel *p) { return p->width_mm * p->height_mm; }

static void sort_panels(Packing *k)
{
    const Packed *packed = k->crates->packed;
    for (int i = 0; i < k->crates->panels; i++) {
        int at = i;
        for (; at > 0 && face_of(packed[k->order[at - 1]].panel) < face_of(packed[i].panel); at--)
            k->order[at] = k->order[at - 1];
        k->order[at] = i;
    }
}

/* ---- the bound ---- */

/* No crate with this panel holds more: with the lightest of the others. */
static int most_with(const ShowCrates *c, const PlannedPanel *p, const Limits *limits,
                     const double *lightest)
{
    const Stack own = stack_with((Stack){0}, p);
    const double room =
        limits->mass - (crate_of(&own, limits).gross_kg - p->kg * (1 + CRATE_MASS_OFF));
    double kg = p->kg * (1 + CRATE_MASS_OFF);
    int panels = 1;
    for (int i = 0; i < c->panels && panels < limits->panels; i++) {
        kg += lightest[i] * (1 + CRATE_MASS_OFF);
        if (kg > room + 1e-9) break;
        panels++;
    }
    return panels;
}

static int by_number(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* `lightest` has room for the panels. The panel itself may be among the lightest, which only makes
 * the bound lower. */
static double bound_of(const ShowCrates *c, const Limits *limits, double *lightest)
{
    const double wrap = 2 * limits->packing, fixed = fmax(0, wrap - CRATE_BOARD_MM);
    double by_count = 0, by_mass = 0, slabs = 0;
    for (int i = 0; i < c->panels; i++) lightest[i] = c->packed[i].panel->kg;
    qsort(lightest, (size_t)c->panels, sizeof *lightest, by_number);
    for (int i = 0; i < c->panels; i++) {
        const PlannedPanel *p = c->packed[i].panel;
        const Stack own = stack_with((Stack){0}, p);
        const double kg = p->kg * (1 + CRATE_MASS_OFF);
        const double room = limits->mass - (crate_of(&own, limits).gross_kg - kg);
        const double face = (p->width_mm + wrap) * (p->height_mm + wrap) / 1e9;
        slabs += face * (p->depth_mm + fmin(wrap, CRATE_BOARD_MM));
        by_count += face * fixed / most_with(c, p, limits, lightest);
        by_mass += face * fixed * (room > kg ? kg / room : 1);
    }
    return slabs + fmax(by_count, by_mass);
}

/* ---- the order of opening ---- */

static Status number_crates(Packing *k, Fault *fault)
{
    ShowCrates *c = k->crates;
    int *number = k->order; /* of a crate as it was packed, -1: not seen yet */
    c->crate = memory_create((size_t)c->panels, sizeof *c->crate);
    if (!c->crate) return memory_fault(fault, (size_t)c->panels, sizeof *c->crate);
    for (int i = 0; i < c->crates; i++) number[i] = -1;
    c->crates = 0;
    for (int i = 0; i < c->panels; i++) {
        const int packed = c->packed[i].crate;
        if (number[packed] < 0) {
            number[packed] = c->crates++;
            ShowCrate *crate = &c->crate[number[packed]];
            *crate = crate_of(&k->stack[packed], &k->limits);
            crate->first = i;
            c->volume_m3 += volume_of(&k->stack[packed], &k->limits);
            c->net_kg += crate->net_kg;
            c->gross_kg += crate->gross_kg;
            c->value += crate->value;
        }
        c->packed[i].crate = number[packed];
    }
    return STATUS_OK;
}

/* ---- the whole ---- */

static Status list_panels(ShowCrates *c, const Show *show, const Planned *planned, Fault *fault)
{
    int hanging[SHOW_MURALS_MOST], panel = 0;
    show_hanging(show, hanging);
    for (int i = 0; i < show->count; i++) c->panels += planned[i].panels;
    c->packed = memory_create((size_t)c->panels, sizeof *c->packed);
    if (!c->packed) return memory_fault(fault, (size_t)c->panels, sizeof *c->packed);
    for (int i = 0; i < show->count; i++) {
        const Planned *p = &planned[hanging[i]];
        for (int k = 0; k < p->panels; k++) c->packed[panel++] = (Packed){p, &p->panel[k], -1};
    }
    return STATUS_OK;
}

static Status pack(ShowCrates *c, const Show *show, Fault *fault)
{
    const size_t panels = (size_t)c->panels;
    Packing k = {
        .crates = c,
        .limits = {show->shared.packing, show->shared.crate_mass, show->shared.crate_panels},
        .stack = memory_create(2 * (panels + 1), sizeof *k.stack),
        .order = memory_create(2 * panels, sizeof *k.order)};
    double *lightest = memory_create(panels, sizeof *lightest), growth = 0;
    Status status = STATUS_OK;
    if (k.stack && k.order && lightest) {
        sort_panels(&k);
        for (int i = 0; i < c->panels; i++)
            put_in(&k, k.order[i], best_crate(&k, c->packed[k.order[i]].panel, &growth));
        improve(&k);
        c->bound_m3 = bound_of(c, &k.limits, lightest);
        status = number_crates(&k, fault);
    } else {
        status = memory_fault(fault, panels, sizeof *k.stack);
    }
    memory_free(lightest);
    memory_free(k.order);
    memory_free(k.stack);
    return status;
}

Status show_crates_init(ShowCrates *c, const Show *show, const Planned *planned, Fault *fault)
{
    *c = (ShowCrates){0};
    Status status = list_panels(c, show, planned, fault);
    if (!status) status = pack(c, show, fault);
    if (!status) show_loading_load(&c->loading, c->crate, c->crates, show);
    return status;
}

void show_crates_clear(ShowCrates *c)
{
    memory_free(c->packed);
    memory_free(c->crate);
    *c = (ShowCrates){0};
}

/* ---- the table ---- */

void show_crates_content(const ShowCrates *c, int crate, char *text, size_t size)
{
    const Planned *mural = NULL;
    const int panels = c->crate[crate].panels;
    size_t length = (size_t)snprintf(text, size, "%d %s of plastic bricks:", panels,
                                     panels == 1 ? "panel" : "panels");
    for (int i = c->crate[crate].first; i < c->panels && length < size; i++) {
        const Packed *p = &c->packed[i];
        if (p->crate != crate) continue;
        const bool same = mural == p->mural;
        length +=
            (size_t)snprintf(text + length, size - length, "%s %s%s%s",
                             same    ? ","
                             : mural ? ";"
                                     : "",
                             same ? "" : p->mural->mural->name, same ? "" : " ", p->panel->name);
        mural = p->mural;
    }
}

/* Room for the content of a crate, whole. */
static char *content_of(const ShowCrates *c, int crate)
{
    const size_t size = 64 + (size_t)c->crate[crate].panels * (SHOW_NAME + 32);
    char *text = memory_create(size, 1);
    if (text) show_crates_content(c, crate, text, size);
    return text;
}

static int last_hung(const ShowCrates *c, int crate)
{
    int last = c->crate[crate].first;
    for (int i = last; i < c->panels; i++)
        if (c->packed[i].crate == crate) last = i;
    return last;
}

/* Counted from 1; nothing where it is below 0. */
static void put_index(CsvSheet *sheet, int index)
{
    if (index < 0)
        csv_put_text(sheet, "");
    else
        csv_put_whole(sheet, index + 1);
}

Status show_crates_write(const ShowCrates *c, const Show *show, const char *path, Fault *fault)
{
    CsvSheet sheet;
    Status status = csv_sheet_open(&sheet, path, TABLE_SHOW_CRATES, fault);
    if (status) return status;
    for (int i = 0; i < c->crates; i++) {
        const ShowCrate *crate = &c->crate[i];
        char *content = content_of(c, i);
        if (!content) status = memory_fault(fault, 1, 64);
        csv_put_whole(&sheet, i + 1);
        put_index(&sheet, crate->vehicle);
        put_index(&sheet, crate->load);
        put_index(&sheet, crate->pallet);
        put_index(&sheet, crate->level);
        put_index(&sheet, crate->on);
        csv_put_whole(&sheet, crate->first + 1);
        csv_put_whole(&sheet, last_hung(c, i) + 1);
        csv_put_whole(&sheet, crate->panels);
        csv_put_text(&sheet, content ? content : "");
        csv_put_number(&sheet, 1, crate->width_mm);
        csv_put_number(&sheet, 1, crate->height_mm);
        csv_put_number(&sheet, 1, crate->depth_mm);
        csv_put_number(&sheet, 3, crate->net_kg);
        csv_put_number(&sheet, 3, crate->gross_kg);
        csv_put_number(&sheet, 2, crate->value);
        csv_put_text(&sheet, show->shared.currency);
        csv_end_record(&sheet);
        memory_free(content);
    }
    const Status closed = csv_sheet_close(&sheet, status ? NULL : fault);
    return status ? status : closed;
}
