/* The nearest colour by branch and bound over boxes of Lab.
 *
 * The square of CIEDE2000 is Y(L)^2 + P(a, b) (delta_e_bounds.h). Lab is cut into boxes of 8 units,
 * and these into cells of 2. P is bounded for every colour over the square below a box; with bounds
 * of Y^2 it follows which colours can be nearest somewhere in the box: those whose lower bound is
 * not above the least upper bound. Of these the same bounds, over smaller squares, leave one or two
 * for a cell, mostly. A question looks its cell up and decides between the cell's colours.
 *
 * Boxes and cells are worked out when the first question falls into them: all boxes above one
 * square together, and all cells above one, for they share what takes longest.
 *
 * Invariant: whatever list a question meets holds the nearest colour, for the colour itself lies in
 * the box that was bounded: boxes are bounded wider by MATCH_APART than they are. So what was asked
 * before, and how much room there is, change the time and nothing else.
 *
 * Between a list's colours delta_e_quick decides if the best is clear of the others by more than it
 * can be wrong; otherwise delta_e_2000 does, in the order of the palette. */
#include "cells/match_table.h"

#include "base/memory.h"
#include "base/simd4.h"
#include "base/simd8.h"
#include "colour/delta_e.h"
#include "colour/delta_e_bounds.h"
#include "colour/delta_e_quick.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

/* Sizes of boxes and cells are choices that tests/bench/bench_match measures. */
enum {
    CELL = 2,            /* units wide */
    CUT = 4,             /* cells along a box */
    BOX = CELL * CUT,    /* units wide */
    SQUARES = 320 / BOX, /* along a* and b* */
    STOREYS = 128 / BOX, /* boxes above each other */
    BOXES = SQUARES * SQUARES * STOREYS,
    TABLE_CELLS = CUT * CUT * CUT, /* of a box; L* fastest, then b* */
    EDGES = 128 / CELL + 1         /* of slabs of lightness */
};
static const float L_LEAST = -16.0f, L_MOST = 112.0f, AB_LEAST = -160.0f, AB_MOST = 160.0f;

/* The most that a table grows to, in items. */
enum { WORDS_MOST = TABLE_CELLS << 13, LISTS_MOST = 1 << 20 };

/* A cell is one word: 0 is not known yet; else its bytes are one more than the colours of its list,
 * the last of them repeated; and where they are more than four, the lowest byte is LONG_LIST and
 * the others tell the list's place. */
enum { LONG_LIST = 255 };

struct MatchColours {
    int count;
    bool plain; /* colours too far out for the bounds */
    Lab lab[PALETTE_MOST];
    QuickColour quick_colour[PALETTE_MOST];
    Quick quick;
    uint8_t all[PALETTE_MOST + 1];   /* a list of all colours */
    float edge[PALETTE_MOST][EDGES]; /* Y at the edges of slabs */
};

/* Lists are a count, then as many colours in rising order. */
struct MatchTable {
    const MatchColours *colours;
    uint32_t box[BOXES];       /* place of its list; 0: not known yet */
    uint16_t block[BOXES + 1]; /* its cells' place among the words, in TABLE_CELLS; 0: none */
    uint32_t *word;
    uint8_t *list;
    size_t words, words_held, lists, lists_held;
    bool full;    /* no list has room any more, and none is worked out */
    bool starved; /* memory has been refused */
};

/* ---- the palette ---- */

static bool same_lab(Lab one, Lab two)
{
    return one.L == two.L && one.a == two.a && one.b == two.b;
}

/* The whole palette but for colours that repeat an earlier one, which cannot win. */
static void list_all(MatchColours *m)
{
    for (int i = 0; i < m->count; i++) {
        int j = 0;
        while (!same_lab(m->lab[i], m->lab[j])) j++;
        if (j == i) m->all[++m->all[0]] = (uint8_t)i;
    }
}

Status match_colours_create(MatchColours **colours_out, const Palette *palette, Fault *fault)
{
    assert(palette->count >= 1 && palette->count <= PALETTE_MOST);
    MatchColours *m = *colours_out = memory_create(1, sizeof *m);
    if (!m) return memory_fault(fault, 1, sizeof *m);
    m->count = palette->count;
    for (int i = 0; i < m->count; i++) {
        const Lab lab = m->lab[i] = palette->colour[i].lab;
        m->quick_colour[i] = quick_colour(lab);
        /* bounds_lightness is monotone up to 120, delta_e_quick good to chroma 250. */
        if (!(fabs(lab.L - 48.0) <= 55.0 && fabs(lab.a) <= 170.0 && fabs(lab.b) <= 170.0))
            m->plain = true;
        for (int k = 0; k < EDGES; k++)
            m->edge[i][k] = (float)bounds_lightness((double)L_LEAST + CELL * k, lab.L);
    }
    list_all(m);
    quick_init(&m->quick);
    return STATUS_OK;
}

void match_colours_free(MatchColours *colours) { memory_free(colours); }

Status match_table_create(MatchTable **table_out, const MatchColours *colours, Fault *fault)
{
    MatchTable *t = *table_out = memory_create(1, sizeof *t);
    if (!t) return memory_fault(fault, 1, sizeof *t);
    t->colours = colours;
    t->words = TABLE_CELLS; /* so that no place is 0 */
    t->lists = 1;
    return STATUS_OK;
}

void match_table_free(MatchTable *table)
{
    if (!table) return;
    memory_free(table->word);
    memory_free(table->list);
    memory_free(table);
}

Status match_table_status(const MatchTable *table, Fault *fault)
{
    const size_t need = TABLE_CELLS * sizeof *table->word;
    return table->starved ? memory_fault(fault, table->words_held, need) : STATUS_OK;
}

/* ---- deciding between colours ---- */

/* The least of delta_e_2000 over a list. */
static int nearest_exactly(const MatchColours *m, const uint8_t *list, Lab lab)
{
    int best = list[1];
    double least = INFINITY;
    for (int i = 1; i <= list[0]; i++) {
        const double e = delta_e_2000(lab, m->lab[list[i]]);
        if (e < least) {
            least = e;
            best = list[i];
        }
    }
    return best;
}

/* Pairs of a question and a colour, side by side; a palette's at least. */
enum { PAIRS = 8 * QUESTIONS };

typedef struct Pairs {
    int count;
    float asked[3][PAIRS], colour[3][PAIRS];
    uint8_t which[PAIRS]; /* colour */
    float square[PAIRS];  /* of the difference; see quick_squares */
} Pairs;

static void add_pair(const MatchColours *m, Pairs *p, const Questions *asked, int question,
                     int colour)
{
    const int at = p->count++;
    const QuickColour *c = &m->quick_colour[colour];
    p->asked[0][at] = asked->L[question];
    p->asked[1][at] = asked->a[question];
    p->asked[2][at] = asked->b[question];
    p->colour[0][at] = c->L;
    p->colour[1][at] = c->a;
    p->colour[2][at] = c->b;
    p->which[at] = (uint8_t)colour;
}

/* Fills in the squares; the last pair is repeated until the lanes are full. */
static void compare_pairs(const MatchColours *m, Pairs *p)
{
    const int whole = (p->count + SIMD8 - 1) / SIMD8 * SIMD8;
    for (int k = 0; k < 3; k++)
        for (int i = p->count; i < whole; i++) {
            p->asked[k][i] = p->asked[k][p->count - 1];
            p->colour[k][i] = p->colour[k][p->count - 1];
        }
    const float *const one[3] = {p->asked[0], p->asked[1], p->asked[2]};
    const float *const two[3] = {p->colour[0], p->colour[1], p->colour[2]};
    quick_square_rows(&m->quick, one, two, whole, p->square);
}

/* What a square can be off: quick_error, and what comes of a question being off. By MATCH_APART in
 * each coordinate a difference d changes by less than 1.6 sqrt(3) of it (a* is stretched by 1.5 at
 * most, and weights change by 2 % of d a unit), so its square by 0.0084 d, which is less than
 * 5e-4 d^2 + 0.036. */
static float error_of(float square) { return 1e-3f * square + 0.04f; }

/* The nearest of a question's pairs by delta_e_2000, among those whose true difference may be the
 * least: that is at most `limit`, squared. */
static int decide_exactly(const MatchColours *m, const Pairs *p, int first, int count, float limit,
                          Lab itself)
{
    uint8_t list[PALETTE_MOST + 1] = {0};
    for (int i = first; i < first + count; i++) {
        const float size = fabsf(p->square[i]);
        if (size - error_of(size) <= limit) list[++list[0]] = p->which[i];
    }
    return nearest_exactly(m, list, itself);
}

/* The nearest of a question's pairs. */
static int decide(const MatchColours *m, const Pairs *p, int first, int count,
                  const Questions *asked, int question)
{
    float least = INFINITY, second = INFINITY, known = INFINITY;
    int best = first;
    for (int i = first; i < first + count; i++) {
        const float square = p->square[i], size = fabsf(square);
        const bool nearer = size < least;
        const float loser = nearer ? least : size;
        second = loser < second ? loser : second;
        best = nearer ? i : best;
        least = nearer ? size : least;
        known = square >= 0.0f && square < known ? square : known;
    }
    const float limit = known + error_of(known);
    if (least == known && second - error_of(second) > limit) return p->which[best];
    return decide_exactly(m, p, first, count, limit, asked->itself(asked->context, question));
}

/* Questions that are still open, and where their pairs begin. */
typedef struct Open {
    int question[QUESTIONS], first[QUESTIONS + 1], count;
    Pairs pairs;
} Open;

static void close_questions(const MatchColours *m, Open *open, const Questions *asked,
                            uint8_t *nearest)
{
    if (!open->count) return;
    compare_pairs(m, &open->pairs);
    open->first[open->count] = open->pairs.count;
    for (int i = 0; i < open->count; i++) {
        const int first = open->first[i], count = open->first[i + 1] - first;
        nearest[open->question[i]] =
            (uint8_t)decide(m, &open->pairs, first, count, asked, open->question[i]);
    }
    open->count = open->pairs.count = 0;
}

/* Opens a question between the colours of a list; those that are open are closed first if there is
 * no room. */
static void open_question(const MatchColours *m, Open *open, const Questions *asked, int question,
                          const uint8_t *list, uint8_t *nearest)
{
    if (open->pairs.count + list[0] > PAIRS) close_questions(m, open, asked, nearest);
    open->question[open->count] = question;
    open->first[open->count++] = open->pairs.count;
    for (int i = 1; i <= list[0]; i++) add_pair(m, &open->pairs, asked, question, list[i]);
}

/* ---- boxes ---- */

/* Colours, and bounds of P over a square. */
typedef struct Bounds {
    int count;
    uint8_t colour[PALETTE_MOST];
    float lo[PALETTE_MOST + QUICK_LANES], hi[PALETTE_MOST + QUICK_LANES];
} Bounds;

/* Bounds over the square that begins at a and b, as wide as that. */
static void bound_square(const MatchColours *m, const uint8_t *list, const float corner[2],
                         float width, Bounds *bounds)
{
    const float apart = (float)MATCH_APART, far = width + apart;
    const Rectangle rectangle = {corner[0] - apart, corner[0] + far, corner[1] - apart,
                                 corner[1] + far};
    bounds->count = list[0];
    memcpy(bounds->colour, list + 1, list[0]);
    for (int i = 0; i < bounds->count; i += QUICK_LANES) {
        uint8_t index[QUICK_LANES];
        for (int k = 0; k < QUICK_LANES; k++)
            index[k] = bounds->colour[i + k < bounds->count ? i + k : i];
        bounds_plane(&m->quick, &rectangle, m->quick_colour, index, bounds->lo + i, bounds->hi + i);
    }
}

enum { SLABS = 4 };
static_assert((int)CUT == (int)SLABS && (int)STOREYS % (int)SLABS == 0,
              "cells and boxes come by fours");

/* Lists those colours that can be nearest above a square in four slabs of lightness side by side,
 * which are `step` edges thick. Y^2 is bounded by Y at the slab's ends, between which Y does not
 * turn, and what questions are off: it changes by less than 2 a unit. */
static void list_slabs(const MatchColours *m, const Bounds *bounds, int first, int step,
                       uint8_t list[SLABS][PALETTE_MOST + 1])
{
    const float off = 2.0f * (float)MATCH_APART;
    Simd4 least[PALETTE_MOST], limit = simd4(INFINITY);
    for (int i = 0; i < bounds->count; i++) {
        const float *y = m->edge[bounds->colour[i]] + first;
        const Simd4 one = {y[0], y[step], y[2 * step], y[3 * step]};
        const Simd4 two = {y[step], y[2 * step], y[3 * step], y[4 * step]};
        const Simd4 x = simd4_size(one), z = simd4_size(two);
        const Simd4 near = simd4_most(simd4_least(x, z) - off, simd4(0.0f));
        const Simd4 far = simd4_most(x, z) + off;
        least[i] = simd4_either(one * two <= 0.0f, simd4(0.0f), near * near) + bounds->lo[i];
        limit = simd4_least(far * far + bounds->hi[i], limit);
    }
    limit += 1e-6f * limit + 1e-4f; /* single precision is off by less */
    for (int k = 0; k < SLABS; k++) list[k][0] = 0;
    for (int i = 0; i < bounds->count; i++) {
        const Simd4Whole chosen = least[i] <= limit;
        for (int k = 0; k < SLABS; k++) {
            list[k][1 + list[k][0]] = bounds->colour[i];
            list[k][0] = (uint8_t)(list[k][0] - chosen[k]);
        }
    }
}

/* Room for more in one of the table's stores. */
static bool make_room(MatchTable *t, void *store, size_t *held, size_t need, size_t size)
{
    t->starved = memory_grow(store, held, need, size, NULL) != STATUS_OK || t->starved;
    return !t->starved;
}

/* Keeps a list; its place, or 0 where there is no room. */
static uint32_t keep_list(MatchTable *t, const uint8_t *list)
{
    const size_t size = list[0] + (size_t)1, place = t->lists;
    t->full = place + size > LISTS_MOST || !make_room(t, &t->list, &t->lists_held, place + size, 1);
    if (t->full) return 0;
    memcpy(t->list + place, list, size);
    t->lists += size;
    return (uint32_t)place;
}

/* Works out all boxes above the square of one. */
static void make_boxes(MatchTable *t, int box)
{
    const MatchColours *m = t->colours;
    const int square = box / STOREYS;
    const float corner[2] = {(float)(square / SQUARES * BOX) + AB_LEAST,
                             (float)(square % SQUARES * BOX) + AB_LEAST};
    Bounds bounds;
    uint8_t list[SLABS][PALETTE_MOST + 1];
    bound_square(m, m->all, corner, BOX, &bounds);
    for (int k = 0; k < STOREYS; k++) {
        if (k % SLABS == 0) list_slabs(m, &bounds, CUT * k, CUT, list);
        t->box[square * STOREYS + k] = keep_list(t, list[k % SLABS]);
    }
}

/* ---- cells ---- */

/* Where a question falls. */
typedef struct Place {
    int box, cell; /* box BOXES: beyond all */
} Place;

/* The places of questions, eight at a time. */
static WIDE void find_places(const Questions *asked, int32_t *box_out, int32_t *cell_out)
{
    for (int i = 0; i < asked->count; i += SIMD8) {
        const Simd8 L = simd8_at(asked->L + i), a = simd8_at(asked->a + i);
        const Simd8 b = simd8_at(asked->b + i), none = simd8(0.0f);
        const Simd8Whole within = (L >= L_LEAST) & (L < L_MOST) & (a >= AB_LEAST) & (a < AB_MOST) &
                                  (b >= AB_LEAST) & (b < AB_MOST);
        const float per_cell = 1.0f / CELL;
        const Simd8 along[3] = {simd8_either(within, (a - AB_LEAST) * per_cell, none),
                                simd8_either(within, (b - AB_LEAST) * per_cell, none),
                                simd8_either(within, (L - L_LEAST) * per_cell, none)};
        const Simd8Whole x = __builtin_convertvector(along[0], Simd8Whole);
        const Simd8Whole y = __builtin_convertvector(along[1], Simd8Whole);
        const Simd8Whole z = __builtin_convertvector(along[2], Simd8Whole);
        const Simd8Whole box = ((x >> 2) * SQUARES + (y >> 2)) * STOREYS + (z >> 2);
        const Simd8Whole cell = (x & 3) << 4 | (y & 3) << 2 | (z & 3);
        const Simd8Whole placed = (within & box) | (~within & BOXES);
        memcpy(box_out + i, &placed, sizeof placed);
        memcpy(cell_out + i, &cell, sizeof cell);
    }
}

/* A list as a word; 0 where there is no room. */
static uint32_t word_of(MatchTable *t, const uint8_t *list)
{
    if (list[0] > 4) {
        const uint32_t place = keep_list(t, list);
        return place ? place << 8 | LONG_LIST : 0;
    }
    uint32_t word = 0;
    for (int i = 4; i >= 1; i--) word = word << 8 | (list[i < list[0] ? i : list[0]] + 1u);
    return word;
}

/* Room for a box's cells, if there is any. */
static void take_block(MatchTable *t, int box)
{
    if (t->words + TABLE_CELLS > WORDS_MOST ||
        !make_room(t, &t->word, &t->words_held, t->words + TABLE_CELLS, sizeof *t->word))
        return;
    t->block[box] = (uint16_t)(t->words / TABLE_CELLS);
    t->words += TABLE_CELLS;
}

/* Works out all cells of a box above the small square of one; if only one colour can be nearest in
 * the box, all of its cells. */
static void make_cells(MatchTable *t, Place p)
{
    const MatchColours *m = t->colours;
    const int square = p.box / STOREYS, storey = p.box % STOREYS;
    const int x = p.cell / CUT / CUT, y = p.cell / CUT % CUT, first = p.cell / CUT * CUT;
    const float corner[2] = {(float)(square / SQUARES * BOX + x * CELL) + AB_LEAST,
                             (float)(square % SQUARES * BOX + y * CELL) + AB_LEAST};
    uint32_t *word = t->word + (size_t)t->block[p.box] * TABLE_CELLS;
    const uint8_t *const of = t->list + t->box[p.box];
    Bounds bounds;
    uint8_t list[SLABS][PALETTE_MOST + 1];
    if (of[0] == 1) {
        for (int k = 0; k < TABLE_CELLS; k++) word[k] = (of[1] + 1u) * 0x01010101u;
        return;
    }
    bound_square(m, of, corner, CELL, &bounds);
    list_slabs(m, &bounds, CUT * storey, 1, list);
    for (int k = 0; k < CUT; k++) word[first + k] = word_of(t, list[k]);
}

/* The word of a place as far as it is known. */
static uint32_t known_word(const MatchTable *t, Place p)
{
    const size_t block = t->block[p.box];
    return block ? t->word[block * TABLE_CELLS + (size_t)p.cell] : 0;
}

/* The word of a place that is asked for the first time; 0 where there is no room for it. */
static uint32_t make_word(MatchTable *t, Place p)
{
    if (t->full) return 0;
    if (!t->block[p.box]) take_block(t, p.box);
    if (!t->block[p.box]) return 0;
    if (!t->box[p.box]) make_boxes(t, p.box);
    if (t->box[p.box] && !known_word(t, p)) make_cells(t, p);
    return known_word(t, p);
}

/* ---- questions ---- */

/* The list of a word, which may have to be unpacked into `list`. */
static const uint8_t *list_of(const MatchTable *t, uint32_t word, uint8_t *list)
{
    if ((word & 255) == LONG_LIST) return t->list + (word >> 8);
    list[0] = 0;
    for (uint32_t before = 0; list[0] < 4 && (word & 255) != before; word >>= 8) {
        before = word & 255;
        list[++list[0]] = (uint8_t)(before - 1);
    }
    return list;
}

/* Looks up what the table knows. Most words hold one colour; where the others are, nobody could
 * foretell, so these are set aside without a branch. */
static int look_up(const MatchTable *t, const Questions *asked, const int32_t *box,
                   const int32_t *cell, uint32_t *word, int *aside, uint8_t *nearest)
{
    int count = 0;
    for (int i = 0; i < asked->count; i++) word[i] = known_word(t, (Place){box[i], cell[i]});
    for (int i = 0; i < asked->count; i++) {
        const uint32_t first = word[i] & 255;
        nearest[i] = (uint8_t)(first - 1);
        aside[count] = i;
        count += word[i] != first * 0x01010101u || word[i] == 0;
    }
    return count;
}

void match_table_answer(MatchTable *t, const Questions *asked, uint8_t *nearest)
{
    const MatchColours *m = t->colours;
    int32_t box[QUESTIONS], cell[QUESTIONS];
    uint32_t word[QUESTIONS];
    uint8_t unpacked[5];
    int aside[QUESTIONS];
    Open open;
    assert(asked->count <= QUESTIONS);
    open.count = open.pairs.count = 0;
    find_places(asked, box, cell);
    const int count = look_up(t, asked, box, cell, word, aside, nearest);
    for (int n = 0; n < count; n++) {
        const int i = aside[n];
        if (m->plain || box[i] == BOXES)
            nearest[i] = (uint8_t)nearest_exactly(m, m->all, asked->itself(asked->context, i));
        else if (!word[i] && !(word[i] = make_word(t, (Place){box[i], cell[i]})))
            open_question(m, &open, asked, i, m->all, nearest);
        else
            open_question(m, &open, asked, i, list_of(t, word[i], unpacked), nearest);
    }
    close_questions(m, &open, asked, nearest);
}
