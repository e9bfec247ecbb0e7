/* src/report/table/whole.c */
#include "report/folder.h"
#include "report/table/whole.h"

static void test_reads_all(void **state)
{
    struct fixture *f = *state;
    struct shv_message message = {{0}};
    char *text, *path;
    folder_write(f->folder, "a.txt", "one\ntwo");
    assert_int_equal(report_whole_read(f->folder, "a.txt", &text, &path, &message), SHV_OK);
    assert_string_equal(text, "one\ntwo");
    assert_non_null(strstr(path, "/a.txt"));
    free(text);
    free(path);
}

static void test_tells_what_is_wrong(void **state)
{
    struct fixture *f = *state;
    struct shv_message message = {{0}};
    char *text, *path;
    assert_int_equal(report_whole_read(f->folder, "none", &text, &path, &message), SHV_NOTHING);
    free(text);
    free(path);
    assert_int_equal(report_whole_read(f->folder, ".", &text, &path, &message), SHV_IO);
    assert_non_null(strstr(message.text, "not a regular file"));
    free(text);
    free(path);
    FILE *out = fopen(folder_path(f->folder, "zero"), "wb");
    assert_non_null(out);
    assert_int_equal(fwrite("a\0b", 1, 3, out), 3);
    assert_int_equal(fclose(out), 0);
    assert_int_equal(report_whole_read(f->folder, "zero", &text, &path, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "zero byte"));
    free(text);
    free(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_reads_all, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_tells_what_is_wrong, fixture_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
