/* One thread of a sweep: src/sweep/worker.h. */
#include "sweep/worker.h"

#include <math.h>
#include <stdlib.h>

#include "sweep/serve.h"

void worker_free(struct worker *w)
{
    shv_lanes_free(w->lanes);
    free(w->brief);
    shv_ranking_free(&w->ranking);
    shv_keep_free(&w->keep);
    *w = (struct worker){0};
}

static void take_front(void *data, size_t tradeoff, size_t place,
                       const double value[SHV_FRONT_DIMS])
{
    struct worker *w = data;
    struct shv_front_point point = {.index = w->base + place};
    for (size_t k = 0; k < SHV_FRONT_DIMS; k++) {
        point.value[k] = value[k];
    }
    w->out_of_memory = !shv_front_offer(&w->keep.front[tradeoff], &point) || w->out_of_memory;
}

enum shv_status worker_init(struct worker *w, const struct shv_model *model,
                            const struct shv_space *space, size_t most_air, size_t keep,
                            struct shv_message *message)
{
    *w = (struct worker){0};
    enum shv_status status = shv_lanes_create(model, &w->lanes, message);
    if (status == SHV_OK) {
        shv_lanes_skip(w->lanes, !shv_model_study(model)->results.exhaustive);
    }
    if (status == SHV_OK) {
        status = shv_ranking_init(&w->ranking, keep, message);
    }
    if (status == SHV_OK) {
        status = shv_keep_init(&w->keep, shv_model_study(model), message);
    }
    if (status == SHV_OK && w->keep.fronts > 0) {
        shv_lanes_watch(w->lanes, take_front, w);
    }
    if (status == SHV_OK) {
        w->brief = calloc(most_air * space->fuel_size, sizeof *w->brief);
        if (!w->brief) {
            status = shv_fail(message, SHV_NO_MEMORY, "out of memory for a thread of the sweep");
        }
    }
    if (status != SHV_OK) {
        worker_free(w);
    }
    return status;
}

void worker_take(struct worker *w, const struct shv_sweep_options *options)
{
    w->rows = options->rows;
    w->rooms = options->demand && w->keep.rooms > 0;
    if (w->rooms) {
        shv_lanes_demand(w->lanes, options->demand);
    }
}

/* One combination into the counts; true when it is feasible. */
static bool count_one(struct worker *w, const struct shv_brief *brief)
{
    struct shv_sweep_counts *c = &w->counts;
    c->total++;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        c->broken[k] += (brief->broken >> k) & 1u;
    }
    int limit;
    enum shv_outcome outcome = shv_brief_reason(brief, &limit);
    if (outcome != SHV_POINT_OK) {
        c->failed[outcome]++;
    } else if (limit >= 0) {
        c->first[limit]++;
    } else {
        c->feasible++;
        return true;
    }
    return false;
}

static void offer(struct worker *w, struct shv_candidate candidate)
{
    if (!w->has_bar || shv_candidate_before(&candidate, &w->bar)) {
        shv_ranking_offer(&w->ranking, candidate);
    }
}

/* The best of some combinations. */
struct best_so_far {
    struct shv_candidate candidate;
    bool any;
};

/* Counts one; of those that are feasible the best by the objective stays, of equals the first. */
static void take_one(struct worker *w, const struct shv_brief *brief, uint64_t index,
                     struct best_so_far *best)
{
    struct shv_candidate candidate = {brief->objective, index};
    if (count_one(w, brief) && (!best->any || shv_candidate_before(&candidate, &best->candidate))) {
        best->any = true;
        best->candidate = candidate;
    }
}

/* Of combinations that differ only in injectors, pump and belt those that are better than all of
 * a higher class of room; of equals the one of most room. */
static void keep_rooms(struct worker *w, const struct shv_brief *brief, uint64_t count,
                       uint64_t index)
{
    size_t best[SHV_ROOM_CLASSES];
    double bar = -INFINITY;
    for (size_t c = 0; c < SHV_ROOM_CLASSES; c++) {
        best[c] = SIZE_MAX;
    }
    for (size_t i = 0; i < count; i++) {
        const struct shv_brief *b = &brief[i];
        if (!shv_brief_holds(b)) {
            continue;
        }
        size_t *of_class = &best[shv_room_class((double)b->room)];
        const struct shv_brief *so_far = *of_class < count ? &brief[*of_class] : NULL;
        if (!so_far || b->objective > so_far->objective ||
            (b->objective == so_far->objective && b->room > so_far->room)) {
            *of_class = i;
        }
    }
    for (size_t c = SHV_ROOM_CLASSES; c-- > 0;) {
        if (best[c] < count && brief[best[c]].objective > bar) {
            bar = brief[best[c]].objective;
            shv_ranking_offer(&w->keep.room[c], (struct shv_candidate){bar, index + best[c]});
        }
    }
}

/* Combinations that differ only in injectors, pump and belt make the same power: all are counted;
 * of those that are feasible the best by the objective is ranked, of equals the first. */
static void take_group(struct worker *w, const struct shv_brief *brief, uint64_t count,
                       uint64_t index)
{
    struct best_so_far best = {.any = false};
    for (uint64_t i = 0; i < count; i++) {
        take_one(w, &brief[i], index + i, &best);
    }
    if (best.any) {
        offer(w, best.candidate);
        shv_keep_near(&w->keep, best.candidate);
        if (w->rooms) {
            shv_ranking_offer(&w->keep.room[SHV_ROOM_ANY], best.candidate);
            keep_rooms(w, brief, count, index);
        }
    }
}

/* The best feasible combination with given injectors, pump and ribs, over all that burns and wraps.
 */
static void take_parts(struct worker *w, const struct shv_space *space,
                       const struct shv_brief *brief, uint64_t supply, uint64_t index)
{
    uint64_t wraps = space->count[SHV_DIM_WRAP];
    struct best_so_far best = {.any = false};
    for (uint64_t burn = 0; burn < space->burn_size; burn++) {
        for (uint64_t wrap = 0; wrap < wraps; wrap++) {
            uint64_t i = burn * space->supply_size + supply * wraps + wrap;
            take_one(w, &brief[i], index + i, &best);
        }
    }
    if (best.any) {
        offer(w, best.candidate);
    }
}

static void take_all_parts(struct worker *w, const struct shv_space *space, size_t count,
                           uint64_t base)
{
    uint64_t supplies = space->supply_size / space->count[SHV_DIM_WRAP];
    for (size_t air = 0; air < count; air++) {
        uint64_t k = air * space->fuel_size;
        for (uint64_t supply = 0; supply < supplies; supply++) {
            take_parts(w, space, &w->brief[k], supply, base + k);
        }
    }
}

void worker_run(struct worker *w, const struct shv_model *model, const struct shv_space *space,
                uint64_t first, size_t count)
{
    w->counts = (struct shv_sweep_counts){0};
    w->ranking.count = 0;
    w->base = first * space->fuel_size;
    shv_keep_clear(&w->keep);
    shv_lanes_evaluate(model, space, w->lanes, first, count, w->brief);
    if (w->rows == SHV_ROWS_PARTS) {
        take_all_parts(w, space, count, w->base);
        return;
    }
    uint64_t group = space->supply_size;
    for (uint64_t k = 0; k < count * space->fuel_size; k += group) {
        take_group(w, &w->brief[k], group, w->base + k);
    }
    for (size_t i = 0; w->keep.served > 0 && i < count; i++) {
        uint64_t at = (uint64_t)i * space->fuel_size;
        serve(shv_model_study(model), space, &w->brief[at], w->base + at, &w->keep);
    }
}
