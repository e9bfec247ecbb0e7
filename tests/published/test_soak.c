/* One lumped heat capacity against textbook examples of transient heating and against a numerical
 * solution of its differential equation. */
#include "published/published.h"
#include "sheave/soak.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TOPIC "Coolant loop"
#define PI 3.14159265358979323846
#define COMPANION ", as worked in a published companion"

/* A sphere in a gas stream is the loop without heat: its capacity, and 1/(h A) for the resistance.
 */
static struct shv_soak_loop bead(double diameter, double density, double heat_capacity,
                                 double transfer, double gas)
{
    double surface = PI * diameter * diameter;
    return (struct shv_soak_loop){.capacity = density * heat_capacity * surface * diameter / 6.0,
                                  .resistance = 1.0 / (transfer * surface),
                                  .source = gas};
}

static struct shv_soak_state at(const struct shv_soak_loop *l, double start, double time)
{
    struct shv_soak_state s;
    assert_int_equal(shv_soak_at(l, start, time, &s, NULL), SHV_OK);
    return s;
}

static double time_to(const struct shv_soak_loop *l, double start, double temperature)
{
    double time = NAN;
    assert_int_equal(shv_soak_time_to(l, start, temperature, &time, NULL), SHV_OK);
    return time;
}

static void test_thermocouples(void **state)
{
    (void)state;
    static const struct published cengel = {TOPIC, "14-01", 'R',
                                            "Cengel, Heat Transfer, ex. 4-1" COMPANION,
                                            "Bead of 1 mm, 8500 kg/m3, 320 J/(kg K), 210 W/(m2 K); "
                                            "temperatures are free, 300 and 400 K "
                                            "here."};
    struct shv_soak_loop l = bead(0.001, 8500.0, 320.0, 210.0, 400.0);
    double constant = at(&l, 300.0, 0.0).time_constant;
    check(&cengel, 10.0, time_to(&l, 300.0, 399.0), absolute(0.5), "time to 99 %%, s");
    check(&cengel, 10.0, shv_soak_recovery_time(constant, 0.01), absolute(0.5),
          "time until 1 %% is left, s");

    static const struct published incropera = {
        TOPIC, "14-02", 'R',
        "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, ex. 5.1" COMPANION,
        "Bead of 0.706 mm, 8500 kg/m3, 400 J/(kg K), 400 W/(m2 K), from 25 to 199 in a gas of 200 "
        "degC."};
    l = bead(7.06e-4, 8500.0, 400.0, 400.0, 473.0);
    check(&incropera, 1.0, at(&l, 298.0, 0.0).time_constant, relative(1e-3), "time constant, s");
    check(&incropera, 5.16, time_to(&l, 298.0, 472.0), relative(2e-3), "time to 199 degC, s");

    static const struct published bead_in_inches = {
        TOPIC, "14-03", 'R', "Engineering Heat Transfer, ex. 4.1 p. 190" COMPANION,
        "Bead of 0.025 in, 525 lb/ft3, 0.1 BTU/(lb R), 80 BTU/(h ft2 R), from 65 to 139 in 140 "
        "degF. "
        "In feet, hours, BTU and degrees as they are, plus 459.67."};
    l = bead(0.025 / 12.0, 525.0, 0.1, 80.0, 599.67);
    check(&bead_in_inches, 3.54, 3600.0 * time_to(&l, 524.67, 598.67), relative(2e-3), "time, s");
}

static void test_shares(void **state)
{
    (void)state;
    static const struct published lienhard = {
        TOPIC, "14-04", 'P',
        "Lienhard, A Heat Transfer Textbook, ch. 1: 95 % in three time constants", NULL};
    check(&lienhard, 0.95, shv_soak_loop_share(3.0, 1.0), absolute(0.005), "share");
    static const struct published first = {
        TOPIC, "14-05", 'D', "response of a first-order system, 1 - exp(-t/tau)", NULL};
    static const double share[] = {0.6321206, 0.8646647, 0.9502129, 0.9816844, 0.9932621};
    for (size_t i = 0; i < COUNT(share); i++) {
        check(&first, share[i], shv_soak_loop_share((double)(i + 1), 1.0), relative(1e-6),
              "share after %zu time constants", i + 1);
    }
}

/* Heat that stays, as the iron's element gives it. */
static void test_constant_heat(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "14-06", 'D',
        "Kreith, Principles of Heat Transfer, problem of a household iron; its answer was not at "
        "hand, computed from its closed form",
        "1.4 kg of aluminium, 896 J/(kg K) chosen here, 500 W, 0.046 m2 at 11 W/(m2 K), from 21 to "
        "104 degC."};
    const struct shv_soak_loop iron = {.capacity = 1.4 * 896.0,
                                       .resistance = 1.0 / (11.0 * 0.046),
                                       .source = 294.15,
                                       .heat = 500.0};
    check(&p, 217.49845, time_to(&iron, 294.15, 377.15), relative(1e-5), "time, s");
    check(&p, 988.1423, at(&iron, 294.15, 0.0).steady - 294.15, relative(1e-6), "steady rise, K");
}

/* ---- the equation itself, in steps ---- */

static double slope(const struct shv_soak_loop *l, double t)
{
    double heat = l->heat + l->conductance * (l->hot - t);
    return (heat - (t - l->source) / l->resistance) / l->capacity;
}

/* Classical Runge-Kutta of fourth order. */
static double integrate(const struct shv_soak_loop *l, double t, double time)
{
    enum { STEPS = 4000 };
    double h = time / STEPS;
    for (int i = 0; i < STEPS; i++) {
        double a = slope(l, t), b = slope(l, t + 0.5 * h * a), c = slope(l, t + 0.5 * h * b);
        t += h / 6.0 * (a + 2.0 * b + 2.0 * c + slope(l, t + h * c));
    }
    return t;
}

static void test_against_steps(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "14-07", 'D',
        "numerical solution of the differential equation, classical Runge-Kutta of fourth order in "
        "4000 steps",
        "38 kJ/K, 400 W/K at the radiator, source 30 degC; 20 kW, or 160 W/K from charge of 430 K. "
        "The last two start hot and without load."};
    struct shv_soak_loop constant = {
        .capacity = 38e3, .resistance = 1.0 / 400.0, .source = 303.15, .heat = 20e3, .hot = 430.0};
    struct shv_soak_loop falling = constant;
    falling.heat = 0.0;
    falling.conductance = 160.0;
    struct shv_soak_loop rest = constant;
    rest.heat = 0.0;
    static const double time[] = {10.0, 60.0, 300.0};
    for (size_t i = 0; i < COUNT(time); i++) {
        check(&p, integrate(&constant, 303.15, time[i]), at(&constant, 303.15, time[i]).temperature,
              relative(1e-10), "temperature after %g s of constant heat, K", time[i]);
        check(&p, integrate(&falling, 303.15, time[i]), at(&falling, 303.15, time[i]).temperature,
              relative(1e-10), "temperature after %g s of falling heat, K", time[i]);
        check(&p, integrate(&rest, 345.0, time[i]), at(&rest, 345.0, time[i]).temperature,
              relative(1e-10), "temperature after %g s of rest, K", time[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_thermocouples),
        published_test(test_shares),
        published_test(test_constant_heat),
        published_test(test_against_steps),
    };
    return cmocka_run_group_tests_name("published soak", tests, NULL, NULL);
}
