/* The nearest colour by branch and bound over a quadtree that grows with the questions.
 *
 * The square of CIEDE2000 is Y(L)^2 + P(a, b) (delta_e_bounds.h). So the plane of a*
 * and b* is cut into squares, each square into four, and so on (a quadtree). A square
 * holds bounds on P for every colour that can be nearest somewhere above it, and is
 * cut into slabs of lightness. A slab's list are the colours whose lower bound is not
 * above the least upper bound; mostly that is one or two. A question goes down to the
 * smallest square there is and decides between the colours of its slab.
 *
 * Squares are worked out only once enough questions have come by to pay for it. Until
 * then the larger one stands in, or the whole palette, so whatever list a question
 * meets holds the nearest colour: when squares are made changes the time and nothing
 * else.
 *
 * Between a list's colours delta_e_quick decides if the best is clear of the others by
 * more than it can be wrong; otherwise delta_e_2000 does, in the order of the palette.
 *
 * Threads: a square is worked out by whoever claims it by compare-and-swap, and
 * published with release order; others go on with the larger one. Counts of visits may
 * lose some, which only delays. All storage is set aside at the start; when it is used
 * up, no more squares are made. */
#include "cells/match.h"

#include "base/bands.h"
#include "base/memory.h"
#include "colour/delta_e.h"
#include "colour/delta_e_bounds.h"
#include "colour/delta_e_quick.h"

#include <assert.h>
#include <limits.h>
#include <math.h>
#include <stdatomic.h>
#include <string.h>

enum {
    SIDE = 80,        /* squares of the largest kind along a* and b* */
    LEVELS = 3,       /* kinds: 4, 2 and 1 unit wide */
    SLABS_OF_1 = 128, /* of L* from -16 to 112 */
    SLABS_OF_8 = 16
};
static const double L_LEAST = -16.0, L_MOST = 112.0, AB_LEAST = -160.0, AB_MOST = 160.0;

/* Questions before a square is worked out, for each level. These and the sizes below are choices
 * that tests/bench/bench_match measures. */
static const unsigned visits_due[LEVELS] = {6, 24, 64};
/* log2 of a slab's thickness. */
static const int slab_bits[LEVELS] = {1, 1, 0};

/* What is set aside, in items. */
enum { SQUARES = 60000, BOUNDS = 150000, SLABS = 900000, ENTRIES = 1 << 20 };

typedef struct Bound {
    float lo, hi; /* of P over the square */
    uint8_t colour;
} Bound;

/* The least and the most of Y^2 over a slab. */
typedef struct Light {
    float lo, hi;
} Light;

enum { UNMADE = 0, CLAIMED = 1 };
static const unsigned NO_SQUARE = UINT_MAX; /* no square */

typedef struct Square {
    atomic_uint slabs; /* UNMADE, CLAIMED or its first of the slabs */
    atomic_uint child; /* the first of four, or 0 */
} Square;

/* What only making squares needs. */
typedef struct Making {
    atomic_uint visits;
    uint32_t bounds; /* the first of its bounds */
    uint32_t count;
} Making;

/* A slab is one word: 0 is not known yet; else its bytes are one more than the colours
 * of its list, the last of them repeated; and where they are more than four, the lowest
 * byte is LONG_LIST and the others tell the list's place in the entries. */
enum { LONG_LIST = 255 };

/* What grows while questions are asked. */
typedef struct Tree {
    Square *square;
    Making *making; /* by square */
    Bound *bound;
    atomic_uint *slab;
    uint8_t *entry; /* long lists: a count, then as many colours in rising order */
    atomic_uint squares, bounds, slabs, entries;
} Tree;

struct Match {
    int count;
    bool plain; /* colours too far out for the bounds */
    Lab lab[PALETTE_MOST];
    QuickColour quick_colour[PALETTE_MOST];
    Light *light; /* see slab_light */
    Quick quick;
    uint8_t all[PALETTE_MOST + 1]; /* a list of all colours */
    Tree *tree;
};

static bool same_lab(Lab one, Lab two)
{
    return one.L == two.L && one.a == two.a && one.b == two.b;
}

/* The whole palette but for colours that repeat an earlier one, which cannot win. */
static void list_all(Match *match)
{
    for (int i = 0; i < match->count; i++) {
        int j = 0;
        while (!same_lab(match->lab[i], match->lab[j])) j++;
        if (j == i) match->all[++match->all[0]] = (uint8_t)i;
    }
}

/* Light of slabs 2^bits units thick, for bits of 0 to 3, by slab and by colour. */
static Light *slab_light(const Match *match, int slab, int bits, int colour)
{
    const int before = 2 * SLABS_OF_1 - (2 * SLABS_OF_1 >> bits);
    return match->light + (before + slab) * match->count + colour;
}

/* Fills in light for one colour from Y at the boundaries of slabs: Y is monotone, so its
 * square is least at an end unless it passes 0. */
static void take_light(Match *match, int colour)
{
    float y[SLABS_OF_1 + 1];
    for (int k = 0; k <= SLABS_OF_1; k++)
        y[k] = (float)bounds_lightness(L_LEAST + k, match->lab[colour].L);
    for (int bits = 0; bits <= 3; bits++)
        for (int k = 0; k < SLABS_OF_1 >> bits; k++) {
            const float first = y[k << bits], last = y[(k + 1) << bits];
            const float one = first * first, two = last * last;
            *slab_light(match, k, bits, colour) =
                (Light){first * last <= 0.0f ? 0.0f : fminf(one, two), fmaxf(one, two)};
        }
}

static void take_colours(Match *match, const Palette *palette)
{
    match->count = palette->count;
    for (int i = 0; i < match->count; i++) {
        const Lab lab = match->lab[i] = palette->colour[i].lab;
        match->quick_colour[i] = quick_colour(lab);
        /* bounds_lightness is monotone up to 120, delta_e_quick good to chroma 250. */
        if (!(fabs(lab.L - 48.0) <= 55.0 && fabs(lab.a) <= 170.0 && fabs(lab.b) <= 170.0))
            match->plain = true;
        take_light(match, i);
    }
    list_all(match);
}

static Status tree_create(Tree **tree_out, Fault *fault)
{
    Tree *tree = *tree_out = memory_create(1, sizeof *tree);
    if (!tree) return memory_fault(fault, 1, sizeof *tree);
    tree->square = memory_create(SQUARES, sizeof *tree->square);
    if (!tree->square) return memory_fault(fault, SQUARES, sizeof *tree->square);
    tree->making = memory_create(SQUARES, sizeof *tree->making);
    if (!tree->making) return memory_fault(fault, SQUARES, sizeof *tree->making);
    tree->bound = memory_create(BOUNDS, sizeof *tree->bound);
    if (!tree->bound) return memory_fault(fault, BOUNDS, sizeof *tree->bound);
    tree->slab = memory_create(SLABS, sizeof *tree->slab);
    if (!tree->slab) return memory_fault(fault, SLABS, sizeof *tree->slab);
    tree->entry = memory_create(ENTRIES, 1);
    if (!tree->entry) return memory_fault(fault, ENTRIES, 1);
    atomic_init(&tree->squares, SIDE * SIDE);
    atomic_init(&tree->bounds, 1);
    atomic_init(&tree->slabs, CLAIMED + 1);
    atomic_init(&tree->entries, 1);
    return STATUS_OK;
}

Status match_create(Match **match_out, const Palette *palette, Fault *fault)
{
    assert(palette->count >= 1 && palette->count <= PALETTE_MOST);
    *match_out = NULL;
    Match *match = memory_create(1, sizeof *match);
    if (!match) return memory_fault(fault, 1, sizeof *match);
    const size_t lights = (size_t)palette->count * 2 * SLABS_OF_1;
    match->light = memory_create(lights, sizeof *match->light);
    const Status status = match->light ? tree_create(&match->tree, fault)
                                       : memory_fault(fault, lights, sizeof *match->light);
    if (status != STATUS_OK) {
        match_free(match);
        return status;
    }
    take_colours(match, palette);
    quick_init(&match->quick);
    *match_out = match;
    return STATUS_OK;
}

void match_free(Match *match)
{
    if (!match) return;
    if (match->tree) {
        memory_free(match->tree->square);
        memory_free(match->tree->making);
        memory_free(match->tree->bound);
        memory_free(match->tree->slab);
        memory_free(match->tree->entry);
    }
    memory_free(match->tree);
    memory_free(match->light);
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

/* The least of delta_e_quick over a list, or of delta_e_2000 where that may differ. */
static int nearest_of(const Match *match, const uint8_t *list, Lab lab)
{
    const QuickColour asked = quick_colour(lab);
    const int count = list[0];
    float square[PALETTE_MOST + QUICK_LANES];
    float least = INFINITY;
    for (int i = 0; i < count; i += QUICK_LANES) {
        uint8_t index[QUICK_LANES];
        for (int k = 0; k < QUICK_LANES; k++) index[k] = list[1 + (i + k < count ? i + k : i)];
        quick_squares(&match->quick, &asked, match->quick_colour, index, square + i);
        for (int k = 0; k < QUICK_LANES; k++)
            if (square[i + k] >= 0.0f && square[i + k] < least) least = square[i + k];
    }
    /* Those whose true difference may be the least, which is at most this. */
    const float limit = least + quick_error(least);
    uint8_t close[PALETTE_MOST + 1];
    int kept = 0;
    close[1] = list[1];
    for (int i = 0; i < count; i++)
        if (square[i] < 0.0f || square[i] - quick_error(square[i]) <= limit)
            close[++kept] = list[1 + i];
    close[0] = (uint8_t)kept;
    return kept == 1 ? close[1] : nearest_exactly(match, close, lab);
}

/* The same over the list that a slab's word holds. */
static int nearest_of_word(const Match *match, unsigned word, Lab lab)
{
    uint8_t list[1 + QUICK_LANES] = {1};
    float square[QUICK_LANES];
    for (int k = 0; k < QUICK_LANES; k++) {
        list[1 + k] = (uint8_t)((word >> 8 * k & 255) - 1);
        if (k > 0 && list[1 + k] != list[k]) list[0]++;
    }
    const QuickColour asked = quick_colour(lab);
    quick_squares(&match->quick, &asked, match->quick_colour, list + 1, square);
    int best = 0;
    for (int k = 1; k < QUICK_LANES; k++) best = square[k] < square[best] ? k : best;
    const float limit = square[best] + quick_error(square[best]);
    int close = 0;
    for (int k = 0; k < list[0]; k++) close += square[k] - quick_error(square[k]) <= limit;
    /* A negative one would be the best. */
    if (close == 1 && square[best] >= 0.0f) return list[1 + best];
    return nearest_exactly(match, list, lab);
}

/* Takes room for count items off a store of most, or 0. */
static unsigned take_room(atomic_uint *used, unsigned count, unsigned store)
{
    if (atomic_load_explicit(used, memory_order_relaxed) > store - count) return 0;
    const unsigned place = atomic_fetch_add_explicit(used, count, memory_order_relaxed);
    return place <= store - count ? place : 0;
}

/* Marks those of some bounds that can be least in a slab. */
static void mark_slab(const Match *match, const Bound *bound, int count, int slab, int bits,
                      bool *marked)
{
    const Light *light = slab_light(match, slab, bits, 0);
    float limit = INFINITY;
    for (int i = 0; i < count; i++) limit = fminf(limit, light[bound[i].colour].hi + bound[i].hi);
    limit += 1e-6f * limit + 1e-4f; /* single precision is off by less */
    for (int i = 0; i < count; i++) marked[i] |= light[bound[i].colour].lo + bound[i].lo <= limit;
}

/* The part of the plane that a question falls into, in squares of the smallest kind. */
typedef struct Place {
    int a, b;
    int L; /* in slabs of one unit */
} Place;

static bool place_in_tree(Lab lab, Place *place_out)
{
    if (!(lab.L >= L_LEAST && lab.L < L_MOST && lab.a >= AB_LEAST && lab.a < AB_MOST &&
          lab.b >= AB_LEAST && lab.b < AB_MOST))
        return false;
    *place_out = (Place){(int)(lab.a - AB_LEAST), (int)(lab.b - AB_LEAST), (int)(lab.L - L_LEAST)};
    return true;
}

/* Bounds over the square of 2^bits units around a place, for the colours that an outer
 * square holds, or all; those that cannot be least at any lightness are dropped. */
static int bound_square(const Match *match, const Making *outer, Place place, int bits,
                        Bound *bound)
{
    const float a = (float)(place.a >> bits << bits) + (float)AB_LEAST;
    const float b = (float)(place.b >> bits << bits) + (float)AB_LEAST;
    const float width = (float)(1 << bits);
    const Rectangle rectangle = {a, a + width, b, b + width};
    const int count = outer ? (int)outer->count : match->all[0];
    for (int i = 0; i < count; i += QUICK_LANES) {
        uint8_t index[QUICK_LANES];
        float lo[QUICK_LANES], hi[QUICK_LANES];
        for (int k = 0; k < QUICK_LANES; k++) {
            const int from = i + k < count ? i + k : i;
            index[k] = outer ? match->tree->bound[outer->bounds + (uint32_t)from].colour
                             : match->all[1 + from];
        }
        bounds_plane(&match->quick, &rectangle, match->quick_colour, index, lo, hi);
        for (int k = 0; k < QUICK_LANES && i + k < count; k++)
            bound[i + k] = (Bound){lo[k], hi[k], index[k]};
    }
    bool marked[PALETTE_MOST] = {0};
    for (int k = 0; k < SLABS_OF_8; k++) mark_slab(match, bound, count, k, 3, marked);
    int kept = 0;
    for (int i = 0; i < count; i++)
        if (marked[i]) bound[kept++] = bound[i];
    return kept;
}

static bool make_square(const Match *match, unsigned square, unsigned outer, Place place, int level)
{
    Tree *tree = match->tree;
    unsigned slabs = UNMADE;
    if (!atomic_compare_exchange_strong(&tree->square[square].slabs, &slabs, CLAIMED)) return false;
    Bound bound[PALETTE_MOST];
    const int count = bound_square(match, outer == NO_SQUARE ? NULL : &tree->making[outer], place,
                                   LEVELS - 1 - level, bound);
    /* Without room for it, it stays claimed for good. */
    const unsigned bounds = take_room(&tree->bounds, (unsigned)count, BOUNDS);
    if (bounds == 0) return false;
    slabs = take_room(&tree->slabs, SLABS_OF_1 >> slab_bits[level], SLABS);
    if (slabs == 0) return false;
    tree->making[square].bounds = bounds;
    tree->making[square].count = (uint32_t)count;
    memcpy(tree->bound + bounds, bound, (size_t)count * sizeof *bound);
    atomic_store_explicit(&tree->square[square].slabs, slabs, memory_order_release);
    return true;
}

/* True if the square is there to be used; counts the visit if not. */
static bool is_made(const Match *match, unsigned square, unsigned outer, Place place, int level)
{
    const unsigned slabs =
        atomic_load_explicit(&match->tree->square[square].slabs, memory_order_acquire);
    if (slabs > CLAIMED) return true;
    if (slabs == CLAIMED) return false;
    atomic_uint *count = &match->tree->making[square].visits;
    const unsigned visits = atomic_load_explicit(count, memory_order_relaxed) + 1;
    atomic_store_explicit(count, visits, memory_order_relaxed);
    return visits >= visits_due[level] && make_square(match, square, outer, place, level);
}

static unsigned child_of(const Match *match, unsigned square)
{
    atomic_uint *known = &match->tree->square[square].child;
    unsigned child = atomic_load_explicit(known, memory_order_relaxed);
    if (child != 0) return child;
    const unsigned made = take_room(&match->tree->squares, 4, SQUARES);
    if (made == 0 || atomic_compare_exchange_strong(known, &child, made)) return made;
    return child; /* another thread was first */
}

/* Works a slab's list out and packs it into a word. Threads that meet here find the
 * same. 0 if there is no room. */
static unsigned make_slab(const Match *match, unsigned square, int k, int bits, uint8_t *list)
{
    const Making *making = &match->tree->making[square];
    const Bound *bound = match->tree->bound + making->bounds;
    const int count = (int)making->count;
    bool marked[PALETTE_MOST] = {0};
    mark_slab(match, bound, count, k, bits, marked);
    list[0] = 0;
    for (int i = 0; i < count; i++)
        if (marked[i]) list[++list[0]] = bound[i].colour;
    if (list[0] > 4) {
        const unsigned place = take_room(&match->tree->entries, list[0] + 1u, ENTRIES);
        if (place == 0) return 0;
        memcpy(match->tree->entry + place, list, list[0] + 1u);
        return place << 8 | LONG_LIST;
    }
    unsigned word = 0;
    for (int i = 4; i >= 1; i--) word = word << 8 | (list[i < list[0] ? i : list[0]] + 1u);
    return word;
}

static int nearest_in(const Match *match, unsigned square, Place place, int level, Lab lab)
{
    const Tree *tree = match->tree;
    const int bits = slab_bits[level], k = place.L >> bits;
    atomic_uint *slab =
        tree->slab + atomic_load_explicit(&tree->square[square].slabs, memory_order_relaxed) + k;
    unsigned word = atomic_load_explicit(slab, memory_order_acquire);
    uint8_t list[PALETTE_MOST + 1];
    if (word == 0) {
        word = make_slab(match, square, k, bits, list);
        atomic_store_explicit(slab, word, memory_order_release);
        if (word == 0) return nearest_of(match, list, lab);
    }
    const unsigned first = word & 255;
    if (first == LONG_LIST) return nearest_of(match, tree->entry + (word >> 8), lab);
    return word == first * 0x01010101u ? (int)first - 1 : nearest_of_word(match, word, lab);
}

int match_nearest(const Match *match, Lab lab)
{
    Place p;
    if (match->plain || !place_in_tree(lab, &p)) return nearest_exactly(match, match->all, lab);
    unsigned found = NO_SQUARE;
    int level = 0, bits = LEVELS - 1;
    unsigned square = (unsigned)((p.a >> bits) * SIDE + (p.b >> bits));
    while (is_made(match, square, found, p, level)) {
        found = square;
        const unsigned child = level + 1 < LEVELS ? child_of(match, square) : 0;
        if (child == 0) return nearest_in(match, found, p, level, lab);
        level++;
        bits--;
        square = child + (unsigned)((p.a >> bits & 1) << 1 | (p.b >> bits & 1));
    }
    return found == NO_SQUARE ? nearest_of(match, match->all, lab)
                              : nearest_in(match, found, p, level - 1, lab);
}

typedef struct MatchWork {
    const Match *match;
    const Image *image;
    Grid *grid;
    const Voice *voice;
    atomic_bool stopped;
} MatchWork;

static void match_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    MatchWork *work = context;
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
    MatchWork work = {.match = match, .image = image, .grid = grid, .voice = voice};
    bands_run(threads, image->rows, 4, match_rows, &work);
    if (!atomic_load(&work.stopped)) return STATUS_OK;
    return fault_set(fault, STATUS_INTERRUPTED, "matching colours: stopped; run it again");
}
