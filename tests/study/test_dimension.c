/* Choices and curves: what lands in the study from the ways to write them. */
#include "study/common.h"

#include "study/dimension.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_FUELS TRIAL_LIMITS

/* The n-th realloc() of the library's own code from now on fails; 0: none does. */
static size_t fails_at;
#ifndef __SANITIZE_ADDRESS__
extern void *__libc_realloc(void *old, size_t size);
extern const char __executable_start[], etext[];
void *realloc(void *old, size_t size)
{
    const char *caller = __builtin_return_address(0);
    bool own = caller >= __executable_start && caller < etext;
    return own && fails_at > 0 && --fails_at == 0 ? NULL : __libc_realloc(old, size);
}
#endif

static void check_lambdas(const char *text, size_t count, const double *values, size_t findings)
{
    struct trial trial;
    char study[2048];
    snprintf(study, sizeof study, REST "mixture = { lambda = %s; };\n", text);
    try_text(&trial, study);
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.findings.count, findings);
    assert_int_equal(trial.study.numbers[SHV_DIM_LAMBDA].count, count);
    for (size_t i = 0; i < count; i++) {
        assert_near(trial.study.numbers[SHV_DIM_LAMBDA].values[i], values[i], 1e-15);
    }
    end_trial(&trial);
}

static void test_ways_to_write(void **state)
{
    (void)state;
    static const double values[] = {0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1};
    check_lambdas("0.8", 1, values, 0);
    check_lambdas("\"80 %\"", 1, values, 0);
    check_lambdas("1", 1, (const double[]){1.0}, 0);
    check_lambdas("(0.8)", 1, values, 0);
    check_lambdas("[0.9, 0.8, 0.85]", 3, values, 0);
    check_lambdas("(1, \"95 %\", 0.9, 0.85, 0.8)", 5, values, 0);
    check_lambdas("{ from = 0.8; to = 0.8; step = 0.1; }", 1, values, 0);
    /* 0.3 / 0.05 is just below 6 in floating point; the end belongs to the grid all the same. */
    check_lambdas("{ from = 0.8; to = 1.1; step = 0.05; }", 7, values, 0);
    check_lambdas("{ from = \"80 %\"; to = \"90 %\"; step = \"5 %\"; }", 3, values, 0);
}

/* The end is no choice when it does not fall on a step, which is told. */
static void test_end_off_grid(void **state)
{
    (void)state;
    static const double values[] = {0.8, 0.95, 1.1};
    check_lambdas("{ from = 0.8; to = 1.19; step = 0.15; }", 3, values, 1);
    struct trial trial;
    try_text(&trial, REST "mixture = { lambda = { from = 0.8; to = 1.0; step = 0.3; }; };\n");
    assert_true(trial.findings.items[0].is_warning);
    assert_string_equal(finding(&trial, 0),
                        "mixture.lambda.to: does not fall on a step, so it is not one of the 1 "
                        "values");
    end_trial(&trial);
}

/* Many values: the end is hit to the bit and nothing drifts. */
static void test_long_range(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_BLOWERS TRIAL_FUELS TRIAL_LIMITS
             "drive = { crank_pulleys = \"0.18 m\";\n"
             " blower_pulleys = { from = \"50 mm\"; to = \"150 mm\"; step = \"0.001 mm\"; }; };\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.study.numbers[SHV_DIM_BLOWER_PULLEY].count, 100001);
    const double *pulleys = trial.study.numbers[SHV_DIM_BLOWER_PULLEY].values;
    assert_true(pulleys[0] == 0.05 && pulleys[100000] == 0.15);
    for (size_t i = 0; i < 100001; i++) {
        assert_near(pulleys[i], 0.05 + 1e-6 * (double)i, 1e-12);
    }
    end_trial(&trial);
}

static void check_speeds(const char *speed, size_t count, const double *rpm)
{
    struct trial trial;
    char study[2048];
    snprintf(study, sizeof study,
             TRIAL_TITLE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_FUELS TRIAL_LIMITS
             "engine = { name = \"e\"; cylinders = 4; bore = \"0.086 m\"; stroke = \"0.086 m\";\n"
             " compression_ratio = 9; volumetric_efficiency = ((\"2000 rpm\", 0.85));\n"
             " efficiency = { model = \"stock_torque\"; }; stock_torque = ((\"2000 rpm\", \"150 N "
             "m\"));\n"
             " speed = %s; };\n",
             speed);
    try_text(&trial, study);
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.study.engine.speed_count, count);
    for (size_t i = 0; i < count; i++) {
        assert_near(trial.study.engine.speeds[i], rpm[i] / 60.0, 1e-15);
    }
    end_trial(&trial);
}

/* The rev range, unlike a dimension, always has its end. */
static void test_speeds(void **state)
{
    (void)state;
    check_speeds("{ from = \"1000 rpm\"; to = \"3000 rpm\"; step = \"1000 rpm\"; }", 3,
                 (const double[]){1000, 2000, 3000});
    check_speeds("{ from = \"1000 rpm\"; to = \"2500 rpm\"; step = \"1000 rpm\"; }", 3,
                 (const double[]){1000, 2000, 2500});
    check_speeds("{ from = \"1000 rpm\"; to = \"1100 rpm\"; step = \"500 rpm\"; }", 2,
                 (const double[]){1000, 1100});
    check_speeds("{ from = \"1000 rpm\"; to = \"1300 rpm\"; step = \"100 rpm\"; }", 4,
                 (const double[]){1000, 1100, 1200, 1300});
}

/* A curve over pressure takes 0, which one over speed does not. */
static void test_curve_over_pressure(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial,
             REST "pumps = ( { name = \"p\"; flow = [[0.0, 3e-5], [\"4 bar\", 2e-5]]; } );\n");
    assert_int_equal(trial.status, SHV_BAD_INPUT); /* arrays hold no arrays */
    end_trial(&trial);
    try_text(&trial, REST "pumps = ( { name = \"p\"; flow = ((\"0 Pa\", \"3e-5 m3/s\"), (\"4 "
                          "bar\", \"72 l/hour\")); } );\n");
    assert_int_equal(trial.status, SHV_OK);
    const struct shv_curve_table *flow = &trial.study.pumps[0].pump.flow;
    assert_int_equal(flow->count, 2);
    assert_true(flow->x[0] == 0.0 && flow->y[0] == 3e-5);
    assert_near(flow->x[1], 400e3, 1e-15);
    assert_near(flow->y[1], 2e-5, 1e-14);
    assert_near(shv_curve_table_at(flow, 200e3), 2.5e-5, 1e-14);
    end_trial(&trial);
    try_text(&trial, TRIAL_TITLE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_FUELS TRIAL_LIMITS
             "engine = { name = \"e\"; cylinders = 4; bore = \"0.086 m\"; stroke = \"0.086 m\";\n"
             " compression_ratio = 9; efficiency = { model = \"constant\"; indicated = 0.3; };\n"
             " speed = { from = \"1000 rpm\"; to = \"3000 rpm\"; step = \"1000 rpm\"; };\n"
             " volumetric_efficiency = ((\"0 rpm\", 0.85)); };\n");
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(finding(&trial, 0),
                        "engine.volumetric_efficiency[1][1]: found \"0 rpm\"; accepted: "
                        "more than 0, up to 30000 rpm");
    end_trial(&trial);
}

static void test_nearly_equal(void **state)
{
    (void)state;
    assert_true(nearly_equal(1.0, 1.0 + 0.9e-9));
    assert_false(nearly_equal(1.0, 1.0 + 1.1e-9));
    assert_true(nearly_equal(0.0, 0.0));
    assert_false(nearly_equal(0.0, 1e-300));
    assert_false(nearly_equal(NAN, NAN));
}

static void test_add(void **state)
{
    (void)state;
    struct shv_numbers dimension = {0};
    for (int i = 0; i < 1000; i++) {
        assert_true(dimension_add(&dimension, i));
    }
    assert_int_equal(dimension.count, 1000);
    for (int i = 0; i < 1000; i++) {
        assert_true(dimension.values[i] == (double)i);
    }
    free(dimension.values);
}

/* However a dimension is written, a value that finds no room ends with what is wrong, never with
 * fewer values. */
static void test_out_of_memory(void **state)
{
    (void)state;
    static const char *const ways[] = {"(0.8, 0.85, 0.9, 0.95, 1.0)",
                                       "{ from = 0.8; to = 1.0; step = 0.05; }", "0.8", NULL};
#ifdef __SANITIZE_ADDRESS__
    skip();
#endif
    for (size_t way = 0; ways[way]; way++) {
        char study[2048];
        snprintf(study, sizeof study, REST "mixture = { lambda = %s; };\n", ways[way]);
        size_t refused = 0;
        for (size_t n = 1;; n++) {
            struct trial trial;
            fails_at = n;
            try_text(&trial, study);
            bool failed = fails_at == 0;
            fails_at = 0;
            if (failed && trial.status != SHV_OK) {
                assert_int_equal(trial.status, SHV_NO_MEMORY);
                refused++;
            } else {
                assert_int_equal(trial.study.numbers[SHV_DIM_LAMBDA].count, way == 2 ? 1 : 5);
            }
            end_trial(&trial);
            if (!failed) {
                break;
            }
        }
        assert_true(refused >= (way == 2 ? 1 : 4));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_out_of_memory), cmocka_unit_test(test_ways_to_write),
        cmocka_unit_test(test_end_off_grid),  cmocka_unit_test(test_long_range),
        cmocka_unit_test(test_speeds),        cmocka_unit_test(test_curve_over_pressure),
        cmocka_unit_test(test_nearly_equal),  cmocka_unit_test(test_add),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
