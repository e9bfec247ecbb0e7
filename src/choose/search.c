/* The best continuous pulley ratio and cooler effectiveness, by NLopt.
 *
 * Global stage: ISRES (Runarsson and Yao, IEEE Trans. Syst. Man Cybern. C 35, 2005), because it
 * takes nonlinear constraints as they are, without penalties to tune, and peak power over a rev
 * range has kinks and several tops. Local stage: COBYLA (Powell 1994), because it too takes
 * constraints as they are and needs no derivatives. The answer is the best feasible kit met in any
 * evaluation, so a solver that ends a hair outside a limit costs nothing.
 */
#include "choose/search.h"

#include <math.h>
#include <nlopt.h>
#include <stdlib.h>

/* Ratio and effectiveness. */
#define MOST_DIMS 2
#define LOCAL_EVALUATIONS 120
/* Where climbing ends, as a share of the range; directions of one poll; a bound on its evaluations.
 */
#define CLIMB_END 1e-7
#define CLIMB_DIRECTIONS 24
#define CLIMB_MOST 6000
/* A point without an answer counts as this far beyond each of its limits, in spans. */
#define FAILED_EXCESS 1.0

/* A solver can't do with infinity, as where the manifold's pressure shuts an injector off. */
#define MOST_EXCESS 10.0

struct search {
    const struct shv_model *model;
    const struct search_task *task;
    struct search_result *result;
    struct shv_curves curves;
    struct shv_lanes *lanes;
    unsigned dims;
    bool free_ratio, free_effectiveness;
    double fixed_ratio, fixed_effectiveness;
    double effectiveness_low, effectiveness_high;
    double bound[SHV_LIMIT_COUNT];
    unsigned limits, kit_limits; /* how many are set, of points and of the kit */
    double last[MOST_DIMS];
    bool have_last;
};

static struct shv_kit kit_at(const struct search *s, const double *x)
{
    struct shv_kit kit = {.blower = s->task->blower,
                          .cooler = s->task->cooler,
                          .fuel = s->task->fuel,
                          .lambda = s->task->lambda,
                          .ignition_margin = s->task->ignition_margin,
                          .injector = s->task->injector,
                          .injector_flow = s->task->injector_flow,
                          .pump = s->task->pump,
                          .ribs = s->task->ribs,
                          .wrap = s->task->wrap,
                          .crank_diameter = s->task->crank > 0.0 ? s->task->crank : NAN,
                          .blower_diameter = NAN,
                          .ratio = s->fixed_ratio,
                          .effectiveness = s->fixed_effectiveness};
    unsigned i = 0;
    if (s->free_ratio) {
        kit.ratio = x[i++];
    }
    if (s->free_effectiveness) {
        kit.effectiveness = x[i];
    }
    if (!isnan(kit.crank_diameter)) {
        double offset = 2.0 * shv_model_study(s->model)->drive.line_offset;
        kit.blower_diameter = (kit.crank_diameter + offset) / kit.ratio - offset;
    }
    return kit;
}

/* Evaluates once per point: NLopt asks for objective and constraints one after the other. */
static void visit(struct search *s, const double *x)
{
    bool same = s->have_last;
    for (unsigned i = 0; i < s->dims && i < MOST_DIMS; i++) {
        same = same && x[i] == s->last[i];
        s->last[i] = x[i];
    }
    if (same) {
        return;
    }
    s->have_last = true;
    struct shv_kit kit = kit_at(s, x);
    shv_model_evaluate(s->model, &kit, &s->curves);
    struct search_result *r = s->result;
    r->evaluations++;
    const struct shv_verdict *v = &s->curves.verdict;
    if (v->feasible && (!r->found || v->objective > r->objective)) {
        r->found = true;
        r->kit = kit;
        r->objective = v->objective;
        r->binding = v->binding;
        r->binding_share = v->binding >= 0 ? v->limit[v->binding].share : NAN;
    }
}

static double objective(unsigned n, const double *x, double *gradient, void *data)
{
    (void)n;
    (void)gradient;
    struct search *s = data;
    visit(s, x);
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
    visit(s, x);
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
    double low[2] = {0.0}, high[2] = {0.0}, step[2] = {0.0};
    unsigned i = 0;
    if (s->free_ratio) {
        low[i] = s->task->ratio_low;
        high[i++] = s->task->ratio_high;
    }
    if (s->free_effectiveness) {
        low[i] = s->effectiveness_low;
        high[i] = s->effectiveness_high;
    }
    for (i = 0; i < s->dims && i < MOST_DIMS; i++) {
        step[i] = reach * (high[i] - low[i]);
    }
    unsigned points = (unsigned)(s->curves.sites * s->curves.speeds);
    unsigned m = points * (s->limits + 1) + s->kit_limits;
    bool ok = nlopt_set_lower_bounds(opt, low) > 0 && nlopt_set_upper_bounds(opt, high) > 0 &&
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
 * needed: visit() keeps the best feasible kit. */
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

static void clamp_into(const struct search *s, double ratio, double effectiveness, double *x)
{
    unsigned i = 0;
    if (s->free_ratio) {
        x[i++] = fmin(fmax(ratio, s->task->ratio_low), s->task->ratio_high);
    }
    if (s->free_effectiveness) {
        x[i] = fmin(fmax(effectiveness, s->effectiveness_low), s->effectiveness_high);
    }
}

/* Holds variable i to its range. */
static double edge(const struct search *s, unsigned i, double x)
{
    bool is_ratio = s->free_ratio && i == 0;
    double low = is_ratio ? s->task->ratio_low : s->effectiveness_low;
    double high = is_ratio ? s->task->ratio_high : s->effectiveness_high;
    return fmin(fmax(x, low), high);
}

/* The kits of one poll, around the best so far. */
static size_t poll_kits(const struct search *s, double reach, double turn,
                        struct shv_kit kits[CLIMB_DIRECTIONS])
{
    double span[MOST_DIMS] = {s->task->ratio_high - s->task->ratio_low,
                              s->effectiveness_high - s->effectiveness_low};
    if (!s->free_ratio) {
        span[0] = span[1];
    }
    double base[MOST_DIMS] = {0.0}, x[MOST_DIMS] = {0.0};
    clamp_into(s, s->result->kit.ratio, s->result->kit.effectiveness, base);
    size_t count = s->dims == 1 ? 2 : CLIMB_DIRECTIONS;
    for (size_t k = 0; k < count; k++) {
        double angle = turn + (double)k * 6.28318530717958648 / (double)count;
        double direction[MOST_DIMS] = {cos(angle), sin(angle)};
        if (s->dims == 1) {
            direction[0] = k == 0 ? -1.0 : 1.0;
        }
        for (unsigned i = 0; i < s->dims && i < MOST_DIMS; i++) {
            x[i] = edge(s, i, base[i] + reach * span[i] * direction[i]);
        }
        kits[k] = kit_at(s, x);
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
    double x[MOST_DIMS] = {0.0};
    clamp_into(s, kits[best].ratio, kits[best].effectiveness, x);
    visit(s, x);
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
        reach *= poll(s, reach, turn) ? 2.0 : 0.5;
        reach = reach < 0.05 ? reach : 0.05;
        turn += golden_angle;
    }
}

static enum shv_status polish(struct search *s, struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < s->task->starts && status == SHV_OK; i++) {
        double x[2] = {0.0, 0.0};
        clamp_into(s, s->task->start[i][0], s->task->start[i][1], x);
        visit(s, x); /* the start itself counts: a real kit is a candidate too */
        status = solve(s, NLOPT_LN_COBYLA, LOCAL_EVALUATIONS, 0.02, x, message);
    }
    if (status == SHV_OK && s->result->found) {
        double x[2] = {0.0, 0.0};
        clamp_into(s, s->result->kit.ratio, s->result->kit.effectiveness, x);
        status = solve(s, NLOPT_LN_COBYLA, LOCAL_EVALUATIONS, 0.02, x, message);
        climb(s);
    }
    return status;
}

static void set_up(struct search *s)
{
    const struct shv_study *study = shv_model_study(s->model);
    const struct shv_cooler *c = &study->coolers[s->task->cooler];
    const struct shv_kit kit = {
        .blower = s->task->blower, .injector = s->task->injector, .pump = s->task->pump};
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        s->bound[i] = shv_limit_bound(study, &kit, (enum shv_limit)i);
        bool of_kit = shv_limit_info((enum shv_limit)i)->of_kit;
        *(of_kit ? &s->kit_limits : &s->limits) += isinf(s->bound[i]) ? 0 : 1;
    }
    s->free_ratio = s->task->ratio_high > s->task->ratio_low;
    s->fixed_ratio = s->task->ratio_low;
    if (!c->is_none) {
        s->effectiveness_low = c->effectiveness[0];
        s->effectiveness_high = c->effectiveness[c->choices - 1];
        s->free_effectiveness = s->effectiveness_high > s->effectiveness_low;
        s->fixed_effectiveness = s->effectiveness_low;
    }
    s->dims = (s->free_ratio ? 1u : 0u) + (s->free_effectiveness ? 1u : 0u);
}

enum shv_status search_run(const struct shv_model *model, const struct search_task *task,
                           struct search_result *result, struct shv_message *message)
{
    *result = (struct search_result){.binding = -1, .objective = NAN, .binding_share = NAN};
    struct search s = {.model = model, .task = task, .result = result};
    enum shv_status status = shv_curves_init(&s.curves, model, message);
    if (status == SHV_OK) {
        status = shv_lanes_create(model, &s.lanes, message);
    }
    if (status != SHV_OK) {
        shv_curves_free(&s.curves);
        return status;
    }
    set_up(&s);
    double x[2] = {0.0, 0.0};
    if (s.dims == 0) {
        visit(&s, x);
    } else {
        nlopt_srand(task->seed); /* the generator is the thread's own */
        clamp_into(&s, 0.5 * (task->ratio_low + task->ratio_high),
                   0.5 * (s.effectiveness_low + s.effectiveness_high), x);
        int evaluations = (int)shv_model_study(model)->search.global_evaluations;
        status = solve(&s, NLOPT_GN_ISRES, evaluations, 0.25, x, message);
        if (status == SHV_OK) {
            status = polish(&s, message);
        }
    }
    shv_lanes_free(s.lanes);
    shv_curves_free(&s.curves);
    return status;
}
