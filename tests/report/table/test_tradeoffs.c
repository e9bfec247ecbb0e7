/* tradeoffs.csv against fronts made by hand from the ranking. */
#include "report/fixture.h"
#include "support/tradeoff.h"

static struct shv_tradeoff tradeoffs[] = {
    {{SHV_TRADE_POWER, SHV_TRADE_PRICE, SHV_TRADE_COUNT}, 0.0},
    {{SHV_TRADE_TORQUE, SHV_TRADE_CHARGE_TEMPERATURE, SHV_TRADE_MASS}, 75.0}};

static void asks_for_fronts(struct fixture *f)
{
    f->study.tradeoffs = tradeoffs;
    f->study.tradeoff_count = 2;
}

/* All of the ranking's rows offered. */
static void keep_of(struct fixture *f, struct shv_keep *keep)
{
    struct shv_curves curves;
    asks_for_fronts(f);
    assert_int_equal(shv_keep_init(keep, &f->study, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    for (size_t i = 0; i < f->ranking.count; i++) {
        struct shv_kit kit;
        shv_space_kit(&f->space, &f->study, f->ranking.item[i].index, &kit);
        shv_model_evaluate(f->model, &kit, &curves);
        for (size_t k = 0; k < 2; k++) {
            struct shv_front_point p = {.index = f->ranking.item[i].index};
            kit_tradeoff(f->model, &curves, k, p.value);
            assert_true(shv_front_offer(&keep->front[k], &p));
        }
    }
    shv_curves_free(&curves);
    f->run.keep = keep;
}

static void a_row_per_point(void **state)
{
    struct fixture *f = *state;
    struct shv_keep keep;
    keep_of(f, &keep);
    assert_int_equal(shv_report_file(&f->run, "tradeoffs.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "tradeoffs.csv"));
    assert_even(csv);
    assert_true(keep.front[0].count > 0 && keep.front[1].count > 0);
    assert_int_equal(csv->records, 1 + keep.front[0].count + keep.front[1].count);
    size_t row = 1;
    for (size_t k = 0; k < 2; k++) {
        for (size_t i = 0; i < keep.front[k].count; i++, row++) {
            const double *value = keep.front[k].point[i].value;
            assert_true(csv_value(csv, row, "front") == (double)(k + 1));
            assert_true(csv_value(csv, row, "points") == (double)keep.front[k].count);
            assert_true(csv_value(csv, row, "rank") == (double)(i + 1));
            assert_true(csv_value(csv, row, "index") == (double)keep.front[k].point[i].index);
            assert_string_equal(csv_at(csv, row, "third"), k == 0 ? "" : "mass");
            if (k == 0) {
                assert_close(csv_value(csv, row, "traded_power_kW"), value[0] / 1e3, 1e-8);
                assert_close(csv_value(csv, row, "price"), -value[1], 1e-8);
                assert_string_equal(csv_at(csv, row, "traded_torque_Nm"), "");
            } else {
                assert_close(csv_value(csv, row, "traded_torque_Nm"), value[0], 1e-8);
                assert_close(csv_value(csv, row, "traded_torque_speed_rpm"), 75.0 * 60.0, 1e-6);
                assert_close(csv_value(csv, row, "traded_charge_temperature_degC"),
                             -value[1] - 273.15, 1e-6);
                assert_close(csv_value(csv, row, "mass_kg"), -value[2], 1e-5);
            }
        }
    }
    csv_free(csv);
    shv_keep_free(&keep);
}

/* Of an earlier run, when this one has no trade-offs. */
static void a_file_left_over_is_removed(void **state)
{
    struct fixture *f = *state;
    struct shv_keep keep;
    keep_of(f, &keep);
    assert_int_equal(shv_report_file(&f->run, "tradeoffs.csv", f->folder, &f->message), SHV_OK);
    f->study.tradeoff_count = 0;
    char path[200];
    (void)snprintf(path, sizeof path, "%s/tradeoffs.csv", f->folder);
    assert_int_equal(access(path, F_OK), 0);
    assert_int_equal(shv_report_file(&f->run, "tradeoffs.csv", f->folder, &f->message), SHV_OK);
    assert_int_equal(access(path, F_OK), -1);
    assert_int_equal(shv_report_file(&f->run, "tradeoffs.csv", f->folder, &f->message), SHV_OK);
    f->study.tradeoff_count = 2; /* as many as the keep was made for */
    shv_keep_free(&keep);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_row_per_point, fixture_belt_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(a_file_left_over_is_removed, fixture_belt_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
