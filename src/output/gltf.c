#include "output/gltf.h"

#include "base/memory.h"
#include "base/output_file.h"

#include <jansson.h>

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
#define GLB_MAGIC 0x46546c67u
#define GLB_JSON 0x4e4f534au
#define GLB_BIN 0x004e4942u

typedef struct Model {
    const Mural *mural;
    size_t *first;   /* palette x sizes + 1: where each kind's bricks start in order */
    uint32_t *order; /* the bricks by colour, then size, in building order */
    size_t pattern;  /* bricks of the longest primitive */
    int failed;      /* an allocation of the JSON library */
} Model;

static size_t kinds_of(const Model *k)
{
    return (size_t)k->mural->palette->count * (size_t)k->mural->sizes->count;
}

static size_t kind_of(const Model *k, const Brick *b)
{
    return (size_t)b->colour * (size_t)k->mural->sizes->count + b->size;
}

static Status sort_bricks(Model *k, Fault *fault)
{
    const Laid *laid = k->mural->laid;
    const size_t kinds = kinds_of(k);
    k->first = memory_create(kinds + 1, sizeof *k->first);
    k->order = memory_create(laid->count, sizeof *k->order);
    if (!k->first || !k->order) return memory_fault(fault, laid->count, sizeof *k->order);
    for (size_t i = 0; i < laid->count; i++) k->first[kind_of(k, &laid->brick[i])]++;
    size_t sum = 0;
    for (size_t i = 0; i <= kinds; i++) { /* counts to ends */
        if (k->first[i] > k->pattern) k->pattern = k->first[i];
        sum += k->first[i];
        k->first[i] = sum;
    }
    for (size_t i = laid->count; i-- > 0;)
        k->order[--k->first[kind_of(k, &laid->brick[i])]] = (uint32_t)i;
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
static const uint8_t box[INDICES] = {4, 5, 7, 4, 7, 6, 1, 0, 2, 1, 2, 3, 0, 4, 6, 0, 6, 2,
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

static void set(Model *k, json_t *object, const char *name, json_t *value)
{
    k->failed |= json_object_set_new(object, name, value) != 0;
}

static void append(Model *k, json_t *array, json_t *value)
{
    k->failed |= json_array_append_new(array, value) != 0;
}

static json_t *vector(Model *k, const float v[3])
{
    json_t *list = json_array();
    for (int i = 0; i < 3; i++) append(k, list, json_real((double)v[i]));
    return list;
}

static json_t *whole(size_t value) { return json_integer((json_int_t)value); }

static json_t *material(Model *k, const Colour *colour)
{
    const Rgb c = linear_from_xyz(colour->xyz);
    const double rgba[4] = {c.r, c.g, c.b, 1};
    json_t *o = json_object(), *surface = json_object(), *factor = json_array();
    for (int i = 0; i < 4; i++) /* six decimals are far finer than any screen */
        append(k, factor, json_real(round(fmin(1, fmax(0, rgba[i])) * 1e6) / 1e6));
    set(k, surface, "baseColorFactor", factor);
    set(k, surface, "metallicFactor", json_real(0));
    set(k, surface, "roughnessFactor", json_real(0.5));
    set(k, o, "name", json_string(colour->id));
    set(k, o, "pbrMetallicRoughness", surface);
    return o;
}

/* The corners of bricks [begin, end) of the order, and the number of this accessor. */
static size_t add_corners(Model *k, json_t *accessors, size_t begin, size_t end)
{
    float least[3] = {0}, most[3] = {0};
    bounds(k, begin, end, least, most);
    json_t *o = json_object();
    set(k, o, "bufferView", json_integer(0));
    set(k, o, "byteOffset", whole(begin * CORNERS * CORNER_BYTES));
    set(k, o, "componentType", json_integer(TYPE_FLOAT));
    set(k, o, "count", whole((end - begin) * CORNERS));
    set(k, o, "type", json_string("VEC3"));
    set(k, o, "min", vector(k, least));
    set(k, o, "max", vector(k, most));
    append(k, accessors, o);
    return json_array_size(accessors) - 1;
}

/* The first indices of the pattern, for this many bricks. */
static size_t add_indices(Model *k, json_t *accessors, size_t bricks)
{
    json_t *o = json_object();
    set(k, o, "bufferView", json_integer(1));
    set(k, o, "componentType", json_integer(TYPE_U16));
    set(k, o, "count", whole(bricks * INDICES));
    set(k, o, "type", json_string("SCALAR"));
    append(k, accessors, o);
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
        set(k, attributes, "POSITION", whole(add_corners(k, accessors, at, end)));
        set(k, primitive, "attributes", attributes);
        set(k, primitive, "indices", whole(add_indices(k, accessors, end - at)));
        set(k, primitive, "material", whole(material_index));
        append(k, primitives, primitive);
    }
    set(k, extras, "size", json_string(size));
    set(k, extras, "colour", json_string(colour));
    set(k, extras, "bricks", whole(k->first[kind + 1] - k->first[kind]));
    set(k, o, "name", json_sprintf("%s %s", size, colour));
    set(k, o, "primitives", primitives);
    set(k, o, "extras", extras);
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
            append(k, materials, material(k, &m->palette->colour[kind / sizes]));
        last = kind / sizes;
        json_t *node = json_object();
        set(k, node, "mesh", whole(json_array_size(meshes)));
        append(k, all, whole(json_array_size(nodes)));
        append(k, nodes, node);
        append(k, meshes, mesh(k, accessors, kind, json_array_size(materials) - 1));
    }
    json_t *scene = json_object(), *scenes = json_array();
    set(k, scene, "nodes", all);
    append(k, scenes, scene);
    set(k, root, "scene", json_integer(0));
    set(k, root, "scenes", scenes);
    set(k, root, "nodes", nodes);
    set(k, root, "meshes", meshes);
    set(k, root, "materials", materials);
    set(k, root, "accessors", accessors);
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
    set(k, corners, "buffer", json_integer(0));
    set(k, corners, "byteLength", whole(corners_bytes(k)));
    set(k, corners, "byteStride", json_integer(CORNER_BYTES));
    set(k, corners, "target", json_integer(TARGET_CORNERS));
    set(k, indices, "buffer", json_integer(0));
    set(k, indices, "byteOffset", whole(corners_bytes(k)));
    set(k, indices, "byteLength", whole(indices_bytes(k)));
    set(k, indices, "target", json_integer(TARGET_INDICES));
    append(k, views, corners);
    append(k, views, indices);
    set(k, buffer, "byteLength", whole(corners_bytes(k) + indices_bytes(k)));
    append(k, buffers, buffer);
    set(k, root, "bufferViews", views);
    set(k, root, "buffers", buffers);
}

/* The chunk's text, which free() frees; NULL where there is no memory. */
static char *describe(Model *k)
{
    json_t *root = json_object(), *asset = json_object(), *extras = json_object();
    set(k, extras, "bricks", whole(k->mural->laid->count));
    set(k, asset, "version", json_string("2.0"));
    set(k, asset, "generator", json_string("rowlock"));
    set(k, asset, "extras", extras);
    set(k, root, "asset", asset);
    add_meshes(k, root);
    add_buffers(k, root);
    char *text =
        root && !k->failed ? json_dumps(root, JSON_COMPACT | JSON_REAL_PRECISION(17)) : NULL;
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
            const size_t index = brick * CORNERS + box[i];
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

static Status write_file(const Model *k, const char *text, const char *path, Fault *fault)
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
    Status status = sort_bricks(&k, fault);
    voice_progress(voice, "model", 0.2);
    char *text = status ? NULL : describe(&k);
    if (!status && !text) status = memory_fault(fault, mural->laid->count, sizeof *k.order);
    if (!status) status = write_file(&k, text, path, fault);
    free(text);
    memory_free(k.first);
    memory_free(k.order);
    return status;
}
