/* src/certainty/race.c: which kits hold, against all of their samples counted, however kits come in
 * blocks. */
#include "support/choose_studies.h"

#include "certainty/race.h"

#define SAMPLES ((size_t)256)
#define HOLD 0.9

static void make(struct made *m)
{
    study_held_by_limits(m);
    made_crank_pulleys(m, 1, 0.140, 0.140);
    made_blower_pulleys(m, 24, 0.056, 0.160);
    made_lambdas(m, 1, 0.88, 0.88);
    struct shv_tolerances *t = &m->study.tolerances;
    t->given = true;
    t->samples = SAMPLES;
    t->seed = 11;
    t->hold = HOLD;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = (struct shv_tolerance){true, SHV_NORMAL, 0.03, NAN};
    t->of[SHV_CORRECT_CREEP] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.004};
}

static void run_in_blocks(struct race *race, const struct shv_space *space, size_t block,
                          bool *holds)
{
    for (uint64_t i = 0, some; i < space->size; i += some) {
        uint64_t index[SURE_BLOCK];
        some = space->size - i < block ? space->size - i : block;
        for (uint64_t k = 0; k < some; k++) {
            index[k] = i + k;
        }
        assert_int_equal(race_run(race, race_whole, index, (size_t)some, holds + i, NULL), SHV_OK);
    }
}

static bool holds_by_counting(struct sure_plan *plan, const struct shv_kit *kit)
{
    static struct sure_outcome outcome[SAMPLES];
    size_t held = 0;
    assert_int_equal(
        sure_sample(plan, kit, 1, (struct sure_samples){NULL, SAMPLES, NULL}, outcome, NULL),
        SHV_OK);
    for (size_t i = 0; i < SAMPLES; i++) {
        held += sure_held(&outcome[i], ~(shv_limit_set)0) ? 1 : 0;
    }
    return (double)held / (double)SAMPLES >= HOLD;
}

static void same_as_counting(void **state)
{
    (void)state;
    static struct made m;
    struct shv_space space;
    struct sure_plan plan;
    struct race race;
    make(&m);
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    bool *holds = calloc(2 * (size_t)space.size, sizeof *holds);
    assert_non_null(holds);
    assert_int_equal(sure_begin(&plan, model, NULL, NULL), SHV_OK);
    assert_int_equal(race_begin(&race, model, &plan, &space, NULL), SHV_OK);
    run_in_blocks(&race, &space, SURE_BLOCK, holds);
    run_in_blocks(&race, &space, 5, holds + space.size);
    size_t holding = 0, failing = 0, tried = 0;
    for (uint64_t i = 0; i < space.size; i++) {
        struct shv_kit kit;
        shv_space_kit(&space, &m.study, i, &kit);
        assert_int_equal(holds[i], holds_by_counting(&plan, &kit));
        assert_int_equal(holds[i], holds[space.size + i]);
        holding += holds[i] ? 1 : 0;
        failing += holds[i] ? 0 : 1;
    }
    assert_true(holding > 5 && failing > 5);
    /* Those that fail were not taken through all samples. */
    for (size_t i = 0; i < SAMPLES; i++) {
        tried += race.harsh[i].tried;
    }
    assert_true(tried < 2 * (holding + failing / 2) * SAMPLES);
    race_end(&race);
    sure_end(&plan);
    free(holds);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(same_as_counting)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
