/* src/report/page/page_range.c */
#include "report/range_folder.h"

static void test_page_of_a_range(void **state)
{
    struct fixture *f = *state;
    struct shv_pages pages;
    assert_int_equal(setenv("PATH", "/nowhere", 1), 0);
    assert_int_equal(shv_report_pages(f->folder, NULL, &pages, &f->message), SHV_OK);
    assert_true(folder_has(f->folder, "plots/plan.gp"));
    assert_false(folder_has(f->folder, "plots/power.gp"));
    char *page = read_whole(f->folder, "report.html");
    assert_non_null(strstr(page, "<b>4</b> different parts in stock"));
    assert_non_null(strstr(page, "4.0 % more"));
    assert_non_null(strstr(page, "a &quot;van&quot;"));
    assert_non_null(strstr(page, "&lt;coast&gt;"));
    assert_non_null(strstr(page, "hurt\npeople"));
    assert_int_equal(times_in(page, "<script>"), 1); /* titles for cells of a narrow screen */
    assert_non_null(strstr(page, "blower pulley"));
    assert_null(strstr(page, "blower_pulley"));
    free(page);
}

/* What knowing the sales is worth: the weighted mean of the gains. */
static void test_scenarios(void **state)
{
    struct fixture *f = *state;
    struct shv_pages pages;
    folder_write(f->folder, "scenarios.csv",
                 "scenario,weight,sales,value_power_kW,best_value_power_kW,gain_pct,proven\r\n"
                 "poor,0.25,10,500,520,2,yes\r\nr<i>ch,0.75,50,1500,1540,4,yes\r\n");
    assert_int_equal(setenv("PATH", "/nowhere", 1), 0);
    assert_int_equal(shv_report_pages(f->folder, NULL, &pages, &f->message), SHV_OK);
    char *page = read_whole(f->folder, "report.html");
    assert_non_null(strstr(page, "would be worth 3.5&nbsp;% of"));
    assert_non_null(strstr(page, "r&lt;i&gt;ch"));
    free(page);
}

/* A page for the kit of one group, or of each. */
static void test_sheets_of_groups(void **state)
{
    struct fixture *f = *state;
    size_t first, count;
    assert_int_equal(shv_report_groups(f->folder, "all", &first, &count, &f->message), SHV_OK);
    assert_int_equal(first, 1);
    assert_true(count > 0);
    char *page = read_whole(f->folder, "group-1.html");
    assert_non_null(strstr(page, "Kit sheet"));
    assert_non_null(strstr(page, "a &quot;van&quot;, &lt;coast&gt;, "));
    assert_non_null(strstr(page, "<dt>power it is chosen by</dt><dd>120.2 kW"));
    assert_null(strstr(page, "blower pulley")); /* its table has none */
    assert_non_null(strstr(page, "hurt\npeople"));
    assert_null(strstr(page, "<script"));
    free(page);
    assert_int_equal(shv_report_groups(f->folder, "nobody", &first, &count, &f->message),
                     SHV_BAD_INPUT);
    assert_non_null(strstr(f->message.text, "no group \"nobody\""));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_page_of_a_range, range_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_scenarios, range_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_sheets_of_groups, range_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
