/* A size is a pair of sides, the shorter first, whatever its name says; its mass and price may be
 * left out. A mass that is not given is worked out from the shape of a hollow brick. */
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

typedef struct Columns {
    int size, mass, price;
} Columns;

static Status read_size_name(Sizes *sizes, const Csv *csv, size_t row, int column, Fault *fault)
{
    char clip[TEXT_CLIP];
    const char *text = csv_field(csv, row, column);
    int a, b;
    if (!size_parse(text, &a, &b))
        return csv_fault(csv, row, column, fault,
                         "size is '%s'; write it as NxM, 1 to %d units each, such as 2x4",
                         text_clip(clip, text), SIZE_LONGEST);
    const int same = sizes_find(sizes, a, b);
    if (same >= 0)
        return csv_fault(csv, row, column, fault,
                         "size %s is on line %d already, as %s; keep one of them", text,
                         csv_line(csv, (size_t)same), sizes->size[same].name);
    sizes->size[sizes->count] = size_of(a, b);
    return STATUS_OK;
}

static Status read_mass(Size *size, const Csv *csv, size_t row, int column, Fault *fault)
{
    Status status =
        csv_number(csv, row, column, (CsvRange){0.0, MASS_MOST_G}, &size->mass_g, fault);
    if (status || size->mass_g > 0.0) return status;
    return csv_fault(csv, row, column, fault,
                     "mass_g is 0; weigh a brick, or leave the field empty to have it estimated");
}

static Status read_size_row(Sizes *sizes, const Csv *csv, size_t row, const Columns *columns,
                            const double mm[2], Fault *fault)
{
    if (sizes->count == SIZES_MOST)
        return csv_fault(csv, row, 0, fault, "more than %d sizes; keep those in use", SIZES_MOST);
    Size *size = &sizes->size[sizes->count];
    Status status = read_size_name(sizes, csv, row, columns->size, fault);
    if (status) return status;
    if (csv_given(csv, row, columns->mass)) {
        status = read_mass(size, csv, row, columns->mass, fault);
    } else {
        size->mass_g = estimate_mass_g(size->width, size->length, mm[0], mm[1]);
        sizes->estimated = true;
    }
    if (!status && csv_given(csv, row, columns->price)) {
        status =
            csv_number(csv, row, columns->price, (CsvRange){0.0, PRICE_MOST}, &size->price, fault);
        sizes->priced = true;
    }
    if (!status) sizes->count++;
    return status;
}

static void note_gaps(const Csv *csv, const Sizes *sizes, const Columns *columns,
                      const Voice *voice)
{
    int without_mass = 0, without_price = 0;
    for (size_t row = 0; row < csv_rows(csv); row++) {
        without_mass += !csv_given(csv, row, columns->mass);
        without_price += !csv_given(csv, row, columns->price);
    }
    if (without_mass)
        voice_note(voice, "%s: %d of %d sizes have no mass_g; it is estimated from their shape",
                   csv_place(csv), without_mass, sizes->count);
    if (sizes->priced && without_price)
        voice_note(voice, "%s: %d of %d sizes have no price; they count as 0", csv_place(csv),
                   without_price, sizes->count);
}

static Status read_size_rows(Sizes *sizes, const Csv *csv, const double mm[2], const Voice *voice,
                             Fault *fault)
{
    static const char *const known[] = {"size", "mass_g", "price", NULL};
    const Columns columns = {csv_column(csv, "size"), csv_column(csv, "mass_g"),
                             csv_column(csv, "price")};
    if (columns.size < 0)
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: there is no column size; the header is size,mass_g,price",
                         csv_place(csv), csv_header_line(csv));
    if (csv_rows(csv) == 0)
        return fault_set(fault, STATUS_DATA, "%s:%d: there is no size below the header; give one",
                         csv_place(csv), csv_header_line(csv));
    csv_note_others(csv, known, voice);
    *sizes = (Sizes){0};
    for (size_t row = 0; row < csv_rows(csv); row++) {
        Status status = read_size_row(sizes, csv, row, &columns, mm, fault);
        if (status) return status;
    }
    note_gaps(csv, sizes, &columns, voice);
    return STATUS_OK;
}

Status sizes_read(Sizes *sizes_out, const char *path, double pitch_mm, double brick_height_mm,
                  const Voice *voice, Fault *fault)
{
    const double mm[2] = {pitch_mm, brick_height_mm};
    Csv *csv = NULL;
    Sizes sizes;
    Status status = csv_read(&csv, path, fault);
    if (status) return status;
    status = read_size_rows(&sizes, csv, mm, voice, fault);
    if (!status) *sizes_out = sizes;
    csv_free(csv);
    return status;
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
