/* The continuous optimum of each blower and fuel, and the nearest real parts. */
#include "sheave/optimum.h"

#include <math.h>
#include <stdlib.h>

#include "sweep/fork_join.h"
#include "sweep/watcher.h"
#include "search/made_pulley.h"
#include "search/nearest_parts.h"
#include "search/search.h"
#include "model/verdict/bound.h"

/* A limit with less than this share of its span left holds an optimum back. */
#define HELD_BACK 1e-3
/* By which share a bound has to fall short. */
#define CERTAIN 1e-9

/* Ratio range of the study's pulleys, from one crank pulley to another. */
static void ratio_range(const struct shv_drive *d, size_t first, size_t last, double *low,
                        double *high)
{
    *low = shv_drive_ratio(d->crank_pulleys[first], d->blower_pulleys[d->blower_count - 1],
                           d->line_offset);
    *high = shv_drive_ratio(d->crank_pulleys[last], d->blower_pulleys[0], d->line_offset);
}

/* Whether more than the ratio of the pulleys matters, so that each crank pulley is searched by
 * itself. */
static bool crank_matters(const struct shv_study *study)
{
    return study->drive.belt.given || !isinf(study->limit[SHV_LIMIT_BELT_SPEED]) ||
           !isinf(study->limit[SHV_LIMIT_PULLEY_DIAMETER]);
}

/* The best rows of the sweep that belong to the task. */
static void take_starts(const struct shv_study *study, const struct shv_space *space,
                        const struct shv_ranking *ranking, struct search_task *task)
{
    size_t most =
        study->search.starts < SEARCH_MOST_STARTS ? study->search.starts : SEARCH_MOST_STARTS;
    for (size_t i = 0; i < ranking->count && task->starts < most; i++) {
        struct shv_kit kit;
        shv_space_kit(space, study, ranking->item[i].index, &kit);
        if (kit.blower == task->blower && kit.fuel == task->fuel && kit.cooler == task->cooler &&
            kit.lambda == task->lambda && kit.ignition_margin == task->ignition_margin &&
            (task->crank == 0.0 || kit.crank_diameter == task->crank)) {
            task->start[task->starts][0] = kit.ratio;
            task->start[task->starts++][1] = kit.effectiveness;
        }
    }
}

/* Volume of test fluid that an injector passes at the rail's pressure, at the highest speed and its
 * largest duty; without a bound when it stands for none. */
static double injector_capacity(const struct shv_study *study, const struct shv_injector_part *part,
                                double flow)
{
    if (part->is_unlimited) {
        return INFINITY;
    }
    double speed = study->engine.speeds[study->engine.speed_count - 1];
    double duty = fmin(part->max_duty, study->limit[SHV_LIMIT_INJECTOR_DUTY]);
    return flow * sqrt(part->test_density * study->rail.pressure / part->rated_pressure) *
           fmax(0.0, duty - part->dead_time * speed / 2.0);
}

/* What a pump gives at the highest pressure that boost can ask of it. */
static double pump_capacity(const struct shv_study *study, const struct shv_pump_part *part)
{
    if (part->is_unlimited) {
        return INFINITY;
    }
    const struct shv_curve_table *curve = &part->pump.flow;
    double pressure = study->rail.pressure + part->pump.line_loss;
    if (study->rail.reference == SHV_RAIL_MANIFOLD && isfinite(study->limit[SHV_LIMIT_BOOST])) {
        pressure += study->limit[SHV_LIMIT_BOOST];
    }
    return pressure <= curve->x[curve->count - 1] ? shv_curve_table_at(curve, pressure) : 0.0;
}

/* Injectors and pump cost no power, so the ideal has those that carry most. */
static void most_fuel(const struct shv_study *study, struct shv_kit *kit)
{
    double most = -1.0;
    for (size_t i = 0; i < study->injector_count; i++) {
        const struct shv_injector_part *part = &study->injectors[i];
        double flow = part->rated_flow[part->choices - 1];
        double capacity = injector_capacity(study, part, flow);
        if (capacity > most) {
            most = capacity;
            kit->injector = i;
            kit->injector_flow = flow;
        }
    }
    most = -1.0;
    for (size_t i = 0; i < study->pump_count; i++) {
        double capacity = pump_capacity(study, &study->pumps[i]);
        if (capacity > most) {
            most = capacity;
            kit->pump = i;
        }
    }
}

struct plan {
    const struct shv_model *model;
    const struct shv_study *study;
    const struct shv_space *space;
    const struct shv_ranking *ranking;
    size_t per_row;        /* tasks of one row: coolers, lambdas, ignition margins, crank pulleys */
    size_t cranks;         /* 1 when any crank pulley does */
    struct shv_kit supply; /* the injectors and pump that carry most fuel */
    const struct shv_optimum_options *options;
    struct watcher watcher;       /* of rows */
    struct search_result *result; /* of the tasks of one row */
    double *known; /* [row][cooled or not]: what is known to be had before the search */
};

static void task_of(const struct plan *p, size_t i, struct search_task *task)
{
    const struct shv_study *study = p->study;
    size_t row = i / p->per_row, inside = i % p->per_row;
    size_t crank = inside % p->cranks, last = study->drive.crank_count - 1;
    size_t margin = inside / p->cranks % study->margin_count;
    size_t mixture = inside / p->cranks / study->margin_count;
    const struct shv_belt_setup *belt = &study->drive.belt;
    *task = (struct search_task){.blower = row / study->fuel_count,
                                 .fuel = row % study->fuel_count,
                                 .cooler = mixture / study->lambda_count,
                                 .lambda = study->lambdas[mixture % study->lambda_count],
                                 .ignition_margin = study->ignition_margins[margin],
                                 .ribs = belt->given ? belt->ribs[belt->rib_choices - 1] : 0.0,
                                 .wrap = belt->given ? belt->wraps[belt->wrap_choices - 1] : 0.0,
                                 .injector = p->supply.injector,
                                 .injector_flow = p->supply.injector_flow,
                                 .pump = p->supply.pump,
                                 .seed = study->search.seed + (unsigned long)i};
    if (crank_matters(study)) {
        task->crank = study->drive.crank_pulleys[crank];
        last = crank;
    }
    ratio_range(&study->drive, crank, last, &task->ratio_low, &task->ratio_high);
    take_starts(study, p->space, p->ranking, task);
}

static const struct search_result no_result = {
    .objective = NAN, .binding = -1, .binding_share = NAN};

/* ---- what need not be searched ---- */

static double *known_of(const struct plan *p, const struct search_task *task)
{
    size_t row = task->blower * p->study->fuel_count + task->fuel;
    return &p->known[2 * row + (p->study->coolers[task->cooler].is_none ? 1 : 0)];
}

/* The best start of every task by itself, with the supply and belt of the ideal: known before any
 * search, whatever the number of threads. */
static enum shv_status find_known(const struct plan *p, struct shv_message *message)
{
    struct shv_curves curves;
    enum shv_status status = shv_curves_init(&curves, p->model, message);
    for (size_t i = 0; status == SHV_OK && i < 2 * p->watcher.total; i++) {
        p->known[i] = -INFINITY;
    }
    for (size_t i = 0; status == SHV_OK && i < p->watcher.total * p->per_row; i++) {
        struct search_task task;
        task_of(p, i, &task);
        if (task.starts == 0) {
            continue;
        }
        struct shv_kit kit = search_task_kit(p->study, &task, task.start[0][0], task.start[0][1]);
        shv_model_evaluate(p->model, &kit, &curves);
        double *known = known_of(p, &task);
        if (curves.verdict.feasible && curves.verdict.objective > *known) {
            *known = curves.verdict.objective;
        }
    }
    shv_curves_free(&curves);
    return status;
}

/* Nothing of the task can be as good as what is known, or keep the limits at all. A kit without a
 * cooler counts among such kits too, since their best is told of. */
static enum shv_status is_hopeless(const struct plan *p, const struct search_task *task,
                                   bool *hopeless, struct shv_message *message)
{
    double *power = malloc(p->study->site_count * p->study->engine.speed_count * sizeof *power);
    if (!power) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the continuous search");
    }
    const double *known = known_of(p, task);
    bool cooled = !p->study->coolers[task->cooler].is_none;
    double best = cooled ? fmax(known[0], known[1]) : known[0];
    struct shv_kit kit = search_task_kit(p->study, task, task->ratio_low, 0.0);
    *hopeless = bound_below(p->model, &kit, task->ratio_low, task->ratio_high,
                            isinf(best) ? best : best - CERTAIN * fabs(best), power);
    free(power);
    return SHV_OK;
}

/* ---- the search ---- */

/* Keeps the first failure that comes along. */
static void run_task(struct plan *p, size_t row, size_t i, enum shv_status *status,
                     struct shv_message *message)
{
    struct search_task task;
    struct shv_message own;
    bool hopeless = false;
    if (!watcher_add(&p->watcher, 0)) {
        return;
    }
    task_of(p, row * p->per_row + i, &task);
    enum shv_status mine = is_hopeless(p, &task, &hopeless, &own);
    p->result[i] = no_result;
    p->result[i].pruned = mine == SHV_OK && hopeless;
    if (mine == SHV_OK && !hopeless) {
        mine = search_run(p->model, &task, &p->result[i], &own);
    }
    if (mine != SHV_OK) {
#pragma omp critical
        {
            *status = mine;
            shv_fail(message, mine, "%s", own.text);
        }
    }
}

/* Tasks are independent and each seeds its own generator: any number of threads, same results. */
static enum shv_status run_tasks(struct plan *p, size_t row, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    struct fork_join order = {0, 0};
    fork_join_fork(&order);
#pragma omp parallel
    {
        fork_join_enter(&order);
#pragma omp for schedule(dynamic, 1) nowait
        for (size_t i = 0; i < p->per_row; i++) {
            run_task(p, row, i, &status, message);
        }
        fork_join_leave(&order);
    }
    fork_join_join(&order);
    return status == SHV_OK && watcher_stopped(&p->watcher)
               ? shv_fail(message, SHV_STOPPED, "the search was stopped")
               : status;
}

static void gather(const struct plan *p, size_t row, struct shv_optimum *o)
{
    *o = (struct shv_optimum){.blower = row / p->study->fuel_count,
                              .fuel = row % p->study->fuel_count,
                              .objective = NAN,
                              .real_objective = NAN,
                              .loss = NAN,
                              .plain_difference = NAN,
                              .retard = NAN,
                              .made_objective = NAN,
                              .uncooled_objective = NAN,
                              .uncooled_retard = NAN,
                              .binding = -1,
                              .binding_share = NAN};
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        o->elasticity[k] = NAN;
    }
    for (size_t i = 0; i < p->per_row; i++) {
        const struct search_result *r = &p->result[i];
        o->evaluations += r->evaluations;
        o->gradients += r->gradients;
        o->searches++;
        o->pruned += r->pruned;
        if (r->found && (!o->found || r->objective > o->objective)) {
            o->found = true;
            o->ideal = r->kit;
            o->objective = r->objective;
            /* A limit with room left is only near; it does not hold the optimum back. */
            o->binding = r->binding_share < HELD_BACK ? r->binding : -1;
            o->binding_share = r->binding_share;
        }
        bool uncooled = r->found && p->study->coolers[r->kit.cooler].is_none;
        if (uncooled && (!o->uncooled_found || r->objective > o->uncooled_objective)) {
            o->uncooled_found = true;
            o->uncooled = r->kit;
            o->uncooled_objective = r->objective;
        }
    }
}

/* Phasing retard where power peaks at the first site. */
static double retard_of(const struct shv_curves *curves)
{
    return curves->point[shv_curves_peak_power(curves, 0)].phasing_retard;
}

/* The best row of the sweep with this blower and fuel, where it is better than what was found near
 * the ideal. */
static void take_ranked(const struct plan *p, struct shv_optimum *o)
{
    for (size_t i = 0; i < p->ranking->count; i++) {
        const struct shv_candidate *c = &p->ranking->item[i];
        struct shv_kit kit;
        shv_space_kit(p->space, p->study, c->index, &kit);
        if (kit.blower != o->blower || kit.fuel != o->fuel) {
            continue;
        }
        if (!o->real_found || c->objective > o->real_objective) {
            o->real_found = true;
            o->real = kit;
            o->real_index = c->index;
            o->real_objective = c->objective;
            o->loss = (o->objective - c->objective) / fabs(o->objective);
        }
        return;
    }
}

/* A temperature has no size of its own. */
static bool scaled_from_somewhere(const struct shv_model *model)
{
    return shv_model_study(model)->objective.kind == SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
}

/* Of the ideal, whose curves these are. */
static enum shv_status find_elasticities(const struct shv_model *model,
                                         const struct shv_curves *curves, struct shv_optimum *o,
                                         struct shv_message *message)
{
    const double at[SHV_FREE_COUNT] = {[SHV_FREE_RATIO] = o->ideal.ratio,
                                       [SHV_FREE_EFFECTIVENESS] = o->ideal.effectiveness,
                                       [SHV_FREE_LAMBDA] = o->ideal.lambda,
                                       [SHV_FREE_IGNITION_MARGIN] = 1.0,
                                       [SHV_FREE_WRAP] = o->ideal.wrap};
    struct shv_gradient g;
    enum shv_status status = shv_gradient_init(&g, model, message);
    if (status != SHV_OK) {
        return status;
    }
    shv_model_gradient(model, &o->ideal, curves, &g);
    for (int k = 0; k < SHV_FREE_COUNT; k++) {
        if (g.known[k] && !scaled_from_somewhere(model)) {
            o->elasticity[k] = g.objective[k] * at[k] / fabs(o->objective);
        }
    }
    shv_gradient_free(&g);
    o->gradients++;
    return SHV_OK;
}

/* The winner once more by the plain model, then the real parts near it. */
static enum shv_status finish_row(const struct plan *p, struct shv_optimum *o,
                                  struct shv_message *message)
{
    if (!o->found) {
        return SHV_OK;
    }
    struct shv_curves curves;
    enum shv_status status = shv_curves_init(&curves, p->model, message);
    if (status != SHV_OK) {
        return status;
    }
    shv_model_evaluate_plain(p->model, &o->ideal, &curves);
    o->plain_difference = fabs(curves.verdict.objective - o->objective) / fabs(o->objective);
    o->retard = retard_of(&curves);
    o->evaluations++;
    status = find_elasticities(p->model, &curves, o, message);
    if (status == SHV_OK && o->uncooled_found) {
        shv_model_evaluate(p->model, &o->uncooled, &curves);
        o->uncooled_retard = retard_of(&curves);
        o->evaluations++;
    }
    if (status == SHV_OK) {
        status = nearest_parts(p->model, p->space, o, &curves, message);
    }
    shv_curves_free(&curves);
    take_ranked(p, o);
    return status == SHV_OK ? made_pulley(p->model, o, message) : status;
}

/* Takes a row that is known, or searches it and tells of it. */
static enum shv_status search_row(struct plan *p, size_t row, struct shv_optimum *o,
                                  struct shv_message *message)
{
    const struct shv_optimum_options *how = p->options;
    if (how && how->known && how->known(how->data, row, o)) {
        return SHV_OK;
    }
    enum shv_status status = run_tasks(p, row, message);
    if (status == SHV_OK) {
        gather(p, row, o);
        status = finish_row(p, o, message);
    }
    return status == SHV_OK && how && how->found ? how->found(how->data, row, o, message) : status;
}

static enum shv_status search_rows(struct plan *p, struct shv_optimum *optima,
                                   struct shv_message *message)
{
    enum shv_status status = find_known(p, message);
    for (size_t i = 0; i < p->watcher.total && status == SHV_OK; i++) {
        status = search_row(p, i, &optima[i], message);
        if (status == SHV_OK && !watcher_add(&p->watcher, 1)) {
            status = shv_fail(message, SHV_STOPPED, "the search was stopped");
        }
    }
    return status;
}

enum shv_status shv_optimum_search(const struct shv_model *model, const struct shv_space *space,
                                   const struct shv_ranking *ranking,
                                   const struct shv_optimum_options *options,
                                   struct shv_optimum **optima, size_t *count,
                                   struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(model);
    size_t rows = study->blower_count * study->fuel_count;
    struct plan p = {.model = model,
                     .study = study,
                     .space = space,
                     .ranking = ranking,
                     .options = options,
                     .watcher = {.watch = options ? &options->watch : NULL, .total = rows},
                     .cranks = crank_matters(study) ? study->drive.crank_count : 1};
    p.per_row = study->cooler_count * study->lambda_count * study->margin_count * p.cranks;
    most_fuel(study, &p.supply);
    *count = 0;
    *optima = calloc(rows, sizeof **optima);
    p.result = calloc(p.per_row, sizeof *p.result);
    p.known = calloc(2 * rows, sizeof *p.known);
    enum shv_status status =
        *optima && p.result && p.known
            ? search_rows(&p, *optima, message)
            : shv_fail(message, SHV_NO_MEMORY, "out of memory for the continuous search");
    free(p.result);
    free(p.known);
    if (status != SHV_OK) {
        free(*optima);
        *optima = NULL;
        return status;
    }
    *count = rows;
    return SHV_OK;
}
