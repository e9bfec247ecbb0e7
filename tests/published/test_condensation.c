/* Water that condenses in a charge cooler against psychrometric tables and a worked cooling coil.
 */
#include "model/path/condense.h"
#include "published/published.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TOPIC "Condensation"

/* Air of this humidity ratio through a core so large that it leaves at the coolant's temperature.
 */
static struct wet_core large_core(struct shv_gas *gas, double flow, double humidity, double t2,
                                  double coolant)
{
    const struct shv_air_model air = {.kind = SHV_AIR_NASA};
    shv_gas_init(gas, &air, humidity);
    return (struct wet_core){.gas = gas,
                             .flow = flow,
                             .humidity = humidity,
                             .t2 = t2,
                             .p_out = 101325.0,
                             .share = 1.0 - 1e-9,
                             .source = coolant};
}

/* W taken from what comes in. */
static double heat_of(const struct wet_core *c, const struct wet_out *o)
{
    return c->flow * (shv_gas_enthalpy(c->gas, c->t2) - shv_gas_enthalpy(c->gas, o->tm)) +
           o->water * water_latent_heat(o->tm);
}

static void test_saturated_air(void **state)
{
    (void)state;
    static const struct published p = {TOPIC, "psychrometric table", 'M',
                                       "ASHRAE Fundamentals, chapter 1, thermodynamic properties "
                                       "of moist air at 101.325 kPa, from "
                                       "memory",
                                       "What leaves a very large core at that temperature, air of "
                                       "60 degC and 40 g/kg coming in. The "
                                       "table is of real gas, which holds 0.5 % more water."};
    static const double row[][2] = {{10.0, 7.661}, {20.0, 14.758}, {30.0, 27.329}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct shv_gas gas;
        struct wet_core c = large_core(&gas, 1.0, 0.040, 333.15, row[i][0] + 273.15);
        struct wet_out o = condense_in(&c);
        check(&p, row[i][1], 1e3 * o.humidity, relative(0.006), "g/kg at %g degC", row[i][0]);
        check(&p, row[i][0], o.tm - 273.15, absolute(1e-4), "outlet, degC");
    }
}

static void test_latent_heat(void **state)
{
    (void)state;
    static const struct published p = {TOPIC, "steam table", 'M',
                                       "Cengel and Boles, Thermodynamics, table A-4, from memory",
                                       "Heat of vaporisation of water, kJ/kg."};
    static const double row[][2] = {{10.0, 2477.2}, {25.0, 2441.7}, {40.0, 2406.0}, {60.0, 2357.7}};
    for (size_t i = 0; i < COUNT(row); i++) {
        check(&p, row[i][1], water_latent_heat(row[i][0] + 273.15) / 1e3, relative(0.003),
              "at %g degC", row[i][0]);
    }
}

static void test_cooling_coil(void **state)
{
    (void)state;
    static const struct published p = {
        TOPIC, "cooling coil", 'M',
        "ASHRAE Fundamentals, chapter 1, example of moist air cooling and dehumidification, from "
        "memory",
        "5.70 kg/s of dry air with 13.3 g/kg at 30 degC, processed to saturation at 10 degC."};
    struct shv_gas gas;
    struct wet_core c = large_core(&gas, 5.70 * 1.0133, 0.0133, 303.15, 283.15);
    struct wet_out o = condense_in(&c);
    check(&p, 197.0, heat_of(&c, &o) / 1e3, relative(0.005), "heat, kW");
    check(&p, 5.70 * (0.0133 - 0.00766), o.water, relative(0.01), "water, kg/s");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_saturated_air),
        published_test(test_latent_heat),
        published_test(test_cooling_coil),
    };
    return cmocka_run_group_tests_name("published condensation", tests, NULL, NULL);
}
