/* Integer programmes in a child process: silenced, stopped when asked to, and made to give one of
 * several equally good plans by a rule. */
#ifndef SHEAVE_PLAN_RANGE_SOLVER_H
#define SHEAVE_PLAN_RANGE_SOLVER_H

#include "plan/range_best.h"

struct solver_watch {
    bool (*go_on)(void *data); /* called several times a second; may be NULL */
    void *data;
};

/* Solves one programme. SHV_OK: see the plan, whose lists are owned, NULL without a plan;
 * SHV_NOTHING: proven to be infeasible; SHV_STOPPED: go_on said so, the plan may hold something;
 * SHV_IO: the solver failed; SHV_NO_MEMORY. The plan is to be freed whatever the status. */
enum shv_status solver_run(const struct programme *programme, const struct solver_watch *watch,
                           struct programme_answer *plan, struct shv_message *message);
/* Finds the best plan, likewise. Of equal plans the one with the fewest parts; of those the one
 * that has the first part of the problem's list, if any of them has it, then the second and so on.
 */
enum shv_status solver_best(const struct best_job *job, const struct solver_watch *watch,
                            struct programme_answer *plan, struct shv_message *message);
void solver_plan_free(struct programme_answer *plan);

#endif
