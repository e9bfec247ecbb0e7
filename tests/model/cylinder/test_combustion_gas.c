/* Gases of the closed cycle: tables, laws of thermodynamics, atoms. */
#include "model/path/gas.h"
#include "model/cylinder/combustion_gas.h"
#include "support/cycle_fixture.h"

#include "sheave/air.h"

static struct cgas pure(enum cgas_species s)
{
    struct cgas_amounts a = {.mass = 1.0}; /* 1 mol in 1 kg: properties per mol */
    a.mol[s] = 1.0;
    return cgas_of(&a, NULL);
}

/* NIST-JANAF tables, 4th ed. 1998 [memory], kJ/mol: h(1000) - h(298.15) and h(2000) - h(298.15). */
static void enthalpies_of_tables(void **state)
{
    (void)state;
    static const struct {
        enum cgas_species species;
        double at_1000, at_2000;
    } janaf[] = {
        {CGAS_N2, 21.463, 56.137},  {CGAS_O2, 22.703, 59.175}, {CGAS_CO2, 33.397, 91.439},
        {CGAS_H2O, 26.000, 72.790}, {CGAS_CO, 21.690, 56.744}, {CGAS_H2, 20.680, 52.951},
        {CGAS_AR, 14.589, 35.375},
    };
    for (size_t i = 0; i < COUNT(janaf); i++) {
        struct cgas g = pure(janaf[i].species);
        assert_relative(cgas_enthalpy(&g, 1000.0), 1e3 * janaf[i].at_1000, 1e-3);
        /* Water is after Woolley 1987 in the newer tables, a little above JANAF when hot. */
        assert_relative(cgas_enthalpy(&g, 2000.0), 1e3 * janaf[i].at_2000,
                        janaf[i].species == CGAS_H2O ? 4e-3 : 1e-3);
        assert_within(cgas_enthalpy(&g, 298.15), 0.0, 1e-8);
        assert_relative(g.r, 8.31451, 1e-15);
    }
}

/* The charge's gas of air.h is one polynomial for air; here air is made of its parts. */
static void air_is_that_of_the_site(void **state)
{
    (void)state;
    struct shv_gas site;
    struct shv_air_model model = {.kind = SHV_AIR_NASA};
    shv_gas_init(&site, &model, 0.0);
    struct cgas air = cgas_air();
    assert_relative(air.r, site.gas_constant, 1e-5);
    for (double t = 250.0; t <= 1000.0; t += 50.0) {
        assert_relative(cgas_cp(&air, t), gas_cp(&site, t), 2e-4);
    }
}

static struct cgas burned_gas(double lambda)
{
    struct cycle_case u = usual_case();
    struct cgas_amounts a = cgas_burned(&u.fuel, lambda, 0.01);
    return cgas_of(&a, &u.fuel);
}

static struct cgas fresh_gas(double oxygen_carbon)
{
    struct cycle_case u = usual_case();
    u.fuel.oxygen_carbon = oxygen_carbon;
    struct cgas_amounts a = cgas_fresh(&u.fuel, 0.9, 0.01);
    return cgas_of(&a, &u.fuel);
}

/* dh = cp dT, ds = cp dT / T, on both sides of the join and across it. */
static void integrals_fit_heat_capacity(void **state)
{
    (void)state;
    struct cgas gases[] = {burned_gas(0.8), burned_gas(1.1), fresh_gas(0.0), fresh_gas(0.5)};
    for (size_t i = 0; i < COUNT(gases); i++) {
        const struct cgas *g = &gases[i];
        for (double t = 250.0; t < 3500.0; t += 50.0) {
            double h = 0.5;
            double dh = (cgas_enthalpy(g, t + h) - cgas_enthalpy(g, t - h)) / (2.0 * h);
            double ds = (cgas_entropy(g, t + h) - cgas_entropy(g, t - h)) / (2.0 * h);
            double far = t == 1000.0 ? 1e-3 : 2e-6; /* cp has a corner at the join */
            assert_relative(dh, cgas_cp(g, t), far);
            assert_relative(ds, cgas_cp(g, t) / t, far);
        }
        double below = cgas_enthalpy(g, 1000.0 - 1e-9), above = cgas_enthalpy(g, 1000.0 + 1e-9);
        assert_within(above - below, 0.0, 1e-4);
    }
}

struct atoms {
    double carbon, hydrogen, oxygen, nitrogen;
};

static struct atoms atoms_of(const struct cgas_amounts *a)
{
    const double *n = a->mol;
    return (struct atoms){n[CGAS_CO2] + n[CGAS_CO], 2.0 * (n[CGAS_H2O] + n[CGAS_H2]),
                          2.0 * (n[CGAS_O2] + n[CGAS_CO2]) + n[CGAS_H2O] + n[CGAS_CO],
                          2.0 * n[CGAS_N2]};
}

/* A fuel whose stoichiometric ratio is that of its atoms. */
static struct shv_cycle_fuel exact_fuel(double hydrogen, double oxygen)
{
    struct cycle_case u = usual_case();
    u.fuel.hydrogen_carbon = hydrogen;
    u.fuel.oxygen_carbon = oxygen;
    u.fuel.stoichiometric *= cgas_implied_carbon_mass(&u.fuel) / cgas_carbon_mass(&u.fuel);
    return u.fuel;
}

static const double molar_mass[CGAS_COUNT] = {
    [CGAS_N2] = 28.0134e-3,  [CGAS_O2] = 31.9988e-3,   [CGAS_AR] = 39.948e-3,
    [CGAS_CO2] = 44.0095e-3, [CGAS_H2O] = 18.01528e-3, [CGAS_CO] = 28.0101e-3,
    [CGAS_H2] = 2.01588e-3};

static void burning_keeps_atoms_and_mass(void **state)
{
    (void)state;
    static const double fuels[][2] = {
        {1.87, 0.0}, {2.25, 0.0}, {3.0, 0.5}, {4.0, 1.0}, {2.1, 0.02}};
    for (size_t i = 0; i < COUNT(fuels); i++) {
        struct shv_cycle_fuel f = exact_fuel(fuels[i][0], fuels[i][1]);
        for (double lambda = 0.6; lambda < 1.8; lambda += 0.05) {
            struct cgas_amounts fresh = cgas_fresh(&f, lambda, 0.02);
            struct cgas_amounts burned = cgas_burned(&f, lambda, 0.02);
            struct atoms in = atoms_of(&fresh), out = atoms_of(&burned);
            double carbon = fresh.fuel / cgas_carbon_mass(&f);
            assert_relative(out.carbon, in.carbon + carbon, 1e-12);
            assert_relative(out.hydrogen, in.hydrogen + carbon * f.hydrogen_carbon, 1e-12);
            assert_relative(out.oxygen, in.oxygen + carbon * f.oxygen_carbon, 1e-12);
            assert_relative(out.nitrogen, in.nitrogen, 1e-15);
            double mass = 0.0;
            for (int k = 0; k < CGAS_COUNT; k++) {
                assert_true(burned.mol[k] >= 0.0);
                mass += burned.mol[k] * molar_mass[k];
            }
            assert_relative(mass, burned.mass, 1e-5);
        }
    }
}

static void rich_products(void **state)
{
    (void)state;
    struct shv_cycle_fuel f = exact_fuel(1.87, 0.0);
    for (double lambda = 0.6; lambda < 0.999; lambda += 0.05) {
        struct cgas_amounts a = cgas_burned(&f, lambda, 0.01);
        const double *n = a.mol;
        assert_relative(n[CGAS_H2O] * n[CGAS_CO] / (n[CGAS_CO2] * n[CGAS_H2]), 3.5, 1e-9);
        assert_within(n[CGAS_O2], 0.0, 0.0);
    }
    /* Both laws meet where the mixture is stoichiometric. */
    struct cgas_amounts below = cgas_burned(&f, 1.0 - 1e-9, 0.01),
                        above = cgas_burned(&f, 1.0, 0.01);
    for (int k = 0; k < CGAS_COUNT; k++) {
        assert_within(below.mol[k], above.mol[k], 1e-7);
    }
}

/* Nothing is left when there is oxygen enough; when oxygen is short, CO and H2 keep more of the
 * heat than the missing oxygen's share, since they give more of it per oxygen than the fuel does.
 */
static double share_released(const struct shv_cycle_fuel *f, double lambda)
{
    struct cgas_amounts a = cgas_burned(f, lambda, 0.0), in = cgas_fresh(f, lambda, 0.0);
    double left = (a.mol[CGAS_CO] * 282.975e3 + a.mol[CGAS_H2] * 241.826e3) / in.fuel;
    return 1.0 - left / f->heating_value;
}

static void heat_left_in_products(void **state)
{
    (void)state;
    struct shv_cycle_fuel f = exact_fuel(1.87, 0.0);
    assert_within(share_released(&f, 1.2), 1.0, 0.0);
    double last = 1.0;
    for (double lambda = 0.98; lambda > 0.6; lambda -= 0.05) {
        double share = share_released(&f, lambda);
        assert_less(share, lambda);
        assert_less(share, last);
        assert_less(lambda - 0.12, share);
        last = share;
    }
}

/* Vapour of gasoline and of methanol by the fits themselves, per mol of C7H17 and CH3OH. */
static void fuel_vapour(void **state)
{
    (void)state;
    struct shv_cycle_fuel f = exact_fuel(17.0 / 7.0, 0.0);
    struct cgas_amounts only = {.fuel = 1.0, .mass = 1.0};
    struct cgas g = cgas_of(&only, &f);
    double t = 700.0;
    assert_relative(cgas_cp(&g, t) * 0.1012098,
                    8.31451 * (4.0652 + 6.0977e-2 * t - 1.8801e-5 * t * t), 1e-5);
    assert_relative(cgas_cp(&g, 2000.0), cgas_cp(&g, 1000.0), 1e-12);
    f = exact_fuel(4.0, 1.0);
    g = cgas_of(&only, &f);
    assert_relative(cgas_cp(&g, t) * 0.0320419,
                    8.31451 * (1.779819 + 1.262503e-2 * t - 3.624890e-6 * t * t), 1e-5);
    /* Ethanol lies between; 107.6 J/(mol K) at 600 K (Poling, Prausnitz and O'Connell [memory]). */
    f = exact_fuel(3.0, 0.5);
    g = cgas_of(&only, &f);
    assert_relative(cgas_cp(&g, 600.0) * 0.0460684, 107.6, 0.03);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(enthalpies_of_tables),
        cmocka_unit_test(air_is_that_of_the_site),
        cmocka_unit_test(integrals_fit_heat_capacity),
        cmocka_unit_test(burning_keeps_atoms_and_mass),
        cmocka_unit_test(rich_products),
        cmocka_unit_test(heat_left_in_products),
        cmocka_unit_test(fuel_vapour),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
