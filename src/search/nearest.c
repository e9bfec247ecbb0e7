/* The kits nearest to being feasible (sheave/nearest.h). */
#include "sheave/nearest.h"

#include <math.h>
#include <stdlib.h>

#define SAMPLE ((uint64_t)4000) /* combinations; a space of no more is looked at whole */
#define CHOICES ((uint64_t)64)  /* of a dimension that are tried at once */
#define ROUNDS 12               /* over all dimensions, from one start */
#define ALL SHV_LIMIT_COUNT     /* the goal that every limit gives together */
#define GOLDEN 0.6180339887498949

/* The nearest so far to each goal: that one limit alone gives, or all together. */
struct hunt {
    const struct shv_model *model;
    const struct shv_space *space;
    const struct shv_watch *watch;
    struct shv_curves curves;
    struct shv_nearest best[SHV_NEAREST_MOST];
    double reach[SHV_NEAREST_MOST]; /* of the best, see reach_of() */
    size_t done, total;             /* of the sample and the goals, for the watch */
};

static double room_of(const struct shv_verdict *v, int limit)
{
    double share = v->limit[limit].share;
    return !(v->broken & SHV_LIMIT_BIT(limit)) ? INFINITY : isnan(share) ? -INFINITY : share;
}

/* The least room of all limits but one (none: -1). */
static double worst_but(const struct shv_verdict *v, int but)
{
    double worst = INFINITY;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        worst = k == but ? worst : fmin(worst, room_of(v, k));
    }
    return worst;
}

/* The more the nearer. Where a limit is to give alone, a kit that breaks another one is farther
 * than any that doesn't, the farther the more it breaks that one. */
static double reach_of(const struct shv_verdict *v, int goal)
{
    const double others_broken = -1e9;
    if (v->outcome != SHV_POINT_OK) {
        return -INFINITY;
    }
    if (goal == ALL) {
        return worst_but(v, -1);
    }
    double others = worst_but(v, goal);
    return others < 0.0 ? others_broken + others : room_of(v, goal);
}

static bool is_goal(const struct hunt *h, int goal)
{
    return goal == ALL || !isinf(h->curves.verdict.limit[goal].bound);
}

/* Evaluates a combination and takes it where it is nearer than what there was; of equals the lower
 * index. */
static void look_at(struct hunt *h, uint64_t index)
{
    const struct shv_verdict *v = &h->curves.verdict;
    struct shv_kit kit;
    shv_space_kit(h->space, shv_model_study(h->model), index, &kit);
    shv_model_evaluate(h->model, &kit, &h->curves);
    for (int goal = 0; goal <= ALL; goal++) {
        struct shv_nearest *best = &h->best[goal];
        double reach = is_goal(h, goal) && !v->feasible ? reach_of(v, goal) : -INFINITY;
        if (reach > h->reach[goal] ||
            (reach == h->reach[goal] && !isinf(reach) && index < best->index)) {
            *best = (struct shv_nearest){.index = index, .room = worst_but(v, -1), .verdict = *v};
            h->reach[goal] = reach;
        }
    }
}

/* ---- from a start, one part at a time ---- */

/* Every choice of a dimension, or, of very many, some that are spread over it and those next to the
 * one that is taken. */
static void try_dimension(struct hunt *h, uint64_t index, enum shv_dim dim)
{
    uint64_t choice[SHV_DIM_COUNT], count = h->space->count[dim];
    uint64_t tried = count < CHOICES ? count : CHOICES;
    shv_space_split(h->space, index, choice);
    uint64_t now = choice[dim];
    for (uint64_t i = 0; i < tried; i++) {
        choice[dim] = count <= CHOICES ? i : i * (count - 1) / (CHOICES - 1);
        if (choice[dim] != now) {
            look_at(h, shv_space_join(h->space, choice));
        }
    }
    for (uint64_t next = now > 0 ? now - 1 : now + 1;
         count > CHOICES && next < count && next <= now + 1; next += 2) {
        choice[dim] = next;
        look_at(h, shv_space_join(h->space, choice));
    }
}

static void come_nearer(struct hunt *h, int goal)
{
    double before = -INFINITY;
    for (int round = 0; round < ROUNDS && h->reach[goal] > before; round++) {
        before = h->reach[goal];
        for (int dim = 0; dim < SHV_DIM_COUNT; dim++) {
            try_dimension(h, h->best[goal].index, (enum shv_dim)dim);
        }
    }
}

/* ---- all of it ---- */

static bool go_on(struct hunt *h)
{
    h->done++;
    return !h->watch || !h->watch->step || h->watch->step(h->watch->data, h->done, h->total);
}

/* Spread over every dimension: multiples of the golden section, by their remainders. */
static bool look_at_sample(struct hunt *h)
{
    bool whole = h->space->size <= SAMPLE;
    uint64_t count = whole ? h->space->size : SAMPLE;
    for (uint64_t i = 0; i < count; i++) {
        double at = GOLDEN * (double)i;
        uint64_t index = whole ? i : (uint64_t)((at - floor(at)) * (double)h->space->size);
        look_at(h, index < h->space->size ? index : h->space->size - 1);
        if (i % 100 == 0 && !go_on(h)) {
            return false;
        }
    }
    return true;
}

static bool look_around(struct hunt *h)
{
    for (int goal = 0; goal <= ALL; goal++) {
        come_nearer(h, goal);
        if (!go_on(h)) {
            return false;
        }
    }
    return true;
}

static int by_room(const void *a, const void *b)
{
    const struct shv_nearest *x = a, *y = b;
    return x->room > y->room ? -1 : x->room < y->room;
}

static size_t list_found(struct hunt *h, struct shv_nearest nearest[SHV_NEAREST_MOST])
{
    size_t count = 0;
    for (int goal = 0; goal < ALL; goal++) {
        if (h->best[goal].verdict.broken == SHV_LIMIT_BIT(goal) && isfinite(h->reach[goal])) {
            nearest[count] = h->best[goal];
            nearest[count++].alone = goal;
        }
    }
    qsort(nearest, count, sizeof *nearest, by_room);
    shv_limit_set broken = h->best[ALL].verdict.broken;
    if ((broken & (broken - 1)) != 0 && isfinite(h->reach[ALL])) {
        nearest[count] = h->best[ALL];
        nearest[count++].alone = -1;
    }
    return count;
}

enum shv_status shv_nearest_find(const struct shv_model *model, const struct shv_space *space,
                                 const struct shv_watch *watch,
                                 struct shv_nearest nearest[SHV_NEAREST_MOST], size_t *count,
                                 struct shv_message *message)
{
    struct hunt *h = calloc(1, sizeof *h);
    *count = 0;
    if (!h) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the nearest kits");
    }
    h->model = model;
    h->space = space;
    h->watch = watch;
    uint64_t sample = space->size < SAMPLE ? space->size : SAMPLE;
    h->total = (size_t)((sample + 99) / 100) + SHV_NEAREST_MOST;
    for (int goal = 0; goal <= ALL; goal++) {
        h->reach[goal] = -INFINITY;
    }
    enum shv_status status = shv_curves_init(&h->curves, model, message);
    if (status == SHV_OK && !(look_at_sample(h) && (space->size <= SAMPLE || look_around(h)))) {
        status = shv_fail(message, SHV_STOPPED, "the search for the nearest kits was stopped");
    }
    if (status == SHV_OK) {
        *count = list_found(h, nearest);
    }
    shv_curves_free(&h->curves);
    free(h);
    return status;
}
