/* Single changes against kits made by hand. */
#include "support/study_fixture.h"

#include "sheave/changes.h"

static struct ground {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
} g;

static int begin(void **state)
{
    (void)state;
    made_mixed(&g.m, 6, INFINITY, SHV_BLEED_TO_INLET);
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

/* Every change is the combination next door in one dimension, each of them once. */
static void every_neighbour_once(void **state)
{
    (void)state;
    uint64_t choice[SHV_DIM_COUNT], index = g.space.size / 3;
    struct shv_kit kit;
    struct shv_change *changes;
    struct shv_curves curves;
    size_t count, expected = 0, i = 0;
    shv_space_kit(&g.space, &g.m.study, index, &kit);
    assert_int_equal(shv_curves_init(&curves, g.model, NULL), SHV_OK);
    assert_int_equal(shv_single_changes(g.model, &g.space, &kit, true, &changes, &count, NULL),
                     SHV_OK);
    for (int dim = 0; dim < SHV_DIM_COUNT; dim++) {
        expected += (size_t)g.space.count[dim] - 1;
        for (uint64_t other = 0; other < g.space.count[dim]; other++) {
            shv_space_split(&g.space, index, choice);
            if (choice[dim] == other) {
                continue;
            }
            choice[dim] = other;
            struct shv_kit next;
            shv_space_kit(&g.space, &g.m.study, shv_space_join(&g.space, choice), &next);
            shv_model_evaluate(g.model, &next, &curves);
            assert_true(i < count);
            assert_int_equal(changes[i].dim, dim);
            assert_same_bits(changes[i].kit.ratio, next.ratio);
            assert_int_equal(changes[i].feasible, curves.verdict.feasible);
            assert_int_equal(changes[i].outcome, curves.verdict.outcome);
            assert_int_equal(changes[i].first_broken, curves.verdict.first_broken);
            assert_same_bits(changes[i].objective, curves.verdict.objective);
            i++;
        }
    }
    assert_int_equal(count, expected);
    assert_true(count > 15);
    free(changes);
    shv_curves_free(&curves);
}

/* A size that is not listed can be exchanged for each that is; an ideal kit keeps its ratio. */
static void kits_that_are_not_listed(void **state)
{
    (void)state;
    struct shv_kit kit;
    struct shv_change *changes;
    size_t count, pulleys = 0;
    shv_space_kit(&g.space, &g.m.study, 0, &kit);
    kit.blower_diameter = 0.0777;
    kit.ratio =
        shv_drive_ratio(kit.crank_diameter, kit.blower_diameter, g.m.study.drive.line_offset);
    assert_int_equal(shv_single_changes(g.model, &g.space, &kit, true, &changes, &count, NULL),
                     SHV_OK);
    for (size_t i = 0; i < count; i++) {
        pulleys += changes[i].dim == SHV_DIM_BLOWER_PULLEY ? 1 : 0;
    }
    assert_int_equal(pulleys, 6);
    free(changes);
    kit = made_kit(0, 1.7, 0, 0.0, g.m.lambdas[0]);
    assert_int_equal(shv_single_changes(g.model, &g.space, &kit, true, &changes, &count, NULL),
                     SHV_OK);
    assert_true(count > 5);
    for (size_t i = 0; i < count; i++) {
        assert_true(changes[i].dim != SHV_DIM_CRANK_PULLEY &&
                    changes[i].dim != SHV_DIM_BLOWER_PULLEY);
        assert_true(changes[i].kit.ratio == 1.7);
    }
    free(changes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_neighbour_once),
        cmocka_unit_test(kits_that_are_not_listed),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
