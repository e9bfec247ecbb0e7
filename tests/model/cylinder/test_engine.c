/* The engine's small relations, by hand. */
#include "support/study_fixture.h"

/* 1 where exhaust and manifold pressure are equal, whatever the compression ratio, and falling with
 * their ratio by 1/(g (r - 1)); one value by hand. */
static void residual_factor(void **state)
{
    (void)state;
    for (double r = 7.0; r < 13.0; r += 0.5) {
        assert_within(shv_engine_residual_factor(r, 1.0, 1.35), 1.0, 1e-14);
        double slope = (shv_engine_residual_factor(r, 0.9, 1.35) - 1.0) / 0.1; /* per fall */
        assert_relative(slope, 1.0 / (1.35 * (r - 1.0)), 1e-12);
    }
    /* r = 9, g = 1.25, pe/pm = 0.5: 9/8 - 0.75/10 = 1.05 */
    assert_relative(shv_engine_residual_factor(9.0, 0.5, 1.25), 1.05, 1e-14);
}

static void piston_speed(void **state)
{
    (void)state;
    assert_relative(shv_engine_piston_speed(0.08, 100.0), 16.0, 1e-15);
}

static void friction_mean_pressure(void **state)
{
    (void)state;
    struct shv_friction f = {.fmep_at_rest = 10e3,
                             .per_peak_pressure = 0.005,
                             .per_piston_speed = 9e3,
                             .per_piston_speed_squared = 100.0};
    /* 10 kPa + 0.005 * 6 MPa + 9 kPa s/m * 10 m/s + 100 * 100 */
    assert_relative(shv_engine_fmep(&f, 6e6, 10.0), 140e3, 1e-15);
    assert_relative(shv_engine_fmep(&f, 0.0, 0.0), 10e3, 1e-15);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(residual_factor),
        cmocka_unit_test(piston_speed),
        cmocka_unit_test(friction_mean_pressure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
