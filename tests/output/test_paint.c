/* Pictures written, against libpng's and libjpeg's readers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/memory.h"
#include "output/jpeg.h"
#include "output/paint.h"
#include "support/chance.h"
#include "support/jpegs.h"
#include "support/scratch.h"

#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char path[SCRATCH_MOST];

static int make_file(void **state)
{
    (void)state;
    return !scratch_file(path);
}

static int remove_file(void **state)
{
    (void)state;
    return unlink(path);
}

static uint8_t *whole_file(size_t *size)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    uint8_t *bytes = malloc(1 << 24);
    *size = fread(bytes, 1, 1 << 24, file);
    fclose(file);
    return bytes;
}

/* Bands, flat parts and noise; the same for the same size. */
static uint8_t *make_rows(int width, int height, int channels, int values)
{
    uint8_t *rows = malloc((size_t)width * (size_t)height * (size_t)channels);
    uint32_t seed = 9;
    for (int i = 0, y = 0; y < height; y++)
        for (int x = 0; x < width * channels; x++, i++) {
            const uint32_t grain = chance(&seed);
            rows[i] =
                (uint8_t)((y % 50 < 25 ? (uint32_t)(x / 40) : grain >> 12) % (uint32_t)values);
        }
    return rows;
}

static Status write_png(const uint8_t *rows, int width, int height, PaintKind kind,
                        const uint8_t (*colour)[3], int threads, Fault *fault)
{
    Paint *paint;
    const size_t bytes = (size_t)width * (kind == PAINT_RGB ? 3 : kind == PAINT_GREY16 ? 2 : 1);
    const PaintOptions options = {.width = width,
                                  .height = height,
                                  .kind = kind,
                                  .colour = colour,
                                  .colours = colour ? 48 : 0,
                                  .threads = threads};
    const PaintPlace place = paint_file(path);
    Status status = paint_create(&paint, &place, &options, fault);
    for (int y = 0; !status && y < height; y++)
        status = paint_row(paint, rows + (size_t)y * bytes, fault);
    if (!status) return paint_finish(paint, fault);
    paint_free(paint);
    return status;
}

/* What libpng reads back, with its checks of every sum, is what was written; from one
 * pixel to pictures of many packs and to rows longer than a pack. */
static void png_comes_back(void **state)
{
    (void)state;
    static const int sizes[][2] = {{1, 1}, {7, 300}, {640, 1000}, {1500, 333}, {100000, 5}};
    uint8_t colour[48][3];
    for (int i = 0; i < 48; i++) memset(colour[i], 5 * i, 3);
    for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
        for (int kind = PAINT_RGB; kind <= PAINT_INDEXED; kind++) {
            if (kind == PAINT_GREY16) continue; /* libpng's simple reader would make light of it */
            const int width = sizes[s][0], height = sizes[s][1];
            const int channels = kind == PAINT_RGB ? 3 : 1;
            uint8_t *rows = make_rows(width, height, channels, kind == PAINT_INDEXED ? 48 : 256);
            assert_int_equal(write_png(rows, width, height, (PaintKind)kind,
                                       kind == PAINT_INDEXED ? (const uint8_t(*)[3])colour : NULL,
                                       2, NULL),
                             STATUS_OK);
            png_image png = {.version = PNG_IMAGE_VERSION};
            assert_true(png_image_begin_read_from_file(&png, path));
            assert_int_equal(png.width, width);
            assert_int_equal(png.height, height);
            png.format = kind == PAINT_RGB ? PNG_FORMAT_RGB : PNG_FORMAT_GRAY;
            uint8_t *back = malloc(PNG_IMAGE_SIZE(png));
            assert_true(png_image_finish_read(&png, NULL, back, 0, NULL));
            for (size_t i = 0; kind == PAINT_INDEXED && i < (size_t)width * (size_t)height; i++)
                rows[i] = (uint8_t)(5 * rows[i]);
            assert_memory_equal(rows, back, PNG_IMAGE_SIZE(png));
            free(back);
            free(rows);
        }
}

static void threads_change_nothing(void **state)
{
    (void)state;
    uint8_t *rows = make_rows(700, 900, 3, 256);
    size_t size[2];
    assert_int_equal(write_png(rows, 700, 900, PAINT_RGB, NULL, 1, NULL), STATUS_OK);
    uint8_t *one = whole_file(&size[0]);
    for (int threads = 2; threads <= 20; threads += 3) {
        assert_int_equal(write_png(rows, 700, 900, PAINT_RGB, NULL, threads, NULL), STATUS_OK);
        uint8_t *other = whole_file(&size[1]);
        assert_int_equal(size[0], size[1]);
        assert_memory_equal(one, other, size[0]);
        free(other);
    }
    free(one);
    free(rows);
}

/* A proof as libjpeg reads it: each flat square within what quality 85 leaves. */
static void jpeg_comes_back(void **state)
{
    (void)state;
    enum { WIDTH = 96, HEIGHT = 64 };
    static uint8_t rgb[HEIGHT][WIDTH][3];
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++)
            for (int c = 0; c < 3; c++)
                rgb[y][x][c] = (uint8_t)(60 + 30 * c + 12 * (x / 16 + y / 16));
    assert_int_equal(jpeg_write(path, WIDTH, HEIGHT, &rgb[0][0][0], 85, NULL), STATUS_OK);
    int width, height;
    uint8_t *got = jpeg_pixels(path, &width, &height);
    assert_non_null(got);
    assert_int_equal(width, WIDTH);
    assert_int_equal(height, HEIGHT);
    for (int i = 0; i < 3 * WIDTH * HEIGHT; i++) assert_true(abs(got[i] - (&rgb[0][0][0])[i]) <= 6);
    free(got);
}

/* A disk without room is said, whenever it shows. */
static void no_room(void **state)
{
    (void)state;
    char kept[sizeof path];
    strcpy(kept, path);
    strcpy(path, "/dev/full");
    static const int heights[] = {1, 2000};
    for (int i = 0; i < 2; i++) {
        uint8_t *rows = make_rows(700, heights[i], 3, 256);
        Fault fault;
        assert_int_equal(write_png(rows, 700, heights[i], PAINT_RGB, NULL, 2, &fault), STATUS_IO);
        assert_non_null(strstr(fault.text, "/dev/full: cannot be written"));
        assert_int_equal(jpeg_write(path, 700, heights[i], rows, 85, &fault), STATUS_IO);
        free(rows);
    }
    strcpy(path, kept);
}

/* Each allocation fails in turn; nothing is lost, which a sanitizer tells. */
static void without_memory(void **state)
{
    (void)state;
    uint8_t *rows = make_rows(50, 60, 3, 256);
    Fault fault;
    for (long successes = 0, done = 0; !done; successes++) {
        memory_fail_after(successes);
        const Status status = write_png(rows, 50, 60, PAINT_RGB, NULL, 3, &fault);
        done = memory_countdown() >= 0;
        memory_fail_after(-1);
        assert_true(done ? status == STATUS_OK : status != STATUS_OK);
    }
    free(rows);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(png_comes_back),  cmocka_unit_test(threads_change_nothing),
        cmocka_unit_test(jpeg_comes_back), cmocka_unit_test(no_room),
        cmocka_unit_test(without_memory),
    };
    return cmocka_run_group_tests(tests, make_file, remove_file);
}
