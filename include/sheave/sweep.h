/* The sweep: every combination of a space, in parallel, into a bounded ranking and counts. */
#ifndef SHEAVE_SWEEP_H
#define SHEAVE_SWEEP_H

#include "sheave/model.h"
#include "sheave/rank.h"

/* Called now and then, by one thread at a time; `done` never falls. Return false to stop the sweep.
 */
typedef bool (*shv_progress)(void *data, uint64_t done, uint64_t total, double best_objective);

struct shv_sweep_options {
    int threads; /* 0: as many as OpenMP offers */
    shv_progress progress;
    void *progress_data;
};

struct shv_sweep_counts {
    uint64_t total, feasible;
    uint64_t failed[SHV_OUTCOME_COUNT]; /* by outcome; [SHV_POINT_OK] stays 0 */
    uint64_t first[SHV_LIMIT_COUNT];    /* infeasible, by the first limit broken */
    uint64_t broken[SHV_LIMIT_COUNT];   /* that break it at all, whichever comes first */
};

/* Runs the sweep. `ranking` must be initialised by the caller with the number of rows to keep.
 * Result and counts do not depend on the number of threads. SHV_STOPPED when the callback said so.
 */
enum shv_status shv_sweep_run(const struct shv_model *model, const struct shv_space *space,
                              const struct shv_sweep_options *options, struct shv_ranking *ranking,
                              struct shv_sweep_counts *counts, struct shv_message *message);

#endif
