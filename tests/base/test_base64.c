/* Base64 against the examples of RFC 4648, section 10, and the last two characters of its alphabet.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/base64.h"

#include <string.h>

static void the_examples_of_the_standard(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {{"f", "Zg=="},           {"fo", "Zm8="},
                                           {"foo", "Zm9v"},         {"foob", "Zm9vYg=="},
                                           {"fooba", "Zm9vYmE="},   {"foobar", "Zm9vYmFy"},
                                           {"\xff\xef\xbe", "/+++"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        const size_t length = strlen(pairs[i][0]);
        char text[16] = "";
        for (size_t at = 0; at < length; at += 3)
            base64_group((const unsigned char *)pairs[i][0] + at, length - at, text + at / 3 * 4);
        assert_string_equal(text, pairs[i][1]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_examples_of_the_standard)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
