/* Effectiveness of the charge cooler: limits, symmetry and inverse of every arrangement; the closed
 * approximation of the both-unmixed core against the exact series and a finite-difference core. */
#include "model/path/effectiveness.h"
#include "support/study_fixture.h"

#define FIRST SHV_COOLER_SINGLE_STREAM
#define LAST SHV_COOLER_CROSSFLOW_COOLANT_MIXED

static double eff(int arrangement, double ntu, double ratio)
{
    return effectiveness_of((enum shv_cooler_arrangement)arrangement, ntu, ratio);
}

/* A coolant that stays cool makes all arrangements alike. */
static void a_large_coolant_stream_makes_all_alike(void **state)
{
    (void)state;
    for (int a = FIRST; a <= LAST; a++) {
        for (double ntu = 0.1; ntu < 6.0; ntu += 0.3) {
            assert_within(eff(a, ntu, 0.0), 1.0 - exp(-ntu), 1e-14);
            assert_within(eff(a, ntu, 1e-7), 1.0 - exp(-ntu), 1e-6);
        }
    }
}

static void a_small_core_takes_its_ntu(void **state)
{
    (void)state;
    for (int a = FIRST; a <= LAST; a++) {
        for (double ratio = 0.0; ratio < 2.1; ratio += 0.3) {
            assert_within(eff(a, 0.0, ratio), 0.0, 0.0);
            assert_relative(eff(a, 1e-5, ratio), 1e-5, 0.01);
        }
    }
}

/* The largest that each arrangement can reach. */
static void a_huge_core(void **state)
{
    (void)state;
    for (double r = 0.1; r < 3.0; r += 0.2) {
        assert_within(eff(SHV_COOLER_COUNTERFLOW, 500.0, r), fmin(1.0, 1.0 / r), 1e-3);
        assert_relative(eff(SHV_COOLER_PARALLEL, 500.0, r), 1.0 / (1.0 + r), 1e-12);
        assert_relative(eff(SHV_COOLER_CROSSFLOW_CHARGE_MIXED, 500.0, r), 1.0 - exp(-1.0 / r),
                        1e-9);
        assert_relative(eff(SHV_COOLER_CROSSFLOW_COOLANT_MIXED, 500.0, r), (1.0 - exp(-r)) / r,
                        1e-9);
    }
}

/* By hand: NTU 1, R 0.5. */
static void hand_derived_values(void **state)
{
    (void)state;
    double e = exp(-0.5);
    assert_relative(eff(SHV_COOLER_COUNTERFLOW, 1.0, 0.5), (1.0 - e) / (1.0 - 0.5 * e), 1e-14);
    assert_relative(eff(SHV_COOLER_PARALLEL, 1.0, 0.5), (1.0 - exp(-1.5)) / 1.5, 1e-14);
    assert_relative(eff(SHV_COOLER_CROSSFLOW_CHARGE_MIXED, 1.0, 0.5), 1.0 - exp(-2.0 * (1.0 - e)),
                    1e-14);
    assert_relative(eff(SHV_COOLER_CROSSFLOW_COOLANT_MIXED, 1.0, 0.5),
                    2.0 * (1.0 - exp(-0.5 * (1.0 - exp(-1.0)))), 1e-14);
    assert_relative(eff(SHV_COOLER_COUNTERFLOW, 3.0, 1.0), 0.75, 1e-14);
    assert_relative(eff(SHV_COOLER_SINGLE_STREAM, 2.0, 0.9), 1.0 - exp(-2.0), 1e-14);
}

/* Both numerator and denominator vanish at equal capacities; the formula must not. */
static void counterflow_is_smooth_at_equal_capacities(void **state)
{
    (void)state;
    for (double gap = 1e-4; gap > 1e-14; gap *= 0.1) {
        assert_within(eff(SHV_COOLER_COUNTERFLOW, 2.0, 1.0 + gap), 2.0 / 3.0, gap);
        assert_within(eff(SHV_COOLER_COUNTERFLOW, 2.0, 1.0 - gap), 2.0 / 3.0, gap);
    }
}

static int seen_from_the_coolant(int arrangement)
{
    switch (arrangement) {
    case SHV_COOLER_CROSSFLOW_CHARGE_MIXED:
        return SHV_COOLER_CROSSFLOW_COOLANT_MIXED;
    case SHV_COOLER_CROSSFLOW_COOLANT_MIXED:
        return SHV_COOLER_CROSSFLOW_CHARGE_MIXED;
    default:
        return arrangement;
    }
}

/* The heat is the same from either side: P C_charge = P' C_coolant, where P' belongs to the core
 * seen from the coolant, with NTU R and 1/R. Single stream aside, whose coolant has no capacity of
 * its own. */
static void both_sides_see_the_same_heat(void **state)
{
    (void)state;
    for (int a = SHV_COOLER_COUNTERFLOW; a <= LAST; a++) {
        for (double r = 0.1; r < 4.0; r += 0.17) {
            for (double ntu = 0.05; ntu < 5.0; ntu += 0.35) {
                double other = eff(seen_from_the_coolant(a), ntu * r, 1.0 / r);
                assert_relative(eff(a, ntu, r) * r, other, 1e-11);
            }
        }
    }
}

/* Neither stream may pass the other's inlet, and counterflow does best, parallel worst; an unmixed
 * core does better than one with a mixed stream. */
static void bounds_and_order(void **state)
{
    (void)state;
    for (double r = 0.05; r < 3.0; r += 0.15) {
        for (double ntu = 0.1; ntu < 8.0; ntu += 0.4) {
            double best = eff(SHV_COOLER_COUNTERFLOW, ntu, r);
            double worst = eff(SHV_COOLER_PARALLEL, ntu, r);
            assert_true(best <= fmin(1.0, 1.0 / r) + 1e-12);
            const double cross[3] = {eff(SHV_COOLER_CROSSFLOW_CHARGE_MIXED, ntu, r),
                                     eff(SHV_COOLER_CROSSFLOW_COOLANT_MIXED, ntu, r),
                                     eff(SHV_COOLER_CROSSFLOW_UNMIXED, ntu, r)};
            for (int i = 0; i < 3; i++) {
                assert_true(cross[i] < best + 1e-12 && cross[i] > worst - 1e-12);
            }
            assert_true(cross[2] > cross[0] - 1e-12 && cross[2] > cross[1] - 1e-12);
        }
    }
}

static void inverse_of_every_arrangement(void **state)
{
    (void)state;
    for (int a = FIRST; a <= LAST; a++) {
        for (double r = 0.0; r < 1.6; r += 0.2) {
            for (double ntu = 0.05; ntu < 3.0; ntu += 0.2) {
                double e = eff(a, ntu, r);
                double back = shv_cooler_ntu((enum shv_cooler_arrangement)a, e, r);
                assert_relative(eff(a, back, r), e, 1e-13);
                assert_relative(back, ntu, 1e-10);
            }
        }
    }
}

static void what_cannot_be_reached_is_infinite(void **state)
{
    (void)state;
    assert_true(isinf(shv_cooler_ntu(SHV_COOLER_PARALLEL, 0.6, 1.0)));
    assert_true(isinf(shv_cooler_ntu(SHV_COOLER_CROSSFLOW_COOLANT_MIXED, 0.7, 1.0)));
    for (double r = 2.0; r < 5.0; r += 0.5) { /* exp(1000 (R - 1)) overflows */
        assert_true(isinf(shv_cooler_ntu(SHV_COOLER_COUNTERFLOW, 0.6, r)));
    }
    assert_true(isfinite(shv_cooler_ntu(SHV_COOLER_COUNTERFLOW, 0.99, 0.9)));
}

/* A both-unmixed core in n by n cells, each by central differences: the charge flows along i, the
 * coolant along j. A computation of its own; error of second order in the cell. */
static double unmixed_core(double ntu, double ratio, int n)
{
    double *cold = calloc((size_t)n, sizeof *cold), sum = 0.0;
    assert_non_null(cold);
    for (int j = 0; j < n; j++) {
        double hot = 1.0;
        for (int i = 0; i < n; i++) {
            double u = 0.5 * ntu / n;
            double q = 2.0 * u * (hot - cold[i]) / (1.0 + u * (1.0 + ratio));
            hot -= q;
            cold[i] += ratio * q;
        }
        sum += hot;
    }
    free(cold);
    return 1.0 - sum / n;
}

static void series_against_a_divided_core(void **state)
{
    (void)state;
    for (double r = 0.25; r < 2.1; r += 0.35) {
        for (double ntu = 0.25; ntu < 5.0; ntu += 0.75) {
            /* Richardson from 100 and 200 cells */
            double coarse = unmixed_core(ntu, r, 100), fine = unmixed_core(ntu, r, 200);
            double limit = fine + (fine - coarse) / 3.0;
            assert_within(eff(SHV_COOLER_CROSSFLOW_UNMIXED, ntu, r), limit, 1e-7);
        }
    }
}

/* The closed form that texts give in the series' place is good to 1.5 % from one transfer unit on;
 * below, it falls short by up to 4 % of a small effectiveness, never by more than 0.012. */
static void closed_form_lies_beside_the_series(void **state)
{
    (void)state;
    double large = 0.0, small = 0.0;
    for (double r = 0.02; r <= 1.0; r += 0.07) {
        for (double ntu = 0.1; ntu < 7.0; ntu += 0.1) {
            double form = 1.0 - exp(pow(ntu, 0.22) / r * (exp(-r * pow(ntu, 0.78)) - 1.0));
            double exact = eff(SHV_COOLER_CROSSFLOW_UNMIXED, ntu, r);
            double *worst = ntu >= 1.0 ? &large : &small;
            *worst = fmax(*worst, fabs(form / exact - 1.0));
        }
    }
    assert_true(large < 0.015 && small < 0.04);
    assert_true(large > 1e-3);
}

static void unmixed_limits(void **state)
{
    (void)state;
    assert_relative(eff(SHV_COOLER_CROSSFLOW_UNMIXED, 1.7, 0.0), 1.0 - exp(-1.7), 1e-14);
    assert_relative(eff(SHV_COOLER_CROSSFLOW_UNMIXED, 1.7, 1e-6), 1.0 - exp(-1.7), 1e-6);
    assert_relative(eff(SHV_COOLER_CROSSFLOW_UNMIXED, 1e-6, 0.8), 1e-6, 1e-6);
    for (double r = 1.2; r < 3.0; r += 0.4) { /* the same heat seen from the other stream */
        double other = eff(SHV_COOLER_CROSSFLOW_UNMIXED, 1.3 * r, 1.0 / r);
        assert_relative(eff(SHV_COOLER_CROSSFLOW_UNMIXED, 1.3, r) * r, other, 1e-12);
    }
    /* beyond what so many terms of the series hold for no core is promised */
    assert_true(isfinite(shv_cooler_ntu(SHV_COOLER_CROSSFLOW_UNMIXED, 0.81, 1.0)));
    assert_true(isinf(shv_cooler_ntu(SHV_COOLER_CROSSFLOW_UNMIXED, 0.83, 1.0)));
    assert_true(isfinite(shv_cooler_ntu(SHV_COOLER_CROSSFLOW_UNMIXED, 0.98, 0.2)));
}

/* Two balances of the loop: radiator Q = eff C (T_hot - T_s), coolant T_hot - T_c = Q / C_coolant.
 */
static void loop_resistance(void **state)
{
    (void)state;
    struct shv_cooler c = {
        .radiator_effectiveness = 0.5, .radiator_capacity = 700.0, .coolant_capacity = 1250.0};
    double heat = 9000.0, source = 300.0;
    double hot = source + heat / (0.5 * 700.0), cold = hot - heat / 1250.0;
    assert_relative(shv_cooler_loop_resistance(&c) * heat, cold - source, 1e-12);
    c.coolant_capacity = INFINITY;
    assert_relative(shv_cooler_loop_resistance(&c), 1.0 / 350.0, 1e-15);
    c.coolant_capacity = 100.0; /* the coolant would enter colder than the air: never */
    assert_within(shv_cooler_loop_resistance(&c), 0.0, 0.0);
    c.radiator_effectiveness = 0.0;
    assert_within(shv_cooler_loop_resistance(&c), 0.0, 0.0);
    c.is_none = true;
    c.radiator_effectiveness = 0.5;
    assert_within(shv_cooler_loop_resistance(&c), 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_large_coolant_stream_makes_all_alike),
        cmocka_unit_test(a_small_core_takes_its_ntu),
        cmocka_unit_test(a_huge_core),
        cmocka_unit_test(hand_derived_values),
        cmocka_unit_test(counterflow_is_smooth_at_equal_capacities),
        cmocka_unit_test(both_sides_see_the_same_heat),
        cmocka_unit_test(bounds_and_order),
        cmocka_unit_test(inverse_of_every_arrangement),
        cmocka_unit_test(what_cannot_be_reached_is_infinite),
        cmocka_unit_test(series_against_a_divided_core),
        cmocka_unit_test(closed_form_lies_beside_the_series),
        cmocka_unit_test(unmixed_limits),
        cmocka_unit_test(loop_resistance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
