/* The table of keys is whole: every row can be read, has a default that reads, and is documented.
 */
#include "study/common.h"

#include "study/keys.h"

static struct shv_units *units;

static int open_units(void **state)
{
    (void)state;
    return shv_units_open(&units, NULL) == SHV_OK ? 0 : -1;
}

static int close_units(void **state)
{
    (void)state;
    shv_units_free(units);
    return 0;
}

static bool has_numbers(const struct key *key)
{
    return key->type == KEY_QUANTITY || key->type == KEY_INTEGER || key->type == KEY_PAIRS ||
           key->type == KEY_DIMENSION;
}

static bool in_range(const struct key *key, double value)
{
    return (key->above_min ? value > key->min : value >= key->min) && value <= key->max;
}

static void check_fallback(const struct key *key)
{
    double value = NAN;
    if (key->type == KEY_QUANTITY || key->type == KEY_DIMENSION) {
        assert_int_equal(shv_units_read(units, key->quantity, key->fallback, &value, NULL), SHV_OK);
        assert_true(in_range(key, value));
    } else if (key->type == KEY_INTEGER) {
        assert_true(in_range(key, (double)strtoll(key->fallback, NULL, 10)));
    } else if (key->type == KEY_BOOL) {
        assert_true(strcmp(key->fallback, "true") == 0 || strcmp(key->fallback, "false") == 0);
    } else {
        assert_int_equal(key->type, KEY_WORD);
        size_t i = 0;
        while (key->words[i] != NULL && strcmp(key->words[i], key->fallback) != 0) {
            i++;
        }
        assert_non_null(key->words[i]);
    }
}

static void check_row(const struct key_group *group, size_t index)
{
    struct key key = key_at(group, index);
    size_t length = strlen(key.meaning);
    char text[1024];
    assert_int_equal(key_find(group, key.name), index); /* no name twice */
    assert_true(length > 3 && key.meaning[length - 1] == '.' && strchr(key.meaning, '|') == NULL);
    /* Exactly one of the ways to say what happens without it; groups have their own defaults. */
    int ways = key.required + key.with_needed + (key.fallback != NULL) + (key.absent != NULL);
    bool has_group = key.type == KEY_GROUP || key.type == KEY_LIST || key.type == KEY_ENTRIES;
    assert_true(has_group == (key.group != NULL));
    assert_true(ways == 1 || (ways == 0 && key.type == KEY_GROUP));
    if (has_numbers(&key) && group != &range_keys) {
        assert_true(key.min < key.max);
        key_range(&key, text, sizeof text);
        assert_true(strlen(text) > 0);
    }
    if (key.fallback != NULL) {
        check_fallback(&key);
    }
    key_accepts(&key, text, sizeof text);
    assert_true(strlen(text) > 0 && strlen(text) < 600); /* far from being cut */
}

static size_t walk(const struct key_group *group)
{
    size_t rows = group->count;
    for (size_t i = 0; i < group->count; i++) {
        struct key key = key_at(group, i);
        check_row(group, i);
        if (key.group != NULL) {
            rows += walk(key.group);
        }
    }
    return rows;
}

static void test_rows(void **state)
{
    (void)state;
    assert_true(walk(&study_keys) > 220);
    assert_int_equal(walk(&range_keys), 3);
}

static void test_ranges_in_words(void **state)
{
    (void)state;
    char text[128];
    struct key key = {.type = KEY_QUANTITY, .quantity = SHV_Q_ROTATION, .min = 0, .max = 100};
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "0 to 6000 rpm");
    key.above_min = true;
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "more than 0, up to 6000 rpm");
    key.max = INFINITY;
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "more than 0 rpm");
    key.above_min = false;
    key_range(&key, text, sizeof text);
    assert_string_equal(text, "at least 0 rpm");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows),
        cmocka_unit_test(test_ranges_in_words),
    };
    return cmocka_run_group_tests(tests, open_units, close_units);
}
