#include "table.h"

#include "csv.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- the sheet: one CSV file being written ---- */

typedef struct Sheet {
    FILE *file;
    const char *path;
    int fields; /* so far in this record */
} Sheet;

static Status sheet_open(Sheet *sheet, const char *path, const char *header, Fault *fault)
{
    *sheet = (Sheet){.file = fopen(path, "wb"), .path = path};
    if (!sheet->file)
        return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); check the folder",
                         path, strerror(errno));
    fprintf(sheet->file, "%s\r\n", header);
    return STATUS_OK;
}

static void separate(Sheet *sheet)
{
    if (sheet->fields++) putc(',', sheet->file);
}

static void put_text(Sheet *sheet, const char *text)
{
    separate(sheet);
    if (!text[strcspn(text, ",\"\r\n")]) {
        fputs(text, sheet->file);
        return;
    }
    putc('"', sheet->file);
    for (; *text; text++) {
        if (*text == '"') putc('"', sheet->file);
        putc(*text, sheet->file);
    }
    putc('"', sheet->file);
}

/* Whole numbers by hand: a large plan has millions, and printf is slow. */
static void put_whole(Sheet *sheet, long value)
{
    char digits[24], *c = digits + sizeof digits;
    unsigned long rest = value < 0 ? 0UL - (unsigned long)value : (unsigned long)value;
    do *--c = (char)('0' + rest % 10);
    while (rest /= 10);
    if (value < 0) *--c = '-';
    separate(sheet);
    fwrite(c, 1, (size_t)(digits + sizeof digits - c), sheet->file);
}

static void put_number(Sheet *sheet, int decimals, double value)
{
    separate(sheet);
    fprintf(sheet->file, "%.*f", decimals, value);
}

static void end_record(Sheet *sheet)
{
    fputs("\r\n", sheet->file);
    sheet->fields = 0;
}

static Status sheet_close(Sheet *sheet, Fault *fault)
{
    const int broken = ferror(sheet->file);
    if (fclose(sheet->file) || broken)
        return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space",
                         sheet->path, strerror(errno));
    return STATUS_OK;
}

/* ---- the files ---- */

Status table_bricks(const Mural *m, const char *path, Fault *fault)
{
    Sheet sheet;
    const Status status = sheet_open(
        &sheet, path, "panel,column,row,tier,columns,rows,tiers,size,colour,shown", fault);
    if (status) return status;
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        put_text(&sheet, m->panels->panel[b->panel].name);
        put_whole(&sheet, b->column + 1);
        put_whole(&sheet, b->row + 1);
        put_whole(&sheet, b->tier + 1);
        put_whole(&sheet, b->columns);
        put_whole(&sheet, b->rows);
        put_whole(&sheet, b->tiers);
        put_text(&sheet, m->sizes->size[b->size].name);
        put_text(&sheet, m->palette->colour[b->colour].id);
        put_whole(&sheet, b->shown);
        end_record(&sheet);
    }
    return sheet_close(&sheet, fault);
}

Status table_rows(const Mural *m, const char *path, Fault *fault)
{
    Sheet sheet;
    const Status status = sheet_open(&sheet, path, "panel,row,tier,nth,column,size,colour", fault);
    if (status) return status;
    long nth = 0;
    for (size_t i = 0; i < m->laid->count; i++) {
        const Brick *b = &m->laid->brick[i];
        const Brick *before = i ? b - 1 : NULL;
        const bool same_row =
            before && before->panel == b->panel && before->row == b->row && before->tier == b->tier;
        nth = same_row ? nth + 1 : 1;
        put_text(&sheet, m->panels->panel[b->panel].name);
        put_whole(&sheet, b->row + 1);
        put_whole(&sheet, b->tier + 1);
        put_whole(&sheet, nth);
        put_whole(&sheet, b->column + 1);
        put_text(&sheet, m->sizes->size[b->size].name);
        put_text(&sheet, m->palette->colour[b->colour].id);
        end_record(&sheet);
    }
    return sheet_close(&sheet, fault);
}

Status table_parts(const Mural *m, const char *path, Fault *fault)
{
    Sheet sheet;
    const Status status = sheet_open(
        &sheet, path, "colour,name,size,count,spare,order,in_stock,to_buy,price,mass_g", fault);
    if (status) return status;
    for (int i = 0; i < m->parts->count; i++) {
        const Part *p = &m->parts->part[i];
        put_text(&sheet, m->palette->colour[p->colour].id);
        put_text(&sheet, m->palette->colour[p->colour].name);
        put_text(&sheet, m->sizes->size[p->size].name);
        put_whole(&sheet, p->count);
        put_whole(&sheet, p->spare);
        put_whole(&sheet, p->order);
        put_whole(&sheet, p->in_stock);
        put_whole(&sheet, p->to_buy);
        put_number(&sheet, 4, p->price);
        put_number(&sheet, 3, p->mass_g);
        end_record(&sheet);
    }
    return sheet_close(&sheet, fault);
}

Status table_order(const Mural *m, const char *path, Fault *fault)
{
    Sheet sheet;
    const Status status =
        sheet_open(&sheet, path, "colour,name,size,to_buy,pack,packs,order,price", fault);
    if (status) return status;
    for (int i = 0; i < m->parts->count; i++) {
        const Part *p = &m->parts->part[i];
        if (!p->to_buy) continue;
        put_text(&sheet, m->palette->colour[p->colour].id);
        put_text(&sheet, m->palette->colour[p->colour].name);
        put_text(&sheet, m->sizes->size[p->size].name);
        put_whole(&sheet, p->to_buy);
        put_whole(&sheet, p->pack);
        put_whole(&sheet, p->bought / p->pack);
        put_whole(&sheet, p->bought);
        put_number(&sheet, 4, (double)p->bought * p->unit_price);
        end_record(&sheet);
    }
    return sheet_close(&sheet, fault);
}

static void put_left(Sheet *sheet, const Mural *m, int colour, int size, long quantity,
                     const StockLine *line)
{
    char price[NUMBER_TEXT] = "";
    if (line && !isnan(line->price)) number_print(price, line->price);
    put_text(sheet, m->palette->colour[colour].id);
    put_text(sheet, m->sizes->size[size].name);
    put_whole(sheet, quantity);
    put_text(sheet, price);
    put_whole(sheet, line ? line->pack : 1);
    end_record(sheet);
}

Status table_left(const Mural *m, const char *path, Fault *fault)
{
    Sheet sheet;
    const Status status = sheet_open(&sheet, path, "colour,size,quantity,price,pack", fault);
    if (status) return status;
    const Part *p = m->parts->part, *end = p + m->parts->count;
    for (int colour = 0; colour < m->palette->count; colour++)
        for (int size = 0; size < m->sizes->count; size++) {
            const StockLine *line = stock_find(m->stock, colour, size);
            const bool used = p < end && p->colour == colour && p->size == size;
            if (!used && !line) continue;
            long quantity = line ? line->quantity : 0;
            if (used) {
                quantity += p->bought - p->count;
                p++;
            }
            if (line || quantity) put_left(&sheet, m, colour, size, quantity, line);
        }
    return sheet_close(&sheet, fault);
}

Status table_panels(const Mural *m, const char *path, Fault *fault)
{
    Sheet sheet;
    const Status status =
        sheet_open(&sheet, path,
                   "panel,column,row,columns,rows,width_mm,height_mm,depth_mm,bricks,mass_kg,"
                   "joined,longest_straight_joint,pieces,unsupported,weak,quarter_lap,"
                   "centre_x_mm,centre_y_mm,centre_z_mm,hanging_moment_nm,tipping_moment_nm,"
                   "fixing_load_n",
                   fault);
    if (status) return status;
    for (int i = 0; i < m->panels->count; i++) {
        const Panel *p = &m->panels->panel[i];
        const PanelBond *bond = &m->bond->panel[i];
        const PanelLoad load = m->load[i];
        put_text(&sheet, p->name);
        put_whole(&sheet, p->column + 1);
        put_whole(&sheet, p->row + 1);
        put_whole(&sheet, p->columns);
        put_whole(&sheet, p->rows);
        put_number(&sheet, 3, p->columns * m->cell_width_mm);
        put_number(&sheet, 3, p->rows * m->cell_height_mm);
        put_number(&sheet, 3, load.depth * m->step_mm);
        put_whole(&sheet, (long)load.bricks);
        put_number(&sheet, 6, load.mass_g / 1000.0);
        put_whole(&sheet, bond->pieces == 1);
        put_whole(&sheet, bond->longest_straight_joint);
        put_whole(&sheet, bond->pieces);
        put_whole(&sheet, bond->unsupported);
        put_whole(&sheet, bond->weak);
        put_number(&sheet, 4, bond->quarter_lap);
        for (int axis = 0; axis < 3; axis++) put_number(&sheet, 3, load.statics.centre_mm[axis]);
        put_number(&sheet, 4, load.statics.hanging_nm);
        put_number(&sheet, 4, load.statics.tipping_nm);
        put_number(&sheet, 3, load.statics.fixing_n);
        end_record(&sheet);
    }
    return sheet_close(&sheet, fault);
}
