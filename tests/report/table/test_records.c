/* src/report/table/records.c */
#include "report/folder.h"
#include "report/table/records.h"

static enum shv_status read_text(struct fixture *f, const char *text, struct report_records *r)
{
    folder_write(f->folder, "t.csv", text);
    return report_records_read(f->folder, "t.csv", r, &f->message);
}

/* As sheave writes it, and as a spreadsheet saves it: other ends of lines, blank records. */
static void test_reads_what_rfc_4180_has(void **state)
{
    struct report_records r;
    assert_int_equal(
        read_text(*state,
                  "name,boost_kPa,n\r\n\"a,\"\"b\"\"\r\nc\",12.5,7\r\n,,\r\n#1,,\n'=1+1,x,-1e3",
                  &r),
        SHV_OK);
    assert_int_equal(r.columns, 3);
    assert_int_equal(r.rows, 3);
    assert_string_equal(report_records_text(&r, 0, 0), "a,\"b\"\r\nc");
    assert_int_equal(report_records_column(&r, "boost", REPORT_GAUGE, SHV_METRIC), 1);
    assert_int_equal(report_records_column(&r, "boost", REPORT_GAUGE, SHV_US), REPORT_NO_COLUMN);
    assert_true(report_records_number(&r, 0, 1) == 12.5);
    assert_true(isnan(report_records_number(&r, 1, 1)));
    assert_string_equal(report_records_text(&r, 1, 0), "#1"); /* a name, no comment */
    assert_true(isnan(report_records_number(&r, 2, 1)));
    assert_true(report_records_number(&r, 2, 2) == -1000.0);
    assert_string_equal(report_records_text(&r, 2, 0), "=1+1"); /* guarded from spreadsheets */
    assert_string_equal(report_records_text(&r, 9, 0), "");
    assert_string_equal(report_records_text(&r, 0, REPORT_NO_COLUMN), "");
    assert_true(isnan(report_records_number(&r, 0, REPORT_NO_COLUMN)));
    assert_string_equal(report_records_name(&r, 1), "boost_kPa");
    report_records_free(&r);
}

static void test_refuses_anything_else(void **state)
{
    static const struct {
        const char *text, *said;
    } cases[] = {
        {"", "t.csv: there is no header"},
        {"a,b\r\n1\r\n", "t.csv:2: more or fewer cells"},
        {"a,b\n1,2,3\n", "t.csv:2: more or fewer cells"},
        {"a\r\n\"x\r\n", "t.csv:2: cell 1: a quote is opened and never closed"},
        {"a\r\n\"x\"y\r\n", "t.csv:2: cell 1: text behind a closing quote"},
    };
    struct fixture *f = *state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct report_records r;
        assert_int_equal(read_text(f, cases[i].text, &r), SHV_BAD_INPUT);
        if (!strstr(f->message.text, cases[i].said)) {
            fail_msg("%s is not in: %s", cases[i].said, f->message.text);
        }
        assert_int_equal(r.rows, 0);
    }
}

static void test_a_file_that_is_missing_is_empty(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    assert_int_equal(report_records_read(f->folder, "none.csv", &r, &f->message), SHV_NOTHING);
    assert_int_equal(r.rows, 0);
    assert_string_equal(report_records_text(&r, 0, 0), "");
}

/* What the writers write comes back. */
static void test_reads_the_writers(void **state)
{
    struct fixture *f = *state;
    struct report_records r;
    assert_int_equal(report_records_read(f->folder, "curves.csv", &r, &f->message), SHV_OK);
    assert_int_equal(r.rows, 2 * 2 * 3);
    size_t boost = report_records_column(&r, "boost", REPORT_GAUGE, SHV_METRIC);
    for (size_t i = 0; i < r.rows; i++) {
        assert_true(isfinite(report_records_number(&r, i, boost)));
    }
    report_records_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_reads_what_rfc_4180_has, fixture_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_refuses_anything_else, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_a_file_that_is_missing_is_empty, fixture_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_reads_the_writers, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
