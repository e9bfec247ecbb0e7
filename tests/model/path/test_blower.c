/* The blower by itself: balances and limits recomputed with libm from docs/model.md, section 3. */
#include "model/path/gas.h"
#include "support/study_fixture.h"

static struct shv_gas air(void)
{
    struct shv_gas gas;
    shv_gas_init(&gas, &(struct shv_air_model){.kind = SHV_AIR_NASA}, 0.01);
    return gas;
}

static struct shv_gas textbook_air(void)
{
    struct shv_gas gas;
    shv_gas_init(&gas, &(struct shv_air_model){SHV_AIR_CONSTANT, 287.0, 1004.5, 1.4}, 0.0);
    return gas;
}

/* ---- nozzle ---- */

static double nozzle_by_libm(double r, double g)
{
    double critical = pow(2.0 / (g + 1.0), g / (g - 1.0));
    r = fmax(r, critical);
    return sqrt(2.0 * g / (g - 1.0) * (pow(r, 2.0 / g) - pow(r, (g + 1.0) / g)));
}

static void nozzle_by_hand(void **state)
{
    (void)state;
    for (double g = 1.3; g < 1.41; g += 0.02) {
        for (double r = 0.1; r < 0.999; r += 0.01) {
            assert_within(nozzle_function(r, g), nozzle_by_libm(r, g), 1e-12);
        }
        /* choked: sqrt(g) (2/(g+1))^((g+1)/(2(g-1))), a form of its own */
        double choked = sqrt(g) * pow(2.0 / (g + 1.0), (g + 1.0) / (2.0 * (g - 1.0)));
        assert_relative(nozzle_function(0.2, g), choked, 1e-13);
        assert_within(nozzle_function(1.0, g), 0.0, 1e-12);
    }
}

/* ---- work per revolution ---- */

static void work_without_inner_compression_is_the_rectangle(void **state)
{
    (void)state;
    double w = shv_blower_work_per_revolution(1.2e-3, 1.0, 1.4, 95e3, 170e3);
    assert_relative(w, 1.2e-3 * 75e3, 1e-14);
}

/* Compressed inside to just the outlet pressure: the work of an isentropic steady-flow compressor,
 * g/(g-1) p1 Vs (pr^((g-1)/g) - 1), and no other volume ratio needs less. */
static void work_is_least_when_compressed_to_the_outlet(void **state)
{
    (void)state;
    double p1 = 100e3, vs = 1e-3, g = 1.4;
    for (double vi = 1.05; vi < 2.0; vi += 0.05) {
        double p2 = p1 * pow(vi, g);
        double ideal = g / (g - 1.0) * p1 * vs * (pow(p2 / p1, (g - 1.0) / g) - 1.0);
        double least = shv_blower_work_per_revolution(vs, vi, g, p1, p2);
        assert_relative(least, ideal, 1e-12);
        assert_true(shv_blower_work_per_revolution(vs, vi + 0.02, g, p1, p2) > least);
        assert_true(shv_blower_work_per_revolution(vs, vi - 0.02, g, p1, p2) > least);
    }
}

/* ---- state of a blower by geometry ---- */

/* Every relation of the section once more from the reported state, with libm. */
static void assert_state_holds(const struct shv_blower *b, const struct shv_gas *gas, double p1,
                               double t1, double n, double p2, const struct shv_blower_state *s)
{
    const struct shv_blower_geometry *g = &b->geometry;
    double r = gas->gas_constant, vs = b->displacement, t2 = s->discharge_temperature;
    double fill = fmax(0.05, 1.0 - g->filling_loss * pow(n / g->reference_speed, 2.0));
    double clearance = fmax(0.0, 1.0 - g->closing_rate * (t2 - g->assembly_temperature));
    double leak = g->leakage_area * clearance * p2 / sqrt(r * t2) *
                  nozzle_by_libm(p1 / p2, gas_gamma(gas, t2));
    double g1 = gas_gamma(gas, t1) - 1.0, vi = g->volume_ratio;
    double work = p1 * vs * ((pow(vi, g1) - 1.0) / g1 - 1.0) + p2 * vs / vi;
    double turns = 2.0 * MADE_PI * n, w = n / b->windage_reference_speed;
    double heat = s->gas_power + s->windage_power;
    double rise = shv_gas_enthalpy(gas, t2) - shv_gas_enthalpy(gas, t1);
    double hot = leak * (1.0 + rise / (gas_cp(gas, t1) * t1));
    assert_relative(s->flow + hot, p1 / (r * t1) * vs * n * fill, 1e-11);
    assert_within(s->leakage_flow, leak, 1e-11 * s->filled_flow);
    assert_relative(s->flow, s->filled_flow - s->leakage_flow, 1e-11);
    /* the same by the temperature at which the rotors fill, from the balance of what mixes there */
    double mixed = shv_gas_temperature_after(gas, t1, leak / s->filled_flow * rise);
    assert_relative(s->filled_flow, p1 / (r * mixed) * vs * n * fill, 2e-3);
    assert_within(s->clearance_left, clearance, 1e-12);
    assert_within(s->gas_power, n * work, 1e-11 * n * p2 * vs);
    assert_relative(s->friction_power, turns * b->friction_torque, 1e-13);
    assert_relative(s->windage_power, turns * b->windage_torque * w * w, 1e-13);
    assert_within(s->case_heat, g->case_loss * heat, 1e-13 * heat);
    assert_relative(s->shaft_power, heat + s->friction_power, 1e-13);
    assert_within(s->flow * rise, heat - s->case_heat, 1e-9 * heat);
    double t2s = shv_gas_isentropic_temperature(gas, t1, p2 / p1);
    double ideal = shv_gas_enthalpy(gas, t2s) - shv_gas_enthalpy(gas, t1);
    assert_relative(s->isentropic_efficiency, s->flow * ideal / s->shaft_power, 1e-11);
    assert_relative(s->volumetric_efficiency, s->flow / (p1 / (r * t1) * vs * n), 1e-12);
    assert_false(s->outside_map);
}

static void state_of_random_blowers(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    uint64_t seed = 31;
    int none = 0;
    for (int i = 0; i < 5000; i++) {
        struct shv_blower b = made_geometry("b", random_in(&seed, 0.3e-3, 3e-3));
        b.geometry.leakage_area = b.displacement * random_in(&seed, 0.0, 0.08);
        b.geometry.closing_rate = random_in(&seed, 0.0, 0.004);
        b.geometry.volume_ratio = random_in(&seed, 1.0, 1.5);
        b.geometry.filling_loss = random_in(&seed, 0.0, 0.1);
        b.geometry.case_loss = random_in(&seed, 0.0, 0.15);
        double p1 = random_in(&seed, 60e3, 105e3), t1 = random_in(&seed, 250.0, 340.0);
        double n = random_in(&seed, 60.0, 330.0), p2 = p1 * random_in(&seed, 1.001, 2.2);
        struct shv_blower_state s;
        shv_blower_state(&b, &gas, p1, t1, n, p2, &s);
        none += isnan(s.flow);
        if (!isnan(s.flow)) {
            assert_state_holds(&b, &gas, p1, t1, n, p2, &s);
        }
    }
    assert_true(none < 250); /* those that leak so much that nothing comes out */
}

/* Slower and slower against the same pressure: the flow falls to where hot leakage fills the
 * rotors, well above nothing, and there is none below. */
static void leakage_stalls_a_slow_blower(void **state)
{
    (void)state;
    struct shv_gas gas = textbook_air();
    struct shv_blower b = made_geometry("b", 1e-3);
    b.geometry.closing_rate = 0.0;
    double last = INFINITY, n = 300.0;
    struct shv_blower_state s = {0};
    for (; n > 10.0; n *= 0.97) {
        shv_blower_state(&b, &gas, 100e3, 300.0, n, 180e3, &s);
        if (isnan(s.flow)) {
            break;
        }
        assert_true(s.flow < last);
        last = s.flow;
    }
    assert_true(n > 10.0 && last > 0.05 * 1e-3 * n * 100e3 / (287.0 * 300.0));
    for (; n > 10.0; n *= 0.8) {
        shv_blower_state(&b, &gas, 100e3, 300.0, n, 180e3, &s);
        assert_true(isnan(s.flow));
    }
}

/* No leakage, no losses, textbook air: T2 = T1 + (p2 - p1) R T1 / (p1 cp), by hand. */
static void textbook_roots(void **state)
{
    (void)state;
    struct shv_gas gas = textbook_air();
    struct shv_blower b = made_geometry("b", 3e-3);
    b.friction_torque = b.windage_torque = 0.0;
    b.geometry = (struct shv_blower_geometry){.volume_ratio = 1.0, .reference_speed = 100.0};
    struct shv_blower_state s;
    shv_blower_state(&b, &gas, 100e3, 300.0, 50.0, 180e3, &s);
    assert_relative(s.flow, 100e3 * 3e-3 * 50.0 / (287.0 * 300.0), 1e-12);
    assert_relative(s.shaft_power, 80e3 * 3e-3 * 50.0, 1e-12);
    assert_relative(s.discharge_temperature, 300.0 + 0.8 * 287.0 * 300.0 / 1004.5, 1e-12);
    assert_within(s.leakage_flow, 0.0, 0.0);
    assert_relative(s.volumetric_efficiency, 1.0, 1e-12);
    /* 3.5 (1.8^(0.4/1.4) - 1) / 0.8 of the rectangle; 1004.5 is 3.5 * 287 */
    assert_relative(s.isentropic_efficiency, 3.5 * (pow(1.8, 0.4 / 1.4) - 1.0) / 0.8, 1e-12);
}

static void clearance_closes_and_leakage_ends(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    struct shv_blower b = made_geometry("b", 1e-3);
    b.geometry.closing_rate = 0.02; /* closed 50 K above assembly */
    struct shv_blower_state s;
    shv_blower_state(&b, &gas, 100e3, 300.0, 150.0, 190e3, &s);
    assert_true(s.discharge_temperature > 343.15);
    assert_within(s.clearance_left, 0.0, 0.0);
    assert_within(s.leakage_flow, 0.0, 0.0);
    assert_relative(s.flow, s.filled_flow, 1e-13);
}

static void nothing_leaks_without_a_pressure_difference(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    struct shv_blower b = made_geometry("b", 1e-3);
    b.windage_torque = 0.0;
    struct shv_blower_state s;
    shv_blower_state(&b, &gas, 100e3, 300.0, 150.0, 100e3, &s);
    assert_within(s.leakage_flow, 0.0, 1e-12);
    assert_within(s.gas_power, 0.0, 1e-9);
    assert_within(s.discharge_temperature, 300.0, 1e-9);
}

static void filling_never_falls_below_a_twentieth(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    struct shv_blower b = made_geometry("b", 1e-3);
    b.geometry.filling_loss = 0.5;
    b.geometry.reference_speed = 100.0;
    struct shv_blower_state s;
    shv_blower_state(&b, &gas, 100e3, 300.0, 250.0, 100e3, &s);
    assert_relative(s.filled_flow, 0.05 * 1e-3 * 250.0 * 100e3 / (gas.gas_constant * 300.0), 1e-12);
}

/* A larger gap: less flow and, the same work on less gas, a hotter discharge. */
static void leakage_shows_as_heat(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    struct shv_blower b = made_geometry("b", 1e-3);
    double last_flow = INFINITY, last_t2 = 0.0, power = NAN;
    for (double area = 0.0; area < 130e-6; area += 10e-6) {
        b.geometry.leakage_area = area;
        struct shv_blower_state s;
        shv_blower_state(&b, &gas, 100e3, 300.0, 150.0, 160e3, &s);
        assert_true(s.flow < last_flow && s.discharge_temperature > last_t2);
        assert_true(isnan(power) || fabs(s.shaft_power / power - 1.0) < 1e-12);
        last_flow = s.flow;
        last_t2 = s.discharge_temperature;
        power = s.shaft_power;
    }
}

/* With all heat lost by the case the gas stays at inlet temperature. */
static void case_loss_takes_its_share(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_blower_state none, half, all;
    b.geometry.leakage_area = 0.0;
    b.geometry.case_loss = 0.0;
    shv_blower_state(&b, &gas, 100e3, 300.0, 150.0, 160e3, &none);
    b.geometry.case_loss = 0.5;
    shv_blower_state(&b, &gas, 100e3, 300.0, 150.0, 160e3, &half);
    b.geometry.case_loss = 1.0;
    shv_blower_state(&b, &gas, 100e3, 300.0, 150.0, 160e3, &all);
    double h1 = shv_gas_enthalpy(&gas, 300.0);
    assert_relative(2.0 * (shv_gas_enthalpy(&gas, half.discharge_temperature) - h1),
                    shv_gas_enthalpy(&gas, none.discharge_temperature) - h1, 1e-10);
    assert_within(all.discharge_temperature, 300.0, 1e-10);
    assert_relative(all.case_heat, all.gas_power + all.windage_power, 1e-13);
}

/* ---- by map ---- */

static void map_state(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    struct shv_blower b = made_map("m", 0.8e-3, 320.0, 2.4);
    /* the second speed line at T1 = 310 K: n = n_c sqrt(T1 / T_ref); its fourth pressure ratio */
    double n = 120.0 * sqrt(310.0 / 298.15), ratio = 1.84, p1 = 97e3;
    struct shv_blower_state s;
    shv_blower_state(&b, &gas, p1, 310.0, n, ratio * p1, &s);
    double ve = made_map_ve(120.0, ratio), ie = made_map_ie(120.0, ratio);
    double t2s = shv_gas_isentropic_temperature(&gas, 310.0, ratio);
    double ideal = shv_gas_enthalpy(&gas, t2s) - shv_gas_enthalpy(&gas, 310.0);
    double rise = shv_gas_enthalpy(&gas, s.discharge_temperature) - shv_gas_enthalpy(&gas, 310.0);
    assert_relative(s.flow, ve * p1 / (gas.gas_constant * 310.0) * 0.8e-3 * n, 1e-11);
    assert_relative(s.gas_power, s.flow * ideal / ie, 1e-11);
    assert_relative(s.flow * rise, s.gas_power + s.windage_power, 1e-10);
    assert_relative(s.volumetric_efficiency, ve, 1e-11);
    assert_within(s.leakage_flow, 0.0, 0.0);
    assert_within(s.case_heat, 0.0, 0.0);
    assert_false(s.outside_map);
    shv_blower_map_free(&b.map);
}

static void outside_the_map(void **state)
{
    (void)state;
    struct shv_gas gas = air();
    struct shv_blower b = made_map("m", 0.8e-3, 320.0, 2.4);
    struct shv_blower_state at_edge, beyond, too_fast;
    shv_blower_state(&b, &gas, 100e3, 298.15, 120.0, 240e3, &at_edge);
    shv_blower_state(&b, &gas, 100e3, 298.15, 120.0, 250e3, &beyond);
    shv_blower_state(&b, &gas, 100e3, 298.15, 330.0, 150e3, &too_fast);
    assert_false(at_edge.outside_map);
    assert_true(beyond.outside_map);
    assert_true(too_fast.outside_map);
    assert_relative(beyond.volumetric_efficiency, at_edge.volumetric_efficiency, 1e-12);
    shv_blower_map_free(&b.map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nozzle_by_hand),
        cmocka_unit_test(work_without_inner_compression_is_the_rectangle),
        cmocka_unit_test(work_is_least_when_compressed_to_the_outlet),
        cmocka_unit_test(state_of_random_blowers),
        cmocka_unit_test(leakage_stalls_a_slow_blower),
        cmocka_unit_test(textbook_roots),
        cmocka_unit_test(clearance_closes_and_leakage_ends),
        cmocka_unit_test(nothing_leaks_without_a_pressure_difference),
        cmocka_unit_test(filling_never_falls_below_a_twentieth),
        cmocka_unit_test(leakage_shows_as_heat),
        cmocka_unit_test(case_loss_takes_its_share),
        cmocka_unit_test(map_state),
        cmocka_unit_test(outside_the_map),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
