/* The best combinations of different groups: a bounded list with one of each. */
#ifndef SHEAVE_NEAR_H
#define SHEAVE_NEAR_H

#include "sheave/rank.h"

#define SHV_NEAR_MOST ((size_t)12)

struct shv_near_item {
    struct shv_candidate candidate;
    uint64_t group;
};

/* Best first; start with count 0. */
struct shv_near {
    size_t count;
    struct shv_near_item item[SHV_NEAR_MOST];
};

/* Takes a candidate in when it is the best of its group so far and its group among the best
 * SHV_NEAR_MOST. What is kept does not depend on the order of calls. */
void shv_near_offer(struct shv_near *near, struct shv_candidate candidate, uint64_t group);

#endif
