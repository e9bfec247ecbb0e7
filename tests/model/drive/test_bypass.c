/* Part load and the bypass valve: balances from the reported state, limits, and what must agree
 * with what. */
#include "model/path/gas.h"
#include "support/cruise_fixture.h"

#include "model/drive/bypass_solve.h"

#define AMBIENT 101325.0

static struct shv_bypass_state at(const struct shv_bypass_cruise *c, double area)
{
    struct shv_bypass_state s;
    shv_bypass_at(c, area, &s);
    return s;
}

static struct shv_bypass_sizing area_for(const struct shv_bypass_cruise *c, double drag)
{
    struct shv_bypass_sizing z;
    shv_bypass_area_for(c, drag, &z);
    return z;
}

/* ---- balances ---- */

static double enthalpy(const struct shv_bypass_cruise *c, double t)
{
    return shv_gas_enthalpy(&c->gas, t);
}

/* All relations of docs/model.md, section 11.2, that do not depend on the kind of blower. */
static void assert_balances(const struct shv_bypass_cruise *c, double area,
                            const struct shv_bypass_state *s)
{
    double p1 = s->inlet_pressure, p2 = c->manifold_pressure, m = c->engine_flow;
    double kept = c->blower->kind == SHV_BLOWER_MAP ? 1.0 : 1.0 - c->blower->geometry.case_loss;
    double heat = kept * (s->gas_power + s->windage_power), h0 = enthalpy(c, c->temperature);
    double h1 = enthalpy(c, s->inlet_temperature), h2 = enthalpy(c, s->discharge_temperature);
    double hm = enthalpy(c, s->manifold_temperature), scale = s->blower_flow * 1e5;
    assert_within(s->blower_flow, m + s->recirculated, 1e-9 * s->blower_flow);
    assert_within(s->blower_flow * (h2 - h1), heat, 1e-9 * scale); /* rotors */
    assert_within(m * (hm - h0), heat, 1e-9 * scale);              /* the whole */
    assert_within(s->pressure_drop, p2 - p1, 1e-9 * p2);
    if (s->recirculated >= 0.0) {
        double back = area > 0.0 && p2 > p1 ? opening_flow(&c->gas, area, p2,
                                                           s->discharge_temperature, (p2 - p1) / p2)
                                            : 0.0;
        assert_within(s->recirculated, back, 1e-9 * s->blower_flow);
        assert_within(s->blower_flow * h1, m * h0 + s->recirculated * h2, 1e-9 * scale);
        assert_relative(s->manifold_temperature, s->discharge_temperature, 1e-9);
    } else {
        double past = opening_flow(&c->gas, area, p1, c->temperature, (p1 - p2) / p1);
        assert_within(-s->recirculated, past, 1e-9 * s->blower_flow);
        assert_within(s->inlet_temperature, c->temperature, 1e-12);
        assert_within(m * hm, s->blower_flow * h2 - s->recirculated * h0, 1e-9 * scale);
    }
    assert_relative(s->shaft_power, s->gas_power + s->windage_power + s->friction_power, 1e-13);
}

/* The blower by itself, with the reported state at its inlet, gives the rest. */
static void assert_blower_agrees(const struct shv_bypass_cruise *c,
                                 const struct shv_bypass_state *s)
{
    struct shv_blower_state b;
    shv_blower_state(c->blower, &c->gas, s->inlet_pressure, s->inlet_temperature, c->rotor_speed,
                     c->manifold_pressure, &b);
    double power = c->manifold_pressure * c->blower->displacement * c->rotor_speed;
    assert_relative(s->blower_flow, b.flow, 1e-9);
    assert_within(s->leakage_flow, b.leakage_flow, 1e-9 * b.filled_flow);
    assert_relative(s->discharge_temperature, b.discharge_temperature, 1e-9);
    assert_within(s->gas_power, b.gas_power, 1e-9 * power);
    assert_relative(s->windage_power, b.windage_power, 1e-13);
    assert_relative(s->friction_power, b.friction_power, 1e-13);
    assert_within(s->clearance_left, b.clearance_left, 1e-9);
}

static struct shv_blower random_blower(uint64_t *seed)
{
    struct shv_blower b = made_geometry("b", random_in(seed, 0.3e-3, 2e-3));
    b.geometry.leakage_area = b.displacement * random_in(seed, 0.0, 0.05);
    b.geometry.closing_rate = random_in(seed, 0.0, 0.003);
    b.geometry.volume_ratio = random_chance(seed, 0.5) ? 1.0 : random_in(seed, 1.0, 1.5);
    b.geometry.case_loss = random_in(seed, 0.0, 0.15);
    return b;
}

/* Random cruise points; the engine takes from next to nothing up to more than the rotors give. */
static void random_points_balance(void **state)
{
    (void)state;
    uint64_t seed = 71;
    size_t round = 0, past = 0, shut = 0, boosted = 0;
    for (int i = 0; i < 1500; i++) {
        struct shv_blower b = random_blower(&seed);
        struct shv_bypass_cruise c = made_cruise(&b);
        c.rotor_speed = random_in(&seed, 30.0, 230.0);
        c.manifold_pressure = random_in(&seed, 25e3, 110e3);
        c.temperature = random_in(&seed, 255.0, 315.0);
        double density = shv_gas_density(&c.gas, c.manifold_pressure, c.temperature);
        c.engine_flow = density * b.displacement * c.rotor_speed * random_in(&seed, 0.15, 1.3);
        double area =
            random_chance(&seed, 0.25) ? 0.0 : b.displacement * random_in(&seed, 0.02, 3.0);
        struct shv_bypass_state s = at(&c, area);
        if (s.outcome != SHV_BYPASS_SOLVED) {
            continue;
        }
        assert_balances(&c, area, &s);
        if (s.pressure_drop >= 0.0) {
            assert_blower_agrees(&c, &s);
        }
        round += area > 0.0 && s.recirculated > 0.0;
        past += s.recirculated < 0.0;
        shut += area == 0.0;
        boosted += c.manifold_pressure > c.pressure_ahead;
    }
    assert_true(round > 300 && past > 50 && shut > 100 && boosted > 20);
}

/* p1 > p2, worked out from the reported state: forward leakage, rotors driven by the gas. */
static void engine_draws_past_the_rotors(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 0.25e-3);
    struct shv_bypass_cruise c = made_cruise(&b);
    struct shv_bypass_state s = at(&c, 2e-4);
    assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
    assert_true(s.pressure_drop < 0.0 && s.recirculated < 0.0 && s.gas_power < 0.0);
    assert_balances(&c, 2e-4, &s);
    double p1 = s.inlet_pressure, rt = c.gas.gas_constant * c.temperature;
    double fill = 1.0 - 0.03 * pow(100.0 / 230.0, 2.0);
    double left = 1.0 - 0.002 * (s.discharge_temperature - 293.15);
    double leak = opening_flow(&c.gas, 40e-6 * left, p1, c.temperature, (p1 - 60e3) / p1);
    assert_relative(s.leakage_flow, -leak, 1e-9);
    assert_relative(s.blower_flow, p1 / rt * 0.25e-3 * 100.0 * fill + leak, 1e-9);
    assert_relative(s.gas_power, (60e3 - p1) * 0.25e-3 * 100.0, 1e-9);
    /* A wider valve takes the pressure at the inlet down towards the manifold's. */
    assert_true(at(&c, 4e-4).inlet_pressure < p1);
    assert_true(at(&c, 4e-4).shaft_power > s.shaft_power);
}

/* The engine takes just what the rotors displace: no pressure across them, whatever the valve. */
static void balanced_flow_makes_the_valve_idle(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_bypass_cruise c = made_cruise(&b);
    double fill = 1.0 - 0.03 * pow(100.0 / 230.0, 2.0);
    c.engine_flow = shv_gas_density(&c.gas, 60e3, c.temperature) * 1e-3 * 100.0 * fill;
    for (double area = 0.0; area < 1e-3; area += 2e-4) {
        struct shv_bypass_state s = at(&c, area);
        assert_within(s.pressure_drop, 0.0, 1e-6);
        assert_within(s.recirculated, 0.0, 1e-8);
        assert_relative(s.shaft_power, s.windage_power + s.friction_power, 1e-9);
    }
}

/* Shut, without leakage, filling loss or heat: p1 is the pressure at which the swept volume is the
 * engine's flow, and the drag the Roots rectangle. */
static void shut_by_hand(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    b.geometry.leakage_area = b.geometry.filling_loss = 0.0;
    struct shv_bypass_cruise c = made_cruise(&b);
    struct shv_bypass_state s = at(&c, 0.0);
    double p1 = 0.022 * c.gas.gas_constant * 298.15 / (1e-3 * 100.0);
    assert_relative(s.inlet_pressure, p1, 1e-12);
    assert_relative(s.gas_power, (60e3 - p1) * 1e-3 * 100.0, 1e-12);
    assert_relative(s.friction_power, 2.0 * MADE_PI * 100.0, 1e-13);
    assert_relative(s.windage_power, 2.0 * MADE_PI * 100.0 * 0.8 * pow(100.0 / 230.0, 2.0), 1e-13);
    assert_within(s.inlet_temperature, 298.15, 0.0);
    assert_within(s.recirculated, 0.0, 0.0);
}

/* ---- over the area ---- */

static void monotone_over_area(void **state)
{
    (void)state;
    for (double vi = 1.0; vi < 1.5; vi += 0.2) {
        struct shv_blower b = made_geometry("b", 1e-3);
        b.geometry.volume_ratio = vi;
        struct shv_bypass_cruise c = made_cruise(&b);
        struct shv_bypass_state last = at(&c, 0.0);
        for (double area = 1e-8; area < 1.0; area *= 1.25) {
            struct shv_bypass_state s = at(&c, area);
            assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
            assert_true(s.inlet_pressure > last.inlet_pressure);
            assert_true(s.shaft_power < last.shaft_power);
            assert_true(s.pressure_drop < last.pressure_drop);
            assert_true(s.discharge_temperature < last.discharge_temperature);
            assert_true(s.recirculated > last.recirculated);
            last = s;
        }
    }
}

static void limits_of_area(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_bypass_cruise c = made_cruise(&b);
    struct shv_bypass_state shut = at(&c, 0.0), hardly = at(&c, 1e-15), wide = at(&c, 1e3);
    assert_relative(hardly.inlet_pressure, shut.inlet_pressure, 1e-9);
    assert_relative(hardly.shaft_power, shut.shaft_power, 1e-9);
    assert_relative(hardly.discharge_temperature, shut.discharge_temperature, 1e-9);
    assert_true(wide.pressure_drop > 0.0 && wide.pressure_drop < 1e-6);
    assert_relative(wide.shaft_power, wide.friction_power + wide.windage_power, 1e-9);
    struct shv_bypass_state large = at(&c, 0.1); /* a drop that p2 - p1 still shows */
    assert_balances(&c, 0.1, &large);
    /* the drop goes with the inverse square of the area */
    assert_relative(at(&c, 2e3).pressure_drop, wide.pressure_drop / 4.0, 1e-6);
}

/* With inner compression the gas is pressed together and let go again even without a pressure
 * difference: that work stays. */
static void inner_compression_leaves_drag(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    b.geometry.volume_ratio = 1.3;
    struct shv_bypass_cruise c = made_cruise(&b);
    struct shv_bypass_state wide = at(&c, 1e3);
    double gamma = gas_gamma(&c.gas, wide.inlet_temperature);
    double work = shv_blower_work_per_revolution(1e-3, 1.3, gamma, 60e3, 60e3);
    assert_true(work > 0.0);
    assert_relative(wide.gas_power, 100.0 * work, 1e-9);
}

/* ---- outcomes ---- */

static void starved(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 0.1e-3);
    struct shv_bypass_cruise c = made_cruise(&b);
    struct shv_bypass_state s = at(&c, 0.0);
    assert_int_equal(s.outcome, SHV_BYPASS_STARVED);
    assert_true(isnan(s.shaft_power) && isnan(s.inlet_pressure));
    /* a valve lets the engine breathe past such rotors */
    assert_int_equal(at(&c, 1e-3).outcome, SHV_BYPASS_SOLVED);
    /* above the pressure ahead of the throttle the rotors have to give the flow themselves */
    c.manifold_pressure = 102e3;
    assert_int_equal(at(&c, 1e-3).outcome, SHV_BYPASS_STARVED);
    b.displacement = 1e-3;
    s = at(&c, 1e-3);
    assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
    assert_true(s.inlet_pressure <= c.pressure_ahead);
}

static void out_of_range(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_bypass_cruise c = made_cruise(&b);
    c.engine_flow = 0.002; /* so little takes all the heat away */
    struct shv_bypass_state s = at(&c, 0.0);
    assert_int_equal(s.outcome, SHV_BYPASS_OUT_OF_RANGE);
    assert_true(s.discharge_temperature > SHV_GAS_T_MAX);
    assert_int_equal(at(&c, 1e-3).outcome, SHV_BYPASS_SOLVED);
}

/* Shut the pressure ratio lies on the map, open it is next to 1: a map from 1 on has both. */
static void blower_by_map(void **state)
{
    (void)state;
    struct shv_blower b = made_map("b", 1e-3, 250.0, 3.5);
    struct shv_bypass_cruise c = made_cruise(&b);
    for (double area = 0.0; area < 2e-3; area += 2.5e-4) {
        struct shv_bypass_state s = at(&c, area);
        assert_int_equal(s.outcome, SHV_BYPASS_SOLVED);
        assert_balances(&c, area, &s);
        assert_blower_agrees(&c, &s);
    }
    c.engine_flow *= 4.0; /* p1 > p2 */
    assert_int_equal(at(&c, 1e-3).outcome, SHV_BYPASS_OUTSIDE_MAP);
    shv_blower_map_free(&b.map);
}

static void outside_the_map(void **state)
{
    (void)state;
    struct shv_blower b = made_map("b", 1e-3, 250.0, 3.5);
    /* lines that begin at a ratio of 1.2 */
    for (size_t i = 0; i < b.map.lines; i++) {
        static const double x[] = {1.2, 2.0, 3.5}, ve[] = {0.9, 0.8, 0.6}, ie[] = {0.6, 0.6, 0.5};
        struct shv_speed_line *l = &b.map.line[i];
        shv_curve_table_free(&l->volumetric_efficiency);
        shv_curve_table_free(&l->isentropic_efficiency);
        assert_int_equal(shv_curve_table_init(&l->volumetric_efficiency, 3, x, ve, NULL), SHV_OK);
        assert_int_equal(shv_curve_table_init(&l->isentropic_efficiency, 3, x, ie, NULL), SHV_OK);
    }
    struct shv_bypass_cruise c = made_cruise(&b);
    assert_int_equal(at(&c, 0.0).outcome, SHV_BYPASS_SOLVED);
    assert_int_equal(at(&c, 5e-3).outcome, SHV_BYPASS_OUTSIDE_MAP);
    c.rotor_speed = 300.0;
    c.engine_flow *= 3.0;
    assert_int_equal(at(&c, 0.0).outcome, SHV_BYPASS_OUTSIDE_MAP);
    c.rotor_speed = 100.0;
    c.engine_flow /= 3.0;
    struct shv_bypass_state open = at(&c, 5e-3);
    struct shv_bypass_sizing z = area_for(&c, open.shaft_power);
    assert_int_equal(z.outcome, SHV_BYPASS_UNSOLVED);
    assert_int_equal(z.state.outcome, SHV_BYPASS_OUTSIDE_MAP);
    assert_true(isnan(z.area));
    shv_blower_map_free(&b.map);
}

/* ---- area for a drag ---- */

static void area_is_the_inverse_of_drag(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_bypass_cruise c = made_cruise(&b);
    for (double area = 1e-5; area < 0.02; area *= 2.0) {
        double drag = at(&c, area).shaft_power;
        struct shv_bypass_sizing z = area_for(&c, drag);
        assert_int_equal(z.outcome, SHV_BYPASS_AREA_FOUND);
        assert_relative(z.area, area, 1e-7);
        assert_relative(z.state.shaft_power, drag, 1e-9);
        assert_relative(z.shut_drag, at(&c, 0.0).shaft_power, 1e-12);
        assert_true(z.least_drag < drag && drag < z.shut_drag);
    }
}

static void area_without_an_answer(void **state)
{
    (void)state;
    struct shv_blower b = made_geometry("b", 1e-3);
    struct shv_bypass_cruise c = made_cruise(&b);
    struct shv_bypass_state shut = at(&c, 0.0);
    struct shv_bypass_sizing z = area_for(&c, shut.shaft_power);
    assert_int_equal(z.outcome, SHV_BYPASS_SHUT_DOES);
    assert_true(isnan(z.area));
    assert_same_bits(z.state.shaft_power, shut.shaft_power);
    double idle = shut.friction_power + shut.windage_power;
    z = area_for(&c, 0.99 * idle);
    assert_int_equal(z.outcome, SHV_BYPASS_NONE_DOES);
    assert_true(isnan(z.area));
    assert_relative(z.least_drag, idle, 1e-3);
    assert_int_equal(z.state.outcome, SHV_BYPASS_SOLVED);
    assert_int_equal(area_for(&c, 1.01 * idle).outcome, SHV_BYPASS_AREA_FOUND);
    b.displacement = 0.1e-3;
    z = area_for(&c, 500.0);
    assert_int_equal(z.outcome, SHV_BYPASS_UNSOLVED);
    assert_int_equal(z.state.outcome, SHV_BYPASS_STARVED);
}

/* ---- cost ---- */

/* 2 kW at the shaft, 0.9, 90 g/MJ, 0.75 kg/L, 90 km/h. */
static void cost_by_hand(void **state)
{
    (void)state;
    struct shv_bypass_rates r = {
        .drive_efficiency = 0.9, .bsfc = 90e-9, .fuel_density = 750.0, .road_speed = 25.0};
    struct shv_bypass_cost k;
    k = shv_bypass_cost(1800.0, &r);
    assert_relative(k.crank_power, 2000.0, 1e-14);
    assert_relative(k.fuel_flow, 180e-6, 1e-14);
    assert_relative(k.litres_per_hour, 0.864, 1e-14);
    assert_relative(k.litres_per_100_km, 0.96, 1e-14);
    k = shv_bypass_cost(-1000.0, &r);
    assert_relative(k.crank_power, -900.0, 1e-14);
    r.road_speed = 0.0;
    k = shv_bypass_cost(1800.0, &r);
    assert_true(isnan(k.litres_per_100_km) && k.litres_per_hour > 0.8);
}

/* ---- actuator ---- */

/* 20 cm2, 40 N, 2 N/mm over 10 mm: 20 kPa and 30 kPa. */
static void actuator_by_hand(void **state)
{
    (void)state;
    const struct shv_bypass_spring spring = {20e-4, 40.0, 2000.0, 0.010};
    struct shv_bypass_actuator a = shv_bypass_actuator_of(&spring);
    assert_relative(a.starts, 20e3, 1e-14);
    assert_relative(a.finishes, 30e3, 1e-14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_points_balance),
        cmocka_unit_test(engine_draws_past_the_rotors),
        cmocka_unit_test(balanced_flow_makes_the_valve_idle),
        cmocka_unit_test(shut_by_hand),
        cmocka_unit_test(monotone_over_area),
        cmocka_unit_test(limits_of_area),
        cmocka_unit_test(inner_compression_leaves_drag),
        cmocka_unit_test(starved),
        cmocka_unit_test(out_of_range),
        cmocka_unit_test(blower_by_map),
        cmocka_unit_test(outside_the_map),
        cmocka_unit_test(area_is_the_inverse_of_drag),
        cmocka_unit_test(area_without_an_answer),
        cmocka_unit_test(cost_by_hand),
        cmocka_unit_test(actuator_by_hand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
