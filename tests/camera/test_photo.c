/* Photographs as linear light: each pixel is what the sampler makes of a cell of one pixel, for all
 * eight orientations (Exif 2.32, tag Orientation); sRGB's curve (IEC 61966-2-1); what is refused.
 */
#include <tiffio.h>

#include "support/stills.h"

#include "camera/photo.h"

enum { WIDE = 5, HIGH = 3 };

/* 16 bits, no two pixels alike. */
static void tiff_put(const char *path, int orientation, int channels)
{
    TIFF *tiff = TIFFOpen(path, "w");
    assert_non_null(tiff);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, WIDE);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, HIGH);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, channels);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
                 channels == 3 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_ORIENTATION, orientation);
    for (int row = 0; row < HIGH; row++) {
        uint16_t line[3 * WIDE];
        for (int i = 0; i < channels * WIDE; i++)
            line[i] = (uint16_t)(4000 * (row + 1) + 1500 * i + 37 * i * i);
        assert_true(TIFFWriteScanline(tiff, line, (uint32_t)row, 0) == 1);
    }
    TIFFClose(tiff);
}

static void test_upright(void **state)
{
    (void)state;
    for (int orientation = 1; orientation <= 8; orientation++) {
        const char *path = in_folder("turned.tif");
        Photo photo;
        Fault fault = {0};
        tiff_put(path, orientation, 3);
        assert_int_equal(photo_read(&photo, path, 1e6, NULL, &fault), 0);
        Cells cells = cells_png_read(path, NULL, 0, 0);
        assert_int_equal(photo.width, orientation < 5 ? WIDE : HIGH);
        assert_int_equal(photo.height, cells.rows);
        for (int y = 0; y < photo.height; y++)
            for (int x = 0; x < photo.width; x++) {
                const uint16_t *p = photo_at(&photo, x, y);
                const double light[3] = {p[0] / 65535.0, p[1] / 65535.0, p[2] / 65535.0};
                assert_xyz(photo_xyz(&photo, light), cells_xyz(&cells, x, y), 1.2e-5, "a pixel");
            }
        cells_free(&cells);
        photo_clear(&photo);
    }
}

/* Code 255 is full, and no other is. */
static void test_curve(void **state)
{
    (void)state;
    const uint8_t ppm[] = {'P', '6',  ' ', '2', ' ', '1', ' ', '2', '5',
                           '5', '\n', 0,   128, 255, 254, 10,  11};
    const char *path = in_folder("two.ppm");
    Photo photo;
    Heard heard = {{0}};
    const Voice voice = {.self = &heard, .note = hear};
    bytes_write(path, ppm, sizeof ppm);
    assert_int_equal(photo_read(&photo, path, 1e6, &voice, NULL), 0);
    const double want[6] = {0, 0.21586050, 1, 0.99110210, 0.00303527, 0.00334654};
    for (int i = 0; i < 6; i++)
        assert_true(fabs(photo_at(&photo, 0, 0)[i] / 65535.0 - want[i]) < 0.8e-5);
    assert_int_equal(photo_at(&photo, 0, 0)[2], PHOTO_FULL);
    assert_true(photo_at(&photo, 1, 0)[0] < PHOTO_FULL);
    assert_non_null(strstr(heard.text, "sRGB assumed"));
    photo_clear(&photo);
}

static void refuse(const char *path, double most_bytes, Status status, const char *words)
{
    Photo photo;
    Fault fault = {0};
    assert_int_equal(photo_read(&photo, path, most_bytes, NULL, &fault), status);
    photo_clear(&photo);
    if (!strstr(fault.text, words)) fail_msg("'%s' does not hold '%s'", fault.text, words);
}

static void test_refused(void **state)
{
    (void)state;
    const char *path = in_folder("plain.tif");
    tiff_put(path, 1, 3);
    refuse(path, 6 * WIDE * HIGH - 1, STATUS_NO_RESOURCE, "--memory");
    tiff_put(path, 1, 1);
    refuse(path, 1e6, STATUS_DATA, "has no colour");
    refuse(in_folder("none.tif"), 1e6, STATUS_NO_INPUT, "none.tif");
    bytes_write(path, "P6 70000 1 255\n", 15);
    refuse(path, 1e6, STATUS_DATA, "65535");
}

/* Each allocation fails in turn. */
static void test_memory(void **state)
{
    (void)state;
    const char *path = in_folder("plain.tif");
    Status status = STATUS_NO_RESOURCE;
    tiff_put(path, 6, 3);
    for (int n = 0; status; n++) {
        Photo photo;
        memory_fail_after(n);
        status = photo_read(&photo, path, 1e6, NULL, NULL);
        memory_fail_after(-1);
        photo_clear(&photo);
        assert_true(!status || status == STATUS_NO_RESOURCE);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_upright), cmocka_unit_test(test_curve),
                                       cmocka_unit_test(test_refused),
                                       cmocka_unit_test(test_memory)};
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
