/* The cells that name a kit: every one, for a kit and for none. */
#include "report/fixture.h"
#include "report/table/kit_choice.h"

struct row {
    double other;
    struct report_kit_choice kit;
};

static const struct report_column columns[] = {REPORT_KIT_CHOICE_COLUMNS(struct row, kit)};

static struct csv *csv_of(struct fixture *f, const struct report_kit_choice *choice)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    struct report_layout layout;
    report_layout_init(&layout, REPORT_EVERY_COLUMN);
    report_layout_add(&layout, columns, sizeof columns / sizeof *columns);
    const struct row row = {1.0, *choice};
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
    const struct report_kit_choice choice = report_kit_choice(&f->space, &f->study, 5);
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
    const struct report_kit_choice none = report_kit_choice_none();
    struct csv *csv = csv_of(f, &none);
    assert_int_equal(csv->fields[1], sizeof columns / sizeof *columns);
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
        assert_string_equal(csv->cell[1][i], "");
    }
    csv_free(csv);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_kit, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(no_kit, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
