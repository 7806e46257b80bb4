/* A node's light is the mean of the plan over a square as wide as the nodes are apart, or over part
 * of a cell where they are closer. Gram and Schmidt's way makes the terms orthogonal. */
#include "inspect/face_nodes.h"

#include "base/memory.h"
#include "inspect/light_levels.h"

#include <math.h>

/* Below this part of the nodes' number a square of what the plan has is nothing: its values are
 * logarithms, and differ by hundredths between colours that the eye tells apart. */
#define FLAT 1e-6

/* Adds the overlap of [low, high) with the cells along an axis: the first cell, and how many. */
static int cells_over(double low, double high, int cells, int *first_out)
{
    const int first = (int)fmax(0, floor(low)), last = (int)fmin(cells, ceil(high));
    *first_out = first;
    return last > first ? last - first : 0;
}

static double overlap(int cell, double low, double high)
{
    return fmax(0, fmin(high, cell + 1.0) - fmax(low, cell));
}

/* The mean light of a box of the face, in cells, and its mean height. */
static void mean_over(const PanelFace *face, const double box[4], double light[3], double *z_out)
{
    int x0, y0;
    const int nx = cells_over(box[0], box[2], face->columns, &x0);
    const int ny = cells_over(box[1], box[3], face->rows, &y0);
    double whole = 0, z = 0;
    light[0] = light[1] = light[2] = 0;
    for (int y = y0; y < y0 + ny; y++)
        for (int x = x0; x < x0 + nx; x++) {
            const double part = overlap(x, box[0], box[2]) * overlap(y, box[1], box[3]);
            const size_t cell = face_cell(face, x, y);
            for (int c = 0; c < 3; c++) light[c] += part * face->light[face->colour[cell]][c];
            z += part * face_z(face, cell);
            whole += part;
        }
    for (int c = 0; c < 3; c++) light[c] /= whole;
    *z_out = z / whole;
}

static Status nodes_room(FaceNodes *nodes, Fault *fault)
{
    double **all[6 + SLOW_MOST] = {&nodes->x,       &nodes->y,       &nodes->z,
                                   &nodes->plan[0], &nodes->plan[1], &nodes->plan[2]};
    for (int i = 0; i < nodes->slow_terms; i++) all[6 + i] = &nodes->slow[i];
    for (int i = 0; i < 6 + nodes->slow_terms; i++) {
        *all[i] = memory_create(nodes->count, sizeof **all[i]);
        if (!*all[i]) return memory_fault(fault, nodes->count, sizeof **all[i]);
    }
    return STATUS_OK;
}

double node_product(const double *a, const double *b, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) sum += a[i] * b[i];
    return sum;
}

/* Takes from `of` what lies along the first `terms` slow ones; its length, which is made 1 where it
 * is not nothing. */
static double make_right(const FaceNodes *nodes, double *of, int terms)
{
    for (int turn = 0; turn < 2; turn++) /* twice is enough (Kahan, Parlett: from memory) */
        for (int t = 0; t < terms; t++) {
            const double share = node_product(of, nodes->slow[t], nodes->count);
            for (size_t i = 0; i < nodes->count; i++) of[i] -= share * nodes->slow[t][i];
        }
    const double length = sqrt(node_product(of, of, nodes->count));
    const bool flat = length * length < FLAT * (double)nodes->count;
    for (size_t i = 0; i < nodes->count; i++) of[i] = flat ? 0 : of[i] / length;
    return flat ? 0 : length;
}

static void make_all_right(FaceNodes *nodes)
{
    for (int t = 0; t < nodes->slow_terms; t++) make_right(nodes, nodes->slow[t], t);
    for (int c = 0; c < 3; c++)
        nodes->strength[c] *= make_right(nodes, nodes->plan[c], nodes->slow_terms);
}

static void fill_node(FaceNodes *nodes, const PanelFace *face, size_t at)
{
    const int i = (int)(at % (size_t)nodes->across), j = (int)(at / (size_t)nodes->across);
    const double wide = (double)face->columns / nodes->across,
                 high = (double)face->rows / nodes->up;
    const double column = (i + 0.5) * wide, row = (j + 0.5) * high;
    const double half_x = fmax(wide, 0.5) / 2, half_y = fmax(high, 0.5) / 2;
    double light[3];
    mean_over(face, (double[]){column - half_x, row - half_y, column + half_x, row + half_y}, light,
              &nodes->z[at]);
    const double x = nodes->x[at] = face_x(face, column), y = nodes->y[at] = face_y(face, row);
    for (int c = 0; c < 3; c++) nodes->plan[c][at] = (double)level_log(light[c]);
    const double term[SLOW_MOST] = {1, x, y, x * x, x * y, y * y};
    for (int t = 0; t < nodes->slow_terms; t++) nodes->slow[t][at] = term[t];
}

Status face_nodes_init(FaceNodes *nodes, const PanelFace *face, int along, int slow_terms,
                       Fault *fault)
{
    const double wide = face->columns * face->unit_x, high = face->rows * face->unit_y;
    *nodes = (FaceNodes){.spacing = 2.0 / along, .slow_terms = slow_terms};
    nodes->across = (int)fmax(2, rint(along * wide / 2));
    nodes->up = (int)fmax(2, rint(along * high / 2));
    nodes->count = (size_t)nodes->across * (size_t)nodes->up;
    const Status status = nodes_room(nodes, fault);
    if (status) return status;
    for (size_t at = 0; at < nodes->count; at++) fill_node(nodes, face, at);
    for (int c = 0; c < 3; c++) nodes->strength[c] = 1;
    make_all_right(nodes);
    return STATUS_OK;
}

void face_nodes_drop(FaceNodes *nodes, const bool *drop)
{
    double *all[6 + SLOW_MOST] = {nodes->x,       nodes->y,       nodes->z,
                                  nodes->plan[0], nodes->plan[1], nodes->plan[2]};
    for (int t = 0; t < nodes->slow_terms; t++) all[6 + t] = nodes->slow[t];
    size_t kept = 0;
    for (size_t i = 0; i < nodes->count; i++) {
        if (drop[i]) continue;
        for (int k = 0; k < 6 + nodes->slow_terms; k++) all[k][kept] = all[k][i];
        kept++;
    }
    nodes->count = kept;
    make_all_right(nodes);
}

void face_nodes_clear(FaceNodes *nodes)
{
    memory_free(nodes->x);
    memory_free(nodes->y);
    memory_free(nodes->z);
    for (int c = 0; c < 3; c++) memory_free(nodes->plan[c]);
    for (int t = 0; t < SLOW_MOST; t++) memory_free(nodes->slow[t]);
    *nodes = (FaceNodes){0};
}
