/* What the library is made of, as each part tells it itself where it runs: what is linked may be
 * newer than the header that was built with. The two that tell nothing are named by their headers,
 * or without a version. */
#include "rowlock.h"

#include "base/file_format.h"
#include "base/simd8.h"

#include <Clp_C_Interface.h>
#include <cairo.h>
#include <ft2build.h>
#include <lcms2.h>
#include <nettle/version.h>
#include <png.h>
#include <stdio.h>
#include <string.h>
#include <tiffio.h>
#include <zlib.h>
#include FT_FREETYPE_H
#include <jpeglib.h>

#define TEXT_OF(x) #x
#define TEXT(x) TEXT_OF(x)

enum { TEXT_MOST = sizeof((RowlockPart *)NULL)->version };

static void tell_text(char *out, const char *text) { snprintf(out, TEXT_MOST, "%s", text); }
static void tell_zlib(char *out) { tell_text(out, zlibVersion()); }
static void tell_png(char *out) { tell_text(out, png_get_libpng_ver(NULL)); }
static void tell_cairo(char *out) { tell_text(out, cairo_version_string()); }
static void tell_clp(char *out) { tell_text(out, Clp_Version()); }
static void tell_nothing(char *out) { *out = 0; }

static void tell_jpeg(char *out)
{
#ifdef LIBJPEG_TURBO_VERSION
    tell_text(out, "turbo " TEXT(LIBJPEG_TURBO_VERSION));
#else
    tell_text(out, TEXT(JPEG_LIB_VERSION));
#endif
}

/* "LIBTIFF, Version 4.5.0" and a copyright on lines of their own. */
static void tell_tiff(char *out)
{
    const char *text = TIFFGetVersion(), *digits = text + strcspn(text, "0123456789");
    snprintf(out, TEXT_MOST, "%.*s", (int)strspn(digits, "0123456789."), digits);
}

/* 2140 is 2.14. */
static void tell_lcms(char *out)
{
    const int version = cmsGetEncodedCMMversion();
    snprintf(out, TEXT_MOST, "%d.%d", version / 1000, version % 1000 / 10);
}

static void tell_freetype(char *out)
{
    FT_Library library;
    FT_Int major = 0, minor = 0, patch = 0;
    *out = 0;
    if (FT_Init_FreeType(&library)) return;
    FT_Library_Version(library, &major, &minor, &patch);
    snprintf(out, TEXT_MOST, "%d.%d.%d", major, minor, patch);
    FT_Done_FreeType(library);
}

static void tell_nettle(char *out)
{
    snprintf(out, TEXT_MOST, "%d.%d", nettle_version_major(), nettle_version_minor());
}

static void tell_jansson(char *out) { tell_text(out, JANSSON_VERSION); }

static void tell_compressions(char *out)
{
    static const struct {
        uint16_t scheme;
        const char *name;
    } scheme[] = {{COMPRESSION_LZW, "LZW"},           {COMPRESSION_ADOBE_DEFLATE, "Deflate"},
                  {COMPRESSION_PACKBITS, "PackBits"}, {COMPRESSION_JPEG, "JPEG"},
                  {COMPRESSION_LZMA, "LZMA"},         {COMPRESSION_ZSTD, "Zstandard"},
                  {COMPRESSION_WEBP, "WebP"}};
    size_t length = 0;
    *out = 0;
    for (size_t i = 0; i < sizeof scheme / sizeof *scheme; i++)
        if (TIFFIsCODECConfigured(scheme[i].scheme))
            length += (size_t)snprintf(out + length, TEXT_MOST - length, "%s%s", length ? " " : "",
                                       scheme[i].name);
}

static void tell_vectors(char *out)
{
#if defined(__x86_64__) && defined(__GLIBC__)
    const int floats = __builtin_cpu_supports("avx2") ? 8 : 4;
#else
    const int floats = 4;
#endif
    snprintf(out, TEXT_MOST, "%d floats", floats);
}

static const struct {
    RowlockPartKind kind;
    const char *name;
    void (*tell)(char *version_out);
} parts[] = {
    {ROWLOCK_LIBRARY, "zlib", tell_zlib},       {ROWLOCK_LIBRARY, "libpng", tell_png},
    {ROWLOCK_LIBRARY, "libjpeg", tell_jpeg},    {ROWLOCK_LIBRARY, "libtiff", tell_tiff},
    {ROWLOCK_LIBRARY, "stb", tell_nothing},     {ROWLOCK_LIBRARY, "Little CMS", tell_lcms},
    {ROWLOCK_LIBRARY, "cairo", tell_cairo},     {ROWLOCK_LIBRARY, "FreeType", tell_freetype},
    {ROWLOCK_LIBRARY, "jansson", tell_jansson}, {ROWLOCK_LIBRARY, "inih", tell_nothing},
    {ROWLOCK_LIBRARY, "nettle", tell_nettle},   {ROWLOCK_LIBRARY, "Clp", tell_clp},
    {ROWLOCK_FEATURE, "vectors", tell_vectors}, {ROWLOCK_FEATURE, "TIFF", tell_compressions},
};

enum { PARTS = sizeof parts / sizeof *parts };

bool rowlock_part_at(size_t index, RowlockPart *part_out)
{
    if (index >= PARTS + FILE_FORMATS) return false;
    *part_out = (RowlockPart){.kind = ROWLOCK_FORMAT};
    if (index < PARTS) {
        part_out->kind = parts[index].kind;
        part_out->name = parts[index].name;
        parts[index].tell(part_out->version);
        return true;
    }
    const FileFormat *format = &file_formats[index - PARTS];
    part_out->name = format->file;
    snprintf(part_out->version, TEXT_MOST, "%d", format->version);
    return true;
}
