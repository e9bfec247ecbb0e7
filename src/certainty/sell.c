/* The kit to sell (sell.h): sets of kits that differ only in injectors, pump and belt, the best
 * first, until none that is left is better than a kit that holds in enough of the samples. */
#include "certainty/sell.h"

#include <math.h>
#include <stdlib.h>

#include "certainty/race.h"
#include "certainty/worth_knowing.h"

/* Kits of less room are not looked at where more sets are better than the sweep keeps: a demand is
 * known within this share. */
#define LEAST_CLASS 7
/* Sets that are looked at before it is asked whether one holds: at first, and at the most. */
#define FEW ((size_t)8)
#define MANY ((size_t)256)
/* Points where one of every so many kits side by side has less room than this are looked at before
 * all others. */
#define EVERY 4
#define NEAR 0.1

/* One of a set, and a number by which those of the same blower and setup come together. */
struct placed {
    uint64_t setup, index;
};

struct seller {
    struct race race;
    struct shv_candidate *set; /* the best of each, best first, owned */
    size_t count;
    struct shv_candidate bar; /* the last before which none is left out; of all index UINT64_MAX */
    struct placed *some;      /* those that are looked at together, owned */
    struct shv_lanes *lanes;  /* owned */
    struct shv_curves curves; /* owned */
    bool *only;               /* points, owned */
    struct shv_ranking variants; /* of sets that may hold, owned */
    struct shv_candidate sell;   /* index UINT64_MAX: none yet */
};

/* ---- the list ---- */

static int best_first(const void *a, const void *b)
{
    return shv_candidate_before(a, b) ? -1 : shv_candidate_before(b, a) ? 1 : 0;
}

static size_t most_sets(const struct shv_keep *keep)
{
    size_t count = 0;
    for (size_t c = LEAST_CLASS; keep && c < keep->rooms; c++) {
        count += keep->room[c].count;
    }
    return count;
}

/* The best that the sweep kept; where it could not keep all, behind them those of enough room. */
static void list_sets(struct seller *s, const struct shv_keep *keep)
{
    const struct shv_ranking *any = &keep->room[SHV_ROOM_ANY];
    for (size_t i = 0; i < any->count; i++) {
        s->set[s->count++] = any->item[i];
    }
    qsort(s->set, s->count, sizeof *s->set, best_first);
    if (any->count < any->capacity) {
        return;
    }
    s->bar = s->set[s->count - 1];
    for (size_t c = LEAST_CLASS; c < SHV_ROOM_CLASSES; c++) {
        for (size_t i = 0; i < keep->room[c].count; i++) {
            if (shv_candidate_before(&s->bar, &keep->room[c].item[i])) {
                s->set[s->count++] = keep->room[c].item[i];
            }
        }
    }
    qsort(s->set + any->count, s->count - any->count, sizeof *s->set, best_first);
}

static enum shv_status begin(struct seller *s, const struct shv_keep *keep,
                             struct shv_message *message)
{
    const struct shv_model *model = s->race.model;
    const struct shv_study *study = shv_model_study(model);
    s->set = calloc(most_sets(keep) + 1, sizeof *s->set);
    s->some = calloc(MANY, sizeof *s->some);
    s->only = calloc(study->site_count * study->engine.speed_count, sizeof *s->only);
    enum shv_status status = shv_curves_init(&s->curves, model, message);
    status = status == SHV_OK ? shv_lanes_create(model, &s->lanes, message) : status;
    status = status == SHV_OK ? shv_ranking_init(&s->variants,
                                                 MANY * (size_t)s->race.space->supply_size, message)
                              : status;
    if (status == SHV_OK && !(s->set && s->some && s->only)) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for the search of kits to sell");
    }
    if (status == SHV_OK && s->set && keep->rooms > 0) {
        list_sets(s, keep);
    }
    return status;
}

static void end(struct seller *s)
{
    race_end(&s->race);
    shv_lanes_free(s->lanes);
    shv_curves_free(&s->curves);
    shv_ranking_free(&s->variants);
    free(s->set);
    free(s->some);
    free(s->only);
}

/* ---- which sets may hold ---- */

static int by_setup(const void *a, const void *b)
{
    const struct placed *x = a, *y = b;
    if (x->setup != y->setup) {
        return x->setup < y->setup ? -1 : 1;
    }
    return x->index < y->index ? -1 : x->index > y->index;
}

/* Kits side by side are evaluated fastest where they share blower, fuel, mixture and ignition. */
static void place(struct seller *s, size_t first, size_t count)
{
    const struct shv_space *space = s->race.space;
    uint64_t choice[SHV_DIM_COUNT];
    for (size_t i = 0; i < count; i++) {
        shv_space_split(space, s->set[first + i].index, choice);
        uint64_t setup = choice[SHV_DIM_BLOWER];
        setup = setup * space->count[SHV_DIM_FUEL] + choice[SHV_DIM_FUEL];
        setup = setup * space->count[SHV_DIM_LAMBDA] + choice[SHV_DIM_LAMBDA];
        setup = setup * space->count[SHV_DIM_IGNITION_MARGIN] + choice[SHV_DIM_IGNITION_MARGIN];
        s->some[i] = (struct placed){setup, s->set[first + i].index};
    }
    qsort(s->some, count, sizeof *s->some, by_setup);
}

/* Points where limits of air and burn are near. False for none. */
static bool find_points(struct seller *s, const uint64_t *index, size_t count)
{
    const struct shv_study *study = shv_model_study(s->race.model);
    size_t speeds = study->engine.speed_count;
    bool any = false;
    for (size_t i = 0; i < study->site_count * speeds; i++) {
        s->only[i] = false;
    }
    for (size_t i = 0; i < count; i += EVERY) {
        struct shv_kit kit;
        shv_space_kit(s->race.space, study, index[i], &kit);
        shv_model_evaluate(s->race.model, &kit, &s->curves);
        for (int k = SHV_LIMIT_FORMULA_COUNT; k < SHV_LIMIT_BURN_COUNT; k++) {
            const struct shv_limit_result *l = &s->curves.verdict.limit[k];
            bool near = l->share < NEAR; /* false for NAN */
            s->only[near ? l->site * speeds + l->speed : 0] |= near;
            any = any || near;
        }
    }
    return any;
}

/* Leaves those of a block that pass a test. */
static enum shv_status sift(struct seller *s, struct race_test test, uint64_t *index, size_t *count,
                            struct shv_message *message)
{
    bool holds[SURE_BLOCK];
    size_t left = 0;
    enum shv_status status =
        *count > 0 ? race_run(&s->race, test, index, *count, holds, message) : SHV_OK;
    for (size_t k = 0; k < *count && status == SHV_OK; k++) {
        if (holds[k]) {
            index[left++] = index[k];
        }
    }
    *count = left;
    return status;
}

/* Offers the variants of a set that hold everything with nothing off. */
static void list_variants(struct seller *s, uint64_t index)
{
    const struct shv_space *space = s->race.space;
    uint64_t first = index - index % space->supply_size;
    for (uint64_t i = 0, some; i < space->supply_size; i += some) {
        uint64_t variant[SURE_BLOCK];
        struct shv_candidate held[SURE_BLOCK];
        some = space->supply_size - i < SURE_BLOCK ? space->supply_size - i : SURE_BLOCK;
        for (uint64_t k = 0; k < some; k++) {
            variant[k] = first + i + k;
        }
        size_t count = race_nominal(&s->race, s->lanes, variant, (size_t)some, held);
        for (size_t k = 0; k < count; k++) {
            shv_ranking_offer(&s->variants, held[k]);
        }
    }
}

/* Limits in which the variants of a set have no say. */
static shv_limit_set limits_of_sets(void)
{
    shv_limit_set limits = 0;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        limits |= shv_limit_info((enum shv_limit)k)->of_supply ? 0 : SHV_LIMIT_BIT(k);
    }
    return limits;
}

/* A set that breaks limits in which its variants have no say in too many samples is out, with all
 * of them: first by the points where its limits are near, then by all. */
static enum shv_status run_block(struct seller *s, const struct placed *some, size_t count,
                                 struct shv_message *message)
{
    uint64_t index[SURE_BLOCK];
    const shv_limit_set limits = limits_of_sets();
    enum shv_status status = SHV_OK;
    for (size_t k = 0; k < count; k++) {
        index[k] = some[k].index;
    }
    if (find_points(s, index, count)) {
        const struct race_test near = {limits, s->only};
        status = sift(s, near, index, &count, message);
    }
    if (status == SHV_OK) {
        const struct race_test whole = {limits, NULL};
        status = sift(s, whole, index, &count, message);
    }
    for (size_t k = 0; k < count && status == SHV_OK; k++) {
        list_variants(s, index[k]);
    }
    return status;
}

/* ---- which kit ---- */

/* The best of the variants that holds, if it is better than what was found before. */
static enum shv_status run_variants(struct seller *s, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    const struct shv_candidate *v = s->variants.item;
    bool found = false;
    shv_ranking_sort(&s->variants);
    for (size_t i = 0, some; i < s->variants.count && !found && status == SHV_OK; i += some) {
        uint64_t index[FEW];
        some = s->variants.count - i < FEW ? s->variants.count - i : FEW;
        size_t left = some;
        for (size_t k = 0; k < some; k++) {
            index[k] = v[i + k].index;
        }
        status = sift(s, race_whole, index, &left, message);
        found = status == SHV_OK && left > 0;
        for (size_t k = 0; k < some && found; k++) {
            if (v[i + k].index == index[0] && shv_candidate_before(&v[i + k], &s->sell)) {
                s->sell = v[i + k];
            }
        }
    }
    s->variants.count = 0;
    return status;
}

static enum shv_status run_sets(struct seller *s, struct sure_sell *sell,
                                struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    size_t i = 0, some;
    for (; i < s->count && status == SHV_OK && !shv_candidate_before(&s->sell, &s->set[i]);
         i += some) {
        some = i < FEW ? FEW : i < MANY ? i : MANY;
        some = some < s->count - i ? some : s->count - i;
        place(s, i, some);
        for (size_t k = 0; k < some && status == SHV_OK; k += SURE_BLOCK) {
            size_t block = some - k < SURE_BLOCK ? some - k : SURE_BLOCK;
            status = run_block(s, s->some + k, block, message);
        }
        status = status == SHV_OK ? run_variants(s, message) : status;
    }
    sell->looked = i;
    return status;
}

enum shv_status sure_sell(struct shv_model *model, struct sure_plan *plan,
                          const struct shv_space *space, const struct shv_keep *keep,
                          struct sure_sell *sell, struct shv_message *message)
{
    struct seller s = {.bar = {-INFINITY, UINT64_MAX}, .sell = {-INFINITY, UINT64_MAX}};
    *sell = (struct sure_sell){.index = UINT64_MAX};
    enum shv_status status = race_begin(&s.race, model, plan, space, message);
    status = status == SHV_OK ? begin(&s, keep, message) : status;
    status = status == SHV_OK ? run_sets(&s, sell, message) : status;
    sell->index = s.sell.index;
    sell->found = s.sell.index != UINT64_MAX;
    sell->complete = !shv_candidate_before(&s.bar, &s.sell);
    end(&s);
    return status;
}

/* ---- how much it is ---- */

/* Sets looked at before one holds, as the demo studies have them. */
#define USUAL ((size_t)6000)
/* A sample at a few points takes so much less than one of all. */
#define LESS 4

static size_t samples_of(const struct shv_tolerances *t, size_t sets)
{
    return (sets < USUAL ? sets : USUAL) * 3 / 2 * sure_may_fail(t);
}

size_t shv_sure_sought(const struct shv_tolerances *tolerances)
{
    return isnan(tolerances->hold)
               ? 0
               : samples_of(tolerances, USUAL) / LESS + sure_worth_samples(tolerances);
}

size_t sure_sell_samples(const struct sure_plan *plan, const struct shv_keep *keep)
{
    return samples_of(plan->tolerances, most_sets(keep));
}
