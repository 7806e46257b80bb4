/* Views are tried out: sizes, rolls and tilts as close to one another as the finest thing that
 * eight nodes across tell apart, and of each every place in the photograph. The best few are
 * aligned, on ever more nodes, and ever fewer are kept.
 *
 * A view's nodes are in fixed places around its middle, so that on a level of the photograph it is
 * a list of offsets, and a place is one sum over them: the correlation of plan and photograph in
 * three channels at once, once a constant and two slopes are taken out of either.
 *
 * Rows or columns that are much like those a cell or two on can draw the face, or an edge of it, to
 * them, and no small step leads back: a place that is doubted is held against those beside it. */
#include "inspect/find_pose.h"

#include "base/bands.h"
#include "base/memory.h"
#include "base/simd4.h"
#include "inspect/block_match.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SEARCH_NODES = 8, SEARCH_TERMS = 3, SEARCH_MOST = 2 * SEARCH_NODES * SEARCH_NODES };

/* Half sizes, in halves of the photograph's shorter side. */
#define SIZE_LEAST 0.30
#define SIZE_RATIO 1.12

enum {
    SIZES = 17, /* to 1.84: the longer side of a photograph of 16 to 9, and some more */
    ROLLS = 5,  /* -12 to 12 degrees */
    TILTS = 17, /* none, and eight ways of 17 and of 32 degrees */
    VIEWS = SIZES * ROLLS * TILTS
};

#define DEGREE 0.017453292519943295

/* How many are aligned on so many nodes, and how far. */
static const struct Round {
    int kept, along, turns;
} rounds[] = {{64, 8, 5}, {32, 16, 5}, {8, 32, 6}, {2, 48, 6}};
enum { ROUNDS = sizeof rounds / sizeof *rounds };

typedef struct Guess {
    double score;
    int view;
    Pose pose;
} Guess;

typedef struct Looking {
    const FaceNodes *nodes;
    const PoseSearch *search;
    Simd4 plan[SEARCH_MOST], slow[SEARCH_MOST][SEARCH_TERMS];
    Guess *guess; /* VIEWS */
} Looking;

static PoseView view_of(int index, PoseFrame frame)
{
    const double shorter = frame.width < frame.height ? frame.width : frame.height;
    const int tilt = index % TILTS, roll = index / TILTS % ROLLS, size = index / TILTS / ROLLS;
    return (PoseView){.half = shorter / 2 * SIZE_LEAST * pow(SIZE_RATIO, size),
                      .roll = (roll - ROLLS / 2) * 6 * DEGREE,
                      .tilt = tilt ? (tilt > 8 ? 32 : 17) * DEGREE : 0,
                      .toward = (tilt - 1) % 8 * 45 * DEGREE};
}

/* Offsets on the level of the nodes of a view, and the box that they fill. */
typedef struct Offsets {
    int x[SEARCH_MOST], y[SEARCH_MOST], left, right, up, down;
    ptrdiff_t at[SEARCH_MOST];
} Offsets;

static void offsets_of(Offsets *o, const Looking *l, const PoseView *view, const LightLevel *level)
{
    const Pose pose = pose_of_view(view, l->search->frame, 0, 0);
    o->left = o->up = o->right = o->down = 0;
    for (size_t i = 0; i < l->nodes->count; i++) {
        const PlanePoint p = pose_place(&pose, l->nodes->x[i], l->nodes->y[i], 0);
        const int x = o->x[i] = (int)lrint(p.x / level->scale);
        const int y = o->y[i] = (int)lrint(p.y / level->scale);
        o->at[i] = 3 * ((ptrdiff_t)y * level->width + x);
        o->left = x < o->left ? x : o->left;
        o->right = x > o->right ? x : o->right;
        o->up = y < o->up ? y : o->up;
        o->down = y > o->down ? y : o->down;
    }
}

static Simd4 simd4_at(const float *value)
{
    Simd4 v;
    memcpy(&v, value, sizeof v);
    return v;
}

static float of_channels(Simd4 v) { return v[0] + v[1] + v[2]; }

/* The correlation with the view's middle at this value of the level. The three channels of a pixel
 * are taken with the first of the next one, which counts for nothing. */
static float score_at(const Looking *l, const Offsets *o, const float *middle)
{
    Simd4 likeness = simd4(0), squares = simd4(0), slow[SEARCH_TERMS] = {simd4(0)};
    for (size_t i = 0; i < l->nodes->count; i++) {
        const Simd4 p = simd4_at(middle + o->at[i]);
        likeness += l->plan[i] * p;
        squares += p * p;
        for (int t = 0; t < SEARCH_TERMS; t++) slow[t] += l->slow[i][t] * p;
    }
    for (int t = 0; t < SEARCH_TERMS; t++) squares -= slow[t] * slow[t];
    return of_channels(likeness) / sqrtf(fmaxf(of_channels(squares), 1e-4f));
}

static void look_at_view(const Looking *l, int index)
{
    const PoseView view = view_of(index, l->search->frame);
    const double spacing = view.half * l->nodes->spacing;
    const LightLevel *level = light_level_for(l->search->levels, spacing, 2);
    const int step = (int)fmax(1, floor(0.5 * spacing / level->scale));
    Offsets o;
    offsets_of(&o, l, &view, level);
    Guess best = {.score = -1, .view = index};
    PlanePoint place = {0, 0};
    for (int y = -o.up; y < level->height - o.down; y += step)
        for (int x = -o.left; x < level->width - o.right; x += step) {
            const float *middle = level->value + 3 * ((ptrdiff_t)y * level->width + x);
            const float score = score_at(l, &o, middle);
            if ((double)score <= best.score) continue;
            best.score = (double)score;
            place = (PlanePoint){(x + 0.5) * level->scale, (y + 0.5) * level->scale};
        }
    best.pose = pose_of_view(&view, l->search->frame, place.x, place.y);
    l->guess[index] = best;
}

static void look_at_views(void *context, int begin, int end, int worker)
{
    (void)worker;
    for (int i = begin; i < end; i++) look_at_view(context, i);
}

static int by_score(const void *one, const void *other)
{
    const Guess *a = one, *b = other;
    if (a->score != b->score) return a->score > b->score ? -1 : 1;
    return (a->view > b->view) - (a->view < b->view);
}

static void prepare(Looking *l)
{
    const FaceNodes *n = l->nodes;
    double squares = 0;
    assert(n->count <= SEARCH_MOST);
    for (int c = 0; c < 3; c++) squares += n->strength[c] * n->strength[c];
    for (size_t i = 0; i < n->count; i++) {
        for (int c = 0; c < 3; c++)
            l->plan[i][c] =
                squares > 0 ? (float)(n->plan[c][i] * n->strength[c] / sqrt(squares)) : 0;
        for (int t = 0; t < SEARCH_TERMS; t++) l->slow[i][t] = simd4((float)n->slow[t][i]);
    }
}

static Status look_for(const PanelFace *face, const PoseSearch *search, Guess *guess, Fault *fault)
{
    FaceNodes nodes;
    Looking *looking = memory_create(1, sizeof *looking);
    Status status = face_nodes_init(&nodes, face, SEARCH_NODES, SEARCH_TERMS, fault);
    if (!status && !looking) status = memory_fault(fault, 1, sizeof *looking);
    if (!status) {
        looking->nodes = &nodes;
        looking->search = search;
        looking->guess = guess;
        prepare(looking);
        bands_run_until(search->voice, search->threads, VIEWS, 4, look_at_views, looking);
        qsort(guess, VIEWS, sizeof *guess, by_score);
    }
    face_nodes_clear(&nodes);
    memory_free(looking);
    if (!status && voice_stopped(search->voice))
        status = fault_set(fault, STATUS_INTERRUPTED, "inspect: stopped; run it again");
    return status;
}

/* Aligns those that are kept, each by itself. */
typedef struct Aligning {
    const FaceNodes *nodes;
    const PoseSearch *search;
    const struct Round *round;
    Guess *guess;
    AlignRoom *room; /* one a worker */
} Aligning;

static void align_some(void *context, int begin, int end, int worker)
{
    const Aligning *a = context;
    for (int i = begin; i < end; i++) {
        const Aligned done = align_pose(a->nodes, a->search->levels, a->search->frame,
                                        &a->guess[i].pose, a->round->turns, &a->room[worker]);
        a->guess[i].pose = done.pose;
        a->guess[i].score = done.explained;
    }
}

static Status align_round(const PanelFace *face, const PoseSearch *search,
                          const struct Round *round, Guess *guess, Fault *fault)
{
    FaceNodes nodes;
    AlignRoom room[BANDS_MOST_THREADS] = {{0}};
    const int threads = bands_threads(search->threads);
    Status status = face_nodes_init(&nodes, face, round->along, SLOW_MOST, fault);
    for (int i = 0; !status && i < threads; i++)
        status = align_room_init(&room[i], nodes.count, fault);
    if (!status) {
        Aligning aligning = {&nodes, search, round, guess, room};
        bands_run(threads, round->kept, 1, align_some, &aligning);
        qsort(guess, (size_t)round->kept, sizeof *guess, by_score);
    }
    for (int i = 0; i < threads; i++) align_room_clear(&room[i]);
    face_nodes_clear(&nodes);
    return status;
}

Status find_pose(Aligned *best, const PanelFace *face, const PoseSearch *search, Fault *fault)
{
    Guess *guess = memory_create(VIEWS, sizeof *guess);
    if (!guess) return memory_fault(fault, VIEWS, sizeof *guess);
    Status status = look_for(face, search, guess, fault);
    for (int r = 0; !status && r < ROUNDS; r++)
        status = align_round(face, search, &rounds[r], guess, fault);
    if (!status) *best = (Aligned){guess->pose, guess->score};
    memory_free(guess);
    return status;
}

/* Which corners move, of upper left, upper right, lower right, lower left, and which way: the face
 * as a whole, then each edge away from the others and toward them. */
static const struct Nudge {
    int corner[4], right, up;
} nudges[] = {{{1, 1, 1, 1}, 1, 0}, {{1, 1, 1, 1}, 0, 1}, {{1, 1, 0, 0}, 0, 1},
              {{0, 1, 1, 0}, 1, 0}, {{0, 0, 1, 1}, 0, 1}, {{1, 0, 0, 1}, 1, 0}};
/* As far as places were seen to be off, and as the last round above aligns. */
enum { NUDGES = sizeof nudges / sizeof *nudges, NUDGE_CELLS = 2, NUDGE_TURNS = 6 };

/* The pose with some corners that many cells off; false where that is no face. */
static bool nudged(const Pose *pose, const PanelFace *face, PoseFrame frame,
                   const struct Nudge *nudge, int cells, Pose *out)
{
    static const int side[4][2] = {{-1, 1}, {1, 1}, {1, -1}, {-1, -1}};
    PlanePoint corner[4];
    for (int i = 0; i < 4; i++) {
        const int by = nudge->corner[i] ? cells : 0;
        corner[i] =
            pose_place(pose, face->unit_x * (side[i][0] * face->columns / 2.0 + by * nudge->right),
                       face->unit_y * (side[i][1] * face->rows / 2.0 + by * nudge->up), 0);
    }
    return pose_of_corners(out, face, frame, corner);
}

/* The best of all that are beside it, aligned. */
static Aligned best_beside(const Pose *pose, const PanelFace *face, const PoseSearch *search,
                           const FaceNodes *nodes, AlignRoom *room)
{
    Aligned best = {.explained = -1};
    for (int n = 0; n < NUDGES; n++)
        for (int cells = -NUDGE_CELLS; cells <= NUDGE_CELLS; cells++) {
            Pose from;
            if (!cells || !nudged(pose, face, search->frame, &nudges[n], cells, &from)) continue;
            const Aligned one =
                align_pose(nodes, search->levels, search->frame, &from, NUDGE_TURNS, room);
            if (one.explained > best.explained) best = one;
        }
    return best;
}

Status nudge_pose(Aligned *pose, const PanelFace *face, const PoseSearch *search, Fault *fault)
{
    enum { ALONG = 48, TIMES = 6 };
    FaceNodes nodes;
    AlignRoom room = {0};
    Status status = face_nodes_init(&nodes, face, ALONG, SLOW_MOST, fault);
    if (!status) status = align_room_init(&room, nodes.count, fault);
    if (!status)
        *pose = align_pose(&nodes, search->levels, search->frame, &pose->pose, NUDGE_TURNS, &room);
    for (int time = 0; !status && time < TIMES && !voice_stopped(search->voice); time++) {
        const Aligned beside = best_beside(&pose->pose, face, search, &nodes, &room);
        if (beside.explained <= pose->explained) break;
        *pose = beside;
    }
    align_room_clear(&room);
    face_nodes_clear(&nodes);
    return status;
}

/* On so many nodes: aligned, then again without those that do not fit. */
static Status refine_on(Aligned *pose, const PanelFace *face, const PoseSearch *search, int along,
                        Fault *fault)
{
    enum { TURNS = 8, TIMES = 3 };
    FaceNodes nodes;
    AlignRoom room = {0};
    Status status = face_nodes_init(&nodes, face, along, SLOW_MOST, fault);
    if (!status) status = align_room_init(&room, nodes.count, fault);
    bool *drop = status ? NULL : memory_create(nodes.count, sizeof *drop);
    if (!status && !drop) status = memory_fault(fault, nodes.count, sizeof *drop);
    for (int time = 0; !status && time < TIMES; time++) {
        if (time) {
            align_outliers(&nodes, search->levels, &pose->pose, &room, drop);
            face_nodes_drop(&nodes, drop);
        }
        *pose = align_pose(&nodes, search->levels, search->frame, &pose->pose, TURNS, &room);
    }
    memory_free(drop);
    align_room_clear(&room);
    face_nodes_clear(&nodes);
    return status;
}

Status refine_pose(Aligned *pose, const PanelFace *face, const PoseSearch *search, Fault *fault)
{
    enum { MATCHES = 2 };
    const int longer = face->columns > face->rows ? face->columns : face->rows;
    Status status = STATUS_OK;
    for (int i = 0; !status && i < MATCHES; i++)
        status = block_match(&pose->pose, face, search->levels, search->frame, fault);
    if (!status) status = refine_on(pose, face, search, longer, fault);
    return status ? status : refine_on(pose, face, search, 2 * longer, fault);
}
