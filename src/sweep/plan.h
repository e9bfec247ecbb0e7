/* How the space is cut into chunks, and which of them belong to a shard.
 *
 * A chunk is a run of air-side combinations with every fuel-side choice. Its size follows from the
 * study alone, never from threads, shard or machine, so that a chunk's number means the same in
 * every run of a study. A shard counts its own chunks by position, from 0 without gaps.
 */
#ifndef SHEAVE_SWEEP_PLAN_H
#define SHEAVE_SWEEP_PLAN_H

#include "sheave/sweep.h"

struct sweep_plan {
    struct shv_shard shard; /* count at least 1 */
    uint64_t air_size, fuel_size;
    uint64_t air;       /* air-side combinations per chunk; the last chunk may have fewer */
    uint64_t chunks;    /* of the whole space */
    uint64_t positions; /* chunks of this shard */
};

/* `points` is sites times engine speeds. SHV_BAD_INPUT when there is no such shard. */
enum shv_status plan_init(struct sweep_plan *plan, const struct shv_space *space, uint64_t points,
                          struct shv_shard shard, struct shv_message *message);
/* The plan of a model's study. */
enum shv_status plan_of(struct sweep_plan *plan, const struct shv_model *model,
                        const struct shv_space *space, struct shv_shard shard,
                        struct shv_message *message);
/* Number of the chunk at a position (< positions). */
uint64_t plan_chunk(const struct sweep_plan *plan, uint64_t position);
/* Air-side combinations of a chunk. */
uint64_t plan_chunk_air(const struct sweep_plan *plan, uint64_t chunk);
/* Combinations in this shard. */
uint64_t plan_combinations(const struct sweep_plan *plan);

#endif
