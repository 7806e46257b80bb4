#include "bound.h"

#include "memory.h"

#include <string.h>

/* Flat walls. In each course, count only the bricks that touch the face or the back. Such a
 * brick lies in the front leaf, in the back leaf or right through, and the program of
 * leaves.h, given every length of any depth for each leaf, finds the least number exactly;
 * any laying has at least as many.
 *
 * Two bricks thick, a brick that crosses a colour edge of the face cannot touch the face.
 * Take three courses, one above another, and the lines where all three have a colour edge:
 * one of the three must have a brick behind the face across each of these (where it can be),
 * and one brick crosses no more lines than fit within the longest length. Their least number
 * comes on top of the bricks that touch the face. Triples that do not overlap add up; the
 * best of the three ways to cut a panel into triples is taken.
 *
 * Relief. A brick whose outermost tier is the outermost of some cells cannot reach over a
 * cell of fewer tiers, and those cells have one colour: count these bricks, longest first.
 * A course also needs as many bricks as its units divided by the largest brick. */

typedef struct Room {
    const Solid *solid;
    const Panel *panel;
    const Cuts *cuts;
    int thick;
    int lengths[3][SIZE_LONGEST], count[3]; /* right through, one leaf, any */
    int largest;                            /* units */
    int longest_behind;
    int64_t *cost[3], *line;
    LeafStep *step;
    int64_t *least, *face; /* by row: bricks that touch face or back; face alone */
} Room;

static void room_clear(Room *r)
{
    for (int i = 0; i < 3; i++) memory_free(r->cost[i]);
    memory_free(r->line);
    memory_free(r->step);
    memory_free(r->least);
    memory_free(r->face);
}

static void gather_lengths(Room *r)
{
    bool leaf[SIZE_LONGEST + 1] = {0}, through[SIZE_LONGEST + 1] = {0};
    for (int depth = 1; depth <= SIZE_LONGEST; depth++)
        for (int k = 0; k < r->cuts->count[depth]; k++) {
            const int length = r->cuts->length[depth][k];
            if (depth * length > r->largest) r->largest = depth * length;
            if (depth < r->thick) leaf[length] = true;
            if (depth == r->thick) through[length] = true;
            if (depth < r->thick && length > r->longest_behind) r->longest_behind = length;
        }
    for (int length = 1; length <= SIZE_LONGEST; length++) {
        if (through[length]) r->lengths[0][r->count[0]++] = length;
        if (leaf[length]) r->lengths[1][r->count[1]++] = length;
        if (leaf[length] || through[length]) r->lengths[2][r->count[2]++] = length;
    }
}

static Status room_init(Room *r, Fault *fault)
{
    const size_t n = (size_t)r->panel->columns + 1, rows = (size_t)r->panel->rows;
    gather_lengths(r);
    bool there = true;
    for (int i = 0; i < 3 && there; i++)
        there = (r->cost[i] = memory_create(n * SIZE_LONGEST, sizeof **r->cost)) != NULL;
    if (there) there = (r->line = memory_create(n, sizeof *r->line)) != NULL;
    const size_t steps = leaves_steps(r->panel->columns, 1, r->cuts->longest);
    if (there) there = (r->step = memory_create(steps, sizeof *r->step)) != NULL;
    if (there) there = (r->least = memory_create(rows, sizeof *r->least)) != NULL;
    if (there) there = (r->face = memory_create(rows, sizeof *r->face)) != NULL;
    return there ? STATUS_OK : memory_fault(fault, n, sizeof *r->step);
}

/* The colour that a cell's unit must show, or HUE_FREE. */
static int hue(const Room *r, int x, int row, int tier)
{
    const int column = r->panel->column + x, y = r->panel->row + row;
    return solid_shown(r->solid, column, y, tier) ? grid_colour(r->solid->grid, column, y)
                                                  : HUE_FREE;
}

/* Costs 1 for each brick of these lengths that keeps to the colours of tiers [c,d); only
 * the first and the last tier bear colours that count. */
static void count_range(const Room *r, int row, int c, int d, int kind, LeafRange *range,
                        int64_t *cost)
{
    const int n = r->count[kind], columns = r->panel->columns;
    for (int a = 0; a < columns; a++) {
        int64_t *price = cost + (size_t)a * (size_t)n;
        int colour = HUE_FREE, x = a, k = 0;
        for (; k < n; x++) {
            if (x >= columns) break;
            int clash = 0;
            for (int tier = c; tier<d; tier += d - c> 1 ? d - c - 1 : 1) {
                const int h = hue(r, x, row, tier);
                if (h != HUE_FREE && colour != HUE_FREE && h != colour) clash = 1;
                if (h != HUE_FREE) colour = h;
            }
            if (clash) break;
            if (x + 1 - a == r->lengths[kind][k]) price[k++] = 1;
        }
        while (k < n) price[k++] = LEAVES_NEVER;
    }
    *range = (LeafRange){n, r->lengths[kind], cost};
}

static void bound_course(Room *r, int row)
{
    const int T = r->thick;
    int count;
    Leaves leaves = {.columns = r->panel->columns, .longest = r->cuts->longest, .line = r->line};
    count_range(r, row, T - 1, T, 2, &leaves.range[0], r->cost[0]);
    r->face[row] = leaves_solve(&leaves, r->step, NULL, &count);
    r->least[row] = r->face[row];
    if (T == 1) return;
    leaves.splits = 1;
    count_range(r, row, 0, T, 0, &leaves.range[0], r->cost[0]);
    count_range(r, row, 0, 1, 1, &leaves.range[1], r->cost[1]);
    count_range(r, row, T - 1, T, 1, &leaves.range[2], r->cost[2]);
    r->least[row] = leaves_solve(&leaves, r->step, NULL, &count);
}

/* True if bricks that touch the face cannot cross this line in this course. */
static bool edge(const Room *r, int x, int row)
{
    const int left = hue(r, x - 1, row, r->thick - 1), right = hue(r, x, row, r->thick - 1);
    return left != right;
}

static bool crossable(const Room *r, int x, int row)
{
    const int left = hue(r, x - 1, row, 0), right = hue(r, x, row, 0);
    return left == HUE_FREE || right == HUE_FREE || left == right;
}

/* The least number of bricks that cross behind the face, in three courses from row on. */
static int64_t ties(const Room *r, int row)
{
    int64_t found = 0;
    int reach = 0; /* lines up to here are crossed */
    for (int x = 1; x < r->panel->columns; x++) {
        if (x <= reach) continue;
        bool must = true, can = false;
        for (int y = row; y < row + 3; y++) {
            must = must && edge(r, x, y);
            can = can || crossable(r, x, y);
        }
        if (!must || !can) continue;
        found++;
        reach = x + r->longest_behind - 2;
    }
    return found;
}

static double bound_flat(Room *r)
{
    const int rows = r->panel->rows;
    double best = 0;
    for (int row = 0; row < rows; row++) bound_course(r, row);
    for (int shift = 0; shift < 3; shift++) {
        double sum = 0;
        for (int row = 0; row < rows;) {
            const bool triple = row >= shift && row + 3 <= rows;
            int64_t least = 0, face = 0;
            for (int y = row; y < row + (triple ? 3 : 1); y++) {
                least += r->least[y];
                face += r->face[y];
            }
            if (triple && r->thick == 2) face += ties(r, row);
            sum += (double)(face > least ? face : least);
            row += triple ? 3 : 1;
        }
        if (sum > best) best = sum;
    }
    return best;
}

static double bound_relief(const Room *r)
{
    double sum = 0;
    for (int row = 0; row < r->panel->rows; row++) {
        int begin[256 + 1], colour[256 + 1];
        long faces = 0, units = 0;
        for (int h = 0; h <= 256; h++) begin[h] = -1;
        for (int x = 0; x < r->panel->columns; x++) {
            const int top = solid_top(r->solid, r->panel->column + x, r->panel->row + row);
            const int c = grid_colour(r->solid->grid, r->panel->column + x, r->panel->row + row);
            units += top;
            for (int h = top + 1; h <= 256; h++) begin[h] = -1;
            if (begin[top] >= 0 && colour[top] == c && x - begin[top] < r->cuts->longest) continue;
            begin[top] = x;
            colour[top] = c;
            faces++;
        }
        const long full = (units + r->largest - 1) / r->largest;
        sum += (double)(faces > full ? faces : full);
    }
    return sum;
}

Status bound_wall(double *bound_out, const Solid *solid, const Panel *panel, const Cuts *cuts,
                  Fault *fault)
{
    Room r = {.solid = solid, .panel = panel, .cuts = cuts, .thick = solid->base};
    const Status status = room_init(&r, fault);
    if (!status) *bound_out = solid->grid->steps ? bound_relief(&r) : bound_flat(&r);
    room_clear(&r);
    return status;
}
