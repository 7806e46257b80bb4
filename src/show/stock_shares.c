/* A share is written even where it is the same as before: what counts for a plan is its bytes. */
#include "show/stock_shares.h"

#include "base/csv.h"
#include "base/csv_sheet.h"
#include "base/memory.h"
#include "show/stock_demand.h"

#include <errno.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>

static Status write_share(const DemandTask *task, const char *path, const long *quantity,
                          Fault *fault)
{
    CsvSheet sheet;
    const Studio *studio = task->studio;
    const Status status = csv_sheet_open(&sheet, path, "colour,size,quantity,price,pack", fault);
    if (status) return status;
    for (size_t i = 0; i < studio->stock.count; i++) {
        const StockLine *line = &studio->stock.line[i];
        char price[NUMBER_TEXT] = "";
        if (!task->offered[line->colour]) continue;
        if (!isnan(line->price)) number_print(price, line->price);
        csv_put_text(&sheet, studio->palette.colour[line->colour].id);
        csv_put_text(&sheet, studio->sizes.size[line->size].name);
        csv_put_whole(&sheet, quantity[i]);
        csv_put_text(&sheet, price);
        csv_put_whole(&sheet, line->pack);
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}

/* ---- shelf of which nothing may be bought ---- */

/* The sharing out of one colour. */
typedef struct ColourShare {
    int murals;
    const long *demand; /* cells that each mural wants, PALETTE_MOST apart */
    long wanted;        /* sum of that */
    double units;       /* on the shelf */
    double got[SHOW_MURALS_MOST];
} ColourShare;

static double due(const ColourShare *c, int mural)
{
    const long demand = c->demand[(size_t)mural * PALETTE_MOST];
    return c->wanted ? c->units * (double)demand / (double)c->wanted : c->units / c->murals;
}

/* How badly it wants one more: what it cannot do without comes before its part of the rest. */
static double lack(const ColourShare *c, int mural)
{
    const double demand = (double)c->demand[(size_t)mural * PALETTE_MOST];
    const double without = demand - c->got[mural];
    return without > 0 ? c->units + without : due(c, mural) - c->got[mural];
}

/* Each gets its part rounded down, and those that lack most what is over. */
static void share_line(ColourShare *c, const StockLine *line, double units_each, long *quantity,
                       size_t lines)
{
    long left = line->quantity;
    for (int m = 0; m < c->murals && c->units > 0; m++) {
        const long part = (long)floor((double)line->quantity * due(c, m) / c->units);
        quantity[(size_t)m * lines] = part < left ? part : left;
        left -= quantity[(size_t)m * lines];
        c->got[m] += (double)quantity[(size_t)m * lines] * units_each;
    }
    for (; left > 0 && c->units > 0; left--) {
        int most = 0;
        for (int m = 1; m < c->murals; m++)
            if (lack(c, m) > lack(c, most)) most = m;
        quantity[(size_t)most * lines]++;
        c->got[most] += units_each;
    }
}

/* Large sizes first, so that small ones even out what those left uneven. */
static void share_colour(const Studio *studio, int colour, ColourShare *c, long *quantity)
{
    const Stock *stock = &studio->stock;
    for (int area = SIZE_LONGEST * SIZE_LONGEST; area > 0; area--)
        for (size_t i = 0; i < stock->count; i++) {
            const StockLine *line = &stock->line[i];
            const Size *s = &studio->sizes.size[line->size];
            if (line->colour == colour && s->width * s->length == area)
                share_line(c, line, area, quantity + i, stock->count);
        }
}

/* quantity: murals x lines of the stock. */
static void share_all(const Show *show, const Studio *studio, const long *demand, long *quantity)
{
    for (int colour = 0; colour < studio->palette.count; colour++) {
        ColourShare c = {.murals = show->count,
                         .demand = demand + colour,
                         .units = (double)studio->units[colour]};
        for (int m = 0; m < show->count; m++) c.wanted += c.demand[(size_t)m * PALETTE_MOST];
        if (studio->units[colour]) share_colour(studio, colour, &c, quantity);
    }
}

static Status share_out(const ShareTask *task, long *quantity, const Voice *voice, Fault *fault)
{
    const size_t murals = (size_t)task->demand.show->count;
    if (!task->demand.show->shared.stock_only) return STATUS_OK;
    long *demand = memory_create(murals, PALETTE_MOST * sizeof *demand);
    if (!demand) return memory_fault(fault, murals, PALETTE_MOST * sizeof *demand);
    const Status status = stock_demand(&task->demand, demand, voice, fault);
    if (!status) share_all(task->demand.show, task->demand.studio, demand, quantity);
    memory_free(demand);
    return status;
}

/* ---- files ---- */

static Status write_all(const ShareTask *task, const long *quantity, Fault *fault)
{
    char path[FOLDER_PATH];
    Status status = STATUS_OK;
    show_folder_mural(task->folder, "shelf", path);
    if (mkdir(path, 0777) && errno != EEXIST)
        return fault_set(fault, STATUS_NO_CREATE,
                         "%s: cannot be created (%s); choose another --out", path, strerror(errno));
    for (int i = 0; i < task->demand.show->count && !status; i++) {
        show_folder_shelf(task->folder, task->demand.show->mural[i].name, path);
        status = write_share(&task->demand, path,
                             quantity + (size_t)i * task->demand.studio->stock.count, fault);
    }
    return status;
}

Status stock_shares_write(const ShareTask *task, const Voice *voice, Fault *fault)
{
    if (!*task->demand.show->shared.stock) return STATUS_OK;
    const size_t murals = (size_t)task->demand.show->count,
                 lines = task->demand.studio->stock.count;
    long *quantity = memory_create(murals * (lines + 1), sizeof *quantity);
    if (!quantity) return memory_fault(fault, murals * (lines + 1), sizeof *quantity);
    Status status = share_out(task, quantity, voice, fault);
    if (!status) status = write_all(task, quantity, fault);
    memory_free(quantity);
    return status;
}
