/* Water in a charge cooler: balances, limits, and that nothing jumps at the dew point. */
#include "support/study_fixture.h"

#include "model/path/condense.h"

static struct shv_gas moist(double humidity)
{
    struct shv_gas gas;
    shv_gas_init(&gas, &(struct shv_air_model){.kind = SHV_AIR_NASA}, humidity);
    return gas;
}

static struct wet_core core_of(const struct shv_gas *gas, double humidity)
{
    return (struct wet_core){.gas = gas,
                             .flow = 0.15,
                             .humidity = humidity,
                             .t2 = 400.0,
                             .p_out = 190e3,
                             .share = 0.97,
                             .source = 290.0};
}

static double full(double t, double p)
{
    return shv_humidity_ratio(shv_saturation_pressure(t), p);
}

static void dew_point_of_saturated_air(void **state)
{
    (void)state;
    for (double t = 260.0; t < 340.0; t += 7.0) {
        double w = full(t, 150e3);
        assert_false(condense_begins(w, 150e3, t + 0.001));
        assert_true(condense_begins(w, 150e3, t - 0.001));
    }
}

/* Enthalpy of saturated gas over a dry kilogram, liquid gone. */
static double enthalpy(const struct wet_core *c, double t)
{
    double w = fmin(full(t, c->p_out), c->humidity);
    return (1.0 + c->humidity) * shv_gas_enthalpy(c->gas, t) -
           (c->humidity - w) * water_latent_heat(t);
}

/* The relation of the page, with the coolant where its loop puts it. */
static void the_relation_holds(void **state)
{
    (void)state;
    uint64_t seed = 17;
    int wet = 0;
    for (int i = 0; i < 2000; i++) {
        double w = random_in(&seed, 0.008, 0.05);
        struct shv_gas gas = moist(w);
        struct wet_core c = core_of(&gas, w);
        c.t2 = random_in(&seed, 330.0, 460.0);
        c.p_out = random_in(&seed, 100e3, 300e3);
        c.share = random_in(&seed, 0.6, 0.999);
        c.source = random_in(&seed, 270.0, 305.0);
        c.loop = random_in(&seed, 0.0, 4e-4);
        double dry = 0.0, cold = c.source; /* the dry outlet, by substitution */
        for (int k = 0; k < 200; k++) {
            dry = c.t2 - c.share * (c.t2 - cold);
            cold = c.source +
                   c.loop * c.flow * (shv_gas_enthalpy(&gas, c.t2) - shv_gas_enthalpy(&gas, dry));
        }
        if (!condense_begins(w, c.p_out, dry)) {
            continue;
        }
        wet++;
        struct wet_out o = condense_in(&c);
        double per_dry = c.flow / (1.0 + w);
        assert_relative(o.humidity, full(o.tm, c.p_out), 1e-12);
        assert_relative(o.water, per_dry * (w - o.humidity), 1e-12);
        assert_true(o.tm > dry && o.tm < c.t2 && o.water > 0.0);
        double in = (1.0 + w) * shv_gas_enthalpy(&gas, c.t2);
        cold = c.source + c.loop * per_dry * (in - enthalpy(&c, o.tm));
        double low = cold, high = c.t2; /* the dew point, by bisection */
        for (int k = 0; k < 100; k++) {
            double middle = 0.5 * (low + high);
            *(condense_begins(w, c.p_out, middle) ? &low : &high) = middle;
        }
        double left = (1.0 - c.share) * (c.t2 - cold) / (low - cold);
        double h_cold = enthalpy(&c, cold);
        assert_within(enthalpy(&c, o.tm) - h_cold, left * (enthalpy(&c, low) - h_cold), 1.0);
    }
    assert_true(wet > 300);
}

/* From just below the dew point on: as dry as before, and as little water as one likes. */
static void nothing_jumps_at_the_dew_point(void **state)
{
    (void)state;
    struct shv_gas gas = moist(0.02);
    struct wet_core c = core_of(&gas, 0.02);
    double low = 290.0, high = 400.0;
    for (int k = 0; k < 100; k++) {
        double middle = 0.5 * (low + high);
        *(condense_begins(0.02, c.p_out, middle) ? &low : &high) = middle;
    }
    c.share = (c.t2 - (low - 1e-5)) / (c.t2 - c.source); /* the dry outlet a hair below it */
    struct wet_out o = condense_in(&c);
    assert_within(o.tm, low, 1e-4);
    assert_true(o.water > 0.0 && o.water < 1e-6 * c.flow);
}

/* All transfer units that one likes: gas leaves saturated at the coolant's temperature. */
static void a_large_core_reaches_the_coolant(void **state)
{
    (void)state;
    struct shv_gas gas = moist(0.02);
    struct wet_core c = core_of(&gas, 0.02);
    c.share = 1.0 - 1e-12;
    struct wet_out o = condense_in(&c);
    assert_within(o.tm, c.source, 1e-6);
    assert_relative(o.humidity, full(c.source, c.p_out), 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dew_point_of_saturated_air),
        cmocka_unit_test(the_relation_holds),
        cmocka_unit_test(nothing_jumps_at_the_dew_point),
        cmocka_unit_test(a_large_core_reaches_the_coolant),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
