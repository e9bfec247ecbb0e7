/* Share of the fuel's heat released, from the coefficients of the source. */
#include "support/study_fixture.h"

static void parabola(void **state)
{
    (void)state;
    assert_within(shv_fuel_mixture_efficiency(1.0), -1.6082 + 4.6509 - 2.0764, 1e-14);
    assert_within(shv_fuel_mixture_efficiency(0.8), -1.6082 + 3.72072 - 1.328896, 1e-14);
}

static void rises_to_its_top_and_stays(void **state)
{
    (void)state;
    double last = 0.0;
    for (double l = 0.70; l < 1.12; l += 0.005) {
        double now = shv_fuel_mixture_efficiency(l);
        assert_true(now > last && now <= 1.0);
        last = now;
    }
    assert_same_bits(shv_fuel_mixture_efficiency(1.13), shv_fuel_mixture_efficiency(1.5));
    /* the parabola's own top is 1.6082 below b^2/(4c) */
    assert_within(shv_fuel_mixture_efficiency(1.3), 4.6509 * 4.6509 / (4.0 * 2.0764) - 1.6082,
                  1e-6);
}

/* Heat per kg of air, mix/lambda, is greatest at sqrt(1.6082/2.0764) = 0.880. */
static void most_heat_per_air_is_rich(void **state)
{
    (void)state;
    double top = sqrt(1.6082 / 2.0764), best = shv_fuel_mixture_efficiency(top) / top;
    for (double l = 0.75; l < 1.2; l += 0.01) {
        assert_true(shv_fuel_mixture_efficiency(l) / l < best);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parabola),
        cmocka_unit_test(rises_to_its_top_and_stays),
        cmocka_unit_test(most_heat_per_air_is_rich),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
