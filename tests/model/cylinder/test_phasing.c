/* Knock: direction of each influence, and the phasing that holds the limit. */
#include "support/cycle_fixture.h"

static double integral(const struct cycle_case *u)
{
    return run_case(u).knock_integral;
}

static void integral_follows_its_causes(void **state)
{
    (void)state;
    struct cycle_case u = usual_case(), v;
    double base = integral(&u);
    for (double k = 1.02; k < 1.6; k += 0.1) {
        v = u, v.pressure *= k;
        assert_less(base, integral(&v));
        v = u, v.at.charge_temperature *= k;
        assert_less(base, integral(&v));
        v = u, v.at.speed *= k;
        assert_less(integral(&v), base);
        v = u, v.at.exhaust_pressure *= k;
        assert_less(base, integral(&v));
        v = u, v.engine.compression_ratio *= k;
        assert_less(base, integral(&v));
        v = u, v.at.ca50 += 10.0 * k;
        assert_less(integral(&v), base);
        v = u, v.fuel.ron *= 1.0 + 0.2 * (k - 1.0);
        assert_less(integral(&v), base);
    }
}

static struct cycle_case boosted(void)
{
    struct cycle_case u = usual_case();
    u.pressure = 150e3;
    u.at.charge_temperature = 330.0;
    return u;
}

static void limit_holds_the_integral(void **state)
{
    (void)state;
    for (double margin = 0.0; margin < 0.5; margin += 0.1) {
        struct cycle_case u = boosted();
        u.knock.margin = margin;
        struct shv_cycle_result r = limit_case(&u);
        assert_int_equal(r.outcome, SHV_CYCLE_DONE);
        assert_within(r.knock_integral, 1.0 - margin, 3e-9);
        assert_true(r.knock_integral <= 1.0 - margin);
        assert_true(r.ca50 > 8.0 && r.ca50 < 40.0);
        /* The earliest: a shade earlier is over the limit. */
        u.at.ca50 = r.ca50 - 1e-4;
        assert_true(integral(&u) > 1.0 - margin);
        /* And it is the cycle at that phasing. */
        u.at.ca50 = r.ca50;
        assert_relative(run_case(&u).gross_work, r.gross_work, 1e-9);
    }
}

static double limit(const struct cycle_case *u)
{
    struct shv_cycle_result r = limit_case(u);
    assert_int_equal(r.outcome, SHV_CYCLE_DONE);
    return r.ca50;
}

static void limit_follows_its_causes(void **state)
{
    (void)state;
    struct cycle_case u = boosted(), v;
    double last_p = 0.0, last_t = 0.0, last_ron = 90.0, last_speed = 90.0;
    for (int i = 0; i < 6; i++) {
        v = u, v.pressure = 120e3 + 10e3 * i;
        assert_less(last_p, limit(&v));
        last_p = limit(&v);
        v = u, v.at.charge_temperature = 310.0 + 10.0 * i;
        assert_less(last_t, limit(&v));
        last_t = limit(&v);
        v = u, v.fuel.ron = 91.0 + 2.0 * i;
        assert_less(limit(&v), last_ron);
        last_ron = limit(&v);
        v = u, v.at.speed = 40.0 + 10.0 * i;
        assert_less(limit(&v), last_speed);
        last_speed = limit(&v);
    }
}

static void without_knock_phasing_is_best(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.pressure = 60e3;
    struct shv_cycle_result r = limit_case(&u);
    assert_int_equal(r.outcome, SHV_CYCLE_DONE);
    assert_within(r.ca50, 8.0, 0.0);
    assert_less(r.knock_integral, 0.75);
    u.at.ca50 = 8.0;
    assert_within(run_case(&u).gross_work, r.gross_work, 0.0);
}

static void knocks_whatever_the_ignition(void **state)
{
    (void)state;
    struct cycle_case u = boosted();
    u.pressure = 300e3;
    u.at.charge_temperature = 400.0;
    struct shv_cycle_result r = limit_case(&u);
    assert_int_equal(r.outcome, SHV_CYCLE_KNOCK_LIMITED);
    assert_within(r.ca50, 40.0, 0.0);
    assert_less(0.75, r.knock_integral);
    assert_less(0.0, r.gross_efficiency);
}

/* At the earliest phasing that keeps the pressure, a shade below it; nothing moves where it is
 * kept, and where compression alone is above, the last phasing is all there is. */
static void gives_way_to_pressure(void **state)
{
    (void)state;
    struct cycle_case u = boosted();
    struct shv_cycle_result r;
    u.at.ca50 = 9.0;
    double free_peak = run_case(&u).peak_pressure;
    for (double share = 0.95; share > 0.6; share -= 0.1) {
        double most = share * free_peak;
        struct cycle_case v = u;
        v.at = drawn_case(&u);
        assert_int_equal(
            shv_cycle_pressure_limit(&v.engine, &v.fuel, &v.knock, &v.at, most, &r, NULL), SHV_OK);
        assert_int_equal(r.outcome, SHV_CYCLE_DONE);
        assert_true(r.peak_pressure <= most && r.peak_pressure > most * (1.0 - 2e-8));
        assert_true(r.ca50 > 9.0 && r.ca50 < 40.0);
        v = u, v.at.ca50 = r.ca50;
        assert_relative(run_case(&v).gross_work, r.gross_work, 1e-9);
    }
    struct cycle_case v = u;
    v.at = drawn_case(&u);
    assert_int_equal(
        shv_cycle_pressure_limit(&v.engine, &v.fuel, &v.knock, &v.at, 1.01 * free_peak, &r, NULL),
        SHV_OK);
    assert_true(r.ca50 == 9.0);
    assert_int_equal(shv_cycle_pressure_limit(&v.engine, &v.fuel, &v.knock, &v.at, 10e5, &r, NULL),
                     SHV_OK);
    assert_true(r.ca50 == 40.0 && r.peak_pressure > 10e5);
}

static void no_answer_is_an_outcome(void **state)
{
    (void)state;
    struct cycle_case u = boosted();
    u.fuel.heating_value = 150e6;
    assert_int_equal(limit_case(&u).outcome, SHV_CYCLE_NO_ANSWER);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(integral_follows_its_causes),
        cmocka_unit_test(limit_holds_the_integral),
        cmocka_unit_test(limit_follows_its_causes),
        cmocka_unit_test(without_knock_phasing_is_best),
        cmocka_unit_test(knocks_whatever_the_ignition),
        cmocka_unit_test(gives_way_to_pressure),
        cmocka_unit_test(no_answer_is_an_outcome),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
