/* Chunks and shards: every chunk is in one shard, shards are alike, and huge spaces are no trouble.
 */
#include "support/study_fixture.h"

#include "sweep/plan.h"

static struct sweep_plan planned(const struct shv_space *space, uint64_t points, uint64_t index,
                                 uint64_t count)
{
    struct sweep_plan plan;
    struct shv_message message = {""};
    if (plan_init(&plan, space, points, (struct shv_shard){index, count}, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return plan;
}

static void assert_cut(uint64_t air_size, uint64_t fuel_size, uint64_t count)
{
    const struct shv_space space = {.air_size = air_size, .fuel_size = fuel_size};
    struct sweep_plan whole = planned(&space, 10, 0, 1);
    int *seen = calloc(whole.chunks, sizeof *seen);
    assert_non_null(seen);
    uint64_t combinations = 0;
    for (uint64_t i = 0; i < count; i++) {
        struct sweep_plan p = planned(&space, 10, i, count);
        assert_true(p.air == whole.air && p.chunks == whole.chunks);
        assert_true(p.positions == whole.chunks / count || p.positions == whole.chunks / count + 1);
        uint64_t air = 0;
        for (uint64_t k = 0; k < p.positions; k++) {
            uint64_t chunk = plan_chunk(&p, k);
            assert_true(chunk < whole.chunks && chunk / count == k);
            seen[chunk]++;
            air += plan_chunk_air(&p, chunk);
        }
        assert_true(plan_combinations(&p) == air * fuel_size);
        combinations += air * fuel_size;
    }
    for (uint64_t k = 0; k < whole.chunks; k++) {
        assert_int_equal(seen[k], 1);
    }
    assert_true(combinations == air_size * fuel_size);
    free(seen);
}

static void every_chunk_is_in_one_shard(void **state)
{
    (void)state;
    const uint64_t airs[] = {1, 255, 256, 257, 5000, 99999, 256 * 64};
    const uint64_t counts[] = {1, 2, 3, 4, 7, 64, 1000};
    for (size_t a = 0; a < sizeof airs / sizeof *airs; a++) {
        for (size_t c = 0; c < sizeof counts / sizeof *counts; c++) {
            assert_cut(airs[a], 1, counts[c]);
            assert_cut(airs[a], 600, counts[c]);
        }
    }
}

/* Blowers, pulleys and coolers cost differently: every shard must get about as many chunks of each
 * stretch, and of each place in a list that repeats, as the others. */
static void shards_are_alike(void **state)
{
    (void)state;
    enum { SHARDS = 4, PERIOD = 4, STRETCHES = 5, CHUNKS = 8000 };
    const struct shv_space space = {.air_size = (uint64_t)CHUNKS * SHV_AIR_MAX, .fuel_size = 1};
    for (uint64_t i = 0; i < SHARDS; i++) {
        int stretch[STRETCHES] = {0}, place[PERIOD] = {0};
        struct sweep_plan p = planned(&space, 10, i, SHARDS);
        for (uint64_t k = 0; k < p.positions; k++) {
            stretch[plan_chunk(&p, k) * STRETCHES / CHUNKS]++;
            place[plan_chunk(&p, k) % PERIOD]++;
        }
        for (int k = 0; k < STRETCHES; k++) {
            assert_int_equal(stretch[k], CHUNKS / SHARDS / STRETCHES);
        }
        for (int k = 0; k < PERIOD; k++) {
            int fair = CHUNKS / SHARDS / PERIOD;
            assert_true(place[k] > fair * 8 / 10 && place[k] < fair * 12 / 10);
        }
    }
}

/* Small enough to be stopped soon, whole blocks of lanes, and of the study alone. */
static void chunks_are_of_a_good_size(void **state)
{
    (void)state;
    const uint64_t fuels[] = {1, 9, 300, 5000, 1000000}, points[] = {1, 26, 500};
    for (size_t f = 0; f < 5; f++) {
        for (size_t n = 0; n < 3; n++) {
            const struct shv_space space = {.air_size = 1000000, .fuel_size = fuels[f]};
            struct sweep_plan p = planned(&space, points[n], 0, 1);
            assert_true(p.air % SHV_LANES_MAX == 0 && p.air <= SHV_AIR_MAX && p.air > 0);
            assert_true(p.air == SHV_LANES_MAX || p.air * fuels[f] * points[n] <= 1 << 20);
            assert_true(planned(&space, points[n], 3, 10).air == p.air);
        }
    }
}

static void the_largest_space_does_not_overflow(void **state)
{
    (void)state;
    struct shv_space space = {.air_size = INT64_MAX, .fuel_size = 1};
    struct sweep_plan p = planned(&space, 1, 0, 1);
    assert_true(p.positions == p.chunks && plan_combinations(&p) == INT64_MAX);
    assert_true(plan_chunk(&p, p.positions - 1) == p.chunks - 1);
    uint64_t sum = 0;
    for (uint64_t i = 0; i < 1000; i++) {
        p = planned(&space, 1, i, 1000);
        assert_true(plan_chunk(&p, p.positions - 1) < p.chunks);
        sum += plan_combinations(&p);
    }
    assert_true(sum == INT64_MAX);
    space = (struct shv_space){.air_size = 1, .fuel_size = INT64_MAX};
    p = planned(&space, INT64_MAX, 0, 1);
    assert_true(p.chunks == 1 && plan_combinations(&p) == INT64_MAX);
}

static void shards_that_do_not_exist(void **state)
{
    (void)state;
    const struct shv_space space = {.air_size = 1000, .fuel_size = 1};
    const struct shv_shard bad[] = {{1, 1}, {4, 4}, {1, 0}, {0, SHV_SHARDS_MAX + 1}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct sweep_plan plan;
        struct shv_message message = {""};
        assert_int_equal(plan_init(&plan, &space, 1, bad[i], &message), SHV_BAD_INPUT);
        assert_non_null(strstr(message.text, "there is no shard"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_chunk_is_in_one_shard),
        cmocka_unit_test(shards_are_alike),
        cmocka_unit_test(chunks_are_of_a_good_size),
        cmocka_unit_test(the_largest_space_does_not_overflow),
        cmocka_unit_test(shards_that_do_not_exist),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
