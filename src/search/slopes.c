/* Sequential quadratic programming (NLopt's SLSQP: D. Kraft, ACM Trans. Math. Softw. 20, 1994) on
 * slopes that are differences: a kit and its neighbours on both sides along each variable are
 * evaluated side by side in the lanes. Every near limit at every site and speed is a constraint of
 * its own. */
#include "search/search.h"

#include <math.h>
#include <nlopt.h>
#include <stdlib.h>
#include <string.h>

/* Constraints taken in: those with less than this share of their span left, the nearest. */
#define MOST_CONSTRAINTS ((size_t)64)
#define NEAR 0.3
/* Answers are kept this share of the span inside the limits, so that they hold them. */
#define INSIDE 1e-9
#define EVALUATIONS 60
#define ROUNDS 4
/* How far one program may go from where it started, and the step of a difference, as shares of the
 * ranges. */
#define REACH 0.1
#define STEP 1e-5
/* A broken limit counts up to so many spans, since a solver can't do with infinity. */
#define MOST_EXCESS 10.0

struct climb {
    struct search *s;
    nlopt_opt opt;
    double last[SEARCH_DIMS]; /* of what follows */
    bool have_last;
    double objective, slope[SEARCH_DIMS];
    uint64_t broken;
    double unit;                                /* of the objective */
    size_t all;                                 /* rooms of a lane in s->room */
    size_t near[MOST_CONSTRAINTS], constraints; /* which of them, nearest first */
};

/* ---- one look ---- */

/* The rooms of a lane: 0 the kit itself, then below and above along each variable. */
static double *rooms_of(const struct climb *c, size_t lane)
{
    return c->s->room + lane * c->all;
}

static void look(struct climb *c, const double *x)
{
    struct search *s = c->s;
    struct shv_kit kits[SEARCH_ROOMS];
    struct shv_brief brief[SHV_LANES_MAX];
    size_t count = 1 + 2 * s->dims;
    if (c->have_last && memcmp(c->last, x, s->dims * sizeof *x) == 0) {
        return;
    }
    memcpy(c->last, x, s->dims * sizeof *x);
    c->have_last = true;
    for (size_t k = 0; k < count; k++) {
        double at[SEARCH_DIMS] = {x[0], s->dims > 1 ? x[1] : 0.0};
        at[(k + 1) / 2 - (k > 0 ? 1 : 0)] += k == 0 ? 0.0 : k % 2 == 1 ? -STEP : STEP;
        kits[k] = search_kit(s, at);
    }
    shv_lanes_evaluate_kits(s->model, s->lanes, kits, count, brief);
    s->result.evaluations += count - 1;
    c->all = shv_lanes_room_count(s->model, s->lanes);
    for (size_t k = 0; k < count; k++) {
        shv_lanes_rooms(s->model, s->lanes, k, rooms_of(c, k));
    }
    c->objective = brief[0].objective;
    c->broken = brief[0].broken;
    bool good = brief[0].outcome == SHV_POINT_OK && isfinite(c->objective);
    for (unsigned i = 0; i < s->dims; i++) {
        c->slope[i] = (brief[2 * i + 2].objective - brief[2 * i + 1].objective) / (2.0 * STEP);
        good = good && isfinite(c->slope[i]);
    }
    search_take(s, &kits[0], &brief[0]);
    if (!good && c->opt) {
        (void)nlopt_force_stop(c->opt);
    }
}

/* ---- the program ---- */

static double minus_objective(unsigned n, const double *x, double *gradient, void *data)
{
    struct climb *c = data;
    look(c, x);
    for (unsigned i = 0; gradient && i < n; i++) {
        gradient[i] = isfinite(c->slope[i]) ? -c->slope[i] / c->unit : 0.0;
    }
    return isfinite(c->objective) ? -c->objective / c->unit : 0.0;
}

static double room_or_much(double room)
{
    return isnan(room) ? 1.0 : fmax(room, -MOST_EXCESS);
}

/* Excess of each constraint over what it may be, kept a hair inside. */
static void excesses(unsigned m, double *excess, unsigned n, const double *x, double *gradient,
                     void *data)
{
    struct climb *c = data;
    look(c, x);
    for (unsigned k = 0; k < m; k++) {
        size_t at = c->near[k];
        excess[k] = INSIDE - room_or_much(rooms_of(c, 0)[at]);
        for (unsigned i = 0; gradient && i < n; i++) {
            double d = (rooms_of(c, 2 * i + 2)[at] - rooms_of(c, 2 * i + 1)[at]) / (2.0 * STEP);
            gradient[k * n + i] = isfinite(d) ? -d : 0.0;
        }
    }
}

/* Those near at the point looked at, the nearest first. */
static void choose_constraints(struct climb *c)
{
    const double *room = rooms_of(c, 0);
    c->constraints = 0;
    for (size_t i = 0; i < c->all; i++) {
        size_t place = c->constraints;
        bool full = place == MOST_CONSTRAINTS;
        if (!(room[i] < NEAR) || (full && !(room[i] < room[c->near[place - 1]]))) {
            continue;
        }
        for (place -= full ? 1 : 0; place > 0 && room[i] < room[c->near[place - 1]]; place--) {
            c->near[place] = c->near[place - 1];
        }
        c->near[place] = i;
        c->constraints += full ? 0 : 1;
    }
}

static bool prepare(struct climb *c, const double *x)
{
    double low[SEARCH_DIMS] = {0.0}, high[SEARCH_DIMS] = {0.0};
    for (unsigned i = 0; i < c->s->dims; i++) {
        low[i] = fmax(0.0, x[i] - REACH);
        high[i] = fmin(1.0, x[i] + REACH);
    }
    bool ok = nlopt_set_lower_bounds(c->opt, low) > 0 && nlopt_set_upper_bounds(c->opt, high) > 0 &&
              nlopt_set_min_objective(c->opt, minus_objective, c) > 0 &&
              nlopt_set_maxeval(c->opt, EVALUATIONS) > 0 && nlopt_set_xtol_rel(c->opt, 1e-10) > 0 &&
              nlopt_set_ftol_rel(c->opt, 1e-13) > 0;
    return ok &&
           (c->constraints == 0 || nlopt_add_inequality_mconstraint(
                                       c->opt, (unsigned)c->constraints, excesses, c, NULL) > 0);
}

/* One program from x, which is left where it ended. */
static enum shv_status program(struct climb *c, double *x, struct shv_message *message)
{
    double value;
    c->opt = nlopt_create(NLOPT_LD_SLSQP, c->s->dims);
    if (!c->opt || !prepare(c, x)) {
        nlopt_destroy(c->opt);
        c->opt = NULL;
        return shv_fail(message, SHV_NO_MEMORY, "NLopt could not set up the search");
    }
    nlopt_result code = nlopt_optimize(c->opt, x, &value);
    nlopt_destroy(c->opt);
    c->opt = NULL;
    if (code == NLOPT_OUT_OF_MEMORY || code == NLOPT_INVALID_ARGS) {
        return shv_fail(message, code == NLOPT_OUT_OF_MEMORY ? SHV_NO_MEMORY : SHV_BAD_INPUT,
                        "NLopt: %s", nlopt_result_to_string(code));
    }
    return SHV_OK;
}

/* Whether the program has to run again: a limit that was not near is broken, or the end of its
 * reach stopped it. */
static bool again(const struct climb *c, const double *from, const double *x)
{
    bool stopped = false;
    for (unsigned i = 0; i < c->s->dims; i++) {
        bool end = x[i] <= 0.0 || x[i] >= 1.0;
        stopped = stopped || (!end && fabs(x[i] - from[i]) >= REACH * (1.0 - 1e-9));
    }
    return stopped || c->broken != 0;
}

enum shv_status search_climb(struct search *s, double *x, struct shv_message *message)
{
    struct climb c = {.s = s};
    enum shv_status status = SHV_OK;
    bool more = true;
    for (int round = 0; round < ROUNDS && more && status == SHV_OK; round++) {
        double from[SEARCH_DIMS] = {x[0], s->dims > 1 ? x[1] : 0.0};
        look(&c, x);
        if (!isfinite(c.objective)) {
            break;
        }
        c.unit = fmax(1e-9, fabs(c.objective));
        choose_constraints(&c);
        status = program(&c, x, message);
        look(&c, x);
        more = again(&c, from, x);
    }
    return status;
}
