/* Errors of cycle tables in few numbers. */
#include "report/fixture.h"
#include "report/table/quality.h"

static void the_largest_of_each_kind(void **state)
{
    (void)state;
    const struct shv_cycle_table_quality quality = {
        .random = {9.0, 9.0, 9.0, 9.0, 9.0},
        .along = {{1.0, 5.0, 3.0, 2.0, 0.1}, {2.0, 4.0, 6.0, 1.0, 0.2}, {0.5, 4.5, 1.0, 3.0, 0.3}}};
    struct shv_cycle_table_error e = report_worst_along(&quality);
    assert_true(e.efficiency == 2.0 && e.ca50 == 5.0 && e.peak_pressure == 6.0);
    assert_true(e.exhaust_temperature == 3.0 && e.knock_integral == 0.3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_largest_of_each_kind)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
