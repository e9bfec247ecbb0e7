/* src/report/page/sheet.c */
#include "report/folder.h"
#include "report/page/page.h"

static enum shv_status sheet(struct fixture *f, size_t rank)
{
    struct report_results r;
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    enum shv_status status = report_sheet(&r, &rank, &f->message);
    report_results_free(&r);
    return status;
}

static void test_has_what_a_fitter_needs(void **state)
{
    static const char *const wanted[] = {"kit 2",
                                         "static belt tension",
                                         "RON ",
                                         "Parts of the kit",
                                         "Limits and the room left",
                                         "hurt\npeople",
                                         "script-src 'none'"};
    struct fixture *f = *state;
    assert_int_equal(sheet(f, 2), SHV_OK);
    char *page = read_whole(f->folder, "kit-2.html");
    assert_non_null(page);
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        if (!strstr(page, wanted[i])) {
            fail_msg("the sheet lacks: %s", wanted[i]);
        }
    }
    assert_null(strstr(page, "<script"));
    free(page);
}

static void test_ranks_without_curves(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(sheet(f, 3), SHV_BAD_INPUT);
    assert_non_null(strstr(f->message.text, "curves of 2 kits"));
    assert_int_equal(sheet(f, 0), SHV_BAD_INPUT);
    assert_false(folder_has(f->folder, "kit-3.html"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_has_what_a_fitter_needs, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_ranks_without_curves, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
