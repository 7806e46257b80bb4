/* Each row is read into a place; colours gather by their ids. */
#include "camera/patch_list.h"

#include "base/memory.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

/* Coordinates beyond this are slips. */
#define COORDINATE_MOST 1e6

static const char *const names[] = {"id",    "name",   "photo", "on", "x",  "y",
                                    "width", "height", "x1",    "y1", "x2", "y2",
                                    "x3",    "y3",     "x4",    "y4", NULL};

/* Columns of the table; -1 where absent. */
typedef struct Columns {
    int id, name, photo, on;
    int box[4];     /* x, y, width, height */
    int corners[8]; /* x1, y1 ... */
} Columns;

typedef struct ListReading {
    PatchList *list;
    Columns columns;
    const char *const *photo;
    int photos;
    Fault *fault;
} ListReading;

static bool all_there(const int *column, int count)
{
    for (int i = 0; i < count; i++)
        if (column[i] < 0) return false;
    return true;
}

static Status find_columns(ListReading *r)
{
    const Csv *table = r->list->table;
    Columns *c = &r->columns;
    *c = (Columns){.id = csv_column(table, "id"),
                   .name = csv_column(table, "name"),
                   .photo = csv_column(table, "photo"),
                   .on = csv_column(table, "on")};
    for (int i = 0; i < 4; i++) c->box[i] = csv_column(table, names[4 + i]);
    for (int i = 0; i < 8; i++) c->corners[i] = csv_column(table, names[8 + i]);
    if (c->id >= 0 && (all_there(c->box, 4) || all_there(c->corners, 8))) return STATUS_OK;
    return fault_set(r->fault, STATUS_DATA,
                     "%s:%d: the header has no %s; give id and x,y,width,height, or id and "
                     "x1,y1,x2,y2,x3,y3,x4,y4",
                     csv_place(table), csv_header_line(table),
                     c->id < 0 ? "column id" : "place that is whole");
}

static bool row_has(const ListReading *r, size_t row, const int *column, int count)
{
    for (int i = 0; i < count; i++)
        if (!csv_given(r->list->table, row, column[i])) return false;
    return true;
}

static Status read_numbers(const ListReading *r, size_t row, const int *column, int count,
                           double *out)
{
    Status status = STATUS_OK;
    for (int i = 0; !status && i < count; i++)
        status = csv_number(r->list->table, row, column[i],
                            (CsvRange){-COORDINATE_MOST, COORDINATE_MOST}, &out[i], r->fault);
    return status;
}

static Status read_corners(const ListReading *r, size_t row, PatchPlace *place)
{
    double v[8];
    const bool boxed = row_has(r, row, r->columns.box, 4);
    if (!boxed && !row_has(r, row, r->columns.corners, 8))
        return csv_fault(r->list->table, row, r->columns.id, r->fault,
                         "the place is not whole; give x,y,width,height or all four corners");
    const Status status = boxed ? read_numbers(r, row, r->columns.box, 4, v)
                                : read_numbers(r, row, r->columns.corners, 8, v);
    if (status) return status;
    for (int i = 0; i < 4; i++)
        place->corner[i] =
            boxed ? (PlanePoint){v[0] + (i == 1 || i == 2) * v[2], v[1] + (i >= 2) * v[3]}
                  : (PlanePoint){v[2 * i], v[2 * i + 1]};
    if (quad_is_convex(place->corner)) return STATUS_OK;
    return csv_fault(r->list->table, row, boxed ? r->columns.box[0] : r->columns.corners[0],
                     r->fault, "%s; give the corners in order around",
                     boxed ? "the rectangle is empty" : "the corners make no quadrilateral");
}

static const char *base_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static Status read_photo(const ListReading *r, size_t row, PatchPlace *place)
{
    const Csv *table = r->list->table;
    char clip[TEXT_CLIP];
    double number = 0;
    place->photo = r->photos == 1 ? 0 : -1;
    if (!csv_given(table, row, r->columns.photo)) {
        if (place->photo == 0 || place->on_chart) return STATUS_OK;
        return csv_fault(table, row, r->columns.id, r->fault,
                         "it is not said in which of %d photographs this is; give its name in the "
                         "column photo",
                         r->photos);
    }
    const char *said = csv_field(table, row, r->columns.photo);
    for (int i = 0; i < r->photos; i++)
        if (!strcmp(said, base_of(r->photo[i])) || !strcmp(said, r->photo[i]))
            return place->photo = i, STATUS_OK;
    if (number_parse(said, &number) && number >= 1 && number <= r->photos &&
        number == floor(number))
        return place->photo = (int)number - 1, STATUS_OK;
    return csv_fault(table, row, r->columns.photo, r->fault,
                     "'%s' is none of the photographs given; give its file's name, or its number "
                     "from 1",
                     text_clip(clip, said));
}

static Status read_on(const ListReading *r, size_t row, PatchPlace *place)
{
    char clip[TEXT_CLIP];
    const Csv *table = r->list->table;
    const char *on =
        csv_given(table, row, r->columns.on) ? csv_field(table, row, r->columns.on) : "photo";
    place->on_chart = !strcmp(on, "chart");
    if (place->on_chart || !strcmp(on, "photo")) return STATUS_OK;
    return csv_fault(table, row, r->columns.on, r->fault, "'%s' is no plane; give photo or chart",
                     text_clip(clip, on));
}

static Status read_colour(const ListReading *r, size_t row, PatchPlace *place)
{
    Palette *colours = &r->list->colours;
    const char *id = csv_field(r->list->table, row, r->columns.id);
    place->colour = -1;
    if (!strcmp(id, "paper")) return STATUS_OK;
    place->colour = palette_find(colours, id);
    if (place->colour >= 0) return STATUS_OK;
    if (colours->count == PALETTE_MOST)
        return csv_fault(r->list->table, row, r->columns.id, r->fault,
                         "more than %d colours; measure the rest into another file", PALETTE_MOST);
    Colour *colour = &colours->colour[colours->count];
    Status status = colour_read_id(colour, r->list->table, row, r->columns.id, r->fault);
    if (!status) status = colour_read_name(colour, r->list->table, row, r->columns.name, r->fault);
    if (!status) place->colour = colours->count++;
    return status;
}

static Status read_rows(const ListReading *r)
{
    PatchList *list = r->list;
    Status status = STATUS_OK;
    for (size_t row = 0; !status && row < list->count; row++) {
        PatchPlace *place = &list->place[row];
        place->row = row;
        status = read_on(r, row, place);
        if (!status) status = read_photo(r, row, place);
        if (!status) status = read_colour(r, row, place);
        if (!status) status = read_corners(r, row, place);
    }
    if (status || list->colours.count) return status;
    return fault_set(r->fault, STATUS_DATA, "%s: no brick is listed; give a row for each",
                     csv_place(list->table));
}

Status patch_list_read(PatchList *list, const char *path, const char *const *photo, int photos,
                       const Voice *voice, Fault *fault)
{
    ListReading r = {.list = list, .photo = photo, .photos = photos, .fault = fault};
    *list = (PatchList){0};
    Status status = csv_read(&list->table, path, fault);
    if (!status) status = find_columns(&r);
    if (status) return status;
    csv_note_others(list->table, names, voice);
    list->count = csv_rows(list->table);
    list->place = memory_create(list->count, sizeof *list->place);
    if (!list->place) return memory_fault(fault, list->count, sizeof *list->place);
    return read_rows(&r);
}

void patch_list_clear(PatchList *list)
{
    csv_free(list->table);
    memory_free(list->place);
    *list = (PatchList){0};
}
