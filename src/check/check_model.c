/* Every box of relief.glb must be a brick of bricks.csv with its size and colour, each brick once.
 * Corners are read where the file says they are; whatever it claims, nothing is read outside its
 * binary chunk, and the work is bounded by the bytes that it has.
 *
 * Source: glTF 2.0 (ISO/IEC 12113:2022), 3.6 and 4.4. */
#include "check/check_model.h"

#include "base/folder.h"
#include "base/json_file.h"
#include "base/memory.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Of a box: eight corners, twelve triangles. FLOAT and the most of a stride are glTF 2.0's
 * (3.6.2.2, 5.11). */
enum { CORNERS = 8, INDICES = 36, FLOAT = 5126, STRIDE_MOST = 252 };

/* A corner may be so far, in units, from a whole number of them: room for the rounding of floats in
 * metres, while a corner in a wrong place is a whole unit off. */
#define UNITS_OFF 0.05
#define UNITS_MOST 1e6

typedef struct Model {
    PlanFacts *e;
    json_t *root;
    const char *bin; /* the binary chunk */
    size_t length;
    uint8_t *found; /* blocks: 1 once a box is that brick */
    size_t boxes;   /* that are bricks */
} Model;

static bool broken_model(Model *m, const char *what)
{
    verdict_broken(m->e->verdict, PROMISE_MODEL, "relief.glb: %s", what);
    return false;
}

/* glTF 2.0, 4.4: the JSON chunk, then the binary one, which may be missing. */
static Status open_chunks(Model *m, const char *bytes, size_t length, Fault *fault)
{
    if (length < 20 || memcmp(bytes, "glTF", 4) != 0) return STATUS_OK;
    const size_t json = plan_facts_u32(bytes + 12);
    if (json > length - 20) return STATUS_OK;
    const Status status = json_parse(&m->root, bytes + 20, json, 0, NULL, fault);
    if (status) return status;
    const char *rest = bytes + 20 + json;
    const size_t left = length - 20 - json;
    if (left >= 8 && memcmp(rest + 4, "BIN", 4) == 0 && plan_facts_u32(rest) <= left - 8) {
        m->bin = rest + 8;
        m->length = plan_facts_u32(rest);
    }
    return STATUS_OK;
}

static const json_t *item(const Model *m, const char *list, const json_t *index)
{
    if (!json_is_integer(index) || json_integer_value(index) < 0) return NULL;
    return json_array_get(json_object_get(m->root, list), (size_t)json_integer_value(index));
}

/* A member that is a whole number from 0; `otherwise` where it is not there. */
static size_t whole_or(const json_t *object, const char *key, size_t otherwise)
{
    const json_t *value = json_object_get(object, key);
    return json_is_integer(value) && json_integer_value(value) >= 0
               ? (size_t)json_integer_value(value)
               : otherwise;
}

/* Corners of a primitive: where they begin, their number and how far apart they are. */
typedef struct Corners {
    const char *at;
    size_t count, stride;
} Corners;

static bool find_corners(Model *m, const json_t *primitive, Corners *out)
{
    const json_t *position = json_object_get(json_object_get(primitive, "attributes"), "POSITION");
    const json_t *accessor = item(m, "accessors", position);
    const json_t *view = item(m, "bufferViews", json_object_get(accessor, "bufferView"));
    const json_t *indices = item(m, "accessors", json_object_get(primitive, "indices"));
    const char *type = json_string_value(json_object_get(accessor, "type"));
    const size_t begin = whole_or(view, "byteOffset", 0) + whole_or(accessor, "byteOffset", 0);
    out->count = whole_or(accessor, "count", 0);
    out->stride = whole_or(view, "byteStride", 3 * sizeof(float));
    if (!view || !type || strcmp(type, "VEC3") != 0 ||
        whole_or(accessor, "componentType", 0) != FLOAT || whole_or(view, "buffer", 1) != 0 ||
        out->stride < 3 * sizeof(float) || out->stride > STRIDE_MOST)
        return broken_model(m, "a primitive has no corners that can be read");
    if (begin > m->length || out->count > (m->length - begin) / out->stride)
        return broken_model(m, "corners lie outside its binary chunk");
    if (out->count % CORNERS || whole_or(indices, "count", 0) != out->count / CORNERS * INDICES)
        return broken_model(m,
                            "a primitive is not of boxes: eight corners and twelve triangles each");
    out->at = m->bin + begin;
    return true;
}

/* Least and most of a box along each axis, in metres. */
static void measure_box(const Corners *c, size_t first, double least[3], double most[3])
{
    for (size_t i = first; i < first + CORNERS; i++)
        for (int axis = 0; axis < 3; axis++) {
            const uint32_t bits =
                plan_facts_u32(c->at + i * c->stride + (size_t)axis * sizeof(float));
            float value;
            memcpy(&value, &bits, sizeof value);
            if (i == first || (double)value < least[axis]) least[axis] = (double)value;
            if (i == first || (double)value > most[axis]) most[axis] = (double)value;
        }
}

/* The length in units; -1 if it is not near a whole number of them. */
static long units(double metres, double unit_mm)
{
    const double n = metres * 1000 / unit_mm;
    return n >= -UNITS_OFF && n < UNITS_MOST && fabs(n - round(n)) < UNITS_OFF ? lround(n) : -1;
}

/* What a mesh says of its boxes. */
typedef struct Sort {
    long shade;
    const char *size;
} Sort;

/* The block that has this box, size and colour; NULL if none has. */
static const Block *block_of_box(const Model *m, const long from[3], const long to[3],
                                 const Sort *sort)
{
    const PlanFacts *e = m->e;
    for (int axis = 0; axis < 3; axis++)
        if (from[axis] < 0 || to[axis] <= from[axis]) return NULL;
    if (from[2] >= plan_facts_top(e, (int)fmin((double)from[0], SIDE_MOST),
                                  (int)fmin((double)from[1], SIDE_MOST)))
        return NULL;
    const uint32_t owner = *plan_facts_unit(e, (int)from[0], (int)from[1], (int)from[2]);
    if (!owner) return NULL;
    const Block *b = &e->block[owner - 1];
    const bool same = b->column == from[0] && b->row == from[1] && b->tier == from[2] &&
                      b->columns == to[0] - from[0] && b->rows == to[1] - from[1] &&
                      b->tiers == to[2] - from[2];
    return same && b->shade == sort->shade && strcmp(e->format[b->format].name, sort->size) == 0
               ? b
               : NULL;
}

static void take_box(Model *m, const Corners *c, size_t first, const Sort *sort,
                     const double move[3])
{
    const double unit_mm[3] = {m->e->cell_mm[0], m->e->cell_mm[1], m->e->step_mm};
    double least[3] = {0}, most[3] = {0};
    long from[3], to[3];
    measure_box(c, first, least, most);
    for (int axis = 0; axis < 3; axis++) {
        from[axis] = units(least[axis] + move[axis], unit_mm[axis]);
        to[axis] = units(most[axis] + move[axis], unit_mm[axis]);
    }
    const Block *b = block_of_box(m, from, to, sort);
    if (b && !m->found[b - m->e->block]) {
        m->found[b - m->e->block] = 1;
        m->boxes++;
        return;
    }
    verdict_broken(m->e->verdict, PROMISE_MODEL,
                   "relief.glb: a %.15s of colour '%s' from column %ld, row %ld, tier %ld to %ld, "
                   "%ld, %ld is %s",
                   sort->size, m->e->shade[sort->shade].id, from[0] + 1, from[1] + 1, from[2] + 1,
                   to[0], to[1], to[2], b ? "there twice" : "no brick of bricks.csv");
}

static bool sort_of(Model *m, const json_t *mesh, Sort *sort)
{
    const json_t *extras = json_object_get(mesh, "extras");
    const char *colour = json_string_value(json_object_get(extras, "colour"));
    sort->size = json_string_value(json_object_get(extras, "size"));
    sort->shade = colour ? name_table_find(&m->e->shade_index, colour) : -1;
    return (sort->size && sort->shade >= 0) ||
           broken_model(m, "a mesh has no size and colour of the plan");
}

/* Takes the boxes of a mesh once, moved. */
static bool take_mesh(Model *m, const json_t *mesh, const double move[3])
{
    Sort sort;
    Corners corners;
    size_t boxes = 0;
    if (!sort_of(m, mesh, &sort)) return false;
    const json_t *primitives = json_object_get(mesh, "primitives");
    for (size_t i = 0; i < json_array_size(primitives); i++) {
        if (!find_corners(m, json_array_get(primitives, i), &corners)) return false;
        for (size_t k = 0; k < corners.count; k += CORNERS, boxes++)
            take_box(m, &corners, k, &sort, move);
    }
    const json_t *extras = json_object_get(mesh, "extras");
    const size_t said = whole_or(extras, "bricks", boxes);
    if (said == boxes) return true;
    verdict_broken(m->e->verdict, PROMISE_MODEL,
                   "relief.glb: mesh %.15s '%s' says it has %zu bricks, but it has %zu boxes",
                   sort.size, m->e->shade[sort.shade].id, said, boxes);
    return false;
}

/* A node places a mesh: it may move it, but not turn it, and holds no other nodes. */
static bool take_node(Model *m, const json_t *node)
{
    static const char *const unknown[] = {"children", "matrix", "rotation", "scale"};
    double move[3] = {0};
    const json_t *mesh = item(m, "meshes", json_object_get(node, "mesh"));
    const json_t *by = json_object_get(node, "translation");
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++)
        if (json_object_get(node, unknown[i]))
            return broken_model(m, "a node is more than a moved mesh");
    if (!mesh) return broken_model(m, "a node has no mesh");
    for (size_t i = 0; i < 3 && by; i++) move[i] = json_number_value(json_array_get(by, i));
    return take_mesh(m, mesh, move);
}

/* The nodes of the scene; more of them than bricks are not looked at, which bounds the work. */
static void take_scene(Model *m)
{
    const json_t *number = json_object_get(m->root, "scene");
    const json_t *nodes = json_object_get(item(m, "scenes", number), "nodes");
    for (size_t i = 0; i < json_array_size(nodes) && i < m->e->blocks; i++)
        if (!take_node(m, item(m, "nodes", json_array_get(nodes, i)))) return;
    if (m->boxes == m->e->blocks) return;
    size_t first = 0;
    while (m->found[first]) first++;
    verdict_broken(m->e->verdict, PROMISE_MODEL,
                   "relief.glb: has %zu of the %zu bricks; that of bricks.csv:%d is not among them",
                   m->boxes, m->e->blocks, m->e->block[first].line);
}

Status check_model(PlanFacts *e, Fault *fault)
{
    char *bytes;
    size_t length;
    if (!e->relief || !e->sound) return STATUS_OK;
    Status status = folder_read(e->folder, "relief.glb", &bytes, &length, fault);
    if (status == STATUS_NO_INPUT) return STATUS_OK; /* check_files has said so */
    if (status) return status;
    Model m = {.e = e, .found = memory_create(e->blocks, 1)};
    status = m.found ? open_chunks(&m, bytes, length, fault) : memory_fault(fault, e->blocks, 1);
    if (!status && json_is_object(m.root)) take_scene(&m); /* else check_files has said so */
    json_decref(m.root);
    memory_free(m.found);
    memory_free(bytes);
    return status;
}
