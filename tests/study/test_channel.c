/* The table of channels is complete and means one thing. */
#include "study/common.h"

#include "sheave/measured.h"

static void test_table(void **state)
{
    (void)state;
    for (int i = 0; i < SHV_CHANNEL_COUNT; i++) {
        const struct shv_channel_info *info = shv_channel_info((enum shv_channel)i);
        bool measured = false, used = false;
        assert_non_null(shv_channel_info((enum shv_channel)i)->name);
        assert_non_null(info->title);
        for (int k = 0; k < SHV_LOG_KINDS; k++) {
            measured = measured || info->use[k] == SHV_CHANNEL_MEASURED;
            used = used || info->use[k] != SHV_CHANNEL_NOT;
        }
        assert_true(used);
        /* What is measured somewhere has a deviation of one of the two ways, nothing else has. */
        assert_int_equal((info->error > 0.0) + (info->share > 0.0), measured ? 1 : 0);
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(shv_channel_info((enum shv_channel)i)->name,
                                    shv_channel_info((enum shv_channel)k)->name);
        }
    }
    assert_null(shv_log_kind_names[SHV_LOG_KINDS]);
    assert_string_equal(shv_channel_info(SHV_CHANNEL_CA50)->name, "ca50");
    assert_string_equal(shv_channel_info(SHV_CHANNEL_BLOWER_POWER)->name, "blower_power");
    assert_string_equal(shv_log_kind_names[SHV_LOG_OF_BENCH], "bench");
}

static void test_seen(void **state)
{
    (void)state;
    assert_true(shv_correction_is_seen(SHV_CORRECT_CREEP));
    assert_false(shv_correction_is_seen(SHV_CORRECT_BELT_FRICTION));
    assert_false(shv_correction_is_seen(SHV_CORRECT_CRANK_PULLEY));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_table),
        cmocka_unit_test(test_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
