/* The pictures of a face against what is known of them: greys stay grey, black beside a warm
 * colour stays nearly black, and a proof holds both views. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "output/face_pictures.h"
#include "support/jpegs.h"
#include "support/mural_fixture.h"
#include "support/scratch.h"

#include <math.h>
#include <png.h>
#include <unistd.h>

enum { COLUMNS = 60, ROWS = 40 };

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

/* Two colours, the second in the right half. */
static void halves_start(Fixture *f, Build build, Lab left, Lab right)
{
    const FixtureAsk ask = {.columns = COLUMNS,
                            .rows = ROWS,
                            .panel_columns = COLUMNS,
                            .panel_rows = ROWS,
                            .colours = 2,
                            .build = build,
                            .base = 1};
    fixture_init(f, &ask);
    const Lab lab[] = {left, right};
    for (int i = 0; i < 2; i++) {
        f->palette.colour[i].lab = lab[i];
        f->palette.colour[i].xyz = xyz_from_lab(lab[i]);
    }
    for (int i = 0; i < COLUMNS * ROWS; i++) f->grid.colour[i] = i % COLUMNS >= COLUMNS / 2;
    f->mural.threads = 2;
    f->job.distance = 5000;
}

typedef struct Shown {
    int width, height;
    uint8_t *rgb; /* top row first */
} Shown;

static Shown distance_of(const Fixture *f)
{
    assert_int_equal(face_pictures_distance(&f->mural, path, NULL, NULL), 0);
    png_image image = {.version = PNG_IMAGE_VERSION};
    assert_true(png_image_begin_read_from_file(&image, path));
    image.format = PNG_FORMAT_RGB;
    Shown s = {(int)image.width, (int)image.height, malloc(PNG_IMAGE_SIZE(image))};
    assert_true(png_image_finish_read(&image, NULL, s.rgb, 0, NULL));
    return s;
}

static Shown proof_of(const Fixture *f)
{
    assert_int_equal(face_pictures_proof(&f->mural, path, NULL, NULL), 0);
    Shown s = {0};
    s.rgb = jpeg_pixels(path, &s.width, &s.height);
    assert_non_null(s.rgb);
    return s;
}

/* Greatest of red less blue over all pixels. */
static int reddest(const Shown *s)
{
    int most = -255;
    for (int i = 0; i < s->width * s->height; i++) {
        const int red = s->rgb[3 * i] - s->rgb[3 * i + 2];
        most = red > most ? red : most;
    }
    return most;
}

static void greys_stay_grey(void **state)
{
    (void)state;
    Fixture f;
    halves_start(&f, BUILD_PLAQUE, (Lab){12, 0, 0}, (Lab){92, 0, 0});
    const Shown s = distance_of(&f);
    for (int i = 0; i < s.width * s.height; i++)
        for (int k = 0; k < 2; k++) assert_true(abs(s.rgb[3 * i + k] - s.rgb[3 * i + k + 1]) <= 1);
    free(s.rgb);
    fixture_clear(&f);
}

/* Hair beside a face: with each channel cut off at black by itself, black cells had up to 121
 * more red than blue. */
static void black_beside_skin_has_no_halo(void **state)
{
    (void)state;
    Fixture f;
    halves_start(&f, BUILD_PLAQUE, (Lab){8, 0, 0}, (Lab){85, 8, 25});
    Shown s = distance_of(&f);
    int most = 0;
    for (int y = 0; y < s.height; y++)
        for (int x = 0; x < s.width / 2 - s.width / COLUMNS; x++) {
            const uint8_t *p = s.rgb + 3 * (y * s.width + x);
            most = p[0] - p[2] > most ? p[0] - p[2] : most;
        }
    assert_true(most <= 30);
    assert_true(reddest(&s) > 30); /* the skin is as it was */
    free(s.rgb);
    fixture_clear(&f);
}

/* Two pictures of one size with white between, the first blurred: one beside the other where the
 * mural is tall, one above the other where it is wide. */
static void a_proof_shows_both_views(void **state)
{
    (void)state;
    Fixture f;
    halves_start(&f, BUILD_PLAQUE, (Lab){20, 0, 0}, (Lab){80, 0, 0});
    f.job.distance = 20000;
    const Shown s = proof_of(&f);
    const int part = (s.height - 24) / 2, pixels = s.width / COLUMNS;
    assert_int_equal(s.width, COLUMNS * pixels);
    assert_int_equal(part, ROWS * pixels);
    for (int x = 0; x < s.width; x++)
        assert_true(s.rgb[3 * ((part + 12) * s.width + x) + 1] >= 250);
    /* Ten pixels across the edge: a sharp one has no value between, a blurred one most. */
    int between[2] = {0, 0};
    for (int view = 0; view < 2; view++)
        for (int x = s.width / 2 - 2 * pixels; x < s.width / 2 + 2 * pixels; x++) {
            const int y = view * (part + 24) + part / 2 + pixels / 2;
            const int value = s.rgb[3 * (y * s.width + x) + 1];
            between[view] += value > 90 && value < 160;
        }
    assert_true(between[0] >= 6 && between[1] <= 4);
    free(s.rgb);
    fixture_clear(&f);
}

/* A wall's cells are 8 by 9.6 mm: the pictures keep its shape. */
static void a_wall_keeps_its_shape(void **state)
{
    (void)state;
    Fixture f;
    halves_start(&f, BUILD_WALL, (Lab){20, 0, 0}, (Lab){80, 0, 0});
    const Shown s = distance_of(&f);
    const double aspect = ROWS * 9.6 / (COLUMNS * 8.0);
    assert_true(fabs((double)s.height / s.width / aspect - 1) < 0.05);
    free(s.rgb);
    fixture_clear(&f);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    Fixture f;
    halves_start(&f, BUILD_PLAQUE, (Lab){20, 0, 0}, (Lab){80, 0, 0});
    f.mural.threads = 1;
    for (int what = 0; what < 2; what++)
        for (long n = 0;; n++) {
            Fault fault = {0};
            memory_fail_after(n);
            const Status status = what ? face_pictures_proof(&f.mural, path, NULL, &fault)
                                       : face_pictures_distance(&f.mural, path, NULL, &fault);
            memory_fail_after(-1);
            if (!status) break;
            assert_int_equal(status, STATUS_NO_RESOURCE);
            assert_true(n < 1000);
        }
    fixture_clear(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(greys_stay_grey),
        cmocka_unit_test(black_beside_skin_has_no_halo),
        cmocka_unit_test(a_proof_shows_both_views),
        cmocka_unit_test(a_wall_keeps_its_shape),
        cmocka_unit_test(every_allocation_may_fail),
    };
    return cmocka_run_group_tests(tests, make_file, remove_file);
}
