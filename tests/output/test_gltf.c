/* relief.glb and the statics. The file is taken apart here by its specification (glTF 2.0,
 * chapters 3 and 4) with jansson: what its triangles enclose is the bricks' volume, which
 * also proves that they face outward. Masses and moments are held against sums by hand.
 * tests/end_to_end/gltf has the same file looked at by the Khronos validator. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "figures/statics.h"
#include "output/gltf.h"
#include "support/mural_fixture.h"
#include "support/scratch.h"

#include <jansson.h>
#include <math.h>
#include <unistd.h>

typedef struct Glb {
    uint8_t *bytes;
    json_t *root;
    const uint8_t *binary;
    size_t length;
} Glb;

static uint32_t u32(const uint8_t *b)
{
    return b[0] | (uint32_t)b[1] << 8 | (uint32_t)b[2] << 16 | (uint32_t)b[3] << 24;
}

static Glb write_and_read(const Mural *m)
{
    char path[SCRATCH_MOST];
    assert_true(scratch_file(path));
    assert_int_equal(gltf_write(m, path, NULL, NULL), 0);
    FILE *file = fopen(path, "rb");
    fseek(file, 0, SEEK_END);
    const size_t size = (size_t)ftell(file);
    rewind(file);
    Glb g = {malloc(size), NULL, NULL, 0};
    assert_int_equal(fread(g.bytes, 1, size, file), size);
    fclose(file);
    unlink(path);
    assert_memory_equal(g.bytes, "glTF\2\0\0\0", 8);
    assert_int_equal(u32(g.bytes + 8), size);
    const uint32_t json = u32(g.bytes + 12);
    assert_int_equal(json % 4, 0);
    assert_memory_equal(g.bytes + 16, "JSON", 4);
    g.root = json_loadb((char *)g.bytes + 20, json, 0, NULL);
    assert_non_null(g.root);
    g.length = u32(g.bytes + 20 + json);
    assert_memory_equal(g.bytes + 24 + json, "BIN\0", 4);
    assert_int_equal(28 + json + g.length, size);
    g.binary = g.bytes + 28 + json;
    return g;
}

static void glb_free(Glb *g)
{
    json_decref(g->root);
    free(g->bytes);
}

static size_t number(const json_t *o, const char *key)
{
    return (size_t)json_integer_value(json_object_get(o, key));
}

static const json_t *item(const Glb *g, const char *list, size_t i)
{
    const json_t *found = json_array_get(json_object_get(g->root, list), i);
    assert_non_null(found);
    return found;
}

static const uint8_t *data_of(const Glb *g, const json_t *accessor)
{
    const json_t *view = item(g, "bufferViews", number(accessor, "bufferView"));
    return g->binary + number(view, "byteOffset") + number(accessor, "byteOffset");
}

static void corner_at(const uint8_t *data, size_t index, double out[3])
{
    for (int i = 0; i < 3; i++) {
        const uint32_t bits = u32(data + 12 * index + 4 * (size_t)i);
        float value;
        memcpy(&value, &bits, sizeof value);
        out[i] = (double)value;
    }
}

/* Volume by the divergence theorem: a third of sum of corner . (edge x edge) / 2. */
static double volume_of(const Glb *g, const json_t *primitive, size_t *triangles)
{
    const json_t *points =
        item(g, "accessors", number(json_object_get(primitive, "attributes"), "POSITION"));
    const json_t *indices = item(g, "accessors", number(primitive, "indices"));
    const uint8_t *corner = data_of(g, points), *index = data_of(g, indices);
    const size_t count = number(indices, "count");
    double sum = 0, least[3] = {1e9, 1e9, 1e9}, most[3] = {-1e9, -1e9, -1e9};
    for (size_t i = 0; i < count; i += 3) {
        double p[3][3];
        for (size_t k = 0; k < 3; k++) {
            const size_t at = index[2 * (i + k)] | (size_t)index[2 * (i + k) + 1] << 8;
            assert_true(at < number(points, "count"));
            corner_at(corner, at, p[k]);
            for (int c = 0; c < 3; c++) {
                least[c] = fmin(least[c], p[k][c]);
                most[c] = fmax(most[c], p[k][c]);
            }
        }
        sum += (p[0][0] * (p[1][1] * p[2][2] - p[1][2] * p[2][1]) +
                p[0][1] * (p[1][2] * p[2][0] - p[1][0] * p[2][2]) +
                p[0][2] * (p[1][0] * p[2][1] - p[1][1] * p[2][0])) /
               6;
    }
    for (size_t c = 0; c < 3; c++) {
        assert_true(json_real_value(json_array_get(json_object_get(points, "min"), c)) == least[c]);
        assert_true(json_real_value(json_array_get(json_object_get(points, "max"), c)) == most[c]);
    }
    *triangles += count / 3;
    return sum;
}

static void a_model_holds_every_brick(Build build, int columns, int rows)
{
    Fixture f;
    const FixtureAsk ask = {.columns = columns,
                            .rows = rows,
                            .panel_columns = 20,
                            .panel_rows = 20,
                            .colours = 5,
                            .build = build,
                            .base = build == BUILD_WALL ? 2 : 1,
                            .steps = 4,
                            .face = columns > 100 ? FACE_NOISE : FACE_BANDS};
    fixture_init(&f, &ask);
    const Mural *m = &f.mural;
    const Glb g = write_and_read(m);
    size_t triangles = 0, bricks = 0, longest = 0;
    double volume = 0;
    const json_t *meshes = json_object_get(g.root, "meshes");
    assert_int_equal(json_array_size(meshes), json_array_size(json_object_get(g.root, "nodes")));
    assert_int_equal(json_array_size(meshes), f.parts.count);
    for (size_t i = 0; i < json_array_size(meshes); i++) {
        const json_t *mesh = json_array_get(meshes, i), *extras = json_object_get(mesh, "extras");
        const Part *part = &f.parts.part[i]; /* both by colour, then size */
        assert_string_equal(json_string_value(json_object_get(extras, "colour")),
                            f.palette.colour[part->colour].id);
        assert_string_equal(json_string_value(json_object_get(extras, "size")),
                            f.sizes.size[part->size].name);
        assert_int_equal(number(extras, "bricks"), part->count);
        const size_t before = triangles;
        const json_t *primitives = json_object_get(mesh, "primitives");
        for (size_t k = 0; k < json_array_size(primitives); k++)
            volume += volume_of(&g, json_array_get(primitives, k), &triangles);
        assert_int_equal(triangles - before, 12 * part->count);
        if (json_array_size(primitives) > longest) longest = json_array_size(primitives);
        bricks += number(extras, "bricks");
    }
    double units = 0;
    for (int y = 0; y < rows; y++)
        for (int x = 0; x < columns; x++) units += solid_top(&m->solid, x, y);
    assert_int_equal(bricks, f.laid.count);
    assert_true(columns < 100 || longest > 1);
    assert_true(fabs(volume / (units * 8 * 8 * 9.6e-9) - 1) < 1e-4);
    glb_free((Glb *)&g);
    fixture_clear(&f);
}

static void a_plaque_in_glb(void **state)
{
    (void)state;
    a_model_holds_every_brick(BUILD_PLAQUE, 40, 30);
}

static void a_wall_in_glb(void **state)
{
    (void)state;
    a_model_holds_every_brick(BUILD_WALL, 40, 30);
}

/* More bricks of one kind than 16 bits tell the corners of apart. */
static void a_large_mural_in_glb(void **state)
{
    (void)state;
    a_model_holds_every_brick(BUILD_PLAQUE, 420, 320);
}

static void colours_are_linear_light(void **state)
{
    (void)state;
    Fixture f;
    const FixtureAsk ask = {.columns = 8,
                            .rows = 8,
                            .panel_columns = 8,
                            .panel_rows = 8,
                            .colours = 2,
                            .base = 1,
                            .steps = 1};
    fixture_init(&f, &ask);
    f.palette.colour[0].lab = (Lab){53.585, 0, 0}; /* a grey of sRGB code 128: 0.21586 */
    f.palette.colour[0].xyz = xyz_from_lab(f.palette.colour[0].lab);
    const Glb g = write_and_read(&f.mural);
    const json_t *factor = json_object_get(
        json_object_get(item(&g, "materials", 0), "pbrMetallicRoughness"), "baseColorFactor");
    for (size_t i = 0; i < 3; i++)
        assert_true(fabs(json_number_value(json_array_get(factor, i)) - 0.21586) < 2e-4);
    assert_true(json_number_value(json_array_get(factor, 3)) == 1);
    glb_free((Glb *)&g);
    fixture_clear(&f);
}

static void every_allocation_may_fail(void **state)
{
    (void)state;
    Fixture f;
    const FixtureAsk ask = {.columns = 8,
                            .rows = 8,
                            .panel_columns = 8,
                            .panel_rows = 8,
                            .colours = 2,
                            .base = 1,
                            .steps = 1};
    fixture_init(&f, &ask);
    for (long n = 0; n < 2; n++) {
        Fault fault = {0};
        memory_fail_after(n);
        assert_int_equal(gltf_write(&f.mural, "/dev/null", NULL, &fault), STATUS_NO_RESOURCE);
        memory_fail_after(-1);
    }
    assert_int_equal(gltf_write(&f.mural, "/none/m.glb", NULL, NULL), STATUS_NO_CREATE);
    assert_int_equal(gltf_write(&f.mural, "/dev/full", NULL, NULL), STATUS_IO);
    fixture_clear(&f);
}

/* Two panels of a wall, by hand. Panel 0: a brick of 40 g over columns 0 to 3, tiers 0 and
 * 1, row 0; one of 10 g at column 1, tier 4, row 1. Its mass is 50 g at
 *     x = (40 x 16 + 10 x 12) / 50 = 15.2, y = (40 x 4.8 + 10 x 14.4) / 50 = 6.72,
 *     z = (40 x 8 + 10 x 36) / 50 = 13.6 mm.
 * Panel 1, four columns on: a brick of 40 g at its column 0, tiers 0 and 1: z = 8 mm. */
static void moments_are_the_sums_by_hand(void **state)
{
    (void)state;
    Grid grid = {.columns = 8, .rows = 2};
    Panel panel[2] = {{"r1c1", 0, 0, 4, 2}, {"r1c2", 4, 0, 4, 2}};
    const Panels panels = {.across = 2, .up = 1, .count = 2, .panel = panel};
    Sizes sizes = {.count = 2};
    sizes.size[0].mass_g = 40;
    sizes.size[1].mass_g = 10;
    Brick brick[3] = {
        {.columns = 4, .rows = 1, .tiers = 2},
        {.column = 1, .row = 1, .tier = 4, .columns = 1, .rows = 1, .tiers = 1, .size = 1},
        {.column = 4, .panel = 1, .columns = 4, .rows = 1, .tiers = 2}};
    const Laid laid = {3, 3, brick};
    const Mural m = {.grid = &grid,
                     .solid = {.grid = &grid, .build = BUILD_WALL, .base = 1},
                     .panels = &panels,
                     .sizes = &sizes,
                     .laid = &laid,
                     .cell_width_mm = 8,
                     .cell_height_mm = 9.6,
                     .step_mm = 8};
    PanelLoad load[2] = {{.whole_kg = 0.05}, {.whole_kg = 0.04}};
    statics_panels(&m, &(Mounting){0}, 4, load);
    const PanelStatics *s = &load[0].statics;
    assert_true(fabs(s->centre_mm[0] - 15.2) < 1e-9);
    assert_true(fabs(s->centre_mm[1] - 6.72) < 1e-9);
    assert_true(fabs(s->centre_mm[2] - 13.6) < 1e-9);
    assert_true(fabs(s->hanging_nm - 0.05 * 9.81 * 0.0136) < 1e-12);
    assert_true(fabs(s->tipping_nm - 0.05 * 9.81 * 0.0056) < 1e-12); /* beyond the first 8 mm */
    assert_true(fabs(s->fixing_n - 2 * 0.05 * 9.81 / 4) < 1e-12);
    s = &load[1].statics;
    assert_true(fabs(s->centre_mm[0] - 16) < 1e-9);
    assert_true(fabs(s->centre_mm[2] - 8) < 1e-9);
    assert_true(fabs(s->tipping_nm) < 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plaque_in_glb),           cmocka_unit_test(a_wall_in_glb),
        cmocka_unit_test(a_large_mural_in_glb),      cmocka_unit_test(colours_are_linear_light),
        cmocka_unit_test(every_allocation_may_fail), cmocka_unit_test(moments_are_the_sums_by_hand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
