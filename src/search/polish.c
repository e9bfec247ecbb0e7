/* Sequential quadratic programming on the model's derivatives (polish.h): docs/model.md, appendix
 * B.
 *
 * The variables are ratio and effectiveness as shares of their ranges. Where the objective is a
 * least or a greatest of smooth numbers, it gets a variable of its own that no number may pass: the
 * worst site's value, the hottest charge. The speed at which power peaks is held while the program
 * runs; where it has moved at the end, the program runs again.
 */
#include "search/polish.h"

#include <math.h>
#include <nlopt.h>
#include <stdlib.h>
#include <string.h>

#define MOST_VARIABLES (SEARCH_DIMS + 2)
/* Constraints taken in, those with less than this share of their span left. */
#define MOST_CONSTRAINTS ((size_t)96)
#define NEAR 0.3
/* Answers are kept this share of the span inside the limits, so that they hold them. */
#define INSIDE 1e-11
#define EVALUATIONS 60
#define ROUNDS 6
/* Charges within so many kelvins of the hottest may become it. */
#define NEARLY_HOTTEST 15.0

enum kind { OF_POINT, OF_KIT, OF_SITE, OF_CHARGE };

struct constraint {
    enum kind kind;
    enum shv_limit limit;
    size_t at; /* point or site */
    double share;
};

struct polish {
    struct search *s;
    const struct shv_study *study;
    unsigned count;     /* of variables */
    int worst, hottest; /* their variables, or -1 */
    double unit;        /* of the objective */
    double scale;       /* of the worst site's value; charge temperatures by CHARGE_SCALE */
    size_t *branch;     /* [site]: the speed at which power is taken */
    struct constraint *list;
    size_t constraints;
    nlopt_opt opt;
};

/* ---- the objective ---- */

static bool takes_power(const struct shv_study *study)
{
    enum shv_objective_kind kind = study->objective.kind;
    return kind != SHV_OBJECTIVE_LEAST_PRICE && kind != SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE;
}

static bool takes_charge(const struct shv_study *study)
{
    enum shv_objective_kind kind = study->objective.kind;
    return kind == SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE ||
           (kind == SHV_OBJECTIVE_WEIGHTED && study->weights.charge_temperature > 0.0);
}

static bool takes_peak(const struct shv_study *study)
{
    enum shv_objective_kind kind = study->objective.kind;
    return kind != SHV_OBJECTIVE_MEAN_POWER && kind != SHV_OBJECTIVE_TORQUE;
}

/* What the objective takes from a site, on the branch held. */
static double site_value(const struct polish *p, size_t site)
{
    const struct search *s = p->s;
    size_t at = site * s->curves.speeds + p->branch[site];
    return takes_peak(p->study) ? s->curves.point[at].brake_power : s->gradient.at_site[site];
}

static double site_change(const struct polish *p, enum shv_free choice, size_t site)
{
    const struct search *s = p->s;
    size_t at = site * s->curves.speeds + p->branch[site];
    return takes_peak(p->study) ? s->gradient.point[choice][at].brake_power
                                : s->gradient.d_at_site[choice][site];
}

/* The weighted mean over the sites, or its derivative to a choice. */
static double mean_value(const struct polish *p)
{
    double sum = 0.0, weights = 0.0;
    for (size_t i = 0; i < p->s->curves.sites; i++) {
        sum += p->study->sites[i].weight * site_value(p, i);
        weights += p->study->sites[i].weight;
    }
    return sum / weights;
}

static double mean_change(const struct polish *p, enum shv_free choice)
{
    double sum = 0.0, weights = 0.0;
    for (size_t i = 0; i < p->s->curves.sites; i++) {
        sum += p->study->sites[i].weight * site_change(p, choice, i);
        weights += p->study->sites[i].weight;
    }
    return sum / weights;
}

/* Slopes of the objective in the value over the sites, price, mass and charge temperature. */
struct slopes {
    double value, price, mass, charge;
};

static struct slopes slopes_of(const struct polish *p, double value, double price)
{
    const struct shv_weights *w = &p->study->weights;
    switch (p->study->objective.kind) {
    case SHV_OBJECTIVE_LEAST_PRICE:
        return (struct slopes){0.0, -1.0, 0.0, 0.0};
    case SHV_OBJECTIVE_POWER_PER_PRICE:
        return (struct slopes){1.0 / price, -value / (price * price), 0.0, 0.0};
    case SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE:
        return (struct slopes){0.0, 0.0, 0.0, -1.0};
    case SHV_OBJECTIVE_WEIGHTED:
        return (struct slopes){w->power, -w->price, -w->mass, -w->charge_temperature};
    case SHV_OBJECTIVE_PEAK_POWER:
    case SHV_OBJECTIVE_MEAN_POWER:
    case SHV_OBJECTIVE_TORQUE:
        break;
    }
    return (struct slopes){1.0, 0.0, 0.0, 0.0};
}

static double objective_from(const struct polish *p, double value, double charge)
{
    const struct shv_hardware *h = &p->s->curves.hardware;
    const struct shv_weights *w = &p->study->weights;
    switch (p->study->objective.kind) {
    case SHV_OBJECTIVE_LEAST_PRICE:
        return -h->price;
    case SHV_OBJECTIVE_POWER_PER_PRICE:
        return value / h->price;
    case SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE:
        return -charge;
    case SHV_OBJECTIVE_WEIGHTED:
        return w->power * value - w->price * h->price - w->mass * h->mass -
               w->charge_temperature * charge;
    case SHV_OBJECTIVE_PEAK_POWER:
    case SHV_OBJECTIVE_MEAN_POWER:
    case SHV_OBJECTIVE_TORQUE:
        break;
    }
    return value;
}

#define CHARGE_SCALE 100.0 /* K */

/* ---- one look ---- */

static double range(const struct search *s, unsigned i)
{
    return s->high[i] - s->low[i];
}

/* False where the model has no answer or no derivatives: the program stops there. */
static bool look(struct polish *p, const double *y)
{
    double x[SEARCH_DIMS] = {0.0};
    struct search *s = p->s;
    for (unsigned i = 0; i < s->dims; i++) {
        x[i] = fmin(fmax(s->low[i] + y[i] * range(s, i), s->low[i]), s->high[i]);
    }
    search_visit(s, x);
    const struct shv_gradient *g = search_gradient(s);
    bool good = s->curves.verdict.outcome == SHV_POINT_OK && isfinite(s->curves.verdict.objective);
    for (unsigned i = 0; i < s->dims; i++) {
        good = good && isfinite(g->objective[s->free[i]]);
    }
    if (!good && p->opt) {
        (void)nlopt_force_stop(p->opt);
    }
    return good;
}

/* The objective at the point looked at, in its unit, and unless it is NULL its gradient. */
static double objective_at(const struct polish *p, const double *y, double *gradient)
{
    const struct search *s = p->s;
    const struct shv_gradient *g = &s->gradient;
    double value = 0.0;
    if (takes_power(p->study)) {
        value = p->worst >= 0 ? y[p->worst] * p->scale : mean_value(p);
    }
    double charge = p->hottest >= 0 ? y[p->hottest] * CHARGE_SCALE : 0.0;
    struct slopes slopes = slopes_of(p, value, s->curves.hardware.price);
    for (unsigned i = 0; gradient && i < s->dims; i++) {
        enum shv_free choice = s->free[i];
        double change =
            slopes.price * g->hardware[choice].price + slopes.mass * g->hardware[choice].mass;
        if (takes_power(p->study) && p->worst < 0) {
            change += slopes.value * mean_change(p, choice);
        }
        gradient[i] = change * range(s, i) / p->unit;
    }
    if (gradient && p->worst >= 0) {
        gradient[p->worst] = slopes.value * p->scale / p->unit;
    }
    if (gradient && p->hottest >= 0) {
        gradient[p->hottest] = slopes.charge * CHARGE_SCALE / p->unit;
    }
    return objective_from(p, value, charge) / p->unit;
}

/* Room left of a constraint, not below 0 where it holds, and its gradient in the variables. */
static double room_of(const struct polish *p, const struct constraint *c, const double *y,
                      double *gradient)
{
    const struct search *s = p->s;
    const struct shv_gradient *g = &s->gradient;
    memset(gradient, 0, p->count * sizeof *gradient);
    for (unsigned i = 0; i < s->dims; i++) {
        enum shv_free choice = s->free[i];
        double d = 0.0;
        switch (c->kind) {
        case OF_POINT:
            d = shv_gradient_share(g, &s->curves, choice, c->at, c->limit, s->bound[c->limit]);
            break;
        case OF_KIT:
            d = g->share[choice][c->limit];
            break;
        case OF_SITE:
            d = site_change(p, choice, c->at) / p->scale;
            break;
        case OF_CHARGE:
            d = -g->point[choice][c->at].charge_temperature / CHARGE_SCALE;
            break;
        }
        gradient[i] = isfinite(d) ? d * range(s, i) : 0.0;
    }
    if (c->kind == OF_SITE) {
        gradient[p->worst] = -1.0;
        return site_value(p, c->at) / p->scale - y[p->worst];
    }
    if (c->kind == OF_CHARGE) {
        gradient[p->hottest] = 1.0;
        return y[p->hottest] - s->curves.point[c->at].charge_temperature / CHARGE_SCALE;
    }
    double share = c->kind == OF_KIT ? s->curves.verdict.limit[c->limit].share
                                     : shv_point_limit_share(&s->curves.point[c->at], c->limit,
                                                             s->bound[c->limit]);
    return isnan(share) ? 1.0 : fmax(share, -10.0);
}

/* ---- which constraints ---- */

static int by_share(const void *a, const void *b)
{
    const struct constraint *x = a, *y = b;
    if (x->share != y->share) {
        return x->share < y->share ? -1 : 1;
    }
    if (x->limit != y->limit) {
        return x->limit < y->limit ? -1 : 1;
    }
    return (x->at > y->at) - (x->at < y->at);
}

static void offer(struct polish *p, struct constraint c, double near)
{
    if (c.share < near) {
        p->list[p->constraints++] = c;
    }
}

static void offer_limits(struct polish *p, double near)
{
    const struct search *s = p->s;
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        enum shv_limit limit = (enum shv_limit)k;
        if (isinf(s->bound[k])) {
            continue;
        }
        if (shv_limit_info(limit)->of_kit) {
            offer(p, (struct constraint){OF_KIT, limit, 0, s->curves.verdict.limit[k].share}, near);
            continue;
        }
        for (size_t i = 0; i < s->curves.sites * s->curves.speeds; i++) {
            double share = shv_point_limit_share(&s->curves.point[i], limit, s->bound[k]);
            offer(p, (struct constraint){OF_POINT, limit, i, share}, near);
        }
    }
}

/* Those near at the point looked at, the nearest first, and what the objective's own variables must
 * not pass. */
static void choose_constraints(struct polish *p, double near)
{
    const struct search *s = p->s;
    p->constraints = 0;
    offer_limits(p, near);
    qsort(p->list, p->constraints, sizeof *p->list, by_share);
    p->constraints = p->constraints < MOST_CONSTRAINTS ? p->constraints : MOST_CONSTRAINTS;
    for (size_t i = 0; p->worst >= 0 && i < s->curves.sites; i++) {
        p->list[p->constraints++] = (struct constraint){.kind = OF_SITE, .at = i};
    }
    double hottest = s->curves.point[s->gradient.hottest].charge_temperature - NEARLY_HOTTEST;
    for (size_t i = 0; p->hottest >= 0 && i < s->curves.sites * s->curves.speeds; i++) {
        if (s->curves.point[i].charge_temperature > hottest) {
            p->list[p->constraints++] = (struct constraint){.kind = OF_CHARGE, .at = i};
        }
    }
}

/* ---- setting up ---- */

static enum shv_status begin(struct polish *p, struct search *s, struct shv_message *message)
{
    const struct shv_study *study = shv_model_study(s->model);
    size_t points = s->curves.sites * s->curves.speeds;
    *p = (struct polish){.s = s, .study = study, .count = s->dims, .worst = -1, .hottest = -1};
    if (takes_power(study) && study->objective.over_sites == SHV_OVER_SITES_WORST) {
        p->worst = (int)p->count++;
    }
    if (takes_charge(study)) {
        p->hottest = (int)p->count++;
    }
    p->branch = calloc(s->curves.sites, sizeof *p->branch);
    p->list = calloc(points * (SHV_LIMIT_COUNT + 1) + s->curves.sites, sizeof *p->list);
    if (!p->branch || !p->list) {
        free(p->branch);
        free(p->list);
        shv_fail(message, SHV_NO_MEMORY, "out of memory for the polish of an optimum");
        return SHV_NO_MEMORY;
    }
    return SHV_OK;
}

static void end(struct polish *p)
{
    free(p->branch);
    free(p->list);
}

/* Variables of a point, branch and scale from a look at it; false when there is none. */
static bool start_at(struct polish *p, const double *x, double y[MOST_VARIABLES])
{
    struct search *s = p->s;
    for (unsigned i = 0; i < s->dims; i++) {
        y[i] = (x[i] - s->low[i]) / range(s, i);
    }
    if (!look(p, y)) {
        return false;
    }
    memcpy(p->branch, s->gradient.peak, s->curves.sites * sizeof *p->branch);
    p->scale = fmax(1.0, fabs(s->gradient.at_site[0]));
    p->unit = fmax(1e-9, fabs(s->curves.verdict.objective));
    if (p->worst >= 0) {
        y[p->worst] = s->gradient.at_site[s->gradient.worst_site] / p->scale;
    }
    if (p->hottest >= 0) {
        y[p->hottest] = s->curves.point[s->gradient.hottest].charge_temperature / CHARGE_SCALE;
    }
    return true;
}

/* ---- the program ---- */

static double minus_objective(unsigned n, const double *y, double *gradient, void *data)
{
    struct polish *p = data;
    if (!look(p, y)) {
        for (unsigned i = 0; gradient && i < n; i++) {
            gradient[i] = 0.0;
        }
        return 0.0;
    }
    double value = objective_at(p, y, gradient);
    for (unsigned i = 0; gradient && i < n; i++) {
        gradient[i] = -gradient[i];
    }
    return -value;
}

/* Excess of each constraint over what it may be, kept a hair inside. */
static void excesses(unsigned m, double *excess, unsigned n, const double *y, double *gradient,
                     void *data)
{
    struct polish *p = data;
    bool good = look(p, y);
    for (unsigned k = 0; k < m; k++) {
        double slope[MOST_VARIABLES] = {0.0};
        excess[k] = good ? INSIDE - room_of(p, &p->list[k], y, slope) : 0.0;
        for (unsigned i = 0; gradient && i < n; i++) {
            gradient[k * n + i] = good ? -slope[i] : 0.0;
        }
    }
}

static bool prepare(struct polish *p)
{
    const double low[MOST_VARIABLES] = {0.0, 0.0, -HUGE_VAL, -HUGE_VAL};
    const double high[MOST_VARIABLES] = {1.0, 1.0, HUGE_VAL, HUGE_VAL};
    double lower[MOST_VARIABLES], upper[MOST_VARIABLES];
    for (unsigned i = 0; i < p->count; i++) {
        bool own = i < p->s->dims;
        lower[i] = own ? low[0] : low[2];
        upper[i] = own ? high[0] : high[2];
    }
    bool ok = nlopt_set_lower_bounds(p->opt, lower) > 0 &&
              nlopt_set_upper_bounds(p->opt, upper) > 0 &&
              nlopt_set_min_objective(p->opt, minus_objective, p) > 0 &&
              nlopt_set_maxeval(p->opt, EVALUATIONS) > 0 && nlopt_set_xtol_rel(p->opt, 1e-10) > 0 &&
              nlopt_set_ftol_rel(p->opt, 1e-13) > 0;
    return ok &&
           (p->constraints == 0 || nlopt_add_inequality_mconstraint(
                                       p->opt, (unsigned)p->constraints, excesses, p, NULL) > 0);
}

/* One program from y, which is left where it ended. */
static enum shv_status program(struct polish *p, double *y, struct shv_message *message)
{
    double value;
    p->opt = nlopt_create(NLOPT_LD_SLSQP, p->count);
    if (!p->opt || !prepare(p)) {
        nlopt_destroy(p->opt);
        p->opt = NULL;
        return shv_fail(message, SHV_NO_MEMORY, "NLopt could not set up the polish");
    }
    nlopt_result code = nlopt_optimize(p->opt, y, &value);
    nlopt_destroy(p->opt);
    p->opt = NULL;
    if (code == NLOPT_OUT_OF_MEMORY || code == NLOPT_INVALID_ARGS) {
        return shv_fail(message, code == NLOPT_OUT_OF_MEMORY ? SHV_NO_MEMORY : SHV_BAD_INPUT,
                        "NLopt: %s", nlopt_result_to_string(code));
    }
    return SHV_OK;
}

/* Whether the program has to run again: it ended a hair outside a limit, one that was not near is
 * broken, or power peaks at another speed. */
static bool again(const struct polish *p)
{
    const struct search *s = p->s;
    for (size_t i = 0; takes_peak(p->study) && i < s->curves.sites; i++) {
        if (p->branch[i] != s->gradient.peak[i]) {
            return true;
        }
    }
    return s->curves.verdict.broken != 0;
}

enum shv_status polish_run(struct search *s, double *x, struct shv_message *message)
{
    struct polish p;
    double y[MOST_VARIABLES] = {0.0};
    enum shv_status status = begin(&p, s, message);
    if (status != SHV_OK) {
        return status;
    }
    for (int round = 0; round < ROUNDS && status == SHV_OK && start_at(&p, x, y); round++) {
        choose_constraints(&p, NEAR);
        status = program(&p, y, message);
        for (unsigned i = 0; i < s->dims; i++) {
            x[i] = s->low[i] + y[i] * range(s, i);
        }
        if (status != SHV_OK || !look(&p, y) || !again(&p)) {
            break;
        }
    }
    end(&p);
    return status;
}

/* ---- multipliers ---- */

#define MOST_ACTIVE 64
#define SWEEPS 20000

/* Least squares of b = sum(l_j a_j) with l_j >= 0, by turns over the l_j (S. Wright, Math. Program.
 * 151, 2015): few rows, so a few hundred turns settle it. */
static void multipliers(size_t rows, size_t columns, double a[][MOST_VARIABLES], const double *b,
                        double *l)
{
    double left[MOST_VARIABLES] = {0.0};
    memcpy(left, b, rows * sizeof *left);
    memset(l, 0, columns * sizeof *l);
    double moved = INFINITY;
    for (int sweep = 0; sweep < SWEEPS && moved > 1e-15; sweep++) {
        moved = 0.0;
        for (size_t j = 0; j < columns; j++) {
            double square = 0.0, along = 0.0;
            for (size_t i = 0; i < rows; i++) {
                square += a[j][i] * a[j][i];
                along += a[j][i] * left[i];
            }
            if (!(square > 0.0)) {
                continue;
            }
            double next = fmax(0.0, l[j] + along / square), step = next - l[j];
            for (size_t i = 0; i < rows; i++) {
                left[i] -= step * a[j][i];
            }
            moved = fmax(moved, fabs(step) * sqrt(square));
            l[j] = next;
        }
    }
}

/* Gradients of what is active: constraints, then ends of the ranges. */
struct active {
    size_t count;
    double slope[MOST_ACTIVE][MOST_VARIABLES]; /* turned round: where room is lost */
    const struct constraint *of[MOST_ACTIVE];  /* NULL for the end of a range */
    unsigned variable[MOST_ACTIVE];            /* whose end it then is */
};

static void find_active(struct polish *p, const double *y, double within, struct active *found)
{
    found->count = 0;
    for (size_t k = 0; k < p->constraints && found->count < MOST_ACTIVE - 4; k++) {
        double slope[MOST_VARIABLES];
        if (room_of(p, &p->list[k], y, slope) > within) {
            continue;
        }
        for (unsigned i = 0; i < p->count; i++) {
            found->slope[found->count][i] = -slope[i];
        }
        found->of[found->count++] = &p->list[k];
    }
    for (unsigned i = 0; i < p->s->dims; i++) {
        if (y[i] > within && y[i] < 1.0 - within) {
            continue;
        }
        memset(found->slope[found->count], 0, sizeof found->slope[0]);
        found->slope[found->count][i] = y[i] > 0.5 ? 1.0 : -1.0;
        found->variable[found->count] = i;
        found->of[found->count++] = NULL;
    }
}

static double length_of(const double *v, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += v[i] * v[i];
    }
    return sqrt(sum);
}

/* A multiplier, per unit of what the constraint holds. */
static void take_multiplier(const struct polish *p, const struct active *active, size_t j, double l,
                            struct polish_prices *prices)
{
    const struct search *s = p->s;
    const struct constraint *c = active->of[j];
    if (!c) {
        unsigned i = active->variable[j];
        bool top = active->slope[j][i] > 0.0;
        (top ? prices->high : prices->low)[s->free[i]] += l * p->unit / range(s, i);
    } else if (c->kind <= OF_KIT) {
        double ambient = s->curves.point[c->kind == OF_KIT ? 0 : c->at].ambient_temperature;
        prices->limit[c->limit] +=
            l * p->unit / shv_limit_span(c->limit, s->bound[c->limit], ambient);
    }
}

static void price(struct polish *p, const double *y, double within, struct polish_prices *prices)
{
    struct active active = {.count = 0};
    double gradient[MOST_VARIABLES] = {0.0}, l[MOST_ACTIVE] = {0.0}, left[MOST_VARIABLES];
    choose_constraints(p, NEAR);
    find_active(p, y, within, &active);
    (void)objective_at(p, y, gradient);
    multipliers(p->count, active.count, active.slope, gradient, l);
    memcpy(left, gradient, sizeof left);
    for (size_t j = 0; j < active.count; j++) {
        for (unsigned i = 0; i < p->count; i++) {
            left[i] -= l[j] * active.slope[j][i];
        }
        take_multiplier(p, &active, j, l[j], prices);
    }
    prices->known = true;
    prices->left = length_of(left, p->count) / fmax(length_of(gradient, p->count), 1e-300);
}

enum shv_status polish_prices(struct search *s, const double *x, double active,
                              struct polish_prices *prices, struct shv_message *message)
{
    struct polish p;
    double y[MOST_VARIABLES] = {0.0};
    *prices = (struct polish_prices){.left = NAN};
    enum shv_status status = begin(&p, s, message);
    if (status == SHV_OK) {
        if (start_at(&p, x, y)) {
            price(&p, y, active, prices);
        }
        end(&p);
    }
    return status;
}
