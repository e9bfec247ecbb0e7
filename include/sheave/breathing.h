/* What the engine draws at one speed: plain numbers, nothing owned. */
#ifndef SHEAVE_BREATHING_H
#define SHEAVE_BREATHING_H

/* How the engine fills at one speed with one fuel and mixture (docs/model.md, section 6): flow of
 * air, kg/s,
 *
 *   m = capacity (a pm - b pe) / (kept Tm + added)
 *
 * with pm, Tm in the manifold and pe at the exhaust valve; and what the stock engine says of the
 * cycle at that speed. */
struct shv_breathing {
    double capacity;       /* kg K/(s Pa), above 0 */
    double a, b;           /* above 0; 0 or more */
    double kept, added;    /* of the temperature, K; their sum above 0 K at any */
    double cycle_time;     /* s: a cylinder takes in so much per cycle of a flow of 1 kg/s */
    double burn_reference; /* as in shv_cycle_case */
    double delay_factor;
};

#endif
