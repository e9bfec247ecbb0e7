/* One continuous search against answers found another way. */
#include "support/choose_studies.h"

#include "search/search.h"

static struct search_task task_of(const struct made *m, size_t cooler)
{
    struct search_task t = {.kit = {.cooler = cooler,
                                    .lambda = m->lambdas[0],
                                    .crank_diameter = NAN,
                                    .ratio = NAN,
                                    .effectiveness = NAN}};
    double ratio[2];
    ratio_ends(&m->study, ratio);
    t.ratio_low = ratio[0];
    t.ratio_high = ratio[1];
    return t;
}

/* The search of one task, with its scan or from its start alone. */
static struct search_result search(const struct shv_model *model, const struct search_task *task,
                                   bool scans)
{
    struct search s;
    struct shv_message message = {""};
    assert_int_equal(search_open(&s, model, NULL), SHV_OK);
    search_begin(&s, model, task);
    if (scans) {
        search_scan(&s);
    }
    if (search_finish(&s, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    search_close(&s);
    return s.result;
}

static struct search_result run(const struct shv_model *model, const struct search_task *task)
{
    return search(model, task, true);
}

static bool feasible_at(const struct shv_model *model, double ratio, double lambda,
                        double *objective)
{
    struct shv_curves c;
    struct shv_kit kit = made_kit(0, ratio, 0, 0.0, lambda);
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    shv_model_evaluate(model, &kit, &c);
    bool feasible = c.verdict.feasible;
    *objective = c.verdict.objective;
    shv_curves_free(&c);
    return feasible;
}

/* Without a cooler, power rises with ratio until a limit is met: the largest feasible ratio by
 * bisection. */
static void finds_the_edge_of_the_limits(void **state)
{
    (void)state;
    static struct made m;
    study_held_by_limits(&m);
    struct shv_model *model = made_model(&m);
    struct search_task task = task_of(&m, 0);
    double low = task.ratio_low, high = task.ratio_high, edge = NAN, unused;
    assert_true(feasible_at(model, low, task.kit.lambda, &edge));
    assert_false(feasible_at(model, high, task.kit.lambda, &unused));
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high), now;
        if (feasible_at(model, middle, task.kit.lambda, &now)) {
            low = middle;
            edge = now;
        } else {
            high = middle;
        }
    }
    struct search_result r = run(model, &task);
    assert_true(r.found);
    assert_relative(r.objective, edge, 1e-6);
    assert_true(r.objective <= edge * (1.0 + 1e-12));
    assert_within(r.kit.ratio, low, 1e-4);
    shv_model_free(model);
    made_end(&m);
}

static void answer_is_what_the_model_says(void **state)
{
    (void)state;
    static struct made m;
    study_held_by_limits(&m);
    struct shv_model *model = made_model(&m);
    struct search_task task = task_of(&m, 1);
    struct search_result r = run(model, &task);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    shv_model_evaluate(model, &r.kit, &c);
    assert_true(r.found && c.verdict.feasible);
    assert_same_bits(c.verdict.objective, r.objective);
    double share = c.verdict.limit[c.verdict.binding].share;
    assert_true(share >= 0.0 && share < 1e-4);
    assert_true(r.kit.ratio >= task.ratio_low && r.kit.ratio <= task.ratio_high);
    assert_true(r.kit.effectiveness >= 0.45 && r.kit.effectiveness <= 0.75);
    assert_true(isnan(r.kit.crank_diameter) && isnan(r.kit.blower_diameter));
    assert_int_equal(r.kit.cooler, 1);
    assert_same_bits(r.kit.lambda, task.kit.lambda);
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

/* Started anywhere, the same top; and the same bits again. */
static void starts_agree_and_repeat(void **state)
{
    (void)state;
    static struct made m;
    study_with_inner_optimum(&m);
    struct shv_model *model = made_model(&m);
    struct search_task task = task_of(&m, 1);
    struct search_result first = run(model, &task);
    uint64_t seed = 7;
    for (int n = 0; n < 5; n++) {
        struct search_result r = run(model, &task);
        assert_relative(r.objective, first.objective, 1e-9);
        task.kit.ratio = random_in(&seed, task.ratio_low, task.ratio_high);
        task.kit.effectiveness = random_in(&seed, 0.3, 0.95);
        if (n == 0) {
            assert_same_bits(r.objective, first.objective);
            assert_same_bits(r.kit.ratio, first.kit.ratio);
            assert_same_bits(r.kit.effectiveness, first.kit.effectiveness);
            assert_int_equal(r.evaluations, first.evaluations);
        }
    }
    shv_model_free(model);
    made_end(&m);
}

static void never_worse_than_a_start(void **state)
{
    (void)state;
    static struct made m;
    study_with_inner_optimum(&m);
    struct shv_model *model = made_model(&m);
    struct search_task task = task_of(&m, 1);
    struct shv_curves c;
    assert_int_equal(shv_curves_init(&c, model, NULL), SHV_OK);
    int seen = 0; /* random starts with an answer */
    uint64_t seed = 91;
    for (int n = 0; n < 10; n++) {
        /* One after the other: compilers differ in which argument comes first. */
        double effectiveness = random_in(&seed, 0.3, 0.95);
        double ratio = random_in(&seed, task.ratio_low, task.ratio_high);
        struct shv_kit kit = made_kit(0, ratio, 1, effectiveness, task.kit.lambda);
        task.kit.ratio = kit.ratio;
        task.kit.effectiveness = kit.effectiveness;
        shv_model_evaluate(model, &kit, &c);
        struct search_result r = search(model, &task, false);
        bool answered = c.verdict.outcome == SHV_POINT_OK;
        assert_true(!answered || (r.found && r.objective >= c.verdict.objective));
        seen += answered;
    }
    assert_true(seen >= 8);
    shv_curves_free(&c);
    shv_model_free(model);
    made_end(&m);
}

/* From a start that breaks a limit the way leads back inside, and far up from there. */
static void a_broken_start(void **state)
{
    (void)state;
    static struct made m;
    study_held_by_limits(&m);
    struct shv_model *model = made_model(&m);
    struct search_task task = task_of(&m, 1);
    double best = run(model, &task).objective, unused;
    double low = task.ratio_low, high = task.ratio_high;
    for (int i = 0; i < 40; i++) {
        double middle = 0.5 * (low + high);
        *(feasible_at(model, middle, task.kit.lambda, &unused) ? &low : &high) = middle;
    }
    task.kit.ratio = 1.05 * high;
    task.kit.effectiveness = 0.5;
    struct search_result r = search(model, &task, false);
    assert_true(r.found);
    assert_relative(r.objective, best, 2e-3);
    shv_model_free(model);
    made_end(&m);
}

static void nothing_feasible(void **state)
{
    (void)state;
    static struct made m;
    study_held_by_limits(&m);
    m.study.limit[SHV_LIMIT_PISTON_SPEED] = 1.0;
    struct shv_model *model = made_model(&m);
    for (size_t cooler = 0; cooler < 2; cooler++) {
        struct search_task task = task_of(&m, cooler);
        struct search_result r = run(model, &task);
        assert_false(r.found);
        assert_true(isnan(r.objective) && r.evaluations > 0);
    }
    shv_model_free(model);
    made_end(&m);
}

/* One pulley pair and one core: nothing to search, one look. */
static void nothing_to_vary(void **state)
{
    (void)state;
    static struct made m;
    made_begin(&m);
    made_add_cooler(&m, SHV_COOLER_SINGLE_STREAM, 1, 0.6, 0.6);
    made_blower_pulleys(&m, 1, 0.07, 0.07);
    struct shv_model *model = made_model(&m);
    struct search_task task = task_of(&m, 1);
    struct search_result r = run(model, &task);
    assert_true(r.found);
    assert_int_equal(r.evaluations, 1);
    assert_relative(r.kit.ratio, 143.0 / 73.0, 1e-15);
    assert_same_bits(r.kit.effectiveness, 0.6);
    shv_model_free(model);
    made_end(&m);
}

/* One pulley pair, many cores; and the other way round. */
static void one_thing_to_vary(void **state)
{
    (void)state;
    static struct made m;
    const double none[2] = {0.0, 0.0};
    study_with_inner_optimum(&m);
    struct shv_model *model = made_model(&m);
    struct search_task task = task_of(&m, 0);
    double ends[2] = {task.ratio_low, task.ratio_high};
    double best = grid_best(model, made_kit(0, 0.0, 0, 0.0, task.kit.lambda), ends, 4001, none, 1);
    assert_relative(run(model, &task).objective, best, 1e-6);
    task = task_of(&m, 1);
    task.ratio_low = task.ratio_high = 1.9;
    const double fixed[2] = {1.9, 1.9}, eff[2] = {0.3, 0.95};
    best = grid_best(model, made_kit(0, 1.9, 1, 0.0, task.kit.lambda), fixed, 2, eff, 4001);
    struct search_result r = run(model, &task);
    assert_relative(r.objective, best, 1e-6);
    assert_same_bits(r.kit.ratio, 1.9);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_the_edge_of_the_limits),
        cmocka_unit_test(answer_is_what_the_model_says),
        cmocka_unit_test(starts_agree_and_repeat),
        cmocka_unit_test(never_worse_than_a_start),
        cmocka_unit_test(a_broken_start),
        cmocka_unit_test(nothing_feasible),
        cmocka_unit_test(nothing_to_vary),
        cmocka_unit_test(one_thing_to_vary),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
