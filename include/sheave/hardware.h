/* A kit as hardware: whether its belt and bearings carry the load, how its rotors fare over a duty,
 * what it costs at cruise, in money and in mass. Equations: docs/model.md, sections 4, 11 and 12.
 *
 * What a study does not describe is not known: NAN in the results, and no limit of it acts.
 */
#ifndef SHEAVE_HARDWARE_H
#define SHEAVE_HARDWARE_H

#include "sheave/bypass.h"

/* Of a whole kit; NAN where not known. */
struct shv_hardware {
    double price, mass;
    double pulley_diameter;         /* m, the smaller of both */
    double belt_length;             /* m at the pitch line */
    double crank_wrap, blower_wrap; /* rad */
    double belt_width;              /* m */
    double static_tension;          /* N of one side, given or needed */
    double bearing_life;            /* s, at the hardest site */
    double highest_hub_load;        /* N on the blower's nose, running or at rest */
    double over_continuous;         /* share of the duty with rotors above their continuous speed */
    struct shv_bypass_state cruise_open, cruise_shut; /* at the first site */
    double cruise_drag;                 /* W that the rotors take with the bypass open; shut without
                                         * one */
    struct shv_bypass_cost cruise_cost; /* of that */
};

#endif
