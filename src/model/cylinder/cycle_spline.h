/* Uniform cubic B-splines through the nodes of a cycle table (de Boor, A Practical Guide to
 * Splines, Springer 1978; not a knot at the ends), one direction at a time. */
#ifndef SHEAVE_MODEL_CYCLE_SPLINE_H
#define SHEAVE_MODEL_CYCLE_SPLINE_H

#include <stddef.h>

/* Least nodes of a line. */
#define CYCLE_SPLINE_NODES_LEAST ((size_t)4)

/* A direction of an array of numbers: lines of `nodes` rows with one row more at each end, in
 * slices `apart` numbers apart; a row is `width` numbers, each of a line of its own. */
struct cycle_lines {
    size_t slices, apart, nodes, width;
};

/* Values of nodes, in rows 1..nodes of each line, become coefficients in rows 0..nodes + 1. A value
 * halfway between two nodes comes from the coefficients of both and of one more on each side. */
void cycle_spline(double *numbers, const struct cycle_lines *lines);

/* Nodes without a value (NAN) get one: straight on from those before, else from those after. What
 * has no node with a value stays without. */
void cycle_carry_on(double *numbers, const struct cycle_lines *lines);

#endif
