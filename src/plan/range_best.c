/* The best plan (range_best.h).
 *
 * From a stock that serves all, exchanges of parts make a good plan. The linear relaxation then
 * rules out what can't be in a better one, and the integer programme looks among the rest for the
 * best plan that is worth at least as much and is not this one. Mostly there is none: then the plan
 * is proven to be the best, and to be the only one. If there is a better one, it takes its place
 * and all begins again; if there is one of equal worth, the rule decides.
 */
#include "plan/range_best.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BLOCK 12 /* parts that one programme puts in order: weights up to 2^11 */

struct best {
    const struct best_job *job;
    const struct thin *thin;
    size_t parts, groups;
    best_found found;
    void *data;
    /* Owned. */
    bool *stocked, *trial, *skipped;
    size_t *position;
    int64_t *weight;
    struct programme_relaxed relaxed;
    signed char *fixed;
    int64_t value; /* of stocked */
};

static bool make_room(struct best *b)
{
    size_t candidates = 1, parts = b->parts + 1, groups = b->groups + 1;
    for (size_t g = 0; g < b->groups; g++) {
        candidates += b->thin->group[g].count;
    }
    b->stocked = calloc(parts, sizeof *b->stocked);
    b->trial = calloc(parts, sizeof *b->trial);
    b->skipped = calloc(groups, sizeof *b->skipped);
    b->position = calloc(groups, sizeof *b->position);
    b->weight = calloc(parts, sizeof *b->weight);
    b->fixed = calloc(parts, sizeof *b->fixed);
    b->relaxed.without = calloc(candidates, sizeof *b->relaxed.without);
    b->relaxed.fixed = calloc(parts, sizeof *b->relaxed.fixed);
    return b->stocked && b->trial && b->skipped && b->position && b->weight && b->fixed &&
           b->relaxed.without && b->relaxed.fixed;
}

static void free_room(struct best *b)
{
    free(b->stocked);
    free(b->trial);
    free(b->skipped);
    free(b->position);
    free(b->weight);
    free(b->fixed);
    free(b->relaxed.without);
    free(b->relaxed.fixed);
}

static bool tell(struct best *b, enum programme_end end, double bound, bool settled)
{
    struct programme_answer answer = {.end = end,
                                      .settled = settled,
                                      .objective = (double)b->value,
                                      .bound = bound,
                                      .stocked = b->stocked,
                                      .skipped = b->skipped};
    return b->found(b->data, &answer);
}

/* ---- exchanges of parts ---- */

static bool is_allowed(const struct best *b, const bool *stocked)
{
    const struct programme *o = &b->job->programme;
    size_t count[SHV_STOCK_KINDS] = {0}, all = 0;
    for (size_t p = 0; p < b->parts; p++) {
        if (stocked[p]) {
            count[b->thin->problem->part[p].kind]++;
            all++;
        }
    }
    bool good = all <= o->most_parts;
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        good = good && count[k] <= o->most[k];
    }
    return good;
}

/* Takes the trial over when it is worth more. */
static bool take_better(struct best *b)
{
    int64_t value;
    if (!is_allowed(b, b->trial) || !thin_assign(b->thin, b->trial, b->position, &value) ||
        value <= b->value) {
        return false;
    }
    b->value = value;
    memcpy(b->stocked, b->trial, b->parts * sizeof *b->stocked);
    return true;
}

/* One part more, or another in the place of one (out == parts: none). */
static bool exchange(struct best *b, size_t in, size_t out)
{
    memcpy(b->trial, b->stocked, b->parts * sizeof *b->trial);
    b->trial[in] = true;
    if (out < b->parts) {
        b->trial[out] = false;
    }
    return take_better(b);
}

/* First improvement in a fixed order, until there is none. */
static void exchange_all(struct best *b)
{
    bool any = true;
    while (any) {
        any = false;
        for (size_t in = 0; in < b->parts; in++) {
            for (size_t out = b->parts + 1; !b->stocked[in] && out-- > 0;) {
                if (out == b->parts || b->stocked[out]) {
                    any = exchange(b, in, out) || any;
                }
            }
        }
    }
}

static bool is_swap(const struct best *b, size_t in, size_t out)
{
    const struct shv_range_part *part = b->thin->problem->part;
    return !b->stocked[in] && b->stocked[out] && part[in].kind == part[out].kind;
}

/* Two parts for two of their kinds: pulleys change in pairs. The first that is worth more. */
static bool exchange_second(struct best *b, size_t in, size_t out)
{
    for (size_t to = in + 1; to < b->parts; to++) {
        for (size_t from = 0; from < b->parts; from++) {
            if (from == out || !is_swap(b, to, from)) {
                continue;
            }
            memcpy(b->trial, b->stocked, b->parts * sizeof *b->trial);
            b->trial[in] = b->trial[to] = true;
            b->trial[out] = b->trial[from] = false;
            if (take_better(b)) {
                return true;
            }
        }
    }
    return false;
}

static bool exchange_two(struct best *b)
{
    for (size_t in = 0; in < b->parts; in++) {
        for (size_t out = 0; out < b->parts; out++) {
            if (is_swap(b, in, out) && exchange_second(b, in, out)) {
                return true;
            }
        }
    }
    return false;
}

static void improve(struct best *b)
{
    do {
        exchange_all(b);
    } while (exchange_two(b));
}

/* ---- the rule among equals ---- */

static bool stage(const struct programme *o, struct programme_answer *answer)
{
    return programme_solve(o, answer) && answer->end == PROGRAMME_PROVEN;
}

/* Of all plans worth b->value those of fewest parts, and of these the one with the first parts.
 * False when it is not proven. */
static bool settle(struct best *b, const struct programme *first)
{
    struct programme_answer answer = {.stocked = b->trial, .skipped = b->skipped};
    struct programme o = *first;
    o.by_value = false;
    o.not_this = NULL;
    o.has_least_value = true;
    o.least_value = b->value;
    o.part_weight = b->weight;
    for (size_t p = 0; p < b->parts; p++) {
        b->weight[p] = -1;
        b->fixed[p] = first->fixed ? first->fixed[p] : -1;
    }
    o.fixed = b->fixed;
    if (!stage(&o, &answer)) {
        return false;
    }
    o.most_parts = (size_t)llround(-answer.objective);
    for (size_t begin = 0; begin < b->parts; begin += BLOCK) {
        size_t end = begin + BLOCK < b->parts ? begin + BLOCK : b->parts;
        for (size_t p = 0; p < b->parts; p++) {
            b->weight[p] = p >= begin && p < end ? (int64_t)1 << (end - 1 - p) : 0;
        }
        if (!stage(&o, &answer)) {
            return false;
        }
        for (size_t p = begin; p < end; p++) {
            b->fixed[p] = b->trial[p] ? 1 : 0;
        }
    }
    memcpy(b->stocked, b->trial, b->parts * sizeof *b->stocked);
    return true;
}

static bool settle_and_tell(struct best *b, const struct programme *o)
{
    return tell(b, PROGRAMME_PROVEN, (double)b->value, false) &&
           (!settle(b, o) || tell(b, PROGRAMME_PROVEN, (double)b->value, true));
}

/* What can be in a plan that is worth b->value. */
static void rule_out(struct best *b, struct programme *o, double *bound)
{
    struct programme relaxation = b->job->programme;
    o->fixed = NULL;
    o->without = NULL;
    if (programme_relax(&relaxation, b->value, &b->relaxed)) {
        o->fixed = b->relaxed.fixed;
        o->without = b->relaxed.without;
        *bound = b->relaxed.bound;
    }
}

/* ---- from scratch ---- */

static bool from_scratch(struct best *b)
{
    struct programme o = b->job->programme;
    struct programme_answer answer = {.stocked = b->stocked, .skipped = b->skipped};
    if (!programme_solve(&o, &answer)) {
        return false;
    }
    b->value = isfinite(answer.objective) ? llround(answer.objective) : 0;
    if (answer.end != PROGRAMME_PROVEN) {
        return b->found(b->data, &answer);
    }
    double bound;
    rule_out(b, &o, &bound);
    return settle_and_tell(b, &o);
}

/* ---- from a start ----
 *
 * A plan worth more than the best of one part less, or when no plan has fewer parts, has as many
 * parts as are allowed. So to rule out a stock and all that contain it rules out that one only.
 */

static bool from_start(struct best *b, int64_t least)
{
    struct programme_answer answer = {.stocked = b->trial, .skipped = b->skipped};
    struct programme o = b->job->programme;
    double bound = INFINITY;
    while (true) {
        bool is_more = b->value > least; /* else the start stays, unless there is a better one */
        rule_out(b, &o, &bound);
        o.has_least_value = true;
        o.least_value = is_more ? b->value : least + 1;
        o.not_this = is_more ? b->stocked : NULL;
        if (!tell(b, PROGRAMME_BROKEN_OFF, bound, false) || !programme_solve(&o, &answer)) {
            return false;
        }
        if (answer.end == PROGRAMME_INFEASIBLE) {
            return tell(b, PROGRAMME_PROVEN, (double)b->value, true);
        }
        if (answer.end == PROGRAMME_NOTHING || answer.end == PROGRAMME_FAILED) {
            bound = fmin(bound, answer.bound);
            return tell(b, PROGRAMME_BROKEN_OFF, fmax(bound, (double)b->value), false);
        }
        int64_t value = llround(answer.objective);
        bool equal = value <= b->value && is_more;
        if (equal && answer.end == PROGRAMME_PROVEN) {
            return settle_and_tell(b, &o);
        }
        if (!equal) {
            b->value = value;
            memcpy(b->stocked, b->trial, b->parts * sizeof *b->stocked);
        }
        if (answer.end == PROGRAMME_BROKEN_OFF) {
            return tell(b, PROGRAMME_BROKEN_OFF, fmax(answer.bound, (double)b->value), false);
        }
    }
}

/* From the stock of the job. */
static bool begin_at_start(struct best *b)
{
    memcpy(b->stocked, b->job->start, b->parts * sizeof *b->stocked);
    if (!thin_assign(b->thin, b->stocked, b->position, &b->value)) {
        return false;
    }
    int64_t least = b->job->from == BEST_OF_FEWER_PARTS ? b->value : INT64_MIN;
    improve(b);
    return from_start(b, least);
}

bool best_plan(const struct best_job *job, best_found found, void *data)
{
    const struct shv_range_problem *problem = job->programme.thin->problem;
    struct best b = {.job = job,
                     .thin = job->programme.thin,
                     .parts = problem->part_count,
                     .groups = problem->group_count,
                     .found = found,
                     .data = data};
    bool good = make_room(&b);
    if (good) {
        good = job->from == BEST_FROM_SCRATCH ? from_scratch(&b) : begin_at_start(&b);
    }
    free_room(&b);
    return good;
}
