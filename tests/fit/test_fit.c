/* The fit to logs that its own model made: does it find what went in, and is it as sure as it says?
 */
#include "support/fit_logs.h"

#define FREE                                                                                       \
    "free = ( { correction = \"volumetric_efficiency\"; from = 0.85; to = 1.15; },\n"              \
    " { correction = \"leakage\"; from = 0.4; to = 2.5; },\n"                                      \
    " { correction = \"efficiency\"; from = 0.9; to = 1.1; } );\n"
#define KIT(columns) "fit = { logs = ( { name = \"dyno\"; columns = (" columns "); } );\n" FREE

enum { COLUMNS = 5, ROWS = 11, MOST_ROWS = 120 };
static const double truth[] = {0.96, 1.4, 1.03};
static const double deviation[COLUMNS] = {0.0, 1000.0, 2.0, 1500.0, 0.002};

static const char full[] =
    KIT(FIT_SPEED "," FIT_MAP "," FIT_HOT "," FIT_POWER "," FIT_AIR) " starts = 1; };\n";

/* Speeds of `runs` pulls from 1500 to 6500 rpm. */
static size_t pulls(double *cells, size_t columns, size_t rows, size_t runs)
{
    for (size_t i = 0; i < rows * runs; i++) {
        cells[i * columns] = 1500.0 + 5000.0 * (double)(i % rows) / (double)(rows - 1);
    }
    return rows * runs;
}

static void test_without_noise(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double cells[ROWS * COLUMNS];
    fit_study(&study, full);
    (void)pulls(cells, COLUMNS, ROWS, 1);
    fit_fill_cells(&study, 0, truth, cells, ROWS);
    fit_one(&study, cells, ROWS, &fit, &r);
    for (size_t k = 0; k < 3; k++) {
        assert_within(r.least.x[k], truth[k], 1e-7);
        assert_true(r.least.error[k] > 0.0 && r.least.error[k] < 0.2);
        assert_within(r.corrections.value[study.fit.freed[k].correction], r.least.x[k], 0.0);
    }
    assert_within(r.corrections.value[SHV_CORRECT_FRICTION], 1.0, 0.0);
    assert_int_equal(r.entries, ROWS * (COLUMNS - 1));
    assert_int_equal(r.channels, COLUMNS - 1);
    assert_within(r.spread, 1.0, 0.0);
    assert_true(r.chi_start > 1.0);
    assert_int_equal(r.left_outs, 0);
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* Of 600 intervals of 95 % between 92 and 98 % hold the truth: two standard deviations of the
 * binomial distribution are 1.8 %. */
static void test_coverage(void **state)
{
    (void)state;
    enum { REPEATS = 200 };
    struct shv_study study;
    double clean[ROWS * COLUMNS], cells[ROWS * COLUMNS];
    size_t held = 0;
    double sum = 0.0;
    fit_study(&study, full);
    (void)pulls(clean, COLUMNS, ROWS, 1);
    fit_fill_cells(&study, 0, truth, clean, ROWS);
    for (size_t repeat = 0; repeat < REPEATS; repeat++) {
        uint64_t random = 1000 + repeat;
        struct shv_fit *fit;
        struct shv_fit_result r;
        for (size_t i = 0; i < ROWS * COLUMNS; i++) {
            cells[i] = clean[i] + deviation[i % COLUMNS] * random_normal(&random);
        }
        fit_one(&study, cells, ROWS, &fit, &r);
        for (size_t k = 0; k < 3; k++) {
            held += fabs(r.least.x[k] - truth[k]) <= 1.959964 * shv_fit_error(&r, k) ? 1 : 0;
        }
        sum += (r.least.x[0] - truth[0]) / r.least.error[0];
        shv_fit_result_free(&r);
        shv_fit_free(fit);
    }
    print_message("coverage of 95 %% intervals: %.1f %%\n", 100.0 * (double)held / (3.0 * REPEATS));
    assert_true(held >= 552 && held <= 588);
    /* No bias that 200 repeats would show: their mean has a deviation of 0.07. */
    assert_within(sum / REPEATS, 0.0, 0.22);
    shv_study_free(&study);
}

/* A row with power off by a half moves nothing by more than a fraction of a standard deviation. */
static void test_bad_row(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double cells[ROWS * COLUMNS];
    fit_study(&study, full);
    (void)pulls(cells, COLUMNS, ROWS, 1);
    fit_fill_cells(&study, 0, truth, cells, ROWS);
    cells[5 * COLUMNS + 3] *= 0.5;
    fit_one(&study, cells, ROWS, &fit, &r);
    for (size_t k = 0; k < 3; k++) {
        assert_within(r.least.x[k], truth[k], 0.8 * r.least.error[k]);
    }
    size_t held = 0;
    for (size_t i = 0; i < r.entries; i++) {
        held += r.entry[i].weight < 1.0 ? 1 : 0;
        if (r.entry[i].weight < 1.0) {
            assert_int_equal(r.entry[i].channel, SHV_CHANNEL_POWER);
            assert_int_equal(r.entry[i].row, 5);
        }
    }
    assert_int_equal(held, 1);
    assert_within(r.spread, 1.0, 0.0);
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* Power alone cannot tell how much air there is from how well it is used: both are named, and a
 * measurement of air would settle it. */
static void test_collinear(void **state)
{
    (void)state;
    static const char only_power[] =
        "fit = { logs = ( { name = \"dyno\"; kind = \"stock\"; columns = (" FIT_SPEED "," FIT_POWER
        "); } );\n"
        "free = ( { correction = \"volumetric_efficiency\"; from = 0.85; to = 1.15; },\n"
        " { correction = \"efficiency\"; from = 0.9; to = 1.1; } ); };\n";
    static const double in[] = {0.98, 1.02};
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double cells[ROWS * 2];
    fit_study(&study, only_power);
    (void)pulls(cells, 2, ROWS, 1);
    fit_fill_cells(&study, 0, in, cells, ROWS);
    fit_one(&study, cells, ROWS, &fit, &r);
    assert_true(fabs(shv_least_squares_correlation(&r.least, 0, 1)) > 0.95);
    assert_int_equal(r.weaks, 1);
    assert_true(r.weak[0].among[0] && r.weak[0].among[1] && r.weak[0].has_remedy);
    assert_true(r.weak[0].channel == SHV_CHANNEL_AIR_FLOW ||
                r.weak[0].channel == SHV_CHANNEL_FUEL_FLOW);
    assert_true(r.weak[0].error_then < 0.5 * r.weak[0].error);
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* Readings so rough that they hardly tell the leakage. Boost says what the gauge of the manifold
 * says already: it is no advice, although its usual error is small. */
static void test_same_reading_is_no_remedy(void **state)
{
    (void)state;
    static const char rough[] =
        "fit = { logs = ( { name = \"dyno\"; columns = (" FIT_SPEED
        "," FIT_COLUMN("manifold_pressure", "error = \"100 kPa\";") "," FIT_COLUMN(
            "outlet_pressure", "error = \"100 kPa\";") "); } );\n"
                                                       "free = ( { correction = \"leakage\"; from "
                                                       "= 0.4; to = 2.5; } ); };\n";
    static const double in[] = {1.2};
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double cells[ROWS * 3];
    fit_study(&study, rough);
    (void)pulls(cells, 3, ROWS, 1);
    fit_fill_cells(&study, 0, in, cells, ROWS);
    fit_one(&study, cells, ROWS, &fit, &r);
    assert_int_equal(r.weaks, 1);
    assert_true(r.weak[0].has_remedy && r.weak[0].channel != SHV_CHANNEL_BOOST &&
                r.weak[0].channel != SHV_CHANNEL_MANIFOLD_PRESSURE);
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

static const struct shv_correlation *between(const struct shv_tolerances *t, enum shv_correction a,
                                             enum shv_correction b)
{
    for (size_t i = 0; i < t->correlation_count; i++) {
        const struct shv_correlation *c = &t->correlations[i];
        if ((c->a == a && c->b == b) || (c->a == b && c->b == a)) {
            return c;
        }
    }
    return NULL;
}

/* What was fitted takes the place of the study's tolerance, all else stays. */
static void test_tolerances(void **state)
{
    (void)state;
    static const char with[] =
        KIT(FIT_SPEED "," FIT_MAP "," FIT_HOT "," FIT_POWER
                      "," FIT_AIR) " starts = 1; };\n"
                                   "tolerances = { leakage = { half_width = 0.3; }; efficiency = { "
                                   "standard_deviation = 0.02; "
                                   "};\n"
                                   " friction = { standard_deviation = 0.05; }; creep = { "
                                   "half_width = 0.004; };\n"
                                   " correlations = ( { between = \"leakage\"; and = "
                                   "\"efficiency\"; value = 0.9; },\n"
                                   " { between = \"friction\"; and = \"creep\"; value = -0.3; },\n"
                                   " { between = \"leakage\"; and = \"creep\"; value = 0.2; } ); "
                                   "samples = 256; };\n";
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double cells[ROWS * COLUMNS];
    fit_study(&study, with);
    (void)pulls(cells, COLUMNS, ROWS, 1);
    fit_fill_cells(&study, 0, truth, cells, ROWS);
    fit_one(&study, cells, ROWS, &fit, &r);
    const struct shv_tolerances *t = &r.tolerances;
    assert_true(t->given);
    assert_int_equal(t->samples, 256);
    for (size_t k = 0; k < 3; k++) {
        const struct shv_tolerance *one = &t->of[study.fit.freed[k].correction];
        assert_int_equal(r.source[k], SHV_FIT_MEASURED);
        assert_int_equal(one->distribution, SHV_NORMAL);
        assert_within(one->standard_deviation, shv_fit_error(&r, k), 0.0);
    }
    assert_within(t->of[SHV_CORRECT_FRICTION].standard_deviation, 0.05, 0.0);
    assert_within(t->of[SHV_CORRECT_CREEP].half_width, 0.004, 0.0);
    assert_false(t->of[SHV_CORRECT_KNOCK].given);
    assert_within(between(t, SHV_CORRECT_LEAKAGE, SHV_CORRECT_EFFICIENCY)->value,
                  shv_least_squares_correlation(&r.least, 1, 2), 1e-9);
    assert_within(between(t, SHV_CORRECT_FRICTION, SHV_CORRECT_CREEP)->value, -0.3, 1e-9);
    assert_null(between(t, SHV_CORRECT_LEAKAGE, SHV_CORRECT_CREEP));
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* A bench knows nothing of the engine: what it leaves open must not pass for known. */
static void test_tolerances_of_what_is_open(void **state)
{
    (void)state;
    static const char bench[] =
        "fit = { logs = ( { name = \"bench\"; kind = \"bench\"; columns = (\n" FIT_COLUMN(
            "rotor_speed",
            "") "," FIT_COLUMN("pressure_ratio",
                               "") "," FIT_AIR "); } );\n"
                                   "free = ( { correction = \"leakage\"; },\n"
                                   " { correction = \"volumetric_efficiency\"; from = 0.9; to = "
                                   "1.05; },\n"
                                   " { correction = \"efficiency\"; from = 0.9; to = 1.1; },\n"
                                   " { correction = \"filling_loss\"; from = 2; to = 4; } ); };\n"
                                   "tolerances = { efficiency = { standard_deviation = 0.03; }; "
                                   "};\n";
    static const double in[] = {0.2, 1.0, 1.0, 1.5}; /* the last below its bound */
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    enum { CELLS = 3 };
    double cells[ROWS * CELLS];
    fit_study(&study, bench);
    for (size_t i = 0; i < ROWS; i++) {
        cells[i * CELLS] = 4000.0 + 900.0 * (double)i;
        cells[i * CELLS + 1] = 1.2 + 0.1 * (double)(i % 5);
    }
    fit_fill_cells(&study, 0, in, cells, ROWS);
    fit_one(&study, cells, ROWS, &fit, &r);
    const struct shv_tolerances *t = &r.tolerances;
    assert_int_equal(r.source[0], SHV_FIT_CUT); /* near 0, and it cannot be below */
    assert_within(t->of[SHV_CORRECT_LEAKAGE].standard_deviation, 0.25 * r.least.x[0], 1e-12);
    assert_int_equal(r.source[1], SHV_FIT_BOUNDS);
    assert_int_equal(t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY].distribution, SHV_UNIFORM);
    assert_within(t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY].half_width, 0.1, 1e-12);
    assert_int_equal(r.source[2], SHV_FIT_KEPT);
    assert_within(t->of[SHV_CORRECT_EFFICIENCY].standard_deviation, 0.03, 0.0);
    assert_int_equal(r.source[3], SHV_FIT_NONE);
    assert_true(r.least.at_bound[3]);
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* Two pulls: each predicted by the other as well as noise allows. */
static void test_left_out(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double cells[2 * ROWS * COLUMNS];
    uint64_t random = 5;
    fit_study(&study, full);
    size_t rows = pulls(cells, COLUMNS, ROWS, 2);
    fit_fill_cells(&study, 0, truth, cells, ROWS);
    memcpy(cells + ROWS * COLUMNS, cells, ROWS * COLUMNS * sizeof *cells);
    for (size_t i = 0; i < rows * COLUMNS; i++) {
        cells[i] += deviation[i % COLUMNS] * random_normal(&random);
    }
    fit_one(&study, cells, rows, &fit, &r);
    assert_int_equal(shv_fit_log(fit, 0)->runs, 2);
    assert_int_equal(r.left_outs, 2);
    for (size_t i = 0; i < 2; i++) {
        /* The first row of the second pull is still on its way up by the rule. */
        assert_true(r.left_out[i].count >= (ROWS - 1) * (COLUMNS - 1));
        assert_true(r.left_out[i].chi > 0.7 && r.left_out[i].chi < 1.4);
    }
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* Many speeds: values from the cubic between the nodes are those of the model itself. */
static void test_interpolation(void **state)
{
    (void)state;
    struct shv_study study;
    double cells[MOST_ROWS * COLUMNS], one[COLUMNS];
    fit_study(&study, full);
    size_t rows = pulls(cells, COLUMNS, MOST_ROWS, 1);
    fit_fill_cells(&study, 0, truth, cells, rows);
    for (size_t i = 0; i < rows; i += 7) {
        one[0] = cells[i * COLUMNS];
        fit_fill_cells(&study, 0, truth, one, 1);
        for (size_t k = 1; k < COLUMNS; k++) {
            assert_within(cells[i * COLUMNS + k], one[k], 0.02 * deviation[k]);
        }
    }
    shv_study_free(&study);
}

/* A bench by itself gives leakage and friction back. */
static void test_bench(void **state)
{
    (void)state;
    static const char bench[] =
        "fit = { logs = ( { name = \"bench\"; kind = \"bench\"; columns = (\n" FIT_COLUMN(
            "rotor_speed",
            "") "," FIT_COLUMN("pressure_ratio",
                               "") "," FIT_AIR "," FIT_HOT
                                   "," FIT_COLUMN(
                                       "blower_power",
                                       "share = 0.01;") "); } );\n"
                                                        "free = ( { correction = \"leakage\"; }, { "
                                                        "correction = \"blower_friction\"; from = "
                                                        "0.2; "
                                                        "to = 3; } ); };\n";
    static const double in[] = {0.7, 1.5};
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    double cells[ROWS * COLUMNS];
    fit_study(&study, bench);
    for (size_t i = 0; i < ROWS; i++) {
        cells[i * COLUMNS] = 4000.0 + 900.0 * (double)i;
        cells[i * COLUMNS + 1] = 1.2 + 0.1 * (double)(i % 5);
    }
    fit_fill_cells(&study, 0, in, cells, ROWS);
    fit_one(&study, cells, ROWS, &fit, &r);
    assert_within(r.least.x[0], 0.7, 1e-6);
    assert_within(r.least.x[1], 1.5, 1e-6);
    shv_fit_result_free(&r);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* A quantity that the kit has not leaves no row, and the account says so. */
static void test_no_answer(void **state)
{
    (void)state;
    static const char coolant[] =
        KIT(FIT_SPEED "," FIT_COLUMN("coolant_temperature", "error = \"2 K\";")) " };\n";
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    struct shv_message message;
    double cells[ROWS * 2];
    fit_study(&study, coolant);
    (void)pulls(cells, 2, ROWS, 1);
    for (size_t i = 0; i < ROWS; i++) {
        cells[2 * i + 1] = 310.0;
    }
    fit_write_log("fit_trial.csv", &study.fit.log[0], cells, ROWS);
    assert_int_equal(shv_fit_create(&study, 1, &fit, NULL), SHV_OK);
    fit_take_log(fit, &study, 0, "fit_trial.csv");
    remove("fit_trial.csv");
    assert_int_equal(shv_fit_run(fit, &r, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "0 readings are left"));
    assert_int_equal(shv_fit_log(fit, 0)->dropped[SHV_LOG_NO_ANSWER], ROWS);
    shv_fit_free(fit);
    shv_study_free(&study);
}

/* Same bits for any number of threads. */
static void test_threads(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_fit_result r[2];
    double cells[ROWS * COLUMNS];
    fit_study(&study, full);
    (void)pulls(cells, COLUMNS, ROWS, 1);
    fit_fill_cells(&study, 0, truth, cells, ROWS);
    fit_write_log("fit_trial.csv", &study.fit.log[0], cells, ROWS);
    for (size_t i = 0; i < 2; i++) {
        struct shv_fit *fit;
        assert_int_equal(shv_fit_create(&study, i == 0 ? 1 : 3, &fit, NULL), SHV_OK);
        fit_take_log(fit, &study, 0, "fit_trial.csv");
        assert_int_equal(shv_fit_run(fit, &r[i], NULL), SHV_OK);
        shv_fit_free(fit);
    }
    remove("fit_trial.csv");
    assert_memory_equal(r[0].least.x, r[1].least.x, 3 * sizeof(double));
    assert_memory_equal(r[0].least.covariance, r[1].least.covariance, 9 * sizeof(double));
    shv_fit_result_free(&r[0]);
    shv_fit_result_free(&r[1]);
    shv_study_free(&study);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_without_noise),
        cmocka_unit_test(test_coverage),
        cmocka_unit_test(test_bad_row),
        cmocka_unit_test(test_collinear),
        cmocka_unit_test(test_same_reading_is_no_remedy),
        cmocka_unit_test(test_left_out),
        cmocka_unit_test(test_interpolation),
        cmocka_unit_test(test_bench),
        cmocka_unit_test(test_no_answer),
        cmocka_unit_test(test_threads),
        cmocka_unit_test(test_tolerances),
        cmocka_unit_test(test_tolerances_of_what_is_open),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
