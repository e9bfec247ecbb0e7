/* Kits for one site alone against brute force, and the model of one site against a study of it. */
#include "support/study_fixture.h"

#include "sheave/site_shortfall.h"

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
} g;

static int begin(void **state)
{
    (void)state;
    made_mixed(&g.m, 7, INFINITY, SHV_BLEED_TO_INLET);
    g.model = made_model(&g.m);
    return shv_space_init(&g.space, &g.m.study, NULL) == SHV_OK ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    shv_model_free(g.model);
    made_end(&g.m);
    return 0;
}

/* As if the study named the site alone. */
static struct shv_model *study_of_site(struct shv_study *study, size_t site)
{
    struct shv_model *model;
    *study = g.m.study;
    study->sites = &g.m.study.sites[site];
    study->site_count = 1;
    assert_int_equal(shv_model_create(study, &model, NULL), SHV_OK);
    return model;
}

static void a_site_is_a_study_of_it(void **state)
{
    (void)state;
    for (size_t site = 0; site < 2; site++) {
        struct shv_study study;
        struct shv_model *alone = study_of_site(&study, site), *part;
        struct shv_curves a, b;
        assert_int_equal(shv_model_of_site(g.model, site, &part, NULL), SHV_OK);
        assert_int_equal(shv_curves_init(&a, alone, NULL), SHV_OK);
        assert_int_equal(shv_curves_init(&b, part, NULL), SHV_OK);
        assert_int_equal(shv_model_study(part)->site_count, 1);
        struct shv_corrections none;
        struct shv_model *corrected;
        shv_corrections_neutral(&none);
        assert_int_equal(shv_model_correct(part, &none, &corrected, NULL), SHV_BAD_INPUT);
        for (uint64_t i = 0; i < g.space.size; i += 13) {
            struct shv_kit kit;
            shv_space_kit(&g.space, &study, i, &kit);
            shv_model_evaluate(alone, &kit, &a);
            shv_model_evaluate(part, &kit, &b);
            assert_int_equal(a.verdict.broken, b.verdict.broken);
            assert_same_bits(a.verdict.objective, b.verdict.objective);
        }
        shv_curves_free(&a);
        shv_curves_free(&b);
        shv_model_free(part);
        shv_model_free(alone);
    }
}

/* The best at a site by trying all; -1: none. */
static int64_t best_at(size_t site, double *objective)
{
    struct shv_study study;
    struct shv_model *alone = study_of_site(&study, site);
    struct shv_curves curves;
    int64_t best = -1;
    *objective = -INFINITY;
    assert_int_equal(shv_curves_init(&curves, alone, NULL), SHV_OK);
    for (uint64_t i = 0; i < g.space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&g.space, &study, i, &kit);
        shv_model_evaluate(alone, &kit, &curves);
        if (curves.verdict.feasible && curves.verdict.objective > *objective) {
            *objective = curves.verdict.objective;
            best = (int64_t)i;
        }
    }
    shv_curves_free(&curves);
    shv_model_free(alone);
    return best;
}

static void shortfalls_are_those_of_brute_force(void **state)
{
    (void)state;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_site_shortfall *shortfalls;
    const struct shv_sweep_options how = {.threads = 2};
    assert_int_equal(shv_ranking_init(&ranking, 1, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(g.model, &g.space, &how, &ranking, &counts, NULL), SHV_OK);
    assert_int_equal(ranking.count, 1);
    assert_int_equal(
        shv_site_shortfalls(g.model, &g.space, &ranking.item[0].index, &how, &shortfalls, NULL),
        SHV_OK);
    double weighted = 0.0, weights = 0.0;
    bool some_fail = false;
    for (size_t site = 0; site < 2; site++) {
        double objective;
        const struct shv_site_shortfall *p = &shortfalls[site];
        int64_t best = best_at(site, &objective);
        assert_true(p->found && (int64_t)p->index == best);
        assert_same_bits(p->alone, objective);
        assert_true(p->common <= p->alone);
        weighted += g.m.study.sites[site].weight * p->common;
        weights += g.m.study.sites[site].weight;
        struct shv_curves curves;
        struct shv_kit kit;
        assert_int_equal(shv_curves_init(&curves, g.model, NULL), SHV_OK);
        shv_space_kit(&g.space, &g.m.study, p->index, &kit);
        shv_model_evaluate(g.model, &kit, &curves);
        assert_int_equal(p->holds, curves.verdict.feasible);
        if (!p->holds && curves.verdict.outcome == SHV_POINT_OK) {
            assert_int_equal(p->broken, curves.verdict.first_broken);
            some_fail = true;
        }
        shv_curves_free(&curves);
    }
    assert_true(some_fail);
    /* The objective is the weighted mean of those at the sites. */
    assert_relative(weighted / weights, ranking.item[0].objective, 1e-12);
    free(shortfalls);
    shv_ranking_free(&ranking);
}

static void without_a_common_kit(void **state)
{
    (void)state;
    struct shv_site_shortfall *shortfalls;
    const struct shv_sweep_options how = {.threads = 1};
    assert_int_equal(shv_site_shortfalls(g.model, &g.space, NULL, &how, &shortfalls, NULL), SHV_OK);
    assert_true(isnan(shortfalls[0].common) && shortfalls[0].found);
    free(shortfalls);
}

static bool stop(void *data, uint64_t done, uint64_t total, double best)
{
    (void)done;
    (void)total;
    (void)best;
    return ++*(int *)data < 1;
}

static void it_can_be_stopped(void **state)
{
    (void)state;
    int calls = 0;
    struct shv_site_shortfall *shortfalls;
    const struct shv_sweep_options how = {.threads = 1, .progress = stop, .progress_data = &calls};
    assert_int_equal(shv_site_shortfalls(g.model, &g.space, NULL, &how, &shortfalls, NULL),
                     SHV_STOPPED);
    assert_null(shortfalls);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_site_is_a_study_of_it),
        cmocka_unit_test(shortfalls_are_those_of_brute_force),
        cmocka_unit_test(without_a_common_kit),
        cmocka_unit_test(it_can_be_stopped),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
