/* Factors to the reference conditions of standards. */
#include "published/published.h"
#include "published/textbook.h"
#include "sheave/air.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TOPIC "Power correction"

static void test_factors(void **state)
{
    (void)state;
    static const struct published sae = {
        TOPIC, "5-01", 'D',
        "SAE J1349 (June 1990), formula, spark ignition, naturally "
        "aspirated",
        "The standard counts 0 degC as 273 K."};
    static const struct published iso = {
        TOPIC, "5-02", 'M',
        "ISO 1585 / 80/1269/EEC, formula from memory, exponents confirmed by a "
        "second source",
        "The standard holds its factor valid from 0.93 to 1.07."};
    static const double table[][4] = {{990.0, 25.0, 1.0, 1.0},
                                      {1000.0, 20.0, 0.97836, 0.97803},
                                      {950.0, 30.0, 1.05996, 1.06128},
                                      {900.0, 25.0, 1.1180, 1.12117},
                                      {850.0, 10.0, 1.15932, 1.16413}};
    for (size_t i = 0; i < COUNT(table); i++) {
        double p = 100.0 * table[i][0], t = table[i][1] + 273.0;
        check(&sae, table[i][2], shv_correction_j1349(p, t), absolute(1e-4),
              "factor at %g mbar dry, %g degC", table[i][0], table[i][1]);
        check(&iso, table[i][3], shv_correction_iso1585(p, t), absolute(1e-4),
              "factor at %g mbar dry, %g degC", table[i][0], table[i][1]);
    }
}

/* The standard's factor states how a naturally aspirated engine answers to its air: so the model's
 * own engine must come to the same corrected power everywhere. */
static void test_corrected_power_is_the_same_everywhere(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "5-01", 'P',
        "SAE J1349 (June 1990): corrected power of one engine does not depend on "
        "the air of the day",
        "A 2.0 L engine without blower in the model at other sites, against itself at 990 mbar and "
        "25 "
        "degC. The band of 2 % is ours; the standard states none."};
    struct example e;
    example_load(&e, "5-01-same-engine");
    shv_model_evaluate_stock(e.model, &e.curves);
    double base = example_point(&e, 0)->brake_power;
    for (size_t site = 1; site < e.curves.sites; site++) {
        check(&p, 1.0, example_point(&e, site)->power_j1349 / base, relative(0.02),
              "corrected power, %s", e.study.sites[site].name);
    }
    example_free(&e);
}

static void test_altitude(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "5-10", 'P',
        "Gagg and Farrar 1934, altitude power of aircraft engines: s - (1-s)/7.55, "
        "s the density ratio",
        "The same 2.0 L engine at standard altitudes, against sea level."};
    struct example e;
    example_load(&e, "5-10-altitude");
    shv_model_evaluate_stock(e.model, &e.curves);
    const struct shv_point *sea = example_point(&e, 0);
    double density = sea->ambient_pressure / sea->ambient_temperature;
    for (size_t site = 1; site < e.curves.sites; site++) {
        const struct shv_point *high = example_point(&e, site);
        double s = high->ambient_pressure / high->ambient_temperature / density;
        check_wider(&p, s - (1.0 - s) / 7.55, high->brake_power / sea->brake_power, absolute(0.001),
                    absolute(0.05),
                    "the rule goes with density, the model with pressure and the root of "
                    "temperature, so cold air at altitude helps less; friction differs as well",
                    "power at %s over sea level", e.study.sites[site].name);
    }
    example_free(&e);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_factors),
        published_test(test_corrected_power_is_the_same_everywhere),
        published_test(test_altitude),
    };
    return cmocka_run_group_tests_name("published correction", tests, NULL, NULL);
}
