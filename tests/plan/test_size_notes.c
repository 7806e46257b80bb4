/* What is said of a mural's size, against sums by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "plan/size_notes.h"

#include <stdio.h>
#include <string.h>

static char said[2000];

static void hear(void *self, const char *text)
{
    (void)self;
    const size_t length = strlen(said);
    snprintf(said + length, sizeof said - length, "%s\n", text);
}

/* Of a picture of width x height the middle of crop_width x crop_height is shown. */
static const char *notes_of(double width, double height, double crop_width, double crop_height,
                            int columns, int rows)
{
    Job job;
    job_init(&job);
    const Voice voice = {.note = hear};
    const Brief brief = brief_of(&job, NULL, &voice);
    const DepthFrame frame = {
        columns,
        rows,
        width,
        height,
        {0, 0, width, height},
        {(width - crop_width) / 2, (height - crop_height) / 2, crop_width, crop_height}};
    said[0] = 0;
    size_notes_say(&brief, &frame);
    return said;
}

static void a_fit_size_says_nothing(void **state)
{
    (void)state;
    assert_string_equal(notes_of(1200, 900, 1200, 900, 400, 300), "");
    /* whole cells cut a little */
    assert_string_equal(notes_of(1200, 900, 1195, 900, 400, 300), "");
}

/* 60 x 44 pixels to 3 m: 375 x 275 cells of 8 mm, 6.25 of them a pixel, 50 mm. */
static void an_enlarged_picture_is_said(void **state)
{
    (void)state;
    assert_string_equal(notes_of(60, 44, 60, 44, 375, 275),
                        "enlarged: 60 x 44 pixels of the picture make 375 x 275 cells; a pixel "
                        "covers 6.3 cells each way, no detail is finer than 50 mm; give a larger "
                        "picture or a smaller mural\n");
    assert_string_equal(notes_of(375, 275, 375, 275, 375, 275), "");
}

/* 60 rows: a face of 6, eyes of 6 x 0.7 / 5 = 0.84; 3 / 0.14 x 10 = 214.3 rows of 8 mm, 1.7 m. */
static void small_faces_are_said(void **state)
{
    (void)state;
    assert_string_equal(notes_of(900, 600, 900, 600, 90, 60),
                        "small: a face of a tenth of the mural's height has 6 cells, its eyes 0.8; "
                        "for eyes of 3 give --rows 215, 1.7 m high, or show less of the picture "
                        "with --crop\n");
    assert_string_equal(notes_of(900, 600, 900, 600, 180, 120), "");
}

/* A portrait of 600 x 900 in a square: a third is cut off, a sixth above. */
static void a_beheaded_portrait_is_said(void **state)
{
    (void)state;
    assert_string_equal(notes_of(600, 900, 600, 600, 200, 200),
                        "cut off: 33 % of the picture, 17 % above and below each, to fill 200 x "
                        "200 cells; give one of width and height alone, or choose the part with "
                        "--crop\n");
    assert_non_null(strstr(notes_of(900, 600, 600, 600, 200, 200), "17 % left and right each"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_fit_size_says_nothing),
        cmocka_unit_test(an_enlarged_picture_is_said),
        cmocka_unit_test(small_faces_are_said),
        cmocka_unit_test(a_beheaded_portrait_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
