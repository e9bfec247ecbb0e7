/* What an observation is worth: closed forms of linear cases with normal errors. */
#include "support/study_fixture.h"

#include "certainty/knowing.h"

#define HOLD 0.9
#define QUANTILE 1.2815515655446004 /* of HOLD */
#define KITS 30

/* Two normal tolerances that may be correlated; kits whose one margin falls by 2 a place and whose
 * value falls by 3. */
struct case_ {
    struct made m;
    struct shv_model *model;
    struct sure_plan plan;
    struct shv_correlation correlation;
    struct knowing_response kit[2 * KITS];
    struct knowing_family family[2];
};

static const double of_leakage = 1.5, of_friction = -0.8; /* margin, for a standard deviation */

static void begin(struct case_ *c, double correlation)
{
    *c = (struct case_){.correlation = {SHV_CORRECT_LEAKAGE, SHV_CORRECT_FRICTION, correlation}};
    made_begin(&c->m);
    struct shv_tolerances *t = &c->m.study.tolerances;
    t->given = true;
    t->seed = 3;
    t->samples = 1024;
    t->hold = HOLD;
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.1, NAN};
    t->of[SHV_CORRECT_FRICTION] = (struct shv_tolerance){true, SHV_NORMAL, 0.05, NAN};
    t->correlations = &c->correlation;
    t->correlation_count = correlation != 0.0 ? 1 : 0;
    c->model = made_model(&c->m);
    assert_int_equal(sure_begin(&c->plan, c->model, NULL, NULL), SHV_OK);
    for (size_t i = 0; i < KITS; i++) {
        c->kit[i] = (struct knowing_response){.value = 100.0 - 3.0 * (double)i,
                                              .value_slope = {0.4, 0.7},
                                              .margin = {-8.0 + 2.0 * (double)i},
                                              .margin_slope = {{of_leakage, of_friction}}};
    }
    c->family[0] = (struct knowing_family){c->kit, KITS, 1};
}

static void end(struct case_ *c)
{
    sure_end(&c->plan);
    shv_model_free(c->model);
    c->m.study.tolerances.correlations = NULL;
    made_end(&c->m);
}

static struct knowing_worth find(const struct case_ *c, size_t families,
                                 const struct knowing_observation *o, size_t count)
{
    struct knowing_worth worth;
    assert_true(knowing_find(&c->plan, c->family, families, o, count, &worth));
    return worth;
}

/* The place is where the margin's middle is QUANTILE standard deviations, so that knowing is worth
 * what these shrink, times the value of a unit of the margin. */
static double worth_of(double deviation_before, double deviation_after)
{
    return QUANTILE * (deviation_before - deviation_after) * 3.0 / 2.0;
}

static void one_of_two(void **state)
{
    (void)state;
    static struct case_ c;
    begin(&c, 0.0);
    double before = hypot(of_leakage, of_friction);
    struct knowing_observation o = {{[SHV_CORRECT_LEAKAGE] = 1.0}, 0.0};
    struct knowing_worth w = find(&c, 1, &o, 1);
    assert_within(w.gain.value, worth_of(before, fabs(of_friction)), 1e-5);
    assert_true(w.gain.error < 1e-5 && w.changes > 0.5);
    /* with an error of the size of the tolerance half of the variance is left */
    o.error = 0.1;
    w = find(&c, 1, &o, 1);
    assert_within(w.gain.value, worth_of(before, hypot(of_leakage * sqrt(0.5), of_friction)), 1e-5);
    o.error = 1e6;
    w = find(&c, 1, &o, 1);
    assert_within(w.gain.value, 0.0, 1e-5);
    end(&c);
}

/* Both together, by one number or by two. */
static void both(void **state)
{
    (void)state;
    static struct case_ c;
    begin(&c, 0.0);
    double before = hypot(of_leakage, of_friction);
    const struct knowing_observation each[2] = {{{[SHV_CORRECT_LEAKAGE] = 1.0}, 0.0},
                                                {{[SHV_CORRECT_FRICTION] = 1.0}, 0.05}};
    struct knowing_worth w = find(&c, 1, each, 2);
    assert_within(w.gain.value, worth_of(before, fabs(of_friction) * sqrt(0.5)), 1e-5);
    /* the very sum that the margin feels */
    const struct knowing_observation sum = {
        {[SHV_CORRECT_LEAKAGE] = of_leakage / 0.1, [SHV_CORRECT_FRICTION] = of_friction / 0.05},
        0.0};
    w = find(&c, 1, &sum, 1);
    assert_within(w.gain.value, worth_of(before, 0.0), 1e-5);
    end(&c);
}

/* What is known of one tells of the other: its variance that is left is 1 - r^2. */
static void correlated(void **state)
{
    (void)state;
    static struct case_ c;
    const double r = -0.6;
    begin(&c, r);
    double before = sqrt(of_leakage * of_leakage + of_friction * of_friction +
                         2.0 * r * of_leakage * of_friction);
    const struct knowing_observation o = {{[SHV_CORRECT_LEAKAGE] = 1.0}, 0.0};
    assert_within(find(&c, 1, &o, 1).gain.value,
                  worth_of(before, fabs(of_friction) * sqrt(1.0 - r * r)), 1e-5);
    end(&c);
}

/* A second limit that feels the same number: the place is that of the one that asks for more, and
 * with a tolerance known that nothing feels nothing is gained. */
static void two_limits_and_an_idle_tolerance(void **state)
{
    (void)state;
    static struct case_ c;
    begin(&c, 0.0);
    for (size_t i = 0; i < KITS; i++) {
        c.kit[i].margin_slope[0][1] = 0.0;
        c.kit[i].margin[1] = 2.0 * c.kit[i].margin[0] + 1.0;
        c.kit[i].margin_slope[1][0] = 2.0 * of_leakage; /* the same with more room */
    }
    c.family[0].limits = 2;
    const struct knowing_observation idle = {{[SHV_CORRECT_FRICTION] = 1.0}, 0.0};
    const struct knowing_observation felt = {{[SHV_CORRECT_LEAKAGE] = 1.0}, 0.0};
    struct knowing_worth w = find(&c, 1, &idle, 1);
    assert_within(w.gain.value, 0.0, 1e-6);
    assert_true(w.changes == 0.0);
    assert_within(find(&c, 1, &felt, 1).gain.value, worth_of(of_leakage, 0.0), 1e-5);
    end(&c);
}

/* Of two families without limits that respond in opposite ways the better is chosen once it is
 * known: the mean of |x| of a normal number, sqrt(2/pi) of its standard deviation. */
static void a_choice_of_two(void **state)
{
    (void)state;
    static struct case_ c;
    begin(&c, 0.0);
    for (size_t k = 0; k < 2; k++) {
        c.kit[k] =
            (struct knowing_response){.value = 50.0, .value_slope = {k == 0 ? 2.0 : -2.0, 0.0}};
        c.family[k] = (struct knowing_family){&c.kit[k], 1, 0};
    }
    const struct knowing_observation o = {{[SHV_CORRECT_LEAKAGE] = 1.0}, 0.0};
    struct knowing_worth w = find(&c, 2, &o, 1);
    assert_true(w.gain.error > 0.0 && w.gain.error < 0.6);
    assert_within(w.gain.value, 2.0 * sqrt(2.0 / MADE_PI), 4.0 * w.gain.error);
    assert_within(w.changes, 0.5, 0.01);
    end(&c);
}

static void none_holds(void **state)
{
    (void)state;
    static struct case_ c;
    begin(&c, 0.0);
    c.kit[0].margin[0] = -100.0;
    c.family[0].kits = 1;
    const struct knowing_observation o = {{[SHV_CORRECT_LEAKAGE] = 1.0}, 0.0};
    assert_true(isnan(find(&c, 1, &o, 1).gain.value));
    end(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_of_two),      cmocka_unit_test(both),
        cmocka_unit_test(correlated),      cmocka_unit_test(two_limits_and_an_idle_tolerance),
        cmocka_unit_test(a_choice_of_two), cmocka_unit_test(none_holds)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
