/* What a bench log's row asks the model: which column counts where several say the same, and what
 * stands for one that is not there. */
#include "support/study_fixture.h"

#include "fit/fit_bench.h"

enum { PRESSURE, TEMPERATURE, SPEED, RATIO, BOOST, OUTLET, COLUMNS };

static struct shv_measured_column columns[COLUMNS] = {
    [PRESSURE] = {.channel = SHV_CHANNEL_INLET_PRESSURE},
    [TEMPERATURE] = {.channel = SHV_CHANNEL_INLET_TEMPERATURE},
    [SPEED] = {.channel = SHV_CHANNEL_ROTOR_SPEED},
    [RATIO] = {.channel = SHV_CHANNEL_PRESSURE_RATIO},
    [BOOST] = {.channel = SHV_CHANNEL_BOOST},
    [OUTLET] = {.channel = SHV_CHANNEL_OUTLET_PRESSURE}};

/* Two rows; the second lacks what the first has. */
static double values[2 * COLUMNS] = {98e3, 290.0, 150.0, 1.5, 50e3, 151e3,
                                     NAN,  NAN,   200.0, 1.4, NAN,  NAN};
static const struct shv_measured_log plan = {.kind = SHV_LOG_OF_BENCH,
                                             .columns = COLUMNS,
                                             .column = columns,
                                             .ambient = {.pressure = 100e3, .temperature = 300.0}};
static const struct shv_log log_file = {.rows = 2, .wants = COLUMNS, .value = values};

static void what_a_row_asks(void **state)
{
    (void)state;
    struct fit_bench at = fit_bench_at(&plan, &log_file, 0);
    assert_true(at.p1 == 98e3 && at.t1 == 290.0 && at.speed == 150.0);
    assert_true(at.p2 == 151e3); /* the outlet's own column before boost, boost before the ratio */
    at = fit_bench_at(&plan, &log_file, 1);
    assert_true(at.p1 == 100e3 && at.t1 == 300.0 && at.speed == 200.0);
    assert_true(fabs(at.p2 - 140e3) < 1e-6);
    values[COLUMNS + BOOST] = 45e3; /* above the air around */
    at = fit_bench_at(&plan, &log_file, 1);
    assert_true(at.p2 == 145e3);
    values[COLUMNS + BOOST] = NAN;
    struct shv_measured_log few = plan;
    few.columns = SPEED; /* neither speed nor what lies behind */
    at = fit_bench_at(&few, &log_file, 0);
    assert_true(isnan(at.speed) && isnan(at.p2));
}

static void what_the_model_says(void **state)
{
    (void)state;
    char name[] = "bench";
    const struct shv_blower blower = made_geometry(name, 1e-3);
    struct shv_gas gas;
    struct shv_blower_state s;
    double found[SHV_CHANNEL_COUNT];
    shv_gas_init(&gas, &(struct shv_air_model){SHV_AIR_CONSTANT, 287.0, 1004.5, 1.4}, 0.0);
    fit_bench_values(&plan, &log_file, &gas, &blower, 0, found);
    shv_blower_state(&blower, &gas, 98e3, 290.0, 150.0, 151e3, &s);
    assert_true(s.flow > 0.0);
    for (int channel = 0; channel < SHV_CHANNEL_COUNT; channel++) {
        double expected = channel == SHV_CHANNEL_AIR_FLOW                ? s.flow
                          : channel == SHV_CHANNEL_DISCHARGE_TEMPERATURE ? s.discharge_temperature
                          : channel == SHV_CHANNEL_BLOWER_POWER          ? s.shaft_power
                                                                         : NAN;
        assert_true(isnan(expected) ? isnan(found[channel]) : found[channel] == expected);
    }
    values[OUTLET] = 97e3; /* below the inlet: no answer */
    fit_bench_values(&plan, &log_file, &gas, &blower, 0, found);
    assert_true(isnan(found[SHV_CHANNEL_AIR_FLOW]) && isnan(found[SHV_CHANNEL_BLOWER_POWER]));
    values[OUTLET] = 151e3;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_a_row_asks),
        cmocka_unit_test(what_the_model_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
