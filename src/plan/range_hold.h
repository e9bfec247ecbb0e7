/* Which candidates of a range hold with the wanted probability: asked of no more than has to be. */
#ifndef SHEAVE_PLAN_RANGE_HOLD_H
#define SHEAVE_PLAN_RANGE_HOLD_H

#include "plan/range_thin.h"

/* Makes `thin` so that what it keeps, and each group's own best, are not unsure any more. To be
 * freed as after thin_make(). Errors of thin_make() and of options->judge. */
enum shv_status hold_settle(struct thin *thin, const struct shv_range_problem *problem,
                            const struct shv_range_options *options, struct shv_message *message);
/* Asks for all of a group that are unsure still. */
enum shv_status hold_ask_all(const struct shv_range_problem *problem,
                             const struct shv_range_options *options, size_t group,
                             struct shv_message *message);

#endif
