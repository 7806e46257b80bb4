/* Pairing: a code serves once, five wrong ones are followed by a wait that doubles, and the newest
 * device takes the oldest's place. The outside source is arithmetic: of so many tries in a day, at
 * the waits that the header names, a code of eight digits is found with a chance of under 1 in
 * 500,000. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "serve/pairing.h"

#include <stdio.h>
#include <string.h>

static Pairing pairing;

static int setup(void **state)
{
    (void)state;
    Fault fault;
    return (int)pairing_init(&pairing, 2, &fault);
}

static const char *pair_at(double now)
{
    char code[PAIRING_CODE];
    const char *token = NULL;
    strcpy(code, pairing.code);
    assert_int_equal(pairing_try(&pairing, code, now, &token), PAIRING_MADE);
    return token;
}

static PairingResult wrong_at(double now)
{
    const char *token = NULL;
    char code[PAIRING_CODE];
    strcpy(code, pairing.code);
    code[7] = (char)(code[7] == '9' ? '0' : code[7] + 1);
    const PairingResult result = pairing_try(&pairing, code, now, &token);
    assert_null(token);
    return result;
}

static void a_code_serves_once(void **state)
{
    (void)state;
    char code[PAIRING_CODE], blanks[PAIRING_CODE + 1], first[TOKEN_TEXT];
    const char *token = NULL;
    assert_int_equal(strspn(pairing.code, "0123456789"), 8);
    strcpy(code, pairing.code);
    snprintf(blanks, sizeof blanks, "%.4s+%s", code, code + 4); /* as a form sends a blank */
    assert_int_equal(pairing_try(&pairing, blanks, 0, &token), PAIRING_MADE);
    assert_true(pairing_knows(&pairing, token));
    assert_string_not_equal(pairing.code, code);
    strcpy(first, token);
    assert_int_equal(pairing_try(&pairing, code, 0, &token), PAIRING_WRONG);
    assert_false(pairing_knows(&pairing, code));
    assert_false(pairing_knows(&pairing, ""));
    assert_false(pairing_knows(&pairing, NULL));
    assert_true(pairing_knows(&pairing, first));
}

static void the_newest_takes_the_oldests_place(void **state)
{
    (void)state;
    char token[3][TOKEN_TEXT];
    for (int i = 0; i < 3; i++) strcpy(token[i], pair_at(0));
    assert_false(pairing_knows(&pairing, token[0]));
    assert_true(pairing_knows(&pairing, token[1]));
    assert_true(pairing_knows(&pairing, token[2]));
}

static void what_is_no_code_is_wrong(void **state)
{
    (void)state;
    const char *token = NULL;
    char longer[PAIRING_CODE + 2];
    snprintf(longer, sizeof longer, "%s0", pairing.code);
    const char *const texts[] = {"", " ", longer, "1234567"};
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(pairing_try(&pairing, texts[i], 0, &token), PAIRING_WRONG);
}

static void after_five_it_is_deaf_for_twice_as_long_each_time(void **state)
{
    (void)state;
    const char *token = NULL;
    double now = 100, wait = PAIRING_WAIT;
    for (int round = 0; round < 4; round++) {
        for (int i = 0; i < PAIRING_TRIES - 1; i++) assert_int_equal(wrong_at(now), PAIRING_WRONG);
        assert_int_equal(wrong_at(now), PAIRING_DEAF);
        /* Nor is the right one heard. */
        assert_int_equal(pairing_try(&pairing, pairing.code, now + wait - 1, &token), PAIRING_DEAF);
        now += wait;
        wait *= 2;
    }
    pair_at(now);
    for (int i = 0; i < PAIRING_TRIES; i++) wrong_at(now);
    assert_non_null(pair_at(now + PAIRING_WAIT));
}

static void trying_codes_for_a_day_is_hopeless(void **state)
{
    (void)state;
    long heard = 0;
    for (double now = 0; now < 24 * 3600; now += 1)
        while (heard < 1000000 && now >= pairing.until) {
            wrong_at(now);
            heard++;
        }
    assert_true(heard < 200); /* of 10^8 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(a_code_serves_once, setup),
        cmocka_unit_test_setup(the_newest_takes_the_oldests_place, setup),
        cmocka_unit_test_setup(what_is_no_code_is_wrong, setup),
        cmocka_unit_test_setup(after_five_it_is_deaf_for_twice_as_long_each_time, setup),
        cmocka_unit_test_setup(trying_codes_for_a_day_is_hopeless, setup),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
