/* The distance of spellings against its definition: every word that one slip makes is one away.
 * The slips are those of F. J. Damerau, Communications of the ACM 7(3), 1964; the pairs of words
 * are examples of textbooks, from memory. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/spelling.h"

#include <stdlib.h>
#include <string.h>

static size_t distance(const char *a, const char *b)
{
    const size_t one = spelling_distance(a, strlen(a), b, strlen(b));
    assert_int_equal(one, spelling_distance(b, strlen(b), a, strlen(a)));
    return one;
}

static void pairs_of_words_are_as_far_as_they_are_said_to_be(void **state)
{
    (void)state;
    assert_int_equal(distance("kitten", "sitting"), 3);
    assert_int_equal(distance("saturday", "sunday"), 3);
    assert_int_equal(distance("ca", "abc"), 3); /* 2 where what was swapped may be parted */
    assert_int_equal(distance("width", "width"), 0);
    assert_int_equal(distance("", "width"), 5);
    char longer[SPELLING_MOST + 1];
    memset(longer, 'a', sizeof longer);
    assert_int_equal(spelling_distance(longer, SPELLING_MOST, "a", 1), SPELLING_MOST - 1);
    assert_true(spelling_distance(longer, sizeof longer, "a", 1) == SIZE_MAX);
}

static void one_slip_is_one_away(void **state)
{
    (void)state;
    static const char word[] = "columns";
    const size_t length = strlen(word);
    for (size_t at = 0; at <= length; at++) {
        char slip[16] = "";
        memcpy(slip, word, at);
        slip[at] = 'x';
        strcpy(slip + at + 1, word + at);
        assert_int_equal(distance(word, slip), 1);
        if (at == length) break;
        strcpy(slip + at, word + at + 1);
        assert_int_equal(distance(word, slip), 1);
        strcpy(slip, word);
        slip[at] = 'x';
        assert_int_equal(distance(word, slip), 1);
        if (at + 1 == length) break;
        slip[at] = word[at + 1];
        slip[at + 1] = word[at];
        assert_int_equal(distance(word, slip), 1);
    }
}

static const char *nearest(const char *word)
{
    static const char *const known[] = {"columns", "colours", "width",
                                        "out",     "stock",   "stock-only"};
    Spelling spelling = spelling_of(word, strlen(word));
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) spelling_offer(&spelling, known[i]);
    return spelling.nearest ? spelling.nearest : "";
}

static void only_what_is_near_is_guessed(void **state)
{
    (void)state;
    assert_string_equal(nearest("widht"), "width");
    assert_string_equal(nearest("colors"), "colours");
    assert_string_equal(nearest("colum"), "columns");
    assert_string_equal(nearest("co"), "columns"); /* the first of two */
    assert_string_equal(nearest("stok"), "stock");
    assert_string_equal(nearest("ot"), "out");
    assert_string_equal(nearest("job"), "");
    assert_string_equal(nearest("wobble"), "");
    assert_string_equal(nearest("x"), "");
    assert_string_equal(nearest(""), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pairs_of_words_are_as_far_as_they_are_said_to_be),
        cmocka_unit_test(one_slip_is_one_away), cmocka_unit_test(only_what_is_near_is_guessed)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
