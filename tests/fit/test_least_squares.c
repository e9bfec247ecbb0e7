/* Bounded, robust least squares: small problems whose answers follow from closed forms. NIST's
 * problems are in tests/published. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "sheave/least_squares.h"

#define NEAR(value, expected, tolerance) assert_true(fabs((value) - (expected)) <= (tolerance))

/* y = a + b x with the same standard deviation everywhere. */
struct line {
    size_t points;
    const double *x, *y;
    double deviation;
};

static enum shv_status line_residual(void *data, size_t worker, const double *p, double *r)
{
    (void)worker;
    const struct line *l = data;
    for (size_t i = 0; i < l->points; i++) {
        r[i] = (p[0] + p[1] * l->x[i] - l->y[i]) / l->deviation;
    }
    return SHV_OK;
}

static const double five[] = {0, 1, 2, 3, 4}, wide_low[] = {-100, -100}, wide_high[] = {100, 100},
                    zeros[] = {0, 0};

static struct shv_least_squares_problem line_problem(struct line *line)
{
    return (struct shv_least_squares_problem){.parameters = 2,
                                              .residuals = line->points,
                                              .residual = line_residual,
                                              .data = line,
                                              .start = zeros,
                                              .lower = wide_low,
                                              .upper = wide_high,
                                              .loss_threshold = INFINITY};
}

static void run(const struct shv_least_squares_problem *problem, size_t starts,
                struct shv_least_squares_result *result)
{
    const struct shv_least_squares_options how = {.starts = starts, .seed = 1, .workers = 1};
    struct shv_message message;
    if (shv_least_squares(problem, &how, result, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    assert_int_equal(result->outcome, SHV_LEAST_SQUARES_FOUND);
}

/* Variances of the textbook line: sigma^2 (1/n + xm^2/Sxx), sigma^2/Sxx, covariance -sigma^2
 * xm/Sxx; here Sxx = 10, xm = 2. */
static void test_line(void **state)
{
    (void)state;
    static const double y[] = {1.1, 2.9, 5.2, 6.8, 9.0};
    struct line line = {5, five, y, 0.5};
    struct shv_least_squares_problem problem = line_problem(&line);
    struct shv_least_squares_result r;
    run(&problem, 1, &r);
    NEAR(r.x[1], 1.97, 1e-11);
    NEAR(r.x[0], 5.0 - 2.0 * 1.97, 1e-11);
    NEAR(r.error[0], 0.5 * sqrt(0.2 + 0.4), 1e-9);
    NEAR(r.error[1], 0.5 / sqrt(10.0), 1e-9);
    NEAR(r.covariance[1], -0.25 * 0.2, 1e-9);
    NEAR(shv_least_squares_correlation(&r, 0, 1), -0.2 / sqrt(0.6 * 0.1), 1e-9);
    NEAR(r.freedom, 3.0, 0.0);
    shv_least_squares_free(&r);
}

/* At an active bound the other parameter is that of the line through the fixed one, its error too.
 */
static void test_active_bound(void **state)
{
    (void)state;
    static const double y[] = {1.1, 2.9, 5.2, 6.8, 9.0}, low[] = {-100, -100}, high[] = {100, 1.5};
    struct line line = {5, five, y, 0.5};
    struct shv_least_squares_problem problem = line_problem(&line);
    problem.lower = low;
    problem.upper = high;
    struct shv_least_squares_result r;
    run(&problem, 3, &r);
    NEAR(r.x[1], 1.5, 0.0);
    NEAR(r.x[0], 5.0 - 2.0 * 1.5, 1e-11);
    assert_true(r.at_bound[1] && !r.at_bound[0]);
    NEAR(r.error[0], 0.5 / sqrt(5.0), 1e-9);
    NEAR(r.error[1], 0.0, 0.0);
    NEAR(r.freedom, 4.0, 0.0);
    assert_int_equal(r.directions, 1);
    shv_least_squares_free(&r);
}

/* With a prior on the slope the answer is the mean weighed by precision: 10/0.25 = 40 of the data,
 * 1/0.01 = 100 of the prior (the intercept is free, so the slope stands by itself). */
static void test_prior(void **state)
{
    (void)state;
    static const double y[] = {1.1, 2.9, 5.2, 6.8, 9.0};
    static const double mean[] = {0.0, 1.0}, deviation[] = {INFINITY, 0.1};
    struct line line = {5, five, y, 0.5};
    struct shv_least_squares_problem problem = line_problem(&line);
    problem.prior_mean = mean;
    problem.prior_deviation = deviation;
    struct shv_least_squares_result r;
    run(&problem, 1, &r);
    NEAR(r.x[1], (40.0 * 1.97 + 100.0 * 1.0) / 140.0, 1e-10);
    NEAR(r.error[1], 1.0 / sqrt(140.0), 1e-9);
    NEAR(r.freedom, 4.0, 0.0);
    shv_least_squares_free(&r);
}

/* A mean with one wild value: the others' sum, the wild one pulling with k deviations only. Nine
 * values at 0 in deviations of 1, one at 50, k = 2: 9 m = 2. */
static enum shv_status mean_residual(void *data, size_t worker, const double *p, double *r)
{
    (void)worker;
    (void)data;
    for (size_t i = 0; i < 10; i++) {
        r[i] = p[0] - (i == 3 ? 50.0 : 0.0);
    }
    return SHV_OK;
}

static void test_huber(void **state)
{
    (void)state;
    static const double low[] = {-10}, high[] = {10}, start[] = {5};
    const struct shv_least_squares_problem problem = {.parameters = 1,
                                                      .residuals = 10,
                                                      .residual = mean_residual,
                                                      .start = start,
                                                      .lower = low,
                                                      .upper = high,
                                                      .loss_threshold = 2.0};
    struct shv_least_squares_result r;
    run(&problem, 1, &r);
    NEAR(r.x[0], 2.0 / 9.0, 1e-9);
    NEAR(r.weight[3], 2.0 / (50.0 - 2.0 / 9.0), 1e-9);
    NEAR(r.weight[0], 1.0, 0.0);
    shv_least_squares_free(&r);
}

/* (x^2 - 1)^2 / 4 + x / 10 has a shallow minimum near 1 and a deep one near -1: one start from the
 * right finds the shallow one, many the deep one, where x^3 - x + 0.1 = 0. */
static enum shv_status two_wells(void *data, size_t worker, const double *p, double *r)
{
    (void)worker;
    (void)data;
    r[0] = (p[0] * p[0] - 1.0) / sqrt(2.0);
    r[1] = sqrt(0.2 * p[0] + 1.0);
    return 0.2 * p[0] + 1.0 > 0.0 ? SHV_OK : SHV_NOTHING;
}

static void test_many_starts(void **state)
{
    (void)state;
    static const double low[] = {-2}, high[] = {2}, start[] = {0.95};
    const struct shv_least_squares_problem problem = {.parameters = 1,
                                                      .residuals = 2,
                                                      .residual = two_wells,
                                                      .start = start,
                                                      .lower = low,
                                                      .upper = high,
                                                      .loss_threshold = INFINITY};
    struct shv_least_squares_result r;
    run(&problem, 1, &r);
    assert_true(r.x[0] > 0.0);
    shv_least_squares_free(&r);
    run(&problem, 8, &r);
    assert_true(r.x[0] < -1.0);
    NEAR(r.x[0] * r.x[0] * r.x[0] - r.x[0] + 0.1, 0.0, 1e-8);
    assert_true(r.agreeing >= 2 && r.agreeing < 8);
    shv_least_squares_free(&r);
}

/* Some points of the box have no answer: they are gone round. */
static enum shv_status half_answered(void *data, size_t worker, const double *p, double *r)
{
    (void)worker;
    (void)data;
    r[0] = sqrt(p[0]) - 0.5;
    return p[0] >= 0.2 ? SHV_OK : SHV_NOTHING;
}

static void test_no_answer(void **state)
{
    (void)state;
    static const double low[] = {0}, high[] = {4}, start[] = {3}, bad_start[] = {0.1};
    struct shv_least_squares_problem problem = {.parameters = 1,
                                                .residuals = 1,
                                                .residual = half_answered,
                                                .start = start,
                                                .lower = low,
                                                .upper = high,
                                                .loss_threshold = INFINITY};
    struct shv_least_squares_result r;
    run(&problem, 1, &r);
    NEAR(r.x[0], 0.25, 1e-9);
    shv_least_squares_free(&r);
    const struct shv_least_squares_options how = {.starts = 1};
    struct shv_message message;
    problem.start = bad_start;
    assert_int_equal(shv_least_squares(&problem, &how, &r, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "no answer at any of 1 start"));
    assert_null(r.x);
}

/* No memory at the n-th call is no point without an answer: nothing is found, wherever it happens.
 */
static enum shv_status no_memory_at(void *data, size_t worker, const double *p, double *r)
{
    size_t *left = data;
    (void)worker;
    r[0] = exp(p[0]) - 2.0;
    r[1] = p[0] * p[0];
    return (*left)-- == 1 ? SHV_NO_MEMORY : SHV_OK;
}

static void test_no_memory(void **state)
{
    (void)state;
    static const double low[] = {-4}, high[] = {4}, start[] = {3};
    size_t left = SIZE_MAX;
    struct shv_least_squares_problem problem = {.parameters = 1,
                                                .residuals = 2,
                                                .residual = no_memory_at,
                                                .data = &left,
                                                .start = start,
                                                .lower = low,
                                                .upper = high,
                                                .loss_threshold = INFINITY};
    struct shv_least_squares_result r;
    const struct shv_least_squares_options how = {.starts = 3, .seed = 1, .workers = 1};
    run(&problem, 3, &r);
    size_t calls = SIZE_MAX - left;
    shv_least_squares_free(&r);
    assert_true(calls > 30);
    for (size_t i = 1; i <= calls; i++) {
        struct shv_message message = {{0}};
        left = i;
        assert_int_equal(shv_least_squares(&problem, &how, &r, &message), SHV_NO_MEMORY);
        assert_string_equal(message.text, "out of memory for the model of a fit");
        assert_null(r.x);
    }
}

static void test_bad_arguments(void **state)
{
    (void)state;
    static const double y[] = {1, 2, 3, 4, 5}, outside[] = {200, 0};
    static const double mean[] = {0, 0}, deviation[] = {0, 1};
    struct line line = {5, five, y, 1.0};
    struct shv_least_squares_problem problem = line_problem(&line);
    struct shv_least_squares_options how = {.starts = 1};
    struct shv_least_squares_result r;
    struct shv_message message;
    problem.start = outside;
    assert_int_equal(shv_least_squares(&problem, &how, &r, &message), SHV_BAD_INPUT);
    problem = line_problem(&line);
    problem.prior_mean = mean;
    problem.prior_deviation = deviation;
    assert_int_equal(shv_least_squares(&problem, &how, &r, &message), SHV_BAD_INPUT);
    problem = line_problem(&line);
    problem.loss_threshold = 0.0;
    assert_int_equal(shv_least_squares(&problem, &how, &r, &message), SHV_BAD_INPUT);
    problem = line_problem(&line);
    problem.parameters = 0;
    assert_int_equal(shv_least_squares(&problem, &how, &r, &message), SHV_BAD_INPUT);
    problem = line_problem(&line);
    how.starts = 0;
    assert_int_equal(shv_least_squares(&problem, &how, &r, &message), SHV_BAD_INPUT);
}

/* Same bits for any number of threads. */
static void test_threads(void **state)
{
    (void)state;
    static const double y[] = {1.1, 2.9, 5.2, 6.8, 9.0};
    struct line line = {5, five, y, 0.3};
    struct shv_least_squares_problem problem = line_problem(&line);
    problem.loss_threshold = 0.4;
    struct shv_least_squares_result one, three;
    const struct shv_least_squares_options with_one = {.starts = 4, .seed = 7, .workers = 1};
    const struct shv_least_squares_options with_three = {.starts = 4, .seed = 7, .workers = 3};
    assert_int_equal(shv_least_squares(&problem, &with_one, &one, NULL), SHV_OK);
    assert_int_equal(shv_least_squares(&problem, &with_three, &three, NULL), SHV_OK);
    assert_memory_equal(one.x, three.x, 2 * sizeof *one.x);
    assert_memory_equal(one.covariance, three.covariance, 4 * sizeof *one.covariance);
    shv_least_squares_free(&one);
    shv_least_squares_free(&three);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line),        cmocka_unit_test(test_active_bound),
        cmocka_unit_test(test_prior),       cmocka_unit_test(test_huber),
        cmocka_unit_test(test_many_starts), cmocka_unit_test(test_no_answer),
        cmocka_unit_test(test_no_memory),   cmocka_unit_test(test_bad_arguments),
        cmocka_unit_test(test_threads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
