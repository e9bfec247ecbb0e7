/* Solving the match of one combination without lanes: docs/model.md, section 7. */
#ifndef SHEAVE_MODEL_SOLVE_H
#define SHEAVE_MODEL_SOLVE_H

#include "model/path/path.h"

/* A solved point: the flows and pressures from which everything else follows. */
struct match_state {
    bool found;
    bool bypass_open, bleeding;
    double blower_flow; /* kg/s */
    double drawn;       /* kg/s into the engine, and of the water that condenses ahead of it */
    double p2;
    struct path_inlet inlet;
};

/* Finds a root of f in [low, high] with f(low) < 0 < f(high) or the reverse, by the Illinois form
 * of regula falsi with bisection steps thrown in. Returns NAN when the ends have the same sign. */
double bracket_root(double (*f)(void *data, double x), void *data, double low, double high);

/* The largest root below `most` of a flow gap that is negative there; NAN without one. */
double bracket_flow(double (*gap)(void *data, double m), void *data, double most);

/* Closed bypass, no bleed: nested bracketing of outlet pressure and flow. For a blower that hardly
 * turns the answer has a fifth of ambient pressure at the outlet and the flows do not agree: the
 * caller opens the bypass. */
void solve_nested(const struct path_shared *s, const struct path_lane *l, struct match_state *m);
/* The bypass is open: the engine draws from the blower's inlet. */
void solve_open(const struct path_shared *s, const struct path_lane *l, struct match_state *m);
/* The bypass holds the manifold at `pm`; starts from the closed answer in `m` when that was
 * found. */
void solve_bleed(const struct path_shared *s, const struct path_lane *l, double pm, bool to_inlet,
                 struct match_state *m);
/* State of the path at a solved point (bypass closed). */
void solved_path(const struct path_shared *s, const struct path_lane *l,
                 const struct match_state *m, bool to_inlet, struct path_out *o);
/* Charge temperature with the bypass open at this engine flow. */
double open_charge_temperature(const struct path_shared *s, const struct path_lane *l, double m);

#endif
