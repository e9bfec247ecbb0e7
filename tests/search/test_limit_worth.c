/* Prices of limits against a grid with the limit moved, and what inactive limits bring: nothing. */
#include <omp.h>

#include "support/choose_studies.h"

#include "sheave/limit_worth.h"

struct found {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_keep keep;
    struct shv_optimum *optima;
    struct shv_limit_worth *worths;
    size_t optimum_count, count;
};

static void find(struct found *p)
{
    struct shv_message message = {""};
    if (shv_limit_worths_find(p->model, p->optima, p->optimum_count, NULL, &p->worths, &p->count,
                              &message)) {
        fail_msg("%s", message.text);
    }
}

static void solve(struct found *p)
{
    struct shv_sweep_counts counts;
    p->m.study.search.enabled = true;
    assert_int_equal(shv_keep_init(&p->keep, &p->m.study, NULL), SHV_OK);
    struct shv_sweep_options options = {.threads = 1, .keep = &p->keep};
    struct shv_message message = {""};
    p->model = made_model(&p->m);
    assert_int_equal(shv_space_init(&p->space, &p->m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&p->ranking, 50, NULL), SHV_OK);
    assert_int_equal(shv_sweep_run(p->model, &p->space, &options, &p->ranking, &counts, NULL),
                     SHV_OK);
    if (shv_optimum_search(p->model, &p->space, &p->keep, NULL, &p->optima, &p->optimum_count,
                           &message)) {
        fail_msg("%s", message.text);
    }
    find(p);
}

static void clean(struct found *p)
{
    free(p->worths);
    free(p->optima);
    shv_keep_free(&p->keep);
    shv_ranking_free(&p->ranking);
    shv_model_free(p->model);
    made_end(&p->m);
}

/* What a limit that is moved by its step leaves at the best of a grid of ratio and effectiveness
 * around the optimum, less the optimum's objective. */
static double gain_by_grid(const struct found *p, const struct shv_limit_worth *worth)
{
    struct shv_study moved = p->m.study;
    struct shv_model *again;
    const struct shv_optimum *o = &p->optima[worth->optimum];
    const struct shv_cooler *core = &p->m.coolers[o->ideal.cooler];
    moved.moved[worth->of] = worth->step;
    assert_int_equal(shv_model_again(p->model, &moved, &again, NULL), SHV_OK);
    const double ratio[2] = {0.98 * o->ideal.ratio, 1.3 * o->ideal.ratio};
    const double eff[2] = {core->effectiveness.values[0], shv_numbers_last(&core->effectiveness)};
    double best = grid_best(again, o->ideal, ratio, 801, eff, core->is_none ? 1 : 5);
    shv_model_again_free(again);
    return best - o->objective;
}

static size_t check_worths(const struct found *p)
{
    size_t active = 0;
    for (size_t i = 0; i < p->count; i++) {
        const struct shv_limit_worth *worth = &p->worths[i];
        double size = fabs(p->optima[worth->optimum].objective);
        if (worth->kind != SHV_WORTH_LIMIT) {
            continue;
        }
        assert_true(worth->gain >= 0.0);
        if (!worth->active) {
            assert_true(worth->gain == 0.0);
            continue;
        }
        /* never less than what a grid finds, and not much more */
        double grid = gain_by_grid(p, worth);
        assert_true(worth->gain >= grid - 1e-7 * size);
        assert_true(worth->gain <= grid + 2e-3 * size);
        active++;
    }
    return active;
}

static void limits_of_peak_power(void **state)
{
    (void)state;
    static struct found p;
    p = (struct found){.count = 0};
    study_held_by_limits(&p.m);
    made_add_blower(&p.m, made_geometry("larger", 1.1e-3));
    solve(&p);
    assert_true(check_worths(&p) >= 2);
    clean(&p);
}

/* Two sites that share the worst place, and a core that costs money. */
static void other_objectives(void **state)
{
    (void)state;
    static const struct shv_objective objectives[] = {
        {SHV_OBJECTIVE_PEAK_POWER, 0.0, 0.0, NAN, SHV_OVER_SITES_WORST},
        {SHV_OBJECTIVE_MEAN_POWER, 50.0, 110.0, NAN, SHV_OVER_SITES_WORST},
        {SHV_OBJECTIVE_POWER_PER_PRICE, 0.0, 0.0, NAN, SHV_OVER_SITES_MEAN},
        {SHV_OBJECTIVE_WEIGHTED, 0.0, 0.0, NAN, SHV_OVER_SITES_MEAN}};
    for (size_t i = 0; i < sizeof objectives / sizeof *objectives; i++) {
        static struct found p;
        p = (struct found){.count = 0};
        study_held_by_limits(&p.m);
        p.m.study.objective = objectives[i];
        p.m.coolers[1].worth.price = 300.0;
        p.m.coolers[1].per_ntu.price = 150.0;
        p.m.study.base.worth.price = 2000.0;
        p.m.study.weights = (struct shv_weights){1.0, 1.0, 0.0, 50.0};
        solve(&p);
        assert_true(p.count > 4);
        (void)check_worths(&p);
        clean(&p);
    }
}

/* The larger core helps, and the next limit is named. */
static void ranges_and_choices(void **state)
{
    (void)state;
    static struct found p;
    p = (struct found){.count = 0};
    study_held_by_limits(&p.m);
    made_lambdas(&p.m, 3, 0.80, 0.92);
    solve(&p);
    size_t lambdas = 0, named = 0;
    for (size_t i = 0; i < p.count; i++) {
        const struct shv_limit_worth *worth = &p.worths[i];
        const struct shv_optimum *o = &p.optima[worth->optimum];
        assert_non_null(shv_limit_worth_name(worth));
        if (worth->kind == SHV_WORTH_CHOICE && worth->of == SHV_WORTH_OF_LAMBDA) {
            assert_true(worth->gain <= 1e-6 * o->objective);
            assert_same_bits(worth->bound, o->ideal.lambda);
            assert_within(fabs(worth->step), 0.06, 1e-12);
            lambdas++;
        }
        if (worth->kind == SHV_WORTH_RANGE) {
            assert_true(worth->gain >= 0.0);
        }
        if (worth->next >= 0) {
            assert_true(worth->next_steps > 0.0 && worth->next != worth->of);
            named++;
        }
    }
    assert_true(lambdas >= 1 && named >= 1);
    clean(&p);
}

static void same_on_any_number_of_threads(void **state)
{
    (void)state;
    static struct found p;
    p = (struct found){.count = 0};
    study_held_by_limits(&p.m);
    solve(&p);
    struct shv_limit_worth *first = p.worths;
    size_t count = p.count;
    const int threads[] = {1, 3};
    for (size_t k = 0; k < 2; k++) {
        omp_set_num_threads(threads[k]);
        find(&p);
        assert_int_equal(p.count, count);
        for (size_t i = 0; i < count; i++) {
            assert_same_bits(p.worths[i].gain, first[i].gain);
            assert_int_equal(p.worths[i].next, first[i].next);
        }
        free(p.worths);
    }
    p.worths = first;
    clean(&p);
}

static void nothing_found_has_no_worth(void **state)
{
    (void)state;
    static struct found p;
    p = (struct found){.count = 0};
    study_held_by_limits(&p.m);
    p.m.study.limit[SHV_LIMIT_PISTON_SPEED] = 1.0;
    solve(&p);
    assert_int_equal(p.count, 0);
    clean(&p);
}

static bool not_now(void *data, size_t done, size_t total)
{
    size_t *asked = data;
    (void)done;
    (void)total;
    ++*asked;
    return false;
}

/* Whoever watches may end it, on any number of threads; nothing is given then. */
static void stopped(void **state)
{
    (void)state;
    static struct found p;
    p = (struct found){.count = 0};
    study_held_by_limits(&p.m);
    solve(&p);
    for (int threads = 1; threads <= 2; threads++) {
        size_t asked = 0, count = 9;
        struct shv_limit_worth *worths = NULL;
        struct shv_message message = {""};
        const struct shv_watch watch = {not_now, &asked};
        omp_set_num_threads(threads);
        assert_int_equal(shv_limit_worths_find(p.model, p.optima, p.optimum_count, &watch, &worths,
                                               &count, &message),
                         SHV_STOPPED);
        assert_true(asked > 0);
        assert_null(worths);
        assert_string_equal(message.text, "stopped while limits were moved");
    }
    clean(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(limits_of_peak_power),
        cmocka_unit_test(other_objectives),
        cmocka_unit_test(ranges_and_choices),
        cmocka_unit_test(same_on_any_number_of_threads),
        cmocka_unit_test(nothing_found_has_no_worth),
        cmocka_unit_test(stopped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
