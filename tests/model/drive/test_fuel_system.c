/* Injectors, pump and consumption: values by hand, outcomes, and what must agree with what. */
#include "support/study_fixture.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* 4 injectors of 600 cm3/min at 3 bar. */
static const struct shv_injectors injectors = {
    .count = 4,
    .rated_flow = 10e-6,
    .rated_pressure = 3e5,
    .test_density = 684.0,
    .dead_time = 1e-3,
    .max_duty = 0.85,
    .rail_pressure = 3e5,
    .reference = SHV_RAIL_AMBIENT,
};

static const struct shv_fuel_demand demand = {
    .speed = 100.0,
    .fuel_flow = 0.016,
    .fuel_density = 745.0,
    .ambient = 1e5,
    .manifold = 1.5e5,
};

static struct shv_injection at(const struct shv_injectors *s, const struct shv_fuel_demand *d)
{
    struct shv_injection i;
    struct shv_message message = {""};
    if (shv_injection_at(s, d, &i, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return i;
}

/* The test fluid at the rated pressure flows as rated; else with the roots of pressure and density.
 */
static void static_flow(void **state)
{
    (void)state;
    assert_relative(shv_injector_static_flow(&injectors, 3e5, 684.0), 10e-6 * 684.0, 1e-14);
    assert_relative(shv_injector_static_flow(&injectors, 12e5, 684.0), 20e-6 * 684.0, 1e-14);
    assert_relative(shv_injector_static_flow(&injectors, 3e5, 4.0 * 684.0), 20e-6 * 684.0, 1e-14);
    assert_within(shv_injector_static_flow(&injectors, 0.0, 684.0), 0.0, 0.0);
    assert_within(shv_injector_static_flow(&injectors, -1e5, 684.0), 0.0, 0.0);
}

/* Rail at 4 bar absolute, manifold at 1.5: 2.5 bar across. Two turns take 20 ms; each injector
 * gives 0.016 * 0.02 / 4 = 80 mg. */
static void by_hand(void **state)
{
    (void)state;
    struct shv_injection i = at(&injectors, &demand);
    double flow = 10e-6 * sqrt(684.0 * 745.0) * sqrt(2.5 / 3.0);
    assert_relative(i.pressure, 2.5e5, 1e-14);
    assert_relative(i.static_flow, flow, 1e-13);
    assert_relative(i.pulse, 1e-3 + 80e-6 / flow, 1e-13);
    assert_relative(i.duty, i.pulse / 20e-3, 1e-14);
    assert_relative(i.most_fuel, 4.0 * flow * (0.85 - 0.05), 1e-13);
    assert_int_equal(i.outcome, SHV_INJECTION_DONE);
}

/* A rail held above the manifold does not feel boost. */
static void reference_to_the_manifold(void **state)
{
    (void)state;
    struct shv_injectors s = injectors;
    s.reference = SHV_RAIL_MANIFOLD;
    for (double manifold = 0.3e5; manifold < 6e5; manifold += 0.5e5) {
        struct shv_fuel_demand d = demand;
        d.manifold = manifold;
        struct shv_injection i = at(&s, &d);
        assert_relative(i.pressure, 3e5, 1e-14);
        assert_relative(i.rail_needed, i.pressure_needed, 1e-12);
    }
}

/* At most_fuel duty is max_duty, and pressure_needed is the pressure there is. */
static void most_fuel_is_the_limit(void **state)
{
    (void)state;
    struct shv_fuel_demand d = demand;
    d.fuel_flow = at(&injectors, &demand).most_fuel;
    struct shv_injection i = at(&injectors, &d);
    assert_relative(i.duty, 0.85, 1e-12);
    assert_relative(i.pressure_needed, i.pressure, 1e-12);
    d.fuel_flow *= 1.0 + 1e-9;
    assert_int_equal(at(&injectors, &d).outcome, SHV_INJECTION_DUTY);
    d.fuel_flow *= 1.0 - 2e-9;
    assert_int_equal(at(&injectors, &d).outcome, SHV_INJECTION_DONE);
}

static void rail_needed_is_enough(void **state)
{
    (void)state;
    uint64_t seed = 5;
    for (int n = 0; n < 500; n++) {
        struct shv_fuel_demand d = demand;
        struct shv_injectors s = injectors;
        d.fuel_flow = random_in(&seed, 0.001, 0.06);
        d.speed = random_in(&seed, 10.0, 130.0);
        d.manifold = random_in(&seed, 0.3e5, 2.5e5);
        s.rail_pressure = at(&s, &d).rail_needed;
        if (s.rail_pressure > 0.0) {
            assert_relative(at(&s, &d).duty, 0.85, 1e-11);
        }
    }
}

/* A manifold at or above the rail is an outcome; what would be needed is still told. */
static void manifold_above_rail(void **state)
{
    (void)state;
    for (double manifold = 4e5; manifold <= 6e5; manifold += 1e5) {
        struct shv_fuel_demand d = demand;
        d.manifold = manifold;
        struct shv_injection i = at(&injectors, &d);
        assert_int_equal(i.outcome, SHV_INJECTION_NO_PRESSURE);
        assert_within(i.pressure, 4e5 - manifold, 1e-6);
        assert_within(i.static_flow, 0.0, 0.0);
        assert_within(i.most_fuel, 0.0, 0.0);
        assert_true(isinf(i.pulse) && isinf(i.duty));
        assert_relative(i.rail_needed, i.pressure_needed + manifold - 1e5, 1e-12);
    }
}

/* Dead time of 0.85 * 20 ms leaves no time for fuel. */
static void dead_time_takes_it_all(void **state)
{
    (void)state;
    struct shv_injectors s = injectors;
    s.dead_time = 17.5e-3;
    struct shv_injection i = at(&s, &demand);
    assert_int_equal(i.outcome, SHV_INJECTION_DUTY);
    assert_within(i.most_fuel, 0.0, 0.0);
    assert_true(isinf(i.pressure_needed) && isinf(i.rail_needed));
    assert_true(isinf(shv_injector_flow_needed(&s, 0.016, 100.0)));
}

static void assert_refused(struct shv_injectors s, struct shv_fuel_demand d, const char *part)
{
    struct shv_message message = {""};
    struct shv_injection i = {.duty = 7.0};
    assert_int_equal(shv_injection_at(&s, &d, &i, &message), SHV_BAD_INPUT);
    if (!strstr(message.text, part)) {
        fail_msg("\"%s\" does not say \"%s\"", message.text, part);
    }
    assert_within(i.duty, 7.0, 0.0);
}

static void bad_injectors(void **state)
{
    (void)state;
    struct shv_injectors s = injectors;
    s.count = 0;
    assert_refused(s, demand, "at least one injector");
    s = injectors;
    s.dead_time = -1e-3;
    assert_refused(s, demand, "dead time of the injector, s, is -0.001");
    s = injectors;
    s.max_duty = 1.01;
    assert_refused(s, demand, "largest duty of the injector is 1.01; at most 1");
    double *const positive[] = {&s.rated_flow, &s.rated_pressure, &s.test_density, &s.max_duty,
                                &s.rail_pressure};
    static const double bad[] = {0.0, -1.0, NAN, INFINITY};
    for (size_t i = 0; i < COUNT(positive); i++) {
        for (size_t k = 0; k < COUNT(bad); k++) {
            s = injectors;
            *positive[i] = bad[k];
            assert_refused(s, demand, positive[i] == &s.max_duty ? "duty" : "above 0");
        }
    }
}

static void bad_demand(void **state)
{
    (void)state;
    struct shv_fuel_demand d = demand;
    double *const positive[] = {&d.speed, &d.fuel_flow, &d.fuel_density, &d.ambient, &d.manifold};
    static const double bad[] = {0.0, -1.0, NAN, INFINITY};
    for (size_t i = 0; i < COUNT(positive); i++) {
        for (size_t k = 0; k < COUNT(bad); k++) {
            d = demand;
            *positive[i] = bad[k];
            assert_refused(injectors, d, "a number above 0 is needed");
        }
    }
}

/* 60 cm3/s free, 20 at 6 bar, straight: a curve of two points. */
static void make_pump(struct shv_fuel_pump *pump)
{
    assert_int_equal(shv_fuel_pump_init(pump, 2, (const double[]){0.0, 6e5},
                                        (const double[]){60e-6, 20e-6}, 0.0, NULL),
                     SHV_OK);
}

static struct shv_pumping pumping(const struct shv_fuel_pump *pump, const struct shv_injectors *s,
                                  const struct shv_fuel_demand *d)
{
    struct shv_pumping p;
    struct shv_message message = {""};
    if (shv_pumping_at(pump, s, d, &p, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return p;
}

/* At 3 bar 40 cm3/s; the rail held above 0.5 bar of boost asks for 3.5 bar: 110/3 cm3/s. */
static void pump_by_hand(void **state)
{
    (void)state;
    struct shv_fuel_pump pump;
    make_pump(&pump);
    struct shv_pumping p = pumping(&pump, &injectors, &demand);
    assert_relative(p.pressure, 3e5, 1e-14);
    assert_relative(p.flow, 745.0 * 40e-6, 1e-13);
    assert_relative(p.margin, 745.0 * 40e-6 / 0.016 - 1.0, 1e-12);
    assert_int_equal(p.outcome, SHV_PUMP_DONE);
    struct shv_injectors s = injectors;
    s.reference = SHV_RAIL_MANIFOLD;
    p = pumping(&pump, &s, &demand);
    assert_relative(p.pressure, 3.5e5, 1e-13);
    assert_relative(p.flow, 745.0 * 110e-6 / 3.0, 1e-12);
    pump.line_loss = 0.5e5;
    assert_relative(pumping(&pump, &s, &demand).pressure, 4e5, 1e-13);
    shv_fuel_pump_free(&pump);
    shv_fuel_pump_free(&pump);
}

static void pump_short_and_beyond(void **state)
{
    (void)state;
    struct shv_fuel_pump pump;
    make_pump(&pump);
    struct shv_fuel_demand d = demand;
    d.fuel_flow = 745.0 * 40e-6 * (1.0 + 1e-9);
    struct shv_pumping p = pumping(&pump, &injectors, &d);
    assert_int_equal(p.outcome, SHV_PUMP_SHORT);
    assert_true(p.margin < 0.0 && p.margin > -1e-8);
    struct shv_injectors s = injectors;
    s.rail_pressure = 6e5;
    assert_int_equal(pumping(&pump, &s, &demand).outcome, SHV_PUMP_SHORT);
    s.rail_pressure = 6.001e5;
    p = pumping(&pump, &s, &demand);
    assert_int_equal(p.outcome, SHV_PUMP_BEYOND_CURVE);
    assert_true(isnan(p.flow) && isnan(p.margin));
    shv_fuel_pump_free(&pump);
}

/* Below the first point of the curve the pump gives at least that point's flow. */
static void pump_below_its_curve(void **state)
{
    (void)state;
    struct shv_fuel_pump pump;
    assert_int_equal(shv_fuel_pump_init(&pump, 2, (const double[]){4e5, 6e5},
                                        (const double[]){30e-6, 20e-6}, 0.0, NULL),
                     SHV_OK);
    struct shv_pumping p = pumping(&pump, &injectors, &demand);
    assert_relative(p.flow, 745.0 * 30e-6, 1e-14);
    shv_fuel_pump_free(&pump);
}

static void assert_pump_refused(size_t count, const double *pressure, const double *flow,
                                double loss, const char *part)
{
    struct shv_fuel_pump pump;
    struct shv_message message = {""};
    assert_int_equal(shv_fuel_pump_init(&pump, count, pressure, flow, loss, &message),
                     SHV_BAD_INPUT);
    if (!strstr(message.text, part)) {
        fail_msg("\"%s\" does not say \"%s\"", message.text, part);
    }
    assert_int_equal(pump.flow.count, 0);
    assert_null(pump.flow.x);
    struct shv_pumping p;
    assert_int_equal(shv_pumping_at(&pump, &injectors, &demand, &p, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "no curve"));
    shv_fuel_pump_free(&pump);
}

static void bad_pumps(void **state)
{
    (void)state;
    const double p[] = {1e5, 3e5}, same[] = {1e5, 1e5}, q[] = {3e-5, 2e-5}, rising[] = {2e-5, 3e-5},
                 negative[] = {2e-5, -1e-5};
    assert_pump_refused(0, p, q, 0.0, "at least one point");
    assert_pump_refused(2, same, q, 0.0, "must rise");
    assert_pump_refused(2, p, rising, 0.0, "must not rise with pressure");
    assert_pump_refused(2, p, negative, 0.0, "flow 2 of the pump");
    assert_pump_refused(2, p, q, -1.0, "loss in the fuel line");
}

static void pump_refuses_bad_systems(void **state)
{
    (void)state;
    struct shv_fuel_pump pump;
    make_pump(&pump);
    struct shv_injectors s = injectors;
    s.rail_pressure = 0.0;
    struct shv_fuel_demand d = demand;
    d.ambient = 0.0;
    struct shv_pumping p = {.flow = 7.0};
    assert_int_equal(shv_pumping_at(&pump, &s, &demand, &p, NULL), SHV_BAD_INPUT);
    assert_int_equal(shv_pumping_at(&pump, &injectors, &d, &p, NULL), SHV_BAD_INPUT);
    assert_within(p.flow, 7.0, 0.0);
    shv_fuel_pump_free(&pump);
}

/* 10 g/s of 750 kg/m3 for 100 kW: 36 kg/h, 48 l/h, 360 g/kWh, 0.48 l/kWh. */
static void consumption(void **state)
{
    (void)state;
    struct shv_consumption c = shv_consumption_of(0.010, 750.0, 100e3);
    assert_relative(c.mass_flow, 0.010, 1e-15);
    assert_relative(c.volume_flow, 0.010 / 750.0, 1e-14);
    assert_relative(c.mass_per_hour, 36.0, 1e-14);
    assert_relative(c.volume_per_hour, 0.048, 1e-14);
    assert_relative(c.specific_mass, 0.360 / 3.6e6, 1e-14);
    assert_relative(c.specific_volume, 0.48e-3 / 3.6e6, 1e-14);
    assert_true(isnan(shv_consumption_of(0.010, 750.0, 0.0).specific_mass));
    assert_true(isnan(shv_consumption_of(0.010, 750.0, -1.0).specific_volume));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(static_flow),
        cmocka_unit_test(by_hand),
        cmocka_unit_test(reference_to_the_manifold),
        cmocka_unit_test(most_fuel_is_the_limit),
        cmocka_unit_test(rail_needed_is_enough),
        cmocka_unit_test(manifold_above_rail),
        cmocka_unit_test(dead_time_takes_it_all),
        cmocka_unit_test(bad_injectors),
        cmocka_unit_test(bad_demand),
        cmocka_unit_test(pump_by_hand),
        cmocka_unit_test(pump_short_and_beyond),
        cmocka_unit_test(pump_below_its_curve),
        cmocka_unit_test(bad_pumps),
        cmocka_unit_test(pump_refuses_bad_systems),
        cmocka_unit_test(consumption),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
