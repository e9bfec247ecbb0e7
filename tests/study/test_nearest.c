/* Edit distances with known answers, and what is near enough to suggest. */
#include "study/common.h"

#include "study/nearest.h"

static void test_distance(void **state)
{
    (void)state;
    static const struct {
        const char *a, *b;
        size_t distance;
    } rows[] = {{"", "", 0},
                {"", "abc", 3},
                {"kitten", "sitting", 3},
                {"flaw", "lawn", 2},
                {"bore", "bore", 0},
                {"Bore", "bORE", 0},
                {"stroke", "strok", 1},
                {"saturday", "sunday", 3}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(edit_distance(rows[i].a, rows[i].b), rows[i].distance);
        assert_int_equal(edit_distance(rows[i].b, rows[i].a), rows[i].distance);
    }
}

static void test_long_texts(void **state)
{
    (void)state;
    char text[65];
    memset(text, 'a', 64);
    text[64] = '\0';
    assert_true(edit_distance(text, "a") == SIZE_MAX);
    text[63] = '\0';
    assert_int_equal(edit_distance(text, "a"), 62);
    assert_int_equal(edit_distance(text, text), 0);
}

static const char *suggest(const char *wanted)
{
    struct nearest nearest = {NULL, SIZE_MAX};
    nearest_offer(&nearest, wanted, "bore");
    nearest_offer(&nearest, wanted, "stroke");
    nearest_offer(&nearest, wanted, "volumetric_efficiency");
    return nearest_word(&nearest, wanted);
}

static void test_suggestion(void **state)
{
    (void)state;
    assert_string_equal(suggest("borre"), "bore");
    assert_string_equal(suggest("storke"), "stroke");
    assert_string_equal(suggest("volumetrc_eficency"), "volumetric_efficiency");
    assert_null(suggest("lambda"));
    assert_null(suggest("xy")); /* two changes would make anything of two letters */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_distance),
        cmocka_unit_test(test_long_texts),
        cmocka_unit_test(test_suggestion),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
