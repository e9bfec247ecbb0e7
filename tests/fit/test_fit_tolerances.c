/* From what a fit knows to tolerances, on results made by hand. */
#include "support/study_fixture.h"

#include "fit/fit_internal.h"

/* Leakage from 0 to 5, friction from 0 to 3, efficiency from 0.5 to 1.5, octane from -15 to 15. */
enum { LEAKAGE, FRICTION, EFFICIENCY, OCTANE, FREE };
static struct shv_freed freed[FREE] = {
    {.correction = SHV_CORRECT_LEAKAGE, .from = 0.4, .to = 2.5},
    {.correction = SHV_CORRECT_FRICTION, .from = 0.5, .to = 2.0},
    {.correction = SHV_CORRECT_EFFICIENCY, .from = 0.9, .to = 1.1},
    {.correction = SHV_CORRECT_OCTANE, .from = -4.0, .to = 6.0}};

static struct ground {
    struct shv_study study;
    struct shv_fit_plan plan;
    struct shv_fit fit;
    struct shv_fit_result r;
    double x[FREE], error[FREE], covariance[FREE * FREE];
    bool at_bound[FREE];
} g;

/* All known well, nothing correlated, no tolerances in the study. */
static void begin(void)
{
    memset(&g, 0, sizeof g);
    g.plan = (struct shv_fit_plan){.free = FREE, .freed = freed};
    g.fit.study = &g.study;
    g.fit.plan = &g.plan;
    const double x[FREE] = {1.3, 1.0, 1.02, 1.0}, error[FREE] = {0.1, 0.05, 0.01, 0.5};
    memcpy(g.x, x, sizeof x);
    memcpy(g.error, error, sizeof error);
    g.r.least = (struct shv_least_squares_result){.parameters = FREE,
                                                  .x = g.x,
                                                  .error = g.error,
                                                  .at_bound = g.at_bound,
                                                  .covariance = g.covariance};
    g.r.spread = 1.0;
    shv_corrections_neutral(&g.r.corrections);
    for (size_t k = 0; k < FREE; k++) {
        g.covariance[k * FREE + k] = error[k] * error[k];
    }
}

static void correlate(size_t a, size_t b, double value)
{
    g.covariance[a * FREE + b] = g.covariance[b * FREE + a] = value * g.error[a] * g.error[b];
}

static const struct shv_tolerance *run(size_t k)
{
    free(g.r.tolerances.correlations);
    for (size_t i = 0; i < FREE; i++) {
        g.r.corrections.value[freed[i].correction] = g.x[i];
    }
    assert_int_equal(fit_tolerances(&g.fit, &g.r, NULL), SHV_OK);
    return &g.r.tolerances.of[freed[k].correction];
}

static void end(void)
{
    free(g.r.tolerances.correlations);
}

static void what_is_measured(void **state)
{
    (void)state;
    begin();
    g.r.spread = 1.5;
    const struct shv_tolerance *t = run(LEAKAGE);
    assert_int_equal(g.r.source[LEAKAGE], SHV_FIT_MEASURED);
    assert_true(t->given && t->distribution == SHV_NORMAL && isnan(t->half_width));
    assert_within(t->standard_deviation, 0.15, 1e-15);
    assert_true(g.r.tolerances.given && isnan(g.r.tolerances.hold));
    assert_int_equal(g.r.tolerances.correlation_count, 0);
    assert_false(g.r.tolerances.of[SHV_CORRECT_KNOCK].given);
    end();
}

/* At most a quarter of the room to the nearer end of what is accepted. */
static void what_is_cut(void **state)
{
    (void)state;
    begin();
    g.x[LEAKAGE] = 0.2;
    g.x[EFFICIENCY] = 1.48;
    const struct shv_tolerance *t = run(LEAKAGE);
    assert_int_equal(g.r.source[LEAKAGE], SHV_FIT_CUT);
    assert_within(t->standard_deviation, 0.05, 1e-15);
    t = run(EFFICIENCY);
    assert_int_equal(g.r.source[EFFICIENCY], SHV_FIT_CUT);
    assert_within(t->standard_deviation, 0.005, 1e-12);
    g.x[EFFICIENCY] = 1.45; /* 0.0125 of room is more than 0.01 */
    t = run(EFFICIENCY);
    assert_int_equal(g.r.source[EFFICIENCY], SHV_FIT_MEASURED);
    end();
}

static void what_is_not_known(void **state)
{
    (void)state;
    begin();
    g.error[FRICTION] = INFINITY;
    const struct shv_tolerance *t = run(FRICTION);
    assert_int_equal(g.r.source[FRICTION], SHV_FIT_BOUNDS);
    assert_true(t->given && t->distribution == SHV_UNIFORM && isnan(t->standard_deviation));
    assert_within(t->half_width, 1.0, 1e-15); /* the farther bound, which is also the room */
    g.x[FRICTION] = 0.7;                      /* bounds 0.2 and 1.3 away, room 0.7 */
    t = run(FRICTION);
    assert_within(t->half_width, 0.7, 1e-15);
    g.x[FRICTION] = 1.6; /* 1.1 and 0.4 away, room 1.4 */
    t = run(FRICTION);
    assert_within(t->half_width, 1.1, 1e-15);
    g.error[FRICTION] = 0.0; /* held at a bound: nothing can be said */
    g.at_bound[FRICTION] = true;
    t = run(FRICTION);
    assert_int_equal(g.r.source[FRICTION], SHV_FIT_NONE);
    assert_false(t->given);
    /* The study's own is kept where it has one that is accepted around this value. */
    struct shv_tolerance *own = &g.study.tolerances.of[SHV_CORRECT_FRICTION];
    g.study.tolerances.given = true;
    *own = (struct shv_tolerance){
        .given = true, .distribution = SHV_NORMAL, .standard_deviation = 0.35};
    t = run(FRICTION); /* 4 * 0.35 is the room of 1.4 */
    assert_int_equal(g.r.source[FRICTION], SHV_FIT_KEPT);
    assert_within(t->standard_deviation, 0.35, 0.0);
    own->standard_deviation = 0.351;
    (void)run(FRICTION);
    assert_int_equal(g.r.source[FRICTION], SHV_FIT_NONE);
    *own = (struct shv_tolerance){.given = true, .distribution = SHV_UNIFORM, .half_width = 1.39};
    t = run(FRICTION);
    assert_int_equal(g.r.source[FRICTION], SHV_FIT_KEPT);
    assert_within(t->half_width, 1.39, 0.0);
    g.study.tolerances.by_blowers[SHV_CORRECT_FRICTION] = true; /* not the study's, but blowers' */
    (void)run(FRICTION);
    assert_int_equal(g.r.source[FRICTION], SHV_FIT_NONE);
    end();
}

static double between(enum shv_correction a, enum shv_correction b)
{
    const struct shv_tolerances *t = &g.r.tolerances;
    for (size_t i = 0; i < t->correlation_count; i++) {
        const struct shv_correlation *c = &t->correlations[i];
        if ((c->a == a && c->b == b) || (c->a == b && c->b == a)) {
            return c->value;
        }
    }
    return 0.0;
}

static void correlations(void **state)
{
    (void)state;
    begin();
    struct shv_correlation own[] = {{SHV_CORRECT_CREEP, SHV_CORRECT_INTAKE_LOSS, 0.4},
                                    {SHV_CORRECT_CREEP, SHV_CORRECT_LEAKAGE, 0.3},
                                    {SHV_CORRECT_CREEP, SHV_CORRECT_FRICTION, -0.2},
                                    {SHV_CORRECT_CREEP, SHV_CORRECT_KNOCK, 0.1}};
    struct shv_tolerances *s = &g.study.tolerances;
    s->given = true;
    s->hold = 0.9;
    s->samples = 128;
    s->correlations = own;
    s->correlation_count = 4;
    s->of[SHV_CORRECT_CREEP] = s->of[SHV_CORRECT_INTAKE_LOSS] =
        (struct shv_tolerance){.given = true, .distribution = SHV_UNIFORM, .half_width = 0.001};
    correlate(LEAKAGE, EFFICIENCY, 0.6);
    correlate(EFFICIENCY, OCTANE, 1e-7); /* rounding */
    correlate(LEAKAGE, FRICTION, 0.5);
    g.error[FRICTION] = INFINITY; /* is not measured: the study's own goes on */
    (void)run(LEAKAGE);
    assert_true(g.r.tolerances.samples == 128 && g.r.tolerances.hold == 0.9);
    assert_within(between(SHV_CORRECT_CREEP, SHV_CORRECT_INTAKE_LOSS), 0.4, 1e-12);
    assert_within(between(SHV_CORRECT_CREEP, SHV_CORRECT_FRICTION), -0.2, 1e-12);
    assert_true(between(SHV_CORRECT_CREEP, SHV_CORRECT_LEAKAGE) == 0.0); /* one was measured */
    assert_true(between(SHV_CORRECT_CREEP, SHV_CORRECT_KNOCK) == 0.0);   /* has no tolerance */
    assert_within(between(SHV_CORRECT_LEAKAGE, SHV_CORRECT_EFFICIENCY), 0.6, 1e-12);
    assert_true(between(SHV_CORRECT_EFFICIENCY, SHV_CORRECT_OCTANE) == 0.0);
    assert_true(between(SHV_CORRECT_LEAKAGE, SHV_CORRECT_FRICTION) == 0.0);
    assert_int_equal(g.r.tolerances.correlation_count, 3);
    end();
}

/* The study takes 0.999; and three that can't all be are made smaller together. */
static void correlations_that_cannot_be(void **state)
{
    (void)state;
    begin();
    correlate(LEAKAGE, EFFICIENCY, -0.99999);
    (void)run(LEAKAGE);
    assert_within(between(SHV_CORRECT_LEAKAGE, SHV_CORRECT_EFFICIENCY), -0.999, 1e-12);
    correlate(LEAKAGE, EFFICIENCY, -0.6);
    correlate(LEAKAGE, FRICTION, -0.6);
    correlate(FRICTION, EFFICIENCY, -0.6);
    (void)run(LEAKAGE); /* 1 + 2 r > 0: by steps of 1 % from 0.6 to below a half */
    double r = between(SHV_CORRECT_LEAKAGE, SHV_CORRECT_EFFICIENCY);
    assert_within(r, -0.6 * pow(0.99, 19), 1e-9);
    assert_within(between(SHV_CORRECT_LEAKAGE, SHV_CORRECT_FRICTION), r, 1e-12);
    assert_int_equal(g.r.tolerances.correlation_count, 3);
    end();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_measured),
        cmocka_unit_test(what_is_cut),
        cmocka_unit_test(what_is_not_known),
        cmocka_unit_test(correlations),
        cmocka_unit_test(correlations_that_cannot_be),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
