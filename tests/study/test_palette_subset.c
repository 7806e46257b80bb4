/* The choice of few colours against exhaustive search. */
#include "base/memory.h"
#include "colour/delta_e.h"
#include "study/palette_subset.h"
#include "support/patches.h"
#include "support/pictures.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

/* Written out from the definition, without palette_subset.c. */
static double plain_total(const SubsetTask *task, unsigned long set)
{
    double total = 0.0;
    for (int c = 0; c < task->colours; c++)
        if (task->price && set >> c & 1) total += task->price[c];
    for (int i = 0; i < task->samples; i++) {
        double least = INFINITY;
        for (int c = 0; c < task->colours; c++)
            if (set >> c & 1) least = fmin(least, (double)task->cost[c * task->samples + i]);
        for (int b = 0; b < task->blends; b++)
            if (set >> task->blend[b].one & 1 && set >> task->blend[b].two & 1)
                least = fmin(least, (double)task->blend[b].cost[i]);
        total += task->weight[i] * least;
    }
    return total;
}

static bool allowed(const SubsetTask *task, unsigned long set)
{
    for (int c = 0; c < task->colours; c++) {
        if (!task->rule) continue;
        if (task->rule[c] == SUBSET_MUST && !(set >> c & 1)) return false;
        if (task->rule[c] == SUBSET_MUST_NOT && set >> c & 1) return false;
    }
    const int count = __builtin_popcountl(set);
    return count >= task->least && count <= task->most;
}

static double exhaustive(const SubsetTask *task)
{
    double best = INFINITY;
    for (unsigned long set = 1; set < 1ul << task->colours; set++)
        if (allowed(task, set)) best = fmin(best, plain_total(task, set));
    return best;
}

static unsigned long set_of(const Subset *subset)
{
    unsigned long set = 0;
    for (int i = 0; i < subset->count; i++) {
        assert_true(i == 0 || subset->colour[i] > subset->colour[i - 1]);
        set |= 1ul << subset->colour[i];
    }
    return set;
}

static void assert_near(double one, double two)
{
    assert_true(fabs(one - two) <= 1e-9 * (1.0 + fabs(two)));
}

static void assert_best(const SubsetTask *task, const SubsetOptions *options)
{
    Subset subset;
    assert_int_equal(subset_choose(task, options, &subset, NULL, NULL), STATUS_OK);
    assert_true(allowed(task, set_of(&subset)));
    assert_near(subset.total, plain_total(task, set_of(&subset)));
    assert_near(subset.total, exhaustive(task));
    assert_near(subset.total, subset_total(task, subset.colour, subset.count));
}

typedef struct Sampled {
    SubsetTask task;
    float *cost;
    double *weight;
} Sampled;

/* CIEDE2000 between the patches and a picture's cells of 16 by 16 pixels. */
static void sample(Sampled *sampled, const char *file)
{
    static Palette palette;
    palette_of_patches(&palette);
    Image image;
    image_read(&image, file, 16);
    const int samples = image.columns * image.rows;
    sampled->cost = malloc((size_t)(samples * palette.count) * sizeof *sampled->cost);
    sampled->weight = malloc((size_t)samples * sizeof *sampled->weight);
    assert_true(sampled->cost && sampled->weight);
    for (int i = 0; i < samples; i++) {
        const Lab lab = lab_from_xyz(image_at(&image, i % image.columns, i / image.columns));
        sampled->weight[i] = 1.0 / samples;
        for (int c = 0; c < palette.count; c++)
            sampled->cost[c * samples + i] = (float)delta_e_2000(lab, palette.colour[c].lab);
    }
    image_clear(&image);
    sampled->task = (SubsetTask){.samples = samples,
                                 .colours = palette.count,
                                 .cost = sampled->cost,
                                 .weight = sampled->weight};
}

/* All sets of up to four of the 24 patches, by going through them one in another. */
static void exhaustive_small(const SubsetTask *task, double best[5])
{
    const int n = task->colours, m = task->samples;
    for (int k = 0; k < 5; k++) best[k] = INFINITY;
    float *row[3] = {malloc((size_t)m * 4), malloc((size_t)m * 4), malloc((size_t)m * 4)};
    for (int a = 0; a < n; a++)
        for (int b = a; b < n; b++) {
            for (int i = 0; i < m; i++)
                row[0][i] = fminf(task->cost[a * m + i], task->cost[b * m + i]);
            for (int c = b; c < n; c++) {
                for (int i = 0; i < m; i++) row[1][i] = fminf(row[0][i], task->cost[c * m + i]);
                for (int d = c; d < n; d++) {
                    double total = 0.0;
                    for (int i = 0; i < m; i++)
                        total += task->weight[i] * (double)fminf(row[1][i], task->cost[d * m + i]);
                    const int count = 1 + (b > a) + (c > b) + (d > c);
                    best[count] = fmin(best[count], total);
                }
            }
        }
    for (int k = 0; k < 3; k++) free(row[k]);
}

static void up_to_four_for_both_pictures(void **state)
{
    (void)state;
    for (int p = 0; p < PICTURES; p++) {
        Sampled s;
        double best[5];
        sample(&s, picture_files[p]);
        exhaustive_small(&s.task, best);
        for (int k = 1; k <= 4; k++) {
            s.task.least = s.task.most = k;
            Subset subset;
            assert_int_equal(subset_choose(&s.task, &subset_defaults, &subset, NULL, NULL),
                             STATUS_OK);
            assert_int_equal(subset.count, k);
            assert_true(subset.proven);
            assert_near(subset.total, best[k]);
            assert_near(subset.total, plain_total(&s.task, set_of(&subset)));
        }
        free(s.cost);
        free(s.weight);
    }
}

/* More colours never do worse, and all of them as well as each sample's nearest. */
static void falls_with_more_colours(void **state)
{
    (void)state;
    Sampled s;
    sample(&s, picture_files[0]);
    double before = INFINITY;
    for (int k = 1; k <= 24; k++) {
        s.task.least = s.task.most = k;
        Subset subset;
        assert_int_equal(subset_choose(&s.task, &subset_defaults, &subset, NULL, NULL), STATUS_OK);
        assert_int_equal(subset.count, k);
        assert_true(subset.total <= before * (1 + 1e-12));
        before = subset.total;
    }
    assert_near(before, plain_total(&s.task, (1ul << 24) - 1));
    free(s.cost);
    free(s.weight);
}

enum { SAMPLES = 40, COLOURS = 11, BLENDS = COLOURS * (COLOURS - 1) / 2 };

typedef struct Drawn {
    float cost[COLOURS * SAMPLES], mixed[BLENDS][SAMPLES];
    double weight[SAMPLES], price[COLOURS];
    uint8_t rule[COLOURS];
    SubsetMixture blend[BLENDS];
} Drawn;

/* Random costs, weights, prices, rules and blends; which of them are in play varies. */
static SubsetTask draw_task(Drawn *drawn, uint64_t *seed, int kind)
{
    SubsetTask task = {.samples = SAMPLES,
                       .colours = COLOURS,
                       .cost = drawn->cost,
                       .weight = drawn->weight,
                       .blend = drawn->blend};
    for (int i = 0; i < COLOURS * SAMPLES; i++) drawn->cost[i] = (float)draw_between(seed, 0, 30);
    for (int i = 0; i < SAMPLES; i++)
        drawn->weight[i] = i % 9 == 0 ? 0.0 : draw_between(seed, 0, 1);
    for (int c = 0; c < COLOURS; c++) {
        drawn->price[c] = draw_between(seed, 0, 60);
        drawn->rule[c] = SUBSET_FREE;
    }
    if (kind & 1) task.price = drawn->price;
    if (kind & 2) {
        task.rule = drawn->rule;
        drawn->rule[draw(seed) % COLOURS] = SUBSET_MUST;
        drawn->rule[draw(seed) % COLOURS] = SUBSET_MUST_NOT;
        drawn->rule[draw(seed) % COLOURS] = SUBSET_MUST_NOT;
    }
    for (int one = 0; one < COLOURS && kind & 4; one++)
        for (int two = 0; two < one; two++) {
            if (draw(seed) % 3 == 0) continue;
            float *mixed = drawn->mixed[task.blends];
            for (int i = 0; i < SAMPLES; i++) mixed[i] = (float)draw_between(seed, 0, 40);
            drawn->blend[task.blends++] = (SubsetMixture){one, two, mixed};
        }
    task.most = 1 + (int)(draw(seed) % 5);
    task.least = kind & 8 ? 1 : task.most;
    return task;
}

static void random_tasks(void **state)
{
    (void)state;
    static Drawn drawn;
    uint64_t seed = 3;
    for (int i = 0; i < 160; i++) {
        const SubsetTask task = draw_task(&drawn, &seed, i % 16);
        assert_best(&task, &(SubsetOptions){.trials = 2, .branches = 1000000});
    }
}

/* No single change is better, by the definition. */
static void assert_local(const SubsetTask *task, const Subset *subset)
{
    const unsigned long set = set_of(subset);
    for (int out = -1; out < COLOURS; out++)
        for (int in = -1; in < COLOURS; in++) {
            unsigned long other = set;
            if (out >= 0) other &= ~(1ul << out);
            if (in >= 0) other |= 1ul << in;
            if (allowed(task, other))
                assert_true(plain_total(task, other) >= subset->total * (1 - 1e-9));
        }
}

/* Climbing alone ends where no single change is better. */
static void ends_at_a_local_optimum(void **state)
{
    (void)state;
    static Drawn drawn;
    uint64_t seed = 4;
    for (int i = 0; i < 160; i++) {
        const SubsetTask task = draw_task(&drawn, &seed, i % 16);
        Subset subset;
        const SubsetOptions options = {0};
        assert_int_equal(subset_choose(&task, &options, &subset, NULL, NULL), STATUS_OK);
        assert_false(subset.proven);
        assert_local(&task, &subset);
    }
}

/* So does each step of a curve, which never rises without prices. */
static void grows_from_optimum_to_optimum(void **state)
{
    (void)state;
    static Drawn drawn;
    uint64_t seed = 6;
    for (int i = 0; i < 80; i++) {
        SubsetTask task = draw_task(&drawn, &seed, i % 8);
        Subset part[COLOURS], more[COLOURS];
        task.least = 1;
        task.most = 5;
        assert_int_equal(subset_grow(&task, NULL, part, NULL, NULL), STATUS_OK);
        task.least = 6;
        task.most = 8;
        assert_int_equal(subset_grow(&task, &part[4], more, NULL, NULL), STATUS_OK);
        for (int k = 1; k <= 8; k++) {
            const Subset *subset = k <= 5 ? &part[k - 1] : &more[k - 6];
            const Subset *before = k <= 5 ? subset - 1 : k == 6 ? &part[4] : subset - 1;
            task.least = task.most = k;
            assert_int_equal(subset->count, k);
            assert_near(subset->total, plain_total(&task, set_of(subset)));
            assert_local(&task, subset);
            if (k > 1 && !task.price) assert_true(subset->total <= before->total * (1 + 1e-12));
        }
    }
}

/* Rules that cannot be met are said; every allocation failed in turn; a stop. */
static bool at_once(void *self)
{
    (void)self;
    return true;
}

static void gives_up_cleanly(void **state)
{
    (void)state;
    static Drawn drawn;
    uint64_t seed = 5;
    SubsetTask task = draw_task(&drawn, &seed, 0);
    Subset subset;
    Fault fault = {0};
    task.rule = drawn.rule;
    task.least = task.most = 2;
    memset(drawn.rule, SUBSET_MUST, 3);
    assert_int_equal(subset_choose(&task, &subset_defaults, &subset, NULL, &fault), STATUS_DATA);
    memset(drawn.rule, SUBSET_MUST_NOT, sizeof drawn.rule);
    drawn.rule[4] = SUBSET_FREE;
    assert_int_equal(subset_choose(&task, &subset_defaults, &subset, NULL, &fault), STATUS_DATA);
    task.rule = NULL;
    const Voice voice = {.stopped = at_once};
    assert_int_equal(subset_choose(&task, &subset_defaults, &subset, &voice, &fault),
                     STATUS_INTERRUPTED);
    int failed = 0;
    for (Status status = STATUS_INTERNAL; status != STATUS_OK; failed++) {
        memory_fail_after(failed);
        status = subset_choose(&task, &subset_defaults, &subset, NULL, &fault);
        memory_fail_after(-1);
        assert_true(status == STATUS_OK || status == STATUS_NO_RESOURCE);
    }
    assert_in_range(failed, 4, 16);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(up_to_four_for_both_pictures),
        cmocka_unit_test(falls_with_more_colours),
        cmocka_unit_test(random_tasks),
        cmocka_unit_test(ends_at_a_local_optimum),
        cmocka_unit_test(grows_from_optimum_to_optimum),
        cmocka_unit_test(gives_up_cleanly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
