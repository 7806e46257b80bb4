/* JPEG: pixels against libjpeg's own decoding of the same file, colour against lcms2,
 * the eight orientations, profiles in many segments. */
#include <stdio.h>

#include <jpeglib.h>
#include <lcms2.h>

#include "support/stills.h"

typedef struct Recipe {
    J_COLOR_SPACE in, stored;
    bool adobe, progressive;
    int orientation; /* 0: no Exif */
    int quality;     /* 0: 92 */
    const uint8_t *icc;
    size_t icc_length;
} Recipe;

static void jpeg_write(const char *path, const Codes *codes, const Recipe *recipe)
{
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)codes->width;
    jpeg.image_height = (JDIMENSION)codes->height;
    jpeg.input_components = codes->samples;
    jpeg.in_color_space = recipe->in;
    jpeg_set_defaults(&jpeg);
    jpeg_set_colorspace(&jpeg, recipe->stored);
    jpeg_set_quality(&jpeg, recipe->quality ? recipe->quality : 92, TRUE);
    jpeg.write_Adobe_marker = recipe->adobe;
    if (recipe->progressive) jpeg_simple_progression(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    if (recipe->orientation) {
        const uint8_t exif[] = {'E',  'x', 'i', 'f', 0, 0, 'I', 'I', 42,
                                0,    8,   0,   0,   0, 2, 0,   0,   1,
                                4,    0,   1,   0,   0, 0, 9,   0,   0,
                                0, /* another tag */
                                0x12, 1,   3,   0,   1, 0, 0,   0,   (uint8_t)recipe->orientation,
                                0,    0,   0,   0,   0, 0, 0};
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, exif, sizeof exif);
    }
    if (recipe->icc) jpeg_write_icc_profile(&jpeg, recipe->icc, (unsigned)recipe->icc_length);
    uint8_t *row = malloc((size_t)codes->width * (size_t)codes->samples);
    JSAMPROW rows[1] = {row};
    for (int y = 0; y < codes->height; y++) {
        codes_row(codes, y, false, row);
        jpeg_write_scanlines(&jpeg, rows, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(row);
    fclose(file);
}

/* What libjpeg decodes by itself, in the space that is asked for. */
static Codes jpeg_decode(const char *path, J_COLOR_SPACE space)
{
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&jpeg);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = space;
    jpeg_start_decompress(&jpeg);
    Codes codes =
        codes_create((int)jpeg.output_width, (int)jpeg.output_height, jpeg.output_components, 8, 0);
    const size_t count = (size_t)codes.width * (size_t)codes.samples;
    uint8_t *row = malloc(count);
    JSAMPROW rows[1] = {row};
    for (int y = 0; y < codes.height; y++) {
        jpeg_read_scanlines(&jpeg, rows, 1);
        for (size_t i = 0; i < count; i++) codes.code[(size_t)y * count + i] = row[i];
    }
    jpeg_finish_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    free(row);
    fclose(file);
    return codes;
}

/* Smooth, so that compression leaves it much as it was. */
static Codes smooth(int width, int height, int samples)
{
    Codes codes = codes_create(width, height, samples, 8, 1);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            for (int c = 0; c < samples; c++)
                codes.code[(y * width + x) * samples + c] =
                    (uint16_t)(128 + 100 * sin(0.1 * x * (c + 1)) * cos(0.13 * y + c));
    return codes;
}

static void test_grey_and_colour(void **state)
{
    (void)state;
    for (int samples = 1; samples <= 3; samples += 2)
        for (int progressive = 0; progressive < 2; progressive++) {
            const char *path = in_folder("plain.jpg");
            Codes drawn = smooth(37, 21, samples);
            jpeg_write(path, &drawn,
                       &(Recipe){.in = samples == 1 ? JCS_GRAYSCALE : JCS_RGB,
                                 .stored = samples == 1 ? JCS_GRAYSCALE : JCS_YCbCr,
                                 .progressive = progressive});
            Codes codes = jpeg_decode(path, samples == 1 ? JCS_GRAYSCALE : JCS_RGB);
            Cells cells = cells_png_read(path, NULL, 0, 0);
            assert_string_equal(cells.facts.profile, "sRGB (assumed)");
            assert_non_null(strstr(cells.heard.text, "has no colour profile; sRGB assumed"));
            for (int y = 0; y < 21; y++)
                for (int x = 0; x < 37; x++)
                    assert_xyz(cells_xyz(&cells, x, y),
                               xyz_of_srgb(code_of(&codes, x, y, 0),
                                           code_of(&codes, x, y, samples / 2),
                                           code_of(&codes, x, y, samples - 1)),
                               2e-7, "plain");
            cells_free(&cells);
            free(drawn.code);
            free(codes.code);
        }
}

static double clipped(double code) { return fmin(fmax(code / 255, 0), 1); }

/* A plain face at quality 100, where a block's mean is kept as it is: what the planes' whole codes
 * are by the formulas of ITU-T T.871, 7, to 16 bits. Smooth pictures, chroma coarser than light, in
 * one scan or in many: as libjpeg decodes them, but for what it rounds. */
static void test_exact(void **state)
{
    (void)state;
    static const uint8_t faces[][3] = {{131, 90, 77}, {200, 201, 199}, {250, 180, 3},
                                       {12, 60, 130}, {255, 0, 255},   {17, 17, 21}};
    PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    const char *path = in_folder("exact.jpg");
    options.exact = true;
    for (size_t i = 0; i < sizeof faces / sizeof *faces; i++) {
        const double r = faces[i][0], g = faces[i][1], b = faces[i][2];
        const double y = round(0.299 * r + 0.587 * g + 0.114 * b);
        const double blue = round(-0.168736 * r - 0.331264 * g + 0.5 * b);
        const double red = round(0.5 * r - 0.418688 * g - 0.081312 * b);
        Codes plain = codes_create(37, 21, 3, 8, 1);
        for (int k = 0; k < 37 * 21 * 3; k++) plain.code[k] = faces[i][k % 3];
        jpeg_write(path, &plain, &(Recipe){.in = JCS_RGB, .stored = JCS_YCbCr, .quality = 100});
        Cells cells = cells_png_read(path, &options, 0, 0);
        for (int k = 0; k < 37 * 21; k++)
            assert_xyz(
                cells_xyz(&cells, k % 37, k / 37),
                xyz_of_srgb(clipped(y + 1.402 * fmin(red, 127)),
                            clipped(y - 0.344136 * fmin(blue, 127) - 0.714136 * fmin(red, 127)),
                            clipped(y + 1.772 * fmin(blue, 127))),
                3e-5, "a plain face");
        cells_free(&cells);
        free(plain.code);
    }
    for (int progressive = 0; progressive < 2; progressive++) {
        Codes drawn = smooth(53, 41, 3);
        jpeg_write(path, &drawn,
                   &(Recipe){.in = JCS_RGB, .stored = JCS_YCbCr, .progressive = progressive});
        Codes codes = jpeg_decode(path, JCS_RGB);
        Cells cells = cells_png_read(path, &options, 0, 0);
        for (int k = 0; k < 53 * 41; k++)
            assert_xyz(cells_xyz(&cells, k % 53, k / 53),
                       xyz_of_srgb(code_of(&codes, k % 53, k / 53, 0),
                                   code_of(&codes, k % 53, k / 53, 1),
                                   code_of(&codes, k % 53, k / 53, 2)),
                       0.02, "a smooth picture");
        cells_free(&cells);
        free(drawn.code);
        free(codes.code);
    }
    Status status = STATUS_NO_RESOURCE;
    for (int n = 0; status; n++) { /* each allocation fails in turn */
        Cells cells;
        memory_fail_after(n);
        status = cells_try(&cells, path, &options, 5, 4, 1, NULL);
        memory_fail_after(-1);
        assert_true(!status || status == STATUS_NO_RESOURCE);
        if (!status) cells_free(&cells);
    }
}

/* Adobe stores inks inverted, others do not; YCCK is CMYK underneath. Without a profile
 * each ink is a filter, in sRGB codes. */
static void test_inks_without_profile(void **state)
{
    (void)state;
    static const Recipe recipes[] = {{.in = JCS_CMYK, .stored = JCS_CMYK, .adobe = true},
                                     {.in = JCS_CMYK, .stored = JCS_CMYK, .adobe = false},
                                     {.in = JCS_CMYK, .stored = JCS_YCCK, .adobe = true}};
    for (size_t i = 0; i < sizeof recipes / sizeof *recipes; i++) {
        const char *path = in_folder("inks.jpg");
        Codes drawn = smooth(24, 17, 4);
        jpeg_write(path, &drawn, &recipes[i]);
        Codes codes = jpeg_decode(path, JCS_CMYK);
        Cells cells = cells_png_read(path, NULL, 0, 0);
        assert_non_null(strstr(cells.heard.text, "inks taken as plain filters"));
        for (int y = 0; y < 17; y++)
            for (int x = 0; x < 24; x++) {
                double clear[4];
                for (int c = 0; c < 4; c++) {
                    clear[c] = code_of(&codes, x, y, c);
                    if (!recipes[i].adobe) clear[c] = 1.0 - clear[c];
                }
                assert_xyz(
                    cells_xyz(&cells, x, y),
                    xyz_of_srgb(clear[0] * clear[3], clear[1] * clear[3], clear[2] * clear[3]),
                    2e-5, "inks"); /* codes rounded to 16 bits */
            }
        cells_free(&cells);
        free(drawn.code);
        free(codes.code);
    }
}

static void test_inks_with_profile(void **state)
{
    (void)state;
    size_t length;
    uint8_t *icc = profile_by_table(4, 7, "Press", &length);
    for (int adobe = 0; adobe < 2; adobe++) {
        const char *path = in_folder("press.jpg");
        Codes drawn = smooth(24, 17, 4);
        jpeg_write(path, &drawn,
                   &(Recipe){.in = JCS_CMYK,
                             .stored = adobe ? JCS_YCCK : JCS_CMYK,
                             .adobe = adobe,
                             .icc = icc,
                             .icc_length = length});
        Codes codes = jpeg_decode(path, JCS_CMYK);
        Cells cells = cells_png_read(path, NULL, 0, 0);
        assert_string_equal(cells.facts.profile, "Press");
        assert_string_equal(cells.heard.text, "");
        for (int y = 0; y < 17; y += 3)
            for (int x = 0; x < 24; x += 3) {
                double inks[4];
                for (int c = 0; c < 4; c++) {
                    inks[c] = 100.0 * code_of(&codes, x, y, c);
                    if (adobe) inks[c] = 100.0 - inks[c];
                }
                assert_close(cells_xyz(&cells, x, y), xyz_by_lcms(icc, length, TYPE_CMYK_DBL, inks),
                             0.3, "press");
            }
        cells_free(&cells);
        free(drawn.code);
        free(codes.code);
    }
    free(icc);
}

/* A profile too long for one segment. */
static void test_long_profile(void **state)
{
    (void)state;
    size_t length;
    uint8_t *icc = profile_by_table(3, 33, "Long", &length);
    assert_true(length > 3 * 65536);
    Codes drawn = smooth(16, 16, 3);
    const char *path = in_folder("long.jpg");
    jpeg_write(path, &drawn,
               &(Recipe){.in = JCS_RGB, .stored = JCS_YCbCr, .icc = icc, .icc_length = length});
    Codes codes = jpeg_decode(path, JCS_RGB);
    Cells cells = cells_png_read(path, NULL, 0, 0);
    assert_string_equal(cells.facts.profile, "Long");
    for (int x = 0; x < 16; x++) {
        const double code[3] = {code_of(&codes, x, 5, 0), code_of(&codes, x, 5, 1),
                                code_of(&codes, x, 5, 2)};
        assert_close(cells_xyz(&cells, x, 5), xyz_by_lcms(icc, length, TYPE_RGB_DBL, code), 0.05,
                     "long");
    }
    cells_free(&cells);

    /* One segment lost: said, and sRGB assumed. */
    size_t size;
    uint8_t *bytes = bytes_load(path, &size);
    for (size_t i = 0; i + 16 < size; i++)
        if (!memcmp(bytes + i, "ICC_PROFILE", 12)) {
            bytes[i + 13]++; /* says that there is one more */
        }
    bytes_write(in_folder("lost.jpg"), bytes, size);
    cells = cells_png_read(in_folder("lost.jpg"), NULL, 0, 0);
    assert_non_null(strstr(cells.heard.text, "broken"));
    assert_string_equal(cells.facts.profile, "sRGB (assumed)");
    cells_free(&cells);
    free(bytes);
    free(codes.code);
    free(drawn.code);
    free(icc);
}

/* A grey picture that was saved under an RGB profile: its lightness, and neutral. */
static void test_grey_under_rgb_profile(void **state)
{
    (void)state;
    size_t length;
    uint8_t *icc = profile_swapped(&length);
    Codes drawn = smooth(16, 8, 1);
    const char *path = in_folder("grey.jpg");
    jpeg_write(
        path, &drawn,
        &(Recipe){.in = JCS_GRAYSCALE, .stored = JCS_GRAYSCALE, .icc = icc, .icc_length = length});
    Codes codes = jpeg_decode(path, JCS_GRAYSCALE);
    Cells cells = cells_png_read(path, NULL, 0, 0);
    for (int x = 0; x < 16; x++) {
        const double v = code_of(&codes, x, 2, 0), rgb[3] = {v, v, v};
        const double y = xyz_by_lcms(icc, length, TYPE_RGB_DBL, rgb).y;
        assert_xyz(cells_xyz(&cells, x, 2), (Xyz){0.9642 * y, y, 0.8249 * y}, 2e-6, "grey");
    }
    cells_free(&cells);
    free(codes.code);
    free(drawn.code);
    free(icc);
}

/* Exif 1 to 8: a picture that is darkest at its stored top left, lightest at its right,
 * and where those are once it is upright (Exif 2.32, 4.6.4 A, tag Orientation). */
static void test_orientations(void **state)
{
    (void)state;
    static const int corner[9][4] = {{0},          {0, 0, 1, 0}, {1, 0, 0, 0},
                                     {1, 1, 0, 1}, {0, 1, 1, 1}, {0, 0, 0, 1},
                                     {1, 0, 1, 1}, {1, 1, 1, 0}, {0, 1, 0, 0}};
    for (int turned = 1; turned <= 8; turned++) {
        Codes drawn = codes_create(48, 32, 1, 8, 0);
        for (int y = 0; y < 32; y++)
            for (int x = 0; x < 48; x++)
                drawn.code[y * 48 + x] = (uint16_t)(x < 24 ? y < 16 ? 0 : 80 : y < 16 ? 250 : 160);
        const char *path = in_folder("turned.jpg");
        jpeg_write(path, &drawn,
                   &(Recipe){.in = JCS_GRAYSCALE, .stored = JCS_GRAYSCALE, .orientation = turned});
        Cells cells = cells_png_read(path, NULL, 2, 2);
        assert_int_equal(cells.facts.width, turned < 5 ? 48 : 32);
        assert_int_equal(cells.facts.height, turned < 5 ? 32 : 48);
        const int *at = corner[turned];
        assert_true(cells_xyz(&cells, at[0], at[1]).y < 0.001);
        assert_true(cells_xyz(&cells, at[2], at[3]).y > 0.9);
        cells_free(&cells);
        free(drawn.code);
    }
}

/* The whole way on a larger picture: any number of threads, one result. */
static void test_threads(void **state)
{
    (void)state;
    Codes drawn = smooth(800, 700, 3);
    const char *path = in_folder("large.jpg");
    jpeg_write(path, &drawn, &(Recipe){.in = JCS_RGB, .stored = JCS_YCbCr, .orientation = 6});
    const PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    Cells one, many;
    assert_int_equal(cells_try(&one, path, &options, 33, 47, 1, NULL), STATUS_OK);
    for (int threads = 2; threads <= 5; threads++) {
        assert_int_equal(cells_try(&many, path, &options, 33, 47, threads, NULL), STATUS_OK);
        assert_memory_equal(one.value, many.value, 33 * 47 * 3 * sizeof(float));
        assert_string_equal(one.facts.sha256, many.facts.sha256);
        cells_free(&many);
    }
    cells_free(&one);
    free(drawn.code);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_grey_and_colour),      cmocka_unit_test(test_exact),
        cmocka_unit_test(test_inks_without_profile), cmocka_unit_test(test_inks_with_profile),
        cmocka_unit_test(test_long_profile),         cmocka_unit_test(test_grey_under_rgb_profile),
        cmocka_unit_test(test_orientations),         cmocka_unit_test(test_threads)};
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
