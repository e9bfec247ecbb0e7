/* The coolant loop as one heat capacity: its differential equation, limits, inverses. */
#include "support/study_fixture.h"

#include "sheave/soak.h"

/* Invented: 8 L of water and 5 kg of aluminium, 400 W/K at the radiator, full throttle 20 kW. */
static struct shv_soak_loop made_loop(void)
{
    return (struct shv_soak_loop){.capacity = 38e3,
                                  .resistance = 1.0 / 400.0,
                                  .source = 303.15,
                                  .heat = 20e3,
                                  .conductance = 0.0,
                                  .hot = NAN};
}

/* The same load from charge at 430 K. */
static struct shv_soak_loop falling_loop(void)
{
    struct shv_soak_loop l = made_loop();
    l.heat = 0.0;
    l.conductance = 160.0;
    l.hot = 430.0;
    return l;
}

static struct shv_soak_state at(const struct shv_soak_loop *l, double start, double time)
{
    struct shv_soak_state s;
    struct shv_message message = {""};
    if (shv_soak_at(l, start, time, &s, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return s;
}

static double time_to(const struct shv_soak_loop *l, double start, double temperature)
{
    double time = -1.0;
    struct shv_message message = {""};
    if (shv_soak_time_to(l, start, temperature, &time, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    return time;
}

static void constant_heat_by_hand(void **state)
{
    (void)state;
    struct shv_soak_loop l = made_loop();
    struct shv_soak_state s = at(&l, 303.15, 60.0);
    assert_relative(s.time_constant, 95.0, 1e-14);
    assert_relative(s.steady, 353.15, 1e-14);
    assert_relative(s.temperature, 303.15 + 50.0 * (1.0 - exp(-60.0 / 95.0)), 1e-14);
    assert_relative(s.heat, 20e3, 1e-15);
    assert_within(at(&l, 303.15, 0.0).temperature, 303.15, 0.0);
    assert_within(at(&l, 303.15, INFINITY).temperature, 353.15, 1e-12);
}

static void falling_heat_by_hand(void **state)
{
    (void)state;
    struct shv_soak_loop l = falling_loop();
    struct shv_soak_state s = at(&l, 310.0, 45.0);
    double tau = 38e3 / (160.0 + 400.0), steady = (160.0 * 430.0 + 400.0 * 303.15) / 560.0;
    assert_relative(s.time_constant, tau, 1e-14);
    assert_relative(s.steady, steady, 1e-14);
    assert_relative(s.temperature, steady + (310.0 - steady) * exp(-45.0 / tau), 1e-14);
    assert_relative(s.heat, 160.0 * (430.0 - s.temperature), 1e-14);
}

/* C dT/dt by central differences is what goes in less what goes out. */
static void equation_holds(void **state)
{
    (void)state;
    uint64_t seed = 5;
    for (int i = 0; i < 1000; i++) {
        struct shv_soak_loop l = {.capacity = random_in(&seed, 5e3, 100e3),
                                  .resistance = 1.0 / random_in(&seed, 50.0, 2000.0),
                                  .source = random_in(&seed, 250.0, 330.0),
                                  .heat = random_in(&seed, 0.0, 40e3),
                                  .conductance = random_in(&seed, 0.0, 400.0),
                                  .hot = random_in(&seed, 300.0, 500.0)};
        double start = random_in(&seed, 250.0, 400.0), time = random_in(&seed, 1.0, 300.0);
        struct shv_soak_state s = at(&l, start, time);
        double step = 1e-3 * s.time_constant;
        double rise = at(&l, start, time + step).temperature -
                      at(&l, start, time - fmin(step, time)).temperature;
        double rate = rise / (step + fmin(step, time));
        double out = (s.temperature - l.source) / l.resistance;
        assert_within(l.capacity * rate, s.heat - out, 1e-5 * (40e3 + fabs(out)));
    }
}

/* In two pieces or in one: the state at the end is the same. */
static void pieces_join(void **state)
{
    (void)state;
    struct shv_soak_loop l = falling_loop();
    double half = at(&l, 300.0, 33.0).temperature;
    assert_relative(at(&l, half, 44.0).temperature, at(&l, 300.0, 77.0).temperature, 1e-14);
}

static void share_is_what_the_loop_does(void **state)
{
    (void)state;
    struct shv_soak_loop l = made_loop();
    for (double t = 0.0; t < 600.0; t += 20.0) {
        struct shv_soak_state s = at(&l, l.source, t);
        double share = shv_soak_loop_share(t, s.time_constant);
        assert_within(s.temperature, l.source + share * l.resistance * l.heat, 1e-12 * l.source);
        assert_within(s.loop_resistance, share * l.resistance, 1e-12 * l.resistance);
    }
    assert_within(shv_soak_loop_share(0.0, 50.0), 0.0, 0.0);
    assert_within(shv_soak_loop_share(INFINITY, 50.0), 1.0, 0.0);
    assert_within(shv_soak_loop_share(1.0, INFINITY), 0.0, 0.0);
    assert_within(shv_soak_loop_share(1.0, 0.0), 1.0, 0.0);
    assert_within(shv_soak_loop_share(0.0, 0.0), 0.0, 0.0);
    assert_relative(shv_soak_loop_share(1e-12, 1.0), 1e-12, 1e-11); /* no rounding away */
}

/* The resistance that the steady relation needs gives the temperature back, at falling heat too. */
static void resistance_gives_the_temperature(void **state)
{
    (void)state;
    struct shv_soak_loop l = falling_loop();
    struct shv_soak_state s = at(&l, l.source, 50.0);
    double k = l.conductance, r = s.loop_resistance;
    assert_relative(l.source + r * k * (l.hot - l.source) / (1.0 + k * r), s.temperature, 1e-13);
    assert_relative(at(&l, l.source, INFINITY).loop_resistance, l.resistance, 1e-12);
    /* the share of the plain time constant asks for less, so it errs on the cool side */
    double share = shv_soak_loop_share(50.0, l.capacity * l.resistance);
    assert_true(share * l.resistance < r && share * l.resistance > 0.75 * r);
}

static void time_is_the_inverse_of_temperature(void **state)
{
    (void)state;
    struct shv_soak_loop loops[] = {made_loop(), falling_loop(), made_loop()};
    loops[2].resistance = INFINITY;
    for (size_t i = 0; i < 3; i++) {
        for (double t = 0.5; t < 200.0; t *= 1.7) {
            double there = at(&loops[i], 300.0, t).temperature;
            assert_relative(time_to(&loops[i], 300.0, there), t, 1e-9);
        }
    }
}

static void temperatures_that_are_not_reached(void **state)
{
    (void)state;
    struct shv_soak_loop l = made_loop();
    assert_within(time_to(&l, 310.0, 310.0), 0.0, 0.0);
    assert_true(isinf(time_to(&l, 310.0, 353.15)));
    assert_true(isinf(time_to(&l, 310.0, 380.0)));
    assert_true(isnan(time_to(&l, 310.0, 305.0))); /* passed already */
    assert_true(isinf(time_to(&l, 353.15, 380.0)));
    l.heat = 0.0; /* cools */
    assert_true(isnan(time_to(&l, 340.0, 345.0)));
    assert_true(isinf(time_to(&l, 340.0, 300.0)));
    assert_relative(time_to(&l, 343.15, 323.15), 95.0 * log(2.0), 1e-12);
}

static void recovery(void **state)
{
    (void)state;
    struct shv_soak_loop l = made_loop();
    l.heat = 0.0;
    double time = shv_soak_recovery_time(95.0, 0.1);
    assert_relative(time, 95.0 * log(10.0), 1e-14);
    assert_relative(at(&l, 343.15, time).temperature, 303.15 + 4.0, 1e-13);
    assert_within(shv_soak_recovery_time(95.0, 1.0), 0.0, 0.0);
}

/* Without a radiator heat stays in the loop; with one of no resistance it is gone at once. */
static void extremes_of_resistance(void **state)
{
    (void)state;
    struct shv_soak_loop l = made_loop();
    l.resistance = INFINITY;
    struct shv_soak_state s = at(&l, 300.0, 60.0);
    assert_relative(s.temperature, 300.0 + 20e3 * 60.0 / 38e3, 1e-14);
    assert_true(isinf(s.steady) && isinf(s.time_constant));
    assert_true(isinf(at(&l, 300.0, INFINITY).temperature));
    l.heat = 0.0;
    assert_within(at(&l, 300.0, 60.0).temperature, 300.0, 0.0);
    assert_within(at(&l, 300.0, INFINITY).temperature, 300.0, 0.0);
    l = falling_loop();
    l.resistance = INFINITY;
    s = at(&l, 300.0, 60.0);
    assert_relative(s.steady, 430.0, 1e-14);
    assert_relative(s.time_constant, 38e3 / 160.0, 1e-14);
    l.resistance = 0.0;
    assert_within(at(&l, 340.0, 0.0).temperature, 340.0, 0.0);
    assert_within(at(&l, 340.0, 1e-9).temperature, l.source, 1e-12);
    assert_within(time_to(&l, 340.0, 320.0), 0.0, 0.0);
    /* next to the extremes nothing jumps */
    l.resistance = 1e12;
    struct shv_soak_loop none = l;
    none.resistance = INFINITY;
    assert_relative(at(&l, 300.0, 60.0).temperature, at(&none, 300.0, 60.0).temperature, 1e-12);
    l = made_loop();
    none = l;
    l.resistance = 1e9;
    none.resistance = INFINITY;
    assert_relative(at(&l, 300.0, 60.0).temperature, at(&none, 300.0, 60.0).temperature, 1e-9);
}

/* ---- input ---- */

static void bad_input(void **state)
{
    (void)state;
    const struct shv_soak_loop good = falling_loop();
    struct shv_soak_loop bad;
    struct shv_soak_state s = {.temperature = -1.0};
    struct shv_message message = {""};
    double time = -1.0;
#define REJECTED(field, value, says)                                                               \
    do {                                                                                           \
        bad = good;                                                                                \
        bad.field = (value);                                                                       \
        assert_int_equal(shv_soak_at(&bad, 300.0, 1.0, &s, &message), SHV_BAD_INPUT);              \
        assert_non_null(strstr(message.text, says));                                               \
        assert_int_equal(shv_soak_time_to(&bad, 300.0, 310.0, &time, &message), SHV_BAD_INPUT);    \
        assert_non_null(strstr(message.text, says));                                               \
    } while (0)
    REJECTED(capacity, 0.0, "heat capacity");
    REJECTED(resistance, -1.0, "resistance");
    REJECTED(resistance, NAN, "resistance");
    REJECTED(source, 0.0, "source temperature");
    REJECTED(heat, -1.0, "heat into the coolant");
    REJECTED(conductance, INFINITY, "conductance");
    REJECTED(hot, NAN, "hot side");
#undef REJECTED
    assert_int_equal(shv_soak_at(&good, 0.0, 1.0, &s, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "at the start"));
    assert_int_equal(shv_soak_at(&good, 300.0, -1.0, &s, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "time, s,"));
    assert_int_equal(shv_soak_at(&good, 300.0, NAN, &s, &message), SHV_BAD_INPUT);
    assert_int_equal(shv_soak_time_to(&good, 300.0, 0.0, &time, &message), SHV_BAD_INPUT);
    assert_non_null(strstr(message.text, "to be reached"));
    assert_within(s.temperature, -1.0, 0.0); /* untouched */
    assert_within(time, -1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(constant_heat_by_hand),
        cmocka_unit_test(falling_heat_by_hand),
        cmocka_unit_test(equation_holds),
        cmocka_unit_test(pieces_join),
        cmocka_unit_test(share_is_what_the_loop_does),
        cmocka_unit_test(resistance_gives_the_temperature),
        cmocka_unit_test(time_is_the_inverse_of_temperature),
        cmocka_unit_test(temperatures_that_are_not_reached),
        cmocka_unit_test(recovery),
        cmocka_unit_test(extremes_of_resistance),
        cmocka_unit_test(bad_input),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
