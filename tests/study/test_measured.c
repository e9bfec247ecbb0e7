/* Logs read as a study describes them. */
#include "study/common.h"

#include "sheave/measured.h"

static struct shv_measured_column columns[] = {
    {.channel = SHV_CHANNEL_SPEED, .column = "n"},
    {.channel = SHV_CHANNEL_THROTTLE, .column = "tps"},
    {.channel = SHV_CHANNEL_AMBIENT_TEMPERATURE, .column = "t0", .unit = "degC"},
    {.channel = SHV_CHANNEL_POWER, .column = "p", .unit = "kW"},
    {.channel = SHV_CHANNEL_RUN, .column = "run"},
};

static const struct shv_measured_log plan = {.name = "dyno",
                                             .kind = SHV_LOG_OF_KIT,
                                             .columns = 5,
                                             .column = columns,
                                             .throttle_least = 0.95,
                                             .fall = 100.0 / 60.0};

static enum shv_status read_text(const char *bytes, struct shv_log *log,
                                 struct shv_message *message)
{
    struct shv_units *units;
    assert_int_equal(shv_units_open(&units, NULL), SHV_OK);
    write_text("m.csv", bytes);
    struct shv_diagnostics findings = {0};
    enum shv_status status =
        shv_measured_read(&plan, "m.csv", units, 2000.0 / 60.0, 6000.0 / 60.0, log, &findings);
    status = first_finding(status, &findings, message);
    remove("m.csv");
    shv_units_free(units);
    return status;
}

/* The air may be missing, the throttle may not; a row without power has nothing to compare; the
 * ends of the rev range belong to it. */
static void test_roles(void **state)
{
    (void)state;
    struct shv_log log;
    assert_int_equal(
        read_text("n [rpm],tps [%],t0,p,run\n2000,100,,30,a\n3000,,20,40,a\n4000,100,20,,a\n"
                  "6000,95,20,80,b\n6100,100,20,81,b\n",
                  &log, NULL),
        SHV_OK);
    assert_int_equal(log.rows, 2);
    assert_int_equal(log.runs, 2);
    assert_int_equal(log.dropped[SHV_LOG_MISSING], 1);
    assert_int_equal(log.dropped[SHV_LOG_NOTHING], 1);
    assert_int_equal(log.dropped[SHV_LOG_OUTSIDE], 1);
    assert_true(isnan(log.value[2]));
    assert_near(log.value[5 + 3], 80e3, 1e-12);
    shv_log_free(&log);
}

static void test_share_in_per_cent(void **state)
{
    (void)state;
    struct shv_log log;
    struct shv_message message;
    assert_int_equal(read_text("n [rpm],tps,t0,p,run\n2000,100,20,30,a\n", &log, &message),
                     SHV_BAD_INPUT);
    assert_string_equal(message.text, "m.csv:2: column \"tps\": found a throttle of 100; accepted: "
                                      "a share up to 1, or \"%\" as its unit");
    assert_null(log.value);
    assert_int_equal(
        read_text("n [rpm],tps,t0,p,run\n2000,1,20,30,a\n2500,99,20,31,a\n", &log, &message),
        SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "m.csv:3: column \"tps\": found a throttle of 99"));
}

/* Lambda by the air-fuel ratio of the log's fuel, over its rows that have one; columns by channel.
 */
static void test_mixture(void **state)
{
    (void)state;
    static struct shv_measured_column with[] = {
        {.channel = SHV_CHANNEL_SPEED, .column = "n"},
        {.channel = SHV_CHANNEL_AIR_FUEL_RATIO, .column = "afr"},
        {.channel = SHV_CHANNEL_POWER, .column = "p", .unit = "kW"},
        {.channel = SHV_CHANNEL_IGNITION, .column = "spark"}};
    const struct shv_measured_log dyno = {.name = "dyno",
                                          .kind = SHV_LOG_OF_KIT,
                                          .columns = 4,
                                          .column = with,
                                          .stoichiometric = 14.5};
    struct shv_units *units;
    struct shv_log log;
    struct shv_diagnostics findings = {0};
    bool there[SHV_CHANNEL_COUNT];
    assert_int_equal(shv_units_open(&units, NULL), SHV_OK);
    write_text("m.csv",
               "n [rpm],afr,p,spark [deg]\n3000,11.6,40,20\n4000,,50,---\n5000,13.05,60,22\n");
    assert_int_equal(shv_measured_columns(&dyno, "m.csv", units, there, NULL), SHV_OK);
    assert_true(there[SHV_CHANNEL_AIR_FUEL_RATIO] && there[SHV_CHANNEL_IGNITION]);
    assert_false(there[SHV_CHANNEL_LAMBDA]);
    assert_int_equal(shv_measured_read(&dyno, "m.csv", units, 0.0, 1e9, &log, &findings), SHV_OK);
    assert_int_equal(log.rows, 3); /* a row without either is used all the same */
    struct shv_measured_mixture m = shv_measured_mixture(&dyno, &log);
    assert_near(m.mean, 0.85, 1e-12);
    assert_near(m.least, 0.8, 1e-12);
    assert_near(m.most, 0.9, 1e-12);
    shv_log_free(&log);
    write_text("m.csv", "n [rpm],p,spark [deg]\n3000,40,20\n");
    assert_int_equal(shv_measured_columns(&dyno, "m.csv", units, there, NULL), SHV_OK);
    assert_false(there[SHV_CHANNEL_AIR_FUEL_RATIO]);
    write_text("m.csv", "nothing,of,that\n1,2,3\n");
    assert_int_equal(shv_measured_columns(&dyno, "m.csv", units, there, NULL), SHV_OK);
    assert_false(there[SHV_CHANNEL_SPEED]);
    remove("m.csv");
    assert_int_equal(shv_measured_columns(&dyno, "m.csv", units, there, NULL), SHV_IO);
    shv_units_free(units);
}

static void test_find(void **state)
{
    (void)state;
    assert_int_equal(shv_measured_find(&plan, SHV_CHANNEL_POWER), 3);
    assert_true(shv_measured_find(&plan, SHV_CHANNEL_BOOST) == SHV_LOG_NO_COLUMN);
}

/* A volume flow without a state is that of the air at the inlet, row by row: p / (R T), R of dry
 * air 287.05 J/(kg K). */
static void test_volume_flow(void **state)
{
    (void)state;
    static struct shv_measured_column bench[] = {
        {.channel = SHV_CHANNEL_ROTOR_SPEED, .column = "n"},
        {.channel = SHV_CHANNEL_PRESSURE_RATIO, .column = "pr"},
        {.channel = SHV_CHANNEL_INLET_TEMPERATURE, .column = "t1", .unit = "K"},
        {.channel = SHV_CHANNEL_INLET_PRESSURE, .column = "p1", .unit = "Pa"},
        {.channel = SHV_CHANNEL_AIR_FLOW, .column = "q", .unit = "m3/h"}};
    const struct shv_measured_log log_plan = {
        .name = "bench", .kind = SHV_LOG_OF_BENCH, .columns = 5, .column = bench};
    struct shv_units *units;
    struct shv_log log;
    struct shv_diagnostics findings = {0};
    assert_int_equal(shv_units_open(&units, NULL), SHV_OK);
    write_text("m.csv", "n [rpm],pr,t1,p1,q\n3000,1.4,300,100000,360\n3000,1.6,250,100000,360\n");
    assert_int_equal(shv_measured_read(&log_plan, "m.csv", units, 0.0, 1e9, &log, &findings),
                     SHV_OK);
    remove("m.csv");
    shv_units_free(units);
    assert_near(log.value[4], 0.1 * 1e5 / (287.05 * 300.0), 1e-4);
    assert_near(log.value[9], 0.1 * 1e5 / (287.05 * 250.0), 1e-4);
    shv_log_free(&log);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_roles),       cmocka_unit_test(test_share_in_per_cent),
        cmocka_unit_test(test_find),        cmocka_unit_test(test_mixture),
        cmocka_unit_test(test_volume_flow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
