/* Both formats come as a table of texts with their places; from there on they are
 * read alike. */
#include "model/palette.h"

#include "base/cgats.h"
#include "base/csv.h"
#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define LAB_L_MOST 100.0
#define LAB_AB_MOST 128.0 /* each way; ICC.1's Lab of 8 bits has -128 to 127 */

#define STDEV_MOST 100.0

enum { ID_CHARACTERS = 4 };

/* Columns of a table; -1 where absent. */
typedef struct Columns {
    int id, name, L, a, b, hex, stdev;
} Columns;

static const char *const csv_names[] = {"id", "name", "L", "a", "b", "hex", NULL};
static const char *const cgats_names[] = {"SAMPLE_ID", "SAMPLE_NAME", "LAB_L", "LAB_A",
                                          "LAB_B",     "STDEV_DE",    NULL};

void colour_complete(Colour *colour)
{
    colour->xyz = xyz_from_lab(colour->lab);
    srgb8_from_lab(colour->lab, colour->srgb);
}

double palette_within(const Palette *palette, int count)
{
    double squares = 0;
    for (int i = 0; i < count; i++) {
        const double stdev = palette->colour[i].stdev_de;
        if (stdev <= 0) return 0;
        squares += stdev * stdev / count;
    }
    return PALETTE_WITHIN * sqrt(squares);
}

int palette_find(const Palette *palette, const char *id)
{
    for (int i = 0; i < palette->count; i++)
        if (strcmp(palette->colour[i].id, id) == 0) return i;
    return -1;
}

/* ---- Columns ---- */

static bool has_prefix(const Csv *table, const char *prefix)
{
    for (int i = 0; i < csv_columns(table); i++)
        if (strncmp(csv_name(table, i), prefix, strlen(prefix)) == 0) return true;
    return false;
}

/* A CGATS table without Lab: say what to ask the meter for. */
static Status fault_no_lab(const Csv *table, Fault *fault)
{
    const bool spectra = has_prefix(table, "SPECTRAL") || has_prefix(table, "SPEC_") ||
                         has_prefix(table, "nm") || has_prefix(table, "R_");
    const char *only = has_prefix(table, "LAB_")   ? "not all of LAB_L, LAB_A and LAB_B"
                       : has_prefix(table, "XYZ_") ? "XYZ, but no Lab"
                       : spectra                   ? "spectra, but no Lab"
                       : has_prefix(table, "RGB_") ? "RGB, but no Lab"
                                                   : "no Lab";
    return fault_set(fault, STATUS_DATA,
                     "%s:%d: the table has %s; let the meter export the columns LAB_L LAB_A LAB_B "
                     "(D50, 2 degree)",
                     csv_place(table), csv_header_line(table), only);
}

static Status find_cgats(const Csv *table, Columns *columns, Fault *fault)
{
    *columns = (Columns){csv_column(table, "SAMPLE_ID"), csv_column(table, "SAMPLE_NAME"),
                         csv_column(table, "LAB_L"),     csv_column(table, "LAB_A"),
                         csv_column(table, "LAB_B"),     -1,
                         csv_column(table, "STDEV_DE")};
    if (columns->id < 0)
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: there is no column SAMPLE_ID; give each colour an id in it",
                         csv_place(table), csv_header_line(table));
    if (columns->L < 0 || columns->a < 0 || columns->b < 0) return fault_no_lab(table, fault);
    return STATUS_OK;
}

static Status find_csv(const Csv *table, Columns *columns, Fault *fault)
{
    *columns = (Columns){csv_column(table, "id"),
                         csv_column(table, "name"),
                         csv_column(table, "L"),
                         csv_column(table, "a"),
                         csv_column(table, "b"),
                         csv_column(table, "hex"),
                         -1};
    const int lab = (columns->L >= 0) + (columns->a >= 0) + (columns->b >= 0);
    if (columns->id < 0)
        return fault_set(fault, STATUS_DATA,
                         "%s:%d: there is no column id; a palette is CSV with the header "
                         "id,name,L,a,b or id,name,hex, or CGATS.17",
                         csv_place(table), csv_header_line(table));
    if (lab == 3 || (lab == 0 && columns->hex >= 0)) return STATUS_OK;
    return fault_set(fault, STATUS_DATA,
                     "%s:%d: the header has %s of the columns L, a, b%s; give all three, or hex",
                     csv_place(table), csv_header_line(table), lab ? "only some" : "none",
                     lab ? "" : ", and no hex");
}

/* ---- Rows ---- */

Status colour_read_id(Colour *colour, const Csv *table, size_t row, int column, Fault *fault)
{
    const char *id = csv_field(table, row, column);
    const size_t length = strlen(id);
    char clip[TEXT_CLIP];
    int characters = 0;
    for (size_t i = 0; i < length; characters++) {
        uint32_t point = 0;
        i += (size_t)text_point(id + i, length - i, &point);
        if (text_unseen(point))
            return csv_fault(
                table, row, column, fault,
                "id '%s' holds a blank or an unseen character (U+%04X); use letters and "
                "digits",
                text_clip(clip, id), (unsigned)point);
    }
    if (characters == 0)
        return csv_fault(table, row, column, fault, "the id is empty; give 1 to %d characters",
                         ID_CHARACTERS);
    if (characters > ID_CHARACTERS)
        return csv_fault(table, row, column, fault,
                         "id '%s' has %d characters; give 1 to %d, for they stand on the charts",
                         text_clip(clip, id), characters, ID_CHARACTERS);
    strcpy(colour->id, id);
    return STATUS_OK;
}

static Status read_id(Palette *palette, const Csv *table, size_t row, int column, Fault *fault)
{
    Colour *colour = &palette->colour[palette->count];
    const Status status = colour_read_id(colour, table, row, column, fault);
    if (status) return status;
    const int same = palette_find(palette, colour->id);
    if (same < 0) return STATUS_OK;
    return csv_fault(table, row, column, fault,
                     "id '%s' is taken by line %d; give each colour an id of its own", colour->id,
                     csv_line(table, (size_t)same));
}

Status colour_read_name(Colour *colour, const Csv *table, size_t row, int column, Fault *fault)
{
    const char *name = column < 0 ? "" : csv_field(table, row, column);
    if (strlen(name) >= sizeof colour->name)
        return csv_fault(table, row, column, fault, "the name has more than %zu bytes; shorten it",
                         sizeof colour->name - 1);
    if (strpbrk(name, "\r\n\t"))
        return csv_fault(table, row, column, fault,
                         "the name holds a tab or a line end; write it on one line");
    strcpy(colour->name, name);
    return STATUS_OK;
}

static Status read_hex(Colour *colour, const Csv *table, size_t row, int column, Fault *fault)
{
    const char *field = csv_field(table, row, column);
    uint8_t rgb[3];
    char clip[TEXT_CLIP];
    if (!text_rgb(field, rgb))
        return csv_fault(table, row, column, fault,
                         "hex is '%s'; give six hexadecimal digits of sRGB, such as #c8a078",
                         text_clip(clip, field));
    colour->lab = lab_from_srgb8(rgb);
    return STATUS_OK;
}

static Status read_lab(Colour *colour, const Csv *table, size_t row, const Columns *columns,
                       Fault *fault)
{
    Status status =
        csv_number(table, row, columns->L, (CsvRange){0.0, LAB_L_MOST}, &colour->lab.L, fault);
    if (!status)
        status = csv_number(table, row, columns->a, (CsvRange){-LAB_AB_MOST, LAB_AB_MOST},
                            &colour->lab.a, fault);
    if (!status)
        status = csv_number(table, row, columns->b, (CsvRange){-LAB_AB_MOST, LAB_AB_MOST},
                            &colour->lab.b, fault);
    return status;
}

static Status read_stdev(Colour *colour, const Csv *table, size_t row, int column, Fault *fault)
{
    if (!csv_given(table, row, column)) return STATUS_OK;
    return csv_number(table, row, column, (CsvRange){0, STDEV_MOST}, &colour->stdev_de, fault);
}

static Status read_colour_row(Palette *palette, const Csv *table, size_t row,
                              const Columns *columns, Fault *fault)
{
    if (palette->count == PALETTE_MOST)
        return csv_fault(table, row, 0, fault, "more than %d colours; pick those that serve best",
                         PALETTE_MOST);
    Colour *colour = &palette->colour[palette->count];
    Status status = read_id(palette, table, row, columns->id, fault);
    if (!status) status = colour_read_name(colour, table, row, columns->name, fault);
    if (!status)
        status = columns->L >= 0 ? read_lab(colour, table, row, columns, fault)
                                 : read_hex(colour, table, row, columns->hex, fault);
    if (!status) status = read_stdev(colour, table, row, columns->stdev, fault);
    if (status) return status;
    colour_complete(colour);
    palette->count++;
    return STATUS_OK;
}

static Status read_colour_table(Palette *palette, const Csv *table, bool cgats, const Voice *voice,
                                Fault *fault)
{
    Columns columns;
    Status status = cgats ? find_cgats(table, &columns, fault) : find_csv(table, &columns, fault);
    if (status) return status;
    csv_note_others(table, cgats ? cgats_names : csv_names, voice);
    if (columns.L >= 0 && columns.hex >= 0)
        voice_note(voice, "%s: both L,a,b and hex are given; hex is left out", csv_place(table));
    if (csv_rows(table) == 0)
        return fault_set(fault, STATUS_DATA, "%s:%d: there is no colour below the header; give one",
                         csv_place(table), csv_header_line(table));
    for (size_t row = 0; !status && row < csv_rows(table); row++)
        status = read_colour_row(palette, table, row, &columns, fault);
    return status;
}

Status palette_parse(Palette *palette_out, const char *bytes, size_t length, const char *place,
                     const Voice *voice, Fault *fault)
{
    Csv *table = NULL;
    Palette *palette = memory_create(1, sizeof *palette);
    if (!palette) return memory_fault(fault, 1, sizeof *palette);
    const bool cgats = cgats_recognise(bytes, length);
    Status status = cgats ? cgats_parse(&table, bytes, length, place, voice, fault)
                          : csv_parse(&table, bytes, length, place, fault);
    if (!status) status = read_colour_table(palette, table, cgats, voice, fault);
    if (!status) *palette_out = *palette;
    csv_free(table);
    memory_free(palette);
    return status;
}

Status palette_read(Palette *palette_out, const char *path, const Voice *voice, Fault *fault)
{
    char *bytes;
    size_t length;
    Status status = text_read(&bytes, &length, path, fault);
    if (status) return status;
    status = palette_parse(palette_out, bytes, length, text_place(path), voice, fault);
    memory_free(bytes);
    return status;
}

Status palette_default(Palette *palette_out, Fault *fault)
{
    static const char bytes[] = {
#include "palette48.inc" /* made from palettes/bricks-48.cgats by the Makefile */
    };
    return palette_parse(palette_out, bytes, sizeof bytes, "built-in palette", NULL, fault);
}

/* ---- Writing ---- */

Status palette_write_cgats(char **bytes_out, size_t *length_out, const Palette *palette,
                           const char *descriptor, Fault *fault)
{
    enum { FIELDS_MOST = 6 };
    typedef struct Texts {
        char lab[3][NUMBER_TEXT], stdev[NUMBER_TEXT];
    } Texts;
    const size_t count = (size_t)palette->count;
    bool told = false;
    for (size_t i = 0; i < count; i++) told |= palette->colour[i].stdev_de > 0;
    const size_t fields = told ? FIELDS_MOST : FIELDS_MOST - 1;
    const char **cell = memory_create(count, FIELDS_MOST * sizeof *cell);
    Texts *texts = memory_create(count, sizeof *texts);
    Status status = cell && texts ? STATUS_OK : memory_fault(fault, count, sizeof *texts);
    for (size_t i = 0; !status && i < count; i++) {
        const Colour *colour = &palette->colour[i];
        if (strchr(colour->id, '"') && strchr(colour->id, '\''))
            status = fault_set(fault, STATUS_DATA,
                               "palette: id %s holds both kinds of quotes, which CGATS.17 cannot; "
                               "change it",
                               colour->id);
        const char **row = cell + i * fields;
        row[0] = colour->id;
        row[1] = colour->name;
        row[2] = number_print(texts[i].lab[0], colour->lab.L);
        row[3] = number_print(texts[i].lab[1], colour->lab.a);
        row[4] = number_print(texts[i].lab[2], colour->lab.b);
        if (told) row[5] = number_print(texts[i].stdev, colour->stdev_de);
    }
    if (!status) {
        const CgatsTable table = {descriptor, (int)fields, palette->count, cgats_names, cell};
        status = cgats_write(bytes_out, length_out, &table, fault);
    }
    memory_free(cell);
    memory_free(texts);
    return status;
}
