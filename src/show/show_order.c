/* The bricks of all murals are counted as if they were of one: spares, packs and prices are those
 * of model/parts, for a whole and for a single mural alike. */
#include "show/show_order.h"

#include "base/memory.h"
#include "base/text.h"
#include "output/csv_tables.h"

#include <stdio.h>
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

/* What the mural's part would be bought for by itself. */
static Status order_apart(ShowOrder *o, const Part *own, long *shelf, Fault *fault)
{
    const long taken = own->order < *shelf ? own->order : *shelf;
    const StockLine *line = stock_find(&o->studio->stock, own->colour, own->size);
    const Ways ways = purchase_ways(&o->studio->sizes, own->size, line);
    Purchase purchase[SIZE_OFFERS_MOST];
    int purchases;
    const Status status = purchase_cheapest(&ways, own->order - taken, purchase, &purchases, fault);
    *shelf -= taken;
    for (int i = 0; i < purchases; i++) {
        o->apart_bought += purchase[i].quantity;
        o->apart_outlay += purchase_price(&purchase[i]);
    }
    return status;
}

/* What a mural has of all spares is that part of them which ends where its bricks end; so the
 * shares are whole numbers that add up. */
static Status share_part(ShowOrder *o, int part, const Parts *own, const int *making, Fault *fault)
{
    Status status = STATUS_OK;
    const Part *whole = &o->whole.part[part];
    long so_far = 0, spared = 0, shelf = whole->in_stock;
    long shelf_apart = shelf;
    for (int i = 0; i < o->murals && !status; i++) {
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
        status = order_apart(o, p, &shelf_apart, fault);
    }
    return status;
}

static Status share_lots(ShowOrder *o, const Show *show, const Planned *planned, Fault *fault)
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
    for (int i = 0; i < o->whole.count && !status; i++)
        status = share_part(o, i, own, making, fault);
    for (int i = 0; own && i < o->murals; i++) parts_clear(&own[i]);
    memory_free(own);
    return status;
}

Status show_order_init(ShowOrder *o, const Show *show, const Planned *planned, const Studio *studio,
                       Fault *fault)
{
    *o = (ShowOrder){.studio = studio, .murals = show->count};
    const Status status = count_whole(o, planned, show->shared.spare, fault);
    return status ? status : share_lots(o, show, planned, fault);
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

Status show_order_value(const ShowOrder *o, Planned *planned, Fault *fault)
{
    double(*price)[SIZES_MOST] = memory_create(PALETTE_MOST, sizeof *price);
    if (!price) return memory_fault(fault, PALETTE_MOST, sizeof *price);
    for (int i = 0; i < o->whole.count; i++)
        price[o->whole.part[i].colour][o->whole.part[i].size] = o->whole.part[i].unit_price;
    for (int m = 0; m < o->murals; m++) {
        Planned *p = &planned[m];
        const double work = p->mural->job.rate / p->mural->job.pace;
        for (size_t i = 0; i < p->plan->laid.count; i++) {
            const Brick *b = &p->plan->laid.brick[i];
            p->panel[p->building[b->panel]].value += price[b->colour][b->size] + work;
        }
    }
    memory_free(price);
    return STATUS_OK;
}

bool show_order_supplied(const ShowOrder *o, int supplier, const char *currency, char *text,
                         size_t size)
{
    const Sizes *sizes = &o->studio->sizes;
    char bricks[40], outlay[40];
    double price;
    const long bought = parts_supplied(&o->whole, supplier, &price);
    if (!sizes->suppliers || !bought) return false;
    number_text(bricks, sizeof bricks, (double)bought, 0);
    number_text(outlay, sizeof outlay, price, 2);
    snprintf(text, size, "%s bricks of %s for %s%s%s", bricks,
             supplier < sizes->suppliers ? sizes->supplier[supplier] : "others", outlay,
             *currency ? " " : "", currency);
    return true;
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
    const Status status = csv_sheet_open(&sheet, path, TABLE_SHOW_PARTS, fault);
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

/* What comes of a purchase until its part has had so many bricks, whole packs of it, and with the
 * last of them all that was bought; `before`: what other purchases have covered. */
static Purchase come_until(const Purchase *whole, long bricks, long before)
{
    Purchase p = *whole;
    const long pack = p.offer.pack, wanted = bricks > before ? bricks - before : 0;
    if (wanted >= p.to_buy) return p;
    p.to_buy = wanted;
    p.quantity = (wanted + pack - 1) / pack * pack;
    return p;
}

/* Bricks that a part buys until an instalment has come. */
static long wanted_until(const ShowOrder *o, const Calendar *c, int part, int instalment)
{
    long sum = 0;
    for (int m = 0; m < o->murals; m++)
        if (c->mural[m].instalment <= instalment) sum += share_to_buy(share_at(o, part, m));
    return sum;
}

/* Those purchases of a part that are made with a supplier. */
static void put_part_coming(CsvSheet *sheet, const ShowOrder *o, const Calendar *c, int part,
                            int instalment, int supplier)
{
    const Mural whole = as_one(o);
    const Part *p = &o->whole.part[part];
    const long until = wanted_until(o, c, part, instalment),
               since = wanted_until(o, c, part, instalment - 1);
    char by[DAY_TEXT];
    day_print(c->needed[instalment], by);
    long before = 0;
    for (int k = p->purchase; k < p->purchase + p->purchases; k++) {
        const Purchase *all = &o->whole.purchase[k], had = come_until(all, since, before);
        Purchase now = come_until(all, until, before);
        before += all->to_buy;
        now.to_buy -= had.to_buy;
        now.quantity -= had.quantity;
        if (!now.to_buy || all->offer.supplier != supplier) continue;
        csv_tables_put_purchase(sheet, &whole, p, &now);
        csv_put_text(sheet, by);
        csv_end_record(sheet);
    }
}

Status show_order_order(const ShowOrder *o, const Calendar *c, const char *path, Fault *fault)
{
    const Mural whole = as_one(o);
    CsvSheet sheet;
    if (!c->instalments || !c->show->instalment) return csv_tables_order(&whole, path, fault);
    const unsigned suppliers = whole.sizes->offered ? COLUMNS_OF_SUPPLIERS : 0;
    const Status status =
        csv_sheet_open_more(&sheet, path, TABLE_ORDER, suppliers | COLUMNS_OF_INSTALMENTS, fault);
    if (status) return status;
    for (int i = 0; i < c->instalments; i++)
        for (int supplier = 0; supplier <= NO_SUPPLIER; supplier++)
            for (int part = 0; part < o->whole.count; part++)
                put_part_coming(&sheet, o, c, part, i, supplier);
    return csv_sheet_close(&sheet, fault);
}

Status show_order_left(const ShowOrder *o, const char *path, Fault *fault)
{
    const Mural whole = as_one(o);
    return csv_tables_left(&whole, path, fault);
}
