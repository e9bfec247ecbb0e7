/* Estimates from samples: a response whose answer is known in closed form, plain Monte Carlo on a
 * real kit, and the same bytes for any number of threads. */
#include <omp.h>

#include "support/study_fixture.h"

#include "certainty/sure.h"

static void tolerances(struct made *m, size_t samples)
{
    struct shv_tolerances *t = &m->study.tolerances;
    t->given = true;
    t->samples = samples;
    t->seed = 1;
    t->hold = 0.9;
    t->rows = 3;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = (struct shv_tolerance){true, SHV_NORMAL, 0.02, NAN};
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.15, NAN};
    t->of[SHV_CORRECT_EFFICIENCY] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.04};
    t->of[SHV_CORRECT_AMBIENT_TEMPERATURE] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 10.0};
}

/* Objective a + b z1 + c z2 with a limit at q: normal quantiles and shares. */
static void linear_response(void **state)
{
    (void)state;
    static struct made m;
    struct sure_plan plan;
    const size_t samples = 4096;
    made_begin(&m);
    struct shv_tolerances *t = &m.study.tolerances;
    t->given = true;
    t->seed = 3;
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.1, NAN};
    t->of[SHV_CORRECT_FRICTION] = (struct shv_tolerance){true, SHV_NORMAL, 0.05, NAN};
    struct shv_correlation both = {SHV_CORRECT_LEAKAGE, SHV_CORRECT_FRICTION, 0.5};
    t->correlations = &both;
    t->correlation_count = 1;
    struct shv_model *model = made_model(&m);
    assert_int_equal(sure_begin(&plan, model, NULL, NULL), SHV_OK);
    struct sure_outcome *o = calloc(samples, sizeof *o);
    assert_non_null(o);
    for (size_t i = 0; i < samples; i++) {
        struct shv_corrections c;
        sure_corrections(&plan, samples / SAMPLING_REPETITIONS, i, &c);
        double x = 100.0 - 30.0 * (c.value[SHV_CORRECT_LEAKAGE] - 1.0) +
                   80.0 * (c.value[SHV_CORRECT_FRICTION] - 1.0);
        o[i] = (struct sure_outcome){x, x < 98.0 ? SHV_LIMIT_BIT(SHV_LIMIT_BOOST) : 0, true};
    }
    struct shv_sure row;
    assert_int_equal(sure_estimate(o, 1, samples, SHV_LIMIT_BIT(SHV_LIMIT_BOOST), &row, NULL),
                     SHV_OK);
    /* variance 9 + 16 - 2 0.5 3 4 */
    double deviation = sqrt(13.0);
    assert_within(row.mean, 100.0, 0.01);
    assert_relative(row.deviation, deviation, 0.01);
    const double z[] = {-1.6448536, 0.0, 1.6448536};
    for (size_t k = 0; k < SHV_SURE_PERCENTILES; k++) {
        assert_true(row.percentile[k].error > 0.0 && row.percentile[k].error < 0.2);
        assert_within(row.percentile[k].value, 100.0 + z[k] * deviation,
                      4.0 * row.percentile[k].error);
    }
    double holds = normal_share(2.0 / deviation);
    assert_true(row.all.error > 0.0 && row.all.error < 0.005);
    assert_within(row.all.value, holds, 4.0 * row.all.error);
    assert_same_bits(row.holds[SHV_LIMIT_BOOST].value, row.all.value);
    assert_int_equal(row.fails_most, SHV_LIMIT_BOOST);
    assert_true(isnan(row.holds[SHV_LIMIT_TORQUE].value) && row.answer.value == 1.0);
    free(o);
    sure_end(&plan);
    shv_model_free(model);
    m.study.tolerances.correlations = NULL;
    made_end(&m);
}

/* Samples without an answer rank below all, and count against everything. */
static void without_answer(void **state)
{
    (void)state;
    struct sure_outcome o[64];
    struct shv_sure row;
    for (size_t i = 0; i < 64; i++) {
        bool answered = i % 4 != 0;
        o[i] = (struct sure_outcome){answered ? 10.0 + (double)i : NAN, 0, answered};
    }
    assert_int_equal(sure_estimate(o, 1, 64, 0, &row, NULL), SHV_OK);
    assert_within(row.answer.value, 0.75, 1e-15);
    assert_within(row.all.value, 0.75, 1e-15);
    assert_int_equal(row.fails_most, SHV_SURE_NO_ANSWER);
    assert_true(isnan(row.percentile[SHV_SURE_P5].value) && isnan(row.mean));
    assert_true(isfinite(row.percentile[SHV_SURE_P50].value));
    /* where nothing failed: half the rule of three */
    for (size_t i = 0; i < 64; i++) {
        o[i] = (struct sure_outcome){1.0, 0, true};
    }
    assert_int_equal(sure_estimate(o, 1, 64, 0, &row, NULL), SHV_OK);
    assert_within(row.all.error, 1.5 / 64.0, 1e-15);
    assert_int_equal(row.fails_most, -1);
}

static void against_monte_carlo(void **state)
{
    (void)state;
    static struct made m;
    struct shv_kit kit = made_kit(0, 1.7, 0, 0.0, 0.88);
    const size_t drawn = 6000;
    made_begin(&m);
    tolerances(&m, 1024);
    struct shv_model *model = made_model(&m), *one;
    struct shv_curves curves;
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    shv_model_evaluate(model, &kit, &curves);
    double power = curves.verdict.objective;
    /* a limit that holds about two times in three */
    double boost = 0.0;
    for (size_t i = 0; i < curves.sites * curves.speeds; i++) {
        boost = fmax(boost, curves.point[i].boost);
    }
    m.study.limit[SHV_LIMIT_BOOST] = 1.02 * boost;
    struct shv_sure row = {.kind = SHV_SURE_PICKED};
    struct shv_message message = {{0}};
    if (shv_sure_kits(model, &kit, 1, NULL, &row, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    const struct shv_tolerances *t = &m.study.tolerances;
    struct correlated c;
    assert_true(correlated_init(&c, t->of, NULL, 0));
    double sum = 0.0, held = 0.0, below = 0.0;
    uint64_t random = 99;
    for (size_t i = 0; i < drawn; i++) {
        double u[4], d[4];
        struct shv_corrections x;
        for (size_t k = 0; k < 4; k++) {
            u[k] = random_in(&random, 1e-9, 1.0 - 1e-9);
        }
        correlated_draw(&c, t->of, u, d);
        shv_corrections_neutral(&x);
        for (size_t k = 0; k < 4; k++) {
            x.value[c.which[k]] += d[k];
        }
        assert_int_equal(shv_model_correct(model, &x, &one, NULL), SHV_OK);
        shv_model_evaluate(one, &kit, &curves);
        sum += curves.verdict.objective;
        held += curves.verdict.feasible;
        below += curves.verdict.objective < row.percentile[SHV_SURE_P5].value;
        shv_model_free(one);
    }
    double n = (double)drawn, share = held / n;
    assert_true(share > 0.5 && share < 0.95);
    assert_within(row.all.value, share, 3.5 * hypot(row.all.error, sqrt(share * (1 - share) / n)));
    assert_within(row.mean, sum / n, 4.0 * row.deviation / sqrt(n));
    assert_within(below / n, 0.05, 3.5 * sqrt(0.05 * 0.95 / n) + 0.006);
    assert_relative(row.mean, power, 0.05);
    shv_curves_free(&curves);
    shv_model_free(model);
    made_end(&m);
}

static void any_threads(void **state)
{
    (void)state;
    static struct made m;
    const struct shv_kit kits[] = {made_kit(0, 1.5, 0, 0.0, 0.88), made_kit(0, 1.9, 0, 0.0, 0.9)};
    static struct shv_sure first[2], rows[2];
    const int threads[] = {1, 2, 5};
    int before = omp_get_max_threads();
    made_begin(&m);
    tolerances(&m, 128);
    m.study.limit[SHV_LIMIT_BOOST] = 60e3;
    struct shv_model *model = made_model(&m);
    for (size_t i = 0; i < 3; i++) {
        memset(rows, 0, sizeof rows);
        omp_set_num_threads(threads[i]);
        assert_int_equal(shv_sure_kits(model, kits, 2, NULL, rows, NULL), SHV_OK);
        if (i == 0) {
            memcpy(first, rows, sizeof rows);
        }
        assert_memory_equal(first, rows, sizeof rows);
    }
    omp_set_num_threads(before);
    shv_model_free(model);
    made_end(&m);
}

/* Efficiency is a factor: its slope is known, and shares add up. */
static void effects(void **state)
{
    (void)state;
    static struct made m;
    struct shv_kit kit = made_kit(0, 1.7, 0, 0.0, 0.88);
    static struct shv_sure row;
    made_begin(&m);
    tolerances(&m, 64);
    m.study.limit[SHV_LIMIT_BOOST] = 60e3;
    struct shv_model *model = made_model(&m);
    struct shv_curves curves;
    assert_int_equal(shv_curves_init(&curves, model, NULL), SHV_OK);
    shv_model_evaluate(model, &kit, &curves);
    assert_int_equal(shv_sure_kits(model, &kit, 1, NULL, &row, NULL), SHV_OK);
    assert_same_bits(row.nominal, curves.verdict.objective);
    const struct shv_sure_effect *e = row.effect[SHV_CORRECT_EFFICIENCY];
    assert_relative(e[0].effect, e[0].slope * 0.04 / sqrt(3.0), 1e-9);
    const struct shv_point *p = &curves.point[shv_curves_peak_power(&curves, 0)];
    assert_relative(e[0].slope, p->indicated_power, 1e-6); /* peak power at one site */
    assert_within(e[1 + SHV_LIMIT_BOOST].effect, 0.0, 1e-6);
    double shares = 0.0, margins = 0.0;
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        bool given = m.study.tolerances.of[i].given;
        assert_true(given != isnan(row.effect[i][0].effect));
        shares += given ? row.effect[i][0].share : 0.0;
        margins += given ? row.effect[i][1 + SHV_LIMIT_BOOST].share : 0.0;
    }
    assert_within(shares, 1.0, 1e-12);
    assert_within(margins, 1.0, 1e-12);
    assert_true(row.effect[SHV_CORRECT_LEAKAGE][1 + SHV_LIMIT_BOOST].effect > 0.0);
    shv_curves_free(&curves);
    shv_model_free(model);
    made_end(&m);
}

static bool at_once(void *data, size_t done, size_t total)
{
    assert_true(done >= 1 && done <= total);
    ++*(int *)data;
    return false;
}

static void trouble(void **state)
{
    (void)state;
    static struct made m;
    struct shv_kit kit = made_kit(0, 1.7, 0, 0.0, 0.88);
    static struct shv_sure row;
    struct shv_message message;
    int asked = 0;
    const struct shv_watch how = {at_once, &asked};
    made_begin(&m);
    struct shv_model *model = made_model(&m);
    assert_int_equal(shv_sure_kits(model, &kit, 1, NULL, &row, &message), SHV_BAD_INPUT);
    assert_string_equal(message.text, "the study has no tolerances");
    tolerances(&m, 64);
    assert_int_equal(shv_sure_kits(model, &kit, 1, &how, &row, &message), SHV_STOPPED);
    assert_true(asked >= 1 && asked < 64);
    m.study.tolerances.of[SHV_CORRECT_LEAKAGE].standard_deviation = 2.0; /* below 0 somewhere */
    m.study.tolerances.of[SHV_CORRECT_LEAKAGE].distribution = SHV_NORMAL;
    assert_int_equal(shv_sure_kits(model, &kit, 1, NULL, &row, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "leakage"));
    shv_model_free(model);
    made_end(&m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(linear_response),
                                       cmocka_unit_test(without_answer),
                                       cmocka_unit_test(against_monte_carlo),
                                       cmocka_unit_test(any_threads),
                                       cmocka_unit_test(effects),
                                       cmocka_unit_test(trouble)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
