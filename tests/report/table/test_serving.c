/* serving.csv against what is known of each fuel by itself. */
#include "report/fixture.h"

static struct shv_serve serves[] = {{0, 1.0}, {1, 3.0}};

/* One kit for both fuels, the best for each of them, all of the fixture's ranking or near it. */
static void serving_of(struct fixture *f, struct shv_keep *keep, struct shv_serving_kit *kit)
{
    uint64_t choice[SHV_DIM_COUNT];
    f->study.serves = serves;
    f->study.serve_count = 2;
    assert_int_equal(shv_keep_init(keep, &f->study, NULL), SHV_OK);
    shv_space_split(&f->space, f->ranking.item[3].index, choice);
    *kit = (struct shv_serving_kit){.mean = 101e3};
    for (size_t i = 0; i < 2; i++) {
        choice[SHV_DIM_FUEL] = serves[i].fuel;
        kit->with[i] =
            (struct shv_candidate){100e3 + 1e3 * (double)i, shv_space_join(&f->space, choice)};
        shv_ranking_offer(&keep->of_served[i], (struct shv_candidate){125e3, 7 + i});
    }
    f->run.keep = keep;
    f->run.serving = kit;
    f->run.serving_count = 1;
}

static void a_row_per_fuel(void **state)
{
    struct fixture *f = *state;
    struct shv_keep keep;
    struct shv_serving_kit kit;
    serving_of(f, &keep, &kit);
    assert_int_equal(shv_report_file(&f->run, "serving.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "serving.csv"));
    assert_even(csv);
    assert_int_equal(csv->records, 3);
    for (size_t i = 0; i < 2; i++) {
        size_t row = 1 + i;
        assert_string_equal(csv_at(csv, row, "fuel"), f->fuels[serves[i].fuel].name);
        assert_true(csv_value(csv, row, "rank") == 1.0);
        assert_true(csv_value(csv, row, "index") == (double)kit.with[i].index);
        assert_close(csv_value(csv, row, "mean_power_kW"), 101.0, 1e-8);
        assert_true(csv_value(csv, row, "fuel_weight") == serves[i].weight);
        assert_close(csv_value(csv, row, "alone_power_kW"), 125.0, 1e-8);
        assert_true(csv_value(csv, row, "alone_index") == (double)(7 + i));
        double loss = 100.0 * (1.0 - kit.with[i].objective / 125e3);
        assert_close(csv_value(csv, row, "shortfall_pct"), loss, 1e-5);
        assert_string_equal(csv_at(csv, row, "blower"), csv_at(csv, 1, "blower"));
    }
    csv_free(csv);
    shv_keep_free(&keep);
}

static void no_file_when_nothing_is_served(void **state)
{
    struct fixture *f = *state;
    char path[200];
    (void)snprintf(path, sizeof path, "%s/serving.csv", f->folder);
    assert_int_equal(shv_report_file(&f->run, "serving.csv", f->folder, &f->message), SHV_OK);
    assert_int_equal(access(path, F_OK), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_row_per_fuel, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(no_file_when_nothing_is_served, fixture_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
