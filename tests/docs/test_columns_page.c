/* docs/columns.md, which the test beside this one holds to be current, tells of every column. */
#include "report/folder.h"
#include "report/table/files.h"

static char *page_of_columns(void)
{
    char *page = read_whole(SHEAVE_SOURCE_DIR "/docs", "columns.md");
    assert_non_null(page);
    return page;
}

/* Every column of a header stands in the page in both unit systems. */
static void assert_told(const char *page, const struct report_layout *layout)
{
    for (size_t i = 0; i < layout->count; i++) {
        char metric[REPORT_NAME_MAX], us[REPORT_NAME_MAX], line[3 * REPORT_NAME_MAX];
        char once[REPORT_NAME_MAX + 8];
        report_column_name(&layout->column[i], SHV_METRIC, metric);
        report_column_name(&layout->column[i], SHV_US, us);
        (void)snprintf(line, sizeof line, "\n| `%s` | `%s` | ", metric, us);
        (void)snprintf(once, sizeof once, "`%s`", layout->column[i].stem);
        if (!strstr(page, line) && !strstr(page, once)) {
            fail_msg("no line for %s", metric);
        }
    }
}

static void every_column_is_told(void **state)
{
    (void)state;
    const struct report_table *const tables[] = {&report_ranked,  &report_curves, &report_rejected,
                                                 &report_optimum, &report_cycle,  &report_tradeoffs,
                                                 &report_serving, &report_sites};
    char *page = page_of_columns();
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        struct report_layout layout;
        report_table_layout(tables[i], &layout, REPORT_EVERY_COLUMN);
        assert_true(layout.count > 5 && layout.count <= REPORT_COLUMNS_MAX);
        assert_told(page, &layout);
    }
    free(page);
}

/* All of a kit's columns are told once, and where others hold some, those are named. */
static void what_is_told_is_referred_to(void **state)
{
    (void)state;
    char *page = page_of_columns();
    assert_int_equal(times_in(page, "| `highest_boost_kPa` |"), 1);
    assert_int_equal(times_in(page, "Then all columns of ranked.csv"), 2); /* fronts, serving */
    assert_true(times_in(page, "\nAs in ranked.csv: `") >= 3);
    assert_non_null(strstr(page, "| Ribs of the belt. Only when the study describes the belt. |"));
    assert_non_null(strstr(page, "| Room to the limit of mass. Only when that limit is set. |"));
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_column_is_told),
        cmocka_unit_test(what_is_told_is_referred_to),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
