#include "paint.h"

#include "memory.h"

#include <png.h>

#include <errno.h>
#include <setjmp.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define STB_IMAGE_WRITE_IMPLEMENTATION
#define STBI_WRITE_NO_STDIO
#include <stb/stb_image_write.h>

struct Paint {
    FILE *file;
    png_structp png;
    png_infop info;
    char path[1]; /* as long as it needs */
};

static Status cannot_write(const char *path, Fault *fault)
{
    return fault_set(fault, STATUS_IO, "%s: cannot be written (%s); free some space", path,
                     strerror(errno));
}

static void fail(png_structp png, png_const_charp message)
{
    (void)message;
    longjmp(png_jmpbuf(png), 1);
}
static void hush(png_structp png, png_const_charp message)
{
    (void)png;
    (void)message;
}
static png_voidp take(png_structp png, png_alloc_size_t size)
{
    (void)png;
    return memory_create(1, size);
}
static void give(png_structp png, png_voidp block)
{
    (void)png;
    memory_free(block);
}

static void write_header(Paint *p, int width, int height, PaintKind kind, const Palette *palette)
{
    const int type = kind == PAINT_RGB    ? PNG_COLOR_TYPE_RGB
                     : kind == PAINT_GREY ? PNG_COLOR_TYPE_GRAY
                                          : PNG_COLOR_TYPE_PALETTE;
    png_set_IHDR(p->png, p->info, (png_uint_32)width, (png_uint_32)height, 8, type,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (kind != PAINT_GREY) png_set_sRGB(p->png, p->info, PNG_sRGB_INTENT_RELATIVE);
    if (kind == PAINT_INDEXED) {
        png_color plte[PALETTE_MOST];
        for (int i = 0; i < palette->count; i++)
            plte[i] = (png_color){palette->colour[i].srgb[0], palette->colour[i].srgb[1],
                                  palette->colour[i].srgb[2]};
        png_set_PLTE(p->png, p->info, plte, palette->count);
    }
    /* Rows of a face repeat the row above but where a cell ends: the filter "up" makes
     * them zeros, which the fastest level packs as well as the slowest would. */
    png_set_compression_level(p->png, kind == PAINT_RGB ? 1 : 6);
    png_set_filter(p->png, 0, kind == PAINT_RGB ? PNG_FILTER_UP : PNG_FILTER_NONE);
    png_write_info(p->png, p->info);
}

Status paint_create(Paint **out, const char *path, int width, int height, PaintKind kind,
                    const Palette *palette, Fault *fault)
{
    *out = NULL;
    const size_t length = strlen(path);
    Paint *p = memory_create(1, sizeof *p + length);
    if (!p) return memory_fault(fault, 1, sizeof *p + length);
    memcpy(p->path, path, length + 1);
    p->png = png_create_write_struct_2(PNG_LIBPNG_VER_STRING, NULL, fail, hush, NULL, take, give);
    p->info = p->png ? png_create_info_struct(p->png) : NULL;
    if (!p->info) {
        paint_free(p);
        return memory_fault(fault, 1, 1);
    }
    p->file = fopen(path, "wb");
    if (!p->file) {
        paint_free(p);
        return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); check the folder",
                         path, strerror(errno));
    }
    if (setjmp(png_jmpbuf(p->png))) {
        const Status status = cannot_write(path, fault);
        paint_free(p);
        return status;
    }
    png_init_io(p->png, p->file);
    write_header(p, width, height, kind, palette);
    *out = p;
    return STATUS_OK;
}

Status paint_row(Paint *p, const uint8_t *row, Fault *fault)
{
    if (setjmp(png_jmpbuf(p->png))) return cannot_write(p->path, fault);
    png_write_row(p->png, row);
    return STATUS_OK;
}

/* A function of its own, so that no variable lives across the jump. */
static bool ended(Paint *p)
{
    if (setjmp(png_jmpbuf(p->png))) return false;
    png_write_end(p->png, p->info);
    return fflush(p->file) == 0;
}

Status paint_finish(Paint *p, Fault *fault)
{
    if (!p) return STATUS_OK;
    const Status status = ended(p) ? STATUS_OK : cannot_write(p->path, fault);
    paint_free(p);
    return status;
}

void paint_free(Paint *p)
{
    if (!p) return;
    if (p->png) png_destroy_write_struct(&p->png, &p->info);
    if (p->file) fclose(p->file);
    memory_free(p);
}

static void to_file(void *context, void *bytes, int size)
{
    fwrite(bytes, 1, (size_t)size, context);
}

Status paint_jpeg(const char *path, int width, int height, const uint8_t *rgb, int quality,
                  Fault *fault)
{
    FILE *file = fopen(path, "wb");
    if (!file)
        return fault_set(fault, STATUS_NO_CREATE, "%s: cannot be created (%s); check the folder",
                         path, strerror(errno));
    const int made = stbi_write_jpg_to_func(to_file, file, width, height, 3, rgb, quality);
    const int broken = ferror(file);
    if (fclose(file) || broken || !made) return cannot_write(path, fault);
    return STATUS_OK;
}
