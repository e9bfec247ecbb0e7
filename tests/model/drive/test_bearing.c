/* Bearing life and the statics of an overhung hub. */
#include "support/study_fixture.h"
#include "model/drive/bearing.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* Half the load: 8 times the life with balls, 2^(10/3) with rollers. */
static void life_by_hand(void **state)
{
    (void)state;
    assert_relative(shv_bearing_life(SHV_BEARING_BALL, 9000.0, 9000.0), 1e6, 1e-14);
    assert_relative(shv_bearing_life(SHV_BEARING_BALL, 9000.0, 4500.0), 8e6, 1e-14);
    assert_relative(shv_bearing_life(SHV_BEARING_ROLLER, 9000.0, 4500.0), 8e6 * cbrt(2.0), 1e-14);
    assert_true(isinf(shv_bearing_life(SHV_BEARING_BALL, 9000.0, 0.0)));
    assert_true(isinf(shv_bearing_life(SHV_BEARING_BALL, 9000.0, 1e-300)));
}

/* 1 kN at 100 rev/s, rating 10 kN: 1e9 turns take 1e7 s. */
static void one_part(void **state)
{
    (void)state;
    static const struct shv_bearing_part part = {1.0, 100.0, 1000.0};
    struct shv_bearing_duty d = shv_bearing_over(SHV_BEARING_BALL, 10e3, 1, &part);
    assert_relative(d.mean_load, 1000.0, 1e-14);
    assert_relative(d.mean_speed, 100.0, 1e-15);
    assert_relative(d.revolutions, 1e9, 1e-13);
    assert_relative(d.hours, 1e7 / 3600.0, 1e-13);
}

/* Palmgren and Miner, counted in time: an hour of the duty uses up share / hours of each part. */
static void damage_adds_up(void **state)
{
    (void)state;
    static const struct shv_bearing_part parts[] = {
        {0.6, 50.0, 300.0}, {0.3, 120.0, 700.0}, {0.1, 230.0, 1500.0}};
    for (int type = SHV_BEARING_BALL; type <= SHV_BEARING_ROLLER; type++) {
        double p = type == SHV_BEARING_BALL ? 3.0 : 10.0 / 3.0, used = 0.0;
        for (size_t i = 0; i < COUNT(parts); i++) {
            double hours = 1e6 * pow(8000.0 / parts[i].load, p) / parts[i].speed / 3600.0;
            used += parts[i].share / hours;
        }
        struct shv_bearing_duty d =
            shv_bearing_over((enum shv_bearing_type)type, 8000.0, COUNT(parts), parts);
        assert_relative(d.hours, 1.0 / used, 1e-12);
        assert_true(d.mean_load > 300.0 && d.mean_load < 1500.0);
    }
}

/* A part cut in two, or a part of no time, changes nothing; standing still only stretches time. */
static void parts_that_do_not_matter(void **state)
{
    (void)state;
    static const struct shv_bearing_part whole[] = {{0.6, 50.0, 300.0}, {0.4, 120.0, 700.0}};
    static const struct shv_bearing_part cut[] = {
        {0.6, 50.0, 300.0}, {0.3, 120.0, 700.0}, {0.1, 120.0, 700.0}, {0.0, 400.0, 9000.0}};
    static const struct shv_bearing_part half[] = {
        {0.3, 50.0, 300.0}, {0.2, 120.0, 700.0}, {0.5, 0.0, 9000.0}};
    double hours = shv_bearing_over(SHV_BEARING_BALL, 8000.0, 2, whole).hours;
    assert_relative(shv_bearing_over(SHV_BEARING_BALL, 8000.0, 4, cut).hours, hours, 1e-12);
    assert_relative(shv_bearing_over(SHV_BEARING_BALL, 8000.0, 3, half).hours, 2.0 * hours, 1e-12);
}

static void no_load(void **state)
{
    (void)state;
    static const struct shv_bearing_part idle[] = {{0.5, 50.0, 0.0}, {0.5, 0.0, 700.0}};
    struct shv_bearing_duty d = shv_bearing_over(SHV_BEARING_BALL, 8000.0, 2, idle);
    assert_within(d.mean_load, 0.0, 0.0);
    assert_true(isinf(d.hours) && isinf(d.revolutions));
    static const struct shv_bearing_part unloaded = {1.0, 50.0, 0.0};
    assert_true(isinf(shv_bearing_over(SHV_BEARING_BALL, 8000.0, 1, &unloaded).hours));
}

/* Forces and moments about either bearing are in balance. */
static void overhung(void **state)
{
    (void)state;
    size_t compared = 0;
    for (double overhang = -0.06; overhang < 0.1; overhang += 0.01) {
        struct shv_bearing_pair p = shv_bearing_overhung(900.0, overhang, 0.06);
        assert_within(p.near + p.far, 900.0, 1e-11);
        assert_within(p.far * 0.06, -900.0 * overhang, 1e-11);
        compared++;
    }
    assert_true(compared >= 16);
    /* overhang half the span: one and a half, and half the other way */
    struct shv_bearing_pair p = shv_bearing_overhung(1000.0, 0.03, 0.06);
    assert_relative(p.near, 1500.0, 1e-14);
    assert_relative(p.far, -500.0, 1e-14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(life_by_hand),   cmocka_unit_test(one_part),
        cmocka_unit_test(damage_adds_up), cmocka_unit_test(parts_that_do_not_matter),
        cmocka_unit_test(no_load),        cmocka_unit_test(overhung),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
