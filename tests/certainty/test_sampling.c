/* Points of low discrepancy: the published first points, the net property with and without
 * randomisation, and that the seed decides. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "certainty/sampling.h"

/* S. Joe and F. Y. Kuo, Notes on generating Sobol' sequences (2008), the sample output of their
 * program for new-joe-kuo-6: the first ten points in three dimensions. */
static void published_points(void **state)
{
    (void)state;
    static const double points[10][3] = {{0.0, 0.0, 0.0},          {0.5, 0.5, 0.5},
                                         {0.75, 0.25, 0.25},       {0.25, 0.75, 0.75},
                                         {0.375, 0.375, 0.625},    {0.875, 0.875, 0.125},
                                         {0.625, 0.125, 0.875},    {0.125, 0.625, 0.375},
                                         {0.1875, 0.3125, 0.9375}, {0.6875, 0.8125, 0.4375}};
    for (uint32_t i = 0; i < 10; i++) {
        double u[3];
        sampling_plain(3, i, u);
        for (size_t d = 0; d < 3; d++) {
            assert_true(u[d] == points[i][d]);
        }
    }
}

/* Each dimension: one of the first 2^k points in each of 2^k intervals. */
static void stratified(void **state)
{
    (void)state;
    struct sampling *s = malloc(sizeof *s);
    assert_non_null(s);
    sampling_init(s, SAMPLING_DIMENSIONS, 7);
    for (size_t r = 0; r < SAMPLING_REPETITIONS; r += 5) {
        for (size_t d = 0; d < SAMPLING_DIMENSIONS; d++) {
            unsigned char seen[256] = {0}, plain[256] = {0};
            for (uint32_t i = 0; i < 256; i++) {
                double u[SAMPLING_DIMENSIONS];
                sampling_point(s, r, i, u);
                assert_true(u[d] > 0.0 && u[d] < 1.0);
                seen[(size_t)(u[d] * 256.0)]++;
                sampling_plain(SAMPLING_DIMENSIONS, i, u);
                plain[(size_t)(u[d] * 256.0)]++;
            }
            for (size_t k = 0; k < 256; k++) {
                assert_int_equal(seen[k], 1);
                assert_int_equal(plain[k], 1);
            }
        }
    }
    free(s);
}

/* The first two dimensions are a (0, 2)-sequence: one of 2^8 points in each box of area 2^-8. */
static void boxes(void **state)
{
    (void)state;
    struct sampling *s = malloc(sizeof *s);
    assert_non_null(s);
    sampling_init(s, 2, 12345);
    for (unsigned k = 0; k <= 8; k++) {
        unsigned char seen[256] = {0};
        for (uint32_t i = 0; i < 256; i++) {
            double u[2];
            sampling_point(s, 3, i, u);
            size_t x = (size_t)(u[0] * (1u << k)), y = (size_t)(u[1] * (1u << (8 - k)));
            seen[(x << (8 - k)) + y]++;
        }
        for (size_t i = 0; i < 256; i++) {
            assert_int_equal(seen[i], 1);
        }
    }
    free(s);
}

/* The mean of a smooth function over all repetitions, and that scatter tells its error. */
static void integrates(void **state)
{
    (void)state;
    struct sampling *s = malloc(sizeof *s);
    assert_non_null(s);
    double sum = 0.0, squares = 0.0;
    sampling_init(s, 8, 1);
    for (size_t r = 0; r < SAMPLING_REPETITIONS; r++) {
        double mean = 0.0;
        for (uint32_t i = 0; i < 256; i++) {
            double u[8], product = 1.0;
            sampling_point(s, r, i, u);
            for (size_t d = 0; d < 8; d++) {
                product *= 1.0 + (u[d] - 0.5) / (double)(d + 1);
            }
            mean += product / 256.0;
        }
        sum += mean;
        squares += (mean - 1.0) * (mean - 1.0);
    }
    double error = sqrt(squares / SAMPLING_REPETITIONS);
    /* Plain Monte Carlo of 256 points would scatter by 0.0205: the variance is 0.107. */
    assert_true(error < 0.005 && error > 1e-6);
    assert_true(fabs(sum / SAMPLING_REPETITIONS - 1.0) < 3.0 * error / 4.0);
    free(s);
}

static void seed_decides(void **state)
{
    (void)state;
    struct sampling *a = malloc(sizeof *a), *b = malloc(sizeof *b);
    assert_true(a && b);
    double u[5], v[5];
    sampling_init(a, 5, 1);
    sampling_init(b, 5, 1);
    sampling_point(a, 2, 77, u);
    sampling_point(b, 2, 77, v);
    assert_memory_equal(u, v, sizeof u);
    sampling_init(b, 5, 2);
    sampling_point(b, 2, 77, v);
    assert_memory_not_equal(u, v, sizeof u);
    sampling_point(a, 3, 77, v);
    assert_memory_not_equal(u, v, sizeof u);
    free(a);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_points), cmocka_unit_test(stratified), cmocka_unit_test(boxes),
        cmocka_unit_test(integrates), cmocka_unit_test(seed_decides)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
