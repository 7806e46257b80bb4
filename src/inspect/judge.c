/* A cell is off by as many standard deviations as its colour is from how its planned colour looks,
 * each part of Lab by the noise of its lightness. The threshold comes from the cells themselves:
 * where their distances reach farther than chance would have them (they are shaded, JPEG has been
 * at them), it is higher in the same measure, so that a right cell is beyond it less than once in a
 * thousand.
 *
 * A glare or a shadow moves neighbours alike: what the cells around are off by, in the median, is
 * taken away where it is little; where it is much, or they differ much among themselves, nothing is
 * told. A region that is wrong throughout moves its neighbours as well, so what is explained by
 * them is never called right for it. */
#include "inspect/judge.h"

#include "base/ascending.h"
#include "base/memory.h"
#include "colour/delta_e.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *const verdict_names[VERDICTS] = {"right", "wrong", "missing", "shifted", "cannot tell"};
const char *const obstacle_texts[OBSTACLES] = {"",
                                               "not in the photograph, or hidden",
                                               "too light to tell its colour",
                                               "a glare or a shadow lies there",
                                               "in the shadow of a step",
                                               "too much noise to tell its colour",
                                               "the sheet behind it has its colour"};

/* Of three normal errors one in a thousand is farther than 4.03 standard deviations, one in ten
 * farther than 2.50 (chi with 3 degrees of freedom). Tails of photographs are heavier; the factor
 * was set by tests/bench/bench_inspect. */
#define FAR_LEAST 4.5
#define NINE_TENTHS 2.50

/* Differences below are none, CIEDE2000: a palette's own tolerance (common practice). */
#define DIFFERENCE_LEAST 2.5

/* It looks like another colour when it is that near to it, or so much nearer than to its own. */
#define LIKE_NEAR 3.5
#define LIKE_SHARE 0.4

/* What the neighbours are off by before it is no longer taken away, CIELAB units. */
#define UNEVEN_MOST 5.0

/* A cell with more of it cut off than that tells no colour. */
#define CLIPPED_MOST 0.25f

/* Linear light of a white that may be cut off, of the most that the file holds: our choice. */
#define BRIGHT 0.85f

/* A brick is of one colour: where its other cells are right, two of them at least, one that is off
 * by less than so many times what is too far is chance sooner than two bricks for one. Ours;
 * tests/bench/bench_inspect tells what is found, and what is called wrong, with it. */
#define SURE_ALONE 1.5f
enum { OTHERS_LEAST = 2 };

enum { AROUND = 3, AROUND_LEAST = 8, AROUND_MOST = (2 * AROUND + 1) * (2 * AROUND + 1) };

/* How far around a step its shadow may fall, cells for a step: two lamps at 45 degrees. */
enum { SHADOW_REACH = 3 };

typedef struct Judge {
    const PanelFace *face;
    const CellLight *cells;
    const CellColours *colours;
    CellVerdict *verdict;
    double threshold;
} Judge;

static Lab centre_of(const Judge *j, size_t cell)
{
    return j->colours->centre[j->face->colour[cell]];
}

static double off_by(const Judge *j, size_t cell, int part)
{
    return lab_part(j->colours->cell[cell], part) - lab_part(centre_of(j, cell), part);
}

/* What the cells around one are off by. */
typedef struct Around {
    double middle[3], spread[3]; /* median, and from median sizes as a standard deviation */
} Around;

static Around around_of(const Judge *j, int column, int row)
{
    const PanelFace *face = j->face;
    Around around = {{0}, {0}};
    for (int part = 0; part < 3; part++) {
        double value[AROUND_MOST];
        size_t n = 0;
        for (int y = row - AROUND; y <= row + AROUND; y++)
            for (int x = column - AROUND; x <= column + AROUND; x++) {
                if (x < 0 || y < 0 || x >= face->columns || y >= face->rows) continue;
                const size_t cell = face_cell(face, x, y);
                if ((x != column || y != row) && cell_usable(&j->cells[cell]))
                    value[n++] = off_by(j, cell, part);
            }
        if (n < AROUND_LEAST) continue;
        sort_ascending(value, n);
        const double middle = around.middle[part] = value[n / 2];
        for (size_t i = 0; i < n; i++) value[i] = fabs(value[i] - middle);
        sort_ascending(value, n);
        around.spread[part] = value[n / 2] / 0.6745; /* as of normal errors */
    }
    return around;
}

static double length_of(const double v[3]) { return sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]); }

/* A cell's place in what is measured around it. */
typedef struct Standing {
    Lab shows; /* its colour, without what the neighbours are off by */
    double noise[3];
    double far;    /* standard deviations from its planned colour */
    double uneven; /* what the neighbours are off by */
    bool agree;    /* in that, as well as right ones do */
} Standing;

static Standing standing_of(const Judge *j, int column, int row)
{
    const size_t cell = face_cell(j->face, column, row);
    const Around around = around_of(j, column, row);
    const double *noise = j->colours->noise[noise_class(centre_of(j, cell).L)];
    Standing s = {.shows = j->colours->cell[cell], .uneven = length_of(around.middle)};
    const double taken = s.uneven <= UNEVEN_MOST ? 1 : 0;
    double off[3];
    s.shows.L -= taken * around.middle[0];
    s.shows.a -= taken * around.middle[1];
    s.shows.b -= taken * around.middle[2];
    s.agree = true;
    for (int part = 0; part < 3; part++) {
        s.agree = s.agree && around.spread[part] < 2 * noise[part];
        s.noise[part] = fmax(noise[part], around.spread[part]);
        off[part] = (lab_part(s.shows, part) - lab_part(centre_of(j, cell), part)) / s.noise[part];
    }
    s.far = length_of(off);
    return s;
}

/* The colour of the palette that looks most like it, and how far it is. */
static int nearest_colour(const Judge *j, Lab shows, int besides, double *difference_out)
{
    int nearest = FACE_NOTHING;
    *difference_out = INFINITY;
    for (int k = 0; k < j->face->plan->palette.count; k++) {
        const double difference = delta_e_2000(shows, j->colours->centre[k]);
        if (k == besides || difference >= *difference_out) continue;
        *difference_out = difference;
        nearest = k;
    }
    return nearest;
}

/* Whether something near stands out so much that its shadow may lie here. */
static bool beside_step(const PanelFace *face, int column, int row)
{
    const int own = face->steps ? face->steps[face_cell(face, column, row)] : 0;
    for (int y = row - SHADOW_REACH; face->steps && y <= row + SHADOW_REACH; y++)
        for (int x = column - SHADOW_REACH; x <= column + SHADOW_REACH; x++) {
            if (x < 0 || y < 0 || x >= face->columns || y >= face->rows) continue;
            const int far = abs(x - column) > abs(y - row) ? abs(x - column) : abs(y - row);
            if (face->steps[face_cell(face, x, y)] - own >= (far > 1 ? far - 1 : 1)) return true;
        }
    return false;
}

/* Whether it is its own colour in less light. */
static bool is_shaded(const Judge *j, size_t cell, const Standing *s)
{
    const Xyz own = xyz_from_lab(centre_of(j, cell));
    for (double share = 0.95; share > 0.2; share -= 0.05) {
        const Lab dim = lab_from_xyz((Xyz){share * own.x, share * own.y, share * own.z});
        double off[3];
        for (int part = 0; part < 3; part++)
            off[part] = (lab_part(s->shows, part) - lab_part(dim, part)) / s->noise[part];
        if (length_of(off) < j->threshold) return true;
    }
    return false;
}

static void set_obstacle(CellVerdict *v, Obstacle obstacle)
{
    v->verdict = VERDICT_UNKNOWN;
    v->obstacle = obstacle;
}

/* How far a colour is from that of the sheet, where that is what lies behind the cell. */
static double from_sheet(const Judge *j, size_t cell, Lab shows)
{
    const PanelFace *face = j->face;
    const bool known = face->has_sheet && face->below[cell] == FACE_NOTHING;
    return known ? delta_e_2000(shows, face->sheet) : INFINITY;
}

/* Of a cell that is not its own colour. */
static void tell_what(const Judge *j, size_t cell, const Standing *s, CellVerdict *v)
{
    double near;
    const int looks = nearest_colour(j, s->shows, j->face->colour[cell], &near);
    const bool sheet = from_sheet(j, cell, s->shows) <= near;
    const bool like = !sheet && (near < LIKE_NEAR || near < LIKE_SHARE * (double)v->difference);
    v->looks = (uint8_t)(like ? looks : FACE_NOTHING);
    v->verdict = like && looks != j->face->below[cell] ? VERDICT_WRONG : VERDICT_MISSING;
}

/* Whether a sensor's channel may have been full, which after white balance and the camera's matrix
 * is no longer the most that the file can hold. */
static bool is_bright(const CellLight *light)
{
    return fmaxf(light->light[0], fmaxf(light->light[1], light->light[2])) > BRIGHT;
}

/* Why a cell that is not its own colour cannot be called wrong for certain. Where all around are
 * off as well it is wrong if they agree in that, and show a colour of the palette: a region that
 * was built in another colour. */
static Obstacle obstacle_to_wrong(const Judge *j, int column, int row, const Standing *s)
{
    const size_t cell = face_cell(j->face, column, row);
    const CellVerdict *v = &j->verdict[cell];
    const bool strange = v->looks == FACE_NOTHING;
    if (s->uneven > UNEVEN_MOST)
        return strange || !s->agree || is_shaded(j, cell, s) ? OBSTACLE_UNEVEN : OBSTACLE_NONE;
    if (beside_step(j->face, column, row) && (strange || is_shaded(j, cell, s)))
        return OBSTACLE_SHADOW;
    if (strange && is_bright(&j->cells[cell])) return OBSTACLE_CLIPPED;
    return strange && (double)v->difference < JUDGE_DIFFERENCE ? OBSTACLE_UNEVEN : OBSTACLE_NONE;
}

static void judge_cell(const Judge *j, int column, int row)
{
    const size_t cell = face_cell(j->face, column, row);
    const CellLight *light = &j->cells[cell];
    CellVerdict *v = &j->verdict[cell];
    *v = (CellVerdict){.looks = FACE_NOTHING};
    if (!light->seen || light->clipped > CLIPPED_MOST) {
        set_obstacle(v, light->seen ? OBSTACLE_CLIPPED : OBSTACLE_OUTSIDE);
        return;
    }
    const Standing s = standing_of(j, column, row);
    v->difference = (float)delta_e_2000(s.shows, centre_of(j, cell));
    v->sure = (float)(s.far / j->threshold);
    /* a step of the noise in all three parts is as much as their mean, in CIEDE2000 about */
    v->seen_from = (float)fmax(j->threshold * (s.noise[0] + s.noise[1] + s.noise[2]) / 3 * 0.8,
                               DIFFERENCE_LEAST);
    const bool off = s.far > j->threshold && (double)v->difference > DIFFERENCE_LEAST;
    if (!off && s.uneven <= UNEVEN_MOST) {
        v->verdict = VERDICT_RIGHT;
        if ((double)v->seen_from > JUDGE_DIFFERENCE) set_obstacle(v, OBSTACLE_NOISE);
        if (from_sheet(j, cell, centre_of(j, cell)) < (double)v->seen_from)
            set_obstacle(v, OBSTACLE_SHEET);
        return;
    }
    tell_what(j, cell, &s, v);
    const Obstacle obstacle = obstacle_to_wrong(j, column, row, &s);
    if (obstacle) set_obstacle(v, obstacle);
}

/* Lists how far off the cells are; of those beside steps, where shadows fall, only if asked to. */
static size_t list_far(const Judge *j, bool steps, double *far)
{
    size_t n = 0;
    for (int row = 0; row < j->face->rows; row++)
        for (int column = 0; column < j->face->columns; column++)
            if (cell_usable(&j->cells[face_cell(j->face, column, row)]) &&
                (steps || !beside_step(j->face, column, row)))
                far[n++] = standing_of(j, column, row).far;
    return n;
}

/* The threshold that these cells ask for. */
static Status find_threshold(Judge *j, size_t cells, Fault *fault)
{
    enum { ENOUGH = 100 };
    double *far = memory_create(cells, sizeof *far);
    if (!far) return memory_fault(fault, cells, sizeof *far);
    size_t n = list_far(j, false, far);
    if (n < ENOUGH) n = list_far(j, true, far);
    sort_ascending(far, n);
    const double tenth = n ? far[(n - 1) * 9 / 10] : 0;
    j->threshold = FAR_LEAST * fmax(1, tenth / NINE_TENTHS);
    memory_free(far);
    return STATUS_OK;
}

/* ---- bricks ---- */

static const CellVerdict *cell_at(const Judge *j, int column, int row)
{
    const PanelFace *face = j->face;
    if (column < 0 || row < 0 || column >= face->columns || row >= face->rows) return NULL;
    return &j->verdict[face_cell(face, column, row)];
}

static bool is_off(const CellVerdict *v)
{
    return v && (v->verdict == VERDICT_WRONG || v->verdict == VERDICT_MISSING);
}

static bool holds_cell(const Brick *b, int column, int row)
{
    return column >= b->column && row >= b->row && column < b->column + b->columns &&
           row < b->row + b->rows;
}

/* Whether the brick lies a cell to one side: what it leaves is off, and what it covers shows its
 * colour and should not. */
static bool lies_off(const Judge *j, const Brick *b, int right, int up)
{
    const int x0 = j->face->column, y0 = j->face->row;
    int left = 0, covered = 0;
    for (int row = b->row - 1; row <= b->row + b->rows; row++)
        for (int column = b->column - 1; column <= b->column + b->columns; column++) {
            const bool own = holds_cell(b, column, row);
            const bool moved = holds_cell(b, column - right, row - up);
            if (own == moved) continue;
            const CellVerdict *v = cell_at(j, column - x0, row - y0);
            if (!is_off(v) || (moved && v->looks != b->colour)) return false;
            left += own;
            covered += moved;
        }
    return left && covered;
}

static void judge_shift(const Judge *j, BrickVerdict *v)
{
    static const int8_t way[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    const Brick *b = &j->face->plan->laid.brick[v->brick];
    for (int i = 0; i < 4; i++)
        if (lies_off(j, b, way[i][0], way[i][1])) {
            v->verdict = VERDICT_SHIFTED;
            v->right = way[i][0];
            v->up = way[i][1];
            return;
        }
    if (v->not_right < v->cells && v->verdict == VERDICT_MISSING) v->verdict = VERDICT_SHIFTED;
}

/* Whether all other cells that the face shows of a cell's brick are right. */
static bool others_are_right(const Judge *j, int column, int row)
{
    const PanelFace *face = j->face;
    const int32_t own = face->brick[face_cell(face, column, row)];
    const Brick *b = &face->plan->laid.brick[own];
    int others = 0;
    for (int y = b->row - face->row; y < b->row + b->rows - face->row; y++)
        for (int x = b->column - face->column; x < b->column + b->columns - face->column; x++) {
            const CellVerdict *v = cell_at(j, x, y);
            if (!v || (x == column && y == row) || face->brick[face_cell(face, x, y)] != own)
                continue;
            if (v->verdict != VERDICT_RIGHT) return false;
            others++;
        }
    return others >= OTHERS_LEAST;
}

static void forgive_lone_cells(const Judge *j)
{
    for (int row = 0; row < j->face->rows; row++)
        for (int column = 0; column < j->face->columns; column++) {
            CellVerdict *v = &j->verdict[face_cell(j->face, column, row)];
            if (is_off(v) && v->sure < SURE_ALONE && others_are_right(j, column, row))
                v->verdict = VERDICT_RIGHT;
        }
}

/* Adds what a cell tells to what is told of its brick; the worst counts. */
static void add_cell(BrickVerdict *b, const CellVerdict *v)
{
    static const int weight[VERDICTS] = {
        [VERDICT_UNKNOWN] = 0, [VERDICT_RIGHT] = 1, [VERDICT_MISSING] = 2, [VERDICT_WRONG] = 3};
    const bool first = !b->cells;
    b->cells++;
    b->not_right += is_off(v);
    b->right_cells += v->verdict == VERDICT_RIGHT;
    if (v->obstacle) b->obstacle = v->obstacle;
    if (v->verdict != VERDICT_UNKNOWN && v->seen_from > b->seen_from) b->seen_from = v->seen_from;
    if (first || weight[v->verdict] > weight[b->verdict]) {
        b->verdict = v->verdict;
        b->looks = v->looks;
    }
    if (v->difference > b->difference) b->difference = v->difference;
}

static Status judge_bricks(const Judge *j, Judgement *out, Fault *fault)
{
    const PanelFace *face = j->face;
    const Laid *laid = &face->plan->laid;
    const size_t cells = (size_t)face->columns * (size_t)face->rows;
    int32_t *place = memory_create(laid->count, sizeof *place);
    out->brick = memory_create(cells, sizeof *out->brick);
    if (!place || !out->brick) {
        memory_free(place);
        return memory_fault(fault, laid->count, sizeof *out->brick);
    }
    for (size_t i = 0; i < cells; i++) place[face->brick[i]] = 1;
    for (size_t i = 0; i < laid->count; i++) /* in building order */
        if (place[i]) {
            out->brick[out->bricks++] = (BrickVerdict){.brick = i, .looks = FACE_NOTHING};
            place[i] = (int32_t)out->bricks;
        }
    for (size_t i = 0; i < cells; i++)
        add_cell(&out->brick[place[face->brick[i]] - 1], &j->verdict[i]);
    memory_free(place);
    size_t certain = 0;
    for (BrickVerdict *b = out->brick; b < out->brick + out->bricks; b++) {
        if (b->not_right)
            judge_shift(j, b);
        else if (2 * b->right_cells <= b->cells) /* what is right must be most of it */
            b->verdict = VERDICT_UNKNOWN;
        out->count[b->verdict]++;
        certain += b->verdict != VERDICT_UNKNOWN && (double)b->seen_from <= JUDGE_DIFFERENCE;
    }
    out->certain = out->bricks ? (double)certain / (double)out->bricks : 0;
    return STATUS_OK;
}

Status judgement_init(Judgement *out, const PanelFace *face, const CellLight *cells,
                      const CellColours *colours, Fault *fault)
{
    const size_t count = (size_t)face->columns * (size_t)face->rows;
    *out = (Judgement){.cell = memory_create(count, sizeof *out->cell)};
    if (!out->cell) return memory_fault(fault, count, sizeof *out->cell);
    Judge j = {.face = face, .cells = cells, .colours = colours, .verdict = out->cell};
    const Status status = find_threshold(&j, count, fault);
    if (status) return status;
    for (int row = 0; row < face->rows; row++)
        for (int column = 0; column < face->columns; column++) judge_cell(&j, column, row);
    forgive_lone_cells(&j);
    return judge_bricks(&j, out, fault);
}

/* One brick in so many. Ours: of 61 panels with five faults in each that were placed well a third
 * or more of the bricks were right, of eleven that were not none was. */
enum { RIGHT_LEAST_PART = 20 };

bool judgement_holds(const Judgement *j)
{
    return j->count[VERDICT_RIGHT] * RIGHT_LEAST_PART >= j->bricks;
}

void judgement_clear(Judgement *judgement)
{
    memory_free(judgement->cell);
    memory_free(judgement->brick);
    judgement->cell = NULL;
    judgement->brick = NULL;
}
