/* src/report/table/map.c */
#include "report/folder.h"
#include "report/table/records.h"

/* Each cell says what the model says of that kit. */
static void test_cells_are_the_model(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    struct shv_curves curves;
    struct shv_kit kit;
    assert_int_equal(report_records_read(f->folder, "map.csv", &r, &f->message), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, f->model, &f->message), SHV_OK);
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    size_t feasible = 0;
    assert_true(r.rows > 100);
    for (size_t i = 0; i < r.rows; i += 37) {
        kit.ratio = report_records_number(&r, i, report_records_find(&r, "ratio"));
        kit.effectiveness = report_records_number(&r, i, report_records_find(&r, "effectiveness"));
        kit.blower_diameter =
            1e-3 * report_records_number(&r, i, report_records_find(&r, "blower_pulley_mm"));
        assert_close(
            shv_drive_ratio(kit.crank_diameter, kit.blower_diameter, f->study.drive.line_offset),
            kit.ratio, 1e-5);
        shv_model_evaluate(f->model, &kit, &curves);
        bool holds =
            strcmp(report_records_text(&r, i, report_records_find(&r, "reason")), "feasible") == 0;
        feasible += holds;
        /* Not where the digits of the file decide. */
        if (curves.verdict.binding < 0 ||
            fabs(curves.verdict.limit[curves.verdict.binding].share) > 1e-3) {
            assert_int_equal(holds, curves.verdict.feasible);
        }
    }
    assert_true(feasible > 0);
    shv_curves_free(&curves);
    report_records_free(&r);
}

static void test_without_a_kit_there_is_only_a_header(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    size_t count = f->ranking.count;
    f->ranking.count = 0;
    assert_int_equal(shv_report_map(&f->run, f->folder, &f->message), SHV_OK);
    assert_int_equal(shv_report_islands(&f->run, f->folder, &f->message), SHV_OK);
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
        cmocka_unit_test_setup_teardown(test_cells_are_the_model, folder_with_grids_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_without_a_kit_there_is_only_a_header, folder_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
