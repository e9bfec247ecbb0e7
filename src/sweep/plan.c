/* Chunks and shards: src/sweep/plan.h. */
#include "sweep/plan.h"

#include "base/random.h"

/* Points (a combination at a site and speed) in a chunk: about a fifth of a second of one core. A
 * stop waits for chunks in flight, and a crash loses them, so they should not be long. */
#define POINTS ((uint64_t)1 << 20)

/* Air-side combinations per chunk: whole blocks of lanes, at the most what one call takes. */
static uint64_t chunk_air(uint64_t fuel_size, uint64_t points)
{
    uint64_t air = POINTS / fuel_size / (points > 0 ? points : 1) / SHV_LANES_MAX * SHV_LANES_MAX;
    air = air > SHV_LANES_MAX ? air : SHV_LANES_MAX;
    return air < SHV_AIR_MAX ? air : SHV_AIR_MAX;
}

/* Chunks are dealt out like cards, one to each shard in every round of `count`: neighbours cost
 * alike, because blower and pulleys, which decide the cost, are the slow dimensions. Each round
 * begins with another shard. Were it always the same one, a list of coolers whose length fits the
 * round could hand all of the slow ones to one shard. */
uint64_t plan_chunk(const struct sweep_plan *plan, uint64_t position)
{
    uint64_t n = plan->shard.count;
    uint64_t turn = random_scatter(position + 1) % n;
    uint64_t seat =
        n - turn > plan->shard.index ? plan->shard.index + turn : plan->shard.index - (n - turn);
    return position * n + seat;
}

enum shv_status plan_init(struct sweep_plan *plan, const struct shv_space *space, uint64_t points,
                          struct shv_shard shard, struct shv_message *message)
{
    shard.count = shard.count > 0 ? shard.count : 1;
    if (shard.index >= shard.count || shard.count > SHV_SHARDS_MAX) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "there is no shard %llu of %llu; accepted: 1 of 1 to %llu of %llu",
                        (unsigned long long)shard.index + 1, (unsigned long long)shard.count,
                        (unsigned long long)SHV_SHARDS_MAX, (unsigned long long)SHV_SHARDS_MAX);
    }
    *plan = (struct sweep_plan){.shard = shard,
                                .air_size = space->air_size,
                                .fuel_size = space->fuel_size,
                                .air = chunk_air(space->fuel_size, points)};
    plan->chunks = plan->air_size / plan->air + (plan->air_size % plan->air > 0 ? 1 : 0);
    plan->positions = plan->chunks / shard.count;
    /* The last round may not go all the way round. */
    if (plan->chunks % shard.count > 0 && plan_chunk(plan, plan->positions) < plan->chunks) {
        plan->positions++;
    }
    return SHV_OK;
}

enum shv_status plan_of(struct sweep_plan *plan, const struct shv_model *model,
                        const struct shv_space *space, struct shv_shard shard,
                        struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(model);
    return plan_init(plan, space, (uint64_t)study->site_count * study->engine.speed_count, shard,
                     message);
}

uint64_t plan_chunk_air(const struct sweep_plan *plan, uint64_t chunk)
{
    uint64_t left = plan->air_size - chunk * plan->air;
    return left < plan->air ? left : plan->air;
}

uint64_t plan_combinations(const struct sweep_plan *plan)
{
    if (plan->positions == 0) {
        return 0;
    }
    /* Only the last chunk may be short, and only at a shard's last position. */
    uint64_t last = plan_chunk(plan, plan->positions - 1);
    uint64_t air = (plan->positions - 1) * plan->air + plan_chunk_air(plan, last);
    return air * plan->fuel_size;
}
