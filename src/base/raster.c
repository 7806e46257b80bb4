/* libpng decodes; samples are kept as they stand in the file. It reports errors by longjmp, so the
 * function that calls setjmp holds nothing that must be freed: all lies in a Decoder of its caller.
 * Its memory comes from base/memory.h, so that a lack of it is not taken for a fault of the file.
 *
 * Source: PNG, ISO/IEC 15948, by libpng. */
#include "base/raster.h"

#include "base/folder.h"
#include "base/input_file.h"
#include "base/memory.h"
#include "base/text.h"

#include <errno.h>
#include <png.h>
#include <setjmp.h>
#include <stdio.h>
#include <string.h>

typedef struct Decoder {
    png_structp png;
    png_infop info;
    FILE *file;
    uint8_t *row;
    uint32_t width, height; /* at which samples are kept; 0 x 0: never */
    double limit;           /* pixels; above 0: indices are kept at any size up to it */
    bool no_room;
    char why[100];
} Decoder;

typedef enum Outcome { DECODED, NOT_A_PNG, NO_ROOM, TOO_LARGE } Outcome;

static void on_error(png_structp png, png_const_charp text)
{
    Decoder *d = png_get_error_ptr(png);
    snprintf(d->why, sizeof d->why, "%s", text);
    png_longjmp(png, 1);
}

static png_voidp take_memory(png_structp png, png_alloc_size_t size)
{
    Decoder *d = png_get_mem_ptr(png);
    void *block = memory_create(1, size);
    d->no_room |= !block;
    return block;
}

static void give_memory(png_structp png, png_voidp block)
{
    (void)png;
    memory_free(block);
}

static void on_warning(png_structp png, png_const_charp text)
{
    (void)png;
    (void)text;
}

static void take_header(Decoder *d, Raster *r)
{
    png_read_info(d->png, d->info);
    r->width = png_get_image_width(d->png, d->info);
    r->height = png_get_image_height(d->png, d->info);
    const int type = png_get_color_type(d->png, d->info);
    const int bits = png_get_bit_depth(d->png, d->info);
    const bool bytes = bits == 8 || (d->limit > 0 && bits < 8);
    r->kind = bytes && type == PNG_COLOR_TYPE_PALETTE ? RASTER_INDEXED
              : bytes && type == PNG_COLOR_TYPE_GRAY  ? RASTER_GREY
              : d->limit > 0                          ? RASTER_RGB
                                                      : RASTER_OTHER;
    png_colorp entry = NULL;
    if (png_get_PLTE(d->png, d->info, &entry, &r->colours) != PNG_INFO_PLTE) r->colours = 0;
    for (int i = 0; i < r->colours; i++) {
        r->rgb[i][0] = entry[i].red;
        r->rgb[i][1] = entry[i].green;
        r->rgb[i][2] = entry[i].blue;
    }
}

static void take_samples(Decoder *d, const Raster *r)
{
    const int passes = png_set_interlace_handling(d->png);
    png_read_update_info(d->png, d->info);
    const size_t stride = r->width * (r->kind == RASTER_RGB ? (size_t)3 : 1);
    for (int pass = 0; pass < passes; pass++)
        for (uint32_t y = 0; y < r->height; y++)
            png_read_row(d->png, r->sample ? r->sample + y * stride : d->row, NULL);
    png_read_end(d->png, NULL);
}

/* The row that rows are decoded into, or all of them. */
static bool make_sample_room(Decoder *d, Raster *r)
{
    const bool wanted =
        d->limit > 0 || (d->width && r->width == d->width && r->height == d->height);
    if (wanted && r->kind != RASTER_OTHER) {
        r->sample = memory_create(r->width, r->height * (r->kind == RASTER_RGB ? (size_t)3 : 1));
        return r->sample != NULL;
    }
    d->row = memory_create(png_get_rowbytes(d->png, d->info), 1);
    return d->row != NULL;
}

/* Eight bits of red, green and blue from whatever it is. */
static void set_rgb(png_structp png)
{
    png_set_expand(png);
    png_set_strip_16(png);
    png_set_strip_alpha(png);
    png_set_gray_to_rgb(png);
}

/* Apart, so that no variable lives across longjmp. */
static Outcome decode_png(Decoder *d, Raster *r)
{
    if (setjmp(png_jmpbuf(d->png))) return NOT_A_PNG;
    png_init_io(d->png, d->file);
    /* A palette shorter than the samples need is for the caller to say. */
    png_set_check_for_invalid_index(d->png, 0);
    take_header(d, r);
    if (d->limit > 0) {
        if ((double)r->width * r->height > d->limit) return TOO_LARGE;
        if (r->kind == RASTER_RGB)
            set_rgb(d->png);
        else
            png_set_packing(d->png);
    }
    if (!make_sample_room(d, r)) return NO_ROOM;
    take_samples(d, r);
    return DECODED;
}

static Outcome decode_file(Decoder *d, Raster *r)
{
    d->png = png_create_read_struct_2(PNG_LIBPNG_VER_STRING, d, on_error, on_warning, d,
                                      take_memory, give_memory);
    d->info = d->png ? png_create_info_struct(d->png) : NULL;
    Outcome outcome = d->info ? decode_png(d, r) : NO_ROOM;
    if (outcome == NOT_A_PNG && d->no_room) outcome = NO_ROOM;
    png_destroy_read_struct(&d->png, &d->info, NULL);
    memory_free(d->row);
    if (outcome != DECODED) raster_clear(r);
    return outcome;
}

Status raster_read(Raster *r, const char *folder, const char *name, uint32_t width, uint32_t height,
                   Fault *fault)
{
    char path[FOLDER_PATH];
    Decoder d = {.width = width, .height = height};
    *r = (Raster){0};
    d.file = folder_join(path, folder, name) ? input_file_open_regular(path) : NULL;
    if (!d.file)
        return fault_set(fault, STATUS_NO_INPUT, "%s/%s: cannot be read (%s); plan the mural anew",
                         folder, name, strerror(errno));
    const Outcome outcome = decode_file(&d, r);
    fclose(d.file);
    if (outcome == DECODED) return STATUS_OK;
    if (outcome == NO_ROOM) return memory_fault(fault, width, height);
    return fault_set(fault, STATUS_DATA,
                     "%s/%s: not a PNG that can be read (%s); plan the mural anew", folder, name,
                     d.why);
}

Status raster_read_indices(Raster *r, const char *path, double limit_pixels, Fault *fault)
{
    const bool input = !strcmp(path, "-");
    const char *place = text_place(path);
    Decoder d = {.limit = limit_pixels, .file = input ? stdin : fopen(path, "rb")};
    *r = (Raster){0};
    if (!d.file) return input_file_fault(place, errno, fault);
    const Outcome outcome = decode_file(&d, r);
    if (!input) fclose(d.file);
    switch (outcome) {
    case DECODED:
        return STATUS_OK;
    case NO_ROOM:
        return memory_fault(fault, 1, 1);
    case TOO_LARGE:
        return fault_set(fault, STATUS_DATA,
                         "%s: more than %.0f megapixels; make it smaller, or raise --limit", place,
                         limit_pixels / 1e6);
    case NOT_A_PNG:
        break;
    }
    return fault_set(fault, STATUS_DATA, "%s: not a PNG that can be read (%s); save it anew", place,
                     d.why);
}

void raster_clear(Raster *r)
{
    memory_free(r->sample);
    *r = (Raster){0};
}
