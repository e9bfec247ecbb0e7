/* What counts as a number or as none; the head itself is seen through tests/study/test_log_file.c.
 */
#include "study/common.h"

#include "study/log_head.h"

static void test_numbers(void **state)
{
    (void)state;
    static const char *const good[] = {"1", "-1", "+1.5", "1,5", ".5", "5.", "1e3", "1.5E-03"};
    static const char *const bad[] = {"",     "-",   ".",    "1.2.3", "1.234,5", "1 2", "1e",
                                      "0x10", "nan", "12kW", "inf",   "1,2,3",   "--1"};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_true(log_is_number(good[i]));
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(log_is_number(bad[i]));
    }
}

static void test_missing(void **state)
{
    (void)state;
    static const char *const missing[] = {"", "-", "--", "---", "NaN", "N/A", "NA", "null", "#N/A"};
    for (size_t i = 0; i < sizeof missing / sizeof missing[0]; i++) {
        assert_true(log_is_missing(missing[i]));
    }
    assert_false(log_is_missing("0"));
    assert_false(log_is_missing("error"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
