/* sites.csv: sites with a kit of their own, with one that breaks a limit elsewhere, with none. */
#include "report/fixture.h"

static void a_row_per_site(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    const struct shv_site_shortfall shortfalls[2] = {
        {.site = 0,
         .found = true,
         .index = 5,
         .alone = 160e3,
         .broken = SHV_LIMIT_BOOST,
         .broken_site = 1,
         .common = 120e3},
        {.site = 1, .alone = NAN, .broken = -1, .common = 90e3}};
    f->run.site_shortfalls = shortfalls;
    assert_int_equal(shv_report_file(&f->run, "sites.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "sites.csv"));
    assert_even(csv);
    assert_int_equal(csv->records, 3);
    shv_space_kit(&f->space, &f->study, 5, &kit);
    assert_string_equal(csv_at(csv, 1, "site"), f->sites[0].name);
    assert_string_equal(csv_at(csv, 1, "found"), "yes");
    assert_true(csv_value(csv, 1, "index") == 5.0);
    assert_string_equal(csv_at(csv, 1, "blower"), f->blowers[kit.blower].name);
    assert_close(csv_value(csv, 1, "blower_pulley_mm"), kit.blower_diameter * 1e3, 1e-5);
    assert_close(csv_value(csv, 1, "alone_power_kW"), 160.0, 1e-8);
    assert_close(csv_value(csv, 1, "common_power_kW"), 120.0, 1e-8);
    assert_close(csv_value(csv, 1, "shortfall_pct"), 25.0, 1e-6);
    assert_string_equal(csv_at(csv, 1, "holds_everywhere"), "no");
    assert_string_equal(csv_at(csv, 1, "broken_elsewhere"), "boost");
    assert_string_equal(csv_at(csv, 1, "broken_at"), f->sites[1].name);
    assert_string_equal(csv_at(csv, 2, "found"), "no");
    assert_string_equal(csv_at(csv, 2, "index"), "");
    assert_string_equal(csv_at(csv, 2, "alone_power_kW"), "");
    assert_close(csv_value(csv, 2, "common_power_kW"), 90.0, 1e-8);
    assert_string_equal(csv_at(csv, 2, "shortfall_pct"), "");
    csv_free(csv);
}

static void no_file_when_not_asked_for(void **state)
{
    struct fixture *f = *state;
    char path[200];
    (void)snprintf(path, sizeof path, "%s/sites.csv", f->folder);
    FILE *left = fopen(path, "w"); /* by an earlier run */
    assert_non_null(left);
    assert_int_equal(fclose(left), 0);
    f->run.site_shortfalls = NULL;
    assert_int_equal(shv_report_file(&f->run, "sites.csv", f->folder, &f->message), SHV_OK);
    assert_int_equal(access(path, F_OK), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_row_per_site, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(no_file_when_not_asked_for, fixture_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
