#include "support/faults.h"

#include "base/memory.h"
#include "base/text.h"
#include "colour/colour.h"
#include "model/palette.h"

#include <lcms2.h>
#include <locale.h>
#include <math.h>
#include <stdlib.h>

#include "fuzz/fuzz_palette.c"

static Palette parse(const char *text, Notes *notes)
{
    Palette palette = {0};
    Fault fault = {0};
    const Voice voice = {.self = notes, .note = notes ? take_note : NULL};
    if (palette_parse(&palette, text, strlen(text), "here", &voice, &fault))
        print_error("%s\n", fault.text);
    return palette;
}

static Status read_palette(const char *path, Fault *fault)
{
    Palette palette;
    return palette_read(&palette, path, NULL, fault);
}

/* The 24 patches of the classic colour-rendition target, as its maker published them for
 * charts made after November 2014 (Lab, D50, 2 degree). tests/data/patches-24.cgats holds them. */
static void patches_24(void **state)
{
    (void)state;
    static const Lab published[24] = {
        {37.54, 14.37, 14.92},  {64.66, 19.27, 17.5},   {49.32, -3.82, -22.54},
        {43.46, -12.74, 22.72}, {54.94, 9.61, -24.79},  {70.48, -32.26, -0.37},
        {62.73, 35.83, 56.5},   {39.43, 10.75, -45.17}, {50.57, 48.64, 16.67},
        {30.1, 22.54, -20.87},  {71.77, -24.13, 58.19}, {71.51, 18.24, 67.37},
        {28.37, 15.42, -49.8},  {54.38, -39.72, 32.27}, {42.43, 51.05, 28.62},
        {81.8, 2.67, 80.41},    {50.63, 51.28, -14.12}, {49.57, -29.71, -28.32},
        {95.19, -1.03, 2.93},   {81.29, -0.57, 0.44},   {66.89, -0.75, -0.06},
        {50.76, -0.13, 0.14},   {35.63, -0.46, -0.48},  {20.64, 0.07, -0.46},
    };
    Palette palette;
    Notes notes = {""};
    const Voice voice = {.self = &notes, .note = take_note};
    Fault fault = {0};
    assert_int_equal(palette_read(&palette, "tests/data/patches-24.cgats", &voice, &fault),
                     STATUS_OK);
    assert_int_equal(palette.count, 24);
    assert_string_equal(palette.colour[18].name, "white 9.5");
    assert_string_equal(palette.colour[0].id, "1");
    for (int i = 0; i < 24; i++) {
        const Lab lab = palette.colour[i].lab;
        assert_true(lab.L == published[i].L && lab.a == published[i].a && lab.b == published[i].b);
    }
    /* The meter's own columns are left out by name. */
    assert_string_equal(notes.text,
                        "tests/data/patches-24.cgats:10: columns that are not known are left "
                        "out: XYZ_Y\n");
}

/* What colour meters write, each as lcms2 accepts it: no name, columns in any order,
 * comments, CRLF and lone CR, no sheet line, ids that look like numbers, rows over lines. */
static void accepted_cgats(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "CGATS.17\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\n"
        "END_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n007 50 1.25 -7\n0b1 20 0 0\nEND_DATA\n",
        "\xef\xbb\xbf"
        "CGATS.17\r\n# a comment, \"unclosed\r\nNUMBER_OF_FIELDS\t5\r\n"
        "BEGIN_DATA_FORMAT\r\nLAB_B LAB_A\r\nLAB_L SAMPLE_NAME SAMPLE_ID\r\nEND_DATA_FORMAT\r\n"
        "NUMBER_OF_SETS\t2\r\nBEGIN_DATA\r\n-7\t1.25\t50\t\"a name\"\t007 # here\r\n"
        "0 0 20 '' \"0b1\"\r\nEND_DATA\r\n",
        "NUMBER_OF_FIELDS 4\rNUMBER_OF_SETS 2\rBEGIN_DATA_FORMAT\rSAMPLE_ID LAB_L LAB_A LAB_B\r"
        "END_DATA_FORMAT\rBEGIN_DATA\r007 50\r1.25 -7\r0b1 20\r0 0\rEND_DATA",
        "IT8.7/2 \nORIGINATOR \"a meter\"\nKEYWORD \"BACKING\"\nBACKING \"white\"\n"
        "NUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSample_Id Lab_L Lab_A Lab_B\nEND_DATA_FORMAT\n"
        "NUMBER_OF_SETS 2\nBEGIN_DATA\n\"007\" 5e1 +1.25 -7.0\n'0b1' 20.000000000001 0 "
        ".0\nEND_DATA\n",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const Palette palette = parse(texts[i], NULL);
        assert_int_equal(palette.count, 2);
        assert_string_equal(palette.colour[0].id, "007");
        assert_string_equal(palette.colour[1].id, "0b1");
        const Lab lab = palette.colour[0].lab;
        assert_true(lab.L == 50 && lab.a == 1.25 && lab.b == -7);
        assert_true(palette.colour[1].lab.L == (i == 3 ? 20.000000000001 : 20.0));
    }
}

static void noted_cgats(void **state)
{
    (void)state;
    Notes notes = {""};
    const Palette palette =
        parse("CGATS.17\nWEIGHTING_FUNCTION \"ILLUMINANT, D65\"\n"
              "WEIGHTING_FUNCTION \"OBSERVER, 10 degree\"\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\n"
              "SAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n"
              "A 50 1 2\nEND_DATA\n\nNUMBER_OF_SETS 4\n",
              &notes);
    assert_int_equal(palette.count, 1);
    assert_string_equal(notes.text,
                        "here: measured for illuminant D65; its Lab is taken as D50\n"
                        "here: measured for the 10 degree observer; its Lab is taken as 2 degree\n"
                        "here:13: only the first table is read; what follows is left out\n");
}

/* The hex and Lab of a colour agree with lcms2's sRGB. */
static void csv_colours(void **state)
{
    (void)state;
    Notes notes = {""};
    const Palette palette =
        parse("name,ID,hex,code\n,r,#FF0000,x\ngrey,\xc3\xa4\xe2\x82\xac,808080,y\n", &notes);
    assert_int_equal(palette.count, 2);
    assert_string_equal(palette.colour[1].id, "\xc3\xa4\xe2\x82\xac");
    assert_string_equal(palette.colour[0].name, "");
    assert_non_null(strstr(notes.text, "left out: code"));
    const cmsHPROFILE srgb = cmsCreate_sRGBProfile(), lab = cmsCreateLab4Profile(NULL);
    const cmsHTRANSFORM transform =
        cmsCreateTransform(srgb, TYPE_RGB_DBL, lab, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC,
                           cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
    const double in[2][3] = {{1, 0, 0}, {128 / 255.0, 128 / 255.0, 128 / 255.0}};
    for (int i = 0; i < 2; i++) {
        cmsCIELab wanted;
        cmsDoTransform(transform, in[i], &wanted, 1);
        const Colour *colour = &palette.colour[i];
        assert_true(fabs(colour->lab.L - wanted.L) < 1e-3 &&
                    fabs(colour->lab.a - wanted.a) < 1e-3 && fabs(colour->lab.b - wanted.b) < 1e-3);
        cmsCIEXYZ xyz;
        cmsLab2XYZ(NULL, &xyz, &wanted);
        assert_true(fabs(colour->xyz.x - xyz.X) < 1e-4 && fabs(colour->xyz.y - xyz.Y) < 1e-4 &&
                    fabs(colour->xyz.z - xyz.Z) < 1e-4);
        for (int c = 0; c < 3; c++) assert_int_equal(colour->srgb[c], lround(in[i][c] * 255));
    }
    cmsDeleteTransform(transform);
    cmsCloseProfile(srgb);
    cmsCloseProfile(lab);
    assert_int_equal(palette_find(&palette, "r"), 0);
    assert_int_equal(palette_find(&palette, "R"), -1);
}

static void bad_files(void **state)
{
    (void)state;
    static const Bad bad[] = {
        {"palette-sets-too-many.cgats", "7:16", "there are 2 rows"},
        {"palette-sets-too-few.cgats", "7:16", "there are 4 rows"},
        {"palette-sets-missing.cgats", "7", "NUMBER_OF_SETS is missing"},
        {"palette-sets-twice.cgats", "7:16", "twice"},
        {"palette-sets-enormous.cgats", "7:16", "count"},
        {"palette-sets-hexadecimal.cgats", "7:16", "count"},
        {"palette-fields-wrong.cgats", "3:18", "lists 5 columns"},
        {"palette-fields-missing.cgats", "5", "NUMBER_OF_FIELDS is missing"},
        {"palette-fields-enormous.cgats", "3:18", "count"},
        {"palette-value-word.cgats", "10:9", "thirty"},
        {"palette-value-decimal-comma.cgats", "10:9", "decimal comma"},
        {"palette-value-nan.cgats", "10:12", "nan"},
        {"palette-value-inf.cgats", "10:15", "-inf"},
        {"palette-value-hexadecimal.cgats", "10:9", "0x1e"},
        {"palette-value-two-points.cgats", "10:15", "-40.1.2"},
        {"palette-value-empty.cgats", "10:9", "empty"},
        {"palette-value-missing.cgats", "10", "4 values"},
        {"palette-value-too-many.cgats", "10:20", "more values"},
        {"palette-value-missing-at-end.cgats", "11", "4 values"},
        {"palette-lightness-beyond-100.cgats", "10:9", "100.5"},
        {"palette-lightness-negative.cgats", "10:9", "-1"},
        {"palette-a-out-of-range.cgats", "10:12", "129"},
        {"palette-b-out-of-range.cgats", "10:15", "-128.5"},
        {"palette-id-twice.cgats", "11:1", "line 9"},
        {"palette-mark-and-id-twice.cgats", "9:1", "line 8"},
        {"palette-id-too-long.cgats", "10:1", "5 characters"},
        {"palette-id-empty.cgats", "10:1", "empty"},
        {"palette-id-with-blank.cgats", "10:1", "U+0020"},
        {"palette-id-without-width.cgats", "10:1", "U+200B"},
        {"palette-column-missing.cgats", "5", "not all of LAB_L"},
        {"palette-column-twice.cgats", "5", "LAB_A twice"},
        {"palette-id-column-missing.cgats", "5", "SAMPLE_ID"},
        {"palette-xyz-only.cgats", "5", "XYZ, but no Lab"},
        {"palette-spectra-only.cgats", "5", "spectra, but no Lab"},
        {"palette-include.cgats", "2:1", "another file"},
        {"palette-include-in-data.cgats", "10:1", "another file"},
        {"palette-include-behind-number.cgats", "10:19", "another file"},
        {"palette-format-missing.cgats", "3:1", "BEGIN_DATA_FORMAT"},
        {"palette-format-not-ended.cgats", "7:1", "END_DATA_FORMAT"},
        {"palette-data-missing.cgats", "8:1", "no BEGIN_DATA"},
        {"palette-data-not-ended.cgats", "12:1", "END_DATA is missing"},
        {"palette-data-empty.cgats", "8", "no data"},
        {"palette-only-a-first-line.cgats", "2:1", "BEGIN_DATA_FORMAT"},
        {"palette-quote-not-closed.cgats", "10:4", "not closed"},
        {"palette-name-not-quoted.cgats", "10:4", "beyond ASCII"},
        {"palette-name-too-long.cgats", "10:4", "120 bytes"},
        {"palette-header-broken.cgats", "2", "expected keyword"}, /* lcms2's words */
        {"palette-weighting-broken.cgats", "2", "WEIGHTING_FUNCTION"},
        {"palette-control-character.cgats", "10:7", "control"},
        {"palette-not-utf8.cgats", "10:7", "UTF-8"},
        {"palette-utf16.cgats", "1:1", "UTF-16"},
        {"palette-too-many.cgats", "263:1", "254"},
        {"palette-empty.csv", "1:1", "empty"},
        {"palette-no-colour.csv", "1", "no colour"},
        {"palette-id-column-missing.csv", "1", "no column id"},
        {"palette-colour-columns-missing.csv", "1", "none"},
        {"palette-b-column-missing.csv", "1", "only some"},
        {"palette-semicolons.csv", "1:1", "commas"},
        {"palette-tabs.csv", "1:1", "commas"},
        {"palette-decimal-comma.csv", "2:8", "decimal comma"},
        {"palette-decimal-comma-bare.csv", "2:16", "decimals with a point"},
        {"palette-nan.csv", "2:11", "NaN"},
        {"palette-value-empty.csv", "3:9", "empty"},
        {"palette-lightness-beyond-100.csv", "2:8", "101"},
        {"palette-id-twice.csv", "4:1", "line 2"},
        {"palette-id-empty.csv", "2:1", "empty"},
        {"palette-id-too-long.csv", "3:1", "5 characters"},
        {"palette-id-with-tab.csv", "2:1", "U+0009"},
        {"palette-id-without-width.csv", "2:1", "U+202E"},
        {"palette-name-of-two-lines.csv", "2:4", "line end"},
        {"palette-hex-too-short.csv", "2:8", "#c00"},
        {"palette-hex-not-hexadecimal.csv", "2:8", "#c0g000"},
        {"palette-hex-empty.csv", "3:9", "hex"},
        {"palette-too-many.csv", "256:1", "254"},
        {"palette-not-text.csv", "1:3", "control"},
        {"palette-other-format.csv", "1", "CGATS.17"},
    };
    check_bad_files(bad, sizeof bad / sizeof *bad, "palette-", read_palette);
}

static void most_colours(void **state)
{
    (void)state;
    char text[16384] = "id,L,a,b\n";
    for (int i = 0; i < PALETTE_MOST; i++)
        sprintf(text + strlen(text), "%d,%d.5,%d,0.25\n", i, i % 100, i - 127);
    const Palette palette = parse(text, NULL);
    assert_int_equal(palette.count, PALETTE_MOST);
    assert_int_equal(palette_find(&palette, "253"), 253);
}

static void not_read(void **state)
{
    (void)state;
    Palette palette;
    Fault fault = {0};
    assert_int_equal(palette_read(&palette, "palettes/none.csv", NULL, &fault), STATUS_NO_INPUT);
    assert_non_null(strstr(fault.text, "palettes/none.csv: "));
    assert_int_equal(palette_read(&palette, "/dev/zero", NULL, &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "16 MiB"));
}

/* ---- Writing ---- */

static void check_written(const Palette *palette)
{
    Palette again;
    char *first, *second;
    size_t length, again_length;
    Fault fault = {0};
    assert_int_equal(palette_write_cgats(&first, &length, palette, "a \"test\"", &fault),
                     STATUS_OK);
    assert_int_equal(palette_write_cgats(&second, &again_length, palette, "a \"test\"", NULL),
                     STATUS_OK);
    assert_int_equal(length, again_length);
    assert_memory_equal(first, second, length + 1);
    assert_null(strstr(first, "CREATED"));
    if (palette_parse(&again, first, length, "written", NULL, &fault))
        print_error("%s\n", fault.text);
    assert_int_equal(again.count, palette->count);
    for (int i = 0; i < palette->count; i++) {
        const Colour *a = &palette->colour[i], *b = &again.colour[i];
        assert_string_equal(a->id, b->id);
        assert_string_equal(a->name, b->name);
        assert_memory_equal(&a->lab, &b->lab, sizeof(Lab));
        assert_memory_equal(a->srgb, b->srgb, 3);
    }
    memory_free(first);
    memory_free(second);
}

/* Reading what was written gives the same to the last bit, in a locale with a decimal
 * comma, too, where the machine has one. */
static void there_and_back(void **state)
{
    (void)state;
    Palette palette;
    assert_int_equal(palette_default(&palette, NULL), STATUS_OK);
    check_written(&palette);
    palette = parse("id,name,L,a,b\n007,,0.1,-0.30000000000000004,1e-9\n"
                    "it's,it's a name,33.333333333333336,127.99999999999999,-128\n"
                    "\"\"\"q\",\"x\"\"y\",1,2,3\n#,# no comment,4,5,6\n"
                    "\xc3\xa4,\xc3\xa4\xc3\xa4,100,0,0\nEND,END_DATA,7,8,9\n",
                    NULL);
    assert_int_equal(palette.count, 6);
    assert_string_equal(palette.colour[2].id, "\"q");
    check_written(&palette);
    setlocale(LC_ALL, "de_DE.UTF-8");
    check_written(&palette);
    setlocale(LC_ALL, "C");
}

/* CGATS has no escape: said for an id, changed in a name. */
static void unwritable(void **state)
{
    (void)state;
    char *bytes;
    size_t length;
    Fault fault = {0};
    Palette palette = parse("id,name,L,a,b\n\"'\"\"\",x,1,2,3\n", NULL);
    assert_int_equal(palette.count, 1);
    assert_int_equal(palette_write_cgats(&bytes, &length, &palette, "t", &fault), STATUS_DATA);
    assert_non_null(strstr(fault.text, "both kinds of quotes"));
    palette = parse("id,name,L,a,b\nx,\"a \"\"b\"\"\",1,2,3\n", NULL);
    assert_int_equal(palette_write_cgats(&bytes, &length, &palette, "t", &fault), STATUS_OK);
    assert_non_null(strstr(bytes, "\"a 'b'\""));
    memory_free(bytes);
}

static Status write_default(const char *path, Fault *fault)
{
    (void)path;
    char *bytes;
    size_t length;
    Palette palette;
    Status status = palette_default(&palette, fault);
    if (!status) status = palette_write_cgats(&bytes, &length, &palette, "t", fault);
    if (!status) memory_free(bytes);
    return status;
}

static void each_allocation(void **state)
{
    (void)state;
    fail_each_allocation(read_palette, "palettes/greys-8.csv");
    fail_each_allocation(read_palette, "palettes/bricks-48.cgats");
    fail_each_allocation(write_default, "");
}

/* ---- The shipped palettes ---- */

/* The least CIEDE2000 between two colours is what palettes/README.md states, to the 0.05 of its
 * rounding. */
static const struct {
    const char *path;
    int count;
    double closest;
} shipped[] = {{"palettes/bricks-12.csv", 12, 16.5},  {"palettes/bricks-24.cgats", 24, 7.7},
               {"palettes/bricks-48.cgats", 48, 6.5}, {"palettes/bricks-96.csv", 96, 5.4},
               {"palettes/earths-30.csv", 30, 6.1},   {"palettes/greys-8.csv", 8, 7.7}};
enum { SHIPPED = sizeof shipped / sizeof *shipped };

static double difference(Lab a, Lab b)
{
    const cmsCIELab x = {a.L, a.a, a.b}, y = {b.L, b.a, b.b};
    return cmsCIE2000DeltaE(&x, &y, 1, 1, 1);
}

/* The id's rule that palettes/README.md states, written out anew. */
static void rule_id(char out[16], Lab lab)
{
    static const double end[] = {15, 48, 75, 102, 135, 175, 210, 250, 285, 312, 340, 360};
    const double chroma = hypot(lab.a, lab.b);
    double hue = atan2(lab.b, lab.a) * 180 / 3.14159265358979;
    int sector = 0;
    if (hue < 0) hue += 360;
    while (hue >= end[sector]) sector++;
    if (chroma < 3)
        sprintf(out, "N%d", (int)lab.L / 10);
    else
        sprintf(out, "%c%d%c", "MROYLGTCBVPM"[sector], (int)lab.L / 10,
                chroma < 20   ? 'w'
                : chroma < 45 ? 'm'
                              : 's');
}

/* Words of the ISCC-NBS system of colour names: hues, modifiers, neutrals. */
static int is_vocabulary(const char *word)
{
    static const char *const words[] = {
        "vivid",  "brilliant", "strong",  "deep",    "light",    "moderate",  "dark",
        "pale",   "very",      "medium",  "greyish", "blackish", "pink",      "red",
        "orange", "brown",     "yellow",  "olive",   "green",    "blue",      "violet",
        "purple", "white",     "grey",    "black",   "reddish",  "yellowish", "greenish",
        "bluish", "purplish",  "pinkish", "brownish"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(word, words[i]) == 0) return 1;
    return 0;
}

static void check_name(const char *name)
{
    char copy[128];
    snprintf(copy, sizeof copy, "%s", name);
    assert_true(*copy);
    for (char *word = strtok(copy, " "); word; word = strtok(NULL, " ")) {
        if (!is_vocabulary(word)) print_error("%s\n", word);
        assert_true(is_vocabulary(word));
    }
}

/* The bounds that palettes/README.md states. Within sRGB with a margin: what 8 bits show differs
 * from the colour by their rounding, less than 0.6 CIEDE2000 (by lcms2); a clipped channel would
 * make it more. */
static void check_gamut(const Colour *colour)
{
    assert_true(colour->lab.L >= 10 && colour->lab.L <= 94);
    assert_true(hypot(colour->lab.a, colour->lab.b) <= 82);
    for (int i = 0; i < 3; i++) assert_true(colour->srgb[i] >= 13 && colour->srgb[i] <= 243);
    assert_true(difference(colour->lab, lab_from_srgb8(colour->srgb)) < 0.6);
}

static void shipped_palettes(void **state)
{
    (void)state;
    for (int p = 0; p < SHIPPED; p++) {
        Palette palette;
        Notes notes = {""};
        const Voice voice = {.self = &notes, .note = take_note};
        Fault fault = {0};
        assert_int_equal(palette_read(&palette, shipped[p].path, &voice, &fault), STATUS_OK);
        assert_string_equal(notes.text, "");
        assert_int_equal(palette.count, shipped[p].count);
        double least = 100;
        for (int i = 0; i < palette.count; i++) {
            const Colour *colour = &palette.colour[i];
            char id[16];
            rule_id(id, colour->lab);
            assert_string_equal(colour->id, id);
            check_name(colour->name);
            check_gamut(colour);
            for (int j = 0; j < i; j++) {
                assert_string_not_equal(colour->name, palette.colour[j].name);
                least = fmin(least, difference(colour->lab, palette.colour[j].lab));
            }
        }
        assert_true(fabs(least - shipped[p].closest) <= 0.05);
        if (palette.count == 48) assert_true(least >= 5.5); /* hands tell them apart */
        assert_true(palette_find(&palette, "N1") >= 0 && palette_find(&palette, "N9") >= 0);
    }
}

/* An id means one colour in all of them; the larger hold the smaller, the 96 all others. */
static void one_family(void **state)
{
    (void)state;
    static Palette palette[SHIPPED];
    for (int p = 0; p < SHIPPED; p++)
        assert_int_equal(palette_read(&palette[p], shipped[p].path, NULL, NULL), STATUS_OK);
    for (int p = 0; p < SHIPPED; p++)
        for (int q = 0; q < SHIPPED; q++) {
            int shared = 0;
            for (int i = 0; i < palette[p].count; i++) {
                const int j = palette_find(&palette[q], palette[p].colour[i].id);
                if (j < 0) continue;
                shared++;
                assert_memory_equal(&palette[p].colour[i], &palette[q].colour[j], sizeof(Colour));
            }
            if ((p < q && q < 4) || palette[q].count == 96)
                assert_int_equal(shared, palette[p].count);
        }
}

/* How far the nearest colour of the shipped palette is, by lcms2. */
static double nearest(const char *path, Lab lab)
{
    Palette palette;
    assert_int_equal(palette_read(&palette, path, NULL, NULL), STATUS_OK);
    double least = 100;
    for (int i = 0; i < palette.count; i++)
        least = fmin(least, difference(palette.colour[i].lab, lab));
    return least;
}

/* The places that palettes/README.md gives the anchors are held, so that neither vivid pictures
 * nor skin meet a gap. */
static void anchors(void **state)
{
    (void)state;
    static const struct {
        Lab lab;
        const char *path; /* the smallest that has it */
    } place[] = {
        {{43, 62, 36}, "palettes/bricks-12.csv"},    /* red */
        {{82, 6, 78}, "palettes/bricks-12.csv"},     /* yellow */
        {{50, -43, 26}, "palettes/bricks-12.csv"},   /* green */
        {{34, 12, -50}, "palettes/bricks-12.csv"},   /* blue */
        {{63, 42, 62}, "palettes/bricks-24.cgats"},  /* orange */
        {{38, 40, -36}, "palettes/bricks-24.cgats"}, /* purple */
        {{68, -5, -21}, "palettes/bricks-12.csv"},   /* sky */
        {{72, 14, 31}, "palettes/bricks-24.cgats"},  /* skin */
        {{67, 21, 24}, "palettes/bricks-48.cgats"},  /* a flush */
        {{84, 6, 21}, "palettes/bricks-48.cgats"},   /* pale skin */
        {{82, 8, 44}, "palettes/bricks-48.cgats"},   /* varnished skin in light */
        {{47, 12, -13}, "palettes/bricks-48.cgats"}, /* greyish purple */
        {{56, -35, -6}, "palettes/bricks-96.csv"},   /* bluish green */
        {{58, -18, -34}, "palettes/bricks-96.csv"},  /* brilliant blue */
        {{58, 48, -5}, "palettes/bricks-96.csv"},    /* pink */
        {{84, -22, 58}, "palettes/bricks-96.csv"},   /* yellow green */
        {{55, 55, -50}, "palettes/bricks-96.csv"},   /* violet */
        {{32, 43, -69}, "palettes/bricks-96.csv"},   /* the violet of most chroma */
    };
    for (size_t i = 0; i < sizeof place / sizeof *place; i++)
        assert_true(nearest(place[i].path, place[i].lab) <= 3.1);
    /* A light pinkish tan lies among the pale colours, not at one of them. */
    assert_true(nearest("palettes/bricks-48.cgats", (Lab){79, 3, 5}) < 5.6);
}

static void built_in(void **state)
{
    (void)state;
    Palette inside, file;
    Fault fault = {0};
    assert_int_equal(palette_default(&inside, &fault), STATUS_OK);
    assert_int_equal(palette_read(&file, "palettes/bricks-48.cgats", NULL, &fault), STATUS_OK);
    assert_int_equal(inside.count, 48);
    assert_int_equal(file.count, 48);
    for (int i = 0; i < 48; i++)
        assert_memory_equal(&inside.colour[i], &file.colour[i], sizeof(Colour));
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

static void fuzz_folder(const char *folder_path)
{
    DIR *folder = opendir(folder_path);
    assert_non_null(folder);
    for (struct dirent *entry; (entry = readdir(folder));) {
        char path[512], *bytes;
        size_t length;
        snprintf(path, sizeof path, "%s/%s", folder_path, entry->d_name);
        if (entry->d_name[0] == '.' || text_read(&bytes, &length, path, NULL)) continue;
        for (size_t cut = 0; cut < length; cut += 1 + length / 23) fuzz_exactly(bytes, cut);
        fuzz_exactly(bytes, length);
        memory_free(bytes);
    }
    closedir(folder);
}

/* The corpus of the fuzzer, whole and cut short. */
static void fuzz_corpus(void **state)
{
    (void)state;
    fuzz_folder("tests/data/bad");
    fuzz_folder("palettes");
}

/* STDEV_DE (CGATS.17, annex of data format identifiers) goes in and out, and tells how sure all
 * are: of 1 and 2 the root mean square is 1.58. */
static void stdev_is_kept(void **state)
{
    (void)state;
    static const char text[] = "CGATS.17\nNUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\n"
                               "SAMPLE_ID LAB_L LAB_A LAB_B STDEV_DE\nEND_DATA_FORMAT\n"
                               "NUMBER_OF_SETS 2\nBEGIN_DATA\nA 50 0 0 1\nB 60 1 2 %s\nEND_DATA\n";
    static Palette palette, again;
    char given[400], *bytes;
    size_t length;
    snprintf(given, sizeof given, text, "2");
    assert_int_equal(palette_parse(&palette, given, strlen(given), "two", NULL, NULL), 0);
    assert_true(fabs(palette_within(&palette, 2) - PALETTE_WITHIN * sqrt(2.5)) < 1e-12);
    assert_int_equal(palette_write_cgats(&bytes, &length, &palette, "two", NULL), 0);
    assert_non_null(strstr(bytes, "STDEV_DE"));
    assert_int_equal(palette_parse(&again, bytes, length, "again", NULL, NULL), 0);
    memory_free(bytes);
    assert_true(again.colour[0].stdev_de == 1 && again.colour[1].stdev_de == 2);
    again.colour[1].stdev_de = 0;
    assert_true(palette_within(&again, 2) == 0 && palette_within(&again, 1) > 0);
    snprintf(given, sizeof given, text, "-2");
    assert_int_equal(palette_parse(&palette, given, strlen(given), "two", NULL, NULL), STATUS_DATA);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stdev_is_kept),   cmocka_unit_test(patches_24),
        cmocka_unit_test(accepted_cgats),  cmocka_unit_test(noted_cgats),
        cmocka_unit_test(csv_colours),     cmocka_unit_test(bad_files),
        cmocka_unit_test(most_colours),    cmocka_unit_test(not_read),
        cmocka_unit_test(there_and_back),  cmocka_unit_test(unwritable),
        cmocka_unit_test(each_allocation), cmocka_unit_test(shipped_palettes),
        cmocka_unit_test(one_family),      cmocka_unit_test(anchors),
        cmocka_unit_test(built_in),        cmocka_unit_test(fuzz_corpus),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
