/* How fast the coolant loop of an air-to-water charge cooler warms under full throttle, and how it
 * recovers: one lumped heat capacity. Equations, sources and what is left out: docs/model.md,
 * section 11, section 6.
 *
 * SI throughout. Nothing is allocated.
 */
#ifndef SHEAVE_SOAK_H
#define SHEAVE_SOAK_H

#include "sheave/status.h"

/* C dT/dt = heat + conductance (hot - T) - (T - source) / resistance. */
struct shv_soak_loop {
    double capacity;    /* J/K of coolant, tank, cores and pipes, above 0 */
    double resistance;  /* K/W to the air at the front radiator, 0 or more; as
                         * shv_cooler_loop_resistance; INFINITY without a radiator */
    double source;      /* K that the loop takes without load, above 0: docs/model.md, section 5 */
    double heat;        /* W that does not depend on T, 0 or more */
    double conductance; /* W/K, 0 or more: heat falls as the loop warms */
    double hot;         /* K, above 0; not read without conductance */
};

struct shv_soak_state {
    double temperature;     /* K of the coolant entering the charge cooler */
    double heat;            /* W taken from the charge then */
    double steady;          /* K that it tends to; INFINITY when it has no end */
    double time_constant;   /* s; INFINITY when nothing holds the temperature */
    double loop_resistance; /* K/W, (temperature - source) / heat: what the steady relation of
                             * docs/model.md needs to give this temperature; NAN without heat */
};

/* Share of its steady rise that a loop under constant heat has reached: 1 - exp(-time / constant),
 * to be multiplied on the loop's resistance. Time 0 or more, constant 0 or more, both in s and
 * INFINITY allowed; at constant 0 the share is 1 from the start on, at time 0 it is 0. */
double shv_soak_loop_share(double time, double time_constant);

/* Seconds until no more than `left` of a distance to the steady temperature is left, 0 < left <= 1:
 * time_constant ln(1 / left). */
double shv_soak_recovery_time(double time_constant, double left);

/* Fills `state` for `time` s (0 or more, INFINITY allowed) after the loop stood at `start` K.
 * SHV_BAD_INPUT when a value lies outside its range (the message names it). */
enum shv_status shv_soak_at(const struct shv_soak_loop *loop, double start, double time,
                            struct shv_soak_state *state, struct shv_message *message);

/* *time is when the loop reaches `temperature` K, in s after it stood at `start` K: INFINITY when
 * it tends towards it but does not get there, NAN when it moves away from it, so that it has been
 * passed already. SHV_BAD_INPUT as above. */
enum shv_status shv_soak_time_to(const struct shv_soak_loop *loop, double start, double temperature,
                                 double *time, struct shv_message *message);

#endif
