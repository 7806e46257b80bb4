/* One function a table, one call a field, in the order of the header row: a table is read off its
 * function. Places count from 1, row 1 and column 1 at the lower left; lengths are millimetres,
 * masses grams unless the header says kg. Nothing is reckoned here that the mural does not hold,
 * except sums over a line. Format: RFC 4180. */
#include "output/csv_tables.h"

#include "base/csv.h"
#include "figures/hold_report.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

Status csv_tables_bricks(const Mural *m, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open(&sheet, path, TABLE_BRICKS, fault);
    if (status) return status;
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        csv_put_text(&sheet, m->panels->panel[b->panel].name);
        csv_put_whole(&sheet, b->column + 1);
        csv_put_whole(&sheet, b->row + 1);
        csv_put_whole(&sheet, b->tier + 1);
        csv_put_whole(&sheet, b->columns);
        csv_put_whole(&sheet, b->rows);
        csv_put_whole(&sheet, b->tiers);
        csv_put_text(&sheet, m->sizes->size[b->size].name);
        csv_put_text(&sheet, m->palette->colour[b->colour].id);
        csv_put_whole(&sheet, b->shown);
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}

Status csv_tables_rows(const Mural *m, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open(&sheet, path, TABLE_ROWS, fault);
    if (status) return status;
    long nth = 0;
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        const Brick *before = i ? b - 1 : NULL;
        const bool same_row =
            before && before->panel == b->panel && before->row == b->row && before->tier == b->tier;
        nth = same_row ? nth + 1 : 1;
        csv_put_text(&sheet, m->panels->panel[b->panel].name);
        csv_put_whole(&sheet, b->row + 1);
        csv_put_whole(&sheet, b->tier + 1);
        csv_put_whole(&sheet, nth);
        csv_put_whole(&sheet, b->column + 1);
        csv_put_text(&sheet, m->sizes->size[b->size].name);
        csv_put_text(&sheet, m->palette->colour[b->colour].id);
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}

Status csv_tables_parts(const Mural *m, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open(&sheet, path, TABLE_PARTS, fault);
    if (status) return status;
    for (int i = 0; i < m->parts->count; i++) {
        const Part *p = &m->parts->part[i];
        csv_put_text(&sheet, m->palette->colour[p->colour].id);
        csv_put_text(&sheet, m->palette->colour[p->colour].name);
        csv_put_text(&sheet, m->sizes->size[p->size].name);
        csv_put_whole(&sheet, p->count);
        csv_put_whole(&sheet, p->spare);
        csv_put_whole(&sheet, p->order);
        csv_put_whole(&sheet, p->in_stock);
        csv_put_whole(&sheet, p->to_buy);
        csv_put_number(&sheet, 4, p->price);
        csv_put_number(&sheet, 3, p->mass_g);
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}

void csv_tables_put_purchase(CsvSheet *sheet, const Mural *m, const Part *part,
                             const Purchase *purchase)
{
    const SupplyOffer *o = &purchase->offer;
    char price[NUMBER_TEXT];
    csv_put_text(sheet, m->palette->colour[part->colour].id);
    csv_put_text(sheet, m->palette->colour[part->colour].name);
    csv_put_text(sheet, m->sizes->size[part->size].name);
    csv_put_whole(sheet, purchase->to_buy);
    csv_put_whole(sheet, o->pack);
    csv_put_whole(sheet, purchase->quantity / o->pack);
    csv_put_whole(sheet, purchase->quantity);
    csv_put_number(sheet, 4, purchase_price(purchase));
    if (!m->sizes->offered) return;
    csv_put_text(sheet, sizes_supplier(m->sizes, o));
    csv_put_text(sheet, number_print(price, o->price));
    csv_put_whole(sheet, o->from);
}

Status csv_tables_order(const Mural *m, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open_more(&sheet, path, TABLE_ORDER,
                                              m->sizes->offered ? COLUMNS_OF_SUPPLIERS : 0, fault);
    if (status) return status;
    for (int supplier = 0; supplier <= NO_SUPPLIER; supplier++)
        for (int i = 0; i < m->parts->count; i++) {
            const Part *p = &m->parts->part[i];
            for (int k = p->purchase; k < p->purchase + p->purchases; k++) {
                if (m->parts->purchase[k].offer.supplier != supplier) continue;
                csv_tables_put_purchase(&sheet, m, p, &m->parts->purchase[k]);
                csv_end_record(&sheet);
            }
        }
    return csv_sheet_close(&sheet, fault);
}

static void put_left(CsvSheet *sheet, const Mural *m, int colour, int size, long quantity,
                     const StockLine *line)
{
    char price[NUMBER_TEXT] = "";
    if (line && !isnan(line->price)) number_print(price, line->price);
    csv_put_text(sheet, m->palette->colour[colour].id);
    csv_put_text(sheet, m->sizes->size[size].name);
    csv_put_whole(sheet, quantity);
    csv_put_text(sheet, price);
    csv_put_whole(sheet, line ? line->pack : 1);
    csv_end_record(sheet);
}

Status csv_tables_left(const Mural *m, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open(&sheet, path, TABLE_LEFT, fault);
    if (status) return status;
    const Part *p = m->parts->part, *end = p + m->parts->count;
    for (int colour = 0; colour < m->palette->count; colour++)
        for (int size = 0; size < m->sizes->count; size++) {
            const StockLine *line = stock_find(m->stock, colour, size);
            const bool used = p < end && p->colour == colour && p->size == size;
            if (!used && !line) continue;
            long quantity = line ? line->quantity : 0;
            if (used) {
                quantity += p->bought - part_to_come(p);
                p++;
            }
            if (line || quantity) put_left(&sheet, m, colour, size, quantity, line);
        }
    return csv_sheet_close(&sheet, fault);
}

Status csv_tables_difference(const Mural *m, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open(&sheet, path, TABLE_DIFFERENCE, fault);
    if (status) return status;
    for (size_t i = 0; i < m->difference->count; i++) {
        const DifferenceLine *line = &m->difference->line[i];
        csv_put_text(&sheet, line->colour);
        csv_put_text(&sheet, line->size);
        csv_put_whole(&sheet, line->before);
        csv_put_whole(&sheet, line->after);
        csv_put_whole(&sheet, line->built);
        csv_put_whole(&sheet, line->after - line->before);
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}

/* Empty where it was not reckoned. */
static void put_known(CsvSheet *sheet, int places, double value)
{
    if (isfinite(value))
        csv_put_number(sheet, places, value);
    else
        csv_put_text(sheet, "");
}

static void put_holds(CsvSheet *sheet, const Mural *m, int panel)
{
    char place[120] = "";
    const PanelUses use = hold_uses(m->holds, panel);
    const WeakJoint *weakest = hold_weakest(m->holds, panel);
    if (weakest) hold_place_text(m, weakest, place, sizeof place);
    put_known(sheet, 6, use.hanging);
    put_known(sheet, 6, use.carried);
    put_known(sheet, 6, use.crate);
    put_known(sheet, 4, m->holds->panel[panel].least_hold_n);
    csv_put_text(sheet, place);
}

/* What is told of a wall alone is empty for a plaque. */
static void put_carrying(CsvSheet *sheet, const Mural *m, int panel)
{
    char text[400];
    for (int i = 0; i < HOLD_TOLD; i++)
        put_known(sheet, 6, hold_told_use(m->holds, panel, &hold_told[i]));
    hold_carry_text(m, panel, text, sizeof text);
    csv_put_text(sheet, text);
    if (m->solid.build == BUILD_WALL) {
        csv_put_whole(sheet, m->solid.base);
        csv_put_whole(sheet, m->load[panel].headers);
        csv_put_whole(sheet, m->load[panel].bare_courses);
    } else
        for (int i = 0; i < 3; i++) csv_put_text(sheet, "");
}

Status csv_tables_panels(const Mural *m, const char *path, Fault *fault)
{
    CsvSheet sheet;
    const Status status = csv_sheet_open(&sheet, path, TABLE_PANELS, fault);
    if (status) return status;
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        const PanelBond *bond = &m->bond->panel[i];
        const PanelLoad load = m->load[i];
        csv_put_text(&sheet, p->name);
        csv_put_whole(&sheet, p->column + 1);
        csv_put_whole(&sheet, p->row + 1);
        csv_put_whole(&sheet, p->columns);
        csv_put_whole(&sheet, p->rows);
        csv_put_number(&sheet, 3, p->columns * m->cell_width_mm);
        csv_put_number(&sheet, 3, p->rows * m->cell_height_mm);
        csv_put_number(&sheet, 3, load.depth * m->step_mm);
        csv_put_whole(&sheet, (long)load.bricks);
        csv_put_number(&sheet, 6, load.mass_g / 1000.0);
        csv_put_whole(&sheet, bond->pieces == 1);
        csv_put_whole(&sheet, bond->longest_straight_joint);
        csv_put_number(&sheet, 6, load.whole_kg);
        csv_put_number(&sheet, 3, load.whole_depth_mm);
        csv_put_whole(&sheet, bond->pieces);
        csv_put_whole(&sheet, bond->unsupported);
        csv_put_whole(&sheet, bond->weak);
        csv_put_number(&sheet, 4, bond->quarter_lap);
        for (int axis = 0; axis < 3; axis++)
            csv_put_number(&sheet, 3, load.statics.centre_mm[axis]);
        csv_put_number(&sheet, 4, load.statics.hanging_nm);
        csv_put_number(&sheet, 4, load.statics.tipping_nm);
        csv_put_number(&sheet, 3, load.statics.fixing_n);
        put_holds(&sheet, m, i);
        put_carrying(&sheet, m, i);
        csv_end_record(&sheet);
    }
    return csv_sheet_close(&sheet, fault);
}
