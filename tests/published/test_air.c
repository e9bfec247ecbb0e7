/* Atmosphere, moist air and properties of air against tables and worked examples. */
#include "model/path/gas.h"
#include "published/published.h"
#include "sheave/air.h"

#define ZERO_CELSIUS 273.15
#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static struct shv_gas dry_air(void)
{
    struct shv_air_model model = {.kind = SHV_AIR_NASA};
    struct shv_gas gas;
    shv_gas_init(&gas, &model, 0.0);
    return gas;
}

/* cp/R is exactly 3.5, as closed forms with gamma 1.4 take it. */
static struct shv_gas constant_air(void)
{
    struct shv_air_model model = {SHV_AIR_CONSTANT, 287.0, 1004.5, 1.4};
    struct shv_gas gas;
    shv_gas_init(&gas, &model, 0.0);
    return gas;
}

static struct shv_gas moist_air(double humidity_ratio)
{
    struct shv_air_model model = {.kind = SHV_AIR_NASA};
    struct shv_gas gas;
    shv_gas_init(&gas, &model, humidity_ratio);
    return gas;
}

/* ---- standard atmosphere ---- */

static const struct {
    double altitude, temperature, pressure, density;
    char kind;
} icao[] = {
    {0.0, 288.150, 101325.0, 1.22500, 'R'},    {500.0, 284.900, 95461.3, 1.16727, 'D'},
    {1000.0, 281.651, 89876.3, 1.11166, 'R'},  {1500.0, 278.402, 84559.7, 1.05810, 'D'},
    {2000.0, 275.154, 79501.4, 1.00655, 'R'},  {3000.0, 268.659, 70121.1, 0.90925, 'D'},
    {11019.0, 216.650, 22632.0, 0.36392, 'D'},
};

static void test_standard_atmosphere(void **state)
{
    (void)state;
    struct shv_gas air = dry_air();
    for (size_t i = 0; i < COUNT(icao); i++) {
        struct published p = {"Standard atmosphere", "4-01", icao[i].kind,
                              "US Standard Atmosphere 1976 / ISO 2533 by geometric altitude (ICAO "
                              "Doc 7488 tables, as transcribed in an open atmosphere library)",
                              NULL};
        double t = shv_atmosphere_temperature(icao[i].altitude);
        double pressure = shv_atmosphere_pressure(icao[i].altitude);
        check(&p, icao[i].temperature, t, absolute(0.01), "temperature at %g m, K",
              icao[i].altitude);
        check(&p, icao[i].pressure, pressure, absolute(2.0), "pressure at %g m, Pa",
              icao[i].altitude);
        check(&p, icao[i].density, shv_gas_density(&air, pressure, t), absolute(2e-5),
              "density at %g m, kg/m3", icao[i].altitude);
    }
}

static double geometric(double geopotential)
{
    return 6356766.0 * geopotential / (6356766.0 - geopotential);
}

static void test_geopotential(void **state)
{
    (void)state;
    static const struct published p = {"Standard atmosphere", "4-02", 'R',
                                       "ASHRAE Fundamentals 2017, ch. 1, table 1",
                                       "The table runs over geopotential altitude; printed to "
                                       "whole pascals and tenths of a degree."};
    static const double table[][3] = {{0.0, 101325.0, 15.0},
                                      {500.0, 95461.0, 11.8},
                                      {1000.0, 89875.0, 8.5},
                                      {4000.0, 61640.0, -11.0},
                                      {10000.0, 26436.0, -50.0}};
    for (size_t i = 0; i < COUNT(table); i++) {
        double z = geometric(table[i][0]);
        assert_true(fabs(shv_geopotential_altitude(z) - table[i][0]) < 1e-6);
        check(&p, table[i][1], shv_atmosphere_pressure(z), absolute(1.0), "pressure at %g m, Pa",
              table[i][0]);
        check(&p, table[i][2], shv_atmosphere_temperature(z) - ZERO_CELSIUS, absolute(0.1),
              "temperature at %g m, degC", table[i][0]);
    }
    static const struct published closed = {"Standard atmosphere", "4-03", 'D',
                                            "ISO 2533:1975, closed form, geopotential altitude",
                                            NULL};
    static const double form[][2] = {{1500.0, 84556.0}, {2000.0, 79495.2}, {3000.0, 70108.5}};
    for (size_t i = 0; i < COUNT(form); i++) {
        check(&closed, form[i][1], shv_atmosphere_pressure(geometric(form[i][0])), absolute(1.0),
              "pressure at %g m, Pa", form[i][0]);
    }
}

/* ---- moist air ---- */

static void test_saturation_pressure(void **state)
{
    (void)state;
    static const struct published ashrae = {
        "Moist air", "4-05", 'R', "ASHRAE Fundamentals 2017, ch. 1, table 3",
        "Over ice below 0 degC. The table is of a newer formulation than Hyland and Wexler."};
    static const double table[][2] = {{-20.0, 103.24},  {-5.0, 401.74},  {5.0, 872.6},
                                      {25.0, 3169.7},   {50.0, 12351.3}, {100.0, 101418.0},
                                      {150.0, 476101.4}};
    for (size_t i = 0; i < COUNT(table); i++) {
        check(&ashrae, table[i][1], shv_saturation_pressure(table[i][0] + ZERO_CELSIUS),
              relative(3e-4), "saturation pressure at %g degC, Pa", table[i][0]);
    }
    static const struct published older = {
        "Moist air", "4-06", 'R', "ASHRAE Fundamentals, older edition, ch. 6, tables 2, 3", NULL};
    static const double old[][2] = {{-10.0, 259.90}, {5.0, 872.5}, {20.0, 2338.8}};
    for (size_t i = 0; i < COUNT(old); i++) {
        check(&older, old[i][1], shv_saturation_pressure(old[i][0] + ZERO_CELSIUS), relative(1e-4),
              "saturation pressure at %g degC, Pa", old[i][0]);
    }
    static const struct published if97 = {
        "Moist air", "4-07", 'R', "IAPWS-IF97 release, table 35 (verification value)",
        "Another formulation than the model's (Hyland and Wexler 1983); the two differ by 0.02 %."};
    check(&if97, 3536.58941, shv_saturation_pressure(300.0), relative(3e-4),
          "saturation pressure at 300 K, Pa");
    static const struct published wexler = {
        "Moist air", "4-08", 'D', "Hyland and Wexler 1983, by an open psychrometric library", NULL};
    static const double form[][2] = {
        {15.0, 1705.4}, {20.0, 2338.8}, {25.0, 3169.2}, {30.0, 4246.0}, {40.0, 7383.5}};
    for (size_t i = 0; i < COUNT(form); i++) {
        check(&wexler, form[i][1], shv_saturation_pressure(form[i][0] + ZERO_CELSIUS),
              relative(3e-5), "saturation pressure at %g degC, Pa", form[i][0]);
    }
}

static void test_humidity_ratio(void **state)
{
    (void)state;
    static const struct published table2 = {
        "Moist air", "4-09", 'R', "ASHRAE Fundamentals 2017, ch. 1, table 2",
        "The table is of real gas; the model leaves the enhancement of about 0.5 % out."};
    static const double saturated[][2] = {{5.0, 0.005425}, {25.0, 0.020173}, {50.0, 0.086863}};
    for (size_t i = 0; i < COUNT(saturated); i++) {
        double ps = shv_saturation_pressure(saturated[i][0] + ZERO_CELSIUS);
        check_wider(&table2, saturated[i][1], shv_humidity_ratio(ps, 101325.0), relative(5e-5),
                    relative(0.01), "real-gas enhancement (about 0.5 %) is left out of the model",
                    "humidity ratio, saturated, %g degC", saturated[i][0]);
    }
    static const struct published formula = {"Moist air", "4-10", 'R',
                                             "test of an open psychrometric library, from an "
                                             "independent spreadsheet",
                                             NULL};
    check(&formula, 0.0213603998, shv_humidity_ratio(3169.7, 95461.0), relative(1e-6),
          "humidity ratio at 3169.7 Pa of 95461 Pa");
    static const struct published nag1 = {
        "Moist air", "4-16", 'R',
        "P. K. Nag, Basic and Applied Thermodynamics, ex. 15.1 p. 631, as "
        "worked in a published companion",
        "From vapour pressure as printed; the book reads "
        "saturation pressures off a rounded table."};
    check(&nag1, 0.01862, shv_humidity_ratio(2946.0, 101320.0), relative(0.001),
          "humidity ratio at 32 degC, wet bulb 26 degC");
    check(&nag1, 0.614, 2946.0 / shv_saturation_pressure(32.0 + ZERO_CELSIUS), relative(0.01),
          "relative humidity");
    static const struct published nag2 = {
        "Moist air", "4-17", 'R',
        "P. K. Nag, Basic and Applied Thermodynamics, ex. 15.2 p. 632, as "
        "worked in a published companion",
        NULL};
    check(&nag2, 0.010722,
          shv_humidity_ratio(0.3991 * shv_saturation_pressure(30.0 + ZERO_CELSIUS), 1e5),
          relative(0.001), "humidity ratio at 30 degC, 39.91 %%, 100 kPa");
}

static void test_moist_air(void **state)
{
    (void)state;
    static const struct published chart = {
        "Moist air", "4-12", 'R', "ASHRAE Fundamentals 2017, ch. 1, example 1 (chart reading)",
        "From the relative humidity that was read off."};
    double w = shv_humidity_ratio(0.14 * shv_saturation_pressure(40.0 + ZERO_CELSIUS), 101325.0);
    struct shv_gas gas = moist_air(w);
    check(&chart, 0.0065, w, absolute(2e-4), "humidity ratio at 40 degC, 14 %%");
    check(&chart, 0.896, (1.0 + w) / shv_gas_density(&gas, 101325.0, 40.0 + ZERO_CELSIUS),
          relative(0.001), "volume per kg of dry air, m3/kg");
    static const struct published room = {
        "Moist air", "4-14", 'R',
        "Cengel and Boles, Thermodynamics, 5th ed., ex. 14-1 p. 720, as "
        "worked in a published companion",
        "Room of 75 m3 at 25 degC, 100 kPa, 75 %. Saturation pressure by the model (printed: "
        "3169.8 "
        "Pa)."};
    double vapour = 0.75 * shv_saturation_pressure(25.0 + ZERO_CELSIUS);
    w = shv_humidity_ratio(vapour, 1e5);
    gas = moist_air(w);
    double mass = 75.0 * shv_gas_density(&gas, 1e5, 25.0 + ZERO_CELSIUS);
    check(&room, 97.62, (1e5 - vapour) / 1e3, relative(1e-3), "pressure of the dry air, kPa");
    check(&room, 0.015147, w, relative(1e-3), "humidity ratio");
    check(&room, 85.61, mass / (1.0 + w), relative(1e-3), "mass of dry air, kg");
    check(&room, 1.30, mass * w / (1.0 + w), absolute(5e-3),
          "mass of vapour, kg (printed to 0.01)");
}

/* ---- properties ---- */

static void test_heat_capacity(void **state)
{
    (void)state;
    static const struct published nbs = {
        "Properties of air", "4-18", 'R',
        "NBS Circular 564 (1955), as tabulated for teaching; also Cengel and Boles, table A-2b",
        "Dry air as an ideal gas."};
    static const double table[][3] = {
        {250.0, 1.003, 1.401}, {300.0, 1.005, 1.400}, {350.0, 1.008, 1.398}, {400.0, 1.013, 1.395},
        {450.0, 1.020, 1.391}, {500.0, 1.029, 1.387}, {600.0, 1.051, 1.376}, {700.0, 1.075, 1.364},
        {800.0, 1.099, 1.354}, {1000.0, 1.142, 1.336}};
    struct shv_gas air = dry_air();
    for (size_t i = 0; i < COUNT(table); i++) {
        check(&nbs, table[i][1], gas_cp(&air, table[i][0]) / 1e3, relative(0.005),
              "heat capacity at %g K, kJ/(kg K)", table[i][0]);
        check(&nbs, table[i][2], gas_gamma(&air, table[i][0]), absolute(0.003),
              "ratio of heat capacities at %g K", table[i][0]);
    }
}

static void test_isentropic(void **state)
{
    (void)state;
    static const struct published cengel = {"Properties of air", "4-20", 'R',
                                            "Cengel and Boles, Thermodynamics, 5th ed., ex. 9-5 p. "
                                            "511, table A-17, as worked in a published companion",
                                            NULL};
    struct shv_gas air = dry_air(), simple = constant_air();
    check(&cengel, 540.0, shv_gas_isentropic_temperature(&air, 300.0, 8.0), absolute(1.0),
          "isentropic from 300 K by 8, K");
    check(&cengel, 544.35 - 300.19,
          (shv_gas_enthalpy(&air, 540.0) - shv_gas_enthalpy(&air, 300.0)) / 1e3, relative(0.003),
          "enthalpy from 300 K to 540 K, kJ/kg");
    check(&cengel, 540.0, shv_gas_temperature_after(&air, 300.0, 244160.0), absolute(1.0),
          "temperature after 244.16 kJ/kg, K");
    static const struct published closed = {
        "Properties of air", "4-21", 'D',
        "closed form with gamma 1.4; variable heat capacity by the "
        "older NASA polynomials (nitrogen, oxygen, argon)",
        NULL};
    static const double table[][3] = {{1.2, 316.04, 316.05},
                                      {1.5, 336.85, 336.83},
                                      {1.8, 354.86, 354.77},
                                      {2.0, 365.70, 365.56},
                                      {2.5, 389.78, 389.44}};
    for (size_t i = 0; i < COUNT(table); i++) {
        check(&closed, table[i][1], shv_gas_isentropic_temperature(&simple, 300.0, table[i][0]),
              absolute(0.01), "constant gamma, 300 K by %g, K", table[i][0]);
        check(&closed, table[i][2], shv_gas_isentropic_temperature(&air, 300.0, table[i][0]),
              absolute(0.1), "real air, 300 K by %g, K", table[i][0]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_standard_atmosphere), published_test(test_geopotential),
        published_test(test_saturation_pressure), published_test(test_humidity_ratio),
        published_test(test_moist_air),           published_test(test_heat_capacity),
        published_test(test_isentropic),
    };
    return cmocka_run_group_tests_name("published air", tests, NULL, NULL);
}
