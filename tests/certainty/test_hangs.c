/* Where two kits change places: a leaky blower without friction and a tight one with it, of which
 * less leakage makes equals. */
#include "support/study_fixture.h"

#include "certainty/hangs.h"

struct pair {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_curves curves;
};

static double objective_of_blower(struct pair *p, struct shv_model *model, size_t blower)
{
    uint64_t choice[SHV_DIM_COUNT] = {0};
    struct shv_kit kit;
    choice[SHV_DIM_BLOWER] = blower;
    shv_space_kit(&p->space, &p->m.study, shv_space_join(&p->space, choice), &kit);
    shv_model_evaluate(model, &kit, &p->curves);
    return p->curves.verdict.objective;
}

/* Friction that takes most, not all, of what the tight one is ahead by. */
static void begin(struct pair *p, double deviation)
{
    made_begin(&p->m);
    made_add_blower(&p->m, made_geometry("tight", 0.9e-3));
    p->m.blowers[0].geometry.leakage_area *= 1.3;
    made_blower_pulleys(&p->m, 1, p->m.cranks[0] / 1.6, p->m.cranks[0] / 1.6);
    struct shv_tolerances *t = &p->m.study.tolerances;
    t->given = true;
    t->seed = 1;
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, deviation, NAN};
    t->of[SHV_CORRECT_AMBIENT_TEMPERATURE] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.01};
    p->model = made_model(&p->m);
    assert_int_equal(shv_space_init(&p->space, &p->m.study, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&p->curves, p->model, NULL), SHV_OK);
    double ahead = objective_of_blower(p, p->model, 1) - objective_of_blower(p, p->model, 0);
    assert_true(ahead > 0.0);
    while (objective_of_blower(p, p->model, 1) - objective_of_blower(p, p->model, 0) >
           0.2 * ahead) {
        p->m.blowers[1].friction_torque += 0.002;
    }
    assert_int_equal(shv_ranking_init(&p->ranking, 4, NULL), SHV_OK);
    uint64_t choice[SHV_DIM_COUNT] = {0};
    for (size_t i = 0; i < 2; i++) {
        choice[SHV_DIM_BLOWER] = 1 - i;
        struct shv_candidate c = {objective_of_blower(p, p->model, 1 - i),
                                  shv_space_join(&p->space, choice)};
        assert_int_equal(shv_ranking_append(&p->ranking, c, NULL), SHV_OK);
    }
}

static void end(struct pair *p)
{
    shv_curves_free(&p->curves);
    shv_ranking_free(&p->ranking);
    shv_model_free(p->model);
    made_end(&p->m);
}

static struct shv_rival rival_of(struct pair *p)
{
    struct sure_plan plan;
    struct shv_sure_list list = {.row = NULL};
    assert_int_equal(sure_begin(&plan, p->model, NULL, NULL), SHV_OK);
    assert_int_equal(sure_hangs(&plan, &p->space, &p->ranking, &list, NULL), SHV_OK);
    sure_end(&plan);
    assert_int_equal(list.rivals, 1);
    return list.rival[0];
}

static void less_leakage_makes_equals(void **state)
{
    (void)state;
    static struct pair p;
    begin(&p, 0.4);
    struct shv_rival r = rival_of(&p);
    assert_int_equal(r.decides, SHV_CORRECT_LEAKAGE);
    assert_int_equal(r.kit.blower, 0);
    assert_true(r.place == 1 && r.behind > 0.0);
    assert_true(r.departure < 0.0 && r.departure > -1.96 * 0.4);
    assert_relative(r.deviations, -r.departure / 0.4, 1e-12);
    struct shv_corrections c;
    struct shv_model *there;
    shv_corrections_neutral(&c);
    c.value[SHV_CORRECT_LEAKAGE] += r.departure;
    assert_int_equal(shv_model_correct(p.model, &c, &there, NULL), SHV_OK);
    assert_relative(objective_of_blower(&p, there, 0), objective_of_blower(&p, there, 1), 1e-8);
    shv_model_free(there);
    end(&p);
}

static void nothing_within_a_narrow_tolerance(void **state)
{
    (void)state;
    static struct pair p;
    begin(&p, 1e-3);
    struct shv_rival r = rival_of(&p);
    assert_true(r.decides == -1 && isnan(r.departure) && isinf(r.deviations));
    end(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(less_leakage_makes_equals),
                                       cmocka_unit_test(nothing_within_a_narrow_tolerance)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
