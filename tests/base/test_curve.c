/* Monotone cubics: slopes and values worked out by hand from docs/model.md, appendix A, and the
 * promises of the method on random data. */
#include "support/study_fixture.h"

#define MOST 12

static void make(struct shv_curve_table *t, size_t count, const double *x, const double *y)
{
    struct shv_message message = {""};
    assert_int_equal(shv_curve_table_init(t, count, x, y, &message), SHV_OK);
}

/* (0,0) (1,1) (2,4): d = 1, 3; inner slope 6/(3/1 + 3/3) = 1.5; ends (3*1 - 3)/2 = 0 and (3*3 -
 * 1)/2 = 4. */
static void even_points_by_hand(void **state)
{
    (void)state;
    struct shv_curve_table t;
    make(&t, 3, (const double[]){0.0, 1.0, 2.0}, (const double[]){0.0, 1.0, 4.0});
    assert_within(t.slope[0], 0.0, 1e-15);
    assert_within(t.slope[1], 1.5, 1e-15);
    assert_within(t.slope[2], 4.0, 1e-15);
    /* Hermite at the middle: (y0 + y1)/2 + h (m0 - m1)/8 */
    assert_within(shv_curve_table_at(&t, 0.5), 0.5 - 1.5 / 8.0, 1e-15);
    assert_within(shv_curve_table_at(&t, 1.5), 2.5 + (1.5 - 4.0) / 8.0, 1e-15);
    shv_curve_table_free(&t);
}

/* (0,0) (1,2) (3,3): d = 2, 0.5; inner 9/(5/2 + 4/0.5) = 6/7; ends (4*2 - 0.5)/3 = 2.5 and
 * (5*0.5 - 2*2)/3 < 0, which is set to 0. */
static void uneven_points_by_hand(void **state)
{
    (void)state;
    struct shv_curve_table t;
    make(&t, 3, (const double[]){0.0, 1.0, 3.0}, (const double[]){0.0, 2.0, 3.0});
    assert_within(t.slope[0], 2.5, 1e-15);
    assert_within(t.slope[1], 6.0 / 7.0, 1e-15);
    assert_within(t.slope[2], 0.0, 0.0);
    assert_within(shv_curve_table_at(&t, 2.0), 2.5 + 2.0 * (6.0 / 7.0) / 8.0, 1e-15);
    shv_curve_table_free(&t);
}

/* A top at a point: slope 0 there. (0,0) (1,1) (2,0): ends (3*1 + 1)/2 = 2. (0,0) (1,1) (2,-10):
 * the end formula gives 6.5, which is cut to 3 d = 3. */
static void top_and_end_cut_by_hand(void **state)
{
    (void)state;
    struct shv_curve_table t;
    make(&t, 3, (const double[]){0.0, 1.0, 2.0}, (const double[]){0.0, 1.0, 0.0});
    assert_within(t.slope[0], 2.0, 1e-15);
    assert_within(t.slope[1], 0.0, 0.0);
    assert_within(t.slope[2], -2.0, 1e-15);
    shv_curve_table_free(&t);
    make(&t, 3, (const double[]){0.0, 1.0, 2.0}, (const double[]){0.0, 1.0, -10.0});
    assert_within(t.slope[0], 3.0, 1e-15);
    shv_curve_table_free(&t);
}

/* The cubic of an interval is the curve as long as it says that it holds, and says so of no more.
 */
static void cubics_hold_where_they_say(void **state)
{
    (void)state;
    struct shv_curve_table t;
    make(&t, 4, (const double[]){1.0, 2.0, 4.0, 5.0}, (const double[]){0.0, 3.0, 4.0, 2.0});
    for (double x = 0.5; x < 5.6; x += 0.125) {
        struct shv_curve_cubic c;
        shv_curve_table_cubic(&t, x, &c);
        assert_true(c.least <= x && x < c.most);
        for (double z = fmax(c.least, 0.0); z < fmin(c.most, 6.0); z += 0.0625) {
            double s = (z - c.start) / c.width;
            double y = c.c0 + c.width * s * (c.c1 + s * (c.c2 + s * c.c3));
            assert_within(y, shv_curve_table_at(&t, z), 0.0);
        }
        assert_true(isinf(c.least) || c.least == 1.0 || c.least == 2.0 || c.least == 4.0 ||
                    c.least == 5.0);
    }
    shv_curve_table_free(&t);
}

static void one_point_is_constant_and_two_a_line(void **state)
{
    (void)state;
    struct shv_curve_table t;
    make(&t, 1, (const double[]){5.0}, (const double[]){7.0});
    assert_within(shv_curve_table_at(&t, -100.0), 7.0, 0.0);
    assert_within(shv_curve_table_at(&t, 100.0), 7.0, 0.0);
    shv_curve_table_free(&t);
    make(&t, 2, (const double[]){1.0, 5.0}, (const double[]){10.0, 2.0});
    for (double x = 1.0; x <= 5.0; x += 0.125) {
        assert_within(shv_curve_table_at(&t, x), 12.0 - 2.0 * x, 1e-14);
    }
    shv_curve_table_free(&t);
}

static void random_rising(uint64_t *seed, size_t count, double *x)
{
    x[0] = random_in(seed, -10.0, 10.0);
    for (size_t i = 1; i < count; i++) {
        x[i] = x[i - 1] + random_in(seed, 0.05, 3.0);
    }
}

static void exact_on_lines(void **state)
{
    (void)state;
    uint64_t seed = 21;
    for (int n = 0; n < 500; n++) {
        double x[MOST], y[MOST], slope = random_in(&seed, -5.0, 5.0);
        random_rising(&seed, MOST, x);
        for (size_t i = 0; i < MOST; i++) {
            y[i] = 3.0 + slope * x[i];
        }
        struct shv_curve_table t;
        make(&t, MOST, x, y);
        for (int k = 0; k < 40; k++) {
            double at = random_in(&seed, x[0], x[MOST - 1]);
            assert_within(shv_curve_table_at(&t, at), 3.0 + slope * at, 1e-11);
        }
        shv_curve_table_free(&t);
    }
}

/* Between two points the curve stays between their values and does not turn back. */
static void never_overshoots(void **state)
{
    (void)state;
    uint64_t seed = 22;
    for (int n = 0; n < 2000; n++) {
        double x[MOST], y[MOST];
        size_t count = 3 + (size_t)(random_next(&seed) % (MOST - 2));
        random_rising(&seed, count, x);
        for (size_t i = 0; i < count; i++) {
            y[i] = random_chance(&seed, 0.2) && i > 0 ? y[i - 1] : random_in(&seed, -1.0, 1.0);
        }
        struct shv_curve_table t;
        make(&t, count, x, y);
        for (size_t i = 0; i + 1 < count; i++) {
            double sign = y[i + 1] >= y[i] ? 1.0 : -1.0, last = y[i];
            for (int k = 1; k <= 50; k++) {
                double v = shv_curve_table_at(&t, x[i] + (x[i + 1] - x[i]) * k / 50.0);
                assert_true(sign * (v - last) >= -1e-14);
                assert_true(sign * (y[i + 1] - v) >= -1e-14);
                last = v;
            }
        }
        shv_curve_table_free(&t);
    }
}

/* Value and slope meet at the inner points. */
static void smooth_at_the_points(void **state)
{
    (void)state;
    uint64_t seed = 23;
    for (int n = 0; n < 500; n++) {
        double x[MOST], y[MOST], e = 1e-6;
        random_rising(&seed, MOST, x);
        for (size_t i = 0; i < MOST; i++) {
            y[i] = random_in(&seed, -1.0, 1.0);
        }
        struct shv_curve_table t;
        make(&t, MOST, x, y);
        for (size_t i = 1; i + 1 < MOST; i++) {
            double left = (shv_curve_table_at(&t, x[i]) - shv_curve_table_at(&t, x[i] - e)) / e;
            double right = (shv_curve_table_at(&t, x[i] + e) - shv_curve_table_at(&t, x[i])) / e;
            assert_within(shv_curve_table_at(&t, x[i]), y[i], 1e-15);
            assert_within(left, right, 0.05);
        }
        shv_curve_table_free(&t);
    }
}

static void ends_keep_their_value(void **state)
{
    (void)state;
    struct shv_curve_table t;
    make(&t, 3, (const double[]){0.0, 1.0, 3.0}, (const double[]){0.5, 2.0, 3.0});
    assert_same_bits(shv_curve_table_at(&t, -1e9), 0.5);
    assert_same_bits(shv_curve_table_at(&t, 0.0), 0.5);
    assert_same_bits(shv_curve_table_at(&t, 3.0), 3.0);
    assert_same_bits(shv_curve_table_at(&t, 1e9), 3.0);
    shv_curve_table_free(&t);
}

static void assert_refused(size_t count, const double *x, const double *y, const char *part)
{
    struct shv_curve_table t;
    struct shv_message message = {""};
    assert_int_equal(shv_curve_table_init(&t, count, x, y, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, part));
    assert_null(t.x);
    assert_int_equal(t.count, 0);
    shv_curve_table_free(&t);
}

static void bad_points_are_refused(void **state)
{
    (void)state;
    const double y[3] = {1.0, 2.0, 3.0};
    assert_refused(0, y, y, "at least one");
    assert_refused(3, (const double[]){1.0, 2.0, 2.0}, y, "must rise");
    assert_refused(3, (const double[]){1.0, 3.0, 2.0}, y, "must rise");
    assert_refused(3, (const double[]){1.0, NAN, 2.0}, y, "point 2");
    assert_refused(3, y, (const double[]){1.0, 2.0, INFINITY}, "point 3");
}

static void freeing_twice_does_nothing(void **state)
{
    (void)state;
    struct shv_curve_table t = {0};
    shv_curve_table_free(&t);
    make(&t, 2, (const double[]){0.0, 1.0}, (const double[]){0.0, 1.0});
    shv_curve_table_free(&t);
    shv_curve_table_free(&t);
    assert_null(t.y);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(even_points_by_hand),
        cmocka_unit_test(uneven_points_by_hand),
        cmocka_unit_test(top_and_end_cut_by_hand),
        cmocka_unit_test(cubics_hold_where_they_say),
        cmocka_unit_test(one_point_is_constant_and_two_a_line),
        cmocka_unit_test(exact_on_lines),
        cmocka_unit_test(never_overshoots),
        cmocka_unit_test(smooth_at_the_points),
        cmocka_unit_test(ends_keep_their_value),
        cmocka_unit_test(bad_points_are_refused),
        cmocka_unit_test(freeing_twice_does_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
