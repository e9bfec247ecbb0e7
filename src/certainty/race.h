/* Which kits hold every limit with the wanted probability. A kit that has failed in more samples
 * than it may needs no others, so the samples that were the harshest so far come first: what holds
 * is the same in any order, only the work is less. */
#ifndef SHEAVE_CERTAINTY_RACE_H
#define SHEAVE_CERTAINTY_RACE_H

#include "certainty/sure.h"
#include "sheave/space.h"

/* A sample, and in how many of the kits looked at so far it broke something. */
struct race_sample {
    uint32_t sample, broke, tried;
};

struct race {
    struct shv_model *model;
    struct sure_plan *plan;
    const struct shv_space *space;
    size_t samples, may_fail;
    struct race_sample *harsh;    /* of each sample, owned */
    uint32_t *order;              /* the samples as they are looked at, owned */
    struct sure_outcome *outcome; /* of a block in all samples, owned */
};

/* To be ended whatever the status: SHV_NO_MEMORY. */
enum shv_status race_begin(struct race *race, struct shv_model *model, struct sure_plan *plan,
                           const struct shv_space *space, struct shv_message *message);
void race_end(struct race *race);

/* What makes a kit fail in a sample: no answer, or one of these limits broken at one of these
 * points of the rev range (NULL: anywhere). */
struct race_test {
    shv_limit_set limits;
    const bool *only;
};
/* Every limit everywhere. */
extern const struct race_test race_whole;

/* Samples count <= SURE_BLOCK combinations until each has failed too often or was in all samples.
 * Errors as of sure_sample. */
enum shv_status race_run(struct race *race, struct race_test test, const uint64_t *index,
                         size_t count, bool *holds, struct shv_message *message);

/* Of count <= SHV_LANES_MAX combinations those that hold with nothing off; how many. */
size_t race_nominal(const struct race *race, struct shv_lanes *lanes, const uint64_t *index,
                    size_t count, struct shv_candidate *holding);

#endif
