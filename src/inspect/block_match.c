/* The photograph is brought to cells by the pose, with some more around the face, and of plan and
 * photograph the differences from the neighbours are taken, which no lamp makes. Each block of
 * cells is then looked for in its surroundings; where blocks are found is what a new homography is
 * fitted to, without those that do not go with the others (least squares, trimmed). */
#include "inspect/block_match.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK = 12, /* cells of a block each way; what a picture has of pattern within */
    STRIDE = 6, /* from one block to the next */
    REACH = 8,  /* cells that a block is looked for around its place */
    BLOCKS_MOST = 400,
    FEWEST = 6, /* blocks that a pose is put right by */
    TRIMS = 8
};

/* A block is found where the correlation is that much: of blocks without a counterpart, among 289
 * places, the highest is rarely over 0.35 (tests/bench/bench_inspect). */
#define FOUND 0.5

/* Cells that a block may lie off what the others say. */
#define OFF 1.0

typedef struct Matching {
    const PanelFace *face;
    int across, up;   /* cells of the photograph's raster, REACH + 1 more on each side */
    float (*plan)[3]; /* differences; those of the plan as large as the photograph's */
    float (*photo)[3];
    int found;
    PlanePoint from[BLOCKS_MOST], to[BLOCKS_MOST]; /* plane units, pixels */
} Matching;

enum { BRIM = REACH + 1 };

static size_t raster_at(const Matching *m, int column, int row)
{
    return (size_t)(row + BRIM) * (size_t)m->across + (size_t)(column + BRIM);
}

/* The value less the mean of its four neighbours, in place of the first of two rasters; the rim is
 * 0. */
static void differ(const Matching *m, const float (*value)[3], float (*out)[3])
{
    const size_t wide = (size_t)m->across;
    for (int y = 1; y + 1 < m->up; y++)
        for (int x = 1; x + 1 < m->across; x++) {
            const size_t at = (size_t)y * wide + (size_t)x;
            for (int c = 0; c < 3; c++)
                out[at][c] = value[at][c] - (value[at - 1][c] + value[at + 1][c] +
                                             value[at - wide][c] + value[at + wide][c]) /
                                                4;
        }
}

static int clamp(int at, int count) { return at < 0 ? 0 : at >= count ? count - 1 : at; }

static void fill(Matching *m, const Pose *pose, const LightLevels *levels, float (*room)[3])
{
    const PanelFace *face = m->face;
    const LightLevel *level = light_level_for(levels, pose_cell_pixels(pose, face), 2);
    for (int pass = 0; pass < 2; pass++) {
        for (int y = -BRIM; y < face->rows + BRIM; y++)
            for (int x = -BRIM; x < face->columns + BRIM; x++) {
                const size_t cell = face_cell(face, clamp(x, face->columns), clamp(y, face->rows));
                float *out = room[raster_at(m, x, y)];
                const PlanePoint at = pose_place(pose, face_x(face, x + 0.5), face_y(face, y + 0.5),
                                                 face_z(face, cell));
                const LevelSample s = light_level_at(level, at.x, at.y);
                for (int c = 0; c < 3; c++)
                    out[c] = pass ? s.value[c] : level_log(face->light[face->colour[cell]][c]);
            }
        differ(m, (const float(*)[3])room, pass ? m->photo : m->plan);
    }
}

static double likeness(const Matching *m, int column, int row, int right, int up)
{
    double both = 0, one = 0, other = 0;
    for (int y = row; y < row + BLOCK; y++)
        for (int x = column; x < column + BLOCK; x++) {
            const float *a = m->plan[raster_at(m, x, y)];
            const float *b = m->photo[raster_at(m, x + right, y + up)];
            for (int c = 0; c < 3; c++) {
                both += (double)a[c] * (double)b[c];
                one += (double)a[c] * (double)a[c];
                other += (double)b[c] * (double)b[c];
            }
        }
    return one > 0 && other > 0 ? both / sqrt(one * other) : 0;
}

static void match_block(Matching *m, const Pose *pose, int column, int row)
{
    const PanelFace *face = m->face;
    double best = 0;
    int right = 0, up = 0;
    for (int dy = -REACH; dy <= REACH; dy++)
        for (int dx = -REACH; dx <= REACH; dx++) {
            const double like = likeness(m, column, row, dx, dy);
            if (like <= best) continue;
            best = like;
            right = dx;
            up = dy;
        }
    if (best < FOUND || m->found == BLOCKS_MOST) return;
    const double x = column + BLOCK / 2.0, y = row + BLOCK / 2.0;
    m->from[m->found] = (PlanePoint){face_x(face, x), face_y(face, y)};
    m->to[m->found++] = pose_place(pose, face_x(face, x + right), face_y(face, y + up), 0);
}

/* Fits, and drops the blocks that are farthest off, until all go together. */
static bool fit(Matching *m, double cell, Homography *plane)
{
    for (int trim = 0; trim < TRIMS && m->found >= FEWEST; trim++) {
        if (!homography_fit(plane, m->from, m->to, m->found)) return false;
        double far[BLOCKS_MOST], farthest = 0;
        for (int i = 0; i < m->found; i++) {
            const PlanePoint at = homography_apply(plane, m->from[i]);
            far[i] = hypot(at.x - m->to[i].x, at.y - m->to[i].y) / cell;
            farthest = fmax(farthest, far[i]);
        }
        if (farthest < OFF) return plane->h[8] == 1;
        int kept = 0;
        for (int i = 0; i < m->found; i++) {
            if (far[i] >= fmax(OFF, farthest / 2)) continue;
            m->from[kept] = m->from[i];
            m->to[kept++] = m->to[i];
        }
        m->found = kept;
    }
    return false;
}

Status block_match(Pose *pose, const PanelFace *face, const LightLevels *levels, PoseFrame frame,
                   Fault *fault)
{
    if (face->columns < BLOCK || face->rows < BLOCK) return STATUS_OK;
    Matching m = {.face = face, .across = face->columns + 2 * BRIM, .up = face->rows + 2 * BRIM};
    const size_t places = (size_t)m.across * (size_t)m.up;
    float(*room)[3] = memory_create(3 * places, sizeof *room);
    if (!room) return memory_fault(fault, 3 * places, sizeof *room);
    m.plan = room + places;
    m.photo = room + 2 * places;
    fill(&m, pose, levels, room);
    for (int row = 0; row + BLOCK <= face->rows; row += STRIDE)
        for (int column = 0; column + BLOCK <= face->columns; column += STRIDE)
            match_block(&m, pose, column, row);
    Homography plane;
    if (fit(&m, pose_cell_pixels(pose, face), &plane)) {
        pose->plane = plane;
        pose_stand_out(pose, frame);
    }
    memory_free(room);
    return STATUS_OK;
}
