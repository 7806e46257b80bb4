/* TIFF: every layout that libtiff can write of the same codes must read as those codes. */
#include <lcms2.h>
#include <tiffio.h>

#include "support/stills.h"

typedef struct Recipe {
    uint16_t photometric, compression;
    bool tiled, apart, big;
    int extra; /* -1: none; else EXTRASAMPLE_... of the last sample */
    int orientation;
    uint16_t *map[3];
    const uint8_t *icc;
    size_t icc_length;
} Recipe;

static uint64_t packed_bytes(const Codes *codes, int width, int samples)
{
    return ((uint64_t)width * (uint64_t)samples * (uint64_t)codes->bits + 7) / 8;
}

/* Rows [y, y + high) and columns [x, x + wide) of one sample or of all, packed. */
static void pack(const Codes *codes, int x0, int y0, int wide, int high, int sample, uint8_t *out)
{
    const int from = sample < 0 ? 0 : sample, count = sample < 0 ? codes->samples : 1;
    for (int y = 0; y < high; y++) {
        Codes row = {wide, 1, count, codes->bits, calloc((size_t)(wide * count), 2)};
        for (int x = 0; x < wide; x++)
            for (int c = 0; c < count; c++)
                if (x0 + x < codes->width && y0 + y < codes->height)
                    row.code[x * count + c] =
                        codes->code[((y0 + y) * codes->width + x0 + x) * codes->samples + from + c];
        out += codes_row(&row, 0, false, out);
        free(row.code);
    }
}

static void tiff_write(const char *path, const Codes *codes, const Recipe *recipe)
{
    TIFF *tiff = TIFFOpen(path, recipe->big ? "w8" : "w");
    assert_non_null(tiff);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, codes->width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, codes->height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, codes->bits);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, codes->samples);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, recipe->photometric);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, recipe->compression);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG,
                 recipe->apart ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
    if (recipe->orientation) TIFFSetField(tiff, TIFFTAG_ORIENTATION, recipe->orientation);
    if (recipe->extra >= 0) {
        const uint16_t kind = (uint16_t)recipe->extra;
        TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &kind);
    }
    if (recipe->map[0])
        TIFFSetField(tiff, TIFFTAG_COLORMAP, recipe->map[0], recipe->map[1], recipe->map[2]);
    if (recipe->icc)
        TIFFSetField(tiff, TIFFTAG_ICCPROFILE, (uint32_t)recipe->icc_length, recipe->icc);
    uint8_t *buffer = calloc(1, 1 << 20);
    const int planes = recipe->apart ? codes->samples : 1;
    if (recipe->tiled) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, 16);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, 32);
        for (int p = 0; p < planes; p++)
            for (int y = 0; y < codes->height; y += 32)
                for (int x = 0; x < codes->width; x += 16) {
                    pack(codes, x, y, 16, 32, recipe->apart ? p : -1, buffer);
                    assert_true(
                        TIFFWriteTile(tiff, buffer, (uint32_t)x, (uint32_t)y, 0, (uint16_t)p) > 0);
                }
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 7);
        for (int p = 0; p < planes; p++)
            for (int y = 0; y < codes->height; y++) {
                pack(codes, 0, y, codes->width, 1, recipe->apart ? p : -1, buffer);
                assert_int_equal(TIFFWriteScanline(tiff, buffer, (uint32_t)y, (uint16_t)p), 1);
            }
    }
    assert_true(packed_bytes(codes, codes->width, codes->samples) < 1 << 20);
    free(buffer);
    TIFFClose(tiff);
}

static uint16_t map[3][256];

/* Pixel (x, y) over white, by the TIFF standard's definition of each kind. */
static Xyz expected(const Codes *codes, const Recipe *recipe, int x, int y)
{
    double v[4] = {0};
    const int colours = recipe->photometric == PHOTOMETRIC_RGB         ? 3
                        : recipe->photometric == PHOTOMETRIC_SEPARATED ? 4
                                                                       : 1;
    double alpha = 1.0;
    for (int c = 0; c < colours; c++) v[c] = code_of(codes, x, y, c);
    if (recipe->extra > 0) alpha = code_of(codes, x, y, codes->samples - 1);
    if (recipe->extra == EXTRASAMPLE_ASSOCALPHA)
        for (int c = 0; c < colours; c++) v[c] = alpha > 0.0 ? fmin(v[c] / alpha, 1.0) : 0.0;
    if (recipe->photometric == PHOTOMETRIC_MINISWHITE) v[0] = 1.0 - v[0];
    Xyz front;
    if (recipe->photometric == PHOTOMETRIC_PALETTE) {
        const int index = codes->code[y * codes->width + x];
        front =
            xyz_of_srgb(map[0][index] / 65535.0, map[1][index] / 65535.0, map[2][index] / 65535.0);
    } else if (colours == 4) {
        front =
            xyz_of_srgb((1 - v[0]) * (1 - v[3]), (1 - v[1]) * (1 - v[3]), (1 - v[2]) * (1 - v[3]));
    } else {
        front = xyz_of_srgb(v[0], v[colours / 2], v[colours - 1]);
    }
    const Xyz white = xyz_of_srgb(1, 1, 1);
    return (Xyz){alpha * front.x + (1 - alpha) * white.x, alpha * front.y + (1 - alpha) * white.y,
                 alpha * front.z + (1 - alpha) * white.z};
}

static void assert_reads(const Codes *codes, const Recipe *recipe, double slack)
{
    const char *path = in_folder("t.tif");
    tiff_write(path, codes, recipe);
    Cells cells = cells_png_read(path, NULL, 0, 0);
    for (int y = 0; y < codes->height; y++)
        for (int x = 0; x < codes->width; x++)
            assert_xyz(cells_xyz(&cells, x, y), expected(codes, recipe, x, y), slack, path);
    cells_free(&cells);
}

/* Kinds x bits x strips or tiles x together or apart x compression. */
static void test_every_layout(void **state)
{
    (void)state;
    static const struct {
        uint16_t photometric;
        int samples, extra;
    } kinds[] = {{PHOTOMETRIC_MINISBLACK, 1, -1},
                 {PHOTOMETRIC_MINISWHITE, 1, -1},
                 {PHOTOMETRIC_MINISBLACK, 2, EXTRASAMPLE_UNASSALPHA},
                 {PHOTOMETRIC_RGB, 3, -1},
                 {PHOTOMETRIC_RGB, 4, EXTRASAMPLE_UNASSALPHA},
                 {PHOTOMETRIC_RGB, 4, EXTRASAMPLE_UNSPECIFIED},
                 {PHOTOMETRIC_SEPARATED, 4, -1},
                 {PHOTOMETRIC_SEPARATED, 5, EXTRASAMPLE_UNASSALPHA},
                 {PHOTOMETRIC_PALETTE, 1, -1}};
    static const uint16_t ways[] = {COMPRESSION_NONE, COMPRESSION_LZW, COMPRESSION_ADOBE_DEFLATE,
                                    COMPRESSION_PACKBITS};
    uint32_t seed = 3;
    for (int c = 0; c < 3; c++)
        for (int i = 0; i < 256; i++) map[c][i] = (uint16_t)chance(&seed);
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
        for (int bits = 8; bits <= 16; bits += 8)
            for (int layout = 0; layout < 4; layout++) {
                const bool palette = kinds[k].photometric == PHOTOMETRIC_PALETTE;
                if (palette && bits == 16) continue;
                Codes codes = codes_create(37, 45, kinds[k].samples, bits, (uint32_t)k);
                Recipe recipe = {.photometric = kinds[k].photometric,
                                 .compression = ways[(k + (size_t)layout) % 4],
                                 .tiled = layout & 1,
                                 .apart = layout & 2,
                                 .big = layout == 1,
                                 .extra = kinds[k].extra};
                if (palette)
                    for (int c = 0; c < 3; c++) recipe.map[c] = map[c];
                assert_reads(&codes, &recipe,
                             kinds[k].photometric == PHOTOMETRIC_SEPARATED ? 2e-5 : 2e-7);
                free(codes.code);
            }
}

/* 1, 2 and 4 bits, as grey and as a palette. */
static void test_few_bits(void **state)
{
    (void)state;
    for (int bits = 1; bits <= 4; bits *= 2)
        for (int kind = 0; kind < 3; kind++)
            for (int tiled = 0; tiled < 2; tiled++) {
                static const uint16_t photometric[] = {PHOTOMETRIC_MINISBLACK,
                                                       PHOTOMETRIC_MINISWHITE, PHOTOMETRIC_PALETTE};
                Codes codes = codes_create(29, 33, 1, bits, 8);
                Recipe recipe = {.photometric = photometric[kind],
                                 .compression = COMPRESSION_NONE,
                                 .tiled = tiled,
                                 .extra = -1};
                for (int c = 0; kind == 2 && c < 3; c++) recipe.map[c] = map[c];
                assert_reads(&codes, &recipe, 2e-7);
                free(codes.code);
            }
}

/* Alpha multiplied into the codes: divided again (codes round to whole ones). */
static void test_associated_alpha(void **state)
{
    (void)state;
    for (int bits = 8; bits <= 16; bits += 8)
        for (int apart = 0; apart < 2; apart++) {
            Codes codes = codes_create(20, 20, 4, bits, 8);
            for (int i = 0; i < 400; i++) /* no colour is above its alpha */
                for (int c = 0; c < 3; c++)
                    codes.code[4 * i + c] =
                        (uint16_t)(codes.code[4 * i + c] % (codes.code[4 * i + 3] + 1));
            const Recipe recipe = {.photometric = PHOTOMETRIC_RGB,
                                   .compression = COMPRESSION_NONE,
                                   .apart = apart,
                                   .extra = EXTRASAMPLE_ASSOCALPHA};
            assert_reads(&codes, &recipe, bits == 8 ? 5e-3 : 2e-5);
            free(codes.code);
        }
}

/* Old maps of 8 bits are told by no entry above 255. */
static void test_old_map(void **state)
{
    (void)state;
    static uint16_t old[3][256];
    for (int c = 0; c < 3; c++)
        for (int i = 0; i < 256; i++) {
            old[c][i] = (uint16_t)((i * (c + 3)) & 255);
            map[c][i] = (uint16_t)(old[c][i] * 257);
        }
    Codes codes = codes_create(20, 20, 1, 8, 8);
    const Recipe recipe = {.photometric = PHOTOMETRIC_PALETTE,
                           .compression = COMPRESSION_NONE,
                           .extra = -1,
                           .map = {old[0], old[1], old[2]}};
    assert_reads(&codes, &recipe, 2e-7);
    free(codes.code);
}

/* JPEG inside TIFF, as scanners write it: against libtiff's own RGB. */
static void test_jpeg_inside(void **state)
{
    (void)state;
    const char *path = in_folder("inside.tif");
    uint8_t pixels[32 * 32 * 3];
    for (int i = 0; i < 32 * 32 * 3; i++)
        pixels[i] = (uint8_t)(128 + 90 * sin(i / 3 % 32 * 0.2 + i % 3) * cos(i / 96 * 0.15));
    TIFF *tiff = TIFFOpen(path, "w");
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, 32);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 32);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_YCBCR);
    /* Before the mode of colours, which looks for it; libtiff up to 4.2 writes nothing without. */
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_JPEG);
    TIFFSetField(tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 16);
    for (unsigned strip = 0; strip < 2; strip++)
        assert_int_equal(TIFFWriteEncodedStrip(tiff, strip, pixels + strip * (sizeof pixels / 2),
                                               sizeof pixels / 2),
                         sizeof pixels / 2);
    TIFFClose(tiff);
    uint32_t raster[32 * 32];
    tiff = TIFFOpen(path, "r");
    assert_int_equal(TIFFReadRGBAImageOriented(tiff, 32, 32, raster, ORIENTATION_TOPLEFT, 1), 1);
    TIFFClose(tiff);
    Cells cells = cells_png_read(path, NULL, 0, 0);
    for (int i = 0; i < 32 * 32; i++)
        assert_xyz(cells_xyz(&cells, i % 32, i / 32),
                   xyz_of_srgb(TIFFGetR(raster[i]) / 255.0, TIFFGetG(raster[i]) / 255.0,
                               TIFFGetB(raster[i]) / 255.0),
                   1e-6, "inside");
    cells_free(&cells);
}

/* TIFF 6.0, tag 274: against the upright raster that libtiff turns by itself. */
static void test_orientations(void **state)
{
    (void)state;
    Codes codes = codes_create(6, 4, 3, 8, 2);
    for (int turned = 1; turned <= 8; turned++) {
        const char *path = in_folder("turned.tif");
        tiff_write(path, &codes,
                   &(Recipe){.photometric = PHOTOMETRIC_RGB,
                             .compression = COMPRESSION_NONE,
                             .extra = -1,
                             .orientation = turned});
        Cells cells = cells_png_read(path, NULL, 0, 0);
        assert_int_equal(cells.columns, turned < 5 ? 6 : 4);
        for (int y = 0; y < cells.rows; y++)
            for (int x = 0; x < cells.columns; x++) {
                /* Row 0 and column 0 of the file lie, by the tag: top left, top right,
                 * bottom right, bottom left, left top, right top, right bottom, left bottom. */
                const int rx = cells.columns - 1 - x, ry = cells.rows - 1 - y;
                const int at[9][2] = {{0},    {x, y},  {rx, y},  {rx, ry}, {x, ry},
                                      {y, x}, {y, rx}, {ry, rx}, {ry, x}};
                const int *p = at[turned];
                assert_xyz(cells_xyz(&cells, x, y),
                           xyz_of_srgb(code_of(&codes, p[0], p[1], 0),
                                       code_of(&codes, p[0], p[1], 1),
                                       code_of(&codes, p[0], p[1], 2)),
                           2e-7, "turned");
            }
        cells_free(&cells);
    }
    free(codes.code);
}

static void test_icc(void **state)
{
    (void)state;
    size_t length;
    uint8_t *icc = profile_by_table(4, 5, "Press", &length);
    for (int bits = 8; bits <= 16; bits += 8) {
        Codes codes = codes_create(9, 6, 4, bits, 2);
        const char *path = in_folder("icc.tif");
        tiff_write(path, &codes,
                   &(Recipe){.photometric = PHOTOMETRIC_SEPARATED,
                             .compression = COMPRESSION_LZW,
                             .extra = -1,
                             .icc = icc,
                             .icc_length = length});
        Cells cells = cells_png_read(path, NULL, 0, 0);
        assert_string_equal(cells.facts.profile, "Press");
        for (int y = 0; y < 6; y++)
            for (int x = 0; x < 9; x++) {
                double inks[4];
                for (int c = 0; c < 4; c++) inks[c] = 100.0 * code_of(&codes, x, y, c);
                assert_close(cells_xyz(&cells, x, y), xyz_by_lcms(icc, length, TYPE_CMYK_DBL, inks),
                             0.3, "icc");
            }
        cells_free(&cells);
        free(codes.code);
    }
    free(icc);
}

/* What is not taken is said in a line. */
static void test_not_taken(void **state)
{
    (void)state;
    const PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    const char *path = in_folder("odd.tif");
    for (int kind = 0; kind < 3; kind++) {
        uint8_t row[64] = {0};
        TIFF *tiff = TIFFOpen(path, "w");
        TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, 4);
        TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 1);
        TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, kind == 0 ? 32 : 8);
        TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT,
                     kind == 0 ? SAMPLEFORMAT_IEEEFP : SAMPLEFORMAT_UINT);
        TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, kind == 2 ? 1 : 3);
        TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
        TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
                     kind == 0   ? PHOTOMETRIC_RGB
                     : kind == 1 ? PHOTOMETRIC_CIELAB
                                 : PHOTOMETRIC_RGB);
        assert_int_equal(TIFFWriteScanline(tiff, row, 0, 0), 1);
        TIFFClose(tiff);
        Cells cells;
        Fault fault = {0};
        assert_int_equal(cells_try(&cells, path, &options, 0, 0, 1, &fault), STATUS_DATA);
        assert_non_null(strstr(fault.text, "is not taken; save it"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_every_layout),
                                       cmocka_unit_test(test_few_bits),
                                       cmocka_unit_test(test_associated_alpha),
                                       cmocka_unit_test(test_old_map),
                                       cmocka_unit_test(test_jpeg_inside),
                                       cmocka_unit_test(test_orientations),
                                       cmocka_unit_test(test_icc),
                                       cmocka_unit_test(test_not_taken)};
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
