/* A size is a pair of sides, the shorter first, whatever its name says; its mass and price may be
 * left out. A mass that is not given is worked out from the shape of a hollow brick. A set with a
 * column pack, supplier or from has an offer in each row, and as many rows of a size as it likes;
 * every other set has one row a size. */
#include "model/sizes.h"

#include "base/csv.h"
#include "base/text.h"

#include <stdio.h>
#include <string.h>

/* A brick's mass from its shape: an open box of ABS with a solid knob on each cell and,
 * where it is two units wide or more, a tube between each four cells. The dimensions
 * are common practice, no source; knobs and tubes scale with the pitch. */
static const double abs_g_mm3 = 1.04e-3; /* data sheets give 1.02 to 1.08 g/cm3 */
static const double gap_mm = 0.2, wall_mm = 1.5, top_mm = 1.2, knob_height_mm = 1.7;
static const double knob_pitches = 4.8 / 8.0, tube_pitches = 6.5 / 8.0;
static const double pi = 3.14159265358979323846;

static double above_zero(double mm) { return mm > 0.0 ? mm : 0.0; }

static double disc(double diameter) { return pi / 4.0 * diameter * diameter; }

static double estimate_mass_g(int width, int length, double pitch, double height)
{
    const double x = width * pitch - gap_mm, y = length * pitch - gap_mm;
    const double deep = above_zero(height - top_mm);
    const double hollow = above_zero(x - 2.0 * wall_mm) * above_zero(y - 2.0 * wall_mm) * deep;
    const double knob = disc(knob_pitches * pitch) * knob_height_mm;
    const double tube = (disc(tube_pitches * pitch) - disc(knob_pitches * pitch)) * deep;
    const double volume =
        x * y * height - hollow + width * length * knob + (width - 1) * (length - 1) * tube;
    return abs_g_mm3 * volume;
}

static Size size_of(int a, int b)
{
    Size size = {.width = a < b ? a : b, .length = a < b ? b : a};
    snprintf(size.name, sizeof size.name, "%dx%d", a, b);
    return size;
}

void sizes_default(Sizes *sizes_out, double pitch_mm, double brick_height_mm)
{
    static const int plan[][2] = {{1, 1}, {1, 2}, {1, 3}, {1, 4}, {1, 6}, {1, 8},
                                  {2, 2}, {2, 3}, {2, 4}, {2, 6}, {2, 8}};
    *sizes_out = (Sizes){.count = sizeof plan / sizeof *plan, .estimated = true};
    for (int i = 0; i < sizes_out->count; i++) {
        Size *size = &sizes_out->size[i];
        *size = size_of(plan[i][0], plan[i][1]);
        size->mass_g = estimate_mass_g(size->width, size->length, pitch_mm, brick_height_mm);
    }
}

int sizes_find(const Sizes *sizes, int a, int b)
{
    const int width = a < b ? a : b, length = a < b ? b : a;
    for (int i = 0; i < sizes->count; i++)
        if (sizes->size[i].width == width && sizes->size[i].length == length) return i;
    return -1;
}

/* 1 to SIZE_LONGEST without leading zeros; moves *text behind it, 0 if there is none. */
static int parse_units(const char **text)
{
    int units = 0;
    if (**text == '0') return 0;
    for (; **text >= '0' && **text <= '9'; (*text)++) {
        units = units * 10 + (**text - '0');
        if (units > SIZE_LONGEST) return 0;
    }
    return units;
}

bool size_parse(const char *text, int *a_out, int *b_out)
{
    *a_out = parse_units(&text);
    if (!*a_out || (*text != 'x' && *text != 'X')) return false;
    text++;
    *b_out = parse_units(&text);
    return *b_out && !*text;
}

/* ---- The brick set's file ---- */

typedef struct SizeColumns {
    int size, mass, price, pack, supplier, from;
} SizeColumns;

typedef struct SizesReading {
    Sizes *sizes;
    const Csv *csv;
    SizeColumns columns;
    double mm[2];
    size_t row[SIZES_MOST];   /* of a size, its first row */
    bool weighed[SIZES_MOST]; /* a row has told its mass, */
    bool priced[SIZES_MOST];  /* its price */
    Fault *fault;
} SizesReading;

/* Index of the row's size, a new one where no row has told of it. */
static Status read_size_name(SizesReading *r, size_t row, int *index_out)
{
    char clip[TEXT_CLIP];
    const Csv *csv = r->csv;
    Sizes *sizes = r->sizes;
    const char *text = csv_field(csv, row, r->columns.size);
    int a, b;
    if (!size_parse(text, &a, &b))
        return csv_fault(csv, row, r->columns.size, r->fault,
                         "size is '%s'; write it as NxM, 1 to %d units each, such as 2x4",
                         text_clip(clip, text), SIZE_LONGEST);
    *index_out = sizes_find(sizes, a, b);
    if (*index_out >= 0 && !sizes->offered)
        return csv_fault(csv, row, r->columns.size, r->fault,
                         "size %s is on line %d already, as %s; keep one of them", text,
                         csv_line(csv, r->row[*index_out]), sizes->size[*index_out].name);
    if (*index_out >= 0) return STATUS_OK;
    if (sizes->count == SIZES_MOST)
        return csv_fault(csv, row, 0, r->fault, "more than %d sizes; keep those in use",
                         SIZES_MOST);
    *index_out = sizes->count++;
    sizes->size[*index_out] = size_of(a, b);
    r->row[*index_out] = row;
    return STATUS_OK;
}

/* Of several rows of a size one tells its mass, or all the same. */
static Status read_mass(SizesReading *r, size_t row, int index)
{
    Size *size = &r->sizes->size[index];
    double mass = 0;
    if (!csv_given(r->csv, row, r->columns.mass)) return STATUS_OK;
    const Status status =
        csv_number(r->csv, row, r->columns.mass, (CsvRange){0.0, MASS_MOST_G}, &mass, r->fault);
    if (status) return status;
    if (mass <= 0.0)
        return csv_fault(
            r->csv, row, r->columns.mass, r->fault,
            "mass_g is 0; weigh a brick, or leave the field empty to have it estimated");
    if (r->weighed[index] && (mass < size->mass_g || mass > size->mass_g))
        return csv_fault(r->csv, row, r->columns.mass, r->fault,
                         "a brick of %s has another mass_g on a line before; keep one of them",
                         size->name);
    r->weighed[index] = true;
    size->mass_g = mass;
    return STATUS_OK;
}

/* ---- offers ---- */

static Status read_supplier(SizesReading *r, size_t row, SupplyOffer *offer)
{
    Sizes *sizes = r->sizes;
    const char *name = r->columns.supplier < 0 ? "" : csv_field(r->csv, row, r->columns.supplier);
    if (strlen(name) >= SUPPLIER_TEXT)
        return csv_fault(r->csv, row, r->columns.supplier, r->fault,
                         "a supplier of %zu bytes; give a name of at most %d", strlen(name),
                         SUPPLIER_TEXT - 1);
    offer->supplier = NO_SUPPLIER;
    if (!*name) return STATUS_OK;
    int at = 0;
    while (at < sizes->suppliers && strcmp(sizes->supplier[at], name) != 0) at++;
    if (at == SUPPLIERS_MOST)
        return csv_fault(r->csv, row, r->columns.supplier, r->fault,
                         "more than %d suppliers; keep those you buy from", SUPPLIERS_MOST);
    if (at == sizes->suppliers) strcpy(sizes->supplier[sizes->suppliers++], name);
    offer->supplier = (uint8_t)at;
    return STATUS_OK;
}

static Status read_quantity(const SizesReading *r, size_t row, int column, long *quantity)
{
    *quantity = 1;
    if (!csv_given(r->csv, row, column)) return STATUS_OK;
    return csv_whole(r->csv, row, column, (CsvRange){1, QUANTITY_MOST}, quantity, r->fault);
}

static Status check_offer(const SizesReading *r, size_t row, const SupplyOffer *offer)
{
    const Sizes *sizes = r->sizes;
    const char *name = sizes->size[offer->size].name;
    int same = 0;
    for (int i = 0; i < sizes->offers; i++) {
        const SupplyOffer *o = &sizes->offer[i];
        if (o->size != offer->size) continue;
        same++;
        if (o->supplier == offer->supplier && o->from == offer->from && o->pack == offer->pack)
            return csv_fault(r->csv, row, r->columns.size, r->fault,
                             "size %s has this supplier, pack and from on a line before; keep one "
                             "of them",
                             name);
    }
    const bool several = same > 0;
    if (several && !(csv_given(r->csv, row, r->columns.price) &&
                     csv_given(r->csv, r->row[offer->size], r->columns.price)))
        return csv_fault(r->csv, row, r->columns.size, r->fault,
                         "size %s has several rows, and not each a price; give them all", name);
    if (same < SIZE_OFFERS_MOST && sizes->offers < OFFERS_MOST) return STATUS_OK;
    return csv_fault(r->csv, row, 0, r->fault,
                     "more than %d rows of a size, or %d in all; keep the offers that you use",
                     SIZE_OFFERS_MOST, OFFERS_MOST);
}

static Status read_offer(SizesReading *r, size_t row, int index, double price)
{
    SupplyOffer offer = {.size = (uint8_t)index, .price = price};
    if (!r->sizes->offered) return STATUS_OK;
    Status status = read_supplier(r, row, &offer);
    if (!status) status = read_quantity(r, row, r->columns.pack, &offer.pack);
    if (!status) status = read_quantity(r, row, r->columns.from, &offer.from);
    if (!status) status = check_offer(r, row, &offer);
    if (!status) r->sizes->offer[r->sizes->offers++] = offer;
    return status;
}

/* What a brick bought alone costs: the offer that asks the fewest bricks, of equal ones the
 * cheapest. */
static void price_alone(Sizes *sizes)
{
    long least[SIZES_MOST];
    bool told[SIZES_MOST] = {false};
    for (int i = 0; i < sizes->offers; i++) {
        const SupplyOffer *o = &sizes->offer[i];
        const long bricks = o->from > o->pack ? o->from : o->pack;
        Size *size = &sizes->size[o->size];
        if (told[o->size] &&
            (bricks > least[o->size] || (bricks == least[o->size] && o->price >= size->price)))
            continue;
        told[o->size] = true;
        least[o->size] = bricks;
        size->price = o->price;
    }
}

/* ---- rows ---- */

static Status read_size_row(SizesReading *r, size_t row)
{
    int index = 0;
    double price = 0;
    Status status = read_size_name(r, row, &index);
    if (!status) status = read_mass(r, row, index);
    if (status) return status;
    if (csv_given(r->csv, row, r->columns.price)) {
        status = csv_number(r->csv, row, r->columns.price, (CsvRange){0.0, PRICE_MOST}, &price,
                            r->fault);
        r->sizes->size[index].price = price;
        r->sizes->priced = r->priced[index] = true;
    }
    return status ? status : read_offer(r, row, index, price);
}

static void estimate_masses(SizesReading *r)
{
    for (int i = 0; i < r->sizes->count; i++) {
        Size *size = &r->sizes->size[i];
        if (r->weighed[i]) continue;
        size->mass_g = estimate_mass_g(size->width, size->length, r->mm[0], r->mm[1]);
        r->sizes->estimated = true;
    }
}

static void note_gaps(const SizesReading *r, const Voice *voice)
{
    int without_mass = 0, without_price = 0;
    for (int i = 0; i < r->sizes->count; i++) {
        without_mass += !r->weighed[i];
        without_price += !r->priced[i];
    }
    if (without_mass)
        voice_note(voice, "%s: %d of %d sizes have no mass_g; it is estimated from their shape",
                   csv_place(r->csv), without_mass, r->sizes->count);
    if (r->sizes->priced && without_price)
        voice_note(voice, "%s: %d of %d sizes have no price; they count as 0", csv_place(r->csv),
                   without_price, r->sizes->count);
}

static SizeColumns find_columns(const Csv *csv)
{
    return (SizeColumns){.size = csv_column(csv, "size"),
                         .mass = csv_column(csv, "mass_g"),
                         .price = csv_column(csv, "price"),
                         .pack = csv_column(csv, "pack"),
                         .supplier = csv_column(csv, "supplier"),
                         .from = csv_column(csv, "from")};
}

static Status read_size_rows(SizesReading *r, const Voice *voice)
{
    static const char *const known[] = {"size",     "mass_g", "price", "pack",
                                        "supplier", "from",   NULL};
    const Csv *csv = r->csv;
    const SizeColumns *c = &r->columns;
    Status status = STATUS_OK;
    if (c->size < 0)
        return fault_set(r->fault, STATUS_DATA,
                         "%s:%d: there is no column size; the header is size,mass_g,price",
                         csv_place(csv), csv_header_line(csv));
    if (csv_rows(csv) == 0)
        return fault_set(r->fault, STATUS_DATA,
                         "%s:%d: there is no size below the header; give one", csv_place(csv),
                         csv_header_line(csv));
    csv_note_others(csv, known, voice);
    r->sizes->offered = c->pack >= 0 || c->supplier >= 0 || c->from >= 0;
    for (size_t row = 0; row < csv_rows(csv) && !status; row++) status = read_size_row(r, row);
    if (status) return status;
    price_alone(r->sizes);
    estimate_masses(r);
    note_gaps(r, voice);
    return STATUS_OK;
}

Status sizes_read(Sizes *sizes_out, const char *path, double pitch_mm, double brick_height_mm,
                  const Voice *voice, Fault *fault)
{
    Csv *csv = NULL;
    Sizes sizes = {0};
    Status status = csv_read(&csv, path, fault);
    if (status) return status;
    SizesReading reading = {.sizes = &sizes,
                            .csv = csv,
                            .columns = find_columns(csv),
                            .mm = {pitch_mm, brick_height_mm},
                            .fault = fault};
    status = read_size_rows(&reading, voice);
    if (!status) *sizes_out = sizes;
    csv_free(csv);
    return status;
}

const char *sizes_supplier(const Sizes *sizes, const SupplyOffer *offer)
{
    return offer->supplier < sizes->suppliers ? sizes->supplier[offer->supplier] : "";
}

long sizes_largest(const Sizes *sizes)
{
    long largest = 1;
    for (int i = 0; i < sizes->count; i++) {
        const long units = (long)sizes->size[i].width * sizes->size[i].length;
        if (units > largest) largest = units;
    }
    return largest;
}
