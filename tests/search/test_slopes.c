/* The climb by slopes alone, without the scan before it and the direct search after it, which would
 * both hide what it does not do. */
#include "support/choose_studies.h"

#include "search/search.h"

static struct search_task task_of(const struct made *m)
{
    struct search_task t = {.kit = {.cooler = 1,
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

/* The best by all means, then by the climb from places around it, as the scan leaves it. */
static void climb_from_each(struct made *m, double enough)
{
    static const double away[][SEARCH_DIMS] = {
        {-0.05, 0.0}, {-0.05, 0.05}, {-0.1, -0.05}, {0.04, -0.02}};
    struct shv_model *model = made_model(m);
    struct search_task task = task_of(m);
    struct search s;
    struct shv_message message = {""};
    assert_int_equal(search_open(&s, model, NULL), SHV_OK);
    search_begin(&s, model, &task);
    search_scan(&s);
    assert_int_equal(search_finish(&s, &message), SHV_OK);
    const double best = s.result.objective;
    const size_t evaluations = s.result.evaluations;
    double top[SEARCH_DIMS];
    search_best(&s, top);
    for (size_t i = 0; i < sizeof away / sizeof *away; i++) {
        double x[SEARCH_DIMS] = {fmin(1.0, top[0] + away[i][0]), fmin(1.0, top[1] + away[i][1])};
        search_begin(&s, model, &task);
        assert_int_equal(search_climb(&s, x, &message), SHV_OK);
        assert_true(s.result.found);
        if (!(fabs(s.result.objective - best) <= enough * best)) {
            fail_msg("from %g, %g away: %.9g, the best is %.9g", away[i][0], away[i][1],
                     s.result.objective, best);
        }
        assert_true(s.result.evaluations < evaluations);
    }
    search_close(&s);
    shv_model_free(model);
    made_end(m);
}

static void to_where_limits_meet(void **state)
{
    (void)state;
    static struct made m;
    study_held_by_limits(&m);
    climb_from_each(&m, 1e-6);
}

static void to_an_inner_top(void **state)
{
    (void)state;
    static struct made m;
    study_with_inner_optimum(&m);
    climb_from_each(&m, 1e-7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(to_where_limits_meet),
        cmocka_unit_test(to_an_inner_top),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
