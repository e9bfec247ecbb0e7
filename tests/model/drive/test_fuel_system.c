/* Injectors and pump: values by hand, and where nothing flows. */
#include "support/study_fixture.h"

/* 600 cm3/min at 3 bar. */
static const struct shv_injector_part part = {
    .rated_pressure = 3e5, .test_density = 684.0, .dead_time = 1e-3, .max_duty = 0.85};
#define RATED 10e-6

static const struct shv_injection demand = {
    .count = 4.0, .speed = 100.0, .fuel_flow = 0.016, .fuel_density = 745.0, .pressure = 2.5e5};

/* The test fluid at the rated pressure flows as rated; else with the roots of pressure and density.
 */
static void static_flow(void **state)
{
    (void)state;
    assert_relative(shv_injector_static_flow(&part, RATED, 3e5, 684.0), RATED * 684.0, 1e-14);
    assert_relative(shv_injector_static_flow(&part, RATED, 12e5, 684.0), 20e-6 * 684.0, 1e-14);
    assert_relative(shv_injector_static_flow(&part, RATED, 3e5, 4.0 * 684.0), 20e-6 * 684.0, 1e-14);
    assert_within(shv_injector_static_flow(&part, RATED, 0.0, 684.0), 0.0, 0.0);
    assert_within(shv_injector_static_flow(&part, RATED, -1e5, 684.0), 0.0, 0.0);
}

/* 2.5 bar across. Two turns take 20 ms; each injector gives 0.016 * 0.02 / 4 = 80 mg. */
static void duty_by_hand(void **state)
{
    (void)state;
    double flow = RATED * sqrt(684.0 * 745.0) * sqrt(2.5 / 3.0);
    assert_relative(shv_injector_duty(&part, RATED, &demand), (1e-3 + 80e-6 / flow) / 20e-3, 1e-13);
}

static void duty_without_pressure(void **state)
{
    (void)state;
    struct shv_injection at = demand;
    at.pressure = 0.0;
    assert_true(isinf(shv_injector_duty(&part, RATED, &at)));
    at.pressure = 1e-6;
    assert_true(isfinite(shv_injector_duty(&part, RATED, &at)));
    at.pressure = NAN; /* of a point without an answer */
    assert_true(isnan(shv_injector_duty(&part, RATED, &at)));
}

/* Dead time takes its share of the time however little fuel is asked for. */
static void dead_time_grows_with_speed(void **state)
{
    (void)state;
    struct shv_injection at = demand;
    at.fuel_flow = 0.0;
    for (double speed = 10.0; speed < 150.0; speed += 20.0) {
        at.speed = speed;
        assert_relative(shv_injector_duty(&part, RATED, &at), 1e-3 * speed / 2.0, 1e-14);
    }
}

static void make_pump(struct shv_fuel_pump *pump, double line_loss)
{
    pump->line_loss = line_loss;
    assert_int_equal(shv_curve_table_init(&pump->flow, 2, (const double[]){3e5, 6e5},
                                          (const double[]){40e-6, 10e-6}, NULL),
                     SHV_OK);
}

static void pump_by_hand(void **state)
{
    (void)state;
    struct shv_fuel_pump pump;
    make_pump(&pump, 0.5e5);
    assert_relative(pump.line_loss, 0.5e5, 1e-15);
    assert_relative(shv_fuel_pump_flow(&pump, 3e5, 745.0), 745.0 * 40e-6, 1e-14);
    assert_relative(shv_fuel_pump_flow(&pump, 4e5, 745.0), 745.0 * 30e-6, 1e-12);
    /* below the first point it gives at least that point's flow, beyond the last one nothing */
    assert_relative(shv_fuel_pump_flow(&pump, 1e5, 745.0), 745.0 * 40e-6, 1e-14);
    assert_relative(shv_fuel_pump_flow(&pump, 6e5, 745.0), 745.0 * 10e-6, 1e-14);
    assert_within(shv_fuel_pump_flow(&pump, 6.001e5, 745.0), 0.0, 0.0);
    shv_curve_table_free(&pump.flow);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(static_flow),           cmocka_unit_test(duty_by_hand),
        cmocka_unit_test(duty_without_pressure), cmocka_unit_test(dead_time_grows_with_speed),
        cmocka_unit_test(pump_by_hand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
