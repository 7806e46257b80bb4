/* Costs of blends against mixing by hand, and what they do to the choice of colours. */
#include "base/memory.h"
#include "colour/delta_e.h"
#include "study/pair_mixtures.h"
#include "support/patches.h"
#include "support/pictures.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static Palette palette;

static Rgb light_of(Lab lab) { return linear_from_xyz(xyz_from_lab(lab)); }

static Lab mixture(Lab one, Lab two, double s)
{
    const Xyz x = xyz_from_lab(one), y = xyz_from_lab(two);
    return lab_from_xyz((Xyz){x.x + s * (y.x - x.x), x.y + s * (y.y - x.y), x.z + s * (y.z - x.z)});
}

/* The share nearest in light, found by trying a thousand. */
static double plain_cost(Lab sample, Lab one, Lab two, double visible)
{
    const Rgb x = light_of(sample), p = light_of(one), q = light_of(two);
    double least = INFINITY, share = 0.0;
    for (int k = 0; k <= 1000; k++) {
        const double s = k / 1000.0;
        const double r = p.r + s * (q.r - p.r) - x.r, g = p.g + s * (q.g - p.g) - x.g;
        const double b = p.b + s * (q.b - p.b) - x.b, away = r * r + g * g + b * b;
        if (away < least) {
            least = away;
            share = s;
        }
    }
    const double e = delta_e_2000(sample, mixture(one, two, share));
    const double grain = visible * delta_e_2000(one, two);
    const double cost = sqrt(e * e + share * (1 - share) * grain * grain);
    return fmin(cost, fmin(delta_e_2000(sample, one), delta_e_2000(sample, two)));
}

static void as_mixed_by_hand(void **state)
{
    (void)state;
    enum { SAMPLES = 40 };
    Lab sample[SAMPLES];
    uint64_t seed = 8;
    palette_of_draws(&palette, 7, 21);
    for (int i = 0; i < SAMPLES; i++) sample[i] = draw_srgb(&seed);
    /* Exact mixtures cost nothing but their grain. */
    sample[0] = mixture(palette.colour[1].lab, palette.colour[4].lab, 0.25);
    for (int k = 0; k < 3; k++) {
        const double visible = k / 2.0;
        MixtureCosts costs;
        assert_int_equal(
            mixture_costs_init(&costs, &palette, sample, SAMPLES,
                               &(MixtureOptions){.visible = visible, .threads = 2, .voice = NULL},
                               NULL),
            STATUS_OK);
        assert_in_range(costs.blends, k == 0, 21);
        for (int c = 0; c < 7; c++)
            for (int i = 0; i < SAMPLES; i++)
                assert_true(costs.cost[c * SAMPLES + i] ==
                            (float)delta_e_2000(sample[i], palette.colour[c].lab));
        for (int b = 0; b < costs.blends; b++)
            for (int i = 0; i < SAMPLES; i++) {
                const Lab one = palette.colour[costs.blend[b].one].lab;
                const Lab two = palette.colour[costs.blend[b].two].lab;
                const double cost = (double)costs.blend[b].cost[i];
                assert_true(fabs(cost - plain_cost(sample[i], one, two, visible)) < 0.15);
                if (i == 0 && costs.blend[b].one == 1 && costs.blend[b].two == 4 && k < 2)
                    assert_true(fabs(cost - visible * sqrt(0.1875) * delta_e_2000(one, two)) <
                                1e-4);
            }
        mixture_costs_clear(&costs);
    }
}

/* Black, white and five greys, and a picture of greys: by nearest colour the greys are
 * worth having; from where cells cannot be told apart, black and white do it all. */
static void from_afar_two_will_do(void **state)
{
    (void)state;
    enum { SAMPLES = 60 };
    Lab sample[SAMPLES];
    double weight[SAMPLES];
    palette.count = 0;
    for (int L = 30; L <= 70; L += 10) palette_add(&palette, (Lab){L, 0, 0});
    palette_add(&palette, (Lab){0, 0, 0});
    palette_add(&palette, (Lab){100, 0, 0});
    for (int i = 0; i < SAMPLES; i++) {
        sample[i] = (Lab){10.0 + 80.0 * i / (SAMPLES - 1), 0, 0};
        weight[i] = 1.0 / SAMPLES;
    }
    for (int k = 0; k < 2; k++) {
        MixtureCosts costs;
        Subset subset;
        assert_int_equal(
            mixture_costs_init(&costs, &palette, sample, SAMPLES,
                               &(MixtureOptions){.visible = k, .threads = 1, .voice = NULL}, NULL),
            STATUS_OK);
        const SubsetTask task = {.samples = SAMPLES,
                                 .colours = 7,
                                 .cost = costs.cost,
                                 .weight = weight,
                                 .blend = costs.blend,
                                 .blends = costs.blends,
                                 .least = 2,
                                 .most = 2};
        assert_int_equal(subset_choose(&task, &subset_defaults, &subset, NULL, NULL), STATUS_OK);
        assert_true(subset.proven);
        assert_int_equal(subset.colour[0] == 5 && subset.colour[1] == 6, k == 0);
        if (k == 0) assert_true(subset.total < 1e-3);
        mixture_costs_clear(&costs);
    }
}

static bool at_once(void *self)
{
    (void)self;
    return true;
}

static void gives_up_cleanly(void **state)
{
    (void)state;
    MixtureCosts costs;
    Fault fault;
    const Voice voice = {.stopped = at_once};
    palette_of_patches(&palette);
    const Lab sample[2] = {{50, 0, 0}, {40, 10, 10}};
    assert_int_equal(mixture_costs_init(
                         &costs, &palette, sample, 2,
                         &(MixtureOptions){.visible = 0.5, .threads = 2, .voice = &voice}, &fault),
                     STATUS_INTERRUPTED);
    int failed = 0;
    for (Status status = STATUS_INTERNAL; status != STATUS_OK; failed++) {
        memory_fail_after(failed);
        status = mixture_costs_init(&costs, &palette, sample, 2,
                                    &(MixtureOptions){.visible = 0.5, .threads = 2, .voice = NULL},
                                    &fault);
        memory_fail_after(-1);
        assert_true(status == STATUS_OK || status == STATUS_NO_RESOURCE);
    }
    mixture_costs_clear(&costs);
    assert_in_range(failed, 5, 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_mixed_by_hand),
        cmocka_unit_test(from_afar_two_will_do),
        cmocka_unit_test(gives_up_cleanly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
