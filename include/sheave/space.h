/* The space of combinations: an index is a combination of parts. */
#ifndef SHEAVE_SPACE_H
#define SHEAVE_SPACE_H

#include <stdint.h>

#include "sheave/kit.h"
#include "sheave/study.h"

/* Dimensions from slowest to fastest. Those up to SHV_DIM_AIR_COUNT decide the flow of air; the
 * rest only what the engine makes of it, so one solution of the match serves all of their values. A
 * new dimension needs a line here, one in the table of space.c and its use in shv_kit_of. */
enum shv_dim {
    SHV_DIM_BLOWER,
    SHV_DIM_CRANK_PULLEY,
    SHV_DIM_BLOWER_PULLEY,
    SHV_DIM_COOLER, /* every effectiveness of every cooler, "none" first */
    SHV_DIM_AIR_COUNT,
    SHV_DIM_FUEL = SHV_DIM_AIR_COUNT,
    SHV_DIM_LAMBDA,
    SHV_DIM_IGNITION_MARGIN,
    SHV_DIM_BURN_COUNT,                    /* those up to here decide how the charge burns */
    SHV_DIM_INJECTOR = SHV_DIM_BURN_COUNT, /* every size of every injector */
    SHV_DIM_PUMP,
    SHV_DIM_RIBS, /* of the belt */
    SHV_DIM_WRAP, /* of the belt on the blower's pulley */
    SHV_DIM_COUNT
};

struct shv_space {
    uint64_t count[SHV_DIM_COUNT];
    uint64_t air_size;    /* product of the counts that decide the flow of air */
    uint64_t fuel_size;   /* product of the others */
    uint64_t burn_size;   /* part of fuel_size that decides how the charge burns */
    uint64_t supply_size; /* the rest of it: injectors, pump, belt; fuel_size = burn x supply */
    uint64_t belt_size;   /* part of supply_size: ribs and wrap, the fastest */
    uint64_t size;        /* air_size * fuel_size */
};

SHV_API const char *shv_dim_name(enum shv_dim dim);

/* Counts the dimensions. SHV_BAD_INPUT when the size does not fit 63 bits. */
SHV_API enum shv_status shv_space_init(struct shv_space *space, const struct shv_study *study,
                                       struct shv_message *message);
/* Splits an index (< size) into a choice per dimension, and back. */
SHV_API void shv_space_split(const struct shv_space *space, uint64_t index,
                             uint64_t choice[SHV_DIM_COUNT]);
SHV_API uint64_t shv_space_join(const struct shv_space *space,
                                const uint64_t choice[SHV_DIM_COUNT]);
/* Sets what one choice (< space->count[dim]) of a dimension decides; the ratio of the pulleys is
 * left as it was. */
void shv_space_pick(const struct shv_study *study, enum shv_dim dim, uint64_t choice,
                    struct shv_kit *kit);
/* The kit of an index. */
SHV_API void shv_space_kit(const struct shv_space *space, const struct shv_study *study,
                           uint64_t index, struct shv_kit *kit);

#endif
