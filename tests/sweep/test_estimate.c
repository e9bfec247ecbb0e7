/* The estimate of a sweep's duration: what is sampled. How near it comes is a matter of timing and
 * looked at by tests/bench. */
#include "support/study_fixture.h"

struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
};

static void prepare(struct ground *g, size_t pulleys)
{
    made_mixed(&g->m, pulleys, INFINITY, SHV_BLEED_TO_INLET);
    g->model = made_model(&g->m);
    assert_int_equal(shv_space_init(&g->space, &g->m.study, NULL), SHV_OK);
}

static void clean(struct ground *g)
{
    shv_model_free(g->model);
    made_end(&g->m);
}

static struct shv_estimate estimate(const struct ground *g, int threads, double budget,
                                    struct shv_shard shard)
{
    struct shv_estimate e;
    struct shv_message message = {""};
    const struct shv_sweep_options o = {.threads = threads, .shard = shard};
    if (shv_sweep_estimate(g->model, &g->space, &o, budget, NULL, &e, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    assert_true(e.sampled > 0 && e.spent > 0.0 && e.seconds > 0.0 && e.rate > 0.0);
    return e;
}

static void the_best_of_the_sample(void **state)
{
    (void)state;
    static struct ground g;
    struct shv_ranking sampled, ranking;
    struct shv_sweep_counts counts;
    struct shv_estimate e;
    const struct shv_sweep_options o = {.threads = 2};
    prepare(&g, 7);
    assert_int_equal(shv_ranking_init(&sampled, 5, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&ranking, 5, NULL), SHV_OK);
    assert_int_equal(shv_sweep_estimate(g.model, &g.space, &o, 1e9, &sampled, &e, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(g.model, &g.space, &o, &ranking, &counts, NULL), SHV_OK);
    assert_true(ranking.count > 0);
    assert_int_equal(sampled.count, ranking.count);
    for (size_t i = 0; i < ranking.count; i++) {
        assert_true(sampled.item[i].index == ranking.item[i].index);
    }
    shv_ranking_free(&sampled);
    shv_ranking_free(&ranking);
    clean(&g);
}

/* Each piece once, whatever their number: then nothing is guessed. */
static void a_small_space_is_sampled_whole(void **state)
{
    (void)state;
    static struct ground g;
    for (size_t pulleys = 1; pulleys < 12; pulleys++) {
        prepare(&g, pulleys);
        struct shv_estimate e = estimate(&g, 1 + (int)(pulleys % 3), 1e9, (struct shv_shard){0});
        assert_true(e.sampled == g.space.size);
        assert_within(e.seconds, e.spent, 1e-9 * e.spent);
        clean(&g);
    }
}

static void a_large_one_in_the_time_given(void **state)
{
    (void)state;
    static struct ground g;
    prepare(&g, 250);
    struct shv_estimate whole = estimate(&g, 2, 0.02, (struct shv_shard){0});
    assert_true(whole.sampled < g.space.size);
    assert_true(whole.spent >= 0.02 || whole.sampled == g.space.size);
    assert_relative(whole.seconds, (double)g.space.size / whole.rate, 1e-12);
    struct shv_estimate quarter = estimate(&g, 2, 0.02, (struct shv_shard){1, 4});
    assert_relative(quarter.seconds * quarter.rate, (double)g.space.size / 4.0, 0.05);
    clean(&g);
}

static void no_such_shard(void **state)
{
    (void)state;
    static struct ground g;
    struct shv_estimate e;
    struct shv_message message = {""};
    const struct shv_sweep_options o = {.shard = {4, 4}};
    prepare(&g, 1);
    assert_int_equal(shv_sweep_estimate(g.model, &g.space, &o, 0.1, NULL, &e, &message),
                     SHV_BAD_INPUT);
    clean(&g);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_best_of_the_sample),

        cmocka_unit_test(a_small_space_is_sampled_whole),
        cmocka_unit_test(a_large_one_in_the_time_given),
        cmocka_unit_test(no_such_shard),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
