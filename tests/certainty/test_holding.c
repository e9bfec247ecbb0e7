/* src/certainty/holding.c: the best setup of given parts that holds, against every setup sampled.
 */
#include "support/choose_studies.h"

#include "certainty/sure.h"
#include "sheave/sweep.h"

#define SAMPLES ((size_t)64)
#define HOLD 0.9
#define FUEL_FLOW 0.009 /* kg/s */

static void make(struct made *m)
{
    study_held_by_limits(m);
    made_crank_pulleys(m, 1, 0.140, 0.140);
    made_blower_pulleys(m, 24, 0.056, 0.160);
    made_lambdas(m, 3, 0.80, 0.92);
    m->study.limit[SHV_LIMIT_FUEL_FLOW] = FUEL_FLOW; /* leaner setups have more room */
    struct shv_tolerances *t = &m->study.tolerances;
    t->given = true;
    t->samples = SAMPLES;
    t->seed = 4;
    t->hold = HOLD;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = (struct shv_tolerance){true, SHV_NORMAL, 0.02, NAN};
    t->of[SHV_CORRECT_COOLER_EFFECTIVENESS] =
        (struct shv_tolerance){true, SHV_TRIANGULAR, NAN, 0.15};
    t->of[SHV_CORRECT_AMBIENT_TEMPERATURE] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 8.0};
    t->of[SHV_CORRECT_CREEP] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.004};
}

/* Parts of a combination: all but lambda, ignition margin and wrap. */
static uint64_t parts_of(const struct shv_space *space, uint64_t index)
{
    uint64_t choice[SHV_DIM_COUNT];
    shv_space_split(space, index, choice);
    choice[SHV_DIM_LAMBDA] = choice[SHV_DIM_IGNITION_MARGIN] = choice[SHV_DIM_WRAP] = 0;
    return shv_space_join(space, choice);
}

static bool holds(struct sure_plan *plan, const struct shv_kit *kit)
{
    struct sure_outcome outcome[SAMPLES];
    size_t held = 0;
    assert_int_equal(
        sure_sample(plan, kit, 1, (struct sure_samples){NULL, SAMPLES, NULL}, outcome, NULL),
        SHV_OK);
    for (size_t i = 0; i < SAMPLES; i++) {
        held += sure_held(&outcome[i], ~(shv_limit_set)0) ? 1 : 0;
    }
    return (double)held / (double)SAMPLES >= HOLD;
}

/* The best of each set of parts that holds, every feasible combination sampled. */
static struct shv_candidate *best_by_sampling_all(const struct made *m, struct shv_model *model,
                                                  const struct shv_space *space)
{
    struct shv_candidate *best = calloc((size_t)space->size, sizeof *best);
    struct sure_plan plan;
    struct shv_curves curves;
    assert_non_null(best);
    assert_int_equal(sure_begin(&plan, model, NULL, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    for (uint64_t i = 0; i < space->size; i++) {
        best[i] = (struct shv_candidate){-INFINITY, UINT64_MAX};
    }
    for (uint64_t i = 0; i < space->size; i++) {
        struct shv_kit kit;
        shv_space_kit(space, &m->study, i, &kit);
        shv_model_evaluate(model, &kit, &curves);
        struct shv_candidate c = {curves.verdict.objective, i}, *b = &best[parts_of(space, i)];
        if (curves.verdict.feasible && shv_candidate_before(&c, b) && holds(&plan, &kit)) {
            *b = c;
        }
    }
    shv_curves_free(&curves);
    sure_end(&plan);
    return best;
}

static void test_same_as_sampling_all(void **state)
{
    (void)state;
    static struct made m;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_holding *holding;
    size_t as_swept = 0, otherwise = 0, none = 0;
    make(&m);
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    assert_int_equal(shv_ranking_init(&ranking, (size_t)space.size, NULL), SHV_OK);
    const struct shv_sweep_options how = {.rows = SHV_ROWS_PARTS};
    assert_int_equal(shv_sweep_run(model, &space, &how, &ranking, &counts, NULL), SHV_OK);
    struct shv_candidate *best = best_by_sampling_all(&m, model, &space);
    assert_int_equal(shv_holding_create(model, &space, &holding, NULL), SHV_OK);
    struct shv_candidate *found = calloc(ranking.count, sizeof *found);
    assert_non_null(found);
    memcpy(found, ranking.item, ranking.count * sizeof *found);
    /* In two parts: what is learned of the first changes nothing of the second. */
    size_t half = ranking.count / 2;
    assert_int_equal(shv_holding_find(holding, found, half, NULL, NULL), SHV_OK);
    assert_int_equal(shv_holding_find(holding, found + half, ranking.count - half, NULL, NULL),
                     SHV_OK);
    for (size_t i = 0; i < ranking.count; i++) {
        const struct shv_candidate *b = &best[parts_of(&space, ranking.item[i].index)];
        assert_int_equal(found[i].index, b->index);
        assert_true(found[i].objective == b->objective);
        none += found[i].index == UINT64_MAX;
        as_swept += found[i].index == ranking.item[i].index;
        otherwise += found[i].index != UINT64_MAX && found[i].index != ranking.item[i].index;
    }
    assert_true(none > 3 && as_swept > 3 && otherwise > 0); /* else it shows nothing */
    free(found);
    free(best);
    shv_holding_free(holding);
    shv_ranking_free(&ranking);
    shv_model_free(model);
    made_end(&m);
}

static bool never(void *data, size_t done, size_t total)
{
    (void)data;
    (void)done;
    (void)total;
    return false;
}

static void test_stop_and_nothing_to_hold(void **state)
{
    (void)state;
    static struct made m;
    struct shv_space space;
    struct shv_holding *holding;
    const struct shv_watch watch = {never, NULL};
    make(&m);
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    assert_int_equal(shv_holding_create(model, &space, &holding, NULL), SHV_OK);
    struct shv_candidate *kits = calloc((size_t)space.size, sizeof *kits);
    assert_non_null(kits);
    for (uint64_t i = 0; i < space.size; i++) {
        kits[i].index = i;
    }
    assert_int_equal(shv_holding_find(holding, kits, (size_t)space.size, &watch, NULL),
                     SHV_STOPPED);
    free(kits);
    shv_holding_free(holding);
    shv_holding_free(NULL);
    shv_model_free(model);
    m.study.tolerances.given = false;
    model = made_model(&m);
    assert_int_equal(shv_holding_create(model, &space, &holding, NULL), SHV_BAD_INPUT);
    assert_null(holding);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_same_as_sampling_all),
                                       cmocka_unit_test(test_stop_and_nothing_to_hold)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
