/* Damped Gauss-Newton steps: answers that are known, bounds, and when an end is an end. */
#include "support/small_squares.h"

static const double one[] = {1.0, 1.0}, wide_low[] = {-1e3, -1e3}, wide_high[] = {1e3, 1e3};

/* y = 1 + 2 x at 0, 1, 2, 3, with residuals that are not 0: 0.1, -0.1, -0.1, 0.1, perpendicular to
 * both columns. */
static enum shv_status line(void *data, size_t worker, const double *x, double *r)
{
    (void)data, (void)worker;
    static const double y[] = {1.1, 2.9, 4.9, 7.1};
    for (int i = 0; i < 4; i++) {
        r[i] = x[0] + x[1] * i - y[i];
    }
    return SHV_OK;
}

/* Rosenbrock's valley (Computer Journal 3, 1960), whose least is 0 at (1, 1). */
static enum shv_status valley(void *data, size_t worker, const double *x, double *r)
{
    (void)data, (void)worker;
    r[0] = 10.0 * (x[1] - x[0] * x[0]);
    r[1] = 1.0 - x[0];
    return SHV_OK;
}

/* Whole steps from x overshoot: atan, whose Newton steps run away beyond 1.39. */
static enum shv_status bend(void *data, size_t worker, const double *x, double *r)
{
    (void)data, (void)worker;
    r[0] = atan(x[0]);
    r[1] = 1e-3 * x[1];
    return SHV_OK;
}

/* Least at x0 = 0.3, where the first one turns. */
static enum shv_status kinked(void *data, size_t worker, const double *x, double *r)
{
    (void)data, (void)worker;
    r[0] = 2.0 + (x[0] > 0.3 ? 3.0 : -1.0) * (x[0] - 0.3);
    r[1] = x[1] - 1.0;
    return SHV_OK;
}

static size_t asked; /* residuals of the last solve() */

static struct ls_point solve(struct shv_least_squares_problem *problem, const double *scale,
                             double x0, double x1, size_t steps)
{
    struct ls ls;
    struct ls_point p, trial;
    problem->loss_threshold = problem->loss_threshold > 0.0 ? problem->loss_threshold : INFINITY;
    squares_begin(&ls, problem, scale, steps);
    assert_true(ls_point_init(&p, &ls) && ls_point_init(&trial, &ls));
    p.z[0] = x0 / scale[0];
    p.z[1] = x1 / scale[1];
    assert_true(ls_cost(&ls, p.z, p.r, &p.cost) && ls_derive(&ls, &p));
    ls_steps(&ls, &p, &trial);
    struct ls_point found = p;
    asked = ls.evaluations;
    found.r = found.w = found.j = NULL;
    ls_point_free(&p);
    ls_point_free(&trial);
    squares_end(&ls);
    return found;
}

static struct shv_least_squares_problem
of(enum shv_status (*residual)(void *, size_t, const double *, double *), size_t residuals)
{
    return (struct shv_least_squares_problem){.parameters = 2,
                                              .residuals = residuals,
                                              .residual = residual,
                                              .lower = wide_low,
                                              .upper = wide_high};
}

static void a_line(void **state)
{
    (void)state;
    struct shv_least_squares_problem problem = of(line, 4);
    struct ls_point p = solve(&problem, one, -50.0, 30.0, 50);
    assert_true(p.found && p.cosine <= 1e-10);
    assert_within(p.z[0], 1.0, 1e-10);
    assert_within(p.z[1], 2.0, 1e-10);
    assert_within(p.cost, 0.5 * 4 * 0.01, 1e-12);
    static const double odd[] = {100.0, 1e-3}; /* scales change nothing */
    p = solve(&problem, odd, -50.0, 30.0, 50);
    assert_true(p.found);
    assert_within(p.z[0] * odd[0], 1.0, 1e-9);
    assert_within(p.z[1] * odd[1], 2.0, 1e-9);
}

static void a_valley(void **state)
{
    (void)state;
    struct shv_least_squares_problem problem = of(valley, 2);
    struct ls_point p = solve(&problem, one, -1.2, 1.0, 200);
    assert_true(p.found && p.cost < 1e-20);
    assert_within(p.z[0], 1.0, 1e-9);
    assert_within(p.z[1], 1.0, 1e-9);
    p = solve(&problem, one, -1.2, 1.0, 2); /* not there yet, and it says so */
    assert_true(!p.found && !p.kink && p.cost > 1e-3 && p.cost < 12.1);
    /* All that were counted as steps lower the cost. */
    double before = 12.1;
    for (size_t steps = 1; steps < 8; steps++) {
        struct ls_point q = solve(&problem, one, -1.2, 1.0, steps);
        assert_true(q.cost <= before);
        before = q.cost;
    }
}

/* The end of the steps, though its slope is not 0. */
static void a_kink(void **state)
{
    (void)state;
    struct shv_least_squares_problem problem = of(kinked, 2);
    struct ls_point p = solve(&problem, one, -1.0, 5.0, 200);
    assert_true(p.kink && !p.found && p.cosine > 0.1);
    assert_within(p.z[0], 0.3, 1e-6);
    p = solve(&problem, one, -1.0, 5.0, 1);
    assert_true(!p.kink && !p.found);
}

static void steps_that_would_run_away(void **state)
{
    (void)state;
    struct shv_least_squares_problem problem = of(bend, 2);
    struct ls_point p = solve(&problem, one, 8.0, 3.0, 200);
    assert_true(p.found);
    assert_within(p.z[0], 0.0, 1e-9);
    assert_within(p.z[1], 0.0, 1e-5);
}

/* With the slope held at 1.5 the level is the mean of y - 1.5 x: 4 - 2.25. */
static void a_bound(void **state)
{
    (void)state;
    static const double high[] = {1e3, 1.5}, low[] = {-1e3, 2.5};
    struct shv_least_squares_problem problem = of(line, 4);
    problem.upper = high;
    struct ls_point p = solve(&problem, one, -5.0, -3.0, 100);
    assert_true(p.found && p.held[1] && !p.held[0]);
    assert_true(p.z[1] == 1.5);
    assert_within(p.z[0], 1.75, 1e-9);
    problem.upper = wide_high;
    problem.lower = low;
    p = solve(&problem, one, -5.0, 30.0, 100);
    assert_true(p.found && p.held[1] && p.z[1] == 2.5);
    assert_within(p.z[0], 4.0 - 2.5 * 1.5, 1e-9);
}

/* A wild reading beyond the threshold pulls with the same force wherever it is. */
static enum shv_status wild(void *data, size_t worker, const double *x, double *r)
{
    (void)worker;
    r[0] = x[0] - 1.0;
    r[1] = x[0] - 1.2;
    r[2] = x[0] - 0.8;
    r[3] = x[0] - *(const double *)data;
    r[4] = x[1];
    return SHV_OK;
}

static void a_wild_reading(void **state)
{
    (void)state;
    for (double far = 50.0; far < 6000.0; far *= 100.0) {
        struct shv_least_squares_problem problem = of(wild, 5);
        problem.data = &far;
        problem.loss_threshold = 1.5;
        struct ls_point p = solve(&problem, one, 0.0, 1.0, 200);
        assert_true(p.found);
        assert_within(p.z[0], 1.0 + 1.5 / 3.0, 1e-8); /* 3 (x - 1) = 1.5 */
        /* From there a step is too short to be one: no dampings are tried, six and more of them. */
        struct ls_point again = solve(&problem, one, p.z[0], p.z[1], 200);
        assert_true(again.found && again.z[0] == p.z[0]);
        assert_in_range(asked, 1, 16);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line),
        cmocka_unit_test(a_valley),
        cmocka_unit_test(a_bound),
        cmocka_unit_test(a_kink),
        cmocka_unit_test(steps_that_would_run_away),
        cmocka_unit_test(a_wild_reading),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
