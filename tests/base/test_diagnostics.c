/* Messages and lists of findings. */
#include "study/common.h"

#include "sheave/status.h"

static void test_fail_formats(void **state)
{
    (void)state;
    struct shv_message message;
    assert_int_equal(shv_fail(&message, SHV_IO, "%s:%d", "file", 7), SHV_IO);
    assert_string_equal(message.text, "file:7");
    assert_int_equal(shv_fail(NULL, SHV_NO_MEMORY, "%s", "nobody listens"), SHV_NO_MEMORY);
}

static void test_fail_cuts(void **state)
{
    (void)state;
    struct shv_message message;
    char text[1100];
    memset(text, 'x', sizeof text);
    text[1023] = '\0';
    shv_fail(&message, SHV_IO, "%s", text);
    assert_string_equal(message.text, text); /* just fits */
    text[1023] = 'x';
    text[1024] = '\0';
    shv_fail(&message, SHV_IO, "%s", text);
    assert_int_equal(strlen(message.text), 1023);
    assert_string_equal(message.text + 1018, "xx...");
}

static void test_list(void **state)
{
    (void)state;
    struct shv_diagnostics list = {0};
    for (int i = 0; i < 100; i++) {
        shv_diagnostics_add(&list, i % 4 == 0, "finding %d", i);
    }
    assert_int_equal(list.count, 100);
    assert_int_equal(list.errors, 75);
    assert_false(list.out_of_memory);
    assert_true(list.items[96].is_warning);
    assert_false(list.items[97].is_warning);
    assert_string_equal(list.items[97].text, "finding 97");
    shv_diagnostics_free(&list);
    assert_null(list.items);
    assert_int_equal(list.count + list.errors + list.capacity, 0);
    shv_diagnostics_free(&list); /* twice is safe */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fail_formats),
        cmocka_unit_test(test_fail_cuts),
        cmocka_unit_test(test_list),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
