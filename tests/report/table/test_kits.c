/* src/report/table/kits.c; that limits.csv and ranked.csv agree is looked at by
 * tests/cli/test_run.py. */
#include "report/folder.h"

static void test_limits(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = csv_parse(read_whole(f->folder, "limits.csv"));
    size_t boost = 0, life = 0;
    assert_even(csv);
    for (size_t i = 1; i < csv->records; i++) {
        boost += strcmp(csv_at(csv, i, "limit"), "boost") == 0;
        if (strcmp(csv_at(csv, i, "limit"), "bearing_life") == 0) {
            life++;
            assert_string_equal(csv_at(csv, i, "sense"), "at_least");
            assert_string_equal(csv_at(csv, i, "unit"), "h");
            assert_close(csv_value(csv, i, "bound"), 500.0, 1e-9);
            assert_string_equal(csv_at(csv, i, "tightest_site"), ""); /* of the whole kit */
        }
        assert_true(csv_value(csv, i, "share_pct") >= 0.0);
    }
    assert_int_equal(boost, 2); /* one for each kit in curves.csv */
    assert_int_equal(life, 2);
    csv_free(csv);
}

static void test_parts(void **state)
{
    struct fixture *f = *state;
    struct csv *csv = csv_parse(read_whole(f->folder, "parts.csv"));
    bool belt = false, bypass = false;
    assert_even(csv);
    for (size_t i = 1; i < csv->records && strcmp(csv_at(csv, i, "rank"), "1") == 0; i++) {
        const char *part = csv_at(csv, i, "part");
        if (strcmp(part, "belt") == 0) {
            belt = true;
            assert_non_null(strstr(csv_at(csv, i, "size"), " ribs, "));
            assert_non_null(strstr(csv_at(csv, i, "size"), "static tension "));
        } else if (strcmp(part, "bypass valve") == 0) {
            bypass = true;
            assert_string_equal(csv_at(csv, i, "size"), "800 mm2");
            assert_close(csv_value(csv, i, "price"), 90.0, 1e-9);
        } else if (strcmp(part, "fuel") == 0) {
            assert_non_null(strstr(csv_at(csv, i, "size"), "RON "));
            assert_string_equal(csv_at(csv, i, "price"), "");
        }
        assert_string_not_equal(part, "injectors"); /* the study names none */
    }
    assert_true(belt && bypass);
    csv_free(csv);
}

static void test_a_valve_of_unknown_area_has_no_size(void **state)
{
    struct fixture *f = *state;
    struct csv *csv;
    f->study.bypass_part.area = 0.0;
    assert_int_equal(shv_report_file(&f->run, "parts.csv", f->folder, &f->message), SHV_OK);
    csv = csv_parse(read_whole(f->folder, "parts.csv"));
    for (size_t i = 1; i < csv->records; i++) {
        if (strcmp(csv_at(csv, i, "part"), "bypass valve") == 0) {
            assert_string_equal(csv_at(csv, i, "size"), "");
        }
    }
    csv_free(csv);
}

static void test_failed_writes_are_told(void **state)
{
    struct fixture *f = *state;
    assert_int_equal(shv_report_file(&f->run, "limits.csv", "/nowhere", &f->message), SHV_IO);
    assert_int_equal(shv_report_file(&f->run, "parts.csv", "/nowhere", &f->message), SHV_IO);
    assert_non_null(strstr(f->message.text, "/nowhere/parts.csv"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_limits, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_a_valve_of_unknown_area_has_no_size, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_parts, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_failed_writes_are_told, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
