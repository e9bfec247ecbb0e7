/* The sweep: every combination of a space, in parallel, into a bounded ranking and counts. */
#ifndef SHEAVE_SWEEP_H
#define SHEAVE_SWEEP_H

#include "sheave/keep.h"
#include "sheave/model.h"
#include "sheave/rank.h"

/* Called now and then, by one thread at a time; `done` never falls. Return false to stop the sweep.
 */
typedef bool (*shv_progress)(void *data, uint64_t done, uint64_t total, double best_objective);

/* One of `count` parts of a sweep that different machines may work on; all zero for the whole.
 * Parts take about equal time. Joined by shv_journal_merge. */
struct shv_shard {
    uint64_t index, count; /* index < count <= SHV_SHARDS_MAX */
};
#define SHV_SHARDS_MAX ((uint64_t)100000)

struct shv_journal;

/* What is offered to the ranking of all that is feasible. */
enum shv_sweep_rows {
    /* Of combinations that differ only in injectors, pump and belt the best, of equals the first.
     */
    SHV_ROWS_BEST,
    /* The best of each set of priced parts: blower, pulleys, cooler core, injectors, pump and ribs;
     * lambda, ignition margin and wrap are chosen best for each. Of equals the first. */
    SHV_ROWS_PARTS
};

/* Start with all zero: whatever is added later then keeps its meaning. */
struct shv_sweep_options {
    int threads; /* 0: as many as OpenMP offers */
    shv_progress progress;
    void *progress_data; /* of progress and trouble */
    /* Left out when there is a journal, which knows its shard. */
    struct shv_shard shard;
    /* Keeps what is done (sheave/journal.h), and goes on from what it holds; NULL for none. */
    struct shv_journal *journal;
    /* Takes fronts and kits for several fuels; initialised by the caller (sheave/keep.h) for the
     * model's study. May be NULL, then they are lost, but not with a journal when the study asks
     * for some. */
    struct shv_keep *keep;
    /* Told when the journal can't be written for now, which does not stop the sweep: it goes on,
     * tries again, and fails only when the last attempt, at the end, does. May be NULL. */
    void (*trouble)(void *data, const char *text);
    /* What tolerances take of margins (shv_tolerance_demand), for the classes of room of `keep`;
     * NULL: they stay empty. The same for a journal each time. */
    const double *demand;
    enum shv_sweep_rows rows; /* the same for a journal each time: it does not know */
};

struct shv_sweep_counts {
    uint64_t total, feasible;
    uint64_t failed[SHV_OUTCOME_COUNT]; /* by outcome; [SHV_POINT_OK] stays 0 */
    uint64_t first[SHV_LIMIT_COUNT];    /* infeasible, by the first limit broken */
    uint64_t broken[SHV_LIMIT_COUNT];   /* that break it at all, whichever comes first */
};

void shv_sweep_counts_add(struct shv_sweep_counts *to, const struct shv_sweep_counts *counts);

/* Runs the sweep. `ranking` must be initialised by the caller with the number of rows to keep.
 * Result and counts do not depend on the number of threads, nor on how often the sweep was broken
 * off and gone on with. SHV_STOPPED when the callback said so: chunks in flight are finished, the
 * journal is up to date. SHV_IO when the journal could not be written. With a journal that holds
 * something, `progress` is called once before the work begins. */
SHV_API enum shv_status shv_sweep_run(const struct shv_model *model, const struct shv_space *space,
                                      const struct shv_sweep_options *options,
                                      struct shv_ranking *ranking, struct shv_sweep_counts *counts,
                                      struct shv_message *message);

/* How long a sweep would take. */
struct shv_estimate {
    double seconds;   /* of the sweep on this machine and this number of threads */
    double spent;     /* s, on the sample */
    uint64_t sampled; /* combinations */
    double rate;      /* combinations a second */
};

/* Times a sample that is spread evenly over the space, the same in every run, for about `budget`
 * seconds on all threads. Only threads and shard of the options count. The best of the sample are
 * offered to `best`, which is initialised by the caller, and sorted at the end; it may be NULL.
 * Which ones they are depends on how fast the machine is. */
SHV_API enum shv_status shv_sweep_estimate(const struct shv_model *model,
                                           const struct shv_space *space,
                                           const struct shv_sweep_options *options, double budget,
                                           struct shv_ranking *best, struct shv_estimate *estimate,
                                           struct shv_message *message);

#endif
