/* The cruise point from the inside: what is taken over, the opening, and that flows and heats of
 * each answer balance; worked out here from the relations of docs/model.md, section 11.2. */
#include "model/path/gas.h"
#include "support/cruise_fixture.h"

#include "model/drive/bypass_solve.h"

static struct shv_bypass_state solved(const struct shv_bypass_cruise *given, double area)
{
    struct shv_bypass_state s;
    struct cruise c = cruise_of(given);
    c.area = area;
    cruise_solve(&c, &s);
    return s;
}

/* ---- the valve ---- */

static void flow_is_the_nozzle_function(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    for (double r = 0.1; r < 0.999; r += 0.01) {
        double up = 90e3, t = 330.0;
        double psi = nozzle_function(r, gas_gamma(&gas, t));
        double flow = 3e-4 * up / sqrt(gas.gas_constant * t) * psi;
        assert_relative(opening_flow(&gas, 3e-4, up, t, 1.0 - r), flow, 1e-11);
    }
}

/* A drop of almost nothing: A sqrt(2 rho dp), to as many digits as the drop is small. */
static void small_drop_is_incompressible(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    double p = 0x1p16, t = 300.0, rho = shv_gas_density(&gas, p, t);
    for (double drop = 0x1p-4; drop > 0x1p-24; drop *= 0.25) {
        double flow = 1e-3 * sqrt(2.0 * rho * drop);
        assert_relative(opening_flow(&gas, 1e-3, p, t, drop / p), flow, 2.0 * drop / p + 1e-14);
    }
}

/* ---- what is taken over ---- */

static void what_is_taken_over(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_bypass_cruise given = made_cruise(&b);
    struct cruise c = cruise_of(&given);
    assert_true(c.gas == &given.gas && c.blower == &b && c.speed == 100.0 && c.area == 0.0);
    assert_true(c.p_ahead == 100.5e3 && c.p2 == 60e3 && c.t0 == 298.15 && c.engine_flow == 0.022);
    assert_relative(c.h0, shv_gas_enthalpy(&given.gas, 298.15), 1e-15);
    double share = 100.0 / 230.0;
    assert_relative(c.fill_volume, 0.1 * (1.0 - 0.03 * share * share), 1e-12);
    assert_relative(c.windage, 2.0 * MADE_PI * 100.0 * 0.8 * share * share, 1e-12);
    assert_relative(c.friction, 2.0 * MADE_PI * 100.0, 1e-12);
    assert_within(c.kept_heat, 0.96, 1e-15);
    b = made_map("m", 1e-3, 250.0, 3.5);
    c = cruise_of(&given);
    assert_true(c.kept_heat == 1.0);
    shv_blower_map_free(&b.map);
}

/* ---- answers ---- */

/* Gas goes round: rotors, mixture at the inlet, and valve, each from the state told. */
static void it_goes_round(void **state)
{
    (void)state;
    for (double area = 0.5e-4; area < 2e-3; area *= 2.0) {
        struct shv_blower b = made_geometry("b", 1e-3);
        struct shv_bypass_cruise g = made_cruise(&b);
        struct shv_bypass_state s = solved(&g, area);
        assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
        double p1 = s.inlet_pressure, p2 = 60e3, share = 100.0 / 230.0;
        double h0 = shv_gas_enthalpy(&g.gas, 298.15),
               h1 = shv_gas_enthalpy(&g.gas, s.inlet_temperature);
        double h2 = shv_gas_enthalpy(&g.gas, s.discharge_temperature);
        assert_true(p1 < p2 && s.recirculated > 0.0);
        assert_within(s.pressure_drop, p2 - p1, 1e-6);
        assert_relative(s.recirculated,
                        opening_flow(&g.gas, area, p2, s.discharge_temperature, (p2 - p1) / p2),
                        1e-8);
        assert_relative(s.blower_flow, 0.022 + s.recirculated, 1e-10);
        assert_relative(s.blower_flow * h1, 0.022 * h0 + s.recirculated * h2, 1e-9);
        assert_relative(s.gas_power, 0.1 * (p2 - p1), 1e-9); /* the Roots rectangle */
        assert_relative(0.022 * (h2 - h0), 0.96 * (s.gas_power + s.windage_power), 1e-9);
        assert_relative(s.manifold_temperature, s.discharge_temperature, 1e-12);
        double left = 1.0 - 0.002 * (s.discharge_temperature - 293.15);
        assert_relative(s.clearance_left, left, 1e-9);
        assert_relative(
            s.leakage_flow,
            opening_flow(&g.gas, 40e-6 * left, p2, s.discharge_temperature, (p2 - p1) / p2), 1e-8);
        /* What is taken up at the inlet less what leaks back, whose heat makes the fresh gas
         * lighter. */
        double swept =
            p1 * 0.1 * (1.0 - 0.03 * share * share) / (g.gas.gas_constant * s.inlet_temperature);
        assert_true(s.blower_flow < swept - s.leakage_flow &&
                    s.blower_flow > swept - 1.6 * s.leakage_flow);
        assert_relative(s.shaft_power, s.gas_power + s.windage_power + s.friction_power, 1e-13);
    }
}

/* The engine draws past the rotors: two streams meet in the manifold. */
static void it_is_drawn_past(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 0.25e-3);
    struct shv_bypass_cruise g = made_cruise(&b);
    struct shv_bypass_state s = solved(&g, 2e-4);
    assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
    double p1 = s.inlet_pressure, lost = (p1 - 60e3) / p1;
    double h0 = shv_gas_enthalpy(&g.gas, 298.15);
    assert_true(p1 > 60e3 && p1 < 100.5e3 && s.inlet_temperature == 298.15);
    assert_relative(s.recirculated, -opening_flow(&g.gas, 2e-4, p1, 298.15, lost), 1e-8);
    assert_relative(s.blower_flow, 0.022 + s.recirculated, 1e-10);
    assert_relative(-s.pressure_drop, p1 - 60e3, 1e-9);
    double heat = 0.96 * (s.gas_power + s.windage_power);
    assert_within(s.blower_flow * (shv_gas_enthalpy(&g.gas, s.discharge_temperature) - h0), heat,
                  1e-6);
    assert_within(0.022 * (shv_gas_enthalpy(&g.gas, s.manifold_temperature) - h0), heat, 1e-6);
    assert_true(s.leakage_flow < 0.0);
}

/* Of a map flow and work follow from ratio and speed. */
static void by_a_map(void **state)
{
    (void)state;
    struct shv_blower b = made_map("m", 1e-3, 250.0, 3.5);
    struct shv_bypass_cruise g = made_cruise(&b);
    struct shv_bypass_state s = solved(&g, 5e-4);
    assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
    struct shv_blower_state alone;
    shv_blower_state(&b, &g.gas, s.inlet_pressure, s.inlet_temperature, 100.0, 60e3, &alone);
    assert_relative(s.blower_flow, alone.flow, 1e-9);
    assert_relative(s.gas_power, alone.gas_power, 1e-8);
    assert_relative(s.discharge_temperature, alone.discharge_temperature, 1e-9);
    assert_true(s.leakage_flow == 0.0 && s.clearance_left == 1.0);
    g.engine_flow *= 4.0; /* the ratio falls below 1 */
    assert_int_equal(solved(&g, 1e-3).outcome, SHV_BYPASS_OUTSIDE_MAP);
    shv_blower_map_free(&b.map);
}

/* ---- none ---- */

static void no_throttle_brings_it_about(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 0.1e-3);
    struct shv_bypass_cruise g = made_cruise(&b);
    struct shv_bypass_state s = solved(&g, 0.0);
    assert_int_equal(s.outcome, SHV_BYPASS_STARVED);
    const double all[] = {s.inlet_pressure,        s.pressure_drop,        s.inlet_temperature,
                          s.discharge_temperature, s.manifold_temperature, s.blower_flow,
                          s.recirculated,          s.leakage_flow,         s.gas_power,
                          s.windage_power,         s.friction_power,       s.shaft_power,
                          s.clearance_left};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        assert_true(isnan(all[i]));
    }
    /* The least displacement that gives the flow with a wide open throttle: p_ahead at the inlet,
     * which pushes more through the clearances. */
    b.geometry.leakage_area = 0.0;
    b.geometry.filling_loss = 0.0;
    double least = 0.022 * g.gas.gas_constant * 298.15 / (100.5e3 * 100.0);
    b.displacement = 0.999 * least;
    assert_int_equal(solved(&g, 0.0).outcome, SHV_BYPASS_STARVED);
    b.displacement = 1.001 * least;
    s = solved(&g, 0.0);
    assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
    assert_relative(s.inlet_pressure, 100.5e3 / 1.001, 1e-9);
    /* Above the pressure ahead the inlet starts at that. */
    g.manifold_pressure = 110e3;
    b.displacement = 1.2 * least;
    s = solved(&g, 0.0);
    assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
    assert_relative(s.inlet_pressure, 100.5e3 / 1.2, 1e-9);
    b.displacement = 0.99 * least;
    assert_int_equal(solved(&g, 0.0).outcome, SHV_BYPASS_STARVED);
}

static void beyond_the_temperatures(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_bypass_cruise g = made_cruise(&b);
    g.engine_flow = 0.002; /* so little takes all the heat away */
    struct shv_bypass_state s = solved(&g, 0.0);
    assert_int_equal(s.outcome, SHV_BYPASS_OUT_OF_RANGE);
    assert_true(s.discharge_temperature > SHV_GAS_T_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flow_is_the_nozzle_function),
        cmocka_unit_test(small_drop_is_incompressible),
        cmocka_unit_test(what_is_taken_over),
        cmocka_unit_test(it_goes_round),
        cmocka_unit_test(it_is_drawn_past),
        cmocka_unit_test(by_a_map),
        cmocka_unit_test(no_throttle_brings_it_about),
        cmocka_unit_test(beyond_the_temperatures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
