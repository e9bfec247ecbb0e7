/* Why not every group can be served, and what would change that. */
#ifndef SHEAVE_PLAN_RANGE_EXPLAIN_H
#define SHEAVE_PLAN_RANGE_EXPLAIN_H

#include "plan/range_solver.h"

/* Groups that have no candidate by themselves: for each the smallest sets of its requirements
 * without which it has one. Fills unserved and relief of the result. SHV_NO_MEMORY. */
enum shv_status explain_alone(const struct thin *thin, const struct shv_range_options *options,
                              struct shv_range_result *result, struct shv_message *message);

/* Every group has candidates, but no stock inside the limits serves all. Who is left out of a plan
 * that leaves out as few as can be, of these the ones of least sales; and each requirement that,
 * dropped alone, lets all be served, with how far it has to give; when there is none, the least
 * that several have to give together. Errors as of solver_run(). */
enum shv_status explain_together(const struct thin *thin, const struct shv_range_options *options,
                                 const struct solver_watch *watch, struct shv_range_result *result,
                                 struct shv_message *message);

#endif
