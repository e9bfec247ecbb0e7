/* worth_knowing.csv and its sentence: which measurement is named, and in whose words. */
#include "report/fixture.h"

#include "report/table/worth_knowing.h"

static struct shv_knowing knowing[4];
static struct shv_sure row;
static struct shv_sure_list list;

static void give(struct fixture *f)
{
    const struct shv_knowing all[] = {
        {"leakage", "leakage", false, SHV_CORRECTION_BIT(SHV_CORRECT_LEAKAGE), {9000.0, 40.0}, 0.9},
        {"stock_dyno",
         "a dyno run",
         true,
         SHV_CORRECTION_BIT(SHV_CORRECT_VOLUMETRIC_EFFICIENCY) |
             SHV_CORRECTION_BIT(SHV_CORRECT_EFFICIENCY),
         {1500.0, 30.0},
         0.5},
        {"blower_flow",
         "a flow test",
         true,
         SHV_CORRECTION_BIT(SHV_CORRECT_LEAKAGE),
         {2500.0, 20.0},
         0.75},
        {"inlet_gauge",
         "a gauge",
         true,
         SHV_CORRECTION_BIT(SHV_CORRECT_INTAKE_LOSS),
         {20.0, 1.0},
         0.1}};
    memcpy(knowing, all, sizeof all);
    row.nominal = 100e3;
    list = (struct shv_sure_list){
        .row = &row, .count = 1, .best = 0, .asked = true, .knowing = knowing, .knowing_count = 4};
    f->run.sure = &list;
}

static void rows_are_written(void **state)
{
    struct fixture *f = *state;
    give(f);
    assert_int_equal(shv_report_file(&f->run, "worth_knowing.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "worth_knowing.csv"));
    assert_even(csv);
    assert_int_equal(csv->records, 5);
    assert_string_equal(csv_at(csv, 1, "kind"), "tolerance");
    assert_string_equal(csv_at(csv, 1, "tells"), "leakage");
    assert_string_equal(csv_at(csv, 2, "kind"), "measurement");
    assert_string_equal(csv_at(csv, 2, "name"), "stock_dyno");
    assert_string_equal(csv_at(csv, 2, "tells"), "volumetric_efficiency efficiency");
    assert_close(csv_value(csv, 2, "gain_power_kW"), 1.5, 1e-9);
    assert_close(csv_value(csv, 2, "gain_power_error_kW"), 0.03, 1e-9);
    assert_close(csv_value(csv, 3, "other_kit_pct"), 75.0, 1e-9);
    csv_free(csv);
    list.knowing_count = 0; /* what an earlier run left goes */
    assert_int_equal(shv_report_file(&f->run, "worth_knowing.csv", f->folder, &f->message), SHV_OK);
    assert_null(read_whole(f->folder, "worth_knowing.csv"));
}

static void assert_sentence(struct fixture *f, const char *expected)
{
    char words[REPORT_KNOWING_MAX] = "";
    assert_int_equal(report_knowing_sentence(&f->run, words), expected != NULL);
    if (expected) {
        assert_string_equal(words, expected);
    }
}

static void the_best_measurement_comes_first(void **state)
{
    struct fixture *f = *state;
    assert_sentence(f, NULL); /* nobody looked */
    give(f);
    assert_sentence(
        f, "Measure first: leakage (a flow test): 2.5 kW more at the same certainty. Next: "
           "volumetric efficiency and indicated efficiency (a dyno run): 1.5 kW.");
    knowing[1].gain.value = 99.0; /* less than a thousandth of the kit's 100 kW */
    assert_sentence(f, "Measure first: leakage (a flow test): 2.5 kW more at the same certainty.");
    knowing[1].gain = (struct shv_sampled){101.0, 0.0};
    knowing[2].gain = (struct shv_sampled){101.0, 51.0}; /* not above twice its error */
    assert_sentence(
        f, "Measure first: volumetric efficiency and indicated efficiency (a dyno run): 0.1 "
           "kW more at the same certainty.");
    knowing[1].gain.error = 51.0;
    assert_sentence(f, "No measurement that a shop can make would let a better kit be sold.");
    list.knowing_count = 0;
    assert_sentence(f, NULL);
}

/* Where less is better a gain is less of it, and of a temperature a difference. */
static void less_may_be_better(void **state)
{
    struct fixture *f = *state;
    give(f);
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
    row.nominal = -330.0;
    knowing[1].gain = (struct shv_sampled){0.1, 0.0};
    knowing[2].gain = (struct shv_sampled){4.0, 0.1};
    knowing[3].gain.value = 0.0;
    assert_sentence(f, "Measure first: leakage (a flow test): 4.0 K less at the same certainty.");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(rows_are_written),
        TEST(the_best_measurement_comes_first),
        TEST(less_may_be_better),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
