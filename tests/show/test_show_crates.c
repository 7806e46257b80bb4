/* Crates against every way of packing few panels, and the bound against the best of these. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "figures/crates.h"
#include "show/show_crates.h"

#include <math.h>
#include <string.h>

enum { PANELS = 7 };

/* Volume of a set of panels in one crate, reckoned anew; INFINITY where it may not be. */
static double volume(const Job *job, const PlannedPanel *panel, unsigned set)
{
    double w = 0, h = 0, d = -CRATE_BOARD_MM, kg = 0;
    int panels = 0;
    for (int i = 0; i < PANELS; i++) {
        if (!(set >> i & 1)) continue;
        w = fmax(w, panel[i].width_mm);
        h = fmax(h, panel[i].height_mm);
        d += panel[i].depth_mm + CRATE_BOARD_MM;
        kg += panel[i].kg;
        panels++;
    }
    w += 2 * job->packing, h += 2 * job->packing, d += 2 * job->packing;
    kg = kg * 1.1 + (w * h + w * d + h * d) * 2e-6 * 0.012 * 680;
    return panels > 1 && (kg > job->crate_mass || panels > job->crate_panels) ? (double)INFINITY
                                                                              : w * h * d * 1e-9;
}

/* The least of all partitions of the set. */
static double best(const Job *job, const PlannedPanel *panel, unsigned set)
{
    if (!set) return 0;
    double least = (double)INFINITY;
    const unsigned lowest = set & -set;
    for (unsigned part = set; part; part = (part - 1) & set)
        if (part & lowest)
            least = fmin(least, volume(job, panel, part) + best(job, panel, set & ~part));
    return least;
}

static double chance(unsigned *seed)
{
    *seed = *seed * 1664525U + 1013904223U;
    return (double)(*seed >> 8) / (1 << 24);
}

static void crates_are_near_the_best_and_the_bound_is_under_it(void **state)
{
    (void)state;
    static Show show;
    static ShowMural mural;
    unsigned seed = 7;
    double worst = 0, all_best = 0, all_found = 0, all_bound = 0;
    job_init(&show.shared);
    show.mural = &mural;
    show.count = 1;
    for (int round = 0; round < 200; round++) {
        PlannedPanel panel[PANELS];
        for (int i = 0; i < PANELS; i++)
            panel[i] = (PlannedPanel){.width_mm = i % 3 ? 600 : 200 + 500 * chance(&seed),
                                      .height_mm = i % 2 ? 500 : 200 + 500 * chance(&seed),
                                      .depth_mm = 30 + 30 * chance(&seed),
                                      .kg = 4 + 20 * chance(&seed)};
        show.shared.crate_panels = 2 + round % 5;
        Planned planned = {.mural = &mural, .panels = PANELS, .panel = panel};
        ShowCrates c;
        assert_int_equal(show_crates_init(&c, &show, &planned, NULL), 0);
        const double least = best(&show.shared, panel, (1U << PANELS) - 1);
        double sum = 0;
        for (int k = 0; k < c.crates; k++) {
            unsigned set = 0;
            for (int i = 0; i < PANELS; i++) set |= (unsigned)(c.packed[i].crate == k) << i;
            assert_true(isfinite(volume(&show.shared, panel, set)));
            assert_int_equal(c.packed[c.crate[k].first].crate, k);
            sum += volume(&show.shared, panel, set);
        }
        assert_true(fabs(sum - c.volume_m3) < 1e-9);
        assert_true(c.bound_m3 <= least + 1e-9 && c.volume_m3 >= least - 1e-9);
        worst = fmax(worst, c.volume_m3 / least - 1);
        all_best += least;
        all_found += c.volume_m3;
        all_bound += c.bound_m3;
        show_crates_clear(&c);
    }
    assert_true(worst < 0.12 && all_found < 1.02 * all_best);
    assert_true(all_bound > 0.75 * all_best);
}

/* Who is hung last is loaded first. */
static void loading_is_hanging_turned_round(void **state)
{
    (void)state;
    static Show show;
    static ShowMural mural[2];
    PlannedPanel panel[2][9];
    job_init(&show.shared);
    show.mural = mural;
    show.count = 2;
    mural[1].hang = 1;
    for (int i = 0; i < 18; i++)
        panel[i / 9][i % 9] =
            (PlannedPanel){.width_mm = 900, .height_mm = 700, .depth_mm = 40, .kg = 15};
    Planned planned[2] = {{.mural = &mural[0], .panels = 9, .panel = panel[0]},
                          {.mural = &mural[1], .panels = 9, .panel = panel[1]}};
    ShowCrates c;
    assert_int_equal(show_crates_init(&c, &show, planned, NULL), 0);
    assert_ptr_equal(c.packed[0].mural, &planned[1]);
    assert_true(c.crates > 2);
    for (int i = 1; i < c.crates; i++) {
        assert_true(c.crate[i].first > c.crate[i - 1].first);
        assert_true(c.crate[i].load < c.crate[i - 1].load);
    }
    assert_int_equal(c.loading.vehicles, 1);
    show_crates_clear(&c);
}

/* Thirty crates of panels of all sizes, against what loading and unloading by hand would find: none
 * is taken out from under another, nothing is overloaded, taller than the vehicle or beyond its
 * sides; and stacking saves room. */
static void crates_are_stacked_as_they_can_be_carried(void **state)
{
    (void)state;
    static Show show;
    static ShowMural mural;
    enum { MANY = 60 };
    PlannedPanel panel[MANY];
    unsigned seed = 3;
    job_init(&show.shared);
    show.mural = &mural;
    show.count = 1;
    show.vehicle = 1; /* 5.867 m long, 2.35 m high */
    for (int i = 0; i < MANY; i++)
        panel[i] = (PlannedPanel){.width_mm = 500 + 400 * chance(&seed),
                                  .height_mm = 500 + 400 * chance(&seed),
                                  .depth_mm = 40,
                                  .kg = 8 + 8 * chance(&seed)};
    Planned planned = {.mural = &mural, .panels = MANY, .panel = panel};
    ShowCrates c;
    show.shared.crate_panels = 2;
    assert_int_equal(show_crates_init(&c, &show, &planned, NULL), 0);
    assert_true(c.crates >= MANY / 2 && c.loading.vehicles >= c.loading.vehicles_bound &&
                c.loading.stacked > 5);
    for (int i = 0; i < c.crates; i++) {
        const ShowCrate *top = &c.crate[i];
        double kg = 0, height = 0;
        for (int k = 0; k < c.crates; k++) /* all that is above i is opened before it */
            for (int below = c.crate[k].on; below >= 0; below = c.crate[below].on) {
                assert_true(k < below && c.crate[k].load > c.crate[below].load);
                assert_int_equal(c.crate[k].vehicle, c.crate[below].vehicle);
                if (below == i) kg += c.crate[k].gross_kg;
            }
        assert_true(kg <= top->gross_kg);
        for (int k = i; k >= 0; k = c.crate[k].on) height += c.crate[k].height_mm;
        assert_true(height <= c.loading.vehicle->height_mm);
        if (top->on >= 0)
            assert_true(top->width_mm <= c.crate[top->on].width_mm &&
                        top->depth_mm <= c.crate[top->on].depth_mm);
    }
    show_crates_clear(&c);
}

/* Every pallet in turn: its crates are loaded one after another, it carries no more than 1,000 kg,
 * nothing is beyond its sides or over 2.2 m, and the bounds hold; what is too large for a pallet
 * stands without one, what is too large for the vehicle is left out and told. */
static void pallets_hold_what_they_can(void **state)
{
    (void)state;
    static Show show;
    static ShowMural mural;
    enum { MANY = 60 };
    PlannedPanel panel[MANY];
    unsigned seed = 5;
    job_init(&show.shared);
    show.mural = &mural;
    show.count = 1;
    show.vehicle = 1;
    show.shared.crate_panels = 2;
    for (int i = 0; i < MANY; i++)
        panel[i] = (PlannedPanel){.width_mm = 400 + 500 * chance(&seed),
                                  .height_mm = 400 + 500 * chance(&seed),
                                  .depth_mm = 40,
                                  .kg = 8 + 30 * chance(&seed)};
    panel[20].width_mm = 1500;  /* than a pallet */
    panel[40].height_mm = 2400; /* than the door */
    Planned planned = {.mural = &mural, .panels = MANY, .panel = panel};
    for (show.pallet = 1; show.pallet <= 6; show.pallet++) {
        ShowCrates c;
        assert_int_equal(show_crates_init(&c, &show, &planned, NULL), 0);
        const ShowLoading *l = &c.loading;
        int seen = 0, loose = 0, out = 0, last = -1, vehicle = 0;
        double kg = 0, face = 0, all_kg = 0;
        for (int i = c.crates - 1; i >= 0; i--) {
            const ShowCrate *own = &c.crate[i];
            double height = 144;
            out += own->vehicle < 0;
            loose += own->vehicle >= 0 && own->pallet < 0;
            if (own->pallet >= 0 && own->pallet != last) {
                assert_int_equal(own->pallet, seen++);
                kg = face = 0;
                vehicle = own->vehicle;
            }
            last = own->pallet;
            if (own->pallet < 0) continue;
            assert_int_equal(own->vehicle, vehicle);
            kg += own->gross_kg;
            all_kg += own->gross_kg;
            if (own->on < 0) face += own->width_mm * own->depth_mm;
            for (int k = i; k >= 0; k = c.crate[k].on) {
                assert_int_equal(c.crate[k].pallet, own->pallet);
                height += c.crate[k].height_mm;
            }
            assert_true(own->width_mm <= l->pallet->length_mm);
            assert_true(kg <= 1000 && face <= l->pallet->length_mm * l->pallet->width_mm);
            assert_true(height <= 2200);
        }
        assert_int_equal(seen, l->pallets);
        assert_true(loose >= 1 && out == 1 && l->too_large == 1 && l->stacked > 0);
        assert_true(l->pallets >= l->pallets_bound && l->pallets_bound >= ceil(all_kg / 1000));
        assert_true(l->vehicles >= l->vehicles_bound && l->vehicles_bound >= 1);
        char text[300];
        show_loading_mend(l, c.crate, c.crates, text, sizeof text);
        assert_non_null(strstr(text, "take vehicle = truck, or "));
        show_crates_clear(&c);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crates_are_near_the_best_and_the_bound_is_under_it),
        cmocka_unit_test(loading_is_hanging_turned_round),
        cmocka_unit_test(crates_are_stacked_as_they_can_be_carried),
        cmocka_unit_test(pallets_hold_what_they_can),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
