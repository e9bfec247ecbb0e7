/* The best plan with a number of parts, in this process: see docs/range.md for why it is the best
 * and why it is the only answer. */
#ifndef SHEAVE_PLAN_RANGE_BEST_H
#define SHEAVE_PLAN_RANGE_BEST_H

#include "plan/range_programme.h"

enum best_start {
    BEST_FROM_SCRATCH,   /* there is no start */
    BEST_OF_FEWER_PARTS, /* the start is the plan for one part less: only more worth is of interest
                          */
    BEST_OF_LEAST_PARTS  /* the start has as many parts as any plan has, and as are allowed */
};

struct best_job {
    struct programme programme; /* by value, inside the limits; most_parts as allowed */
    enum best_start from;
    const bool *start; /* a stock that serves all inside the limits */
};

/* Called with each plan that is better than those before; false ends the search. */
typedef bool (*best_found)(void *data, const struct programme_answer *answer);

/* False when out of memory or `found` said so. */
bool best_plan(const struct best_job *job, best_found found, void *data);

#endif
