/* The closed cycle: ideal cycles of textbooks, burning, wall heat, knock. */
#include "model/cylinder/combustion_gas.h"
#include "published/published.h"
#include "support/cycle_fixture.h"
#include "support/gas_state.h"
#include "support/wall_heat.h"

static struct cycle_case ideal_case(void)
{
    struct cycle_case u = bare_case();
    u.knock.mixture_slope = 0.0;
    u.at.step = 0.5;
    return u;
}

/* Heat per kg of gas, all of it within a thousandth of a degree about top dead centre. */
static void add_heat(struct cycle_case *u, double heat)
{
    u->fuel.heating_value = heat * (1.0 + u->at.lambda * u->fuel.stoichiometric);
    u->engine.burn_duration = 1e-3;
    u->at.ca50 = 0.0;
}

static void set_gamma(struct cycle_case *u, double gamma)
{
    u->at.gas = SHV_CYCLE_CONSTANT_GAS;
    u->at.heat_capacity = u->at.gas_constant * gamma / (gamma - 1.0);
}

static struct shv_cycle_result run(const struct cycle_case *u)
{
    struct shv_cycle_result r = run_case(u);
    assert_int_equal(r.outcome, SHV_CYCLE_DONE);
    return r;
}

/* State at the last step that is not after an angle. */
static struct shv_cycle_sample sample_at(const struct cycle_case *u, double angle)
{
    struct shv_cycle_result r;
    struct recording recording = record_case(u, &r);
    struct shv_cycle_sample found = recording.samples[0];
    for (size_t i = 0; i < recording.count && recording.samples[i].angle <= angle; i++) {
        found = recording.samples[i];
    }
    free(recording.samples);
    return found;
}

/* ---- ideal cycles ---- */

static void test_variable_heat_capacity(void **state)
{
    (void)state;
    static const struct published cengel = {
        "Ideal cycle", "10-01", 'R',
        "Cengel and Boles, Thermodynamics, 5th ed., ex. 9-2 p. 498, as worked in a published "
        "companion",
        "Otto cycle, air with heat capacity that varies: r 8, 17 degC, 100 kPa, 800 kJ/kg."};
    struct cycle_case u = ideal_case();
    u.at.gas = SHV_CYCLE_AIR;
    u.engine.compression_ratio = 8.0;
    u.at.charge_temperature = 290.0;
    u.pressure = u.at.exhaust_pressure = 100e3;
    add_heat(&u, 800e3);
    struct shv_cycle_sample before = sample_at(&u, -5.1e-4);
    struct shv_cycle_result r = run(&u);
    check(&cengel, 652.4, before.temperature, relative(2e-3), "T2, K");
    check(&cengel, 1575.1, r.peak_temperature, relative(2e-3), "T3, K");
    check(&cengel, 4.345, 1e-6 * r.peak_pressure, relative(2e-3), "p3, MPa");
    check(&cengel, 418.17, 1e-3 * r.gross_work / r.trapped_mass, relative(2e-3), "net work, kJ/kg");
    check(&cengel, 0.523, r.gross_efficiency, relative(2e-3), "efficiency");
    check(&cengel, 574.0, 1e-3 * r.imep, relative(2e-3), "mean effective pressure, kPa");
}

static void test_constant_heat_capacity(void **state)
{
    (void)state;
    static const struct published gupta = {
        "Ideal cycle", "10-03", 'R',
        "H. N. Gupta, Fundamentals of IC Engines, 2006, ex. 2.1 p. 44, as worked in a published "
        "companion",
        "Otto cycle, 200 x 250 mm, clearance 1570 cm3, 1 bar, 300 K, 1673 K at the top, gamma "
        "1.4."};
    struct cycle_case u = ideal_case();
    double swept = 0.25 * 3.14159265358979323846 * 0.2 * 0.2 * 0.25;
    u.engine.bore = 0.2;
    u.engine.stroke = 0.25;
    u.engine.compression_ratio = 1.0 + swept / 1570e-6;
    u.at.charge_temperature = 300.0;
    u.pressure = u.at.exhaust_pressure = 100e3;
    set_gamma(&u, 1.4);
    double cv = u.at.heat_capacity - u.at.gas_constant;
    add_heat(&u, cv * (1673.0 - 300.0 * pow(u.engine.compression_ratio, 0.4)));
    struct shv_cycle_sample before = sample_at(&u, -5.1e-4);
    struct shv_cycle_result r = run(&u);
    check(&gupta, 6.0025, u.engine.compression_ratio, relative(1e-3), "compression ratio");
    check(&gupta, 341.3 + 273.0, before.temperature, relative(1e-3), "T2, K");
    check(&gupta, 12.29, 1e-5 * before.pressure, relative(1e-3), "p2, bar");
    check(&gupta, 33.47, 1e-5 * r.peak_pressure, relative(1e-3), "p3, bar");
    check(&gupta, 544.0 + 273.0, r.evo_temperature, relative(1e-3), "T4, K");
    check(&gupta, 2.723, 1e-5 * r.evo_pressure, relative(1e-3), "p4, bar");
    check(&gupta, 51.17, 100.0 * r.gross_efficiency, relative(1e-3), "efficiency, %%");
    check(&gupta, 4.26, 1e-3 * r.gross_work, absolute(0.01), "work, kJ");
    check(&gupta, 5.42, 1e-5 * r.imep, relative(1e-3), "mean effective pressure, bar");
}

static void test_otto_efficiency(void **state)
{
    (void)state;
    static const struct published otto = {"Ideal cycle", "10-04", 'D',
                                          "Otto cycle, 1 - r^(1-gamma)", NULL};
    static const struct {
        double gamma, efficiency[5]; /* r = 8..12 */
    } table[] = {{1.4, {0.5647, 0.5848, 0.6019, 0.6168, 0.6299}},
                 {1.3, {0.4641, 0.4827, 0.4988, 0.5129, 0.5255}}};
    for (int i = 0; i < 2; i++) {
        for (int k = 0; k < 5; k++) {
            struct cycle_case u = ideal_case();
            set_gamma(&u, table[i].gamma);
            u.engine.compression_ratio = 8.0 + k;
            add_heat(&u, 1000e3);
            check(&otto, table[i].efficiency[k], run(&u).gross_efficiency, absolute(1e-4),
                  "efficiency, gamma %.1f, r %d", table[i].gamma, 8 + k);
        }
    }
}

/* ---- burning ---- */

static double share_at(double a, double burned)
{
    return pow(-log(1.0 - burned) / a, 1.0 / 3.0);
}

static void test_wiebe(void **state)
{
    (void)state;
    static const struct published heywood = {
        "Burning", "10-22", 'M', "Heywood, Internal Combustion Engine Fundamentals, 1988, eq. 9.30",
        "Wiebe's function, a 5, m 2. Shares of the duration are given back to the function."};
    check(&heywood, 0.99326, shv_cycle_wiebe(1.0, 5.0, 2.0), absolute(1e-5), "burned at the end");
    check(&heywood, 0.46474, shv_cycle_wiebe(0.5, 5.0, 2.0), absolute(1e-5), "burned half way");
    check(&heywood, 0.1, shv_cycle_wiebe(0.27621, 5.0, 2.0), absolute(1e-5), "burned at 0.27621");
    check(&heywood, 0.5, shv_cycle_wiebe(0.51755, 5.0, 2.0), absolute(1e-5), "burned at 0.51755");
    check(&heywood, 0.9, shv_cycle_wiebe(0.77223, 5.0, 2.0), absolute(1e-5), "burned at 0.77223");
    static const struct published other = {"Burning", "10-23", 'D',
                                           "Wiebe's function, a 6.908, m 2", NULL};
    check(&other, 0.9990, shv_cycle_wiebe(1.0, 6.908, 2.0), absolute(1e-5), "burned at the end");
    check(&other, 0.24799, share_at(6.908, 0.1), absolute(1e-5), "share at 10 %% burned");
    check(&other, 0.5, shv_cycle_wiebe(0.46468, 6.908, 2.0), absolute(1e-5), "burned at 0.46468");
    check(&other, 0.9, shv_cycle_wiebe(0.69335, 6.908, 2.0), absolute(1e-5), "burned at 0.69335");
}

static struct shv_cycle_fuel octane(void)
{
    struct cycle_case u = usual_case();
    u.fuel.hydrogen_carbon = 18.0 / 8.0;
    u.fuel.stoichiometric *= cgas_implied_carbon_mass(&u.fuel) / cgas_carbon_mass(&u.fuel);
    return u.fuel;
}

static void test_products(void **state)
{
    (void)state;
    static const struct published cengel = {
        "Burning", "7-02", 'R',
        "Cengel and Boles, Thermodynamics, 5th ed., ex. 15-1 p. 755, as worked in a published "
        "companion",
        "Products of 1 kmol C8H18 with 20 kmol O2. The book's air is O2 + 3.76 N2; here it has "
        "argon and carbon dioxide, 0.03 kmol of it in this amount."};
    struct shv_cycle_fuel f = octane();
    struct cgas_amounts a = cgas_burned(&f, 20.0 / 12.5, 0.0),
                        in = cgas_fresh(&f, 20.0 / 12.5, 0.0);
    double fuel = in.mol[CGAS_O2] / 20.0; /* mol per kg air */
    check(&cengel, 8.0, a.mol[CGAS_CO2] / fuel, relative(5e-3), "CO2, kmol");
    check(&cengel, 9.0, a.mol[CGAS_H2O] / fuel, relative(1e-3), "H2O, kmol");
    check(&cengel, 7.5, a.mol[CGAS_O2] / fuel, relative(1e-3), "O2, kmol");
    static const struct published flame = {
        "Burning", "7-04", 'R',
        "Moran and Shapiro, 5th ed., ex. 13.8, and Cengel and Boles, 5th ed., ex. 15-8, as worked "
        "in a published companion",
        "Adiabatic flame of liquid octane in theoretical air, complete combustion; heating value "
        "44.424 MJ/kg of 7-03. The books' air has no argon."};
    a = cgas_burned(&f, 1.0, 0.0);
    struct cgas burned = cgas_of(&a, &f);
    double heat = 44.424e6 / (f.stoichiometric * a.mass);
    check(&flame, 2395.0, gas_at_enthalpy(&burned, heat), absolute(5.0), "flame temperature, K");
}

static void test_woschni(void **state)
{
    (void)state;
    static const struct published woschni = {
        "Wall heat", "10-24", 'M',
        "G. Woschni, SAE 670931 (1967), in the form of Heywood 1988, eq. 12.19", NULL};
    check(&woschni, 502.7, coefficient(0.1, 2000e3, 1200.0, 20.0), relative(1e-4),
          "W/(m2 K), 0.1 m, 2000 kPa, 1200 K, 20 m/s");
    check(&woschni, 992.8, coefficient(0.086, 5000e3, 2200.0, 27.36), relative(1e-4),
          "W/(m2 K), 0.086 m, 5000 kPa, 2200 K, 27.36 m/s");
}

/* The default engine at full throttle and lambda 1, half burned at 9 deg: its heat to the walls by
 * the model and, on the same trace, by Hohenberg's coefficient. */
struct heat {
    struct cycle_case u;
    struct shv_cycle_result r;
    double angle, rate, by_hohenberg;
};

/* bar, m3, K, m/s: h = 130 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8. */
static double hohenberg_rate(const struct cycle_case *u, const struct shv_cycle_sample *s)
{
    const double pi = 3.14159265358979;
    const struct shv_cycle_engine *e = &u->engine;
    double speed = 2.0 * e->stroke * u->at.speed, area = 0.25 * pi * e->bore * e->bore;
    double gap = s->volume / area - e->stroke / (e->compression_ratio - 1.0), t = s->temperature;
    double h = 130.0 * pow(s->volume, -0.06) * pow(1e-5 * s->pressure, 0.8) * pow(t, -0.4) *
               pow(speed + 1.4, 0.8);
    return h *
           (area * (e->chamber_area * (t - e->chamber_temperature) +
                    e->crown_area * (t - e->crown_temperature)) +
            pi * e->bore * gap * (t - e->bore_temperature)) /
           (360.0 * u->at.speed);
}

static void add_hohenberg(void *data, const struct shv_cycle_sample *sample)
{
    struct heat *h = data;
    double rate = hohenberg_rate(&h->u, sample);
    if (!isnan(h->angle)) {
        h->by_hohenberg += 0.5 * (rate + h->rate) * (sample->angle - h->angle);
    }
    h->angle = sample->angle;
    h->rate = rate;
}

static struct heat heat_at(double rpm, double factor)
{
    struct heat h = {.u = usual_case(), .angle = NAN};
    struct shv_cycle_case at;
    shv_cycle_defaults(&h.u.engine, &h.u.fuel, &h.u.knock, &at);
    h.u.engine.heat_factor *= factor;
    h.u.at.speed = rpm / 60.0;
    h.u.at.lambda = 1.0;
    h.u.at.ca50 = 9.0;
    h.u.at.charge_temperature = 310.0;
    h.u.pressure = 100e3;
    at = drawn_case(&h.u);
    struct shv_cycle_trace trace = {add_hohenberg, &h};
    assert_int_equal(shv_cycle_run(&h.u.engine, &h.u.fuel, &h.u.knock, &at, &trace, &h.r, NULL),
                     SHV_OK);
    return h;
}

/* Per cent of the fuel's heat that walls and the model's default friction take. */
static double coolant_share(const struct heat *h)
{
    double speed = 2.0 * h->u.engine.stroke * h->u.at.speed;
    double fmep = 13.7e3 + 0.005 * h->r.peak_pressure + 16.2e3 * speed;
    return 100.0 * (h->r.heat_loss_share + fmep / h->r.imep * h->r.gross_efficiency);
}

static void test_shares_of_heat(void **state)
{
    (void)state;
    const char *ports = "what the exhaust's ports give the coolant is not in the model";
    static const struct published heywood = {
        "Wall heat", "10-25", 'M',
        "Heywood 1988, table 12.1, spark ignition at full power: coolant 17 to 26 %, oil 3 to 10 "
        "%, "
        "exhaust 34 to 45 %; from memory",
        "The default engine, 6000 rpm, lambda 1. Friction ends in coolant and oil. The sum was "
        "what "
        "chose heat_factor 1.5, with about 5 % more from the ports: with 1 it is 18.6 %, below the "
        "range."};
    struct heat fast = heat_at(6000.0, 1.0), middle = heat_at(3000.0, 1.0);
    check(&heywood, 28.0, coolant_share(&fast), absolute(8.0),
          "walls and friction, %% of the fuel's heat");
    double unburned = 100.0 * (1.0 - fast.r.heat_released / (fast.r.fuel_mass * 43.5e6));
    double exhaust = 100.0 * (1.0 - fast.r.gross_efficiency - fast.r.heat_loss_share) - unburned;
    check_wider(&heywood, 39.5, exhaust, absolute(5.5), absolute(11.0), ports,
                "exhaust at the valve, %% of the fuel's heat");
    static const struct published balance = {
        "Wall heat", "10-26", 'P',
        "Energy shares of a car engine at full load, x-engineer.org, Mechanical efficiency and "
        "friction mean effective pressure: coolant and oil 27.5 %, friction 3 %",
        "No speed is given; the default engine at 3000 rpm."};
    check_wider(&balance, 30.5, coolant_share(&middle), relative(0.15), relative(0.4), ports,
                "walls and friction, %% of the fuel's heat");
    static const struct published hohenberg = {"Wall heat", "10-27", 'P',
                                               "G. Hohenberg, SAE 790825 (1979), h = 130 V^-0.06 "
                                               "p^0.8 T^-0.4 (Sp + 1.4)^0.8, as quoted on a "
                                               "public page; like Woschni's from diesel engines",
                                               "Both coefficients on the same trace of the default "
                                               "engine. Without the factor 1.5 the model "
                                               "lies at +18, -6 and -22 %; tolerance is a choice "
                                               "of ours. No source at hand gives the factor."};
    const double rpm[] = {1500.0, 3000.0, 6000.0};
    for (size_t i = 0; i < 3; i++) {
        struct heat h = heat_at(rpm[i], 1.0);
        double published = h.by_hohenberg / h.r.wall_heat * h.r.heat_loss_share;
        if (i == 2) {
            check(&hohenberg, 100.0 * published, 100.0 * h.r.heat_loss_share, relative(0.25),
                  "heat to the walls at %.0f rpm, %% of the fuel's", rpm[i]);
            continue;
        }
        check_disagrees(
            &hohenberg, 100.0 * published, 100.0 * h.r.heat_loss_share, relative(0.25),
            relative(i == 0 ? 0.83 : 0.45),
            "shares of spark-ignition engines ask for more than diesel coefficients give",
            "heat to the walls at %.0f rpm, %% of the fuel's", rpm[i]);
    }
}

/* ---- knock ---- */

#define ATMOSPHERE 101325.0

static void test_delay(void **state)
{
    (void)state;
    static const struct published douaud = {
        "Knock", "11-03", 'M', "Douaud and Eyzat, SAE 780080 (1978); Heywood 1988, eq. 9.23", NULL};
    static const struct {
        double p, t, octane, delay;
    } rows[] = {{20, 700, 95, 20.775}, {40, 800, 95, 3.2441}, {40, 800, 100, 3.8626},
                {50, 850, 95, 1.6788}, {60, 900, 98, 1.0677}, {30, 750, 91, 6.2728}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        check(&douaud, rows[i].delay,
              1e3 * shv_knock_delay(rows[i].octane, rows[i].p * ATMOSPHERE, rows[i].t),
              relative(1e-4), "delay, ms, at %g atm, %g K, ON %g", rows[i].p, rows[i].t,
              rows[i].octane);
    }
}

static double integral_to_top(double pressure, double temperature, double octane_number)
{
    struct cycle_case u = ideal_case();
    set_gamma(&u, 1.33);
    u.engine.compression_ratio = 9.5;
    u.engine.rod_ratio = 1e9;
    u.fuel.heating_value = 0.0;
    u.fuel.ron = octane_number;
    u.at.speed = 2000.0 / 60.0;
    u.pressure = u.at.exhaust_pressure = pressure * ATMOSPHERE;
    u.at.charge_temperature = temperature;
    /* The burn gives no heat; that it starts at the top puts a step there. */
    u.engine.burn_duration = 60.0;
    u.engine.burn_speed_exponent = 0.0;
    u.at.ca50 = 60.0 * pow(-log(1.0 - 0.5 * (1.0 - exp(-5.0))) / 5.0, 1.0 / 3.0);
    struct shv_cycle_sample top = sample_at(&u, 1e-6);
    assert_within(top.angle, 0.0, 1e-6);
    return top.knock_integral;
}

static void test_livengood_wu(void **state)
{
    (void)state;
    static const struct published livengood = {
        "Knock", "11-04", 'D',
        "Livengood and Wu (1955) with the delay of Douaud and Eyzat, by numeric quadrature",
        "To top dead centre, polytropic 1.33, r 9.5, 2000 rpm, harmonic piston motion."};
    double base = integral_to_top(1.0, 340.0, 95.0), boost = integral_to_top(1.6, 340.0, 95.0);
    double hot = integral_to_top(1.6, 370.0, 95.0), better = integral_to_top(1.6, 340.0, 98.0);
    check(&livengood, 0.08539, base, relative(1e-3), "integral, 1.0 atm, 340 K, ON 95");
    check(&livengood, 0.18985, boost, relative(1e-3), "integral, 1.6 atm, 340 K, ON 95");
    check(&livengood, 0.29888, hot, relative(1e-3), "integral, 1.6 atm, 370 K, ON 95");
    check(&livengood, 0.17079, better, relative(1e-3), "integral, 1.6 atm, 340 K, ON 98");
    check(&livengood, 2.2233, boost / base, relative(1e-4), "ratio, 1.6 atm over 1.0 atm");
    check(&livengood, 1.1116, boost / better, relative(1e-4), "ratio, ON 95 over ON 98");
}

/* Octane number of the fuel that is just free of knock in this case. The delay goes with ON^3.402,
 * and the fuel changes nothing else. */
static double requirement(const struct cycle_case *u)
{
    struct shv_cycle_result r = run(u);
    double needed = r.octane * pow(r.knock_integral / (1.0 - u->knock.margin), 1.0 / 3.402);
    return needed - (r.octane - u->fuel.ron);
}

static double mixture_of_most(const struct cycle_case *base)
{
    double most = 0.0, at = 0.0;
    struct cycle_case u = *base;
    for (double lambda = 0.8; lambda < 1.1; lambda += 0.001) {
        u.at.lambda = lambda;
        double needed = requirement(&u);
        at = needed > most ? lambda : at;
        most = fmax(most, needed);
    }
    return at;
}

/* Base chosen before any comparison: the default engine, 3000 rpm, atmospheric, near its
 * borderline. */
static void test_octane_requirement(void **state)
{
    (void)state;
    static const struct published russ = {
        "Knock", "11-01", 'P', "S. Russ, SAE 960497 (1996), abstract",
        "How much octane number borderline knock needs, single-cylinder engines and literature. "
        "The model's base is its default engine at 3000 rpm, 101.3 kPa, lambda 0.88, half burned "
        "at 13 deg. Tolerances are the bands named, or half of the value where there is none."};
    struct cycle_case base = usual_case(), u;
    base.at.ca50 = 13.0;
    base.at.burn_reference = run_case(&base).burn_velocity;
    double needed = requirement(&base);
    u = base, u.pressure += 10e3;
    check(&russ, 3.5, requirement(&u) - needed, absolute(0.5), "per 10 kPa intake pressure");
    u = base, u.at.charge_temperature += 7.0;
    check(&russ, 1.0, requirement(&u) - needed, relative(0.5), "per 7 K intake temperature");
    u = base, u.at.ca50 -= 1.0;
    check_wider(&russ, 1.0, requirement(&u) - needed, relative(0.5), absolute(1.0),
                "the burn is shifted as a whole and keeps its duration", "per degree of spark");
    u = base, u.engine.compression_ratio += 1.0;
    check(&russ, 5.0, requirement(&u) - needed, relative(0.5), "per unit of compression ratio");
    u = base, u.at.exhaust_pressure += 30e3;
    check_disagrees(&russ, 1.0, requirement(&u) - needed, relative(0.5), absolute(1.14),
                    "more residual gas makes the burn last longer, and hotter charge turns the "
                    "octane number towards MON (docs/model.md, sections 8.5 and 8.8)",
                    "per 30 kPa exhaust pressure");
    u = base, u.engine.chamber_temperature += 10.0, u.engine.crown_temperature += 10.0;
    u.engine.bore_temperature += 10.0;
    check_wider(&russ, 1.0, requirement(&u) - needed, relative(0.5), absolute(1.0),
                "walls act only while the valves are shut; what a warmer port does to the charge "
                "is charge_heating, an input",
                "per 10 K coolant");
    double most = mixture_of_most(&base);
    check(&russ, 1.0 / 1.05, most, absolute(0.01), "lambda that needs most (set)");
    u = base, u.at.lambda = most;
    double top = requirement(&u);
    u.at.lambda = most - 2.0 / 14.6;
    check(&russ, 2.0, 0.5 * (top - requirement(&u)), relative(0.5),
          "per unit of air-fuel ratio, rich of that (set)");
    u.at.lambda = most + 2.0 / 14.6;
    check_disagrees(&russ, 2.0, 0.5 * (top - requirement(&u)), relative(0.5), absolute(1.22),
                    "a lean mixture burns for longer, and its end gas waits",
                    "per unit of air-fuel ratio, lean of that (set)");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_variable_heat_capacity),
        published_test(test_constant_heat_capacity),
        published_test(test_otto_efficiency),
        published_test(test_wiebe),
        published_test(test_products),
        published_test(test_woschni),
        published_test(test_shares_of_heat),
        published_test(test_delay),
        published_test(test_livengood_wu),
        published_test(test_octane_requirement),
    };
    return cmocka_run_group_tests_name("published cycle", tests, NULL, NULL);
}
