/* Roots by rounds of one phasing more, on functions whose root is known. */
#include "model/cylinder/cycle_root.h"
#include "support/cycle_fixture.h"

/* Falls through 0 at the square root of 300, 17.32. */
static double smooth(double x)
{
    return 3.0 - 0.01 * x * x;
}

/* Steep on one side, flat on the other. */
static double bent(double x)
{
    return x < 21.3 ? 5.0 * (21.3 - x) : 1e-4 * (21.3 - x);
}

/* Not monotone: rises before it falls. */
static double wavy(double x)
{
    return cos((x - 8.0) * 0.19) + 0.3 * sin(x);
}

static struct cycle_root_point point_at(double (*f)(double), double x)
{
    return (struct cycle_root_point){.ca50 = x, .gap = f(x), .residual = 1000.0 + 5.0 * x};
}

static int rounds_to_root(double (*f)(double), const double *at, size_t count, double *found)
{
    struct cycle_root_point points[8];
    struct cycle_root r;
    for (size_t i = 0; i < count; i++) {
        points[i] = point_at(f, at[i]);
    }
    assert_true(cycle_root_start(&r, points, count));
    int rounds = 0;
    for (double gap = 1.0; fabs(gap) > 1e-10 && cycle_root_goes_on(&r); rounds++) {
        struct cycle_root_point next = cycle_root_next(&r);
        assert_true(next.ca50 >= r.p[r.at].ca50 && next.ca50 <= r.p[r.at + 1].ca50);
        struct cycle_root_point p = point_at(f, next.ca50);
        gap = p.gap;
        cycle_root_add(&r, &p);
        assert_true(r.p[r.at].gap > 0.0 && r.p[r.at + 1].gap <= 0.0);
        *found = next.ca50;
    }
    return rounds;
}

static void finds_the_root(void **state)
{
    (void)state;
    const double grid[] = {8.0, 12.0, 16.0, 20.0, 24.0}, ends[] = {40.0, 8.0};
    double root = 0.0;
    assert_true(rounds_to_root(smooth, grid, COUNT(grid), &root) <= 3);
    assert_within(root, sqrt(300.0), 1e-9);
    assert_true(rounds_to_root(smooth, ends, COUNT(ends), &root) <= 7);
    assert_within(root, sqrt(300.0), 1e-9);
    assert_true(rounds_to_root(bent, ends, COUNT(ends), &root) <= 60);
    assert_within(root, 21.3, 1e-5);
    assert_true(rounds_to_root(wavy, grid, COUNT(grid), &root) <= 10);
    assert_within(wavy(root), 0.0, 1e-10);
}

static void an_exact_root_is_kept(void **state)
{
    (void)state;
    struct cycle_root_point points[] = {
        {8.0, 0.3, 1100.0, -1.0}, {17.7, 0.0, 1200.0, -1.0}, {29.1, -0.7, 1300.0, -1.0}};
    struct cycle_root r;
    assert_true(cycle_root_start(&r, points, COUNT(points)));
    assert_true(cycle_root_next(&r).ca50 == 17.7);
}

/* Beyond the bracket the gap rises again: only the two points of the bracket count. */
static void rising_points_do_not_bend_it(void **state)
{
    (void)state;
    struct cycle_root_point points[] = {
        {8.0, 1.0, 1100.0, -1.0}, {12.0, -0.25, 1200.0, -1.0}, {16.0, 1.5, 1300.0, -1.0}};
    struct cycle_root r;
    assert_true(cycle_root_start(&r, points, COUNT(points)));
    assert_within(cycle_root_next(&r).ca50, 11.2, 1e-12);
    assert_within(cycle_root_next(&r).residual, 1180.0, 1e-9);
    r.count = 2; /* what lies behind does not count even where it falls */
    r.p[2].gap = -0.3;
    assert_within(cycle_root_next(&r).ca50, 11.2, 1e-12);
}

static void says_when_there_is_none(void **state)
{
    (void)state;
    struct cycle_root_point points[] = {{8.0, 0.3, 1100.0, -1.0}, {20.0, 0.2, 1200.0, -1.0}};
    struct cycle_root r;
    assert_false(cycle_root_start(&r, points, COUNT(points)));
    points[1].gap = NAN;
    assert_false(cycle_root_start(&r, points, COUNT(points)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_the_root),
        cmocka_unit_test(an_exact_root_is_kept),
        cmocka_unit_test(rising_points_do_not_bend_it),
        cmocka_unit_test(says_when_there_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
