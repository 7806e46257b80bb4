/* Gauss and Newton's method on the pose, with all that is linear put aside: in each channel the
 * photograph's values are the plan's times a gain, plus slow terms, plus the slopes by the pose
 * times its step. Gain and slow terms are taken out of values and slopes by projection, and least
 * squares are left for the step (variable projection).
 *
 * Sources: S. Baker and I. Matthews, Lucas-Kanade 20 years on, IJCV 56(3), 2004 (the forward
 * additive way); G. Evangelidis and E. Psarakis, Parametric image alignment using enhanced
 * correlation coefficient maximization, IEEE PAMI 30(10), 2008 (gain and bias left out of it);
 * G. Golub and V. Pereyra, SIAM J. Numer. Anal. 10, 1973. */
#include "inspect/align.h"

#include "base/ascending.h"
#include "base/memory.h"
#include "inspect/normal_equations.h"

#include <math.h>
#include <string.h>

enum { UNKNOWNS = 8, COLUMNS = UNKNOWNS + 1 };

/* Added to the diagonal of the normal matrix, of its own size: steps along which nothing changes
 * stay short. */
#define DAMPING 1e-5

/* A step that moves no corner by more than this share of a node's spacing is the last. */
#define STILL 0.01

Status align_room_init(AlignRoom *room, size_t nodes, Fault *fault)
{
    *room = (AlignRoom){.capacity = nodes};
    for (int i = 0; i < COLUMNS; i++) {
        room->column[i] = memory_create_unset(nodes, sizeof *room->column[i]);
        if (!room->column[i]) return memory_fault(fault, nodes, sizeof *room->column[i]);
    }
    return STATUS_OK;
}

void align_room_clear(AlignRoom *room)
{
    for (int i = 0; i < COLUMNS; i++) memory_free(room->column[i]);
    *room = (AlignRoom){0};
}

typedef struct Align {
    const FaceNodes *nodes;
    const LightLevel *level;
    AlignRoom *room;
    Pose pose;
    NormalEquations normal;
    double explained, varied; /* squares: by the plan, and beside slow terms */
} Align;

/* Values of one channel at the nodes, and their slopes. */
static void look(Align *a, int channel)
{
    const FaceNodes *n = a->nodes;
    const double *h = a->pose.plane.h;
    double **column = a->room->column;
    for (size_t i = 0; i < n->count; i++) {
        const double x = n->x[i], y = n->y[i];
        const double w = h[6] * x + h[7] * y + h[8] + n->z[i] * a->pose.out[2];
        const PlanePoint at = pose_place(&a->pose, x, y, n->z[i]);
        const LevelSample s = light_level_at(a->level, at.x, at.y);
        const double across = (double)s.across[channel] / w, down = (double)s.down[channel] / w;
        const double away = -(across * at.x + down * at.y);
        const double slope[UNKNOWNS] = {across * x, across * y, across,   down * x,
                                        down * y,   down,       away * x, away * y};
        column[0][i] = (double)s.value[channel];
        for (int k = 0; k < UNKNOWNS; k++) column[1 + k][i] = slope[k];
    }
}

static double take_out(double *from, const double *what, size_t count)
{
    const double share = node_product(from, what, count);
    for (size_t i = 0; i < count; i++) from[i] -= share * what[i];
    return share;
}

static void add_channel(Align *a, int channel)
{
    const FaceNodes *n = a->nodes;
    double **column = a->room->column;
    look(a, channel);
    for (int k = 0; k < COLUMNS; k++)
        for (int t = 0; t < n->slow_terms; t++) take_out(column[k], n->slow[t], n->count);
    a->varied += node_product(column[0], column[0], n->count);
    for (int k = 0; k < COLUMNS; k++) {
        const double share = take_out(column[k], n->plan[channel], n->count);
        if (!k && share > 0) a->explained += share * share; /* a negative is no likeness */
    }
    for (int r = 0; r < UNKNOWNS; r++) {
        a->normal.right[r] -= node_product(column[1 + r], column[0], n->count);
        for (int c = 0; c <= r; c++)
            a->normal.matrix[r][c] += node_product(column[1 + r], column[1 + c], n->count);
    }
}

/* The farthest that a step moves a corner of the square from -1 to 1, in pixels. */
static double farthest(const Pose *from, const Pose *to)
{
    double most = 0;
    for (int i = 0; i < 4; i++) {
        const double x = i & 1 ? 1 : -1, y = i & 2 ? 1 : -1;
        const PlanePoint a = pose_place(from, x, y, 0), b = pose_place(to, x, y, 0);
        most = fmax(most, hypot(a.x - b.x, a.y - b.y));
    }
    return most;
}

static Pose stepped(const Pose *pose, const double step[UNKNOWNS], double share)
{
    Pose next = *pose;
    for (int k = 0; k < UNKNOWNS; k++) next.plane.h[k] += share * step[k];
    return next;
}

static double measure(Align *a)
{
    a->normal = (NormalEquations){.unknowns = UNKNOWNS};
    a->explained = a->varied = 0;
    for (int c = 0; c < 3; c++) add_channel(a, c);
    return a->varied > 0 ? a->explained / a->varied : 0;
}

static double unit_pixels(const Pose *pose)
{
    const double *h = pose->plane.h;
    return sqrt(fabs((h[0] - h[2] * h[6]) * (h[4] - h[5] * h[7]) -
                     (h[1] - h[2] * h[7]) * (h[3] - h[5] * h[6])));
}

Aligned align_pose(const FaceNodes *nodes, const LightLevels *levels, PoseFrame frame,
                   const Pose *from, int turns, AlignRoom *room)
{
    const double spacing = nodes->spacing * unit_pixels(from);
    Align a = {.nodes = nodes, .room = room, .pose = *from};
    a.level = light_level_for(levels, spacing, 2);
    Aligned best = {*from, measure(&a)};
    for (int turn = 0; turn < turns; turn++) {
        double step[UNKNOWNS];
        if (!normal_solve(&a.normal, DAMPING, step)) break;
        Pose next = stepped(&a.pose, step, 1);
        const double far = farthest(&a.pose, &next);
        if (!(far < 8 * spacing)) break; /* not a number, too */
        if (far > spacing) next = stepped(&a.pose, step, spacing / far);
        pose_stand_out(&next, frame);
        a.pose = next;
        const double explained = measure(&a);
        if (explained > best.explained) best = (Aligned){next, explained};
        if (far < STILL * spacing) break;
    }
    return best;
}

/* Beyond this many medians of what is left over a node is an outlier; of chance alone, one of some
 * ten thousand is. */
#define OUTLIER 6.0

void align_outliers(const FaceNodes *nodes, const LightLevels *levels, const Pose *pose,
                    AlignRoom *room, bool *drop)
{
    Align a = {.nodes = nodes, .room = room, .pose = *pose};
    double *left = room->column[1], *sorted = room->column[2];
    a.level = light_level_for(levels, nodes->spacing * unit_pixels(pose), 2);
    memset(drop, 0, nodes->count * sizeof *drop);
    for (int c = 0; c < 3; c++) {
        look(&a, c);
        double *value = room->column[0];
        for (int t = 0; t < nodes->slow_terms; t++) take_out(value, nodes->slow[t], nodes->count);
        take_out(value, nodes->plan[c], nodes->count);
        for (size_t i = 0; i < nodes->count; i++) left[i] = sorted[i] = fabs(value[i]);
        sort_ascending(sorted, nodes->count);
        const double most = OUTLIER * sorted[nodes->count / 2];
        for (size_t i = 0; i < nodes->count; i++) drop[i] = drop[i] || left[i] > most;
    }
}
