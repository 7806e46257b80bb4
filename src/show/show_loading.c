/* Crates are put on pallets first, each on the pallet in hand or on a new one; then pallets and
 * what stands without one go into vehicles in the same order. A floor is filled in rows across it,
 * row by row, and only the last row of it can be reached.
 *
 * No loading is under the bounds: all crates take their mass and volume, of those of which no two
 * can stand on one another each takes its floor, and a stack takes at least the mean of the floors
 * of what is in it; pallets do not stand on pallets, so each takes its own.
 *
 * Sources: plan sizes of pallets by ISO 6780:2003, as published tables give them, not checked
 * against its text. From memory, not checked: a pallet's own height and mass and what it carries,
 * loaded unevenly, by EN 13698-1; inner sizes and doors by ISO 668 (minimum internal dimensions),
 * payloads of ISO 1496-1 containers as rated less a usual tare. The trailer, and 2.2 m as the
 * height of a loaded pallet, are common practice, no source. */
#include "show/show_loading.h"

#include <math.h>
#include <stdio.h>

const Vehicle vehicle_list[] = {
    {"truck", 13600, 2480, 2700, 2480, 2600, 24000,
     "trailer of 13.6 m: common practice, no source"},
    {"container-20", 5867, 2330, 2350, 2286, 2261, 28000, "1CC of ISO 668, from memory"},
    {"container-40", 11998, 2330, 2350, 2286, 2261, 26500, "1AA of ISO 668, from memory"},
    {"container-40-high", 11998, 2330, 2655, 2286, 2566, 26500, "1AAA of ISO 668, from memory"},
};
enum { VEHICLES = sizeof vehicle_list / sizeof *vehicle_list };

const Pallet pallet_list[] = {
    {"none", 0, 0, 0},
    {"1200x800", 1200, 800, 25},
    {"1200x1000", 1200, 1000, 30},
    {"1219x1016", 1219, 1016, 30},
    {"1165x1165", 1165, 1165, 30},
    {"1100x1100", 1100, 1100, 30},
    {"1067x1067", 1067, 1067, 30},
};

#define PALLET_OWN_MM 144.0
#define PALLET_TOP_MM 2200.0
#define PALLET_CARRIES_KG 1000.0

/* To lift a crate onto another: our choice. That a crate may carry as much as it weighs itself, and
 * stands on none that is shorter or less deep, is common practice, no source; all are lashed. */
#define LIFT_ROOM_MM 100.0

/* ---- a floor ---- */

/* What takes crates: its room, and how far it is filled. */
typedef struct Floor {
    double length, width, height, most_kg;
    double full, across, row, kg; /* of the rows that are full; of the last */
    int begins, crates;           /* the crate that the last row begins with; how many are in it */
} Floor;

static Floor floor_of_vehicle(const Vehicle *v)
{
    return (Floor){.length = v->length_mm,
                   .width = v->width_mm,
                   .height = v->height_mm,
                   .most_kg = v->payload_kg};
}

/* Low enough for the vehicle's door; turned: the rows lie across its longer side. */
static Floor floor_of_pallet(const ShowLoading *l, bool turned)
{
    const Pallet *p = l->pallet;
    return (Floor){.length = turned ? p->width_mm : p->length_mm,
                   .width = turned ? p->length_mm : p->width_mm,
                   .height = fmin(PALLET_TOP_MM, l->vehicle->door_height_mm) - PALLET_OWN_MM,
                   .most_kg = PALLET_CARRIES_KG};
}

/* Room for something so long and wide in the last row, or in a new one; false: there is none, and
 * nothing has changed. */
static bool floor_put(Floor *f, int crate, double length, double width)
{
    const bool turns = !f->crates || f->across + width > f->width;
    const double full = f->full + (turns ? f->row : 0);
    if (full + length > f->length || width > f->width) return false;
    if (turns) {
        f->full = full;
        f->across = f->row = 0;
        f->begins = crate;
    }
    f->row = fmax(f->row, length);
    f->across += width;
    return true;
}

/* ---- a crate on another ---- */

static bool can_carry(const ShowCrate *list, const Floor *f, int below, const ShowCrate *crate)
{
    double height = crate->height_mm + LIFT_ROOM_MM;
    if (list[below].carried_kg > 0 || crate->width_mm > list[below].width_mm ||
        crate->depth_mm > list[below].depth_mm || list[below].pallet != crate->pallet ||
        list[below].vehicle != crate->vehicle)
        return false;
    for (int k = below; k >= 0; k = list[k].on) {
        height += list[k].height_mm;
        if (list[k].carried_kg + crate->gross_kg > list[k].gross_kg) return false;
    }
    return height <= f->height;
}

/* Of the crates of the last row the smallest that can carry this one; -1: none can. */
static int find_below(const ShowCrate *list, const Floor *f, int crate)
{
    int best = -1;
    for (int k = crate + 1; f->crates && k <= f->begins; k++)
        if (can_carry(list, f, k, &list[crate]) &&
            (best < 0 ||
             list[k].width_mm * list[k].depth_mm < list[best].width_mm * list[best].depth_mm))
            best = k;
    return best;
}

/* A crate onto another or onto the floor; false: there is no room. It is as long as its face is
 * wide. */
static bool put_crate(ShowCrate *list, Floor *f, int crate)
{
    ShowCrate *own = &list[crate];
    if (f->kg + own->gross_kg > f->most_kg) return false;
    const int below = find_below(list, f, crate);
    if (below < 0 && !floor_put(f, crate, own->width_mm, own->depth_mm)) return false;
    own->on = below;
    own->level = below < 0 ? 0 : list[below].level + 1;
    for (int k = below; k >= 0; k = list[k].on) list[k].carried_kg += own->gross_kg;
    f->kg += own->gross_kg;
    f->crates++;
    return true;
}

/* ---- pallets ---- */

static bool goes_into(const ShowCrate *c, const Vehicle *v)
{
    return c->height_mm <= v->door_height_mm && c->depth_mm <= v->door_width_mm &&
           c->width_mm <= v->length_mm && c->gross_kg <= v->payload_kg;
}

static bool goes_onto(const ShowCrate *c, const Floor *pallet)
{
    return c->height_mm <= pallet->height && c->width_mm <= pallet->length &&
           c->depth_mm <= pallet->width && c->gross_kg <= pallet->most_kg;
}

/* Crates from this one on, each that is loaded after another, as many as go onto the pallet. */
static int fill_pallet(const ShowLoading *l, ShowCrate *list, int from, bool turned)
{
    Floor floor = floor_of_pallet(l, turned);
    int crate = from;
    for (; crate >= 0 && list[crate].vehicle >= 0 && goes_onto(&list[crate], &floor); crate--) {
        list[crate].pallet = l->pallets;
        if (put_crate(list, &floor, crate)) continue;
        list[crate].pallet = -1;
        break;
    }
    return from - crate;
}

static void empty_pallet(ShowCrate *list, int from, int crates)
{
    for (int i = from; i > from - crates; i--) {
        list[i].pallet = list[i].on = -1;
        list[i].level = 0;
        list[i].carried_kg = 0;
    }
}

/* Each pallet is filled the way round that takes more crates. */
static void load_pallets(ShowLoading *l, ShowCrate *list, int crates)
{
    for (int from = crates - 1; from >= 0;) {
        const int turned = fill_pallet(l, list, from, true);
        empty_pallet(list, from, turned);
        int filled = fill_pallet(l, list, from, false);
        if (turned > filled) {
            empty_pallet(list, from, filled);
            filled = fill_pallet(l, list, from, true);
        }
        l->pallets += filled > 0;
        l->on_pallets += filled;
        from -= filled ? filled : 1; /* on none: it stands by itself */
    }
}

/* Whichever way round more of them stand in a vehicle. */
static void turn_pallet(const Pallet *p, const Vehicle *v, double *along, double *across)
{
    const double as_is = floor(v->length_mm / p->length_mm) * floor(v->width_mm / p->width_mm),
                 turned = floor(v->length_mm / p->width_mm) * floor(v->width_mm / p->length_mm);
    *along = as_is >= turned ? p->length_mm : p->width_mm;
    *across = as_is >= turned ? p->width_mm : p->length_mm;
}

/* ---- vehicles ---- */

/* The crates from this one on that stand on one pallet with it, those loaded later first. */
static int pallet_begins(const ShowCrate *list, int crate)
{
    while (crate > 0 && list[crate - 1].pallet == list[crate].pallet) crate--;
    return crate;
}

/* A pallet with its crates from first to last. */
static bool put_pallet(const ShowLoading *l, const ShowCrate *list, Floor *f, int first, int last)
{
    double along, across, kg = l->pallet->own_kg;
    turn_pallet(l->pallet, l->vehicle, &along, &across);
    for (int i = first; i <= last; i++) kg += list[i].gross_kg;
    if (f->kg + kg > f->most_kg || !floor_put(f, last, along, across)) return false;
    f->kg += kg;
    f->crates += last - first + 1;
    return true;
}

static void load_vehicles(ShowLoading *l, ShowCrate *list, int crates)
{
    Floor floor = floor_of_vehicle(l->vehicle);
    int load = 0;
    for (int last = crates - 1, first; last >= 0; last = first - 1) {
        const bool on_pallet = list[last].pallet >= 0;
        first = on_pallet ? pallet_begins(list, last) : last;
        if (list[last].vehicle < 0) continue;
        if (!l->vehicles) l->vehicles = 1;
        for (int tries = 0; tries < 2; tries++) {
            for (int i = first; i <= last; i++) list[i].vehicle = l->vehicles - 1;
            if (on_pallet ? put_pallet(l, list, &floor, first, last)
                          : put_crate(list, &floor, last))
                break;
            floor = floor_of_vehicle(l->vehicle);
            l->vehicles++;
            load = 0;
        }
        for (int i = last; i >= first; i--) list[i].load = load++;
    }
}

/* ---- bounds ---- */

/* What crates take at least. Floor: all of those of which no two can stand on one another, or of
 * all crates the part that one has in a stack, of which none is larger than the lowest. */
typedef struct Takes {
    double face, kg, volume;
} Takes;

/* Of all that stand on pallets, or of all that stand without one. */
static Takes take_up(const ShowCrate *list, int crates, double height, bool on_pallets)
{
    Takes t = {0, 0, 0};
    double all = 0, lowest = height;
    for (int i = 0; i < crates; i++) {
        const ShowCrate *c = &list[i];
        const double face = c->depth_mm * c->width_mm;
        if (c->vehicle < 0 || (c->pallet >= 0) != on_pallets) continue;
        t.kg += c->gross_kg;
        t.volume += face * c->height_mm;
        if (2 * c->height_mm > height) t.face += face;
        all += face;
        lowest = fmin(lowest, c->height_mm);
    }
    t.face = fmax(t.face, all / floor(height / lowest));
    return t;
}

static int least_floors(const Takes *t, const Floor *f)
{
    const double room = f->length * f->width;
    const double least =
        fmax(fmax(t->face / room, t->volume / (room * f->height)), t->kg / f->most_kg);
    return (int)ceil(least - 1e-9);
}

static void find_bounds(ShowLoading *l, const ShowCrate *list, int crates)
{
    const Floor vehicle = floor_of_vehicle(l->vehicle);
    Takes all = take_up(list, crates, vehicle.height, false);
    if (l->pallet) {
        const Floor pallet = floor_of_pallet(l, false);
        const Takes on = take_up(list, crates, pallet.height, true);
        l->pallets_bound = least_floors(&on, &pallet);
        const double face = l->pallets_bound * pallet.length * pallet.width;
        all.face += face;
        all.kg += on.kg + l->pallets_bound * l->pallet->own_kg;
        all.volume += on.volume + face * PALLET_OWN_MM;
    }
    l->vehicles_bound = least_floors(&all, &vehicle);
}

/* ---- the whole ---- */

void show_loading_load(ShowLoading *l, ShowCrate *list, int crates, const Show *show)
{
    *l = (ShowLoading){.vehicle = &vehicle_list[show->vehicle],
                       .pallet = show->pallet ? &pallet_list[show->pallet] : NULL};
    for (int i = 0; i < crates; i++) {
        ShowCrate *c = &list[i];
        const bool goes = goes_into(c, l->vehicle);
        c->pallet = c->on = -1;
        c->vehicle = c->load = c->level = goes ? 0 : -1;
        l->too_large += !goes;
    }
    if (l->pallet) load_pallets(l, list, crates);
    load_vehicles(l, list, crates);
    for (int i = 0; i < crates; i++) l->stacked += list[i].on >= 0;
    find_bounds(l, list, crates);
}

void show_loading_place(const ShowLoading *l, const ShowCrate *c, char text[PLACE_TEXT])
{
    char pallet[24] = "", on[24] = "";
    if (c->pallet >= 0) snprintf(pallet, sizeof pallet, ", pallet %d", c->pallet + 1);
    if (c->on >= 0) snprintf(on, sizeof on, ", on %d", c->on + 1);
    if (c->vehicle < 0)
        snprintf(text, PLACE_TEXT, "goes into no %s", l->vehicle->name);
    else
        snprintf(text, PLACE_TEXT, "%d / %d%s%s", c->vehicle + 1, c->load + 1, pallet, on);
}

void show_loading_sum(const ShowLoading *l, char *text, size_t size)
{
    char pallets[120] = "", stacked[40] = "";
    if (l->pallet && !l->pallets)
        snprintf(pallets, sizeof pallets, "too large for pallets %s, ", l->pallet->name);
    else if (l->pallet)
        snprintf(pallets, sizeof pallets, "%d on %d pallet%s %s (proven: at least %d), ",
                 l->on_pallets, l->pallets, l->pallets == 1 ? "" : "s", l->pallet->name,
                 l->pallets_bound);
    if (l->stacked) snprintf(stacked, sizeof stacked, ", %d on other crates", l->stacked);
    snprintf(text, size, "%sin %d × %s (proven: at least %d)%s", pallets, l->vehicles,
             l->vehicle->name, l->vehicles_bound, stacked);
}

/* The first vehicle of the list that takes all crates; NULL: none does. */
static const Vehicle *find_enough(const ShowCrate *list, int crates)
{
    for (int v = 0; v < VEHICLES; v++) {
        int fit = 0;
        while (fit < crates && goes_into(&list[fit], &vehicle_list[v])) fit++;
        if (fit == crates) return &vehicle_list[v];
    }
    return NULL;
}

void show_loading_mend(const ShowLoading *l, const ShowCrate *list, int crates, char *text,
                       size_t size)
{
    const Vehicle *enough = find_enough(list, crates), *own = l->vehicle;
    char change[60] = "";
    if (enough) snprintf(change, sizeof change, "take vehicle = %s, or ", enough->name);
    snprintf(text, size,
             "a %s takes %.0f × %.0f cm through its door, is %.0f cm long and carries %.0f kg; "
             "%smake panels smaller with panel",
             own->name, own->door_width_mm / 10, own->door_height_mm / 10, own->length_mm / 10,
             own->payload_kg, change);
}
