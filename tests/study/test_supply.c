/* Injectors, pumps and rail: where parts come from, and when their limits have a meaning. */
#include "study/common.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_FUELS
#define CATALOGUE                                                                                  \
    "catalogue = { injectors = ( { name = \"i\"; flow = [\"1e-5 m3/s\", \"8e-6 m3/s\"]; } );\n"    \
    " pumps = ( { name = \"p\"; flow = ((\"3e5 Pa\", \"4e-5 m3/s\")); } ); };\n"

/* Named, they leave the catalogue; sizes ascend whatever their order. */
static void test_from_catalogue(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial,
             REST CATALOGUE "injectors = ( { name = \"own\"; flow = \"5e-6 m3/s\"; }, \"i\" );\n"
                            "pumps = [\"p\"];\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.findings.count, 0); /* their own bounds are limits */
    assert_int_equal(trial.study.injector_count, 2);
    assert_string_equal(trial.study.injectors[1].name, "i");
    assert_int_equal(trial.study.injectors[1].rated_flow.count, 2);
    assert_true(trial.study.injectors[1].rated_flow.values[0] == 8e-6);
    assert_true(trial.study.injectors[1].rated_flow.values[1] == 1e-5);
    assert_int_equal(trial.study.pump_count, 1);
    assert_string_equal(trial.study.pumps[0].name, "p");
    assert_true(trial.study.pumps[0].pump.flow.y[0] == 4e-5);
    end_trial(&trial);
}

/* What the catalogue has is not in the study until it is named; an empty list names nothing. */
static void test_not_named(void **state)
{
    (void)state;
    static const char *const texts[] = {REST CATALOGUE TRIAL_LIMITS, REST CATALOGUE TRIAL_LIMITS
                                        "injectors = ();\npumps = [];\n"};
    for (size_t i = 0; i < 2; i++) {
        struct trial trial;
        try_text(&trial, texts[i]);
        assert_int_equal(trial.status, SHV_OK);
        assert_int_equal(trial.study.injector_count, 1);
        assert_true(trial.study.injectors[0].is_unlimited);
        assert_int_equal(trial.study.pump_count, 1);
        assert_true(trial.study.pumps[0].is_unlimited);
        end_trial(&trial);
    }
}

/* A limit that nothing can break is a mistake; the rail may be described in any case. */
static void test_limits(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST CATALOGUE "fuel_system = { rail_pressure = \"4e5 Pa\"; };\n"
                                    "limits = { injector_duty = 0.8; pump_flow = 0.9; };\n"
                                    "pumps = (\"p\");\n");
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(
        finding(&trial, 0),
        "limits.injector_duty: found where it has no meaning; accepted: only with injectors");
    end_trial(&trial);
    /* A list that cannot be read is told by itself. */
    try_text(&trial, REST "injectors = 3;\nlimits = { injector_duty = 0.8; };\n");
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(finding(&trial, 0),
                        "injectors: found 3; accepted: a list ( ... ) of groups { ... } and names "
                        "in quotes");
    end_trial(&trial);
}

/* A level curve is that of a pump with a valve of its own. */
static void test_level_curve(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST "pumps = ( { name = \"p\"; flow = ((\"1e5 Pa\", \"4e-5 m3/s\"), (\"3e5 "
                          "Pa\", \"4e-5 m3/s\"), (\"5e5 Pa\", \"0 m3/s\")); "
                          "line_loss = \"0.1 bar\"; } );\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.study.pumps[0].pump.flow.count, 3);
    assert_near(trial.study.pumps[0].pump.line_loss, 1e4, 1e-15);
    end_trial(&trial);
}

/* A mass flow is one of the test fluid: 42 lb/h of 684 kg/m3. */
static void test_mass_flow(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial,
             REST "injectors = ( { name = \"i\"; flow = [\"42 lb/h\", \"60 lb/hr\"]; } );\n");
    assert_int_equal(trial.status, SHV_OK);
    const struct shv_injector_part *part = &trial.study.injectors[0];
    assert_int_equal(part->rated_flow.count, 2);
    assert_near(part->rated_flow.values[0], 42 * 0.45359237 / 3600.0 / 684.0, 1e-12);
    assert_near(part->rated_flow.values[1], 60 * 0.45359237 / 3600.0 / 684.0, 1e-12);
    end_trial(&trial);
    try_text(&trial,
             REST "injectors = ( { name = \"i\"; flow = [\"42 lb/h\", \"300 cc/min\"]; } );\n");
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    end_trial(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mass_flow),   cmocka_unit_test(test_from_catalogue),
        cmocka_unit_test(test_not_named),   cmocka_unit_test(test_limits),
        cmocka_unit_test(test_level_curve),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
