/* How far the coolant loop of an air-to-water charge cooler warms in a pull of full throttle: one
 * lumped heat capacity. Equations, sources and what is left out: docs/model.md, section 11.6. */
#ifndef SHEAVE_MODEL_SOAK_H
#define SHEAVE_MODEL_SOAK_H

/* Share of its steady rise that a loop under constant heat has reached: 1 - exp(-time / constant),
 * to be multiplied on the loop's resistance. Time 0 or more, constant 0 or more, both in s and
 * INFINITY allowed; at constant 0 the share is 1 from the start on, at time 0 it is 0. */
double shv_soak_loop_share(double time, double time_constant);

#endif
