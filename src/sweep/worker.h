/* One thread of a sweep: evaluates air-side combinations and tallies them. */
#ifndef SHEAVE_SWEEP_WORKER_H
#define SHEAVE_SWEEP_WORKER_H

#include "sheave/keep.h"
#include "sheave/sweep.h"

struct worker {
    struct shv_lanes *lanes; /* owned */
    struct shv_brief *brief; /* owned */
    /* Of the last worker_run alone. */
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_keep keep;
    bool out_of_memory;       /* for the fronts */
    uint64_t base;            /* index of its first combination */
    enum shv_sweep_rows rows; /* SHV_ROWS_BEST when not set */
    bool rooms;               /* are kept */
    /* A candidate that does not rank before the bar is not even looked at. */
    bool has_bar;
    struct shv_candidate bar;
};

/* A worker stays where it was made. `most_air` is the largest count that worker_run will be given
 * (<= SHV_AIR_MAX). On failure there is nothing to free. */
enum shv_status worker_init(struct worker *worker, const struct shv_model *model,
                            const struct shv_space *space, size_t most_air, size_t keep,
                            struct shv_message *message);
/* Which rows are offered, and which rooms are looked at. Once it was made. */
void worker_take(struct worker *worker, const struct shv_sweep_options *options);
void worker_free(struct worker *worker);
/* Evaluates air-side combinations first .. first+count-1 with every fuel-side choice. */
void worker_run(struct worker *worker, const struct shv_model *model, const struct shv_space *space,
                uint64_t first, size_t count);

#endif
