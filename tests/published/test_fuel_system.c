/* Injectors against the sizing rule of the trade, the orifice law and worked nozzles. */
#include "published/published.h"
#include "sheave/fuel_system.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define COMPANION ", as worked in a published companion"
#define LB 0.45359237
#define PSI 6894.757293168
#define PI 3.14159265358979323846

static void test_sizing_rule(void **state)
{
    (void)state;
    static const struct published rule = {
        "Fuel system", "8-06", 'R', "injector-sizing note of the trade, no author",
        "500 hp, 0.60 lb/(hp h), 8 injectors, 80 % duty, no dead time."};
    const struct shv_injector_part part = {.rated_pressure = 3e5, .test_density = 720.0};
    double printed = 46.9 * LB / 3600.0 / 720.0; /* m3/s of the fuel itself */
    const struct shv_injection at = {.count = 8.0,
                                     .speed = 100.0,
                                     .fuel_flow = 500.0 * 0.60 * LB / 3600.0,
                                     .fuel_density = 720.0,
                                     .pressure = 3e5};
    check(&rule, 0.80, shv_injector_duty(&part, printed, &at), relative(1e-3),
          "duty of injectors of 46.9 lb/h");
}

static void test_square_root_law(void **state)
{
    (void)state;
    static const struct published root = {"Fuel system", "8-07", 'D',
                                          "square-root law of an orifice",
                                          "Pressure across the injector from 3 to 4 bar, and from "
                                          "43.5 to 58 psi."};
    const struct shv_injector_part bar = {.rated_pressure = 3e5, .test_density = 684.0};
    const struct shv_injector_part psi = {.rated_pressure = 43.5 * PSI, .test_density = 684.0};
    double rated = 5e-6 * 684.0;
    check(&root, 1.1547, shv_injector_static_flow(&bar, 5e-6, 4e5, 684.0) / rated, relative(1e-4),
          "flow over flow before, bar");
    check(&root, 1.1547, shv_injector_static_flow(&psi, 5e-6, 58.0 * PSI, 684.0) / rated,
          relative(1e-4), "flow over flow before, psi");
}

static void test_mass_and_volume(void **state)
{
    (void)state;
    static const struct published unit = {"Fuel system", "8-08", 'D', "unit conversion",
                                          "1 lb/h as cm3/min, through an injector rated so."};
    static const double row[][2] = {{720.0, 10.5}, {740.0, 10.22}, {755.0, 10.01}};
    for (size_t i = 0; i < COUNT(row); i++) {
        const struct shv_injector_part part = {.rated_pressure = 3e5, .test_density = row[i][0]};
        double flow = shv_injector_static_flow(&part, row[i][1] * 1e-6 / 60.0, 3e5, row[i][0]);
        check(&unit, 1.0, flow * 3600.0 / LB, relative(1e-3), "lb/h of %g cm3/min at %g kg/m3",
              row[i][1], row[i][0]);
    }
}

/* A worked nozzle: the area it prints, as an injector rated at 3 bar with the fuel itself, must
 * stay open for the crank angle it starts from. */
struct nozzle {
    struct published p;
    double power, specific_fuel; /* kW, kg/kWh */
    double cylinders;
    double rpm, degrees;
    double density, pressure; /* kg/m3, Pa across the nozzle */
    double discharge, area;   /* printed, m2 */
    double allowed;           /* of the angle, from the digits of the area */
};

static double open_degrees(const struct nozzle *n)
{
    static const double rated = 3e5;
    const struct shv_injector_part part = {.rated_pressure = rated, .test_density = n->density};
    const struct shv_injection at = {.count = n->cylinders,
                                     .speed = n->rpm / 60.0,
                                     .fuel_flow = n->power * n->specific_fuel / 3600.0,
                                     .fuel_density = n->density,
                                     .pressure = n->pressure};
    double flow = n->discharge * n->area * sqrt(2.0 * rated / n->density);
    return 720.0 * shv_injector_duty(&part, flow, &at);
}

static double disc(double diameter)
{
    return PI / 4.0 * diameter * diameter;
}

static void test_nozzles(void **state)
{
    (void)state;
    static const char note[] =
        "Nozzle of a compression-ignition engine, once in two turns. The area "
        "it prints is given; the crank angle it starts from comes out.";
    const struct nozzle row[] = {
        {{"Fuel system", "8-02", 'R',
          "H. N. Gupta, Fundamentals of IC Engines, 2006, ex. 10.2 p. 333" COMPANION, note},
         30.0,
         0.28,
         1,
         3000.0,
         28.0,
         849.85,
         125e5,
         0.92,
         disc(0.755e-3),
         2e-3},
        {{"Fuel system", "8-03", 'R',
          "H. N. Gupta, Fundamentals of IC Engines, 2006, ex. 10.1" COMPANION, note},
         250.0,
         0.30,
         6,
         1500.0,
         15.0,
         850.0,
         340e5,
         0.65,
         1.067e-6,
         1e-3},
        {{"Fuel system", "8-04", 'R',
          "Mathur and Sharma, Internal Combustion Engines, ex. 12.2" COMPANION, note},
         368.0,
         0.238,
         8,
         800.0,
         12.0,
         850.0,
         357.5e5,
         0.60,
         1.234e-6,
         1e-3},
        {{"Fuel system", "8-05", 'R',
          "Mathur and Sharma, Internal Combustion Engines, ex. 12.3" COMPANION, note},
         15.0,
         0.272,
         1,
         2000.0,
         30.0,
         865.4,
         90e5,
         0.90,
         disc(0.56e-3),
         2e-2},
    };
    for (size_t i = 0; i < COUNT(row); i++) {
        check(&row[i].p, row[i].degrees, open_degrees(&row[i]), relative(row[i].allowed),
              "injection, degrees of crank angle");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_sizing_rule),
        published_test(test_square_root_law),
        published_test(test_mass_and_volume),
        published_test(test_nozzles),
    };
    return cmocka_run_group_tests_name("published fuel system", tests, NULL, NULL);
}
