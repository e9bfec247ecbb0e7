/* src/report/table/islands.c */
#include "report/folder.h"
#include "report/table/records.h"

static void test_cells_are_the_blower(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    struct shv_kit kit;
    assert_int_equal(report_records_read(f->folder, "islands.csv", &r, &f->message), SHV_OK);
    shv_space_kit(&f->space, &f->study, f->ranking.item[0].index, &kit);
    const struct shv_blower *blower = &f->study.blowers[kit.blower];
    const struct shv_ambient *air = &f->study.sites[0].ambient;
    size_t known = 0;
    for (size_t i = 0; i < r.rows; i += 11) {
        struct shv_blower_state s;
        double speed = report_records_number(&r, i, report_records_find(&r, "rotor_speed_rpm"));
        double ratio = report_records_number(&r, i, report_records_find(&r, "pressure_ratio"));
        double efficiency =
            report_records_number(&r, i, report_records_find(&r, "blower_isentropic_efficiency"));
        if (isnan(efficiency) || ratio < 1.01) {
            continue;
        }
        shv_blower_state(blower, shv_model_gas(f->model, 0), air->pressure, air->temperature,
                         speed / 60.0, ratio * air->pressure, &s);
        assert_close(efficiency, s.isentropic_efficiency, 1e-4);
        known++;
    }
    assert_true(known > 50);
    report_records_free(&r);
}

/* The axes hold the kit's own points and its limits. */
static void test_reaches_as_far_as_the_kit_may(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    assert_int_equal(report_records_read(f->folder, "islands.csv", &r, &f->message), SHV_OK);
    size_t speed = report_records_find(&r, "rotor_speed_rpm");
    size_t ratio = report_records_find(&r, "pressure_ratio");
    assert_true(report_records_number(&r, r.rows - 1, speed) > 60.0 * 240.0); /* max_speed */
    assert_true(report_records_number(&r, r.rows - 1, ratio) > 1.0 + 1.2e5 / 101325.0);
    assert_true(report_records_number(&r, 0, ratio) == 1.0);
    report_records_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_cells_are_the_blower, folder_with_grids_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_reaches_as_far_as_the_kit_may, folder_with_grids_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
