/* Sets of numbers as ranges, against a plain array of flags. */
#include "support/study_fixture.h"

#include "sweep/ranges.h"

#define NUMBERS 300

static void assert_same(const struct ranges *r, const bool *flag)
{
    uint64_t total = 0;
    for (size_t i = 0; i < r->count; i++) {
        assert_true(r->item[i].first < r->item[i].end && r->item[i].end <= NUMBERS);
        assert_true(i == 0 || r->item[i - 1].end < r->item[i].first);
    }
    for (uint64_t n = 0; n < NUMBERS; n++) {
        if (flag[n]) {
            assert_true(ranges_at(r, total) == n);
            total++;
        }
    }
    assert_true(ranges_total(r) == total);
}

static void any_order_gives_the_same_set(void **state)
{
    (void)state;
    uint64_t seed = 7;
    for (int round = 0; round < 20; round++) {
        bool flag[NUMBERS] = {false}, rest[NUMBERS];
        struct ranges r = {0}, gaps = {0}, copy = {0};
        for (int i = 0; i < 1 + 30 * round; i++) {
            uint64_t n = random_next(&seed) % NUMBERS;
            if (!flag[n]) {
                flag[n] = true;
                assert_true(ranges_add(&r, n));
            }
        }
        assert_same(&r, flag);
        for (int n = 0; n < NUMBERS; n++) {
            rest[n] = !flag[n];
        }
        assert_true(ranges_gaps(&r, NUMBERS, &gaps));
        assert_same(&gaps, rest);
        assert_true(ranges_copy(&copy, &r) && ranges_copy(&copy, &gaps));
        assert_same(&copy, rest);
        ranges_free(&r);
        ranges_free(&gaps);
        ranges_free(&copy);
    }
}

static void all_of_it_is_one_range(void **state)
{
    (void)state;
    struct ranges r = {0}, gaps = {0};
    for (uint64_t n = 0; n < NUMBERS; n += 2) {
        assert_true(ranges_add(&r, n));
    }
    assert_int_equal(r.count, NUMBERS / 2);
    for (uint64_t n = NUMBERS; n-- > 0;) {
        assert_true(n % 2 == 0 || ranges_add(&r, n));
    }
    assert_int_equal(r.count, 1);
    assert_true(ranges_gaps(&r, NUMBERS, &gaps));
    assert_int_equal(gaps.count, 0);
    ranges_free(&r);
    ranges_free(&gaps);
}

static void only_what_lies_behind_is_appended(void **state)
{
    (void)state;
    struct ranges r = {0};
    assert_true(ranges_append(&r, 3, 5));
    assert_false(ranges_append(&r, 5, 6)); /* touches */
    assert_false(ranges_append(&r, 1, 2));
    assert_false(ranges_append(&r, 9, 9));
    assert_true(ranges_append(&r, 6, INT64_MAX));
    assert_true(ranges_total(&r) == 2 + (uint64_t)INT64_MAX - 6);
    assert_true(ranges_at(&r, (uint64_t)1 << 40) == ((uint64_t)1 << 40) + 4);
    ranges_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_order_gives_the_same_set),
        cmocka_unit_test(all_of_it_is_one_range),
        cmocka_unit_test(only_what_lies_behind_is_appended),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
