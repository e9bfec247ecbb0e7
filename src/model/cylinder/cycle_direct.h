/* Knock-limited phasings of many points side by side: the same answer as shv_cycle_knock_limit()
 * gives one by one, phasings within 1e-6 deg, so that tables can be measured against it.
 */
#ifndef SHEAVE_MODEL_CYCLE_DIRECT_H
#define SHEAVE_MODEL_CYCLE_DIRECT_H

#include "model/cylinder/cycle_root.h"

struct cycle_direct {
    struct shv_cycle_case at; /* speed, pressures, temperature */
    double retard;            /* deg later than knock asks for, within the limits of phasing */
    double guess;             /* deg, of the phasing that knock asks for; only saves cycles */
    /* The answer; of `task` phasing and results, when the outcome says there is one. */
    enum shv_cycle_outcome outcome;
    struct cycle_task task;
    uint64_t cycles;
};

/* `c` is prepared for one of them; all have its engine, fuel, speed, step and gas. */
void cycle_direct_solve(const struct cycle *c, struct cycle_direct *points, size_t count);

#endif
