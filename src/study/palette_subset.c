/* Climbing is by single changes, which swap_gains.h prices; a choice is a set of flags there.
 *
 * Branch and bound goes through the colours in a fixed order (most useful alone first),
 * with and without each. A branch is left if even all colours still to come would not
 * bring its total below the best; or, without blends, if the gains of the few that may
 * still be added, each as if it were alone, would not: the saving is submodular, so
 * together they save no more than that (Nemhauser, Wolsey, Fisher 1978). */
#include "study/palette_subset.h"

#include "base/memory.h"
#include "study/swap_gains.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* A total must be lower by this share to count as lower: sums over many samples in another
 * order differ by less. */
#define ROUNDING 1e-12

const SubsetOptions subset_defaults = {.trials = 30, .branches = 20000};

typedef struct SubsetSearch {
    const SubsetTask *task;
    const Voice *voice;
    int least, most;        /* colours of a choice */
    const float **blend_of; /* colours x colours: its row, or NULL */
    SwapGains gains;        /* of the choice that is climbed from */
    int count;              /* of its colours */
    double total;
    float *row;                /* depths x samples: what each sample pays, branch by branch */
    float *open;               /* (colours + 1) x samples: the cheapest of order[i] and on */
    double *child;             /* depths x 2 x colours: see bound_children */
    bool chosen[PALETTE_MOST]; /* in a branch */
    int order[PALETTE_MOST];   /* free colours, the most useful alone first */
    int free;                  /* how many these are */
    long branches;             /* that may still be looked at */
    bool cut_short;
    Subset best;
} SubsetSearch;

static float *row_of(const SubsetSearch *s, int depth)
{
    return s->row + (size_t)depth * (size_t)s->task->samples;
}

static const float *cost_of(const SubsetSearch *s, int colour)
{
    return s->task->cost + (size_t)colour * (size_t)s->task->samples;
}

static SubsetRule rule_of(const SubsetSearch *s, int colour)
{
    return s->task->rule ? (SubsetRule)s->task->rule[colour] : SUBSET_FREE;
}

static double price_of(const SubsetSearch *s, int colour)
{
    return s->task->price ? s->task->price[colour] : 0.0;
}

static void cheapen(float *restrict row, const float *restrict other, int samples)
{
    for (int i = 0; i < samples; i++) row[i] = other[i] < row[i] ? other[i] : row[i];
}

static double weigh(const SubsetSearch *s, const float *row)
{
    double sum = 0.0;
    for (int i = 0; i < s->task->samples; i++) sum += s->task->weight[i] * (double)row[i];
    return sum;
}

/* out = row with a colour added to the chosen ones. */
static void add_to_row(const SubsetSearch *s, const float *row, const bool *chosen, int colour,
                       float *out)
{
    const int samples = s->task->samples, colours = s->task->colours;
    memcpy(out, row, (size_t)samples * sizeof *out);
    cheapen(out, cost_of(s, colour), samples);
    if (s->task->blends == 0) return;
    for (int i = 0; i < colours; i++) {
        const float *blend = chosen[i] ? s->blend_of[colour * colours + i] : NULL;
        if (blend) cheapen(out, blend, samples);
    }
}

/* out = what samples pay with the chosen colours; INFINITY with none. */
static void build_row(const SubsetSearch *s, const bool *chosen, float *out)
{
    bool before[PALETTE_MOST] = {0};
    for (int i = 0; i < s->task->samples; i++) out[i] = INFINITY;
    for (int c = 0; c < s->task->colours; c++)
        if (chosen[c]) {
            add_to_row(s, out, before, c, out);
            before[c] = true;
        }
}

static double prices(const SubsetSearch *s, const bool *chosen)
{
    double sum = 0.0;
    for (int c = 0; c < s->task->colours; c++)
        if (chosen[c]) sum += price_of(s, c);
    return sum;
}

/* Keeps a choice if it is the best so far. */
static void keep_best(SubsetSearch *s, const bool *chosen, int count, double total)
{
    if (count < s->least || count > s->most) return;
    if (s->best.count > 0 && total >= s->best.total) return;
    s->best = (Subset){.total = total};
    for (int c = 0; c < s->task->colours; c++)
        if (chosen[c]) s->best.colour[s->best.count++] = (uint8_t)c;
}

/* ---- climbing ---- */

/* A change of the choice: one colour goes, one comes, or both; -1 is none. */
typedef struct Move {
    int out, in;
    double total;
} Move;

static bool may_drop(const SubsetSearch *s, int c)
{
    return s->gains.chosen[c] && rule_of(s, c) == SUBSET_FREE;
}
static bool may_take(const SubsetSearch *s, int c)
{
    return !s->gains.chosen[c] && rule_of(s, c) != SUBSET_MUST_NOT;
}

/* Keeps a change if its total is the least so far. Of equal ones that with the lower colour going
 * is kept, then that with the lower colour coming, so that the result is always the same. */
static void consider(Move *best, int out, int in, double total)
{
    if (total > best->total) return;
    if (total == best->total && (best->out < out || (best->out == out && best->in <= in))) return;
    *best = (Move){out, in, total};
}

/* Considers each colour that may be taken, beside those chosen and in place of each of them. */
static void try_taking(const SubsetSearch *s, double price, Move *best)
{
    double more[PALETTE_MOST];
    for (int in = 0; in < s->task->colours; in++) {
        if (!may_take(s, in)) continue;
        const double total = swap_gains_take(&s->gains, in, more) + price + price_of(s, in);
        if (s->count < s->most) consider(best, -1, in, total);
        for (int out = 0; out < s->task->colours && s->count >= s->least; out++)
            if (may_drop(s, out)) consider(best, out, in, total + more[out] - price_of(s, out));
    }
}

static void try_dropping(const SubsetSearch *s, Move *best)
{
    double more[PALETTE_MOST];
    swap_gains_lose(&s->gains, more);
    for (int out = 0; out < s->task->colours; out++)
        if (may_drop(s, out)) consider(best, out, -1, s->total + more[out] - price_of(s, out));
}

/* The best single change; while there are too few colours, also one that makes the total worse. */
static Move best_move(const SubsetSearch *s)
{
    const double price = prices(s, s->gains.chosen);
    Move best = {-1, -1, s->count < s->least ? INFINITY : s->total};
    if (s->count > s->least && s->count > 1) try_dropping(s, &best);
    try_taking(s, price, &best);
    return best;
}

static void settle(SubsetSearch *s)
{
    s->total = swap_gains_pay(&s->gains) + prices(s, s->gains.chosen);
}

static void change(SubsetSearch *s, int colour, bool take)
{
    (take ? swap_gains_choose : swap_gains_drop)(&s->gains, colour);
    s->count += take ? 1 : -1;
}

/* Changes until none is better by more than rounding. */
static void climb(SubsetSearch *s)
{
    settle(s);
    for (;;) {
        const Move move = best_move(s);
        if (move.out < 0 && move.in < 0) break;
        if (s->count >= s->least && move.total > s->total * (1.0 - ROUNDING)) break;
        if (move.out >= 0) change(s, move.out, false);
        if (move.in >= 0) change(s, move.in, true);
        settle(s);
        if (voice_stopped(s->voice)) break;
    }
    keep_best(s, s->gains.chosen, s->count, s->total);
}

static void start_from(SubsetSearch *s, const bool *chosen)
{
    for (int c = 0; c < s->task->colours; c++)
        if (s->gains.chosen[c] && !chosen[c]) change(s, c, false);
    for (int c = 0; c < s->task->colours; c++)
        if (!s->gains.chosen[c] && chosen[c]) change(s, c, true);
}

/* From the colours that must be, and those of a choice, or NULL. */
static void climb_from(SubsetSearch *s, const Subset *choice)
{
    bool chosen[PALETTE_MOST] = {0};
    for (int c = 0; c < s->task->colours; c++) chosen[c] = rule_of(s, c) == SUBSET_MUST;
    for (int i = 0; choice && i < choice->count; i++) chosen[choice->colour[i]] = true;
    start_from(s, chosen);
    climb(s);
}

/* Each trial drops every free colour of the best choice with one chance in so many. Ours; no
 * bench set it. */
enum { DROP_CHANCE = 3 };

/* Drops some colours of the best choice and climbs again. The generator is linear congruential
 * with the multiplier and increment of Knuth's MMIX (from memory), begun anew for each task. */
static void try_again(SubsetSearch *s, int trials)
{
    uint64_t state = 1;
    for (int trial = 0; trial < trials && !voice_stopped(s->voice); trial++) {
        bool chosen[PALETTE_MOST] = {0};
        for (int i = 0; i < s->best.count; i++) {
            state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            const int c = s->best.colour[i];
            chosen[c] = rule_of(s, c) == SUBSET_MUST || (state >> 33) % DROP_CHANCE != 0;
        }
        start_from(s, chosen);
        climb(s);
    }
}

/* ---- proving ---- */

/* Puts the free colours in the order in which branches try them: by what each would cost alone,
 * the cheapest first. */
static void put_in_order(SubsetSearch *s)
{
    double alone[PALETTE_MOST];
    s->free = 0;
    for (int c = 0; c < s->task->colours; c++) {
        if (rule_of(s, c) != SUBSET_FREE) continue;
        alone[c] = weigh(s, cost_of(s, c)) + price_of(s, c);
        int at = s->free++;
        for (; at > 0 && alone[s->order[at - 1]] > alone[c]; at--) s->order[at] = s->order[at - 1];
        s->order[at] = c;
    }
}

/* open[i]: for each sample the cheapest of the colours order[i] and on, and of the blends of
 * these with any colour at all. Blends with colours that a branch has passed by may be among
 * them: the bound is then too low, never too high. */
static void fill_open(SubsetSearch *s)
{
    const int samples = s->task->samples, colours = s->task->colours;
    for (int i = s->free; i >= 0; i--) {
        float *open = s->open + (size_t)i * (size_t)samples;
        if (i == s->free) {
            for (int k = 0; k < samples; k++) open[k] = INFINITY;
            continue;
        }
        memcpy(open, open + samples, (size_t)samples * sizeof *open);
        cheapen(open, cost_of(s, s->order[i]), samples);
        for (int c = 0; c < colours && s->task->blends > 0; c++) {
            const float *blend = s->blend_of[s->order[i] * colours + c];
            if (blend) cheapen(open, blend, samples);
        }
    }
}

/* A place in the tree of choices: order[from] and on are undecided. */
typedef struct Node {
    const float *row; /* what samples pay with the colours chosen so far */
    double total;     /* of these colours */
    int from;
    int room; /* colours that may still be chosen */
} Node;

/* least_out[i]: what the total can at best be once order[i] and up to room - 1 of the
 * colours after it are chosen as well. */
static void bound_children(const SubsetSearch *s, const Node *node, double *least_out)
{
    const float *row = node->row;
    const int room = node->room;
    const SubsetTask *task = s->task;
    double *top = least_out + task->colours; /* the greatest savings after order[i], falling */
    double rest = 0.0;
    int kept = 0;
    for (int i = s->free - 1; i >= node->from; i--) {
        const float *cost = cost_of(s, s->order[i]);
        double saved = -price_of(s, s->order[i]);
        for (int k = 0; k < task->samples; k++)
            saved += cost[k] < row[k] ? task->weight[k] * (double)(row[k] - cost[k]) : 0.0;
        least_out[i] = node->total - saved - rest;
        if (saved <= 0.0 || room == 1 || (kept == room - 1 && saved <= top[kept - 1])) continue;
        if (kept == room - 1) rest -= top[--kept];
        rest += saved;
        int at = kept++;
        for (; at > 0 && top[at - 1] < saved; at--) top[at] = top[at - 1];
        top[at] = saved;
    }
}

/* What the total can at best be once any of order[from] and on are added. */
static double bound_rest(const SubsetSearch *s, const float *row, double price, int from)
{
    const float *open = s->open + (size_t)from * (size_t)s->task->samples;
    double bound = price;
    for (int i = 0; i < s->task->samples; i++)
        bound += s->task->weight[i] * (double)(open[i] < row[i] ? open[i] : row[i]);
    return bound;
}

/* Row `depth` is what samples pay with the colours chosen so far, which cost `price`;
 * order[from] and on are undecided. */
static void branch(SubsetSearch *s, int depth, int from, double price)
{
    const SubsetTask *task = s->task;
    const float *row = row_of(s, depth);
    if (s->branches-- <= 0 || voice_stopped(s->voice)) {
        s->cut_short = true;
        return;
    }
    const double total = s->count > 0 ? weigh(s, row) + price : INFINITY;
    if (s->count > 0) keep_best(s, s->chosen, s->count, total);
    const int room = s->most - s->count;
    if (room == 0) return;
    double *least = s->child + (size_t)depth * 2 * (size_t)task->colours;
    const bool submodular = task->blends == 0 && s->count > 0;
    if (submodular) bound_children(s, &(Node){row, total, from, room}, least);
    for (int i = from; i < s->free && s->count + s->free - i >= s->least; i++) {
        const double limit = s->best.total * (1.0 - ROUNDING);
        if (bound_rest(s, row, price, i) >= limit) return;
        if (submodular && least[i] >= limit) continue;
        const int c = s->order[i];
        add_to_row(s, row, s->chosen, c, row_of(s, depth + 1));
        s->chosen[c] = true;
        s->count++;
        branch(s, depth + 1, i + 1, price + price_of(s, c));
        s->count--;
        s->chosen[c] = false;
        if (s->cut_short) return;
    }
}

static void prove(SubsetSearch *s, long branches)
{
    s->count = 0;
    for (int c = 0; c < s->task->colours; c++)
        s->count += s->chosen[c] = rule_of(s, c) == SUBSET_MUST;
    build_row(s, s->chosen, row_of(s, 0));
    put_in_order(s);
    fill_open(s);
    s->branches = branches;
    branch(s, 0, 0, prices(s, s->chosen));
    s->best.proven = !s->cut_short;
}

static Status check_task(const SubsetTask *task, Fault *fault)
{
    assert(task->samples >= 1 && task->colours >= 1 && task->colours <= PALETTE_MOST);
    assert(task->least >= 1 && task->least <= task->most);
    int must = 0, may = 0;
    for (int c = 0; c < task->colours; c++) {
        must += task->rule && task->rule[c] == SUBSET_MUST;
        may += !task->rule || task->rule[c] != SUBSET_MUST_NOT;
    }
    if (must > task->most)
        return fault_set(fault, STATUS_DATA,
                         "choosing colours: %d are demanded, but only %d are to be chosen; "
                         "choose more or demand fewer",
                         must, task->most);
    if (may < task->least)
        return fault_set(fault, STATUS_DATA,
                         "choosing colours: %d are to be chosen, but only %d are left to choose "
                         "from; choose fewer or allow more",
                         task->least, may);
    return STATUS_OK;
}

static Status search_init(SubsetSearch *s, const SubsetTask *task, const Voice *voice, Fault *fault)
{
    const size_t colours = (size_t)task->colours, samples = (size_t)task->samples;
    const size_t depths = (size_t)(task->most < task->colours ? task->most : task->colours) + 3;
    s->task = task;
    s->voice = voice;
    s->least = task->least;
    s->most = task->most;
    s->blend_of = memory_create(colours * colours, sizeof *s->blend_of);
    if (!s->blend_of) return memory_fault(fault, colours * colours, sizeof *s->blend_of);
    s->row = memory_create(depths, samples * sizeof *s->row);
    if (!s->row) return memory_fault(fault, depths, samples * sizeof *s->row);
    s->open = memory_create(colours + 1, samples * sizeof *s->open);
    if (!s->open) return memory_fault(fault, colours + 1, samples * sizeof *s->open);
    s->child = memory_create(depths, 2 * colours * sizeof *s->child);
    if (!s->child) return memory_fault(fault, depths, 2 * colours * sizeof *s->child);
    for (int i = 0; i < task->blends; i++) {
        const SubsetMixture *b = &task->blend[i];
        assert(b->one != b->two && b->one < task->colours && b->two < task->colours);
        s->blend_of[b->one * task->colours + b->two] = b->cost;
        s->blend_of[b->two * task->colours + b->one] = b->cost;
    }
    const SwapCosts costs = {.colours = task->colours,
                             .samples = task->samples,
                             .cost = task->cost,
                             .blend = s->blend_of,
                             .weight = task->weight};
    return swap_gains_init(&s->gains, &costs, fault);
}

static void search_clear(SubsetSearch *s)
{
    swap_gains_clear(&s->gains);
    memory_free(s->blend_of);
    memory_free(s->row);
    memory_free(s->open);
    memory_free(s->child);
}

static Status search_end(SubsetSearch *s, Status status, Fault *fault)
{
    if (status == STATUS_OK && voice_stopped(s->voice))
        status = fault_set(fault, STATUS_INTERRUPTED, "choosing colours: stopped; run it again");
    search_clear(s);
    return status;
}

Status subset_choose(const SubsetTask *task, const SubsetOptions *options, Subset *subset_out,
                     const Voice *voice, Fault *fault)
{
    Status status = check_task(task, fault);
    if (status != STATUS_OK) return status;
    SubsetSearch s = {0};
    status = search_init(&s, task, voice, fault);
    if (status == STATUS_OK) {
        climb_from(&s, NULL);
        if (options->start) climb_from(&s, options->start);
        try_again(&s, options->trials);
        if (options->branches > 0) prove(&s, options->branches);
        *subset_out = s.best;
    }
    return search_end(&s, status, fault);
}

Status subset_grow(const SubsetTask *task, const Subset *start, Subset *subset_out,
                   const Voice *voice, Fault *fault)
{
    Status status = check_task(task, fault);
    if (status != STATUS_OK) return status;
    SubsetSearch s = {0};
    status = search_init(&s, task, voice, fault);
    for (int k = task->least; status == STATUS_OK && k <= task->most; k++) {
        voice_progress(voice, "picking",
                       (double)(k - task->least) / (task->most - task->least + 1));
        if (voice_stopped(voice)) break;
        s.least = s.most = k;
        s.best = (Subset){0};
        if (k == task->least)
            climb_from(&s, start);
        else
            climb(&s);
        *subset_out++ = s.best;
    }
    return search_end(&s, status, fault);
}

double subset_total(const SubsetTask *task, const uint8_t *colour, int count)
{
    bool chosen[PALETTE_MOST] = {0};
    double total = 0.0;
    for (int i = 0; i < count; i++) chosen[colour[i]] = true;
    for (int c = 0; c < task->colours; c++)
        if (chosen[c] && task->price) total += task->price[c];
    for (int i = 0; i < task->samples; i++) {
        float least = INFINITY;
        for (int c = 0; c < task->colours; c++)
            if (chosen[c]) least = fminf(least, task->cost[c * task->samples + i]);
        for (int b = 0; b < task->blends; b++)
            if (chosen[task->blend[b].one] && chosen[task->blend[b].two])
                least = fminf(least, task->blend[b].cost[i]);
        total += task->weight[i] * (double)least;
    }
    return total;
}
