/* Laminar burning velocity, and what it does to the duration of burning. */
#include "model/cylinder/cycle_physics.h"
#include "support/cycle_fixture.h"

/* That of the cycle's flame without what viscosity does to it, m/s. */
static double laminar(const struct shv_cycle_fuel *fuel, double lambda, double temperature,
                      double pressure, double residual)
{
    struct cycle_flame f = cycle_flame_of(fuel, lambda);
    double viscosity = pow(temperature / 298.0, 1.7) / (pressure / 101325.0);
    return sqrt(viscosity) * exp(cycle_log_velocity(&f, log(temperature), log(pressure), residual));
}

static double velocity(double lambda, double temperature, double atm, double residual)
{
    struct cycle_case u = usual_case();
    u.fuel.oxygen_carbon = 0.0;
    return laminar(&u.fuel, lambda, temperature, atm * 101325.0, residual);
}

/* The constants as printed, at 298 K and 1 atm. */
static void constants_come_back(void **state)
{
    (void)state;
    assert_relative(velocity(1.0 / 1.21, 298.0, 1.0, 0.0), 0.305, 1e-8);
    assert_relative(velocity(1.0, 298.0, 1.0, 0.0), 0.305 - 0.549 * 0.21 * 0.21, 1e-8);
    struct cycle_case u = usual_case();
    u.fuel.hydrogen_carbon = 4.0;
    u.fuel.oxygen_carbon = 1.0;
    assert_relative(laminar(&u.fuel, 1.0 / 1.11, 298.0, 101325.0, 0.0), 0.369, 1e-6);
    /* far too lean it stops falling */
    assert_relative(velocity(2.5, 298.0, 1.0, 0.0), 0.0305, 1e-8);
}

static void powers_and_residual_gas(void **state)
{
    (void)state;
    double base = velocity(1.0, 298.0, 1.0, 0.0);
    assert_relative(velocity(1.0, 596.0, 1.0, 0.0) / base, pow(2.0, 2.18), 1e-8);
    assert_relative(velocity(1.0, 298.0, 4.0, 0.0) / base, pow(4.0, -0.16), 1e-8);
    assert_relative(velocity(1.0, 298.0, 1.0, 0.1) / base, 1.0 - 2.06 * pow(0.1, 0.77), 1e-7);
    assert_relative(velocity(1.0, 298.0, 1.0, 0.5), velocity(1.0, 298.0, 1.0, 0.3), 1e-14);
    double rich = velocity(0.8, 298.0, 1.0, 0.0);
    assert_relative(velocity(0.8, 596.0, 1.0, 0.0) / rich, pow(2.0, 2.18 - 0.8 * 0.25), 1e-8);
    assert_relative(velocity(0.8, 298.0, 4.0, 0.0) / rich, pow(4.0, -0.16 + 0.22 * 0.25), 1e-8);
}

/* The duration goes with the velocity to the power -2/3, and later burning is slower. */
static void duration_follows(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_cycle_result own = run_case(&u), r;
    assert_relative(own.burn_duration, 60.0, 1e-12);
    u.at.burn_reference = own.burn_velocity;
    r = run_case(&u);
    assert_relative(r.burn_duration, 60.0, 1e-9);
    u.at.burn_reference = 2.0 * own.burn_velocity;
    r = run_case(&u);
    assert_relative(r.burn_duration, 60.0 * pow(r.burn_velocity / u.at.burn_reference, -2.0 / 3.0),
                    1e-9);
    assert_true(r.burn_duration > 90.0);
    u.at.burn_reference = own.burn_velocity;
    u.at.ca50 += 25.0;
    r = run_case(&u);
    assert_true(r.burn_duration > 64.0 && r.burn_duration < 90.0);
    double ratio = volume_at(&u.engine, u.engine.inlet_closing) / volume_at(&u.engine, u.at.ca50);
    double k = u.engine.motored_exponent;
    double t = r.ivc_temperature * pow(ratio, k - 1.0), p = r.ivc_pressure * pow(ratio, k);
    double viscosity = pow(t / 298.0, 1.7) / (p / 101325.0);
    assert_relative(r.burn_velocity,
                    laminar(&u.fuel, u.at.lambda, t, p, r.residual_share) / sqrt(viscosity), 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(constants_come_back),
        cmocka_unit_test(powers_and_residual_gas),
        cmocka_unit_test(duration_follows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
