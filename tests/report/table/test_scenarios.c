/* scenarios.csv of a plan by hand. */
#include "report/folder.h"
#include "report/made_range.h"

#include <unistd.h>

static void rows_are_written(void **state)
{
    (void)state;
    static struct made_range m;
    char folder[] = "/tmp/sheave-scenarios-XXXXXX";
    struct shv_message message = {""};
    assert_non_null(mkdtemp(folder));
    made_range_begin(&m);
    made_range_scenarios(&m);
    assert_int_equal(shv_report_range(&m.run, folder, &message), SHV_OK);
    struct csv *csv = csv_parse(read_whole(folder, "scenarios.csv"));
    assert_even(csv);
    assert_int_equal(csv->records, 3);
    static const char *const cells[][3] = {{"scenario", "calm", "storm"},
                                           {"weight", "0.75", "0.25"},
                                           {"sales", "42.5", "20"},
                                           {"value_power_kW", "1100", "500"},
                                           {"value_share", "", ""},
                                           {"value_profit", "", ""},
                                           {"best_value_power_kW", "1100", "592"},
                                           {"gain_pct", "0", "8"}, /* of the mean, 1150 */
                                           {"best_parts", "4", "3"},
                                           {"proven", "yes", "no"}};
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++) {
        assert_string_equal(csv_at(csv, 1, cells[i][0]), cells[i][1]);
        assert_string_equal(csv_at(csv, 2, cells[i][0]), cells[i][2]);
    }
    csv_free(csv);
    m.kits.problem.value = SHV_RANGE_SHARE;
    assert_int_equal(shv_report_range(&m.run, folder, &message), SHV_OK);
    csv = csv_parse(read_whole(folder, "scenarios.csv"));
    assert_string_equal(csv_at(csv, 2, "value_share"), "500000");
    assert_string_equal(csv_at(csv, 2, "best_value_share"), "592000");
    csv_free(csv);
    m.result.known = NULL; /* what an earlier plan left goes */
    assert_int_equal(shv_report_range(&m.run, folder, &message), SHV_OK);
    assert_null(read_whole(folder, "scenarios.csv"));
    folder_empty(folder);
    assert_int_equal(rmdir(folder), 0);
    m.result.known = m.known;
    assert_int_equal(shv_report_range(&m.run, folder, &message), SHV_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(rows_are_written)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
