/* The measured errors of a cycle table: each shows when the table is off in that number alone, and
 * silence is no agreement. */
#include "model/cylinder/cycle_table_internal.h"
#include "support/cycle_table_fixture.h"

#include "model/cylinder/cycle_lookup.h"

#define SAMPLES 120

static struct shv_cycle_table small_built(struct shv_cycle_table_spec *spec)
{
    struct shv_cycle_table_options options;
    struct shv_cycle_table t;
    struct shv_message message = {{0}};
    small_table(spec, &options);
    options.samples = SAMPLES;
    if (shv_cycle_table_build(&t, spec, &options, NULL, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return t;
}

static struct shv_cycle_table_quality measured(const struct shv_cycle_table *t,
                                               const struct shv_cycle_table_spec *spec)
{
    struct shv_cycle_table_quality q;
    assert_int_equal(cycle_measure(t, spec, SAMPLES, 9, CYCLE_ANYWHERE, NULL, &q, NULL), SHV_OK);
    return q;
}

static void shift(struct shv_cycle_table *t, size_t field, double by)
{
    for (size_t i = field; i < volume_count(t); i += SHV_CYCLE_FIELDS) {
        t->volumes[i] += by;
    }
}

/* Coefficients of a spline that sum to 1: a shift of all of them shifts every value. */
static void each_number_by_itself(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table t = small_built(&spec);
    const struct shv_cycle_table_error plain = measured(&t, &spec).random;
    shift(&t, CYCLE_FIRED, 0.03);
    struct shv_cycle_table_error off = measured(&t, &spec).random;
    assert_within(off.peak_pressure, expm1(0.03), 2e-3);
    assert_true(off.efficiency == plain.efficiency);
    assert_true(off.ca50 == plain.ca50);
    shift(&t, CYCLE_FIRED, -0.03);
    shift(&t, CYCLE_EXHAUST, 12.0);
    off = measured(&t, &spec).random;
    assert_within(off.exhaust_temperature, 12.0, 1.0);
    assert_true(fabs(off.peak_pressure - plain.peak_pressure) < 1e-9);
    shift(&t, CYCLE_EXHAUST, -12.0);
    shift(&t, CYCLE_KNOCK, 0.05);
    off = measured(&t, &spec).random;
    assert_true(off.ca50 > 0.2 && off.ca50 > 3.0 * plain.ca50);
    assert_within(off.knock_integral, expm1(0.05), 5e-3); /* where knock asks for nothing */
    shv_cycle_table_free(&t);
}

/* What marks states without an answer. */
static void silence(struct shv_cycle_table *t)
{
    for (size_t i = 0; i < motored_count(t); i++) {
        t->motored[i] = NAN;
    }
}

/* A table that says nothing where the cycle has an answer is silent, not right. */
static void silence_is_counted(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table t = small_built(&spec);
    assert_int_equal(measured(&t, &spec).silent, 0);
    silence(&t);
    struct shv_cycle_table_quality q = measured(&t, &spec);
    assert_int_equal(q.silent, SAMPLES);
    assert_int_equal(q.compared, 0);
    assert_int_equal(q.answerless, 0);
    shv_cycle_table_free(&t);
}

/* An answer where the cycle has none is as wrong as can be; of neither is no error. */
static void answers_where_there_is_none(void **state)
{
    (void)state;
    struct shv_cycle_table_spec spec;
    struct shv_cycle_table t = small_built(&spec);
    spec.fuel.heating_value = 150e6; /* hotter than the gas data go */
    struct shv_cycle_table_quality q = measured(&t, &spec);
    assert_int_equal(q.compared, SAMPLES);
    assert_true(q.random.efficiency == INFINITY && q.random.knock_integral == INFINITY);
    silence(&t);
    q = measured(&t, &spec);
    assert_int_equal(q.answerless, SAMPLES);
    assert_true(q.compared == 0 && q.random.efficiency == 0.0);
    shv_cycle_table_free(&t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_number_by_itself),
        cmocka_unit_test(silence_is_counted),
        cmocka_unit_test(answers_where_there_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
