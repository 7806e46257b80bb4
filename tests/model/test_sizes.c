#include "support/faults.h"

#include "model/sizes.h"

#include <math.h>
#include <stdlib.h>

static const char *scratch;

static Status read_sizes(const char *path, Fault *fault)
{
    Sizes sizes;
    return sizes_read(&sizes, path, 8.0, 9.6, NULL, fault);
}

static Sizes parse(const char *text, Notes *notes)
{
    Sizes sizes = {0};
    Fault fault = {0};
    const Voice voice = {.self = notes, .note = take_note};
    write_file(scratch, text, strlen(text));
    if (sizes_read(&sizes, scratch, 8.0, 9.6, &voice, &fault)) print_error("%s\n", fault.text);
    return sizes;
}

/* The set that the contract and sizes.h list. */
static void built_in(void **state)
{
    (void)state;
    static const char *const names[] = {"1x1", "1x2", "1x3", "1x4", "1x6", "1x8",
                                        "2x2", "2x3", "2x4", "2x6", "2x8"};
    Sizes sizes;
    sizes_default(&sizes, 8.0, 9.6);
    assert_int_equal(sizes.count, 11);
    assert_true(sizes.estimated);
    assert_false(sizes.priced);
    for (int i = 0; i < sizes.count; i++) {
        const Size *size = &sizes.size[i];
        char name[16];
        assert_string_equal(size->name, names[i]);
        snprintf(name, sizeof name, "%dx%d", size->width, size->length);
        assert_string_equal(name, names[i]);
        assert_true(size->price == 0.0);
        assert_int_equal(sizes_find(&sizes, size->width, size->length), i);
        assert_int_equal(sizes_find(&sizes, size->length, size->width), i);
    }
    assert_int_equal(sizes_find(&sizes, 3, 3), -1);
}

/* The shell's volume summed by brute force: points on a grid of 1/20 mm, tested for
 * being within the material. 1.04 g/cm3; 1x1 worked by hand is 0.438 g. */
static double mass_by_sampling(int width, int length, double height)
{
    const double step = 0.05, x1 = width * 8 - 0.2, y1 = length * 8 - 0.2;
    double area_top = 0, area_wall = 0, area_tube = 0;
    for (double x = step / 2; x < x1; x += step)
        for (double y = step / 2; y < y1; y += step) {
            area_top += 1;
            if (x < 1.5 || y < 1.5 || x > x1 - 1.5 || y > y1 - 1.5) area_wall += 1;
            for (int i = 1; i < width; i++)
                for (int j = 1; j < length; j++) {
                    const double r = hypot(x + 0.1 - i * 8, y + 0.1 - j * 8);
                    area_tube += r < 6.5 / 2 && r > 4.8 / 2;
                }
        }
    const double knobs = width * length * 3.14159265 * 2.4 * 2.4 * 1.7;
    return 1.04e-3 *
           (step * step * (area_top * 1.2 + (area_wall + area_tube) * (height - 1.2)) + knobs);
}

static void estimated_masses(void **state)
{
    (void)state;
    Sizes sizes;
    sizes_default(&sizes, 8.0, 9.6);
    assert_true(fabs(sizes.size[0].mass_g - 0.438) < 0.001);
    for (int i = 0; i < sizes.count; i++) {
        const Size *size = &sizes.size[i];
        const double sampled = mass_by_sampling(size->width, size->length, 9.6);
        assert_true(fabs(size->mass_g - sampled) < 0.01 * sampled);
    }
    /* Never below nothing, always growing, whatever the pitch and height. */
    double before = 0;
    for (double pitch = 1; pitch < 40; pitch += 0.5) {
        sizes_default(&sizes, pitch, pitch * 1.2);
        assert_true(sizes.size[0].mass_g > before);
        before = sizes.size[0].mass_g;
    }
    sizes_default(&sizes, 8.0, 0.5); /* thinner than the top's wall: solid, and a knob */
    assert_true(fabs(sizes.size[0].mass_g - 1.04e-3 * (7.8 * 7.8 * 0.5 + 30.763)) < 1e-4);
}

static void read_by_hand(void **state)
{
    (void)state;
    Notes notes = {""};
    Sizes sizes =
        parse("price,size,mass_g,shelf\n0.10,1X1,0.42,a\n,4x2,2.5,b\n0.3,1x2,,c\n", &notes);
    assert_int_equal(sizes.count, 3);
    assert_string_equal(sizes.size[1].name, "4x2");
    assert_int_equal(sizes.size[1].width, 2);
    assert_int_equal(sizes.size[1].length, 4);
    assert_true(sizes.size[0].mass_g == 0.42 && sizes.size[0].price == 0.10);
    assert_true(sizes.size[1].price == 0.0);
    assert_true(sizes.priced && sizes.estimated);
    assert_true(fabs(sizes.size[2].mass_g - mass_by_sampling(1, 2, 9.6)) < 0.01);
    assert_non_null(strstr(notes.text, "left out: shelf"));
    assert_non_null(strstr(notes.text, "1 of 3 sizes have no mass_g"));
    assert_non_null(strstr(notes.text, "1 of 3 sizes have no price"));

    notes.text[0] = '\0';
    sizes = parse("size,mass_g\n1x1,0.4\n64x64,900\n", &notes);
    assert_int_equal(sizes.count, 2);
    assert_false(sizes.priced || sizes.estimated);
    assert_string_equal(notes.text, "");
}

/* Each row is an offer; a brick bought alone costs what the one asks that asks the fewest. */
static void offers_by_hand(void **state)
{
    (void)state;
    Notes notes = {""};
    const Sizes sizes =
        parse("size,mass_g,price,pack,supplier,from,shelf\n1x1,0.4,0.10,1,Ada,1,a\n"
              "1x1,,0.08,,Ada,100,b\n1x1,0.4,0.05,100,Böll & Co,,c\n2x4,2.5,,,,,d\n",
              &notes);
    assert_true(sizes.count == 2 && sizes.offered && sizes.offers == 4 && sizes.suppliers == 2);
    assert_string_equal(sizes.supplier[0], "Ada");
    assert_string_equal(sizes_supplier(&sizes, &sizes.offer[2]), "Böll & Co");
    assert_string_equal(sizes_supplier(&sizes, &sizes.offer[3]), "");
    assert_true(sizes.offer[1].from == 100 && sizes.offer[1].pack == 1);
    assert_true(sizes.offer[2].from == 1 && sizes.offer[2].pack == 100);
    assert_true(sizes.size[0].price == 0.10 && !sizes.estimated);
    assert_non_null(strstr(notes.text, "left out: shelf"));
    assert_non_null(strstr(notes.text, "1 of 2 sizes have no price"));
    assert_null(strstr(notes.text, "mass_g"));
}

static void size_texts(void **state)
{
    (void)state;
    static const char *const refused[] = {"",      "x",    "1",    "1x",           "x1",    "0x1",
                                          "1x0",   "1x65", "01x1", "1xx1",         "1x1x1", "-1x1",
                                          "1 x 1", "1x1 ", "1*1",  "99999999999x1"};
    int a, b;
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        assert_false(size_parse(refused[i], &a, &b));
    for (int i = 1; i <= SIZE_LONGEST; i++) {
        char text[16];
        snprintf(text, sizeof text, "%dx%d", i, 65 - i);
        assert_true(size_parse(text, &a, &b));
        assert_true(a == i && b == 65 - i);
    }
}

static void bad_files(void **state)
{
    (void)state;
    static const Bad bad[] = {
        {"sizes-size-column-missing.csv", "1", "column size"},
        {"sizes-no-size.csv", "1", "no size"},
        {"sizes-not-a-size.csv", "3:1", "2by4"},
        {"sizes-zero-units.csv", "2:1", "0x4"},
        {"sizes-65-units.csv", "3:1", "1x65"},
        {"sizes-leading-zero.csv", "2:1", "02x4"},
        {"sizes-three-numbers.csv", "2:1", "2x4x2"},
        {"sizes-twice.csv", "4:1", "line 2"},
        {"sizes-twice-turned.csv", "4:1", "line 2"},
        {"sizes-mass-negative.csv", "2:5", "-0.4"},
        {"sizes-mass-zero.csv", "2:5", "weigh"},
        {"sizes-mass-decimal-comma.csv", "2:5", "decimal comma"},
        {"sizes-price-negative.csv", "2:9", "-1"},
        {"sizes-price-word.csv", "2:9", "cheap"},
        {"sizes-too-many.csv", "66:1", "64"},
        {"sizes-offer-twice.csv", "4:1", "keep one"},
        {"sizes-offer-no-price.csv", "3:1", "not each a price"},
        {"sizes-offer-other-mass.csv", "3:5", "another mass_g"},
        {"sizes-pack-zero.csv", "2:9", "0"},
        {"sizes-from-half.csv", "2:9", "1.5"},
        {"sizes-supplier-long.csv", "2:9", "at most 47"},
    };
    check_bad_files(bad, sizeof bad / sizeof *bad, "sizes-", read_sizes);
}

static void each_allocation(void **state)
{
    (void)state;
    static const char text[] = "size,mass_g,price\n1x1,0.4,0.1\n2x2,,\n";
    write_file(scratch, text, strlen(text));
    fail_each_allocation(read_sizes, scratch);
}

int main(int count, char **arguments)
{
    char path[512];
    (void)count;
    snprintf(path, sizeof path, "%s.csv", arguments[0]);
    scratch = path;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(built_in),        cmocka_unit_test(estimated_masses),
        cmocka_unit_test(read_by_hand),    cmocka_unit_test(size_texts),
        cmocka_unit_test(offers_by_hand),  cmocka_unit_test(bad_files),
        cmocka_unit_test(each_allocation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
