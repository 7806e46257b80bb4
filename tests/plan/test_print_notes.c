/* What the PDFs cannot print is said. Sources: the Unicode Standard for the code points; that the
 * DejaVu fonts have no CJK ideographs and few emoji, by their own status page (from memory), held
 * here to the fonts that are built in. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "book/typeface.h"
#include "plan/print_notes.h"

#include <stdio.h>
#include <string.h>

static char said[2000];

static void hear(void *self, const char *text)
{
    (void)self;
    const size_t length = strlen(said);
    snprintf(said + length, sizeof said - length, "%s\n", text);
}

static void first_lacking_sign_is_found(void **state)
{
    (void)state;
    Sign sign;
    assert_false(typeface_lacks("Der Hafen · ο λιμένας · гавань · 1 × 2 ≤ 3 €", &sign));
    assert_true(typeface_lacks("Hafen 海港", &sign));
    assert_int_equal(sign.point, 0x6d77);
    assert_string_equal(sign.text, "海");
    assert_true(typeface_lacks("brick 🧱", &sign));
    assert_int_equal(sign.point, 0x1f9f1);
}

static void texts_of_an_offer_are_said_by_name(void **state)
{
    (void)state;
    Job job;
    Palette palette = {.count = 1, .colour[0] = {.id = "R1", .name = "紅"}};
    const Voice voice = {.note = hear};
    job_init(&job);
    snprintf(job.client, sizeof job.client, "Müller & 田中");
    said[0] = 0;
    print_notes_say(&voice, &job, &palette, "harbour.png");
    assert_non_null(strstr(said, "client: '田' (U+7530) is not in the typeface of the PDFs"));
    assert_non_null(strstr(said, "R1: '紅' (U+7D05)"));
    assert_null(strstr(said, "harbour"));
    job.quote = job.book = 0; /* nothing is printed */
    said[0] = 0;
    print_notes_say(&voice, &job, &palette, "harbour.png");
    assert_string_equal(said, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_lacking_sign_is_found),
        cmocka_unit_test(texts_of_an_offer_are_said_by_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
