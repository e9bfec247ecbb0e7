/* Air at the site: definitions, derivatives and integrals taken independently with libm. Table
 * values of the sources are checked in tests/published. */
#include "model/path/gas.h"
#include "support/study_fixture.h"

static const struct shv_air_model nasa = {.kind = SHV_AIR_NASA};
static const struct shv_air_model constant = {SHV_AIR_CONSTANT, 287.0, 1005.0, 1.4};

static void atmosphere_at_sea_level(void **state)
{
    (void)state;
    assert_relative(shv_atmosphere_pressure(0.0), 101325.0, 1e-15);
    assert_relative(shv_atmosphere_temperature(0.0), 288.15, 1e-15);
    assert_within(shv_geopotential_altitude(0.0), 0.0, 0.0);
}

/* At H = 10 km geopotential, Z = r H / (r - H): T is 65 K lower. */
static void atmosphere_falls_with_geopotential_altitude(void **state)
{
    (void)state;
    double z = 6356766.0 * 1e4 / (6356766.0 - 1e4);
    assert_relative(shv_geopotential_altitude(z), 1e4, 1e-14);
    assert_relative(shv_atmosphere_temperature(z), 223.15, 1e-14);
}

/* The pressure must carry the air above it: dp/dH = -rho g, with a central difference. */
static void atmosphere_is_in_balance(void **state)
{
    (void)state;
    for (double z = -1500.0; z < 10000.0; z += 250.0) {
        double step = 1.0;
        double dp = shv_atmosphere_pressure(z + step) - shv_atmosphere_pressure(z - step);
        double dh = shv_geopotential_altitude(z + step) - shv_geopotential_altitude(z - step);
        double rho = shv_atmosphere_pressure(z) / (287.05287 * shv_atmosphere_temperature(z));
        assert_relative(dp / dh, -rho * 9.80665, 1e-7);
    }
}

/* Clausius-Clapeyron with a latent heat of 2501 kJ/kg (2834 over ice) near the triple point. */
static void saturation_pressure_has_the_slope_of_the_latent_heat(void **state)
{
    (void)state;
    const double r_vapour = 8.314510 / 0.01801528;
    const double at[2] = {273.25, 273.05}, latent[2] = {2.501e6, 2.834e6};
    for (int i = 0; i < 2; i++) {
        double t = at[i], step = 0.05;
        double slope = log(shv_saturation_pressure(t + step) / shv_saturation_pressure(t - step));
        assert_relative(slope / (2.0 * step) * r_vapour * t * t, latent[i], 5e-3);
    }
}

static void saturation_pressure_known_points(void **state)
{
    (void)state;
    /* triple point 611.66 Pa at 273.16 K; boiling at 1 atm near 373.15 K (within 0.1 %) */
    assert_relative(shv_saturation_pressure(273.16), 611.66, 1e-3);
    assert_relative(shv_saturation_pressure(373.124), 101325.0, 2e-3);
    double jump = shv_saturation_pressure(273.15) / shv_saturation_pressure(273.15 - 1e-9);
    assert_within(jump, 1.0, 1e-3);
}

/* From the molar masses: W = M_w/M_a * n_w/n_a, p_w/p = n_w/(n_w + n_a). */
static void humidity_ratio_from_moles(void **state)
{
    (void)state;
    double water = 0.03, air = 0.97, p = 95000.0;
    double w = water * 18.01528 / (air * 28.9651159);
    assert_relative(shv_humidity_ratio(water * p, p), w,
                    5e-5); /* 0.621945 rounds the molar masses */
    assert_within(shv_humidity_ratio(0.0, p), 0.0, 0.0);
}

/* cp of dry air at 300 K is 1005 J/(kg K), of water vapour at 400 K 1901 J/(kg K), in any table. */
static void heat_capacity_of_the_species(void **state)
{
    (void)state;
    struct shv_gas dry, wet;
    shv_gas_init(&dry, &nasa, 0.0);
    shv_gas_init(&wet, &nasa, 1e12);
    assert_relative(gas_cp(&dry, 300.0), 1005.0, 1.5e-3);
    assert_relative(gas_cp(&wet, 400.0), 1901.0, 3e-3);
    assert_relative(dry.gas_constant, 287.05, 1e-4);
    assert_relative(wet.gas_constant, 461.52, 1e-4);
    assert_relative(gas_gamma(&dry, 300.0), 1.4, 2e-3);
}

static void moist_air_mixes_by_mass(void **state)
{
    (void)state;
    struct shv_gas dry, wet, moist;
    double w = 0.02, y = w / (1.0 + w);
    shv_gas_init(&dry, &nasa, 0.0);
    shv_gas_init(&wet, &nasa, 1e12);
    shv_gas_init(&moist, &nasa, w);
    assert_relative(moist.vapour_fraction, y, 1e-15);
    assert_relative(moist.gas_constant, (1.0 - y) * dry.gas_constant + y * wet.gas_constant, 1e-11);
    for (double t = 210.0; t < 1000.0; t += 70.0) {
        double mixed = (1.0 - y) * gas_cp(&dry, t) + y * gas_cp(&wet, t);
        assert_relative(gas_cp(&moist, t), mixed, 1e-11);
        assert_relative(gas_gamma(&moist, t), mixed / (mixed - moist.gas_constant), 1e-11);
    }
}

/* Composite Simpson rule of cp(T) T^-power. */
static double integral(const struct shv_gas *gas, double from, double to, int power)
{
    const int n = 2000;
    double sum = 0.0, h = (to - from) / n;
    for (int i = 0; i <= n; i++) {
        double t = from + h * i;
        double weight = i == 0 || i == n ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
        sum += weight * gas_cp(gas, t) / (power == 1 ? t : 1.0);
    }
    return sum * h / 3.0;
}

static void enthalpy_is_the_integral_of_cp(void **state)
{
    (void)state;
    struct shv_gas gas;
    shv_gas_init(&gas, &nasa, 0.015);
    for (double t = 220.0; t <= 1000.0; t += 60.0) {
        double rise = shv_gas_enthalpy(&gas, t) - shv_gas_enthalpy(&gas, 300.0);
        assert_within(rise, integral(&gas, 300.0, t, 0), 1e-4);
    }
}

static void enthalpy_goes_on_straight_beyond_the_range(void **state)
{
    (void)state;
    struct shv_gas gas;
    shv_gas_init(&gas, &nasa, 0.01);
    double over = shv_gas_enthalpy(&gas, 1300.0) - shv_gas_enthalpy(&gas, 1000.0);
    double under = shv_gas_enthalpy(&gas, -50.0) - shv_gas_enthalpy(&gas, 200.0);
    assert_relative(over, 300.0 * gas_cp(&gas, 1000.0), 1e-12);
    assert_relative(under, -250.0 * gas_cp(&gas, 200.0), 1e-12);
    assert_same_bits(gas_cp(&gas, 1e5), gas_cp(&gas, 1000.0));
    assert_same_bits(gas_cp(&gas, 1.0), gas_cp(&gas, 200.0));
}

static void temperature_after_undoes_enthalpy(void **state)
{
    (void)state;
    struct shv_gas gas;
    uint64_t seed = 11;
    shv_gas_init(&gas, &nasa, 0.02);
    for (int i = 0; i < 20000; i++) {
        double from = random_in(&seed, 230.0, 500.0), to = random_in(&seed, 200.0, 1000.0);
        double rise = shv_gas_enthalpy(&gas, to) - shv_gas_enthalpy(&gas, from);
        assert_within(shv_gas_temperature_after(&gas, from, rise), to, 1e-9);
    }
    /* far outside too, since a solver may try it */
    double hot = shv_gas_temperature_after(&gas, 300.0, 5e6);
    assert_relative(shv_gas_enthalpy(&gas, hot) - shv_gas_enthalpy(&gas, 300.0), 5e6, 1e-12);
}

/* int cp/T dT = R ln(pr), the integral taken numerically. */
static void isentropic_change_keeps_entropy(void **state)
{
    (void)state;
    struct shv_gas gas;
    shv_gas_init(&gas, &nasa, 0.015);
    for (double ratio = 0.5; ratio < 6.0; ratio += 0.25) {
        double end = shv_gas_isentropic_temperature(&gas, 300.0, ratio);
        assert_within(integral(&gas, 300.0, end, 1), gas.gas_constant * log(ratio), 1e-8);
    }
    assert_within(shv_gas_isentropic_temperature(&gas, 300.0, 1.0), 300.0, 1e-10);
}

/* A gas of constant heat capacity: T2 = T1 pr^((g-1)/g), whatever R, cp and gamma were rounded to.
 */
static void constant_gas(void **state)
{
    (void)state;
    struct shv_gas gas;
    shv_gas_init(&gas, &constant, 0.02);
    assert_relative(gas.gas_constant, 287.0, 1e-15);
    assert_within(gas.vapour_fraction, 0.0, 0.0);
    for (double ratio = 0.6; ratio < 5.0; ratio += 0.2) {
        double end = shv_gas_isentropic_temperature(&gas, 290.0, ratio);
        assert_relative(end, 290.0 * pow(ratio, 0.4 / 1.4), 1e-13);
    }
    assert_relative(gas_gamma(&gas, 777.0), 1.4, 1e-14);
    assert_relative(shv_gas_enthalpy(&gas, 400.0) - shv_gas_enthalpy(&gas, 300.0), 100500.0, 1e-13);
    assert_relative(shv_gas_temperature_after(&gas, 300.0, 20100.0), 320.0, 1e-14);
    assert_relative(shv_gas_density(&gas, 100000.0, 300.0), 100000.0 / 86100.0, 1e-15);
}

static void corrections_at_and_off_the_reference(void **state)
{
    (void)state;
    assert_relative(shv_correction_j1349(99000.0, 298.0), 1.0, 1e-14);
    assert_relative(shv_correction_iso1585(99000.0, 298.0), 1.0, 1e-14);
    /* 10 % less pressure: 1.18/0.9 - 0.18 and 0.9^-1.2; 298 * 1.21 K: sqrt is 1.1, ^0.6 is 1.21^0.6
     */
    assert_relative(shv_correction_j1349(89100.0, 298.0), 1.18 / 0.9 - 0.18, 1e-14);
    assert_relative(shv_correction_iso1585(89100.0, 298.0), exp(-1.2 * log(0.9)), 1e-14);
    assert_relative(shv_correction_j1349(99000.0, 298.0 * 1.21), 1.18 * 1.1 - 0.18, 1e-14);
    assert_relative(shv_correction_iso1585(99000.0, 298.0 * 1.21), exp(0.6 * log(1.21)), 1e-14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(atmosphere_at_sea_level),
        cmocka_unit_test(atmosphere_falls_with_geopotential_altitude),
        cmocka_unit_test(atmosphere_is_in_balance),
        cmocka_unit_test(saturation_pressure_has_the_slope_of_the_latent_heat),
        cmocka_unit_test(saturation_pressure_known_points),
        cmocka_unit_test(humidity_ratio_from_moles),
        cmocka_unit_test(heat_capacity_of_the_species),
        cmocka_unit_test(moist_air_mixes_by_mass),
        cmocka_unit_test(enthalpy_is_the_integral_of_cp),
        cmocka_unit_test(enthalpy_goes_on_straight_beyond_the_range),
        cmocka_unit_test(temperature_after_undoes_enthalpy),
        cmocka_unit_test(isentropic_change_keeps_entropy),
        cmocka_unit_test(constant_gas),
        cmocka_unit_test(corrections_at_and_off_the_reference),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
