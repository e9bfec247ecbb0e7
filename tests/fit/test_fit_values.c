/* What the model says for all logs of a fit, each worker in a room of its own. */
#include "support/fit_logs.h"

#include "fit/fit_internal.h"

#define FREE                                                                                       \
    "free = ( { correction = \"leakage\"; from = 0.4; to = 2.5; },\n"                              \
    " { correction = \"efficiency\"; from = 0.9; to = 1.1; } );\n"
static const char two[] = "fit = { logs = ( { name = \"a\"; columns = (" FIT_SPEED "," FIT_MAP
                          "); }, { name = \"b\"; kind = \"stock\"; columns = (" FIT_SPEED
                          "," FIT_POWER "); } );\n" FREE "};\n";

static struct shv_study study;
static struct shv_fit *fit;

static int begin(void **state)
{
    (void)state;
    static const double kit[] = {2000.0, 1e5, 4000.0, 1e5, 6000.0, 1e5}, stock[] = {3000.0, 5e4};
    fit_study(&study, two);
    assert_int_equal(shv_fit_create(&study, 2, &fit, NULL), SHV_OK);
    fit_write_log("fit_values.csv", &study.fit.log[0], kit, 3);
    fit_take_log(fit, &study, 0, "fit_values.csv");
    fit_write_log("fit_values.csv", &study.fit.log[1], stock, 1);
    fit_take_log(fit, &study, 1, "fit_values.csv");
    remove("fit_values.csv");
    return 0;
}

static int end(void **state)
{
    (void)state;
    shv_fit_free(fit);
    shv_study_free(&study);
    return 0;
}

static void corrections_are_the_studys_and_those_fitted(void **state)
{
    (void)state;
    const double x[] = {1.7, 0.95};
    struct shv_corrections all;
    memset(&all, 0xa5, sizeof all);
    fit_corrections(fit, x, &all);
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        double expected = i == SHV_CORRECT_LEAKAGE      ? 1.7
                          : i == SHV_CORRECT_EFFICIENCY ? 0.95
                                                        : shv_correction_info(i)->neutral;
        assert_true(all.value[i] == expected);
    }
    study.corrected = true;
    shv_corrections_neutral(&study.corrections);
    study.corrections.value[SHV_CORRECT_FRICTION] = 1.2;
    study.corrections.value[SHV_CORRECT_LEAKAGE] = 0.5;
    fit_corrections(fit, x, &all);
    study.corrected = false;
    assert_true(all.value[SHV_CORRECT_FRICTION] == 1.2 && all.value[SHV_CORRECT_LEAKAGE] == 1.7);
}

static void logs_lie_behind_each_other(void **state)
{
    (void)state;
    const double x[] = {1.0, 1.0}, leaky[] = {2.0, 1.0};
    assert_int_equal(fit_values(fit, 0, x), SHV_OK);
    assert_int_equal(fit_values(fit, 1, leaky), SHV_OK);
    for (size_t log = 0; log < 2; log++) {
        double *own = calloc(fit->item[log]->log.rows * SHV_CHANNEL_COUNT, sizeof *own);
        assert_non_null(own);
        for (size_t worker = 0; worker < 2; worker++) {
            struct shv_corrections all;
            fit_corrections(fit, worker == 0 ? x : leaky, &all);
            assert_int_equal(fit_case_values(fit->item[log], 0, &all, own), SHV_OK);
            for (size_t row = 0; row < fit->item[log]->log.rows; row++) {
                for (int c = 0; c < SHV_CHANNEL_COUNT; c++) {
                    double value = fit_value(fit, worker, log, row, (enum shv_channel)c);
                    double expected = own[row * SHV_CHANNEL_COUNT + (size_t)c];
                    assert_true(value == expected || (isnan(value) && isnan(expected)));
                }
            }
        }
        free(own);
    }
    /* The leak costs boost, and of the stock engine nothing. */
    assert_true(fit_value(fit, 1, 0, 1, SHV_CHANNEL_BOOST) <
                fit_value(fit, 0, 0, 1, SHV_CHANNEL_BOOST) - 100.0);
    assert_true(fit_value(fit, 1, 1, 0, SHV_CHANNEL_POWER) ==
                fit_value(fit, 0, 1, 0, SHV_CHANNEL_POWER));
}

static void what_cannot_be_applied(void **state)
{
    (void)state;
    const double beyond[] = {6.0, 1.0};
    struct shv_message message = {""};
    assert_int_equal(fit_values(fit, 0, beyond), SHV_NOTHING);
    assert_int_equal(fit_failed(SHV_NOTHING, &message), SHV_NOTHING);
    assert_int_equal(fit_failed(SHV_OK, &message), SHV_OK);
    assert_string_equal(message.text, "");
    assert_int_equal(fit_failed(SHV_NO_MEMORY, &message), SHV_NO_MEMORY);
    assert_string_equal(message.text, "out of memory for the model of a fit");
}

static void an_error_has_the_spread(void **state)
{
    (void)state;
    double error[] = {0.1, 0.02};
    const struct shv_fit_result r = {.spread = 1.5, .least = {.error = error}};
    assert_within(shv_fit_error(&r, 0), 0.15, 1e-15);
    assert_within(shv_fit_error(&r, 1), 0.03, 1e-15);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corrections_are_the_studys_and_those_fitted),
        cmocka_unit_test(logs_lie_behind_each_other),
        cmocka_unit_test(what_cannot_be_applied),
        cmocka_unit_test(an_error_has_the_spread),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
