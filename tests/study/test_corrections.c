/* The table of corrections. */
#include "support/study_fixture.h"

#include "sheave/corrections.h"

static void table_is_whole(void **state)
{
    (void)state;
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    assert_true(shv_corrections_are_neutral(&c));
    assert_int_equal(shv_corrections_check(&c, NULL), SHV_OK);
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        const struct shv_correction_info *info = shv_correction_info((enum shv_correction)i);
        assert_true(info->name && info->title && info->meaning);
        assert_true(info->neutral == 0.0 || info->neutral == 1.0);
        assert_true(info->least < info->neutral && info->neutral < info->most);
        assert_same_bits(c.value[i], info->neutral);
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(info->name, shv_correction_info((enum shv_correction)k)->name);
        }
    }
}

static void out_of_range_is_told(void **state)
{
    (void)state;
    struct shv_message message;
    struct shv_corrections c;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_KNOCK] = 0.2;
    assert_false(shv_corrections_are_neutral(&c));
    assert_int_equal(shv_corrections_check(&c, &message), SHV_BAD_INPUT);
    assert_string_equal(message.text, "correction knock: found 0.2; accepted: 0.3 to 3");
    c.value[SHV_CORRECT_KNOCK] = NAN;
    assert_int_equal(shv_corrections_check(&c, NULL), SHV_BAD_INPUT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(table_is_whole),
                                       cmocka_unit_test(out_of_range_is_told)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
