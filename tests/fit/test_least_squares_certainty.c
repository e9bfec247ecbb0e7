/* What measurements cannot tell apart, and what further ones would. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sheave/least_squares.h"

#define NEAR(value, expected, tolerance) assert_true(fabs((value) - (expected)) <= (tolerance))

/* Only a + b and c are seen, each in two residuals. */
static enum shv_status sum_seen(void *data, size_t worker, const double *p, double *r)
{
    (void)worker;
    double tilt = *(const double *)data;
    r[0] = p[0] + p[1] - 1.0;
    r[1] = p[0] + (1.0 + tilt) * p[1] - 1.0;
    r[2] = p[2] - 0.25;
    r[3] = p[2] - 0.35;
    return SHV_OK;
}

static void run(double tilt, struct shv_least_squares_result *r)
{
    static const double low[] = {-1, -1, -1}, high[] = {2, 2, 2}, start[] = {0.2, 0.3, 0.4};
    static const double scale[] = {1, 1, 1};
    const struct shv_least_squares_problem problem = {.parameters = 3,
                                                      .residuals = 4,
                                                      .residual = sum_seen,
                                                      .data = &tilt,
                                                      .start = start,
                                                      .lower = low,
                                                      .upper = high,
                                                      .scale = scale,
                                                      .loss_threshold = INFINITY};
    const struct shv_least_squares_options how = {.starts = 1};
    assert_int_equal(shv_least_squares(&problem, &how, r, NULL), SHV_OK);
}

static void test_undetermined(void **state)
{
    (void)state;
    struct shv_least_squares_result r;
    run(0.0, &r);
    NEAR(r.x[0] + r.x[1], 1.0, 1e-9);
    NEAR(r.x[2], 0.3, 1e-9);
    assert_true(isinf(r.error[0]) && isinf(r.error[1]));
    NEAR(r.error[2], sqrt(0.5), 1e-9);
    NEAR(shv_least_squares_correlation(&r, 0, 1), 0.0, 0.0);
    /* Singular values of the matrix ((1,1,0), (1,1,0), (0,0,1), (0,0,1)). */
    NEAR(r.singular[0], 2.0, 1e-9);
    NEAR(r.singular[1], sqrt(2.0), 1e-9);
    NEAR(r.singular[2], 0.0, 1e-9);
    NEAR(fabs(r.direction[2 * 3]), sqrt(0.5), 1e-6);
    shv_least_squares_free(&r);
}

/* A difference of a and b, seen with a deviation of 0.1, settles both: each has half the sum of
 * var(a+b) = 1/2 and var(a-b) = 1/100. */
static void test_what_would_separate(void **state)
{
    (void)state;
    static const bool both[] = {true, true, false}, third[] = {false, false, true};
    static const double difference[] = {10.0, -10.0, 0.0}, useless[] = {0.0, 0.0, 10.0};
    struct shv_least_squares_result r;
    run(0.0, &r);
    NEAR(shv_least_squares_with(&r, difference, 1, both), sqrt(0.25 * (0.5 + 0.01)), 1e-9);
    assert_true(isinf(shv_least_squares_with(&r, useless, 1, both)));
    NEAR(shv_least_squares_with(&r, useless, 1, third), sqrt(1.0 / 102.0), 1e-9);
    assert_true(isinf(shv_least_squares_with(&r, NULL, 0, both)));
    shv_least_squares_free(&r);
}

/* Nearly alike: finite errors, and a correlation near -1. */
static void test_nearly(void **state)
{
    (void)state;
    static const bool both[] = {true, true, false};
    struct shv_least_squares_result r;
    run(0.01, &r);
    assert_true(r.error[0] > 50.0 && isfinite(r.error[0]));
    NEAR(shv_least_squares_correlation(&r, 0, 1), -1.0, 1e-3);
    NEAR(shv_least_squares_with(&r, NULL, 0, both), fmax(r.error[0], r.error[1]),
         1e-6 * r.error[0]);
    shv_least_squares_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_undetermined),
        cmocka_unit_test(test_what_would_separate),
        cmocka_unit_test(test_nearly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
