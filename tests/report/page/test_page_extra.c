/* src/report/page/page_extra.c */
#include "report/folder.h"
#include "report/page/page_extra.h"

static void test_columns_that_say_something(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    char made[4096] = "";
    folder_write(f->folder, "t.csv",
                 "the_name,empty,mass_kg,word\r\na_b,,1.23456789,x\r\n<c>,,,2\r\nlast,1,2,3\r\n");
    assert_int_equal(report_records_read(f->folder, "t.csv", &r, &f->message), SHV_OK);
    FILE *out = fmemopen(made, sizeof made, "w");
    assert_non_null(out);
    page_extra_table(out, &r, "Title", 2, 10);
    assert_int_equal(fclose(out), 0);
    assert_string_equal(
        made, "<div class=\"scroll\"><table>\n<caption>Title</caption>\n<thead><tr><th "
              "scope=\"col\">the name</th><th scope=\"col\" class=\"n\">mass kg</th><th "
              "scope=\"col\">word</th></tr></thead>\n<tbody>\n<tr><th scope=\"row\">a_b</th><td "
              "class=\"n\">1.2346</td><td>x</td></tr>\n<tr><th scope=\"row\">&lt;c&gt;</th><td "
              "class=\"n\"></td><td>2</td></tr>\n</tbody></table></div>\n");
    report_records_free(&r);
}

static void test_nothing_of_nothing(void **state)
{
    (void)state;
    struct report_records none = {0};
    char made[64] = "";
    FILE *out = fmemopen(made, sizeof made, "w");
    assert_non_null(out);
    page_extra_table(out, &none, "Title", 5, 5);
    assert_int_equal(ftell(out), 0);
    assert_int_equal(fclose(out), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_columns_that_say_something, fixture_setup,
                                        folder_teardown),
        cmocka_unit_test(test_nothing_of_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
