/* Lines are kept sorted by colour, then size, and found by bisection. */
#include "model/stock.h"

#include "base/csv.h"
#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>

typedef struct StockColumns {
    int colour, size, quantity, price, pack;
} StockColumns;

/* A line and where it stands in the file. */
typedef struct Entry {
    StockLine line;
    size_t row;
} Entry;

/* Rows that are left out, and the first of them. */
typedef struct Others {
    size_t count, first;
} Others;

typedef struct Shelf {
    Entry *entry;
    size_t count;
    Others sizes, colours; /* that the brick set, the palette does not have */
} Shelf;

static Status find_stock_columns(StockColumns *columns, const Csv *csv, Fault *fault)
{
    *columns = (StockColumns){csv_column(csv, "colour"), csv_column(csv, "size"),
                              csv_column(csv, "quantity"), csv_column(csv, "price"),
                              csv_column(csv, "pack")};
    const char *absent = columns->colour < 0     ? "colour"
                         : columns->size < 0     ? "size"
                         : columns->quantity < 0 ? "quantity"
                                                 : NULL;
    if (!absent) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "%s:%d: there is no column %s; the header is colour,size,quantity,price",
                     csv_place(csv), csv_header_line(csv), absent);
}

/* Colour -1 where the palette does not have it, and need not. */
static Status read_colour(int *colour_out, const Csv *csv, size_t row, int column,
                          const StockWords *words, Fault *fault)
{
    char clip[TEXT_CLIP];
    const char *id = csv_field(csv, row, column);
    *colour_out = palette_find(words->palette, id);
    if (*colour_out >= 0 || words->colours == STOCK_OTHERS) return STATUS_OK;
    return csv_fault(csv, row, column, fault,
                     "the palette has no colour '%s'; use its ids, or remove this line",
                     text_clip(clip, id));
}

/* Size -1 where the brick set does not have it. */
static Status read_stock_size(int *size_out, const Csv *csv, size_t row, int column,
                              const Sizes *sizes, Fault *fault)
{
    char clip[TEXT_CLIP];
    const char *text = csv_field(csv, row, column);
    int a, b;
    if (!size_parse(text, &a, &b))
        return csv_fault(csv, row, column, fault,
                         "size is '%s'; write it as NxM, 1 to %d units each, such as 2x4",
                         text_clip(clip, text), SIZE_LONGEST);
    *size_out = sizes_find(sizes, a, b);
    return STATUS_OK;
}

static Status read_stock_row(StockLine *line, const Csv *csv, size_t row,
                             const StockColumns *columns, const StockWords *words, Fault *fault)
{
    *line = (StockLine){.pack = 1, .price = NAN};
    Status status = read_colour(&line->colour, csv, row, columns->colour, words, fault);
    if (!status)
        status = read_stock_size(&line->size, csv, row, columns->size, words->sizes, fault);
    if (!status)
        status = csv_whole(csv, row, columns->quantity, (CsvRange){0, QUANTITY_MOST},
                           &line->quantity, fault);
    if (!status && csv_given(csv, row, columns->price))
        status =
            csv_number(csv, row, columns->price, (CsvRange){0.0, PRICE_MOST}, &line->price, fault);
    if (!status && csv_given(csv, row, columns->pack))
        status =
            csv_whole(csv, row, columns->pack, (CsvRange){1, QUANTITY_MOST}, &line->pack, fault);
    return status;
}

static void pass_over(Others *others, size_t row)
{
    if (others->count++ == 0) others->first = row;
}

static Status read_stock_rows(Shelf *shelf, const Csv *csv, const StockColumns *columns,
                              const StockWords *words, Fault *fault)
{
    Status status = STATUS_OK;
    for (size_t row = 0; !status && row < csv_rows(csv); row++) {
        StockLine line;
        status = read_stock_row(&line, csv, row, columns, words, fault);
        if (status) break;
        if (line.colour < 0)
            pass_over(&shelf->colours, row);
        else if (line.size < 0)
            pass_over(&shelf->sizes, row);
        else
            shelf->entry[shelf->count++] = (Entry){line, row};
    }
    return status;
}

static int compare_lines(const StockLine *a, const StockLine *b)
{
    if (a->colour != b->colour) return a->colour < b->colour ? -1 : 1;
    return (a->size > b->size) - (a->size < b->size);
}

/* Of equal lines the row decides, so that the order does not depend on how qsort sorts. */
static int compare_entries(const void *a, const void *b)
{
    const Entry *x = a, *y = b;
    const int order = compare_lines(&x->line, &y->line);
    return order ? order : (x->row > y->row) - (x->row < y->row);
}

static Status sort_shelf(Shelf *shelf, const Csv *csv, const StockWords *words, Fault *fault)
{
    qsort(shelf->entry, shelf->count, sizeof *shelf->entry, compare_entries);
    const Entry *first = NULL, *second = NULL;
    for (size_t i = 1; i < shelf->count; i++) {
        const Entry *one = &shelf->entry[i - 1], *two = one + 1;
        if (compare_lines(&one->line, &two->line) || (second && second->row < two->row)) continue;
        first = one;
        second = two;
    }
    if (!second) return STATUS_OK;
    return csv_fault(csv, second->row, 0, fault,
                     "colour %s in size %s is on line %d already; add the two up",
                     words->palette->colour[first->line.colour].id,
                     words->sizes->size[first->line.size].name, csv_line(csv, first->row));
}

static void note_others(const Others *others, const Csv *csv, int column, const char *kind,
                        const char *owner, const Voice *voice)
{
    char clip[TEXT_CLIP];
    if (!others->count) return;
    voice_note(voice, "%s:%d: %s %s is not in the %s; left out %zu %s%s%s", csv_place(csv),
               csv_line(csv, others->first), kind,
               text_clip(clip, csv_field(csv, others->first, column)), owner, others->count,
               others->count == 1 ? "line" : "lines of such ", others->count == 1 ? "" : kind,
               others->count == 1 ? "" : "s");
}

static Status stock_fill(Stock *stock, const Csv *csv, const StockWords *words, const Voice *voice,
                         Fault *fault)
{
    static const char *const known[] = {"colour", "size", "quantity", "price", "pack", NULL};
    const size_t rows = csv_rows(csv);
    StockColumns columns;
    Status status = find_stock_columns(&columns, csv, fault);
    if (status) return status;
    Shelf shelf = {.entry = memory_create(rows, sizeof(Entry))};
    if (!shelf.entry) return memory_fault(fault, rows, sizeof(Entry));
    status = read_stock_rows(&shelf, csv, &columns, words, fault);
    if (!status) status = sort_shelf(&shelf, csv, words, fault);
    StockLine *line = status ? NULL : memory_create(shelf.count, sizeof *line);
    if (!status && !line) status = memory_fault(fault, shelf.count, sizeof *line);
    if (!status) {
        for (size_t i = 0; i < shelf.count; i++) line[i] = shelf.entry[i].line;
        *stock = (Stock){shelf.count, line};
        csv_note_others(csv, known, voice);
        note_others(&shelf.sizes, csv, columns.size, "size", "brick set", voice);
        note_others(&shelf.colours, csv, columns.colour, "colour", "palette", voice);
    }
    memory_free(shelf.entry);
    return status;
}

Status stock_read(Stock *stock_out, const char *path, const StockWords *words, const Voice *voice,
                  Fault *fault)
{
    Csv *csv = NULL;
    Status status = csv_read(&csv, path, fault);
    if (status) return status;
    status = stock_fill(stock_out, csv, words, voice, fault);
    csv_free(csv);
    return status;
}

void stock_clear(Stock *stock)
{
    memory_free(stock->line);
    *stock = (Stock){0};
}

const StockLine *stock_find(const Stock *stock, int colour, int size)
{
    const StockLine key = {.colour = colour, .size = size};
    for (size_t low = 0, high = stock->count; low < high;) {
        const size_t middle = low + (high - low) / 2;
        const int order = compare_lines(&stock->line[middle], &key);
        if (order == 0) return &stock->line[middle];
        if (order < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return NULL;
}
