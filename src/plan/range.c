/* The plan and its trade curve (sheave/range.h). */
#include "sheave/range.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plan/range_explain.h"
#include "plan/range_hold.h"
#include "plan/range_solver.h"
#include "plan/range_thin.h"

struct range_plan {
    const struct shv_range_problem *problem;
    const struct shv_range_options *options;
    struct thin thin;
    struct shv_range_result *result;
    struct solver_watch watch;
    struct shv_message *message;
    size_t done, total; /* points of the curve, then scenarios */
    bool *few;          /* the stock with the fewest parts, owned */
    size_t fewest;      /* how many these are */
};

/* ---- names ---- */

static const struct {
    const char *name, *one, *many;
} kinds[SHV_STOCK_KINDS] = {
#define WORDS(dim, name, one, meaning) {#name, one, one "s"},
    SHV_STOCK_ROWS(WORDS)
#undef WORDS
};

const char *shv_part_kind_name(enum shv_part_kind kind)
{
    return kinds[kind].name;
}

const char *shv_part_kind_words(enum shv_part_kind kind, size_t count)
{
    return count == 1 ? kinds[kind].one : kinds[kind].many;
}

/* ---- the problem ---- */

static bool is_good_candidate(const struct shv_range_problem *problem,
                              const struct shv_range_candidate *c)
{
    bool good = isfinite(c->power) && c->power > 0.0 && isfinite(c->price) && isfinite(c->mass) &&
                c->part[SHV_STOCK_BLOWER] != SHV_NONE;
    for (size_t k = 0; good && k < SHV_STOCK_KINDS; k++) {
        good = c->part[k] == SHV_NONE || (c->part[k] < problem->part_count &&
                                          problem->part[c->part[k]].kind == (enum shv_part_kind)k);
    }
    return good;
}

static enum shv_status check(const struct shv_range_problem *problem, struct shv_message *message)
{
    if (problem->group_count == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "the range has no groups of customers");
    }
    for (size_t p = 0; p < problem->part_count; p++) {
        if (!isfinite(problem->part[p].cost) || problem->part[p].cost < 0.0) {
            return shv_fail(message, SHV_BAD_INPUT, "part %s has no sensible cost",
                            problem->part[p].name);
        }
    }
    for (size_t g = 0; g < problem->group_count; g++) {
        const struct shv_range_group *group = &problem->group[g];
        bool good = isfinite(group->sales) && group->sales > 0.0 && isfinite(group->sale_price) &&
                    isfinite(group->sale_per_watt) &&
                    (group->family == SHV_NONE || group->family < problem->family_count);
        for (size_t i = 0; good && i < problem->scenario_count; i++) {
            good = isfinite(group->sales_in[i]) && group->sales_in[i] >= 0.0;
        }
        for (size_t i = 0; good && i < group->count; i++) {
            good = is_good_candidate(problem, &group->candidate[i]);
        }
        if (!good) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "group %s has a number that makes no sense, or a candidate without "
                            "power, price, mass or blower",
                            group->name);
        }
    }
    return SHV_OK;
}

/* ---- points of the curve ---- */

static bool ask(void *data)
{
    const struct range_plan *p = data;
    return !p->options->go_on || p->options->go_on(p->options->data, p->done, p->total);
}

static void point_free(struct shv_range_point *point)
{
    free(point->stocked);
    free(point->kit);
    *point = (struct shv_range_point){.stocked = NULL};
}

void shv_range_result_free(struct shv_range_result *result)
{
    for (size_t i = 0; i < result->point_count; i++) {
        point_free(&result->point[i]);
    }
    free(result->point);
    free(result->serving);
    free(result->kept);
    free(result->best);
    free(result->unserved);
    free(result->relief);
    free(result->known);
    *result = (struct shv_range_result){.point = NULL};
}

static struct programme programme_of(const struct range_plan *p, size_t most_parts)
{
    struct programme o = {
        .thin = &p->thin, .most_parts = most_parts, .seconds = p->options->seconds};
    memcpy(o.most, p->problem->most, sizeof o.most);
    return o;
}

/* A stock that a solver has broken off may hold parts that no kit needs. */
static void drop_unused(const struct range_plan *p, const size_t *position, bool *stocked)
{
    memset(stocked, 0, p->problem->part_count * sizeof *stocked);
    for (size_t g = 0; g < p->problem->group_count; g++) {
        const struct thin_candidate *c = &p->thin.group[g].item[position[g]];
        for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
            if (c->part[k] != SHV_NONE) {
                stocked[c->part[k]] = true;
            }
        }
    }
}

#define EXPECTED SHV_NONE /* in the place of a scenario */

static double real_value(const struct range_plan *p, const struct shv_range_point *point,
                         size_t scenario)
{
    const struct shv_range_problem *problem = p->problem;
    double sum = 0.0;
    for (size_t g = 0; g < problem->group_count; g++) {
        const struct shv_range_group *group = &problem->group[g];
        double sales = scenario == EXPECTED ? group->sales : group->sales_in[scenario];
        sum += sales * shv_range_worth(problem, group, &group->candidate[point->kit[g]],
                                       group->candidate[p->thin.group[g].best].power);
    }
    for (size_t i = 0; i < problem->part_count; i++) {
        sum -=
            point->stocked[i] && problem->value == SHV_RANGE_PROFIT ? problem->part[i].cost : 0.0;
    }
    return sum;
}

static void fill_worst(const struct range_plan *p, struct shv_range_point *point)
{
    point->worst = point->value;
    point->worst_in = SHV_NONE;
    for (size_t i = 0; i < p->problem->scenario_count; i++) {
        double value = real_value(p, point, i);
        if (i == 0 || value < point->worst) {
            point->worst = value;
            point->worst_in = i;
        }
    }
}

/* Kits and value from a stock. `objective` is what the solver makes of it, NAN for nothing: the two
 * have to agree. */
static enum shv_status fill_point(struct range_plan *p, struct shv_range_point *point,
                                  double objective, double bound)
{
    int64_t value;
    bool good = thin_assign(&p->thin, point->stocked, point->kit, &value);
    if (good && !point->settled) {
        drop_unused(p, point->kit, point->stocked);
        good = thin_assign(&p->thin, point->stocked, point->kit, &value);
    }
    if (!good || (double)value < objective - 0.5) {
        return shv_fail(p->message, SHV_IO, "the solver's plan does not keep what it promises");
    }
    point->parts = 0;
    for (size_t i = 0; i < p->problem->part_count; i++) {
        point->parts += point->stocked[i] ? 1 : 0;
    }
    for (size_t g = 0; g < p->problem->group_count; g++) {
        point->kit[g] = p->thin.group[g].item[point->kit[g]].from;
    }
    point->value = real_value(p, point, EXPECTED);
    fill_worst(p, point);
    point->bound = point->proven ? point->value
                                 : point->value + fmax(0.0, bound - (double)value) * p->thin.step;
    return SHV_OK;
}

static bool point_room(const struct range_plan *p, struct shv_range_point *point)
{
    point->stocked = calloc(p->problem->part_count + 1, sizeof *point->stocked);
    point->kit = calloc(p->problem->group_count + 1, sizeof *point->kit);
    return point->stocked && point->kit;
}

/* The best plan of `allowed` parts; `start` is a stock of no more that serves all, and stands in
 * when a search that is broken off has no plan: SHV_STOPPED with a point all the same. Without a
 * start SHV_NOTHING tells that there is no plan, and a point may have come to nothing: no stock. */
static enum shv_status solve_point(struct range_plan *p, size_t allowed, enum best_start from,
                                   const bool *start, struct shv_range_point *point)
{
    struct best_job job = {programme_of(p, allowed), from, start};
    struct programme_answer plan;
    *point = (struct shv_range_point){.allowed = allowed};
    if (!point_room(p, point)) {
        return shv_fail(p->message, SHV_NO_MEMORY, "out of memory for a plan");
    }
    job.programme.by_value = true;
    enum shv_status status = solver_best(&job, &p->watch, &plan, p->message);
    if (status == SHV_NOTHING && start) { /* which is inside every limit */
        status = shv_fail(p->message, SHV_IO, "the solver contradicts itself");
    }
    bool found = programme_has_plan(&plan);
    if ((status == SHV_OK || status == SHV_STOPPED) && !found && !start) {
        point_free(point);
        status = shv_fail(p->message, SHV_STOPPED, "the search ended before it had a plan");
    } else if (status == SHV_OK || status == SHV_STOPPED) {
        point->proven = plan.end == PROGRAMME_PROVEN;
        point->settled = plan.settled;
        memcpy(point->stocked, found ? plan.stocked : start,
               p->problem->part_count * sizeof *point->stocked);
        enum shv_status filled =
            fill_point(p, point, found ? plan.objective : -INFINITY, plan.bound);
        status = filled == SHV_OK ? status : filled;
    }
    solver_plan_free(&plan);
    return status;
}

/* ---- the curve ---- */

size_t shv_range_knee(const double *x, const double *y, size_t count)
{
    size_t knee = SHV_NONE;
    double farthest = 1e-9; /* of the height: nearer to the chord is on it */
    if (count < 3 || !(y[count - 1] > y[0]) || !(x[count - 1] > x[0])) {
        return SHV_NONE;
    }
    for (size_t i = 1; i + 1 < count; i++) {
        double above =
            (y[i] - y[0]) / (y[count - 1] - y[0]) - (x[i] - x[0]) / (x[count - 1] - x[0]);
        if (above > farthest * (1.0 + 1e-12)) {
            farthest = above;
            knee = i;
        }
    }
    return knee;
}

static enum shv_status find_knee(struct range_plan *p)
{
    struct shv_range_result *r = p->result;
    double *x = malloc((2 * r->point_count + 1) * sizeof *x);
    if (!x) {
        return shv_fail(p->message, SHV_NO_MEMORY, "out of memory for the curve");
    }
    for (size_t i = 0; i < r->point_count; i++) {
        x[i] = (double)r->point[i].allowed;
        x[r->point_count + i] = r->point[i].value;
    }
    r->knee = shv_range_knee(x, x + r->point_count, r->point_count);
    free(x);
    return SHV_OK;
}

static int by_allowed(const void *a, const void *b)
{
    const struct shv_range_point *x = a, *y = b;
    return (x->allowed > y->allowed) - (x->allowed < y->allowed);
}

/* The point of the curve that begins or is one part below. */
static enum shv_status add_point(struct range_plan *p, size_t allowed)
{
    struct shv_range_result *r = p->result;
    struct shv_range_point *list = realloc(r->point, (r->point_count + 1) * sizeof *list);
    if (!list) {
        return shv_fail(p->message, SHV_NO_MEMORY, "out of memory for the curve");
    }
    r->point = list;
    enum best_start from = allowed == p->fewest ? BEST_OF_LEAST_PARTS : BEST_FROM_SCRATCH;
    const bool *start = p->fewest > 0 ? p->few : NULL;
    for (size_t i = 0; i < r->point_count; i++) {
        if (list[i].allowed + 1 == allowed) {
            start = list[i].stocked;
            from = list[i].settled ? BEST_OF_FEWER_PARTS : BEST_FROM_SCRATCH;
        }
    }
    struct shv_range_point *point = &list[r->point_count];
    enum shv_status status = solve_point(p, allowed, from, start, point);
    if ((status != SHV_OK && status != SHV_STOPPED) || !point->stocked) {
        point_free(point);
        return status;
    }
    r->point_count++;
    p->done = r->point_count;
    return status;
}

/* Without a limit on all parts: soon done, so that whatever stops the rest, something is there. */
static enum shv_status begin_curve(struct range_plan *p)
{
    enum shv_status status = add_point(p, SHV_NONE);
    if (p->result->point_count > 0) {
        p->result->point[0].allowed = p->result->point[0].parts;
    }
    return status;
}

static enum shv_status end_curve(struct range_plan *p)
{
    struct shv_range_result *r = p->result;
    size_t last = r->point[0].allowed;
    enum shv_status status = SHV_OK;
    p->total = (last > p->fewest ? last - p->fewest + 1 : 1) + p->problem->scenario_count;
    for (size_t allowed = p->fewest; allowed < last && status == SHV_OK; allowed++) {
        status = add_point(p, allowed);
    }
    r->is_whole = status == SHV_OK;
    return status;
}

static bool is_by_knee(const struct range_plan *p)
{
    return p->problem->choose == SHV_RANGE_KNEE && p->result->knee != SHV_NONE;
}

/* The best point that the limit on all parts allows. */
static void choose(struct range_plan *p)
{
    struct shv_range_result *r = p->result;
    bool by_knee = is_by_knee(p);
    for (size_t i = 0; i < r->point_count; i++) {
        bool allowed = r->point[i].parts <= p->problem->most_parts && !(by_knee && i > r->knee);
        if (allowed && (r->chosen == SHV_NONE || r->point[i].value > r->point[r->chosen].value)) {
            r->chosen = i;
        }
    }
}

/* ---- had the sales been known ---- */

/* The problem of one scenario: its sales, and of the groups those that buy. `groups` has room. */
static struct shv_range_problem problem_in(const struct shv_range_problem *problem, size_t scenario,
                                           struct shv_range_group *groups)
{
    struct shv_range_problem in = *problem;
    in.group = groups;
    in.group_count = in.scenario_count = 0;
    for (size_t g = 0; g < problem->group_count; g++) {
        groups[in.group_count] = problem->group[g];
        groups[in.group_count].sales = problem->group[g].sales_in[scenario];
        in.group_count += groups[in.group_count].sales > 0.0 ? 1 : 0;
    }
    return in;
}

/* As many parts as the plan may have. */
static size_t parts_allowed(const struct range_plan *p)
{
    size_t knee = is_by_knee(p) ? p->result->point[p->result->knee].allowed : SHV_NONE;
    return knee < p->problem->most_parts ? knee : p->problem->most_parts;
}

static enum shv_status solve_known(struct range_plan *p, const struct shv_range_problem *in,
                                   struct shv_range_known *known)
{
    struct range_plan one = *p;
    struct shv_range_point point = {.stocked = NULL};
    one.problem = in;
    enum shv_status status = thin_make(&one.thin, in, SHV_NONE, p->message);
    if (status == SHV_OK) { /* the plan itself serves these groups, too */
        status = solve_point(&one, parts_allowed(p), BEST_FROM_SCRATCH,
                             p->result->point[p->result->chosen].stocked, &point);
    }
    if (status == SHV_OK) {
        known->best = fmax(point.value, known->value); /* apart from the grid */
        known->bound = fmax(point.bound, known->best);
        known->parts = point.parts;
        known->proven = point.proven;
    }
    point_free(&point);
    thin_free(&one.thin);
    return status;
}

static enum shv_status look_at_scenario(struct range_plan *p, size_t scenario,
                                        struct shv_range_group *groups,
                                        struct shv_range_known *known)
{
    const struct shv_range_result *r = p->result;
    struct shv_range_problem in = problem_in(p->problem, scenario, groups);
    *known = (struct shv_range_known){.proven = true};
    known->value = real_value(p, &r->point[r->chosen], scenario);
    for (size_t g = 0; g < in.group_count; g++) {
        known->sales += groups[g].sales;
    }
    enum shv_status status = in.group_count > 0 ? solve_known(p, &in, known) : SHV_OK;
    p->done++;
    return status;
}

static enum shv_status look_at_scenarios(struct range_plan *p)
{
    size_t count = p->problem->scenario_count;
    struct shv_range_known *known = calloc(count + 1, sizeof *known);
    struct shv_range_group *groups = calloc(p->problem->group_count + 1, sizeof *groups);
    enum shv_status status =
        known && groups ? SHV_OK
                        : shv_fail(p->message, SHV_NO_MEMORY, "out of memory for the scenarios");
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        status = look_at_scenario(p, i, groups, &known[i]);
    }
    free(groups);
    if (status == SHV_OK) {
        p->result->known = known;
    } else {
        free(known);
    }
    return status;
}

double shv_range_knowing(const struct shv_range_problem *problem,
                         const struct shv_range_result *result, double *most)
{
    double gain = 0.0;
    *most = NAN;
    if (!result->known) {
        return NAN;
    }
    *most = 0.0;
    for (size_t i = 0; i < problem->scenario_count; i++) {
        const struct shv_range_known *k = &result->known[i];
        gain += problem->scenario[i].weight * (k->best - k->value);
        *most += problem->scenario[i].weight * (k->bound - k->value);
    }
    return gain;
}

/* ---- the fewest parts ---- */

static enum shv_status find_fewest(struct range_plan *p)
{
    struct programme o = programme_of(p, p->problem->most_parts);
    struct programme_answer plan;
    int64_t *weight = malloc((p->problem->part_count + 1) * sizeof *weight);
    if (!weight) {
        return shv_fail(p->message, SHV_NO_MEMORY, "out of memory for a plan");
    }
    for (size_t i = 0; i < p->problem->part_count; i++) {
        weight[i] = -1;
    }
    o.part_weight = weight;
    enum shv_status status = solver_run(&o, &p->watch, &plan, p->message);
    if (status == SHV_OK && !programme_has_plan(&plan)) {
        status = shv_fail(p->message, SHV_STOPPED,
                          "no plan was found in the time that one integer programme is given");
    }
    if (status == SHV_OK) {
        p->fewest = (size_t)llround(-plan.objective);
        memcpy(p->few, plan.stocked, p->problem->part_count * sizeof *p->few);
    }
    solver_plan_free(&plan);
    free(weight);
    return status;
}

/* ---- all of it ---- */

static bool fill_groups(struct range_plan *p)
{
    struct shv_range_result *r = p->result;
    size_t groups = p->problem->group_count;
    r->serving = calloc(groups, sizeof *r->serving);
    r->kept = calloc(groups, sizeof *r->kept);
    r->best = calloc(groups, sizeof *r->best);
    if (!r->serving || !r->kept || !r->best) {
        return false;
    }
    r->step = p->thin.step;
    for (size_t g = 0; g < groups; g++) {
        r->serving[g] = p->thin.group[g].serving;
        r->kept[g] = p->thin.group[g].count;
        r->best[g] = p->thin.group[g].best;
    }
    return true;
}

static bool all_have_candidates(const struct range_plan *p)
{
    for (size_t g = 0; g < p->problem->group_count; g++) {
        if (p->thin.group[g].count == 0) {
            return false;
        }
    }
    return true;
}

static enum shv_status explain(struct range_plan *p, bool alone)
{
    enum shv_status status =
        alone ? explain_alone(&p->thin, p->options, p->result, p->message)
              : explain_together(&p->thin, p->options, &p->watch, p->result, p->message);
    return status == SHV_OK
               ? shv_fail(p->message, SHV_NOTHING, "not every group of customers can be served")
               : status;
}

static enum shv_status solve(struct range_plan *p)
{
    enum shv_status status = hold_settle(&p->thin, p->problem, p->options, p->message);
    if (status != SHV_OK) {
        return status;
    }
    if (!fill_groups(p)) {
        return shv_fail(p->message, SHV_NO_MEMORY, "out of memory for the groups");
    }
    if (!all_have_candidates(p)) {
        return explain(p, true);
    }
    status = begin_curve(p);
    status = status == SHV_OK ? find_fewest(p) : status;
    if (status == SHV_NOTHING) {
        return explain(p, false);
    }
    if (status == SHV_OK) {
        status = end_curve(p);
    }
    if (p->result->point_count > 0) {
        qsort(p->result->point, p->result->point_count, sizeof *p->result->point, by_allowed);
        enum shv_status knee = p->result->is_whole ? find_knee(p) : SHV_OK;
        status = knee == SHV_OK ? status : knee;
        choose(p);
    }
    if (status == SHV_OK && p->problem->scenario_count > 0 && p->result->chosen != SHV_NONE) {
        status = look_at_scenarios(p);
    }
    return status;
}

enum shv_status shv_range_solve(const struct shv_range_problem *problem,
                                const struct shv_range_options *options,
                                struct shv_range_result *result, struct shv_message *message)
{
    struct range_plan p = {
        .problem = problem, .options = options, .result = result, .message = message};
    *result = (struct shv_range_result){.knee = SHV_NONE, .chosen = SHV_NONE};
    p.watch = (struct solver_watch){ask, &p};
    enum shv_status status = check(problem, message);
    p.few = calloc(problem->part_count + 1, sizeof *p.few);
    if (status == SHV_OK && !p.few) {
        status = shv_fail(message, SHV_NO_MEMORY, "out of memory for a plan");
    }
    if (status == SHV_OK) {
        status = solve(&p);
        thin_free(&p.thin);
    }
    free(p.few);
    return status;
}
