/* Keys stay in the order in which they are set; a file's digest is that of its bytes before it is
 * moved into its place. Source: JSON, RFC 8259. */
#include "show/show_json.h"

#include "base/file_format.h"

#include <unistd.h>

static json_t *mural_of(Making *k, const ShowFacts *f, int i, Fault *fault)
{
    const ShowMural *m = &f->show->mural[i];
    const Planned *p = &f->planned[i];
    char path[FOLDER_PATH], sha256[DIGEST_TEXT] = "";
    json_t *o = json_object();
    if (!folder_join(path, p->folder, "plan.json") || digest_file(path, sha256, fault))
        k->failed = 1;
    json_set(k, o, "name", json_text(m->name));
    json_set(k, o, "room", json_text(m->room));
    json_set(k, o, "make", json_integer(m->make));
    json_set(k, o, "hang", json_integer(m->hang));
    json_set(k, o, "priority", json_real(m->priority));
    json_set(k, o, "made_from", json_text(f->made[i].key));
    json_set(k, o, "plan_sha256", json_text(sha256));
    json_set(k, o, "holds", json_boolean(f->made[i].status == STATUS_OK));
    json_set(k, o, "columns", json_integer(p->plan->grid.columns));
    json_set(k, o, "rows", json_integer(p->plan->grid.rows));
    json_set(k, o, "width_mm", json_real(p->width_mm));
    json_set(k, o, "height_mm", json_real(p->height_mm));
    json_set(k, o, "depth_mm", json_real(p->depth_mm));
    json_set(k, o, "panels", json_integer(p->panels));
    json_set(k, o, "bricks", json_integer(p->bricks));
    json_set(k, o, "mass_kg", json_real(p->mass_kg));
    json_set(k, o, "whole_kg", json_real(p->whole_kg));
    json_set(k, o, "hours", json_real(p->hours));
    json_set(k, o, "perceived_de00", json_real(p->perceived_de00));
    return o;
}

static json_t *totals_of(Making *k, const ShowFacts *f)
{
    long bricks = 0, panels = 0;
    double mass = 0, whole = 0, hours = 0;
    for (int i = 0; i < f->show->count; i++) {
        bricks += f->planned[i].bricks;
        panels += f->planned[i].panels;
        mass += f->planned[i].mass_kg;
        whole += f->planned[i].whole_kg;
        hours += f->planned[i].hours;
    }
    json_t *o = json_object();
    json_set(k, o, "murals", json_integer(f->show->count));
    json_set(k, o, "panels", json_integer(panels));
    json_set(k, o, "bricks", json_integer(bricks));
    json_set(k, o, "mass_kg", json_real(mass));
    json_set(k, o, "whole_kg", json_real(whole));
    json_set(k, o, "hours", json_real(hours));
    json_set(k, o, "ordered", json_integer(f->order->whole.order));
    json_set(k, o, "price", json_real(f->order->whole.price));
    json_set(k, o, "bought", json_integer(f->order->whole.bought));
    json_set(k, o, "outlay", json_real(f->order->whole.outlay));
    json_set(k, o, "bought_apart", json_integer(f->order->apart_bought));
    json_set(k, o, "outlay_apart", json_real(f->order->apart_outlay));
    return o;
}

static json_t *suppliers_of(Making *k, const ShowFacts *f)
{
    const Sizes *sizes = &f->studio->sizes;
    json_t *list = json_array();
    for (int i = 0; i <= NO_SUPPLIER; i++) {
        double outlay;
        const long bricks = parts_supplied(&f->order->whole, i, &outlay);
        if (!bricks) continue;
        json_t *o = json_object();
        json_set(k, o, "supplier", json_text(i < sizes->suppliers ? sizes->supplier[i] : ""));
        json_set(k, o, "bricks", json_integer(bricks));
        json_set(k, o, "outlay", json_real(outlay));
        json_append(k, list, o);
    }
    return list;
}

static json_t *lonely_of(Making *k, const ShowFacts *f)
{
    json_t *list = json_array();
    for (int i = 0; i < f->palette->lonely_count; i++) {
        const Lonely *l = &f->palette->lonely[i];
        json_t *o = json_object();
        json_set(k, o, "colour", json_text(f->studio->palette.colour[l->colour].id));
        json_set(k, o, "mural", json_text(f->show->mural[l->mural].name));
        json_set(k, o, "bricks", json_integer(l->bricks));
        json_set(k, o, "loss_de00", json_real(l->loss));
        json_append(k, list, o);
    }
    return list;
}

static json_t *palette_of(Making *k, const ShowFacts *f)
{
    const ShowPalette *p = f->palette;
    json_t *o = json_object(), *offered = json_array(), *served = json_array();
    for (int c = 0; c < f->studio->palette.count; c++)
        if (p->offered[c]) json_append(k, offered, json_text(f->studio->palette.colour[c].id));
    for (int m = 0; m < p->murals; m++) {
        json_t *mural = json_object();
        json_set(k, mural, "mural", json_text(f->show->mural[m].name));
        json_set(k, mural, "area", json_real(p->served[m].area));
        json_set(k, mural, "de00", json_real(p->served[m].shared));
        json_set(k, mural, "own_de00", json_real(p->served[m].own));
        json_append(k, served, mural);
    }
    json_set(k, o, "picked", json_boolean(p->picked));
    json_set(k, o, "colours", offered);
    json_set(k, o, "de00", json_real(p->difference));
    json_set(k, o, "murals", served);
    json_set(k, o, "in_one_mural", lonely_of(k, f));
    return o;
}

static json_t *journey_of(Making *k, const ShowCrates *c)
{
    json_t *o = json_object();
    json_set(k, o, "crates", json_integer(c->crates));
    json_set(k, o, "volume_m3", json_real(c->volume_m3));
    json_set(k, o, "volume_bound_m3", json_real(c->bound_m3));
    json_set(k, o, "net_kg", json_real(c->net_kg));
    json_set(k, o, "gross_kg", json_real(c->gross_kg));
    json_set(k, o, "value", json_real(c->value));
    const ShowLoading *l = &c->loading;
    json_set(k, o, "vehicle", json_text(l->vehicle->name));
    json_set(k, o, "vehicle_from", json_text(l->vehicle->source));
    json_set(k, o, "vehicles", json_integer(l->vehicles));
    json_set(k, o, "stacked", json_integer(l->stacked));
    json_set(k, o, "vehicles_bound", json_integer(l->vehicles_bound));
    json_set(k, o, "too_large", json_integer(l->too_large));
    if (!l->pallet) return o;
    json_set(k, o, "pallet", json_text(l->pallet->name));
    json_set(k, o, "pallets", json_integer(l->pallets));
    json_set(k, o, "pallets_bound", json_integer(l->pallets_bound));
    json_set(k, o, "on_pallets", json_integer(l->on_pallets));
    return o;
}

static json_t *pages_of(Making *k, const ShowFacts *f)
{
    json_t *o = json_object(), *murals = json_object();
    long pages = f->pages->own;
    for (int i = 0; i < f->show->count; i++) {
        pages += f->pages->mural[i];
        if (f->pages->mural[i])
            json_set(k, murals, f->show->mural[i].name, json_integer(f->pages->mural[i]));
    }
    json_set(k, o, "pages", json_integer(pages));
    json_set(k, o, "own", json_integer(f->pages->own));
    json_set(k, o, "murals", murals);
    return o;
}

static void set_day(Making *k, json_t *o, const char *key, Day day)
{
    char text[DAY_TEXT];
    day_print(day, text);
    json_set(k, o, key, json_text(text));
}

static json_t *mural_dates(Making *k, const MuralDates *m)
{
    json_t *o = json_object();
    set_day(k, o, "build_from", m->building.first);
    set_day(k, o, "build_to", m->building.last);
    set_day(k, o, "hang_from", m->hanging.first);
    set_day(k, o, "hang_to", m->hanging.last);
    json_set(k, o, "instalment", json_integer(m->instalment + 1));
    return o;
}

static json_t *calendar_of(Making *k, const ShowFacts *f)
{
    const Calendar *c = f->calendar;
    json_t *o = json_object(), *orders = json_array(), *murals = json_object();
    json_set(k, o, "hours", json_real(c->hours));
    json_set(k, o, "building_hours", json_real(c->makespan_h));
    json_set(k, o, "building_hours_bound", json_real(c->bound_h));
    json_set(k, o, "built_last", json_text(f->show->mural[c->critical].name));
    for (int i = 0; i < c->instalments; i++) {
        json_t *order = json_object();
        set_day(k, order, "order", c->ordered[i]);
        set_day(k, order, "needed", c->needed[i]);
        json_append(k, orders, order);
    }
    for (int i = 0; f->show->dated && i < c->murals; i++)
        json_set(k, murals, f->show->mural[i].name, mural_dates(k, &c->mural[i]));
    json_set(k, o, "orders", orders);
    json_set(k, o, "murals", murals);
    if (!f->show->dated) return o;
    set_day(k, o, "pack_from", c->packing.first);
    set_day(k, o, "pack_to", c->packing.last);
    set_day(k, o, "hang_from", c->hanging.first);
    set_day(k, o, "hang_to", c->hanging.last);
    return o;
}

static json_t *cost_of(Making *k, const ShowFacts *f)
{
    const ShowCost *c = f->cost;
    json_t *o = json_object();
    json_set(k, o, "bricks", json_real(c->bricks));
    json_set(k, o, "labour", json_real(c->labour));
    json_set(k, o, "sheets", json_real(c->sheets));
    json_set(k, o, "crates", json_real(c->crates));
    json_set(k, o, "freight", json_real(c->freight));
    json_set(k, o, "site", json_real(c->site));
    json_set(k, o, "total", json_real(c->total));
    json_set(k, o, "budget", json_real(f->show->budget));
    return o;
}

static json_t *files_of(Making *k, const ShowFolder *folder, const char *const *file, int files,
                        Fault *fault)
{
    json_t *o = json_object();
    for (int i = 0; i < files; i++) {
        char path[FOLDER_PATH], sha256[DIGEST_TEXT] = "";
        show_folder_partial(folder, file[i], path);
        if (access(path, F_OK)) continue; /* not written for this show */
        if (digest_file(path, sha256, fault)) k->failed = 1;
        json_set(k, o, file[i], json_text(sha256));
    }
    return o;
}

Status show_json_write(const ShowFacts *f, const ShowFolder *folder, const char *const *file,
                       int files, Fault *fault)
{
    Making k = {0};
    char path[FOLDER_PATH];
    json_t *o = json_object(), *murals = json_array();
    for (int i = 0; i < f->show->count; i++) json_append(&k, murals, mural_of(&k, f, i, fault));
    file_format_set(&k, o, FORMAT_SHOW);
    json_set(&k, o, "name", json_text(f->show->name));
    json_set(&k, o, "currency", json_text(f->show->shared.currency));
    json_set(&k, o, "spare", json_real(f->show->shared.spare));
    json_set(&k, o, "murals", murals);
    json_set(&k, o, "totals", totals_of(&k, f));
    if (f->studio->sizes.suppliers) json_set(&k, o, "suppliers", suppliers_of(&k, f));
    json_set(&k, o, "cost", cost_of(&k, f));
    json_set(&k, o, "palette", palette_of(&k, f));
    json_set(&k, o, "journey", journey_of(&k, f->crates));
    json_set(&k, o, "calendar", calendar_of(&k, f));
    json_set(&k, o, "book", pages_of(&k, f));
    json_set(&k, o, "files", files_of(&k, folder, file, files, fault));
    show_folder_partial(folder, "show.json", path);
    return json_save(&k, o, path, fault);
}
