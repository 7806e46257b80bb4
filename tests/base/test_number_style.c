/* Numbers as countries write them, against the system's own locales where these are installed. */
#include "base/number_style.h"

#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void styles_write_numbers(void **state)
{
    (void)state;
    char text[80];
    number_styled(text, sizeof text, number_style(0), 1234567.891, 2);
    assert_string_equal(text, "1,234,567.89");
    number_styled(text, sizeof text, number_style(1), -1234.5, 1);
    assert_string_equal(text, "-1.234,5");
    money_styled(text, sizeof text, number_style(3), 1234, "EUR");
    assert_string_equal(text, "1\u00a0234,00\u00a0EUR");
    money_styled(text, sizeof text, number_style(0), 1234, "$");
    assert_string_equal(text, "$1,234.00");
    money_styled(text, sizeof text, number_style(0), 1234, "");
    assert_string_equal(text, "1,234.00");
    number_styled(text, 5, number_style(0), 1234567, 0); /* never beyond its room */
    assert_string_equal(text, "1,23");
}

/* Blanks of any width are one: systems differ in which they take. */
static bool same(const char *ours, const char *theirs)
{
    const bool blank = !strcmp(ours, "\u00a0");
    return blank ? !strcmp(theirs, "\u00a0") || !strcmp(theirs, "\u202f") || !strcmp(theirs, " ")
                 : !strcmp(ours, theirs);
}

static void styles_are_those_of_the_system(void **state)
{
    (void)state;
    static const struct {
        int index;
        const char *locale;
    } known[] = {{0, "en_US.UTF-8"},  {1, "de_DE.UTF-8"},  {3, "fr_FR.UTF-8"}, {9, "pl_PL.UTF-8"},
                 {11, "sv_SE.UTF-8"}, {13, "da_DK.UTF-8"}, {15, "ja_JP.UTF-8"}};
    int found = 0;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (!setlocale(LC_ALL, known[i].locale)) continue;
        const struct lconv *theirs = localeconv();
        if (!*theirs->thousands_sep) continue; /* musl takes every name, and writes as in C */
        const NumberStyle *ours = number_style(known[i].index);
        found++;
        if (!same(ours->group, theirs->thousands_sep) || strcmp(ours->point, theirs->decimal_point))
            fail_msg("%s: '%s' '%s'", known[i].locale, theirs->thousands_sep,
                     theirs->decimal_point);
    }
    setlocale(LC_ALL, "C");
    if (!found) skip();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(styles_write_numbers),
        cmocka_unit_test(styles_are_those_of_the_system),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
