/* Fuel metering and what a mixture gives. Fuel tables are read through the reader of units, as they
 * stand in print. */
#include "published/published.h"
#include "published/textbook.h"
#include "sheave/fuel.h"
#include "sheave/units.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static void test_mixture_efficiency(void **state)
{
    (void)state;
    static const struct published blair = {
        "Mixture", "Blair", 'P',
        "G. P. Blair, Design and Simulation of Two-Stroke Engines, 1996, pp. "
        "303-305, by a public summary",
        "Share of the fuel's heat released, spark ignition."};
    check(&blair, 0.87, shv_fuel_mixture_efficiency(0.875), absolute(0.005), "at lambda 0.875");
    check(&blair, 1.0, shv_fuel_mixture_efficiency(1.12), absolute(0.005),
          "at lambda 1.12, the top");
    static const struct published heywood = {
        "Mixture", "practice", 'X',
        "common practice, no source: a spark-ignition engine gives most "
        "power at lambda 0.85 to 0.91",
        "Where heat per air, mix/lambda, is greatest."};
    double best = 0.7;
    for (double l = 0.7; l < 1.2; l += 0.001) {
        if (shv_fuel_mixture_efficiency(l) / l > shv_fuel_mixture_efficiency(best) / best) {
            best = l;
        }
    }
    check(&heywood, 0.88, best, absolute(0.03), "lambda of most heat per air");
}

/* Air and fuel of a point, and its air-fuel ratio by mass of dry air. */
static void check_ratio(const struct published *p, const char *study, double expected,
                        double allowed, const char *what)
{
    struct example e;
    example_load(&e, study);
    const struct shv_point *point = example_blown(&e, 0, 0.12);
    check(p, expected, point->dry_air_flow / point->fuel_flow, relative(allowed), "%s", what);
    example_free(&e);
}

static void test_metering(void **state)
{
    (void)state;
    static const struct published methanol = {
        "Fuel metering", "7-06", 'R',
        "H. N. Gupta, Fundamentals of IC Engines, 2006, ex. 3.1 p. 66, as "
        "worked in a published companion",
        "CH3OH, 20 % excess air; stoichiometric 6.435 as printed. "
        "The study runs in humid air, which must not count."};
    check_ratio(&methanol, "7-06-methanol", 7.722, 1e-3, "air over fuel by mass");
    static const struct published moran = {
        "Fuel metering", "7-01", 'R',
        "Moran and Shapiro, Fundamentals of Engineering Thermodynamics, "
        "5th ed., ex. 13.1 p. 624, as worked in a published companion",
        "Octane at theoretical air. Its second case, 150 % air, lies beyond what a study accepts."};
    check_ratio(&moran, "7-01-octane", 15.09, 1e-3, "air over fuel by mass");
}

struct printed {
    const char *text;
    enum shv_quantity quantity;
    double scale, expected, allowed;
    const char *what;
};

static void check_printed(const struct published *p, const struct printed *row)
{
    struct shv_units *units;
    struct shv_message message;
    double value = NAN;
    assert_int_equal(shv_units_open(&units, &message), SHV_OK);
    enum shv_status status = shv_units_read(units, row->quantity, row->text, &value, &message);
    shv_units_free(units);
    assert_int_equal(status, SHV_OK);
    check(p, row->expected, value / row->scale, relative(row->allowed), "%s, read from \"%s\"",
          row->what, row->text);
}

static void test_fuel_tables(void **state)
{
    (void)state;
    static const struct published doe = {"Fuel tables", "7-10 to 7-12", 'P',
                                         "US Department of Energy, Alternative Fuels Data Center, "
                                         "Properties of Fuels",
                                         NULL};
    static const struct printed row[] = {
        {"18676 Btu/lb", SHV_Q_SPECIFIC_ENERGY, 1e6, 43.44, 5e-4, "gasoline, lower, MJ/kg"},
        {"20004 Btu/lb", SHV_Q_SPECIFIC_ENERGY, 1e6, 46.53, 5e-4, "gasoline, higher, MJ/kg"},
        {"8637 Btu/lb", SHV_Q_SPECIFIC_ENERGY, 1e6, 20.09, 5e-4, "methanol, lower, MJ/kg"},
        {"11585 Btu/lb", SHV_Q_SPECIFIC_ENERGY, 1e6, 26.95, 5e-4, "ethanol, lower, MJ/kg"},
        {"6.63 lb/US_liquid_gallon", SHV_Q_DENSITY, 1.0, 794.0, 1e-3, "methanol, density, kg/m3"},
        {"6.61 lb/US_liquid_gallon", SHV_Q_DENSITY, 1.0, 792.0, 1e-3, "ethanol, density, kg/m3"},
    };
    for (size_t i = 0; i < COUNT(row); i++) {
        check_printed(&doe, &row[i]);
    }
    static const struct published pump = {"Fuel tables", "8-08", 'D',
                                          "1 lb/h of gasoline as volume flow, 10.5 cm3/min at 720 "
                                          "kg/m3",
                                          NULL};
    static const struct printed flow = {"1 lb/h", SHV_Q_MASS_FLOW, 720.0 * 1e-6 / 60.0, 10.5,
                                        1e-3,     "cm3/min"};
    check_printed(&pump, &flow);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_mixture_efficiency),
        published_test(test_metering),
        published_test(test_fuel_tables),
    };
    return cmocka_run_group_tests_name("published fuel", tests, NULL, NULL);
}
