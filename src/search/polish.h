/* The last digits of a continuous search by derivatives, and what they say at the optimum. */
#ifndef SHEAVE_CHOOSE_POLISH_H
#define SHEAVE_CHOOSE_POLISH_H

#include "search/search_internal.h"

/* Climbs from x by sequential quadratic programming (NLopt's SLSQP: D. Kraft, ACM Trans. Math.
 * Softw. 20, 1994) with every near limit at every site and speed a constraint of its own; x is left
 * where it ended, the best feasible kit met is kept by search_visit. Goes nowhere where a
 * derivative is not known. SHV_NO_MEMORY, SHV_BAD_INPUT when NLopt refuses its arguments. */
enum shv_status polish_run(struct search *s, double *x, struct shv_message *message);

/* Multipliers of the limits at an optimum: the objective gained per share of a limit's span by
 * which it is moved, from the conditions of Karush, Kuhn and Tucker (least squares with multipliers
 * not below 0). `left` is the part of the objective's slope, relative to it, that no limit and no
 * end of a range explains: 0 at an optimum of a smooth problem. */
struct polish_prices {
    bool known;
    double limit[SHV_LIMIT_COUNT]; /* summed over the points where the limit is active */
    double low[SEARCH_DIMS], high[SEARCH_DIMS]; /* of the ends of the ranges, by enum shv_free */
    double left;
};
/* At x; limits with less than `active` of their span left count as active. */
enum shv_status polish_prices(struct search *s, const double *x, double active,
                              struct polish_prices *prices, struct shv_message *message);

#endif
