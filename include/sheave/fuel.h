/* Fuels and mixture. */
#ifndef SHEAVE_FUEL_H
#define SHEAVE_FUEL_H

#include <stdbool.h>

#include "sheave/status.h"

struct shv_fuel {
    char *name;            /* owned */
    double stoichiometric; /* kg dry air per kg fuel */
    double heating_value;  /* J/kg, lower */
    double density;        /* kg/m3, liquid */
    double ron;            /* research octane number; NAN when not given */
    double mon;            /* motor octane number; NAN when not given */
    /* What the closed cycle needs besides (docs/model.md, section 8). */
    double vaporisation;    /* J/kg, heat of vaporisation */
    double hydrogen_carbon; /* atoms per atom of carbon */
    double oxygen_carbon;   /* atoms per atom of carbon */
    double molar_mass;      /* kg/mol of the vapour */
    bool by_aki;            /* ron and mon were made from an antiknock index and a sensitivity */
};

/* Share of the fuel's heat released, of the most it can be, for excess-air ratio lambda:
 *   -1.6082 + 4.6509 lambda - 2.0764 lambda^2, held at its top above lambda = 1.12.
 * G. P. Blair, Design and Simulation of Two-Stroke Engines, SAE R-161, 1996, pp. 303-305, spark
 * ignition. Meant for 0.75 <= lambda <= 1.2. */
double shv_fuel_mixture_efficiency(double lambda);

#endif
