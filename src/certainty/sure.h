/* Kits over samples of the tolerances, for the files of this folder. */
#ifndef SHEAVE_CERTAINTY_SURE_H
#define SHEAVE_CERTAINTY_SURE_H

#include "certainty/sampling.h"
#include "study/correlated.h"
#include "sheave/tolerance.h"
#include "sweep/watcher.h"

/* Kits whose samples are kept at a time. */
#define SURE_BLOCK 32

struct sure_plan {
    const struct shv_model *model;
    const struct shv_tolerances *tolerances;
    struct correlated correlated;
    struct sampling *sampling; /* owned */
    struct shv_corrections middle;
    struct watcher watcher; /* of samples of a kit */
};

/* Of one kit in one sample. */
struct sure_outcome {
    double objective; /* NAN without an answer */
    shv_limit_set broken;
    bool answered;
};

enum shv_status sure_begin(struct sure_plan *plan, const struct shv_model *model,
                           const struct shv_watch *watch, struct shv_message *message);
void sure_end(struct sure_plan *plan);

/* The corrections of a sample; samples count through one repetition after the other. */
void sure_corrections(const struct sure_plan *plan, size_t per_repetition, size_t sample,
                      struct shv_corrections *corrections);

/* Makes ready what corrected models need of the tables that these kits look up. */
enum shv_status sure_ready(struct shv_model *model, const struct shv_kit *kits, size_t count,
                           struct shv_message *message);

/* Samples to look at: the first `count` of those numbered in `which`, NULL for all in order; and
 * the only points of the rev range that are looked at (shv_lanes_only), NULL for all. */
struct sure_samples {
    const uint32_t *which;
    size_t count;
    const bool *only;
};

/* Evaluates count <= SURE_BLOCK kits in samples: outcome[place of the sample * count + kit]. */
enum shv_status sure_sample(struct sure_plan *plan, const struct shv_kit *kits, size_t count,
                            struct sure_samples samples, struct sure_outcome *outcome,
                            struct shv_message *message);

/* Whether a kit had an answer in a sample and held these limits. */
bool sure_held(const struct sure_outcome *outcome, shv_limit_set limits);
/* Samples, of all, in which a kit may fail and still hold with tolerances.hold. */
size_t sure_may_fail(const struct shv_tolerances *tolerances);

/* Mean of the repetitions' means, and its standard error. */
struct shv_sampled sure_over_repetitions(const double mean[SAMPLING_REPETITIONS]);

/* Estimates from the outcomes of a kit: outcome[sample * stride]. `set` are the limits it has, as
 * bits. Fills mean, deviation, percentile, all, answer, holds, fails_most. */
enum shv_status sure_estimate(const struct sure_outcome *outcome, size_t stride, size_t samples,
                              shv_limit_set set, struct shv_sure *row, struct shv_message *message);

#endif
