/* The ideal of one blower and fuel, by stages: setups near the front are scanned, the best of them
 * finished, other crank pulleys tried where the belt holds it, and then the real parts. */
#include "search/ideal.h"

#include <math.h>
#include <stdlib.h>

#include "search/made_pulley.h"
#include "search/nearest_parts.h"
#include "search/setups.h"

/* A limit with less than this share of its span left holds an optimum back. */
#define HELD_BACK 1e-3
/* Setups that are finished: those within this share of the best after the scan, so many at most. */
#define WORTH_FINISHING 0.01
#define MOST_FINISHED 16
/* Crank pulleys that are tried where the belt holds the ideal. */
#define MOST_CRANKS ((size_t)8)
/* Step of the differences for elasticities, as a share of the choice. */
#define STEP 1e-4

struct ideal {
    const struct ideal_case *with;
    const struct shv_study *study;
    struct shv_optimum *o;
    struct search search;
};

/* ---- setups ---- */

/* What a scan found, best first. */
struct scanned {
    struct search_task task; /* its start is the best kit of the scan */
    bool found;
    double objective;
};

static void take_start(const struct search *s, struct search_task *task)
{
    double x[SEARCH_DIMS] = {s->nearest[0], s->nearest[1]};
    if (s->result.found) {
        search_best(s, x);
    }
    struct shv_kit kit = search_kit(s, x);
    task->kit.ratio = kit.ratio;
    task->kit.effectiveness = kit.effectiveness;
}

/* Where the supply that carries most fuel costs what the kit may not cost, that of the best real
 * kit is taken. */
static void choose_supply(struct ideal *d, uint64_t index, struct search_task *task)
{
    struct search *s = &d->search;
    struct search_task own = *task;
    struct shv_kit kit;
    shv_space_kit(d->with->space, d->study, index, &kit);
    own.kit.injector = kit.injector;
    own.kit.injector_flow = kit.injector_flow;
    own.kit.pump = kit.pump;
    own.kit.ribs = kit.ribs;
    own.kit.wrap = kit.wrap;
    search_begin(s, d->with->model, task);
    struct search_result most = s->result;
    search_begin(s, d->with->model, &own);
    d->o->evaluations += most.evaluations + s->result.evaluations;
    if (s->result.found && !(most.found && most.objective >= s->result.objective)) {
        *task = own;
    }
}

static void insert(struct scanned *list, size_t count, const struct scanned *c)
{
    size_t i = count;
    while (i > 0 && (c->found && (!list[i - 1].found || c->objective > list[i - 1].objective))) {
        list[i] = list[i - 1];
        i--;
    }
    list[i] = *c;
}

static void scan(struct ideal *d, const struct search_task *task, struct scanned *list,
                 size_t *count)
{
    struct search *s = &d->search;
    struct scanned c = {.task = *task};
    search_begin(s, d->with->model, task);
    search_scan(s);
    take_start(s, &c.task);
    c.found = s->result.found;
    c.objective = s->result.objective;
    d->o->evaluations += s->result.evaluations;
    d->o->searches++;
    insert(list, (*count)++, &c);
}

/* ---- finishing ---- */

static void offer(struct ideal *d, const struct search_result *r)
{
    struct shv_optimum *o = d->o;
    if (r->found && (!o->found || r->objective > o->objective)) {
        o->found = true;
        o->ideal = r->kit;
        o->objective = r->objective;
    }
    bool uncooled = r->found && d->study->coolers[r->kit.cooler].is_none;
    if (uncooled && (!o->uncooled_found || r->objective > o->uncooled_objective)) {
        o->uncooled_found = true;
        o->uncooled = r->kit;
        o->uncooled_objective = r->objective;
    }
}

static enum shv_status finish(struct ideal *d, const struct search_task *task,
                              struct shv_message *message)
{
    search_begin(&d->search, d->with->model, task);
    enum shv_status status = search_finish(&d->search, message);
    d->o->evaluations += d->search.result.evaluations;
    if (status == SHV_OK) {
        offer(d, &d->search.result);
    }
    return status;
}

/* Scans some setups and finishes the best of them. */
static enum shv_status settle(struct ideal *d, const struct search_task *task, size_t count,
                              struct shv_message *message)
{
    struct scanned list[SETUPS_BLIND_MOST];
    size_t scanned = 0;
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < count; i++) {
        scan(d, &task[i], list, &scanned);
    }
    for (size_t i = 0; i < scanned && i < MOST_FINISHED && status == SHV_OK; i++) {
        double short_of = list[0].objective - list[i].objective;
        if (i == 0 || (list[i].found && short_of <= WORTH_FINISHING * fabs(list[0].objective))) {
            status = finish(d, &list[i].task, message);
        }
    }
    return status;
}

static enum shv_status find_near(struct ideal *d, const struct shv_near *near,
                                 struct shv_message *message)
{
    struct search_task task[SHV_NEAR_MOST];
    size_t count = setups_near(d->study, d->with->space, near, task);
    for (size_t i = 0; i < count; i++) {
        choose_supply(d, near->item[i].candidate.index, &task[i]);
    }
    return settle(d, task, count, message);
}

/* Where no real kit holds. */
static enum shv_status find_blind(struct ideal *d, struct shv_message *message)
{
    struct search_task task[SETUPS_BLIND_MOST];
    size_t count = setups_blind(d->study, d->o->blower, d->o->fuel, task);
    return settle(d, task, count, message);
}

/* ---- crank pulleys ---- */

/* Whether a limit that hangs on the crank pulley holds the kit back. */
static bool held_by_belt(const struct shv_verdict *v)
{
    bool held = false;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        held =
            held || (shv_limit_info((enum shv_limit)k)->of_crank && v->limit[k].share < HELD_BACK);
    }
    return held;
}

/* The same setup on other crank pulleys, spread over the list. */
static enum shv_status try_cranks(struct ideal *d, const struct shv_kit *kit,
                                  struct shv_curves *curves, struct shv_message *message)
{
    struct search_task task;
    size_t cranks = d->study->numbers[SHV_DIM_CRANK_PULLEY].count;
    size_t count = cranks < MOST_CRANKS ? cranks : MOST_CRANKS;
    enum shv_status status = SHV_OK;
    shv_model_evaluate(d->with->model, kit, curves);
    d->o->evaluations++;
    if (!setups_crank_matters(d->study) || count < 2 || !held_by_belt(&curves->verdict)) {
        return SHV_OK;
    }
    search_task_of(d->study, kit, &task);
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        setups_on_crank(d->study, i * (cranks - 1) / (count - 1), &task);
        task.kit.ribs = kit->ribs;
        task.kit.wrap = kit->wrap;
        if (task.kit.crank_diameter != kit->crank_diameter) {
            status = finish(d, &task, message);
        }
    }
    return status;
}

static enum shv_status find_cranks(struct ideal *d, struct shv_curves *curves,
                                   struct shv_message *message)
{
    struct shv_optimum *o = d->o;
    enum shv_status status = SHV_OK;
    const struct shv_kit ideal = o->ideal, uncooled = o->uncooled;
    bool two = o->uncooled_found && !d->study->coolers[ideal.cooler].is_none;
    if (o->found) {
        status = try_cranks(d, &ideal, curves, message);
    }
    return two && status == SHV_OK ? try_cranks(d, &uncooled, curves, message) : status;
}

/* ---- what is told of it ---- */

/* Phasing retard where power peaks at the first site. */
static double retard_of(const struct shv_curves *curves)
{
    return curves->point[shv_curves_peak_power(curves, 0)].phasing_retard;
}

/* The best that the sweep saw, where it is better than what was found near the ideal. */
static void take_swept(const struct ideal *d, const struct shv_near *near)
{
    struct shv_optimum *o = d->o;
    if (near->count == 0) {
        return;
    }
    const struct shv_candidate *c = &near->item[0].candidate;
    if (!o->real_found || c->objective > o->real_objective) {
        o->real_found = true;
        shv_space_kit(d->with->space, d->study, c->index, &o->real);
        o->real_index = c->index;
        o->real_objective = c->objective;
        o->loss = (o->objective - c->objective) / fabs(o->objective);
    }
}

/* Pointers to what of a kit varies, and the step of its difference; NULL where it does not. */
static double *choice_of(const struct ideal *d, enum shv_free choice, struct shv_kit *kit,
                         double *step)
{
    const struct shv_study *study = d->study;
    double *at[SHV_FREE_COUNT] = {
        [SHV_FREE_RATIO] = &kit->ratio,
        [SHV_FREE_EFFECTIVENESS] = study->coolers[kit->cooler].is_none ? NULL : &kit->effectiveness,
        [SHV_FREE_LAMBDA] = shv_model_table_count(d->with->model) > 0 ? NULL : &kit->lambda,
        [SHV_FREE_IGNITION_MARGIN] = &kit->ignition_margin,
        [SHV_FREE_WRAP] = study->drive.belt.given && kit->wrap > 0.0 ? &kit->wrap : NULL};
    *step = choice == SHV_FREE_IGNITION_MARGIN ? STEP : STEP * (at[choice] ? *at[choice] : 0.0);
    return at[choice];
}

/* The objective with a choice of the ideal moved by some steps; NAN where the kit does not have it.
 */
static double moved(struct ideal *d, enum shv_free choice, double steps, struct shv_curves *curves)
{
    double step;
    struct shv_kit kit = d->o->ideal;
    double *at = choice_of(d, choice, &kit, &step);
    if (!at) {
        return NAN;
    }
    *at += steps * step;
    if (choice == SHV_FREE_RATIO) {
        kit.blower_diameter =
            shv_drive_blower_pulley(kit.crank_diameter, kit.ratio, d->study->drive.line_offset);
    }
    shv_model_evaluate(d->with->model, &kit, curves);
    d->o->evaluations++;
    return curves->verdict.objective;
}

/* d ln |objective| / d ln choice by a central difference; by one side where the other has no
 * answer, as beyond the last phasing of the tables. */
static void find_elasticity(struct ideal *d, enum shv_free choice, struct shv_curves *curves)
{
    struct shv_optimum *o = d->o;
    double below = moved(d, choice, -1.0, curves), above = moved(d, choice, 1.0, curves);
    if (isnan(below) && isnan(above)) {
        return;
    }
    double steps = isnan(below) || isnan(above) ? 1.0 : 2.0;
    below = steps == 1.0 && isnan(below) ? o->objective : below;
    above = steps == 1.0 && isnan(above) ? o->objective : above;
    o->elasticity[choice] = (above - below) / (steps * STEP) / fabs(o->objective);
}

/* The limit that holds the ideal back, -1 for none. One with room left is only near, unless it
 * jumps, as time above a rotor speed does: then the next ratio or core breaks it all the same. */
static int holding(struct ideal *d, const struct shv_verdict *ideal, struct shv_curves *curves)
{
    if (ideal->binding < 0 || ideal->limit[ideal->binding].share < HELD_BACK) {
        return ideal->binding;
    }
    for (int k = SHV_FREE_RATIO; k <= SHV_FREE_EFFECTIVENESS; k++) {
        for (double steps = 1.0; steps >= -1.0; steps -= 2.0) {
            if (!isnan(moved(d, (enum shv_free)k, steps, curves)) &&
                curves->verdict.first_broken >= 0) {
                return curves->verdict.first_broken;
            }
        }
    }
    return -1;
}

/* The winner once more by the plain model, then the real parts near it. */
static void tell_ideal(struct ideal *d, struct shv_curves *curves)
{
    struct shv_optimum *o = d->o;
    const struct shv_model *model = d->with->model;
    shv_model_evaluate_plain(model, &o->ideal, curves);
    o->plain_difference = fabs(curves->verdict.objective - o->objective) / fabs(o->objective);
    shv_model_evaluate(model, &o->ideal, curves);
    o->retard = retard_of(curves);
    const struct shv_verdict ideal = curves->verdict;
    o->binding = holding(d, &ideal, curves);
    o->binding_share = o->binding >= 0 ? ideal.limit[o->binding].share : NAN;
    o->evaluations += 2;
    /* A temperature has no size of its own. */
    bool sized = d->study->objective.kind != SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
    for (int k = 0; sized && k < SHV_FREE_COUNT; k++) {
        find_elasticity(d, (enum shv_free)k, curves);
    }
    if (o->uncooled_found) {
        shv_model_evaluate(model, &o->uncooled, curves);
        o->uncooled_retard = retard_of(curves);
        o->evaluations++;
    }
    nearest_parts(model, d->with->space, o, curves);
}

/* ---- all of it ---- */

static const struct shv_optimum nothing = {.objective = NAN,
                                           .binding = -1,
                                           .binding_share = NAN,
                                           .real_objective = NAN,
                                           .loss = NAN,
                                           .plain_difference = NAN,
                                           .elasticity = {NAN, NAN, NAN, NAN, NAN},
                                           .retard = NAN,
                                           .made_objective = NAN,
                                           .uncooled_objective = NAN,
                                           .uncooled_retard = NAN};

static enum shv_status find(struct ideal *d, const struct shv_near *near, struct shv_curves *curves,
                            struct shv_message *message)
{
    size_t known = 0;
    enum shv_status status = SHV_OK;
    for (size_t k = 0; near && k < SHV_NEAR_KINDS && status == SHV_OK; k++) {
        status = find_near(d, &near[k], message);
        known += near[k].count;
    }
    if (status == SHV_OK && known == 0) {
        status = find_blind(d, message);
    }
    if (status == SHV_OK) {
        status = find_cranks(d, curves, message);
    }
    if (status == SHV_OK && d->o->found) {
        tell_ideal(d, curves);
    }
    for (size_t k = 0; near && k < SHV_NEAR_KINDS; k++) {
        take_swept(d, &near[k]);
    }
    return status == SHV_OK && d->o->found ? made_pulley(d->with->model, d->o, message) : status;
}

enum shv_status ideal_find(const struct ideal_case *with, size_t at, struct shv_optimum *optimum,
                           struct shv_message *message)
{
    struct ideal d = {.with = with, .study = shv_model_study(with->model), .o = optimum};
    struct shv_curves curves = {.sites = 0};
    const struct shv_near *near =
        with->keep->nears > 0 ? &with->keep->near[at * SHV_NEAR_KINDS] : NULL;
    *optimum = nothing;
    optimum->blower = at / d.study->fuel_count;
    optimum->fuel = at % d.study->fuel_count;
    enum shv_status status = search_open(&d.search, with->model, message);
    if (status == SHV_OK) {
        status = shv_curves_init(&curves, with->model, message);
    }
    if (status == SHV_OK) {
        status = find(&d, near, &curves, message);
    }
    shv_curves_free(&curves);
    search_close(&d.search);
    return status;
}
