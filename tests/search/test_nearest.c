/* The nearest kits against a look at every combination. */
#include "support/study_fixture.h"

#include "sheave/nearest.h"

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_nearest nearest[SHV_NEAREST_MOST];
    size_t count;
} g;

/* Bounds with which nothing holds: no power where it must be high. */
static int begin(void **state)
{
    (void)state;
    made_mixed(&g.m, 6, INFINITY, SHV_BLEED_TO_INLET);
    g.m.study.limit[SHV_LIMIT_TORQUE] = 1.0;
    g.m.study.limit[SHV_LIMIT_BOOST] = 30e3;
    g.model = made_model(&g.m);
    assert_int_equal(shv_space_init(&g.space, &g.m.study, NULL), SHV_OK);
    assert_int_equal(shv_nearest_find(g.model, &g.space, NULL, g.nearest, &g.count, NULL), SHV_OK);
    return 0;
}

static int end(void **state)
{
    (void)state;
    shv_model_free(g.model);
    made_end(&g.m);
    return 0;
}

static double share_of(const struct shv_verdict *v, int limit)
{
    return v->outcome != SHV_POINT_OK || isnan(v->limit[limit].share) ? -INFINITY
                                                                      : v->limit[limit].share;
}

/* No combination breaks a limit alone by less than the one that is told of, and none has a better
 * worst limit than the best of the list. */
static void none_is_nearer(void **state)
{
    (void)state;
    double alone[SHV_LIMIT_COUNT], together = -INFINITY, told = -INFINITY;
    struct shv_curves curves;
    assert_int_equal(shv_curves_init(&curves, g.model, NULL), SHV_OK);
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        alone[k] = -INFINITY;
    }
    for (uint64_t i = 0; i < g.space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&g.space, &g.m.study, i, &kit);
        shv_model_evaluate(g.model, &kit, &curves);
        const struct shv_verdict *v = &curves.verdict;
        assert_false(v->feasible);
        double worst = INFINITY;
        for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
            if (v->broken & SHV_LIMIT_BIT(k)) {
                worst = fmin(worst, share_of(v, k));
            }
            if (v->broken == SHV_LIMIT_BIT(k)) {
                alone[k] = fmax(alone[k], share_of(v, k));
            }
        }
        together = v->outcome == SHV_POINT_OK ? fmax(together, worst) : together;
    }
    assert_true(g.count > 0);
    for (size_t i = 0; i < g.count; i++) {
        const struct shv_nearest *n = &g.nearest[i];
        told = fmax(told, n->room);
        if (n->alone >= 0) {
            assert_same_bits(n->room, alone[n->alone]);
            alone[n->alone] = -INFINITY;
        } else {
            assert_same_bits(n->room, together);
        }
    }
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        assert_true(isinf(alone[k])); /* none is left out */
    }
    assert_same_bits(told, together);
    shv_curves_free(&curves);
}

/* What is told of a kit is what its evaluation says; the bound that it needs would do. */
static void what_is_needed_would_do(void **state)
{
    (void)state;
    struct shv_curves curves;
    const struct shv_nearest *n = &g.nearest[0];
    assert_true(n->alone >= 0);
    struct shv_study moved = g.m.study;
    moved.limit[n->alone] = n->verdict.limit[n->alone].value;
    struct shv_model *again;
    struct shv_kit kit;
    shv_space_kit(&g.space, &g.m.study, n->index, &kit);
    assert_int_equal(shv_model_again(g.model, &moved, &again, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, again, NULL), SHV_OK);
    shv_model_evaluate(again, &kit, &curves);
    assert_true(curves.verdict.feasible);
    shv_curves_free(&curves);
    shv_model_again_free(again);
}

static bool stop(void *data, size_t done, size_t total)
{
    (void)data;
    assert_true(done <= total);
    return false;
}

static void a_watch_stops_it(void **state)
{
    (void)state;
    struct shv_nearest nearest[SHV_NEAREST_MOST];
    size_t count;
    const struct shv_watch watch = {.step = stop};
    assert_int_equal(shv_nearest_find(g.model, &g.space, &watch, nearest, &count, NULL),
                     SHV_STOPPED);
    assert_int_equal(count, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(none_is_nearer),
        cmocka_unit_test(what_is_needed_would_do),
        cmocka_unit_test(a_watch_stops_it),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
