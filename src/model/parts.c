/* Counts stand in one table, colour by size, so the parts come out in palette and
 * size order without sorting. */
#include "model/parts.h"

#include "base/memory.h"

#include <assert.h>
#include <math.h>

/* Percent of a count, rounded up. The small step back keeps 5 % of 100 at 5 where
 * the product is a hair above it. */
static long spare_of(long count, double percent)
{
    return percent > 0 ? (long)ceil((double)count * percent / 100 - 1e-9) : 0;
}

Status parts_count(const Laid *laid, int colours, int sizes, long **count_out, Fault *fault)
{
    const size_t entries = (size_t)colours * (size_t)sizes;
    long *count = *count_out = memory_create(entries, sizeof *count);
    if (!count) return memory_fault(fault, entries, sizeof *count);
    for (size_t i = 0; i < laid->count; i++) {
        const Brick *b = &laid->brick[i];
        assert(b->colour < colours && b->size < sizes);
        count[(size_t)b->colour * (size_t)sizes + b->size]++;
    }
    return STATUS_OK;
}

/* A line for `count` bricks of a colour and size, of which `built` stand. */
static Part make_part(const PartsOf *of, int entry, long count, long built)
{
    const int colour = entry / of->sizes->count, size = entry % of->sizes->count;
    const double percent = of->spare_percent;
    Part part = {.colour = colour, .size = size, .count = count, .built = built};
    const StockLine *line = of->stock ? stock_find(of->stock, colour, size) : NULL;
    const long to_come = part_to_come(&part);
    part.spare = spare_of(to_come, percent);
    if (percent > 0 && to_come && part.spare < 1) part.spare = 1;
    part.order = to_come + part.spare;
    part.in_stock = line ? line->quantity : 0;
    part.to_buy = part.order > part.in_stock ? part.order - part.in_stock : 0;
    part.mass_g = (double)count * of->sizes->size[size].mass_g;
    return part;
}

/* What is bought of one price has that, to the last digit; the size's holds where nothing is. */
static double mean_price(const Parts *parts, const Part *part, const Ways *ways, const Size *size)
{
    double outlay = 0;
    if (ways->count == 1) return ways->offer[0].price;
    if (!part->purchases) return size->price;
    if (part->purchases == 1) return parts->purchase[part->purchase].offer.price;
    for (int i = 0; i < part->purchases; i++)
        outlay += purchase_price(&parts->purchase[part->purchase + i]);
    return outlay / (double)part->bought;
}

/* `capacity` of the purchases. */
static Status buy_part(Parts *parts, const PartsOf *of, Part *part, size_t *capacity, Fault *fault)
{
    const StockLine *line = of->stock ? stock_find(of->stock, part->colour, part->size) : NULL;
    const Ways ways = purchase_ways(of->sizes, part->size, line);
    Status status =
        memory_grow(&parts->purchase, capacity, (size_t)parts->purchases + SIZE_OFFERS_MOST,
                    sizeof *parts->purchase, fault);
    if (status) return status;
    part->purchase = parts->purchases;
    status = purchase_cheapest(&ways, part->to_buy, parts->purchase + parts->purchases,
                               &part->purchases, fault);
    for (int i = 0; i < part->purchases; i++) {
        const Purchase *p = &parts->purchase[parts->purchases++];
        part->bought += p->quantity;
        parts->outlay += purchase_price(p);
    }
    part->unit_price = mean_price(parts, part, &ways, &of->sizes->size[part->size]);
    part->price = (double)part->order * part->unit_price;
    return status;
}

static void add_part(Parts *parts, const Part *part)
{
    parts->part[parts->count++] = *part;
    parts->bricks += part->count;
    parts->built += part->built;
    parts->order += part->order;
    parts->price += part->price;
    parts->mass_g += part->mass_g;
    parts->bought += part->bought;
}

static Status make_parts(Parts *parts, const PartsOf *of, const long *count, const long *built,
                         Fault *fault)
{
    const int entries = of->palette->count * of->sizes->count;
    size_t used = 0, capacity = 0;
    Status status = STATUS_OK;
    for (int i = 0; i < entries; i++) used += count[i] > 0;
    parts->part = memory_create(used, sizeof *parts->part);
    if (!parts->part) return memory_fault(fault, used, sizeof *parts->part);
    for (int i = 0; i < entries && !status; i++) {
        if (!count[i]) continue;
        Part part = make_part(of, i, count[i], built ? built[i] : 0);
        status = buy_part(parts, of, &part, &capacity, fault);
        add_part(parts, &part);
    }
    return status;
}

Status parts_init(Parts *parts_out, const PartsOf *of, Fault *fault)
{
    const int colours = of->palette->count, sizes = of->sizes->count;
    *parts_out = (Parts){0};
    long *count = NULL, *built = NULL;
    Status status = parts_count(of->laid, colours, sizes, &count, fault);
    if (!status && of->standing) status = parts_count(of->standing, colours, sizes, &built, fault);
    if (!status) status = make_parts(parts_out, of, count, built, fault);
    memory_free(built);
    memory_free(count);
    return status;
}

void parts_clear(Parts *parts)
{
    memory_free(parts->part);
    memory_free(parts->purchase);
    *parts = (Parts){0};
}

long parts_supplied(const Parts *parts, int supplier, double *outlay)
{
    long bricks = 0;
    *outlay = 0;
    for (int i = 0; i < parts->purchases; i++) {
        const Purchase *p = &parts->purchase[i];
        if (p->offer.supplier != supplier) continue;
        bricks += p->quantity;
        *outlay += purchase_price(p);
    }
    return bricks;
}

int parts_colours(const Parts *parts)
{
    int colours = 0;
    for (int i = 0; i < parts->count; i++)
        colours += !i || parts->part[i].colour != parts->part[i - 1].colour;
    return colours;
}
