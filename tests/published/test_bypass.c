/* Flow through the bypass valve against tables and examples of compressible flow, and the cruise
 * point against a closed form. */
#include "model/drive/bypass_solve.h"
#include "published/published.h"
#include "sheave/bypass.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define PI 3.14159265358979323846
#define COMPANION ", as worked in a published companion"
#define VALVE "Bypass valve"
#define CRUISE "Cruise point"

/* cp/R is exactly 3.5 at gamma 1.4. */
static struct shv_gas constant_air(double gas_constant)
{
    struct shv_air_model model = {SHV_AIR_CONSTANT, gas_constant, 3.5 * gas_constant, 1.4};
    struct shv_gas gas;
    shv_gas_init(&gas, &model, 0.0);
    return gas;
}

static double flow_into(const struct shv_gas *gas, double area, double p, double t, double below)
{
    return opening_flow(gas, area, p, t, (p - below) / p);
}

/* Through a valve at a pressure ratio p/p0 goes the share A* over A of what goes through it when
 * choked. */
static void test_table_of_isentropic_flow(void **state)
{
    (void)state;
    static const struct published p = {
        VALVE, "13-01", 'R',
        "Matthews, Aeronautical Engineer's Data Book, table A4.1 (isentropic flow, gamma 7/5), "
        "p/p0 "
        "and A/A*; seen in a public copy",
        "Area ratio from the flow at the printed pressure ratio, over that of a choked valve. At "
        "ratios near 1 the four digits of p/p0 allow no more than the tolerance."};
    static const struct {
        double mach, ratio, area, tolerance;
    } row[] = {{0.05, 0.9983, 11.5914, 3e-2}, {0.10, 0.9930, 5.8218, 4e-3},
               {0.15, 0.9844, 3.9103, 2e-3},  {0.20, 0.9725, 2.9635, 1e-3},
               {0.24, 0.9607, 2.4956, 7e-4},  {0.90, 0.5913, 1.0089, 1e-4},
               {0.95, 0.5595, 1.0021, 1e-4},  {0.99, 0.5345, 1.0001, 1e-4}};
    struct shv_gas gas = constant_air(287.0);
    double choked = flow_into(&gas, 1e-3, 1e5, 300.0, 1e4);
    for (size_t i = 0; i < COUNT(row); i++) {
        double flow = flow_into(&gas, 1e-3, 1e5, 300.0, 1e5 * row[i].ratio);
        check(&p, row[i].area, choked / flow, relative(row[i].tolerance),
              "A/A* at Mach number %.2f", row[i].mach);
    }
    static const struct published k = {
        VALVE, "13-02", 'R',
        "compressible flow table for k = 1.4 of a textbook's appendix, p/pt and A/A*; book not "
        "recorded, seen in a public copy",
        "As 13-01."};
    static const double more[][3] = {{0.50, 0.8430, 1.3398},
                                     {0.60, 0.7840, 1.1882},
                                     {0.64, 0.7591, 1.1452},
                                     {0.82, 0.6430, 1.0305},
                                     {0.88, 0.6041, 1.0129}};
    for (size_t i = 0; i < COUNT(more); i++) {
        double flow = flow_into(&gas, 1e-3, 1e5, 300.0, 1e5 * more[i][1]);
        check(&k, more[i][2], choked / flow, relative(2e-4), "A/A* at Mach number %.2f",
              more[i][0]);
    }
}

static void test_choked_flow(void **state)
{
    (void)state;
    static const struct published tyre = {
        VALVE, "13-03", 'R', "Cengel and Boles, Thermodynamics, 5th ed., problem 17-118" COMPANION,
        "Air at 314 kPa and 298 K through a hole of 4 mm into 94 kPa, R = 0.287 kJ/(kg K)."};
    struct shv_gas gas = constant_air(287.0);
    double hole = PI * 0.004 * 0.004 / 4.0;
    double flow = flow_into(&gas, hole, 314e3, 298.0, 94e3);
    check(&tyre, 0.00924, flow, relative(1e-3), "mass flow, kg/s");
    check(&tyre, 0.554, 60.0 * flow, relative(1e-3), "mass flow, kg/min");

    static const struct published nozzle = {
        VALVE, "13-04", 'R',
        "a textbook of engineering thermodynamics, ex. 16.12" COMPANION "; book not recorded",
        "Throat of 20 mm, 7.00 MPa, 2273.15 K, R = 286 J/(kg K)."};
    gas = constant_air(286.0);
    flow = flow_into(&gas, PI * 0.020 * 0.020 / 4.0, 7e6, 2273.15, 1e5);
    check_wider(&nozzle, 1.86, flow, absolute(0.005), relative(5e-3),
                "the example takes 0.0404 for m sqrt(T0)/(A p0), which belongs to R = 287",
                "mass flow, kg/s");

    static const struct published converging = {
        VALVE, "13-05", 'R',
        "published solution of a problem 13.25 in fluid mechanics; book not recorded",
        "Converging nozzle, just choked: throat 0.0421 m2, stagnation pressure 191 kPa, 276.3 K at "
        "Mach number 0.60, into 101 kPa, R = 286.9 J/(kg K). The pressure downstream is taken as "
        "that of the throat."};
    gas = constant_air(286.9);
    flow = flow_into(&gas, 0.0421, 191e3, 276.3 * (1.0 + 0.2 * 0.6 * 0.6), 0.5283 * 191e3);
    check(&converging, 18.9, flow, relative(3e-3), "mass flow, kg/s");
}

/* A drop that hardly changes the density: A sqrt(2 rho dp). */
static void test_small_drop(void **state)
{
    (void)state;
    static const struct published p = {VALVE, "13-06", 'D',
                                       "Bernoulli, A sqrt(2 rho dp), incompressible",
                                       "10 cm2, 100 kPa, 300 K, R = 287 J/(kg K): rho = 1.161440 "
                                       "kg/m3. Allowed is the share by which the pressure falls."};
    struct shv_gas gas = constant_air(287.0);
    static const double row[][2] = {{1000.0, 0.04819627}, {100.0, 0.01524100}, {1.0, 1.524100e-3}};
    for (size_t i = 0; i < COUNT(row); i++) {
        check(&p, row[i][1], flow_into(&gas, 1e-3, 1e5, 300.0, 1e5 - row[i][0]),
              relative(row[i][0] / 1e5), "mass flow at a drop of %g Pa, kg/s", row[i][0]);
    }
}

/* Roots blower without leakage, filling loss, windage and heat loss, gas of constant heat capacity:
 * with p1 given all else is explicit,
 *   P = (p2 - p1) V, T2 = T0 + P/(m_e cp), T1 = T2 / (1 + (p2/p1 - 1) R/cp), m_b = p1 V / (R T1),
 * and the area follows from m_b - m_e. The values were computed so, outside this program; here the
 * areas go in and the rest comes out. */
static void test_cruise_in_closed_form(void **state)
{
    (void)state;
    static const struct published p = {
        CRUISE, "13-07", 'D',
        "energy balance of the Roots rectangle and of mixing, nozzle function; closed form with p1 "
        "given",
        "1 L a turn at 100 turns a second, manifold 60 kPa, engine 0.02 kg/s, 300 K, R = 287 and "
        "cp "
        "= 1004.5 J/(kg K); no leakage, windage or heat loss. At the first area the valve is "
        "choked."};
    static const struct {
        double area, p1, power, t2, t1, flow;
    } row[] = {
        {51.33091481745322e-6, 25e3, 3500.0, 474.21602787, 338.72573420, 0.005716385011},
        {86.62367855811235e-6, 30e3, 3000.0, 449.32802389, 349.47735192, 0.009910269192},
        {233.3203840017193e-6, 45e3, 1500.0, 374.66401195, 342.08453265, 0.025834994022},
        {529.2797988598014e-6, 55e3, 500.0, 324.88800398, 316.66299122, 0.040517848935},
        {1300.815029571527e-6, 59e3, 100.0, 304.97760080, 303.50782923, 0.047732985147},
    };
    const struct shv_blower blower = {.kind = SHV_BLOWER_GEOMETRY,
                                      .displacement = 1e-3,
                                      .step_up = 1.0,
                                      .windage_reference_speed = 100.0,
                                      .geometry = {.assembly_temperature = 293.15,
                                                   .volume_ratio = 1.0,
                                                   .reference_speed = 100.0}};
    const struct shv_bypass_cruise c = {.gas = constant_air(287.0),
                                        .blower = &blower,
                                        .rotor_speed = 100.0,
                                        .pressure_ahead = 101325.0,
                                        .temperature = 300.0,
                                        .manifold_pressure = 60e3,
                                        .engine_flow = 0.02};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct shv_bypass_state s;
        double mm2 = 1e6 * row[i].area;
        shv_bypass_at(&c, row[i].area, &s);
        check(&p, row[i].p1 / 1e3, s.inlet_pressure / 1e3, relative(1e-8),
              "pressure at the rotors' inlet, kPa, valve %.4g mm2", mm2);
        check(&p, row[i].power, s.shaft_power, relative(1e-8), "drag, W, valve %.4g mm2", mm2);
        check(&p, row[i].t2, s.discharge_temperature, relative(1e-9),
              "discharge temperature, K, valve %.4g mm2", mm2);
        check(&p, row[i].t1, s.inlet_temperature, relative(1e-9),
              "temperature at the inlet, K, valve %.4g mm2", mm2);
        check(&p, row[i].flow, s.recirculated, relative(1e-8),
              "flow through the valve, kg/s, valve %.4g mm2", mm2);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_table_of_isentropic_flow),
        published_test(test_choked_flow),
        published_test(test_small_drop),
        published_test(test_cruise_in_closed_form),
    };
    return cmocka_run_group_tests_name("published bypass", tests, NULL, NULL);
}
