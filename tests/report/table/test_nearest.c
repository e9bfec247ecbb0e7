/* nearest.csv: a row for each broken limit of the nearest kits; none where something is feasible.
 */
#include "report/fixture.h"

static struct shv_nearest far_off(uint64_t index, int alone)
{
    struct shv_nearest n = {.index = index, .alone = alone, .room = -0.25};
    n.verdict.broken = SHV_LIMIT_BIT(SHV_LIMIT_BOOST);
    n.verdict.limit[SHV_LIMIT_BOOST] = (struct shv_limit_result){
        .bound = 60e3, .value = 75e3, .margin = -15e3, .share = -0.25, .site = 1, .speed = 2};
    if (alone < 0) {
        n.verdict.broken |= SHV_LIMIT_BIT(SHV_LIMIT_MASS);
        n.verdict.limit[SHV_LIMIT_MASS] = (struct shv_limit_result){
            .bound = 20.0, .value = INFINITY, .margin = -INFINITY, .share = -INFINITY};
    }
    return n;
}

static void a_row_for_each_broken_limit(void **state)
{
    struct fixture *f = *state;
    const struct shv_nearest nearest[2] = {far_off(7, SHV_LIMIT_BOOST), far_off(9, -1)};
    struct shv_kit kit;
    f->run.nearest = nearest;
    f->run.nearest_count = 2;
    assert_int_equal(shv_report_file(&f->run, "nearest.csv", f->folder, &f->message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(f->folder, "nearest.csv"));
    assert_even(csv);
    assert_int_equal(csv->records, 4);
    shv_space_kit(&f->space, &f->study, 7, &kit);
    assert_string_equal(csv_at(csv, 1, "alone"), "yes");
    assert_string_equal(csv_at(csv, 1, "limit"), "boost");
    assert_string_equal(csv_at(csv, 1, "unit"), "kPa");
    assert_close(csv_value(csv, 1, "bound"), 60.0, 1e-9);
    assert_close(csv_value(csv, 1, "needed"), 75.0, 1e-9);
    assert_close(csv_value(csv, 1, "room_pct"), -25.0, 1e-9);
    assert_close(csv_value(csv, 1, "tightest_speed_rpm"), f->speeds[2] * 60.0, 1e-6);
    assert_string_equal(csv_at(csv, 1, "tightest_site"), f->sites[1].name);
    assert_true(csv_value(csv, 1, "index") == 7.0);
    assert_string_equal(csv_at(csv, 1, "blower"), f->blowers[kit.blower].name);
    assert_close(csv_value(csv, 1, "blower_pulley_mm"), kit.blower_diameter * 1e3, 1e-5);
    assert_string_equal(csv_at(csv, 2, "alone"), "no");
    assert_string_equal(csv_at(csv, 2, "limit"), "boost");
    /* A property of the whole kit has no place; what has no end has no number. */
    assert_string_equal(csv_at(csv, 3, "limit"), "mass");
    assert_true(csv_value(csv, 3, "kit") == 2.0);
    assert_string_equal(csv_at(csv, 3, "needed"), "");
    assert_string_equal(csv_at(csv, 3, "tightest_site"), "");
    csv_free(csv);
    f->run.nearest_count = 0; /* what an earlier run left goes */
    char path[200];
    assert_int_equal(shv_report_file(&f->run, "nearest.csv", f->folder, &f->message), SHV_OK);
    (void)snprintf(path, sizeof path, "%s/nearest.csv", f->folder);
    assert_int_equal(access(path, F_OK), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_row_for_each_broken_limit, fixture_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
