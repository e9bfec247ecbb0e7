/* Which setups the search looks at: near the front, spread when nothing holds, with what carries
 * most fuel. */
#include "study/common.h"

#include "search/setups.h"

static struct shv_study study;
static double crank[] = {0.14, 0.16, 0.18}, pulley[] = {0.06, 0.07, 0.08, 0.09};
static double nothing[] = {0.0}, cores[] = {0.6, 0.7};
static double lambda[] = {0.80, 0.84, 0.88, 0.92}, margin[] = {0.0, 1.0, 2.0};
static double speeds[] = {2000.0 / 60.0, 6000.0 / 60.0};
static double small[] = {4e-6, 5e-6}, large[] = {6e-6};
static struct shv_cooler cooler[2];
static struct shv_injector_part injector[3];
static struct shv_pump_part pump[2];
static struct shv_blower blower[2];
static struct shv_fuel fuel[2];

/* The large injector is open for less of the time that is left, so that it passes less. */
static int set_up(void **state)
{
    (void)state;
    cooler[0] = (struct shv_cooler){.is_none = true, .effectiveness = {nothing, 1}};
    cooler[1] = (struct shv_cooler){.effectiveness = {cores, 2}};
    injector[0] = (struct shv_injector_part){.rated_flow = {small, 2},
                                             .max_duty = 0.85,
                                             .test_density = 770.0,
                                             .rated_pressure = 3e5,
                                             .dead_time = 1e-3};
    injector[1] = injector[0];
    injector[1].rated_flow = (struct shv_numbers){large, 1};
    injector[1].dead_time = 8e-3;
    study = (struct shv_study){.blowers = blower,
                               .blower_count = 2,
                               .coolers = cooler,
                               .cooler_count = 2,
                               .fuels = fuel,
                               .fuel_count = 2,
                               .numbers = {[SHV_DIM_CRANK_PULLEY] = {crank, 3},
                                           [SHV_DIM_BLOWER_PULLEY] = {pulley, 4},
                                           [SHV_DIM_LAMBDA] = {lambda, 4},
                                           [SHV_DIM_IGNITION_MARGIN] = {margin, 3}},
                               .injectors = injector,
                               .injector_count = 2,
                               .pumps = pump,
                               .pump_count = 2};
    study.engine.speeds = speeds;
    study.engine.speed_count = 2;
    study.rail.pressure = 3e5;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        study.limit[i] = INFINITY;
    }
    const double pressure[] = {1e5, 4e5}, weak[] = {6e-5, 4e-5}, strong[] = {5e-5, 4.5e-5};
    assert_int_equal(shv_curve_table_init(&pump[0].pump.flow, 2, pressure, weak, NULL), SHV_OK);
    assert_int_equal(shv_curve_table_init(&pump[1].pump.flow, 2, pressure, strong, NULL), SHV_OK);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    shv_curve_table_free(&pump[0].pump.flow);
    shv_curve_table_free(&pump[1].pump.flow);
    return 0;
}

/* At 100 rev/s a cycle takes 20 ms: 17 ms less 1 ms of 5 ml/s pass more than 17 ms less 8 ms of
 * 6 ml/s. At 3 bar the first pump gives 46.7 ml/s, the second 46.7 as well; at 4 bar 40 and 45. */
static void most_fuel(void **state)
{
    (void)state;
    struct shv_kit kit = {0};
    setups_most_fuel(&study, &kit);
    assert_int_equal(kit.injector, 0);
    assert_true(kit.injector_flow == 5e-6);
    injector[1].dead_time = 1e-3; /* alike but for the size */
    setups_most_fuel(&study, &kit);
    assert_int_equal(kit.injector, 1);
    assert_true(kit.injector_flow == 6e-6);
    study.limit[SHV_LIMIT_INJECTOR_DUTY] = 0.5; /* 10 ms less 1 or 5 ms */
    injector[1].dead_time = 5e-3;
    setups_most_fuel(&study, &kit);
    assert_int_equal(kit.injector, 0);
}

static void most_fuel_of_a_pump(void **state)
{
    (void)state;
    struct shv_kit kit = {0};
    study.rail.pressure = 2e5; /* 53.3 and 48.3 ml/s */
    setups_most_fuel(&study, &kit);
    assert_int_equal(kit.pump, 0);
    study.rail.reference = SHV_RAIL_MANIFOLD; /* boost comes on top: 40 and 45 ml/s at 4 bar */
    study.limit[SHV_LIMIT_BOOST] = 2e5;
    setups_most_fuel(&study, &kit);
    assert_int_equal(kit.pump, 1);
    pump[0].is_unlimited = true;
    setups_most_fuel(&study, &kit);
    assert_int_equal(kit.pump, 0);
    pump[0].is_unlimited = false;
    study.limit[SHV_LIMIT_BOOST] = 3e5; /* beyond both curves: the first of equals */
    setups_most_fuel(&study, &kit);
    assert_int_equal(kit.pump, 0);
}

static void crank_pulleys(void **state)
{
    (void)state;
    struct search_task t;
    assert_false(setups_crank_matters(&study));
    setups_on_crank(&study, 1, &t);
    assert_true(isnan(t.kit.crank_diameter)); /* a ratio by itself, over all pulleys */
    assert_near(t.ratio_low, 0.14 / 0.09, 1e-12);
    assert_near(t.ratio_high, 0.18 / 0.06, 1e-12);
    study.limit[SHV_LIMIT_BELT_SPEED] = 40.0;
    assert_true(setups_crank_matters(&study));
    setups_on_crank(&study, 1, &t);
    assert_true(t.kit.crank_diameter == 0.16);
    assert_near(t.ratio_low, 0.16 / 0.09, 1e-12);
    assert_near(t.ratio_high, 0.16 / 0.06, 1e-12);
}

static void near_the_front(void **state)
{
    (void)state;
    struct shv_space space;
    struct search_task task[SHV_NEAR_MOST];
    struct shv_kit kit;
    assert_int_equal(shv_space_init(&space, &study, NULL), SHV_OK);
    const uint64_t index = space.size / 2 + 7;
    struct shv_near near = {
        .count = 3,
        .item = {{{100.0, index}, 0}, {{95.0, 3}, 1}, {{94.99, 4}, 2}}}; /* 5 % are near */
    assert_int_equal(setups_near(&study, &space, &near, task), 2);
    shv_space_kit(&space, &study, index, &kit);
    assert_int_equal(task[0].kit.blower, kit.blower);
    assert_int_equal(task[0].kit.fuel, kit.fuel);
    assert_int_equal(task[0].kit.cooler, kit.cooler);
    assert_true(task[0].kit.lambda == kit.lambda &&
                task[0].kit.ignition_margin == kit.ignition_margin);
    assert_true(task[0].kit.ratio == kit.ratio);
    assert_true(task[0].kit.effectiveness == kit.effectiveness);
    assert_int_equal(task[0].kit.injector, 0); /* those that carry most, not the kit's */
    assert_true(task[0].kit.injector_flow == 5e-6);
}

/* Both ends of each list are among them, and each setup is another. */
static void spread_over_the_lists(void **state)
{
    (void)state;
    struct search_task task[SETUPS_BLIND_MOST];
    study.limit[SHV_LIMIT_BELT_SPEED] = 40.0;
    size_t count = setups_blind(&study, 1, 1, task);
    assert_int_equal(count, 2 * 3 * 2 * 2);
    bool first[4] = {false}, last[4] = {false};
    for (size_t i = 0; i < count; i++) {
        const struct search_task *t = &task[i];
        assert_true(t->kit.blower == 1 && t->kit.fuel == 1);
        assert_true(isnan(t->kit.ratio) && isnan(t->kit.effectiveness));
        const bool low[] = {t->kit.cooler == 0, t->kit.lambda == 0.80,
                            t->kit.ignition_margin == 0.0, t->kit.crank_diameter == 0.14};
        const bool high[] = {t->kit.cooler == 1, t->kit.lambda == 0.92,
                             t->kit.ignition_margin == 2.0, t->kit.crank_diameter == 0.18};
        for (int k = 0; k < 4; k++) {
            first[k] = first[k] || low[k];
            last[k] = last[k] || high[k];
        }
        for (size_t other = 0; other < i; other++) {
            assert_false(task[other].kit.cooler == t->kit.cooler &&
                         task[other].kit.lambda == t->kit.lambda &&
                         task[other].kit.ignition_margin == t->kit.ignition_margin &&
                         task[other].kit.crank_diameter == t->kit.crank_diameter);
        }
    }
    for (int k = 0; k < 4; k++) {
        assert_true(first[k] && last[k]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(most_fuel, set_up, tear_down),
        cmocka_unit_test_setup_teardown(most_fuel_of_a_pump, set_up, tear_down),
        cmocka_unit_test_setup_teardown(crank_pulleys, set_up, tear_down),
        cmocka_unit_test_setup_teardown(near_the_front, set_up, tear_down),
        cmocka_unit_test_setup_teardown(spread_over_the_lists, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
