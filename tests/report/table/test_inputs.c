/* src/report/table/inputs.c */
#include "report/folder.h"

static void test_writes_the_text(void **state)
{
    struct fixture *f = *state;
    f->study.text = "#### a.cfg\ntitle = \"x\";\n";
    assert_int_equal(shv_report_inputs(&f->run, f->folder, &f->message), SHV_OK);
    char *text = read_whole(f->folder, "study.txt");
    assert_string_equal(text, f->study.text);
    free(text);
    f->study.text = NULL; /* of a study in memory */
    assert_int_equal(shv_report_inputs(&f->run, f->folder, &f->message), SHV_OK);
    text = read_whole(f->folder, "study.txt");
    assert_string_equal(text, "");
    free(text);
    assert_int_equal(shv_report_inputs(&f->run, "/nowhere", &f->message), SHV_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_writes_the_text, fixture_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
