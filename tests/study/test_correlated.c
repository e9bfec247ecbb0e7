/* Normal numbers against published quantiles, correlation, cut and bounded distributions. */
#include "support/study_fixture.h"

#include "study/correlated.h"

/* Two-sided and one-sided points of the standard normal distribution as every table has them, e.g.
 * Abramowitz and Stegun 1964, tables 26.5 and 26.6; digits after the sixth from AS 241's own check
 * values (Wichura 1988): p = 0.25, 0.001, 1e-20. */
static void published_quantiles(void **state)
{
    (void)state;
    assert_within(normal_quantile(0.25), -0.6744897501960817, 1e-15);
    assert_within(normal_quantile(0.001), -3.090232306167814, 1e-14);
    assert_within(normal_quantile(1e-20), -9.262340089798408, 1e-13);
    assert_within(normal_quantile(0.975), 1.959964, 5e-7);
    assert_within(normal_quantile(0.95), 1.644854, 5e-7);
    assert_within(normal_quantile(0.995), 2.575829, 5e-7);
    assert_within(normal_quantile(0.5), 0.0, 0.0);
    assert_within(normal_share(1.0), 0.841344746068543, 1e-15);
    assert_within(normal_share(-3.0), 0.001349898031630095, 1e-16);
    assert_within(normal_share(9.0), 1.0, 0.0);
    assert_within(normal_share(-9.0), 0.0, 0.0);
}

static void quantile_and_share_are_inverse(void **state)
{
    (void)state;
    for (double p = 0.0005; p < 1.0; p += 0.001) {
        assert_within(normal_share(normal_quantile(p)), p, 1e-14);
        assert_within(normal_share(normal_quantile(p)), 0.5 * erfc(-normal_quantile(p) / sqrt(2.0)),
                      1e-14);
    }
}

static void none(struct shv_tolerance t[SHV_CORRECTION_COUNT])
{
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        t[i] = (struct shv_tolerance){.given = false};
    }
}

static void distributions(void **state)
{
    (void)state;
    struct shv_tolerance t[SHV_CORRECTION_COUNT];
    struct correlated c;
    none(t);
    t[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.1, NAN};
    t[SHV_CORRECT_CREEP] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.01};
    t[SHV_CORRECT_OCTANE] = (struct shv_tolerance){true, SHV_TRIANGULAR, NAN, 2.0};
    assert_true(correlated_init(&c, t, NULL, 0));
    assert_int_equal(c.count, 3);
    double sum[3] = {0}, squares[3] = {0}, d[3];
    const size_t n = 20001;
    for (size_t i = 0; i < n; i++) {
        double u = ((double)i + 0.5) / (double)n, all[3] = {u, u, u};
        correlated_draw(&c, t, all, d);
        for (size_t k = 0; k < 3; k++) {
            sum[k] += d[k];
            squares[k] += d[k] * d[k];
        }
    }
    for (size_t k = 0; k < 3; k++) {
        double deviation = shv_tolerance_deviation(&t[c.which[k]]);
        assert_within(sum[k] / (double)n, 0.0, 1e-6);
        assert_relative(sqrt(squares[k] / (double)n), deviation, 1e-3);
    }
    /* cut and bounded */
    double ends[3] = {1e-9, 1.0 - 1e-12, 1e-12};
    correlated_draw(&c, t, ends, d);
    assert_within(d[0], -0.4, 1e-15);
    assert_within(d[1], 0.01, 1e-12);
    assert_within(d[2], -2.0, 1e-5);
}

static void correlation_comes_out(void **state)
{
    (void)state;
    struct shv_tolerance t[SHV_CORRECTION_COUNT];
    struct correlated c;
    none(t);
    t[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.1, NAN};
    t[SHV_CORRECT_FRICTION] = (struct shv_tolerance){true, SHV_NORMAL, 0.2, NAN};
    t[SHV_CORRECT_OCTANE] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 1.0};
    const struct shv_correlation pairs[] = {{SHV_CORRECT_LEAKAGE, SHV_CORRECT_FRICTION, 0.4},
                                            {SHV_CORRECT_OCTANE, SHV_CORRECT_LEAKAGE, -0.7}};
    assert_true(correlated_init(&c, t, pairs, 2));
    double xy = 0.0, xx = 0.0, yy = 0.0, zz = 0.0, xz = 0.0, d[3];
    uint64_t random = 5;
    for (size_t i = 0; i < 40000; i++) {
        double u[3];
        for (size_t k = 0; k < 3; k++) {
            u[k] = random_in(&random, 1e-9, 1.0 - 1e-9);
        }
        correlated_draw(&c, t, u, d);
        xy += d[0] * d[1];
        xx += d[0] * d[0];
        yy += d[1] * d[1];
        zz += d[2] * d[2];
        xz += d[0] * d[2];
        assert_true(fabs(d[2]) <= 1.0);
    }
    assert_within(xy / sqrt(xx * yy), 0.4, 0.015);
    assert_within(sqrt(zz / 40000.0), 1.0 / sqrt(3.0), 0.01);
    /* of a normal and a uniform number: rho sqrt(3/pi) */
    assert_within(xz / sqrt(xx * zz), -0.7 * sqrt(3.0 / MADE_PI), 0.015);
}

static void impossible(void **state)
{
    (void)state;
    struct shv_tolerance t[SHV_CORRECTION_COUNT];
    struct correlated c;
    none(t);
    t[0] = t[1] = t[2] = (struct shv_tolerance){true, SHV_NORMAL, 0.1, NAN};
    const struct shv_correlation pairs[] = {{0, 1, 0.9}, {1, 2, 0.9}, {0, 2, -0.9}};
    assert_false(correlated_init(&c, t, pairs, 3));
    assert_true(correlated_init(&c, t, pairs, 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_quantiles), cmocka_unit_test(quantile_and_share_are_inverse),
        cmocka_unit_test(distributions), cmocka_unit_test(correlation_comes_out),
        cmocka_unit_test(impossible)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
