/* What the tests of reading share: a folder of their own, pictures written by the
 * formats' own libraries, and cells read back. */
#ifndef ROWLOCK_TESTS_STILLS_H
#define ROWLOCK_TESTS_STILLS_H

#include "base/memory.h"
#include "picture/picture.h"
#include "picture/sample.h"
#include "support/chance.h"
#include "support/scratch.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[SCRATCH_MOST];

static inline int folder_make(void **state)
{
    (void)state;
    return scratch_folder(folder) ? 0 : -1;
}

static inline int folder_remove(void **state)
{
    (void)state;
    return scratch_clear(folder);
}

/* A path in the folder; the last eight stay valid. */
static inline const char *in_folder(const char *name)
{
    static char paths[8][160];
    static int turn;
    char *path = paths[turn++ % 8];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

static inline void bytes_write(const char *path, const void *bytes, size_t size)
{
    unlink(path); /* some file systems flush a file that is written over */
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    assert_int_equal(fclose(file), 0);
}

static inline uint8_t *bytes_load(const char *path, size_t *size_out)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    uint8_t *bytes = malloc(1 << 22);
    *size_out = fread(bytes, 1, 1 << 22, file);
    fclose(file);
    return bytes;
}

/* Notes, gathered. */
typedef struct Heard {
    char text[2000];
} Heard;

static inline void hear(void *self, const char *text)
{
    Heard *heard = self;
    const size_t length = strlen(heard->text);
    snprintf(heard->text + length, sizeof heard->text - length, "%s\n", text);
}

/* All cells of a picture, row 0 on top here, in any number a cell. */
typedef struct Cells {
    int columns, rows;
    float *value; /* XYZ, or one number of data */
    PictureFacts facts;
    Heard heard;
} Cells;

static inline Status cells_try(Cells *cells, const char *path, const PictureOptions *options,
                               int columns, int rows, int threads, Fault *fault)
{
    *cells = (Cells){0};
    const Voice voice = {.self = &cells->heard, .note = hear};
    Picture *picture = NULL;
    Status status = picture_open(&picture, path, options, &voice, fault);
    if (status) return status;
    if (!columns) columns = (int)picture_width(picture);
    if (!rows) rows = (int)picture_height(picture);
    cells->columns = columns;
    cells->rows = rows;
    Source *source = picture_source(picture);
    const Crop crop = crop_all(source);
    Image image = {0};
    if (options->data)
        status = sample_data(source, &(Sampling){crop, columns, rows, threads}, &cells->value,
                             &voice, fault);
    else
        status =
            sample_image(source, &(Sampling){crop, columns, rows, threads}, &image, &voice, fault);
    if (!options->data) cells->value = image.xyz;
    if (!status) status = picture_finish(picture, &cells->facts, fault);
    if (status) memory_free(cells->value);
    picture_close(picture);
    return status;
}

static inline Cells cells_png_read(const char *path, const PictureOptions *options, int columns,
                                   int rows)
{
    Cells cells;
    Fault fault = {0};
    const PictureOptions usual = PICTURE_OPTIONS_DEFAULT;
    if (cells_try(&cells, path, options ? options : &usual, columns, rows, 2, &fault))
        fail_msg("%s", fault.text);
    return cells;
}

static inline void cells_free(Cells *cells) { memory_free(cells->value); }

/* From the top left. */
static inline Xyz cells_xyz(const Cells *cells, int x, int y)
{
    const float *p = cells->value + 3 * ((cells->rows - 1 - y) * cells->columns + x);
    return (Xyz){(double)p[0], (double)p[1], (double)p[2]};
}

static inline double cells_number(const Cells *cells, int x, int y)
{
    return (double)cells->value[(cells->rows - 1 - y) * cells->columns + x];
}

static inline void assert_xyz(Xyz got, Xyz want, double slack, const char *what)
{
    if (!(fabs(got.x - want.x) <= slack && fabs(got.y - want.y) <= slack &&
          fabs(got.z - want.z) <= slack))
        fail_msg("%s: XYZ %.7f %.7f %.7f, should be %.7f %.7f %.7f", what, got.x, got.y, got.z,
                 want.x, want.y, want.z);
}

/* For colours that went through a table: both as Lab, within a part of the
 * unit that is just visible. */
static inline void assert_close(Xyz got, Xyz want, double slack, const char *what)
{
    const Lab a = lab_from_xyz(got), b = lab_from_xyz(want);
    const double distance =
        sqrt((a.L - b.L) * (a.L - b.L) + (a.a - b.a) * (a.a - b.a) + (a.b - b.b) * (a.b - b.b));
    if (!(distance <= slack))
        fail_msg("%s: Lab %.3f %.3f %.3f, should be %.3f %.3f %.3f", what, a.L, a.a, a.b, b.L, b.a,
                 b.b);
}

/* What sRGB codes, 0 to 1, are in XYZ: colour.h, which has tests of its own. */
static inline Xyz xyz_of_srgb(double r, double g, double b)
{
    return xyz_from_linear((Rgb){srgb_decode(r), srgb_decode(g), srgb_decode(b)});
}

/* The codes of a random picture of 8 or 16 bits, samples interleaved. */
typedef struct Codes {
    int width, height, samples, bits;
    uint16_t *code;
} Codes;

static inline Codes codes_create(int width, int height, int samples, int bits, uint32_t seed)
{
    const size_t count = (size_t)width * (size_t)height * (size_t)samples;
    Codes codes = {width, height, samples, bits, malloc(count * sizeof *codes.code)};
    for (size_t i = 0; i < count; i++)
        codes.code[i] = (uint16_t)(chance(&seed) & ((1U << bits) - 1));
    return codes;
}

static inline double code_of(const Codes *codes, int x, int y, int sample)
{
    return codes->code[(y * codes->width + x) * codes->samples + sample] /
           ((1 << codes->bits) - 1.0);
}

/* One row as a file stores it: 8 bits, or 16 of this machine's order or big-endian, or
 * fewer bits packed from the top. */
static inline size_t codes_row(const Codes *codes, int y, bool big_endian, uint8_t *out)
{
    const size_t count = (size_t)codes->width * (size_t)codes->samples;
    const uint16_t *code = codes->code + (size_t)y * count;
    const size_t bits = (size_t)codes->bits, size = (count * bits + 7) / 8;
    memset(out, 0, size);
    for (size_t i = 0; i < count; i++) {
        if (bits == 16 && big_endian) {
            out[2 * i] = (uint8_t)(code[i] >> 8);
            out[2 * i + 1] = (uint8_t)code[i];
        } else if (bits == 16) {
            memcpy(out + 2 * i, &code[i], 2);
        } else {
            out[i * bits / 8] |= (uint8_t)(code[i] << (8 - bits - i * bits % 8));
        }
    }
    return size;
}

/* ---- ICC profiles, made by lcms2 ---- */
#ifdef LCMS_VERSION

static inline uint8_t *profile_save(cmsHPROFILE profile, size_t *length_out)
{
    cmsUInt32Number length = 0;
    assert_true(cmsSaveProfileToMem(profile, NULL, &length));
    uint8_t *bytes = malloc(length);
    assert_true(cmsSaveProfileToMem(profile, bytes, &length));
    cmsCloseProfile(profile);
    *length_out = length;
    return bytes;
}

static inline void profile_name(cmsHPROFILE profile, const char *name)
{
    cmsMLU *text = cmsMLUalloc(NULL, 1);
    cmsMLUsetASCII(text, "en", "US", name);
    cmsWriteTag(profile, cmsSigProfileDescriptionTag, text);
    cmsMLUfree(text);
}

/* sRGB whose red is green, green blue and blue red; curve 0 is a gamma of 1.8. */
static inline uint8_t *profile_swapped(size_t *length_out)
{
    cmsToneCurve *curve = cmsBuildGamma(NULL, 1.8);
    cmsToneCurve *curves[3] = {curve, curve, curve};
    const cmsCIExyY white = {0.3127, 0.3290, 1.0};
    const cmsCIExyYTRIPLE primaries = {{0.3, 0.6, 1.0}, {0.15, 0.06, 1.0}, {0.64, 0.33, 1.0}};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, curves);
    profile_name(profile, "Swapped channels");
    cmsFreeToneCurve(curve);
    return profile_save(profile, length_out);
}

/* What lcms2's own transform makes of codes 0 to 1 (inks 0 to 100). */
static inline Xyz xyz_by_lcms(const uint8_t *icc, size_t length, cmsUInt32Number format,
                              const double *codes)
{
    cmsHPROFILE from = cmsOpenProfileFromMem(icc, (cmsUInt32Number)length);
    cmsHPROFILE to = cmsCreateXYZProfile();
    cmsHTRANSFORM transform =
        cmsCreateTransform(from, format, to, TYPE_XYZ_DBL, INTENT_RELATIVE_COLORIMETRIC, 0);
    assert_non_null(transform);
    double xyz[3];
    cmsDoTransform(transform, codes, xyz, 1);
    cmsDeleteTransform(transform);
    cmsCloseProfile(from);
    cmsCloseProfile(to);
    return (Xyz){xyz[0], xyz[1], xyz[2]};
}

/* A device whose Lab is given by a table: `channels` inks or lights, entries by name. */
static inline cmsInt32Number put_lab(const cmsUInt16Number in[], cmsUInt16Number out[],
                                     void *channels)
{
    const int n = *(const int *)channels;
    double light = 1.0, a = 0.0, b = 0.0;
    for (int c = 0; c < n; c++) {
        const double v = n == 4 ? 1.0 - in[c] / 65535.0 * (c == 3 ? 0.85 : 0.55) : in[c] / 65535.0;
        light *= n == 4 ? v : 1.0;
        if (n == 3) light = c == 0 ? 0.3 * v : c == 1 ? light + 0.6 * v : light + 0.1 * v;
        a += (c == 0 ? -40.0 : c == 1 ? 60.0 : 5.0) * (1.0 - v) * (n == 4 ? 1.0 : v);
        b += (c == 0 ? -45.0 : c == 2 ? 80.0 : 0.0) * (1.0 - v);
    }
    const cmsCIELab lab = {5.0 + 95.0 * light, a, b};
    cmsFloat2LabEncoded(out, &lab);
    return TRUE;
}

static inline uint8_t *profile_by_table(int channels, unsigned grid, const char *name,
                                        size_t *length_out)
{
    cmsHPROFILE profile = cmsCreateProfilePlaceholder(NULL);
    cmsSetProfileVersion(profile, 4.3);
    cmsSetDeviceClass(profile, cmsSigOutputClass);
    cmsSetColorSpace(profile, channels == 4 ? cmsSigCmykData : cmsSigRgbData);
    cmsSetPCS(profile, cmsSigLabData);
    profile_name(profile, name);
    cmsWriteTag(profile, cmsSigMediaWhitePointTag, cmsD50_XYZ());
    cmsPipeline *table = cmsPipelineAlloc(NULL, (cmsUInt32Number)channels, 3);
    cmsStage *stage = cmsStageAllocCLut16bit(NULL, grid, (cmsUInt32Number)channels, 3, NULL);
    assert_true(cmsStageSampleCLut16bit(stage, put_lab, &channels, 0));
    cmsPipelineInsertStage(table, cmsAT_BEGIN,
                           cmsStageAllocToneCurves(NULL, (cmsUInt32Number)channels, NULL));
    cmsPipelineInsertStage(table, cmsAT_END, stage);
    cmsPipelineInsertStage(table, cmsAT_END, cmsStageAllocToneCurves(NULL, 3, NULL));
    assert_true(cmsWriteTag(profile, cmsSigAToB0Tag, table));
    cmsPipelineFree(table);
    return profile_save(profile, length_out);
}
#endif

#endif
