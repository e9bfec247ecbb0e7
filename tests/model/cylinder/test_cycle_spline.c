/* Splines of cycle tables: what they meet, how well, and nodes without a value. */
#include "model/cylinder/cycle_spline.h"
#include "support/cycle_fixture.h"

enum { MOST = 40 };

/* At u nodes from the first one, the basis written out (de Boor, A Practical Guide to Splines, for
 * knots one apart). */
static double value_at(const double *c, size_t nodes, double u)
{
    size_t cell = u < (double)nodes - 2.0 ? (size_t)u : nodes - 2;
    double s = u - (double)cell, sum = 0.0;
    const double basis[4] = {(1.0 - s) * (1.0 - s) * (1.0 - s), 3.0 * s * s * s - 6.0 * s * s + 4.0,
                             -3.0 * s * s * s + 3.0 * s * s + 3.0 * s + 1.0, s * s * s};
    for (size_t k = 0; k < 4; k++) {
        sum += basis[k] / 6.0 * c[cell + k];
    }
    return sum;
}

static double cubic(double x)
{
    return 2.0 + x * (-1.5 + x * (0.7 - 0.11 * x));
}

static void a_cubic_is_met(void **state)
{
    (void)state;
    for (size_t n = CYCLE_SPLINE_NODES_LEAST; n < MOST; n++) {
        double v[MOST + 2];
        struct cycle_lines line = {1, 0, n, 1};
        for (size_t i = 0; i < n; i++) {
            v[i + 1] = cubic(8.0 * (double)i / (double)(n - 1));
        }
        cycle_spline(v, &line);
        for (double u = 0.0; u <= (double)(n - 1); u += 0.19) {
            assert_within(value_at(v, n, u), cubic(8.0 * u / (double)(n - 1)), 1e-12);
        }
    }
}

/* Through its nodes, and with an error that falls with the fourth power of the step: 5/384 of it at
 * most away from the ends, for a complete spline (Hall and Meyer 1976, J. Approx. Theory 16,
 * 105-122; from memory). */
static void errors_fall_with_the_fourth_power(void **state)
{
    (void)state;
    double before = 0.0;
    for (size_t n = 9; n <= 33; n = 2 * n - 1) {
        double v[MOST + 2], step = 3.0 / (double)(n - 1), worst = 0.0;
        struct cycle_lines line = {1, 0, n, 1};
        for (size_t i = 0; i < n; i++) {
            v[i + 1] = sin(step * (double)i);
        }
        cycle_spline(v, &line);
        for (size_t i = 0; i < n; i++) {
            assert_within(value_at(v, n, (double)i), sin(step * (double)i), 1e-13);
        }
        for (double u = 2.0; u <= (double)n - 3.0; u += 0.05) {
            worst = fmax(worst, fabs(value_at(v, n, u) - sin(step * u)));
        }
        assert_true(worst > 0.0 && worst < 5.0 / 384.0 * pow(step, 4.0) * 1.5);
        assert_true(before == 0.0 || worst < before / 12.0);
        before = worst;
    }
}

/* Rows of several numbers in several slices are lines of their own. */
static void lines_do_not_mix(void **state)
{
    (void)state;
    enum { NODES = 7, WIDTH = 3, SLICES = 2, APART = (NODES + 2) * WIDTH + 5 };
    double all[SLICES * APART] = {0.0};
    struct cycle_lines lines = {SLICES, APART, NODES, WIDTH}, one = {1, 0, NODES, 1};
    for (size_t i = 0; i < SLICES * APART; i++) {
        all[i] = sin((double)(i * i));
    }
    double first[SLICES][WIDTH][NODES + 2];
    for (size_t s = 0; s < SLICES; s++) {
        for (size_t k = 0; k < WIDTH; k++) {
            for (size_t i = 0; i < NODES + 2; i++) {
                first[s][k][i] = all[s * APART + i * WIDTH + k];
            }
            cycle_spline(first[s][k], &one);
        }
    }
    double last = all[SLICES * APART - 1];
    cycle_spline(all, &lines);
    for (size_t s = 0; s < SLICES; s++) {
        for (size_t k = 0; k < WIDTH; k++) {
            for (size_t i = 0; i < NODES + 2; i++) {
                assert_true(all[s * APART + i * WIDTH + k] == first[s][k][i]);
            }
        }
    }
    assert_true(all[SLICES * APART - 1] == last);
}

static void nodes_without_a_value_are_carried_on(void **state)
{
    (void)state;
    enum { NODES = 6 };
    struct cycle_lines line = {1, 0, NODES, 1};
    double begin[NODES + 2] = {9.0, NAN, NAN, 1.0, 2.0, 4.0, 8.0, 9.0};
    double end[NODES + 2] = {9.0, 1.0, 3.0, 4.0, NAN, NAN, NAN, 9.0};
    double lone[NODES + 2] = {9.0, NAN, NAN, 5.0, NAN, NAN, NAN, 9.0};
    double none[NODES + 2] = {9.0, NAN, NAN, NAN, NAN, NAN, NAN, 9.0};
    cycle_carry_on(begin, &line);
    cycle_carry_on(end, &line);
    cycle_carry_on(lone, &line);
    cycle_carry_on(none, &line);
    assert_true(begin[2] == 0.0 && begin[1] == -1.0 && begin[3] == 1.0 && begin[0] == 9.0);
    assert_true(end[4] == 5.0 && end[5] == 6.0 && end[6] == 7.0 && end[7] == 9.0);
    for (size_t i = 1; i <= NODES; i++) {
        assert_true(lone[i] == 5.0 && isnan(none[i]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cubic_is_met),
        cmocka_unit_test(errors_fall_with_the_fourth_power),
        cmocka_unit_test(lines_do_not_mix),
        cmocka_unit_test(nodes_without_a_value_are_carried_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
