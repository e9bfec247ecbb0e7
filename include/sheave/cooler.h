/* The charge cooler by effectiveness and number of transfer units (NTU), after Kays and London,
 * Compact Heat Exchangers. Equations: docs/model.md, section 5.
 *
 * Everything here is written for the charge side: effectiveness is the charge's temperature drop
 * over the largest possible one, NTU = UA / C_charge, capacity ratio R = C_charge / C_coolant (may
 * exceed 1). With C_charge the smaller one these are the usual definitions.
 */
#ifndef SHEAVE_COOLER_H
#define SHEAVE_COOLER_H

#include "sheave/part.h"

enum shv_cooler_arrangement {
    SHV_COOLER_SINGLE_STREAM, /* coolant of constant temperature: 1 - exp(-NTU) */
    SHV_COOLER_COUNTERFLOW,
    SHV_COOLER_PARALLEL,
    SHV_COOLER_CROSSFLOW_UNMIXED,      /* both unmixed; the exact series */
    SHV_COOLER_CROSSFLOW_CHARGE_MIXED, /* charge mixed, coolant unmixed */
    SHV_COOLER_CROSSFLOW_COOLANT_MIXED /* coolant mixed, charge unmixed */
};

/* A family of cores, one for each effectiveness the study lists. Effectiveness and pressure drop
 * hold at the rated flow. */
struct shv_cooler {
    char *name; /* owned; "none" for no cooler */
    bool is_none;
    enum shv_cooler_arrangement arrangement;
    struct shv_numbers effectiveness;   /* choices for the sweep; one for none */
    double rated_flow;                  /* kg/s of charge air */
    double pressure_drop;               /* Pa at rated flow and rated density, for a core of
                                         * pressure_drop_effectiveness; goes with NTU */
    double pressure_drop_effectiveness; /* the effectiveness for which pressure_drop is given */
    double rated_density;               /* kg/m3 at the core's inlet, for pressure_drop */
    double ntu_exponent;                /* NTU = NTU_rated (m / m_rated)^-exponent */
    double coolant_rise;                /* K of the coolant source above site ambient */
    double coolant_temperature;         /* K, fixed source temperature; NAN: ambient + rise */
    double coolant_capacity;            /* W/K of the coolant flow; INFINITY: not limiting */
    double radiator_effectiveness;      /* of the front radiator; 0: no loop */
    double radiator_capacity;           /* W/K of the smaller stream at the front radiator */
    double loop_heat;                   /* J/K of the coolant loop; 0: it warms at once */
    struct shv_worth worth, per_ntu;    /* of a core; per_ntu times its NTU at rated flow comes on
                                         * top */
};

/* NTU that gives this effectiveness, by bisection; INFINITY when it can't be reached, or in unmixed
 * cross flow only with more than 10 transfer units of either stream. */
double shv_cooler_ntu(enum shv_cooler_arrangement arrangement, double effectiveness,
                      double capacity_ratio);

/* Heat capacity of the charge in capacity ratios, J/(kg K): docs/model.md, section 5. */
#define SHV_COOLER_RATIO_CP 1006.0
/* Capacity ratio at rated flow, at which the stated effectiveness holds; 0 when the coolant does
 * not limit. */
double shv_cooler_rated_ratio(const struct shv_cooler *cooler);

/* Temperature rise of the coolant entering the charge cooler per watt rejected, K/W, in the steady
 * state of a loop through a front radiator: 1/(eff C_min) - 1/C_coolant; 0 when there is no loop.
 */
double shv_cooler_loop_resistance(const struct shv_cooler *cooler);

#endif
