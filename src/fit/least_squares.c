/* Many starts, and NLopt from each (include/sheave/least_squares.h). */
#include "sheave/least_squares.h"

#include "base/random.h"

#include <math.h>
#include <nlopt.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/least_squares_internal.h"

#define MOST_STEPS 200
#define ALIKE 1e-6
#define ROUNDING 1e-12
#define SMOOTH 1e-10
/* What NLopt is told where the model has no answer: far above any cost, yet a number. */
#define NO_ANSWER 1e30

/* ---- NLopt ---- */

struct descent {
    struct ls *ls;
    struct ls_point *now, *best;
    nlopt_opt opt;
};

static double cost_of(unsigned n, const double *z, double *gradient, void *data)
{
    struct descent *d = data;
    struct ls_point *p = d->now;
    memcpy(p->z, z, n * sizeof *z);
    bool good = ls_cost(d->ls, z, p->r, &p->cost);
    if (good && gradient) {
        good = ls_derive(d->ls, p);
        memcpy(gradient, p->g, n * sizeof *gradient);
    }
    if (!good) {
        if (d->ls->status != SHV_OK) {
            nlopt_force_stop(d->opt);
        }
        if (gradient) {
            memset(gradient, 0, n * sizeof *gradient);
        }
        return NO_ANSWER;
    }
    if (gradient && p->cost < d->best->cost) {
        ls_point_copy(d->ls, d->best, p);
    }
    return p->cost;
}

static enum shv_status status_of(const struct ls *ls, struct shv_message *message)
{
    return ls->status == SHV_NO_MEMORY
               ? shv_fail(message, SHV_NO_MEMORY, "out of memory for the model of a fit")
               : ls->status;
}

/* From best->z down; what NLopt returns is not needed, since the best point met is kept. */
static enum shv_status descend(struct ls *ls, struct ls_point *best, struct ls_point *room,
                               struct shv_message *message)
{
    struct descent d = {ls, room, best, nlopt_create(NLOPT_LD_SLSQP, (unsigned)ls->n)};
    double z[SHV_PARAMETERS_MOST], cost;
    memcpy(z, best->z, sizeof z);
    nlopt_opt opt = d.opt;
    bool ok = opt && nlopt_set_lower_bounds(opt, ls->low) > 0 &&
              nlopt_set_upper_bounds(opt, ls->high) > 0 &&
              nlopt_set_min_objective(opt, cost_of, &d) > 0 &&
              nlopt_set_maxeval(opt, (int)ls->steps) > 0 && nlopt_set_ftol_rel(opt, 1e-10) > 0 &&
              nlopt_set_xtol_rel(opt, 1e-10) > 0;
    nlopt_result code = ok ? nlopt_optimize(opt, z, &cost) : NLOPT_OUT_OF_MEMORY;
    nlopt_destroy(opt);
    return code == NLOPT_OUT_OF_MEMORY
               ? shv_fail(message, SHV_NO_MEMORY, "NLopt could not set up the least squares")
               : status_of(ls, message);
}

/* ---- starts ---- */

/* Start `index` of `count`: a Latin hypercube (McKay, Beckman and Conover, Technometrics 21, 1979)
 * over the finite bounds, a parameter without them stays where it is. Cell of parameter k and start
 * i: the i-th of a shuffled order. */
static void spread_starts(const struct ls *ls, size_t count, unsigned long seed, double *starts)
{
    uint64_t state = (uint64_t)seed;
    for (size_t k = 0; k < ls->n; k++) {
        double low = ls->low[k], high = ls->high[k];
        bool bounded = isfinite(low) && isfinite(high);
        for (size_t i = 0; i < count; i++) {
            starts[i * ls->n + k] =
                bounded ? low + (high - low) * ((double)i + random_unit(random_next(&state))) /
                                    (double)count
                        : ls->problem->start[k] / ls->scale[k];
        }
        for (size_t i = count; bounded && i > 1; i--) {
            size_t other = (size_t)(random_unit(random_next(&state)) * (double)i);
            double x = starts[(i - 1) * ls->n + k];
            starts[(i - 1) * ls->n + k] = starts[other * ls->n + k];
            starts[other * ls->n + k] = x;
        }
    }
}

struct search_rooms {
    struct ls_point best, now, room;
    double *starts; /* [(starts - 1) * n] */
    double *costs;  /* [starts], INFINITY without an answer */
};

static bool rooms_init(struct search_rooms *s, const struct ls *ls, size_t starts)
{
    *s = (struct search_rooms){.starts = calloc(starts * ls->n + 1, sizeof(double)),
                               .costs = calloc(starts + 1, sizeof(double))};
    bool good = ls_point_init(&s->best, ls);
    good = ls_point_init(&s->now, ls) && good;
    good = ls_point_init(&s->room, ls) && good;
    return good && s->starts && s->costs;
}

static void rooms_free(struct search_rooms *s)
{
    ls_point_free(&s->best);
    ls_point_free(&s->now);
    ls_point_free(&s->room);
    free(s->starts);
    free(s->costs);
}

/* Sets `now` to a point; false where there is no answer. */
static bool stand(struct ls *ls, struct search_rooms *s, const double *z)
{
    memcpy(s->now.z, z, ls->n * sizeof *z);
    return ls_cost(ls, z, s->now.r, &s->now.cost) && ls_derive(ls, &s->now);
}

/* Of costs that rounding cannot tell apart the earlier counts, so that what nothing determines
 * stays where it began, unless its gradient is still to be seen. */
static void keep_best(const struct ls *ls, struct search_rooms *s, double *cost)
{
    *cost = fmin(*cost, s->now.cost);
    bool alike = fabs(s->now.cost - s->best.cost) <= ROUNDING * s->best.cost;
    bool rough = s->best.cosine > SMOOTH && s->now.cosine < s->best.cosine;
    if (alike ? rough : s->now.cost < s->best.cost) {
        ls_point_copy(ls, &s->best, &s->now);
    }
}

/* From one start: NLopt and then steps; from the first also steps alone. */
static enum shv_status search_from(struct ls *ls, struct search_rooms *s, const double *z,
                                   bool both, double *cost, struct shv_message *message)
{
    *cost = INFINITY;
    if (!stand(ls, s, z)) {
        return status_of(ls, message);
    }
    if (both) {
        ls_steps(ls, &s->now, &s->room);
        keep_best(ls, s, cost);
        (void)stand(ls, s, z);
    }
    enum shv_status status = descend(ls, &s->now, &s->room, message);
    if (status == SHV_OK) {
        ls_steps(ls, &s->now, &s->room);
        keep_best(ls, s, cost);
        status = status_of(ls, message);
    }
    return status;
}

static enum shv_status search(struct ls *ls, struct search_rooms *s, size_t starts,
                              unsigned long seed, struct shv_message *message)
{
    double z[SHV_PARAMETERS_MOST];
    for (size_t k = 0; k < ls->n; k++) {
        z[k] = fmin(fmax(ls->problem->start[k] / ls->scale[k], ls->low[k]), ls->high[k]);
    }
    spread_starts(ls, starts - 1, seed, s->starts);
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < starts && status == SHV_OK; i++) {
        const double *from = i == 0 ? z : s->starts + (i - 1) * ls->n;
        status = search_from(ls, s, from, i == 0, &s->costs[i], message);
    }
    if (status == SHV_OK && !isfinite(s->best.cost)) {
        status = shv_fail(message, SHV_BAD_INPUT, "the model has no answer at any of %zu start%s",
                          starts, starts == 1 ? "" : "s");
    }
    return status;
}

/* ---- in and out ---- */

static enum shv_status check(const struct shv_least_squares_problem *p,
                             const struct shv_least_squares_options *o, struct shv_message *message)
{
    if (p->parameters == 0 || p->parameters > SHV_PARAMETERS_MOST || p->residuals == 0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "1 to %d parameters and at least one residual are needed",
                        SHV_PARAMETERS_MOST);
    }
    if (o->starts == 0 || !(p->loss_threshold > 0.0)) {
        return shv_fail(message, SHV_BAD_INPUT, "a start and a loss threshold above 0 are needed");
    }
    for (size_t k = 0; k < p->parameters; k++) {
        bool prior = p->prior_deviation && isfinite(p->prior_deviation[k]);
        bool good = p->lower[k] < p->upper[k] && p->start[k] >= p->lower[k] &&
                    p->start[k] <= p->upper[k] && isfinite(p->start[k]) &&
                    (!p->prior_deviation || p->prior_deviation[k] > 0.0) &&
                    (!prior || isfinite(p->prior_mean[k])) && (!p->scale || p->scale[k] > 0.0);
        if (!good) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "parameter %zu: start, bounds, prior or scale are out of order", k + 1);
        }
    }
    return SHV_OK;
}

static void fill_scales(struct ls *ls)
{
    const struct shv_least_squares_problem *p = ls->problem;
    for (size_t k = 0; k < ls->n; k++) {
        double range = p->upper[k] - p->lower[k], size = fabs(p->start[k]);
        ls->scale[k] = p->scale ? p->scale[k] : isfinite(range) ? range : size > 0.0 ? size : 1.0;
        ls->low[k] = p->lower[k] / ls->scale[k];
        ls->high[k] = p->upper[k] / ls->scale[k];
    }
}

static enum shv_status make_result(const struct ls *ls, struct shv_least_squares_result *r,
                                   struct shv_message *message)
{
    const size_t n = ls->n, m = ls->m;
    r->parameters = n;
    r->residuals = m;
    r->x = calloc(n + 1, sizeof *r->x);
    r->r = calloc(m + 1, sizeof *r->r);
    r->weight = calloc(m + 1, sizeof *r->weight);
    r->at_bound = calloc(n + 1, sizeof *r->at_bound);
    r->jacobian = calloc(m * n + 1, sizeof *r->jacobian);
    r->covariance = calloc(n * n + 1, sizeof *r->covariance);
    r->error = calloc(n + 1, sizeof *r->error);
    r->singular = calloc(n + 1, sizeof *r->singular);
    r->direction = calloc(n * n + 1, sizeof *r->direction);
    r->scale = calloc(n + 1, sizeof *r->scale);
    bool good = r->x && r->r && r->weight && r->at_bound && r->jacobian && r->covariance &&
                r->error && r->singular && r->direction && r->scale;
    return good ? SHV_OK : shv_fail(message, SHV_NO_MEMORY, "out of memory for the least squares");
}

static enum shv_status hand_over(struct ls *ls, const struct search_rooms *s, size_t starts,
                                 struct shv_least_squares_result *r, struct shv_message *message)
{
    const struct ls_point *p = &s->best;
    r->outcome = p->found  ? SHV_LEAST_SQUARES_FOUND
                 : p->kink ? SHV_LEAST_SQUARES_KINK
                           : SHV_LEAST_SQUARES_UNSURE;
    for (size_t k = 0; k < ls->n; k++) {
        r->x[k] = fmin(fmax(p->z[k] * ls->scale[k], ls->problem->lower[k]), ls->problem->upper[k]);
        r->at_bound[k] = p->held[k];
        r->scale[k] = ls->scale[k];
    }
    memcpy(r->r, p->r, ls->m * sizeof *r->r);
    memcpy(r->weight, p->w, ls->m * sizeof *r->weight);
    for (size_t i = 0; i < ls->m * ls->n; i++) {
        r->jacobian[i] = p->j[i] / ls->scale[i % ls->n];
    }
    r->cost = p->cost;
    r->gradient = p->cosine;
    r->evaluations = ls->evaluations;
    for (size_t i = 0; i < starts; i++) {
        r->agreeing += s->costs[i] <= p->cost + ALIKE * fabs(p->cost) + 1e-12 ? 1 : 0;
    }
    return ls_certainty(ls, p, r, message);
}

enum shv_status shv_least_squares(const struct shv_least_squares_problem *problem,
                                  const struct shv_least_squares_options *options,
                                  struct shv_least_squares_result *result,
                                  struct shv_message *message)
{
    *result = (struct shv_least_squares_result){0};
    enum shv_status status = check(problem, options, message);
    if (status != SHV_OK) {
        return status;
    }
    struct ls ls = {.problem = problem,
                    .n = problem->parameters,
                    .m = problem->residuals,
                    .rows = problem->residuals + problem->parameters,
                    .workers = options->workers > 0 ? options->workers : 1,
                    .steps = options->steps > 0 ? options->steps : MOST_STEPS};
    struct search_rooms s;
    fill_scales(&ls);
    ls.room = calloc(2 * ls.n * ls.m + 1, sizeof *ls.room);
    ls.work = calloc((ls.rows + ls.n) * (ls.n + 1), sizeof *ls.work);
    if (!rooms_init(&s, &ls, options->starts) || !ls.room || !ls.work) {
        rooms_free(&s);
        free(ls.room);
        free(ls.work);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the least squares");
    }
    status = make_result(&ls, result, message);
    if (status == SHV_OK) {
        status = search(&ls, &s, options->starts, options->seed, message);
    }
    if (status == SHV_OK) {
        status = hand_over(&ls, &s, options->starts, result, message);
    }
    rooms_free(&s);
    free(ls.room);
    free(ls.work);
    if (status != SHV_OK) {
        shv_least_squares_free(result);
    }
    return status;
}

void shv_least_squares_free(struct shv_least_squares_result *r)
{
    free(r->x);
    free(r->r);
    free(r->weight);
    free(r->at_bound);
    free(r->jacobian);
    free(r->covariance);
    free(r->error);
    free(r->singular);
    free(r->direction);
    free(r->scale);
    *r = (struct shv_least_squares_result){0};
}
