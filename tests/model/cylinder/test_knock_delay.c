/* Ignition delay and octane. */
#include "model/cylinder/blend.h"
#include "support/cycle_fixture.h"

static void delay(void **state)
{
    (void)state;
    assert_relative(shv_knock_delay(100.0, 101325.0, 3800.0), 17.68e-3 * exp(1.0), 1e-14);
    assert_relative(shv_knock_delay(90.0, 40.0 * 101325.0, 800.0),
                    17.68e-3 * pow(0.9, 3.402) * pow(40.0, -1.7) * exp(4.75), 1e-13);
}

static void octane_index(void **state)
{
    (void)state;
    assert_relative(shv_octane_index(95.0, 85.0, 0.0), 95.0, 1e-15);
    assert_relative(shv_octane_index(95.0, 85.0, 0.5), 90.0, 1e-15);
    assert_relative(shv_octane_index(95.0, 85.0, -0.3), 98.0, 1e-15);
    struct cycle_case u = usual_case();
    u.knock.mixture_slope = 0.0;
    u.knock.octane_weight = 0.5;
    u.knock.weight_slope = u.knock.humidity_slope = 0.0;
    assert_relative(run_case(&u).octane, 90.0, 1e-15);
}

/* A fuel loses towards MON as compression to 15 bar gets hotter than in the rating, and one without
 * sensitivity does not. */
static void hotter_compression_weighs_mon(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.knock.mixture_slope = u.knock.humidity_slope = 0.0;
    struct shv_cycle_result r = run_case(&u);
    double compressed = r.ivc_temperature * pow(15e5 / r.ivc_pressure, 0.25);
    assert_relative(r.octane,
                    95.0 * exp(-0.004 * (compressed - 747.0) * (95.0 - u.fuel.mon) / 100.0), 1e-12);
    u.at.charge_temperature += 60.0;
    assert_true(run_case(&u).octane < r.octane - 0.5);
    u.fuel.mon = u.fuel.ron;
    assert_relative(run_case(&u).octane, 95.0, 1e-15);
}

/* Against the humidity of the rating, from a share of vapour to dry air. */
static void humidity_is_worth_octane(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.fuel.mon = u.fuel.ron;
    u.knock.mixture_slope = 0.0;
    assert_relative(run_case(&u).octane, 95.0 - 200.0 * 0.0053, 1e-14);
    u.at.humidity_ratio = 0.0153;
    assert_relative(run_case(&u).octane, 97.0, 1e-14);
}

/* A smooth valley: no gain at its bottom, far from it a straight slope, no corner. */
static void mixture_gain(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    double peak = u.knock.mixture_peak;
    assert_within(shv_knock_mixture_gain(&u.knock, peak), 0.0, 1e-15);
    double far =
        shv_knock_mixture_gain(&u.knock, peak + 0.4) - shv_knock_mixture_gain(&u.knock, peak + 0.3);
    assert_relative(far, 1.46, 5e-3);
    assert_within(shv_knock_mixture_gain(&u.knock, peak - 0.1) -
                      shv_knock_mixture_gain(&u.knock, peak + 0.1),
                  0.0, 1e-12);
    double slope = shv_knock_mixture_gain(&u.knock, peak + 1e-5) / 1e-5;
    assert_within(slope, 0.0, 5e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(delay),
        cmocka_unit_test(octane_index),
        cmocka_unit_test(hotter_compression_weighs_mon),
        cmocka_unit_test(humidity_is_worth_octane),
        cmocka_unit_test(mixture_gain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
