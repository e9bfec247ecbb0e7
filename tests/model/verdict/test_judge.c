/* Verdicts on points made by hand: margins, the binding and the first broken limit, objectives. */
#include "support/study_fixture.h"

#include "model/kit/model_internal.h"

struct hand {
    struct made m;
    struct shv_model *model;
    struct shv_curves c;
    struct shv_kit kit;
};

/* Two sites of weights 1 and 3, speeds 10, 20, 30, 40 rev/s, all points alike and harmless. */
static void begin(struct hand *h)
{
    made_begin(&h->m);
    h->m.blowers[0].geometry.closing_rate = 0.0; /* else it has a bound of its own */
    made_add_site(&h->m, 90e3, 285.0, 0.3, 3.0);
    made_speeds(&h->m, 4, 10.0, 40.0);
    h->model = made_model(&h->m);
    h->kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    assert_int_equal(shv_curves_init(&h->c, h->model, NULL), SHV_OK);
    for (size_t i = 0; i < 8; i++) {
        h->c.point[i] = (struct shv_point){.ambient_temperature = i < 4 ? 300.0 : 280.0,
                                           .rotor_speed = 100.0,
                                           .belt_speed = NAN,
                                           .piston_speed = 10.0,
                                           .inlet_pressure = 98e3,
                                           .outlet_pressure = 150e3,
                                           .pressure_ratio = 1.5,
                                           .boost = 50e3,
                                           .ambient_pressure = 100e3,
                                           .clearance_left = 0.8,
                                           .coolant_temperature = 310.0,
                                           .belt_slip = 0.6,
                                           .belt_tension = 90.0,
                                           .hub_load = 400.0,
                                           .discharge_temperature = 350.0,
                                           .charge_temperature = 320.0,
                                           .blower_power = 10e3,
                                           .brake_power = 60e3,
                                           .torque = 150.0,
                                           .fuel_flow = 0.005,
                                           .phasing_retard = 12.0,
                                           .peak_pressure = 60e5,
                                           .exhaust_temperature = 1400.0,
                                           .injector_duty = 0.6,
                                           .pump_flow = 0.7};
    }
}

static struct shv_verdict *judged(struct hand *h)
{
    judge(h->model, &h->kit, &h->c);
    return &h->c.verdict;
}

static void end(struct hand *h)
{
    shv_curves_free(&h->c);
    shv_model_free(h->model);
    made_end(&h->m);
}

static void nothing_limited(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    const struct shv_verdict *v = judged(&h);
    assert_true(v->feasible && v->outcome == SHV_POINT_OK);
    assert_int_equal(v->binding, -1);
    assert_int_equal(v->first_broken, -1);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        assert_true(isinf(v->limit[i].bound) && isnan(v->limit[i].share) &&
                    isnan(v->limit[i].value));
    }
    end(&h);
}

/* 60 kPa bound: at 57 kPa the margin is 3 kPa, its share 0.05. */
static void margin_where_it_is_tightest(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.m.study.limit[SHV_LIMIT_BOOST] = 60e3;
    h.c.point[6].boost = 57e3;
    const struct shv_limit_result *r = &judged(&h)->limit[SHV_LIMIT_BOOST];
    assert_relative(r->bound, 60e3, 1e-15);
    assert_relative(r->value, 57e3, 1e-15);
    assert_relative(r->margin, 3e3, 1e-15);
    assert_relative(r->share, 0.05, 1e-14);
    assert_int_equal(r->site, 1);
    assert_int_equal(r->speed, 2);
    end(&h);
}

/* Of points equally tight the first counts. */
static void ties_go_to_the_first_place(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.m.study.limit[SHV_LIMIT_TORQUE] = 200.0;
    h.c.point[2].torque = h.c.point[3].torque = h.c.point[5].torque = 180.0;
    const struct shv_limit_result *r = &judged(&h)->limit[SHV_LIMIT_TORQUE];
    assert_int_equal(r->site, 0);
    assert_int_equal(r->speed, 2);
    end(&h);
}

/* 380 K bound: at 300 K ambient 350 K leaves 30/80 of the span; at 280 K ambient 345 K leaves
 * 35/100, which is tighter though cooler. */
static void temperatures_are_judged_from_ambient(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.m.study.limit[SHV_LIMIT_DISCHARGE_TEMPERATURE] = 380.0;
    for (size_t i = 4; i < 8; i++) {
        h.c.point[i].discharge_temperature = 345.0;
    }
    const struct shv_limit_result *r = &judged(&h)->limit[SHV_LIMIT_DISCHARGE_TEMPERATURE];
    assert_relative(r->share, 0.35, 1e-14);
    assert_relative(r->margin, 35.0, 1e-14);
    assert_int_equal(r->site, 1);
    end(&h);
}

/* Shares: rotor 1 - 100/125 = 0.2, pressure ratio 0.3/0.8 = 0.375, rise 1 - 52/80 = 0.35. */
static void the_least_share_binds(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.m.blowers[0].max_speed = 125.0;
    h.m.study.limit[SHV_LIMIT_ROTOR_SPEED] = 300.0; /* the blower's own is lower */
    h.m.study.limit[SHV_LIMIT_PRESSURE_RATIO] = 1.8;
    h.m.blowers[0].max_pressure_rise = 80e3;
    const struct shv_verdict *v = judged(&h);
    assert_int_equal(v->binding, SHV_LIMIT_ROTOR_SPEED);
    assert_relative(v->limit[SHV_LIMIT_ROTOR_SPEED].share, 0.2, 1e-14);
    assert_relative(v->limit[SHV_LIMIT_PRESSURE_RATIO].share, 0.375, 1e-14);
    assert_relative(v->limit[SHV_LIMIT_PRESSURE_RISE].share, 0.35, 1e-14);
    assert_true(v->feasible);
    h.c.point[0].outlet_pressure = 98e3 + 70e3; /* rise 70 of 80: 0.125 */
    v = judged(&h);
    assert_int_equal(v->binding, SHV_LIMIT_PRESSURE_RISE);
    end(&h);
}

static void exactly_at_the_bound_is_allowed(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.m.study.limit[SHV_LIMIT_BLOWER_POWER] = 10e3;
    assert_true(judged(&h)->feasible);
    assert_within(h.c.verdict.limit[SHV_LIMIT_BLOWER_POWER].share, 0.0, 0.0);
    h.c.point[7].blower_power = nextafter(10e3, INFINITY);
    assert_false(judged(&h)->feasible);
    end(&h);
}

static void first_broken_by_the_order_of_the_table(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.m.study.limit[SHV_LIMIT_BOOST] = 45e3;      /* -0.11 */
    h.m.study.limit[SHV_LIMIT_FUEL_FLOW] = 0.002; /* -1.5: tighter, but later in the table */
    const struct shv_verdict *v = judged(&h);
    assert_false(v->feasible);
    assert_int_equal(v->broken,
                     SHV_LIMIT_BIT(SHV_LIMIT_BOOST) | SHV_LIMIT_BIT(SHV_LIMIT_FUEL_FLOW));
    assert_int_equal(v->first_broken, SHV_LIMIT_BOOST);
    assert_int_equal(v->binding, SHV_LIMIT_FUEL_FLOW);
    assert_true(isfinite(v->objective)); /* still known */
    end(&h);
}

static void every_limit_looks_at_its_own_value(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    const double value[SHV_LIMIT_COUNT] = {[SHV_LIMIT_ROTOR_SPEED] = 100.0,
                                           [SHV_LIMIT_BELT_SPEED] = 40.0,
                                           [SHV_LIMIT_PISTON_SPEED] = 10.0,
                                           [SHV_LIMIT_PRESSURE_RATIO] = 1.5,
                                           [SHV_LIMIT_PRESSURE_RISE] = 52e3,
                                           [SHV_LIMIT_BOOST] = 50e3,
                                           [SHV_LIMIT_DISCHARGE_TEMPERATURE] = 350.0,
                                           [SHV_LIMIT_CHARGE_TEMPERATURE] = 320.0,
                                           [SHV_LIMIT_BLOWER_POWER] = 10e3,
                                           [SHV_LIMIT_TORQUE] = 150.0,
                                           [SHV_LIMIT_FUEL_FLOW] = 0.005,
                                           [SHV_LIMIT_PHASING_RETARD] = 12.0,
                                           [SHV_LIMIT_PEAK_PRESSURE] = 60e5,
                                           [SHV_LIMIT_EXHAUST_TEMPERATURE] = 1400.0,
                                           [SHV_LIMIT_INJECTOR_DUTY] = 0.6,
                                           [SHV_LIMIT_PUMP_FLOW] = 0.7,
                                           [SHV_LIMIT_CLEARANCE] = 0.8,
                                           [SHV_LIMIT_MANIFOLD_PRESSURE] = 50e3,
                                           [SHV_LIMIT_MANIFOLD_TEMPERATURE] = 350.0,
                                           [SHV_LIMIT_COOLANT_TEMPERATURE] = 310.0,
                                           [SHV_LIMIT_BELT_SLIP] = 0.6,
                                           [SHV_LIMIT_BELT_TENSION] = 90.0,
                                           [SHV_LIMIT_HUB_LOAD] = 400.0,
                                           [SHV_LIMIT_BYPASS_VACUUM] = 2e3,
                                           [SHV_LIMIT_ROTOR_DUTY] = 0.2,
                                           [SHV_LIMIT_PULLEY_DIAMETER] = 0.07,
                                           [SHV_LIMIT_BEARING_LIFE] = 3e6,
                                           [SHV_LIMIT_CRUISE_DRAG] = 900.0,
                                           [SHV_LIMIT_PRICE] = 2400.0,
                                           [SHV_LIMIT_MASS] = 30.0,
                                           [SHV_LIMIT_POWER] = 60e3};
    h.c.hardware = (struct shv_hardware){.over_continuous = 0.2,
                                         .pulley_diameter = 0.07,
                                         .bearing_life = 3e6,
                                         .cruise_drag = 900.0,
                                         .price = 2400.0,
                                         .mass = 30.0};
    for (size_t i = 0; i < 8; i++) {
        h.c.point[i].belt_speed = 40.0;
    }
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        double at_point = shv_point_limit_value(&h.c.point[0], (enum shv_limit)i);
        if (info->of_kit) {
            assert_true(isnan(at_point));
        } else {
            assert_relative(at_point, value[i], 1e-15);
        }
        h.m.study.limit[i] = value[i] * (info->at_least ? 1.001 : 0.999);
        assert_int_equal(judged(&h)->broken, SHV_LIMIT_BIT(i));
        assert_relative(h.c.verdict.limit[i].value, value[i], 1e-15);
        assert_true(h.c.verdict.limit[i].margin < 0.0);
        h.m.study.limit[i] = value[i] * (info->at_least ? 0.999 : 1.001);
        assert_int_equal(judged(&h)->broken, 0);
        assert_true(h.c.verdict.limit[i].share > 0.0);
        h.m.study.limit[i] = INFINITY;
    }
    end(&h);
}

/* An ideal kit has no belt: that limit is silent. */
static void unknown_values_are_left_out(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.m.study.limit[SHV_LIMIT_BELT_SPEED] = 1.0;
    const struct shv_verdict *v = judged(&h);
    assert_true(v->feasible);
    assert_int_equal(v->binding, -1);
    assert_true(isnan(v->limit[SHV_LIMIT_BELT_SPEED].share));
    end(&h);
}

static void first_failure_is_told(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    h.c.point[6].outcome = SHV_POINT_OUTSIDE_MAP;
    h.c.point[5].outcome = SHV_POINT_NO_MATCH;
    const struct shv_verdict *v = judged(&h);
    assert_int_equal(v->outcome, SHV_POINT_NO_MATCH);
    assert_int_equal(v->failed_site, 1);
    assert_int_equal(v->failed_speed, 1);
    assert_false(v->feasible);
    assert_true(isnan(v->objective));
    end(&h);
}

/* ---- objectives ---- */

static void set_power(struct hand *h, const double power[8])
{
    for (size_t i = 0; i < 8; i++) {
        h->c.point[i].brake_power = power[i];
    }
}

/* Site 1: peak 90, site 2: peak 50; weights 1 and 3: (90 + 150)/4 = 60. */
static void peak_power(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    set_power(&h, (const double[]){10.0, 90.0, 80.0, 70.0, 20.0, 30.0, 40.0, 50.0});
    h.m.study.objective.kind = SHV_OBJECTIVE_PEAK_POWER;
    assert_relative(judged(&h)->objective, 60.0, 1e-15);
    h.m.study.objective.over_sites = SHV_OVER_SITES_WORST;
    assert_relative(judged(&h)->objective, 50.0, 1e-15);
    end(&h);
}

/* Band 20 to 40 rev/s: site 1 (90/2 + 80 + 70/2)/2 = 80, site 2 (30/2 + 40 + 50/2)/2 = 40; mean 50.
 */
static void mean_power_over_the_band(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    set_power(&h, (const double[]){1e6, 90.0, 80.0, 70.0, 1e6, 30.0, 40.0, 50.0});
    h.m.study.objective =
        (struct shv_objective){SHV_OBJECTIVE_MEAN_POWER, 20.0, 40.0, NAN, SHV_OVER_SITES_MEAN};
    assert_relative(judged(&h)->objective, 50.0, 1e-14);
    h.m.study.objective.over_sites = SHV_OVER_SITES_WORST;
    assert_relative(judged(&h)->objective, 40.0, 1e-14);
    end(&h);
}

static void torque_at_a_speed(void **state)
{
    (void)state;
    static struct hand h;
    begin(&h);
    set_power(&h, (const double[]){1.0, 1.0, 60.0, 1.0, 1.0, 1.0, 120.0, 1.0});
    h.m.study.objective =
        (struct shv_objective){SHV_OBJECTIVE_TORQUE, NAN, NAN, 30.0, SHV_OVER_SITES_MEAN};
    /* (60 + 3 * 120)/4 = 105 W at 30 rev/s */
    assert_relative(judged(&h)->objective, 105.0 / (2.0 * MADE_PI * 30.0), 1e-14);
    end(&h);
}

/* Points that differ by rounding alone are as bad as each other: the first is named, the value is
 * still the worst of all. */
static void rounding_does_not_say_where(void **state)
{
    (void)state;
    struct hand h;
    begin(&h);
    h.m.study.limit[SHV_LIMIT_BOOST] = 60e3;
    h.c.point[2].boost = 60e3 * (1.0 - 1e-15);
    h.c.point[3].boost = h.c.point[5].boost = 60e3;
    const struct shv_limit_result *r = &judged(&h)->limit[SHV_LIMIT_BOOST];
    assert_int_equal(r->site, 0);
    assert_int_equal(r->speed, 2);
    assert_within(r->value, 60e3, 0.0);
    h.c.point[5].boost = 60e3 * (1.0 + 1e-9);
    r = &judged(&h)->limit[SHV_LIMIT_BOOST];
    assert_int_equal(r->site, 1);
    assert_int_equal(r->speed, 1);
    end(&h);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_limited),
        cmocka_unit_test(margin_where_it_is_tightest),
        cmocka_unit_test(ties_go_to_the_first_place),
        cmocka_unit_test(temperatures_are_judged_from_ambient),
        cmocka_unit_test(the_least_share_binds),
        cmocka_unit_test(exactly_at_the_bound_is_allowed),
        cmocka_unit_test(first_broken_by_the_order_of_the_table),
        cmocka_unit_test(every_limit_looks_at_its_own_value),
        cmocka_unit_test(unknown_values_are_left_out),
        cmocka_unit_test(first_failure_is_told),
        cmocka_unit_test(peak_power),
        cmocka_unit_test(mean_power_over_the_band),
        cmocka_unit_test(torque_at_a_speed),
        cmocka_unit_test(rounding_does_not_say_where),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
