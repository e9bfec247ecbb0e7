/* Deletion of requirements and elastic programmes (range_explain.h). */
#include "plan/range_explain.h"

#include "plan/range_hold.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RELIEFS_OF_GROUP (1u << SHV_GROUP_NEEDS)

/* ---- lists of the result ---- */

static bool add_relief(struct shv_range_result *r, struct shv_range_relief relief)
{
    struct shv_range_relief *list = realloc(r->relief, (r->relief_count + 1) * sizeof *list);
    if (!list) {
        return false;
    }
    r->relief = list;
    list[r->relief_count++] = relief;
    return true;
}

static bool add_unserved(struct shv_range_result *r, size_t group)
{
    size_t *list = realloc(r->unserved, (r->unserved_count + 1) * sizeof *list);
    if (!list) {
        return false;
    }
    r->unserved = list;
    list[r->unserved_count++] = group;
    return true;
}

static size_t next_way(const struct shv_range_result *r)
{
    return r->relief_count > 0 ? r->relief[r->relief_count - 1].way + 1 : 0;
}

static enum shv_status no_memory(struct shv_message *message)
{
    return shv_fail(message, SHV_NO_MEMORY, "out of memory for what stands against the plan");
}

/* ---- requirements of one group ---- */

static unsigned needs_of(const struct shv_range_group *g)
{
    unsigned needs = 0;
    needs |= g->cooler != SHV_RANGE_COOLER_ANY ? 1u << SHV_NEED_COOLER : 0;
    needs |= isfinite(g->most_price) ? 1u << SHV_NEED_PRICE : 0;
    needs |= isfinite(g->most_mass) ? 1u << SHV_NEED_MASS : 0;
    needs |= g->least_power > 0.0 ? 1u << SHV_NEED_POWER : 0;
    needs |= g->least_share > 0.0 ? 1u << SHV_NEED_SHARE : 0;
    return needs;
}

/* The group without some of them. */
static struct shv_range_group lift(const struct shv_range_group *group, unsigned needs)
{
    struct shv_range_group g = *group;
    g.cooler = needs >> SHV_NEED_COOLER & 1u ? SHV_RANGE_COOLER_ANY : g.cooler;
    g.most_price = needs >> SHV_NEED_PRICE & 1u ? INFINITY : g.most_price;
    g.most_mass = needs >> SHV_NEED_MASS & 1u ? INFINITY : g.most_mass;
    g.least_power = needs >> SHV_NEED_POWER & 1u ? 0.0 : g.least_power;
    g.least_share = needs >> SHV_NEED_SHARE & 1u ? 0.0 : g.least_share;
    return g;
}

/* What a candidate has of what a requirement bounds. */
static double measure(enum shv_range_need need, const struct shv_range_candidate *c,
                      double best_power)
{
    switch (need) {
    case SHV_NEED_PRICE:
        return c->price;
    case SHV_NEED_MASS:
        return c->mass;
    case SHV_NEED_POWER:
        return c->power;
    case SHV_NEED_SHARE:
        return c->power / best_power;
    default:
        return NAN;
    }
}

static double bound_of(enum shv_range_need need, const struct shv_range_group *g)
{
    switch (need) {
    case SHV_NEED_PRICE:
        return g->most_price;
    case SHV_NEED_MASS:
        return g->most_mass;
    case SHV_NEED_POWER:
        return g->least_power;
    case SHV_NEED_SHARE:
        return g->least_share;
    default:
        return NAN;
    }
}

/* The candidate by which to say how far lifted requirements have to give: with one, the one that
 * asks least of it; with several, the one of highest power. SHV_NONE: nothing serves. */
static size_t serving(const struct shv_range_group *lifted, unsigned needs)
{
    size_t own = thin_own_best(lifted), found = SHV_NONE;
    double best = own == SHV_NONE ? 0.0 : lifted->candidate[own].power;
    bool by_price = needs == 1u << SHV_NEED_PRICE, by_mass = needs == 1u << SHV_NEED_MASS;
    for (size_t i = 0; i < lifted->count; i++) {
        const struct shv_range_candidate *c = &lifted->candidate[i];
        if (thin_broken(lifted, c, best) != 0) {
            continue;
        }
        const struct shv_range_candidate *f = found == SHV_NONE ? c : &lifted->candidate[found];
        bool better = by_price  ? c->price < f->price
                      : by_mass ? c->mass < f->mass
                                : c->power > f->power;
        found = found == SHV_NONE || better ? i : found;
    }
    return found;
}

static unsigned bits(unsigned set)
{
    unsigned count = 0;
    for (; set != 0; set &= set - 1) {
        count++;
    }
    return count;
}

static bool tell_lifted(const struct shv_range_group *group, size_t which, unsigned needs,
                        size_t candidate, struct shv_range_result *r)
{
    struct shv_range_group lifted = lift(group, needs);
    size_t own = thin_own_best(&lifted), way = next_way(r);
    for (int n = 0; n < SHV_GROUP_NEEDS; n++) {
        struct shv_range_relief relief = {.way = way,
                                          .need = (enum shv_range_need)n,
                                          .which = which,
                                          .is = bound_of((enum shv_range_need)n, group),
                                          .to = measure((enum shv_range_need)n,
                                                        &group->candidate[candidate],
                                                        group->candidate[own].power)};
        if ((needs >> n & 1u) && !add_relief(r, relief)) {
            return false;
        }
    }
    return true;
}

/* All of the smallest sets that, lifted, leave the group something. */
static bool explain_group(const struct shv_range_group *group, size_t which,
                          struct shv_range_result *r)
{
    unsigned needs = needs_of(group);
    bool any = false;
    for (unsigned size = 1; size <= SHV_GROUP_NEEDS && !any; size++) {
        for (unsigned set = 1; set < RELIEFS_OF_GROUP; set++) {
            if ((set & ~needs) != 0 || bits(set) != size) {
                continue;
            }
            struct shv_range_group lifted = lift(group, set);
            size_t found = serving(&lifted, set);
            any = any || found != SHV_NONE;
            if (found != SHV_NONE && !tell_lifted(group, which, set, found, r)) {
                return false;
            }
        }
    }
    return true;
}

enum shv_status explain_alone(const struct thin *thin, const struct shv_range_options *options,
                              struct shv_range_result *result, struct shv_message *message)
{
    const struct shv_range_problem *problem = thin->problem;
    enum shv_status status = SHV_OK;
    result->alone = true;
    for (size_t g = 0; g < problem->group_count && status == SHV_OK; g++) {
        if (thin->group[g].count > 0) {
            continue;
        }
        status = hold_ask_all(problem, options, g, message);
        if (status == SHV_OK &&
            (!add_unserved(result, g) || !explain_group(&problem->group[g], g, result))) {
            status = no_memory(message);
        }
    }
    return status;
}

/* ---- all groups together ---- */

struct explain {
    const struct thin *thin;
    const struct shv_range_options *options;
    const struct solver_watch *watch;
    struct shv_range_result *result;
    struct shv_message *message;
};

/* Of the limits that the plan has, nothing lifted and no objective. */
static struct programme limits_of(const struct thin *thin)
{
    struct programme o = {.thin = thin, .most_parts = thin->problem->most_parts};
    memcpy(o.most, thin->problem->most, sizeof o.most);
    return o;
}

/* SHV_OK with *possible told. */
static enum shv_status try_programme(struct explain *e, const struct programme *o, bool *possible,
                                     struct programme_answer *plan)
{
    enum shv_status status = solver_run(o, e->watch, plan, e->message);
    *possible = status == SHV_OK && programme_has_plan(plan);
    return status == SHV_NOTHING ? SHV_OK : status;
}

/* ---- who is left out ---- */

static size_t rank_of(const struct shv_range_problem *problem, size_t group)
{
    size_t rank = 1;
    for (size_t g = 0; g < problem->group_count; g++) {
        double a = problem->group[g].sales, b = problem->group[group].sales;
        rank += a < b || (!(a > b) && g > group) ? 1 : 0;
    }
    return rank;
}

/* Without one of its requirements, what else such a group has may matter. */
static enum shv_status ask_of_unserved(struct explain *e)
{
    enum shv_status status = SHV_OK;
    for (size_t u = 0; u < e->result->unserved_count && status == SHV_OK; u++) {
        status = hold_ask_all(e->thin->problem, e->options, e->result->unserved[u], e->message);
    }
    return status;
}

static enum shv_status find_unserved(struct explain *e)
{
    const struct shv_range_problem *problem = e->thin->problem;
    size_t groups = problem->group_count;
    int64_t *weight = malloc((groups + 1) * sizeof *weight);
    if (!weight) {
        return no_memory(e->message);
    }
    int64_t first = (int64_t)(groups * (groups + 1) / 2 + 1);
    for (size_t g = 0; g < groups; g++) {
        weight[g] = -first - (int64_t)rank_of(problem, g);
    }
    struct programme o = limits_of(e->thin);
    struct programme_answer plan;
    o.skips = true;
    o.skip_weight = weight;
    bool possible;
    enum shv_status status = try_programme(e, &o, &possible, &plan);
    for (size_t g = 0; status == SHV_OK && possible && g < groups; g++) {
        if (plan.skipped[g] && !add_unserved(e->result, g)) {
            status = no_memory(e->message);
        }
    }
    solver_plan_free(&plan);
    free(weight);
    return status;
}

/* ---- one limit alone ---- */

static size_t most_of(const struct shv_range_problem *problem, size_t i)
{
    return i < SHV_STOCK_KINDS ? problem->most[i] : problem->most_parts;
}

static struct shv_range_relief number_relief(const struct shv_range_problem *problem, size_t i,
                                             size_t excess, size_t way)
{
    return (struct shv_range_relief){
        .way = way,
        .need = i < SHV_STOCK_KINDS ? SHV_NEED_KIND : SHV_NEED_PARTS,
        .which = i,
        .is = (double)most_of(problem, i),
        .to = (double)(most_of(problem, i) + excess),
    };
}

static enum shv_status try_number(struct explain *e, size_t i)
{
    const struct shv_range_problem *problem = e->thin->problem;
    if (most_of(problem, i) == SHV_NONE) {
        return SHV_OK;
    }
    struct programme o = limits_of(e->thin);
    struct programme_answer plan;
    bool possible;
    o.excess[i] = true;
    o.excess_weight = -1;
    enum shv_status status = try_programme(e, &o, &possible, &plan);
    if (status == SHV_OK && possible &&
        !add_relief(e->result, number_relief(problem, i, plan.excess[i], next_way(e->result)))) {
        status = no_memory(e->message);
    }
    solver_plan_free(&plan);
    return status;
}

/* The problem with its own list of groups, to be changed. */
static struct shv_range_group *copy_groups(const struct shv_range_problem *problem)
{
    struct shv_range_group *groups = malloc((problem->group_count + 1) * sizeof *groups);
    return groups ? memcpy(groups, problem->group, problem->group_count * sizeof *groups) : NULL;
}

static enum shv_status try_family(struct explain *e, size_t family)
{
    struct shv_range_problem problem = *e->thin->problem;
    struct shv_range_group *groups = copy_groups(&problem);
    struct programme_answer plan;
    bool possible;
    if (!groups) {
        return no_memory(e->message);
    }
    for (size_t g = 0; g < problem.group_count; g++) {
        groups[g].family = groups[g].family == family ? SHV_NONE : groups[g].family;
    }
    problem.group = groups;
    struct thin thin = *e->thin;
    thin.problem = &problem;
    struct programme o = limits_of(&thin);
    enum shv_status status = try_programme(e, &o, &possible, &plan);
    struct shv_range_relief relief = {
        .way = next_way(e->result), .need = SHV_NEED_FAMILY, .which = family, .is = NAN, .to = NAN};
    if (status == SHV_OK && possible && !add_relief(e->result, relief)) {
        status = no_memory(e->message);
    }
    solver_plan_free(&plan);
    free(groups);
    return status;
}

/* ---- one requirement of a group alone ---- */

/* Whole numbers that fall with what the requirement has to give: W, cents, g; rounded so that what
 * they tell is enough. */
static int64_t *wanted(const struct thin *thin, size_t g, enum shv_range_need need)
{
    const struct thin_group *group = &thin->group[g];
    int64_t *value = malloc((group->count + 1) * sizeof *value);
    for (size_t i = 0; value && i < group->count; i++) {
        const struct shv_range_candidate *c =
            &thin->problem->group[g].candidate[group->item[i].from];
        value[i] = need == SHV_NEED_PRICE  ? -(int64_t)ceil(100.0 * c->price - 1e-6)
                   : need == SHV_NEED_MASS ? -(int64_t)ceil(1000.0 * c->mass - 1e-6)
                                           : (int64_t)floor(c->power);
    }
    return value;
}

static double given(const struct thin *thin, size_t g, enum shv_range_need need, double objective)
{
    const struct shv_range_group *group = &thin->problem->group[g];
    switch (need) {
    case SHV_NEED_PRICE:
        return -objective / 100.0;
    case SHV_NEED_MASS:
        return -objective / 1000.0;
    case SHV_NEED_POWER:
        return objective;
    case SHV_NEED_SHARE:
        return objective / group->candidate[thin->group[g].best].power;
    default:
        return NAN;
    }
}

static enum shv_status solve_lifted(struct explain *e, const struct thin *thin, size_t g,
                                    enum shv_range_need need)
{
    struct programme o = limits_of(thin);
    struct programme_answer plan;
    bool possible;
    int64_t *value = wanted(thin, g, need);
    if (!value) {
        return no_memory(e->message);
    }
    o.other = g;
    o.other_value = need == SHV_NEED_COOLER ? NULL : value;
    enum shv_status status = try_programme(e, &o, &possible, &plan);
    if (status == SHV_OK && possible) {
        struct shv_range_relief relief = {.way = next_way(e->result),
                                          .need = need,
                                          .which = g,
                                          .is = bound_of(need, &e->thin->problem->group[g]),
                                          .to = given(thin, g, need, plan.objective)};
        status = add_relief(e->result, relief) ? SHV_OK : no_memory(e->message);
    }
    solver_plan_free(&plan);
    free(value);
    return status;
}

static enum shv_status try_need(struct explain *e, size_t g, enum shv_range_need need)
{
    struct shv_range_problem problem = *e->thin->problem;
    struct shv_range_group *groups = copy_groups(&problem);
    struct thin thin;
    if (!groups) {
        return no_memory(e->message);
    }
    groups[g] = lift(&groups[g], 1u << need);
    problem.group = groups;
    enum shv_status status = thin_make(&thin, &problem, g, e->message);
    if (status == SHV_OK) {
        status = solve_lifted(e, &thin, g, need);
    }
    thin_free(&thin);
    free(groups);
    return status;
}

/* ---- several at once ---- */

/* As few parts more as can be, and with `families` no family kept together. */
static enum shv_status try_all(struct explain *e, bool families)
{
    const struct shv_range_problem *problem = e->thin->problem;
    struct programme o = limits_of(e->thin);
    struct programme_answer plan;
    bool possible;
    size_t way = next_way(e->result);
    o.no_families = families;
    o.excess_weight = -1;
    for (size_t i = 0; i < PROGRAMME_EXCESSES; i++) {
        o.excess[i] = most_of(problem, i) != SHV_NONE;
    }
    enum shv_status status = try_programme(e, &o, &possible, &plan);
    bool good = true;
    for (size_t i = 0; status == SHV_OK && possible && good && i < PROGRAMME_EXCESSES; i++) {
        if (o.excess[i] && plan.excess[i] > 0) {
            good = add_relief(e->result, number_relief(problem, i, plan.excess[i], way));
        }
    }
    for (size_t f = 0;
         status == SHV_OK && possible && good && families && f < problem->family_count; f++) {
        struct shv_range_relief relief = {
            .way = way, .need = SHV_NEED_FAMILY, .which = f, .is = NAN, .to = NAN};
        good = add_relief(e->result, relief);
    }
    solver_plan_free(&plan);
    return good ? status : no_memory(e->message);
}

static enum shv_status try_each(struct explain *e)
{
    const struct shv_range_problem *problem = e->thin->problem;
    enum shv_status status = try_number(e, SHV_STOCK_KINDS);
    for (size_t k = 0; k < SHV_STOCK_KINDS && status == SHV_OK; k++) {
        status = try_number(e, k);
    }
    for (size_t f = 0; f < problem->family_count && status == SHV_OK; f++) {
        status = try_family(e, f);
    }
    for (size_t u = 0; u < e->result->unserved_count && status == SHV_OK; u++) {
        size_t g = e->result->unserved[u];
        unsigned needs = needs_of(&problem->group[g]);
        for (int n = 0; n < SHV_GROUP_NEEDS && status == SHV_OK; n++) {
            status = needs >> n & 1u ? try_need(e, g, (enum shv_range_need)n) : SHV_OK;
        }
    }
    return status;
}

enum shv_status explain_together(const struct thin *thin, const struct shv_range_options *options,
                                 const struct solver_watch *watch, struct shv_range_result *result,
                                 struct shv_message *message)
{
    struct explain e = {thin, options, watch, result, message};
    enum shv_status status = find_unserved(&e);
    status = status == SHV_OK ? ask_of_unserved(&e) : status;
    status = status == SHV_OK ? try_each(&e) : status;
    if (status == SHV_OK && result->relief_count == 0) {
        status = try_all(&e, false);
    }
    if (status == SHV_OK && result->relief_count == 0) {
        status = try_all(&e, true);
    }
    return status;
}
