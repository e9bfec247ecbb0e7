/* The objective as people read it. */
#include "report/fixture.h"
#include "report/write/columns.h"
#include "report/table/objective.h"

static void powers_and_torques(void **state)
{
    struct fixture *f = *state;
    char w[REPORT_WORDS_MAX];
    struct shv_objective *o = &f->study.objective;
    assert_string_equal(report_words_objective(w, &f->study), "peak power, mean over the sites");
    assert_int_equal(report_objective_measure(&f->study), REPORT_POWER);
    *o = (struct shv_objective){SHV_OBJECTIVE_MEAN_POWER, 50.0, 110.0, 0.0, SHV_OVER_SITES_WORST};
    assert_string_equal(report_words_objective(w, &f->study),
                        "mean power from 3000 to 6600 rpm, at the worst site");
    assert_string_equal(report_words_objective_value(w, &f->study, 150e3), "150.0 kW");
    o->kind = SHV_OBJECTIVE_TORQUE;
    o->at = 75.0;
    f->study.site_count = 1;
    assert_string_equal(report_words_objective(w, &f->study), "torque at 4500 rpm");
    assert_int_equal(report_objective_measure(&f->study), REPORT_TORQUE);
    assert_string_equal(report_words_objective_unit(w, &f->study), "N m");
    assert_true(report_objective_shown(&f->study, 250.0) == 250.0);
}

/* The model's value of a price is below zero: the most of it is the least price. */
static void a_price_is_shown_as_such(void **state)
{
    struct fixture *f = *state;
    char w[REPORT_WORDS_MAX];
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_PRICE;
    assert_string_equal(report_words_objective(w, &f->study), "least price");
    assert_true(report_objective_shown(&f->study, -2500.0) == 2500.0);
    assert_false(signbit(report_objective_shown(&f->study, 0.0)));
    assert_true(isnan(report_objective_shown(&f->study, NAN)));
    assert_string_equal(report_words_objective_value(w, &f->study, 2500.0), "2500.00");
    assert_string_equal(report_words_objective_unit(w, &f->study), "");
    f->study.currency = "crowns";
    assert_string_equal(report_words_objective_value(w, &f->study, 2500.0), "2500.00 crowns");
    assert_string_equal(report_words_objective_unit(w, &f->study), "crowns");
    assert_string_equal(report_words_objective_value(w, &f->study, NAN), "-");
}

static void power_for_money(void **state)
{
    struct fixture *f = *state;
    char w[REPORT_WORDS_MAX];
    f->study.objective.kind = SHV_OBJECTIVE_POWER_PER_PRICE;
    f->study.results.units = SHV_US; /* watts all the same */
    assert_string_equal(report_words_objective(w, &f->study),
                        "peak power per unit of money, mean over the sites");
    assert_string_equal(report_words_objective_value(w, &f->study, 61.25), "61.25 W/unit");
    f->study.currency = "crown";
    assert_string_equal(report_words_objective(w, &f->study),
                        "peak power per crown, mean over the sites");
    assert_string_equal(report_words_objective_value(w, &f->study, 61.25), "61.25 W/crown");
}

static void a_temperature_is_shown_as_such(void **state)
{
    struct fixture *f = *state;
    char w[REPORT_WORDS_MAX];
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
    double shown = report_objective_shown(&f->study, -333.15);
    assert_true(shown == 333.15);
    assert_string_equal(report_words_objective(w, &f->study),
                        "lowest peak of the charge temperature");
    assert_string_equal(report_words_objective_value(w, &f->study, shown), "60.0 degC");
    f->study.results.units = SHV_US;
    assert_string_equal(report_words_objective_value(w, &f->study, shown), "140.0 degF");
}

static void a_weighted_sum_has_no_unit(void **state)
{
    struct fixture *f = *state;
    char w[REPORT_WORDS_MAX];
    f->study.objective.kind = SHV_OBJECTIVE_WEIGHTED;
    assert_string_equal(report_words_objective(w, &f->study),
                        "weighted sum of peak power, price, mass and charge temperature, mean over "
                        "the sites");
    assert_true(report_objective_shown(&f->study, -12.5) == -12.5);
    assert_string_equal(report_words_objective_value(w, &f->study, -12.5), "-12.500");
    assert_string_equal(report_words_objective_unit(w, &f->study), "");
}

static void losses_have_the_right_sign(void **state)
{
    struct fixture *f = *state;
    struct shv_objective *o = &f->study.objective;
    assert_close(report_objective_loss(&f->study, 150e3, 147e3), 0.02, 1e-12);
    o->kind = SHV_OBJECTIVE_LEAST_PRICE; /* a dearer kit loses */
    assert_close(report_objective_loss(&f->study, -1000.0, -1100.0), 0.1, 1e-12);
    o->kind = SHV_OBJECTIVE_WEIGHTED;
    assert_close(report_objective_loss(&f->study, -10.0, -12.0), 0.2, 1e-12);
    o->kind = SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
    assert_true(isnan(report_objective_loss(&f->study, -330.0, -333.0)));
}

/* One bit each, and one column for it. */
static void every_kind_has_a_column(void **state)
{
    struct fixture *f = *state;
    report_when_set seen = 0;
    for (int i = SHV_OBJECTIVE_PEAK_POWER; i <= SHV_OBJECTIVE_WEIGHTED; i++) {
        f->study.objective.kind = (enum shv_objective_kind)i;
        report_when_set bit = report_objective_kind(f->study.objective.kind)->when;
        assert_true(bit != 0 && (bit & (bit - 1)) == 0 && (report_when(&f->study) & bit) != 0);
        assert_true((seen & bit) == 0 || i == SHV_OBJECTIVE_MEAN_POWER);
        seen |= bit;
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(powers_and_torques),
        TEST(a_price_is_shown_as_such),
        TEST(power_for_money),
        TEST(a_temperature_is_shown_as_such),
        TEST(a_weighted_sum_has_no_unit),
        TEST(losses_have_the_right_sign),
        TEST(every_kind_has_a_column),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
