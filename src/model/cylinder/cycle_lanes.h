/* Closed cycles side by side: one engine, fuel, speed and step, each lane with its own pressures,
 * temperatures and phasing. The same bits as one alone, whatever the instruction set and whatever
 * the other lanes hold: a lane's arithmetic is that of cycle_physics.h, and what goes through
 * rounds is frozen once its own have come to an end.
 *
 *   cycle_lanes.c            choice of the version for the processor, residual temperatures
 *   cycle_lane_body.h        the loops, compiled by the next four
 *   cycle_lanes_baseline.c, cycle_lanes_avx2.c, cycle_lanes_avx512.c, cycle_lanes_alone.c
 */
#ifndef SHEAVE_MODEL_CYCLE_LANES_H
#define SHEAVE_MODEL_CYCLE_LANES_H

#include "model/cylinder/cycle_internal.h"

/* Two vectors of the widest kind, so that one computes while the other waits. */
#define CYCLE_LANES ((size_t)16)

/* A gas per lane: gas constant, then both ranges as b0..b6, h, s. */
#define CYCLE_GAS_NUMBERS 19
struct cycle_lane_gas {
    double n[CYCLE_GAS_NUMBERS][CYCLE_LANES];
};

/* What goes into a block and comes out of it. */
struct cycle_lane_in {
    double exhaust_pressure[CYCLE_LANES];
    double charge_temperature[CYCLE_LANES], fresh_enthalpy[CYCLE_LANES];
    double fresh_mass[CYCLE_LANES];
    double efficiency[CYCLE_LANES]; /* share of the fuel's heat released */
    double ca50[CYCLE_LANES];
    double residual[CYCLE_LANES]; /* K */
};

struct cycle_lane_out {
    double valid[CYCLE_LANES]; /* 1, or 0: no answer, and the rest means nothing */
    double gross_efficiency[CYCLE_LANES], peak_pressure[CYCLE_LANES], peak_angle[CYCLE_LANES];
    double exhaust_temperature[CYCLE_LANES], knock_integral[CYCLE_LANES];
    double residual[CYCLE_LANES]; /* K, that the cycle ends with */
};

typedef void cycle_lane_run(const struct cycle *c, const struct cycle_lane_in *in,
                            struct cycle_lane_out *out);

struct cycle_lane_loops {
    const char *name;
    cycle_lane_run *run;
};

/* One cycle: only the first of each array counts. Fills of `result` what the lanes have no use for:
 * charge, burning, states at the valves, end gas, work and heat, and the sum of the corrections
 * that close the first law, J, as energy_drift. `trace` may be NULL. */
void cycle_alone(const struct cycle *c, const struct cycle_lane_in *in, struct cycle_lane_out *out,
                 const struct shv_cycle_trace *trace, struct shv_cycle_result *result);

extern const struct cycle_lane_loops cycle_lanes_baseline;
#if defined(__x86_64__)
extern const struct cycle_lane_loops cycle_lanes_avx2;
extern const struct cycle_lane_loops cycle_lanes_avx512;
#endif

/* The widest that this processor runs. */
const struct cycle_lane_loops *cycle_lanes_best(void);

/* ---- cycles with their residual gas ---- */

/* One cycle to be solved, and its answer. */
struct cycle_task {
    double exhaust_pressure, charge_temperature, fresh_enthalpy, fresh_mass;
    double efficiency, ca50;
    /* K: where to start, then the answer; or given. */
    double residual;
    /* What the cycle ends with less what it began with, per K that it began with: about -1. A start
     * that is close, with a slope that is, saves rounds. */
    double residual_slope;
    bool given;
    bool answered; /* what follows is only then filled */
    double gross_efficiency, peak_pressure, peak_angle, exhaust_temperature, knock_integral;
    uint64_t cycles; /* integrations */
};

#define CYCLE_USUAL_SLOPE (-1.0)

/* A task of the case that `c` was prepared for, except that pressures and temperature are its own.
 */
struct cycle_task cycle_task_at(const struct cycle *c, const struct shv_cycle_case *at,
                                double ca50);

/* Solves all. `c` has engine, fuel, speed, step and gas. */
void cycle_solve_tasks(const struct cycle *c, struct cycle_task *tasks, size_t count);

#endif
