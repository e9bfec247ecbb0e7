/* The kit to sell (sell.h): kits in descending order of the objective, until one holds in enough of
 * the samples. A kit that has failed in more samples than it may needs no others, so the samples
 * that were the harshest so far come first. */
#include "certainty/sell.h"

#include <math.h>
#include <stdlib.h>

/* Kits of less room are taken to fail: a demand is known within this share. */
#define LEAST_CLASS 7
/* Samples of the first round; each further round doubles what was looked at. */
#define ROUND 64
/* Kits that differ only in injectors, pump and belt, looked at side by side. */
#define VARIANTS 8

/* A sample, and in how many of the kits looked at so far it broke something. */
struct harsh {
    uint32_t sample, broke, tried;
};

struct race {
    struct shv_model *model;
    struct sure_plan *plan;
    const struct shv_space *space;
    size_t samples, may_fail;
    struct harsh *harsh;          /* of each sample, owned */
    uint32_t *order;              /* the samples as they are looked at, owned */
    struct sure_outcome *outcome; /* of a block in all samples, owned */
    struct shv_candidate *kit;    /* best first, owned */
    size_t count;
};

static enum shv_status begin(struct race *r, const struct shv_keep *keep,
                             struct shv_message *message)
{
    for (size_t c = LEAST_CLASS; c < keep->rooms; c++) {
        r->count += keep->room[c].count;
    }
    r->samples = r->plan->tolerances->samples;
    r->may_fail = sure_may_fail(r->plan->tolerances);
    r->harsh = calloc(r->samples, sizeof *r->harsh);
    r->order = calloc(r->samples, sizeof *r->order);
    r->outcome = calloc(r->samples * SURE_BLOCK, sizeof *r->outcome);
    r->kit = calloc(r->count + 1, sizeof *r->kit);
    return r->harsh && r->order && r->outcome && r->kit
               ? SHV_OK
               : shv_fail(message, SHV_NO_MEMORY,
                          "out of memory for the search of the kit to sell");
}

static void end(struct race *r)
{
    free(r->harsh);
    free(r->order);
    free(r->outcome);
    free(r->kit);
}

static int best_first(const void *a, const void *b)
{
    return shv_candidate_before(a, b) ? -1 : shv_candidate_before(b, a) ? 1 : 0;
}

/* By share of kits that broke something, as if each had been tried by two more, of which one. */
static int harshest_first(const void *a, const void *b)
{
    const struct harsh *x = a, *y = b;
    uint64_t of_x = ((uint64_t)x->broke + 1) * ((uint64_t)y->tried + 2);
    uint64_t of_y = ((uint64_t)y->broke + 1) * ((uint64_t)x->tried + 2);
    if (of_x != of_y) {
        return of_x > of_y ? -1 : 1;
    }
    return x->sample < y->sample ? -1 : x->sample > y->sample;
}

static void list_candidates(struct race *r, const struct shv_keep *keep)
{
    size_t count = 0;
    for (size_t c = LEAST_CLASS; c < keep->rooms; c++) {
        for (size_t i = 0; i < keep->room[c].count; i++) {
            r->kit[count++] = keep->room[c].item[i];
        }
    }
    qsort(r->kit, count, sizeof *r->kit, best_first);
    for (size_t i = 0; i < r->samples; i++) {
        r->harsh[i].sample = (uint32_t)i;
    }
}

/* ---- a block of kits ---- */

struct runner {
    uint64_t index;
    size_t place, fails;
};

/* Those left of `count` after a round of samples from `done` on. */
static size_t tally(struct race *r, struct runner *runner, size_t count, size_t done, size_t more)
{
    size_t left = 0;
    for (size_t i = 0; i < more; i++) {
        struct harsh *h = &r->harsh[done + i];
        for (size_t k = 0; k < count; k++) {
            bool held = sure_held(&r->outcome[i * count + k]);
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

/* Samples up to SURE_BLOCK kits; *first is the place of the first of them that holds in enough
 * samples, `count` for none. */
static enum shv_status run_block(struct race *r, const uint64_t *index, size_t count, size_t *first,
                                 struct shv_message *message)
{
    struct runner runner[SURE_BLOCK];
    struct shv_kit kits[SURE_BLOCK];
    enum shv_status status = SHV_OK;
    size_t left = count;
    for (size_t k = 0; k < count; k++) {
        runner[k] = (struct runner){index[k], k, 0};
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
            status = sure_sample(r->plan, kits, left, (struct sure_samples){r->order + done, more},
                                 r->outcome, message);
        }
        left = status == SHV_OK ? tally(r, runner, left, done, more) : left;
    }
    *first = left > 0 ? runner[0].place : count;
    return status;
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

static enum shv_status run_race(struct race *r, struct sure_sell *sell, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0, some; i < r->count && !sell->found && status == SHV_OK; i += some) {
        uint64_t index[SURE_BLOCK];
        size_t first = 0;
        some = r->count - i < SURE_BLOCK ? r->count - i : SURE_BLOCK;
        for (size_t k = 0; k < some; k++) {
            index[k] = r->kit[i + k].index;
        }
        status = run_block(r, index, some, &first, message);
        sell->looked += some;
        if (status == SHV_OK && first < some) {
            sell->found = true;
            sell->index = index[first];
        }
    }
    if (status == SHV_OK && sell->found) {
        status = find_first_equal(r, &sell->index, message);
    }
    return status;
}

enum shv_status sure_sell(struct shv_model *model, struct sure_plan *plan,
                          const struct shv_space *space, const struct shv_keep *keep,
                          struct sure_sell *sell, struct shv_message *message)
{
    struct race r = {.model = model, .plan = plan, .space = space};
    *sell = (struct sure_sell){.index = UINT64_MAX};
    enum shv_status status = begin(&r, keep, message);
    if (status == SHV_OK) {
        list_candidates(&r, keep);
        status = run_race(&r, sell, message);
    }
    double objective = -INFINITY;
    for (size_t i = 0; i < r.count && sell->found; i++) {
        bool same = r.kit[i].index / space->supply_size == sell->index / space->supply_size;
        objective = same && r.kit[i].objective > objective ? r.kit[i].objective : objective;
    }
    sell->complete = reaches_down(keep, objective);
    end(&r);
    return status;
}
