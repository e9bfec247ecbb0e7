/* The best continuous pulley ratio and cooler effectiveness, by NLopt.
 *
 * Global stage: ISRES (Runarsson and Yao, IEEE Trans. Syst. Man Cybern. C 35, 2005), because it
 * takes nonlinear constraints as they are, without penalties to tune, and peak power over a rev
 * range has kinks and several tops. Local stage: by derivatives (polish.c), or where they are not
 * known by COBYLA (Powell 1994), which needs none; then a direct search, for kinks. The answer is
 * the best feasible kit met in any evaluation, so a solver that ends a hair outside a limit costs
 * nothing.
 */
#include "search/polish.h"
#include "search/search_internal.h"

#include <math.h>
#include <nlopt.h>
#include <stdlib.h>
#include <string.h>

#define LOCAL_EVALUATIONS 120
/* Where climbing ends, as a share of the range; directions of one poll; a bound on its evaluations.
 */
#define CLIMB_END 1e-8
#define CLIMB_DIRECTIONS 24
#define CLIMB_MOST 2400
#define CLIMB_SHRINKS 0.25
/* A gain by the direct search that is worth another polish. */
#define WORTH_ANOTHER 1e-9
/* Starts nearer than this share of the ranges to one that was taken up are not worth another
 * polish.
 */
#define NEAR_ENOUGH 0.03
/* A point without an answer counts as this far beyond each of its limits, in spans. */
#define FAILED_EXCESS 1.0

/* A solver can't do with infinity, as where the manifold's pressure shuts an injector off. */
#define MOST_EXCESS 10.0

struct shv_kit search_task_kit(const struct shv_study *study, const struct search_task *task,
                               double ratio, double effectiveness)
{
    struct shv_kit kit = {.blower = task->blower,
                          .cooler = task->cooler,
                          .fuel = task->fuel,
                          .lambda = task->lambda,
                          .ignition_margin = task->ignition_margin,
                          .injector = task->injector,
                          .injector_flow = task->injector_flow,
                          .pump = task->pump,
                          .ribs = task->ribs,
                          .wrap = task->wrap,
                          .crank_diameter = task->crank > 0.0 ? task->crank : NAN,
                          .blower_diameter = NAN,
                          .ratio = ratio,
                          .effectiveness = effectiveness};
    if (!isnan(kit.crank_diameter)) {
        double offset = 2.0 * study->drive.line_offset;
        kit.blower_diameter = (kit.crank_diameter + offset) / ratio - offset;
    }
    return kit;
}

struct shv_kit search_kit(const struct search *s, const double *x)
{
    double ratio = s->fixed_ratio, effectiveness = s->fixed_effectiveness;
    for (unsigned i = 0; i < s->dims && i < SEARCH_DIMS; i++) {
        *(s->free[i] == SHV_FREE_RATIO ? &ratio : &effectiveness) = x[i];
    }
    return search_task_kit(shv_model_study(s->model), s->task, ratio, effectiveness);
}

/* NLopt asks for objective and constraints one after the other. */
void search_visit(struct search *s, const double *x)
{
    bool same = s->have_last;
    for (unsigned i = 0; i < s->dims && i < SEARCH_DIMS; i++) {
        same = same && x[i] == s->last[i];
        s->last[i] = x[i];
    }
    if (same) {
        return;
    }
    s->have_last = true;
    s->has_gradient = false;
    s->kit = search_kit(s, x);
    shv_model_evaluate(s->model, &s->kit, &s->curves);
    struct search_result *r = s->result;
    r->evaluations++;
    const struct shv_verdict *v = &s->curves.verdict;
    if (v->feasible && (!r->found || v->objective > r->objective)) {
        r->found = true;
        r->kit = s->kit;
        r->objective = v->objective;
        r->binding = v->binding;
        r->binding_share = v->binding >= 0 ? v->limit[v->binding].share : NAN;
    }
}

const struct shv_gradient *search_gradient(struct search *s)
{
    if (!s->has_gradient) {
        shv_model_gradient(s->model, &s->kit, &s->curves, &s->gradient);
        s->result->gradients++;
        s->has_gradient = true;
    }
    return &s->gradient;
}

static double objective(unsigned n, const double *x, double *gradient, void *data)
{
    (void)n;
    (void)gradient;
    struct search *s = data;
    search_visit(s, x);
    double value = s->curves.verdict.objective;
    return isnan(value) ? 0.0 : value;
}

/* Every limit at every site and speed, and of the kit: (value - bound) / span <= 0. */
static void constraints(unsigned m, double *excess, unsigned n, const double *x, double *gradient,
                        void *data)
{
    (void)n;
    (void)gradient;
    struct search *s = data;
    search_visit(s, x);
    unsigned k = 0;
    for (size_t i = 0; i < s->curves.sites * s->curves.speeds; i++) {
        const struct shv_point *p = &s->curves.point[i];
        for (int limit = 0; limit < SHV_LIMIT_COUNT; limit++) {
            if (isinf(s->bound[limit]) || shv_limit_info((enum shv_limit)limit)->of_kit) {
                continue;
            }
            double share = shv_point_limit_share(p, (enum shv_limit)limit, s->bound[limit]);
            excess[k++] = isnan(share) ? 0.0 : fmin(-share, MOST_EXCESS);
        }
        excess[k++] = p->outcome == SHV_POINT_OK ? -FAILED_EXCESS : FAILED_EXCESS;
    }
    for (int limit = 0; limit < SHV_LIMIT_COUNT; limit++) {
        if (shv_limit_info((enum shv_limit)limit)->of_kit && !isinf(s->bound[limit])) {
            double share = s->curves.verdict.limit[limit].share;
            excess[k++] = isnan(share) ? 0.0 : fmin(-share, MOST_EXCESS);
        }
    }
    for (; k < m; k++) {
        excess[k] = 0.0;
    }
}

static nlopt_opt make(struct search *s, nlopt_algorithm algorithm, int evaluations, double reach)
{
    nlopt_opt opt = nlopt_create(algorithm, s->dims);
    if (!opt) {
        return NULL;
    }
    double step[SEARCH_DIMS] = {0.0};
    for (unsigned i = 0; i < s->dims && i < SEARCH_DIMS; i++) {
        step[i] = reach * (s->high[i] - s->low[i]);
    }
    unsigned points = (unsigned)(s->curves.sites * s->curves.speeds);
    unsigned m = points * (s->limits + 1) + s->kit_limits;
    bool ok = nlopt_set_lower_bounds(opt, s->low) > 0 && nlopt_set_upper_bounds(opt, s->high) > 0 &&
              nlopt_set_max_objective(opt, objective, s) > 0 &&
              nlopt_add_inequality_mconstraint(opt, m, constraints, s, NULL) > 0 &&
              nlopt_set_maxeval(opt, evaluations) > 0 && nlopt_set_xtol_rel(opt, 1e-6) > 0 &&
              nlopt_set_initial_step(opt, step) > 0;
    if (!ok) {
        nlopt_destroy(opt);
        return NULL;
    }
    return opt;
}

/* One run of a solver from x with first steps of `reach` times the range. What it returns is not
 * needed: search_visit() keeps the best feasible kit. */
static enum shv_status solve(struct search *s, nlopt_algorithm algorithm, int evaluations,
                             double reach, double *x, struct shv_message *message)
{
    nlopt_opt opt = make(s, algorithm, evaluations, reach);
    if (!opt) {
        return shv_fail(message, SHV_NO_MEMORY, "NLopt could not set up the search");
    }
    double best;
    nlopt_result code = nlopt_optimize(opt, x, &best);
    nlopt_destroy(opt);
    if (code == NLOPT_OUT_OF_MEMORY || code == NLOPT_INVALID_ARGS) {
        return shv_fail(message, code == NLOPT_OUT_OF_MEMORY ? SHV_NO_MEMORY : SHV_BAD_INPUT,
                        "NLopt: %s", nlopt_result_to_string(code));
    }
    return SHV_OK;
}

static double edge(const struct search *s, unsigned i, double x)
{
    return fmin(fmax(x, s->low[i]), s->high[i]);
}

void search_values(const struct search *s, double ratio, double effectiveness, double *x)
{
    for (unsigned i = 0; i < s->dims && i < SEARCH_DIMS; i++) {
        x[i] = edge(s, i, s->free[i] == SHV_FREE_RATIO ? ratio : effectiveness);
    }
}

/* The kits of one poll, around the best so far. */
static size_t poll_kits(const struct search *s, double reach, double turn,
                        struct shv_kit kits[CLIMB_DIRECTIONS])
{
    double base[SEARCH_DIMS] = {0.0}, x[SEARCH_DIMS] = {0.0};
    search_values(s, s->result->kit.ratio, s->result->kit.effectiveness, base);
    size_t count = s->dims == 1 ? 2 : CLIMB_DIRECTIONS;
    for (size_t k = 0; k < count; k++) {
        double angle = turn + (double)k * 6.28318530717958648 / (double)count;
        double direction[SEARCH_DIMS] = {cos(angle), sin(angle)};
        if (s->dims == 1) {
            direction[0] = k == 0 ? -1.0 : 1.0;
        }
        for (unsigned i = 0; i < s->dims && i < SEARCH_DIMS; i++) {
            x[i] = edge(s, i, base[i] + reach * (s->high[i] - s->low[i]) * direction[i]);
        }
        kits[k] = search_kit(s, x);
    }
    return count;
}

/* The best kit of a poll side by side in the lanes; true when it is better than the best so far. */
static bool poll(struct search *s, double reach, double turn)
{
    struct shv_kit kits[CLIMB_DIRECTIONS];
    struct shv_brief brief[CLIMB_DIRECTIONS];
    size_t count = poll_kits(s, reach, turn, kits), best = count;
    shv_lanes_evaluate_kits(s->model, s->lanes, kits, count, brief);
    s->result->evaluations += count;
    double top = s->result->objective * (1.0 + 1e-12);
    for (size_t k = 0; k < count; k++) {
        if (brief[k].outcome == SHV_POINT_OK && brief[k].broken == 0 && brief[k].objective > top) {
            best = k;
            top = brief[k].objective;
        }
    }
    if (best == count) {
        return false;
    }
    double x[SEARCH_DIMS] = {0.0};
    search_values(s, kits[best].ratio, kits[best].effectiveness, x);
    search_visit(s, x);
    return true;
}

/* Polls around the best so far along directions that turn by the golden angle, halving the reach
 * when none is better: a mesh-adaptive direct search (Audet and Dennis, SIAM J. Optim. 17, 2006) in
 * two dimensions. It climbs along kinks, such as the line on which the bypass begins to bleed,
 * where the linear models of COBYLA stall, and it closes in on the limits from inside. */
static void climb(struct search *s)
{
    const double golden_angle = 2.39996322972865332;
    double turn = 0.0, reach = 0.02;
    size_t begin = s->result->evaluations;
    while (reach > CLIMB_END && s->result->evaluations - begin < CLIMB_MOST) {
        reach *= poll(s, reach, turn) ? 2.0 : CLIMB_SHRINKS;
        reach = reach < 0.05 ? reach : 0.05;
        turn += golden_angle;
    }
}

/* Whether a start lies near one that the polish has started from or ended at. */
static bool near_one(const struct search *s, const double *x, double met[][SEARCH_DIMS],
                     size_t count)
{
    for (size_t k = 0; k < count; k++) {
        double far = 0.0;
        for (unsigned i = 0; i < s->dims && i < SEARCH_DIMS; i++) {
            far = fmax(far, fabs(x[i] - met[k][i]) / (s->high[i] - s->low[i]));
        }
        if (far < NEAR_ENOUGH) {
            return true;
        }
    }
    return false;
}

/* By derivatives; where the model has none, as without a table of the cycle, by COBYLA. */
static enum shv_status descend(struct search *s, double *x, struct shv_message *message)
{
    size_t before = s->result->gradients;
    enum shv_status status = polish_run(s, x, message);
    if (status == SHV_OK && s->result->gradients <= before + 1) {
        status = solve(s, NLOPT_LN_COBYLA, LOCAL_EVALUATIONS, 0.02, x, message);
    }
    return status;
}

/* The direct search from the best kit, and where it led on derivatives once more. */
static enum shv_status settle(struct search *s, struct shv_message *message)
{
    double before = s->result->objective, x[SEARCH_DIMS] = {0.0, 0.0};
    climb(s);
    if (!(s->result->objective - before > WORTH_ANOTHER * fabs(before))) {
        return SHV_OK;
    }
    search_values(s, s->result->kit.ratio, s->result->kit.effectiveness, x);
    return descend(s, x, message);
}

static enum shv_status polish(struct search *s, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    double met[2 * SEARCH_MOST_STARTS][SEARCH_DIMS] = {{0.0}};
    size_t count = 0;
    for (size_t i = 0; i < s->task->starts && status == SHV_OK; i++) {
        double x[SEARCH_DIMS] = {0.0, 0.0};
        search_values(s, s->task->start[i][0], s->task->start[i][1], x);
        search_visit(s, x); /* the start itself counts: a real kit is a candidate too */
        if (!near_one(s, x, met, count)) {
            memcpy(met[count++], x, sizeof x);
            status = descend(s, x, message);
            memcpy(met[count++], x, sizeof x);
        }
    }
    if (status == SHV_OK && s->result->found) {
        double x[SEARCH_DIMS] = {0.0, 0.0};
        search_values(s, s->result->kit.ratio, s->result->kit.effectiveness, x);
        status = descend(s, x, message);
        status = status == SHV_OK ? settle(s, message) : status;
    }
    return status;
}

static void set_variables(struct search *s)
{
    const struct shv_cooler *c = &shv_model_study(s->model)->coolers[s->task->cooler];
    s->fixed_ratio = s->task->ratio_low;
    if (s->task->ratio_high > s->task->ratio_low) {
        s->free[s->dims] = SHV_FREE_RATIO;
        s->low[s->dims] = s->task->ratio_low;
        s->high[s->dims++] = s->task->ratio_high;
    }
    if (c->is_none) {
        return;
    }
    double low = c->effectiveness[0] - s->task->effectiveness_below;
    double high = c->effectiveness[c->choices - 1] + s->task->effectiveness_above;
    s->fixed_effectiveness = low;
    if (high > low) {
        s->free[s->dims] = SHV_FREE_EFFECTIVENESS;
        s->low[s->dims] = low;
        s->high[s->dims++] = high;
    }
}

static void set_up(struct search *s)
{
    const struct shv_study *study = shv_model_study(s->model);
    const struct shv_kit kit = {
        .blower = s->task->blower, .injector = s->task->injector, .pump = s->task->pump};
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        s->bound[i] = shv_limit_bound(study, &kit, (enum shv_limit)i);
        bool of_kit = shv_limit_info((enum shv_limit)i)->of_kit;
        *(of_kit ? &s->kit_limits : &s->limits) += isinf(s->bound[i]) ? 0 : 1;
    }
    set_variables(s);
}

static void clear(struct search *s)
{
    shv_lanes_free(s->lanes);
    shv_gradient_free(&s->gradient);
    shv_curves_free(&s->curves);
}

static enum shv_status begin(struct search *s, const struct shv_model *model,
                             const struct search_task *task, struct search_result *result,
                             struct shv_message *message)
{
    *result = (struct search_result){.binding = -1, .objective = NAN, .binding_share = NAN};
    *s = (struct search){.model = model, .task = task, .result = result};
    enum shv_status status = shv_curves_init(&s->curves, model, message);
    if (status == SHV_OK) {
        status = shv_gradient_init(&s->gradient, model, message);
    }
    if (status == SHV_OK) {
        status = shv_lanes_create(model, &s->lanes, message);
    }
    if (status != SHV_OK) {
        clear(s);
        return status;
    }
    set_up(s);
    return SHV_OK;
}

enum shv_status search_run(const struct shv_model *model, const struct search_task *task,
                           struct search_result *result, struct shv_message *message)
{
    struct search s;
    enum shv_status status = begin(&s, model, task, result, message);
    if (status != SHV_OK) {
        return status;
    }
    double x[SEARCH_DIMS] = {0.0, 0.0};
    if (s.dims == 0) {
        search_visit(&s, x);
    } else {
        nlopt_srand(task->seed); /* the generator is the thread's own */
        for (unsigned i = 0; i < s.dims; i++) {
            x[i] = 0.5 * (s.low[i] + s.high[i]);
        }
        int evaluations = (int)shv_model_study(model)->search.global_evaluations;
        status = solve(&s, NLOPT_GN_ISRES, evaluations, 0.25, x, message);
        if (status == SHV_OK) {
            status = polish(&s, message);
        }
    }
    clear(&s);
    return status;
}

void search_task_of(const struct shv_study *study, const struct shv_kit *kit,
                    struct search_task *task)
{
    const struct shv_drive *d = &study->drive;
    bool any = isnan(kit->crank_diameter);
    double least = any ? d->crank_pulleys[0] : kit->crank_diameter;
    double most = any ? d->crank_pulleys[d->crank_count - 1] : kit->crank_diameter;
    *task = (struct search_task){
        .blower = kit->blower,
        .fuel = kit->fuel,
        .cooler = kit->cooler,
        .lambda = kit->lambda,
        .ignition_margin = kit->ignition_margin,
        .injector = kit->injector,
        .injector_flow = kit->injector_flow,
        .pump = kit->pump,
        .ribs = kit->ribs,
        .wrap = kit->wrap,
        .crank = any ? 0.0 : kit->crank_diameter,
        .ratio_low = shv_drive_ratio(least, d->blower_pulleys[d->blower_count - 1], d->line_offset),
        .ratio_high = shv_drive_ratio(most, d->blower_pulleys[0], d->line_offset),
        .start = {{kit->ratio, kit->effectiveness}},
        .starts = 1};
}

enum shv_status search_again(const struct shv_model *model, const struct search_task *task,
                             bool closely, struct search_result *result,
                             struct shv_message *message)
{
    struct search s;
    double x[SEARCH_DIMS] = {0.0, 0.0};
    enum shv_status status = begin(&s, model, task, result, message);
    if (status != SHV_OK) {
        return status;
    }
    search_values(&s, task->start[0][0], task->start[0][1], x);
    search_visit(&s, x);
    if (s.dims > 0) {
        status = descend(&s, x, message);
    }
    if (s.dims > 0 && status == SHV_OK && closely && result->found) {
        status = settle(&s, message);
    }
    clear(&s);
    return status;
}

/* Limits with less than this share of their span left count as active at an optimum. */
#define ACTIVE 1e-5

enum shv_status search_prices(const struct shv_model *model, const struct search_task *task,
                              struct polish_prices *prices, struct shv_message *message)
{
    struct search s;
    struct search_result result;
    double x[SEARCH_DIMS] = {0.0, 0.0};
    enum shv_status status = begin(&s, model, task, &result, message);
    if (status != SHV_OK) {
        return status;
    }
    search_values(&s, task->start[0][0], task->start[0][1], x);
    status = polish_prices(&s, x, ACTIVE, prices, message);
    clear(&s);
    return status;
}
