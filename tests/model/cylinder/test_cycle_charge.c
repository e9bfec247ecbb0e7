/* Geometry, Wiebe, Woschni and the state at inlet closing, by hand. */
#include "support/wall_heat.h"
#include "model/cylinder/cycle_internal.h"
#include "support/cycle_fixture.h"

static void sine_and_cosine(void **state)
{
    (void)state;
    for (double a = -400.0; a <= 400.0; a += 0.37) {
        double s, c;
        cycle_sin_cos(a, &s, &c);
        assert_within(s, sin(a * CYCLE_DEGREE), 1e-15);
        assert_within(c, cos(a * CYCLE_DEGREE), 1e-15);
    }
    double s, c;
    cycle_sin_cos(180.0, &s, &c);
    assert_within(s, 0.0, 0.0);
    assert_within(c, -1.0, 0.0);
}

static void volume(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    double swept = 0.25 * CYCLE_PI * 0.086 * 0.086 * 0.086, clearance = swept / 9.0;
    assert_relative(volume_at(&u.engine, 0.0), clearance, 1e-14);
    assert_relative(volume_at(&u.engine, 180.0), clearance + swept, 1e-14);
    assert_relative(volume_at(&u.engine, -180.0), clearance + swept, 1e-14);
    /* At 90 degrees: way = a (1 + l - sqrt(l^2 - 1)) */
    double way = 0.043 * (1.0 + 3.4 - sqrt(3.4 * 3.4 - 1.0));
    assert_relative(volume_at(&u.engine, 90.0), clearance + swept * way / 0.086, 1e-14);
    for (double a = -179.0; a < 180.0; a += 7.0) {
        double slope = (volume_at(&u.engine, a + 1e-3) - volume_at(&u.engine, a - 1e-3)) / 2e-3;
        assert_within(cycle_place_at(&u.engine, clearance, a).volume_slope, slope, 1e-14);
    }
    /* A very long rod: harmonic motion. */
    u.engine.rod_ratio = 1e9;
    assert_relative(volume_at(&u.engine, 60.0), clearance + 0.25 * swept, 1e-8);
}

static void wiebe_and_woschni(void **state)
{
    (void)state;
    for (double s = 0.0; s <= 1.0; s += 0.125) {
        assert_within(shv_cycle_wiebe(s, 5.0, 2.0), 1.0 - exp(-5.0 * s * s * s), 1e-15);
    }
    assert_within(shv_cycle_wiebe(-1.0, 5.0, 2.0), 0.0, 0.0);
    assert_relative(coefficient(0.1, 2e6, 1200.0, 20.0),
                    3.26 * pow(0.1, -0.2) * pow(2000.0, 0.8) * pow(1200.0, -0.55) * pow(20.0, 0.8),
                    1e-13);
}

static struct cycle prepared(const struct cycle_case *u)
{
    struct cycle c;
    struct cycle_inputs in = {&u->engine, &u->fuel, &u->knock, &u->at};
    cycle_prepare(&c, &in);
    return c;
}

static void half_is_burned_at_ca50(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.engine.wiebe_a = 3.0;
    u.engine.wiebe_m = 1.6;
    struct cycle c = prepared(&u);
    double all = shv_cycle_wiebe(1.0, 3.0, 1.6);
    assert_relative(shv_cycle_wiebe(c.half_share, 3.0, 1.6) / all, 0.5, 1e-14);
    assert_relative(shv_cycle_wiebe(c.watched_share, 3.0, 1.6) / all, 0.95, 1e-14);
    u.at.speed = 2.0 * u.engine.burn_reference_speed;
    assert_relative(prepared(&u).duration, 60.0 * pow(2.0, 0.2), 1e-13);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sine_and_cosine),
        cmocka_unit_test(volume),
        cmocka_unit_test(wiebe_and_woschni),
        cmocka_unit_test(half_is_burned_at_ca50),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
