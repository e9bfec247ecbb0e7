/* Requirements, values and dominance (range_thin.h).
 *
 * Dominance: b is dropped when there is an a of the same group that uses no part which b does not
 * use and that the group prefers. No plan is lost: wherever b was given, a can be given instead.
 * All its parts are in stock, so the stock and every count of it stay; it has the same blower, for
 * every kit has one, so a family keeps together; it is worth as much or more. And no plan of ours
 * ever gives b, since where b can be had so can a, which goes first.
 *
 * With at most one part of a kind, the parts of such an a are those of b with some left out: of
 * SHV_STOCK_KINDS kinds there are 2^SHV_STOCK_KINDS such sets. So candidates are taken in order of
 * preference and each looks its sets up among those kept: the time is linear in their number.
 */
#include "plan/range_thin.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Steps in the sum of what all groups' own best are worth. The solver takes a variable for whole
 * within 1e-6: below that a step would no longer be told apart from rounding. */
#define STEPS 1e7
#define ROUNDING 1e-9 /* of bounds that may have come through another unit */

/* ---- requirements ---- */

size_t thin_own_best(const struct shv_range_group *group)
{
    const unsigned own =
        THIN_FAILS | 1u << SHV_NEED_COOLER | 1u << SHV_NEED_PRICE | 1u << SHV_NEED_MASS;
    size_t best = SHV_NONE;
    for (size_t i = 0; i < group->count; i++) {
        const struct shv_range_candidate *c = &group->candidate[i];
        if ((thin_broken(group, c, 0.0) & own) == 0 &&
            (best == SHV_NONE || c->power > group->candidate[best].power)) {
            best = i;
        }
    }
    return best;
}

unsigned thin_broken(const struct shv_range_group *group, const struct shv_range_candidate *c,
                     double best_power)
{
    unsigned broken = c->holds == SHV_RANGE_FAILS ? THIN_FAILS : 0;
    if ((group->cooler == SHV_RANGE_COOLER_WITH && !c->has_cooler) ||
        (group->cooler == SHV_RANGE_COOLER_WITHOUT && c->has_cooler)) {
        broken |= 1u << SHV_NEED_COOLER;
    }
    if (c->price > group->most_price * (1.0 + ROUNDING)) {
        broken |= 1u << SHV_NEED_PRICE;
    }
    if (c->mass > group->most_mass * (1.0 + ROUNDING)) {
        broken |= 1u << SHV_NEED_MASS;
    }
    if (c->power < group->least_power * (1.0 - ROUNDING)) {
        broken |= 1u << SHV_NEED_POWER;
    }
    if (c->power < group->least_share * best_power * (1.0 - ROUNDING)) {
        broken |= 1u << SHV_NEED_SHARE;
    }
    return broken;
}

/* ---- values ---- */

double shv_range_worth(const struct shv_range_problem *problem, const struct shv_range_group *group,
                       const struct shv_range_candidate *c, double best_power)
{
    switch (problem->value) {
    case SHV_RANGE_POWER:
        break;
    case SHV_RANGE_SHARE:
        return c->power / best_power;
    case SHV_RANGE_PROFIT:
        return group->sale_price + group->sale_per_watt * c->power - c->price;
    }
    return c->power;
}

static double power_of(const struct shv_range_group *group, size_t candidate)
{
    return candidate == SHV_NONE ? 0.0 : group->candidate[candidate].power;
}

/* The size of what there is to win, which the grid is cut from: the largest worth of each group. */
static double scale_of(const struct shv_range_problem *problem)
{
    double sum = 0.0;
    for (size_t g = 0; g < problem->group_count; g++) {
        const struct shv_range_group *group = &problem->group[g];
        double most = 0.0, best = power_of(group, thin_own_best(group));
        for (size_t i = 0; i < group->count; i++) {
            const struct shv_range_candidate *c = &group->candidate[i];
            if (thin_broken(group, c, best) == 0) {
                most = fmax(most, fabs(shv_range_worth(problem, group, c, best)));
            }
        }
        sum += group->sales * most;
    }
    return sum;
}

/* ---- order ---- */

static int by_number(double x, double y)
{
    return (x > y) - (x < y);
}

struct ordered {
    struct thin_candidate candidate;
    const struct shv_range_candidate *of;
};

static int by_preference(const void *a, const void *b)
{
    const struct ordered *x = a, *y = b;
    if (x->candidate.value != y->candidate.value) {
        return x->candidate.value > y->candidate.value ? -1 : 1;
    }
    int order = by_number(x->of->price, y->of->price);
    order = order != 0 ? order : by_number(x->of->mass, y->of->mass);
    for (size_t k = 0; order == 0 && k < SHV_STOCK_KINDS; k++) {
        /* Having none goes first. */
        size_t p = x->of->part[k] + 1, q = y->of->part[k] + 1;
        order = (p > q) - (p < q);
    }
    if (order == 0) {
        order = (x->of->index > y->of->index) - (x->of->index < y->of->index);
    }
    return order != 0
               ? order
               : (x->candidate.from > y->candidate.from) - (x->candidate.from < y->candidate.from);
}

/* ---- dominance ---- */

/* Sets of parts that are kept, with open addressing. */
struct kept {
    size_t room;                       /* a power of two */
    size_t *at;                        /* place in item, and 1; 0 for none; owned */
    const struct thin_candidate *item; /* of the group */
};

static size_t place_of(const struct kept *kept, const size_t part[SHV_STOCK_KINDS], bool *is_there)
{
    uint64_t hash = 0xcbf29ce484222325u; /* FNV-1a by words */
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        hash = (hash ^ (uint64_t)part[k]) * 0x100000001b3u;
        hash ^= hash >> 29;
    }
    size_t place = (size_t)hash & (kept->room - 1);
    while (kept->at[place] > 0 && memcmp(kept->item[kept->at[place] - 1].part, part,
                                         SHV_STOCK_KINDS * sizeof *part) != 0) {
        place = (place + 1) & (kept->room - 1);
    }
    *is_there = kept->at[place] > 0;
    return place;
}

/* Whether a kept candidate uses no part but those of `part`. */
static bool is_dominated(const struct kept *kept, const size_t part[SHV_STOCK_KINDS])
{
    for (unsigned left_out = 0; left_out < 1u << SHV_STOCK_KINDS; left_out++) {
        size_t some[SHV_STOCK_KINDS];
        bool sensible = !(left_out >> SHV_STOCK_BLOWER & 1u), is_there;
        for (size_t k = 0; k < SHV_STOCK_KINDS && sensible; k++) {
            bool out = left_out >> k & 1u;
            sensible = !(out && part[k] == SHV_NONE); /* seen without leaving it out */
            some[k] = out ? SHV_NONE : part[k];
        }
        if (sensible) {
            (void)place_of(kept, some, &is_there);
            if (is_there) {
                return true;
            }
        }
    }
    return false;
}

static bool drop_dominated(struct thin_group *group)
{
    struct kept kept = {.room = 16, .item = group->item};
    while (kept.room < 2 * group->count) {
        kept.room *= 2;
    }
    kept.at = calloc(kept.room, sizeof *kept.at);
    if (!kept.at) {
        return false;
    }
    size_t left = 0;
    for (size_t i = 0; i < group->count; i++) {
        if (!is_dominated(&kept, group->item[i].part)) {
            bool is_there;
            group->item[left] = group->item[i];
            kept.at[place_of(&kept, group->item[left].part, &is_there)] = left + 1;
            left++;
        }
    }
    group->count = left;
    free(kept.at);
    return true;
}

/* ---- all of it ---- */

static void fill(struct thin *thin, size_t g, struct ordered *list)
{
    const struct shv_range_group *group = &thin->problem->group[g];
    struct thin_group *to = &thin->group[g];
    to->best = thin_own_best(group);
    double best = power_of(group, to->best);
    for (size_t i = 0; i < group->count; i++) {
        const struct shv_range_candidate *c = &group->candidate[i];
        unsigned broken = thin_broken(group, c, best);
        to->serving += (broken & ~THIN_FAILS) == 0 ? 1 : 0;
        if (broken != 0) {
            continue;
        }
        double worth = group->sales * shv_range_worth(thin->problem, group, c, best);
        struct ordered *o = &list[to->count++];
        o->of = c;
        o->candidate = (struct thin_candidate){.value = llround(worth / thin->step), .from = i};
        memcpy(o->candidate.part, c->part, sizeof c->part);
    }
    if (to->count > 0) {
        qsort(list, to->count, sizeof *list, by_preference);
    }
    for (size_t i = 0; i < to->count; i++) {
        to->item[i] = list[i].candidate;
    }
}

static bool thin_one(struct thin *thin, size_t g, bool is_whole)
{
    size_t room = thin->problem->group[g].count + 1;
    struct ordered *list = malloc(room * sizeof *list);
    thin->group[g].item = malloc(room * sizeof *thin->group[g].item);
    bool good = list && thin->group[g].item;
    if (good) {
        fill(thin, g, list);
        good = is_whole || drop_dominated(&thin->group[g]);
    }
    free(list);
    return good;
}

enum shv_status thin_make(struct thin *thin, const struct shv_range_problem *problem, size_t whole,
                          struct shv_message *message)
{
    *thin = (struct thin){.problem = problem};
    double scale = scale_of(problem);
    thin->step = scale > 0.0 ? scale / STEPS : 1.0;
    thin->group = calloc(problem->group_count, sizeof *thin->group);
    thin->cost = calloc(problem->part_count + 1, sizeof *thin->cost);
    bool good = thin->group && thin->cost;
    for (size_t p = 0; good && p < problem->part_count; p++) {
        bool counts = problem->value == SHV_RANGE_PROFIT;
        thin->cost[p] = counts ? llround(problem->part[p].cost / thin->step) : 0;
    }
    for (size_t g = 0; good && g < problem->group_count; g++) {
        good = thin_one(thin, g, g == whole);
    }
    return good ? SHV_OK : shv_fail(message, SHV_NO_MEMORY, "out of memory for the candidates");
}

void thin_free(struct thin *thin)
{
    for (size_t g = 0; thin->group && g < thin->problem->group_count; g++) {
        free(thin->group[g].item);
    }
    free(thin->group);
    free(thin->cost);
    *thin = (struct thin){.group = NULL};
}

/* ---- kits from a stock ---- */

/* The first that a group prefers of those with this blower, SHV_NONE for any. */
static size_t first_of(const struct thin_group *group, const bool *stocked, size_t blower)
{
    for (size_t i = 0; i < group->count; i++) {
        const struct thin_candidate *c = &group->item[i];
        bool has = blower == SHV_NONE || c->part[SHV_STOCK_BLOWER] == blower;
        for (size_t k = 0; has && k < SHV_STOCK_KINDS; k++) {
            has = c->part[k] == SHV_NONE || stocked[c->part[k]];
        }
        if (has) {
            return i;
        }
    }
    return SHV_NONE;
}

/* What a family gets with one blower; false when a group gets nothing. */
static bool try_blower(const struct thin *thin, const bool *stocked, size_t family, size_t blower,
                       size_t *position, int64_t *value)
{
    *value = 0;
    for (size_t g = 0; g < thin->problem->group_count; g++) {
        if (thin->problem->group[g].family != family) {
            continue;
        }
        position[g] = first_of(&thin->group[g], stocked, blower);
        if (position[g] == SHV_NONE) {
            return false;
        }
        *value += thin->group[g].item[position[g]].value;
    }
    return true;
}

/* The blower that is worth most to a family, of equals the first; false when none serves all. */
static bool assign_family(const struct thin *thin, const bool *stocked, size_t family,
                          size_t *position, int64_t *value)
{
    size_t best = SHV_NONE;
    int64_t most = 0, now;
    for (size_t p = 0; p < thin->problem->part_count; p++) {
        if (thin->problem->part[p].kind == SHV_STOCK_BLOWER && stocked[p] &&
            try_blower(thin, stocked, family, p, position, &now) &&
            (best == SHV_NONE || now > most)) {
            best = p;
            most = now;
        }
    }
    return best != SHV_NONE && try_blower(thin, stocked, family, best, position, value);
}

bool thin_assign(const struct thin *thin, const bool *stocked, size_t *position, int64_t *value)
{
    const struct shv_range_problem *problem = thin->problem;
    int64_t part = 0;
    *value = 0;
    for (size_t p = 0; p < problem->part_count; p++) {
        *value -= stocked[p] ? thin->cost[p] : 0;
    }
    for (size_t g = 0; g < problem->group_count; g++) {
        if (problem->group[g].family == SHV_NONE) {
            position[g] = first_of(&thin->group[g], stocked, SHV_NONE);
            if (position[g] == SHV_NONE) {
                return false;
            }
            *value += thin->group[g].item[position[g]].value;
        }
    }
    for (size_t f = 0; f < problem->family_count; f++) {
        if (!assign_family(thin, stocked, f, position, &part)) {
            return false;
        }
        *value += part;
    }
    return true;
}
