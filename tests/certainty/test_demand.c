/* What tolerances take of margins: against the losses of kits that are looked at one by one. */
#include "support/choose_studies.h"

#include "certainty/sure.h"

static void take_tolerances(struct made *m)
{
    struct shv_tolerances *t = &m->study.tolerances;
    t->given = true;
    t->samples = 512;
    t->seed = 2;
    t->hold = 0.95;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = (struct shv_tolerance){true, SHV_NORMAL, 0.02, NAN};
    t->of[SHV_CORRECT_CREEP] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.004};
}

/* The rotors turn by the ratio less the creep and nothing else, so that the bound of the speed is
 * met by what a uniform creep loses in 95 % of all cases: 0.9 half widths of it. */
static void of_a_uniform_creep(void **state)
{
    (void)state;
    static struct made m;
    double *demand;
    struct shv_space space;
    study_held_by_limits(&m);
    take_tolerances(&m);
    m.study.drive.creep = 0.01;
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    assert_int_equal(shv_tolerance_demand(model, &space, &demand, NULL), SHV_OK);
    double takes = demand[SHV_LIMIT_ROTOR_SPEED];
    /* The probes lie below the bound of 260 rev/s, and not far. */
    double at_bound = 0.9 * 0.004 / 0.99 * 260.0;
    assert_true(takes > 0.6 * at_bound && takes < 1.01 * at_bound);
    assert_true(demand[SHV_LIMIT_BOOST] > 0.0);
    assert_true(demand[SHV_LIMIT_PRICE] == 0.0 && demand[SHV_LIMIT_TORQUE] == 0.0);
    free(demand);
    shv_model_free(model);
    made_end(&m);
}

static void nothing_without_a_wish(void **state)
{
    (void)state;
    static struct made m;
    double *demand;
    struct shv_space space;
    study_held_by_limits(&m);
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    assert_int_equal(shv_tolerance_demand(model, &space, &demand, NULL), SHV_OK);
    assert_null(demand);
    take_tolerances(&m);
    m.study.tolerances.hold = NAN;
    assert_int_equal(shv_tolerance_demand(model, &space, &demand, NULL), SHV_OK);
    assert_null(demand);
    shv_model_free(model);
    made_end(&m);
}

/* Where no kit holds anything nothing is known, and every kit has room. */
static void none_feasible(void **state)
{
    (void)state;
    static struct made m;
    double *demand;
    struct shv_space space;
    study_held_by_limits(&m);
    take_tolerances(&m);
    m.study.limit[SHV_LIMIT_BOOST] = 1.0;
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_space_init(&space, &m.study, NULL), SHV_OK);
    assert_int_equal(shv_tolerance_demand(model, &space, &demand, NULL), SHV_OK);
    for (size_t k = 0; k < SHV_LIMIT_COUNT; k++) {
        assert_true(demand[k] == 0.0);
    }
    free(demand);
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(of_a_uniform_creep),
                                       cmocka_unit_test(nothing_without_a_wish),
                                       cmocka_unit_test(none_feasible)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
