/* src/report/table/map.c */
#include "report/folder.h"
#include "report/table/records.h"

/* A row for each cell, its reason in words. */
static void test_rows_are_the_cells(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    struct shv_choice_cell cell[] = {{1.5, 0.08, 0.7, SHV_POINT_OK, -1, 90e3},
                                     {2.0, 0.06, 0.7, SHV_POINT_OK, SHV_LIMIT_BOOST, 95e3},
                                     {2.5, 0.05, 0.8, SHV_POINT_NO_MATCH, -1, NAN}};
    f->run.choices = cell;
    f->run.choice_count = 3;
    assert_int_equal(shv_report_file(&f->run, "map.csv", f->folder, &f->message), SHV_OK);
    assert_int_equal(report_records_read(f->folder, "map.csv", &r, &f->message), SHV_OK);
    static const char *const reason[] = {"feasible", "boost", "no_match"};
    assert_int_equal(r.rows, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_string_equal(report_records_text(&r, i, report_records_find(&r, "reason")),
                            reason[i]);
        assert_close(report_records_number(&r, i, report_records_find(&r, "ratio")), cell[i].ratio,
                     1e-6);
        assert_close(report_records_number(&r, i, report_records_find(&r, "blower_pulley_mm")),
                     1e3 * cell[i].blower_diameter, 1e-6);
        double power = report_records_number(&r, i, report_records_find(&r, "peak_power_kW"));
        assert_true(isnan(cell[i].peak_power) ? isnan(power)
                                              : fabs(power - 1e-3 * cell[i].peak_power) < 1e-3);
    }
    report_records_free(&r);
}

static void test_without_a_kit_there_is_only_a_header(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    size_t count = f->ranking.count;
    f->ranking.count = 0;
    assert_int_equal(shv_report_file(&f->run, "map.csv", f->folder, &f->message), SHV_OK);
    assert_int_equal(shv_report_file(&f->run, "islands.csv", f->folder, &f->message), SHV_OK);
    f->ranking.count = count;
    assert_int_equal(report_records_read(f->folder, "map.csv", &r, &f->message), SHV_OK);
    assert_int_equal(r.rows, 0);
    report_records_free(&r);
    assert_int_equal(report_records_read(f->folder, "islands.csv", &r, &f->message), SHV_OK);
    assert_int_equal(r.rows, 0);
    report_records_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_rows_are_the_cells, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_without_a_kit_there_is_only_a_header, folder_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
