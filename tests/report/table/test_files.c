/* CSV files by their names, and the cells that name a kit: every one, for a kit and for none. */
#include "report/fixture.h"
#include "report/table/files.h"

struct row {
    double other;
    struct shv_summary kit;
};

#define CELLS 11

static struct csv *csv_of(struct fixture *f, const struct shv_summary *kit)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    struct report_layout layout;
    report_layout_init(&layout, REPORT_EVERY_COLUMN);
    report_add_combination(&layout, offsetof(struct row, kit));
    const struct row row = {1.0, *kit};
    assert_true(report_header(out, &layout, f->study.results.units));
    assert_true(report_row(out, &layout, f->study.results.units, &row));
    assert_int_equal(fclose(out), 0);
    return csv_parse(text);
}

static void a_kit(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    shv_space_kit(&f->space, &f->study, 5, &kit);
    const struct shv_summary choice = report_combination(&f->run, 5);
    struct csv *csv = csv_of(f, &choice);
    assert_even(csv);
    assert_true(csv_value(csv, 1, "index") == 5.0);
    assert_string_equal(csv_at(csv, 1, "blower"), f->study.blowers[kit.blower].name);
    assert_string_equal(csv_at(csv, 1, "cooler"), f->study.coolers[kit.cooler].name);
    assert_string_equal(csv_at(csv, 1, "fuel"), f->study.fuels[kit.fuel].name);
    assert_close(csv_value(csv, 1, "crank_pulley_mm"), kit.crank_diameter * 1e3, 1e-5);
    assert_close(csv_value(csv, 1, "blower_pulley_mm"), kit.blower_diameter * 1e3, 1e-5);
    assert_close(csv_value(csv, 1, "ratio"), kit.ratio, 1e-5);
    assert_close(csv_value(csv, 1, "effectiveness"), kit.effectiveness, 1e-5);
    assert_close(csv_value(csv, 1, "lambda"), kit.lambda, 1e-5);
    assert_close(csv_value(csv, 1, "air_fuel_ratio"),
                 kit.lambda * f->study.fuels[kit.fuel].stoichiometric, 1e-4);
    csv_free(csv);
}

static void no_kit(void **state)
{
    struct fixture *f = *state;
    struct shv_summary none;
    shv_summarise_kit(&f->study, NULL, &none);
    struct csv *csv = csv_of(f, &none);
    assert_int_equal(csv->fields[1], CELLS);
    for (size_t i = 0; i < CELLS; i++) {
        assert_string_equal(csv->cell[1][i], "");
    }
    csv_free(csv);
}

static void only_files_that_a_run_has(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(shv_report_file(&f->run, "stock.csv", f->folder, &f->message), SHV_BAD_INPUT);
    assert_non_null(strstr(f->message.text, "stock.csv"));
    assert_int_equal(shv_report_file(&f->run, "rejected.csv", f->folder, &f->message), SHV_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_kit, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(no_kit, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(only_files_that_a_run_has, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
