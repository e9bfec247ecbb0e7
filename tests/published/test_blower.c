/* Work of Roots and vane blowers, the nozzle function of the leakage, and what the trade knows. */
#include "model/path/gas.h"
#include "published/published.h"
#include "published/textbook.h"
#include "sheave/blower.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define HORSEPOWER 745.7
#define NO_LIMIT                                                                                   \
    .max_speed = INFINITY, .max_pressure_ratio = INFINITY, .max_pressure_rise = INFINITY,          \
    .max_discharge_temperature = INFINITY

/* cp/R is exactly 3.5, as closed forms with gamma 1.4 take it. */
static struct shv_gas constant_air(void)
{
    struct shv_air_model model = {SHV_AIR_CONSTANT, 287.0, 1004.5, 1.4};
    struct shv_gas gas;
    shv_gas_init(&gas, &model, 0.0);
    return gas;
}

/* A blower that doesn't leak, 50 L a turn at 10 turns a second unless said otherwise. */
static struct shv_blower_state tight(double displacement, double volume_ratio, double p1, double t1,
                                     double p2)
{
    struct shv_blower blower = {.kind = SHV_BLOWER_GEOMETRY,
                                .displacement = displacement,
                                .step_up = 1.0,
                                .windage_reference_speed = 100.0,
                                NO_LIMIT,
                                .geometry = {.assembly_temperature = 293.15,
                                             .volume_ratio = volume_ratio,
                                             .reference_speed = 100.0}};
    struct shv_gas gas = constant_air();
    struct shv_blower_state s;
    shv_blower_state(&blower, &gas, p1, t1, 10.0, p2, &s);
    return s;
}

static void test_worked_examples(void **state)
{
    (void)state;
    static const struct published singh1 = {
        "Blower work", "1b-01", 'R',
        "Onkar Singh, Applied Thermodynamics, 3rd ed. 2009, ex. 16.15 p. "
        "763, as worked in a published companion",
        "0.5 m3/s from 1 to 2 bar."};
    struct shv_blower_state s = tight(0.05, 1.0, 1e5, 300.0, 2e5);
    check(&singh1, 67.05, s.gas_power / HORSEPOWER, relative(1e-4), "indicated power, hp");
    check(&singh1, 50.0, s.shaft_power / 1e3, relative(1e-4), "shaft power, kW");
    check(&singh1, 0.7665, s.isentropic_efficiency, relative(1e-4), "isentropic efficiency");

    static const struct published singh2 = {
        "Blower work", "1b-02", 'R',
        "Onkar Singh, Applied Thermodynamics, 3rd ed. 2009, ex. 16.16 p. "
        "764, as worked in a published companion",
        "Vane blower, 0.6 m3/s from 1 to 2.3 bar, the gas "
        "compressed to 0.7 of its volume inside."};
    s = tight(0.06, 1.0 / 0.7, 1e5, 300.0, 2.3e5);
    check(&singh2, 79.93, s.gas_power / HORSEPOWER, relative(1e-4), "indicated power, hp");
    check(&singh2, 0.9466, s.isentropic_efficiency, relative(1e-4), "isentropic efficiency");

    static const struct published nag = {
        "Blower work", "1b-03", 'R',
        "P. K. Nag, Engineering Thermodynamics, 4th ed., ex. 18.7 (same "
        "problem in Rajput, IC Engines, ex. 20.35), as worked in a published companion",
        "0.03 m3 a turn, 1.013 bar, pressure ratio 1.5; the vane blower compresses inside through "
        "half the pressure rise."};
    double vi = pow(1.25, 1.0 / 1.4);
    check(&nag, 1.5195, shv_blower_work_per_revolution(0.03, 1.0, 1.4, 101300.0, 151950.0) / 1e3,
          relative(1e-4), "Roots, kJ a turn");
    check(&nag, 1.3480, shv_blower_work_per_revolution(0.03, vi, 1.4, 101300.0, 151950.0) / 1e3,
          relative(1e-4), "vane, kJ a turn");
}

static void test_handbook(void **state)
{
    (void)state;
    static const struct published carvill = {
        "Blower work", "1b-08", 'R',
        "Carvill, Mechanical Engineer's Data Handbook, sec. 3.11.3 p. "
        "125",
        "Roots efficiency, gamma 1.4."};
    check_wider(&carvill, 0.95, tight(0.05, 1.0, 1e5, 300.0, 1.2e5).isentropic_efficiency,
                absolute(0.005), absolute(0.02),
                "the handbook's own closed form gives 0.936; its print is coarse",
                "isentropic efficiency at pressure ratio 1.2");
    check(&carvill, 0.84, tight(0.05, 1.0, 1e5, 300.0, 1.6e5).isentropic_efficiency,
          absolute(0.005), "isentropic efficiency at pressure ratio 1.6");
    check(&carvill, 0.77, tight(0.05, 1.0, 1e5, 300.0, 2.0e5).isentropic_efficiency,
          absolute(0.005), "isentropic efficiency at pressure ratio 2.0");

    static const struct published balance = {
        "Blower work", "1b-09", 'D',
        "energy balance of the Roots rectangle: T2/T1 = 1 + (g-1)/g (r-1)",
        "Adiabatic, no leakage."};
    static const double table[][2] = {
        {1.2, 1.0571429}, {1.5, 1.1428571}, {1.8, 1.2285714}, {2.0, 1.2857143}, {2.5, 1.4285714}};
    for (size_t i = 0; i < COUNT(table); i++) {
        struct shv_blower_state s = tight(0.05, 1.0, 1e5, 300.0, 1e5 * table[i][0]);
        check(&balance, table[i][1], s.discharge_temperature / 300.0, relative(1e-6),
              "discharge over inlet temperature at pressure ratio %g", table[i][0]);
    }
}

static const struct {
    double gamma, critical, plateau, psi[5];
} nozzle[] = {
    {1.40, 0.528282, 0.684731, {0.30764, 0.42258, 0.56066, 0.63832, 0.67692}},
    {1.35, 0.536851, 0.676145, {0.30733, 0.42170, 0.55818, 0.63379, 0.67004}},
    {1.30, 0.545728, 0.667262, {0.30699, 0.42075, 0.55551, 0.62896, 0.66271}},
    {1.25, 0.554929, 0.658065, {0.30663, 0.41972, 0.55265, 0.62378, 0.65490}},
};

static void test_nozzle(void **state)
{
    (void)state;
    static const double ratio[5] = {0.95, 0.9, 0.8, 0.7, 0.6};
    for (size_t i = 0; i < COUNT(nozzle); i++) {
        struct published p = {
            "Compressible nozzle", "12-01", i == 0 ? 'R' : 'D',
            "isentropic nozzle function, closed form; critical ratio at gamma 1.4 "
            "also in Cengel and Boles, table A-32",
            NULL};
        double g = nozzle[i].gamma;
        for (size_t k = 0; k < 5; k++) {
            check(&p, nozzle[i].psi[k], nozzle_function(ratio[k], g), absolute(1e-5),
                  "psi at p/p0 = %g, gamma %g", ratio[k], g);
        }
        check(&p, nozzle[i].plateau, nozzle_function(nozzle[i].critical, g), absolute(1e-6),
              "psi at the critical ratio, gamma %g", g);
        check(&p, nozzle[i].plateau, nozzle_function(0.3, g), absolute(1e-6),
              "psi when choked, p/p0 = 0.3, gamma %g", g);
    }
    static const struct published choked = {"Compressible nozzle", "12-02", 'M',
                                            "choked flow of air, m sqrt(T0)/(A p0), R = 287.05 "
                                            "J/(kg K)",
                                            NULL};
    check(&choked, 0.0404149, nozzle_function(0.5, 1.4) / sqrt(287.05), relative(1e-6),
          "m sqrt(T0)/(A p0), s K^0.5/m");
    static const struct published cengel = {
        "Compressible nozzle", "12-04", 'R',
        "Cengel and Boles, Thermodynamics, 5th ed., ex. 17-7 p. "
        "844, as worked in a published companion",
        "Throat of 20 cm2, 800 K, 1 MPa, choked."};
    check(&cengel, 2.86, 20e-4 * 1e6 / sqrt(287.0 * 800.0) * nozzle_function(0.5, 1.4),
          relative(1e-3), "mass flow, kg/s");
}

/* Through the leakage of a blower at rest: what flows back is the choked or unchoked nozzle flow.
 */
static void test_leakage_is_nozzle_flow(void **state)
{
    (void)state;
    static const struct published p = {
        "Compressible nozzle", "12-02", 'M',
        "choked flow of air, m sqrt(T0)/(A p0), R = 287.05 "
        "J/(kg K)",
        "Here as the leakage of a blower with 20 mm2 across a pressure ratio of 2.2."};
    struct shv_air_model model = {SHV_AIR_CONSTANT, 287.05, 3.5 * 287.05, 1.4};
    struct shv_gas gas;
    shv_gas_init(&gas, &model, 0.0);
    struct shv_blower blower = {.kind = SHV_BLOWER_GEOMETRY,
                                .displacement = 1e-3,
                                .step_up = 1.0,
                                .windage_reference_speed = 100.0,
                                NO_LIMIT,
                                .geometry = {.leakage_area = 20e-6,
                                             .assembly_temperature = 293.15,
                                             .volume_ratio = 1.0,
                                             .reference_speed = 100.0}};
    struct shv_blower_state s;
    shv_blower_state(&blower, &gas, 1e5, 300.0, 200.0, 2.2e5, &s);
    check(&p, 0.0404149, s.leakage_flow * sqrt(s.discharge_temperature) / (20e-6 * 2.2e5),
          relative(1e-6), "leakage m sqrt(T2)/(A p2), s K^0.5/m");
}

/* Windage is an assumption of ours, chosen so that the power comes within what the trade knows:
 * friction and leakage alone give 33 hp. */
static void test_trade_practice(void **state)
{
    (void)state;
    static const struct published p = {
        "Blower work", "practice", 'X',
        "common practice, no source: a fully loaded blower of about "
        "1 litre a turn at about 14 psi takes up to about 40 hp",
        "1.0 L a turn, 14 psi across, 14,000 rpm, air at 20 degC and 101.325 kPa; leakage 50 mm2, "
        "friction 1.6 N m, all assumed. So is windage of 2 N m at that speed, chosen for the "
        "power: without it "
        "the model gives 33 hp. Expected values are "
        "middles of loose bands."};
    struct shv_air_model model = {.kind = SHV_AIR_NASA};
    struct shv_gas gas;
    shv_gas_init(&gas, &model, 0.0);
    struct shv_blower blower = {.kind = SHV_BLOWER_GEOMETRY,
                                .displacement = 1e-3,
                                .step_up = 1.0,
                                .friction_torque = 1.6,
                                .windage_torque = 2.0,
                                .windage_reference_speed = 14000.0 / 60.0,
                                NO_LIMIT,
                                .geometry = {.leakage_area = 5e-5,
                                             .assembly_temperature = 293.15,
                                             .volume_ratio = 1.0,
                                             .reference_speed = 14000.0 / 60.0}};
    struct shv_blower_state s;
    shv_blower_state(&blower, &gas, 101325.0, 293.15, 14000.0 / 60.0, 101325.0 + 14.0 * 6894.757,
                     &s);
    check(&p, 38.5, s.shaft_power / HORSEPOWER, absolute(1.5), "shaft power, hp (37 to 40) (set)");
    check(&p, 0.91, s.volumetric_efficiency, absolute(0.02), "volumetric efficiency");
    check(&p, 118.0, s.discharge_temperature - 273.15, absolute(5.0),
          "discharge temperature, degC");
}

static double pressure_rise_of(const struct shv_point *p)
{
    return p->outlet_pressure - p->inlet_pressure;
}

/* The same through a study, with an engine and a cooler. */
static void test_trade_practice_in_a_kit(void **state)
{
    (void)state;
    static const struct published p = {
        "Blower work", "practice", 'X',
        "common practice, no source: such a blower at about 14 psi with "
        "a cooler takes up to about 40 hp from the crank, at about 14,000 rpm",
        "The same blower through a study, on an invented 2.6 L engine at 6000 rpm; looked for are "
        "14 psi "
        "across the rotors."};
    struct example e;
    example_load(&e, "practice");
    const struct shv_point *k = example_find(&e, 0, 0.12, 0.35, pressure_rise_of, 14.0 * 6894.757);
    check(&p, 38.5, k->drive_power / HORSEPOWER, absolute(3.0), "power from the crank, hp");
    check(&p, 14000.0, 60.0 * k->rotor_speed, relative(0.1), "rotor speed, rpm");
    example_free(&e);
}

/* Pressure ratio, rotor rpm, volumetric efficiency. */
static const double screw[][3] = {
    {1.6, 4336.0, 0.6805},  {2.0, 4688.0, 0.6308},  {1.1, 4608.0, 0.8551},  {1.6, 5344.0, 0.7371},
    {2.0, 5744.0, 0.6874},  {1.1, 5568.0, 0.8824},  {1.6, 6336.0, 0.7800},  {2.0, 6704.0, 0.7351},
    {1.1, 6544.0, 0.9077},  {1.6, 7344.0, 0.8073},  {2.0, 7696.0, 0.7712},  {1.1, 7632.0, 0.9204},
    {1.6, 8368.0, 0.8278},  {2.0, 8704.0, 0.7946},  {1.1, 8688.0, 0.9331},  {1.6, 9344.0, 0.8473},
    {2.0, 9712.0, 0.8141},  {1.1, 9536.0, 0.9438},  {1.6, 10272.0, 0.8658}, {2.0, 10672.0, 0.8336},
    {1.1, 10384.0, 0.9536}, {1.6, 11216.0, 0.8824}, {2.0, 11600.0, 0.8521}, {1.1, 11296.0, 0.9623},
    {1.6, 12192.0, 0.8921}, {2.0, 12560.0, 0.8658}, {1.1, 12224.0, 0.9701}, {1.6, 13168.0, 0.9019},
    {2.0, 13552.0, 0.8756}, {1.1, 13296.0, 0.9682}, {1.6, 14128.0, 0.9097}, {2.0, 14528.0, 0.8853},
    {1.1, 14576.0, 0.9506}, {1.6, 15216.0, 0.9097}, {2.0, 15472.0, 0.8951}, {1.1, 15824.0, 0.9379},
    {1.6, 16304.0, 0.9097}, {2.0, 16416.0, 0.9038}, {1.1, 17072.0, 0.9272}, {1.6, 17392.0, 0.9097},
    {2.0, 17360.0, 0.9136}};

/* Per cent of swept volume that the model is off at this pressure ratio. */
static double screw_misfit(double area, double pressure_ratio)
{
    struct shv_gas gas = constant_air();
    struct shv_blower blower = {.kind = SHV_BLOWER_GEOMETRY,
                                .displacement = 0.5e-3,
                                .step_up = 1.0,
                                .windage_reference_speed = 100.0,
                                NO_LIMIT,
                                .geometry = {.leakage_area = area,
                                             .assembly_temperature = 293.15,
                                             .volume_ratio = 1.4,
                                             .reference_speed = 100.0}};
    double sum = 0.0;
    size_t count = 0;
    for (size_t i = 0; i < COUNT(screw); i++) {
        struct shv_blower_state s;
        if (screw[i][0] == pressure_ratio) {
            shv_blower_state(&blower, &gas, 101325.0, 293.0, screw[i][1] / 60.0,
                             101325.0 * pressure_ratio, &s);
            sum += pow(100.0 * (s.volumetric_efficiency - screw[i][2]), 2.0);
            count++;
        }
    }
    return sqrt(sum / (double)count);
}

/* One area, chosen by the rows of one pressure ratio, for the others. */
static void test_leakage_of_a_screw_machine(void **state)
{
    (void)state;
    static const struct published p = {
        "Leakage", "screw", 'P',
        "National Renewable Energy Laboratory, fuel-cell vehicle data file of 2003, screw "
        "compressor "
        "of 0.5 L a turn, 4300 to 17,400 rpm",
        "No Roots blower: it compresses inside, here by an assumed volume ratio of 1.4, and tests "
        "the law of leakage alone. Inlet of 293 K and 1 atm assumed. The rows at pressure ratio "
        "1.6 chose the leakage area, 34.25 mm2, by least squares; those at 1.1 and 2.0 test it. "
        "Expected is 0, allowed what efficiencies of such a machine are good to, 2 % of swept "
        "volume. That leakage comes back hot and displaces more than its mass is not what these "
        "rows show: left out, with an area chosen likewise (40.5 mm2), the three figures are 0.56, "
        "1.59 and 0.99, 1.1 % over all rows against 1.4 %. It stands in the model for the balance "
        "of enthalpy alone."};
    const double area = 34.25e-6;
    check(&p, 0.0, screw_misfit(area, 1.6), absolute(2.0),
          "rms at pressure ratio 1.6, %% of swept volume (chosen)");
    check(&p, 0.0, screw_misfit(area, 1.1), absolute(2.0),
          "rms at pressure ratio 1.1, %% of swept volume");
    check(&p, 0.0, screw_misfit(area, 2.0), absolute(2.0),
          "rms at pressure ratio 2.0, %% of swept volume");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_worked_examples),
        published_test(test_handbook),
        published_test(test_trade_practice),
        published_test(test_trade_practice_in_a_kit),
        published_test(test_nozzle),
        published_test(test_leakage_is_nozzle_flow),
        published_test(test_leakage_of_a_screw_machine),
    };
    return cmocka_run_group_tests_name("published blower", tests, NULL, NULL);
}
