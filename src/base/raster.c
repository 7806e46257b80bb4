/* libpng decodes; samples are kept as they stand in the file. It reports errors by longjmp, so the
 * function that calls setjmp holds nothing that must be freed: all lies in a Decoder of its caller.
 *
 * Source: PNG, ISO/IEC 15948, by libpng. */
#include "base/raster.h"

#include "base/folder.h"
#include "base/memory.h"

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
    char why[100];
} Decoder;

static void on_error(png_structp png, png_const_charp text)
{
    Decoder *d = png_get_error_ptr(png);
    snprintf(d->why, sizeof d->why, "%s", text);
    png_longjmp(png, 1);
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
    const bool bytes = png_get_bit_depth(d->png, d->info) == 8;
    r->kind = bytes && type == PNG_COLOR_TYPE_PALETTE ? RASTER_INDEXED
              : bytes && type == PNG_COLOR_TYPE_GRAY  ? RASTER_GREY
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
    for (int pass = 0; pass < passes; pass++)
        for (uint32_t y = 0; y < r->height; y++)
            png_read_row(d->png, r->sample ? r->sample + (size_t)y * r->width : d->row, NULL);
    png_read_end(d->png, NULL);
}

/* The row that rows are decoded into, or all of them. */
static bool make_sample_room(Decoder *d, Raster *r, uint32_t width, uint32_t height)
{
    if (width && r->width == width && r->height == height && r->kind != RASTER_OTHER) {
        r->sample = memory_create(width, height);
        return r->sample != NULL;
    }
    d->row = memory_create(png_get_rowbytes(d->png, d->info), 1);
    return d->row != NULL;
}

/* 0 done, 1 not a PNG, 2 no memory. Apart, so that no variable lives across longjmp. */
static int decode_png(Decoder *d, Raster *r, uint32_t width, uint32_t height)
{
    if (setjmp(png_jmpbuf(d->png))) return 1;
    png_init_io(d->png, d->file);
    /* A palette shorter than the samples need is for the caller to say. */
    png_set_check_for_invalid_index(d->png, 0);
    take_header(d, r);
    if (!make_sample_room(d, r, width, height)) return 2;
    take_samples(d, r);
    return 0;
}

Status raster_read(Raster *r, const char *folder, const char *name, uint32_t width, uint32_t height,
                   Fault *fault)
{
    char path[FOLDER_PATH];
    Decoder d = {0};
    *r = (Raster){0};
    d.file = folder_join(path, folder, name) ? fopen(path, "rb") : NULL;
    if (!d.file)
        return fault_set(fault, STATUS_NO_INPUT, "%s/%s: cannot be read (%s); plan the mural anew",
                         folder, name, strerror(errno));
    d.png = png_create_read_struct(PNG_LIBPNG_VER_STRING, &d, on_error, on_warning);
    d.info = d.png ? png_create_info_struct(d.png) : NULL;
    const int failed = d.info ? decode_png(&d, r, width, height) : 2;
    png_destroy_read_struct(&d.png, &d.info, NULL);
    memory_free(d.row);
    fclose(d.file);
    if (!failed) return STATUS_OK;
    raster_clear(r);
    if (failed == 2) return memory_fault(fault, width, height);
    return fault_set(fault, STATUS_DATA,
                     "%s/%s: not a PNG that can be read (%s); plan the mural anew", folder, name,
                     d.why);
}

void raster_clear(Raster *r)
{
    memory_free(r->sample);
    *r = (Raster){0};
}
