/* The group `fit`: what it means, and what must be refused. */
#include "study/common.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_FUELS TRIAL_LIMITS
#define COLUMN(channel, more) "{ channel = \"" channel "\"; column = \"x\"; " more "}"
#define SPEED "{ channel = \"speed\"; column = \"rpm\"; }"
#define LOG(inside) "{ name = \"dyno\"; " inside " }"
#define FREE "free = ( { correction = \"leakage\"; } ); "
#define GOOD_COLUMNS "columns = (" SPEED ", " COLUMN("power", "unit = \"hp\"; share = 0.02; ") ");"

static void test_defaults(void **state)
{
    (void)state;
    struct trial t;
    try_text(&t, REST "fit = { logs = (" LOG(GOOD_COLUMNS) "); " FREE "};");
    assert_int_equal(t.status, SHV_OK);
    const struct shv_fit_plan *fit = &t.study.fit;
    assert_int_equal(fit->logs, 1);
    assert_int_equal(fit->free, 1);
    assert_near(fit->loss_threshold, 2.0, 0);
    assert_int_equal(fit->starts, 6);
    const struct shv_measured_log *log = &fit->log[0];
    assert_string_equal(log->name, "dyno");
    assert_int_equal(log->kind, SHV_LOG_OF_KIT);
    assert_int_equal(log->columns, 2);
    assert_string_equal(log->column[1].unit, "hp");
    assert_null(log->column[0].unit);
    assert_near(log->column[1].share, 0.02, 1e-15);
    assert_near(log->fall, 100.0 / 60.0, 1e-12);
    assert_near(log->kit.crank_diameter, 0.18, 0);
    assert_near(log->kit.blower_diameter, 0.07, 0);
    assert_near(log->kit.lambda, 0.88, 0);
    assert_true(log->kit.cooler == 0 && log->kit.effectiveness == 0.0);
    assert_near(log->ambient.pressure, 101325.0, 1e-12);
    assert_near(log->power_share, 1.0, 0);
    const struct shv_freed *freed = &fit->freed[0];
    assert_int_equal(freed->correction, SHV_CORRECT_LEAKAGE);
    assert_near(freed->from, shv_correction_info(SHV_CORRECT_LEAKAGE)->least, 0);
    assert_near(freed->to, shv_correction_info(SHV_CORRECT_LEAKAGE)->most, 0);
    assert_true(isinf(freed->prior_deviation));
    end_trial(&t);
}

static void test_no_group(void **state)
{
    (void)state;
    struct trial t;
    try_text(&t, REST);
    assert_int_equal(t.status, SHV_OK);
    assert_int_equal(t.study.fit.logs, 0);
    assert_null(t.study.fit.log);
    end_trial(&t);
}

/* A kit by names, and air of its own. */
static void test_named(void **state)
{
    (void)state;
    struct trial t;
    try_text(&t, TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_LIMITS
             "blowers = ( " TRIAL_BLOWER("b") ", " TRIAL_BLOWER(
                 "c") " );\n"
                      "coolers = ( " TRIAL_COOLER(
                          "core") " );\n"
                                  "fuels = ( " TRIAL_FUEL("f") ", " TRIAL_FUEL(
                                      "g") " );\n"
                                           "fit = { logs = (" LOG(
                                               GOOD_COLUMNS "blower = \"c\"; cooler = \"core\"; "
                                                            "fuel = \"g\"; ratio = 2.2; "
                                                            "lambda = 0.8; altitude = \"1000 m\"; "
                                                            "temperature = \"10 degC\"; "
                                                            "humidity = 0.4;") "); " FREE "};");
    assert_int_equal(t.status, SHV_OK);
    const struct shv_measured_log *log = &t.study.fit.log[0];
    assert_int_equal(log->kit.blower, 1);
    assert_int_equal(log->kit.cooler, 1);
    assert_near(log->kit.effectiveness, 0.6, 0);
    assert_int_equal(log->kit.fuel, 1);
    assert_near(log->kit.ratio, 2.2, 0);
    assert_true(isnan(log->kit.crank_diameter));
    assert_near(log->kit.lambda, 0.8, 0);
    assert_near(log->ambient.pressure, shv_atmosphere_pressure(1000.0), 0);
    assert_near(log->ambient.temperature, 283.15, 1e-12);
    assert_near(log->ambient.relative_humidity, 0.4, 0);
    end_trial(&t);
}

static void refused(const char *text, const char *found)
{
    struct trial t;
    try_text(&t, text);
    assert_int_equal(t.status, SHV_BAD_INPUT);
    bool told = false;
    for (size_t i = 0; i < t.findings.count; i++) {
        told = told || strstr(t.findings.items[i].text, found) != NULL;
    }
    if (!told) {
        fail_msg("not told: %s; first: %s", found, t.findings.items[0].text);
    }
    end_trial(&t);
}

#define FIT(logs, free) REST "fit = { logs = (" logs "); free = (" free "); };"
#define LEAKAGE "{ correction = \"leakage\"; }"

static void test_refused_logs(void **state)
{
    (void)state;
    refused(FIT(LOG("columns = (" SPEED ", " COLUMN("torqe", "") ");"), LEAKAGE),
            "did you mean \"torque\"?");
    refused(FIT(LOG("columns = (" SPEED ", " COLUMN("throttle", "") ");"), LEAKAGE),
            "found nothing that is measured");
    refused(FIT(LOG("columns = (" COLUMN("torque", "") ", " COLUMN("power", "") ");"), LEAKAGE),
            "found no column of the channel \"speed\"");
    refused(FIT(LOG("columns = (" SPEED ", " COLUMN("power", "") ", " COLUMN("power", "") ");"),
                LEAKAGE),
            "found \"power\" twice");
    refused(FIT(LOG("kind = \"stock\"; columns = (" SPEED ", " COLUMN("boost", "") ");"), LEAKAGE),
            "found \"boost\"; accepted: what a log of kind \"stock\" can hold");
    refused(FIT(LOG("kind = \"stock\"; blower = \"b\"; " GOOD_COLUMNS), LEAKAGE), "blower");
    refused(FIT(LOG("kind = \"bench\"; columns = (" COLUMN("rotor_speed",
                                                           "") ", " COLUMN("air_flow", "") ");"),
                LEAKAGE),
            "one of the channels \"outlet_pressure\", \"pressure_ratio\" and \"boost\"");
    refused(FIT(LOG("columns = (" SPEED ", " COLUMN("ca50", "") ");"), LEAKAGE),
            "only with engine.efficiency.model = \"cycle\"");
    refused(FIT(LOG("columns = ( { channel = \"speed\"; column = \"rpm\"; error = 3; }, " COLUMN(
                    "power", "") ");"),
                LEAKAGE),
            "a measured channel");
    refused(FIT(LOG("throttle_least = 0.9; " GOOD_COLUMNS), LEAKAGE), "throttle");
    refused(FIT(LOG("blower = \"d\"; " GOOD_COLUMNS), LEAKAGE),
            "accepted: the name of one of this study's blowers");
    refused(FIT(LOG("effectiveness = 0.5; " GOOD_COLUMNS), LEAKAGE), "a cooler");
    refused(FIT(LOG("ratio = 2; crank_pulley = \"0.2 m\"; " GOOD_COLUMNS), LEAKAGE), "no ratio");
    refused(FIT(LOG("altitude = \"0 m\"; pressure = \"1e5 Pa\"; " GOOD_COLUMNS), LEAKAGE),
            "one of the two");
    refused(FIT(LOG(GOOD_COLUMNS) ", " LOG(GOOD_COLUMNS), LEAKAGE), "found \"dyno\" twice");
}

static void test_refused_corrections(void **state)
{
    (void)state;
#define ONE_LOG LOG(GOOD_COLUMNS)
    refused(FIT(ONE_LOG, "{ correction = \"leakages\"; }"), "did you mean \"leakage\"?");
    refused(FIT(ONE_LOG, "{ correction = \"injector_flow\"; }"),
            "found \"injector_flow\"; accepted: \"volumetric_efficiency\", ");
    refused(FIT(ONE_LOG, "{ correction = \"knock\"; }"),
            "only with engine.efficiency.model = \"cycle\"");
    refused(FIT(ONE_LOG, LEAKAGE ", " LEAKAGE), "found \"leakage\" twice");
    refused(FIT(ONE_LOG, "{ correction = \"leakage\"; from = 2; to = 1; }"),
            "accepted: more than from, 2");
    refused(FIT(ONE_LOG, "{ correction = \"leakage\"; to = 50; }"), "accepted of leakage: 0 to 5");
    refused(FIT(ONE_LOG, "{ correction = \"leakage\"; prior = 1; }"), "prior_deviation");
    refused(REST "fit = { logs = (" ONE_LOG "); };", "free");
}

/* Several choices in the study: which one stood there has to be said. */
static void test_open_choices(void **state)
{
    (void)state;
    refused(TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_LIMITS TRIAL_FUELS
            "drive = { crank_pulleys = [\"0.16 m\", \"0.18 m\"]; blower_pulleys = \"0.07 m\"; };\n"
            "blowers = ( " TRIAL_BLOWER("b") ", " TRIAL_BLOWER("c") " );\n"
                                                                    "fit = { logs = (" ONE_LOG
                                                                    "); " FREE "};",
            "accepted: which of the study's 2 choices stood there");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_defaults),
        cmocka_unit_test(test_no_group),
        cmocka_unit_test(test_named),
        cmocka_unit_test(test_refused_logs),
        cmocka_unit_test(test_refused_corrections),
        cmocka_unit_test(test_open_choices),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
