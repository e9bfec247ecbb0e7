/* One lumped heat capacity against textbook examples of transient heating and against a numerical
 * solution of its differential equation. */
#include "published/published.h"
#include "model/drive/soak.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TOPIC "Coolant loop"
#define COMPANION ", as worked in a published companion"

/* A sphere in a gas stream is the loop without heat: its capacity over h A is the time constant. */
static double bead(double diameter, double density, double heat_capacity, double transfer)
{
    return density * heat_capacity * diameter / 6.0 / transfer;
}

/* Examples ask for the time to a share of the way; here the share at their time. */
static void test_thermocouples(void **state)
{
    (void)state;
    static const struct published cengel = {TOPIC, "14-01", 'R',
                                            "Cengel, Heat Transfer, ex. 4-1" COMPANION,
                                            "Bead of 1 mm, 8500 kg/m3, 320 J/(kg K), 210 W/(m2 K); "
                                            "10 s to 99 %; printed without decimals."};
    double constant = bead(0.001, 8500.0, 320.0, 210.0);
    check(&cengel, 0.99, shv_soak_loop_share(10.0, constant), absolute(0.003), "share at 10 s");

    static const struct published incropera = {
        TOPIC, "14-02", 'R',
        "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, ex. 5.1" COMPANION,
        "Bead of 0.706 mm, 8500 kg/m3, 400 J/(kg K), 400 W/(m2 K), from 25 to 199 in a gas of 200 "
        "degC in 5.16 s."};
    constant = bead(7.06e-4, 8500.0, 400.0, 400.0);
    check(&incropera, 174.0 / 175.0, shv_soak_loop_share(5.16, constant), relative(1e-4),
          "share at 5.16 s");

    static const struct published bead_in_inches = {
        TOPIC, "14-03", 'R', "Engineering Heat Transfer, ex. 4.1 p. 190" COMPANION,
        "Bead of 0.025 in, 525 lb/ft3, 0.1 BTU/(lb R), 80 BTU/(h ft2 R), from 65 to 139 in 140 "
        "degF in 3.54 s. In feet, hours and BTU as they are."};
    constant = bead(0.025 / 12.0, 525.0, 0.1, 80.0);
    check(&bead_in_inches, 74.0 / 75.0, shv_soak_loop_share(3.54 / 3600.0, constant),
          relative(2e-4), "share at 3.54 s");
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
    double capacity = 1.4 * 896.0, resistance = 1.0 / (11.0 * 0.046);
    check(&p, 83.0, 500.0 * resistance * shv_soak_loop_share(217.49845, capacity * resistance),
          relative(1e-5), "rise after 217.498 s, K");
}

/* ---- the equation itself, in steps ---- */

/* C dT/dt = heat - (T - source) / resistance, by classical Runge-Kutta of fourth order. */
struct loop {
    double capacity, resistance, source, heat;
};

static double slope(const struct loop *l, double t)
{
    return (l->heat - (t - l->source) / l->resistance) / l->capacity;
}

static double integrate(const struct loop *l, double t, double time)
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
        "38 kJ/K, 400 W/K at the radiator, source 30 degC, 20 kW."};
    const struct loop l = {38e3, 1.0 / 400.0, 303.15, 20e3};
    static const double time[] = {10.0, 60.0, 300.0};
    for (size_t i = 0; i < COUNT(time); i++) {
        double share = shv_soak_loop_share(time[i], l.capacity * l.resistance);
        check(&p, integrate(&l, l.source, time[i]), l.source + share * l.resistance * l.heat,
              relative(1e-10), "temperature after %g s of constant heat, K", time[i]);
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
