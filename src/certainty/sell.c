/* The kit to sell (sell.h): kits in descending order of the objective, until one holds in enough of
 * the samples. */
#include "certainty/sell.h"

#include <math.h>
#include <stdlib.h>

#include "certainty/race.h"

/* Kits of less room are taken to fail: a demand is known within this share. */
#define LEAST_CLASS 7
/* Kits that differ only in injectors, pump and belt, looked at side by side. */
#define VARIANTS 8

struct seller {
    struct race race;
    struct shv_candidate *kit; /* best first, owned */
    size_t count;
};

static int best_first(const void *a, const void *b)
{
    return shv_candidate_before(a, b) ? -1 : shv_candidate_before(b, a) ? 1 : 0;
}

static enum shv_status list_candidates(struct seller *s, const struct shv_keep *keep,
                                       struct shv_message *message)
{
    size_t count = 0;
    for (size_t c = LEAST_CLASS; c < keep->rooms; c++) {
        s->count += keep->room[c].count;
    }
    s->kit = calloc(s->count + 1, sizeof *s->kit);
    if (!s->kit) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the search of the kit to sell");
    }
    for (size_t c = LEAST_CLASS; c < keep->rooms; c++) {
        for (size_t i = 0; i < keep->room[c].count; i++) {
            s->kit[count++] = keep->room[c].item[i];
        }
    }
    qsort(s->kit, count, sizeof *s->kit, best_first);
    return SHV_OK;
}

/* ---- of equals the first ---- */

/* Combinations before this one that differ from it only in injectors, pump and belt, hold every
 * limit with nothing off and have its objective. */
static size_t list_equals(const struct race *r, struct shv_curves *curves, uint64_t index,
                          uint64_t *equal)
{
    struct shv_kit kit;
    size_t count = 0;
    shv_space_kit(r->space, shv_model_study(r->model), index, &kit);
    shv_model_evaluate(r->model, &kit, curves);
    double objective = curves->verdict.objective;
    for (uint64_t i = index - index % r->space->supply_size; i < index; i++) {
        shv_space_kit(r->space, shv_model_study(r->model), i, &kit);
        shv_model_evaluate(r->model, &kit, curves);
        if (curves->verdict.feasible && curves->verdict.objective == objective) {
            equal[count++] = i;
        }
    }
    return count;
}

/* The place of the first of up to SURE_BLOCK that holds in enough samples, `count` for none. */
static enum shv_status run_block(struct race *r, const uint64_t *index, size_t count, size_t *first,
                                 struct shv_message *message)
{
    bool holds[SURE_BLOCK];
    enum shv_status status = race_run(r, index, count, holds, message);
    *first = 0;
    while (*first < count && !holds[*first]) {
        (*first)++;
    }
    return status;
}

static enum shv_status find_first_equal(struct race *r, uint64_t *index,
                                        struct shv_message *message)
{
    uint64_t *equal = calloc((size_t)r->space->supply_size, sizeof *equal);
    struct shv_curves curves;
    enum shv_status status = shv_curves_init(&curves, r->model, message);
    if (!equal) {
        status =
            shv_fail(message, SHV_NO_MEMORY, "out of memory for the search of the kit to sell");
    }
    size_t count = status == SHV_OK ? list_equals(r, &curves, *index, equal) : 0;
    for (size_t i = 0, some, first = 0; i < count && status == SHV_OK; i += some) {
        some = count - i < VARIANTS ? count - i : VARIANTS;
        status = run_block(r, equal + i, some, &first, message);
        if (status == SHV_OK && first < some) {
            *index = equal[i + first];
            break;
        }
    }
    shv_curves_free(&curves);
    free(equal);
    return status;
}

/* ---- all of them ---- */

/* Kits looked at before one holds, and samples of each until it has failed, as the demo studies
 * have them. */
static size_t samples_of(const struct shv_tolerances *t, size_t kits)
{
    size_t usual = (size_t)8 * SURE_BLOCK;
    return (kits < usual ? kits : usual) * 2 * sure_may_fail(t);
}

size_t shv_sure_sought(const struct shv_tolerances *tolerances)
{
    return isnan(tolerances->hold) ? 0 : samples_of(tolerances, SIZE_MAX);
}

size_t sure_sell_samples(const struct sure_plan *plan, const struct shv_keep *keep)
{
    size_t count = 0;
    for (size_t c = LEAST_CLASS; keep && c < keep->rooms; c++) {
        count += keep->room[c].count;
    }
    return samples_of(plan->tolerances, count);
}

/* Whether every class that is full goes down to this objective. */
static bool reaches_down(const struct shv_keep *keep, double objective)
{
    bool reaches = true;
    for (size_t c = LEAST_CLASS; c < keep->rooms; c++) {
        const struct shv_ranking *room = &keep->room[c];
        double least = INFINITY;
        for (size_t i = 0; i < room->count; i++) {
            least = fmin(least, room->item[i].objective);
        }
        reaches = reaches && (room->count < room->capacity || least <= objective);
    }
    return reaches;
}

static enum shv_status run_race(struct seller *s, struct sure_sell *sell,
                                struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0, some; i < s->count && !sell->found && status == SHV_OK; i += some) {
        uint64_t index[SURE_BLOCK];
        size_t first = 0;
        some = s->count - i < SURE_BLOCK ? s->count - i : SURE_BLOCK;
        for (size_t k = 0; k < some; k++) {
            index[k] = s->kit[i + k].index;
        }
        status = run_block(&s->race, index, some, &first, message);
        sell->looked += some;
        if (status == SHV_OK && first < some) {
            sell->found = true;
            sell->index = index[first];
        }
    }
    if (status == SHV_OK && sell->found) {
        status = find_first_equal(&s->race, &sell->index, message);
    }
    return status;
}

enum shv_status sure_sell(struct shv_model *model, struct sure_plan *plan,
                          const struct shv_space *space, const struct shv_keep *keep,
                          struct sure_sell *sell, struct shv_message *message)
{
    struct seller s = {.kit = NULL};
    *sell = (struct sure_sell){.index = UINT64_MAX};
    enum shv_status status = race_begin(&s.race, model, plan, space, message);
    status = status == SHV_OK ? list_candidates(&s, keep, message) : status;
    status = status == SHV_OK ? run_race(&s, sell, message) : status;
    double objective = -INFINITY;
    for (size_t i = 0; i < s.count && sell->found; i++) {
        bool same = s.kit[i].index / space->supply_size == sell->index / space->supply_size;
        objective = same && s.kit[i].objective > objective ? s.kit[i].objective : objective;
    }
    sell->complete = reaches_down(keep, objective);
    race_end(&s.race);
    free(s.kit);
    return status;
}
