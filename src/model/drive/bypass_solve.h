/* Solving the cruise point of a throttled blower with a bypass valve: docs/model.md, section 11.2.
 */
#ifndef SHEAVE_MODEL_BYPASS_SOLVE_H
#define SHEAVE_MODEL_BYPASS_SOLVE_H

#include "sheave/bypass.h"

/* kg/s through an opening of `area` m2, discharge coefficient included, from p Pa and t K, which
 * loses the share `lost` (above 0) of its pressure on the way: nozzle function of blower.h with
 * gamma at t; exact also where the share is small. */
double opening_flow(const struct shv_gas *gas, double area, double p, double t, double lost);

/* What stays while the inlet pressure is looked for. */
struct cruise {
    const struct shv_gas *gas;
    const struct shv_blower *blower;
    double speed;             /* rev/s */
    double p_ahead, p2;       /* Pa */
    double t0, h0;            /* fresh air */
    double engine_flow;       /* kg/s */
    double area;              /* m2, valve */
    double fill_volume;       /* m3/s taken up by the rotors; not used for a map */
    double windage, friction; /* W */
    double kept_heat;         /* 1 - case loss */
};

/* Takes over a checked cruise point, valve shut. */
struct cruise cruise_of(const struct shv_bypass_cruise *given);

/* Fills `state`; its outcome tells whether there is an answer. */
void cruise_solve(const struct cruise *c, struct shv_bypass_state *state);

#endif
