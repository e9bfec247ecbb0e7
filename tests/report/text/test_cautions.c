/* src/report/text/cautions.c */
#include "report/folder.h"

static void test_lines_fit(void **state)
{
    (void)state;
    for (const char *line = shv_cautions; *line; line += strcspn(line, "\n") + 1) {
        assert_true(strcspn(line, "\n") <= 100);
    }
    assert_non_null(strstr(shv_cautions, "dynamometer"));
    assert_non_null(strstr(shv_cautions, "engineer"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_lines_fit)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
