/* Which setups of a blower and fuel the continuous search looks at. */
#ifndef SHEAVE_SEARCH_SETUPS_H
#define SHEAVE_SEARCH_SETUPS_H

#include "search/search.h"
#include "sheave/near.h"

/* Those whose best in the sweep lies near the best of them, best first, with that kit for a start.
 * The ideal has the injectors and pump that carry most fuel, and the most ribs and wrap. */
size_t setups_near(const struct shv_study *study, const struct shv_space *space,
                   const struct shv_near *near, struct search_task task[SHV_NEAR_MOST]);

/* Where no real kit holds: coolers, lambdas, margins and crank pulleys spread over their lists. */
#define SETUPS_COOLERS ((size_t)6)
#define SETUPS_LAMBDAS ((size_t)3)
#define SETUPS_MARGINS ((size_t)2)
#define SETUPS_CRANKS ((size_t)2)
#define SETUPS_BLIND_MOST (SETUPS_COOLERS * SETUPS_LAMBDAS * SETUPS_MARGINS * SETUPS_CRANKS)
size_t setups_blind(const struct shv_study *study, size_t blower, size_t fuel,
                    struct search_task task[SETUPS_BLIND_MOST]);

/* Whether more than the ratio of the pulleys matters, so that an ideal has a crank pulley. */
bool setups_crank_matters(const struct shv_study *study);
/* Puts the kit of a task on another crank pulley, by its number, or on a ratio by itself where
 * nothing else matters, with the most ribs and wrap; sets the ranges that go with it. */
void setups_on_crank(const struct shv_study *study, size_t crank, struct search_task *task);
/* The injectors and pump that carry most fuel. */
void setups_most_fuel(const struct shv_study *study, struct shv_kit *kit);

#endif
