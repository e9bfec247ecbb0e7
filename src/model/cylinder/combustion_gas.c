/* Gases of the closed cycle: docs/model.md, sections 8.2 and 8.3. */
#include "model/cylinder/combustion_gas.h"

/* McBride, Zehe and Gordon, NASA/TP-2002-211556 (2002): cp/R in 200-1000 K and 1000-6000 K. Every
 * number was compared with stored copies of that report's data file. */
static const struct {
    double low[7], high[7];
} nasa[CGAS_COUNT] = {
    [CGAS_N2] = {{2.210371497e+04, -3.818461820e+02, 6.082738360e+00, -8.530914410e-03,
                  1.384646189e-05, -9.625793620e-09, 2.519705809e-12},
                 {5.877124060e+05, -2.239249073e+03, 6.066949220e+00, -6.139685500e-04,
                  1.491806679e-07, -1.923105485e-11, 1.061954386e-15}},
    [CGAS_O2] = {{-3.425563420e+04, 4.847000970e+02, 1.119010961e+00, 4.293889240e-03,
                  -6.836300520e-07, -2.023372700e-09, 1.039040018e-12},
                 {-1.037939022e+06, 2.344830282e+03, 1.819732036e+00, 1.267847582e-03,
                  -2.188067988e-07, 2.053719572e-11, -8.193467050e-16}},
    [CGAS_AR] = {{0.0, 0.0, 2.5, 0.0, 0.0, 0.0, 0.0},
                 {2.010538475e+01, -5.992661070e-02, 2.500069401e+00, -3.992141160e-08,
                  1.205272140e-11, -1.819015576e-15, 1.078576636e-19}},
    [CGAS_CO2] = {{4.943650540e+04, -6.264116010e+02, 5.301725240e+00, 2.503813816e-03,
                   -2.127308728e-07, -7.689988780e-10, 2.849677801e-13},
                  {1.176962419e+05, -1.788791477e+03, 8.291523190e+00, -9.223156780e-05,
                   4.863676880e-09, -1.891053312e-12, 6.330036590e-16}},
    [CGAS_H2O] = {{-3.947960830e+04, 5.755731020e+02, 9.317826530e-01, 7.222712860e-03,
                   -7.342557370e-06, 4.955043490e-09, -1.336933246e-12},
                  {1.034972096e+06, -2.412698562e+03, 4.646110780e+00, 2.291998307e-03,
                   -6.836830480e-07, 9.426468930e-11, -4.822380530e-15}},
    [CGAS_CO] = {{1.489045326e+04, -2.922285939e+02, 5.724527170e+00, -8.176235030e-03,
                  1.456903469e-05, -1.087746302e-08, 3.027941827e-12},
                 {4.619197250e+05, -1.944704863e+03, 5.916714180e+00, -5.664282830e-04,
                  1.398814540e-07, -1.787680361e-11, 9.620935570e-16}},
    [CGAS_H2] = {{4.078323210e+04, -8.009186040e+02, 8.214702010e+00, -1.269714457e-02,
                  1.753605076e-05, -1.202860270e-08, 3.368093490e-12},
                 {5.608128010e+05, -8.371504740e+02, 2.975364532e+00, 1.252249124e-03,
                  -3.740716190e-07, 5.936625200e-11, -3.606994100e-15}},
};

/* Dry air of the same report, mol per mol and kg/mol. */
#define AIR_N2 0.78084
#define AIR_O2 0.209476
#define AIR_AR 0.009365
#define AIR_CO2 0.000319
#define AIR_MOLAR_MASS 0.0289651159
#define WATER_MOLAR_MASS 0.01801528

#define CARBON 0.0120107
#define HYDROGEN 0.00100794
#define OXYGEN 0.0159994

/* Heat capacity of fuel vapour, cp/R = a + b T + c T^2 in 300-1000 K: C. R. Ferguson and A. T.
 * Kirkpatrick, Internal Combustion Engines, 2nd ed. 2001, table of curve fits: gasoline as C7H17,
 * methanol. */
static const double gasoline[3] = {4.0652, 6.0977e-2, -1.8801e-5};
static const double methanol[3] = {1.779819, 1.262503e-2, -3.624890e-6};
#define GASOLINE_MOLAR_MASS (7.0 * CARBON + 17.0 * HYDROGEN)
#define METHANOL_MOLAR_MASS (CARBON + 4.0 * HYDROGEN + OXYGEN)

/* Water gas: (H2O)(CO) / ((CO2)(H2)), frozen at about 1740 K (Heywood 1988, section 4.9.2). */
#define WATER_GAS 3.5

/* ---- composition, per kg of dry air ---- */

static double oxygen_per_carbon(const struct shv_cycle_fuel *f)
{
    return 1.0 + 0.25 * f->hydrogen_carbon - 0.5 * f->oxygen_carbon;
}

double cgas_carbon_mass(const struct shv_cycle_fuel *f)
{
    return CARBON + f->hydrogen_carbon * HYDROGEN + f->oxygen_carbon * OXYGEN;
}

double cgas_implied_carbon_mass(const struct shv_cycle_fuel *f)
{
    return oxygen_per_carbon(f) * AIR_MOLAR_MASS / (AIR_O2 * f->stoichiometric);
}

struct cgas_amounts cgas_fresh(const struct shv_cycle_fuel *f, double lambda, double humidity_ratio)
{
    const double air = 1.0 / AIR_MOLAR_MASS;
    struct cgas_amounts a = {.mol = {[CGAS_N2] = AIR_N2 * air,
                                     [CGAS_O2] = AIR_O2 * air,
                                     [CGAS_AR] = AIR_AR * air,
                                     [CGAS_CO2] = AIR_CO2 * air,
                                     [CGAS_H2O] = humidity_ratio / WATER_MOLAR_MASS},
                             .fuel = 1.0 / (lambda * f->stoichiometric)};
    a.mass = 1.0 + humidity_ratio + a.fuel;
    return a;
}

/* CO2 when there is too little oxygen: carbon, hydrogen (as H2) and oxygen atoms are shared out so
 * that the water-gas ratio holds; positive root of the quadratic. */
static double rich_co2(double carbon, double hydrogen, double oxygen)
{
    double a = WATER_GAS - 1.0;
    double b = WATER_GAS * (hydrogen - oxygen + carbon) + oxygen;
    double c = (oxygen - carbon) * carbon;
    return 2.0 * c / (b + sqrt(b * b + 4.0 * a * c));
}

struct cgas_amounts cgas_burned(const struct shv_cycle_fuel *f, double lambda,
                                double humidity_ratio)
{
    struct cgas_amounts a = cgas_fresh(f, lambda, humidity_ratio);
    double *n = a.mol;
    double from_fuel = n[CGAS_O2] / (lambda * oxygen_per_carbon(f));
    double carbon = n[CGAS_CO2] + from_fuel;
    double hydrogen = n[CGAS_H2O] + 0.5 * f->hydrogen_carbon * from_fuel;
    a.fuel = 0.0;
    if (lambda >= 1.0) {
        n[CGAS_O2] *= 1.0 - 1.0 / lambda;
        n[CGAS_CO2] = carbon;
        n[CGAS_H2O] = hydrogen;
        return a;
    }
    double oxygen = 2.0 * (n[CGAS_O2] + n[CGAS_CO2]) + n[CGAS_H2O] + f->oxygen_carbon * from_fuel;
    double co2 = rich_co2(carbon, hydrogen, oxygen);
    n[CGAS_O2] = 0.0;
    n[CGAS_CO2] = co2;
    n[CGAS_CO] = carbon - co2;
    n[CGAS_H2O] = oxygen - carbon - co2;
    n[CGAS_H2] = hydrogen - n[CGAS_H2O];
    return a;
}

/* ---- properties ---- */

static void add(struct cgas_range *c, const double *coefficients, int first, int count,
                double factor)
{
    for (int i = 0; i < count; i++) {
        c->b[first + i] += factor * coefficients[i];
    }
}

/* So that cp per kg of alcohols and of their blends falls as it should. */
double cgas_alcohol_share(const struct shv_cycle_fuel *f)
{
    double oxygen = f->oxygen_carbon * OXYGEN / cgas_carbon_mass(f);
    return shv_min(1.0, oxygen / (OXYGEN / METHANOL_MOLAR_MASS));
}

/* Beyond the range of the fits the heat capacity stays that of 1000 K. */
static void add_fuel(struct cgas *g, const struct shv_cycle_fuel *f, double share)
{
    double alcohol = cgas_alcohol_share(f);
    double of_gasoline = share * (1.0 - alcohol) * CGAS_MOLAR_R / GASOLINE_MOLAR_MASS;
    double of_methanol = share * alcohol * CGAS_MOLAR_R / METHANOL_MOLAR_MASS;
    struct cgas_range vapour = {.b = {0.0}};
    add(&vapour, gasoline, 2, 3, of_gasoline);
    add(&vapour, methanol, 2, 3, of_methanol);
    add(&g->low, vapour.b, 0, 7, 1.0);
    g->high.b[2] += cgas_cp_in(&vapour, CGAS_T_SPLIT, 1.0 / CGAS_T_SPLIT);
    g->r += share * CGAS_MOLAR_R / f->molar_mass;
}

/* Constants of integration: h is 0 at 298.15 K; h and s go on smoothly at 1000 K. */
static void set_integrals(struct cgas *g)
{
    const double t = CGAS_T_SPLIT, log_t = shv_log(t);
    g->low.h = g->low.s = g->high.h = g->high.s = 0.0;
    g->low.h = -cgas_enthalpy(g, CGAS_T_REFERENCE);
    g->low.s = -cgas_entropy(g, CGAS_T_REFERENCE);
    g->high.h = cgas_h_in(&g->low, t, 1.0 / t, log_t) - cgas_h_in(&g->high, t, 1.0 / t, log_t);
    g->high.s = cgas_s_in(&g->low, t, 1.0 / t, log_t) - cgas_s_in(&g->high, t, 1.0 / t, log_t);
}

struct cgas cgas_of(const struct cgas_amounts *amounts, const struct shv_cycle_fuel *fuel)
{
    struct cgas g = {0};
    for (int i = 0; i < CGAS_COUNT; i++) {
        double r = CGAS_MOLAR_R * amounts->mol[i] / amounts->mass;
        g.r += r;
        add(&g.low, nasa[i].low, 0, 7, r);
        add(&g.high, nasa[i].high, 0, 7, r);
    }
    if (amounts->fuel > 0.0) {
        add_fuel(&g, fuel, amounts->fuel / amounts->mass);
    }
    set_integrals(&g);
    return g;
}

struct cgas cgas_air(void)
{
    const double air = 1.0 / AIR_MOLAR_MASS;
    struct cgas_amounts a = {.mol = {[CGAS_N2] = AIR_N2 * air,
                                     [CGAS_O2] = AIR_O2 * air,
                                     [CGAS_AR] = AIR_AR * air,
                                     [CGAS_CO2] = AIR_CO2 * air},
                             .mass = 1.0};
    return cgas_of(&a, NULL);
}

struct cgas cgas_constant(double gas_constant, double heat_capacity)
{
    struct cgas g = {.r = gas_constant};
    g.low.b[2] = g.high.b[2] = heat_capacity;
    set_integrals(&g);
    return g;
}
