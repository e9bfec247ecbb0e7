/* Hardware that serves several fuels: src/sweep/serve.h. */
#include "sweep/serve.h"

#include <math.h>
#include <stdlib.h>

#include "sheave/serving.h"

/* The setup (mixture and ignition margin) that is best with a fuel for one choice of injectors,
 * pump and belt: its place in `brief`; false when none is feasible. */
static bool serve_setup(const struct shv_space *space, const struct shv_brief *brief, size_t fuel,
                        uint64_t supply, uint64_t *place)
{
    uint64_t setups = space->count[SHV_DIM_LAMBDA] * space->count[SHV_DIM_IGNITION_MARGIN];
    bool found = false;
    for (uint64_t i = 0; i < setups; i++) {
        uint64_t at = (fuel * setups + i) * space->supply_size + supply;
        if (shv_brief_holds(&brief[at]) &&
            (!found || brief[at].objective > brief[*place].objective)) {
            *place = at;
            found = true;
        }
    }
    return found;
}

/* Weighted mean over the fuels served; false when the hardware does not do with one of them. */
static bool serve_all(const struct shv_study *study, const struct shv_space *space,
                      const struct shv_brief *brief, uint64_t supply,
                      struct shv_candidate *candidate)
{
    double sum = 0.0, weights = 0.0;
    for (size_t i = 0; i < study->serve_count; i++) {
        uint64_t place = 0;
        if (!serve_setup(space, brief, study->serves[i].fuel, supply, &place)) {
            return false;
        }
        if (i == 0) {
            candidate->index = place;
        }
        sum += study->serves[i].weight * brief[place].objective;
        weights += study->serves[i].weight;
    }
    candidate->objective = sum / weights;
    return true;
}

void serve(const struct shv_study *study, const struct shv_space *space,
           const struct shv_brief *brief, uint64_t base, struct shv_keep *keep)
{
    struct shv_candidate best = {-INFINITY, 0};
    bool any = false;
    for (uint64_t supply = 0; supply < space->supply_size; supply++) {
        struct shv_candidate candidate = {-INFINITY, 0};
        for (size_t i = 0; i < study->serve_count; i++) {
            uint64_t place = 0;
            if (serve_setup(space, brief, study->serves[i].fuel, supply, &place)) {
                shv_ranking_offer(&keep->of_served[i],
                                  (struct shv_candidate){brief[place].objective, base + place});
            }
        }
        if (serve_all(study, space, brief, supply, &candidate) &&
            (!any || shv_candidate_before(&candidate, &best))) {
            best = candidate;
            any = true;
        }
    }
    if (any) {
        shv_ranking_offer(&keep->serving,
                          (struct shv_candidate){best.objective, base + best.index});
    }
}

/* ---- found again ---- */

static void take_kit(const struct shv_study *study, const struct shv_space *space,
                     const struct shv_brief *brief, const struct shv_candidate *candidate,
                     struct shv_serving_kit *kit)
{
    uint64_t base = candidate->index / space->fuel_size * space->fuel_size;
    uint64_t supply = candidate->index % space->supply_size;
    *kit = (struct shv_serving_kit){.mean = candidate->objective};
    for (size_t i = 0; i < study->serve_count; i++) {
        uint64_t place = 0;
        kit->with[i] = (struct shv_candidate){NAN, base};
        if (serve_setup(space, brief, study->serves[i].fuel, supply, &place)) {
            kit->with[i] = (struct shv_candidate){brief[place].objective, base + place};
        }
    }
}

/* A thread's share of them. */
static enum shv_status find_some(const struct shv_model *model, const struct shv_space *space,
                                 const struct shv_keep *keep, struct shv_serving_kit *kits,
                                 struct shv_message *message)
{
    const struct shv_ranking *serving = &keep->serving;
    struct shv_lanes *lanes = NULL;
    struct shv_brief *brief = calloc((size_t)space->fuel_size + 1, sizeof *brief);
    enum shv_status status =
        brief ? shv_lanes_create(model, &lanes, message)
              : shv_fail(message, SHV_NO_MEMORY, "out of memory for kits that serve several fuels");
    if (status == SHV_OK) {
        shv_lanes_skip(lanes, true);
    }
#pragma omp for schedule(dynamic) nowait
    for (size_t i = 0; i < serving->count; i++) {
        if (status == SHV_OK) {
            const struct shv_candidate *candidate = &serving->item[i];
            shv_lanes_evaluate(model, space, lanes, candidate->index / space->fuel_size, 1, brief);
            take_kit(shv_model_study(model), space, brief, candidate, &kits[i]);
        }
    }
    shv_lanes_free(lanes);
    free(brief);
    return status;
}

enum shv_status shv_serving_kits(const struct shv_model *model, const struct shv_space *space,
                                 const struct shv_keep *keep, struct shv_serving_kit **kits,
                                 size_t *count, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    *count = keep->serving.count;
    *kits = calloc(*count + 1, sizeof **kits);
    if (!*kits) {
        *count = 0;
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for kits that serve several fuels");
    }
#pragma omp parallel
    {
        struct shv_message own = {""};
        enum shv_status mine = find_some(model, space, keep, *kits, &own);
#pragma omp critical(serving_failed)
        if (mine != SHV_OK && status == SHV_OK) {
            status = shv_fail(message, mine, "%s", own.text);
        }
    }
    if (status != SHV_OK) {
        free(*kits);
        *kits = NULL;
        *count = 0;
    }
    return status;
}
