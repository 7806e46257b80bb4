/* A share is written even where it is the same as before: what counts for a plan is its bytes. */
#include "show/stock_shares.h"

#include "base/csv.h"
#include "base/csv_sheet.h"
#include "base/memory.h"
#include "relief/relief.h"
#include "show/stock_demand.h"

#include <math.h>
#include <stdio.h>

static Status write_share(const DemandTask *task, const char *path, const long *quantity,
                          Fault *fault)
{
    CsvSheet sheet;
    const Studio *studio = task->studio;
    const Status status = csv_sheet_open(&sheet, path, TABLE_LEFT, fault);
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

/* Units behind the faces of the murals, whose colours are free. */
typedef struct Backing {
    double units[SHOW_MURALS_MOST], all;
    int fill[SHOW_MURALS_MOST]; /* the colour that a plan gives them where no size lacks */
    double part; /* of what all faces leave of each colour, that is kept for it: 0 to 1 */
} Backing;

/* The sharing out of one colour. */
typedef struct ColourShare {
    int murals;
    const long *demand; /* cells that each mural wants, PALETTE_MOST apart */
    const Backing *backing;
    long wanted;   /* sum of the demands */
    double units;  /* on the shelf */
    double filled; /* of the backing, units of murals that fill it with this colour */
    bool fill[SHOW_MURALS_MOST];
    double got[SHOW_MURALS_MOST];
} ColourShare;

/* Its face first. Of what faces leave, backing has what it takes, of the colour that fills it as
 * much as there is; the rest goes with the faces. */
static double due(const ColourShare *c, int mural)
{
    const double demand = (double)c->demand[(size_t)mural * PALETTE_MOST];
    const double left = fmax(0, c->units - (double)c->wanted), units = c->backing->units[mural];
    const double by_face = c->wanted ? demand / (double)c->wanted : 1.0 / c->murals;
    double part = c->backing->part, by_backing = part > 0 ? units / c->backing->all : 0;
    if (c->filled > 0) {
        part = left > c->filled ? c->filled / left : 1;
        by_backing = c->fill[mural] ? units / c->filled : 0;
    }
    return demand + left * (part * by_backing + (1 - part) * by_face);
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

/* Units behind the face of a mural, less what stands; of a relief, whose steps nobody knows yet,
 * half of the most. */
static double backing_of(const DemandTask *task, int mural)
{
    const Job *job = &task->show->mural[mural].job;
    const Standing *s = &task->standing[mural];
    const double cells = (double)show_pictures_cells(task->pictures, mural);
    const bool raised = job->relief != RELIEF_NONE || *job->steps_map || job_layered(job);
    const int steps = job->steps ? job->steps : RELIEF_OPTIONS_DEFAULT.steps;
    const double thick = job->build == BUILD_WALL && job->thickness > 1 ? job->thickness - 1 : 0;
    const double all = cells * (thick + (raised ? steps / 2.0 : 0));
    return fmax(0, all - ((double)s->units - (double)s->shown));
}

/* What is behind a face is filled with the colour of which faces leave most. */
static void choose_fill(const DemandTask *task, const long *demand, Backing *b, Job *job)
{
    double left[PALETTE_MOST] = {0};
    const Palette *palette = &task->studio->palette;
    for (int c = 0; c < palette->count; c++) {
        left[c] = task->offered[c] ? (double)task->studio->units[c] : -(double)INFINITY;
        for (int m = 0; m < task->show->count; m++)
            left[c] -= (double)demand[(size_t)m * PALETTE_MOST + (size_t)c];
    }
    for (int m = 0; m < task->show->count; m++) {
        int most = 0;
        for (int c = 1; c < palette->count; c++)
            if (left[c] > left[most]) most = c;
        if (*job[m].backing)
            most = palette_find(palette, job[m].backing);
        else if (b->units[m] > 0)
            snprintf(job[m].backing, sizeof job[m].backing, "%.15s", palette->colour[most].id);
        b->fill[m] = most;
        if (most >= 0) left[most] -= b->units[m];
    }
}

static Backing reckon_backing(const DemandTask *task)
{
    Backing b = {.all = 0};
    double left = 0;
    for (int m = 0; m < task->show->count; m++) {
        b.units[m] = backing_of(task, m);
        b.all += b.units[m];
        left -= (double)stock_demand_cells(task, m);
    }
    for (int c = 0; c < task->studio->palette.count; c++)
        if (task->offered[c]) left += (double)task->studio->units[c];
    if (b.all > 0) b.part = left > b.all ? b.all / left : 1;
    return b;
}

/* quantity: murals x lines of the stock. */
static void share_all(const ShareTask *share, const long *demand, long *quantity)
{
    const DemandTask *task = &share->demand;
    const Studio *studio = task->studio;
    Backing backing = reckon_backing(task);
    choose_fill(task, demand, &backing, share->job);
    for (int colour = 0; colour < studio->palette.count; colour++) {
        ColourShare c = {.murals = task->show->count,
                         .demand = demand + colour,
                         .backing = &backing,
                         .units = (double)studio->units[colour]};
        for (int m = 0; m < c.murals; m++) {
            c.wanted += c.demand[(size_t)m * PALETTE_MOST];
            c.fill[m] = backing.fill[m] == colour;
            if (c.fill[m]) c.filled += backing.units[m];
        }
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
    if (!status) share_all(task, demand, quantity);
    memory_free(demand);
    return status;
}

/* ---- files ---- */

static Status write_all(const ShareTask *task, const long *quantity, Fault *fault)
{
    char path[FOLDER_PATH];
    Status status = show_folder_make_shelf(task->folder, fault);
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
