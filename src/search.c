#include "search.h"

#include "memory.h"

#include <assert.h>
#include <string.h>

enum {
    WORDS_MOST = 8,       /* of a profile; wider tasks are given up */
    NODES_MOST = 1 << 23, /* shapes laid, over all partial tilings kept */
    NONE = -1
};

/* A partial tiling. */
typedef struct State {
    int64_t surplus;
    int32_t node;  /* the last shape laid before the current cell, or NONE */
    int32_t place; /* laid at the current cell, not a node yet; or NONE */
    uint32_t slot; /* in the table of profiles */
} State;

/* A shape laid, and the one before. */
typedef struct Node {
    int32_t before, place, cell;
} Node;

/* Partial tilings up to one cell. */
typedef struct Layer {
    State *state;
    uint64_t *profile; /* words for each state */
    int32_t count;
    size_t states, profiles; /* capacities */
} Layer;

/* A shape that may be laid at the current cell. */
typedef struct Move {
    int32_t place;
    int64_t surplus;
    uint64_t mask[WORDS_MOST]; /* the columns that must be bare */
    uint64_t rise[WORDS_MOST]; /* what it adds to the profile, seen from the next cell */
} Move;

struct Search {
    Layer layer[2];
    uint32_t *table; /* profile to index + 1 of its state in the layer being made */
    size_t table_size;
    Node *node;
    size_t nodes, node_capacity;
    int32_t *inside; /* by cell of the region: stamp of the task that has it */
    size_t inside_capacity;
    int32_t stamp;
    int64_t *sorting; /* surpluses, to find the least */
    size_t sorting_capacity;
    int32_t *place, *first; /* the tiling found */
    size_t place_capacity, first_capacity;
    Move move[SHAPES_MOST];
    /* Of the task: */
    int words, bits, per_word; /* of a profile: its words, a column's bits, columns a word */
    int32_t left;              /* the leftmost column */
};

Status search_create(Search **search_out, Fault *fault)
{
    *search_out = memory_create(1, sizeof **search_out);
    return *search_out ? STATUS_OK : memory_fault(fault, 1, sizeof **search_out);
}

void search_free(Search *s)
{
    if (!s) return;
    for (int i = 0; i < 2; i++) {
        memory_free(s->layer[i].state);
        memory_free(s->layer[i].profile);
    }
    memory_free(s->table);
    memory_free(s->node);
    memory_free(s->inside);
    memory_free(s->sorting);
    memory_free(s->place);
    memory_free(s->first);
    memory_free(s);
}

/* ---- the profile ---- */

/* Lays out the profile; false if the task is too wide for it. */
static bool shape_profile(Search *s, const SearchTask *task)
{
    const Region *r = task->region;
    int32_t left = INT32_MAX, right = 0;
    for (int32_t i = 0; i < task->cells; i++) {
        const int32_t column = r->column[task->cell[i]];
        if (column < left) left = column;
        if (column > right) right = column;
    }
    int highest = 1;
    for (int k = 0; k < r->shapes->count; k++)
        if (r->high[k] > highest) highest = r->high[k];
    s->bits = 1;
    while (highest >> s->bits) s->bits++;
    s->per_word = 64 / s->bits;
    s->left = left;
    s->words = (right - left) / s->per_word + 1;
    return s->words <= WORDS_MOST;
}

static int shift_of(const Search *s, int32_t column)
{
    return (int)((column - s->left) % s->per_word) * s->bits;
}

static int word_of(const Search *s, int32_t column)
{
    return (int)((column - s->left) / s->per_word);
}

static bool is_inside(const Search *s, const Region *r, int32_t cell, int wide, int high)
{
    for (int k = 0; k < high; k++, cell = r->above[cell])
        for (int i = 0; i < wide; i++)
            if (s->inside[cell + i] != s->stamp) return false;
    return true;
}

/* The moves at a cell. */
static int find_moves(Search *s, const SearchTask *task, int32_t cell)
{
    const Region *r = task->region;
    int count = 0;
    for (int32_t p = r->first[cell]; p < r->first[cell + 1]; p++) {
        const int shape = r->shape[p];
        int64_t surplus = task->surplus[p];
        if (r->shapes->shape[shape].size == SHAPE_BARE) surplus += SEARCH_BARE;
        if (surplus > task->limit || !is_inside(s, r, cell, r->wide[shape], r->high[shape]))
            continue;
        Move *m = &s->move[count++];
        m->place = p;
        m->surplus = surplus;
        for (int w = 0; w < s->words; w++) m->mask[w] = m->rise[w] = 0;
        const int32_t column = r->column[cell];
        for (int32_t c = column; c < column + r->wide[shape]; c++) {
            const int reach = r->high[shape] - (c == column);
            m->mask[word_of(s, c)] |= ((UINT64_C(1) << s->bits) - 1) << shift_of(s, c);
            m->rise[word_of(s, c)] += (uint64_t)reach << shift_of(s, c);
        }
    }
    return count;
}

/* ---- layers ---- */

/* Takes the layer's states out of the table of profiles. */
static void forget(Search *s, const Layer *layer)
{
    for (int32_t i = 0; i < layer->count; i++) s->table[layer->state[i].slot] = 0;
}

/* Makes room in the empty table. */
static Status widen_table(Search *s, size_t coming, Fault *fault)
{
    size_t need = 64;
    while (need < 2 * coming) need *= 2;
    if (need <= s->table_size) return STATUS_OK;
    memory_free(s->table);
    s->table_size = 0;
    s->table = memory_create(need, sizeof *s->table);
    if (!s->table) return memory_fault(fault, need, sizeof *s->table);
    s->table_size = need;
    return STATUS_OK;
}

static Status reserve(Layer *layer, size_t states, int words, Fault *fault)
{
    Status status = memory_grow(&layer->state, &layer->states, states, sizeof *layer->state, fault);
    if (!status)
        status = memory_grow(&layer->profile, &layer->profiles, states * (size_t)words,
                             sizeof *layer->profile, fault);
    return status;
}

/* Adds a partial tiling to the layer unless one with its profile is there that is as
 * good. */
static inline void offer(Search *s, Layer *layer, const uint64_t *profile, size_t words,
                         int64_t surplus, int32_t node, int32_t place)
{
    uint64_t hash = 0;
    for (size_t w = 0; w < words; w++) {
        hash = (hash ^ profile[w]) * UINT64_C(0x9e3779b97f4a7c15);
        hash ^= hash >> 29;
    }
    hash *= UINT64_C(0xbf58476d1ce4e5b9);
    const size_t mask = s->table_size - 1;
    size_t slot = (size_t)(hash >> 32) & mask;
    State *state;
    for (;; slot = (slot + 1) & mask) {
        const size_t at = s->table[slot];
        if (!at) break;
        const uint64_t *other = layer->profile + (at - 1) * words;
        uint64_t differs = 0;
        for (size_t w = 0; w < words; w++) differs |= other[w] ^ profile[w];
        if (differs) continue;
        state = &layer->state[at - 1];
        if (surplus >= state->surplus) return;
        state->surplus = surplus;
        state->node = node;
        state->place = place;
        return;
    }
    for (size_t w = 0; w < words; w++)
        layer->profile[(size_t)layer->count * words + w] = profile[w];
    state = &layer->state[layer->count++];
    state->surplus = surplus;
    state->node = node;
    state->place = place;
    state->slot = (uint32_t)slot;
    s->table[slot] = (uint32_t)layer->count;
}

/* The value of rank `rank` (from 0) of those in s->sorting. */
static int64_t nth_least(int64_t *v, int32_t count, int32_t rank)
{
    int32_t low = 0, high = count - 1;
    while (low < high) {
        const int64_t pivot = v[low + (high - low) / 2];
        int32_t i = low, j = high;
        while (i <= j) {
            while (v[i] < pivot) i++;
            while (v[j] > pivot) j--;
            if (i <= j) {
                const int64_t swap = v[i];
                v[i++] = v[j];
                v[j--] = swap;
            }
        }
        if (rank <= j)
            high = j;
        else if (rank >= i)
            low = i;
        else
            break;
    }
    return v[rank];
}

/* Drops all but the `most` states of least surplus; of equals the first made stay. */
static Status thin_out(Search *s, Layer *layer, int32_t most, Fault *fault)
{
    const Status status = memory_grow(&s->sorting, &s->sorting_capacity, (size_t)layer->count,
                                      sizeof *s->sorting, fault);
    if (status) return status;
    for (int32_t i = 0; i < layer->count; i++) s->sorting[i] = layer->state[i].surplus;
    const int64_t bar = nth_least(s->sorting, layer->count, most - 1);
    int32_t below = 0, kept = 0;
    for (int32_t i = 0; i < layer->count; i++) below += layer->state[i].surplus < bar;
    int32_t equals = most - below;
    for (int32_t i = 0; i < layer->count; i++) {
        if (layer->state[i].surplus > bar) continue;
        if (layer->state[i].surplus == bar && equals-- <= 0) continue;
        layer->state[kept] = layer->state[i];
        memmove(layer->profile + (size_t)kept * (size_t)s->words,
                layer->profile + (size_t)i * (size_t)s->words,
                (size_t)s->words * sizeof *layer->profile);
        kept++;
    }
    layer->count = kept;
    return STATUS_OK;
}

/* Turns what was laid at a cell into nodes, now that it is known what is kept. */
static Status settle_layer(Search *s, Layer *layer, int32_t cell, Fault *fault)
{
    const Status status = memory_grow(&s->node, &s->node_capacity, s->nodes + (size_t)layer->count,
                                      sizeof *s->node, fault);
    if (status) return status;
    for (int32_t i = 0; i < layer->count; i++) {
        State *state = &layer->state[i];
        if (state->place == NONE) continue;
        s->node[s->nodes] = (Node){state->node, state->place, cell};
        state->node = (int32_t)s->nodes++;
        state->place = NONE;
    }
    return STATUS_OK;
}

/* All that can follow from the states of `from` at this cell. */
static inline void step_words(Search *s, const SearchTask *task, const Layer *from, Layer *to,
                              int32_t column, int moves, size_t words)
{
    const int word = word_of(s, column), shift = shift_of(s, column);
    const uint64_t here = ((UINT64_C(1) << s->bits) - 1) << shift;
    uint64_t next[WORDS_MOST];
    for (int32_t i = 0; i < from->count; i++) {
        const State *state = &from->state[i];
        const uint64_t *profile = from->profile + (size_t)i * words;
        if (profile[word] & here) {
            for (size_t w = 0; w < words; w++) next[w] = profile[w];
            next[word] -= UINT64_C(1) << shift;
            offer(s, to, next, words, state->surplus, state->node, NONE);
            continue;
        }
        const int64_t left = task->limit - state->surplus;
        for (int k = 0; k < moves; k++) {
            const Move *m = &s->move[k];
            if (m->surplus > left) continue;
            uint64_t blocked = 0;
            for (size_t w = 0; w < words; w++) {
                blocked |= profile[w] & m->mask[w];
                next[w] = profile[w] + m->rise[w];
            }
            if (!blocked)
                offer(s, to, next, words, state->surplus + m->surplus, state->node, m->place);
        }
    }
}

/* Most profiles are of a word or two: loops over them are unrolled. */
static void step(Search *s, const SearchTask *task, const Layer *from, Layer *to, int32_t column,
                 int moves)
{
    if (s->words == 1)
        step_words(s, task, from, to, column, moves, 1);
    else if (s->words == 2)
        step_words(s, task, from, to, column, moves, 2);
    else
        step_words(s, task, from, to, column, moves, (size_t)s->words);
}

static Status begin(Search *s, const SearchTask *task, Fault *fault)
{
    const size_t cells = (size_t)task->region->cells;
    Status status = memory_grow(&s->inside, &s->inside_capacity, cells, sizeof *s->inside, fault);
    if (!status)
        status = memory_grow(&s->place, &s->place_capacity, (size_t)task->cells, sizeof *s->place,
                             fault);
    if (!status)
        status = memory_grow(&s->first, &s->first_capacity, (size_t)task->cells, sizeof *s->first,
                             fault);
    if (!status) status = reserve(&s->layer[0], 1, s->words, fault);
    if (status) return status;
    s->stamp++;
    for (int32_t i = 0; i < task->cells; i++) s->inside[task->cell[i]] = s->stamp;
    s->nodes = 0;
    if (s->table) memset(s->table, 0, s->table_size * sizeof *s->table);
    memset(s->layer[0].profile, 0, (size_t)s->words * sizeof *s->layer[0].profile);
    s->layer[0].state[0] = (State){0, NONE, NONE, 0};
    s->layer[0].count = 1;
    s->layer[1].count = 0;
    return STATUS_OK;
}

/* Follows the nodes of the finished tiling back to its start. */
static void collect(Search *s, const State *state, SearchResult *result)
{
    result->found = true;
    result->surplus = state->surplus;
    for (int32_t n = state->node; n != NONE; n = s->node[n].before) {
        s->place[result->places] = s->node[n].place;
        s->first[result->places++] = s->node[n].cell;
    }
    result->place = s->place;
    result->first = s->first;
}

/* Makes the layer of the next cell from that of this. */
static Status advance(Search *s, const SearchTask *task, int32_t cell, const Layer *from, Layer *to,
                      SearchResult *result, Fault *fault)
{
    const int moves = find_moves(s, task, cell);
    const size_t coming = (size_t)from->count * (size_t)(moves > 1 ? moves : 1);
    Status status = widen_table(s, coming, fault);
    if (!status) status = reserve(to, coming, s->words, fault);
    if (status) return status;
    to->count = 0;
    step(s, task, from, to, task->region->column[cell], moves);
    forget(s, to);
    result->work += to->count;
    if (to->count > task->most) {
        result->exact = false;
        status = thin_out(s, to, task->most, fault);
    }
    return status ? status : settle_layer(s, to, cell, fault);
}

Status search_run(Search *s, const SearchTask *task, SearchResult *result_out, Fault *fault)
{
    assert(task->cells > 0 && task->most > 0);
    *result_out = (SearchResult){.exact = true, .reached = task->cell[0]};
    if (!shape_profile(s, task)) {
        result_out->exact = false;
        return STATUS_OK;
    }
    Status status = begin(s, task, fault);
    Layer *from = &s->layer[0], *to = &s->layer[1];
    for (int32_t i = 0; i < task->cells && !status; i++) {
        result_out->reached = task->cell[i];
        status = advance(s, task, task->cell[i], from, to, result_out, fault);
        if (status || !to->count) return status;
        if (s->nodes > NODES_MOST) {
            result_out->exact = false;
            return STATUS_OK;
        }
        Layer *swap = from;
        from = to;
        to = swap;
    }
    if (!status) collect(s, &from->state[0], result_out);
    return status;
}
