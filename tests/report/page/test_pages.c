/* src/report/page/pages.c */
#include "report/folder.h"

static void test_page_without_gnuplot(void **state)
{
    struct fixture *f = *state;
    struct shv_pages pages;
    size_t rank = 1;
    assert_int_equal(setenv("PATH", "/nowhere", 1), 0);
    assert_int_equal(shv_report_pages(f->folder, NULL, &pages, &f->message), SHV_OK);
    assert_true(pages.no_gnuplot);
    char *page = read_whole(f->folder, "report.html");
    assert_non_null(strstr(page, "gnuplot did not draw it"));
    free(page);
    assert_int_equal(shv_report_sheet(f->folder, &rank, &f->message), SHV_OK);
    assert_true(folder_has(f->folder, "kit-1.html"));
}

static void test_folder_without_results(void **state)
{
    struct fixture *f = *state;
    struct shv_pages pages;
    size_t rank = 1;
    assert_int_equal(shv_report_pages(f->folder, NULL, &pages, &f->message), SHV_BAD_INPUT);
    assert_int_equal(shv_report_sheet(f->folder, &rank, &f->message), SHV_BAD_INPUT);
    assert_false(folder_has(f->folder, "report.html"));
    assert_false(folder_has(f->folder, "plots"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_page_without_gnuplot, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_folder_without_results, fixture_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
