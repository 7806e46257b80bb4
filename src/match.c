/* CIELAB is cut into cubes, each cube into eight, and so on (an octree). A cube knows
 * the colours that can be nearest somewhere in it: those whose lower bound on the
 * difference is not above the least upper bound (delta_e_box). A question goes down to
 * the smallest cube there is and decides between that cube's colours.
 *
 * Cubes are worked out only once enough questions have come by to pay for it. A cube
 * without a list yet stands for its parent's, so every list that a question can meet
 * holds the nearest colour, and when cubes are made changes the time and nothing else.
 *
 * Between a cube's colours delta_e_quick decides if the best is clear of the others by
 * more than its error; otherwise delta_e_2000 does, in the order of the palette.
 *
 * Threads: a cube's list and children are made by whoever claims them by
 * compare-and-swap and published with release order; others go on with the parent's
 * list. Counts of visits may lose some, which only delays. All storage is set aside at
 * the start; when it is used up no more cubes are made. */
#include "match.h"

#include "bands.h"
#include "delta_e.h"
#include "delta_e_box.h"
#include "delta_e_quick.h"
#include "memory.h"

#include <assert.h>
#include <math.h>
#include <stdatomic.h>
#include <string.h>

enum {
    DEPTH = 5,         /* halvings of a cube */
    CUBE_BITS = 5,     /* a cube is 2^CUBE_BITS steps of the finest kind wide */
    CUBES_L = 8,       /* cubes along L*, a* and b* */
    CUBES_AB = 20,     /* */
    VISITS = 6,        /* questions to a cube before it gets a list */
    NODES = 200000,    /* cubes of any size */
    ENTRIES = 3 << 20, /* bytes of lists */
};

/* L* from -16 to 112, a* and b* from -160 to 160: cubes of 16, the smallest 0.5. */
static const double L_ORIGIN = -16.0, AB_ORIGIN = -160.0, STEPS_PER_UNIT = 2.0;

enum { LIST_NONE = 0, LIST_CLAIMED = 1, LIST_WHOLE = 2 }; /* LIST_WHOLE is the first */

typedef struct Node {
    atomic_uint list;  /* LIST_NONE, LIST_CLAIMED or the place of its count in entries */
    atomic_uint child; /* the first of eight, or 0 */
    atomic_uint visits;
} Node;

/* What grows while questions are asked. */
typedef struct Tree {
    Node *node;
    uint8_t *entry; /* a count, then as many colours in rising order */
    atomic_uint nodes, entries;
} Tree;

struct Match {
    int count;
    Lab lab[PALETTE_MOST];
    QuickColour quick_colour[PALETTE_MOST];
    Quick quick;
    Tree *tree;
};

/* The whole palette but for colours that repeat an earlier one, which cannot win. */
static void list_all(Match *match, const Palette *palette)
{
    uint8_t *list = match->tree->entry + LIST_WHOLE;
    for (int i = 0; i < palette->count; i++) {
        bool repeated = false;
        for (int j = 0; j < i && !repeated; j++)
            repeated = palette->colour[i].lab.L == palette->colour[j].lab.L &&
                       palette->colour[i].lab.a == palette->colour[j].lab.a &&
                       palette->colour[i].lab.b == palette->colour[j].lab.b;
        if (!repeated) list[++list[0]] = (uint8_t)i;
    }
    atomic_init(&match->tree->entries, LIST_WHOLE + 1u + list[0]);
    atomic_init(&match->tree->nodes, CUBES_L * CUBES_AB * CUBES_AB);
}

Status match_create(Match **match_out, const Palette *palette, Fault *fault)
{
    assert(palette->count >= 1 && palette->count <= PALETTE_MOST);
    *match_out = NULL;
    Match *match = memory_create(1, sizeof *match);
    if (!match) return memory_fault(fault, 1, sizeof *match);
    Tree *tree = match->tree = memory_create(1, sizeof *tree);
    if (tree) tree->node = memory_create(NODES, sizeof *tree->node);
    if (tree && tree->node) tree->entry = memory_create(ENTRIES, 1);
    if (!tree || !tree->node || !tree->entry) {
        match_free(match);
        return memory_fault(fault, ENTRIES + NODES * sizeof *tree->node, 1);
    }
    match->count = palette->count;
    for (int i = 0; i < palette->count; i++) {
        match->lab[i] = palette->colour[i].lab;
        match->quick_colour[i] = quick_colour(match->lab[i]);
    }
    quick_init(&match->quick);
    list_all(match, palette);
    *match_out = match;
    return STATUS_OK;
}

void match_free(Match *match)
{
    if (!match) return;
    if (match->tree) {
        memory_free(match->tree->node);
        memory_free(match->tree->entry);
    }
    memory_free(match->tree);
    memory_free(match);
}

/* The least of delta_e_2000 over a list. */
static int nearest_exactly(const Match *match, const uint8_t *list, Lab lab)
{
    int best = list[1];
    double least = INFINITY;
    for (int i = 1; i <= list[0]; i++) {
        const double e = delta_e_2000(lab, match->lab[list[i]]);
        if (e < least) {
            least = e;
            best = list[i];
        }
    }
    return best;
}

static int nearest_of(const Match *match, const uint8_t *list, Lab lab)
{
    if (list[0] == 1) return list[1];
    const QuickColour asked = quick_colour(lab);
    uint8_t close[PALETTE_MOST + 1] = {0};
    double square[PALETTE_MOST];
    double least = INFINITY;
    for (int i = 1; i <= list[0]; i++) {
        const QuickColour *colour = &match->quick_colour[list[i]];
        const double light = quick_lightness(&asked, colour);
        if (light > least + quick_error(least) + quick_error(light)) continue;
        const double q = quick_square(&match->quick, &asked, colour);
        if (q < 0.0) return nearest_exactly(match, list, lab);
        square[close[0]] = q;
        close[++close[0]] = list[i];
        if (q < least) least = q;
    }
    /* Those whose true difference may be the least, which is at most this. */
    const double limit = least + quick_error(least);
    int kept = 0;
    for (int i = 1; i <= close[0]; i++)
        if (square[i - 1] - quick_error(square[i - 1]) <= limit) close[++kept] = close[i];
    close[0] = (uint8_t)kept;
    return kept == 1 ? close[1] : nearest_exactly(match, close, lab);
}

/* Fills kept with the colours of list that can be nearest within the box. */
static void list_for_box(const Match *match, const LabBox *box, const uint8_t *list, uint8_t *kept)
{
    double lower[PALETTE_MOST];
    double limit = INFINITY;
    for (int i = 1; i <= list[0]; i++) {
        const Lab colour = match->lab[list[i]];
        lower[i - 1] = delta_e_box_lightness(box, colour);
        if (lower[i - 1] > limit) continue;
        const Span square = delta_e_box(box, colour);
        lower[i - 1] = square.lo;
        if (square.hi < limit) limit = square.hi;
    }
    kept[0] = 0;
    for (int i = 1; i <= list[0]; i++)
        if (lower[i - 1] <= limit) kept[++kept[0]] = list[i];
}

/* Takes room for count items off a store of most, or 0. */
static unsigned take(atomic_uint *used, unsigned count, unsigned store)
{
    if (atomic_load_explicit(used, memory_order_relaxed) > store - count) return 0;
    const unsigned place = atomic_fetch_add_explicit(used, count, memory_order_relaxed);
    return place <= store - count ? place : 0;
}

/* A question's place in steps of the finest cubes. */
typedef struct Place {
    int L, a, b;
} Place;

static bool place_of(Lab lab, Place *place_out)
{
    const double L = (lab.L - L_ORIGIN) * STEPS_PER_UNIT;
    const double a = (lab.a - AB_ORIGIN) * STEPS_PER_UNIT;
    const double b = (lab.b - AB_ORIGIN) * STEPS_PER_UNIT;
    const double most_L = CUBES_L << CUBE_BITS, most_ab = CUBES_AB << CUBE_BITS;
    if (!(L >= 0.0 && L < most_L && a >= 0.0 && a < most_ab && b >= 0.0 && b < most_ab))
        return false;
    *place_out = (Place){(int)L, (int)a, (int)b};
    return true;
}

/* The cube of 2^bits steps around a place, with a margin for the rounding of place_of. */
static LabBox box_of(Place place, int bits)
{
    const double margin = 1e-9, width = (double)(1 << bits) / STEPS_PER_UNIT;
    const double L = (place.L >> bits) * width + L_ORIGIN;
    const double a = (place.a >> bits) * width + AB_ORIGIN;
    const double b = (place.b >> bits) * width + AB_ORIGIN;
    return (LabBox){{L - margin, a - margin, b - margin},
                    {L + width + margin, a + width + margin, b + width + margin}};
}

/* The node's list: what it has, or what it gets now, or LIST_NONE for the time being. */
static unsigned node_list(const Match *match, Node *node, Place place, int bits, unsigned parent)
{
    Tree *tree = match->tree;
    unsigned list = atomic_load_explicit(&node->list, memory_order_acquire);
    if (list > LIST_CLAIMED) return list;
    const unsigned visits = atomic_load_explicit(&node->visits, memory_order_relaxed) + 1;
    atomic_store_explicit(&node->visits, visits, memory_order_relaxed);
    if (visits < VISITS || list == LIST_CLAIMED) return LIST_NONE;
    if (!atomic_compare_exchange_strong(&node->list, &list, LIST_CLAIMED)) return LIST_NONE;
    uint8_t kept[PALETTE_MOST + 1];
    const LabBox box = box_of(place, bits);
    list_for_box(match, &box, tree->entry + parent, kept);
    const unsigned length = kept[0] + 1u;
    list = kept[0] == tree->entry[parent] ? parent : take(&tree->entries, length, ENTRIES);
    if (list == 0) return LIST_NONE; /* stays claimed: there is no room for it */
    if (list != parent) memcpy(tree->entry + list, kept, length);
    atomic_store_explicit(&node->list, list, memory_order_release);
    return list;
}

static unsigned node_child(const Match *match, Node *node)
{
    unsigned child = atomic_load_explicit(&node->child, memory_order_relaxed);
    if (child != 0) return child;
    const unsigned made = take(&match->tree->nodes, 8, NODES);
    if (made == 0 || atomic_compare_exchange_strong(&node->child, &child, made)) return made;
    return child; /* another thread was first */
}

int match_nearest(const Match *match, Lab lab)
{
    Place p;
    const uint8_t *entry = match->tree->entry;
    if (!place_of(lab, &p)) return nearest_exactly(match, entry + LIST_WHOLE, lab);
    int bits = CUBE_BITS;
    unsigned list = LIST_WHOLE;
    unsigned n = (unsigned)(((p.L >> bits) * CUBES_AB + (p.a >> bits)) * CUBES_AB + (p.b >> bits));
    for (;;) {
        Node *node = &match->tree->node[n];
        const unsigned own = node_list(match, node, p, bits, list);
        if (own == LIST_NONE) break;
        list = own;
        if (entry[list] == 1) return entry[list + 1];
        if (bits == CUBE_BITS - DEPTH || (n = node_child(match, node)) == 0) break;
        bits--;
        n += (unsigned)((p.L >> bits & 1) << 2 | (p.a >> bits & 1) << 1 | (p.b >> bits & 1));
    }
    return nearest_of(match, entry + list, lab);
}

typedef struct Work {
    const Match *match;
    const Image *image;
    Grid *grid;
    const Voice *voice;
    atomic_bool stopped;
} Work;

static void match_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    Work *work = context;
    for (int row = begin; row < end; row++) {
        if (atomic_load(&work->stopped)) return;
        if (voice_stopped(work->voice)) atomic_store(&work->stopped, true);
        uint8_t *out = work->grid->colour + (size_t)row * (size_t)work->grid->columns;
        Xyz before = {NAN, NAN, NAN};
        for (int column = 0; column < work->image->columns; column++) {
            const Xyz xyz = image_at(work->image, column, row);
            const bool same = xyz.x == before.x && xyz.y == before.y && xyz.z == before.z;
            out[column] =
                same ? out[column - 1] : (uint8_t)match_nearest(work->match, lab_from_xyz(xyz));
            before = xyz;
        }
    }
}

Status match_image(const Match *match, const Image *image, int threads, Grid *grid,
                   const Voice *voice, Fault *fault)
{
    assert(grid->columns == image->columns && grid->rows == image->rows);
    Work work = {.match = match, .image = image, .grid = grid, .voice = voice};
    bands_run(threads, image->rows, 4, match_rows, &work);
    if (!atomic_load(&work.stopped)) return STATUS_OK;
    return fault_set(fault, STATUS_INTERRUPTED, "matching colours: stopped; run it again");
}
