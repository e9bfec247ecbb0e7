/* Rising and falling speed, runs and smoothing of logs. */
#include "study/common.h"

#include "sheave/log_file.h"

static struct shv_units *units;

static int open_units(void **state)
{
    (void)state;
    return shv_units_open(&units, NULL) == SHV_OK ? 0 : -1;
}

static int close_units(void **state)
{
    (void)state;
    shv_units_free(units);
    return 0;
}

static const struct shv_log_want two[] = {
    {.column = "speed", .quantity = SHV_Q_ROTATION, .role = SHV_LOG_NEEDED},
    {.column = "x", .quantity = SHV_Q_NUMBER, .role = SHV_LOG_MEASURED},
    {.column = "y", .quantity = SHV_Q_NUMBER, .role = SHV_LOG_MEASURED}};

static void read_speeds(const double *speeds, size_t count, const struct shv_log_rules *rules,
                        struct shv_log *log)
{
    FILE *file = fopen("rows.csv", "w");
    assert_non_null(file);
    fprintf(file, "speed [rpm],x,y\n");
    for (size_t i = 0; i < count; i++) {
        fprintf(file, "%.10g,%zu,%s\n", speeds[i], i, i % 2 == 0 ? "8" : "");
    }
    assert_int_equal(fclose(file), 0);
    struct shv_message message;
    struct shv_diagnostics findings = {0};
    if (first_finding(shv_log_read("rows.csv", units, rules, log, &findings), &findings,
                      &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    remove("rows.csv");
}

static struct shv_log_rules rules_of(double fall_rpm, double bin_rpm)
{
    return (struct shv_log_rules){.want = two,
                                  .wants = 3,
                                  .speed = 0,
                                  .throttle = SHV_LOG_NO_COLUMN,
                                  .speed_most = 300.0,
                                  .fall = fall_rpm / 60.0,
                                  .bin = bin_rpm / 60.0};
}

/* Two pulls with noise of less than the band, the engine coasting down between them. */
static void test_two_pulls(void **state)
{
    (void)state;
    static const double speeds[] = {2000, 2500, 2450, 3000, 3500, 2900,
                                    2200, 2150, 2600, 3100, 3050, 3600};
    const struct shv_log_rules rules = rules_of(100.0, 0.0);
    struct shv_log log;
    read_speeds(speeds, 12, &rules, &log);
    assert_int_equal(log.runs, 2);
    assert_int_equal(log.rows, 9);
    assert_int_equal(log.dropped[SHV_LOG_FALLING], 3);
    assert_int_equal(log.row[4].run, 0);
    assert_int_equal(log.row[5].run, 1);
    assert_int_equal(log.row[5].line, 10);
    assert_string_equal(log.run_name[1], "run 2");
    shv_log_free(&log);
}

/* Without the rule steady points may stand in any order. */
static void test_any_order(void **state)
{
    (void)state;
    static const double speeds[] = {5000, 2000, 4000, 3000};
    const struct shv_log_rules rules = rules_of(0.0, 0.0);
    struct shv_log log;
    read_speeds(speeds, 4, &rules, &log);
    assert_int_equal(log.rows, 4);
    assert_int_equal(log.runs, 1);
    shv_log_free(&log);
}

/* Bins are centred at whole multiples; a cell without a value does not count in the mean. */
static void test_bins(void **state)
{
    (void)state;
    static const double speeds[] = {2060, 2090, 2130, 2151, 2240};
    const struct shv_log_rules rules = rules_of(0.0, 100.0);
    struct shv_log log;
    read_speeds(speeds, 5, &rules, &log);
    assert_int_equal(log.rows, 2);
    assert_near(log.value[0] * 60.0, (2060.0 + 2090.0 + 2130.0) / 3.0, 1e-12);
    assert_near(log.value[1], 1.0, 1e-12); /* of 0, 1 and 2 */
    assert_near(log.value[2], 8.0, 1e-12); /* of 8, nothing and 8 */
    assert_int_equal(log.row[0].merged, 3);
    assert_near(log.value[3] * 60.0, 0.5 * (2151.0 + 2240.0), 1e-12);
    assert_near(log.value[5], 8.0, 1e-12);
    shv_log_free(&log);
}

static void test_drop_row(void **state)
{
    (void)state;
    static const double speeds[] = {2000, 2100, 2200};
    const struct shv_log_rules rules = rules_of(0.0, 0.0);
    struct shv_log log;
    read_speeds(speeds, 3, &rules, &log);
    assert_int_equal(shv_log_drop_row(&log, 1, SHV_LOG_NO_ANSWER, NULL), SHV_OK);
    assert_int_equal(log.rows, 2);
    assert_near(log.value[log.wants + 1], 2.0, 0.0);
    assert_int_equal(log.drop[0].line, 3);
    assert_int_equal(log.dropped[SHV_LOG_NO_ANSWER], 1);
    for (int i = 0; i < SHV_LOG_REASONS; i++) {
        assert_non_null(shv_log_drop_words((enum shv_log_drop_reason)i));
    }
    shv_log_free(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_two_pulls),
        cmocka_unit_test(test_any_order),
        cmocka_unit_test(test_bins),
        cmocka_unit_test(test_drop_row),
    };
    return cmocka_run_group_tests(tests, open_units, close_units);
}
