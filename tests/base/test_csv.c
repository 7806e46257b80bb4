#include "support/faults.h"

#include "base/csv.h"
#include "base/text.h"

#include <locale.h>
#include <math.h>
#include <stdlib.h>

#include "fuzz/fuzz_csv.c"
#include "support/chance.h"

static Csv *parse(const char *text)
{
    Csv *csv = NULL;
    Fault fault = {0};
    if (csv_parse(&csv, text, strlen(text), "here.csv", &fault)) print_error("%s\n", fault.text);
    assert_non_null(csv);
    return csv;
}

static void check_table(const char *text, size_t rows, int columns, const char *const *field)
{
    Csv *csv = parse(text);
    assert_int_equal(csv_rows(csv), rows);
    assert_int_equal(csv_columns(csv), columns);
    for (size_t row = 0; row < rows; row++)
        for (int i = 0; i < columns; i++)
            assert_string_equal(csv_field(csv, row, i), field[row * (size_t)columns + (size_t)i]);
    csv_free(csv);
}

/* The examples of RFC 4180, section 2, rules 1 to 7, under a header. */
static void rfc_4180_rules(void **state)
{
    (void)state;
    const char *const two[] = {"aaa", "bbb", "ccc", "zzz", "yyy", "xxx"};
    check_table("x,y,z\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", 2, 3, two);
    check_table("x,y,z\r\naaa,bbb,ccc\r\nzzz,yyy,xxx", 2, 3, two);
    check_table("x,y,z\naaa,bbb,ccc\nzzz,yyy,xxx\n", 2, 3, two);
    check_table("x,y,z\r\n\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", 2, 3, two);
    const char *const lines[] = {"aaa", "b\r\nbb", "ccc", "zzz", "yyy", "xxx"};
    check_table("x,y,z\r\n\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", 2, 3, lines);
    const char *const quotes[] = {"aaa", "b\"bb", "ccc"};
    check_table("x,y,z\r\n\"aaa\",\"b\"\"bb\",\"ccc\"", 1, 3, quotes);
}

/* Beyond the RFC, as csv.h says: a byte order mark, blanks around fields, empty lines and
 * empty rows; an empty last field. */
static void tolerated(void **state)
{
    (void)state;
    const char *const one[] = {"1", "a b", ""};
    check_table("\xef\xbb\xbfx,y,z\n1,a b,\n", 1, 3, one);
    check_table(" x , y,z\n\n 1\t, \"a b\" , \n,,\n \n", 1, 3, one);
    const char *const comma[] = {"1", ",", "\""};
    check_table("x,y,z\n1,\",\",\"\"\"\"\n", 1, 3, comma);
}

/* Places counted by hand. */
static void places(void **state)
{
    (void)state;
    Csv *csv =
        parse("\xef\xbb\xbfid,name,L\r\n\"\xc3\xa4\n\",\xe2\x82\xac, 5\r\n\r\nx,\"y\"\"\",7");
    assert_string_equal(csv_place(csv), "here.csv");
    assert_int_equal(csv_header_line(csv), 1);
    assert_int_equal(csv_line(csv, 0), 2);
    assert_int_equal(csv_at(csv, 0, 0), 1);
    assert_int_equal(csv_at(csv, 0, 1), 3); /* on line 3, behind `",` */
    assert_int_equal(csv_at(csv, 0, 2), 6); /* behind the euro sign, one character */
    assert_int_equal(csv_line(csv, 1), 5);
    assert_int_equal(csv_at(csv, 1, 2), 9);
    assert_int_equal(csv_column(csv, "NAME"), 1);
    assert_int_equal(csv_column(csv, "l"), 2);
    assert_int_equal(csv_column(csv, "nam"), -1);
    csv_free(csv);
}

/* Random tables of nasty characters, written by the rules of RFC 4180 here, come back. */
static void random_tables(void **state)
{
    (void)state;
    static const char letters[] = "a,\"\n\r \t;x1";
    uint32_t seed = 1;
    for (int round = 0; round < 2000; round++) {
        char text[4096] = "p,q,r\n", field[4][3][8];
        size_t used = strlen(text);
        for (int row = 0; row < 4; row++)
            for (int i = 0; i < 3; i++) {
                char *out = field[row][i];
                *out++ = 'F'; /* so that blanks at the ends are kept, and no row is empty */
                for (int n = (int)(chance(&seed) >> 8) % 6; n > 0; n--)
                    *out++ = letters[(chance(&seed) >> 8) % 10];
                *out++ = 'E';
                *out = '\0';
                text[used++] = '"';
                for (const char *c = field[row][i]; *c; c++) {
                    if (*c == '"') text[used++] = '"';
                    text[used++] = *c;
                }
                text[used++] = '"';
                text[used++] = i < 2 ? ',' : '\n';
            }
        text[used] = '\0';
        Csv *csv = parse(text);
        assert_int_equal(csv_rows(csv), 4);
        for (int row = 0; row < 4; row++)
            for (int i = 0; i < 3; i++)
                assert_string_equal(csv_field(csv, (size_t)row, i), field[row][i]);
        csv_free(csv);
    }
}

/* Against strtod in the C locale. */
static void numbers(void **state)
{
    (void)state;
    static const char *const good[] = {"0",
                                       "-0",
                                       "+7",
                                       "1.5",
                                       ".5",
                                       "5.",
                                       "1e3",
                                       "1E-3",
                                       "-2e+2",
                                       "00012",
                                       "1.7976931348623157e308",
                                       "1e-400",
                                       "0.1",
                                       "123456789012345678901234567890"};
    static const char *const refused[] = {
        "",   " ", "1 ", " 1", "1,5",   "nan", "NAN",   "inf", "-inf", "0x10",    "1e",
        "e5", ".", "+",  "-.", "1.2.3", "--1", "1e400", "1_0", "1.5a", "infinity"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        double value;
        assert_true(number_parse(good[i], &value));
        assert_true(value == strtod(good[i], NULL));
    }
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        double value = 42;
        assert_false(number_parse(refused[i], &value));
        assert_true(value == 42);
    }
}

/* Printing by hand, and there and back for random bits. */
static void printed_numbers(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *text;
    } by_hand[] = {{0, "0"},
                   {-0.0, "0"},
                   {10, "10"},
                   {-50, "-50"},
                   {0.1, "0.1"},
                   {95.19, "95.19"},
                   {-1.03, "-1.03"},
                   {1e15, "1000000000000000"},
                   {1e16, "1e+16"},
                   {1e-5, "0.00001"},
                   {1e-6, "1e-06"},
                   {100.5, "100.5"},
                   {1.0 / 3.0, "0.3333333333333333"},
                   {5e-324, "5e-324"}};
    char text[NUMBER_TEXT];
    for (size_t i = 0; i < sizeof by_hand / sizeof *by_hand; i++)
        assert_string_equal(number_print(text, by_hand[i].value), by_hand[i].text);
    uint64_t seed = 88172645463325252u;
    for (int i = 0; i < 20000; i++) {
        seed ^= seed << 13, seed ^= seed >> 7, seed ^= seed << 17;
        double value, back;
        memcpy(&value, &seed, sizeof value);
        if (i % 2) value = (double)(int64_t)seed / 9e16; /* near the size of Lab */
        if (!isfinite(value)) continue;
        assert_true(number_parse(number_print(text, value), &back));
        assert_true(back == value);
    }
}

/* A locale with a decimal comma changes nothing, where the machine has one. */
static void any_locale(void **state)
{
    (void)state;
    static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "nl_NL.UTF-8", "de_DE"};
    const char *set = NULL;
    for (size_t i = 0; !set && i < sizeof names / sizeof *names; i++)
        set = setlocale(LC_ALL, names[i]);
    char text[NUMBER_TEXT];
    double value = 0;
    const int read = number_parse("-1.5e1", &value), comma = number_parse("1,5", &value);
    number_print(text, -1234.5);
    setlocale(LC_ALL, "C");
    assert_true(read && value == -15.0);
    assert_false(comma);
    assert_string_equal(text, "-1234.5");
    if (!set) skip();
}

static Status read_csv(const char *path, Fault *fault)
{
    Csv *csv = NULL;
    Status status = csv_read(&csv, path, fault);
    if (!status) csv_free(csv);
    return status;
}

static void bad_files(void **state)
{
    (void)state;
    static const Bad bad[] = {
        {"csv-quote-not-closed.csv", "2:3", "not closed"},
        {"csv-quote-within-field.csv", "2:4", "quote within"},
        {"csv-text-after-quote.csv", "2:6", "after the closing quote"},
        {"csv-row-too-long.csv", "3:5", "3 fields"},
        {"csv-row-too-short.csv", "3:1", "1 fields"},
        {"csv-column-twice.csv", "1:7", "Size is there twice"},
        {"csv-carriage-returns-alone.csv", "1:4", "carriage return"},
        {"csv-not-utf8.csv", "2:3", "UTF-8"},
        {"csv-overlong-utf8.csv", "2:3", "UTF-8"},
        {"csv-surrogate.csv", "2:3", "UTF-8"},
        {"csv-cut-utf8.csv", "2:3", "UTF-8"},
        {"csv-null-byte.csv", "2:3", "control"},
        {"csv-utf16.csv", "1:1", "UTF-16"},
        {"csv-empty.csv", "1:1", "empty"},
        {"csv-only-blank-lines.csv", "1:1", "empty"},
        {"csv-line-numbers.csv", "6:5", "3 fields"},
    };
    check_bad_files(bad, sizeof bad / sizeof *bad, "csv-", read_csv);
}

/* The limit that csv.h names, and what is not there. */
static void not_read(void **state)
{
    (void)state;
    Csv *csv;
    Fault fault = {0};
    const size_t length = (16u << 20) + 1;
    char *bytes = memory_create(length, 1);
    assert_non_null(bytes);
    memset(bytes, 'x', length);
    assert_int_equal(csv_parse(&csv, bytes, length, "long.csv", &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "16 MiB"));
    memory_free(bytes);
    assert_int_equal(csv_read(&csv, "tests/data/bad/there-is-none.csv", &fault), STATUS_NO_INPUT);
    assert_non_null(strstr(fault.text, "there-is-none.csv: "));
    assert_int_equal(csv_read(&csv, "tests/data/bad", &fault), STATUS_NO_INPUT); /* a folder */
    assert_non_null(strstr(fault.text, "folder"));
    assert_int_equal(csv_read(&csv, "/dev/zero", &fault), STATUS_DATA);
}

static void fields_as_numbers(void **state)
{
    (void)state;
    Csv *csv = parse("L\n50\n\"50,5\"\n101\n7.5\n");
    double value = 0;
    long whole = 0;
    Fault fault = {0};
    assert_int_equal(csv_number(csv, 0, 0, (CsvRange){0, 100}, &value, &fault), STATUS_OK);
    assert_true(value == 50);
    assert_int_equal(csv_whole(csv, 0, 0, (CsvRange){0, 100}, &whole, &fault), STATUS_OK);
    assert_int_equal(whole, 50);
    assert_int_equal(csv_number(csv, 1, 0, (CsvRange){0, 100}, &value, &fault), STATUS_DATA);
    assert_string_equal(fault.text,
                        "here.csv:3:1: L has a decimal comma, '50,5'; write it with a point, 50.5");
    assert_int_equal(csv_number(csv, 2, 0, (CsvRange){0, 100}, &value, &fault), STATUS_DATA);
    assert_string_equal(fault.text, "here.csv:4:1: L is 101; give a number from 0 to 100");
    assert_int_equal(csv_whole(csv, 3, 0, (CsvRange){0, 100}, &whole, &fault), STATUS_DATA);
    assert_string_equal(fault.text, "here.csv:5:1: L is 7.5; give a whole number");
    csv_free(csv);
}

static void noted_columns(void **state)
{
    (void)state;
    Notes notes = {""};
    const Voice voice = {.self = &notes, .note = take_note};
    static const char *const known[] = {"id", "L", NULL};
    Csv *csv = parse("ID,maker,L,\n1,2,3,4\n");
    csv_note_others(csv, known, &voice);
    assert_string_equal(notes.text,
                        "here.csv:1: columns that are not known are left out: maker, (no name)\n");
    csv_free(csv);
    csv = parse("id,l\n1,2\n");
    notes.text[0] = '\0';
    csv_note_others(csv, known, &voice);
    assert_string_equal(notes.text, "");
    csv_free(csv);
}

static void each_allocation(void **state)
{
    (void)state;
    fail_each_allocation(read_csv, "palettes/bricks-96.csv");
}

/* In memory of its own, so that the sanitizer sees a step beyond the end. */
static void fuzz_exactly(const char *bytes, size_t length)
{
    uint8_t *copy = memory_create(length, 1);
    assert_non_null(copy);
    memcpy(copy, bytes, length);
    LLVMFuzzerTestOneInput(copy, length);
    memory_free(copy);
}

/* The corpus of the fuzzer: every malformed file of every format. */
static void fuzz_corpus(void **state)
{
    (void)state;
    DIR *folder = opendir("tests/data/bad");
    assert_non_null(folder);
    for (struct dirent *entry; (entry = readdir(folder));) {
        char path[512], *bytes;
        size_t length;
        snprintf(path, sizeof path, "tests/data/bad/%s", entry->d_name);
        if (entry->d_name[0] == '.' || text_read(&bytes, &length, path, NULL)) continue;
        for (size_t cut = 0; cut <= length; cut += 1 + length / 97) fuzz_exactly(bytes, cut);
        fuzz_exactly(bytes, length);
        memory_free(bytes);
    }
    closedir(folder);
}

/* Unicode 15, table 3-7: the first and last sequence of each row, and those beyond. */
static void utf8(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        int length;
        uint32_t point;
    } good[] = {{"\x7f", 1, 0x7f},
                {"\xc2\x80", 2, 0x80},
                {"\xdf\xbf", 2, 0x7ff},
                {"\xe0\xa0\x80", 3, 0x800},
                {"\xed\x9f\xbf", 3, 0xd7ff},
                {"\xee\x80\x80", 3, 0xe000},
                {"\xef\xbf\xbf", 3, 0xffff},
                {"\xf0\x90\x80\x80", 4, 0x10000},
                {"\xf4\x8f\xbf\xbf", 4, 0x10ffff}};
    static const char *const refused[] = {"\x80",
                                          "\xc0\x80",
                                          "\xc1\xbf",
                                          "\xe0\x9f\xbf",
                                          "\xed\xa0\x80",
                                          "\xf0\x8f\xbf\xbf",
                                          "\xf4\x90\x80\x80",
                                          "\xf5\x80\x80\x80",
                                          "\xff",
                                          "\xc2",
                                          "\xe2\x82",
                                          "\xf0\x90\x80",
                                          "\xc2\x41"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        uint32_t point = 0;
        assert_int_equal(text_point(good[i].bytes, strlen(good[i].bytes), &point), good[i].length);
        assert_int_equal(point, good[i].point);
    }
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        uint32_t point = 0;
        assert_int_equal(text_point(refused[i], strlen(refused[i]), &point), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rfc_4180_rules), cmocka_unit_test(tolerated),
        cmocka_unit_test(places),         cmocka_unit_test(random_tables),
        cmocka_unit_test(numbers),        cmocka_unit_test(printed_numbers),
        cmocka_unit_test(any_locale),     cmocka_unit_test(bad_files),
        cmocka_unit_test(not_read),       cmocka_unit_test(fields_as_numbers),
        cmocka_unit_test(noted_columns),  cmocka_unit_test(each_allocation),
        cmocka_unit_test(fuzz_corpus),    cmocka_unit_test(utf8),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
