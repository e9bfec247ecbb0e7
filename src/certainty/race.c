/* Kits over samples, harshest first (race.h). */
#include "certainty/race.h"

#include <stdlib.h>

const struct race_test race_whole = {~(shv_limit_set)0, NULL};

/* Samples of the first round; each further round doubles what was looked at. */
#define ROUND 64

enum shv_status race_begin(struct race *r, struct shv_model *model, struct sure_plan *plan,
                           const struct shv_space *space, struct shv_message *message)
{
    *r = (struct race){.model = model, .plan = plan, .space = space};
    r->samples = plan->tolerances->samples;
    r->may_fail = sure_may_fail(plan->tolerances);
    r->harsh = calloc(r->samples, sizeof *r->harsh);
    r->order = calloc(r->samples, sizeof *r->order);
    r->outcome = calloc(r->samples * SURE_BLOCK, sizeof *r->outcome);
    if (!r->harsh || !r->order || !r->outcome) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the search of kits to sell");
    }
    for (size_t i = 0; i < r->samples; i++) {
        r->harsh[i].sample = (uint32_t)i;
    }
    return SHV_OK;
}

void race_end(struct race *r)
{
    free(r->harsh);
    free(r->order);
    free(r->outcome);
    *r = (struct race){.samples = 0};
}

/* By share of kits that broke something, as if each had been tried by two more, of which one. */
static int harshest_first(const void *a, const void *b)
{
    const struct race_sample *x = a, *y = b;
    uint64_t of_x = ((uint64_t)x->broke + 1) * ((uint64_t)y->tried + 2);
    uint64_t of_y = ((uint64_t)y->broke + 1) * ((uint64_t)x->tried + 2);
    if (of_x != of_y) {
        return of_x > of_y ? -1 : 1;
    }
    return x->sample < y->sample ? -1 : x->sample > y->sample;
}

struct runner {
    uint64_t index;
    size_t place, fails;
};

/* Those left of `count` after a round of samples from `done` on. */
static size_t tally(struct race *r, shv_limit_set limits, struct runner *runner, size_t count,
                    size_t done, size_t more)
{
    size_t left = 0;
    for (size_t i = 0; i < more; i++) {
        struct race_sample *h = &r->harsh[done + i];
        for (size_t k = 0; k < count; k++) {
            bool held = sure_held(&r->outcome[i * count + k], limits);
            runner[k].fails += held ? 0 : 1;
            h->broke += held ? 0 : 1;
        }
        h->tried += (uint32_t)count;
    }
    for (size_t k = 0; k < count; k++) {
        if (runner[k].fails <= r->may_fail) {
            runner[left++] = runner[k];
        }
    }
    return left;
}

enum shv_status race_run(struct race *r, struct race_test test, const uint64_t *index, size_t count,
                         bool *holds, struct shv_message *message)
{
    struct runner runner[SURE_BLOCK];
    struct shv_kit kits[SURE_BLOCK];
    enum shv_status status = SHV_OK;
    size_t left = count;
    for (size_t k = 0; k < count; k++) {
        runner[k] = (struct runner){index[k], k, 0};
        holds[k] = false;
    }
    qsort(r->harsh, r->samples, sizeof *r->harsh, harshest_first);
    for (size_t i = 0; i < r->samples; i++) {
        r->order[i] = r->harsh[i].sample;
    }
    for (size_t done = 0, more; done < r->samples && left > 0 && status == SHV_OK; done += more) {
        more = done < ROUND ? ROUND : done;
        more = more < r->samples - done ? more : r->samples - done;
        for (size_t k = 0; k < left; k++) {
            shv_space_kit(r->space, shv_model_study(r->model), runner[k].index, &kits[k]);
        }
        status = done == 0 ? sure_ready(r->model, kits, left, message) : SHV_OK;
        if (status == SHV_OK) {
            const struct sure_samples samples = {r->order + done, more, test.only};
            status = sure_sample(r->plan, kits, left, samples, r->outcome, message);
        }
        left = status == SHV_OK ? tally(r, test.limits, runner, left, done, more) : left;
    }
    for (size_t k = 0; k < left; k++) {
        holds[runner[k].place] = true;
    }
    return status;
}

size_t race_nominal(const struct race *r, struct shv_lanes *lanes, const uint64_t *index,
                    size_t count, struct shv_candidate *holding)
{
    struct shv_kit kits[SHV_LANES_MAX] = {{0}}; /* gcc does not see that count is above 0 */
    struct shv_brief brief[SHV_LANES_MAX];
    size_t held = 0;
    for (size_t i = 0; i < count; i++) {
        shv_space_kit(r->space, shv_model_study(r->model), index[i], &kits[i]);
    }
    shv_lanes_evaluate_kits(r->model, lanes, kits, count, brief);
    for (size_t i = 0; i < count; i++) {
        if (shv_brief_holds(&brief[i])) {
            holding[held++] = (struct shv_candidate){brief[i].objective, index[i]};
        }
    }
    return held;
}
