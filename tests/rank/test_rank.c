/* The bounded ranking against a full sort, on random data with many ties. */
#include "support/study_fixture.h"

#define MOST 3000

static int best_first(const void *a, const void *b)
{
    const struct shv_candidate *x = a, *y = b;
    if (x->objective != y->objective) {
        return x->objective > y->objective ? -1 : 1;
    }
    return (x->index > y->index) - (x->index < y->index);
}

/* Objectives from a few values only, so that most are ties; indices all different. */
static void random_candidates(uint64_t *seed, struct shv_candidate *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        list[i].objective = (double)(random_next(seed) % 40u) - 20.0;
        list[i].index = i;
    }
}

static void shuffle(uint64_t *seed, struct shv_candidate *list, size_t count)
{
    for (size_t i = count; i > 1; i--) {
        size_t k = (size_t)(random_next(seed) % i);
        struct shv_candidate c = list[i - 1];
        list[i - 1] = list[k];
        list[k] = c;
    }
}

static void assert_ranked(const struct shv_candidate *offered, size_t count, size_t capacity,
                          const struct shv_candidate *sorted)
{
    struct shv_ranking r;
    assert_int_equal(shv_ranking_init(&r, capacity, NULL), SHV_OK);
    for (size_t i = 0; i < count; i++) {
        shv_ranking_offer(&r, offered[i]);
        assert_true(r.count <= r.capacity);
    }
    shv_ranking_sort(&r);
    assert_int_equal(r.count, count < capacity ? count : capacity);
    for (size_t i = 0; i < r.count; i++) {
        assert_true(r.item[i].index == sorted[i].index);
        assert_same_bits(r.item[i].objective, sorted[i].objective);
    }
    shv_ranking_free(&r);
}

static void heap_against_sort_in_any_order(void **state)
{
    (void)state;
    static struct shv_candidate offered[MOST], sorted[MOST];
    uint64_t seed = 81;
    for (int n = 0; n < 60; n++) {
        size_t count = 1 + (size_t)(random_next(&seed) % MOST);
        random_candidates(&seed, offered, count);
        memcpy(sorted, offered, sizeof sorted);
        qsort(sorted, count, sizeof *sorted, best_first);
        const size_t capacity[] = {0, 1, 2, 7, 100, count, count + 5};
        for (size_t k = 0; k < sizeof capacity / sizeof *capacity; k++) {
            shuffle(&seed, offered, count);
            assert_ranked(offered, count, capacity[k], sorted);
        }
    }
}

/* Best last and best first are the hardest and the easiest order. */
static void ordered_offers(void **state)
{
    (void)state;
    static struct shv_candidate up[MOST], down[MOST];
    for (size_t i = 0; i < MOST; i++) {
        down[i] = (struct shv_candidate){(double)(MOST - i), i};
        up[MOST - 1 - i] = down[i];
    }
    assert_ranked(up, MOST, 50, down);
    assert_ranked(down, MOST, 50, down);
}

static void before_is_a_total_order(void **state)
{
    (void)state;
    const struct shv_candidate a = {2.0, 5}, b = {2.0, 6}, c = {3.0, 9};
    assert_true(shv_candidate_before(&a, &b) && !shv_candidate_before(&b, &a));
    assert_true(shv_candidate_before(&c, &a) && !shv_candidate_before(&a, &c));
    assert_false(shv_candidate_before(&a, &a));
}

static void no_room_keeps_nothing(void **state)
{
    (void)state;
    struct shv_ranking r;
    assert_int_equal(shv_ranking_init(&r, 0, NULL), SHV_OK);
    shv_ranking_offer(&r, (struct shv_candidate){1.0, 1});
    shv_ranking_sort(&r);
    assert_int_equal(r.count, 0);
    shv_ranking_free(&r);
    shv_ranking_free(&r);
    assert_null(r.item);
}

static void appended_behind_all(void **state)
{
    (void)state;
    struct shv_ranking r;
    assert_int_equal(shv_ranking_init(&r, 2, NULL), SHV_OK);
    for (uint64_t i = 0; i < 5; i++) {
        shv_ranking_offer(&r, (struct shv_candidate){(double)i, i});
    }
    shv_ranking_sort(&r);
    assert_int_equal(shv_ranking_append(&r, (struct shv_candidate){1.0, 1}, NULL), SHV_OK);
    assert_int_equal(shv_ranking_append(&r, (struct shv_candidate){7.0, 7}, NULL), SHV_OK);
    assert_int_equal(r.count, 4);
    const uint64_t index[] = {4, 3, 1, 7};
    for (size_t i = 0; i < r.count; i++) {
        assert_int_equal(r.item[i].index, index[i]);
    }
    assert_true(r.capacity >= r.count);
    shv_ranking_free(&r);
}

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define CAN_RUN_OUT 1 /* the sanitizers end the program instead of letting calloc fail */
static void more_rows_than_memory_is_told(void **state)
{
    (void)state;
    struct shv_ranking r;
    struct shv_message message = {""};
    assert_int_equal(shv_ranking_init(&r, SIZE_MAX / 2, &message), SHV_NO_MEMORY);
    assert_non_null(strstr(message.text, "memory"));
}
#endif

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heap_against_sort_in_any_order),
        cmocka_unit_test(ordered_offers),
        cmocka_unit_test(before_is_a_total_order),
        cmocka_unit_test(no_room_keeps_nothing),
        cmocka_unit_test(appended_behind_all),
#ifdef CAN_RUN_OUT
        cmocka_unit_test(more_rows_than_memory_is_told),
#endif
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
