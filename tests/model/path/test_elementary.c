/* Logarithm, exponential and power against libm in long double, over far more than the range used.
 */
#include "support/study_fixture.h"

#include "model/path/elementary.h"

#define SAMPLES 1000000

/* Distance in units of the last place of the exact value. */
static double units_off(double value, long double exact)
{
    int exponent;
    (void)frexpl(exact, &exponent);
    return (double)fabsl(((long double)value - exact) / ldexpl(1.0L, exponent - 53));
}

static double worst_of(double worst, double now)
{
    return now > worst || isnan(now) ? now : worst;
}

/* A random double with an exponent from the whole range of normal numbers. */
static double any_positive(uint64_t *seed)
{
    double x = ldexp(random_in(seed, 1.0, 2.0), (int)(random_next(seed) % 2046u) - 1022);
    return x;
}

static void logarithm_of_all_normal_numbers(void **state)
{
    (void)state;
    uint64_t seed = 1;
    double worst = 0.0;
    for (int i = 0; i < SAMPLES; i++) {
        double x = any_positive(&seed);
        worst = worst_of(worst, units_off(shv_log(x), logl(x)));
    }
    assert_true(worst < 2.0);
}

/* Where the result is small and digits are lost most easily. */
static void logarithm_near_one(void **state)
{
    (void)state;
    uint64_t seed = 2;
    double worst = 0.0;
    for (int i = 0; i < SAMPLES; i++) {
        double x = random_in(&seed, 0.5, 2.0);
        double close = 1.0 + (x - 1.0) * pow(10.0, random_in(&seed, -15.0, 0.0));
        worst = worst_of(worst, units_off(shv_log(x), logl(x)));
        if (close != 1.0) {
            worst = worst_of(worst, units_off(shv_log(close), logl(close)));
        }
    }
    assert_true(worst < 2.0);
}

static void exponential_over_its_range(void **state)
{
    (void)state;
    uint64_t seed = 3;
    double worst = 0.0;
    for (int i = 0; i < SAMPLES; i++) {
        double x = random_in(&seed, -700.0, 700.0);
        double small = random_in(&seed, -1.0, 1.0);
        worst = worst_of(worst, units_off(shv_exp(x), expl(x)));
        worst = worst_of(worst, units_off(shv_exp(small), expl(small)));
    }
    assert_true(worst < 2.0);
}

static void exponential_holds_its_ends(void **state)
{
    (void)state;
    assert_same_bits(shv_exp(1e4), shv_exp(700.0));
    assert_same_bits(shv_exp(-INFINITY), shv_exp(-700.0));
    assert_true(shv_exp(700.0) < INFINITY && shv_exp(-700.0) > 0.0);
}

/* The error of y ln x, an absolute one in the exponent, comes on top of that of the exponential. */
static void power(void **state)
{
    (void)state;
    uint64_t seed = 4;
    for (int i = 0; i < SAMPLES; i++) {
        double x = exp(random_in(&seed, -7.0, 7.0)), y = random_in(&seed, -6.0, 6.0);
        double allowed = 2.0 + 2.0 * fabs(y * log(x));
        if (!(units_off(shv_pow(x, y), powl(x, y)) < allowed)) {
            fail_msg("%.17g ^ %.17g = %.17g", x, y, shv_pow(x, y));
        }
    }
}

/* Both cancel rounding against a logarithm of the same rounded number: all digits down to where the
 * function is its argument. */
static void near_zero(void **state)
{
    (void)state;
    uint64_t seed = 6;
    for (int i = 0; i < SAMPLES; i++) {
        double x = exp(random_in(&seed, -45.0, -0.05)) * (i % 2 == 0 ? 1.0 : -1.0);
        if (!(units_off(shv_log1p(x), log1pl(x)) < 8.0)) {
            fail_msg("log(1 + %.17g) = %.17g", x, shv_log1p(x));
        }
        if (!(units_off(shv_expm1(x), expm1l(x)) < 8.0)) {
            fail_msg("exp(%.17g) - 1 = %.17g", x, shv_expm1(x));
        }
    }
    assert_same_bits(shv_log1p(0.0), 0.0);
    assert_same_bits(shv_expm1(1e-300), 1e-300);
}

static void exact_values(void **state)
{
    (void)state;
    assert_same_bits(shv_log(1.0), 0.0);
    assert_same_bits(shv_exp(0.0), 1.0);
    assert_same_bits(shv_pow(1.0, 3.7), 1.0);
    assert_same_bits(shv_pow(5.3, 0.0), 1.0);
    assert_within(shv_log(0x1p-1022), -1022.0 * log(2.0), 1e-12);
}

/* The nested solver counts on rising functions: no step back from one double to the next. */
static void neither_steps_back(void **state)
{
    (void)state;
    uint64_t seed = 5;
    for (int i = 0; i < SAMPLES; i++) {
        double x = exp(random_in(&seed, -3.0, 3.0));
        double y = x * (1.0 + 1e-14);
        assert_true(shv_log(y) >= shv_log(x));
        assert_true(shv_exp(y) >= shv_exp(x));
    }
}

static void selections(void **state)
{
    (void)state;
    assert_same_bits(shv_min(1.0, 2.0), 1.0);
    assert_same_bits(shv_min(2.0, 1.0), 1.0);
    assert_same_bits(shv_max(1.0, 2.0), 2.0);
    assert_same_bits(shv_max(2.0, 1.0), 2.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(logarithm_of_all_normal_numbers),
        cmocka_unit_test(logarithm_near_one),
        cmocka_unit_test(exponential_over_its_range),
        cmocka_unit_test(exponential_holds_its_ends),
        cmocka_unit_test(power),
        cmocka_unit_test(near_zero),
        cmocka_unit_test(exact_values),
        cmocka_unit_test(neither_steps_back),
        cmocka_unit_test(selections),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
