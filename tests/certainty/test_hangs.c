/* Where two kits change places: a leaky blower without friction and a tight one with it. Less
 * leakage makes equals of them; so does more friction of the engine, which the tight one's higher
 * pressure pays for, and less charge heating: walls make charges alike, and the tight one's is
 * hotter. */
#include "support/study_fixture.h"

#include "certainty/hangs.h"

struct pair {
    struct made m;
    struct shv_model *model;
    struct shv_space space;
    struct shv_ranking ranking;
    struct shv_curves curves;
    enum shv_dim differ; /* in what the two do */
};

static double objective_of(struct pair *p, struct shv_model *model, size_t place)
{
    uint64_t choice[SHV_DIM_COUNT] = {0};
    struct shv_kit kit;
    choice[p->differ] = place;
    shv_space_kit(&p->space, &p->m.study, shv_space_join(&p->space, choice), &kit);
    shv_model_evaluate(model, &kit, &p->curves);
    return p->curves.verdict.objective;
}

static double lead_of_second(struct pair *p)
{
    return objective_of(p, p->model, 1) - objective_of(p, p->model, 0);
}

static void tolerate(struct pair *p, enum shv_correction which, struct shv_tolerance tolerance)
{
    struct shv_tolerances *t = &p->m.study.tolerances;
    t->given = true;
    t->seed = 1;
    t->of[SHV_CORRECT_AMBIENT_TEMPERATURE] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.01};
    t->of[which] = tolerance;
}

static void make(struct pair *p)
{
    p->model = made_model(&p->m);
    assert_int_equal(shv_space_init(&p->space, &p->m.study, NULL), SHV_OK);
    assert_int_equal(shv_curves_init(&p->curves, p->model, NULL), SHV_OK);
}

static void rank(struct pair *p, size_t first)
{
    assert_int_equal(shv_ranking_init(&p->ranking, 4, NULL), SHV_OK);
    uint64_t choice[SHV_DIM_COUNT] = {0};
    for (size_t i = 0; i < 2; i++) {
        size_t place = i == 0 ? first : 1 - first;
        choice[p->differ] = place;
        struct shv_candidate c = {objective_of(p, p->model, place),
                                  shv_space_join(&p->space, choice)};
        assert_int_equal(shv_ranking_append(&p->ranking, c, NULL), SHV_OK);
    }
    assert_true(p->ranking.item[0].objective > p->ranking.item[1].objective);
}

/* Friction that takes most, not all, of what the tight one is ahead by: this share is left. */
static void begin(struct pair *p, enum shv_correction which, struct shv_tolerance tolerance,
                  double left)
{
    made_begin(&p->m);
    p->differ = SHV_DIM_BLOWER;
    made_add_blower(&p->m, made_geometry("tight", 0.9e-3));
    p->m.blowers[0].geometry.leakage_area *= 1.3;
    made_blower_pulleys(&p->m, 1, p->m.cranks[0] / 1.6, p->m.cranks[0] / 1.6);
    tolerate(p, which, tolerance);
    make(p);
    double ahead = lead_of_second(p);
    assert_true(ahead > 0.0);
    while (lead_of_second(p) > left * ahead) {
        p->m.blowers[1].friction_torque += 0.0005;
    }
    rank(p, 1);
}

/* With the closed cycle: a fuel that knocks, and one of more octane and a little less heat. */
static void begin_knocking(struct pair *p, struct shv_tolerance heating)
{
    made_begin(&p->m);
    p->differ = SHV_DIM_FUEL;
    p->m.study.engine.efficiency_kind = SHV_EFFICIENCY_CYCLE;
    made_speeds(&p->m, 1, 90.0, 90.0);
    made_add_fuel(&p->m, 14.5, 43.0e6);
    p->m.fuels[1].ron += 9.0;
    p->m.fuels[1].mon += 9.0;
    made_blower_pulleys(&p->m, 1, p->m.cranks[0] / 1.6, p->m.cranks[0] / 1.6);
    tolerate(p, SHV_CORRECT_CHARGE_HEATING, heating);
    make(p);
    assert_true(lead_of_second(p) > 0.0);
    while (lead_of_second(p) > -100.0) {
        p->m.fuels[1].heating_value -= 0.02e6;
    }
    rank(p, 0);
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

/* At the departure that was found both kits are worth the same. */
static void assert_equals_there(struct pair *p, const struct shv_rival *r)
{
    struct shv_corrections c;
    struct shv_model *there;
    shv_corrections_neutral(&c);
    c.value[r->decides] += r->departure;
    assert_int_equal(shv_model_correct(p->model, &c, &there, NULL), SHV_OK);
    assert_relative(objective_of(p, there, 0), objective_of(p, there, 1), 1e-8);
    shv_model_free(there);
}

/* This tolerance decides, by a departure of this sign within `reach`. */
static void assert_decides(enum shv_correction which, struct shv_tolerance tolerance, double left,
                           double sign, double reach)
{
    static struct pair p;
    begin(&p, which, tolerance, left);
    struct shv_rival r = rival_of(&p);
    assert_int_equal(r.decides, which);
    assert_int_equal(r.kit.blower, 0);
    assert_true(r.place == 1 && r.behind > 0.0);
    assert_true(sign * r.departure > 0.0 && sign * r.departure < reach);
    assert_relative(r.deviations, fabs(r.departure) / shv_tolerance_deviation(&tolerance), 1e-12);
    assert_equals_there(&p, &r);
    end(&p);
}

static void less_leakage_makes_equals(void **state)
{
    (void)state;
    assert_decides(SHV_CORRECT_LEAKAGE, (struct shv_tolerance){true, SHV_NORMAL, 0.4, NAN}, 0.2,
                   -1.0, 1.96 * 0.4);
}

static void more_friction_makes_equals(void **state)
{
    (void)state;
    assert_decides(SHV_CORRECT_FRICTION, (struct shv_tolerance){true, SHV_NORMAL, 0.1, NAN}, 0.003,
                   1.0, 1.96 * 0.1);
}

/* The warmer the charge, the later ignition of the fuel that knocks. */
static void more_charge_heating_makes_it_knock(void **state)
{
    (void)state;
    static struct pair p;
    begin_knocking(&p, (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.1});
    struct shv_rival r = rival_of(&p);
    assert_int_equal(r.decides, SHV_CORRECT_CHARGE_HEATING);
    assert_true(r.kit.fuel == 1 && r.departure > 0.0 && r.departure < 0.1);
    assert_equals_there(&p, &r);
    end(&p);
}

static void less_charge_heating_makes_equals(void **state)
{
    (void)state;
    assert_decides(SHV_CORRECT_CHARGE_HEATING, (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.15},
                   0.01, -1.0, 0.15);
}

static void nothing_within_a_narrow_tolerance(void **state)
{
    (void)state;
    static struct pair p;
    begin(&p, SHV_CORRECT_LEAKAGE, (struct shv_tolerance){true, SHV_NORMAL, 1e-3, NAN}, 0.2);
    struct shv_rival r = rival_of(&p);
    assert_true(r.decides == -1 && isnan(r.departure) && isinf(r.deviations));
    end(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(less_leakage_makes_equals),
                                       cmocka_unit_test(more_friction_makes_equals),
                                       cmocka_unit_test(less_charge_heating_makes_equals),
                                       cmocka_unit_test(more_charge_heating_makes_it_knock),
                                       cmocka_unit_test(nothing_within_a_narrow_tolerance)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
