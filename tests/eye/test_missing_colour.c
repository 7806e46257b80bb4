/* What a palette lacks, on pictures whose colours are counted by hand. */
#include "eye/missing_colour.h"

#include "base/memory.h"
#include "support/faces.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Greys and a vivid yellow; a share of a hundred cells is skin, the rest the palette's own. */
static void scene_start(Image *image, Palette *palette, int skin)
{
    static const Lab colours[] = {{10, 0, 0}, {46, 0, 0}, {82, 0, 0}, {94, 0, 0}, {82, 6, 78}};
    for (size_t i = 0; i < sizeof colours / sizeof *colours; i++) palette_add(palette, colours[i]);
    if (image_init(image, 10, 10, NULL)) abort();
    for (int i = 0; i < 100; i++) {
        const Xyz c = xyz_from_lab(i < skin ? (Lab){80, 8, 40} : colours[i % 5]);
        image->xyz[3 * i] = (float)c.x;
        image->xyz[3 * i + 1] = (float)c.y;
        image->xyz[3 * i + 2] = (float)c.z;
    }
}

static void a_missing_colour_is_named_with_its_gain(void **state)
{
    (void)state;
    Palette *palette = calloc(1, sizeof *palette);
    Image image;
    MissingColour missing;
    char text[400];
    scene_start(&image, palette, 3);
    assert_int_equal(missing_colour_find(&missing,
                                         &(MissingSearch){&image, palette, palette->count, 2, NULL},
                                         NULL),
                     0);
    double nearest = INFINITY;
    for (int c = 0; c < palette->count; c++)
        nearest = fmin(nearest, delta_e_2000((Lab){80, 8, 40}, palette->colour[c].lab));
    assert_true(nearest > MISSING_LIMIT);
    assert_true(missing_colour_matters(&missing));
    assert_true(fabs(missing.share - 0.03) < 1e-9);
    assert_true(fabs(missing.gain - 0.03 * nearest) < 1e-3);
    assert_true(delta_e_2000(missing.addition, (Lab){80, 8, 40}) < 0.1);
    missing_colour_text(&missing, text, sizeof text);
    assert_non_null(strstr(text,
                           "missing: 3.0 % of the picture is a light yellow (L 80, C 41) that "
                           "no colour is within 9 of; the closest addition would be L 80, a "
                           "8, b 40 (#"));
    /* Once it is to be had, nothing is missing. */
    palette_add(palette, missing.addition);
    assert_int_equal(missing_colour_find(&missing,
                                         &(MissingSearch){&image, palette, palette->count, 2, NULL},
                                         NULL),
                     0);
    assert_false(missing_colour_matters(&missing));
    /* Colours behind the first ones are not to be had. */
    assert_int_equal(
        missing_colour_find(&missing,
                            &(MissingSearch){&image, palette, palette->count - 1, 2, NULL}, NULL),
        0);
    assert_true(missing_colour_matters(&missing));
    image_clear(&image);
    free(palette);
}

static void what_is_there_is_not_missed(void **state)
{
    (void)state;
    Palette *palette = calloc(1, sizeof *palette);
    Image image;
    MissingColour missing;
    scene_start(&image, palette, 0);
    assert_int_equal(missing_colour_find(&missing,
                                         &(MissingSearch){&image, palette, palette->count, 2, NULL},
                                         NULL),
                     0);
    assert_false(missing_colour_matters(&missing));
    assert_true(!(missing.share > 0) && !(missing.gain > 0));
    Fault fault;
    for (int n = 0; n < 2; n++) {
        memory_fail_after(n);
        assert_int_equal(
            missing_colour_find(&missing, &(MissingSearch){&image, palette, 5, 2, NULL}, &fault),
            STATUS_NO_RESOURCE);
        memory_fail_after(-1);
    }
    image_clear(&image);
    free(palette);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_missing_colour_is_named_with_its_gain),
        cmocka_unit_test(what_is_there_is_not_missed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
