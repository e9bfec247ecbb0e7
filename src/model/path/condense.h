/* Water that condenses in a charge cooler: docs/model.md, section 5. */
#ifndef SHEAVE_MODEL_CONDENSE_H
#define SHEAVE_MODEL_CONDENSE_H

#include "sheave/air.h"

#define WATER_LATENT_SLOPE 2326.0 /* J/kg/K that the following falls by */

/* Heat of vaporisation of water at t, J/kg, as the psychrometric relations of ASHRAE Fundamentals,
 * chapter 1, have it. */
static inline double water_latent_heat(double t)
{
    return 2501e3 - WATER_LATENT_SLOPE * (t - 273.15);
}

/* A core as its charge sees it. */
struct wet_core {
    const struct shv_gas *gas; /* of the site: whose heat capacity is taken throughout */
    double flow;               /* kg/s in, of this humidity ratio */
    double humidity;
    double t2, p_out;
    double share;        /* effectiveness at this flow */
    double source, loop; /* K and K/W of the coolant */
};

/* What comes out: saturated gas, and the water left behind, kg/s. */
struct wet_out {
    double tm, humidity, water;
};

/* Whether gas of this humidity ratio is below its dew point. */
bool condense_begins(double humidity, double pressure, double t);

/* For a core whose outlet would be below the dew point if nothing condensed. */
struct wet_out condense_in(const struct wet_core *core);

#endif
