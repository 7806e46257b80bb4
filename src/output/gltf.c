/* The file is two chunks: JSON, which tells what is where, and one block of numbers. Bricks are
 * sorted by colour and size, so that the corners of each mesh lie together and one list of indices
 * serves all meshes; the JSON grows with the kinds of bricks and not with their number.
 *
 * Each brick stands in exactly one primitive, as eight corners and twelve triangles that are seen
 * counter-clockwise from outside. Numbers are little-endian; coordinates are floats, made from
 * whole units so that bricks that touch have the same number there.
 *
 * Source: glTF 2.0 (ISO/IEC 12113): 3.7 meshes, 4.4 the binary form, 5.1 and 5.11 the constants. */
#include "output/gltf.h"

#include "base/json_file.h"
#include "base/memory.h"
#include "base/output_file.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    CORNERS = 8,
    TRIANGLES = 12,
    INDICES = 3 * TRIANGLES,
    CORNER_BYTES = 3 * sizeof(float),
    /* Bricks of one primitive: the most whose corners 16 bits tell apart; the greatest
     * number is kept free, as the format asks. */
    PRIMITIVE_BRICKS = 65535 / CORNERS
};

/* glTF 2.0, 5.1.3, 5.11.5 and 4.4.2. */
enum { TYPE_U16 = 5123, TYPE_FLOAT = 5126, TARGET_CORNERS = 34962, TARGET_INDICES = 34963 };
#define ROUGHNESS 0.5 /* of moulded plastic, between mirror and chalk: by eye */
#define GLB_MAGIC 0x46546c67u
#define GLB_JSON 0x4e4f534au
#define GLB_BIN 0x004e4942u

typedef struct Model {
    const Mural *mural;
    size_t *first;   /* palette x sizes + 1: where each kind's bricks start in order */
    uint32_t *order; /* the bricks by colour, then size, in building order */
    size_t pattern;  /* bricks of the longest primitive */
    Making making;   /* of the JSON chunk */
} Model;

static size_t kinds_of(const Model *k)
{
    return (size_t)k->mural->palette->count * (size_t)k->mural->sizes->count;
}

static size_t kind_of_brick(const Model *k, const Brick *b)
{
    return (size_t)b->colour * (size_t)k->mural->sizes->count + b->size;
}

static Status order_bricks(Model *k, Fault *fault)
{
    const Laid *laid = k->mural->laid;
    const size_t kinds = kinds_of(k);
    k->first = memory_create(kinds + 1, sizeof *k->first);
    k->order = memory_create(laid->count, sizeof *k->order);
    if (!k->first || !k->order) return memory_fault(fault, laid->count, sizeof *k->order);
    for (size_t i = 0; i < laid->count; i++) k->first[kind_of_brick(k, &laid->brick[i])]++;
    size_t sum = 0;
    for (size_t i = 0; i <= kinds; i++) { /* counts to ends */
        if (k->first[i] > k->pattern) k->pattern = k->first[i];
        sum += k->first[i];
        k->first[i] = sum;
    }
    for (size_t i = laid->count; i-- > 0;)
        k->order[--k->first[kind_of_brick(k, &laid->brick[i])]] = (uint32_t)i;
    if (k->pattern > PRIMITIVE_BRICKS) k->pattern = PRIMITIVE_BRICKS;
    return STATUS_OK;
}

/* ---- geometry ---- */

/* Corner i of a brick: bit 0 is the right, bit 1 the top, bit 2 the front. */
static void corner(const Mural *m, const Brick *b, int i, float out[3])
{
    out[0] = (float)((b->column + (i & 1 ? b->columns : 0)) * m->cell_width_mm / 1000);
    out[1] = (float)((b->row + (i & 2 ? b->rows : 0)) * m->cell_height_mm / 1000);
    out[2] = (float)((b->tier + (i & 4 ? b->tiers : 0)) * m->step_mm / 1000);
}

/* Counter-clockwise as seen from outside. */
static const uint8_t box_corners[INDICES] = {4, 5, 7, 4, 7, 6, 1, 0, 2, 1, 2, 3, 0, 4, 6, 0, 6, 2,
                                             5, 1, 3, 5, 3, 7, 6, 7, 3, 6, 3, 2, 0, 1, 5, 0, 5, 4};

static void bounds(const Model *k, size_t begin, size_t end, float least[3], float most[3])
{
    for (size_t i = begin; i < end; i++)
        for (int c = 0; c < CORNERS; c += CORNERS - 1) {
            float at[3];
            corner(k->mural, &k->mural->laid->brick[k->order[i]], c, at);
            for (int axis = 0; axis < 3; axis++) {
                if (i == begin && c == 0) least[axis] = most[axis] = at[axis];
                least[axis] = fminf(least[axis], at[axis]);
                most[axis] = fmaxf(most[axis], at[axis]);
            }
        }
}

/* ---- the JSON chunk ---- */

static json_t *vector(Model *k, const float v[3])
{
    json_t *list = json_array();
    for (int i = 0; i < 3; i++) json_append(&k->making, list, json_real((double)v[i]));
    return list;
}

static json_t *json_whole(size_t value) { return json_integer((json_int_t)value); }

static json_t *material(Model *k, const Colour *colour)
{
    const Rgb c = linear_from_xyz(colour->xyz);
    const double rgba[4] = {c.r, c.g, c.b, 1};
    json_t *o = json_object(), *surface = json_object(), *factor = json_array();
    for (int i = 0; i < 4; i++) /* six decimals are far finer than any screen */
        json_append(&k->making, factor, json_real(round(fmin(1, fmax(0, rgba[i])) * 1e6) / 1e6));
    json_set(&k->making, surface, "baseColorFactor", factor);
    json_set(&k->making, surface, "metallicFactor", json_real(0));
    json_set(&k->making, surface, "roughnessFactor", json_real(ROUGHNESS));
    json_set(&k->making, o, "name", json_string(colour->id));
    json_set(&k->making, o, "pbrMetallicRoughness", surface);
    return o;
}

/* The corners of bricks [begin, end) of the order, and the number of this accessor. */
static size_t add_corners(Model *k, json_t *accessors, size_t begin, size_t end)
{
    float least[3] = {0}, most[3] = {0};
    bounds(k, begin, end, least, most);
    json_t *o = json_object();
    json_set(&k->making, o, "bufferView", json_integer(0));
    json_set(&k->making, o, "byteOffset", json_whole(begin * CORNERS * CORNER_BYTES));
    json_set(&k->making, o, "componentType", json_integer(TYPE_FLOAT));
    json_set(&k->making, o, "count", json_whole((end - begin) * CORNERS));
    json_set(&k->making, o, "type", json_string("VEC3"));
    json_set(&k->making, o, "min", vector(k, least));
    json_set(&k->making, o, "max", vector(k, most));
    json_append(&k->making, accessors, o);
    return json_array_size(accessors) - 1;
}

/* The first indices of the pattern, for this many bricks. */
static size_t add_indices(Model *k, json_t *accessors, size_t bricks)
{
    json_t *o = json_object();
    json_set(&k->making, o, "bufferView", json_integer(1));
    json_set(&k->making, o, "componentType", json_integer(TYPE_U16));
    json_set(&k->making, o, "count", json_whole(bricks * INDICES));
    json_set(&k->making, o, "type", json_string("SCALAR"));
    json_append(&k->making, accessors, o);
    return json_array_size(accessors) - 1;
}

static json_t *mesh(Model *k, json_t *accessors, size_t kind, size_t material_index)
{
    const Mural *m = k->mural;
    const size_t sizes = (size_t)m->sizes->count;
    const char *size = m->sizes->size[kind % sizes].name;
    const char *colour = m->palette->colour[kind / sizes].id;
    json_t *o = json_object(), *primitives = json_array(), *extras = json_object();
    for (size_t at = k->first[kind], end; at < k->first[kind + 1]; at = end) {
        end = k->first[kind + 1] - at > k->pattern ? at + k->pattern : k->first[kind + 1];
        json_t *primitive = json_object(), *attributes = json_object();
        json_set(&k->making, attributes, "POSITION",
                 json_whole(add_corners(k, accessors, at, end)));
        json_set(&k->making, primitive, "attributes", attributes);
        json_set(&k->making, primitive, "indices", json_whole(add_indices(k, accessors, end - at)));
        json_set(&k->making, primitive, "material", json_whole(material_index));
        json_append(&k->making, primitives, primitive);
    }
    json_set(&k->making, extras, "size", json_string(size));
    json_set(&k->making, extras, "colour", json_string(colour));
    json_set(&k->making, extras, "bricks", json_whole(k->first[kind + 1] - k->first[kind]));
    json_set(&k->making, o, "name", json_sprintf("%s %s", size, colour));
    json_set(&k->making, o, "primitives", primitives);
    json_set(&k->making, o, "extras", extras);
    return o;
}

static void add_meshes(Model *k, json_t *root)
{
    const Mural *m = k->mural;
    const size_t sizes = (size_t)m->sizes->count;
    json_t *accessors = json_array(), *meshes = json_array(), *materials = json_array();
    json_t *nodes = json_array(), *all = json_array();
    for (size_t kind = 0, kinds = kinds_of(k), last = kinds; kind < kinds; kind++) {
        if (k->first[kind] == k->first[kind + 1]) continue;
        if (last != kind / sizes)
            json_append(&k->making, materials, material(k, &m->palette->colour[kind / sizes]));
        last = kind / sizes;
        json_t *node = json_object();
        json_set(&k->making, node, "mesh", json_whole(json_array_size(meshes)));
        json_append(&k->making, all, json_whole(json_array_size(nodes)));
        json_append(&k->making, nodes, node);
        json_append(&k->making, meshes, mesh(k, accessors, kind, json_array_size(materials) - 1));
    }
    json_t *scene = json_object(), *scenes = json_array();
    json_set(&k->making, scene, "nodes", all);
    json_append(&k->making, scenes, scene);
    json_set(&k->making, root, "scene", json_integer(0));
    json_set(&k->making, root, "scenes", scenes);
    json_set(&k->making, root, "nodes", nodes);
    json_set(&k->making, root, "meshes", meshes);
    json_set(&k->making, root, "materials", materials);
    json_set(&k->making, root, "accessors", accessors);
}

static size_t corners_bytes(const Model *k)
{
    return k->mural->laid->count * CORNERS * CORNER_BYTES;
}
static size_t indices_bytes(const Model *k) { return k->pattern * INDICES * sizeof(uint16_t); }

static void add_buffers(Model *k, json_t *root)
{
    json_t *corners = json_object(), *indices = json_object(), *views = json_array();
    json_t *buffer = json_object(), *buffers = json_array();
    json_set(&k->making, corners, "buffer", json_integer(0));
    json_set(&k->making, corners, "byteLength", json_whole(corners_bytes(k)));
    json_set(&k->making, corners, "byteStride", json_integer(CORNER_BYTES));
    json_set(&k->making, corners, "target", json_integer(TARGET_CORNERS));
    json_set(&k->making, indices, "buffer", json_integer(0));
    json_set(&k->making, indices, "byteOffset", json_whole(corners_bytes(k)));
    json_set(&k->making, indices, "byteLength", json_whole(indices_bytes(k)));
    json_set(&k->making, indices, "target", json_integer(TARGET_INDICES));
    json_append(&k->making, views, corners);
    json_append(&k->making, views, indices);
    json_set(&k->making, buffer, "byteLength", json_whole(corners_bytes(k) + indices_bytes(k)));
    json_append(&k->making, buffers, buffer);
    json_set(&k->making, root, "bufferViews", views);
    json_set(&k->making, root, "buffers", buffers);
}

/* The chunk's text, which free() frees; NULL where there is no memory. */
static char *print_json_chunk(Model *k)
{
    json_t *root = json_object(), *asset = json_object(), *extras = json_object();
    json_set(&k->making, extras, "bricks", json_whole(k->mural->laid->count));
    json_set(&k->making, asset, "version", json_string("2.0"));
    json_set(&k->making, asset, "generator", json_string("rowlock"));
    json_set(&k->making, asset, "extras", extras);
    json_set(&k->making, root, "asset", asset);
    add_meshes(k, root);
    add_buffers(k, root);
    char *text =
        root && !k->making.failed ? json_dumps(root, JSON_COMPACT | JSON_REAL_PRECISION(17)) : NULL;
    json_decref(root);
    return text;
}

/* ---- the file ---- */

static void put_u32(FILE *file, size_t value)
{
    const uint8_t bytes[4] = {(uint8_t)value, (uint8_t)(value >> 8), (uint8_t)(value >> 16),
                              (uint8_t)(value >> 24)};
    fwrite(bytes, 1, sizeof bytes, file);
}

static void put_corners(const Model *k, FILE *file)
{
    for (size_t i = 0; i < k->mural->laid->count; i++) {
        const Brick *b = &k->mural->laid->brick[k->order[i]];
        for (int c = 0; c < CORNERS; c++) {
            float at[3];
            corner(k->mural, b, c, at);
            for (int axis = 0; axis < 3; axis++) {
                uint32_t bits;
                memcpy(&bits, &at[axis], sizeof bits);
                put_u32(file, bits);
            }
        }
    }
}

static void put_indices(const Model *k, FILE *file)
{
    for (size_t brick = 0; brick < k->pattern; brick++)
        for (int i = 0; i < INDICES; i++) {
            const size_t index = brick * CORNERS + box_corners[i];
            putc((int)(index & 255), file);
            putc((int)(index >> 8), file);
        }
}

static size_t padded(size_t length) { return (length + 3) / 4 * 4; }

/* glTF 2.0, 4.4: header, JSON padded with blanks, binary. */
static void put_chunks(const Model *k, const char *text, FILE *file)
{
    const size_t length = strlen(text), binary = corners_bytes(k) + indices_bytes(k);
    put_u32(file, GLB_MAGIC);
    put_u32(file, 2);
    put_u32(file, 12 + 8 + padded(length) + 8 + padded(binary));
    put_u32(file, padded(length));
    put_u32(file, GLB_JSON);
    fwrite(text, 1, length, file);
    for (size_t i = length; i < padded(length); i++) putc(' ', file);
    put_u32(file, padded(binary));
    put_u32(file, GLB_BIN);
    put_corners(k, file);
    put_indices(k, file);
    for (size_t i = binary; i < padded(binary); i++) putc(0, file);
}

static Status write_glb(const Model *k, const char *text, const char *path, Fault *fault)
{
    if (strlen(text) + corners_bytes(k) + indices_bytes(k) > UINT32_MAX - 64)
        return fault_set(fault, STATUS_DATA,
                         "%s: %zu bricks pass the 4 GiB of a glTF file; plan a smaller mural", path,
                         k->mural->laid->count);
    FILE *file;
    const Status status = output_file_open(&file, path, fault);
    if (status) return status;
    put_chunks(k, text, file);
    return output_file_close(file, path, fault);
}

Status gltf_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault)
{
    Model k = {.mural = mural};
    Status status = order_bricks(&k, fault);
    voice_progress(voice, "model", 0.2);
    char *text = status ? NULL : print_json_chunk(&k);
    if (!status && !text) status = memory_fault(fault, mural->laid->count, sizeof *k.order);
    if (!status) status = write_glb(&k, text, path, fault);
    free(text);
    memory_free(k.first);
    memory_free(k.order);
    return status;
}
