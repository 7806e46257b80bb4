/* Area averages against exact rational arithmetic, brute force in 128-bit integers, and
 * against themselves: any number of threads, any way up. */
#include "base/memory.h"
#include "picture/sample.h"
#include "support/chance.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

__extension__ typedef __int128 Whole;

/* A picture of random codes; rows come from memory. */
typedef struct Field {
    Source source;
    uint8_t *bytes;
    int next;
    int fails_at; /* row, or -1 */
    double curve[65536];
} Field;

static uint32_t seed;

static Status pull(void *self, int rows, uint8_t *out, Fault *fault)
{
    Field *field = self;
    const size_t size = field->source.stored_bytes;
    if (field->fails_at >= 0 && field->next + rows > field->fails_at)
        return fault_set(fault, STATUS_DATA, "field: broken at %d; mend it", field->fails_at);
    memcpy(out, field->bytes + (size_t)field->next * size, (size_t)rows * size);
    field->next += rows;
    assert_true(field->next <= field->source.height);
    return STATUS_OK;
}

/* Stored codes have a byte of padding at the end of each row, which ready drops. */
static void ready(void *self, const uint8_t *stored, void *out)
{
    const Field *field = self;
    memcpy(out, stored, field->source.stored_bytes - 1);
}

static Field *field_create(int width, int height, SampleDepth depth, int channels, bool alpha)
{
    Field *field = calloc(1, sizeof *field);
    const size_t size = depth == DEPTH_8 ? 1 : depth == DEPTH_16 ? 2 : 4;
    const size_t samples = (size_t)width * (size_t)height * (size_t)(channels + alpha);
    assert_non_null(field);
    field->bytes = malloc(samples * size);
    field->fails_at = -1;
    field->source = (Source){.self = field,
                             .pull = pull,
                             .name = "field",
                             .width = width,
                             .height = height,
                             .orientation = 1,
                             .stored_bytes = (size_t)width * (size_t)(channels + alpha) * size,
                             .depth = depth,
                             .channels = channels,
                             .alpha = alpha};
    for (int c = 0; c < 3; c++) field->source.curve[c] = field->curve;
    for (int c = 0; c < channels; c++) field->source.matrix[c][c] = 1.0;
    for (int i = 0; i < 65536; i++) field->curve[i] = i;
    for (size_t i = 0; i < samples; i++) {
        if (depth == DEPTH_8) field->bytes[i] = (uint8_t)chance(&seed);
        if (depth == DEPTH_16) ((uint16_t *)(void *)field->bytes)[i] = (uint16_t)chance(&seed);
        if (depth == DEPTH_FLOAT)
            ((float *)(void *)field->bytes)[i] = (float)(chance(&seed) % 1000);
    }
    return field;
}

static void field_free(Field *field)
{
    free(field->bytes);
    free(field);
}

static int code_at(const Field *field, long x, long y, int sample)
{
    const Source *s = &field->source;
    const size_t at = (size_t)((y * s->width + x) * (s->channels + s->alpha) + sample);
    return s->depth == DEPTH_8    ? field->bytes[at]
           : s->depth == DEPTH_16 ? ((uint16_t *)(void *)field->bytes)[at]
                                  : (int)((float *)(void *)field->bytes)[at];
}

/* The upright picture's pixel, by the definition of Exif's tag 0x0112: where row 0 and
 * column 0 of the stored picture are to be seen. */
static int upright_code(const Field *field, long x, long y, int sample)
{
    const long w = field->source.width, h = field->source.height;
    switch (field->source.orientation) {
    case 1:
        return code_at(field, x, y, sample); /* top, left */
    case 2:
        return code_at(field, w - 1 - x, y, sample); /* top, right */
    case 3:
        return code_at(field, w - 1 - x, h - 1 - y, sample); /* bottom, right */
    case 4:
        return code_at(field, x, h - 1 - y, sample); /* bottom, left */
    case 5:
        return code_at(field, y, x, sample); /* left, top */
    case 6:
        return code_at(field, y, h - 1 - x, sample); /* right, top */
    case 7:
        return code_at(field, w - 1 - y, h - 1 - x, sample); /* right, bottom */
    default:
        return code_at(field, w - 1 - y, x, sample); /* left, bottom */
    }
}

/* Length that [a, b) and [c, d) share. */
static int64_t shared(int64_t a, int64_t b, int64_t c, int64_t d)
{
    const int64_t from = a > c ? a : c, to = b < d ? b : d;
    return to > from ? to - from : 0;
}

/* The crop in eighths of a pixel. */
typedef struct Eighths {
    int64_t x, y, width, height;
} Eighths;

/* Exact: cell (column, row) reaches from x + column * width / columns; all lengths are
 * whole in units of 1 / (8 columns) of a pixel. */
static double exact(const Field *field, const Eighths *crop, int columns, int rows, int column,
                    int row, int sample)
{
    Whole sum = 0;
    const int64_t left = crop->x * columns + column * crop->width;
    const int64_t top = crop->y * rows + (rows - 1 - row) * crop->height;
    for (long y = 0; y < source_height(&field->source); y++) {
        const int64_t high = shared(top, top + crop->height, y * 8 * rows, (y + 1) * 8 * rows);
        for (long x = 0; high && x < source_width(&field->source); x++) {
            const int64_t wide =
                shared(left, left + crop->width, x * 8 * columns, (x + 1) * 8 * columns);
            if (!wide) continue;
            Whole code = upright_code(field, x, y, sample);
            sum += (Whole)(high * wide) * code;
        }
    }
    return (double)((long double)sum / (long double)crop->width / (long double)crop->height);
}

static Image sampled(Field *field, const Eighths *eighths, int columns, int rows, int threads)
{
    Image image;
    Fault fault = {0};
    const Crop crop = {(double)eighths->x / 8.0, (double)eighths->y / 8.0,
                       (double)eighths->width / 8.0, (double)eighths->height / 8.0};
    field->next = 0;
    if (sample_image(&field->source, &(Sampling){crop, columns, rows, threads}, &image, NULL,
                     &fault))
        fail_msg("%s", fault.text);
    return image;
}

static Eighths whole_of(const Field *field)
{
    return (Eighths){0, 0, 8 * source_width(&field->source), 8 * source_height(&field->source)};
}

static void assert_exact(Field *field, const Eighths *crop, int columns, int rows)
{
    Image image = sampled(field, crop, columns, rows, 1);
    for (int row = 0; row < rows; row++)
        for (int column = 0; column < columns; column++)
            for (int c = 0; c < field->source.channels; c++) {
                const double want = exact(field, crop, columns, rows, column, row, c);
                const double got =
                    (double)
                        image.xyz[((size_t)row * (size_t)columns + (size_t)column) * 3 + (size_t)c];
                /* Half a unit in the last place of a float, and a little. */
                if (fabs(got - want) > 6.0e-8 * want + 1e-9)
                    fail_msg("%dx%d cells, cell %d,%d: %.9g, exact is %.9g", columns, rows, column,
                             row, got, want);
            }
    image_clear(&image);
}

/* Shrinking, enlarging and both at once, by whole and fractional factors. */
static void test_whole_picture(void **state)
{
    (void)state;
    static const int shape[][4] = {{1, 1, 1, 1},   {1, 1, 7, 5},   {2, 3, 2, 3},    {10, 10, 5, 2},
                                   {7, 5, 3, 2},   {3, 2, 7, 5},   {13, 17, 5, 23}, {31, 3, 30, 4},
                                   {50, 41, 7, 9}, {9, 64, 64, 9}, {64, 130, 1, 1}, {5, 5, 25, 1}};
    for (size_t i = 0; i < sizeof shape / sizeof *shape; i++)
        for (int depth = DEPTH_8; depth <= DEPTH_FLOAT; depth++)
            for (int channels = 1; channels <= 3; channels += 2) {
                Field *field =
                    field_create(shape[i][0], shape[i][1], (SampleDepth)depth, channels, false);
                const Eighths crop = whole_of(field);
                assert_exact(field, &crop, shape[i][2], shape[i][3]);
                field_free(field);
            }
}

static void test_crops(void **state)
{
    (void)state;
    for (int i = 0; i < 200; i++) {
        Field *field = field_create(1 + (int)(chance(&seed) % 20), 1 + (int)(chance(&seed) % 20),
                                    DEPTH_8, 3, false);
        const Eighths all = whole_of(field);
        Eighths crop;
        crop.x = chance(&seed) % all.width;
        crop.y = chance(&seed) % all.height;
        crop.width = 1 + chance(&seed) % (all.width - crop.x);
        crop.height = 1 + chance(&seed) % (all.height - crop.y);
        assert_exact(field, &crop, 1 + (int)(chance(&seed) % 12), 1 + (int)(chance(&seed) % 12));
        field_free(field);
    }
}

/* Each orientation against the upright pixels, cropped off centre. */
static void test_orientations(void **state)
{
    (void)state;
    for (int orientation = 1; orientation <= 8; orientation++) {
        Field *field = field_create(14, 9, DEPTH_8, 3, false);
        field->source.orientation = orientation;
        Eighths crop = whole_of(field);
        assert_exact(field, &crop, 5, 4);
        crop.x += 11;
        crop.width -= 30;
        crop.y += 3;
        crop.height -= 21;
        assert_exact(field, &crop, 4, 7);
        field_free(field);
    }
}

/* Over a ground: sum of alpha * code + (1 - alpha) * ground, exactly. */
static void test_alpha(void **state)
{
    (void)state;
    for (int depth = DEPTH_8; depth <= DEPTH_16; depth++) {
        Field *field = field_create(9, 7, (SampleDepth)depth, 3, true);
        const int most = depth == DEPTH_8 ? 255 : 65535, ground[3] = {40, 50, 60};
        for (int c = 0; c < 3; c++) field->source.ground[c] = ground[c];
        const Eighths crop = whole_of(field);
        const int columns = 4, rows = 3;
        Image image = sampled(field, &crop, columns, rows, 1);
        /* The same picture with the blend done by hand, in units of 1 / most. */
        for (int row = 0; row < rows; row++)
            for (int column = 0; column < columns; column++)
                for (int c = 0; c < 3; c++) {
                    double want = 0.0, area = 0.0;
                    for (int y = 0; y < 7; y++)
                        for (int x = 0; x < 9; x++) {
                            const double share =
                                (double)(shared(column * 9, column * 9 + 9, x * columns,
                                                (x + 1) * columns) *
                                         shared((rows - 1 - row) * 7, (rows - row) * 7, y * rows,
                                                (y + 1) * rows));
                            const int64_t alpha = code_at(field, x, y, 3);
                            const int64_t code = code_at(field, x, y, c);
                            want += share * (double)(alpha * code + (most - alpha) * ground[c]);
                            area += share;
                        }
                    want /= area * most;
                    const size_t at = ((size_t)row * (size_t)columns + (size_t)column) * 3;
                    const double got = (double)image.xyz[at + (size_t)c];
                    assert_true(fabs(got - want) < 1e-7 * want + 1e-9);
                }
        image_clear(&image);
        field_free(field);
    }
}

/* A constant picture has constant cells, to the bit. */
static void test_constant(void **state)
{
    (void)state;
    Field *field = field_create(101, 37, DEPTH_8, 3, false);
    memset(field->bytes, 0, 101 * 37 * 3);
    field->curve[0] = (double)0.3F;
    const Eighths crop = whole_of(field);
    Image image = sampled(field, &crop, 30, 44, 2);
    for (size_t i = 0; i < 30 * 44 * 3; i++) assert_true(image.xyz[i] == 0.3F);
    image_clear(&image);
    field_free(field);
}

/* Byte for byte the same on any number of threads, with many blocks of rows. */
static void test_threads(void **state)
{
    (void)state;
    Field *field = field_create(300, 2500, DEPTH_16, 3, false);
    for (int i = 0; i < 65536; i++) field->curve[i] = sqrt(i / 65535.0);
    const Eighths crop = {9, 411, 2300, 19000};
    Image one = sampled(field, &crop, 41, 333, 1);
    static const int threads[] = {2, 3, 7, 64};
    for (size_t i = 0; i < sizeof threads / sizeof *threads; i++) {
        Image many = sampled(field, &crop, 41, 333, threads[i]);
        assert_memory_equal(one.xyz, many.xyz, 41 * 333 * 3 * sizeof(float));
        image_clear(&many);
    }
    image_clear(&one);
    field_free(field);
}

/* Rows that must be made ready first: the same as rows that are stored so. */
static void test_ready(void **state)
{
    (void)state;
    Field *field = field_create(20, 600, DEPTH_8, 3, false);
    const Eighths crop = whole_of(field);
    Image plain = sampled(field, &crop, 7, 50, 1);
    uint8_t *padded = malloc(61 * 600);
    for (size_t y = 0; y < 600; y++) memcpy(padded + 61 * y, field->bytes + 60 * y, 60);
    free(field->bytes);
    field->bytes = padded;
    field->source.stored_bytes = 61;
    field->source.ready = ready;
    for (int threads = 1; threads <= 3; threads++) {
        Image made = sampled(field, &crop, 7, 50, threads);
        assert_memory_equal(plain.xyz, made.xyz, 7 * 50 * 3 * sizeof(float));
        image_clear(&made);
    }
    image_clear(&plain);
    field_free(field);
}

static void test_data(void **state)
{
    (void)state;
    Field *field = field_create(10, 10, DEPTH_16, 1, false);
    field->source.data = true;
    const Crop all = crop_all(&field->source);
    const Eighths crop = whole_of(field);
    float *cells;
    Fault fault;
    assert_int_equal(sample_data(&field->source, &(Sampling){all, 3, 4, 2}, &cells, NULL, &fault),
                     STATUS_OK);
    for (int row = 0; row < 4; row++)
        for (int column = 0; column < 3; column++) {
            const double want = exact(field, &crop, 3, 4, column, row, 0);
            assert_true(fabs((double)cells[row * 3 + column] - want) < 6e-8 * want);
        }
    memory_free(cells);
    field_free(field);
}

static void test_central(void **state)
{
    (void)state;
    const Source source = {.width = 300, .height = 200, .orientation = 6};
    const Crop all = crop_all(&source);
    const Crop wide = crop_central(all, 2.0), high = crop_central(all, 0.5);
    assert_true(wide.x == 0.0 && wide.y == 100.0 && wide.width == 200.0 && wide.height == 100.0);
    assert_true(high.x == 25.0 && high.y == 0.0 && high.width == 150.0 && high.height == 300.0);
    const Crop part = crop_central((Crop){30.0, 40.0, 100.0, 50.0}, 1.0);
    assert_true(part.x == 55.0 && part.y == 40.0 && part.width == 50.0 && part.height == 50.0);
}

static void test_bad_crops(void **state)
{
    (void)state;
    static const Crop bad[] = {{-1, 0, 5, 5},  {0, 0, 11, 5},  {0, 6, 5, 5},        {0, 0, 0, 5},
                               {0, 0, -1, -1}, {NAN, 0, 1, 1}, {0, 0, INFINITY, 1}, {10, 10, 1, 1}};
    Field *field = field_create(10, 10, DEPTH_8, 1, false);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        Image image;
        Fault fault = {0};
        assert_int_equal(
            sample_image(&field->source, &(Sampling){bad[i], 2, 2, 1}, &image, NULL, &fault),
            STATUS_USAGE);
        assert_non_null(strstr(fault.text, "field: the crop"));
        assert_null(image.xyz);
    }
    field_free(field);
}

/* A fault while rows are pulled ends the run on every thread. */
static void test_broken_source(void **state)
{
    (void)state;
    Field *field = field_create(500, 2000, DEPTH_8, 3, false);
    const Crop all = crop_all(&field->source);
    for (int threads = 1; threads <= 4; threads++)
        for (int at = 0; at < 2000; at += 400) {
            Image image;
            Fault fault = {0};
            field->next = 0;
            field->fails_at = at;
            assert_int_equal(sample_image(&field->source, &(Sampling){all, 50, 50, threads}, &image,
                                          NULL, &fault),
                             STATUS_DATA);
            assert_non_null(strstr(fault.text, "broken at"));
            assert_null(image.xyz);
        }
    field_free(field);
}

static bool stop_now(void *self) { return --*(int *)self < 0; }

static void test_stopped(void **state)
{
    (void)state;
    Field *field = field_create(500, 2000, DEPTH_8, 3, false);
    const Crop all = crop_all(&field->source);
    for (int threads = 1; threads <= 2; threads++) {
        int patience = 3;
        const Voice voice = {.self = &patience, .stopped = stop_now};
        Image image;
        Fault fault = {0};
        field->next = 0;
        assert_int_equal(
            sample_image(&field->source, &(Sampling){all, 5, 5, threads}, &image, &voice, &fault),
            STATUS_INTERRUPTED);
    }
    field_free(field);
}

/* Every allocation fails in turn; each time a fault, and nothing leaks. */
static void test_no_memory(void **state)
{
    (void)state;
    Field *field = field_create(10, 10, DEPTH_8, 3, false);
    field->source.ready = ready;
    field->source.stored_bytes = 30;
    const Crop all = crop_all(&field->source);
    Status status = STATUS_NO_RESOURCE;
    for (int n = 0; status; n++) {
        Image image;
        Fault fault = {0};
        field->next = 0;
        memory_fail_after(n);
        status = sample_image(&field->source, &(Sampling){all, 2, 2, 2}, &image, NULL, &fault);
        memory_fail_after(-1);
        if (status) assert_int_equal(status, STATUS_NO_RESOURCE);
        if (!status) image_clear(&image);
        if (!status) assert_true(n > 8);
    }
    field_free(field);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_whole_picture), cmocka_unit_test(test_crops),
        cmocka_unit_test(test_orientations),  cmocka_unit_test(test_alpha),
        cmocka_unit_test(test_constant),      cmocka_unit_test(test_threads),
        cmocka_unit_test(test_ready),         cmocka_unit_test(test_data),
        cmocka_unit_test(test_central),       cmocka_unit_test(test_bad_crops),
        cmocka_unit_test(test_broken_source), cmocka_unit_test(test_stopped),
        cmocka_unit_test(test_no_memory)};
    seed = 1;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
