/* src/report/page/page_table.c */
#include "report/folder.h"
#include "report/page/page_table.h"

static char *table_of(struct fixture *f)
{
    struct report_results r;
    char *made = calloc(1, 1 << 20);
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    FILE *out = fmemopen(made, 1 << 20, "w");
    assert_non_null(out);
    page_table(out, &r);
    assert_int_equal(fclose(out), 0);
    report_results_free(&r);
    return made;
}

static void test_columns_that_say_something(void **state)
{
    struct fixture *f = *state;
    char *t = table_of(f);
    assert_non_null(strstr(t, ">blower</th>"));
    assert_non_null(strstr(t, ">price, crowns</th>"));
    assert_non_null(strstr(t, ">boost, kPa</th>"));
    assert_non_null(strstr(t, "class=\"n more\""));
    assert_null(strstr(t, "ca50")); /* empty without the closed cycle */
    assert_non_null(strstr(t, ">ranking value, kW</th>"));
    assert_non_null(strstr(t, ">nearest limit</th>"));
    assert_null(strstr(t, "objective"));
    assert_null(strstr(t, "phasing"));
    assert_int_equal(times_in(t, "<tr>"), f->ranking.count + 1);
    free(t);
}

static void test_kits_with_curves_are_linked(void **state)
{
    struct fixture *f = *state;
    char *t = table_of(f);
    assert_int_equal(times_in(t, "href=\"#kit-"), 2);
    assert_non_null(strstr(t, "href=\"#kit-2\""));
    free(t);
}

static void test_columns_of_other_versions_are_shown(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "ranked.csv",
                 "rank,blower,shine_<pct>\r\n1,a & b,7\r\n2,c,\"<i>\"\r\n");
    char *t = table_of(f);
    assert_non_null(strstr(t, ">shine &lt;pct&gt;</th>"));
    assert_non_null(strstr(t, "<td>a &amp; b</td>"));
    assert_non_null(strstr(t, "&lt;i&gt;"));
    free(t);
}

static void test_long_rankings_are_cut(void **state)
{
    struct fixture *f = *state;
    char *text = calloc(1, 1 << 16);
    size_t used = (size_t)snprintf(text, 1 << 16, "rank,blower,late\r\n");
    for (int i = 1; i <= PAGE_ROWS + 5; i++) {
        const char *late = i > PAGE_ROWS ? "something" : "";
        used += (size_t)snprintf(text + used, (1 << 16) - used, "%d,b,%s\r\n", i, late);
    }
    folder_write(f->folder, "ranked.csv", text);
    free(text);
    char *t = table_of(f);
    assert_int_equal(times_in(t, "<tr>"), PAGE_ROWS + 1);
    assert_null(strstr(t, "late")); /* says nothing in what is shown */
    free(t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_columns_that_say_something, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_kits_with_curves_are_linked, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_columns_of_other_versions_are_shown, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_long_rankings_are_cut, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
