/* PNG: every kind of pixel against codes that the test itself wrote, colour against
 * lcms2 and the published values of methods B4, chunks in the order of the standard. */
#include <lcms2.h>
#include <png.h>

#include "support/stills.h"

typedef struct Recipe {
    int type, interlace;
    const uint8_t *key; /* tRNS, raw */
    int key_length;
    const png_color *palette;
    int palette_length;
} Recipe;

static void png_write(const char *path, const Codes *codes, const Recipe *recipe)
{
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    if (setjmp(png_jmpbuf(png))) fail();
    png_init_io(png, file);
    png_set_compression_level(png, 1);
    png_set_IHDR(png, info, (png_uint_32)codes->width, (png_uint_32)codes->height, codes->bits,
                 recipe->type, recipe->interlace, PNG_COMPRESSION_TYPE_BASE, PNG_FILTER_TYPE_BASE);
    if (recipe->palette) png_set_PLTE(png, info, recipe->palette, recipe->palette_length);
    png_write_info(png, info);
    if (recipe->key)
        png_write_chunk(png, (png_const_bytep) "tRNS", recipe->key, (size_t)recipe->key_length);
    const size_t most = (size_t)codes->width * (size_t)codes->samples * 2;
    uint8_t *row = malloc(most);
    const int passes = recipe->interlace ? png_set_interlace_handling(png) : 1;
    for (int pass = 0; pass < passes; pass++)
        for (int y = 0; y < codes->height; y++) {
            codes_row(codes, y, true, row);
            png_write_row(png, row);
        }
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    free(row);
    fclose(file);
}

/* ---- Chunks put in by hand ---- */

static uint32_t crc_of(const uint8_t *bytes, size_t length)
{
    uint32_t crc = 0xffffffffU;
    for (size_t i = 0; i < length; i++) {
        crc ^= bytes[i];
        for (int k = 0; k < 8; k++) crc = crc & 1 ? 0xedb88320U ^ crc >> 1 : crc >> 1;
    }
    return ~crc;
}

static void put32(uint8_t *at, uint32_t value)
{
    for (int i = 0; i < 4; i++) at[i] = (uint8_t)(value >> (24 - 8 * i));
}

/* Puts a chunk right after IHDR (so the last one put in comes first). */
static void chunk_insert(const char *path, const char *name, const void *data, size_t length)
{
    size_t size;
    uint8_t *bytes = bytes_load(path, &size);
    const size_t head = 8 + 25;
    memmove(bytes + head + length + 12, bytes + head, size - head);
    put32(bytes + head, (uint32_t)length);
    memcpy(bytes + head + 4, name, 4);
    if (length) memcpy(bytes + head + 8, data, length);
    put32(bytes + head + 8 + length, crc_of(bytes + head + 4, length + 4));
    bytes_write(path, bytes, size + length + 12);
    free(bytes);
}

/* iCCP with stored (not compressed) deflate blocks: RFC 1950 and 1951. */
static void iccp_insert(const char *path, const uint8_t *icc, size_t length)
{
    uint8_t *chunk = malloc(length + length / 1000 + 100);
    size_t at = 0;
    memcpy(chunk, "icc\0\0\x78\x01", 7);
    at = 7;
    uint32_t a = 1, b = 0;
    for (size_t i = 0; i < length; i++) b = (b + (a = (a + icc[i]) % 65521)) % 65521;
    for (size_t done = 0; done < length;) {
        const size_t part = length - done < 65535 ? length - done : 65535;
        chunk[at++] = done + part == length;
        chunk[at++] = (uint8_t)part;
        chunk[at++] = (uint8_t)(part >> 8);
        chunk[at++] = (uint8_t)~part;
        chunk[at++] = (uint8_t)(~part >> 8);
        memcpy(chunk + at, icc + done, part);
        at += part;
        done += part;
    }
    put32(chunk + at, b << 16 | a);
    chunk_insert(path, "iCCP", chunk, at + 4);
    free(chunk);
}

static void gama_insert(const char *path, double gamma)
{
    uint8_t data[4];
    put32(data, (uint32_t)(gamma * 100000.0 + 0.5));
    chunk_insert(path, "gAMA", data, 4);
}

static void chrm_insert(const char *path, const double xy[8])
{
    uint8_t data[32];
    for (int i = 0; i < 8; i++) put32(data + 4 * i, (uint32_t)(xy[i] * 100000.0 + 0.5));
    chunk_insert(path, "cHRM", data, 32);
}

static const Recipe rgb_recipe = {.type = PNG_COLOR_TYPE_RGB};

/* ---- Pixels ---- */

static png_color palette[256];
static const uint8_t palette_alpha[3] = {0, 100, 255};

/* What pixel (x, y) must be, straight from the codes and the definition of each kind. */
static Xyz expected(const Codes *codes, const Recipe *recipe, int x, int y)
{
    double r, g, b, alpha = 1.0;
    const int first = codes->code[(y * codes->width + x) * codes->samples];
    if (recipe->type == PNG_COLOR_TYPE_PALETTE) {
        const png_color *entry = &palette[first];
        r = entry->red / 255.0, g = entry->green / 255.0, b = entry->blue / 255.0;
        if (recipe->key && first < recipe->key_length) alpha = palette_alpha[first] / 255.0;
    } else {
        const bool colour = recipe->type & PNG_COLOR_MASK_COLOR;
        r = code_of(codes, x, y, 0);
        g = colour ? code_of(codes, x, y, 1) : r;
        b = colour ? code_of(codes, x, y, 2) : r;
        if (recipe->type & PNG_COLOR_MASK_ALPHA) alpha = code_of(codes, x, y, codes->samples - 1);
        if (recipe->key) { /* the key is the first pixel's colour */
            bool same = true;
            for (int c = 0; c < codes->samples; c++)
                same = same && code_of(codes, x, y, c) == code_of(codes, 0, 0, c);
            if (same) alpha = 0.0;
        }
    }
    const Xyz front = xyz_of_srgb(r, g, b), back = xyz_of_srgb(1.0, 0.5019607843137255, 0.0);
    return (Xyz){alpha * front.x + (1.0 - alpha) * back.x, alpha * front.y + (1.0 - alpha) * back.y,
                 alpha * front.z + (1.0 - alpha) * back.z};
}

static int samples_of(int type)
{
    return (type == PNG_COLOR_TYPE_PALETTE ? 1
            : type & PNG_COLOR_MASK_COLOR  ? 3
                                           : 1) +
           (type & PNG_COLOR_MASK_ALPHA ? 1 : 0);
}

/* Every kind and depth, with and without a transparent colour, interlaced or not: the
 * pixels as the standard defines them; interlaced the same as not, to the bit. */
static void test_every_kind(void **state)
{
    (void)state;
    static const int kinds[][2] = {{PNG_COLOR_TYPE_GRAY, 1},        {PNG_COLOR_TYPE_GRAY, 2},
                                   {PNG_COLOR_TYPE_GRAY, 4},        {PNG_COLOR_TYPE_GRAY, 8},
                                   {PNG_COLOR_TYPE_GRAY, 16},       {PNG_COLOR_TYPE_RGB, 8},
                                   {PNG_COLOR_TYPE_RGB, 16},        {PNG_COLOR_TYPE_PALETTE, 1},
                                   {PNG_COLOR_TYPE_PALETTE, 2},     {PNG_COLOR_TYPE_PALETTE, 4},
                                   {PNG_COLOR_TYPE_PALETTE, 8},     {PNG_COLOR_TYPE_GRAY_ALPHA, 8},
                                   {PNG_COLOR_TYPE_GRAY_ALPHA, 16}, {PNG_COLOR_TYPE_RGB_ALPHA, 8},
                                   {PNG_COLOR_TYPE_RGB_ALPHA, 16}};
    const PictureOptions options = {
        .limit_pixels = 1e6, .limit_bytes = 1e9, .ground = {255, 128, 0}};
    uint32_t seed = 7;
    for (int i = 0; i < 256; i++)
        palette[i] =
            (png_color){(png_byte)chance(&seed), (png_byte)chance(&seed), (png_byte)chance(&seed)};
    for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++)
        for (int keyed = 0; keyed < 2; keyed++) {
            Recipe recipe = {.type = kinds[k][0]};
            Codes codes = codes_create(13, 11, samples_of(recipe.type), kinds[k][1], (uint32_t)k);
            uint8_t key[6];
            for (int c = 0; c < codes.samples && c < 3; c++) {
                key[2 * c] = (uint8_t)(codes.code[c] >> 8);
                key[2 * c + 1] = (uint8_t)codes.code[c];
            }
            if (keyed && recipe.type & PNG_COLOR_MASK_ALPHA) {
                free(codes.code);
                continue;
            }
            if (recipe.type == PNG_COLOR_TYPE_PALETTE) {
                recipe.palette = palette;
                recipe.palette_length = 1 << codes.bits;
            }
            if (keyed) {
                recipe.key = recipe.palette ? palette_alpha : key;
                recipe.key_length = recipe.palette ? codes.bits == 1 ? 2 : 3 : 2 * codes.samples;
            }
            const char *path = in_folder("kind.png");
            png_write(path, &codes, &recipe);
            Cells cells = cells_png_read(path, &options, 0, 0);
            for (int y = 0; y < codes.height; y++)
                for (int x = 0; x < codes.width; x++)
                    assert_xyz(cells_xyz(&cells, x, y), expected(&codes, &recipe, x, y), 2e-7,
                               path);
            recipe.interlace = PNG_INTERLACE_ADAM7;
            png_write(path, &codes, &recipe);
            Cells laced = cells_png_read(path, &options, 0, 0);
            assert_memory_equal(cells.value, laced.value, 13 * 11 * 3 * sizeof(float));
            cells_free(&cells);
            cells_free(&laced);
            free(codes.code);
        }
}

/* Lab of 13 colours, ICC D50: published in methods B4, and lcms2 beside it. */
static void test_lab_values(void **state)
{
    (void)state;
    static const uint16_t rgb[] = {255, 255, 255, 255, 0,   0,   0,   255, 0,   0,   0,   255, 0,
                                   255, 255, 255, 0,   255, 255, 255, 0,   119, 119, 119, 128, 128,
                                   128, 188, 188, 188, 10,  10,  10,  11,  11,  11,  200, 100, 50};
    static const Lab published[] = {{100, 0, 0},
                                    {54.289632, 80.814356, 69.889742},
                                    {87.819406, -79.274942, 80.992723},
                                    {29.565939, 68.286208, -112.032919},
                                    {90.666407, -50.663054, -14.961013},
                                    {60.167321, 93.546663, -60.502719},
                                    {97.607388, -15.747929, 93.391258},
                                    {50.034439, 0, 0},
                                    {53.585013, 0, 0},
                                    {76.246091, 0, 0},
                                    {2.741748, 0, 0},
                                    {3.022913, 0, 0},
                                    {54.217117, 38.202862, 46.248097}};
    Codes codes = {13, 1, 3, 8, malloc(sizeof rgb)};
    memcpy(codes.code, rgb, sizeof rgb);
    png_write(in_folder("b4.png"), &codes, &rgb_recipe);
    chunk_insert(in_folder("b4.png"), "sRGB", "", 1);
    Cells cells = cells_png_read(in_folder("b4.png"), NULL, 0, 0);
    assert_string_equal(cells.facts.profile, "sRGB");
    assert_string_equal(cells.heard.text, "");
    cmsHPROFILE srgb = cmsCreate_sRGBProfile(), lab = cmsCreateLab4Profile(NULL);
    cmsHTRANSFORM transform =
        cmsCreateTransform(srgb, TYPE_RGB_DBL, lab, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC, 0);
    for (int i = 0; i < 13; i++) {
        const Lab got = lab_from_xyz(cells_xyz(&cells, i, 0));
        const double code[3] = {rgb[3 * i] / 255.0, rgb[3 * i + 1] / 255.0, rgb[3 * i + 2] / 255.0};
        double theirs[3];
        cmsDoTransform(transform, code, theirs, 1);
        assert_true(fabs(got.L - published[i].L) < 2e-5 && fabs(got.a - published[i].a) < 1e-4 &&
                    fabs(got.b - published[i].b) < 1e-4);
        assert_true(fabs(got.L - theirs[0]) < 2e-4 && fabs(got.a - theirs[1]) < 2e-3 &&
                    fabs(got.b - theirs[2]) < 2e-3);
    }
    cmsDeleteTransform(transform);
    cmsCloseProfile(srgb);
    cmsCloseProfile(lab);
    cells_free(&cells);
    free(codes.code);
}

/* Data: codes as numbers, all 16 bits, no curve; transparent is 0. */
static void test_data(void **state)
{
    (void)state;
    const PictureOptions data = {.limit_pixels = 1e6, .limit_bytes = 1e9, .data = true};
    for (int samples = 1; samples <= 4; samples++) {
        static const int types[] = {0, PNG_COLOR_TYPE_GRAY, PNG_COLOR_TYPE_GRAY_ALPHA,
                                    PNG_COLOR_TYPE_RGB, PNG_COLOR_TYPE_RGB_ALPHA};
        Codes codes = codes_create(8, 5, samples, 16, 3);
        png_write(in_folder("depth.png"), &codes, &(Recipe){.type = types[samples]});
        Cells cells = cells_png_read(in_folder("depth.png"), &data, 0, 0);
        for (int y = 0; y < 5; y++)
            for (int x = 0; x < 8; x++) {
                double want = code_of(&codes, x, y, 0);
                if (samples >= 3) /* Rec. 709 luma */
                    want = 0.2126 * want + 0.7152 * code_of(&codes, x, y, 1) +
                           0.0722 * code_of(&codes, x, y, 2);
                if (samples % 2 == 0) want *= code_of(&codes, x, y, samples - 1);
                assert_true(fabs(cells_number(&cells, x, y) - want) < 1e-7);
            }
        assert_string_equal(cells.heard.text, "");
        cells_free(&cells);
        free(codes.code);
    }
}

static void test_exif_orientation(void **state)
{
    (void)state;
    Codes codes = codes_create(5, 3, 3, 8, 4);
    for (uint8_t turned = 1; turned <= 8; turned++) {
        const uint8_t exif[] = {'M', 'M', 0, 42, 0, 0, 0,      8, 0, 1, 1, 0x12, 0,
                                3,   0,   0, 0,  1, 0, turned, 0, 0, 0, 0, 0,    0};
        png_write(in_folder("turned.png"), &codes, &rgb_recipe);
        chunk_insert(in_folder("turned.png"), "eXIf", exif, sizeof exif);
        Cells cells = cells_png_read(in_folder("turned.png"), NULL, 0, 0);
        assert_int_equal(cells.columns, turned < 5 ? 5 : 3);
        assert_int_equal(cells.facts.width, cells.columns);
        /* Where the stored top left pixel is to be seen. */
        const int right = cells.columns - 1, bottom = cells.rows - 1;
        const int x = turned == 2 || turned == 3 || turned == 6 || turned == 7 ? right : 0;
        const int y = turned == 3 || turned == 4 || turned == 7 || turned == 8 ? bottom : 0;
        assert_xyz(cells_xyz(&cells, x, y),
                   xyz_of_srgb(code_of(&codes, 0, 0, 0), code_of(&codes, 0, 0, 1),
                               code_of(&codes, 0, 0, 2)),
                   2e-7, "corner");
        cells_free(&cells);
    }
    free(codes.code);
}

/* ---- Colour ---- */

typedef struct Curve {
    cmsUInt32Number type; /* ICC parametric curve type, from 1 */
    double parameter[5];
} Curve;

/* A file of random colours read against an RGB profile that lcms2 makes of primaries and
 * a parametric curve. */
static void assert_like_profile(const char *path, const Codes *codes, const double xy[8],
                                const Curve *how, double slack)
{
    const cmsCIExyY white = {xy[0], xy[1], 1.0};
    const cmsCIExyYTRIPLE primaries = {
        {xy[2], xy[3], 1.0}, {xy[4], xy[5], 1.0}, {xy[6], xy[7], 1.0}};
    cmsToneCurve *curve =
        cmsBuildParametricToneCurve(NULL, (cmsInt32Number)how->type, how->parameter);
    cmsToneCurve *curves[3] = {curve, curve, curve};
    cmsHPROFILE from = cmsCreateRGBProfile(&white, &primaries, curves);
    cmsHPROFILE to = cmsCreateXYZProfile();
    cmsHTRANSFORM transform =
        cmsCreateTransform(from, TYPE_RGB_DBL, to, TYPE_XYZ_DBL, INTENT_RELATIVE_COLORIMETRIC, 0);
    Cells cells = cells_png_read(path, NULL, 0, 0);
    for (int y = 0; y < codes->height; y++)
        for (int x = 0; x < codes->width; x++) {
            const double code[3] = {code_of(codes, x, y, 0), code_of(codes, x, y, 1),
                                    code_of(codes, x, y, 2)};
            double xyz[3];
            cmsDoTransform(transform, code, xyz, 1);
            assert_xyz(cells_xyz(&cells, x, y), (Xyz){xyz[0], xyz[1], xyz[2]}, slack, path);
        }
    cells_free(&cells);
    cmsDeleteTransform(transform);
    cmsCloseProfile(from);
    cmsCloseProfile(to);
    cmsFreeToneCurve(curve);
}

#define XY_SRGB 0.3127, 0.3290, 0.64, 0.33, 0.30, 0.60, 0.15, 0.06
#define XY_P3 0.3127, 0.3290, 0.680, 0.320, 0.265, 0.690, 0.150, 0.060
#define XY_2020 0.3127, 0.3290, 0.708, 0.292, 0.170, 0.797, 0.131, 0.046

static const Curve curve_srgb = {4, {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045}};
static const Curve curve_709 = {
    4,
    {1 / 0.45, 1 / 1.09929682680944, 0.09929682680944 / 1.09929682680944, 1 / 4.5, 0.0812428583}};

/* H.273 code points that a picture can hold: against lcms2's primaries and curves. */
static void test_cicp(void **state)
{
    (void)state;
    static const struct {
        uint8_t cicp[4];
        double xy[8];
        Curve curve;
    } cases[] = {
        {{1, 13, 0, 1}, {XY_SRGB}, {4, {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045}}},
        {{12, 13, 0, 1}, {XY_P3}, {4, {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045}}},
        {{9, 8, 0, 1}, {XY_2020}, {1, {1.0}}},
        {{9, 14, 0, 1}, {XY_2020}, {1, {0}}},
        {{1, 1, 0, 1}, {XY_SRGB}, {1, {0}}},
        {{9, 15, 0, 1}, {XY_2020}, {1, {0}}},
        {{12, 4, 0, 1}, {XY_P3}, {1, {2.2}}},
        {{1, 5, 0, 1}, {XY_SRGB}, {1, {2.8}}}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        for (int bits = 8; bits <= 16; bits += 8) {
            Codes codes = codes_create(9, 7, 3, bits, (uint32_t)i);
            const char *path = in_folder("cicp.png");
            png_write(path, &codes, &rgb_recipe);
            chunk_insert(path, "cICP", cases[i].cicp, 4);
            const Curve *curve = cases[i].curve.parameter[0] != 0.0 ? &cases[i].curve : &curve_709;
            assert_like_profile(path, &codes, cases[i].xy, curve, 2e-6);
            free(codes.code);
        }
}

/* Narrow range: 16 and 235 of 256 (times 256 in 16 bits) are black and white. */
static void test_narrow_range(void **state)
{
    (void)state;
    for (int bits = 8; bits <= 16; bits += 8) {
        const unsigned unit = bits == 8 ? 1 : 256;
        Codes codes = codes_create(4, 1, 1, bits, 0);
        codes.code[0] = (uint16_t)(16 * unit);
        codes.code[1] = (uint16_t)(235 * unit);
        codes.code[2] = (uint16_t)(126 * unit); /* (126 - 16) / 219 */
        codes.code[3] = 3;
        png_write(in_folder("narrow.png"), &codes, &(Recipe){.type = PNG_COLOR_TYPE_GRAY});
        chunk_insert(in_folder("narrow.png"), "cICP", "\x01\x0d\0\0", 4);
        Cells cells = cells_png_read(in_folder("narrow.png"), NULL, 0, 0);
        assert_true(fabs(cells_xyz(&cells, 0, 0).y) < 1e-9);
        assert_true(fabs(cells_xyz(&cells, 1, 0).y - 1.0) < 1e-7);
        assert_true(fabs(cells_xyz(&cells, 2, 0).y - srgb_decode(110.0 / 219.0)) < 1e-7);
        assert_true(fabs(cells_xyz(&cells, 3, 0).y) < 1e-9);
        cells_free(&cells);
        free(codes.code);
    }
}

/* The third edition's table 7: cICP before iCCP before sRGB before gAMA and cHRM,
 * in whatever order they stand in the file. */
static void test_precedence(void **state)
{
    (void)state;
    Codes codes = codes_create(6, 4, 3, 8, 9);
    const double p3[8] = {XY_P3}, srgb[8] = {XY_SRGB};
    size_t length;
    uint8_t *icc = profile_swapped(&length);
    const double swapped[8] = {0.3127, 0.3290, 0.30, 0.60, 0.15, 0.06, 0.64, 0.33};
    const Curve gamma = {1, {1.0 / 0.6}}, swapped_curve = {1, {1.8}};
    for (int order = 0; order < 2; order++)
        for (int level = 0; level < 5; level++) {
            const char *path = in_folder("order.png");
            png_write(path, &codes, &rgb_recipe);
            /* Level 4 has gAMA and cHRM alone, level 0 everything. */
            for (int step = 0; step < 5; step++) {
                const int chunk = order ? 4 - step : step;
                if (chunk == 0 && level <= 0) chunk_insert(path, "cICP", "\x0c\x0d\0\x01", 4);
                if (chunk == 1 && level <= 1) iccp_insert(path, icc, length);
                if (chunk == 2 && level <= 2) chunk_insert(path, "sRGB", "\1", 1);
                if (chunk == 3 && level <= 3) gama_insert(path, 0.6);
                if (chunk == 4 && level <= 4) chrm_insert(path, p3);
            }
            if (level == 0) assert_like_profile(path, &codes, p3, &curve_srgb, 2e-6);
            if (level == 1) assert_like_profile(path, &codes, swapped, &swapped_curve, 1e-4);
            if (level == 2) assert_like_profile(path, &codes, srgb, &curve_srgb, 2e-6);
            if (level == 3) assert_like_profile(path, &codes, p3, &gamma, 2e-6);
            if (level == 4) assert_like_profile(path, &codes, p3, &curve_srgb, 2e-6);
        }
    free(icc);
    free(codes.code);
}

/* What is not recognised is said, and the next in line holds. */
static void test_passed_over(void **state)
{
    (void)state;
    Codes codes = codes_create(6, 4, 3, 8, 9);
    const double srgb[8] = {XY_SRGB};
    const Curve gamma = {1, {1.0 / 0.6}};
    const char *path = in_folder("odd.png");
    png_write(path, &codes, &rgb_recipe);
    gama_insert(path, 0.6);
    chunk_insert(path, "cICP", "\x63\x0d\0\x01", 4); /* primaries 99 */
    assert_like_profile(path, &codes, srgb, &gamma, 2e-6);
    Cells cells = cells_png_read(path, NULL, 1, 1);
    assert_non_null(strstr(cells.heard.text, "cICP"));
    assert_string_equal(cells.facts.profile, "gamma 0.6, sRGB primaries");
    cells_free(&cells);

    png_write(path, &codes, &rgb_recipe);
    gama_insert(path, 0.0);
    chrm_insert(path, (double[8]){0.3, 0.3, 0.1, 0.1, 0.2, 0.2, 0.3, 0.3}); /* on one line */
    assert_like_profile(path, &codes, srgb, &curve_srgb, 2e-6);
    cells = cells_png_read(path, NULL, 1, 1);
    assert_non_null(strstr(cells.heard.text, "gamma"));
    assert_non_null(strstr(cells.heard.text, "primaries"));
    assert_non_null(strstr(cells.heard.text, "sRGB assumed"));
    cells_free(&cells);

    png_write(path, &codes, &rgb_recipe);
    chunk_insert(path, "sRGB", "", 1);
    iccp_insert(path,
                (const uint8_t *)"not a profile at all, but long enough to be looked at; "
                                 "and some more, and some more, and some more, and more "
                                 "until it is as long as a head of 128 bytes and a bit",
                150);
    assert_like_profile(path, &codes, srgb, &curve_srgb, 2e-6);
    cells = cells_png_read(path, NULL, 1, 1);
    assert_non_null(strstr(cells.heard.text, "broken"));
    cells_free(&cells);
    free(codes.code);
}

/* High dynamic range has no one meaning on a wall: a fault, unless a profile stands by. */
static void test_high_range(void **state)
{
    (void)state;
    Codes codes = codes_create(2, 2, 3, 8, 9);
    const PictureOptions options = PICTURE_OPTIONS_DEFAULT;
    for (int transfer = 16; transfer <= 18; transfer += 2) {
        const char *path = in_folder("bright.png");
        Cells cells;
        Fault fault = {0};
        png_write(path, &codes, &rgb_recipe);
        chunk_insert(path, "cICP", (uint8_t[]){9, (uint8_t)transfer, 0, 1}, 4);
        assert_int_equal(cells_try(&cells, path, &options, 0, 0, 1, &fault), STATUS_DATA);
        assert_non_null(strstr(fault.text, "high dynamic range"));
        size_t length;
        uint8_t *icc = profile_swapped(&length);
        iccp_insert(path, icc, length);
        cells = cells_png_read(path, NULL, 0, 0);
        assert_string_equal(cells.facts.profile, "Swapped channels");
        assert_non_null(strstr(cells.heard.text, "cICP"));
        cells_free(&cells);
        free(icc);
    }
    free(codes.code);
}

/* ---- ICC ---- */

/* A profile with swapped channels changes the result as lcms2's own transform says. */
static void test_icc_matrix(void **state)
{
    (void)state;
    size_t length;
    uint8_t *icc = profile_swapped(&length);
    for (int bits = 8; bits <= 16; bits += 8) {
        Codes codes = codes_create(7, 5, 3, bits, 5);
        png_write(in_folder("icc.png"), &codes, &rgb_recipe);
        iccp_insert(in_folder("icc.png"), icc, length);
        Cells cells = cells_png_read(in_folder("icc.png"), NULL, 0, 0);
        assert_string_equal(cells.facts.profile, "Swapped channels");
        assert_string_equal(cells.heard.text, "");
        double furthest = 0.0;
        for (int y = 0; y < 5; y++)
            for (int x = 0; x < 7; x++) {
                const double code[3] = {code_of(&codes, x, y, 0), code_of(&codes, x, y, 1),
                                        code_of(&codes, x, y, 2)};
                const Xyz got = cells_xyz(&cells, x, y);
                assert_xyz(got, xyz_by_lcms(icc, length, TYPE_RGB_DBL, code), 2e-6, "swapped");
                furthest = fmax(furthest, fabs(got.x - xyz_of_srgb(code[0], code[1], code[2]).x));
            }
        assert_true(furthest > 0.1);
        cells_free(&cells);
        free(codes.code);
    }
    free(icc);
}

/* Curves given as tables, a different one for each channel; and dark codes. */
static void test_icc_tables(void **state)
{
    (void)state;
    cmsUInt16Number table[3][100];
    cmsToneCurve *curves[3];
    for (int c = 0; c < 3; c++) {
        for (int i = 0; i < 100; i++)
            table[c][i] = (cmsUInt16Number)(65535.0 * pow(i / 99.0, 1.5 + 0.5 * c) + 0.5);
        curves[c] = cmsBuildTabulatedToneCurve16(NULL, 100, table[c]);
    }
    const cmsCIExyY white = {0.3127, 0.3290, 1.0};
    const cmsCIExyYTRIPLE primaries = {{0.64, 0.33, 1.0}, {0.3, 0.6, 1.0}, {0.15, 0.06, 1.0}};
    size_t length;
    uint8_t *icc = profile_save(cmsCreateRGBProfile(&white, &primaries, curves), &length);
    cmsFreeToneCurveTriple(curves);
    Codes codes = codes_create(16, 16, 3, 16, 5);
    for (uint16_t i = 0; i < 16; i++) codes.code[i] = i; /* dark */
    png_write(in_folder("table.png"), &codes, &rgb_recipe);
    iccp_insert(in_folder("table.png"), icc, length);
    Cells cells = cells_png_read(in_folder("table.png"), NULL, 0, 0);
    for (int y = 0; y < 16; y++)
        for (int x = 0; x < 16; x++) {
            const double code[3] = {code_of(&codes, x, y, 0), code_of(&codes, x, y, 1),
                                    code_of(&codes, x, y, 2)};
            /* lcms2 rounds its tables' results to 16 bits. */
            assert_xyz(cells_xyz(&cells, x, y), xyz_by_lcms(icc, length, TYPE_RGB_DBL, code), 2e-5,
                       "tables");
        }
    cells_free(&cells);
    free(codes.code);
    free(icc);
}

/* A profile that is a table: every pixel as lcms2's own transform has it; alpha too. */
static void test_icc_lut(void **state)
{
    (void)state;
    size_t length;
    uint8_t *icc = profile_by_table(3, 9, "By table", &length);
    for (int bits = 8; bits <= 16; bits += 8)
        for (int samples = 3; samples <= 4; samples++) {
            Codes codes = codes_create(7, 5, samples, bits, 5);
            const Recipe recipe = {.type = samples == 3 ? PNG_COLOR_TYPE_RGB
                                                        : PNG_COLOR_TYPE_RGB_ALPHA};
            png_write(in_folder("lut.png"), &codes, &recipe);
            iccp_insert(in_folder("lut.png"), icc, length);
            Cells cells = cells_png_read(in_folder("lut.png"), NULL, 0, 0);
            assert_string_equal(cells.facts.profile, "By table");
            for (int y = 0; y < 5; y++)
                for (int x = 0; x < 7; x++) {
                    const double code[3] = {code_of(&codes, x, y, 0), code_of(&codes, x, y, 1),
                                            code_of(&codes, x, y, 2)};
                    Xyz want = xyz_by_lcms(icc, length, TYPE_RGB_DBL, code);
                    const double alpha = samples == 4 ? code_of(&codes, x, y, 3) : 1.0;
                    const Xyz white = xyz_of_srgb(1, 1, 1);
                    want = (Xyz){alpha * want.x + (1 - alpha) * white.x,
                                 alpha * want.y + (1 - alpha) * white.y,
                                 alpha * want.z + (1 - alpha) * white.z};
                    assert_close(cells_xyz(&cells, x, y), want, 0.05, "lut");
                }
            cells_free(&cells);
            free(codes.code);
        }
    free(icc);
}

/* A grey profile on grey; and on colour, which it cannot serve. */
static void test_icc_grey(void **state)
{
    (void)state;
    cmsToneCurve *curve = cmsBuildGamma(NULL, 1.4);
    cmsHPROFILE profile = cmsCreateGrayProfile(cmsD50_xyY(), curve);
    profile_name(profile, "Grey 1.4");
    cmsFreeToneCurve(curve);
    size_t length;
    uint8_t *icc = profile_save(profile, &length);
    Codes codes = codes_create(7, 5, 1, 8, 5);
    png_write(in_folder("grey.png"), &codes, &(Recipe){.type = PNG_COLOR_TYPE_GRAY});
    iccp_insert(in_folder("grey.png"), icc, length);
    Cells cells = cells_png_read(in_folder("grey.png"), NULL, 0, 0);
    assert_string_equal(cells.facts.profile, "Grey 1.4");
    for (int x = 0; x < 7; x++) {
        const double y = pow(code_of(&codes, x, 0, 0), 1.4);
        assert_xyz(cells_xyz(&cells, x, 0), (Xyz){0.9642 * y, y, 0.8249 * y}, 2e-6, "grey");
    }
    cells_free(&cells);
    free(codes.code);
    codes = codes_create(7, 5, 3, 8, 5);
    png_write(in_folder("grey.png"), &codes, &rgb_recipe);
    iccp_insert(in_folder("grey.png"), icc, length);
    cells = cells_png_read(in_folder("grey.png"), NULL, 0, 0);
    assert_non_null(strstr(cells.heard.text, "does not fit; sRGB assumed"));
    cells_free(&cells);
    free(codes.code);
    free(icc);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_kind), cmocka_unit_test(test_lab_values),
        cmocka_unit_test(test_data),       cmocka_unit_test(test_exif_orientation),
        cmocka_unit_test(test_cicp),       cmocka_unit_test(test_narrow_range),
        cmocka_unit_test(test_precedence), cmocka_unit_test(test_passed_over),
        cmocka_unit_test(test_high_range), cmocka_unit_test(test_icc_matrix),
        cmocka_unit_test(test_icc_tables), cmocka_unit_test(test_icc_lut),
        cmocka_unit_test(test_icc_grey)};
    return cmocka_run_group_tests(tests, folder_make, folder_remove);
}
