/* Small dense matrices against their defining equations. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "fit/dense.h"

#define NEAR(value, expected, tolerance) assert_true(fabs((value) - (expected)) <= (tolerance))

/* A straight line through four points: the normal equations by hand give 0.5 and 1.4. */
static void test_line(void **state)
{
    (void)state;
    double a[] = {1, 0, 1, 1, 1, 2, 1, 3}, b[] = {0.4, 2.0, 3.4, 4.6}, x[2];
    dense_solve(a, b, 4, 2, x);
    NEAR(x[0], 0.5, 1e-14);
    NEAR(x[1], 1.4, 1e-14);
}

static void test_dependent_column(void **state)
{
    (void)state;
    double a[] = {1, 2, 1, 2, 1, 2}, b[] = {3, 3, 3}, x[2];
    dense_solve(a, b, 3, 2, x);
    NEAR(x[0], 3.0, 1e-14);
    NEAR(x[1], 0.0, 0.0);
}

/* Singular values of ((3, 0), (4, 5)) are sqrt(45) and sqrt(5) (Golub and Van Loan's kind of
 * example: A^T A = ((25, 20), (20, 25))). */
static void test_known_singular_values(void **state)
{
    (void)state;
    double a[] = {3, 0, 4, 5}, singular[2], v[4];
    dense_singular(a, 2, 2, singular, v);
    NEAR(singular[0], sqrt(45.0), 1e-14);
    NEAR(singular[1], sqrt(5.0), 1e-14);
    NEAR(fabs(v[0]), sqrt(0.5), 1e-14);
    NEAR(v[0] * v[2] + v[1] * v[3], 0.0, 1e-15);
}

/* |A v| = singular value, vectors of length 1 and perpendicular, also of a matrix of rank 2. */
static void test_defining_equations(void **state)
{
    (void)state;
    enum { ROWS = 6, COLUMNS = 3 };
    double a[ROWS * COLUMNS], copy[ROWS * COLUMNS], singular[COLUMNS], v[COLUMNS * COLUMNS];
    for (size_t i = 0; i < ROWS; i++) {
        a[i * COLUMNS] = sin((double)(i + 1));
        a[i * COLUMNS + 1] = 1e3 * cos((double)(3 * i));
        a[i * COLUMNS + 2] = 2.0 * a[i * COLUMNS] - 1e-3 * a[i * COLUMNS + 1];
    }
    memcpy(copy, a, sizeof a);
    dense_singular(a, ROWS, COLUMNS, singular, v);
    assert_true(singular[0] >= singular[1] && singular[1] >= singular[2]);
    NEAR(singular[2], 0.0, 1e-12 * singular[0]);
    for (size_t k = 0; k < COLUMNS; k++) {
        double size = 0.0;
        for (size_t i = 0; i < ROWS; i++) {
            double sum = 0.0;
            for (size_t j = 0; j < COLUMNS; j++) {
                sum += copy[i * COLUMNS + j] * v[k * COLUMNS + j];
            }
            size += sum * sum;
        }
        NEAR(sqrt(size), singular[k], 1e-12 * singular[0]);
        for (size_t l = 0; l < COLUMNS; l++) {
            double dot = 0.0;
            for (size_t j = 0; j < COLUMNS; j++) {
                dot += v[k * COLUMNS + j] * v[l * COLUMNS + j];
            }
            NEAR(dot, k == l ? 1.0 : 0.0, 1e-14);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line),
        cmocka_unit_test(test_dependent_column),
        cmocka_unit_test(test_known_singular_values),
        cmocka_unit_test(test_defining_equations),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
