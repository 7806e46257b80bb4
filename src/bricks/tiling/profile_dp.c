/* Dynamic programming over the broken profile.
 *
 * Idea. Cells are filled in order, and where a cell is still bare a shape is laid with its first
 * cell there; what must be remembered of all that was laid is only how far it reaches up in each
 * column, the profile. Of two partial tilings with the same profile the one of less reduced cost
 * stays, and none goes on whose reduced cost is over the limit, for reduced costs are 0 or more.
 * Partial tilings, called states, are kept in a layer a cell; a hash table finds the state of a
 * profile. Where a layer has more than are to be kept, those of least reduced cost stay: states
 * are counted by rank (coarse classes of reduced cost), so that ranks which cannot be kept are not
 * even made.
 *
 * Invariants. A profile is bits a column, packed into words, as seen from the current cell. States
 * stand in the order in which they were made, and of equals the first made is kept, so that the
 * result is the same on every machine. Shapes laid are nodes that lead back to the start; only
 * what is kept becomes a node.
 *
 * Source. The profile ("plug", "frontier") method of tiling counts: Knuth, The Art of Computer
 * Programming 4A, 7.1.4 (frontiers), from memory. Bounding by reduced cost: as in branch and
 * bound. */
#include "bricks/tiling/profile_dp.h"

#include "base/memory.h"

#include <assert.h>
#include <string.h>

enum {
    WORDS_MOST = 8, /* of a profile; wider tasks are not begun */
    COLUMNS_MOST = 64 * WORDS_MOST,
    RANKS = 128,     /* into which reduced costs are sorted; */
    DROPPED = RANKS, /* and that of a state that is not kept */
    BARE_RANKS = 32, /* of them for each number of bare cells */
    TABLE_LEAST = 64,
    NODES_MOST = 1 << 23, /* shapes laid, over all partial tilings kept */
    MOVE_BITS = 8,        /* of a number of a move */
    NO_NODE = -1,
    PROFILES_OFTEN = 16 /* cells between two questions whether to stop: some milliseconds */
};
static_assert(SHAPES_MOST <= 1 << MOVE_BITS, "moves are numbered in so many bits");

/* A partial tiling. */
typedef struct ProfileState {
    int64_t reduced_cost;
    int32_t node;  /* the last shape laid before the current cell, or NO_NODE */
    int32_t place; /* laid at the current cell, not a node yet; or NO_NODE */
    int32_t rank;  /* of the reduced cost; DROPPED if it is not kept */
} ProfileState;

/* A shape laid, and the one before. */
typedef struct LaidShape {
    int32_t before, place, cell;
} LaidShape;

/* Partial tilings up to one cell. */
typedef struct ProfileLayer {
    ProfileState *state;
    uint64_t *profile; /* words for each state */
    int32_t count;
    int32_t *order; /* those kept, by rank */
    int32_t kept;
    size_t states, profiles, orders; /* capacities */
} ProfileLayer;

/* A shape that may be laid at the current cell. */
typedef struct ProfileMove {
    int32_t place;
    int64_t reduced_cost;
    uint64_t mask[WORDS_MOST]; /* the columns that must be bare */
    uint64_t rise[WORDS_MOST]; /* what it adds to the profile, seen from the next cell */
} ProfileMove;

struct ProfileDp {
    ProfileLayer layer[2];
    uint32_t *table;               /* profile to index + 1 of its state in the layer being made */
    size_t table_room, table_size; /* all, and what of it is in use: powers of two */
    LaidShape *node;
    size_t nodes, node_capacity;
    int32_t *inside; /* by cell of the region: stamp of the task that has it */
    int32_t *run;    /* and how many of the task follow in a row, with it */
    size_t inside_capacity, run_capacity;
    int32_t stamp;
    int32_t *open; /* states that have the current cell bare */
    size_t open_capacity;
    int64_t *sorting; /* reduced costs, to find the least */
    size_t sorting_capacity;
    /* Of the layer being made: how many states have each rank, the last rank that may
     * still be kept, and the states up to it. */
    int32_t tally[RANKS];
    int bar;
    int32_t within;
    int32_t *place, *first; /* the tiling found */
    size_t place_capacity, first_capacity;
    ProfileMove move[SHAPES_MOST];
    /* Of the moves, reduced cost and, in the last bits, number; least first. */
    int64_t order[SHAPES_MOST];
    /* Of the task: */
    const ProfileTask *task;
    ProfileLayer *from, *to;   /* of this cell and of the next */
    int moves;                 /* at this cell */
    int words, bits, per_word; /* of a profile: its words, a column's bits, columns a word */
    uint64_t units[65];        /* 1 in each of so many columns */
    int32_t left;              /* the leftmost column */
    uint8_t word[COLUMNS_MOST], shift[COLUMNS_MOST]; /* of each column from there */
    int rank_shift;                                  /* of a reduced cost */
    bool bare;                                       /* cells may be left bare */
    const Voice *voice;
};

Status profile_dp_create(ProfileDp **dp_out, const Voice *voice, Fault *fault)
{
    *dp_out = memory_create(1, sizeof **dp_out);
    if (!*dp_out) return memory_fault(fault, 1, sizeof **dp_out);
    (*dp_out)->voice = voice;
    return STATUS_OK;
}

const Voice *profile_dp_voice(const ProfileDp *s) { return s->voice; }

void profile_dp_free(ProfileDp *s)
{
    if (!s) return;
    for (int i = 0; i < 2; i++) {
        memory_free(s->layer[i].state);
        memory_free(s->layer[i].profile);
        memory_free(s->layer[i].order);
    }
    memory_free(s->table);
    memory_free(s->node);
    memory_free(s->inside);
    memory_free(s->run);
    memory_free(s->open);
    memory_free(s->sorting);
    memory_free(s->place);
    memory_free(s->first);
    memory_free(s);
}

/* ---- the profile ---- */

/* Lays out the profile; false if the task is too wide for it. */
static bool shape_profile(ProfileDp *s, const ProfileTask *task)
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
    for (int k = 0; k < s->per_word; k++) s->units[k + 1] = s->units[k] << s->bits | 1;
    s->left = left;
    s->words = (right - left) / s->per_word + 1;
    if (s->words > WORDS_MOST) return false;
    for (int32_t c = 0; c <= right - left; c++) {
        s->word[c] = (uint8_t)(c / s->per_word);
        s->shift[c] = (uint8_t)(c % s->per_word * s->bits);
    }
    return true;
}

static bool place_is_inside(const ProfileDp *s, const Region *r, int32_t cell, int wide, int high)
{
    for (int k = 0; k < high; k++, cell = r->above[cell])
        if (s->inside[cell] != s->stamp || s->run[cell] < wide) return false;
    return true;
}

/* What a shape over columns from `left` on blocks, and adds to the profile seen from the
 * next cell. */
static void make_move(const ProfileDp *s, ProfileMove *m, int32_t left, int wide, int high)
{
    for (int w = 0; w < s->words; w++) {
        const int32_t first = w * s->per_word, end = left + wide - first;
        const int32_t from = left > first ? left - first : 0;
        const int32_t to = end < s->per_word ? end : s->per_word;
        m->mask[w] = m->rise[w] = 0;
        if (from >= to) continue;
        const uint64_t units = s->units[to - from] << from * s->bits;
        m->mask[w] = units * ((UINT64_C(1) << s->bits) - 1);
        m->rise[w] = units * (uint64_t)high;
    }
    m->rise[s->word[left]] -= UINT64_C(1) << s->shift[left];
}

/* The moves at a cell. */
static int find_moves(ProfileDp *s, const ProfileTask *task, int32_t cell)
{
    const Region *r = task->region;
    const bool whole = task->cells == r->cells; /* every place is inside */
    int count = 0;
    for (int32_t p = r->first[cell]; p < r->first[cell + 1]; p++) {
        const int shape = r->shape[p];
        int64_t reduced_cost = task->reduced_cost[p];
        if (r->shapes->shape[shape].size == SHAPE_BARE) reduced_cost += PROFILE_BARE;
        if (reduced_cost > task->limit) continue;
        if (!whole && !place_is_inside(s, r, cell, r->wide[shape], r->high[shape])) continue;
        ProfileMove *m = &s->move[count];
        m->place = p;
        m->reduced_cost = reduced_cost;
        make_move(s, m, r->column[cell] - s->left, r->wide[shape], r->high[shape]);
        const int64_t key = reduced_cost * (1 << MOVE_BITS) + count;
        int at = count++;
        for (; at > 0 && s->order[at - 1] > key; at--) s->order[at] = s->order[at - 1];
        s->order[at] = key;
    }
    return count;
}

/* ---- layers ---- */

/* Makes room in the table for the states of a layer to come, and empties as much of it as
 * `first` states need. */
static Status clear_table(ProfileDp *s, size_t coming, size_t first, Fault *fault)
{
    size_t room = TABLE_LEAST;
    while (room < 2 * coming) room *= 2;
    if (room > s->table_room) {
        memory_free(s->table);
        s->table_room = 0;
        s->table = memory_create(room, sizeof *s->table);
        if (!s->table) return memory_fault(fault, room, sizeof *s->table);
        s->table_room = room;
    }
    s->table_size = TABLE_LEAST;
    while (s->table_size < 4 * first && s->table_size < room) s->table_size *= 2;
    memset(s->table, 0, s->table_size * sizeof *s->table);
    return STATUS_OK;
}

static Status reserve_states(ProfileLayer *layer, size_t states, int words, Fault *fault)
{
    Status status = memory_grow(&layer->state, &layer->states, states, sizeof *layer->state, fault);
    if (!status)
        status = memory_grow(&layer->profile, &layer->profiles, states * (size_t)words,
                             sizeof *layer->profile, fault);
    return status;
}

/* ---- which stay ---- */

/* Sorts reduced costs up to the limit into ranks: a lesser one is never of a higher rank. */
static void set_ranks(ProfileDp *s, int64_t limit)
{
    s->bare = limit >= PROFILE_BARE;
    s->rank_shift = 0;
    while (!s->bare && limit >> s->rank_shift >= RANKS) s->rank_shift++;
}

static inline int rank_of(const ProfileDp *s, int64_t reduced_cost)
{
    if (!s->bare) return (int)(reduced_cost >> s->rank_shift);
    const int64_t rest = reduced_cost % PROFILE_BARE * 4 / SHAPE_ONE;
    const int64_t rank =
        reduced_cost / PROFILE_BARE * BARE_RANKS + (rest < BARE_RANKS ? rest : BARE_RANKS - 1);
    return rank < RANKS ? (int)rank : RANKS - 1;
}

static inline size_t hash_slot(const ProfileDp *s, const uint64_t *profile, size_t words)
{
    uint64_t hash = 0;
    for (size_t w = 0; w < words; w++) {
        hash = (hash ^ profile[w]) * UINT64_C(0x9e3779b97f4a7c15);
        hash ^= hash >> 29;
    }
    hash *= UINT64_C(0xbf58476d1ce4e5b9);
    return (size_t)(hash >> 32) & (s->table_size - 1);
}

static inline size_t empty_slot(const ProfileDp *s, const uint64_t *profile, size_t words)
{
    size_t slot = hash_slot(s, profile, words);
    while (s->table[slot]) slot = (slot + 1) & (s->table_size - 1);
    return slot;
}

/* Doubles the part of the table in use once it is half full. */
static void spread_table(ProfileDp *s, const ProfileLayer *layer, size_t words)
{
    s->table_size *= 2;
    memset(s->table, 0, s->table_size * sizeof *s->table);
    for (int32_t i = 0; i < layer->count; i++)
        s->table[empty_slot(s, layer->profile + (size_t)i * words, words)] = (uint32_t)i + 1;
}

/* Adds a state whose profile is not in the layer yet. */
static inline void add_state(ProfileDp *s, ProfileLayer *layer, size_t slot,
                             const uint64_t *profile, size_t words, const ProfileState *made)
{
    for (size_t w = 0; w < words; w++)
        layer->profile[(size_t)layer->count * words + w] = profile[w];
    layer->state[layer->count++] = *made;
    s->table[slot] = (uint32_t)layer->count;
    s->tally[made->rank]++;
    s->within++;
    if (2 * (size_t)layer->count >= s->table_size && s->table_size < s->table_room)
        spread_table(s, layer, words);
}

/* Once there are enough states of lower ranks none of the last can be among the `most`
 * that will be kept, and no more of it are made. */
static inline void lower_bar(ProfileDp *s, int32_t most)
{
    while (s->within - s->tally[s->bar] >= most) s->within -= s->tally[s->bar--];
}

/* Adds a partial tiling to the layer unless one with its profile is there that is as
 * good. */
static inline void offer_state(ProfileDp *s, ProfileLayer *layer, const uint64_t *profile,
                               size_t words, const ProfileState *made, int32_t most)
{
    size_t slot = hash_slot(s, profile, words);
    for (;; slot = (slot + 1) & (s->table_size - 1)) {
        const size_t at = s->table[slot];
        if (!at) break;
        const uint64_t *other = layer->profile + (at - 1) * words;
        uint64_t differs = 0;
        for (size_t w = 0; w < words; w++) differs |= other[w] ^ profile[w];
        if (differs) continue;
        ProfileState *state = &layer->state[at - 1];
        if (made->reduced_cost >= state->reduced_cost) return;
        s->tally[state->rank]--;
        s->within -= state->rank <= s->bar;
        *state = *made;
        s->tally[made->rank]++;
        s->within++;
        lower_bar(s, most);
        return;
    }
    add_state(s, layer, slot, profile, words, made);
    lower_bar(s, most);
}

/* The `nth` least value, from 0; v is put out of order. */
static int64_t nth_least(int64_t *v, int32_t count, int32_t nth)
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
        if (nth <= j)
            high = j;
        else if (nth >= i)
            low = i;
        else
            break;
    }
    return v[nth];
}

/* Of the states of the last rank keeps as many as there is room for, those of least reduced cost;
 * of equals the first made. */
static Status thin_out(ProfileDp *s, ProfileLayer *layer, int32_t most, Fault *fault)
{
    const Status status = memory_grow(&s->sorting, &s->sorting_capacity, (size_t)s->tally[s->bar],
                                      sizeof *s->sorting, fault);
    if (status) return status;
    int32_t count = 0;
    for (int32_t i = 0; i < layer->count; i++)
        if (layer->state[i].rank == s->bar) s->sorting[count++] = layer->state[i].reduced_cost;
    const int32_t room = most - (s->within - count);
    const int64_t last = nth_least(s->sorting, count, room - 1);
    int32_t equals = room;
    for (int32_t i = 0; i < count; i++) equals -= s->sorting[i] < last;
    for (int32_t i = 0; i < layer->count; i++) {
        ProfileState *state = &layer->state[i];
        if (state->rank != s->bar || state->reduced_cost < last) continue;
        if (state->reduced_cost > last || equals-- <= 0) state->rank = DROPPED;
    }
    s->tally[s->bar] = room;
    s->within = most;
    return STATUS_OK;
}

/* Puts the states that are kept in order of rank. */
static Status order_by_rank(ProfileDp *s, ProfileLayer *layer, int32_t most, Fault *fault)
{
    Status status = s->within > most ? thin_out(s, layer, most, fault) : STATUS_OK;
    layer->kept = s->within;
    if (!status)
        status = memory_grow(&layer->order, &layer->orders, (size_t)layer->kept,
                             sizeof *layer->order, fault);
    if (status) return status;
    int32_t start[RANKS], sum = 0;
    for (int k = 0; k <= s->bar; k++) {
        start[k] = sum;
        sum += s->tally[k];
    }
    for (int32_t i = 0; i < layer->count; i++)
        if (layer->state[i].rank <= s->bar) layer->order[start[layer->state[i].rank]++] = i;
    return STATUS_OK;
}

/* Turns what was laid at a cell into nodes, now that it is known what is kept. */
static Status settle_layer(ProfileDp *s, ProfileLayer *layer, int32_t cell, Fault *fault)
{
    const Status status = memory_grow(&s->node, &s->node_capacity, s->nodes + (size_t)layer->kept,
                                      sizeof *s->node, fault);
    if (status) return status;
    for (int32_t i = 0; i < layer->kept; i++) {
        ProfileState *state = &layer->state[layer->order[i]];
        if (state->place == NO_NODE) continue;
        s->node[s->nodes] = (LaidShape){state->node, state->place, cell};
        state->node = (int32_t)s->nodes++;
        state->place = NO_NODE;
    }
    return STATUS_OK;
}

/* The states that have the cell filled already go on as they are, and reach one cell less
 * beyond it; the others are put aside. Returns how many. */
static inline int32_t carry_on(ProfileDp *s, const ProfileLayer *from, ProfileLayer *to, int word,
                               int shift, size_t words)
{
    const uint64_t here = ((UINT64_C(1) << s->bits) - 1) << shift;
    uint64_t next[WORDS_MOST];
    int32_t open = 0;
    for (int32_t i = 0; i < from->kept; i++) {
        const int32_t at = from->order[i];
        const uint64_t *profile = from->profile + (size_t)at * words;
        if (!(profile[word] & here)) {
            s->open[open++] = at;
            continue;
        }
        for (size_t w = 0; w < words; w++) next[w] = profile[w];
        next[word] -= UINT64_C(1) << shift;
        add_state(s, to, empty_slot(s, next, words), next, words, &from->state[at]);
    }
    return open;
}

/* All that can follow from the states before this cell, in the `words` words of a profile. */
static inline void advance_words(ProfileDp *s, int32_t column, size_t words)
{
    const ProfileLayer *from = s->from;
    ProfileLayer *to = s->to;
    const int64_t limit = s->task->limit;
    const int32_t most = s->task->most;
    const int moves = s->moves;
    uint64_t next[WORDS_MOST];
    const int32_t open = carry_on(s, from, to, s->word[column], s->shift[column], words);
    lower_bar(s, most);
    for (int32_t i = 0; i < open; i++) {
        const ProfileState *state = &from->state[s->open[i]];
        const uint64_t *profile = from->profile + (size_t)s->open[i] * words;
        for (int k = 0; k < moves; k++) {
            const ProfileMove *m = &s->move[s->order[k] & ((1 << MOVE_BITS) - 1)];
            const int64_t reduced_cost = state->reduced_cost + m->reduced_cost;
            if (reduced_cost > limit) break;
            const int rank = rank_of(s, reduced_cost);
            if (rank > s->bar) break;
            uint64_t blocked = 0;
            for (size_t w = 0; w < words; w++) {
                blocked |= profile[w] & m->mask[w];
                next[w] = profile[w] + m->rise[w];
            }
            if (!blocked)
                offer_state(s, to, next, words,
                            &(ProfileState){reduced_cost, state->node, m->place, rank}, most);
        }
    }
}

/* Most profiles are of a word or two: loops over them are unrolled. */
static void advance_states(ProfileDp *s, int32_t column)
{
    if (s->words == 1)
        advance_words(s, column, 1);
    else if (s->words == 2)
        advance_words(s, column, 2);
    else
        advance_words(s, column, (size_t)s->words);
}

static Status begin_task(ProfileDp *s, const ProfileTask *task, Fault *fault)
{
    const size_t cells = (size_t)task->region->cells;
    s->from = &s->layer[0];
    s->to = &s->layer[1];
    Status status = memory_grow(&s->inside, &s->inside_capacity, cells, sizeof *s->inside, fault);
    if (!status) status = memory_grow(&s->run, &s->run_capacity, cells, sizeof *s->run, fault);
    if (!status)
        status = memory_grow(&s->place, &s->place_capacity, (size_t)task->cells, sizeof *s->place,
                             fault);
    if (!status)
        status = memory_grow(&s->first, &s->first_capacity, (size_t)task->cells, sizeof *s->first,
                             fault);
    if (!status) status = reserve_states(&s->layer[0], 1, s->words, fault);
    if (!status)
        status = memory_grow(&s->layer[0].order, &s->layer[0].orders, 1, sizeof *s->layer[0].order,
                             fault);
    if (status) return status;
    s->stamp++;
    for (int32_t i = task->cells - 1, run = 0; i >= 0; i--) {
        const bool next = i + 1 < task->cells && task->cell[i + 1] == task->cell[i] + 1;
        run = next ? run + 1 : 1;
        s->inside[task->cell[i]] = s->stamp;
        s->run[task->cell[i]] = run;
    }
    s->nodes = 0;
    memset(s->layer[0].profile, 0, (size_t)s->words * sizeof *s->layer[0].profile);
    s->layer[0].state[0] = (ProfileState){0, NO_NODE, NO_NODE, 0};
    s->layer[0].order[0] = 0;
    s->layer[0].count = s->layer[0].kept = 1;
    s->layer[1].count = 0;
    return STATUS_OK;
}

/* Follows the nodes of the finished tiling back to its start. */
static void collect_tiling(ProfileDp *s, const ProfileState *state, ProfileResult *result)
{
    result->found = true;
    result->reduced_cost = state->reduced_cost;
    for (int32_t n = state->node; n != NO_NODE; n = s->node[n].before) {
        s->place[result->places] = s->node[n].place;
        s->first[result->places++] = s->node[n].cell;
    }
    result->place = s->place;
    result->first = s->first;
}

/* Of the states of a layer one has an empty profile: nothing that was laid crosses the lower edge
 * of the row that begins now, at this price. */
static void charge_line(ProfileDp *s, ProfileLayer *layer, int64_t price)
{
    static const uint64_t none[WORDS_MOST] = {0};
    const size_t words = (size_t)s->words;
    for (size_t slot = hash_slot(s, none, words); s->table[slot];
         slot = (slot + 1) & (s->table_size - 1)) {
        const size_t at = s->table[slot] - 1;
        if (memcmp(layer->profile + at * words, none, words * sizeof *none)) continue;
        ProfileState *state = &layer->state[at];
        s->tally[state->rank]--;
        s->within -= state->rank <= s->bar;
        state->reduced_cost += price;
        if (state->reduced_cost > s->task->limit) {
            state->rank = DROPPED;
            return;
        }
        state->rank = rank_of(s, state->reduced_cost);
        s->tally[state->rank]++;
        s->within += state->rank <= s->bar;
        return;
    }
}

/* What it costs if nothing crosses the line after the nth cell, where a row ends. */
static int32_t line_after(const ProfileTask *task, int32_t nth)
{
    const Region *r = task->region;
    if (!task->line || nth + 1 == task->cells) return 0;
    const int32_t row = r->row[task->cell[nth + 1]];
    return row > r->row[task->cell[nth]] ? task->line[row] : 0;
}

/* Makes the layer of the next cell from that of this. */
static Status advance_cell(ProfileDp *s, int32_t nth, ProfileResult *result, Fault *fault)
{
    const ProfileTask *task = s->task;
    const int32_t cell = task->cell[nth], line = line_after(task, nth);
    ProfileLayer *to = s->to;
    const size_t kept = (size_t)s->from->kept;
    s->moves = find_moves(s, task, cell);
    const size_t coming = kept * (size_t)(s->moves > 1 ? s->moves : 1);
    Status status = clear_table(s, coming, kept, fault);
    if (!status) status = memory_grow(&s->open, &s->open_capacity, kept, sizeof *s->open, fault);
    if (!status) status = reserve_states(to, coming, s->words, fault);
    if (status) return status;
    to->count = 0;
    memset(s->tally, 0, sizeof s->tally);
    s->bar = RANKS - 1;
    s->within = 0;
    advance_states(s, task->region->column[cell] - s->left);
    if (line) charge_line(s, to, line);
    result->work += to->count;
    if (s->within > task->most || s->bar < RANKS - 1) result->exact = false;
    status = order_by_rank(s, to, task->most, fault);
    return status ? status : settle_layer(s, to, cell, fault);
}

Status profile_dp_run(ProfileDp *s, const ProfileTask *task, ProfileResult *result_out,
                      Fault *fault)
{
    assert(task->cells > 0 && task->most > 0);
    *result_out = (ProfileResult){.exact = true, .reached = task->cell[0]};
    s->task = task;
    if (!shape_profile(s, task)) {
        result_out->exact = false;
        return STATUS_OK;
    }
    set_ranks(s, task->limit);
    Status status = begin_task(s, task, fault);
    for (int32_t i = 0; i < task->cells && !status; i++) {
        if (i % PROFILES_OFTEN == 0 && voice_stopped(s->voice))
            return fault_set(fault, STATUS_INTERRUPTED, "laying: stopped; run it again");
        result_out->reached = task->cell[i];
        status = advance_cell(s, i, result_out, fault);
        if (status || !s->to->count) return status;
        if (s->nodes > NODES_MOST) {
            result_out->exact = false;
            return STATUS_OK;
        }
        ProfileLayer *swap = s->from;
        s->from = s->to;
        s->to = swap;
    }
    if (!status) collect_tiling(s, &s->from->state[0], result_out);
    return status;
}
