/* What follows from the atoms of a fuel, for checks of the table of fuels and of blends. Air and
 * oxygen by the gases of the closed cycle. */
#ifndef SHEAVE_TESTS_SUPPORT_COMPOSITION_H
#define SHEAVE_TESTS_SUPPORT_COMPOSITION_H

#include "model/cylinder/blend.h"
#include "model/cylinder/combustion_gas.h"

static inline struct shv_cycle_fuel composition_fuel(const struct shv_composition *c)
{
    struct shv_cycle_fuel f = {.stoichiometric = 1.0,
                               .hydrogen_carbon = c->hydrogen / c->carbon,
                               .oxygen_carbon = c->oxygen / c->carbon};
    f.stoichiometric = cgas_implied_carbon_mass(&f) / cgas_carbon_mass(&f);
    return f;
}

/* kg/mol */
static inline double composition_molar_mass(const struct shv_composition *c)
{
    struct shv_cycle_fuel f = composition_fuel(c);
    return c->carbon * cgas_carbon_mass(&f);
}

/* kg dry air that burn a kg. */
static inline double composition_air(const struct shv_composition *c)
{
    return composition_fuel(c).stoichiometric;
}

/* mol O2 that burn a mol. */
static inline double composition_oxygen(const struct shv_composition *c)
{
    struct shv_cycle_fuel f = composition_fuel(c);
    struct cgas_amounts a = cgas_fresh(&f, 1.0, 0.0);
    return a.mol[CGAS_O2] / a.fuel * composition_molar_mass(c);
}

/* Lower, J/kg, from the enthalpy of formation (J/mol, 298.15 K) of the fuel, with -393475 for CO2
 * and -241831 for H2O vapour (Active Thermochemical Tables 1.112). */
static inline double composition_heating_value(const struct shv_composition *c, double formation)
{
    double products = c->carbon * -393475.0 + c->hydrogen / 2.0 * -241831.0;
    return (formation - products) / composition_molar_mass(c);
}

#endif
