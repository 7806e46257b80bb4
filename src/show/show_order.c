/* The bricks of all murals are counted as if they were of one: spares, packs and prices are those
 * of model/parts, for a whole and for a single mural alike. */
#include "show/show_order.h"

#include "base/csv_sheet.h"
#include "base/memory.h"
#include "output/csv_tables.h"

#include <string.h>

/* ---- counting ---- */

static PartsOf parts_of(const Studio *studio, const Laid *laid, const Laid *standing, double spare)
{
    return (PartsOf){.laid = laid,
                     .standing = standing,
                     .palette = &studio->palette,
                     .sizes = &studio->sizes,
                     .stock = &studio->stock,
                     .spare_percent = spare};
}

static const Laid *laid_of(const Planned *p, bool standing)
{
    return standing ? &p->standing : &p->plan->laid;
}

static Status gather_bricks(Laid *all, const Planned *planned, int murals, bool standing,
                            Fault *fault)
{
    size_t bricks = 0;
    for (int i = 0; i < murals; i++) bricks += laid_of(&planned[i], standing)->count;
    const Status status =
        memory_grow(&all->brick, &all->capacity, bricks, sizeof *all->brick, fault);
    for (int i = 0; i < murals && !status; i++) {
        const Laid *laid = laid_of(&planned[i], standing);
        if (laid->count)
            memcpy(all->brick + all->count, laid->brick, laid->count * sizeof *laid->brick);
        all->count += laid->count;
    }
    return status;
}

static Status count_whole(ShowOrder *o, const Planned *planned, double spare, Fault *fault)
{
    Laid all = {0}, standing = {0};
    Status status = gather_bricks(&all, planned, o->murals, false, fault);
    if (!status) status = gather_bricks(&standing, planned, o->murals, true, fault);
    const PartsOf of = parts_of(o->studio, &all, &standing, spare);
    if (!status) status = parts_init(&o->whole, &of, fault);
    laid_clear(&standing);
    laid_clear(&all);
    return status;
}

/* ---- shares ---- */

static OrderShare *share_at(const ShowOrder *o, int part, int mural)
{
    return &o->share[(size_t)part * (size_t)o->murals + (size_t)mural];
}

/* The mural's line of this colour and size; NULL: it has none. */
static const Part *find_part(const Parts *parts, const Part *like)
{
    for (int i = 0; i < parts->count; i++)
        if (parts->part[i].colour == like->colour && parts->part[i].size == like->size)
            return &parts->part[i];
    return NULL;
}

static void order_apart(ShowOrder *o, const Part *own, long *shelf)
{
    const long taken = own->order < *shelf ? own->order : *shelf;
    const long bought = (own->order - taken + own->pack - 1) / own->pack * own->pack;
    *shelf -= taken;
    o->apart_bought += bought;
    o->apart_outlay += (double)bought * own->unit_price;
}

/* What a mural has of all spares is that part of them which ends where its bricks end; so the
 * shares are whole numbers that add up. */
static void share_part(ShowOrder *o, int part, const Parts *own, const int *making)
{
    const Part *whole = &o->whole.part[part];
    long so_far = 0, spared = 0, shelf = whole->in_stock;
    long shelf_apart = shelf;
    for (int i = 0; i < o->murals; i++) {
        const Part *p = find_part(&own[making[i]], whole);
        OrderShare *s = share_at(o, part, making[i]);
        if (!p) continue;
        s->count = p->count;
        s->built = p->built;
        so_far += part_to_come(p);
        if (part_to_come(whole))
            s->spare = (long)((double)whole->spare * (double)so_far / (double)part_to_come(whole)) -
                       spared;
        spared += s->spare;
        const long wanted = share_order(s);
        s->in_stock = wanted < shelf ? wanted : shelf;
        shelf -= s->in_stock;
        order_apart(o, p, &shelf_apart);
    }
}

static Status share_out(ShowOrder *o, const Show *show, const Planned *planned, Fault *fault)
{
    int making[SHOW_MURALS_MOST];
    const size_t shares = (size_t)o->whole.count * (size_t)o->murals;
    Parts *own = memory_create((size_t)o->murals, sizeof *own);
    Status status = STATUS_OK;
    o->share = memory_create(shares, sizeof *o->share);
    if (!o->share || !own) status = memory_fault(fault, shares, sizeof *o->share);
    for (int i = 0; i < o->murals && !status; i++) {
        const PartsOf of =
            parts_of(o->studio, &planned[i].plan->laid, &planned[i].standing, show->shared.spare);
        status = parts_init(&own[i], &of, fault);
    }
    show_making(show, making);
    for (int i = 0; i < o->whole.count && !status; i++) share_part(o, i, own, making);
    for (int i = 0; own && i < o->murals; i++) parts_clear(&own[i]);
    memory_free(own);
    return status;
}

Status show_order_init(ShowOrder *o, const Show *show, const Planned *planned, const Studio *studio,
                       Fault *fault)
{
    *o = (ShowOrder){.studio = studio, .murals = show->count};
    const Status status = count_whole(o, planned, show->shared.spare, fault);
    return status ? status : share_out(o, show, planned, fault);
}

void show_order_clear(ShowOrder *o)
{
    parts_clear(&o->whole);
    memory_free(o->share);
    o->share = NULL;
}

long show_order_count(const ShowOrder *o, int part, int mural)
{
    return share_at(o, part, mural)->count;
}

/* ---- tables ---- */

/* The murals as one, for tables that are a plan's. */
static Mural as_one(const ShowOrder *o)
{
    return (Mural){.palette = &o->studio->palette,
                   .sizes = &o->studio->sizes,
                   .stock = &o->studio->stock,
                   .parts = &o->whole};
}

static void put_part(CsvSheet *sheet, const Studio *studio, const Part *p)
{
    csv_put_text(sheet, studio->palette.colour[p->colour].id);
    csv_put_text(sheet, studio->palette.colour[p->colour].name);
    csv_put_text(sheet, studio->sizes.size[p->size].name);
}

Status show_order_parts(const ShowOrder *o, const Show *show, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open(
        &sheet, path, "mural,colour,name,size,count,spare,order,in_stock,to_buy,price,mass_g",
        fault);
    if (status) return status;
    for (int mural = 0; mural < o->murals; mural++)
        for (int i = 0; i < o->whole.count; i++) {
            const Part *p = &o->whole.part[i];
            const OrderShare *s = share_at(o, i, mural);
            if (!s->count) continue;
            csv_put_text(&sheet, show->mural[mural].name);
            put_part(&sheet, o->studio, p);
            csv_put_whole(&sheet, s->count);
            csv_put_whole(&sheet, s->spare);
            csv_put_whole(&sheet, share_order(s));
            csv_put_whole(&sheet, s->in_stock);
            csv_put_whole(&sheet, share_to_buy(s));
            csv_put_number(&sheet, 4, (double)share_order(s) * p->unit_price);
            csv_put_number(&sheet, 3, (double)s->count * o->studio->sizes.size[p->size].mass_g);
            csv_end_record(&sheet);
        }
    return csv_sheet_close(&sheet, fault);
}

/* What a part buys with one instalment. */
typedef struct Purchase {
    long to_buy, bought;
} Purchase;

/* With all instalments before it, packs rounded up once. */
static Purchase bought_until(const ShowOrder *o, const Calendar *c, int part, int instalment)
{
    Purchase sum = {0};
    for (int m = 0; m < o->murals; m++)
        if (c->mural[m].instalment <= instalment) sum.to_buy += share_to_buy(share_at(o, part, m));
    const long pack = o->whole.part[part].pack;
    sum.bought = (sum.to_buy + pack - 1) / pack * pack;
    return sum;
}

static void put_instalment(CsvSheet *sheet, const ShowOrder *o, const Calendar *c, int instalment)
{
    char by[DAY_TEXT];
    day_print(c->needed[instalment], by);
    for (int i = 0; i < o->whole.count; i++) {
        const Purchase before = bought_until(o, c, i, instalment - 1);
        Purchase now = bought_until(o, c, i, instalment);
        now.to_buy -= before.to_buy;
        now.bought -= before.bought;
        if (!now.to_buy) continue;
        const Part *p = &o->whole.part[i];
        put_part(sheet, o->studio, p);
        csv_put_whole(sheet, now.to_buy);
        csv_put_whole(sheet, p->pack);
        csv_put_whole(sheet, now.bought / p->pack);
        csv_put_whole(sheet, now.bought);
        csv_put_number(sheet, 4, (double)now.bought * p->unit_price);
        csv_put_text(sheet, by);
        csv_end_record(sheet);
    }
}

Status show_order_order(const ShowOrder *o, const Calendar *c, const char *path, Fault *fault)
{
    const Mural whole = as_one(o);
    CsvSheet sheet;
    if (!c->instalments || !c->show->instalment) return csv_tables_order(&whole, path, fault);
    const Status status =
        csv_sheet_open(&sheet, path, "colour,name,size,to_buy,pack,packs,order,price,by", fault);
    if (status) return status;
    for (int i = 0; i < c->instalments; i++) put_instalment(&sheet, o, c, i);
    return csv_sheet_close(&sheet, fault);
}

Status show_order_left(const ShowOrder *o, const char *path, Fault *fault)
{
    const Mural whole = as_one(o);
    return csv_tables_left(&whole, path, fault);
}
