/* The middle half of a cell each way is looked at, away from joints. A cell's face is hidden where
 * the line from it to the camera goes through a cell that stands out more.
 *
 * Proof: of log light the difference from the mean of the four neighbours (a Laplacian), which no
 * lamp makes, is correlated between plan and photograph. Of a wrong place it is that of things that
 * have nothing to do with each other, and the plan moved by a few cells shows how much that is for
 * this panel. */
#include "inspect/cell_light.h"

#include "base/bands.h"
#include "base/memory.h"
#include "inspect/light_levels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Samples along a side of what is looked at, at most. */
enum { SAMPLES_MOST = 12 };
#define MIDDLE 0.5

/* The share of full at which a channel is taken to be cut off. */
#define CLIPPED 0.985

typedef struct Lighting {
    const PanelFace *face;
    const Photo *photo;
    const Pose *pose;
    CellLight *cells;
    int samples;
} Lighting;

static double steps_at(const PanelFace *face, int column, int row)
{
    if (column < 0 || row < 0 || column >= face->columns || row >= face->rows) return 0;
    return face->steps[face_cell(face, column, row)];
}

/* Where a place of the face would be in the plane, if it lay there: how far it leans away from the
 * camera, in cells for a step. */
static void lean_of(const Lighting *l, double x, double y, double lean_out[2])
{
    const PanelFace *face = l->face;
    Homography back;
    const PlanePoint up = pose_place(l->pose, x, y, face->unit_z);
    lean_out[0] = lean_out[1] = 0;
    if (!homography_invert(&l->pose->plane, &back)) return;
    const PlanePoint at = homography_apply(&back, up);
    lean_out[0] = (at.x - x) / face->unit_x;
    lean_out[1] = (at.y - y) / face->unit_y;
}

/* Whether what stands out more stands between a place of a cell and the camera, which is where the
 * lean does not go. */
static bool hidden_at(const PanelFace *face, double column, double row, double own,
                      const double lean[2])
{
    const double far = fmax(fabs(lean[0]), fabs(lean[1]));
    for (int k = 1; far > 0 && k <= 40; k++) { /* quarters of a cell: ten cells */
        const double share = 0.25 * k / far;
        const double x = column - share * lean[0], y = row - share * lean[1];
        if (steps_at(face, (int)floor(x), (int)floor(y)) > own + share) return true;
    }
    return false;
}

/* Whether some of the part of a cell that is looked at is hidden, or would be if the pose were off
 * by a tenth of a cell. */
static bool hidden(const Lighting *l, int column, int row)
{
    const PanelFace *face = l->face;
    double lean[2];
    if (!face->steps) return false;
    lean_of(l, face_x(face, column + 0.5), face_y(face, row + 0.5), lean);
    const double own = steps_at(face, column, row);
    for (int i = 0; i < 4; i++) {
        const double x = column + 0.5 + (i & 1 ? 0.35 : -0.35);
        const double y = row + 0.5 + (i & 2 ? 0.35 : -0.35);
        if (hidden_at(face, x, y, own, lean)) return true;
    }
    return false;
}

static void light_cell(const Lighting *l, int column, int row)
{
    const PanelFace *face = l->face;
    const size_t cell = face_cell(face, column, row);
    CellLight *out = &l->cells[cell];
    unsigned long sum[3] = {0, 0, 0};
    int clipped = 0, taken = 0;
    for (int j = 0; j < l->samples; j++)
        for (int i = 0; i < l->samples; i++) {
            const double a = 0.5 + MIDDLE * ((i + 0.5) / l->samples - 0.5);
            const double b = 0.5 + MIDDLE * ((j + 0.5) / l->samples - 0.5);
            const PlanePoint at = pose_place(l->pose, face_x(face, column + a),
                                             face_y(face, row + b), face_z(face, cell));
            if (!(at.x >= 0 && at.y >= 0 && at.x < l->photo->width && at.y < l->photo->height))
                continue;
            const uint16_t *p = photo_at(l->photo, (int)at.x, (int)at.y);
            for (int c = 0; c < 3; c++) sum[c] += p[c];
            clipped += p[0] > CLIPPED * PHOTO_FULL || p[1] > CLIPPED * PHOTO_FULL ||
                       p[2] > CLIPPED * PHOTO_FULL;
            taken++;
        }
    out->seen = taken == l->samples * l->samples && !hidden(l, column, row);
    for (int c = 0; taken && c < 3; c++)
        out->light[c] = (float)((double)sum[c] / ((double)taken * PHOTO_FULL));
    out->clipped = taken ? (float)clipped / (float)taken : 0;
}

static void light_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    const Lighting *l = context;
    for (int row = begin; row < end; row++)
        for (int column = 0; column < l->face->columns; column++) light_cell(l, column, row);
}

Status cell_light_create(CellLight **cells_out, const PanelFace *face, const Photo *photo,
                         const Pose *pose, int threads, Fault *fault)
{
    const size_t cells = (size_t)face->columns * (size_t)face->rows;
    Lighting l = {.face = face, .photo = photo, .pose = pose};
    const double side = MIDDLE * pose_cell_pixels(pose, face);
    l.samples = (int)fmin(fmax(side, 2), SAMPLES_MOST);
    *cells_out = l.cells = memory_create(cells, sizeof *l.cells);
    if (!l.cells) return memory_fault(fault, cells, sizeof *l.cells);
    bands_run(threads, face->rows, 2, light_rows, &l);
    return STATUS_OK;
}

/* ---- proof ---- */

/* Differences of log light from the neighbours; NAN where a neighbour is not there. */
static void differences(const PanelFace *face, const float (*value)[3], const bool *known,
                        float (*out)[3])
{
    for (int y = 0; y < face->rows; y++)
        for (int x = 0; x < face->columns; x++) {
            const size_t at = face_cell(face, x, y), wide = (size_t)face->columns;
            const bool inside = x && y && x + 1 < face->columns && y + 1 < face->rows;
            const bool all = inside && known[at] && known[at - 1] && known[at + 1] &&
                             known[at - wide] && known[at + wide];
            for (int c = 0; c < 3; c++)
                out[at][c] = all ? value[at][c] - (value[at - 1][c] + value[at + 1][c] +
                                                   value[at - wide][c] + value[at + wide][c]) /
                                                      4
                                 : NAN;
        }
}

/* The plan moved, turned or mirrored: where a cell's value comes from. */
typedef struct Moved {
    int column, row;
    bool mirrored, upended;
} Moved;

static double correlation(const PanelFace *face, const float (*plan)[3], const float (*photo)[3],
                          Moved moved)
{
    double both = 0, one = 0, other = 0;
    for (int y = 0; y < face->rows; y++)
        for (int x = 0; x < face->columns; x++) {
            const int u = (moved.mirrored ? face->columns - 1 - x : x) + moved.column;
            const int v = (moved.upended ? face->rows - 1 - y : y) + moved.row;
            if (u < 0 || v < 0 || u >= face->columns || v >= face->rows) continue;
            const float *a = plan[face_cell(face, u, v)], *b = photo[face_cell(face, x, y)];
            if (isnan(a[0]) || isnan(b[0])) continue;
            for (int c = 0; c < 3; c++) {
                both += (double)a[c] * (double)b[c];
                one += (double)a[c] * (double)a[c];
                other += (double)b[c] * (double)b[c];
            }
        }
    return one > 0 && other > 0 ? both / sqrt(one * other) : 0;
}

static double most_of_others(const PanelFace *face, const float (*plan)[3], const float (*photo)[3])
{
    enum { FAR = 3 };
    double most = 0;
    for (int dy = -FAR; dy <= FAR; dy++)
        for (int dx = -FAR; dx <= FAR; dx++)
            if (dx || dy)
                most = fmax(most, correlation(face, plan, photo, (Moved){dx, dy, false, false}));
    for (int turn = 1; turn < 4; turn++)
        most = fmax(most, correlation(face, plan, photo, (Moved){0, 0, turn & 1, turn & 2}));
    return most;
}

static double root_mean_square(const float (*value)[3], size_t cells)
{
    double sum = 0;
    size_t count = 0;
    for (size_t i = 0; i < cells; i++)
        for (int c = 0; c < 3 && !isnan(value[i][0]); c++, count++)
            sum += (double)value[i][c] * (double)value[i][c];
    return count ? sqrt(sum / (double)count) : 0;
}

Status face_proof(FaceProof *proof, const PanelFace *face, const CellLight *cells, Fault *fault)
{
    const size_t count = (size_t)face->columns * (size_t)face->rows;
    float(*room)[3] = memory_create(3 * count, sizeof *room);
    bool *known = memory_create(count, sizeof *known);
    *proof = (FaceProof){0};
    if (room && known) {
        float(*value)[3] = room, (*plan)[3] = room + count, (*photo)[3] = room + 2 * count;
        for (size_t i = 0; i < count; i++) known[i] = true;
        for (size_t i = 0; i < count; i++)
            for (int c = 0; c < 3; c++) value[i][c] = level_log(face->light[face->colour[i]][c]);
        differences(face, (const float(*)[3])value, known, plan);
        for (size_t i = 0; i < count; i++) {
            known[i] = cells[i].seen;
            for (int c = 0; c < 3; c++) value[i][c] = level_log((double)cells[i].light[c]);
        }
        differences(face, (const float(*)[3])value, known, photo);
        proof->likeness = correlation(face, (const float(*)[3])plan, (const float(*)[3])photo,
                                      (Moved){0, 0, false, false});
        proof->others = most_of_others(face, (const float(*)[3])plan, (const float(*)[3])photo);
        proof->detail = root_mean_square((const float(*)[3])plan, count);
    }
    memory_free(known);
    memory_free(room);
    return room && known ? STATUS_OK : memory_fault(fault, 3 * count, sizeof *room);
}
