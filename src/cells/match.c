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
#include "base/simd8.h"
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

/* Questions of a block, and pairs of colours to compare: at most four a question, or a palette. */
enum { BLOCK = 64, PAIRS = 4 * BLOCK };

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
    float row[3][PALETTE_MOST]; /* L, a and b of the colours */
    Light *light;               /* see slab_light */
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
        match->row[0][i] = (float)lab.L;
        match->row[1][i] = (float)lab.a;
        match->row[2][i] = (float)lab.b;
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

/* ---- pairs of colours side by side ---- */

typedef struct Pairs {
    int count;
    float asked[3][PAIRS], colour[3][PAIRS];
    uint8_t which[PAIRS]; /* colour */
    float square[PAIRS];  /* of the difference; negative: only delta_e_2000 can tell */
} Pairs;

static void add_pair(const Match *match, Pairs *p, Lab asked, int colour)
{
    const int at = p->count++;
    p->asked[0][at] = (float)asked.L;
    p->asked[1][at] = (float)asked.a;
    p->asked[2][at] = (float)asked.b;
    for (int k = 0; k < 3; k++) p->colour[k][at] = match->row[k][colour];
    p->which[at] = (uint8_t)colour;
}

/* Fills in the squares; the last pair is repeated until the lanes are full. */
static void compare_pairs(const Match *match, Pairs *p)
{
    const int whole = (p->count + SIMD8 - 1) / SIMD8 * SIMD8;
    for (int k = 0; k < 3; k++)
        for (int i = p->count; i < whole; i++) {
            p->asked[k][i] = p->asked[k][p->count - 1];
            p->colour[k][i] = p->colour[k][p->count - 1];
        }
    const float *const one[3] = {p->asked[0], p->asked[1], p->asked[2]};
    const float *const two[3] = {p->colour[0], p->colour[1], p->colour[2]};
    quick_square_rows(&match->quick, one, two, whole, p->square);
}

/* The nearest of a question's pairs; delta_e_2000 decides between those whose true difference may
 * be the least. */
static int decide(const Match *match, const Pairs *p, int first, int count, Lab asked)
{
    const float *square = p->square + first;
    float least = INFINITY;
    for (int i = 0; i < count; i++)
        if (square[i] >= 0.0f && square[i] < least) least = square[i];
    const float limit = least + quick_error(least);
    uint8_t close[PALETTE_MOST + 1] = {0};
    for (int i = 0; i < count; i++)
        if (square[i] < 0.0f || square[i] - quick_error(square[i]) <= limit)
            close[++close[0]] = p->which[first + i];
    return close[0] == 1 ? close[1] : nearest_exactly(match, close, asked);
}

/* The nearest of a list. */
static int nearest_of(const Match *match, const uint8_t *list, Lab asked)
{
    Pairs pairs;
    pairs.count = 0;
    for (int i = 1; i <= list[0]; i++) add_pair(match, &pairs, asked, list[i]);
    compare_pairs(match, &pairs);
    return decide(match, &pairs, 0, pairs.count, asked);
}

/* ---- squares and slabs ---- */

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
    for (int i = 0; i < count; i++) {
        const float most = light[bound[i].colour].hi + bound[i].hi;
        limit = most < limit ? most : limit; /* fminf would be a call */
    }
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

/* ---- questions ---- */

/* Where a question's list is. */
typedef struct Leaf {
    unsigned square; /* NO_SQUARE: the whole palette */
    unsigned slab;   /* place in the slabs */
    int k, bits;     /* which of its square's, and log2 of its thickness */
} Leaf;

/* The smallest square there is, made if its time has come. */
static Leaf find_leaf(const Match *match, Place p)
{
    Leaf leaf = {.square = NO_SQUARE};
    int level = 0, bits = LEVELS - 1;
    unsigned square = (unsigned)((p.a >> bits) * SIDE + (p.b >> bits));
    while (is_made(match, square, leaf.square, p, level)) {
        leaf.square = square;
        leaf.bits = slab_bits[level];
        const unsigned child = level + 1 < LEVELS ? child_of(match, square) : 0;
        if (child == 0) break;
        level++;
        bits--;
        square = child + (unsigned)((p.a >> bits & 1) << 1 | (p.b >> bits & 1));
    }
    if (leaf.square == NO_SQUARE) return leaf;
    leaf.k = p.L >> leaf.bits;
    leaf.slab =
        atomic_load_explicit(&match->tree->square[leaf.square].slabs, memory_order_relaxed) +
        (unsigned)leaf.k;
    return leaf;
}

/* Questions that are answered together, so that what one waits for does not hold up the others:
 * first all slabs are found and asked for from memory, then they are read, then the pairs that
 * remain are compared side by side. */
typedef struct Block {
    const Match *match;
    const Lab *asked;
    uint8_t *answer;
    Leaf leaf[BLOCK];
    int open[BLOCK], first[BLOCK + 1]; /* questions with pairs, and where these begin */
    int opened;
    Pairs pairs;
} Block;

/* Opens a question between the colours of a slab's word. */
static void open_question(Block *b, int question, unsigned word)
{
    unsigned before = 0;
    b->open[b->opened] = question;
    b->first[b->opened++] = b->pairs.count;
    for (int k = 0; k < 4; k++, word >>= 8) {
        if ((word & 255) == before) break;
        before = word & 255;
        add_pair(b->match, &b->pairs, b->asked[question], (int)before - 1);
    }
}

static void read_slab(Block *b, int question)
{
    const Match *match = b->match;
    const Leaf *leaf = &b->leaf[question];
    const Lab asked = b->asked[question];
    uint8_t *answer = &b->answer[question], list[PALETTE_MOST + 1];
    atomic_uint *slab = match->tree->slab + leaf->slab;
    unsigned word = atomic_load_explicit(slab, memory_order_acquire);
    if (word == 0) {
        word = make_slab(match, leaf->square, leaf->k, leaf->bits, list);
        atomic_store_explicit(slab, word, memory_order_release);
    }
    const unsigned first = word & 255;
    if (word == 0)
        *answer = (uint8_t)nearest_of(match, list, asked);
    else if (first == LONG_LIST)
        *answer = (uint8_t)nearest_of(match, match->tree->entry + (word >> 8), asked);
    else if (word == first * 0x01010101u)
        *answer = (uint8_t)(first - 1);
    else
        open_question(b, question, word);
}

static void close_questions(Block *b)
{
    if (!b->opened) return;
    compare_pairs(b->match, &b->pairs);
    b->first[b->opened] = b->pairs.count;
    for (int i = 0; i < b->opened; i++)
        b->answer[b->open[i]] = (uint8_t)decide(
            b->match, &b->pairs, b->first[i], b->first[i + 1] - b->first[i], b->asked[b->open[i]]);
}

static void answer_block(Block *b, int count)
{
    const Match *match = b->match;
    b->opened = b->pairs.count = 0;
    for (int i = 0; i < count; i++) {
        Place place;
        b->leaf[i] = (Leaf){.square = NO_SQUARE};
        if (match->plain || !place_in_tree(b->asked[i], &place)) {
            b->answer[i] = (uint8_t)nearest_exactly(match, match->all, b->asked[i]);
            continue;
        }
        b->leaf[i] = find_leaf(match, place);
        if (b->leaf[i].square == NO_SQUARE)
            b->answer[i] = (uint8_t)nearest_of(match, match->all, b->asked[i]);
        else
            __builtin_prefetch((const void *)(match->tree->slab + b->leaf[i].slab));
    }
    for (int i = 0; i < count; i++)
        if (b->leaf[i].square != NO_SQUARE) read_slab(b, i);
    close_questions(b);
}

void match_all(const Match *match, const Lab *lab, int count, uint8_t *nearest)
{
    Block block;
    block.match = match;
    for (int begin = 0; begin < count; begin += BLOCK) {
        block.asked = lab + begin;
        block.answer = nearest + begin;
        answer_block(&block, count - begin < BLOCK ? count - begin : BLOCK);
    }
}

int match_nearest(const Match *match, Lab lab)
{
    uint8_t nearest;
    match_all(match, &lab, 1, &nearest);
    return nearest;
}

/* ---- images ---- */

typedef struct MatchWork {
    const Match *match;
    const Image *image;
    Grid *grid;
    const Voice *voice;
    atomic_bool stopped;
} MatchWork;

/* Cells that repeat the one before them are asked for once. */
static void match_row(const Match *match, const Image *image, int row, uint8_t *out)
{
    Lab lab[BLOCK];
    uint8_t nearest[BLOCK];
    for (int begin = 0, end; begin < image->columns; begin = end) {
        int asked = 0, of[BLOCK]; /* of: the question of each cell */
        Xyz before = {NAN, NAN, NAN};
        for (end = begin; end < image->columns && end - begin < BLOCK; end++) {
            const Xyz xyz = image_at(image, end, row);
            const bool same = xyz.x == before.x && xyz.y == before.y && xyz.z == before.z;
            if (!same) lab[asked++] = lab_from_xyz(xyz);
            of[end - begin] = asked - 1;
            before = xyz;
        }
        match_all(match, lab, asked, nearest);
        for (int column = begin; column < end; column++) out[column] = nearest[of[column - begin]];
    }
}

static void match_rows(void *context, int begin, int end, int worker)
{
    (void)worker;
    MatchWork *work = context;
    for (int row = begin; row < end; row++) {
        if (atomic_load(&work->stopped)) return;
        if (voice_stopped(work->voice)) atomic_store(&work->stopped, true);
        match_row(work->match, work->image, row,
                  work->grid->colour + (size_t)row * (size_t)work->grid->columns);
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
