/* One point of a least-squares problem: cost with and without the robust loss, priors, derivatives
 * on both sides, at bounds and next to where there is no answer. */
#include "support/small_squares.h"

static const double scale[] = {2.0, 0.5}, low[] = {-4.0, -3.0}, high[] = {4.0, 3.0};

/* r = (x0^2 - 3, x0 x1, 5 x1 - 10): derivatives 2 x0, 0; x1, x0; 0, 5. No answer for x0 > wall. */
static double wall;
static enum shv_status failure;
static enum shv_status residual(void *data, size_t worker, const double *x, double *r)
{
    (void)data, (void)worker;
    r[0] = x[0] * x[0] - 3.0;
    r[1] = x[0] * x[1];
    r[2] = 5.0 * x[1] - 10.0;
    return failure != SHV_OK ? failure : x[0] > wall ? SHV_NOTHING : SHV_OK;
}

static bool jacobian(void *data, const double *x, double *j)
{
    (void)data;
    const double all[] = {2.0 * x[0], 0.0, x[1], x[0], 0.0, 5.0};
    memcpy(j, all, sizeof all);
    return true;
}

static struct shv_least_squares_problem problem;
static struct ls ls;
static struct ls_point p;

static int begin(void **state)
{
    (void)state;
    wall = 1e9;
    failure = SHV_OK;
    problem = (struct shv_least_squares_problem){.parameters = 2,
                                                 .residuals = 3,
                                                 .residual = residual,
                                                 .lower = low,
                                                 .upper = high,
                                                 .loss_threshold = INFINITY};
    squares_begin(&ls, &problem, scale, 10);
    assert_true(ls_point_init(&p, &ls));
    return 0;
}

static int end(void **state)
{
    (void)state;
    ls_point_free(&p);
    assert_true(!p.r && !p.w && !p.j);
    squares_end(&ls);
    return 0;
}

static void at(double x0, double x1)
{
    p.z[0] = x0 / scale[0];
    p.z[1] = x1 / scale[1];
}

static void cost_and_priors(void **state)
{
    (void)state;
    at(1.0, 1.5); /* r = -2, 1.5, -2.5 */
    assert_true(ls_cost(&ls, p.z, p.r, &p.cost));
    assert_within(p.cost, 0.5 * (4.0 + 2.25 + 6.25), 1e-12);
    assert_true(p.r[3] == 0.0 && p.r[4] == 0.0);
    problem.loss_threshold = 2.0; /* of 2 it is both: only 2.5 lies beyond, 2 (2.5 - 1) */
    assert_true(ls_cost(&ls, p.z, p.r, &p.cost));
    assert_within(p.cost, 0.5 * (4.0 + 2.25) + 3.0, 1e-12);
    static const double mean[] = {3.0, 0.0}, deviation[] = {0.5, INFINITY};
    problem.prior_mean = mean;
    problem.prior_deviation = deviation;
    assert_true(ls_cost(&ls, p.z, p.r, &p.cost));
    assert_within(p.r[3], (1.0 - 3.0) / 0.5, 1e-12);
    assert_true(p.r[4] == 0.0);
    assert_within(p.cost, 0.5 * (4.0 + 2.25 + 16.0) + 3.0, 1e-12);
    assert_int_equal(ls.evaluations, 3);
}

/* A bound is met to the bit, and outside it the model is never asked. */
static void bounds_are_kept(void **state)
{
    (void)state;
    p.z[0] = 2.5;
    p.z[1] = -60.0;
    assert_true(ls_cost(&ls, p.z, p.r, &p.cost));
    assert_true(p.r[0] == 13.0 && p.r[1] == -12.0 && p.r[2] == -25.0);
}

static void no_answer_is_no_cost(void **state)
{
    (void)state;
    wall = 0.5;
    at(1.0, 1.0);
    assert_false(ls_cost(&ls, p.z, p.r, &p.cost));
    assert_true(isinf(p.cost) && ls.status == SHV_OK);
    failure = SHV_NO_MEMORY; /* not the model's doing */
    assert_false(ls_cost(&ls, p.z, p.r, &p.cost));
    assert_int_equal(ls.status, SHV_NO_MEMORY);
}

static void derive(double x0, double x1)
{
    at(x0, x1);
    assert_true(ls_cost(&ls, p.z, p.r, &p.cost));
    assert_true(ls_derive(&ls, &p));
}

/* Against the derivatives by hand, in scales. */
static void assert_derivatives(double x0, double x1, double tolerance)
{
    const double expected[] = {2.0 * x0 * scale[0], 0.0, x1 * scale[0],
                               x0 * scale[1],       0.0, 5.0 * scale[1]};
    for (size_t i = 0; i < 6; i++) {
        assert_within(p.j[i], expected[i], tolerance);
    }
}

static void derivatives(void **state)
{
    (void)state;
    size_t before = ls.evaluations;
    derive(1.0, 1.5);
    assert_int_equal(ls.evaluations - before, 1 + 4);
    assert_derivatives(1.0, 1.5, 1e-10);
    derive(4.0, -3.0); /* at two bounds both points lie inside; a parabola is still exact */
    assert_derivatives(4.0, -3.0, 1e-9);
    derive(-4.0, 3.0);
    assert_derivatives(-4.0, 3.0, 1e-9);
    /* With the wall in between one side has to do: the error of a one-sided step of 1e-4 is half
     * the second derivative, 2 scale^2, times it. */
    wall = 1.0;
    derive(1.0, 1.5);
    assert_derivatives(1.0, 1.5, 4.1e-4);
    assert_within(p.j[0], 4.0 - 4e-4, 1e-8);
    wall = 1.0 - 1.9e-4;
    at(1.0, 1.5);
    assert_false(ls_derive(&ls, &p)); /* no side */
    wall = 1e9;
    failure = SHV_IO;
    assert_false(ls_derive(&ls, &p));
    assert_int_equal(ls.status, SHV_IO);
}

static void derivatives_that_are_given(void **state)
{
    (void)state;
    problem.jacobian = jacobian;
    size_t before = ls.evaluations;
    derive(1.0, 1.5);
    assert_int_equal(ls.evaluations - before, 2);
    assert_derivatives(1.0, 1.5, 1e-14);
}

static void gradient_weights_and_what_is_held(void **state)
{
    (void)state;
    static const double mean[] = {3.0, 0.0}, deviation[] = {0.5, INFINITY};
    problem.prior_mean = mean;
    problem.prior_deviation = deviation;
    problem.loss_threshold = 2.0;
    derive(1.0, 1.5); /* r = -2, 1.5, -2.5 of weight 0.8, prior -4 */
    const double weights[] = {1.0, 1.0, 0.8, 1.0, 1.0};
    for (size_t i = 0; i < 5; i++) {
        assert_within(p.w[i], weights[i], 1e-12);
    }
    /* Priors: derivative scale / deviation, 0 where there is none. */
    assert_within(p.j[3 * 2], 4.0, 1e-12);
    assert_true(p.j[3 * 2 + 1] == 0.0 && p.j[4 * 2] == 0.0 && p.j[4 * 2 + 1] == 0.0);
    /* g0 = 4 (-2) + 3 (1.5) + 4 (-4); g1 = 0.5 (1.5) + 2.5 (0.8) (-2.5) */
    assert_within(p.g[0], -8.0 + 4.5 - 16.0, 1e-8);
    assert_within(p.g[1], 0.75 - 5.0, 1e-8);
    double norm = sqrt(4.0 + 2.25 + 0.8 * 6.25 + 16.0);
    double first = 19.5 / (sqrt(16.0 + 9.0 + 16.0) * norm);
    double second = 4.25 / (sqrt(0.25 + 0.8 * 6.25) * norm);
    assert_within(p.cosine, fmax(first, second), 1e-8);
    assert_true(!p.held[0] && !p.held[1]);
    problem.prior_deviation = NULL;
    derive(4.0, 3.0); /* both gradients push inside */
    assert_true(p.g[0] > 0.0 && p.g[1] > 0.0 && !p.held[0] && !p.held[1]);
    derive(4.0,
           -3.0); /* g1 = x0 r1 + 5 r2 < 0 at the low bound: inside; g0 > 0 at the high: inside */
    assert_true(p.g[1] < 0.0 && !p.held[1]);
    static const double other[] = {1.2, 0.4}, there[] = {-4.0, 0.0};
    problem.upper = other; /* 1.2^2 is below 3, and 5 x1 below 10: both want more */
    problem.lower = there;
    for (size_t k = 0; k < 2; k++) {
        ls.low[k] = there[k] / scale[k];
        ls.high[k] = other[k] / scale[k];
    }
    derive(1.2, 0.4);
    assert_true(p.held[0] && p.held[1] && p.cosine == 0.0);
    derive(1.2, 0.0); /* at the low bound it would rise */
    assert_true(p.held[0] && !p.held[1] && p.cosine > 0.0);
}

static void a_copy_has_rooms_of_its_own(void **state)
{
    (void)state;
    struct ls_point to;
    assert_true(ls_point_init(&to, &ls));
    assert_true(isinf(to.cost) && isinf(to.cosine));
    derive(1.0, 1.5);
    p.found = true;
    ls_point_copy(&ls, &to, &p);
    assert_true(to.r != p.r && to.w != p.w && to.j != p.j);
    assert_memory_equal(to.r, p.r, 5 * sizeof *p.r);
    assert_memory_equal(to.w, p.w, 5 * sizeof *p.w);
    assert_memory_equal(to.j, p.j, 10 * sizeof *p.j);
    assert_true(to.cost == p.cost && to.cosine == p.cosine && to.found && to.z[1] == p.z[1]);
    ls_point_free(&to);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(cost_and_priors),
        TEST(bounds_are_kept),
        TEST(no_answer_is_no_cost),
        TEST(derivatives),
        TEST(derivatives_that_are_given),
        TEST(gradient_weights_and_what_is_held),
        TEST(a_copy_has_rooms_of_its_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
